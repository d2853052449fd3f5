"""Connections to the desk: how many strangers may have at once, and how long they are waited for.

Whoever has not shown the cookie yet is a stranger, the maker's own browser too until it asks for
something. When there are too many, the one that has been here longest goes: a new one may be the
maker's. Requests must arrive within a time, so that nobody holds a connection with half of one.
"""

from __future__ import annotations

import asyncio
import time
from typing import Any

import h11
from starlette.requests import HTTPConnection
from uvicorn.protocols.http.h11_impl import H11Protocol

from pipeline.desk.guard import SAFE_HEADERS, Key

MOST_STRANGERS = 64
"""Connections without the cookie. A chosen value: a browser opens six to a place."""
QUIET_SECONDS = 10.0
"""How long nothing may arrive of a request that is begun, or of one that is to come."""
REQUEST_SECONDS = 120.0
"""How long a whole request may take to arrive, a picture of a print with it."""
_LOOK_SECONDS = 1.0
_MOMENT_SECONDS = 1.0
"""So long whoever is new has to show the cookie before having to go for those that come."""
_MOST_IN_A_MOMENT = 1000
"""Connections that are more at once than any crowd but one that means harm."""


def connections_for(key: Key) -> Any:
    """What takes connections to the desk with this key, for the server's ``http``."""
    strangers: dict[_Connection, None] = {}

    def taken(*given: Any, **named: Any) -> _Connection:
        return _Connection(key, strangers, *given, **named)

    return taken


class _Connection(H11Protocol):
    def __init__(
        self, key: Key, strangers: dict[_Connection, None], *given: Any, **named: Any
    ) -> None:
        super().__init__(*given, **named)
        self._key = key
        self._strangers = strangers
        self.since = self._heard = self._begun = time.monotonic()
        self._looks: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._strangers[self] = None
        if len(self._strangers) > MOST_STRANGERS:
            self.loop.call_later(_MOMENT_SECONDS, self._send_strangers_off)
        self._looks = self.loop.call_later(_LOOK_SECONDS, self._look)

    def _send_strangers_off(self) -> None:
        now = time.monotonic()
        while (number := len(self._strangers)) > MOST_STRANGERS:
            oldest = next(iter(self._strangers))
            if now - oldest.since < _MOMENT_SECONDS and number < _MOST_IN_A_MOMENT:
                return  # each who came has this done in its turn
            del self._strangers[oldest]
            oldest.transport.abort()

    def connection_lost(self, exc: Exception | None) -> None:
        self._strangers.pop(self, None)
        if self._looks is not None:
            self._looks.cancel()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        self._heard = time.monotonic()
        if self.conn.their_state is h11.IDLE and not self.conn.trailing_data[0]:
            self._begun = self._heard
        super().data_received(data)

    def handle_events(self) -> None:
        before = self.scope
        super().handle_events()
        if self.scope is not before and self._key.is_shown_by(HTTPConnection(dict(self.scope))):
            self._strangers.pop(self, None)

    def send_400_response(self, msg: str) -> None:
        """What isn't a request of HTTP is told so, as safely as all else is."""
        self._end_with(400, msg)

    def _look(self) -> None:
        """Ends the connection if what it is to send does not come."""
        if self.transport.is_closing():
            return
        now = time.monotonic()
        waits = self.conn.their_state in (h11.IDLE, h11.SEND_BODY)
        answered = self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE)
        quiet = now - self._heard > QUIET_SECONDS and not self.timeout_keep_alive_task
        if waits and answered and (quiet or now - self._begun > REQUEST_SECONDS):
            self._end_with(408, "The request did not arrive in time.")
            return
        self._looks = self.loop.call_later(_LOOK_SECONDS, self._look)

    def _end_with(self, status: int, words: str) -> None:
        if self.conn.our_state not in (h11.IDLE, h11.SEND_RESPONSE):
            self.transport.abort()  # in the middle of another answer
            return
        headers = {
            **SAFE_HEADERS,
            "Cache-Control": "no-store",
            "Connection": "close",
            "Content-Type": "text/plain; charset=utf-8",
            "Content-Length": str(len(words)),
        }
        pairs = [(name.encode(), value.encode()) for name, value in headers.items()]
        for event in (
            h11.Response(status_code=status, headers=pairs),
            h11.Data(data=words.encode("ascii")),
            h11.EndOfMessage(),
        ):
            self.transport.write(self.conn.send(event) or b"")
        self.transport.close()
