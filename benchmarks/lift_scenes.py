"""Real bodies with made-up morphs, and garments cut around them: what the ways to lift are compared on.

Suits are surfaces at a fixed distance from the skin, triangulated on their own; a glove is one around a hand; the
skirt is a cone. The real meshes are not part of the project: DRESSFORM_DATA names the folder that holds them.
"""

import igl
import numpy as np

from dressform.body.body import Body
from dressform.garment.garment import Garment
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.topology import boundary_edges, face_components
from scenes import real_scene

SUITS = {"suit 3 mm": 0.003, "suit 10 mm": 0.010, "suit 35 mm": 0.035}
SUIT_STEP, GLOVE_STEP, GLOVE_DISTANCE = 0.012, 0.005, 0.004
RELAXATIONS = 8
ROWS, COLUMNS = 60, 110  # of the skirt

Shapes = dict[str, np.ndarray]


def chosen_shapes(body: Body) -> Shapes:
    """Fields on which α, β and the rotation share were chosen: real ones, swellings, a patch, ripples, a mix."""
    x, y, z = body.vertices.T
    share = y / body.stature
    normals = vertex_normals(body.vertices, body.faces)
    trunk = 1 / (1 + np.exp((np.abs(x) - 0.24) / 0.015))
    hands = 1 - 0.85 / (1 + np.exp((0.44 - np.abs(x)) / 0.03))
    forward = np.array([0.0, 0.0, 1.0])
    left, right = _spot(body, [0.085, 0.73, 0.12], [0.07] * 3), _spot(body, [-0.085, 0.73, 0.12], [0.07] * 3)
    patch = (np.abs(x - 0.02) < 0.09) & (np.abs(share - 0.655) < 0.05) & (z > 0)
    female, male = (body.deltas[body.morph_names.index(name)] for name in ("woman", "man"))
    shapes = {
        "female": female,
        "male": male,
        "belly": 0.07 * _spot(body, [0, 0.6, 0.12], [0.16, 0.13, 0.10]) * forward
        + 0.02 * _spot(body, [0, 0.6, 0.1], [0.2, 0.15, 0.2]) * normals,
        "bust": (left + right) * np.array([0.0, -0.01, 0.05]) + (left - right) * np.array([0.012, 0.0, 0.0]),
        "hips": 0.22 * (_band(share, 0.49, 0.08) * trunk)[:, None] * np.stack([x, 0 * y, z], axis=1),
        "heavy": 0.018 * ((0.15 + _band(share, 0.62, 0.2) * trunk) * hands)[:, None] * normals,
        "patch": 0.02 * patch[:, None] * forward,
        "ripple": 0.001 * np.sin(2 * np.pi * y / 0.04)[:, None] * normals,
    }
    shapes["mix"] = 0.6 * female + 0.7 * shapes["belly"] + 0.6 * shapes["heavy"] + 0.5 * shapes["hips"]
    return shapes


def other_shapes(body: Body) -> Shapes:
    """Fields that nothing was chosen on: thinner, taller, broader, a bent trunk, thick limbs, a swelling off centre."""
    x, y, z = body.vertices.T
    share = y / body.stature
    normals = vertex_normals(body.vertices, body.faces)
    above = np.clip((share - 0.55) / 0.2, 0, 1)
    bend = np.radians(12) * above**2 * (3 - 2 * above)
    arms = 1 / (1 + np.exp((0.2 - np.abs(x)) / 0.02)) * (share > 0.5)
    return {
        "thin": -0.012 * (_band(share, 0.6, 0.15))[:, None] * normals,
        "tall": 0.09 * np.stack([0 * x, y, 0 * z], axis=1),
        "broad": 0.12 * (_band(share, 0.8, 0.1))[:, None] * np.stack([x, 0 * y, 0 * z], axis=1),
        "bent": np.stack([0 * x, -(z - 0.0) * bend, (y - 0.55 * body.stature) * bend], axis=1),
        "arms": 0.012 * arms[:, None] * normals,
        "thighs": 0.02 * _band(share, 0.42, 0.07)[:, None] * normals * (np.abs(x) < 0.3)[:, None],
        "side": 0.05 * _spot(body, [0.13, 0.62, 0.0], [0.1, 0.12, 0.12]) * normals,
    }


def garments(body: Body, shirt: Garment) -> dict[str, Garment]:
    """The real T-shirt and what is cut around the body."""
    made = {"T-shirt": shirt}
    low, high = body.vertices.min(axis=0) - 0.06, body.vertices.max(axis=0) + 0.06
    for name, distance in SUITS.items():
        vertices, faces = offset_surface(body, distance, SUIT_STEP, low, high)
        share = vertices[:, 1] / body.stature
        made[name] = _largest(name, vertices, faces, (share > 0.10) & (share < 0.83) & (np.abs(vertices[:, 0]) < 0.52))
    made["skirt"] = skirt(body)
    made["glove"] = glove(body)
    return made


