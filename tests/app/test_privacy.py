"""Nothing leaves the machine: no build, check or desk asks the network for anything.

And what buyers get says nothing of the machine it was made on.
"""

from __future__ import annotations

import getpass
import io
import os
import re
import socket
import subprocess
import sys
import zipfile
from pathlib import Path

from pypdf import PdfReader

from pipeline.app.build import make_season
from pipeline.app.release import publish_season
from tests.conftest import ROOT
from tests.publish.passing import AT, pass_sets

PROGRAM = """
import sys
from pathlib import Path

asked = []
def listen(event, given):
    if event in ("socket.getaddrinfo", "socket.gethostbyname", "urllib.Request"):
        asked.append((event, str(given)))
    if event in ("socket.connect", "socket.sendto") and isinstance(given[1], tuple):
        asked.append((event, str(given[1])))

sys.addaudithook(listen)
import pipeline.base.workers as workers
workers.cores = lambda: 1
from pipeline.app.build import make_season
from pipeline.app.check import check_season, standings
from pipeline.desk.desk import Desk
from pipeline.desk.guard import Key
from pipeline.desk.routes import desk_app
from starlette.testclient import TestClient

season, out = Path(sys.argv[1]), Path(sys.argv[2])
make_season(season, out, cache=out / ".cache")
check_season(season, out)
plan, sets = standings(season, out)
key = Key("a-token", 8421)
desk = Desk("Small", {one.name: one.folder for one in sets}, out, season, lambda: "2027-01-05")
with TestClient(desk_app(desk, key), base_url="http://127.0.0.1:8421") as friend:
    friend.cookies.set(key.cookie, key.token)
    for page in ("/", "/static/desk.css", *(f"/set/{one.name}" for one in sets)):
        assert friend.get(page).status_code == 200
    name = sets[0].name
    assert friend.get(f"/picture/{name}/view/0/open/40").status_code == 200
print(len(sets), asked)
"""


def test_nothing_is_asked_of_the_network(shop: Path) -> None:
    """What opens a connection or looks up a name tells Python's audit hooks (PEP 578)."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, "seasons/small.toml", "build"],
        cwd=shop,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.splitlines()[-1:] == ["1 []"], done.stdout + done.stderr


def test_a_zip_for_buyers_says_nothing_of_the_machine(shop: Path) -> None:
    season, out = shop / "seasons" / "small.toml", shop / "build"
    made = make_season(season, out, cache=out / ".cache")
    assert made
    pass_sets(season, out)
    published = publish_season(season, out, at=AT, pictures=False)
    assert [one.out for one in published.results] == [True]
    [path] = (out / "small" / "release").glob("*/*.zip")
    machine = [getpass.getuser(), socket.gethostname()]
    secrets = [str(shop), "my garden shop", str(Path.home()), "/tmp/"]
    secrets += [one for one in machine if len(one) > 4]  # shorter ones are found anywhere
    with zipfile.ZipFile(path) as archive:
        for entry in archive.infolist():
            assert entry.date_time == (2027, 1, 5, 9, 0, 0)
            assert (entry.extra, entry.comment) == (b"", b"")
            data = archive.read(entry)
            if entry.filename.endswith(".pdf"):
                reader = PdfReader(io.BytesIO(data))
                told = {str(value) for value in (reader.metadata or {}).values()}
                text = " ".join([*told, *(page.extract_text() for page in reader.pages)])
                assert not re.search(r"D:20(?!27)", text)
                data += text.encode()
            for secret in secrets:
                assert secret.encode() not in data, (entry.filename, secret)
