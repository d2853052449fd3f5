"""Names of bundles: safe on every system whatever a set is called."""

from __future__ import annotations

import re
from pathlib import PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.base.errors import UserError
from pipeline.plan.season import NAME_FIELDS, USUAL_PATTERN, checked_pattern
from pipeline.publish.zips import ENDING, bundle_name, plain

REST = {
    "period": "März 2027",
    "size": "a5",
    "paper": "letter",
    "language": "de-AT-u-fw-mon",
    "version": "12",
}
SHORT = {"title": "running", "period": "march"}


@given(st.text(max_size=200))
def test_every_title_gives_a_safe_name(title: str) -> None:
    name = bundle_name(USUAL_PATTERN, {**REST, "title": title}, SHORT, "de")
    assert re.fullmatch(r"[a-z0-9][a-z0-9._-]*[a-z0-9]", name)
    assert len(name + ENDING) <= 68
    assert not PureWindowsPath(name + ENDING).is_reserved()
    assert name.endswith("-v12")
    assert "--" not in name


@pytest.mark.parametrize(
    ("title", "language", "name"),
    [
        ("Läufer über Straßen", "de", "laeufer-ueber-strassen"),
        ("Läufer", "sv", "laeufer"),
        ("Año, niño & cigüeña", "es", "ano-nino-ciguena"),
        ("L’été au jardin", "fr", "lete-au-jardin"),
        ("Æbler på Sjælland", "da", "aebler-paa-sjaelland"),
        ("Zażółć gęślą jaźń", "pl", "zazolc-gesla-jazn"),
        ("½ Beet, 2 m²", "de", "1-2-beet-2-m2"),
        ("ﬁne ＡＢＣ", "en", "fine-abc"),
        ("庭の週", "ja", None),
        ("Αγρόκηπος", "el", None),
        ("حديقة", "ar", None),
        ("⁂ … ⁂", "en", None),
    ],
)
def test_letters_are_written_as_the_language_writes_them_without_marks(
    title: str, language: str, name: str | None
) -> None:
    assert plain(title, language) == name


def test_a_title_that_cannot_be_written_or_is_too_long_gives_way_to_the_sets_name() -> None:
    for title in ("庭の週", "Everything that a gardener does from the first frost to the last"):
        name = bundle_name(USUAL_PATTERN, {**REST, "title": title}, SHORT, "de")
        assert name == "running-maerz-2027-a5-letter-de-at-u-fw-mon-v12"


def test_a_name_that_is_too_long_all_the_same_is_told() -> None:
    short = {"title": "x" * 60}
    with pytest.raises(UserError, match=r"letters and a file's name may have 68; leave"):
        bundle_name(USUAL_PATTERN, {**REST, "title": "y" * 80}, short, "de")


@pytest.mark.parametrize("kept", ["con", "PRN", "aux", "nul", "com1", "lpt9"])
def test_names_that_a_system_keeps_are_told(kept: str) -> None:
    """Microsoft, "Naming Files, Paths, and Namespaces": also with anything after a dot."""
    with pytest.raises(UserError, match="cannot be the name"):
        bundle_name("{title}.v{version}", {"title": kept, "version": "1"}, {}, "en")


@pytest.mark.parametrize(
    ("pattern", "message"),
    [
        ("{title}", "has no {version}"),
        ("{titel}-{version}", "did you mean 'title'"),
        ("a/b-{version}", "not every system"),
        ("{version", "an unmatched brace"),
        ("{version:>3}", "write only its name"),
        ("{0}{version}", "a valid field"),
    ],
)
def test_patterns_that_cannot_be(pattern: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        checked_pattern(pattern)


def test_every_field_can_be_used() -> None:
    pattern = "-".join(f"{{{field}}}" for field in NAME_FIELDS)
    assert checked_pattern(pattern) == pattern
    fields = dict.fromkeys(NAME_FIELDS, "a")
    assert bundle_name(pattern, fields, {}, "en") == "-".join("a" * len(NAME_FIELDS))
