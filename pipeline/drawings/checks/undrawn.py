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

_FUNCTION = re.compile(r"\b(?:var|calc|env|min|max|clamp)\(")


class Refused(NamedTuple):
    """Something that is not drawn: the element, what is wrong with it, and what to do."""

    element: etree._Element
    what: str
    remedy: str


def read_on(file: TemplateFile) -> tuple[Template, list[Refused]]:
    """The plain form of a numbered file without what is refused in it, and all that is.

    Raises UserError for a file that cannot be read at all.
    """
    root = parsed_template(file)
    for each in root.iter():
        if each.get("id") is None:  # so that an error can name those without one
            each.set("id", f"leafset-lint-{number_of(each)}")
    refused: list[Refused] = []
    with reading(file.name):
        unsuited = list(unsupported(root))
    for found in unsuited:
        what = f"{found.feature.what}: {found.feature.why}"
        refused.append(Refused(found.element, what, found.feature.remedy))
        _take_out(found)
    problems: list[UserError] = []
    template = plain_template(copy.deepcopy(root), file.path, problems)
    for problem in problems:
        element = next((each for each in root.iter() if each.get("id") == problem.element), None)
        if element is None or element is root:
            raise problem
        refused.append(Refused(element, problem.what, problem.remedy))
    return template, refused


def _take_out(found: Found) -> None:
    """Takes the refused property off an element, or the element out if it is refused itself."""
    element = found.element
    names = [name for name, rule in PROPERTIES.items() if rule.feature is found.feature]
    if found.feature is VARIABLES:
        names = [str(n) for n, value in element.attrib.items() if _FUNCTION.search(str(value))]
    if not names:
        remove(element)
        return
    strip(element, *names)
    if "style" in element.attrib:
        declarations = element.get("style", "").split(";")
        kept = [one for one in declarations if one.partition(":")[0].strip() not in names]
        element.set("style", ";".join(kept))
