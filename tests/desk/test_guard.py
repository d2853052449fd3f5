"""Who is let in: tried on the application itself, without a browser that would behave."""

from __future__ import annotations

import json

import pytest
from starlette.testclient import TestClient

from pipeline.desk.desk import Desk
from pipeline.desk.guard import Key
from pipeline.desk.routes import desk_app
from tests.desk.conftest import SET, Shop

KEY = Key("a-token-for-this-test", 8421)
HOME = "http://127.0.0.1:8421"
OWN = {"Origin": HOME}


def a_desk(shop: Shop) -> Desk:
    folders = {SET: shop.set_folder}
    return Desk("Small", folders, shop.out, shop.season, lambda: "2027-01-05T09:00:00Z")


@pytest.fixture
def stranger(shop: Shop) -> TestClient:
    """Somebody on this machine without the token. The desk itself is not opened: no background."""
    return TestClient(desk_app(a_desk(shop), KEY), base_url=HOME)


@pytest.fixture
def friend(stranger: TestClient) -> TestClient:
    """Somebody who entered with the token."""
    entered = stranger.post("/enter", json={"token": KEY.token}, headers=OWN)
    assert entered.status_code == 204
    return stranger


@pytest.mark.parametrize(
    "path",
    [
        "/api/season",
        f"/api/set/{SET}",
        f"/set/{SET}",
        f"/picture/{SET}/view/0/open/110",
        f"/picture/{SET}/flat/page/leaf-001-recto/110",
    ],
)
def test_nothing_of_the_season_is_shown_without_the_token(stranger: TestClient, path: str) -> None:
    for accept in ("*/*", "text/html"):
        answer = stranger.get(path, headers={"Accept": accept})
        assert answer.status_code == 401
        assert "Weeks" not in answer.text
        assert "March" not in answer.text


def test_a_wrong_token_does_not_let_in(stranger: TestClient) -> None:
    for given in ("", "a-token-for-this-tesT", None, 7, ["a-token-for-this-test"]):
        answer = stranger.post("/enter", json={"token": given}, headers=OWN)
        assert answer.status_code == 401
        assert "set-cookie" not in answer.headers
    stranger.cookies.set(KEY.cookie, "a-token-for-this-tesT")
    assert stranger.get("/api/season").status_code == 401


def test_the_cookie_is_kept_from_other_sites_and_from_scripts(stranger: TestClient) -> None:
    entered = stranger.post("/enter", json={"token": KEY.token}, headers=OWN)
    cookie = entered.headers["set-cookie"].lower()
    assert "samesite=strict" in cookie
    assert "httponly" in cookie
    assert stranger.get("/api/season").status_code == 200


def test_two_runs_have_two_tokens() -> None:
    assert Key.fresh(1).token != Key.fresh(1).token
    assert len(Key.fresh(1).token) >= 32


@pytest.mark.parametrize("host", ["planner.example:8421", "127.0.0.1", "127.0.0.1:80", ""])
def test_a_name_made_to_point_here_is_refused(friend: TestClient, host: str) -> None:
    answer = friend.get("/api/season", headers={"Host": host})
    assert answer.status_code == 421
    assert friend.get("/static/desk.css", headers={"Host": host}).status_code == 421


def test_localhost_is_this_machine_too(friend: TestClient) -> None:
    answer = friend.get("/static/desk.css", headers={"Host": "localhost:8421"})
    assert answer.status_code == 200


@pytest.mark.parametrize(
    "origin", ["https://planner.example", "http://127.0.0.1:8422", "null", None]
)
def test_another_page_in_the_same_browser_decides_nothing(
    friend: TestClient, shop: Shop, origin: str | None
) -> None:
    files = friend.get(f"/api/set/{SET}").json()["files"]
    body = {"verdict": "pass", "files": files, "pages": ["leaf-001-recto"], "who": "Ada"}
    headers = {"Origin": origin} if origin else {}
    answer = friend.post(f"/api/set/{SET}/decide", json=body, headers=headers)
    assert answer.status_code == 403
    assert not shop.record.exists()


