# ruff: noqa: E501  (a drawing is a line)
"""Clips, masks, opacity and blend modes."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused

PAGES: list[Feature] = [
    Feature(
        "clip by two shapes",
        '<clipPath id="c"><rect x="5" y="5" width="20" height="30"/><rect x="35" y="5" width="20" height="30"/></clipPath><rect width="60" height="40" fill="#383" clip-path="url(#c)"/>',
    ),
]

REFUSALS: list[Refused] = []
