"""From one vertex per place to the split vertices that a file needs at seams of texture or shading."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int


@dataclass(frozen=True)
class Split:
    """Stored vertices of a mesh.

    Attributes:
        sources: Welded vertex that each stored one is a copy of, (S,), rising.
        faces: Triangles of stored vertices, (F, 3).
        uv: Texture coordinates, (S, 2), or None.
        normals: Normals given per corner, (S, 3), or None.
    """

    sources: Int[np.ndarray, " S"]
    faces: Int[np.ndarray, "F 3"]
    uv: Float[np.ndarray, "S 2"] | None
    normals: Float[np.ndarray, "S 3"] | None


def split_corners(
    faces: Int[np.ndarray, "F 3"],
    *,
    uv: Float[np.ndarray, "F 3 2"] | None = None,
    normals: Float[np.ndarray, "F 3 3"] | None = None,
) -> Split:
    """One stored vertex per distinct (vertex, texture coordinate, normal), compared as float32."""
    keys = [faces.reshape(-1, 1).astype(np.int64)]
    for corner in (uv, normals):
        if corner is not None:
            bits = (corner.astype(np.float32) + np.float32(0)).view(np.int32)  # + 0 makes -0 and 0 one value
            keys.append(bits.reshape(len(keys[0]), -1).astype(np.int64))
    _, first, inverse = np.unique(np.concatenate(keys, axis=1), axis=0, return_index=True, return_inverse=True)
    return Split(
        faces.reshape(-1)[first].astype(np.int64),
        inverse.reshape(-1, 3).astype(np.int64),
        None if uv is None else uv.reshape(-1, 2)[first],
        None if normals is None else normals.reshape(-1, 3)[first],
    )
