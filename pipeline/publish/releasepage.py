"""The release page: one local page over all bundles, to upload from."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from urllib.parse import quote

from babel import Locale
from jinja2 import Environment, PackageLoader, StrictUndefined

from pipeline.impose.contents import read_contents_as
from pipeline.plan.sizes import load_sizes
from pipeline.publish.bundle import BUNDLE, BUYER, BundleContents, BundleResult, bundles_in
from pipeline.publish.pictures.shoppictures import ALT, LISTING, SHOP, product_name
from pipeline.publish.zips import CHANGES, ENDING, digest

PAGE = "index.html"

UNDATED = "Undated"
_NEVER = "9999"


@dataclass(frozen=True)
class _Sold:
    """One product: its bundles with their tables of contents, and the first of these."""

    name: str
    contents: BundleContents
    bundles: list[tuple[Path, BundleContents]]

    @property
    def language(self) -> str:
        return self.contents.language

    @property
    def title(self) -> str:
        return self.contents.set.title

    @property
    def period(self) -> str:
        return self.contents.period.title if self.first != _NEVER else UNDATED

    @property
    def first(self) -> str:
        return str(self.contents.period.first or _NEVER)

    @property
    def last(self) -> str:
        return str(self.contents.period.last or _NEVER)


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
    """What is one thing in a shop: its zips, its pictures, its listing (Markdown).

    ``title`` is as its buyers read it, ``heading`` in the season's first language.
    """

    name: str
    title: str
    heading: str
    size: str
    language: str
    zips: tuple[Zip, ...]
    pictures: tuple[Picture, ...]
    listing: str


@dataclass(frozen=True)
class PeriodGroup:
    """Products of one period; its heading is in the season's first language, or empty."""

    period: str
    products: tuple[Product, ...]


@dataclass(frozen=True)
class LanguageGroup:
    """All that is sold in one language.

    ``heading`` is its English name, ``own`` its name in itself; both are empty where everything
    is in one language.
    """

    language: str
    heading: str
    own: str
    runs: tuple[PeriodGroup, ...]


def release_page(
    title: str, folder: Path, results: Sequence[BundleResult], languages: Sequence[str] = ()
) -> bytes:
    """The page over all bundles that are in ``folder``; ``results`` say which sets were held back.

    ``languages`` are the season's, in its order; headings are in the first of them that is sold.
    """
    groups = list(_by_language(folder, languages))
    products = [one for group in groups for run in group.runs for one in run.products]
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
        groups=groups,
        products=len(products),
        sizes=len({one.size for one in products}),
        zips=len(zips),
        whole=sum(one.bytes for one in zips),
        held=[one for one in results if not one.out],
    )
    return page.encode()


def _by_language(folder: Path, languages: Sequence[str]) -> Iterator[LanguageGroup]:
    """What is sold, by language in the season's order, and by period within it."""
    products: dict[str, _Sold] = {}
    for bundle in bundles_in(folder):
        contents = read_contents_as(bundle / BUYER, BUNDLE)
        name = product_name(
            contents.period.name,
            contents.set.name,
            contents.binder.name,
            contents.language,
        )
        products.setdefault(name, _Sold(name, contents, [])).bundles.append((bundle, contents))
    spoken = {one.language for one in products.values()}
    order = [*dict.fromkeys((*languages, *sorted(spoken)))]
    # Headings are in the season's first language, for products that are sold in it.
    read = sorted(products.values(), key=lambda one: -order.index(one.language))
    sets = {one.contents.set.name: one.title for one in read}
    periods = {one.contents.period.name: one.period for one in read}
    for language in order:
        mine = [one for one in products.values() if one.language == language]
        mine.sort(key=lambda one: (sets[one.contents.set.name], one.contents.binder.name))
        mine.sort(key=lambda one: one.first, reverse=True)
        mine.sort(key=lambda one: one.last)  # so that a quarter comes after its months
        runs = tuple(
            PeriodGroup(
                periods[period],
                tuple(_product(folder, one, sets[one.contents.set.name]) for one in same),
            )
            for period, same in groupby(mine, key=lambda one: one.contents.period.name)
        )
        several = len(spoken) > 1
        names = (_name_in(language, "en"), _name_in(language, language)) if several else ("", "")
        if runs:
            yield LanguageGroup(language, *names, runs)


def _product(folder: Path, sold: _Sold, heading: str) -> Product:
    return Product(
        name=sold.name,
        title=sold.title,
        heading=heading,
        size=_title(sold.contents.binder.name, paper=False),
        language=sold.language,
        zips=tuple(_zip(bundle, about) for bundle, about in sold.bundles),
        pictures=tuple(_pictures(folder / SHOP / sold.name, f"{SHOP}/{sold.name}")),
        listing=_text(folder / SHOP / sold.name / LISTING),
    )


def _zip(bundle: Path, contents: BundleContents) -> Zip:
    file = f"{bundle.name}{ENDING}"
    data = (bundle / file).read_bytes()
    return Zip(
        name=file,
        href=quote(f"{bundle.name}/{file}"),
        folder=quote(f"{bundle.name}/{BUYER}/"),
        paper=_title(contents.paper.name, paper=True),
        version=contents.version,
        sheets=len(contents.sheets),
        bytes=len(data),
        sha256=digest(data),
        passed_by=", ".join(contents.passed.by),
        passed_at=contents.passed.at,
        news=_text(bundle / BUYER / CHANGES),
    )


def _pictures(folder: Path, href: str) -> Iterator[Picture]:
    """The pictures in a folder in the order they were drawn in."""
    texts = json.loads(_text(folder / ALT) or "{}")
    for name, alt in texts.items():
        yield Picture(name, quote(f"{href}/{name}"), alt)


def _text(path: Path) -> str:
    return path.read_text("utf-8-sig") if path.is_file() else ""


def _title(name: str, *, paper: bool) -> str:
    sizes = load_sizes(None)
    known = sizes.papers if paper else sizes.binders
    return known[name].title if name in known else name


def _name_in(language: str, called_in: str) -> str:
    """What a language is called in a language (CLDR).

    >>> _name_in("de", "en"), _name_in("de", "de"), _name_in("el", "el")
    ('German', 'Deutsch', 'Ελληνικά')
    """
    locale = Locale.parse(language.split("-u-")[0], sep="-")
    name = locale.get_display_name(called_in.split("-u-")[0].replace("-", "_")) or language
    return name[0].upper() + name[1:]
