"""What pages say beside their dates: labels in the right language, and texts no key asked for.

An editor that ungroups, renames or copies may take an id off a text. What stands there then is the
sample, on every page and in every language. Names and the ways to write days are those of CLDR;
only a whole text counts as the calendar's own, so a seed called "May Queen" isn't a month.
"""

from __future__ import annotations

import datetime as dt
import itertools
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from pipeline.base.geometry import Rect
from pipeline.plan.languages import root_of
from pipeline.plan.words import Words, words_for
from pipeline.proof.findings.dated import is_dated
from pipeline.proof.findings.days import is_day_key
from pipeline.proof.findings.reading import FaceRead, says, says_just, spelling
from pipeline.proof.findings.subject import SetFinding, Slot, Subject
from pipeline.proof.read.text import LeafText

_SHORTEST = 3
"""An abbreviated name of fewer letters may be any word: "So", "Mo", "di"."""
_FIGURES = re.compile(r"\d+")
_BETWEEN = re.compile(r"[\s.,/–—-]+")


class About(StrEnum):
    """What of the calendar a text names."""

    WEEKDAY = "weekday"
    MONTH = "month"
    DAYS = "days"
    WEEK = "week"


class Said(NamedTuple):
    """What a text says in some language.

    ``number`` is the weekday (0 = Monday), the month (1 to 12) or the week; for days it is 0.
    ``short`` tells that a name is abbreviated and nothing stands beside it: it may be a word.
    """

    about: About
    number: int
    language: str
    short: bool = False


def calendar_words(text: str, languages: Iterable[str], weeks: Iterable[str] = ()) -> list[Said]:
    """What a whole text may say of the calendar, language by language; empty for most texts.

    ``weeks`` are words for "week" beyond CLDR's. Abbreviated names are known only in the first
    language and in English: in others they may be words of the first ("set", "out", "man").
    So are single days with such a name.

    >>> [(said.about.value, said.number) for said in calendar_words("Monday 1", ["de", "en"])]
    [('weekday', 0)]
    >>> [said.about.value for said in calendar_words("29 Mar – 4 Apr", ["en"])]
    ['days']
    >>> calendar_words("May Queen", ["en"]), calendar_words("Mo", ["de"])
    ([], [])
    """
    plain, figures = _plain(text), [int(figure) for figure in _FIGURES.findall(text)]
    if not plain:
        return []
    found: list[Said] = []
    for place, language in enumerate(languages):
        names = _names(language)
        for form in names.of.get(plain, ()):
            if form.counted and not figures:
                continue
            if form.short and place and language != "en":
                continue
            number = form.number or (figures[0] if form.about is About.MONTH else 0)
            found.append(Said(form.about, number, language, form.short and not figures))
        known = names.dates if place and language != "en" and len(figures) < 2 else names.days
        if figures and any(rest in known for rest in (plain, *names.without_weekday(plain))):
            found.append(Said(About.DAYS, 0, language))
        a_week = len(figures) == 1 and 1 <= figures[0] <= 53 and text.strip()[-1].isdigit()
        if a_week and (plain in names.weeks or plain in map(_plain, weeks)):
            found.append(Said(About.WEEK, figures[0], language))
    if max(figures, default=99) <= 31:
        found.sort(key=lambda said: said.about is not About.DAYS)  # "1 March" is more than a month
    return found


class _Form(NamedTuple):
    """A name: what it is of, its number, whether it is abbreviated, whether a figure is in it."""

    about: About
    number: int
    short: bool
    counted: bool


class _Names(NamedTuple):
    """What a language calls days and months, how it writes days, and its words for a week.

    ``dates`` are those of ``days`` that say months in full.
    """

    of: Mapping[str, tuple[_Form, ...]]
    dates: frozenset[str]
    days: frozenset[str]
    weeks: frozenset[str]

    def without_weekday(self, plain: str) -> Iterator[str]:
        """A text that begins or ends with a weekday, without that."""
        first, _, after = plain.partition(" ")
        before, _, last = plain.rpartition(" ")
        for name, rest in ((first, after), (last, before)):
            if any(form.about is About.WEEKDAY for form in self.of.get(name, ())):
                yield rest


