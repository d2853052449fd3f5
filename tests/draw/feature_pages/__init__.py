"""Small drawings, each of one thing that vector editors save, gathered by what they are about.

Each is drawn by us, as a build draws it, and by a second engine when the tests run. ``PAGES`` are
drawn right, ``REFUSALS`` are refused by name. ``BROWSER_PAGES`` are drawn right too, but the
second engine cannot be asked about them: a browser is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tests.draw.feature_pages import (
    filters,
    masking,
    paint_servers,
    painting,
    pictures,
    robust,
    shapes,
    structure,
    text,
    text_on_paths,
)
from tests.draw.feature_samples import Feature, Refused

_PARTS = (
    structure, shapes, painting, pictures, paint_servers, masking, filters, text, text_on_paths,
    robust,
)  # fmt: skip

PAGES: Mapping[str, Sequence[Feature]] = {
    part.__name__.rpartition(".")[2]: part.PAGES for part in _PARTS
}
"""What is drawn right, by part."""

BROWSER_PAGES: Sequence[Feature] = (*text.BROWSER_PAGES, *text_on_paths.BROWSER_PAGES)
"""What is drawn right, as a browser prints it."""

REFUSALS: Mapping[str, Sequence[Refused]] = {
    part.__name__.rpartition(".")[2]: part.REFUSALS for part in _PARTS
}
"""What is refused, by part."""
