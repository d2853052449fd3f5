"""The outside of a flap: a page of its own, drawn beside the page of the face that it is on.

Both become one drawing, as wide as the opened leaf, so that all else treats the face as if someone
had drawn it so.
"""

from __future__ import annotations

import copy
import functools
import re
from collections.abc import Iterator, Set

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.fill.layers import box_of_ink
from pipeline.fill.repeats import EACH, each_of
from pipeline.fill.template import (
    PAGE_SLACK_MM,
    Template,
    TemplateFile,
    open_template,
    read_template,
    trimmed,
)
from pipeline.plan.collection import Collection
from pipeline.plan.facts import PAGES, flap_facts
from pipeline.plan.model import MOST_BLEED_MM, Facts, Page, SetPlan, Side
from pipeline.svg.transform import Matrix
from pipeline.svg.tree import DEFINITIONS, HREFS, NAMES, SVG, links, names, page_matrix

_FLOATS = 1e-3
_OF_ROOT = ("id", "width", "height", "viewBox", "version", "transform", NAMES)
"""What a root has that its children do not inherit."""
_URL = re.compile(r"url\(\s*['\"]?#([^'\")]*)['\"]?\s*\)")


def drawings_of(plan: SetPlan, collection: Collection) -> dict[str, TemplateFile]:
    """What the faces of a set are drawn from, by the names of ``Page.drawing``.

    Raises UserError for a template that is missing or cannot be read, and for the outside of a flap
    that is of another size or shows dates.
    """

    def opened(name: str) -> TemplateFile:
        return open_template(collection.template_path(plan.binder.name, name), plan.colours)

    pages = {page.drawing: page for page in plan.pages}
    return {
        name: _joined(plan, page, opened(page.template), opened(page.flap_back))
        if (page := pages[name]).flap_back
        else opened(name)
        for name in sorted(pages)
    }


def _joined(plan: SetPlan, page: Page, file: TemplateFile, back: TemplateFile) -> TemplateFile:
    """The drawing of a face with its own page and, beside it, the outside of a flap."""
    alone = page.template == page.flap_back
    size, verso = (plan.binder.width_mm, plan.binder.height_mm), page.side is Side.VERSO
    own = None if alone else file
    whole, outside = _side_by_side(own, back, size, page.back_mm, plan.drawn_bleeds_mm, verso)
    _check_keys(outside, page.facts)
    if whole is None:
        return file  # the page is of the wrong size, which is told where it is filled
    return TemplateFile(file.path if alone else file.path.with_stem(page.drawing), whole)


@functools.lru_cache(maxsize=64)  # the sets of a season share their drawings
def _side_by_side(
    file: TemplateFile | None,
    back: TemplateFile,
    size: tuple[float, float],
    flap: float,
    bleeds: tuple[float, ...],
    verso: bool,
) -> tuple[bytes | None, Template]:
    """A page, if any, and the outside of a flap in one drawing, and that outside by itself.

    Sizes in mm. No drawing for a page that is not of its ``size``.
    """
    width, height = size
    outside = trimmed(read_template(back), (flap, height), bleeds)
    _check_size(outside, flap, height)
    own = trimmed(read_template(file), size, bleeds) if file else None
    if own and abs(own.width_mm - width) > PAGE_SLACK_MM:
        return None, outside
    whole = etree.Element(
        SVG + "svg",
        {
            "width": f"{width + flap:g}mm",
            "height": f"{height:g}mm",
            "viewBox": f"0 0 {width + flap:g} {height:g}",
        },
        nsmap={None: SVG[1:-1]},  # type: ignore[dict-item]
    )
    page_at, flap_at = (flap, 0.0) if verso else (0.0, width)
    if own:
        whole.append(_panel(own, page_at, fold=0.0 if verso else width, opens_right=verso))
    taken = {str(element.get("id")) for element in whole.iter() if element.get("id")}
    panel = _panel(outside, flap_at, fold=flap if verso else 0.0, opens_right=not verso)
    _rename(panel, taken)
    whole.append(panel)
    return bytes(etree.tostring(whole)), outside


