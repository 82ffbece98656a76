"""One connected page: what it asks is read, done beside the socket, and answered as it gets ready."""

import asyncio
import contextlib
import logging
from collections.abc import Awaitable, Callable
from concurrent.futures import Future
from typing import Any

from starlette.websockets import WebSocket, WebSocketDisconnect, WebSocketState

from dressform.errors import DressformError
from dressform.report.page.pack import write_pack
from dressform.web.asks import AnyAsk, AskError, Cancel, Faults, Shape, read_ask
from dressform.web.hall import Hall
from dressform.web.workers import Cancelled, Job

MAX_WAITING = 64
SLOWEST_READER = 10.0
"""Seconds after which a page that does not read what it is sent is let go."""
TOO_SLOW = 1008
UNASKED = 0
LOG = logging.getLogger(__name__)
GONE = (WebSocketDisconnect, TimeoutError, RuntimeError)
"""What is raised where a page has gone, does not read, or is being let go."""


class Newest:
    """Answers asks of one sort one at a time, and of those that wait only the newest."""

    def __init__(self, answer: Callable[[Shape | Faults], Awaitable[None]]) -> None:
        self._answer = answer
        self._waiting: Shape | Faults | None = None
        self._there = asyncio.Event()

    def put(self, ask: Shape | Faults) -> Shape | Faults | None:
        """Let an ask wait; the one that it takes the place of is returned."""
        dropped, self._waiting = self._waiting, ask
        self._there.set()
        return dropped

    def drop(self, ask_id: int) -> bool:
        """Forget the ask with this id if it waits."""
        if self._waiting is None or self._waiting.id != ask_id:
            return False
        self._waiting = None
        return True

    def holds(self, ask_id: int) -> bool:
        """Whether this ask waits."""
        return self._waiting is not None and self._waiting.id == ask_id

    async def serve(self) -> None:
        """Answer for ever."""
        while True:
            await self._there.wait()
            self._there.clear()
            ask, self._waiting = self._waiting, None
            if ask is not None:
                await self._answer(ask)


