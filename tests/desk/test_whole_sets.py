"""The desk says what is wrong with a set as a whole, and one set hides none of the others."""

from __future__ import annotations

import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Locator, expect

from pipeline.impose.contents import edition_digest
from tests.desk.conftest import SET, Shop, close_desk, open_desk
from tests.desk.test_browser import PATIENCE_MS, Visit, visit

OTHER = "march/sowing/a5-letter-en-GB"


class At:
    """Somebody who opens the desk on a shop once it is spoilt."""

    def __init__(self, browser: Browser, shop: Shop) -> None:
        self._browser, self._shop = browser, shop
        self.visits: list[Visit] = []

    def desk(self, sections: int = 1) -> Visit:
        """The season's page, which has so many sections."""
        desk = open_desk(self._shop)
        self.visits.append(visit(self._browser, desk, sections=str(sections)))
        return self.visits[-1]


@pytest.fixture
def at(browser: Browser, shop: Shop) -> Iterator[At]:
    somebody = At(browser, shop)
    yield somebody
    for one in somebody.visits:
        one.page.context.close()
        close_desk(one.desk)
        assert one.complaints == []


def row(visitor: Visit, text: str) -> Locator:
    """A set's line in the season."""
    return visitor.page.locator(".product li").filter(has_text=text)


def test_what_changed_since_a_set_was_built_is_said_until_it_is_built(at: At, shop: Shop) -> None:
    here = at.desk()
    line = row(here, "A5 on A4")
    expect(line.locator(".badge").first).to_contain_text("new", timeout=PATIENCE_MS)
    expect(line.locator(".fault")).to_have_count(0)
    shop.say("sowing", "Seeds")
    said = "This set is out of date: built before a change in labels/en.toml."
    expect(line.locator(".fault")).to_contain_text(said, timeout=PATIENCE_MS)
    expect(line.locator(".fault")).to_contain_text("Close leafset, its own window too, and open it")
    for rest in ("", "/sheets", "/dates"):
        here.open_set(rest=rest)
        expect(here.page.locator("#fault")).to_contain_text(said)
    here.open_set()
    shop.build()
    expect(here.page.locator("#fault")).to_be_hidden(timeout=PATIENCE_MS)


def test_a_set_that_is_not_there_is_a_line_without_a_link(at: At, shop: Shop) -> None:
    shutil.rmtree(shop.set_folder)
    here = at.desk()
    line = row(here, "A5 on A4")
    expect(line).to_contain_text("This set has not been made yet: it is not in the build folder.")
    expect(line.get_by_role("link")).to_have_count(0)
    other = row(here, "A5 on Letter")
    expect(other.locator(".badge").first).to_contain_text("new", timeout=PATIENCE_MS)
    expect(other.locator(".fault")).to_have_count(0)
    expect(here.page.locator("#whole")).to_have_text("0 of 2 sets passed for press")


def test_contents_that_cannot_be_read_are_a_line_too(at: At, shop: Shop) -> None:
    (shop.set_folder / "contents.json").write_text("<<<<<<< HEAD", "utf-8")
    here = at.desk()
    expect(row(here, "A5 on A4")).to_contain_text(
        "This set cannot be read: contents.json: Invalid JSON"
    )
    expect(row(here, "A5 on Letter").get_by_role("link")).to_be_visible()


def test_a_damaged_file_keeps_no_other_set_waiting(at: At, shop: Shop) -> None:
    """The set that is looked at first, of which no fingerprints were taken before."""
    side = shop.set_folder / "side-1.pdf"
    side.write_bytes(side.read_bytes()[:5000])
    shutil.rmtree(shop.out / ".desk")
    assert edition_digest(shop.set_folder)
    here = at.desk()
    expect(row(here, "A5 on A4")).to_contain_text("its pages cannot be read", timeout=PATIENCE_MS)
    expect(row(here, "A5 on A4")).to_contain_text("1 finding", timeout=PATIENCE_MS)
    expect(row(here, "A5 on Letter")).to_contain_text("new", timeout=PATIENCE_MS)
    here.page.goto(f"{here.desk.base}/set/{SET}")
    expect(here.page.locator("#progress")).to_have_text("Its pages cannot be read.")
    expect(here.page.locator("#elsewhere")).to_contain_text("side-1.pdf")
    here.page.goto("about:blank")  # what is still asked for is given up
    here.complaints.clear()  # of pictures that aren't there
