"""Draws templates-range.png and garden-line.png: a page of each kind as it prints, with its dates.

Run from the project's folder: ``python -m docs.pictures.templates_range``. The pages are those of
``seasons/2027-range.toml`` and ``seasons/2027-garden-line.toml`` for A5 in English.
"""

from __future__ import annotations

from pathlib import Path

import pypdfium2 as pdfium
from PIL import Image

from pipeline.app.build import faces_of
from pipeline.draw import draw_set
from pipeline.fill import fill_set
from pipeline.fill.template import open_template
from pipeline.plan import plan_season
from tests.sidebyside import save_small

DPI = 62.0
GAP = 12
ACROSS = 4
SEASONS = Path(__file__).parents[2] / "seasons"
RANGE = {
    "months": ("year-left", "year-right", "month-left", "month-right", "habit-left", "habit-right"),
    "weeks": ("opening", "week-left"),
    "days": ("day-left",),
    "weeks-undated": ("week-left", "week-right", "notes"),
}
"""Of each set of the season the pages that are shown: of months March, of weeks Easter's."""
LINE = {
    "year": ("year-verso", "year-recto"),
    "months": ("month-verso", "month-recto", "done", "sowing-calendar"),
    "round": ("round-verso", "round-recto"),
    "days": ("day-verso",),
    "sheets": (
        "seed-box", "rotation", "bed-plan", "sowing-list", "harvest-log", "budget", "plain-list",
    ),
    "plants": ("plant-record", "plant-record-ruled"),
}  # fmt: skip
"""The same of the kitchen garden's line."""
FIRST_DAYS = {
    "months": "2027-03-01", "weeks": "2027-03-29", "days": "2027-03-26", "round": "2027-04-19",
}  # fmt: skip


def pages(season: Path, name: str, wanted: tuple[str, ...]) -> list[Image.Image]:
    """Pictures of some of a set's pages."""
    plan = plan_season(season, only=name, language="en-GB")
    one = next(
        one
        for one in plan.sets
        if one.name == name and one.binder.name == "a5" and one.colours is None
    )
    book, first = faces_of(plan).book(), FIRST_DAYS.get(name)
    stems = {page.template for page in one.pages}
    drawn = {stem: open_template(plan.collection.template_path("a5", stem)) for stem in stems}
    filled = list(zip(one.pages, fill_set(one, drawn, book), strict=True))
    chosen = []
    for stem in wanted:
        own = [(page, made) for page, made in filled if page.template == stem]
        told = [made for page, made in own if first in map(str, page.facts.dates[:1])]
        chosen.append((told or [made for _, made in own])[0])
    document = pdfium.PdfDocument(draw_set(tuple(chosen), book))
    return [page.render(scale=DPI / 72).to_pil() for page in document]


def draw(season: str, chosen: dict[str, tuple[str, ...]], file: str) -> None:
    """Draws the pages of a season side by side into a picture."""
    path = SEASONS / f"{season}.toml"
    shown = [page for name, wanted in chosen.items() for page in pages(path, name, wanted)]
    rows = [shown[n : n + ACROSS] for n in range(0, len(shown), ACROSS)]
    width, height = shown[0].size
    size = ACROSS * (width + GAP) + GAP, len(rows) * (height + GAP) + GAP
    sheet = Image.new("RGB", size, "#eeeeea")
    for down, row in enumerate(rows):
        for along, page in enumerate(row):
            sheet.paste(page, (GAP + along * (width + GAP), GAP + down * (height + GAP)))
    save_small(sheet, Path(__file__).with_name(file))


def main() -> None:
    draw("2027-range", RANGE, "templates-range.png")
    draw("2027-garden-line", LINE, "garden-line.png")


if __name__ == "__main__":
    main()
