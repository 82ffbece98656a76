"""Corrective targets for strong bends: the least displacement, driven by joints, that keeps cloth off its own skin."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Float
from scipy.sparse import csr_array

from dressform.body.stance import Stance
from dressform.fit.corrective import Corrective
from dressform.fit.fit import Fit
from dressform.proof.at_stance import StanceCase
from dressform.repair.correctives.batch import BendBatch, CorrectedStance
from dressform.repair.correctives.bends import batches, stances_of, strong_bends


@dataclass(frozen=True)
class Corrected:
    """What one target came to.

    Attributes:
        name: Its name.
        joint: Name of the joint that drives it.
        stances: At which stances it is at work.
        largest_move: Farthest that it moves a vertex at value 1, metres.
        vertices: Vertices that it moves.
    """

    name: str
    joint: str
    stances: tuple[str, ...]
    largest_move: float
    vertices: int


@dataclass(frozen=True, eq=False)
class Corrections:
    """A fit with its corrective targets.

    Attributes:
        fit: The fit; base and morph deltas are as they were.
        targets: What each target came to, the one that moves farthest first: so they stand in the file.
        stances: How each strong bend stood and stands.
    """

    fit: Fit
    targets: tuple[Corrected, ...]
    stances: tuple[CorrectedStance, ...]


def correct_bends(
    case: StanceCase,
    stances: Sequence[Stance],
    energy: csr_array,
    mass: Float[np.ndarray, " G"],
    *,
    progress: Callable[[int, int], None] | None = None,
) -> Corrections:
    """Give a fit the corrective targets that its strong bends need.

    Base and morph deltas stay. Unknown is one displacement C of the modelled pose per joint and side, at work by the
    value φ that its driver has at a stance. Each shape asks for itself, see `ShapeDemands`: the base, and the corners
    of the range that press the cloth deepest. Bends that a stance has at once are solved for together, and each target
    gets the displacement near its own joint.

    Args:
        case: The fit, repaired at rest and at its other stances.
        stances: All stances; those without strong bends keep the targets still, as far as their joints allow.
        energy: Energy of a change.
        mass: Area of each vertex.
        progress: Called with the round and the number of places that fall short.

    Proof: tests/repair/correctives/test_correct.py
    """
    assert case.fit.body.skeleton is not None
    skeleton, fit = case.fit.body.skeleton, case.fit
    targets: list[Corrective] = []
    told: list[CorrectedStance] = []
    at: dict[str, tuple[str, ...]] = {}
    for batch in batches(strong_bends(skeleton, stances)):
        mine = stances_of(batch)
        others = [one for number, one in enumerate(stances) if number not in mine]
        here = replace(case, fit=replace(fit, correctives=tuple(targets)))
        work = BendBatch(here, batch, [stances[number] for number in mine], others)
        moves, outcome = work.solved(energy, mass, progress)
        told += outcome
        for corrective, bend in zip(work.targets(moves), batch):
            if corrective.lengths.any():
                targets.append(corrective)
                at[corrective.name] = tuple(stances[number].name for number in sorted(bend.angles))
    targets.sort(key=lambda one: -float(one.lengths.max()))
    words = tuple(
        Corrected(one.name, skeleton.names[one.driver.joint], at[one.name], float(one.lengths.max()),
                  int((one.lengths > 0).sum()))
        for one in targets
    )  # fmt: skip
    return Corrections(replace(fit, correctives=tuple(targets)), words, tuple(told))
