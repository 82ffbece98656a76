"""What somebody who means harm may try: the server refuses, stays up, and gives nothing away."""

import json
import socket
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress

import pytest
from websockets.exceptions import ConnectionClosed, InvalidHandshake, InvalidStatus
from websockets.sync.client import ClientConnection

from dressform.report.page.pack import read_pack
from dressform.web import patience
from dressform.web.connection import MAX_WAITING
from dressform.web.guard import LOOPBACK
from dressform.web.hub import MAX_PAGES
from dressform.web.requests import MAX_BYTES
from dressform.web.server import MAX_CONNECTIONS
from livepage import KEY, PATIENCE, Client, Served

PATHS = [
    "/../../etc/passwd",
    "/..%2f..%2fetc/passwd",
    "/%2e%2e/%2e%2e/etc/passwd",
    "//etc/passwd",
    "/page.js/../../pack.py",
    "/page.js%00.html",
    "/body.glb",
    "/static/page.js",
    "/socket",
    "/page.js/",
    "/PAGE.JS",
    "/favicon.ico",
    "/docs",
    "/openapi.json",
]


@pytest.fixture(autouse=True)
def quiet(caplog: pytest.LogCaptureFixture, request: pytest.FixtureRequest) -> Iterator[None]:
    """Nothing that a client does is written as a fault of the program."""
    yield
    if request.node.name != test_a_fault_of_the_program_is_an_error_without_its_trace.__name__:
        faults = [record.getMessage() for record in caplog.records if record.name.startswith(("uvicorn", "dressform"))]
        assert faults == []


def alive(server: Served) -> bool:
    """Whether a page that has the token is still served."""
    with server.page() as page:
        return page.request("shape", weights=[0.0, 0.0], garments=[]).header["kind"] == "shape"


def closed(raw: ClientConnection) -> int | None:
    """With which code a socket is ended, whatever comes before; None where it breaks off without one."""
    try:
        while True:
            raw.recv(timeout=PATIENCE)
    except ConnectionClosed as end:
        return None if end.rcvd is None else end.rcvd.code


def test_the_glossary_is_served_to_this_machine_alone_and_runs_nothing(server: Served):
    status, headers, body = server.get("/glossary.html")
    assert status == 200
    assert headers["content-type"].startswith("text/html")
    assert "script-src" not in headers["content-security-policy"]
    assert headers["content-security-policy"].startswith("default-src 'none'; style-src 'unsafe-inline'; img-src data:")
    assert b"skin shows" in body
    assert b"<script" not in body
    assert server.get("/glossary.html", headers={"Host": "dressform.example"})[0] == 403
    assert "unsafe-inline" not in server.get("/page.css")[1]["content-security-policy"]


def test_the_page_is_served_with_its_script_and_style(server: Served):
    token = server.guard.token
    status, headers, body = server.get(f"/?token={token}")
    assert status == 200
    assert headers["content-type"].startswith("text/html")
    for name, kind in (("page.js", "text/javascript"), ("page.css", "text/css")):
        assert f'"{name}"'.encode() in body
        status, headers, content = server.get(f"/{name}")
        assert (status, headers["content-type"].split(";")[0]) == (200, kind)
        assert len(content) > 1000


@pytest.mark.parametrize("path", ["/", "/page.js", "/nothing"])
@pytest.mark.parametrize("token", ["right", "wrong"])
def test_every_answer_carries_the_headers_that_guard_it(server: Served, path: str, token: str):
    _, headers, _ = server.get(f"{path}?token={server.guard.token if token == 'right' else 'wrong'}")
    for name, value in server.guard.headers().items():
        assert headers[name.lower()] == value
    assert "server" not in headers


@pytest.mark.parametrize("path", ["/", "/page.js", "/page.css", "/nothing"])
@pytest.mark.parametrize("query", ["?token=", "?token=wrong", "?token=%00", "?tokentoken"])
def test_with_a_wrong_token_every_path_is_refused_alike_and_empty(server: Served, path: str, query: str):
    status, _, body = server.get(path + query)
    assert (status, body) == (403, b"")


def test_without_a_token_there_is_only_the_empty_page_which_says_nothing_of_this_run(server: Served):
    token, open_page = server.guard.token.encode(), server.get("/")
    assert open_page[0] == 200
    for path in ("/", "/page.js", "/page.css"):
        status, headers, body = server.get(path)
        assert (status, body) == (200, server.get(f"{path}?token={server.guard.token}")[2])
        assert token not in body
        assert b"tube" not in open_page[2]
        assert not any("cookie" in name for name in headers)
    for path in (*PATHS, "/nothing"):
        status, _, body = server.get(path)
        assert (status, body) in ((403, b""), (404, b"Not Found")), path


