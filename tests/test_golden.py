"""Golden pictures of the demo: every template, one sheet a set and paper, and spreads.

The tolerance is stated in ``pipeline.proof.compare``. ``make golden`` renews what has changed.
"""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import pytest

from pipeline.plan.model import Side
from pipeline.proof.pictures.pictures import open_set
from pipeline.proof.pictures.proofs import contact_sheet
from tests.app.test_garden_line import PAGES
from tests.conftest import Demo, Golden

PAGE_DPI, SHEET_DPI, SPREAD_DPI = 90.0, 75.0, 60.0
OPENING_DPI = 75.0
"""The wreath and the outside of a flap are full of fine lines."""

SETS = ("two-flap-sowing", "two-flap-list", "running")


def first_faces(folder: Path) -> dict[str, tuple[int, Side]]:
    """For each template of a set the first leaf and face it is on."""
    leaves = json.loads((folder / "contents.json").read_text("utf-8"))["leaves"]
    faces: dict[str, tuple[int, Side]] = {}
    for (number, leaf), face in itertools.product(enumerate(leaves), Side):
        if leaf[face.value]:
            faces.setdefault(leaf[face.value]["template"], (number, face))
    return faces


TEMPLATES = {
    ("march", "two-flap-sowing"): [
        "opening",
        "week-two-flap-verso",
        "week-two-flap-recto",
        "sowing-list",
        "bed-plan",
        "closing",
    ],
    ("march", "two-flap-list"): ["plain-list", "notes"],
    ("march", "running"): ["week-running-verso", "week-running-recto"],
    ("undated", "plant-record"): ["plant-record", "plant-record-ruled"],
}


def test_every_template_of_the_collection_is_shown() -> None:
    drawn = Path(__file__).parent.parent / "templates_svg" / "kitchen_garden" / "a5"
    shown = {name for names in TEMPLATES.values() for name in names}
    line = {name for names in PAGES.values() for name in names}
    on_shut_flaps = {"flap-outside-verso", "flap-outside-recto"}  # see test_spreads
    assert shown | line | on_shut_flaps == {path.stem for path in drawn.glob("*.svg")}


@pytest.mark.parametrize(
    ("where", "template"),
    [(where, name) for where, names in TEMPLATES.items() for name in names],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_pages(where: tuple[str, str], template: str, demo: Demo, golden: Golden) -> None:
    folder = demo.folder(*where, "a4")
    with open_set(folder, OPENING_DPI if template == "opening" else PAGE_DPI) as pictures:
        leaf, face = first_faces(folder)[template]
        golden(f"pages/{template}", pictures.face(leaf, face))


def test_the_opening_page_of_a_quarter(demo: Demo, golden: Golden) -> None:
    with open_set(demo.folder("quarter", "running", "a4"), OPENING_DPI) as pictures:
        golden("pages/opening-quarter", pictures.face(0, Side.RECTO))


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", [*SETS, "plant-record"])
def test_sheets(name: str, paper: str, demo: Demo, golden: Golden) -> None:
    period = "undated" if name == "plant-record" else "april"
    with open_set(demo.folder(period, name, paper), SHEET_DPI) as pictures:
        golden(f"sheets/{name}-{paper}-side-1", pictures.side(1, 1))
        golden(f"sheets/{name}-{paper}-side-2", pictures.side(1, 2))


@pytest.mark.parametrize("name", SETS)
def test_spreads(name: str, demo: Demo, golden: Golden) -> None:
    """The week from 29 March to 4 April: the first of April."""
    with open_set(demo.folder("april", name, "a4"), SPREAD_DPI) as pictures:
        golden(f"spreads/{name}-flaps-open", pictures.spread(0))
        golden(f"spreads/{name}-flaps-shut", pictures.spread(0, shut=True))
        if name != "running":
            golden(f"spreads/{name}-between", pictures.spread(-1 if name == SETS[0] else 1))


def test_contact_sheet(demo: Demo, golden: Golden) -> None:
    with open_set(demo.folder("march", "running", "a4"), SPREAD_DPI) as pictures:
        golden("spreads/running-contact-sheet", contact_sheet(pictures).reduce(2))
