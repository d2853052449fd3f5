"""Three ways to turn an SVG of text into ink: ours, librsvg with Pango, and Chromium.

All three write PDF pages and pdfium turns them into pixels, so that what differs is where each
engine sets which glyph, and not how a rasteriser smooths an edge. The other two get the same font
files as we do, and no others.
"""

from __future__ import annotations

import datetime as dt
import io
import os
import subprocess
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2 as pdfium
import resvg_py
from lxml import etree
from PIL import Image

from pipeline.base.geometry import mm
from pipeline.draw import draw_set
from pipeline.fill import fill_set
from pipeline.fill.template import TemplateFile, read_template
from pipeline.plan.model import (
    Binder,
    Binding,
    Facts,
    Holes,
    Leaf,
    Page,
    Period,
    SetPlan,
    Side,
)
from pipeline.text import FontBook
from pipeline.text.fonts import Face
from pipeline.text.style import length
from tests.tools import tool

Picture = npt.NDArray[np.uint8]

WIDTH, HEIGHT = 120, 30
"""Size of a sample's page, mm."""
PIXELS_PER_MM = 8


def page(content: str) -> bytes:
    """Content as an SVG of ``WIDTH`` × ``HEIGHT`` mm, one user unit a millimetre."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="{WIDTH}mm" height="{HEIGHT}mm" viewBox="0 0 {WIDTH} {HEIGHT}">{content}</svg>'
    ).encode()


def built(svgs: Sequence[bytes], book: FontBook, language: str = "") -> bytes:
    """A PDF of templates of one size, a page each: filled, layered and drawn as builds do it."""
    files = {
        f"sample-{number}": TemplateFile(Path(f"sample-{number}.svg"), svg)
        for number, svg in enumerate(svgs)
    }
    sample = read_template(next(iter(files.values())))
    holes = Holes((), 6, 5, "made up")
    binder = Binder("sample", "a sample", sample.width_mm, sample.height_mm, holes, "made up")
    leaves = tuple(
        Leaf(Page(name, Side.RECTO, Facts("once", {}, {}, {}), name), None) for name in files
    )
    day = dt.date(2027, 3, 1)
    plan = SetPlan("s", "S", Period("p", "P", day, day), binder, Binding.LEFT, language, (), leaves)
    return draw_set(fill_set(plan, files, book), book)


def by_us(contents: Sequence[str], book: FontBook) -> list[Picture]:
    """Grey pictures of the contents as we draw them."""
    return _pictures(built([page(content) for content in contents], book))


def by_rsvg(contents: Sequence[str], book: FontBook, folder: Path) -> list[Picture]:
    """Grey pictures of the contents as librsvg (Pango) draws them; ``folder`` is for its files."""
    program = tool("rsvg-convert")
    config = font_config(book, folder)
    files = []
    for number, content in enumerate(contents):
        files.append(folder / f"sample-{number:03}.svg")
        files[-1].write_bytes(page(content))
    target = folder / "rsvg.pdf"
    subprocess.run(
        [program, "--format=pdf", f"--output={target}", *files],
        env={**os.environ, "FONTCONFIG_FILE": str(config), "PANGOCAIRO_BACKEND": "fc"},
        check=True,
        capture_output=True,
    )
    return _pictures(target.read_bytes())


def by_resvg(svg: bytes, book: FontBook, size: tuple[int, int]) -> npt.NDArray[np.int16]:
    """A drawing on white as resvg draws it in colour, ``size`` pixels wide and high."""
    faces = [str(face.path) for family in book.families for face in book.faces(family)]
    root = etree.fromstring(svg)
    if "viewBox" not in root.attrib:
        sides = (length(root.get(side), default=100.0) for side in ("width", "height"))
        root.set("viewBox", "0 0 {} {}".format(*sides))
    for side, pixels in zip(("width", "height"), size, strict=True):  # it rounds sizes to pixels
        root.set(side, str(pixels))
    drawn = resvg_py.svg_to_bytes(
        svg_string=etree.tostring(root, encoding="unicode"),
        dpi=96,
        skip_system_fonts=True,
        font_files=faces,
    )
    ink = Image.open(io.BytesIO(drawn)).convert("RGBA")  # what blends does not blend with paper
    paper = Image.new("RGBA", ink.size, "white")
    return np.asarray(Image.alpha_composite(paper, ink).convert("RGB"), dtype=np.int16)


def by_chromium(contents: Sequence[str], book: FontBook, folder: Path) -> list[Picture]:
    """Grey pictures of the contents as Chromium prints them; ``folder`` is for its files."""
    svgs = [page(content) for content in contents]
    return _pictures(printed_by_chromium(svgs, (WIDTH, HEIGHT), book, folder))


def printed_by_chromium(
    svgs: Sequence[bytes], size: tuple[float, float], book: FontBook, folder: Path
) -> bytes:
    """Drawings of one size (mm) as Chromium prints them into one PDF, a page for each.

    All are in one document: no two may have the same id. ``folder`` is for its files.
    """
    program = tool("chromium")
    body = "\n".join(svg.decode() for svg in svgs)
    (folder / "samples.html").write_text(
        "<!DOCTYPE html><html><head><meta charset='utf-8'><style>"
        + "".join(_font_face(face) for family in book.families for face in book.faces(family))
        + f"@page {{ size: {size[0]}mm {size[1]}mm; margin: 0 }} body {{ margin: 0 }}"
        "body > svg { display: block; break-after: page }"
        f"</style></head><body>{body}</body></html>",
        "utf-8",
    )
    target = folder / "chromium.pdf"
    subprocess.run(
        [
            program,
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            f"--user-data-dir={folder / 'profile'}",
            "--no-pdf-header-footer",
            "--virtual-time-budget=20000",  # until all faces are there
            f"--print-to-pdf={target}",
            (folder / "samples.html").as_uri(),
        ],
        check=True,
        capture_output=True,
        timeout=180,
    )
    return target.read_bytes()


def font_config(book: FontBook, folder: Path) -> Path:
    """A fontconfig file, written into ``folder``, that knows a book's faces and nothing else."""
    faces = [face for family in book.families for face in book.faces(family)]
    folders = "".join(f"<dir>{path}</dir>" for path in sorted({face.path.parent for face in faces}))
    config = folder / "fonts.conf"
    config.write_text(
        '<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd">'
        f"<fontconfig>{folders}<cachedir>{folder / 'cache'}</cachedir></fontconfig>",
        "utf-8",
    )
    return config


def _font_face(face: Face) -> str:
    low, high = face.weights
    stretch = "font-stretch: 62.5% 100%;" if "wdth" in face.axes else ""
    return (
        f"@font-face {{ font-family: '{face.family}'; font-weight: {low:g} {high:g}; {stretch}"
        f"font-style: {'italic' if face.italic else 'normal'}; src: url('{face.path.as_uri()}') }}"
    )


def _pictures(pdf: bytes) -> list[Picture]:
    """Grey pictures of the pages of a PDF that have the size of a sample, drawn by pdfium."""
    document = pdfium.PdfDocument(pdf)
    drawn = []
    for number in range(len(document)):
        bitmap = document[number].render(scale=PIXELS_PER_MM * mm(1))
        grey = np.asarray(bitmap.to_pil().convert("L"))
        drawn.append(grey[: HEIGHT * PIXELS_PER_MM, : WIDTH * PIXELS_PER_MM])
    return drawn
