"""Inputs spoilt at random: drawings, faces, pictures, seasons and what lies beside them, records.

Each must come out right or be refused in one clean line, within ``SECONDS`` of a core's time and
``MEGABYTES``. All follows from a seed: the same number gives the same inputs. They are tried in a
process of their own, which may hang or be ended by them without harm.
"""

from __future__ import annotations

import base64
import io
import json
import os
import random
import re
import resource
import shutil
import time
import traceback
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import fontpkg
import pypdfium2
import tomlkit
from lxml import etree
from PIL import Image

from pipeline.app.build import figures_of, jobs_of, make_season
from pipeline.app.buildrecord import RECORD, unchanged
from pipeline.app.jobs import run as run_job
from pipeline.base.errors import UserError
from pipeline.base.workers import Worker
from pipeline.drawings.checks import check_drawings, drawn_sample
from pipeline.fill.template import open_template
from pipeline.impose.contents import read_contents
from pipeline.plan import plan_season
from pipeline.proof.approval.passed import pass_file, read_pass_file
from pipeline.proof.findings import findings_of
from pipeline.publish.releases import read_releases, release_file
from pipeline.text import FontBook
from tests.conftest import ROOT
from tests.draw.engines import built
from tests.draw.feature_samples import FEATURES, REFUSED

SECONDS = 5.0
MEGABYTES = 1000.0
PATIENCE_SECONDS = 30.0
"""How long an answer is waited for: other programs may be at work on the machine."""
CASES = Path(__file__).parent / "cases"
"""What failed once, each input in a file of its own: a folder a kind."""


@dataclass(frozen=True)
class Kind:
    """A kind of input: what is spoilt, how, and what is done with it in a workspace."""

    name: str
    seeds: Callable[[Path], Sequence[tuple[str, bytes]]]
    spoilt: Callable[[random.Random, bytes, Sequence[tuple[str, bytes]]], bytes]
    tried: Callable[[Path, str, bytes], None]


@dataclass(frozen=True)
class Failure:
    """What went wrong with an input."""

    kind: str
    seed: str
    what: str
    data: bytes


@dataclass(frozen=True)
class Trial:
    """What became of an input, in seconds of a core, and the most memory its process ever had."""

    said: str
    seconds: float
    megabytes: float


@dataclass
class Tally:
    """What became of many inputs."""

    tried: int = 0
    right: int = 0
    refused: int = 0
    failures: list[Failure] = field(default_factory=list)
    worst_seconds: float = 0.0
    worst_megabytes: float = 0.0

    def add(self, other: Tally) -> None:
        """Counts another's as well."""
        self.tried += other.tried
        self.right += other.right
        self.refused += other.refused
        self.failures += other.failures
        self.worst_seconds = max(self.worst_seconds, other.worst_seconds)
        self.worst_megabytes = max(self.worst_megabytes, other.worst_megabytes)


# Spoiling

_NUMBERS = (
    "0", "-0", "-1", "1e300", "-1e300", "1e-300", "NaN", "inf", "1e999", "0.0001", "3.5", "99999",
    "10000000000000000000000", "", "1e", "--1", "50%", "1e5%", "2em", "1e9mm", "calc(1px*2)",
    "9" * 400,
)  # fmt: skip
_TEXTS = (
    "", " ", "\0", "\x01", "\x1b[2J", "\x7f", "\u202e", "\u2066abc", "\ufffe", "\uffff",
    "\U0001f33f",
    "a" * 5000, "<b>&amp;</b>", "]]>", "%s{0}", "../..", "con", "\u0301" * 60, "مرحبا", "\n", "\t",
    "{", "\\", "'", '"', "\u2028", "\x85", "\u200f\u200f",
)  # fmt: skip
_FIGURE = re.compile(rb"-?\d+(?:\.\d+)?")


