"""Filters, and what they stand between."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused

PAGES: list[Feature] = []

REFUSALS: list[Refused] = []
