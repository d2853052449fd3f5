"""What prints, in ``docs/drawing.md``: by family, with what is refused and how many pages say so.

Counted from the lists of pages that the tests draw; ``make golden`` writes it anew.
``docs/pictures/what_prints.py`` draws the pictures.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from pipeline.base.errors import UserError
from pipeline.fill.template import TemplateFile, read_template
from pipeline.svg.refusals import Unsupported, every_feature
from tests.conftest import ROOT
from tests.draw.feature_pages import BROWSER_PAGES, PAGES, REFUSALS
from tests.draw.feature_samples import Feature, Refused
from tests.draw.test_excess import ABSURD, TOO_MUCH
from tests.draw.test_features import svg

GUIDE = ROOT / "docs" / "drawing.md"
PICTURES = ROOT / "docs" / "pictures"
HEADING, NEXT_HEADING = "### What prints\n", "### Soft effects\n"


class Family(NamedTuple):
    """What belongs together: its name, its parts of the feature pages, what the guide shows."""

    name: str
    parts: tuple[str, ...]
    shown: Mapping[str, str]
    """Captions, by the names of pages."""

    @property
    def picture(self) -> Path:
        return PICTURES / f"prints-{self.name.replace(' ', '-')}.png"

    @property
    def pages(self) -> list[Feature]:
        """What a second engine judges."""
        return [page for part in self.parts for page in PAGES[part]]

    @property
    def refusals(self) -> list[Refused]:
        return [fault for part in self.parts for fault in REFUSALS[part]]


FAMILIES = (
    Family("structure", ("structure",), {
        "use of a group that uses others": "copies of copies",
        "nested drawing, xMidYMax slice": "drawings in drawings, cut",
        "style: every second child": "style sheets",
        "colours and gradients by variables from a use": "variables",
        "colours: hues in degrees, turns, radians, gradians": "colours in every notation",
        "use with opacity of overlapping things": "a copy, half clear",
        "transform by style: all properties together": "CSS transforms",
        "stroke that does not scale, stretched": "strokes that do not scale",
    }),
    Family("shapes", ("shapes",), {
        "arcs of all four flags": "arcs",
        "smooth cubic curves, absolute": "smooth curves",
        "cubic curves, many after one letter": "curves in one path",
        "arcs, many after one letter": "half circles",
        "rounded rectangle dashed from where its upper edge starts": "round corners",
        "polyline that is filled": "polylines, filled",
        "points with round ends, said in every way": "points",
        "draws on from where a subpath closed, curves too": "paths of several parts",
    }),
    Family("painting", ("painting",), {
        "join: round": "round joins",
        "dashes around a closed path": "dashes",
        "dashes of nothing with round ends are dots": "dots",
        "star by both fill rules": "both fill rules",
        "text painted in the order: stroke": "stroke below the fill",
        "stroke in a gradient": "a stroke in a gradient",
        "markers on rectangles, circles and ellipses": "markers on all shapes",
        "marker in colours of its line": "markers in their line's colours",
    }),
    Family("paint servers", ("paint_servers",), {
        "linear gradient, spread by reflect, turned rotate(30)": "mirrored and turned",
        'radial gradient with a focus at fx="30%" fy="70%"': "a focus off the middle",
        "radial gradient that starts at a circle of three colours": "from a circle outwards",
        "many stops": "many stops",
        "gradient on text, in user units": "a gradient across a word",
        "pattern within a pattern, both turned": "a pattern in a pattern",
        "pattern with text": "words in a pattern",
        "pattern on text and its stroke": "a word in patterns",
    }),
    Family("masking", ("masking",), {
        "mask of greys that overlap": "a mask of greys",
        "mask of a gradient of colours": "a mask that fades",
        "mask of text": "a mask of letters",
        "clip by text": "a clip of letters",
        "clip by a polygon with a hole": "a clip with a hole",
        "blend mode multiply": "multiply",
        "blend mode screen": "screen",
        "blend with a gradient": "a gradient that blends",
    }),
    Family("filters", ("filters",), {
        "blur": "blur",
        "shadow": "shadow",
        "glow in a colour": "glow",
        "colours by a matrix": "changed colours",
        "shine": "shine",
        "tiles of 6 × 6": "tiles",
        "filter on a group with text": "a shadow of a group",
        "filter of a gradient and a pattern": "a shadow of patterns",
    }),
    Family("text", ("text", "text_on_paths"), {
        "small capitals": "small capitals",
        "textLength, letters stretched too": "stretched to a length",
        "wavy line": "lines of every look",
        "Arabic": "every script and direction",
        "stroke below the fill": "outlined letters",
        "dashes on letters": "dashed letters",
        "two text shadows": "shadows",
        "letters in a gradient turned": "letters turned",
        "text on a wave": "on a path",
        "text longer than its ring": "around a ring",
        "two columns": "in columns",
        "text in a shape to both sides": "flowed into a shape",
    }),
    Family("pictures", ("pictures",), {
        "PNG in the mode RGBA": "PNG, partly clear",
        "JPEG in inks": "JPEG in the inks of a press",
        "JPEG held in way 6": "turned as the camera says",
        "picture that lies xMidYMid in a high box": "fitted into a box",
        "picture turned and skewed": "turned and skewed",
        "picture clipped and turned": "clipped",
        "drawn picture with a pattern, a mask and a marker": "an SVG as a picture",
        "drawn picture within a drawn picture": "pictures in pictures",
    }),
    Family("slips and excess", ("robust",), {}),
)  # fmt: skip
"""The last is of what nobody draws on purpose, and has no picture."""

_INTRO = """\
{pages:,} small drawings of our own, each of one feature, are drawn whenever the program is tested.
resvg, a second engine, draws {judged:,} of them from the same file, and must agree. Where it lacks
a feature it draws the same thing said in plainer SVG, or a browser prints the page. {refused} more
drawings must be refused by name. A page that comes out otherwise, or stops the program, fails a
test: none does.

