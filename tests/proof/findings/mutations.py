"""Every way in which the tests spoil the demo, and the one finding each must give."""

from __future__ import annotations

import base64
import io
import math
import re
from collections.abc import Callable
from dataclasses import dataclass, replace

from fontTools.ttLib import TTFont
from PIL import Image
from pypdf import PdfWriter, Transformation
from pypdf.generic import (
    DecodedStreamObject,
    DictionaryObject,
    NameObject,
    RectangleObject,
    StreamObject,
)

from pipeline.base.findings import SET_RULES
from pipeline.base.geometry import pt
from pipeline.draw.forms import added
from pipeline.plan import SeasonPlan
from pipeline.plan.model import DayCell, MonthGrid, Page, Side, Spread
from tests.proof.findings.garden import FILES, VERSO, Garden, with_facts, with_spreads

PAPER_MM = (210.0, 297.0)

Check = tuple[SeasonPlan | None, SeasonPlan | None]
"""The plan to build from and the one to check against; None for the season's own."""


@dataclass(frozen=True)
class Mutation:
    """One way to spoil the demo.

    ``what`` is what was done, ``code`` the finding it must give and no other. ``spoil`` changes
    templates, labels or the plan before the set is built, ``tamper`` the finished files.
    """

    what: str
    code: str
    spoil: Callable[[Garden], Check | None] | None = None
    tamper: Callable[[Garden], None] | None = None
    limits: str = ""
    language: str = "en-GB"


def _drawn(change: Callable[[str], str], template: str = VERSO) -> Callable[[Garden], None]:
    return lambda garden: garden.redraw(template, change)


def _without(*keys: str) -> Callable[[str], str]:
    def change(svg: str) -> str:
        for key in keys:
            svg, count = re.subn(rf'<g id="{key}">.*?</g>', "", svg)
            assert count == 1
        return svg

    return change


def _renamed(**keys: str) -> Callable[[str], str]:
    """Ids changed all at once, so that two can be exchanged; _ stands for -."""
    new = {old.replace("_", "-"): key.replace("_", "-") for old, key in keys.items()}
    return lambda svg: re.sub(
        r'id="([^"]+)"', lambda match: f'id="{new.get(match[1], match[1])}"', svg
    )


def _added(*elements: str) -> Callable[[str], str]:
    """Elements painted last, but under the layer of guides."""
    return lambda svg: svg.replace("</svg>", f"<g>{''.join(elements)}</g></svg>")


def _words(text: str, x: float, y: float, attributes: str = "") -> str:
    return (
        f"<text x='{x}' y='{y}' font-family='Source Sans 3' font-size='3' fill='#5d6459'"
        f" {attributes}>{text}</text>"
    )


def _behind(*elements: str) -> Callable[[str], str]:
    """Elements painted after the artwork and before the texts."""
    return lambda svg: svg.replace('<g id="text"', f'<g>{"".join(elements)}</g><g id="text"')


def _panel(x: float, y: float, width: float, height: float, fill: str) -> str:
    return f"<rect x='{x}' y='{y}' width='{width}' height='{height}' fill='{fill}'/>"


def _set(key: str, attributes: str) -> Callable[[str], str]:
    """The text of a key given further attributes."""
    pattern = rf'(<g id="{key}">(?:<rect [^>]*>)?<text)'
    return lambda svg: re.sub(pattern, rf"\1 {attributes}", svg)


