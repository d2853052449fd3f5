"""The season file: what is to be made, read and checked before anything is."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from string import Formatter
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, field_validator, model_validator

from pipeline.base.errors import UserError, did_you_mean
from pipeline.plan.almanac import AlmanacEntry
from pipeline.plan.calendar import WEEKDAYS, Policy, WeekNumbers, month_end, months_of
from pipeline.plan.forgiving import Taken, put_right, taken_in
from pipeline.plan.languages import root_of, title_in
from pipeline.plan.model import LEAST_TAB_MM, MOST_BLEED_MM, SAFE_MM, Press, Screen
from pipeline.plan.profile import USUAL_PROFILE, profile_name, read_profile
from pipeline.plan.sizes import (
    USUAL_LB_BOND,
    Name,
    Sizes,
    Stock,
    bond_gsm,
    load_sizes,
    users_sizes_file,
)
from pipeline.plan.tomlfile import Location, TomlTable, read_toml
from pipeline.plan.words import Words, words_for

TAB_INK = "Tab outline"
"""The ink of the lines that leaves with tabs are cut along: it prints over all else, on no plate
that a press is run with (common practice)."""

AS_DRAWN = "as-drawn"
"""The name of the colours that pages are drawn in."""

UNDATED = "undated"
"""The name of the period that undated sets are made under."""

ORDERS = "orders"
"""The folder of the build folder that has what is made to order."""

_KEPT_NAMES = {UNDATED: "sets without dates", "release": "what is published"}
_YEARS = range(1583, 9998)  # whole years of the Gregorian calendar that Python can count

MOST_SETS = 5000
"""Sets on all papers that a season may make; more would not fit into a machine's memory. By trial.
"""
MOST_MONTHS = 24
"""The most months a period touches: an opening page has no room to name more. From memory."""

MOST_SHIFT_MM = 10.0
"""A back that is further off comes from a sheet fed wrong, not from the printer. From memory."""

NAME_FIELDS = (
    "title", "period", "size", "paper", "language", "version", "set", "season", "collection",
)  # fmt: skip
"""Fields a bundle's name may have. ``title`` and ``period`` are as buyers read them."""

USUAL_PATTERN = "{title}-{period}-{size}-{paper}-{language}-v{version}"


def month_written(text: Any) -> Any:
    """The first day of a month written "2027-03"."""
    if not isinstance(text, str):
        raise ValueError("must be a month in quotes", 'write it as "2027-03"')
    match = re.fullmatch(r"(\d{4})-(\d{2})", text)
    if not match or not 1 <= int(match[2]) <= 12:
        raise ValueError(f"'{text}' isn't a valid month", 'write year and month, such as "2027-03"')
    return dt.date(max(int(match[1]), 1), int(match[2]), 1)


def _shift(value: Any) -> Any:
    """Two numbers of millimetres."""
    numbers = isinstance(value, list | tuple) and len(value) == 2
    if not numbers or not all(type(part) in (int, float) for part in value):
        raise ValueError("must be two numbers", "write it as [0.3, -0.1]")
    if not all(abs(part) <= MOST_SHIFT_MM for part in value):
        raise ValueError(
            f"is more than {MOST_SHIFT_MM:g} mm off",
            "push the printer's paper guides close to the paper and read the feed test again",
        )
    return tuple(float(part) for part in value)


def _title(value: Any) -> Any:
    """The value itself, if it is a text or a table of texts by language."""
    if isinstance(value, str):
        return value
    if not isinstance(value, dict):
        raise ValueError(
            "must be a text in quotes, or a table with one for each language",
            'write { en = "…", de = "…" }',
        )
    if not value:
        raise ValueError("is an empty table", "give a text for each language")
    for language, text in value.items():
        try:
            words_for(language)
        except UserError as problem:
            raise ValueError(f"'{language}' {problem.what}", problem.remedy) from None
        if not isinstance(text, str) or not text.strip():
            raise ValueError(f"has no text for '{language}'", "write it in quotes")
    return value


