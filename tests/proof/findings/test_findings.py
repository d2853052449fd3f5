"""Where findings say they are, and what they say, held against what was done to the page."""

from __future__ import annotations

import datetime as dt
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

import pytest

from pipeline import cli
from pipeline.app.build import make_season
from pipeline.app.check import as_data, as_rows, totals
from pipeline.base.cache import Cache
from pipeline.base.errors import UserError
from pipeline.base.findings import Severity
from pipeline.base.geometry import Rect
from pipeline.plan.model import Side
from pipeline.proof import findings
from pipeline.proof.findings import SetFinding, findings_of
from pipeline.proof.findings.subject import Shape, Subject
from pipeline.proof.read.text import spelling
from tests.proof.findings.garden import RECTO, VERSO, Garden
from tests.proof.findings.mutations import _added, _renamed, _words
from tests.tools import tool


def test_a_wrong_weekday_is_found_where_it_stands(cache: Path, tmp_path: Path) -> None:
    garden = Garden.planted(tmp_path / "garden", "en-GB", cache)
    garden.redraw(RECTO, _renamed(day5_name="day6-name", day6_name="day5-name"))
    garden.build()
    found = garden.check()
    assert [one.message for one in found] == [
        "'Saturday' stands beside 5 March 2027, a Friday",
        "'Friday' stands beside 6 March 2027, a Saturday",
        "'Saturday' stands beside 12 March 2027, a Friday",
        "'Friday' stands beside 13 March 2027, a Saturday",
    ]
    for one, day in zip(found, (5, 6, 12, 13), strict=True):
        # The figures are right; what the standard library calls those days is in the message.
        assert f"a {dt.date(2027, 3, day):%A}" in one.message
        assert one.severity is Severity.MUST
    first = found[0]
    assert (first.set, first.sheet, first.side) == ("weeks/two-flaps/a5-a4-en-GB", 2, 1)
    assert (first.leaf, first.face) == (1, Side.RECTO)
    assert first.place is not None
    drawn = Rect(90, 29.73, 8, 8.58)  # the box of day5-number in the template
    assert drawn.holds(first.place)


@pytest.mark.parametrize(("language", "fold"), [("en-GB", 42), ("ar-EG", 148)])
def test_a_fold_is_where_the_flap_begins_whatever_the_binding(
    language: str, fold: float, cache: Path, tmp_path: Path
) -> None:
    garden = Garden.planted(tmp_path / "garden", language, cache)
    garden.redraw(VERSO, _added(_words("2 kg", 40, 180)))
    garden.build()
    (one,) = garden.check()
    assert one.rule == "text-across-fold"
    assert one.place is not None
    assert one.place.x < fold < one.place.right
    weeks = len(garden.plan.sets[0].spreads)  # Saturday begins a third one in Egypt
    assert one.also == tuple((leaf, Side.VERSO) for leaf in range(1, weeks))


def test_a_finding_for_every_week_is_one_with_its_pages(cache: Path, tmp_path: Path) -> None:
    garden = Garden.planted(tmp_path / "garden", "en-GB", cache)
    garden.redraw(VERSO, _added(_words("peas", 100, 3.2)))
    garden.build()
    (one,) = garden.check()
    assert "'peas' is 1" in one.message, "the letters end about 1 mm from the upper edge"
    assert (one.leaf, one.face, one.also) == (0, Side.VERSO, ((1, Side.VERSO),))


@pytest.mark.parametrize("gone", ["side-1.pdf", "side-2.pdf", "both-sides.pdf"])
def test_what_can_be_read_is_still_checked(gone: str, cache: Path, tmp_path: Path) -> None:
    """Both faces are in two files each: a fault of either is found though one file is gone."""
    garden = Garden.planted(tmp_path / "garden", "en-GB", cache)
    garden.redraw(VERSO, _added(_words("peas", 100, 3.2)))
    garden.redraw(RECTO, _renamed(day5_name="day6-name", day6_name="day5-name"))
    garden.build()
    (garden.set_folder / gone).unlink()
    found = garden.check()
    assert [one.message for one in found if one.rule == "file-unreadable"] == [f"{gone} is missing"]
    assert {one.rule for one in found} == {"file-unreadable", "text-unsafe", "date-weekday"}


