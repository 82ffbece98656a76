"""A sheet of cloth in the making: triangles that know their panel; cutting, trimming, sewing on rings."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import connected_components

from dressform.arrays import Faces, Points, VertexScalars
from dressform.errors import MeshError

KEY = 1 << 31  # more than any mesh here has vertices
SNAP = 0.3  # share of an edge within which a cut moves the vertex instead of adding one beside it


@dataclass(frozen=True)
class Cloth:
    """Triangles with a panel each.

    Attributes:
        vertices: (V, 3), metres.
        faces: (F, 3), counter-clockwise from outside.
        panels: Panel of each triangle, (F,); cuts and rings start new panels.
        parts: Part of each triangle, a number that the garment gives a name, (F,).
    """

    vertices: Points
    faces: Faces
    panels: Int[np.ndarray, " F"]
    parts: Int[np.ndarray, " F"]

    @classmethod
    def of_quads(cls, vertices: Points, quads: Int[np.ndarray, "Q 4"]) -> "Cloth":
        """Split every quad along its shorter diagonal, or along the other where the shorter one is an edge already."""
        corner = vertices[quads]
        lengths = np.linalg.norm(corner[:, :2] - corner[:, 2:], axis=2)
        sides = np.concatenate([_pair_keys(quads[:, [turn, (turn + 1) % 4]]) for turn in range(4)])
        diagonals = np.stack([_pair_keys(quads[:, [0, 2]]), _pair_keys(quads[:, [1, 3]])], axis=1)
        chosen = np.take_along_axis(diagonals, lengths.argmin(axis=1)[:, None], axis=1)[:, 0]
        _, index, count = np.unique(chosen, return_inverse=True, return_counts=True)
        taken = np.isin(chosen, sides) | (count[index] > 1)
        first = (lengths[:, 0] <= lengths[:, 1]) ^ taken
        turned = np.where(first[:, None], quads, np.roll(quads, -1, axis=1))
        return cls.of_faces(vertices, np.concatenate([turned[:, [0, 1, 2]], turned[:, [0, 2, 3]]]))

    @classmethod
    def of_faces(cls, vertices: Points, faces: Faces) -> "Cloth":
        """One panel of part 0."""
        return cls(vertices, faces, np.zeros(len(faces), dtype=np.int64), np.zeros(len(faces), dtype=np.int64))

    @cached_property
    def edges(self) -> Int[np.ndarray, "E 2"]:
        """Unique undirected edges, (E, 2)."""
        return np.stack(np.divmod(np.unique(_keys(self.faces)), KEY), axis=1)

    @cached_property
    def boundary(self) -> Int[np.ndarray, "E 2"]:
        """Directed edges with one triangle only, in the direction of that triangle, (E, 2)."""
        _, index, count = np.unique(_keys(self.faces), return_inverse=True, return_counts=True)
        return _half_edges(self.faces)[count[index] == 1]

    @cached_property
    def seams(self) -> Int[np.ndarray, "E 2"]:
        """Edges on openings or between panels, (E, 2)."""
        keys = _keys(self.faces)
        order = np.argsort(keys, kind="stable")
        keys, panel = keys[order], np.repeat(self.panels, 3)[order]
        same = keys[1:] == keys[:-1]
        inner = np.zeros(len(keys), dtype=bool)
        inner[1:] |= same & (panel[1:] == panel[:-1])
        inner[:-1] |= same & (panel[1:] == panel[:-1])
        return np.stack(np.divmod(np.unique(keys[~inner]), KEY), axis=1)

    def loops(self) -> list[Int[np.ndarray, " L"]]:
        """The boundary as closed chains of vertices, each in the direction of its triangles.

        Raises:
            MeshError: two chains share a vertex.
        """
        border = self.boundary
        follow = dict(zip(border[:, 0].tolist(), border[:, 1].tolist()))
        if len(follow) != len(border):
            raise MeshError("Cloth.loops: openings must not touch, got a vertex on two of them. Move the cuts apart.")
        loops = []
        while follow:
            start, following = follow.popitem()
            chain = [start]
            while following != start:
                chain.append(following)
                following = follow.pop(following)
            loops.append(np.array(chain))
        return sorted(loops, key=lambda loop: int(loop.min()))

    def loop_near(self, point: Float[np.ndarray, "3"]) -> Int[np.ndarray, " L"]:
        """The opening whose middle lies nearest to a point."""
        return min(self.loops(), key=lambda loop: float(np.linalg.norm(self.vertices[loop].mean(axis=0) - point)))

    def pieces(self) -> Int[np.ndarray, " F"]:
        """Piece of each triangle, connected across edges, (F,)."""
        order = np.argsort(_keys(self.faces), kind="stable")
        keys, owner = _keys(self.faces)[order], order // 3
        same = np.flatnonzero(keys[1:] == keys[:-1])
        count = len(self.faces)
        graph = coo_array((np.ones(len(same)), (owner[same], owner[same + 1])), shape=(count, count))
        return connected_components(graph, directed=False)[1]

    def keep(self, faces: Bool[np.ndarray, " F"]) -> "Cloth":
        """Only these triangles, and only the vertices they use."""
        used, renumbered = np.unique(self.faces[faces], return_inverse=True)
        return Cloth(self.vertices[used], renumbered.reshape(-1, 3), self.panels[faces], self.parts[faces])

    def largest(self) -> "Cloth":
        """Only the connected piece with most triangles."""
        pieces = self.pieces()
        return self.keep(pieces == np.bincount(pieces).argmax())

    def moved(self, vertices: Points) -> "Cloth":
        """The same triangles with other vertices."""
        return replace(self, vertices=vertices)

    def as_part(self, part: int) -> "Cloth":
        """The same cloth, all of it of one part."""
        return replace(self, parts=np.full(len(self.faces), part))

    def cut(self, values: VertexScalars, *, part: int | None = None) -> "Cloth":
        """A seam where `values` (one per vertex) change sign: triangles are split there and both sides kept.

        Triangles of each panel on the positive side become a new panel, and belong to `part` if one is given. A
        vertex nearer to the line than `SNAP` of an edge moves onto it, so that no sliver is left.
        """
        split, positive = self._split_at(values)
        panels = np.where(positive, split.panels + int(split.panels.max()) + 1, split.panels)
        parts = split.parts if part is None else np.where(positive, part, split.parts)
        return replace(split, panels=panels, parts=parts)

    def trimmed(self, values: VertexScalars) -> "Cloth":
        """Cut where `values` change sign and throw the positive side away."""
        split, positive = self._split_at(values)
        return split.keep(~positive)

    def _split_at(self, values: VertexScalars) -> tuple["Cloth", Bool[np.ndarray, " F"]]:
        vertices, values = _snapped(self.vertices, self.faces, self.edges, values)
        vertices, faces, sources, values = _split(vertices, self.faces, values)
        return Cloth(vertices, faces, self.panels[sources], self.parts[sources]), values[faces].sum(axis=1) > 0

    def with_rings(self, loop: Int[np.ndarray, " L"], rings: Sequence[Points], *, part: int = 0) -> "Cloth":
        """Sew on rows of quads that start at an opening; the rows are one new panel, of `part`.

        Args:
            loop: The opening, as `loops` gives it.
            rings: Positions of each new row, outward, each (L, 3) in the order of `loop`.
        """
        count, size = len(self.vertices), len(loop)
        rows = np.concatenate([loop[None], count + np.arange(len(rings) * size).reshape(-1, size)])
        near, far = rows[:-1], rows[1:]
        # The opening runs along its triangles; the new ones must run against it.
        quads = np.stack([np.roll(near, -1, axis=1), near, far, np.roll(far, -1, axis=1)], axis=-1).reshape(-1, 4)
        vertices = np.concatenate([self.vertices, *rings])
        sewn = Cloth.of_quads(vertices, quads)
        return Cloth(
            vertices,
            np.concatenate([self.faces, sewn.faces]),
            np.concatenate([self.panels, sewn.panels + int(self.panels.max()) + 1]),
            np.concatenate([self.parts, sewn.parts + part]),
        )

    def joined(self, other: "Cloth") -> "Cloth":
        """Both, unconnected; the panels of `other` are new."""
        return Cloth(
            np.concatenate([self.vertices, other.vertices]),
            np.concatenate([self.faces, other.faces + len(self.vertices)]),
            np.concatenate([self.panels, other.panels + int(self.panels.max()) + 1]),
            np.concatenate([self.parts, other.parts]),
        )

    def evened(self, values: VertexScalars, *, rounds: int) -> VertexScalars:
        """Values smoothed over the cloth: each round halfway to the mean of the neighbours."""
        mean = self.umbrella()
        for _ in range(rounds):
            values = 0.5 * (values + mean @ values)
        return values

    def umbrella(self) -> csr_array:
        """Mean of a vertex's neighbours as a matrix, (V, V)."""
        return mean_of(self.edges, len(self.vertices))