def checked_pattern(pattern: str) -> str:
    """The pattern itself, if every name made from it can be told from that of another version.

    Raises ``ValueError`` with what is wrong and what to do otherwise.

    >>> checked_pattern("{set}-{paper}-v{version}")
    '{set}-{paper}-v{version}'
    >>> checked_pattern("{titel}-v{version}")
    Traceback (most recent call last):
    ...
    ValueError: ("has {titel}, which isn't a valid field", "did you mean 'title'?")
    """
    try:
        parts = list(Formatter().parse(pattern))
    except ValueError:
        raise ValueError("has an unmatched brace", "write fields like {title}") from None
    for text, field, form, conversion in parts:
        if not re.fullmatch(r"[A-Za-z0-9._-]*", text):
            raise ValueError(
                "has characters that not every system and shop accepts in a name",
                "between the fields use letters a to z, figures, '-', '_' and '.'",
            )
        if form or conversion:
            raise ValueError("has a field with ':' or '!'", "write only its name, like {title}")
        if field is not None and field not in NAME_FIELDS:
            raise ValueError(
                f"has {{{field}}}, which isn't a valid field", did_you_mean(field, NAME_FIELDS)
            )
    if not any(field == "version" for _, field, _, _ in parts):
        raise ValueError(
            "has no {version}",
            "add it, so that a buyer can tell a second release from the first",
        )
    return pattern


def _template(value: Any) -> Any:
    """A template's name; a page of a finished PDF, { pdf = "letter.pdf", page = 1 }, has one too.

    >>> _template({"pdf": "letter.pdf", "page": 2})
    'letter-page-2'
    """
    if not isinstance(value, dict):
        return value
    pdf, page, more = value.get("pdf"), value.get("page", 1), set(value) - {"pdf", "page"}
    counted = type(page) is int and 1 <= page <= 9999 and not more
    if isinstance(pdf, str) and pdf.endswith(".pdf") and counted:
        return f"{pdf.removesuffix('.pdf')}-page-{page}"
    raise ValueError("isn't a page of a PDF", 'write { pdf = "letter.pdf", page = 1 }')


Template = Annotated[Name, BeforeValidator(_template)]
Month = Annotated[dt.date, BeforeValidator(month_written)]
NamePattern = Annotated[str, AfterValidator(checked_pattern)]
Names = Annotated[
    list[str],
    Field(min_length=1),
    BeforeValidator(lambda value: [value] if isinstance(value, str) else value),
]
"""A list; a single name may stand without its brackets."""
Shift = Annotated[tuple[float, float], BeforeValidator(_shift)]
Title = Annotated[str | dict[str, str], BeforeValidator(_title)]
"""What people call a season, a set or a period."""
PictureKind = Literal[
    "title-card", "spread", "fan", "close-up", "sheet", "sizes", "flaps-opening"
]  # fmt: skip
"""A kind of picture for a shop; "spread" is the binder with flaps open, shut or none."""
Edition = Literal["sheets", "screen", "press"]
Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]


class PeriodEntry(TomlTable):
    """A ``[[period]]``: a month, a run of months, or days ``from`` and ``to``."""

    name: Name
    title: Title | None = None
    month: Month | None = None
    months: Annotated[list[Month], Field(min_length=2, max_length=2)] | None = None
    step: int | None = Field(default=None, ge=1, le=12)
    """Makes of ``months`` a period for every so many of them, each named with its first."""

    from_: dt.date | None = Field(default=None, alias="from")
    to: dt.date | None = None

    @model_validator(mode="after")
    def _says_when_once(self) -> PeriodEntry:
        days = self.from_ is not None or self.to is not None
        if sum((self.month is not None, self.months is not None, days)) != 1:
            raise ValueError(
                "gives its dates more than once, or not at all",
                "give one of 'month', 'months', or 'from' with 'to'",
            )
        if days and (self.from_ is None or self.to is None):
            raise ValueError("has only one of 'from' and 'to'", "give both")
        if self.step is not None and (self.months is None or self.title is not None):
            raise ValueError(
                "has 'step' and a title, or 'step' without 'months'",
                "give 'months' with it and no title: each period is called by its own months",
            )
        if self.first > self.last:
            raise ValueError(
                f"is empty: it begins on {self.first} and ends on {self.last}",
                "put the earlier one first",
            )
        if self.first.year not in _YEARS or self.last.year not in _YEARS:
            raise ValueError(
                f"lies outside the years {_YEARS[0]} to {_YEARS[-1]}", "check the year"
            )
        months = months_of(self.first, self.last)
        if len(months) > MOST_MONTHS and self.step is None:
            raise ValueError(
                f"touches {len(months)} months and the most is {MOST_MONTHS}",
                "make two periods of it",
            )
        return self

    @property
    def stepped(self) -> list[PeriodEntry]:
        """The periods it stands for: itself, or one for every ``step`` months."""
        if self.step is None:
            return [self]
        months = months_of(self.first, self.last)
        runs = [months[n : n + self.step] for n in range(0, len(months), self.step)]
        return [
            PeriodEntry.model_construct(
                name=f"{self.name}-{run[0]:%Y-%m}", months=[run[0], run[-1]]
            )
            for run in runs
        ]

    def title_for(self, words: Words) -> str:
        """Its title in a language; its days where it has none of its own."""
        own = title_in(self.title or "", words.language)
        skeleton = "yMMMM" if self.from_ is None else "yMMMMd"
        return own or words.interval(self.first, self.last, skeleton)

    @property
    def called(self) -> frozenset[str]:
        """What a set may call it: by its name, or by that of all the steps it is one of."""
        return frozenset({self.name, re.sub(r"-\d{4}-\d{2}$", "", self.name)})

    @property
    def first(self) -> dt.date:
        """Its first day."""
        day = self.month or (self.months[0] if self.months else self.from_)
        assert day is not None
        return day

    @property
    def last(self) -> dt.date:
        """Its last day."""
        month = self.month or (self.months[1] if self.months else None)
        day = month_end(month) if month else self.to
        assert day is not None
        return day


