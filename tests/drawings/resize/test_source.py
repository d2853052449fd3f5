"""Which binder, side and flap a drawing is for; guides; what goes wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree
from typer.testing import CliRunner

from pipeline.base.errors import UserError
from pipeline.cli import app
from pipeline.drawings.resize.resizing import resize_files
from pipeline.drawings.starters.starter import starter_page
from pipeline.plan.model import Side
from tests.drawings.resize.sample import SIZES, SVG, face_of, page, resized

CIRCLE = '<g id="guides"><circle cx="{}" cy="30" r="2.75"/></g>'


def holes(data: bytes) -> list[tuple[float, float]]:
    """Centres of the holes in the guides, in user units."""
    root = etree.fromstring(data)
    [guides] = root.findall(f".//{SVG}g[@id='guides']")
    return [
        (float(hole.get("cx", "0")), float(hole.get("cy", "0")))
        for hole in guides.iter(SVG + "circle")
    ]


@pytest.mark.parametrize("bleed", [3, 4.5])
@pytest.mark.parametrize("flap", [0, 42])
def test_a_page_drawn_with_bleed_keeps_it(bleed: float, flap: float) -> None:
    plain = starter_page("notes", SIZES.binder("a5"), flap, Side.VERSO).svg
    wide, high = 148 + flap + 2 * bleed, 210 + 2 * bleed
    root = etree.fromstring(plain)
    assert root.get("viewBox") == f"0 0 {wide - 2 * bleed:g} {high - 2 * bleed:g}"
    root.set("width", f"{wide}mm")
    root.set("height", f"{high}mm")
    root.set("viewBox", f"{-bleed} {-bleed} {wide} {high}")
    etree.SubElement(
        root, SVG + "rect", id="tint", x=f"{-bleed}", y=f"{-bleed}", width=f"{wide}", height="30"
    )
    to = SIZES.binder("a6")
    got = etree.fromstring(
        resized(etree.tostring(root), "a6", name="notes-verso", flap_mm=flap and 20)
    )
    width = to.width_mm + (flap and 20) + 2 * bleed
    assert got.get("width") == f"{width:g}mm"
    assert got.get("viewBox") == f"{-bleed:g} {-bleed:g} {width:g} {to.height_mm + 2 * bleed:g}"
    tint = got.find(".//*[@id='tint']")
    assert tint is not None
    assert [float(tint.get(name, "0")) for name in ("x", "y", "width")] == pytest.approx(
        [-bleed, -bleed, width], abs=0.01
    )


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("to", ["personal", "half-letter", "mini", "letter"])
def test_guides_are_the_new_binders(side: Side, to: str) -> None:
    made = starter_page("week", SIZES.binder("a5"), 42, side).svg
    flap = 20.0
    got = resized(made, to, name="page", flap_mm=flap)
    face = face_of(to, flap, side)
    expected = [pytest.approx((hole.x, hole.y), abs=0.001) for hole in face.holes]
    assert holes(got) == expected
    root = etree.fromstring(got)
    fold = root.find(".//*[@id='guide-fold']")
    assert fold is not None
    assert float(fold.get("x1", "0")) == pytest.approx(face.fold_x or 0, abs=0.001)
    assert root.get("width") == f"{face.flat.width:g}mm"


def test_a_page_resized_to_its_own_size_keeps_a_starters_guides() -> None:
    page_before = starter_page("week", SIZES.binder("a5"), 42).svg
    before, after = (
        [(each.tag, dict(each.attrib)) for each in root.findall(f"{SVG}g[@id='guides']/*")]
        for root in map(etree.fromstring, (page_before, resized(page_before, "a5", flap_mm=42)))
    )
    assert len(before) > 6
    assert after == before


def test_guides_are_drawn_where_there_were_none() -> None:
    assert len(holes(resized(page("<g/>"), "a6"))) == 6


def test_holes_tell_the_side_before_the_name_does() -> None:
    right = page(CIRCLE.format(141))
    assert holes(resized(right, "personal", name="week-recto"))[0][0] == pytest.approx(95 - 6)


def test_names_tell_the_side() -> None:
    for name, edge in (("week-left", 89), ("week-verso", 89), ("right", 6), ("a-recto-b", 6)):
        assert holes(resized(page("<g/>"), "personal", name=name))[0][0] == pytest.approx(edge)


@pytest.mark.parametrize("name", ["week", "copyright", "leftover-list"])
def test_a_page_whose_side_nothing_tells(name: str) -> None:
    with pytest.raises(UserError, match=r"nothing tells which side.*in -recto or -verso"):
        resized(page("<g/>"), "personal", name=name)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"<svg", "is broken: it breaks off here"),
        (b"<html/>", "isn't an SVG file"),
        (b'<svg xmlns="http://www.w3.org/2000/svg"/>', "has no size"),
        (page("").replace(b"210mm", b"313mm"), "no binder size is"),
        (page('<g data-keeps-to="topp"/>'), "doesn't name an edge"),
        (page('<g style="transform:rotate(5deg)"/>'), "written as CSS"),
        (page('<g transform="scale(2)" transform-origin="center"/>'), "written as CSS"),
    ],
)
def test_what_cannot_be_resized(data: bytes, said: str) -> None:
    with pytest.raises(UserError, match=said):
        resized(data, "personal")


def test_flaps() -> None:
    with pytest.raises(UserError, match="would lie on the rings"):
        resized(page("", flap_mm=42), "personal", flap_mm=90)
    with pytest.raises(UserError, match="its flap cannot be left out"):
        resized(page("", flap_mm=42), "personal", flap_mm=0)
    root = etree.fromstring(resized(page(""), "personal", flap_mm=20))
    assert root.get("width") == "115mm"  # an empty flap for a page that had none


def test_files_go_where_their_collection_keeps_the_size(tmp_path: Path) -> None:
    (tmp_path / "collection.toml").write_text(
        'title = "Mine"\n[flaps_mm.a5]\nlist-left = 42\n[flaps_mm.personal]\nlist-left = 31\n'
    )
    (tmp_path / "a5").mkdir()
    left, right = tmp_path / "a5" / "list-left.svg", tmp_path / "a5" / "list-right.svg"
    left.write_bytes(page("", flap_mm=42))
    right.write_bytes(page(""))
    said = resize_files([left, right], SIZES.binder("personal"), SIZES)
    made = tmp_path / "personal" / "list-left.svg"
    assert said == [str(made), str(made.with_name("list-right.svg"))]  # its flap is told already
    assert etree.fromstring(made.read_bytes()).get("width") == "126mm"
    with pytest.raises(UserError, match="is there already"):
        resize_files([left], SIZES.binder("personal"), SIZES)
    said = resize_files([left], SIZES.binder("a6"), SIZES, flap_mm=30)
    assert said[1:] == ["collection.toml needs:", "    [flaps_mm.a6]", "    list-left = 30"]


def test_a_file_on_its_own_gets_the_size_into_its_name(tmp_path: Path) -> None:
    left = tmp_path / "week-left.svg"
    left.write_bytes(page(""))
    assert resize_files([left], SIZES.binder("a6"), SIZES) == [str(tmp_path / "week-left-a6.svg")]


def test_pages_of_two_sizes_cannot_go_together(tmp_path: Path) -> None:
    one, other = tmp_path / "one-left.svg", tmp_path / "other-right.svg"
    one.write_bytes(page(""))
    other.write_bytes(page("", "a6"))
    with pytest.raises(UserError, match="not as high"):
        resize_files([one, other], SIZES.binder("personal"), SIZES)


def test_the_command(tmp_path: Path) -> None:
    left = tmp_path / "week-left.svg"
    left.write_bytes(page("", flap_mm=42))
    target = tmp_path / "out.svg"
    asked = ["resize", str(left), "--to", "personal", "--flap", "30", "--out", str(target)]
    done = CliRunner().invoke(app, asked)
    assert done.exit_code == 0
    said = ["collection.toml needs:", "    [flaps_mm.personal]", "    out = 30"]
    assert done.output.splitlines() == [str(target), *said]
    assert etree.fromstring(target.read_bytes()).get("width") == "125mm"
