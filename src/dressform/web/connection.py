"""One connected page: reads its requests, has them done by workers, and sends each answer when it is ready."""

import asyncio
import contextlib
import logging
from collections.abc import Awaitable, Callable
from concurrent.futures import Future
from typing import Any

from starlette.websockets import WebSocket, WebSocketDisconnect, WebSocketState

from dressform.errors import DressformError
from dressform.report.page.pack import about_pack
from dressform.web.answers import UNASKED, CancelAnswer, DroppedAnswer, ErrorAnswer, ProgressAnswer, answer_pack
from dressform.web.hub import Hub
from dressform.web.requests import AnyRequest, CancelRequest, FaultsRequest, RequestError, ShapeRequest, read_request
from dressform.web.workers import BackgroundJob, Cancelled

MAX_WAITING = 64
SLOWEST_READER = 10.0
"""Seconds after which a page that does not read what it is sent is let go."""
TOO_SLOW = 1008
LOG = logging.getLogger(__name__)
GONE = (WebSocketDisconnect, TimeoutError, RuntimeError)
"""What is raised where a page has gone, does not read, or is being let go."""


class Newest:
    """Answers requests of one sort one at a time; of the waiting ones only the newest is kept."""

    def __init__(self, answer: Callable[[ShapeRequest | FaultsRequest], Awaitable[None]]) -> None:
        self._answer = answer
        self._waiting: ShapeRequest | FaultsRequest | None = None
        self._there = asyncio.Event()

    def put(self, request: ShapeRequest | FaultsRequest) -> ShapeRequest | FaultsRequest | None:
        """Let a request wait; returns the request that it replaces."""
        dropped, self._waiting = self._waiting, request
        self._there.set()
        return dropped

    def drop(self, request_id: int) -> bool:
        """Forget the request with this id if it waits."""
        if self._waiting is None or self._waiting.id != request_id:
            return False
        self._waiting = None
        return True

    def holds(self, request_id: int) -> bool:
        """Whether this request waits."""
        return self._waiting is not None and self._waiting.id == request_id

    async def serve(self) -> None:
        """Answer for ever."""
        while True:
            await self._there.wait()
            self._there.clear()
            request, self._waiting = self._waiting, None
            if request is not None:
                await self._answer(request)


