"""Workshop: a whole workspace in the browser, from an empty folder to a released set.

``workspace.py`` finds or begins one, ``openseason.py`` knows which of its seasons are open and has
them built, ``seasonfile.py`` changes season files, ``drawn.py`` is about drawings, ``releasing.py``
makes releases in the background; ``overview.py`` and ``addresses.py`` are what pages are told and
where they are. Proofs are the desk's (``pipeline.desk``).
"""

from __future__ import annotations

import json
import os
import urllib.request
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path

OPEN = "open.json"
"""Within the notes of a workspace: the address of the desk that is open on it."""


def open_workshop(
    place: Path,
    port: int,
    now: Callable[[], str],
    *,
    browser: bool,
    say: Callable[[str], None],
) -> None:
    """Serves the workspace at a folder until it is interrupted; without one, how to begin one.

    Where its desk is open already, that is shown instead. ``now`` says the time of what is decided,
    the rest is as for ``pipeline.desk.serve``. Raises UserError when the port is taken.
    """
    from pipeline.desk import serve
    from pipeline.workshop.addresses import workshop_app
    from pipeline.workshop.openseason import NOTES, Workshop

    workshop = Workshop(place, now)
    note = workshop.workspace.out / NOTES / OPEN if workshop.workspace else None
    if note is not None and (address := open_address(note)):
        say(address)
        if browser:
            webbrowser.open(address)
        return

    def opened(address: str) -> None:
        if note is not None:
            note_address(note, address)
        say(address)

    try:
        app = partial(workshop_app, workshop)
        serve(app, port, browser=browser, say=opened, let_go=workshop.let_go)
    finally:
        if note is not None:
            with suppress(OSError):
                note.unlink()


def note_address(note: Path, address: str) -> None:
    """Notes the address of a desk, for nobody but who runs it: the token is part of it."""
    with suppress(OSError):
        note.parent.mkdir(parents=True, exist_ok=True)
        note.unlink(missing_ok=True)
        with os.fdopen(os.open(note, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            json.dump({"address": address}, file)


def open_address(note: Path) -> str:
    """The address of the desk that is noted, if it answers; "" for none."""
    try:
        address = str(json.loads(note.read_bytes())["address"])
        base = address.partition("#")[0]
        if not base.startswith("http://127.0.0.1:"):
            return ""
        with urllib.request.urlopen(f"{base}static/desk.svg", timeout=2) as answer:
            is_ours = answer.headers.get("Content-Type", "").startswith("image/svg")
    except (OSError, ValueError, KeyError, TypeError):
        return ""
    return address if is_ours else ""
