"""``docs/checks.md``: every finding, what to do, its limit and the faults it is tried with.

Written from the rules and the gallery of faults; ``make golden`` writes it anew.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from pipeline.base.findings import DRAWING_RULES, SET_RULES, Rule, Severity
from tests.conftest import ROOT
from tests.drawings.checks import test_lint_faults as drawings
from tests.proof.findings import test_whole_season as seasons
from tests.proof.findings.mutations import MUTATIONS

GUIDE = ROOT / "docs" / "checks.md"
PICTURES = ROOT / "docs" / "pictures" / "checks"

SEASON_RULES = frozenset(
    {rule for _, rule, _ in seasons.FAULTS.values() if rule}
    | {rule for rule, _ in seasons.LABELS.values()}
)

_GRAVE = {
    Severity.MUST: "must be mended",
    Severity.LOOK: "look: it may be meant",
    Severity.NOTE: "good to know",
}

_HEAD = """# What the checks find

`leafset lint` looks at your drawings, `leafset check` at the season and at the finished files. Each
finding below has its name, how grave it is, what to do about it, and the faults it is tried with:
the tests spoil sound work in each of these {faults} ways, and each must give just its own
finding. Sound work must give none: every set of the demo seasons is held to that.

**Must be mended**: it prints wrong, and nothing is published before it is mended. **Look**: it may
be what you meant. **Good to know**: nothing to do, unless you like.
"""


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
    drawn: dict[str, list[str]] = {}
    for _, rule, element in drawings.FAULTS.values():
        drawn.setdefault(rule, []).append(_one_line(re.sub(r'href="[^"]{40,}"', "…", element)))
    return {"seasons": of_seasons, "drawings": drawn, "files": files}


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
    yield f"### {rule.title} (`{rule.name}`)\n"
    if (PICTURES / f"{rule.name}.png").is_file():
        yield f"![{rule.title}](pictures/checks/{rule.name}.png)\n"
    yield f"*{_GRAVE[rule.severity].capitalize()}.* To mend it: {rule.remedy}.\n"
    limit = re.search(r"(\w+) in \[limits\]", rule.remedy)
    if limit:
        yield f"Its limit is `{limit[1]}` in the season's [`[limits]`](season-file.md#limits).\n"
    if listed:
        yield "Tried with: " + "; ".join(listed) + ".\n"
