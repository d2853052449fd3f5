"""All shop pictures of a set, made from its finished files."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import Literal, NamedTuple

from PIL import Image

from pipeline.proof.pictures.pictures import SetPictures, open_set
from pipeline.publish.pictures.alt import MOVING, alt_text
from pipeline.publish.pictures.binder import OPEN, SHUT
from pipeline.publish.pictures.facts import format_of, read_facts
from pipeline.publish.pictures.moving import animation
from pipeline.publish.pictures.sizes import sizes
from pipeline.publish.pictures.views import close_up, fan, sheet, spread
from pipeline.publish.pictures.watermark import mark
from pipeline.publish.pictures.words import shop_words

PictureFormat = Literal["png", "jpeg"]

CROPS: Mapping[str, tuple[int, int]] = {"square": (2000, 2000), "4x5": (2000, 2500)}
"""The shapes every still picture is composed for, in pixels: shops advise 2,000 across (common
practice)."""

JPEG_QUALITY = 90
"""Of 100. No loss is seen at it (common practice)."""
_PNG_EFFORT = 3
"""Of 9. Grain hardly gets smaller with more."""

View = Callable[[tuple[int, int]], Image.Image]


class ShopPictures(NamedTuple):
    """Pictures by file name, and the text that stands for each."""

    files: Mapping[str, bytes]
    alt: Mapping[str, str]


def shop_pictures(
    set_folder: Path,
    *,
    siblings: Sequence[Path] = (),
    picture_format: PictureFormat = "jpeg",
    watermark: bytes | None = None,
    language: str = "",
    close_up_of: Sequence[str] = (),
    kinds: Sequence[str] = (),
) -> ShopPictures:
    """Every picture of the imposed set in a folder, each in every crop, and the moving one.

    ``siblings`` are folders of the same set in the season's other binder sizes, for the picture
    that compares them. ``watermark`` is an SVG, printed faintly on all. ``language`` is that of
    the texts, the set's own if left out. ``close_up_of`` are the templates for the close-up, of
    which the first is taken that the set has. ``kinds`` are those wanted, all if left out (see
    ``alt.SHOWN`` and ``alt.MOVING``). The same input gives the same bytes.

    Raises ``UserError`` for a folder that holds no whole imposed set, and for a watermark with
    fonts or characters that cannot be had.
    """
    facts = read_facts(set_folder)
    language = language or facts.language

    def finish(picture: Image.Image) -> None:
        if watermark is not None:
            mark(picture, watermark)

    files: dict[str, bytes] = {}
    alt: dict[str, str] = {}
    ending = "png" if picture_format == "png" else "jpg"
    with ExitStack() as stack:
        pictures = stack.enter_context(open_set(set_folder, 72.0))
        others = [stack.enter_context(open_set(folder, 72.0)) for folder in siblings]
        compared = _one_a_size([pictures, *others])
        formats = [format_of(each.contents) for each in compared]
        for kind, view in _views(pictures, compared, language, close_up_of):
            if kinds and kind not in kinds:
                continue
            for crop, size in CROPS.items():
                picture = view(size)
                finish(picture)
                name = f"{kind}-{crop}.{ending}"
                files[name] = _encoded(picture, picture_format)
                alt[name] = alt_text(kind, facts, language, formats)
        if facts.spread_flaps and (not kinds or MOVING in kinds):
            name = f"{MOVING}.webp"
            files[name] = animation(pictures, finish)
            alt[name] = alt_text(MOVING, facts, language)
    return ShopPictures(files, alt)


def _views(
    pictures: SetPictures,
    compared: Sequence[SetPictures],
    language: str,
    close_up_of: Sequence[str],
) -> Iterator[tuple[str, View]]:
    """The kinds of pictures a set has, each with what makes it at a size."""
    has_flaps = any(pictures.has_flap(n) for n in range(len(pictures.contents.spreads)))
    if has_flaps:
        yield "spread-open", lambda size: spread(pictures, size, OPEN)
        yield "spread-shut", lambda size: spread(pictures, size, SHUT)
    else:
        yield "spread", lambda size: spread(pictures, size, SHUT)
    yield "fan", lambda size: fan(pictures, size)
    yield "close-up", lambda size: close_up(pictures, size, close_up_of)
    yield "sheet", lambda size: sheet(pictures, size)
    yield "sizes", lambda size: sizes(compared, size, shop_words(language))


def _one_a_size(sets: Sequence[SetPictures]) -> list[SetPictures]:
    """The first of every binder size, the largest first."""
    by_name: dict[str, SetPictures] = {}
    for each in sets:
        by_name.setdefault(each.contents.binder.name, each)
    return sorted(
        by_name.values(),
        key=lambda each: (-each.contents.binder.height_mm, -each.contents.binder.width_mm),
    )


def _encoded(picture: Image.Image, picture_format: PictureFormat) -> bytes:
    output = io.BytesIO()
    if picture_format == "png":
        picture.save(output, "PNG", compress_level=_PNG_EFFORT)
    else:
        picture.save(output, "JPEG", quality=JPEG_QUALITY, subsampling=0, optimize=True)
    return output.getvalue()
