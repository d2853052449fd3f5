"""Shop pictures: their shapes, the pages in them, their words, and that they come out the same."""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from functools import cache, partial
from itertools import pairwise, product
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from PIL import Image, ImageFilter, ImageSequence

from pipeline.app.build import faces_of, make_season
from pipeline.app.release import _arrangement, _turn, is_said_otherwise, telling_pages
from pipeline.base.errors import UserError
from pipeline.base.geometry import Rect
from pipeline.plan import plan_season
from pipeline.plan.collection import load_collection
from pipeline.plan.model import Colours, Side
from pipeline.plan.season import Publish
from pipeline.proof.pictures.pictures import open_set
from pipeline.publish.pictures import views
from pipeline.publish.pictures.listing import MOVING, shop_words
from pipeline.publish.pictures.openbinder import OPEN, SHUT, Fold
from pipeline.publish.pictures.scenery import scenery_of
from pipeline.publish.pictures.shoppictures import (
    CROPS,
    OPENING,
    SHOP,
    ShopPictures,
    angles,
    opening,
    read_props,
    read_watermark,
    shop_pictures,
)
from pipeline.publish.pictures.views import (
    are_flaps_drawn_outside,
    close_up,
    fan,
    sheet,
    sizes,
    spread,
    spread_table,
)
from pipeline.svg.recolour import colours_in
from pipeline.text.fonts import Faces
from tests.conftest import SMALL, Demo, Golden
from tests.publish.conftest import Shop

ROOT = Path(__file__).parents[2]
COLLECTION = ROOT / "templates_svg" / "kitchen_garden"
KINDS = ("title-card", "spread-open", "spread-shut", "fan", "close-up", "sheet", "sizes")
HALF = Publish(picture_px=1250)
"""Limits that keep the tests quick: a quarter of the pixels."""
MOST_WEBP_BYTES = 1_500_000
MOST_GIF_BYTES = 3_000_000

Grey = npt.NDArray[np.float64]


@cache
def own_faces() -> Faces:
    """The faces of the garden's collection."""
    return faces_of(plan_season(ROOT / "seasons" / "2027-spring.toml"))


@pytest.fixture(scope="module")
def two_flap(demo: Demo) -> Path:
    """A set with a flap on both pages of its weeks."""
    return demo.folder("march", "two-flap-sowing", "a4")


@pytest.fixture(scope="module")
def made(two_flap: Path) -> ShopPictures:
    """Its pictures, with the collection's mark, half as large as they are composed."""
    mark = read_watermark(COLLECTION)
    return shop_pictures(two_flap, watermark=mark, faces=own_faces(), limits=HALF)


def still(made: ShopPictures, name: str) -> Image.Image:
    """One of the pictures."""
    with Image.open(io.BytesIO(made.files[name])) as picture:
        return picture.convert("RGB")


def moving(made: ShopPictures) -> Iterator[Image.Image]:
    """The pictures of the moving one."""
    with Image.open(io.BytesIO(made.files["flaps-opening.webp"])) as picture:
        for number in range(OPENING):
            picture.seek(number)
            yield picture.convert("RGB")


def test_every_kind_comes_in_every_shape(made: ShopPictures) -> None:
    names = {f"{kind}-{crop}.jpg" for kind in KINDS for crop in ("square", "4x5")}
    assert set(made.files) == names | {"flaps-opening.webp"}
    for name in names:
        with Image.open(io.BytesIO(made.files[name])) as picture:
            assert picture.format == "JPEG"
            wide, high = CROPS[name.removesuffix(".jpg").rpartition("-")[2]]
            assert picture.size == (wide / 2, high / 2)
            assert not picture.getexif(), "what tells of a machine or an hour"
    assert CROPS == {"square": (2000, 2000), "4x5": (2000, 2500)}


def test_pictures_are_as_large_as_they_are_composed(two_flap: Path) -> None:
    files = shop_pictures(two_flap, kinds=("sheet",)).files
    sides = {}
    for name, data in files.items():
        with Image.open(io.BytesIO(data)) as picture:
            sides[name] = picture.size
    assert sides == {"sheet-square.jpg": (2000, 2000), "sheet-4x5.jpg": (2000, 2500)}


