"""The workshop's pages, asked without a browser: what they tell, and what they refuse to do."""

from __future__ import annotations

import datetime as dt
import re
import shutil
import time
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from pipeline.app.build import make_season
from pipeline.desk.guard import Key
from pipeline.plan.season import Season
from pipeline.publish.releases import Passed, Release, ReleaseFile
from pipeline.workshop import releasing
from pipeline.workshop.addresses import workshop_app
from pipeline.workshop.drawn import write_label
from pipeline.workshop.openseason import Workshop
from pipeline.workshop.overview import strip_of
from pipeline.workshop.releasing import Releasing
from tests.workshop.conftest import begun

KEY = Key("a-token-for-this-test", 8421)
HOME = "http://127.0.0.1:8421"
OWN = {"Origin": HOME}
SEASON = "/season/annas-paper"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a workspace that is built; not to be changed."""
    place = tmp_path_factory.mktemp("place")
    made = begun(place)
    make_season(made.seasons["annas-paper"], made.out)
    return place


@pytest.fixture
def place(built: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return Path(shutil.copytree(built, tmp_path / "place"))


def at(place: Path) -> TestClient:
    """A stranger at the workshop of a folder."""
    workshop = Workshop(place, lambda: "2026-12-12T09:00:00Z")
    return TestClient(workshop_app(workshop, KEY), base_url=HOME)


@pytest.fixture
def friend(place: Path) -> Iterator[TestClient]:
    """Somebody who entered with the token."""
    with at(place) as client:
        assert client.post("/enter", json={"token": KEY.token}, headers=OWN).status_code == 204
        yield client


def test_nothing_is_shown_or_done_without_the_token(place: Path) -> None:
    stranger = at(place)
    for path in ("/", "/api/shelf", f"{SEASON}/api/plan", f"{SEASON}/picture/drawing/a5/week/50"):
        answer = stranger.get(path, headers={"Accept": "text/html"})
        assert answer.status_code == 401
        assert "Anna" not in answer.text
    for path in ("/api/begin", f"{SEASON}/api/plan", f"{SEASON}/api/release"):
        assert stranger.post(path, json={}, headers=OWN).status_code == 401


def test_nobody_elses_page_may_change_anything(friend: TestClient, place: Path) -> None:
    before = sorted(place.rglob("*"))
    for path in ("/api/begin", f"{SEASON}/api/plan", f"{SEASON}/api/new-page"):
        answer = friend.post(path, json={}, headers={"Origin": "http://elsewhere.example"})
        assert answer.status_code == 403
    assert sorted(place.rglob("*")) == before


def test_the_shelf_tells_how_each_set_stands(friend: TestClient) -> None:
    about = friend.get("/api/shelf").json()
    assert [one["name"] for one in about["seasons"]] == ["annas-paper"]
    assert about["seasons"][0]["days"] == "Jan 2027"
    assert [(one["name"], one["state"]) for one in about["strip"]][:2] == [
        ("January", "due"),
        ("February", "later"),
    ]
    [line] = friend.get(f"{SEASON}/api/sets").json()["sets"]
    assert line["name"] == "january/weeks/a5-a4-en-GB"
    assert line["out"] is None
    picture = friend.get(f"{SEASON}/picture/{line['name']}/view/0/open/40")
    assert picture.headers["content-type"] == "image/png"


@pytest.mark.parametrize(
    "path",
    [
        "/season/..%2Fannas-paper/api/plan",
        "/season/nothing/api/plan",
        f"{SEASON}/picture/drawing/a5/..%2F..%2Fcollection/50",
        f"{SEASON}/picture/drawing/a5/week/7",
        f"{SEASON}/drawing/a6/week",
        f"{SEASON}/api/drawing/a5/nothing",
        f"{SEASON}/api/drawing/a5/nothing/keys",
        f"{SEASON}/api/drawing/a5/week/as/a99",
        f"{SEASON}/picture/drawing/a5/week/as/..%2fx",
    ],
)
def test_what_was_not_listed_is_not_there(friend: TestClient, path: str) -> None:
    assert friend.get(path).status_code == 404


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("/api/begin", {"title": "New", "sizes": [], "papers": ["a4"], "languages": ["de"]}),
        ("/api/begin", {"title": "New", "sizes": ["a7"], "papers": ["a4"], "languages": ["de"]}),
        ("/api/begin", {"title": "../x", "sizes": ["a5"], "papers": ["a4"], "languages": ["q!"]}),
        ("/api/begin", {"title": "New", "sizes": ["a5"], "papers": ["a4"], "languages": ["de"],
                        "first_weekday": 'monday"\n[[set]]'}),
        (f"{SEASON}/api/plan", {"version": "", "change": {"do": "nothing"}}),
        (f"{SEASON}/api/new-page",
         {"kind": "week", "size": "a5", "name": "../week", "side": "recto", "flap_mm": 0}),
        (f"{SEASON}/api/new-page",
         {"kind": "week", "size": "a5", "name": "week", "side": "recto", "flap_mm": 0}),
        (f"{SEASON}/api/new-page",
         {"kind": "wek", "size": "a5", "name": "other", "side": "recto", "flap_mm": 0}),
        (f"{SEASON}/api/resize", {"size": "a5", "names": ["nothing"], "to": "a6"}),
        (f"{SEASON}/api/resize", {"size": "a5", "names": ["week"], "to": "a99"}),
        (f"{SEASON}/api/mend", {"size": "a5"}),
        (f"{SEASON}/api/release/show", {"name": "page"}),
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_refused_in_a_line(
    friend: TestClient, place: Path, path: str, said: dict[str, Any]
) -> None:
    before = {path: path.read_bytes() for path in place.rglob("*.*") if path.is_file()}
    answer = friend.post(path, json=said, headers=OWN)
    assert answer.status_code in (400, 404, 422)
    assert len(answer.text.splitlines()) == 1
    now = {path: path.read_bytes() for path in place.rglob("*.*") if path.is_file()}
    assert now == before


def test_a_change_is_written_and_what_comes_of_it_is_told(friend: TestClient, place: Path) -> None:
    plan = friend.get(f"{SEASON}/api/plan").json()
    [figures] = plan["figures"]
    assert (figures["sheets"], figures["leaves"]) == (7, 7)  # six weeks from Sunday, one leaf more
    change = {"do": "setting", "field": "papers", "value": ["a4", "letter", "a3"]}
    said = {"version": plan["version"], "change": change}
    now = friend.post(f"{SEASON}/api/plan", json=said, headers=OWN).json()
    # A3 holds two A5 leaves upright beside each other.
    assert [one["sheets"] for one in now["figures"]] == [7, 7, 4]
    assert now["can_undo"]
    again = friend.post(f"{SEASON}/api/plan", json=said, headers=OWN)
    assert again.status_code == 409
    said = {"version": now["version"], "change": None}
    assert friend.post(f"{SEASON}/api/plan", json=said, headers=OWN).json() | {
        "can_undo": None
    } == plan | {"can_undo": None}


def test_what_does_not_fit_is_told_beside_the_others(friend: TestClient) -> None:
    plan = friend.get(f"{SEASON}/api/plan").json()
    change = {"do": "setting", "field": "papers", "value": ["a4", "a6"]}
    said = {"version": plan["version"], "change": change}
    now = friend.post(f"{SEASON}/api/plan", json=said, headers=OWN).json()
    assert [bool(one["problem"]) for one in now["figures"]] == [False, True]
    assert "A6" in now["figures"][1]["problem"]


def test_a_page_is_begun_looked_through_mended_and_drawn_again(
    friend: TestClient, place: Path
) -> None:
    new = {"kind": "notes", "size": "a5", "name": "notes", "side": "recto", "flap_mm": 0.0}
    assert friend.post(f"{SEASON}/api/new-page", json=new, headers=OWN).status_code == 200
    file = place / "annas-paper" / "templates_svg" / "annas-paper" / "a5" / "notes.svg"
    thin = (
        b'<path id="crack" d="M 30 30 h 40" stroke="#333333" stroke-width="0.1" fill="none"/></svg>'
    )
    file.write_bytes(file.read_bytes().replace(b"</svg>", thin))
    found = friend.get(f"{SEASON}/api/drawing/a5/notes").json()["findings"]
    [hairline] = [one for one in found if one["element"] == "crack"]
    assert hairline["mendable"]
    assert hairline["place"] == pytest.approx([30, 30, 40, 0], abs=0.2)
    # Its keys, and what it would be like, without anything being done.
    keys = friend.get(f"{SEASON}/api/drawing/a5/notes/keys").json()["keys"]
    assert {"label-notes"} <= {one["key"] for one in keys}
    assert all(0 <= one["place"][0] < 148 and 0 <= one["place"][1] < 210 for one in keys)
    before = file.read_bytes()
    trial = friend.get(f"{SEASON}/api/drawing/a5/notes/as/mended").json()
    assert [line.partition(" ")[0] for line in trial["lines"]] == ["crack"]
    assert friend.get(f"{SEASON}/api/drawing/a5/notes/as/personal").status_code == 200
    pictures = {
        friend.get(f"{SEASON}/picture/drawing/a5/notes/{rest}").content
        for rest in ("130", "as/mended", "as/personal")
    }
    assert len(pictures) == 3
    assert all(picture.startswith(b"\x89PNG") for picture in pictures)
    assert file.read_bytes() == before
    assert not (file.parent.parent / "personal" / "notes.svg").exists()
    mended = friend.post(
        f"{SEASON}/api/mend", json={"size": "a5", "name": "notes"}, headers=OWN
    ).json()
    assert mended == {"mended": 1}
    assert b'stroke-width="0.2"' in file.read_bytes()
    resized = {"size": "a5", "names": ["notes"], "to": "personal"}
    assert friend.post(f"{SEASON}/api/resize", json=resized, headers=OWN).status_code == 200
    for size in ("a5", "personal"):
        picture = friend.get(f"{SEASON}/picture/drawing/{size}/notes/50")
        assert picture.content.startswith(b"\x89PNG")
    again = friend.post(f"{SEASON}/api/resize", json=resized, headers=OWN)
    assert again.status_code == 422


def test_a_label_is_written_beside_what_the_files_say_already(tmp_path: Path) -> None:
    english = tmp_path / "labels" / "en.toml"
    english.parent.mkdir()
    english.write_text('list = "List" # ours\n\n[templates]\nweek = "Week"\n', "utf-8")
    words = {"en-GB": "Tides", "en-US": "Tide", "en-AU": "Tides", "de": "Gezeiten"}
    files = write_label(tmp_path, "tides", words)
    assert {file.name: file.read_text("utf-8") for file in files} == {
        "en.toml": 'list = "List" # ours\ntides = "Tides"\n\n[templates]\nweek = "Week"\n',
        "en-US.toml": 'tides = "Tide"\n',
        "de.toml": 'tides = "Gezeiten"\n',
    }


def test_a_label_is_written_anew_where_it_stands(tmp_path: Path) -> None:
    english = tmp_path / "labels" / "en.toml"
    english.parent.mkdir()
    english.write_text('list = ["To do", "do"] # ours\n', "utf-8")
    assert write_label(tmp_path, "list", {"en-GB": "To do", "en-US": "To do"}) == []
    written = write_label(tmp_path, "list", {"en-GB": "For the kiln", "en-US": "To do"})
    assert {file.name: file.read_text("utf-8") for file in written} == {
        "en.toml": 'list = "For the kiln" # ours\n',
        "en-US.toml": 'list = "To do"\n',
    }


def test_only_labels_that_a_page_asks_for_are_written(friend: TestClient, place: Path) -> None:
    labels = place / "annas-paper" / "templates_svg" / "annas-paper" / "labels"
    before = {file: file.read_bytes() for file in labels.iterdir()}
    for words, status in (({"en-GB": "Tides"}, 404), ({"en-GB": " "}, 400), ({}, 400)):
        asked = {"size": "a5", "name": "list", "label": "tides", "words": words}
        assert friend.post(f"{SEASON}/api/label", json=asked, headers=OWN).status_code == status
    assert {file: file.read_bytes() for file in labels.iterdir()} == before


def test_what_the_check_says_follows_the_plan(friend: TestClient, place: Path) -> None:
    season = place / "annas-paper" / "seasons" / "annas-paper.toml"

    def said() -> set[str]:
        found = friend.get(f"{SEASON}/api/drawing/a5/week").json()["findings"]
        return {one["words"] for one in found}

    before = said()
    text = season.read_text("utf-8")
    once = text.replace('per = "week"', 'per = "once"')
    assert once != text
    season.write_text(once, "utf-8")
    assert any("a page that comes once" in words for words in said() - before)
    season.write_text(text, "utf-8")
    assert said() == before


def test_a_folder_above_several_workspaces_offers_them(place: Path) -> None:
    begun(place, "Second", ["de"])
    with at(place) as client:
        client.post("/enter", json={"token": KEY.token}, headers=OWN)
        page = client.get("/", headers={"Accept": "text/html"})
        assert "annas-paper" in page.text
        assert "second" in page.text
        assert client.get("/api/shelf").status_code == 404
        assert client.post("/api/choose", json={"name": "nothing"}, headers=OWN).status_code == 404
        assert client.post("/api/choose", json={"name": "second"}, headers=OWN).status_code == 200
        assert client.get("/api/shelf").json()["title"] == "Second"
        assert 'href="/shops"' in client.get("/", headers={"Accept": "text/html"}).text
        assert "annas-paper" in client.get("/shops", headers={"Accept": "text/html"}).text
        client.post("/api/choose", json={"name": "annas-paper"}, headers=OWN)
        assert client.get("/api/shelf").json()["title"] == "Anna's paper"


def test_who_has_one_shop_is_not_offered_others(friend: TestClient) -> None:
    assert "/shops" not in friend.get("/", headers={"Accept": "text/html"}).text


def test_the_months_that_are_wanted_and_not_out_are_due() -> None:
    season = Season.model_validate(
        {
            "name": "year",
            "title": "Year",
            "collection": "plain_days",
            "language": ["de"],
            "sizes": ["a5"],
            "papers": ["a4"],
            "period": [
                {"name": "spring", "months": ["2027-03", "2027-05"]},
                {"name": "july", "month": "2027-07"},
            ],
            "set": [
                {"name": "a", "spreads": [{"verso": "x", "recto": "y", "per": "week"}]},
            ],
        }
    )
    gone = Release(1, "x", "2027-01-01T00:00:00Z", Passed(("Ada",), "2027-01-01"), "", {})
    for releases, march in (
        (ReleaseFile(), "due"),
        (ReleaseFile(sets={"spring/a/b": (gone,)}), "out"),
    ):
        strip = strip_of([("year", season, releases)], dt.date(2027, 2, 3))
        states = {one["name"]: one["state"] for one in strip}
        assert states["March"] == march
        assert states["May"] == ("out" if march == "out" else "planned")
        assert states["June"] == "missing"
        assert states["July"] == "planned"
        assert {one["season"] for one in strip} == {"year"}
        assert "February" not in states


def test_what_is_before_all_periods_is_not_due_and_leads_to_the_first_season() -> None:
    whole = {
        "collection": "plain_days",
        "language": ["de"],
        "sizes": ["a5"],
        "papers": ["a4"],
        "set": [{"name": "a", "spreads": [{"verso": "x", "recto": "y", "per": "week"}]}],
    }
    read = [
        (
            name,
            Season.model_validate(
                {"name": name, "title": name, "period": [{"name": name, "month": month}], **whole}
            ),
            ReleaseFile(),
        )
        for name, month in (("summer", "2027-07"), ("spring", "2027-04"))
    ]
    strip = {one["name"]: one for one in strip_of(read, dt.date(2026, 11, 30))}
    assert {strip[name]["state"] for name in ("December", "January", "March")} == {"later"}
    assert strip["December"]["season"] == strip["January"]["season"] == "spring"
    assert strip["April"]["state"] == "planned"
    assert strip["May"]["state"] == "missing"
    assert strip["May"]["season"] == "spring"


def test_a_release_that_broke_off_is_told_and_one_can_be_stopped(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    season = place / "annas-paper" / "seasons" / "annas-paper.toml"
    notes = place / "notes.json"
    one = Releasing(season, place / "annas-paper" / "build", notes)
    assert one.state() == {"state": "none"}
    releasing._note(notes, {"state": "making", "done": 3, "whole": 9, "what": "x"})
    assert one.state()["state"] == "broken off"
    one.begin("2026-12-12T09:00:00Z", pictures=False)
    assert one.under_way
    one.stop()
    assert not one.under_way
    assert one.state()["state"] == "stopped"
    one.begin("2026-12-12T09:00:00Z", pictures=False)
    until = time.monotonic() + 60
    while one.under_way and time.monotonic() < until:
        time.sleep(0.1)
    said = one.state()
    assert said["state"] == "done"
    assert said["held"] == [["january/weeks/a5-a4-en-GB", "not passed yet; look at it on the desk"]]


def test_a_folder_of_the_release_lists_its_files(friend: TestClient, place: Path) -> None:
    release = place / "annas-paper" / "build" / "annas-paper" / "release"
    (release / "weeks-v1" / "buyer").mkdir(parents=True)
    file = release / "weeks-v1" / "buyer" / "1 read me & more.txt"
    file.write_text("Hello", "utf-8")
    (release / "weeks-v1" / "buyer" / ".hidden").write_text("", "utf-8")
    for address in ("weeks-v1/buyer/", "weeks-v1/buyer"):
        page = friend.get(f"{SEASON}/released/{address}")
        assert page.status_code == 200
        [link] = re.findall(r'<a dir="auto" href="([^"]+)">1 read me &amp; more.txt</a>', page.text)
        assert friend.get(unescape(link)).text == "Hello"
        assert "hidden</a>" not in page.text
    assert friend.get(f"{SEASON}/released/weeks-v1/nothing/").status_code == 404


def test_another_shop_is_begun_beside_the_one_that_is_open(place: Path) -> None:
    with at(place / "annas-paper") as client:
        client.post("/enter", json={"token": KEY.token}, headers=OWN)
        said = {"title": "Second", "sizes": ["a5"], "papers": ["a4"], "languages": ["de"]}
        assert client.post("/api/begin", json=said, headers=OWN).json() == {"season": "second"}
    assert (place / "second" / "seasons" / "second.toml").is_file()
