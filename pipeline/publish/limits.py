"""How big what is published may be, and what helps when it is bigger."""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.base.errors import UserError

MB = 1_000_000


def check_sizes(
    where: str, files: Mapping[str, int], zip_bytes: int, file_mb: float, zip_mb: float
) -> None:
    """Raises ``UserError`` for the first file, or the zip, that is too big. Sizes in bytes.

    >>> check_sizes("march, running", {"side-1.pdf": 30_000_000}, 31_000_000, 20, 50)
    Traceback (most recent call last):
    ...
    pipeline.errors.UserError: march, running, side-1.pdf: has 30.0 MB and a file may have 20; \
publish shorter periods, draw the pages with fewer paths or smaller pictures, or raise \
limits.file_mb
    """
    for name, size in files.items():
        if size > file_mb * MB:
            raise UserError(
                f"{where}, {name}",
                f"has {size / MB:.1f} MB and a file may have {file_mb:g}",
                "publish shorter periods, draw the pages with fewer paths or smaller pictures,"
                " or raise limits.file_mb",
            )
    if zip_bytes > zip_mb * MB:
        name, size = max(files.items(), key=lambda item: item[1])
        raise UserError(
            f"{where}, zip",
            f"has {zip_bytes / MB:.1f} MB and a zip may have {zip_mb:g};"
            f" its biggest file is {name} with {size / MB:.1f}",
            "publish shorter periods, draw the pages with fewer paths or smaller pictures,"
            " or raise publish.zip_mb",
        )
