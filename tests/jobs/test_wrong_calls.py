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
    "df.load_body(None)": "load_body: `path` must be a path, got None. Name a file.",
    "df.load_body(b'x')": "load_body: `path` must be a path, got a bytes.",
    "df.load_body('x.glb', base=3)": "load_body: `base` must be a text or left out, got 3.",
    "df.load_garment('x.glb', beside=3)": "load_garment: `beside` must be a body or left out, got 3.",
    "df.load_fit('x.glb', body, 3)": "load_fit: `following` must be a Following, got 3.",
    "df.check(fit, others=3)": "check: `others` must be a list, each a body or left out, got 3. Read one with",
    "df.check(fit, under=3)": "check: `under` must be a list, each a text by name or left out, got 3.",
    "df.check(fit, under={'x': ['y']})": "check: `under` must be for the garments tube smooth, got 'x'.",
    "df.check(fit, store=3)": "check: `store` must be a path or an open store or left out, got 3. Name a file.",
    "df.check(fit, wardrobe=3)": "check: `wardrobe` must be a Wardrobe or left out, got 3.",
    "df.check(fit, progress=3)": "check: `progress` must be a function or left out, got 3.",
    "df.check(fit, causes='no')": "check: `causes` must be True or False, got 'no'.",
    "df.repair(fit, repairs=None)": "repair: `repairs` must be a list, each a text, got None.",
    "df.repair(fit, keep_base='yes')": "repair: `keep_base` must be True or False, got 'yes'.",
    "df.repair(fit, obstacle=3)": "repair: `obstacle` must be a LinearMesh or left out, got 3.",
    "df.repair(fit, tree=3)": "repair: `tree` must be a Tree or left out, got 3.",
    "df.save(fit, None)": "save: `path` must be a path, got None.",
    "df.measure(body, find=3)": "measure: `find` must be a number by name or left out, got 3.",
    "df.measure(body, find={'waist': '80'})": "measure: `find` must be a number by name or left out, got a dict.",
    "df.measure(body, find={'waist': -3})": "measure: `find['waist']` must be above 0 cm, got -3.",
    "df.measure(body, find={'zz': 3})": "measure: `find` must be measures by name: stature, ",
    "df.audit(body, pairs=1.5)": "audit: `pairs` must be a whole number, got 1.5.",
    "df.audit(body, pairs=-1)": "audit: `pairs` must be 0 or more, got -1.",
    "df.outfit(fit)": "outfit: `fits` must be a list, each a fit, got a Fit.",
    "df.save_outfit('ashore', 'x')": "save_outfit: `result` must be what outfit returned, got 'ashore'. Call outfit",
    "df.save_case(fit, 'x.case.json', note=3)": "save_case: `note` must be a text, got 3.",
    "df.replay_case(3)": "replay_case: `path` must be a path, got 3.",
    "df.infer_shape(body, tube, others=[3])": "infer_shape: `others` must be a list, each a body or left out, got [3].",
    "body.weights(None)": "Body.weights: `named` must be ",
    "fit.at({'belly': '1'})": "Fit.at: `weights` must be one number for each of 3 morphs, or numbers by",
    "fit.at({'belly': True})": "Fit.at: `weights` must be one number for each of 3 morphs, or numbers by the name of a",
    "df.Following(parts=None)": "Following: `parts` must be numbers by part, got None.",
    "df.Following(hard='cap')": "Following: `hard` must be a list, each a text, got 'cap'.",
    "df.Following(hard=None)": "Following: `hard` must be a list, each a text, got None.",
    "df.Following(mask=3)": "Following: `mask` must be numbers in an array of shape (G,), got one of shape ().",
    "df.Following(mask=np.zeros((3, 3)))": "Following: `mask` must be numbers in an array of shape (G,), got one of",
    "df.Following(mask=np.array(['a']))": "Following: `mask` must be numbers in an array of shape (G,), got an array o",
    "df.fit(body, tube, df.Following(mask=[0.5, 0.5]))": "fit: `following.mask` must be one number for each of ",
    "df.fit(body, tube, df.Following(mask='PAINT'))": "fit: `following.mask` must be numbers, where the garment has no",
    "df.Range(('a', 'a'), [0, 0], [1, 1])": "Range: `names` must be each another, got 'a' twice.",
    "df.Range('ab', [0, 0], [1, 1])": "Range: `names` must be a list, each a text, got 'ab'.",
    "df.Range(('a',), ['x'], [1])": "Range: `low` must be numbers in an array of shape (K,), got ['x'].",
    "df.Garment.of('x', np.zeros((3, 2)), np.array([[0, 1, 2]]))": "Garment: `vertices` must be numbers in an array of",
    "df.Garment.of('x', np.eye(3), np.array([[0, 1, 2, 0]]))": "Garment: `faces` must be whole numbers in an array of",
    "df.Garment.of('x', np.eye(3), np.array([[0, 1, 2.5]]))": "Garment: `faces` must be whole numbers in an array of",
    "df.Garment.of(3, np.eye(3), np.array([[0, 1, 2]]))": "Garment: `name` must be a text, got 3.",
    "df.Body('b', body.vertices[:, :2], *like)": "Body: `vertices` must be numbers in an array of shape (B, 3), got on",
    "df.Body('b', body.vertices, body.faces[:0], *like[1:])": "Body: `faces` must be one triangle or more, got none.",
    "df.Fit(3, tube, df.Following(), fit.base, fit.deltas)": "Fit: `body` must be a body, got 3.",
    "fit.at('belly')": "Fit.at: `weights` must be one number for each of 3 morphs, or numbers by the name of a morph,",
    "fit.at({'belly': 'much'})": "Fit.at: `weights` must be one number for each of 3 morphs, or numbers by the name",
}


def test_every_wrong_call_names_what_was_typed() -> None:
    script = (
        "import dressform as df\nfrom dressform.errors import ArgumentError\n"
        "from phantoms import phantom_body, phantom_tube\n"
        "import numpy as np\nbody, tube = phantom_body(), phantom_tube()\nfit = df.fit(body, tube)\n"
        "like = (body.faces, body.morph_names, body.deltas, body.range)\n"
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


TAKEN = (
    "df.Garment.of('x', [[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[0, 1, 2]]).vertices.shape == (3, 3)",
    "df.Body('b', body.vertices.tolist(), *like).vertices.dtype == np.float64",
    "df.Following(hard=['cap'], mask=[0.5, 1]).hard == ('cap',)",
    "df.prove(df.repair(fit, repairs=(), shapes=0)).complete == df.prove(fit).complete",
)


def test_lists_are_taken_for_arrays_and_what_repair_returned_for_a_fit() -> None:
    script = (
        "import dressform as df, numpy as np\nfrom phantoms import phantom_body, phantom_tube\n"
        "body, tube = phantom_body(), phantom_tube()\nfit = df.fit(body, tube)\n"
        "like = (body.faces, body.morph_names, body.deltas, body.range)\n"
        f"for call in {list(TAKEN)!r}:\n    print(eval(call))\n"
    )
    ended = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=TESTS, check=False)
    assert ended.stdout.split() == ["True"] * len(TAKEN), ended.stderr


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