def spoilt_bytes(chance: random.Random, data: bytes, others: Sequence[tuple[str, bytes]]) -> bytes:
    """Some bytes changed, lost, doubled, or another file's put in."""
    changed = bytearray(data)
    for _ in range(chance.choice((1, 1, 1, 2, 4, 16))):
        at = chance.randrange(len(changed) + 1)
        length = chance.choice((1, 1, 2, 8, 64, 1000))
        match chance.randrange(7):
            case 0 if changed:
                changed[min(at, len(changed) - 1)] ^= 1 << chance.randrange(8)
            case 1:
                del changed[at : at + length]
            case 2:
                changed[at:at] = changed[at : at + length]
            case 3:
                changed[at : at + length] = bytes(chance.randrange(256) for _ in range(length))
            case 4:
                other = chance.choice(others)[1]
                begin = chance.randrange(len(other) + 1)
                changed[at:at] = other[begin : begin + length]
            case 5:
                changed[at : at + 4] = chance.choice((b"\0" * 4, b"\xff" * 4, b"\x7f\xff\xff\xff"))
            case _:
                figures = list(_FIGURE.finditer(bytes(changed)))
                if figures:
                    one = chance.choice(figures)
                    changed[one.start() : one.end()] = chance.choice(_NUMBERS).encode()
    return bytes(changed)


_TAGS = (
    "g", "use", "svg", "symbol", "pattern", "marker", "clipPath", "mask", "linearGradient",
    "filter",
    "radialGradient", "text", "tspan", "textPath", "path", "rect", "image", "switch", "style", "a",
    "foreignObject", "circle", "line", "polygon", "defs", "stop", "feImage", "feTile",
    "feTurbulence",
    "feGaussianBlur", "flowRoot", "hatch", "meshgradient", "unknown",
)  # fmt: skip
_ATTRIBUTES = (
    "x", "y", "width", "height", "d", "points", "transform", "viewBox", "fill", "stroke",
    "style", "id",
    "clip-path", "mask", "filter", "marker-start", "marker-mid", "href", "font-size",
    "font-family",
    "stroke-width", "stroke-dasharray", "stroke-dashoffset", "opacity", "patternUnits",
    "gradientUnits",
    "gradientTransform", "patternTransform", "preserveAspectRatio", "textLength", "startOffset",
    "letter-spacing", "rotate", "dx", "r", "rx", "offset", "display", "font-weight", "direction",
    "xml:space", "stdDeviation", "refX", "orient", "markerUnits", "class", "mix-blend-mode", "in",
)  # fmt: skip
_VALUES = (
    "url(#{id})", "#{id}", "url(#{id}) red", "none", "inherit", "red", "rgba(1,2,3,.4)",
    "currentColor",
    "M0 0", "L5 5", "z", "M0 0L1e308 1e308L-1e308 0z", "M0 0h9v9z" * 40, "M1 1a0 0 0 0 0 9 9",
    "Q", "m",
    "scale(0)", "scale(1e300)", "rotate(1e300)", "matrix(1 0 0 0 0 0)", "matrix(NaN 0 0 1 0 0)",
    "skewX(90)", "translate(1e300)", "0 0 0 0", "0 0 1e300 1e-300", "0 0 9 9", "objectBoundingBox",
    "userSpaceOnUse", "0 0", "1e-9 1e-9", "-1 2", "100%", "auto", "rtl", "preserve", "strokeWidth",
    "fill:url(#{id});stroke:url(#{id})", "font:1e300px Kalam", "filter:blur(1e300px)",
    "opacity:nan",
    "clip-path:circle(1e300px)", "multiply", "day1-name", "each-day", "lines-6mm", "show-undated",
    "month-grid", "tab", "guides", "label-sowing", "blur(9px)", "var(--x)", "calc(1px / 0)",
)  # fmt: skip


def spoilt_tree(chance: random.Random, data: bytes, others: Sequence[tuple[str, bytes]]) -> bytes:
    """An SVG with elements and attributes changed; now and then its bytes as well."""
    parser = etree.XMLParser(huge_tree=True)
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError:
        return spoilt_bytes(chance, data, others)
    if chance.random() < 0.15:
        return spoilt_bytes(chance, data, others)
    for _ in range(chance.choice((1, 1, 2, 3, 5, 9))):
        _spoil_element(chance, root)
    changed = bytes(etree.tostring(root))
    return spoilt_bytes(chance, changed, others) if chance.random() < 0.05 else changed


