"""The pixels of a glTF's pictures: counted, and averaged round each vertex [glTF2 3.9]."""

import io
import struct
import zlib
from pathlib import Path

import numpy as np
from jaxtyping import Float, Int
from PIL import Image
from PIL.JpegImagePlugin import JpegImageFile
from PIL.PngImagePlugin import PngImageFile

from dressform.errors import FileError
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.uris import fetch
from dressform.formats.guards.limits import refuse_excess
from dressform.formats.surfaces.materials import PictureMaterial, surface_of

READERS = ((b"\x89PNG\r\n\x1a\n", PngImageFile), (b"\xff\xd8\xff", JpegImageFile))
DRAFT_SIZE = (1024, 1024)
BYTES_PER_PIXEL = 12  # as decoded, as RGB, and what a decoder keeps beside
UNREADABLE = (OSError, SyntaxError, ValueError, EOFError, IndexError, KeyError, TypeError, struct.error, zlib.error)
MOST_ACROSS = 512
"""A picture is averaged to at most so many pixels a side for the colours of vertices."""


def tones_of(document: Document, texture: int) -> Int[np.ndarray, "3 256"] | None:
    """How many pixels of a texture's picture have each value of red, green and blue.

    The picture is never held as floats: its mean, in whatever light, follows from these counts. A JPEG is decoded at
    a fraction of its size.

    Returns:
        None where the picture is not there or cannot be read.

    Raises:
        FileError: the decoded picture would take more than the memory limit.

    Proof: tests/formats/test_surfaces.py
    """
    try:
        picture = undecoded(document, texture)
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
        None where there is no picture, it cannot be read or is too large, or nothing says where it lies.

    Proof: tests/formats/test_surfaces.py
    """
    surface = surface_of(document, mesh, primitive)
    places = None if surface is None else places_of(document, mesh, primitive, surface)
    if surface is None or surface.texture is None or places is None:
        return None
    try:
        picture = undecoded(document, surface.texture)
        if picture is None:
            return None
        bands = picture.convert("RGB").split()
    except (FileError, *UNREADABLE):
        return None
    across = _across(places)
    columns, rows = np.minimum(np.floor((places.T % 1.0) * across), across - 1).astype(np.int64)
    return np.stack([_averaged(band, light, across)[rows, columns] for band in bands], axis=1)


def places_of(
    document: Document, mesh: int, primitive: int, surface: PictureMaterial
) -> Float[np.ndarray, "N 2"] | None:
    """Where each vertex of a primitive lies in the picture of its surface, (N, 2); None where nothing says so."""
    index = document.gltf.meshes[mesh].primitives[primitive].attributes.get(f"TEXCOORD_{surface.coordinates}")
    if surface.texture is None or index is None:
        return None
    try:
        stored = read_floats(document, index, f"accessors[{index}]", ("VEC2",), in_buffer=True)
    except FileError:
        return None
    places: Float[np.ndarray, "N 2"] = stored @ surface.moved[:, :2].T + surface.moved[:, 2]
    return places if np.isfinite(places).all() else None


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
            undecoded(document, texture)
        except FileError:
            source = document.gltf.textures[texture].source
            notes.append(f"Its picture images[{source}] would take more than the memory limit and is not shown.")
        except UNREADABLE:
            continue
    return tuple(notes)


def undecoded(document: Document, texture: int) -> Image.Image | None:
    """The picture of a texture, not decoded yet and a JPEG reduced; None where it is not there or of no kind of glTF.

    Raises:
        FileError: decoded, it would take more than the memory limit.
    """
    source = document.gltf.textures[texture].source
    if source is None:
        return None
    data = _stored(document, source)
    return None if data is None else opened_picture(data, document.path, f"images[{source}]")


def opened_picture(data: bytes, path: Path, place: str) -> Image.Image | None:
    """A picture of a file, not decoded yet and a JPEG reduced; None where it is neither PNG nor JPEG.

    Raises:
        FileError: decoded, it would take more than the memory limit.
    """
    picture = _opened(data)
    if picture is not None:
        picture.draft("RGB", DRAFT_SIZE)
        refuse_excess(path, place, picture.width * picture.height * BYTES_PER_PIXEL)
    return picture


def _stored(document: Document, source: int) -> bytes | None:
    """Bytes of a picture, in the file, in its text or beside it; None where they are not there."""
    image = document.gltf.images[source]
    if image.buffer_view is not None:
        stored = document.gltf.buffer_views[image.buffer_view]
        return document.buffers[stored.buffer][stored.byte_offset : stored.byte_offset + stored.byte_length]
    try:
        return None if image.uri is None else fetch(document.path, image.uri, f"images[{source}]")
    except FileError:
        return None


def _opened(data: bytes) -> Image.Image | None:
    """The picture, undecoded, by the reader that its first bytes name: the two kinds that glTF knows."""
    for signature, reader in READERS:
        if data.startswith(signature):
            picture: Image.Image = reader(io.BytesIO(data))
            return picture
    return None
