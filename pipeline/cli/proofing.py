"""Commands that look at drawings and finished print files, and that release them."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.base.cache import CACHE
from pipeline.base.errors import UserError
from pipeline.cli.terminal import (
    BUILD,
    AsJson,
    OnlySet,
    OnlySets,
    OutFolder,
    SeasonFile,
    app,
    now,
    print_rows,
    progress,
)

if TYPE_CHECKING:
    from pipeline.drawings.checks import DrawingFinding
    from pipeline.proof.findings import SetFinding

Port = Annotated[
    int, typer.Option(min=0, max=65535, metavar="N", help="The port to listen on; 0: any free one.")
]
InBrowser = Annotated[bool, typer.Option("--browser/--no-browser", help="Open a browser window.")]


@app.command("proof")
def proof_command(season: SeasonFile, only: OnlySet = None, out: OutFolder = BUILD) -> None:
    """Make pictures of what will be printed: sheets, spreads, contact sheets.

    Exits with 1 if a set cannot be shown.
    """
    from pipeline.app.check import prove_season

    with progress("Proofing") as step:
        folders, without = prove_season(season, out, only=only, step=step)
    for folder in folders:
        typer.echo(str(folder))
    for one in without:
        print(f"leafset: {one.set}: {one.in_words}; {one.what_to_do}", file=sys.stderr)
    if without:
        raise typer.Exit(1)


@app.command("check")
def check_command(
    paths: Annotated[
        list[Path],
        typer.Argument(
            metavar="PATH…",
            help="Seasons, whose print files are looked through; drawings, or folders of them.",
        ),
    ],
    only: OnlySet = None,
    out: OutFolder = BUILD,
    mend: Annotated[
        bool,
        typer.Option("--mend", help="Mend in drawings what is mechanical, and nothing else."),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Look for mistakes in drawings and print files; exits with 1 if something must be mended."""
    from pipeline.app.check import as_data, as_rows, check_season, totals
    from pipeline.base.cache import Cache
    from pipeline.base.findings import Severity

    seasons = [path for path in paths if path.suffix.lower() == ".toml"]
    if not seasons and only is not None:
        raise UserError("--only", "is for the sets of a season", "give its season file as well")
    lines: list[str] = []
    findings: list[DrawingFinding] = []
    if others := [path for path in paths if path not in seasons]:
        from pipeline.drawings.checks import check_drawings, summary, templates_under

        drawn = [file for path in others for file in templates_under(path)]
        kept = Cache(out / CACHE if out.is_dir() else None)
        findings, mended = check_drawings(drawn, mend=mend, cache=kept)
        lines = [*map(str, findings), summary(len(drawn), findings, mended)]
    sets: list[SetFinding] = []
    for season in seasons:
        with nullcontext(_silent) if as_json else progress("Checking") as step:
            sets += check_season(season, out, only=only, cache=out / CACHE, step=step)
    if as_json:
        data = as_data(sets)
        data["must"] += sum(one.severity is Severity.MUST for one in findings)
        data["look"] += sum(one.severity is Severity.LOOK for one in findings)
        data["findings"] = [*(one.as_json() for one in findings), *data["findings"]]
        typer.echo(json.dumps(data, indent=1, ensure_ascii=False))
    else:
        for line in lines:
            typer.echo(line)
        if sets:
            headings = ("", "set", "where", "at mm", "what", "what to do")
            print_rows(headings, as_rows(sets), wrapped=5)
        if seasons:
            typer.echo(totals(sets))
    if any(one.severity is Severity.MUST for one in (*findings, *sets)):
        raise typer.Exit(1)


@app.command("scan")
def scan_command(
    season: SeasonFile,
    pictures: Annotated[
        list[Path],
        typer.Argument(
            metavar="PICTURE...", help="A photo or scan; of both sides of a sheet, side 1 first."
        ),
    ],
    only: OnlySet = None,
    out: OutFolder = BUILD,
    note: Annotated[
        bool,
        typer.Option("--note", help="Write the shift of side 2 into the season's [printer]."),
    ] = False,
) -> None:
    """Measure a printed feed test or sheet in photos or scans of it: size, shift, differences.

    Exits with 1 if something isn't as it should be.
    """
    from pipeline.app.scan import note_shift, read_pictures

    read = read_pictures(season, pictures, out, only)
    for line in read.lines:
        typer.echo(line)
    for picture in read.pictures:
        typer.echo(f"{picture} shows the print over the page")
    if note:
        if read.back_shift_mm is None:
            raise UserError(
                "--note",
                "there is no shift of side 2 to write down",
                "take pictures of both sides of a feed test, each with all four edges",
            )
        note_shift(season, read.back_shift_mm)
        typer.echo(f"{season}: back_shift_mm is written under [printer]; build the season again")
    elif not read.as_it_should_be:
        raise typer.Exit(1)


