"""The referee: skin that shows, counted on a rendering and not by the measures of `dressform.faults`.

Body and garment are looked at along `VIEWS` parallel directions spread over the sphere. Points lie evenly on the skin
of the shape; each is asked in the views within 60° of its normal. It should be hidden where the garment hides it, at
the base, in more than half of the views in which the bare body shows it. It has come through where, on another shape,
some view that the garment closed at the base shows it in front of the garment: the line of sight, followed into the
body, meets cloth within `BEHIND` before it leaves the body again, and did not at the base; and that cloth lay before
this skin at the base. At the base a view is asked as it lies to the same skin: the flank of a swelling, or a bent arm,
has turned. What is seen over the edge of a heel or collar at the base is nothing new from there. So a hem that slides
is told apart from cloth that sinks in, and the far wall of a shoe from the near one. What a point stands for is counted
whole.

Rays and insides are libigl's; nothing is shared with the code that is judged but arrays of vertices and triangles.
"""

from dataclasses import dataclass
from functools import cached_property

import igl
import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.spatial import cKDTree

VIEWS = 200
SPACING = 0.003  # metres between points of skin
OFF = 2e-4  # metres: a ray starts so far off the skin
OFF_BODY = 1e-3  # metres: skin next to a crease is not its own cover
BEHIND = 0.05  # metres
BEFORE, OWN = 0.3, 0.01  # cosine, metres: cloth lay before skin in a cone about its normal, or on it
NEAR = 0.05  # metres: skin farther from cloth that lies inside has not come through it
CLOTH_SPACING = 0.003  # metres between points of cloth that are asked for whether they lie inside
BLOCK = 400_000  # rays at once
MOST = 0.5
FACING = 0.5  # cosine: a view that sees skin more obliquely shows less than half of it, and is not asked
ABOVE = 0.9  # cosine: skin whose nearest cloth stands so steeply above it is covered and isn't asked further


@dataclass(frozen=True)
class Mesh:
    """Triangles, and libigl's tree of them."""

    vertices: Float[np.ndarray, "V 3"]
    faces: Int[np.ndarray, "F 3"]

    @cached_property
    def tree(self) -> igl.AABB:
        """The tree."""
        tree = igl.AABB()
        tree.init(self.vertices, self.faces)
        return tree

    def distance(
        self, origins: Float[np.ndarray, "N 3"], ways: Float[np.ndarray, "N 3"], *, near: float
    ) -> Float[np.ndarray, " N"]:
        """Distance to the first triangle that each ray meets beyond `near`, metres; infinite where none is."""
        out = np.full(len(origins), np.inf)
        for start in range(0, len(origins), BLOCK):
            part = slice(start, start + BLOCK)
            begun = origins[part] + near * ways[part]
            face, length, _ = self.tree.intersect_ray_first(self.vertices, self.faces, begun, ways[part])
            out[part] = np.where(face >= 0, length + near, np.inf)
        return out


def views(count: int = VIEWS) -> Float[np.ndarray, "D 3"]:
    """Unit directions on a spiral that covers the sphere evenly, (D, 3)."""
    step = np.arange(count)
    height = 1.0 - (2.0 * step + 1.0) / count
    turn = step * np.pi * (3.0 - np.sqrt(5.0))
    flat = np.sqrt(1.0 - height**2)
    return np.stack([flat * np.cos(turn), height, flat * np.sin(turn)], axis=1)


def spread_points(
    vertices: Float[np.ndarray, "V 3"], faces: Int[np.ndarray, "F 3"], spacing: float
) -> tuple[Int[np.ndarray, " N"], Float[np.ndarray, "N 3"]]:
    """Triangle and barycentric coordinates of about one point per `spacing`², at random, at least one a triangle."""
    chance = np.random.default_rng(1)
    corners = vertices[faces]
    areas = 0.5 * np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
    which = np.repeat(np.arange(len(faces)), np.maximum(np.ceil(areas / spacing**2), 1).astype(np.int64))
    a, b = chance.random(len(which)), chance.random(len(which))
    root = np.sqrt(a)
    return which, np.stack([1.0 - root, root * (1.0 - b), root * b], axis=1)


