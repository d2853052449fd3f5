"""What the plan hands on: sets of spreads of dated pages, and the leaves that follow from them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from pipeline.base.geometry import Rect

SAFE_MM = 3.0
"""What a trimming error cannot touch begins this far from a cut (common practice)."""

MOST_BLEED_MM = 5.0
"""More than this no printer asks for. Common practice: 2 to 3 mm."""


class Side(StrEnum):
    """The two faces of a leaf. Left-bound, the verso is the left-hand page of a spread."""

    RECTO = "recto"
    VERSO = "verso"


class Binding(StrEnum):
    """The edge that is punched, seen on the recto: left for most scripts, right for Arabic."""

    LEFT = "left"
    RIGHT = "right"


EFFECT_DPI = 300.0
"""The fewest pixels an inch of what only pixels can show, such as a blur. Common practice."""


@dataclass(frozen=True)
class Holes:
    """A punch pattern: hole centres along the binding edge.

    ``centres_mm`` are measured from the top of the leaf, ``edge_mm`` from the binding edge to
    the centres, ``diameter_mm`` across a hole. ``source`` says where the pattern comes from.
    """

    centres_mm: tuple[float, ...]
    edge_mm: float
    diameter_mm: float
    source: str = "from memory"


@dataclass(frozen=True)
class Binder:
    """A binder size: the trim size of its leaves (mm) and where they are punched."""

    name: str
    title: str
    width_mm: float
    height_mm: float
    holes: Holes
    source: str

    def flap_only(self, width_mm: float) -> Binder:
        """Its flap alone, as a leaf that isn't punched: for what is drawn on the outside of it."""
        no_holes = replace(self.holes, centres_mm=())
        title = f"the flap of {self.title}"
        return replace(self, title=title, width_mm=width_mm, holes=no_holes)


@dataclass(frozen=True)
class LeftOut:
    """A day of a page whose feasts or notes find no room: what is printed, and for what."""

    page: str
    said: str

    def __str__(self) -> str:
        return f"{self.page}: {self.said}"


def edition_name(period: str, name: str, binder: str, paper: str, language: str) -> str:
    """What the files of a set go by in one size, on one paper and in one language.

    >>> edition_name("march", "running", "a5", "a4", "en-GB")
    'march/running/a5-a4-en-GB'
    """
    return f"{period}/{name}/{binder}-{paper}-{language}"


@dataclass(frozen=True)
class Paper:
    """A printer's paper, portrait (mm), with its media name (PWG 5101.1)."""

    name: str
    title: str
    width_mm: float
    height_mm: float
    media: str
    source: str


@dataclass(frozen=True)
class DayCell:
    """One day of a small month: its figures, and what is so about it."""

    text: str
    weekend: bool
    date: dt.date
    outside: bool = False
    """Whether it stands on a page about the whole period, whose other pages do not show it."""


@dataclass(frozen=True)
class MonthGrid:
    """A small month: weekday heads and rows of seven cells (``None`` outside the month)."""

    heads: tuple[str, ...]
    rows: tuple[tuple[DayCell | None, ...], ...]
    week_numbers: tuple[str, ...]


@dataclass(frozen=True)
class Facts:
    """All that a page can show.

    ``texts`` maps a key to its forms, longest first; ``flags`` maps the rest of a ``show-…`` id
    to whether it holds; ``months`` maps a ``…-grid`` key to the month it draws; ``dates`` are the
    days the page is about, for the proof to check against (none on pages for the whole period).
    ``kind`` is what the page is about: a time of ``season.LENGTHS``, "once" for the whole period,
    or "undated". A key that exists but has nothing to show
    (a fourth month in a quarter) has the one form ``""`` or a month without rows.

    Keys that come in numbers are of a family, the letters before the number. ``counts`` says how
    many there are of each family here, for what is repeated; ``calendars`` are the days of a
    month as a calendar has them, six rows of seven with those of its neighbours, which are
    the family "cell". They go by what the keys of the month begin with: nothing on a page for a
    month, "month3-" where a page tells the dates of several.
    """

    kind: str
    texts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    flags: Mapping[str, bool] = field(default_factory=dict)
    months: Mapping[str, MonthGrid] = field(default_factory=dict)
    dates: tuple[dt.date, ...] = ()
    counts: Mapping[str, int] = field(default_factory=dict)
    calendars: Mapping[str, tuple[dt.date, ...]] = field(default_factory=dict)
    moons: Mapping[str, float | None] = field(default_factory=dict)
    """Maps a ``…moon-disc`` key to the lit share of the moon, below 0 where it is lit on the left;
    None where there is no such day."""


