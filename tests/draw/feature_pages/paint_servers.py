# ruff: noqa: E501  (a drawing is a line)
"""Gradients and patterns, in every unit."""

from __future__ import annotations

from tests.draw.feature_samples import Feature, Refused

PAGES: list[Feature] = [
    Feature(
        "gradient that is mirrored",
        '<linearGradient id="g" x2=".2" spreadMethod="reflect"><stop stop-color="#036"/><stop offset="1" stop-color="#fc6"/></linearGradient><rect x="5" y="5" width="50" height="30" fill="url(#g)"/>',
    ),
]

REFUSALS: list[Refused] = []
