"""Finds faces in a collection's ``fonts/`` folder and in installed font packages, nowhere else.

What the machine happens to have installed never counts: the same season must give the same file
anywhere. A variable face is pinned to the weight that is asked for (HarfBuzz's own subsetter does
it), so that what is embedded is an ordinary face that every PDF reader knows.
"""

from __future__ import annotations

import difflib
import functools
import importlib.metadata
import logging
import re
import struct
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import uharfbuzz as hb

from pipeline.base.cache import digest_of, key_of
from pipeline.base.errors import UserError
from pipeline.base.folders import scratch_folder

GENERIC_FAMILIES = frozenset(
    {
        "serif", "sans-serif", "cursive", "fantasy", "monospace", "system-ui", "math", "emoji",
        "fangsong", "ui-serif", "ui-sans-serif", "ui-monospace", "ui-rounded",
    }
)  # fmt: skip
"""Names that stand for "whatever is there" (CSS Fonts 4, <generic-family>; from memory): never a
face by themselves, though a collection may say which face stands for one."""

UNDRAWN = "UNDR"
"""In the ``meta`` table of a font: characters that have a shape only within whole words, each as
four bytes. OpenType 1.9, "meta", leaves tags of capitals to whoever makes the font."""

_FONT_FILES = frozenset({".ttf", ".otf"})
_STAND_IN = re.compile(
    r"(?P<family>.+?)(?P<italic> italic)?(?: (?P<weight>[1-9]\d{2}))?(?: (?P<size>\d+)%)?$",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Face:
    """One font file, and what it can be asked for.

    ``weights`` are the least and the greatest weight it has (equal for a static face), ``axes``
    the tags of its variation axes. ``undrawn`` are code points that are in it for the sake of
    whole words and show nothing by themselves.
    """

    family: str
    path: Path
    italic: bool
    weights: tuple[float, float]
    axes: tuple[str, ...]
    fs_type: int = 0
    licence: str = ""
    undrawn: frozenset[int] = frozenset()

    @property
    def forbids_embedding(self) -> bool:
        """Whether the file's embedding bits keep a subset of it out of a PDF.

        OpenType OS/2 fsType: bit 1 (restricted licence), bit 8 (no subsetting), bit 9 (bitmaps
        only). A restriction counts only when no more permissive bit is set with it.
        """
        usage = self.fs_type & 0x000F
        return usage == 0x0002 or bool(self.fs_type & 0x0300)

    def distance(self, weight: float, italic: bool) -> tuple[bool, float]:
        """How far this face is from what is asked for: the wrong slant counts before weight."""
        low, high = self.weights
        return (self.italic != italic, max(low - weight, weight - high, 0.0))


@dataclass(frozen=True)
class Instance:
    """A face at one weight: the bytes to embed and HarfBuzz's view of them."""

    face: Face
    settings: tuple[tuple[str, float], ...]
    size_adjust: float = 1.0
    """How much larger than asked for it is set, to look as large as the face it stands in for."""
    slanted: bool = False
    """Whether upright letters are slanted, for want of a face in italics."""
    emboldened: bool = False
    """Whether letters are drawn bolder than they are, for want of a bold face."""

    @functools.cached_property
    def data(self) -> bytes:
        """The font file with every axis pinned; the file itself for a static face."""
        face = hb.Face(hb.Blob.from_file_path(str(self.face.path)))
        if not face.axis_infos:
            return self.face.path.read_bytes()
        wanted = hb.SubsetInput()
        wanted.keep_everything()
        wanted.pin_all_axes_to_default(face)
        for tag, value in self.settings:
            wanted.pin_axis_location(face, tag, value)
        return bytes(hb.subset(face, wanted).blob.data)

    def subset(self, characters: Collection[int]) -> bytes:
        """The font file with the glyphs of some code points alone, what they combine to, and
        figures of each kind."""
        wanted = hb.SubsetInput()
        wanted.unicode_set.update(characters)
        figures = (int.from_bytes(tag.encode(), "big") for tag in ("lnum", "onum", "pnum", "tnum"))
        wanted.layout_feature_tag_set.update(figures)
        wanted.flags = hb.SubsetFlags.NO_HINTING
        return bytes(hb.subset(self.hb_face, wanted).blob.data)

    @functools.cached_property
    def hb_face(self) -> hb.Face:
        """HarfBuzz's face over ``data``."""
        return hb.Face(hb.Blob(self.data))

    @functools.cached_property
    def hb_font(self) -> hb.Font:
        """HarfBuzz's font at design scale (units per em)."""
        return hb.Font(self.hb_face)

    @functools.cached_property
    def features(self) -> frozenset[str]:
        """Tags of the substitutions it has, in any script."""
        tags: set[str] = set()
        face = self.hb_face
        for script, _ in enumerate(face.get_table_script_tags("GSUB")):
            for language in (0xFFFF, *range(len(face.get_script_language_tags("GSUB", script)))):
                tags.update(face.get_language_feature_tags("GSUB", script, language))
        return frozenset(tags)

    def aspect(self, metric: str) -> float:
        """A height of its letters in em: "ex-height" or "cap-height"; half an em if unknown."""
        tag = hb.OTMetricsTag.CAP_HEIGHT if metric == "cap-height" else hb.OTMetricsTag.X_HEIGHT
        upem = self.hb_face.upem
        return float((self.hb_font.get_metric_position(tag) or upem / 2) / upem)

    @functools.cached_property
    def in_colour(self) -> bool:
        """Whether some of its glyphs are drawings or pictures in colours of their own."""
        face = self.hb_face
        return bool(
            face.has_color_layers
            or face.has_color_paint
            or face.has_color_svg
            or face.has_color_png
        )

    @functools.cached_property
    def typographic_ascent(self) -> float:
        """The share of a line set solid that lies above its baseline (OS/2 sTypoAscender)."""
        table = bytes(self.hb_face.reference_table("OS/2").data)
        above, below = struct.unpack_from(">hh", table, 68)
        return above / (above - below) if above > below else 0.8

    @functools.cached_property
    def characters(self) -> frozenset[int]:
        """Code points the face has a glyph for, one that shows them by themselves."""
        return frozenset(self.hb_face.unicodes) - self.face.undrawn


class FontBook:
    """The faces a build may use: the collection's own first, then those of font packages.

    >>> book = FontBook()
    >>> book.find(["Source Sans 3", "sans-serif"], weight=350).face.family
    'Source Sans 3'
    """

    def __init__(
        self,
        folder: Path | None = None,
        fallback: Mapping[str, Sequence[str]] | None = None,
        *,
        embedded: bool = True,
    ) -> None:
        """``folder`` is a collection's ``fonts/``.

        ``fallback`` maps a family, or "any", to those tried for characters it lacks, in order;
        and a generic name, such as "serif", to those that stand for it.
        An entry may end in " Italic", in a weight and in a size: ``"Amiri 700 115%"``.
        ``embedded`` tells that faces go into the file, which some forbid.
        """
        self.fallback = {
            name.casefold(): tuple(_stand_in(entry) for entry in entries)
            for name, entries in (fallback or {}).items()
        }
        self.embedded = embedded
        own = sorted(folder.iterdir()) if folder is not None and folder.is_dir() else []
        self._families: dict[str, list[Face]] = {}
        fonts = (_describe(path) for path in own if path.suffix.lower() in _FONT_FILES)
        for face in (*fonts, *_packaged_faces()):
            self._families.setdefault(face.family.casefold(), []).append(face)
        self._instances: dict[tuple[object, ...], Instance] = {}
        self._candidates: dict[tuple[object, ...], list[Instance]] = {}

    @property
    def families(self) -> tuple[str, ...]:
        """Names of all families there are, sorted."""
        return tuple(sorted({faces[0].family for faces in self._families.values()}))

    def faces(self, family: str) -> tuple[Face, ...]:
        """All faces of a family; none when it is not there."""
        return tuple(self._families.get(family.casefold(), ()))

    def find(
        self,
        families: Sequence[str],
        weight: float = 400,
        italic: bool = False,
        variations: Mapping[str, float] | None = None,
    ) -> Instance:
        """The first family of the list that is there, at the nearest weight and slant.

        ``weight`` runs from 1 to 1000 as in CSS. Raises UserError, naming the nearest family,
        when a family that is not a generic name cannot be found at all, and when there are
        only generic names for which the collection has no face.
        """
        return self.candidates(families, weight, italic, variations)[0]

    def candidates(
        self,
        families: Sequence[str],
        weight: float = 400,
        italic: bool = False,
        variations: Mapping[str, float] | None = None,
    ) -> list[Instance]:
        """Faces in the order they are tried for a character: families asked for, then fallbacks.

        Raises UserError for a family that is not there, or whose file forbids embedding, and for
        generic names alone for which no face stands.
        """
        settings = tuple(sorted((variations or {}).items()))
        key = (*families, weight, italic, *settings)
        if key not in self._candidates:
            self._candidates[key] = [
                self._instance(entry, weight, italic, settings)
                for entry in self._in_order(families)
            ]
        return self._candidates[key]

    def _in_order(self, families: Sequence[str]) -> list[_StandIn]:
        named = [name for name in families if name.casefold() not in GENERIC_FAMILIES]
        known = [name for name in named if name.casefold() in self._families]
        if named and not known:
            raise UserError("", f"there is no font {named[0]!r}", self._advice(named[0]))
        generic = [name.casefold() for name in families if name.casefold() in GENERIC_FAMILIES]
        if generic and not known and not any(self.fallback.get(name) for name in generic):
            # Editors set new texts in such a name; which face that is, each computer decides.
            usual = [entry.family for entry in self.fallback.get("any", ())] or self.families
            raise UserError(
                "",
                f"{generic[0]!r} is not a font: it stands for whatever font of its kind a computer "
                "has",
                f"set the text in one of {', '.join(self.families)}; or say in collection.toml "
                f'which font stands for it: {generic[0]} = ["{usual[0]}"] under [fallback_fonts]',
            )
        found = [
            _StandIn(name, False, None, 1.0, chosen=not place) for place, name in enumerate(known)
        ]
        for name in (*(name.casefold() for name in known), *generic, "any"):
            for other in self.fallback.get(name, ()):
                if other.family.casefold() not in self._families:
                    raise UserError(
                        "collection.toml, fallback_fonts",
                        f"there is no font {other.family!r}",
                        self._advice(other.family),
                    )
                found.append(other)
        if not found:
            remedy = f"set one of {', '.join(self.families)}"
            raise UserError("", "the text names no font", remedy)
        return found

    def _advice(self, name: str) -> str:
        near = difflib.get_close_matches(name, self.families, 1, 0.5)
        hint = f"the nearest is {near[0]!r}; " if near else ""
        put = "put the font file into the collection's fonts/ folder, or use one of "
        return hint + put + ", ".join(self.families)

    def _instance(
        self, entry: _StandIn, weight: float, italic: bool, wanted: tuple[tuple[str, float], ...]
    ) -> Instance:
        weight, italic = entry.weight or weight, entry.italic or italic
        face = min(
            self._families[entry.family.casefold()], key=lambda face: face.distance(weight, italic)
        )
        if self.embedded and face.forbids_embedding:
            raise UserError(
                "",
                f"the font {face.family!r} forbids embedding (OS/2 fsType {face.fs_type})",
                'take another, or set text = "outlines" in the season file if its licence '
                "allows that",
            )
        settings = {tag: value for tag, value in wanted if tag in face.axes}
        if "wght" in face.axes and "wght" not in settings:
            settings["wght"] = min(max(weight, face.weights[0]), face.weights[1])
        slanted = italic and not face.italic and _SLANTS.isdisjoint(face.axes)
        bolder = weight >= _BOLD > face.weights[1]
        made_up = (entry.chosen and slanted, entry.chosen and bolder)
        key = (face.path, tuple(sorted(settings.items())), entry.size_adjust, *made_up)
        return self._instances.setdefault(key, Instance(face, *key[1:]))


_SLANTS = frozenset(("slnt", "ital"))
_BOLD = 600
"""The weight from which letters must look bold, whatever faces there are (CSS Fonts 4, 2.2)."""


class _StandIn(NamedTuple):
    family: str
    italic: bool
    weight: float | None
    size_adjust: float
    chosen: bool = False
    """Whether it is the text's first choice, whose slant and weight may be made up: letters of
    others keep the look that their collection gives them."""


def _stand_in(entry: str) -> _StandIn:
    """An entry of a fallback list, such as "EB Garamond Italic 500 108%"."""
    match = _STAND_IN.match(entry.strip())
    if match is None:  # every part but the name may be missing
        raise UserError(
            "collection.toml, fallback_fonts",
            f"'{entry}' is no face",
            'write a family and, as needed, "Italic", a weight and a size in %',
        )
    return _StandIn(
        match["family"].strip(),
        bool(match["italic"]),
        float(match["weight"]) if match["weight"] else None,
        float(match["size"]) / 100 if match["size"] else 1.0,
    )


@functools.cache
def _packaged_faces() -> tuple[Face, ...]:
    """Faces of installed font packages: distributions with "font" in their name."""
    files = {
        Path(str(file.locate()))
        for package in importlib.metadata.distributions()
        if "font" in (package.metadata["Name"] or "").lower()
        for file in package.files or ()
        if file.suffix.lower() in _FONT_FILES
    }
    return tuple(_describe(path) for path in sorted(files, key=lambda path: path.name))


@functools.cache
def _describe(path: Path) -> Face:
    """What a font file says of itself; raises UserError when it cannot be read."""
    from fontTools.ttLib import TTFont

    logging.getLogger("fontTools").setLevel(logging.CRITICAL)  # hundreds of lines for a damaged one
    try:
        font = TTFont(path, lazy=True)
        names, os2 = font["name"], font["OS/2"]
        weight = float(os2.usWeightClass)
        axes = {axis.axisTag: axis for axis in font["fvar"].axes} if "fvar" in font else {}
        codes = font["meta"].data.get(UNDRAWN, b"") if "meta" in font else b""
        family = names.getDebugName(16) or names.getDebugName(1) or path.stem
        licence = str(names.getDebugName(13) or names.getDebugName(14) or "")
        slanted, fs_type = bool(os2.fsSelection & 1), int(os2.fsType)
    except Exception as problem:  # of a damaged file fontTools may raise anything
        raise UserError(
            str(path), f"this font cannot be read ({problem})", "replace or remove it"
        ) from None
    wght = axes.get("wght")
    return Face(
        family=str(family),
        path=path,
        italic=slanted,
        weights=(wght.minValue, wght.maxValue) if wght else (weight, weight),
        axes=tuple(axes),
        fs_type=fs_type,
        licence=licence,
        undrawn=frozenset(
            int.from_bytes(codes[place : place + 4], "big") for place in range(0, len(codes), 4)
        ),
    )


@dataclass(frozen=True)
class Faces:
    """What a font book is made of: the collection's own fonts, and which faces stand in.

    ``fonts`` holds font files by what they come from in the collection: ``fonts/Bean.ttf``, or a
    drawing of letters.
    """

    fonts: Mapping[str, bytes]
    fallback: Mapping[str, Sequence[str]]
    embedded: bool

    @functools.cached_property
    def digests(self) -> Mapping[str, str]:
        """A digest of each of the collection's fonts, by what it comes from."""
        return {name: digest_of(data) for name, data in sorted(self.fonts.items())}

    @functools.cached_property
    def key(self) -> str:
        """A key for all that a book of these faces sets type with."""
        return key_of(self.digests, self.fallback, self.embedded)

    def origin(self, face: Face) -> str:
        """What in the collection a face comes from; "" for one of a font package."""
        return next((name for name in self.fonts if _kept_as(name) == face.path.name), "")

    def book(self) -> FontBook:
        """The book; a process makes it once for the same faces."""
        fallback = tuple((name, tuple(entries)) for name, entries in self.fallback.items())
        return _book(tuple(sorted(self.fonts.items())), fallback, self.embedded)


def _kept_as(name: str) -> str:
    """The file of a collection's own font in a book's folder, by what the font comes from."""
    return name.replace("/", "-") + (".ttf" if name.endswith(".svg") else "")


@functools.lru_cache(maxsize=8)
def _book(
    fonts: tuple[tuple[str, bytes], ...],
    fallback: tuple[tuple[str, tuple[str, ...]], ...],
    embedded: bool,
) -> FontBook:
    folder = None
    if fonts:
        folder = scratch_folder("fonts")
        for name, data in fonts:
            (folder / _kept_as(name)).write_bytes(data)
    return FontBook(folder, dict(fallback), embedded=embedded)
