"""The paper in the season file: its weight given either way, and one line for what cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.base.errors import UserError
from pipeline.plan.season import load_season
from tests.conftest import SMALL


def season_with(folder: Path, stock: str) -> Path:
    file = folder / "small.toml"
    file.write_text(SMALL.replace("[[period]]", f"{stock}\n[[period]]", 1), "utf-8")
    return file


@pytest.mark.parametrize(
    ("stock", "gsm", "thickness"),
    [
        ("", 120.31, 0.156),
        ("[stock]\nlb_bond = 28.0", 105.27, 0.137),
        ("[stock]\ngsm = 90", 90, 0.117),
        ("[stock]\ngsm = 90\ncaliper_mm = 0.1", 90, 0.1),
        ("[stock]\ncaliper_mm = 0.15", 120.31, 0.15),
    ],
)
def test_weight_and_thickness(stock: str, gsm: float, thickness: float, tmp_path: Path) -> None:
    found = load_season(season_with(tmp_path, stock)).stock.as_stock
    assert found.gsm == pytest.approx(gsm, abs=0.01)
    assert found.thickness_mm == pytest.approx(thickness, abs=0.001)


@pytest.mark.parametrize(
    ("stock", "message"),
    [
        ("[stock]\ngsm = 90\nlb_bond = 24", r"small\.toml, line 10, stock: gives its weight twice"),
        ("[stock]\ngsm = -5", r"line 11, stock\.gsm: .*30"),
        ("[stock]\nlb_bond = 1000", r"line 11, stock\.lb_bond: .*160"),
        ("[stock]\ncaliper_mm = 15", r"line 11, stock\.caliper_mm: .*2"),
        ("[stock]\ngms = 90", r"line 11, stock\.gms: .*'gsm'"),
        ('[stock]\ngsm = "90"', r"line 11, stock\.gsm: "),
    ],
)
def test_what_cannot_be_is_said_in_one_line(stock: str, message: str, tmp_path: Path) -> None:
    with pytest.raises(UserError, match=message) as problem:
        load_season(season_with(tmp_path, stock))
    assert "\n" not in str(problem.value)
