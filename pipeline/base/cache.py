"""Drawings and findings kept by what they were made from, so that nothing is made twice.

A kept thing is a pure function of what its key is made of; nothing ever has to be thrown away for
being wrong, only to save room. Safe with several processes at once (diskcache sees to that).
"""

from __future__ import annotations

import functools
import hashlib
import re
import shutil
import sys
from collections import OrderedDict
from collections.abc import Callable, Hashable
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
        import diskcache

        # Bytes and strings only, so nothing that is read back can ever be run.
        return diskcache.Cache(
            str(self._folder),
            size_limit=LARGEST_BYTES,
            eviction_policy="least-recently-used",
            disk=diskcache.Disk,
        )

    def get_or_make(self, key: str, make: Callable[[], bytes]) -> bytes:
        """What is kept under ``key``, made now if it is not there."""
        if self._folder is None:
            return make()
        kept = self._store.get(key)
        if not isinstance(kept, bytes):
            kept = make()
            self._store.set(key, kept)
        return kept


NO_CACHE = Cache(None)


def clean(folder: Path) -> int:
    """Throws away all that is kept in a folder; returns how many bytes it took up."""
    size = sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    shutil.rmtree(folder, ignore_errors=True)
    return size
