"""Labels of a season's languages: each has them all, or takes the missing ones from another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from pipeline.base.errors import UserError
from pipeline.plan.collection import Collection
from pipeline.plan.tags import root_of

Labels = Mapping[str, tuple[str, ...]]
"""Key to forms, longest first."""

_NAMED = 3
"""So many missing keys are named in one error."""


def labels_by_language(
    collection: Collection, languages: Sequence[str], fallback: str | None = None
) -> Mapping[str, Labels]:
    """The labels of each language; those it lacks are those of ``fallback``, if that is given.

    All languages fill the same templates, so a key that one has and another lacks is missing.
    Raises ``UserError`` naming the key, the language and the file to add it to.
    """
    spare = collection.labels(fallback) if fallback is not None else {}

    def own(language: str) -> Labels:
        bare = fallback is not None and not collection.label_files(language)
        return {} if bare else collection.labels(language)

    found = {language: {**spare, **own(language)} for language in languages}
    for language, labels in found.items():
        for other, theirs in found.items():
            missing = [key for key in theirs if key not in labels]
            if missing:
                raise _missing(collection, language, missing, other, fallback)
    return found


def _missing(
    collection: Collection, language: str, keys: Sequence[str], other: str, fallback: str | None
) -> UserError:
    paths = collection.label_files(language)
    path = paths[-1] if paths else collection.folder / "labels" / f"{root_of(language)}.toml"
    many = len(keys) > 1
    named = ", ".join(f"'{key}'" for key in keys[:_NAMED])
    if len(keys) > _NAMED:
        named += f" and {len(keys) - _NAMED} more"
    them = "them" if many else "it"
    remedy = f'write {keys[0]} = "…" there, or set label_fallback in the season file'
    if fallback is not None:
        remedy = f"write {them} there or in the labels of '{fallback}', the label_fallback"
    return UserError(
        str(path),
        f"label{'s' if many else ''} {named} missing for '{language}' ('{other}' has {them})",
        remedy,
    )
