"""The contact sheet: a whole set at a glance, small and in reading order."""

from __future__ import annotations

from dataclasses import dataclass

from PIL import Image

from pipeline.base.geometry import MM_PER_INCH
from pipeline.plan.model import Binding, Side
from pipeline.proof.pictures.captions import Captions, Type
from pipeline.proof.pictures.pictures import GAP_MM, MARGIN_MM, SetPictures
from pipeline.proof.pictures.scene import GROUND
from pipeline.proof.read.contents import Contents, fore_edge_on_right
from pipeline.proof.read.raster import pixels

VIEW_WIDTH = 580
"""About how many pixels one small spread is wide, with the desk around it."""
# Lengths in pixels and colours, chosen by eye.
_EDGE = 44
_CAPTION = 58
_HEAD = 118
_DARK = (66, 63, 58)
_QUIET = (140, 135, 127)
_REGULAR, _SEMIBOLD = 400, 600


@dataclass(frozen=True)
class _View:
    """One small picture: the leaf on either side of the rings."""

    first: int | None
    second: int | None


def contact_sheet(pictures: SetPictures) -> Image.Image:
    """All spreads of a set with their flaps open, and the first and last page, with captions.

    A set bound on the right runs from right to left, as it is read.
    """
    contents = pictures.contents
    views = [_View(*leaves) for leaves in pictures.views]
    columns = min(len(views), 4 if len(views) > 6 else 3)
    rows = -(-len(views) // columns)
    small = pictures.at(VIEW_WIDTH / (pictures.view_width_mm / MM_PER_INCH))
    width, height = small.view(views[0].first, views[0].second).size
    sheet = Image.new(
        "RGB",
        (2 * _EDGE + columns * width, _HEAD + rows * (height + _CAPTION) + _EDGE // 2),
        GROUND,
    )
    margin = pixels(MARGIN_MM, small.dpi)
    captions = Captions()
    _head(captions, contents, _EDGE + margin, sheet.width - 2 * (_EDGE + margin))
    for index, view in enumerate(views):
        row, column = divmod(index, columns)
        if contents.binding is Binding.RIGHT:
            column = columns - 1 - column
        left, top = _EDGE + column * width, _HEAD + row * (height + _CAPTION)
        sheet.paste(small.view(view.first, view.second), (left, top))
        _captions(captions, small, view, left, top + height - margin + 8)
    return captions.lay_over(sheet)


def _head(captions: Captions, contents: Contents, x: int, width: int) -> None:
    """The set's title, and under it what it is for and how much paper it is."""
    leaves, sheets = len(contents.leaves), len(contents.sheets)
    facts = [
        contents.period.title,
        f"{_shown(contents.binder.name)} on {_shown(contents.paper.name)}",
        f"{leaves} {'leaf' if leaves == 1 else 'leaves'}",
        f"{sheets} {'sheet' if sheets == 1 else 'sheets'}",
    ]
    line = "   ·   ".join(fact for fact in facts if fact)
    captions.add((x, 44), contents.set.title, Type(31, _SEMIBOLD, _DARK), width)
    captions.add((x, 80), line, Type(20, _REGULAR, _QUIET), width)


def _shown(name: str) -> str:
    """A size's file name as people write it.

    >>> _shown("a5"), _shown("half-letter")
    ('A5', 'Half letter')
    """
    words = name.replace("-", " ")
    return words.upper() if any(sign.isdigit() for sign in words) else words.capitalize()


def _captions(captions: Captions, pictures: SetPictures, view: _View, left: int, top: int) -> None:
    """Under each page of a view its label, its leaf and the side of the sheet it is printed on."""
    contents = pictures.contents
    rings = MARGIN_MM + pictures.reach_mm[0] + GAP_MM / 2
    for leaf, face in ((view.first, Side.VERSO), (view.second, Side.RECTO)):
        if leaf is None:
            continue
        page_x = rings + GAP_MM / 2
        if not fore_edge_on_right(face, contents.binding):
            page_x = rings - GAP_MM / 2 - contents.binder.width_mm
        x, width = (
            left + pixels(page_x, pictures.dpi),
            pixels(contents.binder.width_mm, pictures.dpi),
        )
        page = contents.leaves[leaf].page(face)
        placed = contents.find(leaf, face)
        where = f"leaf {leaf + 1} {'front' if face is Side.RECTO else 'back'}"
        if placed is not None:
            where += f", sheet {contents.sheets[placed.sheet].number} side {placed.side}"
        label = Type(17, _REGULAR, _DARK if page else _QUIET)
        shows = page.label[:1].upper() + page.label[1:] if page else "Blank"
        captions.add((x, top + 14), shows, label, width)
        captions.add((x, top + 32), where, Type(14, _REGULAR, _QUIET), width)
