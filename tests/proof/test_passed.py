"""What was passed, what became of it, and that two desks do not spoil each other's record."""

from __future__ import annotations

import json
import multiprocessing
import shutil
from pathlib import Path

import pypdf
import pytest

from pipeline.app.build import make_season
from pipeline.base.errors import UserError
from pipeline.impose.contents import edition_digest
from pipeline.proof.approval.fingerprints import (
    PRINT_DPI,
    PagePrint,
    PassedPictures,
    Place,
    page_as_printed,
    pages_of,
    prints_of,
)
from pipeline.proof.approval.passed import (
    PassFile,
    Seen,
    SetRecord,
    SetSentBack,
    SetState,
    State,
    change_pass_file,
    difference,
    pass_file,
    read_pass_file,
    redrawn_alike,
    set_state,
    with_passed,
    with_sent_back,
)
from pipeline.proof.pictures.pictures import open_set
from tests.conftest import ROOT
from tests.set_text import read_set

AT = "2027-01-05T09:00:00Z"


def season(weeks: str) -> str:
    return f"""
name = "passing"
title = "Passing"
collection = "kitchen_garden"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4"]
weeks = "majority"
[[period]]
name = "some"
{weeks}
[[set]]
name = "lists"
title = "Lists"
opening = "opening"
closing = "closing"
spreads = [
  {{ verso = "week-two-flap-verso", recto = "week-two-flap-recto", per = "week" }},
  {{ verso = "sowing-list", recto = "bed-plan", per = "week" }},
]
"""


class Work:
    """A season in a folder of its own, with everything in it passed."""

    def __init__(self, folder: Path, record: SetRecord | None = None) -> None:
        self.folder = folder
        self.season = folder / "passing.toml"
        self.kept = PassedPictures(folder / "kept")
        self.record = record or SetRecord()

    @classmethod
    def fresh(cls, folder: Path, weeks: str) -> Work:
        """Built and passed."""
        shutil.copytree(ROOT / "templates_svg", folder / "templates_svg")
        work = cls(folder)
        work.build(weeks)
        work.record = work.pass_all()
        return work

    def build(self, weeks: str) -> None:
        self.season.write_text(season(weeks), "utf-8")
        make_season(self.season, self.folder / "build", cache=self.folder / "cache")

    @property
    def set_folder(self) -> Path:
        return self.folder / "build" / "passing" / "some" / "lists" / "a5-a4-en-GB"

    def pass_all(self) -> SetRecord:
        seen = {}
        with open_set(self.set_folder, PRINT_DPI) as pictures:
            for key, leaf, face in pages_of(pictures.contents):
                found = page_as_printed(pictures, leaf, face)
                self.kept.keep(found)
                page = pictures.contents.leaves[leaf].page(face)
                assert page is not None
                seen[key] = Seen(page.label, found.print)
        return with_passed(SetRecord(), seen, "Ada", AT)

    def state(self) -> SetState:
        prints = prints_of(self.set_folder)
        redrawn = redrawn_alike(self.set_folder, self.record, prints, self.kept, {})
        return set_state(self.record, prints, edition_digest(self.set_folder), redrawn)

    def say(self, label: str, text: str) -> None:
        path = self.folder / "templates_svg" / "kitchen_garden" / "labels" / "en.toml"
        old = path.read_text("utf-8")
        line = next(line for line in old.splitlines() if line.startswith(f"{label} = "))
        path.write_text(old.replace(line, f'{label} = "{text}"'), "utf-8")


MARCH = 'month = "2027-03"'


@pytest.fixture(scope="module")
def march(tmp_path_factory: pytest.TempPathFactory) -> Work:
    """Built and passed once; not to be changed."""
    return Work.fresh(tmp_path_factory.mktemp("march"), MARCH)


@pytest.fixture
def work(march: Work, tmp_path: Path) -> Work:
    """A copy for a test to change."""
    shutil.copytree(march.folder, tmp_path / "work")
    return Work(tmp_path / "work", march.record)


def test_all_passed_and_built_again(work: Work) -> None:
    shutil.rmtree(work.folder / "build")
    work.build(MARCH)
    state = work.state()
    assert state.passed
    assert {page.state for page in state.pages} == {State.UNCHANGED}
    assert len(state.pages) == 18


def test_a_file_written_anew_with_the_same_pages_keeps_its_pass(work: Work) -> None:
    for name in ("side-1.pdf", "side-2.pdf"):
        writer = pypdf.PdfWriter(work.set_folder / name)
        writer.add_metadata({"/Producer": "something else", "/Title": "another title"})
        for page in writer.pages:
            page.compress_content_streams(level=1)
        before = (work.set_folder / name).read_bytes()
        writer.write(work.set_folder / name)
        assert (work.set_folder / name).read_bytes() != before
    assert work.state().passed


