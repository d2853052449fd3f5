"""Small questions to ask of an element, and small changes to make to a tree."""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree

from pipeline.svg.transform import Matrix, parse_transform

NAMES = "data-names"
"""The attribute that holds the names an element goes by, the likelier first."""


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
        value = step.get(name) or _styled(step, name)
        if value is not None and value != "inherit":
            return value
    return None


def _styled(element: etree._Element, name: str) -> str | None:
    for declaration in (element.get("style") or "").split(";"):
        key, _, value = declaration.partition(":")
        if key.strip() == name:
            return value.strip()
    return None