@lru_cache(maxsize=64)
def _names(language: str) -> _Names:
    words = words_for(language)
    found: dict[str, dict[_Form, None]] = {}
    for about, number, width, name in _every_name(words):
        plain = _plain(name)
        letters = sum(sign.isalpha() for sign in plain)
        short = width != "wide"
        if letters < (_SHORTEST if short else 1):
            continue
        counted = bool(_FIGURES.search(name))
        if not counted and len(name) < 2:
            continue
        form = _Form(about, 0 if counted else number, short, counted)
        # What is as long as the whole name is the whole name.
        if not (short and form._replace(short=False) in found.get(plain, {})):
            found.setdefault(plain, {})[form] = None
    dates = frozenset(map(_plain, _every_date(words, "MMMMd")))
    return _Names(
        {plain: tuple(forms) for plain, forms in found.items()},
        dates,
        dates.union(map(_plain, _every_date(words, "MMMd"))),
        frozenset(plain for plain in map(_plain, _weeks(words)) if len(plain) > 1),
    )


def _every_name(words: Words) -> Iterator[tuple[About, int, str, str]]:
    locale = words.locale
    for width, form in itertools.product(("wide", "abbreviated"), ("stand-alone", "format")):
        for number, name in locale.days[form][width].items():
            yield About.WEEKDAY, int(number), width, str(name)
        for number, name in locale.months[form][width].items():
            yield About.MONTH, int(number), width, str(name)


def _every_date(words: Words, width: str) -> Iterator[str]:
    """Days, and days to days up to two months on, as pages say them."""
    for month in range(1, 13):
        first = dt.date(2027, month, 3)
        ends = [first + dt.timedelta(days=n) for n in (6, 31, 62)]
        for skeleton in (width, f"y{width}"):
            yield words.date(first, skeleton)
            yield from (words.interval(first, end, skeleton) for end in ends)


def _weeks(words: Words) -> Iterator[str]:
    """CLDR's words for one week, from its units of time."""
    locale = words.locale
    patterns = locale.data["unit_patterns"].get("duration-week", {})
    for width in ("long", "short"):
        found = patterns.get(width, {})
        for plural in ("one", "other"):
            if plural in found:
                yield str(found[plural]).replace("{0}", "")
    yield from map(str, dict(locale.unit_display_names.get("duration-week", {})).values())


def _plain(text: str) -> str:
    """A text without its figures and what stands between them.

    >>> _plain("29 Mar. – 4 Apr."), _plain("12")
    ('mar apr', '')
    """
    return " ".join(_BETWEEN.sub(" ", _FIGURES.sub(" ", text.casefold())).split())


_LONG = 8
"""A label of so many letters that two languages spell alike was hardly meant for both."""


def label_findings(face: FaceRead) -> Iterator[SetFinding]:
    """What is wrong with the labels of a face."""
    for slot in face.slots.texts:
        if not is_dated(slot.key):
            yield from _label(face, slot)


def _label(face: FaceRead, slot: Slot) -> Iterator[SetFinding]:
    forms = face.forms[slot.key]
    found = face.said_at(slot)
    name = slot.key.removeprefix("label-")
    if forms == ("",):
        return
    if says(found, forms):
        other = _borrowed(face.subject, name, forms)
        if other and slot.key.startswith("label-"):
            yield face.finding(
                "label-language", f"'{forms[0]}' ({name}) is the same as in '{other}'", slot.area
            )
        return
    said = " ".join(text.text for text in found)
    if not found:
        code, what = "label-missing", f"'{forms[0]}' ({slot.key}) is missing"
    elif says_just(found, (slot.sample,)):
        code, what = "placeholder-left", f"'{said}' is still the template's sample for {slot.key}"
    elif other := _foreign_label(face.subject, found):
        code, what = "label-language", f"'{said}' ({name}) is a label of '{other}'"
    else:
        code, what = "label-missing", f"'{said}' stands where '{forms[0]}' ({slot.key}) belongs"
    yield face.finding(code, what, slot.area)


