"""The colours of a garment as its file has them, for pictures."""

import numpy as np
from jaxtyping import Float

from dressform.errors import FileError
from dressform.formats.gltf.document import Document
from dressform.formats.load import GarmentFile
from dressform.formats.surfaces.materials import PictureMaterial, surface_of
from dressform.formats.surfaces.pixels import shades_of, tones_of
from dressform.report.pictures.colours import decode_srgb, encode_srgb
from dressform.report.pictures.faults import Appearance

# Where a file says nothing: quiet colours that stand off from skin and from each other.
CLOTH_COLOURS = (
    (0.30, 0.42, 0.55),
    (0.55, 0.42, 0.28),
    (0.36, 0.46, 0.36),
    (0.50, 0.34, 0.38),
    (0.42, 0.42, 0.46),
)
LIGHT = decode_srgb(np.repeat(np.arange(256.0)[:, None] / 255, 3, axis=1))[:, 0]
"""Linear light of each value of a pixel."""
METAL_GLOSS = 0.9
METAL_FROM = 0.5


def look_of(garment_file: GarmentFile, *, number: int = 0) -> Appearance:
    """Colour and gloss per cloth vertex, from materials and pictures; `number` picks the colour where there are none.

    Where nothing says how a picture lies on the cloth, the cloth has its mean colour.
    """
    count = len(garment_file.garment.vertices)
    colours = np.tile(np.array(CLOTH_COLOURS[number % len(CLOTH_COLOURS)]), (count, 1))
    gloss = np.zeros(count)
    document = garment_file.document
    if document is not None:
        means: dict[int, np.ndarray] = {}
        for piece in garment_file.stored.pieces:
            cloth = garment_file.file_to_cloth[piece.start : piece.stop]
            kept = cloth >= 0
            surface = surface_of(document, piece.mesh, piece.primitive)
            if surface is not None:
                shades = shades_of(document, piece.mesh, piece.primitive, LIGHT)
                if shades is not None and len(shades) == len(cloth):
                    colours[cloth[kept]] = encode_srgb(shades[kept] * surface.colour)
                else:
                    colours[cloth[kept]] = _colour(document, surface, means)
                gloss[cloth[kept]] = _gloss(surface)
    return Appearance(colours, gloss)


def _gloss(surface: PictureMaterial) -> float:
    if surface.metalness > METAL_FROM and not surface.is_metal_painted:
        return METAL_GLOSS
    return 1.0 - surface.roughness


def _colour(document: Document, surface: PictureMaterial, means: dict[int, np.ndarray]) -> Float[np.ndarray, "3"]:
    """Base colour times the mean of its picture, sRGB; `means` keeps the means found."""
    if surface.texture is None:
        return encode_srgb(surface.colour)
    if surface.texture not in means:
        means[surface.texture] = _mean_colour(document, surface.texture)
    return encode_srgb(surface.colour * means[surface.texture])


def _mean_colour(document: Document, texture: int) -> Float[np.ndarray, "3"]:
    """Mean linear colour of a picture that the file holds; white if it is outside the file, unreadable or too large."""
    try:
        tones = tones_of(document, texture)
    except FileError:  # the garment's notes say so
        tones = None
    if tones is None:
        return np.ones(3)
    mean: np.ndarray = tones @ LIGHT / tones.sum(axis=1)
    return mean