def _spoil_element(chance: random.Random, root: etree._Element) -> None:
    elements = [one for one in root.iter() if isinstance(one.tag, str)]
    one, other = chance.choice(elements), chance.choice(elements)
    ids = [str(each.get("id")) for each in elements if each.get("id")] or ["none"]
    svg = "{http://www.w3.org/2000/svg}"
    match chance.randrange(9):
        case 0 if one is not root and (parent := one.getparent()) is not None:
            parent.remove(one)
        case 1:
            one.tag = svg + chance.choice(_TAGS)
        case 2 | 3 | 4:
            name = chance.choice([*_ATTRIBUTES, *map(str, one.attrib)])
            value = chance.choice((*_VALUES, *_NUMBERS)).replace("{id}", chance.choice(ids))
            with suppress(ValueError):
                one.set(name, value)
        case 5 if one.attrib:
            name = str(chance.choice(list(one.attrib)))
            figures = list(re.finditer(r"-?\d+(?:\.\d+)?", str(one.get(name))))
            if figures:
                figure, text = chance.choice(figures), str(one.get(name))
                one.set(
                    name, text[: figure.start()] + chance.choice(_NUMBERS) + text[figure.end() :]
                )
        case 6 if one is not other and one not in list(other.iterancestors()) and one is not root:
            other.append(one)
        case 7:
            inner = etree.SubElement(other, svg + chance.choice(_TAGS))
            inner.set("href", f"#{chance.choice(ids)}")
            inner.set("id", chance.choice(("a", "b", *ids)))
            if chance.random() < 0.3:
                for _ in range(chance.choice((3, 60, 300))):
                    inner = etree.SubElement(inner, svg + chance.choice(_TAGS))
        case _:
            with suppress(ValueError):
                one.text = chance.choice(_TEXTS)


def spoilt_toml(chance: random.Random, data: bytes, others: Sequence[tuple[str, bytes]]) -> bytes:
    """A TOML file with fields changed, lost or put elsewhere; now and then its bytes."""
    if chance.random() < 0.2:
        return spoilt_bytes(chance, data, others)
    try:
        document: Any = tomlkit.parse(data.decode())
    except (ValueError, tomlkit.exceptions.TOMLKitError):
        return spoilt_bytes(chance, data, others)
    plain = document.unwrap()
    for _ in range(chance.choice((1, 1, 2, 3))):
        _spoil_table(chance, plain)
    try:
        return tomlkit.dumps(plain).encode("utf-8", "surrogatepass")
    except Exception:
        return spoilt_bytes(chance, data, others)


_PLAIN: tuple[Any, ...] = (
    0, -1, 1, 3, 13, 10_000, 99_999, 10**20, 0.0, 1e300, -1e300, 1e-300, float("nan"),
    float("inf"), True,
    [], {}, [[]], [""], "0000-01", "99999-01", "9999-12", "0001-01", "2027-13", "2027-02-30",
    "a4", "a5",
    "letter", "en-GB", "de", "ar", "ja", "xx-XX", "week", "day", "month", "year", "quarter",
    "week.svg",
)  # fmt: skip


def _spoil_table(chance: random.Random, plain: Any) -> None:
    """Changes something somewhere in a table or list."""
    here = plain
    while True:
        keys: list[Any] = list(here) if isinstance(here, dict) else list(range(len(here)))
        if not keys:
            return
        key = chance.choice(keys)
        deeper = isinstance(here[key], dict | list) and len(here[key])
        if not deeper or chance.random() < 0.08:
            break
        here = here[key]
    match chance.randrange(6):
        case 0:
            del here[key]
        case 1 if isinstance(here, list):
            here.extend([here[key]] * chance.choice((1, 2, 40)))
        case 2 if isinstance(here, dict):
            name = chance.choice((*_TEXTS, "title", "name", "weeks", "bleed_mm", "almanac"))
            here[name] = here.pop(key) if chance.random() < 0.5 else chance.choice(_PLAIN)
        case 3 if isinstance(here[key], str):
            at = chance.randrange(len(here[key]) + 1)
            here[key] = here[key][:at] + chance.choice(_TEXTS) + here[key][at:]
        case _:
            here[key] = chance.choice((*_PLAIN, *_TEXTS))


