"""The pictures of a set for a shop, still and moving, and the folder they go into with its listing.

An entry in a shop is a set in one size and language, whatever paper it is printed on.
"""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from types import MappingProxyType
from typing import Literal, NamedTuple

import numpy as np
import numpy.typing as npt
from PIL import Image

from pipeline.base.cache import key_of
from pipeline.base.errors import UserError
from pipeline.base.folders import whole_folder, write_files
from pipeline.impose.contents import edition_digest
from pipeline.plan.collection import PROPS, WATERMARK
from pipeline.plan.model import Colours
from pipeline.plan.season import Pictures, Publish
from pipeline.proof.pictures.pictures import SetPictures, open_set
from pipeline.publish.pictures.handwriting import Hand, WrittenPictures
from pipeline.publish.pictures.listing import (
    MOVING,
    Listing,
    alt_text,
    format_of,
    is_printed,
    listing,
    read_facts,
    shop_words,
)
from pipeline.publish.pictures.openbinder import OPEN, SHUT
from pipeline.publish.pictures.scenery import PLAIN, Scenery, scenery_of
from pipeline.publish.pictures.titlecard import title_card
from pipeline.publish.pictures.views import (
    are_flaps_drawn_outside,
    close_up,
    close_ups,
    fan,
    lettering_book,
    print_on,
    rendered,
    sheet,
    sizes,
    spread,
    spread_table,
)
from pipeline.publish.zips import MB, zipped
from pipeline.svg.recolour import recoloured
from pipeline.text.fonts import Faces, FontBook

SHOP, LISTING, ALT = "shop", "listing", "alt-texts.json"
TAGS, ALL_PICTURES = "tags.txt", "all-pictures.zip"
"""The folder of all listings, and in one's own: its text but for the ending, its alt texts."""
FORMS = ("md", "txt", "html")
"""The forms a listing's text comes in, by their endings."""
_INPUTS = ".made-from"
"""The file beside pictures and listing with digests of all that went into them."""

PictureFormat = Literal["png", "jpeg"]

CROPS: Mapping[str, tuple[int, int]] = {"square": (2000, 2000), "4x5": (2000, 2500)}
"""The shapes every still picture is composed for, in pixels: shops advise 2,000 across (common
practice)."""

JPEG_QUALITY = (90, 84, 76, 66)
"""Of 100. No loss is seen at the first (common practice); the next where a file would be too
big."""

CLOSE_UP = "close-up"

_FINER = 2
"""How many times finer pages are drawn before they are averaged (see ``area_picture``)."""

OPENING = 20
"""Pictures from shut to open, both among them."""


View = Callable[[tuple[int, int]], Image.Image]


class ShopPictures(NamedTuple):
    """Pictures by file name, the text that stands for each, and small ones for the release page.

    ``written`` says that something is written on a page in them.
    """

    files: Mapping[str, bytes]
    alt: Mapping[str, str]
    small: Mapping[str, bytes]
    written: bool


SMALL_PX = 480
"""How large a small picture is: twice what the release page shows of it, for fine screens."""


def small_name(name: str) -> str:
    """The file of a picture's small one, in the folder of its listing, out of the way there.

    >>> small_name("title-card-square.jpg"), small_name("flaps-opening.webp")
    ('.small/title-card-square.jpg', '.small/flaps-opening.jpg')
    """
    return f".small/{name.rpartition('.')[0]}.jpg"


def _small(picture: Image.Image) -> bytes:
    output = io.BytesIO()
    small = picture.resize((SMALL_PX, SMALL_PX), Image.Resampling.BOX, reducing_gap=2.0)
    small.save(output, "JPEG", quality=82)
    return output.getvalue()


