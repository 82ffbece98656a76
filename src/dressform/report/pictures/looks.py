"""The colours of a garment as its file has them, for pictures."""

import io
from typing import Any

import numpy as np
from jaxtyping import Float
from PIL import Image as PillowImage
from PIL import UnidentifiedImageError

from dressform.formats.gltf.document import Document
from dressform.formats.load import GarmentFile
from dressform.report.pictures.colours import decode_srgb, encode_srgb
from dressform.report.pictures.faults import Look

# Where a file says nothing: quiet colours that stand off from skin and from each other.
CLOTH_COLOURS = (
    (0.30, 0.42, 0.55),
    (0.55, 0.42, 0.28),
    (0.36, 0.46, 0.36),
    (0.50, 0.34, 0.38),
    (0.42, 0.42, 0.46),
)
METAL_GLOSS = 0.9
WHITE = (1.0, 1.0, 1.0)


def look_of(garment_file: GarmentFile, *, number: int = 0) -> Look:
    """Colour and gloss per cloth vertex, from the materials; `number` picks the colour where there are none."""
    count = len(garment_file.garment.vertices)
    colours = np.tile(np.array(CLOTH_COLOURS[number % len(CLOTH_COLOURS)]), (count, 1))
    gloss = np.zeros(count)
    document = garment_file.document
    if document is not None:
        for piece in garment_file.stored.pieces:
            primitive = document.json["meshes"][piece.mesh]["primitives"][piece.primitive]
            cloth = garment_file.file_to_cloth[piece.start : piece.stop]
            cloth = cloth[cloth >= 0]
            if "material" in primitive:
                surface = document.json["materials"][primitive["material"]].get("pbrMetallicRoughness", {})
                colours[cloth] = _colour(document, surface)
                gloss[cloth] = _gloss(surface)
    return Look(colours, gloss)


def _gloss(surface: dict[str, Any]) -> float:
    if surface.get("metallicFactor", 1.0) > 0.5 and "metallicRoughnessTexture" not in surface:
        return METAL_GLOSS
    return float(max(0.0, 1.0 - surface.get("roughnessFactor", 1.0)))


def _colour(document: Document, surface: dict[str, Any]) -> Float[np.ndarray, "3"]:
    """Base colour times the mean of its picture, sRGB."""
    factor = np.array(surface.get("baseColorFactor", (*WHITE, 1.0))[:3], dtype=float)
    texture = surface.get("baseColorTexture", {}).get("index")
    mean = np.array(WHITE) if texture is None else _mean_colour(document, texture)
    return encode_srgb(factor * mean)


def _mean_colour(document: Document, texture: int) -> Float[np.ndarray, "3"]:
    """Mean linear colour of a picture that the file holds; white where it lies outside or cannot be read."""
    image = document.json["images"][document.json["textures"][texture].get("source", 0)]
    view = document.json["bufferViews"][image["bufferView"]] if "bufferView" in image else None
    if view is None:
        return np.array(WHITE)
    start = view.get("byteOffset", 0)
    data = document.buffers[view["buffer"]][start : start + view["byteLength"]]
    try:
        pixels = np.asarray(PillowImage.open(io.BytesIO(data)).convert("RGB"), dtype=float) / 255
    except (UnidentifiedImageError, OSError):
        return np.array(WHITE)
    return decode_srgb(pixels.reshape(-1, 3)).mean(axis=0)
