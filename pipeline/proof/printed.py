"""What a photo or a scan of a printed side says: whether it is true to size, and what is off.

The sheet's four edges are looked for in the picture, to a fraction of a pixel, and the sheet is
laid flat by them; what was to be printed there, drawn by pdfium, is then found again in small
pieces all over it. Where the pieces lie gives the scale, the skew and the place of the print on
its paper. A scanner's picture without edges still gives the scale, by the dots an inch that it
names.

Millimetres are those of the page as the file shows it, from its top left. The edges are known only
as well as paper is cut: ISO 216 allows A4 2 mm more or less. A shift of side 2 against side 1 is
free of that, for both are measured from the middle of the same sheet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path
from typing import Literal, NamedTuple

import cv2
import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
from PIL import Image, ImageDraw, ImageOps, UnidentifiedImageError

from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.impose.sheet import Flip
from pipeline.proof.read.raster import opened, page_picture, page_size_mm, pixels

Grey = npt.NDArray[np.float32]
"""Rows by columns, 0 is black and 1 white; of ink maps, 0 is paper and 1 black."""
Points = npt.NDArray[np.float64]
"""n by 2, x to the right and y downwards."""
Turned = Literal[0, 90, 180, 270]


class NotMadeHereError(UserError):
    """A picture shows none of the pages it was held against."""


LOOK_DPI, FINE_DPI = 40.0, 200.0
LEAST_DPI = 100.0
"""A picture with fewer pixels to the inch of paper doesn't show hairlines."""
MOST_PIXELS, ENOUGH_PIXELS = 150_000_000, 36_000_000
ALIKE = 0.45
"""How well a page must fit a picture; 1 is exactly."""
STRETCHED = 0.03
"""How much more than down a print may be scaled across; A4 and Letter differ by 9 % in shape."""
FEW, NEARLY = 8, 0.1
"""How many pages that look alike are looked at most closely, and how nearly alike those are."""
LOOK_MM, SMOOTH_MM = 1.6, 0.12
"""How much pages are softened: to see which they are, and to find their pieces."""
PRINTER_MM, GLASS_MM = 5.0, 25.0
"""How far off a print is looked for: on its paper, and the paper on a scanner's glass."""
PIECE_MM, LEAST_PIECES, PIECE_ALIKE = 9.0, 12, 0.55
"""The size of the pieces, how many there must be, and how well each must fit."""
PAPER_MM = 6.0
"""No dark thing on a page is so wide that there is no paper at all within half of this."""
MISSING_MM2, EXTRA_MM2 = 1.0, 2.0
"""The least area of ink that makes a difference."""


@dataclass(frozen=True)
class PrintedPage:
    """A page that may have been printed."""

    pdf: Path
    number: int
    """The first page is 1."""
    width_mm: float
    height_mm: float

    def ink(self, dpi: float) -> Grey:
        """What is drawn on it."""
        with opened(self.pdf) as document:
            return _page_ink(document[self.number - 1], dpi)


@dataclass(frozen=True)
class Print:
    """A page as it was found in a picture."""

    page: PrintedPage
    turned: Turned
    """How far clockwise the page is turned in the picture."""
    scale: tuple[float, float]
    """Across and down the page; 1 is true size."""
    turn_deg: float
    """How far clockwise the print is turned on its paper; of a picture without edges, on the
    scanner's glass."""
    skew_deg: float
    """How far the print's corners are from square."""
    off_mm: tuple[float, float] | None
    """How far the print's middle is right of and below the paper's middle; None without edges."""
    spread_mm: float
    """The root mean square of what the pieces are off after all that."""
    pieces: int
    missing: tuple[Rect, ...]
    """Where ink of the page is not on the paper, mm on the page."""
    extra: tuple[Rect, ...]
    """Where the paper has ink that the page has not."""
    flat: Image.Image
    """The print laid over the page, to look at."""


def looks_of(pdf: Path) -> Iterator[tuple[PrintedPage, Grey]]:
    """Each page of a finished PDF, with its ink softened at ``LOOK_DPI``.

    Raises ``UserError`` when it isn't one.
    """
    with opened(pdf) as document:
        for number in range(len(document)):
            page = document[number]
            one = PrintedPage(pdf, number + 1, *page_size_mm(page))
            yield one, _softened(_page_ink(page, LOOK_DPI), LOOK_DPI)