LENGTHS = ("day", "half-week", "week", "month", "quarter", "year")
"""The times that a spread can be about, the shortest first."""


class TabEntry(TomlTable):
    """A ``tab``: where it stands out from the leaf, and what it says."""

    of: int = Field(ge=1, le=31)
    """How many steps the edge is divided in."""

    is_: int | None = Field(default=None, alias="is", ge=1, le=31)
    """Which of them, from 1; without it each leaf takes the step after the last one's."""

    reach_mm: float = Field(ge=LEAST_TAB_MM, le=40)
    """How far it stands out. Common practice: 8 to 15 mm."""

    edge: Literal["fore", "head"] = "fore"
    label: str | None = None
    """The label, of those in labels/, that says what is on it."""

    list: Name | None = None
    """The list, of those in lists/, whose lines are on the tabs in turn."""

    @model_validator(mode="after")
    def _stands_on_its_edge(self) -> TabEntry:
        if self.is_ is not None and self.is_ > self.of:
            raise ValueError(
                f"is step {self.is_} of {self.of}", "give 'is' a number up to that of 'of'"
            )
        if self.label is not None and self.list is not None:
            raise ValueError("has both 'label' and 'list'", "give one of them")
        return self


class SidedTemplates(TomlTable):
    """A template for what belongs to the versos, and one for the rectos."""

    verso: Template | None = None
    recto: Template | None = None


def _on_both_sides(given: object) -> object:
    """A name stands for both sides."""
    return {"verso": given, "recto": given} if isinstance(given, str) else given


FlapBack = Annotated[SidedTemplates, BeforeValidator(_on_both_sides)]
"""The outside of flaps: one template for all of them, or each side's by itself."""


class SpreadEntry(TomlTable):
    """Two facing pages by their templates, and how often they come."""

    verso: Template
    recto: Template
    per: Literal["day", "half-week", "week", "month", "quarter", "year", "once"]

    every: int = Field(default=1, ge=1, le=366)
    """Of how many days, weeks or months it follows the last: 2 puts it after every second."""

    each_page: bool = False
    """Whether each of the two pages has a day, week or month of its own, the recto the next."""

    flap_back: FlapBack | None = None
    """What is seen of its flaps when they are shut; left out, what the set says."""

    tab: TabEntry | None = None
    """The tab of the leaf that has its recto."""

    @model_validator(mode="after")
    def _has_a_length(self) -> SpreadEntry:
        if self.per == "once" and (self.every > 1 or self.each_page):
            raise ValueError(
                "comes once and has 'every' or 'each_page'",
                'those go with per = "day", "week", "month" and the like',
            )
        return self


class LeafEntry(TomlTable):
    """One leaf of an undated set; a side that is left out stays blank."""

    recto: Template | None = None
    verso: Template | None = None
    tab: TabEntry | None = None

    @model_validator(mode="after")
    def _has_a_side(self) -> LeafEntry:
        if self.recto is None and self.verso is None:
            raise ValueError("has neither 'recto' nor 'verso'", "give at least one")
        return self


