"""From sewn cloth to flat panels: every panel unrolled by itself and laid out on one square, as a cutter lays them."""

import igl
import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from dressform.arrays import Faces, Points
from dressform.demo.tailor.cloth import Cloth
from dressform.errors import MeshError
from dressform.mesh.geometry import face_areas

GAP = 0.012  # metres of cloth left between panels
_Box = tuple[Int[np.ndarray, " _"], Float[np.ndarray, "2"]]  # triangles of a piece, width and height of its box
SHEET = 1.12  # width of the layout over the square root of the panels' boxes


def laid_out(cloth: Cloth) -> tuple[Float[np.ndarray, "F 3 2"], float]:
    """Texture coordinates of every corner in [0, 1], and how many metres of cloth the square is wide.

    Every connected piece of every panel must be a disk: its least-squares conformal map [Levy2002] is scaled to the
    area of the cloth and turned so that up on the cloth is up on the square.

    Raises:
        MeshError: a piece is no disk; its panel is named.
    """
    corners = _cut_open(cloth)
    pieces = Cloth.of_faces(np.zeros((int(corners.max()) + 1, 3)), corners).pieces()
    flat = np.zeros((len(cloth.faces), 3, 2))
    boxes: list[_Box] = []
    for piece in range(int(pieces.max()) + 1):
        rows = np.flatnonzero(pieces == piece)
        _, first, faces = np.unique(corners[rows], return_index=True, return_inverse=True)
        places = cloth.vertices[cloth.faces[rows].ravel()[first]]
        uv = _unrolled(places, faces.reshape(-1, 3).astype(np.int64), f"panel {cloth.panels[rows[0]]}")
        flat[rows] = uv[faces.reshape(-1, 3)]
        boxes.append((rows, uv.max(axis=0)))
    size = _laid_side_by_side(flat, boxes)
    # Texture coordinates run downward in glTF.
    return np.stack([flat[..., 0] / size, 1 - flat[..., 1] / size], axis=-1), size


def _cut_open(cloth: Cloth) -> Faces:
    """The triangles with vertices of their own along seams: corners are one where panels join them across an edge."""
    half = cloth.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    corner = np.arange(3 * len(cloth.faces)).reshape(-1, 3)[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    swap = half[:, 0] > half[:, 1]
    half, corner = np.where(swap[:, None], half[:, ::-1], half), np.where(swap[:, None], corner[:, ::-1], corner)
    panel = np.repeat(cloth.panels, 3)
    order = np.lexsort((half[:, 1], half[:, 0], panel))
    key = np.column_stack([panel, half])[order]
    same = np.flatnonzero((key[1:] == key[:-1]).all(axis=1))
    one, two = corner[order[same]].ravel(), corner[order[same + 1]].ravel()
    graph = coo_array((np.ones(len(one)), (one, two)), shape=(corner.max() + 1, corner.max() + 1))
    return connected_components(graph, directed=False)[1].reshape(-1, 3).astype(np.int64)


def _unrolled(vertices: Points, faces: Faces, name: str) -> Float[np.ndarray, "V 2"]:
    """A disk laid flat at its own size, its lower left corner at the origin."""
    loops = Cloth.of_faces(vertices, faces).loops()
    euler = len(vertices) - len(Cloth.of_faces(vertices, faces).edges) + len(faces)
    if len(loops) != 1 or euler != 1:
        raise MeshError(
            f"laid_out: every piece must be a disk, got {len(loops)} openings and Euler number {euler} in {name} "
            f"round {np.round(vertices.mean(axis=0), 3).tolist()}. Cut another seam."
        )
    border = vertices[loops[0]]
    first = int(np.linalg.norm(border - border.mean(axis=0), axis=1).argmax())
    second = int(np.linalg.norm(border - border[first], axis=1).argmax())
    pins = np.array([loops[0][first], loops[0][second]], dtype=np.int64)
    span = float(np.linalg.norm(border[first] - border[second]))
    uv, _ = igl.lscm(vertices, faces, pins, np.array([[0.0, 0.0], [span, 0.0]]))
    edge, other = uv[faces[:, 1]] - uv[faces[:, 0]], uv[faces[:, 2]] - uv[faces[:, 0]]
    signed = 0.5 * (edge[:, 0] * other[:, 1] - edge[:, 1] * other[:, 0]).sum()
    uv = uv * np.sqrt(face_areas(vertices, faces).sum() / abs(signed))
    if signed < 0:
        uv = uv * np.array([1.0, -1.0])
    centred = uv - uv.mean(axis=0)
    slope = np.linalg.lstsq(centred, vertices[:, 1] - vertices[:, 1].mean(), rcond=None)[0]
    slope = slope / max(float(np.linalg.norm(slope)), 1e-12) if np.linalg.norm(slope) > 0.1 else np.array([0.0, 1.0])
    turned = centred @ np.array([[slope[1], slope[0]], [-slope[0], slope[1]]])
    return turned - turned.min(axis=0)


def _laid_side_by_side(flat: Float[np.ndarray, "F 3 2"], boxes: list[_Box]) -> float:
    """Move the boxes, tallest first, into rows of about equal width; the side of the square that holds them."""
    boxes = sorted(boxes, key=lambda box: -float(box[1][1]))
    width = SHEET * float(np.sqrt(sum(float(np.prod(size + GAP)) for _, size in boxes)))
    width = max(width, *(float(size[0]) + 2 * GAP for _, size in boxes))
    across, up, tallest, side = GAP, GAP, 0.0, width
    for rows, size in boxes:
        if across + size[0] + GAP > width:
            across, up, tallest = GAP, up + tallest + GAP, 0.0
        flat[rows] += np.array([across, up])
        across += float(size[0]) + GAP
        tallest = max(tallest, float(size[1]))
        side = max(side, up + tallest + GAP)
    return side
