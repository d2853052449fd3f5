"""Commands that make print files, and that tell what goes into them."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from pipeline.base.cache import CACHE
from pipeline.base.errors import UserError
from pipeline.base.folders import clear_leftovers
from pipeline.cli.terminal import (
    BUILD,
    OnlySet,
    OutFolder,
    SeasonFile,
    app,
    now,
    print_rows,
    progress,
)

if TYPE_CHECKING:
    from rich.table import Table

    from pipeline.app.buildrecord import FinishedSet
    from pipeline.plan.model import SetPlan
    from pipeline.plan.sets import RunLine


@app.command("build")
def build_command(
    season: SeasonFile,
    only: OnlySet = None,
    out: OutFolder = BUILD,
    keep_svg: Annotated[
        bool, typer.Option("--keep-svg", help="Keep every page's filled SVG as well.")
    ] = False,
    scheduler: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Build on the cluster of this dask scheduler."),
    ] = None,
    afresh: Annotated[
        bool,
        typer.Option("--afresh", help="Draw everything again, and forget all kept drawings."),
    ] = False,
    plan: Annotated[
        bool,
        typer.Option("--plan", help="Only show each set's pages in their order; write nothing."),
    ] = False,
) -> None:
    """Build a season's print files: side 1, side 2 and both sides of every set."""
    if plan:
        _print_runs(season, only)
        return
    from pipeline.app.buildrecord import unchanged
    from pipeline.plan.season import taken_for

    clear_leftovers(out)
    clear_leftovers(season.parent, below=False)
    if afresh:
        from pipeline.base.cache import clean

        taken_for(season)  # what cannot be built costs no drawing
        clean(out / CACHE)
    made = unchanged(season, out) if only is None and not (keep_svg or afresh) else None
    if made is not None:
        print("Nothing has changed since the last build.")
    else:
        from pipeline.app.build import make_season

        with progress("Making") as step:
            made = make_season(
                season,
                out,
                only=only,
                keep_svg=keep_svg,
                cache=out / CACHE,
                scheduler=scheduler,
                afresh=afresh,
                step=step,
            )
        for one in taken_for(season):
            print(f"{season}: '{one.written}' is taken for '{one.taken}'")
    _print_table(made, out)


def _print_runs(season: Path, only: str | None) -> None:
    """A table for each run of pages that the season makes, with the sets that have it above it."""
    from pipeline.plan import plan_season
    from pipeline.plan.sets import run_of

    alike: dict[tuple[str, tuple[RunLine, ...]], list[SetPlan]] = {}
    for one in plan_season(season, only).sets:
        alike.setdefault((one.period.name, run_of(one)), []).append(one)
    for (period, lines), sets in alike.items():
        names, sizes, languages = (
            ", ".join(dict.fromkeys(said))
            for said in (
                [one.name for one in sets],
                [one.binder.title for one in sets],
                [one.language for one in sets],
            )
        )
        spreads, leaves = len(sets[0].spreads), len(sets[0].leaves)
        counts = f"{spreads} spreads on {leaves} leaves" if spreads else f"{leaves} leaves"
        typer.echo(f"{names}, {period}: {counts} ({sizes}; {languages})")
        tabs = ("tab",) if any(line.tab for line in lines) else ()
        rows = [(*line[:5], *([line.tab] if tabs else []), line.about) for line in lines]
        print_rows(("spread", "leaf", "verso", "leaf", "recto", *tabs, "about"), rows)
        typer.echo()


def _print_table(made: list[FinishedSet], out: Path) -> None:
    """The table of what was made; where it is stands below it on a narrow terminal."""
    from rich.console import Console

    wide, terminal = Console(width=1000), Console()
    table = _table_of(made, where=True)
    narrow = sys.stdout.isatty() and wide.measure(table).maximum > terminal.width
    if narrow:
        table = _table_of(made, where=False)
    console = Console(width=max(terminal.width, wide.measure(table).maximum))
    console.print(table)
    for one in made if narrow else ():
        typer.echo(one.folder)
    console.print(f"{len(made)} sets in {out}", highlight=False)
    _tell_left_out(made)


_MOST_TOLD = 12
"""Of days whose feasts and notes have no room, so many are listed; contents.json has them all."""


def _tell_left_out(made: list[FinishedSet]) -> None:
    """What pages have no room to say of days with several feasts or notes."""
    told = dict.fromkeys((said, one.name, one.paper) for one in made for said in one.left_out)
    if not told:
        return
    typer.echo("There is no room for all feasts and notes of these days:")
    for said, name, paper in list(told)[:_MOST_TOLD]:
        typer.echo(f"  {said} ({name}, {paper})")
    if len(told) > _MOST_TOLD:
        typer.echo(f"  and {len(told) - _MOST_TOLD} more: see left_out in each contents.json")


