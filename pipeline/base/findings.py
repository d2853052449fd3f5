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
_BUILD = (
    "build the set again; if it comes back, another program is changing the file: don't open and"
    " save it elsewhere"
)
_IDS = "check the ids in that day's group of the template: each day needs its own number"
_REBUILD = "build the season again with 'leafset build'"
_MISSING = "draw what is missing, or leave it if that is how you want it"

DRAWING_RULES = _table(
    ("file", MUST, "the file cannot be read",
     "open it in your drawing program and save it again as SVG"),
    ("undrawn", MUST, "something will not print",
     "embed a linked picture; draw what is named again as plain shapes"),
    ("size", MUST, "the page is the wrong size for its binder",
     "set the document to the binder's page size, or mend the flap's width in collection.toml"),
    ("key", MUST, "a name isn't one that this page knows",
     "correct it, or add the label to the labels file"),
    ("label", MUST, "the labels cannot be read",
     "open the labels file and correct the line that is named"),
    ("label-exchanged", MUST, "a label is in the wrong language for its file",
     "put each language's words in its own labels file"),
    ("outlined", MUST, "a key is on shapes instead of text",
     "type it again as text with the same id, or remove the id"),
    ("missing", LOOK, "days, months or the label of a tab are left out", _MISSING),
    ("dated", LOOK, "typed text has a date that won't change",
     "give it a key such as 'day1-date', 'week-number' or 'year' as id, or take it out"),
    ("key-lost", MUST, "one of several that belong together has lost its id",
     "give it the id that follows its neighbours', such as 'day3-name'"),
    ("month-typed", MUST, "a small month is typed by hand",
     "delete it, group a rectangle and one sample number, and call the group 'month-grid'"),
    ("figure-stray", LOOK, "a number is typed beside a day",
     "delete it, or give it the id of the date it stands for"),
    ("show-lost", MUST, "something meant for some days shows on all",
     "give it back its id, after the pattern of another day's"),
    ("outside", LOOK, "something lies wholly outside the page",
     "delete it, or move it onto the page"),
    ("punch", MUST, "something lies where holes are punched", "move it away from the punched edge"),
    ("fold", MUST, "something runs across the fold", "move it wholly to one side of the fold"),
    ("safe", MUST, "something comes too near the edge",
     "move it at least 3 mm in from the trimmed edge"),
    ("art-near-cut", LOOK, "artwork ends at or near the trim",
     "carry it 3 mm past the trim as bleed, or end it 3 mm inside"),
    ("text-covered", MUST, "text is covered", "put it in front, or move one of the two"),
    ("text-cropped", MUST, "text is cut off by a clip or mask",
     "release the clip or mask, or make it larger"),
    ("text-unseen", MUST, "text will not be seen",
     "show it and its layer, at full opacity and in a colour that shows, or take it out"),
    ("text-upturned", MUST, "text is upside down", "turn it the right way up"),
    ("text-mirrored", MUST, "text is mirrored", "flip it back"),
    ("text-tilted", LOOK, "text is slightly tilted", "set its rotation to exactly 0°, 90° or 270°"),
    ("text-small", LOOK, "text is too small to read", "set it larger"),
    ("faint", LOOK, "something hardly stands out from what lies behind it",
     "take a darker colour, or a lighter one on a dark ground"),
    ("font", MUST, "a font is missing, or lacks a letter",
     "choose an installed font that has every letter you need"),
    ("hairline", LOOK, "a line is too thin", "make it thicker"),
    ("join", NOTE, "a corner of a line is drawn as a mitre",
     "give the line a mitre, round or bevel join"),
    ("picture", MUST, "a picture has few pixels",
     "take one with more pixels, 300 per inch as printed, or make it smaller on the page"),
    ("effect-as-picture", NOTE, "a soft effect is printed as a picture",
     "leave it if it looks right; else take the effect off, or draw it as a gradient or with"
     " half-clear shapes"),
    ("drawn-otherwise", LOOK, "a place looks different in another program",
     "compare it with what you drew; if it prints wrong, draw it in a simpler way"),
    ("renamed", NOTE, "an editor renamed a key",
     "take off the number or ending that your drawing program added"),
)  # fmt: skip
"""What can be wrong with a drawing (``leafset lint``)."""

