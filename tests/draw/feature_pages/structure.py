# ruff: noqa: E501  (a drawing is a line)
"""Structure and styles: groups, uses, nested drawings, switches, style sheets, units.

``equal`` says plainly what a standard asks for where resvg does otherwise or has no such thing.
"""

from __future__ import annotations

from tests.draw.feature_samples import HEIGHT, SIZE, WIDTH, Feature, Refused

_BOX = 'x="10" y="8" width="40" height="24"'
_GREEN = f'<rect {_BOX} fill="#383"/>'
_TWO = '<rect x="5" y="8" width="20" height="24"/><rect x="35" y="8" width="20" height="24"/>'
_FOUR = "".join(f'<rect x="{x}" y="8" width="10" height="24"/>' for x in (4, 18, 32, 46))
_SIZE = f'width="{WIDTH}mm" height="{HEIGHT}mm"'


def _four(*colours: str) -> str:
    places = zip((4, 18, 32, 46), colours, strict=True)
    return "".join(
        f'<rect x="{x}" y="8" width="10" height="24" fill="{colour}"/>' for x, colour in places
    )


def _styled(name: str, style: str, equal: str) -> Feature:
    """A box with a style, and the same with plain attributes where resvg has no such style."""
    return Feature(name, f'<rect {_BOX} style="{style}"/>', equal=f"<rect {_BOX} {equal}/>")


_USES = [
    Feature(
        "use of a use of a use",
        '<defs><rect id="a" width="10" height="10" fill="#369"/><use id="b" href="#a" x="5"/><use id="c" href="#b" y="5"/></defs><use href="#c" x="10" y="5"/><use href="#c" x="35" y="20"/>',
    ),
    Feature(
        "use of a group that uses others",
        '<defs><circle id="a" r="4"/><g id="b"><use href="#a" x="6" y="6"/><use href="#a" x="18" y="6" fill="#963"/></g></defs><use href="#b" x="5" y="5" fill="#369"/><use href="#b" x="30" y="20"/>',
    ),
    Feature(
        "use before what it uses",
        f'<use href="#later" fill="#639"/><defs><rect id="later" {_BOX}/></defs>',
    ),
    Feature(
        "use with a width for a symbol",
        '<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10" fill="#369"/><circle cx="5" cy="5" r="4" fill="#fc6"/></symbol><use href="#s" x="5" y="5" width="20" height="30"/><use href="#s" x="30" y="5" width="28" height="28"/>',
    ),
    Feature(
        "use with a size in per cent for a symbol",
        '<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10" fill="#369"/></symbol><use href="#s" x="10%" y="10%" width="50%" height="50%"/>',
        equal='<rect x="11" y="4" width="20" height="20" fill="#369"/>',
    ),
    Feature(
        "use without a size for a symbol",
        '<symbol id="s" viewBox="0 0 60 40"><rect x="10" y="10" width="40" height="20" fill="#369"/></symbol><use href="#s"/>',
    ),
    Feature(
        "use with a size for a nested drawing",
        '<defs><svg id="s" viewBox="0 0 10 10" width="5" height="5"><rect width="10" height="10" fill="#369"/></svg></defs><use href="#s" x="10" y="5" width="30" height="30"/>',
    ),
    Feature(
        "use with a size for a plain shape",
        '<defs><rect id="r" width="20" height="10" fill="#369"/></defs><use href="#r" x="10" y="5" width="50" height="30"/>',
    ),
    Feature(
        "use that is turned and placed",
        '<defs><rect id="r" width="20" height="10" fill="#369"/></defs><use href="#r" x="10" y="-5" transform="rotate(30)"/>',
    ),
    Feature(
        "use with opacity of overlapping things",
        '<defs><g id="g"><rect width="20" height="20"/><rect x="10" y="10" width="20" height="20" fill="#963"/></g></defs><use href="#g" x="10" y="5" opacity=".5"/>',
    ),
    Feature(
        "use with a clip",
        '<clipPath id="c"><circle cx="30" cy="20" r="12"/></clipPath><defs><rect id="r" width="40" height="30" fill="#369"/></defs><use href="#r" x="10" y="5" clip-path="url(#c)"/>',
    ),
    Feature(
        "use with a clip of its own place",
        '<clipPath id="c"><circle cx="10" cy="10" r="9"/></clipPath><defs><rect id="r" width="40" height="30" fill="#369" clip-path="url(#c)"/></defs><use href="#r" x="20" y="8"/>',
    ),
    Feature(
        "use whose styles come from where its thing stands",
        '<style>#home rect { fill: #369 } .away rect { fill: #c00 }</style><g id="home"><rect id="r" width="20" height="24" x="4" y="8"/></g><g class="away"><use href="#r" x="30"/></g>',
    ),
    Feature(
        "use inside what a style is for by its child",
        '<style>use { fill: #369 } g > rect { stroke: #c60; stroke-width: 3 }</style><defs><g><rect id="r" x="5" y="8" width="20" height="24"/></g></defs><use href="#r"/><use href="#r" x="30"/>',
    ),
    Feature(
        "use of something hidden",
        '<g display="none"><rect id="r" width="20" height="24" fill="#369"/></g><use href="#r" x="20" y="8"/>',
    ),
    Feature(
        "use of something invisible, shown again",
        '<defs><rect id="r" width="20" height="24" fill="#369"/></defs><g visibility="hidden"><use href="#r" x="5" y="8"/><use href="#r" x="30" y="8" visibility="visible"/></g>',
    ),
    Feature(
        "use of something that is not there",
        f'<use href="#nobody"/>{_GREEN}',
    ),
    Feature(
        "use with both forms of its link",
        '<defs><rect id="a" width="20" height="24" fill="#383"/><rect id="b" width="20" height="24" fill="#c00"/></defs><use href="#a" xlink:href="#b" x="20" y="8"/>',
    ),
    Feature(
        "use with a length in another unit",
        '<defs><rect id="r" width="20" height="10" fill="#369"/></defs><use href="#r" x="1em" y="20%"/>',
    ),
    Feature(
        "use of an image",
        '<defs><image id="i" width="30" height="20" href="data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNgAAAAAgABSK+kcQAAAABJRU5ErkJggg=="/></defs><use href="#i" x="15" y="10"/>',
    ),
    Feature(
        "use of a text",
        '<defs><text id="t" y="20" font-family="Kalam" font-size="10">Leaf</text></defs><use href="#t" x="5" fill="#369"/><use href="#t" x="32" y="10" fill="#963"/>',
    ),
    Feature(
        "two things of one id",
        '<defs><rect id="r" width="20" height="24" fill="#383"/><rect id="r" width="20" height="24" fill="#c00"/></defs><use href="#r" x="20" y="8"/>',
    ),
]

_SYMBOLS = [
    Feature(
        "symbol that is never used",
        f'<symbol id="s"><rect width="60" height="40"/></symbol>{_GREEN}',
    ),
    Feature(
        "symbol with its own aspect",
        '<symbol id="s" viewBox="0 0 10 10" preserveAspectRatio="xMinYMax"><rect width="10" height="10" fill="#369"/></symbol><use href="#s" x="5" y="5" width="50" height="20"/><use href="#s" x="5" y="26" width="5" height="13"/>',
    ),
    Feature(
        "symbol that is stretched",
        '<symbol id="s" viewBox="0 0 10 10" preserveAspectRatio="none"><circle cx="5" cy="5" r="5" fill="#369"/></symbol><use href="#s" x="5" y="5" width="50" height="30"/>',
    ),
    Feature(
        "symbol whose own style has a clip",
        '<clipPath id="c"><circle cx="5" cy="5" r="4"/></clipPath><symbol id="s" viewBox="0 0 10 10"><g clip-path="url(#c)"><rect width="10" height="10" fill="#369"/></g></symbol><use href="#s" x="15" y="5" width="30" height="30"/>',
    ),
    # SVG 2, 5.5: refX and refY, in the coordinates of the view box, come to lie at x and y.
    Feature(
        "symbol with a point of reference",
        '<symbol id="s" viewBox="0 0 10 10" refX="5" refY="5" overflow="visible"><rect width="10" height="10" fill="#369"/></symbol><use href="#s" x="30" y="20" width="20" height="20"/>',
        equal='<rect x="20" y="10" width="20" height="20" fill="#369"/>',
    ),
    Feature(
        "symbol with a point of reference in words",
        '<symbol id="s" viewBox="0 0 10 10" refX="right" refY="center"><rect width="10" height="10" fill="#369"/></symbol><use href="#s" x="30" y="20" width="20" height="20"/>',
        equal='<rect x="10" y="10" width="20" height="20" fill="#369"/>',
    ),
    Feature(
        "symbol with a size of its own",
        '<symbol id="s" width="20" height="20" viewBox="0 0 10 10"><rect width="10" height="10" fill="#369"/></symbol><use href="#s" x="20" y="10"/>',
        equal='<rect x="20" y="10" width="20" height="20" fill="#369"/>',
    ),
    Feature(
        "symbol in a symbol",
        '<symbol id="a" viewBox="0 0 4 4"><circle cx="2" cy="2" r="2"/></symbol><symbol id="b" viewBox="0 0 10 10"><rect width="10" height="10" fill="#ddd"/><use href="#a" x="1" y="1" width="5" height="5" fill="#369"/></symbol><use href="#b" x="15" y="5" width="30" height="30"/>',
    ),
    # SVG 2, 5.5: as symbols have a transform, it acts between the use and the content.
    Feature(
        "symbol with a transform",
        '<symbol id="s" viewBox="0 0 10 10" transform="translate(5 0)"><rect width="10" height="10" fill="#369"/></symbol><use href="#s" x="10" y="10" width="20" height="20"/>',
        equal='<rect x="15" y="10" width="20" height="20" fill="#369"/>',
    ),
    Feature(
        "symbol that overflows by its style",
        '<symbol id="s" viewBox="0 0 10 10" style="overflow:visible"><rect x="-3" y="-3" width="16" height="16" fill="#369"/></symbol><use href="#s" x="20" y="10" width="20" height="20"/>',
    ),
    Feature(
        "symbol without a view box is clipped",
        '<symbol id="s"><rect width="40" height="40" fill="#369"/></symbol><use href="#s" x="10" y="5" width="20" height="20"/>',
    ),
]