def _own_labels(subject: Subject) -> Mapping[str, tuple[str, ...]]:
    """The labels of the set's own language, its title and its period's name among them."""
    own = {
        key.removeprefix("label-"): forms
        for page in subject.plan.pages[:1]
        for key, forms in page.facts.texts.items()
        if key.startswith("label-") or key in ("set-title", "period-name")
    }
    return {**subject.labels.get(subject.root, {}), **own}


def _foreign_label(subject: Subject, found: list[LeafText]) -> str | None:
    """The language whose label this is, when it is none of the set's own."""
    own = _own_labels(subject)
    if any(says_just(found, forms) for forms in own.values()):
        return None
    return next(
        (
            language
            for language, labels in subject.foreign_labels.items()
            for forms in labels.values()
            if len(forms[0]) > 1 and says_just(found, forms)
        ),
        None,
    )


def _borrowed(subject: Subject, name: str, forms: tuple[str, ...]) -> str | None:
    """The language a label was taken over from: alike in both, and too long for chance."""
    own = spelling(forms[0])
    if len(own.letters) < _LONG or " " not in forms[0].strip():
        return None
    return next(
        (
            language
            for language, labels in subject.foreign_labels.items()
            if name in labels and spelling(labels[name][0]) == own
        ),
        None,
    )


_KEYLIKE = re.compile(
    r"(?:day|date|month|week|label|period|set|year)\d*-[a-z][a-z-]*|[{<\[]{1,2}[\w -]+[}>\]]{1,2}"
    r"|\b(?:lorem|ipsum|placeholder|sample text|todo|xxx+)\b",
    re.IGNORECASE,
)
_WORKDAYS = 5
"""So many different weekdays on a page without days are the heads of a chart."""


def leftover_findings(face: FaceRead) -> Iterator[SetFinding]:
    """What is wrong with texts that are fixed in the template."""
    of_the_calendar: list[_Fixed] = []
    for text, rest in _leftovers(face):
        said = _said(face.subject, rest)
        if _KEYLIKE.search(rest):
            message = f"'{text.text}' is fixed in the template"
            yield face.finding("placeholder-left", message, text.box)
        elif said:
            of_the_calendar.append(_Fixed(rest, text.box, said))
        elif other := _foreign_label(face.subject, [text]):
            message = f"'{text.text}' is a label of '{other}'"
            yield face.finding("label-language", message, text.box)
    yield from _calendar_findings(face, of_the_calendar)


def _leftovers(face: FaceRead) -> Iterator[tuple[LeafText, str]]:
    """Texts of a face that no place of its template accounts for, and what is left of each.

    A text is accounted for where it is all or part of what a key says. Where a key says something
    else, that is a finding about the key, and its text gives no second one.
    """
    accounted = {id(text) for slot in face.slots.grids for text in face.said_in(slot.area)}
    open_slots: list[tuple[Slot, tuple[str, ...]]] = []
    for slot in face.slots.texts:
        forms = face.forms[slot.key]
        found = face.said_at(slot)
        if not says(found, forms) and not says(face.said_over(slot.area), forms):
            accounted |= {id(text) for text in found}
        elif not face.is_claimed(slot):
            open_slots.append((slot, forms))
    for text in face.texts:
        if id(text) in accounted or face.claimed_by(text) is not None:
            continue
        rest = text.text
        for slot, forms in open_slots:
            if slot.area.overlaps(text.box):
                rest = _without(rest, forms)
        if rest:
            yield text, rest


def _without(text: str, forms: Sequence[str]) -> str:
    """What is left of a text when a form, or the part of one that it is, is taken out.

    >>> _without("Monday 1", ("1",)), _without("Mar 4", ("29 March – 4 April",))
    ('Monday', '')
    """
    own = spelling(text)
    for form in forms:
        whole = spelling(form)
        if whole.empty:
            continue
        if own.within(whole):
            return ""
        if whole.within(own):
            cut = re.sub(rf"(?<!\w){re.escape(form)}(?!\w)", " ", text, count=1, flags=re.I)
            # Where it is there but in another order or script, nothing can be said of the rest.
            return " ".join(cut.split()) if cut != text else ""
    return text


class _Fixed(NamedTuple):
    """A text of the calendar that is fixed in a template: what it says, language by language."""

    text: str
    box: Rect
    said: list[Said]

    @property
    def first(self) -> Said:
        return self.said[0]


