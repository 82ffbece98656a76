"""How the surfaces of a glTF look: base colour, gloss and the tones of a picture [glTF2 3.9]."""

import io
import struct
import zlib
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int
from PIL import Image
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile

from dressform.errors import FileError
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.document import Document
from dressform.formats.guards.limits import refuse_excess

READERS = ((b"\x89PNG\r\n\x1a\n", PngImageFile), (b"\xff\xd8\xff", JpegImageFile))
DRAFT_SIZE = (1024, 1024)
BYTES_PER_PIXEL = 12  # as decoded, as RGB, and what a decoder keeps beside
UNREADABLE = (OSError, SyntaxError, ValueError, EOFError, IndexError, KeyError, TypeError, struct.error, zlib.error)
WHOLE = 1.0
MOVED = "KHR_texture_transform"
MOST_ACROSS = 512
"""A picture is averaged to at most so many pixels a side for the colours of vertices."""


@dataclass(frozen=True)
class PictureMaterial:
    """A material as far as pictures show it.

    Attributes:
        colour: Base colour, linear red, green and blue in [0, 1], (3,).
        metalness: 0 to 1.
        roughness: 0 mirror to 1 chalk.
        is_metal_painted: Whether a picture says where it is metal.
        texture: Texture that the base colour is multiplied by, or None.
        coordinates: Which set of texture coordinates says where; None where they are moved by an extension.
    """

    colour: Float[np.ndarray, "3"]
    metalness: float
    roughness: float
    is_metal_painted: bool
    texture: int | None
    coordinates: int | None = 0


def surface_of(document: Document, mesh: int, primitive: int) -> PictureMaterial | None:
    """The surface of a primitive; None where it names no material."""
    material = document.gltf.meshes[mesh].primitives[primitive].material
    if material is None:
        return None
    stated = document.gltf.materials[material].pbr_metallic_roughness
    if stated is None:
        return PictureMaterial(np.ones(3), WHOLE, WHOLE, False, None)
    shown = stated.base_color_texture
    return PictureMaterial(
        np.clip(stated.base_color_factor[:3], 0.0, WHOLE),
        min(max(stated.metallic_factor, 0.0), WHOLE),
        min(max(stated.roughness_factor, 0.0), WHOLE),
        stated.metallic_roughness_texture is not None,
        None if shown is None else shown.index,
        None if shown is None or MOVED in shown.extensions else shown.tex_coord,
    )


def tones_of(document: Document, texture: int) -> Int[np.ndarray, "3 256"] | None:
    """How many pixels of a texture's picture have each value of red, green and blue.

    The picture is never held as floats: its mean, in whatever light, follows from these counts. A JPEG is decoded at
    a fraction of its size.

    Returns:
        None where the picture lies outside the file or cannot be read.

    Raises:
        FileError: the decoded picture would take more than the memory limit.

    Proof: tests/formats/test_surfaces.py
    """
    try:
        picture = _undecoded(document, texture)
        return None if picture is None else np.array(picture.convert("RGB").histogram(), dtype=np.int64).reshape(3, 256)
    except UNREADABLE:
        return None


def shades_of(
    document: Document, mesh: int, primitive: int, light: Float[np.ndarray, "256"]
) -> Float[np.ndarray, "N 3"] | None:
    """Mean light of a primitive's picture round each of its vertices, (N, 3).

    A vertex stands for what is round it: the picture is first averaged to as many pixels as vertices lie across it, so
    that broad stripes are seen and a fine weave is its mean. Pictures repeat beyond their edges.

    Args:
        document: The file.
        mesh: Mesh of the primitive.
        primitive: Its number there.
        light: Light of each value of a pixel.

    Returns:
        None where there is no picture in the file, it cannot be read or is too large, or nothing says where it lies.

    Proof: tests/formats/test_surfaces.py
    """
    surface = surface_of(document, mesh, primitive)
    if surface is None or surface.texture is None or surface.coordinates is None:
        return None
    index = document.gltf.meshes[mesh].primitives[primitive].attributes.get(f"TEXCOORD_{surface.coordinates}")
    if index is None:
        return None
    try:
        places = read_floats(document, index, f"accessors[{index}]", ("VEC2",), in_buffer=True)
        picture = _undecoded(document, surface.texture)
        if picture is None:
            return None
        bands = picture.convert("RGB").split()
    except (FileError, *UNREADABLE):
        return None
    across = _across(places)
    columns, rows = np.minimum(np.floor((places.T % 1.0) * across), across - 1).astype(np.int64)
    return np.stack([_averaged(band, light, across)[rows, columns] for band in bands], axis=1)


def _averaged(band: Image.Image, light: Float[np.ndarray, "256"], across: int) -> Float[np.ndarray, "A A"]:
    """Light of one channel of a picture, averaged to so many pixels a side."""
    whole = Image.fromarray(light.astype(np.float32)[np.asarray(band)])
    return np.asarray(whole.resize((across, across), Image.Resampling.BOX), dtype=np.float64)


def _across(places: Float[np.ndarray, "N 2"]) -> int:
    """How many vertices lie side by side in a picture that lies on the cloth as `places` say."""
    extent = float(np.prod(np.ptp(places, axis=0))) if len(places) else 0.0
    return int(np.clip(np.sqrt(len(places) / extent) if extent > 0.0 else 1, 1, MOST_ACROSS))


def picture_notes(document: Document) -> tuple[str, ...]:
    """A sentence for each picture of a base colour that would take more than the memory limit; none is decoded."""
    stated = (material.pbr_metallic_roughness for material in document.gltf.materials)
    shown = [one.base_color_texture.index for one in stated if one is not None and one.base_color_texture is not None]
    notes = []
    for texture in dict.fromkeys(shown):
        try:
            _undecoded(document, texture)
        except FileError:
            source = document.gltf.textures[texture].source
            notes.append(f"Its picture images[{source}] would take more than the memory limit and is not shown.")
        except UNREADABLE:
            continue
    return tuple(notes)


def _undecoded(document: Document, texture: int) -> Image.Image | None:
    """The picture of a texture, not decoded yet and a JPEG reduced; None where it lies outside the file.

    Raises:
        FileError: decoded, it would take more than the memory limit.
    """
    source = document.gltf.textures[texture].source
    view = None if source is None else document.gltf.images[source].buffer_view
    if view is None:
        return None
    stored = document.gltf.buffer_views[view]
    picture = _opened(document.buffers[stored.buffer][stored.byte_offset : stored.byte_offset + stored.byte_length])
    if picture is not None:
        picture.draft("RGB", DRAFT_SIZE)
        refuse_excess(document.path, f"images[{source}]", picture.width * picture.height * BYTES_PER_PIXEL)
    return picture


def _opened(data: bytes) -> Image.Image | None:
    """The picture, undecoded, by the reader that its first bytes name: the two kinds that glTF knows."""
    for signature, reader in READERS:
        if data.startswith(signature):
            picture: Image.Image = reader(io.BytesIO(data))
            return picture
    return None
