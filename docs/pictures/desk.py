"""Takes the pictures of the desk for the guides, in a browser, of a copy of the demo.

Run from the project's folder: ``python docs/pictures/desk.py``. A chromium must be installed.
"""

from __future__ import annotations

import re
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, expect, sync_playwright

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
SEASON = "seasons/2027-spring.toml"
SET = "march/two-flap-list/a5-a4-en-GB"
LABELS = Path("templates_svg", "kitchen_garden", "labels", "en.toml")
WEEK = Path("templates_svg", "kitchen_garden", "a5", "week-two-flap-verso.svg")
WIDE, SMALLER = (1280, 760), (1120, 700)


def leafset(folder: Path, *arguments: str) -> None:
    """Runs a command in the copy."""
    subprocess.run([sys.executable, "-m", "pipeline.cli", *arguments], cwd=folder, check=True)


@contextmanager
def opened(folder: Path, command: str, size: tuple[int, int]) -> Iterator[tuple[Page, str]]:
    """A page of the desk, at a size in pixels, and the address that all of it begins with."""
    asked = [sys.executable, "-m", "pipeline.cli", command, SEASON, "--no-browser"]
    if command == "watch":
        asked += ["--only", "two-flap-list"]
    served = subprocess.Popen(asked, cwd=folder, stdout=subprocess.PIPE, text=True)
    assert served.stdout is not None
    address = next(found[0] for line in served.stdout if (found := re.search(r"http://\S+", line)))
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(
                executable_path=shutil.which("chromium"), args=["--no-sandbox"]
            )
            width, height = size
            base = address.partition("/#")[0]
            context = browser.new_context(viewport={"width": width, "height": height})
            context.add_cookies([{"name": "leafset-name", "value": "the maker", "url": base}])
            page = context.new_page()
            page.goto(address)
            page.wait_for_timeout(2000)
            yield page, base
            browser.close()
    finally:
        served.send_signal(signal.SIGINT)
        served.wait(20)


def compared(page: Page) -> None:
    """Waits until all pages of a set have been held against what was passed."""
    page.wait_for_timeout(3000)
    expect(page.get_by_text("being compared")).to_have_count(0, timeout=120_000)


def taken(page: Page, name: str) -> None:
    """A picture of a page once all that it shows is there."""
    page.wait_for_timeout(3500)
    page.screenshot(path=HERE / name)
    with Image.open(HERE / name) as picture:
        small = picture.convert("RGB").quantize(256, dither=Image.Dither.NONE)
    small.save(HERE / name, optimize=True)


def changed(path: Path, old: str, new: str) -> None:
    """A file with some words changed."""
    text = path.read_text("utf-8")
    assert old in text, old
    path.write_text(text.replace(old, new), "utf-8")


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for part in ("templates_svg", "seasons"):
            shutil.copytree(ROOT / part, folder / part)
        (folder / SEASON).with_suffix(".passed.json").unlink()
        leafset(folder, "build", SEASON, "--only", "two-flap-list")
        with opened(folder, "desk", WIDE) as (page, base):
            for spread in (2, 3, 4):
                page.goto(f"{base}/set/{SET}#{spread}")
                page.reload()
                compared(page)
                page.get_by_role("button", name="Pass this spread").click()
                page.wait_for_timeout(1500)
            page.goto(f"{base}/set/{SET}#2")
            page.reload()
            compared(page)
            taken(page, "desk-spread.png")
            page.goto(f"{base}/set/{SET}/sheets")
            page.locator("input[value=light]").check(force=True)
            taken(page, "desk-light-table.png")
            page.goto(f"{base}/set/{SET}/dates")
            taken(page, "desk-dates.png")
        changed(folder / LABELS, 'done = "done"', 'done = "to do today"')
        leafset(folder, "build", SEASON, "--only", "two-flap-list")
        with opened(folder, "desk", WIDE) as (page, base):
            page.goto(f"{base}/set/{SET}#2")
            compared(page)
            page.locator("input[value=difference]").check(force=True)
            taken(page, "desk-difference.png")
        with opened(folder, "watch", SMALLER) as (page, base):
            page.goto(f"{base}/set/{SET}#2")
            page.wait_for_timeout(4000)
            changed(folder / WEEK, 'id="day1-name"', 'id="day1-nam"')
            page.wait_for_timeout(5000)
            taken(page, "watch-mend.png")


if __name__ == "__main__":
    main()