@pytest.mark.parametrize("path", PATHS)
def test_no_path_leads_to_a_file(server: Served, path: str):
    status, _, body = server.get(f"{path}?token={server.guard.token}")
    assert status in (403, 404, 405)
    assert b"root:" not in body
    assert b"dressform" not in body


@pytest.mark.parametrize("host", ["evil.example", "evil.example:{port}", "127.0.0.1", "localhost:1", ""])
def test_a_foreign_host_is_refused_though_it_has_the_token(server: Served, host: str):
    headers = {"Host": host.format(port=server.port)}
    status, _, body = server.get(f"/?token={server.guard.token}", headers=headers)
    assert status in (400, 403)
    assert b"page.js" not in body


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1"])
def test_a_foreign_origin_is_refused_though_it_has_the_token(server: Served, origin: str):
    status, _, body = server.get(f"/?token={server.guard.token}", headers={"Origin": origin})
    assert (status, body) == (403, b"")
    with pytest.raises(InvalidStatus) as caught:
        server.socket(origin=origin)
    assert caught.value.response.status_code == 403


def test_a_socket_without_origin_or_token_is_refused(server: Served):
    for refused in ({"origin": None}, {"token": "wrong"}, {"token": ""}):
        with pytest.raises(InvalidStatus) as caught:
            server.socket(**refused)
        assert caught.value.response.status_code == 403
        assert caught.value.response.body == b""


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "HEAD", "OPTIONS", "TRACE", "PATCH", "CONNECT", "LOOK"])
def test_nothing_but_get_is_done(server: Served, method: str):
    status, _, body = server.get(f"/?token={server.guard.token}", method=method)
    assert status in (400, 405)
    assert b"page.js" not in body


def test_two_hosts_in_one_request_are_refused(server: Served):
    request = (
        f"GET /?token={server.guard.token} HTTP/1.1\r\nHost: evil.example\r\nHost: {LOOPBACK}:{server.port}\r\n"
        "Connection: close\r\n\r\n"
    )
    with socket.create_connection((LOOPBACK, server.port), timeout=PATIENCE) as raw:
        raw.sendall(request.encode())
        answer = raw.recv(4096)
    assert answer.split(b" ", 2)[1] in (b"400", b"403")


def test_only_the_loopback_address_is_listened_on(server: Served):
    others = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    for address in others - {LOOPBACK} - {a for a in others if a.startswith("127.")}:
        with pytest.raises(OSError, match=r"refused|unreachable|timed out"):
            socket.create_connection((address, server.port), timeout=1.0).close()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "null",
        "[]",
        '"shape"',
        "[" * 50_000,
        '{"id": 1}',
        '{"id": "1", "request": "shape"}',
        "\x00",
        "é" * 1000,
    ],
)
def test_malformed_messages_are_answered_with_an_error(page: Client, text: str):
    page.socket.send(text)
    answer = page.hear().header
    assert answer["kind"] == "error"
    assert answer["words"]
    assert page.request("shape", weights=[0.0, 0.0], garments=[]).header["kind"] == "shape"


def test_binary_messages_are_answered_with_an_error(page: Client):
    page.socket.send(b"\x00\x01\x02")
    assert page.hear().header["kind"] == "error"
    assert page.request("shape", weights=[0.0, 0.0], garments=[]).header["kind"] == "shape"


def test_a_message_that_is_too_long_ends_the_socket_and_nothing_else(server: Served):
    with server.socket() as raw:
        raw.recv(timeout=PATIENCE)
        with suppress(ConnectionClosed):  # ended while it was being sent
            raw.send(json.dumps({"id": 1, "request": "save", "x": "y" * MAX_BYTES}))
        assert closed(raw) in (None, 1009)
    assert alive(server)


def test_the_same_id_twice_is_refused_while_the_first_waits(page: Client):
    page.socket.send(json.dumps({"id": 5, "request": "layer", "layer": "resolution", "garment": KEY}))
    page.socket.send(json.dumps({"id": 5, "request": "measures", "weights": [0.0, 0.0]}))
    kinds = []
    while len(kinds) < 2:
        header = page.hear().header
        if header["kind"] != "progress":
            kinds.append(header["kind"])
    assert sorted(kinds) in (["error", "layer"], ["layer", "measures"])


def test_more_asks_than_may_wait_are_refused(own: Served):
    with own.page() as page:
        own.hub.session.short.submit(lambda: time.sleep(1.0))
        asked = [page.say("measures", weights=[0.0, 0.0]) for _ in range(MAX_WAITING + 10)]
        kinds: dict[int, str] = {}
        while len(kinds) < len(asked):
            header = page.hear().header
            if header["id"] in asked and header["kind"] != "progress":
                kinds[header["id"]] = header["kind"]
        assert list(kinds.values()).count("error") == 10
        assert list(kinds.values()).count("measures") == MAX_WAITING


