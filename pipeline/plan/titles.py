"""Titles: one text for every language, or a table with one each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BeforeValidator

from pipeline.base.errors import UserError
from pipeline.plan.tags import parents
from pipeline.plan.words import words_for


def _checked(value: Any) -> Any:
    """The value itself, if it is a text or a table of texts by language."""
    if isinstance(value, str):
        return value
    if not isinstance(value, dict):
        raise ValueError(
            'must be a text in quotes, or a table with one a language; write { en = "…", de = "…" }'
        )
    if not value:
        raise ValueError("is an empty table; give a text a language")
    for language, text in value.items():
        try:
            words_for(language)
        except UserError as problem:
            raise ValueError(f"'{language}' {problem.what}; {problem.remedy}") from None
        if not isinstance(text, str) or not text.strip():
            raise ValueError(f"has no text for '{language}'; write it in quotes")
    return value


Title = Annotated[str | dict[str, str], BeforeValidator(_checked)]
"""What people call a season, a set or a period."""


def title_in(title: str | Mapping[str, str], language: str) -> str | None:
    """The title in a language, or in the nearest one it inherits from; ``None`` if there is none.

    >>> title_in({"en": "Odd jobs", "de": "Was so anfällt"}, "en-GB")
    'Odd jobs'
    >>> title_in({"en": "Odd jobs"}, "de") is None
    True
    """
    if isinstance(title, str):
        return title
    return next((title[name] for name in parents(language) if name in title), None)
