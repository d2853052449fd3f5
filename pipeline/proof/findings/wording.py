"""What pages say beside their dates: labels in the right language, and texts no key asked for.

An editor that ungroups, renames or copies may take an id off a text. What stands there then is the
sample, on every page and in every language. Names and the ways to write days are those of CLDR;
only a whole text counts as the calendar's own, so a seed called "May Queen" isn't a month.
"""

from __future__ import annotations

import datetime as dt
import itertools
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from pipeline.base.findings import Severity
from pipeline.base.geometry import Rect
from pipeline.impose.imposing import LABELS_SHOWN, legend_words
from pipeline.impose.margins import bar_label
from pipeline.impose.words import sheet_words
from pipeline.plan.calendar import days_from
from pipeline.plan.facts import NO_TEXT, TAB_LABEL
from pipeline.plan.languages import language_name, root_of
from pipeline.plan.mentions import mentions
from pipeline.plan.model import Side
from pipeline.plan.words import Words, words_for
from pipeline.proof.findings.dated import is_dated
from pipeline.proof.findings.days import is_day_key
from pipeline.proof.findings.reading import (
    FaceRead,
    SideRead,
    joined,
    says,
    says_just,
    spellings,
)
from pipeline.proof.findings.subject import SetFinding, Slot, Subject
from pipeline.proof.read.text import LeafText, spelling

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
        for said, counted in names.of.get(plain, ()):
            if (counted and not figures) or (said.short and place and language != "en"):
                continue
            number = said.number or (figures[0] if said.about is About.MONTH else 0)
            found.append(said._replace(number=number, short=said.short and not figures))
        known = names.dates if place and language != "en" and len(figures) < 2 else names.days
        if figures and any(rest in known for rest in (plain, *names.without_weekday(plain))):
            found.append(Said(About.DAYS, 0, language))
        a_week = len(figures) == 1 and 1 <= figures[0] <= 53 and text.strip()[-1].isdigit()
        if a_week and (plain in names.weeks or plain in map(_plain, weeks)):
            found.append(Said(About.WEEK, figures[0], language))
    if max(figures, default=99) <= 31:
        found.sort(key=lambda said: said.about is not About.DAYS)  # "1 March" is more than a month
    return found


class _Names(NamedTuple):
    """What a language calls days and months, how it writes days, and its words for a week.

    ``of`` has what a name says, and whether a figure is in it. ``dates`` are those of ``days``
    that say months in full.
    """

    of: Mapping[str, Sequence[tuple[Said, bool]]]
    dates: frozenset[str]
    days: frozenset[str]
    weeks: frozenset[str]

    def without_weekday(self, plain: str) -> Iterator[str]:
        """A text that begins or ends with a weekday, without that."""
        first, _, after = plain.partition(" ")
        before, _, last = plain.rpartition(" ")
        for name, rest in ((first, after), (last, before)):
            if any(said.about is About.WEEKDAY for said, _ in self.of.get(name, ())):
                yield rest


@lru_cache(maxsize=64)
def _names(language: str) -> _Names:
    words = words_for(language)
    found: dict[str, list[tuple[Said, bool]]] = {}
    for about, number, short, name in _every_name(words):
        plain, counted = _plain(name), bool(_FIGURES.search(name))
        letters = sum(sign.isalpha() for sign in plain)
        if letters < (_SHORTEST if short else 1) or (not counted and len(name) < 2):
            continue
        said = Said(about, 0 if counted else number, language, short)
        known = found.setdefault(plain, [])
        # What is as long as the whole name is the whole name.
        if not {(said, counted), (said._replace(short=False), counted)} & set(known):
            known.append((said, counted))
    dates = frozenset(map(_plain, _every_date(words, "MMMMd")))
    days = dates.union(map(_plain, _every_date(words, "MMMd")))
    weeks = frozenset(plain for plain in map(_plain, _weeks(words)) if len(plain) > 1)
    return _Names(found, dates, days, weeks)


def _every_name(words: Words) -> Iterator[tuple[About, int, bool, str]]:
    locale = words.locale
    for width, form in itertools.product(("wide", "abbreviated"), ("stand-alone", "format")):
        for about, names in ((About.WEEKDAY, locale.days), (About.MONTH, locale.months)):
            for number, name in names[form][width].items():
                yield about, int(number), width != "wide", str(name)


