"""The desk as somebody uses it: opened from the command line, in a real browser.

The pages allow no scripts but their own, so nothing here waits with a script of the test's.
"""

from __future__ import annotations

import io
import json
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import (
    Browser,
    ConsoleMessage,
    FloatRect,
    Locator,
    Page,
    Request,
    Route,
    expect,
)

from pipeline.proof.read.raster import Tolerance, compare
from tests.conftest import Golden
from tests.desk.conftest import SET, Running, Shop, close_desk, is_accessible, open_desk
from tests.sidebyside import save_small, side_by_side

SCREEN = Tolerance(blur_px=2.0, levels=40, window_px=15, crowd=110, share=0.01)
"""For screenshots. Another build of the browser sets letters and corners a little differently:
blurred by two pixels that stays below 40 levels but in spots. A button, a page or a line of text
that is missing or elsewhere fills windows and more than a hundredth of the screen."""

PATIENCE_MS = 30_000


@dataclass
class Visit:
    """A browser's page on the desk, and all it asked for and complained of."""

    page: Page
    desk: Running
    asked: list[str]
    complaints: list[str]

    def open_set(self, at: int = 1, rest: str = "") -> None:
        """Opens the set, at a spread counted from 1."""
        address = f"{self.desk.base}/set/{SET}{rest}#{at}"
        again = self.page.url.partition("#")[0] == address.partition("#")[0]
        self.page.goto(address)
        if again:
            # Going to another part of the page one is on loads nothing.
            self.page.reload()
        if not rest:
            self.wait_for_pictures()

    def wait_for_pictures(self) -> None:
        """Waits until all pictures on the stage are there."""
        script = (
            "() => { const all = [...document.querySelectorAll('#stage img[src]')];"
            " return all.length > 0 && all.every((one) => one.complete && one.naturalWidth > 0); }"
        )
        self.wait_until(lambda: bool(self.page.evaluate(script)))

    def wait_for_comparison(self) -> None:
        """Waits until every page was held against the record."""
        expect(self.page.locator("#views .none")).to_have_count(0, timeout=PATIENCE_MS)

    def wait_until(self, holds: Callable[[], bool]) -> None:
        """Waits for something no assertion of the browser's knows."""
        until = time.monotonic() + PATIENCE_MS / 1000
        while not holds():
            assert time.monotonic() < until, "it never came"
            time.sleep(0.05)

    def states(self) -> list[str]:
        """What the list says of the spreads, in words."""
        return [
            " ".join(text.split()) for text in self.page.locator("#views .state").all_inner_texts()
        ]


def visit(
    browser: Browser, desk: Running, width: int = 1280, dots: float = 1, **options: str
) -> Visit:
    """Enters a desk with the address its terminal shows; ``dots`` are those of a pixel's width."""
    context = browser.new_context(
        viewport={"width": width, "height": 800},
        device_scale_factor=dots,
        has_touch=width < 400,
        color_scheme="dark" if options.get("scheme") == "dark" else "light",
        reduced_motion="reduce" if options.get("motion") == "reduce" else "no-preference",
        locale="en-GB",
        timezone_id="UTC",
    )
    if options.get("name") != "":
        context.add_cookies([{"name": "leafset-name", "value": "Ada", "url": desk.base}])
    page = context.new_page()
    asked: list[str] = []
    complaints: list[str] = []

    def on_request(request: Request) -> None:
        asked.append(request.url)

    def on_console(message: ConsoleMessage) -> None:
        # Before one has entered the answer is 401, which the browser notes.
        if message.type == "error" and "401" not in message.text:
            complaints.append(f"{message.text} {message.location['url']}")

    page.on("request", on_request)
    page.on("console", on_console)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(desk.address)
    sections = int(options.get("sections", "1"))
    expect(page.locator("#periods section")).to_have_count(sections, timeout=PATIENCE_MS)
    return Visit(page, desk, asked, complaints)


@pytest.fixture
def here(browser: Browser, desk: Running) -> Iterator[Visit]:
    """Somebody at the desk, with an ordinary window. Nothing may be complained of."""
    visitor = visit(browser, desk)
    yield visitor
    visitor.page.context.close()
    assert visitor.complaints == []


def test_the_token_leaves_the_address_and_the_season_is_shown(here: Visit) -> None:
    assert "#" not in here.page.url
    expect(here.page.get_by_role("heading", level=1)).to_have_text("A <b>small</b> season")
    expect(here.page.get_by_role("link", name="A5 on A4")).to_be_visible()
    expect(here.page.locator("#whole")).to_contain_text("0 of 2 sets passed for press")


def test_hostile_words_stay_words(here: Visit) -> None:
    here.page.get_by_role("link", name="A5 on A4").click()
    heading = here.page.get_by_role("heading", level=1)
    expect(heading).to_have_text("Weeks & lists <script>document.title = 'broken in'</script>")
    assert here.page.title() != "broken in"
    here.wait_for_pictures()
    here.wait_for_comparison()
    here.page.keyboard.press("Backspace")
    here.page.locator("#note").fill("<img src=x onerror=\"document.title='broken in'\">")
    here.page.locator("#note-send").click()
    note = here.page.locator("#cards .note").first
    expect(note).to_contain_text("<img src=x", timeout=PATIENCE_MS)
    assert here.page.locator("#cards img").count() == 0
    assert here.page.title() != "broken in"


