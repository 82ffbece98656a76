"""Cloth in the pictures of its file: which picture lies on which triangle, where, and the pictures made small."""

import numpy as np

from dressform.errors import FileError
from dressform.formats.gltf.document import Document
from dressform.formats.load import GarmentFile
from dressform.formats.surfaces.dressed_obj import dressed_obj
from dressform.formats.surfaces.laid import (
    CLAMPED,
    MIRRORED,
    MOST_PICTURES,
    NO_PICTURE,
    REPEATED,
    DressedMesh,
    LaidPicture,
    small_picture,
)
from dressform.formats.surfaces.materials import PictureMaterial, surface_of
from dressform.formats.surfaces.pixels import UNREADABLE, places_of, undecoded


def dressed_mesh(garment_file: GarmentFile, *, most: int) -> DressedMesh | None:
    """The garment of a glTF or an OBJ with its pictures, each at most so many pixels a side.

    Args:
        garment_file: The garment and its file.
        most: Pixels a side; a picture that is larger is made smaller.

    Returns:
        None where nothing shows a picture: it has none, none can be read, or nothing says where they lie.

    Proof: tests/formats/test_dressed.py
    """
    document, stored = garment_file.document, garment_file.stored
    if document is None:
        return dressed_obj(garment_file, most=most)
    store = _Images(document, most)
    places, shown = np.zeros((len(stored.vertices), 2)), np.full(len(stored.vertices), NO_PICTURE)
    laid: list[LaidPicture] = []
    for piece in stored.pieces:
        surface = surface_of(document, piece.mesh, piece.primitive)
        found = None if surface is None else places_of(document, piece.mesh, piece.primitive, surface)
        if surface is None or found is None or len(found) != piece.stop - piece.start or len(laid) == MOST_PICTURES:
            continue
        image = store.number(surface)
        if image is not None:
            places[piece.start : piece.stop], shown[piece.start : piece.stop] = found, len(laid)
            laid.append(LaidPicture(image, surface.colour, _wraps(document, surface), surface.cut))
    if not laid:
        return None
    kept = stored.faces[garment_file.kept_faces]
    drawn, faces = np.unique(kept, return_inverse=True)
    return DressedMesh(
        garment_file.file_to_cloth[drawn],
        faces.reshape(-1, 3),
        places[drawn],
        shown[kept[:, 0]],
        tuple(laid),
        tuple(store.images),
    )


class _Images:
    """Pictures of a document, each encoded once."""

    def __init__(self, document: Document, most: int) -> None:
        self._document, self._most = document, most
        self._known: dict[tuple[int, bool], int | None] = {}
        self.images: list[bytes] = []

    def number(self, surface: PictureMaterial) -> int | None:
        """Which of the images a surface shows; None where it cannot be read."""
        if surface.texture is None:
            return None
        asked = (surface.texture, surface.cut > 0)
        if asked not in self._known:
            data = self._encoded(*asked)
            if data is not None and data not in self.images:
                self.images.append(data)
            self._known[asked] = None if data is None else self.images.index(data)
        return self._known[asked]

    def _encoded(self, texture: int, has_holes: bool) -> bytes | None:
        """The picture anew, small, and without what else its file holds."""
        try:
            picture = undecoded(self._document, texture)
            if picture is None:
                return None
            return small_picture(picture, most=self._most, has_holes=has_holes)
        except (FileError, *UNREADABLE):
            return None


def _wraps(document: Document, surface: PictureMaterial) -> tuple[int, int]:
    """How the picture of a surface goes on beyond its edges."""
    sampler = None if surface.texture is None else document.gltf.textures[surface.texture].sampler
    if sampler is None:
        return REPEATED, REPEATED
    told = document.gltf.samplers[sampler]
    across, down = (one if one in (MIRRORED, CLAMPED) else REPEATED for one in (told.wrap_s, told.wrap_t))
    return across, down
