"""One garment that follows in many ways: what no way changes is prepared once, and nothing is measured twice."""

from collections.abc import Mapping
from dataclasses import replace

import msgspec
import numpy as np

from dressform.arrays import VertexScalars
from dressform.body.shapes import Shape
from dressform.body.stance import carry
from dressform.faults.body_context import BodyContext
from dressform.faults.broken import bend
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import Bands, graded_values
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import choose_joints
from dressform.fit.posed import cloth_maps
from dressform.formats.following_file import FollowingEntry
from dressform.garment.following import SMOOTH, Following
from dressform.garment.garment import FULL_STRENGTH, Garment
from dressform.garment.parts import find_pieces
from dressform.garment.stiff_signs import stiff_signs
from dressform.garment.strength import follow_as
from dressform.jobs.fit import painted_garment
from dressform.jobs.suggest.weigh import STIFF, Left
from dressform.lift.lift import make_lift
from dressform.repair.whole.hard_parts import hard_pieces, keep_rigid

SHAPES_KEPT = 24
"""So many shapes of the body are kept, since every way of following is looked at on the same few."""


class SharedGarment:
    """A garment whose ways of following share their lift: strength scales its rows, and a stiff part is moved by them.

    Args:
        start: How it follows now.
        garment: The garment as it was read, with the strength that its file paints.
        context: Its body.
        bands: From which value on a fault is slight, moderate, grave.
    """

    def __init__(self, start: Fit, garment: Garment, *, context: BodyContext, bands: Bands) -> None:
        context.shapes_kept = max(context.shapes_kept, SHAPES_KEPT)
        self.start, self.bands = start, bands
        self.garment = replace(painted_garment(garment, start.following), notes=start.garment.notes)
        self.signs = stiff_signs(garment)
        full = replace(start.garment, strength=np.full(len(garment.vertices), FULL_STRENGTH))
        self._lift = make_lift(start.body, full, start.following, tree=context.tree)
        self._full = self._lift.displacements(start.body.deltas)
        smooth = replace(start.following, method=SMOOTH)
        is_smooth = start.following.lifted_by == SMOOTH
        self._smooth = self._lift if is_smooth else make_lift(start.body, full, smooth, tree=context.tree)
        pieces = hard_pieces(garment, parts=tuple(self.signs), detect=False)
        pieces[find_pieces(garment).hard_vertices()] = -1  # a check grades the bend of these
        self._stiff = [np.flatnonzero(pieces == piece) for piece in np.unique(pieces[pieces >= 0])]
        self._first = GarmentOnBody(start, context=context, bands=bands).prepare()
        self._worn: tuple[bytes, GarmentOnBody] | None = None
        self._left: dict[tuple[bytes, bytes], Left] = {}

    def fit(self, following: Following) -> Fit:
        """The fit that `jobs.fit` would make, from the lift that is there already."""
        start = self.start
        cloth = follow_as(self.garment, following)
        asked = (following.joint_weights, following.part_joints)
        same = asked == (start.following.joint_weights, start.following.part_joints)
        skin = start.skin if same else choose_joints(self._lift, following).skin
        made = Fit(start.body, cloth, following, cloth.vertices, self._full * cloth.strength[:, None], skin)
        return keep_rigid(made, detect=False).fit if following.hard else made

    def left(self, following: Following, shape: Shape) -> Left:
        """What is left on a shape where it follows so."""
        key = key_of_following(following), key_of_shape(shape)
        if key not in self._left:
            worn = self._worn_as(following, key[0])
            values = graded_values(worn.measure(shape.weights, shape.stance))
            self._left[key] = self.graded(values, worn.fit, shape)
        return self._left[key]

    def graded(self, values: Mapping[str, float], fit: Fit, shape: Shape) -> Left:
        """Values of a check with the bend of parts that are likely stiff beside them."""
        return Left.of({**values, STIFF: self._stiff_bend(fit, shape)}, self.bands)

    def _stiff_bend(self, fit: Fit, shape: Shape) -> float:
        """Largest departure of a part that is likely stiff from its own form, metres."""
        if not self._stiff:
            return 0.0
        made, moved = fit.garment.vertices, fit.at(shape.weights)
        if shape.stance is not None:
            moved = carry(cloth_maps(fit, shape.stance), moved)
        return max(float(bend(made[piece], moved[piece]).distances.max()) for piece in self._stiff)

    @property
    def clearance(self) -> VertexScalars:
        """Distance of each vertex from the base body, negative inside, metres, (G,)."""
        return self._first.sides.signed

    def know(self, following: Following, shape: Shape, left: Left) -> None:
        """Take over what a check has measured."""
        self._left[key_of_following(following), key_of_shape(shape)] = left

    def look(self, following: Following) -> GarmentOnBody:
        """The garment that follows so on its body."""
        return self._worn_as(following, key_of_following(following))

    def _worn_as(self, following: Following, key: bytes) -> GarmentOnBody:
        if self._worn is None or self._worn[0] != key:
            fit = self.fit(following)
            smooth = replace(self._smooth, garment=fit.garment)
            self._worn = key, self._first.following_as(fit, smooth)
        return self._worn[1]


def key_of_following(following: Following) -> bytes:
    """Tells two ways of following apart, painted masks included."""
    painted = following.mask.tobytes() if isinstance(following.mask, np.ndarray) else b""
    return msgspec.json.encode(FollowingEntry.of(following, None)) + painted


def key_of_shape(shape: Shape) -> bytes:
    """Tells two shapes apart, at rest or at a stance."""
    there = b"" if shape.stance is None else shape.stance.worlds.tobytes() + shape.stance.name.encode()
    return (np.asarray(shape.weights, dtype=np.float64) + 0.0).tobytes() + there
