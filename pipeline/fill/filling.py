"""Fills pages: what each key says and where, split into layers that pages share."""

from __future__ import annotations

import copy
import functools
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from lxml import etree
from pydantic import TypeAdapter

from pipeline.base.cache import NO_CACHE, Cache, key_of
from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect, mm
from pipeline.fill.areas import can_be_moon, check_month, draw_month, draw_moon, rule
from pipeline.fill.keys import key_advice, label_advice, looks_ruled, mistaken_name, ruled
from pipeline.fill.layers import DATED, LABEL, PLACE, SHOWN, box_of_ink, split, unmark
from pipeline.fill.ownpage import as_layer, page_in
from pipeline.fill.repeats import repeated
from pipeline.fill.tablabel import on_leaf
from pipeline.fill.template import (
    PAGE_SLACK_MM,
    Template,
    TemplateFile,
    drawn_bleed,
    move_page,
    read_template,
    trimmed,
)
from pipeline.fill.texts import CELL, Fitting, Room, drop_box, fit, mirror, put, room_of
from pipeline.plan.almanac import PHASES
from pipeline.plan.facts import ALMANAC_PARTS, MOON_DISC, PAGES, TAB_LABEL, hides_some, in_month
from pipeline.plan.languages import root_of
from pipeline.plan.model import Binder, Binding, Facts, LeftOut, Page, SetPlan, Side, Tab, tab_size
from pipeline.svg.refusals import reading
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import (
    LANGUAGES,
    NAMES,
    SVG,
    Languages,
    lineage,
    names,
    page_matrix,
    remove,
    strip,
)
from pipeline.text.fonts import FontBook

TEXT_EDGE_MM = 4.0
"""How far text without a box of its own stays from a panel's edges (common practice)."""


@dataclass(frozen=True)
class PageLayer:
    """One layer of a page as a whole SVG of the page's size; pages share equal layers.

    ``has_text`` tells layers whose text must be set with the set's other text.
    """

    svg: bytes
    has_text: bool


@dataclass(frozen=True)
class FilledPage:
    """A page at its flat size: its layers from the bottom up, and the name errors give it.

    Its size is with the set's bleed on all four sides. ``left_out`` says of days with several
    feasts or notes what is printed where there is no room for all.
    """

    name: str
    width_mm: float
    height_mm: float
    layers: tuple[PageLayer, ...]
    whole: Callable[[], bytes]
    """Gives the page as one filled SVG that any vector editor opens."""

    left_out: tuple[LeftOut, ...] = ()


class SetText(NamedTuple):
    """A key's text as it is set on a page: its room, what it says, and how it was made to fit."""

    key: str
    room: Room
    text: str
    fitting: Fitting


class _ReadyLayer(NamedTuple):
    """A layer of a prepared template; ``facts`` must hold for it to be shown.

    ``dated`` ones are filled for each page, ``labelled`` ones once for each language.
    """

    facts: tuple[str, ...]
    svg: bytes
    has_text: bool
    dated: bool
    labelled: bool


class _Prepared(NamedTuple):
    """A template once its areas are ruled and its layers parted: all but what it says.

    ``whole`` is the marked template, ``layers`` the same in pieces, as SVG. Nothing in it depends
    on a language, so all share it.
    """

    width_mm: float
    height_mm: float
    whole: bytes
    rooms: tuple[tuple[str, Room], ...]
    layers: tuple[_ReadyLayer, ...]


def fill_set(
    plan: SetPlan,
    templates: Mapping[str, TemplateFile],
    book: FontBook,
    cache: Cache = NO_CACHE,
) -> tuple[FilledPage, ...]:
    """Fills every page of a set, in the order of ``plan.pages``.

    ``templates`` has the file of each template by its name. Keys that come in numbers
    (``day1-name`` to ``day7-name``) take the same form and size throughout the set, so that no
    "Wed" stands among full names. Raises UserError for a template that is broken or of the wrong
    size, for unknown keys and for text that cannot fit.
    """
    labelled: dict[bytes, bytes] = {}
    return tuple(
        _filled(_named(page, templates), page, ready, said, plan.language, labelled)
        for page, ready, said in _ready_set(plan, templates, book, cache)
    )