def spoilt_json(chance: random.Random, data: bytes, others: Sequence[tuple[str, bytes]]) -> bytes:
    """A JSON file with values changed; now and then its bytes."""
    try:
        plain = json.loads(data)
    except ValueError:
        return spoilt_bytes(chance, data, others)
    if chance.random() < 0.25 or not isinstance(plain, dict | list):
        return spoilt_bytes(chance, data, others)
    for _ in range(chance.choice((1, 1, 2, 3))):
        _spoil_table(chance, plain)
    if chance.random() < 0.02:
        return b"[" * chance.choice((500, 5_000, 200_000))
    return json.dumps(plain).encode()


def spoilt_lines(chance: random.Random, data: bytes, others: Sequence[tuple[str, bytes]]) -> bytes:
    """A list or calendar with lines, cells and signs changed."""
    lines = data.split(b"\n")
    for _ in range(chance.choice((1, 2, 4))):
        at = chance.randrange(len(lines))
        match chance.randrange(5):
            case 0:
                del lines[at]
            case 1:
                lines[at:at] = [lines[at]] * chance.choice((1, 2, 5_000))
            case 2:
                cells = lines[at].split(b",")
                cells[chance.randrange(len(cells))] = chance.choice(
                    (*_TEXTS, *_NUMBERS, "0000-01-01", "9999-12-31", "02-29", "20270230T250000Z")
                ).encode("utf-8", "surrogatepass")
                lines[at] = b",".join(cells)
            case 3:
                lines.insert(at, chance.choice((
                    b"RRULE:FREQ=SECONDLY", b"RRULE:FREQ=DAILY;COUNT=99999999",
    b"DTSTART:99990101",
                    b"DTSTART;VALUE=DATE:00000101", b"BEGIN:VEVENT", b"DURATION:P99999999W",
                    b"RRULE:FREQ=YEARLY;BYDAY=53MO", b"EXDATE:1", b'"' * 3, b"," * 999,
                )))  # fmt: skip
            case _:
                return spoilt_bytes(chance, b"\n".join(lines), others)
        lines = lines or [b""]
    return b"\n".join(lines)


# Trying

_SMALL = """
name = "small"
title = "A small season"
collection = "plot"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4"]
weeks = "majority"

[stock]
gsm = 90

[printer]
unprintable_mm = 5
flip = "long"

[almanac]
holidays = ["GB"]
days = ["days.csv", "club.ics"]

[[period]]
name = "march"
from = 2027-03-01
to = 2027-03-14

[[period]]
name = "spring"
title = "Spring"
month = "2027-04"

[[set]]
name = "running"
title = { en = "Running weeks" }
opening = "opening"
closing = "closing"
spreads = [{ verso = "week-running-verso", recto = "week-running-recto", per = "week" }]

[[set]]
name = "notes"
title = "Notes"
leaves = [{ recto = "notes", verso = "plain-list" }]
"""
_DAYS = "date,name,born\n2027-03-04,Open garden,\n05-01,Ada,1990\n"
_CLUB = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nBEGIN:VEVENT\r\nUID:1\r\nSUMMARY:Seed swap\r\n"
    "DTSTART;VALUE=DATE:20270306\r\nRRULE:FREQ=WEEKLY;COUNT=9\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
)


def workspace(folder: Path, season_text: str = _SMALL) -> Path:
    """A small workspace with a built season and all that can lie beside it."""
    if not (folder / "ready").exists():
        shutil.copytree(ROOT / "tests" / "plot", folder / "templates_svg" / "plot")
        (folder / "seasons").mkdir()
        season = folder / "seasons" / "small.toml"
        season.write_text(season_text, "utf-8")
        (season.parent / "days.csv").write_text(_DAYS, "utf-8")
        (season.parent / "club.ics").write_text(_CLUB, "utf-8", newline="")
        lists = folder / "templates_svg" / "plot" / "lists"
        lists.mkdir()
        (lists / "crops.csv").write_text("en,de\nBeans,Bohnen\nPeas,Erbsen\n", "utf-8")
        licence = folder / "templates_svg" / "plot" / "licence"
        licence.mkdir()
        (licence / "en.txt").write_text("For your own use.\n", "utf-8")
        make_season(season, folder / "build")
        (folder / "ready").touch()
    return folder