def _half_edges(faces: Faces) -> Int[np.ndarray, "H 2"]:
    return faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)


def _keys(faces: Faces) -> Int[np.ndarray, " H"]:
    """One number per side of each triangle, the same for both directions: smaller end × KEY + larger end."""
    return _pair_keys(_half_edges(faces))


def _pair_keys(pairs: Int[np.ndarray, "H 2"]) -> Int[np.ndarray, " H"]:
    """One number per pair of vertices, whichever comes first."""
    return pairs.min(axis=1) * KEY + pairs.max(axis=1)


def mean_of(edges: Int[np.ndarray, "E 2"], count: int) -> csr_array:
    """Mean over the other ends of each vertex's edges; a vertex without edges keeps its value."""
    lonely = np.setdiff1d(np.arange(count), edges)
    rows = np.concatenate([edges[:, 0], edges[:, 1], lonely])
    columns = np.concatenate([edges[:, 1], edges[:, 0], lonely])
    degree = np.bincount(rows, minlength=count)
    return coo_array((1.0 / degree[rows], (rows, columns)), shape=(count, count)).tocsr()


def _snapped(
    vertices: Points, faces: Faces, edges: Int[np.ndarray, "E 2"], values: VertexScalars
) -> tuple[Points, VertexScalars]:
    """Vertices that lie within SNAP of an edge from the line, moved onto it along the nearest such edge.

    One corner of every triangle stays where it was, so that none falls flat onto the line.
    """
    moved, flat = vertices.copy(), values.copy()
    crossing = values[edges[:, 0]] * values[edges[:, 1]] < 0
    ends = np.concatenate([edges[crossing], edges[crossing][:, ::-1]])
    near, far = values[ends[:, 0]], values[ends[:, 1]]
    share = near / (near - far)
    kept = share < SNAP
    order = np.argsort(-share[kept], kind="stable")
    ends, share = ends[kept][order], share[kept][order]
    moved[ends[:, 0]] = vertices[ends[:, 0]] + share[:, None] * (vertices[ends[:, 1]] - vertices[ends[:, 0]])
    flat[ends[:, 0]] = 0.0
    fallen = faces[(flat[faces] == 0).all(axis=1)]
    back = fallen[np.arange(len(fallen)), np.abs(values[fallen]).argmax(axis=1)]
    moved[back], flat[back] = vertices[back], values[back]
    return moved, flat


