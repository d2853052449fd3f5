"""Bundles as a buyer gets them: the same bytes anywhere, nothing unsafe, every file readable."""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

import pypdfium2 as pdfium
import pytest
from pypdf import PdfReader

from pipeline.impose.stitch import backwards
from pipeline.publish.bundle import BUYER, bundles_in
from tests.conftest import ROOT
from tests.publish.conftest import Shop, new_shop
from tests.publish.passing import pass_sets
from tests.tools import tool

EVERYTHING = [
    "1-directions.html",
    "1-directions.pdf",
    "2-feed-test.pdf",
    "2-hole-gauge.pdf",
    "3-4-both-sides.pdf",
    "3-side-1.pdf",
    "4-side-2.pdf",
    "4-side-2-reversed.pdf",
    "licence.txt",
]
"""In the order in which a buyer needs them."""

PUBLISH = """
import sys
from pathlib import Path
from pipeline.app.release import publish_season
from pipeline.app.build import make_season
from tests.publish.passing import pass_sets
season, out = map(Path, sys.argv[1:])
make_season(season, out)
pass_sets(season, out)
publish_season(season, out, at="2027-02-01T10:00:00Z", pictures=False)
"""


def zips(shop: Shop) -> Iterator[zipfile.ZipFile]:
    """Every bundle's zip."""
    for bundle in bundles_in(shop.release):
        with zipfile.ZipFile(bundle / f"{bundle.name}.zip") as archive:
            yield archive


def contents(bundle: Path) -> dict[str, Any]:
    """A bundle's table of contents."""
    found: dict[str, Any] = json.loads((bundle / "contents.json").read_text("utf-8"))
    return found


@pytest.fixture
def bundles(published: Shop) -> list[Path]:
    """All bundles' folders."""
    return list(bundles_in(published.release))


def test_the_same_bytes_in_another_folder_time_zone_and_language(tmp_path: Path) -> None:
    digests = []
    for folder, zone, tongue in (
        ("here", "Pacific/Kiritimati", "C"),
        ("elsewhere/ü", "Etc/GMT+12", "C.UTF-8"),
    ):
        shop = new_shop(tmp_path / folder)
        subprocess.run(
            [sys.executable, "-c", PUBLISH, shop.season, shop.out],
            env={
                **os.environ,
                "PYTHONPATH": str(ROOT),
                "TZ": zone,
                "LC_ALL": tongue,
                "PYTHONUTF8": "1",
            },
            umask=0o077 if zone.startswith("Etc") else 0o022,
            check=True,
        )
        found = {
            path.name: hashlib.sha256(path.read_bytes()).hexdigest()
            for path in shop.release.glob("*/*.zip")
        }
        assert len(found) == 2
        digests.append(found)
    assert digests[0] == digests[1]


def test_a_bundle_has_everything_and_its_table_says_so(bundles: list[Path]) -> None:
    assert len(bundles) == 2
    for bundle in bundles:
        table = contents(bundle)
        there = {path.name: path.read_bytes() for path in (bundle / BUYER).iterdir()}
        one_sheet = len(table["sheets"]) == 1
        assert set(there) == set(EVERYTHING) - ({"4-side-2-reversed.pdf"} if one_sheet else set())
        assert one_sheet == ("plant-record" in bundle.name)
        said = {file["name"]: (file["sha256"], file["bytes"]) for file in table["files"]}
        assert said == {
            name: (hashlib.sha256(data).hexdigest(), len(data)) for name, data in there.items()
        }
        assert table["bundle"] == bundle.name
        assert table["version"] == 1
        assert table["passed"] == {"by": ["Ada"], "at": "2027-01-05T09:00:00Z"}
        assert table["bench"]["sheets"] == len(table["sheets"])


def test_the_zip_is_the_folder(bundles: list[Path]) -> None:
    for bundle in bundles:
        with zipfile.ZipFile(bundle / f"{bundle.name}.zip") as archive:
            assert archive.testzip() is None
            packed = {name: archive.read(name) for name in archive.namelist()}
        folder = {
            f"{bundle.name}/{path.name}": path.read_bytes() for path in (bundle / BUYER).iterdir()
        }
        assert packed == folder