def test_a_changed_file_is_found_beside_what_need_only_be_looked_at(
    cache: Path, tmp_path: Path
) -> None:
    garden = Garden.planted(tmp_path / "garden", "en-GB", cache)
    garden.redraw(VERSO, _added("<path d='M60 150h80' stroke='#6f8f5f' stroke-width='0.1'/>"))
    garden.build()
    garden.rewrite("side-2.pdf", lambda writer: None)
    assert [one.rule for one in garden.check()] == ["file-changed", "hairline"]


@pytest.mark.parametrize(
    ("options", "rule", "said"),
    [
        (["--encrypt", "", "owner", "256", "--print=none", "--"], "file-locked", "is locked"),
        (["--encrypt", "user", "owner", "256", "--"], "file-unreadable", "asks for a password"),
        (["--rotate=+90:1"], "page-rotated", "(page 1) is turned by 90°"),
        (
            ["--object-streams=generate"],
            "file-changed",
            "was changed or saved again after the build",
        ),
        (["--linearize"], "file-changed", "was changed or saved again after the build"),
    ],
)
def test_what_another_program_did_to_a_file_is_said(
    options: list[str], rule: str, said: str, sound: Garden, tmp_path: Path
) -> None:
    """qpdf locks, turns, packs and re-orders files in its own way (ISO 32000-1, Annex F, 7.5.7)."""
    shutil.copytree(sound.folder, tmp_path / "garden")
    garden = replace(sound, folder=tmp_path / "garden")
    path = garden.set_folder / "side-1.pdf"
    subprocess.run([tool("qpdf"), "--replace-input", path, *options], check=True)
    (one,) = garden.check()
    assert (one.rule, one.sheet) == (rule, 1 if rule == "page-rotated" else None)
    assert "side-1.pdf" in one.message
    assert said in one.message


@pytest.mark.parametrize(
    "printer",
    [
        'flip = "short"',
        "back_shift_mm = [0.7, -1.2]",
        'flip = "short"\nback_shift_mm = [-0.5, 0.4]',
        "reverse_side_2 = true",
        "unprintable_mm = 3",
    ],
)
@pytest.mark.parametrize("language", ["en-GB", "ar-EG"])
def test_marks_are_where_they_must_be_for_every_printer(
    printer: str, language: str, cache: Path, tmp_path: Path
) -> None:
    garden = Garden.planted(tmp_path / "garden", language, cache)
    text = garden.season_file.read_text("utf-8")
    garden.season_file.write_text(
        text.replace("[[period]]", f"[printer]\n{printer}\n[[period]]", 1), "utf-8"
    )
    garden.build()
    assert garden.check() == ()


MONTH = """
[[set]]
name = "month"
title = "Month"
spreads = [{ verso = "month-left", recto = "month-right", per = "month" }]
"""


def month_page(days: range, *, exchanged: tuple[int, int] | None = None) -> str:
    """A page that lists days, a row each: its figure, and its name right of it."""
    rows = []
    for row, day in enumerate(days):
        y = 20 + 10 * row
        name = day
        if exchanged and day in exchanged:
            name = exchanged[1 - exchanged.index(day)]
        rows.append(
            f'<g id="date{day}-number"><rect x="30" y="{y - 5}" width="10" height="7"'
            f' fill="none"/><text x="30" y="{y}">{day}</text></g>'
            f'<g id="date{name}-name"><rect x="45" y="{y - 5}" width="40" height="7"'
            f' fill="none"/><text x="45" y="{y}">Monday</text></g>'
        )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="148mm" height="210mm"'
        ' viewBox="0 0 148 210" font-family="Source Sans 3" font-size="4" fill="#555">'
        f"{''.join(rows)}</svg>"
    )


@pytest.mark.parametrize(
    ("exchanged", "codes"),
    [(None, []), ((3, 4), ["date-weekday", "date-weekday"]), ((5, 12), [])],
)
def test_a_page_for_a_month_is_read_day_by_day(
    exchanged: tuple[int, int] | None, codes: list[str], cache: Path, tmp_path: Path
) -> None:
    """Exchanging the names of two days a week apart makes no difference, and none is found."""
    garden = Garden.planted(tmp_path / "garden", "en-GB", cache)
    drawn = garden.folder / "templates_svg" / "kitchen_garden" / "a5"
    (drawn / "month-left.svg").write_text(month_page(range(1, 17), exchanged=exchanged), "utf-8")
    (drawn / "month-right.svg").write_text(month_page(range(17, 32)), "utf-8")
    text = garden.season_file.read_text("utf-8").replace(
        "from = 2027-03-01\nto = 2027-03-14", 'month = "2027-03"'
    )
    garden.season_file.write_text(text[: text.index("[[set]]")] + MONTH, "utf-8")
    make_season(garden.season_file, garden.folder / "build", cache=cache)
    found = garden.check_of("month")
    assert [one.rule for one in found] == codes
    assert all("3 March" in one.message or "4 March" in one.message for one in found)