_NESTED = [
    # SVG 1.1, 14.3.4; CSS 2, 11.1.2: from the top and the left of the viewport.
    Feature(
        "nested drawing cut by the old clip",
        '<svg x="5" y="5" width="40" height="30" clip="rect(2 30 20 5)"><rect width="60" height="60" fill="#383"/></svg>',
        equal='<rect x="10" y="7" width="25" height="18" fill="#383"/>',
    ),
    Feature(
        "nested drawing cut by the old clip at two sides",
        '<svg x="5" y="5" width="40" height="30" style="clip:rect(auto, 30px, auto, 5px)"><rect width="60" height="60" fill="#383"/></svg>',
        equal='<rect x="10" y="5" width="25" height="30" fill="#383"/>',
    ),
    Feature(
        "nested drawing that may overflow, with the old clip",
        '<svg x="5" y="5" width="40" height="30" overflow="visible" clip="rect(2 30 20 5)"><rect width="60" height="60" fill="#383"/></svg>',
        equal='<rect x="5" y="5" width="60" height="60" fill="#383"/>',
    ),
    Feature(
        "nested drawing without a size",
        '<svg viewBox="0 0 120 80"><rect x="20" y="16" width="80" height="48" fill="#369"/></svg>',
    ),
    Feature(
        "nested drawing in per cent",
        '<svg x="10%" y="10%" width="50%" height="50%"><rect width="50%" height="50%" fill="#369"/><rect x="50%" y="50%" width="50%" height="50%" fill="#963"/></svg>',
    ),
    Feature(
        "nested drawing of no width",
        f'<svg width="0" height="20"><rect width="60" height="40"/></svg>{_GREEN}',
        equal=_GREEN,
    ),
    Feature(
        "nested drawing of a width below nothing",
        f'<svg width="-5" height="20"><rect width="60" height="40"/></svg>{_GREEN}',
        equal='<rect width="60" height="20"/>' + _GREEN,
    ),
    Feature(
        "nested drawing with an empty view box",
        f'<svg viewBox="0 0 0 0"><rect width="60" height="40"/></svg>{_GREEN}',
    ),
    Feature(
        "nested drawing with a view box that is no view box",
        f'<svg viewBox="one two"><rect width="20" height="40" fill="#369"/></svg>{_GREEN}',
    ),
    *(
        Feature(
            f"nested drawing, {aspect or 'aspect not said'}",
            f'<svg x="5" y="4" width="50" height="14" viewBox="0 0 10 10" preserveAspectRatio="{aspect}"><rect width="10" height="10" fill="#369"/><circle cx="3" cy="7" r="2.5" fill="#fc6"/></svg>'
            f'<svg x="5" y="20" width="10" height="18" viewBox="0 0 10 10" preserveAspectRatio="{aspect}"><rect width="10" height="10" fill="#963"/><circle cx="3" cy="7" r="2.5" fill="#fc6"/></svg>',
        )
        for aspect in (
            "xMinYMin",
            "xMidYMin meet",
            "xMaxYMid",
            "xMinYMax",
            "xMaxYMax meet",
            "none",
            "xMinYMin slice",
            "xMidYMax slice",
            "xMaxYMid slice",
            "none slice",
        )
    ),
    Feature(
        "nested drawing with an aspect that is not one",
        '<svg x="5" y="4" width="50" height="30" viewBox="0 0 10 10" preserveAspectRatio="middle"><rect width="10" height="10" fill="#369"/></svg>',
    ),
    Feature(
        "nested drawing, overflow auto",
        '<svg x="5" y="4" width="20" height="20" overflow="auto"><rect width="50" height="30" fill="#369"/></svg>',
    ),
    Feature(
        "nested drawing, overflow scroll",
        '<svg x="5" y="4" width="20" height="20" overflow="scroll"><rect width="50" height="30" fill="#369"/></svg>',
    ),
    # SVG 2, 3.4.3: hidden, for the user agent's style sheet says so; "inherit" takes the group's.
    Feature(
        "nested drawing whose overflow is not inherited",
        '<g overflow="visible"><svg x="5" y="4" width="20" height="20"><rect width="50" height="30" fill="#369"/></svg></g>',
    ),
    # SVG 2, 5.1.4: the transform property applies to nested svg elements as well.
    Feature(
        "nested drawing that is turned",
        '<svg x="20" y="5" width="20" height="20" transform="rotate(20)"><rect width="50" height="30" fill="#369"/></svg>',
        equal='<g transform="rotate(20)"><rect x="20" y="5" width="20" height="20" fill="#369"/></g>',
    ),
    Feature(
        "nested drawing with opacity",
        '<svg x="5" y="5" width="50" height="30" opacity=".5"><rect width="30" height="20" fill="#369"/><rect x="10" y="10" width="30" height="20" fill="#963"/></svg>',
    ),
    Feature(
        "nested drawing with a negative view box",
        '<svg x="5" y="5" width="50" height="30" viewBox="-25 -15 50 30"><circle r="12" fill="#369"/></svg>',
    ),
    Feature(
        "nested drawings: per cent of the nearest view box",
        '<svg x="5" y="5" width="50" height="30" viewBox="0 0 100 60"><svg x="20%" y="20%" width="60%" height="60%"><circle cx="50%" cy="50%" r="30%" fill="#369"/></svg></svg>',
    ),
]

_ROOTS = [
    Feature(
        "page whose view box has another shape",
        f'<rect width="40" height="40" fill="#ddd"/>{_GREEN}',
        f'{_SIZE} viewBox="0 0 40 40"',
    ),
    *(
        Feature(
            f"page whose view box is laid {aspect}",
            '<rect width="40" height="40" fill="#ddd"/><circle cx="14" cy="26" r="9" fill="#369"/>',
            f'{_SIZE} viewBox="0 0 40 40" preserveAspectRatio="{aspect}"',
        )
        for aspect in ("xMinYMin", "xMaxYMax", "none", "xMidYMin slice", "xMinYMax slice")
    ),
    Feature(
        "page whose view box is higher than wide",
        '<rect width="20" height="40" fill="#ddd"/><circle cx="8" cy="26" r="6" fill="#369"/>',
        f'{_SIZE} viewBox="0 0 20 40" preserveAspectRatio="xMaxYMid"',
    ),
    Feature(
        "page with commas in its view box",
        '<circle cx="30" cy="20" r="15" fill="#369"/>',
        f'{_SIZE} viewBox="0,0,60,40"',
    ),
    Feature(
        "page in centimetres",
        '<circle cx="3" cy="2" r="1.5" fill="#369"/>',
        'width="6cm" height="4cm" viewBox="0 0 6 4"',
    ),
    Feature(
        "page in quarters of a millimetre",
        '<circle cx="30" cy="20" r="15" fill="#369"/>',
        'width="240Q" height="160Q" viewBox="0 0 60 40"',
    ),
    Feature(
        "page with opacity",
        '<rect width="30" height="20" fill="#369"/><rect x="10" y="10" width="30" height="20" fill="#963"/>',
        f'{_SIZE} viewBox="0 0 60 40" opacity=".5"',
    ),
    Feature(
        "page with paint of its own",
        _TWO,
        f'{_SIZE} viewBox="0 0 60 40" fill="#369" stroke="#963" stroke-width="2"',
    ),
    Feature(
        "page with a style of its own",
        _TWO,
        f'{_SIZE} viewBox="0 0 60 40" style="fill:#369;color:red"',
    ),
    Feature(
        "page with what lies outside its view box",
        '<rect x="-20" y="10" width="100" height="20" fill="#369"/>',
        f'{_SIZE} viewBox="0 0 40 40"',
    ),
    Feature(
        "page with an x and y of its own",
        _GREEN,
        f'x="10" y="10" {_SIZE} viewBox="0 0 60 40"',
    ),
]

_CHOICES = [
    # SVG 2, 5.11: of a switch the first child whose tests all hold; no language is asked for here.
    Feature(
        "switch without a match takes the one for all languages",
        f'<switch><rect width="60" height="40" systemLanguage="de"/>{_GREEN}</switch>',
        equal=_GREEN,
    ),
    Feature(
        "switch takes the first that is for all",
        f'<switch>{_GREEN}<rect width="60" height="40" systemLanguage="en"/></switch>',
    ),
    Feature(
        "switch with nothing that holds",
        f'<switch><rect width="60" height="40" systemLanguage="de"/></switch>{_GREEN}',
        equal=_GREEN,
    ),
    Feature(
        "switch with an extension that nobody has",
        f'<switch><g requiredExtensions="http://example.org/none"><rect width="60" height="40"/></g>{_GREEN}</switch>',
    ),
    # SVG 2, 5.11.3: requiredExtensions="" is false.
    Feature(
        "switch with an empty extension",
        f'<switch><g requiredExtensions=""><rect width="60" height="40"/></g>{_GREEN}</switch>',
        equal=_GREEN,
    ),
    # SVG 2, 5.11: requiredFeatures is no longer there; everything that asks for features has them.
    Feature(
        "switch with a feature asked for",
        f'<switch><g requiredFeatures="http://www.w3.org/TR/SVG11/feature#Shape">{_GREEN}</g><rect width="60" height="40"/></switch>',
    ),
    Feature(
        "switch with content that is not SVG first",
        f'<switch><foreignObject width="60" height="40" requiredExtensions="http://example.org/flow"/>{_GREEN}</switch>',
    ),
    Feature(
        "switch with paint and a place",
        f'<switch fill="#963" transform="translate(0 4)"><rect {_BOX}/></switch>',
    ),
    Feature(
        "switch in a group in a switch",
        f'<switch><g><switch><rect width="9" height="9" systemLanguage="fr"/>{_GREEN}</switch></g></switch>',
        equal=_GREEN,
    ),
    Feature(
        "switch whose choice is not displayed",
        f'<switch><rect width="60" height="40" display="none"/><rect width="20" height="40"/></switch>{_GREEN}',
        equal=_GREEN,
    ),
    Feature(
        "something for one language outside a switch",
        f'<g systemLanguage="fr"><rect width="60" height="40"/></g>{_GREEN}',
        equal=_GREEN,
    ),
    Feature(
        "something for no language",
        f'<g systemLanguage=""><rect width="60" height="40"/></g>{_GREEN}',
        equal=_GREEN,
    ),
    Feature(
        "something asks for an extension outside a switch",
        f'<rect width="60" height="40" requiredExtensions="http://example.org/none"/>{_GREEN}',
        equal=_GREEN,
    ),
]


def _sheet(name: str, css: str, content: str = _FOUR, equal: str = "") -> Feature:
    return Feature(f"style: {name}", f"<style>{css}</style>{content}", equal=equal)


_G = f'<g id="g" class="row first">{_FOUR}</g>'

