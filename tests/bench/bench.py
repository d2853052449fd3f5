"""``make bench``: what a set costs, our way and others', in one run.

Every figure is of a fresh process (so peak memory is its own), timed inside it after imports. The
plain way is one CairoSVG call for each page and pypdf's append, in a process that never imports
leafset (``stock.py``); it and other converters get the same filled pages as files. Figures are
ratios within this run; nothing here is a test.
"""

from __future__ import annotations

import argparse
import copy
import json
import random
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from lxml import etree

from tests.bench import wholeway

ROOT = Path(__file__).parent.parent.parent
DEMO = ROOT / "templates_svg" / "kitchen_garden"
SVG = "{http://www.w3.org/2000/svg}"
PAGES = ("week-running-verso", "week-running-recto")
HEAVY_PATHS = 3000
HEAVY_LINE = {"fill": "none", "stroke": "#4c5a3f", "stroke-width": "0.2"}
LABELS = ("week", "the week")

SEASON = """
name = "bench"
title = "Bench"
collection = "bench"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4"]
weeks = "touches"
[[period]]
name = "weeks"
from = 2027-01-01
to = {last}
[[set]]
name = "running"
spreads = [{{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }}]
"""


def workspace(folder: Path, heavy: bool, weeks: int) -> Path:
    """A season of so many weeks on two templates, light or with 3,000 different paths each."""
    import datetime as dt

    collection = folder / "templates_svg" / "bench"
    for part in ("labels", "fonts"):
        shutil.copytree(DEMO / part, collection / part)
    for labels in (collection / "labels").iterdir():
        words, _, called = labels.read_text("utf-8").partition("[templates]\n")
        own = [line for line in called.splitlines() if line.startswith(PAGES)]
        labels.write_text("\n".join([words, "[templates]", *own]) + "\n", "utf-8")
    (collection / "collection.toml").write_text(
        'title = "Bench"\n[fallback_fonts]\nany = ["Source Sans 3"]\n'
        "[flaps_mm.a5]\nweek-running-verso = 42\n"
    )
    (collection / "a5").mkdir()
    for name in PAGES:
        data = (DEMO / "a5" / f"{name}.svg").read_bytes()
        (collection / "a5" / f"{name}.svg").write_bytes(grown(data) if heavy else data)
    season = folder / "seasons" / "bench.toml"
    season.parent.mkdir()
    last = min(dt.date(2027, 1, 3) + dt.timedelta(weeks=weeks - 1), dt.date(2027, 12, 31))
    season.write_text(SEASON.format(last=last.isoformat()))
    return season


def grown(svg: bytes) -> bytes:
    """A template with its paths drawn again, each a little otherwise, until there are enough."""
    chance = random.Random(27)
    root = etree.fromstring(svg)
    paths = [path for path in root.iter(SVG + "path") if not path.get("id")]
    layer = next(group for group in root.iter(SVG + "g") if group.get("id") == "artwork")
    while len(list(root.iter(SVG + "path"))) < HEAVY_PATHS:
        path = copy.deepcopy(chance.choice(paths))
        shifted = re.sub(
            r"\d+\.\d+",
            lambda match: f"{float(match[0]) + chance.uniform(-0.4, 0.4):.2f}",
            path.get("d", ""),
        )
        path.set("d", shifted)
        x, y = chance.uniform(30, 120), chance.uniform(40, 180)  # off the page it would cost little
        for name, value in {**HEAVY_LINE, "transform": f"translate({x:.2f} {y:.2f})"}.items():
            path.set(name, value)
        layer.append(path)
    return bytes(etree.tostring(root))


def measured(act: Callable[[], int]) -> dict[str, float]:
    """Seconds, bytes that came out, and the process's peak memory in MB."""
    start = time.perf_counter()
    size = act()
    seconds = time.perf_counter() - start
    return {"seconds": seconds, "bytes": size, "memory": peak_mb(resource.RUSAGE_SELF)}


def peak_mb(who: int) -> float:
    return resource.getrusage(who).ru_maxrss / 1024


def job(season: Path) -> Any:
    from pipeline.app.build import jobs_of
    from pipeline.plan import plan_season

    return jobs_of(plan_season(season))[0]


def pages(season: Path) -> list[bytes]:
    from pipeline.fill import fill_set

    one = job(season)
    return [page.whole() for page in fill_set(one.plan, one.templates, one.faces.book())]


def stock(way: str, svgs: list[bytes]) -> dict[str, float]:
    """What CairoSVG and pypdf alone cost for these pages, in a process without leafset."""
    with tempfile.TemporaryDirectory() as folder:
        for number, svg in enumerate(svgs):
            (Path(folder) / f"{number:04d}.svg").write_bytes(svg)
        command = [sys.executable, str(Path(__file__).with_name("stock.py")), way, folder]
        done = subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True)
    result: dict[str, float] = json.loads(done.stdout)
    return result


