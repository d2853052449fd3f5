"""Libraries are used as they are: nothing in their modules is replaced by importing or using us."""

from __future__ import annotations

import subprocess
import sys

from tests.conftest import ROOT

PROGRAM = """
import contextlib, datetime, importlib, pkgutil

def modules():
    for package in ("babel", "cairocffi", "cairosvg", "pypdf", "svgwrite"):
        whole = importlib.import_module(package)
        yield whole
        for each in pkgutil.walk_packages(whole.__path__, package + "."):
            if each.name.rpartition(".")[2].startswith(("test", "__main__")):
                continue
            with contextlib.suppress(ImportError, OSError):  # for libraries that are not there
                yield importlib.import_module(each.name)

def state():
    '''What each name in each module stands for, and each key of its tables and classes.'''
    found = {}
    for module in KNOWN:
        for name, value in vars(module).items():
            found[module.__name__, name] = value
            if isinstance(value, (dict, type)) and not name.startswith("__"):
                inside = value if isinstance(value, dict) else vars(value)
                for key, inner in inside.items():
                    found[module.__name__, name, str(key)] = inner
    return found

KNOWN = list(modules())
before = state()

from pipeline.draw import draw
from pipeline.plan.words import words_for
from pipeline.text import FontBook
import pipeline.app.build, pipeline.cli

for language in ("he", "nb", "de"):
    words_for(language).month_name(datetime.date(2027, 3, 1))
drawing = '''<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60">
<defs><linearGradient id="g"><stop stop-color="red"/><stop offset="1" stop-color="blue"/>
</linearGradient><pattern id="p" width="5" height="5" patternUnits="userSpaceOnUse"><g>
<circle r="2"/></g></pattern><mask id="m" x="0" y="0" width="90" height="60"
maskUnits="userSpaceOnUse"><g><circle r="40" fill="#fff"/></g></mask></defs>
<rect width="40" height="40" fill="url(#p)" stroke="url(#g)"/>
<g mask="url(#m)"><path d="M0 0h9v9z"/></g>
<text y="20" font-family="Source Sans 3" font-size="9" opacity=".5">Monday</text></svg>'''
assert b"%PDF" in draw([drawing.encode()], FontBook())

after = state()
changed = sorted(key for key, value in before.items() if after.get(key) is not value)
print(len(KNOWN), len(before), changed)
"""


def test_no_name_in_a_library_is_given_another_meaning() -> None:
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM], cwd=ROOT, check=True, capture_output=True, text=True
    )
    modules, names, changed = done.stdout.split(" ", 2)
    assert int(modules) > 60
    assert int(names) > 3000
    assert changed.strip() == "[]"
