"""Which leaves have tabs, on which step, and what stands on them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from pipeline.base.errors import UserError
from pipeline.plan import plan_season
from pipeline.plan.model import Edge, Leaf, SetPlan, Tab
from pipeline.plan.sets import run_of

LayOut = Callable[[str], Path]

TOP = """
name = "trial"
title = "Trial"
collection = "beds"
language = ["en-GB"]
sizes = ["a5"]
papers = ["a4"]

[[period]]
name = "year"
months = ["2027-01", "2027-12"]
"""
MONTHS = """
[[set]]
name = "months"
opening = "opening"
spreads = [{{ verso = "month-left", recto = "month-right", per = "month", tab = {tab} }}]
"""
SINGLE = """
[[set]]
name = "single"
{tab}
leaves = [{leaves}]
"""


def planned(path: Path) -> SetPlan:
    (one,) = plan_season(path).sets
    return one


def said(leaf: Leaf) -> list[tuple[str, ...]]:
    pages = [page for page in (leaf.recto, leaf.verso) if page]
    return [page.facts.texts[key] for page in pages for key in ("tab-label", "tab-name")]


def test_months_step_down_the_fore_edge_by_themselves(lay_out: LayOut) -> None:
    one = planned(lay_out(TOP + MONTHS.format(tab="{ of = 12, reach_mm = 10 }")))
    opening, *leaves = one.leaves
    assert opening.tab is None, "the opening page is about no month"
    assert [leaf.tab for leaf in leaves] == [Tab(12, step, 10.0) for step in range(1, 13)]
    assert leaves[2].recto is not None
    assert leaves[2].recto.label == "March 2027"
    # both faces of a leaf say what its front is about, and shorter where there is less room
    assert said(leaves[2]) == [("March", "Mar")] * 4
    assert one.spreads[2].recto is leaves[2].recto, "spreads and leaves have the same pages"
    run = run_of(one)
    assert [line.tab for line in run] == ["", *(f"{step} of 12" for step in range(1, 13))]


def test_only_months_among_weeks_have_tabs(lay_out: LayOut) -> None:
    text = TOP + MONTHS.format(tab="{ of = 12, reach_mm = 10 }").replace(
        "}]", '}, { verso = "list", recto = "plan", per = "week" }]'
    )
    one = planned(lay_out(text))
    tabbed = [leaf for leaf in one.leaves if leaf.tab]
    assert {leaf.recto.template for leaf in tabbed if leaf.recto} == {"month-right"}
    assert [leaf.tab.at for leaf in tabbed if leaf.tab] == list(range(1, 13))


def test_after_the_last_step_comes_the_first(lay_out: LayOut) -> None:
    one = planned(lay_out(TOP + MONTHS.format(tab="{ of = 5, reach_mm = 10 }")))
    steps = [leaf.tab.at for leaf in one.leaves if leaf.tab]
    assert steps == [1, 2, 3, 4, 5, 1, 2, 3, 4, 5, 1, 2]


def test_a_label_a_list_and_nothing(lay_out: LayOut) -> None:
    tab = "of = 3, reach_mm = 12"
    leaves = (
        f'{{ recto = "record", tab = {{ {tab}, label = "sowing" }} }},'
        f'{{ recto = "record", verso = "ruled", tab = {{ {tab}, is = 3, label = "notes" }} }},'
        f'{{ recto = "record", tab = {{ {tab} }} }}, {{ recto = "record" }}'
    )
    one = planned(lay_out(TOP + SINGLE.format(tab="", leaves=leaves)))
    assert [leaf.tab and leaf.tab.at for leaf in one.leaves] == [1, 3, 3, None]
    assert said(one.leaves[0]) == [("Sowing list", "Sowing")] * 2
    assert said(one.leaves[1]) == [("Jottings",)] * 4
    assert said(one.leaves[2]) == said(one.leaves[3]) == [("",)] * 2


def with_list(path: Path) -> Path:
    lists = path.parents[1] / "templates_svg" / "beds" / "lists"
    lists.mkdir()
    (lists / "beds.csv").write_text("en,de\nNorth bed,Nordbeet\nSouth bed,Südbeet\n", "utf-8")
    return path


def test_a_set_s_tabs_take_the_lines_of_a_list(lay_out: LayOut) -> None:
    tab = 'tab = { of = 4, reach_mm = 12, edge = "head", list = "beds" }'
    leaves = '{ recto = "record" }, { recto = "record" }'
    one = planned(with_list(lay_out(TOP + SINGLE.format(tab=tab, leaves=leaves))))
    assert [said(leaf)[0] for leaf in one.leaves] == [("North bed",), ("South bed",)]
    assert [leaf.tab for leaf in one.leaves] == [Tab(4, at, 12.0, Edge.HEAD) for at in (1, 2)]


def test_leaves_without_a_tab_are_as_high_as_those_with_one_on_the_head(lay_out: LayOut) -> None:
    tab = '{ of = 12, reach_mm = 10, edge = "head" }'
    opening, *_ = planned(lay_out(TOP + MONTHS.format(tab=tab))).leaves
    assert opening.tab == Tab(1, 0, 10.0, Edge.HEAD)


def test_months_without_dates_have_blank_tabs(lay_out: LayOut) -> None:
    text = MONTHS.format(tab="{ of = 12, reach_mm = 10 }").replace(
        'name = "months"', 'name = "months"\ndates = "none"\ncount = 3'
    )
    one = planned(lay_out(TOP + text))
    assert [leaf.tab and leaf.tab.at for leaf in one.leaves] == [None, 1, 2, 3]
    assert {line for leaf in one.leaves[1:] for line in said(leaf)} == {("",)}


MISTAKES = {
    "a step that is not there": ("is = 7, of = 6, reach_mm = 10", "step 7 of 6"),
    "no steps": ("of = 0, reach_mm = 10", "of: is 0 and must be at least 1"),
    "too short to get hold of": ("of = 6, reach_mm = 2", "reach_mm: is 2 and must be at least 5"),
    "no such edge": ('of = 6, reach_mm = 10, edge = "foot"', "'foot' isn't a valid choice"),
    "no such label": ('of = 6, reach_mm = 10, label = "sowng"', "did you mean 'sowing'"),
    "no such list": ('of = 6, reach_mm = 10, list = "rooms"', "write lists/rooms.csv"),
    "label and list": ('of = 6, reach_mm = 10, label = "notes", list = "beds"', "both 'label'"),
}


@pytest.mark.parametrize("what", MISTAKES)
def test_a_mistake_is_one_line(lay_out: LayOut, what: str) -> None:
    tab, told = MISTAKES[what]
    with pytest.raises(UserError) as found:
        plan_season(lay_out(TOP + MONTHS.format(tab=f"{{ {tab} }}")))
    assert told in str(found.value)
    assert "\n" not in str(found.value)


def test_a_tab_where_a_flap_folds(lay_out: LayOut) -> None:
    text = TOP + MONTHS.format(tab="{ of = 12, reach_mm = 10 }").replace("month-left", "week-left")
    with pytest.raises(UserError) as found:
        plan_season(lay_out(text))
    assert "set.months.tab: stands on the fore edge, where the page 'week-left' folds" in str(
        found.value
    )
    assert 'edge = "head"' in found.value.remedy


def test_a_tab_on_the_head_beside_a_flap(lay_out: LayOut) -> None:
    tab = '{ of = 12, reach_mm = 10, edge = "head" }'
    one = planned(lay_out(TOP + MONTHS.format(tab=tab).replace("month-left", "week-left")))
    flapped = [leaf for leaf in one.leaves if leaf.flap_mm]
    assert flapped
    assert all(leaf.tab and leaf.tab.edge is Edge.HEAD for leaf in flapped)


def test_a_list_that_is_too_short(lay_out: LayOut) -> None:
    tab = 'tab = { of = 4, reach_mm = 12, list = "beds" }'
    leaves = ", ".join(['{ recto = "record" }'] * 3)
    path = with_list(lay_out(TOP + SINGLE.format(tab=tab, leaves=leaves)))
    with pytest.raises(UserError, match=r"'beds' has 2 lines and there are more tabs"):
        plan_season(path)


def test_two_edges_in_one_set(lay_out: LayOut) -> None:
    leaves = (
        '{ recto = "record", tab = { of = 2, reach_mm = 9 } },'
        '{ recto = "record", tab = { of = 2, reach_mm = 9, edge = "head" } }'
    )
    with pytest.raises(UserError, match="need one edge and one reach"):
        plan_season(lay_out(TOP + SINGLE.format(tab="", leaves=leaves)))
