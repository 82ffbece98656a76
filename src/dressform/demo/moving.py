"""How the people of Saltmarsh move: a walk and hauling a rope, and the stances that their clothes are looked at in."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from jaxtyping import Float

from dressform.body.body import Body
from dressform.body.stances.human import recognise
from dressform.body.stances.motions import turns_of
from dressform.body.stances.turns import modelled_locals, modelled_worlds, turned_locals
from dressform.body.stances.zero import ZeroPose, zero_pose
from dressform.formats.gltf.animations import JointClip

SOLES = ("left_ankle", "left_toes", "right_ankle", "right_toes")
STANCES_FILE = "body.stances.toml"


@cache
def _clips() -> dict[str, Any]:
    return tomllib.loads(files("dressform.demo").joinpath("moving.toml").read_text(encoding="utf-8"))


def stances_text() -> bytes:
    """The stances TOML of the demo bodies."""
    return files("dressform.demo").joinpath(STANCES_FILE).read_bytes()


def clips_of(body: Body) -> tuple[JointClip, ...]:
    """The animations of a demo body, walking and hauling on the spot, its lower foot on the ground."""
    assert body.skeleton is not None
    zero = zero_pose(recognise(body.skeleton, body.skin))
    return tuple(_clip(zero, name, told) for name, told in _clips().items())


def _clip(zero: ZeroPose, name: str, told: dict[str, Any]) -> JointClip:
    count = int(told["keys"])
    times = np.linspace(0.0, float(told["seconds"]), count + 1)
    keys = [_standing(zero, _motions(told, key % count, count)) for key in range(count + 1)]
    return JointClip(name, times, np.stack(keys))


def _motions(told: dict[str, Any], key: int, count: int) -> dict[str, dict[str, float]]:
    """Motions of every part at a key; the right side is half a cycle behind the left one."""
    found = {
        part: {motion: float(degrees[key]) for motion, degrees in motions.items()}
        for part, motions in told.get("middle", {}).items()
    }
    for part, motions in told["sides"].items():
        for side, at in (("left", key), ("right", (key + count // 2) % count)):
            found[f"{side}_{part}"] = {motion: float(degrees[at]) for motion, degrees in motions.items()}
    return found


def _standing(zero: ZeroPose, motions: dict[str, dict[str, float]]) -> Float[np.ndarray, "J 4 4"]:
    """Local transforms with the motions made, the pelvis as high as the lower foot asks for."""
    human, skeleton = zero.human, zero.human.skeleton
    local = turned_locals(skeleton, turns_of("clips_of", zero, motions), modelled_locals(skeleton))
    soles = [human.joints[part] for part in SOLES if part in human.joints]
    lift = skeleton.world(local)[soles, 1, 3] - modelled_worlds(skeleton)[soles, 1, 3]
    local[human.joints["pelvis"], 1, 3] -= lift.min()
    return local
