"""The server: the page, its script and style, and the socket, on the loopback address only."""

import socket
import sys
from collections.abc import Callable
from importlib import resources

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.types import ASGIApp
from starlette.websockets import WebSocket

from dressform.errors import ArgumentError
from dressform.interrupts import ended_by_interrupt
from dressform.web.connection import Connection
from dressform.web.guard import LOOPBACK, PAGE_PATH, SCRIPT, SOCKET_PATH, STYLE, WORDS, Gate, Guard
from dressform.web.hub import Hub
from dressform.web.patience import PatientProtocol
from dressform.web.requests import MAX_BYTES

GOING_AWAY, TRY_LATER = 1001, 1013
MAX_CONNECTIONS = 128
"""Connections of any kind; a page needs one, and a few while it loads."""
SEND_BUFFER = 2**20
"""Bytes that the system keeps for one page that does not read."""
SWITCH_SECONDS = 5e-4
"""How long a thread may hold the interpreter while another waits: what computes must not hold up what answers."""
GRACE_SECONDS = 2
PAGE_FOLDER = "page"
PAGE_HTML = (
    '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
    '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
    '<title>dressform</title>\n<link rel="icon" href="data:,">\n'
    f'<link rel="stylesheet" href="{STYLE}">\n</head>\n<body>\n'
    f'<div id="dressform" data-life="live"></div>\n<script src="{SCRIPT}"></script>\n'
    "</body>\n</html>\n"
)
"""The page before it has asked for anything: it holds no token, and the same for everybody."""


def make_app(hub: Hub, guard: Guard) -> ASGIApp:
    """The application behind its gate."""

    async def page(_: Request) -> Response:
        return HTMLResponse(PAGE_HTML)

    async def words(_: Request) -> Response:
        from dressform.jobs.triage.words.vocabulary import words_of_faults  # noqa: PLC0415  # seldom asked for
        from dressform.report.triage.glossary import glossary_page  # noqa: PLC0415

        return HTMLResponse(glossary_page(words_of_faults()))

    def asset(name: str, kind: str) -> Callable[[Request], Response]:
        content = page_file(name)

        def answer(_: Request) -> Response:
            return Response(content, media_type=kind)

        return answer

    async def connect(websocket: WebSocket) -> None:
        await websocket.accept()
        if hub.is_full:
            await websocket.close(TRY_LATER)
            return
        await Connection(websocket, hub).serve()

    routes = [
        Route(PAGE_PATH, page, methods=["GET"]),
        Route(f"/{SCRIPT}", asset(SCRIPT, "text/javascript"), methods=["GET"]),
        Route(f"/{STYLE}", asset(STYLE, "text/css"), methods=["GET"]),
        Route(f"/{WORDS}", words, methods=["GET"]),
        WebSocketRoute(SOCKET_PATH, connect),
    ]
    app = Starlette(routes=routes)
    app.router.redirect_slashes = False
    return Gate(app, guard)


def page_file(name: str) -> bytes:
    """A file of the page, as it ships with the package."""
    return resources.files("dressform.report").joinpath(PAGE_FOLDER, name).read_bytes()


def open_port(port: int) -> socket.socket:
    """A listening socket on the loopback address; 0 takes any free port.

    Raises:
        ArgumentError: the port is taken or no port.
    """
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, SEND_BUFFER)
        listening.bind((LOOPBACK, port))
        listening.listen()  # until then a second program may be given the same port
    except (OSError, OverflowError) as problem:
        listening.close()
        raise ArgumentError.of(
            "show", "port", "a free port", port, f"Leave it out or take another ({problem})"
        ) from None
    return listening


class PageServer(uvicorn.Server):
    """Serves one run of the page until it is told to end."""

    def __init__(self, hub: Hub, guard: Guard, *, on_ready: Callable[[], None] | None = None) -> None:
        config = uvicorn.Config(
            make_app(hub, guard),
            log_config=None,
            log_level="error",
            access_log=False,
            lifespan="off",
            http=PatientProtocol,
            server_header=False,
            proxy_headers=False,
            ws="websockets-sansio",
            ws_max_size=MAX_BYTES,
            ws_max_queue=4,
            ws_per_message_deflate=False,
            limit_concurrency=MAX_CONNECTIONS,
            timeout_graceful_shutdown=GRACE_SECONDS,
        )
        super().__init__(config)
        self._hub, self._on_ready = hub, on_ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Listen, then say so."""
        await super().startup(sockets)
        if self._on_ready is not None:
            self._on_ready()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Tell every page that the program ends, then end."""
        await self._hub.close(GOING_AWAY)
        await super().shutdown(sockets)


def serve(hub: Hub, guard: Guard, listening: socket.socket, *, on_ready: Callable[[], None]) -> None:
    """Serve until Ctrl-C."""
    sys.setswitchinterval(SWITCH_SECONDS)
    server = PageServer(hub, guard, on_ready=on_ready)
    with ended_by_interrupt():
        server.run(sockets=[listening])