def ours(season: Path, cache: Path | None) -> dict[str, float]:
    from pipeline.app.jobs import drawn
    from pipeline.base.cache import Cache

    one = job(season)
    one.faces.book()
    return measured(lambda: len(drawn(one, Cache(cache))[1]))


def floor(season: Path) -> dict[str, float]:
    """Each template's artwork drawn once, without a word: what no way can do without."""
    from pipeline.draw import draw
    from pipeline.fill import fill_set

    one = job(season)
    book = one.faces.book()
    first = fill_set(one.plan, one.templates, book)[: len(PAGES)]
    art = [layer.svg for page in first for layer in page.layers if not layer.has_text]
    return measured(lambda: len(draw(art, book)))


def build(season: Path, out: Path) -> dict[str, float]:
    from pipeline.app.build import make_season

    return measured(lambda: sum(one.size for one in make_season(season, out, cache=out / ".cache")))


def unchanged(season: Path, out: Path) -> dict[str, float]:
    """What a build that has nothing to do costs; the set was built by another process."""
    from pipeline.app import buildrecord

    def act() -> int:
        found = buildrecord.unchanged(season, out)
        assert found is not None
        return sum(one.size for one in found)

    return measured(act)


def checked(season: Path, out: Path) -> dict[str, float]:
    """What checking costs a set: every third of a built season's in this process, in seconds of
    CPU."""
    from pipeline.app.check import found_in, standings
    from pipeline.base.cache import Cache

    (plan, sets), cache = standings(season, out), Cache(out / "findings")
    sets, begun = sets[::3], time.process_time()
    for one in sets:
        found_in(one, plan, cache)
    return {"seconds": (time.process_time() - begun) / len(sets)}


def converter(season: Path, name: str) -> dict[str, float]:
    """rsvg-convert writes all pages into one file; Inkscape one file a page, in one batch."""
    with tempfile.TemporaryDirectory() as folder:
        files = []
        for number, svg in enumerate(pages(season)):
            files.append(Path(folder) / f"{number:03d}.svg")
            files[-1].write_bytes(svg)
        target = Path(folder) / "out.pdf"
        command: list[str | Path] = ["inkscape", "--export-type=pdf", *files]
        if name == "rsvg-convert":
            command = ["rsvg-convert", "-f", "pdf", "-o", target, *files]
        start = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        seconds = time.perf_counter() - start
        size = sum(path.stat().st_size for path in Path(folder).glob("*.pdf"))
        return {"seconds": seconds, "bytes": size, "memory": peak_mb(resource.RUSAGE_CHILDREN)}


def typesetting(shaped: bool) -> dict[str, float]:
    """A page of the demo's text alone: set by us, or letter by letter by CairoSVG."""
    from pipeline.draw import draw
    from pipeline.fill import fill_set

    with tempfile.TemporaryDirectory() as folder:
        one = job(workspace(Path(folder), heavy=False, weeks=13))
        book = one.faces.book()
        filled = fill_set(one.plan, one.templates, book)
    svgs = [layer.svg for page in filled for layer in page.layers if layer.has_text]

    if not shaped:
        return stock("letters", svgs)

    def act() -> int:
        return len(draw(svgs, book))

    act()
    return measured(act)


def excess(kind: str) -> dict[str, float]:
    """The longest that a drawing takes that is large, or of too much, in seconds of CPU."""
    from pipeline.base.errors import UserError
    from pipeline.fill.template import TemplateFile, read_template
    from tests.draw.engines import built
    from tests.draw.test_excess import LARGE, TOO_MUCH
    from tests.draw.test_features import BOOK, svg

    longest = 0.0
    refused = {name: make for name, (make, _) in TOO_MUCH.items()}
    makers = LARGE if kind == "large" else refused
    for name, make in makers.items():
        drawing = svg(make())
        begun = time.process_time()
        try:
            if kind == "large":
                built([drawing], BOOK)
            else:
                read_template(TemplateFile(Path(name), drawing))
        except UserError:
            assert kind != "large"
        longest = max(longest, time.process_time() - begun)
    return {"seconds": longest, "count": len(makers), "memory": peak_mb(resource.RUSAGE_SELF)}


def in_process(task: str, **arguments: Any) -> dict[str, float]:
    """Runs one of the tasks above in a process of its own."""
    text = json.dumps({"task": task, **arguments})
    command = [sys.executable, "-m", "tests.bench.bench", "--task", text]
    done = subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True)
    result: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return result


