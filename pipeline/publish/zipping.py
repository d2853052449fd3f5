"""A zip whose bytes depend on nothing but what is in it."""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Mapping

_FIRST_DAY = (1980, 1, 1, 0, 0, 0)
"""The earliest date a zip can hold: files are given no time of their own."""

_UNIX, _READABLE = 3, 0o100644


def zipped(folder: str, files: Mapping[str, bytes]) -> bytes:
    """A zip of ``files`` by name, all within one ``folder``, in the order given.

    Stored, not deflated: PDFs are packed inside already, and what deflating gives is another
    thing with every release of zlib.

    >>> zipped("spring", {"a.txt": b"A"}) == zipped("spring", {"a.txt": b"A"})
    True
    """
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name, data in files.items():
            entry = zipfile.ZipInfo(f"{folder}/{name}", _FIRST_DAY)
            entry.create_system = _UNIX
            entry.external_attr = _READABLE << 16
            archive.writestr(entry, data)
    return out.getvalue()


def digest(data: bytes) -> str:
    """The SHA-256 of a file (FIPS 180-4), as checksum programs write it."""
    return hashlib.sha256(data).hexdigest()
