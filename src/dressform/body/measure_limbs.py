"""Where arms and legs leave the trunk: found on the bare surface, so that no skeleton is needed.

Two feet, swept by a rising level plane, first meet in the crotch; an arm, swept inward along the bisector of its own
direction and straight down, first meets the rest of the body in the armpit. Both are saddles of a height function,
and a saddle between two vertices is the highest point of the lowest path between them: an edge of a minimum spanning
tree. No threshold, no section and no pose enters, as long as the arms do not lie at the sides as one surface.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import breadth_first_order, connected_components, minimum_spanning_tree

from dressform.arrays import BodyPoints, Faces
from dressform.body.measure_shells import SHOULDER_HEIGHT, whole_body
from dressform.mesh.topology import edges

Pairs = Int[np.ndarray, "E 2"]

SIDES = {"left": 1.0, "right": -1.0}
"""The wearer's own sides, and the sign of X there."""

CORE_HALF_WIDTH = 0.03
"""Half the width of the strip around the middle that no limb enters, of stature."""

CROTCH_HEIGHTS = (0.33, 0.6)
ARMPIT_HEIGHTS = (0.66, 0.88)
SHORTEST_ARM = 0.2
"""Bounds of what can be a crotch, an armpit and an arm, of stature: outside them nothing is claimed."""


@dataclass(frozen=True)
class Limbs:
    """Parts of the body, which may be one shell or many.

    Attributes:
        shell: Triangles of the body, (F,).
        middle: X of the middle plane, metres.
        crotch: Vertex in the crotch, or None.
        legs: Triangles below the crotch, per side, (F,).
        armpits: Vertex in the armpit, per side.
        fingertips: Vertex of the arm farthest from the armpit, per side.
        arms: Triangles beyond the armpit, per side, (F,).
        core: Triangles of the shell near the middle plane, (F,).
        missing: Why a limb was not found, by `legs`, `left arm`, `right arm`.
    """

    shell: Bool[np.ndarray, " F"]
    middle: float
    crotch: int | None
    legs: Mapping[str, Bool[np.ndarray, " F"]]
    armpits: Mapping[str, int]
    fingertips: Mapping[str, int]
    arms: Mapping[str, Bool[np.ndarray, " F"]]
    core: Bool[np.ndarray, " F"]
    missing: Mapping[str, str]


def find_limbs(vertices: BodyPoints, faces: Faces) -> Limbs:
    """Separate arms and legs from the trunk of a standing body, +Y up, left = +X.

    Proof: tests/body/test_measure_limbs.py::test_crotch_and_armpits_of_the_phantom_are_where_its_parts_meet
    """
    whole = whole_body(vertices, faces)
    return _limbs_of(_Graph(vertices, faces[whole.faces], whole.bridges), faces, whole.faces)


def _limbs_of(graph: "_Graph", faces: Faces, shell: Bool[np.ndarray, " F"]) -> Limbs:
    """Limbs of the triangles of `shell`, whose edges are those of `graph`."""
    vertices = graph.vertices
    extent = vertices[graph.used]
    middle = float(extent[:, 0].min() + extent[:, 0].max()) / 2
    missing: dict[str, str] = {}
    soles = {side: _sole(graph, middle, sign) for side, sign in SIDES.items()}
    crotch = graph.pass_between(vertices[:, 1], soles["left"], soles["right"])
    height = (vertices[crotch, 1] - graph.lowest) / graph.stature
    legs: dict[str, Bool[np.ndarray, " F"]] = {}
    if CROTCH_HEIGHTS[0] < height < CROTCH_HEIGHTS[1]:
        for side, sole in soles.items():
            legs[side] = graph.piece(vertices[:, 1], vertices[crotch, 1], sole)[faces].all(axis=1) & shell
    else:
        missing["legs"] = f"the two legs meet at {height:.0%} of the stature, where no crotch can be"
    armpits, fingertips, arms = _find_arms(graph, middle, soles, missing)
    core = shell & (np.abs(vertices[faces, 0] - middle).max(axis=1) < CORE_HALF_WIDTH * graph.stature)
    return Limbs(
        shell,
        middle,
        crotch if legs else None,
        legs,
        armpits,
        fingertips,
        {side: arm[faces].all(axis=1) & shell for side, arm in arms.items()},
        core,
        missing,
    )


