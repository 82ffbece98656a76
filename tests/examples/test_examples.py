"""Every example runs as it stands, on the files of the demo."""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.demo.write import write_demo

WORN = ("guernsey", "guernsey_coarse", "guernsey_larger")
MORPHS = ("girth", "chest", "belly", "hips")
"""Of the woman's twelve, those that garments are carried through here: a third of the work."""
WHOLE = "whole"
EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def with_few_morphs(body: Body) -> Body:
    kept = [body.morph_names.index(name) for name in MORPHS]
    intervals = Range(MORPHS, body.range.low[kept], body.range.high[kept])
    return replace(body, morph_names=MORPHS, deltas=body.deltas[kept], range=intervals)


@pytest.fixture(scope="module")
def saltmarsh(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The woman with few morphs and three garments of the demo as files; the whole woman in a folder of its own."""
    folder = tmp_path_factory.mktemp("saltmarsh")
    bodies = make_demo_bodies()
    wardrobe = make_wardrobe(bodies, names=WORN)
    write_demo(folder, bodies={"woman": with_few_morphs(bodies["woman"])}, wardrobe=wardrobe)
    write_demo(folder / WHOLE, bodies=bodies, wardrobe=wardrobe)
    return folder


def run(script: str, *words: object, folder: Path) -> str:
    ended = subprocess.run(
        [sys.executable, str(EXAMPLES / script), *map(str, words)],
        cwd=folder,
        env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    return ended.stdout


def test_the_script_repairs_the_coarse_guernsey_and_ships_it(saltmarsh: Path) -> None:
    said = run("fit_and_ship.py", ".", 0, folder=saltmarsh)
    assert "<Fit of 'guernsey_coarse' on 'woman'" in said
    assert "too few vertices where the body bends" in said
    assert "near pairs certified" in said
    assert (saltmarsh / "guernsey-fitted.glb").stat().st_size > 100_000
    assert (saltmarsh / "guernsey.html").is_file()


def test_the_look_before_fitting_finds_the_guernsey_that_was_made_on_a_larger_body(saltmarsh: Path) -> None:
    said = run("before_fitting.py", WHOLE, folder=saltmarsh)
    assert "Morphs, the worst first" in said
    assert "woman at belly=1 hips=0.5" in said
    assert "woman, nearest reachable shape" in said
    assert "guernsey_larger: modelled on another body shape." in said


def test_the_notebook_shows_that_the_smooth_method_puckers_least(saltmarsh: Path) -> None:
    said = run("methods_compared.py", folder=saltmarsh)
    told = [line for line in said.splitlines() if ": pucker up to " in line]
    pucker = {line.split(":")[0]: float(line.rsplit(" ", 1)[1]) for line in told}
    assert set(pucker) == {"nearest", "nearest-three", "surface", "smooth"}
    assert min(pucker, key=pucker.__getitem__) == "smooth"


def test_methods_that_are_not_ours_are_judged_beside_each_other(saltmarsh: Path) -> None:
    said = run("methods_judged.py", 0, folder=saltmarsh)
    assert "Measured as its file has it follow: 4 of 4 morphs by their own targets." in said
    assert "harbour.py:slack, asked at" in said
    assert "known at 4 shapes>" in said
    pucker = {line.split(":")[0]: float(line.rsplit(" ", 1)[1]) for line in said.splitlines() if "pucker up to" in line}
    assert pucker["file"] > 0.01
    assert pucker["baked"] > pucker["file"]


def test_every_example_has_a_test() -> None:
    tested = Path(__file__).read_text(encoding="utf-8")
    assert all(f'run("{example.name}"' in tested for example in EXAMPLES.glob("*.py"))
