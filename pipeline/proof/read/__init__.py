"""Finished files read back with pdfium: pixels, objects and words."""