def read_print(picture: Path, pdfs: Sequence[Path]) -> Print:
    """Which page of the finished files a photo or scan shows, and how it was printed.

    Raises ``UserError`` with the reason when the picture cannot be read.
    """
    grey, dpi = _opened_picture(picture)
    name = picture.name
    corners = _paper_corners(grey)
    if corners is None and dpi is None:
        raise UserError(
            name,
            "the four edges of the sheet are not seen",
            "lay the sheet on something dark and take the picture again, with a little of the "
            "dark all around it",
        )
    found, alike = _recognised(name, grey, corners, dpi, pdfs)
    _must_be_fine_enough(name, found)
    placed = _placed(name, grey, found)
    for words_dpi, most in ((60.0, FEW), (120.0, 1)):
        alike = _by_their_words(grey, placed.found, alike, words_dpi, most)
    return _told(grey, placed, alike[0], edges=corners is not None)


def _must_be_fine_enough(name: str, found: _Found) -> None:
    page = found.page
    paper = np.array([[[0, 0]], [[page.width_mm, 0]], [[0, page.height_mm]]])
    corner, right, below = cv2.perspectiveTransform(paper, np.linalg.inv(found.to_page))[:, 0]
    across = np.linalg.norm(right - corner) / page.width_mm
    down = np.linalg.norm(below - corner) / page.height_mm
    dpi = float(min(across, down)) * MM_PER_INCH
    if dpi < LEAST_DPI:
        raise UserError(
            name,
            f"has only {dpi:.0f} pixels to an inch of paper",
            f"take it nearer or with more pixels: {LEAST_DPI:.0f} are needed, 200 are better",
        )


def back_shift_mm(front: Print, back: Print, flip: Flip) -> tuple[float, float]:
    """How far side 2 is off, to the right and downwards on its page as the file has it, mm.

    This is ``back_shift_mm`` of a season's ``[printer]``. The front's own place on the paper is
    seen from the back mirrored; for a flip on the short edge the back's page is turned round.
    """
    if front.off_mm is None or back.off_mm is None:
        raise UserError(
            "side 2",
            "its shift can't be told without the edges of the sheet",
            "take both pictures on something dark, with all four edges in them",
        )
    (front_x, front_y), (back_x, back_y) = front.off_mm, back.off_mm
    sign = 1 if flip is Flip.LONG else -1
    return back_x + sign * front_x, back_y - sign * front_y


# The picture


def _opened_picture(picture: Path) -> tuple[Grey, float | None]:
    """A picture in grey, upright as its camera says, and the dots an inch a scanner names."""
    try:
        with Image.open(picture) as opened_picture:
            if opened_picture.width * opened_picture.height > MOST_PIXELS:
                raise UserError(picture.name, "has too many pixels", "scan it at 300 or 600 dpi")
            named = opened_picture.info.get("dpi")
            upright = ImageOps.exif_transpose(opened_picture).convert("L")
            # A quarter of so many pixels still shows more than is measured.
            coarse = 2 if upright.width * upright.height > ENOUGH_PIXELS else 1
            upright = upright.reduce(coarse)
    except FileNotFoundError as error:
        raise UserError(str(picture), "no such file", "check its name") from error
    except (UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError) as error:
        raise UserError(
            picture.name, "can't be read as a picture", "save it as JPEG or PNG"
        ) from error
    dpi = float(named[0]) / coarse if named and float(named[0]) >= LEAST_DPI else None
    return np.asarray(upright, np.float32) / np.float32(255), dpi


