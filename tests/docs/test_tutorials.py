"""What runs the tutorials finds a line that is not printed; the commands themselves are run by `make tutorials`."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

TUTORIALS = Path(__file__).resolve().parents[2] / "docs" / "tutorials"
PRINTED = "1 of 2 fails.\n\ngarment   verdict\nguernsey  grave\nwaistcoat  slight\nwrote it\n"


@pytest.fixture(scope="module")
def runner() -> ModuleType:
    spec = importlib.util.spec_from_file_location("run_tutorials", TUTORIALS / "run.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize(
    ("shown", "lost"),
    [
        (["1 of 2 fails.", "garment verdict", "…", "wrote it"], []),
        (["…", "guernsey   grave"], []),
        (["1 of 2 fails.", "…"], []),
        (["1 of 2 fails.", "wrote it"], ["wrote it"]),  # nothing says that lines are left out
        (["guernsey grave"], ["guernsey grave"]),
        (["…", "guernsey slight"], ["guernsey slight"]),
        (["…", "waistcoat slight", "…", "guernsey grave"], ["guernsey grave"]),  # the wrong way round
    ],
)
def test_a_line_that_is_not_printed_there_is_found(runner: ModuleType, shown: list[str], lost: list[str]) -> None:
    assert runner.missing(shown, PRINTED) == lost


@pytest.mark.parametrize("path", sorted(TUTORIALS.glob("*.md")), ids=lambda path: path.stem)
def test_a_tutorial_has_commands_and_shows_what_each_prints(runner: ModuleType, path: Path) -> None:
    found = list(runner.commands(path.read_text(encoding="utf-8")))
    assert len(found) >= 3
    for command, shown in found:
        assert command.startswith("dressform ")
        assert [line for line in shown if line not in ("", "…")], command
