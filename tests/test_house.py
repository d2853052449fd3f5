"""The house itself: its rooms as a picture, and one meaning a name."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import grimp
import svgwrite

from tests.conftest import ROOT, Golden

ROOMS = (
    "base", "text", "svg", "plan", "fill", "draw", "impose", "testsheets", "proof", "drawings",
    "publish", "app", "desk", "watch", "workshop", "cli",
)  # fmt: skip
"""From the ground up, as ``make lint`` holds them (``[tool.importlinter]`` in pyproject.toml)."""

PICTURE = ROOT / "docs" / "pictures" / "rooms.svg"
_ROW, _LEFT, _TOP, _TEXT = 24, 150, 34, 560


def test_picture_of_the_rooms_is_up_to_date(golden: Golden) -> None:
    """``docs/pictures/rooms.svg`` shows today's imports; ``make golden`` draws it anew."""
    drawn = _picture()
    if golden.renew:
        PICTURE.write_text(drawn, "utf-8")
    assert PICTURE.read_text("utf-8") == drawn


def test_file_names_are_found_once() -> None:
    places = defaultdict(list)
    for path in _modules():
        if not path.stem.startswith("__"):
            places[path.name].append(path.relative_to(ROOT).as_posix())
    assert {name: found for name, found in places.items() if len(found) > 1} == {}


def test_public_names_mean_one_thing() -> None:
    places = defaultdict(list)
    for path in _modules():
        for node in ast.parse(path.read_text("utf-8")).body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
                places[node.name].append(path.relative_to(ROOT).as_posix())
    assert {name: found for name, found in places.items() if len(found) > 1} == {}


def _modules() -> Iterator[Path]:
    return (ROOT / "pipeline").rglob("*.py")


def _picture() -> str:
    """A row a room with what it is for, and a dot for each room below that it imports from."""
    graph = grimp.build_graph("pipeline", cache_dir=None)
    wide, high = _LEFT + _ROW * len(ROOMS) + _TEXT, _TOP + _ROW * len(ROOMS) + 12
    drawing = svgwrite.Drawing(size=(wide, high), viewBox=f"0 0 {wide} {high}", debug=False)
    drawing.add(drawing.rect((0, 0), (wide, high), fill="#ffffff"))
    words = drawing.add(drawing.g(font_family="Source Sans 3, sans-serif", font_size=13))
    words.add(drawing.text("room", (12, 22), fill="#666666"))
    words.add(drawing.text("imports from", (_LEFT, 22), fill="#666666"))
    for number, room in enumerate(reversed(ROOMS)):
        y = _TOP + number * _ROW
        if number % 2 == 0:
            drawing.elements.insert(2, drawing.rect((0, y), (wide, _ROW), fill="#f4f3ee"))
        words.add(drawing.text(room, (12, y + 17), fill="#222222", font_weight="bold"))
        below = len(ROOMS) - 1 - number
        for column, other in enumerate(ROOMS[:below]):
            used = graph.direct_import_exists(
                importer=f"pipeline.{room}", imported=f"pipeline.{other}", as_packages=True
            )
            x = _LEFT + column * _ROW + _ROW / 2
            words.add(
                drawing.circle(
                    (x, y + _ROW / 2), 5 if used else 1, fill="#3f6b4f" if used else "#bbbbbb"
                )
            )
        own = drawing.text(room, (_LEFT + below * _ROW + 2, y + 17), fill="#999999", font_size=11)
        words.add(own)
        purpose = _purpose(room)
        words.add(drawing.text(purpose, (_LEFT + _ROW * len(ROOMS) + 40, y + 17), fill="#222222"))
    return str(drawing.tostring()) + "\n"


def _purpose(room: str) -> str:
    """The first line of a room's own docstring."""
    text = (ROOT / "pipeline" / room / "__init__.py").read_text("utf-8")
    return (ast.get_docstring(ast.parse(text)) or "").splitlines()[0]
