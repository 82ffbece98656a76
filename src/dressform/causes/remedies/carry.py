"""Other joint weights for a whole garment, or one joint for its stiff parts."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from dressform.body.skeleton import Skin
from dressform.causes.advice_words import quoted
from dressform.causes.remedies.remedy import Changed, Group, Remedy, unchanged
from dressform.causes.results import FOLLOWING, GARMENT
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import keeps_own
from dressform.garment.following import LIFTED, NEAREST_PART, ONE_JOINT, OWN, SMOOTHED, Following

WORDS: Mapping[str, str] = {
    OWN: "keep the joint weights of its own file",
    LIFTED: "take the joint weights lifted from the body",
    SMOOTHED: "take joint weights smoothed along the cloth",
    NEAREST_PART: "take the joint weights of the nearest part of the body",
}


def carry_otherwise(group: Group) -> Iterator[Remedy]:
    """Every other kind of joint weights, and stiff parts on one joint.

    Each is an option of `fit`; where the garment's own weights are at fault, its maker can paint them so as well.
    """
    worn = group.worn
    fit = worn.fit
    for kind, skin in worn.joint_skins.items():
        if kind == ONE_JOINT:
            options = " ".join(f"--part-joint {quoted(part + '=')}" for part in worn.stiff_parts)
            words = f"`{options}`: each stiff part follows one joint"
            changed = replace(fit.following, part_joints={**fit.following.part_joints, **_heaviest(worn.stiff_parts)})
        else:
            instead = " in place of its own" if keeps_own(fit) else ""
            words = f"`--joint-weights {kind}`: {WORDS[kind]}{instead}"
            changed = replace(fit.following, joint_weights=kind)
        owner = GARMENT if keeps_own(fit) and kind != ONE_JOINT else FOLLOWING
        yield Remedy(words, owner, _Carried(fit, skin, changed))


class _Carried:
    """Does it: the fit as it is, on other joints."""

    def __init__(self, fit: Fit, skin: Skin, following: Following) -> None:
        self._fit, self._skin, self._following = fit, skin, following

    def __call__(self) -> Changed:
        made = replace(self._fit, skin=self._skin, following=self._following)
        return Changed(made, unchanged(self._fit))


def _heaviest(parts: tuple[str, ...]) -> dict[str, str]:
    return dict.fromkeys(parts, "")
