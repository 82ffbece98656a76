"""What holds for every command: help, version, endings, one line per error."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from dressform import __version__
from dressform.cli.app import COMMANDS, EXAMPLES, OUTCOMES, SUBCOMMANDS

Run = Callable[..., Any]


def test_the_help_names_every_command_and_what_exit_codes_mean(dressform: Run) -> None:
    ended = dressform("--help")
    assert ended.code == 0
    for command in COMMANDS:
        assert f"\n  {command}\n" in ended.out
    assert "Exit codes: 0 clean or done" in ended.out
    assert "\x1b" not in ended.out


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_examples_that_call_it(command: str, dressform: Run) -> None:
    ended = dressform(command, "--help")
    assert ended.code == 0
    assert COMMANDS[command].split(",")[0] in " ".join(ended.out.split())
    assert EXAMPLES[command]
    for example in EXAMPLES[command]:
        assert example.startswith(f"dressform {command}")
        assert example in " ".join(ended.out.split())  # a long one is wrapped


def test_the_version_is_that_of_the_package(dressform: Run) -> None:
    assert dressform("--version").out.strip() == __version__


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["knit"], "knit"),
        (["check", "--colour", "red"], "colour"),
        (["fit", "tube.obj", "-o", "out.glb"], "body"),
        (["measure"], "BODY"),
        (["prove", "a.glb", "b.glb", "--body", "phantom.obj"], "prove: takes fewer names, got 'b.glb' too."),
        (["check", "tube.obj", "--body", "phantom.obj", "--shapes", "many"], "many"),
    ],
)
def test_wrong_words_end_with_two_and_one_line_that_names_them(words: list[str], said: str, dressform: Run) -> None:
    ended = dressform(*words)
    assert ended.code == 2
    assert ended.line.startswith("dressform: ")
    assert said in ended.line
    assert ended.out == ""


def test_the_installed_program_starts_without_loading_numerics(tmp_path: Path) -> None:
    probe = "import sys, dressform.cli; print(sorted({'numpy', 'scipy', 'numba', 'igl'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=True, cwd=tmp_path)
    assert done.stdout.strip() == "[]"


def test_the_installed_program_runs(phantom: Path, tmp_path: Path) -> None:
    words = [sys.executable, "-m", "dressform", "fit", "--body", str(phantom / "phantom.obj")]
    words += [str(phantom / "tube.obj"), "-o", str(tmp_path / "out.glb")]
    done = subprocess.run(words, capture_output=True, text=True, check=False, cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert (tmp_path / "out.glb").read_bytes()[:4] == b"glTF"


@pytest.mark.parametrize("command", OUTCOMES)
def test_help_loads_no_numerics(command: str) -> None:
    code = (
        f"import sys; from dressform.cli.app import run; run({[*command.split(), '--help']!r})\n"
        "heavy = ('numpy', 'jaxtyping', 'scipy', 'numba', 'igl', 'multiprocessing', 'msgspec')\n"
        "print([name for name in heavy if name in sys.modules])"
    )
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ended.stdout.splitlines()[-1] == "[]"


def test_every_command_says_what_its_own_exit_codes_mean(dressform: Run) -> None:
    members = [f"{family} {one}" for family, known in SUBCOMMANDS.items() for one in known]
    assert set(OUTCOMES) == {*COMMANDS, *members}
    for command, words in OUTCOMES.items():
        said = " ".join(dressform(*command.split(), "--help").out.split())
        assert f"Exit codes: {words}; 2 bad input, 70 a fault of the program itself, 130 interrupted" in said
        assert ("1 " in words) == (command in RETURNS_ONE)


@pytest.mark.parametrize("command", ["audit", "measure"])
def test_a_command_without_garments_offers_no_options_about_garments(command: str, dressform: Run) -> None:
    shown = dressform(command, "--help").out
    assert "--front" in shown
    assert "--garment" not in shown


RETURNS_ONE = {
    "check", "compare", "fit", "outfit", "prove", "audit", "infer-shape", "suggest-following", "case", "case import",
    "case replay", "triage",
}  # fmt: skip
"""Commands that end with 1 where something is wrong; each has a test of its own that does."""
