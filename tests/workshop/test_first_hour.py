"""From an empty folder to a released set in a real browser, with no terminal, and what lies on the
way: a finding mended, a season changed in two places, a desk that is killed and started again."""

from __future__ import annotations

import datetime as dt
import os
import re
import signal
import time
import tomllib
from pathlib import Path

from playwright.sync_api import Page, Position, expect

from pipeline.app.build import make_season
from pipeline.drawings.starters.starter import UNREAD
from pipeline.plan.calendar import later
from pipeline.plan.season import load_season
from pipeline.publish.releases import read_releases, release_file
from pipeline.workshop.workspace import NOTES, OPEN
from tests.desk.conftest import Running, close_desk, is_accessible
from tests.publish.passing import pass_sets
from tests.workshop.conftest import PATIENCE_MS, Open, begun, enter, open_at


def begin(page: Page, desk: Running, name: str = "Anna’s paper") -> None:
    enter(page, desk)
    expect(page.get_by_role("heading", level=1)).to_have_text("Begin a shop")
    page.get_by_label("What is your shop called?").fill(name)
    page.get_by_label("What is its first season called?").fill("The first")
    page.locator("input[name=papers][value=letter]").uncheck()
    page.get_by_role("button", name="Begin").click()
    page.wait_for_url("**/season/**", timeout=PATIENCE_MS)


