"""Resolves a template's CSS into plain attributes, so that nothing after it needs CSS.

The order is CSS's own: attributes, then style sheets by specificity, then ``style``, then the
same again for declarations marked important. Variables are put in, units that go by the page or
its type are worked out, and so is all arithmetic that needs no more than that.
"""

from __future__ import annotations

import copy
import functools
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

import cssselect2
import tinycss2
from lxml import etree

from pipeline.base.geometry import NUMBER
from pipeline.svg.path import SHAPES
from pipeline.svg.transform import view_box
from pipeline.svg.tree import HREFS, SVG, by_id, href, strip
from pipeline.text.style import bracketed, computed, font_shorthand, font_size, length

_SHORT = {"marker": ("marker-start", "marker-mid", "marker-end")}
"""Short names of several properties that styles may set at once; attributes may not."""

_GEOMETRY: Mapping[str, frozenset[str]] = {
    **dict.fromkeys(("x", "y"), frozenset(("svg", "rect", "image", "use", "foreignObject"))),
    **dict.fromkeys(
        ("width", "height"), frozenset(("svg", "rect", "image", "use", "symbol", "foreignObject"))
    ),
    **dict.fromkeys(("rx", "ry"), frozenset(("rect", "ellipse"))),
    **dict.fromkeys(("cx", "cy"), frozenset(("circle", "ellipse"))),
    "r": frozenset(("circle",)),
    "d": frozenset(("path",)),
}
"""Attributes that are properties too, and of which elements (SVG 2, 7 and 9.3.2)."""

_NO_PROPERTIES = frozenset(
    ("id", "class", "points", "offset", "orient", "x1", "y1", "x2", "y2", "dx", "dy", "fx", "fy",
     "fr", "href")
)  # fmt: skip
"""Attributes that CSS cannot set, although they are written like properties."""

_NUMERIC = frozenset(
    ("opacity", "fill-opacity", "stroke-opacity", "stop-opacity", "stroke-width",
     "stroke-miterlimit", "stroke-dashoffset")
)  # fmt: skip
_TRANSFORMS = {"gradient": "gradientTransform", "pattern": "patternTransform"}
AS_WRITTEN = frozenset(
    ("id", "class", "style", "d", "points", "values", "font-family", "in", "in2", "result", *HREFS)
)
"""Attributes that are no CSS values."""

_CSS = re.compile(
    r"\b(?:var|calc|min|max|clamp)\(|\d(?:rem|[sld]?v(?:w|h|min|max|i|b))\b", re.IGNORECASE
)
_OF_PAGE = re.compile(
    rf"(?<![\w#.-])({NUMBER.pattern})(rem|[sld]?v(?:w|h|min|max|i|b))\b", re.IGNORECASE
)
_LAST_OF_UNITS = frozenset("mwhnxibMWHNXIB")
_WORD = re.compile(r"[A-Za-z-]+")
_LONGEST = 10_000
"""Signs that a value may have once its variables are put in (CSS Variables 1, 3.3)."""

_MOST_COPIES = 1_000
"""Copies of what is used with variables of another value."""

_Declared = dict[str, str]


def resolve_styles(root: etree._Element) -> None:
    """Turns every style rule and ``style`` attribute under ``root`` into attributes, in place.

    A style sheet with rules that cannot be read stays where it is, to be refused.
    """
    declared = _cascade(root)
    said = declared.get(root, {})
    units = _Units.of(root, said)
    no_variables: Mapping[str, str] = {}
    varying: set[etree._Element] = set()
    variables: dict[etree._Element, Mapping[str, str]] = {}
    any_variables = any(name.startswith("--") for each in declared.values() for name in each)
    for element in root.iter(etree.Element):
        known = no_variables
        if any_variables:
            parent = element.getparent()
            outer = no_variables if parent is None else variables[parent]
            known = variables[element] = _variables(outer, declared.get(element, {}))
        own = declared.get(element)
        for name, value in element.attrib.items():
            if ("(" in value or value[-1:] in _LAST_OF_UNITS) and _is_to_compute(name, value):
                if _is_property(str(name), element):
                    own = {str(name): str(value), **(own or {})}
                    declared[element] = own
                else:
                    element.set(name, _plain(str(name), str(value), known, units))
        if own:
            if any("var(" in value for value in own.values()):
                varying.add(element)
            _apply(element, own, known, units)
    if any_variables and varying:
        _copy_for_uses(root, declared, variables, varying, units)
    for element in declared:
        strip(element, "class", "font")
        if not bracketed(element.get("style") or ""):  # which is refused
            strip(element, "style")