def test_files_are_in_the_order_one_needs_them_in(bundles: list[Path]) -> None:
    """In the zip as it was packed, and in a window that sorts them by name."""
    for bundle in bundles:
        with zipfile.ZipFile(bundle / f"{bundle.name}.zip") as archive:
            packed = [PurePosixPath(name).name for name in archive.namelist()]
        assert packed == [name for name in EVERYTHING if name in packed]
        assert [file["name"] for file in contents(bundle)["files"]] == packed
        numbers = [number(name) for name in sorted(packed)]
        assert numbers == sorted(numbers)
        assert [number(name) for name in packed] == numbers


def number(name: str) -> int:
    """The figure a name begins with; what has none comes after all that have."""
    return int(name[0]) if name[0].isdigit() else 10


def test_what_buyers_read_names_the_files_they_have(bundles: list[Path]) -> None:
    for bundle in bundles:
        there = {path.name for path in (bundle / BUYER).iterdir()}
        for name in ("1-directions.pdf", "2-feed-test.pdf"):
            text = " ".join(page.extract_text() for page in PdfReader(bundle / BUYER / name).pages)
            named = set(re.findall(r"[\w+-]+\.pdf", text))
            assert {"3-4-both-sides.pdf", "3-side-1.pdf", "4-side-2.pdf"} <= named
            # The feed test is of the printer: it speaks of the order of a pile, had it only one.
            assert named <= there | ({"4-side-2-reversed.pdf"} if name[0] == "2" else set())


def test_zips_are_safe_to_unpack(published: Shop) -> None:
    """APPNOTE 6.3.10, 4.4.17: no drive, no leading slash, forward slashes; 4.4.4: bit 11, UTF-8."""
    for archive in zips(published):
        names = archive.namelist()
        assert len({name.casefold() for name in names}) == len(names)
        for entry in archive.infolist():
            name = entry.filename
            assert not PurePosixPath(name).is_absolute()
            assert not PureWindowsPath(name).drive
            assert ".." not in PurePosixPath(name).parts
            assert "\\" not in name
            assert name.isascii() or entry.flag_bits & 0x800
            assert len(PurePosixPath(name).parts) == 2
            assert entry.date_time == (2027, 2, 1, 10, 0, 0), "the time of the release, LATER"
            assert entry.external_attr >> 16 == 0o100644
            assert entry.compress_type == zipfile.ZIP_STORED
            assert not PureWindowsPath(name).is_reserved()


def test_nothing_says_where_it_was_made(bundles: list[Path], published: Shop) -> None:
    for bundle in bundles:
        for path in (bundle / BUYER).iterdir():
            assert str(published.folder).encode() not in path.read_bytes()
            assert b"built_from" not in path.read_bytes()


def test_every_pdf_is_opened_by_three_readers(bundles: list[Path]) -> None:
    qpdf = tool("qpdf")
    for bundle in bundles:
        said = {file["name"]: file.get("pages") for file in contents(bundle)["files"]}
        for path in sorted((bundle / BUYER).glob("*.pdf")):
            with pdfium.PdfDocument(path) as document:
                assert len(document) == said[path.name]
            reader = PdfReader(path)
            assert len(reader.pages) == said[path.name]
            assert not reader.is_encrypted
            checked = subprocess.run([qpdf, "--check", path], capture_output=True, check=False)
            assert checked.returncode == 0, checked.stdout


