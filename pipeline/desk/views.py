"""Which views of a set look otherwise than before, told without drawing them.

And the other way round: a page that looks as before is not drawn again for the view it is in.
"""

from __future__ import annotations

from collections import OrderedDict

from PIL import Image

from pipeline.base.cache import key_of
from pipeline.base.geometry import MM_PER_INCH
from pipeline.plan.model import Side
from pipeline.proof.pictures.pictures import SetPictures
from pipeline.proof.read.contents import Contents, other_face


def view_versions(contents: Contents, files: str) -> tuple[str, ...]:
    """For each view of a set a key of all that its picture shows; equal keys, equal pictures.

    ``files`` is the digest of the set's files: it stands in for pages that do not say what they
    were drawn from. A key changes, too, when pages come to lie elsewhere on the sheets they are
    cut out of.
    """
    measured = SetPictures(contents, (None, None), MM_PER_INCH)
    shared = key_of(_place(contents), measured.reach_mm)
    return tuple(
        key_of(
            shared,
            _shown(contents, first, Side.VERSO, files),
            _shown(contents, second, Side.RECTO, files),
        )[:32]
        for first, second in measured.views
    )


def _place(contents: Contents) -> str:
    """A key of where all pages lie."""
    return key_of(
        contents.binder, contents.binding, contents.sheets, contents.paper, contents.reverse_side_2
    )


def _shown(contents: Contents, leaf: int | None, face: Side, files: str) -> object:
    """What is seen of a leaf: a face and, when its flap is shut, what its back has on the flap."""
    if leaf is None:
        return None
    note = contents.leaves[leaf]
    page, back = note.page(face), note.page(other_face(face))
    drawn = page and (page.drawn or files)
    if not note.folds_over(face) or back is None or back.flap_mm == 0:
        return leaf, note.flap_mm, note.folds_over(face), drawn
    return leaf, note.flap_mm, True, drawn, back.drawn or files


class Faces:
    """Pictures of the pages drawn last, in memory."""

    MOST = 8
    """An enlarged page takes up 12 MB."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Image.Image] = OrderedDict()

    def remembering(self, pictures: SetPictures, files: str) -> SetPictures:
        """The same pictures; pages that were drawn from the very same are taken from memory."""
        return _Remembering(pictures, self._kept, files, _place(pictures.contents))


class _Remembering(SetPictures):
    def __init__(
        self, base: SetPictures, kept: OrderedDict[str, Image.Image], files: str, place: str
    ) -> None:
        super().__init__(base.contents, base._sides, base.dpi)
        self._kept, self._files, self._place = kept, files, place

    def at(self, dpi: float) -> SetPictures:
        return _Remembering(super().at(dpi), self._kept, self._files, self._place)

    def face(self, leaf: int, face: Side) -> Image.Image:
        note = self.contents.leaves[leaf]
        page = note.page(face)
        drawn = page and (page.drawn or self._files)
        key = key_of(self._place, self.dpi, leaf, face, note.flap_mm, drawn)
        picture = self._kept.pop(key, None) or super().face(leaf, face)
        self._kept[key] = picture
        while len(self._kept) > Faces.MOST:
            self._kept.popitem(last=False)
        return picture.copy()