def test_flaps_open_and_shut_by_click_and_by_key(here: Visit) -> None:
    here.open_set(2)
    left = here.page.get_by_role("button", name="Left flap shut")
    expect(left).to_have_attribute("aria-pressed", "false")
    before = left.bounding_box()
    left.click()
    expect(left).to_have_attribute("aria-pressed", "true")
    expect(here.page.locator("#stage img.shut")).to_have_count(1)
    after = left.bounding_box()
    assert before is not None
    assert after is not None
    # Folded over the fore edge, its own page's width of paper further in.
    assert after["x"] == pytest.approx(before["x"] + before["width"], abs=1)
    here.page.keyboard.press("l")
    expect(here.page.locator("#stage img.shut")).to_have_count(2)
    here.page.keyboard.press("l")
    expect(here.page.locator("#stage img.shut")).to_have_count(0)


def test_turning_over_by_key_list_and_button(here: Visit) -> None:
    here.open_set()
    title = here.page.locator("#view-title")
    expect(title).to_contain_text("Opening")
    expect(here.page.locator("#previous")).to_be_disabled()
    here.page.keyboard.press("ArrowRight")
    expect(title).to_contain_text("W09 1–7 Mar")
    expect(here.page.locator("#said")).to_contain_text("2 of 10")
    here.page.locator("#views button").nth(3).click()
    expect(title).to_contain_text("W10 8–14 Mar")
    here.page.locator("#previous").click()
    expect(title).to_contain_text("W09 1–7 Mar")
    assert here.page.url.endswith("#3")


def test_pass_send_back_and_withdrawn_after_a_label_changed(here: Visit, shop: Shop) -> None:
    here.open_set(2)
    here.wait_for_comparison()
    assert set(here.states()) == {"new"}
    here.page.keyboard.press("Enter")
    expect(here.page.locator("#view-title")).to_contain_text("3 of 10", timeout=PATIENCE_MS)
    here.page.keyboard.press("Backspace")
    expect(here.page.locator("#note")).to_be_focused()
    here.page.keyboard.type("pale, n p f b")
    here.page.keyboard.press("Control+Enter")
    expect(here.page.locator("#verdict")).to_contain_text("sent back", timeout=PATIENCE_MS)
    assert here.states()[1:4] == ["passed", "sent back", "new"]
    record = json.loads(shop.record.read_text("utf-8"))["sets"][SET]["pages"]
    assert set(record) == {"leaf-001-verso", "leaf-002-recto", "leaf-002-verso", "leaf-003-recto"}
    assert record["leaf-002-verso"]["sent_back"]["note"] == "pale, n p f b"
    assert record["leaf-001-verso"]["passed"]["by"] == "Ada"

    whole, do = here.page.locator("#whole-set"), here.page.locator("#whole-do")
    here.page.get_by_role("button", name="Pass the set…").click()
    expect(whole).to_contain_text("8 spreads were not on the screen yet")
    expect(do).to_be_disabled()
    here.page.get_by_role("button", name="Cancel").click()
    for number in (*range(10), 2):  # back to the one that was sent back
        here.page.locator("#views button").nth(number).click()
        here.wait_for_pictures()
    here.page.get_by_role("button", name="Pass the set…").click()
    expect(whole).not_to_contain_text("on the screen")
    do.click()
    expect(here.page.locator("#progress")).to_contain_text("Passed for press", timeout=PATIENCE_MS)
    expect(here.page.locator("#views .state")).to_have_text(["passed"] * 10)
    here.wait_for_pictures()  # none that is still to come may be of a set that is built again

    shop.say("sowing", "What to sow")
    shop.build()
    # The page notices by itself.
    expect(here.page.locator("#progress")).to_contain_text("14 of 18 pages passed", timeout=60_000)
    assert here.states() == ["passed", "passed"] + ["changed", "passed"] * 4
    words = here.page.locator("#cards .words").first
    expect(words).to_contain_text("No longer there: “Sowing list”. New: “What to sow”.")


def test_who_passes_is_asked_once_and_remembered(
    browser: Browser, desk: Running, shop: Shop
) -> None:
    here = visit(browser, desk, name="")
    page = here.page
    assert page.locator(".who").inner_text() == "Proof desk"
    here.open_set(2)
    here.wait_for_comparison()
    page.keyboard.press("Enter")
    expect(page.locator("#who-name")).to_be_focused()
    page.get_by_role("button", name="Cancel").click()
    assert here.states()[1] == "new"
    page.keyboard.press("Enter")
    page.locator("#who-name").fill("Ada Ölçer; B.")
    page.keyboard.press("Enter")
    expect(page.locator("#view-title")).to_contain_text("3 of 10", timeout=PATIENCE_MS)
    page.reload()
    expect(page.locator("#pass-view")).to_be_enabled(timeout=PATIENCE_MS)
    here.wait_for_comparison()
    page.keyboard.press("Enter")
    expect(page.locator("#view-title")).to_contain_text("4 of 10", timeout=PATIENCE_MS)
    record = json.loads(shop.record.read_text("utf-8"))["sets"][SET]["pages"]
    assert {one["passed"]["by"] for one in record.values()} == {"Ada Ölçer; B."}
    page.context.close()
    assert here.complaints == []


