"""A fit by somebody's code: linear where it returns targets, else known shape by shape."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from dressform.arrays import ClothPoints, Weights
from dressform.body.body import Body
from dressform.body.skeleton import Skin
from dressform.body.stance import Stance
from dressform.errors import MethodError
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import choose_joints
from dressform.fit.shaped import ShapedFit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.garment.strength import follow_as
from dressform.jobs.methods.approximated import approximated
from dressform.jobs.methods.code import Code, code_of
from dressform.lift.lift import make_lift
from dressform.mesh.tree import Tree

CHECK = "Return one row of three numbers, metres, for each vertex of the garment that it was given"


def fit_by_code(body: Body, garment: Garment, following: Following, *, tree: Tree | None = None) -> Fit:
    """The garment as somebody's code has it follow.

    The function that `following.method` names is called with the body, the garment and the following. It returns

    - targets: an array (morphs, vertices, 3), metres, or a mapping from morph names to (vertices, 3);
    - a `Fit`; or
    - a function of the weights that returns the cloth's vertices, (vertices, 3). If it takes a stance too, it is asked
      at stances and returns the posed cloth; else joint weights pose it.

    A function that turns out to be linear is a plain fit; of any other the best linear approximation is made, and a
    note tells how far it departs from it.

    Args:
        body: The body. garment: The garment. following: Its settings; the method names the code.
        tree: The body's triangles if they are at hand.

    Raises:
        MethodError: the code fails, takes too long, ends its process, or returns what cannot be meant.

    Proof: tests/jobs/methods/test_by_code.py
    """
    garment = follow_as(garment, following)
    called = _Called(code_of(following.method), body, garment, following)
    kind, answer = called.made()
    joints = choose_joints(make_lift(body, garment, following, tree=tree), following)
    garment = replace(garment, notes=(*garment.notes, *joints.notes))
    if kind == "cloth":
        blank = np.zeros((len(body.morph_names), len(garment.vertices), 3))
        shaped = ShapedFit(
            body, garment, following, garment.vertices, blank, joints.skin, ask=called.at, has_poses=bool(answer)
        )
        return approximated(shaped)
    base, deltas, skin = garment.vertices, answer, joints.skin
    notes: tuple[str, ...] = ()
    if kind == "fit":
        base, deltas, skin = _parts(answer, joints.skin)
    elif isinstance(answer, Mapping):
        deltas, notes = _by_name(following.method, answer, body, garment)
    base = _checked(following.method, "the base", base, garment.vertices.shape)
    deltas = _checked(following.method, "targets", deltas, (len(body.morph_names), *garment.vertices.shape))
    words = f"Measured by the targets that {following.method} returned."
    garment = replace(garment, notes=(*garment.notes, words, *notes))
    return Fit(body, garment, following, base, deltas, skin)


class _Called:
    """Somebody's function, called for one garment; called anew where its process had to be started again."""

    def __init__(self, code: Code, body: Body, garment: Garment, following: Following) -> None:
        self._code, self._given, self._number = code, (body, garment, following), code.next_number()
        self._start = -1

    def made(self) -> tuple[str, Any]:
        """What it returned: its kind, and the targets or whether its function takes stances."""
        answer: Any = self._code.call("make", self._number, *self._given)
        self._start = self._code.starts
        kind, held = answer
        return str(kind), held

    def at(self, weights: Weights, stance: Stance | None) -> ClothPoints:
        """Where its function says that the cloth is, (G, 3), metres."""
        if self._code.starts != self._start or not self._code.is_running:
            self.made()
        found = self._code.call("at", self._number, weights, stance)
        there = "" if stance is None else f" at {stance.name!r}"
        return _checked(self._code.name, f"the cloth{there}", found, self._given[1].vertices.shape)


def _parts(answer: Any, lifted: Skin | None) -> tuple[Any, Any, Skin | None]:
    base, deltas, skin = answer
    return base, deltas, skin if skin is not None else lifted


def _by_name(
    method: str, answer: Mapping[str, Any], body: Body, garment: Garment
) -> tuple[np.ndarray, tuple[str, ...]]:
    """Targets by the names of morphs; what is missing stays still and is named."""
    deltas = np.zeros((len(body.morph_names), *garment.vertices.shape))
    for number, name in enumerate(body.morph_names):
        if name in answer:
            deltas[number] = _checked(method, f"the target {name!r}", answer[name], garment.vertices.shape)
    missing = [name for name in body.morph_names if name not in answer]
    extra = [name for name in answer if name not in body.morph_names]
    notes = [f"It returned no target for {', '.join(missing)}: there the cloth stays where it is."] if missing else []
    notes += [f"Targets that are no morphs of the body stayed out: {', '.join(extra)}."] if extra else []
    return deltas, tuple(notes)


def _checked(method: str, what: str, found: Any, shape: tuple[int, ...]) -> np.ndarray:
    """An array of somebody's, refused where it cannot be meant."""
    array = np.asarray(found, dtype=np.float64)
    if array.shape != shape:
        raise MethodError.of(method, f"returned {what} as {array.shape}, not {shape}", CHECK)
    bad = np.argwhere(~np.isfinite(array))
    if len(bad):
        place = ", ".join(str(int(one)) for one in bad[0])
        raise MethodError.of(method, f"returned {what} with {array[tuple(bad[0])]} at [{place}]", CHECK)
    return array
