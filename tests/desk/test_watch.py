"""``leafset watch``, as somebody uses it who draws: real files saved, a real browser looking on."""

from __future__ import annotations

import functools
import hashlib
import itertools
import json
import os
import re
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from pipeline.app.buildrecord import unchanged
from pipeline.base.errors import UserError
from pipeline.desk.desk import Desk, Look, Report, Updates
from pipeline.impose.contents import LeafNote, PageNote
from pipeline.watch.builder import LOOK_MS, Builder, Saves, finish, stamp_of
from tests.desk.conftest import SEASON, SET, Running, Shop, built_shop, close_desk, open_desk

PATIENCE = 90.0
"""Seconds. Nothing here measures how fast it is, only that it comes."""
OTHER_PAPER = "march/sowing/a5-letter-en-GB"


WEEK = "from = 2027-03-01\nto = 2027-03-07"
"""What is built here of March: every save builds it again."""


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """The small season with a single week, built; not to be changed."""
    season = SEASON.replace('month = "2027-03"', WEEK)
    return built_shop(tmp_path_factory.mktemp("watch"), season)


def until(holds: Callable[[], bool], what: str) -> None:
    """Waits for something that must come."""
    end = time.monotonic() + PATIENCE
    while not holds():
        assert time.monotonic() < end, f"never: {what}"
        time.sleep(0.02)


def template(shop: Shop, name: str = "sowing-list") -> Path:
    """A template of the shop's collection."""
    return shop.folder / "templates_svg" / "kitchen_garden" / "a5" / f"{name}.svg"


def save_in_place(path: Path, data: bytes) -> None:
    """As some editors save: the file is cut to nothing and written."""
    path.write_bytes(data)


def save_by_rename(path: Path, data: bytes) -> None:
    """As others do: a new file takes the place of the old one, which is kept for a moment."""
    new, old = path.with_name(f".{path.name}.tmp"), path.with_name(f"{path.name}~")
    new.write_bytes(data)
    path.rename(old)
    new.rename(path)
    old.unlink()


def with_mark(svg: bytes, x_mm: float) -> bytes:
    """A drawing with a small line more."""
    line = f'<path d="M{x_mm} 60h9" stroke="#3d6a3c" stroke-width="0.6" fill="none"/></svg>'
    return re.sub(rb"</svg>\s*$", line.encode(), svg)


@dataclass
class Watching:
    """A builder with its desk, and all that was posted."""

    builder: Builder
    desk: Desk
    reports: list[Report]

    @property
    def latest(self) -> Report:
        """What was posted last."""
        return self.reports[-1] if self.reports else Report()

    def files(self, name: str = SET) -> str:
        """The digest of a set's files that was posted last."""
        return (self.latest.files or {}).get(name, "")

    def settled(self) -> bool:
        """Whether all is built, and nothing is wrong."""
        now = self.latest
        is_idle = now == Report((), "", now.files, now.whole, now.whole)
        return is_idle and self.files() != ""


class Heard(Updates):
    """Updates that remember."""

    def __init__(self, reports: list[Report]) -> None:
        super().__init__()
        self._reports = reports

    def post(self, report: Report) -> None:
        """Remembers every report that is new."""
        if not self._reports or self._reports[-1] != report:
            self._reports.append(report)
        super().post(report)


@pytest.fixture
def watching(shop: Shop) -> Iterator[Watching]:
    """The shop's season, watched, without pages."""
    reports: list[Report] = []
    updates = Heard(reports)
    desk = Desk("small", {}, shop.out, shop.season, lambda: "2027-01-01T00:00:00Z")
    builder = Builder(shop.season, shop.out, shop.out / ".cache", None, desk, updates)
    builder.begin()
    here = Watching(builder, desk, reports)
    until(here.settled, "all built at the start")
    yield here
    builder.close()


@pytest.mark.parametrize("save", [save_in_place, save_by_rename])
def test_a_saved_template_is_built_again(
    shop: Shop, watching: Watching, save: Callable[[Path, bytes], None]
) -> None:
    path = template(shop)
    for x in (40, 50):  # a renamed file is watched as well as the one before it
        before = watching.files()
        save(path, with_mark(path.read_bytes(), x))
        until(functools.partial(_both_new, watching, [SET], [before]), f"new files, {x}")
    until(watching.settled, "all built")


def test_only_the_views_with_that_template_change(shop: Shop, watching: Watching) -> None:
    desk = watching.desk
    before = desk.built(SET)
    versions = before.versions
    path = template(shop)
    save_in_place(path, with_mark(path.read_bytes(), 40))
    until(lambda: watching.files() not in ("", before.files), "new files")
    after = desk.built(SET)
    lists = [
        any(page is not None and page.template == "sowing-list" for page in seen)
        for seen in _pages_seen(after.contents.leaves)
    ]
    changed = [old != new for old, new in zip(versions, after.versions, strict=True)]
    assert any(lists)
    assert not all(lists)
    assert changed == lists


