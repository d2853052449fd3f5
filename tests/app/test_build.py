"""The demo season as a whole: what is made, what it says, and that it stays whole."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import subprocess
from pathlib import Path

import pypdf
import pytest

from pipeline.app.build import make_season
from pipeline.app.buildrecord import RECORD, BuildRecord, unchanged
from pipeline.base.errors import UserError
from pipeline.plan.model import Side
from pipeline.proof.read.text import LeafText
from tests.conftest import ROOT, Demo
from tests.set_text import read_set
from tests.tools import tool

SEASON = ROOT / "seasons" / "2027-spring.toml"
PERIODS = ("march", "april", "may", "quarter")
DATED = ("two-flap-sowing", "two-flap-list", "running")
PAPERS = ("letter", "a4")
FILES = ("side-1.pdf", "side-2.pdf", "both-sides.pdf")
MONDAY = dt.date(2027, 3, 1)
WEEKS = {
    "march": (MONDAY, 4),
    "april": (MONDAY + dt.timedelta(weeks=4), 5),
    "may": (MONDAY + dt.timedelta(weeks=9), 4),
    "quarter": (MONDAY, 13),
}
"""First Monday and number of weeks: each week belongs to the month with most of its days."""


def all_sets() -> list[tuple[str, str, str]]:
    dated = [(period, name, paper) for period in PERIODS for name in DATED for paper in PAPERS]
    return dated + [("undated", "plant-record", paper) for paper in PAPERS]


def test_every_set_period_and_paper_has_its_three_files(demo: Demo) -> None:
    made = {demo.out / one.folder for one in demo.made}
    assert made == {demo.folder(*which) for which in all_sets()}
    for folder in made:
        assert {path.name for path in folder.iterdir()} == {*FILES, "contents.json"}


@pytest.mark.parametrize(
    ("name", "leaves"), [("running", 14), ("two-flap-sowing", 15), ("two-flap-list", 27)]
)
def test_the_quarter_s_thirteen_weeks_make_so_many_leaves(
    name: str, leaves: int, demo: Demo
) -> None:
    folder = demo.folder("quarter", name, "letter")
    (one,) = (one for one in demo.made if demo.out / one.folder == folder)
    assert (one.leaves, one.sheets) == (leaves, leaves)
    pages = {file: len(pypdf.PdfReader(folder / file).pages) for file in FILES}
    assert pages == {"side-1.pdf": leaves, "side-2.pdf": leaves, "both-sides.pdf": 2 * leaves}


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", DATED)
@pytest.mark.parametrize("period", PERIODS)
def test_every_day_stands_once_on_the_right_face_in_the_right_order(
    period: str, name: str, paper: str, demo: Demo
) -> None:
    """Read back by pdfium from the finished files; the days come from the calendar alone."""
    said = read_set(demo.folder(period, name, paper))
    first, weeks = WEEKS[period]
    step = 2 if name == "two-flap-list" else 1
    left = 3 if name == "running" else 5  # the two-flap week keeps its weekend to itself
    for week in range(weeks):
        days = [first + dt.timedelta(weeks=week, days=day) for day in range(7)]
        spread = step * week
        assert days_on(said, spread, Side.VERSO) == labels(days[:left])
        assert days_on(said, spread + 1, Side.RECTO) == labels(days[left:])
    dated = {(text.leaf, text.face) for text in said if is_day_name(text)}
    assert len(dated) == 2 * weeks, "no day stands anywhere else"


def is_day_name(text: LeafText) -> bool:
    names = {(MONDAY + dt.timedelta(days=day)).strftime("%A") for day in range(7)}
    return text.text in names


def labels(days: list[dt.date]) -> list[tuple[str, str]]:
    return [(day.strftime("%A"), str(day.day)) for day in days]


def days_on(said: tuple[LeafText, ...], leaf: int, face: Side) -> list[tuple[str, str]]:
    """Day names and day numbers on a face, each in reading order."""
    page = [text for text in said if (text.leaf, text.face) == (leaf, face)]
    names = [text for text in page if is_day_name(text)]
    # Below the head, and larger than the figures of small months, there are none but theirs.
    numbers = [t for t in page if t.text.isdigit() and t.box.height > 2.7 and t.box.y > 26]
    pairs = zip(in_reading_order(names), in_reading_order(numbers), strict=True)
    return [(name.text, number.text) for name, number in pairs]


def in_reading_order(texts: list[LeafText]) -> list[LeafText]:
    rows: list[list[LeafText]] = []
    for text in sorted(texts, key=lambda text: text.box.y):
        if not rows or text.box.y - rows[-1][0].box.y > 6:
            rows.append([])
        rows[-1].append(text)
    return [text for row in rows for text in sorted(row, key=lambda text: text.box.x)]


def test_week_numbers_and_ranges_are_iso_s_and_cross_the_months(demo: Demo) -> None:
    said = read_set(demo.folder("quarter", "running", "a4"))
    texts = {(text.leaf, text.text) for text in said}
    for week in range(13):
        monday = MONDAY + dt.timedelta(weeks=week)
        assert (week + 1, str(monday.isocalendar().week)) in texts
    # CLDR parts days and dash by thin spaces; readers differ in how they give those back.
    assert "29March–4April" in {"".join(text.split()) for _, text in texts}


@pytest.mark.parametrize("which", all_sets(), ids="-".join)
def test_slug_lines_count_the_sheets(which: tuple[str, str, str], demo: Demo) -> None:
    for side, file in ((1, "side-1.pdf"), (2, "side-2.pdf")):
        reader = pypdf.PdfReader(demo.folder(*which) / file)
        for number, page in enumerate(reader.pages, 1):
            text = " ".join(page.extract_text().split())
            assert f"sheet {number} of {len(reader.pages)}" in text
            assert f"side {side}" in text
            assert "print at 100 %" in text.replace("\u00a0", " ").replace("\u202f", " ")
            assert "100 mm" in text


def test_built_twice_the_files_are_the_same_to_the_byte(demo: Demo, tmp_path: Path) -> None:
    for name in ("running", "plant-record"):
        for one in make_season(SEASON, tmp_path, only=name):
            for file in (*FILES, "contents.json"):
                later = (tmp_path / one.folder / file).read_bytes()
                assert later == (demo.out / one.folder / file).read_bytes()


def test_contents_tell_each_file_s_digest(demo: Demo) -> None:
    folder = demo.folder("march", "running", "a4")
    for entry in json.loads((folder / "contents.json").read_text("utf-8"))["files"]:
        data = (folder / entry["name"]).read_bytes()
        assert hashlib.sha256(data).hexdigest() == entry["sha256"]


@pytest.mark.parametrize("which", all_sets(), ids="-".join)
def test_other_readers_find_the_files_sound_and_all_faces_embedded(
    which: tuple[str, str, str], demo: Demo
) -> None:
    for file in FILES:
        path = demo.folder(*which) / file
        check = subprocess.run(
            [tool("qpdf"), "--check", path], capture_output=True, text=True, check=False
        )
        assert check.returncode == 0, check.stdout + check.stderr
        fonts = subprocess.run(
            [tool("pdffonts"), path], capture_output=True, text=True, check=True
        ).stdout.splitlines()[2:]
        assert fonts
        for line in fonts:
            assert line.split()[-5:-2] == ["yes", "yes", "yes"], line  # embedded, subset, unicode


def test_nothing_is_rasterised(demo: Demo) -> None:
    for name in DATED:
        reader = pypdf.PdfReader(demo.folder("march", name, "a4") / "both-sides.pdf")
        for number in range(1, len(reader.xref[0]) + 1):
            item = reader.get_object(number)
            assert not (isinstance(item, dict) and item.get("/Subtype") == "/Image")


def test_a_failed_build_leaves_the_earlier_one_in_place(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    season, out = shop / "seasons" / "small.toml", shop / "build"
    before = digests(out / make_season(season, out)[0].folder)

    def interrupted(*_: object, **__: object) -> bytes:
        raise KeyboardInterrupt

    labels = shop / "templates_svg" / "kitchen_garden" / "labels" / "en.toml"
    labels.write_text(labels.read_text("utf-8").replace('"week"', '"the week"'), "utf-8")
    monkeypatch.setattr("pipeline.app.jobs.contents_json", interrupted)
    with pytest.raises(KeyboardInterrupt):
        make_season(season, out)
    monkeypatch.undo()
    broken = shop / "templates_svg" / "kitchen_garden" / "a5" / "closing.svg"
    broken.write_text("<svg", "utf-8")
    with pytest.raises(UserError):
        make_season(season, out)
    folder = out / "small" / "march" / "running" / "a5-a4-en-GB"
    assert digests(folder) == before
    assert [path.name for path in folder.parent.iterdir()] == [folder.name], "nothing left over"


def digests(folder: Path) -> dict[str, str]:
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.iterdir()}


def test_sets_a_season_no_longer_asks_for_go_with_a_whole_build(shop: Path) -> None:
    season, out = shop / "seasons" / "small.toml", shop / "build"
    (one,) = make_season(season, out)
    text = season.read_text("utf-8")
    season.write_text(text.replace('name = "march"', 'name = "spring"'), "utf-8")
    make_season(season, out, only="running")
    assert (out / one.folder).exists(), "a build of one set takes nothing away"
    (mine,) = make_season(season, out)
    assert (out / mine.folder).exists()
    assert not (out / one.folder).exists()


def test_a_season_without_any_text_is_made_and_then_up_to_date(shop: Path) -> None:
    """It has no type to show, so it has no specimen sheet, not even an earlier build's."""
    season, out = shop / "seasons" / "small.toml", shop / "build"
    season.write_text(
        season.read_text("utf-8").partition("[[set]]")[0]
        + '[[set]]\nname = "ruled"\ntitle = "Ruled"\nleaves = [{ recto = "ruled" }]\n',
        "utf-8",
    )
    page = shop / "templates_svg" / "kitchen_garden" / "a5" / "ruled.svg"
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="148mm" height="210mm"'
    text = "<text x='20' y='40' font-family='EB Garamond'>Beans</text>"
    page.write_text(f'{head} viewBox="0 0 148 210">{text}</svg>', "utf-8")
    make_season(season, out)
    assert (out / "small" / "specimen.pdf").is_file()
    page.write_text(f'{head} viewBox="0 0 148 210"><path d="M20 20h100v1H20z"/></svg>', "utf-8")
    made = make_season(season, out)
    assert [one.name for one in made] == ["ruled"]
    assert not (out / "small" / "specimen.pdf").exists()
    assert unchanged(season, out) == made


