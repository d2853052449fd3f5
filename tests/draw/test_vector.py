"""Artwork written directly looks as another SVG engine draws it; anything beyond it is declined."""

from __future__ import annotations

import io
import subprocess
import zlib
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfWriter

from pipeline.base.geometry import pt
from pipeline.draw.forms import form_from, place
from pipeline.draw.vector import vector_art
from pipeline.svg.path import path_data
from tests.tools import tool

PEN = 'fill="none" stroke="#284" stroke-width="1.5"'


def svg(content: str) -> bytes:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" '
        f'viewBox="0 0 80 60">{content}</svg>'
    ).encode()


def picture(pdf: bytes) -> np.ndarray:
    bitmap = pdfium.PdfDocument(pdf)[0].render(scale=3)
    return np.asarray(bitmap.to_pil().convert("RGB"), dtype=int)


def direct(page: bytes) -> bytes:
    art = vector_art(page)
    assert art is not None
    writer = PdfWriter()
    sheet = writer.add_blank_page(pt(80), pt(60))
    size = (pt(80), pt(60))
    place(sheet, writer, [("", form_from(writer, art.content, size, art.opacities))])
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


PLAIN = {
    "curves": f'<path d="M5 5c10 0 10 20 20 20s10-20 20-20Q60 5 60 20T75 40z" {PEN}/>',
    "shorthand": '<path d="M10,10h20v20H10V10m40 0l10-5 10 5-10 20z" fill="#a63"/>',
    "arcs": f'<path d="M10 30a10 6 30 0 1 20 0 10 6 30 1 0 20 5A0 5 0 0 0 60 50" {PEN}/>',
    "numbers": f'<path d="M1e1.5.5-.5l10 10-5.5.25e1" {PEN}/>',
    "shapes": (
        f'<rect x="5" y="5" width="20" height="12" rx="3" {PEN}/><circle cx="50" cy="15" r="9"/>'
        f'<ellipse cx="20" cy="42" rx="14" ry="7" fill="teal"/><line x1="40" y1="30" x2="75" '
        f'y2="55" {PEN}/><polyline points="45,50 55,32 65,50" {PEN}/>'
        f'<polygon points="66 30 76 30 71 44" fill="#c9c"/>'
    ),
    "pens": (
        f'<g {PEN}><path d="M10 10L40 10 10 20" stroke-linejoin="round" stroke-linecap="round"/>'
        f'<path d="M10 30L40 30 10 34"/><path d="M10 50H70" stroke-dasharray="4 2 1" '
        f'stroke-dashoffset="2"/><path d="M50 10h20" stroke-linecap="square" stroke-width="4"/></g>'
    ),
    "transforms": (
        f'<g transform="translate(40 30) rotate(30) scale(1.5 .8)"><g transform="skewX(20)">'
        f'<rect x="-10" y="-10" width="20" height="20" {PEN}/></g></g><circle r="4" fill="red"/>'
    ),
    "colours": (
        '<g fill="#f00" color="#0a0"><circle cx="10" cy="10" r="8" fill-opacity=".5"/>'
        '<circle cx="18" cy="10" r="8" fill="currentColor" opacity=".5"/>'
        '<g fill="rgb(0,0,255)"><circle cx="40" cy="10" r="8"/></g>'
        '<circle cx="60" cy="10" r="8"/><circle cx="60" cy="40" r="8" visibility="hidden"/></g>'
    ),
    "holes": '<path fill-rule="evenodd" d="M5 5h50v40H5zM15 15h20v20H15z"/>',
    "fill and stroke": '<path d="M10 10h30v30z" stroke="#284" stroke-width="1.5" fill="#fc0"/>',
    "fill under a half-clear stroke": (
        '<path d="M10 10h30v30z" stroke="#024" stroke-opacity=".5" stroke-width="9" fill="#fc0"/>'
        '<path d="M45 10h30v40h-30zm9 9h12v22h-12z" stroke="rgba(200,0,0,.4)" stroke-width="7" '
        'fill="#060" fill-opacity=".6" fill-rule="evenodd"/>'
    ),
}


@pytest.mark.parametrize("content", PLAIN.values(), ids=PLAIN)
def test_plain_artwork_looks_the_same(content: str, tmp_path: Path) -> None:
    page = svg(content)
    (tmp_path / "page.svg").write_bytes(page)
    subprocess.run(
        [tool("rsvg-convert"), "-f", "pdf", "-o", tmp_path / "page.pdf", tmp_path / "page.svg"],
        check=True,
    )
    expected = picture((tmp_path / "page.pdf").read_bytes())
    ink = (expected < 250).any(axis=2).sum()
    assert ink > 500
    difference = np.abs(picture(direct(page)) - expected).max(axis=2)
    # Edges may differ where an outline is rounded otherwise: a few pixels, by a few levels.
    assert difference.max() <= 40
    assert (difference > 8).sum() <= 0.004 * ink


