"""Orders: read, checked, made, checked again, kept, forgotten; and nothing private beyond them."""

from __future__ import annotations

import calendar
import codecs
import csv
import datetime as dt
import io
import json
import re
import shutil
import subprocess
import unicodedata
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import diskcache
import pypdfium2 as pdfium
import pytest
from lxml import etree
from pypdf import PdfReader
from typer.testing import CliRunner

from pipeline.app.orderform import read_orders
from pipeline.app.orders import (
    FINDINGS,
    OrderResult,
    OrderState,
    designs_not_passed,
    make_orders,
)
from pipeline.base.errors import UserError
from pipeline.cli import app
from pipeline.proof.approval.passed import (
    PageRecord,
    SetRecord,
    SetSentBack,
    Verdict,
    change_pass_file,
    pass_file,
)
from tests.bench.orders import AT, workspace
from tests.tools import tool

COLUMNS = (
    "order,season,sets,start,months,first_weekday,size,paper,language,days,buyer-name,buyer-line-1"
)
SEASON = "seasons/2027-range.toml"
GREEK, JAPANESE, ARABIC = "Ὀδυσσεὺς Μουστάκης", "苔野 花子", "مريم الحدّاد"
LONG = "Wilhelmina Anastasia Charlotte von und zu Oberunterammergauhausen-Niederwiesenthal"
PRIVATE = "Zephyrine Quillfeather"
SECRET_DAY = "Xanthippes Jubeltag"

ROWS = {
    "1001": ("weeks", "2027-03", "1", "monday", "a5", "a4", "de", "", GREEK, "Θεσσαλονίκη"),
    "1002": ("weeks", "2028-02", "1", "sunday", "a5", "letter", "en-GB", "", JAPANESE, ""),
    "1003": ("weeks", "2027-05", "1", "", "personal", "a4", "ar-EG", "", ARABIC, ""),
    "1004": ("weeks", "2027-13", "1", "", "a5", "a4", "de", "", "Ada", ""),
    "1005": ("weeks", "2027-03", "1", "", "a5", "a4", "de", "", LONG, ""),
    "1006": ("wekks", "2027-03", "1", "", "a5", "a4", "de", "", "Ada", ""),
    "1007": ("weeks", "2027-03", "1", "", "a5", "a4", "de", "", f"{LONG} | Willa Oberun", ""),
}
GOOD, BAD = ("1001", "1002", "1003", "1007"), ("1004", "1005", "1006")


def write(file: Path, rows: Mapping[str, Sequence[str]]) -> None:
    with file.open("w", encoding="utf-8", newline="") as opened:
        writer = csv.writer(opened)
        writer.writerow(COLUMNS.split(","))
        writer.writerows([name, SEASON, *row] for name, row in rows.items())


@dataclass
class Shop:
    """A workspace with an order form."""

    folder: Path

    @property
    def orders(self) -> Path:
        return self.folder / "orders.csv"

    @property
    def out(self) -> Path:
        return self.folder / "build"

    @property
    def finished(self) -> Path:
        return self.out / "orders/finished"

    def make(self) -> tuple[dict[str, OrderResult], list[str]]:
        told: list[UserError] = []
        made = make_orders(self.orders, self.out, at=AT, told=told.append)
        return {one.order: one for one in made}, [str(one) for one in told]

    def both_sides(self, order: str) -> Path:
        (file,) = (one for one in (self.finished / order / "buyer").glob("3-4-*.pdf"))
        return file


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """One whose orders are made once for all tests that only look at them."""
    shop = Shop(tmp_path_factory.mktemp("orders"))
    workspace(shop.folder)
    write(shop.orders, ROWS)
    return shop


@pytest.fixture(scope="module")
def run(shop: Shop) -> tuple[dict[str, OrderResult], list[str]]:
    return shop.make()


@pytest.fixture
def own_shop(tmp_path: Path) -> Shop:
    workspace(tmp_path)
    return Shop(tmp_path)


def test_three_bad_rows_are_told_and_the_others_made(
    shop: Shop, run: tuple[dict[str, OrderResult], list[str]]
) -> None:
    results, told = run
    file = str(shop.orders)
    assert sorted(told) == [
        f"{file}, line 5, column 'start': '2027-13' isn't a valid month; write year and month,"
        ' such as "2027-03"',
        f"{file}, line 6, column 'buyer-name': needs 135.6 mm on opening, set as small as 85%, and"
        " has 84.3 mm; shorten it, or add a shorter form after '|'",
        f"{file}, line 7, column 'sets': the season has no set 'wekks'; did you mean 'weeks'?",
    ]
    assert sorted(one.name for one in shop.finished.iterdir()) == sorted(GOOD)
    assert all(results[name].state is OrderState.MADE for name in GOOD)
    for name in GOOD:
        folder = shop.finished / name
        with zipfile.ZipFile(folder / f"{name}.zip") as packed:
            within = {Path(one).name: packed.read(one) for one in packed.namelist()}
        assert within == {one.name: one.read_bytes() for one in (folder / "buyer").iterdir()}


