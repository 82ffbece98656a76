"""An OBJ garment in the pictures of the materials beside it."""

import numpy as np
from jaxtyping import Float

from dressform.errors import FileError
from dressform.formats.load import GarmentFile
from dressform.formats.surfaces.laid import (
    CLAMPED,
    MOST_PICTURES,
    NO_PICTURE,
    REPEATED,
    DressedMesh,
    LaidPicture,
    small_picture,
)
from dressform.formats.surfaces.materials_obj import ObjMaterial, beside_obj, obj_materials
from dressform.formats.surfaces.pixels import UNREADABLE, opened_picture

SUFFIX = ".obj"


def dressed_obj(garment_file: GarmentFile, *, most: int) -> DressedMesh | None:
    """The garment with its pictures, each at most so many pixels a side.

    Returns:
        None where the file is no OBJ, or nothing shows a picture.

    Proof: tests/formats/test_dressed_obj.py
    """
    path, stored = garment_file.path, garment_file.stored
    if path.suffix.lower() != SUFFIX or stored.corner_uv is None:
        return None
    kept, materials = garment_file.kept_faces, obj_materials(path)
    uv, parts = stored.corner_uv[kept].copy(), stored.face_parts[kept]
    pictures, laid = np.full(len(parts), NO_PICTURE), list[LaidPicture]()
    images: list[bytes] = []
    for number, name in enumerate(stored.part_names):
        material, mine = materials.get(name), parts == number
        data = None if material is None or not mine.any() else _image(garment_file, material, most)
        if material is None or data is None or len(laid) == MOST_PICTURES:
            continue
        if data not in images:
            images.append(data)
        uv[mine] = _placed(uv[mine], material)
        pictures[mine] = len(laid)
        wrap = CLAMPED if material.is_clamped else REPEATED
        laid.append(LaidPicture(images.index(data), material.colour, (wrap, wrap), 0.0))
    if not laid:
        return None
    uv[pictures == NO_PICTURE] = 0.0
    corners = np.column_stack([stored.faces[kept].ravel(), uv.reshape(-1, 2), np.repeat(pictures, 3)])
    rows, faces = np.unique(corners, axis=0, return_inverse=True)
    sources = garment_file.file_to_cloth[rows[:, 0].astype(np.int64)]
    return DressedMesh(sources, faces.reshape(-1, 3), rows[:, 1:3], pictures, tuple(laid), tuple(images))


def _placed(uv: Float[np.ndarray, "F 3 2"], material: ObjMaterial) -> Float[np.ndarray, "F 3 2"]:
    """Where corners lie in the picture, from the upper left; an OBJ moves them from the lower left."""
    upward = (uv * (1, -1) + (0, 1)) * material.scale + material.offset
    return np.asarray(upward * (1, -1) + (0, 1))


def _image(garment_file: GarmentFile, material: ObjMaterial, most: int) -> bytes | None:
    """The picture of a material, made small; None where there is none, or it cannot be read."""
    data = beside_obj(garment_file.path, material.picture) if material.picture else None
    if data is None:
        return None
    try:
        picture = opened_picture(data, garment_file.path, material.picture)
        return None if picture is None else small_picture(picture, most=most, has_holes=False)
    except (FileError, *UNREADABLE):
        return None
