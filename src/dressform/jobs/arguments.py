"""Arguments that a person typed, refused under the name of the job before anything is done with them."""

from collections.abc import Iterable, Sequence
from numbers import Integral, Real

from dressform.body.body import Body
from dressform.body.shape_settings import MAX_SHAPES, ShapeSettings
from dressform.body.stance import Stance
from dressform.calls import quoted
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.fit.shaped import ShapedFit
from dressform.units import MM_PER_M

SUCH = "Give for instance 64"


def shape_settings(function: str, shapes: object, like: ShapeSettings) -> ShapeSettings:
    """Which shapes are meant: a number stands for so many evenly spread ones, the rest as in `like`.

    Raises:
        ArgumentError: it is neither a whole number from 0 to `MAX_SHAPES` nor a `ShapeSettings`.
    """
    if isinstance(shapes, ShapeSettings):
        return shapes
    if isinstance(shapes, bool) or not isinstance(shapes, Integral):
        raise ArgumentError.of(function, "shapes", "a whole number or a ShapeSettings", quoted(shapes), SUCH)
    if not 0 <= int(shapes) <= MAX_SHAPES:
        raise ArgumentError.of(function, "shapes", f"0 to {MAX_SHAPES:,}", f"{int(shapes):,}", SUCH)
    return ShapeSettings(like.ends, like.strongest, int(shapes))


def refuse_stances(function: str, stances: object, fits: Iterable[Fit]) -> None:
    """Refuse stances that the garments cannot take.

    Raises:
        ArgumentError: they are no sequence of stances, two have one name or one has none, one is of another skeleton,
            or a body has no joints or a fit no joint weights.
    """
    if isinstance(stances, str) or not isinstance(stances, Sequence):
        raise ArgumentError.of(function, "stances", "a list of stances", quoted(stances), "Give for instance [stance]")
    for one in stances:
        if not isinstance(one, Stance):
            raise ArgumentError.of(function, "stances", "stances", quoted(one), "Give for instance [stance]")
    names = [one.name for one in stances]
    twice = [name for name in names if not name or names.count(name) > 1]
    if twice:
        raise ArgumentError.of(function, "stances", "of different names", repr(twice[0]), "Name each one")
    for fit in fits if stances else ():
        skeleton = fit.body.skeleton
        if skeleton is None or fit.body.skin is None:
            observed = f"{fit.body.name!r} without"
            raise ArgumentError.of(function, "stances", "for a body with joints", observed, "Leave stances out")
        if fit.skin is None:
            rule, observed = "with joint weights where there are stances", f"{fit.garment.name!r} without"
            raise ArgumentError.of(function, "fits", rule, observed, "Fit it with joint_weights='lifted'")
        for one in stances:
            if len(one.worlds) != len(skeleton.names):
                rule, observed = f"of the body's {len(skeleton.names)} joints", f"{one.name!r} of {len(one.worlds)}"
                raise ArgumentError.of(function, "stances", rule, observed, "Make it of this body's skeleton")


def refuse_shaped(function: str, fit: object) -> None:
    """Refuse to repair, prove or ship what is no linear function of the weights.

    Raises:
        ArgumentError: the fit is known shape by shape.
    """
    if isinstance(fit, ShapedFit):
        departs = max(float(fit.departure(weights).max()) for weights, _ in list(fit.told.values())) * MM_PER_M
        observed = f"{fit.following.method}, which departs from its best targets by up to {departs:.1f} mm"
        advice = "Take its best targets: fit.linear in Python, --as-targets for dressform fit"
        raise ArgumentError.of(function, "fit", "linear in the weights", observed, advice)


def refuse_workers(function: str, workers: object) -> None:
    """Refuse an impossible number of processes.

    Raises:
        ArgumentError: it is no whole number above 0.
    """
    if isinstance(workers, bool) or not isinstance(workers, Integral) or int(workers) < 1:
        raise ArgumentError.of(function, "workers", "1 or more", quoted(workers), "Name a number of processes")


def refuse_margin(function: str, margin_mm: object, *, depth_mm: float) -> None:
    """Refuse a gap to prove that is no length, or as large as the body is deep.

    Raises:
        ArgumentError: it is no number, negative, or not below `depth_mm`.
    """
    if isinstance(margin_mm, bool) or not isinstance(margin_mm, Real) or not 0 <= float(margin_mm) < depth_mm:
        rule = f"0 or more mm and less than the {depth_mm:.0f} mm that the body is deep"
        raise ArgumentError.of(function, "margin_mm", rule, quoted(margin_mm), "Give a gap in millimetres")


def left_at_zero(body: Body) -> tuple[str, ...]:
    """A note on sliders that move joints, for searches over the morphs alone; none where the body has no sliders."""
    names = ", ".join(one.name for one in body.joint_sliders)
    return (f"looked for among the morphs alone: sliders that move joints stay at 0 ({names})",) if names else ()
