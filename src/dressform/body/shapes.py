"""Which shapes to check: the base, the ends of every morph, pairs of the strongest, and a Sobol sample."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from jaxtyping import Float
from scipy.stats import qmc

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.shape_settings import DEFAULT_SOBOL as DEFAULT_SOBOL
from dressform.body.shape_settings import DEFAULT_STRONGEST as DEFAULT_STRONGEST
from dressform.body.shape_settings import MAX_SHAPES as MAX_SHAPES
from dressform.body.shape_settings import ShapeSettings as ShapeSettings
from dressform.body.stance import Stance
from dressform.errors import ArgumentError
from dressform.mesh.geometry import vertex_areas

BASE_LABEL = "base"
SOBOL_SEED = 20
SAME_WEIGHT = 1e-9


@dataclass(frozen=True)
class Shape:
    """One set of weights, with a name that a person can read, at rest or at a stance.

    Attributes:
        label: For instance `belly=1 hips=0.5`, `sobol 17`, `worst 2`.
        weights: One per morph of the body, (K,).
        stance: How the body stands; None at rest.
    """

    label: str
    weights: Weights
    stance: Stance | None = None


def label_of(box: Range, weights: Weights) -> str:
    """Label of a shape by its weights that are not 0: `belly=1 hips=0.5`; `base` where all are 0."""
    parts = [f"{name}={weight:.4g}" for name, weight in zip(box.names, weights) if abs(weight) > SAME_WEIGHT]
    return " ".join(parts) or BASE_LABEL


def shape_at_base(box: Range) -> Shape:
    """The shape at weight 0, or the nearest to it that a wearer may reach."""
    weights = box.clip(np.zeros(len(box.names)))
    return Shape(label_of(box, weights), weights)


def end_shapes(box: Range) -> list[Shape]:
    """Each morph alone at its low and at its high end, the others as at the base."""
    return _at_ends(box, [(morph,) for morph in range(len(box.names))])


def pair_shapes(body: Body, *, strongest: int = DEFAULT_STRONGEST) -> list[Shape]:
    """All pairs of the `strongest` morphs at all four combinations of their ends, the others as at the base.

    Raises:
        ArgumentError: more than `MAX_SHAPES` shapes would come of it.
    """
    few = min(strongest, len(body.morph_names))
    if 2 * few * (few - 1) > MAX_SHAPES:
        rule = f"so few that their pairs have at most {MAX_SHAPES:,} shapes"
        raise ArgumentError.of("pair_shapes", "strongest", rule, f"{strongest:,}", "Ask for fewer morphs")
    order = np.argsort(-morph_strengths(body), kind="stable")[:strongest]
    return _at_ends(body.range, list(combinations(sorted(int(morph) for morph in order), 2)))


def morph_strengths(body: Body) -> Float[np.ndarray, " K"]:
    """Moved area times the distance it moves, at the farther end of each morph's interval, (K,), m³."""
    reach = np.maximum(np.abs(body.range.low), np.abs(body.range.high))
    areas = vertex_areas(body.vertices, body.faces)
    return np.linalg.norm(body.deltas, axis=2) @ areas * reach


def sobol_shapes(box: Range, count: int, *, seed: int = SOBOL_SEED) -> list[Shape]:
    """A scrambled Sobol sample of the range: the same for the same seed, even in space for every `count`.

    The sample of a smaller count is the beginning of the sample of a larger one.

    Raises:
        ArgumentError: `count` is negative or above `MAX_SHAPES`.
    """
    if not 0 <= count <= MAX_SHAPES:
        rule = f"0 to {MAX_SHAPES:,}"
        raise ArgumentError.of("sobol_shapes", "count", rule, f"{count:,}", "Ask for fewer shapes")
    if count == 0 or not box.names:
        return []
    sampler = qmc.Sobol(len(box.names), scramble=True, rng=seed)
    # Whole powers of two keep the balance of the sequence; the rest of the last block is left out.
    unit = sampler.random_base2(int(np.ceil(np.log2(count))))[:count]
    return [Shape(f"sobol {index + 1}", box.low + box.widths * point) for index, point in enumerate(unit)]


def distinct(shapes: Iterable[Shape]) -> list[Shape]:
    """The shapes in their order, without those whose weights an earlier one has."""
    kept: dict[bytes, Shape] = {}
    for shape in shapes:
        # Adding 0.0 turns -0.0 into 0.0, which differs from it in its bytes only.
        kept.setdefault((np.round(shape.weights / SAME_WEIGHT) + 0.0).tobytes(), shape)
    return list(kept.values())


def shapes_of(body: Body, *, settings: ShapeSettings | None = None) -> list[Shape]:
    """The base first, then the ends, pairs and Sobol sample set by `settings`; each set of weights once."""
    asked = settings or ShapeSettings()
    shapes = [shape_at_base(body.range)]
    if asked.ends:
        shapes += end_shapes(body.range)
    shapes += pair_shapes(body, strongest=asked.strongest)
    return distinct(shapes + sobol_shapes(body.range, asked.sobol))


def _at_ends(box: Range, groups: list[tuple[int, ...]]) -> list[Shape]:
    """Every combination of ends of every group of morphs, each set of weights once."""
    start = shape_at_base(box).weights
    shapes = []
    for group in groups:
        chosen = list(group)
        for ends in product(*((box.low[morph], box.high[morph]) for morph in group)):
            weights = start.copy()
            weights[chosen] = ends
            shapes.append(Shape(label_of(box, weights), weights))
    return distinct(shapes)