class _Waiting:
    """Work that a page waits for; called off, it is not waited for any longer."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self._off = asyncio.Event()

    def cancel(self) -> None:
        self.job.cancel()
        self._off.set()

    async def done(self, future: "Future[bytes]") -> bytes:
        """What the work comes to.

        Raises:
            Cancelled: it was called off.
        """
        result = asyncio.wrap_future(future)
        result.add_done_callback(lambda ended: ended.cancelled() or ended.exception())
        off = asyncio.create_task(self._off.wait())
        try:
            both: set[asyncio.Future[Any]] = {result, off}
            await asyncio.wait(both, return_when=asyncio.FIRST_COMPLETED)
            if self.job.cancelled:
                raise Cancelled("The work was called off.")
            return result.result()
        finally:
            off.cancel()
            future.cancel()


class Desk:
    """Serves one page until it goes away."""

    def __init__(self, socket: WebSocket, hall: Hall) -> None:
        self._socket, self._hall = socket, hall
        self._loop = asyncio.get_running_loop()
        self._sending = asyncio.Lock()
        self._changed = asyncio.Event()
        self._changed.set()
        self._lost = asyncio.Event()
        self._jobs: dict[int, _Waiting] = {}
        self._check_teller = self._teller(UNASKED)
        self._newest = {Shape: Newest(self._now), Faults: Newest(self._now)}
        self._errands: set[asyncio.Task[None]] = set()

    async def serve(self) -> None:
        """Read and answer until the page goes away, is too slow, or the program ends."""
        self._hall.enter(self)
        ongoing = [asyncio.create_task(newest.serve()) for newest in self._newest.values()]
        ongoing += [asyncio.create_task(each) for each in (self._tell_changes(), self._read(), self._end())]
        try:
            done, _ = await asyncio.wait(ongoing, return_when=asyncio.FIRST_COMPLETED)
            for task in done:
                task.result()
        except GONE:
            pass  # the page is gone, or is let go below
        finally:
            self._hall.leave(self)
            for waiting in self._jobs.values():
                waiting.cancel()
            for task in (*ongoing, *self._errands):
                task.cancel()
            await asyncio.gather(*ongoing, *self._errands, return_exceptions=True)
            await self.close(TOO_SLOW)

    async def close(self, code: int) -> None:
        """End the socket, if it has not ended."""
        if self._socket.application_state is WebSocketState.CONNECTED:
            with contextlib.suppress(*GONE):
                async with asyncio.timeout(1.0):
                    await self._socket.close(code)

    def changed(self) -> None:
        """The About has changed; may be called from any thread."""
        with contextlib.suppress(RuntimeError):  # the loop has ended meanwhile
            self._loop.call_soon_threadsafe(self._changed.set)

    def progress(self, done: int, of: int, words: str) -> None:
        """The check has come so far; may be called from any thread."""
        self._check_teller(done, of, words)

    async def _end(self) -> None:
        await self._lost.wait()
        raise TimeoutError

    async def _tell_changes(self) -> None:
        while True:
            await self._changed.wait()
            self._changed.clear()
            about = await asyncio.wrap_future(self._hall.session.errands.submit(self._hall.about))
            await self._send(write_pack({**about, "kind": "about", "id": UNASKED}, {}))

    async def _read(self) -> None:
        while True:
            message = await self._socket.receive()
            if message["type"] == "websocket.disconnect":
                raise WebSocketDisconnect(message.get("code", 1000))
            text = message.get("text")
            if text is None:
                await self._error(UNASKED, "Messages are JSON text.")
            else:
                await self._hear(text)

    async def _hear(self, text: str) -> None:
        try:
            ask = read_ask(text)
            self._admit(ask)
        except AskError as problem:
            await self._error(problem.ask_id, str(problem))
            return
        if isinstance(ask, Shape | Faults):
            dropped = self._newest[type(ask)].put(ask)
            if dropped is not None:
                await self._dropped(dropped.id)
        elif isinstance(ask, Cancel):
            await self._cancel(ask)
        else:
            waiting = self._jobs[ask.id] = _Waiting(Job(self._teller(ask.id)))
            task = asyncio.create_task(self._errand(ask, waiting))
            self._errands.add(task)
            task.add_done_callback(self._errands.discard)

    def _admit(self, ask: AnyAsk) -> None:
        """Refuse an id that is in use, and more asks than can wait."""
        if ask.id in self._jobs or any(newest.holds(ask.id) for newest in self._newest.values()):
            raise AskError("An ask with this id waits already.", ask_id=ask.id)
        if len(self._jobs) >= MAX_WAITING:
            raise AskError(f"{MAX_WAITING} asks wait already.", ask_id=ask.id)

    async def _now(self, ask: Shape | Faults) -> None:
        await self._answer(ask, _Waiting(Job()))

    async def _errand(self, ask: AnyAsk, waiting: "_Waiting") -> None:
        try:
            await self._answer(ask, waiting)
        except GONE:
            self._lost.set()

    async def _answer(self, ask: AnyAsk, waiting: "_Waiting") -> None:
        """Let the work be done and send what came of it."""
        ask_id = ask.id
        try:
            worker, work = self._hall.work_of(ask)
            pack = await waiting.done(worker.submit(lambda: work(waiting.job)))
        except Cancelled:
            await self._dropped(ask_id)
        except DressformError as problem:
            await self._error(ask_id, str(problem))
        except Exception:
            LOG.exception("%s was not answered", type(ask).__name__)
            await self._error(ask_id, "The program met a fault of its own; it is written where it was started.")
        else:
            await self._send(pack)
        finally:
            self._jobs.pop(ask_id, None)

    async def _cancel(self, ask: Cancel) -> None:
        done = False
        for newest in self._newest.values():
            if newest.drop(ask.of):
                done = True
                await self._dropped(ask.of)
        called_off = self._hall.check if ask.of == UNASKED else self._jobs.get(ask.of)
        if called_off is not None:
            called_off.cancel()
            done = True
        await self._send(write_pack({"kind": "cancelled", "id": ask.id, "of": ask.of, "done": done}, {}))

    def _teller(self, ask_id: int) -> Callable[[int, int, str], None]:
        """Tells the page how far an ask has come; a word that cannot be sent at once is left out."""
        last: list[Future[None]] = []

        def tell(done: int, of: int, words: str) -> None:
            if last and not last[0].done():
                return
            header = {"kind": "progress", "id": ask_id, "done": done, "of": of, "words": words}
            with contextlib.suppress(RuntimeError):  # the loop has ended meanwhile
                last[:] = [asyncio.run_coroutine_threadsafe(self._send_progress(ask_id, header), self._loop)]

        return tell

    async def _send_progress(self, ask_id: int, header: dict[str, Any]) -> None:
        if ask_id == UNASKED or ask_id in self._jobs:
            with contextlib.suppress(*GONE):
                await self._send(write_pack(header, {}))

    async def _error(self, ask_id: int, words: str) -> None:
        await self._send(write_pack({"kind": "error", "id": ask_id, "words": words}, {}))

    async def _dropped(self, ask_id: int) -> None:
        await self._send(write_pack({"kind": "dropped", "id": ask_id}, {}))

    async def _send(self, pack: bytes) -> None:
        async with asyncio.timeout(SLOWEST_READER), self._sending:
            await self._socket.send_bytes(pack)
