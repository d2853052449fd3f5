"""What the desk answers the page in the browser: plain dictionaries of what it knows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any, NamedTuple

from pipeline.base.errors import UserError
from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.desk.desk import BuiltSet, Desk, Heading, Known
from pipeline.impose.contents import PRESS, SCREEN, Contents, PageNote, fore_edge_on_right
from pipeline.impose.sheet import Placement
from pipeline.plan.model import Binding, Period, Side
from pipeline.proof.approval.fingerprints import page_key, pages_of
from pipeline.proof.approval.passed import PageState, PassFile, SetState, State, Verdict
from pipeline.proof.findings import SetFinding
from pipeline.proof.pictures.pictures import GAP_MM, MARGIN_MM, SetPictures, View, view_faces
from pipeline.proof.pictures.proofs import FACES, amounts, page_place
from pipeline.proof.read.pagecontent import PageSaid, said_of_pages

Json = dict[str, Any]


def about_season(desk: Desk, part: slice = slice(None)) -> Json:
    """The overview: every set, or a part of them in their order, and how far it is."""
    passes, names = desk.passes(), list(desk.folders)[part]
    return {"title": desk.title, "sets": [_line(desk, name, passes) for name in names]}


def first_spread(contents: Contents) -> int:
    """The number of the view of a built set that is its picture."""
    pictures = SetPictures(contents, (None, None), MM_PER_INCH)
    return {view: number for number, view in enumerate(pictures.views)}.get(pictures.main_view, 0)


def with_covers(desk: Desk, about: Json) -> Json:
    """An overview in which the first built edition of each set and period has its picture."""
    seen = set()
    for line in about["sets"]:
        product = line["name"].rpartition("/")[0]
        if "files" in line and product not in seen:
            seen.add(product)
            built = desk.built(line["name"])
            first = first_spread(built.contents)
            line["cover"] = f"{built.name}/view/{first}/open/40?v={built.versions[first]}"
    return about


def _line(desk: Desk, name: str, passes: PassFile) -> Json:
    try:
        built = desk.built(name)
    except UserError as problem:
        called = desk.headings.get(name)
        line = {"name": name, **(_in_words(called) if called else {})}
        if desk.updates:
            return {**line, "problem": "not built yet", "remedy": ""}
        fault = desk.fault(name)
        return {**line, **(fault_of(fault) if fault else as_fault(problem))}
    state = desk.state(built, passes)
    fault = desk.fault(name)
    return {
        "name": name,
        "files": built.files,
        **heading(built.contents),
        "seen": _seen(desk, built, state),
        "pages": sum(1 for _ in pages_of(built.contents)),
        "sent_back": state.sent_back if state else False,
        "fault": fault_of(fault) if fault else None,
        "unread": desk.is_unread(built),
        **_progress(state, desk.known(built)),
    }


def _seen(desk: Desk, built: BuiltSet, state: SetState | None) -> Json:
    """The pages of a set that are passed in another one already, and in which."""
    seen = [page for page in state.pages if page.state is State.SEEN] if state else []
    sets = sorted({page.seen_in for page in seen})
    words = sorted({called_from(desk, built, name) for name in sets})
    return {"pages": [page.key for page in seen], "sets": sets, "in": words}


def called_from(desk: Desk, built: BuiltSet, name: str) -> str:
    """What tells another set from this one, in words: "A5 on A4", "Weeks, March, A5 on A4"."""
    try:
        there = desk.built(name).contents
    except (KeyError, UserError):
        return "another set"
    here, called = built.contents, heading_of(there)
    words = f"{called.binder} on {called.paper}"
    if there.language != here.language:
        words += f" in {called.language}"
    same = (there.set.name, there.period.name) == (here.set.name, here.period.name)
    return words if same else f"{called.title}, {called.period}, {words}"


def fault_of(fault: SetFinding) -> Json:
    """What is wrong with a set as a whole, as sentences."""
    words = fault.in_words
    if words.startswith("a set "):
        words = f"this {words.removeprefix('a ')}"
    return {"problem": _sentence(words), "remedy": _sentence(fault.what_to_do)}


def as_fault(problem: UserError) -> Json:
    """The same for what cannot be shown, before it is known how it stands."""
    return {"problem": _sentence(problem.what), "remedy": _sentence(problem.remedy)}


def _sentence(text: str) -> str:
    """A message as a sentence.

    >>> _sentence("a set is out of date")
    'A set is out of date.'
    """
    return text[:1].upper() + text[1:].rstrip(".") + "." if text else ""


def _progress(state: SetState | None, known: Known) -> Json:
    return {
        "counts": {kind.value: count for kind, count in state.counts.items()} if state else None,
        "passed": state.passed if state else None,
        "findings": None if known.findings is None else len(known.findings),
    }


def heading(contents: Contents) -> Json:
    """What a set is called, what it is for, and where it is left blank."""
    blank = [
        f"{FACES[face]} of leaf {number}"
        for number, leaf in enumerate(contents.leaves, 1)
        for face in Side
        if leaf.page(face) is None
    ]
    # A set of spreads begins and ends with a blank face; a set with many of them is meant so.
    left = [f"{' and '.join(blank)} blank"] if 0 < len(blank) <= 2 else []
    amount = ", ".join([*amounts(contents), *left])
    return {**_in_words(heading_of(contents)), "amount": amount}


def _in_words(called: Heading) -> Json:
    """What a set is called, word by word."""
    return {**asdict(called), "edition": called.edition}


def heading_of(contents: Contents) -> Heading:
    """What a set is called, by what was made of it."""
    return Heading.of(
        contents.set.title,
        contents.period.title if contents.period.first else None,
        contents.binder.name,
        contents.paper.name,
        contents.language,
    )


def about_set(desk: Desk, built: BuiltSet) -> Json:
    """A set: its views in reading order, its pages, and how each stands."""
    passes = desk.passes()
    state = desk.state(built, passes)
    known = desk.known(built)
    pages = {page.key: page for page in state.pages} if state else {}
    contents = built.contents
    # What only needs the table of contents, no open file.
    measured = SetPictures(contents, (None, None), MM_PER_INCH)
    note = passes.of(built.name).sent_back
    fault = desk.fault(built.name)
    return {
        "name": built.name,
        "files": built.files,
        **heading(contents),
        "sheets": len(contents.sheets),
        "right_bound": contents.binding is Binding.RIGHT,
        "width_mm": measured.view_width_mm,
        "height_mm": measured.view_height_mm,
        "rings_mm": MARGIN_MM + measured.reach_mm[0] + GAP_MM / 2,
        "views": [
            {**_view(measured, view), "version": version}
            for view, version in zip(measured.views, built.versions, strict=True)
        ],
        "pages": {
            key: {
                **_page(measured, key, leaf, face),
                "findings": _findings(known.findings, (leaf, face)),
                **_standing(desk, built, pages.get(key)),
                **_kept(desk, built, pages.get(key)),
            }
            for key, leaf, face in pages_of(contents)
        },
        "elsewhere": _findings([one for one in known.findings or () if one is not fault], None),
        "gone": [
            {"key": page.key, "label": page.passed.label if page.passed else ""}
            for page in (state.pages if state else ())
            if page.state is State.GONE
        ],
        "sent_back": note and {**asdict(note), "stands": note.files == built.files},
        "fault": fault_of(fault) if fault else None,
        "unread": desk.is_unread(built),
        **_progress(state, known),
        "seen": _seen(desk, built, state),
    }


def _view(measured: SetPictures, view: View) -> Json:
    contents, seen = measured.contents, view_faces(view)
    notes = [contents.leaves[leaf].page(face) for leaf, face in seen]
    labels = list(dict.fromkeys(_days_of(note) for note in notes if note))
    kinds = list(dict.fromkeys(kind_of(note.template) for note in notes if note))
    flaps = [
        "right" if fore_edge_on_right(face, contents.binding) else "left"
        for leaf, face in seen
        if measured.folds(leaf, face)
    ]
    title = " · ".join(labels) or "blank"
    if any(_runs_out(note, contents.period) for note in notes if note):
        title = f"{contents.period.title} · {title}"
    shown = {note.label for note in notes if note}
    return {
        "title": title[:1].upper() + title[1:],
        "kinds": " · ".join(kind for kind in kinds if kind != title),
        "pages": [page_key(*one) for one, note in zip(seen, notes, strict=True) if note],
        "left_out": [one.said for one in contents.left_out if one.page in shown],
        "flaps": flaps,
        "rings": None not in view,
    }


def _runs_out(note: PageNote, period: Period) -> bool:
    """Whether some of a page's days lie beside its set's period, as those of a month's last week
    may: such a week may be headed by the month of most of its days."""
    first, last = period.first, period.last
    if first is None or last is None:
        return False
    return any(not first <= day <= last for day in note.dates)


def _days_of(note: PageNote) -> str:
    """A page's label without what sort of page it is, unless it says nothing else."""
    return note.label.removeprefix(kind_of(note.template)).strip() or note.label


