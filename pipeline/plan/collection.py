"""Collections: the folder of templates a season draws on, its flaps and its labels."""

from __future__ import annotations

import contextlib
import itertools
import re
from collections import ChainMap
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from pydantic import Field

import pipeline
from pipeline.base.errors import UserError, did_you_mean, nearest
from pipeline.base.folders import check_places
from pipeline.plan.languages import parents, root_of
from pipeline.plan.model import MOST_BLEED_MM, Colours
from pipeline.plan.sizes import LIMIT_MM, Name
from pipeline.plan.tomlfile import TomlFile, TomlTable, read_toml, rows_of
from pipeline.svg.recolour import Level, colours_in, level

Labels = Mapping[str, tuple[str, ...]]
"""Key to forms, longest first."""

LETTERING = "lettering"
"""The folder of drawn letters; no binder size can be called so."""

WATERMARK = "watermark.svg"
"""The drawing that marks a collection's shop pictures."""

PROPS = "props"
"""The folder of drawings of things that lie beside pages in pictures for a shop."""

_LONGEST = 200
"""Bytes of a folder's name; file systems take 255 (POSIX's NAME_MAX, from memory)."""

_TEMPLATES = "templates"
"""The table of a labels file that says what templates are called."""
LABEL_KEY = re.compile(r"[a-z][a-z0-9]*(-[a-z][a-z0-9]*)*")
"""What a label may be called."""


class _ColoursEntry(TomlTable):
    """A ``[colours.NAME]``: what stands for the colours of the drawings."""

    title: str | dict[str, str] = ""
    change: dict[str, str] = Field(default_factory=dict)
    ink: Literal["colour", "grey"] = "colour"


class _CollectionFile(TomlTable):
    title: str
    fallback_fonts: dict[str, list[str]] = Field(default_factory=dict)
    flaps_mm: dict[Name, dict[Name, float]] = Field(default_factory=dict)
    bleed_mm: float = Field(default=0.0, ge=0, le=MOST_BLEED_MM)
    colours: dict[Name, _ColoursEntry] = Field(default_factory=dict)


