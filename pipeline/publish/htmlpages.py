"""The templates of pages for people's browsers: directions, listings and the release page."""

from __future__ import annotations

from jinja2 import Environment, PackageLoader, StrictUndefined


def page_templates() -> Environment:
    """The templates of ``page/``; what is put in is never taken for markup."""
    return Environment(
        loader=PackageLoader("pipeline.publish", "page"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
