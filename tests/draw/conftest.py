"""Drawing starts from filled pages: the same made-up page as for filling."""

from tests.fill.conftest import book, fill_pages

__all__ = ["book", "fill_pages"]
