"""How often the live page's server answers a slider: round trips over the page's own socket, shape after shape.

A garment of 10,000 vertices on a body of 24,000 with 12 morphs, all of them away from 0, in a process of its own as
`dressform show` runs; the client asks for a shape, waits for body and cloth, and asks for the next. Four times: with
nothing else to do, with body and cloth posed, while faults are measured all the time as the page asks for them, and
while a check of everything runs behind. The floor is the same number of bytes sent back by a bare socket on the same
machine. Milliseconds of wall-clock time; the goal is 60 updates a second.

Run: OPENBLAS_NUM_THREADS=1 python benchmarks/bench_page.py
"""

import json
import multiprocessing
import socket
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np
from websockets.sync.client import ClientConnection, connect

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.skeleton import Skeleton, Skin
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import load_body, load_garment
from dressform.formats.results.check_report import Source
from dressform.garment.garment import Garment
from dressform.report.page.pack import read_pack
from dressform.web.following import Following
from dressform.web.guard import LOOPBACK, Guard
from dressform.web.hub import Hub
from dressform.web.server import open_port, serve
from dressform.web.session import Opened, Session

BODY, GARMENT, MORPHS = (160, 150), (100, 100), 12
RADIUS, STATURE, CLEARANCE = 0.16, 1.7, 0.02
RUNS = 300
GOAL = 60
KEY = "tube smooth"
POSE = {"turns": {"chest": [0.0, 0.0, 0.17, 0.98]}}


def revolved(rings: int, sides: int, *, radius: float, low: float, high: float) -> tuple[np.ndarray, np.ndarray]:
    """A tube about the vertical axis: vertices and triangles."""
    angles = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    heights = np.repeat(np.linspace(low, high, rings), sides)
    x, z = np.tile(radius * np.sin(angles), rings), np.tile(radius * np.cos(angles), rings)
    lower = (np.arange(rings - 1)[:, None] * sides + np.arange(sides)).ravel()
    after = (np.arange(rings - 1)[:, None] * sides + (np.arange(sides) + 1) % sides).ravel()
    faces = np.vstack([np.stack([lower, after, after + sides], 1), np.stack([lower, after + sides, lower + sides], 1)])
    return np.stack([x, heights, z], axis=1), faces


def closed_body() -> Body:
    """A column with lids, swelling in `MORPHS` places, on two joints."""
    rings, sides = BODY
    vertices, faces = revolved(rings, sides, radius=RADIUS, low=0.0, high=STATURE)
    bottom, top = len(vertices), len(vertices) + 1
    ring = np.arange(sides)
    last = (rings - 1) * sides
    lids = [np.stack([np.full(sides, bottom), np.roll(ring, -1), ring], axis=1)]
    lids.append(np.stack([np.full(sides, top), last + ring, last + np.roll(ring, -1)], axis=1))
    vertices = np.vstack([vertices, [[0.0, 0.0, 0.0], [0.0, STATURE, 0.0]]])
    places = np.linspace(0.3, 1.5, MORPHS)
    swell = 0.3 * np.exp(-(((vertices[:, 1] - places[:, None]) / 0.15) ** 2))
    deltas = swell[:, :, None] * vertices * (1.0, 0.0, 1.0)
    names = tuple(f"morph {k}" for k in range(MORPHS))
    rest = np.tile(np.eye(4), (2, 1, 1))
    rest[1, 1, 3] = STATURE / 2
    skeleton = Skeleton(("root", "chest"), np.array([-1, 0]), rest, np.linalg.inv(rest))
    share = vertices[:, 1] / STATURE
    skin = Skin.from_dense(np.stack([1 - share, share], axis=1))
    return Body("column", vertices, np.vstack([faces, *lids]), names, deltas, Range.unit(names), skeleton, skin)


def serve_page(folder: str, told: Connection) -> None:
    """The server's process: says its address, then serves until it is ended."""
    body, garment = load_body(Path(folder) / "body.glb", units="m"), load_garment(Path(folder) / "tube.glb")
    sources = {"": Source("body.glb", ""), "tube": Source("tube.glb", "")}
    opened = Opened((body,), 0, (garment,), sources, {"tube": Following()})
    with closing(open_port(0)) as listening:
        guard = Guard.make(listening.getsockname()[1])
        serve(Hub(Session(opened)), guard, listening, on_ready=lambda: told.send((guard.token, guard.port)))


class Page:
    """A client that asks one thing after the other."""

    def __init__(self, wire: ClientConnection) -> None:
        self.wire, self.last = wire, 0

    def request(self, kind: str, **fields: object) -> int:
        """Ask, wait for the answer, and say how many bytes it had."""
        self.last += 1
        self.wire.send(json.dumps({"id": self.last, "request": kind, **fields}))
        while True:
            data = self.wire.recv(decode=False)
            header = read_pack(data).header
            if header["id"] == self.last and header["kind"] not in ("progress", "about"):
                assert header["kind"] == kind, header
                return len(data)


