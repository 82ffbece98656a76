"""One shape, looked at: every fault as a field, before it is summed up, graded and named."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import BodyPoints, ClothPoints, Faces
from dressform.faults.show_through import ShowThroughLook


@dataclass(frozen=True)
class Look:
    """Everything that is seen on one shape.

    Attributes:
        body: Body vertices, (B, 3).
        cloth: Cloth vertices, (G, 3).
        body_faces: Triangles of the body, (F, 3).
        cloth_faces: Triangles of the cloth, (C, 3).
        seams: Pairs of cloth vertices that coincide at the base, (M, 2).
        through: Show-through in full.
        windows: Pucker index of every window, (S,).
        pucker: The same at every cloth vertex, (G,).
        stretches: Principal stretches of every triangle, (C, 2).
        relative: The same against the skin, (C, 2).
        stretch: Larger |ln| of `relative`, mean by area around each vertex, (G,).
        clearance_change: Clearance minus clearance at the base, metres, (G,).
        folded: Triangles newly turned over, (N,).
        crossing: Pairs of triangles that newly cross, (P, 2).
        gaps: How far each seam has opened, metres, (M,).
        bends: Departure of hard parts from rigid motion and scale, metres, (G,).
        swaps: Vertices that have come under a layer they lay over, (L,).
    """

    body: BodyPoints
    cloth: ClothPoints
    body_faces: Faces
    cloth_faces: Int[np.ndarray, "C 3"]
    seams: Int[np.ndarray, "M 2"]
    through: ShowThroughLook
    windows: Float[np.ndarray, " S"]
    pucker: Float[np.ndarray, " G"]
    stretches: Float[np.ndarray, "C 2"]
    relative: Float[np.ndarray, "C 2"]
    stretch: Float[np.ndarray, " G"]
    clearance_change: Float[np.ndarray, " G"]
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
