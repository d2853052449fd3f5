"""Lint and the drawing engine agree on what is not drawn, and lint tells of all of it at once."""

from __future__ import annotations

from pathlib import Path

import pytest
from lxml import etree

from pipeline.base.cache import Cache
from pipeline.base.errors import UserError
from pipeline.base.findings import Severity
from pipeline.drawings.checks import DrawingFinding, check_drawings
from pipeline.fill import template
from pipeline.fill.template import TemplateFile, read_template
from tests.draw.feature_samples import FEATURES, REFUSED, Feature, Refused
from tests.draw.test_features import svg


def undrawn(content: str, folder: Path, size: str = "") -> list[DrawingFinding]:
    path = folder / "sample.svg"
    size = size or 'width="60mm" height="40mm" viewBox="0 0 60 40"'
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f"{size}>{content}</svg>",
        "utf-8",
    )
    return [one for one in check_drawings([path])[0] if one.rule in ("undrawn", "file")]


@pytest.mark.parametrize("fault", REFUSED, ids=lambda fault: fault.name)
def test_what_is_refused_is_named(fault: Refused, tmp_path: Path) -> None:
    found = undrawn(fault.content, tmp_path)
    assert all(one.severity is Severity.MUST and one.rule == "undrawn" for one in found)
    assert any(
        fault.says in one.message and fault.element in ("", one.element) and one.line >= 1
        for one in found
    )


def test_what_is_drawn_is_passed_over(tmp_path: Path) -> None:
    wrongly: list[tuple[Feature, list[DrawingFinding]]] = []
    for feature in FEATURES:
        found = undrawn(feature.content, tmp_path, feature.size)
        if found:
            wrongly.append((feature, found))
    assert wrongly == []


def test_all_are_told_at_once_and_the_rest_of_the_page_as_well(tmp_path: Path) -> None:
    content = (
        '<path id="a" d="M1 1h9v9z" vector-effect="non-scaling-size"/>\n'
        '<foreignObject id="b" width="9" height="9"/>\n'
        '<path id="c" d="M1 20h9v9z" '
        'style="mix-blend-mode:plus-lighter;fill:device-cmyk(0 1 0 0)"/>\n'
        '<text id="d" x="20" y="20" font-family="Nope">words</text>'
    )
    found = undrawn(content, tmp_path)
    assert [(one.element, one.line) for one in found] == [("a", 1), ("b", 2), ("c", 3), ("c", 3)]
    others = [one.rule for one in check_drawings([tmp_path / "sample.svg"])[0]]
    assert "font" in others


def test_what_nobody_thought_of_is_told_with_its_element(tmp_path: Path) -> None:
    """A path without a beginning makes the search for its corners fail; the page is read on."""
    content = (
        '<marker id="dot"><path d="M0 0h1"/></marker>\n'
        '<path id="stem" d="L5 5" stroke="red" marker-end="url(#dot)"/>\n'
        '<path id="leaf" d="M1 1h9v9z" fill="blurple"/>'
    )
    found = {one.element: one for one in undrawn(content, tmp_path)}
    assert set(found) == {"stem", "leaf"}
    assert found["stem"].line == 2


@pytest.mark.parametrize("step", ["simplify", "resolve_styles", "refuse"])
def test_any_exception_while_a_template_is_read_is_the_makers_to_mend(
    step: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(root: etree._Element, *others: object) -> None:
        for element in root.iter():
            if element.get("id") == "leaf":
                raise ZeroDivisionError("a long\nstory")

    monkeypatch.setattr(template, step, fails)
    file = TemplateFile(Path("a5/week.svg"), svg(f'<g><path id="leaf" d="M{len(step)} 1h9"/></g>'))
    with pytest.raises(UserError, match="a long story") as caught:
        read_template(file)
    assert caught.value.place == "a5/week.svg, element 'leaf'"
    assert caught.value.remedy


def test_a_build_refuses_what_lint_names_first(tmp_path: Path) -> None:
    """The same words in both, so that one is known by the other."""
    for fault in REFUSED:
        found = undrawn(fault.content, tmp_path)
        path = tmp_path / "sample.svg"
        with pytest.raises(UserError) as refused:
            read_template(TemplateFile(path, path.read_bytes()))
        assert any(refused.value.what in one.message for one in found)


def test_a_text_in_a_generic_family_is_told_and_one_after_a_found_face_is_not(
    tmp_path: Path,
) -> None:
    """``sans-serif`` is what an editor writes for a new text."""
    undrawn(
        '<text id="new" x="20" y="10" style="font-family:sans-serif">words</text>\n'
        '<text id="good" x="20" y="20" style="font-family:Kalam, cursive">words</text>\n'
        '<text id="empty" x="20" y="30" style="font-family:serif"/>',
        tmp_path,
    )
    found = [one for one in check_drawings([tmp_path / "sample.svg"])[0] if one.rule == "font"]
    assert [(one.element, one.line) for one in found] == [("new", 1)]
    assert found[0].severity is Severity.MUST
    assert "'sans-serif' is not a font" in found[0].message
    assert "Source Sans 3" in found[0].remedy


def test_what_only_drawing_shows_is_told_beside_the_rest(tmp_path: Path) -> None:
    path = tmp_path / "sample.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">\n'
        '<filter id="f"><feMorphology operator="dilate" radius="1e300"/></filter>\n'
        '<rect id="soft" width="60" height="40" filter="url(#f)"/>\n'
        '<text x="20" y="20" font-family="Kalam" font-size="1">words</text></svg>',
        "utf-8",
    )
    found = {one.rule: one for one in check_drawings([path], cache=Cache(tmp_path / "cache"))[0]}
    assert (found["undrawn"].element, found["undrawn"].line) == ("soft", 3)
    assert "text-small" in found
