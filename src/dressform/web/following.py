"""How a garment follows, as the page shows and edits it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from jaxtyping import Float
from msgspec import UNSET, UnsetType

from dressform.formats.results.page.garments import SettingsAbout
from dressform.garment.following import EASES, JOINT_WEIGHTS, Following
from dressform.garment.garment import Garment
from dressform.web.requests import RequestError, SettingsChange, checked_name

PLAIN = ("strength", "falloff_mm", "margin_mm", "rotation_share", "part_joints")
"""Settings that a page sends as they are."""


def page_settings(following: Following) -> SettingsAbout:
    """For the page; of paint only whether there is some."""
    return SettingsAbout(
        strength=following.strength,
        parts=dict(following.parts),
        falloff_mm=following.falloff_mm,
        painted=isinstance(following.mask, np.ndarray),
        hard=following.hard,
        margin_mm=following.margin_mm,
        ease=following.ease,
        rotation_share=following.rotation_share,
        joint_weights=following.joint_weights,
        part_joints=dict(following.part_joints),
    )


def changed(following: Following, settings: SettingsChange, garment: Garment, *, opened: Following) -> Following:
    """How a garment follows after some settings were changed.

    Args:
        following: How it followed.
        settings: What the page changes.
        garment: The garment as it was read.
        opened: How it followed when it was opened: a mask that was named there is in force again without paint.

    Raises:
        RequestError: a part or a name is unknown, or the mask has another length than the cloth.
    """
    changes: dict[str, Any] = {name: getattr(settings, name) for name in PLAIN if getattr(settings, name) is not UNSET}
    if not isinstance(settings.parts, UnsetType):
        changes["parts"] = _merged(following.parts, _known(settings.parts, garment))
    if not isinstance(settings.hard, UnsetType):
        changes["hard"] = tuple(_known(dict.fromkeys(settings.hard), garment))
    if not isinstance(settings.ease, UnsetType):
        changes["ease"] = checked_name("ease policy", settings.ease, EASES)
    if not isinstance(settings.joint_weights, UnsetType):
        changes["joint_weights"] = checked_name("kind of joint weights", settings.joint_weights, JOINT_WEIGHTS)
    if not isinstance(settings.part_joints, UnsetType):
        _known(settings.part_joints, garment)
    if not isinstance(settings.mask, UnsetType):
        named = opened.mask if isinstance(opened.mask, str) else None
        changes["mask"] = named if settings.mask is None else _mask(settings.mask, garment)
    return replace(following, **changes)


def _merged(parts: Mapping[str, float], changes: Mapping[str, float | None]) -> dict[str, float]:
    """Strengths of parts after some were set, or taken away (None)."""
    kept = {name: value for name, value in parts.items() if name not in changes}
    return kept | {name: value for name, value in changes.items() if value is not None}


def _known(parts: dict[str, Any], garment: Garment) -> dict[str, Any]:
    """The same, refused where the garment has no such part."""
    for name in parts:
        checked_name(f"part of {garment.name!r}", name, garment.part_names)
    return parts


def _mask(values: Sequence[float], garment: Garment) -> Float[np.ndarray, " G"]:
    count = len(garment.vertices)
    if len(values) != count:
        raise RequestError(f"A mask of {garment.name!r} has {count} values, not {len(values)}.")
    return np.array(values, dtype=np.float64)
