"""The release page in a real browser: whole, quiet, and nothing on it that was not meant."""

from __future__ import annotations

import html
import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from pipeline.proof.passfile import pass_file
from pipeline.publish.shop import ALT, LISTING, SHOP
from tests.publish.conftest import Shop


@pytest.fixture(scope="module")
def dressed(published: Shop, tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """The shop with pictures of one of its sets, the other one held back."""
    folder = tmp_path_factory.mktemp("dressed") / "a shop & more"
    shutil.copytree(published.folder, folder)
    shop = Shop(folder)
    told = shop.publish(only="plant-record", pictures=True)
    assert not told.undressed
    record = pass_file(shop.season)
    record.write_text(record.read_text("utf-8").replace("fortnight/sowing", "fortnight/other"))
    shop.publish()
    return shop


@pytest.fixture
def page(browser: Browser, dressed: Shop) -> Iterator[tuple[Page, list[str]]]:
    """The page, opened from disk, and whatever the browser complains of."""
    opened = browser.new_page(viewport={"width": 1200, "height": 900}, color_scheme="dark")
    complaints: list[str] = []
    opened.on("console", lambda message: complaints.append(message.text))
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    opened.on("requestfailed", lambda request: complaints.append(request.url))
    opened.on(
        "request",
        lambda request: (
            complaints.append(request.url)
            if not request.url.startswith(("file:", "data:"))
            else None
        ),
    )
    opened.goto((dressed.release / "index.html").as_uri())
    yield opened, complaints
    opened.close()


def test_the_page_opens_without_a_complaint(page: tuple[Page, list[str]]) -> None:
    opened, complaints = page
    for picture in opened.locator("img").all():
        picture.scroll_into_view_if_needed()
        assert picture.evaluate(
            "async image => { await image.decode(); return image.naturalWidth }"
        )
    assert opened.locator("img").count() == 10
    assert complaints == []


def test_every_link_leads_to_a_file(page: tuple[Page, list[str]], dressed: Shop) -> None:
    opened, _ = page
    links = [link.get_attribute("href") or "" for link in opened.locator("a").all()]
    ids = {f"#{one.get_attribute('id')}" for one in opened.locator("article").all()}
    assert len([link for link in links if link.endswith(".zip")]) == 2
    for link in links:
        assert link in ids or (dressed.release / link).exists()


def test_titles_are_text_and_not_markup(page: tuple[Page, list[str]]) -> None:
    opened, _ = page
    assert opened.locator("h1").inner_text() == "A small season & <b>more</b>"
    assert opened.locator("h1 b, h3 i").count() == 0
    assert "Gärtnern & <i>säen</i>" in opened.locator("h3").all_inner_texts()


def test_pictures_say_what_they_show(page: tuple[Page, list[str]], dressed: Shop) -> None:
    opened, _ = page
    said = [image.get_attribute("alt") or "" for image in opened.locator("img").all()]
    assert all(len(text) > 30 for text in said)
    folder = dressed.release / SHOP / "undated-plant-record-a5-en-gb"
    pictures = {path.name for path in folder.iterdir() if path.suffix in (".jpg", ".webp")}
    shown = {image.get_attribute("src") or "" for image in opened.locator("img").all()}
    assert {name.rpartition("/")[2] for name in shown} == pictures
    written = (folder / ALT).read_text("utf-8")
    assert all(html.unescape(text) in written for text in said)


def test_the_listing_can_be_copied(page: tuple[Page, list[str]], dressed: Shop) -> None:
    opened, _ = page
    opened.context.grant_permissions(["clipboard-read", "clipboard-write"])
    button = opened.locator("button")
    button.click()
    button.get_by_text("Copied").wait_for()
    listing = dressed.release / SHOP / "undated-plant-record-a5-en-gb" / LISTING
    assert opened.evaluate("getSelection().toString()").split() == (
        listing.read_text("utf-8").split()
    )


def test_what_was_held_back_is_told_and_its_last_release_still_there(
    page: tuple[Page, list[str]],
) -> None:
    opened, _ = page
    held = opened.locator(".held li").all_inner_texts()
    assert held == ["fortnight/sowing/a5-a4-en-GB: not passed yet; look at it with 'leafset desk'"]
    assert opened.locator("article").count() == 2


def test_the_page_fits_a_narrow_window(browser: Browser, dressed: Shop) -> None:
    narrow = browser.new_page(viewport={"width": 360, "height": 700})
    narrow.goto((dressed.release / "index.html").as_uri())
    assert narrow.evaluate("document.documentElement.scrollWidth") <= 360
    narrow.close()
