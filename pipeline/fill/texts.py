"""Sets a key's text in its template: which form fits, at what size, and which way round.

A template drawn for binding on the left is mirrored for binding on the right: artwork, rules and
boxes alike; each text is turned back in its place to be read from right to left, so that what
began at the left edge of a column begins at its right.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import takewhile
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.fill.template import computed_style, rect_of
from pipeline.svg.transform import Matrix, parse_transform
from pipeline.svg.tree import FLOW, SVG, inherited, lineage, page_matrix, remove, strip
from pipeline.text.fonts import FontBook
from pipeline.text.shape import Style, advance
from pipeline.text.style import leading, length

SMALLEST = 0.85
"""How far a text may be set smaller than it was drawn before it counts as too wide."""


@dataclass(frozen=True)
class Room:
    """How a key's text is set and how wide it may run: in the text's own user units, and in mm.

    ``ink`` is the box on the page (mm) that the text stays in, whatever it says. A text that an
    editor breaks into lines of a width (``inline-size``) has as many ``lines`` as its box is high.
    """

    style: Style
    width: float
    width_mm: float
    ink: Rect
    lines: int = 1


class Fitting(NamedTuple):
    """What was chosen for a slot: which form (0 = the longest) and how far it is set smaller."""

    form: int
    scale: float


def find_text(element: etree._Element) -> etree._Element | None:
    """The ``<text>`` a key speaks of: the element itself or the first one in a group."""
    return element if element.tag == SVG + "text" else element.find(f".//{SVG}text")


def room_of(element: etree._Element, panels: Sequence[Rect], language: str) -> Room | None:
    """The room of a key's element; None when there is no text in it.

    ``panels`` are the areas text must stay in when its group holds no box (page mm, one for the
    page and one for a flap); in a repeated sample it stays in its place.
    """
    text = find_text(element)
    if text is None:
        return None
    run = _first_run(text)
    x = y = 0.0
    for step in reversed(_between(run, text)):
        x, y = _first(step.get("x"), x), _first(step.get("y"), y)
    matrix = page_matrix(text)
    flow = _numbers(text.get(FLOW))
    if len(flow) == 4:
        shape, style = Rect(*flow), computed_style(run, language)
        ink = matrix.bounds(shape.grown(style.size))
        return Room(style, shape.width, shape.width * matrix.scale_x, ink)
    rect = None if element is text else element.find(f".//{SVG}rect")
    if rect is not None:
        box = (matrix.inverse() @ page_matrix(rect)).bounds(rect_of(rect))
    else:
        spot = matrix.point(x, y)
        panels = [*_cells(text), *panels]
        held = [panel for panel in panels if panel.holds(Rect(*spot, 0, 0))]
        box = matrix.inverse().bounds((held or list(panels))[0])
    style = computed_style(run, language)
    anchor = inherited(run, "text-anchor") or "start"
    column = bool(style.orientation)
    before, after = (y - box.y, box.bottom - y) if column else (x - box.x, box.right - x)
    width = {"middle": 2 * min(before, after), "end": before}.get(anchor, after)
    em = style.size  # swashes reach past the box and above and below the line
    line = Rect(box.x - em, y - 1.6 * em, box.width + 2 * em, 2.5 * em)
    if column:
        line = Rect(x - 1.6 * em, box.y - em, 3.2 * em, box.height + 2 * em)
    lines = 1
    if len(flow) == 3 and rect is not None and not column:
        width, apart = min(width, flow[2]), leading(inherited(text, "line-height"), em)
        lines = max(1, int((box.bottom - y) / apart + 1 + 1e-6))
        line = Rect(line.x, line.y, line.width, line.height + (lines - 1) * apart)
    scale = matrix.scale_y if column else matrix.scale_x
    return Room(style, width, width * scale, matrix.bounds(line), lines)


CELL = "data-cell"
"""Marks a place of a repeated sample: its own area, in its own units."""


def _cells(text: etree._Element) -> list[Rect]:
    """The places of repeated samples that a text is in, the innermost first, mm on the page."""
    return [
        page_matrix(step).bounds(Rect(*_numbers(step.get(CELL))))
        for step in lineage(text)
        if CELL in step.attrib
    ]


def fit(forms: Sequence[str], room: Room, book: FontBook, where: str) -> Fitting:
    """The longest form that fits at full size, else the shortest at down to ``SMALLEST``.

    Where there are several lines, a long form is set smaller before a shorter one is taken. Raises
    UserError, with both widths in mm, when even the shortest is too wide.
    """
    widths = [advance(form, room.style, book, where) for form in forms]
    for number, width in enumerate(widths):
        if width <= room.width + 1e-6:
            return Fitting(number, 1.0)
        for scale in _SCALES if room.lines > 1 else ():
            if _fits_in_lines(forms[number], room, room.width / scale, book, where):
                return Fitting(number, scale)
    narrowest = min(range(len(widths)), key=widths.__getitem__)
    scale = room.width / widths[narrowest] if room.width > 0 else 0.0
    if scale < SMALLEST:
        per_unit = room.width_mm / room.width if room.width else 1.0
        raise UserError(
            where,
            f"{forms[narrowest]!r} needs {widths[narrowest] * per_unit:.1f} mm "
            f"but has {max(room.width_mm, 0):.1f} mm",
            f"make its box wider or its type smaller (it was tried down to {SMALLEST:.0%} of it)",
        )
    return Fitting(narrowest, int(scale / 0.01) * 0.01)


_SCALES = (1.0, 0.95, 0.9, SMALLEST)
"""Sizes that a long form in several lines is tried in, of the one it is drawn in (by eye)."""


def _fits_in_lines(form: str, room: Room, width: float, book: FontBook, where: str) -> bool:
    """Whether a form, broken at its spaces alone, has room in the lines, each of a width."""
    lines, line = 1, ""
    for word in form.split():
        longer = f"{line} {word}".strip()
        if line and advance(longer, room.style, book, where) > width:
            lines, longer = lines + 1, word
        if advance(longer, room.style, book, where) > width:
            return False
        line = longer
    return lines <= room.lines


def least_mm(forms: Sequence[str], room: Room, book: FontBook) -> float:
    """How much room a text needs at least, in mm: its narrowest form, as small as it may be set.

    Raises UserError for a character that no face has.
    """
    per_unit = room.width_mm / room.width if room.width else 1.0
    return SMALLEST * min(advance(form, room.style, book) for form in forms) * per_unit


def put(text: str, element: etree._Element, scale: float = 1.0) -> None:
    """Replaces the sample in a key's element with ``text`` in the style of its first run.

    An empty text removes the sample. The text is set smaller by ``scale``.
    """
    holder = find_text(element)
    if holder is None:
        return
    if not text:
        remove(holder)
        return
    run = _first_run(holder)
    kept = _between(run, holder)
    for inner in list(holder.iter()):
        parent = inner.getparent()
        if inner not in kept and parent is not None:
            parent.remove(inner)
    for step in kept:
        step.text = None
        if step is not holder:
            step.tail = None
        strip(step, "dx", "dy", "rotate", "textLength", "lengthAdjust", _LANG)
        for attribute in ("x", "y"):
            if step.get(attribute):
                step.set(attribute, f"{_first(step.get(attribute), 0.0):.6g}")
    run.text = text
    if scale != 1.0:
        run.set("font-size", f"{computed_style(run).size * scale:.6g}")


_LANG = "{http://www.w3.org/XML/1998/namespace}lang"
"""The language of the sample's words; a key's are in the page's."""


