"""Show-through at a stance: skin that is seen, cloth under its own foot, and contact, each told apart."""

from dataclasses import replace

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.faults.body_context import BodyContext
from dressform.faults.posed.at_stance import AtStance
from dressform.faults.posed.blend import turned_inside_out
from dressform.faults.posed.contact import contact_faces, foreign_skin
from dressform.faults.results import ShowThrough
from dressform.faults.skin.cloth_inside import ClothSamples
from dressform.faults.skin.show_through import ShowThroughBase, ShowThroughLook, crowded_faces
from dressform.lazy import lazy
from dressform.mesh.tree import Tree


class PosedThrough(ShowThroughLook):
    """Show-through of one shape at one stance.

    *Seen* skin counts whatever cloth lies beneath it: a wearer sees it. Of the cloth inside the body only what lies
    under its own foot counts. The rest is *contact*, the first of these that holds: the skin at the foot or nearest to
    the cloth is folded by the blend; the cloth has no room, see `ShowThroughLook`; the nearest skin is another than
    that it stands on, see `foreign_skin`.

    Args:
        base: What the base body says at rest.
        cloth: The garment on this shape at this stance.
        body: The body on this shape at this stance.
        shaped: The body on this shape at rest.
        there: The stance.
        context: The body.
    """

    posed = True

    def __init__(
        self,
        base: ShowThroughBase,
        cloth: Tree,
        body: Tree,
        *,
        shaped: Float[np.ndarray, "B 3"],
        there: AtStance,
        context: BodyContext,
    ) -> None:
        super().__init__(base, cloth, body)
        self._shaped, self._there, self._context = shaped, there, context

    @lazy
    def folded_skin(self) -> Bool[np.ndarray, " F"]:
        """Triangles of the body that the blend folds, (F,)."""
        body = self._body
        return turned_inside_out(self._there.blended, self._shaped, body.vertices, body.faces, self._there.asked)

    @lazy
    def _trusted(self) -> Bool[np.ndarray, " F"]:
        return self._unburied & ~self.folded_skin

    @lazy
    def foreign(self) -> Bool[np.ndarray, " G"]:
        """Whether the skin nearest to each cloth vertex is another than that it stands on, (G,)."""
        return self._foreign(np.arange(len(self._cloth.vertices)), self.sides.nearest, np.abs(self.sides.signed))

    def _foreign(
        self, vertices: Int[np.ndarray, " N"], nearest: Int[np.ndarray, " N"], distances: Float[np.ndarray, " N"]
    ) -> Bool[np.ndarray, " N"]:
        base, body = self._base.sides, self._body
        corners, shares = body.faces[base.nearest[vertices]], base.barycentric[vertices]
        feet = np.einsum("nc,ncx->nx", shares, body.vertices[corners])
        ways = np.linalg.norm(self._cloth.vertices[vertices] - feet, axis=1) + distances
        own = corners[np.arange(len(corners)), np.argmax(shares, axis=1)]
        return foreign_skin(self._context.alongside, self._context.body.vertices, own, body.faces[nearest, 0], ways)

    @lazy
    def contact(self) -> Bool[np.ndarray, " C"]:
        """Triangles of the cloth whose inside is contact, (C,)."""
        samples, folded = self.inside, self.folded_skin
        touches = folded[self._base.sides.nearest[samples.vertices]] | folded[samples.nearest]
        asked = np.flatnonzero(~touches)
        vertices = samples.vertices[asked]
        touches[asked] = self._foreign(vertices, samples.nearest[asked], samples.depths[asked])
        return contact_faces(samples, touches, crowded_faces(self._base, self._body, self.normals, samples))

    @lazy
    def samples(self) -> ClothSamples:
        """Cloth that newly lies inside, under its own foot."""
        return self.inside.without(self.contact) if len(self.inside.patches) else self.inside

    @property
    def _behind(self) -> ClothSamples:
        return self.inside

    @lazy
    def result(self) -> ShowThrough:
        """The figures, with the contact."""
        inside = float(self.inside.areas.sum())
        return replace(self.figures(), contact_area=inside - float(self.samples.areas.sum()))
