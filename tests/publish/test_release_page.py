"""The release page in a real browser: whole, quiet, and nothing on it that was not meant."""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
import zipfile
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from babel import Locale
from playwright.sync_api import Browser, Page

from pipeline.impose.contents import CONTENTS
from pipeline.plan.season import Publish
from pipeline.proof.approval.passed import pass_file
from pipeline.publish.bundle import BUYER, MADE_FROM
from pipeline.publish.pictures.shoppictures import ALL_PICTURES, ALT, LISTING, SHOP, TAGS
from pipeline.publish.releasepage import SUMS, release_page
from tests.publish.conftest import LATER, Shop


@pytest.fixture(scope="module")
def dressed(published: Shop, tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """The shop with pictures of one of its sets, the other one held back."""
    folder = tmp_path_factory.mktemp("dressed") / "a shop & more"
    shutil.copytree(published.folder, folder)
    shop = Shop(folder)
    told = shop.publish(only="plant-record", pictures=True)
    assert not told.without_pictures
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
    assert opened.locator("main img").count() == 6
    assert opened.locator("script:not([src])").count() == 0
    assert opened.evaluate("document.fonts.check('16px Desk')"), "the desk's face is there"
    assert complaints == []


def test_every_link_leads_to_a_file(page: tuple[Page, list[str]], dressed: Shop) -> None:
    opened, _ = page
    links = [link.get_attribute("href") or "" for link in opened.locator("a").all()]
    ids = {f"#{one.get_attribute('id')}" for one in opened.locator("article").all()}
    zips = [link for link in links if link.endswith(".zip")]
    assert len([link for link in zips if link.endswith(ALL_PICTURES)]) == 1
    assert len(zips) == 2 + 1
    for link in links:
        assert link in ids or (dressed.release / link).exists()


def test_titles_are_text_and_not_markup(page: tuple[Page, list[str]]) -> None:
    opened, _ = page
    assert opened.locator("h1").inner_text() == "Kitchen garden · A small season & <b>more</b>"
    assert opened.locator("h1 b, h3 i").count() == 0
    assert "Gärtnern & <i>säen</i>" in opened.locator("h3.title").all_inner_texts()


def test_pictures_say_what_they_show(page: tuple[Page, list[str]], dressed: Shop) -> None:
    opened, _ = page
    ids = [image.get_attribute("aria-describedby") for image in opened.locator("main img").all()]
    said = [opened.locator(f'[id="{one}"]').text_content() or "" for one in ids]
    assert all(len(text) > 30 for text in said)
    assert len(set(said)) == len(said)
    whole = opened.content()
    assert all(whole.count(html.escape(text, quote=False)) == 1 for text in said), "each text once"
    folder = dressed.release / SHOP / "undated-plant-record-a5-en-gb"
    pictures = {path.name for path in folder.iterdir() if path.suffix in (".jpg", ".webp")}
    links = opened.locator(".pictures .file a").all()
    shown = {link.get_attribute("href") or "" for link in links}
    assert {name.rpartition("/")[2] for name in shown} == pictures
    written = (folder / ALT).read_text("utf-8")
    assert all(html.unescape(text) in written for text in said)


def test_the_listing_can_be_copied(page: tuple[Page, list[str]], dressed: Shop) -> None:
    opened, _ = page
    opened.context.grant_permissions(["clipboard-read", "clipboard-write"])
    folder = dressed.release / SHOP / "undated-plant-record-a5-en-gb"
    text = (folder / f"{LISTING}.txt").read_text("utf-8")
    title, _, description = text.partition("\n\n")
    for says, wanted in (
        ("Copy title", title),
        ("Copy description", description),
        ("Copy all tags", (folder / TAGS).read_text("utf-8")),
        ("Copy as HTML", (folder / f"{LISTING}.html").read_text("utf-8")),
        ("Copy as Markdown", (folder / f"{LISTING}.md").read_text("utf-8")),
    ):
        button = opened.locator(".with-button").get_by_role("button", name=says)
        button.click()
        opened.get_by_text("Copied").wait_for()
        copied = opened.evaluate("navigator.clipboard.readText()")
        assert copied.split() == wanted.split(), says
        opened.get_by_text("Copied").wait_for(state="detached")


def test_what_is_done_stays_ticked(page: tuple[Page, list[str]]) -> None:
    opened, complaints = page
    article = opened.locator("article", has=opened.locator(".pictures"))
    ticks = article.get_by_role("checkbox")
    before = article.locator(".done").inner_text()
    acts = ["Title", "Description", "Tags", "Pictures", "Files for buyers"]
    assert article.locator(".part").all_inner_texts() == acts, "in the order of a shop's form"
    assert ticks.count() == len(acts)
    assert before == f"0 of {ticks.count()} done"
    entry = opened.locator("nav dd", has_text="Plant record")
    for tick in ticks.all():
        tick.check()
    assert "whole" in (entry.get_attribute("class") or ""), "the list tells what is all done"
    assert opened.locator(".all-done").inner_text() == "1 of 2 listings done"
    for tick in ticks.all()[1:]:
        tick.uncheck()
    assert entry.locator(".ticks").inner_text() == f"1/{ticks.count()}"
    assert opened.locator(".all-done").inner_text() == "0 of 2 listings done"
    opened.reload()
    assert article.locator(".done").inner_text() == f"1 of {ticks.count()} done"
    assert ticks.first.is_checked()
    ticks.first.uncheck()
    assert complaints == []


def test_the_zip_of_pictures_has_all_of_them(dressed: Shop) -> None:
    folder = dressed.release / SHOP / "undated-plant-record-a5-en-gb"
    with zipfile.ZipFile(folder / ALL_PICTURES) as archive:
        found = {name.rpartition("/")[2]: archive.read(name) for name in archive.namelist()}
    pictures = [path for path in folder.iterdir() if path.suffix in (".jpg", ".webp")]
    assert found == {path.name: path.read_bytes() for path in pictures}


def test_counts_are_told_with_what_the_season_allows(tmp_path: Path) -> None:
    lay_out(tmp_path)
    shop = tmp_path / SHOP / "march-running-a5-de"
    shop.mkdir(parents=True)
    (shop / f"{LISTING}.txt").write_text("Vier Wochen\n\nFertig datiert.\n", "utf-8")
    (shop / TAGS).write_text("A5, März 2027\n", "utf-8")
    page = release_page("Spring", tmp_path, (), ["de"], (), Publish(title_letters=40)).decode()
    assert '<span class="quiet">11 of 40 characters' in page
    assert ">15 characters" in page
    assert "13 characters, 2 tags" in page


def test_a_count_near_its_limit_is_told_apart(tmp_path: Path) -> None:
    lay_out(tmp_path)
    shop = tmp_path / SHOP / "march-running-a5-de"
    shop.mkdir(parents=True)
    (shop / f"{LISTING}.txt").write_text("Vier Wochen\n\nFertig datiert.\n", "utf-8")
    page = release_page("Spring", tmp_path, (), ["de"], (), Publish(title_letters=12)).decode()
    assert '<span class="near">11 of 12 characters' in page


def test_the_description_is_whole(page: tuple[Page, list[str]]) -> None:
    opened, _ = page
    cut = opened.locator("pre.description").evaluate("one => one.scrollHeight - one.clientHeight")
    assert cut == 0


def test_each_tag_can_be_copied(page: tuple[Page, list[str]], dressed: Shop) -> None:
    opened, complaints = page
    opened.context.grant_permissions(["clipboard-read", "clipboard-write"])
    folder = dressed.release / SHOP / "undated-plant-record-a5-en-gb"
    tags = (folder / TAGS).read_text("utf-8").strip().split(", ")
    assert not opened.locator("pre.tags").is_visible()
    shown = opened.locator("ul.tags li")
    assert shown.count() == len(tags) > 3
    for number in (0, len(tags) - 1):
        assert shown.nth(number).locator(".quiet").inner_text() == str(len(tags[number]))
        shown.nth(number).get_by_role("button").click()
        opened.get_by_text("Copied").wait_for()
        assert opened.evaluate("navigator.clipboard.readText()") == tags[number]
        opened.get_by_text("Copied").wait_for(state="detached")
    assert complaints == []


def test_the_sums_are_those_of_the_zips(dressed: Shop) -> None:
    """As sha256sum of GNU coreutils checks them; no sum is on the page itself."""
    done = subprocess.run(
        ["sha256sum", "--strict", "--check", SUMS], cwd=dressed.release, capture_output=True
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.count(b": OK") == 2
    page = (dressed.release / "index.html").read_text("utf-8")
    assert not re.search(r"[0-9a-f]{64}", page)


def test_what_was_held_back_is_told_and_its_last_release_still_there(
    page: tuple[Page, list[str]],
) -> None:
    opened, _ = page
    held = opened.locator(".held li").all_inner_texts()
    assert held == ["fortnight/sowing/a5-a4-en-GB: not passed yet; look at it on the desk"]
    assert opened.locator("article").count() == 2


def outline(page: Page) -> list[tuple[int, str]]:
    """All headings with their levels."""
    found = page.locator("main :is(h2, h3, h4, h5, h6)").all()
    tags = [one.evaluate("heading => heading.tagName") for one in found]
    return [(int(tag[1]), one.inner_text()) for tag, one in zip(tags, found, strict=True)]


def test_no_level_of_heading_is_left_out(page: tuple[Page, list[str]]) -> None:
    levels = [level for level, _ in outline(page[0])]
    assert levels[0] == 2
    assert all(after <= before + 1 for before, after in pairwise(levels))


TITLES = {
    "en-GB": ("March 2027", "Running weeks", "Plant record"),
    "de": ("März 2027", "Fortlaufende Wochen", "Pflanzensteckbrief"),
    "ar-EG": ("مارس ٢٠٢٧", "أسابيع متتالية", "بطاقة النبات"),
}


def lay_out(folder: Path) -> None:
    """A release of two sets in three languages on two papers, as far as the page reads it."""
    for language, (period, running, record) in TITLES.items():
        for paper in ("a4", "letter"):
            march = {"name": "march", "title": period, "first": "2027-03-01", "last": "2027-03-31"}
            never = {"name": "undated", "title": record, "first": None, "last": None}
            for about, name, title in ((march, "running", running), (never, "record", record)):
                bundle = folder / f"{name}-{paper}-{language.lower()}-v1"
                holes = {"centres_mm": [30, 180], "edge_mm": 6, "diameter_mm": 5}
                table: dict[str, object] = {
                    "season": "spring",
                    "period": about,
                    "set": {"name": name, "title": title},
                    "binder": {"name": "a5", "width_mm": 148, "height_mm": 210, "holes": holes},
                    "binding": "left",
                    "paper": {"name": paper, "width_mm": 210, "height_mm": 297, "media": ""},
                    "language": language,
                    "files": [],
                    "leaves": [],
                    "sheets": [],
                    "bench": {
                        "sheets": 0,
                        "cuts": 0,
                        "folds": 0,
                        "punch_strokes": 0,
                        "gsm": 120,
                        "caliper_mm": 0.15,
                        "weight_g": 0,
                        "thickness_mm": 0,
                    },
                    "bundle": bundle.name,
                    "version": 1,
                    "made_with": "leafset",
                    "passed": {"by": ["Ada"], "at": LATER},
                }
                (bundle / BUYER).mkdir(parents=True)
                (bundle / CONTENTS).write_text(json.dumps(table), "utf-8")
                (bundle / f"{bundle.name}.zip").write_bytes(b"")
                (bundle / MADE_FROM).write_text(json.dumps({"set": bundle.name}))


def test_several_languages_are_in_order(browser: Browser, tmp_path: Path) -> None:
    """What languages are called: CLDR, as Babel has it."""
    lay_out(tmp_path)
    file = tmp_path / "index.html"
    file.write_bytes(release_page("Spring", tmp_path, (), list(TITLES)))
    page = browser.new_page(viewport={"width": 390, "height": 700})
    page.goto(file.as_uri())
    heads = [(level, text) for level, text in outline(page) if level < 5]
    tongues = ["English (United Kingdom)", "German · Deutsch", "Arabic (Egypt) · العربية (مصر)"]
    assert heads == [
        head
        for tongue in tongues
        for head in (
            (2, tongue),
            (3, "March 2027"),
            (4, "Running weeks"),
            (3, "Undated"),
            (4, "Plant record"),
        )
    ]
    german = Locale("de")
    assert tongues[1] == f"{german.get_display_name('en')} · {german.get_display_name('de')}"
    assert page.locator("article").count() == 6
    assert {one.locator("tbody tr").count() for one in page.locator("article").all()} == {2}
    theirs = [title for _, *titles in list(TITLES.values())[1:] for title in titles]
    assert page.locator("article bdi").all_inner_texts() == theirs
    assert page.locator("nav dt").all_inner_texts() == ["March 2027", "Undated"] * 3
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.close()


def test_headings_are_in_what_the_maker_reads_first(tmp_path: Path) -> None:
    lay_out(tmp_path)
    page = release_page("Spring", tmp_path, (), ["de", "en-GB", "ar-EG"]).decode()
    heads = re.findall(r'<h3 class="period">(.*?)</h3>', page)
    assert heads == ["März 2027", "Undated"] * 3
    assert page.index('id="de"') < page.index('id="en-GB"') < page.index('id="ar-EG"')


def test_the_page_fits_a_narrow_window(browser: Browser, dressed: Shop) -> None:
    narrow = browser.new_page(viewport={"width": 390, "height": 700})
    narrow.goto((dressed.release / "index.html").as_uri())
    assert narrow.evaluate("document.documentElement.scrollWidth") <= 390
    every = narrow.locator("main *:not(pre)").all()
    inside = "one => one.hidden || one.scrollWidth <= one.clientWidth || one.clientWidth === 0"
    assert all(one.evaluate(inside) for one in every), "nothing is to be scrolled sideways"
    narrow.close()


def test_sets_stand_in_the_season_s_order(tmp_path: Path) -> None:
    lay_out(tmp_path)
    for name in ("weeks", "running"):
        shutil.copytree(tmp_path / "running-a4-en-gb-v1", tmp_path / f"{name}-x-v1")
        about = tmp_path / f"{name}-x-v1" / CONTENTS
        text = about.read_text("utf-8").replace('"name": "running"', f'"name": "{name}-blue"')
        about.write_text(text, "utf-8")
        (tmp_path / f"{name}-x-v1" / f"{name}-x-v1.zip").write_bytes(b"")
    page = release_page("Spring", tmp_path, (), ["en-GB"], ["weeks", "running"]).decode()
    order = re.findall(r'<article id="march-([a-z-]+)-a5-en-gb"', page)
    assert order == ["weeks-blue", "running", "running-blue"]
