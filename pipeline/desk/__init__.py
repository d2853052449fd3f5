"""Desk: a local page on which a season is looked at, compared, passed for press or sent back.

Here is how it opens: a socket on this machine alone, and the browser. ``guard.py`` keeps others
out, ``connections.py`` limits how many there are and how long they are waited for,
``routes.py`` says what is at which address, ``desk.py`` knows the sets and decides,
``picturestore.py`` draws pictures when they are looked at, ``answers.py`` turns what the desk knows
into what the page asks for. What it shows comes from the finished PDFs, by way of
``pipeline.proof``.
"""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable
from functools import partial
from types import FrameType

import uvicorn
from starlette.types import ASGIApp

from pipeline.base.errors import UserError
from pipeline.desk.connections import connections_for
from pipeline.desk.desk import Desk
from pipeline.desk.guard import Key
from pipeline.desk.routes import desk_app

LOOPBACK = "127.0.0.1"


class _Server(uvicorn.Server):
    """A server that lets go of the pages that listen when it is to end."""

    let_go: Callable[[], None] = staticmethod(lambda: None)

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Ctrl-C, or the like."""
        self.let_go()
        super().handle_exit(sig, frame)


App = Callable[[Key, Callable[[], object]], ASGIApp]
"""What makes the pages behind a key; it calls the second once they are ready."""


def serve(
    app: App,
    port: int,
    *,
    browser: bool,
    say: Callable[[str], None],
    let_go: Callable[[], None] = lambda: None,
) -> None:
    """Serves pages until it is interrupted; ``say`` gets their address once.

    ``port`` 0 takes any that is free; ``let_go`` is called when it is to end, before it waits for
    the pages that listen. Raises ``UserError`` when the port is taken.
    """
    with _listening(port) as listener:
        key = Key.fresh(listener.getsockname()[1])

        def opened() -> None:
            say(key.address())
            if browser:
                webbrowser.open(key.address())

        config = uvicorn.Config(
            app(key, opened),
            http=connections_for(key),
            log_level="warning",
            access_log=False,
            server_header=False,
            ws="none",
            proxy_headers=False,
            lifespan="on",
            timeout_graceful_shutdown=3,
        )
        server = _Server(config)
        server.let_go = let_go
        server.run(sockets=[listener])


def serve_desk(desk: Desk, port: int, *, browser: bool, say: Callable[[str], None]) -> None:
    """Serves the desk of one season, as ``serve`` does."""
    let_go = desk.updates.close if desk.updates else lambda: None
    serve(partial(desk_app, desk), port, browser=browser, say=say, let_go=let_go)


def _listening(port: int) -> socket.socket:
    try:
        return socket.create_server((LOOPBACK, port))
    except (OSError, OverflowError) as problem:
        raise UserError(
            f"port {port}", f"cannot be used ({problem})", "choose another with --port"
        ) from None