def _figures(one: FinishedSet) -> dict[str, str]:
    """The figures of a set, by their headings."""
    return {
        "spreads": f"{one.spreads}",
        "leaves": f"{one.leaves}",
        "sheets": f"{one.sheets}",
        "cuts": f"{one.cuts}",
        "folds": f"{one.folds}",
        "tabs": f"{one.tabs}",
        "punch": f"{one.punch_strokes}",
        "pack": f"{one.weight_g:.0f} g, {one.thickness_mm:.1f} mm",
        "ink": f"{one.ink_percent:.1f} %",
        "files": f"{one.files}",
        "size": f"{one.size / 1000:,.0f} kB",
    }


def _table_of(made: list[FinishedSet], *, where: bool) -> Table:
    """A row for each set, with its folder where that is asked for; tabs only if a set has some."""
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style="bold")
    rows = [(one, _figures(one)) for one in made]
    headings = list(rows[0][1]) if rows else []
    if not any(one.tabs for one in made):
        headings = [heading for heading in headings if heading != "tabs"]
    for heading in ("period", "set", "paper", *headings, *(["where"] if where else [])):
        justify: Literal["right", "left"] = "right" if heading in headings else "left"
        table.add_column(heading, justify=justify, no_wrap=True)
    for one, figures in rows:
        told = (figures[heading] for heading in headings)
        table.add_row(one.period, one.name, one.paper, *told, *([one.folder] if where else []))
    return table


@app.command("order")
def order_command(
    orders: Annotated[
        Path,
        typer.Argument(metavar="ORDERS.csv", help="An order form, or a folder of them."),
    ],
    form: Annotated[
        Path | None,
        typer.Option(metavar="SEASON.toml", help="Write a form with an example for this season."),
    ] = None,
    forget: Annotated[
        str | None,
        typer.Option(metavar="ORDER", help="Take away all that was made for this order."),
    ] = None,
    out: OutFolder = BUILD,
    scheduler: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Make them on the cluster of this dask scheduler."),
    ] = None,
) -> None:
    """Make a bundle for each buyer of an order form, with their own name, months and days.

    Exits with 1 if an order's check isn't clean, with 2 if a row is wrong.
    """
    from pipeline.app.orders import (
        OrderState,
        designs_not_passed,
        forget_order,
        form_for,
        make_orders,
    )
    from pipeline.plan.season import ORDERS

    if form is not None:
        form_for(form, orders, out)
        typer.echo(f"{orders} is written: an example, to be written over")
        return
    if forget is not None:
        for gone in forget_order(forget, out):
            typer.echo(f"{gone} is taken away")
        typer.echo(f"What {orders} says, and what you sent or copied, is yours to delete.")
        return

    def told(problem: UserError) -> None:
        print(f"leafset: {problem}", file=sys.stderr)

    with progress("Orders") as step:
        made = make_orders(orders, out, at=now(), scheduler=scheduler, told=told, step=step)
    for one in made:
        if one.state is OrderState.WAITING:
            print(f"leafset: order {one.order} waits: {one.why}", file=sys.stderr)
        if one.left_out:
            typer.echo(f"order {one.order}: {one.left_out} days have no room for all of theirs")
    if unseen := designs_not_passed(orders):
        typer.echo(f"Not passed for press: {', '.join(unseen)}. Look at them at the desk first.")
    counts = {state: sum(one.state is state for one in made) for state in OrderState}
    said = ", ".join(f"{count} {state.value}" for state, count in counts.items() if count)
    typer.echo(f"{len(made)} orders: {said} ({out / ORDERS})")
    if counts[OrderState.REFUSED] or counts[OrderState.WAITING]:
        raise typer.Exit(2 if counts[OrderState.REFUSED] else 1)


@app.command("run")
def run_command(
    season: SeasonFile,
    packs: Annotated[
        str,
        typer.Option(metavar="SET=N,…", help="How many of which sets, such as march/running=20."),
    ],
    trimmer: Annotated[
        str, typer.Option(metavar="NAME", help="One of the season's; the first if not given.")
    ] = "",
    out: OutFolder = BUILD,
) -> None:
    """Reckon packs that you print and sell: sheets, cuts, time, cost; writes a sheet for the bench.

    Blades are sharp: the sheet says how to go about them before it says what to cut.
    """
    from pipeline.app.packs import HEADINGS, packs_of, row_of, write_bench_sheet

    asked: dict[str, int] = {}
    for part in packs.split(","):
        name, _, count = part.strip().partition("=")
        if not name or not count.isdecimal() or not 1 <= int(count) <= 100_000:
            raise UserError(f"--packs '{part}'", "isn't a set and how many", "write running=20")
        asked[name] = int(count)
    plan, found, sheets = packs_of(season, out, asked, trimmer)
    print_rows(HEADINGS, [row_of(one) for one in found], wrapped=0)
    for file in write_bench_sheet(plan, found, sheets, out):
        typer.echo(f"{file} is written")


