"""Even triangles: rounds of split, collapse, flip and relaxation, each over an independent set at once.

The mesh may have a border in the plane x = 0: border vertices stay on it, so that a mesh and its mirror image meet.
Edge lengths aim at a size given per vertex. Split above 4/3 and collapse below 4/5 of the size: [BotschRemesh2004],
from memory; the independent sets, which make a round a few array operations, are our own.
"""

from collections.abc import Callable

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy import sparse

from dressform.arrays import Faces, Points, VertexScalars

SPLIT_ABOVE = 4.0 / 3.0
COLLAPSE_BELOW = 4.0 / 5.0
MIN_AGREEMENT = 0.2
"""Cosine between a triangle's normals before and after a change, below which the change is refused."""
MIN_VALENCE = 4
BORDER = 1e-9

Sizes = Callable[[Points], VertexScalars]
Projector = Callable[[Points], Points]
Edges = Int[np.ndarray, "E 2"]
NewMesh = tuple[Float[np.ndarray, "W 3"], Int[np.ndarray, "T 3"]]
"""Vertices and triangles, other in number than those given."""


def remesh(
    vertices: Points, faces: Faces, *, size: Sizes, project: Projector, rounds: int = 8, settle: int = 8
) -> NewMesh:
    """Triangles whose edges are near `size` on the surface that `project` holds to.

    Args:
        vertices: Start positions, (V, 3); those with x = 0 form the border, if there is one.
        faces: Triangles, (F, 3).
        size: Wanted edge length at positions.
        project: Puts positions back on the surface.
        rounds: Rounds of split, collapse, flip, relax.
        settle: Closing rounds of flip and relax only.
    """
    for _ in range(rounds):
        vertices, faces = _split(vertices, faces, size(vertices), project)
        for _ in range(6):
            count = len(vertices)
            vertices, faces = _collapse(vertices, faces, size(vertices))
            if len(vertices) > 0.985 * count:
                break
        faces = _flips(vertices, faces)
        vertices = relax(vertices, faces, size(vertices), project)
    for _ in range(settle):
        faces = _flips(vertices, faces)
        vertices = relax(vertices, faces, size(vertices), project)
    return vertices, faces


def _wings(faces: Faces) -> tuple[Edges, Int[np.ndarray, "E 2"], Int[np.ndarray, "E 2"]]:
    """Edges, their two faces and the vertices opposite (-1 where there is no second face)."""
    half = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    opposite = np.concatenate([faces[:, 2], faces[:, 0], faces[:, 1]])
    owner = np.tile(np.arange(len(faces)), 3)
    low, high = half.min(axis=1), half.max(axis=1)
    order = np.argsort(low * (half.max() + 1) + high, kind="stable")
    low, high, opposite, owner = low[order], high[order], opposite[order], owner[order]
    first = np.flatnonzero(np.concatenate([[True], (low[1:] != low[:-1]) | (high[1:] != high[:-1])]))
    paired = np.diff(np.append(first, len(low))) > 1
    second = np.minimum(first + 1, len(low) - 1)
    return (
        np.stack([low[first], high[first]], axis=1),
        np.stack([owner[first], np.where(paired, owner[second], -1)], axis=1),
        np.stack([opposite[first], np.where(paired, opposite[second], -1)], axis=1),
    )


def _lengths(vertices: Points, edges: Edges) -> Float[np.ndarray, " E"]:
    return np.linalg.norm(vertices[edges[:, 1]] - vertices[edges[:, 0]], axis=1)


def _ranks(values: Float[np.ndarray, " E"]) -> Int[np.ndarray, " E"]:
    ranks = np.zeros(len(values), dtype=np.int64)
    ranks[np.argsort(values, kind="stable")] = np.arange(len(values))
    return ranks


def _split(vertices: Points, faces: Faces, size: VertexScalars, project: Projector) -> NewMesh:
    """Halve long edges, at most one per triangle and pass, the longest first."""
    for _ in range(8):
        edges, owners, _ = _wings(faces)
        ratio = _lengths(vertices, edges) / size[edges].mean(axis=1)
        rank = _ranks(-ratio)
        best = np.full(len(faces) + 1, len(edges))
        long = ratio > SPLIT_ABOVE
        np.minimum.at(best, owners[long].ravel(), np.repeat(rank[long], 2))
        best[-1] = len(edges)
        chosen = np.flatnonzero(
            long & (rank == best[owners[:, 0]]) & ((owners[:, 1] < 0) | (rank == best[owners[:, 1]]))
        )
        if not len(chosen):
            break
        new = len(vertices) + np.arange(len(chosen))
        middle = vertices[edges[chosen]].mean(axis=1)
        vertices = np.concatenate([vertices, _held(project(middle), middle[:, 0] < BORDER)])
        size = np.concatenate([size, size[edges[chosen]].mean(axis=1)])
        added = []
        for side in (0, 1):
            real = owners[chosen, side] >= 0
            face, middle_vertex, edge = owners[chosen[real], side], new[real], edges[chosen[real]]
            copy = faces[face].copy()
            faces[face] = np.where(faces[face] == edge[:, 1:], middle_vertex[:, None], faces[face])
            added.append(np.where(copy == edge[:, :1], middle_vertex[:, None], copy))
        faces = np.concatenate([faces, *added])
    return vertices, faces