class SetEntry(TomlTable):
    """A ``[[set]]``: a run of dated spreads, or single undated leaves."""

    name: Name
    title: Title | None = None
    lead: Title | None = None
    """The first sentence of its listing: why somebody would want it."""

    opening: Template | None = None
    closing: Template | None = None
    spreads: Annotated[list[SpreadEntry], Field(min_length=1)] | None = None
    periods: Names | None = None
    """The periods it is made for, by their names; a stepped one's name stands for all its parts."""

    dates: Literal["season", "none"] = "season"
    """Whether its spreads are dated. Without dates, a set is made once and not for each period."""

    count: int | None = Field(default=None, ge=1, le=400)
    """How many of its longest time, such as weeks, a set without dates has."""

    leaves: Annotated[list[LeafEntry], Field(min_length=1)] | None = None
    tab: TabEntry | None = None
    """The tabs of all leaves that have a page of its spreads, or one of its leaves, in front."""
    flap_back: FlapBack | None = None
    """The template of the outside of its flaps, as wide as they are; left out, it is blank where
    the page behind has no flap of its own."""

    def flap_back_of(self, template: str) -> str:
        """The template of the outside of the flap that one of its pages has; "" for none."""
        own = [e.flap_back for e in self.spreads or () if template in (e.verso, e.recto)]
        back = next((one for one in own if one), self.flap_back)
        pairs = [*(self.spreads or ()), *(self.leaves or ())]
        versos = {self.closing, *(one.verso for one in pairs)}
        if back is None:
            return ""
        return (back.verso if template in versos else back.recto) or ""

    @property
    def is_dated(self) -> bool:
        """Whether it is made for each period."""
        return self.spreads is not None and self.dates != "none"

    @property
    def tab_fronts(self) -> frozenset[str]:
        """The templates in front of leaves whose tabs are to say something."""
        fronts = [(one.recto, one.tab) for one in self.leaves or ()]
        fronts += [(one.recto, one.tab) for one in self.spreads or ()]
        every = [(front, tab or self.tab) for front, tab in fronts]
        return frozenset(
            front
            for front, tab in every
            if front and tab and (self.is_dated or tab.label or tab.list)
        )

    def named_in(self, colours: str) -> str:
        """Its name in colours; in others than the drawings' own it is a set of its own."""
        return self.name if colours == AS_DRAWN else f"{self.name}-{colours}"

    def is_for(self, period: PeriodEntry) -> bool:
        """Whether it is made for a period."""
        return self.is_dated and (
            self.periods is None or not period.called.isdisjoint(self.periods)
        )

    @property
    def templates(self) -> list[str]:
        """Its templates, each once, in the order of its pages."""
        pairs = [*(self.spreads or ()), *(self.leaves or ())]
        named = (self.opening, *(n for one in pairs for n in (one.verso, one.recto)), self.closing)
        return list(dict.fromkeys(name for name in named if name is not None))

    @property
    def flap_backs(self) -> set[str]:
        """All templates of the outsides of its flaps."""
        asked = [self.flap_back, *(one.flap_back for one in self.spreads or ())]
        return {name for one in asked if one for name in (one.verso, one.recto) if name}

    @model_validator(mode="after")
    def _one_outside_for_a_flap(self) -> SetEntry:
        for name in self.templates:
            backs = [e.flap_back for e in self.spreads or () if name in (e.verso, e.recto)]
            if any(back != backs[0] for back in backs):
                raise ValueError(
                    f"has spreads with '{name}' whose 'flap_back' differs",
                    "give them the same, or draw a second page for the other",
                )
        return self

    @model_validator(mode="after")
    def _spreads_or_leaves(self) -> SetEntry:
        if (self.spreads is None) == (self.leaves is None):
            both = "both 'spreads' and 'leaves'" if self.spreads else "no 'spreads' and no 'leaves'"
            raise ValueError(f"has {both}", "give one: spreads are dated, leaves are undated")
        if (self.dates == "none") != (self.count is not None):
            raise ValueError(
                "has only one of 'dates' and 'count'",
                'give both for a set without dates: dates = "none" and, for 13 weeks, count = 13',
            )
        if self.periods is not None and not self.is_dated:
            raise ValueError(
                "has no dates, and 'periods'", "take 'periods' out: it is made once, for none"
            )
        if self.leaves is not None and self.count is not None:
            raise ValueError("has 'leaves' and a count", "'count' goes with 'spreads'")
        if self.leaves is not None and (self.opening or self.closing):
            raise ValueError(
                "has 'leaves' and an opening or closing page",
                "those go with 'spreads': make the page one of the leaves",
            )
        return self


