"""Programs of the system that tests check our files with."""

from __future__ import annotations

import os
import shutil

import pytest


def tool(name: str) -> str:
    """Where a program is; without it the test is skipped, and fails where ``CI`` is set."""
    found = shutil.which(name)
    if found is None:
        if os.environ.get("CI"):
            pytest.fail(f"{name} is not installed")
        pytest.skip(f"{name} is not installed")
    return found
