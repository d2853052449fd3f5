"""Every way in which the tests spoil the demo, and the one finding each must give."""

from __future__ import annotations

import base64
import io
import itertools
import math
import re
import shutil
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from pathlib import Path

from fontTools.ttLib import TTFont
from PIL import Image
from pypdf import PageObject, PdfWriter, Transformation
from pypdf.constants import UserAccessPermissions
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    DecodedStreamObject,
    DictionaryObject,
    FloatObject,
    NameObject,
    NumberObject,
    PdfObject,
    RectangleObject,
    StreamObject,
    TextStringObject,
)

from pipeline.base.geometry import pt
from pipeline.draw.forms import added
from pipeline.plan import SeasonPlan
from pipeline.plan.model import Colours, DayCell, MonthGrid, Page, Side, Spread
from tests.proof.findings.garden import (
    COLLECTION,
    FILES,
    PAGES,
    RECTO,
    VERSO,
    Garden,
    with_facts,
    with_set,
    with_spreads,
)

PAPER_MM = (210.0, 297.0)

Change = tuple[tuple[int, int, int], tuple[int, int, int]]
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


def _for_screen(garden: Garden) -> None:
    text = garden.season_file.read_text("utf-8")
    garden.season_file.write_text(f'editions = ["sheets", "screen"]\n{text}', "utf-8")


def _for_press(bleed: float, art: str = "") -> Callable[[Garden], None]:
    """An edition for print shops; the sheets bleed less, and ``art`` is on every left page."""

    def spoil(garden: Garden) -> None:
        text = garden.season_file.read_text("utf-8")
        head = f'editions = ["sheets", "press"]\nbleed_mm = {bleed:g}\n'
        garden.season_file.write_text(head + text, "utf-8")
        if art:
            garden.redraw(VERSO, _added(art))

    return spoil


def _press_page(change: Callable[[DictionaryObject, PdfWriter], None]) -> Callable[[Garden], None]:
    """The third page of the file for print shops changed."""

    def tamper(garden: Garden) -> None:
        def rewrite(writer: PdfWriter) -> None:
            writer.pdf_header = "%PDF-1.6"
            change(writer.pages[2], writer)

        garden.rewrite("press.pdf", rewrite)
        path = garden.set_folder / "press.pdf"
        told = path.read_bytes().replace(b"/Trapped (/False)", b"/Trapped   /False")
        path.write_bytes(told)

    return tamper


def _in_rgb(page: DictionaryObject, writer: PdfWriter) -> None:
    content = StreamObject()
    content.set_data(b"1 0 0 rg 20 20 40 40 re f")
    page[NameObject("/Contents")] = added(writer, content)


def _cut_at_its_bleed(page: DictionaryObject, _: PdfWriter) -> None:
    page[NameObject("/TrimBox")] = page["/MediaBox"]


def _without_intent(_: DictionaryObject, writer: PdfWriter) -> None:
    del writer.root_object["/OutputIntents"]


def _relinked(change: Callable[[ArrayObject, PdfWriter], None]) -> Callable[[Garden], None]:
    """The links of the first page for screens changed."""

    def tamper(garden: Garden) -> None:
        def rewrite(writer: PdfWriter) -> None:
            links = writer.pages[0]["/Annots"].get_object()
            assert isinstance(links, ArrayObject)
            change(links, writer)

        garden.rewrite("screen.pdf", rewrite)

    return tamper


def _leads_to_itself(links: ArrayObject, writer: PdfWriter) -> None:
    for link in links:
        target = link.get_object()["/Dest"]
        target[0] = writer.pages[0].indirect_reference


def _without_links(links: ArrayObject, writer: PdfWriter) -> None:
    links.clear()


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


def _in_colours(plan: SeasonPlan, *change: Change, greys: bool = False) -> SeasonPlan:
    """The plan with its set in other colours."""
    (one,) = plan.sets
    return with_set(plan, replace(one, colours=Colours("rust", change, greys)))


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


def _redrawn_after(garden: Garden) -> None:
    """The right-hand page as it was, after a build of another."""
    page = Path("a5", f"{RECTO}.svg")
    shutil.copy(PAGES / page, garden.folder / "templates_svg" / COLLECTION / page)


def _weekend_on(number: int, weekend: bool) -> Callable[[Garden], Check]:
    """A day of the left-hand pages taken for one of the weekend, or for none."""

    def said(page: Page) -> Page:
        flags = {**page.facts.flags, f"day{number}-weekend": weekend}
        return replace(page, facts=replace(page.facts, flags=flags))

    def change(spreads: tuple[Spread, ...]) -> tuple[Spread, ...]:
        return tuple(Spread(said(one.verso), one.recto) for one in spreads)

    return lambda garden: (with_spreads(garden.plan, change), None)


def _with_dots(plan: SeasonPlan) -> SeasonPlan:
    """The plan with dots where the holes are."""
    return with_set(plan, replace(plan.sets[0], holes_inside=True))


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


