"""What the page in the browser is told: plain dictionaries of what the desk knows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH
from pipeline.desk.desk import Desk, Edition, keys_of_view
from pipeline.desk.notes import Note
from pipeline.plan.model import Binding, Side
from pipeline.proof.approval.fingerprints import pages_of
from pipeline.proof.approval.passed import PageState, SetState, State
from pipeline.proof.approval.record import PassFile, Verdict
from pipeline.proof.pictures.pictures import MARGIN_MM, SetPictures
from pipeline.proof.read.contents import Contents, PageNote, fore_edge_on_right

Json = dict[str, Any]


def about_season(desk: Desk) -> Json:
    """The overview: every set, and how far it is."""
    passes = desk.passes()
    return {
        "title": desk.title,
        "sets": [_line(desk, name, passes) for name in desk.folders],
    }


def _line(desk: Desk, name: str, passes: PassFile) -> Json:
    try:
        edition = desk.edition(name)
    except UserError as problem:
        return {"name": name, "problem": "not made yet" if desk.watched else str(problem)}
    contents = edition.contents
    state = desk.state(edition, passes)
    findings = desk.known(edition).findings
    return {
        "name": name,
        **heading(contents),
        "pages": sum(1 for _ in pages_of(contents)),
        "counts": _counts(state),
        "passed": state.passed if state else None,
        "sent_back": state.sent_back if state else False,
        "findings": None if findings is None else len(findings),
    }


def heading(contents: Contents) -> Json:
    """What a set is called, and what it is for."""
    leaves, sheets = len(contents.leaves), len(contents.sheets)
    return {
        "title": contents.set.title,
        "period": contents.period.title,
        "binder": shown(contents.binder.name),
        "paper": shown(contents.paper.name),
        "language": contents.language,
        "amount": f"{_of(leaves, 'leaf', 'leaves')}, {_of(sheets, 'sheet', 'sheets')}",
    }


def shown(name: str) -> str:
    """A size's name as people write it.

    >>> shown("a5"), shown("half-letter")
    ('A5', 'Half letter')
    """
    words = name.replace("-", " ")
    return words.upper() if any(sign.isdigit() for sign in words) else words.capitalize()


def _of(count: int, one: str, several: str) -> str:
    return f"{count} {one if count == 1 else several}"


def _counts(state: SetState | None) -> Json | None:
    if state is None:
        return None
    return {kind.value: count for kind, count in state.counts.items()}


def about_set(desk: Desk, edition: Edition) -> Json:
    """A set: its views in reading order, its pages, and how each stands."""
    passes = desk.passes()
    state = desk.state(edition, passes)
    known = desk.known(edition)
    twins = desk.twins(edition, state, passes) if state else {}
    pages = {page.key: page for page in state.pages} if state else {}
    contents = edition.contents
    # What only needs the table of contents, no open file.
    measured = SetPictures(contents, (None, None), MM_PER_INCH)
    note = passes.of(edition.name).sent_back
    return {
        "name": edition.name,
        "files": edition.files,
        **heading(contents),
        "sheets": len(contents.sheets),
        "right_bound": contents.binding is Binding.RIGHT,
        "width_mm": measured.view_width_mm,
        "height_mm": contents.binder.height_mm + 2 * MARGIN_MM,
        "rings_mm": MARGIN_MM + measured.reach_mm[0] + 3.5,
        "views": [
            {**_view(measured, view), "version": version}
            for view, version in zip(measured.views, desk.view_versions(edition), strict=True)
        ],
        "pages": {
            key: {
                **_page(measured, key, leaf, face),
                "findings": _findings(known.findings, (leaf, face)),
                **_standing(pages.get(key), twins.get(key)),
            }
            for key, leaf, face in pages_of(contents)
        },
        "elsewhere": _findings(known.findings, None),
        "gone": [
            {"key": page.key, "label": page.passed.label if page.passed else ""}
            for page in (state.pages if state else ())
            if page.state is State.GONE
        ],
        "counts": _counts(state),
        "passed": state.passed if state else None,
        "sent_back": None
        if note is None
        else {
            "note": note.note,
            "by": note.by,
            "at": note.at,
            "stands": note.files == edition.files,
        },
        "findings": None if known.findings is None else len(known.findings),
        "twins": sorted({shown(paper) for paper in twins.values()}),
    }


def _view(measured: SetPictures, view: tuple[int | None, int | None]) -> Json:
    contents = measured.contents
    seen = [
        (leaf, face)
        for leaf, face in zip(view, (Side.VERSO, Side.RECTO), strict=True)
        if leaf is not None
    ]
    notes = [contents.leaves[leaf].page(face) for leaf, face in seen]
    labels = list(dict.fromkeys(_days_of(note) for note in notes if note))
    kinds = list(dict.fromkeys(kind_of(note.template) for note in notes if note))
    flaps = [
        "right" if fore_edge_on_right(face, contents.binding) else "left"
        for leaf, face in seen
        if measured.folds(leaf, face)
    ]
    title = " · ".join(labels) or "blank"
    return {
        "title": title[:1].upper() + title[1:],
        "kinds": " · ".join(kind for kind in kinds if kind != title),
        "pages": list(keys_of_view(view, contents)),
        "flaps": flaps,
        "rings": None not in view,
    }


def _days_of(note: PageNote) -> str:
    """A page's label without what sort of page it is, unless it says nothing else."""
    return note.label.removeprefix(kind_of(note.template)).strip() or note.label


