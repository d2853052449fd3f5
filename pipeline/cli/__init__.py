"""The command line: the only place that looks at the clock, the terminal and the current folder."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from pipeline import __version__
from pipeline.base.errors import UserError

if TYPE_CHECKING:
    from rich.table import Table

    from pipeline.app.made import MadeSet

app = typer.Typer(
    help="Dated binder inserts, from drawn SVG templates to print files.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)

CACHE = ".cache"
"""Where drawings are kept, within the build folder."""

SeasonFile = Annotated[Path, typer.Argument(metavar="SEASON.toml", help="What to make.")]
OnlySet = Annotated[str | None, typer.Option("--only", metavar="SET", help="Only this set.")]
OutFolder = Annotated[
    Path | None, typer.Option("--out", metavar="DIR", help="Where to; build/ if not given.")
]
Port = Annotated[
    int, typer.Option(min=0, max=65535, metavar="N", help="Where to listen; 0: any free port.")
]
SideName = Literal["recto", "verso"]
InBrowser = Annotated[bool, typer.Option("--browser/--no-browser", help="Open it in the browser.")]


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"leafset {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Say which version."),
    ] = False,
) -> None:
    pass


@app.command()
def build(
    season: SeasonFile,
    only: OnlySet = None,
    out: OutFolder = None,
    keep_svg: Annotated[
        bool, typer.Option("--keep-svg", help="Keep every page's filled SVG as well.")
    ] = False,
    scheduler: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Make it on the cluster of this dask scheduler."),
    ] = None,
) -> None:
    """Make a season's print files: side 1, side 2 and both sides of every set."""
    from pipeline.app.made import unchanged

    target = _out(out)
    made = unchanged(season, target) if only is None and not keep_svg else None
    if made is not None:
        print("Nothing has changed since the last build.")
    else:
        from pipeline.app.build import make_season

        with _progress("Making") as step:
            made = make_season(
                season,
                target,
                only=only,
                keep_svg=keep_svg,
                cache=target / CACHE,
                scheduler=scheduler,
                step=step,
            )
    _print_table(made, target)


@app.command()
def clean(out: OutFolder = None) -> None:
    """Throw away the drawings kept to make builds fast; what was built stays."""
    from pipeline.base.cache import clean as clean_cache

    size = clean_cache(_out(out) / CACHE)
    typer.echo(f"{size / 1e6:.1f} MB thrown away")


@app.command()
def proof(season: SeasonFile, only: OnlySet = None, out: OutFolder = None) -> None:
    """Make pictures of what the print files will print: sheets, spreads, contact sheets."""
    from pipeline.app.build import prove_season

    target = _out(out)
    with _progress("Proofing") as step:
        folders = prove_season(season, target, only=only, step=step)
    for folder in folders:
        typer.echo(str(folder))


@app.command()
def check(
    season: SeasonFile,
    only: OnlySet = None,
    out: OutFolder = None,
    as_json: Annotated[bool, typer.Option("--json", help="As JSON, for programs.")] = False,
) -> None:
    """Look for mistakes in the finished files; ends with 1 when something must be mended."""
    import json

    from pipeline.app.check import as_data, as_rows, check_season, must_be_mended, summary

    target = _out(out)
    if as_json:
        found = check_season(season, target, only=only)
        typer.echo(json.dumps(as_data(found), indent=1, ensure_ascii=False))
    else:
        with _progress("Checking") as step:
            found = check_season(season, target, only=only, step=step)
        if found:
            headings = ("", "set", "where", "at mm", "what", "what to do")
            _print_rows(headings, as_rows(found), wrapped=5)
        typer.echo(summary(found))
    if must_be_mended(found):
        raise typer.Exit(1)


@app.command()
def desk(
    season: SeasonFile,
    out: OutFolder = None,
    port: Port = 0,
    browser: InBrowser = True,
) -> None:
    """Look at what was built, compare it with what was passed, pass it or send it back."""
    from pipeline.app.build import built_folders, season_title
    from pipeline.desk import open_desk

    target = _out(out)
    folders = built_folders(season, target)
    title = season_title(season)
    try:
        open_desk(
            title,
            season,
            folders,
            target,
            port,
            _now,
            browser=browser,
            say=_say_address,
        )
    except KeyboardInterrupt:
        typer.echo("The desk is closed.")


