"""What is wrong with a garment before anything moves, in sentences."""

from dressform.faults.graded.in_front import IN_FRONT
from dressform.faults.graded.sunk import SUNK
from dressform.faults.results import SEVERITIES, AtBase, ShapeFaults
from dressform.faults.words import rounded
from dressform.units import CM2_PER_M2, PERCENT

REGIONS_NAMED = 4


def base_sentences(faults: ShapeFaults) -> tuple[str, ...]:
    """Skin in front and cloth in the body as modelled, then tucked rims; nothing where there is neither.

    After a repair the same is said of the repaired base.
    """
    found = faults.at_base
    wrong = [faults.severities.get(fault.key, SEVERITIES[0]) for fault in (IN_FRONT, SUNK)]
    worst = max(wrong, key=SEVERITIES.index)
    told = () if worst == SEVERITIES[0] else (f"{worst} before anything moves: {front_words(found)}",)
    return (*told, *tucked_sentences(found))


def front_words(found: AtBase) -> str:
    """Both figures of the base."""
    skin, share = found.skin_area * CM2_PER_M2, found.inside_share * PERCENT
    cloth = f"{rounded(share, 3)} % of the cloth in the body, tucked rims apart"
    return f"{rounded(skin, 3)} cm² of skin in front of the cloth, {cloth}"


def tucked_sentences(found: AtBase) -> tuple[str, ...]:
    """Which rims are tucked in and therefore not counted."""
    area = found.tucked_area * CM2_PER_M2
    if not float(f"{area:.1f}"):
        return ()
    more = len(found.tucked_at) - REGIONS_NAMED
    regions = [*found.tucked_at[:REGIONS_NAMED], *([f"{more} more"] if more > 0 else [])]
    where = f" at {', '.join(regions)}" if regions else ""
    return (f"not counted: {area:.1f} cm² of rim tucked into the body{where}",)
