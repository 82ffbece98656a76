"""Footprint: the area of skin under a patch of cloth, from the curvature of the body at the foot."""

import numpy as np
from jaxtyping import Float
from scipy.sparse import diags_array

from dressform.arrays import Faces, Points, VertexScalars
from dressform.lift.feet import Feet
from dressform.mesh.factor import Factor
from dressform.mesh.geometry import face_areas, face_normals, vertex_areas, vertex_normals
from dressform.mesh.laplacian import cotangent

EVEN_LENGTH = 0.002  # metres over which curvature is evened out; more would flatten fingertips: at 5 mm by a quarter
MIN_FACTOR = 0.05  # where offset skin would shrink to less, it folds, and the factor says nothing


def curvature_tensors(
    vertices: Points, faces: Faces, *, even_length: float = EVEN_LENGTH
) -> Float[np.ndarray, "V 3 3"]:
    """How the outward normal turns along the surface, at each vertex, (V, 3, 3), 1/m; symmetric, convex positive.

    In each triangle the gradient of the interpolated vertex normals, made symmetric; averaged around vertices by area
    and evened out by one implicit step of heat flow over `even_length`, metres.

    Source: gradient of vertex normals [Rusinkiewicz2004].
    Proof: tests/repair/test_footprint.py::test_curvatures_of_sphere_and_tube_are_known
    """
    normals, flat, areas = vertex_normals(vertices, faces), face_normals(vertices, faces), face_areas(vertices, faces)
    corners = vertices[faces]
    gradients = np.zeros((len(faces), 3, 3))
    for corner in range(3):
        side = corners[:, (corner + 2) % 3] - corners[:, (corner + 1) % 3]
        # Twice the area times the gradient of the corner's hat function is normal × opposite side.
        gradients += 0.5 * np.einsum("fi,fj->fij", normals[faces[:, corner]], np.cross(flat, side))
    sums = np.zeros((len(vertices), 9))
    tensors = (gradients + gradients.transpose(0, 2, 1)).reshape(-1, 9) / 2.0  # times the area of the triangle
    np.add.at(sums, faces, (tensors / 3.0)[:, None])
    mass = np.maximum(vertex_areas(vertices, faces), 1e-3 * float(areas.mean()))
    even = Factor(diags_array(mass) + even_length**2 * cotangent(vertices, faces))
    return even.solve(sums).reshape(-1, 3, 3)


def growth_factors(feet: Feet, tensors: Float[np.ndarray, "G 3 3"]) -> Float[np.ndarray, "G 2"]:
    """1 + c κ for both principal curvatures κ of the skin at each foot and the clearance c, smaller one first, (G, 2).

    By these the skin grows when it is offset outward to the cloth. The product of their inverses is the footprint.
    """
    across = np.eye(3) - np.einsum("gi,gj->gij", feet.normals, feet.normals)
    tangential = across @ tensors @ across
    total = np.trace(tangential, axis1=1, axis2=2)
    gauss = 0.5 * (total**2 - np.einsum("gij,gij->g", tangential, tangential))
    spread = np.sqrt(np.maximum(total**2 - 4.0 * gauss, 0.0))
    curvatures = 0.5 * np.stack([total - spread, total + spread], axis=1)
    return np.maximum(1.0 + np.maximum(feet.clearance, 0.0)[:, None] * curvatures, MIN_FACTOR)


def footprints(factors: Float[np.ndarray, "G 2"]) -> VertexScalars:
    """∏ (1 + c κ)⁻¹: area of skin under a unit of cloth, (G,). A fingertip under a loose glove has 0.08, a back 0.7."""
    return 1.0 / factors.prod(axis=1)
