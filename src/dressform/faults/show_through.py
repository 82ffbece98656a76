"""Show-through: cloth inside the body, how deep, and the skin that comes out of it."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.faults.cloth_inside import ClothSamples, OwnInside, inside_samples, own_inside
from dressform.faults.cloth_sides import ClothSides, cloth_sides, trust_skin
from dressform.faults.exposed import ExposedSkin, expose_skin
from dressform.faults.hidden_skin import HiddenSkin, hide_skin
from dressform.faults.overlap import no_room, overlapping
from dressform.faults.percentiles import percentiles
from dressform.faults.results import ShowThrough
from dressform.mesh.geometry import face_areas, vertex_areas, vertex_normals
from dressform.mesh.tree import Tree


@dataclass(frozen=True)
class ShowThroughBase:
    """What the base body says once and for all; see `prepare_show_through`.

    Attributes:
        trusted: Body triangles whose normal tells inside from outside at the base, (F,).
        sides: On which side the garment lies; its nearest triangles are the feet.
        own: What of the garment lies inside already.
        hidden: The skin that it hides.
        covered: Body vertices that are hidden or under the feet of the cloth, (N,).
    """

    trusted: Bool[np.ndarray, " F"]
    sides: ClothSides
    own: OwnInside
    hidden: HiddenSkin
    covered: Int[np.ndarray, " N"]


@dataclass(frozen=True)
class ShowThroughLook:
    """Show-through of one shape, in full.

    Attributes:
        sides: On which side of the skin the cloth lies.
        samples: Cloth that newly lies inside and had room outside.
        exposed: Skin that has come through.
        overlap: Body vertices inside another part of the body, (B,).
        result: The figures.
    """

    sides: ClothSides
    samples: ClothSamples
    exposed: ExposedSkin
    overlap: Bool[np.ndarray, " B"]
    result: ShowThrough


def prepare_show_through(cloth: Tree, body: Tree) -> ShowThroughBase:
    """Look at the base, the garment as its maker modelled it on the body that it was modelled on."""
    trusted = trust_skin(body)
    nowhere = np.full(len(cloth.vertices), -1)
    sides = cloth_sides(cloth, body, trusted, start=nowhere)
    hidden = hide_skin(cloth, body)
    covered = np.union1d(hidden.vertices, body.faces[sides.nearest])
    return ShowThroughBase(trusted, sides, own_inside(cloth, body, trusted, sides), hidden, covered)


def look_for_show_through(base: ShowThroughBase, cloth: Tree, body: Tree) -> ShowThroughLook:
    """Measure one shape against the base body.

    Cloth counts as inside where the winding number of the body on this shape is at least a half, between vertices too;
    what lay inside at the base does not count. Neither does cloth that has no room: where the skin it stands on
    lies inside another part of the body, or where that part has come nearer than the clearance the cloth was made with.
    """
    normals = _unit(body.pseudonormals[0])
    overlap = overlapping(body, base.covered, normals)
    trusted = base.trusted & ~overlap[body.faces].any(axis=1) if overlap.any() else base.trusted
    sides = cloth_sides(cloth, body, trusted, start=base.sides.nearest)
    samples = inside_samples(cloth, body, trusted, sides, base.own)
    if len(samples.patches):
        samples = samples.without(_crowded(base, body, normals, samples))
    areas = vertex_areas(body.vertices, body.faces)
    exposed = expose_skin(base.hidden, cloth, body, sides.pairs, samples, normals, areas)
    total = float(face_areas(cloth.vertices, cloth.faces).sum())
    depth_p95 = percentiles(samples.depths, samples.areas, (95.0,))[0]
    result = ShowThrough(
        exposed_area=exposed.area,
        exposed_share=exposed.area / exposed.hidden_area if exposed.hidden_area > 0 else 0.0,
        hidden_area=exposed.hidden_area,
        inside_share=float(samples.areas.sum()) / total,
        own_inside_share=base.own.share,
        depth_p95=depth_p95,
        depth_max=float(samples.depths.max(initial=0.0)),
        overlap_area=float(areas[overlap].sum()),
    )
    return ShowThroughLook(sides, samples, exposed, overlap, result)


def _crowded(
    base: ShowThroughBase, body: Tree, normals: Float[np.ndarray, "B 3"], samples: ClothSamples
) -> Bool[np.ndarray, " C"]:
    """Cloth triangles with samples that have no room on this shape at one of their corners, (C,)."""
    cloth_faces = base.own.cloth.faces
    faces = np.union1d(samples.faces, samples.patch_faces)
    asked = np.unique(cloth_faces[faces])
    corners = body.faces[base.sides.nearest[asked]]
    shares = base.sides.barycentric[asked]
    feet = np.einsum("nc,ncx->nx", shares, body.vertices[corners])
    directions = _unit(np.einsum("nc,ncx->nx", shares, normals[corners]))
    usable = np.abs(directions).sum(axis=1) > 0
    asked, feet, directions = asked[usable], feet[usable], directions[usable]
    crowded = np.zeros(len(base.sides.signed), dtype=bool)
    crowded[asked] = no_room(body, feet, directions, base.sides.signed[asked])
    return crowded[cloth_faces].any(axis=1)


def _unit(vectors: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, "N 3"]:
    """Vectors of length 1; zero stays zero."""
    lengths = np.linalg.norm(vectors, axis=1, keepdims=True)
    return np.divide(vectors, lengths, out=np.zeros_like(vectors), where=lengths > 0)


def base_normals(base: ShowThroughBase, body: Tree) -> Float[np.ndarray, "G 3"]:
    """Unit normal of the skin at the foot of each cloth vertex at the base, (G, 3)."""
    corners = body.faces[base.sides.nearest]
    mixed = np.einsum("gc,gcx->gx", base.sides.barycentric, vertex_normals(body.vertices, body.faces)[corners])
    return _unit(mixed)