@pytest.mark.parametrize(
    ("stroke", "painted"),
    [
        ('stroke="#284"', ["B"]),
        ('stroke="#284" fill-opacity=".5"', ["B"]),
        ('stroke="#284" stroke-opacity=".5"', ["f", "S"]),
        ('stroke="rgba(0,80,0,.5)" fill-rule="evenodd"', ["f*", "S"]),
    ],
)
def test_fill_and_stroke_are_one_operator_only_where_the_stroke_is_solid(
    stroke: str, painted: list[str]
) -> None:
    """Readers differ in whether the fill shows through the stroke of one ``B`` operator."""
    art = vector_art(svg(f'<path d="M10 10h30v30z" fill="#fc0" {stroke}/>'))
    assert art is not None
    words = zlib.decompress(art.content).decode().split()
    assert [word for word in words if word in ("B", "B*", "f", "f*", "S")] == painted


def test_no_opacity_is_below_nothing_or_above_all() -> None:
    drawing = '<circle r="5" fill-opacity="-1" stroke="#284" stroke-opacity="7"/>'
    art = vector_art(svg(drawing))
    assert art is not None
    assert list(art.opacities.values()) == [(0, 1)]


@pytest.mark.parametrize(
    "content",
    [
        '<g opacity=".5"><circle r="5"/><circle r="4"/></g>',
        '<circle r="5" stroke="#284" fill="red" opacity=".5"/>',
        '<defs><clipPath id="c"><circle r="9"/></clipPath></defs><circle r="5" />',
        '<circle r="5" clip-path="url(#c)"/>',
        '<circle r="5" fill="url(#g)"/>',
        '<use href="#x"/>',
        '<image width="5" height="5"/>',
        '<circle r="5" mask="url(#m)"/>',
        f'<path d="M1 1h9" {PEN} marker-end="url(#m)"/>',
        '<circle r="5" style="mix-blend-mode:multiply"/>',
        "<text>a</text>",
        '<svg viewBox="0 0 1 1"><circle r="5"/></svg>',
    ],
)
def test_anything_else_is_left_to_cairosvg(content: str) -> None:
    assert vector_art(svg(content)) is None


FIELD = st.floats(-99, 99).map(lambda value: round(value, 2))


@settings(deadline=None)
@given(st.lists(st.tuples(st.sampled_from("LlCcQqSsTt"), st.lists(FIELD, min_size=6, max_size=6))))
def test_relative_and_absolute_say_the_same(steps: list[tuple[str, list[float]]]) -> None:
    """Each step written relatively gives the same points as written absolutely."""
    count = {"L": 2, "C": 6, "Q": 4, "S": 4, "T": 2}
    relative = absolute = "M10 20"
    x, y = 10.0, 20.0
    for command, numbers in steps:
        kind, used = command.upper(), numbers[: count[command.upper()]]
        relative += kind.lower() + " ".join(map(str, used))
        shifted = [value + (y if place % 2 else x) for place, value in enumerate(used)]
        absolute += kind + " ".join(map(repr, shifted))
        x, y = shifted[-2:]
    one, other = path_data(relative), path_data(absolute)
    assert one.operators == other.operators
    assert one.coordinates == pytest.approx(other.coordinates, abs=1e-6)


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from("MmLlHhVvCcSs"), st.lists(FIELD, min_size=6, max_size=6))),
    st.sampled_from((" ", ",", " ,", "")),
)
def test_numbers_may_be_parted_in_any_way(
    steps: list[tuple[str, list[float]]], parted: str
) -> None:
    """The judge is fontTools' own reader of path data."""
    count = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4}
    written = "M5 5"
    for command, numbers in steps:
        words = [f"{number:.2f}" for number in numbers[: count[command.upper()]]]
        signed = [word if parted or word[0] == "-" else f"+{word}" for word in words]
        written += command + parted.join(signed)
    pen = RecordingPen()
    parse_path(written, pen)
    points = [point for _, drawn in pen.value for point in drawn]
    mine = path_data(written)
    assert mine.coordinates == pytest.approx([value for point in points for value in point])
    names = {"moveTo": "M", "lineTo": "L", "curveTo": "C", "endPath": ""}
    assert mine.operators == "".join(names[name] for name, _ in pen.value)
