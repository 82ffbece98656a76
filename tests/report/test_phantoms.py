"""The phantoms are what they claim: other tests lean on their closed forms."""

import numpy as np

from dressform.mesh.geometry import face_areas, face_normals
from phantoms import MORPHS, RADIUS, STATURE, phantom_body, phantom_tube


def volume(vertices: np.ndarray, faces: np.ndarray) -> float:
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def test_the_phantom_is_a_closed_capsule_facing_outward() -> None:
    body = phantom_body(rings=120, sides=120)
    straight = STATURE - 2 * RADIUS
    expected = np.pi * RADIUS**2 * straight + 4 / 3 * np.pi * RADIUS**3
    assert abs(volume(body.vertices, body.faces) / expected - 1) < 2e-3
    area = 2 * np.pi * RADIUS * straight + 4 * np.pi * RADIUS**2
    assert abs(face_areas(body.vertices, body.faces).sum() / area - 1) < 2e-3
    assert body.morph_names == MORPHS
    assert body.stature == STATURE


def test_the_tube_faces_outward() -> None:
    garment = phantom_tube()
    centres = garment.vertices[garment.faces].mean(axis=1) * [1, 0, 1]
    assert np.einsum("ij,ij->i", centres, face_normals(garment.vertices, garment.faces)).min() > 0