def _split(
    vertices: Points, faces: Faces, values: VertexScalars
) -> tuple[Float[np.ndarray, "W 3"], Int[np.ndarray, "T 3"], Int[np.ndarray, " T"], Float[np.ndarray, " W"]]:
    """Triangles split along the line where `values` are zero; the new vertices lie on it.

    Returns:
        vertices, faces, the old triangle of each new one, values.
    """
    keys, inverse = np.unique(_keys(faces), return_inverse=True)
    unique = np.stack(np.divmod(keys, KEY), axis=1)
    crossing = values[unique[:, 0]] * values[unique[:, 1]] < 0
    number = np.full(len(unique), -1)
    number[crossing] = len(vertices) + np.arange(int(crossing.sum()))
    start, end = unique[crossing].T
    share = (values[start] / (values[start] - values[end]))[:, None]
    added = vertices[start] + share * (vertices[end] - vertices[start])
    middle = number[inverse.reshape(-1, 3)]  # of the edges 01, 12, 20
    count = (middle >= 0).sum(axis=1)
    out, sources = [faces[count == 0]], [np.flatnonzero(count == 0)]
    for turn in range(3):
        corner, mid = np.roll(faces, -turn, axis=1), np.roll(middle, -turn, axis=1)
        one = np.flatnonzero((count == 1) & (mid[:, 0] >= 0))
        c, m = corner[one], mid[one]
        out += [np.stack([c[:, 0], m[:, 0], c[:, 2]], axis=1), np.stack([m[:, 0], c[:, 1], c[:, 2]], axis=1)]
        two = np.flatnonzero((count == 2) & (mid[:, 1] < 0))  # the edges 01 and 20 cross: corner 0 stands alone
        c, m = corner[two], mid[two]
        out += [
            np.stack([c[:, 0], m[:, 0], m[:, 2]], axis=1),
            np.stack([m[:, 0], c[:, 1], c[:, 2]], axis=1),
            np.stack([m[:, 0], c[:, 2], m[:, 2]], axis=1),
        ]
        sources += [one, one, two, two, two]
    return (
        np.concatenate([vertices, added]),
        np.concatenate(out),
        np.concatenate(sources),
        np.concatenate([values, np.zeros(len(added))]),
    )