@app.command("desk")
def desk_command(
    season: Annotated[
        Path | None,
        typer.Argument(metavar="SEASON.toml", help="Only this season's files, as they are built."),
    ] = None,
    out: OutFolder = BUILD,
    port: Port = 0,
    browser: InBrowser = True,
) -> None:
    """Do the whole job in the browser: plan, draw, look, pass, release.

    With a season, only look at its files, pass them or send them back.
    """
    if season is None:
        open_here(port, browser=browser)
        return
    from pipeline.app.build import season_title
    from pipeline.app.check import standings
    from pipeline.desk import serve_desk
    from pipeline.desk.desk import Desk, headings_of

    plan, sets = standings(season, out)
    folders = {one.name: one.folder for one in sets}
    desk = Desk(season_title(plan.season), folders, out, season, now)
    desk.headings = headings_of(plan)
    desk.standings = {one.name: one for one in sets}
    with _until_stopped():
        serve_desk(desk, port, browser=browser, say=_say_address)


@app.command("watch")
def watch_command(
    season: SeasonFile,
    only: OnlySet = None,
    out: OutFolder = BUILD,
    port: Port = 0,
    browser: InBrowser = True,
) -> None:
    """See pages dated and in the rings while you draw: every save shows in the browser."""
    from pipeline.watch import watch_season

    with _until_stopped():
        watch_season(season, out, out / CACHE, only, port, now, browser=browser, say=_say_address)


def _silent(done: int, whole: int, what: str) -> None:
    """A step that is told to nobody."""


def open_here(port: int = 0, *, browser: bool = True) -> None:
    """Opens the workshop at the current folder."""
    from pipeline.workshop import open_workshop

    with _until_stopped():
        open_workshop(Path(), port, now, browser=browser, say=_say_address)


@contextmanager
def _until_stopped() -> Iterator[None]:
    """Takes Ctrl-C as the usual end of a server."""
    try:
        yield
    except KeyboardInterrupt:
        typer.echo("The desk is closed.")


def _say_address(address: str) -> None:
    typer.echo(f"The desk is open at {address}\nCtrl-C closes it.")


@app.command("release")
def release_command(
    season: SeasonFile,
    only: OnlySets = None,
    out: OutFolder = BUILD,
    only_say: Annotated[
        bool, typer.Option("--only-say", help="Only say what would go out; write nothing.")
    ] = False,
    pictures: Annotated[
        bool, typer.Option("--pictures/--no-pictures", help="Make the shop pictures as well.")
    ] = True,
) -> None:
    """Make buyers' bundles of every passed set, and a page to upload them from.

    Exits with 1 if a set was held back because its files aren't passed, with 2 for an error.
    """
    from pipeline.app.release import publish_season
    from pipeline.base.workers import not_ended_twice
    from pipeline.publish.bundle import BundleState

    with not_ended_twice("the release"), progress("Looking" if only_say else "Releasing") as step:
        published = publish_season(
            season, out, at=now(), only=only or None, dry_run=only_say, pictures=pictures, step=step
        )
    rows = [
        (one.name, str(one.version), str(one.files), f"{one.zip_bytes / 1e6:.1f} MB", one.state)
        for one in published.results
        if one.out
    ]
    if rows:
        print_rows(("bundle", "version", "files", "zip", ""), rows)
    for advice in published.advice:
        print(f"Note: {advice}")
    held = [one for one in published.results if not one.out]
    wrong_alike: dict[str, list[str]] = {}
    for one in held:
        if one.outcome is BundleState.WRONG:
            wrong_alike.setdefault(one.why, []).append(one.key)
        else:
            print(f"leafset: {one.key}: {one.why}", file=sys.stderr)
    for why, keys in wrong_alike.items():
        more = f" and {len(keys) - 1} more" if len(keys) > 1 else ""
        print(f"leafset: {keys[0]}{more}: {why}", file=sys.stderr)
    for name, why in published.without_pictures:
        print(f"leafset: pictures of {name}: {why}", file=sys.stderr)
    if only_say:
        print(f"{len(rows)} of {len(published.results)} sets would be out; nothing was written.")
    elif rows:
        print(f"{len(rows)} of {len(published.results)} sets are out: {published.page}")
    wrong = published.without_pictures or any(one.outcome is BundleState.WRONG for one in held)
    if wrong or held:
        raise typer.Exit(2 if wrong else 1)
