"""Finished files read back with pdfium: pixels, objects, words, and contents.json."""