def test_passed_and_now_blink_and_difference(here: Visit, shop: Shop) -> None:
    here.open_set(3)
    here.wait_for_comparison()
    here.page.keyboard.press("t")
    expect(here.page.locator("#stage .absent").first).to_have_text("never passed")
    here.page.locator("#pass-view").click()
    expect(here.page.locator("#progress")).to_contain_text("2 of 18", timeout=PATIENCE_MS)
    shop.say("sowing", "What to sow")
    shop.say("plan", "Map of beds")
    shop.build()
    expect(here.page.locator("#progress")).to_contain_text("2 changed", timeout=60_000)
    here.open_set(3)
    here.page.keyboard.press("t")
    here.wait_for_pictures()
    stage = box_of(here.page.locator("#stage"))
    for board in here.page.locator("#stage .board").all():
        box = box_of(board)
        assert stage["x"] <= box["x"]
        assert box["x"] + box["width"] <= stage["x"] + stage["width"] <= 1280
        assert stage["y"] <= box["y"]
        assert box["y"] + box["height"] <= stage["y"] + stage["height"] <= 800
    alts = here.page.locator("#stage img").evaluate_all("all => all.map((one) => one.alt)")
    assert alts == [
        "left page, as passed",
        "right page, as passed",
        "left page, now",
        "right page, now",
    ]
    here.page.keyboard.press("i")
    here.wait_for_pictures()
    which = here.page.locator("#stage .which")
    passed = here.page.locator("#stage img.passed").first
    expect(which).to_have_text("as passed")
    expect(passed).to_be_visible()
    expect(which).to_have_text("now")
    expect(passed).to_be_hidden()
    here.page.get_by_role("button", name="Hold").click()
    held = which.inner_text()
    time.sleep(1.6)
    assert which.inner_text() == held
    here.page.locator("#stage").focus()
    here.page.keyboard.press("Space")
    assert which.inner_text() != held
    here.page.keyboard.press("u")
    here.wait_for_pictures()
    picture = here.page.locator("#stage img.difference").first
    change = here.page.locator("#change")
    expect(change).to_have_text("Change 1 of 2")
    shown = np.asarray(Image.open(io.BytesIO(picture.screenshot())).convert("RGB"), dtype=int)
    redder = shown[..., 0] - shown[..., 2]
    assert redder.max() > 80, "what was only passed is red"
    assert redder.min() < -80, "what is only there now is blue"
    expect(here.page.locator("#stage .ring")).to_have_count(2)
    # Enlarged, each change in turn is where one looks.
    here.page.locator("#stage").focus()
    here.page.keyboard.press("z")
    here.page.keyboard.press("z")
    here.page.keyboard.press(".")
    expect(change).to_have_text("Change 2 of 2")
    expect(here.page.locator("#said")).to_have_text("Change 2 of 2, right page")
    for side in ("right", "left"):
        ring, stage = (
            box_of(here.page.locator(".ring.present")),
            box_of(here.page.locator("#stage")),
        )
        assert stage["x"] <= ring["x"] + ring["width"] / 3 <= stage["x"] + stage["width"], side
        assert stage["y"] <= ring["y"] + ring["height"] / 2 <= stage["y"] + stage["height"], side
        here.page.get_by_role("button", name="Next").last.click()
    expect(change).to_have_text("Change 2 of 2")
    assert_sharp(here, 1)


def box_of(locator: Locator) -> FloatRect:
    """Where something is on the screen."""
    box = locator.bounding_box()
    assert box is not None
    return box


def assert_sharp(visitor: Visit, dots: float) -> None:
    """What is enlarged is drawn in tiles, none of which the browser makes larger."""
    tiles = visitor.page.locator("#stage .tile[src]")
    expect(tiles.first).to_be_visible()
    visitor.wait_for_pictures()
    sizes = tiles.evaluate_all(
        "all => all.map((one) => [one.getBoundingClientRect().width, one.naturalWidth])"
    )
    assert all(drawn >= shown * dots * 0.995 for shown, drawn in sizes), sizes


