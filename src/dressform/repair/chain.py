"""The repairs that need no human decision, one after the other."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from dressform.body.shapes import Shape
from dressform.body.stance import Stance
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.mesh.tree import Tree
from dressform.proof.linear_mesh import LinearMesh, linear_body
from dressform.repair.blend_rims import BlendedRims, blend_rims
from dressform.repair.bring_out import BroughtOut, bring_out
from dressform.repair.clear.clearance import Clearance, keep_clear
from dressform.repair.cost import Cost, cost_of
from dressform.repair.joints.choose import ChosenWeights, choose_weights
from dressform.repair.names import BRING_OUT, JOINTS
from dressform.repair.names import REPAIRS as REPAIRS
from dressform.repair.refine import Refined, refine_faults
from dressform.repair.whole.hard_parts import HardParts, keep_rigid
from dressform.repair.whole.whole_parts import WholeParts, follow_whole

MOST_SHAPES = 2
"""So many of the shapes count in the choice of joint weights."""


@dataclass(frozen=True)
class ChainResult:
    """A fit after a chain of repairs; a repair that was not requested is None.

    Attributes:
        fit: The repaired fit.
        refined: Triangles split where the body bends through them.
        rigid_patches: Morphs that move rigid patches, smoothed for the garment only.
        whole: Cloth beyond an extremity that follows foot, hand or head as a whole.
        brought_out: Cloth that lay in the skin at the base, brought out of it.
        joints: Joint weights chosen for the stances; None where there were none.
        clearance: Clearance kept over the range.
        hard: Hard parts made rigid.
        cost: The cost of all repairs together.
    """

    fit: Fit
    refined: Refined | None
    rigid_patches: BlendedRims | None
    whole: WholeParts | None
    brought_out: BroughtOut | None
    clearance: Clearance | None
    hard: HardParts | None
    cost: Cost
    joints: ChosenWeights | None = None


def repair_fit(
    fit: Fit,
    *,
    repairs: Sequence[str] = REPAIRS,
    keep_base: bool = False,
    shapes: Sequence[Shape] | None = None,
    stances: Sequence[Stance] = (),
    correctives: bool = True,
    divide: bool = False,
    obstacle: LinearMesh | None = None,
    tree: Tree | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> ChainResult:
    """Do the named repairs in the order of `REPAIRS`.

    Args:
        fit: The fit to repair; its following sets the clearance to keep and the hard parts.
        repairs: Names from `REPAIRS`.
        keep_base: Whether the vertices of the base stay where they are: cloth is not brought out of the skin, and the
            clearance repair moves deltas only.
        shapes: Shapes at which the resolution of the cloth is tested; by default the ends of every morph.
        stances: Stances at which the clearance repair keeps the cloth off the skin under it too.
        correctives: Whether strong bends among them get targets that joints drive.
        divide: As for `keep_clear`.
        obstacle: Its body as a moving mesh, if already built.
        tree: The body's triangles, if already built.
        progress: Called by the clearance repair with its round and the pairs that fall short.

    Raises:
        ArgumentError: no repair has that name; the valid names are listed.
    """
    for name in repairs:
        if name not in REPAIRS:
            raise ArgumentError.of(
                "repair_fit", "repairs", f"some of {', '.join(REPAIRS)}", repr(name), "Use these names"
            )
    end, refined, rigid_patches, whole, brought_out, clearance, hard = fit, None, None, None, None, None, None
    joints = None
    if "refine" in repairs:
        refined = refine_faults(end, shapes=shapes)
        end = refined.fit
    if "blend-rims" in repairs:
        rigid_patches = blend_rims(end, tree=tree)
        end = rigid_patches.fit
    if "whole" in repairs:
        whole = follow_whole(end, tree=tree)
        end = whole.fit
    if BRING_OUT in repairs and not keep_base:
        brought_out = bring_out(end, tree=tree)
        end = brought_out.fit
    if JOINTS in repairs and stances:
        looked = [shape.weights for shape in (shapes or ())[:MOST_SHAPES]]
        joints = choose_weights(end, stances, shapes=looked, tree=tree)
        end = joints.fit
    if "clearance" in repairs:
        moving = linear_body(fit.body) if obstacle is None else obstacle
        clearance = keep_clear(
            end,
            moving,
            keep_base=keep_base,
            stances=stances,
            correctives=correctives,
            divide=divide,
            progress=progress,
        )
        end = clearance.fit
    if "hard" in repairs:
        hard = keep_rigid(end)
        end = hard.fit
    return ChainResult(end, refined, rigid_patches, whole, brought_out, clearance, hard, cost_of(fit, end), joints)
