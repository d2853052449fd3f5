"""Lint: what in a drawing will not print as it looks, before a build is wasted on it."""

from pipeline.drawings.checks.finding import Finding, Severity, summary
from pipeline.drawings.checks.linting import lint, templates_under

__all__ = ["Finding", "Severity", "lint", "summary", "templates_under"]
