"""Every sort of finding: its name, whether it must be mended, what it is and what to do."""

from __future__ import annotations

from typing import NamedTuple


class Kind(NamedTuple):
    """A sort of finding. ``title`` is what people call it, ``remedy`` the way out."""

    title: str
    must: bool
    remedy: str


_BUILD = "build the set again; if it stays, the file was changed after it was built"
_IDS = "check the ids of that group in the template: each day has its own number"

KINDS: dict[str, Kind] = {
    "date-missing": Kind("a date is missing", True, _IDS),
    "date-doubled": Kind("a date is there twice", True, _IDS),
    "date-order": Kind(
        "dates are out of order", True, "put the days in the template in the order they are read"
    ),
    "date-weekday": Kind("a date is on the wrong weekday", True, _IDS),
    "date-wrong": Kind(
        "a date or a name of the calendar is not the one that belongs", True, _BUILD
    ),
    "facing-weeks": Kind(
        "facing pages show different weeks", True, "give both pages of the spread the same 'per'"
    ),
    "back-elsewhere": Kind("a back is not behind its front", True, _BUILD),
    "back-turned": Kind("a back is turned against its front", True, _BUILD),
    "back-shifted": Kind("a page does not lie where its other side has it", True, _BUILD),
    "sheet-order": Kind("sheets are out of order", True, _BUILD),
    "page-missing": Kind("a page is missing", True, _BUILD),
    "page-extra": Kind("a page is there that does not belong", True, _BUILD),
    "placeholder-left": Kind(
        "a placeholder was left unfilled",
        True,
        "give the text its key as id, or take it out of the template",
    ),
    "label-missing": Kind(
        "a label is missing", True, "check that label's text and its element in the template"
    ),
    "label-language": Kind(
        "a label is in another language",
        True,
        "translate it in the labels file; a fixed text needs an id 'label-…'",
    ),
    "text-clipped": Kind("text is cut off", True, "move it inwards, or take the clip off it"),
    "text-overlaps": Kind("texts lie on each other", True, "move one of them, or set it smaller"),
    "text-unsafe": Kind(
        "text is outside the safe area", True, "move it inwards: a trim may be a little off"
    ),
    "text-in-punch": Kind(
        "text is where holes are punched", True, "move it away from the binding edge"
    ),
    "text-across-fold": Kind("text runs across a fold", True, "move it to one side of the fold"),
    "art-no-bleed": Kind(
        "artwork reaches a cut and does not bleed",
        False,
        "stop it short of the edge; a trim that is a little off leaves a white rim",
    ),
    "hairline": Kind(
        "a line is too thin", False, "make it thicker, or lower hairline_mm in [limits]"
    ),
    "ink-light": Kind(
        "ink is too light to be seen",
        False,
        "take a darker colour, or lower lightest_percent in [limits]",
    ),
    "ink-heavy": Kind(
        "an area is too dark to be written or pasted on",
        False,
        "take a lighter colour, or raise darkest_percent in [limits]",
    ),
    "ink-coverage": Kind(
        "a side takes too much ink",
        False,
        "draw it with less, or raise coverage_percent in [limits]",
    ),
    "font-not-embedded": Kind("a font is not in the file", True, _BUILD),
    "picture-coarse": Kind(
        "a picture has too few pixels", False, "take a finer one, or show it smaller"
    ),
    "boxes-wrong": Kind("a page box is wrong", True, _BUILD),
    "print-request-wrong": Kind("what the file asks of the printer is wrong", True, _BUILD),
    "files-differ": Kind("both-sides.pdf is not what the other two files are", True, _BUILD),
    "file-big": Kind(
        "a file is over the limit",
        False,
        "make the period shorter or the artwork simpler, or raise file_mb in [limits]",
    ),
}
