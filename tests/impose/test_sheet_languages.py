"""Test sheets in every language they have words in: all is there, in its place, and legible."""

from __future__ import annotations

import itertools
import re
import string
import subprocess
import tomllib
import unicodedata
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest

import pipeline.impose.words as sheet_words_of
from pipeline.base.geometry import Rect, mm
from pipeline.impose import BOTH, Flip, PrinterSettings, impose
from pipeline.plan.model import Binder, Paper
from pipeline.plan.sizes import load_sizes
from pipeline.testsheets.feedtest import feed_test
from pipeline.testsheets.gauge import hole_gauge
from pipeline.testsheets.pen import LEAST_MM, QUIET, WORDS_MM, Pen
from tests.impose.sample import A4, A5, LETTER, PERSONAL, book, pages_pdf, set_of
from tests.tools import tool

FOLDER = Path(str(sheet_words_of.__file__)).parent
LANGUAGES = sorted(path.stem for path in FOLDER.glob("*.toml"))
EDGE_MM = 6.35
KEPT = (
    *("side-1.pdf", "side-2.pdf", "side-2-reversed.pdf", "both-sides.pdf", "sizes.toml"),
    *("unprintable_mm", "reverse_side_2 = true", "false", "flip = "),
)
COGNATES = {("fr", "pile")}
every_language = pytest.mark.parametrize("language", LANGUAGES)
both_papers = pytest.mark.parametrize("paper", [A4, LETTER], ids=["a4", "letter"])
SMALL_PAPERS = [load_sizes(None).papers[name] for name in ("a5", "half-letter", "b5")]
all_papers = pytest.mark.parametrize(
    "paper", [A4, LETTER, *SMALL_PAPERS], ids=lambda paper: paper.name
)
small_papers = pytest.mark.parametrize("paper", SMALL_PAPERS, ids=lambda paper: paper.name)


def told(language: str) -> dict[str, Any]:
    return tomllib.loads((FOLDER / f"{language}.toml").read_text("utf-8"))


class Row(NamedTuple):
    """A line of words as the pen was asked for it."""

    text: str
    size: float
    box: Rect


def rows_of(monkeypatch: pytest.MonkeyPatch, make: Callable[[], bytes]) -> tuple[bytes, list[Row]]:
    """A sheet, and all lines of words on it, both sides one after the other."""
    rows: list[Row] = []
    plain = Pen.words

    def noted(
        pen: Pen, text: str, at: tuple[float, float], size: float = WORDS_MM, **more: Any
    ) -> None:
        weight, anchor = more.get("weight", 400), more.get("anchor", "start")
        wide = pen.measure(text, size, weight)
        start = {"start": 0.0, "middle": -wide / 2, "end": -wide}[anchor]
        x, y = at
        up, high = 0.72 * size, 0.92 * size
        box = Rect(x + start, y - up, wide, high)
        if more.get("turned"):
            box = Rect(x - up, y - start - wide, high, wide)
        rows.append(Row(text, size, box))
        plain(pen, text, at, size, **more)

    monkeypatch.setattr(Pen, "words", noted)
    return make(), rows


def texts(pdf: bytes, number: int) -> list[tuple[str, Rect]]:
    """What is set on a page, run by run, with the box of its ink in mm from the top left."""
    found = []
    with pdfium.PdfDocument(pdf) as document:
        page = document[number]
        high = page.get_height()
        letters = page.get_textpage()
        for item in page.get_objects(max_depth=15):
            if item.type != raw.FPDF_PAGEOBJ_TEXT:
                continue
            corners = list(itertools.product(*(item.get_bounds()[i::2] for i in (0, 1))))
            container = item.container
            while container is not None:
                corners = [container.get_matrix().on_point(*corner) for corner in corners]
                container = container.container
            left, right = min(x for x, _ in corners), max(x for x, _ in corners)
            low, top = min(y for _, y in corners), max(y for _, y in corners)
            box = Rect(mm(left), mm(high - top), mm(right - left), mm(top - low))
            found.append((letters.get_text_bounded(left, low, right, top), box))
    return found


def leaves(value: Any, path: tuple[str, ...] = ()) -> dict[tuple[str, ...], str]:
    """Every text of a words file by its keys."""
    if isinstance(value, str):
        return {path: value}
    pairs = value.items() if isinstance(value, dict) else enumerate(value)
    return {k: v for key, part in pairs for k, v in leaves(part, (*path, str(key))).items()}


