"""What goes into the shop's window: pictures, a text for each, and the listing.

Made once for a set in one size and language, whatever paper it is printed on.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.base.cache import key_of
from pipeline.base.errors import UserError
from pipeline.base.folders import whole_folder
from pipeline.proof.approval.fingerprints import edition_digest
from pipeline.publish.filenames import own_name
from pipeline.publish.pictures import listing, read_facts, shop_pictures
from pipeline.publish.pictures.making import PictureFormat

SHOP, LISTING, ALT = "shop", "listing.md", "alt-texts.json"
MADE_FROM = ".made-from"


def product_name(period: str, name: str, size: str, language: str) -> str:
    """What is one thing in a shop's window goes by: a set in one size and language.

    >>> product_name("march", "running", "a5", "en-GB")
    'march-running-a5-en-gb'
    """
    return "-".join((period, name, size, language)).lower()


@dataclass(frozen=True)
class ShopJob:
    """Pictures and listing to be made into ``target``.

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
class ShopMade:
    """Whether pictures and listing are there, and if not, why."""

    name: str
    made: bool
    why: str = ""


def dress(job: ShopJob) -> ShopMade:
    """Makes a set's pictures and listing, unless the same are there. Raises nothing."""
    try:
        made_from = _made_from(job)
        if _is_there(job.target, made_from):
            return ShopMade(job.name, False)
        _write(job, made_from)
    except UserError as problem:
        return ShopMade(job.name, False, str(problem))
    return ShopMade(job.name, True)


def _made_from(job: ShopJob) -> str:
    digests = [edition_digest(folder) for folder in (*job.editions, *job.siblings)]
    return key_of(digests, job.included, job.picture_format, job.watermark, job.close_up_of)


def _is_there(target: Path, made_from: str) -> bool:
    try:
        texts = json.loads((target / ALT).read_text("utf-8"))
        same = (target / MADE_FROM).read_text() == made_from
    except (OSError, ValueError):
        return False
    return same and all((target / name).is_file() for name in (*texts, LISTING))


def _write(job: ShopJob, made_from: str) -> None:
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
        (new / MADE_FROM).write_text(made_from)


_ORDER = ("directions", "feed-test", "side-1", "side-2", "side-2-reversed", "both-sides", "licence")
"""What buyers need first comes first; what is in there for machines is not spoken of."""


def _kinds(files: Sequence[str]) -> list[str]:
    """Names of files as the listing speaks of them.

    >>> _kinds(["3+4-both-sides.pdf", "contents.json", "1-directions.pdf"])
    ['directions', 'both-sides']
    """
    there = {Path(own_name(file)).stem for file in files}
    return [kind for kind in _ORDER if kind in there]
