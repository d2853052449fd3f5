"""The directions as a web page: the same words and drawings, to be read aloud or enlarged.

It stands by itself, with headings in order, its language and its direction, and words that stand
for each drawing (WCAG 2.2, 1.1.1, 1.3.1 and 3.1.1). It carries the letters it needs of the faces
that the printed pages are set in.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable

from pipeline.publish.directions.artwork import Artwork, named, sample_of
from pipeline.publish.directions.drawings import for_the_web
from pipeline.publish.directions.steps import Order, Step
from pipeline.publish.htmlpages import page_templates
from pipeline.text import FontBook, Style

STRONG = 600
"""The weight of labels on the web page, as CSS has it."""


def web_page(order: Order, artwork: Artwork, book: FontBook) -> bytes:
    """All that the printed directions of a set say, in the same order, as HTML.

    Faces that forbid to be embedded are not carried: there readers see faces of their own.
    """
    phrases, number = order.phrases, order.phrases.local.number
    printing, bench = order.at_the_printer(), order.at_the_bench()
    files, needed = order.what_there_is(), order.what_is_needed()
    caution, help_ = order.caution(), order.help()

    def numbered(steps: Iterable[Step], first: int) -> list[tuple[str, Step, str]]:
        return [
            (number(index), step, for_the_web(step, order, artwork))
            for index, step in enumerate(steps, first)
        ]

    said = {
        "language": phrases.language,
        "right_to_left": phrases.local.right_to_left,
        "title": phrases.of["title"],
        "set_title": order.account.contents.set.title,
        "figures": order.figures(),
        "files": files,
        "printing": numbered(printing, 1),
        "help": help_,
        "needed": needed,
        "caution": caution,
        "bench": numbered(bench, 1 + len(printing)),
    }
    heads = [one.heading for one in (files, needed, caution, help_, *printing, *bench)]
    heads += [phrases.of["title"], ". ", *map(number, range(10))]
    labels = ["ABCD", *(word for pair in order.figures() for word in pair)]  # A to D: pictures
    labels += [name for one in (files, help_) for name, _ in one.rows]
    page = artwork.page(order.paper)
    title, text = (
        sample_of(named(page.root, name, page.name), page.name, phrases.language, False).style
        for name in ("step-title", "step-text")
    )
    template = page_templates().get_template("directions.html")
    # All that is said stands in the page as it is without faces.
    bare = template.render(**said, faces="", title_families=[], text_families=[])
    faces, title_families = _faces(title, title.weight, "".join(heads), book)
    text_faces, text_families = _faces(text, text.weight, bare, book)
    label_faces, _ = _faces(text, STRONG, "".join(labels), book)
    return template.render(
        **said,
        faces="\n".join((*faces, *text_faces, *label_faces)),
        title_families=title_families,
        text_families=text_families,
    ).encode()


def _faces(style: Style, weight: float, said: str, book: FontBook) -> tuple[list[str], list[str]]:
    """Rules of CSS that carry what is said in the faces of a style, and the families of these in
    the order they are tried (CSS Fonts 4, 4)."""
    left = {ord(c) for c in said if not c.isspace()} | {0x20}
    rules, families = list[str](), list[str]()
    for face in book.candidates(style.families, weight, style.italic):
        here = left & face.characters
        if not here or face.face.forbids_embedding:
            continue
        left -= here - {0x20}
        data = base64.b64encode(face.subset(here)).decode()
        name = face.face.family
        slant = "italic" if style.italic else "normal"
        rules.append(
            f'@font-face {{ font-family: "{name}"; font-weight: {weight:g}; font-style: {slant}; '
            f"size-adjust: {face.size_adjust:.0%}; "
            f"src: url(data:font/ttf;base64,{data}); }}"
        )
        families.append(name)
    return rules, families
