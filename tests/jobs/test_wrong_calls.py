"""A wrong call is answered in the words of the call: the job's own name, the argument that was typed, what to do.

The calls are made in a process of their own, where no type checker of the tests stands before the jobs.
"""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import dressform as df
from dressform.errors import ArgumentError
from phantoms import phantom_body, phantom_tube

TESTS = Path(__file__).resolve().parents[1]

CALLS = {
    "df.check(fit, shapes='a')": "check: `shapes` must be a whole number or a ShapeSettings, got 'a'. Give",
    "df.check(fit, shapes=-1)": "check: `shapes` must be 0 to 100,000, got -1. Give for instance 64.",
    "df.check(fit, shapes=True)": "check: `shapes` must be a whole number or a ShapeSettings, got",
    "df.repair(fit, shapes=2.5)": "repair: `shapes` must be a whole number or a ShapeSettings, got",
    "df.check(fit, workers='two')": "check: `workers` must be 1 or more, got 'two'. Name a number of processes.",
    "df.check(fit, bands={})": "check: `bands` must be made by Bands, got a dict.",
    "df.check([])": "check: `fits` must be one fit or more, got none. Make one with fit.",
    "df.check(None)": "check: `fits` must be a fit, got None. Make one with fit",
    "df.check('tube.glb')": "check: `fits` must be a fit, got 't'",
    "df.check(df.repair(fit, repairs=()))": "check: `fits` must be a fit, got a Repaired. Make one with fit; of what",
    "df.report(None, 'x.html')": "report: `result` must be what check returned, got None. Call check first.",
    "df.explain(fit)": "explain: `result` must be what check returned, got a Fit. Call check first.",
    "df.prove(None)": "prove: `fit` must be a fit, got None.",
    "df.prove(fit, margin_mm='2')": (
        "prove: `margin_mm` must be 0 or more mm and less than the 320 mm that the body is deep, got '2'."
    ),
    "df.save(fit.garment, 'x.glb')": "save: `fit` must be a fit, got a Garment.",
    "df.fit('keeper.glb', tube)": "fit: `body` must be a body, got 'keeper.glb'. Read one with load_body.",
    "df.fit(body, 'tube.glb')": "fit: `garment` must be a garment, got 'tube.glb'. Read one with load_garment.",
    "df.fit(body, tube, 2)": "fit: `following` must be a Following, got 2.",
    "df.fit(body, tube, df.Following(hard=('cap',)))": "fit: `following.hard` must be parts of 'tube': tube, got",
    "df.fit(body, tube, df.Following(parts={'cap': 1}))": "fit: `following.parts` must be parts of 'tube': tube, got",
    "df.repair(fit, repairs=('iron',))": "repair: `repairs` must be some of refine, ",
    "df.Following(margin_mm='2')": "Following: `margin_mm` must be above 0 and at most 100 mm, got '2'.",
    "fit.at('belly')": "Fit.at: `weights` must be one number for each of 3 morphs, or numbers by the name of a morph,",
    "fit.at({'belly': 'much'})": "Fit.at: `weights` must be one number for each of 3 morphs, or numbers by the name",
}


def test_every_wrong_call_names_what_was_typed() -> None:
    script = (
        "import dressform as df\nfrom dressform.errors import ArgumentError\n"
        "from phantoms import phantom_body, phantom_tube\n"
        "body, tube = phantom_body(), phantom_tube()\nfit = df.fit(body, tube)\n"
        f"for call in {list(CALLS)!r}:\n"
        "    try:\n        eval(call)\n        print('accepted')\n"
        "    except ArgumentError as error:\n        print(error)\n"
    )
    ended = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=TESTS, check=False)
    assert ended.returncode == 0, ended.stderr
    said = ended.stdout.splitlines()
    assert len(said) == len(CALLS)
    for (call, words), line in zip(CALLS.items(), said):
        assert line.startswith(words), (call, line)


def test_weights_are_taken_by_name_or_in_order() -> None:
    fit = df.fit(phantom_body(), phantom_tube())
    names = fit.morph_names
    vector = np.zeros(len(names))
    vector[names.index("belly")] = 0.5
    assert np.array_equal(fit.at({"belly": 0.5}), fit.at(vector))
    assert np.array_equal(fit.body.at({"belly": 0.5}), fit.body.at(vector))
    with pytest.raises(
        ArgumentError, match=f"Fit.at: `weights` must be names of morphs: {', '.join(names)}, got 'bely'"
    ):
        fit.at({"bely": 0.5})


def test_weights_far_outside_the_range_are_refused_wherever_they_are_typed() -> None:
    fit = df.fit(phantom_body(), phantom_tube())
    for ask, function in ((fit.at, "Fit.at"), (fit.body.at, "Body.at"), (fit.body.weights, "Body.weights")):
        with pytest.raises(ArgumentError, match=rf"{function}: `\w+` must be between -10 and 11 for belly, .*, got 99"):
            ask({"belly": 99})
    with pytest.raises(ArgumentError, match=r"Fit\.at: `weights` must be between -10 and 11"):
        fit.at(np.full(3, 99.0))


UNGUARDED = """
import dressform as df
from dressform.body.shapes import ShapeSettings
from phantoms import phantom_body, phantom_tube
df.check(df.fit(phantom_body(), phantom_tube()), shapes=ShapeSettings(sobol=8), workers=2, causes=False)
"""


def test_a_script_without_a_guard_is_told_so(tmp_path: Path) -> None:
    script = tmp_path / "unguarded.py"
    script.write_text(f"import sys; sys.path.insert(0, {str(TESTS)!r})\n{UNGUARDED}")
    ended = subprocess.run([sys.executable, script], capture_output=True, text=True, check=False, timeout=300)
    assert ended.returncode == 1
    last = ended.stderr.strip().splitlines()[-1]
    assert "a process ended before it began, exit code 1. Every process imports the script" in last
    assert 'put what the script does under `if __name__ == "__main__":`, or use one worker' in last
    assert "memory" not in last
    assert "bootstrapping" not in ended.stderr
