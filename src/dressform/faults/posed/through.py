"""Show-through at a stance: skin that is seen, cloth under its own foot, and contact, each told apart."""

from dataclasses import replace

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.faults.posed.at_stance import AtStance
from dressform.faults.posed.blend import turned_inside_out
from dressform.faults.posed.contact import contact_faces
from dressform.faults.results import ShowThrough
from dressform.faults.skin.cloth_inside import ClothSamples
from dressform.faults.skin.show_through import ShowThroughBase, ShowThroughLook, crowded_faces
from dressform.fit.contact import closed
from dressform.lazy import lazy
from dressform.mesh.tree import Tree


class PosedThrough(ShowThroughLook):
    """Show-through of one shape at one stance.

    *Seen* skin counts whatever cloth lies beneath it: a wearer sees it. Of the cloth inside the body only what lies
    under its own foot counts. The rest is *contact*, the first of these that holds: the skin at the foot or nearest to
    the cloth is folded by the blend; the cloth has no room, see `ShowThroughLook`; the stance closes the nearest skin
    with that it stands on, see `fit/contact.py`.

    Args:
        base: What the base body says at rest.
        cloth: The garment on this shape at this stance.
        body: The body on this shape at this stance.
        shaped: The body on this shape at rest.
        there: The stance.
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
    ) -> None:
        super().__init__(base, cloth, body)
        self._shaped, self._there = shaped, there

    @lazy
    def folded_skin(self) -> Bool[np.ndarray, " F"]:
        """Triangles of the body that the blend folds, (F,)."""
        body = self._body
        return turned_inside_out(self._there.blended, self._shaped, body.vertices, body.faces, self._there.asked)

    @lazy
    def _trusted(self) -> Bool[np.ndarray, " F"]:
        return self._unburied & ~self.folded_skin

    def _closed(self, vertices: Int[np.ndarray, " N"], nearest: Int[np.ndarray, " N"]) -> Bool[np.ndarray, " N"]:
        """Whether the stance closes the skin that cloth vertices stand on with other triangles, (N,)."""
        base, body = self._base.sides, self._body
        feet = base.nearest[vertices], base.barycentric[vertices]
        return closed(self._shaped, body.vertices, body.faces, feet, nearest)

    @lazy
    def contact(self) -> Bool[np.ndarray, " C"]:
        """Triangles of the cloth whose inside is contact, (C,)."""
        samples, folded = self.inside, self.folded_skin
        touches = folded[self._base.sides.nearest[samples.vertices]] | folded[samples.nearest]
        asked = np.flatnonzero(~touches)
        touches[asked] = self._closed(samples.vertices[asked], samples.nearest[asked])
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
