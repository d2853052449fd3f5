"""The proof folder: which pictures are in it, and that it appears whole or not at all."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from PIL import Image

from pipeline.proof.pictures import proofs
from pipeline.proof.pictures.proofs import write_proofs
from tests.proof.made_up import FLAP, MadeUpLeaf, MadeUpPage, make_set

DPI = 40.0


def leaves() -> list[MadeUpLeaf]:
    plain = MadeUpPage('<rect x="20" y="20" width="20" height="9"/>', "plain")
    return [
        MadeUpLeaf(plain, MadeUpPage("", "W09", own_flap=True), FLAP),
        MadeUpLeaf(plain, plain),
        MadeUpLeaf(plain, MadeUpPage("", "closing")),
    ]


def test_every_picture_of_a_set_is_written(tmp_path: Path) -> None:
    folder = make_set(tmp_path / "set", leaves())
    paths = write_proofs(folder, DPI)
    assert [path.stem for path in paths] == [
        "contact-sheet",
        "first-page",
        "last-page",
        "sheet-01-side-1",
        "sheet-01-side-2",
        "sheet-02-side-1",
        "sheet-02-side-2",
        "sheet-03-side-1",
        "sheet-03-side-2",
        "spread-01-open",
        "spread-01-shut",
        "spread-02",
    ]
    for path in paths:
        with Image.open(path) as picture:
            picture.load()
            assert picture.convert("L").getextrema()[0] != 255
    assert sorted(path.name for path in folder.iterdir()) == [
        "contents.json",
        "proof",
        "side-1.pdf",
        "side-2.pdf",
    ]


def test_the_same_set_gives_the_same_bytes(tmp_path: Path) -> None:
    folder = make_set(tmp_path / "set", leaves())
    first = [path.read_bytes() for path in write_proofs(folder, DPI)]
    assert [path.read_bytes() for path in write_proofs(folder, DPI)] == first


def test_what_has_not_changed_is_not_drawn_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn: list[str] = []

    def save(picture: Image.Image, path: Path) -> None:
        drawn.append(path.stem)
        picture.save(path)

    monkeypatch.setattr(proofs, "save_png", save)
    folder = make_set(tmp_path / "set", leaves())
    assert len(write_proofs(folder, DPI)) == len(drawn)
    drawn.clear()
    write_proofs(folder, DPI)
    assert drawn == []
    last, changed = leaves()[-1], MadeUpPage('<rect x="20" y="20" width="20" height="8"/>', "plain")
    another = make_set(
        tmp_path / "another", [*leaves()[:-1], MadeUpLeaf(changed, last.verso, last.flap_mm)]
    )
    shutil.copytree(folder / "proof", another / "proof")
    before = {path.name: path.read_bytes() for path in (another / "proof").glob("*.png")}
    write_proofs(another, DPI)
    after = {path.name: path.read_bytes() for path in (another / "proof").glob("*.png")}
    assert set(drawn) == {"contact-sheet", "last-page", *SHEET_3, "spread-02"}
    assert {name for name in before if before[name] != after[name]} == {
        "contact-sheet.png",
        "sheet-03-side-1.png",
        "spread-02.png",
    }


SHEET_3 = ("sheet-03-side-1", "sheet-03-side-2")


def test_an_earlier_proof_stays_until_the_next_is_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = make_set(tmp_path / "set", leaves())
    before = {path.name: path.read_bytes() for path in write_proofs(folder, DPI)}

    def interrupted(_: object) -> Image.Image:
        raise KeyboardInterrupt

    monkeypatch.setattr(proofs, "contact_sheet", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_proofs(folder, DPI + 1)
    assert {path.name: path.read_bytes() for path in (folder / "proof").glob("*.png")} == before
    assert len(list(folder.iterdir())) == 4
