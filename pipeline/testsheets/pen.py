"""A pen for test sheets: lines, words and ready figures in mm, in the style of sheet marks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import svgwrite
from svgwrite.container import Group

from pipeline.base.geometry import MM_PER_INCH, Rect
from pipeline.impose.margins import (
    DASHES,
    FAMILY,
    GREY,
    HAIRLINE_MM,
    INK,
    STRONG_WEIGHT,
    WordStyle,
    n,
)
from pipeline.text import FontBook, Style, advance
from pipeline.text.shape import levels, lines

CARD_MM = (85.60, 53.98)
"""A bank card: ISO/IEC 7810, ID-1."""

CARD_RADIUS_MM = 3.18
"""The corner radius of ID-1, its greatest: 3.18 mm ± 0.30."""

FINE_MM = 0.12
"""Lines of scales: to be seen through paper."""

LINE_MM = 0.2
WORDS_MM = 2.7
PLAIN = 400
"""The weight of words that are no title, heading or number to look for."""
READ_MM = 9 / 72 * MM_PER_INCH
"""Words that a buyer reads, 9 pt."""

LEAST_MM = 1.9
"""Words that have to fit get no smaller than this (from memory: about 5 pt is still read)."""

QUIET = 0.85
"""How large words beside the point are, as a part of the others."""

LEAF_MM = (22.0, 44.0)
"""The drawn leaf with its stalk, across and high."""


class WordLook(NamedTuple):
    """How words look: of titles, headings and numbers, which are stronger, and of all others.

    ``weight`` and the colours are those asked for where they are 0 and empty.
    """

    heads: str = FAMILY
    words: str = FAMILY
    weight: int = 0
    italic: bool = False
    head_colour: str = ""
    colour: str = ""
    frame: str = INK
    own_faces: bool = True
    """Whether a language's faces for test sheets come after the first, or the book's stand-ins."""


LEAFLET = WordLook(
    heads="Vollkorn",
    words="Alegreya Sans",
    weight=500,
    italic=True,
    head_colour="#4a6a3c",
    colour="#3f463b",
    frame="#9db391",
    own_faces=False,
)
"""That of the directions that come with the program: what buyers get is of one family."""


class Pen:
    """Draws on one side of a sheet ``width`` × ``height`` mm, in coordinates from ``origin``.

    ``upside_down`` turns all of it by 180 degrees about the sheet's middle.
    """

    def __init__(
        self,
        width: float,
        height: float,
        book: FontBook,
        *,
        origin: tuple[float, float] = (0.0, 0.0),
        upside_down: bool = False,
        style: WordStyle = WordStyle(),  # noqa: B008 (a tuple: nobody can change it)
        look: WordLook = WordLook(),  # noqa: B008 (the same)
    ) -> None:
        self.book = book
        self.style = style
        self.look = look
        self.drawing = svgwrite.Drawing(
            size=(f"{width:.6g}mm", f"{height:.6g}mm"),
            viewBox=f"0 0 {width:.6g} {height:.6g}",
            debug=False,
        )
        moves = [f"rotate(180 {n(width / 2)} {n(height / 2)})"] if upside_down else []
        moves.append(f"translate({n(origin[0])} {n(origin[1])})")
        self.on = self.drawing.g(fill="none", stroke=INK, stroke_width=HAIRLINE_MM)
        self.on["transform"] = " ".join(moves)
        self.drawing.add(self.on)

    def svg(self) -> bytes:
        """What has been drawn."""
        return str(self.drawing.tostring()).encode()

    def line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        width: float = HAIRLINE_MM,
        *,
        dashed: bool = False,
    ) -> None:
        """A straight line."""
        line = self.drawing.line(_xy(start), _xy(end), stroke_width=width)
        if dashed:
            line["stroke-dasharray"] = DASHES
        self.on.add(line)

    def outline(self, points: Sequence[tuple[float, float]], width: float = HAIRLINE_MM) -> None:
        """An open line through points."""
        self.on.add(self.drawing.polyline([_xy(point) for point in points], stroke_width=width))

    def box(
        self, rect: Rect, radius: float = 0.0, width: float = LINE_MM, colour: str = INK
    ) -> None:
        """A rectangle; the middle of its line is its edge."""
        shape = self.drawing.rect(
            (n(rect.x), n(rect.y)), (n(rect.width), n(rect.height)), stroke_width=width
        )
        if colour != INK:
            shape["stroke"] = colour
        if radius:
            shape["rx"] = shape["ry"] = n(radius)
        self.on.add(shape)

    def circle(
        self, centre: tuple[float, float], diameter: float, width: float = HAIRLINE_MM
    ) -> None:
        """A circle; the middle of its line is its rim."""
        self.on.add(self.drawing.circle(_xy(centre), n(diameter / 2), stroke_width=width))

    def words(
        self,
        text: str,
        at: tuple[float, float],
        size: float = WORDS_MM,
        *,
        anchor: str = "start",
        weight: int = PLAIN,
        colour: str = GREY,
        turned: int = 0,
        part_of: str = "",
    ) -> None:
        """One line of words; ``at`` is on its baseline, ``turned`` clockwise.

        ``anchor`` "start" is the left, whichever way the words run. They run as those of the
        text run that they are ``part_of``.
        """
        backwards = self._backwards(part_of or text)
        if backwards:
            anchor = {"start": "end", "end": "start"}.get(anchor, anchor)
        element = self.drawing.text(
            text,
            insert=("0", "0"),
            transform=f"translate({n(at[0])} {n(at[1])})" + (f" rotate({turned})" * bool(turned)),
            font_size=n(size),
            font_family=", ".join(self._families(weight)),
            font_weight=self._weight(weight),
            text_anchor=anchor,
            fill=(self.look.head_colour if weight != PLAIN else self.look.colour) or colour,
            stroke="none",
        )
        if self._italic(weight):
            element["font-style"] = "italic"
            element["style"] = "font-feature-settings:'lnum','tnum'"
        if backwards:
            element["direction"] = "rtl"
        self.on.add(element)

    def _families(self, weight: float) -> tuple[str, ...]:
        first = self.look.words if weight == PLAIN else self.look.heads
        return (first, *(self.style.faces if self.look.own_faces else ()))

    def _weight(self, weight: int) -> int:
        return weight if weight == PLAIN else self.look.weight or weight

    def _italic(self, weight: float) -> bool:
        return weight != PLAIN and self.look.italic

    def _backwards(self, text: str) -> bool:
        """Whether words run from right to left: figures and settings alone do not."""
        return self.style.right_to_left and any(level % 2 for level in levels(text))

    def begin(
        self, text: str, at: tuple[float, float], right: float, size: float, weight: int = PLAIN
    ) -> None:
        """One black line: from ``at``, or back from ``right`` where lines begin there."""
        if self.style.right_to_left:
            self.words(text, (right, at[1]), size, anchor="end", weight=weight, colour=INK)
        else:
            self.words(text, at, size, weight=weight, colour=INK)

    def heading(
        self, text: str, at: tuple[float, float], width: float = math.inf, size: float = 3.3
    ) -> float:
        """Stronger words, broken into lines like a paragraph's."""
        return self.paragraph(text, at, width, size, strong=True)

    def caution(
        self, title: str, text: str, at: tuple[float, float], width: float, size: float
    ) -> float:
        """A warning in its frame, whose upper left corner is ``at``. Gives its lower edge."""
        x, top = at
        y = self.heading(title, (x + 3, top + 2 + size), width - 6, size + 0.2)
        y = self.paragraph(text, (x + 3, y), width - 6, size) - 0.4 * size
        self.box(Rect(x, top, width, y - top), 1.5, 0.35, self.look.frame)
        return y

    def paragraph(
        self,
        text: str,
        at: tuple[float, float],
        width: float,
        size: float = WORDS_MM,
        *,
        strong: bool = False,
    ) -> float:
        """Words broken into lines; ``at`` is on the first baseline. Gives the next baseline.

        Where the language runs from right to left, lines begin at the right end of ``width``.
        """
        x, y = at
        weight, colour = (STRONG_WEIGHT, INK) if strong else (PLAIN, GREY)
        at_right = self.style.right_to_left and math.isfinite(width)
        end, anchor = (x + width, "end") if at_right else (x, "start")
        for row in self.rows(text, width, size, weight):
            self.words(
                row, (end, y), size, anchor=anchor, weight=weight, colour=colour, part_of=text
            )
            y += size * self.style.leading
        return y

    def column(
        self,
        texts: Sequence[str],
        at: tuple[float, float],
        width: float,
        height: float,
        *,
        quiet: str = "",
        gap: float = 1.0,
    ) -> float:
        """Paragraphs, at the largest size at which their baselines span at most ``height``.

        ``quiet`` comes last and is smaller. Gives the next baseline.
        """
        size = self.size_for(texts, width, height, quiet=quiet, gap=gap)
        x, y = at
        for text in texts:
            y = self.paragraph(text, (x, y), width, size) + gap
        if quiet:
            y = self.paragraph(quiet, (x, y), width, size * QUIET) + gap
        return y - gap

    def size_for(
        self,
        texts: Sequence[str],
        width: float,
        height: float = math.inf,
        *,
        quiet: str = "",
        gap: float = 1.0,
        most: float = WORDS_MM,
        weight: int = PLAIN,
    ) -> float:
        """The largest size, up to ``most``, at which a column keeps within width and height."""
        size = most
        while size > LEAST_MM:
            parts = [(text, size) for text in texts] + [(quiet, size * QUIET)] * bool(quiet)
            tall, wide = -size * self.style.leading + gap * (len(parts) - 1), 0.0
            for text, each in parts:
                rows = self.rows(text, width, each, weight)
                tall += len(rows) * each * self.style.leading
                wide = max(wide, *(self.measure(row, each, weight) for row in rows))
            if tall <= height + 1e-6 and wide <= width + 1e-6:
                return size
            size -= 0.05
        return LEAST_MM

    def rows(self, text: str, width: float, size: float, weight: int = PLAIN) -> list[str]:
        """Words broken into lines as wide as ``width`` lets them be."""
        if not math.isfinite(width):
            return [text]
        return lines(text, self._style(text, size, weight), width, self.book, "test sheet")

    def measure(self, text: str, size: float, weight: int = PLAIN) -> float:
        """How wide words run, mm."""
        return advance(text, self._style(text, size, weight), self.book, "test sheet")

    def _style(self, text: str, size: float, weight: int) -> Style:
        return Style(
            self._families(weight),
            size,
            self._weight(weight),
            self._italic(weight),
            language=self.style.language,
            right_to_left=self._backwards(text),
        )

    def bar(
        self,
        at: tuple[float, float],
        length: float,
        parts: int,
        label: str,
        down: bool,
        size: float = WORDS_MM,
    ) -> None:
        """A measured bar, from ``at`` to the right or down, marked in equal parts."""
        x, y = at

        def along(way: float, aside: float) -> tuple[float, float]:
            return (x + aside, y + way) if down else (x + way, y + aside)

        self.line(along(0, 0), along(length, 0), FINE_MM)
        for number in range(parts + 1):
            reach = 1.6 if number in (0, parts) else 1.0 if 2 * number == parts else 0.6
            way = length * number / parts
            self.line(along(way, -reach), along(way, reach), FINE_MM)
        if down:
            self.words(label, along(length + 2.4, 0.95), size, anchor="end", turned=270)
        else:
            self.words(label, along(length + 2.4, 0.95), size)

    def card(
        self,
        corner: tuple[float, float],
        *said: str,
        sizes: tuple[float, float] = (3.3, WORDS_MM),
    ) -> None:
        """The outline of a bank card at true size, ``corner`` its top left; two lines in it."""
        self.box(Rect(*corner, *CARD_MM), CARD_RADIUS_MM)
        middle = corner[0] + CARD_MM[0] / 2
        for text, down, size in zip(said, (26, 31), sizes, strict=True):
            self.words(text, (middle, corner[1] + down), size, anchor="middle")

    def cross(self, at: tuple[float, float], reach: float = 4.0) -> None:
        """A registration cross with its ring."""
        x, y = at
        self.line((x - reach, y), (x + reach, y), FINE_MM)
        self.line((x, y - reach), (x, y + reach), FINE_MM)
        self.circle(at, reach, FINE_MM)

    def leaf(
        self, at: tuple[float, float], scale: float = 1.0, turned: int = 0, dashed: bool = False
    ) -> None:
        """A drawn leaf, its tip up, around a middle; turned clockwise."""
        group: Group = self.drawing.g(stroke_width=n(0.24 if scale == 1 else 0.14 / scale))
        group["transform"] = f"translate({n(at[0])} {n(at[1])}) scale({n(scale)}) rotate({turned})"
        group["stroke-linecap"] = "round"
        group["stroke-linejoin"] = "round"
        if dashed:
            group["stroke-dasharray"] = " ".join(
                n(float(part) / scale) for part in DASHES.split(",")
            )
        blade = "M0 -22C6 -16 11 -8 11 0C11 7 6 11.5 0 12C-6 11.5 -11 7 -11 0C-11 -8 -6 -16 0 -22Z"
        group.add(self.drawing.path(blade))
        group.add(self.drawing.path("M0 -17C0.6 -6 -0.4 4 0 12C0.2 16 0.6 19 1.6 22"))
        if not dashed:
            for y, wide in ((8, 8.2), (3, 9.2), (-2.2, 8.6), (-7.2, 6.6), (-12, 3.8)):
                for side in (-1, 1):
                    group.add(
                        self.drawing.path(
                            f"M0 {n(y)}C{n(side * wide * 0.35)} {n(y - 0.6)} "
                            f"{n(side * wide * 0.75)} {n(y - 2.2)} {n(side * wide)} {n(y - 4.6)}",
                            stroke_width=n(0.14 if scale == 1 else 0.09 / scale),
                        )
                    )
        self.on.add(group)


def _xy(point: tuple[float, float]) -> tuple[str, str]:
    return n(point[0]), n(point[1])
