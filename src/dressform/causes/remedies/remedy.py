"""What a remedy is: words for a person, and code that does to the whole garment exactly what they say."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Bool
from scipy.sparse import csr_array, eye_array

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.skeleton import Skin
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.fade import faded_moves
from dressform.causes.patch import near_spot
from dressform.causes.results import Explanation
from dressform.faults.registry import is_on_body
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import carried_skin, choose_joints, same_skin
from dressform.fit.shaped import ShapedFit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.garment.methods import is_lifted
from dressform.lift.lift import Lift, make_lift

ON_IT = 1e-9
"""A vertex of a place is within 0 of it, metres."""


@dataclass(frozen=True)
class Group:
    """Places of one garment with one cause and one subject, for one remedy.

    Attributes:
        worn: The garment.
        cause: Their cause.
        subject: The morph or part that it is about, or empty.
        explained: The places, the most noticed first; at least one.
    """

    worn: ExplainedGarment
    cause: str
    subject: str
    explained: tuple[Explanation, ...]

    def cloth(self, *, reach: float) -> Bool[np.ndarray, " G"]:
        """Vertices of the cloth within `reach` of the places, metres, (G,)."""
        near = np.zeros(len(self.worn.fit.garment.vertices), dtype=bool)
        for one in self.explained:
            on_body = is_on_body(one.cluster.fault)
            points = (self.worn.fit.body if on_body else self.worn.fit.garment).vertices
            room = float(np.median(np.abs(self.worn.clearance))) if on_body else 0.0
            spot = points[one.cluster.vertices]
            near |= near_spot(spot, self.worn.fit.garment.vertices, reach=reach + room + ON_IT)
        return near

    def figures(self, name: str) -> list[float]:
        """One figure of every place that has it."""
        return [one.evidence[name] for one in self.explained if name in one.evidence]


@dataclass(frozen=True)
class Changed:
    """The whole garment after a remedy.

    Attributes:
        fit: How it then follows.
        rows: Interpolation from old to new vertices, (W, G).
        under: What is then worn under it; what was worn there before if None.
        box: What a wearer may then still reach; all that was there before if None.
    """

    fit: Fit
    rows: csr_array
    under: tuple[Fit, ...] | None = None
    box: Range | None = None


@dataclass(frozen=True)
class Remedy:
    """One thing that could be done.

    Attributes:
        words: What to do, with figures.
        by: Whose work it is.
        apply: Does it.
    """

    words: str
    by: str
    apply: Callable[[], Changed]


Remedies = Callable[[Group], Iterable[Remedy]]
"""Proposes remedies for the places of one cause, the likeliest first."""


def unchanged(fit: Fit) -> csr_array:
    """Rows that leave the vertices of a fit as they are."""
    return csr_array(eye_array(len(fit.base)))


def remade(
    worn: ExplainedGarment,
    *,
    garment: Garment | None = None,
    rows: csr_array | None = None,
    body: Body | None = None,
    following: Following | None = None,
) -> Changed:
    """The garment fitted again with another cloth, body or following; what repairs added to its fit is kept.

    Args:
        worn: The garment as it is.
        garment: The changed cloth.
        rows: From its old vertices to the new ones; the same vertices if left out.
        body: The changed body.
        following: How it follows instead.
    """
    old = worn.fit
    rows = unchanged(old) if rows is None else rows
    cloth, skin, follows = garment or old.garment, body or old.body, following or old.following
    lift = make_lift(skin, cloth, follows, tree=worn.context.tree if body is None else None)
    deltas, base = lift.displacements(skin.deltas), cloth.vertices
    joints = _joints(worn, lift, follows, rows)
    if follows.method == old.following.method or is_lifted(old.following.method):
        deltas = deltas + _carried(rows, old.deltas - worn.plain)
        base = base + rows @ (old.base - old.garment.vertices)
        if isinstance(old, ShapedFit):
            return Changed(old.on(Fit(skin, cloth, follows, base, deltas, joints), lambda moved: rows @ moved), rows)
    return Changed(Fit(skin, cloth, follows, base, deltas, joints), rows)


def _joints(worn: ExplainedGarment, lift: Lift, following: Following, rows: csr_array) -> Skin | None:
    """The joint weights of the garment fitted again; those of a repair are carried over."""
    skin, plain = worn.fit.skin, worn.plain_skin
    if skin is None:
        return None
    if plain is None or not same_skin(skin, plain):
        return carried_skin(rows, skin)
    return choose_joints(lift, following).skin


def moved(worn: ExplainedGarment, moves: np.ndarray) -> Changed:
    """The garment fitted again with its vertices moved, metres, (G, 3)."""
    garment = worn.fit.garment
    return remade(worn, garment=replace(garment, vertices=garment.vertices + moves))


def faded(group: Group, moves: np.ndarray, held: np.ndarray) -> Changed:
    """The garment with some vertices moved and those around them by less, the farther away the less."""
    return moved(group.worn, faded_moves(group.worn.paths, moves, held))


def _carried(rows: csr_array, field: np.ndarray) -> np.ndarray:
    return np.stack([rows @ one for one in field]) if len(field) else np.zeros((0, rows.shape[0], 3))
