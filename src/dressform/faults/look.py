"""One shape, looked at: every fault as a field, before it is summed up, graded and named."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import BodyPoints, ClothPoints
from dressform.faults.show_through import ShowThroughLook


@dataclass(frozen=True)
class Look:
    """Everything that is seen on one shape.

    Attributes:
        body: Body vertices, (B, 3).
        cloth: Cloth vertices, (G, 3).
        through: Show-through in full.
        windows: Pucker index of every window, (S,).
        pucker: The same at every cloth vertex, (G,).
        stretches: Principal stretches of every triangle, (F, 2).
        relative: The same against the skin, (F, 2).
        stretch: Larger |ln| of `relative`, mean by area around each vertex, (G,).
        drift: Clearance minus clearance at the base, metres, (G,).
        folded: Triangles newly turned over, (N,).
        crossing: Pairs of triangles that newly cross, (P, 2).
        gaps: How far each seam has opened, metres, (M,).
        bends: Departure of hard parts from rigid motion and scale, metres, (G,).
        swaps: Vertices that have come under a layer they lay over, (L,).
    """

    body: BodyPoints
    cloth: ClothPoints
    through: ShowThroughLook
    windows: Float[np.ndarray, " S"]
    pucker: Float[np.ndarray, " G"]
    stretches: Float[np.ndarray, "F 2"]
    relative: Float[np.ndarray, "F 2"]
    stretch: Float[np.ndarray, " G"]
    drift: Float[np.ndarray, " G"]
    folded: Int[np.ndarray, " N"]
    crossing: Int[np.ndarray, "P 2"]
    gaps: Float[np.ndarray, " M"]
    bends: Float[np.ndarray, " G"]
    swaps: Int[np.ndarray, " L"]

    @property
    def depths(self) -> Float[np.ndarray, " G"]:
        """Deepest sample nearest to each cloth vertex, 0 where there is none, metres, (G,)."""
        depths = np.zeros(len(self.cloth))
        np.maximum.at(depths, self.through.samples.vertices, self.through.samples.depths)
        return depths

    @property
    def under_skin(self) -> Float[np.ndarray, " G"]:
        """Area of the cloth around each vertex that newly lies inside the body, m², (G,)."""
        samples = self.through.samples
        areas = np.zeros(len(self.cloth))
        np.add.at(areas, samples.vertices, samples.areas)
        return areas
