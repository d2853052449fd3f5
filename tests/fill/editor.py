"""Templates opened and saved again by a vector editor, as an illustrator does all day."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path

from pipeline.fill.template import TemplateFile
from tests.tools import tool

FORMS: Mapping[str, Sequence[str]] = {
    "the editor's own SVG": ["export-plain-svg:false"],
    "plain SVG": ["export-plain-svg:true"],
    "with a style on everything, turned and turned back": [
        "select-all:all",
        "object-set-property:stroke-miterlimit,4",
        "select-clear",
        "select-all:layers",
        "transform-rotate:90",
        "transform-rotate:-90",
        "export-plain-svg:false",
    ],
    "all layers in one group, turned, saved as plain SVG": [
        "select-all:layers",
        "selection-group",
        "transform-rotate:90",
        "transform-rotate:-90",
        "vacuum-defs",
        "export-plain-svg:true",
    ],
}
"""What is done to a template between opening and saving, by the name of the form it is saved in."""


def resaved(files: Sequence[TemplateFile], form: str, folder: Path) -> list[TemplateFile]:
    """The templates as Inkscape saves them in one of ``FORMS``, under their old names.

    ``folder`` is for the editor's files; it must be empty.
    """
    program = tool("inkscape")
    lines = []
    for number, file in enumerate(files):
        (folder / f"{number}.svg").write_bytes(file.data)
        actions = [
            f"file-open:{folder / f'{number}.svg'}",
            *FORMS[form],
            "export-type:svg",
            f"export-filename:{folder / f'{number}-saved.svg'}",
            "export-do",
            "file-close",
        ]
        lines.append(";".join(actions))
    subprocess.run(
        [program, "--shell"],
        input="\n".join([*lines, "quit", ""]).encode(),
        env={**os.environ, "INKSCAPE_PROFILE_DIR": str(folder / "profile")},
        check=True,
        capture_output=True,
        timeout=300,
    )
    return [
        TemplateFile(file.path, (folder / f"{number}-saved.svg").read_bytes())
        for number, file in enumerate(files)
    ]