def _is_to_compute(name: Any, value: Any) -> bool:
    """Whether an attribute has something in it that only style sheets had once."""
    key = str(name)
    if key in AS_WRITTEN or key[:5] == "data-" or not _CSS.search(str(value)):
        return False
    return not bracketed(str(value))


class _Units(NamedTuple):
    """What units that go by the page or its type are worth, in user units (CSS Values 4, 6.1)."""

    em: float
    width: float
    height: float

    @classmethod
    def of(cls, root: etree._Element, declared: Mapping[str, str]) -> _Units:
        """Those of a page, with what is declared for its root."""
        box = view_box(root.get("viewBox"))
        whole = box[2:] if box else (100.0, 100.0)
        width, height = (
            length(root.get(side), whole=own, default=own)
            for side, own in zip(("width", "height"), whole, strict=True)
        )
        return cls(
            font_size(declared.get("font-size") or root.get("font-size"), 16.0), width, height
        )

    def put_into(self, value: str) -> str:
        """A value with such units written out in user units."""
        return _OF_PAGE.sub(self._written, value)

    def _written(self, found: re.Match[str]) -> str:
        unit = found[2].lower()
        whole = {
            "w": self.width, "i": self.width, "h": self.height, "b": self.height,
            "min": min(self.width, self.height), "max": max(self.width, self.height),
        }  # fmt: skip
        each = self.em if unit == "rem" else whole[unit.partition("v")[2]] / 100
        return f"{float(found[1]) * each:.9g}px"


# What is declared


def _cascade(root: etree._Element) -> dict[etree._Element, _Declared]:
    """What holds for each element of all that its style and the sheets declare, variables too."""
    sheets = list(root.iter(SVG + "style"))
    tries = _Tries()
    normal, important = _Matcher(tries), _Matcher(tries)
    ruled = False
    for sheet in sheets:
        parent = sheet.getparent()
        if parent is None or unread_rule(sheet) is not None:
            continue
        try:
            if _is_css(sheet) and _for_paper(sheet.get("media") or "all"):
                ruled |= _add_rules(_rules(sheet.text or ""), normal, important)
        except (RecursionError, MemoryError, SyntaxError):  # a selector that is too long
            sheet.set(_EXCESS, "")
            continue
        parent.remove(sheet)
    try:
        return _matched(root, (normal, important), tries, ruled=ruled)
    except _TooOftenError:
        root.append(etree.Element(SVG + "style", {_EXCESS: ""}))
        return {}


def _matched(
    root: etree._Element, matchers: Sequence[_Matcher], tries: _Tries, *, ruled: bool
) -> dict[etree._Element, _Declared]:
    """What sheets, if there are any, and elements themselves declare for each element.

    Raises _TooOftenError where it takes too many tries to find out.
    """
    if not ruled:
        return {
            element: {**plain, **urgent}
            for element in root.iter(etree.Element)
            if "style" in element.attrib or "font" in element.attrib or "class" in element.attrib
            for plain, urgent in [_own(element)]
        }
    found: dict[etree._Element, _Declared] = {}
    for wrapper in _wrappers(tries).from_xml_root(root).iter_subtree():
        element = wrapper.etree_element
        declared: _Declared = {}
        for matcher, own in zip(matchers, _own(element), strict=True):
            declared.update(pair for *_, pair in matcher.match(wrapper))
            declared.update(own)
        if declared or "style" in element.attrib or "class" in element.attrib:
            found[element] = declared
    return found


