"""Writes starter templates: a page of a kind, at true size for a binder, ready to be drawn on."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.base.folders import write_whole
from pipeline.base.nearest import did_you_mean
from pipeline.drawings.starters.pages import DRAWN, LABELS
from pipeline.drawings.starters.sheet import Sheet
from pipeline.impose.leaf import LeafGeometry
from pipeline.plan.model import Binder, Side

KINDS = tuple(DRAWN)
"""Kinds of starter pages there are."""


@dataclass(frozen=True)
class Starter:
    """A starter template: the file, and the labels it shows with their English words."""

    svg: bytes
    labels: dict[str, str]


def starter(kind: str, binder: Binder, flap_mm: float = 0.0, side: Side = Side.RECTO) -> Starter:
    """A starter template of a kind for one side of a binder's leaf.

    ``flap_mm`` is the width of the flap on its fore edge. Raises UserError for an unknown kind,
    and for a flap that would lie on the rings.

    >>> from pipeline.plan.sizes import load_sizes
    >>> b'id="day1-name"' in starter("week", load_sizes(None).binder("a5")).svg
    True
    """
    if kind not in DRAWN:
        raise UserError(f"starter '{kind}'", "no such kind of page", did_you_mean(kind, KINDS))
    face = LeafGeometry(binder, flap_mm).face(side)
    sheet = Sheet(face, f"{kind}, {binder.title} {side}")
    DRAWN[kind](sheet)
    svg = sheet.svg()
    return Starter(
        svg, {key: word for key, word in LABELS.items() if f'"label-{key}"'.encode() in svg}
    )


def write_starter(target: Path, kind: str, binder: Binder, flap_mm: float, side: Side) -> list[str]:
    """Writes a starter template to ``target``; returns lines that say what else it needs.

    Raises UserError where there is a file already, and as ``starter`` does.
    """
    made = starter(kind, binder, flap_mm, side)
    if target.exists():
        raise UserError(str(target), "is there already", "choose another file with --out")
    write_whole(target, made.svg)
    lines = [str(target)]
    if flap_mm:
        lines.append("collection.toml needs:")
        lines += [f"    [flaps_mm.{binder.name}]", f"    {target.stem} = {flap_mm:g}"]
    if made.labels:
        lines.append("labels/en.toml needs:")
        lines += [f"    {key} = {json.dumps(word)}" for key, word in made.labels.items()]
    return lines
