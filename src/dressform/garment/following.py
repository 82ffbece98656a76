"""How one garment follows a body: one frozen record, made from files, command-line options, web pages or scripts."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from numbers import Real
from types import MappingProxyType

import numpy as np
from jaxtyping import Float

from dressform.calls import quoted, refuse_misfit
from dressform.errors import ArgumentError
from dressform.garment.choices import DEFAULT_EASE as DEFAULT_EASE
from dressform.garment.choices import DEFAULT_FALLOFF_MM as DEFAULT_FALLOFF_MM
from dressform.garment.choices import DEFAULT_MARGIN_MM as DEFAULT_MARGIN_MM
from dressform.garment.choices import DEFAULT_METHOD as DEFAULT_METHOD
from dressform.garment.choices import EASES as EASES
from dressform.garment.choices import FULL_STRENGTH, NO_STRENGTH
from dressform.garment.choices import HEAVIEST as HEAVIEST
from dressform.garment.choices import JOINT_WEIGHTS as JOINT_WEIGHTS
from dressform.garment.choices import KEEP as KEEP
from dressform.garment.choices import LIFTED as LIFTED
from dressform.garment.choices import MAX_FALLOFF_MM as MAX_FALLOFF_MM
from dressform.garment.choices import MAX_MARGIN_MM as MAX_MARGIN_MM
from dressform.garment.choices import NEAREST_PART as NEAREST_PART
from dressform.garment.choices import NO_JOINTS as NO_JOINTS
from dressform.garment.choices import ONE_JOINT as ONE_JOINT
from dressform.garment.choices import OWN as OWN
from dressform.garment.choices import SCALE as SCALE
from dressform.garment.choices import SMOOTH_ROTATION_SHARE as SMOOTH_ROTATION_SHARE
from dressform.garment.choices import SMOOTHED as SMOOTHED
from dressform.garment.garment import Garment
from dressform.garment.methods import METHOD_RULE, is_lifted, is_method
from dressform.garment.methods import METHODS as METHODS
from dressform.garment.methods import SMOOTH as SMOOTH
from dressform.mesh.flat import read_only
from dressform.units import MM_PER_M

Number = float | int
ALWAYS_SHOWN = ("method", "margin_mm")
"""Settings that are printed even where they are the default."""


@dataclass(frozen=True, eq=False)
class Following:
    """How one garment follows: the settings of its fit, and the targets of its checks and repairs.

    Attributes:
        method: `nearest` (one nearest body vertex), `nearest-three` (three, by inverse distance), `surface` (closest
            surface point, barycentric) or `smooth` (closest surface point, then smoothed along the cloth). Or one
            that is not ours: `file` (the targets that the garment's file holds), `module:function` (somebody's code),
            `folder:PATH` (a mesh per shape).
        ease: `keep` the distance from the skin, or `scale` it with the skin's own stretch.
        rotation_share: How far the offset from the skin turns with it: 0 not at all, 1 fully. 1 follows a small
            rotation exactly; 0.5 keeps the distance best under large ones. None takes the method's own, 0.5 for
            `smooth` and 0 for the others.
        strength: How strongly the whole garment follows: 0 not at all, 1 fully.
        parts: Strength of named parts.
        mask: Strength painted per vertex, (G,), 0 to 1, or the name of the attribute or colour channel of the
            garment's file that holds it. None keeps the garment's own strength.
        falloff_mm: Width of the soft rim between strengths, mm along the cloth, at most 1000; 0 for a sharp one.
        hard: Parts that move rigidly.
        margin_mm: Least distance from the skin that repairs keep and advice aims for, mm, at most 100.
        joint_weights: `own`, those of the garment's file where it has some for the body's joints, else as `lifted`;
            `lifted` from the body to the cloth, so that it poses like the skin under it; `smoothed`, from the skin
            where it is near and evenly continued along the cloth elsewhere; `nearest-part`, from the foot alone and
            from the part of the body there; `one-joint` for a rigid garment; or `none`.
        part_joints: Joint by part, for rigid parts that follow one joint wholly; "" for the one that carries most.

    Raises:
        ArgumentError: an unknown choice (the valid ones are listed), or a number outside its interval.
    """

    method: str = DEFAULT_METHOD
    ease: str = DEFAULT_EASE
    rotation_share: Number | None = None
    strength: Number = FULL_STRENGTH
    parts: Mapping[str, Number] = field(default_factory=dict)
    mask: str | Float[np.ndarray, " G"] | None = None
    falloff_mm: Number = DEFAULT_FALLOFF_MM
    hard: tuple[str, ...] = ()
    margin_mm: Number = DEFAULT_MARGIN_MM
    joint_weights: str = OWN
    part_joints: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        refuse_misfit("Following", "hard", self.hard, tuple[str, ...])
        if not isinstance(self.parts, Mapping) or not all(isinstance(part, str) for part in self.parts):
            raise ArgumentError.of(
                "Following", "parts", "numbers by part", quoted(self.parts), "Write {part: strength}"
            )
        refuse_misfit("Following", "part_joints", self.part_joints, Mapping[str, str])
        object.__setattr__(self, "part_joints", MappingProxyType(dict(self.part_joints)))
        object.__setattr__(self, "hard", tuple(self.hard))
        object.__setattr__(self, "parts", MappingProxyType(dict(self.parts)))
        if not (self.mask is None or isinstance(self.mask, str)):
            painted = np.array(self.mask) if isinstance(self.mask, np.ndarray) else self.mask  # a copy of its own
            object.__setattr__(self, "mask", read_only("Following", "mask", painted, ("G",)))
        if not is_method(self.method):
            raise ArgumentError.of("Following", "method", METHOD_RULE, quoted(self.method), "Use one of these")
        for name, valid in (("ease", EASES), ("joint_weights", JOINT_WEIGHTS)):
            chosen = getattr(self, name)
            if not isinstance(chosen, str) or chosen not in valid:
                raise ArgumentError.of(
                    "Following", name, f"one of {', '.join(valid)}", quoted(chosen), "Use one of these"
                )
        shares = {"strength": self.strength, **{f"parts[{name!r}]": value for name, value in self.parts.items()}}
        if self.rotation_share is not None:
            shares["rotation_share"] = self.rotation_share
        if isinstance(self.mask, np.ndarray):
            outside = np.flatnonzero(~((self.mask >= NO_STRENGTH) & (self.mask <= FULL_STRENGTH)))
            shares |= {f"mask[{vertex}]": float(self.mask[vertex]) for vertex in outside[:1]}
        for name, share in shares.items():
            if not (_is_number(share) and 0.0 <= share <= 1.0):
                raise ArgumentError.of("Following", name, "in [0, 1]", _short(share), "Scale it into that interval")
        if not (_is_number(self.falloff_mm) and 0.0 <= self.falloff_mm <= MAX_FALLOFF_MM):
            rule = f"0 to {MAX_FALLOFF_MM:g} mm"
            raise ArgumentError.of("Following", "falloff_mm", rule, _short(self.falloff_mm), "Give a width")
        if not (_is_number(self.margin_mm) and 0.0 < self.margin_mm <= MAX_MARGIN_MM):
            rule = f"above 0 and at most {MAX_MARGIN_MM:g} mm"
            raise ArgumentError.of("Following", "margin_mm", rule, _short(self.margin_mm), "Give for instance 2")

    def __getstate__(self) -> dict[str, object]:
        """The state to pickle, with plain mappings."""
        return {**self.__dict__, "parts": dict(self.parts), "part_joints": dict(self.part_joints)}

    def __setstate__(self, state: dict[str, object]) -> None:
        self.__dict__.update(state)
        for name in ("parts", "part_joints"):
            object.__setattr__(self, name, MappingProxyType(dict(getattr(self, name))))

    @property
    def margin(self) -> float:
        """Least distance from the skin that repairs keep and advice aims for, metres."""
        return self.margin_mm / MM_PER_M

    @property
    def falloff(self) -> float:
        """Width of the soft rim between strengths, metres along the cloth."""
        return self.falloff_mm / MM_PER_M

    @property
    def lifted_by(self) -> str:
        """The method of ours that lifts what is asked for: its own, or `smooth` beside one that is not ours."""
        return self.method if is_lifted(self.method) else SMOOTH

    @property
    def effective_rotation_share(self) -> float:
        """The rotation share that is used: the one given, else the method's own."""
        if self.rotation_share is not None:
            return self.rotation_share
        return SMOOTH_ROTATION_SHARE if self.lifted_by == SMOOTH else 0.0

    def __eq__(self, other: object) -> bool:
        """Whether all settings are equal; painted masks are compared number by number."""
        if not isinstance(other, Following):
            return NotImplemented
        return all(_equal(getattr(self, one.name), getattr(other, one.name)) for one in fields(self))

    def __repr__(self) -> str:
        """Method and margin, and of the other settings those that differ from the defaults."""
        values = {one.name: getattr(self, one.name) for one in fields(self)}
        said = [
            name
            for name, value in values.items()
            if name in ALWAYS_SHOWN or not _equal(value, getattr(DEFAULT_FOLLOWING, name))
        ]
        return f"Following({', '.join(f'{name}={_short(values[name])}' for name in said)})"


def for_garment(following: Following, garment: Garment) -> Following:
    """The same without the parts of other garments, which settings for several garments name."""
    parts = {name: value for name, value in following.parts.items() if name in garment.part_names}
    part_joints = {name: joint for name, joint in following.part_joints.items() if name in garment.part_names}
    return replace(following, parts=parts, part_joints=part_joints)


def _equal(one: object, other: object) -> bool:
    if isinstance(one, np.ndarray) and isinstance(other, np.ndarray):
        return np.array_equal(one, other)
    if isinstance(one, np.ndarray) or isinstance(other, np.ndarray):
        return False
    return one == other


def _is_number(value: object) -> bool:
    return isinstance(value, Real) and not isinstance(value, bool)


def _short(value: object) -> str:
    if isinstance(value, np.ndarray):
        return f"<{len(value)} numbers>"
    if isinstance(value, Mapping):
        return repr(dict(value))
    return f"{value:g}" if isinstance(value, float) else repr(value)


DEFAULT_FOLLOWING = Following()
"""How a garment follows by default."""