def outlined(change: Callable[[Garden], Check | None]) -> Callable[[Garden], Check | None]:
    """A change in a season whose letters are drawn as outlines."""

    def spoil(garden: Garden) -> Check | None:
        season = garden.season_file.read_text("utf-8")
        assert "collection =" in season
        season = season.replace("collection =", 'text = "outlines"\ncollection =')
        garden.season_file.write_text(season, "utf-8")
        return change(garden)

    return spoil


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


def _without_paths(data: bytes) -> bytes:
    """Paths just before a text left unpainted."""
    return re.sub(rb"\bf\*?(?=[ \n]+[^\n]*\bBT\b)", b"n", data)


_OUTLINED = re.compile(
    rb"((?:-?[\d.]+[ \n]+){2}m[-\d. \nmlch]*\bf\n)(BT\n([\d.]+) 0 0 -\S+ ([\d.]+) ([\d.]+) Tm)"
)
"""Letters in outlines, and the size and place (pt) of the text over them."""


def _outlines_exchanged(one: int, other: int) -> Callable[[bytes, bool], bytes]:
    """The outlines of two texts of a layer exchanged, of one size; the texts over them stay."""

    def change(data: bytes, text: bool) -> bytes:
        found = list(_OUTLINED.finditer(data))
        if len(found) <= other or found[one][3] != found[other][3]:
            return data
        for place, source in ((other, one), (one, other)):
            x, y = (float(found[place][n]) - float(found[source][n]) for n in (4, 5))
            moved = f"q 1 0 0 1 {x} {y} cm\n".encode() + found[source][1] + b"Q\n"
            start, end = found[place].span(1)
            data = data[:start] + moved + data[end:]
        return data

    return change


def _outline_lost(data: bytes, text: bool) -> bytes:
    """The first line around an area of each text in outlines taken out, where there are more."""
    return _OUTLINED.sub(
        lambda text: (
            b"h\n".join(text[1].split(b"h\n")[1:]) + text[2]
            if text[1].count(b"h\n") > 1
            else text[0]
        ),
        data,
    )


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


def _mapped_glyphs_exchanged(one: str, other: str) -> Callable[[Garden], None]:
    """Two glyphs exchanged in fonts of many codes, found by the fonts' maps to Unicode.

    A code is a glyph's number there (ISO 32000-1, 9.7.4.2, CIDToGIDMap Identity).
    """

    def exchanged(data: bytes, first: int, second: int) -> bytes:
        font = TTFont(io.BytesIO(data))
        glyf, names = font["glyf"], font.getGlyphOrder()
        glyf[names[first]], glyf[names[second]] = glyf[names[second]], glyf[names[first]]
        written = io.BytesIO()
        font.save(written)
        return written.getvalue()

    def change(writer: PdfWriter) -> None:
        for item in list(writer._objects):
            if not isinstance(item, DictionaryObject) or "/DescendantFonts" not in item:
                continue
            codes = item["/ToUnicode"].get_object().get_data()  # type: ignore[union-attr]
            found = [re.search(rb"<(\w+)> <%04x>" % ord(sign), codes) for sign in (one, other)]
            described = item["/DescendantFonts"][0].get_object()["/FontDescriptor"]  # type: ignore[index]
            if all(found) and "/FontFile2" in described:
                first, second = (int(code[1], 16) for code in found if code)
                stream = DecodedStreamObject()
                stream.set_data(exchanged(described["/FontFile2"].get_data(), first, second))
                described[NameObject("/FontFile2")] = added(writer, stream)

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


def _viewer(**wanted: PdfObject) -> Callable[[PdfWriter], None]:
    """Asks of ViewerPreferences (ISO 32000-1, Table 150)."""

    def change(writer: PdfWriter) -> None:
        asked = writer.root_object["/ViewerPreferences"].get_object()
        for key, value in wanted.items():
            asked[NameObject(f"/{key}")] = value  # type: ignore[index]

    return change


def _catalog(**wanted: PdfObject) -> Callable[[PdfWriter], None]:
    """Keys put into the catalog (Table 28)."""

    def change(writer: PdfWriter) -> None:
        for key, value in wanted.items():
            writer.root_object[NameObject(f"/{key}")] = value

    return change


def _on_page(number: int | None = 0, **wanted: PdfObject) -> Callable[[PdfWriter], None]:
    """Keys put on a page, or on all of them (Table 30)."""

    def change(writer: PdfWriter) -> None:
        for page in writer.pages if number is None else [writer.pages[number]]:
            for key, value in wanted.items():
                page[NameObject(f"/{key}")] = value

    return change


def _dictionary(**entries: PdfObject) -> DictionaryObject:
    return DictionaryObject({NameObject(f"/{key}"): value for key, value in entries.items()})


def _numbers(*values: float) -> ArrayObject:
    return ArrayObject([FloatObject(value) for value in values])


_SCRIPT = _dictionary(S=NameObject("/JavaScript"), JS=TextStringObject("this.print();"))


def _layered(writer: PdfWriter) -> None:
    """Two layers, one of them off (ISO 32000-1, 8.11)."""
    layers = [
        added(writer, _dictionary(Type=NameObject("/OCG"), Name=TextStringObject(name)))
        for name in ("dates", "drawing")
    ]
    off = _dictionary(OFF=ArrayObject(layers[:1]))
    writer.root_object[NameObject("/OCProperties")] = _dictionary(OCGs=ArrayObject(layers), D=off)


