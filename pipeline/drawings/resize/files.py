"""Resizes template files where they lie: in a collection, or anywhere."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.drawings.resize.lettering import SMALLEST_MM
from pipeline.drawings.resize.resizing import resize
from pipeline.fill.template import open_template
from pipeline.plan.model import Binder, Side
from pipeline.plan.sizes import Sizes
from pipeline.plan.tomlfile import read_toml
from pipeline.text.fonts import FontBook

_COLLECTION = "collection.toml"


def resize_files(
    files: Sequence[Path],
    to: Binder,
    sizes: Sizes,
    *,
    flap_mm: float | None = None,
    out: Path | None = None,
    side: Side | None = None,
    smallest_mm: float = SMALLEST_MM,
) -> list[str]:
    """Writes templates for a size beside those they are made from; says what was done.

    In a collection they go into its folder for that size, elsewhere beside the file with the
    size in their name; ``out`` is another file, or a folder for several. Flaps are as wide as
    ``flap_mm``, or as the collection says for that size. Raises UserError where there is a file
    already, and as ``resize`` does.
    """
    targets = [_target(file, to, out, len(files) > 1) for file in files]
    for target in targets:
        if target.exists():
            raise UserError(str(target), "is there already", "choose another place with --out")
    pages = [open_template(file) for file in files]
    collection = _collection(files[0])
    book = FontBook(collection / "fonts" if collection else None, {})
    flaps = _flaps_of(collection, to)
    made = resize(
        pages,
        to,
        sizes,
        book,
        flap_mm=flap_mm,
        flaps_mm=flaps,
        side=side,
        smallest_mm=smallest_mm,
    )
    lines, missing = [], []
    for target, one in zip(targets, made, strict=True):
        write_whole(target, one.data)
        lines += [str(target), *(f"    look at {note}" for note in one.notes)]
        if one.flap_mm and flaps.get(target.stem) != one.flap_mm:
            missing.append(f"    {target.stem} = {one.flap_mm:g}")
    if missing:
        lines += ["collection.toml needs:", f"    [flaps_mm.{to.name}]", *missing]
    return lines


def _target(file: Path, to: Binder, out: Path | None, several: bool) -> Path:
    if out is not None:
        return out / file.name if several or out.is_dir() else out
    if _collection(file):
        return file.parent.parent / to.name / file.name
    return file.with_name(f"{file.stem}-{to.name}{file.suffix}")


def _collection(file: Path) -> Path | None:
    """The collection that a template lies in, in the folder of its size."""
    folder = file.resolve().parent.parent
    return folder if (folder / _COLLECTION).is_file() else None


def _flaps_of(collection: Path | None, to: Binder) -> Mapping[str, float]:
    """The flaps that a collection has for a size already, mm; a broken one is found elsewhere."""
    if collection is None:
        return {}
    flaps = read_toml(collection / _COLLECTION).data.get("flaps_mm")
    told = flaps.get(to.name) if isinstance(flaps, Mapping) else None
    if not isinstance(told, Mapping):
        return {}
    return {name: float(width) for name, width in told.items() if isinstance(width, int | float)}
