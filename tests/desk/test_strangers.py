"""Crowds, half-sent requests and bodies that are none: one answer each, and the maker never waits.

Connections are tried on a server of its own in a thread, with a page that does nothing.
"""

from __future__ import annotations

import http.client
import json
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from pathlib import Path

import pytest
import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from starlette.testclient import TestClient

from pipeline.desk import connections
from pipeline.desk.connections import MOST_STRANGERS, QUIET_SECONDS, connections_for
from pipeline.desk.guard import SAFE_HEADERS, Key
from pipeline.desk.routes import desk_app, guarded
from pipeline.workshop.addresses import workshop_app
from pipeline.workshop.openseason import Workshop
from tests.desk.conftest import SET, Shop
from tests.desk.test_guard import HOME, KEY, OWN, a_desk
from tests.workshop.conftest import begun


@dataclass(frozen=True)
class Place:
    """A server, and the headers of the maker's browser."""

    key: Key

    @property
    def own(self) -> dict[str, str]:
        """What the maker's browser sends along."""
        return {"Cookie": f"{self.key.cookie}={self.key.token}"}

    @property
    def host(self) -> str:
        """The name it answers to."""
        return f"127.0.0.1:{self.key.port}"

    def connected(self) -> socket.socket:
        """A stranger's connection."""
        return socket.create_connection(("127.0.0.1", self.key.port), timeout=10)

    def got(self, path: str, **headers: str) -> tuple[http.client.HTTPResponse, float]:
        """An answer, and how many seconds it took."""
        before = time.monotonic()
        asked = http.client.HTTPConnection("127.0.0.1", self.key.port, timeout=10)
        asked.request("GET", path, headers=headers)
        answer = asked.getresponse()
        answer.read()
        asked.close()
        return answer, time.monotonic() - before


def page(request: Request) -> Response:
    return PlainTextResponse("the maker's page")


def broken(request: Request) -> Response:
    raise RuntimeError("a fault of ours")


@pytest.fixture
def place() -> Iterator[Place]:
    with socket.create_server(("127.0.0.1", 0), backlog=512) as listener:
        key = Key.fresh(listener.getsockname()[1])
        app = guarded(Starlette(routes=[Route("/", page), Route("/broken", broken)]), key)
        server = uvicorn.Server(
            uvicorn.Config(
                app,
                http=connections_for(key),
                log_level="critical",
                server_header=False,
                ws="none",
                timeout_keep_alive=1,
            )
        )
        thread = threading.Thread(target=server.run, args=([listener],), daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.01)
        yield Place(key)
        server.should_exit = True
        thread.join(10)


def answered(connection: socket.socket) -> bytes:
    """All that is answered until the connection is closed."""
    found = b""
    while part := connection.recv(65536):
        found += part
    return found