def _picture(pixels: int, size_mm: float) -> str:
    data = io.BytesIO()
    shades = Image.linear_gradient("L").resize((pixels, pixels)).point(lambda v: 160 + v // 3)
    shades.convert("RGB").save(data, "png")
    href = base64.b64encode(data.getvalue()).decode()
    return (
        f'<image x="60" y="150" width="{size_mm}" height="{size_mm}"'
        f' xmlns:xlink="http://www.w3.org/1999/xlink" xlink:href="data:image/png;base64,{href}"/>'
    )


def _next_week_on_the_right(garden: Garden) -> Check:
    def change(spreads: tuple[Spread, ...]) -> tuple[Spread, ...]:
        first, second = spreads
        return (Spread(first.verso, second.recto), second)

    plan = with_spreads(garden.plan, change)
    return plan, plan


def _other_plan(change: Callable[[SeasonPlan], SeasonPlan]) -> Callable[[Garden], Check]:
    return lambda garden: (change(garden.plan), None)


def _a_week_less(garden: Garden) -> Check:
    return with_spreads(garden.plan, lambda spreads: spreads[:1]), None


def _a_week_more(garden: Garden) -> Check:
    return None, with_spreads(garden.plan, lambda spreads: spreads[:1])


def _crooked_month(garden: Garden) -> Check:
    """Two days of the small month have changed places."""

    def crooked(month: MonthGrid) -> MonthGrid:
        rows = [list(row) for row in month.rows]
        rows[1][2], rows[1][3] = rows[1][3], rows[1][2]
        return replace(month, rows=tuple(tuple(row) for row in rows))

    def said(page: Page) -> Page:
        months = {key: crooked(month) for key, month in page.facts.months.items()}
        return replace(page, facts=replace(page.facts, months=months))

    def change(spreads: tuple[Spread, ...]) -> tuple[Spread, ...]:
        return tuple(Spread(said(one.verso), one.recto) for one in spreads)

    return with_spreads(garden.plan, change), None


def _short_month(garden: Garden) -> Check:
    """The small month has lost a day."""

    def said(page: Page) -> Page:
        def short(month: MonthGrid) -> MonthGrid:
            def kept(day: DayCell | None) -> DayCell | None:
                return None if day is None or day.date.day == 17 else day

            rows = tuple(tuple(kept(day) for day in row) for row in month.rows)
            return replace(month, rows=rows)

        months = {key: short(month) for key, month in page.facts.months.items()}
        return replace(page, facts=replace(page.facts, months=months))

    return (
        with_spreads(
            garden.plan,
            lambda spreads: tuple(Spread(said(one.verso), one.recto) for one in spreads),
        ),
        None,
    )


def _labels(language: str, **labels: str) -> Callable[[Garden], None]:
    def change(garden: Garden) -> None:
        folder = garden.folder / "templates_svg" / "kitchen_garden" / "labels"
        path = folder / f"{language}.toml"
        text = path.read_text("utf-8")
        for key, value in labels.items():
            name = key.replace("_", "-")
            text, count = re.subn(rf"(?m)^{name} = .*$", f'{name} = "{value}"', text)
            assert count == 1
        path.write_text(text, "utf-8")

    return change


def _moved(writer: PdfWriter, page: int, matrix: Transformation) -> None:
    """Its drawing moved, and no other's: pages share what they can."""
    drawn = writer.pages[page].get_contents()
    assert drawn is not None
    stream = DecodedStreamObject()
    numbers = " ".join(f"{value:g}" for value in matrix.ctm)
    stream.set_data(f"q {numbers} cm\n".encode() + drawn.get_data() + b"\nQ")
    writer.pages[page][NameObject("/Contents")] = added(writer, stream)


def _swapped(writer: PdfWriter, *pairs: tuple[int, int]) -> None:
    pages = list(writer.pages)
    order = list(range(len(pages)))
    for one, other in pairs:
        order[one], order[other] = order[other], order[one]
    kids = writer.root_object["/Pages"].get_object()["/Kids"]  # type: ignore[index]
    held = list(kids)
    for place, number in enumerate(order):
        kids[place] = held[number]


def _blanked(writer: PdfWriter, page: int) -> None:
    stream = DecodedStreamObject()
    stream.set_data(b"")
    writer.pages[page][NameObject("/Contents")] = added(writer, stream)


def _turned(writer: PdfWriter, page: int) -> None:
    width, height = map(pt, PAPER_MM)
    _moved(writer, page, Transformation((-1, 0, 0, -1, width, height)))


def _shifted(writer: PdfWriter, page: int) -> None:
    _moved(writer, page, Transformation().translate(pt(3), 0))


def _about_middle(a: float, b: float, c: float, d: float) -> Callable[[PdfWriter, int], None]:
    """A side changed by a matrix (a, b, c, d) about the middle of its sheet."""

    def change(writer: PdfWriter, page: int) -> None:
        x, y = (pt(side) / 2 for side in PAPER_MM)
        middle = Transformation().translate(-x, -y).transform(Transformation((a, b, c, d, 0, 0)))
        _moved(writer, page, middle.translate(x, y))

    return change


def _leaning(degrees: float) -> Callable[[PdfWriter, int], None]:
    cosine, sine = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return _about_middle(cosine, sine, -sine, cosine)


def _painted_on_top(operators: str) -> Callable[[PdfWriter, int], None]:
    """Something painted last on a side: what another program has stamped on it."""

    def change(writer: PdfWriter, page: int) -> None:
        drawn = writer.pages[page].get_contents()
        assert drawn is not None
        stream = DecodedStreamObject()
        stream.set_data(b"q " + drawn.get_data() + f" Q q {operators} Q".encode())
        writer.pages[page][NameObject("/Contents")] = added(writer, stream)

    return change


def _page_form(writer: PdfWriter, page: int) -> DictionaryObject:
    """The form that holds the first page on a side."""
    forms = writer.pages[page]["/Resources"]["/XObject"]  # type: ignore[index]
    form = forms[sorted(forms)[0]].get_object()
    assert isinstance(form, DictionaryObject)
    return form


def _redrawn(
    change: Callable[[bytes, bool], bytes],
) -> Callable[[PdfWriter, int], None]:
    """What the layers of a page paint changed; told whether a layer has letters."""

    def changed(writer: PdfWriter, page: int) -> None:
        form = _page_form(writer, page)
        layers = form["/Resources"]["/XObject"]  # type: ignore[index]
        for name in list(layers):
            layer = layers[name].get_object()
            data = change(layer.get_data(), "/Font" in layer["/Resources"])
            stream = DecodedStreamObject()
            stream.set_data(data)
            stream.update({key: value for key, value in layer.items() if key not in _STORED})
            layers[name] = added(writer, stream)

    return changed


def _glyphs_exchanged(one: str, other: str, name: str = "") -> Callable[[Garden], None]:
    """Two glyphs exchanged in all fonts that have both, or in those of a name alone."""

    def exchanged(data: bytes) -> bytes:
        font = TTFont(io.BytesIO(data))
        codes = font["cmap"].tables[0].cmap if "cmap" in font else {}
        if not {ord(one), ord(other)} <= codes.keys():
            return data
        first, second, glyf = codes[ord(one)], codes[ord(other)], font["glyf"]
        glyf[first], glyf[second] = glyf[second], glyf[first]
        written = io.BytesIO()
        font.save(written)
        return written.getvalue()

    def change(writer: PdfWriter) -> None:
        for item in list(writer._objects):
            if not isinstance(item, DictionaryObject) or "/FontFile2" not in item:
                continue
            if name in str(item.get("/FontName")):
                stream, held = DecodedStreamObject(), item["/FontFile2"].get_object()
                assert isinstance(held, StreamObject)
                stream.set_data(exchanged(held.get_data()))
                item[NameObject("/FontFile2")] = added(writer, stream)

    def tamper(garden: Garden) -> None:
        for file in FILES:
            garden.rewrite(file, change)

    return tamper


_STORED = ("/Length", "/Filter", "/DecodeParms")


def _trimmed_wrong(writer: PdfWriter, page: int) -> None:
    box = writer.pages[page].trimbox
    writer.pages[page].trimbox = RectangleObject(
        (float(box.left) + pt(5), float(box.bottom), float(box.right), float(box.top))
    )


def _fonts_taken_out(garden: Garden) -> None:
    def change(writer: PdfWriter) -> None:
        for item in writer._objects:
            if hasattr(item, "keys"):
                for key in ("/FontFile", "/FontFile2", "/FontFile3"):
                    item.pop(NameObject(key), None)  # type: ignore[union-attr]

    for name in FILES:
        garden.rewrite(name, change)


def _asks_for_scaling(writer: PdfWriter) -> None:
    asked = writer.root_object["/ViewerPreferences"].get_object()
    asked[NameObject("/PrintScaling")] = NameObject("/AppDefault")  # type: ignore[index]


def _both(change: Callable[[PdfWriter], None]) -> Callable[[Garden], None]:
    return lambda garden: garden.rewrite("both-sides.pdf", change)


def _backs_swapped(garden: Garden) -> None:
    garden.rewrite("side-2.pdf", lambda writer: _swapped(writer, (0, 1)))
    garden.rewrite("both-sides.pdf", lambda writer: _swapped(writer, (1, 3)))


def _sheets_swapped(garden: Garden) -> None:
    """The middle sheet of a longer set for its neighbour, both sides of both."""
    for name in ("side-1.pdf", "side-2.pdf"):
        garden.rewrite(name, lambda writer: _swapped(writer, (1, 2)))
    garden.rewrite("both-sides.pdf", lambda writer: _swapped(writer, (2, 4), (3, 5)))


def _page_lost(garden: Garden) -> None:
    garden.rewrite("side-2.pdf", lambda writer: writer.remove_page(len(writer.pages) - 1))


def _page_added(garden: Garden) -> None:
    def change(writer: PdfWriter) -> None:
        writer.add_blank_page(*map(pt, PAPER_MM))

    garden.rewrite("side-1.pdf", change)


def _on_side(side: int, sheet: int, change: Callable[[PdfWriter, int], None]) -> Callable[
    [Garden], None
]:  # fmt: skip
    return lambda garden: garden.rewrite_side(side, sheet, change)


_RANGE = "1 – 7 March"
"""What the demo's template has for the week's range."""
_CLIP = "<clipPath id='corner'><rect x='60' y='150' width='9' height='10'/></clipPath>"

MUTATIONS: tuple[Mutation, ...] = (
    Mutation(
        "a day's group taken out of the template",
        "date-missing",
        _drawn(_without("day3-name", "day3-number")),
    ),
    Mutation(
        "a weekday gone from the page",
        "date-missing",
        _other_plan(lambda plan: with_facts(plan, Side.VERSO, day2_name="")),
    ),
    Mutation(
        "the number of the week gone",
        "date-missing",
        _other_plan(lambda plan: with_facts(plan, Side.VERSO, week_number="")),
    ),
    Mutation("a day gone from the small month", "date-missing", _short_month),
    Mutation(
        "Wednesday's group copied from Tuesday's, its ids not changed",
        "date-doubled",
        _drawn(_renamed(day3_name="day2-name", day3_number="day2-number")),
    ),
    Mutation(
        "one day's figure used for two days",
        "date-doubled",
        _drawn(_renamed(day3_number="day2-number")),
    ),
    Mutation(
        "Monday's and Tuesday's groups exchanged",
        "date-order",
        _drawn(
            _renamed(
                day1_name="day2-name",
                day1_number="day2-number",
                day2_name="day1-name",
                day2_number="day1-number",
            )
        ),
    ),
    Mutation(
        "Monday's and Tuesday's names exchanged",
        "date-weekday",
        _drawn(_renamed(day1_name="day2-name", day2_name="day1-name")),
    ),
    Mutation("two days exchanged in the small month", "date-weekday", _crooked_month),
    Mutation(
        "a week's number counted wrong",
        "date-wrong",
        _other_plan(lambda plan: with_facts(plan, Side.VERSO, week_number="19")),
    ),
    Mutation(
        "a figure of no day of the week",
        "date-wrong",
        _other_plan(lambda plan: with_facts(plan, Side.RECTO, day5_number="26")),
    ),
    Mutation(
        "the right-hand page of a spread is next week's",
        "facing-weeks",
        _next_week_on_the_right,
    ),
    Mutation("two backs exchanged", "back-elsewhere", tamper=_backs_swapped),
    Mutation("a back upside down", "back-turned", tamper=_on_side(2, 0, _turned)),
    Mutation("a front upside down", "back-turned", tamper=_on_side(1, 1, _turned)),
    Mutation("a back 3 mm aside", "back-shifted", tamper=_on_side(2, 1, _shifted)),
    Mutation("two sheets exchanged", "sheet-order", tamper=_sheets_swapped),
    Mutation("a week left out", "page-missing", _a_week_less),
    Mutation("a page cut off the file", "page-missing", tamper=_page_lost),
    Mutation("a page come out blank", "page-missing", tamper=_on_side(2, 0, _blanked)),
    Mutation("a week too many", "page-extra", _a_week_more),
    Mutation("a page too many in the file", "page-extra", tamper=_page_added),
    Mutation(
        "an id lost, the sample 'Monday' left",
        "placeholder-left",
        _drawn(_renamed(day1_name="text47")),
    ),
    Mutation(
        "an id lost, 'Monday' left on German pages",
        "placeholder-left",
        _drawn(_renamed(day1_name="text47")),
        language="de",
    ),
    Mutation(
        "the id of the week's range lost, '29 Mar – 4 Apr' left on every week",
        "placeholder-left",
        _drawn(lambda svg: _renamed(week_range="text47")(svg).replace(_RANGE, "29 Mar – 4 Apr")),
    ),
    Mutation(
        "the range's id lost on Arabic pages",
        "placeholder-left",
        _drawn(_renamed(week_range="text47")),
        language="ar-EG",
    ),
    Mutation(
        "'Week 9' written on every week",
        "placeholder-left",
        _drawn(_added(_words("Week 9", 60, 160))),
    ),
    Mutation(
        "'Thu' left beside a German day",
        "placeholder-left",
        _drawn(_added(_words("Thu", 60, 160))),
        language="de",
    ),
    Mutation(
        "a month's name left from another month",
        "placeholder-left",
        _drawn(_added(_words("October", 60, 160))),
    ),
    Mutation(
        "a key written as text",
        "placeholder-left",
        _drawn(_added(_words("label-watch", 60, 160))),
    ),
    Mutation(
        "a label left as the template has it",
        "placeholder-left",
        _other_plan(lambda plan: with_facts(plan, Side.VERSO, label_watch="keep an eye on")),
        language="de",
    ),
    Mutation(
        "a label gone from the page",
        "label-missing",
        _other_plan(lambda plan: with_facts(plan, Side.VERSO, label_watch="")),
    ),
    Mutation(
        "a label not translated",
        "label-language",
        _labels("de", to_sow="sow this week"),
        language="de",
    ),
    Mutation(
        "an English heading fixed in the template",
        "label-language",
        _drawn(_renamed(label_watch="text48")),
        language="de",
    ),
    Mutation(
        "a text over the edge of the leaf",
        "text-clipped",
        _drawn(_added(_words("Peas and beans", -3, 180))),
    ),
    Mutation(
        "a text within a clip too small for it",
        "text-clipped",
        _drawn(
            _added(_CLIP, f"<g clip-path='url(#corner)'>{_words('Peas and beans', 60, 156)}</g>")
        ),
    ),
    Mutation(
        "a text on top of another",
        "text-overlaps",
        _drawn(_added(_words("Peas and beans", 6, 36.5))),
    ),
    Mutation(
        "figures of the small month too large for its columns",
        "text-overlaps",
        _drawn(
            lambda svg: svg.replace(
                'id="month-grid"><rect x="6" y="141" width="32"',
                'id="month-grid"><rect x="6" y="141" width="16"',
            )
        ),
    ),
    Mutation(
        "a text 1 mm from the upper edge",
        "text-unsafe",
        _drawn(_added(_words("Peas and beans", 100, 3.2))),
    ),
    Mutation(
        "a text where holes are punched",
        "text-in-punch",
        _drawn(_added(_words("Peas and beans", 186, 150, "text-anchor='end'"))),
    ),
    Mutation(
        "a text across the fold of the flap",
        "text-across-fold",
        _drawn(_added(_words("Peas and beans", 33, 180))),
    ),
    Mutation(
        "a tint that ends at the edge",
        "art-no-bleed",
        _drawn(_added("<rect x='0' y='170' width='30' height='9' fill='#dbe5d3'/>")),
    ),
    Mutation(
        "a ruled line of 0.1 mm",
        "hairline",
        _drawn(_added("<path d='M60 150h80' stroke='#6f8f5f' stroke-width='0.1'/>")),
    ),
    Mutation(
        "a line drawn as a rectangle 0.1 mm high",
        "hairline",
        _drawn(_added("<rect x='60' y='150' width='80' height='0.1' fill='#6f8f5f'/>")),
    ),
    Mutation(
        "a drawn stroke of 0.05 mm",
        "hairline",
        _drawn(
            _added("<path d='M60 150c5 5 9 5 9 0' fill='none' stroke='#777' stroke-width='.05'/>")
        ),
    ),
    Mutation(
        "a line of 4 % ink",
        "ink-light",
        _drawn(_added("<path d='M60 150h80' stroke='#f5f5f5' stroke-width='0.3'/>")),
    ),
    Mutation(
        "letters of 6 % ink",
        "ink-light",
        _drawn(_added(_words("Peas and beans", 60, 160).replace("#5d6459", "#f0f0f0"))),
    ),
    Mutation(
        "a tint drawn over a day's name",
        "text-covered",
        _drawn(_added(_panel(47, 29.5, 32, 9, "#eaf1e6"))),
    ),
    Mutation(
        "a white patch over half a heading",
        "text-covered",
        _drawn(_added(_panel(24, 17, 14, 10, "#ffffff"))),
    ),
    Mutation(
        "a sticker over the small month",
        "text-covered",
        _drawn(_added(_panel(5, 140, 34, 30, "#f6f3e6"))),
    ),
    Mutation(
        "a label of 2 % opacity",
        "text-invisible",
        _drawn(_set("label-watch", "fill-opacity='0.02'")),
    ),
    Mutation(
        "the letters of a page set to be invisible in the file",
        "text-invisible",
        tamper=_on_side(
            2, 1, _redrawn(lambda data, text: data.replace(b"BT\n", b"BT 3 Tr\n") if text else data)
        ),
    ),
    Mutation(
        "green letters on green",
        "contrast-low",
        _drawn(_behind(_panel(5, 104, 34, 6, "#a9b2a3"))),
    ),
    Mutation(
        "white letters on a pale tint",
        "contrast-low",
        _drawn(
            _added(
                _panel(58, 155, 30, 8, "#dbe5d3"),
                _words("Peas and beans", 60, 160).replace("#5d6459", "#ffffff"),
            )
        ),
    ),
    Mutation(
        "dark letters on a dark ribbon",
        "contrast-low",
        _drawn(_added(_panel(59, 157, 24, 2.4, "#6b7366"), _words("peas", 60, 159))),
    ),
    Mutation(
        "a label upside down",
        "text-upside-down",
        _drawn(_set("label-watch", "transform='rotate(180 22 107)'")),
    ),
    Mutation(
        "a day's name upside down",
        "text-upside-down",
        _drawn(_set("day2-name", "transform='rotate(180 107 34)'")),
    ),
    Mutation(
        "the week's number upside down, in Arabic",
        "text-upside-down",
        _drawn(_set("week-number", "transform='rotate(180 167 19)'")),
        language="ar-EG",
    ),
    Mutation(
        "a label flipped from left to right",
        "text-mirrored",
        _drawn(_set("label-watch", "transform='translate(44 0) scale(-1 1)'")),
    ),
    Mutation(
        "a day's name flipped from top to bottom",
        "text-mirrored",
        _drawn(_set("day2-name", "transform='translate(0 68) scale(1 -1)'")),
    ),
    Mutation(
        "the letters of a page flipped in the file",
        "text-mirrored",
        _drawn(_set("label-beds", "transform='translate(44 0) scale(-1 1)'")),
        language="de",
    ),
    Mutation(
        "a day's name turned by 1°",
        "text-tilted",
        _drawn(_set("day2-name", "transform='rotate(1 100 34)'")),
    ),
    Mutation(
        "a label turned by -1.5°",
        "text-tilted",
        _drawn(_set("label-watch", "transform='rotate(-1.5 15 107)'")),
    ),
    Mutation(
        "the week's range turned by 0.5°",
        "text-tilted",
        _drawn(_set("week-range", "transform='rotate(.5 60 20)'")),
    ),
    Mutation(
        "a text of 5 pt",
        "type-small",
        _drawn(_added(_words("Peas and beans", 60, 160).replace("size='3'", "size='1.76'"))),
    ),
    Mutation(
        "a text made smaller by a transform",
        "type-small",
        _drawn(_added(f"<g transform='scale(.6)'>{_words('Peas and beans', 100, 265)}</g>")),
    ),
    Mutation(
        "a small month of 3.5 pt",
        "type-small",
        _drawn(lambda svg: svg.replace('font-size="2.55"', 'font-size="1.24"')),
    ),
    Mutation("a limit of 9 pt for type", "type-small", limits="smallest_pt = 9"),
    Mutation(
        "a wave flattened to a hairline",
        "hairline",
        _drawn(
            _added(
                "<path transform='scale(1 .3)' d='M60 500c5 50 9 50 9 0' fill='none'"
                " stroke='#777' stroke-width='.3'/>"
            )
        ),
    ),
    Mutation(
        "a ruled line flattened to a hairline",
        "hairline",
        _drawn(
            _added(
                "<path transform='scale(1 .4)' d='M60 400h80' stroke='#6f8f5f' stroke-width='.3'/>"
            )
        ),
    ),
    Mutation(
        "a tint that ends 0.6 mm from the fore edge",
        "art-near-cut",
        _drawn(_added(_panel(0.6, 180, 20, 9, "#dbe5d3"))),
    ),
    Mutation(
        "a flower 0.5 mm from the upper edge",
        "art-near-cut",
        _drawn(_added("<circle cx='100' cy='4.5' r='4' fill='#dbe5d3'/>")),
    ),
    Mutation(
        "a ruled line that ends 0.8 mm from the lower edge",
        "art-near-cut",
        _drawn(_added("<path d='M120 150v59.2' stroke='#6f8f5f' stroke-width='.3'/>")),
    ),
    Mutation(
        "a side at 98 % of its size",
        "page-scaled",
        tamper=_on_side(2, 0, _about_middle(0.98, 0, 0, 0.98)),
    ),
    Mutation(
        "a side at 100.5 % of its size",
        "page-scaled",
        tamper=_on_side(1, 1, _about_middle(1.005, 0, 0, 1.005)),
    ),
    Mutation(
        "a side stretched in one direction",
        "page-scaled",
        tamper=_on_side(2, 1, _about_middle(1, 0, 0, 0.99)),
    ),
    Mutation("a side turned by 1°", "back-turned", tamper=_on_side(2, 0, _leaning(1))),
    Mutation("a side turned by 0.3°", "back-turned", tamper=_on_side(1, 1, _leaning(0.3))),
    Mutation(
        "a page whose artwork has gone from the file",
        "drawing-missing",
        tamper=_on_side(2, 1, _redrawn(lambda data, text: data if text else b"")),
    ),
    Mutation(
        "a page whose artwork breaks off",
        "drawing-missing",
        tamper=_on_side(1, 1, _redrawn(lambda data, text: data if text else data[:4000])),
    ),
    Mutation(
        "a page whose artwork paints nothing",
        "drawing-missing",
        tamper=_on_side(
            1, 2, _redrawn(lambda data, text: data if text else re.sub(rb"\b[SfB]\n", b"n\n", data))
        ),
    ),
    Mutation(
        "a grey bar stamped on a page",
        "page-stamped",
        tamper=_on_side(2, 1, _painted_on_top("0.8 g 200 300 150 12 re f")),
    ),
    Mutation(
        "a white patch stamped over a date",
        "page-stamped",
        tamper=_on_side(2, 0, _painted_on_top("1 g 200 550 200 80 re f")),
    ),
    Mutation(
        "a cross stamped over a whole sheet",
        "page-stamped",
        tamper=_on_side(1, 1, _painted_on_top("0.9 g 4 w 0 0 m 595 842 l 0 842 m 595 0 l S")),
    ),
    Mutation(
        "white letters on white paper",
        "text-invisible",
        _drawn(_added(_words("Peas and beans", 60, 160).replace("#5d6459", "#ffffff"))),
    ),
    Mutation(
        "a dark panel to write on",
        "ink-heavy",
        _drawn(_added("<rect x='60' y='140' width='30' height='20' fill='#556b4a'/>")),
    ),
    Mutation("a limit of 0.3 % for ink", "ink-coverage", limits="coverage_percent = 0.3"),
    Mutation("the fonts taken out of the files", "font-not-embedded", tamper=_fonts_taken_out),
    Mutation(
        "a font that paints a 7 for every 1 and a 1 for every 7",
        "glyph-wrong",
        tamper=_glyphs_exchanged("1", "7"),
    ),
    Mutation(
        "a font whose 6 and 9 are exchanged",
        "glyph-wrong",
        tamper=_glyphs_exchanged("6", "9"),
    ),
    Mutation(
        "a font for headings that paints T for M",
        "glyph-wrong",
        tamper=_glyphs_exchanged("T", "M", "DancingScript"),
    ),
    Mutation(
        "a picture of 50 pixels an inch",
        "picture-coarse",
        _drawn(_added(_picture(40, 20))),
    ),
    Mutation("a trim box 5 mm off", "boxes-wrong", tamper=_on_side(1, 1, _trimmed_wrong)),
    Mutation(
        "a file that lets the printer scale",
        "print-request-wrong",
        tamper=lambda garden: garden.rewrite("side-2.pdf", _asks_for_scaling),
    ),
    Mutation(
        "both-sides.pdf with two pages exchanged",
        "files-differ",
        tamper=_both(lambda writer: _swapped(writer, (3, 5))),
    ),
    Mutation("a limit of 0.1 MB for files", "file-big", limits="file_mb = 0.1"),
    Mutation(
        "weekdays exchanged, in Arabic, bound on the right",
        "date-weekday",
        _drawn(_renamed(day1_name="day2-name", day2_name="day1-name")),
        language="ar-EG",
    ),
    Mutation(
        "a day taken out, in Arabic-Indic figures",
        "date-missing",
        _drawn(_without("day3-name", "day3-number")),
        language="ar-EG",
    ),
    Mutation(
        "a text across the fold, bound on the right",
        "text-across-fold",
        _drawn(_added(_words("بازلاء وفول", 33, 180))),
        language="ar-EG",
    ),
    Mutation(
        "days exchanged, in Arabic, read from right to left",
        "date-order",
        _drawn(
            _renamed(
                day1_name="day2-name",
                day1_number="day2-number",
                day2_name="day1-name",
                day2_number="day1-number",
            )
        ),
        language="ar-EG",
    ),
    Mutation(
        "weekdays exchanged, in Devanagari",
        "date-weekday",
        _drawn(_renamed(day1_name="day2-name", day2_name="day1-name")),
        language="hi-u-nu-deva",
    ),
    Mutation(
        "a day doubled, in Devanagari figures",
        "date-doubled",
        _drawn(_renamed(day3_number="day2-number")),
        language="hi-u-nu-deva",
    ),
)


def mutation_table() -> str:
    """The mutations as the guide lists them, in the order of ``SET_RULES``."""
    order = list(SET_RULES)
    rows = [
        f"| {mutation.what} | {SET_RULES[mutation.code].title} | `{mutation.code}` |"
        for mutation in sorted(MUTATIONS, key=lambda mutation: order.index(mutation.code))
    ]
    return "\n".join(["| done to the demo | found | code |", "| --- | --- | --- |", *rows])
