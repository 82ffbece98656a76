"""Which targets a fitted garment gets, before they are written."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.fit.fit import Fit
from dressform.formats.gltf.morphs.basis import Basis, find_basis
from dressform.formats.gltf.morphs.target_style import TargetStyle


@dataclass(frozen=True, eq=False)
class PlannedTargets:
    """Targets by name.

    Attributes:
        names: The body's morphs, which the cloth cannot be without, or the basis that makes them, then the correctives,
            the one that moves farthest first.
        deltas: Displacement of each at weight 1, each (G, 3).
        basis: What the morphs are made of, where that is not a target each.
    """

    names: tuple[str, ...]
    deltas: list[Float[np.ndarray, "G 3"]]
    basis: Basis | None


def planned_targets(fit: Fit, style: TargetStyle) -> PlannedTargets:
    """The targets of a fit in a style."""
    basis = None if style.basis is None else find_basis(fit.deltas, fit.body.range, allowed=style.basis)
    names, deltas = (fit.morph_names, fit.deltas) if basis is None else (basis.names, basis.targets)
    driven = fit.correctives
    return PlannedTargets((*names, *(one.name for one in driven)), [*deltas, *(one.delta for one in driven)], basis)
