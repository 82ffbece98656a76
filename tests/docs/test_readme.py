"""What the README prints is what the program prints, figure by figure."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.demo.write import write_demo

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
GARMENT = "guernsey_coarse"


def plain(text: str) -> str:
    """The words and figures, without how the lines are broken and aligned."""
    return " ".join(text.split())


def shown(start: str) -> tuple[list[str], str]:
    """The words of a command that the README shows, and what stands under it."""
    blocks = re.findall(r"^```\w*\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)
    block = next(one for one in blocks if one.startswith(f"$ {start}"))
    command, printed = block.split("\n", 1)
    return command.split()[2:], printed


@pytest.fixture(scope="module")
def saltmarsh(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's bodies and the one garment that the README is about."""
    folder = tmp_path_factory.mktemp("saltmarsh")
    bodies = make_demo_bodies()
    write_demo(folder, bodies=bodies, wardrobe=make_wardrobe(bodies, names=(GARMENT,)))
    return folder


@pytest.mark.parametrize("start", ["dressform fit", "dressform check"])
def test_a_command_of_the_readme_prints_what_stands_under_it(start: str, saltmarsh: Path) -> None:
    words, printed = shown(start)
    call = [sys.executable, "-m", "dressform", *words]
    done = subprocess.run(call, cwd=saltmarsh, capture_output=True, text=True, check=False)
    out = plain(done.stdout)
    lines = re.split(r"\n(?=\S| \S)", printed.strip("\n"))
    assert len(plain(printed)) > 200
    missing = [line for line in map(plain, lines) if line not in out]
    assert not missing, f"{missing}\n{done.stdout}\n{done.stderr}"


def test_the_python_of_the_readme_prints_what_stands_under_it(tmp_path: Path) -> None:
    block = re.search(r"```python\n(.*?)```\n+[^`]*```\n(.*?)```", README, re.DOTALL)
    assert block, "the README shows no Python with what it prints"
    done = subprocess.run([sys.executable, "-c", block[1]], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert plain(block[2]) in plain(done.stdout), done.stdout + done.stderr
