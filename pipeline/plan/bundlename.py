"""The pattern that names of bundles are made from, checked before anything is made."""

from __future__ import annotations

import re
from string import Formatter
from typing import Annotated

from pydantic import AfterValidator

from pipeline.base.nearest import did_you_mean

FIELDS = (
    "title",
    "period",
    "size",
    "paper",
    "language",
    "version",
    "set",
    "season",
    "collection",
)
"""What a pattern may name. ``title`` and ``period`` are as buyers read them."""

USUAL_PATTERN = "{title}-{period}-{size}-{paper}-{language}-v{version}"


def checked_pattern(pattern: str) -> str:
    """The pattern itself, if every name made from it can be told from that of another version.

    Raises ``ValueError`` otherwise.

    >>> checked_pattern("{set}-{paper}-v{version}")
    '{set}-{paper}-v{version}'
    >>> checked_pattern("{titel}-v{version}")
    Traceback (most recent call last):
    ...
    ValueError: has {titel}, which is nothing it knows; did you mean 'title'?
    """
    try:
        parts = list(Formatter().parse(pattern))
    except ValueError:
        raise ValueError("has a brace without its fellow; write fields like {title}") from None
    for text, field, form, conversion in parts:
        if not re.fullmatch(r"[A-Za-z0-9._-]*", text):
            raise ValueError(
                "has signs that not every system and shop takes in a name;"
                " between the fields use letters a to z, figures, '-', '_' and '.'"
            )
        if form or conversion:
            raise ValueError("has a field with ':' or '!'; write only its name, like {title}")
        if field is not None and field not in FIELDS:
            raise ValueError(
                f"has {{{field}}}, which is nothing it knows; {did_you_mean(field, FIELDS)}"
            )
    if not any(field == "version" for _, field, _, _ in parts):
        raise ValueError(
            "has no {version}; add it, so that a buyer can tell a second release from the first"
        )
    return pattern


NamePattern = Annotated[str, AfterValidator(checked_pattern)]
