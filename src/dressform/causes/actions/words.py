"""What trying an action did, in words."""

from collections.abc import Sequence

from dressform.causes.action import Action, Effect, Tried
from dressform.faults.registry import FAULT_OF
from dressform.faults.words import FAULT_WORDS, rounded


def effect_words(tried: Tried) -> str:
    """`skin shows 11.9 → 0 cm²; nothing gets graver`; what got graver where something did."""
    left = ", ".join(_pair(one) for one in tried.left) or "nothing measured"
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
    best = action.tried[0]
    return f"no remedy that was tried helps; the best was: {best.words} ({effect_words(best)})"


def cured_words(action: Action, tried: Tried) -> str:
    """`cures 9 of 12 places`."""
    count, cured = len(action.places), len(tried.cured)
    if count == 1:
        return "cures its place" if cured else "eases its place"
    return f"cures {'all ' + str(count) if cured == count else f'{cured} of {count}'} places"


def _pair(effect: Effect) -> str:
    before, after = (_short(effect, value) for value in (effect.before, effect.after))
    return f"{FAULT_WORDS[effect.fault]} {before} → {after} {effect.unit}".rstrip()


def _short(effect: Effect, value: float) -> str:
    """A value with the digits of its fault; what is nothing beside the larger of the two is 0."""
    largest = max(abs(effect.before), abs(effect.after))
    return "0" if abs(value) < 1e-3 * largest or not value else rounded(value, FAULT_OF[effect.fault].digits)


def names(places: Sequence[str]) -> str:
    """Names of places: `1, 2, 5`."""
    return ", ".join(places)
