"""Whether a garment that was read by itself has the units and axes of a body: checked before they are fitted."""

import numpy as np

from dressform.body.body import Body
from dressform.errors import UnitsError
from dressform.formats.frames.beside import frame_beside
from dressform.formats.frames.units import UNITS, frame_words
from dressform.formats.load import GarmentFile
from dressform.mesh.tree import Tree


def check_match(body: Body, garment_file: GarmentFile, *, tree: Tree | None = None) -> None:
    """Refuse a garment whose units or axes are not those of its body.

    A garment that was loaded with `load_garment(…, beside=body)` passes on that body.

    Args:
        body: The body.
        garment_file: The garment as it was loaded.
        tree: Search tree of the body, where there is one already.

    Raises:
        UnitsError: it lies on the body in another unit or with another axis up; both sizes and the options are named.
        FileError: it lies nowhere near the body in any.
    """
    frame = garment_file.frame
    raw = garment_file.stored.turned(np.linalg.inv(frame.linear))
    found = frame_beside(garment_file.path, raw, body, stated=frame, tree=tree)
    if found.is_like(frame):
        return
    size = float(np.ptp(garment_file.garment.vertices, axis=0).max())
    problem = (
        f"the garment is {size:.3g} m long beside a body {body.stature:.3g} m tall; "
        f"it lies on the body in {frame_words(found)}"
    )
    unit = next(name for name, metres in UNITS.items() if np.isclose(metres, found.metres_per_unit))
    raise UnitsError.of(garment_file.path, "size", problem, f"Say so with --units {unit} --up {found.up}")
