"""Run the commands of the tutorials and hold what they print to what stands there.

Run: python docs/tutorials/run.py [--folder SALTMARSH] [NAME…]

Without a folder that holds the demo's bodies and garments one is made, which takes a while. What a tutorial shows of a
command must be printed by it, line by line in this order; where `…` stands between two lines anything may come. Exits
with 1 where a line is missing.
"""

import argparse
import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.demo.write import write_demo

HERE = Path(__file__).resolve().parent
CONSOLE = re.compile(r"^```console\n(.*?)^```", re.DOTALL | re.MULTILINE)
GARMENTS = ("guernsey", "guernsey_coarse", "waistcoat")
MADE = ("fitted", "complaints")
"""Folders that are there by then: of `dressform demo`, and of a reader who has done what is said."""
WIDTH = 100
GAP = "…"


def commands(text: str) -> Iterator[tuple[str, list[str]]]:
    """Every command of a tutorial with the lines that stand under it."""
    for block in CONSOLE.findall(text.replace("\\\n", " ")):
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, *lines = part.rstrip("\n").split("\n")
            yield command, lines


def missing(shown: list[str], printed: str) -> list[str]:
    """Lines that were not printed, or not in this order; without `…` between them they must follow each other."""
    real = [" ".join(line.split()) for line in printed.splitlines() if line.strip()]
    at, is_free, lost = 0, False, []
    for line in (" ".join(one.split()) for one in shown if one.strip()):
        if line == GAP:
            is_free = True
            continue
        if line in (real[at:] if is_free else real[at : at + 1]):
            at = real.index(line, at) + 1
        else:
            lost.append(line)
        is_free = False
    return lost


def run(name: str, folder: Path) -> int:
    """Run one tutorial in a folder; how many lines are missing."""
    count = 0
    for made in MADE:
        (folder / made).mkdir(exist_ok=True)
    for command, shown in commands((HERE / f"{name}.md").read_text(encoding="utf-8")):
        words = [sys.executable, "-m", *shlex.split(command)]
        environment = os.environ | {"COLUMNS": str(WIDTH)}
        done = subprocess.run(words, cwd=folder, env=environment, capture_output=True, text=True, check=False)
        lost = missing(shown, done.stdout)
        count += len(lost)
        print(f"{'ok' if not lost else 'NO'}  {command}", flush=True)
        for line in lost:
            print(f"      not printed: {line}")
        if lost:
            print(done.stdout, done.stderr)
    return count


def main() -> None:
    """Run the named tutorials, or all."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", default=sorted(path.stem for path in HERE.glob("*.md")))
    parser.add_argument("--folder", type=Path, help="a folder that `dressform demo` filled")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        if asked.folder is None:
            bodies = make_demo_bodies()
            write_demo(folder, bodies=bodies, wardrobe=make_wardrobe(bodies, names=GARMENTS))
        else:
            shutil.copytree(asked.folder, folder, dirs_exist_ok=True)
        sys.exit(min(1, sum(run(name, folder) for name in asked.names)))


if __name__ == "__main__":
    main()
