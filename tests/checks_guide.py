"""``docs/checks.md``: every finding, what to do, its limit and the faults it is tried with.

Written from the rules and the gallery of faults; ``make golden`` writes it anew.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from pipeline.base.findings import DRAWING_RULES, SET_RULES, Rule, Severity
from pipeline.plan.season import Limits
from tests.app import test_check as whole_sets
from tests.conftest import ROOT
from tests.drawings.checks import test_lint_faults as drawings
from tests.drawings.checks import test_lint_gallery as gallery
from tests.drawings.checks import test_lint_second_engine as second_engine
from tests.proof.findings import test_whole_season as seasons
from tests.proof.findings.mutations import MUTATIONS

GUIDE = ROOT / "docs" / "checks.md"
PICTURES = ROOT / "docs" / "pictures" / "checks"

SEASON_RULES = frozenset(
    {rule for _, rule, _ in seasons.FAULTS.values() if rule}
    | {rule for rule, _ in seasons.LABELS.values()}
    | {"labels-file-language"}
)

_GRAVE = {
    Severity.MUST: "must be mended",
    Severity.LOOK: "look: it may be meant",
    Severity.NOTE: "good to know",
}

_HEAD = """# What the checks find

`leafset check` looks at your drawings, at the season and at the finished files. Each finding below
has its name, how grave it is, what to do about it, and the faults it is tried with: the tests spoil
sound work in each of these {faults} ways, and each must give just its own finding.
Sound work must give none: every set of the demo seasons is held to that, and `make sweep` goes
through all months of eight years, three week policies, three first weekdays and ten languages.

A **name** is what an object is called in your drawing program: in its layers or objects panel, or
as the id among its properties. A **set** is the pages that you sell together, a **period** the
weeks or months that they are for, a **season** all that you make at once. The **season file** says
which those are; a **labels file** has the words of a language that leafset writes on every page.
Both are plain text. `leafset build` makes the PDFs again from the drawings, as opening leafset
does.

**Must be mended**: it prints wrong, and nothing is released before it is mended. **Look**: it may
be what you meant. **Good to know**: nothing to do, unless you like.
"""


_DRAWN = {
    "day9-name": "a ninth day's name",
    "show-day1-holiday": "a group for holidays, which pages for a week don't know",
    "lines-6": "a ruled area without a unit",
    "label-pick": "a label that no labels file has",
    "month-grid": "a small month without its rectangle",
    "week-number": "a week's number turned into paths",
    "ringed": "text where the rings go",
    "cut": "text over the lower edge",
    "near": "text 1 mm from the edge",
    "holed": "a line across the holes",
    "beyond": "a rectangle off the page",
    "strange": "a font that isn't installed",
    "rare": "a rune, which no font has",
    "thin": "a line of 0.15 mm",
    "gone": "a line of 0.05 mm",
    "linked": "a picture that is linked, not embedded",
    "coarse": "a picture of 20 pixels, 9 mm wide",
    "fine": "a picture of 120 pixels, 9 mm wide",
    "blurred": "a blur",
    "blended": "a blend mode that PDF lacks",
    "flowed": "text that a browser lays out",
    "typed": "'by Friday 5 March'",
    "yeared": "'Spring 2026'",
    "weeked": "'Wk 9 of 52'",
    "moon": "'full moon 22 March'",
    "day2-name-7": "a key that an editor numbered",
}
"""The faults of the page with one of each, by their ids, in words."""


def faults() -> dict[str, Mapping[str, list[str]]]:
    """The faults of each family's gallery, by rule, in the words of the gallery."""
    files: dict[str, list[str]] = {}
    for mutation in MUTATIONS:
        files.setdefault(mutation.code, []).append(mutation.what)
    of_seasons: dict[str, list[str]] = {}
    for typed, (instead, rule, _) in seasons.FAULTS.items():
        if rule:
            what = f"{_one_line(typed)} in place of {_one_line(instead)}"
            of_seasons.setdefault(rule, []).append(what)
    for typed, (rule, _) in seasons.LABELS.items():
        of_seasons.setdefault(rule, []).append(f"a label {_one_line(typed)}")
    of_seasons["labels-file-language"] = list(seasons.LABELS_FILES)
    drawn: dict[str, list[str]] = {}
    for name, (_, rule, _) in drawings.FAULTS.items():
        drawn.setdefault(rule, []).append(_DRAWN[name])
    for done, (_, rule, _, _) in gallery.GALLERY.items():
        drawn.setdefault(rule, []).append(done)
    for done, (_, rule, _, _) in gallery.TABS.items():
        drawn.setdefault(rule, []).append(done)
    drawn["label-exchanged"] = list(gallery.EXCHANGED)
    drawn["drawn-otherwise"] = list(second_engine.OTHERWISE)
    files["set-stale"] = list(whole_sets.STALE)
    for done, (_, _, rules, _) in whole_sets.BROKEN.items():
        rule = "file-unreadable" if rules == whole_sets.FILE_RULES else min(rules)
        files.setdefault(rule, []).append(done)
    return {"seasons": of_seasons, "drawings": drawn, "files": files}


_LIMITS = re.compile(r"write (\w+) = [\d.]+ or the like under \[limits\]")
"""How a remedy names the limit of its rule."""


def _one_line(code: str) -> str:
    plain = " ".join(code.split())
    return f"`{plain if len(plain) <= 90 else plain[:87] + '…'}`"


def guide() -> str:
    """The whole page, as it is to stand in ``docs/checks.md``."""
    known = faults()
    count = sum(len(listed) for family in known.values() for listed in family.values())
    in_files = {name: rule for name, rule in SET_RULES.items() if name not in SEASON_RULES}
    in_seasons = {name: rule for name, rule in SET_RULES.items() if name in SEASON_RULES}
    parts = [_HEAD.format(faults=count)]
    for title, family, rules in (
        ("In a season and its labels", "seasons", in_seasons),
        ("In drawings", "drawings", DRAWING_RULES),
        ("In finished files", "files", in_files),
    ):
        parts.append(f"## {title}\n")
        for rule in rules.values():
            parts += _of_rule(rule, known[family].get(rule.name, []))
    return "\n".join(parts)


def _of_rule(rule: Rule, listed: list[str]) -> Iterator[str]:
    yield f"### {rule.title[0].upper()}{rule.title[1:]} (`{rule.name}`)\n"
    if (PICTURES / f"{rule.name}.png").is_file():
        yield f"![{rule.title}](pictures/checks/{rule.name}.png)\n"
    yield f"*{_GRAVE[rule.severity].capitalize()}.* To mend it: {rule.remedy}.\n"
    limit = _LIMITS.search(rule.remedy)
    if limit:
        usual = Limits.model_fields[limit[1]].default
        yield f"Its limit: `{limit[1]}`, {usual:g} unless [you say other](season-file.md#limits).\n"
    if listed:
        yield "Tried with: " + "; ".join(listed) + ".\n"
