"""The release page: one local page over all bundles, for the maker to upload from."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

from babel import Locale
from jinja2 import Environment, PackageLoader, StrictUndefined

from pipeline.jobs import CONTENTS
from pipeline.plan.sizes import load_sizes
from pipeline.publish.bundle import BUYER, Told, bundles_in
from pipeline.publish.changes import CHANGES
from pipeline.publish.names import ENDING
from pipeline.publish.shop import ALT, LISTING, SHOP, product_name
from pipeline.publish.zipping import digest

PAGE = "index.html"

_Bundles = list[tuple[Path, dict[str, Any]]]
"""Bundles of one product with their tables of contents."""


@dataclass(frozen=True)
class Zip:
    """A file to upload. ``href`` is relative to the page; ``news`` what changes.txt says."""

    name: str
    href: str
    folder: str
    paper: str
    version: int
    sheets: int
    bytes: int
    sha256: str
    passed_by: str
    passed_at: str
    news: str


@dataclass(frozen=True)
class Picture:
    """A shop picture, and the text that stands for it."""

    name: str
    href: str
    alt: str


@dataclass(frozen=True)
class Product:
    """What is one thing in a shop: its zips, its pictures, its listing (Markdown)."""

    name: str
    title: str
    period: str
    size: str
    language: str
    tongue: str
    zips: tuple[Zip, ...]
    pictures: tuple[Picture, ...]
    listing: str


def release_page(title: str, folder: Path, told: Sequence[Told]) -> bytes:
    """The page over all bundles that are in ``folder``; ``told`` says which sets were held back."""
    products = list(_products(folder))
    zips = [one for product in products for one in product.zips]
    env = Environment(
        loader=PackageLoader("pipeline.publish", "page"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.filters["megabytes"] = lambda size: f"{size / 1e6:.1f} MB"
    page = env.get_template("release.html").render(
        title=title,
        products=products,
        zips=len(zips),
        whole=sum(one.bytes for one in zips),
        held=[one for one in told if not one.out],
    )
    return page.encode()


def _products(folder: Path) -> Iterator[Product]:
    """What is sold, in the order of its periods and titles; undated sets last."""
    found: dict[str, _Bundles] = {}
    for bundle in bundles_in(folder):
        contents = json.loads((bundle / BUYER / CONTENTS).read_text("utf-8"))
        name = product_name(
            contents["period"]["name"],
            contents["set"]["name"],
            contents["binder"]["name"],
            contents["language"],
        )
        found.setdefault(name, []).append((bundle, contents))
    for name, bundles in _in_order(found):
        contents = bundles[0][1]
        dated = contents["period"]["first"] is not None
        yield Product(
            name=name,
            title=contents["set"]["title"],
            period=contents["period"]["title"] if dated else "Undated",
            size=_title(contents["binder"]["name"], paper=False),
            language=contents["language"],
            tongue=_tongue(contents["language"]),
            zips=tuple(_zip(bundle, about) for bundle, about in bundles),
            pictures=tuple(_pictures(folder / SHOP / name, f"{SHOP}/{name}")),
            listing=_text(folder / SHOP / name / LISTING),
        )


def _in_order(found: Mapping[str, _Bundles]) -> list[tuple[str, _Bundles]]:
    """By the last day, so that a quarter comes after its months; then by title, size, language."""
    undated = "9999"

    def names(item: tuple[str, _Bundles]) -> tuple[str, ...]:
        contents = item[1][0][1]
        return contents["set"]["title"], contents["binder"]["name"], contents["language"]

    def first(item: tuple[str, _Bundles]) -> str:
        return item[1][0][1]["period"]["first"] or undated

    def last(item: tuple[str, _Bundles]) -> str:
        return item[1][0][1]["period"]["last"] or undated

    by_names = sorted(found.items(), key=names)
    return sorted(sorted(by_names, key=first, reverse=True), key=last)


def _zip(bundle: Path, contents: dict[str, Any]) -> Zip:
    file = f"{bundle.name}{ENDING}"
    data = (bundle / file).read_bytes()
    return Zip(
        name=file,
        href=quote(f"{bundle.name}/{file}"),
        folder=quote(f"{bundle.name}/{BUYER}/"),
        paper=_title(contents["paper"]["name"], paper=True),
        version=contents["version"],
        sheets=len(contents["sheets"]),
        bytes=len(data),
        sha256=digest(data),
        passed_by=", ".join(contents["passed"]["by"]),
        passed_at=contents["passed"]["at"],
        news=_text(bundle / BUYER / CHANGES),
    )


def _pictures(folder: Path, href: str) -> Iterator[Picture]:
    """The pictures in a folder in the order they were made in."""
    texts = json.loads(_text(folder / ALT) or "{}")
    for name, alt in texts.items():
        yield Picture(name, quote(f"{href}/{name}"), alt)


def _text(path: Path) -> str:
    return path.read_text("utf-8-sig") if path.is_file() else ""


def _title(name: str, *, paper: bool) -> str:
    sizes = load_sizes(None)
    known = sizes.papers if paper else sizes.binders
    return known[name].title if name in known else name


def _tongue(language: str) -> str:
    """What a language is called in English."""
    locale = Locale.parse(language.split("-u-")[0], sep="-")
    return locale.get_display_name("en") or language
