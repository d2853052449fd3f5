# ruff: noqa: E501  (a drawing is a line)
"""Painting: strokes, dashes, joins, markers, visibility, order, blending of colours."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused

PAGES: list[Feature] = [
    Feature(
        "dashes that begin inside",
        '<path d="M5 20h50" stroke="black" stroke-width="4" stroke-dasharray="6 3" stroke-dashoffset="2"/>',
    ),
]

REFUSALS: list[Refused] = []
