"""The material of a primitive, as far as pictures show it [glTF2 3.9]."""

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from jaxtyping import Float

from dressform.formats.gltf.document import Document
from dressform.formats.gltf.schema import TextureUse

WHOLE = 1.0
MOVED = "KHR_texture_transform"
AS_STORED = np.eye(2, 3)
CUT = "MASK"


@dataclass(frozen=True)
class PictureMaterial:
    """A material as far as pictures show it.

    Attributes:
        colour: Base colour, linear red, green and blue in [0, 1], (3,).
        metalness: 0 to 1.
        roughness: 0 mirror to 1 chalk.
        is_metal_painted: Whether a picture says where it is metal.
        texture: Texture that the base colour is multiplied by, or None.
        coordinates: Which set of texture coordinates says where.
        moved: From those coordinates, with a 1 behind them, to places in the picture, (2, 3).
        cut: What is less opaque than this is not drawn, 0 to 1; 0 where all is.
    """

    colour: Float[np.ndarray, "3"]
    metalness: float
    roughness: float
    is_metal_painted: bool
    texture: int | None
    coordinates: int = 0
    moved: Float[np.ndarray, "2 3"] = field(default_factory=AS_STORED.copy)
    cut: float = 0.0


def surface_of(document: Document, mesh: int, primitive: int) -> PictureMaterial | None:
    """The surface of a primitive; None where it names no material."""
    number = document.gltf.meshes[mesh].primitives[primitive].material
    if number is None:
        return None
    material = document.gltf.materials[number]
    stated = material.pbr_metallic_roughness
    if stated is None:
        return PictureMaterial(np.ones(3), WHOLE, WHOLE, False, None)
    shown = stated.base_color_texture
    coordinates, moved = (0, AS_STORED) if shown is None else _placing(shown)
    return PictureMaterial(
        np.clip(stated.base_color_factor[:3], 0.0, WHOLE),
        min(max(stated.metallic_factor, 0.0), WHOLE),
        min(max(stated.roughness_factor, 0.0), WHOLE),
        stated.metallic_roughness_texture is not None,
        None if shown is None else shown.index,
        coordinates,
        moved,
        min(max(material.alpha_cutoff, 0.0), WHOLE) if material.alpha_mode == CUT else 0.0,
    )


def _placing(use: TextureUse) -> tuple[int, Float[np.ndarray, "2 3"]]:
    """Which texture coordinates say where a picture lies, and how they are moved [KHRTransform].

    What the extension does not say, or says as anything but numbers, is as if it were not there.
    """
    told = use.extensions.get(MOVED)
    told = told if isinstance(told, dict) else {}
    (across, down), (wide, high) = _pair(told.get("offset"), 0.0), _pair(told.get("scale"), 1.0)
    turn = _number(told.get("rotation"), 0.0)
    cosine, sine = math.cos(turn), math.sin(turn)
    coordinates = told.get("texCoord")
    is_told = isinstance(coordinates, int) and not isinstance(coordinates, bool) and coordinates >= 0
    return (
        int(coordinates) if is_told and coordinates is not None else use.tex_coord,
        np.array([[cosine * wide, sine * high, across], [-sine * wide, cosine * high, down]]),
    )


def _pair(value: Any, otherwise: float) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        return otherwise, otherwise
    return _number(value[0], otherwise), _number(value[1], otherwise)


def _number(value: Any, otherwise: float) -> float:
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    return float(value) if is_number and math.isfinite(value) else otherwise