@dataclass(frozen=True)
class Collection:
    """Page templates drawn to go together.

    ``folder`` holds collection.toml, labels/, fonts/ and a folder of SVG pages a binder size.
    ``flaps_mm`` maps a binder size to the flap widths (mm) of its templates that have one;
    ``bleed_mm`` is how far pages may be drawn past their edges, and are printed unless a season
    says otherwise.
    """

    name: str
    title: str
    folder: Path
    flaps_mm: Mapping[str, Mapping[str, float]]
    fallback_fonts: Mapping[str, Sequence[str]]
    bleed_mm: float = 0.0
    colours: Mapping[str, Colours] = field(default_factory=dict)
    colour_titles: Mapping[str, str | Mapping[str, str]] = field(default_factory=dict)

    @property
    def fonts_folder(self) -> Path:
        """Where the collection keeps faces of its own; need not be there."""
        return self.folder / "fonts"

    def flap_mm(self, binder_name: str, stem: str) -> float:
        """The width of the flap drawn on a template's fore edge, mm; 0 for none."""
        return self.flaps_mm.get(binder_name, {}).get(stem, 0.0)

    def tells_dates_in_months(self, binder_name: str, stems: Iterable[str]) -> bool:
        """Whether one of some templates may have dates in the samples for its months.

        Asked before drawings are read, as those are many dates; yes where one cannot tell.
        """
        for stem in stems:
            file = self.folder / binder_name / f"{stem}.svg"
            with contextlib.suppress(OSError):  # a lacking one comes up where it is asked for
                if _MONTHS_AND_DATES.search(file.read_bytes()):
                    return True
        return False

    def template_path(self, binder_name: str, stem: str) -> Path:
        """The SVG file of a template for a binder size.

        Raises ``UserError`` naming the nearest file when there is none.
        """
        folder = self.folder / binder_name
        path = folder / f"{stem}.svg"
        if path.is_file():
            return path
        if own_page(path) is not None:
            return path.with_suffix(".pdf")
        drawn = [path.parent.name for path in templates_in(self.folder)]
        if binder_name not in drawn:
            raise UserError(
                str(folder),
                f"collection '{self.name}' has no templates for size '{binder_name}'",
                f"it is drawn for: {', '.join(dict.fromkeys(drawn)) or 'no size yet'}; pages for"
                f" another size are made with 'leafset resize PAGE.svg --to {binder_name}'",
            )
        match = nearest(stem, [p.stem for p in sorted(folder.glob("*.svg"))])
        remedy = f"the nearest is '{match}.svg'" if match else "draw it, or check the name"
        raise UserError(str(path), "there is no such template", remedy)

    def label_files(self, language: str) -> tuple[Path, ...]:
        """The files a locale's labels are in, its own before those it inherits; may be none."""
        paths = (self.folder / "labels" / f"{name}.toml" for name in parents(language))
        return tuple(path for path in paths if path.is_file())

    def labels(self, language: str) -> Labels:
        """The labels of a locale: key to forms, longest first.

        A locale's file stands over that of the locale it inherits from, by CLDR's parents:
        labels/en-GB.toml over labels/en.toml. Raises ``UserError`` naming file and key.
        """
        there = self.label_files(language)
        if not there:
            folder = self.folder / "labels"
            others = sorted(path.stem for path in folder.glob("*.toml"))
            raise UserError(
                str(folder),
                f"collection '{self.name}' has no labels for '{language}'",
                f"add labels/{root_of(language)}.toml"
                + (f"; there are: {', '.join(others)}" if others else ""),
            )
        return dict(ChainMap(*map(read_labels, there)))

    def labels_by_file(self) -> Mapping[str, Labels]:
        """The labels of every file that can be read, by its locale."""
        found: dict[str, Labels] = {}
        for file in sorted((self.folder / "labels").glob("*.toml")):
            with contextlib.suppress(UserError):  # told of where its sets are planned
                found[file.stem] = self.labels(file.stem)
        return found

    def lists(self, language: str) -> Mapping[str, tuple[str, ...]]:
        """The lists of the folder lists/, each with its lines in a locale.

        A list is a CSV file with a column for each language, its name at the top. Raises
        ``UserError`` naming the file where a language has no column, or a line no text in it.
        """
        files = sorted((self.folder / "lists").glob("*.csv"))
        return {path.stem: _lines(path, language) for path in files}

    @property
    def list_lengths(self) -> Mapping[str, int]:
        """How many lines each list has, by its name; one that cannot be read has none."""
        found = {}
        for path in sorted((self.folder / "lists").glob("*.csv")):
            with contextlib.suppress(UserError):
                found[path.stem] = len(_rows(path)) - 1
        return found

    def written(self, language: str, period: str = "") -> Mapping[str, Sequence[Sequence[str]]]:
        """What is written by hand on pages in pictures: a template's rooms, each with its lines.

        From words/<language>.toml, a country's before its language's; may be empty. A table named
        as a ``period`` has what is written in that one instead. Raises ``UserError`` naming file
        and template.
        """
        file, tables = self._words(language)
        for where, written in tables.items():
            for stem, rooms in written.items():
                lists = isinstance(rooms, list) and all(isinstance(room, list) for room in rooms)
                if not lists or not all(isinstance(line, str) for room in rooms for line in room):
                    remedy = 'write it as [["first line", "second line"], ["another room"]]'
                    raise file.error((*where, stem), "must be a list of lists of texts", remedy)
        return {**tables.get((), {}), **tables.get((period,), {})}

    def written_on_none(self, language: str) -> list[str]:
        """That something is written for a template that isn't drawn for any size, as lines."""
        file, tables = self._words(language)
        drawn = {template.stem for template in templates_in(self.folder)}
        names = dict.fromkeys(itertools.chain.from_iterable(tables.values()))
        return [
            f"words/{file.path.name} writes on '{name}', which is no page; "
            + did_you_mean(name, drawn)
            for name in names
            if name not in drawn
        ]

    def _words(self, language: str) -> tuple[TomlFile, Mapping[tuple[str, ...], dict[str, Any]]]:
        """A language's file of words, an empty one where there is none, and its tables: what is
        written always, by (), and in a period alone, by its name."""
        paths = (self.folder / "words" / f"{name}.toml" for name in parents(language))
        path = next(filter(Path.is_file, paths), None)
        file = read_toml(path) if path is not None else TomlFile(self.folder / "words", "", {})
        tables: dict[tuple[str, ...], dict[str, Any]] = {(): {}}
        for name, held in file.data.items():
            if isinstance(held, dict):
                tables[(name,)] = held
            else:
                tables[()][name] = held
        return file, tables

    def drawn_by_hand(self) -> Mapping[str, bytes]:
        """What is drawn by hand on pages in pictures: a template's words/<name>.svg, as large as
        the template; may be empty. Raises ``UserError`` for one of no template."""
        paths = {path.stem: path for path in (self.folder / "words").glob("*.svg")}
        drawn = {template.stem for template in templates_in(self.folder)}
        for stem, path in paths.items():
            if stem not in drawn:
                what = "is named after no template that is drawn for any size"
                raise UserError(str(path), what, did_you_mean(stem, drawn))
        return {stem: path.read_bytes() for stem, path in sorted(paths.items())}

    def template_names(self, language: str) -> Mapping[str, str]:
        """What templates are called in a locale: the tables ``[templates]`` of its label files.

        May be empty: a template that has no name there goes by its file's. Raises ``UserError``
        naming file and template.
        """
        return ChainMap(*(self._template_names(path) for path in self.label_files(language)))

    def _template_names(self, path: Path) -> dict[str, str]:
        file = read_toml(path)
        drawn = {template.stem for template in templates_in(self.folder)}
        names = file.data.get(_TEMPLATES, {})
        for stem, name in names.items() if isinstance(names, dict) else ():
            if stem not in drawn:
                what = "names a template that is not drawn for any size"
                raise file.error((_TEMPLATES, stem), what, did_you_mean(stem, drawn))
            if not isinstance(name, str) or not name.strip():
                raise file.error((_TEMPLATES, stem), "must be a text", "write it in quotes")
        return dict(names) if isinstance(names, dict) else {}


