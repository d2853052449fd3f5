"""TOML files the user writes: read, checked against a pydantic model, errors in one plain line."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, get_args

import tomli
from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic_core import ErrorDetails

from pipeline.base.errors import UserError, did_you_mean, unprintable
from pipeline.base.folders import check_file

if TYPE_CHECKING:
    from tree_sitter import Node

Model = TypeVar("Model", bound=BaseModel)
_CURLY = str.maketrans(dict.fromkeys("“”„‟", '"'))
"""Quotes that word processors make of straight ones."""

Location = Sequence[str | int]
"""The path of keys and list positions (from 0) to a field."""


class TomlTable(BaseModel):
    """A table of a TOML file: every value of its field's type, and no fields besides."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, allow_inf_nan=False)


@dataclass(frozen=True)
class TomlFile:
    """A parsed TOML file that can say on which line a field stands."""

    path: Path
    text: str
    data: Mapping[str, Any]

    @cached_property
    def _places(self) -> _Places:
        return _Places(self.text)

    def error(self, location: Location, what: str, remedy: str = "") -> UserError:
        """A ``UserError`` about the field at ``location``, or the table that should hold it."""
        line = self._places.line_of(location)
        field = _dotted(self.data, location)
        return UserError(str(self.path), what, remedy, line=line, field=field)

    def validated(self, model: type[Model]) -> Model:
        """The file's data as ``model``.

        Raises ``UserError`` for the first field that is wrong.
        """
        try:
            return model.model_validate(dict(self.data))
        except ValidationError as problem:
            details = problem.errors(include_url=False)
            # An unknown field often explains a missing one: it is the same field, misspelt.
            first = next((d for d in details if d["type"] == "extra_forbidden"), details[0])
            raise self.error(first["loc"], *_in_plain_words(first, model)) from None


