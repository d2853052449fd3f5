"""The ICC profile that colours are turned into a printing press's inks by (ICC.1:2010)."""

from __future__ import annotations

import io
from pathlib import Path

from PIL import ImageCms

from pipeline.base.errors import UserError
from pipeline.base.folders import check_named
from pipeline.plan.collection import workspace_of

PROFILES = Path(__file__).parent / "profiles"
USUAL_PROFILE = "uncoated"
"""The one that comes with the program; its licence lies beside it."""

_ASK = "ask the print shop for its CMYK profile of this paper, a file that ends in .icc"


def read_profile(name: str, season: Path) -> bytes:
    """A profile of CMYK inks: the program's own by its name, else a file beside the season.

    Raises UserError for a file that cannot be read, is no profile, or is one of other colours.
    """
    if name == USUAL_PROFILE:
        return (PROFILES / f"{name}.icc").read_bytes()
    path, where = season.parent / name, f"{season}, press.profile"
    check_named(path)
    if not any(path.resolve().is_relative_to(one.resolve()) for one in workspace_of(season.parent)):
        raise UserError(
            where, f"{name} lies outside the workspace", "copy it beside the season file"
        )
    try:
        data = path.read_bytes()
    except OSError as problem:
        what = f"{name} cannot be read ({problem.strerror})"
        raise UserError(where, what, f"put it beside the season file, or {_ASK}") from None
    # A header of 128 bytes: colour space of the data at 16, the signature 'acsp' at 36 (7.2).
    space, signature = data[16:20].decode("latin-1").strip(), data[36:40]
    if signature != b"acsp":
        raise UserError(where, f"{name} isn't a colour profile", _ASK)
    if space != "CMYK":
        raise UserError(where, f"{name} is a profile of {space} colours, not of CMYK inks", _ASK)
    try:
        lab = ImageCms.createProfile("LAB")
        ImageCms.buildTransform(ImageCms.ImageCmsProfile(io.BytesIO(data)), lab, "CMYK", "LAB")
        profile_name(data)
    except (ImageCms.PyCMSError, OSError, ValueError):
        raise UserError(where, f"{name} is damaged or has no way to CMYK inks", _ASK) from None
    return data


def profile_name(data: bytes) -> str:
    """What a profile calls itself."""
    return ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(data))).strip()
