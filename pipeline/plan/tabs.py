"""Which leaves of a set have tabs, on which step, and what stands on them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from pipeline.base.errors import UserError, did_you_mean
from pipeline.plan.facts import NO_TEXT, TAB_LABEL, TAB_NAME, Setting
from pipeline.plan.model import Edge, Leaf, Page, Spread, Tab
from pipeline.plan.season import SetEntry, TabEntry

_SAID: Mapping[str, str] = {
    "day": "day-date",
    "week": "week-number",
    "half-week": "week-number",
    "month": "month-name",
    "quarter": "month1-name",
    "year": "year",
    "once": "period-name",
}
"""What a tab says where the season does not: a key of the page in front, by its kind."""

Forms = tuple[str, ...]


@dataclass(frozen=True)
class _Asked:
    """A tab as a leaf of the season asks for it: its entry and its turn among those, from 0."""

    entry: TabEntry
    turn: int

    @property
    def tab(self) -> Tab:
        """Its place."""
        entry = self.entry
        at = entry.is_ if entry.is_ is not None else self.turn % entry.of + 1
        return Tab(entry.of, at, entry.reach_mm, Edge(entry.edge))


def with_tabs(
    entry: SetEntry, leaves: Sequence[Leaf], setting: Setting, where: str
) -> tuple[Leaf, ...]:
    """The leaves of a set with the tabs that its entry asks for, each told to both of its pages.

    ``where`` names the set in its season file, for errors. Raises UserError for a label or a list
    that the collection has not, and for tabs that leaves of one set cannot have.
    """
    asked = list(_asked(entry, leaves))
    if not any(asked):
        return tuple(leaves)
    kinds = {(one.tab.edge, one.tab.reach_mm) for one in asked if one}
    heads = {reach for edge, reach in kinds if edge is Edge.HEAD}
    if heads and len(kinds) > 1:
        what = "has tabs on the head, and others on the fore edge or of another reach"
        raise UserError(f"{where}.tab", what, "all tabs of such a set need one edge and one reach")
    bare = Tab(1, 0, heads.pop(), Edge.HEAD) if heads else None
    done = []
    for leaf, one in zip(leaves, asked, strict=True):
        tab = one.tab if one else bare
        if one and leaf.flap_mm and one.tab.edge is Edge.FORE:
            page = leaf.recto if leaf.recto and leaf.recto.flap_mm else leaf.verso
            what = (
                f"stands on the fore edge, where the page '{page.template if page else ''}' folds:"
                " the tab would go under with the flap"
            )
            raise UserError(f"{where}.tab", what, 'put the tab on the head: edge = "head"')
        said = _said(one, leaf, setting, where) if one else None
        done.append(Leaf(_on(leaf.recto, tab, said), _on(leaf.verso, tab, said)))
    return tuple(done)


def spreads_again(
    spreads: Sequence[Spread], before: Sequence[Leaf], after: Sequence[Leaf]
) -> tuple[Spread, ...]:
    """The spreads with the pages that their leaves have now."""
    pairs = [
        pair
        for old, new in zip(before, after, strict=True)
        for pair in ((old.recto, new.recto), (old.verso, new.verso))
    ]
    now = {id(old): new for old, new in pairs if old is not None and new is not None}
    return tuple(
        Spread(now[id(one.verso)], now[id(one.recto)] if one.recto else None) for one in spreads
    )


def _asked(entry: SetEntry, leaves: Sequence[Leaf]) -> Iterator[_Asked | None]:
    """The tab that each leaf is to have, None where it is to have none."""
    own = {one.recto: one.tab or entry.tab for one in entry.spreads or ()}
    turns: Counter[int] = Counter()
    for number, leaf in enumerate(leaves):
        asked, shared = None, 0  # single leaves take their turns together, with whatever tab
        if entry.leaves is not None:
            asked = entry.leaves[number].tab or entry.tab
        elif number and leaf.recto is not None:  # the first leaf's front is the opening page
            asked = own.get(leaf.recto.template)
            shared = id(asked)
        if asked is None:
            yield None
        else:
            yield _Asked(asked, turns[shared])
            turns[shared] += 1


def _said(one: _Asked, leaf: Leaf, setting: Setting, where: str) -> Forms:
    """What stands on a tab: its label, its line of a list, or what the leaf's front is about.

    Without any of them the tab stays blank, to be written on.
    """
    entry = one.entry
    if entry.label is not None:
        if entry.label not in setting.labels:
            what = f"there is no label '{entry.label}' for '{setting.words.language}'"
            raise UserError(f"{where}.tab.label", what, did_you_mean(entry.label, setting.labels))
        return setting.labels[entry.label]
    if entry.list is not None:
        if entry.list not in setting.lists:
            known = did_you_mean(entry.list, setting.lists) if setting.lists else ""
            remedy = known or f"write lists/{entry.list}.csv in the collection"
            raise UserError(f"{where}.tab.list", f"there is no list '{entry.list}'", remedy)
        lines = setting.lists[entry.list]
        if one.turn >= len(lines):
            what = f"the list '{entry.list}' has {len(lines)} lines and there are more tabs"
            raise UserError(f"{where}.tab.list", what, "add lines, or take leaves away")
        return (lines[one.turn],)
    page = leaf.recto or leaf.verso
    key = _SAID.get(page.facts.kind) if page else None
    return page.facts.texts.get(key, NO_TEXT) if page and key else NO_TEXT


def _on(page: Page | None, tab: Tab | None, said: Forms | None) -> Page | None:
    if page is None or tab is None:
        return page
    said = said or NO_TEXT
    texts = {**page.facts.texts, TAB_LABEL: said, TAB_NAME: said}
    return replace(page, tab=tab, facts=replace(page.facts, texts=texts))
