"""What is worn under what on the page."""

from collections.abc import Sequence

from dressform.fit.fit import Fit
from dressform.web.fitted_garments import FittedGarment


def layers_below(fitted: Sequence[FittedGarment]) -> dict[str, tuple[Fit, ...]]:
    """The garments under each of those that are worn together, by its key; versions of one garment are not layers."""
    return {
        one.variant.key: tuple(
            other.fit for other in fitted if other.variant.name != one.variant.name and one.lies_over(other)
        )
        for one in fitted
    }
