"""Orders at a season's desk: made from a form there; what waits is shown with the reason why."""

from __future__ import annotations

import csv
import re
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect
from starlette.testclient import TestClient

from pipeline.app.orders import FINISHED, WAITING
from pipeline.plan.season import ORDERS
from pipeline.workshop.workspace import NOTES, Workspace
from tests.desk.conftest import is_accessible
from tests.workshop.conftest import PATIENCE_MS, Open, begun, enter
from tests.workshop.test_pages import KEY, OWN, SEASON, at

NAME = "Zephyrine Quillfeather"
OVER = (
    '<text id="buyer-name" x="13" y="15" font-size="4" font-family="\'Source Sans 3\'"'
    ' fill="#4d534e">Ada Moss</text></svg>'
)
"""A place for a name that lies on the page's heading: an order without a name is clean there."""
FORM = "annas-paper-orders.csv"


def shop_in(place: Path) -> Workspace:
    shop = begun(place)
    (page,) = shop.folder.glob("templates_svg/*/a5/list.svg")
    page.write_text(page.read_text("utf-8").replace("</svg>", OVER), "utf-8")
    return shop


def write(file: Path, *rows: tuple[str, str, str]) -> None:
    with file.open("w", encoding="utf-8", newline="") as opened:
        writer = csv.writer(opened)
        writer.writerow(("order", "season", "start", "buyer-name"))
        writer.writerows((name, "seasons/annas-paper.toml", *rest) for name, *rest in rows)


ROWS = (("1001", "2027-03", ""), ("1002", "2027-04", NAME), ("1003", "2027-13", ""))


def test_orders_are_made_wait_and_are_forgotten(opened: Open, page: Page, tmp_path: Path) -> None:
    shop = shop_in(tmp_path)
    desk = opened(shop.folder)
    enter(page, desk, "/season/annas-paper/release")
    page.get_by_role("button", name="Write a form for this season").click()
    expect(page.locator("#orders-work")).to_contain_text(f"{FORM} is written")
    assert "buyer-name" in (shop.folder / FORM).read_text("utf-8-sig")
    write(shop.folder / FORM, *ROWS)
    expect(page.get_by_label("Order form")).to_have_value(FORM)
    page.get_by_role("button", name="Make the orders").click()
    expect(page.locator("#orders-work")).to_contain_text(
        f"{FORM}: 1 made, 1 waiting, 1 refused.", timeout=PATIENCE_MS
    )
    expect(page.locator("#orders-work")).to_contain_text("Not passed for press: weeks/a5-a4-en-GB")
    expect(page.locator("#refused")).to_contain_text(
        f"{FORM}, line 4, column 'start': '2027-13' isn't a valid month"
    )
    waiting = page.locator("#waiting")
    expect(waiting.get_by_role("heading")).to_have_text("Order 1002", timeout=PATIENCE_MS)
    expect(waiting).to_contain_text(f"'To do' and '{NAME}' overlap")
    picture = waiting.get_by_alt_text(re.compile("Order 1002, leaf . front"))
    expect(picture.first).to_be_visible(timeout=PATIENCE_MS)
    assert picture.first.evaluate("one => one.naturalWidth > 300")
    expect(page.locator("#orders")).to_contain_text("Order 1001")
    is_accessible(page)
    sheets = waiting.get_by_role("link", name="Look at the sheets of")
    file = page.request.get(f"{desk.base}{sheets.get_attribute('href')}")
    assert file.body().startswith(b"%PDF")
    assert file.headers["cache-control"] == "no-store"

    # What is private stays with its order.
    title = page.title()
    notes = b"".join(one.read_bytes() for one in (shop.out / NOTES).iterdir())
    assert NAME not in title
    assert NAME.encode() not in notes
    assert b"1002" not in notes

    # Mended in the form, it is made; then it is taken away, once somebody has said so twice.
    write(shop.folder / FORM, ROWS[0], ("1002", "2027-04", ""))
    page.get_by_role("button", name="Make the orders").click()
    expect(page.locator("#orders")).to_contain_text("Order 1002", timeout=PATIENCE_MS)
    expect(waiting).to_have_text("None.")
    folder = shop.out / ORDERS / FINISHED / "1002"
    assert folder.is_dir()
    forget = page.get_by_role("button", name="Forget it: order 1002")
    forget.click()
    page.get_by_role("button", name="Keep it").click()
    assert folder.is_dir()
    forget.click()
    is_accessible(page)
    page.get_by_role("button", name="Forget order 1002").click()
    expect(page.locator("#orders")).not_to_contain_text("1002", timeout=PATIENCE_MS)
    assert not folder.exists()
    assert (folder.parent / "1001").is_dir()


