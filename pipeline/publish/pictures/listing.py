"""What can be said about a set to a buyer: its figures, the listing, and a text for each picture.

The figures are counted from ``contents.json`` alone; the words are in ``words/``.
"""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from babel.lists import format_list
from babel.numbers import format_decimal

from pipeline.base.geometry import MM_PER_INCH
from pipeline.impose.contents import Contents, read_contents
from pipeline.plan.languages import digits, parents
from pipeline.plan.model import Side
from pipeline.plan.sizes import bond_gsm, load_sizes
from pipeline.plan.words import Words, words_for

_WORDS = Path(__file__).parent / "words"
"""A file a language: translations need no code."""
_ELSE = "en"

LANGUAGES = ("en", "en-US", "de", "fr", "es", "pl", "el", "ar", "hi", "ja")
"""The languages there are words in."""

SHOWN = ("spread", "spread-shut", "spread-open", "fan", "close-up", "sheet", "sizes")
"""The kinds of still pictures. Sets with flaps have the second and third, others the first."""

MOVING = "flaps-opening"


@dataclass(frozen=True)
class ShopWords:
    """The words of one language, and its number formats. Get it from ``shop_words``."""

    language: str
    local: Words
    of: Mapping[str, Any]

    def say(self, part: str, key: str, **values: object) -> str:
        """A text with what is to be put in.

        >>> shop_words("en-GB").say("alt", "fan")
        'Pages of the set fanned out on a table.'
        """
        return str(self.of[part][key]).format(**values)

    def count(self, what: str, number: int) -> str:
        """So many of something, in the plural form the language wants (CLDR plural rules).

        >>> shop_words("en").count("leaves", 1), shop_words("pl").count("weeks", 4)
        ('1 leaf', '4 tygodnie')
        """
        forms = self.of["count"][what]
        form = forms.get(self.local.locale.plural_form(number), forms["other"])
        return str(form).format(n=self.local.number(number))

    def number(self, value: float, decimals: int = 0) -> str:
        """A number with at most so many decimals, in the language's figures.

        >>> shop_words("de").number(85.6, 1)
        '85,6'
        """
        pattern = "0." + "#" * decimals if decimals else "0"
        latin = format_decimal(value, pattern, self.local.locale, numbering_system="latn")
        figures = digits(self.local.figures)
        return latin.translate({ord("0") + n: figure for n, figure in enumerate(figures)})

    def size(self, width_mm: float, height_mm: float) -> str:
        """Width and height, in mm or, where people measure so, in inches.

        >>> shop_words("en").size(148, 210), shop_words("en-US").size(148, 210)
        ('148 × 210 mm', '5.83 × 8.27 in')
        """
        return str(self.of["unit"]["size"]).format(
            width=self._measured(width_mm), height=self._measured(height_mm)
        )

    def length(self, length_mm: float) -> str:
        """A length in mm or inches."""
        return str(self.of["unit"]["length"]).format(length=self._measured(length_mm))

    def _measured(self, length_mm: float) -> str:
        """To the tenth of a millimetre or the hundredth of an inch."""
        if self.of["unit"]["inches"]:
            return self.number(length_mm / MM_PER_INCH, 2)
        return self.number(length_mm, 1)

    def any_of(self, things: list[str]) -> str:
        """Things to choose from, joined as the language does (CLDR list patterns)."""
        return str(format_list(things, "or", self.local.locale))

    def all_of(self, things: list[str]) -> str:
        """Things that belong together."""
        return str(format_list(things, "standard", self.local.locale))


@lru_cache(maxsize=32)
def shop_words(language: str) -> ShopWords:
    """The words of a language, a CLDR locale; one that has none takes English.

    Raises ``UserError`` when CLDR does not know the language.
    """
    words: dict[str, Any] = {}
    for name in (*reversed(list(parents(language))), language):
        words = _merged(words, _read(name))
    if not words:
        return shop_words(_ELSE)
    return ShopWords(language, words_for(language), words)


def _read(name: str) -> dict[str, Any]:
    path = _WORDS / f"{name}.toml"
    return tomllib.loads(path.read_text("utf-8")) if path.is_file() else {}


def _merged(under: dict[str, Any], over: dict[str, Any]) -> dict[str, Any]:
    both = dict(under)
    for key, value in over.items():
        lower = both.get(key)
        both[key] = _merged(lower, value) if isinstance(lower, dict) else value
    return both