def test_another_page_reads_nothing_either(friend: TestClient) -> None:
    answer = friend.get("/api/season", headers={"Origin": "https://planner.example"})
    assert answer.status_code == 403
    assert "access-control-allow-origin" not in friend.get("/api/season").headers


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2fapp.py",
        "/static//etc/passwd",
        "/set/../../etc",
        "/set/march/sowing/..",
        "/set/march/sowing/%2e%2e%2f%2e%2e",
        f"/picture/{SET}/flat/page/..%2f..%2fcontents.json/110",
        f"/picture/{SET}/flat/passed/..%2f..%2fcontents.json/110",
        f"/picture/{SET}/flat/passed/leaf-001-recto/110",
        f"/picture/{SET}/flat/x/leaf-001-recto/110",
        f"/picture/{SET}/flat/page/leaf-001-recto/9999",
        f"/picture/{SET}/flat/page/leaf-001-recto/96/1/0",
        f"/picture/{SET}/view/0/open/96/99/0",
        f"/picture/{SET}/view/0/open/9999/0/0",
        f"/api/set/{SET}/first-ink/999/open",
        f"/api/set/{SET}/first-ink/0/x",
        f"/picture/{SET}/view/999/open/110",
        f"/picture/{SET}/view/0/open/9999",
        f"/picture/{SET}/view/0/..%2fx/110",
        f"/picture/{SET}/date/1/..%2f..%2fx",
        f"/picture/{SET}/date/1/2027-02-30",
        f"/picture/{SET}/sheet/99/1",
        f"/picture/{SET}/sheet/0/3",
        "/picture/march/sowing/a5-a3-en-GB/view/0/open/110",
    ],
)
def test_no_path_leads_out(friend: TestClient, shop: Shop, path: str) -> None:
    before = {file for file in shop.folder.rglob("*") if ".desk" not in file.parts}
    answer = friend.get(path)
    assert answer.status_code == 404
    assert "import" not in answer.text
    assert {file for file in shop.folder.rglob("*") if ".desk" not in file.parts} == before


def test_scripts_and_styles_only_from_the_desk(friend: TestClient) -> None:
    for path in ("/", f"/set/{SET}", f"/set/{SET}/sheets", "/static/desk.css", "/nowhere"):
        policy = friend.get(path).headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy
        page = friend.get(path).text
        assert "<script>" not in page
        assert " style=" not in page
        assert "https://" not in page


def test_titles_are_text(friend: TestClient) -> None:
    page = friend.get(f"/set/{SET}").text
    assert "Weeks &amp; lists &lt;script&gt;" in page
    assert "<script>" not in page


@pytest.mark.parametrize(
    "body",
    [
        {"verdict": "pass", "pages": []},
        {"verdict": "pass", "pages": ["leaf-999-recto"]},
        {"verdict": "pass", "pages": ["../../x"]},
        {"verdict": "pass", "pages": "leaf-001-recto"},
        {"verdict": "burn", "pages": ["leaf-001-recto"]},
        {"verdict": "send back", "pages": ["leaf-001-recto"], "note": "   "},
        {"verdict": "send back", "pages": ["leaf-001-recto"], "note": 3},
        {"verdict": "pass", "pages": ["leaf-001-recto"], "who": "  "},
        {"verdict": "pass", "pages": ["leaf-001-recto"], "who": ["Ada"]},
        {"verdict": "pass", "pages": ["leaf-001-recto"], "who": "A" * 81},
    ],
)
def test_a_decision_that_is_none(friend: TestClient, shop: Shop, body: dict[str, object]) -> None:
    files = friend.get(f"/api/set/{SET}").json()["files"]
    answer = friend.post(
        f"/api/set/{SET}/decide", json={"files": files, "who": "Ada", **body}, headers=OWN
    )
    assert answer.status_code == 400
    assert not shop.record.exists()


def test_whoever_decides_says_who_and_nobody_else_is_asked(friend: TestClient, shop: Shop) -> None:
    files = friend.get(f"/api/set/{SET}").json()["files"]
    body = {"verdict": "pass", "files": files, "pages": ["leaf-001-recto"]}
    assert friend.post(f"/api/set/{SET}/decide", json=body, headers=OWN).status_code == 400
    assert not shop.record.exists()
    answer = friend.post(f"/api/set/{SET}/decide", json={**body, "who": " Ada  B. "}, headers=OWN)
    assert answer.status_code == 200
    record = json.loads(shop.record.read_text("utf-8"))["sets"][SET]["pages"]
    assert record["leaf-001-recto"]["passed"]["by"] == "Ada B."


def test_a_decision_about_files_that_are_gone(friend: TestClient, shop: Shop) -> None:
    body = {"verdict": "pass", "files": "0" * 64, "pages": ["leaf-001-recto"], "who": "Ada"}
    answer = friend.post(f"/api/set/{SET}/decide", json=body, headers=OWN)
    assert answer.status_code == 409
    assert "look once more" in answer.text
    assert not shop.record.exists()


def test_a_form_of_another_page_or_a_flood_is_no_decision(friend: TestClient, shop: Shop) -> None:
    address = f"/api/set/{SET}/decide"
    for data, kind in (
        (b'{"verdict": "pass"}', "text/plain"),
        (b"verdict=pass", "application/x-www-form-urlencoded"),
        (b"[" * 200_000, "application/json"),
        (b'"pass"', "application/json"),
    ):
        answer = friend.post(address, content=data, headers={**OWN, "Content-Type": kind})
        assert answer.status_code == 400
    assert not shop.record.exists()