def _held(points: Points, border: Bool[np.ndarray, " V"]) -> Points:
    """Points with those of the border put back in the plane x = 0."""
    points[border, 0] = 0.0
    return points


def _collapse(vertices: Points, faces: Faces, size: VertexScalars) -> NewMesh:
    """Merge the ends of short edges, an independent set at once; links and normals are kept."""
    edges, owners, opposite = _wings(faces)
    border = vertices[:, 0] < BORDER
    ratio = _lengths(vertices, edges) / size[edges].mean(axis=1)
    on_border = border[edges]
    inner = owners[:, 1] >= 0
    candidate = np.flatnonzero((ratio < COLLAPSE_BELOW) & ~(on_border.all(axis=1) & inner))
    count = len(vertices)
    ends = (edges.T.ravel(), edges[:, ::-1].T.ravel())
    links = sparse.csr_array((np.ones(2 * len(edges)), ends), (count, count))
    shared = np.asarray(links[edges[candidate, 0]].multiply(links[edges[candidate, 1]]).sum(axis=1)).ravel()
    candidate = candidate[shared == np.where(inner[candidate], 2, 1)]
    rank = _ranks(ratio[candidate])
    least = np.full(count, len(edges))
    np.minimum.at(least, edges[candidate].ravel(), np.repeat(rank, 2))
    around = least.copy()
    np.minimum.at(around, edges[:, 0], least[edges[:, 1]])
    np.minimum.at(around, edges[:, 1], least[edges[:, 0]])
    chosen = candidate[rank == around[edges[candidate]].min(axis=1)]
    valence = np.diff(links.indptr)
    wings = opposite[chosen]
    lost = np.bincount(wings[wings >= 0], minlength=count)
    thin = valence - lost < np.where(border, MIN_VALENCE - 1, MIN_VALENCE)
    chosen = chosen[~(thin[wings] & (wings >= 0)).any(axis=1)]
    return _merged(vertices, faces, edges[chosen], border)


def _merged(vertices: Points, faces: Faces, chosen: Edges, border: Bool[np.ndarray, " V"]) -> NewMesh:
    """Apply collapses except those that turn a triangle over."""
    before = _normals(vertices, faces)
    for _ in range(3):
        keep, gone = chosen[:, 0].copy(), chosen[:, 1].copy()
        swap = border[gone] & ~border[keep]
        keep[swap], gone[swap] = chosen[swap, 1], chosen[swap, 0]
        moved, target = vertices.copy(), np.arange(len(vertices))
        halfway = border[keep] == border[gone]
        moved[keep[halfway]] = (vertices[keep[halfway]] + vertices[gone[halfway]]) / 2
        target[gone] = keep
        mapped = target[faces]
        alive = (mapped[:, 0] != mapped[:, 1]) & (mapped[:, 1] != mapped[:, 2]) & (mapped[:, 2] != mapped[:, 0])
        after = _normals(moved, mapped)
        turned = alive & (np.einsum("fi,fi->f", before, after) < MIN_AGREEMENT)
        spoiled = np.zeros(len(vertices), dtype=bool)
        spoiled[mapped[turned].ravel()] = True
        bad = spoiled[keep]
        if not bad.any():
            break
        chosen = chosen[~bad]
    used = np.zeros(len(vertices), dtype=bool)
    used[mapped[alive].ravel()] = True
    number = np.cumsum(used) - 1
    return moved[used], number[mapped[alive]]


def _normals(vertices: Points, faces: Faces) -> Float[np.ndarray, "F 3"]:
    a, b, c = vertices[faces[:, 0]], vertices[faces[:, 1]], vertices[faces[:, 2]]
    cross = np.cross(b - a, c - a)
    return cross / np.maximum(np.linalg.norm(cross, axis=1, keepdims=True), 1e-30)


def _flips(vertices: Points, faces: Faces) -> Faces:
    """Flip edges until the mesh is Delaunay, or the passes run out."""
    for _ in range(6):
        faces, flipped = _flip(vertices, faces)
        if flipped == 0:
            break
    return faces


