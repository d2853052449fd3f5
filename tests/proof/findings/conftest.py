"""What the tests of findings share: drawings kept, and one sound garden."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.proof.findings.garden import Garden


@pytest.fixture(scope="session")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Drawings kept between gardens, which differ in little."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(scope="session")
def sound(tmp_path_factory: pytest.TempPathFactory, cache: Path) -> Garden:
    """A garden with nothing wrong, built once and never changed."""
    garden = Garden.planted(tmp_path_factory.mktemp("sound") / "garden", "en-GB", cache)
    garden.build()
    return garden
