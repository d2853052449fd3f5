"""Findings: what is wrong with a drawing or with a finished set, one model for both.

Every rule has a row here: its name, how bad it is, what it is about and what to do about it. Its
test belongs to the checks of what it looks at. To add a finding, say that a text is upside down:

    a row of SET_RULES: ("text-upturned", MUST, "text is upside down", "turn it the right way up")
    the test, in a function that ``proof/findings`` calls, or ``RULES`` of ``drawings/checks``:
        yield face.finding("text-upturned", f"'{text.text}' is upside down", text.box)

and a drawing or a file that has it, in the tests: they ask for one for each rule.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import ClassVar, NamedTuple


class Severity(StrEnum):
    """How bad it is: it must be mended; it may not be meant, so have a look; it is good to know."""

    MUST = "must"
    LOOK = "look"
    NOTE = "note"


class Rule(NamedTuple):
    """A sort of finding: its name, how bad it mostly is, what people call it, and the way out."""

    name: str
    severity: Severity
    title: str
    remedy: str


@dataclass(frozen=True)
class Finding:
    """One thing found. Where it is, the findings of drawings and of sets tell each in its way.

    ``rule`` is the name of its rule, ``message`` says what is wrong just here. ``remedy`` and
    ``milder`` are for what the rule's own remedy and severity do not fit.
    """

    rules: ClassVar[Mapping[str, Rule]]
    rule: str
    message: str
    remedy: str = field(default="", kw_only=True)
    milder: Severity | None = field(default=None, kw_only=True)

    @property
    def severity(self) -> Severity:
        """How bad it is."""
        return self.milder or self.rules[self.rule].severity

    @property
    def in_words(self) -> str:
        """What is wrong: what people call it, and what it is just here."""
        return f"{self.rules[self.rule].title}: {self.message}"

    @property
    def what_to_do(self) -> str:
        """The way out, in one line."""
        return self.remedy or self.rules[self.rule].remedy


def _table(*rows: tuple[str, Severity, str, str]) -> Mapping[str, Rule]:
    return {row[0]: Rule(*row) for row in rows}


MUST, LOOK, NOTE = Severity
_BUILD = "build the set again; if it comes back, something changes the file after the build"
_IDS = "check the ids of that group in the template: each day has its own number"
_REBUILD = "build the season again with 'leafset build'"
_MISSING = "draw what is missing, or leave it if that is how you want it"

DRAWING_RULES = _table(
    ("file", MUST, "the file cannot be read", "save it again as SVG"),
    ("undrawn", MUST, "something will not be drawn", "draw it with flat shapes"),
    ("size", MUST, "the page is not as large as its binder asks for",
     "set the document's size to that, or the flap's width in collection.toml"),
    ("key", MUST, "a name says nothing the page can show", "rename it"),
    ("label", MUST, "the labels cannot be read", "mend the labels file"),
    ("label-exchanged", MUST, "a label is in another language",
     "put each language's words in its own labels file"),
    ("outlined", MUST, "a key is on shapes instead of text",
     "type it again as text (it may have been turned into paths), or take the key off"),
    ("missing", LOOK, "days or months are left out", _MISSING),
    ("dated", LOOK, "a text without a key tells a time, which won't move with the dates",
     "give it a key such as 'day1-date', 'week-number' or 'year' as id, or take it out"),
    ("key-lost", MUST, "something drawn like its neighbours has lost its key",
     "give it the id it had"),
    ("month-typed", MUST, "a small month is typed by hand",
     "draw a group with a rectangle and one figure and call it 'month-grid'"),
    ("figure-stray", LOOK, "a figure is typed beside a day",
     "delete it, or give it the id of the date it stands for"),
    ("show-lost", MUST, "something for some days only shows on all", "give it the id it had"),
    ("outside", LOOK, "something lies wholly outside the page",
     "delete it, or move it onto the page"),
    ("punch", MUST, "something lies where holes are punched", "move it away from the punched edge"),
    ("fold", MUST, "something runs across the fold", "keep it on one side of the fold"),
    ("safe", MUST, "something comes too near the edge", "move it 3 mm or more inside the edges"),
    ("art-near-cut", LOOK, "artwork ends at a cut or next to it",
     "let it run 3 mm past the edge, or end it 3 mm inside"),
    ("text-covered", MUST, "text lies under something", "put it in front, or move one of the two"),
    ("text-cropped", MUST, "text is cut off by its clip", "take the clip off, or make it larger"),
    ("text-unseen", MUST, "text will not be seen", "give it a colour that shows, or take it out"),
    ("text-upturned", MUST, "text is upside down", "turn it the right way up"),
    ("text-mirrored", MUST, "text is mirrored", "flip it back"),
    ("text-tilted", LOOK, "text is tilted a little", "set its rotation to 0, if it isn't meant"),
    ("text-small", LOOK, "text is too small to read", "set it larger"),
    ("faint", LOOK, "something hardly stands out from what lies behind it",
     "take a darker colour, or a lighter one on a dark ground"),
    ("font", MUST, "a font is missing, or has no such letter", "choose a font that is installed"),
    ("hairline", LOOK, "a line is too thin", "make it thicker"),
    ("picture", MUST, "a picture has few pixels", "place a larger one, 300 to the inch"),
    ("renamed", NOTE, "an editor renamed a key", "give it its plain name again"),
)  # fmt: skip
"""What can be wrong with a drawing (``leafset lint``)."""

SET_RULES = _table(
    ("year-wrong", MUST, "a year isn't that of the dates",
     "write the year that the periods are in, or leave it out"),
    ("period-wrong", MUST, "a title names other days than are made",
     "change the title, or the period's dates"),
    ("weeks-missing", LOOK, "days between two periods are in neither",
     "add the period between them, or leave it if that is what you sell"),
    ("weeks-twice", LOOK, "two periods share days",
     "let one begin on the day after the other ends"),
    ("spread-twice", LOOK, "a set has the same dated spread twice",
     "take one of the two out, or name other templates in it"),
    ("label-dated", MUST, "a label tells a time, which won't move with the dates",
     "use a key such as 'month-name', or a label without the date"),
    ("set-missing", MUST, "a set is not built", _REBUILD),
    ("set-unplanned", MUST, "a set cannot be built as the season is now",
     "mend that, then build the season"),
    ("set-unreadable", MUST, "a set cannot be read", _REBUILD),
    ("set-astray", MUST, "a folder holds another set than its name says", _REBUILD),
    ("set-unasked", MUST, "the season no longer asks for a set that is still there",
     "run 'leafset build' for the whole season, which takes it away"),
    ("set-stale", MUST, "a set is out of date", _REBUILD),
    ("date-missing", MUST, "a date is missing", _IDS),
    ("date-doubled", MUST, "a date is there twice", _IDS),
    ("date-order", MUST, "dates are out of order",
     "put the days in the template in the order they are read"),
    ("date-weekday", MUST, "a date is on the wrong weekday", _IDS),
    ("date-wrong", MUST, "a date or a name from the calendar is wrong for its page", _BUILD),
    ("date-typed", MUST, "a date is typed by hand",
     "give the text a key such as 'day1-date' or 'week-range' as id, or take it out"),
    ("facing-weeks", MUST, "facing pages show different weeks",
     "give both pages of the spread the same 'per'"),
    ("back-elsewhere", MUST, "a back is not behind its front", _BUILD),
    ("back-turned", MUST, "a back is turned against its front", _BUILD),
    ("back-shifted", MUST, "a page is shifted against its other side", _BUILD),
    ("page-scaled", MUST, "a page is not printed at its true size", _BUILD),
    ("sheet-order", MUST, "sheets are out of order", _BUILD),
    ("page-missing", MUST, "a page is missing", _BUILD),
    ("page-extra", MUST, "there is a page too many", _BUILD),
    ("drawing-missing", MUST, "the drawing of a page is missing", _BUILD),
    ("page-stamped", MUST, "something is printed over a page that is not in its drawing", _BUILD),
    ("placeholder-left", MUST, "a placeholder was left unfilled",
     "give the text its key as id, or take it out of the template"),
    ("label-missing", MUST, "a label is missing",
     "check that label's text and its element in the template"),
    ("label-language", MUST, "a label is in another language",
     "translate it in the labels file; a fixed text needs an id 'label-…'"),
    ("text-clipped", MUST, "text is cut off", "move it inwards, or take the clip off it"),
    ("text-covered", MUST, "text is covered",
     "move what covers it below the text, or away from it"),
    ("text-invisible", MUST, "text cannot be seen",
     "give it a dark colour, opacity 100 % and a layer that is on"),
    ("text-upside-down", MUST, "text is upside down", "turn it the right way up"),
    ("text-mirrored", MUST, "text is mirrored", "flip it back"),
    ("text-tilted", LOOK, "text is not straight", "set its turn to 0°, 90° or 270°"),
    ("text-overlaps", MUST, "texts overlap", "move one of them, or set it smaller"),
    ("text-unsafe", MUST, "text is outside the safe area",
     "move it inwards, as a cut may be slightly off"),
    ("text-in-punch", MUST, "text is where holes are punched",
     "move it away from the binding edge"),
    ("text-across-fold", MUST, "text runs across a fold", "move it to one side of the fold"),
    ("art-no-bleed", LOOK, "artwork reaches the cut but does not bleed past it",
     "stop it short of the edge, or set bleed_mm = 3 in the season file and draw it 3 mm past it"),
    ("art-near-cut", LOOK, "artwork ends just short of the cut",
     "move it 1 mm or more inwards, or let it bleed past the cut; a cut may be slightly off"),
    ("hairline", LOOK, "a line is too thin", "make it thicker, or lower hairline_mm in [limits]"),
    ("ink-light", LOOK, "ink is too light to be seen",
     "take a darker colour, or lower lightest_percent in [limits]"),
    ("contrast-low", LOOK, "text hardly stands out from what is behind it",
     "make one of them much lighter or darker, or lower contrast in [limits]"),
    ("type-small", LOOK, "type is too small to read",
     "set it larger, or lower smallest_pt in [limits]"),
    ("ink-heavy", LOOK, "an area is too dark to write or paste on",
     "take a lighter colour, or raise darkest_percent in [limits]"),
    ("ink-coverage", LOOK, "a side takes too much ink",
     "draw it with less, or raise coverage_percent in [limits]"),
    ("font-not-embedded", MUST, "a font is not in the file", _BUILD),
    ("glyph-wrong", MUST, "a font paints other letters than the text has", _BUILD),
    ("picture-coarse", LOOK, "a picture has too few pixels",
     "take a finer one, or show it smaller"),
    ("boxes-wrong", MUST, "a page box is wrong", _BUILD),
    ("mark-missing", MUST, "a mark to cut, fold, punch or lay by is missing", _BUILD),
    ("mark-moved", MUST, "a mark is not where it must be", _BUILD),
    ("mark-short", MUST, "a mark is too short", _BUILD),
    ("mark-extra", MUST, "something that is no mark lies beside the leaves", _BUILD),
    ("bar-wrong", MUST, "the 100 mm bar is wrong", _BUILD),
    ("slug-wrong", MUST, "the line beside the leaves says something else", _BUILD),
    ("print-request-wrong", MUST, "the file asks the printer for the wrong settings", _BUILD),
    ("page-rotated", MUST, "a page is turned in the file", _BUILD),
    ("size-changed", MUST, "a page is to be printed larger or smaller than it is", _BUILD),
    ("note-on-page", MUST, "a comment, stamp, link or form field lies on a page", _BUILD),
    ("acts-by-itself", MUST, "the file does something by itself", _BUILD),
    ("opens-oddly", MUST, "the file opens in a way that was not built", _BUILD),
    ("layers-in-file", MUST, "the file has layers, and some may be off", _BUILD),
    ("form-in-file", MUST, "the file has form fields", _BUILD),
    ("file-attached", MUST, "the file carries other files", _BUILD),
    ("file-locked", MUST, "the file is locked", _BUILD),
    ("key-unknown", MUST, "the file has something in it that was not built", _BUILD),
    ("font-unmapped", MUST, "a font does not say which letters it shows", _BUILD),
    ("file-unreadable", MUST, "a file cannot be read", "build the set again"),
    ("file-changed", MUST, "a file is not the one that was built", _BUILD),
    ("files-differ", MUST, "both-sides.pdf does not match the other two files", _BUILD),
    ("file-big", LOOK, "a file is over the limit",
     "make the period shorter or the artwork simpler, or raise file_mb in [limits]"),
)  # fmt: skip
"""What can be wrong with the finished files of a set (``leafset check``)."""
