"""One drawing for several binders: a template redrawn for another size, to be edited further."""

from pipeline.resize.resizing import Resized, resize, resize_files

__all__ = ["Resized", "resize", "resize_files"]
