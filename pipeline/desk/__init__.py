"""Desk: a local page on which a season is looked at, compared, passed for press or sent back.

``serve.py`` opens it, ``guard.py`` keeps others out, ``app.py`` says what is at which address,
``desk.py`` knows the sets and decides, ``renders.py`` draws pictures when they are looked at, and
``told.py`` says what the page in the browser is told. What it shows comes from the finished PDFs,
by way of ``pipeline.proof``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

__all__ = ["open_desk"]


def open_desk(
    title: str,
    season: Path,
    folders: Sequence[Path],
    out: Path,
    port: int,
    now: Callable[[], str],
    *,
    browser: bool,
    say: Callable[[str], None],
) -> None:
    """Serves the desk for the built sets in ``folders`` until it is interrupted.

    ``out`` is the build folder, ``port`` 0 takes any free one, ``now`` goes into the record
    beside ``season``, ``say`` is told the address. Raises ``UserError`` when the port is
    taken or the record cannot be read.
    """
    from pipeline.desk.desk import Desk
    from pipeline.desk.serve import serve

    # A set is called by its period, its own name and its edition: the last three folders.
    named = {"/".join(folder.parts[-3:]): folder for folder in folders}
    desk = Desk(title, named, out, season, now)
    desk.passes()
    serve(desk, port, browser=browser, say=say)