SET_RULES = _table(
    ("year-wrong", MUST, "a year doesn't match the dates",
     "write the year that the periods are in, or leave it out"),
    ("period-wrong", MUST, "a title names a different period from its pages",
     "change the title, or the period's dates"),
    ("weeks-missing", LOOK, "there is a gap between two periods",
     "add the period between them, or leave it if that is what you sell"),
    ("weeks-twice", LOOK, "two periods share days",
     "start the later one on the day after the earlier one ends"),
    ("spread-twice", LOOK, "a set has the same dated spread twice",
     "take one out, or use other templates for it"),
    ("label-dated", MUST, "a label contains a fixed date",
     "take the date out; on the page, a key such as 'month-name' moves with the dates"),
    ("labels-file-language", MUST, "a labels file is in another language than its name says",
     "write each language's words in its own labels file"),
    ("set-missing", MUST, "a set is not built", _REBUILD),
    ("set-unplanned", MUST, "a set cannot be built as the season is now",
     "correct what is named in the season or the drawing, then build the season again"),
    ("set-unreadable", MUST, "a set cannot be read", _REBUILD),
    ("set-astray", MUST, "a folder holds another set than its name says", _REBUILD),
    ("set-unasked", MUST, "a finished set is no longer in the season",
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
     "in the season file, give both pages of the spread the same 'per', such as \"week\""),
    ("back-elsewhere", MUST, "a back is not behind its front", _BUILD),
    ("back-turned", MUST, "a back is turned differently from its front", _BUILD),
    ("back-shifted", MUST, "a page doesn't line up with its other side", _BUILD),
    ("page-scaled", MUST, "a page is not printed at its true size", _BUILD),
    ("sheet-order", MUST, "sheets are out of order", _BUILD),
    ("page-missing", MUST, "a page is missing", _BUILD),
    ("page-extra", MUST, "there is a page too many", _BUILD),
    ("drawing-missing", MUST, "the drawing of a page is missing", _BUILD),
    ("ornament-wrong", MUST, "something meant for some days is printed on the wrong ones", _BUILD),
    ("page-stamped", MUST, "something is printed on a page that isn't in its drawing", _BUILD),
    ("placeholder-left", MUST, "a placeholder was left unfilled",
     "give the text back its id, such as 'day1-name', or delete it from the template"),
    ("label-missing", MUST, "a label is missing",
     "check the label's text in the labels file, and its id in the template"),
    ("label-language", MUST, "a label is in the wrong language for its page",
     "translate it in the labels file; typed text needs an id beginning with 'label-'"),
    ("text-clipped", MUST, "text is cut off", "move it inwards, or take the clip off it"),
    ("text-covered", MUST, "text is covered",
     "move what covers it below the text, or away from it"),
    ("text-invisible", MUST, "text cannot be seen",
     "give it a dark colour, opacity 100 % and a layer that is on"),
    ("text-upside-down", MUST, "text is upside down", "turn it the right way up"),
    ("text-mirrored", MUST, "text is mirrored", "flip it back"),
    ("text-tilted", LOOK, "text is slightly tilted", "set its rotation to exactly 0°, 90° or 270°"),
    ("text-overlaps", MUST, "texts overlap", "move one of them, or set it smaller"),
    ("text-unsafe", MUST, "text is outside the safe area",
     "move it inwards, as a cut may be slightly off"),
    ("text-in-punch", MUST, "text is where holes are punched",
     "move it away from the binding edge"),
    ("text-across-fold", MUST, "text runs across a fold", "move it to one side of the fold"),
    ("art-no-bleed", LOOK, "artwork reaches the trim but has no bleed",
     "end it 3 mm inside the trim, or set bleed_mm = 3 in the season file and draw it 3 mm past"),
    ("art-near-cut", LOOK, "artwork ends just short of the trim",
     "end it 3 mm inside the trim, or carry it 3 mm past as bleed"),
    ("hairline", LOOK, "a line is too thin",
     "make it thicker, or lower hairline_mm under [limits] in the season file"),
    ("ink-light", LOOK, "ink is too light to be seen",
     "take a darker colour, or lower lightest_percent under [limits] in the season file"),
    ("contrast-low", LOOK, "text hardly stands out from what is behind it",
     "make one much lighter or darker, or lower contrast under [limits] in the season file"),
    ("type-small", LOOK, "type is too small to read",
     "set it larger, or lower smallest_pt under [limits] in the season file"),
    ("colour-unchanged", MUST, "something is still in the colour it was drawn in", _BUILD),
    ("ink-heavy", LOOK, "an area is too dark to write or paste on",
     "take a lighter colour, or raise darkest_percent under [limits] in the season file"),
    ("ink-coverage", LOOK, "a side takes too much ink",
     "draw it with less, or raise coverage_percent under [limits] in the season file"),
    ("font-not-embedded", MUST, "a font is not in the file", _BUILD),
    ("glyph-wrong", MUST, "the wrong letters are printed", _BUILD),
    ("picture-coarse", LOOK, "a picture has too few pixels",
     "take a finer one, or show it smaller"),
    ("boxes-wrong", MUST, "the page or trim size in the file is wrong", _BUILD),
    ("mark-missing", MUST, "a crop, fold, punch or register mark is missing", _BUILD),
    ("mark-moved", MUST, "a mark is in the wrong place", _BUILD),
    ("mark-short", MUST, "a mark is too short", _BUILD),
    ("mark-extra", MUST, "something that isn't a mark is printed beside the leaves", _BUILD),
    ("bar-wrong", MUST, "the 100 mm measuring bar is wrong", _BUILD),
    ("slug-wrong", MUST, "the line that names the sheet (slug line) is wrong", _BUILD),
    ("print-request-wrong", MUST, "the file asks the printer for the wrong settings", _BUILD),
    ("page-rotated", MUST, "a page is turned in the file", _BUILD),
    ("size-changed", MUST, "a page is to be printed larger or smaller than it is", _BUILD),
    ("note-on-page", MUST, "a comment, stamp, link or form field lies on a page", _BUILD),
    ("acts-by-itself", MUST, "the file runs a script or an action", _BUILD),
    ("opens-oddly", MUST, "the file opens in an unusual view", _BUILD),
    ("layers-in-file", MUST, "the file has layers, and some may be off", _BUILD),
    ("form-in-file", MUST, "the file has form fields", _BUILD),
    ("file-attached", MUST, "the file carries other files", _BUILD),
    ("file-locked", MUST, "the file is locked", _BUILD),
    ("key-unknown", MUST, "the file holds something that wasn't put in by the build", _BUILD),
    ("font-unmapped", MUST, "text in the file can't be searched or copied", _BUILD),
    ("file-unreadable", MUST, "a file cannot be read", "build the set again"),
    ("file-changed", MUST, "a file is not the one that was built", _BUILD),
    ("files-differ", MUST, "both-sides.pdf does not match the other two files", _BUILD),
    ("file-big", LOOK, "a file is over the limit",
     "shorten the period or simplify the art, or raise file_mb under [limits] in the season file"),
)  # fmt: skip
"""What can be wrong with the finished files of a set (``leafset check``)."""