def kind_of(template: str) -> str:
    """What a template is called in a list of pages.

    >>> kind_of("week-two-flap-verso")
    'week two flap'
    """
    return template.removesuffix("-verso").removesuffix("-recto").replace("-", " ")


def _page(measured: SetPictures, key: str, leaf: int, face: Side) -> Json:
    contents = measured.contents
    note, x = contents.leaves[leaf].page(face), measured.page_x_mm(face)
    binder, flap = contents.binder, contents.leaves[leaf].flap_mm
    shape = contents.shape(leaf, face)
    on_right = fore_edge_on_right(face, contents.binding)
    return {
        "key": key,
        "label": note.label if note else "blank",
        "kind": kind_of(note.template) if note else "",
        "where": page_place(contents, leaf, face),
        "side": "right" if on_right else "left",
        "corner_mm": [x - shape.trim.x, measured.page_y_mm - shape.trim.y],
        "flat_mm": [shape.flat.width, shape.flat.height],
        "flap_mm": flap if measured.folds(leaf, face) else 0,
        "page_x_mm": x,
        "page_mm": [binder.width_mm, binder.height_mm],
    }


def _standing(desk: Desk, built: BuiltSet, page: PageState | None) -> Json:
    if page is None:
        return {"state": None, "passed": None, "back": None, "came_from": "", "seen_in": ""}
    back = page.sent_back
    return {
        "state": page.state.value,
        "passed": _verdict(page.passed),
        "back": _verdict(back),
        "came_from": place_of(page.came_from) if page.came_from != page.key else "",
        "seen_in": called_from(desk, built, page.seen_in) if page.seen_in else "",
    }