@dataclass(frozen=True)
class Count:
    """What the referee sees on one shape, m².

    Attributes:
        through: Skin that should be hidden and is seen before the garment.
        points: How many points of skin that is.
    """

    through: float
    points: int


class Referee:
    """Counts skin that shows, for one garment.

    Args:
        body, faces: The base body, (B, 3) metres, and its triangles.
        cloth, cloth_faces: The garment at the base.
    """

    def __init__(
        self,
        body: Float[np.ndarray, "B 3"],
        faces: Int[np.ndarray, "F 3"],
        cloth: Float[np.ndarray, "G 3"],
        cloth_faces: Int[np.ndarray, "C 3"],
    ) -> None:
        self.body = Mesh(np.ascontiguousarray(body), np.ascontiguousarray(faces, dtype=np.int64))
        self.cloth = Mesh(np.ascontiguousarray(cloth), np.ascontiguousarray(cloth_faces, dtype=np.int64))
        self.cloth_which, self.cloth_shares = spread_points(self.cloth.vertices, self.cloth.faces, CLOTH_SPACING)
        self.ways = views()

    def count(self, body: Float[np.ndarray, "B 3"], cloth: Float[np.ndarray, "G 3"]) -> Count:
        """Count on one shape, at rest or at a stance."""
        now, clad = (
            Mesh(np.ascontiguousarray(body), self.body.faces),
            Mesh(np.ascontiguousarray(cloth), self.cloth.faces),
        )
        self.which, self.shares = spread_points(now.vertices, now.faces, SPACING)
        asked = self._near_inside(now, clad)
        if not asked.size:
            return Count(0.0, 0)
        row, view = np.nonzero(self._front(now, asked))
        here, ways = self._points(now, asked)[row], self.ways[view]
        keep = np.isinf(clad.distance(here, ways, near=OFF))
        keep[keep] = np.isinf(now.distance(here[keep], ways[keep], near=OFF_BODY))
        keep[keep] = self._own_behind(now, clad, asked[row[keep]], here[keep], ways[keep])
        row, view = row[keep], view[keep]
        there, ways = self._points(self.body, asked)[row], self._turned_back(now, asked[row], self.ways[view])
        shut = np.isfinite(self.cloth.distance(there, ways, near=OFF))
        shut[shut] = ~_behind(self.body, self.cloth, there[shut], ways[shut])
        seen = np.unique(row[shut])
        seen = seen[self._hidden(asked[seen])]
        return Count(float(self._worth(now, asked[seen]).sum()), len(seen))

    def _own_behind(
        self,
        now: Mesh,
        clad: Mesh,
        asked: Int[np.ndarray, " N"],
        points: Float[np.ndarray, "N 3"],
        ways: Float[np.ndarray, "N 3"],
    ) -> Bool[np.ndarray, " N"]:
        """As `_behind`, where the cloth behind lay before that skin at the base: not a shoe's other wall."""
        found = _behind(now, clad, points, ways)
        rows = np.flatnonzero(found)
        face, length, _ = clad.tree.intersect_ray_first(clad.vertices, clad.faces, points[rows], -ways[rows])
        shares = _shares(clad, face, points[rows] - length[:, None] * ways[rows])
        there, outward = self._points(self.body, asked[rows]), self._crosses(self.body, asked[rows])
        away = np.einsum("nc,ncx->nx", shares, self.cloth.vertices[self.cloth.faces[face]]) - there
        lengths = np.linalg.norm(away, axis=1)
        before = np.einsum("nx,nx->n", away, outward) > BEFORE * lengths * np.linalg.norm(outward, axis=1)
        found[rows] = before | (lengths < OWN)
        return found

    def _turned_back(
        self, now: Mesh, asked: Int[np.ndarray, " N"], ways: Float[np.ndarray, "N 3"]
    ) -> Float[np.ndarray, "N 3"]:
        """Ways from the skin of a shape as they lie to the same skin at the base."""
        here, there = (self._frames(mesh, asked) for mesh in (now, self.body))
        return np.ascontiguousarray(np.einsum("nai,na->ni", there, np.einsum("nai,ni->na", here, ways)))

    def _frames(self, mesh: Mesh, asked: Int[np.ndarray, " N"]) -> Float[np.ndarray, "N 3 3"]:
        """Rows along the first side of each point's triangle, across it, and along its normal."""
        corners = mesh.vertices[mesh.faces[self.which[asked]]]
        along, up = corners[:, 1] - corners[:, 0], self._crosses(mesh, asked)
        along, up = (each / np.maximum(np.linalg.norm(each, axis=1, keepdims=True), 1e-12) for each in (along, up))
        return np.stack([along, np.cross(up, along), up], axis=1)

    def _points(self, mesh: Mesh, asked: Int[np.ndarray, " N"]) -> Float[np.ndarray, "N 3"]:
        return np.einsum("nc,ncx->nx", self.shares[asked], mesh.vertices[mesh.faces[self.which[asked]]])

    def _crosses(self, mesh: Mesh, asked: Int[np.ndarray, " N"]) -> Float[np.ndarray, "N 3"]:
        corners = mesh.vertices[mesh.faces[self.which[asked]]]
        return np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])

    def _front(self, mesh: Mesh, asked: Int[np.ndarray, " N"]) -> Bool[np.ndarray, "N D"]:
        """Views that see the skin of each point within 60° of its normal."""
        crosses = self._crosses(mesh, asked)
        return np.asarray(crosses @ self.ways.T > FACING * np.linalg.norm(crosses, axis=1, keepdims=True))

    def _worth(self, mesh: Mesh, asked: Int[np.ndarray, " N"]) -> Float[np.ndarray, " N"]:
        """Area of the shape that each point stands for, m²."""
        counts = np.bincount(self.which, minlength=len(mesh.faces))
        return 0.5 * np.linalg.norm(self._crosses(mesh, asked), axis=1) / counts[self.which[asked]]

    def _near_inside(self, now: Mesh, clad: Mesh) -> Int[np.ndarray, " N"]:
        """Points of skin near cloth that lies inside the body: no others can have come through."""
        corners = clad.vertices[clad.faces[self.cloth_which]]
        cloth = np.einsum("nc,ncx->nx", self.cloth_shares, corners)
        inside = cloth[igl.fast_winding_number(now.vertices, now.faces, cloth) > MOST]
        if not len(inside):
            return np.zeros(0, dtype=np.int64)
        points = self._points(now, np.arange(len(self.which)))
        away, _ = cKDTree(inside).query(points, distance_upper_bound=NEAR)
        near = np.flatnonzero(np.isfinite(away))
        _, _, nearest = clad.tree.squared_distance(clad.vertices, clad.faces, points[near])
        offset, outward = nearest - points[near], self._crosses(now, near)
        steep = np.einsum("nx,nx->n", offset, outward)
        lengths = np.linalg.norm(offset, axis=1) * np.linalg.norm(outward, axis=1)
        return near[steep < ABOVE * lengths]

    def _hidden(self, asked: Int[np.ndarray, " N"]) -> Bool[np.ndarray, " N"]:
        """Whether the garment hides each point at the base in most views in which the bare body shows it."""
        row, view = np.nonzero(self._front(self.body, asked))
        points, ways = self._points(self.body, asked)[row], self.ways[view]
        free = np.isinf(self.body.distance(points, ways, near=OFF_BODY))
        covered = np.zeros_like(free)
        covered[free] = np.isfinite(self.cloth.distance(points[free], ways[free], near=OFF))
        return np.bincount(row[covered], minlength=len(asked)) > MOST * np.bincount(row[free], minlength=len(asked))


def _shares(mesh: Mesh, face: Int[np.ndarray, " N"], points: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, "N 3"]:
    """Barycentric coordinates of points in triangles."""
    a, b, c = (np.ascontiguousarray(mesh.vertices[mesh.faces[face, corner]]) for corner in range(3))
    return np.asarray(igl.barycentric_coordinates(points, a, b, c)).reshape(-1, 3)


def _behind(
    body: Mesh, cloth: Mesh, points: Float[np.ndarray, "N 3"], ways: Float[np.ndarray, "N 3"]
) -> Bool[np.ndarray, " N"]:
    """Whether cloth lies behind each point in its view, before the line leaves the body."""
    depth = cloth.distance(points, -ways, near=0.0)
    found = depth < BEHIND
    found[found] = depth[found] < body.distance(points[found], -ways[found], near=OFF)
    return np.asarray(found)
