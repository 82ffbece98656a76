"""The repairs that need no decision of a person, one after the other."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from dressform.body.body import Body
from dressform.body.shapes import Shape
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.lift.lift import DEFAULT_EASE, DEFAULT_WAY
from dressform.mesh.tree import Tree
from dressform.proof.moving import Moving
from dressform.repair.clearance import DEFAULT_MARGIN, Clearance, keep_clear
from dressform.repair.cost import Cost, cost_of
from dressform.repair.hard_parts import HardParts, keep_rigid
from dressform.repair.plates import SmoothPlates, smooth_plates
from dressform.repair.refine import Refined, refine
from dressform.repair.whole_parts import WholeParts, follow_whole

REPAIRS = ("refine", "plates", "whole", "clearance", "hard")
"""In the order in which they are done: vertices, what the cloth follows, room, then what sits on the cloth."""


@dataclass(frozen=True)
class Repaired:
    """A fit after a chain of repairs; a repair that was not asked for is None.

    Attributes:
        fit: The repaired fit.
        refined: Triangles split where the body bends through them.
        plates: Morphs that move in plates, smoothed for the garment only.
        whole: Cloth beyond an extremity that follows foot, hand or head as a whole.
        clearance: Clearance kept over the range.
        hard: Hard parts made rigid.
        cost: What all of it cost together.
    """

    fit: Fit
    refined: Refined | None
    plates: SmoothPlates | None
    whole: WholeParts | None
    clearance: Clearance | None
    hard: HardParts | None
    cost: Cost


def repair_fit(
    fit: Fit,
    body: Body,
    obstacle: Moving,
    *,
    repairs: Sequence[str] = REPAIRS,
    shapes: Sequence[Shape] | None = None,
    margin: float = DEFAULT_MARGIN,
    way: str = DEFAULT_WAY,
    ease: str = DEFAULT_EASE,
    turn: float | None = None,
    hard_parts: Sequence[str] = (),
    tree: Tree | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Repaired:
    """Do the named repairs in the order of `REPAIRS`.

    Args:
        fit: The fit to repair.
        body: The body that it was made for.
        obstacle: That body as a moving mesh.
        repairs: Names from `REPAIRS`.
        shapes: Shapes at which the resolution of the cloth is tested; the ends of every morph where left out.
        margin: Clearance to keep, metres.
        way: How the fit was lifted, with its `ease` and `turn`; a smoothed morph is lifted the same way.
        hard_parts: Names of parts that are hard, beside the small closed pieces that are found.
        tree: The body's triangles if they are at hand.
        progress: Called by the clearance repair with its round and the pairs that fall short.

    Raises:
        ArgumentError: no repair has that name; the valid names are listed.
    """
    for name in repairs:
        if name not in REPAIRS:
            raise ArgumentError.of(
                "repair_fit", "repairs", f"some of {', '.join(REPAIRS)}", repr(name), "Use these names"
            )
    end, refined, plates, whole, clearance, hard = fit, None, None, None, None, None
    if "refine" in repairs:
        refined = refine(body, end, shapes=shapes, margin=margin, way=way, ease=ease)
        end = refined.fit
    if "plates" in repairs:
        plates = smooth_plates(end, body, way=way, ease=ease, turn=turn, tree=tree)
        end = plates.fit
    if "whole" in repairs:
        whole = follow_whole(end, body, tree=tree)
        end = whole.fit
    if "clearance" in repairs:
        clearance = keep_clear(end, obstacle, body.range, margin=margin, progress=progress)
        end = clearance.fit
    if "hard" in repairs:
        hard = keep_rigid(end, body.range, parts=hard_parts)
        end = hard.fit
    return Repaired(end, refined, plates, whole, clearance, hard, cost_of(fit, end, body.range))