def _named(page: Page, templates: Mapping[str, TemplateFile]) -> str:
    """What errors call a page: its template's file, and which of its pages it is."""
    return f"{templates[page.drawing].name} ({page.label})"


def texts_of_set(
    plan: SetPlan,
    templates: Mapping[str, TemplateFile],
    book: FontBook,
    cache: Cache = NO_CACHE,
) -> list[tuple[Page, tuple[SetText, ...]]]:
    """What each page of a set says and how it fits, labels too; raises as ``fill_set`` does."""
    return [(page, tuple(said)) for page, _, said in _ready_set(plan, templates, book, cache)]


def rooms_of_set(
    plan: SetPlan, templates: Mapping[str, TemplateFile], cache: Cache = NO_CACHE
) -> list[tuple[Page, tuple[tuple[str, Room], ...]]]:
    """The keys of each page of a set and their rooms; raises UserError for what cannot be read."""
    return [(page, ready.rooms) for page, ready, _ in _prepared_set(plan, templates, cache)]


def _prepared_set(
    plan: SetPlan, templates: Mapping[str, TemplateFile], cache: Cache
) -> list[tuple[Page, _Prepared, str]]:
    """Every page of a set with its template, and the name that errors give it."""
    prepared: dict[tuple[str, str, Side, str, Tab | None], _Prepared] = {}
    jobs = []
    for page in plan.pages:
        counts = str(sorted(page.facts.counts.items()))
        alike = page.drawing, page.facts.kind, page.side, counts, page.tab
        if alike not in prepared:
            prepared[alike] = _kept(plan, page, templates[page.drawing], cache)
        jobs.append((page, prepared[alike], _named(page, templates)))
    return jobs


def _ready_set(
    plan: SetPlan, templates: Mapping[str, TemplateFile], book: FontBook, cache: Cache
) -> list[tuple[Page, _Prepared, list[SetText]]]:
    jobs = _prepared_set(plan, templates, cache)
    shared: dict[_Family, Fitting] = {}
    for page, ready, name in jobs:
        for key, room in ready.rooms:
            family, forms = _family(key, room), page.facts.texts[key]
            if family is None or not forms[0]:
                continue
            chosen = fit(forms, room, book, f"{name}, key {key!r}")
            worst = shared.get(family, chosen)
            shared[family] = Fitting(max(chosen.form, worst.form), min(chosen.scale, worst.scale))
    return [(page, ready, _said(page, ready, name, shared, book)) for page, ready, name in jobs]


def _said(
    page: Page, ready: _Prepared, name: str, shared: Mapping[_Family, Fitting], book: FontBook
) -> list[SetText]:
    """What each dated text of a page says, in the order of the template."""
    said = []
    for key, room in ready.rooms:
        forms, family = page.facts.texts[key], _family(key, room)
        if family is not None and family in shared:
            fitting = Fitting(min(shared[family].form, len(forms) - 1), shared[family].scale)
        else:
            fitting = fit(forms, room, book, f"{name}, key {key!r}")
        said.append(SetText(key, room, forms[fitting.form], fitting))
    return said


_Family = tuple[str, float]
"""Keys that are to look alike, and the size of their letters: heads and columns need not."""


def _family(key: str, room: Room) -> _Family | None:
    """What keys that come in numbers have in common: ``day#-name`` for ``day3-name``.

    So have the tabs of a set, which are seen at once.
    """
    size = round(room.style.size, 2)
    if key == TAB_LABEL:
        return key, size
    within, rest = in_month(key)
    family = "month#-" * bool(within) + re.sub(r"\d+", "#", rest, count=1)
    alike = family != key and not key.endswith(("-feast", "-note"))  # no two of which are alike
    return (family, size) if alike else None


