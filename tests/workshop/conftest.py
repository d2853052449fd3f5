"""Workshops opened from the command line, and what somebody sees of them in a browser."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.desk.conftest import Running, close_desk, heed_ctrl_c

Open = Callable[[Path], Running]


@pytest.fixture(autouse=True)
def all_cores(every_core: None) -> None:
    """A workshop, what it does in the background and a browser run side by side."""


def open_at(folder: Path) -> Running:
    """Opens the workshop at a folder, as a double click would, but without a browser."""
    process = subprocess.Popen(
        [sys.executable, "-m", "pipeline.cli", "desk", "--no-browser"],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
        preexec_fn=heed_ctrl_c,
    )
    assert process.stdout is not None
    line = process.stdout.readline()
    found = re.search(r"http://\S+", line)
    assert found, line + process.stdout.read()
    return Running(found.group(), process)


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
