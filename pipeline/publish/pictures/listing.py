"""What can be said about a set to a buyer: its figures, the listing, and a text for each picture.

The figures are counted from ``contents.json`` alone; the words are in ``words/``.
"""

from __future__ import annotations

import datetime as dt
import functools
import sys
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from pipeline.base.geometry import MM_PER_INCH
from pipeline.impose.contents import Contents, read_contents
from pipeline.plan.model import Binder, Paper, Side
from pipeline.plan.season import Publish
from pipeline.plan.sizes import bond_gsm, load_sizes
from pipeline.plan.words import Phrases, words_for
from pipeline.publish.htmlpages import page_templates

LANGUAGES = ("en", "en-US", "de", "fr", "es", "pl", "el", "ar", "hi", "ja")
"""The languages there are words in."""

SHOWN = ("title-card", "spread", "spread-shut", "spread-open", "fan", "close-up", "sheet", "sizes")
"""The kinds of still pictures. Sets with flaps have the open spread, and the shut one too if their
flaps' outsides are drawn; others have the plain one."""

MOVING = "flaps-opening"


class ShopWords(Phrases):
    """The phrases of pictures and listings. Get it from ``shop_words``.

    >>> shop_words("en-GB").say("alt", "fan")
    'Pages of the set fanned out on a table.'
    >>> shop_words("en").count("leaves", 1), shop_words("pl").count("weeks", 4)
    ('1 leaf', '4 tygodnie')
    """

    def count(self, what: str, number: int) -> str:
        """So many of something, in the plural form the language wants (CLDR plural rules)."""
        return self.say("count", what, n=number)

    def size(self, width_mm: float, height_mm: float) -> str:
        """Width and height, in mm or, where people measure so, in inches.

        >>> shop_words("en").size(148, 210), shop_words("en-US").size(148, 210)
        ('148 × 210 mm', '5.83 × 8.27 in')
        """
        width, height = self._measured(width_mm), self._measured(height_mm)
        return self.say("unit", "size", width=width, height=height)

    def in_both(self, width_mm: float, height_mm: float) -> tuple[str, str]:
        """Width and height in both, first as people measure.

        >>> shop_words("en").in_both(148, 210)
        ('148 × 210 mm', '5.83 × 8.27 in')
        """
        width, height = (self._measured(each, other=True) for each in (width_mm, height_mm))
        other = self.say("unit", "other-size", width=width, height=height)
        return self.size(width_mm, height_mm), other

    def length(self, length_mm: float) -> str:
        """A length in mm or inches."""
        return self.say("unit", "length", length=self._measured(length_mm))

    def _measured(self, length_mm: float, *, other: bool = False) -> str:
        """To the tenth of a millimetre or the hundredth of an inch."""
        if bool(self.of["unit"]["inches"]) is not other:
            return self.local.number(length_mm / MM_PER_INCH, 2)
        return self.local.number(length_mm, 1)

    def any_of(self, things: Sequence[str]) -> str:
        """Things to choose from."""
        return self.local.listed(things, "or")


@functools.lru_cache(maxsize=32)
def shop_words(language: str) -> ShopWords:
    """The words of a language, a CLDR locale; one that has none takes English.

    Raises ``UserError`` when CLDR does not know the language.
    """
    return ShopWords.read(Path(__file__).parent / "words", language)


class Format(NamedTuple):
    """A binder size as buyers know it, in mm, and how many holes it has."""

    title: str
    width_mm: float
    height_mm: float
    holes: int


class SetFacts(NamedTuple):
    """The figures of one set of one size on one paper.

    ``weeks`` are the first days of its weeks; ``flaps_mm`` the widths of its flaps, one for
    each leaf that has one. ``files`` are the kinds of files there are, such as "side-1".
    """

    contents: Contents
    days: tuple[dt.date, ...]
    weeks: tuple[dt.date, ...]
    pages: int
    flaps_mm: tuple[float, ...]
    spread_flaps: int
    format: Format
    paper: str
    files: tuple[str, ...]

    @property
    def title(self) -> str:
        """What the set is called."""
        return self.contents.set.title

    @property
    def leaves(self) -> int:
        """How many leaves it has."""
        return len(self.contents.leaves)

    @property
    def sheets(self) -> int:
        """How many sheets it is printed on."""
        return len(self.contents.sheets)