def kind_of(template: str) -> str:
    """What a template is called in a list of pages.

    >>> kind_of("week-two-flap-verso")
    'week two flap'
    """
    stem = template.removesuffix("-verso").removesuffix("-recto")
    return stem.replace("-", " ")


def _page(measured: SetPictures, key: str, leaf: int, face: Side) -> Json:
    contents = measured.contents
    note, placed = contents.leaves[leaf].page(face), contents.find(leaf, face)
    where = f"leaf {leaf + 1} {'front' if face is Side.RECTO else 'back'}"
    if placed is not None:
        where += f", sheet {contents.sheets[placed.sheet].number} side {placed.side}"
    x, y = measured.corner(leaf, face)
    binder, flap = contents.binder, contents.leaves[leaf].flap_mm
    on_right = fore_edge_on_right(face, contents.binding)
    return {
        "key": key,
        "label": note.label if note else "blank",
        "kind": kind_of(note.template) if note else "",
        "where": where,
        "side": "right" if on_right else "left",
        "corner_mm": [x, y],
        "flat_mm": [binder.width_mm + flap, binder.height_mm],
        "flap_mm": flap if measured.folds(leaf, face) else 0,
        "page_x_mm": x if on_right else x + flap,
        "page_mm": [binder.width_mm, binder.height_mm],
    }


def _standing(page: PageState | None, twin: str | None) -> Json:
    if page is None:
        return {"state": None, "passed": None, "back": None, "came_from": "", "twin": ""}
    back = page.sent_back
    return {
        "state": page.state.value,
        "passed": _verdict(page.passed),
        "back": _verdict(back),
        "came_from": place_of(page.came_from) if page.came_from != page.key else "",
        "twin": shown(twin) if twin else "",
    }


def place_of(key: str) -> str:
    """What a page's key says, in words.

    >>> place_of("leaf-003-verso"), place_of("")
    ('leaf 3 back', '')
    """
    if not key:
        return ""
    _, leaf, face = key.split("-")
    return f"leaf {int(leaf)} {'front' if face == 'recto' else 'back'}"


def _verdict(verdict: Verdict | None) -> Json | None:
    if verdict is None:
        return None
    return {"by": verdict.by, "at": verdict.at, "note": verdict.note, "label": verdict.label}


def _findings(found: Sequence[Note] | None, on: tuple[int, Side] | None) -> list[Json]:
    """The findings on a page, or those on none."""
    return [
        {
            "severity": {"must": "must be mended", "look": "worth a look"}[one.severity],
            "message": f"{one.where}: {one.message}" if one.where else one.message,
            "remedy": one.what_to_do,
            "place": list(one.place) if one.place is not None and one.on else None,
        }
        for one in found or ()
        if (on in one.on if on is not None else not one.on)
    ]


def about_sheets(edition: Edition) -> list[Json]:
    """The sheets of a set: their sizes, what is on them, and how they are turned over."""
    contents = edition.contents
    told: list[Json] = []
    for sheet in contents.sheets:
        upright = sheet.height_mm >= sheet.width_mm
        sides = [
            ", ".join(
                f"leaf {one.leaf + 1} {'front' if one.face is Side.RECTO else 'back'}"
                for one in sheet.placements(side)
            )
            for side in (1, 2)
        ]
        told.append(
            {
                "number": sheet.number,
                "width_mm": sheet.width_mm,
                "height_mm": sheet.height_mm,
                "across": (contents.flip == "long") == upright,
                "side_1": sides[0] or "nothing",
                "side_2": sides[1] or "nothing",
            }
        )
    return told