def _every_date(words: Words, width: str) -> Iterator[str]:
    """Days, and days to days up to two months on, as pages say them."""
    for month, skeleton in itertools.product(range(1, 13), (width, f"y{width}")):
        first = dt.date(2027, month, 3)
        yield words.date(first, skeleton)
        for days in (6, 31, 62):
            yield words.interval(first, first + dt.timedelta(days), skeleton)


def _weeks(words: Words) -> Iterator[str]:
    """CLDR's words for one week, from its units of time."""
    locale = words.locale
    patterns = locale.data["unit_patterns"].get("duration-week", {})
    for width, plural in itertools.product(("long", "short"), ("one", "other")):
        if pattern := patterns.get(width, {}).get(plural):
            yield str(pattern).replace("{0}", "")
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
        forms = face.forms[slot.key]
        if is_dated(slot.key) or forms == ("",):
            continue
        found, name = face.said_at(slot), slot.key.removeprefix("label-")
        said, wanted = joined(found), f"'{forms[0]}' ({slot.key})"
        if says(found, forms):
            other = _borrowed(face.subject, name, forms)
            if not other or not slot.key.startswith("label-"):
                continue
            code, what = "label-language", f"'{forms[0]}' ({name}) is the same as in '{other}'"
        elif not found:
            code, what = "label-missing", f"{wanted} is missing"
        elif says_just(found, (slot.sample,)):
            code = "placeholder-left"
            what = f"'{said}' is still the template's sample for {slot.key}"
        elif other := _foreign_label(face.subject, found):
            code, what = "label-language", f"'{said}' ({name}) is a label of '{other}'"
        else:
            code, what = "label-missing", f"'{said}' stands where {wanted} belongs"
        yield face.finding(code, what, slot.area)


def _foreign_label(subject: Subject, found: list[LeafText]) -> str | None:
    """The language whose label this is, when it is none of the set's own."""
    said = spellings(found)
    if not subject.own_labels.isdisjoint(said):
        return None
    known = subject.borrowed_labels
    return min((known[one] for one in said if one in known), default=None)


def _borrowed(subject: Subject, name: str, forms: tuple[str, ...]) -> str | None:
    """The language a label was taken over from: alike in both, and too long for chance."""
    own = spelling(forms[0])
    if len(own.letters) < _LONG or " " not in forms[0].strip():
        return None
    for language, labels in subject.foreign_labels.items():
        if name in labels and spelling(labels[name][0]) == own:
            return language
    return None


_KEYLIKE = re.compile(
    r"(?:day|date|month|week|label|period|set|year)\d*-[a-z][a-z-]*|[{<\[]{1,2}[\w -]+[}>\]]{1,2}"
    r"|\b(?:lorem|ipsum|placeholder|sample text|todo|xxx+)\b",
    re.IGNORECASE,
)
_WORKDAYS = 5
"""So many different weekdays on a page without days are the heads of a chart."""


class _Fixed(NamedTuple):
    """A text of the calendar that is fixed in a template: what it says, language by language."""

    text: str
    box: Rect
    said: list[Said]


def leftover_findings(face: FaceRead) -> Iterator[SetFinding]:
    """What is wrong with texts that are fixed in the template."""
    subject, fixed = face.subject, list[_Fixed]()
    weeks = [form for labels in subject.labels.values() for form in labels.get("week", ())]
    for text, rest in _leftovers(face):
        said = (
            []
            if spelling(rest) in subject.own_labels
            else calendar_words(rest, subject.languages, weeks)
        )
        if _KEYLIKE.search(rest):
            message = f"'{text.text}' is typed in the template, so it is the same on every page"
            yield face.finding("placeholder-left", message, text.box)
        elif said:
            fixed.append(_Fixed(rest, text.box, said))
        elif typed := [*_typed(face, rest, text.box)]:
            yield from typed
        elif other := _foreign_label(subject, [text]):
            message = f"'{text.text}' is the {language_name(other)} label"
            yield face.finding("label-language", message, text.box)
    charts = _charts(face, fixed)
    blank = _is_tab_blank(face)
    for one in fixed:
        native = any(root_of(said.language) == subject.root for said in one.said)
        key = None if one.said[0].about in charts else _key(face, one)
        message = f"'{one.text}' is typed in the template, so it is the same on every page"
        if key is None and not native and not one.said[0].short:
            message += f" and in {language_name(one.said[0].language)}"
            yield face.finding("label-language", message, one.box)
        elif key is not None and not _may_stay(face, one):
            remedy = (
                f"give the text its key back as id, e.g. '{key}', or take it out of the template"
            )
            yield face.finding("placeholder-left", message, one.box, remedy)
            blank = blank and key != TAB_LABEL
        elif one.said[0].about not in charts:
            yield from _typed(face, one.text, one.box)
    if blank:
        message = f"the tab is blank and '{face.forms[TAB_LABEL][0]}' ({TAB_LABEL}) belongs there"
        remedy = f"draw '{TAB_LABEL}' on the page, or leave the tab to be written on"
        yield face.finding("label-missing", message, face.shape.tab, remedy, milder=Severity.LOOK)