@contextmanager
def page(token: str, port: int) -> Iterator[Page]:
    """A connected page."""
    url = f"ws://{LOOPBACK}:{port}/socket?token={token}"
    with connect(url, origin=f"http://{LOOPBACK}:{port}", max_size=None, proxy=None) as wire:
        yield Page(wire)


def times(task: Callable[[np.ndarray], object]) -> np.ndarray:
    """Milliseconds of each of `RUNS` calls, each with other weights."""
    rng = np.random.default_rng(1)
    found = np.zeros(RUNS)
    for run in range(RUNS):
        weights = rng.uniform(0.05, 1, MORPHS)
        start = time.perf_counter()
        task(weights)
        found[run] = time.perf_counter() - start
    return found * 1e3


def echo(size: int) -> np.ndarray:
    """Milliseconds in which a bare socket sends `size` bytes back for a short question."""
    with closing(socket.create_server((LOOPBACK, 0))) as listening:

        def answer() -> None:
            wire, _ = listening.accept()
            with closing(wire):
                data = bytes(size)
                while wire.recv(256):
                    wire.sendall(data)

        threading.Thread(target=answer, daemon=True).start()
        with closing(socket.create_connection(listening.getsockname())) as wire:

            def once(_: np.ndarray) -> None:
                wire.sendall(b"x" * 200)
                left = size
                while left:
                    left -= len(wire.recv(min(left, 2**20)))

            return times(once)


@contextmanager
def besides(token: str, port: int, work: Callable[[Page], object]) -> Iterator[None]:
    """Another page that keeps the server busy for as long as the block lasts."""
    over, begun = threading.Event(), threading.Event()

    def run() -> None:
        with page(token, port) as other:
            while not over.is_set():
                begun.set()
                work(other)

    thread = threading.Thread(target=run)
    thread.start()
    begun.wait()
    time.sleep(0.5)
    try:
        yield
    finally:
        over.set()
        thread.join()


def main() -> None:
    """Measure and print one Markdown table."""
    with tempfile.TemporaryDirectory() as folder:
        save_body(closed_body(), Path(folder) / "body.glb")
        cloth = revolved(*GARMENT, radius=RADIUS + CLEARANCE, low=0.5, high=1.3)
        save_garment(Garment.of("tube", *cloth), Path(folder) / "tube.glb")
        context = multiprocessing.get_context("spawn")
        told, tell = context.Pipe()
        server = context.Process(target=serve_page, args=(folder, tell), daemon=True)
        server.start()
        token, port = told.recv()
        try:
            rows, size = measure(token, port)
        finally:
            server.terminate()
            server.join()
    floor = float(np.median(echo(size)))
    print(f"{size / 1e3:.0f} kB an answer; a bare socket takes {floor:.2f} ms for as many bytes\n")
    print(f"| round trip | median ms | p95 ms | × bare socket | updates a second | × goal of {GOAL} |")
    print("|---|---|---|---|---|---|")
    for name, spent in rows.items():
        middle, late, rate = float(np.median(spent)), float(np.percentile(spent, 95)), 1e3 / float(np.mean(spent))
        print(f"| {name} | {middle:.2f} | {late:.2f} | {middle / floor:.1f} | {rate:.0f} | {rate / GOAL:.1f} |")


def measure(token: str, port: int) -> tuple[dict[str, np.ndarray], int]:
    """Times by what else the server does, and the bytes of one answer."""
    ones = [1.0] * MORPHS
    with page(token, port) as ours:
        ours.request("meshes", garments=[KEY])
        ours.request("faults", weights=ones, garments=[KEY])  # prepared once, and not part of what is measured

        def shape(weights: np.ndarray) -> int:
            return ours.request("shape", weights=weights.tolist(), garments=[KEY])

        def posed(weights: np.ndarray) -> int:
            return ours.request("shape", weights=weights.tolist(), garments=[KEY], pose=POSE)

        size = shape(np.ones(MORPHS))
        posed(np.ones(MORPHS))
        rows = {"a shape": times(shape), "a shape, posed": times(posed)}
        with besides(
            token, port, lambda other: other.request("faults", weights=ones, garments=[KEY], layers=["depth"])
        ):
            rows["a shape, while faults are measured"] = times(shape)
        other_work = threading.Thread(target=_check, args=(token, port), daemon=True)
        other_work.start()
        time.sleep(1.0)
        rows["a shape, while everything is checked"] = times(shape)
    return rows, size


def _check(token: str, port: int) -> None:
    """Let everything be checked, and do not wait for the end."""
    with page(token, port) as other:
        other.wire.send(json.dumps({"id": 1, "request": "check"}))
        time.sleep(60.0)


if __name__ == "__main__":
    main()