def _said(subject: Subject, text: str) -> list[Said]:
    """What a fixed text says of the calendar, its own language first; no label of the maker's."""
    own = spelling(text)
    if any(own == spelling(form) for forms in _own_labels(subject).values() for form in forms):
        return []
    weeks = [form for labels in subject.labels.values() for form in labels.get("week", ())]
    return calendar_words(text, subject.languages, weeks)


def _calendar_findings(face: FaceRead, fixed: Sequence[_Fixed]) -> Iterator[SetFinding]:
    charts = _charts(face, fixed)
    for one in fixed:
        own = any(root_of(said.language) == face.subject.root for said in one.said)
        key = None if one.first.about in charts else _key(face, one)
        if key is None:
            if not own and not one.first.short:
                message = f"'{one.text}' is fixed in the template, in '{one.first.language}'"
                yield face.finding("label-language", message, one.box)
        elif not _may_stay(face, one):
            yield face.finding(
                "placeholder-left",
                f"'{one.text}' is fixed in the template",
                one.box,
                f"give the text its key back as id, e.g. '{key}', or take it out of the template",
            )


def _charts(face: FaceRead, fixed: Sequence[_Fixed]) -> set[About]:
    """What a page shows as the heads of a chart: a row of all months, of weekdays, of weeks."""

    def numbers(about: About) -> set[int]:
        return {said.number for one in fixed for said in one.said if said.about is about}

    charts = set()
    if len(numbers(About.MONTH)) == 12:
        charts.add(About.MONTH)
    if len(numbers(About.WEEKDAY)) >= _WORKDAYS and not _shows_days(face):
        charts.add(About.WEEKDAY)
    if len(numbers(About.WEEK)) > 1:
        charts.add(About.WEEK)
    return charts


def _shows_days(face: FaceRead) -> bool:
    return any(is_day_key(slot.key) for slot in face.slots.texts)


def _may_stay(face: FaceRead, one: _Fixed) -> bool:
    """Whether a fixed text may be meant: it is right for its page, or may be an ordinary word."""
    assert face.page is not None
    about, facts = one.first.about, face.page.facts
    if one.first.short:
        # "Sun" and "Mar" are words, too: they are names on pages that show such names.
        shown = _shows_days(face) if about is About.WEEKDAY else _shows_dates(face)
        if not shown:
            return True
    if about is About.WEEKDAY:
        return False  # right or not, the next page's may be another
    if about is About.WEEK:
        number = spelling(facts.texts.get("week-number", ("",))[0]).numbers
        return [*map(int, number)] == [one.first.number]
    own = spelling(one.text)
    dated = [forms for key, forms in facts.texts.items() if is_dated(key)]
    right = any(own == spelling(form) for forms in dated for form in forms)
    if about is About.MONTH:
        return right and facts.kind == "once"
    return right or (facts.kind != "week" and len(own.numbers) < 2)


def _shows_dates(face: FaceRead) -> bool:
    return any(is_dated(slot.key) for slot in face.slots.texts)


def _key(face: FaceRead, one: _Fixed) -> str | None:
    """The key that a text most likely had: one that its page can hold and does not.

    None where no page of its kind has such a key.
    """
    assert face.page is not None
    facts = face.page.facts
    here = {slot.key for slot in face.slots.texts}
    said = one.first
    one_day = len(spelling(one.text).numbers) == 1
    first: dict[About, tuple[str, ...]] = {
        About.WEEKDAY: tuple(
            f"{family}{number}-name"
            for family in ("day", "date")
            for number in (
                *(n for n, day in enumerate(facts.dates, 1) if day.weekday() == said.number),
                *range(1, len(facts.dates) + 1),
            )
        ),
        About.MONTH: ("month-name", *(f"month{number}-name" for number in range(1, 13))),
        About.DAYS: (
            *(f"day{number}-date" for number in range(1, 8) if one_day),
            "week-range",
            "period-range",
        ),
        About.WEEK: ("week-number",),
    }
    keys = [key for key in first[said.about] if key in facts.texts]
    return next((key for key in keys if key not in here), keys[0] if keys else None)
