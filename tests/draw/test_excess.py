"""What is too deep or too much is refused in one line, and soon; what is large is drawn."""

from __future__ import annotations

import base64
import io
import resource
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from lxml import etree
from PIL import Image

from pipeline.base.errors import UserError
from pipeline.fill.template import TemplateFile, read_template
from tests.draw.engines import built
from tests.draw.test_features import BOOK, svg

SECONDS = 5.0
"""Most that a drawing may take, of this process's own time, where ``yardstick`` takes YARDSTICK;
on a machine that is slower at the moment by as much more."""
YARDSTICK = 0.03
"""Seconds that it took where the five seconds were held."""
MEGABYTES = 1000.0
_R = '<rect width="9" height="9"/>'
_RED = '<rect width="60" height="40" fill="red"/>'


def _in_each_other(number: int, tag: str = "g", inside: str = _R) -> str:
    return f"<{tag}>" * number + inside + f"</{tag.split()[0]}>" * number


def _chain(number: int) -> str:
    uses = "".join(f'<use id="u{n + 1}" href="#u{n}"/>' for n in range(number))
    return f'<defs><rect id="u0" width="9" height="9"/>{uses}</defs><use href="#u{number}"/>'


def _multiplied(number: int) -> str:
    """Ten uses of ten uses of ten uses, and so on."""
    groups = "".join(
        f'<g id="u{n + 1}">' + f'<use href="#u{n}"/>' * 10 + "</g>" for n in range(number)
    )
    return f'<defs><rect id="u0" width="9" height="9"/>{groups}</defs><use href="#u{number}"/>'


def _patterns(number: int) -> str:
    tiles = "".join(
        f'<pattern id="p{n + 1}" width="5" height="5" patternUnits="userSpaceOnUse">'
        f'<rect width="3" height="3" fill="url(#p{n}) red"/></pattern>'
        for n in range(number)
    )
    return f'{tiles}<rect width="60" height="40" fill="url(#p{number})"/>'


def _masks(number: int) -> str:
    masks = "".join(
        f'<mask id="m{n + 1}"><rect width="60" height="40" fill="white" mask="url(#m{n})"/></mask>'
        for n in range(number)
    )
    return f'{masks}<rect width="60" height="40" mask="url(#m{number})"/>'


def _clips(number: int) -> str:
    clips = "".join(
        f'<clipPath id="c{n + 1}" clip-path="url(#c{n})">{_R}</clipPath>' for n in range(number)
    )
    return f'{clips}<rect width="60" height="40" clip-path="url(#c{number})"/>'


def _markers(number: int) -> str:
    line = '<path d="M0 0L5 5L9 0" stroke="red" style="marker:url(#k{})"/>'
    markers = "".join(f'<marker id="k{n + 1}">{line.format(n)}</marker>' for n in range(number))
    return markers + line.format(number)


def _huge(side: int) -> str:
    """A PNG that says it is ``side`` pixels wide and high, and has none."""
    size = side.to_bytes(4, "big") * 2
    data = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + size + b"\x08\x02\0\0\0\0\0\0\0"
    return _image(data)


def _strip(length: int) -> str:
    """A PNG one pixel wide."""
    data = io.BytesIO()
    Image.new("L", (1, length)).save(data, "PNG")
    return _image(data.getvalue())


def _flat(side: int, mode: str) -> str:
    """A large PNG that takes little room."""
    data = io.BytesIO()
    Image.linear_gradient("L").resize((side, side)).convert(mode).save(data, "PNG")
    return _image(data.getvalue())


def _photograph(side: int) -> str:
    """A PNG of noise, which no packing makes smaller."""
    pixels = np.random.default_rng(1).integers(0, 256, (side, side, 3), dtype=np.uint8)
    data = io.BytesIO()
    Image.fromarray(pixels).save(data, "PNG", compress_level=0)
    return _image(data.getvalue())


def _image(png: bytes) -> str:
    link = "data:image/png;base64," + base64.b64encode(png).decode()
    return f'<image width="60" height="40" href="{link}"/>'


