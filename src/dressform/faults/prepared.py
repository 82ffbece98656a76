"""A garment on its body at the base: data that is the same for every shape, computed on first use."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import VertexScalars, Weights
from dressform.body.body import Body
from dressform.body.skeleton import Skin
from dressform.body.stance import Stance
from dressform.errors import MatchError
from dressform.faults.bent import held_against, lifted_smoothly
from dressform.faults.body_context import BodyContext
from dressform.faults.broken import folded, seam_gaps
from dressform.faults.ease import Tapes, make_tapes
from dressform.faults.layers import Order, find_orders
from dressform.faults.own_turn import OwnTurn
from dressform.faults.pierced import LayerBelow, layer_below
from dressform.faults.posed.at_stance import AtStance
from dressform.faults.pucker import WINDOW_RADIUS, PuckerWindows, pucker_windows
from dressform.faults.results import AtBase
from dressform.faults.skin.cloth_at_base import ClothAtBase, find_cloth_at_base
from dressform.faults.skin.cloth_sides import ClothSides
from dressform.faults.skin.show_through import ShowThroughBase, base_normals, base_sides, prepare_show_through
from dressform.faults.skin.skin_in_front import skin_in_front
from dressform.faults.stretch import BaseTriangles, SkinStretch, base_triangles, skin_stretch
from dressform.fit.fit import Fit
from dressform.garment.parts import Pieces, find_pieces, seam_leaders, seam_pairs
from dressform.lazy import lazy
from dressform.lift.lift import Lift
from dressform.lift.skin import lift_skin
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.intersect import tree_self_crossings
from dressform.mesh.tree import Tree


class PreparedGarment:
    """A garment on its body at the base.

    Args:
        fit: The garment, how it follows, and the body that it was made for.
        context: Prepared data of that body, shared by the garments on it.
        radius: Radius of the windows in which pucker is judged, metres.
        levels: Heights at the base at which a tape is laid, by name, metres; by default those that the trunk shows.
        under: Fits of the garments worn under this one, for layers that swap order.
        pieces: The pieces of the whole garment, if the fit holds only a patch of it.
        skin: Body vertices at which bare skin is looked for, (B,); all if left out.
        meant: Clearance that each vertex was modelled with, metres, (G,); what it has at the base if left out.
        smooth_skin: Joint weights lifted smoothly from the body, where they are known, as of a patch.

    Raises:
        MatchError: `context` is of another body, or a garment under this one was fitted to another.
        ArgumentError: `radius` is not positive, or a level misses the body.
    """

    stances_kept = 32
    """So many stances' maps are kept."""

    def __init__(
        self,
        fit: Fit,
        *,
        context: BodyContext | None = None,
        radius: float = WINDOW_RADIUS,
        levels: Mapping[str, float] | None = None,
        under: Sequence[Fit] = (),
        pieces: Pieces | None = None,
        skin: Bool[np.ndarray, " B"] | None = None,
        meant: VertexScalars | None = None,
        smooth_skin: Skin | None = None,
    ) -> None:
        self.context = BodyContext(fit.body) if context is None else context
        self.fit, self.under = fit, tuple(under)
        for each in (fit, *under):
            if each.morph_names != self.body.morph_names:
                raise MatchError(
                    f"GarmentOnBody: the fit of {each.garment.name!r} must have the morphs of {self.body.name!r}, "
                    f"{list(self.body.morph_names)}, got {list(each.morph_names)}. Fit the garment to this body."
                )
        self._radius, self._levels, self._pieces, self._skin, self._meant = radius, levels, pieces, skin, meant
        self._smooth_skin = smooth_skin
        self._cloth: tuple[bytes, Tree] | None = None
        self._stances: tuple[tuple[bytes, AtStance], ...] = ()
        if levels is not None:
            _ = self.tapes

    @property
    def body(self) -> Body:
        """The body."""
        return self.context.body

    @property
    def meant(self) -> VertexScalars | None:
        """Clearance that each vertex was modelled with, metres, (G,); None if it equals the clearance at the base."""
        return self._meant

    @lazy
    def base_cloth(self) -> Tree:
        """The cloth's triangles as its maker modelled them."""
        return Tree(self.fit.garment.vertices, self.fit.garment.faces)

    @lazy
    def start(self) -> Tree:
        """The cloth's triangles at the base as it is worn: of a repaired fit at the repaired base."""
        unmoved = np.array_equal(self.fit.base, self.fit.garment.vertices)
        return self.base_cloth if unmoved else self.base_cloth.refit(self.fit.base)

    def cloth(self, weights: Weights) -> Tree:
        """The cloth's triangles on a shape; the last is kept."""
        key = (np.asarray(weights) + 0.0).tobytes()
        kept = self._cloth  # read once: another thread may replace it
        if kept is None or kept[0] != key:
            kept = self._cloth = (key, self.base_cloth.refit(self.fit.at(weights)))
        return kept[1]

    @lazy
    def areas(self) -> VertexScalars:
        """Area of each cloth vertex at the base, m², (G,)."""
        return vertex_areas(self.fit.garment.vertices, self.fit.garment.faces)

    @lazy
    def sides(self) -> ClothSides:
        """On which side of the skin the cloth lies at the base; its nearest triangles are the feet."""
        return base_sides(self.base_cloth, self.context.tree, self.context.trusted)

    @lazy
    def start_sides(self) -> ClothSides:
        """On which side of the skin the cloth lies at the base as it is worn."""
        unmoved = self.start is self.base_cloth
        return self.sides if unmoved else base_sides(self.start, self.context.tree, self.context.trusted)

    @lazy
    def cloth_at_base(self) -> ClothAtBase:
        """The cloth that lies in the body at the base as it is worn."""
        context = self.context
        return find_cloth_at_base(self.start, context.tree, context.trusted, self.start_sides)

    @lazy
    def skin_in_front(self) -> VertexScalars:
        """Skin in front of the cloth around each body vertex at the base as it is worn, m², (B,)."""
        context, cloth = self.context, self.cloth_at_base
        sides = self.start_sides
        return skin_in_front(self.start, context.tree, context.trusted, sides, cloth, asked=self._skin)

    @lazy
    def at_base(self) -> AtBase:
        """What is wrong before anything moves, and which rims are excused."""
        found = self.cloth_at_base
        tucked = {name: float(found.tucked[mask[self.foot_vertices]].sum()) for name, mask in self.body.regions.items()}
        named = sorted((name for name, area in tucked.items() if area > 0), key=lambda name: -tucked[name])
        return AtBase(float(self.skin_in_front.sum()), found.share, float(found.tucked.sum()), tuple(named))

    @lazy
    def foot_vertices(self) -> Int[np.ndarray, " G"]:
        """Body vertex nearest to the foot of each cloth vertex."""
        return self.body.faces[self.sides.nearest, np.argmax(self.sides.barycentric, axis=1)]

    @lazy
    def outward(self) -> Float[np.ndarray, "G 3"]:
        """Unit normal of the skin under each cloth vertex at the base."""
        return base_normals(self.sides, self.context.tree)

    @lazy
    def through(self) -> ShowThroughBase:
        """Show-through data of the base body."""
        context = self.context
        return prepare_show_through(
            self.start, context.tree, trusted=context.trusted, sides=self.start_sides, asked=self._skin
        )

    @lazy
    def windows(self) -> PuckerWindows:
        """The windows in which pucker is judged."""
        return pucker_windows(self.fit.garment.vertices, self.fit.garment.faces, radius=self._radius)

    @lazy
    def leaders(self) -> Int[np.ndarray, " G"]:
        """Of each vertex the first of those that coincide with it."""
        return seam_leaders(self.fit.garment.vertices, self.fit.garment.faces)

    @lazy
    def own_turn(self) -> OwnTurn:
        """How the cloth turns around each of its vertices."""
        return OwnTurn(self.fit.garment.vertices, self.fit.garment.faces, self.leaders)

    @lazy
    def smooth_lift(self) -> Lift | None:
        """What its turn is held against, from `held_against`; None where this is only a patch."""
        return None if self._pieces is not None else held_against(self.fit, self.own_lift, self.context.tree)

    @lazy
    def own_lift(self) -> Lift:
        """How the cloth would follow smoothly on this body."""
        return lifted_smoothly(self.fit, self.context.tree)

    @lazy
    def smooth_joints(self) -> Fit | None:
        """The fit with joint weights lifted smoothly from the body; None if a patch. Nothing else differs, but that no
        target corrects it."""
        skin = self.body.skin
        if self._smooth_skin is not None:
            return replace(self.fit, skin=self._smooth_skin)
        if self._pieces is not None or skin is None:
            return None
        return replace(self.fit, skin=lift_skin(self.own_lift, skin), correctives=())

    @lazy
    def near_skin(self) -> Int[np.ndarray, " N"]:
        """Triangles of the body that the garment hides or stands on."""
        near = np.zeros(len(self.body.vertices), dtype=bool)
        near[self.through.covered] = True
        return np.flatnonzero(near[self.body.faces].any(axis=1))

    def at(self, stance: Stance) -> AtStance:
        """The garment at a stance; the last ones are kept.

        Raises: As `cloth_maps`.
        """
        key = stance.worlds.tobytes()
        kept = self._stances
        for known, there in kept:
            if known == key:
                return there
        there = AtStance(
            stance,
            self.fit,
            under=self.under,
            body=self.context.maps(stance),
            smooth=self.smooth_joints,
            asked=self.near_skin,
            skin=lambda: (self.body.vertices, self.context.skin_windows(self._radius)),
        )
        self._stances = (*kept[1 - self.stances_kept :], (key, there))
        return there

    @lazy
    def triangles(self) -> BaseTriangles:
        """The cloth's triangles before they are stretched."""
        return base_triangles(self.fit.garment.vertices, self.fit.garment.faces)

    @lazy
    def skin_stretch(self) -> SkinStretch:
        """Data that carries the body's own stretch to the garment."""
        body = self.body
        return skin_stretch(body.vertices, body.faces, self.sides.nearest, self.sides.barycentric)

    @lazy
    def tapes(self) -> Tapes:
        """Where the tape goes around trunk and cloth."""
        garment, context = self.fit.garment, self.context
        return make_tapes(
            self.body,
            garment.vertices,
            garment.faces,
            self.sides.nearest,
            levels=self._levels,
            standing=context.standing,
            trunk=lambda: context.trunk,
        )

    @lazy
    def pieces(self) -> Pieces:
        """The connected pieces of the garment."""
        return self._pieces or find_pieces(self.fit.garment)

    @lazy
    def seams(self) -> Int[np.ndarray, "M 2"]:
        """Pairs of cloth vertices that coincide."""
        return seam_pairs(self.fit.garment.vertices)

    @lazy
    def own_gaps(self) -> Float[np.ndarray, " M"]:
        """Distance between the two vertices of each pair at the base, before or after a repair, metres."""
        made, worn = (seam_gaps(self.seams, points) for points in (self.base_cloth.vertices, self.start.vertices))
        return np.minimum(made, worn)

    @lazy
    def own_folds(self) -> Bool[np.ndarray, " F"]:
        """Triangles that are turned over at the base, both as modelled and after a repair."""
        own = folded(self.base_cloth.vertices, self.fit.garment.faces)
        return own if self.start is self.base_cloth else own & folded(self.start.vertices, self.fit.garment.faces)

    @lazy
    def own_crossings(self) -> Int[np.ndarray, " P"]:
        """Pairs of triangles that cross at the base, both as modelled and after a repair; see `pair_numbers`."""
        own = self.pair_numbers(tree_self_crossings(self.base_cloth))
        if self.start is self.base_cloth:
            return own
        return np.intersect1d(own, self.pair_numbers(tree_self_crossings(self.start)))

    def pair_numbers(self, pairs: Int[np.ndarray, "P 2"]) -> Int[np.ndarray, " P"]:
        """A unique number for each pair of the cloth's triangles."""
        return pairs @ np.array([len(self.fit.garment.faces), 1])

    @lazy
    def below(self) -> tuple[LayerBelow, ...]:
        """The garments worn under this one, as modelled."""
        return tuple(layer_below(one.base, one.garment.faces, self.context.tree) for one in self.under)

    @lazy
    def orders(self) -> tuple[Order, ...]:
        """Which vertices lie over which layer."""
        garment = self.fit.garment
        worn = [(each.garment.vertices, each.garment.faces) for each in self.under]
        return find_orders(garment.vertices, garment.faces, garment.face_parts, self.outward, under=worn)