def _pages_seen(leaves: Sequence[LeafNote]) -> list[tuple[PageNote | None, ...]]:
    spreads = [(left.verso, right.recto) for left, right in itertools.pairwise(leaves)]
    return [(leaves[0].recto,), *spreads, (leaves[-1].verso,)]


def test_the_set_on_the_screen_is_built_first_whichever_it_is(
    shop: Shop, watching: Watching
) -> None:
    for name, other in ((OTHER_PAPER, SET), (SET, OTHER_PAPER)):
        watching.desk.look_at(Look(name, 2, ("open",), 110))
        before = watching.files(name), watching.files(other)
        start = len(watching.reports)
        path = template(shop)
        save_in_place(path, with_mark(path.read_bytes(), 40 if name == SET else 50))
        until(functools.partial(_both_new, watching, (name, other), before), "both built")
        first = next(
            report
            for report in watching.reports[start:]
            if ((report.files or {}).get(name), (report.files or {}).get(other)) != before
        )
        assert (first.files or {})[name] != before[0]
        assert (first.files or {})[other] == before[1]
        until(watching.settled, "all built")


def _both_new(watching: Watching, names: Sequence[str], before: Sequence[str]) -> bool:
    return all(watching.files(name) != old for name, old in zip(names, before, strict=True))