TOO_MUCH: dict[str, tuple[Callable[[], str], str]] = {
    "groups": (lambda: _in_each_other(1_000), "deep"),
    "more groups than can be read": (lambda: _in_each_other(10_000), "deep"),
    "switches": (lambda: _in_each_other(300, "switch"), "deep"),
    "nested drawings": (lambda: _in_each_other(150, "svg"), "deep"),
    "runs of a text": (
        lambda: f'<text y="9">{_in_each_other(300, "tspan", "leaf")}</text>',
        "deep",
    ),
    "uses of uses": (lambda: _chain(150), "deep"),
    "uses of thousands of uses": (lambda: _chain(5_000), "deep"),
    "uses that multiply": (lambda: _multiplied(9), "things on a page"),
    "patterns": (lambda: _patterns(8), "one within another"),
    "hundreds of patterns": (lambda: _patterns(300), "one within another"),
    "masks": (lambda: _masks(300), "one within another"),
    "clips": (lambda: _clips(3_000), "one within another"),
    "markers": (lambda: _markers(300), "one within another"),
    "shapes": (lambda: _R * 100_000, "things on a page"),
    "shapes with a gradient": (
        lambda: (
            '<linearGradient id="g"><stop/><stop offset="1" stop-color="red"/></linearGradient>'
            + '<rect width="9" height="9" fill="url(#g)"/>' * 20_000
        ),
        "things on a page",
    ),
    "markers on a path": (
        lambda: (
            f'<marker id="k">{_R}</marker><path d="M0 0{"l1 1l-1-1" * 20_000}" stroke="red" '
            'style="marker:url(#k)"/>'
        ),
        "things on a page",
    ),
    "attributes": (
        lambda: "<g " + " ".join(f'a{n}="1"' for n in range(50_000)) + f">{_R}</g>",
        "hidden entries",
    ),
    "outlines": (lambda: f'<path d="M0 0{"L1 1L59 39L30 5" * 500_000}"/>', "MB of outlines"),
    "letters": (lambda: f"<text>{'leaf ' * 30_000}</text>", "letters"),
    "letters in copies": (
        lambda: f'<text id="t">{"leaf " * 10_000}</text>' + '<use href="#t"/>' * 9,
        "letters",
    ),
    "texts": (lambda: "<text>a</text>" * 8_000, "things on a page"),
    "pictures": (lambda: _strip(1) * 8_000, "things on a page"),
    "masks in a row": (
        lambda: f'<mask id="m">{_R}</mask>' + '<rect width="9" height="9" mask="url(#m)"/>' * 1_000,
        "things on a page",
    ),
    "blends": (
        lambda: '<rect width="9" height="9" style="mix-blend-mode:multiply"/>' * 8_000,
        "things on a page",
    ),
    "groups that are seen through": (
        lambda: f'<g opacity=".5">{_R}</g>' * 8_000,
        "things on a page",
    ),
    "stops": (
        lambda: (
            f'<linearGradient id="g">{"<stop/>" * 1_001}</linearGradient>'
            '<rect width="9" height="9" fill="url(#g)"/>'
        ),
        "stops",
    ),
    "steps of an effect": (
        lambda: f'<rect width="9" height="9" filter="{"blur(1px) " * 60_000}"/>',
        "kB of hidden styles",
    ),
    "soft effects": (
        lambda: '<rect width="9" height="9" filter="blur(1px)"/>' * 1_001,
        "soft effects",
    ),
    "rules": (
        lambda: "<style>" + "".join(f".c{n}{{fill:red}}" for n in range(40_000)) + f"</style>{_R}",
        "kB of hidden styles",
    ),
    "declarations": (
        lambda: f'<rect width="9" height="9" style="{"fill:red;" * 60_000}"/>',
        "kB of hidden styles",
    ),
    "rules that are tried on everything": (
        lambda: f"<style>{'rect{fill:red}' * 1_000}</style>" + _R * 4_000,
        "too many of them",
    ),
    "ancestors that are looked for": (
        lambda: f"<style>.a {'g ' * 9}rect{{fill:red}}</style>" + _in_each_other(90),
        "too many of them",
    ),
    "a selector of thousands of parts": (
        lambda: f"<style>{'g ' * 20_000}rect{{fill:red}}</style>{_R}",
        "too many of them",
    ),
    "brackets in a style": (lambda: f'<g style="fill:{"(" * 20_000}">{_R}</g>', "written wrongly"),
    "brackets in a style sheet": (lambda: f"<style>{'a{' * 20_000}</style>{_R}", "written wrongly"),
    "sums in sums": (
        lambda: f'<rect height="9" width="{"calc(" * 20_000}5px{")" * 20_000}"/>',
        "kept as a formula",
    ),
    "conditions in conditions": (
        lambda: f"<style>{'@media print{' * 5_000}rect{{fill:red}}{'}' * 5_000}</style>{_R}",
        "written wrongly",
    ),
}

