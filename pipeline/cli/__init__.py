"""The command line: the only place that looks at the clock, the terminal and the current folder."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from pipeline import __version__
from pipeline.base.errors import UserError
from pipeline.cli import building, drawingtable, proofing  # noqa: F401 (their commands)
from pipeline.cli.terminal import app

__all__ = ["app", "main"]


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"leafset {__version__}")
        raise typer.Exit


@app.callback(invoke_without_command=True)
def _root(
    context: typer.Context,
    version: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Print the version."),
    ] = False,
) -> None:
    if context.invoked_subcommand is None:
        proofing.open_here()


def main() -> None:
    """Runs the command line; what the user can mend ends in one line and exit code 2."""
    try:
        app()
    except UserError as problem:
        print(f"leafset: {problem}", file=sys.stderr)
        sys.exit(2)
    except KeyboardInterrupt:
        print("leafset: stopped; files built earlier are still there", file=sys.stderr)
        sys.exit(130)
