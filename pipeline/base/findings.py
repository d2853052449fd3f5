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
_REOPEN = "close leafset, its own window too, and open it again"
_AGAIN = f"{_REOPEN}, which makes the set anew (or run 'leafset build')"
_BUILD = (
    f"{_AGAIN}, and don't save its files from another program; if this comes back, the fault is"
    " leafset's: don't sell the set, and tell whoever you got leafset from"
)
_NAMES = (
    "in your drawing, see that each day's names have that day's own number: 'day1-' for the week's"
    " first day, 'day2-' for the second and so on (a copied day often keeps the old one); in a"
    " small month, it is the group that is named 'month-grid'"
)
_IF_AGAIN = (
    f"then {_AGAIN}; if this comes back, don't sell the set, and tell whoever you got leafset from"
)
_MISSING = "draw or name what is missing, or leave it if that is how you want it"


def _or_allow(what: str, line: str) -> str:
    """The way out that a limit leaves: ``line`` is how the season file would say another."""
    return (
        f"or allow {what}: in the season file, write {line}, say, below the line [limits]; if there"
        " is none, add it at the end"
    )


DRAWING_RULES = _table(
    ("file", MUST, "the file cannot be read",
     "open it in your drawing program and save it again as SVG"),
    ("undrawn", MUST, "something will not print",
     "embed a linked picture; retype text that is in a frame: click once with the text tool, draw"
     " no box; draw anything else again with simple fills and strokes"),
    ("size", MUST, "the page is the wrong size for its binder",
     "in your drawing program, set the page to the width and height that are named here: a flap is"
     " counted in; add nothing for what is cut away"),
    ("key", MUST, "an object's name looks like one that leafset fills in, and isn't",
     "look for a slip in typing, as in 'day1-dat' (the guide to templates lists the names); if it"
     " is to show your own words, name it 'label-notes', say, and add the line notes = \"your"
     " words\" to the labels file: the same word after label- and before the ="),
    ("label", MUST, "the labels file cannot be read",
     "in a plain text editor, type the line named here again in this form: notes = \"My notes\","
     " with straight quotes (turn off 'smart quotes')"),
    ("label-exchanged", MUST, "some words are in the labels file of another language",
     "put each language's words in its own labels file"),
    ("label-drawn", LOOK, "other words are drawn than those that print",
     "say under Drawings what it is to be, or write that into the labels file; or take the name"
     " off the text: then it prints as you drew it, in every language"),
    ("outlined", MUST, "a named text is only shapes now, so every page will say the same",
     "type it again as text with the same name, or remove the name if every page is to say the"
     " same"),
    ("missing", LOOK, "days, months or the words on a tab are left out", _MISSING),
    ("dated", LOOK, "typed text has a date that won't change",
     "delete it; or name the text 'day1-date', 'year' or the like, and leafset writes the right"
     " one on each page; or leave it if it is to stay for ever"),
    ("key-lost", MUST, "one object of a series has lost its name",
     "name it as its neighbours are named, with its own number: 'day3-name' is the name of the"
     " week's third day"),
    ("month-typed", MUST, "a small month is typed by hand",
     "delete it; draw a rectangle as large as the month, and in it type one 1, which shows the font"
     " and size of its days; group the two, and name the group 'month-grid': leafset fills in each"
     " month"),
    ("figure-stray", LOOK, "a number is typed beside a day",
     "if it is that day's date, name it after the day, such as 'day1-date'; if it means something"
     " else, leave it"),
    ("show-lost", MUST, "something meant for some days shows on all",
     "it has no name: look at the same thing on another day, and use that name with this day's"
     " number: 'show-day6-weekend' there, 'show-day7-weekend' here"),
    ("outside", LOOK, "something lies wholly outside the page",
     "delete it, or move it onto the page"),
    ("punch", MUST, "something lies where holes are punched",
     "move it inwards, out of the strip that is kept free for the holes"),
    ("fold", MUST, "something runs across the fold", "move it wholly to one side of the fold"),
    ("safe", MUST, "something comes too near a cut edge",
     "move it at least 3 mm in from where the page is cut"),
    ("art-near-cut", LOOK, "artwork ends at or near where the page is cut",
     "end it 3 mm inside the cut; or draw it 3 mm past the cut, and write the line bleed_mm = 3 at"
     " the very top of the season file"),
    ("text-covered", MUST, "text is covered", "put it in front, or move one of the two"),
    ("text-cropped", MUST, "text is cut off by a clip or mask",
     "release the clip or mask, or make it larger"),
    ("text-unseen", MUST, "text will not be seen",
     "show it and its layer, at full opacity and in a colour that shows, or take it out"),
    ("text-upturned", MUST, "text is upside down", "turn it the right way up"),
    ("text-mirrored", MUST, "text is mirrored", "flip it back"),
    ("text-tilted", LOOK, "text is slightly tilted", "set its rotation to exactly 0°, 90° or 270°"),
    ("text-small", LOOK, "text is too small to read", "make the letters as large as is said here"),
    ("faint", LOOK, "something hardly stands out from what lies behind it",
     "take a darker colour, or a lighter one on a dark ground"),
    ("font", MUST, "a font is missing, or lacks a letter",
     "choose an installed font that has every letter you need"),
    ("hairline", LOOK, "a line is too thin",
     "make it as thick as is said here, or thicker if its group was made smaller or narrower"),
    ("join", NOTE, "a line has corners of a rare kind, which print pointed",
     "choose pointed (miter), round or cut-off (bevel) corners for the line"),
    ("picture", MUST, "a picture has few pixels",
     "take one with more pixels, 300 per inch as printed, or make it smaller on the page"),
    ("effect-as-picture", NOTE, "a soft effect is printed as a picture",
     "leave it if it looks right; else take the effect off, and draw it as a gradient or with"
     " half-transparent shapes"),
    ("drawn-otherwise", LOOK, "this spot may not print as you drew it",
     "compare the finished page with your drawing; if it is wrong there, draw it with plain fills"
     " and strokes, without effects, patterns or masks"),
    ("renamed", NOTE, "your drawing program has changed a name",
     "give it back the name that is shown here, such as 'day1-name'"),
)  # fmt: skip
"""What can be wrong with a drawing (``leafset check``)."""