@app.command()
def watch(
    season: SeasonFile,
    only: OnlySet = None,
    out: OutFolder = None,
    port: Port = 0,
    browser: InBrowser = True,
) -> None:
    """See pages dated and in the rings while you draw: every save shows on the desk at once."""
    from pipeline.watch import watch_season

    target = _out(out)
    try:
        watch_season(
            season,
            target,
            target / CACHE,
            only,
            port,
            _now,
            browser=browser,
            say=_say_address,
        )
    except KeyboardInterrupt:
        typer.echo("The desk is closed.")


def _say_address(address: str) -> None:
    typer.echo(f"The desk is open at {address}\nCtrl-C closes it.")


def _now() -> str:
    """The time, to the second, in UTC, as ISO 8601 writes it."""
    import datetime as dt

    return dt.datetime.now(dt.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


@app.command()
def publish(
    season: SeasonFile,
    only: OnlySet = None,
    out: OutFolder = None,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Only say what would be published; write nothing.")
    ] = False,
    pictures: Annotated[
        bool, typer.Option("--pictures/--no-pictures", help="Make the shop pictures as well.")
    ] = True,
) -> None:
    """Make bundles for buyers of every set that is passed, and a page to upload them from.

    Exit code 1: a set was held back because it is not passed as it is now. 2: one is wrong.
    """
    from pipeline.app.release import publish_season
    from pipeline.publish.bundle import Outcome

    with _progress("Looking" if dry_run else "Publishing") as step:
        published = publish_season(
            season,
            _out(out),
            at=_now(),
            only=only,
            dry_run=dry_run,
            pictures=pictures,
            step=step,
        )
    rows = [
        (one.name, str(one.version), str(one.files), f"{one.zip_bytes / 1e6:.1f} MB", one.state)
        for one in published.told
        if one.out
    ]
    if rows:
        _print_rows(("bundle", "version", "files", "zip", ""), rows)
    for advice in published.advice:
        print(f"Note: {advice}")
    held = [one for one in published.told if not one.out]
    wrong_alike: dict[str, list[str]] = {}
    for one in held:
        if one.outcome is Outcome.WRONG:
            wrong_alike.setdefault(one.why, []).append(one.key)
        else:
            print(f"leafset: {one.key}: {one.why}", file=sys.stderr)
    for why, keys in wrong_alike.items():
        more = f" and {len(keys) - 1} more" if len(keys) > 1 else ""
        print(f"leafset: {keys[0]}{more}: {why}", file=sys.stderr)
    for name, why in published.undressed:
        print(f"leafset: pictures of {name}: {why}", file=sys.stderr)
    if dry_run:
        print(f"{len(rows)} of {len(published.told)} sets would be out; nothing was written.")
    elif rows:
        print(f"{len(rows)} of {len(published.told)} sets are out: {published.page}")
    wrong = published.undressed or any(one.outcome is Outcome.WRONG for one in held)
    if wrong or held:
        raise typer.Exit(2 if wrong else 1)


@app.command()
def measure(
    binder: Annotated[str, typer.Argument(metavar="BINDER", help="A binder size, such as a5.")],
    paper: Annotated[
        str | None, typer.Option(metavar="PAPER", help="Only on this paper; else on all.")
    ] = None,
    flap: Annotated[
        float | None, typer.Option(metavar="MM", help="With a flap so wide; else the widest.")
    ] = None,
    sizes: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Your own sizes; sizes.toml here if not given."),
    ] = None,
) -> None:
    """Tell what a binder size and a paper allow: holes, widest flap, leaves a sheet, margins."""
    from pipeline.impose.measured import described
    from pipeline.plan.sizes import load_sizes, users_sizes_file

    known = load_sizes(sizes or users_sizes_file(Path("season.toml")))
    papers = [known.paper(paper)] if paper else list(known.papers.values())
    typer.echo(described(known.binder(binder), papers, flap))


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(metavar="NAME", help="The folder to make.")],
    binder: Annotated[
        str, typer.Option(metavar="BINDER", help="The binder size its pages are for.")
    ] = "a5",
) -> None:
    """Make a workspace: a season, a collection of two pages and labels, ready to build."""
    import datetime as dt

    from pipeline.drawings.starters import new_workspace
    from pipeline.plan.calendar import month_end
    from pipeline.plan.sizes import load_sizes

    coming = month_end(dt.date.today()) + dt.timedelta(days=1)
    command = "leafset" if shutil.which("leafset") else f'"{sys.executable}" -m pipeline.cli'
    for file in new_workspace(folder, load_sizes(None).binder(binder), coming, command):
        typer.echo(str(file))
    typer.echo(f'\nNow: cd "{folder}" && make build')


