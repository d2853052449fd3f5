"""Makes a workspace: a folder with a season, a collection of two pages and labels, that builds."""

from __future__ import annotations

import datetime as dt
import json
from importlib import resources
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.base.foldername import safe_name
from pipeline.base.folders import whole_folder
from pipeline.drawings.starters.pages import LABELS
from pipeline.drawings.starters.starter import starter
from pipeline.plan.model import Binder, Side
from pipeline.plan.words import words_for

_PAGES = (("week", Side.VERSO), ("list", Side.RECTO))
"""The pages of a new collection: a spread for each week."""


def new_workspace(
    folder: Path, binder: Binder, month: dt.date, command: str = "leafset"
) -> list[Path]:
    """Makes ``folder`` a workspace whose season has the month that ``month`` is in.

    ``command`` is how its Makefile calls the program. Returns the files in it. The folder's name
    becomes that of the season and the collection. Raises UserError when the folder is there
    already, or its name will not do.
    """
    name = folder.name
    try:
        safe_name(name)
    except ValueError as problem:
        what, _, remedy = str(problem).partition("; ")
        raise UserError(str(folder), what, remedy) from None
    if folder.exists():
        raise UserError(str(folder), "is there already", "give the workspace another name")
    period = words_for("en-GB").month_name(month)[0].lower()
    words = {
        "NAME": name,
        "TITLE": name.replace("-", " ").replace("_", " ").capitalize(),
        "BINDER": binder.name,
        "PERIOD": period,
        "MONTH": f"{month:%Y-%m}",
        "COMMAND": command,
    }
    collection = f"templates_svg/{name}"
    files = {
        "Makefile": _filled("Makefile", words),
        "README.md": _filled("README.md", words),
        ".gitignore": b"build/\n",
        f"seasons/{name}.toml": _filled("season.toml", words),
        f"{collection}/collection.toml": _filled("collection.toml", words),
        f"{collection}/labels/en.toml": _labels(),
        f"{collection}/licence/en.txt": _filled("licence.txt", words),
    }
    for kind, side in _PAGES:
        files[f"{collection}/{binder.name}/{kind}.svg"] = starter(kind, binder, side=side).svg
    with whole_folder(folder) as new:
        for path, data in files.items():
            (new / path).parent.mkdir(parents=True, exist_ok=True)
            (new / path).write_bytes(data)
    return [folder / path for path in files]


def _filled(name: str, words: dict[str, str]) -> bytes:
    skeleton = resources.files("pipeline.drawings.starters") / "skeleton"
    text = skeleton.joinpath(name).read_text("utf-8")
    for key, word in words.items():
        text = text.replace(f"@{key}@", word)
    return text.encode()


def _labels() -> bytes:
    lines = ["# Words on the pages that are no dates; a list gives shorter forms, longest first."]
    lines += [f"{key} = {json.dumps(word)}" for key, word in LABELS.items()]
    return ("\n".join(lines) + "\n").encode()
