"""Pictures for docs/checks.md: the first fault of each rule, ringed on the finished page.

Run ``.venv/bin/python -m docs.pictures.check_pictures`` from the project's folder, then
``make golden``, which puts new pictures into the guide.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from PIL import Image, ImageDraw

from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.impose.contents import read_contents
from pipeline.proof.findings import SetFinding
from pipeline.proof.read.raster import area_picture, opened
from tests.checks_guide import PICTURES
from tests.proof.findings.garden import Garden
from tests.proof.findings.mutations import MUTATIONS, Mutation

DPI = 110.0
RING = "#b5432a"
AROUND_MM = 12.0
LEAST_MM = (70.0, 34.0)
MOST_MM = (110.0, 80.0)


def shown(finding: SetFinding, built: Path) -> Image.Image | None:
    """The place of a finding on its finished page, ringed; None where it has no place."""
    if finding.place is None or finding.leaf is None or finding.face is None:
        return None
    contents = read_contents(built)
    placed = contents.find(finding.leaf, finding.face)
    if placed is None:
        return None
    one = placed.placement
    size = (one.flat.width, one.flat.height)
    view = framed(finding.place, Rect(0, 0, *(size if one.turned % 180 == 0 else size[::-1])))
    corners = ((view.x, view.y), (view.right, view.bottom))
    at = Rect.around(one.position.point(*corner) for corner in corners)
    with opened(built / f"side-{placed.side}.pdf") as document:
        page = document[contents.page_number(placed.sheet, placed.side)]
        picture = area_picture(page, at, DPI, one.turned)
    return ringed(picture, finding.place.moved(-view.x, -view.y))


def framed(place: Rect, leaf: Rect) -> Rect:
    """The part of a leaf to be shown around a place, mm."""
    width = min(max(place.width + 2 * AROUND_MM, LEAST_MM[0]), MOST_MM[0], leaf.width)
    height = min(max(place.height + 2 * AROUND_MM, LEAST_MM[1]), MOST_MM[1], leaf.height)
    x = min(max(place.x + place.width / 2 - width / 2, 0.0), leaf.width - width)
    y = min(max(place.y + place.height / 2 - height / 2, 0.0), leaf.height - height)
    return Rect(x, y, width, height)


def ringed(picture: Image.Image, place: Rect) -> Image.Image:
    """With a ring around a place (mm from the upper left corner) and a thin edge."""
    per_mm, pen = DPI / MM_PER_INCH, ImageDraw.Draw(picture)
    around = place.grown(1.6)
    pen.rounded_rectangle(
        [around.x * per_mm, around.y * per_mm, around.right * per_mm, around.bottom * per_mm],
        radius=1.6 * per_mm,
        outline=RING,
        width=2,
    )
    pen.rectangle([0, 0, picture.width - 1, picture.height - 1], outline="#c9c9c4")
    return picture.quantize(32, dither=Image.Dither.NONE)


def first_of_each_rule(only: list[str]) -> list[Mutation]:
    """The first mutation of each rule, or of those that are named."""
    found: dict[str, Mutation] = {}
    for mutation in MUTATIONS:
        if not only or mutation.code in only:
            found.setdefault(mutation.code, mutation)
    return list(found.values())


def main(only: list[str]) -> None:
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        for mutation in first_of_each_rule(only):
            folder = Path(name) / mutation.code
            garden = Garden.planted(folder, mutation.language, Path(name) / "c", mutation.limits)
            built_from, held_against = (mutation.spoil(garden) if mutation.spoil else None) or (
                None,
                None,
            )
            garden.build(built_from)
            if mutation.tamper:
                mutation.tamper(garden)
            for finding in garden.check(held_against):
                if picture := shown(finding, garden.set_folder):
                    picture.save(PICTURES / f"{mutation.code}.png", optimize=True)
                    break


if __name__ == "__main__":
    main(sys.argv[1:])