@app.command()
def starter(
    kind: Annotated[str, typer.Argument(metavar="KIND", help="week, month, opening, list, notes.")],
    binder: Annotated[str, typer.Option(metavar="BINDER", help="A binder size, such as a5.")],
    flap: Annotated[
        float, typer.Option(metavar="MM", help="The width of the flap on its fore edge.")
    ] = 0.0,
    side: Annotated[SideName, typer.Option(help="The side of the leaf it is for.")] = "recto",
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Where to; KIND.svg here if not given.")
    ] = None,
) -> None:
    """Write a template to begin from: true size, guides, and every key its kind can hold."""
    from pipeline.drawings.starters import write_starter
    from pipeline.plan.model import Side
    from pipeline.plan.sizes import load_sizes, users_sizes_file

    sizes = load_sizes(users_sizes_file(Path("seasons/season.toml")))
    target = out or Path(f"{kind}.svg")
    for line in write_starter(target, kind, sizes.binder(binder), flap, Side(side)):
        typer.echo(line)


@app.command()
def directions(
    collection: Annotated[
        Path, typer.Argument(metavar="COLLECTION", help="The collection's folder.")
    ],
) -> None:
    """Copy the templates of buyers' directions into a collection, to make them your own."""
    from pipeline.publish.directions import copy_directions

    for file in copy_directions(collection):
        typer.echo(str(file))


@app.command()
def resize(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE…", help="Templates; those of a spread together.")
    ],
    to: Annotated[str, typer.Option(metavar="BINDER", help="The binder size to make them for.")],
    flap: Annotated[
        float | None,
        typer.Option(metavar="MM", help="How wide their flaps get; else in proportion."),
    ] = None,
    side: Annotated[
        SideName | None, typer.Option(help="Their side of the leaf, where it cannot be told.")
    ] = None,
    smallest: Annotated[
        float, typer.Option(metavar="MM", min=0.5, help="No type is made smaller than this.")
    ] = 2.1,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Where to; a folder for several files.")
    ] = None,
) -> None:
    """Make a template for another binder size from a drawn one, to be edited further."""
    from pipeline.drawings.resize import resize_files
    from pipeline.plan.model import Side
    from pipeline.plan.sizes import load_sizes, users_sizes_file

    sizes = load_sizes(users_sizes_file(Path("seasons/season.toml")))
    for line in resize_files(
        files,
        sizes.binder(to),
        sizes,
        flap_mm=flap,
        out=out,
        side=Side(side) if side else None,
        smallest_mm=smallest,
    ):
        typer.echo(line)


@app.command()
def lint(
    paths: Annotated[
        list[Path], typer.Argument(metavar="PATH…", help="Templates, folders or collections.")
    ],
    fix: Annotated[
        bool, typer.Option("--fix", help="Mend what is mechanical, and nothing else in the file.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Say it for programs.")] = False,
) -> None:
    """Tell what in the drawings will not print as it looks; exit code 1 if it must be mended."""
    import json

    from pipeline.drawings.checks import Severity, summary, templates_under
    from pipeline.drawings.checks import lint as look_through

    files = [file for path in paths for file in templates_under(path)]
    findings, mended = look_through(files, fix=fix)
    if as_json:
        typer.echo(json.dumps([one.as_json() for one in findings], ensure_ascii=False, indent=1))
    else:
        for one in findings:
            typer.echo(str(one))
        typer.echo(summary(len(files), findings, mended))
    if any(one.severity is Severity.MEND for one in findings):
        raise typer.Exit(1)


