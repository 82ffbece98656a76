"""Answers that are positions: meshes once, and body and cloth at any shape and pose."""

from collections.abc import Mapping, Sequence
from typing import TypeVar

import numpy as np
from jaxtyping import Float, Float32
from scipy.spatial import cKDTree

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.body.pose import Poser, turned_worlds
from dressform.body.skeleton import Skeleton
from dressform.body.stance import Stance
from dressform.body.stances.following_joints import stance_on
from dressform.body.stances.slider_ends import modelled_stance
from dressform.body.stances.sliders import slid_by_hand, slid_stance
from dressform.errors import ArgumentError
from dressform.faults.places import NO_REGION, region_names
from dressform.formats.surfaces.dressed import dressed_mesh
from dressform.formats.surfaces.laid import same_mesh
from dressform.report.page.pack import Coarse
from dressform.report.page.pictures import LIVE_PIXELS, picture_arrays
from dressform.report.pictures.faults import Appearance
from dressform.web.answers import MeshesAnswer, ShapeAnswer, answer_pack
from dressform.web.fitted_garments import BaseShape, FittedGarment
from dressform.web.requests import MeshesRequest, Pose, RequestError, ShapeRequest, checked_weights
from dressform.web.session import Session
from dressform.web.workers import BackgroundJob

Kind = TypeVar("Kind")
BY_HAND = "joints moved by hand"
NO_NAME = 255
"""Stands for a region that has no name."""


def answer_meshes(session: Session, request: MeshesRequest, job: BackgroundJob) -> bytes:
    """Meshes of a base body and of garments; what is not fitted yet is fitted now."""
    base = session.base(request.base)
    regions, numbers = _regions(base.body)
    arrays: dict[str, np.ndarray | Coarse] = {
        "body/faces": base.body.faces.astype(np.uint32),
        "body/base": base.body.vertices.astype(np.float32),
        **({"body/region": numbers} if regions else {}),
    }
    for key in dict.fromkeys(request.garments):
        fitted = session.fitted(request.base, key, job)
        arrays |= _cloth_arrays(fitted)
        look = look_of(session, fitted)
        if look is not None:
            arrays[f"cloth/{key}/colours"] = np.round(255 * look.colours).astype(np.uint8)
        arrays |= _pictures(session, fitted)
    return answer_pack(MeshesAnswer(id=request.id, base=request.base, regions=tuple(regions)), arrays)


def answer_shape(session: Session, request: ShapeRequest) -> bytes:
    """Body and cloth at a shape, posed if requested; nothing is fitted for it."""
    session.was_asked()
    base = session.base(request.base)
    weights = checked_weights(request.weights, base.body.range)
    worlds = None if request.pose is None else _worlds_on(base, stance_of(session, base, request.pose), weights)
    fitted = [session.ready(request.base, key) for key in dict.fromkeys(request.garments)]
    body = base.follower.at(weights)
    arrays = {"body": body if worlds is None else _posed(base.poser, body, worlds)}
    for one in fitted:
        cloth = one.follower.at(weights)
        arrays[f"cloth/{one.variant.key}"] = cloth if worlds is None else one.posed(cloth, worlds)
    return answer_pack(ShapeAnswer(id=request.id), arrays)


def stance_of(session: Session, base: BaseShape, pose: Pose) -> Stance:
    """Where the joints stand, and what that is called.

    Raises:
        RequestError: the body has no joints, no such animation or no such stance; or a joint or a slider that moves
            joints is unknown.
    """
    skeleton = base.body.skeleton
    if skeleton is None:
        raise RequestError("This body has no joints to pose.")
    values = {name: value for name, value in (pose.sliders or {}).items() if value}
    try:
        if pose.animation is None and pose.stance is None:
            return _by_hand(base.body, skeleton, pose.turns or {}, values)
        stance = _standing(session, base, pose)
        return (
            slid_stance(stance, skeleton, base.body.joint_sliders, {**stance.sliders, **values}) if values else stance
        )
    except ArgumentError as problem:
        raise RequestError(str(problem)) from None


