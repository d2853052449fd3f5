"""Reads a drawing past what the drawing engine refuses, and lists each refused thing.

A build stops at the first of them. Lint wants them all, and the rest of the page besides: so each
is taken out of a copy and listed.
"""

from __future__ import annotations

import copy
import re
from typing import NamedTuple

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.drawings.checks.sourcetext import number_of
from pipeline.fill.template import Template, TemplateFile, parsed_template, plain_template
from pipeline.svg.refusals import PROPERTIES, VARIABLES, Found, reading, unsupported
from pipeline.svg.tree import remove, strip

_LENT = "leafset-lint-"
"""How ids begin that elements without one have while a page is read."""

_FUNCTION = re.compile(r"\b(?:var|calc|env|min|max|clamp)\(")


class Refused(NamedTuple):
    """Something that is not drawn: the element's number and id, what is wrong, and what to do."""

    number: int
    element: str
    what: str
    remedy: str


def read_on(file: TemplateFile) -> tuple[Template, list[Refused]]:
    """The plain form of a numbered file without what is refused in it, and all that is.

    Raises UserError for a file that cannot be read at all.
    """
    root = parsed_template(file)
    for each in root.iter():
        if each.get("id") is None:  # so that an error can name those without one
            each.set("id", f"{_LENT}{number_of(each)}")
    refused: list[Refused] = []
    with reading(file.name):
        unsuited = list(unsupported(root))
    for found in unsuited:
        what = f"{found.feature.what}: {found.feature.why}"
        refused.append(_refused(found.element, what, found.feature.remedy))
        _take_out(found)
    problems: list[UserError] = []
    template = plain_template(copy.deepcopy(root), file.path, problems)
    for problem in problems:
        element = next((each for each in root.iter() if each.get("id") == problem.element), None)
        if element is None or element is root:
            raise problem
        refused.append(_refused(element, problem.what, problem.remedy))
    for lent in template.root.iter():
        if (lent.get("id") or "").startswith(_LENT):
            strip(lent, "id")
    return template, refused


def _refused(element: etree._Element, what: str, remedy: str) -> Refused:
    current: etree._Element | None = element
    name = ""
    while current is not None and not name and current.getparent() is not None:
        name, current = current.get("id") or "", current.getparent()
        name = "" if name.startswith(_LENT) else name
    return Refused(number_of(element) or 0, name, f"will not be drawn: {what}", remedy)


def _take_out(found: Found) -> None:
    """Takes the refused property off an element, or the element out if it is refused itself."""
    element = found.element
    names = [name for name, rule in PROPERTIES.items() if rule.feature is found.feature]
    if found.feature is VARIABLES:
        names = [
            str(name) for name, value in element.attrib.items() if _FUNCTION.search(str(value))
        ]
    if not names:
        remove(element)
        return
    strip(element, *names)
    kept = [
        declaration
        for declaration in (element.get("style") or "").split(";")
        if declaration.partition(":")[0].strip() not in names
    ]
    if "style" in element.attrib:
        element.set("style", ";".join(kept))
