"""What trying an action did, in words."""

from collections.abc import Sequence

from dressform.causes.action import Action, Effect, Tried
from dressform.causes.results import TOO_FEW_VERTICES
from dressform.faults.registry import FAULT_OF
from dressform.faults.words import FAULT_WORDS, figure_words


def effect_words(tried: Tried) -> str:
    """`skin shows 11.9 → 0 cm²; nothing gets graver`; what got graver where something did."""
    left = ", ".join(_pair(one) + _rise(one) for one in tried.left) or "nothing measured"
    if tried.spoilt:
        how = "a little graver" if tried.offered else "but graver"
        return f"{left}; {how}: {', '.join(_pair(one) for one in tried.spoilt)}"
    return f"{left}; nothing gets graver"


def unhelped_words(action: Action) -> str:
    """That nothing helps, and what came nearest."""
    if not action.shapes:
        return "no remedy was tried here; the more noticed actions come first"
    if not action.tried:
        return "there is no remedy to try"
    return f"{_anew(action)}{_what_came_nearest(action)}"


def _anew(action: Action) -> str:
    """That splitting triangles is no way out, where it was tried in vain; nothing for other causes."""
    if action.cause != TOO_FEW_VERTICES:
        return ""
    count = f"{len(action.tried)} ways" if len(action.tried) > 1 else "one way"
    return (
        f"splitting its triangles, tried in {count}, does not cure this without spoiling something: "
        "that patch has to be modelled anew with more vertices, which could not be tried; "
    )


def _what_came_nearest(action: Action) -> str:
    nearest = action.nearest
    if nearest is not None:
        return f"no remedy that was tried helps; the nearest was: {nearest.words} ({effect_words(nearest)})"
    first = action.tried[0]
    count = len(action.tried)
    tried = "the one that was tried" if count == 1 else f"each of {count} that were tried"
    return (
        f"no remedy is advised: {tried} helps too little or spoils something, as: {first.words} ({effect_words(first)})"
    )


def cured_words(action: Action, tried: Tried) -> str:
    """`cures 9 of 12 places`."""
    count, cured = len(action.places), len(tried.cured)
    if count == 1:
        return "cures its place" if cured else "eases its place"
    return f"cures {'all ' + str(count) if cured == count else f'{cured} of {count}'} places"


def _pair(effect: Effect) -> str:
    before, after = (_short(effect, value) for value in (effect.before, effect.after))
    return f"{FAULT_WORDS[effect.fault]} {before.removesuffix(effect.unit).rstrip()} → {after}"


def _rise(effect: Effect) -> str:
    """That a fault which the remedy is meant for rises, and whether its band stays; nothing where it does not."""
    if not effect.rises:
        return ""
    if effect.severity_before == effect.severity_after:
        return f" (rises within its band, {effect.severity_after})" if effect.severity_after else " (rises)"
    return f" (rises from {effect.severity_before} to {effect.severity_after})"


def _short(effect: Effect, value: float) -> str:
    """A value with the digits of its fault; what is nothing beside the larger of the two is 0."""
    largest = max(abs(effect.before), abs(effect.after))
    told = 0.0 if abs(value) < 1e-3 * largest else value
    return figure_words(told, effect.unit, digits=FAULT_OF[effect.fault].digits)


def place_names(action: Action) -> str:
    """`places 1–6, 9 and 19`: which of the garment's places an action is for."""
    if not all(name.isdecimal() for name in action.places):
        told = list(action.places)
    else:
        runs = _runs(sorted(int(name) for name in action.places))
        told = [words for run in runs for words in _run_words(run)]
    named = " and ".join(filter(None, [", ".join(told[:-1]), *told[-1:]]))
    return f"{'place' if len(action.places) == 1 else 'places'} {named}"


def _runs(numbers: Sequence[int]) -> list[list[int]]:
    """Rising numbers cut where one is missing."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return runs


def _run_words(run: Sequence[int]) -> list[str]:
    """A run of three and more as one; one and two numbers each by itself."""
    return [f"{run[0]}–{run[-1]}"] if len(run) > 2 else [str(number) for number in run]
