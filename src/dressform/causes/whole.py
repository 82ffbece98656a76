"""Puts a trial back into its garment, for pictures: the whole cloth with the swapped patch in its place."""

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.body.skeleton import Skin
from dressform.body.stance import carry
from dressform.causes.trial import Trial
from dressform.faults.fault import FaultLayer
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.graded.in_front import IN_FRONT
from dressform.faults.registry import ALL_FAULTS, FAULT_LAYERS, cloth_layer
from dressform.faults.results import ShapeFields
from dressform.fit.fit import Fit
from dressform.fit.posed import cloth_maps
from dressform.garment.garment import Garment
from dressform.mesh.geometry import vertex_areas


def whole_fit(trial: Trial) -> Fit:
    """The garment with the patch of a trial, and how it follows the one morph of the trial's body.

    Vertices keep their numbers; vertices that the swap added come last.

    Proof: tests/causes/test_whole.py::test_a_trial_without_a_swap_is_the_garment_itself
    """
    patch, old, cloth = trial.patch, trial.patch.worn.fit, trial.fit
    number, added = _numbers(trial)
    rest = ~_of_patch(trial)
    garment = Garment(
        old.garment.name,
        _put(old.garment.vertices, cloth.garment.vertices, patch.vertices),
        np.concatenate([old.garment.faces[rest], number[cloth.garment.faces]]),
        old.garment.part_names,
        np.concatenate([old.garment.face_parts[rest], cloth.garment.face_parts]),
        np.concatenate([old.garment.strength, cloth.garment.strength[added]]),
    )
    moved = old.at(patch.cluster.worst.weights) - old.base
    return Fit(
        cloth.body,
        garment,
        cloth.following,
        _put(old.base, cloth.base, patch.vertices),
        _put(moved, cloth.deltas[0], patch.vertices)[None],
        None if old.skin is None or cloth.skin is None else _put_skin(old.skin, cloth.skin, patch.vertices),
    )


def carried(trial: Trial, field: Float[np.ndarray, "G ..."]) -> Float[np.ndarray, "W ..."]:
    """A field of the old garment at the vertices of the whole new one."""
    _, added = _numbers(trial)
    return np.concatenate([field, (trial.rows @ field[trial.patch.vertices])[added]])


def whole_fields(trial: Trial, fit: Fit) -> ShapeFields:
    """The fields that a picture of the trial's fault shows, on its worst shape; other fields are 0.

    Args:
        trial: The trial.
        fit: Its whole garment.
    """
    patch = trial.patch
    meant = patch.worn.meant
    smooth = None if patch.stance is None else patch.worn.smooth_joints
    count = 0 if smooth is None or smooth.skin is None else int(smooth.skin.joints.max()) + 1
    worn = GarmentOnBody(
        fit,
        context=patch.context,
        meant=None if meant is None else carried(trial, meant),
        smooth_skin=Skin.from_dense(carried(trial, smooth.skin.dense(count))) if smooth and smooth.skin else None,
    )
    skin = patch.context.at(patch.weights, patch.stance)
    shown_skin = {EXPOSED.key: vertex_areas(skin.vertices, skin.faces), IN_FRONT.key: patch.context.areas}
    hidden = np.zeros(len(skin.vertices), dtype=bool)
    hidden[worn.through.hidden.vertices] = True
    layers = dict.fromkeys((layer.name for layer in FAULT_LAYERS), np.zeros(len(fit.base)))
    for fault, areas in shown_skin.items():
        layers[fault] = np.clip(worn.field(fault, patch.weights, patch.stance) / areas, 0.0, 1.0)
    shown = cloth_layer(patch.cluster.fault)
    layers[shown.name] = worn.field(_shown_fault(shown), patch.weights, patch.stance)
    cloth = fit.at(patch.weights)
    if patch.stance is not None:
        cloth = carry(cloth_maps(fit, patch.stance), cloth)
    return ShapeFields(skin.vertices, cloth, hidden, layers)


def _shown_fault(layer: FaultLayer) -> str:
    """The fault with a field that a layer shows."""
    return next(fault.key for fault in ALL_FAULTS if fault.layer is layer and fault.field is not None)


def _numbers(trial: Trial) -> tuple[Int[np.ndarray, " W"], Int[np.ndarray, " A"]]:
    """Number in the whole garment of each vertex of the patch, and which of them the swap added."""
    kept, count = len(trial.patch.vertices), len(trial.fit.base)
    added = np.arange(kept, count)
    return np.concatenate([trial.patch.vertices, len(trial.patch.worn.fit.base) + added - kept]), added


def _of_patch(trial: Trial) -> Bool[np.ndarray, " F"]:
    """Triangles of the old garment that belong to the patch."""
    patch, garment = trial.patch, trial.patch.worn.fit.garment
    count = len(garment.vertices)
    key = np.array([count**2, count, 1])
    corners = patch.vertices[patch.fit.garment.faces]
    return np.isin(garment.faces.astype(np.int64) @ key, corners.astype(np.int64) @ key)


def _put_skin(old: Skin, new: Skin, at: Int[np.ndarray, " N"]) -> Skin:
    """The old joint weights with the patch's in place, followed by those of the added vertices."""
    count = int(max(old.joints.max(), new.joints.max())) + 1
    return Skin.from_dense(_put(old.dense(count), new.dense(count), at))


def _put(
    old: Float[np.ndarray, "G ..."], new: Float[np.ndarray, "W ..."], at: Int[np.ndarray, " N"]
) -> Float[np.ndarray, "V ..."]:
    """The old values with the patch's values in place, followed by the values of the added vertices."""
    values = old.copy()
    values[at] = new[: len(at)]
    return np.concatenate([values, new[len(at) :]])
