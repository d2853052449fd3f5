"""What goes out and what does not: passes, versions, what changed between them."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from pipeline.app.release import is_said_otherwise, publish_season
from pipeline.base.cache import CACHE
from pipeline.base.errors import UserError
from pipeline.plan import plan_season
from pipeline.proof.approval.passed import State, pass_file
from pipeline.publish.bundle import BUYER, BundleState, bundles_in
from pipeline.publish.releases import read_releases, release_file
from tests.conftest import ROOT
from tests.publish.conftest import LATER, SEASON, Shop, new_shop
from tests.publish.passing import pass_sets

LABELS = "templates_svg/kitchen_garden/labels/en.toml"
KEY = "fortnight/sowing/a5-a4-en-GB"


def leafset(shop: Shop, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "pipeline.cli", *arguments],
        cwd=shop.folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )


def label_of(shop: Shop) -> str:
    """A line of the labels that only the sowing list shows."""
    lines = (shop.folder / LABELS).read_text("utf-8").splitlines()
    return next(line for line in lines if line.startswith("sowing ="))


def relabel(shop: Shop) -> None:
    """Calls the sowing list otherwise, and builds."""
    shop.edit(LABELS, label_of(shop), 'sowing = "Seeds"')
    shop.build()


def test_what_was_not_passed_stays_in_the_house(shop: Shop) -> None:
    pass_file(shop.season).unlink()
    result = leafset(shop, "release", "seasons/small.toml", "--no-pictures")
    assert result.returncode == 1
    lines = result.stderr.splitlines()
    assert len(lines) == 2
    assert lines[0] == f"leafset: {KEY}: not passed yet; look at it on the desk"
    assert not bundles_in(shop.release)
    assert not release_file(shop.season).exists()


def test_passed_sets_go_out_though_others_do_not(shop: Shop) -> None:
    pass_file(shop.season).unlink()
    pass_sets(shop.season, shop.out, only="plant-record")
    result = leafset(shop, "release", "seasons/small.toml", "--no-pictures")
    assert result.returncode == 1, result.stderr
    assert len(result.stderr.splitlines()) == 1
    names = [bundle.name for bundle in bundles_in(shop.release)]
    assert names == ["plant-record-a5-a4-en-gb-v1"]
    alone = leafset(
        shop, "release", "seasons/small.toml", "--only", "plant-record", "--no-pictures"
    )
    assert alone.returncode == 0, alone.stderr


def test_only_sets_of_such_names_go_out(shop: Shop) -> None:
    told = publish_season(
        shop.season, shop.out, at=LATER, only=["fortnight/sowing"], pictures=False
    )
    assert [one.key for one in told.results] == [KEY]
    assert [bundle.name for bundle in bundles_in(shop.release)] == [told.results[0].name]
    # What is not chosen stays as it is: out, or not.
    record = "undated/plant-record/a5-a4-en-GB"
    told = publish_season(shop.season, shop.out, at=LATER, only=[record], pictures=False)
    assert [one.outcome for one in told.results] == [BundleState.PUBLISHED]
    assert len(bundles_in(shop.release)) == 2
    page = told.page.read_text("utf-8")
    assert all(f"{bundle.name}.zip" in page for bundle in bundles_in(shop.release))
    wrong = leafset(shop, "release", "seasons/small.toml", "--only", "sewing")
    assert wrong.returncode == 2
    assert "set 'sewing': is not in seasons/small.toml" in wrong.stderr
    assert "did you mean 'sowing'?" in wrong.stderr
    both = ("--only", "sowing", "--only", "undated", "--only-say")
    said = leafset(shop, "release", "seasons/small.toml", *both)
    assert "2 of 2 sets would be out" in said.stdout


def test_a_listing_tells_of_what_was_out_before_on_other_paper(tmp_path: Path) -> None:
    kept = SEASON.partition("[[set]]")[0] + SEASON[SEASON.rindex("[[set]]") :]
    shop = new_shop(tmp_path / "shop", kept.replace('["a4"]', '["a4", "letter"]'))
    shop.build()
    pass_sets(shop.season, shop.out)

    def listing() -> str:
        [file] = shop.release.glob("shop/*/listing.txt")
        return file.read_text("utf-8")

    publish_season(shop.season, shop.out, at=LATER, only=["a5-a4-en-GB"])
    assert "Letter" not in listing()
    publish_season(shop.season, shop.out, at=LATER, only=["a5-letter-en-GB"])
    assert "Letter" in listing()
    assert "A4" in listing()


def test_a_changed_label_takes_the_pass_away_and_makes_a_second_version(selling: Shop) -> None:
    first = {bundle.name for bundle in bundles_in(selling.release)}
    relabel(selling)
    held = selling.publish()
    by_key = {one.key: one for one in held.results}
    assert by_key[KEY].outcome is BundleState.NOT_PASSED
    assert "2 changed" in by_key[KEY].why
    assert by_key["undated/plant-record/a5-a4-en-GB"].outcome is BundleState.UNCHANGED
    # What went out was passed as it is: it stays until the next version takes its place.
    assert {bundle.name for bundle in bundles_in(selling.release)} == first

    pass_sets(selling.season, selling.out, only="sowing", by="Grace")
    told = {one.key: one for one in selling.publish().results}
    assert (told[KEY].outcome, told[KEY].version) == (BundleState.PUBLISHED, 2)
    names = {bundle.name for bundle in bundles_in(selling.release)}
    assert told[KEY].name in names
    assert told[KEY].name.replace("-v2", "-v1") not in names
    assert len(names) == 2

    before, after = read_releases(release_file(selling.season)).of(KEY)
    assert (before.version, after.version) == (1, 2)
    assert not before.pages
    lists = {"leaf-002-verso", "leaf-004-verso"}
    labels = {page.key: page.label for page in after.changes}
    assert set(labels) == {
        key for key, page in after.pages.items() if page.label.startswith("sowing list")
    }
    assert set(labels) == lists
    assert {page.state for page in after.changes} == {State.CHANGED}

    text = (selling.release / after.name / BUYER / "changes.txt").read_text("utf-8-sig")
    lines = text.splitlines()
    assert lines[2] == "Version 2: what is new since version 1"
    assert lines[3] == "Print these sheets again: " + ", ".join(map(str, after.again))
    sheets = json.loads((selling.release / after.name / "contents.json").read_text("utf-8"))
    # Leaves 2 and 4 (counted from 1) bear the lists: the sheets they are laid on, and no others.
    assert list(after.again) == [
        sheet["number"]
        for sheet in sheets["sheets"]
        if {placed["leaf"] + 1 for placed in sheet["side_1"]} & {2, 4}
    ]
    assert sheets["passed"]["by"] == ["Grace"]

    again = {one.key: one for one in selling.publish().results}
    assert (again[KEY].outcome, again[KEY].version) == (BundleState.UNCHANGED, 2)


def test_a_version_comes_out_the_same_after_its_folder_was_lost(selling: Shop) -> None:
    once = {path.name: path.read_bytes() for path in selling.release.glob("*/*.zip")}
    for path in sorted(selling.release.rglob("*"), reverse=True):
        path.unlink() if path.is_file() else path.rmdir()
    selling.publish()
    assert {path.name: path.read_bytes() for path in selling.release.glob("*/*.zip")} == once


def test_a_bundle_that_lost_a_file_is_made_whole_again(selling: Shop) -> None:
    before = selling.files()
    lost = next(iter(bundles_in(selling.release))) / BUYER / "licence.txt"
    lost.unlink()
    outcomes = [one.outcome for one in selling.publish().results]
    assert sorted(outcomes) == [BundleState.PUBLISHED, BundleState.UNCHANGED]
    after = {name: data for name, (_, data) in selling.files().items() if CACHE not in name}
    assert after == {name: data for name, (_, data) in before.items() if CACHE not in name}


def test_a_build_leaves_bundles_alone(selling: Shop) -> None:
    before = {path: path.read_bytes() for path in selling.release.rglob("*") if path.is_file()}
    selling.edit("seasons/small.toml", "2027-03-14", "2027-03-21")
    selling.build()
    after = {path: path.read_bytes() for path in selling.release.rglob("*") if path.is_file()}
    assert after == before


def test_what_the_season_no_longer_has_is_taken_away(selling: Shop) -> None:
    text = selling.season.read_text("utf-8")
    selling.season.write_text(text.partition('[[set]]\nname = "plant-record"')[0], "utf-8")
    selling.build()
    selling.publish()
    assert list(bundles_in(selling.release).values()) == [KEY]


def test_new_terms_make_a_version_without_pages_to_print_again(selling: Shop) -> None:
    selling.edit("templates_svg/kitchen_garden/licence/en.txt", "Terms of use", "What you may do")
    plan = plan_season(selling.season)
    assert is_said_otherwise(plan, selling.season, selling.out)
    told = selling.publish().results
    assert not is_said_otherwise(plan, selling.season, selling.out)
    assert {one.version for one in told} == {2}
    release = read_releases(release_file(selling.season)).last(KEY)
    assert release is not None
    assert (release.changes, release.again) == ((), ())
    assert release.changed_files == ("licence.txt",)
    text = (selling.release / release.name / BUYER / "changes.txt").read_text("utf-8-sig")
    assert text.splitlines()[3:] == [
        "No sheet has to be printed again.",
        "Files that changed: licence.txt",
    ]


def test_a_dry_run_says_all_and_writes_nothing(shop: Shop) -> None:
    before = shop.files()
    told = shop.publish(dry_run=True).results
    assert [one.outcome for one in told] == [BundleState.PUBLISHED] * 2
    assert shop.files() == before
    really = shop.publish().results
    assert [(one.name, one.zip_bytes) for one in really] == [
        (one.name, one.zip_bytes) for one in told
    ]


def test_files_that_were_meddled_with_do_not_go_out(shop: Shop) -> None:
    path = shop.out / "small" / KEY / "both-sides.pdf"
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(data)
    told = {one.key: one for one in shop.publish().results}
    assert told[KEY].outcome is BundleState.WRONG
    assert "both-sides.pdf: was changed after it was built; run 'leafset build'" in told[KEY].why


def test_a_set_built_of_something_else_does_not_go_out(shop: Shop) -> None:
    shop.edit(LABELS, label_of(shop), 'sowing = "Seeds"')
    told = {one.key: one for one in shop.publish().results}
    assert told[KEY].outcome is BundleState.NOT_PASSED
    assert told[KEY].why == (
        "not built as the season is now; wait until the desk has built it, or run 'leafset build'"
    )


@pytest.mark.parametrize(
    ("table", "message"),
    [
        (
            "[publish]\nzip_mb = 0.3\n",
            r"zip: has \d\.\d MB and a zip may have 0\.3; its biggest file is 3-4-both-sides\.pdf",
        ),
        (
            "[limits]\nfile_mb = 0.2\n",
            r"pdf: has \d\.\d MB and a file may have 0\.2; publish shorter periods",
        ),
    ],
)
def test_what_is_too_big_says_what_would_help(shop: Shop, table: str, message: str) -> None:
    text = shop.season.read_text("utf-8")
    shop.season.write_text(text.replace("[[period]]", f"{table}\n[[period]]", 1))
    result = leafset(shop, "release", "seasons/small.toml", "--only", "sowing", "--no-pictures")
    assert result.returncode == 2
    assert len(result.stderr.splitlines()) == 1
    assert re.search(message, result.stderr)
    assert not bundles_in(shop.release)


def test_two_sets_cannot_share_a_name(shop: Shop) -> None:
    shop.edit("seasons/small.toml", 'papers = ["a4"]', 'papers = ["a4", "letter"]')
    table = '[publish]\nname = "{set}-v{version}"\n\n[[period]]'
    shop.edit("seasons/small.toml", "[[period]]", table)
    with pytest.raises(UserError, match=r"both be called 'sowing-v1'; add \{paper\} to the"):
        shop.publish()


def test_a_collection_without_terms_is_told_where_to_write_them(shop: Shop) -> None:
    for path in (shop.folder / "templates_svg/kitchen_garden/licence").iterdir():
        path.unlink()
    with pytest.raises(UserError, match=r"licence/en\.txt: there are no terms for buyers; write"):
        shop.publish()


def test_an_interrupted_bundle_leaves_nothing_behind(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(self: Path, data: bytes) -> int:
        if self.name == "licence.txt":
            raise KeyboardInterrupt
        return real(self, data)

    real = Path.write_bytes
    monkeypatch.setattr(Path, "write_bytes", broken)
    monkeypatch.setattr("pipeline.base.workers.cores", lambda: 1)
    with pytest.raises(KeyboardInterrupt):
        shop.publish()
    assert not list(shop.release.glob("*"))
    assert not release_file(shop.season).exists()


def test_two_sets_that_a_shop_could_not_tell_apart_are_refused(shop: Shop) -> None:
    leaves = 'leaves = [{ recto = "notes", verso = "plain-list" }]'
    again = f'[[set]]\nname = "again"\ntitle = "Plant record"\n{leaves}\n'
    table = '[publish]\nname = "{set}-v{version}"\n\n[[period]]'
    shop.edit("seasons/small.toml", "[[period]]", table)
    text = shop.season.read_text("utf-8")
    shop.season.write_text(f"{text}\n{again}", "utf-8")
    said = r"undated/plant-record and undated/again would .* as 'Plant record'; give one another t"
    with pytest.raises(UserError, match=said):
        shop.publish(dry_run=True)


def test_two_sets_for_one_folder_of_the_shop_are_refused(shop: Shop) -> None:
    first = "from = 2027-03-01\nto = 2027-03-14\n"
    other = f'[[period]]\nname = "fortnight-late"\n{first.replace("-03-", "-04-")}'
    shop.edit("seasons/small.toml", first, f"{first}\n{other}")
    week = 'spreads = [{ verso = "notes", recto = "plain-list", per = "week" }]'
    sets = "".join(f'[[set]]\nname = "{name}"\n{week}\n\n' for name in ("late-list", "list"))
    text = shop.season.read_text("utf-8")
    shop.season.write_text(f"{text}\n{sets}", "utf-8")
    with pytest.raises(UserError, match=r"fortnight-late/list .*'fortnight-late-list-a5-en-gb'"):
        shop.publish(dry_run=True)