def _kept(plan: SetPlan, page: Page, file: TemplateFile, cache: Cache) -> _Prepared:
    """A template prepared now, or as it was prepared before from the same, in a set's language."""
    facts = page.facts
    keys = (sorted(facts.texts), sorted(facts.flags), sorted(facts.months), sorted(facts.moons))
    counts = sorted(facts.counts.items())
    key = key_of(
        "prepared", file.name, file.data, *keys, facts.kind, counts, plan.binder,
        plan.binding.value, page.side.value, page.beside_mm, plan.bleed_mm, plan.drawn_bleed_mm,
        page.tab,
    )  # fmt: skip
    adapter = _adapter()

    def prepared() -> bytes:
        template = read_template(file)
        with reading(template.name):
            own = page_in(file.data) is not None
            made = _prepared(plan, page, _in_whole_points(plan, page, template, own))
        if own:
            svg = as_layer(file.data, made.width_mm, made.height_mm)
            made = made._replace(layers=(_ReadyLayer((), svg, False, False, False),))
        return adapter.dump_json(made)

    ready = adapter.validate_json(cache.get_or_make(key, prepared))
    rooms = tuple(  # the language decides how some letters look
        (key, replace(room, style=replace(room.style, language=plan.language)))
        for key, room in ready.rooms
    )
    return ready._replace(rooms=rooms)


def _in_whole_points(plan: SetPlan, page: Page, template: Template, own: bool) -> Template:
    """A page of a finished PDF as large as its leaf, which many programs round to whole points."""
    width, height = plan.binder.width_mm + page.beside_mm, plan.binder.height_mm
    off = max(abs(template.width_mm - width), abs(template.height_mm - height))
    rounded = own and off <= mm(1)
    return replace(template, width_mm=width, height_mm=height) if rounded else template


@functools.cache
def _adapter() -> TypeAdapter[_Prepared]:
    return TypeAdapter(_Prepared)


def _prepared(plan: SetPlan, page: Page, template: Template) -> _Prepared:
    size, bleed = (plan.binder.width_mm + page.beside_mm, plan.binder.height_mm), plan.bleed_mm
    template = repeated(trimmed(template, size, plan.drawn_bleeds_mm), page.facts)
    _check_size(template, page, plan.binder)
    template = on_leaf(template, page.tab, page.side, page.beside_mm)
    root = copy.deepcopy(template.root)
    panels = text_areas(page.side, page.beside_mm, plan.binder, page.tab)
    rooms: list[tuple[str, Room]] = []
    typed = _Typed.of(page.facts)
    for element in list(root.iter()):
        if NAMES in element.attrib and any(step is root for step in lineage(element)):
            _take(element, page.facts, typed, template.name, panels, plan.language, rooms)
    for element in root.iter():
        if LANGUAGES in element.attrib:
            element.set(SHOWN, str(element.get(LANGUAGES)))
        strip(element, NAMES, LANGUAGES, CELL)
        if element.tag == SVG + "text" and not any(
            mark in step.attrib for step in lineage(element) for mark in (DATED, LABEL)
        ):
            element.set(LABEL, "")  # words of the illustrator's own, the same in all languages
    inks = [room.ink for _, room in rooms]
    if plan.binding is Binding.RIGHT:
        _turn_moons(root)
        mirror(root, template.width_mm, template.name)
        inks = [ink.mirrored_x(template.width_mm) for ink in inks]
    layers = []
    page_area = Rect(0, 0, template.width_mm, template.height_mm).grown(bleed)
    if bleed:
        move_page(root, (page_area.width, page_area.height), (bleed, bleed))
    inks = [ink.moved(bleed, bleed) for ink in inks]
    for facts, layer in split(root, page_area, inks):
        marks = {mark for element in layer.iter() for mark in element.attrib}
        dated = DATED in marks or (SHOWN in marks and not facts)
        labelled = PLACE in marks
        if not dated and not labelled:
            unmark(layer)
        has_text = next(layer.iter(SVG + "text"), None) is not None
        svg = bytes(etree.tostring(layer))
        layers.append(_ReadyLayer(facts, svg, has_text, dated, labelled))
    whole = bytes(etree.tostring(root))
    return _Prepared(page_area.width, page_area.height, whole, tuple(rooms), tuple(layers))


