"""leafset: dated binder inserts, from drawn SVG templates to print files.

The rooms, and what each may import, are shown in DEVELOPERS.md.
"""

__version__ = "0.2.0"