_MONTHS_AND_DATES = re.compile(rb"each.{1,4}month.*each.{1,4}(?:date|week(?!day))", re.I | re.S)
"""In the file of a drawing that may tell the dates of several months."""


def templates_in(folder: Path) -> list[Path]:
    """The pages of the collection in a folder, for all its binder sizes, by folder and name."""
    others = (LETTERING, PROPS)
    return [path for path in sorted(folder.glob("*/*.svg")) if path.parent.name not in others]


def load_collection(name: str, season_file: Path) -> Collection:
    """The collection a season names.

    A name with a slash is a path from the season file's folder. A plain name is looked for in
    ``templates_svg`` above the season's folder, then inside it, then among those that come with
    the program. Raises ``UserError`` naming the nearest when it is in none of them.
    """
    base = season_file.resolve().parent
    where = f"{season_file}, collection"
    if not name or any(len(part.encode()) > _LONGEST for part in re.split(r"[/\\]", name)):
        what = f"no folder has such a name ('{name[:40]}…')" if name else "is empty"
        raise UserError(where, what, "give the name of a folder in templates_svg")
    if "/" in name or "\\" in name:
        folder = base / name.replace("\\", "/")
        if not (folder / "collection.toml").is_file():
            what = f"'{name}' holds no collection.toml"
            raise UserError(where, what, f"the path is taken from {base}")
        return _looked_through(folder.resolve(), base)
    carried = Path(pipeline.__file__).parent
    # In a checkout the carried collections lie beside the package, in a wheel inside it.
    own = [p / "templates_svg" for p in (base.parent, base)]
    shelves = [*own, *(p / "templates_svg" for p in (carried, carried.parent))]
    for shelf in shelves:
        if (shelf / name / "collection.toml").is_file():
            # Installers may lay the program's own files as links.
            if shelf in own:
                return _looked_through(shelf / name, base)
            return read_collection(shelf / name)
    known = sorted({p.parent.name for s in shelves for p in s.glob("*/collection.toml")})
    raise UserError(where, f"there is no collection '{name}'", did_you_mean(name, known))


def _looked_through(folder: Path, base: Path) -> Collection:
    """The collection in a folder, all of whose files lie in it or in the workspace of a season's
    folder. Raises UserError for one that doesn't: what is read can go out to buyers."""
    check_places(folder, [folder, *workspace_of(base)])
    return read_collection(folder)


def own_page(path: Path) -> tuple[Path, int] | None:
    """The file and the number of the page of a finished PDF that a template's path stands for.

    None where it stands for a drawing.
    """
    asked = re.fullmatch(r"(.+)-page-(\d{1,4})", path.stem)
    file = path.with_name(f"{asked[1]}.pdf") if asked else path
    return (file, int(asked[2])) if asked and file.is_file() else None


def workspace_of(base: Path) -> list[Path]:
    """The folders that a season in a folder has its files in."""
    return [base, base.parent] if (base.parent / "templates_svg").is_dir() else [base]


def _rows(path: Path) -> list[list[str]]:
    """The rows of a list that say anything, its heads first."""
    safe_stem = re.fullmatch(r"[a-z0-9_-]+", path.stem)
    if safe_stem is None:
        raise UserError(str(path), "its name has other signs than a to z, figures and '-'", "")
    try:
        return [row for _, row in rows_of(path, path.read_text(encoding="utf-8-sig"))]
    except (OSError, UnicodeDecodeError) as problem:
        raise UserError(str(path), f"cannot be read ({problem})", "save it as CSV, UTF-8") from None


def _lines(path: Path, language: str) -> tuple[str, ...]:
    """The lines of a list in a locale, or in the nearest it inherits from."""
    rows = _rows(path)
    heads = rows[0] if rows else []
    column = next((heads.index(name) for name in parents(language) if name in heads), None)
    if column is None:
        what = f"has no column for '{language}'"
        raise UserError(str(path), what, f"its first line says: {', '.join(heads) or 'nothing'}")
    lines = []
    for row in rows[1:]:
        text = row[column] if column < len(row) else ""
        if not text:
            what = f"'{next(filter(None, row))}' has nothing in the column '{heads[column]}'"
            raise UserError(str(path), what, "write the line in that language too")
        lines.append(text)
    return tuple(lines)