class Printer(TomlTable):
    """The ``[printer]`` table: what the buyer's printer can do."""

    unprintable_mm: float = Field(default=6.35, ge=0, le=25)
    """The edge of the sheet it cannot print on. Common practice: 3 to 6.4 mm at home."""

    flip: Literal["long", "short"] = "long"
    """The edge of the upright sheet it is turned over between side 1 and side 2."""

    back_shift_mm: Shift = (0.0, 0.0)
    """How far off it prints side 2, to the right and downwards, as its feed test says."""

    reverse_side_2: bool = False
    """Whether side-2.pdf must run from the last sheet to the first."""


class StockEntry(TomlTable):
    """The ``[stock]`` table: what the pages are printed on."""

    gsm: Annotated[float, Field(ge=30, le=600)] | None = None
    lb_bond: Annotated[float, Field(ge=8, le=160)] | None = None
    caliper_mm: Annotated[float, Field(ge=0.02, le=2)] | None = None

    @model_validator(mode="after")
    def _weighed_once(self) -> StockEntry:
        if self.gsm is not None and self.lb_bond is not None:
            raise ValueError("gives its weight twice", "give one of 'gsm' and 'lb_bond'")
        return self

    @property
    def as_stock(self) -> Stock:
        """The paper: of the weight given, or of the usual one."""
        pounds = USUAL_LB_BOND if self.lb_bond is None else self.lb_bond
        return Stock(bond_gsm(pounds) if self.gsm is None else self.gsm, self.caliper_mm)


class Trimmer(TomlTable):
    """A trimmer or guillotine of the maker's."""

    sheets: int = Field(default=10, ge=1, le=1000)
    """How many sheets it cuts at once. Common practice for home trimmers."""

    cut_mm: float | None = Field(default=None, gt=0, le=3000)
    """The longest cut it makes; ``None`` for any."""


Amount = Annotated[float, Field(ge=0, le=1e6)]


class BenchEntry(TomlTable):
    """The ``[bench]`` table: prices and times for packs that are printed at home to be sold.

    All but the sizes are the maker's own; times are by eye.
    """

    money: str = ""
    """What amounts are in, as it stands after them."""

    spare_percent: float = Field(default=5, ge=0, le=100)
    tray_sheets: int = Field(default=100, ge=1, le=5000)
    ream_price: Amount = 0
    ream_sheets: int = Field(default=500, ge=1, le=10000)
    cartridge_price: Amount = 0
    cartridge_pages: int = Field(default=1000, ge=1, le=1_000_000)
    hour_price: Amount = 0
    envelope_price: Amount = 0
    envelope_g: Amount = 0
    postage: list[Annotated[list[Amount], Field(min_length=2, max_length=2)]] = Field(
        default_factory=list
    )
    """Rows of the most grams and the price up to there."""

    pages_a_minute: float = Field(default=8, gt=0, le=1000)
    stroke_s: Amount = 20
    punch_s: Amount = 6
    fold_s: Amount = 8
    pick_s: Amount = 60
    """Seconds for putting one pack together."""

    trimmer: dict[Name, Trimmer] = Field(default_factory=dict)


class Limits(TomlTable):
    """The ``[limits]`` table: what a proof finds fault with.

    Percentages of ink are of black: 0 is white paper, 100 solid black.
    """

    hairline_mm: float = Field(default=0.2, ge=0, le=2)
    """A ruled line is at least so thick; drawn details may be half of it. Common practice."""

    lightest_percent: float = Field(default=10, ge=0, le=100)
    """Lines and letters lighter than this are lost on paper. From memory, for home printers."""

    smallest_pt: float = Field(default=6, ge=0, le=72)
    """The smallest type, as it is printed. Pages narrower than 127 mm may have three quarters of
    it, figures of small months five eighths. Common practice; the parts are by eye."""

    contrast: float = Field(default=3, ge=1, le=21)
    """How much lighter or darker letters are than what is behind them, where that isn't white
    paper: a ratio of luminances. WCAG 2.2, 1.4.3, asks for 3 of large text and 4.5 of other."""

    darkest_percent: float = Field(default=40, ge=0, le=100)
    """Areas darker than this cannot be written on or pasted over. From memory."""

    coverage_percent: float = Field(default=15, ge=0, le=100)
    """The most of a side that ink may cover: more makes thin paper wavy. From memory."""

    file_mb: float = Field(default=20, gt=0, le=2000)
    """The biggest file, in millions of bytes; not every shop takes more. From memory."""

    raster_dpi: float = Field(default=200, ge=0, le=2400)
    """The fewest pixels an inch of a picture, at the size it is shown; what is made soft by a
    filter has ``EFFECT_DPI`` at least. Common practice."""

    safe_mm: float = Field(default=SAFE_MM, ge=0, le=30)
    """How far letters stay from every cut and fold. Common practice."""

    bleed_mm: float = Field(default=2, ge=0, le=10)
    """How far artwork that reaches a cut runs past it. Common practice: 2 to 3 mm."""


