"""What is wrong between the garments of an outfit: where, why, and what to do."""

from collections.abc import Sequence

from dressform.faults.graded.layers import LAYERS
from dressform.faults.graded.pierced import PIERCED
from dressform.faults.results import SEVERITIES
from dressform.faults.words import FAULT_WORDS, place_amount
from dressform.formats.results.check_report import CheckReport, GarmentReport
from dressform.report.tables.check import shape_words, where, worst_places
from dressform.units import CM_PER_M

BETWEEN = (PIERCED.key, LAYERS.key)
PLACES_SHOWN = 5
AS_MADE = "they pierce each other as modelled: each was made without the other"
FOLLOWED = "they are apart at the base; over the range the layer below moves farther out"
ACTION = "`dressform outfit` keeps {} clear of {} at every shape"


def outfit_lines(report: CheckReport) -> list[str]:
    """A line per garment that is worn over others, and its places with cause and action; nothing without an outfit."""
    morphs = tuple(report.body.intervals)
    worn = [garment for garment in report.worst_first() if garment.under]
    return [line for garment in worn for line in garment_lines(garment, morphs)]


def garment_lines(garment: GarmentReport, morphs: Sequence[str]) -> list[str]:
    """What is said of one garment that is worn over others, the gravest place first; nothing where it is not."""
    if not garment.under:
        return []
    below = ", ".join(garment.under)
    places = [found for found in worst_places(garment) if found[1].fault in BETWEEN]
    if not places:
        return [f"{garment.name} over {below}: clean, no layer comes through at {len(garment.rows)} shapes"]
    lines = []
    for row, place in places[:PLACES_SHOWN]:
        spot = f"{where(place)}, {place.height * CM_PER_M:.0f} cm above the ground"
        fault = f"{place.severity} {FAULT_WORDS[place.fault]}, {place_amount(place)}"
        lines.append(f"{garment.name} over {below}: {fault}, at {shape_words(row, morphs)}: {spot}")
    if len(places) > PLACES_SHOWN:
        lines.append(f"   and {len(places) - PLACES_SHOWN} more places")
    cause = AS_MADE if _is_made_so(garment) else FOLLOWED
    return [*lines, f"   cause: {cause}", f"   action: {ACTION.format(garment.name, below)}"]


def _is_made_so(garment: GarmentReport) -> bool:
    """Whether layers pierce each other at the base already."""
    base = [row for row in garment.at_rest.rows if not row.faults.weights.any()]
    return any(row.faults.severities[PIERCED.key] != SEVERITIES[0] for row in base)