class Format(NamedTuple):
    """A binder size as buyers know it, in mm, and how many holes it has."""

    name: str
    title: str
    width_mm: float
    height_mm: float
    holes: int


class SetFacts(NamedTuple):
    """The figures of one set of one size on one paper.

    ``weeks`` are the first days of its weeks; ``flaps_mm`` the widths of its flaps, one for
    each leaf that has one. ``files`` are the kinds of files there are, such as "side-1".
    """

    title: str
    period: str
    language: str
    first: dt.date | None
    last: dt.date | None
    weeks: tuple[dt.date, ...]
    pages: int
    leaves: int
    flaps_mm: tuple[float, ...]
    spread_flaps: int
    format: Format
    paper: str
    sheets: int
    gsm: float
    files: tuple[str, ...]


def read_facts(set_folder: Path) -> SetFacts:
    """The figures of the imposed set in a folder.

    Raises ``UserError`` when the folder holds no whole ``contents.json``.
    """
    contents = read_contents(set_folder)
    files = tuple(Path(file.name).stem for file in contents.files)
    return facts_of(contents, contents.bench.gsm, files)


def facts_of(contents: Contents, gsm: float, files: tuple[str, ...] = ()) -> SetFacts:
    """The figures of a set whose contents have been read."""
    pages = [page for leaf in contents.leaves for page in (leaf.recto, leaf.verso) if page]
    days = sorted({day for page in pages for day in page.dates})
    weeks = sorted({page.dates[0] for page in pages if len(page.dates) == 7})
    flaps = tuple(
        leaf.flap_mm for leaf in contents.leaves if any(leaf.folds_over(face) for face in Side)
    )
    spread_flaps = max(
        (
            contents.leaves[first].folds_over(Side.VERSO)
            + contents.leaves[second].folds_over(Side.RECTO)
            for first, second in contents.spreads
        ),
        default=0,
    )
    return SetFacts(
        title=contents.set.title,
        period=contents.period.title,
        language=contents.language,
        first=days[0] if days else None,
        last=days[-1] if days else None,
        weeks=tuple(weeks),
        pages=len(pages),
        leaves=len(contents.leaves),
        flaps_mm=flaps,
        spread_flaps=spread_flaps,
        format=format_of(contents),
        paper=_title(contents.paper.name, paper=True),
        sheets=len(contents.sheets),
        gsm=gsm,
        files=files,
    )


def format_of(contents: Contents) -> Format:
    """The size of a set's binder."""
    binder = contents.binder
    return Format(
        binder.name,
        _title(binder.name),
        binder.width_mm,
        binder.height_mm,
        len(binder.holes.centres_mm),
    )


def _title(name: str, paper: bool = False) -> str:
    """What people call a size; one of a user's own has its name as its title."""
    sizes = load_sizes(None)
    known = sizes.papers if paper else sizes.binders
    return known[name].title if name in known else name.replace("-", " ").capitalize()


def alt_text(kind: str, facts: SetFacts, language: str, formats: Sequence[Format] = ()) -> str:
    """The text for a picture of a kind (one of ``SHOWN``, or ``MOVING``), in a language.

    ``formats`` are the sizes that "sizes" compares.
    """
    words = shop_words(language)
    days = _dates(facts, language)
    key = "dated" if days else "undated"
    head = words.say("alt", key, title=facts.title, range=days, size=facts.format.title)
    key = kind
    if kind in ("spread-shut", "spread-open", MOVING):
        key = f"{kind}-{max(1, facts.spread_flaps)}"
    sizes = words.all_of([_size_named(words, each) for each in formats or (facts.format,)])
    joint = "" if words.local.locale.language == "ja" else " "
    return head + joint + words.say("alt", key, paper=facts.paper, sizes=sizes)


def _size_named(words: ShopWords, size: Format) -> str:
    """A size by its name and its measures."""
    return f"{size.title} ({words.size(size.width_mm, size.height_mm)})"


def _dates(facts: SetFacts, language: str) -> str:
    """The days a set runs, as the language writes them; nothing for an undated one."""
    if facts.first is None or facts.last is None:
        return ""
    return words_for(language).interval(facts.first, facts.last, "yMMMMd")


