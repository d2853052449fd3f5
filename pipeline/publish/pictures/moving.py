"""The flaps opening, as a short moving picture."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator

from PIL import Image

from pipeline.proof.pictures.pictures import SetPictures
from pipeline.publish.pictures.binder import OPEN, SHUT
from pipeline.publish.pictures.views import spread_desk

SIDE_PX = 1080
"""A square as wide as phones show it (common practice)."""
OPENING = 26
"""Pictures from shut to open, both among them."""
STEP_MS, SHUT_MS, OPEN_MS = 45, 1100, 1900
"""How long a picture between, the first and the last are shown (by eye)."""
QUALITY = 82
"""Of 100 (by eye)."""

Angles = tuple[float, ...]


def angles(flaps: int, step: int) -> Angles:
    """How far each flap is open at a step of ``OPENING``, degrees; each begins after the last.

    >>> [round(degrees) for degrees in angles(2, 0)], [round(d) for d in angles(2, OPENING - 1)]
    ([5, 5], [177, 177])
    """
    lag = 0.34 if flaps > 1 else 0.0
    whole = 1 + lag * (flaps - 1)
    at = step / (OPENING - 1) * whole
    return tuple(SHUT + (OPEN - SHUT) * _eased(at - lag * number) for number in range(flaps))


def _eased(part: float) -> float:
    """From 0 to 1, slow at both ends."""
    part = max(0.0, min(1.0, part))
    return part**3 * (part * (6 * part - 15) + 10)


def frames(
    pictures: SetPictures, finish: Callable[[Image.Image], None] = lambda _: None
) -> Iterator[Image.Image]:
    """The pictures from shut to open; ``finish`` is done to each."""
    desk, binder = spread_desk(pictures, (SIDE_PX, SIDE_PX), roomy=True)
    flaps = binder.lay()
    ground = desk.image
    for step in range(OPENING):
        desk.image = ground.copy()
        for flap, degrees in zip(flaps, angles(len(flaps), step), strict=True):
            binder.fold(flap, degrees)
        picture = desk.finished()
        finish(picture)
        yield picture


def animation(
    pictures: SetPictures, finish: Callable[[Image.Image], None] = lambda _: None
) -> bytes:
    """An endless WebP: shut for a while, opening, open for a while."""
    first, *rest = frames(pictures, finish)
    lasting = [SHUT_MS, *[STEP_MS] * (OPENING - 2), OPEN_MS]
    output = io.BytesIO()
    first.save(
        output,
        "WEBP",
        save_all=True,
        append_images=rest,
        duration=lasting,
        loop=0,
        quality=QUALITY,
        method=3,
    )
    return output.getvalue()
