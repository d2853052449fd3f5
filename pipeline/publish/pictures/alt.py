"""What a picture shows, in words: for those who do not see it."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.plan.words import words_for
from pipeline.publish.pictures.facts import Format, SetFacts
from pipeline.publish.pictures.words import ShopWords, shop_words

SHOWN = ("spread", "spread-shut", "spread-open", "fan", "close-up", "sheet", "sizes")
"""The kinds of still pictures. Sets with flaps have the second and third, others the first."""

MOVING = "flaps-opening"


def alt_text(kind: str, facts: SetFacts, language: str, formats: Sequence[Format] = ()) -> str:
    """The text for a picture of a kind (one of ``SHOWN``, or ``MOVING``), in a language.

    ``formats`` are the sizes that "sizes" compares.
    """
    words = shop_words(language)
    size = facts.format.title
    if facts.first is None or facts.last is None:
        head = words.say("alt", "undated", title=facts.title, size=size)
    else:
        head = words.say("alt", "dated", title=facts.title, range=dates(facts, language), size=size)
    key = kind
    if kind in ("spread-shut", "spread-open", MOVING):
        key = f"{kind}-{max(1, facts.spread_flaps)}"
    sizes = words.all_of([named(words, each) for each in formats or (facts.format,)])
    joint = "" if words.local.locale.language == "ja" else " "
    return head + joint + words.say("alt", key, paper=facts.paper, sizes=sizes)


def named(words: ShopWords, size: Format) -> str:
    """A size by its name and its measures."""
    return f"{size.title} ({words.size(size.width_mm, size.height_mm)})"


def dates(facts: SetFacts, language: str) -> str:
    """The days a set runs, as the language writes them; nothing for an undated one."""
    if facts.first is None or facts.last is None:
        return ""
    return words_for(language).interval(facts.first, facts.last, "yMMMMd")