def test_a_picture_of_what_was_passed_that_is_not_here(here: Visit, shop: Shop) -> None:
    here.open_set(3)
    here.wait_for_comparison()
    here.page.locator("#pass-view").click()
    expect(here.page.locator("#progress")).to_contain_text("2 of 18", timeout=PATIENCE_MS)
    for kept in (shop.out / ".passed").iterdir():
        kept.unlink()
    # What has not changed is drawn anew.
    here.open_set(3)
    here.wait_for_comparison()
    here.page.keyboard.press("t")
    here.wait_for_pictures()
    expect(here.page.locator("#stage img.passed")).to_have_count(2)
    shop.say("sowing", "What to sow")
    shop.build()
    expect(here.page.locator("#progress")).to_contain_text("1 changed", timeout=60_000)
    here.wait_for_pictures()  # or one of them is asked for in the moment that it is taken away
    for kept in (shop.out / ".passed").iterdir():
        kept.unlink()
    here.open_set(3)
    here.wait_for_comparison()
    here.page.keyboard.press("t")
    absent = here.page.locator("#stage .absent")
    expect(absent).to_have_count(1)
    expect(absent).to_contain_text("Ada passed it on another computer or in another folder")
    expect(absent).to_contain_text("copy the folder “.passed” from the “build” folder there")
    expect(here.page.locator("#cards .words")).to_contain_text("copy the folder “.passed”")


def test_after_cancel_keys_are_the_spreads(here: Visit) -> None:
    here.open_set(2)
    here.wait_for_comparison()
    here.page.locator("#pass-set").click()
    here.page.locator("#whole-set").get_by_role("button", name="Cancel").click()
    expect(here.page.locator("#stage")).to_be_focused()
    here.page.keyboard.press("Enter")
    expect(here.page.locator("#progress")).to_contain_text("2 of 18", timeout=PATIENCE_MS)
    expect(here.page.locator("#whole-set")).to_be_hidden()


def test_what_was_passed_on_one_paper_is_offered_on_the_other(here: Visit) -> None:
    here.open_set(2)
    here.wait_for_comparison()
    here.page.keyboard.press("Enter")
    expect(here.page.locator("#progress")).to_contain_text("2 of 18", timeout=PATIENCE_MS)
    here.page.goto(f"{here.desk.base}/set/{SET.replace('a4', 'letter')}")
    offer = here.page.locator("#pass-moved")
    expect(offer).to_have_text("Pass the 2 pages that you saw in A5 on A4", timeout=PATIENCE_MS)
    expect(here.page.locator("#progress")).to_contain_text("2 seen already")
    offer.click()
    expect(here.page.locator("#progress")).to_contain_text("2 of 18", timeout=PATIENCE_MS)


def test_the_very_same_pages_are_passed_together(
    browser: Browser, desk: Running, shop: Shop
) -> None:
    here = visit(browser, desk, name="")
    row = here.page.locator(".product li", has_text="A5 on Letter")
    expect(row).to_contain_text("18 pages:18 new", timeout=PATIENCE_MS)
    here.open_set(1)
    here.wait_for_comparison()
    for number in range(here.page.locator("#views li").count()):
        here.page.locator("#views button").nth(number).click()
        expect(here.page.locator("#pass-view")).to_be_enabled(timeout=PATIENCE_MS)
        here.page.locator("#pass-view").click()
        if number == 0:
            here.page.get_by_label("Your name").fill("Ada")
            is_accessible(here.page)
            here.page.get_by_role("button", name="That is me").click()
        expect(here.page.locator("#views li").nth(number)).to_contain_text(
            "passed", timeout=PATIENCE_MS
        )
    # What is offered there is offered on the overview as well.
    too = here.page.get_by_role(
        "button", name="Pass the same 18 pages in A5 on Letter, English (United Kingdom)"
    )
    expect(too).to_be_visible(timeout=PATIENCE_MS)
    is_accessible(here.page)
    assert_within_its_column(here)
    here.page.get_by_role("navigation", name="Up").get_by_role("link").click()
    expect(row).to_contain_text("18 pages:18 seen already", timeout=PATIENCE_MS)
    expect(row).to_contain_text("Seen already in A5 on A4")
    is_accessible(here.page)
    row.get_by_role("button", name="Pass these too").click()
    expect(row).to_contain_text("passed for press", timeout=PATIENCE_MS)
    sets = json.loads(shop.record.read_text("utf-8"))["sets"]
    letter = sets[SET.replace("a4", "letter")]["pages"]
    assert {page["passed"]["by"] for page in letter.values()} == {"Ada"}
    here.page.context.close()
    assert here.complaints == []


def assert_within_its_column(here: Visit) -> None:
    """All of the panel beside the picture ends where the panel does."""
    edges = here.page.locator(".shelf").evaluate(
        "shelf => [shelf, ...shelf.querySelectorAll('.progress, .progress *')]"
        ".map(one => one.getBoundingClientRect().right)"
    )
    assert max(edges) <= edges[0]


