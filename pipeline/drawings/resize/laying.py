"""Puts the things of a page in their new places."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.anchors import told_stretches
from pipeline.drawings.resize.artwork import Neighbour, kept, lay_art, surroundings
from pipeline.drawings.resize.clusters import Cluster
from pipeline.drawings.resize.drawing import Drawing
from pipeline.drawings.resize.lettering import Lettering, Line, line_of
from pipeline.drawings.resize.moving import move_text, move_whole, set_rect, similar, stretch_box
from pipeline.drawings.resize.things import Box, Things, Words, bounds_below
from pipeline.drawings.resize.ways import Way, Ways
from pipeline.fill.areas import whole_pitches
from pipeline.fill.template import rect_of
from pipeline.impose.leaf import Face


class Laying:
    """Lays the things of one drawing from the page ``old`` to the page ``new``."""

    def __init__(self, drawing: Drawing, old: Face, new: Face, lettering: Lettering) -> None:
        self._drawing = drawing
        self._old, self._new = old, new
        self._lettering = lettering

    def lay(self, things: Things, page: Way, held: float) -> Iterator[str]:
        """Puts things in their places; yields what the illustrator should look at.

        ``held`` is how much lower lines of type get.
        """
        ways = surroundings(things.art, self._old, page)
        neighbours = [Neighbour(box.bounds, ways.of(box.bounds).rect(box.bounds))
                      for box in things.boxes]  # fmt: skip
        yield from self._lay_boxes(things.boxes, ways)
        lines = [line_of(self._drawing, words) for words in things.words]
        yield from self._lay_words(lines, things.art, ways, held, neighbours)
        self._lay_months(things, ways)
        lay_art(self._drawing, things.art, self._old, ways, neighbours)
        for whole in things.wholes:
            move_whole(self._drawing, whole.element, kept(whole.bounds, self._old, page))
        for inner in things.inner:
            yield from self._lay_told(inner, page)

    def _lay_told(self, things: Things, page: Way) -> Iterator[str]:
        if things.told is None or things.scope is None:
            return
        bounds = bounds_below(self._drawing, things.scope)
        if bounds is None:
            return
        x, y = told_stretches(things.told, bounds, self._old, self._new, page.x, page.y)
        held = min(1.0, y.slope(bounds.y, bounds.bottom))
        yield from self.lay(things, Way(x, y), held)

    def _lay_boxes(self, boxes: Sequence[Box], ways: Ways) -> Iterator[str]:
        for box in boxes:
            way = ways.of(box.bounds)
            stretch_box(self._drawing, box.element, way.x, way.y)
            if box.pitch_mm and not whole_pitches(way.rect(box.bounds).height, box.pitch_mm):
                name = box.element.get("id", "an area")
                yield f"{name}: too low for a whole pitch of {box.pitch_mm:g} mm"

    def _lay_words(
        self,
        lines: Sequence[Line],
        art: Sequence[Cluster],
        ways: Ways,
        held: float,
        neighbours: list[Neighbour],
    ) -> Iterator[str]:
        """Sets the words; adds where they stand to the neighbours."""
        own_ways = [ways.of(line.extent) for line in lines]
        beside = [*neighbours, *map(_as_neighbour, lines, own_ways)]
        beside += [
            Neighbour(cluster.bounds, ways.of(cluster.bounds, but=cluster).rect(cluster.bounds))
            for cluster in art
            if not cluster.is_large
        ]
        places = [
            self._lettering.place(
                line, way, [each for each in beside if each.old not in (line.extent, line.box)]
            )
            for line, way in zip(lines, own_ways, strict=True)
        ]
        by_look = self._lettering.scales(zip(lines, places, strict=True), held)
        for line, place, way in zip(lines, places, own_ways, strict=True):
            scale = by_look[line.look]
            spot = place.spot(line, scale)
            self._set_box(line, place.room, spot, scale, way)
            to = similar(scale, line.spot, spot)
            move_text(self._drawing, line.words.text, to)
            extent = line.extent
            new = Rect(*to(extent.x, extent.y), scale * extent.width, scale * extent.height)
            neighbours.append(Neighbour(extent, new))
            note = self._lettering.too_wide(line, place, scale)
            if note:
                yield note

    def _set_box(
        self, line: Line, room: Rect | None, spot: tuple[float, float], scale: float, way: Way
    ) -> None:
        """Makes a text's box as wide as its room, and high enough for its type."""
        box = line.words.box
        if box is None or line.box is None or room is None:
            return
        if line.words.visible:
            stretch_box(self._drawing, box, way.x, way.y)
            return
        top = spot[1] + (line.box.y - line.spot[1]) * scale
        area = Rect(room.x, top, room.width, line.box.height * scale)
        set_rect(self._drawing, box, self._drawing.matrix(box).inverse().bounds(area))

    def _lay_months(self, things: Things, ways: Ways) -> None:
        areas = []
        for month in things.months:
            old = self._drawing.matrix(month.area).bounds(rect_of(month.area))
            way = ways.of(old)
            areas.append((month, old, way.rect(old)))
            stretch_box(self._drawing, month.area, way.x, way.y)
        samples = [
            (line_of(self._drawing, Words(sample)), old, new)
            for month, old, new in areas
            for sample in month.samples
        ]
        by_look = self._lettering.month_scales(samples)
        for line, old, new in samples:
            across = new.x + (line.spot[0] - old.x) / old.width * new.width
            along = new.y + (line.spot[1] - old.y) / old.height * new.height
            to = similar(by_look[line.look], line.spot, (across, along))
            move_text(self._drawing, line.words.text, to)


def _as_neighbour(line: Line, way: Way) -> Neighbour:
    """A line as a neighbour of others: its box, as it stays in that; without one as it was."""
    if line.box is not None:
        return Neighbour(line.box, way.rect(line.box))
    old, (x, y) = line.extent, line.spot
    return Neighbour(old, old.moved(way.x(x) - x, way.y(y) - y))
