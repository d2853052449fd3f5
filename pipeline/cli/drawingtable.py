"""Commands for whoever draws: workspaces, starter pages, resizing."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from pipeline.cli.terminal import SideName, app


@app.command("begin")
def begin_command(
    folder: Annotated[Path, typer.Argument(metavar="NAME", help="The new folder.")],
    binder: Annotated[
        str, typer.Option(metavar="BINDER", help="The binder size its pages are for.")
    ] = "a5",
) -> None:
    """Create a workspace: a season, a collection of two pages, and labels, ready to build."""
    import datetime as dt

    from pipeline.workshop.workspace import begin

    for file in begin(folder, "", [binder], ["letter", "a4"], ["en-GB"], None, dt.date.today()):
        typer.echo(str(file))
    typer.echo(f'\nNow: cd "{folder}" && make build')


@app.command("starter")
def starter_command(
    kind: Annotated[
        str,
        typer.Argument(
            metavar="KIND",
            help="week, day, month, month-grid, tracker, year, opening, list, notes, divider or "
            "marker.",
        ),
    ],
    binder: Annotated[str, typer.Option(metavar="BINDER", help="A binder size, such as a5.")],
    flap: Annotated[
        float, typer.Option(metavar="MM", help="The width of the flap on its fore edge.")
    ] = 0.0,
    side: Annotated[SideName, typer.Option(help="The side of the leaf it is for.")] = "recto",
    out: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="The file to write; ./KIND.svg if not given."),
    ] = None,
) -> None:
    """Write a starter template: true size, guides, and the keys its kind is for."""
    from pipeline.drawings.starters.starter import write_starter
    from pipeline.plan.model import Side
    from pipeline.plan.sizes import load_sizes, users_sizes_file

    sizes = load_sizes(users_sizes_file(Path("seasons/season.toml")))
    target = out or Path(f"{kind}.svg")
    for line in write_starter(target, kind, sizes.binder(binder), flap, Side(side)):
        typer.echo(line)


@app.command("directions")
def directions_command(
    collection: Annotated[
        Path, typer.Argument(metavar="COLLECTION", help="The collection's folder.")
    ],
) -> None:
    """Copy the templates of buyers' directions into a collection, to make them your own."""
    from pipeline.publish.directions import copy_directions

    for file in copy_directions(collection):
        typer.echo(str(file))


@app.command("resize")
def resize_command(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="FILE…", help="The templates; give both pages of a spread."),
    ],
    to: Annotated[str, typer.Option(metavar="BINDER", help="The new binder size.")],
    flap: Annotated[
        float | None,
        typer.Option(metavar="MM", help="The new width of flaps; in proportion if not given."),
    ] = None,
    side: Annotated[
        SideName | None,
        typer.Option(help="The side of the leaf, if it isn't clear from the drawing."),
    ] = None,
    smallest: Annotated[
        float, typer.Option(metavar="MM", min=0.5, help="The smallest type size.")
    ] = 2.1,
    out: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="The file to write, or a folder for several."),
    ] = None,
) -> None:
    """Redraw templates for another binder size, to be edited further."""
    from pipeline.drawings.resize.resizing import resize_files
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