_BLUR = '<feGaussianBlur stdDeviation="1"/>'
_STOPS = '<stop stop-color="red"/><stop offset="1" stop-color="blue"/>'
_FILTERED = '<filter id="f">{}</filter><rect width="60" height="40" filter="url(#f)"/>'
ABSURD: dict[str, tuple[str, str]] = {
    "symbols that use each other": (
        '<symbol id="s"><svg><use href="#t"/></svg></symbol>'
        '<symbol id="t"><use href="#s"/></symbol><use href="#s"/>',
        "contains itself",
    ),
    "a clip that uses itself": (
        f'<clipPath id="c"><use id="u" href="#u"/></clipPath><g clip-path="url(#c)">{_R}</g>',
        "contains itself",
    ),
    "words in the pattern they are painted with": (
        '<pattern id="p" width="9" height="9"><text fill="url(#p)">a</text></pattern>'
        '<rect width="60" height="40" fill="url(#p)"/>',
        "contains itself",
    ),
    "gradients that take from each other": (
        '<linearGradient id="a" href="#b"/><radialGradient id="b" href="#a"/>'
        '<rect width="60" height="40" fill="url(#a)"/>',
        "contains itself",
    ),
    "a marker in a mask on the marker": (
        f'<marker id="k"><g mask="url(#m)">{_R}</g></marker>'
        '<mask id="m"><path d="M0 0h9" stroke="white" marker-end="url(#k)"/></mask>'
        '<path d="M0 9h40" stroke="red" marker-end="url(#k)"/>',
        "contains itself",
    ),
    "filters that show what each other filters": (
        '<filter id="f"><feImage href="#y"/></filter><filter id="h"><feImage href="#x"/></filter>'
        f'<g id="x" filter="url(#f)">{_R}</g><g id="y" filter="url(#h)">{_R}</g>',
        "contains itself",
    ),
    "a filter in the pattern of what it shows": (
        f'<pattern id="p" width="9" height="9"><g filter="url(#f)">{_R}</g></pattern>'
        '<filter id="f"><feImage href="#x"/></filter><rect id="x" width="9" height="9" '
        'fill="url(#p)"/>',
        "contains itself",
    ),
    "shapes made thicker by more than any page": (
        _FILTERED.format('<feMorphology operator="dilate" radius="1e300"/>'),
        "past all paper",
    ),
    "a gradient of a radius past all paper": (
        f'<radialGradient id="g" gradientUnits="userSpaceOnUse" r="1e300">{_STOPS}'
        '</radialGradient><rect width="60" height="40" fill="url(#g)"/>',
        "past all paper",
    ),
    "a nested drawing with next to no view box": (
        f'<svg width="60" height="40" viewBox="0 0 1e-300 1e-300">{_R}</svg>',
        "past all paper",
    ),
    "a symbol used at a size past all paper": (
        f'<symbol id="s" viewBox="0 0 9 9">{_R}</symbol><use href="#s" width="1e300" '
        'height="1e300"/>',
        "past all paper",
    ),
    "a tile whose view box is flat": (
        '<pattern id="p" width="5" height="5" patternUnits="userSpaceOnUse" '
        f'viewBox="0 0 1e-300 1e300">{_R}</pattern><rect width="60" height="40" fill="url(#p)"/>',
        "past all paper",
    ),
    "a colour past all numbers": (
        '<rect width="60" height="40" fill="oklch(1e300 1e300 1e300)"/>',
        "isn't a colour",
    ),
    "rules a millionth of a page apart": (
        '<rect id="lines-0.0001mm" width="60" height="40"/>',
        "too fine",
    ),
    "millions of dots": ('<rect id="dots-0.01mm" width="60" height="40"/>', "too fine"),
    "sizes in units past all paper": ('<rect width="1e300rem" height="9"/>', "past all paper"),
    "tiles shrunk to nothing": (
        '<pattern id="p" width="5" height="5" patternUnits="userSpaceOnUse" '
        f'patternTransform="scale(1e-7)">{_R}</pattern>'
        '<rect width="60" height="40" fill="url(#p)"/>',
        "too fine",
    ),
    "tiles of an effect that are next to nothing": (
        _FILTERED.format('<feFlood x="0" y="0" width=".001" height=".001"/><feTile/>'),
        "too fine",
    ),
    "a pattern of thousands of things on dozens of tiles": (
        f'<pattern id="p" width="5" height="5" patternUnits="userSpaceOnUse">{_R * 2_000}</pattern>'
        '<rect width="60" height="40" fill="url(#p)"/>',
        "patterns of too many",
    ),
    "effects in each other": (
        f'<filter id="f">{_BLUR}</filter>' + _in_each_other(50, 'g filter="url(#f)"', _RED),
        "so many steps",
    ),
    "100 kB for a colour": (
        f'<rect width="9" height="9" fill="{"x" * 10**5}"/>',
        "xx…'",
    ),
    "pictures of more pixels than are printed": (
        "".join(_flat(side, "L") for side in (6_000, 6_001, 6_002)),
        "100 million pixels",
    ),
    "a picture of more pixels than there are": (_huge(2**31 - 1), "cannot be read"),
    "a picture of more pixels than are printed": (_flat(7_200, "L"), "50 million pixels"),
    "a picture longer than any": (_strip(100_000), "30,000 in a line"),
}

