"""Ink, measured on pages whose darkness is known."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.draw import draw
from pipeline.impose.contents import read_contents
from pipeline.impose.sheet import Placement, Sheet
from pipeline.plan.model import Facts, Leaf, Page, Side
from pipeline.proof.read.raster import mean_ink, opened, side_inks
from tests.conftest import Demo
from tests.impose.sample import book


def pages(*bodies: str) -> bytes:
    """Pages of 100 × 100 mm."""
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
    return draw([f'{head}viewBox="0 0 100 100">{b}</svg>'.encode() for b in bodies], book())


def table(
    *templates: tuple[str | None, str | None],
) -> tuple[tuple[Sheet, ...], tuple[Leaf, ...]]:
    """Sheets with one leaf each, and leaves of these templates on recto and verso."""

    def page(template: str | None, face: Side) -> Page | None:
        return Page(template, face, Facts("week"), "") if template else None

    def side(leaf: int, face: Side) -> tuple[Placement, ...]:
        area = Rect(0, 0, 100, 100)
        return (Placement(leaf, face, area, area),)

    sheets = tuple(
        Sheet(n + 1, 100, 100, side(n, Side.RECTO), side(n, Side.VERSO))
        for n in range(len(templates))
    )
    leaves = tuple(Leaf(page(one, Side.RECTO), page(two, Side.VERSO)) for one, two in templates)
    return sheets, leaves


def written(folder: Path, *bodies: str) -> Path:
    file = folder / "both-sides.pdf"
    file.write_bytes(pages(*bodies))
    return file


def test_known_areas_of_ink(tmp_path: Path) -> None:
    quarter = '<rect width="50" height="50"/>'
    grey = '<rect width="100" height="100" fill="#808080"/>'
    line = '<path d="M0 50H100" stroke="#000" stroke-width=".3"/>'
    file = written(tmp_path, quarter, grey, "", line)
    inks = side_inks(file, *table(("a", "b"), (None, "c")))
    assert [(ink.sheet, ink.side) for ink in inks] == [(1, 1), (1, 2), (2, 1), (2, 2)]
    assert [ink.percent for ink in inks] == [
        pytest.approx(25, abs=0.2),
        pytest.approx(100 * 127 / 255, abs=0.5),
        pytest.approx(0, abs=0.001),
        pytest.approx(0.3, abs=0.02),
    ]
    assert mean_ink(inks) == pytest.approx(sum(ink.percent for ink in inks) / 4)


def test_sides_of_the_same_templates_are_measured_once(tmp_path: Path) -> None:
    dark, light = '<rect width="100" height="60"/>', '<rect width="100" height="20"/>'
    file = written(tmp_path, dark, light, light, light)
    inks = side_inks(file, *table(("week", "list"), ("week", "list")))
    assert [round(ink.percent) for ink in inks] == [60, 20, 60, 20]


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no such file"):
        side_inks(tmp_path / "both-sides.pdf", *table(("a", "b")))


@pytest.mark.parametrize("name", ["running", "two-flap-sowing"])
def test_the_demo_s_ink_is_what_a_finer_raster_says_of_every_side(name: str, demo: Demo) -> None:
    """Sides that were not measured themselves too; at three times as many pixels an inch."""
    folder = demo.folder("april", name, "a4")
    ink = read_contents(folder).bench.ink
    assert ink is not None
    with opened(folder / "both-sides.pdf") as document:
        assert len(ink.sides) == len(document)
        for entry, page in zip(ink.sides, document, strict=True):
            greys = page.render(scale=600 / 72, grayscale=True).to_numpy()
            finer = 100 * (1 - greys.mean() / 255)
            assert entry.percent == pytest.approx(finer, rel=0.08, abs=0.02)
    mean = sum(entry.percent for entry in ink.sides) / len(ink.sides)
    assert ink.mean_percent == pytest.approx(mean, abs=0.01)
