"""The page's address, and with it the token, is told to the browser and to nobody else."""

import stat
import time
from pathlib import Path
from urllib.parse import unquote, urlparse

import pytest

from dressform.cli import opening

ADDRESS = "http://127.0.0.1:8400/?token=secret-token"


def test_browser_is_started_without_the_token_among_its_arguments(monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[str] = []
    monkeypatch.setattr(opening.webbrowser, "open", opened.append)
    opening.open_privately(ADDRESS)
    end = time.monotonic() + 30
    while not opened and time.monotonic() < end:
        time.sleep(0.01)
    (what,) = opened
    assert "secret" not in what
    path = Path(unquote(urlparse(what).path))
    assert ADDRESS in path.read_text(encoding="utf-8")


def test_only_the_user_can_read_the_file_that_leads_to_the_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    path = opening.leading_file(ADDRESS)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