def test_from_an_empty_folder_to_a_released_set(opened: Open, page: Page, tmp_path: Path) -> None:
    desk = opened(tmp_path)
    begin(page, desk)
    season = tmp_path / "annas-paper" / "seasons" / "annas-paper.toml"
    assert season.is_file()
    # It is built a few seconds later, all by itself.
    link = page.get_by_role("link", name="A5 on A4")
    expect(link).to_be_visible(timeout=PATIENCE_MS)

    # Plan: called otherwise, by a hand that the file keeps.
    page.get_by_role("link", name="Plan").click()
    title = page.get_by_label("Title of the set")
    title.fill("Weeks for cooks")
    title.press("Tab")
    expect(page.locator("#figures")).to_contain_text("Weeks for cooks", timeout=PATIENCE_MS)
    assert 'title = "Weeks for cooks"' in season.read_text("utf-8")
    assert "# Every day of the month is there" in season.read_text("utf-8")
    is_accessible(page)

    # Draw: somebody saves a hairline, which is found, pinned and mended.
    drawing = tmp_path / "annas-paper" / "templates_svg" / "annas-paper" / "a5" / "list.svg"
    thin = (
        b'<path id="crack" d="M 40 190 h 60" stroke="#333" stroke-width="0.05" fill="none"/></svg>'
    )
    drawing.write_bytes(drawing.read_bytes().replace(b"</svg>", thin))
    page.get_by_role("link", name="Drawings").click()
    expect(page.locator(".drawing")).to_have_count(2)
    # The overview tells which page has findings, and leads to the worst first.
    expect(page.locator("#sum")).to_contain_text("2 of 2 pages looked through", timeout=PATIENCE_MS)
    expect(page.locator(".drawing", has_text="list")).to_contain_text("1 to look at")
    expect(page.locator("#worst a").first).to_have_text("list")
    is_accessible(page)
    page.locator(".drawing a").first.click()
    expect(page.locator("#found")).to_contain_text("crack", timeout=PATIENCE_MS)
    expect(page.get_by_role("button", name=re.compile("Finding"))).not_to_have_count(0)
    is_accessible(page)
    # Its keys are marked where they are.
    key = page.locator(".tag", has_text="label-list")
    expect(key).to_be_visible(timeout=PATIENCE_MS)
    assert page.locator(".key").first.bounding_box() is not None
    page.get_by_label("Show the keys").uncheck()
    expect(key).to_be_hidden()
    # What mending and resizing would do is shown first; nothing is done before it is asked for.
    before = drawing.read_bytes()
    page.get_by_role("button", name="Mend what is mechanical").click()
    expect(page.locator("#trial-lines")).to_contain_text("crack", timeout=PATIENCE_MS)
    expect(page.locator("#after.awaited")).to_have_count(0, timeout=PATIENCE_MS)
    sources = [page.locator("#before"), page.locator("#after img")]
    assert all(one.evaluate("one => one.naturalWidth > 100") for one in sources)
    is_accessible(page)
    page.get_by_role("button", name="Leave it as it is").click()
    assert drawing.read_bytes() == before
    page.get_by_label("Make it for another size too").select_option("personal")
    page.get_by_role("button", name="Resize").click()
    after = page.get_by_alt_text("The page for Personal")
    expect(after).to_be_visible(timeout=PATIENCE_MS)
    expect(page.locator("#after.awaited")).to_have_count(0, timeout=PATIENCE_MS)
    assert not (drawing.parent.parent / "personal").exists()
    page.get_by_role("button", name="Leave it as it is").click()
    page.get_by_role("button", name="Mend what is mechanical").click()
    page.get_by_role("button", name="Mend it").click()
    expect(page.locator("#found")).not_to_contain_text("crack", timeout=PATIENCE_MS)
    assert b'stroke-width="0.2' in drawing.read_bytes()

    # Look and pass.
    page.get_by_role("link", name="Proofs").click()
    expect(page.locator("#watching")).not_to_have_class(re.compile("busy"), timeout=PATIENCE_MS)
    link.click()
    expect(page.locator("#views li")).not_to_have_count(0, timeout=PATIENCE_MS)
    expect(page.locator("#views .none")).to_have_count(0, timeout=PATIENCE_MS)
    spreads = page.locator("#views li").count()
    for number in range(spreads):
        page.locator("#views button").nth(number).click()
        button = page.locator("#pass-view")
        expect(button).to_be_enabled(timeout=PATIENCE_MS)
        page.keyboard.press("Enter")
        if number == 0:
            page.get_by_label("Your name").fill("Anna")
            page.get_by_role("button", name="That is me").click()
        expect(page.locator("#progress")).to_contain_text(
            "Passed for press" if number == spreads - 1 else "passed", timeout=PATIENCE_MS
        )
        expect(page.locator("#views li").nth(number)).to_contain_text("passed", timeout=PATIENCE_MS)

    # Release.
    page.get_by_role("link", name="Go to Release").click()
    expect(page.locator("#ready-words")).to_have_text(
        "1 set is passed and not out.", timeout=PATIENCE_MS
    )
    is_accessible(page)
    page.get_by_label("with pictures for the shop").uncheck()
    page.get_by_role("button", name="Make it").click()
    expect(page.locator("#work")).to_have_text("Made: 1 set is out.", timeout=PATIENCE_MS)
    with page.expect_popup() as popup:
        page.get_by_role("link", name="Open the page to upload from").click()
    upload = popup.value
    expect(upload.get_by_role("link", name=re.compile(r"\.zip$"))).to_be_visible()
    assert "Desk" in upload.evaluate("getComputedStyle(document.body).fontFamily")
    beside = page.request.get(f"{desk.base}/season/annas-paper/released/..%2F..%2Fcontents.json")
    assert beside.status == 404
    upload.close()
    expect(page.locator("#out")).to_contain_text("version 1", timeout=PATIENCE_MS)
    assert len(read_releases(release_file(season)).sets) == 1
    zips = list((tmp_path / "annas-paper" / "build").glob("*/release/*/*.zip"))
    assert len(zips) == 1

    # What buyers get: the terms are written here, and the directions are theirs.
    [written] = (tmp_path / "annas-paper").glob("templates_svg/*/licence/en.txt")
    assert UNREAD in written.read_text("utf-8")
    page.get_by_role("button", name="Read them").click()
    terms = page.get_by_label("Terms in English")
    expect(terms).to_have_value(re.compile("Blades are sharp"))
    page.get_by_role("button", name="They are mine").click()
    expect(page.locator("#unread")).to_be_hidden(timeout=PATIENCE_MS)
    assert UNREAD not in written.read_text("utf-8")
    assert "Blades are sharp" in written.read_text("utf-8")
    terms.fill("Print as often as you like.\n# a note")
    page.get_by_role("button", name="Save as en.txt").click()
    expect(page.get_by_role("button", name="Save as en.txt")).to_be_disabled(timeout=PATIENCE_MS)
    assert written.read_text("utf-8") == "Print as often as you like.\n# a note\n"
    page.get_by_text("Directions in English").click()
    directions = page.get_by_alt_text(re.compile("Directions in English.*page 1"))
    expect(directions).to_be_visible(timeout=PATIENCE_MS)
    # Only what can be made is offered.
    expect(page.get_by_label("Flaps opening")).to_have_count(0)
    expect(page.get_by_label("All sizes")).to_have_count(0)
    page.get_by_label("Pages fanned out").uncheck()
    expect(page.get_by_label("Pages fanned out")).not_to_be_checked()
    until = time.monotonic() + 20
    while "[pictures]" not in season.read_text("utf-8") and time.monotonic() < until:
        time.sleep(0.1)
    assert '"fan"' not in season.read_text("utf-8").partition("[pictures]")[2]

    # The bench and the shelf.
    page.get_by_role("link", name="Bench").click()
    page.get_by_label(re.compile("Packs of")).first.fill("20")
    # Six sheets, twenty packs, 5 % more.
    expect(page.locator("#all-sheets")).to_have_text("126", timeout=PATIENCE_MS)
    page.get_by_role("button", name="Make the sheet for the bench").click()
    expect(page.get_by_role("link", name="Open it")).to_be_visible(timeout=PATIENCE_MS)
    expect(page.get_by_alt_text("The sheet for the bench, page 1")).to_be_visible(
        timeout=PATIENCE_MS
    )
    # Tools and postage are forms as well.
    page.get_by_text("Trimmers and postage").click()
    for name, sheets in (("Craft knife", "1"), ("Guillotine", "40")):
        page.get_by_label("Called").fill(name)
        page.locator("#trimmer-sheets").fill(sheets)
        page.get_by_role("button", name="Add a trimmer").click()
        expect(page.locator("#trimmers")).to_contain_text(
            name.lower().replace(" ", "-"), timeout=PATIENCE_MS
        )
    page.get_by_label("Cut with").select_option("guillotine")
    page.locator("#postage-g").fill("500")
    page.locator("#postage-price").fill("2.5")
    page.get_by_role("button", name="Add a row").click()
    expect(page.locator("#postage li")).to_have_count(1, timeout=PATIENCE_MS)
    page.get_by_role("button", name="Take out the trimmer craft-knife").click()
    expect(page.locator("#trimmers li")).to_have_count(1, timeout=PATIENCE_MS)
    text = season.read_text("utf-8")
    assert "[bench.trimmer.guillotine]\nsheets = 40" in text
    assert "postage = [[500, 2.5]]" in text
    sheet = page.request.get(f"{desk.base}/season/annas-paper/bench-sheet.pdf")
    assert sheet.body().startswith(b"%PDF")
    is_accessible(page)
    page.get_by_role("link", name="All seasons").click()
    expect(page.locator(".cards-of")).to_contain_text("out, version 1", timeout=PATIENCE_MS)
    is_accessible(page)
    # A month leads to its plan.
    page.locator("#strip a").last.click()
    expect(page.locator("#wanted")).to_contain_text("is in no period yet", timeout=PATIENCE_MS)
    is_accessible(page)
    page.get_by_role("button", name="To the season after this one").click()
    expect(page.get_by_role("button", name="Begin the next season")).to_be_focused()