def _paper_corners(grey: Grey) -> Points | None:
    """The corners of the lightest four-sided thing, clockwise from the one at the top left.

    In pixels, the middle of the first pixel being 0, 0. None where there is no such thing.
    """
    scale = min(1.0, 1000 / max(grey.shape))
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    small = cv2.GaussianBlur(small, (0, 0), 3)
    _, light = cv2.threshold(
        (small * 255).astype(np.uint8), 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU
    )
    light = cv2.morphologyEx(light, cv2.MORPH_CLOSE, np.ones((15, 15), np.uint8))
    outlines, _ = cv2.findContours(light, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not outlines:
        return None
    outline = cv2.convexHull(max(outlines, key=cv2.contourArea))
    if cv2.contourArea(outline) < 0.15 * light.size:
        return None
    rough = _four_corners(outline)
    if rough is None:
        return None
    high, wide = light.shape
    inside = (rough > 3).all() and (rough < (wide - 4, high - 4)).all()
    if not inside:
        return None
    return _fine_corners(grey, (rough + 0.5) / scale - 0.5)


def _four_corners(outline: cv2.typing.MatLike) -> Points | None:
    """The four-sided shape that an outline nearly is, clockwise; None when it isn't nearly one."""
    length = cv2.arcLength(outline, closed=True)
    for part in (0.01, 0.02, 0.03, 0.05):
        corners = cv2.approxPolyDP(outline, part * length, closed=True).reshape(-1, 2)
        if len(corners) == 4:
            break
    else:
        return None
    if cv2.contourArea(corners) < 0.93 * cv2.contourArea(outline):
        return None
    points = corners.astype(np.float64)
    middle = points.mean(axis=0)
    points = points[np.argsort(np.arctan2(points[:, 1] - middle[1], points[:, 0] - middle[0]))]
    return np.roll(points, -int(np.argmin(points.sum(axis=1))), axis=0)


def _fine_corners(grey: Grey, rough: Points) -> Points | None:
    """Corners where straight lines through the four edges cross; None where edges aren't sharp."""
    lines = []
    size = float(np.linalg.norm(rough[2] - rough[0]))
    for start, end in zip(rough, np.roll(rough, -1, axis=0), strict=True):
        line = _edge_line(grey, start, end, reach=0.012 * size)
        if line is None:
            return None
        lines.append(line)
    corners = [_crossing(lines[number - 1], lines[number]) for number in range(4)]
    return np.array(corners)


Line = tuple[Points, Points]
"""A point and a direction of length 1."""


def _edge_line(grey: Grey, start: Points, end: Points, reach: float) -> Line | None:
    """The line through an edge near ``start`` and ``end``, from where the light changes by half."""
    along = (end - start) / np.linalg.norm(end - start)
    inward = np.array([-along[1], along[0]])
    shares = np.linspace(0.04, 0.96, 240)
    depths = np.arange(-reach, reach, 0.5)
    places = start + shares[:, None] * (end - start)
    grid = places[:, None, :] + depths[None, :, None] * inward
    across = cv2.remap(
        grey,
        grid[..., 0].astype(np.float32),
        grid[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    quarter = max(2, len(depths) // 5)
    dark, light = np.median(across[:, :quarter], axis=1), np.median(across[:, -quarter:], axis=1)
    half = ((dark + light) / 2)[:, None]
    clear = light - dark > 0.08
    above = across >= half
    # The outermost place from which on it is light.
    first = len(depths) - 1 - np.argmin(above[:, ::-1], axis=1)
    usable = clear & (first > 0) & (first < len(depths) - 1)
    if usable.sum() < 60:
        return None
    rows = np.flatnonzero(usable)
    at = first[rows]
    low, up = across[rows, at], across[rows, at + 1]
    deep = depths[at] + 0.5 * (half[rows, 0] - low) / np.maximum(up - low, 1e-6)
    points = places[rows] + deep[:, None] * inward
    return _fitted(points)


def _fitted(points: Points) -> Line | None:
    """The line most of the points lie on; those that lie off it don't pull it."""
    kept = points
    for _ in range(6):
        middle = kept.mean(axis=0)
        direction = np.linalg.svd(kept - middle, full_matrices=False)[2][0]
        off = np.abs((points - middle) @ np.array([-direction[1], direction[0]]))
        kept = points[off <= max(1.0, 2.5 * float(np.median(off)))]
    return (middle, direction) if len(kept) >= len(points) // 2 else None


def _crossing(one: Line, other: Line) -> Points:
    (point, along), (second, direction) = one, other
    shares = np.linalg.solve(np.column_stack([along, -direction]), second - point)
    crossing: Points = point + shares[0] * along
    return crossing


# Which page it is


@dataclass(frozen=True)
class _Found:
    page: PrintedPage
    turned: Turned
    to_page: Points
    """From the picture's pixels to mm of the page's paper: 3 by 3."""
    print_at: Points
    """From mm of the page to mm of the paper, where it was found printed: 2 by 3."""
    likeness: float


def _recognised(
    name: str, grey: Grey, corners: Points | None, dpi: float | None, pdfs: Sequence[Path]
) -> tuple[_Found, Sequence[PrintedPage]]:
    """The way a page is turned that fits the picture best, and the pages that fit it nearly so."""
    rough: list[_Found] = []
    flat: dict[tuple[float, float, Turned], Grey] = {}
    reach_mm = PRINTER_MM if corners is not None else GLASS_MM
    ways: tuple[Turned, ...] = (0, 90, 180, 270)
    for (page, look), turned in product((one for pdf in pdfs for one in looks_of(pdf)), ways):
        to_page = _laid_flat(grey.shape, corners, dpi, page, turned)
        if to_page is None:
            continue
        key = page.width_mm, page.height_mm, turned
        if key not in flat:
            flat[key] = _softened(_ink(_warped(grey, to_page, page, LOOK_DPI), LOOK_DPI), LOOK_DPI)
        likeness, moved = _likeness(flat[key], look, reach_mm)
        print_at = np.column_stack([np.eye(2), moved])
        rough.append(_Found(page, turned, to_page, print_at, likeness))
    if not rough:
        raise NotMadeHereError(
            name,
            "the sheet in it has another shape than the paper of the files",
            "print on the paper of the file, and take the whole sheet in the picture",
        )
    rough.sort(key=lambda one: -one.likeness)
    fine = [
        _drawn_closer(flat[one.page.width_mm, one.page.height_mm, one.turned], one)
        for one in rough[:FEW]
    ]
    # A sheet taken for another paper comes out stretched; printers hardly stretch.
    even = [one for one in fine if abs(np.divide(*_scale(one.print_at)) - 1) < STRETCHED]
    best = max(even or fine, key=lambda one: one.likeness)
    if best.likeness < ALIKE:
        raise NotMadeHereError(
            name,
            "it shows nothing that was made here",
            "take a sharp picture of a printed feed test, or of a sheet of this season",
        )
    same_way = [one for one in rough if one.turned == best.turned]
    first = next(one.likeness for one in same_way if one.page is best.page)
    alike = [one.page for one in same_way if one.likeness >= first - NEARLY]
    return best, alike


def _by_their_words(
    grey: Grey, found: _Found, alike: Sequence[PrintedPage], dpi: float, most: int
) -> Sequence[PrintedPage]:
    """At most so many of pages that differ in little: those that a picture fits best.

    Half of them are left out at a time, by that alone in which the others still differ.
    """
    soft_mm, page = 12 / dpi, found.page
    same = [
        one for one in alike if (one.width_mm, one.height_mm) == (page.width_mm, page.height_mm)
    ]
    if len(same) <= most:
        return same
    seen = _softened(_ink(_warped(grey, found.to_page, page, dpi), dpi), dpi, soft_mm)
    seen = _as_printed(seen, found.print_at, dpi)
    drawn = {one: (_softened(one.ink(dpi), dpi, soft_mm) * 255).astype(np.uint8) for one in same}
    while len(same) > most:
        differing = np.ptp([drawn[one] for one in same], axis=0) > 4
        if not differing.any():
            return same[:most]
        there = seen[differing]
        fits = {one: float(np.corrcoef(drawn[one][differing], there)[0, 1]) for one in same}
        same = sorted(same, key=fits.__getitem__, reverse=True)[: max(most, len(same) // 2)]
    return same


def _laid_flat(
    shape: tuple[int, ...],
    corners: Points | None,
    dpi: float | None,
    page: PrintedPage,
    turned: Turned,
) -> Points | None:
    """The way from pixels of the picture to mm of a page turned so, None where it can't be so.

    Without edges the sheet is taken to lie in the middle.
    """
    width, height = page.width_mm, page.height_mm
    paper = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    wide, high = (width, height) if turned % 180 == 0 else (height, width)
    if corners is None:
        per_mm, half = (dpi or 0) / MM_PER_INCH, np.array([wide, high]) / 2
        middle = np.array([shape[1], shape[0]]) / 2 - 0.5
        corners = middle + np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half * per_mm
    else:
        sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
        seen = (sides[0] + sides[2]) / (sides[1] + sides[3])
        if not 0.78 < seen / (wide / high) < 1 / 0.78:
            return None
    way, _ = cv2.findHomography(corners, np.roll(paper, turned // 90, axis=0))
    return np.asarray(way, np.float64)


def _likeness(seen: Grey, look: Grey, reach_mm: float) -> tuple[float, Points]:
    """How alike two ink maps are at best, up to 1, and where the second lies on the first, mm."""
    reach = round(reach_mm * LOOK_DPI / MM_PER_INCH)
    padded = cv2.copyMakeBorder(seen, reach, reach, reach, reach, cv2.BORDER_CONSTANT, value=0)
    scores = cv2.matchTemplate(padded, look, cv2.TM_CCOEFF_NORMED)
    _, best, _, (x, y) = cv2.minMaxLoc(scores)
    return float(best), np.array([x - reach, y - reach]) * MM_PER_INCH / LOOK_DPI


def _drawn_closer(seen: Grey, rough: _Found) -> _Found:
    """The same with its scale, skew and place found; as it was where that fails."""
    look = _softened(rough.page.ink(LOOK_DPI), LOOK_DPI)
    at = _in_pixels(rough.print_at, LOOK_DPI).astype(np.float32)
    ends = (cv2.TERM_CRITERIA_COUNT | cv2.TERM_CRITERIA_EPS, 80, 1e-5)
    try:
        _, near = cv2.findTransformECC(look, seen, at, cv2.MOTION_AFFINE, ends)
    except cv2.error:
        return rough
    print_at = _in_mm(np.asarray(near, np.float64), LOOK_DPI)
    straight = _as_printed(seen, print_at, LOOK_DPI)
    likeness = float(cv2.matchTemplate(straight, look, cv2.TM_CCOEFF_NORMED)[0, 0])
    found = replace(rough, print_at=print_at, likeness=likeness)
    return found if likeness > rough.likeness else rough


# Where it is, to hundredths of a millimetre


class _Placed(NamedTuple):
    """A page with its print's place on the paper, and how sure that is."""

    found: _Found
    spread_mm: float
    pieces: int


def _placed(name: str, grey: Grey, found: _Found) -> _Placed:
    """The print as it lies on its paper, from small pieces of it."""
    drawn = _softened(found.page.ink(FINE_DPI), FINE_DPI, SMOOTH_MM)
    flat = _ink(_warped(grey, found.to_page, found.page, FINE_DPI), FINE_DPI)
    seen = _softened(flat, FINE_DPI, SMOOTH_MM)
    at, spread, used = found.print_at, math.inf, 0
    for reach_mm in (1.6, 0.6, 0.6):
        pieces, off = _pieces_off(drawn, _as_printed(seen, at, FINE_DPI), reach_mm)
        on_paper = _through(at, pieces + off)
        kept = _lying_evenly(pieces, on_paper)
        used = int(kept.sum())
        if used < LEAST_PIECES:
            raise UserError(
                name,
                "is too blurred or too dark to measure",
                "take it again, sharper, in good light",
            )
        at = _least_squares(pieces[kept], on_paper[kept])
        rest = _through(at, pieces[kept]) - on_paper[kept]
        spread = float(np.sqrt((rest**2).sum(axis=1).mean()))
    return _Placed(replace(found, print_at=at), spread, used)


def _lying_evenly(pieces: Points, on_paper: Points) -> npt.NDArray[np.bool_]:
    """Which pieces lie where most do; others are strays."""
    if len(pieces) < LEAST_PIECES:
        return np.zeros(len(pieces), np.bool_)
    _, kept = cv2.estimateAffine2D(
        pieces, on_paper, method=cv2.RANSAC, ransacReprojThreshold=0.12, confidence=0.999
    )
    return np.asarray(kept)[:, 0] > 0


def _told(grey: Grey, placed: _Placed, page: PrintedPage, *, edges: bool) -> Print:
    """All that a print says, once it is known which page it is and where it lies."""
    at = placed.found.print_at
    ink = page.ink(FINE_DPI)
    flat = _ink(_warped(grey, placed.found.to_page, page, FINE_DPI), FINE_DPI)
    straight = _as_printed(flat, at, FINE_DPI)
    missing, extra = _differences(ink, straight)
    return Print(
        page=page,
        turned=placed.found.turned,
        scale=_scale(at),
        turn_deg=math.degrees(math.atan2(at[1, 0], at[0, 0])),
        skew_deg=math.degrees(math.atan2(-at[0, 1], at[1, 1]) - math.atan2(at[1, 0], at[0, 0])),
        off_mm=_off_middle(at, page) if edges else None,
        spread_mm=placed.spread_mm,
        pieces=placed.pieces,
        missing=missing,
        extra=extra,
        flat=_laid_over(ink, straight, missing, extra),
    )


def _pieces_off(drawn: Grey, seen: Grey, reach_mm: float) -> tuple[Points, Points]:
    """Where pieces of the page lie that can be told from all around them, and how far they are off.

    Both in mm on the page, n by 2.
    """
    half, step = pixels(PIECE_MM / 2, FINE_DPI), pixels(PIECE_MM / 2, FINE_DPI)
    reach = pixels(reach_mm, FINE_DPI)
    high, wide = drawn.shape
    pieces, off = [], []
    around = half + reach
    for y in range(around, high - around, step):
        for x in range(around, wide - around, step):
            piece = drawn[y - half : y + half, x - half : x + half]
            if not _can_be_placed(piece):
                continue
            field = seen[y - around : y + around, x - around : x + around]
            scores = cv2.matchTemplate(field, piece, cv2.TM_CCOEFF_NORMED)
            _, best, _, (column, row) = cv2.minMaxLoc(scores)
            if best < PIECE_ALIKE or not (0 < column < 2 * reach and 0 < row < 2 * reach):
                continue
            fine_x = column + _summit(*scores[row, column - 1 : column + 2])
            fine_y = row + _summit(*scores[row - 1 : row + 2, column])
            pieces.append((x, y))
            off.append((fine_x - reach, fine_y - reach))
    per_mm = FINE_DPI / MM_PER_INCH
    return np.array(pieces, np.float64).reshape(-1, 2) / per_mm, np.array(off).reshape(
        -1, 2
    ) / per_mm


def _can_be_placed(piece: Grey) -> bool:
    """Whether a piece has ink that changes both across and down: a line alone can slide along."""
    across, down = np.diff(piece, axis=1)[:-1], np.diff(piece, axis=0)[:, :-1]
    xx, yy, xy = (
        float((one * two).sum()) for one, two in ((across, across), (down, down), (across, down))
    )
    least = (xx + yy) / 2 - math.hypot((xx - yy) / 2, xy)
    return least > 0.15


def _summit(before: float, middle: float, after: float) -> float:
    """How far off the middle of three scores a parabola through them is highest, -0.5 to 0.5."""
    bend = before - 2 * middle + after
    return 0.0 if bend >= 0 else float(np.clip((before - after) / (2 * bend), -0.5, 0.5))


def _least_squares(points: Points, at: Points) -> Points:
    """The even change of place, 2 by 3, that fits best."""
    given = np.column_stack([points, np.ones(len(points))])
    even: Points = np.asarray(np.linalg.lstsq(given, at, rcond=None)[0].T, np.float64)
    return even


def _scale(at: Points) -> tuple[float, float]:
    """Across along the lines, and down square to them."""
    across = float(np.hypot(at[0, 0], at[1, 0]))
    return across, float(np.linalg.det(at[:, :2])) / across


def _off_middle(at: Points, page: PrintedPage) -> tuple[float, float]:
    middle = np.array([[page.width_mm, page.height_mm]]) / 2
    x, y = (_through(at, middle) - middle)[0]
    return float(x), float(y)


# What is there and what isn't


def _differences(ink: Grey, seen: Grey) -> tuple[tuple[Rect, ...], tuple[Rect, ...]]:
    """Places of the page where its ink lacks on the paper, and of ink that isn't the page's.

    Ink lacks where the paper doesn't get darker with the page within some millimetres. Specks of
    dust and of the camera are left out.
    """
    drawn, there = (_softened(one, FINE_DPI, 0.25) for one in (ink, seen))
    side = (pixels(4, FINE_DPI),) * 2
    mean_drawn, mean_there = cv2.blur(drawn, side), cv2.blur(there, side)
    spread = np.maximum(cv2.blur(drawn * drawn, side) - mean_drawn**2, 1e-9)
    follows = (cv2.blur(drawn * there, side) - mean_drawn * mean_there) / spread
    inked = (drawn > 0.02) & (spread > 1e-4)
    if not inked.any():
        return (), ()
    usual = max(float(np.median(follows[inked])), 0.3)
    lacks = inked & (follows < 0.4 * usual)
    widest = cv2.dilate(drawn, np.ones((pixels(1.6, FINE_DPI),) * 2, np.uint8))
    strange = there > np.maximum(0.2, 2.5 * usual * widest + 0.1)
    return _places(lacks, MISSING_MM2), _places(strange, EXTRA_MM2)


def _places(where: npt.NDArray[np.bool_], least_mm2: float) -> tuple[Rect, ...]:
    """Boxes around what lies close together, the largest first, mm."""
    joined = cv2.dilate(
        where.astype(np.uint8), np.ones((pixels(4, FINE_DPI), pixels(4, FINE_DPI)), np.uint8)
    )
    count, labels, stats, _ = cv2.connectedComponentsWithStats(joined)
    per_mm = FINE_DPI / MM_PER_INCH
    areas = np.bincount(labels[where], minlength=count) / per_mm**2
    found = [number for number in np.argsort(-areas) if number and areas[number] >= least_mm2]
    boxes = stats[found, :4] / per_mm
    return tuple(Rect(*map(float, box)) for box in boxes)


def _laid_over(
    ink: Grey, seen: Grey, missing: Sequence[Rect], extra: Sequence[Rect]
) -> Image.Image:
    """The print as seen, in black, over the page in blue; rings where the two differ."""
    page, printed = 1 - np.clip(ink, 0, 1), 1 - np.clip(seen, 0, 1)
    layers = np.dstack(
        [np.minimum(page, printed), np.minimum(0.45 + 0.55 * page, printed), printed]
    )
    picture = Image.fromarray((layers * 255).astype(np.uint8))
    pen = ImageDraw.Draw(picture)
    for box in (*missing, *extra):
        around = box.grown(2)
        corners = [
            pixels(one, FINE_DPI) for one in (around.x, around.y, around.right, around.bottom)
        ]
        pen.ellipse(corners, outline=(200, 40, 20), width=pixels(0.6, FINE_DPI))
    return picture


# Ink and places


def _page_ink(page: pdfium.PdfPage, dpi: float) -> Grey:
    """The ink of a page at ``dpi``."""
    drawn = page_picture(page, dpi).convert("L")
    return 1 - np.asarray(drawn, np.float32) / np.float32(255)


def _ink(grey: Grey, dpi: float) -> Grey:
    """How much darker a picture is than the paper around, however unevenly that is lit."""
    near = max(3, round(PAPER_MM * dpi / MM_PER_INCH)) | 1
    paper = cv2.GaussianBlur(grey, (0, 0), 0.5)
    paper = cv2.dilate(paper, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (near, near)))
    paper = cv2.GaussianBlur(paper, (0, 0), near / 2)
    return np.clip(1 - grey / np.maximum(paper, 0.02), 0, 1)


def _softened(ink: Grey, dpi: float, mm: float = LOOK_MM) -> Grey:
    return np.asarray(cv2.GaussianBlur(ink, (0, 0), mm * dpi / MM_PER_INCH), np.float32)


def _warped(grey: Grey, to_page: Points, page: PrintedPage, dpi: float) -> Grey:
    """The sheet of a picture laid flat, at ``dpi``; shrunk first so that no line is lost."""
    size = pixels(page.width_mm, dpi), pixels(page.height_mm, dpi)
    per_mm = dpi / MM_PER_INCH
    grid = np.array([[per_mm, 0, -0.5], [0, per_mm, -0.5], [0, 0, 1]])
    coarse = float(np.sqrt(grey.size / (size[0] * size[1])))
    if coarse > 2:
        grey = np.asarray(cv2.GaussianBlur(grey, (0, 0), coarse / 3), np.float32)
    flat = cv2.warpPerspective(
        grey, grid @ to_page, size, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    return np.asarray(flat, np.float32)


def _as_printed(seen: Grey, at: Points, dpi: float) -> Grey:
    """A sheet laid flat as the page itself lies: what was printed askew is put straight."""
    flags = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    size = seen.shape[1], seen.shape[0]
    return np.asarray(cv2.warpAffine(seen, _in_pixels(at, dpi), size, flags=flags), np.float32)


def _in_pixels(at: Points, dpi: float) -> Points:
    """A change of place in mm as one in pixels, the middle of the first being 0, 0."""
    per_mm = dpi / MM_PER_INCH
    moved = at[:, :2] @ np.array([0.5, 0.5]) + at[:, 2] * per_mm - 0.5
    return np.column_stack([at[:, :2], moved])


def _in_mm(at: Points, dpi: float) -> Points:
    """The inverse of ``_in_pixels``."""
    per_mm = dpi / MM_PER_INCH
    moved = (at[:, 2] + 0.5 - at[:, :2] @ np.array([0.5, 0.5])) / per_mm
    return np.column_stack([at[:, :2], moved])


def _through(at: Points, points: Points) -> Points:
    """Points after a change of place, 2 by 3."""
    moved: Points = points @ at[:, :2].T + at[:, 2]
    return moved
