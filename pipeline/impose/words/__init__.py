"""What is printed on the test sheets, a file a language: translations need no code."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

_HERE = Path(__file__).parent


def sheet_words(sheet: str, language: str) -> Mapping[str, Any]:
    """The words of a test sheet ("feed_test", "hole_gauge") in a language, a CLDR locale.

    A value is one text, or several that stand below one another. A region that has no file takes
    its language's, a language that has none takes English.

    >>> sheet_words("feed_test", "en-GB")["title"]
    'Feed test'
    """
    names = (language, language.split("-", maxsplit=1)[0], "en")
    path = next(path for name in names if (path := _HERE / f"{name}.toml").is_file())
    words: Mapping[str, Any] = tomllib.loads(path.read_text("utf-8"))[sheet]
    return words
