"""How a garment follows, as the page edits it: every setting has a value."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from jaxtyping import Float
from msgspec import UNSET, UnsetType

from dressform.formats.following_file import FollowingSettings
from dressform.garment.garment import FULL_STRENGTH, Garment
from dressform.garment.strength import DEFAULT_FALLOFF, NO_STRENGTH, with_strength
from dressform.lift.lift import DEFAULT_EASE, EASES
from dressform.repair.clearance import DEFAULT_MARGIN
from dressform.units import MM_PER_M
from dressform.web.asks import AskError, Settings, checked_name


@dataclass(frozen=True)
class Following:
    """How one garment follows, as it is now.

    Attributes:
        strength: 1 on, 0 off, or between, for all of it.
        parts: Strength of named parts.
        falloff: Width of the soft rim between strengths, metres.
        mask: Painted strength per vertex; None where the file's own holds.
        channel: Attribute or colour channel that the file's own strength was read from, or None for the usual one.
        hard: Parts that move rigidly.
        margin: Clearance that repairs keep, metres.
        ease: The ease policy.
        turn: Share of the skin's turn, or None for the way's own.
    """

    strength: float = FULL_STRENGTH
    parts: Mapping[str, float] = field(default_factory=dict)
    falloff: float = DEFAULT_FALLOFF
    mask: Float[np.ndarray, " G"] | None = None
    channel: str | None = None
    hard: tuple[str, ...] = ()
    margin: float = DEFAULT_MARGIN
    ease: str = DEFAULT_EASE
    rotation_share: float | None = None

    @classmethod
    def of(cls, said: FollowingSettings, otherwise: "Following") -> "Following":
        """What a settings file says, and what holds where it says nothing."""
        strength = otherwise.strength if said.strength is None else said.strength
        return cls(
            strength=strength if said.follow else NO_STRENGTH,
            parts={**otherwise.parts, **said.parts},
            falloff=otherwise.falloff if said.falloff is None else said.falloff,
            mask=otherwise.mask if said.painted is None else said.painted,
            channel=said.mask or otherwise.channel,
            hard=said.hard or otherwise.hard,
            margin=otherwise.margin if said.margin is None else said.margin,
            ease=said.ease or otherwise.ease,
            rotation_share=otherwise.rotation_share if said.rotation_share is None else said.rotation_share,
        )

    def settings(self, *, lift: str | None = None) -> FollowingSettings:
        """The same for a file; what is as it always is is left out."""
        always = Following()
        return FollowingSettings(
            strength=None if self.strength == always.strength else self.strength,
            parts=self.parts,
            falloff=None if self.falloff == always.falloff else self.falloff,
            mask=self.channel,
            painted=self.mask,
            hard=self.hard,
            margin=None if self.margin == always.margin else self.margin,
            lift=lift,
            ease=None if self.ease == always.ease else self.ease,
            rotation_share=self.rotation_share,
        )

    def told(self) -> dict[str, Any]:
        """The same for the page; of the paint only whether there is some."""
        return {
            "strength": self.strength,
            "parts": dict(self.parts),
            "falloff_mm": self.falloff * MM_PER_M,
            "painted": self.mask is not None,
            "hard": list(self.hard),
            "margin_mm": self.margin * MM_PER_M,
            "ease": self.ease,
            "rotation_share": self.rotation_share,
        }

    def apply(self, garment: Garment) -> Garment:
        """The garment, following as strongly as this says."""
        if self.mask is None and self.strength == FULL_STRENGTH and not self.parts:
            return garment
        mask = garment.strength if self.mask is None else self.mask
        return with_strength(garment, overall=self.strength, parts=self.parts, mask=mask, falloff=self.falloff)

    def changed(self, settings: Settings, garment: Garment) -> "Following":
        """How it follows after some settings were changed.

        Raises:
            AskError: a part or a name is unknown, or the mask has another length than the cloth.
        """
        changes: dict[str, Any] = {
            name: getattr(settings, name) for name in ("strength", "rotation_share") if getattr(settings, name) is not UNSET
        }
        if not isinstance(settings.falloff_mm, UnsetType):
            changes["falloff"] = settings.falloff_mm / MM_PER_M
        if not isinstance(settings.margin_mm, UnsetType):
            changes["margin"] = settings.margin_mm / MM_PER_M
        if not isinstance(settings.parts, UnsetType):
            changes["parts"] = _merged(self.parts, _known(settings.parts, garment))
        if not isinstance(settings.hard, UnsetType):
            changes["hard"] = tuple(_known(dict.fromkeys(settings.hard), garment))
        if not isinstance(settings.ease, UnsetType):
            changes["ease"] = checked_name("ease policy", settings.ease, EASES)
        if not isinstance(settings.mask, UnsetType):
            changes["mask"] = None if settings.mask is None else _mask(settings.mask, garment)
        return replace(self, **changes)


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
        raise AskError(f"A mask of {garment.name!r} has {count} values, not {len(values)}.")
    return np.array(values, dtype=np.float64)
