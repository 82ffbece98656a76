"""A fitted file read back is the fit that was written."""

from pathlib import Path

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.fit.follow import Follower
from dressform.fit.make import make_fit
from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.load import load_body, load_garment
from phantoms import phantom_files


@pytest.fixture
def written(tmp_path: Path) -> tuple[Path, Path, Path]:
    """Paths of a body, a garment and the garment fitted to it."""
    body_path, garment_path = phantom_files(tmp_path)
    body, garment = load_body(body_path), load_garment(garment_path, units="m", up="y")
    out = tmp_path / "fitted.glb"
    save_fit(make_fit(body.body, garment.garment), garment, body, out)
    return body_path, garment_path, out


def test_live_written_and_reloaded_agree_at_a_thousand_shapes(written: tuple[Path, Path, Path]) -> None:
    body_path, garment_path, out = written
    body = load_body(body_path).body
    fit = make_fit(body, load_garment(garment_path, units="m", up="y").garment)
    back = load_fit(out, body)
    rng = np.random.default_rng(0)
    order = np.lexsort(np.round(back.base, 5).T)
    expected = np.lexsort(np.round(fit.base, 5).T)
    live = Follower(fit)
    for _ in range(1000):
        weights = rng.uniform(body.range.low, body.range.high)
        truth = fit.at(weights)
        assert np.abs(back.at(weights)[order] - truth[expected]).max() < 1e-5
        assert np.abs(live.at(weights) - truth).max() < 1e-5


def test_a_garment_without_the_morphs_is_refused_by_their_name(written: tuple[Path, Path, Path]) -> None:
    body_path, garment_path, _ = written
    with pytest.raises(FileError, match=r"tube\.obj: morph targets: no target named 'belly' .*Fit the garment"):
        load_fit(garment_path, load_body(body_path).body)
