"""JSON records with a schema version: read to a pydantic model, written whole or not at all."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import ClassVar, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from pipeline.base.errors import UserError
from pipeline.base.folders import check_file, locked, write_whole


class NewerRecordError(UserError):
    """A record was written by a newer version of the program."""


class Record(BaseModel):
    """The model of a JSON file. ``NEWEST`` is the schema version this program reads and writes.

    A file that names no version has the first.
    """

    model_config = ConfigDict(frozen=True)
    NEWEST: ClassVar[int] = 1

    schema_version: int = 1


_Record = TypeVar("_Record", bound=Record)


def read_record(path: Path, kind: type[_Record], remedy: str) -> _Record | None:
    """The record in a file; None when there is no file yet.

    Raises ``NewerRecordError`` for one of a newer version, ``UserError`` when the file cannot be
    read or doesn't hold such a record, as after a merge gone wrong: then ``remedy`` is its last
    part and the field is named.
    """
    check_file(path)
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise UserError(str(path), f"cannot be read ({error.strerror})") from error
    try:
        version = Record.model_validate_json(data).schema_version
        if version > kind.NEWEST:
            raise NewerRecordError(
                str(path),
                f"was written by a newer leafset (schema version {version}, not {kind.NEWEST})",
                "update leafset",
            )
        return kind.model_validate_json(data)
    except ValidationError as error:
        first = error.errors()[0]
        field = ".".join(str(step) for step in first["loc"])
        where = f"{path}, {field}" if field else str(path)
        raise UserError(where, first["msg"], remedy) from error


def write_record(path: Path, record: Record) -> None:
    """Writes a record with sorted keys, for a version control's sake; absent values are left out.

    Raises ``UserError`` when the file cannot be written.
    """
    plain = record.model_dump(mode="json", exclude_none=True)
    plain["schema_version"] = record.NEWEST
    text = json.dumps(plain, indent=1, sort_keys=True, ensure_ascii=False) + "\n"
    try:
        write_whole(path, text.encode())
    except UserError as error:
        raise UserError(error.where, error.what, _MAKE_WRITABLE) from error


def change_record(
    path: Path, empty: _Record, change: Callable[[_Record], _Record], remedy: str
) -> _Record:
    """Reads a record (``empty`` if there is none yet), changes it and writes it; gives the new one.

    Safe when several programs do so at once: one at a time reads and writes, and each changes what
    the one before it wrote. Raises ``UserError`` as ``read_record`` and ``write_record`` do.
    """
    with locked(path.parent):
        changed = change(read_record(path, type(empty), remedy) or empty)
        write_record(path, changed)
    return changed


_MAKE_WRITABLE = "make its folder writable"
