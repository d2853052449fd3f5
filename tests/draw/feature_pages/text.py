"""Text: chunks, white space, spacing, baselines, decoration, languages, faces."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused

PAGES: list[Feature] = [
    Feature(
        "text set from its middle",
        '<text x="30" y="24" font-family="Kalam" font-size="10" text-anchor="middle">Leaves</text>',
    ),
]

REFUSALS: list[Refused] = []
