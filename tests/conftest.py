"""Golden pictures: what was looked at once and accepted, and every later run is held against."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest
from PIL import Image

from pipeline.proof.compare import RASTER_NOISE, compare, side_by_side
from pipeline.proof.png import save_png

HERE = Path(__file__).parent
MOST_BYTES = 150_000


@dataclass(frozen=True)
class Golden:
    """Holds pictures against those in ``folder``; failures are laid side by side in ``failures``.

    The tolerance is ``pipeline.proof.compare.RASTER_NOISE``, for the reasons given there. A name
    that has no picture yet is a failure: only ``renew`` (the option ``--renew-golden``) writes.
    """

    folder: Path
    failures: Path
    renew: bool

    def __call__(self, name: str, picture: Image.Image) -> None:
        """Fail the test unless ``picture`` is the golden picture called ``name``."""
        path = self.folder / f"{name}.png"
        failure = self.failures / f"{name}.png"
        if self.renew:
            self._renew(path, picture)
            failure.unlink(missing_ok=True)
            return
        if not path.is_file():
            pytest.fail(f"no golden picture {name}; look at it and run with --renew-golden")
        with Image.open(path) as golden:
            expected = golden.convert("RGB")
        result = compare(expected, picture, RASTER_NOISE)
        if result.same:
            failure.unlink(missing_ok=True)
            return
        failure.parent.mkdir(parents=True, exist_ok=True)
        save_png(side_by_side(expected, picture), failure)
        pytest.fail(
            f"{name}: {result.reason}; expected, actual and difference are side by side in "
            f"{failure}"
        )

    def _renew(self, path: Path, picture: Image.Image) -> None:
        """Write the picture, unless the one there is the same within the tolerance."""
        if path.is_file():
            with Image.open(path) as golden:
                if compare(golden, picture, RASTER_NOISE).same:
                    return
        path.parent.mkdir(parents=True, exist_ok=True)
        save_png(picture, path)
        size = path.stat().st_size
        if size > MOST_BYTES:
            path.unlink()
            pytest.fail(f"{path.stem}: {size} bytes, at most {MOST_BYTES} fit; use fewer dpi")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--renew-golden",
        action="store_true",
        help="write the golden pictures that have changed instead of failing on them",
    )


@pytest.fixture(scope="session")
def golden(request: pytest.FixtureRequest) -> Golden:
    """``golden("sheets/two-flap-a4-1-side-1", picture)``, see ``Golden``."""
    renew = bool(request.config.getoption("--renew-golden"))
    return Golden(HERE / "golden", HERE / "failures", renew)