def test_one_label_withdraws_the_pass_of_exactly_the_pages_that_show_it(tmp_path: Path) -> None:
    weeks = 'months = ["2027-03", "2027-05"]'
    work = Work.fresh(tmp_path / "work", weeks)
    work.say("sowing", "What to sow")
    work.build(weeks)
    state = work.state()
    changed = {page.key for page in state.pages if page.state is State.CHANGED}
    # pdfium's own reading of the new files says where the label is.
    shows = {
        f"leaf-{text.leaf + 1:03}-{text.face.value}"
        for text in read_set(work.set_folder)
        if text.text == "What to sow"
    }
    assert changed == shows
    assert len(changed) == 13
    assert {page.state for page in state.pages if page.key not in changed} == {State.UNCHANGED}
    assert not state.passed


def test_what_is_different_is_told_in_words_and_pixels(work: Work) -> None:
    work.say("sowing", "What to sow")
    work.build(MARCH)
    page = next(page for page in work.state().pages if page.state is State.CHANGED)
    assert page.passed is not None
    with open_set(work.set_folder, PRINT_DPI) as pictures:
        place = next(place for place in pages_of(pictures.contents) if place[0] == page.key)
        now = page_as_printed(pictures, place[1], place[2])
    found = difference(page.passed, now, work.kept)
    assert (found.words_lost, found.words_added) == (("Sowing list",), ("What to sow",))
    assert found.picture is not None
    assert found.picture.differing > 100
    assert not found.alike


def test_without_the_kept_pictures_it_is_said_that_there_are_none(work: Work) -> None:
    shutil.rmtree(work.kept.folder)
    with open_set(work.set_folder, PRINT_DPI) as pictures:
        key, leaf, face = next(iter(pages_of(pictures.contents)))
        now = page_as_printed(pictures, leaf, face)
    passed = work.record.pages[key].passed
    assert passed is not None
    assert not difference(passed, now, work.kept).kept
    assert work.state().passed


def test_a_week_more_in_front_moves_the_others(work: Work) -> None:
    work.build("from = 2027-02-22\nto = 2027-03-28")
    state = work.state()
    by_key = {page.key: page for page in state.pages}
    # Leaf 1's back has the new week now; what was there is two leaves further on.
    assert by_key["leaf-001-verso"].state is State.CHANGED
    assert by_key["leaf-003-verso"].state is State.MOVED
    assert by_key["leaf-003-verso"].came_from == "leaf-001-verso"
    assert not state.passed


def test_pages_that_are_no_more_are_told(work: Work) -> None:
    work.build("from = 2027-03-01\nto = 2027-03-21")
    gone = [page.key for page in work.state().pages if page.state is State.GONE]
    assert gone == [
        "leaf-008-recto",
        "leaf-008-verso",
        "leaf-009-recto",
        "leaf-009-verso",
    ]
    assert not work.state().passed


def test_another_place_on_the_sheet_has_to_be_passed_again(work: Work) -> None:
    key = next(iter(prints_of(work.set_folder)))
    before = work.record.pages[key].passed
    assert before is not None
    assert before.place is not None
    shifted = PagePrint(
        before.picture, before.text, Place(before.place.sheet, 1, before.place.x_mm + 3, 43.5, 0)
    )
    work.record = with_passed(work.record, {key: Seen("", shifted)}, "Ada", AT)
    state = {page.key: page.state for page in work.state().pages}
    assert state.pop(key) is State.MOVED
    assert set(state.values()) == {State.UNCHANGED}


def test_sent_back_until_it_changes(work: Work) -> None:
    prints = prints_of(work.set_folder)
    label = next(
        f"leaf-{text.leaf + 1:03}-{text.face.value}"
        for text in read_set(work.set_folder)
        if text.text == "Sowing list"
    )
    seen = {label: Seen("list", prints[label])}
    work.record = with_sent_back(work.record, seen, "Ada", AT, "too narrow")
    page = next(page for page in work.state().pages if page.key == label)
    assert page.state is State.SENT_BACK
    assert page.sent_back is not None
    assert page.sent_back.note == "too narrow"
    work.say("sowing", "Sowings")
    work.build(MARCH)
    page = next(page for page in work.state().pages if page.key == label)
    assert page.state is State.CHANGED
    assert page.sent_back is not None


def test_a_set_sent_back_is_not_passed_whatever_its_pages_are() -> None:
    page = PagePrint("p", "t", None)
    record = with_passed(SetRecord(), {"a": Seen("", page)}, "Ada", AT)
    assert set_state(record, {"a": page}, "files").passed
    sent = SetRecord(record.pages, SetSentBack("all too pale", "Ada", AT, "files"))
    assert not set_state(sent, {"a": page}, "files").passed
    assert set_state(sent, {"a": page}, "other files").passed


