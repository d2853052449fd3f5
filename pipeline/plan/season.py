"""The season file: what is to be made, read and checked before anything is."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from pipeline.base.errors import UserError
from pipeline.base.foldername import safe_name
from pipeline.base.nearest import did_you_mean
from pipeline.plan.bundlename import USUAL_PATTERN, NamePattern
from pipeline.plan.calendar import WEEKDAYS, Policy, month_end, months_of
from pipeline.plan.sizes import load_sizes, users_sizes_file
from pipeline.plan.stock import USUAL_LB_BOND, Stock, bond_gsm
from pipeline.plan.tags import root_of
from pipeline.plan.titles import Title, title_in
from pipeline.plan.tomlfile import Location, TomlFile, read_toml
from pipeline.plan.words import words_for

UNDATED = "undated"
"""The name of the period that undated sets are made under."""

_KEPT_NAMES = {UNDATED: "sets without dates", "release": "what is published"}

MOST_MONTHS = 12
"""A period touches at most so many months: the opening page has no room to name more."""

MOST_SHIFT_MM = 10.0
"""A back that is further off is no printer's habit but a sheet fed wrong."""

_YEARS = range(1583, 9998)  # whole years of the Gregorian calendar that Python can count


def _month(text: Any) -> Any:
    """The first day of a month written "2027-03"."""
    if not isinstance(text, str):
        raise ValueError('must be a month in quotes; write it as "2027-03"')
    match = re.fullmatch(r"(\d{4})-(\d{2})", text)
    if not match or not 1 <= int(match[2]) <= 12:
        raise ValueError(f"'{text}' is no month; write year and month, such as \"2027-03\"")
    return dt.date(max(int(match[1]), 1), int(match[2]), 1)


def _shift(value: Any) -> Any:
    """Two numbers of millimetres."""
    numbers = isinstance(value, list | tuple) and len(value) == 2
    if not numbers or not all(type(part) in (int, float) for part in value):
        raise ValueError("must be two numbers; write it as [0.3, -0.1]")
    if not all(abs(part) <= MOST_SHIFT_MM for part in value):
        raise ValueError(
            f"is more than {MOST_SHIFT_MM:g} mm off; push the printer's paper guides close to the"
            " paper and read the feed test again"
        )
    return tuple(float(part) for part in value)


def _one_or_more(value: Any) -> Any:
    """A list; a single name may stand without its brackets."""
    return [value] if isinstance(value, str) else value


Name = Annotated[str, AfterValidator(safe_name)]
Template = Annotated[str, AfterValidator(safe_name)]
Month = Annotated[dt.date, BeforeValidator(_month)]
Names = Annotated[list[str], Field(min_length=1), BeforeValidator(_one_or_more)]
Shift = Annotated[tuple[float, float], BeforeValidator(_shift)]
Per = Literal["week", "month", "once"]
Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]