@pytest.fixture
def shop(tmp_path: Path) -> Workspace:
    return shop_in(tmp_path)


@pytest.fixture
def friend(shop: Workspace) -> Iterator[TestClient]:
    """Somebody who entered with the token."""
    with at(shop.folder) as client:
        assert client.post("/enter", json={"token": KEY.token}, headers=OWN).status_code == 204
        yield client


def until(done: Callable[[], bool]) -> None:
    end = time.monotonic() + 120
    while not done() and time.monotonic() < end:
        time.sleep(0.1)
    assert done()


def test_only_what_was_listed_is_made_shown_or_forgotten(
    shop: Workspace, friend: TestClient
) -> None:
    elsewhere = shop.folder.parent / "orders.csv"
    for file in (shop.folder / "forms" / "may.csv", shop.folder / FORM, elsewhere):
        file.parent.mkdir(exist_ok=True)
        write(file, *ROWS[:2])
    (shop.folder / "days.csv").write_text("date,name\n2027-03-01,order of the season\n")
    address = f"{SEASON}/api/orders"
    assert friend.get(address).json()["forms"] == [FORM, "forms/may.csv"]
    for form in ("../orders.csv", str(elsewhere), "days.csv", ""):
        assert friend.post(address, json={"form": form}, headers=OWN).status_code == 404
    assert friend.post(address, json={"form": FORM}, headers=OWN).json()["state"] == "making"
    until(lambda: friend.get(address).json()["work"]["state"] != "making")
    about = friend.get(address).json()
    assert about["work"]["counts"] == {"made": 1, "waiting": 1}
    assert about["made"] == ["1001"]
    (waits,) = about["waiting"]
    assert (waits["order"], waits["before"]) == ("1002", False)
    assert [(one["page"], one["words"]) for one in waits["found"]] == [
        ("leaf 2 front", f"'To do' and '{NAME}' overlap")
    ]
    (name,) = waits["sets"]
    for path in (
        f"{SEASON}/order/1001/{name}",  # which waits no longer
        f"{SEASON}/order/..%2Fwaiting%2F1002/{name}",
        f"{SEASON}/order/1002/{name}x",
        f"{SEASON}/picture/order/1002/999",
        f"{SEASON}/picture/order/1004/0",
    ):
        assert friend.get(path).status_code == 404
    for order in ("1004", "..", "../finished/1001", ""):
        said = friend.post(f"{address}/forget", json={"order": order}, headers=OWN)
        assert said.status_code == 404
    left = friend.post(f"{address}/forget", json={"order": "1002"}, headers=OWN).json()
    assert left["waiting"] == []
    assert list((shop.out / ORDERS / WAITING).iterdir()) == []
    again = friend.post(f"{address}/form", json={}, headers=OWN)
    assert again.status_code == 422
    assert "is there already" in again.text


def test_orders_that_are_stopped_go_on_and_another_season_has_none(
    shop: Workspace, friend: TestClient
) -> None:
    other = shop.folder / "seasons" / "other.toml"
    text = shop.seasons["annas-paper"].read_text("utf-8")
    other.write_text(text.replace('name = "annas-paper"', 'name = "other"', 1), "utf-8")
    write(shop.folder / FORM, *((f"{number}", "2027-03", "") for number in range(30)))
    address = f"{SEASON}/api/orders"
    friend.post(address, json={"form": FORM}, headers=OWN)
    refused = friend.post(f"{address}/forget", json={"order": "1"}, headers=OWN)
    assert refused.status_code == 404
    until(lambda: friend.get(address).json()["work"]["what"] != "")
    assert friend.post(f"{address}/stop", json={}, headers=OWN).json()["state"] == "stopped"
    assert len(friend.get(address).json()["made"]) < 30
    friend.post(address, json={"form": FORM}, headers=OWN)
    until(lambda: friend.get(address).json()["work"]["state"] == "done")
    assert len(friend.get(address).json()["made"]) == 30
    assert friend.get("/season/other/api/orders").json()["made"] == []