def test_the_mark_is_in_a_corner_and_nowhere_else(two_flap: Path, made: ShopPictures) -> None:
    name = "fan-square.png"
    alike = partial(shop_pictures, two_flap, picture_format="png", kinds=("fan",), limits=HALF)
    plain = alike()
    marked = alike(watermark=read_watermark(COLLECTION), faces=own_faces())
    assert set(plain.files) == {"fan-square.png", "fan-4x5.png"}
    with Image.open(io.BytesIO(plain.files[name])) as picture:
        assert picture.format == "PNG"
    apart = np.abs(
        np.asarray(still(plain, name), np.int16) - np.asarray(still(marked, name), np.int16)
    ).max(axis=2)
    rows, columns = np.nonzero(apart)
    assert rows.min() > 900
    assert columns.min() > 825, "on the right, where nothing lies there"
    assert 100 < apart.max() < 150, "to be read, and lighter than print"


def test_the_mark_is_on_no_page(two_flap: Path) -> None:
    """Both lower corners of a square picture of a sheet show paper: it has no mark."""
    alike = partial(shop_pictures, two_flap, picture_format="png", kinds=("sheet",), limits=HALF)
    plain = alike()
    marked = alike(watermark=read_watermark(COLLECTION), faces=own_faces())
    name = "sheet-square.png"
    assert plain.files[name] == marked.files[name]


def test_the_mark_has_the_colours_of_its_set() -> None:
    drawn = colours_in(read_watermark(COLLECTION))
    green, brown = (0x4A, 0x6A, 0x3C), (0x8A, 0x3B, 0x1C)
    assert green in drawn
    rust = colours_in(read_watermark(COLLECTION, Colours("rust", ((green, brown),))))
    assert rust == drawn - {green} | {brown}
    for level in colours_in(read_watermark(COLLECTION, Colours("ink", greys=True))):
        assert len(set(level)) == 1


def test_no_mark_to_be_had(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"watermark\.svg.*watermark = false"):
        read_watermark(tmp_path)


def test_no_set_in_the_folder(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="built set"):
        shop_pictures(tmp_path)


ELSEWHERE = """
import hashlib, json, sys
from pathlib import Path
from pipeline.plan.season import Publish
from pipeline.publish.pictures.shoppictures import shop_pictures
small = Publish(picture_px=500)
made = shop_pictures(Path(sys.argv[1]), kinds=("spread", "sizes"), limits=small)
print(json.dumps({name: hashlib.sha256(data).hexdigest() for name, data in made.files.items()}))
"""


def test_same_bytes_elsewhere_at_another_hour(demo: Demo, tmp_path: Path) -> None:
    here = demo.folder("undated", "plant-record", "letter")
    there = tmp_path / "another place"
    shutil.copytree(here, there)
    environment = {**os.environ, "TZ": "Pacific/Kiritimati", "PYTHONHASHSEED": "7"}
    told = subprocess.run(
        [sys.executable, "-c", ELSEWHERE, str(there)],
        check=True,
        capture_output=True,
        text=True,
        cwd=ROOT,
        env=environment,
    )
    small = Publish(picture_px=500)
    files = shop_pictures(here, kinds=("spread", "sizes"), limits=small).files
    assert json.loads(told.stdout) == {
        name: hashlib.sha256(data).hexdigest() for name, data in files.items()
    }
    assert set(files) == {f"{kind}-{crop}.jpg" for kind in ("spread", "sizes") for crop in CROPS}


def test_a_set_without_flaps_shows_none(demo: Demo) -> None:
    asked = ("spread-open", "spread-shut", "flaps-opening")
    assert not shop_pictures(demo.folder("undated", "plant-record", "a4"), kinds=asked).files


def test_a_shut_flap_is_shown_only_when_its_outside_is_drawn(demo: Demo) -> None:
    def shown(first: dict[str, Any], second: dict[str, Any]) -> bool:
        with open_set(demo.folder("march", "two-flap-list", "a4"), 72.0) as pictures:
            leaves = list(pictures.contents.leaves)
            opening, behind = leaves[0].recto, leaves[1].verso
            assert opening
            assert behind
            leaves[0] = replace(leaves[0], recto=replace(opening, **first))
            leaves[1] = replace(leaves[1], verso=replace(behind, **second))
            pictures.contents = replace(pictures.contents, leaves=tuple(leaves))
            return are_flaps_drawn_outside(pictures)

    drawn, blank = {"flap_back": "outside"}, {"flap_back": ""}
    assert not shown(blank, blank)
    assert not shown(drawn, blank)
    assert shown(drawn, drawn)
    assert shown({"flap_mm": 42.0, **blank}, drawn), "the page behind has a flap itself"


