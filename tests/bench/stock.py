"""The plain way: CairoSVG and pypdf as they come. Must not import leafset.

Run with ``pages`` (one call for each page, and pypdf's append) or ``letters`` (the calls alone,
after one run for practice) and a folder of SVGs; prints seconds, bytes and peak memory as JSON.
"""

from __future__ import annotations

import io
import json
import sys
import time
from pathlib import Path

import cairosvg
from pypdf import PdfReader, PdfWriter


def main(way: str, folder: str) -> None:
    """Prints what the SVGs of a folder cost."""
    svgs = [path.read_bytes() for path in sorted(Path(folder).glob("*.svg"))]

    def act() -> int:
        if way == "letters":
            return sum(len(cairosvg.svg2pdf(bytestring=svg)) for svg in svgs)
        writer = PdfWriter()
        for svg in svgs:
            writer.append(PdfReader(io.BytesIO(cairosvg.svg2pdf(bytestring=svg))))
        out = io.BytesIO()
        writer.write(out)
        return len(out.getvalue())

    if way == "letters":
        act()
    start = time.perf_counter()
    size = act()
    seconds = time.perf_counter() - start
    # Not by getrusage: there a child starts with the peak of the process that started it.
    status = Path("/proc/self/status").read_text("ascii")
    memory = int(status.partition("VmHWM:")[2].split()[0]) / 1024
    assert not any(name.partition(".")[0] == "pipeline" for name in sys.modules)
    print(json.dumps({"seconds": seconds, "bytes": size, "memory": memory}))


if __name__ == "__main__":
    main(*sys.argv[1:])