class _Waiting:
    """Work that a page waits for; called off, it is not waited for any longer."""

    def __init__(self, job: BackgroundJob) -> None:
        self.job = job
        self._off = asyncio.Event()

    def cancel(self) -> None:
        self.job.cancel()
        self._off.set()

    async def done(self, future: "Future[bytes]") -> bytes:
        """The result of the work.

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


class Connection:
    """Serves one page until it goes away."""

    def __init__(self, socket: WebSocket, hub: Hub) -> None:
        self._socket, self._hub = socket, hub
        self._loop = asyncio.get_running_loop()
        self._sending = asyncio.Lock()
        self._changed = asyncio.Event()
        self._changed.set()
        self._lost = asyncio.Event()
        self._jobs: dict[int, _Waiting] = {}
        self._check_teller = self._teller(UNASKED)
        self._newest = {ShapeRequest: Newest(self._now), FaultsRequest: Newest(self._now)}
        self._tasks: set[asyncio.Task[None]] = set()

    async def serve(self) -> None:
        """Read and answer until the page goes away, is too slow, or the program ends."""
        self._hub.enter(self)
        ongoing = [asyncio.create_task(newest.serve()) for newest in self._newest.values()]
        ongoing += [asyncio.create_task(each) for each in (self._tell_changes(), self._read(), self._end())]
        try:
            done, _ = await asyncio.wait(ongoing, return_when=asyncio.FIRST_COMPLETED)
            for task in done:
                task.result()
        except GONE:
            pass  # the page is gone, or is let go below
        finally:
            self._hub.leave(self)
            for waiting in self._jobs.values():
                waiting.cancel()
            for task in (*ongoing, *self._tasks):
                task.cancel()
            await asyncio.gather(*ongoing, *self._tasks, return_exceptions=True)
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
        """Report the progress of the check; may be called from any thread."""
        self._check_teller(done, of, words)

    async def _end(self) -> None:
        await self._lost.wait()
        raise TimeoutError

    async def _tell_changes(self) -> None:
        while True:
            await self._changed.wait()
            self._changed.clear()
            about = await asyncio.wrap_future(self._hub.session.short.submit(self._hub.about))
            await self._send(about_pack(about))

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
            request = read_request(text)
            self._admit(request)
        except RequestError as problem:
            await self._error(problem.request_id, str(problem))
            return
        if isinstance(request, ShapeRequest | FaultsRequest):
            dropped = self._newest[type(request)].put(request)
            if dropped is not None:
                await self._dropped(dropped.id)
        elif isinstance(request, CancelRequest):
            await self._cancel(request)
        else:
            waiting = self._jobs[request.id] = _Waiting(BackgroundJob(self._teller(request.id)))
            task = asyncio.create_task(self._work(request, waiting))
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)

    def _admit(self, request: AnyRequest) -> None:
        """Refuse an id that is in use, and more requests than can wait."""
        if request.id in self._jobs or any(newest.holds(request.id) for newest in self._newest.values()):
            raise RequestError("A request with this id waits already.", request_id=request.id)
        if len(self._jobs) >= MAX_WAITING:
            raise RequestError(f"{MAX_WAITING} requests wait already.", request_id=request.id)

    async def _now(self, request: ShapeRequest | FaultsRequest) -> None:
        await self._answer(request, _Waiting(BackgroundJob()))

    async def _work(self, request: AnyRequest, waiting: "_Waiting") -> None:
        try:
            await self._answer(request, waiting)
        except GONE:
            self._lost.set()

    async def _answer(self, request: AnyRequest, waiting: "_Waiting") -> None:
        """Have the work done and send the result."""
        request_id = request.id
        try:
            worker, work = self._hub.work_of(request)
            pack = await waiting.done(worker.submit(lambda: work(waiting.job)))
        except Cancelled:
            await self._dropped(request_id)
        except DressformError as problem:
            await self._error(request_id, str(problem))
        except Exception:
            LOG.exception("%s was not answered", type(request).__name__)
            await self._error(request_id, "Something failed inside dressform; the details are in the terminal.")
        else:
            await self._send(pack)
        finally:
            self._jobs.pop(request_id, None)

    async def _cancel(self, request: CancelRequest) -> None:
        done = False
        for newest in self._newest.values():
            if newest.drop(request.of):
                done = True
                await self._dropped(request.of)
        called_off = self._hub.check if request.of == UNASKED else self._jobs.get(request.of)
        if called_off is not None:
            called_off.cancel()
            done = True
        await self._send(answer_pack(CancelAnswer(id=request.id, of=request.of, done=done)))

    def _teller(self, request_id: int) -> Callable[[int, int, str], None]:
        """Sends a request's progress to the page; a message that cannot be sent at once is dropped."""
        last: list[Future[None]] = []

        def tell(done: int, of: int, words: str) -> None:
            if last and not last[0].done():
                return
            progress = ProgressAnswer(id=request_id, done=done, of=of, words=words)
            with contextlib.suppress(RuntimeError):  # the loop has ended meanwhile
                last[:] = [asyncio.run_coroutine_threadsafe(self._send_progress(progress), self._loop)]

        return tell

    async def _send_progress(self, progress: ProgressAnswer) -> None:
        if progress.id == UNASKED or progress.id in self._jobs:
            with contextlib.suppress(*GONE):
                await self._send(answer_pack(progress))

    async def _error(self, request_id: int, words: str) -> None:
        await self._send(answer_pack(ErrorAnswer(id=request_id, words=words)))

    async def _dropped(self, request_id: int) -> None:
        await self._send(answer_pack(DroppedAnswer(id=request_id)))

    async def _send(self, pack: bytes) -> None:
        async with asyncio.timeout(SLOWEST_READER), self._sending:
            await self._socket.send_bytes(pack)
