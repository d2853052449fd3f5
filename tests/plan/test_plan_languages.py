"""Several languages in one season: figures, titles, labels, and how pages are called."""

# ruff: noqa: E501  (one case a line reads better than a wrapped one)

from __future__ import annotations

import datetime as dt
import re
import tomllib
import unicodedata
from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.base.errors import UserError
from pipeline.base.folders import safe_name
from pipeline.plan import plan_season
from pipeline.plan.calendar import Week
from pipeline.plan.collection import labels_by_language, load_collection, templates_in
from pipeline.plan.facts import Setting, month_facts, once_facts, week_facts
from pipeline.plan.model import Facts, Period, SetPlan
from pipeline.plan.words import words_for
from pipeline.text.shape import in_visual_order, levels

LayOut = Callable[[str], Path]

REPO = Path(__file__).parents[2]
DEMO = REPO / "seasons" / "2027-spring-languages.toml"


def _shown(facts: Facts) -> str:
    """Every character a page could show."""
    texts = [form for forms in facts.texts.values() for form in forms]
    for grid in facts.months.values():
        texts += [*grid.heads, *grid.week_numbers]
        texts += [cell.text for row in grid.rows for cell in row if cell]
    return "".join(texts)


# The figures by Unicode's names of them; "ar" alone has 0 to 9 in CLDR 44 and later.
@pytest.mark.parametrize(
    ("language", "figures"),
    [
        ("ar-EG", "ARABIC-INDIC DIGIT"),
        ("ar-u-nu-arab", "ARABIC-INDIC DIGIT"),
        ("fa", "EXTENDED ARABIC-INDIC DIGIT"),
        ("hi-u-nu-deva", "DEVANAGARI DIGIT"),
        ("mr", "DEVANAGARI DIGIT"),
        ("ar-EG-u-nu-latn", "DIGIT"),
        ("hi", "DIGIT"),
        ("ar", "DIGIT"),
    ],
)
def test_every_figure_on_every_kind_of_page_is_of_the_same_system(
    language: str, figures: str
) -> None:
    days = dt.date(2026, 12, 1), dt.date(2027, 2, 28)
    words = words_for(language)
    title = words.interval(*days, "yMMMM")
    setting = Setting(words, 0, {}, "", Period("p", title, *days), *days)
    pages = (
        week_facts(setting, Week(dt.date(2026, 12, 28)), 0, 1),
        month_facts(setting, days[0]),
        once_facts(setting),
    )
    for facts in pages:
        names = {unicodedata.name(c).rpartition(" ")[0] for c in _shown(facts) if c.isdecimal()}
        assert names == {figures}


def test_a_tag_may_say_when_weeks_begin(lay_out: LayOut, season_text: str) -> None:
    text = season_text.replace('["en-GB"]', '["en-GB", "en-US-u-fw-sat"]')
    british, american = plan_season(lay_out(text), only="running").sets
    # the season file says Monday; the tag is about its own language alone and goes first
    assert british.spreads[0].verso.facts.dates[0].strftime("%A") == "Monday"
    assert american.spreads[0].verso.facts.dates[0].strftime("%A") == "Saturday"
    assert american.language == "en-US-u-fw-sat"


@pytest.mark.parametrize(
    ("language", "says"),
    [
        ("ar-u-nu-arap", "'arap' isn't a known numbering system of ten figures; did you mean 'arab'?"),
        ("he-u-nu-hebr", "'hebr' isn't a known numbering system of ten figures; did you mean"),
        ("de-u-ca-buddhist", "asks for 'ca', which changes nothing here; keep only 'nu'"),
        ("de-u-fw-monday", "'monday' isn't a weekday; did you mean 'mon'?"),
        ("de-u-nu", "'' isn't a known numbering system"),
        ("de-u-", "'-u-' isn't a Unicode extension of a language"),
        ("de-u-nu-latn-x-mine", "isn't a Unicode extension of a language; write it like '-u-nu-arab'"),
        ("de-u-nu-latn-nu-arab", "isn't a Unicode extension of a language"),
        ("xx-u-nu-arab", "isn't a locale that CLDR knows"),
    ],
)  # fmt: skip
def test_extensions_that_are_not_taken(
    lay_out: LayOut, season_text: str, language: str, says: str
) -> None:
    path = lay_out(season_text.replace('"en-GB"', f'"{language}"'))
    with pytest.raises(UserError) as caught:
        plan_season(path)
    line = str(caught.value)
    assert line.startswith(f"{path}, line 4, language.1: '{language}': ")
    assert says in line


