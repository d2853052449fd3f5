"""The bank card on the feed test, against the standard that sets its size."""

from __future__ import annotations

import pytest

from pipeline.impose import Flip
from pipeline.plan.model import Paper
from pipeline.plan.sizes import load_sizes
from pipeline.testsheets.feedtest import feed_test
from tests.impose.readback import Path, paths
from tests.impose.sample import A4, book


# ISO/IEC 7810, ID-1: 85.60 mm wide, 53.98 mm high (3.370 by 2.125 in), corners rounded with a
# radius of 3.18 mm (1/8 in).
@pytest.mark.parametrize("paper", [A4, load_sizes(None).papers["a5"]], ids=["a4", "a5"])
def test_the_outline_is_that_of_an_id_1_card(paper: Paper) -> None:
    (card,) = (
        path
        for path in paths(feed_test(paper, Flip.LONG, book()), 0)
        if path.box.width == pytest.approx(85.60, abs=0.01)
    )
    assert card.box.height == pytest.approx(53.98, abs=0.01)
    assert (card.box.width / 25.4, card.box.height / 25.4) == pytest.approx(
        (3.370, 2.125), abs=0.001
    )
    assert radius(card) == pytest.approx(3.18, abs=0.01)
    assert radius(card) / 25.4 == pytest.approx(1 / 8, abs=0.001)


def radius(card: Path) -> float:
    """How far from a corner the straight top edge ends; the curve's handle lies in between."""
    box = card.box
    on_top = sorted({round(x - box.x, 3) for x, y in card.points if abs(y - box.y) < 0.001})
    handle, end = on_top[:2]
    assert handle < end
    return end
