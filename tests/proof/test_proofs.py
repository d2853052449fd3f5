"""The proof folder: which pictures are in it, and that it appears whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from pipeline.errors import UserError
from pipeline.proof import proofs
from pipeline.proof.proofs import prove, write_proofs
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


def test_an_earlier_proof_stays_until_the_next_is_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = make_set(tmp_path / "set", leaves())
    before = {path.name: path.read_bytes() for path in write_proofs(folder, DPI)}

    def interrupted(_: object) -> Image.Image:
        raise KeyboardInterrupt

    monkeypatch.setattr(proofs, "contact_sheet", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_proofs(folder, DPI)
    assert {path.name: path.read_bytes() for path in (folder / "proof").iterdir()} == before
    assert len(list(folder.iterdir())) == 4


def test_prove_tells_of_each_set(tmp_path: Path) -> None:
    make_set(tmp_path / "march" / "set" / "small-card-en", leaves())
    make_set(tmp_path / "april" / "set" / "small-card-en", leaves()[1:])
    told = list(prove(tmp_path, dpi=DPI))
    assert [(each.done, each.total, each.pictures) for each in told] == [(1, 2, 8), (2, 2, 12)]
    assert [each.folder.parts[-3] for each in told] == ["april", "march"]


def test_only_picks_by_name_and_knows_the_others(tmp_path: Path) -> None:
    make_set(tmp_path / "march" / "set", leaves())
    assert len(list(prove(tmp_path, only="made-up", dpi=DPI))) == 1
    with pytest.raises(UserError, match=r"no set called 'running'; there are: made-up"):
        list(prove(tmp_path, only="running"))


def test_what_is_no_whole_set_is_said_in_one_line(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="no built sets in this folder"):
        list(prove(tmp_path))
    folder = make_set(tmp_path / "set", leaves())
    (folder / "side-2.pdf").write_bytes(b"not a PDF")
    with pytest.raises(UserError, match=r"side-2\.pdf: not a readable PDF"):
        write_proofs(folder)
    (folder / "side-2.pdf").unlink()
    with pytest.raises(UserError, match=r"side-2\.pdf: no such file"):
        write_proofs(folder)
    other = make_set(tmp_path / "other", leaves()[:1])
    (folder / "side-2.pdf").write_bytes((other / "side-2.pdf").read_bytes())
    with pytest.raises(UserError, match=r"side-2\.pdf: has 1 pages for 3 sheets"):
        write_proofs(folder)
