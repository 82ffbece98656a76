"""What a garment with pictures is drawn from: the pictures, where they lie, and the mesh split where they are cut."""

import io
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int
from PIL import Image

REPEATED, MIRRORED, CLAMPED = 10497, 33648, 33071
"""How a picture goes on beyond its edges, in glTF's numbers; `REPEATED` stands for all others."""
NO_PICTURE = -1
MOST_PICTURES = 254
QUALITY = 88  # of a JPEG: threads stay threads


@dataclass(frozen=True)
class LaidPicture:
    """A picture as it lies on cloth.

    Attributes:
        image: Which of the pictures.
        tint: Linear red, green and blue that it is multiplied by, (3,).
        wraps: How it goes on across and down: `REPEATED`, `MIRRORED` or `CLAMPED`.
        cut: What is less opaque than this is not drawn, 0 to 1; 0 where all is.
    """

    image: int
    tint: Float[np.ndarray, "3"]
    wraps: tuple[int, int]
    cut: float


@dataclass(frozen=True)
class DressedMesh:
    """A garment as it is drawn with pictures: split where they are cut.

    Attributes:
        sources: Garment vertex that each drawn vertex is a copy of, (S,).
        faces: The garment's triangles, in its order, by drawn vertices, (F, 3).
        places: Where each drawn vertex lies in its picture, from the upper left, (S, 2); 0 where there is none.
        face_pictures: Which of `laid` each triangle shows, `NO_PICTURE` for none, (F,).
        laid: Pictures as they lie.
        images: Each of them once, as the bytes of a PNG or JPEG.
    """

    sources: Int[np.ndarray, " S"]
    faces: Int[np.ndarray, "F 3"]
    places: Float[np.ndarray, "S 2"]
    face_pictures: Int[np.ndarray, " F"]
    laid: tuple[LaidPicture, ...]
    images: tuple[bytes, ...]


def same_mesh(dressed: DressedMesh, faces: Int[np.ndarray, "F 3"]) -> bool:
    """Whether these triangles are those that the pictures lie on."""
    return dressed.faces.shape == faces.shape and bool(np.array_equal(dressed.sources[dressed.faces], faces))


def small_picture(picture: Image.Image, *, most: int, has_holes: bool) -> bytes:
    """A picture anew, at most so many pixels a side, without what else its file holds: a PNG for holes, else a JPEG."""
    plain = picture.convert("RGBA" if has_holes else "RGB")
    plain.thumbnail((most, most), Image.Resampling.LANCZOS)
    return _saved(plain, "PNG") if has_holes else _saved(plain, "JPEG", quality=QUALITY)


def _saved(picture: Image.Image, kind: str, **options: int) -> bytes:
    stream = io.BytesIO()
    picture.save(stream, kind, **options)
    return stream.getvalue()