def test_days_whose_notes_have_no_room_are_told_beside_them(browser: Browser, shop: Shop) -> None:
    path = shop.set_folder / "contents.json"
    contents = json.loads(path.read_text("utf-8"))
    label = contents["leaves"][1]["recto"]["label"]
    contents["left_out"] = [{"page": label, "said": "'Fair +1' for 'Fair, Bread day'"}]
    path.write_text(json.dumps(contents), "utf-8")
    desk = open_desk(shop)
    try:
        here = visit(browser, desk)
        here.open_set(2)
        told = here.page.get_by_role("region", name="Notes without room")
        expect(told).to_contain_text("No room for all notes of 1 day", timeout=PATIENCE_MS)
        expect(told).to_contain_text("'Fair +1' for 'Fair, Bread day'")
        expect(here.page.locator("#views li").nth(1)).to_contain_text("no room for a note")
        here.wait_for_comparison()
        expect(here.page.locator("#pass-view")).to_be_enabled(timeout=PATIENCE_MS)
        is_accessible(here.page)
        here.open_set(1)
        expect(told).to_have_count(0)
        here.page.context.close()
    finally:
        close_desk(desk)


def test_findings_are_pinned_where_they_are(browser: Browser, shop: Shop) -> None:
    with shop.season.open("a") as season:
        season.write("\n[limits]\nhairline_mm = 0.5\n")
    desk = open_desk(shop)
    try:
        visitor = visit(browser, desk)
        visitor.open_set(2)
        pin = visitor.page.locator(".pin").first
        expect(pin).to_be_visible(timeout=60_000)
        about = visitor.page.evaluate(f"fetch('/api/set/{SET}').then((answer) => answer.json())")
        key = about["views"][1]["pages"][0]
        page = about["pages"][key]
        finding = page["findings"][0]
        box, board = pin.bounding_box(), visitor.page.locator(".board").bounding_box()
        assert box is not None
        assert board is not None
        per_mm = board["width"] / about["width_mm"]
        x = board["x"] + (page["corner_mm"][0] + finding["place"][0]) * per_mm
        y = board["y"] + (page["corner_mm"][1] + finding["place"][1]) * per_mm
        # The pin's lower right part touches the corner of what it is about.
        assert box["x"] < x < box["x"] + box["width"]
        assert box["y"] < y < box["y"] + box["height"]
        # Folded, they leave the picture the room in which it can be judged.
        assert board["width"] / about["width_mm"] >= 1.6
        expect(visitor.page.locator("#cards summary").first).to_contain_text("finding")
        expect(visitor.page.locator("#cards .findings li").first).to_be_hidden()
        pin.click()
        item = visitor.page.locator(f"#finding-{key}-0")
        expect(item).to_be_focused()
        expect(item).to_contain_text(finding["message"])
        expect(visitor.page.locator("#views .finding").first).to_be_visible()
        visitor.page.context.close()
    finally:
        close_desk(desk)


def test_true_size_and_four_times(here: Visit) -> None:
    here.open_set(2)
    about = here.page.evaluate(f"fetch('/api/set/{SET}').then((answer) => answer.json())")
    here.page.keyboard.press("z")
    board = here.page.locator("#stage .board")
    box = board.bounding_box()
    assert box is not None
    assert box["width"] / 96 * 25.4 == pytest.approx(about["width_mm"], abs=0.3)
    assert box["height"] / 96 * 25.4 == pytest.approx(about["height_mm"], abs=0.5)
    here.page.keyboard.press("z")
    box = board.bounding_box()
    assert box is not None
    assert box["width"] / 96 * 25.4 == pytest.approx(4 * about["width_mm"], abs=0.5)
    assert_sharp(here, 1)
    # It opens on what is printed first: here the heading of the left flap.
    shown = Image.open(io.BytesIO(here.page.locator("#stage").screenshot())).convert("L")
    assert (np.asarray(shown.crop((0, 0, 300, 200))) < 150).any()
    here.page.locator("#stage").evaluate("one => one.scrollBy(900, 700)")
    here.wait_until(lambda: here.page.locator("#stage .tile[src]").count() > 2)
    here.page.locator("#stage").focus()
    here.page.keyboard.press("l")
    expect(here.page.locator("#stage .shut")).to_have_count(2)
    assert_sharp(here, 1)


def test_screens_of_two_dots_a_pixel_are_sharp(browser: Browser, desk: Running) -> None:
    visitor = visit(browser, desk, dots=2)
    visitor.open_set(2)
    whole = visitor.page.locator("#stage img.open")
    shown = "one => one.naturalWidth / (one.getBoundingClientRect().width * 2)"
    assert whole.evaluate(shown) >= 1
    for _ in range(2):
        visitor.page.keyboard.press("z")
        assert_sharp(visitor, 2)
    visitor.page.context.close()


def test_single_keys_can_be_turned_off(here: Visit) -> None:
    here.open_set(2)
    here.wait_for_comparison()
    here.page.keyboard.press("?")
    here.page.get_by_label("Use single-key shortcuts").uncheck()
    here.page.get_by_role("button", name="Close").click()
    here.page.keyboard.press("l")
    here.page.keyboard.press("Enter")
    expect(here.page.locator("#stage img.shut")).to_have_count(0)
    expect(here.page.locator("#view-title")).to_contain_text("2 of 10")
    here.page.keyboard.press("ArrowRight")
    expect(here.page.locator("#view-title")).to_contain_text("3 of 10")