def test_what_is_begun_and_never_ended_is_not_waited_for(
    place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(connections, "QUIET_SECONDS", 0.2)
    monkeypatch.setattr(connections, "_LOOK_SECONDS", 0.05)
    host = f"Host: {place.host}\r\nOrigin: http://{place.host}\r\n".encode()
    cookie = f"Cookie: {place.own['Cookie']}\r\n".encode()
    for begun_with in (
        b"",
        b"GET / HTTP/1.1\r\nHo",
        b"POST /enter HTTP/1.1\r\n" + host + b"Content-Length: 90\r\n\r\n{",
        b"POST / HTTP/1.1\r\n" + host + cookie + b"Content-Length: 9\r\n\r\n",
    ):
        with place.connected() as connection:
            connection.sendall(begun_with)
            said = answered(connection)
        if not begun_with.startswith(b"POST /"):
            assert said.startswith(b"HTTP/1.1 408 ")
            assert_safe(said)


def assert_safe(answer: bytes) -> None:
    head = answer.partition(b"\r\n\r\n")[0].decode("latin-1").lower()
    for name, value in SAFE_HEADERS.items():
        assert f"{name}: {value}".lower() in head


def test_every_answer_carries_the_safe_headers_errors_too(place: Place) -> None:
    for request in (
        b"nonsense\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n",
        b"GET / HTTP/1.1\r\nX: " + b"x" * 100_000 + b"\r\n\r\n",
        b"GET /\xff\xfe HTTP/1.1\r\n\r\n",
        b"POST / HTTP/1.1\r\nContent-Length: many\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: elsewhere\r\n\r\n",
    ):
        with place.connected() as connection:
            connection.sendall(request)
            said = answered(connection)
        assert said.startswith((b"HTTP/1.1 4", b"HTTP/1.0 4")), said[:80]
        assert_safe(said)
    for path, status in (("/", 200), ("/broken", 500), ("/nowhere", 404), ("/static/../a", 404)):
        answer, _ = place.got(path, **place.own)
        assert answer.status == status
        assert {name: answer.headers[name] for name in SAFE_HEADERS} == SAFE_HEADERS
    assert place.got("/")[0].status == 401


def test_the_maker_does_not_wait_for_a_crowd(place: Place) -> None:
    """Two hundred connect at once and stay; half of them ask for what takes longest."""
    with ExitStack() as crowd:
        here = [crowd.enter_context(place.connected()) for _ in range(200)]
        for number, one in enumerate(here):
            ask = ("POST /enter", "GET /static/source-sans-3.ttf")[number % 2]
            end = ("", "\r\n")[number % 2]
            with suppress(OSError):  # it had to go
                one.sendall(f"{ask} HTTP/1.1\r\nHost: {place.host}\r\n{end}".encode())
        took = [place.got("/", **place.own) for _ in range(20)]
        assert all(answer.status == 200 for answer, _ in took)
        assert max(seconds for _, seconds in took) < QUIET_SECONDS / 2
        until = time.monotonic() + QUIET_SECONDS / 2
        while sum(map(_is_closed, here)) < 200 - MOST_STRANGERS and time.monotonic() < until:
            time.sleep(0.05)
        assert sum(map(_is_closed, here)) >= 200 - MOST_STRANGERS


def _is_closed(connection: socket.socket) -> bool:
    connection.settimeout(0.001)
    try:
        while connection.recv(1 << 20):
            pass
    except TimeoutError:
        return False
    except OSError:
        return True
    return True


BODIES = {
    "nested": b"[" * 50_000,
    "nested within": b'{"who": ' + b"[" * 40_000 + b"]" * 40_000 + b"}",
    "tables in tables": b'{"a":' * 10_000 + b"1" + b"}" * 10_000,
    "half a sign": rb'{"token": "\ud800", "who": "\udfff", "name": "\ud800", "version": "\ud800"}',
    "no text": b"\xff\xfe\x00",
    "nothing": b"",
    "a number": b"1e999999",
    "too much": b'"' + b"a" * 200_000 + b'"',
    "control": rb'{"name": "\u0000", "size": "\u001b[2J", "title": "\u202e"}',
}


def test_bodies_that_are_none_are_refused_in_one_line(tmp_path: Path) -> None:
    workshop = Workshop(begun(tmp_path).folder, lambda: "2027-01-05T09:00:00Z")
    season = next(iter(workshop.workspace.seasons)) if workshop.workspace else ""
    one = f"/season/{season}"
    posts = (
        "/enter", "/api/begin", "/api/choose", f"{one}/api/plan", f"{one}/api/mend",
        f"{one}/api/new-page", f"{one}/api/resize", f"{one}/api/show-drawing",
        f"{one}/api/release/show", f"{one}/api/print", f"{one}/api/set/{SET}/decide",
    )  # fmt: skip
    client = TestClient(workshop_app(workshop, KEY), base_url=HOME)
    assert client.post("/enter", json={"token": KEY.token}, headers=OWN).status_code == 204
    for path in posts:
        for what, body in BODIES.items():
            kind = {"Content-Type": "application/json"}
            answer = client.post(path, content=body, headers={**OWN, **kind})
            assert answer.status_code in (400, 401, 404), (path, what, answer.text)
            assert len(answer.text.splitlines()) == 1
            assert {name: answer.headers[name] for name in SAFE_HEADERS} == SAFE_HEADERS


def test_texts_of_half_signs_are_refused_where_they_are_otherwise_right(shop: Shop) -> None:
    client = TestClient(desk_app(a_desk(shop), KEY), base_url=HOME)
    assert client.post("/enter", json={"token": KEY.token}, headers=OWN).status_code == 204
    files = client.get(f"/api/set/{SET}").json()["files"]
    body = {"verdict": "pass", "files": files, "pages": ["leaf-001-recto"], "who": "Ada\ud800"}
    data = json.dumps(body).encode()
    headers = {**OWN, "Content-Type": "application/json"}
    answer = client.post(f"/api/set/{SET}/decide", content=data, headers=headers)
    assert answer.status_code == 400
    assert not shop.record.exists()


def test_a_body_that_says_it_is_too_large_is_not_read(place: Place) -> None:
    with place.connected() as connection:
        ask = f"POST /enter HTTP/1.1\r\nHost: {place.host}\r\nOrigin: http://{place.host}\r\n"
        body = "Content-Type: application/json\r\nContent-Length: 999999999\r\n\r\n"
        connection.sendall((ask + body).encode())
        before = time.monotonic()
        said = connection.recv(65536)
        assert time.monotonic() - before < QUIET_SECONDS / 2
        assert said.startswith(b"HTTP/1.1 401 ")