def _is_tab_blank(face: FaceRead) -> bool:
    """Whether the front of a tab has no place for the label that it is to have."""
    to_say = any(face.forms.get(TAB_LABEL, NO_TEXT)) and face.shape.tab is not None
    return to_say and face.face is Side.RECTO and not _shows(face, lambda key: key == TAB_LABEL)


def _typed(face: FaceRead, text: str, box: Rect) -> Iterator[SetFinding]:
    """The first time that a fixed text names: wrong for its page, or right and standing still."""
    period = face.subject.plan.period
    days: Collection[dt.date] = face.page.facts.dates if face.page else ()
    if not days and period.first and period.last:
        days = days_from(period.first, period.last)
    told = mentions(text, face.subject.languages)
    for mention in sorted(told, key=lambda one: not days or one.fits(days)):
        if days and not mention.fits(days):
            yield face.finding("date-typed", f"'{text}' is none of this page's days", box)
        else:
            message = f"'{text}' is typed by hand and won't move with the dates"
            yield face.finding("date-typed", message, box, milder=Severity.LOOK)
        return


def _leftovers(face: FaceRead) -> Iterator[tuple[LeafText, str]]:
    """Texts of a face that no place of its template accounts for, and what is left of each.

    A text is accounted for where it is all or part of what a key says. Where a key says something
    else, that is a finding about the key, and its text gives no second one.
    """
    accounted = {id(text) for slot in face.slots.grids for text in face.said_in(slot.area)}
    accounted.update(face.claimed)
    claimed = list(face.claimed.values())
    open_slots: list[tuple[Slot, tuple[str, ...]]] = []
    for slot in face.slots.texts:
        forms, found = face.forms[slot.key], face.said_at(slot)
        if not says(found, forms) and not says(face.said_over(slot.area), forms):
            accounted |= {id(text) for text in found}
        elif slot not in claimed:
            open_slots.append((slot, forms))
    for text in face.texts:
        rest = text.text if id(text) not in accounted else ""
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
        if not any(whole):
            continue
        if own.within(whole):
            return ""
        if whole.within(own):
            cut = re.sub(rf"(?<!\w){re.escape(form)}(?!\w)", " ", text, count=1, flags=re.I)
            # Where it is there but in another order or script, nothing can be said of the rest.
            return " ".join(cut.split()) if cut != text else ""
    return text


def _charts(face: FaceRead, fixed: Sequence[_Fixed]) -> set[About]:
    """What a page shows as the heads of a chart: a row of all months, of weekdays, of weeks."""
    numbers = {about: set[int]() for about in About}
    for said in itertools.chain.from_iterable(one.said for one in fixed):
        numbers[said.about].add(said.number)
    enough = {About.MONTH: 12, About.WEEK: 2}
    if not _shows(face, is_day_key):
        enough[About.WEEKDAY] = _WORKDAYS
    return {about for about, many in enough.items() if len(numbers[about]) >= many}


def _shows(face: FaceRead, test: Callable[[str], bool]) -> bool:
    """Whether a face has a place with such a key."""
    return any(test(slot.key) for slot in face.slots.texts)


def _may_stay(face: FaceRead, one: _Fixed) -> bool:
    """Whether a fixed text may be meant: it is right for its page, or may be an ordinary word."""
    assert face.page is not None
    said, facts = one.said[0], face.page.facts
    about = said.about
    # "Sun" and "Mar" are words, too: they are names on pages that show such names.
    if said.short and not _shows(face, is_day_key if about is About.WEEKDAY else is_dated):
        return True
    if about is About.WEEKDAY:
        return False  # right or not, the next page's may be another
    if about is About.WEEK:
        number = spelling(facts.texts.get("week-number", ("",))[0]).numbers
        return [*map(int, number)] == [said.number]
    own = spelling(one.text)
    dated = [forms for key, forms in facts.texts.items() if is_dated(key)]
    right = any(own == spelling(form) for forms in dated for form in forms)
    if about is About.MONTH:
        return right and facts.kind == "once"
    return right or (facts.kind != "week" and len(own.numbers) < 2)