def test_what_another_set_shows_and_has_passed_was_seen() -> None:
    page, other = PagePrint("p", "t", None), PagePrint("p", "another text", None)
    shown = {"leaf-001-recto": page, "leaf-001-verso": page, "leaf-002-recto": other}
    record = with_passed(SetRecord(), {"leaf-004-recto": Seen("", page)}, "Ada", AT)
    passes = PassFile(sets={"march/weeks/a5-a4-en": record})
    # On the same side of whichever leaf, in whichever other set; never in the set itself.
    elsewhere = passes.seen_elsewhere("march/weeks/a5-letter-en", shown)
    assert elsewhere == {"leaf-001-recto": "march/weeks/a5-a4-en"}
    assert passes.seen_elsewhere("march/weeks/a5-a4-en", shown) == {}
    states = set_state(SetRecord(), shown, "files", None, elsewhere)
    assert [one.state for one in states.pages] == [State.SEEN, State.NEW, State.NEW]
    assert states.pages[0].seen_in == "march/weeks/a5-a4-en"
    assert not states.passed
    # Once passed it is as any other; sent back it stays so.
    mine = with_passed(SetRecord(), {"leaf-001-recto": Seen("", page)}, "Ada", AT)
    assert set_state(mine, shown, "", None, elsewhere).pages[0].state is State.UNCHANGED
    sent = with_sent_back(mine, {"leaf-001-recto": Seen("", page)}, "Ada", AT, "too pale")
    assert set_state(sent, shown, "", None, elsewhere).pages[0].state is State.SENT_BACK
    # Nor is anything offered that was sent back there, alone or with its set.
    back = with_sent_back(record, {"leaf-004-recto": Seen("", page)}, "Ada", AT, "too pale")
    whole = SetRecord(record.pages, SetSentBack("all too pale", "Ada", AT, "files"))
    for one in (back, whole):
        passes = PassFile(sets={"march/weeks/a5-a4-en": one})
        assert passes.seen_elsewhere("march/weeks/a5-letter-en", shown) == {}


def test_a_page_rounded_otherwise_on_another_paper_is_held_against_it() -> None:
    there, here = PagePrint("p", "t", None), PagePrint("nearly p", "t", None)
    record = with_passed(SetRecord(), {"leaf-001-recto": Seen("", there)}, "Ada", AT)
    passes = PassFile(sets={"a4": record})
    shown = {"leaf-001-recto": here, "leaf-002-recto": here}
    assert passes.nearly_elsewhere("letter", ["a4"], shown) == {"leaf-001-recto": ("a4", "p")}
    assert passes.nearly_elsewhere("letter", [], shown) == {}
    mine = with_passed(SetRecord(), {"leaf-001-recto": Seen("", here)}, "Ada", AT)
    assert passes.having("letter", mine).nearly_elsewhere("letter", ["a4"], shown) == {}


# The record


def test_the_record_is_plain_sorted_and_read_back_the_same(tmp_path: Path) -> None:
    path = pass_file(tmp_path / "spring.toml")
    assert path.name == "spring.passed.json"
    page = PagePrint("p", "t", Place(1, 2, 10.0, 43.5, 90))
    record = with_passed(SetRecord(), {"b": Seen("W10", page), "a": Seen("Ä", page)}, "Ada", AT)
    written = change_pass_file(path, lambda file: file.having("march/x/a5", record))
    assert read_pass_file(path) == written
    text = path.read_text("utf-8")
    assert text == json.dumps(json.loads(text), indent=1, sort_keys=True, ensure_ascii=False) + "\n"
    assert "Ä" in text
    assert [file.name for file in tmp_path.iterdir()] == ["spring.passed.json"]


def _with_one_more(key: str, page: PagePrint, file: PassFile) -> PassFile:
    return file.having("set", with_passed(file.of("set"), {key: Seen("", page)}, "Ada", AT))


def _pass_many(path: Path, who: str) -> None:
    for number in range(25):
        page = PagePrint(f"{number}", who, None)

        def change(
            file: PassFile, key: str = f"{who}-{number}", page: PagePrint = page
        ) -> PassFile:
            record = with_passed(file.of("set"), {key: Seen("", page)}, who, AT)
            return file.having("set", record)

        change_pass_file(path, change)


def test_two_desks_at_once_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "spring.passed.json"
    context = multiprocessing.get_context("spawn")
    desks = [context.Process(target=_pass_many, args=(path, who)) for who in ("Ada", "Ben")]
    for desk in desks:
        desk.start()
    for desk in desks:
        desk.join(60)
        assert desk.exitcode == 0
    pages = read_pass_file(path).of("set").pages
    assert set(pages) == {f"{who}-{number}" for who in ("Ada", "Ben") for number in range(25)}


def test_a_spoilt_record_is_told_in_one_line_and_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "spring.passed.json"
    for spoilt in ("<<<<<<< HEAD\n{}", '{"sets": {"a": {"pages": {"b": {"passed": 3}}}}}'):
        path.write_text(spoilt, "utf-8")
        with pytest.raises(UserError, match=r"spring\.passed\.json"):
            change_pass_file(path, lambda file: file)
        assert path.read_text("utf-8") == spoilt


def test_a_change_that_fails_leaves_the_record_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "spring.passed.json"
    change_pass_file(path, lambda file: file.having("a", SetRecord()))
    before = path.read_bytes()

    def fails(file: PassFile) -> PassFile:
        raise RuntimeError

    with pytest.raises(RuntimeError):
        change_pass_file(path, fails)
    assert path.read_bytes() == before
