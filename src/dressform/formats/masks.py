"""Per-vertex masks of a file: regions of a body, following strength of a garment."""

from pathlib import Path

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.errors import FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.welding import Welded, gathered
from dressform.garment.garment import FULL_STRENGTH

REGION_PREFIX = "_REGION_"
REGION_THRESHOLD = 0.5
STRENGTH_ATTRIBUTE = "_STRENGTH"
ROUNDING = 1e-6


def body_regions(stored: FileMesh, welded: Welded) -> dict[str, Bool[np.ndarray, " B"]]:
    """Masks from `_REGION_…` attributes; else one per part, where there are several."""
    masks = {
        name[len(REGION_PREFIX) :].lower(): np.nan_to_num(welded.gather(values)) > REGION_THRESHOLD
        for name, values in stored.scalars.items()
        if name.startswith(REGION_PREFIX)
    }
    if masks or len(stored.part_names) == 1:
        return masks
    for index, name in enumerate(stored.part_names):
        mask = np.zeros(len(welded.vertices), dtype=bool)
        mask[welded.faces[welded.face_parts == index]] = True
        masks[name] = mask
    return masks


def garment_strength(
    path: Path, stored: FileMesh, file_to_cloth: Int[np.ndarray, " N"], count: int, name: str
) -> Float[np.ndarray, " G"]:
    """How strongly each garment vertex follows, from the attribute or colour channel `name`.

    Raises:
        FileError: the file has no such numbers (those it has are listed), or one lies outside [0, 1].
    """
    values = stored.scalars.get(name)
    if values is None:
        if name == STRENGTH_ATTRIBUTE:
            return np.full(count, FULL_STRENGTH)
        known = ", ".join(sorted(stored.scalars)) or "none"
        raise FileError.of(path, "attributes", f"have no {name!r}", f"Its per-vertex numbers are: {known}")
    strength = np.nan_to_num(gathered(values, file_to_cloth, count), nan=FULL_STRENGTH)
    outside = np.flatnonzero((strength < -ROUNDING) | (strength > FULL_STRENGTH + ROUNDING))
    if outside.size:
        problem = f"is {strength[outside[0]]:g} at vertex {outside[0]}, outside [0, 1]"
        raise FileError.of(path, name, problem, "Scale the mask into that interval")
    return np.clip(strength, 0.0, FULL_STRENGTH)
