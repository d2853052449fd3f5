"""Artwork keeps its proportions and its corner; frames and rules are drawn out."""

from __future__ import annotations

import math

import pytest
from lxml import etree

from pipeline.base.geometry import Rect
from pipeline.drawings.resize.points import path_text, subpaths
from pipeline.svg.path import path_data
from pipeline.svg.tree import page_matrix
from tests.drawings.resize.sample import SVG, face_of, page, read, rect, resized


def path_boxes(data: bytes) -> dict[str, Rect]:
    """The boxes around paths with an id, mm."""
    boxes = {}
    for element in read(data).root.iter(SVG + "path"):
        hull = path_data(element.get("d") or "").hull
        if element.get("id") and hull:
            boxes[element.get("id", "")] = page_matrix(element).bounds(hull)
    return boxes


def blob(x: float, y: float, width: float, height: float) -> str:
    """A closed curve that fills a box."""
    right, bottom = x + width, y + height
    return f"M{x} {y}C{right} {y} {right} {bottom} {right} {bottom}C{x} {bottom} {x} {y} {x} {y}z"


@pytest.mark.parametrize(
    ("x", "y", "edges"),
    [(116, 6, ("right", "top")), (14, 174, ("left", "bottom")), (114, 176, ("right", "bottom"))],
)
def test_a_picture_keeps_its_proportions_and_its_corner(
    x: float, y: float, edges: tuple[str, str]
) -> None:
    old, new = face_of("a5").safe, face_of("personal").safe
    box = Rect(x, y, 26, 30)
    got = path_boxes(resized(page(f'<path id="sprig" d="{blob(*box)}"/>'), "personal"))["sprig"]
    assert got.width / got.height == pytest.approx(26 / 30, rel=0.01)
    assert 0.55 < got.width / 26 <= 1
    near = {
        "left": got.x - new.x - (box.x - old.x),
        "right": got.right - new.right - (box.right - old.right),
        "top": got.y - new.y - (box.y - old.y),
        "bottom": got.bottom - new.bottom - (box.bottom - old.bottom),
    }
    assert [near[edge] for edge in edges] == pytest.approx([0, 0], abs=1)


def test_pieces_of_one_picture_stay_together() -> None:
    """Leaves of a sprig that are elements of their own are moved as one."""
    leaves = "".join(
        f'<g fill="none"><path id="leaf{n}" d="{blob(60 + 8 * n, 100 + 5 * n, 8, 5)}"/></g>'
        for n in range(5)
    )
    got = path_boxes(resized(page(leaves), "personal"))
    first = got["leaf0"]
    for n in range(1, 5):
        leaf = got[f"leaf{n}"]
        assert leaf.width == pytest.approx(first.width, abs=0.02)
        assert leaf.x == pytest.approx(first.x + n * first.width, abs=0.05)
        assert leaf.y == pytest.approx(first.y + n * first.height, abs=0.05)


def test_parts_of_one_path_go_their_own_ways() -> None:
    """An editor joins what is drawn with one pen; things far apart in it still part."""
    d = blob(16, 10, 4, 4) + blob(138, 10, 4, 4)
    got = path_boxes(resized(page(f'<path id="two" d="{d}"/>'), "personal"))["two"]
    new = face_of("personal").safe
    assert got.x == pytest.approx(new.x + 16 - face_of("a5").safe.x, abs=0.6)
    assert got.right == pytest.approx(new.right - 3, abs=0.1)
    assert got.height == pytest.approx(4, abs=0.05)


def test_a_drawn_rule_gets_shorter_but_no_thinner() -> None:
    d = "M14 40c40 .3 80-.3 128 .2c-40 .2-80 .1-128-.2z"
    got = path_boxes(resized(page(f'<path id="rule" d="{d}"/>'), "personal"))["rule"]
    before = path_boxes(page(f'<path id="rule" d="{d}"/>'))["rule"]
    assert got.width == pytest.approx(face_of("personal").safe.width - 2.25 - 3, abs=0.05)
    assert got.height == pytest.approx(before.height, abs=0.02)


