"""Arguments that a person typed, refused under the name of the job before anything is done with them."""

from numbers import Integral, Real

from dressform.body.body import Body
from dressform.body.shape_settings import MAX_SHAPES, ShapeSettings
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment

SUCH = "Give for instance 64"
SHOWN = 60
"""So many characters of a wrong value are quoted."""

ADVICE = {
    Body: ("a body", "Read one with load_body"),
    Garment: ("a garment", "Read one with load_garment"),
    Following: ("a Following", "Write for instance Following(margin_mm=2)"),
    Fit: ("a fit", "Make one with fit; of what repair returned, give its `fit`"),
}
"""What a value of each kind is called, and where one comes from."""


def refuse_other(
    function: str, argument: str, value: object, kind: type, rule: str = "", advice: str = "Correct it"
) -> None:
    """Refuse a value of another kind.

    Raises:
        ArgumentError: the value is no `kind`; it is quoted, and where to get one is said.
    """
    if not isinstance(value, kind):
        rule, advice = ADVICE.get(kind, (rule, advice))
        raise ArgumentError.of(function, argument, rule, _quoted(value), advice)


def shape_settings(function: str, shapes: object, like: ShapeSettings) -> ShapeSettings:
    """Which shapes are meant: a number stands for so many evenly spread ones, the rest as in `like`.

    Raises:
        ArgumentError: it is neither a whole number from 0 to `MAX_SHAPES` nor a `ShapeSettings`.
    """
    if isinstance(shapes, ShapeSettings):
        return shapes
    if isinstance(shapes, bool) or not isinstance(shapes, Integral):
        raise ArgumentError.of(function, "shapes", "a whole number or a ShapeSettings", _quoted(shapes), SUCH)
    if not 0 <= int(shapes) <= MAX_SHAPES:
        raise ArgumentError.of(function, "shapes", f"0 to {MAX_SHAPES:,}", f"{int(shapes):,}", SUCH)
    return ShapeSettings(like.ends, like.strongest, int(shapes))


def refuse_workers(function: str, workers: object) -> None:
    """Refuse an impossible number of processes.

    Raises:
        ArgumentError: it is no whole number above 0.
    """
    if isinstance(workers, bool) or not isinstance(workers, Integral) or int(workers) < 1:
        raise ArgumentError.of(function, "workers", "1 or more", _quoted(workers), "Name a number of processes")


def refuse_margin(function: str, margin_mm: object, *, depth_mm: float) -> None:
    """Refuse a gap to prove that is no length, or as large as the body is deep.

    Raises:
        ArgumentError: it is no number, negative, or not below `depth_mm`.
    """
    if isinstance(margin_mm, bool) or not isinstance(margin_mm, Real) or not 0 <= float(margin_mm) < depth_mm:
        rule = f"0 or more mm and less than the {depth_mm:.0f} mm that the body is deep"
        raise ArgumentError.of(function, "margin_mm", rule, _quoted(margin_mm), "Give a gap in millimetres")


def _quoted(value: object) -> str:
    """A wrong value as a message shows it: numbers and words as they were written, other things by their kind."""
    if value is None or isinstance(value, Real | str):
        return repr(value)[:SHOWN]
    return f"a {type(value).__name__}"
