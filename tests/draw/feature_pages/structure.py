"""Structure and styles: groups, uses, nested drawings, switches, style sheets, units."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused

PAGES: list[Feature] = [
    Feature(
        "style sheet with a child selector",
        '<style>g > rect { fill: #369 }</style><g><rect x="10" y="8" width="40" height="24"/></g>',
    ),
]

REFUSALS: list[Refused] = []
