"""Watch: what is on the screen is built again whenever a drawing is saved.

``builder.py`` notices saves, says what comes first and has it built in processes of its own. The
pages are the desk's (``pipeline.desk``).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path


def watch_season(
    season: Path,
    out: Path,
    cache: Path,
    only: str | None,
    port: int,
    now: Callable[[], str],
    *,
    browser: bool,
    say: Callable[[str], None],
) -> None:
    """Serves the desk and builds what changes, until it is interrupted.

    ``out`` is the build folder, ``cache`` where drawings are kept; with ``only`` that set alone
    is built. ``now`` goes into the record beside ``season``, the rest is as for
    ``pipeline.desk.serve_desk``. A mistake in the season is shown on the page, which says what to
    mend. Raises ``UserError`` when the port is taken or the record cannot be read.
    """
    from pipeline.desk import serve_desk
    from pipeline.desk.desk import Desk, Updates
    from pipeline.watch.builder import Builder

    updates = Updates()
    desk = Desk(season.stem, {}, out, season, now, updates)
    builder = Builder(season, out, cache, only, desk, updates)
    try:
        builder.begin()
        serve_desk(desk, port, browser=browser, say=say)
    finally:
        builder.close()
