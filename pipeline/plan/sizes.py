"""Binder and paper sizes: the ones the program brings, and the user's own over them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from pipeline.base.errors import UserError
from pipeline.base.foldername import safe_name
from pipeline.base.nearest import did_you_mean
from pipeline.plan.model import Binder, Holes, Paper
from pipeline.plan.tomlfile import TomlFile, read_toml

LIMIT_MM = 2000.0
"""No leaf or sheet is longer: beyond it lies a slipped decimal point, not a printer."""

USERS_OWN = "user's sizes.toml"
"""The source of a value the user gives without saying where it comes from."""

_HERE = Path(__file__).parent

Length = Annotated[float, Field(gt=0, le=LIMIT_MM, allow_inf_nan=False)]
Name = Annotated[str, AfterValidator(safe_name)]


class _Entry(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


class _HolesEntry(_Entry):
    """A punch pattern: centres from the top, or spacings of a centred pattern."""

    centres_mm: list[Length] | None = None
    spacings_mm: list[Length] | None = None
    edge_mm: Length
    diameter_mm: Length
    source: str = USERS_OWN


class _BinderEntry(_Entry):
    title: str = ""
    width_mm: Length
    height_mm: Length
    holes: _HolesEntry
    source: str = USERS_OWN


class _PaperEntry(_Entry):
    title: str = ""
    width_mm: Length
    height_mm: Length
    media: str = ""
    source: str = USERS_OWN


class _SizesFile(_Entry):
    binder: dict[Name, _BinderEntry] = Field(default_factory=dict)
    paper: dict[Name, _PaperEntry] = Field(default_factory=dict)


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
        if name not in self.binders:
            raise UserError(
                f"size '{name}'", "no such binder size", did_you_mean(name, self.binders)
            )
        return self.binders[name]

    def paper(self, name: str) -> Paper:
        """The paper called ``name``. Raises ``UserError`` naming the nearest.

        >>> load_sizes(None).paper("letter").media
        'na_letter_8.5x11in'
        """
        if name not in self.papers:
            raise UserError(f"paper '{name}'", "no such paper", did_you_mean(name, self.papers))
        return self.papers[name]


def users_sizes_file(season_file: Path) -> Path | None:
    """The user's ``sizes.toml``: beside the season file, or in the folder above it."""
    folder = season_file.resolve().parent
    for candidate in (folder / "sizes.toml", folder.parent / "sizes.toml"):
        if candidate.is_file():
            return candidate
    return None


def load_sizes(user_file: Path | None) -> Sizes:
    """The sizes the program brings, with those of ``user_file`` over them.

    Raises ``UserError`` naming file, field and limit for a value that cannot be.
    """
    brought = {
        "binder": dict(read_toml(_HERE / "binders.toml").data),
        "paper": dict(read_toml(_HERE / "papers.toml").data),
    }
    own = read_toml(user_file) if user_file else TomlFile(_HERE / "binders.toml", "", {})
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
    return Binder(
        name=name,
        title=entry.title or name,
        width_mm=entry.width_mm,
        height_mm=entry.height_mm,
        holes=_holes(file, name, entry),
        source=entry.source,
    )


def _holes(file: TomlFile, name: str, entry: _BinderEntry) -> Holes:
    """The punch pattern, checked against the leaf it goes through."""
    at = ("binder", name, "holes")
    holes = entry.holes
    if (holes.centres_mm is None) == (holes.spacings_mm is None):
        raise file.error(at, "give either 'centres_mm' or 'spacings_mm'", "remove or add one")
    if holes.spacings_mm is not None:
        field = "spacings_mm"
        top = (entry.height_mm - sum(holes.spacings_mm)) / 2
        centres = tuple(round(y, 6) for y in accumulate(holes.spacings_mm, initial=top))
    else:
        field = "centres_mm"
        centres = tuple(sorted(holes.centres_mm or []))
    radius = holes.diameter_mm / 2
    if not radius < holes.edge_mm < entry.width_mm - radius:
        raise file.error(
            (*at, "edge_mm"),
            f"holes {holes.diameter_mm:g} mm wide, {holes.edge_mm:g} mm from the edge, are off the"
            f" leaf ({entry.width_mm:g} mm wide)",
            f"give more than {radius:g} and less than {entry.width_mm - radius:g}",
        )
    for centre in centres:
        if not radius < centre < entry.height_mm - radius:
            raise file.error(
                (*at, field),
                f"a hole {centre:g} mm from the top is off the leaf ({entry.height_mm:g} mm high)",
                f"centres lie between {radius:g} and {entry.height_mm - radius:g}",
            )
    for above, below in pairwise(centres):
        if below - above <= holes.diameter_mm:
            raise file.error(
                (*at, field),
                f"holes {below - above:g} mm apart run into one another",
                f"they are {holes.diameter_mm:g} mm wide; set them further apart",
            )
    return Holes(centres, holes.edge_mm, holes.diameter_mm, holes.source)


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