LEAD_DAYS = 42
"""Pages are wanted so many days before their first one (common practice: six weeks)."""


class Publish(TomlTable):
    """The ``[publish]`` table: what leaves the house, under which name, and when."""

    name: NamePattern = USUAL_PATTERN
    """The pattern of a bundle's name, which its folder and its zip have."""

    zip_mb: float = Field(default=20, gt=0, le=5000)
    """The biggest zip, in millions of bytes; not every shop takes more. From memory."""

    name_letters: int = Field(default=68, ge=12, le=255)
    """The longest name of a file, its ending included; some shops take no more than 70. From
    memory."""

    lead_days: int = Field(default=LEAD_DAYS, ge=0, le=730)
    """How many days before its first day a period is to be out."""

    title_letters: int | None = Field(default=None, ge=1)
    """The longest title of a listing; ``None`` for no limit."""

    text_letters: int | None = Field(default=None, ge=1)
    """The longest text of a listing, bare; ``None`` for no limit."""

    tags: int | None = Field(default=None, ge=1)
    """The most tags of a listing, the first of them; ``None`` for no limit."""

    tag_letters: int | None = Field(default=None, ge=3)
    """The longest tag; longer ones are left out. ``None`` for no limit."""

    pictures: int | None = Field(default=None, ge=1)
    """The most pictures of a listing, in one shape; ``None`` for no limit."""

    picture_px: int | None = Field(default=None, ge=300, le=2500)
    """The longest side of a picture; ``None`` for as large as they are composed."""

    picture_mb: float | None = Field(default=None, gt=0)
    """The biggest picture, in millions of bytes; ``None`` for no limit."""


class Pictures(TomlTable):
    """The ``[pictures]`` table: the pictures for the shop."""

    format: Literal["jpeg", "png"] = "jpeg"

    watermark: bool = False
    """Whether the collection's watermark.svg is printed faintly on all of them."""

    close_up: Names = Field(default_factory=list)
    """Templates for close-ups: each set shows the first of them that it has before all."""

    kinds: Annotated[list[PictureKind], Field(min_length=1)] = Field(default_factory=list)
    """The kinds that are made; all if left out."""

    moving: list[Literal["webp", "gif"]] = Field(default=["webp"])
    """The formats of the picture of opening flaps."""


class ScreenEntry(TomlTable):
    """The ``[screen]`` table: the screen that the edition for screens is made for."""

    shape: Annotated[str, Field(pattern=r"^[1-9]\d?:[1-9]\d?$")] = "4:3"
    """How wide it is to how high, such as "4:3" or "16:10"."""

    size_mm: (
        Annotated[list[Annotated[float, Field(gt=20, le=2000)]], Field(min_length=2, max_length=2)]
        | None
    ) = None
    """Its width and height; pages shown as large as they are then have their true size."""

    pages: Literal["facing", "single"] = "facing"

    @property
    def as_screen(self) -> Screen:
        """The screen as it is planned for."""
        across, down = self.size_mm or map(float, self.shape.split(":"))
        return Screen((across, down), self.size_mm is not None, self.pages == "facing")


def _spot(value: Any) -> Any:
    """A colour as drawings have it, "#3a6b35", as its three parts."""
    if not isinstance(value, str) or not re.fullmatch(r"#[0-9a-fA-F]{6}", value):
        raise ValueError("must be a colour of the drawings", 'write it as "#3a6b35"')
    return tuple(bytes.fromhex(value[1:]))


InkName = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9 _.-]{0,40}$")]
SpotColour = Annotated[tuple[int, int, int], BeforeValidator(_spot)]


