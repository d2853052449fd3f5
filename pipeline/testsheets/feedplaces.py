"""Where things lie on a feed test, for papers of either kind.

Positions are mm from the middle of the sheet, as one looks at a side with its words upright. What
is read through the paper lies on the back mirrored left to right.
"""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.plan.model import Paper
from pipeline.testsheets import vernier

At = tuple[float, float]


@dataclass(frozen=True)
class Places:
    """What has to lie somewhere exactly; words lie around it.

    ``leaf_1`` is on a front, ``leaf_2`` in the middle of its back: turned round, or printed on the
    front, it stays where it is, and never covers the first.
    """

    least_mm: tuple[float, float]
    """A paper that is smaller has no room for it."""
    sheets: int
    left: float
    right: float
    card: At
    standing_bars: tuple[At, At]
    """Where the bars of 100 mm and of 4 inches begin."""
    lying_bars: tuple[At, At]
    edge_most: int
    """How far from an edge it is measured what a printer leaves white."""
    side_edges_y: float
    """The middle of the numbers along the left and right edge."""
    leaf_1: At
    crosses: tuple[At, At, At, At]
    across_y: float
    """The scale that reads shifts to the left and right lies along this line of both sides."""
    down_x: float
    """The scale that reads shifts up and down lies along this line, mirrored on the back."""
    down_y: float
    """Where along it its zero is."""
    most: int
    """Lines to either side of a scale's zero."""
    bracket_mm: float
    """Half the width of the bracket at a scale's zero: further off, it would be read wrong."""
    leaf_2: At = (0.0, 0.0)


LARGE = Places(
    least_mm=(200.0, 275.0),
    sheets=1,
    left=-66.0,
    right=69.0,
    card=(-66.0, -97.0),
    standing_bars=((-74.0, -115.0), (-80.0, -115.0)),
    lying_bars=((-66.0, -36.0), (-66.0, -30.0)),
    edge_most=15,
    side_edges_y=-50.0,
    leaf_1=(-50.0, 0.0),
    crosses=((-91.0, -112.0), (91.0, -112.0), (-91.0, 112.0), (91.0, 112.0)),
    across_y=105.0,
    down_x=76.0,
    down_y=0.0,
    most=vernier.MOST,
    bracket_mm=vernier.BRACKET_MM,
)
"""One sheet for all five questions."""

SMALL = Places(
    least_mm=(139.69, 209.99),
    sheets=2,
    left=-49.5,
    right=49.5,
    card=(-49.5, -50.0),
    standing_bars=((-55.2, -85.4), (-61.0, -85.4)),
    lying_bars=((-49.5, 13.0), (-49.5, 19.0)),
    edge_most=13,
    side_edges_y=58.0,
    leaf_1=(-30.0, 0.0),
    crosses=((-59.0, -94.0), (59.0, -94.0), (-59.0, 94.0), (59.0, 94.0)),
    across_y=80.0,
    down_x=53.4,
    down_y=14.0,
    most=14,
    bracket_mm=1.5,
)
"""Two sheets: one to measure and to read, one to try; for papers from A5 and Half Letter up."""


def places_on(paper: Paper) -> Places | None:
    """How a paper's feed test is laid out, None where there is no room for one."""
    for places in (LARGE, SMALL):
        if paper.width_mm >= places.least_mm[0] and paper.height_mm >= places.least_mm[1]:
            return places
    return None