def test_no_two_listings_share_a_picture(demo: Demo) -> None:
    """Not from set to set and not from month to month, not even where a page shows no dates."""
    plan = plan_season(ROOT / "seasons/2027-spring.toml", None)
    shown: dict[bytes, list[str]] = {}
    for one in plan.sets:
        with open_set(demo.folder(one.period.name, one.name, "a4"), 72.0) as pictures:
            size, ways = (240, 240), (_turn(plan, one), _arrangement(plan, one))
            scenery = scenery_of(pictures.contents, turn=ways[0], arrangement=ways[1])
            for name, picture in (
                ("close-up", close_up(pictures, size, telling_pages(plan, one), scenery)),
                ("fan", fan(pictures, size, scenery)),
                ("sheet", sheet(pictures, size, scenery)),
                ("spread", spread(pictures, size, 0, scenery)),
            ):
                called = f"{one.period.name} {one.name} {name}"
                shown.setdefault(picture.tobytes(), []).append(called)
    assert [names for names in shown.values() if len(names) > 1] == []
    first = {one.name: telling_pages(plan, one)[0] for one in plan.sets}
    assert first == {
        "two-flap-sowing": "sowing-list",
        "two-flap-list": "week-two-flap-verso",
        "running": "week-running-verso",
        "plant-record": "plant-record",
    }


def darkness(picture: Image.Image) -> Grey:
    """What is printed, without the light and shade that lie over it."""
    grey = picture.convert("L")
    wide = np.asarray(grey.filter(ImageFilter.GaussianBlur(9)), np.float64)
    near = np.asarray(grey.filter(ImageFilter.GaussianBlur(0.7)), np.float64)
    return np.clip(wide - near - 4, 0, None)


def likeness(one: Grey, other: Grey) -> float:
    """The correlation of two prints of the same size: 1 for the same."""
    return float(np.corrcoef(one.ravel(), other.ravel())[0, 1])


def likeness_near(picture: Image.Image, expected: Image.Image, corner: tuple[int, int]) -> float:
    """How like ``expected`` a picture is at a corner, or up to a pixel beside it by halves: places
    are rounded."""
    likes = []
    for right, down in product((0.0, 0.5), repeat=2):
        moved = expected.transform(
            expected.size,
            Image.Transform.AFFINE,
            (1, 0, right, 0, 1, down),
            Image.Resampling.BICUBIC,
        )
        wanted = darkness(moved)[4:-4, 4:-4]
        for dx, dy in product((-1, 0, 1), repeat=2):
            x, y = corner[0] + dx, corner[1] + dy
            shown = picture.crop((x, y, x + expected.width, y + expected.height))
            likes.append(likeness(darkness(shown)[4:-4, 4:-4], wanted))
    return max(likes)


def test_the_pages_shown_are_those_of_the_files(two_flap: Path, made: ShopPictures) -> None:
    """Of all pages of the set, each page of the spread is most like the one it should be."""
    picture = still(made, "spread-open-square.jpg")
    with open_set(two_flap, 72.0) as pictures:
        table, binder = spread_table(pictures, picture.size, roomy=True)
        proof = pictures.at(table.dpi)
        for leaf, face in ((0, Side.VERSO), (1, Side.RECTO)):
            page = binder.page(face)
            # The middle of the page's upper part, clear of rings and folds.
            part = Rect(22, 12, 100, 130)
            corner = table.scale.at(page.x + part.x, page.y + part.y)
            flap = pictures.contents.leaves[leaf].flap_mm if face is Side.VERSO else 0.0
            likes = {}
            for other in range(len(pictures.contents.leaves)):
                if pictures.contents.leaves[other].page(face) is None:
                    continue
                expected = proof.face_area(other, face, part.moved(flap, 0))
                likes[other] = likeness_near(picture, expected, corner)
            assert max(likes, key=lambda other: likes[other]) == leaf
            assert likes[leaf] > 0.92
            assert sorted(likes.values())[-2] < likes[leaf] - 0.02, "another week is another page"


