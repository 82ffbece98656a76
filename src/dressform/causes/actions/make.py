"""Makes the actions of one garment: groups its places, tries remedies for each group, and says what was found."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from dressform.body.stance import Stance
from dressform.causes.action import Action, Tried, action_name
from dressform.causes.actions.group import grouped, noticed, where_words
from dressform.causes.actions.try_out import HELPS, Trials, best_first
from dressform.causes.actions.words import effect_words, unhelped_words
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.remedies.carry import carry_otherwise
from dressform.causes.remedies.follow import as_a_whole, bring_near, by_method, carry_back, stiff_or_off
from dressform.causes.remedies.let_out import let_out
from dressform.causes.remedies.limit import shorten_range
from dressform.causes.remedies.over_layers import over_layers
from dressform.causes.remedies.remedy import Group, Remedies
from dressform.causes.remedies.smooth_body import blend, smooth
from dressform.causes.remedies.split import split
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    JOINT_WEIGHTS,
    LAYER_BELOW,
    METHOD,
    RIGID_PATCH,
    ROUGH_MORPH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
    Advice,
    Explanation,
)
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.results import SEVERITIES
from dressform.sweep.results import SweepRow

REMEDIES: Mapping[str, Remedies] = {
    ANOTHER_SHAPE: carry_back,
    TOO_FEW_VERTICES: split,
    RIGID_PATCH: blend,
    AMBIGUOUS_FOOT: bring_near,
    BEYOND_EXTREMITY: as_a_whole,
    SHOULD_NOT_FOLLOW: stiff_or_off,
    TOO_TIGHT: let_out,
    ROUGH_MORPH: smooth,
    METHOD: by_method,
    LAYER_BELOW: over_layers,
    JOINT_WEIGHTS: carry_otherwise,
}
"""What is tried for each cause."""
MAX_TRIED = 5
"""Remedies are tried for so many actions of a garment, those of which a wearer sees most."""
ENOUGH = 0.9
"""After a remedy that is advised and takes away this share of the fault, no other is tried."""


def make_actions(
    worn: ExplainedGarment,
    rows: Sequence[SweepRow],
    explained: Sequence[Explanation],
    *,
    stances: Sequence[Stance] = (),
) -> tuple[Action, ...]:
    """The actions of one garment, those first of whose places a wearer sees most.

    Args:
        worn: The garment on its body.
        rows: What a sweep found about it.
        explained: Its explained places.
        stances: The stances of these rows.

    Proof: tests/causes/actions/test_actions.py
    """
    groups = grouped(worn, explained)
    return tuple(
        _action(action_name(number), group, rows if number <= MAX_TRIED else (), stances)
        for number, group in enumerate(groups, start=1)
    )


def _action(name: str, group: Group, rows: Sequence[SweepRow], stances: Sequence[Stance]) -> Action:
    trials = Trials.of(group, rows, stances) if rows else None
    tried = [] if trials is None else _try_all(group, trials)
    return Action(
        name=name,
        cause=group.cause,
        subject=group.subject,
        owner=group.explained[0].owner,
        where=where_words(group),
        places=tuple(one.cluster.name for one in group.explained),
        noticed=noticed(group),
        shapes=0 if trials is None else len(trials.rows),
        tried=best_first(tried),
    )


def _try_all(group: Group, trials: Trials) -> list[Tried]:
    """Try one remedy after the other until one of them is enough."""
    tried: list[Tried] = []
    for remedy in REMEDIES[group.cause](group):
        tried.append(trials.of_remedy(remedy))
        if tried[-1].offered and tried[-1].share >= ENOUGH and not _leaves_skin(tried[-1]):
            break
    return tried + (_last_resort(group, trials, tried) if group.cause == BEYOND_EXTREMITY else [])


def _leaves_skin(tried: Tried) -> bool:
    """Whether anyone would still see skin after it, so that more is worth trying."""
    return any(one.fault == EXPOSED.key and one.severity_after in SEVERITIES[2:] for one in tried.left)


def _last_resort(group: Group, trials: Trials, tried: Sequence[Tried]) -> list[Tried]:
    """Where no remedy cures all places: the shorter range that does and leaves most, else that which cures most."""
    cured = max((len(one.cured) for one in tried if one.offered), default=0)
    found: list[Tried] = []
    if cured < len(group.explained):
        for remedy in shorten_range(group, whole=any(one.share >= HELPS for one in tried)):
            found.append(trials.of_remedy(remedy))
            if found[-1].offered and len(found[-1].cured) == len(group.explained):
                break
    found = [one for one in found if one.offered and len(one.cured) > cured]
    return sorted(found, key=lambda one: -len(one.cured))[:1]


def with_actions(explained: Sequence[Explanation], actions: Sequence[Action]) -> tuple[Explanation, ...]:
    """The explanations with the advice of the action that each belongs to; none where nothing was tried."""
    of_place = {place: action for action in actions for place in action.places}
    return tuple(
        replace(one, advice=_advice(one, of_place[one.cluster.name])) if one.advice and one.cause else one
        for one in explained
    )


def _advice(one: Explanation, action: Action) -> Advice | None:
    """What was found at a place, what to do about it, and what may be done instead."""
    if one.advice is None:
        return None
    said = [f"{tried.words} ({effect_words(tried)})" for tried in action.offered]
    first = said[0] if said else unhelped_words(action)
    return Advice(one.advice.where, f"{one.advice.what}: {first}", said[1] if len(said) > 1 else "")
