"""Turns a template drawn for binding on the left into one for binding on the right.

The whole page is mirrored, artwork, rules and boxes alike, and each text is turned back in its
place to be read from right to left: what began at the left edge of a column begins at its right.
"""

from __future__ import annotations

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.svg.styles import SVG
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.text.style import length

MIRRORED = "data-mirrored"
"""Marks a text that has been turned back, for what is later put in its place."""


def mirror(root: etree._Element, width_mm: float, name: str) -> None:
    """Mirrors a page ``width_mm`` wide in place; ``name`` is the file's, for errors.

    Raises UserError for text on a path, which cannot be turned back.
    """
    for text in root.iter(SVG + "text"):
        if text.find(f".//{SVG}textPath") is not None:
            raise UserError(
                f"{name}, element {text.get('id') or 'text'!r}",
                "text on a path cannot be mirrored for a language that reads from right to left",
                "set it straight, or draw it as outlines",
            )
        _turn_back(text)
    group = etree.Element(SVG + "g", {"transform": str(Matrix(a=-1.0, e=width_mm))})
    for child in list(root):
        group.append(child)
    root.append(group)


def turned_back(x: float) -> str:
    """The ``transform`` of a text at ``x`` (its own units) on a mirrored page."""
    return str(Matrix(a=-1.0, e=2 * x))


def _turn_back(text: etree._Element) -> None:
    at = next((_numbers(e.get("x"))[0] for e in text.iter() if _numbers(e.get("x"))), 0.0)
    turn = parse_transform(text.get("transform")) @ Matrix(a=-1.0, e=2 * at)
    text.set("transform", str(turn))
    text.set("direction", "rtl")
    text.set(MIRRORED, "")
    for element in text.iter():
        for attribute, origin in (("x", 2 * at), ("dx", 0.0)):
            moved = [f"{origin - value:.6g}" for value in _numbers(element.get(attribute))]
            if moved:
                element.set(attribute, " ".join(moved))


def _numbers(value: str | None) -> list[float]:
    return [length(part) for part in (value or "").replace(",", " ").split()]