def test_a_shop_begins_with_the_months_asked_for(opened: Open, page: Page, tmp_path: Path) -> None:
    enter(page, opened(tmp_path))
    coming = page.get_by_label("Which month comes first?").locator("option")
    expect(coming).to_have_count(18)
    first = dt.date.fromisoformat(f"{coming.nth(1).get_attribute('value')}-01")
    page.get_by_label("Which month comes first?").select_option(index=1)
    expect(page.locator("#first-sets")).to_have_text(f"One set is made: {first:%B %Y}.")
    expect(page.get_by_label("What is its first season called?")).to_have_value(f"{first:%B %Y}")
    page.get_by_label("How many months to begin with?").select_option("3")
    expect(page.locator("#first-sets")).to_contain_text("A set for each month is made, 3 in all")
    expect(page.locator("#first-sets")).to_contain_text(f"{first:%B}")
    is_accessible(page)
    page.get_by_label("What is your shop called?").fill("Anna’s paper")
    page.get_by_role("button", name="Begin").click()
    page.wait_for_url("**/season/**", timeout=PATIENCE_MS)
    season = load_season(tmp_path / "annas-paper" / "seasons" / "annas-paper.toml")
    assert [one.first for one in season.period] == [later(first, n) for n in range(3)]


def test_what_adding_a_period_makes_is_said_before(
    opened: Open, page: Page, tmp_path: Path
) -> None:
    shop = begun(tmp_path)  # with January 2027
    enter(page, opened(shop.folder), "/season/annas-paper/plan")
    said, add = page.locator("#period-words"), page.locator("#add-period")
    expect(said).to_have_text("Makes one period, February 2027.", timeout=PATIENCE_MS)
    page.get_by_label("From").fill("2027-01")
    page.get_by_label("to", exact=True).fill("2027-03")
    expect(said).to_have_text(
        "January 2027 is there already. Makes 2 periods, February, March 2027:"
        " a set for each of them."
    )
    expect(add).to_have_text("Add 2 periods")
    page.get_by_label("One period or several").select_option("one period over all of them")
    expect(said).to_have_text(
        "Makes one period of 3 months, January 2027 to March 2027: one set over all of them."
    )
    page.get_by_label("One period or several").select_option("a period for each month")
    is_accessible(page)
    add.click()
    expect(page.locator("#periods li")).to_have_count(3, timeout=PATIENCE_MS)
    periods = load_season(shop.seasons["annas-paper"]).period
    assert [one.name for one in periods] == ["january", "february", "march"]
    expect(said).to_have_text("Makes one period, April 2027.")
    page.get_by_label("to", exact=True).fill("2027-02")
    expect(add).to_be_disabled()
    expect(said).to_have_text("Give the first and the last month, in this order.")