@pytest.mark.parametrize("language", ["ar-u-nu-arab", "en-US-u-fw-sat", "zh-Hant-u-nu-latn"])
def test_a_tag_makes_a_folder_name(language: str) -> None:
    assert safe_name(f"a5-letter-{words_for(language).language}")


def test_titles_in_each_language(lay_out: LayOut, season_text: str) -> None:
    text = (
        season_text.replace('["en-GB"]', '["en-GB", "ar-EG-u-nu-arab"]')
        .replace('title = "Trial"', 'title = { en = "Trial", ar = "تجربة" }')
        .replace('month = "2027-08"', 'month = "2027-08"\ntitle.en-GB = "High summer"\ntitle.ar = "منتصف الصيف"')
        .replace('name = "running"', 'name = "running"\ntitle.en = "Weeks"\ntitle.ar = "أسابيع"')
    )  # fmt: skip
    british, arabic = plan_season(lay_out(text), only="running").sets
    assert (british.title, british.period.title) == ("Weeks", "High summer")
    assert (arabic.title, arabic.period.title) == ("أسابيع", "منتصف الصيف")
    assert arabic.spreads[0].verso.facts.texts["set-title"] == ("أسابيع",)


@pytest.mark.parametrize(
    ("before", "after", "says"),
    [
        ('title = "Trial"', 'title = { en = "Trial" }', ", line 2, title: has no text for 'ar-EG'; add title.ar = \"…\""),
        ('name = "august"', 'name = "august"\ntitle.ar = "أغسطس"', ", line 12, period.august.title: has no text for 'en-GB'; add title.en = \"…\""),
        ('name = "record"', 'name = "record"\ntitle.ar-SA = "x"\ntitle.en = "y"', ", line 33, set.record.title: has no text for 'ar-EG'"),
        ('title = "Trial"', 'title = { eng = "Trial" }', ", line 2, title: 'eng' isn't a locale that CLDR knows; did you mean"),
        ('title = "Trial"', 'title = { en = " " }', ", line 2, title: has no text for 'en'; write it in quotes"),
        ('title = "Trial"', 'title = { en = 3 }', ", line 2, title: has no text for 'en'; write it in quotes"),
        ('title = "Trial"', 'title = {}', ", line 2, title: is an empty table; give a text for each language"),
        ('title = "Trial"', 'title = ["Trial"]', ", line 2, title: must be a text in quotes, or a table"),
    ],
)  # fmt: skip
def test_a_title_that_a_language_lacks(
    lay_out: LayOut, season_text: str, before: str, after: str, says: str
) -> None:
    text = season_text.replace('["en-GB"]', '["en-GB", "ar-EG"]')
    assert before in text
    path = lay_out(text.replace(before, after))
    with pytest.raises(UserError) as caught:
        plan_season(path)
    assert str(caught.value).startswith(f"{path}{says}")


def _arabic_labels(path: Path, text: str | None) -> None:
    file = path.parents[1] / "templates_svg" / "beds" / "labels" / "ar.toml"
    if text is None:
        file.unlink()
    else:
        file.write_text(text, encoding="utf-8")


def test_a_label_one_language_lacks(lay_out: LayOut, season_text: str) -> None:
    path = lay_out(season_text.replace('["en-GB"]', '["en-GB", "ar-EG"]'))
    _arabic_labels(path, 'notes = "ملاحظات"\n')
    with pytest.raises(UserError) as caught:
        plan_season(path)
    assert str(caught.value).endswith(
        "labels/ar.toml: label 'sowing' missing for 'ar-EG' ('en-GB' has it); "
        'write sowing = "…" there, or set label_fallback in the season file'
    )


@pytest.mark.parametrize("arabic", ['notes = "ملاحظات"\n', None])
def test_missing_labels_come_from_the_fallback(
    lay_out: LayOut, season_text: str, arabic: str | None
) -> None:
    path = lay_out(season_text.replace('["en-GB"]', '["ar-EG", "en-GB"]\nlabel_fallback = "en"'))
    _arabic_labels(path, arabic)
    egyptian, british = plan_season(path, only="record").sets
    labels = egyptian.pages[0].facts.texts
    assert labels["label-sowing"] == ("Sowing list", "Sowing")
    assert labels["label-notes"] == (("ملاحظات",) if arabic else ("Notes",))
    assert british.pages[0].facts.texts["label-notes"] == ("Jottings",)


