"""Leaves of a set as they lie on a table: cut, punched, the flap's crease in them."""

from __future__ import annotations

from PIL import Image, ImageDraw

from pipeline.base.geometry import Rect
from pipeline.impose.contents import fore_edge_on_right
from pipeline.plan.model import Side
from pipeline.proof.pictures.pictures import SetPictures
from pipeline.publish.pictures.table import CREASE, Table

LeafFace = tuple[int, Side]
"""A leaf, counted from 0, and the face of it that shows."""


def worth_showing(pictures: SetPictures, most: int) -> list[LeafFace]:
    """At most so many printed faces: each template once, in the order of the set, then more.

    The rest of the room goes to further pages in the same order.
    """
    by_template: dict[str, LeafFace] = {}
    order: list[LeafFace] = []
    for index, leaf in enumerate(pictures.contents.leaves):
        for face in Side:
            if page := leaf.page(face):
                by_template.setdefault(page.template, (index, face))
                order.append((index, face))
    first = list(by_template.values())
    more = [chosen for chosen in order if chosen not in first]
    return sorted((first + more)[:most], key=order.index)


def size_mm(pictures: SetPictures, chosen: LeafFace) -> tuple[float, float]:
    """Width and height of a face as it is laid out, its own flap open, with its tab, mm."""
    leaf, face = chosen
    shape = pictures.contents.shape(leaf, face)
    if shape.outline and not shape.flap:
        return shape.flat.width, shape.flat.height
    flap = pictures.contents.leaves[leaf].flap_mm if pictures.folds(leaf, face) else 0.0
    return pictures.contents.binder.width_mm + flap, shape.flat.height


def lay_leaf(
    table: Table,
    pictures: SetPictures,
    chosen: LeafFace,
    middle: tuple[float, float],
    turned: float = 0.0,
) -> None:
    """Lay a leaf with the middle of its page at a point, turned clockwise about its middle.

    Its own flap lies open; one that belongs to the other face is folded under it.
    """
    leaf, face = chosen
    contents = pictures.contents
    width, height = size_mm(pictures, chosen)
    right = fore_edge_on_right(face, contents.binding)
    fine, drawn = pictures.at(table.dpi), contents.shape(leaf, face)
    picture = table.printed(fine.face(leaf, face))
    wide = round(width * table.per_mm)
    if picture.width > wide + 1:
        cut = 0 if right else picture.width - wide
        picture = picture.crop((cut, 0, cut + wide, picture.height))
    flap = contents.leaves[leaf].flap_mm if pictures.folds(leaf, face) else 0.0
    if flap:
        fold = flap if not right else contents.binder.width_mm
        _crease(picture, fold * table.per_mm, table.per_mm)
    left, top = middle[0] - width / 2, middle[1] - height / 2
    shape = Image.new("L", picture.size, 255)
    if drawn.outline:
        left_mm = 0.0 if right else drawn.flat.width - width
        shape = fine.cut_mask(leaf, face, Rect(left_mm, 0, width, drawn.flat.height))
        shape = shape.resize(picture.size)
    holes, finer = contents.binder.holes, 4
    across = holes.diameter_mm * table.per_mm
    box = int(across) + 3
    edge = holes.edge_mm * table.per_mm
    for centre in holes.centres_mm:
        x, y = edge if right else picture.width - edge, (drawn.trim.y + centre) * table.per_mm
        corner = int(x - box / 2), int(y - box / 2)
        hole = Image.new("L", (box * finer, box * finer), 255)
        at = ((x - corner[0]) * finer, (y - corner[1]) * finer)
        ImageDraw.Draw(hole).circle(at, across / 2 * finer, fill=0)
        shape.paste(hole.reduce(finer), corner)
    table.lay(picture, left, top, shape=shape, turned=turned)


def _crease(picture: Image.Image, x: float, per_mm: float) -> None:
    """Draw an opened fold at ``x`` pixels from the left."""
    line = max(1, round(0.3 * per_mm))
    left = round(x - line / 2)
    picture.paste(CREASE, (left, 0, left + line, picture.height))