def test_only_what_is_ticked_goes_out(opened: Open, page: Page, tmp_path: Path) -> None:
    shop = begun(tmp_path, months=3)
    season = shop.seasons["annas-paper"]
    make_season(season, shop.out)
    pass_sets(season, shop.out)
    enter(page, opened(shop.folder), "/season/annas-paper/release")
    boxes = page.locator("#ready input")
    expect(boxes).to_have_count(3, timeout=PATIENCE_MS)
    # Whoever comes from a set releases that one.
    page.get_by_role("link", name="All seasons").click()
    page.get_by_role("link", name=re.compile("release it: .*March 2027")).click(timeout=PATIENCE_MS)
    one = page.locator("#ready input:checked")
    expect(one).to_have_count(1, timeout=PATIENCE_MS)
    expect(one).to_have_value("march/weeks/a5-a4-en-GB")
    expect(boxes).to_have_count(3)
    page.get_by_role("link", name="Release", exact=True).click()
    words, make = page.locator("#ready-words"), page.locator("#make")
    expect(words).to_have_text("3 sets are passed and not out.", timeout=PATIENCE_MS)
    assert all(box.is_checked() for box in boxes.all())
    page.get_by_role("button", name="Tick none").click()
    expect(words).to_have_text("Tick below which sets are to go out now.")
    expect(make).to_be_disabled()
    page.get_by_label(re.compile("Release .*February 2027")).check()
    expect(words).to_have_text("1 of 3 sets that are passed goes out now; the rest waits.")
    is_accessible(page)
    page.get_by_label("with pictures for the shop").uncheck()
    make.click()
    expect(page.locator("#work")).to_have_text("Made: 1 set is out.", timeout=PATIENCE_MS)
    expect(boxes).to_have_count(2, timeout=PATIENCE_MS)
    assert list(read_releases(release_file(season)).sets) == ["february/weeks/a5-a4-en-GB"]
    # The rest still waits, and goes when it is ticked.
    page.get_by_role("button", name="Tick all").click()
    make.click()
    expect(page.locator("#out li")).to_have_count(3, timeout=PATIENCE_MS)

    # A week that runs out of its set's month is headed by that month.
    page.goto(page.url.replace("/release", "/set/january/weeks/a5-a4-en-GB"))
    first = page.locator("#views li").first
    expect(first).to_contain_text("January 2027 · W53 27 Dec 2026", timeout=PATIENCE_MS)
    expect(page.locator("#views li").nth(1)).not_to_contain_text("January 2027")
    # However long a heading is, the last button does not stand in a row alone.
    first.locator("button").click()
    expect(page.locator("#view-title")).to_contain_text("January 2027")
    for width in (1120, 1280):
        page.set_viewport_size({"width": width, "height": 800})
        rows = [page.locator(one).bounding_box() for one in ("#modes", "#keys-open")]
        modes, keys = (row["y"] + row["height"] / 2 for row in rows if row)
        assert abs(modes - keys) <= 2