class PressEntry(TomlTable):
    """The ``[press]`` table: the printing press that the edition for print shops is made for."""

    profile: str = USUAL_PROFILE
    """The file of the print shop's ICC profile, beside the season, or the program's own."""

    bleed_mm: float = Field(default=3, ge=0, le=MOST_BLEED_MM)
    """How far past every cut the print shop wants pages printed. Common practice: 3 mm."""

    ink_percent: float = Field(default=300, ge=100, le=400)
    """The most ink of all four together. Common practice: 280 to 320 on uncoated paper."""

    marks: bool = False
    """Whether crop and fold marks stand around each leaf."""

    sheet_mm: (
        Annotated[list[Annotated[float, Field(gt=20, le=2000)]], Field(min_length=2, max_length=2)]
        | None
    ) = None
    """The press sheet that leaves lie on together; left out, each has a page of its own."""

    unprintable_mm: float = Field(default=10, ge=0, le=30)
    """The edge of a press sheet that is held and not printed on. Common practice: 10 mm."""

    spots: dict[InkName, SpotColour] = Field(default_factory=dict)
    """Inks of their own, by name, with the colour of the drawings that each prints."""

    @field_validator("spots")
    @classmethod
    def _one_ink_a_colour(
        cls, spots: dict[str, tuple[int, int, int]]
    ) -> dict[str, tuple[int, int, int]]:
        if len(set(spots.values())) < len(spots):
            raise ValueError("has one colour twice", "give each ink a colour of its own")
        taken = {"cyan", "magenta", "yellow", "black", "all", "none", TAB_INK.casefold()}
        if wrong := [name for name in spots if name.casefold() in taken]:
            what = f"has an ink called '{wrong[0]}', which means another one in the file"
            raise ValueError(what, "give it another name")
        return spots

    def as_press(self, season: Path) -> Press:
        """The press as it is planned for. Raises UserError for a profile that is no good."""
        profile = read_profile(self.profile, season)
        short, long = sorted(self.sheet_mm or (0.0, 0.0))
        return Press(
            profile,
            profile_name(profile),
            self.ink_percent,
            tuple(self.spots.items()),
            self.marks,
            (short, long) if self.sheet_mm else None,
            self.unprintable_mm,
            self.bleed_mm,
        )


class Season(TomlTable):
    """A whole season file."""

    name: Name
    title: Title
    collection: str
    language: Names
    label_fallback: str | None = None
    sizes: Names
    papers: Names
    colours: Names = Field(default_factory=lambda: [AS_DRAWN])
    """Sets of colours, by their names in collection.toml; the drawings' own are "as-drawn"."""

    editions: Annotated[list[Edition], Field(min_length=1)] = Field(default=["sheets"])
    """What is made of each set: sheets for home printers, a file for screens, one for print shops.

    Sheets are laid in any case, for they are what is looked at and passed."""

    screen: ScreenEntry = ScreenEntry()
    press: PressEntry = PressEntry()
    weeks: Policy = "begins"
    week_numbers: WeekNumbers = "iso"
    text: Literal["embedded", "outlines"] = "embedded"
    first_weekday: Weekday | None = None
    bleed_mm: float | None = Field(default=None, ge=0, le=MOST_BLEED_MM)
    """How far pages are printed past every cut; ``None`` leaves it to the collection."""

    marks: Literal["outside", "holes-inside"] = "outside"
    """Whether holes are marked by faint dots within the leaves too, for who punches one by one."""

    almanac: AlmanacEntry | None = None
    printer: Printer = Printer()
    stock: StockEntry = StockEntry()
    limits: Limits = Limits()
    bench: BenchEntry = BenchEntry()
    publish: Publish = Publish()
    pictures: Pictures = Pictures()
    period: list[PeriodEntry] = Field(default_factory=list)
    set: Annotated[list[SetEntry], Field(min_length=1)]

    @property
    def sets_by_period(self) -> list[tuple[PeriodEntry | None, SetEntry]]:
        """Dated sets period by period in the file's order, then those without dates, once."""
        dated = [(one, entry) for one in self.period for entry in self.set if entry.is_for(one)]
        return [*dated, *((None, entry) for entry in self.set if not entry.is_dated)]

    @field_validator("period")
    @classmethod
    def _every_period(cls, entries: list[PeriodEntry]) -> list[PeriodEntry]:
        return [period for entry in entries for period in entry.stepped]

    @field_validator("editions")
    @classmethod
    def _is_for_buyers(cls, editions: list[str]) -> list[str]:
        if editions == ["press"]:
            raise ValueError(
                "has nothing for buyers",
                'write ["sheets", "press"], or ["screen", "press"]',
            )
        return editions

    @property
    def for_screen(self) -> Screen | None:
        """The screen that sets are made for besides paper, if any."""
        return self.screen.as_screen if "screen" in self.editions else None

    @property
    def first_weekday_number(self) -> int | None:
        """The weekday weeks begin on, 0 = Monday; ``None`` leaves it to the language."""
        return None if self.first_weekday is None else WEEKDAYS.index(self.first_weekday)


