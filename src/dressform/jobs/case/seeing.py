"""A garment on a body at the shape of a case: measured, and looked at from where the case was."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.body.pose import Animation, turned_worlds
from dressform.body.stance import Stance
from dressform.body.stances.sliders import slid_by_hand, slid_stance
from dressform.errors import ArgumentError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.registry import is_on_body
from dressform.faults.results import SEVERITIES, Place, ShapeFaults, ShapeFields
from dressform.faults.severity import graded_values
from dressform.faults.words import reading_of
from dressform.fit.fit import Fit
from dressform.formats.case_file import CaseFault, CasePose, CaseView
from dressform.formats.gltf.joint_tracks import read_animations
from dressform.formats.load import body_file_of
from dressform.report.pictures.camera import Camera, framed
from dressform.report.pictures.faults import Appearance, gravest_fault, light, look_at, place_rings
from dressform.report.pictures.picture import ringed
from dressform.report.pictures.raster import Image, draw

SAME_PLACE = 0.08
"""A place within so many metres of that of a case is the same place."""
PAGE_FIELD = 24.0
"""Degrees from top to bottom of the page's camera (`web/src/stage/orbit.ts`): of a view that names no height."""
PICTURE_SIZE = (560, 700)


@dataclass(frozen=True)
class Seen:
    """A garment at the shape of a case.

    Attributes:
        fit: The garment on its body.
        weights: The shape, (K,).
        faults: What was measured there.
        fields: The same as fields over the meshes.
    """

    fit: Fit
    weights: Weights
    faults: ShapeFaults
    fields: ShapeFields

    @property
    def body(self) -> Body:
        """The body."""
        return self.fit.body


def see(fit: Fit, weights: Weights, stance: Stance | None = None) -> Seen:
    """Measure a garment at a shape, as figures and as fields; at a stance where it has joint weights to take it."""
    return Seen(fit, weights, *GarmentOnBody(fit).both(weights, None if fit.skin is None else stance))


def case_stance(body: Body, pose: CasePose | None) -> Stance | None:
    """How the body stands in a case; None for the pose in which it was modelled.

    Raises:
        ArgumentError: the body has no joints, or no animation, joint or slider of that name.
    """
    if pose is None:
        return None
    if body.skeleton is None:
        raise ArgumentError.of("replay", "pose", "of a body with joints", "a body without", "Leave the pose out")
    if pose.animation:
        worlds = _animation(read_animations(body_file_of(body)), pose.animation).worlds(pose.time_s)
        stance = Stance(f"{pose.animation} at {pose.time_s:.2f} s", worlds)
        return slid_stance(stance, body.skeleton, body.joint_sliders, pose.sliders) if pose.sliders else stance
    if pose.sliders:
        worlds = slid_by_hand(body.skeleton, body.joint_sliders, pose.sliders, pose.turns)
        return Stance("the pose of the case", worlds, sliders=pose.sliders)
    return Stance("the pose of the case", turned_worlds(body.skeleton, pose.turns))


def case_faults(faults: ShapeFaults) -> dict[str, CaseFault]:
    """Every fault of a shape as a case holds it."""
    values = graded_values(faults)
    return {
        fault: CaseFault(*reading_of(fault, value), severity=faults.severities[fault])
        for fault, value in values.items()
    }


def places_there(seen: Seen, place: Place, *, same_mesh: bool) -> list[Place]:
    """Places of the same fault (of any, where the case names none) at the place of a case, the gravest first.

    Args:
        seen: The garment today.
        place: The place.
        same_mesh: Whether the file is the same, so that the case's vertex is still that vertex.
    """
    spot = spot_of(seen, place, same_mesh=same_mesh)
    return [
        one
        for one in seen.faults.places
        if place.fault in {"", one.fault} and np.linalg.norm(np.array(one.position_m) - spot) <= SAME_PLACE
    ]


def spot_of(seen: Seen, place: Place, *, same_mesh: bool) -> Float[np.ndarray, "3"]:
    """Where the place of a case is on the shape, as the body stands, metres, (3,)."""
    points = seen.fields.body if is_on_body(place.fault) else seen.fields.cloth
    if same_mesh and 0 <= place.vertex < len(points):
        return points[place.vertex]
    return np.array(place.position_m)


def still_wrong(then: str, now: str) -> bool:
    """Whether a fault that was `then` is still wrong when it is `now`: as bad as it was, or plain at least."""
    bound = SEVERITIES.index("moderate")
    if then in SEVERITIES[1:]:
        bound = min(bound, SEVERITIES.index(then))
    return SEVERITIES.index(now) >= bound


def view_of(seen: Seen, view: CaseView | None, *, size: tuple[int, int] = PICTURE_SIZE) -> Camera:
    """The camera of a case; where it has none, close by the gravest place, else the whole from the front.

    Raises:
        ArgumentError: the camera stands in what it looks at.
    """
    if view is None:
        if seen.faults.places:
            return look_at(seen.faults.places[0], seen.body, seen.fit, seen.fields, radius=0.25)
        return framed(np.concatenate([seen.fields.body, seen.fields.cloth]), "front", aspect=size[0] / size[1])
    eye, target = np.array(view.position_m), np.array(view.target_m)
    distance = float(np.linalg.norm(eye - target))
    if not distance > 0:
        raise ArgumentError.of("replay", "view", "a camera beside its target", "both in one point", "Save it again")
    height = view.height_m or 2.0 * distance * float(np.tan(np.radians(PAGE_FIELD) / 2.0))
    return Camera(eye, target, height, near=0.01 * distance)


def picture_of(
    seen: Seen,
    camera: Camera,
    look: Appearance,
    *,
    fault: str = "",
    ring: Place | None = None,
) -> Image:
    """The garment with its faults as colour, as the body stands."""
    lit = light(seen.body, seen.fit, seen.fields, fault or gravest_fault(seen.faults), look=look)
    image = draw(lit.meshes, camera, PICTURE_SIZE, ground_shadow=False)
    if ring is None:
        return image
    return ringed(image, place_rings([ring], camera, PICTURE_SIZE, seen.body, seen.fit, seen.fields))


def _animation(animations: tuple[Animation, ...], name: str) -> Animation:
    for one in animations:
        if one.name == name:
            return one
    known = ", ".join(one.name for one in animations) or "it has none"
    raise ArgumentError.of("replay", "pose", f"an animation of the body: {known}", repr(name), "Use another body file")
