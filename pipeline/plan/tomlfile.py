"""TOML files the user writes: read, checked against a pydantic model, errors in one plain line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, NamedTuple, TypeVar, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from pipeline.base.errors import UserError
from pipeline.base.nearest import did_you_mean

Model = TypeVar("Model", bound=BaseModel)
Location = Sequence[str | int]

_LINE_IN_MESSAGE = re.compile(r"\s*\(at line (\d+), column \d+\)")


@dataclass(frozen=True)
class TomlFile:
    """A parsed TOML file that can say on which line a field stands."""

    path: Path
    text: str
    data: Mapping[str, Any]

    def where(self, location: Location = ()) -> str:
        """The file, the line if it can be found, and the dotted field."""
        line = line_of(self.text, location)
        parts = [str(self.path)]
        if line is not None:
            parts.append(f"line {line}")
        if location:
            parts.append(_dotted(self.data, location))
        return ", ".join(parts)

    def error(self, location: Location, what: str, remedy: str = "") -> UserError:
        """A ``UserError`` about the field at ``location``."""
        return UserError(self.where(location), what, remedy)

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
            location, what, remedy = _in_plain_words(first, model)
            raise self.error(location, what, remedy) from None


def read_toml(path: Path) -> TomlFile:
    """Read ``path`` as TOML.

    Raises ``UserError`` when it cannot be read, or with the line where it is not TOML.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        remedy = "check the path"
        if path.parent.is_dir():
            others = sorted(p.name for p in path.parent.glob("*.toml"))
            remedy = did_you_mean(path.name, others) if others else remedy
        raise UserError(str(path), "there is no such file", remedy) from None
    except UnicodeDecodeError:
        raise UserError(str(path), "is not UTF-8 text", "save it as UTF-8") from None
    except OSError as problem:
        reason = (problem.strerror or str(problem)).lower()
        raise UserError(str(path), f"cannot be read: {reason}") from None
    try:
        return TomlFile(path, text, tomllib.loads(text))
    except tomllib.TOMLDecodeError as problem:
        message = str(problem)
        at = _LINE_IN_MESSAGE.search(message)
        line = int(at[1]) if at else text.rstrip().count("\n") + 1
        again = "overwrite" in message or "twice" in message
        if again and (twice := _given_twice(text, line)):
            raise UserError(
                f"{path}, line {twice.line}, {twice.key}",
                f"is there twice: on line {twice.first} already",
                "keep one of the two",
            ) from None
        reason = _LINE_IN_MESSAGE.sub("", message).replace("(at end of document)", "").strip()
        reason = reason[:1].lower() + reason[1:]
        raise UserError(
            f"{path}, line {line}",
            f"not valid TOML: {reason}",
            "look for a missing quote, bracket or comma on this line or the one before it",
        ) from None


class _Twice(NamedTuple):
    """A field or a table that is given again: its name, on which line, and where it was first."""

    key: str
    line: int
    first: int


def _given_twice(text: str, line: int) -> _Twice | None:
    """What the line where a file stops being TOML, or a list ending there, gives a second time.

    >>> _given_twice('sow = "sow"\\npick = "pick"\\nsow = [\\n"sow it"]\\n', 4)
    _Twice(key='sow', line=3, first=1)
    """
    first: dict[str, int] = {}
    table, found = "", None
    for number, written in enumerate(text.splitlines()[:line], 1):
        if header := re.match(r"\s*\[([^\[\]]+)\]\s*(?:#.*)?$", written):
            table = key = header[1].strip()
        elif re.match(r"\s*\[\[", written):
            table, key = f"{number}", ""  # one of a list: its fields are its own
        elif field := re.match(r"\s*((?:[\w-]+|\"[^\"]*\"|'[^']*'|\s*\.\s*)+?)\s*=", written):
            key = re.sub(r"[\s\"']", "", field[1])
        else:
            continue
        place = table if header else f"{table}\n{key}"
        found = _Twice(key, number, first[place]) if place in first else None
        first.setdefault(place, number)
    return found


def line_of(text: str, location: Location) -> int | None:
    """The line (from 1) on which the field at ``location`` stands, where a plain search finds it.

    A location is the path of keys and list positions (from 0). Where the last part is not in the
    text, as for a missing field, the line of the table that should hold it.

    >>> line_of('name = "x"\\n[[set]]\\nname = "a"\\n[[set]]\\nname = "b"\\n', ("set", 1, "name"))
    5
    """
    found, start, end, rest = _table(text, list(location))
    position = start if found else None
    for part in rest:
        if isinstance(part, int):
            elements = [m.start() for m in re.finditer(r"[{]|\"[^\"\n]*\"", text[start:end])]
            braces = [m.start() for m in re.finditer(r"[{]", text[start:end])]
            choice = braces or elements
            if part >= len(choice):
                break
            start += choice[part]
            if braces and (close := text.find("}", start, end)) != -1:
                end = close
        else:
            key = re.compile(rf"(?m)(?:^[ \t]*|[{{,][ \t]*)(\"?){re.escape(part)}\1[ \t]*[=.]")
            match = key.search(text, start, end)
            if match is None:
                break
            start = match.start() + len(match[0]) - len(match[0].lstrip(" \t{,\n"))
        position = start
    return None if position is None else text.count("\n", 0, position) + 1