def _noted(kind: str, page: int = 1) -> Callable[[PdfWriter], None]:
    """An annotation put on a page (ISO 32000-1, 12.5)."""
    note = _dictionary(
        Type=NameObject("/Annot"),
        Subtype=NameObject(f"/{kind}"),
        Rect=_numbers(100, 300, 200, 340),
        Contents=TextStringObject("sample"),
    )
    return lambda writer: _on_page(page, Annots=ArrayObject([added(writer, note)]))(writer)


def _without_maps(change: Callable[[DictionaryObject], None]) -> Callable[[PdfWriter], None]:
    """Done to every font that has a map to Unicode."""

    def spoilt(writer: PdfWriter) -> None:
        for item in writer._objects:
            if isinstance(item, DictionaryObject) and "/ToUnicode" in item:
                change(item)

    return spoilt


def _emptied(font: DictionaryObject) -> None:
    font["/ToUnicode"].get_object().set_data(b"")  # type: ignore[union-attr]


def _named_script(writer: PdfWriter) -> None:
    """As in a tree of names (ISO 32000-1, 7.7.4)."""
    names = _dictionary(Names=ArrayObject([TextStringObject("print"), added(writer, _SCRIPT)]))
    writer.root_object[NameObject("/Names")] = _dictionary(JavaScript=names)


def _attached(writer: PdfWriter) -> None:
    writer.add_attachment("notes.txt", b"to do")


def _scaled_unit(writer: PdfWriter, page: int) -> None:
    _on_page(page, UserUnit=FloatObject(0.98))(writer)


def _locked(writer: PdfWriter) -> None:
    """It opens without a password; only its owner may print it."""
    writer.encrypt("", "owner", permissions_flag=UserAccessPermissions(0), algorithm="RC4-128")


_STROKE = re.compile(rb"([\d.]+) ([\d.]+) m ([\d.]+) ([\d.]+) l S")
_RING = re.compile(rb"[\d.]+ [\d.]+ m [^SlT]*? c h\n[\d.]+ [\d.]+ m S")
"""As cairo writes marks: in the order of ``mark_places``, then register marks, then the bar."""
_DOT = re.compile(rb"[\d.]+ [\d.]+ m [^SlTf]*? c h\n[\d.]+ [\d.]+ m f")
_CROP, _FOLD, _PIN, _REGISTER, _BAR, _TICK = 0, 8, 10, 18, 26, 27
"""The first stroke of each on a leaf with a flap and six holes."""


def _margin(writer: PdfWriter, page: int, change: Callable[[bytes], bytes]) -> None:
    """What is printed beside the leaves of one page, changed there alone."""
    resources = writer.pages[page]["/Resources"].get_object()
    forms = resources["/XObject"].get_object()  # type: ignore[index]
    name = list(forms)[-1]
    form = forms[name].get_object()
    before = form.get_data()
    after = change(before)
    assert after != before, "the mutation leaves the marks as they are"
    stream = DecodedStreamObject()
    stream.update({key: form.raw_get(key) for key in form if key not in ("/Filter", "/Length")})
    stream.set_data(after)
    own = {NameObject(key): forms.raw_get(key) for key in forms}
    own[NameObject(name)] = added(writer, stream)
    writer.pages[page][NameObject("/Resources")] = _dictionary(XObject=DictionaryObject(own))


def _marked(*changes: Callable[[bytes], bytes]) -> Callable[[PdfWriter, int], None]:
    def change(content: bytes) -> bytes:
        for one in changes:
            content = one(content)
        return content

    return lambda writer, page: _margin(writer, page, change)


def _nth(
    pattern: re.Pattern[bytes], numbers: Collection[int], new: Callable[[re.Match[bytes]], bytes]
) -> Callable[[bytes], bytes]:
    """Some of the things that a pattern finds, counted from 0, replaced."""

    def change(content: bytes) -> bytes:
        count = itertools.count()
        return pattern.sub(lambda m: new(m) if next(count) in numbers else m[0], content)

    return change


def _stroke(*numbers: int, by: Transformation | None = None) -> Callable[[bytes], bytes]:
    """Strokes moved, or taken out."""

    def new(found: re.Match[bytes]) -> bytes:
        if by is None:
            return b""
        x1, y1, x2, y2 = map(float, found.groups())
        (x1, y1), (x2, y2) = by.apply_on((x1, y1)), by.apply_on((x2, y2))
        return f"{x1:.3f} {y1:.3f} m {x2:.3f} {y2:.3f} l S".encode()

    return _nth(_STROKE, numbers, new)


def _ring(*numbers: int, by: Transformation | None = None) -> Callable[[bytes], bytes]:
    """Rings moved, or taken out."""

    def moved(pair: re.Match[bytes]) -> bytes:
        assert by is not None
        x, y = by.apply_on((float(pair[1]), float(pair[2])))
        return f"{x:.3f} {y:.3f}".encode()

    def new(found: re.Match[bytes]) -> bytes:
        return b"" if by is None else re.sub(rb"([\d.]+)\s+([\d.]+)", moved, found[0])

    return _nth(_RING, numbers, new)


