"""Features of SVG drawn by us and by librsvg; what we do not draw is refused by name.

Both write PDF and pdfium makes the pixels. Where librsvg itself is wrong or rounds to pixels
(tiles), the same drawing is given to it said plainly.
"""

from __future__ import annotations

import io
import subprocess
from collections.abc import Mapping
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt
import pypdf
import pypdfium2 as pdfium
import pytest

from pipeline.base.errors import UserError
from pipeline.base.geometry import mm
from pipeline.fill.template import TemplateFile, read_template
from pipeline.svg.refusals import every_feature
from pipeline.text import FontBook
from tests.conftest import ROOT, Golden
from tests.draw.engines import built
from tests.draw.feature_samples import FEATURES, REFUSED, Feature, Refused
from tests.tools import tool

PIXELS_PER_MM = 8
LEVELS = 48
"""How far (of 255) a channel may be beyond what the other picture has within a pixel: a pixel on
an edge is anything between."""
SHARE = 0.002
"""Most of all pixels that may be beyond. The faults looked for move, add or lose far more, as a
test below shows; engines flatten curves and spread gradients a little differently."""

BOOK = FontBook()
Picture = npt.NDArray[np.int16]


def svg(content: str, size: str = FEATURES[0].size) -> bytes:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f"{size}>{content}</svg>"
    ).encode()


def by_us(feature: Feature) -> bytes:
    """A feature's drawing as a PDF, made as a build makes it."""
    return built([svg(feature.content, feature.size)], BOOK)


@pytest.fixture(scope="module")
def by_rsvg(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Picture]:
    """All features as librsvg draws them, by name."""
    program, folder = tool("rsvg-convert"), tmp_path_factory.mktemp("features")
    files = []
    for number, feature in enumerate(FEATURES):
        files.append(folder / f"{number:03}.svg")
        files[-1].write_bytes(svg(feature.equal or feature.content, feature.size))
    target = folder / "features.pdf"
    subprocess.run(
        [program, "--format=pdf", f"--output={target}", *files], check=True, capture_output=True
    )
    document = pdfium.PdfDocument(target)
    return {feature.name: picture(document[number]) for number, feature in enumerate(FEATURES)}


@pytest.mark.parametrize("feature", FEATURES, ids=lambda feature: feature.name)
def test_a_feature_is_drawn_as_another_engine_draws_it(
    feature: Feature, by_rsvg: Mapping[str, Picture]
) -> None:
    pdf = by_us(feature)
    mine, theirs = picture(pdfium.PdfDocument(pdf)[0]), by_rsvg[feature.name]
    assert any_channel(theirs < 250).mean() > 0.01, "the other engine drew nothing"
    assert apart(mine, theirs) <= SHARE
    pictures = [image for page in pypdf.PdfReader(io.BytesIO(pdf)).pages for image in page.images]
    assert bool(pictures) == ("<image" in feature.content), "nothing else may become pixels"


def test_the_measure_notices_small_faults() -> None:
    def drawn(content: str) -> Picture:
        return picture(pdfium.PdfDocument(by_us(Feature("", content)))[0])

    whole = '<rect x="10" y="8" width="40" height="24" fill="#369" stroke="#222"/>'
    right = drawn(whole)
    assert apart(right, right) == 0
    for wrong in (
        whole.replace("<rect", '<rect transform="translate(.4 0)"'),
        whole.replace("<rect", '<rect opacity=".7"'),
        whole.replace("<rect", '<rect stroke-dasharray="2"'),
        whole.replace("#369", "#963"),
        whole.replace("<rect", '<rect rx="3"'),
    ):
        assert apart(right, drawn(wrong)) > SHARE


def test_there_are_many_features_and_each_has_its_own_name() -> None:
    names = [feature.name for feature in FEATURES] + [fault.name for fault in REFUSED]
    assert len(set(names)) == len(names) > 150


@pytest.mark.parametrize("fault", REFUSED, ids=lambda fault: fault.name)
def test_what_is_not_drawn_is_refused_by_name(fault: Refused) -> None:
    with pytest.raises(UserError) as refused:
        read_template(TemplateFile(Path("sample.svg"), svg(fault.content)))
    assert refused.value.place.startswith("sample.svg, ")
    assert f"'{fault.element}'" in refused.value.place or not fault.element
    assert fault.says in refused.value.what
    assert refused.value.remedy


@pytest.mark.parametrize("fault", REFUSED, ids=lambda fault: fault.name)
def test_what_is_never_printed_may_hold_anything(fault: Refused) -> None:
    if "<style" in fault.content:
        return  # styles hold for the whole file
    for never in ('<g id="guides">', '<g display="none">', "<defs>", '<g style="display:none">'):
        closing = "</defs>" if never == "<defs>" else "</g>"
        content = f"{never}{fault.content}{closing}<rect width='9' height='9'/>"
        read_template(TemplateFile(Path("sample.svg"), svg(content)))


def test_all_that_is_refused_says_why_and_what_to_do() -> None:
    features = list(every_feature())
    assert len(features) > 30
    for feature in features:
        assert feature.what
        assert feature.why
        assert feature.remedy


def test_the_guide_lists_all_that_is_refused(golden: Golden) -> None:
    """``make golden`` writes the table anew."""
    guide = ROOT / "docs" / "drawing.md"
    before, heading, rest = guide.read_text("utf-8").partition("| cannot be drawn |")
    table, gap, after = rest.partition("\n\n")
    listed = [f"| {each.what} | {each.why} | {each.remedy} |" for each in every_feature()]
    ours = "\n".join([*table.splitlines()[:2], *listed])
    if golden.renew:
        guide.write_text(before + heading + ours + gap + after, "utf-8")
    else:
        assert table == ours


def picture(page: pdfium.PdfPage) -> Picture:
    """A page of 60 × 40 mm in pixels, but for the outermost, where page sizes are rounded."""
    shown = page.render(scale=PIXELS_PER_MM * mm(1)).to_pil().convert("RGB")
    return inner(np.asarray(shown, dtype=np.int16))


def inner(shown: Picture) -> Picture:
    """A picture of a page without the outermost pixels."""
    height, width = 40 * PIXELS_PER_MM, 60 * PIXELS_PER_MM
    return shown[2 : height - 2, 2 : width - 2]


def apart(one: Picture, other: Picture) -> float:
    """The share of pixels in which one picture has what the other has not within a pixel."""
    height, width = (min(one.shape[n], other.shape[n]) for n in (0, 1))
    assert abs(one.shape[0] - other.shape[0]) <= 1
    assert abs(one.shape[1] - other.shape[1]) <= 1
    one, other = one[:height, :width], other[:height, :width]
    beyond = np.zeros((height, width, 3), dtype=bool)
    near = np.ones((3, 3), np.uint8)
    for first, second in ((one, other), (other, one)):
        beyond |= first < cv2.erode(second, near) - LEVELS
        beyond |= first > cv2.dilate(second, near) + LEVELS
    return float(any_channel(beyond)[1:-1, 1:-1].mean())


def any_channel(beyond: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Where any of the three channels is true: ``any`` over so short an axis takes far longer."""
    red, green, blue = np.moveaxis(beyond, 2, 0)
    return np.asarray(red | green | blue)
