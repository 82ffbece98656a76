"""Every command line that a document shows is one that the program takes."""

import re
import shlex
from pathlib import Path

import pytest

from dressform.cli.app import COMMANDS, EXAMPLES, SUBCOMMANDS, app

ROOT = Path(__file__).resolve().parents[2]
DOCUMENTS = sorted(path for path in [*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md"), *ROOT.glob("runtime/*.md")])
FENCE = re.compile(r"^```\w*\n(.*?)^```", re.DOTALL | re.MULTILINE)
COMMAND = re.compile(r"^(?:\$ )?(dressform (?:\\\n|.)*)", re.MULTILINE)
TELLING = {"--quiet", "-q", "--verbose", "-v", "--tsv", "--progress", "--no-progress", "--help", "--version", "-V"}
HELP = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")


def shown(document: Path) -> list[str]:
    """Whole command lines: those in fences, lines that go on joined."""
    text = document.read_text(encoding="utf-8")
    blocks = [block for block in FENCE.findall(text) if not block.startswith("Usage:")]
    return [line.replace("\\\n", " ") for block in blocks for line in COMMAND.findall(block)]


def named(document: Path) -> list[str]:
    """Commands named within a sentence, where words may stand for what a reader puts in."""
    text = FENCE.sub("", document.read_text(encoding="utf-8"))
    return [" ".join(one.split()) for one in re.findall(r"`(dressform [^`]+)`", text)]


def help_of(words: list[str]) -> str:
    """The help of the command that words begin with; docs/commands.md is held to the live program by a test."""
    name = " ".join(words[: 2 if words[0] in SUBCOMMANDS and len(words) > 1 else 1])
    found = re.search(rf"<!-- {re.escape(name)} -->\n(.*?)<!-- end", HELP, re.DOTALL)
    return found[1] if found else ""


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_command_line_of_a_document_is_taken_by_the_program(document: Path) -> None:
    for line in shown(document):
        words = [word for word in shlex.split(line.split(" | ")[0], comments=True)[1:] if word not in TELLING]
        app.parse_args(words, exit_on_error=False, print_error=False)


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_command_named_in_a_sentence_exists_with_its_options(document: Path) -> None:
    for line in named(document):
        words = line.split()[1:]
        options = [word for word in words if word.startswith("-") and word not in TELLING and word != "-"]
        if words[0].startswith("-"):
            assert words[0] in HELP, line
            continue
        assert words[0] in COMMANDS, line
        known = set(re.findall(r"-{1,2}[a-z][\w-]*", help_of(words)))
        assert {one.rstrip("…") for one in options} <= known, line


def test_the_examples_of_the_help_are_taken_by_the_program() -> None:
    for line in (line for lines in EXAMPLES.values() for line in lines):
        app.parse_args(shlex.split(line)[1:], exit_on_error=False, print_error=False)


def test_a_line_that_the_program_does_not_take_is_found(tmp_path: Path) -> None:
    document = tmp_path / "wrong.md"
    document.write_text("```\n$ dressform check --body b.glb a.glb --no-such-option 3\n```\n", encoding="utf-8")
    with pytest.raises(Exception, match="no-such-option"):
        test_a_command_line_of_a_document_is_taken_by_the_program(document)
    document.write_text("Say `dressform check --no-such-option`.\n", encoding="utf-8")
    with pytest.raises(AssertionError, match="no-such-option"):
        test_a_command_named_in_a_sentence_exists_with_its_options(document)
