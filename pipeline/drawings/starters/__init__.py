"""Beginnings: starter templates at true size, and a workspace that builds at once."""

from pipeline.drawings.starters.starter import KINDS, Starter, starter, write_starter
from pipeline.drawings.starters.workspace import new_workspace

__all__ = ["KINDS", "Starter", "new_workspace", "starter", "write_starter"]
