"""Records kept beside a season as JSON: read back with one clear line for what is wrong."""

from __future__ import annotations

from pathlib import Path
from typing import TypeVar

from pydantic import TypeAdapter, ValidationError

from pipeline.base.errors import UserError

_Record = TypeVar("_Record")


def read_record(path: Path, kind: TypeAdapter[_Record], empty: _Record, remedy: str) -> _Record:
    """The record in a file; ``empty`` when there is no file yet.

    Raises UserError when it is there but is no such record, as after a merge gone wrong; its last
    part is ``remedy``.
    """
    try:
        return kind.validate_json(path.read_bytes())
    except FileNotFoundError:
        return empty
    except OSError as error:
        raise UserError(str(path), f"cannot be read ({error.strerror})") from error
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(step) for step in first["loc"])
        raise UserError(f"{path}, {place}" if place else str(path), first["msg"], remedy) from error