def _first_run(text: etree._Element) -> etree._Element:
    """The element that holds the text's first characters."""
    return next((step for step in text.iter() if (step.text or "").strip()), text)


def _between(inner: etree._Element, outer: etree._Element) -> list[etree._Element]:
    """The elements from one to another around it, both included."""
    return [*takewhile(lambda step: step is not outer, lineage(inner)), outer]


def _first(value: str | None, default: float) -> float:
    parts = (value or "").replace(",", " ").split()
    return length(parts[0], default=default) if parts else default


def drop_box(element: etree._Element) -> None:
    """Takes a key's box out of its group once it has been measured, if it would not be seen."""
    rect = element.find(f".//{SVG}rect")
    if rect is not None and is_unpainted(rect):
        remove(rect)


def is_unpainted(shape: etree._Element) -> bool:
    """Whether a shape has neither fill nor stroke, its own or inherited."""
    return all(
        (inherited(shape, paint) or default) == "none"
        for paint, default in (("fill", "black"), ("stroke", "none"))
    )


MIRRORED = "data-mirrored"
"""Marks a text that has been turned back, for what is later put in its place."""


def mirror(root: etree._Element, width_mm: float, name: str) -> None:
    """Mirrors a page ``width_mm`` wide in place; ``name`` is the file's, for errors.

    Raises UserError for text on a path, which cannot be turned back.
    """
    for text in root.iter(SVG + "text"):
        if text.find(f".//{SVG}textPath") is not None:
            raise UserError(
                name,
                "text on a path cannot be mirrored for a language that reads from right to left",
                "set it straight, or draw it as outlines",
                element=text.get("id") or "text",
            )
        at = next((_numbers(e.get("x"))[0] for e in text.iter() if _numbers(e.get("x"))), 0.0)
        flow = _numbers(text.get(FLOW))
        if len(flow) == 4:  # it stays in its shape
            at = flow[0] + flow[2] / 2
        turn = parse_transform(text.get("transform")) @ Matrix(a=-1.0, e=2 * at)
        text.set("transform", str(turn))
        text.set("direction", "rtl")
        text.set(MIRRORED, "")
        for element in text.iter():
            for attribute, origin in (("x", 2 * at), ("dx", 0.0)):
                moved = [f"{origin - value:.6g}" for value in _numbers(element.get(attribute))]
                if moved:
                    element.set(attribute, " ".join(moved))
    group = etree.Element(SVG + "g", {"transform": str(Matrix(a=-1.0, e=width_mm))})
    group.extend(list(root))
    root.append(group)


def turned_back(x: float) -> str:
    """The ``transform`` of a text at ``x`` (its own units) on a mirrored page."""
    return str(Matrix(a=-1.0, e=2 * x))


def _numbers(value: str | None) -> list[float]:
    return [length(part) for part in (value or "").replace(",", " ").split()]
