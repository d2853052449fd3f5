"""Drawings and findings kept by what they were made from, so that nothing is made twice.

A kept thing is a pure function of what its key is made of; nothing ever has to be thrown away for
being wrong, only to save room. Safe with several processes at once (diskcache sees to that).
"""

from __future__ import annotations

import functools
import hashlib
import os
import re
import shutil
import sqlite3
import stat
import sys
from collections import OrderedDict
from collections.abc import Callable, Hashable
from contextlib import suppress
from pathlib import Path
from typing import Any, TypeVar

import pipeline

_T = TypeVar("_T")

CACHE = ".cache"
"""Where drawings and findings are kept, within the build folder."""

LARGEST_BYTES = 500_000_000
"""How much is kept; what was not used for longest goes first. A chosen value."""

DRAWN_WITH = frozenset(
    {
        "babel", "budoux", "cairocffi", "cairosvg", "cffi", "cssselect2", "defusedxml", "fonttools",
        "jinja2", "lxml", "numpy", "pillow", "pydantic", "pydantic-core", "pypdf", "pypdfium2",
        "python-bidi", "resvg-py", "skia-pathops", "svgwrite", "tinycss2", "uharfbuzz",
        "webencodings",
    }
)  # fmt: skip
"""Packages that have a hand in what is drawn or read back, by the names they are installed under.

Packages of faces count too; those are told by "font" in their names.
"""


@functools.cache
def program() -> str:
    """A digest of all that makes a drawing besides its input: this program, libraries, faces."""
    digest = hashlib.sha256()
    home = Path(pipeline.__file__).parent
    for path in sorted(home.rglob("*")):
        if path.suffix in (".py", ".toml") and "templates_svg" not in path.parts:
            digest.update(str(path.relative_to(home)).encode() + b"\0" + path.read_bytes())
    for name, version in sorted(_installed().items()):
        if name in DRAWN_WITH or "font" in name:
            digest.update(f"{name} {version}\n".encode())
    return digest.hexdigest()


def _installed() -> dict[str, str]:
    """Versions of installed packages, read off their folders' names: faster than asking each.

    Names are written alike, as PyPA's specification of names has it: "Python_Bidi" is
    "python-bidi".
    """
    found: dict[str, str] = {}
    for place in sys.path:
        for folder in Path(place).glob("*.dist-info"):
            name, _, version = folder.name.removesuffix(".dist-info").partition("-")
            found.setdefault(re.sub(r"[-_.]+", "-", name).lower(), version)
    return found


def key_of(*parts: object) -> str:
    """A key for something this program makes from ``parts``, of which ``digest_of`` tells more.

    >>> key_of("a", 1) == key_of("a", 1), key_of("a", 1) == key_of("a", 2)
    (True, False)
    """
    return digest_of(program(), *parts)


def digest_of(*parts: object) -> str:
    """A digest of ``parts`` alone; bytes count as they are, all else by its repr.

    >>> digest_of(b"a", 1) == digest_of(b"a", 1), digest_of("ab", "c") == digest_of("a", "bc")
    (True, False)
    """
    digest = hashlib.sha256()
    for part in parts:
        data = part if isinstance(part, bytes) else repr(part).encode()
        digest.update(len(data).to_bytes(8, "big") + data)
    return digest.hexdigest()


class Recent:
    """What was made last, by what it was made from, as long as the process lives."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._made: OrderedDict[Hashable, Any] = OrderedDict()

    def get_or_make(self, key: Hashable, make: Callable[[], _T]) -> _T:
        """What was made under ``key``, made now if it is not there."""
        if key in self._made:
            self._made.move_to_end(key)
        else:
            self._made[key] = make()
            if len(self._made) > self._most:
                self._made.popitem(last=False)
        made: _T = self._made[key]
        return made


class Cache:
    """A folder of kept drawings; with no folder nothing is kept."""

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder

    @functools.cached_property
    def _store(self) -> Any:
        """What keeps things in the folder; None where there is none that can be trusted."""
        if self._folder is None or not made_safe(self._folder):
            return None
        for _ in range(2):
            try:
                return _opened(self._folder)
            except sqlite3.OperationalError:
                return None
            except sqlite3.DatabaseError:  # damaged: what is kept can be made again
                shutil.rmtree(self._folder, ignore_errors=True)
            except OSError:
                return None
        return None

    def get_or_make(self, key: str, make: Callable[[], bytes]) -> bytes:
        """What is kept under ``key``, made now if it is not there or was changed since."""
        if self._store is None:
            return make()
        with suppress(sqlite3.Error, OSError, ValueError):
            kept = self._store.get(key)
            if isinstance(kept, bytes) and kept[:_SEAL] == _seal(key, kept[_SEAL:]):
                return kept[_SEAL:]
        made = make()
        with suppress(sqlite3.Error, OSError):  # a full disk shows where files are written
            self._store.set(key, _seal(key, made) + made)
        return made


_SEAL = 32


def _seal(key: str, data: bytes) -> bytes:
    """What an entry begins with, by which a damaged one and one of another key are told."""
    return hashlib.sha256(len(key).to_bytes(8, "big") + key.encode() + data).digest()


def _opened(folder: Path) -> Any:
    import diskcache

    class BytesOnly(diskcache.Disk):  # type: ignore[misc]
        """Keeps bytes by strings; what was pickled is never read, for reading it could run it."""

        def fetch(self, mode: int, filename: Any, value: Any, read: bool) -> Any:
            if mode not in (diskcache.core.MODE_RAW, diskcache.core.MODE_BINARY):
                raise ValueError("kept in another way than bytes")
            return super().fetch(mode, filename, value, read)

        def get(self, key: Any, raw: bool) -> Any:
            if not raw:
                raise ValueError("kept under another key than text")
            return super().get(key, raw)

    return diskcache.Cache(
        str(folder),
        size_limit=LARGEST_BYTES,
        eviction_policy="least-recently-used",
        disk=BytesOnly,
    )


def made_safe(folder: Path) -> bool:
    """Whether what is kept in a folder can be trusted: it is ours, and nobody else's to write to.

    Makes it if it isn't there; one of ours that others could write to is emptied and closed to
    them. Where that has no effect, as on some sticks, nothing is kept.
    """
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with suppress(FileExistsError):
            folder.mkdir(mode=0o700)
        found = folder.lstat()
        if not stat.S_ISDIR(found.st_mode):
            return False
        if os.name == "nt":  # where a folder has the rights of the one it is in
            return True
        if found.st_uid != os.geteuid():
            return False
        if found.st_mode & _OTHERS:
            shutil.rmtree(folder, ignore_errors=True)
            folder.mkdir(mode=0o700)
            return not folder.lstat().st_mode & _OTHERS
    except OSError:
        return False
    return True


_OTHERS = stat.S_IWGRP | stat.S_IWOTH


NO_CACHE = Cache(None)


def clean(folder: Path) -> int:
    """Throws away all that is kept in a folder; returns how many bytes it took up."""
    size = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    shutil.rmtree(folder, ignore_errors=True)
    return size
