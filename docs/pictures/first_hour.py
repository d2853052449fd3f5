"""Takes the pictures of the first hour for its guide: a shop begun, planned, drawn and released.

Run from the project's folder: ``python docs/pictures/first_hour.py``. A chromium must be installed.
"""

from __future__ import annotations

import re
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, expect, sync_playwright

HERE = Path(__file__).parent
SIZE = {"width": 1280, "height": 800}
LONG_MS = 90_000


def take(page: Page, name: str, height: int = 800) -> None:
    """Saves what is on the screen, small enough for a guide."""
    page.mouse.move(0, 0)
    page.wait_for_timeout(400)
    page.set_viewport_size({"width": SIZE["width"], "height": height})
    page.wait_for_timeout(400)
    path = HERE / f"hour-{name}.png"
    page.screenshot(path=path)
    picture = (
        Image.open(path).convert("RGB").resize((960, height * 3 // 4), Image.Resampling.LANCZOS)
    )
    picture.save(path, optimize=True)
    page.set_viewport_size(SIZE)


def the_hour(page: Page, address: str, place: Path) -> None:
    """All of it, a picture a step."""
    page.goto(address)
    page.get_by_label("What is your shop called?").fill("Bakers’ pages")
    page.get_by_label("What is its first season called?").fill("Winter loaves")
    page.locator("input[name=papers][value=letter]").uncheck()
    page.mouse.wheel(0, -5000)
    take(page, "begin", 860)
    page.get_by_role("button", name="Begin").click()
    page.wait_for_url("**/season/**", timeout=LONG_MS)
    expect(page.get_by_role("link", name="A5 on A4")).to_be_visible(timeout=LONG_MS)
    page.wait_for_timeout(4000)
    expect(page.locator(".cover img")).to_be_visible(timeout=LONG_MS)
    take(page, "built", 480)
    page.get_by_role("link", name="Plan").click()
    expect(page.locator(".run img").first).to_be_visible(timeout=LONG_MS)
    title = page.get_by_label("Title of the set")
    title.fill("Weeks for bakers")
    title.press("Tab")
    expect(page.locator("#figures")).to_contain_text("Weeks for bakers", timeout=LONG_MS)
    expect(page.locator("#live img")).to_be_visible(timeout=LONG_MS)
    page.wait_for_timeout(4000)
    page.mouse.wheel(0, -5000)
    take(page, "plan", 900)
    page.get_by_role("link", name="Drawings").click()
    [drawing] = (place / "bakers-pages").glob("templates_svg/*/a5/list.svg")
    thin = (
        b'<path id="crack" d="M 40 60 h 60" stroke="#333" stroke-width="0.05" fill="none"/></svg>'
    )
    drawing.write_bytes(drawing.read_bytes().replace(b"</svg>", thin))
    page.locator(".drawing a").first.click()
    expect(page.locator("#found")).to_contain_text("crack", timeout=LONG_MS)
    expect(page.locator(".tag").first).to_be_visible(timeout=LONG_MS)
    take(page, "drawing", 900)
    page.get_by_role("button", name="Mend what is mechanical").click()
    page.get_by_role("button", name="Mend it").click()
    expect(page.locator("#found")).not_to_contain_text("crack", timeout=LONG_MS)
    page.wait_for_timeout(5000)
    page.get_by_role("link", name="Proofs").click()
    page.get_by_role("link", name="A5 on A4").click()
    expect(page.locator("#views li")).not_to_have_count(0, timeout=LONG_MS)
    expect(page.locator("#views .none")).to_have_count(0, timeout=LONG_MS)
    spreads = page.locator("#views li").count()
    for number in range(spreads):
        page.locator("#views button").nth(number).click()
        expect(page.locator("#pass-view")).to_be_enabled(timeout=LONG_MS)
        if number == 2:
            take(page, "look")
        page.keyboard.press("Enter")
        if number == 0:
            page.get_by_label("Your name").fill("the maker")
            page.get_by_role("button", name="That is me").click()
        expect(page.locator("#views li").nth(number)).to_contain_text("passed", timeout=LONG_MS)
    page.get_by_role("link", name="Release", exact=True).click()
    expect(page.locator("#ready-words")).to_contain_text("1 set is passed", timeout=LONG_MS)
    page.get_by_role("button", name="Make it").click()
    expect(page.locator("#work")).to_contain_text("Made: 1 set", timeout=LONG_MS * 2)
    expect(page.locator("#made-pictures img").first).to_be_visible(timeout=LONG_MS)
    page.wait_for_timeout(1500)
    take(page, "release", 900)
    page.get_by_role("link", name="Bench").click()
    page.get_by_label(re.compile("Packs of")).first.fill("20")
    page.get_by_role("button", name="Make the sheet for the bench").click()
    expect(page.get_by_alt_text("The sheet for the bench, page 1")).to_be_visible(timeout=LONG_MS)
    page.wait_for_timeout(1500)
    take(page, "bench", 860)
    page.get_by_role("link", name="All seasons").click()
    expect(page.locator(".cards-of")).to_contain_text("out, version 1", timeout=LONG_MS)
    page.wait_for_timeout(2000)
    take(page, "shelf", 720)


def main() -> None:
    """Opens the desk in an empty folder and takes the pictures."""
    with tempfile.TemporaryDirectory() as name:
        place = Path(name) / "shops"
        place.mkdir()
        command = [sys.executable, "-m", "pipeline.cli", "desk", "--no-browser"]
        served = subprocess.Popen(command, cwd=place, stdout=subprocess.PIPE, text=True)
        assert served.stdout is not None
        said = (re.search(r"http://\S+", line) for line in served.stdout)
        address = next(found[0] for found in said if found)
        try:
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(
                    executable_path=shutil.which("chromium"), args=["--no-sandbox"]
                )
                page = browser.new_context(viewport=SIZE, locale="en-GB").new_page()
                the_hour(page, address, place)
                browser.close()
        finally:
            served.send_signal(signal.SIGINT)
            served.wait(30)


if __name__ == "__main__":
    main()