# What is printed


@dataclass(frozen=True)
class Word:
    """A word as poppler finds it, in points from the top left of its page."""

    text: str
    left: float
    right: float
    top: float

    @property
    def middle(self) -> float:
        return (self.left + self.right) / 2


BOX = ("xMin", "xMax", "yMin")


def words(file: Path, page: int = 1) -> list[Word]:
    asked = [tool("pdftotext"), "-bbox", "-f", f"{page}", "-l", f"{page}", str(file), "-"]
    html = subprocess.run(asked, capture_output=True, check=True).stdout
    root = etree.fromstring(html, etree.XMLParser(recover=True))
    return [
        Word(
            plain(word.text or ""),
            *(float(word.get(at) or "nan") for at in ("xMin", "xMax", "yMin")),
        )
        for word in root.iter("{*}word")
    ]


def plain(text: str) -> str:
    """A text without the signs that say which way it runs."""
    kept = (one for one in text if unicodedata.category(one) != "Cf")
    return unicodedata.normalize("NFC", "".join(kept))


@pytest.mark.parametrize(
    ("order", "name"),
    [("1001", GREEK), ("1002", JAPANESE), ("1003", ARABIC), ("1007", "Willa Oberun")],
)
@pytest.mark.usefixtures("run")
def test_names_of_any_script_are_set_in_their_place(shop: Shop, order: str, name: str) -> None:
    """Poppler finds the letters, which are embedded, within the width that the page has for it."""
    file = shop.both_sides(order)
    asked = [tool("pdftotext"), "-f", "1", "-l", "1", str(file), "-"]
    said = plain(subprocess.run(asked, capture_output=True, check=True).stdout.decode())
    assert plain(name) in said
    fonts = subprocess.run([tool("pdffonts"), str(file)], capture_output=True, check=True).stdout
    assert all(re.search(rb" yes yes yes +\d+ +0$", line) for line in fonts.splitlines()[2:])
    if order != "1003":  # whose sheet holds two leaves that are turned
        found = [one for one in words(file) if one.text in plain(name).split()]
        assert len(found) == len(name.split())
        wide = max(one.right for one in found) - min(one.left for one in found)
        assert 20 < wide <= 84.33 * 72 / 25.4
        assert max(one.top for one in found) - min(one.top for one in found) < 2


@pytest.mark.parametrize(
    ("order", "month", "first", "heading"),
    [("1001", dt.date(2027, 3, 1), 0, "März"), ("1002", dt.date(2028, 2, 1), 6, "February")],
)
@pytest.mark.usefixtures("run")
def test_dates_are_those_of_the_month_and_weekday_ordered(
    shop: Shop, order: str, month: dt.date, first: int, heading: str
) -> None:
    """The small month as poppler reads it, against Python's ``calendar``, a leap year's too.

    The set has the weeks that begin in the month, and the last of them is shown whole.
    """
    found = words(shop.both_sides(order))
    *_, top, _slug_line = sorted(one.top for one in found if one.text == heading)
    low = [one for one in found if top + 4 < one.top < top + 110]
    figures = [one for one in low if re.fullmatch(r"\d{1,2}", one.text)]
    rows: dict[int, list[Word]] = {}
    for one in figures:
        rows.setdefault(round(one.top / 4), []).append(one)
    columns = sorted({round(one.middle) for one in low if re.fullmatch(r"[A-Z]", one.text)})
    assert len(columns) == 7
    seen = [
        [next((int(one.text) for one in row if abs(one.middle - at) < 4), 0) for at in columns]
        for _, row in sorted(rows.items())
    ]
    weeks = calendar.Calendar(first).monthdatescalendar(month.year, month.month)
    own = [
        [day.day if month.month in (day.month, week[0].month) else 0 for day in week]
        for week in weeks
    ]
    assert seen == own


# Kept, changed, forgotten