class _TooOftenError(Exception):
    """Selectors take too many tries."""


class _Tries:
    """How often selectors were tried on elements, and how far they looked around those."""

    def __init__(self) -> None:
        self._left = _MOST_TRIES

    def count(self, tries: int) -> None:
        """Counts some; raises _TooOftenError where there are none left."""
        self._left -= tries
        if self._left < 0:
            raise _TooOftenError


_MOST_TRIES = 2_000_000
_EXCESS = "data-excess"
"""Marks a style sheet that takes too long to apply, or has a selector too long to be read."""


class _Matcher(cssselect2.Matcher):  # type: ignore[misc]  # it has no types
    """Selectors by what they ask for, whose tries are counted."""

    def __init__(self, tries: _Tries) -> None:
        super().__init__()
        self._tries = tries

    def add_relevant_selectors(self, element: Any, selectors: Any, relevant_selectors: Any) -> None:
        """Adds those selectors that an element matches."""
        self._tries.count(len(selectors))
        super().add_relevant_selectors(element, selectors, relevant_selectors)


def _wrappers(tries: _Tries) -> Any:
    """A class of wrappers of elements whose looks at other elements are counted."""

    class Wrapper(cssselect2.ElementWrapper):  # type: ignore[misc]  # it has no types
        def __hash__(self) -> int:
            return hash(self.etree_element)

        @property
        def ancestors(self) -> Iterator[Any]:
            step = self.parent
            while step is not None:
                tries.count(1)
                yield step
                step = step.parent

        @property
        def previous_siblings(self) -> Iterator[Any]:
            step = self.previous
            while step is not None:
                tries.count(1)
                yield step
                step = step.previous

        @property
        def etree_siblings(self) -> list[Any]:
            tries.count(1 + len(self._siblings) // 10)
            return self._siblings

        @etree_siblings.setter
        def etree_siblings(self, siblings: list[Any]) -> None:
            self._siblings = siblings

        def iter_children(self) -> Iterator[Any]:
            for child in super().iter_children():
                tries.count(1)
                yield child

    return Wrapper


def unread_rule(sheet: etree._Element) -> str | None:
    """What of a style sheet cannot be read: the name of its first such rule, "brackets" or "too
    much"; None for nothing."""
    if _EXCESS in sheet.attrib:
        return "too much"
    if not _is_css(sheet):
        return None
    text = sheet.text or ""
    return "brackets" if bracketed(text) else _first_unread(_rules(text))


_PASSED_OVER = frozenset(
    ("charset", "namespace", "font-face", "page", "keyframes", "counter-style", "property",
     "font-feature-values", "font-palette-values", "view-transition")
)  # fmt: skip
"""Rules that say nothing of how elements of a page look, or (faces) are answered elsewhere."""


def _first_unread(rules: Iterable[Any]) -> str | None:
    for rule in rules:
        if rule.type == "qualified-rule":
            inner = tinycss2.parse_blocks_contents(rule.content)
            if any(each.type in ("qualified-rule", "at-rule") for each in inner):
                return "a rule in a rule"
        elif rule.type == "at-rule":
            keyword = rule.lower_at_keyword
            if keyword == "media":
                unread = _paper(tinycss2.serialize(rule.prelude)) is None
                found = "@media" if unread else _first_unread(_inner_rules(rule))
                if found is not None:
                    return found
            elif keyword not in _PASSED_OVER and not keyword.startswith("-"):
                return f"@{keyword}"
    return None


def _rules(text: str) -> list[Any]:
    rules: list[Any] = tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True)
    return rules


def _inner_rules(rule: Any) -> list[Any]:
    rules: list[Any] = tinycss2.parse_rule_list(
        rule.content or [], skip_comments=True, skip_whitespace=True
    )
    return rules


def _is_css(sheet: etree._Element) -> bool:
    return (sheet.get("type") or "text/css").partition(";")[0].strip().lower() in ("text/css", "")


def _for_paper(query: str) -> bool:
    return _paper(query) is True