def test_the_sheet_is_a_printed_one_with_all_its_marks(two_flap: Path) -> None:
    """Looked for in the picture, one side of one sheet is found, from its outermost marks to the
    ruler."""
    with open_set(two_flap, 72.0) as pictures:
        picture = sheet(pictures, (1000, 1250))
        # Layout as a tall picture has it: 86 % for the sheet's width and a sixth of it aside.
        dpi = 1000 / (210 * 1.16 / 0.86) * 25.4
        found = {}
        for number in range(len(pictures.contents.sheets)):
            wanted = darkness(pictures.at(dpi).side(number, 1))[: round(264 / 25.4 * dpi)]
            found[number] = best_place(darkness(picture), wanted)
    best = max(found, key=lambda number: found[number])
    assert best == 1, "side 1 of sheet 2 has the first week's second page"
    assert found[best] > 0.85
    assert sorted(found.values())[-2] < found[best] - 0.02


def test_a_ruler_lies_along_the_bar(two_flap: Path) -> None:
    """As the picture shows it: 158 mm of steel, 4 of them before its 0, which is the bar's."""
    with open_set(two_flap, 72.0) as pictures:
        bar = views._bar(pictures, 1, 1)
        assert bar
        shown = np.asarray(sheet(pictures, (1000, 1250)).convert("L"), np.float64)
    per_mm = 1000 / (210 * 1.16 / 0.86)
    left, top = (1000 / per_mm - 210 * 1.16) / 2, (1250 / per_mm - 297) / 2
    below = shown[round((top + bar.bottom + 1) * per_mm) : round((top + 297) * per_mm)]
    (ends,) = np.nonzero((below < 150).sum(axis=0) > 0.8 * 22 * per_mm)
    assert ends.min() / per_mm == pytest.approx(left + bar.x - 4, abs=0.6)
    assert (ends.max() - ends.min()) / per_mm == pytest.approx(158, abs=0.8)
    at = slice(round((left + bar.x) * per_mm), round((left + bar.x + 100) * per_mm))
    line = shown[round((top + bar.y) * per_mm) - 2 : round((top + bar.bottom) * per_mm) + 2, at]
    assert line.min(axis=0).max() < 235, "the bar is seen, from end to end"


