"""A small garden with templates of its own, to be built, spoilt and checked.

The mutations know where things are on its pages, which therefore stay as they are, however the
demo is drawn.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar
from unittest import mock

from pypdf import PdfReader, PdfWriter

from pipeline.app.build import make_season
from pipeline.plan import SeasonPlan, plan_season
from pipeline.plan.model import Leaf, Page, SetPlan, Side, Spread
from pipeline.proof.findings import SetFinding, findings_of

_Job = TypeVar("_Job")
_Result = TypeVar("_Result")

ROOT = Path(__file__).parents[3]
COLLECTION = "kitchen_garden"
PAGES = ROOT / "tests" / "plot"
DEMO = ROOT / "templates_svg" / COLLECTION
VERSO, RECTO = "week-two-flap-verso", "week-two-flap-recto"
FILES = ("side-1.pdf", "side-2.pdf", "both-sides.pdf")

SEASON = """
name = "garden"
title = "Garden"
collection = "kitchen_garden"
language = ["{language}"]
sizes = ["a5"]
papers = ["a4"]
weeks = "touches"
{limits}
[[period]]
name = "weeks"
from = 2027-03-01
to = 2027-03-14

[[set]]
name = "two-flaps"
title.en = "Weeks"
title.de = "Wochen"
title.ar = "أسابيع"
title.hi = "सप्ताह"
title.el = "Εβδομάδες"
title.ja = "週"
spreads = [{{ verso = "week-two-flap-verso", recto = "week-two-flap-recto", per = "week" }}]
"""


def _none(*args: object, **named: object) -> Mapping[Path, Mapping[str, bytes]]:
    return {Path("garden"): {}}


def _here(do: Callable[[_Job], _Result], jobs: Sequence[_Job], *args: object) -> Iterator[_Result]:
    return map(do, jobs)


@dataclass(frozen=True)
class Garden:
    """A season in a folder of its own, with its own copy of the templates."""

    folder: Path
    language: str
    cache: Path
    limits: str = ""

    @classmethod
    def planted(
        cls, folder: Path, language: str, cache: Path, limits: str = "", pages: Path = PAGES
    ) -> Garden:
        """A fresh one of a collection; ``limits`` are lines for the season file's [limits]."""
        shutil.copytree(pages, folder / "templates_svg" / COLLECTION)
        (folder / "seasons").mkdir()
        table = f"[limits]\n{limits}\n" if limits else ""
        season = SEASON.format(language=language, limits=table)
        (folder / "seasons" / "garden.toml").write_text(season, "utf-8")
        return cls(folder, language, cache, limits)

    @property
    def season_file(self) -> Path:
        """The season file."""
        return self.folder / "seasons" / "garden.toml"

    @property
    def plan(self) -> SeasonPlan:
        """What the season file plans."""
        return plan_season(self.season_file)

    @property
    def set_folder(self) -> Path:
        """Where its one set is, once it is built."""
        built = self.folder / "build" / "garden" / "weeks" / "two-flaps"
        return built / f"a5-a4-{self.language}"

    def redraw(self, template: str, change: Callable[[str], str]) -> None:
        """Change a template, really."""
        path = self.folder / "templates_svg" / COLLECTION / "a5" / f"{template}.svg"
        before = path.read_text("utf-8")
        after = change(before)
        assert after != before, f"the mutation leaves {template} as it is"
        path.write_text(after, "utf-8")

    def build(self, plan: SeasonPlan | None = None) -> None:
        """Build it, from another plan than its own where one is given."""
        with (
            mock.patch("pipeline.app.build.plan_season", return_value=plan or self.plan),
            mock.patch("pipeline.app.build.loose_sheets", _none),  # which take half the time
            mock.patch("pipeline.app.build.in_order", _here),
        ):
            make_season(self.season_file, self.folder / "build", only="two-flaps", cache=self.cache)

    def check(self, plan: SeasonPlan | None = None) -> tuple[SetFinding, ...]:
        """What is found in what was built, held against its plan or another."""
        return findings_of(self.set_folder, plan or self.plan)

    def check_of(self, name: str) -> tuple[SetFinding, ...]:
        """What is found in the only built set of another name."""
        (folder,) = (self.folder / "build").glob(f"*/*/{name}/*")
        return findings_of(folder, self.plan)

    def rewrite(self, name: str, change: Callable[[PdfWriter], None]) -> None:
        """Change one of the finished files."""
        path = self.set_folder / name
        writer = PdfWriter(clone_from=PdfReader(path))
        change(writer)
        writer.write(path)

    def rewrite_side(self, side: int, sheet: int, change: Callable[[PdfWriter, int], None]) -> None:
        """Change a side of a sheet (from 0) in both files it is in; told the page's number."""
        self.rewrite(f"side-{side}.pdf", lambda writer: change(writer, sheet))
        self.rewrite("both-sides.pdf", lambda writer: change(writer, 2 * sheet + side - 1))


def with_spreads(plan: SeasonPlan, change: Callable[[tuple[Spread, ...]], tuple[Spread, ...]]
) -> SeasonPlan:  # fmt: skip
    """The plan with the spreads of its set changed, and the leaves that follow from them."""
    (one,) = plan.sets
    spreads = change(one.spreads)
    versos: list[Page | None] = [*(spread.verso for spread in spreads), None]
    rectos: list[Page | None] = [None, *(spread.recto for spread in spreads)]
    leaves = tuple(Leaf(recto, verso) for recto, verso in zip(rectos, versos, strict=True))
    return with_set(plan, replace(one, spreads=spreads, leaves=leaves))


def with_facts(plan: SeasonPlan, side: Side, **texts: str) -> SeasonPlan:
    """The plan with what the pages on one face say changed: key (with _ for -) to text."""
    new = {key.replace("_", "-"): (text,) for key, text in texts.items()}

    def said(page: Page) -> Page:
        facts = replace(page.facts, texts={**page.facts.texts, **new})
        return replace(page, facts=facts) if page.side is side else page

    return with_spreads(
        plan,
        lambda spreads: tuple(
            Spread(said(one.verso), one.recto and said(one.recto)) for one in spreads
        ),
    )


def with_set(plan: SeasonPlan, one: SetPlan) -> SeasonPlan:
    """The plan with another set in place of its own."""
    return replace(plan, sets=(one,))