_MEDIA = {
    "all": True, "print": True, "screen": False, "speech": False, "tv": False, "handheld": False,
    "projection": False, "braille": False, "embossed": False, "tty": False, "aural": False,
    "(prefers-color-scheme:dark)": False, "(prefers-color-scheme:light)": True,
}  # fmt: skip
"""Media, and what of them a page is: printed, on light paper (Media Queries 4, 2.3)."""


def _paper(queries: str) -> bool | None:
    """Whether media queries mean printed pages; None where that depends on more."""
    answers: list[bool | None] = []
    for query in queries.lower().split(","):
        words = re.sub(r"/\*.*?\*/|\s*([():])\s*", r"\1", query).replace(")and", ") and").split()
        turned = words[:1] == ["not"]
        known = [_MEDIA.get(word) for word in words if word not in ("only", "not", "and")]
        answer = False if False in known else None if None in known else True
        answers.append(answer if answer is None or not turned else not answer)
    return True if True in answers else None if None in answers else False


def _own(element: etree._Element) -> tuple[_Declared, _Declared]:
    """What an element's ``style`` declares, and what of it is important."""
    plain: _Declared = {}
    urgent: _Declared = {}
    style = element.get("style") or ""
    quickly = _declared_plainly(style)
    if quickly is not None:
        return quickly, urgent
    for name, value, important in _read_style(style):
        (urgent if important else plain)[name] = value
    return plain, urgent


@functools.lru_cache(maxsize=4096)
def _read_style(style: str) -> Sequence[tuple[str, str, bool]]:
    """What a ``style`` declares; nothing where it has too many brackets to be read."""
    if bracketed(style):
        return ()
    return tuple(_declarations(tinycss2.parse_blocks_contents(style)))


def are_plain(style: str) -> bool:
    """Whether a ``style`` has nothing but plain declarations, which are quickly read."""
    return _declared_plainly(style) is not None


_MOST_PLAIN = 1_000
"""Declarations in a ``style``; there are some hundred properties."""
_PLAIN = re.compile(
    r"\s*(-?[a-z][a-z-]*)\s*:\s*"
    r"(#[0-9a-f]+|[a-z][a-z-]*|-?(?:\d+(?:\.\d+)?|\.\d+)(?:%|px|mm|pt)?|url\(#[A-Za-z0-9_-]+\))\s*"
)
"""A declaration of one simple word, as editors write most."""


def _declared_plainly(style: str) -> _Declared | None:
    """What a ``style`` of plain declarations alone declares, without the parser that all CSS needs;
    None for any other."""
    found: _Declared = {}
    if style.count(";") > _MOST_PLAIN:
        return None
    for part in style.split(";"):
        said = _PLAIN.fullmatch(part)
        if said is not None:
            found.update(_written_out(said[1], said[2]))
        elif part and not part.isspace():
            return None
    return found


def _add_rules(
    rules: Iterable[Any],
    normal: cssselect2.Matcher,
    important: cssselect2.Matcher,
    spaces: dict[str | None, str] | None = None,
) -> bool:
    """Adds rules to matchers; tells whether there were any. ``spaces`` are namespaces by prefix."""
    spaces, any_rule = {} if spaces is None else spaces, False
    for rule in rules:
        if rule.type == "at-rule":
            _name_space(rule, spaces)
            if rule.lower_at_keyword == "media" and _for_paper(tinycss2.serialize(rule.prelude)):
                any_rule |= _add_rules(_inner_rules(rule), normal, important, spaces)
        if rule.type != "qualified-rule":
            continue
        try:
            selectors = cssselect2.compile_selector_list(rule.prelude, namespaces=spaces)
        except cssselect2.SelectorError:
            continue  # for a browser's eyes only, such as :hover in a vendor's syntax
        any_rule = True
        declarations = list(_declarations(tinycss2.parse_blocks_contents(rule.content)))
        for selector in selectors:
            if selector.pseudo_element is not None:
                continue
            for name, value, urgent in declarations:
                (important if urgent else normal).add_selector(selector, (name, value))
    return any_rule


