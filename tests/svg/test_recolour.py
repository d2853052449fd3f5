"""A drawing in other colours: every way of saying a colour is found, and nothing else changes."""

from __future__ import annotations

import base64
import io
import urllib.parse

import numpy as np
import pytest
from PIL import Image

from pipeline.svg.recolour import colours_in, grey, recoloured

GREEN, BROWN, BLACK = (45, 106, 79), (138, 59, 28), (0, 0, 0)
CHANGE = ((GREEN, BROWN),)


def _svg(content: str) -> bytes:
    return f'<svg xmlns="http://www.w3.org/2000/svg">{content}</svg>'.encode()


@pytest.mark.parametrize(
    ("drawn", "becomes"),
    [
        ('<path fill="#2d6a4f"/>', 'fill="#8a3b1c"'),
        ('<path stroke="#2D6A4F"/>', 'stroke="#8a3b1c"'),
        ('<path fill="rgb(45, 106, 79)"/>', 'fill="#8a3b1c"'),
        ('<path fill="rgba(45,106,79,.5)"/>', 'fill="rgba(138,59,28,0.5)"'),
        ('<path style="stroke-width:2;fill:#2d6a4f;x:y"/>', "stroke-width:2;fill:#8a3b1c;x:y"),
        ('<path fill="hwb(153.4 17.6% 58.4%)"/>', 'fill="#8a3b1c"'),
        ('<stop stop-color="#2d6a4f"/>', 'stop-color="#8a3b1c"'),
        ("<style>.leaf{fill:#2d6a4f;}</style>", ".leaf{fill:#8a3b1c;}"),
        ('<path fill="url(#g) #2d6a4f"/>', "url(#g) #8a3b1c"),
    ],
)
def test_a_colour_is_changed_however_it_is_said(drawn: str, becomes: str) -> None:
    assert becomes in recoloured(_svg(drawn), CHANGE, greys=False).decode()
    assert GREEN in colours_in(_svg(drawn))


@pytest.mark.parametrize(
    "kept",
    ['<path fill="#2d6a50"/>', '<text id="2d6a4f">#2d6a4f</text>', '<path fill="none"/>',
     '<path fill="currentColor"/>', '<path fill="url(#green)"/>'],
)  # fmt: skip
def test_nothing_else_changes(kept: str) -> None:
    assert kept in recoloured(_svg(kept), CHANGE, greys=False).decode()


def test_what_has_no_paint_is_black_and_changes_with_black() -> None:
    page = recoloured(_svg("<path/>"), ((BLACK, BROWN),), greys=False)
    assert b'fill="#8a3b1c"' in page.split(b"<path")[0]


def test_greys_are_as_light_as_the_colours() -> None:
    # WCAG 2.2's relative luminance of the sRGB primaries: 0.2126, 0.7152 and 0.0722.
    for colour, luminance in (((255, 0, 0), 0.2126), ((0, 255, 0), 0.7152), ((0, 0, 255), 0.0722)):
        value = grey(colour)[0] / 255
        assert ((value + 0.055) / 1.055) ** 2.4 == pytest.approx(luminance, abs=0.004)
    assert b'fill="#5f5f5f"' in recoloured(_svg('<path fill="#2d6a4f"/>'), (), greys=True)


def test_embedded_pictures_change_too() -> None:
    picture = Image.new("RGB", (4, 2), GREEN)
    picture.putpixel((0, 0), (200, 10, 10))
    data = io.BytesIO()
    picture.save(data, "PNG")
    link = base64.b64encode(data.getvalue()).decode()
    drawn = _svg(f'<image href="data:image/png;base64,{link}"/>')
    new = recoloured(drawn, CHANGE, greys=False).decode()
    shown = Image.open(io.BytesIO(base64.b64decode(new.split("base64,")[1].split('"')[0])))
    pixels = np.asarray(shown.convert("RGB"))
    assert tuple(pixels[1, 3]) == BROWN
    assert tuple(pixels[0, 0]) == (200, 10, 10)


def test_embedded_drawings_change_too() -> None:
    inner = _svg('<path fill="#2d6a4f"/>')
    for link in (
        "data:image/svg+xml;base64," + base64.b64encode(inner).decode(),
        "data:image/svg+xml," + urllib.parse.quote(inner),
    ):
        drawn = _svg(f'<image href="{link}"/>')
        assert GREEN in colours_in(drawn)
        new = recoloured(drawn, CHANGE, greys=False).decode()
        shown = base64.b64decode(new.split("base64,")[1].split('"')[0])
        assert b'fill="#8a3b1c"' in shown
        assert b"2d6a4f" not in shown


def test_what_is_no_svg_has_no_colours() -> None:
    assert colours_in(b"<svg><path") == frozenset()
