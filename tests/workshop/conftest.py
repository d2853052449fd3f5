"""Workshops opened from the command line, and what somebody sees of them in a browser."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page

from pipeline.workshop.workspace import Workspace, begin, folder_for
from tests.desk.conftest import Running, close_desk, opened_by

PATIENCE_MS = 60_000
TODAY = dt.date(2026, 12, 12)
"""The day on which the tests begin their workspaces."""


def begun(
    place: Path,
    title: str = "Anna's paper",
    languages: Sequence[str] = ("en-GB",),
    months: int = 1,
) -> Workspace:
    """A workspace of A5 on A4 that begins in January 2027, in a folder."""
    folder = folder_for(place, title)
    begin(folder, title, ["a5"], ["a4"], languages, "sunday", TODAY, months=months)
    return Workspace(folder)


Open = Callable[[Path], Running]


@pytest.fixture(autouse=True)
def all_cores(every_core: None) -> None:
    """A workshop, what it does in the background and a browser run side by side."""


def open_at(folder: Path) -> Running:
    """Opens the workshop at a folder, as a double click would, but without a browser."""
    return opened_by(["desk"], folder)


@pytest.fixture
def opened() -> Iterator[Open]:
    """Opens workshops that are closed at the end, and may complain of nothing."""
    running: list[Running] = []

    def open_one(folder: Path) -> Running:
        running.append(open_at(folder))
        return running[-1]

    yield open_one
    for one in running:
        if one.process.poll() is None:
            said = close_desk(one)
            assert "Traceback" not in said, said


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """Somebody's window. Nothing may be complained of."""
    context = browser.new_context(
        viewport={"width": 1280, "height": 800}, locale="en-GB", timezone_id="UTC"
    )
    page = context.new_page()
    complaints: list[str] = []

    def on_console(message: ConsoleMessage) -> None:
        # The browser notes every answer that isn't good news: before one has entered (401), to
        # what cannot be planned or drawn (422) or was changed meanwhile (409), and that a desk is
        # gone.
        if message.type == "error" and not re.search(r"\b(401|409|422)\b|net::", message.text):
            complaints.append(message.text)

    page.on("console", on_console)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    yield page
    context.close()
    assert complaints == []


def enter(page: Page, desk: Running, path: str = "/") -> None:
    page.goto(desk.address)
    page.wait_for_load_state("networkidle")
    if path != "/":
        page.goto(desk.base + path)
