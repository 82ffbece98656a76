"""The pictures of a garment's file as they go to the page: in which arrays, and how finely."""

import numpy as np
from jaxtyping import Float32, Int

from dressform.formats.load import GarmentFile
from dressform.formats.surfaces.dressed import dressed_mesh
from dressform.formats.surfaces.laid import CLAMPED, MIRRORED, REPEATED, DressedMesh, same_mesh
from dressform.report.page.pack import Coarse, coarsen

LIVE_PIXELS = 1024
REPORT_PIXELS = 512
"""Pixels a side of a picture, live and in a report, which carries every picture in itself."""
WRAPS = (REPEATED, MIRRORED, CLAMPED)


def pictures_of(source: object, faces: Int[np.ndarray, "F 3"], *, most: int) -> DressedMesh | None:
    """The pictures on these triangles of a garment's file.

    Returns:
        None where the garment has no file or its file no pictures; or where the triangles are others by now, as after
        a repair that split some.
    """
    dressed = dressed_mesh(source, most=most) if isinstance(source, GarmentFile) else None
    return dressed if dressed is not None and same_mesh(dressed, faces) else None


def picture_arrays(dressed: DressedMesh, prefix: str = "", *, coarse: bool) -> dict[str, np.ndarray | Coarse]:
    """The arrays that the page draws pictures from, by name.

    Proof: tests/report/page/test_pictures.py
    """
    places = dressed.places.astype(np.float32)
    split = np.uint16 if len(dressed.sources) <= np.iinfo(np.uint16).max else np.uint32
    arrays: dict[str, np.ndarray | Coarse] = {
        "drawn/sources": dressed.sources.astype(split),
        "drawn/faces": dressed.faces.astype(split),
        "drawn/places": coarsen(places) if coarse else places,
        "drawn/pictures": (dressed.face_pictures + 1).astype(np.uint8),
        "drawn/laid": _laid(dressed),
    }
    for number, image in enumerate(dressed.images):
        arrays[f"drawn/image/{number}"] = np.frombuffer(image, dtype=np.uint8)
    return {prefix + name: array for name, array in arrays.items()}


def _laid(dressed: DressedMesh) -> Float32[np.ndarray, "P 7"]:
    """A row per picture: image, tint in linear light, number of each way of going on in `WRAPS`, and cut."""
    return np.array(
        [(one.image, *one.tint, *(WRAPS.index(wrap) for wrap in one.wraps), one.cut) for one in dressed.laid],
        dtype=np.float32,
    )
