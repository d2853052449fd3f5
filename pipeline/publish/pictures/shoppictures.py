"""The pictures of a set for a shop, still and moving, and the folder they go into with its listing.

An entry in a shop is a set in one size and language, whatever paper it is printed on.
"""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, NamedTuple

from PIL import Image

from pipeline.base.cache import key_of
from pipeline.base.errors import UserError
from pipeline.base.folders import whole_folder
from pipeline.proof.approval.fingerprints import edition_digest
from pipeline.proof.pictures.pictures import SetPictures, open_set
from pipeline.publish.pictures.listing import (
    MOVING,
    alt_text,
    format_of,
    listing,
    read_facts,
    shop_words,
)
from pipeline.publish.pictures.openbinder import OPEN, SHUT
from pipeline.publish.pictures.views import (
    close_up,
    fan,
    print_on,
    rendered,
    sheet,
    sizes,
    spread,
    spread_table,
)
from pipeline.publish.zips import own_name

SHOP, LISTING, ALT = "shop", "listing.md", "alt-texts.json"
_INPUTS = ".made-from"
"""The file beside pictures and listing with a digest of all that went into them."""

PictureFormat = Literal["png", "jpeg"]

CROPS: Mapping[str, tuple[int, int]] = {"square": (2000, 2000), "4x5": (2000, 2500)}
"""The shapes every still picture is composed for, in pixels: shops advise 2,000 across (common
practice)."""

JPEG_QUALITY = 90
"""Of 100. No loss is seen at it (common practice)."""
_PNG_EFFORT = 3
"""Of 9. Grain hardly gets smaller with more."""

_MOVING_PX = 1080
"""A square as wide as phones show it (common practice)."""
OPENING = 26
"""Pictures from shut to open, both among them."""
_STEP_MS, _SHUT_MS, _OPEN_MS = 45, 1100, 1900
"""How long a picture between, the first and the last are shown (by eye)."""
_WEBP_QUALITY = 82
"""Of 100 (by eye)."""

WATERMARK = "watermark.svg"
_MARK_STRENGTH = 0.42
"""How much of the mark's own colour is printed: seen when looked for."""
_MARK_WIDTH = 0.125
"""The mark's width, of the picture's."""
_MARK_MARGIN = 0.028
"""From the picture's edges, of its width (by eye)."""

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
    ``listing.SHOWN`` and ``listing.MOVING``). The same input gives the same bytes.

    Raises ``UserError`` for a folder that holds no whole imposed set, and for a watermark with
    missing fonts or characters.
    """
    facts = read_facts(set_folder)
    language = language or facts.language

    def finish(picture: Image.Image) -> None:
        if watermark is not None:
            _mark(picture, watermark)

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
    """The kinds of pictures a set has, each with a function that draws it at a size."""
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


def angles(flaps: int, step: int) -> tuple[float, ...]:
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


def _frames(
    pictures: SetPictures, finish: Callable[[Image.Image], None] = lambda _: None
) -> Iterator[Image.Image]:
    """The pictures from shut to open; ``finish`` is done to each."""
    table, binder = spread_table(pictures, (_MOVING_PX, _MOVING_PX), roomy=True)
    flaps = binder.lay()
    ground = table.image
    for step in range(OPENING):
        table.image = ground.copy()
        for flap, degrees in zip(flaps, angles(len(flaps), step), strict=True):
            binder.fold(flap, degrees)
        picture = table.finished()
        finish(picture)
        yield picture


def animation(
    pictures: SetPictures, finish: Callable[[Image.Image], None] = lambda _: None
) -> bytes:
    """An endless WebP: shut for a while, opening, open for a while."""
    first, *rest = _frames(pictures, finish)
    lasting = [_SHUT_MS, *[_STEP_MS] * (OPENING - 2), _OPEN_MS]
    output = io.BytesIO()
    options = {"duration": lasting, "loop": 0, "quality": _WEBP_QUALITY, "method": 3}
    first.save(output, "WEBP", save_all=True, append_images=rest, **options)
    return output.getvalue()


def read_watermark(collection: Path) -> bytes:
    """The mark in a collection's folder. Raises ``UserError`` when it has none."""
    path = collection / WATERMARK
    try:
        return path.read_bytes()
    except OSError as error:
        raise UserError(
            str(path),
            "no such file, and the season wants a watermark on its pictures",
            "draw one, or write watermark = false under [pictures]",
        ) from error


