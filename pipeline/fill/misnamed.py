"""Elements whose names seem meant for keys and are none: they would be printed as they are."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence

from lxml import etree

from pipeline.fill.keys import key_meant, looks_like_key
from pipeline.svg.styles import SVG
from pipeline.svg.tree import names


def misnamed(
    element: etree._Element, called: Sequence[str], known: Collection[str], show: Collection[str]
) -> str | None:
    """The name of an element that seems meant for one of the keys ``known``, or for one of the
    names in ``show``; None when all is well.

    Names are looked at on texts, on groups around a single text, and on groups that can hold a
    small month; not on a group that is named after the key within it. What ``show`` lists can be
    any element.
    """
    for name in called:
        if name.startswith("show") and key_meant(name, show):
            return name
    looks_meant: Callable[[str, Collection[str]], object]
    texts = len(list(element.iter(SVG + "text")))
    if element.tag == SVG + "text" or (element.tag == SVG + "g" and texts == 1):
        looks_meant = looks_like_key
    elif element.tag == SVG + "g" and texts and element.find(f".//{SVG}rect") is not None:
        known = [key for key in known if key.endswith("-grid")]
        looks_meant = key_meant
    else:
        return None
    inside = {name for inner in element.iterdescendants() for name in names(inner)}
    for name in called:
        if name not in known and looks_meant(name, known) and key_meant(name, known) not in inside:
            return name
    return None