def _kept(desk: Desk, built: BuiltSet, page: PageState | None) -> Json:
    """Whether what was passed of a page can be shown here."""
    passed = page.passed if page else None
    return {"kept": passed is not None and desk.can_show(built, passed.picture)}


def place_of(key: str) -> str:
    """What a page's key says, in words.

    >>> place_of("leaf-003-verso"), place_of("")
    ('leaf 3 back', '')
    """
    if not key:
        return ""
    _, leaf, face = key.split("-")
    return f"leaf {int(leaf)} {FACES[Side(face)]}"


def _verdict(verdict: Verdict | None) -> Json | None:
    if verdict is None:
        return None
    return {"by": verdict.by, "at": verdict.at, "note": verdict.note, "label": verdict.label}


def _findings(found: Sequence[SetFinding] | None, on: tuple[int, Side] | None) -> list[Json]:
    """The findings on a page, or those on none."""
    answer = []
    for one in found or ():
        own = () if one.leaf is None or one.face is None else ((one.leaf, one.face), *one.also)
        if on not in (own or (None,)):
            continue
        where = f"sheet {one.sheet}" if one.sheet is not None and not own else ""
        if where and one.side is not None:
            where += f" side {one.side}"
        answer.append(
            {
                "severity": {"must": "must be mended", "look": "worth a look"}[one.severity],
                "message": f"{where}: {one.message}" if where else one.message,
                "remedy": one.what_to_do,
                "place": one.place if own else None,
            }
        )
    return answer


_EMPTY = "meant to be empty"


