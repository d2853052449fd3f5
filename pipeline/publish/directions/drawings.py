"""The pictures of steps, with the parts that a set decides: where it is cut, how its piles lie,
which way its flaps fold and where its holes are.
"""

from __future__ import annotations

import copy
import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.fill.template import Template, rect_of
from pipeline.fill.texts import mirror, put
from pipeline.impose.bench import LEAVES_A_PUNCH, Cut, cut_order
from pipeline.impose.contents import BinderNote
from pipeline.plan.model import Binder, Side
from pipeline.publish.directions.artwork import Artwork, Sample, sample_of
from pipeline.publish.directions.steps import Account, Heap, Order, Step
from pipeline.svg.tree import NAMES, SVG, inherited, names, page_matrix, strip


def completed(template: Template, order: Order) -> etree._Element:
    """A step's picture with what the set decides put in."""
    account, write = order.account, order.phrases.local.number
    root = copy.deepcopy(template.root)
    most = min(LEAVES_A_PUNCH, len(account.contents.leaves))
    said = {
        "figure-one": write(1),
        "figure-two": write(2),
        "punch-most": "–".join(dict.fromkeys((write(1), write(most)))),
        "percent": order.phrases.whole,
    }
    for element in list(root.iter()):
        for name in names(element):
            if name in said:
                put(said[name], element)
            elif name in ("cuts", "piles", "pile", "folds"):
                diagram = _diagram(element, name, template.name, order)
                # The diagram is in page mm, its place in the units of what is around it.
                parent = element.getparent()
                moved = "" if parent is None else str(page_matrix(parent).inverse())
                _swap(element, diagram, moved)
            elif name in ("holes", "rings"):
                draw_each = holes if name == "holes" else rings
                _swap(element, draw_each(order.binder, element))
    return root


def _diagram(
    element: etree._Element, name: str, file: str, order: Order
) -> Iterator[etree._Element]:
    local = order.phrases.local
    sample = sample_of(element, file, local.language, local.right_to_left)
    if sample.box is None:
        raise UserError(file, "it holds no rectangle", element=name)

    def say(key: str, facts: Mapping[str, object]) -> str:
        return order.phrases.text(key, facts, "caption")

    rect = element.find(f"{SVG}rect")
    inks = {} if rect is None else {kind: inherited(rect, kind) for kind in ("fill", "stroke")}
    leaf, accent = (
        ink if (ink := inks.get(kind)) and ink != "none" else usual
        for kind, usual in (("fill", LEAF), ("stroke", ACCENT))
    )
    diagram = Diagram(
        order.account, sample.box, sample, local.number, local.right_to_left, say, leaf, accent
    )
    draw = {
        "cuts": diagram.cuts,
        "piles": diagram.piles,
        "pile": diagram.pile,
        "folds": diagram.folds,
    }
    return draw[name]()


def for_the_web(step: Step, order: Order, artwork: Artwork) -> str:
    """A step's picture as part of a web page, with the words that stand for it (WAI-ARIA 1.2,
    "img"); empty for a step without one."""
    if not step.picture:
        return ""
    template = artwork.picture(step.picture)
    root = completed(template, order)
    for element in root.iter():
        strip(element, NAMES)
        # No presentation attribute of SVG (SVG 2, 6.6): browsers read it in a style alone.
        if figures := element.get("font-feature-settings"):
            strip(element, "font-feature-settings")
            element.set("style", f"font-feature-settings: {figures}")
    if order.phrases.local.right_to_left:
        mirror(root, template.width_mm, template.name)
    root.set("role", "img")
    root.set("aria-label", step.drawing)
    etree.cleanup_namespaces(root)
    return etree.tostring(root, encoding="unicode", with_tail=False)


def _swap(element: etree._Element, drawn: Iterable[etree._Element], transform: str = "") -> None:
    """Puts drawings in an element's place."""
    group = etree.Element(SVG + "g", {"transform": transform} if transform else {})
    group.extend(list(drawn))
    parent = element.getparent()
    assert parent is not None  # a picture's root is an svg, which goes by none of the names
    parent.replace(element, group)


PAPER, OUTLINE, RULE = "#ffffff", "#858b80", "#b4b9af"
LEAF, ACCENT = "#eef0f2", "#6b737b"
"""Leaves and cuts where the rectangle of a picture's part is neither filled nor outlined."""
SAID = "#3f463b"
# Proportions of the diagrams, chosen by eye.
LINE_MM = 0.26
DASHES = "0.8 0.6"
LABEL_ROOM_MM = 2.7
CAPTION_MM = 2.6
BETWEEN_MM = 1.6
RING_MM, RING_WITHIN_MM = 3.6, 1.0
"""Around the number of a cut, so that it is not taken for a sheet's; and how much of it stands over
the sheet, which leaves the sheet more room."""
LISTED_ROWS = 2
"""The most lines of numbers below a picture."""
LEAST_HOLE_MM = 0.55
RING_RISE = 0.34
MOST_STEP_MM = 4.6
FOLDS_APART_MM = 3.0
FLAP_RISE_MM = 1.8