def _flip(vertices: Points, faces: Faces) -> tuple[Faces, int]:
    edges, owners, opposite = _wings(faces)
    inner = np.flatnonzero(owners[:, 1] >= 0)
    count = len(vertices)
    known = edges[:, 0] * count + edges[:, 1]
    edges, owners, opposite = edges[inner], owners[inner], opposite[inner]
    angle = _apex(vertices, edges, opposite[:, 0]) + _apex(vertices, edges, opposite[:, 1])
    valence = np.bincount(faces.ravel(), minlength=len(vertices))
    wanted = opposite.min(axis=1) * count + opposite.max(axis=1)
    taken = known[np.minimum(np.searchsorted(known, wanted), len(known) - 1)] == wanted
    candidate = np.flatnonzero((angle > np.pi + 1e-3) & ~taken & (valence[edges].min(axis=1) > MIN_VALENCE))
    corners = np.concatenate([edges[candidate], opposite[candidate]], axis=1)
    normal = _normals(vertices, faces)
    old = normal[owners[candidate]].sum(axis=1)
    first_is_forward = _forward(faces[owners[candidate, 0]], edges[candidate])
    a = np.where(first_is_forward, edges[candidate, 0], edges[candidate, 1])
    b = np.where(first_is_forward, edges[candidate, 1], edges[candidate, 0])
    c, d = opposite[candidate, 0], opposite[candidate, 1]
    one, two = np.stack([c, d, b], axis=1), np.stack([d, c, a], axis=1)
    old /= np.maximum(np.linalg.norm(old, axis=1, keepdims=True), 1e-30)
    safe = np.minimum(
        np.einsum("fi,fi->f", _normals(vertices, one), old), np.einsum("fi,fi->f", _normals(vertices, two), old)
    )
    sharp = np.einsum("fi,fi->f", normal[owners[candidate, 0]], normal[owners[candidate, 1]])
    good = (safe > 0.5) & (sharp > 0.3)
    rank = np.where(good, _ranks(-angle[candidate]), len(edges))
    least = np.full(count, len(edges))
    np.minimum.at(least, corners.ravel(), np.repeat(rank, 4))
    chosen = np.flatnonzero(good & (rank == least[corners].max(axis=1)) & (rank == least[corners].min(axis=1)))
    faces = faces.copy()
    faces[owners[candidate[chosen], 0]] = one[chosen]
    faces[owners[candidate[chosen], 1]] = two[chosen]
    return faces, len(chosen)


def _apex(vertices: Points, edges: Edges, apex: Int[np.ndarray, " E"]) -> Float[np.ndarray, " E"]:
    """Angle at `apex` of the triangle over an edge."""
    a, b = vertices[edges[:, 0]] - vertices[apex], vertices[edges[:, 1]] - vertices[apex]
    return np.arctan2(np.linalg.norm(np.cross(a, b), axis=1), np.einsum("ei,ei->e", a, b))


def _forward(faces: Faces, edges: Edges) -> Bool[np.ndarray, " E"]:
    """Whether the triangle runs the edge from its first to its second vertex."""
    start = (faces == edges[:, :1]).argmax(axis=1)
    return faces[np.arange(len(faces)), (start + 1) % 3] == edges[:, 1]


def relax(vertices: Points, faces: Faces, size: VertexScalars, project: Projector) -> Points:
    """Move every vertex to the size-weighted centre of its triangles, along the surface; borders along themselves."""
    normal = _normals(vertices, faces)
    cross = np.cross(vertices[faces[:, 1]] - vertices[faces[:, 0]], vertices[faces[:, 2]] - vertices[faces[:, 0]])
    weight = np.linalg.norm(cross, axis=1) / size[faces].mean(axis=1) ** 2
    centre = vertices[faces].mean(axis=1) * weight[:, None]
    total, pull, up = np.zeros(len(vertices)), np.zeros_like(vertices), np.zeros_like(vertices)
    for corner in range(3):
        np.add.at(total, faces[:, corner], weight)
        np.add.at(pull, faces[:, corner], centre)
        np.add.at(up, faces[:, corner], normal * weight[:, None])
    move = pull / np.maximum(total, 1e-30)[:, None] - vertices
    up /= np.maximum(np.linalg.norm(up, axis=1, keepdims=True), 1e-30)
    move -= up * np.einsum("vi,vi->v", move, up)[:, None]
    border = vertices[:, 0] < BORDER
    edges, owners, _ = _wings(faces)
    rim = edges[owners[:, 1] < 0]
    if len(rim):
        near = np.zeros_like(vertices)
        np.add.at(near, rim[:, 0], vertices[rim[:, 1]])
        np.add.at(near, rim[:, 1], vertices[rim[:, 0]])
        move[border] = 0.5 * (near[border] / 2 - vertices[border])
    return _held(project(vertices + move), border)