def test_a_frame_stays_around_its_box() -> None:
    """Four wavy planks and their posts, an area to be ruled inside them."""
    planks = [(20, 41, 108, 3), (20, 171, 108, 3), (16, 45, 3, 125), (129, 45, 3, 125)]
    posts = [(16, 41, 3.8, 3.8), (128.2, 41, 3.8, 3.8), (16, 170.2, 3.8, 3.8)]
    posts.append((128.2, 170.2, 3.8, 3.8))
    art = "".join(
        f'<path id="p{n}" fill="none" d="{blob(*box)}"/>' for n, box in enumerate(planks + posts)
    )
    area = rect("dots-5mm", Rect(21.5, 47.5, 105, 120), stroke="#888888")
    got = path_boxes(resized(page(art + area), "personal"))
    assert [got[f"p{n}"].height for n in (0, 1)] == pytest.approx([3, 3], abs=0.05)
    assert [got[f"p{n}"].width for n in (2, 3)] == pytest.approx([3, 3], abs=0.05)
    for n in range(4, 8):
        assert (got[f"p{n}"].width, got[f"p{n}"].height) == pytest.approx((3.8, 3.8), abs=0.02)
    assert got["p5"].right == pytest.approx(got["p3"].right, abs=0.1)
    assert got["p7"].bottom == pytest.approx(got["p1"].bottom, abs=0.3)
    assert got["p0"].x - got["p4"].right == pytest.approx(0.15, abs=0.1)


def test_an_oval_is_no_frame() -> None:
    """Four curves whose control points lie on the sides of their box."""
    d = "M86 60c27.6 0 50 22.4 50 50s-22.4 50-50 50s-50-22.4-50-50s22.4-50 50-50z"
    got = path_boxes(resized(page(f'<path id="oval" d="{d}"/>'), "personal"))["oval"]
    assert got.width == pytest.approx(got.height, abs=0.05)


def test_what_stands_in_a_wreath_goes_with_it() -> None:
    leaves = "".join(
        blob(78 + 40 * math.cos(a / 8) - 3, 80 + 40 * math.sin(a / 8) - 3, 6, 6) for a in range(51)
    )
    text = '<text id="title" x="78" y="82" text-anchor="middle" font-size="6">Plums</text>'
    data = page(f'<path id="wreath" d="{leaves}"/>{text}')
    made = resized(data, "personal")
    wreath = path_boxes(made)["wreath"]
    title = next(read(made).root.iter(SVG + "text"))
    x, y = float(title.get("x", "0")), float(title.get("y", "0"))
    assert x == pytest.approx(wreath.x + wreath.width / 2, abs=0.2)
    assert y == pytest.approx(wreath.y + wreath.height * (82 - 37) / 86, abs=0.2)
    assert wreath.width == pytest.approx(wreath.height, abs=0.1)


def test_images_and_what_is_clipped_are_moved_whole() -> None:
    content = (
        '<defs><clipPath id="c"><rect x="0" y="0" width="30" height="30"/></clipPath></defs>'
        f'<g id="cut" clip-path="url(#c)"><path id="inner" d="{blob(0, 0, 40, 40)}"/></g>'
        '<image id="photo" x="100" y="20" width="40" height="30" href="data:image/png;base64,"/>'
    )
    root = etree.fromstring(resized(page(content), "personal"))
    clip = root.find(f".//{SVG}clipPath/{SVG}rect")
    assert clip is not None
    assert [clip.get(name) for name in ("x", "y", "width", "height")] == ["0", "0", "30", "30"]
    inner = root.find(f".//{SVG}path")
    assert inner is not None
    assert inner.get("d") == blob(0, 0, 40, 40)
    for name in ("cut", "photo"):
        [element] = root.findall(f".//*[@id='{name}']")
        assert (element.get("transform") or "").startswith("matrix(")


def test_path_data_survives_being_written() -> None:
    d = "M10 10h5v5h-5zm20 0c1 2 3 4 5 6s4 4 6 2M50.123 60.456A5 5 0 0 1 60 60z"
    again = path_text(subpaths(d), 3)
    before, after = path_data(d), path_data(again)
    assert after.operators == before.operators
    assert after.coordinates == pytest.approx(before.coordinates, abs=0.001)
