"""The directions as a web page: the same words without drawings, to be read aloud or enlarged.

It stands by itself, with headings in order, its language and its direction (WCAG 2.2, 1.3.1
and 3.1.1).
"""

from __future__ import annotations

from jinja2 import Environment, PackageLoader, StrictUndefined

from pipeline.publish.directions.steps import Order


def page_templates() -> Environment:
    """The templates of pages for people's browsers; what is put in is never taken for markup."""
    return Environment(
        loader=PackageLoader("pipeline.publish", "page"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def web_page(order: Order) -> bytes:
    """All that the printed directions of a set say, in the same order, as HTML."""
    phrases, number = order.phrases, order.phrases.local.number
    printing = order.at_the_printer()
    bench = list(enumerate(order.at_the_bench(), 1 + len(printing)))
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
            printing=[(number(index), step) for index, step in enumerate(printing, 1)],
            help=order.help(),
            caution=order.caution(),
            bench=[(number(index), step) for index, step in bench],
        )
    )
    return page.encode()