def test_a_season_changed_in_two_places_asks(opened: Open, page: Page, tmp_path: Path) -> None:
    desk = opened(tmp_path)
    begin(page, desk)
    season = tmp_path / "annas-paper" / "seasons" / "annas-paper.toml"
    page.get_by_role("link", name="Plan").click()
    title = page.get_by_label("Title of the season")
    expect(title).to_have_value("The first", timeout=PATIENCE_MS)
    title.fill("By the desk")
    text = season.read_text("utf-8").replace("Weeks with a list", "By hand")
    season.write_text(text, "utf-8")
    title.press("Tab")
    expect(page.locator("#wrong")).to_contain_text("changed by hand", timeout=PATIENCE_MS)
    assert season.read_text("utf-8") == text
    expect(page.get_by_label("Title of the set")).to_have_value("By hand")
    # It asks which of the two is to stand.
    page.get_by_role("button", name="Write my change into it").click()
    expect(title).to_have_value("By the desk", timeout=PATIENCE_MS)
    expect(page.locator("#wrong")).to_be_hidden()
    both = season.read_text("utf-8")
    assert "By the desk" in both
    assert "By hand" in both
    text = both
    # A change by hand is there by itself.
    season.write_text(text.replace("By hand", "By hand again"), "utf-8")
    page.locator("h1").click()
    expect(page.get_by_label("Title of the set")).to_have_value(
        "By hand again", timeout=PATIENCE_MS
    )