def read_toml(path: Path) -> TomlFile:
    """Read ``path`` as TOML.

    Raises ``UserError`` when it cannot be read, or with the line where it is not TOML.
    """
    check_file(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        others = sorted(p.name for p in path.parent.glob("*.toml"))
        remedy = did_you_mean(path.name, others) if others else "check the path"
        raise UserError(str(path), "there is no such file", remedy) from None
    except UnicodeDecodeError:
        raise UserError(str(path), "is not UTF-8 text", "save it as UTF-8") from None
    except OSError as problem:
        reason = (problem.strerror or str(problem)).lower()
        raise UserError(str(path), f"cannot be read: {reason}") from None
    try:
        return _with_texts_that_print(TomlFile(path, text, tomli.loads(text)))
    except RecursionError:
        what = "has brackets within brackets within brackets without an end"
        raise UserError(str(path), what, "take them out") from None
    except tomli.TOMLDecodeError as problem:
        if (straight := straightened(text)) != text:
            return _with_texts_that_print(TomlFile(path, straight, tomli.loads(straight)))
        line = min(problem.lineno, text.rstrip().count("\n") + 1)
        field, second, first = _Places(text).again or ("", line + 1, 0)
        if second <= line:
            what = f"is given twice, first on line {first}"
            remedy = "keep one of the two"
            raise UserError(str(path), what, remedy, line=second, field=field) from None
        raise UserError(
            str(path),
            f"not valid TOML: {problem.msg[:1].lower()}{problem.msg[1:]}",
            "look for a missing quote, bracket or comma on this line or the one before it",
            line=line,
        ) from None


def _with_texts_that_print(file: TomlFile) -> TomlFile:
    """The file itself; raises UserError where a text has a sign in it that no page can show."""
    places: list[tuple[tuple[str | int, ...], Any]] = [((), file.data)]
    while places:
        at, value = places.pop()
        if isinstance(value, str) and (sign := unprintable(value)):
            what = f"has a sign in it that nothing can show ({sign})"
            raise file.error(at, what, "write the text anew")
        if isinstance(value, Mapping):
            for key in value:
                if sign := unprintable(key):
                    what = f"has a field with a sign in its name that nothing can show ({sign})"
                    raise file.error(at, what, "take it out")
            places += [((*at, key), inner) for key, inner in value.items()]
        elif isinstance(value, list):
            places += [((*at, number), inner) for number, inner in enumerate(value)]
    return file


def check_prints(path: Path, text: str) -> None:
    """Raises UserError, naming the line, for a text with a sign in it that no page can show."""
    if sign := unprintable(text):
        lines = enumerate(text.splitlines(), 1)
        line = next((number for number, one in lines if unprintable(one)), 0)
        what = f"has a sign in it that nothing can show ({sign})"
        raise UserError(str(path), what, "take it out", line=line)


def rows_of(path: Path, text: str) -> Iterator[tuple[int, list[str]]]:
    """The rows of a table saved as CSV that say something, each with its line in the file.

    In many countries spreadsheets part columns by semicolons, as they write numbers with commas.
    Raises UserError, naming the line, for signs that no page can show.
    """
    check_prints(path, text)
    return parted_rows(path, text)


def parted_rows(path: Path, text: str) -> Iterator[tuple[int, list[str]]]:
    """The same, whatever signs are in it."""
    head = text.partition("\n")[0]
    parted_by = ";" if ";" in head and "," not in head else ","
    rows = csv.reader(io.StringIO(text), delimiter=parted_by)
    try:
        for row in rows:
            cells = [cell.strip() for cell in row]
            if any(cells):
                yield rows.line_num, cells
    except csv.Error as problem:
        what, remedy = f"isn't a table ({problem})", "save it again as CSV, UTF-8"
        raise UserError(str(path), what, remedy, line=rows.line_num + 1) from None


def straightened(text: str) -> str:
    """A text that is TOML once its quotes are straight, with such; any other as it is.

    >>> straightened('a = “b”'), straightened('a = "“b”"'), straightened('a = ”')
    ('a = "b"', 'a = "“b”"', 'a = ”')
    """
    straight = text.translate(_CURLY)
    for each in (text, straight):
        with suppress(tomli.TOMLDecodeError):
            tomli.loads(each)
            return each
    return text


class _Places:
    """On which line (from 1) each field of a TOML text stands.

    ``again`` is the first field or table that is given a second time, that line and its first.

    Where a text is not quite TOML, the places of what can be made out.

    >>> places = _Places('[a]\\nb = 1\\n[[set]]\\nuse = 2\\n[[set]]\\nuse = [\\n3]\\nuse = 4\\n')
    >>> places.line_of(("a", "b")), places.line_of(("set", 1, "use", 0)), places.line_of(("c",))
    (2, 7, 0)
    >>> places.again
    ('use', 8, 6)
    """

    def __init__(self, text: str) -> None:
        import tree_sitter
        import tree_sitter_toml

        self.again: tuple[str, int, int] | None = None
        self._lines: dict[tuple[str | int, ...], int] = {}
        self._given: set[tuple[str | int, ...]] = set()
        self._listed: dict[tuple[str | int, ...], int] = {}
        language = tree_sitter.Language(tree_sitter_toml.language())
        for node in tree_sitter.Parser(language).parse(text.encode()).root_node.named_children:
            self._read(node, ())

    def line_of(self, location: Location) -> int:
        """The line of a field, or of the innermost table on the way to it; 0 where neither is."""
        ways = (tuple(location[:length]) for length in range(len(location), 0, -1))
        return next((self._lines[way] for way in ways if way in self._lines), 0)

    def _read(self, node: Node, at: tuple[str | int, ...]) -> None:
        """Takes down a value or table at ``at``, or a pair or headed table within it."""
        if node.type == "array":
            values = [child for child in node.named_children if child.type != "comment"]
            for position, value in enumerate(values):
                self._lines[*at, position] = value.start_point.row + 1
                self._read(value, (*at, position))
        elif node.type == "inline_table":
            for pair in node.named_children:
                self._read(pair, at)
        elif node.type in ("pair", "table", "table_array_element"):
            key, *inside = node.named_children
            place = self._place(node, key, at)
            for child in inside:
                self._read(child, place)

    def _place(self, node: Node, key: Node, at: tuple[str | int, ...]) -> tuple[str | int, ...]:
        """Where a pair or headed table stands, which is taken down."""
        line = key.start_point.row + 1
        names = list(_names(key))
        for name in names:
            if at in self._listed:  # a header's way leads through the last table of a list
                at = (*at, self._listed[at])
            at = (*at, name)
            self._lines.setdefault(at, line)
        if node.type == "table_array_element":
            self._listed[at] = self._listed.get(at, -1) + 1
            at = (*at, self._listed[at])
            self._lines[at] = line
        elif at in self._given:
            self.again = self.again or (".".join(names), line, self._lines[at])
        self._given.add(at)
        return at


def _names(key: Node) -> Iterator[str]:
    """The names of a key, dotted or not."""
    if key.type == "dotted_key":
        for part in key.named_children:
            yield from _names(part)
    else:
        yield (key.text or b"").decode().strip("\"'")


def _dotted(data: Mapping[str, Any], location: Location) -> str:
    """The field for people: list entries by their name, or counted from 1."""
    words: list[str] = []
    here: Any = data
    for part in location:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            here = None
        if isinstance(part, int):
            name = here.get("name") if isinstance(here, Mapping) else None
            words.append(name if isinstance(name, str) and name else str(part + 1))
        else:
            words.append(part)
    return ".".join(words)


_PLAIN = {
    "missing": ("is missing", "add it"),
    "too_short": ("is empty", "give at least one"),
    "string_too_short": ("is empty", "give at least one"),
    "string_type": ("must be a text in quotes", ""),
    "float_type": ("must be a number", ""),
    "int_type": ("must be a whole number", ""),
    "bool_type": ("must be true or false", ""),
    "tuple_type": ("must be a list in square brackets", ""),
    "list_type": ("must be a list in square brackets", ""),
    "date_type": ("must be a date such as 2027-03-01, without quotes", ""),
    "model_type": ("must be a table of fields", ""),
    "dict_type": ("must be a table of fields", ""),
    "finite_number": ("must be a finite number", ""),
}
"""What and remedy for pydantic's errors, by their type."""

_BOUNDS = {
    "greater_than": ("must be more than", "gt"),
    "greater_than_equal": ("must be at least", "ge"),
    "less_than": ("must be less than", "lt"),
    "less_than_equal": ("must be at most", "le"),
}


def _in_plain_words(problem: ErrorDetails, model: type[BaseModel]) -> tuple[str, str]:
    """What and remedy for one of pydantic's errors."""
    kind, given, location = problem["type"], problem["input"], problem["loc"]
    context = problem.get("ctx", {})
    if kind == "extra_forbidden":
        fields = _fields_at(model, location[:-1])
        return "there is no such field", did_you_mean(str(location[-1]), fields)
    if kind == "literal_error":
        options = re.findall(r"'([^']*)'", context["expected"])
        return f"'{given}' isn't a valid choice", did_you_mean(str(given), options)
    if kind == "value_error":
        what, *remedy = context["error"].args
        return what, "".join(remedy)
    if kind in _BOUNDS:
        words, bound = _BOUNDS[kind]
        return f"is {given} and {words} {context[bound]:g}", ""
    return _PLAIN.get(kind) or (problem["msg"][:1].lower() + problem["msg"][1:], "")


def _fields_at(model: type[BaseModel], location: Location) -> list[str]:
    """The fields of the table at ``location``, by the names a file gives them."""
    for part in location:
        found = (f for name, f in model.model_fields.items() if (f.alias or name) == part)
        field = next(found, None)  # none for a place in a list and for names of a table's own
        model = (field and _model_in(field.annotation)) or model
    return [field.alias or name for name, field in model.model_fields.items()]


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The model inside ``list[Model]``, ``dict[str, Model]`` or ``Model | None``."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next(filter(None, map(_model_in, get_args(annotation))), None)
