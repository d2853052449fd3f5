"""Text on paths, placed and turned letters, text that runs downwards or flows in shapes."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused

PAGES: list[Feature] = []

REFUSALS: list[Refused] = []
