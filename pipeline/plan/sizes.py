"""Binder and paper sizes, the program's and the user's own over them; how heavy paper is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Annotated, Any, TypeVar

from pydantic import AfterValidator, Field

from pipeline.base.errors import UserError, did_you_mean
from pipeline.base.folders import safe_name
from pipeline.base.geometry import MM_PER_INCH
from pipeline.plan.model import Binder, Holes, Paper
from pipeline.plan.tomlfile import TomlFile, TomlTable, read_toml

LIMIT_MM = 2000.0
"""The longest side of a leaf or sheet: beyond it lies a slipped decimal point. From memory."""

USERS_OWN = "user's sizes.toml"
"""The source of a value the user gives without saying where it comes from."""

BULK_CM3_PER_G = 1.3
"""Room a gram of uncoated paper takes up; thickness in µm is bulk times g/m². From memory."""

USUAL_LB_BOND = 32.0
"""Common practice for inserts: 28 to 32 lb, 105 to 120 g/m²."""

Length = Annotated[float, Field(gt=0, le=LIMIT_MM)]
Name = Annotated[str, AfterValidator(safe_name)]
_Size = TypeVar("_Size", Binder, Paper)


class _HolesEntry(TomlTable):
    """A punch pattern: centres from the top, or spacings of a centred pattern."""

    centres_mm: list[Length] | None = None
    spacings_mm: list[Length] | None = None
    edge_mm: Length
    diameter_mm: Length
    source: str = USERS_OWN


class _SizeEntry(TomlTable):
    title: str = ""
    width_mm: Length
    height_mm: Length
    source: str = USERS_OWN


class _BinderEntry(_SizeEntry):
    holes: _HolesEntry


class _PaperEntry(_SizeEntry):
    media: str = ""


class _SizesFile(TomlTable):
    binder: dict[Name, _BinderEntry] = Field(default_factory=dict)
    paper: dict[Name, _PaperEntry] = Field(default_factory=dict)


def bond_gsm(pounds: float) -> float:
    """g/m² of a bond paper given in pounds, the weight of 500 sheets of 17 × 22 in.

    >>> round(bond_gsm(20)), round(bond_gsm(28))
    (75, 105)
    """
    pound_g, inch_m = 453.59237, MM_PER_INCH / 1000  # both exact; the pound is avoirdupois
    return pounds * pound_g / (500 * ((17 * inch_m) * (22 * inch_m)))


@dataclass(frozen=True)
class Stock:
    """A paper's weight in g/m², and its thickness in mm where it is known.

    >>> round(Stock(120).thickness_mm, 3)
    0.156
    """

    gsm: float = bond_gsm(USUAL_LB_BOND)
    caliper_mm: float | None = None

    @property
    def thickness_mm(self) -> float:
        """Of one sheet: as measured, else what its weight and the usual bulk come to."""
        usual = self.gsm * BULK_CM3_PER_G / 1000
        return usual if self.caliper_mm is None else self.caliper_mm


@dataclass(frozen=True)
class Sizes:
    """All binder sizes and papers known, by name."""

    binders: Mapping[str, Binder]
    papers: Mapping[str, Paper]

    def binder(self, name: str) -> Binder:
        """The binder size called ``name``. Raises ``UserError`` naming the nearest.

        >>> load_sizes(None).binder("a5").width_mm
        148.0
        """
        return _known(name, self.binders, "size", "binder size")

    def paper(self, name: str) -> Paper:
        """The paper called ``name``. Raises ``UserError`` naming the nearest.

        >>> load_sizes(None).paper("letter").media
        'na_letter_8.5x11in'
        """
        return _known(name, self.papers, "paper", "paper")


def _known(name: str, sizes: Mapping[str, _Size], setting: str, called: str) -> _Size:
    if name not in sizes:
        raise UserError(f"{setting} '{name}'", f"no such {called}", did_you_mean(name, sizes))
    return sizes[name]


def users_sizes_file(season_file: Path) -> Path | None:
    """The user's ``sizes.toml``: beside the season file, or in the folder above it."""
    folder = season_file.resolve().parent
    places = (folder / "sizes.toml", folder.parent / "sizes.toml")
    return next((place for place in places if place.is_file()), None)