def glove(body: Body) -> Garment:
    """A glove around the left hand."""
    wrist = body.vertices[:, 0].max() - 0.20
    hand = body.vertices[body.vertices[:, 0] > wrist - 0.03]
    vertices, faces = offset_surface(body, GLOVE_DISTANCE, GLOVE_STEP, hand.min(axis=0) - 0.02, hand.max(axis=0) + 0.02)
    return _largest("glove", vertices, faces, vertices[:, 0] > wrist)


def offset_surface(
    body: Body, distance: float, step: float, low: np.ndarray, high: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Triangles of about `step` at `distance` from the skin, inside a box: marched, relaxed, put back in place."""
    counts = np.ceil((high - low) / step).astype(int) + 1
    axes = [low[k] + step * np.arange(counts[k]) for k in range(3)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).transpose(2, 1, 0, 3).reshape(-1, 3)
    signed = igl.signed_distance(grid, body.vertices, body.faces)[0]
    vertices, faces = igl.marching_cubes(signed, grid, *(int(count) for count in counts), distance)[:2]
    vertices, faces = _welded(vertices, faces, 0.05 * step)
    fixed = np.unique(boundary_edges(faces))
    for _ in range(RELAXATIONS):
        neighbours = igl.adjacency_matrix(faces)
        normals = vertex_normals(vertices, faces)
        pull = (neighbours @ vertices) / np.asarray(neighbours.sum(axis=1)).reshape(-1, 1) - vertices
        pull -= np.einsum("vx,vx->v", pull, normals)[:, None] * normals
        pull[fixed] = 0.0
        vertices = vertices + 0.5 * pull
        signed, _, near, _ = igl.signed_distance(vertices, body.vertices, body.faces)
        away = vertices - near
        away *= (np.sign(signed) / np.maximum(np.linalg.norm(away, axis=1), 1e-12))[:, None]
        vertices += (distance - signed)[:, None] * away
    return vertices, faces


def real_lift_scene() -> tuple[Body, dict[str, Garment]] | None:
    """Body and garments, or None where the real meshes are missing."""
    scene = real_scene()
    return None if scene is None else (scene[0], garments(*scene))


def _welded(vertices: np.ndarray, faces: np.ndarray, reach: float) -> tuple[np.ndarray, np.ndarray]:
    """Slivers of marching cubes drawn together."""
    _, first, inverse = np.unique(
        np.round(vertices / reach).astype(np.int64), axis=0, return_index=True, return_inverse=True
    )
    faces = inverse.ravel()[faces]
    proper = (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    return vertices[first], faces[proper]


def _largest(name: str, vertices: np.ndarray, faces: np.ndarray, kept: np.ndarray) -> Garment:
    """The largest connected piece of what is kept."""
    faces = faces[kept[faces].all(axis=1)]
    pieces = face_components(faces, len(vertices))
    faces = faces[pieces == np.bincount(pieces).argmax()]
    used, inverse = np.unique(faces, return_inverse=True)
    return Garment.of(name, vertices[used], inverse.reshape(-1, 3))


def skirt(body: Body) -> Garment:
    """A cone from the waist to below the knee, its rows shifted by half a triangle."""
    down = np.linspace(0, 1, ROWS)
    height = body.stature * (0.61 - 0.39 * down)
    around = 2 * np.pi * (np.arange(COLUMNS) + 0.5 * (np.arange(ROWS)[:, None] % 2)) / COLUMNS
    hips = np.abs(body.vertices[:, 1] - 0.55 * body.stature) < 0.05
    middle = body.vertices[hips & (np.abs(body.vertices[:, 0]) < 0.2), 2].mean()
    across, along = 0.165 + 0.20 * down**0.8, 0.135 + 0.22 * down**0.8
    vertices = np.stack(
        [
            across[:, None] * np.sin(around),
            np.repeat(height[:, None], COLUMNS, axis=1),
            middle + along[:, None] * np.cos(around),
        ],
        axis=-1,
    ).reshape(-1, 3)
    row, column = (i.ravel() for i in np.meshgrid(np.arange(ROWS - 1), np.arange(COLUMNS), indexing="ij"))
    a, b = row * COLUMNS + column, row * COLUMNS + (column + 1) % COLUMNS
    c, d = a + COLUMNS, b + COLUMNS
    even = (row % 2 == 0)[:, None]
    first = np.where(even, np.stack([a, c, b], axis=1), np.stack([a, c, d], axis=1))
    second = np.where(even, np.stack([b, c, d], axis=1), np.stack([a, d, b], axis=1))
    return Garment.of("skirt", vertices, np.concatenate([first, second]))


def _spot(body: Body, place: list[float], width: list[float]) -> np.ndarray:
    """A bell around a place (x metres, y share of stature, z metres), (B, 1)."""
    centre = np.array([place[0], place[1] * body.stature, place[2]])
    return np.exp(-(((body.vertices - centre) / np.array(width)) ** 2).sum(axis=1))[:, None]


def _band(share: np.ndarray, middle: float, width: float) -> np.ndarray:
    """A bell over the height."""
    return np.exp(-(((share - middle) / width) ** 2))
