"""Questions to ask of elements: what they are called, inherit, refer to and show."""

from __future__ import annotations

import base64
import binascii
import functools
import io
import re
import urllib.parse
from collections.abc import Iterator
from typing import NamedTuple

from lxml import etree
from PIL import Image, ImageOps

from pipeline.svg.transform import Matrix, parse_transform

SVG = "{http://www.w3.org/2000/svg}"

DEFINITIONS = frozenset(
    SVG + name
    for name in ("defs", "symbol", "clipPath", "mask", "marker", "pattern", "linearGradient",
                 "radialGradient", "meshgradient", "filter", "solidColor", "solidcolor", "hatch",
                 "font")
)  # fmt: skip
"""Elements that are drawn only where another refers to them."""

NAMES = "data-names"
"""The attribute that holds the names an element goes by, the likelier first."""


LANGUAGES = "data-languages"
"""Marks what is printed in some languages only: those it is for, and those it is not for."""


class Languages(NamedTuple):
    """The languages that something is printed in: those named (all for none), but for others."""

    only: str
    never: str

    @classmethod
    def of(cls, mark: str) -> Languages:
        """Reads the mark of an element."""
        only, _, never = mark.partition("/")
        return cls(only, never)

    def __str__(self) -> str:
        return f"{self.only}/{self.never}"

    def have(self, language: str) -> bool:
        """Whether it is printed on a page in ``language``.

        >>> Languages("de,en-GB", "").have("de-AT"), Languages("", "de").have("de")
        (True, False)
        """
        wanted = not self.only or _speaks(self.only, language)
        return wanted and not (self.never and _speaks(self.never, language))


def _speaks(named: str, language: str) -> bool:
    """Whether one of the languages named is the page's, a broader or a narrower one (SVG 2,
    5.11.4)."""
    asked = language.lower()
    return bool(asked) and any(
        f"{one}-".startswith(f"{asked}-") or f"{asked}-".startswith(f"{one}-")
        for one in (each.strip().lower() for each in named.split(","))
        if one
    )


def remove(element: etree._Element) -> None:
    """Takes an element out of its tree; the text that follows it stays."""
    parent = element.getparent()
    if parent is None:
        return
    if element.tail and element.tail.strip():
        before = element.getprevious()
        if before is not None:
            before.tail = (before.tail or "") + element.tail
        else:
            parent.text = (parent.text or "") + element.tail
    element.tail = None
    parent.remove(element)


def strip(element: etree._Element, *attributes: str) -> None:
    """Takes attributes off an element where it has them."""
    for attribute in attributes:
        if attribute in element.attrib:
            del element.attrib[attribute]


def names(element: etree._Element) -> tuple[str, ...]:
    """Names the element goes by, the likelier first."""
    return tuple((element.get(NAMES) or "").split())


def lineage(element: etree._Element) -> Iterator[etree._Element]:
    """The element, its parent, and so on up to the root."""
    current: etree._Element | None = element
    while current is not None:
        yield current
        current = current.getparent()


def page_matrix(element: etree._Element) -> Matrix:
    """From the element's own coordinates (its ``transform`` counted) to millimetres on the page."""
    result = Matrix()
    for step in lineage(element):
        result = parse_transform(step.get("transform")) @ result
    return result


def inherited(element: etree._Element, name: str) -> str | None:
    """The value a property has on the element, its own or an ancestor's."""
    for step in lineage(element):
        value = step.get(name)
        if value is not None and value != "inherit":
            return value
    return None


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


@functools.lru_cache(maxsize=64)
def size_of(link: str) -> tuple[int, int] | None:
    """Width and height in pixels of the picture in a ``data:`` link; None if it cannot be read.

    A picture that says it lies on its side counts as it is shown.
    """
    head, _, data = link.partition(",")
    try:
        if head.rstrip().endswith(";base64"):
            raw = base64.b64decode("".join(data.split()))
        else:
            raw = urllib.parse.unquote_to_bytes(data)
        with Image.open(io.BytesIO(raw)) as picture:
            upright = ImageOps.exif_transpose(picture)
            return upright.width, upright.height
    except (OSError, ValueError, binascii.Error):
        return None
