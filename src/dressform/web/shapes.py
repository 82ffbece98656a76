"""Answers that are positions: meshes once, and body and cloth at any shape and pose."""

import numpy as np
from jaxtyping import Float, Float32
from scipy.spatial import cKDTree

from dressform.body.body import Body
from dressform.body.pose import Poser, turned_worlds
from dressform.errors import ArgumentError
from dressform.faults.places import NO_REGION, region_names
from dressform.report.page.pack import write_pack
from dressform.report.pictures.faults import Look
from dressform.web.asks import AskError, Meshes, Pose, Shape, checked_weights
from dressform.web.session import Session
from dressform.web.workers import Job
from dressform.web.worn import BaseShape, Worn

NO_NAME = 255
"""Stands for a region that has no name."""


def answer_meshes(session: Session, ask: Meshes, job: Job) -> bytes:
    """Meshes of a base body and of garments; what is not fitted yet is fitted now."""
    base = session.base(ask.base)
    regions, numbers = _regions(base.body)
    arrays: dict[str, np.ndarray] = {
        "body/faces": base.body.faces.astype(np.uint32),
        "body/base": base.body.vertices.astype(np.float32),
        **({"body/region": numbers} if regions else {}),
    }
    for key in dict.fromkeys(ask.garments):
        worn = session.fitted(ask.base, key, job)
        arrays |= _cloth_arrays(worn)
        look = look_of(session, worn)
        if look is not None:
            arrays[f"cloth/{key}/colours"] = np.round(255 * look.colours).astype(np.uint8)
    header = {"kind": "meshes", "id": ask.id, "base": ask.base, "regions": regions}
    return write_pack(header, arrays)


def answer_shape(session: Session, ask: Shape) -> bytes:
    """Body and cloth at a shape, posed where that is asked for; nothing is fitted for it."""
    session.was_asked()
    base = session.base(ask.base)
    weights = checked_weights(ask.weights, base.body.range)
    worlds = None if ask.pose is None else pose_worlds(session, base, ask.pose)
    worn = [session.ready(ask.base, key) for key in dict.fromkeys(ask.garments)]
    body = base.follower.at(weights)
    arrays = {"body": body if worlds is None else _posed(base.poser, body, worlds)}
    for one in worn:
        cloth = one.follower.at(weights)
        arrays[f"cloth/{one.variant.key}"] = cloth if worlds is None else _posed(one.poser, cloth, worlds)
    return write_pack({"kind": "shape", "id": ask.id}, arrays)


def pose_worlds(session: Session, base: BaseShape, pose: Pose) -> Float[np.ndarray, "J 4 4"]:
    """Where the joints stand.

    Raises:
        AskError: the body has no joints or no such animation, or a joint is unknown.
    """
    skeleton = base.body.skeleton
    if skeleton is None:
        raise AskError("This body has no joints to pose.")
    if pose.animation is not None:
        animations = session.animations(base)
        if pose.animation >= len(animations):
            raise AskError(f"The body has {len(animations)} animations; number {pose.animation} is none of them.")
        return animations[pose.animation].worlds(pose.time)
    try:
        return turned_worlds(skeleton, pose.turns or {})
    except ArgumentError as problem:
        raise AskError(str(problem)) from None


def look_of(session: Session, worn: Worn) -> Look | None:
    """Colours of a garment as its file has them; where a repair has split triangles, those of the nearest vertex."""
    look = session.opened.looks.get(worn.variant.name)
    if look is None or len(look.colours) == len(worn.fit.base):
        return look
    opened = session.files[worn.variant.name].garment
    _, nearest = cKDTree(opened.vertices).query(worn.fit.garment.vertices)
    return Look(look.colours[nearest], look.gloss[nearest])


def _posed(
    poser: Poser | None, points: Float32[np.ndarray, "V 3"], worlds: Float[np.ndarray, "J 4 4"]
) -> Float32[np.ndarray, "V 3"]:
    return points if poser is None else poser.at(points, worlds)


def _cloth_arrays(worn: Worn) -> dict[str, np.ndarray]:
    """What is sent of a garment once per fit."""
    garment, feet, key = worn.fit.garment, worn.feet, worn.variant.key
    return {
        f"cloth/{key}/faces": garment.faces.astype(np.uint32),
        f"cloth/{key}/base": worn.fit.base.astype(np.float32),
        f"cloth/{key}/parts": garment.face_parts.astype(np.uint16),
        f"feet/{key}/corners": worn.base.body.faces[feet.faces].astype(np.uint32),
        f"feet/{key}/shares": feet.barycentric.astype(np.float32),
        f"layer/strength/{key}": garment.strength.astype(np.float32),
    }


def _regions(body: Body) -> tuple[list[str], np.ndarray]:
    """Names of the body's regions, and for each vertex which one it is in."""
    names = region_names(body.vertices, body.regions)
    regions = [str(name) for name in np.unique(names) if name != NO_REGION][:NO_NAME]
    numbers = {name: number for number, name in enumerate(regions)}
    return regions, np.array([numbers.get(str(name), NO_NAME) for name in names], dtype=np.uint8)