def _colours(file: TomlFile, folder: Path, name: str, entry: _ColoursEntry) -> Colours:
    """The colours of a ``[colours.NAME]``; raises UserError for one that stands nowhere."""
    change: list[tuple[Level, Level]] = []
    for old, new in entry.change.items():
        was, becomes = level(old), level(new)
        if was is None or becomes is None:
            text = old if was is None else new
            at = ("colours", name, "change", old)
            raise file.error(at, f"'{text}' isn't a colour", 'write it like "#2d6a4f"')
        change.append((was, becomes))
    drawn, pages = set[Level](), itertools.chain(templates_in(folder), folder.glob(WATERMARK))
    for old, (was, _) in zip(entry.change, change, strict=True):
        while was not in drawn and (path := next(pages, None)):
            drawn |= colours_in(path.read_bytes())
        if was not in drawn:
            near = nearest(old, sorted("#{:02x}{:02x}{:02x}".format(*one) for one in drawn))
            raise file.error(
                ("colours", name, "change", old),
                f"no page of the collection has the colour {old}",
                f"the nearest is {near}" if near else "look it up in your drawing",
            )
    return Colours(name, tuple(change), entry.ink == "grey")


def read_collection(folder: Path) -> Collection:
    file = read_toml(folder / "collection.toml")
    entry = file.validated(_CollectionFile)
    collection = Collection(
        folder.name,
        entry.title,
        folder,
        entry.flaps_mm,
        entry.fallback_fonts,
        entry.bleed_mm,
        {name: _colours(file, folder, name, one) for name, one in entry.colours.items()},
        {name: one.title for name, one in entry.colours.items()},
    )
    for binder, flaps in entry.flaps_mm.items():
        for stem, width in flaps.items():
            at = ("flaps_mm", binder, stem)
            if not 0 < width <= LIMIT_MM:
                raise file.error(
                    at,
                    f"a flap cannot be {width:g} mm wide",
                    f"give more than 0 and at most {LIMIT_MM:g} mm",
                )
            try:
                collection.template_path(binder, stem)
            except UserError as problem:
                raise file.error(at, problem.what, problem.remedy) from None
    return collection


def read_labels(path: Path) -> dict[str, tuple[str, ...]]:
    """The labels of one file: key to forms, longest first. Raises ``UserError`` naming file and
    key."""
    file = read_toml(path)
    labels = {}
    for key, value in file.data.items():
        if key == _TEMPLATES and isinstance(value, dict):
            continue
        if not LABEL_KEY.fullmatch(key):
            raise file.error(
                (key,),
                "cannot be a label's key",
                "use small letters and '-', and no figure right after a '-'",
            )
        forms = [value] if isinstance(value, str) else value
        if not isinstance(forms, list) or not forms:
            raise file.error((key,), "must be a text, or a list of texts, longest first")
        if not all(isinstance(form, str) and form.strip() for form in forms):
            raise file.error((key,), "has a form that isn't text or is empty", "write it in quotes")
        labels[key] = tuple(forms)
    return labels


def labels_by_language(
    collection: Collection, languages: Sequence[str], fallback: str | None = None
) -> Mapping[str, Labels]:
    """The labels of each language; those it lacks are those of ``fallback``, if that is given.

    All languages fill the same templates, so a key that one has and another lacks is missing.
    Raises ``UserError`` naming the key, the language and the file to add it to.
    """
    spare = collection.labels(fallback) if fallback is not None else {}
    found: dict[str, Labels] = {}
    for language in languages:
        bare = fallback is not None and not collection.label_files(language)
        found[language] = spare if bare else {**spare, **collection.labels(language)}
    for language, labels in found.items():
        for other, theirs in found.items():
            missing = [key for key in theirs if key not in labels]
            if missing:
                raise _missing(collection, language, missing, other, fallback)
    return found


def _missing(
    collection: Collection, language: str, keys: Sequence[str], other: str, fallback: str | None
) -> UserError:
    own_file = collection.folder / "labels" / f"{root_of(language)}.toml"
    path = [own_file, *collection.label_files(language)][-1]
    label, them = ("labels", "them") if len(keys) > 1 else ("label", "it")
    named = ", ".join(f"'{key}'" for key in keys[:3])
    if len(keys) > 3:
        named += f" and {len(keys) - 3} more"
    remedy = f'write {keys[0]} = "…" there, or set label_fallback in the season file'
    if fallback is not None:
        remedy = f"write {them} there or in the labels of '{fallback}', the label_fallback"
    what = f"{label} {named} missing for '{language}' ('{other}' has {them})"
    return UserError(str(path), what, remedy)
