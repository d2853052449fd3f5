"""Pictures and words of what was passed, kept so that a later page can be held against them.

They lie in the build folder under the digest of what they show. They are a convenience and not a
record: without them one is still told that a page changed, only not what on it.
"""

from __future__ import annotations

import io
import json
import re
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from pipeline.base.folders import write_whole
from pipeline.proof.approval.fingerprints import Printed

FOLDER = ".passed"
"""Within the build folder."""

_DIGEST = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True)
class Keepsakes:
    """The folder in which pictures and words of passed pages are kept."""

    folder: Path

    def keep(self, page: Printed) -> None:
        """Keeps what a page shows. Raises ``UserError`` when the folder cannot be written to."""
        picture = self.picture_path(page.print.picture)
        if picture is not None and not picture.is_file():
            data = io.BytesIO()
            page.picture.save(data, "PNG", compress_level=6)
            write_whole(picture, data.getvalue())
        words = self._path(page.print.text, ".json")
        if words is not None and not words.is_file():
            write_whole(words, json.dumps(page.words, ensure_ascii=False).encode())

    def picture(self, digest: str) -> Image.Image | None:
        """A page's picture as it was passed; None when it is not here."""
        path = self.picture_path(digest)
        if path is None or not path.is_file():
            return None
        with Image.open(path) as picture:
            return picture.convert("RGB")

    def words(self, digest: str) -> tuple[str, ...] | None:
        """A page's words as they were passed; None when they are not here."""
        path = self._path(digest, ".json")
        try:
            return tuple(json.loads(path.read_bytes())) if path is not None else None
        except (OSError, ValueError):
            return None

    def picture_path(self, digest: str) -> Path | None:
        """The file a picture is kept in, whether it is there or not; None for what is no digest.

        >>> Keepsakes(Path("kept")).picture_path("../season") is None
        True
        """
        return self._path(digest, ".png")

    def _path(self, digest: str, suffix: str) -> Path | None:
        return self.folder / f"{digest}{suffix}" if _DIGEST.fullmatch(digest) else None
