"""Workshops opened from the command line, and what somebody sees of them in a browser."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest

from pipeline.workshop.workspace import Workspace, begin, folder_for
from tests.desk.conftest import Running, close_desk, opened_by

TODAY = dt.date(2026, 12, 12)
"""The day on which the tests begin their workspaces."""


def begun(
    place: Path, title: str = "Anna's paper", languages: Sequence[str] = ("en-GB",)
) -> Workspace:
    """A workspace of A5 on A4, begun in a folder."""
    folder = folder_for(place, title)
    begin(folder, title, ["a5"], ["a4"], languages, "sunday", TODAY)
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
