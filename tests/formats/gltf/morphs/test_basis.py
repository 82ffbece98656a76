"""Fewer targets than morphs: what a basis leaves out is bounded, and it is read back as the morphs."""

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.errors import ArgumentError, FileError
from dressform.fit.fit import Fit
from dressform.formats.gltf.document import read_document
from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.morphs.basis import Basis, basis_ranges, find_basis
from dressform.formats.gltf.morphs.target_style import TargetStyle
from dressform.formats.gltf.optimise import optimise
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import load_body, load_garment
from solids import capped_body, made_fit, open_tube

NAMES = tuple(f"morph {number}" for number in range(6))
REACH = Range(NAMES, np.full(6, -0.5), np.full(6, 1.5))


def mixed(seed: int, *, rank: int, noise: float = 0.0) -> np.ndarray:
    """Six morphs that are sums of so many movements, and a little beside."""
    rng = np.random.default_rng(seed)
    return np.tensordot(rng.normal(size=(6, rank)), 0.02 * rng.normal(size=(rank, 50, 3)), axes=1) + noise * rng.normal(
        size=(6, 50, 3)
    )


@pytest.mark.parametrize("rank", [1, 2, 5])
def test_morphs_that_are_sums_of_few_movements_need_so_many_targets(rank: int) -> None:
    found = find_basis(mixed(1, rank=rank), REACH, allowed=1e-6)
    assert len(found.targets) == rank
    assert found.error < 1e-6


def test_morphs_that_move_nothing_need_none() -> None:
    assert find_basis(np.zeros((6, 50, 3)), REACH, allowed=0.0).targets.shape == (0, 50, 3)


@pytest.mark.parametrize("allowed", [0.0, 1e-3, 1e-2, 1.0])
def test_no_shape_is_off_by_more_than_is_told(allowed: float) -> None:
    deltas = mixed(2, rank=3, noise=1e-3)
    found = find_basis(deltas, REACH, allowed=allowed)
    assert found.error <= max(allowed, 1e-7)
    corners = np.random.default_rng(5).choice([-0.5, 1.5], size=(200, 6))
    lost = np.tensordot(corners, np.tensordot(found.shares, found.targets, axes=1) - deltas, axes=1)
    assert float(np.linalg.norm(lost, axis=2).max()) <= found.error


def test_the_range_of_each_target_is_reached_and_not_left() -> None:
    found = find_basis(mixed(3, rank=2), REACH, allowed=1e-6)
    told = np.array(list(basis_ranges(found, REACH).values()))
    corners = np.array(np.meshgrid(*[(-0.5, 1.5)] * 6)).reshape(6, -1).T @ found.shares
    np.testing.assert_allclose(np.stack([corners.min(axis=0), corners.max(axis=0)], axis=1), told)


def written(tmp_path: Path, allowed: float) -> tuple[Fit, tuple[str, ...]]:
    """A fit of six morphs written as a basis to `basis.glb`."""
    body = capped_body("keeper")
    deltas = np.stack([0.1 * (number + 1) * body.vertices for number in range(6)])
    save_body(replace(body, morph_names=NAMES, deltas=deltas, range=REACH), tmp_path / "body.glb")
    save_garment(open_tube(), tmp_path / "tube.glb")
    file, garment_file = load_body(tmp_path / "body.glb", units="m"), load_garment(tmp_path / "tube.glb", units="m")
    fit = made_fit(garment_file.garment, file.body)
    style = TargetStyle(basis=allowed)
    return fit, save_fit(fit, garment_file, file, tmp_path / "basis.glb", style=style)


@pytest.mark.parametrize("allowed", [1e-2, 1e-5])
def test_a_basis_is_read_back_as_the_morphs_that_it_makes(allowed: float, tmp_path: Path) -> None:
    fit, notes = written(tmp_path, allowed)
    extras = read_document(tmp_path / "basis.glb").json["meshes"][0]["extras"]
    assert len(extras["targetNames"]) < 6
    assert f"6 morphs made of {len(extras['targetNames'])} targets of a basis" in " ".join(notes)
    again = load_fit(tmp_path / "basis.glb", fit.body)
    corners = np.random.default_rng(7).choice([-0.5, 1.5], size=(50, 6))
    worst = max(float(np.linalg.norm(again.at(one) - fit.at(one), axis=1).max()) for one in corners)
    assert worst <= extras["basis"]["error_mm"] / 1000 + 1e-7
    small = optimise((tmp_path / "basis.glb").read_bytes(), tmp_path / "small.glb")
    (tmp_path / "small.glb").write_bytes(small.data)
    smaller = load_fit(tmp_path / "small.glb", fit.body)
    match = np.linalg.norm(smaller.base[:, None] - again.base[None], axis=2).argmin(axis=1)
    worst = max(float(np.linalg.norm(smaller.at(one) - again.at(one)[match], axis=1).max()) for one in corners)
    assert worst <= small.error + 1e-7


def test_a_garment_that_no_morph_moves_needs_no_target(tmp_path: Path) -> None:
    fit, _ = written(tmp_path, 1e-2)
    file, garment_file = load_body(tmp_path / "body.glb", units="m"), load_garment(tmp_path / "tube.glb", units="m")
    still = replace(made_fit(garment_file.garment, file.body), deltas=0 * fit.deltas)
    save_fit(still, garment_file, file, tmp_path / "still.glb", style=TargetStyle(basis=0.0))
    assert not np.any(load_fit(tmp_path / "still.glb", fit.body).deltas)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"targets": ["basis 9"]}, "shares of 1 targets|names 'basis 9'"),
        ({"morphs": {"morph 0": [1.0]}}, "has 1 shares"),
        ({"morphs": {"morph 0": "all"}}, "expected `array`"),
        ({"schema": "dressform-basis/9"}, "not 'dressform-basis/1'"),
    ],
)
def test_a_damaged_table_is_refused_by_its_place(change: dict[str, Any], told: str, tmp_path: Path) -> None:
    fit, _ = written(tmp_path, 1e-2)
    data = (tmp_path / "basis.glb").read_bytes()
    tree = read_document(tmp_path / "basis.glb").json
    tree["meshes"][0]["extras"]["basis"] |= change
    size = int.from_bytes(data[12:16], "little")
    text = json.dumps(tree).encode()
    text += b" " * (-len(text) % 4)
    head = data[:8] + (len(data) - size + len(text)).to_bytes(4, "little") + len(text).to_bytes(4, "little")
    (tmp_path / "damaged.glb").write_bytes(head + data[16:20] + text + data[20 + size :])
    with pytest.raises(FileError, match=rf"meshes\[0\].extras.basis.*({told})"):
        load_fit(tmp_path / "damaged.glb", fit.body)


def test_a_negative_allowance_is_refused() -> None:
    with pytest.raises(ArgumentError, match="`basis` must be 0 mm or more, got -1000"):
        TargetStyle(basis=-1.0)
    assert Basis(np.zeros((0, 1, 3)), np.zeros((1, 0)), 0.0).names == ()