def test_nothing_is_passed_before_its_picture_is_there(here: Visit) -> None:
    held: list[Route] = []
    here.page.route("**/view/**", lambda route: held.append(route))
    here.page.goto(f"{here.desk.base}/set/{SET}#2", wait_until="commit")
    expect(here.page.locator("#work")).to_have_text("Drawing…", timeout=PATIENCE_MS)
    here.wait_for_comparison()
    here.page.keyboard.press("Enter")
    expect(here.page.locator("#pass-view")).to_be_disabled()
    expect(here.page.locator("#verdict")).to_contain_text("being drawn")
    assert here.states()[1] == "new"
    for route in held:
        route.continue_()
    here.page.unroute("**/view/**")
    expect(here.page.locator("#pass-view")).to_be_enabled(timeout=PATIENCE_MS)
    expect(here.page.locator("#work")).to_be_hidden()
    here.page.keyboard.press("Enter")
    expect(here.page.locator("#progress")).to_contain_text("2 of 18", timeout=PATIENCE_MS)


def test_what_cannot_be_drawn_cannot_be_passed(here: Visit) -> None:
    here.open_set(2)
    here.wait_for_comparison()
    here.page.route("**/view/2/**", lambda route: route.abort())
    here.page.locator("#views button").nth(2).click()
    verdict = here.page.locator("#verdict")
    expect(verdict).to_contain_text("cannot be drawn", timeout=PATIENCE_MS)
    expect(here.page.locator("#pass-view")).to_be_disabled()
    here.page.keyboard.press("u")
    expect(verdict).to_contain_text("Look at it as it is now first")
    expect(here.page.locator("#pass-view")).to_be_disabled()
    here.page.keyboard.press("t")  # its pages laid flat are there
    expect(here.page.locator("#stage img.page")).to_have_count(2, timeout=PATIENCE_MS)
    here.complaints.clear()


def test_keys_kept_as_nonsense_are_the_usual_ones(here: Visit) -> None:
    kept = {"name": "leafset-keys", "value": "nonsense", "url": here.desk.base}
    here.page.context.add_cookies([kept])  # type: ignore[list-item]
    here.open_set(2)
    here.page.keyboard.press("l")
    expect(here.page.locator("#stage img.shut")).to_have_count(2)


def test_keys_can_be_chosen(here: Visit) -> None:
    here.open_set(2)
    here.page.keyboard.press("?")
    here.page.get_by_role("button", name="Key to flaps open, shut").click()
    here.page.keyboard.press("g")
    expect(here.page.get_by_role("button", name="Key to flaps open, shut")).to_have_text("G")
    here.page.get_by_role("button", name="Key to fit, true size").click()
    here.page.keyboard.press("g")  # what another act had is given to that in exchange
    expect(here.page.get_by_role("button", name="Key to flaps open, shut")).to_have_text("Z")
    here.page.get_by_role("button", name="Close").click()
    here.page.reload()
    here.wait_for_pictures()
    here.page.keyboard.press("z")
    expect(here.page.locator("#stage img.shut")).to_have_count(2)
    here.page.keyboard.press("?")
    here.page.get_by_role("button", name="The usual keys").click()
    expect(here.page.get_by_role("button", name="Key to flaps open, shut")).to_have_text("L")


def test_everything_can_be_reached_with_the_tab_key(here: Visit) -> None:
    here.open_set(2)
    here.wait_for_comparison()
    seen: list[str] = []
    for _ in range(60):
        here.page.keyboard.press("Tab")
        at = here.page.evaluate(
            "(document.activeElement.id || document.activeElement.className"
            " || document.activeElement.textContent).trim()"
        )
        if at not in seen:
            seen.append(at)
    order = ["pass-set", "previous", "flaps", "keys-open", "stage", "send-view", "pass-view"]
    assert [one for one in seen if one in order] == order
    wanted = {"skip", "Sheets", "Dates", "pass-set", "send-set", "previous", "next", "flaps"}
    assert wanted | {"keys-open", "stage", "flap left", "flap right", "send-view"} <= set(seen)
    assert "pass-view" in seen


def test_nothing_can_be_decided_before_the_set_is_there(here: Visit) -> None:
    held: list[Route] = []
    asked = f"**/api/set/{SET}"
    here.page.route(asked, lambda route: held.append(route))
    with here.page.expect_request(asked):
        here.page.goto(f"{here.desk.base}/set/{SET}")
    buttons = [here.page.locator(f"#{name}") for name in ("pass-set", "send-set", "pass-view")]
    for button in buttons:
        expect(button).to_be_disabled()
    here.page.unroute(asked)  # which lets those through that were held
    assert held
    for button in buttons:
        expect(button).to_be_enabled(timeout=PATIENCE_MS)


