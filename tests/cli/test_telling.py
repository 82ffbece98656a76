"""How much a command says, to whom, and from where it reads: options that stand with every command."""

import io
import json
import re
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from dressform.cli.app import run
from dressform.version import __version__

Run = Callable[..., Any]


def test_quiet_prints_the_first_line_alone(phantom: Path, dressform: Run) -> None:
    whole, quiet = (dressform("measure", phantom / "phantom.obj", *more) for more in ((), ("--quiet",)))
    assert quiet.code == whole.code == 0
    assert quiet.out == whole.out.splitlines(keepends=True)[0]
    assert re.fullmatch(r"\S+ at base: \d+ of \d+ measures taken\.\n", quiet.out)


def test_tab_separated_table_has_as_many_cells_in_each_line_as_headings(phantom: Path, dressform: Run) -> None:
    lines = dressform("measure", phantom / "phantom.obj", "--tsv").out.splitlines()
    assert lines[0].split("\t")[:2] == ["measure", "cm"]
    assert {line.count("\t") for line in lines} == {lines[0].count("\t")}
    assert len(lines) > 10


def test_hyphen_writes_the_file_to_standard_output_and_the_words_to_stderr(phantom: Path, dressform: Run) -> None:
    ended = dressform("measure", phantom / "phantom.obj", "--json", "-")
    assert json.loads(ended.out)["schema"] == "dressform-measures/1"
    assert "measures taken" in ended.err
    assert not Path("-").exists()


def test_hyphen_reads_the_body_from_standard_input(
    phantom: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    by_name = dressform("measure", phantom / "phantom.obj", "--units", "m", "--up", "y").out
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO((phantom / "phantom.obj").read_bytes())))
    piped = dressform("measure", "-", "--units", "m", "--up", "y").out
    assert piped.replace("stdin", "phantom").splitlines()[-10:] == by_name.splitlines()[-10:]


def test_standard_input_that_is_empty_or_asked_for_twice_is_refused(
    dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO()))
    assert "-: holds nothing" in dressform("measure", "-").line


def test_width_of_what_goes_to_a_pipe_follows_the_columns_asked_for(
    phantom: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "50")
    table = dressform("measure", phantom / "phantom.obj").out.partition("phantom at base\n")[2]
    assert max(map(len, table.splitlines())) <= 50


def test_short_option_tells_the_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["-V"]) == 0
    assert capsys.readouterr().out.strip() == __version__


def test_project_file_gives_options_and_the_command_line_wins(
    phantom: Path, dressform: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "dressform.toml").write_text('quiet = true\n[measure]\njson = "taken.json"\n', encoding="utf-8")
    assert len(dressform("measure", phantom / "phantom.obj").out.splitlines()) == 1
    assert (tmp_path / "taken.json").is_file()
    assert dressform("measure", phantom / "phantom.obj", "--json", "other.json").code == 0
    assert (tmp_path / "other.json").is_file()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("[mesure]\nweights = 'a=1'\n", "dressform.toml: mesure: is no command, and no option of all commands"),
        ("[measure\n", "dressform.toml: is not TOML"),
        ("[measure]\nwieghts = 'a=1'\n", "wieghts"),
    ],
)
def test_project_file_that_cannot_be_meant_is_refused_by_name(
    text: str, told: str, phantom: Path, dressform: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "dressform.toml").write_text(text, encoding="utf-8")
    ended = dressform("measure", phantom / "phantom.obj")
    assert ended.code == 2
    assert told in ended.line
    assert "dressform.toml" in ended.line


@pytest.mark.parametrize("words", [("-V",), ("--version",), ("--help",), ("check", "--help"), ("check", "-h")])
def test_a_broken_project_file_does_not_stop_who_only_asks_what_the_program_is(
    words: tuple[str, ...], dressform: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "dressform.toml").write_text("[measure\n", encoding="utf-8")
    ended = dressform(*words)
    assert ended.code == 0, ended.err
    assert ended.out
