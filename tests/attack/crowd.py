"""Crowds: hundreds of strangers at a desk at once, who ask, send halves and never leave.

Meanwhile the maker's own page is asked for again and again: how long it takes, and how much memory
the desk has by then.
"""

from __future__ import annotations

import http.client
import os
import random
import re
import resource
import signal
import socket
import subprocess
import sys
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from tests.attack.fuzzer import workspace
from tests.conftest import ROOT

STRANGERS = 200


@dataclass
class Siege:
    """What a crowd did to a desk: seconds that the maker's page took, and megabytes of memory."""

    seconds: list[float] = field(default_factory=list)
    connections: int = 0
    megabytes: float = 0.0
    faults: list[str] = field(default_factory=list)

    @property
    def slowest(self) -> float:
        """The longest that the maker waited."""
        return max(self.seconds, default=0.0)

    @property
    def median(self) -> float:
        """How long the maker usually waited."""
        return sorted(self.seconds)[len(self.seconds) // 2] if self.seconds else 0.0


_ASKED = (
    "GET / HTTP/1.1\r\nHost: {host}\r\nAccept: text/html\r\n\r\n",
    "GET /static/source-sans-3.ttf HTTP/1.1\r\nHost: {host}\r\n\r\n",
    "POST /enter HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\n"
    "Content-Type: application/json\r\nContent-Length: 90000\r\n\r\n[[[[[[[[",
    "POST /api/print/1 HTTP/1.1\r\nHost: {host}\r\nContent-Length: 59000000\r\n\r\n" + "x" * 9000,
    "GET /api/season HTTP/1.1\r\nHo",
    "nonsense\r\n\r\n",
    "",
)


def attack(folder: Path, seconds: float, seed: int = 0, strangers: int = STRANGERS) -> Siege:
    """A crowd of so many for so long, at the desk of a small season."""
    shop, siege = workspace(folder), Siege()
    said = (folder / "said").open("w+", encoding="utf-8")
    desk = subprocess.Popen(
        [sys.executable, "-m", "pipeline.cli", "desk", "seasons/small.toml", "--no-browser"],
        cwd=shop,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"},
        stdout=subprocess.PIPE,
        stderr=said,
        text=True,
    )
    try:
        assert desk.stdout is not None
        found = re.search(r"http://(127\.0\.0\.1:\d+)/#(\S+)", desk.stdout.readline())
        assert found is not None
        host, token = found.groups()
        _besieged(host, token, siege, seconds, seed, strangers)
        siege.megabytes = _megabytes(desk.pid)
    finally:
        desk.send_signal(signal.SIGINT)
        with suppress(subprocess.TimeoutExpired):
            desk.wait(20)
        desk.kill()
        desk.wait()
    said.seek(0)
    if "Traceback" in (text := said.read()):
        siege.faults.append(text[-500:])
    said.close()
    return siege


def _besieged(
    host: str, token: str, siege: Siege, seconds: float, seed: int, strangers: int
) -> None:
    port, until = int(host.rpartition(":")[2]), time.monotonic() + seconds
    most = resource.getrlimit(resource.RLIMIT_NOFILE)[1]
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(4096, most), most))

    def surround(number: int) -> None:
        chance = random.Random(seed * 100 + number)
        here: list[socket.socket] = []
        while time.monotonic() < until:
            with suppress(OSError):
                one = socket.create_connection(("127.0.0.1", port), timeout=2)
                siege.connections += 1
                one.sendall(chance.choice(_ASKED).format(host=host).encode())
                here.append(one)
            while len(here) >= strangers // 4:
                here.pop(chance.randrange(len(here))).close()
            time.sleep(0.005)
        for one in here:
            one.close()

    crowd = [threading.Thread(target=surround, args=(number,)) for number in range(4)]
    for one in crowd:
        one.start()
    cookie = {"Cookie": f"leafset-desk-{port}={token}", "Accept": "text/html"}
    while time.monotonic() < until:
        before = time.monotonic()
        try:
            asked = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
            asked.request("GET", "/", headers=cookie)
            if asked.getresponse().status != 200:
                siege.faults.append("the maker is not let in")
            asked.close()
        except OSError as problem:
            siege.faults.append(f"the maker is not answered: {problem}")
        siege.seconds.append(time.monotonic() - before)
        time.sleep(0.02)
    for one in crowd:
        one.join()


def _megabytes(process: int) -> float:
    """The most memory that a process had."""
    status = Path(f"/proc/{process}/status").read_text()
    peak = re.search(r"VmHWM:\s+(\d+) kB", status)
    return int(peak[1]) / 1000 if peak else 0.0
