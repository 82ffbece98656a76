"""`docs/commands.md` and `docs/results.md` quote the live program."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

from dressform.cli.app import COMMANDS

DOCS = Path(__file__).resolve().parents[2] / "docs"


@pytest.fixture(scope="module")
def regenerate() -> ModuleType:
    spec = importlib.util.spec_from_file_location("regenerate", DOCS / "regenerate.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("name", ["commands.md", "results.md", "audit.md", "api.md", "stances.md"])
def test_what_a_document_quotes_is_what_the_program_says(name: str, regenerate: ModuleType) -> None:
    text = (DOCS / name).read_text(encoding="utf-8")
    fresh = regenerate.rewritten(text, regenerate.documents()[DOCS / name])
    assert text == fresh, f"docs/{name} is out of date: run python docs/regenerate.py"


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_its_section_with_prose(command: str) -> None:
    text = (DOCS / "commands.md").read_text(encoding="utf-8")
    section = text.split(f"\n## {command}\n", 1)[1].split("<!--", 1)[0]
    assert len(section.split()) > 20


def test_a_document_without_marks_is_refused(regenerate: ModuleType) -> None:
    with pytest.raises(SystemExit, match="no marks <!-- demo -->"):
        regenerate.rewritten("nothing here", {"demo": "text"})


def test_manual_page_is_that_of_the_live_help_and_takes_no_word_for_a_macro(regenerate: ModuleType) -> None:
    text = (DOCS / "dressform.1").read_text(encoding="utf-8")
    assert text == regenerate.files()[DOCS / "dressform.1"], "run python docs/regenerate.py"
    macros = {line.split()[0] for line in text.splitlines() if line.startswith(".")}
    assert macros == {".TH", ".SH", ".TP", ".B", ".nf", ".fi"}
    assert all(f'.SH "{name.upper()}"'.replace("-", "\\-") in text for name in COMMANDS)
