"""What editors' exports look like, and that each gives the page its plain counterpart gives."""

from __future__ import annotations

import pypdfium2 as pdfium
import pytest
from PIL import Image

from pipeline.draw import draw_set
from pipeline.proof.pictures.compare import compare
from pipeline.text import FontBook
from tests.fill.conftest import SetFiller
from tests.fill.editor_habits import HABITS, MM, PIXELS, Habit

DPI = 110


@pytest.mark.parametrize("habit", HABITS, ids=lambda habit: habit.name)
def test_an_export_gives_the_page_that_its_plain_counterpart_gives(
    habit: Habit, fill_pages: SetFiller, book: FontBook
) -> None:
    export = picture(habit.export, habit.size, fill_pages, book)
    plain_size = PIXELS if habit.name == "a unit at each length" else MM
    plain = picture(habit.plain, plain_size, fill_pages, book)
    assert plain.convert("L").histogram()[:200] != [0] * 200, "the plain page is empty"
    result = compare(plain, export)
    assert result.same, result.reason


def picture(content: str, size: str, fill_pages: SetFiller, book: FontBook) -> Image.Image:
    (page,) = fill_pages(content, size=size)
    document = pdfium.PdfDocument(draw_set([page], book, "en-GB"))
    shown: Image.Image = document[0].render(scale=DPI / 72).to_pil()
    return shown