def _turn_moons(root: etree._Element) -> None:
    """Turns what is shown for a phase of the moon about its own middle, so that a mirrored page
    shows it lit on the side it was drawn: which that is depends on the sky, not on the language."""
    for element in root.iter():
        if (element.get(SHOWN) or "").endswith(PHASES) and (box := box_of_ink(element)) is not None:
            parent = element.getparent()
            to_page = Matrix() if parent is None else page_matrix(parent)
            turn = to_page.inverse() @ Matrix(a=-1.0, e=2 * box.x + box.width) @ to_page
            element.set("transform", str(turn @ parse_transform(element.get("transform"))))


def _check_size(template: Template, page: Page, binder: Binder) -> None:
    width, height = binder.width_mm + page.beside_mm, binder.height_mm
    off = abs(template.width_mm - width), abs(template.height_mm - height)
    if max(off) > PAGE_SLACK_MM:
        bleed = drawn_bleed(template, (width, height))
        flap = f" with its {page.flap_mm:g} mm flap open" if page.flap_mm else ""
        raise UserError(
            template.name,
            f"the page is {template.width_mm:.1f} × {template.height_mm:.1f} mm, "
            f"but {binder.title}{flap} is {width:g} × {height:g} mm",
            bleed_advice(bleed)
            if bleed
            else "set the document's size to that, or the flap's width in collection.toml",
        )


def bleed_advice(drawn: float) -> str:
    """What to do about a page that is ``drawn`` mm larger than its leaf on all sides."""
    return (
        f"set the document's size to that or, if it is drawn with {drawn:g} mm of bleed all round,"
        f" bleed_mm = {drawn:g} in collection.toml or in the season file"
    )


def text_areas(
    side: Side, flap_mm: float, binder: Binder, tab: Tab | None = None
) -> tuple[Rect, ...]:
    """Where a page and its flap take text that has no box, as they are drawn, bound on the left.

    In mm of the page; the page's area comes first.
    """
    verso, width, height = side is Side.VERSO, binder.width_mm, binder.height_mm
    wider, higher = tab_size(tab)
    panels = [Rect(flap_mm + wider if verso else 0.0, higher, width, height)]
    if flap_mm:
        panels.append(Rect(0.0 if verso else width, higher, flap_mm, height))
    return tuple(panel.grown(-TEXT_EDGE_MM) for panel in panels)


_WEEKDAY = re.compile(r"weekday\d")


class _Typed(NamedTuple):
    """The names that one may type on a page: ``keys``, and what is ``shown`` only sometimes."""

    keys: tuple[str, ...]
    shown: tuple[str, ...]

    @classmethod
    def of(cls, facts: Facts) -> _Typed:
        """Those of a page: none of weekdays and of dates in months, which stand in samples."""

        def own(names: Iterable[str]) -> Iterator[str]:
            return (one for one in names if not in_month(one)[0] and not _WEEKDAY.match(one))

        shown = tuple(f"show-{flag}" for flag in own(facts.flags))
        return cls((*own(facts.texts), *own(facts.months)), shown)