def test_a_broken_drawing_is_shown_and_what_was_built_stays(shop: Shop, watching: Watching) -> None:
    path, before = template(shop), watching.files()
    good = path.read_bytes()
    save_in_place(path, good[: len(good) // 2])
    until(lambda: bool(watching.latest.problems), "the problem")
    [problem] = watching.latest.problems
    assert "sowing-list.svg" in problem.where
    assert problem.what
    assert watching.files() == before
    assert (shop.set_folder / "side-1.pdf").is_file()
    save_by_rename(path, good)
    until(watching.settled, "mended")
    assert watching.files() == before


def test_a_wrong_key_is_shown_with_file_element_and_remedy(shop: Shop, watching: Watching) -> None:
    path = template(shop, "week-two-flap-verso")
    svg = path.read_bytes()
    assert b'"day1-name"' in svg
    save_in_place(path, svg.replace(b'"day1-name"', b'"day1-nam"'))
    until(lambda: bool(watching.latest.problems), "the problem")
    problem = watching.latest.problems[0]
    assert "week-two-flap-verso.svg" in problem.where
    assert "day1-nam" in problem.where + problem.what
    assert "day1-name" in problem.remedy


def test_half_a_save_is_not_complained_of_when_the_rest_follows(
    shop: Shop, watching: Watching
) -> None:
    path, start = template(shop), len(watching.reports)
    before = watching.files()
    whole = with_mark(path.read_bytes(), 40)
    save_in_place(path, whole[:2000])
    time.sleep(0.1)  # longer than a save is waited for, shorter than a fault is
    save_in_place(path, whole)
    until(lambda: watching.files() not in ("", before), "new files")
    until(watching.settled, "all built")
    assert not any(report.problems for report in watching.reports[start:])


def test_labels_the_collection_and_sizes_are_watched(shop: Shop, watching: Watching) -> None:
    before = watching.files()
    shop.say("sowing", "What I sow")
    until(lambda: watching.files() not in ("", before), "another label")
    until(watching.settled, "all built")
    collection = shop.folder / "templates_svg" / "kitchen_garden" / "collection.toml"
    text = collection.read_text("utf-8")
    save_by_rename(collection, b"nonsense = 1\n" + text.encode())
    until(lambda: bool(watching.latest.problems), "a wrong collection")
    assert "collection.toml" in watching.latest.problems[0].where
    save_by_rename(collection, text.encode())
    until(watching.settled, "mended")
    sizes = shop.folder / "sizes.toml"
    sizes.write_text("this is no TOML", "utf-8")
    until(lambda: bool(watching.latest.problems), "wrong sizes")
    assert "sizes.toml" in watching.latest.problems[0].where
    sizes.unlink()
    until(watching.settled, "mended")


def test_a_season_may_get_another_set_and_lose_a_paper(shop: Shop, watching: Watching) -> None:
    text = shop.season.read_text("utf-8")
    more = '\n[[set]]\nname = "record"\nleaves = [{ recto = "plant-record" }]\n'
    save_by_rename(shop.season, text.replace('["a4", "letter"]', '["a4"]').encode() + more.encode())
    new = "undated/record/a5-a4-en-GB"
    until(lambda: watching.files(new) != "" and watching.settled(), "the new set")
    assert set(watching.desk.folders) == {SET, new}
    until(lambda: not (shop.out / "small" / OTHER_PAPER).exists(), "the old paper gone")


def test_the_build_folder_is_left_as_a_build_leaves_it(shop: Shop, watching: Watching) -> None:
    before = watching.files()
    path = template(shop)
    save_in_place(path, with_mark(path.read_bytes(), 40))
    until(lambda: watching.files() not in ("", before), "new files")
    until(lambda: unchanged(shop.season, shop.out) is not None, "nothing left to do")
    entries = json.loads((shop.set_folder / "contents.json").read_text("utf-8"))["files"]
    for entry in entries:
        data = (shop.set_folder / entry["name"]).read_bytes()
        assert hashlib.sha256(data).hexdigest() == entry["sha256"]


def test_what_editors_leave_beside_a_drawing_is_no_change(tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text("<svg/>")
    before = stamp_of([tmp_path])
    for name in ("a.svg~", ".a.svg.swp", "a.svg.tmp", ".#a.svg", ".hidden.svg"):
        (tmp_path / name).write_text("x")
    assert stamp_of([tmp_path]) == before
    os.utime(tmp_path / "a.svg", ns=(1, 1))
    assert stamp_of([tmp_path]) != before


@pytest.mark.parametrize("name", ["sizes.toml", "garden/a5/week.svg"])
def test_what_is_there_for_a_moment_is_a_change(tmp_path: Path, name: str) -> None:
    changed = threading.Event()
    garden, file = tmp_path / "garden", tmp_path / name
    file.parent.mkdir(parents=True, exist_ok=True)
    changes = Saves(lambda: [tmp_path / "sizes.toml", garden], changed)
    changes.begin()
    try:
        until(functools.partial(_comes_and_goes, file, changed), "a notice")
        time.sleep(2 * LOOK_MS / 1000)
        changed.clear()
        beside = [tmp_path / "notes.toml", file.with_name(f"{file.name}~")]
        for other in beside:
            other.write_text("x")
            other.unlink()
        assert not changed.wait(2 * LOOK_MS / 1000)
    finally:
        changes.close()


def _comes_and_goes(file: Path, changed: threading.Event) -> bool:
    before = stamp_of([file])
    file.write_text("x")
    file.unlink()
    assert stamp_of([file]) == before
    return changed.wait(LOOK_MS / 1000)


def test_a_fault_met_only_in_finishing_goes_with_its_cause(
    shop: Shop, watching: Watching, monkeypatch: pytest.MonkeyPatch
) -> None:
    until(lambda: unchanged(shop.season, shop.out) is not None, "finished")
    monkeypatch.setattr("pipeline.watch.builder.finish", finish_while_sizes_are_wrong)
    shop.say("sowing", "What I sow")
    until((shop.season.parent / "met.txt").exists, "finishing met the fault")
    until(lambda: unchanged(shop.season, shop.out) is not None, "finished after all")
    until(watching.settled, "nothing to mend")


def finish_while_sizes_are_wrong(season: Path, out: Path) -> None:
    """Finishes; the first time sizes are wrong, and right again before they are looked at."""
    sizes, met = season.parent / "sizes.toml", season.parent / "met.txt"
    if not met.exists():
        sizes.write_text("this is no TOML", "utf-8")
    try:
        finish(season, out)
    except UserError:
        sizes.unlink()
        met.touch()
        raise


def test_folders_that_are_made_later_are_watched(tmp_path: Path) -> None:
    changed = threading.Event()
    inputs = tmp_path / "templates_svg"
    changes = Saves(lambda: [inputs], changed)
    changes.begin()
    try:
        for file in (inputs / "garden" / "collection.toml", inputs / "garden" / "a5" / "week.svg"):
            file.parent.mkdir(parents=True)
            file.write_text("x")
            assert changed.wait(PATIENCE)
            changed.clear()
    finally:
        changes.close()


# In the browser


def start_watching(shop: Shop) -> Running:
    """Watches the shop's season, from the command line."""
    return open_desk(shop, "watch")


@pytest.fixture
def live(shop: Shop) -> Iterator[Running]:
    """The shop's season, watched."""
    running = start_watching(shop)
    yield running
    if running.process.poll() is None:
        close_desk(running)


@pytest.fixture
def page(browser: Browser, live: Running) -> Iterator[Page]:
    """The sowing list of the first week, four times enlarged, in a window beside the editor."""
    complaints: list[str] = []
    context = browser.new_context(viewport={"width": 1100, "height": 760}, locale="en-GB")
    page = context.new_page()
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(live.address)
    expect(page.locator(".product li a")).to_have_count(2, timeout=PATIENCE * 1000)
    page.goto(f"{live.base}/set/{SET}#3")
    expect(page.locator("#watching")).to_contain_text("All built", timeout=PATIENCE * 1000)
    expect(page.locator("#stage img")).to_have_count(1, timeout=PATIENCE * 1000)
    yield page
    context.close()
    assert complaints == []


def stage(page: Page) -> tuple[str, int, int]:
    """The picture on the stage, and how far it is scrolled."""
    left, top = page.locator("#stage").evaluate("(one) => [one.scrollLeft, one.scrollTop]")
    return page.locator("#stage img").first.get_attribute("src") or "", left, top


def test_the_picture_changes_in_its_place(shop: Shop, page: Page) -> None:
    page.locator("[name=zoom][value='4']").check(force=True)
    expect(page.locator("#stage .tile[src]")).not_to_have_count(0, timeout=40_000)
    until(lambda: stage(page)[1] > 0, "what is printed first")
    page.evaluate("document.getElementById('stage').scrollTo(420, 260)")
    loaded_at = page.evaluate("performance.timeOrigin")
    before = stage(page)
    assert before[1:] == (420, 260)
    path = template(shop)
    save_by_rename(path, with_mark(path.read_bytes(), 40))
    until(lambda: stage(page)[0].partition("?")[2] != before[0].partition("?")[2], "new picture")
    expect(page.locator("#said")).to_have_text("Refreshed.", timeout=PATIENCE * 1000)
    assert stage(page)[1:] == (420, 260)
    assert page.evaluate("performance.timeOrigin") == loaded_at
    expect(page.locator("[name=zoom][value='4']")).to_be_checked()
    assert page.url.endswith("#3")


def test_a_spread_that_did_not_change_keeps_its_picture(shop: Shop, page: Page) -> None:
    before = stage(page)
    path = template(shop, "week-two-flap-recto")
    save_in_place(path, with_mark(path.read_bytes(), 60))
    expect(page.locator("#said")).to_contain_text("as it was", timeout=PATIENCE * 1000)
    assert stage(page) == before


def test_a_banner_says_what_to_mend_and_goes(shop: Shop, page: Page) -> None:
    banner = page.locator("#problems")
    expect(banner).to_be_hidden()
    before = stage(page)
    path = template(shop)
    good = path.read_bytes()
    save_in_place(path, good.replace(b"</svg>", b"<b>&nothing;"))
    expect(banner).to_be_visible(timeout=PATIENCE * 1000)
    expect(banner).to_contain_text("sowing-list.svg")
    assert stage(page) == before
    assert page.locator("#stage img").evaluate("(one) => one.complete && one.naturalWidth > 0")
    # It leaves the ways to the other pages free, and can be closed and opened again.
    page.get_by_role("link", name="Sheets").click(trial=True)
    page.locator("#send-view").click(trial=True)
    page.get_by_role("button", name="Close").click()
    expect(banner).to_be_hidden()
    page.reload()
    again = page.get_by_role("button", name="1 thing to mend")
    expect(again).to_be_visible(timeout=PATIENCE * 1000)
    expect(banner).to_be_hidden()
    again.click()
    expect(banner).to_be_visible()
    before = stage(page)
    save_in_place(path, with_mark(good, 45))
    expect(banner).to_be_hidden(timeout=PATIENCE * 1000)
    until(lambda: stage(page)[0] != before[0], "new picture")


def test_a_season_that_is_wrong_at_the_start_comes_once_it_is_mended(
    shop: Shop, browser: Browser
) -> None:
    good = shop.season.read_text("utf-8")
    shop.season.write_text(good.replace('["a5"]', '["a55"]'), "utf-8")
    running = start_watching(shop)
    context = browser.new_context()
    visitor = context.new_page()
    visitor.goto(running.address)
    expect(visitor.locator("#problems")).to_contain_text("a55", timeout=PATIENCE * 1000)
    save_by_rename(shop.season, good.encode())
    expect(visitor.locator("#problems")).to_be_hidden(timeout=PATIENCE * 1000)
    expect(visitor.locator(".product li a")).to_have_count(2, timeout=PATIENCE * 1000)
    said = close_desk(running)
    context.close()
    assert "Traceback" not in said
    assert said.strip().endswith("The desk is closed.")
    assert running.process.returncode == 0


def test_ctrl_c_ends_it_while_pages_listen_and_sets_are_built(
    shop: Shop, live: Running, page: Page
) -> None:
    path = template(shop)
    save_in_place(path, with_mark(path.read_bytes(), 40))
    until(lambda: "Building" in (page.locator("#watching").text_content() or ""), "work")
    said = close_desk(live)
    assert said.strip().endswith("The desk is closed.")
    assert "Traceback" not in said
    assert "ERROR" not in said
    assert live.process.returncode == 0