_ABSURD_PAGES = {
    "no numbers": ('width="NaN" height="NaN" viewBox="NaN NaN NaN NaN"', "no size"),
    "nothing": ('width="0" height="0"', "no size"),
    "a size past all paper": ('width="1e300mm" height="40mm"', "past all paper"),
    "a view box past all paper": (
        'width="60mm" height="40mm" viewBox="0 0 1e300 1e300"',
        "past all paper",
    ),
    "a view box far away": (
        'width="60mm" height="40mm" viewBox="1e300 -1e300 60 40"',
        "past all paper",
    ),
    "a view box turned round": ('width="60mm" height="40mm" viewBox="0 0 -60 40"', "viewBox"),
}

LARGE: dict[str, Callable[[], str]] = {
    "a chain of patterns": lambda: (
        "".join(f'<pattern id="p{n}" href="#p{n + 1}"/>' for n in range(1_000))
        + '<pattern id="p1000" width="5" height="5" patternUnits="userSpaceOnUse">'
        f'<rect width="3" height="3"/></pattern><g fill="url(#p0)">{_R}</g>'
    ),
    "comments": lambda: "<!---->" * 1_000_000 + _R,
    "dashes": lambda: f'<path d="M0 9h60" stroke="red" stroke-dasharray="{"1 " * 500_000}"/>',
    "places of letters": lambda: f'<text x="{"1 " * 500_000}" font-family="Kalam">leaf</text>',
    "names of a class": lambda: f'<rect width="9" height="9" class="{"b " * 500_000}"/>',
    "names of faces": lambda: f'<text font-family="{"Leaf," * 50_000}Kalam">leaf</text>',
    "a photograph": lambda: _photograph(1_900),
    "a picture of 49 million pixels": lambda: _flat(7_000, "RGB"),
    "a picture with opacity of 49 million pixels": lambda: _flat(7_000, "RGBA"),
    "groups": lambda: _in_each_other(90),
    "nested drawings": lambda: _in_each_other(50, "svg"),
    "uses": lambda: _chain(80),
    "uses that multiply": lambda: _multiplied(3),
    "patterns": lambda: _patterns(3),
    "a choice of languages": lambda: (
        "<switch>" + '<rect width="9" height="9" systemLanguage="de"/>' * 20_000 + "</switch>"
    ),
    "shapes": lambda: _RED * 10_000,
    "gradients": lambda: "".join(
        f'<linearGradient id="g{n}">{_STOPS}</linearGradient>'
        f'<rect width="{n}" height="9" fill="url(#g{n})"/>'
        for n in range(1, 2_000)
    ),
    "styles": lambda: "".join(
        f'<path style="fill:#{n:06x};fill-opacity:1;stroke-width:0.26px" d="M0 0h9v9z"/>'
        for n in range(10_000)
    ),
    "letters": lambda: f'<text y="9" font-family="Kalam">{"leaf " * 15_000}</text>',
    "a sibling far away": lambda: (
        f'<style>.a~.b{{fill:red}}</style><g class="a"/>{_R * 3_000}<g class="b">{_R}</g>'
    ),
    "opacities that are no numbers": lambda: (
        '<rect width="9" height="9" opacity="nan" fill-opacity="inf" stroke-opacity="-inf"/>'
    ),
    "an outline": lambda: f'<path d="M0 0{"L1.5 1L59 39L30 5" * 20_000}"/>',
    "a chain of gradients": lambda: (
        "".join(f'<linearGradient id="g{n}" href="#g{n + 1}"/>' for n in range(1_000))
        + f'<linearGradient id="g1000"><stop/></linearGradient><g fill="url(#g0)">{_R}</g>'
    ),
    "digits": lambda: f'<rect width="1.{"3" * 300_000}" height="9"/>',
    "an id": lambda: f'<rect id="{"x" * 300_000}" width="9" height="9"/>',
    "variables that multiply": lambda: (
        "<style>:root{--v0:red;"
        + "".join(f"--v{n + 1}:{f'var(--v{n})' * 10};" for n in range(20))
        + f"}}rect{{fill:var(--v20,green)}}</style>{_R}"
    ),
    "a chain of variables": lambda: (
        "<style>:root{--v0:red;"
        + "".join(f"--v{n + 1}:var(--v{n});" for n in range(500))
        + f"}}rect{{fill:var(--v500,green)}}</style>{_R}"
    ),
    "transforms": lambda: f'<rect width="9" height="9" transform="{"rotate(1) " * 20_000}"/>',
    "a transform that is none": lambda: f'<g display="none" transform="{"rotate(1" * 9_000}"/>{_R}',
    "a comment": lambda: f"<!--{'x' * 5_000_000}-->{_R}",
    "classes": lambda: (
        "<style>"
        + "".join(f".c{n}{{fill:red}}" for n in range(1_000))
        + "</style>"
        + "".join(f'<rect class="c{n}" width="9" height="9"/>' for n in range(1_000))
    ),
}


