"""Who may talk to the desk: a browser on this machine that was given the token, and nobody else.

Another page open in the same browser can send requests here too. It does not know the token, its
cookie is kept from it (``SameSite=Strict``), its requests carry its own origin, and a name that
was made to point here shows in the ``Host`` they carry.
"""

from __future__ import annotations

import asyncio
import secrets
from contextlib import nullcontext, suppress
from dataclasses import dataclass

from starlette.datastructures import MutableHeaders
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

SAFE_HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
        "font-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    ),
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}


@dataclass(frozen=True)
class Key:
    """The token of one run of the desk, and the port it is for."""

    token: str
    port: int

    @classmethod
    def fresh(cls, port: int) -> Key:
        """A new one that nobody can guess."""
        return cls(secrets.token_urlsafe(24), port)

    @property
    def cookie(self) -> str:
        """The cookie's name: browsers do not keep cookies of two ports apart, names do."""
        return f"leafset-desk-{self.port}"

    @property
    def hosts(self) -> tuple[str, ...]:
        """The names this desk answers to."""
        return f"127.0.0.1:{self.port}", f"localhost:{self.port}"

    def fits(self, token: str) -> bool:
        """Whether a token is this one, in a time that tells nothing about it."""
        return secrets.compare_digest(token.encode("utf-8", "replace"), self.token.encode())

    def is_shown_by(self, request: HTTPConnection) -> bool:
        """Whether a request carries the cookie."""
        return self.fits(request.cookies.get(self.cookie, ""))

    def address(self) -> str:
        """What to open in the browser. What follows the ``#`` is never sent or logged."""
        return f"http://127.0.0.1:{self.port}/#{self.token}"


STRANGERS_AT_ONCE = 4
"""So many requests without the cookie are answered at a time."""
STRANGER_SECONDS = 10.0
"""So long one of them may take to be heard and answered."""


class Guard:
    """Refuses what does not come from the desk's own page, and adds the safe headers."""

    def __init__(self, app: ASGIApp, key: Key, entrance: Response) -> None:
        self.app = app
        self.key = key
        self.entrance = entrance
        self._turn = asyncio.Semaphore(STRANGERS_AT_ONCE)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Lets a request through to the desk, or answers it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return

        async def send_safely(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                headers.update(SAFE_HEADERS)
                headers.setdefault("Cache-Control", "no-store")
            await send(message)

        request = HTTPConnection(scope)
        refusal = self._refusal(request)
        if refusal is not None:
            refusal.headers["Connection"] = "close"  # nothing more of it is read
            await refusal(scope, receive, send_safely)
        elif self.key.is_shown_by(request):
            await self.app(scope, receive, send_safely)
        else:
            # Strangers wait for each other, the maker for none of them.
            turn = nullcontext() if request.url.path == "/enter" else self._turn
            async with turn:
                with suppress(TimeoutError):
                    await asyncio.wait_for(self.app(scope, receive, send_safely), STRANGER_SECONDS)

    def _refusal(self, request: HTTPConnection) -> Response | None:
        headers, path = request.headers, request.url.path
        hosts, origins = headers.getlist("host"), headers.getlist("origin")
        if len(hosts) != 1 or hosts[0].lower() not in self.key.hosts:
            return PlainTextResponse("This desk answers to 127.0.0.1 only.", 421)
        reading = request.scope["method"] in ("GET", "HEAD")
        # Reading may go without an origin.
        own = {f"http://{host}" for host in self.key.hosts}
        if not own.issuperset(origins) or not (origins or reading):
            return PlainTextResponse("Only the desk's own page may ask this.", 403)
        # This is there before one has entered: nothing of the season's.
        if path.startswith("/static/") or path == "/enter":
            return None
        if self.key.is_shown_by(request):
            return None
        if reading and any("text/html" in accept for accept in headers.getlist("accept")):
            return self.entrance
        return PlainTextResponse("Open the desk with the address its terminal shows.", 401)