def test_no_rule_of_wcag_is_broken(here: Visit) -> None:
    page, narrow = here.page, (1280, 390)
    is_accessible(page, narrow)
    here.open_set(2)
    here.wait_for_comparison()
    page.locator("#pass-view").click()
    expect(page.locator("#progress")).to_contain_text("2 of 18", timeout=PATIENCE_MS)
    here.open_set(2)
    is_accessible(page)
    page.locator("#stage").focus()
    page.keyboard.press("u")
    here.wait_for_pictures()
    is_accessible(page, narrow)
    page.keyboard.press("t")
    page.get_by_role("radio", name="4:1").check(force=True)
    is_accessible(page, narrow)
    page.locator("#stage").focus()
    page.keyboard.press("?")
    is_accessible(page, narrow)
    for rest in ("/sheets", "/dates"):
        here.open_set(2, rest)
        page.wait_for_load_state("networkidle")
        is_accessible(page, narrow)
    page.goto(f"{here.desk.base}/print")
    is_accessible(page, narrow)


def test_everything_has_a_name(here: Visit) -> None:
    for rest in ("", "/sheets", "/dates"):
        here.open_set(2, rest)
        roles: tuple[Literal["button", "link", "img", "radio", "slider"], ...]
        roles = ("button", "link", "img", "radio", "slider")
        for role in roles:
            for one in here.page.get_by_role(role).all():
                if one.get_attribute("alt") != "":
                    about = one.aria_snapshot().partition(":")[0]
                    assert '"' in about or one.inner_text().strip(), about
        assert here.page.get_by_role("main").count() == 1
        assert here.page.get_by_role("heading", level=1).count() == 1


def test_the_light_table_turns_the_back_over(here: Visit) -> None:
    here.open_set(rest="/sheets")
    back = here.page.locator("#sheets li").first.locator(".two img")
    front = here.page.locator("#sheets li").first.locator(".one img")
    here.page.get_by_role("radio", name="Light table").check()
    assert back.evaluate("one => getComputedStyle(one).scale") == "-1 1"
    assert front.bounding_box() == back.bounding_box()
    first = back.evaluate("one => getComputedStyle(one).opacity")
    here.page.get_by_role("slider", name="Light").focus()
    here.page.keyboard.press("ArrowRight")
    assert back.evaluate("one => getComputedStyle(one).opacity") > first


def test_all_dates_of_a_set(here: Visit) -> None:
    held: list[Route] = []
    here.page.route("**/date/3/**", lambda route: held.append(route))
    here.page.goto(f"{here.desk.base}/set/{SET}/dates", wait_until="commit")
    expect(here.page.locator("#sum")).to_have_text(
        "28 days on 4 spreads · drawing, 7 to go…", timeout=PATIENCE_MS
    )
    expect(here.page.locator(".cut.awaited")).to_have_count(7)
    for route in held:
        route.continue_()
    here.page.unroute("**/date/3/**")
    expect(here.page.locator(".cut.awaited")).to_have_count(0, timeout=PATIENCE_MS)
    expect(here.page.locator("#sum")).to_have_text(
        "28 days on 4 spreads · all read back as expected", timeout=PATIENCE_MS
    )
    expect(here.page.locator(".strip img")).to_have_count(28)
    expect(here.page.get_by_alt_text("On the page: Tuesday 9", exact=True)).to_have_count(1)
    cut = here.page.locator(".strip .cut").nth(2)
    inside, around = cut.locator("img").bounding_box(), cut.bounding_box()
    assert inside is not None
    assert around is not None
    assert inside["width"] <= around["width"]


@pytest.mark.parametrize("rest", ["", "/sheets", "/dates"])
def test_on_a_phone_nothing_runs_off_the_side(browser: Browser, desk: Running, rest: str) -> None:
    visitor = visit(browser, desk, width=390)
    visitor.open_set(2, rest)
    width = visitor.page.evaluate("document.documentElement.scrollWidth")
    assert width == 390
    if not rest:
        visitor.wait_for_comparison()
        # Small as a stamp nothing can be judged, and so nothing be passed.
        page = visitor.page
        page.get_by_role("radio", name="Fit").check(force=True)
        expect(visitor.page.locator("#verdict")).to_contain_text("Enlarge it")
        expect(visitor.page.locator("#pass-view")).to_be_disabled()
        page.get_by_role("radio", name="Page").check(force=True)
        # One page at a time fills the width; both must have been looked at.
        assert page.locator("#stage .board").evaluate("one => one.clientWidth") > 2 * 380
        expect(page.locator("#verdict")).to_contain_text("Look at its other page too")
        page.locator("#next").click()
        expect(page.locator("#view-title")).to_contain_text("2 of 10")
        expect(page.locator("#pass-view")).to_be_enabled(timeout=PATIENCE_MS)
        page.locator("#next").click()
        expect(page.locator("#view-title")).to_contain_text("3 of 10")
        # Two fingers enlarge, about the place between them.
        fingers = page.context.new_cdp_session(page)
        stage = box_of(page.locator("#stage"))
        x, y = stage["x"] + 200, stage["y"] + 200
        for kind, apart in (("touchStart", 40), ("touchMove", 60), ("touchMove", 80)):
            points = [{"x": x - apart, "y": y, "id": 0}, {"x": x + apart, "y": y, "id": 1}]
            fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        fingers.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
        expect(page.locator("#caption")).to_contain_text("times true size")
        assert page.locator("#stage .board").evaluate("one => one.clientWidth") > 3.5 * 380
        assert_sharp(visitor, 1)
        visitor.page.get_by_role("radio", name="1:1").check(force=True)
        visitor.page.get_by_role("button", name="Pass this spread").click()
        expect(visitor.page.locator("#progress")).to_contain_text("2 of 18", timeout=PATIENCE_MS)
    visitor.page.context.close()