class _Graph:
    """The edges of the body, with two searches over the levels of a height function."""

    def __init__(self, vertices: BodyPoints, faces: Faces, bridges: Pairs) -> None:
        self.vertices = vertices
        # No bridge joins vertices that an edge joins: a sparse matrix would add up their weights.
        self.pairs = np.concatenate([edges(faces), bridges])
        self.used = np.unique(faces)
        self.lowest = float(vertices[self.used, 1].min())
        self.stature = float(np.ptp(vertices[self.used, 1]))

    def pass_between(self, heights: Float[np.ndarray, " B"], start: int, end: int) -> int:
        """The highest vertex of the path from `start` to `end` whose highest vertex is lowest."""
        count = len(self.vertices)
        # Ranks are positive and distinct, so no edge has weight 0 (which sparse graphs drop) and no two tie.
        ranks = np.argsort(np.argsort(heights, kind="stable")) + 1.0
        weights = ranks[self.pairs].max(axis=1)
        tree = minimum_spanning_tree(csr_array((weights, self.pairs.T.astype(np.int32)), shape=(count, count)))
        before = breadth_first_order(tree, start, directed=False)[1]
        path = [end]
        while path[-1] != start:
            path.append(int(before[path[-1]]))
        return path[int(np.argmax(ranks[path]))]

    def piece(self, heights: Float[np.ndarray, " B"], level: float, seed: int) -> Bool[np.ndarray, " B"]:
        """Vertices strictly below `level` that are connected with `seed`, (B,)."""
        count = len(self.vertices)
        inside = heights < level
        kept = self.pairs[inside[self.pairs].all(axis=1)]
        graph = coo_array((np.ones(len(kept)), (kept[:, 0], kept[:, 1])), shape=(count, count))
        labels = connected_components(graph, directed=False)[1]
        return inside & (labels == labels[seed])


def _sole(graph: _Graph, middle: float, sign: float) -> int:
    """Lowest vertex on one side of the middle plane."""
    side = graph.used[sign * (graph.vertices[graph.used, 0] - middle) > 0]
    return int(side[np.argmin(graph.vertices[side, 1])])


def _find_arms(
    graph: _Graph, middle: float, soles: Mapping[str, int], missing: dict[str, str]
) -> tuple[dict[str, int], dict[str, int], dict[str, Bool[np.ndarray, " B"]]]:
    """Armpit, fingertip and vertices of each arm; reasons go to `missing`."""
    vertices, stature = graph.vertices, graph.stature
    armpits: dict[str, int] = {}
    fingertips: dict[str, int] = {}
    arms: dict[str, Bool[np.ndarray, " B"]] = {}
    for side, sign in SIDES.items():
        outermost = int(graph.used[np.argmax(sign * vertices[graph.used, 0])])
        outward = sweep_direction(vertices[outermost], middle, graph.lowest + SHOULDER_HEIGHT * stature)
        inward = -(vertices @ outward)
        armpit = graph.pass_between(inward, outermost, soles[side])
        arm = graph.piece(inward, inward[armpit], outermost)
        height = (vertices[armpit, 1] - graph.lowest) / stature
        away = np.where(arm, np.linalg.norm(vertices - vertices[armpit], axis=1), 0.0)
        reach = float(away.max())
        if ARMPIT_HEIGHTS[0] < height < ARMPIT_HEIGHTS[1] and reach > SHORTEST_ARM * stature:
            armpits[side], arms[side], fingertips[side] = armpit, arm, int(np.argmax(away))
        else:
            missing[f"{side} arm"] = (
                f"no arm leaves the {side} side of the trunk: what reaches out farthest joins it at "
                f"{height:.0%} of the stature"
            )
    return armpits, fingertips, arms


def sweep_direction(hand: Float[np.ndarray, "3"], middle: float, shoulder: float) -> Float[np.ndarray, "3"]:
    """Unit bisector of the arm's direction and straight down: it meets the crease of the armpit head-on."""
    along = np.array([hand[0] - middle, hand[1] - shoulder, 0.0])
    along /= np.linalg.norm(along)
    bisector = along + np.array([0.0, -1.0, 0.0])
    return bisector / np.linalg.norm(bisector)
