"""Draws templates-range.png: a page of each kind of the range as it prints, its dates filled in.

Run from the project's folder: ``python -m docs.pictures.templates_range``. The pages are those of
``seasons/2027-range.toml`` for A5 in English.
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
from pipeline.proof.pictures.proofs import save_png

DPI = 62.0
GAP = 12
ACROSS = 4
SEASON = Path(__file__).parents[2] / "seasons" / "2027-range.toml"
SHOWN = {
    "months": ("year-left", "year-right", "month-left", "month-right", "habit-left", "habit-right"),
    "weeks": ("opening", "week-left"),
    "days": ("day-left",),
    "weeks-undated": ("week-left", "week-right", "notes"),
}
"""Of each set of the season the pages that are shown: of months March, of weeks Easter's."""
FIRST_DAYS = {"months": "2027-03-01", "weeks": "2027-03-29", "days": "2027-03-26"}


def pages(name: str) -> list[Image.Image]:
    """Pictures of a set's pages."""
    plan = plan_season(SEASON, only=name, language="en-GB")
    one = next(one for one in plan.sets if one.binder.name == "a5" and one.colours is None)
    book, first = faces_of(plan).book(), FIRST_DAYS.get(name)
    stems = {page.template for page in one.pages}
    drawn = {stem: open_template(plan.collection.template_path("a5", stem)) for stem in stems}
    filled = list(zip(one.pages, fill_set(one, drawn, book), strict=True))
    chosen = []
    for stem in SHOWN[name]:
        own = [(page, made) for page, made in filled if page.template == stem]
        told = [made for page, made in own if first in map(str, page.facts.dates[:1])]
        chosen.append((told or [made for _, made in own])[0])
    document = pdfium.PdfDocument(draw_set(tuple(chosen), book))
    return [page.render(scale=DPI / 72).to_pil() for page in document]


def main() -> None:
    shown = [page for name in SHOWN for page in pages(name)]
    rows = [shown[n : n + ACROSS] for n in range(0, len(shown), ACROSS)]
    width, height = shown[0].size
    size = ACROSS * (width + GAP) + GAP, len(rows) * (height + GAP) + GAP
    sheet = Image.new("RGB", size, "#eeeeea")
    for down, row in enumerate(rows):
        for along, page in enumerate(row):
            sheet.paste(page, (GAP + along * (width + GAP), GAP + down * (height + GAP)))
    save_png(sheet, Path(__file__).with_name("templates-range.png"))


if __name__ == "__main__":
    main()
