"""The sheets that come with a season: a feed test for each paper, hole gauges for each binder."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from pipeline.base.folders import write_whole, writing
from pipeline.impose.printer import Flip
from pipeline.plan import SeasonPlan
from pipeline.testsheets.feedtest import feed_test, has_feed_test
from pipeline.testsheets.gauge import has_gauge, hole_gauge
from pipeline.text import FontBook

FEED_TEST, GAUGE = "feed-test", "hole-gauge"


def write_test_sheets(plan: SeasonPlan, flip: Flip, book: FontBook, folder: Path) -> list[Path]:
    """Writes a season's test sheets into ``folder``, each whole or not at all; says which.

    They speak the season's first language. Sheets an earlier build made for papers or binders
    that the season no longer has are taken away.
    """
    made = []
    for name, data in _sheets(plan, flip, book):
        path = folder / f"{name}.pdf"
        write_whole(path, data)
        made.append(path)
    for kind in (FEED_TEST, GAUGE):
        for old in sorted(set(folder.glob(f"{kind}-*.pdf")) - set(made)):
            with writing(old):
                old.unlink()
    return made


def _sheets(plan: SeasonPlan, flip: Flip, book: FontBook) -> Iterator[tuple[str, bytes]]:
    language = plan.season.language[0]
    binders = {one.binder.name: one.binder for one in plan.sets}
    for paper in plan.papers:
        if has_feed_test(paper):
            yield f"{FEED_TEST}-{paper.name}", feed_test(paper, flip, book, language)
        if has_gauge(paper):
            for binder in binders.values():
                yield (
                    f"{GAUGE}-{binder.name}-{paper.name}",
                    hole_gauge(binder, paper, book, language),
                )
