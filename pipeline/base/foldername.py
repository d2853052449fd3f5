"""Names of seasons, sets, periods and sizes, which become names of folders."""

from __future__ import annotations

import re

# Some systems keep these names for devices.
_KEPT = {"con", "prn", "aux", "nul", *(f"{d}{n}" for d in ("com", "lpt") for n in range(1, 10))}


def safe_name(name: str) -> str:
    """``name`` itself, if every system takes it as a folder's name.

    Raises ``ValueError`` otherwise.

    >>> safe_name("two-flap-list")
    'two-flap-list'
    """
    safe = re.fullmatch(r"[A-Za-z0-9](?:[A-Za-z0-9._-]{0,62}[A-Za-z0-9_-])?", name)
    if not safe or name.casefold() in _KEPT:
        raise ValueError(
            f"'{name}' cannot be the name of a folder; use letters a to z, figures, '-' and '_'"
        )
    return name
