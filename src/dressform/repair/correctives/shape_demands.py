"""What single shapes ask at a stance: cloth that must be lifted off its own skin, and skin that must be covered."""

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import Weights
from dressform.faults.skin.hidden_skin import NEAR_HALF, OFF_BODY, cone_directions, thickness
from dressform.fit.contact import blended_maps, closed
from dressform.mesh.nearest import closest
from dressform.mesh.rays import blocked, first_hit
from dressform.mesh.tree import Tree
from dressform.proof.at_stance import PosedPair
from dressform.proof.folds import folding_at
from dressform.proof.linear_mesh import LinearMesh
from dressform.repair.clear.programme import Constraints
from dressform.repair.correctives.shapes_asked import (
    ShapeOfBody,
    Shortage,
    deepest_corners,
    frames_of,
    threatening_corners,
    unit,
)

OWN_REACH = 0.10
"""Skin nearer than this to the foot, at rest on the shape, is the cloth's own, metres, and nearer than half of the
body's thickness there: the skin of one finger is not that of the next."""
MOST_SHAPES = 32
"""Shapes that are looked at; each is kept once it was found."""
NEARLY = 5e-4
"""What is this near to falling short is held too, metres."""
ASKED_MORE = 1e-4
TOO_DEEP = 0.03
"""What falls short by more than this is not asked for, metres: other skin is nearest there."""
OVER = 0.05
"""Skin farther than this from the cloth at rest is not taken for covered, metres."""
FACING = 0.5
"""Nor is skin whose normal makes less than this cosine with the way to the cloth."""
SKIN_KEYS = 2**30
"""Keys of demands that cover skin start here, above those of vertices."""

Asked = tuple[Constraints, Int[np.ndarray, " _"]]
"""Demands and their keys."""


