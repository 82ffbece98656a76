"""`dressform show` opens a page, says where, and ends cleanly."""

import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest

from dressform.errors import ArgumentError
from dressform.web.guard import LOOPBACK
from dressform.web.server import open_port

PATIENCE = 60
ADDRESS = re.compile(r"http://127\.0\.0\.1:(\d+)/\?token=([\w-]{43})")


@contextmanager
def shown(*words: object) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The program at work, and the address that it prints."""
    command = [sys.executable, "-m", "dressform", "show", *map(str, words), "--no-browser", "--no-check"]
    running = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        assert running.stdout is not None
        line = next((line for line in running.stdout if ADDRESS.match(line)), "")
        assert line, running.stderr.read() if running.stderr else ""
        assert "Ctrl-C ends it" in next(running.stdout)
        yield running, line.strip()
    finally:
        running.kill()
        running.communicate(timeout=PATIENCE)


def test_the_page_opens_at_the_printed_address_and_ctrl_c_ends_it_cleanly(phantom: Path) -> None:
    with shown("--body", phantom / "phantom.obj", phantom / "tube.obj") as (running, address):
        with urllib.request.urlopen(address, timeout=PATIENCE) as page:
            assert page.status == 200
            assert b"page.js" in page.read()
        with pytest.raises(urllib.error.HTTPError, match="403"):
            urllib.request.urlopen(address[:-1], timeout=PATIENCE)
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=PATIENCE)
        assert running.returncode == 0
        assert err == ""
        assert out in {"", "note: tube: It is open along 80 edges.\n"}  # unless it was read with the line before


def test_a_port_that_is_taken_is_refused(phantom: Path, dressform: Callable[..., Any]) -> None:
    with socket.socket() as taken:
        taken.bind((LOOPBACK, 0))
        taken.listen()
        port = taken.getsockname()[1]
        ended = dressform("show", "--body", phantom / "phantom.obj", phantom / "tube.obj", "--port", port)
    assert ended.code == 2
    assert f"`--port` must be a free port, got {port}" in ended.line


@pytest.mark.parametrize(
    ("words", "problem"),
    [
        (["--method", "magic"], "`--method` must be one of nearest"),
        (["--off", "hood"], "`--strength` must be parts of the garments: tube, got 'hood'"),
        (["--port", "70000"], "`--port` must be a free port, got 70000"),
        (["--base", "woman"], "`--base` must be left out"),
        (["--mask", "COLOR_7.q"], "COLOR_7.q"),
    ],
)
def test_what_cannot_be_shown_is_refused_before_a_page_is_opened(
    phantom: Path, dressform: Callable[..., Any], words: list[str], problem: str
) -> None:
    ended = dressform("show", "--body", phantom / "phantom.obj", phantom / "tube.obj", "--no-browser", *words)
    assert ended.code == 2
    assert problem in ended.line


def test_settings_that_do_not_fit_the_garment_are_refused(
    phantom: Path, dressform: Callable[..., Any], tmp_path: Path
) -> None:
    settings = tmp_path / "follow.toml"
    settings.write_text('format = "dressform-following/1"\n\n[garment.tube]\nstrength = 2\n', encoding="utf-8")
    ended = dressform("show", "--body", phantom / "phantom.obj", phantom / "tube.obj", "--settings", settings)
    assert ended.code == 2
    assert "garment.tube" in ended.line


def test_a_port_that_another_page_was_given_is_no_free_port() -> None:
    with closing(open_port(0)) as first, pytest.raises(ArgumentError, match="a free port"):
        open_port(first.getsockname()[1])
