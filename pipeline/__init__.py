"""leafset: dated binder inserts, from drawn SVG templates to print files.

The stages run in one direction, a folder each, and each imports only from those before it:
``plan`` -> ``fill`` -> ``draw`` -> ``impose`` -> ``proof``. ``text`` (faces and shaping),
``geometry`` and ``errors`` are shared ground beneath them all.
"""

__version__ = "0.1.0"
