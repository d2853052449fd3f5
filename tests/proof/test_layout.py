"""contents.json read back, and what is said when it cannot be."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.plan.model import Binding, Side
from pipeline.proof.read.contents import Placement, read_contents, upright
from pipeline.proof.read.raster import Turn
from tests.proof.made_up import FLAP, HEIGHT, WIDTH, MadeUpLeaf, MadeUpPage, make_set


def one_leaf(folder: Path) -> Path:
    return make_set(
        folder, [MadeUpLeaf(MadeUpPage("", "opening"), MadeUpPage("", "W09", True), FLAP)]
    )


def test_contents_come_back_as_values(tmp_path: Path) -> None:
    contents = read_contents(one_leaf(tmp_path / "set"))
    assert contents.binding is Binding.LEFT
    assert contents.period.first == dt.date(2027, 3, 1)
    assert contents.binder.holes.centres_mm == (20.0, 60.0)
    placed = contents.find(0, Side.VERSO)
    assert placed is not None
    assert (placed.sheet, placed.side) == (0, 2)
    assert placed.placement.flat.width == WIDTH + FLAP
    assert placed.placement.trim == Rect(130 - 17.3 - WIDTH, 22.9, WIDTH, HEIGHT)
    assert contents.find(1, Side.RECTO) is None
    leaf = contents.leaves[0]
    assert (leaf.folds_over(Side.RECTO), leaf.folds_over(Side.VERSO)) == (False, True)


def test_a_folder_without_contents_is_named(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"contents\.json: cannot be read; .*[Bb]uild it again"):
        read_contents(tmp_path)


def test_a_wrong_field_is_named(tmp_path: Path) -> None:
    folder = one_leaf(tmp_path / "set")
    path = folder / "contents.json"
    data = json.loads(path.read_text())
    data["sheets"][0]["side_1"][0]["turned"] = 45
    path.write_text(json.dumps(data))
    with pytest.raises(UserError, match=r"contents\.json, sheets\.0\.side_1\.0\.turned: "):
        read_contents(folder)
    path.write_text("{")
    with pytest.raises(UserError, match=r"contents\.json: Invalid JSON"):
        read_contents(folder)


@given(
    st.sampled_from([0, 90, 180, 270]),
    st.floats(0, 100),
    st.floats(0, 100),
    st.tuples(st.floats(0, 40), st.floats(0, 60), st.floats(0, 20), st.floats(0, 20)),
)
def test_upright_undoes_every_turn(
    turned: Turn, x: float, y: float, box: tuple[float, float, float, float]
) -> None:
    width, height = 60.0, 80.0
    across, down = (height, width) if turned % 180 else (width, height)
    flat = Rect(x, y, across, down)
    inner = Rect(*box)
    # Turning a leaf by 90° clockwise takes the point (a, b) to (height - b, a).
    points = [(inner.x, inner.y), (inner.right, inner.bottom)]
    w, h = width, height
    for _ in range(turned // 90):
        points = [(h - b, a) for a, b in points]
        w, h = h, w
    xs, ys = zip(*points, strict=True)
    on_sheet = Rect(x + min(xs), y + min(ys), max(xs) - min(xs), max(ys) - min(ys))
    placement = Placement(0, Side.RECTO, flat, flat, turned)
    assert upright(on_sheet, placement) == pytest.approx(inner, abs=1e-9)