def test_nothing_is_asked_of_another_machine(here: Visit) -> None:
    for rest in ("", "/sheets", "/dates"):
        here.open_set(2, rest)
    assert here.asked
    assert {address.split("/")[2] for address in here.asked} == {here.desk.base.split("/")[2]}


def test_a_second_spread_is_there_at_once(here: Visit) -> None:
    here.open_set(2)
    start = time.monotonic()
    here.open_set(2)
    assert time.monotonic() - start < 3, "about 0.3 s on a machine with nothing else to do"


def test_blinking_waits_for_those_who_want_no_motion(browser: Browser, desk: Running) -> None:
    visitor = visit(browser, desk, motion="reduce")
    visitor.open_set(2)
    visitor.page.keyboard.press("i")
    which = visitor.page.locator("#stage .which")
    expect(which).to_have_text("now")
    time.sleep(1.0)
    assert which.inner_text() == "now"
    visitor.page.keyboard.press("Space")
    assert which.inner_text() == "as passed"
    visitor.page.context.close()


def test_two_desks_on_one_season(browser: Browser, desk: Running, shop: Shop) -> None:
    second = open_desk(shop)
    try:
        one, other = visit(browser, desk), visit(browser, second)
        one.open_set(2)
        other.open_set(4)
        one.wait_for_comparison()
        other.wait_for_comparison()
        one.page.locator("#pass-view").click()
        other.page.locator("#pass-view").click()
        # Each sees what the other passed.
        for visitor in (one, other):
            expect(visitor.page.locator("#progress")).to_contain_text("4 of 18", timeout=30_000)
            visitor.page.context.close()
    finally:
        close_desk(second)
    pages = json.loads(shop.record.read_text("utf-8"))["sets"][SET]["pages"]
    assert len(pages) == 4


def test_ctrl_c_closes_it_cleanly(browser: Browser, shop: Shop) -> None:
    desk = open_desk(shop)
    visitor = visit(browser, desk)
    visitor.open_set(2)
    said = close_desk(desk)
    assert said.strip().endswith("The desk is closed.")
    assert "Traceback" not in said
    assert desk.process.returncode == 0
    visitor.page.context.close()


@pytest.mark.parametrize(
    ("name", "width", "scheme"),
    [
        ("wide", 1280, "light"),
        ("wide-dark", 1280, "dark"),
        ("phone", 390, "light"),
        ("phone-dark", 390, "dark"),
    ],
)
def test_golden_screens(
    browser: Browser, desk: Running, golden: Golden, name: str, width: int, scheme: str
) -> None:
    visitor = visit(browser, desk, width, scheme=scheme)
    visitor.open_set(2)
    visitor.wait_for_comparison()
    # Drawn once more with all known, as it depends on when that was how far the list was moved.
    visitor.page.reload()
    visitor.wait_for_pictures()
    visitor.wait_for_comparison()
    shot = Image.open(io.BytesIO(visitor.page.screenshot())).convert("RGB")
    visitor.page.context.close()
    if width > 1000:
        shot = shot.reduce(2)
    same_screen(golden, f"desk/{name}", shot)


def test_the_tolerance_for_screens_sees_what_matters(golden: Golden) -> None:
    with Image.open(golden.folder / "desk" / "phone.png") as kept:
        screen = kept.convert("RGB")
    assert compare(screen, screen, SCREEN).same
    without_button = screen.copy()
    without_button.paste((255, 254, 252), (190, 745, 390, 800))
    assert not compare(screen, without_button, SCREEN).same
    moved = Image.new("RGB", screen.size, "white")
    moved.paste(screen, (0, 6))
    assert not compare(screen, moved, SCREEN).same
    without_word = screen.copy()
    without_word.paste((250, 249, 246), (66, 646, 168, 668))
    assert not compare(screen, without_word, SCREEN).same


def same_screen(golden: Golden, name: str, shot: Image.Image) -> None:
    """Holds a screenshot against the golden one, with the tolerance for screens."""
    path = golden.folder / f"{name}.png"
    if golden.renew or not path.is_file():
        golden(name, shot)
        return
    with Image.open(path) as kept:
        expected = kept.convert("RGB")
    result = compare(expected, shot, SCREEN)
    if not result.same:
        failure = golden.failures / f"{name}.png"
        failure.parent.mkdir(parents=True, exist_ok=True)
        save_small(side_by_side(expected, shot), failure)
        pytest.fail(f"{name}: {result.reason}; see {failure}")
