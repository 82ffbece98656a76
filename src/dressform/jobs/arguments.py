"""Arguments that a person typed, refused under the name of the job before anything is done with them."""

from numbers import Integral, Real

from dressform.body.shape_settings import MAX_SHAPES, ShapeSettings
from dressform.calls import quoted
from dressform.errors import ArgumentError

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