def load_sizes(user_file: Path | None) -> Sizes:
    """The sizes the program brings, with those of ``user_file`` over them.

    Raises ``UserError`` naming file, field and limit for a value that cannot be.
    """
    here = Path(__file__).parent
    brought = {name: read_toml(here / f"{name}s.toml").data for name in ("binder", "paper")}
    own = read_toml(user_file) if user_file else TomlFile(here / "binders.toml", "", {})
    merged = TomlFile(own.path, own.text, _merged(brought, own.data))
    entries = merged.validated(_SizesFile)
    return Sizes(
        binders={name: _binder(merged, name, e) for name, e in entries.binder.items()},
        papers={name: _paper(merged, name, e) for name, e in entries.paper.items()},
    )


def _merged(base: Mapping[str, Any], own: Mapping[str, Any]) -> dict[str, Any]:
    """The user's fields over the brought ones, table by table.

    A value and where it comes from go together: a table that gives values but no source no longer
    has the standard's name to it. So do the two ways of giving hole centres, and a paper's
    dimensions and the media name that carries them.
    """
    result = dict(base)
    lengths = {"width_mm", "height_mm"}
    if own.keys() & (lengths | {"centres_mm", "spacings_mm", "edge_mm", "diameter_mm"}):
        result.pop("source", None)
    if own.keys() & {"centres_mm", "spacings_mm"}:
        result.pop("centres_mm", None)
        result.pop("spacings_mm", None)
    if own.keys() & lengths:
        result.pop("media", None)
    for key, value in own.items():
        before = result.get(key)
        both = isinstance(before, Mapping) and isinstance(value, Mapping)
        result[key] = _merged(before, value) if both else value  # type: ignore[arg-type]
    return result


def _binder(file: TomlFile, name: str, entry: _BinderEntry) -> Binder:
    """A binder size, its punch pattern checked against the leaf it goes through."""
    at = ("binder", name, "holes")
    holes, width, height = entry.holes, entry.width_mm, entry.height_mm
    if (holes.centres_mm is None) == (holes.spacings_mm is None):
        raise file.error(at, "give either 'centres_mm' or 'spacings_mm'", "remove or add one")
    field, centres = "centres_mm", sorted(holes.centres_mm or [])
    if holes.spacings_mm is not None:
        top = (height - sum(holes.spacings_mm)) / 2
        field, centres = "spacings_mm", [*accumulate(holes.spacings_mm, initial=top)]
        centres = [round(centre, 6) for centre in centres]
    radius = holes.diameter_mm / 2
    if not radius < holes.edge_mm < width - radius:
        raise file.error(
            (*at, "edge_mm"),
            f"holes {holes.diameter_mm:g} mm wide, {holes.edge_mm:g} mm from the edge, are off the"
            f" leaf ({width:g} mm wide)",
            f"give more than {radius:g} and less than {width - radius:g}",
        )
    for centre in centres:
        if not radius < centre < height - radius:
            raise file.error(
                (*at, field),
                f"a hole {centre:g} mm from the top is off the leaf ({height:g} mm high)",
                f"centres lie between {radius:g} and {height - radius:g}",
            )
    for above, below in pairwise(centres):
        if below - above <= holes.diameter_mm:
            raise file.error(
                (*at, field),
                f"holes {below - above:g} mm apart run into one another",
                f"they are {holes.diameter_mm:g} mm wide; set them further apart",
            )
    punched = Holes(tuple(centres), holes.edge_mm, holes.diameter_mm, holes.source)
    return Binder(name, entry.title or name, width, height, punched, entry.source)


def _paper(file: TomlFile, name: str, entry: _PaperEntry) -> Paper:
    width, height = entry.width_mm, entry.height_mm
    if width > height:
        raise file.error(
            ("paper", name, "width_mm"),
            f"{width:g} × {height:g} mm is wider than high",
            "give papers portrait; leaves are turned where that fits more",
        )
    # PWG 5101.1, custom media: custom_NAME_WIDTHxHEIGHTmm
    media = entry.media or f"custom_{name}_{width:g}x{height:g}mm"
    return Paper(name, entry.title or name, width, height, media, entry.source)
