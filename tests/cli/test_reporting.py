"""`dressform check --report` writes the file that can be mailed, and its pictures beside it."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from dressform.report.html import pictures as html_pictures

Run = Callable[..., Any]


@pytest.fixture
def small_pictures(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(html_pictures, "VIEW_WIDTH", 60)
    monkeypatch.setattr(html_pictures, "CLUSTER_SIZE", (48, 48))


@pytest.mark.usefixtures("small_pictures")
def test_a_check_writes_its_report(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    path = tmp_path / "to the maker.html"
    words = ("--body", phantom / "phantom.obj", "--shapes", "0", "--workers", "1", "--no-causes", "--report", path)
    ended = dressform("check", phantom / "tube.obj", *words)
    assert ended.code == 0, ended.err
    assert f"wrote {path}" in "".join(ended.out.split("\n"))
    html = path.read_text(encoding="utf-8")
    for said in ("tube", "clean at all", "phantom.obj", "asks no network"):
        assert said in html
    assert str(phantom) not in html
    assert str(tmp_path) not in html
    pictures = {picture.name for picture in (tmp_path / "to the maker-pictures").glob("*.png")}
    assert 'href="to%20the%20maker-pictures/glossary.html"' in html
    assert pictures == {f"01-tube-{view}.png" for view in ("front", "side", "back", "worst")}


def test_a_report_that_cannot_be_written_is_told_before_the_work(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    folder = tmp_path / "report.html"
    folder.mkdir()
    ended = dressform("check", phantom / "tube.obj", "--body", phantom / "phantom.obj", "--report", folder)
    assert ended.code == 2
    assert "cannot be written (is a folder)" in ended.line
