"""Template and facts to filled pages: layers of SVG, and the whole page any editor opens."""

from pipeline.fill.filling import FilledPage, PageLayer, SetText, fill_set, texts_of_set

__all__ = ["FilledPage", "PageLayer", "SetText", "fill_set", "texts_of_set"]
