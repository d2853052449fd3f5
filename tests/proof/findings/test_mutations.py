"""The demo spoilt in every way there is a finding for: exactly that finding, and no other."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from pipeline.base.findings import SET_RULES
from tests.checks_guide import GUIDE, guide
from tests.conftest import Golden
from tests.proof.findings.garden import Garden
from tests.proof.findings.mutations import MUTATIONS, Mutation
from tests.proof.findings.test_whole_season import FAULTS


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
    """Those of whole sets (``set-…``) are in tests/app, those of seasons in their own module."""
    of_seasons = {rule for _, rule, _ in FAULTS.values() if rule} | {
        "label-dated",
        "labels-file-language",
    }
    of_sets = {rule for rule in SET_RULES if rule.startswith("set-")}
    assert {mutation.code for mutation in MUTATIONS} == set(SET_RULES) - of_seasons - of_sets


def test_the_guide_lists_every_rule_and_fault(golden: Golden) -> None:
    """``make golden`` writes it anew."""
    if golden.renew:
        GUIDE.write_text(guide(), "utf-8")
    assert GUIDE.read_text("utf-8") == guide()
