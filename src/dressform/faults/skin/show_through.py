"""Show-through: cloth inside the body, how deep it is, and the skin that comes through it."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.faults.percentiles import percentiles
from dressform.faults.results import ShowThrough
from dressform.faults.skin.cloth_inside import ClothSamples, OwnInside, inside_samples, own_inside
from dressform.faults.skin.cloth_sides import ClothSides, cloth_sides, trust_skin
from dressform.faults.skin.exposed import ExposedSkin, expose_skin
from dressform.faults.skin.hidden_skin import HiddenSkin, hide_skin
from dressform.faults.skin.overlap import no_room, overlapping
from dressform.lazy import lazy
from dressform.mesh.geometry import face_areas, vertex_areas, vertex_normals
from dressform.mesh.tree import Tree


@dataclass(frozen=True)
class ShowThroughBase:
    """Show-through data of the base, computed once; see `prepare_show_through`.

    Attributes:
        trusted: Body triangles whose normal tells inside from outside at the base, (F,).
        sides: On which side the garment lies; its nearest triangles are the feet.
        own: The part of the garment that is inside at the base.
        hidden: The skin that it hides.
        covered: Body vertices that are hidden or under the feet of the cloth, (N,).
    """

    trusted: Bool[np.ndarray, " F"]
    sides: ClothSides
    own: OwnInside
    hidden: HiddenSkin
    covered: Int[np.ndarray, " N"]


class ShowThroughLook:
    """Show-through of one shape compared with the base body, computed on first use.

    Cloth counts as inside where the winding number of the body on this shape is at least a half, between vertices too;
    what lay inside at the base does not count. Neither does cloth that has no room: where the skin it stands on
    lies inside another part of the body, or where that part has come nearer than the clearance the cloth was made with.

    Args:
        base: What the base body says.
        cloth: The garment on this shape.
        body: The body on this shape.

    Attributes:
        posed: As for `expose_skin`.
    """

    posed = False

    def __init__(self, base: ShowThroughBase, cloth: Tree, body: Tree) -> None:
        self._base, self._cloth, self._body = base, cloth, body

    @lazy
    def normals(self) -> Float[np.ndarray, "B 3"]:
        """Unit normals of the body's vertices on this shape, (B, 3)."""
        return _unit(self._body.pseudonormals[0])

    @lazy
    def _areas(self) -> Float[np.ndarray, " B"]:
        return vertex_areas(self._body.vertices, self._body.faces)

    @lazy
    def overlap(self) -> Bool[np.ndarray, " B"]:
        """Body vertices inside another part of the body, (B,)."""
        return overlapping(self._body, self._base.covered, self.normals)

    @lazy
    def _trusted(self) -> Bool[np.ndarray, " F"]:
        return self._unburied

    @property
    def _unburied(self) -> Bool[np.ndarray, " F"]:
        """Trusted triangles that lie in no other part of the body, (F,)."""
        overlap, trusted = self.overlap, self._base.trusted
        return trusted & ~overlap[self._body.faces].any(axis=1) if overlap.any() else trusted

    @lazy
    def sides(self) -> ClothSides:
        """On which side of the skin the cloth lies."""
        return cloth_sides(self._cloth, self._body, self._trusted, start=self._base.sides.nearest)

    @lazy
    def inside(self) -> ClothSamples:
        """Cloth that newly lies inside."""
        return inside_samples(self._cloth, self._body, self._trusted, self.sides, self._base.own)

    @lazy
    def samples(self) -> ClothSamples:
        """Cloth that newly lies inside and had room outside."""
        samples = self.inside
        if len(samples.patches):
            samples = samples.without(crowded_faces(self._base, self._body, self.normals, samples))
        return samples

    @property
    def _behind(self) -> ClothSamples:
        """Cloth that counts as behind skin that is seen."""
        return self.samples

    @lazy
    def exposed(self) -> ExposedSkin:
        """Skin that shows."""
        base, sides = self._base, self.sides
        own_crossed = np.unique(base.sides.pairs[:, 1])
        return expose_skin(
            base.hidden,
            self._cloth,
            self._body,
            sides.pairs,
            self._behind,
            self.normals,
            self._areas,
            own_crossed,
            posed=self.posed,
        )

    @lazy
    def result(self) -> ShowThrough:
        """The figures."""
        return self.figures()

    def figures(self) -> ShowThrough:
        """The figures, computed anew."""
        samples, exposed = self.samples, self.exposed
        total = float(face_areas(self._cloth.vertices, self._cloth.faces).sum())
        return ShowThrough(
            exposed_area=exposed.area,
            exposed_share=min(1.0, exposed.area / exposed.hidden_area)
            if exposed.hidden_area > 0
            else 0.0,  # by its rim
            hidden_area=exposed.hidden_area,
            inside_share=float(samples.areas.sum()) / total,
            own_inside_share=self._base.own.share,
            depth_p95=percentiles(samples.depths, samples.areas, (95.0,))[0],
            depth_max=float(samples.depths.max(initial=0.0)),
            overlap_area=float(self._areas[self.overlap].sum()),
        )


def prepare_show_through(
    cloth: Tree,
    body: Tree,
    *,
    trusted: Bool[np.ndarray, " F"] | None = None,
    sides: ClothSides | None = None,
    asked: Bool[np.ndarray, " B"] | None = None,
) -> ShowThroughBase:
    """Prepare the base: the garment as modelled, on the body that it was modelled on.

    Args:
        cloth: The garment.
        body: The body.
        trusted: The result of `trust_skin`, if already known.
        sides: The result of `base_sides`, if already known.
        asked: Body vertices at which bare skin is looked for, (B,); all if left out.
    """
    trusted = trust_skin(body) if trusted is None else trusted
    sides = base_sides(cloth, body, trusted) if sides is None else sides
    hidden = hide_skin(cloth, body, asked=asked)
    covered = np.union1d(hidden.vertices, body.faces[sides.nearest])
    return ShowThroughBase(trusted, sides, own_inside(cloth, body, trusted, sides), hidden, covered)


def base_sides(cloth: Tree, body: Tree, trusted: Bool[np.ndarray, " F"]) -> ClothSides:
    """On which side of the skin the garment lies at the base; its nearest triangles are the feet."""
    return cloth_sides(cloth, body, trusted, start=np.full(len(cloth.vertices), -1))


def crowded_faces(
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


def base_normals(sides: ClothSides, body: Tree) -> Float[np.ndarray, "G 3"]:
    """Unit normal of the skin at the foot of each cloth vertex at the base, (G, 3)."""
    corners = body.faces[sides.nearest]
    mixed = np.einsum("gc,gcx->gx", sides.barycentric, vertex_normals(body.vertices, body.faces)[corners])
    return _unit(mixed)
