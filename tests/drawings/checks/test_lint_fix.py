"""``--fix`` mends what is mechanical; byte by byte, everything else in the file stays as it was."""

from __future__ import annotations

import difflib
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.drawings.checks import check_drawings
from pipeline.drawings.checks.sourcetext import Edit, SourceText, Span
from tests.conftest import ROOT
from tests.drawings.checks.conftest import Shelf

ODD = """<?xml version="1.0" encoding="UTF-8" standalone="no"?>\r
<!-- kept   as it is: id="day1_x2D_name" stroke-width="0.01" -->\r
<svg xmlns="http://www.w3.org/2000/svg"   width = '148mm'\r
\theight="210mm" viewBox="0 0 148 210" font-family="Source Sans 3" font-size='4'>\r
  <g stroke="#333" stroke-width=".1"><path d="M60 20h9"/><path d='M60 22h9' /></g>\r
  <text id = "day1_x2D_name" x="60" y="30">Montag &#228;&amp;</text>\r
  <text id='day2-name_1_' x="60" y="40">ä</text>\r
  <path style="fill:none; stroke-width : 0.15 ;stroke:#333" d="M60 44h9"/>\r
  <path stroke="#333" stroke-width="0.3" d="M60 46h9"/>\r
</svg>\r
"""


def changes(before: bytes, after: bytes) -> list[tuple[bytes, bytes]]:
    """What was there and what is there instead, for every stretch that differs."""
    matcher = difflib.SequenceMatcher(a=before, b=after, autojunk=False)
    return [
        (before[a:b], after[c:d]) for kind, a, b, c, d in matcher.get_opcodes() if kind != "equal"
    ]


def test_only_the_expected_bytes_change(shelf: Shelf) -> None:
    path = shelf.put("right", "")
    path.write_bytes(ODD.encode())
    findings, mended = check_drawings([path], mend=True)
    expected = (
        ODD.replace('id = "day1_x2D_name"', 'id = "day1-name"')
        .replace("id='day2-name_1_'", "id='day2-name'")
        .replace('stroke-width=".1"', 'stroke-width="0.2"')
        .replace("stroke-width : 0.15 ;", "stroke-width : 0.2 ;")
    )
    assert path.read_bytes() == expected.encode()
    assert mended == 4
    assert [one.rule for one in findings] == ["missing"]


def test_a_second_time_there_is_nothing_to_do(shelf: Shelf) -> None:
    path = shelf.put("right", "")
    path.write_bytes(ODD.encode())
    check_drawings([path], mend=True)
    once = path.read_bytes()
    assert check_drawings([path], mend=True)[1] == 0
    assert path.read_bytes() == once


def test_without_fix_nothing_is_touched(shelf: Shelf) -> None:
    path = shelf.put("right", "")
    path.write_bytes(ODD.encode())
    check_drawings([path])
    assert path.read_bytes() == ODD.encode()


def test_copies_get_names_of_their_own(shelf: Shelf) -> None:
    texts = "".join(
        f'<text id="{name}" x="60" y="{20 + 9 * n}">x</text>'
        for n, name in enumerate(("day1_x2D_name", "day1-name", "day1-name_1_", "day1-name-7"))
    )
    path = shelf.put("right", texts)
    check_drawings([path], mend=True)
    assert re.findall(r' id="([^"]+)"', path.read_text("utf-8")) == [
        "day1-name-2", "day1-name", "day1-name-3", "day1-name-7",
    ]  # fmt: skip


def test_an_id_that_others_refer_to_is_left(shelf: Shelf) -> None:
    path = shelf.put(
        "right", '<text id="label-sow_1_" x="60" y="20">x</text><use href="#label-sow_1_" y="30"/>'
    )
    before = path.read_bytes()
    findings, mended = check_drawings([path], mend=True)
    assert (path.read_bytes(), mended) == (before, 0)
    assert [one.mendable for one in findings if one.rule == "renamed"] == [False]


def test_widths_in_a_style_sheet_are_left(shelf: Shelf) -> None:
    path = shelf.put(
        "right",
        '<style>.thin{stroke:#333;stroke-width:.1}</style><path class="thin" d="M60 20h9"/>',
    )
    before = path.read_bytes()
    findings, mended = check_drawings([path], mend=True)
    assert (path.read_bytes(), mended) == (before, 0)
    assert [(one.rule, one.mendable) for one in findings] == [("hairline", False)]


