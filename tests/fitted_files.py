"""Bodies and fitted garments on disk, and fits of known matrices."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from dressform.body.body import Body
from dressform.fit.fit import Fit
from dressform.formats.gltf.document import Document, read_document
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.save import save_body
from dressform.formats.load import BodyFile, GarmentFile, load_body, load_garment
from dressform.garment.following import DEFAULT_FOLLOWING
from solids import capped_body, made_fit

TURN = np.array([[0.0, 0, 1], [0, 1, 0], [-1, 0, 0]])  # a quarter turn about +Y


def body_file(tmp_path: Path, *, rigged: bool = True) -> BodyFile:
    body = capped_body("keeper")
    if not rigged:
        body = replace(body, skeleton=None, skin=None)
    save_body(body, tmp_path / "body.glb")
    return load_body(tmp_path / "body.glb")


def linear_fit(garment_file: GarmentFile, body: Body, matrices: list[np.ndarray]) -> Fit:
    """A fit whose morph k carries every vertex by the matrix given, about the origin."""
    vertices = garment_file.garment.vertices
    deltas = np.stack([vertices @ matrix.T - vertices for matrix in matrices])
    return Fit(body, garment_file.garment, DEFAULT_FOLLOWING, vertices, deltas)


def saved(
    tmp_path: Path, garment_path: Path, *, rigged: bool = True, **how: Any
) -> tuple[Fit, GarmentFile, Document, tuple[str, ...]]:
    file = body_file(tmp_path, rigged=rigged)
    garment_file = load_garment(garment_path, **how)
    fit = made_fit(garment_file.garment, file.body)
    notes = save_fit(fit, garment_file, file, tmp_path / "fitted.glb")
    return fit, garment_file, read_document(tmp_path / "fitted.glb"), notes


def played(document: Document, weights: dict[str, float]) -> np.ndarray:
    """Vertices of the saved file at weights, through our own reader."""
    stored = load_garment(document.path, units="m").stored
    chosen = np.array([weights.get(name, 0.0) for name in stored.morph_names])
    return stored.vertices + np.tensordot(chosen, stored.deltas, axes=1)


def assert_plays(fit: Fit, garment_file: GarmentFile, document: Document) -> None:
    for weights in np.random.default_rng(3).uniform(-1, 2, (20, len(fit.morph_names))):
        there = played(document, dict(zip(fit.morph_names, weights)))
        np.testing.assert_allclose(there, fit.at(weights)[garment_file.file_to_cloth], atol=1e-6)
