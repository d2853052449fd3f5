"""contents.json written and read back, and what is said when it cannot be."""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.impose import BOTH, SIDE_1, SIDE_2, Flip, PrinterSettings, impose
from pipeline.impose.bench import bench
from pipeline.impose.contents import (
    SCHEMA,
    contents_json,
    contents_of,
    read_contents,
    upright,
)
from pipeline.impose.sheet import Placement, Turn
from pipeline.plan.model import Binding, Side
from pipeline.plan.sizes import Stock
from tests.impose.sample import A4, book, pages_pdf, set_of
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


def test_a_newer_file_says_so_and_one_without_a_number_is_read(tmp_path: Path) -> None:
    folder = one_leaf(tmp_path / "set")
    path = folder / "contents.json"
    data = json.loads(path.read_text())
    assert "schema_version" not in data
    assert read_contents(folder).schema_version == 1
    path.write_text(json.dumps({"schema_version": SCHEMA + 1, "leaves": "elsewhere"}))
    with pytest.raises(UserError, match=r"contents\.json: made by a newer leafset; update"):
        read_contents(folder)


def test_what_is_written_tells_the_files_as_they_are(tmp_path: Path) -> None:
    plan = set_of(((None, 42.0), (42.0, 0.0), (0.0, 42.0)))
    printer = PrinterSettings(flip=Flip.SHORT, reverse_side_2=True)
    done = impose(plan, A4, printer, pages_pdf(plan), book())
    work = bench(plan, done.sheets, Stock())
    contents = contents_of(
        "spring", plan, A4, printer, done.sheets, done.files, work,
        drawn=("one", "two"), built_from="all this",
    )  # fmt: skip
    (tmp_path / "contents.json").write_bytes(contents_json(contents))
    read = read_contents(tmp_path)
    assert [file.name for file in read.files] == [SIDE_1, SIDE_2, BOTH]
    for file in read.files:
        data = done.files[file.name]
        assert file.sha256 == hashlib.sha256(data).hexdigest()
        assert (file.bytes, file.pages) == (len(data), len(PdfReader(io.BytesIO(data)).pages))
    pages = [leaf.page(face) for leaf in read.leaves for face in Side]
    assert [page and (page.template, page.drawn) for page in pages] == [
        None,
        ("page-verso", "one"),
        ("page-recto", "two"),
        ("page-verso", ""),
        ("page-recto", ""),
        ("page-verso", ""),
    ]
    assert read.sheets[1].side_1[0].flat == pytest.approx((10, 43.5, 190, 210))
    assert (read.flip, read.reverse_side_2, read.built_from) == (Flip.SHORT, True, "all this")
    assert replace(read, bench=contents.bench, sheets=contents.sheets) == contents
    assert b"built_from" not in contents_json(replace(contents, built_from=""))


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
    assert placement.position.rect(inner) == pytest.approx(on_sheet, abs=1e-9)
