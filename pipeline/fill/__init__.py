"""Template and facts to a filled SVG that any vector editor opens."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from lxml import etree

from pipeline.errors import UserError
from pipeline.fill.cascade import SVG
from pipeline.fill.monthgrid import draw_month
from pipeline.fill.names import looks_like_key, looks_ruled, nearest, ruled
from pipeline.fill.ruling import rule
from pipeline.fill.template import NAMES, Template, lineage, names, read_template, remove, strip
from pipeline.fill.texts import Fitting, Slot, fit, put, slot_of
from pipeline.geometry import Rect
from pipeline.plan.model import Binder, Binding, Facts, Page, SetPlan, Side
from pipeline.text.fonts import FontBook

__all__ = ["FilledPage", "fill_set"]

SAFE_MM = 4.0
"""How far text without a box of its own stays from a panel's edges (common practice)."""


@dataclass(frozen=True)
class FilledPage:
    """A page's filled SVG, at its flat size, and the name errors and files give it."""

    name: str
    svg: bytes


@dataclass
class _Job:
    """A page being filled: its copy of the template and the slots still to be set."""

    page: Page
    root: etree._Element
    where: str
    slots: list[tuple[str, tuple[str, ...], Slot]]


def fill_set(
    plan: SetPlan, template_path: Callable[[str], Path], book: FontBook
) -> tuple[FilledPage, ...]:
    """Fills every page of a set, in the order of ``plan.pages``.

    Keys that come in numbers (``day1-name`` to ``day7-name``) take the same form and size
    throughout the set, so that no "Wed" stands among full names. Raises UserError for a template
    that is missing, broken or of the wrong size, for unknown keys and for text that cannot fit.
    """
    jobs = [_begin(plan, page, read_template(template_path(page.template))) for page in plan.pages]
    shared = _shared_fittings(jobs, book)
    return tuple(_finish(number, job, shared, book) for number, job in enumerate(jobs, 1))


def _begin(plan: SetPlan, page: Page, template: Template) -> _Job:
    _check_size(template, page, plan.binder)
    root = copy.deepcopy(template.root)
    root.set("{http://www.w3.org/XML/1998/namespace}lang", plan.language)
    job = _Job(page, root, f"{template.name} ({page.label})", [])
    panels = _panels(page, plan.binder, plan.binding)
    for element in list(root.iter()):
        if NAMES in element.attrib and _attached(element, root):
            _take(element, job, panels, plan.language)
    return job


def _check_size(template: Template, page: Page, binder: Binder) -> None:
    width, height = binder.width_mm + page.flap_mm, binder.height_mm
    if abs(template.width_mm - width) > 0.1 or abs(template.height_mm - height) > 0.1:
        flap = f" with its {page.flap_mm:g} mm flap open" if page.flap_mm else ""
        raise UserError(
            template.name,
            f"the page is {template.width_mm:.1f} × {template.height_mm:.1f} mm, "
            f"but {binder.title}{flap} is {width:g} × {height:g} mm",
            "set the document's size to that, or the flap's width in collection.toml",
        )


def _panels(page: Page, binder: Binder, binding: Binding) -> tuple[Rect, ...]:
    """The safe areas of a page and of its flap, in the flat page's millimetres."""
    flap_left = (page.side is Side.VERSO) == (binding is Binding.LEFT)
    start = page.flap_mm if flap_left else 0.0
    panels = [Rect(start, 0, binder.width_mm, binder.height_mm)]
    if page.flap_mm:
        flap_start = 0.0 if flap_left else binder.width_mm
        panels.append(Rect(flap_start, 0, page.flap_mm, binder.height_mm))
    return tuple(panel.grown(-SAFE_MM) for panel in panels)


def _attached(element: etree._Element, root: etree._Element) -> bool:
    """Whether the element is still in the tree: a hidden group may have taken it along."""
    return any(step is root for step in lineage(element))


def _take(element: etree._Element, job: _Job, panels: Sequence[Rect], language: str) -> None:
    """Does what the element's name asks for, or notes the text to be set."""
    facts = job.page.facts
    called = names(element)
    where = f"{job.where}, element {element.get('id') or called[0]!r}"
    for name in called:
        if name.startswith("show-"):
            _show(element, name, facts, where)
            return
        wanted = ruled(name)
        if wanted and element.tag == SVG + "rect":
            rule(element, wanted)
            return
        if name in facts.months:
            draw_month(element, facts.months[name], where)
            return
        if name in facts.texts:
            slot = slot_of(element, panels, language)
            if slot is not None:
                job.slots.append((name, facts.texts[name], slot))
                return
    _refuse_near_misses(element, called, facts, where)


def _show(element: etree._Element, name: str, facts: Facts, where: str) -> None:
    flag = name.removeprefix("show-")
    if flag not in facts.flags:
        known = [f"show-{known}" for known in facts.flags]
        raise UserError(where, f"no such thing to show on {_kind(facts)}", nearest(name, known))
    if not facts.flags[flag]:
        remove(element)


def _refuse_near_misses(
    element: etree._Element, called: Sequence[str], facts: Facts, where: str
) -> None:
    known = [*facts.texts, *facts.months]
    for name in called:
        if element.tag == SVG + "rect" and looks_ruled(name):
            raise UserError(
                where, "this is no ruled area", "write it like 'lines-6mm' or 'dots-5mm-centre'"
            )
        holds_text = element.tag == SVG + "text" or (
            element.tag == SVG + "g" and len(list(element.iter(SVG + "text"))) == 1
        )
        if holds_text and name in known:
            continue
        if holds_text and looks_like_key(name, known):
            if name.startswith("label-"):
                remedy = f"add {name.removeprefix('label-')!r} to the collection's labels, or "
                raise UserError(where, "there is no such label", remedy + nearest(name, known))
            raise UserError(where, f"no such key on {_kind(facts)}", nearest(name, known))


def _kind(facts: Facts) -> str:
    return {
        "week": "a page for a week",
        "month": "a page for a month",
        "once": "a page that comes once in a set",
        "undated": "an undated page",
    }.get(facts.kind, "this page")


def _family(key: str) -> str | None:
    """What keys that come in numbers have in common: ``day#-name`` for ``day3-name``."""
    family = re.sub(r"\d+", "#", key, count=1)
    return family if family != key else None


def _shared_fittings(jobs: Sequence[_Job], book: FontBook) -> dict[str, Fitting]:
    shared: dict[str, Fitting] = {}
    for job in jobs:
        for key, forms, slot in job.slots:
            family = _family(key)
            if family is None or not forms[0]:
                continue
            chosen = fit(forms, slot, book, f"{job.where}, key {key!r}")
            worst = shared.get(family, chosen)
            shared[family] = Fitting(max(chosen.form, worst.form), min(chosen.scale, worst.scale))
    return shared


def _finish(number: int, job: _Job, shared: dict[str, Fitting], book: FontBook) -> FilledPage:
    for key, forms, slot in job.slots:
        family = _family(key)
        if family in shared:
            chosen = shared[family]
            chosen = Fitting(min(chosen.form, len(forms) - 1), chosen.scale)
        else:
            chosen = fit(forms, slot, book, f"{job.where}, key {key!r}")
        put(forms[chosen.form], slot, chosen.scale)
    for element in job.root.iter():
        strip(element, NAMES)
    return FilledPage(
        f"{number:03d} {job.page.template}",
        etree.tostring(job.root, xml_declaration=True, encoding="utf-8"),
    )
