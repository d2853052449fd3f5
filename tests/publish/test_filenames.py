"""Names of files within a bundle: in order, the same in all that a buyer reads, and legible."""

from __future__ import annotations

import tomllib
import unicodedata

import pytest

from pipeline.base.geometry import MM_PER_INCH
from pipeline.impose import Flip
from pipeline.plan.model import Paper
from pipeline.plan.words import words_for
from pipeline.proof.approval.passed import State
from pipeline.publish.directions.steps import WORDS
from pipeline.publish.releases import Change, Passed, Release, changes_text
from pipeline.publish.zips import buyers_names, own_names, sorted_for_use, within
from pipeline.testsheets.feedtest import feed_test
from pipeline.text.shape import in_visual_order, levels
from tests.impose.sample import A4, LETTER, leaflet_book
from tests.impose.test_sheet_languages import (
    SMALL_PAPERS,
    by_page,
    keep_apart,
    keep_on_paper,
    rows_of,
)

LANGUAGES = sorted(path.stem for path in WORDS.glob("*.toml"))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("feed_test", [True, False])
def test_numbers_leave_none_out(language: str, feed_test: bool) -> None:
    names = buyers_names(language, feed_test=feed_test)
    assert ("feed-test.pdf" in names) is feed_test
    numbers = [name.partition("-")[0] for name in names.values() if name[0].isdigit()]
    single = sorted({int(number) for number in numbers if "+" not in number})
    assert single == list(range(1, 5))
    assert {own: own_names(language)[name] for own, name in names.items()} == {n: n for n in names}
    assert len(set(names.values())) == len(names)
    numbered = [name for name in names.values() if name[0].isdigit()]
    in_order = sorted_for_use(sorted(names.values()))[: len(numbered)]
    gauge = names["hole-gauge.pdf"]  # beside the feed test, before or after it, as it is called
    assert [one for one in in_order if one != gauge] == [one for one in numbered if one != gauge]
    assert in_order.index(gauge) in ((2, 3) if feed_test else (len(numbered) - 1,))
    for name in names.values():
        assert unicodedata.is_normalized("NFC", name)
        assert not set(name) & set('<>:"/\\|?* '), "Microsoft, Naming Files, Paths and Namespaces"


def seen(text: str, right_to_left: bool) -> str:
    """A line of text as it is seen from left to right (UAX #9)."""
    order = in_visual_order(list(range(len(text))), levels(text, right_to_left))
    return "".join(text[index] for index in order)


@pytest.mark.parametrize("name", buyers_names("en", feed_test=True).values())
def test_names_are_seen_whole_in_arabic(name: str) -> None:
    written = within(name, right_to_left=True)
    assert name in seen(f"اطبع {written} على ورق عادي", True)
    assert name in seen(f"{written}، {written}.", True)
    assert within(name, right_to_left=False) == name


def test_a_bare_name_would_not_be() -> None:
    assert "3-side-1.pdf" not in seen("اطبع 3-side-1.pdf على ورق عادي", True)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("paper", [A4, LETTER, *SMALL_PAPERS], ids=lambda paper: paper.name)
def test_the_feed_test_has_room_for_them(
    language: str, paper: Paper, monkeypatch: pytest.MonkeyPatch
) -> None:
    right_to_left = words_for(language).right_to_left
    names = {
        own: within(name, right_to_left=right_to_left)
        for own, name in buyers_names(language, feed_test=True).items()
    }
    made, rows = rows_of(
        monkeypatch,
        lambda: feed_test(paper, Flip.LONG, leaflet_book(), language, names, maker=False),
    )
    for number, page in enumerate(by_page(rows)):
        keep_apart(page, 3)
        keep_on_paper(made, number, paper, 3)
    body = 3.6 if paper in (A4, LETTER) else 9 / 72 * MM_PER_INCH
    assert {round(row.size, 2) for row in rows if len(row.text) > 1} == {
        *(round(body, 2), round(2.2 * body, 2))
    }, "one size of type besides the title's, 9 pt at least"
    said = " ".join(row.text for row in rows)
    for own in ("side-1.pdf", "side-2.pdf", "side-2-reversed.pdf", "both-sides.pdf"):
        assert said.count(names[own]) > 1


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_translation_writes_a_name_of_its_own(language: str) -> None:
    for path in (WORDS / f"{language}.toml", WORDS.parents[1] / "words" / f"{language}.toml"):
        if not path.is_file():  # a country says only what its language says otherwise
            assert "-" in language
            continue
        told = tomllib.loads(path.read_text("utf-8"))
        said = [line for table in told.values() if isinstance(table, dict) for line in flat(table)]
        assert said
        assert not [line for line in said if ".pdf" in line or ".txt" in line]


def flat(table: dict[str, object]) -> list[str]:
    """All texts in a table."""
    found: list[str] = []
    for value in table.values():
        found += flat(value) if isinstance(value, dict) else [str(value)]
    return found


def test_changed_files_are_named_as_buyers_have_them() -> None:
    ada = Passed(("Ada",), "2027-01-05T09:00:00Z")
    first = Release(1, "march-v1", ada.at, ada, "", {})
    changed = ("licence.txt", "1-directions.pdf")
    second = Release(2, "march-v2", ada.at, ada, "", {}, changed_files=changed)
    assert changes_text("March", (first, second), "en").endswith(": 1-directions.pdf, licence.txt")
    arabic = changes_text("مارس", (first, second), "ar").splitlines()[-1]
    assert "1-directions.pdf" in seen(arabic, True)
    week = Change("leaf-002-verso", "W10", State.CHANGED, 3, 2)
    third = Release(3, "march-v3", ada.at, ada, "", {}, changes=(week,), changed_files=changed)
    assert "pdf" not in changes_text("March", (second, third), "en")