def do(task: str, **arguments: Any) -> dict[str, float]:
    paths = {key: Path(value) for key, value in arguments.items() if key in ("season", "out")}
    if task == "ours":
        cache = arguments.get("cache")
        return ours(paths["season"], Path(cache) if cache else None)
    if task == "floor":
        return floor(paths["season"])
    if task == "plain":
        return stock("pages", pages(paths["season"]))
    if task == "unchanged":
        return unchanged(paths["season"], paths["out"])
    if task == "check":
        return checked(paths["season"], paths["out"])
    if task == "excess":
        return excess(arguments["kind"])
    if task == "converter":
        return converter(paths["season"], arguments["name"])
    if task == "build":
        return build(paths["season"], paths["out"])
    return typesetting(arguments["shaped"])


def row(name: str, count: int, result: dict[str, float], base: dict[str, float]) -> str:
    return (
        f"  {name:<28}{result['seconds']:>9.3f} s{1000 * result['seconds'] / count:>9.2f} ms"
        f"{result['bytes'] / count / 1000:>9.1f} kB{result['memory']:>8.0f} MB"
        f"{base['seconds'] / result['seconds']:>9.1f} ×{base['bytes'] / result['bytes']:>8.1f} ×"
    )


def compared(heavy: bool, weeks: int) -> None:
    count = 2 * weeks
    title = f"{HEAVY_PATHS:,} paths" if heavy else "the demo's running week"
    print(f"\n{title} a template, {weeks} weeks, {count} pages")
    print(f"  {'':<28}{'in all':>11}{'a page':>12}{'a page':>12}{'peak':>11}"
          f"{'faster':>11}{'smaller':>10}")  # fmt: skip
    with tempfile.TemporaryDirectory(prefix="bench ") as folder:
        season = workspace(Path(folder), heavy, weeks)
        where = {"season": str(season)}
        base = in_process("plain", **where)
        print(row("plain way", count, base, base), flush=True)
        for name in ("rsvg-convert", "inkscape"):
            if shutil.which(name) and (name != "inkscape" or (not heavy and weeks < 53)):
                result = in_process("converter", name=name, **where)
                print(row(name, count, result, base), flush=True)
        least = in_process("floor", **where)
        print(row("floor: each template once", count, least, base), flush=True)
        cache = str(Path(folder) / "cache")
        print(row("ours, from nothing", count, in_process("ours", **where), base), flush=True)
        in_process("ours", cache=cache, **where)
        labels = season.parent.parent / "templates_svg" / "bench" / "labels" / "en.toml"
        old, new = (f'"{label}"' for label in LABELS)
        labels.write_text(labels.read_text("utf-8").replace(old, new), "utf-8")
        changed = in_process("ours", cache=cache, **where)
        print(row("ours, one label changed", count, changed, base), flush=True)
        again = in_process("ours", cache=cache, **where)
        print(row("ours, templates in the cache", count, again, base), flush=True)
        out = str(Path(folder) / "out")
        in_process("build", out=out, **where)
        same = in_process("unchanged", out=out, **where)
        print(row("ours, nothing changed", count, same, base), flush=True)


def main() -> None:
    """Prints the tables; ``--quick`` leaves out the longest."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--task")
    parser.add_argument("--quick", action="store_true")
    arguments = parser.parse_args()
    if arguments.task:
        print(json.dumps(do(**json.loads(arguments.task))))
        return
    tables = [(False, 1), (False, 13), (False, 53), (True, 53)]
    for heavy, weeks in [(True, 4)] if arguments.quick else tables:
        compared(heavy, weeks)
    with tempfile.TemporaryDirectory(prefix="bench ") as folder:
        where = {"season": str(ROOT / "seasons" / "2027-spring.toml"), "out": folder}
        cold, same = in_process("build", **where), in_process("unchanged", **where)
        first, again = (in_process("check", **where)["seconds"] for _ in range(2))
    share = cold["seconds"] / same["seconds"]
    print(f"\nthe demo season: cold {cold['seconds']:.2f} s")
    print(f"nothing changed: {1000 * same['seconds']:.1f} ms, 1/{share:.0f} of it")
    print(f"checking a set: {first:.2f} s of CPU, {1000 * again:.0f} ms where nothing changed")
    kinds = (("large", "large drawings"), ("refused", "drawings of too much, refused"))
    for kind, what in () if arguments.quick else kinds:
        most = in_process("excess", kind=kind)
        print(
            f"{most['count']:.0f} {what}: at most {most['seconds']:.2f} s of CPU each, "
            f"{most['memory']:.0f} MB at the peak"
        )
    shaped, letters = in_process("type", shaped=True), in_process("type", shaped=False)
    print(
        f"text alone: shaped {shaped['seconds']:.3f} s, letter by letter "
        f"{letters['seconds']:.3f} s, {shaped['seconds'] / letters['seconds']:.2f} of it"
    )
    wholeway.main(arguments.quick)


if __name__ == "__main__":
    main()
