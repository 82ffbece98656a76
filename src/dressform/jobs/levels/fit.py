"""Fitting levels of detail together: the finest is fitted and repaired, and the coarser ones move as it does."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from dressform.body.body import Body
from dressform.body.shapes import ShapeSettings
from dressform.body.stance import Stance
from dressform.calls import called
from dressform.errors import ArgumentError
from dressform.garment.following import DEFAULT_FOLLOWING, NO_JOINTS, Following, for_garment
from dressform.garment.garment import Garment
from dressform.garment.methods import is_lifted, method_words
from dressform.jobs.fit import fit
from dressform.jobs.levels.fitted import DEFAULT_POP_MM, FittedLevel, FittedLevels
from dressform.jobs.progress import Progress
from dressform.jobs.prove import NO_CLIPS
from dressform.jobs.repair import repair
from dressform.levels.apart import refuse_other_range
from dressform.levels.carry import NEAR, Carried, carries_joints, carry, stand_on
from dressform.repair.names import JOINTS, REPAIRS
from dressform.repair.whole.hard_parts import keep_rigid
from dressform.sweep.run import REPAIR_SHAPES
from dressform.units import MM_PER_M

OF_THE_FINEST = ("refine", "blend-rims", "whole")
"""Repairs that only the finest level needs: the others get what these changed from it, and keep their vertices."""

MOST_FAR = 0.5
"""Where more than this share of a level lies off the finer one as modelled, it is a level of another garment."""


@called("fit_levels", apart=("shapes", "stances", "pop_mm"))
def fit_levels(
    garments: Sequence[Garment],
    body: Body | Sequence[Body],
    following: Following = DEFAULT_FOLLOWING,
    *,
    repairs: Sequence[str] = REPAIRS,
    keep_base: bool = False,
    shapes: ShapeSettings | int = REPAIR_SHAPES,
    stances: Sequence[Stance] = (),
    correctives: bool = True,
    clips: str = NO_CLIPS,
    pop_mm: float = DEFAULT_POP_MM,
    progress: Progress | None = None,
) -> FittedLevels:
    """Fit one garment's levels of detail together, so that they move alike and no skin shows at any of them.

    The finest is fitted and repaired as ever. Its moves are carried to each coarser one by closest points on the cloth,
    and the coarser one is then repaired on its own level of the body, by the least change from what was carried. No
    vertex is added to coarser levels.

    Args:
        garments: The levels from fine to coarse, two at least.
        body: The body, or its levels in the order of the garments, with the same morphs by name; the last serves the
            garments that are left. Morphs that a coarser body lacks are left out there.
        following: How the garment follows; parts that a level lacks are passed over.
        repairs: As for `repair`. Those that split triangles, blend rims and follow whole parts are done to the finest.
        keep_base, shapes, stances, correctives, clips: As for `repair`.
        pop_mm: So much farther apart than as modelled may the outlines of two neighbouring levels be on any shape, mm.
        progress: Told of the repair of each level.

    Returns:
        Every level, repaired, with how far it is from the next finer one; `print` shows the table.

    Raises:
        ArgumentError: fewer than two levels, two of one name, a coarser one with more vertices than a finer, more
            bodies than levels, a method that is not ours, or `pop_mm` is negative.
        MatchError: the bodies share no morph, or a morph with another range.

    Proof: tests/jobs/levels/test_fit_levels.py
    """
    bodies = _refuse(garments, body, following, pop_mm)
    levels: list[FittedLevel] = []
    for number, (garment, skin) in enumerate(zip(garments, bodies)):
        plain = fit(skin, garment, for_garment(following, garment))
        names, carried = tuple(repairs), None
        if levels:
            before = levels[-1].repaired.fit
            carried = carry(before, plain)
            plain = keep_rigid(carried.fit, detect=False).fit if plain.following.hard else carried.fit
            left = {*OF_THE_FINEST, *((JOINTS,) if carries_joints(before, plain) else ())}
            names = tuple(name for name in names if name not in left)
        if progress is not None:
            progress(number, len(garments), "fitting levels")
        repaired = repair(
            plain, repairs=names, keep_base=keep_base, shapes=shapes, correctives=correctives, clips=clips,
            stances=() if following.joint_weights == NO_JOINTS else stances, divide=True,
        )  # fmt: skip
        notes = () if carried is None else carried_notes(carried, levels[-1].name)
        finer, rows = (None, None) if carried is None else (levels[-1], carried.rows)
        levels.append(FittedLevel(repaired, finer, rows, notes))
    return FittedLevels(tuple(levels), pop_mm / MM_PER_M)


def carried_notes(carried: Carried, finer: str) -> tuple[str, ...]:
    """What to say of how a level was made to move as the finer one."""
    notes = []
    if carried.loose:
        far = float(carried.distances.max()) * MM_PER_M
        notes.append(
            f"Up to {far:.0f} mm from {finer} as modelled, at {carried.loose} of {len(carried.share)} vertices; what "
            f"{finer} lacks follows the body by itself."
        )
    if carried.lifted:
        notes.append(
            f"Its body has morphs that the body of {finer} lacks, which are lifted from its own: "
            f"{', '.join(carried.lifted)}."
        )
    return tuple(notes)


def _refuse(
    garments: Sequence[Garment], body: Body | Sequence[Body], following: Following, pop_mm: object
) -> tuple[Body, ...]:
    """The body of each level; refuses what are no levels of one garment."""
    if len(garments) < 2:
        rule = "two levels of one garment or more, from fine to coarse"
        raise ArgumentError.of("fit_levels", "garments", rule, f"{len(garments)}", "Use fit for one garment")
    names = [one.name for one in garments]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise ArgumentError.of("fit_levels", "garments", "named differently", f"{twice!r} twice", "Rename one of them")
    for finer, coarser in pairwise(garments):
        if len(coarser.vertices) > len(finer.vertices):
            observed = f"{coarser.name!r} ({len(coarser.vertices)} vertices) behind {finer.name!r} "
            observed += f"({len(finer.vertices)})"
            raise ArgumentError.of("fit_levels", "garments", "given from fine to coarse", observed, "Sort them")
        far = int((stand_on(finer, coarser)[1] > NEAR).sum())
        if far > MOST_FAR * len(coarser.vertices):
            observed = f"{coarser.name!r}, {far} of whose {len(coarser.vertices)} vertices lie more than "
            observed += f"{NEAR * MM_PER_M:.0f} mm off {finer.name!r}"
            raise ArgumentError.of("fit_levels", "garments", "levels of one garment", observed, "Name its own levels")
    if not is_lifted(following.method):
        rule, observed = "one of ours, as coarser levels follow the finest", method_words(following.method)
        raise ArgumentError.of("fit_levels", "following.method", rule, observed, "Leave it out")
    if isinstance(following.mask, np.ndarray):
        rule, observed = "the name of numbers in each level's file", f"{len(following.mask)} numbers"
        raise ArgumentError.of("fit_levels", "following.mask", rule, observed, "Paint the mask on every level")
    given = (body,) if isinstance(body, Body) else tuple(body)
    if not 0 < len(given) <= len(garments):
        rule = f"one body, or one for each of {len(garments)} levels"
        raise ArgumentError.of("fit_levels", "body", rule, f"{len(given)}", "Give as many as there are levels")
    bodies = given + given[-1:] * (len(garments) - len(given))
    if isinstance(pop_mm, bool) or not isinstance(pop_mm, int | float) or not 0.0 <= pop_mm < float("inf"):
        raise ArgumentError.of("fit_levels", "pop_mm", "0 mm or more", repr(pop_mm), "Say how far levels may pop")
    for skin, other in pairwise(bodies):
        if other is not skin:
            refuse_other_range(skin, other)
    return bodies