@cache
def _book() -> FontBook:
    return FontBook()


def _opens(pdf: bytes) -> None:
    document = pypdfium2.PdfDocument(pdf)
    assert len(document) >= 1
    document.close()


def _draw(folder: Path, name: str, data: bytes) -> None:
    """A drawing as a page, or, where it has keys, looked through and drawn with its samples."""
    if len(data) % 3:
        _opens(built([data], _book()))
        return
    page = folder / "templates_svg" / "plot" / "a5" / "notes.svg"
    with _in_place(page, data):
        check_drawings([page])
        _opens(drawn_sample(open_template(page)))


class _in_place:  # noqa: N801
    """Another file's bytes in a workspace for a while."""

    def __init__(self, path: Path, data: bytes) -> None:
        self._path, self._data = path, data

    def __enter__(self) -> None:
        self._before = self._path.read_bytes() if self._path.exists() else None
        self._path.write_bytes(self._data)

    def __exit__(self, *ended: object) -> None:
        if self._before is None:
            self._path.unlink()
        else:
            self._path.write_bytes(self._before)


MOST_LEAVES = 12
"""Sets of more are planned, and drawn only in builds: what is drawn of each leaf is alike."""


def _plan(folder: Path, name: str, data: bytes) -> None:
    """A file of the workspace in the place of its own: the season is planned and a set made."""
    season = folder / "seasons" / "small.toml"
    with _in_place(folder / name, data):
        plan = plan_season(season)
        for one in figures_of(plan):
            assert one.problem is None or _is_clean(str(one.problem))
        small = [one for one in jobs_of(plan) if len(one.plan.leaves) <= MOST_LEAVES]
        for files in run_job(small[0]).values() if small else ():
            for file, made in files.items():
                if file.endswith(".pdf"):
                    _opens(made)


def _read(folder: Path, name: str, data: bytes) -> None:
    """A record in the place of its own: all that reads it does."""
    season, out = folder / "seasons" / "small.toml", folder / "build"
    with _in_place(folder / name, data):
        with suppress(UserError):
            read_pass_file(pass_file(season))
        with suppress(UserError):
            read_releases(release_file(season))
        unchanged(season, out)
        set_folder = (folder / _CONTENTS).parent
        read_contents(set_folder)
        if name == _CONTENTS:
            findings_of(set_folder, plan_season(season))
        read_pass_file(pass_file(season))
        read_releases(release_file(season))


_CONTENTS = "build/small/undated/notes/a5-a4-en-GB/contents.json"


def _type(folder: Path, name: str, data: bytes) -> None:
    """A face: found, shaped, embedded."""
    fonts = folder / "faces"
    shutil.rmtree(fonts, ignore_errors=True)
    fonts.mkdir()
    (fonts / name).write_bytes(data)
    book = FontBook(fonts)
    for family in ("Kalam", "Chakra Petch", "Dancing Script"):
        words = f'<text y="20" font-family="{family}">Wachsen fi 2027</text>'.encode()
        _opens(built([_page(words)], book))


def _page(content: bytes) -> bytes:
    return (
        b'<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
        + content
        + b"</svg>"
    )


def _show(folder: Path, name: str, data: bytes) -> None:
    """A picture on a page."""
    kind = {"jpg": "jpeg"}.get(name.rpartition(".")[2], name.rpartition(".")[2])
    link = f"data:image/{kind};base64,{base64.b64encode(data).decode()}"
    page = f'<image width="60" height="40" xlink:href="{link}" href="{link}"/>'.encode()
    _opens(built([_page(page).replace(b" width", _LINKS, 1)], _book()))


_LINKS = b' xmlns:xlink="http://www.w3.org/1999/xlink" width'


# What is spoilt


def _drawings(folder: Path) -> list[tuple[str, bytes]]:
    plot = sorted((ROOT / "tests" / "plot" / "a5").glob("*.svg"))
    samples = [(f"{one.name}", _sample(one.content, one.size)) for one in FEATURES]
    refused = [(f"refused-{number}", _sample(one[1] if isinstance(one, tuple) else one.content,
               FEATURES[0].size)) for number, one in enumerate(REFUSED)]  # fmt: skip
    return [*((path.stem, path.read_bytes()) for path in plot), *samples, *refused]


