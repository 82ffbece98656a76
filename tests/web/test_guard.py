"""The guard lets in whoever has the token and comes from this machine's own page, and nobody else."""

import pytest

from dressform.web.guard import Guard

GUARD = Guard("secret-token", 8400)
HOST = {"host": "127.0.0.1:8400"}
ORIGIN = {**HOST, "origin": "http://127.0.0.1:8400"}
RIGHT = b"token=secret-token"


def test_two_runs_have_different_tokens_of_256_bits():
    first, second = Guard.make(1), Guard.make(1)
    assert first.token != second.token
    assert len(first.token) == 43  # 32 bytes in base64 without padding


def test_the_address_holds_port_and_token():
    assert GUARD.address == "http://127.0.0.1:8400/?token=secret-token"


@pytest.mark.parametrize("headers", [HOST, {"host": "localhost:8400"}, {**HOST, "sec-fetch-site": "none"}])
def test_the_page_opens_for_whoever_has_its_address(headers):
    assert GUARD.admits("/", RIGHT, headers, socket=False)


@pytest.mark.parametrize("path", ["/", "/page.js", "/page.css"])
def test_the_empty_page_and_its_files_need_no_token_so_that_a_reload_has_none_in_its_address(path):
    assert GUARD.admits(path, b"", HOST, socket=False)
    assert not GUARD.admits(path, b"", {"host": "evil.example:8400"}, socket=False)
    assert not GUARD.admits(path, b"", {**HOST, "origin": "http://evil.example"}, socket=False)


@pytest.mark.parametrize(("path", "socket"), [("/socket", True), ("/socket", False), ("/", True), ("/nothing", False)])
def test_nothing_else_is_open_without_the_token(path, socket):
    assert not GUARD.admits(path, b"", ORIGIN, socket=socket)
    assert GUARD.admits(path, RIGHT, ORIGIN, socket=socket)


@pytest.mark.parametrize(
    "query",
    [
        b"token=",
        b"token=secret-toke",
        b"token=secret-tokenx",
        b"token=SECRET-TOKEN",
        b"Token=secret-token",
        b"token=wrong&token=secret-token",
        b"token=secret-token&token=wrong",
        b"x=" + b"y" * 5000 + b"&token=secret-token",
        b"&".join(b"a%d=1" % number for number in range(20)) + b"&token=secret-token",
        b"\xff\xfe=1&token=secret-token",
    ],
)
def test_every_other_token_is_refused(query):
    assert not GUARD.admits("/", query, HOST, socket=False)


@pytest.mark.parametrize(
    "host",
    [
        "",
        "127.0.0.1",
        "127.0.0.1:80",
        "127.0.0.1:84000",
        "evil.example:8400",
        "127.0.0.1.evil.example:8400",
        "localhost.:8400",
        "[::1]:8400",
        "0.0.0.0:8400",
        "user@127.0.0.1:8400",
        "LOCALHOST:8400 ",
    ],
)
def test_a_name_that_was_rebound_to_this_machine_is_refused(host):
    assert not GUARD.admits("/", RIGHT, {"host": host}, socket=False)


@pytest.mark.parametrize("path", ["/", "/page.js", "/socket"])
@pytest.mark.parametrize(
    "origin",
    ["null", "http://evil.example", "https://127.0.0.1:8400", "http://127.0.0.1:8401", "http://localhost:8400", ""],
)
def test_a_foreign_origin_is_refused(path, origin):
    assert not GUARD.admits(path, RIGHT, {**HOST, "origin": origin}, socket=path == "/socket")


def test_a_socket_must_say_its_origin():
    assert GUARD.admits("/socket", RIGHT, ORIGIN, socket=True)
    assert not GUARD.admits("/socket", RIGHT, HOST, socket=True)


@pytest.mark.parametrize("site", ["cross-site", "same-site", "nonsense"])
def test_another_site_cannot_load_script_or_socket_but_may_link_to_the_page(site):
    headers = {**ORIGIN, "sec-fetch-site": site}
    assert not GUARD.admits("/page.js", RIGHT, headers, socket=False)
    assert not GUARD.admits("/socket", RIGHT, headers, socket=True)
    assert GUARD.admits("/", RIGHT, {**HOST, "sec-fetch-site": site}, socket=False)


def test_the_policy_allows_own_files_and_socket_and_nothing_else():
    policy = dict(part.split(" ", 1) for part in GUARD.headers()["Content-Security-Policy"].split("; "))
    assert policy == {
        "default-src": "'none'",
        "script-src": "'self'",
        "style-src": "'self'",
        "img-src": "'self' data: blob:",
        "connect-src": "'self' ws://127.0.0.1:8400 ws://localhost:8400",
        "base-uri": "'none'",
        "form-action": "'none'",
        "frame-ancestors": "'none'",
    }