def _aside(right: float, down: float = 0.0) -> Transformation:
    """The content of marks has y downwards."""
    return Transformation().translate(pt(right), pt(down))


def _scaled(across: float) -> Transformation:
    """Wider or narrower from the bar's own beginning, 10 mm from the left."""
    return Transformation().translate(-pt(10), 0).scale(across, 1).translate(pt(10), 0)


def _shortened(ends: float) -> Transformation:
    """An upright mark above a leaf, which ends 42 mm from the top, made 2.1 mm shorter or 4.2."""
    share = 1 - 0.42 * ends
    return Transformation().translate(0, -pt(42)).scale(1, share).translate(0, pt(42))


def _all_moved(right: float) -> Callable[[bytes], bytes]:
    return lambda content: f"1 0 0 1 {pt(right):.3f} 0 cm\n".encode() + content


def _repainted(content: bytes) -> bytes:
    """The first crop mark in white."""
    return _STROKE.sub(lambda m: b"q 1 1 1 RG " + m[0] + b" Q", content, count=1)


def _undashed(content: bytes) -> bytes:
    return content.replace(b"[ 2.267717 1.700787] 0 d", b"[] 0 d")


def _drawn_too(more: bytes) -> Callable[[bytes], bytes]:
    return lambda content: content.rstrip().removesuffix(b"Q") + more + b"\nQ"


def _renumbered(content: bytes) -> bytes:
    """The bar called 101 mm, and 101 % where its scale is."""
    return content.replace(b"(100)Tj", b"(101)Tj")


def _without_words(content: bytes) -> bytes:
    """The slug line, which is the first text; the bar's own stays."""
    return re.sub(rb"BT\n.*?\nET", b"", content, count=1, flags=re.DOTALL)


def _margins_swapped(writer: PdfWriter, one: int, other: int) -> None:
    """The words beside the leaves of two pages, exchanged; their marks come after them."""
    forms = [
        writer.pages[page]["/Resources"]["/XObject"].get_object()  # type: ignore[index]
        for page in (one, other)
    ]
    names = [list(form)[-2] for form in forms]
    held = [form.raw_get(name) for form, name in zip(forms, names, strict=True)]
    for form, name, new in zip(forms, names, reversed(held), strict=True):
        form[NameObject(name)] = new


def _slugs_swapped(garden: Garden) -> None:
    garden.rewrite("side-1.pdf", lambda writer: _margins_swapped(writer, 1, 2))
    garden.rewrite("both-sides.pdf", lambda writer: _margins_swapped(writer, 2, 4))


def _marks_left_out(writer: PdfWriter, page: int) -> None:
    """The page's own content without what is placed last: words and marks beside the leaves."""
    content = writer.pages[page].get_contents()
    assert content is not None
    stream = DecodedStreamObject()
    stream.set_data(content.get_data().rsplit(b"\n", 2)[0])
    writer.pages[page][NameObject("/Contents")] = added(writer, stream)


def _beside(side: int, sheet: int, *changes: Callable[[bytes], bytes]) -> Callable[[Garden], None]:
    """Marks of a side changed in both files it is in."""
    return _on_side(side, sheet, _marked(*changes))


def _turned_tree(writer: PdfWriter) -> None:
    writer.root_object["/Pages"].get_object()[NameObject("/Rotate")] = NumberObject(270)  # type: ignore[index]


def _resized(page: PageObject, width: float, height: float) -> None:
    page.mediabox = page.cropbox = RectangleObject((0, 0, width, height))


def _two_gone(garden: Garden) -> None:
    """One side can be read in neither of its files."""
    for name in ("side-2.pdf", "both-sides.pdf"):
        (garden.set_folder / name).unlink()


def _in_file(name: str, change: Callable[[PdfWriter], None]) -> Callable[[Garden], None]:
    return lambda garden: garden.rewrite(name, change)


def _in_all(change: Callable[[PdfWriter], None]) -> Callable[[Garden], None]:
    def spoilt(garden: Garden) -> None:
        for name in FILES:
            garden.rewrite(name, change)

    return spoilt


def _bytes(name: str, change: Callable[[bytes], bytes | None]) -> Callable[[Garden], None]:
    """A file's bytes changed; the file gone where there are none."""

    def spoilt(garden: Garden) -> None:
        path = garden.set_folder / name
        data = change(path.read_bytes())
        if data is None:
            path.unlink()
        else:
            path.write_bytes(data)

    return spoilt


_RANGE = "1 – 7 March"
"""What the demo's template has for the week's range."""
_CLIP = "<clipPath id='corner'><rect x='60' y='150' width='9' height='10'/></clipPath>"

TYPED = (
    "by Friday 5 March", "5/3/26", "05.03.2027", "2027-03-05", "1st–7th March",
    "March '26", "Spring 2026", "2026/27", "Happy New Year 2026!", "Wk 9 of 52",
    "day 60", "Q1", "Easter Monday 29 March", "full moon 22 March",
)  # fmt: skip
"""Times as makers type them on a page."""

