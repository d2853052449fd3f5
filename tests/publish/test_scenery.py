"""Pages in use: what is written on them, what lies beside them, and the tables they lie on."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from functools import partial
from itertools import combinations, pairwise, product

import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image

from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.plan.collection import load_collection
from pipeline.plan.model import Side
from pipeline.plan.season import Publish
from pipeline.proof.pictures.pictures import SetPictures, open_set
from pipeline.publish.pictures.handwriting import Hand, WrittenPictures, free_lines
from pipeline.publish.pictures.openbinder import OPEN
from pipeline.publish.pictures.scenery import Scenery, real_size, scenery_of
from pipeline.publish.pictures.shoppictures import read_props, read_watermark, shop_pictures
from pipeline.publish.pictures.table import Table
from pipeline.publish.pictures.views import fan, sheet, spread
from tests.conftest import ROOT, Demo
from tests.publish.conftest import Shop
from tests.publish.test_pictures import own_faces

SEASON = ROOT / "seasons" / "2027-spring.toml"
COLLECTIONS = ("kitchen_garden", "clay_and_fire", "plain_days")
WORDS = {
    "week-running-verso": [["net the peas", "", "rake"], ["string"]],
    "week-running-recto": [["soup", "leeks"], ["rain all day"]],
}


def greys(picture: Image.Image) -> npt.NDArray[np.float64]:
    """A picture's levels."""
    return np.asarray(picture.convert("L"), np.float64)


def faces_of(pictures: SetPictures) -> list[tuple[int, Side]]:
    """All printed faces of a set."""
    leaves = enumerate(pictures.contents.leaves)
    return [(number, face) for number, leaf in leaves for face in Side if leaf.page(face)]


def test_writing_stands_where_nothing_is_printed(demo: Demo) -> None:
    """On the pages as pdfium shows them: what is written meets no print but a rule's edge."""
    with open_set(demo.folder("march", "running", "a4"), 150.0) as pictures:
        hand = Hand(WORDS, "en-GB")
        written, found = WrittenPictures(pictures, hand), 0
        for leaf, face in faces_of(pictures):
            blank, used = greys(pictures.face(leaf, face)), greys(written.face(leaf, face))
            strokes = blank - used > 60
            page = pictures.contents.leaves[leaf].page(face)
            assert strokes.any() == (page is not None and page.template in WORDS)
            found += int(strokes.any())
            assert (blank[strokes] < 200).sum() <= 0.01 * strokes.sum()
        assert found >= 8


def test_nothing_is_written_into_files_for_buyers(demo: Demo) -> None:
    folder = demo.folder("march", "running", "a4")
    before = {path: path.read_bytes() for path in folder.iterdir() if path.is_file()}
    shop_pictures(folder, written=WORDS, kinds=("close-up",), limits=Publish(picture_px=625))
    assert {path: path.read_bytes() for path in folder.iterdir() if path.is_file()} == before


def test_room_to_write_is_found() -> None:
    """A page of two columns of rules; the first rule of the second is a heading's."""
    page = Image.new("L", (590, 400), 255)
    for y in (100, 130, 160, 190):
        page.paste(120, (40, y, 280, y + 1))
        page.paste(120, (320, y, 560, y + 1))
    page.paste(0, (330, 85, 360, 98))
    rooms = free_lines(page, 100.0)
    assert [len(room) for room in rooms] == [4, 3]
    first, second = rooms[0][0], rooms[1][0]
    assert first.x == pytest.approx(11.2, abs=0.3)
    assert first.y == pytest.approx(25.4, abs=0.3)
    assert second.y == pytest.approx(33.0, abs=0.3)


@pytest.mark.parametrize("name", COLLECTIONS)
def test_each_collection_has_words_and_things(name: str) -> None:
    collection = load_collection(name, SEASON)
    for language in ("en-GB", "de"):
        assert collection.written(language)
    things = read_props(collection.folder)
    assert 2 <= len(things) <= 4
    assert all(5 < side < 300 for thing in things for side in real_size(thing))


def test_words_for_a_page_there_is_none_of(shop: Shop) -> None:
    words = shop.folder / "templates_svg/kitchen_garden/words/en.toml"
    words.write_text('notse = [["one"]]\n', "utf-8")
    collection = load_collection("kitchen_garden", shop.season)
    (told,) = collection.written_on_none("en-GB")
    assert re.fullmatch(r"words/en.toml writes on 'notse', which is no page; .* 'notes'.*", told)
    assert told in shop.publish(only="plant-record").advice
    words.write_text('notes = ["one"]\n', "utf-8")
    with pytest.raises(UserError, match="must be a list of lists of texts"):
        collection.written("en-GB")


def test_each_period_has_another_ground_flat_but_for_its_grain() -> None:
    grounds = [Scenery("m", turn=n).table((300, 300), 400).image for n in range(7)]
    levels = [np.asarray(ground, np.float64) for ground in grounds]
    for one, other in combinations(levels, 2):
        assert np.abs(one.mean(axis=(0, 1)) - other.mean(axis=(0, 1))).max() > 8
    for ground in levels:
        assert 0.5 < ground[..., 0].std() < 3