def _key(face: FaceRead, one: _Fixed) -> str | None:
    """The key that a text most likely had: one that its page can hold and does not.

    None where no page of its kind has such a key.
    """
    assert face.page is not None
    facts, said = face.page.facts, one.said[0]
    if said.about is About.WEEKDAY:
        days = [n for n, day in enumerate(facts.dates, 1) if day.weekday() == said.number]
        numbers = (*days, *range(1, len(facts.dates) + 1))
        likely = [f"{family}{n}-name" for family in ("day", "date") for n in numbers]
    elif said.about is About.MONTH:
        likely = ["month-name", *(f"month{n}-name" for n in range(1, 13))]
    elif said.about is About.WEEK:
        likely = ["week-number"]
    else:
        likely = ["week-range", "period-range"]
        if len(spelling(one.text).numbers) == 1:
            likely = [*(f"day{n}-date" for n in range(1, 8)), *likely]
    if _is_tab_blank(face) and said.about in (
        one.about for one in calendar_words(facts.texts[TAB_LABEL][0], face.subject.languages)
    ):
        likely = [TAB_LABEL]
    keys = [key for key in likely if key in facts.texts]
    here = {slot.key for slot in face.slots.texts}
    return next((key for key in keys if key not in here), keys[0] if keys else None)


def slug_findings(side: SideRead) -> Iterator[SetFinding]:
    """Whether what is written beside the leaves is what belongs there: set, sheet, side, pages."""
    wanted = list(_slug(side))
    said = [text for piece in side.around if (text := piece.text.strip(" ·"))]
    legend = list(_legend(side))  # it is left out where it found no room
    if spelling(_undotted(said)) in (
        spelling(_undotted(wanted)),
        spelling(_undotted([*wanted, *legend])),
    ):
        return
    wanted += legend
    spelt, meant = ({spelling(text) for text in texts} for texts in (said, wanted))
    other = " · ".join(text for text in said if spelling(text) not in meant)
    lost = " · ".join(text for text in wanted if spelling(text) not in spelt)
    message = f"it says '{other}'" + (f" instead of '{lost}'" if lost else " as well")
    yield side.finding("slug-wrong", message if other else f"it does not say '{lost}'")


def _legend(side: SideRead) -> Iterator[str]:
    """What the legend says, which is on side 1."""
    contents = side.subject.contents
    if side.side == 1:
        folds = any(leaf.flap_mm for leaf in contents.leaves)
        holes = bool(contents.binder.holes.centres_mm)
        tabs = any(leaf.tab for leaf in contents.leaves)
        yield from legend_words(contents.language, folds=folds, holes=holes, tabs=tabs).values()


def _undotted(texts: Iterable[str]) -> str:
    """Fields without the dots between them, some of which a reader takes for a text."""
    return " ".join(texts).replace("·", " ")


def _slug(side: SideRead) -> Iterator[str]:
    """What belongs beside the leaves of a side, by the set's contents and in its language."""
    contents, words = side.subject.contents, sheet_words("slug", side.subject.contents.language).of
    sheet = contents.sheets[side.number - 1]
    yield contents.set.title
    if contents.period.title != contents.set.title:
        yield contents.period.title
    yield words["sheet"].format(number=sheet.number, total=len(contents.sheets))
    yield words[f"side_{side.side}"]
    pages = [
        contents.leaves[placed.leaf].page(placed.face) for placed in sheet.placements(side.side)
    ]
    labels = list(dict.fromkeys(page.label for page in pages if page and page.label))
    if labels:
        yield ", ".join([labels[0], "…", labels[-1]] if len(labels) > LABELS_SHOWN else labels)
    yield side.subject.papers.get(contents.paper.name, contents.paper.name)
    yield words["scale"]
    yield bar_label(contents.paper.media)
    piles = next(one for one in contents.sheets if one.stack == sheet.stack).side_1
    if len(piles) > 1:
        for pile, _ in enumerate(pages, 1):
            yield words["pile"].format(number=pile)