def _pages(folder: Path) -> list[tuple[str, bytes]]:
    names = ("notes", "plain-list", "week-running-verso", "week-running-recto", "opening")
    plot = ROOT / "tests" / "plot" / "a5"
    return [(f"{_COLLECTION}/a5/{one}.svg", (plot / f"{one}.svg").read_bytes()) for one in names]


def _sample(content: str, size: str) -> bytes:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f"{size}>{content}</svg>"
    ).encode()


def _files(*names: str) -> Callable[[Path], Sequence[tuple[str, bytes]]]:
    def read(folder: Path) -> Sequence[tuple[str, bytes]]:
        texts = {
            "seasons/small.toml": _SMALL,
            "seasons/days.csv": _DAYS,
            "seasons/club.ics": _CLUB,
            "templates_svg/plot/lists/crops.csv": "en,de\nBeans,Bohnen\nPeas,Erbsen\n",
            "seasons/sizes.toml": (ROOT / "pipeline/plan/binders.toml").read_text("utf-8"),
        }
        plot = ROOT / "tests" / "plot"
        return [
            (
                name,
                texts[name].encode()
                if name in texts
                else (plot / name.removeprefix("templates_svg/plot/")).read_bytes(),
            )
            for name in names
        ]

    return read


def _records(folder: Path) -> Sequence[tuple[str, bytes]]:
    demo = ROOT / "seasons"
    small = json.loads((demo / "2027-spring.passed.json").read_bytes())
    name, one = next(iter(small["sets"].items()))
    small["sets"] = {name: one}
    releases = json.loads((demo / "2027-spring.releases.json").read_bytes())
    first = next(iter(releases["sets"]))
    releases["sets"] = {first: releases["sets"][first]}
    found = [
        ("seasons/small.passed.json", json.dumps(small).encode()),
        ("seasons/small.releases.json", json.dumps(releases).encode()),
    ]
    for name in (_CONTENTS, f"build/small/{RECORD}"):
        found.append((name, (folder / name).read_bytes()))
    return found


def _faces(folder: Path) -> Sequence[tuple[str, bytes]]:
    found = []
    for family in ("Kalam", "Chakra Petch", "Dancing Script"):
        path = Path(str(fontpkg.path(family)))
        found.append((path.name.replace("[", "").replace("]", ""), path.read_bytes()))
    return found


def spoilt_face(chance: random.Random, data: bytes, others: Sequence[tuple[str, bytes]]) -> bytes:
    """A font with bytes changed: most often in its tables of contents and of measures."""
    if chance.random() < 0.5:
        return spoilt_bytes(chance, data, others)
    head = bytearray(data[:2000])
    for _ in range(chance.choice((1, 2, 8))):
        head[chance.randrange(len(head))] = chance.randrange(256)
    return bytes(head) + data[2000:]


def _pictures(folder: Path) -> Sequence[tuple[str, bytes]]:
    gradient, found = Image.linear_gradient("L").resize((40, 30)), []
    for ending, mode in (("png", "RGBA"), ("png", "P"), ("jpg", "RGB"), ("jpg", "CMYK"), ("gif",
    "P"),
                         ("webp", "RGB"), ("png", "I;16")):  # fmt: skip
        data = io.BytesIO()
        picture = gradient.convert("I").convert("I;16") if mode == "I;16" else None
        (picture or gradient.convert(mode if mode != "P" else "L").convert(mode)).save(
            data, {"jpg": "JPEG"}.get(ending, ending.upper())
        )
        found.append((f"{mode.replace(';', '')}.{ending}", data.getvalue()))
    return found


