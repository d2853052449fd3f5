"""A printer, a camera and a scanner that misbehave, by Pillow and numpy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
from PIL import Image, ImageFilter

DPI = 300
PER_MM = DPI / 25.4


@dataclass(frozen=True)
class Bad:
    """How a printer prints: scale, askew clockwise, and off to the right and down."""

    scale: float = 1.0
    askew_deg: float = 0.0
    off_mm: tuple[float, float] = (0.0, 0.0)


def printed(pdf: Path, page: int, printer: Bad) -> Image.Image:
    """A page as it comes out of a printer, on its own paper, at ``DPI``."""
    document = pdfium.PdfDocument(pdf)
    one = document[page - 1]
    width, height = (round(side / 72 * DPI) for side in one.get_size())
    drawn = one.render(scale=DPI / 72, grayscale=True).to_pil().resize((width, height))
    # Pillow asks from where each pixel comes: the inverse of scaling and turning about the middle.
    angle = np.radians(printer.askew_deg)
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    back = turn / printer.scale
    middle = np.array([width, height]) / 2
    off = np.array(printer.off_mm) * PER_MM
    shift = middle - back @ (middle + off)
    matrix = (*back[0], shift[0], *back[1], shift[1])
    paper: Image.Image = drawn.transform(
        (width, height), Image.Transform.AFFINE, matrix, Image.Resampling.BICUBIC, fillcolor=255
    )
    return paper


def photographed(
    paper: Image.Image,
    corners: Sequence[tuple[float, float]],
    size: tuple[int, int],
    *,
    blur: float = 1.0,
    noise: float = 4.0,
    uneven: float = 0.35,
    desk: int = 70,
    seed: int = 0,
) -> Image.Image:
    """A phone's picture: the sheet's corners (clockwise from its top left) in a picture ``size``.

    Drawn twice as fine and made smaller, as a lens gathers light.
    """
    chance = np.random.default_rng(seed)
    fine = 2
    wide, high = size[0] * fine, size[1] * fine
    source = [(0, 0), (paper.width, 0), (paper.width, paper.height), (0, paper.height)]
    rows, right = [], []
    for (u, v), (x, y) in zip([(a * fine, b * fine) for a, b in corners], source, strict=True):
        rows += [[u, v, 1, 0, 0, 0, -x * u, -x * v], [0, 0, 0, u, v, 1, -y * u, -y * v]]
        right += [x, y]
    way = np.linalg.solve(np.array(rows, float), np.array(right, float))
    soft = paper.filter(ImageFilter.GaussianBlur(0.8))
    framed = Image.new("L", (paper.width + 200, paper.height + 200), desk)
    framed.paste(soft, (100, 100))
    # Moved by the frame: x + 100 w, y + 100 w.
    a, b, c, d, e, f, g, h = way
    moved = (a + 100 * g, b + 100 * h, c + 100, d + 100 * g, e + 100 * h, f + 100, g, h)
    seen = framed.transform(
        (wide, high),
        Image.Transform.PERSPECTIVE,
        tuple(moved),
        Image.Resampling.BICUBIC,
        fillcolor=desk,
    ).reduce(fine)
    light = np.asarray(seen.filter(ImageFilter.GaussianBlur(blur)), float)
    across, down = np.meshgrid(np.linspace(0, 1, size[0]), np.linspace(0, 1, size[1]))
    light *= 1 - uneven * (0.6 * across + 0.4 * down**2)
    light = 0.9 * light + 8 + chance.normal(0, noise, light.shape)
    return Image.fromarray(np.clip(light, 0, 255).astype(np.uint8))


def scanned(paper: Image.Image, dpi: int) -> Image.Image:
    """A flatbed scanner's picture of the glass, with a white lid: the edges don't show."""
    size = (round(paper.width * dpi / DPI), round(paper.height * dpi / DPI))
    glass = Image.new("L", (size[0] + 60, size[1] + 90), 255)
    glass.paste(paper.resize(size, Image.Resampling.LANCZOS), (5, 8))
    noise = np.random.default_rng(3).normal(-4, 2, (glass.height, glass.width))
    return Image.fromarray(np.clip(np.asarray(glass, float) + noise, 0, 255).astype(np.uint8))


def lit(picture: Image.Image, light: float) -> Image.Image:
    """The same in so much of the light."""
    return picture.point(lambda level: level * light)


def saved(picture: Image.Image, to: Path) -> Path:
    """A picture in a file, as a phone compresses it."""
    picture.save(to, quality=88)
    return to