def _take(
    element: etree._Element,
    facts: Facts,
    typed: _Typed,
    where: str,
    panels: Sequence[Rect],
    language: str,
    rooms: list[tuple[str, Room]],
) -> None:
    """Does what the element's name asks for once and for all, or marks it for each page."""
    called = names(element)
    identifier = element.get("id") or called[0]
    mistake = functools.partial(UserError, where, element=identifier)
    for name in called:
        if name.startswith("show-"):
            if name.removeprefix("show-") not in facts.flags:
                what = f"no such thing to show on {PAGES[facts.kind]}"
                raise mistake(what, key_advice(name, typed.shown))
            element.set(SHOWN, name.removeprefix("show-"))
            return
        wanted = ruled(name)
        if wanted and element.tag == SVG + "rect":
            rule(element, wanted, where)
            return
        if name in facts.months:
            check_month(element, where, identifier)
            element.set(DATED, name)
            return
        if name == MOON_DISC or name.endswith(f"-{MOON_DISC}"):
            if name in facts.moons and can_be_moon(element):
                element.set(DATED, name)
                return
            raise mistake(*_no_moon(name, facts))
        room = room_of(element, panels, "") if name in facts.texts else None
        if room is not None:
            drop_box(element)
            element.set(LABEL if name.startswith("label-") else DATED, name)
            element.set(PLACE, str(len(rooms)))
            rooms.append((name, room))
            return
    if element.tag == SVG + "rect" and any(looks_ruled(name) for name in called):
        raise mistake("this isn't a ruled area", "write it like 'lines-6mm' or 'dots-5mm-centre'")
    meant = mistaken_name(element, called, typed.keys, typed.shown)
    if meant is not None and meant.startswith("label-"):
        what = f"there is no label {meant.removeprefix('label-')!r} for {language!r}"
        raise mistake(what, label_advice(meant, typed.keys, f"labels/{root_of(language)}.toml"))
    if meant is not None and meant.rpartition("-")[2] in ALMANAC_PARTS:
        raise mistake(*_NO_ALMANAC)
    if meant is not None:
        raise mistake(
            f"no such key on {PAGES[facts.kind]}", key_advice(meant, [*typed.keys, *typed.shown])
        )


def _no_moon(name: str, facts: Facts) -> tuple[str, str]:
    """Why a page shows no moon in the place that asks for one, and what to do."""
    if name in facts.moons:
        return "a moon is drawn in a rectangle or a circle", "give one of those this id"
    if not facts.moons and facts.kind in ("day", "half-week", "week", "month"):
        return _NO_ALMANAC
    return f"no such key on {PAGES[facts.kind]}", key_advice(name, list(facts.moons))


_NO_ALMANAC = (
    "this season has no almanac to take it from",
    "add an [almanac] to the season file, see docs/season-file.md",
)


def _holds(fact: str, page: Page, language: str) -> bool:
    """Whether what is shown only sometimes is shown on a page in a language."""
    return Languages.of(fact).have(language) if "/" in fact else page.facts.flags[fact]


def _filled(
    name: str,
    page: Page,
    ready: _Prepared,
    said: Sequence[SetText],
    language: str,
    labelled: dict[bytes, bytes],
) -> FilledPage:
    """One page; ``labelled`` has the layers that were labelled for pages before it."""

    def filled(svg: bytes, **form: Any) -> bytes:
        """A marked template, or one of its layers, with what this page says put in it."""
        root = copy.deepcopy(_parsed(svg))
        for element in list(root.iter()):
            shown = element.get(SHOWN)
            if shown and not _holds(shown, page, language):
                remove(element)
        for element in list(root.iter()):
            key, place = element.get(DATED), element.get(PLACE)
            if place is not None:
                put(said[int(place)].text, element, said[int(place)].fitting.scale)
            elif key is not None:
                if key in page.facts.moons:
                    draw_moon(element, page.facts.moons[key])
                else:
                    draw_month(element, page.facts.months[key])
        unmark(root)
        root.set("{http://www.w3.org/XML/1998/namespace}lang", language)
        return bytes(etree.tostring(root, **form))

    layers = []
    for layer in ready.layers:
        if not all(_holds(fact, page, language) for fact in layer.facts):
            continue
        svg = layer.svg
        if layer.dated:
            svg = filled(svg)
        elif layer.labelled:
            if svg not in labelled:
                labelled[svg] = filled(svg)
            svg = labelled[svg]
        layers.append(PageLayer(svg, layer.has_text))
    return FilledPage(
        name=name,
        width_mm=ready.width_mm,
        height_mm=ready.height_mm,
        layers=tuple(layers),
        whole=lambda: filled(ready.whole, xml_declaration=True, encoding="utf-8"),
        left_out=tuple(
            LeftOut(page.label, f"'{text}' for '{forms[0]}'")
            for key, _, text, fitting in said
            if fitting.form
            and key.endswith(("-feast", "-note"))
            and hides_some(text, forms := page.facts.texts[key])
        ),
    )


@functools.lru_cache(maxsize=64)
def _parsed(svg: bytes) -> etree._Element:
    return etree.fromstring(svg, etree.XMLParser(huge_tree=True))