def _mark(picture: Image.Image, svg: bytes) -> None:
    """Print the mark into the lower right corner of a picture."""
    drawing = rendered(svg, round(picture.width * _MARK_WIDTH), "", WATERMARK)
    margin = round(picture.width * _MARK_MARGIN)
    corner = (picture.width - margin - drawing.width, picture.height - margin - drawing.height)
    print_on(picture, drawing, corner, _MARK_STRENGTH)


def product_name(period: str, name: str, size: str, language: str) -> str:
    """The name of one entry in a shop: a set in one size and language, whatever its paper.

    >>> product_name("march", "running", "a5", "en-GB")
    'march-running-a5-en-gb'
    """
    return "-".join((period, name, size, language)).lower()


@dataclass(frozen=True)
class ShopJob:
    """An entry in a shop, pictures and listing, to be written into ``target``.

    ``editions`` are the built folders of the set on each paper it is published for, ``siblings``
    those of the same set in the other sizes, ``included`` the files buyers get.
    """

    name: str
    target: Path
    editions: tuple[Path, ...]
    siblings: tuple[Path, ...]
    included: tuple[str, ...]
    picture_format: PictureFormat
    watermark: bytes | None
    close_up_of: tuple[str, ...] = ()


@dataclass(frozen=True)
class ShopEntry:
    """What became of an entry: ``why`` says what went wrong, and is empty if all is well."""

    name: str
    why: str = ""


def write_entry(job: ShopJob) -> ShopEntry:
    """Writes a set's pictures and listing, unless the same are there. Raises nothing."""
    try:
        inputs = _inputs_of(job)
        if not _is_there(job.target, inputs):
            _write(job, inputs)
    except UserError as problem:
        return ShopEntry(job.name, str(problem))
    return ShopEntry(job.name)


def _inputs_of(job: ShopJob) -> str:
    digests = [edition_digest(folder) for folder in (*job.editions, *job.siblings)]
    return key_of(digests, job.included, job.picture_format, job.watermark, job.close_up_of)


def _is_there(target: Path, inputs: str) -> bool:
    try:
        texts = json.loads((target / ALT).read_text("utf-8"))
        same = (target / _INPUTS).read_text() == inputs
    except (OSError, ValueError):
        return False
    return same and all((target / name).is_file() for name in (*texts, LISTING))


def _write(job: ShopJob, inputs: str) -> None:
    pictures = shop_pictures(
        job.editions[0],
        siblings=job.siblings,
        picture_format=job.picture_format,
        watermark=job.watermark,
        close_up_of=job.close_up_of,
    )
    facts = [read_facts(folder) for folder in job.editions]
    text = listing(facts, included=_kinds(job.included))
    with whole_folder(job.target) as new:
        for name, data in pictures.files.items():
            (new / name).write_bytes(data)
        alt = json.dumps(dict(pictures.alt), indent=1, ensure_ascii=False) + "\n"
        (new / ALT).write_text(alt, "utf-8")
        (new / LISTING).write_text(text, "utf-8")
        (new / _INPUTS).write_text(inputs)


_ORDER = ("directions", "feed-test", "side-1", "side-2", "side-2-reversed", "both-sides", "licence")
"""What buyers need first comes first; what is in there for machines is left out."""


def _kinds(files: Sequence[str]) -> list[str]:
    """Names of files as the listing speaks of them.

    >>> _kinds(["3+4-both-sides.pdf", "contents.json", "1-directions.pdf"])
    ['directions', 'both-sides']
    """
    there = {Path(own_name(file)).stem for file in files}
    return [kind for kind in _ORDER if kind in there]
