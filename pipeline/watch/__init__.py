"""Watch: what is on the screen is made anew whenever a drawing is saved.

``changes.py`` notices that something was saved, ``hands.py`` makes sets beside the program,
``maker.py`` says what comes first. The pages are the desk's (``pipeline.desk``).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

__all__ = ["watch_season"]


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
    """Serves the desk and makes anew what changes, until it is interrupted.

    ``out`` is the build folder, ``cache`` where drawings are kept; with ``only`` that set alone
    is made. The rest is as for ``pipeline.desk.open_desk``. A season that is wrong is no error
    here: the page says what to mend. Raises ``UserError`` when the port is taken or the record
    cannot be read.
    """
    from pipeline.desk.desk import Desk
    from pipeline.desk.news import News
    from pipeline.desk.serve import serve
    from pipeline.watch.maker import Maker

    desk = Desk(season.stem, {}, out, season, now)
    desk.watched = True
    desk.passes()
    news = News()
    maker = Maker(season, out, cache, only, desk, news)
    try:
        maker.begin()
        serve(desk, port, browser=browser, say=say, news=news)
    finally:
        maker.close()