def _name_space(rule: Any, spaces: dict[str | None, str]) -> None:
    if rule.lower_at_keyword != "namespace":
        return
    tokens = [each for each in rule.prelude if each.type not in ("whitespace", "comment")]
    prefix = tokens[0].value if tokens and tokens[0].type == "ident" else None
    for token in tokens[-1:]:
        for word in token.arguments if token.type == "function" else [token]:
            if word.type in ("string", "url"):
                spaces[prefix] = word.value


def _declarations(parsed: Iterable[Any]) -> Iterator[tuple[str, str, bool]]:
    for item in parsed:
        if item.type != "declaration":
            continue
        name = item.name if item.name.startswith("--") else item.lower_name
        value = tinycss2.serialize([each for each in item.value if each.type != "comment"]).strip()
        if value or name[:2] == "--":
            for each, own in _written_out(name, value):
                yield each, own, item.important


def _written_out(name: str, value: str) -> list[tuple[str, str]]:
    """A declaration, of a short name as those it stands for."""
    if name in _NUMERIC and "(" not in value and not _has_number(value):
        return []  # as if it were not there (CSS Syntax 3, 9)
    if name in ("stroke-width", "stroke-dashoffset"):
        value = value.removesuffix("px")  # which a number alone means as well
    return [(each, value) for each in _SHORT.get(name, (name,))]


def _has_number(value: str) -> bool:
    return NUMBER.match(value) is not None or value.lower() in KEYWORDS


KEYWORDS = frozenset(("inherit", "unset", "initial", "revert", "revert-layer"))
"""Words that every property takes (CSS Cascade 5, 7.3)."""


# What it comes to


def _variables(outer: Mapping[str, str], own: Mapping[str, str]) -> Mapping[str, str]:
    """The variables that hold within an element."""
    set_here = {name: value for name, value in own.items() if name.startswith("--")}
    if not set_here:
        return outer
    known = {**outer, **set_here}
    for name, value in set_here.items():
        whole = _put_in(value, known, frozenset((name,))) if "var(" in value else value
        if whole is None or value.lower() == "initial":
            known.pop(name, None)
        elif value.lower() in KEYWORDS:
            known.update({name: outer[name]} if name in outer else {})
        else:
            known[name] = whole
    return known


def _put_in(value: str, variables: Mapping[str, str], within: frozenset[str]) -> str | None:
    """A value with its variables put in; None where one is not there or goes round in a circle.

    Raises nothing: what grows too long counts as not there.
    """
    for _ in range(100):
        found = re.search(r"\bvar\(", value, re.IGNORECASE)
        if found is None:
            return value
        tokens = tinycss2.parse_component_value_list(value[found.start() :])
        call, rest = tokens[0], tinycss2.serialize(tokens[1:])
        name, _, fallback = tinycss2.serialize(call.arguments).partition(",")
        name = name.strip()
        said = None if name in within else variables.get(name)
        if said is not None and "var(" in said:
            said = _put_in(said, variables, within | {name}) if len(within) < 50 else None
        if said is None:
            if not _has_fallback(call):
                return None
            said = fallback.strip()
        value = value[: found.start()] + said + rest
        if len(value) > _LONGEST:
            return None
    return None


def _has_fallback(call: Any) -> bool:
    return any(each == "," for each in call.arguments)


def _apply(
    element: etree._Element, declared: _Declared, variables: Mapping[str, str], units: _Units
) -> None:
    """Sets what is declared for an element as its attributes."""
    tag = str(element.tag).removeprefix(SVG)
    declared = {
        name: _plain(name, value, variables, units)
        for name, value in declared.items()
        if not name.startswith("-")
    }
    shorthand = declared.pop("font", None) or element.get("font")
    if shorthand:
        declared = {**font_shorthand(str(shorthand)), **declared}
    _join_transforms(element, declared, tag)
    for name, value in declared.items():
        if name in _NO_PROPERTIES:
            continue
        if name in _GEOMETRY:
            if not _is_property(name, element) or (
                element.getparent() is None and element.get(name)
            ):
                continue
            value = _drawn(value) if name == "d" else value
            if value == "auto":
                strip(element, name)
                continue
        if name == "display" and value == "contents" and (tag in SHAPES or tag in _LONE):
            value = "none"  # CSS Display 3, appendix B
        element.set(name, value)


