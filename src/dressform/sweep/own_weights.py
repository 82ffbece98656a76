"""A garment's own joint weights against lifted ones: which are better at the stances of a check."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from dressform.body.stance import Stance
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import SEVERITIES, ShapeFaults
from dressform.fit.joint_weights import choose_joints, keeps_own, same_skin
from dressform.garment.following import LIFTED
from dressform.interrupts import raise_if_interrupted
from dressform.lift.lift import make_lift
from dressform.sweep.results import SweepRow
from dressform.units import CM2_PER_M2, MM_PER_M, counted

ALIKE = 0.1
"""Skin that is seen with the one and with the other differs where it does so by more than this share"""
ALIKE_AREA = 1e-4
"""and by more than this, m²."""


@dataclass(frozen=True)
class Judged:
    """A garment with its own joint weights and with lifted ones, on the worst shape of its own at each stance.

    Attributes:
        own: What was measured with its own, by stance.
        lifted: What was measured with lifted ones.
    """

    own: Mapping[str, ShapeFaults]
    lifted: Mapping[str, ShapeFaults]

    @property
    def better(self) -> str:
        """`own`, `lifted`, or empty where they are alike: by skin seen, then by severity, then by depth in the skin."""
        seen = [max(one.show_through.exposed_area for one in each.values()) for each in (self.own, self.lifted)]
        if abs(seen[0] - seen[1]) > max(ALIKE_AREA, ALIKE * max(seen)):
            return "own" if seen[0] < seen[1] else LIFTED
        worst = [max(SEVERITIES.index(one.severity) for one in each.values()) for each in (self.own, self.lifted)]
        if worst[0] != worst[1]:
            return "own" if worst[0] < worst[1] else LIFTED
        return ""

    @property
    def note(self) -> str:
        """What a reader is told."""
        told = []
        for words, each in (("its own joint weights", self.own), ("lifted ones", self.lifted)):
            name = max(each, key=lambda stance: each[stance].show_through.exposed_area)
            area = each[name].show_through.exposed_area * CM2_PER_M2
            depth = max(one.show_through.depth_p95 for one in each.values()) * MM_PER_M
            where = f" ({name})" if area > 0 else ""
            told.append(f"{words} show at most {area:.1f} cm² of skin{where}, cloth {depth:.1f} mm deep")
        verdict = {
            "own": "its own are better",
            LIFTED: "lifted ones are better: `--joint-weights lifted`",
            "": "they are about as good",
        }[self.better]
        return f"Judged at {counted(len(self.own), 'stance')}: {', '.join(told)}; {verdict}."


def judge_own(worn: GarmentOnBody, rows: Sequence[SweepRow], stances: Sequence[Stance]) -> Judged | None:
    """Measure a garment that keeps its own joint weights with lifted ones too; None where it has none, or the same.

    Args:
        worn: The garment on its body.
        rows: What a sweep found about it.
        stances: The stances that it looked at.

    Proof: tests/sweep/test_own_weights.py
    """
    fit = worn.fit
    if not stances or fit.skin is None or not keeps_own(fit):
        return None
    lift = make_lift(fit.body, fit.garment, fit.following, tree=worn.context.tree)
    lifted = choose_joints(lift, replace(fit.following, joint_weights=LIFTED)).skin
    if lifted is None or same_skin(lifted, fit.skin):
        return None
    other, own, found = worn.carried_by(lifted), dict[str, ShapeFaults](), dict[str, ShapeFaults]()
    for stance in stances:
        there = [row.faults for row in rows if row.faults.stance == stance.name]
        if there:
            raise_if_interrupted()
            own[stance.name] = worst = max(there, key=_badness)
            found[stance.name] = other.measure(worst.weights, stance)
    return Judged(own, found) if own else None


def _badness(one: ShapeFaults) -> tuple[float, int, float]:
    return one.show_through.exposed_area, SEVERITIES.index(one.severity), one.show_through.depth_p95