def test_the_languages_that_sets_come_in_are_there() -> None:
    assert {"ar", "de", "el", "en", "es", "fr", "hi", "ja", "pl"} <= set(LANGUAGES)


@every_language
@pytest.mark.parametrize("sheet", ["feed_test", "hole_gauge", "slug"])
def test_a_translation_has_every_text_and_every_gap(language: str, sheet: str) -> None:
    ours, english = leaves(told(language)[sheet]), leaves(told("en")[sheet])
    assert ours.keys() == english.keys()
    for key, text in english.items():
        gaps = sorted(name for _, name, _, _ in string.Formatter().parse(text) if name)
        assert sorted(n for _, n, _, _ in string.Formatter().parse(ours[key]) if n) == gaps, key
        for kept in KEPT:
            assert (kept in text) <= (kept in ours[key]), (key, kept)
        same = ours[key] == text and (language, *key) not in COGNATES
        assert not same or language == "en" or key == ("card_size",), f"{key} is still English"


@every_language
@pytest.mark.parametrize(("binder", "flap", "paper"), [(A5, 42.0, A4), (PERSONAL, 0.0, LETTER)])
def test_every_sheet_says_which_it_is(
    language: str, binder: Binder, flap: float, paper: Paper, tmp_path: Path
) -> None:
    """Read back by poppler, which gives words from right to left in the order they are read."""
    plan = replace(set_of(((flap, 0.0),) * 5, binder), language=language)
    done = impose(plan, paper, PrinterSettings(), pages_pdf(plan), book())
    total, words = len(done.sheets), told(language)["slug"]
    assert total > 1
    (tmp_path / BOTH).write_bytes(done.files[BOTH])
    told_by = [tool("pdftotext"), "-enc", "UTF-8", "-layout", str(tmp_path / BOTH), "-"]
    pages = subprocess.run(told_by, check=True, capture_output=True).stdout.decode().split("\f")
    for number in range(2 * total):
        found = bare(pages[number])
        said = [
            words["sheet"].format(number=number // 2 + 1, total=total),
            words[f"side_{number % 2 + 1}"],
            words["scale"],
        ]
        if binder is PERSONAL:
            said.append(words["pile"].format(number=1))
        for word in (word for text in said for word in text.split()):
            assert bare(word) in found, (word, number)


def bare(text: str) -> str:
    """A text without spaces and without the marks that say which way it runs."""
    return "".join(c for c in text if not c.isspace() and unicodedata.category(c) != "Cf")


def by_page(rows: list[Row]) -> list[list[Row]]:
    """The lines of a feed test, page by page: each begins with its title."""
    starts = [number for number, row in enumerate(rows) if row.text == rows[0].text]
    return [rows[one:other] for one, other in itertools.pairwise([*starts, len(rows)])]


def keep_apart(rows: list[Row], at_least: int = 11) -> None:
    assert len(rows) >= at_least
    for one, other in itertools.combinations(rows, 2):
        assert not one.box.overlaps(other.box), (one, other)
    for row in rows:  # words that could not be made to fit are left at the smallest size
        assert min(abs(row.size - least) for least in (LEAST_MM, LEAST_MM * QUIET)) > 1e-6, row


def keep_on_paper(pdf: bytes, number: int, paper: Paper, at_least: int = 21) -> None:
    area = Rect(0, 0, paper.width_mm, paper.height_mm).grown(-EDGE_MM)
    found = texts(pdf, number)
    assert len(found) >= at_least
    for text, box in found:
        assert area.holds(box), text


@every_language
@all_papers
def test_words_of_the_feed_test_keep_apart(
    language: str, paper: Paper, monkeypatch: pytest.MonkeyPatch
) -> None:
    pdf, rows = rows_of(monkeypatch, lambda: feed_test(paper, Flip.LONG, book(), language))
    pages = by_page(rows)
    assert len(pages) == (4 if paper in SMALL_PAPERS else 2)
    for number, page in enumerate(pages):
        # The front that is tried on a small paper has a title, where to read on, and two labels.
        tried = (number, len(pages)) == (2, 4)
        keep_apart(page, *([6] if tried else []))
        keep_on_paper(pdf, number, paper, *([6] if tried else []))


@every_language
@both_papers
@pytest.mark.parametrize("binder", [A5, PERSONAL], ids=["a5", "personal"])
def test_words_of_the_gauge_keep_apart(
    language: str, paper: Paper, binder: Binder, monkeypatch: pytest.MonkeyPatch
) -> None:
    pdf, rows = rows_of(monkeypatch, lambda: hole_gauge(binder, paper, book(), language))
    keep_apart(rows)
    keep_on_paper(pdf, 0, paper)


@every_language
def test_the_file_is_named_that_each_outcome_asks_for(
    language: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, rows = rows_of(monkeypatch, lambda: feed_test(A4, Flip.LONG, book(), language))
    order = told(language)["feed_test"]["order"]
    # Pictures from left to right: on the back, then on one side; the same way before opposite.
    for sheet, wanted in ((1, (False, False, True, True)), (2, (True, True, False, False))):
        files = {
            order.format(sheet=sheet, file="side-2.pdf"): False,
            order.format(sheet=sheet, file="side-2-reversed.pdf"): True,
        }
        found = sorted((row.box.right, files[row.text]) for row in rows if row.text in files)
        starts = sorted((row.box.x, files[row.text]) for row in rows if row.text in files)
        assert tuple(reverse for _, reverse in found) == wanted
        assert tuple(reverse for _, reverse in starts) == wanted


@every_language
@small_papers
def test_on_small_papers_too_each_outcome_has_its_file_beside_it(
    language: str, paper: Paper, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, rows = rows_of(monkeypatch, lambda: feed_test(paper, Flip.LONG, book(), language))
    words = told(language)["feed_test"]
    order, page = words["order"], by_page(rows)[1]
    files = {
        order.format(sheet=sheet, file=file): (sheet, file)
        for sheet in (1, 2)
        for file in ("side-2.pdf", "side-2-reversed.pdf")
    }
    forwards, backwards = (("side-2.pdf", "side-2-reversed.pdf")[::way] for way in (1, -1))
    # Row by row as one reads: on the back, then on one side; the same way before opposite.
    found = [row for row in page if row.text in files]
    begins = [row.box.right if language == "ar" else row.box.x for row in found]
    columns = sorted({round(x, 2) for x in begins}, reverse=language == "ar")
    assert len(columns) == 2
    for column in columns:
        here = [row for row, x in zip(found, begins, strict=True) if round(x, 2) == column]
        here.sort(key=lambda row: row.box.y)
        assert [files[row.text] for row in here] == [
            *((sheet, forwards[sheet - 1]) for sheet in (1, 2)),
            *((sheet, backwards[sheet - 1]) for sheet in (1, 2)),
        ]
        turns = [words["turn_none"], words["turn_over_long"]]
        if column == columns[1]:
            turns = [words["turn_round"], words["turn_over_short"]]
        near = [
            row.text
            for row in sorted(page, key=lambda row: row.box.y)
            if abs((row.box.right if language == "ar" else row.box.x) - column) < 0.02
        ]
        said = "".join("".join(near).split())
        places = [said.index("".join(turn.split())) for turn in turns]
        ends = [said.index("".join(row.text.split())) for row in (here[0], here[2])]
        assert places[0] < ends[0] < places[1] < ends[1]


@every_language
@small_papers
def test_on_small_papers_pages_are_called_by_their_numbers(
    language: str, paper: Paper, monkeypatch: pytest.MonkeyPatch
) -> None:
    small = told(language)["feed_test"]["two_sheets"]
    # Pages 3 and 4 are printed in the trial, on sheets 1 and 2.
    digits = re.findall(r"\d", re.sub(r"[a-z\d-]+\.pdf", "", small["feed"]))
    assert (digits.count("3"), digits.count("4"), set(digits)) == (1, 1, {*"1234"})
    _, rows = rows_of(monkeypatch, lambda: feed_test(paper, Flip.LONG, book(), language))
    called = [small["side"].format(number=number) for number in range(1, 5)]
    found = [[row.text for row in page if row.text in called] for page in by_page(rows)]
    assert found == [[one] for one in called]


@all_papers
def test_arabic_begins_at_the_right(paper: Paper, monkeypatch: pytest.MonkeyPatch) -> None:
    _, rows = rows_of(monkeypatch, lambda: feed_test(paper, Flip.LONG, book(), "ar"))
    title, about = told("ar")["feed_test"]["title"], told("ar")["feed_test"]["about"]
    whole = about.format(paper=paper.title)
    for page in by_page(rows):
        ends = {round(row.box.right, 3) for row in page if row.text in (title, whole)}
        assert len(ends) == 1, "title and line below it end together at the right"
