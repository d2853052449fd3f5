"""What somebody at the desk waits for, in a real browser: by the clock, on all cores."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from playwright.sync_api import Page, expect, sync_playwright

from tests.conftest import SAFE_FLAGS
from tests.desk.conftest import close_desk, opened_by
from tests.tools import tool

ROOT = Path(__file__).parent.parent.parent
PATIENCE_MS = 120_000
HEAVY = "weeks/running/a5-a4-en-GB"
"""The set of the drawings that ``watch`` saves."""
_SHOWN = """() => {
  const all = [...document.querySelectorAll('#stage img[src]')];
  const there = all.length > 0 && all.every((one) => one.complete && one.naturalWidth > 0);
  return there ? all.map((one) => one.src).join(' ') : '';
}"""


@contextmanager
def browsing() -> Iterator[Page]:
    """A page of a browser without a window."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=tool("chromium"), args=SAFE_FLAGS)
        yield browser.new_page(viewport={"width": 1280, "height": 800})
        browser.close()


def waited(page: Page, act: Callable[[], object]) -> float:
    """Seconds from an act to other pictures than before on the stage, all of them whole."""
    before = page.evaluate(_SHOWN)
    begun = time.perf_counter()
    act()
    until = begun + PATIENCE_MS / 1000
    while page.evaluate(_SHOWN) in ("", before):
        if time.perf_counter() > until:
            raise RuntimeError(f"no new picture at {page.url}")
        time.sleep(0.004)
    return time.perf_counter() - begun


def told(name: str, found: list[float]) -> None:
    """Prints the middle and the longest of several waits."""
    middle, longest = statistics.median(found), max(found)
    print(f"  {name:<44}{middle:>8.3f} s, at most {longest:.3f} s", flush=True)


def desk(season: Path, out: Path, times: int) -> None:
    """A set opened whose pictures nobody has asked for, the next spread, the same set again."""
    running = opened_by(["desk", str(season), "--out", str(out)], ROOT)
    sets = sorted(file.parent for file in (out / season.stem).rglob("contents.json"))[:times]
    first, following, again = list[float](), list[float](), list[float]()
    try:
        with browsing() as page:
            page.goto(running.address)
            expect(page.locator("#periods")).to_be_visible(timeout=PATIENCE_MS)
            for waits in (first, again):
                for folder in sets:
                    name = folder.relative_to(out / season.stem).as_posix()
                    page.goto(running.address)
                    expect(page.locator("#periods")).to_be_visible(timeout=PATIENCE_MS)
                    address = f"{running.base}/set/{name}#2"
                    waits.append(waited(page, partial(page.goto, address)))
                    time.sleep(1)  # somebody looks at it
                    if waits is first:
                        following.append(waited(page, lambda: page.keyboard.press("ArrowRight")))
    finally:
        close_desk(running)
    told("a set opened for the first time", first)
    told("the next spread, after a second", following)
    told("a set opened again", again)


def watch(season: Path, out: Path, template: Path, times: int) -> None:
    """From a drawing's rename, as editors save, to its page in the browser."""
    running = opened_by(["watch", str(season), "--out", str(out)], ROOT)
    waits = list[float]()
    try:
        with browsing() as page:
            page.goto(running.address)
            expect(page.locator("#periods")).to_be_visible(timeout=PATIENCE_MS)
            page.goto(f"{running.base}/set/{HEAVY}#1")
            ready = page.locator("#watching")
            for number in range(times):
                expect(ready).to_contain_text("All built", timeout=PATIENCE_MS)
                time.sleep(1)
                line = f'<path d="M{30 + number} 60h9" stroke="#000" stroke-width="0.6"/></svg>'
                drawn = template.read_text("utf-8").rstrip().removesuffix("</svg>") + line
                fresh = template.with_name(f".{template.name}.new")
                fresh.write_text(drawn, "utf-8")
                waits.append(waited(page, partial(fresh.rename, template)))
    finally:
        close_desk(running)
    told("a drawing of 3,000 paths saved, to its page", waits)