def _on_side(built: BuiltSet, one: Placement) -> str:
    """Which face of which leaf lies there, and whether nothing is printed on it."""
    named = f"leaf {one.leaf + 1} {FACES[one.face]}"
    is_empty = built.contents.leaves[one.leaf].page(one.face) is None
    return f"{named} ({_EMPTY})" if is_empty else named


def about_sheets(built: BuiltSet) -> list[Json]:
    """The sheets of a set: their sizes, what is on them, and how they are turned over."""
    sheets: list[Json] = []
    for sheet in built.contents.sheets:
        upright = sheet.height_mm >= sheet.width_mm
        sides = [
            ", ".join(_on_side(built, one) for one in sheet.placements(side)) for side in (1, 2)
        ]
        sheets.append(
            {
                "number": sheet.number,
                "width_mm": sheet.width_mm,
                "height_mm": sheet.height_mm,
                "across": (built.contents.flip == "long") == upright,
                "side_1": sides[0] or _EMPTY,
                "side_2": sides[1] or _EMPTY,
            }
        )
    return sheets


class EditionWords(NamedTuple):
    """An edition besides the sheets: its file, what its pages go by, whom it is for."""

    file: str
    tab: str
    made_for: str


EDITIONS = {
    "press": EditionWords(PRESS, "For the print shop", "a print shop"),
    "screen": EditionWords(SCREEN, "On screens", "screens"),
}
"""By their names in the season file."""


def has_edition(built: BuiltSet, kind: str) -> bool:
    """Whether a set was made in an edition, too."""
    return any(one.name == EDITIONS[kind].file for one in built.contents.files)


def how_to_have(kind: str) -> str:
    """What to do for an edition that a set was not made in."""
    words = EDITIONS[kind]
    return (
        f"This set isn't made for {words.made_for}. To have {words.file}, write"
        f' editions = ["sheets", "{kind}"] into the season file and build again.'
    )


def about_edition(built: BuiltSet, kind: str) -> Json:
    """The pages of an edition as its file has them: sizes, cuts and bleeds, in mm, and its inks.

    Raises UserError where the file is not there or cannot be read.
    """
    said = said_of_pages(built.folder / EDITIONS[kind].file)
    alone = kind == "screen" or _are_leaves(built.contents, said.pages)
    if kind == "screen":
        titles = [page.label or "blank" for page in said.pages]
    else:
        titles = _press_titles(built.contents, len(said.pages), alone)
    return {
        "pages": [
            {
                "title": title,
                "width_mm": page.width_mm,
                "height_mm": page.height_mm,
                "trim_mm": None if kind == "screen" else page.trim,
                "bleed_mm": page.trim.x - page.bleed.x,
            }
            for title, page in zip(titles, said.pages, strict=True)
        ],
        "together": not alone,
        "inks": said.inks,
        "profile": said.profile,
    }


def _are_leaves(contents: Contents, pages: Sequence[PageSaid]) -> bool:
    """Whether pages for a print shop are the leaves one by one, not together on its sheets."""
    flats = [contents.shape(*one).flat for one in _faces(contents)]
    return len(flats) == len(pages) and all(
        _is_as_large(page.trim, flat) for page, flat in zip(pages, flats, strict=True)
    )


def _press_titles(contents: Contents, many: int, alone: bool) -> list[str]:
    """What so many pages for a print shop show: a leaf ``alone``, or a side of a press sheet."""
    if not alone:
        return [f"Press sheet {n // 2 + 1}, side {n % 2 + 1}" for n in range(many)]
    faces = _faces(contents)
    notes = [contents.leaves[leaf].page(face) for leaf, face in faces]
    return [
        f"Leaf {leaf + 1} {FACES[face]}" + (f" · {note.label}" if note and note.label else "")
        for (leaf, face), note in zip(faces, notes, strict=True)
    ]


def _faces(contents: Contents) -> list[tuple[int, Side]]:
    return [(leaf, face) for leaf in range(len(contents.leaves)) for face in FACES]


def _is_as_large(one: Rect, other: Rect) -> bool:
    return abs(one.width - other.width) < 0.5 and abs(one.height - other.height) < 0.5