@dataclass(frozen=True)
class Buyer:
    """Whom a set is made to order for: what their own keys say, and their own days by date.

    ``texts`` maps such keys as ``buyer-name`` to their forms, longest first.
    """

    texts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    days: Mapping[dt.date, tuple[str, ...]] = field(default_factory=dict)


LEAST_TAB_MM = 5.0
"""Nobody gets hold of a tab that stands out less (by eye)."""


class Edge(StrEnum):
    """The edge of a leaf that a tab stands out from."""

    FORE = "fore"
    HEAD = "head"


@dataclass(frozen=True)
class Tab:
    """A tab that stands out ``reach_mm`` from an edge, for one of its ``of`` equal steps.

    ``at`` says which step, from 1: from the head down, or from the binding edge on. With 0 there
    is no tab and the leaf is cut along its page: so leaves with tabs on the head and leaves without
    are of one height before they are cut.

    Rectangles are of a recto bound on the left, in mm from the top left of the flat leaf.

    >>> second = Tab(6, 2, 12)
    >>> second.flat(148, 210), second.area(148, 210)
    (Rect(x=0, y=0, width=160, height=210), Rect(x=148, y=35.0, width=12, height=35.0))
    """

    of: int
    at: int
    reach_mm: float
    edge: Edge = Edge.FORE

    @property
    def wider_mm(self) -> float:
        """How much wider than its page the flat leaf is."""
        return self.reach_mm if self.edge is Edge.FORE else 0

    @property
    def higher_mm(self) -> float:
        """How much higher than its page the flat leaf is."""
        return self.reach_mm if self.edge is Edge.HEAD else 0

    def flat(self, width: float, height: float) -> Rect:
        """The leaf of a page ``width`` × ``height`` mm, with the strip that tabs stand in."""
        return Rect(0, 0, width + self.wider_mm, height + self.higher_mm)

    def page(self, width: float, height: float) -> Rect:
        """Where the page lies on that leaf."""
        return Rect(0, self.higher_mm, width, height)

    def area(self, width: float, height: float) -> Rect | None:
        """The rectangle that the tab has before its corners are cut; None without a tab."""
        if not self.at:
            return None
        if self.edge is Edge.FORE:
            step = height / self.of
            return Rect(width, (self.at - 1) * step, self.reach_mm, step)
        step = width / self.of
        return Rect((self.at - 1) * step, 0, step, self.reach_mm)


def tab_size(tab: Tab | None) -> tuple[float, float]:
    """By how many mm a leaf is wider and higher than its page for the sake of a tab."""
    return (tab.wider_mm, tab.higher_mm) if tab else (0, 0)


@dataclass(frozen=True)
class Page:
    """One face of a leaf, before it is filled.

    ``template`` is the file's stem within the collection; ``flap_mm`` the width of the flap on
    its fore edge (0 for none); ``label`` is what a slug line calls it, such as "W09 1 – 7 Mar".
    ``flap_back`` is the template of the outside of the flap that folds over the leaf's other side,
    ``back_mm`` its width; "" and 0 where that is blank or there is none. A face with that alone has
    it as its ``template`` too.
    ``tab`` is that of its leaf.
    """

    template: str
    side: Side
    facts: Facts
    label: str
    flap_mm: float = 0.0
    flap_back: str = ""
    back_mm: float = 0.0
    tab: Tab | None = None

    @property
    def drawing(self) -> str:
        """What is drawn on the face: its template, and after a "+" that of a flap's outside."""
        both = self.flap_back and self.flap_back != self.template
        return f"{self.template}+{self.flap_back}" if both else self.template

    @property
    def beside_mm(self) -> float:
        """How much wider than its leaf it is drawn: its own flap, or another's outside, mm."""
        return max(self.flap_mm, self.back_mm)


@dataclass(frozen=True)
class Spread:
    """Two facing pages: the verso of one leaf and the recto of the next, in reading order.

    The recto is blank where each page has a day of its own and the days come out odd.
    """

    verso: Page
    recto: Page | None


