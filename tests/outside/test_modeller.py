"""A fitted garment comes through a general modelling tool as it was: opened and exported again by its Python module.

Not run by default: the module has 370 MB and wants a Python of its own. `docs/files.md` says how to run it.
"""

import os
import subprocess
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree

from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.formats.gltf.document import read_document
from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.load import load_body, load_garment
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.jobs.save import save
from usd_files import usd_body, usd_garment

pytestmark = [pytest.mark.modeller]

PROGRAM = "DRESSFORM_MODELLER"
"""Environment variable: the interpreter that has the module."""
SCRIPT = Path(__file__).parents[1] / "modeller/round_trip.py"
SAME_PLACE = 1e-5
"""Metres."""


@pytest.fixture(scope="module")
def fitted(tmp_path_factory: pytest.TempPathFactory) -> tuple[Fit, Path]:
    """A fit, and the folder that its files go into."""
    if PROGRAM not in os.environ:
        pytest.skip(f"needs an interpreter with bpy: set {PROGRAM}")
    folder = tmp_path_factory.mktemp("modeller")
    body = load_body(usd_body(folder / "phantom.usda")).body
    garment = load_garment(usd_garment(folder / "tube.usda"), beside=body).garment
    return make_fit(body, garment, DEFAULT_FOLLOWING), folder


@pytest.mark.parametrize("ending", [".glb", ".usdc"])
def test_morphs_joint_weights_and_places_survive_the_way_through_it(ending: str, fitted: tuple[Fit, Path]) -> None:
    fit, folder = fitted
    save(fit, folder / f"fitted{ending}")
    through = folder / f"through{ending[1:]}.glb"
    words = [os.environ[PROGRAM], str(SCRIPT), str(folder / f"fitted{ending}"), str(through)]
    ended = subprocess.run(words, capture_output=True, text=True, timeout=200)
    assert through.is_file(), ended.stdout + ended.stderr
    back = load_fit(through, fit.body)
    away, same = cKDTree(fit.base).query(back.base)
    assert away.max() < SAME_PLACE
    assert set(same) == set(range(len(fit.base)))
    np.testing.assert_allclose(back.deltas, fit.deltas[:, same], atol=SAME_PLACE)
    assert fit.skin is not None
    assert back.skin is not None
    np.testing.assert_allclose(back.skin.dense(2), fit.skin.dense(2)[same], atol=1e-3)
    names = read_document(through).json["meshes"][0]["extras"]["targetNames"]
    assert names == list(fit.morph_names)
