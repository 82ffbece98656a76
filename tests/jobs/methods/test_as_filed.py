"""The method `file` measures what a garment's file holds, names what is missing, and lifts nothing."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree

import dressform as df
from dressform.body.shapes import ShapeSettings
from dressform.errors import ArgumentError, FileError
from dressform.faults.garment_on_body import GarmentOnBody
from phantoms import phantom_body, phantom_files, phantom_tube

FILED = df.Following(method="file")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The phantom, its tube, and the tube fitted coarsely: three files."""
    folder = tmp_path_factory.mktemp("filed")
    phantom_files(folder)
    body, tube = df.load_body(folder / "phantom.obj"), df.load_garment(folder / "tube.obj")
    df.save(df.fit(body, tube, df.Following(method="nearest")), folder / "fitted.glb")
    return folder


def test_a_file_is_measured_by_its_own_targets(folder: Path) -> None:
    body = df.load_body(folder / "phantom.obj")
    coarse = df.fit(body, df.load_garment(folder / "tube.obj"), df.Following(method="nearest"))
    filed = df.fit(body, df.load_garment(folder / "fitted.glb"), FILED)
    away, same = cKDTree(coarse.base).query(filed.base)
    assert away.max() < 1e-6
    assert np.abs(coarse.deltas[:, same] - filed.deltas).max() < 1e-6
    weights = np.array([1.0, 0.5, 0.0])
    one, other = (GarmentOnBody(fit).measure(weights) for fit in (coarse, filed))
    assert other.stretch.log_p99 == pytest.approx(one.stretch.log_p99, rel=1e-3)
    assert "Measured as its file has it follow: 3 of 3 morphs by their own targets." in filed.garment.notes


def test_missing_targets_and_further_ones_are_named_and_the_cloth_stays_where_one_is_missing(folder: Path) -> None:
    body = df.load_body(folder / "phantom.obj")
    names = ("belly", "girth", "stature")
    renamed = replace(body, morph_names=names, range=replace(body.range, names=names))
    filed = df.fit(renamed, df.load_garment(folder / "fitted.glb"), FILED)
    assert np.abs(filed.deltas[2]).max() == 0.0 < np.abs(filed.deltas[0]).max()
    assert any("no target for stature:" in note for note in filed.garment.notes)
    assert any("stayed out: tall." in note for note in filed.garment.notes)


def test_a_file_without_any_target_of_the_body_is_refused_with_what_it_has(folder: Path) -> None:
    body = df.load_body(folder / "phantom.obj")
    with pytest.raises(FileError, match=r"none is named as a morph of 'phantom' \(belly, girth, tall\); .* has: none"):
        df.fit(body, df.load_garment(folder / "tube.obj"), FILED)


def test_a_garment_made_in_memory_has_no_file_to_measure() -> None:
    with pytest.raises(ArgumentError, match=r"`following.method` must be a method of ours, where the garment has no"):
        df.fit(phantom_body(), phantom_tube(), FILED)


def test_a_garment_that_is_lifted_anew_says_that_its_own_targets_were_not_used(folder: Path) -> None:
    body = df.load_body(folder / "phantom.obj")
    lifted = df.fit(body, df.load_garment(folder / "fitted.glb"))
    assert any(
        "holds 3 targets named as morphs of the body, which were not used" in one for one in lifted.garment.notes
    )


def test_the_method_is_the_cause_where_a_files_targets_leave_the_cloth_behind(folder: Path) -> None:
    body = df.load_body(folder / "phantom.obj")
    filed = df.fit(body, df.load_garment(folder / "fitted.glb"), FILED)
    still = replace(filed, deltas=0.0 * filed.deltas)
    found = df.check(still, shapes=ShapeSettings(ends=False, strongest=0, sobol=0))
    assert found.faulty
    (explained,) = found.causes.of_garment.values()
    exposed = [one for one in explained if one.cluster.fault == "exposed"]
    assert {one.cause for one in exposed} == {"the method"}