@pytest.mark.parametrize("size", CROPS.values())
@pytest.mark.parametrize(
    ("period", "name"),
    [("march", "running"), ("april", "two-flap-sowing"), ("undated", "plant-record")],
)
def test_a_fan_is_all_in_the_picture(
    demo: Demo, size: tuple[int, int], period: str, name: str
) -> None:
    """No paper at its edges, which are of one colour, and paper on a fifth of it or more."""
    with open_set(demo.folder(period, name, "a4"), 72.0) as pictures:
        picture = fan(pictures, (size[0] // 4, size[1] // 4))
    pixels = np.asarray(picture, np.int16)
    paper = (pixels[..., 0] - pixels[..., 2] < 9) & (pixels[..., 1] > 215)
    assert not any(edge.any() for edge in (paper[:6], paper[-6:], paper[:, :6], paper[:, -6:]))
    assert paper.mean() > 0.2


def best_place(shown: Grey, wanted: Grey) -> float:
    """The likeness of what is wanted to the place in a picture that is most like it."""
    padded = np.zeros_like(shown)
    padded[: wanted.shape[0], : wanted.shape[1]] = wanted - wanted.mean()
    product = np.fft.irfft2(np.fft.rfft2(shown) * np.conj(np.fft.rfft2(padded)), shown.shape)
    down, across = (all_of - part for all_of, part in zip(shown.shape, wanted.shape, strict=True))
    inside = product[: down + 1, : across + 1]  # where all of it is in the picture
    y, x = np.unravel_index(int(inside.argmax()), inside.shape)
    return likeness(shown[y : y + wanted.shape[0], x : x + wanted.shape[1]], wanted)


def test_flaps_open_and_never_turn_back(made: ShopPictures) -> None:
    steps = [angles(2, step) for step in range(OPENING)]
    assert steps[0] == (SHUT, SHUT)
    assert steps[-1] == (OPEN, OPEN)
    for before, after in pairwise(steps):
        assert all(a <= b for a, b in zip(before, after, strict=True))
    assert all(first >= second for first, second in steps), "the first page's flap goes first"


def test_seen_opening(two_flap: Path) -> None:
    """In the pictures themselves: paper reaches further and further past the fore edge."""
    with open_set(two_flap, 72.0) as pictures:
        table, binder = spread_table(pictures, (1080, 1080), roomy=True)
        page = binder.page(Side.VERSO)
        frames = opening(pictures)
    edge = round(page.x * table.per_mm)
    rows = slice(
        round((page.y + 0.45 * page.height) * table.per_mm),
        round((page.y + 0.75 * page.height) * table.per_mm),
    )
    reach = []
    for picture in frames:
        pixels = np.asarray(picture, np.int16)[rows, :edge]
        neutral = (pixels[..., 0] - pixels[..., 2] < 9) & (pixels[..., 1] > 190)
        reach.append(float(neutral.mean(axis=0).sum() / table.per_mm))
    assert reach[0] < 3
    assert reach[-1] == pytest.approx(42, abs=2)
    # Nearer to the eye things look larger: just before it lies down, an edge is seen further out.
    assert all(later > earlier - 1.6 for earlier, later in pairwise(reach))
    half = [r for r in reach if 5 < r < 38]
    assert len(half) >= 3, "it opens little by little"


def test_a_turning_flap_is_foreshortened() -> None:
    """Half open it stands up: seen from above it is next to nothing, and its free edge longer."""
    fold = Fold(Rect(150, 50, 100, 200), 40, on_right=True)
    eye = (250.0, 150.0)
    upright = fold.seen(90, eye)
    assert abs(upright.free_top[0] - fold.fold_x) < 1e-9, "the eye is right above the fold"
    # Similar triangles: at 40 mm below an eye 760 mm up, lengths grow by 760 / 720.
    assert upright.free_bottom[1] - upright.free_top[1] == pytest.approx(200 * 760 / 720)
    flat = fold.seen(180, eye)
    assert flat.free_top == pytest.approx((290, 50))
    assert not fold.shows_front(60, eye)
    assert fold.shows_front(120, eye)


def test_the_moving_picture_is_small_and_comes_out_the_same(demo: Demo, made: ShopPictures) -> None:
    data = made.files["flaps-opening.webp"]
    assert len(data) < MOST_WEBP_BYTES
    with Image.open(io.BytesIO(data)) as picture:
        assert (picture.format, picture.n_frames) == ("WEBP", OPENING)  # type: ignore[attr-defined]
        assert picture.info["loop"] == 0
    with open_set(demo.folder("march", "running", "a4"), 72.0) as pictures:
        first, again = opening(pictures), opening(pictures)
        assert [one.tobytes() for one in first] == [one.tobytes() for one in again]


def test_the_moving_picture_in_formats_that_shops_take(two_flap: Path) -> None:
    files = shop_pictures(two_flap, kinds=(MOVING,), moving=("webp", "gif")).files
    assert set(files) == {"flaps-opening.webp", "flaps-opening.gif"}
    assert len(files["flaps-opening.gif"]) < MOST_GIF_BYTES
    with Image.open(io.BytesIO(files["flaps-opening.gif"])) as picture:
        assert (picture.format, picture.size, picture.info["loop"]) == ("GIF", (720, 720), 0)
        frames = [
            np.asarray(one.convert("L"), np.float64) for one in ImageSequence.Iterator(picture)
        ]
    moved = [np.abs(one - frames[0]).mean() for one in frames]
    assert len(frames) == OPENING // 2 + 1
    assert max(moved) == max(moved[-3:]) > 1


def test_limits_are_kept(two_flap: Path) -> None:
    """Sides and bytes as Pillow and the files say."""
    small = Publish(picture_px=1250, picture_mb=0.25)
    files = shop_pictures(two_flap, kinds=("sheet",), limits=small).files
    sides = {}
    for name, data in files.items():
        with Image.open(io.BytesIO(data)) as picture:
            sides[name] = picture.size
        assert len(data) <= 250_000
    assert sides == {"sheet-square.jpg": (1000, 1000), "sheet-4x5.jpg": (1000, 1250)}


@pytest.mark.parametrize(
    ("limits", "told"),
    [
        (Publish(pictures=3), r"there would be 8 pictures .* and a listing may have 3; name those"),
        (Publish(picture_px=600, picture_mb=0.001), r"title-card-square.jpg: has 0.\d MB and a"),
    ],
)
def test_what_breaks_a_limit_is_told(two_flap: Path, limits: Publish, told: str) -> None:
    with pytest.raises(UserError, match=told):
        shop_pictures(two_flap, limits=limits)


def test_a_listing_too_long_is_told_and_not_written(shop: Shop) -> None:
    season = shop.season.read_text("utf-8")
    lead = "[publish]\ntext_letters = 300\n\n[[period]]"
    shop.season.write_text(season.replace("[[period]]", lead, 1), "utf-8")
    shop.build()
    ((name, why),) = shop.publish(only="plant-record", pictures=True).without_pictures
    assert name == "undated-plant-record-a5-en-gb"
    assert re.fullmatch(
        r"publish, text_letters: the listing's text has \d{4} letters and may have 300;"
        r" shorten its lead, or raise publish.text_letters",
        why,
    )
    assert not (shop.release / SHOP / name).exists()


def test_another_first_sentence_leaves_the_pictures_alone(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop.publish(only="plant-record", pictures=True)
    entry = shop.release / SHOP / "undated-plant-record-a5-en-gb"
    before = {file.name: file.read_bytes() for file in entry.iterdir() if file.is_file()}
    season = shop.season.read_text("utf-8")
    named = 'name = "plant-record"'
    assert named in season
    said = f'{named}\nlead = "What grew, and what it was called."'
    shop.season.write_text(season.replace(named, said, 1), "utf-8")
    assert is_said_otherwise(plan_season(shop.season), shop.season, shop.out)
    monkeypatch.delattr("pipeline.publish.pictures.shoppictures.shop_pictures")
    assert not shop.publish(only="plant-record", pictures=True).without_pictures
    after = {file.name: file.read_bytes() for file in entry.iterdir() if file.is_file()}
    other = {name for name in before if before[name] != after[name]}
    assert {name.partition(".")[0] for name in other} == {"listing", ""}
    assert not is_said_otherwise(plan_season(shop.season), shop.season, shop.out)
    assert b"What grew, and what it was called." in after["listing.txt"]


def test_sizes_are_to_scale(tmp_path: Path) -> None:
    """As many pixels a millimetre on the one page as on the other."""
    season = tmp_path / "small.toml"
    small = SMALL.replace('["a5"]', '["a5", "pocket"]').replace("kitchen_garden", str(COLLECTION))
    season.write_text(small, "utf-8")
    out = tmp_path / "build"
    folders = [out / each.folder for each in make_season(season, out)]
    assert len(folders) == 2
    with open_set(folders[0], 72.0) as first, open_set(folders[1], 72.0) as second:
        picture = sizes([second, first], (1600, 1600), shop_words("en"))
        flaps = [each.contents.leaves[each.main_view[0] or 0].flap_mm for each in (first, second)]
        assert min(flaps) > 0, "the page that is sold, its flap open"
    pixels = np.asarray(picture, np.int16)
    paper = (pixels[..., 0] - pixels[..., 2] < 9) & (pixels[..., 1] > 215)
    runs = _runs(paper[_lowest_full_row(paper)])
    assert len(runs) == 2, "the bank card is not white"
    larger, smaller = (wide + one for wide, one in zip((148, 81), flaps, strict=True))
    assert runs[0] / runs[1] == pytest.approx(larger / smaller, rel=0.01)


def _lowest_full_row(paper: npt.NDArray[np.bool_]) -> int:
    full = np.nonzero(paper.mean(axis=1) > 0.3)[0]
    return int(full[-1]) - 4


def _runs(row: npt.NDArray[np.bool_]) -> list[int]:
    """Lengths of the long runs of true, in order."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(np.int8), [0]))))
    lengths = [int(b - a) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    return [length for length in lengths if length > 60]


def test_the_close_up_is_of_the_page_asked_for(two_flap: Path, demo: Demo) -> None:
    """The first that the set has of those asked for; without any, the recto of its main spread."""

    def head(folder: Path, *templates: str) -> bytes:
        with open_set(folder, 72.0) as pictures:
            return close_up(pictures, (200, 200), templates).tobytes()

    usual = head(two_flap)
    assert head(two_flap, "plant-record") == usual
    plan = head(two_flap, "bed-plan")
    assert head(two_flap, "plant-record", "bed-plan", "closing") == plan != usual
    heads = {head(two_flap, name) for name in ("opening", "sowing-list", "closing")}
    assert len({*heads, plan, usual}) == 5
    assert head(two_flap, "week-two-flap-recto") == usual, "the first, whose flap is written on"
    record = demo.folder("undated", "plant-record", "a4")
    assert head(record, "plant-record") != head(record) == head(record, "plant-record-ruled")


@pytest.mark.parametrize("face", [Side.RECTO, Side.VERSO])
def test_the_rings_are_where_the_page_is_bound(two_flap: Path, face: Side) -> None:
    template = {Side.RECTO: "bed-plan", Side.VERSO: "sowing-list"}[face]
    with open_set(two_flap, 72.0) as pictures:
        picture = close_up(pictures, (400, 400), [template])
    grey = np.asarray(picture.convert("L"), np.float64)
    columns = grey[240:290].mean(axis=0)
    if face is Side.VERSO:
        columns = columns[::-1]
    bound, free = columns[12:40].min(), columns[378:388].min()  # beside the frame of the plan
    # The plate the rings stand on is grey, the page white; no ring lies across just there.
    assert bound < free - 20, (bound, free)


def test_the_season_says_which(shop: Shop) -> None:
    """The picture that is published is the one asked for; others do not change."""
    season = shop.season.read_text("utf-8")
    table = '[pictures]\nclose_up = ["plant-record", "bed-plan"]\n\n'
    table += "[publish]\npicture_px = 625\n\n[[period]]"
    shop.season.write_text(season.replace("[[period]]", table, 1), "utf-8")
    shop.build()
    assert not shop.publish(only="plant-record", pictures=True).without_pictures
    folder = shop.release / SHOP / "undated-plant-record-a5-en-gb"
    built = shop.out / "small/undated/plant-record/a5-a4-en-GB"
    collection = load_collection("kitchen_garden", ROOT / "seasons" / "2027-spring.toml")
    in_use = partial(
        shop_pictures,
        built,
        kinds=("close-up", "fan"),
        written=collection.written("en-GB"),
        props=read_props(COLLECTION),
        limits=Publish(picture_px=625),
        turn=1,  # after the season's one period
        arrangement=2,  # its second set
    )
    asked, usual = in_use(close_up_of=["plant-record"]), in_use()
    text = (folder / "listing.txt").read_text("utf-8")
    assert asked.written is usual.written is ("handwriting" in text) is True
    assert not in_use(kinds=("fan",)).written, "a fan shows bare pages"
    for name, data in asked.files.items():
        assert (folder / name).read_bytes() == data
        assert (usual.files[name] == data) is name.startswith("fan")


@pytest.mark.parametrize("kind", KINDS)
def test_looked_at(made: ShopPictures, golden: Golden, kind: str) -> None:
    picture = still(made, f"{kind}-4x5.jpg")
    golden(f"shop/{kind}", picture.resize((256, 320), Image.Resampling.BOX))


@pytest.mark.parametrize("kind", ["spread-open", "close-up"])
def test_pages_in_use_looked_at(two_flap: Path, golden: Golden, kind: str) -> None:
    collection = load_collection("kitchen_garden", ROOT / "seasons" / "2027-spring.toml")
    used = shop_pictures(
        two_flap,
        watermark=read_watermark(COLLECTION),
        faces=own_faces(),
        kinds=(kind,),
        written=collection.written("en-GB"),
        props=read_props(COLLECTION),
        close_up_of=("sowing-list",),
        limits=HALF,
    )
    picture = still(used, f"{kind}-4x5.jpg")
    golden(f"shop/{kind}-in-use", picture.resize((256, 320), Image.Resampling.BOX))


def test_a_verso_close_up_looked_at(two_flap: Path, golden: Golden) -> None:
    made = shop_pictures(two_flap, close_up_of=["sowing-list"], kinds=("close-up",), limits=HALF)
    picture = still(made, "close-up-4x5.jpg")
    golden("shop/close-up-verso", picture.resize((256, 320), Image.Resampling.BOX))


def test_a_flap_half_open_looked_at(made: ShopPictures, golden: Golden) -> None:
    frames = list(moving(made))
    golden("shop/flap-opening", frames[10].resize((320, 320), Image.Resampling.BOX))
