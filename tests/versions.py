"""The libraries that drawings go through, in the oldest and the newest versions we allow.

``make versions`` puts either set into a folder that stands first on the path, and runs the tests
of drawing, imposing and reading back with it. Golden pictures hold for the pinned versions only.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import tomllib

from tests.conftest import ROOT

REACHED_INTO = ("babel", "cairocffi", "cairosvg", "pypdf")
"""Libraries that we extend by subclassing, or whose objects we handle."""

TESTS = (
    *("tests/draw/test_draw.py", "tests/draw/test_features.py", "tests/draw/test_layers.py"),
    *("tests/draw/test_vector.py", "tests/impose/test_finished_files.py"),
    *("tests/plan/test_plan_languages.py", "tests/test_dependencies.py"),
)
"""Of drawing, of finished files, of languages; none that asks for one CLDR release's wording."""


def allowed() -> dict[str, tuple[str, str]]:
    """The oldest version of each, and the first that is too new, as pyproject.toml has them."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    found = {}
    for line in project["dependencies"]:
        capped = re.fullmatch(r"([\w-]+)>=([\d.]+),<([\d.]+)", line)
        if capped and capped[1] in REACHED_INTO:
            found[capped[1]] = (capped[2], capped[3])
    assert sorted(found) == sorted(REACHED_INTO), "each has a lower and an upper bound"
    return found


def tested(wanted: list[str]) -> bool:
    """Whether the tests pass with such versions; prints which they are."""
    pip = (sys.executable, "-m", "pip", "install", "--quiet", "--disable-pip-version-check")
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([*pip, "--no-deps", "--target", folder, *wanted], check=True)
        environment = os.environ | {"PYTHONPATH": folder}
        asked = (
            f"from importlib.metadata import version as v; [print(n, v(n)) for n in {REACHED_INTO}]"
        )
        subprocess.run([sys.executable, "-c", asked], check=True, env=environment)
        run = ("pytest", "--quiet", "--numprocesses", "auto", "--dist", "loadfile")
        chosen = (*TESTS, "-k", "not golden")
        return not subprocess.run(
            [sys.executable, "-m", *run, *chosen], cwd=ROOT, env=environment
        ).returncode


if __name__ == "__main__":
    bounds = allowed()
    oldest = [f"{name}=={first}" for name, (first, _) in bounds.items()]
    newest = [f"{name}<{end}" for name, (_, end) in bounds.items()]
    sys.exit(not all([tested(oldest), tested(newest)]))
