"""Finds faces in a collection's ``fonts/`` folder and in installed font packages, nowhere else.

What the machine happens to have installed never counts: the same season must give the same file
anywhere. A variable face is pinned to the weight that is asked for (HarfBuzz's own subsetter does
it), so that what is embedded is an ordinary face that every PDF reader knows.
"""

from __future__ import annotations

import difflib
import functools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import uharfbuzz as hb

from pipeline.errors import UserError

GENERIC_FAMILIES = frozenset(
    {"serif", "sans-serif", "cursive", "fantasy", "monospace", "system-ui", "ui-sans-serif"}
)
"""Names that stand for "whatever is there" (CSS Fonts 4, 2.1.3): never a face by themselves."""


@dataclass(frozen=True)
class Face:
    """One font file, and what it can be asked for.

    ``weights`` are the least and the greatest weight it has (equal for a static face), ``axes``
    the tags of its variation axes.
    """

    family: str
    path: Path
    italic: bool
    weights: tuple[float, float]
    axes: tuple[str, ...]

    def distance(self, weight: float, italic: bool) -> tuple[bool, float]:
        """How far this face is from what is asked for: the wrong slant counts before weight."""
        low, high = self.weights
        return (self.italic != italic, max(low - weight, weight - high, 0.0))


@dataclass(frozen=True)
class Instance:
    """A face at one weight: the bytes to embed and HarfBuzz's view of them."""

    face: Face
    settings: tuple[tuple[str, float], ...]

    @functools.cached_property
    def data(self) -> bytes:
        """The font file with every axis pinned; the file itself for a static face."""
        return _pinned(self.face.path, self.settings)

    @functools.cached_property
    def hb_face(self) -> hb.Face:
        """HarfBuzz's face over ``data``."""
        return hb.Face(hb.Blob(self.data))

    @functools.cached_property
    def hb_font(self) -> hb.Font:
        """HarfBuzz's font at design scale (units per em)."""
        return hb.Font(self.hb_face)

    @functools.cached_property
    def characters(self) -> frozenset[int]:
        """Code points the face has a glyph for."""
        return frozenset(self.hb_face.unicodes)


def _pinned(path: Path, settings: tuple[tuple[str, float], ...]) -> bytes:
    face = hb.Face(hb.Blob.from_file_path(str(path)))
    if not face.axis_infos:
        return path.read_bytes()
    wanted = hb.SubsetInput()
    wanted.keep_everything()
    wanted.pin_all_axes_to_default(face)
    for tag, value in settings:
        wanted.pin_axis_location(face, tag, value)
    return bytes(hb.subset(face, wanted).blob.data)


class FontBook:
    """The faces a build may use: the collection's own first, then those of font packages.

    >>> book = FontBook()
    >>> book.find(["Source Sans 3", "sans-serif"], weight=350).face.family
    'Source Sans 3'
    """

    def __init__(self, folder: Path | None = None, fallback: Sequence[str] = ()) -> None:
        """``folder`` is a collection's ``fonts/``; ``fallback`` names families tried last."""
        self.fallback = tuple(fallback)
        self._families: dict[str, list[Face]] = {}
        for face in (*_faces_in(folder), *_packaged_faces()):
            self._families.setdefault(face.family.casefold(), []).append(face)
        self._instances: dict[tuple[Path, tuple[tuple[str, float], ...]], Instance] = {}

    @property
    def families(self) -> tuple[str, ...]:
        """Names of all families there are, sorted."""
        return tuple(sorted({faces[0].family for faces in self._families.values()}))

    def find(
        self,
        families: Sequence[str],
        weight: float = 400,
        italic: bool = False,
        variations: Mapping[str, float] | None = None,
        where: str = "",
    ) -> Instance:
        """The first family of the list that is there, at the nearest weight and slant.

        ``weight`` runs from 1 to 1000 as in CSS. Raises UserError, naming the nearest family,
        when a family that is not a generic name cannot be found at all.
        """
        return self.candidates(families, weight, italic, variations, where)[0]

    def candidates(
        self,
        families: Sequence[str],
        weight: float = 400,
        italic: bool = False,
        variations: Mapping[str, float] | None = None,
        where: str = "",
    ) -> list[Instance]:
        """Faces in the order they are tried for a character: families asked for, then fallbacks."""
        named = [name for name in families if name.casefold() not in GENERIC_FAMILIES]
        known = [name for name in named if name.casefold() in self._families]
        if named and not known:
            raise UserError(where, f"there is no font {named[0]!r}", self._advice(named[0]))
        order = dict.fromkeys(name.casefold() for name in (*known, *self.fallback))
        found = [
            self._instance(self._nearest(name, weight, italic), weight, variations or {})
            for name in order
            if name in self._families
        ]
        if not found:
            raise UserError(where, "the text names no font", "set one of " + self._list())
        return found

    def _advice(self, name: str) -> str:
        near = difflib.get_close_matches(name, self.families, 1, 0.5)
        hint = f"the nearest is {near[0]!r}; " if near else ""
        return (
            hint
            + "put the font file into the collection's fonts/ folder, or set it in one of "
            + self._list()
        )

    def _list(self) -> str:
        return ", ".join(self.families)

    def _nearest(self, family: str, weight: float, italic: bool) -> Face:
        return min(self._families[family], key=lambda face: face.distance(weight, italic))

    def _instance(self, face: Face, weight: float, variations: Mapping[str, float]) -> Instance:
        settings: dict[str, float] = {}
        if "wght" in face.axes:
            settings["wght"] = min(max(weight, face.weights[0]), face.weights[1])
        settings.update({tag: value for tag, value in variations.items() if tag in face.axes})
        key = (face.path, tuple(sorted(settings.items())))
        return self._instances.setdefault(key, Instance(face, key[1]))


def _faces_in(folder: Path | None) -> Iterable[Face]:
    if folder is None or not folder.is_dir():
        return ()
    files = sorted(p for p in folder.iterdir() if p.suffix.lower() in {".ttf", ".otf"})
    return tuple(_describe(path) for path in files)


@functools.cache
def _packaged_faces() -> tuple[Face, ...]:
    import fontpkg

    return tuple(
        _describe(Path(file.path))
        for family in sorted(fontpkg.families())
        for file in fontpkg.families()[family].files
    )


@functools.cache
def _describe(path: Path) -> Face:
    """What a font file says of itself; raises UserError when it is no font."""
    from fontTools.ttLib import TTFont, TTLibError

    try:
        font = TTFont(path, lazy=True)
        names, os2 = font["name"], font["OS/2"]
        weight = float(os2.usWeightClass)
        axes = {axis.axisTag: axis for axis in font["fvar"].axes} if "fvar" in font else {}
    except (TTLibError, KeyError, OSError) as problem:
        raise UserError(
            str(path), f"this is no font that can be read ({problem})", "replace or remove it"
        ) from None
    family = names.getDebugName(16) or names.getDebugName(1) or path.stem
    wght = axes.get("wght")
    return Face(
        family=str(family),
        path=path,
        italic=bool(os2.fsSelection & 1),
        weights=(wght.minValue, wght.maxValue) if wght else (weight, weight),
        axes=tuple(axes),
    )
