"""One morph at the ends of its interval."""

from dressform.audit import find
from dressform.audit.mirror import ALIKE, compare_sides, partner_by_name
from dressform.audit.moved import MorphAtWeight
from dressform.audit.prepared import PreparedBody
from dressform.audit.results import LEFT, LOPSIDED, RIGHT, Finding, MorphAudit
from dressform.audit.rough import roughness
from dressform.audit.tangle import Ends, tangle_of
from dressform.faults.rim_step import find_rigid_patches


def tangles_at_ends(base: PreparedBody, morph: int) -> Ends:
    """The tangles at each end of a morph's interval, except an end that is the base body."""
    body = base.body
    ends = (float(body.range.low[morph]), float(body.range.high[morph]))
    return {end: tangle_of(base.tree, body.vertices + end * body.deltas[morph]) for end in ends if end}


def audit_morph(base: PreparedBody, morph: int, ends: Ends) -> MorphAudit:
    """Measure one morph and list its faults.

    Args:
        base: The body.
        morph: Its index.
        ends: From `tangles_at_ends`.
    """
    body = base.body
    low, high = float(body.range.low[morph]), float(body.range.high[morph])
    weight = high if abs(high) >= abs(low) else low
    moved = MorphAtWeight.of(base.skin, weight * body.deltas[morph])
    shift = find_rigid_patches(body.vertices, body.faces, moved.deltas)
    strays, alone = find.strays(base, moved, weight)
    islands, apart = find.stray_islands(base, moved, weight, alone)
    rough = roughness(base.skin, base.windows, moved, find.patch_rims(base, shift) | alone | apart)
    folded, crossing, worst = _tangled(base, morph, ends)
    sides, asymmetry, partner, lopsided = _judge_sides(base, morph, moved, weight)
    findings = [
        find.rigid_patches(base, shift, weight),
        *worst,
        strays,
        find.left_behind(base, moved, weight),
        islands,
        lopsided,
        find.rough_skin(base, rough, weight),
        find.extremities(base, moved, weight),
    ]
    return MorphAudit(
        name=body.morph_names[morph],
        low=low,
        high=high,
        weight=weight,
        moved_area=moved.area,
        move_max=moved.farthest,
        move_p95=moved.p95,
        roughness=rough.p99,
        folded=folded,
        crossing=crossing,
        patch_share=shift.share,
        sides=sides,
        asymmetry=asymmetry,
        partner=partner,
        findings=find.ranked(findings),
    )


def _tangled(base: PreparedBody, morph: int, ends: Ends) -> tuple[int, int, list[Finding | None]]:
    """Triangles turned over and pairs that cross at the worse end, and the findings there."""
    new = {weight: tangle.beyond(base.tangle) for weight, tangle in ends.items()}
    if not new:
        return 0, 0, []
    worst = {fault: _worst_end(new, fault) for fault in find.TANGLES}
    found = [
        find.tangle(base, fault, new[weight], weight, weight * base.body.deltas[morph], (base.tangle,))
        for fault, weight in worst.items()
    ]
    return new[worst["folded"]].count("folded"), new[worst["crossing"]].count("crossing"), found


def _worst_end(new: Ends, fault: str) -> float:
    """The weight at which most is folded or crossing."""
    return max(new, key=lambda weight: new[weight].count(fault))


def _judge_sides(
    base: PreparedBody, morph: int, moved: MorphAtWeight, weight: float
) -> tuple[str, float, str, Finding | None]:
    """How a morph treats the two sides, its partner on the other side, and the findings about these.

    A morph that moves one side alone is meant so; with a partner (by name, else by what it does) it is held against
    that, and never against itself.
    """
    names = base.body.morph_names
    alone = compare_sides(base.skin, base.mirror, moved, moved.deltas)
    partner = partner_by_name(names[morph], names)
    if partner:
        other = weight * base.body.deltas[names.index(partner)]
        both = compare_sides(base.skin, base.mirror, moved, other)
        found = find.lopsided(base, both, weight, partner) if both.asymmetry > ALIKE else None
        return alone.sides, alone.asymmetry, partner, found
    if alone.sides in {LEFT, RIGHT}:
        return alone.sides, alone.asymmetry, _partner_by_motion(base, morph, moved, weight), None
    found = find.lopsided(base, alone, weight, "") if alone.sides == LOPSIDED else None
    return alone.sides, alone.asymmetry, "", found


def _partner_by_motion(base: PreparedBody, morph: int, moved: MorphAtWeight, weight: float) -> str:
    """The morph that is the mirror image of a one-sided one, or empty."""
    for other, name in enumerate(base.body.morph_names):
        if other != morph:
            found = compare_sides(base.skin, base.mirror, moved, weight * base.body.deltas[other])
            if found.asymmetry <= ALIKE:
                return name
    return ""
