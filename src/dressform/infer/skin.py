"""The skin of any shape as a garment sees it: clearance, how it changes with every weight, and hollows."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import ClothPoints, Weights
from dressform.body.body import Body
from dressform.infer.kernels import farthest_points, hollow_depths, overhangs
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.nearest import Closest, closest, signed_clearance
from dressform.mesh.tree import Tree

SPREAD_SKIN = 2000  # points of the skin that are searched for hollows
HOLLOW_REACH = 0.15  # metres; skin farther away spans no hollow here
HOLLOW_BALL = 0.4  # metres; radius of the ball that rolls over the skin without entering hollows
HANG_REACH, HANG_ASIDE, MAX_HANG = 0.6, 0.05, 0.1  # metres above, beside and out to which skin carries hanging cloth
FACING = 0.2  # least cosine between two normals on one side of the body
TOUCHING = 1e-3  # metres; nearer than this the normal of the triangle gives the outward direction


@dataclass(frozen=True)
class SkinView:
    """One shape as seen from points of a garment.

    Attributes:
        clearance: Signed distance from the skin, outward positive, metres, (N,).
        slopes: How far the skin under each point comes nearer per unit of each weight, metres, (N, K).
        normals: Unit outward direction at the feet, (N, 3).
        feet: Closest points of the skin, (N, 3), metres.
    """

    clearance: Float[np.ndarray, " N"]
    slopes: Float[np.ndarray, "N K"]
    normals: Float[np.ndarray, "N 3"]
    feet: Float[np.ndarray, "N 3"]


class ShapedSkin:
    """A body whose shapes are measured from points of cloth.

    Attributes:
        body: The body.
        tree: Its triangles at the base.
        spread: Vertices spread evenly over it, (S,).
    """

    body: Body
    tree: Tree
    spread: Int[np.ndarray, " S"]

    def __init__(self, body: Body) -> None:
        self.body = body
        self.tree = Tree(body.vertices, body.faces)
        self.spread = spread_points(body.vertices, SPREAD_SKIN)

    def look(self, points: ClothPoints, weights: Weights) -> SkinView:
        """The shape at `weights` as seen from `points`."""
        tree = self.tree.refit(self.body.at(weights))
        clearance, found = signed_clearance(tree, points)
        far = np.abs(clearance) > TOUCHING
        outward = (points - found.points) / np.where(far, clearance, np.inf)[:, None]
        normals = np.where(far[:, None], outward, tree.pseudonormals[2][found.faces])
        return SkinView(clearance, self._slopes(found, normals), normals, found.points)

    def hollows(self, look: SkinView, weights: Weights) -> Float[np.ndarray, " N"]:
        """How deep each foot lies behind what stands out around it on the shape at `weights`, metres, (N,).

        Cloth lies on what stands out and spans what lies behind. The depth is how far a ball of radius ρ that touches
        the skin there is entered by other skin: max over skin points q near the foot p, with normal n,
        of (q − p) · n − |q − p|² / 2ρ. Zero wherever the ball can stand, as on everything convex.

        Proof: tests/infer/test_skin.py::test_a_dent_is_as_hollow_as_it_is_deep
        """
        shape = self.body.at(weights)
        normals = vertex_normals(shape, self.body.faces)
        return hollow_depths(
            look.feet, look.normals, shape[self.spread], normals[self.spread], HOLLOW_REACH, HOLLOW_BALL, FACING
        )

    def overhangs(self, look: SkinView, weights: Weights) -> Float[np.ndarray, " N"]:
        """How far skin above each foot stands out beyond it on the shape at `weights`, metres, (N,).

        Cloth that hangs falls straight from what stands out above: from the seat, the hips, the bust.

        Proof: tests/infer/test_skin.py::test_a_cone_overhangs_its_foot_by_its_slope
        """
        shape = self.body.at(weights)
        normals = vertex_normals(shape, self.body.faces)
        skin = shape[self.spread], normals[self.spread]
        return overhangs(look.feet, look.normals, *skin, HANG_REACH, HANG_ASIDE, MAX_HANG, FACING)

    def nearest_points(self, points: ClothPoints) -> Float[np.ndarray, "N 3"]:
        """Point of the base body nearest to each point, metres, (N, 3)."""
        return closest(self.tree, points).points

    def carried(self, points: ClothPoints) -> Float[np.ndarray, " K"]:
        """Mean distance by which each morph moves the skin under `points` at weight 1, metres, (K,)."""
        nearest = self.tree.faces[closest(self.tree, points).faces, 0]
        return np.linalg.norm(self.body.deltas[:, nearest], axis=2).mean(axis=1)

    def _slopes(self, found: Closest, normals: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, "N K"]:
        """Move of every morph at the feet along the outward direction."""
        corners = self.body.faces[found.faces]
        slopes = np.zeros((len(corners), len(self.body.deltas)))
        for morph, delta in enumerate(self.body.deltas):
            slopes[:, morph] = np.einsum("nc,ncx,nx->n", found.barycentric, delta[corners], normals)
        return slopes


def spread_points(points: Float[np.ndarray, "V 3"], count: int) -> Int[np.ndarray, " S"]:
    """Indices of at most `count` points spread evenly in space, starting with the farthest from the centre.

    The same points, in whatever order they come, give the same choice (up to ties).
    """
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    start = int(np.argmax(((points - middle) ** 2).sum(axis=1)))
    return farthest_points(np.ascontiguousarray(points), min(count, len(points)), start)
