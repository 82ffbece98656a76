"""Draws the visible edges of a mesh over a picture, to show the size of its triangles."""

from collections.abc import Sequence

import numpy as np
from jaxtyping import Bool, Float

from dressform.report.pictures.camera import Camera
from dressform.report.pictures.colours import decode_srgb, encode_srgb
from dressform.report.pictures.raster import SAMPLES, Colour, Drawable, Image
from dressform.report.pictures.raster_kernels import rasterise

ON_PALE: Colour = (0.12, 0.14, 0.18)
ON_DARK: Colour = (0.72, 0.76, 0.82)
DARK = 0.10  # linear light of the cloth, in the middle, below which its lines are pale
EDGE_STRENGTH = 0.55
EDGE_WIDTH = 1.1  # pixels


def with_edges(image: Image, drawables: Sequence[Drawable], camera: Camera, *, of: int) -> Image:
    """The picture with the visible edges of one mesh as thin lines.

    Args:
        image: What `draw` made of the same meshes through the same camera.
        drawables: The meshes.
        camera: The camera.
        of: Which of the meshes shows its edges.
    """
    height, width = image.shape[:2]
    cover = _edge_cover(drawables, camera, width * SAMPLES, height * SAMPLES, of)
    share = cover.reshape(height, SAMPLES, width, SAMPLES).mean(axis=(1, 3))[:, :, None]
    linear = decode_srgb(image / 255.0)
    lined = linear[share[:, :, 0] > 0]
    line = decode_srgb(np.array(ON_DARK if lined.size and np.median(lined) < DARK else ON_PALE))
    linear = linear * (1.0 - EDGE_STRENGTH * share) + EDGE_STRENGTH * share * line
    return np.round(255 * encode_srgb(linear)).astype(np.uint8)


def _edge_cover(
    drawables: Sequence[Drawable], camera: Camera, width: int, height: int, of: int
) -> Bool[np.ndarray, "H W"]:
    """Samples on a triangle of the mesh within half a line's width of one of its edges."""
    starts = np.cumsum([0, *(len(one.vertices) for one in drawables)])
    vertices = np.concatenate([one.vertices for one in drawables])
    faces = np.concatenate([one.faces.astype(np.int64) + start for one, start in zip(drawables, starts)])
    first_face = sum(len(one.faces) for one in drawables[:of])
    screen = camera.project(vertices, width=width, height=height)
    weight = 1 / np.maximum(screen[:, 2], camera.near) if camera.perspective else np.ones(len(screen))
    key = weight if camera.perspective else -screen[:, 2]
    seen, _, _, _ = rasterise(screen, key, weight, faces, camera.near, width, height)
    rows, columns = np.nonzero((seen >= first_face) & (seen < first_face + len(drawables[of].faces)))
    corners = screen[faces[seen[rows, columns]], :2]
    cover = np.zeros((height, width), dtype=bool)
    points = np.stack([columns + 0.5, rows + 0.5], axis=1)
    cover[rows, columns] = _nearest_edge(points, corners) < 0.5 * EDGE_WIDTH * SAMPLES
    return cover


def _nearest_edge(points: Float[np.ndarray, "N 2"], corners: Float[np.ndarray, "N 3 2"]) -> Float[np.ndarray, " N"]:
    """Distance of a point inside a triangle from the line of its nearest edge, (N,)."""
    away = points[:, None] - corners
    along = np.roll(corners, -1, axis=1) - corners
    length = np.maximum(np.linalg.norm(along, axis=2), np.finfo(float).tiny)
    return np.abs((along[..., 0] * away[..., 1] - along[..., 1] * away[..., 0]) / length).min(axis=1)
