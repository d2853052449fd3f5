"""The command line: the only place that looks at the clock, the terminal and the current folder."""

from __future__ import annotations

import sys
from collections.abc import Sequence
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


_NOW_CALLED = {
    "new": "begin",
    "publish": "release",
    "lint": "check",
    "clean": "build --afresh",
    "fonts": "faces",
    "--dry-run": "--only-say",
    "--fix": "--mend",
}
"""What commands and options were called before, and what they are called now."""


def _old_name(arguments: Sequence[str]) -> UserError | None:
    """What to say of an old name that stands where the new one should."""
    named = next((one for one in arguments if not one.startswith("-")), "")
    for old in (named, *(one for one in arguments if one.startswith("--"))):
        if (now := _NOW_CALLED.get(old)) is not None:
            return UserError("", f"'{old}' is called '{now}' now")
    return None


def main() -> None:
    """Runs the command line; what the user can mend ends in one line and exit code 2."""
    try:
        if (problem := _old_name(sys.argv[1:])) is not None:
            raise problem
        app()
    except UserError as problem:
        print(f"leafset: {problem}", file=sys.stderr)
        sys.exit(2)
    except OSError:
        from pipeline.base.system import advice, missing

        if not (lacking := [one for one in missing() if one != "venv"]):
            raise
        print(f"leafset: missing {', '.join(lacking)}; {advice(lacking)}", file=sys.stderr)
        sys.exit(2)
    except KeyboardInterrupt:
        print("leafset: stopped; files built earlier are still there", file=sys.stderr)
        sys.exit(130)