def test_a_label_the_fallback_lacks_too(lay_out: LayOut, season_text: str) -> None:
    path = lay_out(season_text)
    _arabic_labels(path, 'notes = "م"\nmoon = "قمر"\nsun = "شمس"\nrain = "مطر"\nwind = "ريح"\n')
    collection = load_collection("beds", path)
    with pytest.raises(UserError) as caught:
        labels_by_language(collection, ["ar", "en-GB"], "en")
    assert str(caught.value).endswith(
        "labels/en.toml: labels 'moon', 'sun', 'rain' and 1 more missing for 'en-GB' "
        "('ar' has them); write them there or in the labels of 'en', the label_fallback"
    )


@pytest.mark.parametrize(
    ("fallback", "says"),
    [
        ("xx", ", line 5, label_fallback: 'xx': isn't a locale that CLDR knows"),
        ("de", "collection 'beds' has no labels for 'de'; add labels/de.toml"),
    ],
)
def test_a_fallback_that_is_not_there(
    lay_out: LayOut, season_text: str, fallback: str, says: str
) -> None:
    text = season_text.replace('["en-GB"]', f'["en-GB"]\nlabel_fallback = "{fallback}"')
    with pytest.raises(UserError) as caught:
        plan_season(lay_out(text))
    assert says in str(caught.value)


@pytest.fixture(scope="module")
def demo() -> tuple[SetPlan, ...]:
    return plan_season(DEMO).sets


def test_the_ten_languages_have_titles_of_their_own(demo: tuple[SetPlan, ...]) -> None:
    by_language: dict[str, set[str]] = {}
    for one in demo:
        by_language.setdefault(one.language, set()).add(one.title)
    assert len(by_language) == 10
    assert by_language.pop("en-US") == by_language["en-GB"]
    titles = [title for of_one in by_language.values() for title in of_one]
    assert len(titles) == len(set(titles)) == 9 * 3


# The opening and the closing page, the week of 1 March 2027, the sowing list and the bed plan.
CALLED = {
    "en-GB": ("opening", "closing", "W09 ", "sowing list", "bed plan"),
    "en-US": ("opening", "closing", "W09 ", "sowing list", "bed plan"),
    "de": ("Auftakt", "Schluss", "KW 09: ", "Aussaatliste", "Beetplan"),
    "fr": ("ouverture", "clôture", "sem. 09\u00a0: ", "Liste des semis", "Plan du carré"),
    "es": ("apertura", "cierre", "sem. 09: ", "Lista de siembra", "Plano del bancal"),
    "pl": ("otwarcie", "zakończenie", "tydz. 09: ", "Lista siewów", "Plan grządki"),
    "el": ("έναρξη", "κλείσιμο", "εβδ. 09: ", "Λίστα σποράς", "Σχέδιο βραγιάς"),
    "ar-EG": ("الافتتاح", "الختام", "أسبوع 09: ", "قائمة البذر", "مخطط الحوض"),
    "hi": ("आरंभ", "समापन", "सप्ताह 09: ", "बुआई सूची", "क्यारी का नक़्शा"),
    "ja": ("扉", "結び", "第9週 ", "種まきリスト", "畝の配置図"),
}


def test_pages_are_told_apart_by_name_in_every_language(tmp_path: Path) -> None:
    """With a list and a bed plan after every week."""
    season = tmp_path / "seasons" / DEMO.name
    season.parent.mkdir()
    (tmp_path / "templates_svg").symlink_to(REPO / "templates_svg")
    once, weekly = (f'recto = "bed-plan", per = "{per}"' for per in ("once", "week"))
    season.write_text(DEMO.read_text("utf-8").replace(once, weekly), "utf-8")
    for one in (one for one in plan_season(season).sets if one.name == "two-flap-sowing"):
        opening, closing, ninth, *lists = CALLED[one.language]
        first, *others, last = (page.label for page in one.pages)
        assert (first, last) == (opening, closing)
        weeks = [label for label in others if not label.startswith(tuple(lists))]
        for number, label in enumerate(weeks[::2], start=9):
            begins = ninth if number == 9 else re.sub("0?9", str(number), ninth)
            assert label.startswith(begins)
        assert weeks[::2] == weeks[1::2]
        assert sorted(others) == sorted(
            [*weeks, *(f"{name} {week}" for week in weeks[::2] for name in lists)]
        )
        for page in one.pages[1:-1]:
            # the days of the week it is about, written as the language writes them
            figures = "".join(c if c.isdecimal() else " " for c in page.label).split()[1:]
            first_day, last_day = page.facts.dates[0].day, page.facts.dates[-1].day
            assert {first_day, last_day} <= {int(figure) for figure in figures}


