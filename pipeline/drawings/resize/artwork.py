"""Where artwork goes: in its proportions, at its corner or edge, and clear of its neighbours."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.clusters import Cluster, Sort
from pipeline.drawings.resize.drawing import Drawing
from pipeline.drawings.resize.moving import (
    Mover,
    Similar,
    move_paths,
    move_points,
    move_shape,
    similar,
)
from pipeline.drawings.resize.pieces import Piece, gap_between
from pipeline.drawings.resize.stretch import Stretch
from pipeline.drawings.resize.ways import Way, Ways, sliced
from pipeline.impose.leaf import Face

_TINY_MM, _LARGE_MM = 5.0, 20.0
"""Artwork up to the first keeps its size where it can, from the second on it goes by its room."""

_NEAR = 0.2
"""Artwork within this share of a panel from its edge is held by that edge."""

_WIDE = 0.6
"""Artwork over this share of a panel's width grows with it."""

_LONG = 0.25
"""Pieces of a frame over this share of its side stretch with it, shorter ones are moved."""

_AIR_MM = 0.5
"""Artwork stays so far from what it was at least as far from."""

_TRIES = 5


class Neighbour(NamedTuple):
    """A thing that artwork stays clear of: where it was and where it is now, mm."""

    old: Rect
    new: Rect


def surroundings(art: Iterable[Cluster], face: Face, page: Way) -> Ways:
    """The page's way, with those of frames and wreaths for what they surround."""
    around: list[tuple[Cluster, Way]] = []
    for cluster in art:
        if cluster.sort is Sort.FRAME:
            around.append((cluster, sliced(cluster.bounds, cluster.depth, page)))
        elif cluster.is_large:
            to = kept(cluster.bounds, face, page)
            new = Rect(*to(*cluster.bounds[:2]), *(to.scale * size for size in cluster.bounds[2:]))
            around.append((cluster, _straight(cluster.bounds, new)))
    return Ways(page, around)


def _straight(old: Rect, new: Rect) -> Way:
    return Way(
        Stretch((old.x, old.right), (new.x, new.right)),
        Stretch((old.y, old.bottom), (new.y, new.bottom)),
    )


def lay_art(
    drawing: Drawing,
    art: Sequence[Cluster],
    face: Face,
    ways: Ways,
    neighbours: Sequence[Neighbour],
) -> None:
    """Moves and scales artwork on the page with this (old) ``face``."""
    movers: dict[etree._Element, dict[int, Mover]] = {}
    for cluster in art:
        way = ways.of(cluster.bounds, but=cluster)
        for piece, to in _moved(cluster, face, way, neighbours):
            if piece.part is not None:
                movers.setdefault(piece.element, {})[piece.part] = to
            elif isinstance(to, Similar):
                move_shape(drawing, piece.element, to)
            else:
                move_points(drawing, piece.element, to)
    for element, parts in movers.items():
        move_paths(drawing, element, parts)


def _moved(
    cluster: Cluster, face: Face, way: Way, neighbours: Sequence[Neighbour]
) -> Iterable[tuple[Piece, Mover]]:
    bounds, pieces = cluster.bounds, cluster.pieces
    if cluster.sort is Sort.STRAIGHT:
        return [(piece, _by_points(way)) for piece in pieces]
    if cluster.sort is Sort.RULE:
        return [(piece, _drawn_out(bounds, way)) for piece in pieces]
    if cluster.sort is Sort.STRIP:
        return [(piece, _spread(piece.bounds, bounds, way)) for piece in pieces]
    if cluster.sort is Sort.FRAME:
        along = sliced(bounds, cluster.depth, way)
        return [(piece, _framed(piece.bounds, bounds, along)) for piece in pieces]
    to = kept(bounds, face, way, neighbours)
    return [(piece, to) for piece in pieces]


def _by_points(way: Way) -> Mover:
    return lambda x, y: (way.x(x), way.y(y))


