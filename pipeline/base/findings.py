"""Findings: what is wrong with a drawing or with a finished set, one model for both.

Every rule has a row here: its name, how bad it is, what it is about and what to do about it. Its
test belongs to the checks of what it looks at. To add a finding, say that a text is upside down:

    SET_RULES: rule("text-upturned", MUST, "text is upside down", "turn it the right way up")
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
    def what_to_do(self) -> str:
        """The way out, in one line."""
        return self.remedy or self.rules[self.rule].remedy


def _table(*rows: tuple[str, Severity, str, str]) -> Mapping[str, Rule]:
    return {row[0]: Rule(*row) for row in rows}


MUST, LOOK, NOTE = Severity
_BUILD = "build the set again; if it comes back, something changes the file after the build"
_IDS = "check the ids of that group in the template: each day has its own number"
_MISSING = "draw what is missing, or leave it if that is how you want it"

DRAWING_RULES = _table(
    ("file", MUST, "the file cannot be read", "save it again as SVG"),
    ("undrawn", MUST, "something will not be drawn", "draw it with flat shapes"),
    ("size", MUST, "the page is not as large as its binder asks for",
     "set the document's size to that, or the flap's width in collection.toml"),
    ("key", MUST, "a name says nothing the page can show", "rename it"),
    ("label", MUST, "the labels cannot be read", "mend the labels file"),
    ("outlined", MUST, "a key is on shapes instead of text",
     "type it again as text (it may have been turned into paths), or take the key off"),
    ("missing", LOOK, "days or months are left out", _MISSING),
    ("outside", LOOK, "something lies wholly outside the page",
     "delete it, or move it onto the page"),
    ("punch", MUST, "something lies where holes are punched", "move it away from the punched edge"),
    ("fold", MUST, "something runs across the fold", "keep it on one side of the fold"),
    ("safe", MUST, "something comes too near the edge", "move it 3 mm or more inside the edges"),
    ("font", MUST, "a font is missing, or has no such letter", "choose a font that is installed"),
    ("hairline", LOOK, "a line is too thin", "make it thicker"),
    ("picture", MUST, "a picture has few pixels", "place a larger one, 300 to the inch"),
    ("renamed", NOTE, "an editor renamed a key", "give it its plain name again"),
)  # fmt: skip
"""What can be wrong with a drawing (``leafset lint``)."""

SET_RULES = _table(
    ("date-missing", MUST, "a date is missing", _IDS),
    ("date-doubled", MUST, "a date is there twice", _IDS),
    ("date-order", MUST, "dates are out of order",
     "put the days in the template in the order they are read"),
    ("date-weekday", MUST, "a date is on the wrong weekday", _IDS),
    ("date-wrong", MUST, "a date or a name from the calendar is wrong for its page", _BUILD),
    ("facing-weeks", MUST, "facing pages show different weeks",
     "give both pages of the spread the same 'per'"),
    ("back-elsewhere", MUST, "a back is not behind its front", _BUILD),
    ("back-turned", MUST, "a back is turned against its front", _BUILD),
    ("back-shifted", MUST, "a page is shifted against its other side", _BUILD),
    ("sheet-order", MUST, "sheets are out of order", _BUILD),
    ("page-missing", MUST, "a page is missing", _BUILD),
    ("page-extra", MUST, "there is a page too many", _BUILD),
    ("placeholder-left", MUST, "a placeholder was left unfilled",
     "give the text its key as id, or take it out of the template"),
    ("label-missing", MUST, "a label is missing",
     "check that label's text and its element in the template"),
    ("label-language", MUST, "a label is in another language",
     "translate it in the labels file; a fixed text needs an id 'label-…'"),
    ("text-clipped", MUST, "text is cut off", "move it inwards, or take the clip off it"),
    ("text-overlaps", MUST, "texts overlap", "move one of them, or set it smaller"),
    ("text-unsafe", MUST, "text is outside the safe area",
     "move it inwards, as a cut may be slightly off"),
    ("text-in-punch", MUST, "text is where holes are punched",
     "move it away from the binding edge"),
    ("text-across-fold", MUST, "text runs across a fold", "move it to one side of the fold"),
    ("art-no-bleed", LOOK, "artwork reaches the cut but does not bleed past it",
     "stop it short of the edge, or set bleed_mm = 3 in the season file and draw it 3 mm past it"),
    ("hairline", LOOK, "a line is too thin", "make it thicker, or lower hairline_mm in [limits]"),
    ("ink-light", LOOK, "ink is too light to be seen",
     "take a darker colour, or lower lightest_percent in [limits]"),
    ("ink-heavy", LOOK, "an area is too dark to write or paste on",
     "take a lighter colour, or raise darkest_percent in [limits]"),
    ("ink-coverage", LOOK, "a side takes too much ink",
     "draw it with less, or raise coverage_percent in [limits]"),
    ("font-not-embedded", MUST, "a font is not in the file", _BUILD),
    ("picture-coarse", LOOK, "a picture has too few pixels",
     "take a finer one, or show it smaller"),
    ("boxes-wrong", MUST, "a page box is wrong", _BUILD),
    ("print-request-wrong", MUST, "the file asks the printer for the wrong settings", _BUILD),
    ("files-differ", MUST, "both-sides.pdf does not match the other two files", _BUILD),
    ("file-big", LOOK, "a file is over the limit",
     "make the period shorter or the artwork simpler, or raise file_mb in [limits]"),
)  # fmt: skip
"""What can be wrong with the finished files of a set (``leafset check``)."""
