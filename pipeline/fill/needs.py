"""What a collection asks of faces, and how tightly its texts sit: for looking, not for printing."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from pipeline.fill.filling import texts_of_set
from pipeline.fill.template import TemplateFile, read_template
from pipeline.plan.model import SetPlan
from pipeline.svg.tree import SVG, inherited
from pipeline.text.fonts import GENERIC_FAMILIES, Faces, FontBook
from pipeline.text.shape import advance
from pipeline.text.style import families


@dataclass(frozen=True)
class FamilyNeed:
    """A family that text of a collection is set in, or that stands in for one.

    ``used_by`` are the names of the templates; ``origin`` says where it is found, "" when it is
    not; ``weights`` as the files have them; ``licence`` in the file's own words.
    """

    family: str
    used_by: tuple[str, ...]
    origin: str
    weights: str
    licence: str
    embedding: bool


def families_needed(templates: Sequence[TemplateFile], faces: Faces) -> list[FamilyNeed]:
    """Every family the templates name and every one that stands in, in the order they are met.

    Raises UserError for a template that cannot be read.
    """
    users: dict[str, set[str]] = {}
    for file in templates:
        for text in read_template(file).root.iter(SVG + "text", SVG + "tspan"):
            for family in families(inherited(text, "font-family")):
                if family.casefold() not in GENERIC_FAMILIES:
                    users.setdefault(family, set()).add(file.path.stem)
    for entries in faces.book().fallback.values():
        for entry in entries:
            users.setdefault(entry.family, set())
    return [_need(family, tuple(sorted(used)), faces) for family, used in users.items()]


def _need(family: str, used_by: tuple[str, ...], known: Faces) -> FamilyNeed:
    faces = known.book().faces(family)
    if not faces:
        return FamilyNeed(family, used_by, "", "", "", False)
    origins = sorted({known.origin(face) for face in faces} - {""})
    drawn = next((origin for origin in origins if origin.endswith(".svg")), "")
    low = min(face.weights[0] for face in faces)
    high = max(face.weights[1] for face in faces)
    return FamilyNeed(
        family,
        used_by,
        drawn or ("the collection" if origins else "a font package"),
        f"{low:g}" if low == high else f"{low:g} to {high:g}",
        faces[0].licence,
        not any(face.forbids_embedding for face in faces),
    )


class TightText(NamedTuple):
    """How one key's text sits in its room, at its tightest.

    ``share`` is the width it takes at drawn size, as a share of the room; ``form`` counts from 0,
    the longest; ``scale`` is below 1 where it is set smaller.
    """

    key: str
    text: str
    page: str
    language: str
    share: float
    form: int
    scale: float


def tightest(
    plans: Sequence[SetPlan],
    templates: Callable[[SetPlan], Mapping[str, TemplateFile]],
    book: FontBook,
) -> list[TightText]:
    """For each key the text that fills its room most, over all pages and languages of ``plans``.

    Raises UserError as filling does, for what cannot fit at all.
    """
    found: dict[str, TightText] = {}
    for plan in plans:
        for page, said in texts_of_set(plan, templates(plan), book):
            name = f"{page.template} {page.label}"
            for key, room, text, (form, scale) in said:
                if not text or room.width <= 0:
                    continue
                share = advance(text, room.style, book) / room.width
                if key not in found or share > found[key].share:
                    found[key] = TightText(key, text, name, plan.language, share, form, scale)
    return sorted(found.values(), key=lambda text: -text.share)
