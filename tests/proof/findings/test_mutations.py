"""The demo spoilt in every way there is a finding for: exactly that finding, and no other."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from pipeline.base.findings import SET_RULES
from tests.proof.findings.garden import ROOT, Garden
from tests.proof.findings.mutations import MUTATIONS, Mutation, mutation_table


def test_nothing_is_found_in_a_sound_set(sound: Garden) -> None:
    assert sound.check() == ()


@pytest.mark.parametrize("mutation", MUTATIONS, ids=lambda mutation: mutation.what)
def test_a_mutation_gives_its_finding_and_no_other(
    mutation: Mutation, sound: Garden, cache: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "garden"
    checked_against = None
    if mutation.spoil is None and not mutation.limits:
        shutil.copytree(sound.folder, folder)
        garden = Garden(folder, sound.language, cache)
    else:
        garden = Garden.planted(folder, mutation.language, cache, mutation.limits)
        plans = mutation.spoil(garden) if mutation.spoil else None
        built_from, checked_against = plans or (None, None)
        garden.build(built_from)
    if mutation.tamper:
        mutation.tamper(garden)
    found = garden.check(checked_against)
    assert {finding.rule for finding in found} == {mutation.code}, "\n".join(
        f"{finding.rule}: {finding.message} {finding.place}" for finding in found
    )


def test_every_rule_has_a_mutation() -> None:
    of_pages = {rule for rule in SET_RULES if not rule.startswith("set-")}
    assert {mutation.code for mutation in MUTATIONS} == of_pages  # tests/app has the others


def test_the_guide_lists_every_mutation() -> None:
    guide = (ROOT / "docs" / "proofing.md").read_text("utf-8")
    assert f"in each of these {len(MUTATIONS)} ways" in guide
    for code, rule in SET_RULES.items():
        assert f"| {rule.severity} | {rule.title} | `{code}` |" in guide
    assert mutation_table() in guide, f"put this table into docs/proofing.md:\n{mutation_table()}"
