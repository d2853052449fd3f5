"""Resolves a template's CSS into plain attributes, so that nothing after it needs CSS.

The order is CSS's own: attributes, then style sheets by specificity, then ``style``, then the
same again for declarations marked important.
"""

from __future__ import annotations

from collections.abc import Iterator

import cssselect2
import tinycss2
from lxml import etree

from pipeline.svg.tree import SVG, strip
from pipeline.text.style import font_shorthand

_SHORT = {"marker": ("marker-start", "marker-mid", "marker-end")}
"""Short names of several properties that styles may set at once; attributes may not."""

_GEOMETRY = frozenset({"x", "y", "width", "height", "rx", "ry", "cx", "cy", "r"})


def resolve_styles(root: etree._Element) -> None:
    """Turns every style rule and ``style`` attribute under ``root`` into attributes, in place.

    A style sheet with rules for certain devices stays where it is, to be refused.
    """
    sheets = list(root.iter(SVG + "style"))
    normal, important = cssselect2.Matcher(), cssselect2.Matcher()
    for sheet in sheets:
        _add_rules(sheet.text or "", normal, important)
    for sheet in sheets:
        parent = sheet.getparent()
        if parent is not None and not _for_devices(sheet.text or ""):
            parent.remove(sheet)
    if not sheets:
        for element in root.iter():
            if "style" in element.attrib or "font" in element.attrib:
                plain, urgent = _own(element)
                _apply(element, {**plain, **urgent})
        return
    for wrapper in cssselect2.ElementWrapper.from_xml_root(root).iter_subtree():
        declared: dict[str, str] = {}
        for matcher, own in zip((normal, important), _own(wrapper.etree_element), strict=True):
            declared.update(pair for *_, pair in matcher.match(wrapper))
            declared.update(own)
        _apply(wrapper.etree_element, declared)


def _for_devices(text: str) -> bool:
    rules = tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True)
    return any(rule.type == "at-rule" and rule.lower_at_keyword == "media" for rule in rules)


def _own(element: etree._Element) -> tuple[dict[str, str], dict[str, str]]:
    """What an element's ``style`` declares, and what of it is important."""
    plain: dict[str, str] = {}
    urgent: dict[str, str] = {}
    for name, value, important in _declarations(
        tinycss2.parse_blocks_contents(element.get("style") or "")
    ):
        (urgent if important else plain)[name] = value
    return plain, urgent


def _add_rules(text: str, normal: cssselect2.Matcher, important: cssselect2.Matcher) -> None:
    for rule in tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True):
        if rule.type != "qualified-rule":
            continue
        try:
            selectors = cssselect2.compile_selector_list(rule.prelude)
        except cssselect2.SelectorError:
            continue  # for a browser's eyes only, such as :hover in a vendor's syntax
        declarations = list(_declarations(tinycss2.parse_blocks_contents(rule.content)))
        for selector in selectors:
            if selector.pseudo_element is not None:
                continue
            for name, value, urgent in declarations:
                (important if urgent else normal).add_selector(selector, (name, value))


def _declarations(parsed: list[object]) -> Iterator[tuple[str, str, bool]]:
    for item in parsed:
        if getattr(item, "type", "") == "declaration":
            value = tinycss2.serialize(item.value).strip()  # type: ignore[attr-defined]
            name = item.lower_name  # type: ignore[attr-defined]
            if name == "d":
                value = _path_of(item.value) or value  # type: ignore[attr-defined]
            for each in _SHORT.get(name, (name,)):
                yield each, value, item.important  # type: ignore[attr-defined]


def _path_of(value: list[object]) -> str | None:
    """The path data in a ``path()`` (SVG 2, 9.3.2); None for any other value."""
    for part in value:
        if getattr(part, "lower_name", "") == "path":
            inner = (each.value for each in part.arguments if each.type == "string")  # type: ignore[attr-defined]
            return next(inner, None)
    return None


def _apply(element: etree._Element, declared: dict[str, str]) -> None:
    shorthand = declared.pop("font", None) or element.get("font")
    if shorthand:
        declared = {**font_shorthand(str(shorthand)), **declared}
    for name, value in declared.items():
        if name.startswith("-") or (name in _GEOMETRY and element.get(name)):
            continue
        element.set(name, value)
    strip(element, "style", "class", "font")