def read_facts(set_folder: Path) -> SetFacts:
    """The figures of the imposed set in a folder.

    Raises ``UserError`` when the folder holds no whole ``contents.json``.
    """
    return facts_of(read_contents(set_folder))


def facts_of(contents: Contents) -> SetFacts:
    """The figures of a set whose contents have been read."""
    leaves = contents.leaves
    pages = [page for leaf in leaves for page in (leaf.recto, leaf.verso) if page]
    flaps = [
        leaves[first].folds_over(Side.VERSO) + leaves[second].folds_over(Side.RECTO)
        for first, second in contents.spreads
    ]
    paper = contents.paper.name
    return SetFacts(
        contents,
        days=tuple(sorted({day for page in pages for day in page.dates})),
        weeks=tuple(sorted({page.dates[0] for page in pages if len(page.dates) == 7})),
        pages=len(pages),
        flaps_mm=tuple(
            leaf.flap_mm for leaf in leaves if any(leaf.folds_over(face) for face in Side)
        ),
        spread_flaps=max(flaps, default=0),
        format=format_of(contents),
        paper=_title(paper, load_sizes(None).papers),
        files=tuple(Path(file.name).stem for file in contents.files),
    )


def format_of(contents: Contents) -> Format:
    """The size of a set's binder."""
    binder = contents.binder
    title = _title(binder.name, load_sizes(None).binders)
    return Format(title, binder.width_mm, binder.height_mm, len(binder.holes.centres_mm))


def _title(name: str, known: Mapping[str, Binder] | Mapping[str, Paper]) -> str:
    """What people call a size; one of a user's own has its name as its title."""
    return known[name].title if name in known else name.replace("-", " ").capitalize()


def alt_text(
    kind: str, facts: SetFacts, language: str, formats: Sequence[Format] = (), page: str = ""
) -> str:
    """The text for a picture of a kind (one of ``SHOWN``, or ``MOVING``), in a language: what is
    seen, then which set it is, of which days and size.

    ``formats`` are the sizes that "sizes" compares, ``page`` is what the page is called that a
    close-up shows.
    """
    words = shop_words(language)
    days = _dates(facts, language)
    key = "dated" if days else "undated"
    head = words.say("alt", key, title=facts.title, range=days, size=facts.format.title)
    if kind in ("spread-shut", "spread-open", MOVING):
        kind = f"{kind}-{max(1, facts.spread_flaps)}"
    sizes = words.local.listed(
        [
            f"{size.title} ({words.size(size.width_mm, size.height_mm)})"
            for size in formats or (facts.format,)
        ]
    )
    seen = words.say("alt", kind, paper=facts.paper, sizes=sizes)
    if page:
        seen = f"{page[:1].upper()}{page[1:]} – {seen[:1].lower()}{seen[1:]}"
    joint = "" if words.local.locale.language == "ja" else " "
    return f"{seen}{joint}{head}"


def _dates(facts: SetFacts, language: str) -> str:
    """The days a set runs, as the language writes them; nothing for an undated one."""
    days = facts.days
    return words_for(language).interval(days[0], days[-1], "yMMMMd") if days else ""


class ListingLine(NamedTuple):
    """A line of a listing; ``label`` says what it is about, and may be empty."""

    label: str
    text: str


