"""The directions as a web page: the same words and drawings, to be read aloud or enlarged.

It stands by itself, with headings in order, its language and its direction, and words that stand
for each drawing (WCAG 2.2, 1.1.1, 1.3.1 and 3.1.1).
"""

from __future__ import annotations

from collections.abc import Iterable

from pipeline.publish.directions.artwork import Artwork
from pipeline.publish.directions.drawings import for_the_web
from pipeline.publish.directions.steps import Order, Step
from pipeline.publish.htmlpages import page_templates


def web_page(order: Order, artwork: Artwork) -> bytes:
    """All that the printed directions of a set say, in the same order, as HTML."""
    phrases, number = order.phrases, order.phrases.local.number
    printing = order.at_the_printer()

    def numbered(steps: Iterable[Step], first: int) -> list[tuple[str, Step, str]]:
        return [
            (number(index), step, for_the_web(step, order, artwork))
            for index, step in enumerate(steps, first)
        ]

    page = (
        page_templates()
        .get_template("directions.html")
        .render(
            language=phrases.language,
            right_to_left=phrases.local.right_to_left,
            title=phrases.of["title"],
            set_title=order.account.contents.set.title,
            figures=order.figures(),
            files=order.what_there_is(),
            printing=numbered(printing, 1),
            help=order.help(),
            needed=order.what_is_needed(),
            caution=order.caution(),
            bench=numbered(order.at_the_bench(), 1 + len(printing)),
        )
    )
    return page.encode()