def test_the_rhythm_of_a_set_is_added_to_dragged_and_undone(
    opened: Open, page: Page, tmp_path: Path
) -> None:
    shop = begun(tmp_path)
    path = shop.seasons["annas-paper"]

    def run() -> list[tuple[str, str]]:
        [entry] = tomllib.loads(path.read_text("utf-8"))["set"]
        return [(one["verso"], one["per"]) for one in entry["spreads"]]

    enter(page, opened(shop.folder), "/season/annas-paper/plan")
    spreads = page.locator(".run > li:not(.new)")
    expect(spreads).to_have_count(1, timeout=PATIENCE_MS)
    page.get_by_role("button", name="Add a spread").click()
    expect(spreads).to_have_count(2, timeout=PATIENCE_MS)
    page.get_by_label("How often, spread 2 of weeks").select_option("month")
    expect(page.get_by_label("How often, spread 2 of weeks")).to_have_value("month")
    page.get_by_label("Left page, spread 2 of weeks").select_option("list")
    expect(page.locator("#saved")).to_contain_text("Written", timeout=PATIENCE_MS)
    expect(page.get_by_label("Left page, spread 2 of weeks")).to_have_value("list")
    # What is planned is shown in the rings as soon as it is built.
    expect(page.locator("#live img")).to_be_visible(timeout=PATIENCE_MS)
    grip: Position = {"x": 30, "y": 30}
    spreads.nth(1).scroll_into_view_if_needed()
    spreads.nth(1).locator(".two").hover(position=grip)
    page.mouse.down()
    for _ in range(3):  # a drag begins with the second move
        spreads.nth(0).hover(position=grip)
    page.mouse.up()
    expect(page.get_by_label("Left page, spread 1 of weeks")).to_have_value(
        "list", timeout=PATIENCE_MS
    )
    assert run() == [("list", "month"), ("week", "week")]
    page.get_by_role("button", name="Take out spread 1 of weeks").click()
    expect(spreads).to_have_count(1, timeout=PATIENCE_MS)
    assert run() == [("week", "week")]
    page.get_by_role("button", name="Undo").click()
    expect(spreads).to_have_count(2, timeout=PATIENCE_MS)
    assert run() == [("list", "month"), ("week", "week")]


def test_pages_for_another_size_are_made_from_those_there_are(
    opened: Open, page: Page, tmp_path: Path
) -> None:
    shop = begun(tmp_path)
    enter(page, opened(shop.folder), "/season/annas-paper/plan")
    page.get_by_text("More sizes").click()
    page.locator("#fields").get_by_label("Personal", exact=True).click()
    expect(page.locator("#asked")).to_contain_text("week, list", timeout=PATIENCE_MS)
    is_accessible(page)
    made = shop.folder / "templates_svg" / "annas-paper" / "personal"
    assert not made.exists()
    page.get_by_role("button", name="Make them for Personal").click()
    expect(page.locator("#figures")).to_contain_text("Personal on A4", timeout=PATIENCE_MS)
    assert sorted(file.name for file in made.glob("*")) == ["list.svg", "week.svg"]
    assert 'sizes = ["a5", "personal"]' in shop.seasons["annas-paper"].read_text("utf-8")


