"""What every request must pass before it is answered: this machine's name, this page, its token, a bounded body.

The server listens on 127.0.0.1 only. A page of another origin can still make a browser ask it: the name in Host
(against names pointed at this machine), Origin, and for whatever changes state the token of this start keep it out.
"""

from __future__ import annotations

import secrets
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

TOKEN_HEADER = "x-heatwright-token"
LONGEST_BODY = 64 * 1024
NAMES = frozenset({"127.0.0.1", "localhost"})
SAFE = frozenset({"GET", "HEAD"})
HEADERS = (
    (b"content-security-policy",
     b"default-src 'self'; img-src 'self' data:; style-src 'self' 'unsafe-inline'; frame-src 'self'; "
     b"frame-ancestors 'self'; base-uri 'none'; form-action 'none'; object-src 'none'"),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cache-control", b"no-store"),
)  # fmt: skip


class Guard:
    """Wraps the application; refuses with one sentence what does not come from its own page."""

    def __init__(self, app: ASGIApp, token: str) -> None:
        self.app, self.token = app, token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        request = Request(scope)
        refused = self._refused(request)
        body = b""
        if refused is None and request.method not in SAFE:
            body, refused = await _body(receive)
        if refused is not None:
            status, sentence = refused
            answer = JSONResponse({"problems": [{"where": "request", "found": sentence}]}, status)
            await answer(scope, receive, _with_headers(send))
            return
        await self.app(scope, receive if request.method in SAFE else _replay(body, receive), _with_headers(send))

    def _refused(self, request: Request) -> tuple[int, str] | None:
        if _host(request.headers.get("host", "")) not in NAMES:
            return 403, "the name of this server is 127.0.0.1; it answers to no other"
        origin = request.headers.get("origin")
        if origin is not None and urlsplit(origin).netloc != request.headers["host"]:
            return 403, "the request comes from another page"
        if request.method not in SAFE:
            if not secrets.compare_digest(request.headers.get(TOKEN_HEADER, "").encode(), self.token.encode()):
                return 403, "the token of this start is missing or old; load the page again"
            length = request.headers.get("content-length", "0")
            if not length.isdigit() or int(length) > LONGEST_BODY:
                return 413, f"the request is longer than {LONGEST_BODY // 1024} kB"
        return None


def _host(text: str) -> str:
    return text.rsplit(":", 1)[0] if ":" in text else text


async def _body(receive: Receive) -> tuple[bytes, tuple[int, str] | None]:
    """Read a body, no further than the bound, whatever its length says."""
    parts, size = [], 0
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return b"", (400, "the request broke off")
        parts.append(message.get("body", b""))
        size += len(parts[-1])
        if size > LONGEST_BODY:
            return b"", (413, f"the request is longer than {LONGEST_BODY // 1024} kB")
        if not message.get("more_body"):
            return b"".join(parts), None


def _replay(body: bytes, receive: Receive) -> Receive:
    given = False

    async def again() -> Message:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again


def _with_headers(send: Send) -> Send:
    async def out(message: Message) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [*message.get("headers", []), *HEADERS]
        await send(message)

    return out
