"""Checks what cannot come from PyPI, before anything is installed.

Runs with nothing but the standard library: ``python3 pipeline/base/system.py``. Where we are
root on a Debian system what is missing is installed; elsewhere one line says the command for it.
"""

from __future__ import annotations

import ctypes
import ctypes.util
import importlib.util
import os
import shutil
import subprocess
import sys
from collections.abc import Mapping

NEEDED = {
    "cairo": ("libcairo.so.2", "libcairo.2.dylib", "libcairo-2.dll"),
    "fontconfig": ("libfontconfig.so.1", "libfontconfig.1.dylib", "libfontconfig-1.dll"),
}
"""System libraries by name, and the file names they go by."""

DEBIAN = {
    "cairo": "libcairo2",
    "fontconfig": "libfontconfig1",
    "venv": f"python{sys.version_info[0]}.{sys.version_info[1]}-venv",
}

COMMANDS = {
    "apt-get": "sudo apt-get install {debian}",
    "dnf": "sudo dnf install cairo fontconfig",
    "pacman": "sudo pacman -S cairo fontconfig",
    "zypper": "sudo zypper install libcairo2 fontconfig",
    "apk": "sudo apk add cairo fontconfig",
    "brew": "brew install cairo fontconfig",
}
"""What installs them, by the package manager that is there (common practice)."""

WINDOWS = (
    "run in its window: pacman -S mingw-w64-ucrt-x86_64-cairo mingw-w64-ucrt-x86_64-fontconfig,"
    " and put C:\\msys64\\ucrt64\\bin on the PATH"
)
"""The way on Windows, which has no package manager with cairo of its own (from memory)."""


def missing() -> list[str]:
    """Names of what is missing: ``cairo``, ``fontconfig``, ``venv``."""
    lacking = [name for name, files in NEEDED.items() if not _loads(name, files)]
    if importlib.util.find_spec("ensurepip") is None:
        lacking.append("venv")
    return lacking


def _loads(name: str, files: tuple[str, ...]) -> bool:
    for file in (ctypes.util.find_library(name), *files):
        if file:
            try:
                ctypes.CDLL(file)
            except OSError:
                continue
            return True
    return False


def advice(lacking: list[str], managers: Mapping[str, str] = COMMANDS) -> str:
    """One line saying what to run on this system for what is missing."""
    packages = " ".join(DEBIAN[name] for name in lacking)
    for manager, command in managers.items():
        if shutil.which(manager):
            return f"run: {command.format(debian=packages)}"
    if sys.platform == "win32":
        return f"install MSYS2, {WINDOWS}"
    return "install the libraries with your system's package manager"


def check_system() -> int:
    """Exit code 0 when all is there, 2 with one line otherwise."""
    if sys.version_info < (3, 11):  # noqa: UP036 (run by whatever Python is there)
        print("leafset: needs Python 3.11 or newer; install it and try again", file=sys.stderr)
        return 2
    lacking = missing()
    if lacking and shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0:
        packages = [DEBIAN[name] for name in lacking]
        print("leafset: installing " + " ".join(packages))
        quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for command in (["update", "-q"], ["install", "-q", "-y", *packages]):
            subprocess.run(["apt-get", *command], env=quiet, stdout=subprocess.DEVNULL, check=False)
        lacking = missing()
    if lacking:
        print(f"leafset: missing {', '.join(lacking)}; {advice(lacking)}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(check_system())