def test_connections_that_say_nothing_do_not_lock_the_owner_out(server: Served):
    held = [socket.create_connection((LOOPBACK, server.port), timeout=PATIENCE) for _ in range(MAX_CONNECTIONS + 20)]
    try:
        assert server.get(f"/?token={server.guard.token}")[0] == 200
        assert alive(server)
    finally:
        for one in held:
            one.close()


def test_connections_that_drip_or_were_refused_do_not_lock_the_owner_out(server: Served):
    held = [socket.create_connection((LOOPBACK, server.port), timeout=PATIENCE) for _ in range(MAX_CONNECTIONS + 20)]
    try:
        for number, one in enumerate(held):
            with suppress(OSError):
                one.sendall(b"GET / HTTP/1.1\r\n" + (b"\r\n" if number % 2 else b"X: drip"))
        assert alive(server)
    finally:
        for one in held:
            one.close()


def test_connection_that_says_nothing_is_let_go_after_a_while(server: Served, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(patience, "SILENT_SECONDS", 0.3)
    for begun in (b"", b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Drip: "):
        with socket.create_connection((LOOPBACK, server.port), timeout=PATIENCE) as raw:
            raw.sendall(begun)
            with suppress(ConnectionResetError):
                assert raw.recv(1) == b""
    assert alive(server)


def test_two_hundred_pages_at_once_do_not_take_it_down(server: Served):
    def visit(_: int) -> str:
        try:
            with server.socket(open_timeout=PATIENCE) as raw:
                read_pack(raw.recv(timeout=PATIENCE, decode=False))
                raw.send(json.dumps({"id": 1, "request": "shape", "weights": [0.3, 0.3], "garments": []}))
                while read_pack(raw.recv(timeout=PATIENCE, decode=False)).header["kind"] != "shape":
                    pass
                time.sleep(0.3)
                return "served"
        except (InvalidHandshake, ConnectionClosed, OSError, EOFError):
            return "refused"

    with ThreadPoolExecutor(200) as crowd:
        ended = list(crowd.map(visit, range(200)))
    assert ended.count("served") >= MAX_PAGES // 2
    assert ended.count("refused") > 0
    assert alive(server)


def test_pages_beyond_the_most_are_told_to_try_later(server: Served):
    held = []
    try:
        while len(held) < MAX_PAGES:
            held.append(server.socket())
            held[-1].recv(timeout=PATIENCE)
        with server.socket() as one_more, pytest.raises(ConnectionClosed) as caught:
            one_more.recv(timeout=PATIENCE)
        assert caught.value.rcvd.code == 1013
    finally:
        for one in held:
            one.close()
    assert alive(server)


def test_a_page_that_goes_away_in_the_middle_leaves_nothing_waiting(server: Served):
    for _ in range(10):
        raw = server.socket()
        raw.send(json.dumps({"id": 1, "request": "faults", "weights": [0.5, 0.5], "garments": [KEY]}))
        raw.send(json.dumps({"id": 2, "request": "layer", "layer": "resolution", "garment": KEY}))
        raw.socket.close()
    assert alive(server)


def test_a_page_that_does_not_read_is_let_go_and_others_are_served(server: Served, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("dressform.web.connection.SLOWEST_READER", 0.5)
    plain = socket.socket()
    plain.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    plain.connect((LOOPBACK, server.port))
    deaf = server.socket(sock=plain, max_queue=1)
    with server.page() as page:
        page.request("meshes", garments=[KEY])
        number, end = 0, time.monotonic() + PATIENCE
        while len(server.hub._pages) > 1 and time.monotonic() < end:
            number += 1
            with suppress(ConnectionClosed, OSError):
                deaf.send(json.dumps({"id": number, "request": "meshes", "garments": [KEY]}))
            assert number % 20 or page.request("shape", weights=[0.1, 0.1], garments=[KEY]).header["kind"] == "shape"
        assert len(server.hub._pages) == 1
    deaf.socket.close()
    assert alive(server)


def test_a_fault_of_the_program_is_an_error_without_its_trace(own: Served, monkeypatch: pytest.MonkeyPatch, caplog):
    def broken(*_: object) -> bytes:
        raise ZeroDivisionError("secret detail")

    monkeypatch.setattr("dressform.web.hub.answer_measures", broken)
    with own.page() as page:
        words = page.refused("measures", weights=[0.0, 0.0])
        assert "secret" not in words
        assert "Something failed inside dressform" in words
    assert "secret detail" in caplog.text


def test_when_the_program_ends_every_page_is_told(own: Served):
    with own.page() as page:
        own.server.should_exit = True
        assert closed(page.socket) == 1001
    own.thread.join(PATIENCE)
    assert not own.thread.is_alive()
