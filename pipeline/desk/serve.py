"""Opening the desk: a socket on this machine alone, and the browser."""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable

import uvicorn

from pipeline.desk.app import desk_app
from pipeline.desk.desk import Desk
from pipeline.desk.guard import Key
from pipeline.errors import UserError

LOOPBACK = "127.0.0.1"


def serve(desk: Desk, port: int, *, browser: bool, say: Callable[[str], None]) -> None:
    """Serves the desk until it is interrupted.

    ``port`` 0 takes any that is free; ``say`` is told the address once. Raises ``UserError`` when
    the port is taken.
    """
    with _listening(port) as listener:
        key = Key.fresh(listener.getsockname()[1])

        def opened() -> None:
            say(key.address())
            if browser:
                webbrowser.open(key.address())

        config = uvicorn.Config(
            desk_app(desk, key, opened),
            log_level="warning",
            access_log=False,
            server_header=False,
            ws="none",
            proxy_headers=False,
            lifespan="on",
            timeout_graceful_shutdown=3,
        )
        uvicorn.Server(config).run(sockets=[listener])


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
