"""Tables of actions: what to do, with all the places that it cures, and below what has no cause."""

from collections.abc import Sequence

from rich.text import Text

from dressform.causes.action import Action
from dressform.causes.actions.words import cured_words, effect_words, place_names, unhelped_words
from dressform.causes.results import Explanation
from dressform.faults.results import SEVERITIES
from dressform.formats.results.check_report import GarmentReport
from dressform.report.tables.check import SEVERITY_STYLES
from dressform.report.tables.clusters import cause_words, lines_table, places_words, seen_words
from dressform.report.tables.whole_table import WholeTable

ACTIONS_SHOWN = 5
UNCAUSED_SHOWN = 3
MIRROR_HEIGHT = 0.02
"""Mirror images lie at heights that differ by less than this, metres."""


def actions_table(
    garment: GarmentReport,
    actions: Sequence[Action],
    explained: Sequence[Explanation],
    morphs: Sequence[str],
    *,
    shown: int = ACTIONS_SHOWN,
) -> WholeTable:
    """One row per action, named by a letter: what is seen, why, what to do. The most noticed stands first.

    Args:
        garment: What was found.
        actions: Its actions.
        explained: Its places.
        morphs: Names of the body's morphs.
        shown: So many actions are told, the rest is counted.
    """
    table = lines_table(f"{garment.name} ({garment.method}): what to do")
    of_name = {one.cluster.name: one for one in explained}
    for action in actions[:shown]:
        table.add_row(action.name, Text("\n").join(_told(action, of_name, morphs)))
    if len(actions) > shown:
        more = sum(len(action.places) for action in actions[shown:])
        rest = len(actions) - shown
        words = f"and {rest} action{'' if rest == 1 else 's'} more, for {places_words(more)}"
        table.add_row("", Text(words, style="dim"))
    return table


def uncaused_table(
    garment: GarmentReport, explained: Sequence[Explanation], morphs: Sequence[str], *, shown: int = UNCAUSED_SHOWN
) -> WholeTable | None:
    """Places without a cause that are moderate or grave, with the best that was tried; None where there are none.

    A place and its mirror image on the other side are told once.
    """
    without = [one for one in explained if not one.cause]
    noticed = [one for one in without if one.cluster.worst.place.severity in SEVERITIES[2:]]
    told = _with_mirror_images(noticed)[:shown]
    if not told:
        return None
    table = lines_table(f"{garment.name} ({garment.method}): places without a cause, by number")
    for first, *others in told:
        names = ", ".join(one.cluster.name for one in (first, *others))
        table.add_row(names, Text("\n").join([_seen(first, morphs), Text(cause_words(first))]))
    less = len(without) - sum(len(group) for group in told)
    if less:
        table.add_row("", Text(f"and {places_words(less)} less noticed", style="dim"))
    return table


def _with_mirror_images(explained: Sequence[Explanation]) -> list[list[Explanation]]:
    """Places in the order given, each with its mirror image on the other side of the wearer, if that is among them."""
    groups: list[list[Explanation]] = []
    for one in explained:
        group = next((group for group in groups if len(group) == 1 and _mirrored(group[0], one)), None)
        if group is None:
            groups.append([one])
        else:
            group.append(one)
    return groups


def _mirrored(one: Explanation, other: Explanation) -> bool:
    """Whether two places are one fault at mirror images of one place."""
    here, there = one.cluster.worst.place, other.cluster.worst.place
    region, side, which = _of_pair(here.region, here.side)
    is_alike = (here.fault, here.part, here.severity) == (there.fault, there.part, there.severity)
    is_other_side = _of_pair(there.region, there.side) == (region, side, {"l": "r", "r": "l"}.get(which))
    return is_alike and is_other_side and abs(here.height - there.height) < MIRROR_HEIGHT


def _of_pair(region: str, side: str) -> tuple[str, str, str]:
    """Region and side without left and right, and which of them it is."""
    names = {"left": "l", "right": "r"}
    words = [word for word in side.split() if word not in names]
    which = next((names[word] for word in side.split() if word in names), "")
    paired = region[-2:] in ("_l", "_r")
    return (region[:-2] if paired else region), " ".join(words), which or (region[-1] if paired else "")


def _told(action: Action, of_name: dict[str, Explanation], morphs: Sequence[str]) -> list[Text]:
    """What is seen, why, and what to do."""
    about = f" ({action.subject})" if action.subject else ""
    words = [_seen(of_name[action.places[0]], morphs)] if action.places[0] in of_name else []
    words.append(Text(f"{place_names(action)}: {action.where}"))
    words.append(Text(f"cause: {action.cause}{about}; it lies with {action.owner}"))
    for first, tried in zip(("do: ", "or: "), action.offered):
        words.append(Text(f"{first}{tried.words}"))
        words.append(Text(f"    {cured_words(action, tried)}: {effect_words(tried)}"))
    if not action.offered:
        words.append(Text(unhelped_words(action)))
    return words


def _seen(one: Explanation, morphs: Sequence[str]) -> Text:
    severity = one.cluster.worst.place.severity
    return Text.assemble((severity, SEVERITY_STYLES[severity]), f" {seen_words(one, morphs)}")
