"""The release page: one local page over all bundles, to upload from."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import quote

import fontpkg

from pipeline.impose.contents import CONTENTS, read_contents_as
from pipeline.plan.languages import language_name
from pipeline.plan.season import Publish
from pipeline.plan.sizes import load_sizes
from pipeline.publish.bundle import BUNDLE, BUYER, BundleContents, BundleResult, bundles_in
from pipeline.publish.htmlpages import page_templates
from pipeline.publish.pictures.listing import MOVING
from pipeline.publish.pictures.shoppictures import (
    ALL_PICTURES,
    ALT,
    FORMS,
    LISTING,
    SHOP,
    TAGS,
    product_name,
    small_name,
)
from pipeline.publish.zips import CHANGES, ENDING, buyers_names, digest

PAGE = "index.html"
SUMS = "sha256sums.txt"
"""The file with the checksums of all zips."""
ASIDE = "page"
"""The folder with what the page needs besides."""

UNDATED = "Undated"


class _Sold(NamedTuple):
    """One product: its bundles, and the table of contents of the first of them."""

    name: str
    contents: BundleContents
    bundles: list[tuple[Path, BundleContents]]

    @property
    def period(self) -> str:
        period = self.contents.period
        return period.title if period.first else UNDATED

    @property
    def days(self) -> tuple[str, str]:
        """Its first and last day; undated ones come after all others."""
        period = self.contents.period
        return str(period.first or "9999"), str(period.last or "9999")


def release_page(
    title: str,
    folder: Path,
    results: Sequence[BundleResult],
    languages: Sequence[str] = (),
    sets: Sequence[str] = (),
    limits: Publish | None = None,
) -> bytes:
    """The page over all bundles that are in ``folder``; ``results`` say which sets were held back.

    ``languages`` and ``sets`` are the season's, in its order; headings are in the first language
    that is sold. ``limits`` say how long a listing's title and text may be.
    """
    groups = list(_by_language(folder, languages, sets))
    products = [one for group in groups for run in group["runs"] for one in run["products"]]
    for product in products:
        said = product["listing"]["txt"], product.pop("tags")
        product["said"] = _boxes(*said, limits or Publish())
    zips = [one for product in products for one in product["zips"]]
    env = page_templates()
    env.filters["megabytes"] = lambda size: f"{size / 1e6:.1f} MB"
    page = env.get_template("release.html").render(
        title=title,
        groups=groups,
        products=len(products),
        sizes=len({one["size"] for one in products}),
        zips=len(zips),
        whole=sum(one["bytes"] for one in zips),
        held=[one for one in results if not one.out],
        sums=SUMS,
        aside=ASIDE,
    )
    return page.encode()


def page_files() -> dict[str, bytes]:
    """What the page needs beside it: its typeface, which is the desk's, its style, its script."""
    face = Path(str(fontpkg.path("Source Sans 3"))).read_bytes()
    folder = Path(__file__).parent / "page"
    own = {
        f"{ASIDE}/{name}": (folder / name).read_bytes() for name in ("release.css", "release.js")
    }
    return {f"{ASIDE}/source-sans-3.ttf": face, **own}


def checksums(folder: Path) -> bytes:
    """The SHA-256 of every zip in a release, as sha256sum writes and checks them (coreutils)."""
    zips = (bundle / f"{bundle.name}{ENDING}" for bundle in bundles_in(folder))
    lines = (f"{digest(path.read_bytes())}  {path.parent.name}/{path.name}\n" for path in zips)
    return "".join(lines).encode()


def _rank(name: str, sets: Sequence[str]) -> tuple[int, str]:
    """Where a set stands in its season; in colours of its own it has a longer name."""
    same = [n for n, one in enumerate(sets) if name == one or name.startswith(f"{one}-")]
    return max(same, key=lambda n: len(sets[n]), default=len(sets)), name


def _by_language(
    folder: Path, languages: Sequence[str], order_of_sets: Sequence[str]
) -> Iterator[dict[str, Any]]:
    """What is sold, by language in the season's order, and by period within it.

    Names of languages are empty where everything is in one.
    """
    products: dict[str, _Sold] = {}
    for bundle in bundles_in(folder):
        # Bundles of earlier programs have it among the buyer's files.
        beside = (bundle / CONTENTS).is_file()
        contents = read_contents_as(bundle if beside else bundle / BUYER, BUNDLE)
        period, sold, binder = contents.period.name, contents.set.name, contents.binder.name
        name = product_name(period, sold, binder, contents.language)
        products.setdefault(name, _Sold(name, contents, [])).bundles.append((bundle, contents))
    spoken = {one.contents.language for one in products.values()}
    order = [*dict.fromkeys((*languages, *sorted(spoken)))]
    # Headings are in the season's first language, for products that are sold in it.
    read = sorted(products.values(), key=lambda one: -order.index(one.contents.language))
    sets = {one.contents.set.name: one.contents.set.title for one in read}
    periods = {one.contents.period.name: one.period for one in read}
    for language in order:
        mine = [one for one in products.values() if one.contents.language == language]
        mine.sort(key=lambda one: one.contents.binder.name)
        mine.sort(key=lambda one: _rank(one.contents.set.name, order_of_sets))
        mine.sort(key=lambda one: one.days[0], reverse=True)
        mine.sort(key=lambda one: one.days[1])  # so that a quarter comes after its months
        runs = [
            {
                "period": periods[period],
                "products": [_product(folder, one, sets[one.contents.set.name]) for one in same],
            }
            for period, same in groupby(mine, key=lambda one: one.contents.period.name)
        ]
        several = len(spoken) > 1
        names = [language_name(language, called) if several else "" for called in ("en", language)]
        if runs:
            yield {"language": language, "heading": names[0], "own": names[1], "runs": runs}


