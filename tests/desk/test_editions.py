"""The pages for a print shop and for screens at the desk, as their finished files have them."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser, expect
from starlette.testclient import TestClient

from pipeline.desk.routes import desk_app
from pipeline.impose.contents import PRESS, SCREEN
from pipeline.proof.read.raster import opened, page_picture
from tests.app.test_press import SEASON
from tests.desk.conftest import (
    SET,
    Shop,
    built_shop,
    close_desk,
    copied,
    is_accessible,
    open_desk,
)
from tests.desk.test_browser import PATIENCE_MS, visit
from tests.desk.test_guard import HOME, KEY, OWN, a_desk

INKS = 'spots = { "Leaf green" = "#4a6a3c" }'
EVERY = SEASON.format(press=INKS, editions='["sheets", "screen", "press"]', text="embedded")


@pytest.fixture(scope="session")
def with_editions(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """A season with every edition, built; not to be changed."""
    season = EVERY.replace('"press"\ntitle', '"small"\ntitle', 1).replace('"weeks"', '"sowing"')
    return built_shop(tmp_path_factory.mktemp("editions"), season)


@pytest.fixture
def shop(with_editions: Shop, tmp_path: Path) -> Shop:
    return copied(with_editions, tmp_path)


def friend(shop: Shop) -> TestClient:
    """Somebody at the desk of a shop."""
    client = TestClient(desk_app(a_desk(shop), KEY), base_url=HOME)
    assert client.post("/enter", json={"token": KEY.token}, headers=OWN).status_code == 204
    return client


def test_pages_say_what_they_are_and_how_they_are_cut(shop: Shop) -> None:
    asked = friend(shop)
    press = asked.get(f"/api/set/{SET}/press").json()
    assert [page["title"] for page in press["pages"]] == [
        "Leaf 1 front · opening",
        "Leaf 1 back · W09 1–7 Mar",
        "Leaf 2 front · W09 1–7 Mar",
        "Leaf 2 back · W10 8–14 Mar",
        "Leaf 3 front · W10 8–14 Mar",
        "Leaf 3 back",
    ]
    first = press["pages"][0]
    # An A5 leaf with a flap of 42 mm, and 3 mm past its cuts.
    assert first["trim_mm"] == pytest.approx([3, 3, 190, 210], abs=0.01)
    assert first["bleed_mm"] == pytest.approx(3, abs=0.01)
    assert (first["width_mm"], first["height_mm"]) == pytest.approx((196, 216), abs=0.01)
    assert press["pages"][-1]["trim_mm"] == pytest.approx([3, 3, 148, 210], abs=0.01)
    assert not press["together"]
    assert press["inks"] == ["Leaf green"]
    assert press["profile"]
    screen = asked.get(f"/api/set/{SET}/screen").json()
    assert [page["title"] for page in screen["pages"]] == [
        "opening",
        "W09 1–7 Mar",
        "W10 8–14 Mar",
    ]


@pytest.mark.parametrize(("kind", "file"), [("press", PRESS), ("screen", SCREEN)])
def test_a_page_is_shown_as_its_file_has_it(shop: Shop, kind: str, file: str) -> None:
    answer = friend(shop).get(f"/picture/{SET}/{kind}/1/72")
    with opened(shop.set_folder / file) as document:
        wanted = page_picture(document[1], 72)
    assert np.array_equal(np.asarray(Image.open(io.BytesIO(answer.content))), np.asarray(wanted))
    assert np.asarray(wanted).min() < 128


def test_what_is_not_there_is_told(shop: Shop, built: Shop) -> None:
    asked = friend(shop)
    for path in (
        f"/set/{SET}/post",
        f"/api/set/{SET}/post",
        f"/picture/{SET}/press/6/72",
        f"/picture/{SET}/press/0/73",
        f"/picture/{SET}/post/0/72",
    ):
        assert asked.get(path).status_code == 404, path
    (shop.set_folder / PRESS).unlink()
    (shop.set_folder / SCREEN).write_bytes(b"%PDF-1.6 and no more")
    for kind, why in (("press", "no such file"), ("screen", "not a readable PDF")):
        for path in (f"/api/set/{SET}/{kind}", f"/picture/{SET}/{kind}/0/72"):
            answer = asked.get(path)
            assert answer.status_code == 503
            assert why in answer.text
    without = friend(built).get(f"/set/{SET}/press").text
    assert "This set isn&#39;t made for a print shop." in without
    assert "editions = [&#34;sheets&#34;, &#34;press&#34;]" in without
    assert "For the print shop</a>" not in without


def test_both_editions_are_turned_over_in_the_browser(browser: Browser, shop: Shop) -> None:
    desk = open_desk(shop)
    here = visit(browser, desk)
    page = here.page
    here.open_set()
    page.get_by_role("link", name="For the print shop").click()
    title = page.locator("#view-title")
    expect(title).to_have_text("Leaf 1 front · opening1 of 6", timeout=PATIENCE_MS)
    expect(page.get_by_role("button", name="Previous page")).to_be_disabled()
    expect(page.locator("#caption")).to_contain_text("Cut to 190 × 210 mm")
    expect(page.locator("#caption")).to_contain_text("black, Leaf green; profile:")
    here.wait_for_pictures()
    paper, lines = page.locator("#stage .paper").bounding_box(), page.locator(".cut-line")
    assert paper is not None
    for line in (one.bounding_box() for one in lines.all()):
        assert line is not None
        beside = line["x"] + line["width"] <= paper["x"] or line["x"] >= paper["x"] + paper["width"]
        above = line["y"] + line["height"] <= paper["y"]
        assert beside or above or line["y"] >= paper["y"] + paper["height"]
    expect(lines).to_have_count(8)
    is_accessible(page)
    page.get_by_role("button", name="Next page").click()
    page.keyboard.press("ArrowRight")
    expect(title).to_contain_text("Leaf 2 front")
    here.wait_for_pictures()
    page.get_by_role("link", name="On screens").click()
    expect(title).to_contain_text("1 of 3", timeout=PATIENCE_MS)
    page.keyboard.press("ArrowRight")
    page.get_by_role("button", name="Next page").click()
    expect(title).to_contain_text("W10 8–14 Mar")
    expect(page.get_by_role("button", name="Next page")).to_be_disabled()
    here.wait_for_pictures()
    expect(lines).to_have_count(0)
    is_accessible(page)
    page.context.close()
    close_desk(desk)
    assert here.complaints == []


def test_press_sheets_are_counted_by_their_sides(shop: Shop) -> None:
    season = shop.season.read_text("utf-8")
    asked = season.replace("[press]", "[press]\nsheet_mm = [640, 450]")
    shop.season.write_text(asked.replace('"screen", ', ""), "utf-8")
    shop.build()
    about = friend(shop).get(f"/api/set/{SET}/press").json()
    pages = about["pages"]
    assert [page["title"] for page in pages] == ["Press sheet 1, side 1", "Press sheet 1, side 2"]
    assert about["together"]
    assert (pages[0]["width_mm"], pages[0]["height_mm"]) == pytest.approx((450, 640), abs=0.01)
