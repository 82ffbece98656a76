"""A page served in this process, and a client that speaks to it as the browser does."""

import http.client
import inspect
import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from websockets.sync.client import ClientConnection, connect

from dressform.body.body import Body
from dressform.body.pose import turned_worlds
from dressform.body.shapes import ShapeSettings
from dressform.body.stance import Stance
from dressform.formats.gltf.joint_tracks import read_animations
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import load_bodies, load_garment
from dressform.formats.results.check_report import Source
from dressform.garment.following import Following
from dressform.report.page.pack import Pack, read_pack
from dressform.web.guard import LOOPBACK, Guard
from dressform.web.hub import Hub
from dressform.web.server import PageServer, open_port
from dressform.web.session import Opened, Session
from skinned_files import moving_file
from solids import capped_body, open_tube

PATIENCE = 30.0  # seconds until an answer that does not come is a failure
KEY = "tube smooth"
FEW_SHAPES = ShapeSettings(ends=False, strongest=0, sobol=2)


def leaning(body: Body) -> Stance:
    """The chest turned by 40 degrees to the side."""
    assert body.skeleton is not None
    turn = (0.0, 0.0, float(np.sin(np.deg2rad(20))), float(np.cos(np.deg2rad(20))))
    return Stance("leaning", turned_worlds(body.skeleton, {"chest": turn}), "made for tests")


def opened(folder: Path, **more: Any) -> Opened:
    """Two base bodies with two joints, two morphs and a slider of a joint, and a tube of two parts round them."""
    save_body([capped_body("woman"), capped_body("man", height=1.8)], folder / "body.glb")
    save_garment(open_tube(), folder / "tube.glb")
    moving_file(folder / "body.glb")
    (folder / "body.range.toml").write_text(
        "[joint_sliders.long_waist]\nchest.translation = [[0, -0.1, 0], [0, 0.2, 0]]\n"
    )
    bodies = load_bodies(folder / "body.glb", units="m")
    garment = load_garment(folder / "tube.glb")
    files = {"": "body.glb", "tube": "tube.glb"}
    settings = {
        "bodies": bodies,
        "base": 0,
        "garments": (garment,),
        "sources": {name: Source(str(folder / file), "0" * 64) for name, file in files.items()},
        "following": {"tube": Following()},
        "stances": tuple((leaning(body.body),) for body in bodies),
        "animations": tuple(read_animations(body) for body in bodies),
        "versions": {"dressform": "1"},
        "shapes": FEW_SHAPES,
    }
    return Opened(**(settings | more))


# Newer clients return a connection to be iterated over unless they are asked for the plain one.
FORM: dict[str, Any] = {"legacy": True} if "legacy" in inspect.signature(connect).parameters else {}


@dataclass
class Served:
    """A running server."""

    hub: Hub
    guard: Guard
    server: PageServer
    thread: threading.Thread

    @property
    def port(self) -> int:
        return self.guard.port

    @property
    def origin(self) -> str:
        return f"http://{LOOPBACK}:{self.port}"

    def socket(self, *, token: str | None = None, origin: str | None = "", **more: Any) -> ClientConnection:
        """A raw socket, with the right token and origin where nothing else is said."""
        token = self.guard.token if token is None else token
        url = f"ws://{LOOPBACK}:{self.port}/socket?token={token}"
        origin = self.origin if origin == "" else origin
        return connect(url, origin=origin, max_size=None, proxy=None, ping_interval=None, **FORM, **more)

    @contextmanager
    def page(self) -> Iterator["Client"]:
        """A connected page that has heard the first About."""
        with self.socket() as socket:
            client = Client(socket)
            client.about = client.hear().header
            yield client

    def get(
        self, path: str, *, method: str = "GET", headers: dict[str, str] | None = None
    ) -> tuple[int, dict[str, str], bytes]:
        """One request without any token of its own: status, headers by lower-case name, body."""
        connection = http.client.HTTPConnection(LOOPBACK, self.port, timeout=PATIENCE)
        try:
            connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in {"Host": f"{LOOPBACK}:{self.port}", **(headers or {})}.items():
                connection.putheader(name, value)
            connection.endheaders()
            answer = connection.getresponse()
            return answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read()
        finally:
            connection.close()


@dataclass
class Client:
    """One page."""

    socket: ClientConnection
    about: dict[str, Any] = field(default_factory=dict)
    last: int = 0
    progress: list[dict[str, Any]] = field(default_factory=list)

    def hear(self) -> Pack:
        """The next pack."""
        return read_pack(self.socket.recv(timeout=PATIENCE, decode=False))

    def say(self, kind: str, **fields: Any) -> int:
        """Ask, and do not wait."""
        self.last += 1
        self.socket.send(json.dumps({"id": self.last, "request": kind, **fields}))
        return self.last

    def answer_to(self, number: int) -> Pack:
        """The answer to an ask; words on progress and news are kept apart."""
        while True:
            pack = self.hear()
            if pack.header["kind"] == "about":
                self.about = pack.header
            elif pack.header["kind"] == "progress":
                self.progress.append(pack.header)
            elif pack.header["id"] == number:
                return pack

    def request(self, kind: str, **fields: Any) -> Pack:
        """Ask and wait for the answer."""
        return self.answer_to(self.say(kind, **fields))

    def refused(self, kind: str, **fields: Any) -> str:
        """Ask for what is not done: the words."""
        pack = self.request(kind, **fields)
        assert pack.header["kind"] == "error", pack.header
        return str(pack.header["words"])

    def until(self, known: Any) -> dict[str, Any]:
        """Wait for an About of which `known` holds."""
        while not known(self.about):
            pack = self.hear()
            if pack.header["kind"] == "about":
                self.about = pack.header
        return self.about


@contextmanager
def served(start: Opened) -> Iterator[Served]:
    """A server for as long as the block lasts."""
    listening = open_port(0)
    guard = Guard.make(listening.getsockname()[1])
    hub = Hub(Session(start))
    ready = threading.Event()
    server = PageServer(hub, guard, on_ready=ready.set)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    try:
        assert ready.wait(PATIENCE)
        yield Served(hub, guard, server, thread)
    finally:
        server.should_exit = True
        thread.join(PATIENCE)
        listening.close()
        assert not thread.is_alive()
