"""The golden pictures' own machinery, and one golden spread of a made-up set."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, ImageDraw

from pipeline.proof.pictures.contact import contact_sheet
from pipeline.proof.pictures.pictures import open_set
from tests.proof.made_up import FLAP, MadeUpLeaf, MadeUpPage, make_set


def drawing(x: int = 50) -> Image.Image:
    picture = Image.new("RGB", (200, 120), "white")
    ImageDraw.Draw(picture).line((x, 10, x, 110), (150, 150, 150))
    return picture


def in_folder(golden: Any, folder: Path, renew: bool = False) -> Callable[..., None]:
    moved: Callable[..., None] = replace(
        golden, folder=folder / "golden", failures=folder / "failures", renew=renew
    )
    return moved


def test_a_missing_picture_fails_and_is_not_written(golden: Any, tmp_path: Path) -> None:
    with pytest.raises(pytest.fail.Exception, match="no golden picture a/b"):
        in_folder(golden, tmp_path)("a/b", drawing())
    assert not list(tmp_path.rglob("*.png"))


def test_renewed_then_held_against(golden: Any, tmp_path: Path) -> None:
    in_folder(golden, tmp_path, renew=True)("a/b", drawing())
    held = in_folder(golden, tmp_path)
    held("a/b", drawing())
    failure = tmp_path / "failures" / "a" / "b.png"
    assert not failure.exists()
    with pytest.raises(pytest.fail.Exception, match="side by side"):
        held("a/b", drawing(51))
    with Image.open(failure) as board:
        assert board.width > 600
    held("a/b", drawing())
    assert not failure.exists()


def test_renewing_leaves_what_is_the_same(golden: Any, tmp_path: Path) -> None:
    renewing = in_folder(golden, tmp_path, renew=True)
    renewing("a", drawing())
    path = tmp_path / "golden" / "a.png"
    before = path.read_bytes()
    nearly = drawing().point(lambda level: max(0, level - 2))
    renewing("a", nearly)
    assert path.read_bytes() == before
    renewing("a", drawing(90))
    assert path.read_bytes() != before


def leaves() -> list[MadeUpLeaf]:
    """Shapes only: letters would depend on the machine's own fonts."""
    pod = '<path d="M{x} 20 c-9 12 -9 28 0 40 c9 -12 9 -28 0 -40z" fill="none" stroke="#7a9a6a"/>'
    rules = "".join(
        f'<path d="M{{x}} {y} h36" stroke="#c4c4c4" stroke-width="0.25"/>' for y in range(20, 72, 6)
    )
    return [
        MadeUpLeaf(
            MadeUpPage(pod.format(x=30) + pod.format(x=WIDTH_AND_HALF), "Opening"),
            MadeUpPage(rules.format(x=FLAP + 8), "W09 1 – 7 Mar", own_flap=True),
            FLAP,
        ),
        MadeUpLeaf(
            MadeUpPage(rules.format(x=15), "W09 1 – 7 Mar", own_flap=True),
            MadeUpPage(pod.format(x=9) + pod.format(x=FLAP + 30), "Closing"),
            FLAP,
        ),
    ]


WIDTH_AND_HALF = 60 + FLAP / 2


def test_a_spread_and_a_contact_sheet_look_as_they_did(golden: Any, tmp_path: Path) -> None:
    with open_set(make_set(tmp_path / "set", leaves(), turn=90), 90) as pictures:
        golden("proof/made-up-spread-open", pictures.spread(0))
        golden("proof/made-up-spread-shut", pictures.spread(0, shut=True))
        golden("proof/made-up-contact-sheet", contact_sheet(pictures))