def _check_size(template: Template, width: float, height: float) -> None:
    off = abs(template.width_mm - width), abs(template.height_mm - height)
    if max(off) > PAGE_SLACK_MM:
        raise UserError(
            template.name,
            f"the page is {template.width_mm:.1f} × {template.height_mm:.1f} mm, but the flap that"
            f" it is the outside of is {width:g} × {height:g} mm",
            "set the document's size to that",
        )


def _check_keys(template: Template, facts: Facts) -> None:
    """Raises UserError for dates: a flap's outside lies on a page of other days than its own."""
    shown = flap_facts(facts)
    dated = {*facts.texts, *facts.months, *facts.moons} - {*shown.texts}
    dated |= {f"show-{flag}" for flag in facts.flags.keys() - shown.flags.keys()}
    for element in template.root.iter():
        for name in names(element):
            asked = each_of(name) if name.startswith(EACH) else None
            if name in dated or (asked is not None and not asked.numbers(shown)):
                raise UserError(
                    template.name,
                    f"no such key on {PAGES[shown.kind]}",
                    "it can hold labels, lists, hours, the set's title and its period",
                    element=element.get("id") or name,
                )


def _panel(template: Template, x: float, *, fold: float, opens_right: bool) -> etree._Element:
    """A page as a group that begins at ``x``; what it has past the fold, in its own mm, is cut."""
    root = copy.deepcopy(template.root)
    bleed = MOST_BLEED_MM
    left = fold if opens_right else -bleed
    right = template.width_mm + bleed if opens_right else fold
    kept = Rect(left, -bleed, right - left, template.height_mm + 2 * bleed)
    for number, element in enumerate(list(_past(root, kept))):
        _cut(element, kept, f"fold-{number}-{x:g}")
    style = {str(name): str(value) for name, value in root.attrib.items() if name not in _OF_ROOT}
    group = etree.Element(SVG + "g", {**style, "transform": str(Matrix(e=x))})
    group.extend(list(root))
    return group


def _past(parent: etree._Element, kept: Rect) -> Iterator[etree._Element]:
    """What is drawn past an area; of groups with texts, the parts without."""
    for child in parent:
        if child.tag in DEFINITIONS or child.tag == SVG + "text":
            continue
        if next(child.iter(SVG + "text"), None) is not None:
            yield from _past(child, kept)
        elif (ink := box_of_ink(child)) is not None and not kept.grown(_FLOATS).holds(ink):
            yield child


def _cut(element: etree._Element, kept: Rect, name: str) -> None:
    """Cuts an element off at the edges of an area of the page."""
    parent = element.getparent()
    assert parent is not None
    to_parent = page_matrix(parent).inverse()
    clip = etree.Element(SVG + "clipPath", {"id": name})
    values = dict(zip(("x", "y", "width", "height"), (f"{one:.6g}" for one in kept), strict=True))
    etree.SubElement(clip, SVG + "rect", values | {"transform": str(to_parent)})
    around = etree.Element(SVG + "g", {"clip-path": f"url(#{name})"})
    around.tail, element.tail = element.tail, None
    parent.replace(element, around)
    around.append(element)
    around.addprevious(clip)


def _rename(panel: etree._Element, taken: Set[str]) -> None:
    """Gives new ids to what a flap's drawing refers to by an id that the page has too."""
    asked = {name for element in panel.iter() for name in links(element)}
    new = {name: f"{name}-on-the-flap" for name in asked & taken}
    for element in panel.iter() if new else ():
        if element.get("id") in new:
            element.set("id", new[str(element.get("id"))])
        for attribute, value in element.attrib.items():
            link = str(value).removeprefix("#")
            if attribute in HREFS and link in new:
                element.set(attribute, f"#{new[link]}")
            elif "url(" in str(value):
                element.set(
                    attribute, _URL.sub(lambda m: f"url(#{new.get(m[1], m[1])})", str(value))
                )