@app.command()
def fonts(season: SeasonFile) -> None:
    """List the faces a season's pages need: where each is found, its weights and its licence."""
    from pipeline.app.build import fonts_of_season

    needs = fonts_of_season(season)
    _print_rows(
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


@app.command()
def fit(season: SeasonFile, only: OnlySet = None) -> None:
    """List for each key the text that fills its room most, over all pages and languages."""
    from pipeline.app.build import fit_of_season

    _print_rows(
        ("key", "of its room", "tightest text", "language", "page", "set as"),
        [
            (
                tight.key,
                f"{tight.share:.0%}",
                tight.text,
                tight.language,
                tight.page,
                _set_as(tight.form, tight.scale),
            )
            for tight in fit_of_season(season, only)
        ],
    )


def _set_as(form: int, scale: float) -> str:
    shorter = f"shorter form {form}" if form else "drawn"
    return f"{shorter}, {scale:.0%} of its size" if scale < 1 else shorter


def _print_rows(headings: Sequence[str], rows: Sequence[Sequence[str]], wrapped: int = 1) -> None:
    """A plain table; its last ``wrapped`` columns are broken into lines where it is too wide."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, pad_edge=False, header_style="bold")
    for number, heading in enumerate(headings, 1):
        table.add_column(heading, no_wrap=number <= len(headings) - wrapped)
    for row in rows:
        table.add_row(*map(Text, row))  # brackets are no markup
    Console(width=None if sys.stdout.isatty() else 200).print(table, highlight=False)


def _out(out: Path | None) -> Path:
    return out if out is not None else Path("build")


class _progress:  # noqa: N801 (used like a function)
    """Shows a bar on a terminal and plain lines elsewhere; gives a ``step(done, all, what)``."""

    def __init__(self, doing: str) -> None:
        self.doing = doing

    def __enter__(self) -> Callable[[int, int, str], None]:
        if not sys.stderr.isatty():
            return lambda done, whole, what: print(f"{self.doing} {done}/{whole}  {what}")
        from rich.console import Console
        from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

        self._bar = Progress(
            TextColumn(self.doing),
            BarColumn(),
            MofNCompleteColumn(),
            TextColumn("{task.fields[what]}"),
            console=Console(stderr=True),
            transient=True,
        )
        task = self._bar.add_task("", total=None, what="")
        self._bar.start()
        return lambda done, whole, what: self._bar.update(
            task, completed=done, total=whole, what=what
        )

    def __exit__(self, *_: object) -> None:
        if hasattr(self, "_bar"):
            self._bar.stop()


def _print_table(made: list[MadeSet], target: Path) -> None:
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
    console.print(f"{len(made)} sets in {target}", highlight=False)


def _table_of(made: list[MadeSet], *, where: bool) -> Table:
    """A row for each set, with its folder where that is asked for."""
    from rich.table import Table

    table = Table(box=None, pad_edge=False, header_style="bold")
    for heading in ("period", "set", "paper"):
        table.add_column(heading, no_wrap=True)
    counts = ("spreads", "leaves", "sheets", "cuts", "folds", "punch", "pack", "ink", "files")
    for heading in (*counts, "size"):
        table.add_column(heading, justify="right", no_wrap=True)
    if where:
        table.add_column("where", no_wrap=True)
    for one in made:
        cells = [
            one.period,
            one.name,
            one.paper,
            str(one.spreads),
            str(one.leaves),
            str(one.sheets),
            str(one.cuts),
            str(one.folds),
            str(one.punch_strokes),
            f"{one.weight_g:.0f} g, {one.thickness_mm:.1f} mm",
            f"{one.ink_percent:.1f} %",
            str(one.files),
            f"{one.size / 1000:,.0f} kB",
        ]
        table.add_row(*cells, *([one.folder] if where else []))
    return table


def main() -> None:
    """Runs the command line; what the user can mend ends in one line and exit code 2."""
    try:
        app()
    except UserError as problem:
        print(f"leafset: {problem}", file=sys.stderr)
        sys.exit(2)
    except KeyboardInterrupt:
        print("leafset: stopped; what was made before is still there", file=sys.stderr)
        sys.exit(130)