_SHEETS = [
    _sheet("universal", "* { fill: #369 }", _G),
    _sheet("type", "rect { fill: #369 }"),
    _sheet("class", ".row { fill: #369 }", _G),
    _sheet("two classes of one", ".row.first { fill: #369 } .row.last { fill: red }", _G),
    _sheet("id", "#g { fill: #369 }", _G),
    _sheet("descendant", "svg rect { fill: #369 }", _G),
    _sheet("child", "g > rect { fill: #369 } svg > rect { fill: red }", _G),
    _sheet("next sibling", "rect { fill: #ccc } rect + rect { fill: #369 }"),
    _sheet(
        "later sibling",
        "#a ~ rect { fill: #369 }",
        _FOUR.replace("<rect", '<rect id="a"', 1),
        equal=_four("black", "#369", "#369", "#369"),
    ),
    _sheet("list", "circle, rect, path { fill: #369 }"),
    _sheet(
        "list with a broken one",
        "rect { fill: #369 } rect, :: { fill: red }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "not",
        "rect:not([x='18']) { fill: #369 }",
        equal=_four("#369", "black", "#369", "#369"),
    ),
    _sheet(
        "is",
        ":is(rect, circle):is([x='18'], [x='46']) { fill: #369 }",
        equal=_four("black", "#369", "black", "#369"),
    ),
    _sheet(
        "where, of no weight",
        "rect { fill: #369 } :where(rect[x]) { fill: red }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "has",
        "g:has(> rect) rect { fill: #369 }",
        _G,
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet("first child", "g rect:first-child { fill: #369 }", _G),
    _sheet(
        "last child",
        "g rect:last-child { fill: #369 }",
        _G,
        equal=_four("black", "black", "black", "#369"),
    ),
    _sheet(
        "every second child",
        "g rect:nth-child(2n) { fill: #369 }",
        _G,
        equal=_four("black", "#369", "black", "#369"),
    ),
    _sheet(
        "odd children",
        "g rect:nth-child(odd) { fill: #369 }",
        _G,
        equal=_four("#369", "black", "#369", "black"),
    ),
    _sheet(
        "nth from the last",
        "g rect:nth-last-child(-n+2) { fill: #369 }",
        _G,
        equal=_four("black", "black", "#369", "#369"),
    ),
    _sheet(
        "nth of its type",
        "g rect:nth-of-type(2) { fill: #369 }",
        "<g><title>a</title>" + _FOUR + "</g>",
        equal=_four("black", "#369", "black", "black"),
    ),
    _sheet(
        "root",
        ":root { fill: #369 }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "empty",
        "g:empty { fill: red } rect:empty { fill: #369 }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet("attribute there", "rect[rx] { fill: #369 }", _FOUR.replace("<rect", '<rect rx="3"', 2)),
    _sheet("attribute equal", 'rect[x="18"] { fill: #369 }'),
    _sheet(
        "attribute begins",
        'rect[x^="1"] { fill: #369 }',
        equal=_four("black", "#369", "black", "black"),
    ),
    _sheet(
        "attribute ends",
        'rect[x$="6"] { fill: #369 }',
        equal=_four("black", "black", "black", "#369"),
    ),
    _sheet(
        "attribute holds",
        'rect[x*="4"] { fill: #369 }',
        equal=_four("#369", "black", "black", "#369"),
    ),
    _sheet("attribute has a word", 'g[class~="first"] { fill: #369 }', _G),
    _sheet(
        "attribute begins with a dash after",
        'g[id|="leaf"] { fill: #369 }',
        f'<g id="leaf-1">{_FOUR}</g>',
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "attribute whatever its case",
        'g[id="LEAF" i] { fill: #369 }',
        f'<g id="leaf">{_FOUR}</g>',
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet("pointed at is never", "rect { fill: #369 } rect:hover { fill: red }"),
    _sheet(
        "weights add up", "g .row rect, #g rect { fill: #369 } g.row.first rect { fill: red }", _G
    ),
    _sheet("later of equal weight", "rect { fill: red } rect { fill: #369 }"),
    _sheet(
        "important",
        "rect { fill: #369 !important } #a { fill: red }",
        _FOUR.replace("<rect", '<rect id="a"', 1),
    ),
    _sheet(
        "important over the element's own",
        "rect { fill: #369 !important }",
        _FOUR.replace("<rect", '<rect style="fill:red"'),
    ),
    _sheet(
        "the element's own important",
        "rect { fill: red !important }",
        _FOUR.replace("<rect", '<rect style="fill:#369 !important"'),
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet("over attributes", "rect { fill: #369 }", _FOUR.replace("<rect", '<rect fill="red"')),
    _sheet(
        "universal over attributes", "* { fill: #369 }", _FOUR.replace("<rect", '<rect fill="red"')
    ),
    _sheet(
        "element's own over all",
        "#a { fill: red } rect { fill: #c60 }",
        _FOUR.replace("<rect", '<rect id="a" fill="red" style="fill:#369"', 1),
    ),
    _sheet("comments", "/* rect { fill: red } */ rect { /* fill: red; */ fill: #369 /* blue */ }"),
    _sheet("CDATA", "<![CDATA[ g > rect { fill: #369 } ]]>", _G),
    _sheet(
        "in an XML comment of old",
        "<!-- rect { fill: red } -->rect { fill: #369 }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "marks of old around it",
        "<![CDATA[<!-- rect { fill: #369 } -->]]>",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet("broken declaration", "rect { fill: #369; stroke; : 5; fill }"),
    _sheet("declaration that is not known", "rect { fill: #369; colour: red; -mine-fill: red }"),
    _sheet("left open", "rect { fill: #369"),
    _sheet("of another kind of language", "rect { fill: #369 }").__class__(
        "style in another language",
        f'<style type="text/less">rect {{ fill: red }}</style><g fill="#369">{_FOUR}</g>',
    ),
    Feature(
        "styles: several",
        f"<style>rect {{ fill: red }}</style><style type='text/css'>rect {{ fill: #369 }}</style>{_FOUR}",
    ),
    Feature("style at the end", f"{_FOUR}<style>rect {{ fill: #369 }}</style>"),
    Feature("style in definitions", f"<defs><style>rect {{ fill: #369 }}</style></defs>{_FOUR}"),
    Feature("style that is empty", f"<style/><style> </style>{_FOUR}"),
    Feature(
        "style for paper",
        f"<style media='print'>rect {{ fill: #369 }}</style>{_FOUR}",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    Feature(
        "style for screens",
        f"<style media='screen'>rect {{ fill: red }}</style>{_FOUR}",
        equal=_FOUR,
    ),
    _sheet(
        "for paper",
        "rect { fill: red } @media print { rect { fill: #369 } }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "for all media",
        "@media all { rect { fill: #369 } }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "for screens only",
        "rect { fill: #369 } @media screen { rect { fill: red } } @media only screen { rect { fill: red } }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "for all but screens",
        "rect { fill: red } @media not screen { rect { fill: #369 } }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "for screens and paper",
        "@media screen, print { rect { fill: #369 } }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "for paper within all",
        "@media all { @media print { rect { fill: #369 } } }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "for the dark",
        "rect { fill: #369 } @media (prefers-color-scheme: dark) { rect { fill: red } }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet("names a charset", '@charset "utf-8"; rect { fill: #369 }'),
    _sheet(
        "pages and frames of an animation are passed over",
        "@page { margin: 0 } @keyframes k { from { fill: red } } rect { fill: #369 }",
    ),
    _sheet(
        "a namespace with a prefix",
        '@namespace svg url("http://www.w3.org/2000/svg"); svg|rect { fill: #369 }',
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "a namespace for all",
        '@namespace "http://www.w3.org/2000/svg"; rect { fill: #369 }',
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "escaped class",
        r".a\31  { fill: #369 }",
        f'<g class="a1">{_FOUR}</g>',
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "a name with capitals counts as another",
        "RECT { fill: red } rect { fill: #369 }",
        equal=_four("#369", "#369", "#369", "#369"),
    ),
    _sheet(
        "property in capitals", "rect { FILL: #369 }", equal=_four("#369", "#369", "#369", "#369")
    ),
]

_VALUES = [
    Feature(
        "fill is inherited through groups that say nothing",
        f'<g fill="#369"><g><g stroke="#963">{_TWO}</g></g></g>',
    ),
    Feature(
        "inherit of what is not inherited",
        f'<g opacity=".5"><rect {_BOX} fill="#369" opacity="inherit"/></g>',
    ),
    Feature(
        "inherit of a clip",
        '<clipPath id="c"><circle cx="30" cy="20" r="10"/></clipPath><g clip-path="url(#c)"><rect width="60" height="40" fill="#369" clip-path="inherit"/></g>',
    ),
    Feature(
        "inherit of a transform",
        f'<g transform="translate(5 2)"><rect {_BOX} fill="#369" style="transform:inherit"/></g>',
        equal='<rect x="20" y="12" width="40" height="24" fill="#369"/>',
    ),
    Feature(
        "inherit of a display",
        f'<g display="inline"><rect {_BOX} fill="#369" display="inherit"/></g>',
    ),
    Feature(
        "inherit of a visibility",
        f'<g visibility="hidden"><rect width="60" height="40" visibility="inherit"/></g>{_GREEN}',
    ),
    Feature(
        "inherit of a stroke width, as the group has worked it out",
        f'<g font-size="4" stroke-width="1em"><rect {_BOX} fill="#ddd" stroke="#369" font-size="20" stroke-width="inherit"/></g>',
        equal=f'<rect {_BOX} fill="#ddd" stroke="#369" stroke-width="4"/>',
    ),
    Feature(
        "inherit of a stop's colour",
        f'<linearGradient id="g" stop-color="#369"><stop stop-color="inherit"/><stop offset="1" stop-color="#fc6"/></linearGradient><rect {_BOX} fill="url(#g)"/>',
    ),
    Feature(
        "initial of what is inherited",
        f'<g fill="red" stroke="red"><rect {_BOX} style="fill:initial;stroke:initial"/></g>',
        equal=f"<rect {_BOX}/>",
    ),
    Feature(
        "unset of what is inherited",
        f'<g fill="#369"><rect {_BOX} fill="red" style="fill:unset"/></g>',
        equal=f'<rect {_BOX} fill="#369"/>',
    ),
    Feature(
        "unset of what is not inherited",
        f'<g opacity=".5"><rect {_BOX} fill="#369" opacity=".2" style="opacity:unset"/></g>',
        equal=f'<rect {_BOX} fill="#369" opacity=".5"/>',
    ),
    Feature(
        "revert",
        f'<g fill="#369"><rect {_BOX} fill="red" style="fill:revert"/></g>',
        equal=f'<rect {_BOX} fill="#369"/>',
    ),
    Feature(
        "keywords in capitals",
        f'<g fill="#369"><rect {_BOX} style="fill:INHERIT"/></g>',
        equal=f'<rect {_BOX} fill="#369"/>',
    ),
    Feature(
        "initial weight and size of a text",
        '<g font-weight="700" font-size="30" text-anchor="end" font-family="Kalam"><text x="20" y="28" style="font-weight:initial;text-anchor:initial">Aa</text></g>',
        equal='<text x="20" y="28" font-family="Kalam" font-size="30">Aa</text>',
    ),
    Feature(
        "inherit of a font size",
        '<g font-size="20" font-family="Kalam"><text font-size="inherit" x="10" y="28">Aa</text></g>',
    ),
    Feature(
        "unset of a font weight",
        '<g font-weight="700" font-family="Kalam"><text font-size="20" font-weight="400" style="font-weight:unset" x="10" y="28">Aa</text></g>',
        equal='<text font-family="Kalam" font-weight="700" font-size="20" x="10" y="28">Aa</text>',
    ),
    Feature(
        "currentColor of a colour that is current",
        f'<g color="#369"><g color="currentColor"><rect {_BOX} fill="currentColor"/></g></g>',
    ),
    Feature(
        "currentColor set on the element itself",
        f'<g color="red"><rect {_BOX} fill="currentColor" color="#369"/></g>',
    ),
    # SVG 2, 13.2: currentcolor is inherited as a keyword and means the colour where it is used.
    Feature(
        "currentColor inherited as a word",
        f'<g fill="currentColor" color="red"><g color="#369"><rect {_BOX}/></g></g>',
        equal=f'<rect {_BOX} fill="#369"/>',
    ),
    Feature(
        "currentColor in a stop",
        f'<g color="#369"><linearGradient id="g"><stop stop-color="currentColor"/><stop offset="1" stop-color="#fc6"/></linearGradient></g><g color="red"><rect {_BOX} fill="url(#g)"/></g>',
    ),
    Feature(
        "currentColor in a style sheet",
        f"<style>g {{ color: #369 }} rect {{ fill: currentcolor; stroke: currentColor }}</style><g><rect {_BOX}/></g>",
        equal=f'<rect {_BOX} fill="#369" stroke="#369"/>',
    ),
    Feature(
        "currentColor in a pattern",
        f'<pattern id="p" width="6" height="6" patternUnits="userSpaceOnUse" color="#369"><rect width="3" height="6" fill="currentColor"/></pattern><g color="red"><rect {_BOX} fill="url(#p)"/></g>',
    ),
    Feature(
        "currentColor in a marker",
        '<marker id="k" markerWidth="6" markerHeight="6" refX="3" refY="3" color="#369"><circle cx="3" cy="3" r="3" fill="currentColor"/></marker><path d="M15 20H45" stroke="#963" stroke-width="2" color="red" marker-end="url(#k)"/>',
    ),
    Feature(
        "currentColor as a paint to fall back to",
        f'<rect {_BOX} color="#369" fill="url(#nobody) currentColor"/>',
    ),
    _styled("variable", "--leaf: #369; fill: var(--leaf)", 'fill="#369"'),
    Feature(
        "variable from the page",
        f"<style>:root {{ --leaf: #369; --edge: 3px }} rect {{ fill: var(--leaf); stroke: #963; stroke-width: var(--edge) }}</style><rect {_BOX}/>",
        equal=f'<rect {_BOX} fill="#369" stroke="#963" stroke-width="3"/>',
    ),
    _styled("variable with a fallback", "fill: var(--leaf, #369)", 'fill="#369"'),
    _styled(
        "variable with a fallback with a comma",
        "fill: var(--leaf, rgb(51, 102, 153))",
        'fill="#369"',
    ),
    _styled(
        "variable with a variable to fall back to",
        "--b: #369; fill: var(--a, var(--b, red))",
        'fill="#369"',
    ),
    Feature(
        "variable in an attribute",
        f'<rect {_BOX} fill="var(--fill-0, #369)"/>',
        equal=f'<rect {_BOX} fill="#369"/>',
    ),
    _styled(
        "variable made of others",
        "--r: 51; --rgb: var(--r), 102, 153; fill: rgb(var(--rgb))",
        'fill="#369"',
    ),
    Feature(
        "variable set anew further in",
        f'<g style="--leaf:red"><g style="--leaf:#369"><rect {_BOX} style="fill:var(--leaf)"/></g></g>',
        equal=f'<rect {_BOX} fill="#369"/>',
    ),
    # CSS Variables 1, 3.1: what refers to nothing is invalid when computed, and so as if unset.
    Feature(
        "variable that is not there",
        f'<g fill="#369"><rect {_BOX} fill="red" style="fill:var(--nobody)"/></g>',
        equal=f'<rect {_BOX} fill="#369"/>',
    ),
    Feature(
        "variables that go round in a circle",
        f'<g fill="#369"><rect {_BOX} style="--a:var(--b);--b:var(--a);fill:var(--a)"/></g>',
        equal=f'<rect {_BOX} fill="#369"/>',
    ),
    _styled("variables by case", "--Leaf: #369; --leaf: red; fill: var(--Leaf)", 'fill="#369"'),
    Feature(
        "variable taken over by what uses it",
        '<defs><rect id="r" width="20" height="24" y="8" style="fill:var(--leaf, red)"/></defs><use href="#r" x="5" style="--leaf:#369"/><use href="#r" x="35" style="--leaf:#963"/>',
        equal='<rect x="5" y="8" width="20" height="24" fill="#369"/><rect x="35" y="8" width="20" height="24" fill="#963"/>',
    ),
    _styled(
        "sum of lengths",
        "stroke:#369;fill:#ddd;stroke-width:calc(1px + 2px * 2)",
        'fill="#ddd" stroke="#369" stroke-width="5"',
    ),
    Feature(
        "sum of a share and a length",
        '<rect x="10" y="8" style="width:calc(50% + 10px);height:calc(100% - 16px)" fill="#369"/>',
        equal='<rect x="10" y="8" width="40" height="24" fill="#369"/>',
    ),
    Feature(
        "sum in an attribute",
        '<rect x="calc(5px * 2)" y="calc(20% )" width="calc(100% / 2 + 10px)" height="24" fill="#369"/>',
        equal='<rect x="10" y="8" width="40" height="24" fill="#369"/>',
    ),
    Feature(
        "sum of units",
        '<rect x="10" y="8" style="width:calc(0.25in + 16px);height:calc((4em - 40px) * 1)" fill="#369"/>',
        equal='<rect x="10" y="8" width="40" height="24" fill="#369"/>',
    ),
    Feature(
        "smallest, largest and between",
        '<rect style="x:max(10px, 2%);y:min(8px, 50%);width:clamp(10px, 90%, 40px);height:clamp(24px, 1%, 50px)" fill="#369"/>',
        equal='<rect x="10" y="8" width="40" height="24" fill="#369"/>',
    ),
    _styled(
        "sum of sums",
        "stroke:#369;fill:#ddd;stroke-width:calc(calc(1px + 1px) + (3px - 1px))",
        'fill="#ddd" stroke="#369" stroke-width="4"',
    ),
    Feature(
        "sum of angles in a transform",
        '<rect width="30" height="20" fill="#369" style="transform:translate(calc(10px + 10px), 5px) rotate(calc(10deg + 0.05turn - 8deg))"/>',
        equal='<rect width="30" height="20" fill="#369" transform="translate(20 5) rotate(20)"/>',
    ),
    _styled(
        "sum of numbers in an opacity",
        "fill:#369;opacity:calc(0.25 + 0.25)",
        'fill="#369" opacity=".5"',
    ),
    _styled(
        "sum with a variable",
        "--n: 2px; fill:#ddd;stroke:#369;stroke-width:calc(var(--n) * 3)",
        'fill="#ddd" stroke="#369" stroke-width="6"',
    ),
    Feature(
        "sums in dashes",
        '<path d="M5 20H55" stroke="#369" stroke-width="6" style="stroke-dasharray:calc(1px + 4px) calc(5% - 1px), 3"/>',
        equal='<path d="M5 20H55" stroke="#369" stroke-width="6" stroke-dasharray="5 1.549509757 3"/>',
    ),
    _styled("sum in a colour", "fill: rgb(calc(50 + 1), 102, 153)", 'fill="#369"'),
    # A declaration that is invalid is as if it were not there (CSS Syntax 3, 9).
    Feature(
        "style that cannot be read gives way to the attribute",
        f'<rect {_BOX} fill="#369" stroke="#963" opacity=".5" stroke-width="4" style="stroke-width:wide;opacity:half;fill-opacity:"/>',
        equal=f'<rect {_BOX} fill="#369" stroke="#963" opacity=".5" stroke-width="4"/>',
    ),
    Feature(
        "attribute that cannot be read gives way to the group's",
        f'<g stroke="#963" stroke-width="4"><rect {_BOX} fill="#369" stroke-width="wide"/></g>',
        equal=f'<rect {_BOX} fill="#369" stroke="#963" stroke-width="4"/>',
    ),
]


def _colours(name: str, *colours: str, equal: tuple[str, ...] = ()) -> Feature:
    return Feature(f"colours: {name}", _four(*colours), equal=_four(*equal) if equal else "")


# Plain values of the wider spaces: as Chromium paints them on a canvas.
_COLOURS = [
    _colours("hues in degrees, turns, radians, gradians", "hsl(210deg 50% 40%)", "hsl(0.25turn 50% 40%)", "hsl(1rad 50% 40%)", "hsl(100grad 50% 40%)",
             equal=("#336699", "#669933", "#999433", "#669933")),
    _colours("hues past their ends", "hsl(-150, 50%, 40%)", "hsl(930, 50%, 40%)", "hsl(210, 150%, 40%)", "hsl(210, 50%, 140%)",
             equal=("#336699", "#336699", "#0066cc", "#ffffff")),
    _colours("hues with opacity", "hsla(210, 50%, 40%, 0.5)", "hsl(210 50% 40% / 50%)", "hsl(210 50% 40% / .25)", "hsla(0, 0%, 0%, 1)",
             equal=("rgba(51,102,153,.5)", "rgba(51,102,153,.5)", "rgba(51,102,153,.25)", "black")),
    _colours("red, green, blue with spaces", "rgb(51 102 153)", "rgb(51 102 153 / 50%)", "rgb(20% 40% 60%)", "rgb(20% 40% 60% / 0.25)",
             equal=("#336699", "rgba(51,102,153,.5)", "#336699", "rgba(51,102,153,.25)")),
    _colours("red, green, blue past their ends", "rgb(300, -20, 153)", "rgb(110%, 40%, 60%)", "rgba(51, 102, 153, 2)", "rgba(51, 102, 153, .5)"),
    _colours("numbers with fractions", "rgb(50.8, 102.4, 153)", "rgb(12.5%, 37.5%, 50%)", "rgba(51, 102, 153, 50%)", "rgb(51,102,153)",
             equal=("#336699", "rgb(32,96,128)", "rgba(51,102,153,.5)", "#336699")),
    _colours("sixteen signs", "#369", "#3698", "#336699", "#33669980"),
    _colours("names, whatever their case", "RebeccaPurple", "SLATEGREY", "lightgoldenrodyellow", "grey",
             equal=("#663399", "#708090", "#fafad2", "#808080")),
    _colours("whiteness and blackness", "hwb(210 20% 40%)", "hwb(0.25turn 20% 40%)", "hwb(0 60% 60%)", "hwb(210 20% 40% / 50%)",
             equal=("#336699", "#669933", "#808080", "rgba(51,102,153,.5)")),
    _colours("lightness and opponents", "lab(50% 40 -20)", "lab(50 40 -20)", "lab(70 -30 40 / .5)", "lab(0 0 0)",
             equal=("#ab5a9a", "#ab5a9a", "rgba(133,185,94,.5)", "#000000")),
    _colours("lightness, chroma, hue", "lch(50% 45 335)", "lch(50 45 335deg)", "lch(70 50 126 / .5)", "lch(100 0 0)",
             equal=("#ad5a99", "#ad5a99", "rgba(134,185,93,.5)", "#ffffff")),
    _colours("lightness as it is seen, and opponents", "oklab(0.6 0.1 -0.05)", "oklab(60% 25% -12.5%)", "oklab(0.8 -0.1 0.1)", "oklab(0.4 0 0)",
             equal=("#a8669c", "#a8669c", "#95d272", "#484848")),
    _colours("lightness as it is seen, chroma, hue", "oklch(0.5 0.12 250)", "oklch(50% 30% 250deg)", "oklch(0.7 0.1 140 / 50%)", "oklch(1 0 0)",
             equal=("#2266a4", "#2266a4", "rgba(125,174,114,.5)", "#ffffff")),
    _colours("of the usual space", "color(srgb 0.2 0.4 0.6)", "color(srgb 20% 40% 60%)", "color(srgb 0.2 0.4 0.6 / .5)", "color(srgb 1.5 -1 0)",
             equal=("#336699", "#336699", "rgba(51,102,153,.5)", "#ff0000")),
    _colours("of linear light", "color(srgb-linear 0.0331 0.1329 0.3185)", "color(srgb-linear 1 1 1 / .5)", "color(srgb-linear 0 0 0)", "#369",
             equal=("#336699", "rgba(255,255,255,.5)", "#000000", "#336699")),
    _colours("of wide screens", "color(display-p3 0.25 0.4 0.6)", "color(display-p3 1 1 1 / .5)", "color(display-p3 1 0 0)", "color(display-p3 0 0 0)",
             equal=("#32679d", "rgba(255,255,255,.5)", "#ff0000", "black")),
    _colours("of what eyes see", "color(xyz 0.3 0.3 0.3)", "color(xyz-d65 0.3 0.3 0.3)", "color(xyz-d50 0.3 0.3 0.3)", "color(xyz 0 0 0)",
             equal=("#a2918f", "#a2918f", "#9793a5", "black")),
    _colours("none as a part", "rgb(none 102 153)", "hsl(none 50% 40%)", "lab(50 none none)", "oklch(0.5 none 20)",
             equal=("#006699", "#993333", "#777777", "#636363")),
    _colours("clear", "transparent", "rgba(0,0,0,0)", "#0000", "#369"),
    Feature("colours: clear stop", f'<linearGradient id="g"><stop stop-color="#369"/><stop offset="1" stop-color="transparent"/></linearGradient><rect {_BOX} fill="url(#g)"/>',
            equal=f'<linearGradient id="g"><stop stop-color="#369"/><stop offset="1" stop-color="black" stop-opacity="0"/></linearGradient><rect {_BOX} fill="url(#g)"/>'),
    Feature("colours: with a comment and much room", f'<rect {_BOX} style="fill: rgb( 51 ,/* green */ 102 , 153 ) ;"/>', equal=f'<rect {_BOX} fill="#369"/>'),
]  # fmt: skip

_TRANSFORMED = '<rect width="16" height="10" fill="#369" stroke="#963" transform="{}"/>'


def _turned(name: str, transform: str, equal: str = "") -> Feature:
    plain = _TRANSFORMED.format(equal) if equal else ""
    return Feature(f"transform: {name}", _TRANSFORMED.format(transform), equal=plain)


def _css_turned(name: str, style: str, equal: str, box: str = 'x="20" y="10"') -> Feature:
    shape = f'<rect {box} width="20" height="12" fill="#369" stroke="#963" '
    return Feature(
        f"transform by style: {name}",
        f'{shape}style="{style}"/>',
        equal=f'{shape}transform="{equal}"/>',
    )


_TRANSFORMS = [
    _turned("without commas or spaces", "translate(20-5)scale(1.5)translate(0,10)"),
    _turned("with much white space", "  translate ( 20 , 5 )\n , scale(2\t1) "),
    _turned("by exponents", "translate(2e1 1E+1) scale(15e-1)"),
    _turned("skewed both ways", "translate(20 5) skewX(20) skewY(10)"),
    _turned("mirrored", "translate(40 5) scale(-1 2)"),
    _turned("of no width", "translate(20 5) scale(0 1)").__class__(
        "transform: of no width",
        _TRANSFORMED.format("translate(20 5) scale(0 1)") + _GREEN,
    ),
    _turned("turned about a place", "rotate(45 30 20) translate(24 15)"),
    _turned("by six numbers", "matrix(.9 .4 -.4 .9 25 8)"),
    _turned("nothing", ""),
    # SVG 2, 8.5: a transform attribute that cannot be read is as if it were not there.
    _css_turned("lengths in units", "transform:translate(5mm, 0.5em)", "translate(18.898 8)"),
    _css_turned("shares of the page", "transform:translate(10%, 10%)", "translate(6 4)"),
    _css_turned(
        "shares of its own box",
        "transform-box:fill-box;transform:translate(50%, -50%)",
        "translate(10 -6)",
    ),
    _css_turned(
        "angles of all kinds",
        "transform:rotate(0.05turn) rotate(-10grad) rotate(0.1rad)",
        "rotate(14.7296)",
    ),
    _css_turned("about the page's corner by itself", "transform:rotate(10deg)", "rotate(10)"),
    _css_turned(
        "about its middle",
        "transform-box:fill-box;transform-origin:center;transform:rotate(30deg)",
        "rotate(30 30 16)",
    ),
    _css_turned(
        "about its corner in words",
        "transform-box:fill-box;transform-origin:right bottom;transform:rotate(-30deg)",
        "rotate(-30 40 22)",
    ),
    _css_turned(
        "about a corner, words turned round",
        "transform-box:fill-box;transform-origin:top left;transform:rotate(30deg)",
        "rotate(30 20 10)",
    ),
    _css_turned(
        "about one word",
        "transform-box:fill-box;transform-origin:bottom;transform:rotate(30deg)",
        "rotate(30 30 22)",
    ),
    _css_turned(
        "about a share", "transform-origin:50% 25%;transform:rotate(30deg)", "rotate(30 30 10)"
    ),
    _css_turned(
        "about a length and a depth",
        "transform-origin:30px 10px 5px;transform:rotate(30deg)",
        "rotate(30 30 10)",
    ),
    _css_turned(
        "about its content's box",
        "transform-box:content-box;transform-origin:0 0;transform:rotate(20deg)",
        "rotate(20 20 10)",
    ),
    _css_turned(
        "in the page's box",
        "transform-box:view-box;transform-origin:center;transform:rotate(20deg)",
        "rotate(20 30 20)",
    ),
    _css_turned(
        "one axis at a time",
        "transform:translateX(5px) translateY(4px) scaleX(1.2) scaleY(1.5)",
        "translate(5 4) scale(1.2 1.5)",
    ),
    _css_turned("scaled by shares", "transform:scale(120%, 50%)", "scale(1.2 .5)"),
    _css_turned(
        "skewed both ways at once",
        "transform:skew(10deg, 5deg)",
        "matrix(1 .0874887 .176327 1 0 0)",
    ),
    _css_turned("skewed one way", "transform:skewX(10deg) skewY(5deg)", "skewX(10) skewY(5)"),
    _css_turned(
        "by six numbers", "transform:matrix(.9, .3, -.3, .9, 10, -5)", "matrix(.9 .3 -.3 .9 10 -5)"
    ),
    _css_turned(
        "in space without depth",
        "transform:translate3d(5px, 4px, 9px) scale3d(1.2, 1.1, 3) rotateZ(10deg) translateZ(5px)",
        "translate(5 4) scale(1.2 1.1) rotate(10)",
    ),
    _css_turned("none", "transform:none", ""),
    _css_turned(
        "over the attribute", "transform:translate(5px, 5px)", "translate(5 5)", 'x="20" y="10"'
    ),
    # CSS Transforms 2, 11: translate, then rotate, then scale, then transform.
    _css_turned("a property of its own for moves", "translate:5px 6px", "translate(5 6)"),
    _css_turned("a property of its own for turns", "rotate:15deg", "rotate(15)"),
    _css_turned("a property of its own for sizes", "scale:1.2 0.8", "scale(1.2 .8)"),
    _css_turned("a property of its own for sizes, one number", "scale:120%", "scale(1.2)"),
    _css_turned(
        "all properties together",
        "translate:5px 6px;rotate:10deg;scale:1.2;transform:translate(2px, -4px);transform-origin:10px 5px",
        "translate(15 11) rotate(10) scale(1.2) translate(2 -4) translate(-10 -5)",
    ),
    _css_turned(
        "properties of their own that say none", "translate:none;rotate:none;scale:none", ""
    ),
    _css_turned(
        "names in capitals", "transform:TRANSLATEX(5px) Rotate(10DEG)", "translate(5) rotate(10)"
    ),
    Feature(
        "transform by style takes the attribute's place",
        '<rect x="20" y="10" width="20" height="12" fill="#369" transform="rotate(50)" style="transform:translate(5px, 5px)"/>',
        equal='<rect x="25" y="15" width="20" height="12" fill="#369"/>',
    ),
    Feature(
        "transform origin in an attribute",
        '<rect x="20" y="10" width="20" height="12" fill="#369" transform="rotate(30)" transform-origin="30 16"/>',
        equal='<rect x="20" y="10" width="20" height="12" fill="#369" transform="rotate(30 30 16)"/>',
    ),
    Feature(
        "transform origin of a group",
        f'<g transform="rotate(10)" transform-origin="30 20" fill="#369">{_TWO}</g>',
    ),
    Feature(
        "transform origin of a group in its own box",
        f'<g style="transform:rotate(10deg);transform-box:fill-box;transform-origin:center" fill="#369">{_TWO}</g>',
        equal=f'<g transform="rotate(10 30 20)" fill="#369">{_TWO}</g>',
    ),
    Feature(
        "transform origin of a clip",
        '<clipPath id="c" transform="rotate(45)" transform-origin="30 20"><rect x="18" y="8" width="24" height="24"/></clipPath><rect width="60" height="40" fill="#369" clip-path="url(#c)"/>',
        equal='<clipPath id="c" transform="rotate(45 30 20)"><rect x="18" y="8" width="24" height="24"/></clipPath><rect width="60" height="40" fill="#369" clip-path="url(#c)"/>',
    ),
    Feature(
        "transform origin of a clip's shape",
        '<clipPath id="c"><rect x="18" y="8" width="24" height="24" transform="rotate(45)" transform-origin="30 20"/></clipPath><rect width="60" height="40" fill="#369" clip-path="url(#c)"/>',
    ),
    Feature(
        "transform by style of a clip",
        '<clipPath id="c" style="transform:rotate(45deg);transform-origin:30px 20px"><rect x="18" y="8" width="24" height="24"/></clipPath><rect width="60" height="40" fill="#369" clip-path="url(#c)"/>',
        equal='<clipPath id="c" transform="rotate(45 30 20)"><rect x="18" y="8" width="24" height="24"/></clipPath><rect width="60" height="40" fill="#369" clip-path="url(#c)"/>',
    ),
    Feature(
        "transform origin of a gradient",
        f'<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="10" x2="50" gradientTransform="rotate(40)" transform-origin="30 20"><stop stop-color="#369"/><stop offset="1" stop-color="#fc6"/></linearGradient><rect {_BOX} fill="url(#g)"/>',
        equal=f'<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="10" x2="50" gradientTransform="rotate(40 30 20)"><stop stop-color="#369"/><stop offset="1" stop-color="#fc6"/></linearGradient><rect {_BOX} fill="url(#g)"/>',
    ),
    Feature(
        "transform by style of a gradient",
        f'<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="10" x2="50" style="transform:rotate(40deg)"><stop stop-color="#369"/><stop offset="1" stop-color="#fc6"/></linearGradient><rect {_BOX} fill="url(#g)"/>',
        equal=f'<linearGradient id="g" gradientUnits="userSpaceOnUse" x1="10" x2="50" gradientTransform="rotate(40)"><stop stop-color="#369"/><stop offset="1" stop-color="#fc6"/></linearGradient><rect {_BOX} fill="url(#g)"/>',
    ),
    Feature(
        "transform origin of a pattern",
        f'<pattern id="p" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(30)" transform-origin="30 20"><rect width="4" height="8" fill="#369"/></pattern><rect {_BOX} fill="url(#p)"/>',
        equal=f'<pattern id="p" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(30 30 20)"><rect width="4" height="8" fill="#369"/></pattern><rect {_BOX} fill="url(#p)"/>',
    ),
    Feature(
        "transform origin of a text",
        '<text x="10" y="25" font-family="Kalam" font-size="14" transform="rotate(-15)" transform-origin="10 25" fill="#369">Leaf</text>',
    ),
    Feature(
        "transform origin of a use",
        '<defs><rect id="r" width="20" height="12" fill="#369"/></defs><use href="#r" x="20" y="10" transform="rotate(30)" transform-origin="30 16"/>',
    ),
]

# SVG 2, 13.7.2: as wide on paper as it says, in CSS pixels, whatever the transform.
_UNSCALED = [
    Feature(
        "stroke that does not scale, turned about the middle of its shape",
        '<rect x="10" y="10" width="8" height="4" fill="#fc6" stroke="#369" stroke-width="6" vector-effect="non-scaling-stroke" style="transform:translate(16px,6px) rotate(30deg) scale(3);transform-box:fill-box;transform-origin:center"/>',
        equal=f'<rect x="10" y="10" width="8" height="4" fill="#fc6" stroke="#369" stroke-width="{6 / 96 * 25.4 / 3}" transform="translate(30 18) rotate(30) scale(3) translate(-14 -12)"/>',
    ),
    Feature(
        "stroke that does not scale in a clip",
        '<clipPath id="c"><path d="M5 5L55 10V35z" stroke="red" stroke-width="9" vector-effect="non-scaling-stroke"/></clipPath><rect width="60" height="40" fill="#369" clip-path="url(#c)"/>',
    ),
    *(
        Feature(
            f"stroke that does not scale, {how}, dashed by shares of its length",
            f'<path d="M{5 / across} {20 / down}h{50 / across}" stroke="#369" stroke-width="30" pathLength="10" stroke-dasharray="1" stroke-dashoffset="-.5" transform="scale({across} {down})" vector-effect="non-scaling-stroke"/>',
            equal=f'<path d="M5 20h50" stroke="#369" stroke-width="{30 * 25.4 / 96}" stroke-dasharray="5" stroke-dashoffset="-2.5"/>',
        )
        for how, across, down in (("enlarged", 5, 5), ("stretched", 10, 2))
    ),
    Feature(
        "stroke that does not scale with points of no length and marks of its width",
        '<marker id="k" markerWidth="3" markerHeight="3" refX="1.5" refY="1.5" style="overflow:visible"><circle cx="1.5" cy="1.5" r="1.5" fill="#963"/></marker><path d="M2 2h0M1 4h8" stroke="#369" stroke-width="16" stroke-linecap="square" marker-end="url(#k)" transform="scale(5)" vector-effect="non-scaling-stroke"/>',
        equal='<path d="M10 10h.01M5 20h40" stroke="#369" stroke-width="4.2333" stroke-linecap="square"/><circle cx="45" cy="20" r="6.35" fill="#963"/>',
    ),
    Feature(
        "colours and gradients by variables from a use",
        '<style>.a { --in: #963 } .b { --in: #369 } path { fill: var(--in); stroke: context-stroke; stroke-width: 3 }</style><defs><path id="p" d="M4 4h20v30H4z"/></defs><use class="a" href="#p" stroke="#fc6"/><use class="b" href="#p" x="28" stroke="#393"/>',
        equal='<path d="M4 4h20v30H4z" fill="#963" stroke="#fc6" stroke-width="3"/><path d="M32 4h20v30H32z" fill="#369" stroke="#393" stroke-width="3"/>',
    ),
    Feature(
        "paint of all marks by a style sheet with a variable",
        '<style>svg { --k: url(#k) } path { marker: var(--k); stroke: #369 }</style><marker id="k" markerWidth="6" markerHeight="6" refX="3" refY="3" style="width:1px"><circle cx="3" cy="3" r="3" fill="context-stroke"/></marker><path d="M10 20L30 10 50 20" fill="none" stroke-width="2"/>',
        equal='<path d="M10 20L30 10 50 20" fill="none" stroke="#369" stroke-width="2"/><circle cx="10" cy="20" r="6" fill="#369"/><circle cx="30" cy="10" r="6" fill="#369"/><circle cx="50" cy="20" r="6" fill="#369"/>',
    ),
    Feature(
        "stroke that does not scale",
        '<rect x="1" y="1" width="5" height="3" fill="#fc6" stroke="#369" stroke-width="4" transform="scale(8)" vector-effect="non-scaling-stroke"/>',
        equal=f'<rect x="8" y="8" width="40" height="24" fill="#fc6" stroke="#369" stroke-width="{4 * 25.4 / 96}"/>',
    ),
    Feature(
        "stroke that does not scale, stretched",
        '<circle cx="1" cy="1" r=".8" fill="#fc6" stroke="#369" stroke-width="6" transform="scale(28 18)" style="vector-effect:non-scaling-stroke"/>',
        equal=f'<ellipse cx="28" cy="18" rx="22.4" ry="14.4" fill="#fc6" stroke="#369" stroke-width="{6 * 25.4 / 96}"/>',
    ),
    Feature(
        "stroke that does not scale, dashed and skewed",
        '<path d="M1 1H5" stroke="#369" stroke-width="8" stroke-dasharray="16 8" transform="scale(10 4) skewY(20)" vector-effect="non-scaling-stroke"/>',
        equal=f'<path d="M10 5.4559H50" transform="matrix(1 0.1455881 0 1 0 -1.4559)" stroke="#369" stroke-width="0" /><path d="M10 5.455881L50 11.279404" stroke="#369" stroke-width="{8 * 25.4 / 96}" stroke-dasharray="{16 * 25.4 / 96} {8 * 25.4 / 96}"/>',
    ),
    Feature(
        "stroke that does not scale in a nested drawing",
        '<svg x="5" y="5" width="50" height="30" viewBox="0 0 5 3"><rect x="1" y="1" width="3" height="1" fill="#fc6" stroke="#369" stroke-width="6" vector-effect="non-scaling-stroke"/></svg>',
        equal=f'<rect x="15" y="15" width="30" height="10" fill="#fc6" stroke="#369" stroke-width="{6 * 25.4 / 96}"/>',
    ),
    Feature(
        "stroke that does not scale, with a gradient",
        '<linearGradient id="g"><stop stop-color="#369"/><stop offset="1" stop-color="#fc6"/></linearGradient><rect x="1" y="1" width="5" height="3" fill="url(#g)" stroke="#963" stroke-width="6" transform="scale(8)" vector-effect="non-scaling-stroke"/>',
        equal=f'<linearGradient id="g"><stop stop-color="#369"/><stop offset="1" stop-color="#fc6"/></linearGradient><rect x="8" y="8" width="40" height="24" fill="url(#g)" stroke="#963" stroke-width="{6 * 25.4 / 96}"/>',
    ),
    Feature(
        "stroke that does not scale, where there is none",
        '<rect x="1" y="1" width="5" height="3" fill="#369" transform="scale(8)" vector-effect="non-scaling-stroke"/>',
    ),
]

_REM = 'font-size="4"'
_UNITS = [
    Feature(
        "root em",
        '<g font-size="20"><rect x="2rem" y="2rem" width="10rem" height="6rem" fill="#369"/></g>',
        f'{_SIZE} viewBox="0 0 60 40" {_REM}',
        equal='<rect x="8" y="8" width="40" height="24" fill="#369"/>',
    ),
    Feature(
        "root em where the page says nothing",
        '<g font-size="2"><rect x=".625rem" y="8" width="2.5rem" height="1.5rem" fill="#369"/></g>',
        equal='<rect x="10" y="8" width="40" height="24" fill="#369"/>',
    ),
    Feature(
        "root em in type",
        '<g font-size="30" font-family="Kalam"><text x="5" y="25" font-size="1rem">Leaf</text></g>',
        equal='<text x="5" y="25" font-size="16" font-family="Kalam">Leaf</text>',
    ),
    Feature(
        "em in the font size of a group in em",
        '<g font-size="2"><g font-size="2em"><rect x="2.5em" y="2em" width="10em" height="6em" fill="#369"/></g></g>',
    ),
    Feature(
        "ex", '<g font-size="8"><rect x="2ex" y="2ex" width="10ex" height="6ex" fill="#369"/></g>'
    ),
    # CSS Values 4, 6.1.1: half an em where the width of a nought is not known.
    Feature(
        "ch",
        '<g font-size="8"><rect x="2ch" y="2ch" width="10ch" height="6ch" fill="#369"/></g>',
        equal='<rect x="8" y="8" width="40" height="24" fill="#369"/>',
    ),
    # CSS Values 4, 6.1.2: shares of the page (60 × 40 mm) in CSS pixels, that is in user units.
    Feature(
        "shares of the page's width and height",
        '<rect x="5vw" y="5vh" width="20vw" height="15vh" fill="#369"/>',
        equal=f'<rect x="{3 * 96 / 25.4}" y="{2 * 96 / 25.4}" width="{12 * 96 / 25.4}" height="{6 * 96 / 25.4}" fill="#369"/>',
    ),
    Feature(
        "mask's area in shares of the page",
        '<mask id="m" maskUnits="userSpaceOnUse" x="2vw" y="2vh" width="10vw" height="10vh"><rect width="60" height="40" fill="#fff"/></mask><rect width="60" height="40" fill="#369" mask="url(#m)"/>',
        equal=f'<rect x="{1.2 * 96 / 25.4}" y="{0.8 * 96 / 25.4}" width="{6 * 96 / 25.4}" height="{4 * 96 / 25.4}" fill="#369"/>',
    ),
    Feature(
        "filter's area in shares of the page",
        '<filter id="f" filterUnits="userSpaceOnUse" x="2vw" y="2vh" width="10vw" height="10vh"><feFlood flood-color="#369"/></filter><rect width="9" height="9" filter="url(#f)"/>',
        equal=f'<filter id="f" filterUnits="userSpaceOnUse" x="{1.2 * 96 / 25.4}" y="{0.8 * 96 / 25.4}" width="{6 * 96 / 25.4}" height="{4 * 96 / 25.4}"><feFlood flood-color="#369"/></filter><rect width="9" height="9" filter="url(#f)"/>',
    ),
    Feature(
        "line in shares of the page",
        '<line x1="2vw" y1="2vh" x2="20vw" y2="10vh" stroke="#369" stroke-width="3"/>',
        equal=f'<line x1="{1.2 * 96 / 25.4}" y1="{0.8 * 96 / 25.4}" x2="{12 * 96 / 25.4}" y2="{4 * 96 / 25.4}" stroke="#369" stroke-width="3"/>',
    ),
    Feature(
        "shares of the page's shorter and longer side",
        '<rect x="5vmin" y="5vmin" width="20vmax" height="15vmin" fill="#369"/>',
        equal=f'<rect x="{2 * 96 / 25.4}" y="{2 * 96 / 25.4}" width="{12 * 96 / 25.4}" height="{6 * 96 / 25.4}" fill="#369"/>',
    ),
    Feature(
        "quarters of a millimetre",
        '<rect x="10Q" y="8q" width="40Q" height="20Q" fill="#369"/>',
        equal=f'<rect x="{10 * 96 / 101.6}" y="{8 * 96 / 101.6}" width="{40 * 96 / 101.6}" height="{20 * 96 / 101.6}" fill="#369"/>',
    ),
    Feature(
        "units in capitals",
        '<rect x="10PX" y="2MM" width="1CM" height=".2IN" fill="#369"/>',
        equal='<rect x="10px" y="2mm" width="1cm" height=".2in" fill="#369"/>',
    ),
    Feature("per cent of a circle's room", '<circle cx="50%" cy="50%" r="25%" fill="#369"/>'),
    Feature("per cent of an ellipse", '<ellipse cx="50%" cy="50%" rx="40%" ry="30%" fill="#369"/>'),
    Feature(
        "per cent of a line",
        '<line x1="10%" y1="10%" x2="90%" y2="90%" stroke="#369" stroke-width="5%"/>',
    ),
    Feature(
        "per cent of corners",
        '<rect x="10%" y="10%" width="80%" height="80%" rx="20%" ry="10%" fill="#369"/>',
    ),
]

_GEOMETRY = [
    Feature(
        "rectangle by style",
        "<style>rect { x: 10px; y: 8px; width: 40px; height: 24px; rx: 6px; fill: #369 }</style><rect/>",
        equal=f'<rect {_BOX} rx="6" fill="#369"/>',
    ),
    Feature(
        "circle by style over its attributes",
        '<circle cx="5" cy="5" r="2" style="cx:30px;cy:20px;r:12px" fill="#369"/>',
        equal='<circle cx="30" cy="20" r="12" fill="#369"/>',
    ),
    Feature(
        "ellipse by style",
        '<ellipse style="cx:50%;cy:50%;rx:20px;ry:10px" fill="#369"/>',
        equal='<ellipse cx="30" cy="20" rx="20" ry="10" fill="#369"/>',
    ),
    Feature(
        "path by style",
        "<path d='M0 0h9v9z' style=\"d:path('M10 8h40v24z')\" fill=\"#369\"/>",
        equal='<path d="M10 8h40v24z" fill="#369"/>',
    ),
    Feature(
        "path by style that is none",
        f'<path d="M0 0h60v40z" style="d:none"/>{_GREEN}',
        equal=_GREEN,
    ),
    Feature(
        "radii by style that are automatic",
        f'<rect {_BOX} rx="4" style="ry:auto" fill="#369"/>',
        equal=f'<rect {_BOX} rx="4" fill="#369"/>',
    ),
    Feature(
        "width by style that is automatic",
        f'<rect {_BOX} style="width:auto" fill="red"/>{_GREEN}',
        equal=_GREEN,
    ),
    # SVG 2, 7.12 and 8.9: x and y of text and x1 to y2 of a line are not properties.
    Feature(
        "what is no property stays an attribute",
        '<style>text { x: 40; y: 5 } line { x1: 0; y2: 0 }</style><text x="5" y="25" font-family="Kalam" font-size="14">Leaf</text><line x1="5" y1="30" x2="55" y2="30" stroke="#369" stroke-width="3"/>',
    ),
    Feature(
        "nested drawing by style",
        '<svg style="x:10px;y:8px;width:40px;height:24px"><rect width="100%" height="100%" fill="#369"/></svg>',
        equal=f'<rect {_BOX} fill="#369"/>',
    ),
    Feature(
        "use by style",
        '<defs><rect id="r" width="20" height="12" fill="#369"/></defs><use href="#r" style="x:20px;y:10px"/>',
        equal='<rect x="20" y="10" width="20" height="12" fill="#369"/>',
    ),
    Feature(
        "page keeps the size its attributes say",
        "<style>svg { width: 100%; height: auto; max-width: 50px }</style>" + _GREEN,
    ),
]

_OTHERS = [
    Feature(
        "display none, and visible inside",
        f'<g display="none"><rect width="60" height="40" display="inline" visibility="visible"/></g>{_GREEN}',
    ),
    Feature(
        "display of every other kind",
        '<g fill="#369"><rect x="5" y="8" width="8" height="24" display="block"/><rect x="15" y="8" width="8" height="24" display="inline-block"/><rect x="25" y="8" width="8" height="24" style="display:flex"/><rect x="35" y="8" width="8" height="24" style="display:contents"/></g>',
        equal='<g fill="#369"><rect x="5" y="8" width="8" height="24"/><rect x="15" y="8" width="8" height="24"/><rect x="25" y="8" width="8" height="24"/></g>',
    ),
    Feature(
        "display none in capitals with room",
        f'<rect width="60" height="40" style="display: NONE "/>{_GREEN}',
        equal=_GREEN,
    ),
    Feature(
        "display none on what is in definitions does not count twice",
        '<defs display="none"><rect id="r" width="20" height="24" fill="#369"/></defs><use href="#r" x="20" y="8"/>',
    ),
    Feature(
        "display none on a clip, which counts all the same",
        '<clipPath id="c" display="none"><circle cx="30" cy="20" r="12"/></clipPath><rect width="60" height="40" fill="#369" clip-path="url(#c)"/>',
    ),
    Feature(
        "display none on a gradient, which counts all the same",
        f'<linearGradient id="g" display="none"><stop stop-color="#369"/><stop offset="1" stop-color="#fc6"/></linearGradient><rect {_BOX} fill="url(#g)"/>',
    ),
    Feature(
        "visible tspan in a hidden text",
        '<text x="5" y="25" font-family="Kalam" font-size="14" visibility="hidden">In <tspan visibility="visible">leaf</tspan></text>',
    ),
    Feature(
        "tspan that is not displayed takes no room",
        '<text x="5" y="25" font-family="Kalam" font-size="14">In<tspan display="none"> the</tspan> leaf</text>',
    ),
    Feature(
        "hidden with its opacity",
        f'<g visibility="hidden" opacity=".5"><rect {_BOX} fill="#369" visibility="visible"/></g>',
    ),
    Feature("link around shapes", f'<a href="https://example.org" fill="#369">{_TWO}</a>'),
    Feature(
        "link in a link and a group",
        f'<g fill="#369"><a><g><a transform="translate(0 3)">{_TWO}</a></g></a></g>',
    ),
    Feature(
        "link in a text, in the paint of the link",
        '<text x="5" y="25" font-family="Kalam" font-size="14">A <a fill="#369"><tspan>leaf</tspan></a></text>',
    ),
    Feature(
        "element that nobody knows is passed over with all in it",
        f'<leaf><rect width="60" height="40"/></leaf>{_GREEN}',
        equal=_GREEN,
    ),
    Feature(
        "element that nobody knows in a group",
        f'<g><glitter amount="5"/><rect {_BOX} fill="#383"/><unknown>words</unknown></g>',
    ),
    Feature(
        "element of another namespace is passed over with all in it",
        f'<x:leaf xmlns:x="http://example.org/x"><rect width="60" height="40"/></x:leaf>{_GREEN}',
    ),
    Feature(
        "element of no namespace is passed over",
        f'<rect xmlns="" width="60" height="40"/>{_GREEN}',
    ),
    Feature(
        "elements with a prefix",
        f'<s:g xmlns:s="http://www.w3.org/2000/svg"><s:rect {_BOX} fill="#369"/></s:g>',
    ),
    Feature(
        "attributes of another namespace say nothing",
        f'<rect {_BOX} fill="#369" x:fill="red" xmlns:x="http://example.org/x"/>',
    ),
    Feature(
        "link with another prefix",
        '<defs><rect id="r" width="20" height="12" fill="#369"/></defs><use xmlns:l="http://www.w3.org/1999/xlink" l:href="#r" x="20" y="10"/>',
    ),
    Feature(
        "base of links says nothing of those within the file",
        '<g xml:base="http://example.org/"><defs><rect id="r" width="20" height="12" fill="#369"/></defs><use href="#r" x="20" y="10"/></g>',
        equal='<rect x="20" y="10" width="20" height="12" fill="#369"/>',
    ),
    Feature(
        "white space that is kept",
        '<text x="5" y="25" font-family="Kalam" font-size="10" xml:space="preserve">a   leaf</text>',
    ),
    Feature(
        "title, description and metadata are not drawn",
        f'<title>Leaf</title><desc>A <b xmlns="http://www.w3.org/1999/xhtml">leaf</b></desc><metadata><rect width="60" height="40"/></metadata><g><title>Box</title>{_GREEN}</g>',
    ),
    Feature(
        "title in a shape and in a text",
        f'<rect {_BOX} fill="#fc6"><title>Box</title></rect><text x="12" y="25" font-family="Kalam" font-size="14"><title>no</title>Leaf<desc>no</desc></text>',
    ),
    Feature(
        "shapes in shapes are not drawn",
        f'<rect {_BOX} fill="#383"><circle cx="30" cy="20" r="20"/></rect>',
    ),
    Feature(
        "shapes in a text are not drawn",
        '<text x="5" y="25" font-family="Kalam" font-size="14">Leaf<rect width="60" height="40"/></text>',
    ),
    Feature(
        "definitions in definitions in a group",
        '<g><defs><g><defs><rect id="r" width="20" height="12" fill="#369"/></defs></g></defs></g><use href="#r" x="20" y="10"/>',
    ),
    Feature(
        "gradient in a group that is not displayed",
        f'<g display="none"><linearGradient id="g"><stop stop-color="#369"/><stop offset="1" stop-color="#fc6"/></linearGradient></g><rect {_BOX} fill="url(#g)"/>',
    ),
    Feature("script is not run", f"<script>document.documentElement.remove()</script>{_GREEN}"),
    Feature(
        "view and cursor are passed over",
        f'<view id="v" viewBox="0 0 5 5"/><cursor id="c" x="1" y="1"/>{_GREEN}',
    ),
    Feature("words between shapes are not drawn", f"leaf {_GREEN} leaf <g>leaf</g>"),
    Feature("comments and instructions between shapes", f"<!-- leaf -->{_GREEN}<?leaf green?>"),
    Feature("group with nothing in it", f"<g/><g><g/></g>{_GREEN}"),
    Feature(
        "solid colour by reference",
        f'<solidColor id="s" solid-color="#369"/><rect {_BOX} fill="url(#s) #369"/>',
        equal=f'<rect {_BOX} fill="#369"/>',
    ),
    Feature(
        "ids with spaces, dots and letters of all kinds",
        '<linearGradient id="Blätter 1.5"><stop stop-color="#369"/><stop offset="1" stop-color="#fc6"/></linearGradient>'
        f"<rect {_BOX} fill=\"url('#Blätter 1.5')\"/>",
    ),
    Feature(
        "reference in quotes with room",
        f"<linearGradient id='g'><stop stop-color='#369'/><stop offset='1' stop-color='#fc6'/></linearGradient><rect {_BOX} style='fill:url( \"#g\" )'/>",
    ),
    Feature(
        "properties in both forms on one element",
        f'<rect {_BOX} fill="red" style="fill:#369" class="nothing"/>',
    ),
    Feature(
        "isolation, which changes nothing alone",
        f'<g style="isolation:isolate" fill="#369">{_TWO}</g>',
    ),
    Feature(
        "background and pointers say nothing",
        f'<rect {_BOX} fill="#369" style="pointer-events:none;cursor:pointer;shape-rendering:crispEdges;user-select:none;will-change:transform"/>',
    ),
    Feature(
        "enable-background of old",
        f'<g enable-background="new 0 0 60 40"><rect {_BOX} fill="#369"/></g>',
    ),
]

PAGES: list[Feature] = [
    Feature(
        "style sheet with a child selector",
        '<style>g > rect { fill: #369 }</style><g><rect x="10" y="8" width="40" height="24"/></g>',
    ),
    *_USES, *_SYMBOLS, *_NESTED, *_ROOTS, *_CHOICES, *_SHEETS, *_VALUES, *_COLOURS, *_TRANSFORMS,
    *_UNSCALED, *_UNITS, *_GEOMETRY, *_OTHERS,
]  # fmt: skip

_R = '<rect width="9" height="9"/>'

REFUSALS: list[Refused] = [
    Refused("page that is turned", _R, "x", "a page that is turned", f'id="x" {SIZE} transform="rotate(5)"'),
    Refused("film", '<video id="x" width="9" height="9"/>', "x", "a film"),
    Refused("sound", '<audio id="x"/>', "x", "a sound"),
    Refused("drawing made by a script", '<canvas id="x" width="9" height="9"/>', "x", "a small program in the file paints"),
    Refused("page of the web", '<iframe id="x" width="9" height="9"/>', "x", "a web page inside"),
    Refused("shape that moves", '<rect width="9" height="9"><animate id="x" attributeName="x" to="9"/></rect>', "x", "an animation"),
    Refused("content of a browser", '<foreignObject id="x" width="9" height="9"/>', "x", "isn't a drawing"),
    Refused("place along a path", '<rect id="x" width="9" height="9" style="offset-path:path(\'M0 0h9\')"/>', "x", "moved along a path"),
    Refused("styles from another file", f'<style id="x">@import url("leaf.css");</style>{_R}', "x", "kept in another file"),
    Refused("styles for wide windows", f'<style id="x">@media (min-width: 9em) {{ rect {{ fill: red }} }}</style>{_R}', "x", "depends on the screen"),
    Refused("styles for what a browser can do", f'<style id="x">@supports (fill: red) {{ rect {{ fill: red }} }}</style>{_R}', "x", "depends on the screen"),
    Refused("styles in layers", f'<style id="x">@layer base {{ rect {{ fill: red }} }}</style>{_R}', "x", "depends on the screen"),
    Refused("styles within styles", f'<style id="x">g {{ rect {{ fill: red }} }}</style>{_R}', "x", "depends on the screen"),
    Refused("styles for wide windows within styles for paper", f'<style id="x">@media print {{ @media (min-width: 9em) {{ rect {{ fill: red }} }} }}</style>{_R}', "x", "depends on the screen"),
    Refused("colour of the system", '<rect id="x" width="9" height="9" fill="CanvasText"/>', "x", "isn't a colour"),
    Refused("colour of a space that printers have", '<rect id="x" width="9" height="9" style="fill:color(--press 0 1 0 0)"/>', "x", "isn't a colour"),
    Refused("colour mixed", '<rect id="x" width="9" height="9" style="fill:color-mix(in srgb, red, blue)"/>', "x", "isn't a colour"),
    Refused("colour in a style that nobody knows", '<rect id="x" width="9" height="9" style="fill:blurple"/>', "x", "'blurple' isn't a colour"),
    Refused("variable of the environment", '<rect id="x" height="9" style="width:env(--wide, 9px)"/>', "x", "kept as a formula"),
    Refused("arithmetic with angles in a length", '<rect id="x" height="9" style="width:calc(3px + 2deg)"/>', "x", "kept as a formula"),
    Refused("arithmetic that divides by nothing", '<rect id="x" height="9" style="width:calc(3px / 0)"/>', "x", "kept as a formula"),
    Refused("arithmetic that is not known", '<rect id="x" height="9" style="width:calc(round(2.5px) * 2)"/>', "x", "kept as a formula"),
    Refused("transform about the box of a stroke", '<rect id="x" width="9" height="9" style="transform:rotate(9deg);transform-box:stroke-box"/>', "x", "an unusual point"),
    Refused("transform with depth", '<rect id="x" width="9" height="9" style="transform:perspective(9px) rotateX(9deg)"/>', "x", "a transform"),
    Refused("transform with a number for an angle that is a length", '<rect id="x" width="9" height="9" style="transform:rotate(9px)"/>', "x", "a transform"),
    Refused("one language in a text", '<text font-family="Kalam">A <tspan id="x" systemLanguage="de">Blatt</tspan></text>', "x", "for one language"),
    Refused("one language in a pattern", '<pattern id="p" width="5" height="5" patternUnits="userSpaceOnUse"><rect id="x" width="3" height="5" systemLanguage="de"/></pattern><rect width="9" height="9" fill="url(#p)"/>', "x", "for one language"),
    Refused("stroke that does not scale in a pattern", '<pattern id="p" width="5" height="5" patternUnits="userSpaceOnUse"><path id="x" d="M0 0h9" stroke="red" vector-effect="non-scaling-stroke"/></pattern><rect width="9" height="9" fill="url(#p)"/>', "x", "does not scale"),
    Refused("stroke that does not scale in a marker", '<marker id="k" markerWidth="9" markerHeight="9"><path id="x" d="M0 0L5 5" stroke="red" vector-effect="non-scaling-stroke"/></marker><path d="M5 5L20 20" stroke="red" marker-end="url(#k)"/>', "x", "in a pattern, mask, marker or filter"),
    Refused("stroke that does not scale in a filter", '<defs><path id="x" d="M0 0L5 5" stroke="red" vector-effect="non-scaling-stroke"/></defs><filter id="f"><feImage href="#x"/></filter><path d="M5 5L20 20" stroke="red" filter="url(#f)"/>', "x", "in a pattern, mask, marker or filter"),
    Refused("stroke that does not scale, stretched, with markers", '<marker id="k"/><path id="x" d="M0 0h9v9" stroke="red" transform="scale(3 1)" vector-effect="non-scaling-stroke" marker-end="url(#k)"/>', "x", "on a stretched shape"),
    Refused("old clip of a pattern", '<pattern id="p" width="9" height="9" patternUnits="userSpaceOnUse" clip="rect(2 30 20 5)"><rect width="4" height="4"/></pattern><rect width="40" height="40" fill="url(#p)"/>', "p", "of an outdated kind"),
    Refused("palette of a colour font of one's own", '<text id="x" font-family="Kalam" style="font-palette:--mine">A</text>', "x", "a colour font in colours"),
    Refused("stroke that does not scale, stretched, with a gradient", '<linearGradient id="g"><stop/><stop offset="1" stop-color="red"/></linearGradient><path id="x" d="M0 0h9v9" fill="url(#g)" stroke="red" transform="scale(3 1)" vector-effect="non-scaling-stroke"/>', "x", "does not scale"),
    Refused("effect on vectors other than strokes", '<path id="x" d="M0 0h9" vector-effect="non-rotation"/>', "x", "a rule for how a shape"),
    Refused("thing from another file", '<use id="x" href="other.svg#leaf"/>', "x", "another file"),
    Refused("thing from another file by its address", '<use id="x" xlink:href="https://example.org/leaf.svg#leaf"/>', "x", "another file"),
    Refused("paint from another file", '<linearGradient id="x" href="other.svg#leaf"/><rect width="9" height="9" fill="url(#x)"/>', "x", "another file"),
]  # fmt: skip
