"""The command line as a person meets it: what it prints, and one clear line for each mistake."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from pipeline import cli
from pipeline.app.buildrecord import FinishedSet
from pipeline.base import system
from pipeline.cli.building import _table_of
from pipeline.cli.terminal import print_rows
from tests.conftest import ROOT


def leafset(*arguments: str | Path, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "pipeline.cli", *map(str, arguments)],
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_help_names_the_commands() -> None:
    result = leafset("--help")
    assert result.returncode == 0
    for command in ("build", "proof", "measure"):
        assert command in result.stdout


def test_a_piped_build_prints_plain_lines_and_one_table(shop: Path) -> None:
    result = leafset("build", "seasons/small.toml", "--keep-svg", cwd=shop)
    assert result.returncode == 0, result.stderr
    lines = result.stdout.splitlines()
    assert lines[0] == "Making 0/1  march, running, A5"
    heads = "period set paper spreads leaves sheets cuts folds punch pack ink files size where"
    assert " ".join(lines[2].split()) == heads
    # Four leaves with flaps and, at the end, one without: two stacks, four cuts for each.
    figures = r"4 +5 +5 +8 +4 +1 +23 g, 1\.4 mm +1\.\d % +3 +[\d,]+ kB"
    assert re.match(rf"march +running +A5 on A4 +{figures} +small/march", lines[3])
    assert "\x1b" not in result.stdout
    kept = sorted((shop / "build/small/march/running/svg-a5-en-GB").iterdir())
    assert len(kept) == 10
    root = etree.parse(kept[1]).getroot()
    assert root.get("width") == "190mm"
    assert "Monday" in "".join(map(str, root.itertext()))


def test_a_plan_is_shown_and_nothing_is_written(shop: Path) -> None:
    before = sorted(shop.rglob("*"))
    result = leafset("build", "seasons/small.toml", "--plan", cwd=shop)
    assert result.returncode == 0, result.stderr
    assert sorted(shop.rglob("*")) == before
    lines = result.stdout.splitlines()
    assert lines[0] == "running, march: 4 spreads on 5 leaves (A5; en-GB)"
    assert lines[1].split() == ["spread", "leaf", "verso", "leaf", "recto", "about"]
    rows = [" ".join(line.split()) for line in lines[3:5]]
    # Weeks of ISO 8601: the first of March 2027 is the Monday of week 9.
    assert rows[0] == "1 1 week-running-verso 2 week-running-recto week 9, 1–7 March 2027"
    assert rows[1] == "2 2 week-running-verso 3 week-running-recto week 10, 8–14 March 2027"


def test_tabs_are_counted_where_a_set_has_some() -> None:
    plain = FinishedSet(
        "year", "weeks", "A5 on A4", 53, 54, 27, 8, 0, 0, 11, 201.0, 6.9, 0.4, 3, 90_000, "weeks"
    )
    tabbed = replace(plain, name="dividers", tabs=12)
    for made, wanted in (([plain], []), ([plain, tabbed], [["0", "12"]])):
        columns = {str(one.header): list(one.cells) for one in _table_of(made, where=False).columns}
        assert [cells for heading, cells in columns.items() if heading == "tabs"] == wanted
        assert columns["punch"] == ["11"] * len(made)
        assert columns["folds"] == ["0"] * len(made)


def replaced(path: str, old: str, new: str) -> Callable[[Path], None]:
    def change(shop: Path) -> None:
        text = (shop / path).read_text("utf-8")
        assert old in text
        (shop / path).write_text(text.replace(old, new), "utf-8")

    return change


def added(path: str, text: str) -> Callable[[Path], None]:
    def change(shop: Path) -> None:
        (shop / path).write_text((shop / path).read_text("utf-8") + text, "utf-8")

    return change


def almanac(line: str, file: str = "", text: str = "") -> Callable[[Path], None]:
    """An ``[almanac]`` with one line, and a file beside the season."""

    def change(shop: Path) -> None:
        replaced(SEASON, "[[period]]", f"[almanac]\n{line}\n\n[[period]]")(shop)
        if file:
            (shop / "seasons" / file).write_text(text, "utf-8")

    return change


LETTER = '<g id="letter-a"><path d="M10 40L20 10L30 40z" fill="black"/></g>'


def lettering(shop: Path, letters: str) -> None:
    """A drawing of letters in the collection."""
    folder = shop / COLLECTION / "lettering"
    folder.mkdir()
    lines = "".join(
        f'<g id="{name}"><path d="M0 {y}H90" stroke="black"/></g>'
        for name, y in (("base", 40), ("height", 10))
    )
    (folder / "hand.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" '
        f'viewBox="0 0 100 60">{lines}{letters}</svg>',
        "utf-8",
    )


SEASON = "seasons/small.toml"
COLLECTION = "templates_svg/kitchen_garden"
VERSO = f"{COLLECTION}/a5/week-running-verso.svg"


@pytest.mark.parametrize(
    ("change", "message"),
    [
        pytest.param(
            lambda shop: (shop / f"{COLLECTION}/a5/closing.svg").rename(shop / "closing.svg"),
            r"closing\.svg.*there is no such template; the nearest is",
            id="missing template",
        ),
        pytest.param(
            replaced(VERSO, 'id="day1-name"', 'id="day1-nmae"'),
            r"week-running-verso\.svg, element 'day1-nmae': no such key.*'day1-name'",
            id="unknown key",
        ),
        pytest.param(
            replaced(VERSO, 'height="210mm"', 'height="200mm"'),
            r"week-running-verso\.svg: the page is 190\.0 × 200\.0 mm, but A5 with its 42 mm flap "
            r"open is 190 × 210 mm",
            id="wrong size",
        ),
        pytest.param(
            replaced(f"{COLLECTION}/collection.toml", "= 42", "= 60"),
            r"17\.7 mm in width missing.*make the flap 42\.3 mm at most",
            id="flap too wide",
        ),
        pytest.param(
            replaced(VERSO, "</svg>", ""),
            r"week-running-verso\.svg, line \d+: is broken",
            id="broken SVG",
        ),
        pytest.param(
            replaced(
                VERSO,
                "</svg>",
                '<marker id="dot"><path d="M0 0h1"/></marker>'
                '<path id="stem" d="L5 5" stroke="red" marker-end="url(#dot)"/></svg>',
            ),
            r"week-running-verso\.svg, element 'stem': ",
            id="a path that nobody thought of",
        ),
        pytest.param(
            replaced(VERSO, 'viewBox="0 0', 'viewBox="0 zero'),
            r"week-running-verso\.svg, .*cannot be read",
            id="a view box that is none",
        ),
        pytest.param(
            replaced(
                VERSO,
                "</svg>",
                '<text id="motto" x="60" y="100" style="font-family:sans-serif">Sow</text>'
                '<text style="font-family:serif"> </text></svg>',
            ),
            r"week-running-verso\.svg.*, element 'motto': 'sans-serif' is not a font.*EB Garamond",
            id="a generic family",
        ),
        pytest.param(
            replaced(SEASON, 'name = "march"', 'name = "march'),
            r"small\.toml.*line 11",
            id="broken TOML",
        ),
        pytest.param(
            replaced(SEASON, '"en-GB"', '"xx-YY"'), r"small\.toml.*xx-YY", id="unknown locale"
        ),
        pytest.param(
            replaced(SEASON, 'month = "2027-03"', "from = 2027-03-09\nto = 2027-03-10"),
            r"small\.toml, period\.march: is empty",
            id="empty period",
        ),
        pytest.param(
            replaced(VERSO, "Vollkorn", "Volkorn"),
            r"there is no font 'Volkorn'; the nearest is 'Vollkorn'",
            id="font not found",
        ),
        pytest.param(
            replaced(SEASON, '"a4"', '"a44"'), r"small\.toml.*a44.*a4", id="unknown paper"
        ),
        pytest.param(
            replaced(
                VERSO,
                "</svg>",
                '<g id="each-day"><rect x="60" y="100" width="20" height="40" fill="none"/><g>'
                '<rect x="60" y="100" width="20" height="10" fill="none"/>'
                '<text id="day-name" x="61" y="105" font-size="3">M</text></g></g></svg>',
            ),
            # Seven places of 10 mm, made lower to six tenths at most: 42 mm.
            r"week-running-verso\.svg, element 'each-day': 7 of them need 42\.0 mm, but the room "
            r"is 40\.0 mm high: 2\.0 mm are missing; make the room larger",
            id="a room too small for its cells",
        ),
        pytest.param(
            almanac('holidays = ["GR-ENG"]'),
            r"small\.toml, line \d+, almanac.*'ENG' in 'GR'",
            id="an unknown region",
        ),
        pytest.param(
            almanac('holidays = ["UK"]'),
            r"small\.toml, line \d+, almanac.*the country 'UK'; did you mean 'GB', United "
            r"Kingdom\?",
            id="an unknown country",
        ),
        pytest.param(
            almanac('holidays = ["DE-BV"]'),
            r"small\.toml, line \d+, almanac.*'BV' in 'DE'; its parts are BB, BE",
            id="a region misspelt",
        ),
        pytest.param(
            almanac('days = "club.ics"', "club.ics", "BEGIN:VCALENDAR\nMeet at ten\n"),
            r"club\.ics, line 2: isn't a calendar file",
            id="a calendar that isn't one",
        ),
        pytest.param(
            almanac('days = "days.csv"', "days.csv", "day,name\n05-01,Peas\n"),
            r"days\.csv: has no column 'date'; its first line says: day, name",
            id="a table without the column",
        ),
        pytest.param(
            lambda shop: lettering(shop, LETTER + LETTER.replace("letter-a", "letter-a-2")),
            r"hand\.svg, element 'letter-a-2': the same is drawn twice, here and as 'letter-a'",
            id="a letter drawn twice",
        ),
        pytest.param(
            lambda shop: added(
                f"{COLLECTION}/collection.toml",
                '\n[colours.rust]\nchange = { "#123457" = "#8a3b1c" }\n',
            )(shop),
            r"collection\.toml, line \d+, colours\.rust\.change.*no page of the collection has the "
            r"colour #123457; the nearest is #",
            id="a colour that stands nowhere",
        ),
        pytest.param(
            lambda shop: (shop / "build").write_text("in the way", "utf-8"),
            r"build.*cannot be written",
            id="unwritable folder",
        ),
    ],
)
def test_a_mistake_is_one_line_and_exit_code_2(
    change: Callable[[Path], object], message: str, shop: Path
) -> None:
    change(shop)
    result = leafset("build", SEASON, cwd=shop)
    assert result.returncode == 2, result.stdout + result.stderr
    lines = result.stderr.strip().splitlines()
    assert len(lines) == 1, result.stderr
    assert lines[0].startswith("leafset: ")
    assert re.search(message, lines[0]), lines[0]
    assert "Traceback" not in result.stderr


def test_an_unknown_set_names_the_nearest(shop: Path) -> None:
    result = leafset("build", SEASON, "--only", "runing", cwd=shop)
    assert result.returncode == 2
    assert "running" in result.stderr


def test_proofing_what_is_not_built_says_so(shop: Path) -> None:
    result = leafset("proof", SEASON, cwd=shop)
    assert result.returncode == 2
    assert "not built yet" in result.stderr


def test_help_starts_without_the_engines() -> None:
    """The packages that draw, read and serve take seconds to import; help needs none of them."""
    code = (
        "import sys, pipeline.cli\n"
        "heavy = {'babel', 'cairosvg', 'lxml', 'numpy', 'pydantic', 'pypdf', 'pypdfium2'}\n"
        "print(sorted(heavy & {*sys.modules}))"
    )
    result = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert result.stdout.strip() == "[]"


def test_brackets_in_a_table_are_text(capsys: pytest.CaptureFixture[str]) -> None:
    print_rows(["what"], [["under [limits], in [b]bold[/b]"]])
    assert "under [limits], in [b]bold[/b]" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "now"),
    [
        (["new", "shop"], "begin"),
        (["publish", "season.toml"], "release"),
        (["lint", "week.svg"], "check"),
        (["clean"], "build --afresh"),
        (["fonts", "season.toml"], "faces"),
        (["release", "season.toml", "--dry-run"], "--only-say"),
        (["check", "week.svg", "--fix"], "--mend"),
    ],
)
def test_what_was_called_otherwise_is_told_its_name(arguments: list[str], now: str) -> None:
    result = leafset(*arguments)
    assert result.returncode == 2
    assert result.stderr.count("\n") == 1
    assert f"is called '{now}' now" in result.stderr


def test_drawings_and_a_season_are_checked_together(shop: Path) -> None:
    drawing = shop / "templates_svg" / "kitchen_garden" / "a5" / "notes.svg"
    assert leafset("build", "seasons/small.toml", cwd=shop).returncode == 0
    both = leafset("check", str(drawing), "seasons/small.toml", cwd=shop)
    lines = both.stdout.splitlines()
    assert "1 page: nothing to mend" in lines
    assert lines[-1] == "0 must be mended, 0 to look at"
    said = leafset("check", str(drawing), "seasons/small.toml", "--json", cwd=shop)
    assert json.loads(said.stdout) == {"must": 0, "look": 0, "findings": []}
    alone = leafset("check", str(drawing), "--only", "week", cwd=shop)
    assert alone.returncode == 2


def test_a_missing_library_is_one_line_wherever_it_is_found_out(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def without_cairo() -> None:
        raise OSError("no library called 'cairo-2' was found")

    monkeypatch.setattr(cli, "app", without_cairo)
    monkeypatch.setattr(sys, "argv", ["leafset", "build"])
    monkeypatch.setattr(system, "missing", lambda: ["cairo", "venv"])
    with pytest.raises(SystemExit, match="2"):
        cli.main()
    said = capsys.readouterr().err
    assert said.startswith("leafset: missing cairo; ")
    assert len(said.splitlines()) == 1
    monkeypatch.setattr(system, "missing", list)
    with pytest.raises(OSError, match="cairo-2"):
        cli.main()


def test_on_each_system_it_is_said_how_to_get_libraries(monkeypatch: pytest.MonkeyPatch) -> None:
    page = (ROOT / "docs" / "libraries.md").read_text("utf-8")
    for manager, command in system.COMMANDS.items():
        monkeypatch.setattr(shutil, "which", lambda name, own=manager: name if name == own else "")
        said = system.advice(["cairo", "fontconfig"]).removeprefix("run: ")
        assert said == command.format(debian="libcairo2 libfontconfig1")
        assert f"`{said}`" in page
    monkeypatch.setattr(shutil, "which", lambda name: "")
    monkeypatch.setattr(sys, "platform", "win32")
    for part in re.findall(r"pacman -S [a-z0-9 -]+fontconfig|C:\S+bin", system.advice(["cairo"])):
        assert f"`{part}`" in page
