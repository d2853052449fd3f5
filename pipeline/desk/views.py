"""Which views of a set look otherwise than before, told without drawing them."""

from __future__ import annotations

from pipeline.cache import key_of
from pipeline.geometry import MM_PER_INCH
from pipeline.plan.model import Side
from pipeline.proof.layout import Contents
from pipeline.proof.pictures import SetPictures

View = tuple[int | None, int | None]


def view_versions(contents: Contents, files: str) -> tuple[str, ...]:
    """For each view of a set a key of all that its picture shows; equal keys, equal pictures.

    ``files`` is the digest of the set's files: it stands in for pages that do not say what they
    were drawn from. A key changes, too, when pages come to lie elsewhere on the sheets they are
    cut out of.
    """
    measured = SetPictures(contents, (None, None), MM_PER_INCH)
    shared = key_of(
        contents.binder, contents.binding, contents.sheets, contents.paper, measured.reach_mm,
        contents.reverse_side_2,
    )  # fmt: skip
    return tuple(
        key_of(shared, *(_shown(contents, leaf, files) for leaf in view))[:32]
        for view in measured.views
    )


def _shown(contents: Contents, leaf: int | None, files: str) -> object:
    """What is seen of a leaf: its face, and with its flap shut some of its back."""
    if leaf is None:
        return None
    pages = [contents.leaves[leaf].page(face) for face in Side]
    drawn = [page and (page.drawn or files) for page in pages]
    return leaf, contents.leaves[leaf].flap_mm, [page and page.flap_mm for page in pages], drawn
