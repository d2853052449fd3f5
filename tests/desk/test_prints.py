"""Photos of printed sheets, dropped on the desk in a real browser."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser, expect

from tests.app.test_scan import shots
from tests.desk.conftest import Running, Shop
from tests.desk.test_browser import visit
from tests.proof.printer_and_camera import Bad

PATIENCE_MS = 120_000


def test_photos_of_a_feed_test_give_the_shift(
    browser: Browser, desk: Running, shop: Shop, tmp_path: Path
) -> None:
    test = shop.out / "small" / "feed-test-a4.pdf"
    pictures = shots(test, tmp_path, (Bad(1, 0.0, (0.2, 0.1)), Bad(1, 0.0, (1.1, -0.7))))
    visitor = visit(browser, desk)
    page = visitor.page
    page.get_by_role("link", name="Measure a print from a photo").click()
    before = shop.season.read_text("utf-8")
    page.set_input_files("#files", pictures)
    lines = page.locator("#lines")
    expect(lines).to_contain_text("Side 2 is off: 1.3 mm to the right", timeout=PATIENCE_MS)
    expect(lines).to_contain_text("true to size")
    for side in (1, 2):
        shown = page.get_by_alt_text(f"Side {side} as it was printed")
        expect(shown).to_have_js_property("complete", value=True)
        assert shown.evaluate("one => one.naturalWidth") > 1000
    page.get_by_role("button", name="Write the shift into the season").click()
    expect(page.locator("#state")).to_contain_text("written into the season", timeout=PATIENCE_MS)
    after = shop.season.read_text("utf-8")
    assert after.startswith(before)
    assert "back_shift_mm = [1.3, -0.8]" in after
    assert not visitor.complaints


def test_what_is_no_print_is_told_in_one_line(
    browser: Browser, desk: Running, tmp_path: Path
) -> None:
    words = tmp_path / "words.jpg"
    words.write_text("no picture")
    visitor = visit(browser, desk, width=390)
    page = visitor.page
    page.get_by_role("link", name="Measure a print from a photo").click()
    page.set_input_files("#files", words)
    state = page.locator("#state")
    expect(state).to_contain_text("can't be read as a picture", timeout=PATIENCE_MS)
    assert page.evaluate("document.documentElement.scrollWidth") == 390
