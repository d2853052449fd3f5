"""Names of bundles and of the files in them, their sizes, and the zip.

Bundle names are safe on every system and in every shop's upload form. Files are numbered, so that
sorted by name they are in the order of use, and named in the buyer's language. A zip's bytes depend
on its contents and the time of its release alone.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import re
import unicodedata
import zipfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.base.folders import safe_name
from pipeline.impose.contents import SCREEN
from pipeline.impose.imposing import BOTH, SIDE_1, SIDE_2
from pipeline.plan.words import Phrases

ENDING = ".zip"

# Letters that Unicode does not take apart (UAX #15), as they are usually written without.
_PLAIN = {
    "ß": "ss",
    "æ": "ae",
    "œ": "oe",
    "ø": "o",
    "đ": "d",
    "ð": "d",
    "þ": "th",
    "ł": "l",
    "ħ": "h",
    "ı": "i",
    "ŋ": "ng",
}

# Where a language writes a letter otherwise when it has to do without the mark.
_PLAIN_IN = {
    "de": {"ä": "ae", "ö": "oe", "ü": "ue"},
    "sv": {"å": "aa", "ä": "ae", "ö": "oe"},
    "da": {"å": "aa", "ø": "oe"},
    "nb": {"å": "aa", "ø": "oe"},
}


def plain(text: str, language: str) -> str | None:
    """A text in small letters a to z, figures and hyphens; None if letters would be lost.

    >>> plain("Woche für Woche, März – Mai 2027", "de-AT")
    'woche-fuer-woche-maerz-mai-2027'
    >>> plain("Łąka i ogród", "pl"), plain("Αγρόκηπος", "el")
    ('laka-i-ogrod', None)
    """
    spoken = language.split("-", maxsplit=1)[0]
    small = unicodedata.normalize("NFC", text).casefold()
    for letter, written in {**_PLAIN, **_PLAIN_IN.get(spoken, {})}.items():
        small = small.replace(letter, written)
    apart = unicodedata.normalize("NFKD", small)
    kept = "".join(sign for sign in apart if not unicodedata.combining(sign))
    if any(sign.isalnum() and not sign.isascii() for sign in kept):
        return None
    return "-".join(re.findall(r"[a-z0-9]+", re.sub("['’]", "", kept))) or None


def bundle_name(
    pattern: str,
    fields: Mapping[str, str],
    short: Mapping[str, str],
    language: str,
    most_letters: int = 68,
) -> str:
    """The name of a bundle: the pattern with its fields put in, all in small letters.

    ``short`` are names for fields that are safe as they are: they stand in where a field's own
    text has letters that cannot be written from a to z, and where the name would be too long.
    Raises ``UserError`` when it has more than ``most_letters``, its ending included, all the same,
    or is a name that a system keeps to itself.

    >>> short = {"title": "running"}
    >>> bundle_name("{title}-v{version}", {"title": "Läufer", "version": "2"}, short, "de")
    'laeufer-v2'
    >>> bundle_name("{title}-v{version}", {"title": "庭の週", "version": "2"}, short, "ja")
    'running-v2'
    """
    full = {key: plain(text, language) if text else "" for key, text in fields.items()}
    brief = {key: short.get(key, "") or value or "" for key, value in full.items()}
    whole = {key: brief[key] if value is None else value for key, value in full.items()}
    short_title = {**whole, "title": brief.get("title", "")}
    names = [_joined(pattern, values) for values in (whole, short_title, brief)]
    name = next((one for one in names if len(one + ENDING) <= most_letters), "")
    if not name:
        raise UserError(
            "publish, name",
            f"'{names[-1]}{ENDING}' has {len(names[-1] + ENDING)} letters"
            f" and a file's name may have {most_letters}",
            "leave a field out of the pattern, give the set a shorter name, or raise"
            " publish.name_letters",
        )
    try:
        safe_name(name)
        safe_name(name.split(".", maxsplit=1)[0])
    except ValueError as problem:
        raise UserError("publish, name", problem.args[0], "change the pattern") from None
    return name


def _joined(pattern: str, values: Mapping[str, str]) -> str:
    """The pattern with values, without the hyphens that empty ones leave behind."""
    name = pattern.lower().format_map(values)
    return re.sub(r"([-_.])[-_.]*", r"\1", name).strip("-_.")


DIRECTIONS, FEED_TEST = "directions.pdf", "feed-test.pdf"
DIRECTIONS_ALOUD = "directions.html"
SIDE_2_REVERSED = "side-2-reversed.pdf"
HOLE_GAUGE = "hole-gauge.pdf"
CHANGES, LICENCE = "changes.txt", "licence.txt"

WORDS = Path(__file__).parent / "words"
"""What bundles say beside the directions, a file a language."""


def buyers_names(language: str, *, feed_test: bool) -> Mapping[str, str]:
    """The name in a bundle of each file that can be in it, by its own name, in order of use.

    ``feed_test`` tells whether the bundle has one: not every paper has room for it. Letters of
    other alphabets stay; a zip says that such names are UTF-8 (APPNOTE 6.3.10, appendix D).

    >>> list(buyers_names("en", feed_test=True).values())[1:5]
    ['1-directions.pdf', '2-feed-test.pdf', '2-hole-gauge.pdf', '3-4-both-sides.pdf']
    >>> buyers_names("de", feed_test=False)["side-2-reversed.pdf"]
    '3-rueckseiten-umgekehrt.pdf'
    """
    called = Phrases.read(WORDS, language).of["file"]
    written = {stem: plain(name, language) or name for stem, name in called.items()}
    return _numbered(written, feed_test)


def _numbered(called: Mapping[str, str], feed_test: bool) -> Mapping[str, str]:
    first = 3 if feed_test else 2
    numbered = [
        ("1-", DIRECTIONS_ALOUD),
        ("1-", DIRECTIONS),
        *([("2-", FEED_TEST)] if feed_test else []),
        ("2-" if feed_test else "4-", HOLE_GAUGE),
        (f"{first}-{first + 1}-", BOTH),
        (f"{first}-", SIDE_1),
        (f"{first + 1}-", SIDE_2),
        (f"{first + 1}-", SIDE_2_REVERSED),
        ("", SCREEN),
        ("", CHANGES),
        ("", LICENCE),
    ]
    stems = ((number, name, *name.rsplit(".", maxsplit=1)) for number, name in numbered)
    return {name: f"{number}{called[stem]}.{ending}" for number, name, stem, ending in stems}


def own_names(language: str) -> Mapping[str, str]:
    """The own name of each file that can be in a bundle, by the names that buyers see.

    Those of earlier programs, with all their letters, are among them.

    >>> own_names("en")["3-4-both-sides.pdf"], own_names("en")["2+3-both-sides.pdf"]
    ('both-sides.pdf', 'both-sides.pdf')
    """
    before = Phrases.read(WORDS, language).of["file"]
    either = [_numbered(before, tested) for tested in (False, True)]
    either += [buyers_names(language, feed_test=tested) for tested in (False, True)]
    both = [names[BOTH] for names in either]
    gauges = [names[HOLE_GAUGE][2:] for names in either]
    either += [{BOTH: name.replace("-", "+", 1)} for name in both]
    either += [{HOLE_GAUGE: f"{last}-{name}"} for name in gauges for last in (4, 5)]
    return {seen: own for names in either for own, seen in names.items()}


def sorted_for_use(names: Iterable[str]) -> list[str]:
    """Names of a bundle's files, in the order in which one needs them.

    >>> names = ["licence.txt", "4-side-2-reversed.pdf", "1-directions.pdf", "4-side-2.pdf"]
    >>> sorted_for_use(names)
    ['1-directions.pdf', '4-side-2.pdf', '4-side-2-reversed.pdf', 'licence.txt']
    """
    return sorted(names, key=lambda name: (not name[:1].isdigit(), *name.rsplit(".", maxsplit=1)))


def within(name: str, *, right_to_left: bool) -> str:
    """A file's name as it stands within a text.

    Where lines run from right to left, the number it begins with would go to its other end
    (UAX #9); an embedding keeps it in its place.
    """
    if not right_to_left:
        return name
    return f"\N{LEFT-TO-RIGHT EMBEDDING}{name}\N{POP DIRECTIONAL FORMATTING}"


MB = 1_000_000


def check_sizes(
    where: str, files: Mapping[str, int], zip_bytes: int, file_mb: float, zip_mb: float
) -> None:
    """Raises ``UserError`` for the first file, or the zip, that is too big. Sizes in bytes.

    >>> check_sizes("march", {"side-1.pdf": 30_000_000}, 31_000_000, 20, 50)
    Traceback (most recent call last):
    ...
    pipeline.base.errors.UserError: march, side-1.pdf: has 30.0 MB and a file may have 20; publish \
shorter periods, draw the pages with fewer paths or smaller pictures, or raise limits.file_mb
    """
    for name, size in files.items():
        if size > file_mb * MB:
            raise UserError(
                f"{where}, {name}",
                f"has {size / MB:.1f} MB and a file may have {file_mb:g}",
                "publish shorter periods, draw the pages with fewer paths or smaller pictures,"
                " or raise limits.file_mb",
            )
    if zip_bytes > zip_mb * MB:
        name, size = max(files.items(), key=lambda item: item[1])
        raise UserError(
            f"{where}, zip",
            f"has {zip_bytes / MB:.1f} MB and a zip may have {zip_mb:g};"
            f" its biggest file is {name} with {size / MB:.1f}",
            "publish shorter periods, draw the pages with fewer paths or smaller pictures,"
            " or raise publish.zip_mb",
        )


_UNIX, _READABLE = 3, 0o100644


def zipped(folder: str, files: Mapping[str, bytes], at: str) -> bytes:
    """A zip of ``files`` by name, all within one ``folder``, in the order given, of one time.

    ``at`` is that time (ISO 8601); a zip holds years from 1980 on (APPNOTE 6.3.10, 4.4.6).

    Stored, not deflated: PDFs are packed inside already, and what deflating gives is another
    thing with every release of zlib.

    >>> at = "2027-01-05T09:00:00Z"
    >>> zipped("spring", {"a.txt": b"A"}, at) == zipped("spring", {"a.txt": b"A"}, at)
    True
    """
    out, time = io.BytesIO(), dt.datetime.fromisoformat(at).timetuple()[:6]
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name, data in files.items():
            entry = zipfile.ZipInfo(f"{folder}/{name}", time)
            entry.create_system = _UNIX
            entry.external_attr = _READABLE << 16
            archive.writestr(entry, data)
    return out.getvalue()


def digest(data: bytes) -> str:
    """The SHA-256 of a file (FIPS 180-4), as checksum programs write it."""
    return hashlib.sha256(data).hexdigest()
