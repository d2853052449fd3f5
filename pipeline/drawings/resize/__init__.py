"""One drawing for several binders: a template redrawn for another size, to be edited further."""

from pipeline.drawings.resize.files import resize_files
from pipeline.drawings.resize.lettering import SMALLEST_MM
from pipeline.drawings.resize.resizing import Resized, resize

__all__ = ["SMALLEST_MM", "Resized", "resize", "resize_files"]
