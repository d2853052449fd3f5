"""The maker's terms: a plain text in the collection, one a language."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from pipeline.base.errors import UserError
from pipeline.plan.collection import Collection
from pipeline.plan.tags import parents, root_of

FOLDER, ELSE = "licence", "en"


def licence(collection: Collection, language: str) -> bytes:
    """What buyers may do with the files, in their language; else in English.

    Taken from ``licence/<language>.txt`` in the collection, a country's before its language's.
    Lines that begin with ``#`` are the maker's notes and are left out.
    Lines end as every editor reads them (CR LF). Raises ``UserError`` when there is none.
    """
    for name in dict.fromkeys((*parents(language), ELSE)):
        path = _file(collection, name)
        try:
            text = path.read_text("utf-8-sig")
        except FileNotFoundError:
            continue
        except (OSError, UnicodeError) as problem:
            raise UserError(str(path), f"cannot be read ({problem})", "save it as UTF-8") from None
        if terms := _without_notes(text):
            return plain_text(terms)
    raise UserError(
        str(collection.folder / FOLDER / f"{root_of(language)}.txt"),
        "there are no terms for buyers",
        "write into this file what they may do with what they buy",
    )


def without_terms(collection: Collection, languages: Sequence[str]) -> list[str]:
    """Those of the languages whose buyers get the English terms for want of their own."""
    return [
        language
        for language in languages
        if not any(_file(collection, name).is_file() for name in parents(language))
    ]


def _without_notes(text: str) -> str:
    """What is left for buyers; where a note stood alone, one empty line and not two.

    >>> _without_notes("Terms\\n\\n# for me\\n# alone\\n\\nYou may")
    'Terms\\n\\nYou may'
    """
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return re.sub(r"\n\s*\n+", "\n\n", "\n".join(lines)).strip()


def _file(collection: Collection, name: str) -> Path:
    return collection.folder / FOLDER / f"{name}.txt"


def plain_text(text: str) -> bytes:
    """A text as a file: UTF-8 with its mark and CR LF, which the oldest editors read too.

    >>> plain_text("Größe\\n\\n")
    b'\\xef\\xbb\\xbfGr\\xc3\\xb6\\xc3\\x9fe\\r\\n'
    """
    lines = text.strip().splitlines()
    return ("\r\n".join(line.rstrip() for line in lines) + "\r\n").encode("utf-8-sig")