class Listing(NamedTuple):
    """What a listing says, once for all the forms a shop may take it in."""

    title: str
    """What it is and when for, then the set's own title, as far as a shop has room."""
    period: str
    """When it is for, unless the title says it."""
    lead: str
    sections: Mapping[str, Sequence[ListingLine]]
    words: ShopWords
    tags: Sequence[str] = ()
    """Short words that buyers look for, what most of them look for first."""

    def markdown(self) -> str:
        """The listing in Markdown."""
        return self._written("# {}", "**{}**", "## {}", "- {}", "**{}**{}{}")

    def plain_text(self) -> str:
        """The listing for shops that take bare text."""
        return self._written("{}", "{}", "{}", "• {}", "{}{}{}")

    def html(self) -> str:
        """The listing as a piece of HTML, without a head, to go into a shop's page."""
        return page_templates().get_template("listing.html").render(listing=self)

    @property
    def joint(self) -> str:
        """What stands between a label and its text."""
        return "：" if self.words.local.locale.language == "ja" else ": "

    def _written(self, title: str, period: str, heading: str, item: str, labelled: str) -> str:
        blocks = [title.format(self.title)]
        if self.period:
            blocks.append(period.format(self.period))
        blocks.append(self.lead)
        for head, lines in self.sections.items():
            said = [
                labelled.format(line.label, self.joint, line.text) if line.label else line.text
                for line in lines
            ]
            blocks += [heading.format(head), "\n".join(item.format(line) for line in said)]
        return "\n\n".join(blocks) + "\n"


def listing(
    editions: Sequence[SetFacts],
    language: str = "",
    included: Sequence[str] = (),
    lead: str = "",
    theme: str = "",
    limits: Publish | None = None,
    *,
    written: bool = False,
) -> Listing:
    """The listing of a set.

    ``editions`` are the facts of the same set in every size and on every paper it is sold for;
    ``language`` is that of the text, the pages' own if left out. ``included`` are the kinds of
    files the buyer gets, in order ("side-1", "feed-test", "directions", …), those of the set's
    folder if left out; a kind without words of its own appears as it is. ``lead`` is the maker's
    own first sentence; left out, it says when the set is for. ``theme`` is what the collection is
    called. Parts of the title and tags are left out where the ``limits`` have no room for them.
    ``written`` says that somebody has written on pages in the pictures.

    Raises ``ValueError`` when there are no editions, or of two different sets.
    """
    if len({(each.title, each.days[:1], each.days[-1:], each.leaves) for each in editions}) != 1:
        raise ValueError("a listing is for one set in its sizes and on its papers")
    facts, limits = editions[0], limits or Publish()
    words = shop_words(language or facts.contents.language)
    say = functools.partial(words.say, "listing")
    kinds = included or list(dict.fromkeys(kind for each in editions for kind in each.files))
    holes = list(dict.fromkeys(each.format.holes for each in editions))
    punched = words.any_of([words.count("holes", number) for number in holes])
    folder = ["folder"] if any(each.flaps_mm for each in editions) else []
    needed = [say(key, holes=punched) for key in ("printer", "cutter", "punch", *folder)]
    real = say("real-written" if written else "real")
    lists = {
        "included": [str(words.of["file"].get(kind, kind)) for kind in kinds],
        "needed": needed,
        "notes": [say("a-file"), real],
    }
    told = _facts(editions, words)
    printed_out = is_printed(kinds)
    if not printed_out:
        lists = {"included": lists["included"], "notes": [real]}
        printed = {say(key) for key in ("paper", "sheets", "stock")}
        told = [line for line in told if line.label not in printed]
    sections = {say("facts"): told}
    for heading, lines in lists.items():
        sections[say(heading)] = [ListingLine("", line) for line in lines]
    days = _dates(facts, words.language)
    first = lead or say("lead-dated" if days else "lead-undated", range=days)
    joint = "" if words.local.locale.language == "ja" else " "
    made = say("lead-flaps" if facts.flaps_mm else "lead")
    period = facts.contents.period.title if facts.days else ""
    what = say("title" if printed_out else "title-screen", size=facts.format.title)
    title = _title_of([what, period, facts.title, theme], limits.title_letters)
    longest = limits.tag_letters or sys.maxsize
    tags = [tag for tag in _tags(editions, words, theme, printed_out) if len(tag) <= longest]
    tags = tags[: limits.tags]
    untold = "" if period in title else period
    told_first = joint.join([first, made, *([say("blades")] if printed_out else [])])
    return Listing(title, untold, told_first, sections, words, tags)


