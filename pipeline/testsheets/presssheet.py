"""The sheet for the printer: what a print shop has to know besides the file itself."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping

from pipeline.base.geometry import Rect
from pipeline.draw import draw
from pipeline.draw.forms import Source
from pipeline.impose.press import STANDARD
from pipeline.impose.stitch import FileAbout, stitch_drawn
from pipeline.impose.words import sheet_words
from pipeline.plan.model import Paper, SetPlan, tab_size
from pipeline.plan.season import TAB_INK
from pipeline.plan.sizes import Stock
from pipeline.plan.words import words_for
from pipeline.testsheets.pen import READ_MM, Pen
from pipeline.text import FontBook

MARGIN_MM = 20.0
_APART_MM = 2.6
_BOX_MM = 40.0
"""Where the maker writes how many sets are wanted (by eye)."""


def press_sheet(plan: SetPlan, paper: Paper, stock: Stock, pages: int, book: FontBook) -> bytes:
    """A page about a set as it is printed by a press, whose file has so many pages."""
    style, words = sheet_words("press_sheet", plan.language)
    pen = Pen(paper.width_mm, paper.height_mm, book, style=style)
    width = paper.width_mm - 2 * MARGIN_MM
    x, y = MARGIN_MM, MARGIN_MM + 6
    pen.begin(words["title"], (x, y), x + width, 7.0, weight=300)
    about = words["about"].format(title=plan.title, period=plan.period.title)
    y = pen.paragraph(about, (x, y + 8), width, READ_MM + 0.6, strong=True) + _APART_MM
    for text in _said(plan, stock, pages, words):
        y = pen.paragraph(text, (x, y), width, READ_MM + 0.3) + _APART_MM
    pen.box(Rect(x + width - _BOX_MM if style.right_to_left else x, y - 3, _BOX_MM, 10))
    drawn = Source(draw([pen.svg()], book, names=["press sheet"], language=style.language))
    told = FileAbout(str(words["title"]), style.language, "/Simplex")
    return stitch_drawn(drawn, paper.width_mm, paper.height_mm, told)


def _said(plan: SetPlan, stock: Stock, pages: int, words: Mapping[str, str]) -> Iterator[str]:
    press, binder, local = plan.press, plan.binder, words_for(plan.language)
    assert press is not None
    yield words["file"].format(
        pages=local.number(pages),
        standard=STANDARD,
        profile=press.profile_name,
        percent=local.number(press.ink_percent),
    )
    if press.sheet_mm:
        width, height = (local.number(one, 1) for one in press.sheet_mm)
        yield words["pages_sheets"].format(width=width, height=height)
    else:
        yield words["pages_leaves"]
    sizes = Counter((leaf.flap_mm, tab_size(leaf.tab)) for leaf in plan.leaves)
    for (flap, (wider, higher)), many in sorted(sizes.items()):
        yield words["folded" if flap else "leaves"].format(
            leaves=local.number(many),
            width=local.number(binder.width_mm + flap + wider, 1),
            height=local.number(binder.height_mm + higher, 1),
            fold=local.number(binder.width_mm, 1),
        )
    yield words["bleed"].format(bleed=local.number(max(plan.bleed_mm, press.bleed_mm), 1))
    gsm, caliper = local.number(stock.gsm), local.number(stock.thickness_mm, 2)
    yield words["paper"].format(gsm=gsm, caliper=caliper)
    holes = binder.holes
    if holes.centres_mm:
        yield words["holes"].format(
            count=local.number(len(holes.centres_mm)),
            diameter=local.number(holes.diameter_mm, 1),
            edge=local.number(holes.edge_mm, 1),
            places=local.listed([local.number(one, 2) for one in holes.centres_mm]),
        )
    if tabs := sum(1 for leaf in plan.leaves if leaf.tab):
        yield words["tabs"].format(leaves=local.number(tabs), ink=TAB_INK)
    if press.spots:
        yield words["inks"].format(inks=local.listed([name for name, _ in press.spots]))
    yield words["order"].format(
        leaves=local.number(len(plan.leaves)),
        folds=local.number(sum(1 for leaf in plan.leaves if leaf.flap_mm)),
    )
