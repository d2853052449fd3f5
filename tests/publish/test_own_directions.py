"""A maker's own directions: copied by one command, used where they are, and told when broken."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest
from pypdf import PdfReader
from typer.testing import CliRunner

from pipeline.base.errors import UserError
from pipeline.cli import app
from pipeline.publish.bundle import BUYER, BundleState, bundles_in
from pipeline.publish.directions import artwork_of, copy_directions
from tests.conftest import ROOT
from tests.publish.conftest import Shop
from tests.publish.test_releases import leafset

PLAIN = ROOT / "pipeline/publish/directions/plain"
OWN = "templates_svg/kitchen_garden/directions"
PAGE, PICTURE = f"{OWN}/pages/a4.svg", f"{OWN}/pictures/fold.svg"


@pytest.fixture
def collection(tmp_path: Path) -> Path:
    """A collection with a copy of the program's directions."""
    folder = tmp_path / "herbs"
    folder.mkdir()
    (folder / "collection.toml").write_text('title = "Herbs"\n')
    copy_directions(folder)
    return folder


def change(file: Path, old: str, new: str) -> None:
    text = file.read_text("utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), "utf-8")


def test_one_command_copies_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    run = CliRunner().invoke
    assert run(app, ["begin", "my-shop"]).exit_code == 0
    made = run(app, ["directions", "my-shop/templates_svg/my-shop"])
    assert made.exit_code == 0
    files = [Path(line) for line in made.stdout.splitlines()]
    assert {file.relative_to("my-shop/templates_svg/my-shop/directions") for file in files} == {
        path.relative_to(PLAIN) for path in PLAIN.rglob("*.svg")
    }
    assert all(file.is_file() for file in files)
    artwork_of(Path("my-shop/templates_svg/my-shop")).check()
    assert run(app, ["check", "my-shop"]).stdout == "2 pages: nothing to mend\n"


def test_what_is_there_is_left_alone(collection: Path) -> None:
    (collection / "directions/pages/a4.svg").write_text("mine")
    with pytest.raises(UserError, match="directions: is there already; move it away"):
        copy_directions(collection)
    assert (collection / "directions/pages/a4.svg").read_text() == "mine"


def test_only_a_collection_gets_them(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"is no collection; give the folder that holds coll"):
        copy_directions(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_own_pages_are_what_buyers_get(shop: Shop) -> None:
    """A page of the maker's with words and an ink of its own; pictures are the program's."""
    shutil.rmtree(shop.folder / OWN / "pictures")
    change(
        shop.folder / PAGE, "</svg>", '<text x="20" y="290" fill="#b03060">Herb Shed</text></svg>'
    )
    told = shop.publish(only="plant-record").results
    assert [one.outcome for one in told] == [BundleState.PUBLISHED]
    bundle = next(iter(bundles_in(shop.release)))
    pages = PdfReader(bundle / BUYER / "1-directions.pdf").pages
    assert all("Herb Shed" in page.extract_text() for page in pages)
    said = " ".join(word for page in pages for word in page.extract_text().split())
    assert "Print 3-side-1.pdf on one side only" in said


def test_parts_may_be_moved_and_restyled(shop: Shop) -> None:
    page = shop.folder / PAGE
    before = PdfReader(_published(shop)).pages[0].extract_text().split()
    text = page.read_text("utf-8")
    title = re.search(r'<text id="title"[^>]*>|<g id="title".*?</g>', text, re.DOTALL)
    assert title is not None
    moved = title[0].replace('id="title"', 'id="title" transform="translate(3 -4)"')
    page.write_text(text.replace(title[0], moved), "utf-8")
    after = PdfReader(_published(shop))
    assert sorted(after.pages[0].extract_text().split()) == sorted(before)


def _published(shop: Shop) -> Path:
    """The directions of the plant record, published anew."""
    assert all(one.out for one in shop.publish(only="plant-record").results)
    bundle = next(path for path in bundles_in(shop.release) if "plant" in path.name)
    return bundle / BUYER / "1-directions.pdf"


BROKEN = [
    (PAGE, 'id="step-title"', 'id="heading"', r"element 'step-title'|no element 'step-title'"),
    (PAGE, 'id="title"', 'id="titel"', r"element 'titel': no such part; did you mean 'title'\?"),
    (PAGE, 'width="210mm"', 'width="200mm"', r"the page is 200 × 297 mm, not 210 × 297 mm; set"),
    (PAGE, "</svg>", "", r"directions/pages/a4\.svg, line \d+: is broken"),
    (PICTURE, 'id="folds"', 'id="fold"', r"fold\.svg, element 'fold': no such .* 'folds'\?"),
]


@pytest.mark.parametrize(("file", "old", "new", "message"), BROKEN)
def test_a_broken_one_gets_one_line(
    shop: Shop, file: str, old: str, new: str, message: str
) -> None:
    change(shop.folder / file, old, new)
    result = leafset(shop, "release", "seasons/small.toml", "--no-pictures")
    assert result.returncode == 2
    assert len(result.stderr.splitlines()) == 1
    assert re.search(message, result.stderr), result.stderr
    assert re.match(r"leafset: directions/", result.stderr), result.stderr
    assert not bundles_in(shop.release)


def test_a_file_of_another_name_is_not_passed_over(collection: Path) -> None:
    (collection / "directions/pictures/fold.svg").rename(
        collection / "directions/pictures/folds.svg"
    )
    with pytest.raises(UserError, match=r"pictures/folds\.svg: .* did you mean 'pictures/fold\."):
        artwork_of(collection).check()


def test_what_shows_only_when_they_are_set_is_one_line_too(shop: Shop) -> None:
    """A picture that is too large is found with the first set; all sets have the same trouble."""
    for path in (shop.folder / OWN / "pictures").glob("*.svg"):
        change(path, f'width="{48 if path.stem == "cut" else 44}mm"', 'width="60mm"')
    result = leafset(shop, "release", "seasons/small.toml", "--no-pictures")
    assert result.returncode == 2
    assert len(result.stderr.splitlines()) == 1
    assert re.search(r"and 1 more: pictures/feed\.svg: the picture is 60 × 3\d", result.stderr)