def test_done_orders_are_kept_and_changed_ones_made_again(own_shop: Shop) -> None:
    rows = {name: list(ROWS[name]) for name in GOOD[:3]}
    write(own_shop.orders, rows)
    own_shop.make()
    before = {one: one.stat().st_mtime_ns for one in own_shop.finished.rglob("*.pdf")}
    rows["1002"][8] = "Bo Thistle"
    write(own_shop.orders, rows)
    shutil.rmtree(own_shop.finished / "1003/buyer")  # as if it was ended on the way
    results, told = own_shop.make()
    assert told == []
    assert {name: one.state.value for name, one in results.items()} == {
        "1001": "as before",
        "1002": "made",
        "1003": "made",
    }
    after = {one: one.stat().st_mtime_ns for one in own_shop.finished.rglob("*.pdf")}
    assert set(after) == set(before)
    kept = {one for one in after if after[one] == before[one]}
    assert {one.relative_to(own_shop.finished).parts[0] for one in kept} == {"1001"}
    assert "Bo Thistle" in text_of(own_shop.both_sides("1002").read_bytes())
    results, _ = own_shop.make()
    assert {one.state for one in results.values()} == {OrderState.UNCHANGED}


def test_an_order_is_forgotten(own_shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    write(own_shop.orders, {"1001": ROWS["1001"]})
    own_shop.make()
    monkeypatch.chdir(own_shop.folder)
    done = CliRunner().invoke(app, ["order", "orders.csv", "--forget", "1001"])
    assert done.exit_code == 0
    assert "finished/1001 is taken away" in done.output
    assert "is yours to delete" in done.output
    assert list(own_shop.finished.iterdir()) == []
    for name in ("1001", "../finished"):
        again = CliRunner().invoke(app, ["order", "orders.csv", "--forget", name])
        assert isinstance(again.exception, UserError)


def test_an_order_whose_check_is_not_clean_waits(own_shop: Shop) -> None:
    """A name that lies on the month's: only an order has it, and no person has looked at it."""
    page = own_shop.folder / "templates_svg/plain_days/a5/opening.svg"
    drawn = page.read_text("utf-8")
    page.write_text(
        re.sub(r'(<g id="buyer-name">.*?)y="16.8"', r'\1y="32.5"', drawn, flags=re.S)
        .replace('text-anchor="end" x="142.0" y="32.5"', 'x="58" y="32.5"'),
        "utf-8",
    )  # fmt: skip
    row = list(ROWS["1001"])
    row[0:3] = ["weeks", "2027-03", "6"]  # whose title is long enough to lie under it
    write(own_shop.orders, {"1001": row, "1003": ROWS["1003"]})
    results, _ = own_shop.make()
    assert results["1003"].state is OrderState.MADE
    assert results["1001"].state is OrderState.WAITING
    assert "text-overlaps" in results["1001"].why
    assert GREEK.split()[0] not in results["1001"].why
    assert [one.name for one in own_shop.finished.iterdir()] == ["1003"]
    waiting = own_shop.out / "orders/waiting/1001"
    assert "text-overlaps" in {one["code"] for one in json.loads((waiting / FINDINGS).read_bytes())}
    page.write_text(drawn, "utf-8")
    assert own_shop.make()[0]["1001"].state is OrderState.MADE
    assert not waiting.exists()


def test_designs_that_nobody_passed_are_named(own_shop: Shop) -> None:
    """Passing is of the design: it counts for orders of other months, not for another size."""
    a5 = ROWS["1001"]
    personal = [*a5[:4], "personal", *a5[5:]]
    write(own_shop.orders, {"1001": a5, "1002": personal})
    both = ["weeks/a5-a4-de", "weeks/personal-a4-de"]
    assert designs_not_passed(own_shop.orders) == both
    seen = Verdict("", "", "", "Ada", AT)
    record = SetRecord({"leaf-000-recto": PageRecord(passed=seen)})
    path = pass_file(own_shop.folder / SEASON)
    change_pass_file(path, lambda known: known.having("spring/weeks/a5-a4-de", record))
    assert designs_not_passed(own_shop.orders) == both[1:]
    back = replace(record, sent_back=SetSentBack("", "Ada", AT, ""))
    change_pass_file(path, lambda known: known.having("spring/weeks/a5-a4-de", back))
    assert designs_not_passed(own_shop.orders) == both


# What nobody else is to know


def text_of(pdf: bytes) -> str:
    document = pdfium.PdfDocument(pdf)
    said = "\n".join(page.get_textpage().get_text_bounded() for page in document)
    about = "\n".join(str(value) for value in document.get_metadata_dict().values())
    document.close()
    return plain(f"{said}\n{about}")


def ways_to_write(text: str) -> Iterator[bytes]:
    """A text as files may hold it; in PDF as UTF-16, in hexadecimal figures, and escaped."""
    for one in (text, *text.split()):
        yield one.encode()
        for order in ("utf-16-be", "utf-16-le"):
            yield one.encode(order)
        yield one.encode("utf-16-be").hex().upper().encode()
        yield one.encode("utf-16-be").hex().encode()
        yield codecs.encode(one, "unicode_escape")


def kept_in(cache: Path) -> dict[str, bytes]:
    with diskcache.Cache(str(cache)) as store:
        return {str(key): store.get(key)[32:] for key in store}


def tells(data: bytes, text: str) -> bool:
    """Whether a file tells a text: in its bytes, or in what a reader gets out of a PDF or a zip."""
    if any(way in data for way in ways_to_write(text)):
        return True
    if data.startswith(b"%PDF"):
        return any(one in text_of(data) for one in (text, *text.split()))
    if data.startswith(b"PK"):
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            return any(tells(packed.read(name), text) for name in packed.namelist())
    return False


def test_private_data_lie_in_the_buyers_folder_alone(
    own_shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Found in that folder by the same means that find it nowhere else, in no cache and no output.

    The name has a filter in this drawing: what is filtered becomes a picture, which builds keep.
    """
    page = own_shop.folder / "templates_svg/plain_days/a5/opening.svg"
    drawn = page.read_text("utf-8").replace(
        '<g id="buyer-name">',
        '<defs><filter id="soft"><feGaussianBlur stdDeviation="0.1"/></filter></defs>'
        '<g id="buyer-name" filter="url(#soft)">',
    )
    page.write_text(drawn, "utf-8")
    days = f"03-14 {SECRET_DAY}, born 1987"
    row = ("weeks", "2027-03", "1", "monday", "a5", "a4", "en-GB")
    write(own_shop.orders, {"1001": (*row, "03-14 Ada, born 1987", "Ada Moss", "Line")})
    own_shop.make()
    before = kept_in(own_shop.out / ".cache")
    write(own_shop.orders, {"1002": (*row, days, PRIVATE, PRIVATE.split()[1])})
    monkeypatch.chdir(own_shop.folder)
    done = CliRunner().invoke(app, ["order", "orders.csv"])
    assert done.exit_code == 0, done.output
    assert "1002" in done.output
    kept = kept_in(own_shop.out / ".cache")
    assert set(kept) == set(before), "an order that differs in what is private adds nothing"
    own = own_shop.finished / "1002"
    for secret in (PRIVATE, SECRET_DAY):
        assert not tells(done.output.encode(), secret)
        assert not any(tells(data, secret) for data in kept.values())
        inside = [one for one in own.rglob("*") if one.is_file()]
        assert any(tells(one.read_bytes(), secret) for one in inside)
        outside = [
            one
            for one in own_shop.folder.rglob("*")
            if one.is_file() and one not in inside and one != own_shop.orders
        ]
        assert outside
        assert [one for one in outside if tells(one.read_bytes(), secret)] == []
        for file in own.rglob("*.pdf"):  # no title of a file tells it either
            about = PdfReader(file)
            assert secret not in f"{about.metadata} {about.outline}"
    assert (own_shop.out / "orders").stat().st_mode & 0o077 == 0


# Reading the form


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"order": ""}, "column 'order': is empty"),
        ({"order": "../1"}, "column 'order': '../1' cannot be the name of a folder"),
        ({"season": "seasons/2027-rang.toml"}, "did you mean '2027-range.toml'?"),
        ({"start": "Mar 27"}, "column 'start': 'Mar 27' isn't a valid month"),
        ({"start": "1200-01"}, "column 'start': lies outside the years"),
        ({"months": "25"}, "column 'months': '25' isn't a number of months from 1 to 24"),
        ({"first_weekday": "mondy"}, "column 'first_weekday': 'mondy' isn't a weekday"),
        ({"size": "a6"}, "column 'size': the season offers no 'a6'"),
        ({"paper": "a3"}, "column 'paper': the season offers no 'a3'"),
        ({"language": "ja"}, "column 'language': the season offers no 'ja'"),
        ({"days": "Ada"}, "column 'days': its day 1 isn't a date and a name"),
        ({"days": "05-14 A; 13-01 B"}, "column 'days': its day 2 has a date or year"),
        ({"days": "2027-09-01 A"}, "column 'days': its day 1 lies outside the months"),
        ({"buyer-name": "A |"}, "column 'buyer-name': has an empty form"),
        ({"buyer-name": "A\x07"}, "column 'buyer-name': has a sign that nothing can show"),
    ],
)
def test_what_is_wrong_with_a_row_is_told_by_its_column(
    shop: Shop, changed: dict[str, str], said: str
) -> None:
    row = dict(zip(COLUMNS.split(","), ["1", SEASON, *ROWS["1001"]], strict=True)) | changed
    file = shop.folder / "one.csv"
    with file.open("w", encoding="utf-8", newline="") as opened:
        writer = csv.DictWriter(opened, COLUMNS.split(","))
        writer.writeheader()
        writer.writerow(row)
    read = read_orders(file)
    assert read.orders == ()
    (problem,) = read.mistakes
    assert said in str(problem)
    assert "line 2" in str(problem)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("order,sets\n1,weeks\n", "has no column 'season'"),
        ("order,season,buyer-nam\n", "there is no column 'buyer-nam'; did you mean 'buyer-name'?"),
        ("order,order,season\n", "has the column 'order' twice"),
        ("order,season\n", "has no orders in it"),
        ("", "has no column 'order'"),
    ],
)
def test_a_form_that_is_none_is_refused(shop: Shop, text: str, said: str) -> None:
    file = shop.folder / "none.csv"
    file.write_text(text)
    with pytest.raises(UserError, match=re.escape(said)):
        read_orders(file)


def test_json_lines_a_folder_and_semicolons_say_the_same(shop: Shop) -> None:
    folder = shop.folder / "forms"
    folder.mkdir()
    season = f"../{SEASON}"
    days = ["05-14 Ada, born 1987", "05-15 Bo"]
    line = {"order": 1, "season": season, "start": "2027-05", "months": 1, "days": days,
            "buyer-name": ["Ada Moss", "Ada"], "sets": ["weeks", "days"]}  # fmt: skip
    (folder / "a.jsonl").write_text(json.dumps(line) + "\n[1]\n{\n" + '{"ordr": "1"}\n')
    (folder / "b.csv").write_text(
        "\ufefforder;season;start;months;days;buyer-name;sets\n"
        f'2;{season};2027-05;1;"05-14 Ada, born 1987; 05-15 Bo";Ada Moss|Ada;weeks days\n'
        f"1;{season};2027-05;1;;;\n",
        encoding="utf-8",
    )
    read = read_orders(folder)
    one, two = read.orders
    assert (one.values, one.buyer) == (two.values, two.buyer)
    assert one.buyer.texts == {"buyer-name": ("Ada Moss", "Ada")}
    assert one.buyer.days[dt.date(2027, 5, 14)] == ("Ada (40)",)
    said = [str(problem) for problem in read.mistakes]
    assert "line 2: isn't an object" in said[0]
    assert "line 3: isn't a line of JSON" in said[1]
    assert "line 4: there is no column 'ordr'; did you mean 'order'?" in said[2]
    assert "b.csv, line 3, column 'order': order '1' is there already, in line 1 of" in said[3]


def test_the_form_of_a_season_is_an_order_that_can_be_made(
    own_shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(own_shop.folder)
    ask = ["order", "forms/orders.csv", "--form", SEASON]
    (own_shop.folder / "forms").mkdir()
    assert CliRunner().invoke(app, ask).exit_code == 0
    assert isinstance(CliRunner().invoke(app, ask).exception, UserError)  # none is written over
    (order,) = read_orders(own_shop.folder / "forms/orders.csv").orders
    assert set(order.buyer.texts) == {"buyer-name", "buyer-line-1"}
    assert order.buyer.days


def test_ordinary_sets_have_the_place_and_nothing_in_it(own_shop: Shop) -> None:
    """An order without a name prints as a build does: the sample goes, and nothing comes."""
    write(own_shop.orders, {"1001": (*ROWS["1001"][:8], "", "")})
    results, _ = own_shop.make()
    assert results["1001"].state is OrderState.MADE
    said = text_of(own_shop.both_sides("1001").read_bytes())
    assert "Ada Moss" not in said
    assert "moss.example" not in said


def test_what_no_page_shows_is_not_taken(own_shop: Shop) -> None:
    row = list(ROWS["1001"])
    row[0] = "dividers"
    write(own_shop.orders, {"1001": row})
    _, (told,) = own_shop.make()
    assert "column 'buyer-name': no page of these sets shows it; draw a text named" in told
