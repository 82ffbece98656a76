"""Connections that say nothing are let go, so that nobody can lock out the owner of the page by holding many."""

import asyncio
from collections import OrderedDict
from typing import Any, ClassVar

from uvicorn.protocols.http.h11_impl import H11Protocol

SILENT_SECONDS = 5.0
"""A request must be complete within so many seconds of its connection, and of the last answer on it."""
MAX_SILENT = 96
"""So many connections may be silent at a time, fewer than the server admits; one more, and the oldest is let go."""


class PatientProtocol(H11Protocol):
    """HTTP as uvicorn speaks it, to those who speak. All servers of a process count together."""

    _silent: ClassVar["OrderedDict[PatientProtocol, None]"] = OrderedDict()

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Begin to wait for a request."""
        super().connection_made(transport)
        self._silent[self] = None
        self._waiting = self.loop.call_later(SILENT_SECONDS, self._let_go)
        if len(self._silent) > MAX_SILENT:
            next(iter(self._silent))._let_go()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no longer."""
        self._heard()
        super().connection_lost(exc)

    def handle_events(self) -> None:
        """Answer what has come; a request that is complete is no longer waited for."""
        super().handle_events()
        if self.cycle is not None and not self.cycle.more_body:
            self._heard()

    def handle_websocket_upgrade(self, event: Any) -> None:
        """Hand the connection over to the socket, which minds its own."""
        self._heard()
        super().handle_websocket_upgrade(event)

    def _heard(self) -> None:
        self._waiting.cancel()
        self._silent.pop(self, None)

    def _let_go(self) -> None:
        self._heard()
        if not self.transport.is_closing():
            self.transport.abort()