@pytest.mark.parametrize("shown", [fan, partial(spread, degrees=OPEN), sheet])
def test_each_arrangement_lies_another_way(demo: Demo, shown: Callable[..., Image.Image]) -> None:
    """Pages lie elsewhere from one listing to the next, whatever is printed on them."""
    with open_set(demo.folder("march", "two-flap-sowing", "a4"), 72.0) as pictures:
        made = [
            greys(shown(pictures, size=(200, 200), scenery=Scenery("m", arrangement=number)))
            for number in range(3)
        ]
    for one, other in pairwise(made):
        assert (np.abs(one - other) > 10).mean() > 0.04


def test_the_mark_is_never_over_what_is_written(demo: Demo) -> None:
    """Nor anywhere on a close-up, which shows no table to print it on."""
    folder = demo.folder("march", "running", "a4")
    collection = load_collection("kitchen_garden", SEASON)

    def shown(kind: str, mark: bytes | None, *, words: bool = True) -> npt.NDArray[np.float64]:
        made = shop_pictures(
            folder,
            picture_format="png",
            kinds=(kind,),
            limits=Publish(picture_px=1250),
            watermark=mark,
            faces=own_faces(),
            close_up_of=["week-running-recto"],
            written=collection.written("en-GB") if words else {},
        )
        return greys(Image.open(io.BytesIO(made.files[f"{kind}-square.png"])))

    drawing = read_watermark(collection.folder)
    assert np.array_equal(shown("close-up", None), shown("close-up", drawing))
    plain, marked = shown("spread-open", None), shown("spread-open", drawing)
    blank = shown("spread-open", None, words=False)
    mark, strokes = np.abs(plain - marked) > 6, np.abs(plain - blank) > 60
    assert mark.any()
    assert strokes.any()
    rows, columns = np.nonzero(mark)
    assert not strokes[rows.min() : rows.max(), columns.min() : columns.max()].any()


@pytest.mark.parametrize("month", ["march", "april", "may"])
def test_nothing_lies_on_what_is_written(demo: Demo, month: str) -> None:
    """The open spread with pen and things, with neither, and with nothing written."""
    collection = load_collection("kitchen_garden", SEASON)
    things = read_props(collection.folder)
    words = collection.written("en-GB", month)
    words = {name: rooms for name, rooms in words.items() if name.startswith("week")}
    with open_set(demo.folder(month, "two-flap-sowing", "a4"), 72.0) as pictures:

        def shown(used: SetPictures, props: tuple[bytes, ...]) -> npt.NDArray[np.float64]:
            scenery = scenery_of(pictures.contents, props, pen=bool(props))
            return greys(spread(used, (800, 800), OPEN, scenery))

        used = WrittenPictures(pictures, Hand(words, "en-GB"))
        full, bare, blank = shown(used, things), shown(used, ()), shown(pictures, ())
    strokes = blank - bare > 25
    assert strokes.sum() > 1000
    assert (np.abs(full - bare) > 30).any(), "something lies there"
    assert (np.abs(full - bare)[strokes] > 30).mean() < 0.01


def test_a_thing_that_would_hide_what_is_read_is_not_laid() -> None:
    """On rows of strokes all over, or where all is to be kept in sight; on bare wood it is."""
    thing = read_props(ROOT / "templates_svg" / "kitchen_garden")[0]
    scenery, places = Scenery("m", (thing,)), [(60.0, 60.0, 0.0), (140.0, 140.0, 20.0)]

    def laid(table: Table, kept: tuple[Rect, ...] = ()) -> bool:
        before = table.image.copy()
        scenery.lay_free(table, 0, places, kept)
        assert bool(table.things) == (before.tobytes() != table.image.tobytes())
        return bool(table.things)

    typed = Table((800, 800), 200)
    for y, x in product(range(0, 800, 14), range(0, 800, 9)):
        typed.image.paste((40, 40, 40), (x, y, x + 3, y + 8))
    assert not laid(typed)
    assert not laid(Table((800, 800), 200), (Rect(0, 0, 200, 200),))
    assert laid(Table((800, 800), 200))


def test_what_is_written_in_one_period_is_not_what_is_written_in_another(shop: Shop) -> None:
    collection = load_collection("kitchen_garden", SEASON)
    march, may = collection.written("en-GB", "march"), collection.written("en-GB", "may")
    assert march["sowing-list"] != may["sowing-list"]
    assert march["plain-list"] == may["plain-list"], "where a period has none of its own"
    words = shop.folder / "templates_svg/kitchen_garden/words/en.toml"
    words.write_text('[may]\nnotse = [["peas"]]\n', "utf-8")
    (told,) = load_collection("kitchen_garden", shop.season).written_on_none("en-GB")
    assert re.fullmatch(r"words/en.toml writes on 'notse', which is no page; .* 'notes'.*", told)
