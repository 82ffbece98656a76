"""Which shapes to check at stances: fixed ones, a sample in which sliders of joints vary too, and the worst corners."""

from collections.abc import Mapping, Sequence

from dressform.body.body import Body
from dressform.body.shapes import Shape, distinct
from dressform.body.stance import AS_MODELLED, Stance
from dressform.body.stances.slider_ends import modelled_stance, sampled_sliders, single_ends
from dressform.body.stances.sliders import slid_stance
from dressform.fit.fit import Fit
from dressform.fit.posed import posed_fit
from dressform.sweep.worst import worst_shapes
from dressform.sweep.worst_asked import worst_of

ENDS_TRIED = 8
"""Ends of sliders that are tried in closed form at every stance; each costs a tenth of a second."""
ENDS_KEPT = 1
"""Of these, at each stance, so many are looked at, with the corner of the weights that is worst there."""


def posed_shapes(
    fit: Fit, fixed: Sequence[Shape], sample: Sequence[Shape], stances: Sequence[Stance], *, worst: int
) -> list[Shape]:
    """The shapes at every stance, each shape's stances together, then the corners that are worst at each stance.

    Args:
        fit: The garment.
        fixed: Shapes that are looked at at every stance, as it is.
        sample: A Sobol sample; sliders that move joints vary with it, one value of each for all stances of a shape.
        stances: The stances; ends of sliders in the modelled pose are no part of the sample.
        worst: Most corners of the weights to add at each stance; 0 for none.

    Proof: tests/sweep/test_posed_shapes.py
    """
    poses = [one for one in stances if one.pose != AS_MODELLED]
    found = [Shape(shape.label, shape.weights, stance) for shape in fixed for stance in stances]
    found += _sampled(fit.body, fixed, sample, poses)
    if worst:
        known = {(shape.weights + 0.0).tobytes() for shape in (*fixed, *sample)}
        for stance in stances:
            corners = [threat.shape for threat in worst_of(posed_fit(fit, stance), most=worst)]
            new = [one for one in corners if (one.weights + 0.0).tobytes() not in known]
            found += [Shape(f"{one.label} there", one.weights, stance) for one in new]
        for pose in poses:
            found += worst_ends(fit, pose)
    return found


def _sampled(body: Body, fixed: Sequence[Shape], sample: Sequence[Shape], poses: Sequence[Stance]) -> list[Shape]:
    """The sample at every pose and, where sliders move joints, in the modelled pose."""
    values = sampled_sliders(body.joint_sliders, len(sample), beside=len(body.morph_names))
    if body.joint_sliders and body.skeleton is not None:
        poses = [*poses, modelled_stance(body.skeleton)]
    else:  # a shape that is fixed already needs no second look
        sample = distinct([*fixed, *sample])[len(fixed) :]
    return [
        Shape(shape.label, shape.weights, slid(body, pose, own)) for shape, own in zip(sample, values) for pose in poses
    ]


def slid(body: Body, pose: Stance, values: Mapping[str, float]) -> Stance:
    """A pose with the sliders at these values, unless it sets some itself."""
    if not values or pose.sliders or body.skeleton is None:
        return pose
    return slid_stance(pose, body.skeleton, body.joint_sliders, values)


def worst_ends(fit: Fit, pose: Stance) -> list[Shape]:
    """In one pose, the ends of sliders that threaten most covered skin, each with the worst corner of the weights.

    At an end every pair of skin and cloth is affine in the weights again, so the corner comes from the closed form.
    """
    body = fit.body
    if not body.joint_sliders or pose.sliders:
        return []
    tried = []
    for values in single_ends(body.joint_sliders)[:ENDS_TRIED]:
        stance = slid(body, pose, values)
        (first,) = worst_shapes(posed_fit(fit, stance), most=1)
        tried.append((first, Shape("worst end", first.shape.weights, stance)))
    tried.sort(key=lambda one: (one[0].threatened_area, -one[0].min_clearance), reverse=True)
    return [shape for _, shape in tried[:ENDS_KEPT]]