@dataclass(frozen=True)
class Diagram:
    """Draws what a set decides into ``area`` (page mm).

    Numbers are in the style of ``sample``, in the figures that ``write`` gives. ``mirrored`` tells
    that the page will be mirrored afterwards, which sheets must survive. ``leaf`` and ``accent``
    are the colours of leaves, and of cuts and folds.
    """

    account: Account
    area: Rect
    sample: Sample
    write: Callable[[int], str]
    mirrored: bool
    say: Callable[[str, Mapping[str, object]], str]
    leaf: str = LEAF
    accent: str = ACCENT

    def cuts(self) -> Iterator[etree._Element]:
        """Every heap's sheet with its cuts, numbered in their order; what is cut apart says which
        sheets it is for."""
        heaps = self.account.heaps
        number = 0
        for heap, sheet, scale, flats in self._sheets(
            LABEL_ROOM_MM, CAPTION_MM + 1 if len(heaps) > 1 else 0.0
        ):
            yield from (_box(sheet, PAPER, OUTLINE), *(_box(flat, self.leaf) for flat in flats))
            order = cut_order(self._seen(heap), *self.account.sheet_mm)
            for cut in order:
                number += 1
                crowded = any(self._nearer(one) for one in order if one.across is cut.across)
                yield from self._numbered(cut, number, sheet, scale, crowded)
            if len(heaps) > 1:
                ends = dict.fromkeys((self.write(heap.first), self.write(heap.last)))
                facts = {"count": heap.last - heap.first + 1, "range": "–".join(ends)}
                y = sheet.bottom + LABEL_ROOM_MM + CAPTION_MM / 2 + 0.4
                name = self.say("heap", facts)
                heard = self._label(name, sheet.x + sheet.width / 2, y, CAPTION_MM)
                heard.set("fill", SAID)
                yield heard

    def piles(self) -> Iterator[etree._Element]:
        """Every heap's sheet with its piles, numbered in the order they are laid on one another."""
        number = 0
        for _, sheet, _, flats in self._sheets(0.2, 0.0):
            yield from (_box(sheet, PAPER, OUTLINE), *(_box(flat, self.leaf) for flat in flats))
            for flat in flats:
                number += 1
                size = min(self.sample.style.size, flat.height * 0.7, flat.width * 0.9)
                middle = flat.x + flat.width / 2, flat.y + flat.height / 2
                yield self._label(self.write(number), *middle, size)

    def pile(self) -> Iterator[etree._Element]:
        """The piles on one another, the first on top."""
        area, count = self.area, self.account.piles
        step = min(MOST_STEP_MM, area.height / (count + 1))
        depth = min(area.height - step * (count - 1), 1.5 * step)
        top = area.y + (area.height - step * (count - 1) - depth) / 2
        lean = area.width * 0.2
        size = min(self.sample.style.size, 0.86 * step)
        for number in range(count, 0, -1):
            y = top + step * (number - 1)
            corners = (
                f"M{area.x + lean:.3f} {y:.3f}H{area.right:.3f}"
                f"L{area.right - lean:.3f} {y + depth:.3f}H{area.x:.3f}Z"
            )
            yield _drawn("path", d=corners, fill=PAPER, stroke=OUTLINE)
            at = (area.x + area.width / 2 - lean * 0.2, y + depth - step / 2)
            yield self._label(self.write(number), *at, size)

    def folds(self) -> Iterator[etree._Element]:
        """For each face that flaps fold over, a leaf with that face up: its page, its holes, and
        its flap half shut. Below it what the face is called, and the leaves where not all fold
        alike."""
        account, contents = self.account, self.account.contents
        to, binder = account.folds_to, contents.binder
        caption = CAPTION_MM * 1.3
        each = (self.area.width - FOLDS_APART_MM * (len(to) - 1)) / max(len(to), 1)
        listed = {face: self._listed(leaves, each) for face, leaves in to.items()}
        rows = max(map(len, listed.values()), default=0) if len(to) > 1 else 0
        flap_mm = max(account.flaps_mm, default=0.0)
        high = self.area.height - caption * (1 + rows) - FLAP_RISE_MM
        scale = min(each / (binder.width_mm + flap_mm), high / binder.height_mm)
        for number, face in enumerate(to):
            wide, flap = binder.width_mm * scale, flap_mm * scale
            x = self.area.x + number * (each + FOLDS_APART_MM) + (each - wide - flap) / 2
            page = Rect(x, self.area.y + FLAP_RISE_MM, wide, binder.height_mm * scale)
            middle = x + (wide + flap) / 2
            yield from self._folding(page, flap, over_back=face is Side.VERSO)
            name = self.say("front" if face is Side.RECTO else "back", {})
            yield self._label(name, middle, page.bottom + caption * 0.7, CAPTION_MM)
            for row, shown in enumerate(listed[face][:rows]):
                y = page.bottom + caption * (1.7 + row)
                yield self._label(shown, middle, y, CAPTION_MM)

    def _listed(self, leaves: Sequence[int], width: float) -> list[str]:
        """Numbers of leaves in lines so wide; where they are too many, the first and last ones."""
        most = max(int(width / (0.55 * CAPTION_MM)), 1)
        lines = textwrap.wrap(", ".join(map(self.write, leaves)), most)
        if len(lines) <= LISTED_ROWS:
            return lines
        first, second, *_, last = (self.write(one) for one in leaves)
        return [f"{first}, {second}, … {last}"]

    def _folding(self, page: Rect, flap: float, *, over_back: bool) -> Iterator[etree._Element]:
        """A leaf whose flap is being folded over the face one looks at; its back has the holes on
        the other side."""
        binder = self.account.contents.binder
        turn = f"matrix(-1 0 0 1 {2 * page.x + page.width + flap:.3f} 0)" if over_back else ""
        group = etree.Element(SVG + "g", {"transform": turn} if turn else {})
        group.append(_box(page, PAPER, OUTLINE))
        radius = max(binder.holes.diameter_mm * page.width / binder.width_mm / 2, LEAST_HOLE_MM)
        across = binder.holes.edge_mm * page.width / binder.width_mm
        for y in _hole_places(binder, page):
            at = {"cx": f"{page.x + across:.3f}", "cy": f"{y:.3f}", "r": f"{radius:.3f}"}
            group.append(_drawn("circle", **at, fill=PAPER, stroke=OUTLINE))
        for part in (0.2, 0.35, 0.5, 0.65, 0.8):
            y = page.y + page.height * part
            rule = f"M{page.x + across * 2.4:.3f} {y:.3f}H{page.right - 1.2:.3f}"
            group.append(_drawn("path", d=rule, fill="none", stroke=RULE))
        edge, rise = page.right + flap, FLAP_RISE_MM
        lifted = (
            f"M{page.right:.3f} {page.y:.3f}L{edge:.3f} {page.y - rise:.3f}"
            f"V{page.bottom - rise:.3f}L{page.right:.3f} {page.bottom:.3f}Z"
        )
        group.append(_drawn("path", d=lifted, fill=self.leaf, stroke=OUTLINE))
        tip, y = page.right - 0.6 * flap, page.y + 0.3 * page.height
        arrow = (
            f"M{edge - 0.3 * flap:.3f} {y - rise:.3f}"
            f"C{edge - 0.5 * flap:.3f} {y - 2.2 * rise:.3f} "
            f"{tip + 0.3:.3f} {y - 2.2 * rise:.3f} {tip:.3f} {y:.3f}"
            f"M{tip + 1.3:.3f} {y - 0.9:.3f}L{tip:.3f} {y:.3f}L{tip - 0.35:.3f} {y - 1.55:.3f}"
        )
        group.append(_drawn("path", d=arrow, fill="none", stroke=self.accent))
        yield group

    def _label(
        self, text: str, x: float, y: float, size: float, anchor: str = "middle"
    ) -> etree._Element:
        """A label at a point, which is in the middle of its height."""
        return self.sample.text(text, x, y + 0.35 * size, size=size, anchor=anchor)

    def _seen(self, heap: Heap) -> list[Rect]:
        width, _ = self.account.sheet_mm
        return [flat.mirrored_x(width) if self.mirrored else flat for flat in heap.flats]

    def _sheets(
        self, room: float, caption: float
    ) -> Iterator[tuple[Heap, Rect, float, list[Rect]]]:
        """The heaps' sheets side by side, as large as they can be, in the middle of the area.

        Gives each heap with where its sheet is drawn, how much smaller than it is, and where its
        leaves are.
        """
        area, heaps = self.area, self.account.heaps
        width, height = self.account.sheet_mm
        between = BETWEEN_MM * (len(heaps) - 1)
        across = (area.width - between) / len(heaps) - 2 * room
        scale = min(across / width, (area.height - 2 * room - caption) / height)
        each = width * scale + 2 * room
        left = area.x + (area.width - each * len(heaps) - between) / 2
        y = area.y + (area.height - caption - height * scale) / 2
        for number, heap in enumerate(heaps):
            x = left + room + number * (each + BETWEEN_MM)
            sheet, *flats = (
                Rect(x + r.x * scale, y + r.y * scale, r.width * scale, r.height * scale)
                for r in (Rect(0, 0, width, height), *self._seen(heap))
            )
            yield heap, sheet, scale, flats

    def _nearer(self, cut: Cut) -> int:
        """The edge a cut is nearer to: -1 for the left or upper, 1 for the other, 0 for neither."""
        before = cut.spans[0][0]
        after = self.account.sheet_mm[0 if cut.across else 1] - cut.spans[-1][1]
        return (before > after) - (before < after) if abs(before - after) > 1 else 0

    def _numbered(
        self, cut: Cut, number: int, sheet: Rect, scale: float, crowded: bool
    ) -> Iterator[etree._Element]:
        """One cut and its number, which stands at the edge the cut is nearer to.

        Where it is as near to both, odd numbers stand at one edge and even ones opposite, so that
        those of neighbours do not meet; or all at one, where numbers of shorter cuts are
        ``crowded`` in.
        """
        at = cut.at * scale + (sheet.y if cut.across else sheet.x)
        start, end = (sheet.x, sheet.right) if cut.across else (sheet.y, sheet.bottom)
        spans = [(start + low * scale, start + high * scale) for low, high in cut.spans]
        nearer = self._nearer(cut)
        at_start = nearer < 0 or (nearer == 0 and (crowded or number % 2 == 1))
        for near, far in spans:
            ends = [(along, at) if cut.across else (at, along) for along in (near, far)]
            (x1, y1), (x2, y2) = ends
            line = f"M{x1:.3f} {y1:.3f}L{x2:.3f} {y2:.3f}"
            dashed = {"stroke-dasharray": DASHES}
            yield _drawn("path", d=line, fill="none", stroke=self.accent, **dashed)
        size = self.sample.style.size
        away = RING_MM / 2 - RING_WITHIN_MM
        along = start - away if at_start else end + away
        x, y = (along, at) if cut.across else (at, along)
        ring = {"cx": f"{x:.3f}", "cy": f"{y:.3f}", "r": f"{RING_MM / 2:.3f}"}
        yield _drawn("circle", **ring, fill=PAPER, stroke=self.accent)
        yield self._label(self.write(number), x, y, size)


