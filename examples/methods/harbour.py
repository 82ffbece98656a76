"""Two ways to make a garment follow, as somebody else might have written them.

    dressform check --body body.glb --base woman garments/guernsey.glb --method harbour.py:pinned

`pinned` is linear: it returns a target per morph. `slack` is not: it returns a function of the weights, which is asked
shape by shape. A package can offer a function by name through the entry-point group `dressform.methods`:

    [project.entry-points."dressform.methods"]
    pinned = "harbour:pinned"
"""

import numpy as np
from scipy.spatial import cKDTree

NEIGHBOURS = 8


def pinned(body, garment, following):
    """Each cloth vertex moves as the mean of the eight body vertices nearest to it, by inverse distance."""
    away, nearest = cKDTree(body.vertices).query(garment.vertices, k=NEIGHBOURS)
    shares = 1.0 / np.maximum(away, 1e-9)
    shares /= shares.sum(axis=1, keepdims=True)
    return np.einsum("gn,kgnx->kgx", shares, body.deltas[:, nearest])


def slack(body, garment, following):
    """As `pinned`, but cloth lags behind: it follows by three quarters of the way, and never comes nearer than 3 mm."""
    targets = pinned(body, garment, following)
    _, nearest = cKDTree(body.vertices).query(garment.vertices)
    outward = garment.vertices - body.vertices[nearest]
    outward /= np.maximum(np.linalg.norm(outward, axis=1, keepdims=True), 1e-9)

    def cloth(weights):
        moved = garment.vertices + 0.75 * np.tensordot(weights, targets, axes=1)
        skin = body.vertices[nearest] + np.tensordot(weights, body.deltas[:, nearest], axes=1)
        above = np.einsum("gx,gx->g", moved - skin, outward)
        return moved + np.maximum(0.003 - above, 0.0)[:, None] * outward

    return cloth
