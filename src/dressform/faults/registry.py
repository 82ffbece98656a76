"""The registry of faults: all code that names, grades, shows or stores faults iterates over it.

To add a fault, write its file in `graded/`, name it here, and run `python docs/regenerate.py`.
"""

from collections.abc import Mapping

from dressform.faults.fault import BODY, Fault, FaultLayer
from dressform.faults.graded.bent import BENT
from dressform.faults.graded.clearance import CLEARANCE, CLEARANCE_CHANGE
from dressform.faults.graded.crossing import CROSSING
from dressform.faults.graded.depth import DEPTH
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.graded.folded import FOLDED
from dressform.faults.graded.hard import HARD
from dressform.faults.graded.in_front import IN_FRONT
from dressform.faults.graded.inside import INSIDE
from dressform.faults.graded.layers import LAYERS
from dressform.faults.graded.pierced import PIERCED
from dressform.faults.graded.pucker import PUCKER
from dressform.faults.graded.seam import SEAM
from dressform.faults.graded.stretch import STRETCH
from dressform.faults.graded.sunk import SUNK

ALL_FAULTS: tuple[Fault, ...] = (
    IN_FRONT,
    SUNK,
    EXPOSED,
    PIERCED,
    INSIDE,
    DEPTH,
    PUCKER,
    BENT,
    STRETCH,
    CLEARANCE,
    FOLDED,
    CROSSING,
    SEAM,
    HARD,
    LAYERS,
)
"""Every fault that is graded, in the order in which a reader should be told."""

FAULTS = tuple(fault.key for fault in ALL_FAULTS)
"""Their names, in the same order."""

FAULT_OF: Mapping[str, Fault] = {fault.key: fault for fault in ALL_FAULTS}
"""The faults by name."""


FAULT_LAYERS = tuple(dict.fromkeys(fault.layer for fault in ALL_FAULTS if fault.layer is not None))
"""The layers that show them; two faults may share one."""


def is_on_body(fault: str) -> bool:
    """Whether a fault's spots and vertices are on the body rather than the cloth."""
    return FAULT_OF[fault].on == BODY


def cloth_layer(fault: str) -> FaultLayer:
    """The layer that colours the cloth in pictures of a fault: its own, else the clearance change."""
    layer = FAULT_OF[fault].layer
    return CLEARANCE_CHANGE if layer is None or is_on_body(fault) else layer
