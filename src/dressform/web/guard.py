"""Who is let in: token, host and origin, and the headers that every answer carries."""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import parse_qs

from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = "127.0.0.1"
LOCAL_NAMES = (LOOPBACK, "localhost")
TOKEN_BYTES = 32
PAGE_PATH, SOCKET_PATH = "/", "/socket"
SCRIPT, STYLE, WORDS = "page.js", "page.css", "glossary.html"
OPEN_PATHS = (PAGE_PATH, f"/{SCRIPT}", f"/{STYLE}", f"/{WORDS}")
"""The empty page, its script, style and glossary hold nothing of anybody's, so that a reload needs no token in the
address."""
POLICY = "Content-Security-Policy"
WORDS_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
"""Of the glossary, which runs nothing, and narrows its style to the one that it holds by a policy of its own."""
FORBIDDEN, NOT_ALLOWED = 403, 405
SAME_SITE = ("same-origin", "none")
LONGEST_QUERY = 4096


@dataclass(frozen=True)
class Guard:
    """What a request must show.

    Attributes:
        token: The key of this run.
        port: Port that is listened on.
    """

    token: str
    port: int

    @classmethod
    def make(cls, port: int) -> "Guard":
        """A guard with a fresh token."""
        return cls(secrets.token_urlsafe(TOKEN_BYTES), port)

    @property
    def address(self) -> str:
        """What a person opens."""
        return f"http://{LOOPBACK}:{self.port}{PAGE_PATH}?token={self.token}"

    @property
    def hosts(self) -> tuple[str, ...]:
        """Every valid `Host` header for this server."""
        return tuple(f"{name}:{self.port}" for name in LOCAL_NAMES)

    def admits(self, path: str, query: bytes, headers: Mapping[str, str], *, socket: bool) -> bool:
        """Whether a request may pass: the right token, addressed to this machine, from no foreign page.

        Only what is in `OPEN_PATHS` may be asked for without a query.
        """
        host = headers.get("host", "")
        origin = headers.get("origin")
        is_open = path in OPEN_PATHS and not query and not socket
        if host not in self.hosts or not (is_open or self._has_token(query)):
            return False
        if origin is None:
            if socket:
                return False
        elif origin != f"http://{host}":
            return False
        return path == PAGE_PATH or headers.get("sec-fetch-site", "none") in SAME_SITE

    def _has_token(self, query: bytes) -> bool:
        if len(query) > LONGEST_QUERY:
            return False
        try:
            given = parse_qs(query.decode("ascii"), max_num_fields=8).get("token", [])
        except ValueError:
            return False
        return len(given) == 1 and secrets.compare_digest(given[0].encode(), self.token.encode())

    def headers(self) -> dict[str, str]:
        """Headers of every answer."""
        sockets = " ".join(f"ws://{host}" for host in self.hosts)
        policy = (
            "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; "
            f"connect-src 'self' {sockets}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
        )
        return {
            "Cache-Control": "no-store",
            POLICY: policy,
            "Cross-Origin-Opener-Policy": "same-origin",
            "Cross-Origin-Resource-Policy": "same-origin",
            "Referrer-Policy": "no-referrer",
            "X-Content-Type-Options": "nosniff",
            "X-Frame-Options": "DENY",
        }


class Gate:
    """Wraps the application: refuses a request with a bare status, or lets it pass and adds the headers."""

    def __init__(self, app: ASGIApp, guard: Guard) -> None:
        self._app, self._guard = app, guard
        self._headers = _encoded(guard.headers())
        self._of_words = _encoded(guard.headers() | {POLICY: WORDS_POLICY})

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let one request pass, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        socket = scope["type"] == "websocket"
        headers = _single_headers(scope["headers"])
        if headers is None or not self._guard.admits(scope["path"], scope["query_string"], headers, socket=socket):
            await self._refuse(FORBIDDEN, send, socket=socket)
        elif not socket and scope["method"] != "GET":
            await self._refuse(NOT_ALLOWED, send, socket=socket)
        else:
            await self._app(scope, receive, self._with_headers(send, scope["path"]))

    async def _refuse(self, status: int, send: Send, *, socket: bool) -> None:
        kind = "websocket.http.response" if socket else "http.response"
        headers = [*self._headers, (b"content-length", b"0"), (b"connection", b"close")]
        await send({"type": f"{kind}.start", "status": status, "headers": headers})
        await send({"type": f"{kind}.body", "body": b""})

    def _with_headers(self, send: Send, path: str) -> Send:
        more = self._of_words if path == f"/{WORDS}" else self._headers

        async def sender(message: Message) -> None:
            if message["type"] == "http.response.start":
                message = {**message, "headers": [*message.get("headers", []), *more]}
            await send(message)

        return sender


def _encoded(headers: Mapping[str, str]) -> list[tuple[bytes, bytes]]:
    return [(name.lower().encode(), value.encode()) for name, value in headers.items()]


def _single_headers(raw: list[tuple[bytes, bytes]]) -> dict[str, str] | None:
    """Headers by lower-case name; None where one that decides comes twice."""
    found: dict[str, str] = {}
    for name, value in raw:
        key = name.decode("latin-1").lower()
        if key in found and key in ("host", "origin", "sec-fetch-site"):
            return None
        found[key] = value.decode("latin-1")
    return found