class _Table(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class PeriodEntry(_Table):
    """A ``[[period]]``: a month, a run of months, or days ``from`` and ``to``."""

    name: Name
    title: Title | None = None
    month: Month | None = None
    months: Annotated[list[Month], Field(min_length=2, max_length=2)] | None = None
    from_: dt.date | None = Field(default=None, alias="from")
    to: dt.date | None = None

    @model_validator(mode="after")
    def _says_when_once(self) -> PeriodEntry:
        days = self.from_ is not None or self.to is not None
        if sum((self.month is not None, self.months is not None, days)) != 1:
            raise ValueError(
                "says when it is more than once, or not at all;"
                " give one of 'month', 'months', or 'from' with 'to'"
            )
        if days and (self.from_ is None or self.to is None):
            raise ValueError("has only one of 'from' and 'to'; give both")
        if self.first > self.last:
            raise ValueError(
                f"is empty: it begins on {self.first} and ends on {self.last};"
                " put the earlier one first"
            )
        if self.first.year not in _YEARS or self.last.year not in _YEARS:
            raise ValueError(f"lies outside the years {_YEARS[0]} to {_YEARS[-1]}; check the year")
        if len(months := months_of(self.first, self.last)) > MOST_MONTHS:
            raise ValueError(
                f"touches {len(months)} months and the most is {MOST_MONTHS};"
                " make two periods of it"
            )
        return self

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


class SpreadEntry(_Table):
    """Two facing pages by their templates, and how often they come."""

    verso: Template
    recto: Template
    per: Per


class LeafEntry(_Table):
    """One leaf of an undated set; a side that is left out stays blank."""

    recto: Template | None = None
    verso: Template | None = None

    @model_validator(mode="after")
    def _has_a_side(self) -> LeafEntry:
        if self.recto is None and self.verso is None:
            raise ValueError("has neither 'recto' nor 'verso'; give at least one")
        return self


class SetEntry(_Table):
    """A ``[[set]]``: a run of dated spreads, or single undated leaves."""

    name: Name
    title: Title | None = None
    opening: Template | None = None
    closing: Template | None = None
    spreads: Annotated[list[SpreadEntry], Field(min_length=1)] | None = None
    leaves: Annotated[list[LeafEntry], Field(min_length=1)] | None = None

    @property
    def templates(self) -> list[str]:
        """Its templates, each once, in the order of its pages."""
        pairs = [*(self.spreads or ()), *(self.leaves or ())]
        named = (self.opening, *(n for one in pairs for n in (one.verso, one.recto)), self.closing)
        return list(dict.fromkeys(name for name in named if name is not None))

    @model_validator(mode="after")
    def _spreads_or_leaves(self) -> SetEntry:
        if (self.spreads is None) == (self.leaves is None):
            both = "both 'spreads' and 'leaves'" if self.spreads else "no 'spreads' and no 'leaves'"
            raise ValueError(f"has {both}; give one: spreads are dated, leaves are undated")
        if self.leaves is not None and (self.opening or self.closing):
            raise ValueError(
                "has 'leaves' and an opening or closing page;"
                " those go with 'spreads': make the page one of the leaves"
            )
        return self


class Printer(_Table):
    """The ``[printer]`` table: what the buyer's printer can do."""

    unprintable_mm: float = Field(default=6.35, ge=0, le=25, allow_inf_nan=False)
    """The edge of the sheet it cannot print on. Common practice: 3 to 6.4 mm at home."""

    flip: Literal["long", "short"] = "long"
    """The edge of the upright sheet it is turned over between side 1 and side 2."""

    back_shift_mm: Shift = (0.0, 0.0)
    """How far off it prints side 2, to the right and downwards, as its feed test says."""

    reverse_side_2: bool = False
    """Whether side-2.pdf must run from the last sheet to the first."""


class StockEntry(_Table):
    """The ``[stock]`` table: what the pages are printed on."""

    gsm: Annotated[float, Field(ge=30, le=600, allow_inf_nan=False)] | None = None
    lb_bond: Annotated[float, Field(ge=8, le=160, allow_inf_nan=False)] | None = None
    caliper_mm: Annotated[float, Field(ge=0.02, le=2, allow_inf_nan=False)] | None = None

    @model_validator(mode="after")
    def _weighed_once(self) -> StockEntry:
        if self.gsm is not None and self.lb_bond is not None:
            raise ValueError("gives its weight twice; give one of 'gsm' and 'lb_bond'")
        return self

    @property
    def as_stock(self) -> Stock:
        """The paper: of the weight given, or of the usual one."""
        pounds = USUAL_LB_BOND if self.lb_bond is None else self.lb_bond
        return Stock(bond_gsm(pounds) if self.gsm is None else self.gsm, self.caliper_mm)


class Limits(_Table):
    """The ``[limits]`` table: what a proof finds fault with.

    Percentages of ink are of black: 0 is white paper, 100 solid black.
    """

    hairline_mm: float = Field(default=0.2, ge=0, le=2, allow_inf_nan=False)
    """A ruled line is at least so thick; drawn details may be half of it. Common practice."""

    lightest_percent: float = Field(default=10, ge=0, le=100, allow_inf_nan=False)
    """Lines and letters lighter than this are lost on paper. From memory, for home printers."""

    darkest_percent: float = Field(default=40, ge=0, le=100, allow_inf_nan=False)
    """Areas darker than this cannot be written on or pasted over. From memory."""

    coverage_percent: float = Field(default=15, ge=0, le=100, allow_inf_nan=False)
    """The most of a side that ink may cover: more makes thin paper wavy. From memory."""

    file_mb: float = Field(default=20, gt=0, le=2000, allow_inf_nan=False)
    """The biggest file, in millions of bytes; not every shop takes more. From memory."""

    raster_dpi: float = Field(default=200, ge=0, le=2400, allow_inf_nan=False)
    """Pictures have at least so many pixels an inch at the size they are shown."""

    safe_mm: float = Field(default=3, ge=0, le=30, allow_inf_nan=False)
    """How far letters stay from every cut and fold. Common practice."""

    bleed_mm: float = Field(default=2, ge=0, le=10, allow_inf_nan=False)
    """How far artwork that reaches a cut runs past it. Common practice: 2 to 3 mm."""


class Publish(_Table):
    """The ``[publish]`` table: what leaves the house, and under which name."""

    name: NamePattern = USUAL_PATTERN
    """The pattern of a bundle's name, which its folder and its zip have."""

    zip_mb: float = Field(default=20, gt=0, le=5000, allow_inf_nan=False)
    """The biggest zip, in millions of bytes; not every shop takes more. From memory."""


class Pictures(_Table):
    """The ``[pictures]`` table: the pictures for the shop."""

    format: Literal["jpeg", "png"] = "jpeg"

    watermark: bool = False
    """Whether the collection's watermark.svg is printed faintly on all of them."""

    close_up: Names = Field(default_factory=list)
    """Templates for the close-up: each set shows the first of them that it has."""


class Season(_Table):
    """A whole season file."""

    name: Name
    title: Title
    collection: str
    language: Names
    label_fallback: str | None = None
    sizes: Names
    papers: Names
    weeks: Policy = "begins"
    text: Literal["embedded", "outlines"] = "embedded"
    first_weekday: Weekday | None = None
    printer: Printer = Printer()
    stock: StockEntry = StockEntry()
    limits: Limits = Limits()
    publish: Publish = Publish()
    pictures: Pictures = Pictures()
    period: list[PeriodEntry] = Field(default_factory=list)
    set: Annotated[list[SetEntry], Field(min_length=1)]

    @property
    def first_weekday_number(self) -> int | None:
        """The weekday weeks begin on, 0 = Monday; ``None`` leaves it to the language."""
        return None if self.first_weekday is None else WEEKDAYS.index(self.first_weekday)


def load_season(path: Path) -> Season:
    """The season file at ``path``, checked.

    Raises ``UserError``: file, line where it can be found, field, what is wrong, what to do.
    """
    file = read_toml(path)
    season = file.validated(Season)
    _no_repeats(file, "period", [entry.name for entry in season.period], ("name",))
    _no_repeats(file, "set", [entry.name for entry in season.set], ("name",))
    for field in ("language", "sizes", "papers"):
        _no_repeats(file, field, getattr(season, field))
    sizes = load_sizes(users_sizes_file(path))
    checks = (("language", words_for), ("sizes", sizes.binder), ("papers", sizes.paper))
    for field, look_up in checks:
        for position, name in enumerate(getattr(season, field)):
            try:
                look_up(name)
            except UserError as problem:
                raise file.error(
                    (field, position), f"'{name}': {problem.what}", problem.remedy
                ) from None
    if season.label_fallback is not None:
        try:
            words_for(season.label_fallback)
        except UserError as problem:
            raise file.error(
                ("label_fallback",), f"'{season.label_fallback}': {problem.what}", problem.remedy
            ) from None
    _every_title_in_every_language(file, season)
    _close_ups_are_pages(file, season)
    earlier: dict[tuple[dt.date, dt.date], str] = {}
    for position, period in enumerate(season.period):
        days = period.first, period.last
        if (same := earlier.setdefault(days, period.name)) != period.name:
            raise file.error(
                ("period", position),
                f"has the same days as '{same}', {days[0]} to {days[1]}",
                "change one of the two, or take it out",
            )
        if (kept := _KEPT_NAMES.get(period.name.casefold())) is not None:
            raise file.error(
                ("period", position, "name"),
                f"'{period.name}' is kept for {kept}",
                "give the period another name",
            )
    dated = [n for n, entry in enumerate(season.set) if entry.spreads]
    if dated and not season.period:
        raise file.error(
            ("set", dated[0]), "has dated spreads and the season has no period", "add a [[period]]"
        )
    return season


def _every_title_in_every_language(file: TomlFile, season: Season) -> None:
    """Raises ``UserError`` at the first title that a language of the season has no text for."""
    titled: list[tuple[Location, Title | None]] = [(("title",), season.title)]
    titled += [(("period", n, "title"), entry.title) for n, entry in enumerate(season.period)]
    titled += [(("set", n, "title"), entry.title) for n, entry in enumerate(season.set)]
    for location, title in titled:
        for language in season.language:
            if title is not None and title_in(title, language) is None:
                raise file.error(
                    location,
                    f"has no text for '{language}'",
                    f'add title.{root_of(language)} = "…"',
                )


def _close_ups_are_pages(file: TomlFile, season: Season) -> None:
    """Raises ``UserError`` for a close-up of a template that no set has."""
    known = list(dict.fromkeys(name for entry in season.set for name in entry.templates))
    for name in season.pictures.close_up:
        if name not in known:
            raise file.error(
                ("pictures", "close_up"),
                f"no set has a page '{name}'",
                did_you_mean(name, known),
            )


def _no_repeats(file: TomlFile, field: str, names: Iterable[str], tail: Location = ()) -> None:
    """Raises ``UserError`` at the second of two names that would share a folder."""
    seen: set[str] = set()
    for position, name in enumerate(names):
        if name.casefold() in seen:
            raise file.error(
                (field, position, *tail),
                f"the name '{name}' is there twice",
                "give each its own; capitals make no difference to some systems",
            )
        seen.add(name.casefold())
