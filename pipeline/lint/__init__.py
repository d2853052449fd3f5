"""Lint: what in a drawing will not print as it looks, before a build is wasted on it."""

from pipeline.lint.finding import Finding, Severity, summary
from pipeline.lint.linting import lint, templates_under

__all__ = ["Finding", "Severity", "lint", "summary", "templates_under"]
