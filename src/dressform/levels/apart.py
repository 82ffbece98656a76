"""How far a coarser level is from the finer, over shapes: outline and clearance, and where it pops."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float
from scipy.sparse import csr_array

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.body.shapes import Shape, label_of
from dressform.errors import MatchError
from dressform.faults.percentiles import percentiles
from dressform.fit.fit import Fit
from dressform.levels.outline import OutlineGap, farthest_apart
from dressform.mesh.geometry import face_areas, vertex_areas
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree

USUAL = 95.0
SAME = 1e-9


@dataclass(frozen=True, eq=False)
class ShapeApart:
    """Two levels on one shape.

    Attributes:
        shape: The shape, by the morphs of the coarser level's body.
        seen: How far their outlines are apart.
        pop: How much farther apart they are than as modelled, metres; 0 where they are nearer.
        clearance_usual: 95 % of the coarser cloth has a clearance that differs by no more than this, metres.
        clearance_most: Largest difference of the clearance, metres.
    """

    shape: Shape
    seen: OutlineGap
    pop: float
    clearance_usual: float
    clearance_most: float


@dataclass(frozen=True, eq=False)
class LevelsApart:
    """A level beside the next finer one.

    Attributes:
        modelled: How far their outlines are apart as they were modelled.
        rows: The two on each shape.
    """

    modelled: OutlineGap
    rows: tuple[ShapeApart, ...]

    @property
    def widest(self) -> ShapeApart:
        """The shape on which the outlines are farthest apart."""
        return max(self.rows, key=lambda row: row.seen.apart)

    @property
    def loosest(self) -> ShapeApart:
        """The shape on which clearances differ most on 95 % of the cloth."""
        return max(self.rows, key=lambda row: row.clearance_usual)

    @property
    def pop(self) -> float:
        """How much farther apart the outlines are on the worst shape than as modelled, metres."""
        return self.widest.pop


def levels_apart(finer: Fit, coarser: Fit, rows: csr_array, shapes: Iterable[Shape]) -> LevelsApart:
    """Compare a level with the next finer one over shapes.

    Args:
        finer: The finer level.
        coarser: The coarser one.
        rows: Matrix that reads the finer cloth at the vertices of the coarser; see `carry`.
        shapes: Shapes of the coarser level's body.

    Proof: tests/levels/test_apart.py, against closed forms of tubes
    """
    faces, count = coarser.garment.faces, len(coarser.base)
    middle = csr_array(
        (np.full(faces.size, 1.0 / 3.0), faces.ravel(), np.arange(0, faces.size + 1, 3)), shape=(len(faces), count)
    )
    modelled = farthest_apart((finer.garment.vertices, finer.garment.faces), (coarser.garment.vertices, faces))
    areas = np.concatenate([vertex_areas(coarser.base, faces), face_areas(coarser.base, faces)])
    found = []
    for shape in shapes:
        theirs = weights_for(finer.body, coarser.body, shape.weights)
        fine, coarse = finer.at(theirs), coarser.at(shape.weights)
        seen = farthest_apart((fine, finer.garment.faces), (coarse, faces))
        there = _clearance(finer.body, theirs, rows @ fine, middle)
        here = _clearance(coarser.body, shape.weights, coarse, middle)
        off = np.abs(here - there)
        (usual,) = percentiles(off, areas, [USUAL])
        pop = max(0.0, seen.apart - modelled.apart)
        found.append(ShapeApart(shape, seen, pop, usual, float(off.max())))
    return LevelsApart(modelled, tuple(found))


def shared_shapes(finer: Body, coarser: Body, ours: Sequence[Shape], theirs: Sequence[Shape]) -> list[Shape]:
    """Shapes of two levels by the morphs of the coarser, each once; those at a stance are left out.

    Args:
        finer: The finer level's body.
        coarser: The coarser level's.
        ours: Shapes of the coarser level's body.
        theirs: Shapes of the finer's.
    """
    rest = [weights_for(coarser, finer, one.weights) for one in theirs if one.stance is None]
    rest += [one.weights for one in ours if one.stance is None]
    found = {np.rint(weights / SAME).tobytes(): weights for weights in rest}
    return [Shape(label_of(coarser.range, weights), weights) for weights in found.values()]


def weights_for(body: Body, other: Body, weights: Float[np.ndarray, " K"]) -> Float[np.ndarray, " M"]:
    """The weights of a shape of one body for another, by the names of the morphs; those that are not there are 0."""
    known = dict(zip(other.morph_names, weights))
    return np.array([known.get(name, 0.0) for name in body.morph_names], dtype=np.float64)


def refuse_other_range(finer: Body, coarser: Body) -> None:
    """Refuse levels of a body that are no levels of one body.

    Raises:
        MatchError: they share no morph, or a morph that they share reaches elsewhere.
    """
    shared = [name for name in coarser.morph_names if name in finer.morph_names]
    advice = "Give bodies with the same morphs, by name, and the same range."
    if not shared:
        raise MatchError(
            f"fit_levels: `body` must hold levels of one body, got {coarser.name!r}, which shares no morph with "
            f"{finer.name!r}. {advice}"
        )
    for name in shared:
        here, there = (
            (one.range.low[at], one.range.high[at])
            for one, at in ((coarser, coarser.morph_names.index(name)), (finer, finer.morph_names.index(name)))
        )
        if not np.allclose(here, there):
            raise MatchError(
                f"fit_levels: `body` must hold levels of one range, got {name!r} from {here[0]:g} to {here[1]:g} on "
                f"{coarser.name!r} and from {there[0]:g} to {there[1]:g} on {finer.name!r}. {advice}"
            )


def _clearance(
    body: Body, weights: Weights, points: Float[np.ndarray, "C 3"], middle: csr_array
) -> Float[np.ndarray, " N"]:
    """Clearance of the cloth's vertices and of the middles of its triangles on one shape, metres."""
    tree = Tree(body.at(weights), body.faces)
    return signed_clearance(tree, np.concatenate([points, middle @ points]))[0]