def yardstick() -> float:
    """Seconds of this process's own time that a fixed piece of work takes just now."""
    begun = time.process_time()
    drawing = etree.fromstring(svg(_R * 20_000))
    assert sum(len(str(element.attrib)) for element in drawing.iter()) > 20_000
    return time.process_time() - begun


def _measured(work: Callable[[], object]) -> tuple[float, float]:
    """Seconds that work takes, as ``SECONDS`` counts them, and megabytes more than ever before."""
    slower = yardstick() / YARDSTICK
    before, begun = _most_memory(), time.process_time()
    work()
    taken, most = time.process_time() - begun, _most_memory() - before
    return taken / max(1.0, slower, yardstick() / YARDSTICK), most


def _most_memory() -> float:
    """Megabytes that this process has had at most."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000


@pytest.mark.parametrize("name", TOO_MUCH)
def test_too_much_is_refused_in_one_line_and_soon(name: str) -> None:
    make, says = TOO_MUCH[name]
    drawing = TemplateFile(Path("sample.svg"), svg(make()))

    def read() -> None:
        with pytest.raises(UserError) as refused:
            read_template(drawing)
        assert says in refused.value.what
        assert "Recursion" not in refused.value.what
        assert refused.value.remedy
        assert "\n" not in str(refused.value)

    taken, most = _measured(read)
    assert taken < SECONDS
    assert most < MEGABYTES


@pytest.mark.parametrize("name", LARGE)
def test_what_is_large_is_drawn(name: str) -> None:
    drawing = svg(LARGE[name]())
    taken, most = _measured(lambda: built([drawing], BOOK))
    assert taken < SECONDS
    assert most < MEGABYTES


@pytest.mark.parametrize("name", ABSURD)
def test_what_is_absurd_is_refused_in_one_line(name: str) -> None:
    content, says = ABSURD[name]
    _refused(svg(content), says)


@pytest.mark.parametrize("name", _ABSURD_PAGES)
def test_a_page_of_no_sound_size_is_refused_in_one_line(name: str) -> None:
    size, says = _ABSURD_PAGES[name]
    _refused(svg(_R, size), says)


def _refused(drawing: bytes, says: str) -> None:
    """Sees that a drawing is refused in one line that says so, and soon."""

    def build() -> None:
        with pytest.raises(UserError) as refused:
            built([drawing], BOOK)
        assert says in refused.value.what
        assert refused.value.remedy
        assert "\n" not in str(refused.value)

    taken, most = _measured(build)
    assert taken < SECONDS
    assert most < MEGABYTES


_WIDE = 'width="148mm" height="210mm" viewBox="0 0 148 210"'


@pytest.mark.parametrize(
    ("parts", "functions"),
    [
        ("", "blur(1px) " * 1_000),
        ("", "hue-rotate(9deg) " * 70),
        ("", "drop-shadow(1px 1px 1px red) " * 10),
        (_BLUR * 20, "url(#f)"),
        ('<feTurbulence baseFrequency=".05" numOctaves="10"/>', "url(#f)"),
    ],
)
def test_effects_of_many_steps_on_a_whole_page_are_drawn_coarser(
    parts: str, functions: str
) -> None:
    page = f'<filter id="f">{parts}</filter><rect width="148" height="210" filter="{functions}"/>'
    taken, most = _measured(lambda: built([svg(page, _WIDE)], BOOK))
    assert taken < SECONDS
    assert most < MEGABYTES


@pytest.mark.parametrize(
    ("parts", "functions"),
    [
        ("", "drop-shadow(1px 1px 1px red) " * 1_000),
        ("", "hue-rotate(9deg) " * 100),
        (_BLUR * 3_000, "url(#f)"),
        ('<feTurbulence numOctaves="10"/>' * 100, "url(#f)"),
        (f'<feConvolveMatrix order="90" kernelMatrix="{"1 " * 8_100}"/>', "url(#f)"),
    ],
)
def test_effects_of_too_many_steps_are_refused(parts: str, functions: str) -> None:
    page = f'<filter id="f">{parts}</filter>'
    page += f'<rect id="x" width="148" height="210" filter="{functions}"/>'

    def refused() -> None:
        with pytest.raises(UserError, match="so many steps") as found:
            built([svg(page, _WIDE)], BOOK)
        assert found.value.element == "x"

    taken, most = _measured(refused)
    assert taken < SECONDS
    assert most < MEGABYTES


_ENTITIES = "".join(f'<!ENTITY a{n + 1} "{f"&a{n};" * 10}">' for n in range(10))


@pytest.mark.parametrize(
    ("declared", "content", "says"),
    [
        (f'<!ENTITY a0 "leaf">{_ENTITIES}', "<text>&a10;</text>", "can't be read as SVG"),
        ('<!ENTITY a "&a;">', "<text>&a;</text>", "can't be read as SVG"),
        ('<!ENTITY a SYSTEM "file:///etc/hostname">', "<text>&a;</text>", "SVG doesn't know"),
        ("", "<text>&leaf;</text>", "SVG doesn't know"),
    ],
)
def test_entities_are_bounded_and_never_from_outside(
    declared: str, content: str, says: str
) -> None:
    drawing = f"<!DOCTYPE svg [{declared}]>".encode() + svg(content)
    with pytest.raises(UserError, match=says) as refused:
        read_template(TemplateFile(Path("sample.svg"), drawing))
    assert refused.value.line == 1


def test_entities_as_editors_save_them_are_read() -> None:
    """Some editors declare their namespaces and styles as entities."""
    declared = '<!ENTITY ns_svg "http://www.w3.org/2000/svg"><!ENTITY st0 "fill:#336699;">'
    drawing = (
        f'<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
        f'"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" [{declared}]>'
        '<svg xmlns="&ns_svg;" width="9mm" height="9mm" viewBox="0 0 9 9">'
        '<rect style="&st0;" width="9" height="9"/></svg>'
    )
    root = read_template(TemplateFile(Path("sample.svg"), drawing.encode())).root
    assert root[0].get("fill") == "#336699"


@pytest.mark.parametrize(
    ("broken", "line", "why"),
    [
        (b"", 1, "it is empty"),
        (b"\x00\x01", 1, "begins with what isn't SVG"),
        (b'<svg xmlns="http://www.w3.org/2000/svg">\n<g>\n<rect', 3, "it breaks off here"),
        (
            b'<svg xmlns="http://www.w3.org/2000/svg">\n<g>\n</svg>',
            3,
            "isn't ended here",
        ),
        (
            b'<svg xmlns="http://www.w3.org/2000/svg">\n<g id="a" id="b"/></svg>',
            2,
            "said twice",
        ),
        (b'<svg xmlns="http://www.w3.org/2000/svg">\n\n<x:g/></svg>', 3, "of an unknown kind"),
        (
            b'<svg xmlns="http://www.w3.org/2000/svg">\n<g id="a&b"/></svg>',
            2,
            "a lone '&' stands here",
        ),
        (
            b'<svg xmlns="http://www.w3.org/2000/svg">\n<g id="\xff"/></svg>',
            2,
            "another way",
        ),
    ],
)
def test_broken_files_are_told_in_a_line_with_the_line(broken: bytes, line: int, why: str) -> None:
    with pytest.raises(UserError, match=r"is broken: .*save it again as SVG") as refused:
        read_template(TemplateFile(Path("sample.svg"), broken))
    assert why in refused.value.what
    assert refused.value.line == line
    assert "\n" not in str(refused.value)
