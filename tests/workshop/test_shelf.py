"""The shelf: that it knows the sets as their plans do, and shows hundreds of them."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Request, expect

from pipeline.app.build import make_season
from pipeline.app.jobs import set_name
from pipeline.desk.desk import headings_of
from pipeline.plan import plan_season
from pipeline.plan.season import load_season
from pipeline.workshop.shelf import headings_on_shelf, sets_of
from tests.desk.conftest import is_accessible
from tests.workshop.conftest import Open, begun

SEASONS = Path(__file__).parents[2] / "seasons"
PATIENCE_MS = 60_000
MONTHS = [f"2027-{month:02}" for month in range(1, 13)] + ["2028-01"]


def season_of(languages: Sequence[str], months: Sequence[str], sets: int) -> str:
    """A season of that many months and sets, on two papers."""
    spread = '{ verso = "week", recto = "list", per = "week" }'
    lines = [
        'name = "many"\ntitle = "Many"\ncollection = "annas-paper"\nsizes = ["a5"]',
        f'papers = ["a4", "letter"]\nlanguage = {json.dumps(languages)}\nlabel_fallback = "en"',
        *(f'[[period]]\nname = "m{month}"\nmonth = "{month}"' for month in months),
        *(
            f'[[set]]\nname = "set-{number}"\ntitle = "Set {number}"\nspreads = [{spread}]'
            for number in range(sets)
        ),
    ]
    return "\n".join(lines)


@pytest.mark.parametrize("name", ["2027-spring", "2027-studio", "2027-garden-line"])
def test_the_shelf_knows_the_sets_as_their_plan_does(name: str) -> None:
    path = SEASONS / f"{name}.toml"
    plan = plan_season(path)
    planned = [set_name(one, paper) for one in plan.sets for paper in plan.papers]
    season = load_season(path)
    called = headings_on_shelf(season, plan.collection.colour_titles)
    assert list(called) == planned
    assert called == headings_of(plan)
    titles = [re.sub(r" \(.*\)$", "", one.title) for one in plan.sets]
    assert [one.title for one in sets_of(season)] == titles
    dated = [one.period.title for one in plan.sets if one.period.first]
    assert [one.period_title for one in sets_of(season)][: len(dated)] == dated


@pytest.fixture
def crowded(tmp_path: Path) -> Path:
    """A workspace of 520 sets, 80 of them built."""
    shop = begun(tmp_path)
    path = shop.folder / "seasons" / "many.toml"
    path.write_text(season_of(["en-GB"], MONTHS[:1], 1), "utf-8")
    make_season(path, shop.out)
    path.write_text(season_of(["en-GB", "de", "fr", "es"], MONTHS, 5), "utf-8")
    names = list(headings_on_shelf(load_season(path), {}))
    for name in names[2:80]:
        shutil.copytree(shop.out / "many" / names[0], shop.out / "many" / name)
    return shop.folder


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """Somebody's window."""
    context = browser.new_context(viewport={"width": 1280, "height": 800}, locale="en-GB")
    yield context.new_page()
    context.close()


def test_five_hundred_sets_are_drawn_as_they_are_seen(
    opened: Open, page: Page, crowded: Path
) -> None:
    desk = opened(crowded)
    asked: list[str] = []

    def note(request: Request) -> None:
        if "/picture/" in request.url:
            asked.append(request.url)

    page.on("request", note)
    page.goto(desk.address)
    cards = page.locator(".cards-of > li")
    expect(page.locator(".cards-of img").first).to_be_visible(timeout=PATIENCE_MS)
    expect(cards).to_have_count(261)  # and the one that the workspace began with
    assert len(asked) < 100, "those far below are asked for when they are seen"
    last = cards.last.locator("img")
    last.scroll_into_view_if_needed()
    expect(page.locator("#whole")).to_have_text(re.compile(r"^521 sets"), timeout=PATIENCE_MS)
    expect(page.locator("#whole")).not_to_contain_text("still", timeout=PATIENCE_MS)
    assert last.evaluate("async (one) => { await one.decode(); return one.naturalWidth; }") > 50
    is_accessible(page)
    # Filters leave what is asked for.
    page.locator("#by-language").select_option("French")
    page.locator("#by-paper").select_option("Letter")
    shown = page.locator(".papers > li:visible")
    expect(shown).to_have_count(65)
    expect(page.locator(".cards-of > li:visible")).to_have_count(65)
    page.locator("#by-season").select_option("Anna's paper")
    expect(shown).to_have_count(0)