def holes(binder: Binder, strip: etree._Element) -> Iterator[etree._Element]:
    """A leaf's holes along the middle of a strip that is as high as the leaf, in its style."""
    area = rect_of(strip)
    radius = max(binder.holes.diameter_mm * area.height / binder.height_mm / 2, LEAST_HOLE_MM)
    for y in _hole_places(binder, area):
        place = {"cx": f"{area.x + area.width / 2:.3f}", "cy": f"{y:.3f}", "r": f"{radius:.3f}"}
        yield etree.Element(SVG + "circle", _style(strip) | place)


def rings(binder: Binder, strip: etree._Element) -> Iterator[etree._Element]:
    """The rings of an open binder, each from one edge of a strip to the other, in its style."""
    area = rect_of(strip)
    rise = RING_RISE * area.width
    for y in _hole_places(binder, area):
        ring = (
            f"M{area.x:.3f} {y + rise / 2:.3f}"
            f"C{area.x:.3f} {y - rise:.3f} {area.right:.3f} {y - rise:.3f} "
            f"{area.right:.3f} {y + rise / 2:.3f}"
        )
        yield etree.Element(SVG + "path", _style(strip) | {"d": ring})


def _hole_places(binder: Binder | BinderNote, area: Rect) -> list[float]:
    return [area.y + centre * area.height / binder.height_mm for centre in binder.holes.centres_mm]


def _style(strip: etree._Element) -> dict[str, str]:
    found = {name: inherited(strip, name) for name in ("fill", "stroke", "stroke-width")}
    return {name: value for name, value in found.items() if value is not None}


def _box(rect: Rect, fill: str, stroke: str = "none") -> etree._Element:
    place = {name: f"{value:.3f}" for name, value in rect._asdict().items()}
    return _drawn("rect", **place, fill=fill, stroke=stroke)


def _drawn(tag: str, **attributes: str) -> etree._Element:
    return etree.Element(SVG + tag, {**attributes, "stroke-width": f"{LINE_MM:g}"})
