"""Pictures embedded in a template: how many pixels they have."""

from __future__ import annotations

import base64
import binascii
import functools
import io
import urllib.parse

from PIL import Image, ImageOps


@functools.lru_cache(maxsize=64)
def size_of(link: str) -> tuple[int, int] | None:
    """Width and height in pixels of the picture in a ``data:`` link; None if it cannot be read.

    A picture that says it lies on its side counts as it is shown.
    """
    head, _, data = link.partition(",")
    try:
        if head.rstrip().endswith(";base64"):
            raw = base64.b64decode("".join(data.split()))
        else:
            raw = urllib.parse.unquote_to_bytes(data)
        with Image.open(io.BytesIO(raw)) as picture:
            upright = ImageOps.exif_transpose(picture)
            return upright.width, upright.height
    except (OSError, ValueError, binascii.Error):
        return None
