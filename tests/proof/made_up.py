"""Small made-up imposed sets: drawn here, so that what a proof must show is known."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import cairosvg
from pypdf import PdfWriter

from pipeline.base.geometry import Rect
from pipeline.plan.model import Holes

WIDTH, HEIGHT, FLAP = 60.0, 80.0, 18.0
HOLES = Holes(centres_mm=(20.0, 60.0), edge_mm=8.0, diameter_mm=5.0)


@dataclass(frozen=True)
class MadeUpPage:
    """A page: SVG in mm of its leaf's whole flat area, and whether the flap is its own."""

    art: str
    label: str = "a page"
    own_flap: bool = False


@dataclass(frozen=True)
class MadeUpLeaf:
    """A leaf; ``back_of_flap`` is drawn on a face in any case, page or not."""

    recto: MadeUpPage | None
    verso: MadeUpPage | None
    flap_mm: float = 0.0


def _turned(art: str, flat: Rect, turn: int) -> str:
    x, y = flat.x, flat.y
    matrix = {
        0: f"1 0 0 1 {x} {y}",
        90: f"0 1 -1 0 {flat.right} {y}",
        180: f"-1 0 0 -1 {flat.right} {flat.bottom}",
        270: f"0 -1 1 0 {x} {flat.bottom}",
    }[turn]
    return f'<g transform="matrix({matrix})">{art}</g>'


def _trim(flat: Rect, width: float, flap_on_right: bool, turn: int) -> Rect:
    """The closed part of a leaf lying in ``flat``."""
    flap = (flat.height if turn % 180 else flat.width) - width
    if turn % 180 == 0:
        at_left = flap_on_right == (turn == 0)
        return Rect(flat.x if at_left else flat.x + flap, flat.y, width, flat.height)
    at_top = flap_on_right == (turn == 90)
    return Rect(flat.x, flat.y if at_top else flat.y + flap, flat.width, width)


def make_set(
    folder: Path,
    leaves: Sequence[MadeUpLeaf],
    *,
    turn: int = 0,
    binding: str = "left",
    width: float = WIDTH,
    height: float = HEIGHT,
    sheet: tuple[float, float] = (130.0, 150.0),
    corner: tuple[float, float] = (17.3, 22.9),
    holes: Holes = HOLES,
) -> Path:
    """Write side-1.pdf, side-2.pdf and contents.json for one leaf a sheet, recto on side 1."""
    folder.mkdir(parents=True)
    sides: tuple[list[str], list[str]] = ([], [])
    sheets: list[dict[str, Any]] = []
    for index, leaf in enumerate(leaves):
        flat_width = width + leaf.flap_mm
        across, down = (height, flat_width) if turn % 180 else (flat_width, height)
        front = Rect(*corner, across, down)
        back = front.mirrored_x(sheet[0])
        note: dict[str, Any] = {
            "number": index + 1,
            "width_mm": sheet[0],
            "height_mm": sheet[1],
        }
        faces = (
            ("recto", leaf.recto, front, turn),
            ("verso", leaf.verso, back, turn if turn % 180 == 0 else 360 - turn),
        )
        for number, (face, page, flat, lies) in enumerate(faces, start=1):
            sides[number - 1].append(_turned(page.art, flat, lies) if page else "")
            trim = _trim(flat, width, (face == "recto") == (binding == "left"), lies)
            note[f"side_{number}"] = (
                [{"leaf": index, "face": face, "flat": flat, "trim": trim, "turned": lies}]
                if page
                else []
            )
        sheets.append(note)
    for number, drawings in enumerate(sides, start=1):
        writer = PdfWriter()
        for position, drawing in enumerate(drawings):
            svg = (
                f'<svg xmlns="http://www.w3.org/2000/svg" width="{sheet[0]}mm" '
                f'height="{sheet[1]}mm" viewBox="0 0 {sheet[0]} {sheet[1]}">{drawing}</svg>'
            )
            one = folder / f"page-{position}.pdf"
            cairosvg.svg2pdf(bytestring=svg.encode(), write_to=str(one))
            writer.append(one)
            one.unlink()
        writer.write(folder / f"side-{number}.pdf")

    def page_note(page: MadeUpPage | None, flap_mm: float) -> dict[str, Any] | None:
        if page is None:
            return None
        return {
            "label": page.label,
            "template": "made-up",
            "dates": [],
            "flap_mm": flap_mm if page.own_flap else 0.0,
        }

    contents = {
        "season": "made-up",
        "period": {
            "name": "march",
            "title": "March 2027",
            "first": "2027-03-01",
            "last": "2027-03-28",
        },
        "set": {"name": "made-up", "title": "A made-up set"},
        "language": "en-GB",
        "binding": binding,
        "binder": {"name": "small", "width_mm": width, "height_mm": height, "holes": asdict(holes)},
        "paper": {"name": "card", "width_mm": sheet[0], "height_mm": sheet[1], "media": "custom"},
        "flip": "long",
        "files": [],
        "leaves": [
            {
                "recto": page_note(leaf.recto, leaf.flap_mm),
                "verso": page_note(leaf.verso, leaf.flap_mm),
                "flap_mm": leaf.flap_mm,
            }
            for leaf in leaves
        ],
        "sheets": sheets,
    }
    (folder / "contents.json").write_text(json.dumps(contents), encoding="utf-8")
    return folder