def test_side_2_reversed_is_side_2_from_the_last_sheet(bundles: list[Path]) -> None:
    for bundle in bundles:
        path = bundle / BUYER / "4-side-2-reversed.pdf"
        if not path.is_file():
            continue
        forth, back = PdfReader(bundle / BUYER / "4-side-2.pdf"), PdfReader(path)
        texts = [page.extract_text() for page in forth.pages]
        assert len(set(texts)) == len(texts) > 1
        assert [page.extract_text() for page in back.pages] == texts[::-1]
        for one, other in zip(forth.pages, reversed(back.pages), strict=True):
            for box in ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox"):
                assert one[box] == other[box]
        for key in ("/ViewerPreferences", "/Lang"):
            assert forth.root_object[key] == back.root_object[key]
        data = path.read_bytes()
        assert backwards((bundle / BUYER / "4-side-2.pdf").read_bytes()) == data
        assert PdfReader(io.BytesIO(backwards(data))).pages[0].extract_text() == texts[0]


def test_no_reversed_file_where_the_printer_is_known(shop: Shop) -> None:
    """The order is built into side-2.pdf then, and its passes hold: the pages are the same."""
    text = shop.season.read_text("utf-8")
    shop.season.write_text(
        text.replace("[[period]]", "[printer]\nreverse_side_2 = true\n\n[[period]]", 1)
    )
    shop.build()
    published = shop.publish(only="sowing")
    assert [one.outcome.value for one in published.results] == ["published"]
    assert published.advice
    for bundle in bundles_in(shop.release):
        assert not (bundle / BUYER / "4-side-2-reversed.pdf").exists()


def test_the_terms_are_the_collections_own(bundles: list[Path]) -> None:
    own = (ROOT / "templates_svg/kitchen_garden/licence/en.txt").read_text("utf-8")
    for bundle in bundles:
        data = (bundle / BUYER / "licence.txt").read_bytes()
        assert data.decode("utf-8-sig").splitlines() == own.strip().splitlines()
        assert b"\n" not in data.replace(b"\r\n", b"")


def test_the_feed_test_and_side_1_are_of_the_same_paper(bundles: list[Path]) -> None:
    for bundle in bundles:
        sizes = set()
        for name in ("3-side-1.pdf", "2-feed-test.pdf"):
            with pdfium.PdfDocument(bundle / BUYER / name) as document:
                sizes |= {tuple(round(v, 2) for v in document.get_page_size(0))}
        assert len(sizes) == 1


@pytest.mark.parametrize(("paper", "pages"), [("a5", 4), ("half-letter", 4), ("a6", 0)])
def test_small_papers_have_a_feed_test_and_directions_that_name_it(
    paper: str, pages: int, tmp_path: Path
) -> None:
    shop = new_shop(tmp_path / "shop")
    shop.edit("seasons/small.toml", 'sizes = ["a5"]', 'sizes = ["pocket"]')
    shop.edit("seasons/small.toml", 'papers = ["a4"]', f'papers = ["{paper}"]')
    text = shop.season.read_text("utf-8")
    first, second = (text.index("[[set]]"), text.rindex("[[set]]"))
    shop.season.write_text(text[:first] + text[second:], "utf-8")
    shop.build()
    pass_sets(shop.season, shop.out)
    shop.publish()
    (bundle,) = bundles_in(shop.release)
    table = {file["name"]: file.get("pages") for file in contents(bundle)["files"]}
    directions = PdfReader(bundle / BUYER / "1-directions.pdf")
    said = " ".join(" ".join(page.extract_text() for page in directions.pages).split())
    assert table.get("2-feed-test.pdf", 0) == pages
    assert (shop.out / "small" / f"feed-test-{paper}.pdf").exists() is (pages > 0)
    first_side = "3-side-1.pdf" if pages else "2-side-1.pdf"
    assert first_side in table
    assert first_side in said
    assert ("2-feed-test.pdf" in said) is ("feed test told you" in said) is (pages > 0)
    if pages:
        reader = PdfReader(bundle / BUYER / "2-feed-test.pdf")
        told = " ".join(reader.pages[1].extract_text().split())
        assert {"3-side-1.pdf", "4-side-2.pdf", "3-4-both-sides.pdf"} <= set(told.split())
        sizes = {tuple(map(float, page.mediabox[2:])) for page in reader.pages}
        assert sizes == {
            tuple(map(float, PdfReader(bundle / BUYER / first_side).pages[0].mediabox[2:]))
        }
