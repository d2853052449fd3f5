"""Records: what is read back, and what is said of a file that cannot be."""

from __future__ import annotations

import json
from pathlib import Path
from typing import ClassVar

import pytest

from pipeline.base.errors import UserError
from pipeline.base.records import Record, change_record, read_record, write_record


class Tally(Record):
    NEWEST: ClassVar[int] = 2

    sheets: int = 0
    note: str | None = None


def test_a_record_is_read_back_with_its_version(tmp_path: Path) -> None:
    path = tmp_path / "tally.json"
    assert read_record(path, Tally, "") is None
    write_record(path, Tally(sheets=3))
    assert json.loads(path.read_text()) == {"schema_version": 2, "sheets": 3}
    found = read_record(path, Tally, "")
    assert found is not None
    assert found.sheets == 3


def test_a_record_without_a_version_has_the_first(tmp_path: Path) -> None:
    path = tmp_path / "tally.json"
    path.write_text('{"sheets": 3}')
    found = read_record(path, Tally, "")
    assert found is not None
    assert found.schema_version == 1


@pytest.mark.parametrize("content", ['{"sheets": 1}', '{"sheets": {"side-1": 4}}'])
def test_a_newer_record_is_refused_whether_or_not_it_can_be_read(
    tmp_path: Path, content: str
) -> None:
    path = tmp_path / "tally.json"
    path.write_text(json.dumps({"schema_version": 3, **json.loads(content)}))
    with pytest.raises(UserError) as caught:
        change_record(path, Tally(), lambda tally: tally, "throw it away")
    assert caught.value.where == str(path)
    assert caught.value.what == "was written by a newer leafset (schema version 3, not 2)"
    assert caught.value.remedy == "update leafset"


@pytest.mark.parametrize(
    ("content", "field"), [("<<<<<<< HEAD", ""), ('{"sheets": "many"}', ", sheets"), ("[]", "")]
)
def test_a_broken_record_is_refused_in_one_line(tmp_path: Path, content: str, field: str) -> None:
    path = tmp_path / "tally.json"
    path.write_text(content)
    with pytest.raises(UserError) as caught:
        read_record(path, Tally, "take it back from your last commit")
    assert caught.value.where == f"{path}{field}"
    assert caught.value.remedy == "take it back from your last commit"
    assert "\n" not in str(caught.value)


def test_a_change_starts_from_what_is_there(tmp_path: Path) -> None:
    path = tmp_path / "tally.json"
    for expected in (1, 2):
        changed = change_record(path, Tally(), lambda t: Tally(sheets=t.sheets + 1), "")
        assert changed.sheets == expected
    assert [file.name for file in tmp_path.iterdir()] == ["tally.json"]


def test_a_folder_that_cannot_be_written_to_is_named(tmp_path: Path) -> None:
    with pytest.raises(UserError, match="cannot be written"):
        change_record(tmp_path / "gone" / "tally.json", Tally(), lambda tally: tally, "")
