"""A template's text, and where in it each element and attribute stands, to the byte.

Lint reads drawings in their plain form; by this a message names the line in the file, and a repair
changes a few bytes and no others. A build stops at the first thing that the drawing engine refuses.
Lint wants them all, and the rest of the page besides: so each is taken out of a copy and listed.
"""

from __future__ import annotations

import contextlib
import copy
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple
from xml.parsers import expat

from lxml import etree

from pipeline.base.errors import UserError
from pipeline.fill.template import Template, TemplateFile, parsed_template, plain_template, tree_of
from pipeline.svg.refusals import PROPERTIES, VARIABLES, Found, reading, unsupported
from pipeline.svg.tree import lineage, remove, strip

NUMBER = "data-n"
"""An element's place among all of the file's elements, carried into the plain form."""

_NAME = re.compile(rb"<[^\s/>]+")
_ATTRIBUTE = re.compile(rb"\s+([^\s=>/]+)\s*=\s*(?:\"([^\"]*)\"|'([^']*)')")


class Span(NamedTuple):
    """A stretch of the file's bytes."""

    start: int
    end: int


class Edit(NamedTuple):
    """New bytes for a stretch of the file."""

    span: Span
    text: bytes


@dataclass(frozen=True)
class SourceText:
    """The bytes of a well-formed file, and at which byte and line each element's start tag is."""

    data: bytes
    tags: tuple[tuple[int, int], ...]

    @classmethod
    def of(cls, data: bytes) -> SourceText:
        """The source of a file; of what is not well formed, as far as it goes."""
        tags: list[tuple[int, int]] = []
        parser = expat.ParserCreate()
        parser.StartElementHandler = lambda _name, _attributes: tags.append(
            (parser.CurrentByteIndex, parser.CurrentLineNumber)
        )
        with contextlib.suppress(expat.ExpatError):  # who reads it as a template says what is wrong
            parser.Parse(data, True)
        return cls(data, tuple(tags))

    def line(self, number: int) -> int:
        """The line an element's start tag is on, from 1; 0 when it is not known."""
        return self.tags[number][1] if number < len(self.tags) else 0

    def value(self, number: int, attribute: str) -> Span | None:
        """Where an element's attribute has its value, quotes left out; None where it has none.

        >>> source = SourceText.of(b'<svg><g id="a"/></svg>')
        >>> source.value(1, "id"), source.value(0, "id")
        (Span(start=12, end=13), None)
        """
        at = self.name_end(number)
        while at is not None and (match := _ATTRIBUTE.match(self.data, at)):
            if match[1] == attribute.encode():
                return Span(*match.span(2 if match[2] is not None else 3))
            at = match.end()
        return None

    def name_end(self, number: int) -> int | None:
        """Where an element's name ends in its start tag; None where it is not known."""
        if number >= len(self.tags):
            return None
        name = _NAME.match(self.data, self.tags[number][0])
        return name.end() if name else None

    def edited(self, edits: Sequence[Edit]) -> bytes:
        """The file with these stretches changed and every other byte as it was."""
        data = self.data
        for (start, end), text in sorted(edits, key=lambda edit: edit.span)[::-1]:
            data = data[:start] + text + data[end:]
        return data


def with_numbers(file: TemplateFile) -> tuple[etree._Element, TemplateFile]:
    """A file's tree as it was written, and the file again with every element numbered.

    Raises UserError, naming the line, when it isn't SVG.
    """
    root = tree_of(file.name, file.data)
    for number, element in enumerate(root.iter()):
        element.set(NUMBER, str(number))
    return root, TemplateFile(file.path, bytes(etree.tostring(root)))


def number_of(element: etree._Element) -> int | None:
    """An element's number, or that of the nearest around it that has one."""
    numbers = (step.get(NUMBER) for step in lineage(element))
    return next((int(number) for number in numbers if number is not None), None)


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