def shop_pictures(
    set_folder: Path,
    *,
    siblings: Sequence[Path] = (),
    picture_format: PictureFormat = "jpeg",
    watermark: bytes | None = None,
    language: str = "",
    close_up_of: Sequence[str] = (),
    faces: Faces | None = None,
    kinds: Sequence[str] = (),
    moving: Sequence[str] = ("webp",),
    limits: Publish | None = None,
    written: Mapping[str, Sequence[Sequence[str]]] = MappingProxyType({}),
    drawn: Mapping[str, bytes] = MappingProxyType({}),
    props: Sequence[bytes] = (),
    papers: Sequence[str] | None = None,
    theme: str = "",
    turn: int = 0,
    arrangement: int = 0,
    called: Mapping[str, str] = MappingProxyType({}),
) -> ShopPictures:
    """Every picture of the imposed set in a folder, each in every crop, and the moving one.

    ``siblings`` are folders of the same set in the season's other binder sizes, for the picture
    that compares them. ``watermark`` is an SVG, printed faintly on all. ``language`` is that of
    the texts, the set's own if left out. ``close_up_of`` are the templates for the close-up, of
    which the first is taken that the set has. ``faces`` are those of the set's collection, which
    its title card and mark are lettered in. ``kinds`` are those wanted, all if left out (see
    ``listing.SHOWN`` and ``listing.MOVING``; "spread" stands for all spreads). ``moving`` are the
    formats of the moving one. ``written`` is what somebody wrote on the pages in use (see
    ``Collection.written``), ``drawn`` what was drawn there (``Collection.drawn_by_hand``),
    ``props`` drawings of things to lie beside them. ``papers`` are what all papers are called
    that it is sold on, its own if left out; ``theme`` is what the collection is called, ``called``
    what its templates are; each ``turn`` has the next ground, each ``arrangement`` pages and things
    that lie another way. What is over the ``limits`` is made smaller, as far as that goes.
    The same input gives the same bytes.

    Raises ``UserError`` for a folder that holds no whole imposed set, for a watermark with
    missing fonts or characters, for more pictures than the limits allow and for one too big.
    """
    facts, limits = read_facts(set_folder), limits or Publish()
    papers = [facts.paper] if papers is None else papers
    language = language or facts.contents.language

    files: dict[str, bytes] = {}
    alt: dict[str, str] = {}
    small: dict[str, bytes] = {}
    with ExitStack() as stack:
        pictures = stack.enter_context(open_set(set_folder, 72.0, _FINER))
        others = [stack.enter_context(open_set(folder, 72.0, _FINER)) for folder in siblings]
        # The first of every binder size, the largest first.
        by_size = {each.contents.binder.name: each for each in (*reversed(others), pictures)}
        compared = sorted(by_size.values(), key=_size, reverse=True)
        formats = [format_of(each.contents) for each in compared]
        book = lettering_book(faces)
        has_pen = bool(written or props)
        scenery = scenery_of(
            pictures.contents, props, pen=has_pen, turn=turn, arrangement=arrangement
        )
        hand = Hand(written, language, drawn)
        used = WrittenPictures(pictures, hand)
        views: dict[str, View] = {}
        views["title-card"] = lambda size: title_card(
            pictures, size, book, scenery, papers, close_up_of, theme
        )
        if any(pictures.has_flap(n) for n in range(len(pictures.contents.spreads))):
            views["spread-open"] = lambda size: spread(used, size, OPEN, scenery)
            if are_flaps_drawn_outside(pictures):
                views["spread-shut"] = lambda size: spread(used, size, SHUT, scenery)
        else:
            views["spread"] = lambda size: spread(used, size, SHUT, scenery)
        views["fan"] = lambda size: fan(pictures, size, scenery)
        shown = close_ups(pictures, close_up_of, scenery) or [""]
        names = [called.get(template, template.replace("-", " ")) for template in shown]
        pages: dict[str, str] = {}
        for number, (template, page) in enumerate(zip(shown, names, strict=True)):
            kind = f"{CLOSE_UP}-{number + 1}" if number else CLOSE_UP
            same = names[:number].count(page)
            pages[kind] = f"{page} ({same + 1})" if same else page
            views[kind] = partial(_close_up, used, template, scenery)
        views["sheet"] = lambda size: sheet(pictures, size, scenery)
        words = shop_words(language)
        views["sizes"] = lambda size: sizes(compared, size, words, scenery)
        views = {kind: view for kind, view in views.items() if _is_asked(kind, kinds)}
        moves = facts.spread_flaps > 0 and _is_asked(MOVING, kinds)
        _not_too_many([*views, *([MOVING] if moves else [])], limits.pictures)
        for kind, view in views.items():
            for crop, size in _crops(limits).items():
                picture = view(size)
                if kind not in pages:  # it shows a page and no table
                    _mark([picture], watermark, book)
                name = f"{kind}-{crop}.{'png' if picture_format == 'png' else 'jpg'}"
                files[name] = _still(picture, name, limits.picture_mb)
                said = CLOSE_UP if kind in pages else kind
                alt[name] = alt_text(said, facts, language, formats, pages.get(kind, ""))
                if size[0] == size[1]:
                    small[small_name(name)] = _small(picture)
        if moves:
            frames = opening(used, scenery)
            _mark(frames, watermark, book)
            for ending in moving:
                name = f"{MOVING}.{ending}"
                files[name] = _animated(frames, name, limits.picture_mb)
                alt[name] = alt_text(MOVING, facts, language)
                small[small_name(name)] = _small(frames[OPENING // 2])
    return ShopPictures(files, alt, small, hand.has_written)


def _is_asked(kind: str, kinds: Sequence[str]) -> bool:
    """Whether a kind is among those wanted."""
    return not kinds or any(kind == one or kind.startswith(f"{one}-") for one in kinds)


def _close_up(
    pictures: SetPictures, template: str, scenery: Scenery, size: tuple[int, int]
) -> Image.Image:
    return close_up(pictures, size, [template] if template else [], scenery)


def _not_too_many(kinds: Sequence[str], most: int | None) -> None:
    """Raises ``UserError`` when a listing would have more pictures than the season allows."""
    if most is not None and len(kinds) > most:
        raise UserError(
            "publish, pictures",
            f"there would be {len(kinds)} pictures ({', '.join(kinds)}) and a listing may have"
            f" {most}",
            "name those you want in kinds under [pictures], or raise publish.pictures",
        )


def _crops(limits: Publish) -> Mapping[str, tuple[int, int]]:
    """The shapes of still pictures, as large as a picture may be."""
    if limits.picture_px is None:
        return CROPS
    part = min(1.0, limits.picture_px / max(max(size) for size in CROPS.values()))
    return {crop: (round(x * part), round(y * part)) for crop, (x, y) in CROPS.items()}


def _still(picture: Image.Image, name: str, most_mb: float | None) -> bytes:
    """A picture as a file, of the best quality that isn't too big."""
    if name.endswith(".png"):
        output = io.BytesIO()
        # Of 9: grain hardly gets smaller with more.
        picture.save(output, "PNG", compress_level=3)
        return _not_too_big(output.getvalue(), name, most_mb)
    for quality in JPEG_QUALITY:
        output = io.BytesIO()
        picture.save(output, "JPEG", quality=quality, subsampling=0, optimize=True)
        if most_mb is None or len(output.getvalue()) <= most_mb * MB:
            break
    return _not_too_big(output.getvalue(), name, most_mb)


def _not_too_big(data: bytes, name: str, most_mb: float | None) -> bytes:
    """The file itself. Raises ``UserError`` when it is bigger than the season allows."""
    if most_mb is not None and len(data) > most_mb * MB:
        raise UserError(
            f"publish, picture_mb, {name}",
            f"has {len(data) / MB:.1f} MB and a picture may have {most_mb:g}",
            "lower publish.picture_px, or raise publish.picture_mb",
        )
    return data


def _size(pictures: SetPictures) -> tuple[float, float]:
    return pictures.contents.binder.height_mm, pictures.contents.binder.width_mm


def angles(flaps: int, step: int) -> tuple[float, ...]:
    """How far each flap is open at a step of ``OPENING``, degrees; each begins after the last.

    >>> [round(degrees) for degrees in angles(2, 0)], [round(d) for d in angles(2, OPENING - 1)]
    ([2, 2], [178, 178])
    """
    lag = 0.34 if flaps > 1 else 0.0
    whole = 1 + lag * (flaps - 1)
    at = step / (OPENING - 1) * whole
    return tuple(SHUT + (OPEN - SHUT) * _eased(at - lag * number) for number in range(flaps))


def _eased(part: float) -> float:
    """From 0 to 1, slow at both ends."""
    part = max(0.0, min(1.0, part))
    return part**3 * (part * (6 * part - 15) + 10)


def opening(pictures: SetPictures, scenery: Scenery = PLAIN) -> list[Image.Image]:
    """The flaps of the main spread from shut to open."""
    # A square as wide as phones show it (common practice).
    table, binder = spread_table(pictures, (1080, 1080), True, scenery)
    flaps = binder.lay()
    ground = table.image
    frames = []
    for step in range(OPENING):
        table.images[0] = ground.copy()
        for flap, degrees in zip(flaps, angles(len(flaps), step), strict=True):
            binder.fold(flap, degrees)
        frames.append(table.image)
    return frames


def _animated(frames: Sequence[Image.Image], name: str, most_mb: float | None = None) -> bytes:
    """An endless moving picture: shut for a while, opening, open for a while."""
    # How long each is shown, ms, and the quality, of 100, are chosen by eye.
    lasting = [1100, *[58] * (len(frames) - 2), 1900]
    output = io.BytesIO()
    if name.endswith(".gif"):
        # A GIF has 256 colours: without grain and at a part of the size it stays small.
        lasting = [1100, *[116] * (len(frames[::2]) - 1), 1900]
        small = [_for_gif(frame) for frame in (*frames[::2], frames[-1])]
        colours = small[-1].quantize(255, Image.Quantize.MEDIANCUT)
        flat = [frame.quantize(palette=colours, dither=Image.Dither.NONE) for frame in small]
        options = {"duration": lasting, "loop": 0, "optimize": False, "disposal": 1}
        flat[0].save(output, "GIF", save_all=True, append_images=flat[1:], **options)
    else:
        options = {"duration": lasting, "loop": 0, "quality": 80, "method": 1}
        frames[0].save(output, "WEBP", save_all=True, append_images=frames[1:], **options)
    return _not_too_big(output.getvalue(), name, most_mb)


def _for_gif(frame: Image.Image) -> Image.Image:
    return frame.resize((720, 720), Image.Resampling.LANCZOS)


def read_watermark(collection: Path, colours: Colours | None = None) -> bytes:
    """The mark in a collection's folder, in other colours if asked. Raises ``UserError`` when it
    has none."""
    path = collection / WATERMARK
    try:
        data = path.read_bytes()
        return data if colours is None else recoloured(data, colours.change, greys=colours.greys)
    except OSError as error:
        raise UserError(
            str(path),
            "no such file, and the season wants a watermark on its pictures",
            "draw one, or write watermark = false under [pictures]",
        ) from error


def read_props(collection: Path, colours: Colours | None = None) -> tuple[bytes, ...]:
    """The things drawn in a collection's folder, in other colours if asked; may be none."""
    drawings = [path.read_bytes() for path in sorted((collection / PROPS).glob("*.svg"))]
    if colours is None:
        return tuple(drawings)
    return tuple(recoloured(data, colours.change, greys=colours.greys) for data in drawings)


def _mark(pictures: Sequence[Image.Image], svg: bytes | None, book: FontBook) -> None:
    """Print the mark on pictures of one scene: on the table in the lower right corner, in the lower
    left one where a page or a thing lies there, else nowhere. Sizes by eye."""
    if svg is None:
        return
    width, height = pictures[0].size
    drawing = rendered(svg, round(width * 0.125), "", WATERMARK, book)
    margin = round(width * 0.028)
    low = height - margin - drawing.height
    unlike = [_off_ground(one) for one in pictures]
    for place in ((width - margin - drawing.width, low), (margin, low)):
        if all(_worst(one, place, drawing.size) <= _OFF for one in unlike):
            for picture in pictures:
                print_on(picture, drawing, place, 0.84)
            return


_OFF = 14.0
"""How far a place on the bare table is from the colour of its edges at most, of 255."""


_COARSE = 8
"""A pixel of so many across is enough to tell a page from the table."""


def _off_ground(picture: Image.Image) -> npt.NDArray[np.float32]:
    """How unlike the ground each place is: the ground is the colour most of the rim has."""
    small = np.asarray(picture.convert("RGB").reduce(_COARSE), np.float32)
    rim = np.concatenate([small[0], small[-1], small[:, 0], small[:, -1]])
    unlike: npt.NDArray[np.float32] = np.abs(small - np.median(rim, axis=0)).max(axis=2)
    return unlike


def _worst(
    unlike: npt.NDArray[np.float32], corner: tuple[int, int], size: tuple[int, int]
) -> float:
    """How unlike the ground the worst fiftieth of a place is, by ``_off_ground``."""
    (left, right), (top, bottom) = (
        (start // _COARSE, (start + more) // _COARSE + 1)
        for start, more in zip(corner, size, strict=True)
    )
    return float(np.percentile(unlike[top:bottom, left:right], 98))


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
    those of the same set in the other sizes, ``included`` the files buyers get, by their
    own names. ``asked`` and ``limits`` are the season's, ``lead`` the first sentence, if given, and
    ``theme`` what the collection is called, ``called`` what its templates are. By its ``turn``
    a set has another ground than others, by its ``arrangement`` other places of pages and things.
    """

    name: str
    target: Path
    editions: tuple[Path, ...]
    siblings: tuple[Path, ...]
    included: tuple[str, ...]
    asked: Pictures
    limits: Publish
    watermark: bytes | None
    lead: str = ""
    theme: str = ""
    turn: int = 0
    arrangement: int = 0
    called: Mapping[str, str] = field(default_factory=dict)
    written: Mapping[str, Sequence[Sequence[str]]] = field(default_factory=dict)
    drawn: Mapping[str, bytes] = field(default_factory=dict)
    props: tuple[bytes, ...] = ()
    close_up_of: tuple[str, ...] = ()
    faces: Faces | None = None


@dataclass(frozen=True)
class ShopEntry:
    """What became of an entry: ``why`` says what went wrong, and is empty if all is well."""

    name: str
    why: str = ""


def write_entry(job: ShopJob) -> ShopEntry:
    """Writes a set's pictures and listing, unless the same are there. Raises nothing."""
    try:
        digests = [edition_digest(folder) for folder in (*job.editions, *job.siblings)]
        settings = job.asked.model_dump_json(), job.limits.model_dump_json()
        things = dict(job.written), dict(job.drawn), *job.props
        told = job.theme, job.turn, job.arrangement, dict(job.called)
        asked = (job.included, *settings, job.watermark, *told, job.close_up_of, *things)
        inputs = key_of(digests, *asked, job.faces.key if job.faces else "")
        kept = _kept(job.target)
        if kept != _Kept(inputs, key_of(job.lead), kept.written):
            _write(job, inputs, _pictures_in(job.target) if kept.pictures == inputs else None)
    except UserError as problem:
        return ShopEntry(job.name, str(problem))
    return ShopEntry(job.name)


class _Kept(NamedTuple):
    """Digests of what pictures and the words beside them are made of, and whether somebody wrote on
    pages in them."""

    pictures: str = ""
    words: str = ""
    written: bool = False


def _kept(target: Path) -> _Kept:
    """What an entry that is there whole was made of."""
    try:
        texts = json.loads((target / ALT).read_text("utf-8"))
        kept = _Kept(*json.loads((target / _INPUTS).read_text("utf-8")))
        whole = all((target / name).stat().st_size for name in (*_FILES, *texts))
    except (OSError, TypeError, ValueError):
        return _Kept()
    return kept if whole else _Kept()


def begins_with(target: Path, lead: str) -> bool:
    """Whether an entry was made with this first sentence of the maker's, or isn't there whole."""
    return _kept(target).words in ("", key_of(lead))


def _pictures_in(target: Path) -> ShopPictures:
    """The pictures of an entry that is there whole."""
    alt = json.loads((target / ALT).read_text("utf-8"))
    files = {name: (target / name).read_bytes() for name in alt}
    names = {name for name in map(small_name, alt) if (target / name).is_file()}
    small = {name: (target / name).read_bytes() for name in names}
    return ShopPictures(files, alt, small, _kept(target).written)


_FILES = (*(f"{LISTING}.{ending}" for ending in FORMS), TAGS, ALL_PICTURES)

_NO_TIME = "1980-01-01T00:00:00Z"
"""The first that a zip can hold: the maker's own zip is as old as its pictures are alike."""


def _write(job: ShopJob, inputs: str, made: ShopPictures | None) -> None:
    there = {Path(file).stem for file in job.included}
    kinds = [kind for kind in _ORDER if kind in there]
    facts = [read_facts(folder) for folder in job.editions]
    told_by = partial(
        listing, facts, included=kinds, lead=job.lead, theme=job.theme, limits=job.limits
    )
    # Told before the pictures, which take a while; what they show adds no more than a few words.
    _not_too_long(told_by(), job.limits)
    made = made or shop_pictures(
        job.editions[0],
        siblings=job.siblings,
        picture_format=job.asked.format,
        watermark=job.watermark,
        close_up_of=job.close_up_of,
        faces=job.faces,
        kinds=job.asked.kinds,
        moving=job.asked.moving,
        limits=job.limits,
        written=job.written,
        drawn=job.drawn,
        props=job.props,
        papers=list(dict.fromkeys(each.paper for each in facts)) if is_printed(kinds) else [],
        theme=job.theme,
        turn=job.turn,
        arrangement=job.arrangement,
        called=job.called,
    )
    text = told_by(written=made.written)
    _not_too_long(text, job.limits)
    alt = json.dumps(dict(made.alt), indent=1, ensure_ascii=False) + "\n"
    kept = json.dumps(_Kept(inputs, key_of(job.lead), made.written)).encode()
    files = {**made.files, **made.small, ALT: alt.encode(), _INPUTS: kept}
    forms = (text.markdown(), text.plain_text(), text.html(), ", ".join(text.tags) + "\n")
    told = {name: form.encode() for name, form in zip(_FILES, forms, strict=False)}
    files |= {**told, ALL_PICTURES: zipped(job.name, made.files, _NO_TIME)}
    with whole_folder(job.target) as new:
        write_files(new, files)


def _not_too_long(text: Listing, limits: Publish) -> None:
    """Raises ``UserError`` for a title or a text with more letters than the season allows."""
    for limit, said, what, remedy in (
        ("title_letters", text.title, "title", "give the set a shorter title"),
        ("text_letters", text.plain_text(), "text", "shorten its lead"),
    ):
        most = getattr(limits, limit)
        if most is not None and len(said) > most:
            raise UserError(
                f"publish, {limit}",
                f"the listing's {what} has {len(said)} letters and may have {most}",
                f"{remedy}, or raise publish.{limit}",
            )


_ORDER = (
    *("directions", "feed-test", "side-1", "side-2", "side-2-reversed", "both-sides"),
    *("hole-gauge", "screen", "licence"),
)
"""Files as the listing speaks of them: what buyers need first comes first; what is in there for
machines is left out."""