SET_RULES = _table(
    ("year-wrong", MUST, "a title or name in the season file says another year than its pages",
     "in the season file, write the year of the pages in that title or name, or no year"),
    ("period-wrong", MUST, "a title or name says other months or weeks than its pages show",
     "in the season file, change that title or name, or its dates"),
    ("weeks-missing", LOOK, "there is a gap between two periods",
     "in the season file, let the first end later or the second begin earlier; or leave it if that"
     " is what you sell"),
    ("weeks-twice", LOOK, "two periods share days",
     "in the season file, let the later one begin when the earlier has ended"),
    ("spread-twice", LOOK, "a set lists the same two facing pages twice",
     "in the season file, two lines { verso = …, recto = … } are alike: delete one, or write other"
     " drawings' names in it"),
    ("label-dated", MUST, "words in the labels file have a date, a month or a weekday in them",
     "delete it there: these words never change; in your drawing, a text named 'month-name' or"
     " 'week-number' changes by itself"),
    ("labels-file-language", MUST, "a whole labels file is in the wrong language",
     "write each language's words in its own labels file"),
    ("set-missing", MUST, "a set has not been made yet",
     f"{_REOPEN}, which makes it (or run 'leafset build')"),
    ("set-unplanned", MUST, "a set can't be made as long as the file named here has a fault",
     "look for the other message about that file and mend what it says; the set is made as soon as"
     " leafset is closed and opened again (or by 'leafset build')"),
    ("set-unreadable", MUST, "a set cannot be read", _AGAIN),
    ("set-astray", MUST, "the folder of a set holds another set's files",
     "copy what you want to keep of them elsewhere, as they will be replaced; then"
     f" {_AGAIN}"),
    ("set-unasked", MUST, "a finished set is no longer in the season",
     "to keep it, write it into the season file again; if not, its PDFs are deleted when the season"
     " is next made, as when leafset is opened: copy any that you want first"),
    ("set-stale", MUST, "a set is out of date", _AGAIN),
    ("date-missing", MUST, "a date is missing", _NAMES),
    ("date-doubled", MUST, "a date is there twice", _NAMES),
    ("date-order", MUST, "dates are out of order",
     "move the days on the page into the order in which they are read"),
    ("date-weekday", MUST, "a date is on the wrong weekday", _NAMES),
    ("date-wrong", MUST, "a date, weekday, month or week number is wrong for its page", _BUILD),
    ("date-typed", MUST, "a date is typed by hand",
     "delete it; or name the text 'day1-date', 'week-range' or the like, and leafset writes the"
     " right one on each page"),
    ("facing-weeks", MUST, "facing pages show different weeks",
     "in the season file, name both drawings in one line, { verso = \"week-left\", recto ="
     " \"week-right\", per = \"week\" } with your drawings' names (verso is left, recto right), in"
     " place of the lines they are in now"),
    ("back-elsewhere", MUST, "a page has the wrong page on its back", _BUILD),
    ("back-turned", MUST, "in the file, a page is upside down on the back of its sheet", _BUILD),
    ("back-shifted", MUST, "in the file, a back is not in line with its front", _BUILD),
    ("page-scaled", MUST, "in the file, a page is not at its true size", _BUILD),
    ("sheet-order", MUST, "sheets are out of order", _BUILD),
    ("page-missing", MUST, "a page is missing", _BUILD),
    ("page-extra", MUST, "there is a page too many", _BUILD),
    ("drawing-missing", MUST, "the artwork of a page is missing from the finished file",
     f"open the drawing, and mend it if it is missing there too; {_IF_AGAIN}"),
    ("ornament-wrong", MUST, "in the file, something meant for some days is on the wrong ones",
     "open the drawing, and see that each name such as 'show-day6-weekend' has the right day's"
     f" number; {_IF_AGAIN}"),
    ("page-stamped", MUST, "a finished page shows something that its drawing doesn't have", _BUILD),
    ("placeholder-left", MUST, "the sample words of your drawing are still on the page",
     "the text has lost its name: name it again, such as 'day1-name', or delete it"),
    ("label-missing", MUST, "words from the labels file are missing on the page",
     "for a text named 'label-notes' the labels file needs a line notes = \"…\": see that it is"
     " there, and that the text in your drawing has kept its name"),
    ("label-language", MUST, "words are in the wrong language for their page",
     "if they are in a labels file, translate them there; if you typed them in the drawing, name"
     " that text 'label-notes', say, and add notes = \"…\" with the translated words to the labels"
     " file of each language"),
    ("text-clipped", MUST, "text is cut off by the edge of the page or by a clip",
     "move it inwards, or release the clip"),
    ("text-covered", MUST, "text is covered",
     "put it in front, or move one of the two"),
    ("text-invisible", MUST, "text cannot be seen",
     "show it and its layer, at full opacity and in a colour that shows, or take it out"),
    ("text-upside-down", MUST, "text is upside down", "turn it the right way up"),
    ("text-mirrored", MUST, "text is mirrored", "flip it back"),
    ("text-tilted", LOOK, "text is slightly tilted", "set its rotation to exactly 0°, 90° or 270°"),
    ("text-overlaps", MUST, "texts overlap",
     "move one of them, set it smaller, or leave more room for words that leafset fills in"),
    ("text-unsafe", MUST, "text is too near where the page is cut or folded",
     "move it inwards, at least 3 mm from the cut or fold, as a cut may be slightly off"),
    ("text-in-punch", MUST, "text is where holes are punched",
     "move it inwards, out of the strip that is kept free for the holes"),
    ("text-across-fold", MUST, "text runs across a fold", "move it to one side of the fold"),
    ("art-no-bleed", LOOK, "artwork reaches the edge of the page but not past it",
     "end it 3 mm inside the cut; or draw it 3 mm past the cut, and write the line bleed_mm = 3 at"
     " the very top of the season file"),
    ("art-near-cut", LOOK, "artwork ends just short of where the page is cut",
     "end it 3 mm inside the cut; or draw it 3 mm past the cut, and write the line bleed_mm = 3 at"
     " the very top of the season file"),
    ("art-in-punch", LOOK, "artwork is where holes are punched",
     "end it outside the strip that is kept free for the holes"),
    ("hairline", LOOK, "a line is too thin",
     f"make it thicker; {_or_allow('thinner lines', 'hairline_mm = 0.1')}"),
    ("ink-light", LOOK, "ink is too light to be seen",
     "take a darker colour; "
     f"{_or_allow('lighter ones', 'lightest_percent = 5')} (0 is white, 100 is black)"),
    ("contrast-low", LOOK, "text hardly stands out from what is behind it",
     "make the text or what is behind it much lighter or darker; "
     f"{_or_allow('less', 'contrast = 2')} (black on white is 21)"),
    ("type-small", LOOK, "type is too small to read",
     f"make the letters larger; {_or_allow('smaller ones', 'smallest_pt = 5')}"),
    ("colour-unchanged", MUST,
     "you asked for other colours, and something has kept the colour that you drew it in",
     _BUILD),
    ("ink-heavy", LOOK, "an area is too dark to write or paste on",
     f"take a lighter colour; {_or_allow('darker ones', 'darkest_percent = 60')}"
     " (0 is white, 100 is black)"),
    ("ink-coverage", LOOK, "one side of a sheet takes too much ink",
     f"take lighter colours or draw less; {_or_allow('more', 'coverage_percent = 25')}"),
    ("font-not-embedded", MUST, "a font used on the pages is not embedded in the file", _BUILD),
    ("glyph-wrong", MUST, "some letters in the file are not the ones that were typed",
     f"{_AGAIN}; if this comes back, use another font"),
    ("picture-coarse", LOOK, "a picture has too few pixels",
     "take one with more pixels, 300 per inch as printed, or make it smaller on the page"),
    ("boxes-wrong", MUST, "the page or trim size in the file is wrong", _BUILD),
    ("mark-missing", MUST, "a crop, fold, punch or register mark is missing", _BUILD),
    ("mark-moved", MUST, "a crop, fold, punch or register mark is in the wrong place", _BUILD),
    ("mark-short", MUST, "a crop, fold, punch or register mark is too short", _BUILD),
    ("mark-extra", MUST, "something is printed outside the pages, where only marks belong", _BUILD),
    ("bar-wrong", MUST, "the 100 mm measuring bar is wrong", _BUILD),
    ("slug-wrong", MUST, "the line that names the sheet (slug line) is wrong", _BUILD),
    ("print-request-wrong", MUST,
     "the printer settings in the finished PDF have been changed, such as the number of copies",
     _BUILD),
    ("page-rotated", MUST, "a page is turned in the file", _BUILD),
    ("size-changed", MUST, "the file tells printers to resize a page", _BUILD),
    ("note-on-page", MUST, "a comment, stamp, link or form field lies on a page", _BUILD),
    ("acts-by-itself", MUST,
     "the file does something by itself when it is opened, such as print or open a web page",
     _BUILD),
    ("opens-oddly", MUST, "the file opens in an unusual view", _BUILD),
    ("layers-in-file", MUST,
     "another program has put layers into the finished PDF; your drawing's own layers are fine",
     _BUILD),
    ("form-in-file", MUST,
     "the finished PDF has boxes to type into, which leafset didn't put there", _BUILD),
    ("file-attached", MUST, "other files are hidden in the PDF", _BUILD),
    ("file-locked", MUST, "the finished PDF is locked, so that it can't be checked", _BUILD),
    ("key-unknown", MUST, "another program has put something into the file", _BUILD),
    ("font-unmapped", MUST, "text in the file can't be searched or copied", _BUILD),
    ("link-wrong", MUST, "in the file for screens, a date leads to another day's page", _BUILD),
    ("link-missing", MUST,
     "in the file for screens, touching a date doesn't lead to its page", _BUILD),
    ("press-box", MUST, "in the file for print shops, the trim size of a page is wrong", _BUILD),
    ("press-colour", MUST,
     "in the file for print shops, a colour is made of the wrong inks or of too much ink",
     "if it is very dark in your drawing, take a lighter one; else " + _BUILD),
    ("press-standard", MUST,
     "the file for print shops is not a sound PDF/X, the kind of PDF that they ask for", _BUILD),
    ("press-bleed", MUST,
     "for the print shop, artwork goes past the cut, but not as far as is asked here",
     "draw it that far past the edge of the page, or end it 3 mm inside"),
    ("file-unreadable", MUST, "a finished PDF cannot be opened", _AGAIN),
    ("file-changed", MUST, "a file was changed after it was made", _BUILD),
    ("files-differ", MUST, "both-sides.pdf differs from side-1.pdf and side-2.pdf", _BUILD),
    ("file-big", LOOK, "a file is too big",
     "use fewer or smaller pictures, simpler shapes or a shorter period; "
     f"{_or_allow('more', 'file_mb = 40')}"),
)  # fmt: skip
"""What can be wrong with the finished files of a set (``leafset check``)."""