def _drawn_out(bounds: Rect, way: Way) -> Mover:
    """Makes a rule as long as its room and leaves its thickness."""
    middle_x, middle_y = bounds.x + bounds.width / 2, bounds.y + bounds.height / 2
    shift_x, shift_y = way.x(middle_x) - middle_x, way.y(middle_y) - middle_y
    new = way.rect(bounds)
    if bounds.width >= bounds.height:
        longer = new.width / bounds.width
        return lambda x, y: (new.x + (x - bounds.x) * longer, y + shift_y)
    taller = new.height / bounds.height
    return lambda x, y: (x + shift_x, new.y + (y - bounds.y) * taller)


def _spread(piece: Rect, strip: Rect, way: Way) -> Similar:
    """Moves a little thing along its strip, as it is."""
    level = strip.width >= strip.height
    across, along = (piece, strip) if level else (strip, piece)
    x, y = across.x + across.width / 2, along.y + along.height / 2
    return Similar(1.0, way.x(x) - x, way.y(y) - y)


def _framed(piece: Rect, frame: Rect, way: Way) -> Mover:
    """Stretches a frame's long pieces lengthwise and moves its short ones."""
    x, y = piece.x + piece.width / 2, piece.y + piece.height / 2
    shift_x, shift_y = way.x(x) - x, way.y(y) - y
    wide, high = piece.width > _LONG * frame.width, piece.height > _LONG * frame.height
    if wide or high:
        return lambda x, y: (way.x(x) if wide else x + shift_x, way.y(y) if high else y + shift_y)
    return Similar(1.0, shift_x, shift_y)


def kept(bounds: Rect, face: Face, way: Way, neighbours: Sequence[Neighbour] = ()) -> Similar:
    """Keeps artwork's proportions and the edge or corner it is near.

    It gets no smaller than it must to stay clear of neighbours that it was clear of.
    """
    panel = panel_of(face, bounds)
    room = way.least(bounds)
    wanted = _scale(bounds, panel, room)
    near = [
        (each.new, min(_AIR_MM, gap))
        for each in neighbours
        if (gap := gap_between(each.old, bounds)) > -0.05
    ]
    for attempt in range(_TRIES + 1):
        scale = wanted + (min(room, wanted) - wanted) * attempt / _TRIES
        spot_x, to_x = _held(bounds.x, bounds.right, panel.x, panel.right, way.x)
        spot_y, to_y = _held(bounds.y, bounds.bottom, panel.y, panel.bottom, way.y)
        to = similar(scale, (spot_x, spot_y), (to_x, to_y))
        new = Rect(*to(bounds.x, bounds.y), scale * bounds.width, scale * bounds.height)
        if not any(gap_between(other, new) < air - 0.05 for other, air in near):
            break
    return to


def _scale(bounds: Rect, panel: Rect, room: float) -> float:
    """How large artwork would be if it had no neighbours."""
    if room >= 1:
        return room if bounds.width > _WIDE * panel.width else 1.0
    largest = max(bounds.width, bounds.height)
    by_room = min(1.0, max(0.0, (largest - _TINY_MM) / (_LARGE_MM - _TINY_MM)))
    return by_room * room + (1 - by_room) * 1.0


def panel_of(face: Face, box: Rect) -> Rect:
    """The safe area that the middle of a box lies in: the page's or its flap's."""
    middle = box.x + box.width / 2
    if face.flap and face.flap.x <= middle <= face.flap.right:
        return face.flap_safe or face.flap
    return face.safe


def _held(
    first: float, last: float, start: float, end: float, line: Stretch
) -> tuple[float, float]:
    """A spot of what lies from ``first`` to ``last`` in a panel, and where it goes."""
    before, after, near = first - start, end - last, _NEAR * (end - start)
    if abs(before) <= near and before < after - 0.5:
        return first, line(first)
    if abs(after) <= near and after < before - 0.5:
        return last, line(last)
    return (first + last) / 2, (line(first) + line(last)) / 2
