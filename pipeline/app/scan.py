"""What photos or scans of printed sheets say, in words, and what follows for the season file."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import tomlkit
from tomlkit.exceptions import TOMLKitError

from pipeline.app.check import standings
from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.base.geometry import Rect
from pipeline.impose.imposing import BOTH
from pipeline.impose.sheet import Flip
from pipeline.plan.season import load_season
from pipeline.proof.printed import NotMadeHereError, Print, back_shift_mm, read_print

TRUE_SIZE = 0.004
"""How far from 1 a scale may be: paper is cut no truer (common practice: within 0.5 mm)."""
STRAIGHT_DEG = 0.2
"""How far a print may be turned on its paper: 1 mm over the height of A4."""
IN_STEP_MM = 0.3
"""How far the back may lie from its front; a cut is hardly truer."""
MOST_SAID = 4
_FEED_TEST = re.compile(r"feed-test-(.+)\.pdf")


@dataclass(frozen=True)
class Reading:
    """What one or two pictures say."""

    lines: tuple[str, ...]
    as_it_should_be: bool
    pictures: tuple[Path, ...] = ()
    """Each print laid over its page, with rings where they differ."""
    back_shift_mm: tuple[float, float] | None = None
    """Of a feed test whose two sides were seen: to the right and downwards, in mm."""


def read_pictures(
    path: Path, pictures: Sequence[Path], out: Path, only: str | None = None
) -> Reading:
    """Reads pictures of printed feed tests or of sheets of a season's sets, and keeps how each
    print lies over its page.

    Two pictures of the two sides of one sheet tell the shift of side 2 and which way it came. The
    sheet is turned over like the page of a book between them, and not otherwise.

    Raises ``UserError`` when a picture cannot be read, with the reason.
    """
    prints = [read_picture(picture, path, out, only) for picture in pictures]
    named = [(picture.name, one) for picture, one in zip(pictures, prints, strict=True)]
    kept = _saved(prints, pictures, out / load_season(path).name)
    return replace(what_they_say(named, path, out), pictures=tuple(kept))


def what_they_say(prints: Sequence[tuple[str, Print]], path: Path, out: Path) -> Reading:
    """What prints say, each called by the name of its picture."""
    season = load_season(path)
    flip, folder = Flip(season.printer.flip), out / season.name
    lines: list[str] = []
    good = True
    for name, one in prints:
        lines.append(f"{name}: {_which(one, folder)}")
        for said, right in _about(one):
            lines.append("  " + said)
            good &= right
    shift = None
    for (_, front), (_, back) in pairwise(prints):
        if _two_sides(front, back):
            together, right, shift = _together(front, back, flip)
            lines += together
            good &= right
            break
    return Reading(tuple(lines), good, back_shift_mm=shift)


def note_shift(path: Path, shift_mm: tuple[float, float]) -> None:
    """Writes the shift of side 2 into a season's ``[printer]`` table; all else stays as it is."""
    try:
        season = tomlkit.parse(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError, TOMLKitError) as error:
        raise UserError(str(path), f"can't be read ({error})", "mend the file first") from error
    printer = season.setdefault("printer", tomlkit.table())
    printer["back_shift_mm"] = [round(one, 1) for one in shift_mm]
    write_whole(path, tomlkit.dumps(season).encode())


def read_picture(picture: Path, path: Path, out: Path, only: str | None = None) -> Print:
    """A picture of a feed test of the season if it is one, else of a sheet of its sets."""
    tests = sorted((out / load_season(path).name).glob("feed-test-*.pdf"))
    if only is None and tests:
        with suppress(NotMadeHereError):
            return read_print(picture, tests)
    _, sets = standings(path, out, only)
    return read_print(picture, [one.folder / BOTH for one in sets if one.can_be_shown])


def _saved(prints: Sequence[Print], pictures: Sequence[Path], folder: Path) -> Iterator[Path]:
    for one, picture in zip(prints, pictures, strict=True):
        place = folder / "scans" / f"{picture.stem}.png"
        data = io.BytesIO()
        one.flat.save(data, "PNG")
        write_whole(place, data.getvalue())
        yield place


def _which(one: Print, folder: Path) -> str:
    """What a picture shows, in words."""
    side, sheet = (one.page.number - 1) % 2 + 1, (one.page.number + 1) // 2
    test = _FEED_TEST.fullmatch(one.page.pdf.name)
    if test:
        return f"page {one.page.number} of the feed test for {test[1]}"
    return f"sheet {sheet}, side {side}, of {one.page.pdf.parent.relative_to(folder).as_posix()}"


def _about(one: Print) -> Iterator[tuple[str, bool]]:
    """What one side says, a line for each matter, and whether it is as it should be."""
    across, down = one.scale
    percent = f"{across:.1%} across and {down:.1%} down".replace("%", " %")
    if max(abs(across - 1), abs(down - 1)) <= TRUE_SIZE:
        yield f"true to size ({percent})", True
    elif abs(across - down) > TRUE_SIZE:
        yield f"stretched: {percent}; print again at 100 %, another way if it stays so", False
    else:
        yield f"not true to size: {percent}; print at 100 %, with nothing fitted or scaled", False
    turn = one.turn_deg
    if one.off_mm is not None and abs(turn) > STRAIGHT_DEG:
        way = "right" if turn > 0 else "left"
        yield (
            f"askew: turned to the {way} by {abs(turn):.1f}°; push the paper guides close and "
            "print again",
            False,
        )
    for said, boxes in (("lacking", one.missing), ("not of the page", one.extra)):
        for box in boxes[:MOST_SAID]:
            yield f"{said}: something {_size(box)}, {_place(box)}", False
        if len(boxes) > MOST_SAID:
            yield f"{said}: {len(boxes) - MOST_SAID} more places", False


def _size(box: Rect) -> str:
    return f"{box.width:.0f} × {box.height:.0f} mm large"


def _place(box: Rect) -> str:
    return f"{box.x:.0f} mm from the left and {box.y:.0f} mm from the top of the sheet"


def _two_sides(front: Print, back: Print) -> bool:
    """Whether two prints are the front and the back of one sheet."""
    same = front.page.pdf == back.page.pdf
    return same and front.page.number % 2 == 1 and back.page.number == front.page.number + 1


def _together(
    front: Print, back: Print, flip: Flip
) -> tuple[list[str], bool, tuple[float, float] | None]:
    """What the two sides of a sheet say about each other."""
    turned = (back.turned - front.turned - (180 if flip is Flip.SHORT else 0)) % 360
    if turned == 180:
        other = Flip.SHORT if flip is Flip.LONG else Flip.LONG
        return (
            [
                "Side 2 stands on its head, if you turned the sheet over like the page of a book: "
                "choose the other edge in the print window when printing both sides, or write "
                f'flip = "{other.value}" under [printer], and print the feed test again.'
            ],
            False,
            None,
        )
    if turned:
        raise UserError(
            "the two pictures",
            "aren't turned alike",
            "take both with the sheet the same way up, turned over like the page of a book",
        )
    if front.off_mm is None or back.off_mm is None:
        return ["Side 2's shift can't be told: the edges of the sheet aren't seen."], True, None
    right, down = back_shift_mm(front, back, flip)
    in_step = max(abs(right), abs(down)) <= IN_STEP_MM
    said = "lies behind side 1" if in_step else "is off"
    across, along = "right" if right >= 0 else "left", "down" if down >= 0 else "up"
    told = f"Side 2 {said}: {abs(right):.1f} mm to the {across}, {abs(down):.1f} mm {along}."
    test = _FEED_TEST.fullmatch(front.page.pdf.name)
    return [told], in_step, (right, down) if test else None
