"""Opening the desk: a socket on this machine alone, and the browser."""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable
from types import FrameType

import uvicorn

from pipeline.base.errors import UserError
from pipeline.desk.app import desk_app
from pipeline.desk.desk import Desk
from pipeline.desk.guard import Key
from pipeline.desk.news import News

LOOPBACK = "127.0.0.1"


class _Server(uvicorn.Server):
    """A server that lets go of those who listen to news when it is told to end."""

    def __init__(self, config: uvicorn.Config, news: News | None) -> None:
        super().__init__(config)
        self._news = news

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Ctrl-C, or the like."""
        if self._news is not None:
            self._news.close()
        super().handle_exit(sig, frame)


def serve(
    desk: Desk,
    port: int,
    *,
    browser: bool,
    say: Callable[[str], None],
    news: News | None = None,
) -> None:
    """Serves the desk until it is interrupted.

    ``port`` 0 takes any that is free; ``say`` is told the address once; with ``news`` its pages
    listen to them. Raises ``UserError`` when the port is taken.
    """
    with _listening(port) as listener:
        key = Key.fresh(listener.getsockname()[1])

        def opened() -> None:
            say(key.address())
            if browser:
                webbrowser.open(key.address())

        config = uvicorn.Config(
            desk_app(desk, key, opened, news),
            log_level="warning",
            access_log=False,
            server_header=False,
            ws="none",
            proxy_headers=False,
            lifespan="on",
            timeout_graceful_shutdown=3,
        )
        _Server(config, news).run(sockets=[listener])


def _listening(port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((LOOPBACK, port))
    except (OSError, OverflowError) as problem:
        listener.close()
        raise UserError(
            f"port {port}", f"cannot be used ({problem})", "choose another with --port"
        ) from None
    listener.listen(64)
    return listener
