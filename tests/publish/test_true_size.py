"""Printing at actual size, by programs of the system: the 100 mm bar stays 100 mm."""

from __future__ import annotations

import functools
import http.server
import json
import os
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pypdfium2 as pdfium
import pytest

from pipeline.publish.bundle import BUYER, bundles_in
from tests.impose.readback import paths, the_bar
from tests.publish.conftest import Shop
from tests.tools import tool

TRUE_MM = 0.02
"""Half a thousandth of the bar; PDF writers round to a few decimals of a point."""

PATIENCE_S = 60.0


def bar_mm(path: Path) -> float:
    """How long the bar on the first page is."""
    box = the_bar(paths(path.read_bytes(), 0)).box
    return max(box.width, box.height)


def longest_line_mm(path: Path) -> float:
    """The length of the longest line that may be a bar which was made smaller."""
    lines = [one.box for one in paths(path.read_bytes(), 0) if one.is_line]
    return max(max(box.width, box.height) for box in lines if max(box.width, box.height) < 100.5)


@pytest.fixture
def side_1(published: Shop) -> Path:
    """A side 1 as a buyer has it."""
    bundle = next(path for path in bundles_in(published.release) if "saen" in path.name)
    return bundle / BUYER / "3-side-1.pdf"


def test_actual_size_on_other_paper_keeps_the_bar(side_1: Path, tmp_path: Path) -> None:
    """A4 pages on Letter paper: actual size keeps the bar, "fit to page" would not."""
    cairo = tool("pdftocairo")
    letter = [cairo, "-pdf", "-paper", "letter"]
    actual, fitted = tmp_path / "actual.pdf", tmp_path / "fitted.pdf"
    subprocess.run([*letter, "-noshrink", side_1, actual], check=True)
    subprocess.run([*letter, side_1, fitted], check=True)
    assert bar_mm(actual) == pytest.approx(100, abs=TRUE_MM)
    assert longest_line_mm(fitted) < 97


def test_printing_from_chromium_keeps_the_bar(side_1: Path, tmp_path: Path) -> None:
    """Chromium's own viewer and print job, its first choices left as they are, into a PDF.

    Chromium prints only with a window, so it gets a screen that nobody sees (Xvfb).
    """
    site, saved = tmp_path / "site", tmp_path / "saved"
    site.mkdir()
    saved.mkdir()
    (site / "side-1.pdf").write_bytes(side_1.read_bytes())
    (site / "index.html").write_text(PRINTS_ITSELF)
    with _screen(tmp_path) as display, _served(site) as address:
        _print_from_chromium(address, display, tmp_path / "profile", saved)
    printed = next(saved.glob("*.pdf"))
    with pdfium.PdfDocument(side_1) as before, pdfium.PdfDocument(printed) as after:
        assert len(after) == len(before)
        for number in range(len(before)):
            assert after.get_page_size(number) == pytest.approx(
                before.get_page_size(number), abs=0.01
            )
    assert bar_mm(printed) == pytest.approx(100, abs=TRUE_MM)
    assert b"PDFium" in printed.read_bytes()


PRINTS_ITSELF = """<!doctype html><title>print</title>
<iframe src="side-1.pdf" width="900" height="900"></iframe>
<script>
const frame = document.querySelector("iframe");
frame.addEventListener("load", () => setTimeout(() => frame.contentWindow.print(), 3000));
</script>
"""


@contextmanager
def _screen(folder: Path) -> Iterator[str]:
    """A screen that nobody sees, on a number the X server chooses."""
    reader, writer = os.pipe()
    server = subprocess.Popen(
        [tool("Xvfb"), "-displayfd", str(writer), "-screen", "0", "1280x1024x24"],
        pass_fds=[writer],
        stderr=subprocess.DEVNULL,
        cwd=folder,
    )
    os.close(writer)
    try:
        with os.fdopen(reader) as told:
            yield f":{told.readline().strip()}"
    finally:
        server.terminate()
        server.wait(20)


class _Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, format: str, *args: object) -> None:
        pass


@contextmanager
def _served(site: Path) -> Iterator[str]:
    handler = functools.partial(_Quiet, directory=str(site))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}/index.html"
        server.shutdown()


def _print_from_chromium(address: str, display: str, profile: Path, saved: Path) -> None:
    (profile / "Default").mkdir(parents=True)
    printer = {"id": "Save as PDF", "origin": "local", "account": ""}
    choices = {
        "version": 2,
        "recentDestinations": [printer],
        "selectedDestinationId": printer["id"],
    }
    preferences = {
        "printing": {"print_preview_sticky_settings": {"appState": json.dumps(choices)}},
        "savefile": {"default_directory": str(saved)},
    }
    (profile / "Default/Preferences").write_text(json.dumps(preferences))
    chromium = subprocess.Popen(
        [
            *(tool("chromium"), "--no-sandbox", "--disable-gpu", "--no-first-run"),
            *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
            *(f"--user-data-dir={profile}", "--kiosk-printing", address),
        ],
        env={**os.environ, "DISPLAY": display},
        stderr=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        until = time.monotonic() + PATIENCE_S
        while not list(saved.glob("*.pdf")) and time.monotonic() < until:
            time.sleep(0.25)
        size = -1
        while size != (size := sum(file.stat().st_size for file in saved.iterdir())):
            time.sleep(0.5)
    finally:
        chromium.terminate()
        chromium.wait(20)