def _is_property(name: str, element: etree._Element) -> bool:
    """Whether style sheets have a say in an attribute of an element, as in a ``rect``'s width but
    not in a mask's (SVG 2, 7.1 and 13.2)."""
    if name in _NO_PROPERTIES:
        return False
    return name not in _GEOMETRY or str(element.tag).removeprefix(SVG) in _GEOMETRY[name]


_LONE = ("text", "image")


def _plain(name: str, value: str, variables: Mapping[str, str], units: _Units) -> str:
    """A declared value without variables, units of the page or arithmetic."""
    if "var(" in value:
        whole = _put_in(value, variables, frozenset())
        value = "unset" if whole is None else whole.strip()
    if name in AS_WRITTEN:
        return value
    if _WORD.fullmatch(value):
        return value.lower()
    if _CSS.search(value):
        value = computed(units.put_into(value))
    return value


def _drawn(value: str) -> str:
    """What ``d`` is as a property: ``path("…")`` (SVG 2, 9.3.2)."""
    call = re.fullmatch(r"""path\(\s*(["'])(.*)\1\s*\)""", value, re.DOTALL | re.IGNORECASE)
    return call[2] if call else "" if value == "none" else value


def _join_transforms(element: etree._Element, declared: _Declared, tag: str) -> None:
    """Makes one ``transform`` of four properties (CSS Transforms 2, 11)."""
    steps = [
        f"{name}({', '.join(declared[name].split())})"
        for name in ("translate", "rotate", "scale")
        if declared.get(name, "none") not in {"none", *KEYWORDS}
    ]
    steps = [step.replace("e(", "e3d(") if step.count(",") == 2 else step for step in steps]
    for name in ("translate", "rotate", "scale"):
        declared.pop(name, None)
    target = next((word for kind, word in _TRANSFORMS.items() if kind in tag.lower()), "transform")
    own = declared.pop("transform", element.get(target, "") if steps else None)
    if own is not None:
        declared[target] = " ".join([*steps, "" if own == "none" and steps else own]).strip()


def _copy_for_uses(
    root: etree._Element,
    declared: dict[etree._Element, _Declared],
    variables: dict[etree._Element, Mapping[str, str]],
    varying: set[etree._Element],
    units: _Units,
) -> None:
    """Gives a ``use`` with variables of another value a copy with that value to refer to."""
    known = by_id(root)
    copies = etree.Element(SVG + "defs")
    waiting = list(root.iter(SVG + "use"))
    for use in waiting:  # which grows as copies hold more
        shown = known.get(href(use).removeprefix("#"))
        parent = shown.getparent() if shown is not None else None
        if shown is None or parent is None or use in set(shown.iter()):
            continue
        if variables[use] == variables[parent] or varying.isdisjoint(shown.iter()):
            continue
        if len(copies) >= _MOST_COPIES:
            use.set("style", "var(")  # which is refused
            continue
        twin = copy.deepcopy(shown)
        twin.tail = None
        for one, original in zip(twin.iter(etree.Element), shown.iter(etree.Element), strict=True):
            above = one.getparent()
            outer = variables[use if one is twin or above is None else above]
            own = declared.get(original, {})
            variables[one] = _variables(outer, own)
            if original in varying:
                varying.add(one)
                declared[one] = own
                _apply(one, own, variables[one], units)
            if one.tag == SVG + "use":
                waiting.append(one)
        name = f"{shown.get('id')}-copy-{len(copies) + 1}"
        known[name] = twin
        twin.set("id", name)
        strip(use, *HREFS)
        use.set("href", f"#{name}")
        copies.append(twin)
    if len(copies):
        root.append(copies)
