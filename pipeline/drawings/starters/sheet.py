"""The sheet a starter page is drawn on: its layers, its type and its guides."""

from __future__ import annotations

import math
from typing import Any

import svgwrite
from lxml import etree
from svgwrite.extensions import Inkscape

from pipeline.base.geometry import Rect
from pipeline.fill.filling import SAFE_MM as TEXT_SAFE_MM
from pipeline.impose.leaf import Face

SANS = "'Source Sans 3'"
SERIF = "'EB Garamond'"

INK, SOFT, RULE, ACCENT = "#4d534e", "#858c85", "#bcc2ba", "#6f8f6a"

_SODIPODI = "{http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd}"
_INKSCAPE = "{http://www.inkscape.org/namespaces/inkscape}"

_OUTER_MM = 6.0
"""From the trimmed edges to what is printed on a page as large as A5 (common practice)."""

_A5_MM2 = 148.0 * 210.0
"""The area of A5 (ISO 216)."""

_FOLD_MM = TEXT_SAFE_MM
"""From the fold to what is printed."""


class Sheet:
    """A page at its flat size in mm, with layers for artwork, ruled areas, text and guides.

    ``page`` is the area to draw in between binding edge and fore edge, ``flap`` the same on the
    flap (None without one), ``scale`` how large type is compared with A5's.
    """

    def __init__(self, face: Face, title: str) -> None:
        self.face = face
        area = face.trim.width * face.trim.height
        self.scale = min(1.15, max(0.66, math.sqrt(area / _A5_MM2)))
        outer = max(TEXT_SAFE_MM + 0.5, _OUTER_MM * min(1.0, self.scale))
        self.page = self._area(outer)
        self.flap = self._flap_area(outer)
        self.binding_left = face.binding_x == 0
        size = (f"{face.flat.width:g}mm", f"{face.flat.height:g}mm")
        self._drawing = svgwrite.Drawing(
            size=size, viewBox=f"0 0 {face.flat.width:g} {face.flat.height:g}", debug=False
        )
        self._drawing.set_desc(title=title)
        inkscape = Inkscape(self._drawing)
        round_ends = {"fill": "none", "stroke_linecap": "round"}
        self._art = inkscape.layer("artwork", id="artwork", **round_ends)
        self._rules = inkscape.layer("rules", id="rules", **round_ends)
        self._text = inkscape.layer("text", id="text")
        self._guides = inkscape.layer("guides", locked=True, id="guides", fill="none")
        self._names: dict[str, int] = {}
        self._shown: Any = None
        self._draw_guides()

    def _area(self, outer: float) -> Rect:
        """What is left of the closed page between its margins."""
        trim, safe = self.face.trim, self.face.safe
        inner = min(safe.x - trim.x, 99) if self.face.binding_x == 0 else trim.right - safe.right
        inner = max(inner + 1.25, outer)
        left = inner if self.face.binding_x == 0 else outer
        return Rect(trim.x + left, outer, trim.width - inner - outer, trim.height - 2 * outer)

    def _flap_area(self, outer: float) -> Rect | None:
        flap = self.face.flap
        if flap is None or flap.width < outer + _FOLD_MM + 8:
            return None
        left = outer if flap.x == 0 else _FOLD_MM
        return Rect(flap.x + left, outer, flap.width - outer - _FOLD_MM, flap.height - 2 * outer)

    def line(
        self, x: float, y: float, to_x: float, *, colour: str = RULE, width: float = 0.25
    ) -> None:
        """A level rule from ``x`` to ``to_x``."""
        self._add(
            self._art,
            self._drawing.line(
                (_mm(x), _mm(y)), (_mm(to_x), _mm(y)), stroke=colour, stroke_width=width
            ),
        )

    def ruled(self, name: str, area: Rect, *, colour: str = RULE, width: float = 0.2) -> None:
        """An area to be ruled, such as ``lines-6mm``."""
        self._add(
            self._rules,
            self._rect(area, id=self._id(name), fill="none", stroke=colour, stroke_width=width),
        )

    def key(
        self,
        key: str,
        sample: str,
        box: Rect,
        size: float,
        *,
        anchor: str = "start",
        family: str = SANS,
        weight: int = 400,
        fill: str = INK,
        baseline: float | None = None,
    ) -> None:
        """A text to be set, in the box that it has to fit (``baseline`` is its y, in mm)."""
        group = self._drawing.g(id=self._id(key))
        group.add(self._rect(box, fill="none"))
        x = {"start": box.x, "middle": box.x + box.width / 2, "end": box.right}[anchor]
        y = box.bottom - 0.26 * size if baseline is None else baseline
        group.add(self._type(sample, x, y, size, family, weight, fill, anchor))
        self._add(self._text, group)

    def month(self, key: str, area: Rect) -> None:
        """A small month, with samples for its days, weekend days and weekday letters."""
        size = min(0.66 * area.height / 7, 0.5 * area.width / 7)
        group = self._drawing.g(id=self._id(key))
        group.add(self._rect(area, fill="none"))
        for row, sample, column, fill in ((1, "1", 0, INK), (1, "6", 5, ACCENT), (0, "M", 0, SOFT)):
            x = area.x + (column + 0.5) * area.width / 7
            y = area.y + (row + 0.5) * area.height / 7 + 0.33 * size
            group.add(self._type(sample, x, y, size, SANS, 400, fill, "middle"))
        self._add(self._text, group)

    def only(self, flag: str | None) -> None:
        """What is added from now on is shown only where the fact holds (None: always)."""
        self._shown = flag

    def _add(self, layer: Any, element: Any) -> None:
        if self._shown is None:
            layer.add(element)
            return
        group = self._drawing.g(id=self._id(f"show-{self._shown}"))
        group.add(element)
        layer.add(group)

    def _id(self, name: str) -> str:
        """A name the first time, and with a copy's number from then on."""
        self._names[name] = self._names.get(name, 0) + 1
        return name if self._names[name] == 1 else f"{name}-{self._names[name]}"

    def _rect(self, area: Rect, **attributes: Any) -> Any:
        corner, size = (_mm(area.x), _mm(area.y)), (_mm(area.width), _mm(area.height))
        return self._drawing.rect(corner, size, **attributes)

    def _type(
        self,
        text: str,
        x: float,
        y: float,
        size: float,
        family: str,
        weight: int,
        fill: str,
        anchor: str,
    ) -> Any:
        style = {"text_anchor": anchor} if anchor != "start" else {}
        return self._drawing.text(
            text,
            (_mm(x), _mm(y)),
            font_family=family,
            font_size=_mm(size),
            font_weight=weight,
            fill=fill,
            **style,
        )

    def _draw_guides(self) -> None:
        """Trim, safe area, punch zone with its holes, and fold: for the eye, never printed."""
        face, add = self.face, self._guides.add
        add(self._rect(face.punch_zone, id="guide-punch-zone", fill="#e8eef4", stroke="none"))
        thin = {"stroke": "#4f86b8", "stroke_width": 0.15}
        add(self._rect(face.flat, id="guide-trim", **thin))
        dashed = {**thin, "stroke_dasharray": "1.5 1"}
        add(self._rect(face.safe, id="guide-safe", **dashed))
        if face.flap_safe is not None:
            add(self._rect(face.flap_safe, id="guide-safe-flap", **dashed))
        if face.fold_x is not None:
            ends = (_mm(face.fold_x), 0), (_mm(face.fold_x), _mm(face.flat.height))
            add(self._drawing.line(*ends, id="guide-fold", **thin, stroke_dasharray="4 2"))
        for number, hole in enumerate(face.holes, 1):
            centre = (_mm(hole.x), _mm(hole.y))
            add(
                self._drawing.circle(
                    centre, _mm(hole.diameter / 2), id=f"guide-hole{number}", **thin
                )
            )

    def svg(self) -> bytes:
        """The page as a file: UTF-8, a line an element."""
        for layer in (self._art, self._rules, self._text, self._guides):
            self._drawing.add(layer)
        root = etree.fromstring(self._drawing.tostring().encode())
        view = etree.Element(
            _SODIPODI + "namedview",
            {"id": "view", _INKSCAPE + "document-units": "mm", "pagecolor": "#ffffff"},
        )
        root.insert(1, view)
        for empty in root.iterfind("{*}defs"):
            root.remove(empty)
        etree.indent(root)
        return bytes(etree.tostring(root, xml_declaration=True, encoding="UTF-8")) + b"\n"


def _mm(value: float) -> float:
    """Two decimals: a hundredth of a millimetre is finer than any knife."""
    return round(value, 2)