@dataclass(eq=False)
class ShapeDemands:
    """Cloth that single shapes press under its own skin at one stance; what was asked once is held.

    A bound over the whole range asks along one direction for all shapes, and at a strong bend the skin of large and
    lean shapes faces different ways: so it asks for centimetres where each shape alone asks for millimetres.

    Attributes:
        pair: Body and cloth at the stance.
        start: The cloth there without any displacement.
        vertices: Cloth vertices that are looked at.
        room: What each cloth vertex must keep, (G,), metres.
        shapes: The base and the corners of the range looked at.
    """

    pair: PosedPair
    start: LinearMesh
    vertices: Int[np.ndarray, " N"]
    room: Float[np.ndarray, " G"]
    shapes: list[ShapeOfBody] = field(default_factory=list)

    def look(self, cloth: LinearMesh) -> None:
        """Add the corners of the range that press the cloth, as it is now, deepest."""
        box = self.pair.case.box
        asked = [np.zeros(len(box.low)), box.high, box.low] if not self.shapes else []
        asked += threatening_corners(self.pair, cloth, self.vertices)
        asked += [corner for shape in self.shapes[:] for corner in self._barest(shape, cloth)]
        for weights in asked:
            known = any(np.array_equal(one.weights, weights) for one in self.shapes)
            if not known and len(self.shapes) < MOST_SHAPES:
                self.shapes.append(self._shape(weights))

    def demands(self, cloth: LinearMesh) -> tuple[list[Asked], Shortage]:
        """What the shapes ask of the cloth as it is now, two sets a shape, and what falls short."""
        found, depths = [], []
        for shape in self.shapes:
            for asked, lack in (self._lifts(shape, cloth), self._covers(shape, cloth)):
                found.append(asked)
                depths.append(lack)
        return found, Shortage.of(np.concatenate(depths))

    def _shape(self, weights: Weights) -> ShapeOfBody:
        pair = self.pair
        tree = pair.body.tree.refit(pair.body.at(weights))
        unfolded = folding_at(pair.case.body, pair.body, blended_maps(pair.body_maps, pair.body.faces), weights) > 0
        rest = pair.case.body.at(weights)
        outward = unit(tree.pseudonormals[0])
        return ShapeOfBody(
            weights, tree, rest, outward, unfolded, self._open(tree, outward), np.zeros(len(self.room), dtype=bool),
            np.zeros(len(tree.vertices), dtype=bool),
        )  # fmt: skip

    def _barest(self, shape: ShapeOfBody, cloth: LinearMesh) -> list[Weights]:
        """The corner of the range that lays most skin barest, by the lines along which one shape was looked at."""
        if shape.lines is None:
            return []
        skin, corners, ways, heights = shape.lines
        terms = cloth.terms[corners].mean(axis=1) - self.pair.body.terms[skin]
        along = np.einsum("hmx,hx->hm", terms, ways)
        along[:, 0] += heights - along[:, 0] - along[:, 1:] @ shape.weights
        return deepest_corners(self.pair.case.box, along, most=1)

    def _lifts(self, shape: ShapeOfBody, cloth: LinearMesh) -> tuple[Asked, Float[np.ndarray, " A"]]:
        """Cloth vertices under their own skin, lifted off the skin nearest to them."""
        tree, at = shape.tree, self.vertices
        now = cloth.at(shape.weights)[at]
        found = closest(tree, now)
        outward = unit(np.einsum("sc,scx->sx", found.barycentric, shape.outward[tree.faces[found.faces]]))
        signed = np.copysign(found.distances, np.einsum("sx,sx->s", now - found.points, outward))
        short = self.room[at] - signed
        asked = np.flatnonzero((short > -NEARLY) | shape.lifted[at])
        asked = asked[(short[asked] < TOO_DEEP) & self._own(shape, at[asked], found.faces[asked])]
        shape.lifted[at[asked[short[asked] > 0]]] = True
        vertex, normals = at[asked], outward[asked]
        height = np.einsum("sx,sx->s", self.start.at(shape.weights)[vertex] - found.points[asked], normals)
        rows = self._rows(vertex, normals, height, self.room[vertex] + ASKED_MORE)
        return (rows, vertex), short[asked]

    def _covers(self, shape: ShapeOfBody, cloth: LinearMesh) -> tuple[Asked, Float[np.ndarray, " A"]]:
        """Skin before the cloth that hid it: the triangle behind each of its vertices is lifted.

        A line along the skin's normal tells what lies before it, and behind it. The point of the cloth nearest to it
        would not: in a hollow that may lie beside it, below its tangent plane, and cover it all the same.
        """
        now = cloth.at(shape.weights)
        tree, skin, faces = cloth.tree.refit(now), self._hidden, self.pair.case.fit.garment.faces
        points, normals = shape.tree.vertices[skin], shape.outward[skin]
        above, below = first_hit(tree, points, normals, far=OVER), first_hit(tree, points, -normals, far=self._depth)
        bare = ~above.blocked
        height = np.where(bare, -below.distances, above.distances)
        corners = faces[np.where(bare, below.faces, above.faces)]
        needed = self.room[corners].min(axis=1)
        short = needed - height
        met = above.blocked | below.blocked
        shape.lines = (skin[met], corners[met], normals[met], height[met])
        asked = np.flatnonzero(met & ((short > -NEARLY) | shape.covered[skin]))
        asked = asked[self._own(shape, corners[asked, 0], self._around[skin[asked]])]
        shape.covered[skin[asked[short[asked] > 0]]] = True
        row, corner = np.nonzero(np.isin(corners[asked], self.vertices))
        vertex, ways = corners[asked][row, corner], normals[asked][row]
        moved = np.einsum("sx,sx->s", self.start.at(shape.weights)[vertex] - now[vertex], ways)
        rows = self._rows(vertex, ways, moved, short[asked][row] + ASKED_MORE)
        keys = SKIN_KEYS + 3 * skin[asked][row] + corner
        return (rows, keys), short[asked]

    def _rows(
        self,
        vertex: Int[np.ndarray, " R"],
        normals: Float[np.ndarray, "R 3"],
        height: Float[np.ndarray, " R"],
        needed: Float[np.ndarray, " R"],
    ) -> Constraints:
        """Demands along directions at the stance as demands on a displacement at rest."""
        back = np.einsum("sij,si->sj", self.pair.maps[vertex, :, :3], normals)
        length = np.maximum(np.linalg.norm(back, axis=1), 1e-12)
        return Constraints(vertex, back / length[:, None], (height / length)[:, None], needed / length)

    def _own(
        self, shape: ShapeOfBody, vertices: Int[np.ndarray, " N"], faces: Int[np.ndarray, " N"]
    ) -> Bool[np.ndarray, " N"]:
        """Whether faces of the body are skin of the cloth's own that counts, (N,).

        It lies near the feet of cloth vertices, and is seen past the body, or neither folded nor closed with the feet.
        """
        body, feet = self.pair.case.body, self.pair.case.feet
        on, share = feet.faces[vertices], feet.barycentric[vertices]
        foot = np.einsum("vc,vcx->vx", share, shape.rest[body.faces[on]])
        apart = np.linalg.norm(shape.rest[body.faces[faces]].mean(axis=1) - foot, axis=1)
        clear = shape.unfolded[faces] & shape.unfolded[on]
        clear &= ~closed(shape.rest, shape.tree.vertices, body.faces, (on, share), faces)
        return (apart < self._reach[on]) & (clear | shape.open[faces])

    def _open(self, tree: Tree, normals: Float[np.ndarray, "B 3"]) -> Bool[np.ndarray, " F"]:
        """Triangles of the body with a corner that the cloth hides at rest and that is seen past the body, (F,)."""
        skin = self._hidden
        frames = frames_of(normals[skin])
        ways = np.einsum("da,nax->ndx", cone_directions(), frames).reshape(-1, 3)
        origins = np.repeat(tree.vertices[skin], len(cone_directions()), axis=0)
        free = ~blocked(tree, origins, ways, near=OFF_BODY).blocked
        seen = np.zeros(len(tree.vertices), dtype=bool)
        seen[skin] = free.reshape(len(skin), -1).any(axis=1)
        return seen[tree.faces].any(axis=1)

    @cached_property
    def _reach(self) -> Float[np.ndarray, " F"]:
        """Skin nearer than this to a triangle of the body is one with it, (F,), metres."""
        body, found = self.pair.case.body, np.full(len(self.pair.case.body.terms), OWN_REACH)
        found[self._hidden] = np.minimum(self._halves, OWN_REACH)
        return found[body.faces].min(axis=1)

    @cached_property
    def _depth(self) -> Float[np.ndarray, " H"]:
        """Cloth is looked for so deep under each vertex that it covers, (H,), metres."""
        return np.minimum(self._halves, TOO_DEEP)

    @cached_property
    def _halves(self) -> Float[np.ndarray, " H"]:
        """Half of the body's thickness at each vertex that the cloth covers, at the base, at rest, (H,), metres."""
        tree = self.pair.case.body.tree
        return NEAR_HALF * thickness(tree, tree.vertices[self._hidden], -unit(tree.pseudonormals[0][self._hidden]))

    @cached_property
    def _around(self) -> Int[np.ndarray, " B"]:
        """A face at each vertex of the body, (B,)."""
        faces = self.pair.case.body.faces
        found = np.zeros(len(self.pair.case.body.terms), dtype=np.int64)
        found[faces] = np.arange(len(faces))[:, None]
        return found

    @cached_property
    def _hidden(self) -> Int[np.ndarray, " H"]:
        """Vertices of the body that the vertices looked at cover at rest, at the base."""
        body, cloth = self.pair.case.body, self.pair.case.cloth
        found = closest(cloth.tree, body.tree.vertices, within=OVER)
        near = np.flatnonzero(found.faces >= 0)
        near = near[np.isin(cloth.faces[found.faces[near]], self.vertices).any(axis=1)]
        way = found.points[near] - body.tree.vertices[near]
        height = np.einsum("sx,sx->s", way, unit(body.tree.pseudonormals[0][near]))
        return near[height > FACING * found.distances[near]]
