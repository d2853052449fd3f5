"""Absurd numbers, empty things, circles of references, great depth and number."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused

PAGES: list[Feature] = []

REFUSALS: list[Refused] = []