| family | as resvg draws it | as its plain form, or a browser | refused by name |
| --- | --: | --: | --: |"""


def section() -> str:
    """The whole section, as it is to stand in the guide."""
    counts = {family.name: _counts(family) for family in FAMILIES}
    same, otherwise, refused = map(sum, zip(*counts.values(), strict=True))
    intro = _INTRO.format(pages=same + otherwise, judged=same, refused=refused)
    rows = [f"| {name} | {' | '.join(map(str, counted))} |" for name, counted in counts.items()]
    rows.append(f"| **all** | **{same:,}** | **{otherwise}** | **{refused}** |")
    of_rules = rules()
    families = "\n".join("\n".join(_of_family(each, of_rules[each.name])) for each in FAMILIES)
    return "\n".join([HEADING, intro, *rows, "", families + "\n"])


def _counts(family: Family) -> tuple[int, int, int]:
    """How many pages resvg draws as they are, how many are judged otherwise, how many refused."""
    plain = sum(bool(page.equal) for page in family.pages)
    browser = len(BROWSER_PAGES) if family.name == "text" else 0
    return len(family.pages) - plain, plain + browser, len(family.refusals)


def _of_family(family: Family, refused: list[str]) -> Iterator[str]:
    yield f"**{family.name[0].upper()}{family.name[1:]}**\n"
    if family.shown:
        captions = ", ".join(family.shown.values())
        yield f"![{captions}](pictures/{family.picture.name})\n"
    if refused:
        yield f"Refused: {'; '.join(refused)}.\n"


def rules() -> dict[str, list[str]]:
    """What is refused of each family: each rule where most pages show it."""
    told: dict[Unsupported, Counter[str]] = {rule: Counter() for rule in every_feature()}
    for family in FAMILIES:
        for fault in family.refusals:
            told[_rule_of(fault)][family.name] += 1
    for rule, counter in told.items():
        counter[FAMILIES[-1].name] += sum(
            says in rule.what for _, says in (*TOO_MUCH.values(), *ABSURD.values())
        )
    found: dict[str, list[str]] = {family.name: [] for family in FAMILIES}
    for rule, counter in told.items():
        name, most = counter.most_common(1)[0]
        assert most, f"no page shows: {rule.what}"
        found[name].append(rule.what)
    return found


def _rule_of(fault: Refused) -> Unsupported:
    """The rule that a page is refused by."""
    try:
        read_template(TemplateFile(Path("sample.svg"), svg(fault.content, fault.size)))
    except UserError as refused:
        told, remedy = refused.what, refused.remedy
    else:
        raise AssertionError(f"{fault.name} is not refused")
    rules = [rule for rule in every_feature() if told.endswith(rule.why) and rule.remedy == remedy]
    return next((rule for rule in rules if rule.what in told), rules[0])