@app.command("next")
def next_command(season: SeasonFile) -> None:
    """Write the season that follows: its times moved on, and what to look at before it is built."""
    from pipeline.app.following import next_season

    made = next_season(season)
    for line in made.said:
        typer.echo(line)
    typer.echo(f"{made.path} is written; build it, or open it at the desk")


@app.command("calendar")
def calendar_command(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="A workspace; this folder if not given.")
    ] = Path(),
    ics: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write when each period is due, for your own calendar."),
    ] = None,
) -> None:
    """List every period of a workspace's seasons: when it is due, and what of it is out."""
    from pipeline.base.folders import write_whole
    from pipeline.workshop.overview import calendar_file, calendar_of
    from pipeline.workshop.workspace import workspaces_at

    seasons = [path for one in workspaces_at(folder) for path in one.seasons.values()]
    if not seasons:
        raise UserError(str(folder), "has no seasons", "give the folder of a workspace")
    lines = calendar_of(seasons, dt.datetime.now().astimezone().date())
    headings = ("begins", "due", "season", "period", "files", "out", "is", "editions")
    rows = [
        (
            one.begins.isoformat(),
            one.due.isoformat(),
            one.season,
            one.period,
            f"{one.sets}",
            f"{one.released}",
            one.state,
            one.editions,
        )
        for one in lines
    ]
    print_rows(headings, rows)
    if ics is not None:
        write_whole(ics, calendar_file(lines))
        typer.echo(f"{ics} is written")


@app.command("faces")
def faces_command(
    season: SeasonFile,
    save: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Save fonts of drawn letters there, to install them."),
    ] = None,
) -> None:
    """List the fonts a season's pages need: where each is found, its weights and its licence."""
    from pipeline.app.build import fonts_of_season, save_lettering

    if save is not None:
        for file in save_lettering(season, save):
            typer.echo(str(file))
    needs = fonts_of_season(season)
    print_rows(
        ("family", "found in", "weights", "embedding", "set in it", "licence"),
        [
            (
                need.family,
                need.origin or "NOT FOUND",
                need.weights,
                "allowed" if need.embedding else "forbidden" if need.origin else "",
                f"{len(need.used_by)} pages" if need.used_by else "(stands in)",
                " ".join(need.licence.split()).partition(". ")[0],
            )
            for need in needs
        ],
    )
    lacking = [need.family for need in needs if not need.origin]
    if lacking:
        raise UserError(
            str(season),
            "there is no font " + ", ".join(map(repr, lacking)),
            "put the files into the collection's fonts/ folder",
        )


@app.command("fit")
def fit_command(season: SeasonFile, only: OnlySet = None) -> None:
    """List the tightest text for each key, over all pages and languages."""
    from pipeline.app.build import fit_of_season

    rows = []
    for one in fit_of_season(season, only):
        way = f"shorter form {one.form}" if one.form else "drawn"
        if one.scale < 1:
            way += f", {one.scale:.0%} of its size"
        rows.append((one.key, f"{one.share:.0%}", one.text, one.language, one.page, way))
    print_rows(("key", "of its room", "tightest text", "language", "page", "set as"), rows)


@app.command("measure")
def measure_command(
    binder: Annotated[str, typer.Argument(metavar="BINDER", help="A binder size, such as a5.")],
    paper: Annotated[
        str | None, typer.Option(metavar="PAPER", help="Only this paper; all papers if not given.")
    ] = None,
    flap: Annotated[
        float | None,
        typer.Option(
            metavar="MM", help="The width of the flap; the widest that fits if not given."
        ),
    ] = None,
    sizes: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="A file of your own sizes; ./sizes.toml if not given."),
    ] = None,
) -> None:
    """Show what a binder size and a paper allow: holes, widest flap, leaves per sheet, margins."""
    from pipeline.impose.measure import described
    from pipeline.plan.sizes import load_sizes, users_sizes_file

    known = load_sizes(sizes or users_sizes_file(Path("season.toml")))
    papers = [known.paper(paper)] if paper else list(known.papers.values())
    typer.echo(described(known.binder(binder), papers, flap))
