"""Workshop: a whole workspace in the browser, from an empty folder to a released set.

``workspace.py`` finds or begins one, ``openseason.py`` knows which of its seasons are open and has
them built, ``seasonfile.py`` changes season files, ``drawn.py`` is about drawings, ``releasing.py``
makes releases in the background, ``shelf.py`` lists sets; ``overview.py`` and ``addresses.py`` are
what pages are told and where they are. Proofs are the desk's (``pipeline.desk``).
"""

from __future__ import annotations

import webbrowser
from collections.abc import Callable
from functools import partial
from pathlib import Path


def open_workshop(
    place: Path,
    port: int,
    now: Callable[[], str],
    *,
    browser: bool,
    say: Callable[[str], None],
) -> None:
    """Serves the workspace at a folder until it is interrupted; without one, how to begin one.

    Where its desk is open already, that is shown instead. ``now`` says the time of what is decided,
    the rest is as for ``pipeline.desk.serve``. Raises UserError when the port is taken.
    """
    from pipeline.desk import serve
    from pipeline.workshop.addresses import workshop_app
    from pipeline.workshop.openseason import Workshop
    from pipeline.workshop.workspace import open_address

    workshop = Workshop(place, now)
    if workshop.workspace is not None and (address := open_address(workshop.workspace)):
        say(address)
        if browser:
            webbrowser.open(address)
        return

    def opened(address: str) -> None:
        workshop.opened_at(address)
        say(address)

    app = partial(workshop_app, workshop)
    serve(app, port, browser=browser, say=opened, let_go=workshop.let_go)