def test_a_build_record_that_cannot_be_read_is_none_and_a_newer_one_is_refused(shop: Path) -> None:
    season, out = shop / "seasons" / "small.toml", shop / "build"
    make_season(season, out)
    record = out / "small" / RECORD
    good = json.loads(record.read_text())
    assert good["schema_version"] == BuildRecord.NEWEST
    assert unchanged(season, out) is not None
    for bad in ("<<<<<<< HEAD", "[]", json.dumps({**good, "inputs": 3})):
        record.write_text(bad)
        assert unchanged(season, out) is None
    record.write_text(json.dumps({**good, "schema_version": BuildRecord.NEWEST + 1}))
    with pytest.raises(UserError, match="written by a newer leafset"):
        unchanged(season, out)


@pytest.mark.parametrize(
    ("name", "on_the_left"),
    [("two-flap-sowing", 5), ("running", 3)],
)
def test_text_is_read_from_its_heading_to_its_days_in_order(
    name: str, on_the_left: int, demo: Demo
) -> None:
    """By poppler, in the order in which texts are painted (``pdftotext -raw``)."""
    path = demo.folder("march", name, "a4") / "both-sides.pdf"
    command = [tool("pdftotext"), "-raw", "-f", "2", "-l", "3", "-enc", "UTF-8", str(path), "-"]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    left, right = (" ".join(page.split()) for page in told.split("\f")[:2])
    days = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"]
    for page, heading, own in (
        (left, "March 1–7 March", days[:on_the_left]),
        (right, "9", days[on_the_left:]),
    ):
        assert [day for day in days if day in page] == own
        places = [page.index(words) for words in (heading, *own)]
        assert places == sorted(places)
