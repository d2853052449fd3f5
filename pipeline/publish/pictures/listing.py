"""The text of a shop's listing, from the figures of the finished files."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.plan.sizes import bond_gsm
from pipeline.plan.words import words_for
from pipeline.publish.pictures.alt import dates
from pipeline.publish.pictures.facts import SetFacts
from pipeline.publish.pictures.words import ShopWords, shop_words


def listing(editions: Sequence[SetFacts], language: str = "", included: Sequence[str] = ()) -> str:
    """The listing of a set in Markdown.

    ``editions`` are the facts of the same set in every size and on every paper it is sold for;
    ``language`` is that of the text, the pages' own if left out. ``included`` are the kinds of
    files the buyer gets, in order ("side-1", "feed-test", "directions", …), those of the set's
    folder if left out; a kind there are no words for stands as it is.

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
    if facts.first is None:
        lines.append(("dates", words.say("listing", "undated")))
    else:
        text = dates(facts, words.language)
        weeks = words.count("weeks", len(facts.weeks)) if facts.weeks else ""
        lines.append(("dates", f"{text} ({weeks})" if weeks else text))
    pages, leaves = words.count("pages", facts.pages), words.count("leaves", facts.leaves)
    lines.append(("pages", words.say("listing", "pages-on", pages=pages, leaves=leaves)))
    if any(each.flaps_mm for each in editions):
        counts = list(dict.fromkeys(len(each.flaps_mm) for each in editions if each.flaps_mm))
        widths = sorted({width for each in editions for width in each.flaps_mm})
        flaps = words.any_of([words.count("flaps", count) for count in counts])
        width = words.any_of([words.length(each) for each in widths])
        lines.append(("flaps", words.say("listing", "flaps-wide", flaps=flaps, width=width)))
    tongue = words_for(facts.language).locale.get_display_name(words.local.locale)
    lines.append(("language", str(tongue)))
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
    pounds = facts.gsm / bond_gsm(1)
    weight = words.say(
        "listing",
        "stock-weight",
        gsm=words.number(round(facts.gsm)),
        lb=words.number(round(pounds)),
    )
    lines.append(("stock", weight))
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