def is_printed(kinds: Iterable[str]) -> bool:
    """Whether buyers print anything, by the kinds of files they get."""
    return not {"side-1", "both-sides"}.isdisjoint(kinds)


def _title_of(parts: Sequence[str], most: int | None) -> str:
    """The parts of a title, the last left out that make it too long or say nothing new.

    >>> _title_of(["A5 inserts", "March 2027", "Running weeks", "Garden"], 39)
    'A5 inserts · March 2027 · Running weeks'
    >>> _title_of(["A5 inserts", "", "Kitchen garden weeks", "Kitchen garden"], None)
    'A5 inserts · Kitchen garden weeks'
    """
    title = parts[0]
    for part in parts[1:]:
        if not part or part.casefold() in title.casefold():
            continue
        longer = f"{title} · {part}"
        if most is not None and len(longer) > most:
            break
        title = longer
    return title


def _tags(
    editions: Sequence[SetFacts], words: ShopWords, theme: str, printed_out: bool
) -> Sequence[str]:
    """What a shop's search may be asked for, what most ask for first. Measures and counts, which
    nobody looks for, stand in the listing's facts."""
    facts = editions[0]
    spoken = words_for(facts.contents.language).locale
    said = words.of["tags"]
    what, *more = said["printed" if printed_out else "screen"]
    year = str(facts.days[-1].year) if facts.days else ""
    tags = [
        words.put_in(what, {"size": facts.format.title}),
        more[0],
        *([words.put_in(said["themed"], {"theme": theme, "year": year}).strip()] if theme else []),
        *([said["weeks"]] if facts.weeks else []),
        *([facts.contents.period.title] if facts.days else []),
        *more[1:],
        *([said["flaps"]] if facts.flaps_mm else []),
        said["dated" if facts.days else "undated"],
        str(words.local.locale.languages.get(spoken.language, spoken.language)),
    ]
    return tuple(dict.fromkeys(tags))


def _facts(editions: Sequence[SetFacts], words: ShopWords) -> list[ListingLine]:
    facts = editions[0]
    say = functools.partial(words.say, "listing")
    days = _dates(facts, words.language) or say("undated")
    if facts.weeks:
        days += f" ({words.count('weeks', len(facts.weeks))})"
    lines = [("dates", days)]
    pages, leaves = words.count("pages", facts.pages), words.count("leaves", facts.leaves)
    lines.append(("pages", say("pages-on", pages=pages, leaves=leaves)))
    if any(each.flaps_mm for each in editions):
        counts = list(dict.fromkeys(len(each.flaps_mm) for each in editions if each.flaps_mm))
        widths = sorted({width for each in editions for width in each.flaps_mm})
        flaps = words.any_of([words.count("flaps", count) for count in counts])
        width = words.any_of([words.length(each) for each in widths])
        lines.append(("flaps", say("flaps-wide", flaps=flaps, width=width)))
    spoken = words_for(facts.contents.language).locale
    lines.append(("language", str(spoken.get_display_name(words.local.locale))))
    formats = list(dict.fromkeys(each.format for each in editions))
    for size in formats:
        measures = words.size(size.width_mm, size.height_mm)
        holes = words.count("holes", size.holes)
        lines.append(("size", say("size-with", title=size.title, measures=measures, holes=holes)))
    lines.append(("paper", words.any_of(list(dict.fromkeys(each.paper for each in editions)))))
    for size in formats:
        here = dict.fromkeys((each.sheets, each.paper) for each in editions if each.format == size)
        sheets = [
            say("sheets-on", sheets=words.count("sheets", count), paper=paper)
            for count, paper in here
        ]
        either = words.any_of(sheets)
        lines.append(("sheets", f"{size.title}: {either}" if len(formats) > 1 else either))
    number, gsm = words.local.number, facts.contents.bench.gsm
    lines.append(("stock", say("stock-weight", gsm=number(gsm), lb=number(gsm / bond_gsm(1)))))
    return [ListingLine(say(key), text) for key, text in lines]
