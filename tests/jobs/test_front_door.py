"""`import dressform as df` is light, offers what it says, and does the whole job in a few lines."""

import pickle
import re
import subprocess
import sys
from dataclasses import replace
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

import dressform as df
from dressform.body.shapes import ShapeSettings
from dressform.errors import ArgumentError, FileError
from dressform.formats.gltf.save import save_body, save_garment
from phantoms import phantom_body, phantom_tube

pytestmark = pytest.mark.long


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The phantom as two base bodies, and a tube of nine sides round it, as files."""
    path = tmp_path_factory.mktemp("files")
    save_body([phantom_body(), df.Body("other", *_parts())], path / "body.glb")
    save_garment(phantom_tube(clearance=0.012, sides=9), path / "tube.glb")
    return path


def _parts() -> tuple[object, ...]:
    body = phantom_body()
    return 1.05 * body.vertices, body.faces, body.morph_names, body.deltas, body.range


@pytest.fixture(scope="module")
def fit(folder: Path) -> df.Fit:
    body = df.load_body(folder / "body.glb", base="phantom")
    return df.fit(body, df.load_garment(folder / "tube.glb"), df.Following(margin_mm=2))


def test_every_name_of_the_front_door_is_found_and_documented() -> None:
    for name in df.__all__:
        assert getattr(df, name).__doc__
        assert name in dir(df)


def test_a_folder_that_is_called_as_a_job_does_not_take_its_place() -> None:
    for folder in ("dressform.fit.fit", "dressform.repair.chain", "dressform.report.tables.check"):
        assert import_module(folder).__name__ == folder
    assert (df.repair.__module__, df.repair.__name__) == ("dressform.jobs.repair", "repair")
    assert (df.fit.__module__, df.report.__module__) == ("dressform.jobs.fit", "dressform.jobs.report")


def test_an_unknown_name_is_refused() -> None:
    with pytest.raises(AttributeError, match="module 'dressform' has no attribute 'tailor'"):
        df.tailor  # noqa: B018


def test_importing_loads_no_numerics() -> None:
    code = "import sys, dressform; print([name for name in ('numpy', 'scipy', 'numba', 'rich') if name in sys.modules])"
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ended.stdout.strip() == "[]"


def test_what_is_printed_is_short_and_holds_no_arrays(fit: df.Fit) -> None:
    shown = [repr(one) for one in (fit, fit.body, fit.garment, fit.body.range, fit.following)]
    assert max(map(len, shown)) < 200
    assert not any("array" in one for one in shown)
    assert shown[1] == f"<Body 'phantom': {len(fit.body.vertices)} vertices, 3 morphs, {fit.body.stature:.2f} m tall>"


def test_a_check_prints_the_table_that_a_person_reads(fit: df.Fit) -> None:
    result = df.check(fit, shapes=ShapeSettings(sobol=0, strongest=0))
    assert result.faulty
    assert result.causes is not None
    text = str(result)
    assert "tube" in text
    assert "do: split" in text
    assert "array(" not in text
    assert repr(result).startswith("<CheckResult of ")
    plain = df.check(fit, shapes=result.shapes, causes=False)
    assert plain.causes is None
    verdict, _, *rest = text.splitlines()  # the second line says how long it took
    again, _, *others = str(df.explain(plain)).splitlines()
    assert (again, others) == (verdict, rest)


def test_keys_of_one_s_own_tell_garments_apart(fit: df.Fit) -> None:
    looser = replace(fit, following=df.Following(margin_mm=6))
    result = df.check({"as it is": fit, "with more room": looser}, shapes=0, others=())
    assert list(result.severity) == ["as it is", "with more room"]
    assert result.causes is not None
    assert set(result.causes.of_garment) == set(result.severity)
    told = [result.report.explained(garment)[0].advice.what for garment in result.report.garments]
    longest = [int(re.search(r"no edge is longer than (\d+) mm", advice)[1]) for advice in told]
    assert longest[1] < longest[0]  # more room asks for smaller triangles


def test_a_repaired_fit_is_saved_with_the_vertices_that_it_was_given(fit: df.Fit, tmp_path: Path) -> None:
    repaired = df.repair(fit)
    assert repaired.added_vertices > 0
    df.save(repaired, tmp_path / "fitted.glb")
    back = df.load_fit(tmp_path / "fitted.glb", fit.body)
    assert len(back.base) == len(repaired.fit.base)
    shape = fit.body.weights({"belly": 1.0})
    order = np.lexsort(np.round(back.at(shape), 5).T), np.lexsort(np.round(repaired.fit.at(shape), 5).T)
    assert np.abs(back.at(shape)[order[0]] - repaired.fit.at(shape)[order[1]]).max() < 2e-5
    assert df.prove(back).certificate.share > df.prove(fit).certificate.share
    assert "near pairs certified" in str(repaired)


def test_only_what_came_from_files_can_be_saved(tmp_path: Path) -> None:
    made = df.fit(phantom_body(), phantom_tube())
    with pytest.raises(ArgumentError, match="save: `garment` must be read from a file, got 'tube' made in memory"):
        df.save(made, tmp_path / "out.glb")


def test_a_fit_is_saved_as_a_glb(fit: df.Fit, tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"does not end with \.glb"):
        df.save(fit, tmp_path / "out.obj")


def test_fits_of_one_name_or_of_several_bodies_are_refused(fit: df.Fit) -> None:
    with pytest.raises(ArgumentError, match="`fits` must be of different garments or methods, got 2 with 1 names"):
        df.check([fit, fit])
    with pytest.raises(ArgumentError, match="`fits` must be of one body, got phantom, phantom"):
        df.check({"a": fit, "b": df.fit(phantom_body(), phantom_tube())})
    with pytest.raises(ArgumentError, match=r"check: `fits` must be one fit or more, got none\. Make one with fit"):
        df.check([])


def test_another_process_gets_no_files(fit: df.Fit) -> None:
    back = pickle.loads(pickle.dumps(fit))
    assert (back.body.source, back.garment.source) == (None, None)
    assert np.array_equal(back.deltas, fit.deltas)
    assert fit.garment.source is not None