def load_season(path: Path) -> Season:
    """The season file at ``path``, checked.

    Raises ``UserError``: file, line where it can be found, field, what is wrong, what to do.
    """
    return _read(path)[0]


def taken_for(path: Path) -> tuple[Taken, ...]:
    """What in a season file is taken for what it can only mean. Raises as ``load_season`` does."""
    return _read(path)[1]


def _read(path: Path) -> tuple[Season, tuple[Taken, ...]]:
    file, sizes = read_toml(path), load_sizes(users_sizes_file(path))
    taken = tuple(taken_in(file.data, sizes))
    put_right(file.data, taken)
    season = file.validated(Season)
    for location, what, remedy in _mistakes(season, sizes):
        raise file.error(location, what, remedy)
    return season, taken


def _mistakes(season: Season, sizes: Sizes) -> Iterator[tuple[Location, str, str]]:
    """What is wrong with a season as a whole: where, what, and what to do."""
    editions = len(season.sizes) * len(season.papers) * len(season.language) * len(season.colours)
    sets = sum(
        sum(entry.is_for(one) for one in season.period) if entry.is_dated else 1
        for entry in season.set[: MOST_SETS + 1]
    )
    if (many := sets * editions) > MOST_SETS:
        what = f"the season makes more than {MOST_SETS:,} sets"
        if len(season.set) <= MOST_SETS:
            what = f"the season makes {many:,} sets and the most is {MOST_SETS:,}"
        yield ("set",), what, "make several season files of it"
        return
    for field in ("period", "set", "language", "sizes", "papers", "colours"):
        seen: set[str] = set()
        for n, entry in enumerate(getattr(season, field)):
            is_name = isinstance(entry, str)
            name = entry if is_name else entry.name
            if name.casefold() in seen:
                yield (
                    (field, n) if is_name else (field, n, "name"),
                    f"the name '{name}' is used twice",
                    "give each its own; capitals make no difference to some systems",
                )
            seen.add(name.casefold())
    named: list[tuple[Location, str, Callable[[str], object]]] = []
    for n, language in enumerate(season.language):
        named.append((("language", n), language, words_for))
    named += [(("sizes", n), size, sizes.binder) for n, size in enumerate(season.sizes)]
    named += [(("papers", n), paper, sizes.paper) for n, paper in enumerate(season.papers)]
    if season.label_fallback is not None:
        named.append((("label_fallback",), season.label_fallback, words_for))
    for location, name, look_up in named:
        try:
            look_up(name)
        except UserError as problem:
            yield location, f"'{name}': {problem.what}", problem.remedy
    titled: list[tuple[Location, Title | None]] = [(("title",), season.title)]
    titled += [(("period", n, "title"), period.title) for n, period in enumerate(season.period)]
    titled += [(("set", n, "title"), entry.title) for n, entry in enumerate(season.set)]
    for location, title in titled:
        for language in season.language:
            if title is not None and title_in(title, language) is None:
                add = f'add title.{root_of(language)} = "…"'
                yield location, f"has no text for '{language}'", add
    pages = list(dict.fromkeys(name for entry in season.set for name in entry.templates))
    for name in season.pictures.close_up:
        if name not in pages:
            remedy = did_you_mean(name, pages)
            yield ("pictures", "close_up"), f"no set has a page '{name}'", remedy
    if season.name.casefold() == ORDERS:
        what = f"'{season.name}' is kept for what is made to order"
        yield ("name",), what, "give the season another name"
    earlier: dict[tuple[dt.date, dt.date], str] = {}
    for n, period in enumerate(season.period):
        days = period.first, period.last
        if (same := earlier.setdefault(days, period.name)) != period.name:
            yield (
                ("period", n),
                f"has the same days as '{same}', {days[0]} to {days[1]}",
                "change one of the two, or take it out",
            )
        if (kept := _KEPT_NAMES.get(period.name.casefold())) is not None:
            what = f"'{period.name}' is kept for {kept}"
            yield ("period", n, "name"), what, "give the period another name"
    for n, entry in enumerate(season.set):
        if entry.is_dated and not season.period:
            what = "has dated spreads and the season has no period"
            yield ("set", n), what, "add a [[period]]"
        known = {name for period in season.period for name in period.called}
        for name in entry.periods or ():
            if name not in known:
                what = f"the season has no period '{name}'"
                yield ("set", n, "periods"), what, did_you_mean(name, sorted(known))
