"""What the commands share: their app, common options, and what they show on a terminal."""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Literal

import typer

app = typer.Typer(
    help="Dated binder inserts, from drawn SVG templates to print files.",
    add_completion=False,
    pretty_exceptions_enable=False,
)

BUILD = Path("build")

SeasonFile = Annotated[Path, typer.Argument(metavar="SEASON.toml", help="The season file.")]
OnlySet = Annotated[str | None, typer.Option("--only", metavar="SET", help="Only this set.")]
OnlySets = Annotated[
    list[str] | None,
    typer.Option(
        "--only", metavar="SET", help="Only this set: running, march/running; may be given again."
    ),
]
OutFolder = Annotated[Path, typer.Option("--out", metavar="DIR", help="The build folder.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON, for programs.")]
SideName = Literal["recto", "verso"]


def now() -> str:
    """The time, to the second, in UTC, as ISO 8601 writes it."""
    return dt.datetime.now(dt.UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def print_rows(headings: Sequence[str], rows: Sequence[Sequence[str]], wrapped: int = 1) -> None:
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


@contextmanager
def progress(doing: str) -> Iterator[Callable[[int, int, str], None]]:
    """A ``step(done, whole, what)`` that moves a bar on a terminal and prints lines elsewhere."""
    if not sys.stderr.isatty():
        yield lambda done, whole, what: print(f"{doing} {done}/{whole}  {what}")
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

    with Progress(
        TextColumn(doing),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("{task.fields[what]}"),
        console=Console(stderr=True),
        transient=True,
    ) as bar:
        task = bar.add_task("", total=None, what="")
        yield lambda done, whole, what: bar.update(task, completed=done, total=whole, what=what)