@pytest.mark.parametrize(
    ("written", "scale", "mended"),
    [
        ("0.1", 1, "0.2"),
        ("0.1mm", 0.25, "0.212mm"),  # in px a mm is 3.78 units, here of a quarter mm
        ("0.25px", 0.5, "0.4px"),
        ("1e-1", 1, "0.2"),
    ],
)
def test_widths_keep_their_unit(shelf: Shelf, written: str, scale: float, mended: str) -> None:
    path = shelf.put(
        "right",
        f'<g transform="scale({scale})"><path d="M{60 / scale} 99h9" stroke="#333" '
        f'stroke-width="{written}"/></g>',
    )
    check_drawings([path], mend=True)
    assert f'stroke-width="{mended}"' in path.read_text("utf-8")
    assert check_drawings([path])[0] == []


@pytest.mark.parametrize("encoding", ["utf-8-sig", "iso-8859-1", "utf-16"])
def test_other_encodings(shelf: Shelf, encoding: str) -> None:
    """A file keeps its encoding; where bytes cannot be told apart it is left as it is."""
    declared = "UTF-8" if encoding == "utf-8-sig" else encoding.upper()
    text = ODD.replace("UTF-8", declared)
    path = shelf.put("right", "")
    path.write_bytes(text.encode(encoding))
    _, mended = check_drawings([path], mend=True)
    if encoding == "utf-16":
        assert (path.read_bytes(), mended) == (text.encode(encoding), 0)
    else:
        assert mended == 4
        assert 'id = "day1-name"' in path.read_text(encoding)
        assert len(changes(text.encode(encoding), path.read_bytes())) <= 8


def test_a_page_with_its_lines_thickened_differs_only_in_widths(shelf: Shelf) -> None:
    """Drawn pages stay the same text, but for widths that were below 0.2 mm."""
    folder = ROOT / "tests" / "plot" / "a5"
    width = re.compile(rb'(stroke-width=")([^"]*)(")')
    for page in sorted(folder.glob("*.svg"))[:4]:
        before = page.read_bytes()
        path = shelf.folder / "a5" / page.name
        path.write_bytes(before)
        check_drawings([path], mend=True)
        after = path.read_bytes()
        assert width.sub(rb"\1\3", after) == width.sub(rb"\1\3", before)
        changed = [
            (old[1], new[1])
            for old, new in zip(width.findall(before), width.findall(after), strict=True)
            if old != new
        ]
        assert changed
        assert all(float(old) < 0.2 and new == b"0.2" for old, new in changed)


@pytest.mark.parametrize(
    ("written", "mended"),
    [
        ('width="419.53px" height="595.28px" ', 'width="148mm" height="210mm" '),  # 72 to the inch
        ("width='524.41' height='744.09' ", "width='148mm' height='210mm' "),  # 90 to the inch
        ("", ""),
    ],
)
def test_points_written_as_pixels(shelf: Shelf, written: str, mended: str) -> None:
    """The page gets its true size first; a line that seemed too thin then is none any more."""
    path = shelf.folder / "a5" / "right.svg"
    box = "0 0 419.53 595.28"
    page = (
        f'<svg xmlns="http://www.w3.org/2000/svg" {written}viewBox="{box}">'
        '<path d="M99 99h9" stroke="#333" stroke-width="0.6"/></svg>'
    )
    path.write_text(page, "utf-8")
    (size, _) = check_drawings([path])[0]
    assert (size.rule, size.mendable) == ("size", True)
    findings, count = check_drawings([path], mend=True)
    assert findings == []
    if written:
        page = page.replace(written, mended)
    else:
        page = page.replace("<svg", '<svg width="148mm" height="210mm"')
    assert path.read_text("utf-8") == page
    assert count == 2


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["a", "path", "x:y", "g"]),
            st.dictionaries(
                st.sampled_from(["id", "style", "d", "x"]),
                st.text("abü €/>=-_:;#0 ", max_size=8),
                max_size=4,
            ),
            st.sampled_from(["'", '"']),
            st.sampled_from(["", " ", "\n  "]),
        ),
        max_size=8,
    )
)  # fmt: skip
@settings(max_examples=60)
def test_every_attribute_is_found_where_it_is(
    tags: list[tuple[str, dict[str, str], str, str]],
) -> None:
    text = '<svg xmlns:x="urn:x">' + "".join(
        f"<{tag}"
        + "".join(f" {name}{gap}={gap}{quote}{value}{quote}" for name, value in attributes.items())
        + "/>"
        for tag, attributes, quote, gap in tags
    )
    source = SourceText.of((text + "</svg>").encode())
    assert len(source.tags) == len(tags) + 1
    for number, (_, attributes, *_) in enumerate(tags, start=1):
        for name in ("id", "style", "d", "x"):
            span = source.value(number, name)
            found = source.data[span.start : span.end].decode() if span else None
            assert found == attributes.get(name)


def test_edits_do_not_shift_each_other() -> None:
    source = SourceText.of(b"<a><b/></a>")
    assert source.edited([Edit(Span(1, 2), b"long"), Edit(Span(4, 5), b"c")]) == b"<long><c/></a>"
