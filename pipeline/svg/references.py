"""Which other elements an element refers to: by ``href``, and by ``url()`` in its properties."""

from __future__ import annotations

import re
from collections.abc import Iterator

from lxml import etree

HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
_URL = re.compile(r"url\(\s*['\"]?([^'\")]*)['\"]?\s*\)")


def href(element: etree._Element) -> str:
    """What an element's ``href`` says, in its new or its old form; empty if it has none."""
    return next((str(element.get(name)).strip() for name in HREFS if name in element.attrib), "")


def target(value: str | None) -> str | None:
    """The id in a ``url(#id)``; None for any other value.

    >>> target("url(#leaf) black"), target('url("#a")'), target("black")
    ('leaf', 'a', None)
    """
    match = _URL.match((value or "").strip())
    return match[1].removeprefix("#") if match and match[1].startswith("#") else None


def fallback(value: str) -> str:
    """The paint after a ``url()``; "none" if there is none.

    >>> fallback("url(#leaf) red"), fallback("url(#leaf)")
    ('red', 'none')
    """
    return _URL.sub("", value, count=1).strip() or "none"


def links(element: etree._Element) -> Iterator[str]:
    """The ids that an element refers to."""
    link = href(element)
    if link.startswith("#"):
        yield link[1:]
    for value in element.attrib.values():
        if "url(" in str(value):
            yield from (found[1:] for found in _URL.findall(str(value)) if found.startswith("#"))
