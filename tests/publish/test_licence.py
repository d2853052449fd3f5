"""The maker's terms: in the buyer's language, else in English, and said so."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from pipeline.plan.collection import load_collection
from pipeline.publish.bundle import licence, without_terms

ROOT = Path(__file__).parents[2]
GARDEN = ROOT / "templates_svg" / "kitchen_garden"
SEASON = ROOT / "seasons" / "2027-spring.toml"
LANGUAGES = sorted(path.stem for path in (GARDEN / "labels").glob("*.toml"))
TERMS = sorted(path.stem for path in (GARDEN / "licence").glob("*.txt"))


def test_every_language_of_the_demo_has_terms() -> None:
    assert without_terms(load_collection("kitchen_garden", SEASON), LANGUAGES) == []


@pytest.mark.parametrize("language", TERMS)
def test_terms_say_the_same_in_every_language(language: str) -> None:
    english, own = _blocks("en"), _blocks(language)
    assert [len(points) for points in own] == [len(points) for points in english]
    assert "SIL Open Font License" in " ".join(
        (GARDEN / "licence" / f"{language}.txt").read_text("utf-8").split()
    )


def _blocks(language: str) -> list[list[str]]:
    """The points of each block between empty lines."""
    text = (GARDEN / "licence" / f"{language}.txt").read_text("utf-8")
    return [
        [line for line in block.splitlines() if line[:2] == "- "] for block in text.split("\n\n")
    ]


def test_a_language_without_terms_gets_the_english_ones(tmp_path: Path) -> None:
    shutil.copytree(GARDEN, tmp_path / "templates_svg" / "garden")
    season = tmp_path / "seasons" / "spring.toml"
    (tmp_path / "templates_svg" / "garden" / "licence" / "pl.txt").unlink()
    collection = load_collection("garden", season)
    assert without_terms(collection, ["de-AT", "pl", "en-GB"]) == ["pl"]
    assert licence(collection, "pl") == licence(collection, "en-GB")
    assert licence(collection, "de-AT") == licence(collection, "de") != licence(collection, "en")
