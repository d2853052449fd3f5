"""What the pages beside a page show, for a week may be spread over several."""

from __future__ import annotations

import re
from collections.abc import Sequence

from pipeline.base.errors import UserError
from pipeline.drawings.checks.place import Place
from pipeline.fill.template import open_template, read_template
from pipeline.svg.tree import names


def numbers_on(place: Place, stems: Sequence[str], family: str) -> set[int]:
    """Numbers of a family's keys (``day``: 1 to 7) on the other templates of ``stems``."""
    found: set[int] = set()
    for stem in stems:
        path = place.path.with_name(f"{stem}.svg")
        if stem == place.stem or not path.is_file():
            continue
        try:
            root = read_template(open_template(path)).root
        except UserError:
            continue  # it is told of when that file is looked at
        for element in root.iter():
            for name in names(element):
                match = re.match(rf"{family}(\d+)-", name)
                if match:
                    found.add(int(match[1]))
    return found
