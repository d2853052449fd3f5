"""The demo season is passed for press as it stands: whoever changes a page looks at it again.

The record is made at the desk after ``make build`` (docs/proofing.md says how), and committed.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.impose.contents import edition_digest
from pipeline.proof.approval.fingerprints import prints_of
from pipeline.proof.approval.passed import pass_file, read_pass_file, set_state
from tests.conftest import ROOT, Demo

PASSES = read_pass_file(pass_file(ROOT / "seasons" / "2027-spring.toml"))


def test_every_set_of_the_demo_is_in_the_record(demo: Demo) -> None:
    built = {one.folder.removeprefix("2027-spring/") for one in demo.made}
    assert set(PASSES.sets) == built


@pytest.mark.parametrize(
    ("period", "name", "paper"),
    [
        ("quarter", "two-flap-sowing", "a4"),
        ("quarter", "two-flap-list", "letter"),
        ("quarter", "running", "a4"),
        ("march", "running", "letter"),
        ("undated", "plant-record", "letter"),
    ],
)
def test_its_pages_look_as_they_were_passed(
    demo: Demo, period: str, name: str, paper: str, tmp_path: Path
) -> None:
    folder = demo.folder(period, name, paper)
    record = PASSES.of(f"{period}/{name}/{folder.name}")
    prints = prints_of(folder, tmp_path / "prints.json")
    state = set_state(record, prints, edition_digest(folder))
    assert [f"{page.key}: {page.state}" for page in state.not_passed] == []
    assert len(state.pages) > 5
