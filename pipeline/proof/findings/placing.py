"""Whether text is where it can be read: whole, apart, off the cuts, the holes and the fold."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.base.geometry import Rect
from pipeline.impose.leaf import Face
from pipeline.proof.findings.finding import Finding
from pipeline.proof.findings.reading import FaceRead, SideRead, finding_on
from pipeline.proof.findings.subject import Subject
from pipeline.proof.read.contents import upright
from pipeline.proof.read.objects import overlap

_SLACK_MM = 0.1
"""Boxes of letters are a little larger than their ink."""
_SHARED = 0.12
"""Two texts that share so much of the smaller one's box lie on each other; tails may cross."""
_TOUCH_MM = 0.4
"""They share at least so much each way."""
_CUT_MM = 0.3
"""A clip that takes so little off a letter takes only the air around it."""


def placing_findings(subject: Subject, face: FaceRead) -> Iterator[Finding]:
    """What is wrong with where the texts of a face stand."""
    geometry = subject.on_face(face.leaf, face.face)
    for text in face.texts:
        wrong = _wrong(text.box, geometry)
        if wrong:
            code, how = wrong
            yield finding_on(face, subject, code, f"'{text.text}' {how}", text.box)
    yield from _overlaps(subject, face)


def _wrong(box: Rect, face: Face) -> tuple[str, str] | None:
    """The gravest thing about a text's place, as a code and in words."""
    inked = box.grown(-_SLACK_MM)
    if not face.flat.holds(inked):
        return "text-clipped", "runs over the edge of the leaf"
    fold = face.fold_x
    if fold is not None and inked.x < fold < inked.right:
        return "text-across-fold", f"has the fold in it, {fold - box.x:.1f} mm from its left"
    if inked.overlaps(face.punch_zone):
        return "text-in-punch", "is where holes are punched"
    panels = [panel for panel in (face.safe, face.flap_safe) if panel is not None]
    if not any(panel.holds(inked) for panel in panels):
        return "text-unsafe", f"is {_distance(inked, face):.1f} mm from a cut or fold"
    return None


def _distance(box: Rect, face: Face) -> float:
    """How near a text comes to the next cut or fold."""
    lines = [face.flat.x, face.flat.right] + ([face.fold_x] if face.fold_x is not None else [])
    across = min(min(abs(box.x - x), abs(box.right - x)) for x in lines)
    return min(across, box.y - face.flat.y, face.flat.bottom - box.bottom)


def _overlaps(subject: Subject, face: FaceRead) -> Iterator[Finding]:
    texts = sorted(face.texts, key=lambda text: text.box.y)
    for index, one in enumerate(texts):
        for other in texts[index + 1 :]:
            if other.box.y >= one.box.bottom:
                break
            shared = overlap(one.box, other.box)
            if shared is None or min(shared.width, shared.height) < _TOUCH_MM:
                continue
            smaller = min(text.box.width * text.box.height for text in (one, other))
            if shared.width * shared.height >= _SHARED * smaller:
                yield finding_on(
                    face,
                    subject,
                    "text-overlaps",
                    f"'{one.text}' and '{other.text}' lie on each other",
                    shared,
                )


def clipped(subject: Subject, side: SideRead) -> Iterator[Finding]:
    """Texts that a clip of the drawing cuts off, by what is painted and what may be seen of it."""
    for item in side.art:
        if item.kind != "text" or item.clip is None:
            continue
        if item.clip.holds(item.box, _CUT_MM):
            continue
        for face in side.faces:
            if face.placement.flat.overlaps(item.box):
                box = upright(item.box, face.placement)
                said = " ".join(text.text for text in face.texts if text.box.overlaps(box, 0.2))
                yield finding_on(
                    face, subject, "text-clipped", f"'{said}' is cut off by a clip", box
                )
                break