MUTATIONS: tuple[Mutation, ...] = (
    *(
        Mutation(f"'{text}' typed on the page", "date-typed", _drawn(_added(_words(text, 60, 160))))
        for text in TYPED
    ),
    *(
        Mutation(
            f"'{text}' typed where a key's text was",
            "placeholder-left",
            _drawn(_added(_words(text, 60, 160))),
        )
        for text in ("5 March 2026", "28 Feb – 6 Mar")
    ),
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
        "a weekend's drawing on every day: its id was lost when the set was built",
        "ornament-wrong",
        _drawn(_renamed(show_day5_weekend="sprig"), RECTO),
        tamper=_redrawn_after,
    ),
    Mutation(
        "a weekend's drawing on a Friday instead",
        "ornament-wrong",
        _drawn(
            _renamed(show_day5_weekend="show-day6-weekend", show_day6_weekend="show-day5-weekend"),
            RECTO,
        ),
        tamper=_redrawn_after,
    ),
    Mutation("a Tuesday taken for a weekend", "ornament-wrong", _weekend_on(2, True)),
    Mutation(
        "a Friday not taken for a weekend, in Arabic",
        "ornament-wrong",
        _drawn(_renamed(show_day7_weekend="show-day7-workday"), RECTO),
        tamper=_redrawn_after,
        language="ar-EG",
    ),
    Mutation(
        "labels in the colour they were drawn in, in a set of other colours",
        "colour-unchanged",
        lambda garden: (None, _in_colours(garden.plan, ((0x5D, 0x64, 0x59), (0x70, 0x5A, 0x50)))),
    ),
    Mutation(
        "labels in colour, in a set in greys",
        "colour-unchanged",
        lambda garden: (
            _in_colours(garden.plan, ((0x85, 0x8B, 0x80), (0x85, 0x8B, 0x80)), greys=True),
            _in_colours(garden.plan, greys=True),
        ),
    ),
    Mutation(
        "a text on top of another",
        "text-overlaps",
        _drawn(_added(_words("Peas and beans", 6, 36.5))),
    ),
    Mutation(
        "a text aslant over another",
        "text-overlaps",
        _drawn(
            _added(
                _words("Peas and beans", 60, 160, "transform='rotate(30 60 160)'"),
                _words("Rake the beds", 61, 161, "transform='rotate(30 60 160)'"),
            )
        ),
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
        "a tint drawn over a day's name in outlines",
        "text-covered",
        outlined(_drawn(_added(_panel(47, 29.5, 32, 9, "#eaf1e6")))),
    ),
    Mutation(
        "a label in outlines of 2 % opacity",
        "text-invisible",
        outlined(_drawn(_set("label-watch", "fill-opacity='0.02'"))),
    ),
    Mutation(
        "the outlines of days' names exchanged, the words over them left",
        "glyph-wrong",
        outlined(lambda garden: None),
        tamper=_on_side(2, 1, _redrawn(_outlines_exchanged(0, 2))),
    ),
    Mutation(
        "the outlines of two dates exchanged, the figures over them left",
        "glyph-wrong",
        outlined(lambda garden: None),
        tamper=_on_side(2, 1, _redrawn(_outlines_exchanged(1, 3))),
    ),
    Mutation(
        "the outlines of days' names exchanged, in Arabic",
        "glyph-wrong",
        outlined(lambda garden: None),
        tamper=_on_side(2, 1, _redrawn(_outlines_exchanged(0, 2))),
        language="ar-EG",
    ),
    Mutation(
        "the outlines of two dates exchanged, in Devanagari",
        "glyph-wrong",
        outlined(lambda garden: None),
        tamper=_on_side(2, 1, _redrawn(_outlines_exchanged(1, 3))),
        language="hi",
    ),
    Mutation(
        "a part of the outlines lost from each text",
        "glyph-wrong",
        outlined(lambda garden: None),
        tamper=_on_side(2, 1, _redrawn(_outline_lost)),
    ),
    Mutation(
        "the outlines of a page's letters taken out of the file",
        "text-invisible",
        outlined(lambda garden: None),
        tamper=_on_side(2, 1, _redrawn(lambda data, text: _without_paths(data) if text else data)),
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
        "a ruled line that runs into the holes",
        "art-in-punch",
        _drawn(_added("<path d='M100 150h85' stroke='#6f8f5f' stroke-width='.3'/>")),
    ),
    Mutation(
        "a tinted tab in the way of the rings",
        "art-in-punch",
        _drawn(_added(_panel(176, 90, 6, 30, "#dbe5d3"))),
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
        "a font whose α and ο are exchanged, in Greek",
        "glyph-wrong",
        lambda garden: None,
        tamper=_mapped_glyphs_exchanged("α", "ε"),
        language="el",
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
        "dates in the file for screens lead to the page they are on",
        "link-wrong",
        _for_screen,
        _relinked(_leads_to_itself),
    ),
    Mutation(
        "the links of a page for screens taken out",
        "link-missing",
        _for_screen,
        _relinked(_without_links),
    ),
    Mutation(
        "a band for the print shop that is drawn 2 mm past the cut",
        "press-bleed",
        _for_press(0, "<rect x='-2' y='150' width='5' height='6' fill='#e4ece1'/>"),
        limits="bleed_mm = 0",
    ),
    Mutation(
        "red, green and blue in the file for print shops",
        "press-colour",
        _for_press(0),
        _press_page(_in_rgb),
    ),
    Mutation(
        "a page for print shops that is cut where its bleed ends",
        "press-box",
        _for_press(0),
        _press_page(_cut_at_its_bleed),
    ),
    Mutation(
        "a file for print shops that says no more what it is printed on",
        "press-standard",
        _for_press(0),
        _press_page(_without_intent),
    ),
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
    Mutation(
        "side-1.pdf asks for two copies",
        "print-request-wrong",
        tamper=_in_file("side-1.pdf", _viewer(NumCopies=NumberObject(2))),
    ),
    Mutation(
        "both-sides.pdf asks for its first two pages only",
        "print-request-wrong",
        tamper=_both(_viewer(PrintPageRange=_numbers(1, 2))),
    ),
    Mutation(
        "side-1.pdf prints what lies in the trim box only",
        "print-request-wrong",
        tamper=_in_file("side-1.pdf", _viewer(PrintArea=NameObject("/TrimBox"))),
    ),
    Mutation(
        "both-sides.pdf turned over the short edge",
        "print-request-wrong",
        tamper=_both(_viewer(Duplex=NameObject("/DuplexFlipShortEdge"))),
    ),
    Mutation(
        "the preferences lost, as by saving the file as a picture",
        "print-request-wrong",
        tamper=_in_all(_catalog(ViewerPreferences=_dictionary())),
    ),
    Mutation(
        "an art box on one page",
        "boxes-wrong",
        tamper=_in_file("side-1.pdf", _on_page(1, ArtBox=_numbers(50, 50, 200, 200))),
    ),
    Mutation(
        "one page on Letter",
        "boxes-wrong",
        tamper=_on_side(1, 0, lambda writer, page: _resized(writer.pages[page], 612, 792)),
    ),
    Mutation(
        "a page turned a quarter in a viewer and saved",
        "page-rotated",
        tamper=_in_file("side-1.pdf", _on_page(0, Rotate=NumberObject(90))),
    ),
    Mutation(
        "all pages turned upside down in a viewer and saved",
        "page-rotated",
        tamper=_both(_on_page(None, Rotate=NumberObject(180))),
    ),
    Mutation(
        "a turn for all pages in their tree",
        "page-rotated",
        tamper=_in_file("side-2.pdf", _turned_tree),
    ),
    Mutation(
        "a user unit of two points",
        "size-changed",
        tamper=_in_file("side-1.pdf", _on_page(None, UserUnit=FloatObject(2))),
    ),
    Mutation(
        "a user unit of 0.98 points on one side",
        "size-changed",
        tamper=_on_side(
            2, 1, lambda writer, page: _on_page(page, UserUnit=FloatObject(0.98))(writer)
        ),
    ),
    Mutation("a stamp put on a page", "note-on-page", tamper=_both(_noted("Stamp"))),
    Mutation(
        "a note left on a page", "note-on-page", tamper=_in_file("side-1.pdf", _noted("Text"))
    ),
    Mutation("a link to a shop", "note-on-page", tamper=_in_file("side-2.pdf", _noted("Link"))),
    Mutation(
        "words typed over a page in a viewer",
        "note-on-page",
        tamper=_in_file("side-1.pdf", _noted("FreeText")),
    ),
    Mutation(
        "a script that prints as soon as the file is opened",
        "acts-by-itself",
        tamper=_both(_catalog(OpenAction=_SCRIPT)),
    ),
    Mutation(
        "a script that runs before printing",
        "acts-by-itself",
        tamper=_in_file("side-1.pdf", _catalog(AA=_dictionary(WP=_SCRIPT))),
    ),
    Mutation(
        "a script among the file's names",
        "acts-by-itself",
        tamper=_both(_named_script),
    ),
    Mutation(
        "a script on a page",
        "acts-by-itself",
        tamper=_in_file("side-2.pdf", _on_page(2, AA=_dictionary(O=_SCRIPT))),
    ),
    Mutation(
        "a file that opens at half its size",
        "acts-by-itself",
        tamper=_in_file("side-1.pdf", _catalog(OpenAction=_numbers(0, 0.5))),
    ),
    Mutation(
        "a file that opens with two pages side by side",
        "opens-oddly",
        tamper=_both(_catalog(PageLayout=NameObject("/TwoColumnLeft"))),
    ),
    Mutation(
        "a file that opens on the full screen",
        "opens-oddly",
        tamper=_both(_catalog(PageMode=NameObject("/FullScreen"))),
    ),
    Mutation(
        "a file that hides the printer's button",
        "opens-oddly",
        tamper=_in_file("side-1.pdf", _viewer(HideToolbar=BooleanObject(True))),
    ),
    Mutation(
        "pages that turn over by themselves",
        "opens-oddly",
        tamper=_both(_on_page(None, Dur=NumberObject(5))),
    ),
    Mutation("layers of which one is off", "layers-in-file", tamper=_in_all(_layered)),
    Mutation("layers in one file", "layers-in-file", tamper=_both(_layered)),
    Mutation(
        "form fields in the file",
        "form-in-file",
        tamper=_both(_catalog(AcroForm=_dictionary(Fields=ArrayObject()))),
    ),
    Mutation(
        "another file attached",
        "file-attached",
        tamper=_both(_attached),
    ),
    Mutation(
        "the file made a case of files",
        "file-attached",
        tamper=_in_file("side-1.pdf", _catalog(Collection=_dictionary(View=NameObject("/T")))),
    ),
    Mutation(
        "a file locked against printing",
        "file-locked",
        tamper=_in_file("side-1.pdf", _locked),
    ),
    Mutation(
        "a form of data left by another program",
        "key-unknown",
        tamper=_in_file("side-2.pdf", _catalog(PieceInfo=_dictionary())),
    ),
    Mutation(
        "a thumbnail left on a page",
        "key-unknown",
        tamper=_both(_on_page(1, LastModified=TextStringObject("D:20270301"))),
    ),
    Mutation(
        "fonts without their maps to Unicode",
        "font-unmapped",
        tamper=_in_all(_without_maps(lambda font: font.__delitem__("/ToUnicode"))),
    ),
    Mutation(
        "maps to Unicode that are empty, in one file",
        "font-unmapped",
        tamper=_in_file("side-1.pdf", _without_maps(_emptied)),
    ),
    Mutation(
        "fonts without maps in both-sides.pdf",
        "font-unmapped",
        tamper=_both(_without_maps(lambda font: font.__delitem__("/ToUnicode"))),
    ),
    Mutation(
        "a file that asks for a password",
        "file-unreadable",
        tamper=_both(lambda writer: writer.encrypt("secret", algorithm="RC4-128")),
    ),
    Mutation(
        "a file cut short",
        "file-unreadable",
        tamper=_bytes("side-1.pdf", lambda data: data[: len(data) // 2]),
    ),
    Mutation("a file that is empty", "file-unreadable", tamper=_bytes("side-2.pdf", lambda _: b"")),
    Mutation(
        "a file that is gone", "file-unreadable", tamper=_bytes("both-sides.pdf", lambda _: None)
    ),
    Mutation(
        "a web page saved under the name of the file",
        "file-unreadable",
        tamper=_bytes("side-1.pdf", lambda _: b"<!doctype html><title>Not found</title>"),
    ),
    Mutation(
        "a piece lost from the middle of a file",
        "file-unreadable",
        tamper=_bytes("both-sides.pdf", lambda data: data[:9000] + data[9020:]),
    ),
    Mutation("two files gone", "file-unreadable", tamper=_two_gone),
    Mutation(
        "a file saved again by another program",
        "file-changed",
        tamper=_in_file("side-1.pdf", lambda writer: None),
    ),
    Mutation(
        "the author's name put into the file",
        "file-changed",
        tamper=_both(lambda writer: writer.add_metadata({"/Author": "Me"})),
    ),
    Mutation(
        "a byte put behind the end of the file",
        "file-changed",
        tamper=_bytes("side-2.pdf", lambda data: data + b"\n"),
    ),
    Mutation("a crop mark lost", "mark-missing", tamper=_beside(1, 1, _stroke(_CROP + 3))),
    Mutation(
        "all crop marks of a side lost",
        "mark-missing",
        tamper=_beside(2, 1, _stroke(*range(_CROP, _FOLD))),
    ),
    Mutation("a crop mark printed in white", "mark-missing", tamper=_beside(1, 0, _repainted)),
    Mutation("a fold mark lost", "mark-missing", tamper=_beside(1, 1, _stroke(_FOLD))),
    Mutation("fold marks drawn unbroken", "mark-missing", tamper=_beside(2, 0, _undashed)),
    Mutation(
        "a punch mark lost", "mark-missing", tamper=_beside(1, 1, _stroke(_PIN + 2), _ring(2))
    ),
    Mutation("a punch mark without its ring", "mark-missing", tamper=_beside(2, 1, _ring(5))),
    Mutation(
        "a register mark lost on side 2",
        "mark-missing",
        tamper=_beside(2, 1, _stroke(_REGISTER, _REGISTER + 1), _ring(8)),
    ),
    Mutation(
        "a register mark's cross lost",
        "mark-missing",
        tamper=_beside(1, 2, _stroke(_REGISTER, _REGISTER + 1)),
    ),
    Mutation(
        "the dot of a hole lost",
        "mark-missing",
        lambda garden: (_with_dots(garden.plan), _with_dots(garden.plan)),
        tamper=_beside(1, 1, _nth(_DOT, (2,), lambda found: b"")),
    ),
    Mutation(
        "all marks left out of a side", "mark-missing", tamper=_on_side(2, 1, _marks_left_out)
    ),
    Mutation(
        "a crop mark 0.5 mm aside",
        "mark-moved",
        tamper=_beside(1, 1, _stroke(_CROP + 1, by=_aside(0.5))),
    ),
    Mutation(
        "a crop mark 0.5 mm nearer to its leaf",
        "mark-moved",
        tamper=_beside(2, 0, _stroke(_CROP, by=_aside(0.5))),
    ),
    Mutation(
        "a fold mark 1 mm aside",
        "mark-moved",
        tamper=_beside(1, 1, _stroke(_FOLD + 1, by=_aside(-1))),
    ),
    Mutation(
        "a punch mark 1 mm too low",
        "mark-moved",
        tamper=_beside(1, 1, _stroke(_PIN, by=_aside(0, 1)), _ring(0, by=_aside(0, 1))),
    ),
    Mutation(
        "a punch mark's ring 0.5 mm off its pin",
        "mark-moved",
        tamper=_beside(2, 1, _ring(3, by=_aside(0, 0.5))),
    ),
    Mutation(
        "a register mark 0.3 mm aside on side 2",
        "mark-moved",
        tamper=_beside(
            2,
            1,
            _stroke(_REGISTER, _REGISTER + 1, by=_aside(0.3)),
            _ring(8, by=_aside(0.3)),
        ),
    ),
    Mutation(
        "all marks of side 2 moved by 0.5 mm", "mark-moved", tamper=_beside(2, 1, _all_moved(0.5))
    ),
    Mutation(
        "a crop mark 0.8 mm long",
        "mark-short",
        tamper=_beside(1, 1, _stroke(_CROP + 1, by=_shortened(2))),
    ),
    Mutation(
        "crop marks shorter on side 2 than on side 1",
        "mark-short",
        tamper=_beside(2, 1, _stroke(_CROP + 1, _CROP + 5, by=_shortened(1))),
    ),
    Mutation(
        "a crop mark shortened by 2.1 mm alike on both sides",
        "mark-short",
        tamper=lambda garden: [
            _beside(side, 1, _stroke(mark, by=_shortened(1)))(garden)
            for side, mark in ((1, _CROP + 1), (2, _CROP + 1), (2, _CROP + 5), (1, _CROP + 5))
        ][-1],
    ),
    Mutation(
        "a register mark lost on both sides",
        "mark-missing",
        tamper=lambda garden: [
            _beside(side, 1, _stroke(_REGISTER, _REGISTER + 1), _ring(8))(garden) for side in (1, 2)
        ][-1],
    ),
    Mutation(
        "a register mark of the lower margin lost on both sides",
        "mark-missing",
        tamper=lambda garden: [
            _beside(side, 1, _stroke(_REGISTER + 2, _REGISTER + 3), _ring(9))(garden)
            for side in (1, 2)
        ][-1],
    ),
    Mutation(
        "a register mark of the lower margin 1 mm aside on both sides alike",
        "mark-moved",
        tamper=lambda garden: [
            _beside(
                side,
                1,
                _stroke(_REGISTER + 2, _REGISTER + 3, by=_aside(right)),
                _ring(9, by=_aside(right)),
            )(garden)
            for side, right in ((1, 1), (2, -1))
        ][-1],
    ),
    Mutation(
        "a line more beside a leaf",
        "mark-extra",
        tamper=_beside(1, 1, _drawn_too(b"q 300 110 m 300 98 l S Q")),
    ),
    Mutation(
        "a grey patch in the margin",
        "mark-extra",
        tamper=_beside(2, 0, _drawn_too(b"q 0.5 g 400 745 60 20 re f Q")),
    ),
    Mutation(
        "the bar at 98 %",
        "bar-wrong",
        tamper=_beside(1, 1, _stroke(*range(_BAR, _BAR + 12), by=_scaled(0.98))),
    ),
    Mutation(
        "the bar 0.3 mm too long",
        "bar-wrong",
        tamper=_beside(2, 2, _stroke(*range(_BAR, _BAR + 12), by=_scaled(1.003))),
    ),
    Mutation("the bar lost", "bar-wrong", tamper=_beside(1, 0, _stroke(*range(_BAR, _BAR + 12)))),
    Mutation("a tick of the bar lost", "bar-wrong", tamper=_beside(1, 1, _stroke(_TICK + 4))),
    Mutation(
        "a tick of the bar 1 mm aside",
        "bar-wrong",
        tamper=_beside(1, 1, _stroke(_TICK + 4, by=_aside(1))),
    ),
    Mutation("the slug lines of two sheets exchanged", "slug-wrong", tamper=_slugs_swapped),
    Mutation("the slug line lost", "slug-wrong", tamper=_beside(2, 1, _without_words)),
    Mutation(
        "the bar called 101 mm",
        "slug-wrong",
        tamper=_beside(
            1, 1, lambda content: content.replace(b"\n(100)Tj\n/Span", b"\n(101)Tj\n/Span")
        ),
    ),
    Mutation(
        "a crop mark moved in both-sides.pdf",
        "files-differ",
        tamper=_both(lambda writer: _marked(_stroke(_CROP, by=_aside(0, 0.5)))(writer, 2)),
    ),
)