def _standing(session: Session, base: BaseShape, pose: Pose) -> Stance:
    """The moment of an animation, or the stance of the list."""
    if pose.animation is not None:
        one = _numbered(session.animations(base), pose.animation, "animations")
        return Stance(f"{one.name} at {pose.time:.2f} s", one.worlds(pose.time))
    return _numbered(session.poses(base), pose.stance or 0, "stances")


def _by_hand(
    body: Body, skeleton: Skeleton, turns: Mapping[str, Sequence[float]], values: Mapping[str, float]
) -> Stance:
    """Joints turned by hand, with sliders at their values."""
    if not values:
        return Stance(BY_HAND, turned_worlds(skeleton, turns))
    if not turns:
        return slid_stance(modelled_stance(skeleton), skeleton, body.joint_sliders, values)
    worlds = slid_by_hand(skeleton, body.joint_sliders, values, turns)
    return Stance(BY_HAND, worlds, sliders=values, still=slid_by_hand(skeleton, body.joint_sliders, {}, turns))


def _worlds_on(base: BaseShape, stance: Stance, weights: Weights) -> Float[np.ndarray, "J 4 4"]:
    """Joint-to-world transforms at a stance, of joints that may follow the morphs of the shape."""
    body = base.body
    return (
        stance.worlds if body.skeleton is None else stance_on(stance, body.skeleton, body.joint_moves, weights).worlds
    )


def _numbered(known: Sequence[Kind], number: int, words: str) -> Kind:
    if number >= len(known):
        raise RequestError(f"The body has {len(known)} {words}; number {number} is none of them.")
    return known[number]


def look_of(session: Session, fitted: FittedGarment) -> Appearance | None:
    """Colours of a garment as its file has them; where a repair has split triangles, those of the nearest vertex."""
    look = session.opened.looks.get(fitted.variant.name)
    if look is None or len(look.colours) == len(fitted.fit.base):
        return look
    opened = session.files[fitted.variant.name].garment
    _, nearest = cKDTree(opened.vertices).query(fitted.fit.garment.vertices)
    return Appearance(look.colours[nearest], look.gloss[nearest])


def _posed(
    poser: Poser | None, points: Float32[np.ndarray, "V 3"], worlds: Float[np.ndarray, "J 4 4"]
) -> Float32[np.ndarray, "V 3"]:
    return points if poser is None else poser.at(points, worlds)


def _cloth_arrays(fitted: FittedGarment) -> dict[str, np.ndarray]:
    """What is sent of a garment once per fit."""
    garment, feet, key = fitted.fit.garment, fitted.feet, fitted.variant.key
    return {
        f"cloth/{key}/faces": garment.faces.astype(np.uint32),
        f"cloth/{key}/base": fitted.fit.base.astype(np.float32),
        f"cloth/{key}/parts": garment.face_parts.astype(np.uint16),
        f"feet/{key}/corners": fitted.base.body.faces[feet.faces].astype(np.uint32),
        f"feet/{key}/shares": feet.barycentric.astype(np.float32),
        f"layer/strength/{key}": garment.strength.astype(np.float32),
    }


def _pictures(session: Session, fitted: FittedGarment) -> dict[str, np.ndarray | Coarse]:
    """The pictures of a garment's file, made small once; none where a repair has split triangles."""
    name = fitted.variant.name
    if name not in session.pictures:
        session.pictures[name] = dressed_mesh(session.files[name], most=LIVE_PIXELS)
    dressed = session.pictures[name]
    if dressed is None or not same_mesh(dressed, fitted.fit.garment.faces):
        return {}
    return picture_arrays(dressed, f"cloth/{fitted.variant.key}/", coarse=False)


def _regions(body: Body) -> tuple[list[str], np.ndarray]:
    """Names of the body's regions, and for each vertex which one it is in."""
    names = region_names(body.vertices, body.regions)
    regions = [str(name) for name in np.unique(names) if name != NO_REGION][:NO_NAME]
    numbers = {name: number for number, name in enumerate(regions)}
    return regions, np.array([numbers.get(str(name), NO_NAME) for name in names], dtype=np.uint8)