def _product(folder: Path, sold: _Sold, heading: str) -> dict[str, Any]:
    """One thing in a shop: its zips, its pictures with the texts for them, its listing.

    The title is as its buyers read it, the heading in the season's first language.
    """
    shop, sizes = folder / SHOP / sold.name, load_sizes(None)
    size = sold.contents.binder.name
    zips = []
    news: dict[str, list[str]] = {}
    for bundle, about in sold.bundles:
        file = f"{bundle.name}{ENDING}"
        data = (bundle / file).read_bytes()
        paper = about.paper.name
        changes = buyers_names(about.language, feed_test=True)[CHANGES]
        if told := _text(bundle / BUYER / changes):
            news.setdefault(told, []).append(paper)
        zips.append(
            {
                "name": file,
                "href": quote(f"{bundle.name}/{file}"),
                "folder": quote(f"{bundle.name}/{BUYER}/"),
                "paper": sizes.papers[paper].title if paper in sizes.papers else paper,
                "version": about.version,
                "sheets": len(about.sheets),
                "bytes": len(data),
                "passed_by": ", ".join(about.passed.by),
                "passed_at": about.passed.at,
            }
        )
    return {
        "name": sold.name,
        "title": sold.contents.set.title,
        "heading": heading,
        "size": sizes.binders[size].title if size in sizes.binders else size,
        "language": sold.contents.language,
        "zips": zips,
        "news": news,
        "period": sold.contents.period.title if sold.contents.period.first else "",
        "pictures": [
            {
                "alt": alt,
                "kind": _kind(names[0]),
                "moves": names[0].startswith(MOVING),
                "files": [_file(sold.name, name) for name in names],
                "small": _small(shop, names[0]),
            }
            for alt, names in _by_text(json.loads(_text(shop / ALT) or "{}")).items()
        ],
        "all_pictures": quote(f"{SHOP}/{sold.name}/{ALL_PICTURES}")
        if (shop / ALL_PICTURES).is_file()
        else "",
        "tags": _text(shop / TAGS).strip(),
        "listing": {form: _text(shop / f"{LISTING}.{form}") for form in FORMS},
    }


def _boxes(text: str, tags: str, limits: Publish) -> list[dict[str, Any]]:
    """What a shop's form asks for one by one, and what is to be known of each."""
    title, _, description = text.partition("\n\n")
    many = tags.count(",") + 1
    several = f", {many}{f' of {limits.tags}' if limits.tags else ''} tags"
    boxes = [
        ("title", title, limits.title_letters, ""),
        ("description", description.strip(), limits.text_letters, ""),
        ("tags", tags, None, several),
    ]
    return [
        {
            "name": name,
            "text": said,
            "note": f"{len(said)}{f' of {most}' if most else ''} characters{more}",
            "tags": said.split(", ") if name == "tags" else [],
            "near": most is not None and len(said) > _NEAR * most,
        }
        for name, said, most, more in boxes
        if said
    ]


_NEAR = 0.9
"""From this part of a limit on, a count is told apart."""

KINDS = {
    "title-card": "Title card",
    "spread": "Open binder",
    "spread-shut": "Flaps shut",
    "spread-open": "Flaps open",
    "fan": "Fanned out",
    "close-up": "Close up",
    "sheet": "Printed sheet",
    "sizes": "True size",
    MOVING: "Flaps opening",
}
"""What each kind of picture is called on the page."""


def _small(shop: Path, name: str) -> str:
    """Where the small one of a picture is; nothing for those of earlier programs."""
    small = small_name(name)
    return quote(f"{SHOP}/{shop.name}/{small}") if (shop / small).is_file() else ""


def _kind(name: str) -> str:
    """What a picture is called on the page, by its file.

    >>> _kind("close-up-2-square.jpg"), _kind("fan-4x5.jpg")
    ('Close up, 2', 'Fanned out')
    """
    stem = name.rpartition(".")[0].removesuffix("-square").removesuffix("-4x5")
    kind, _, number = stem.rpartition("-")
    return f"{KINDS[kind]}, {number}" if kind in KINDS else KINDS.get(stem, stem)


def _file(product: str, name: str) -> dict[str, str]:
    """A picture's file: its name, where it is, and the shape or format it has."""
    stem, _, ending = name.rpartition(".")
    shape = {"square": "square", "4x5": "4 × 5"}.get(stem.rpartition("-")[2], ending)
    return {"name": name, "href": quote(f"{SHOP}/{product}/{name}"), "shape": shape}


def _by_text(alt: Mapping[str, str]) -> dict[str, list[str]]:
    """Pictures by the text for them: one in several shapes has the same."""
    found: dict[str, list[str]] = {}
    for name, text in alt.items():
        found.setdefault(text, []).append(name)
    return found


def _text(path: Path) -> str:
    return path.read_text("utf-8-sig") if path.is_file() else ""
