"""Ink, measured on pages whose darkness is known."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from pipeline.base.errors import UserError
from pipeline.draw import draw
from pipeline.proof.read.coverage import mean_ink, side_inks
from pipeline.proof.read.raster import opened
from tests.conftest import Demo
from tests.impose.sample import book


def pages(*bodies: str) -> bytes:
    """Pages of 100 × 100 mm."""
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
    return draw([f'{head}viewBox="0 0 100 100">{b}</svg>'.encode() for b in bodies], book())


def table(*templates: tuple[str | None, str | None]) -> dict[str, Any]:
    """Contents of sheets with one leaf each, of these templates on recto and verso."""

    def page(template: str | None) -> dict[str, Any] | None:
        return {"template": template} if template else None

    def side(leaf: int, face: str) -> list[dict[str, Any]]:
        return [{"leaf": leaf, "face": face, "flat": [0.0, 0.0, 100.0, 100.0]}]

    return {
        "leaves": [{"recto": page(recto), "verso": page(verso)} for recto, verso in templates],
        "sheets": [
            {"number": n + 1, "side_1": side(n, "recto"), "side_2": side(n, "verso")}
            for n in range(len(templates))
        ],
    }


def written(folder: Path, *bodies: str) -> Path:
    file = folder / "both-sides.pdf"
    file.write_bytes(pages(*bodies))
    return file


def test_known_areas_of_ink(tmp_path: Path) -> None:
    quarter = '<rect width="50" height="50"/>'
    grey = '<rect width="100" height="100" fill="#808080"/>'
    line = '<path d="M0 50H100" stroke="#000" stroke-width=".3"/>'
    file = written(tmp_path, quarter, grey, "", line)
    inks = side_inks(file, table(("a", "b"), (None, "c")))
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
    inks = side_inks(file, table(("week", "list"), ("week", "list")))
    assert [round(ink.percent) for ink in inks] == [60, 20, 60, 20]


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no such file"):
        side_inks(tmp_path / "both-sides.pdf", table(("a", "b")))


@pytest.mark.parametrize("name", ["running", "two-flap-sowing"])
def test_the_demo_s_ink_is_what_a_finer_raster_says_of_every_side(name: str, demo: Demo) -> None:
    """Sides that were not measured themselves too; at three times as many pixels an inch."""
    folder = demo.folder("april", name, "a4")
    told = json.loads((folder / "contents.json").read_text("utf-8"))["bench"]["ink"]
    with opened(folder / "both-sides.pdf") as document:
        assert len(told["sides"]) == len(document)
        for entry, page in zip(told["sides"], document, strict=True):
            greys = page.render(scale=600 / 72, grayscale=True).to_numpy()
            finer = 100 * (1 - greys.mean() / 255)
            assert entry["percent"] == pytest.approx(finer, rel=0.08, abs=0.02)
    mean = sum(entry["percent"] for entry in told["sides"]) / len(told["sides"])
    assert told["mean_percent"] == pytest.approx(mean, abs=0.01)
