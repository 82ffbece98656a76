"""A garment on its body at one stance: what no shape changes there."""

from collections.abc import Callable

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import BodyPoints, VertexScalars, Weights
from dressform.body.stance import Stance, carry
from dressform.faults.pucker import PuckerWindows, posed_pucker_index
from dressform.fit.contact import blended_maps
from dressform.fit.fit import Fit
from dressform.fit.posed import cloth_maps, offsets_of, shifted
from dressform.lazy import lazy

SAME_WEIGHTS = 1e-6
"""Maps that differ by less than this are one, metres: rounding in a file."""


class AtStance:
    """How one stance carries a garment, the garments under it, and a garment that follows the posed body smoothly.

    Args:
        stance: The stance.
        fit: The garment.
        under: The garments worn under it.
        body: The map of each vertex of the body, (B, 3, 4).
        smooth: The same fit with joint weights lifted smoothly from the body; None where it has those.
        asked: Triangles of the body that the cloth can stand on or hide, (N,).
        skin: The base body and its windows, when they are asked for.

    Attributes:
        stance, body, asked: As given.
        cloth: The map of each vertex of the cloth, (G, 3, 4), metres; on the base body, as the next two.
        smooth: The map of each vertex of a cloth that follows smoothly; the same array where this one does.
        under: The maps of each garment worn under it.

    Raises: As `cloth_maps`.
    """

    def __init__(
        self,
        stance: Stance,
        fit: Fit,
        *,
        under: tuple[Fit, ...],
        body: Float[np.ndarray, "B 3 4"],
        smooth: Fit | None,
        asked: Int[np.ndarray, " N"],
        skin: Callable[[], tuple[BodyPoints, PuckerWindows]],
    ) -> None:
        self.stance, self.body, self.asked, self._skin = stance, body, asked, skin
        self._faces = fit.body.faces
        self.cloth = cloth_maps(fit, stance)
        carried = self.cloth if smooth is None else cloth_maps(smooth, stance)
        same = not fit.poses_itself and np.abs(carried - self.cloth).max(initial=0.0) < SAME_WEIGHTS
        self.smooth = self.cloth if same else carried
        self.under = tuple(cloth_maps(one, stance) for one in under)
        self._offsets = offsets_of(fit.body, fit.skin, stance)
        self._smooth_offsets = self._offsets if smooth is None else offsets_of(fit.body, smooth.skin, stance)
        self._under_offsets = tuple(offsets_of(fit.body, one.skin, stance) for one in under)

    def cloth_on(self, weights: Weights) -> Float[np.ndarray, "G 3 4"]:
        """The map of each vertex of the cloth on one shape, whose joints may have followed it, (G, 3, 4)."""
        return shifted(self.cloth, self._offsets, weights)

    def smooth_on(self, weights: Weights) -> Float[np.ndarray, "G 3 4"]:
        """The same of a cloth that follows smoothly."""
        return self.cloth_on(weights) if self.is_smooth else shifted(self.smooth, self._smooth_offsets, weights)

    def under_on(self, weights: Weights) -> list[Float[np.ndarray, "U 3 4"]]:
        """The same of each garment worn under it."""
        return [shifted(maps, offsets, weights) for maps, offsets in zip(self.under, self._under_offsets)]

    @property
    def is_smooth(self) -> bool:
        """Whether the cloth is carried as one that follows smoothly."""
        return self.smooth is self.cloth

    @lazy
    def blended(self) -> Float[np.ndarray, "N 3 3"]:
        """The linear part of the body's map in the middle of each triangle asked, (N, 3, 3)."""
        return blended_maps(self.body, self._faces[self.asked])

    @lazy
    def skin_pucker(self) -> VertexScalars:
        """Pucker index of the base body's own skin at the stance, at each of its vertices, (B,).

        Over the scale at rest, which a collapse of the blend leaves as it is.
        """
        points, windows = self._skin()
        index = posed_pucker_index(windows, points, carry(self.body, points))
        return np.asarray(index[windows.owner])