def listing(editions: Sequence[SetFacts], language: str = "", included: Sequence[str] = ()) -> str:
    """The listing of a set in Markdown.

    ``editions`` are the facts of the same set in every size and on every paper it is sold for;
    ``language`` is that of the text, the pages' own if left out. ``included`` are the kinds of
    files the buyer gets, in order ("side-1", "feed-test", "directions", …), those of the set's
    folder if left out; a kind without words of its own appears as it is.

    Raises ``ValueError`` when there are no editions, or of two different sets.
    """
    if len({(each.title, each.first, each.last, each.leaves) for each in editions}) != 1:
        raise ValueError("a listing is for one set in its sizes and on its papers")
    facts = editions[0]
    words = shop_words(language or facts.language)
    sections = [
        _head(facts, words),
        _list(words, "facts", _facts(editions, words)),
        _list(words, "included", _files(editions, words, included)),
        _list(words, "needed", _tools(editions, words)),
        _list(words, "notes", [words.say("listing", key) for key in ("a-file", "real")]),
    ]
    return "\n\n".join(sections) + "\n"


def _head(facts: SetFacts, words: ShopWords) -> str:
    period = f"**{facts.period}**\n\n" if facts.first else ""
    lead = words.say("listing", "lead-flaps" if facts.flaps_mm else "lead")
    return f"# {facts.title}\n\n{period}{lead}"


def _list(words: ShopWords, heading: str, lines: Sequence[str]) -> str:
    head = f"## {words.say('listing', heading)}\n\n"
    return head + "\n".join(f"- {line}" for line in lines)


def _facts(editions: Sequence[SetFacts], words: ShopWords) -> list[str]:
    facts = editions[0]
    lines: list[tuple[str, str]] = []
    days = _dates(facts, words.language) or words.say("listing", "undated")
    if facts.weeks:
        days += f" ({words.count('weeks', len(facts.weeks))})"
    lines.append(("dates", days))
    pages, leaves = words.count("pages", facts.pages), words.count("leaves", facts.leaves)
    lines.append(("pages", words.say("listing", "pages-on", pages=pages, leaves=leaves)))
    if any(each.flaps_mm for each in editions):
        counts = list(dict.fromkeys(len(each.flaps_mm) for each in editions if each.flaps_mm))
        widths = sorted({width for each in editions for width in each.flaps_mm})
        flaps = words.any_of([words.count("flaps", count) for count in counts])
        width = words.any_of([words.length(each) for each in widths])
        lines.append(("flaps", words.say("listing", "flaps-wide", flaps=flaps, width=width)))
    called = words_for(facts.language).locale.get_display_name(words.local.locale)
    lines.append(("language", str(called)))
    for size in dict.fromkeys(each.format for each in editions):
        text = words.say(
            "listing",
            "size-with",
            title=size.title,
            measures=words.size(size.width_mm, size.height_mm),
            holes=words.count("holes", size.holes),
        )
        lines.append(("size", text))
    papers = list(dict.fromkeys(each.paper for each in editions))
    lines.append(("paper", words.any_of(papers)))
    several = len({each.format for each in editions}) > 1
    for size in dict.fromkeys(each.format for each in editions):
        sheets = [
            words.say("listing", "sheets-on", sheets=words.count("sheets", count), paper=paper)
            for count, paper in dict.fromkeys(
                (each.sheets, each.paper) for each in editions if each.format == size
            )
        ]
        either = words.any_of(sheets)
        lines.append(("sheets", f"{size.title}: {either}" if several else either))
    gsm, pounds = words.number(round(facts.gsm)), words.number(round(facts.gsm / bond_gsm(1)))
    lines.append(("stock", words.say("listing", "stock-weight", gsm=gsm, lb=pounds)))
    joint = "：" if words.local.locale.language == "ja" else ": "
    return [f"**{words.say('listing', key)}**{joint}{text}" for key, text in lines]


def _files(editions: Sequence[SetFacts], words: ShopWords, included: Sequence[str]) -> list[str]:
    kinds = included or list(dict.fromkeys(k for e in editions for k in e.files))
    known = words.of["file"]
    return [str(known.get(kind, kind)) for kind in kinds]


def _tools(editions: Sequence[SetFacts], words: ShopWords) -> list[str]:
    holes = list(dict.fromkeys(each.format.holes for each in editions))
    punched = words.any_of([words.count("holes", number) for number in holes])
    tools = [words.say("listing", "printer"), words.say("listing", "cutter")]
    tools.append(words.say("listing", "punch", holes=punched))
    if any(each.flaps_mm for each in editions):
        tools.append(words.say("listing", "folder"))
    return [*tools, words.say("listing", "blades")]