def _table(text: str, location: list[str | int]) -> tuple[bool, int, int, list[str | int]]:
    """The stretch of text of the innermost table header on the way to ``location``.

    Gives whether there is one, its start and end, and what is left of the location.
    """
    for length in range(len(location), 0, -1):
        *keys, last = location[:length]
        if isinstance(last, int) and len(keys) == 1:
            header = rf"(?m)^[ \t]*\[\[[ \t]*{re.escape(str(keys[0]))}[ \t]*\]\]"
            matches = list(re.finditer(header, text))
            if last < len(matches):
                start = matches[last].start()
                return True, start, _table_end(text, matches[last].end()), location[length:]
        elif not any(isinstance(part, int) for part in (*keys, last)):
            dotted = r"[ \t]*\.[ \t]*".join(rf"\"?{re.escape(str(k))}\"?" for k in (*keys, last))
            exact = re.search(rf"(?m)^[ \t]*\[[ \t]*{dotted}[ \t]*\]", text)
            match = exact or re.search(rf"(?m)^[ \t]*\[[ \t]*{dotted}[ \t]*\.", text)
            if match is not None:
                return True, match.start(), _table_end(text, match.end()), location[length:]
    return False, 0, _table_end(text, 0), location


def _table_end(text: str, start: int) -> int:
    """Where the next table header begins, or the text ends."""
    # A line that begins with a bracket inside a list is no header: headers hold a bare name.
    header = re.compile(r"(?m)^[ \t]*\[{1,2}[ \t]*[\w.\-\"' ]+\]{1,2}[ \t]*(?:#.*)?$")
    match = header.search(text, start)
    return match.start() if match else len(text)


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
    "missing": "is missing",
    "string_type": "must be a text in quotes",
    "float_type": "must be a number",
    "int_type": "must be a whole number",
    "bool_type": "must be true or false",
    "tuple_type": "must be a list in square brackets",
    "list_type": "must be a list in square brackets",
    "date_type": "must be a date such as 2027-03-01, without quotes",
    "model_type": "must be a table of fields",
    "dict_type": "must be a table of fields",
    "finite_number": "must be a finite number",
}


def _in_plain_words(problem: ErrorDetails, model: type[BaseModel]) -> tuple[Location, str, str]:
    """Where, what and remedy for one of pydantic's errors."""
    location = problem["loc"]
    kind = problem["type"]
    context = problem.get("ctx", {})
    given = problem["input"]
    if kind == "extra_forbidden":
        fields = _fields_beside(model, location)
        return location, "there is no such field", did_you_mean(str(location[-1]), fields)
    if kind == "literal_error":
        options = re.findall(r"'([^']*)'", str(context.get("expected", "")))
        return location, f"'{given}' is none of the choices", did_you_mean(str(given), options)
    if kind == "value_error":
        what, _, remedy = str(context["error"]).partition("; ")
        return location, what, remedy
    if kind == "missing":
        return location, "is missing", "add it"
    for name, words in (
        ("gt", "must be more than"),
        ("ge", "must be at least"),
        ("lt", "must be less than"),
        ("le", "must be at most"),
    ):
        if name in context:
            return location, f"is {given} and {words} {context[name]:g}", ""
    if kind in ("too_short", "string_too_short"):
        return location, "is empty", "give at least one"
    return location, _PLAIN.get(kind, problem["msg"][:1].lower() + problem["msg"][1:]), ""


def _fields_beside(model: type[BaseModel], location: Location) -> list[str]:
    """The names a field at ``location`` could have had."""
    here: Any = model
    for part in location[:-1]:
        here = _inner(here)
        if isinstance(part, int) or not (isinstance(here, type) and issubclass(here, BaseModel)):
            continue
        by_name = {field.alias or name: field for name, field in here.model_fields.items()}
        if part in by_name:
            here = by_name[part].annotation
    here = _inner(here)
    if isinstance(here, type) and issubclass(here, BaseModel):
        return [field.alias or name for name, field in here.model_fields.items()]
    return []


def _inner(annotation: Any) -> Any:
    """The model inside ``tuple[Model, ...]``, ``dict[str, Model]`` or ``Model | None``."""
    if get_origin(annotation) is None:
        return annotation
    arguments = get_args(annotation)
    if get_origin(annotation) is Annotated:
        return _inner(arguments[0])
    for argument in arguments:
        inner = _inner(argument)
        if isinstance(inner, type) and issubclass(inner, BaseModel):
            return inner
    return annotation
