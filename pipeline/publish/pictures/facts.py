"""What can be said about a set to a buyer: counted from its ``contents.json`` alone."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import NamedTuple

from pydantic import BaseModel, ConfigDict, TypeAdapter, ValidationError

from pipeline.base.errors import UserError
from pipeline.plan.model import Side
from pipeline.plan.sizes import load_sizes
from pipeline.proof.read.contents import CONTENTS, Contents, read_contents


class Format(NamedTuple):
    """A binder size as buyers know it, in mm, and how many holes it has."""

    name: str
    title: str
    width_mm: float
    height_mm: float
    holes: int


class SetFacts(NamedTuple):
    """The figures of one set of one size on one paper.

    ``weeks`` are the first days of its weeks; ``flaps_mm`` the widths of its flaps, one for
    each leaf that has one. ``files`` are the kinds of files there are, such as "side-1".
    """

    title: str
    period: str
    language: str
    first: dt.date | None
    last: dt.date | None
    weeks: tuple[dt.date, ...]
    pages: int
    leaves: int
    flaps_mm: tuple[float, ...]
    spread_flaps: int
    format: Format
    paper: str
    sheets: int
    gsm: float
    files: tuple[str, ...]


class _Bench(BaseModel):
    model_config = ConfigDict(frozen=True)
    gsm: float


class _File(BaseModel):
    model_config = ConfigDict(frozen=True)
    name: str


class _More(BaseModel):
    """What a listing needs beyond what a proof reads."""

    model_config = ConfigDict(frozen=True)
    bench: _Bench
    files: tuple[_File, ...]


_MORE: TypeAdapter[_More] = TypeAdapter(_More)


def read_facts(set_folder: Path) -> SetFacts:
    """The figures of the imposed set in a folder.

    Raises ``UserError`` when the folder holds no whole ``contents.json``.
    """
    contents = read_contents(set_folder)
    path = set_folder / CONTENTS
    try:
        more = _MORE.validate_json(path.read_bytes())
    except ValidationError as error:
        first = error.errors()[0]
        field = ".".join(str(step) for step in first["loc"])
        raise UserError(f"{path}, {field}", first["msg"], "build the set again") from error
    return facts_of(contents, more.bench.gsm, tuple(Path(file.name).stem for file in more.files))


def facts_of(contents: Contents, gsm: float, files: tuple[str, ...] = ()) -> SetFacts:
    """The figures of a set whose contents have been read."""
    pages = [page for leaf in contents.leaves for page in (leaf.recto, leaf.verso) if page]
    days = sorted({day for page in pages for day in page.dates})
    weeks = sorted({page.dates[0] for page in pages if len(page.dates) == 7})
    flaps = tuple(
        leaf.flap_mm for leaf in contents.leaves if any(leaf.folds_over(face) for face in Side)
    )
    spread_flaps = max(
        (
            contents.leaves[first].folds_over(Side.VERSO)
            + contents.leaves[second].folds_over(Side.RECTO)
            for first, second in contents.spreads
        ),
        default=0,
    )
    return SetFacts(
        title=contents.set.title,
        period=contents.period.title,
        language=contents.language,
        first=days[0] if days else None,
        last=days[-1] if days else None,
        weeks=tuple(weeks),
        pages=len(pages),
        leaves=len(contents.leaves),
        flaps_mm=flaps,
        spread_flaps=spread_flaps,
        format=format_of(contents),
        paper=_title(contents.paper.name, paper=True),
        sheets=len(contents.sheets),
        gsm=gsm,
        files=files,
    )


def format_of(contents: Contents) -> Format:
    """The size of a set's binder."""
    binder = contents.binder
    return Format(
        binder.name,
        _title(binder.name),
        binder.width_mm,
        binder.height_mm,
        len(binder.holes.centres_mm),
    )


def _title(name: str, paper: bool = False) -> str:
    """What people call a size; a user's own has but its name here."""
    sizes = load_sizes(None)
    known = sizes.papers if paper else sizes.binders
    return known[name].title if name in known else name.replace("-", " ").capitalize()