_COLLECTION = "templates_svg/plot"
KINDS: Mapping[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("drawing", _drawings, spoilt_tree, _draw),
        Kind("page", _pages, spoilt_tree, _plan),
        Kind("season", _files("seasons/small.toml"), spoilt_toml, _plan),
        Kind(
            "collection",
            _files(
                f"{_COLLECTION}/collection.toml",
                f"{_COLLECTION}/labels/en.toml",
                "seasons/sizes.toml",
            ),
            spoilt_toml,
            _plan,
        ),
        Kind(
            "list",
            _files("seasons/days.csv", "seasons/club.ics", f"{_COLLECTION}/lists/crops.csv"),
            spoilt_lines,
            _plan,
        ),
        Kind("record", _records, spoilt_json, _read),
        Kind("face", _faces, spoilt_face, _type),
        Kind("picture", _pictures, spoilt_bytes, _show),
    )
}  # fmt: skip


@cache
def _seeds(kind: Kind, folder: Path) -> Sequence[tuple[str, bytes]]:
    return kind.seeds(folder)


def inputs(kind: Kind, folder: Path, first: int, number: int) -> Iterator[tuple[str, bytes]]:
    """Spoilt inputs of a kind for a workspace, each with the name of what it was."""
    seeds = _seeds(kind, folder)
    for seed in range(first, first + number):
        chance = random.Random(f"{kind.name} {seed}")
        name, data = chance.choice(seeds)
        yield name, kind.spoilt(chance, data, seeds)


# Trying them in another process


def _is_clean(line: str) -> bool:
    """Whether a message is one line that a terminal shows as it is."""
    return not any(unicodedata.category(sign) in ("Cc", "Cs") or sign in _TURNS for sign in line)


_TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def attempt(kind: Kind, folder: Path, name: str, data: bytes) -> str:
    """What becomes of an input: "right", "refused", or what is wrong."""
    try:
        kind.tried(folder, name, data)
    except UserError as problem:
        return "refused" if _is_clean(str(problem)) else f"a message that isn't clean: {problem!r}"
    except BaseException as problem:
        place = traceback.extract_tb(problem.__traceback__)
        own = [one for one in place if "/pipeline/" in one.filename]
        at = f"{Path(own[-1].filename).name}:{own[-1].lineno}" if own else "?"
        return f"traceback: {type(problem).__name__} at {at}: {str(problem)[:200]}"
    return "right"


def try_all(kind: Kind, folder: Path, given: Sequence[tuple[str, bytes]]) -> Tally:
    """What becomes of inputs of a kind, tried in a workspace by processes of their own."""
    shutil.rmtree(folder / "faces", ignore_errors=True)
    kept = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    worker, tally = Worker(), Tally()
    try:
        for name, data in given:
            ended = ""
            try:
                trial = worker.start(_try, kind.name, folder, name, data).result(PATIENCE_SECONDS)
            except TimeoutError:
                ended = f"hang: no answer within {PATIENCE_SECONDS:g} s"
            except BrokenProcessPool:
                ended = "the process ended"
            if ended:
                trial = Trial(ended, 0.0, 0.0)
            _count(kind, name, data, trial, tally)
            if ended or trial.megabytes > MEGABYTES:
                worker.close()
                for path, before in kept.items():  # it put nothing back
                    if not path.is_file() or path.read_bytes() != before:
                        path.write_bytes(before)
    finally:
        worker.close()
    return tally


def _try(name_of_kind: str, folder: Path, name: str, data: bytes) -> Trial:
    """What becomes of an input, in a process that has nothing else in its memory."""
    with Path(os.devnull).open("r+b") as nothing:
        for stream in (0, 1, 2):
            os.dup2(nothing.fileno(), stream)
    before = time.process_time()
    said = attempt(KINDS[name_of_kind], folder, name, data)
    seconds = time.process_time() - before
    return Trial(said, seconds, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000)


def _count(kind: Kind, name: str, data: bytes, trial: Trial, tally: Tally) -> None:
    said = trial.said
    tally.tried += 1
    tally.right += said == "right"
    tally.refused += said == "refused"
    tally.worst_seconds = max(tally.worst_seconds, trial.seconds)
    tally.worst_megabytes = max(tally.worst_megabytes, trial.megabytes)
    if said in ("right", "refused"):
        if trial.seconds > SECONDS:
            said = f"hang: {trial.seconds:.1f} s"
        elif trial.megabytes > MEGABYTES:
            said = f"memory: {trial.megabytes:.0f} MB"
        else:
            return
    tally.failures.append(Failure(kind.name, name, said, data))