def test_a_week_from_right_to_left_stays_whole_in_a_line_from_left_to_right(
    demo: tuple[SetPlan, ...],
) -> None:
    """By the bidirectional algorithm (UAX #9): read from the right, day and month keep together."""
    arabic = next(one for one in demo if one.language == "ar-EG" and one.name == "running")
    line = f"side 1 · {arabic.pages[1].label} · print"
    seen = "".join(in_visual_order(line, levels(line)))
    steering = "\N{RIGHT-TO-LEFT EMBEDDING}\N{POP DIRECTIONAL FORMATTING}"
    seen = "".join(c for c in seen if c not in steering)
    assert seen.startswith("side 1 · ")
    assert seen.endswith(" · print")
    week = seen.removeprefix("side 1 · ").removesuffix(" · print")
    from_the_right = [w if w.isdigit() else w[::-1] for w in reversed(week.split())]
    assert from_the_right == ["أسبوع", "90:", "٢٧", "فبراير", "–", "٥", "مارس"]


def test_the_programs_own_words_are_in_every_language_the_sheets_speak() -> None:
    """The same languages as the words beside the leaves, which a finished sheet mixes them with."""
    words = tomllib.loads((REPO / "pipeline/plan/pagewords.toml").read_text("utf-8"))
    spoken = {path.stem for path in (REPO / "pipeline/impose/words").glob("*.toml")}
    assert set(words) == spoken
    for language, said in words.items():
        assert said["week"].format(number=9) != said["week"].format(number=10)
        assert said["pages"].keys() == words["en"]["pages"].keys()
        if language != "en":
            assert not set(said["pages"].values()) & set(words["en"]["pages"].values())


def test_a_template_has_the_name_its_collection_gives_it(lay_out: LayOut, season_text: str) -> None:
    path = lay_out(season_text.replace('["en-GB"]', '["en-GB", "en-US"]'))
    labels = path.parent.parent / "templates_svg" / "beds" / "labels"
    own, shared = labels / "en-GB.toml", labels / "en.toml"
    own.write_text(own.read_text() + '[templates]\nlist = "To sow"\nopening = "Front"\n')
    shared.write_text(shared.read_text() + '[templates]\nlist = "Seeds"\nplan = "Beds"\n')
    british, american = (
        [page.label.split(" W")[0] for page in one.pages]
        for one in plan_season(path, only="between").sets
    )
    assert (british[0], british[-1], american[0]) == ("Front", "closing", "opening")
    assert {"To sow", "Beds"} < set(british)
    assert {"Seeds", "Beds"} < set(american)


@pytest.mark.parametrize(
    ("table", "says"),
    [
        ('lst = "Sowing"', "lst: names a template that is not drawn for any size"),
        ("list = 3", "list: must be a text"),
        ('list = " "', "list: must be a text"),
    ],
)
def test_a_name_for_a_template_that_cannot_be(
    lay_out: LayOut, season_text: str, table: str, says: str
) -> None:
    path = lay_out(season_text)
    labels = path.parent.parent / "templates_svg" / "beds" / "labels" / "en.toml"
    labels.write_text(f"{labels.read_text()}\n[templates]\n{table}\n")
    with pytest.raises(UserError) as caught:
        plan_season(path)
    assert says in str(caught.value)
    assert "en.toml" in str(caught.value)


@pytest.mark.parametrize("name", ["kitchen_garden", "clay_and_fire", "plain_days"])
def test_every_page_of_a_collection_has_a_name_for_buyers_in_each_of_its_languages(
    name: str,
) -> None:
    collection = load_collection(name, DEMO)
    # These the program itself has words for, or are the same word in all that have no other.
    known = {"opening", "closing", "notes"}
    drawn = {path.stem for path in templates_in(collection.folder)} - known
    for file in sorted((collection.folder / "labels").glob("*.toml")):
        assert drawn - set(collection.template_names(file.stem)) == set(), file.name


def test_a_template_without_a_name_goes_by_its_files_but_not_its_side(
    lay_out: LayOut, season_text: str
) -> None:
    text = season_text.replace('name = "running"', 'name = "running"\ndates = "none"\ncount = 2')
    text = text.replace('opening = "opening"\nclosing = "closing"\n', "", 1)
    (plan,) = plan_season(lay_out(text), only="running").sets[:1]
    assert [leaf.verso and leaf.verso.label for leaf in plan.leaves] == ["week 1", "week 2", None]
    assert [leaf.recto and leaf.recto.label for leaf in plan.leaves] == [None, "week 1", "week 2"]