@dataclass(frozen=True)
class Leaf:
    """One piece of paper in the binder; a side without a page stays blank."""

    recto: Page | None
    verso: Page | None

    def page(self, side: Side) -> Page | None:
        """The page on one of its faces."""
        return self.recto if side is Side.RECTO else self.verso

    @property
    def flap_mm(self) -> float:
        """The leaf is as wide as its widest side: the wider of the two flaps, mm."""
        return max((page.flap_mm for page in (self.recto, self.verso) if page), default=0.0)

    @property
    def tab(self) -> Tab | None:
        """The tab, which both of its pages know."""
        return next((page.tab for page in (self.recto, self.verso) if page), None)


@dataclass(frozen=True)
class Period:
    """What is sold together: a name for files, a title for people, and its days, both included.

    Undated sets are made once, under a period named "undated" that has no days.
    """

    name: str
    title: str
    first: dt.date | None
    last: dt.date | None


@dataclass(frozen=True)
class Colours:
    """Another set of colours for the same drawings.

    ``change`` has pairs of a colour of the drawings and what stands for it (sRGB, 0 to 255); with
    ``greys`` all others become greys as light as they are.
    """

    name: str
    change: tuple[tuple[tuple[int, int, int], tuple[int, int, int]], ...] = ()
    greys: bool = False


@dataclass(frozen=True)
class Screen:
    """The screen that an edition is for: its shape, as two parts or ``in_mm``.

    With ``facing`` two facing pages are shown at once.
    """

    shape: tuple[float, float]
    in_mm: bool = False
    facing: bool = True


@dataclass(frozen=True)
class Press:
    """The printing press that an edition is for, and how its file is laid out.

    ``profile`` is an ICC profile of CMYK inks, ``ink_percent`` the most ink of all four together.
    ``spots`` are inks by their names with the colours of the drawings (sRGB) that are printed in
    them. Leaves lie one a page, with ``marks`` or without, or on press sheets of ``sheet_mm``.
    """

    profile: bytes
    profile_name: str
    ink_percent: float = 300.0
    spots: tuple[tuple[str, tuple[int, int, int]], ...] = ()
    marks: bool = False
    sheet_mm: tuple[float, float] | None = None
    unprintable_mm: float = 0.0
    bleed_mm: float = 3.0


@dataclass(frozen=True)
class SetPlan:
    """One product for one period, size and language: its spreads, and the leaves they make.

    ``bleed_mm`` is how far past every cut it is printed; ``drawn_bleed_mm`` what its collection's
    pages are drawn with, which a season may do without. ``colours`` are those it is made in, None
    as it is drawn; its name and title tell them too. ``sources`` names the data that feast days and
    the sky are taken from, with its version.
    """

    name: str
    title: str
    period: Period
    binder: Binder
    binding: Binding
    language: str
    spreads: tuple[Spread, ...]
    leaves: tuple[Leaf, ...]
    bleed_mm: float = 0.0
    drawn_bleed_mm: float = 0.0
    colours: Colours | None = None
    sources: str = ""
    holes_inside: bool = False
    """Whether faint dots within the leaves show where the holes are, besides the marks outside."""

    effect_dpi: float = EFFECT_DPI
    """How many pixels an inch pictures of filtered elements have."""

    screen: Screen | None = None
    """The screen it is made for besides paper, if any."""

    press: Press | None = None
    """The printing press it is made for besides paper, if any."""

    @property
    def entry(self) -> str:
        """The name of its entry in the season file, whatever its colours."""
        return self.name.removesuffix(f"-{self.colours.name}") if self.colours else self.name

    @property
    def drawn_bleeds_mm(self) -> tuple[float, ...]:
        """By how much a template's page may be larger than its leaf on all four sides, mm."""
        drawn = (self.bleed_mm, self.drawn_bleed_mm)
        return tuple(bleed for bleed in drawn if bleed and bleed >= self.bleed_mm)

    @property
    def pages(self) -> tuple[Page, ...]:
        """Every page in the order of the leaves, recto before verso, blanks left out."""
        return tuple(page for leaf in self.leaves for page in (leaf.recto, leaf.verso) if page)
