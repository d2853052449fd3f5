"""Shapes and paths, sound and degenerate."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused

PAGES: list[Feature] = [
    Feature("path that closes and goes on", '<path d="M10 10h20v20z l30 5v10"/>'),
]

REFUSALS: list[Refused] = []