def test_a_page_that_cannot_be_drawn_stays_as_it_was_until_it_can(
    opened: Open, page: Page, tmp_path: Path
) -> None:
    shop = begun(tmp_path)
    drawing = shop.folder / "templates_svg" / "annas-paper" / "a5" / "list.svg"
    sound = drawing.read_text("utf-8")
    words = '<text id="odd" x="60" y="190" font-family="Not There" font-size="4">ink</text></svg>'
    enter(page, opened(shop.folder), "/season/annas-paper/drawing/a5/list")
    picture, kept = page.locator("#picture"), page.locator("#undrawn")
    is_drawn = "one => one.complete && one.naturalWidth > 0"
    expect(page.locator("#found")).to_contain_text("Nothing to mend", timeout=PATIENCE_MS)
    first = picture.get_attribute("src")

    # A font that is not there: the last picture stays, the finding stands beside it.
    drawing.write_text(sound.replace("</svg>", words), "utf-8")
    expect(page.locator("#found")).to_contain_text("Not There", timeout=PATIENCE_MS)
    expect(kept).to_contain_text("as it was")
    assert picture.evaluate(is_drawn)
    assert picture.get_attribute("src") == first
    expect(page.locator("#wrong")).to_be_hidden()

    # Half a file: told, and taken back once the file is whole.
    drawing.write_text(sound[: len(sound) // 2], "utf-8")
    expect(page.locator("#found")).to_contain_text("is broken", timeout=PATIENCE_MS)
    expect(page.locator("#wrong")).to_be_hidden()
    drawing.write_text(sound, "utf-8")
    expect(page.locator("#found")).to_contain_text("Nothing to mend", timeout=PATIENCE_MS)
    expect(kept).to_be_hidden(timeout=PATIENCE_MS)
    assert picture.evaluate(is_drawn)
    is_accessible(page)


def test_a_label_of_ones_own_is_written_from_its_drawing(
    opened: Open, page: Page, tmp_path: Path
) -> None:
    shop = begun(tmp_path, languages=("en-GB", "de"))
    folder = shop.folder / "templates_svg" / "annas-paper"
    drawing = folder / "a5" / "list.svg"
    style = 'font-family="Source Sans 3" font-size="4"'
    words = f'<text id="label-tides" x="30" y="190" {style}>Tides &amp; lamp</text></svg>'
    drawing.write_text(drawing.read_text("utf-8").replace("</svg>", words), "utf-8")
    english = folder / "labels" / "en.toml"
    english.write_text("# Words of ours\n" + english.read_text("utf-8"), "utf-8")
    enter(page, opened(shop.folder), "/season/annas-paper/")
    # What is to be mended leads to its drawing, where it can be.
    problems = page.locator("#problems")
    expect(problems).to_contain_text("with no name, it prints as drawn", timeout=PATIENCE_MS)
    problems.get_by_role("link", name="Go to the drawing").first.click()
    page.wait_for_url("**/drawing/a5/list")
    expect(page.locator("#found")).to_contain_text("no label 'tides'", timeout=PATIENCE_MS)
    expect(page.locator("#found")).to_contain_text("then it prints as drawn")
    expect(problems).to_be_hidden()
    found = page.locator("#found")
    here, there = found.get_by_label("In English"), found.get_by_label("In German")
    expect(here).to_have_value("Tides & lamp")
    expect(there).to_have_value("Tides & lamp")
    is_accessible(page)
    there.fill(" ")
    page.get_by_role("button", name="Use these words").click()
    expect(there).to_be_focused()  # a word is asked for there, and nothing was sent
    there.fill("Gezeiten & Feuer")
    page.get_by_role("button", name="Use these words").click()
    expect(page.locator("#found")).to_contain_text("Nothing to mend", timeout=PATIENCE_MS)
    expect(page.locator("#lines")).to_contain_text("Written into labels/en.toml")
    expect(page.locator("#wrong")).to_be_hidden()
    written = english.read_text("utf-8")
    assert written.startswith("# Words of ours\n")
    assert tomllib.loads(written)["tides"] == "Tides & lamp"
    german = tomllib.loads((folder / "labels" / "de.toml").read_text("utf-8"))
    assert german["tides"] == "Gezeiten & Feuer"
    # It is built now.
    expect(page.locator("#watching-words")).to_contain_text("All built", timeout=PATIENCE_MS)
    expect(page.locator("#problems-open")).to_be_hidden()


def test_what_does_not_plan_is_told_and_taken_back(
    opened: Open, page: Page, tmp_path: Path
) -> None:
    desk = opened(tmp_path)
    begin(page, desk)
    page.get_by_role("link", name="Plan").click()
    page.get_by_text("More papers").click()
    page.locator("#fields fieldset", has_text="Papers").get_by_label("A6", exact=True).check()
    expect(page.locator("#figures .fault")).to_contain_text("A6", timeout=PATIENCE_MS)
    page.get_by_role("button", name="Undo").click()
    expect(page.locator("#figures .fault")).to_have_count(0, timeout=PATIENCE_MS)
    page.get_by_role("button", name=re.compile("Take out Jan|Take out Dec|Take out .* 20")).click()
    expect(page.locator("#wrong")).to_contain_text("no period", timeout=PATIENCE_MS)
    page.get_by_role("button", name="Begin the next season").click()
    after = page.locator("#next-said").get_by_role("link")
    expect(after).to_be_visible(timeout=PATIENCE_MS)
    written = (tmp_path / "annas-paper" / "seasons").glob("*.toml")
    new = (after.get_attribute("href") or "").split("/")[2]
    assert {file.stem for file in written} == {"annas-paper", new}
    expect(page.locator("#next-said")).to_contain_text("is begun: open it")


def test_a_desk_that_is_killed_leaves_a_shop_that_opens_again(page: Page, tmp_path: Path) -> None:
    first = open_at(tmp_path)
    begin(page, first)
    os.killpg(first.process.pid, signal.SIGKILL)
    first.process.wait()
    second = open_at(tmp_path / "annas-paper")
    try:
        enter(page, second)
        expect(page.locator("#seasons")).to_contain_text("The first", timeout=PATIENCE_MS)
        expect(page.get_by_role("heading", level=1)).to_have_text("Anna’s paper")
        page.goto(f"{second.base}/season/annas-paper/")
        expect(page.get_by_role("link", name="A5 on A4")).to_be_visible(timeout=PATIENCE_MS)
    finally:
        started = time.monotonic()
        second.process.send_signal(signal.SIGINT)
        second.process.communicate(timeout=30)
    assert time.monotonic() - started < 20


def test_a_build_is_stopped_goes_on_and_survives_a_restart(
    opened: Open, page: Page, tmp_path: Path
) -> None:
    shop = begun(tmp_path, languages=("en-GB", "de", "fr"))
    path = shop.seasons["annas-paper"]
    text = path.read_text("utf-8").replace('papers = ["a4"]', 'papers = ["a4", "letter", "a3"]')
    path.write_text(text, "utf-8")
    built = shop.out / "annas-paper" / "january" / "weeks"
    first = opened(shop.folder)
    enter(page, first, "/season/annas-paper/")
    far = page.locator("#watching-words")
    stop = page.get_by_role("button", name="Stop")
    expect(stop).to_be_visible(timeout=PATIENCE_MS)
    expect(far).to_contain_text("of 9", timeout=PATIENCE_MS)
    stop.click()
    expect(far).to_contain_text("Stopped", timeout=PATIENCE_MS)
    is_accessible(page)
    assert len(list(built.glob("*"))) < 9
    kill(first)
    # What was stopped stays so, until somebody wants it.
    second = opened(shop.folder)
    enter(page, second, "/season/annas-paper/")
    expect(far).to_contain_text("Stopped", timeout=PATIENCE_MS)
    page.get_by_role("button", name="Go on").click()
    expect(far).to_contain_text("Building", timeout=PATIENCE_MS)
    page.goto("about:blank")
    kill(second)
    # What was under way goes on by itself, though nobody looks at the season.
    opened(shop.folder)
    until = time.monotonic() + PATIENCE_MS / 1000
    while len(list(built.glob("*/contents.json"))) < 9 and time.monotonic() < until:
        time.sleep(0.2)
    assert len(list(built.glob("*/contents.json"))) == 9


def kill(desk: Running) -> None:
    """As a power cut would."""
    os.killpg(desk.process.pid, signal.SIGKILL)
    desk.process.wait()


def test_a_second_start_finds_the_first(opened: Open, tmp_path: Path) -> None:
    shop = begun(tmp_path)
    first = opened(shop.folder)
    second = open_at(shop.folder)
    assert second.address == first.address
    assert second.process.wait(timeout=20) == 0
    note = shop.out / NOTES / OPEN
    assert note.stat().st_mode & 0o077 == 0  # nobody else may read the token
    os.killpg(first.process.pid, signal.SIGKILL)
    first.process.wait()
    third = opened(shop.folder)
    assert third.address != first.address
    close_desk(third)
    assert not note.exists()