def run(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    """The command line's exit code."""
    monkeypatch.setattr(sys, "argv", ["leafset", *arguments])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    return int(ended.value.code or 0)


def test_the_command_ends_with_0_when_nothing_is_wrong(
    sound: Garden, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    out = str(sound.folder / "build")
    assert run(monkeypatch, "check", str(sound.season_file), "--out", out, "--json") == 0
    assert json.loads(capsys.readouterr().out) == {"must": 0, "look": 0, "findings": []}


def test_the_command_ends_with_1_when_something_must_be_mended(
    cache: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    garden = Garden.planted(tmp_path / "garden", "en-GB", cache)
    garden.redraw(VERSO, _renamed(day1_name="day2-name", day2_name="day1-name"))
    garden.build()
    arguments = ("check", str(garden.season_file), "--out", str(garden.folder / "build"))
    assert run(monkeypatch, *arguments, "--json") == 1
    data = json.loads(capsys.readouterr().out)
    assert (data["must"], data["look"]) == (4, 0)
    assert data["findings"][0]["code"] == "date-weekday"
    assert data["findings"][0]["place_mm"][0] == pytest.approx(85.4, abs=0.1)
    assert run(monkeypatch, *arguments) == 1
    shown = capsys.readouterr().out
    assert "2 must be mended, 0 to look at (4 findings in all)" in shown
    assert re.search(r"must +weeks/two-flaps/a5-a4-en-GB", shown)


def test_the_command_ends_with_0_when_there_is_only_something_to_look_at(
    cache: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    garden = Garden.planted(tmp_path / "garden", "en-GB", cache, "file_mb = 0.1")
    garden.build()
    out = str(garden.folder / "build")
    assert run(monkeypatch, "check", str(garden.season_file), "--out", out) == 0
    assert "0 must be mended, 3 to look at" in capsys.readouterr().out


def test_the_command_ends_with_2_when_nothing_is_built(
    cache: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    garden = Garden.planted(tmp_path / "garden", "en-GB", cache)
    out = str(garden.folder / "build")
    assert run(monkeypatch, "check", str(garden.season_file), "--out", out) == 2
    assert "run 'leafset build' first" in capsys.readouterr().err


def test_rows_and_data_say_the_same() -> None:
    one = SetFinding("hairline", "a line", "a/b/c", 2, 1, 0, Side.RECTO, Rect(1, 2, 3, 4))
    (row,) = as_rows([one])
    (data,) = as_data([one])["findings"]
    assert row[:4] == ("look", "a/b/c", "sheet 2 side 1, leaf 1 front", "1, 2")
    assert (data["severity"], data["leaf"], data["place_mm"]) == ("look", 0, [1, 2, 3, 4])


def test_what_many_sets_have_wrong_is_one_row() -> None:
    """One thing in a template, on two papers and in two languages, and another beside it."""

    def found(place: str, message: str, x: float, width: float, code: str) -> SetFinding:
        folder, box = f"march/running/{place}", Rect(x, 20, width, 4)
        return SetFinding(code, message, folder, 1, 1, 0, Side.RECTO, box, template="a5/week.svg")

    lost = [
        found(f"a5-{paper}-{language}", f"'{word}' is fixed", 20, width, "placeholder-left")
        for paper in ("a4", "letter")
        for language, word, width in (("de", "Week 9", 12), ("en-GB", "Week 9", 12))
    ]
    beside = [found("a5-a4-de", "'Mon' is fixed", 60, 12, "placeholder-left")]
    thin = [found("a5-a4-de", "a line", 20, 12, "hairline")]
    elsewhere = [replace(lost[0], template="a6/week.svg", set="march/running/a6-a4-de")]
    every = [*thin, *lost, *beside, *elsewhere]
    rows = as_rows(every)
    assert [row[:3] for row in rows] == [
        (
            "must",
            "in 4 sets: march/running/a5-a4-de and 3 more",
            "a5/week.svg: sheet 1 side 1, leaf 1 front",
        ),
        ("must", "march/running/a5-a4-de", "a5/week.svg: sheet 1 side 1, leaf 1 front"),
        ("must", "march/running/a6-a4-de", "a6/week.svg: sheet 1 side 1, leaf 1 front"),
        ("look", "march/running/a5-a4-de", "a5/week.svg: sheet 1 side 1, leaf 1 front"),
    ]
    assert len(as_data(every)["findings"]) == len(every), "data keep them all"
    assert totals(every) == "3 must be mended, 1 to look at (7 findings in all)"


def test_a_weeks_figure_and_the_next_weeks_are_one_thing_to_mend() -> None:
    """What differs between pages of a set is the date it says; the pages are counted."""
    weeks = [
        SetFinding(
            "date-weekday",
            f"'Tuesday' stands beside {day} March 2027, a Monday",
            "march/running/a5-a4-de",
            sheet=1,
            leaf=leaf,
            face=Side.VERSO,
            place=Rect(right - width, 30, width, 4),
            template="a5/week.svg",
        )
        for leaf, (day, right, width) in enumerate([(1, 88, 2), (8, 88.1, 4), (15, 88, 6)])
    ]
    (row,) = as_rows(weeks)
    assert row[2] == "a5/week.svg: sheet 1, leaf 1 back, and 2 more pages"


def test_what_was_found_is_kept_until_anything_it_follows_from_changes(
    cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    garden = Garden.planted(tmp_path / "garden", "en-GB", cache)
    garden.redraw(VERSO, _added(_words("peas", 100, 3.2)))
    garden.build()
    kept, reads, read_all = Cache(tmp_path / "kept"), list[str](), findings._all

    def counted(subject: Subject, files: Mapping[str, bytes | None]) -> Iterator[SetFinding]:
        reads.append(subject.name)
        return read_all(subject, files)

    monkeypatch.setattr(findings, "_all", counted)

    def asked() -> tuple[tuple[SetFinding, ...], int]:
        reads.clear()
        return findings_of(garden.set_folder, garden.plan, kept), len(reads)

    first, many = asked()
    assert (len(first), many) == (1, 1)
    assert asked() == (first, 0)
    side = garden.set_folder / "side-2.pdf"
    data, stamp = side.read_bytes(), side.stat()
    side.write_bytes(data.replace(b"%%EOF", b"%%EOG"))  # as long, and as old
    os.utime(side, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
    spoilt, many = asked()
    assert ({one.rule for one in spoilt} >= {"file-unreadable"}, many) == (True, 1)
    side.write_bytes(data)
    assert asked() == (first, 0)
    garden.redraw(VERSO, lambda svg: svg + "\n")  # where its texts are may have changed
    assert asked() == (first, 1)


def test_what_is_found_while_a_set_is_written_is_not_kept(
    cache: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    garden = Garden.planted(tmp_path / "garden", "en-GB", cache)
    garden.build()

    def written_meanwhile(*_: object) -> tuple[SetFinding, ...]:
        (garden.set_folder / "side-1.pdf").write_bytes(b"")
        return ()

    monkeypatch.setattr(findings, "_all", written_meanwhile)
    with pytest.raises(UserError, match="changed while it was read"):
        findings_of(garden.set_folder, garden.plan, Cache(tmp_path / "kept"))


def test_what_is_read_in_pieces_is_told_from_what_is_wrong() -> None:
    assert spelling("27 فبراير – 5 مارس") == spelling(" ".join(["مارس", "5", "– فبراير", "27"]))
    assert spelling("12 March") != spelling("21 March")
    assert spelling("12") != spelling(" ".join(["1", "2"]))
    assert spelling("फ़रवरी") == spelling("फ़रवरी"), "one letter with its dot, or two"


def test_thick_lines_that_fill_nearly_the_same_place_may_be_taken_for_each_other() -> None:
    high = Shape(Rect(32, 91, 108, 111), Rect(32, 87, 108, 119), (46, 111, 92), 0.45)
    flat = Shape(Rect(32, 91.9, 108, 110), Rect(32, 90, 108, 114), (46, 111, 92), 0.45)
    assert high.is_like(flat)
    assert not high.is_like(flat._replace(line_mm=0.1))
    assert not high.is_like(flat._replace(colour=(0, 0, 0)))
