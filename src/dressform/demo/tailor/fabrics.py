"""What the garments are made of: colour, sheen, and a small picture of the weave, drawn by computation."""

import io
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float
from PIL import Image
from scipy.ndimage import gaussian_filter

from dressform.formats.gltf.materials import Material

FINE, COARSE = 1024, 512  # pixels along a side: knitting shows its stitches, smooth cloth has none
SEED = 1859
Pattern = Callable[[Float[np.ndarray, "P P"], Float[np.ndarray, "P P"]], Float[np.ndarray, "P P"]]


@dataclass(frozen=True)
class Fabric:
    """A material of the demo.

    Attributes:
        name: Name in the file.
        tint: Its colour, sRGB in [0, 1].
        roughness: 0 mirror to 1 chalk.
        metalness: 0 or 1.
        gloss: The same for pictures without textures: 0 wool, 1 metal.
        pattern: Brightness round 1 at places on the cloth, metres across and up; None for a plain surface.
        is_double_sided: Whether its inside is seen.
        pixels: Of the picture, along a side.
    """

    name: str
    tint: tuple[float, float, float]
    roughness: float
    metalness: float = 0.0
    gloss: float = 0.0
    pattern: Pattern | None = None
    is_double_sided: bool = True
    pixels: int = COARSE

    def material(self, width: float) -> Material:
        """The glTF material, its picture drawn for a square `width` metres wide."""
        if self.pattern is None:
            red, green, blue = (_linear(channel) for channel in self.tint)
            colour = (red, green, blue, 1.0)
            return Material(self.name, colour, self.roughness, self.metalness, self.is_double_sided, None)
        place = width * (np.arange(self.pixels) + 0.5) / self.pixels
        across, up = np.meshgrid(place, place[::-1])
        bright = self.pattern(across, up)
        picture = np.clip(np.asarray(self.tint) * bright[..., None], 0.0, 1.0)
        pixels = Image.fromarray(np.round(255 * picture).astype(np.uint8)).quantize(24, dither=Image.Dither.NONE)
        data = io.BytesIO()
        pixels.save(data, "PNG", optimize=False, compress_level=6)
        white = (1.0, 1.0, 1.0, 1.0)
        return Material(self.name, white, self.roughness, self.metalness, self.is_double_sided, data.getvalue())


def _linear(channel: float) -> float:
    """From sRGB to linear light [IEC61966-2-1]."""
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def knit(across: np.ndarray, up: np.ndarray) -> np.ndarray:
    """Rows of stitches, each a V, with a ladder of purl every few centimetres."""
    column, row = across / 0.012, up / 0.010
    lean = np.abs(column % 1.0 - 0.5)
    stitch = np.cos(2 * np.pi * (row + 0.9 * lean)) * np.cos(np.pi * (column % 1.0 - 0.5)) ** 0.5
    purl = (np.sin(2 * np.pi * across / 0.144) > 0.72) & (np.sin(2 * np.pi * up / 0.04) > 0)
    return 1.0 + 0.22 * stitch - 0.16 * purl


def rib(across: np.ndarray, up: np.ndarray) -> np.ndarray:
    """Two knit, two purl: upright ribs."""
    return 0.97 + 0.28 * np.cos(2 * np.pi * across / 0.016) + 0.04 * np.cos(2 * np.pi * up / 0.01)


def weave(across: np.ndarray, up: np.ndarray) -> np.ndarray:
    """Plain canvas, thread over thread, with uneven yarn."""
    noise = _noise(len(up))
    uneven = gaussian_filter(noise, (0.7, 14), mode="wrap") + gaussian_filter(noise, (14, 0.7), mode="wrap")
    checks = np.cos(2 * np.pi * across / 0.005) * np.cos(2 * np.pi * up / 0.005)
    return 1.0 + 0.05 * checks + 0.35 * uneven


def herringbone(across: np.ndarray, up: np.ndarray) -> np.ndarray:
    """Twill that turns every two centimetres."""
    zigzag = 0.02 * np.abs((across / 0.02) % 2.0 - 1.0)
    return (
        1.0 + 0.20 * np.cos(2 * np.pi * (up + zigzag) / 0.010) + 0.15 * gaussian_filter(_noise(len(up)), 2, mode="wrap")
    )


def oiled(across: np.ndarray, _: np.ndarray) -> np.ndarray:
    """Cotton dressed with oil: cloudy, slightly streaked."""
    noise = _noise(len(across))
    cloud = gaussian_filter(noise, 12, mode="wrap") * 12 + gaussian_filter(noise, (9, 2), mode="wrap") * 3
    return 1.0 + 0.10 * cloud


def grain(across: np.ndarray, up: np.ndarray) -> np.ndarray:
    """Growth rings of a plank, wandering."""
    wander = 0.004 * np.sin(2 * np.pi * up / 0.19) + 0.002 * np.sin(2 * np.pi * up / 0.07 + 1.0)
    ring = np.cos(2 * np.pi * (across + wander) / 0.013)
    return 0.96 + 0.09 * ring + 0.05 * np.cos(2 * np.pi * (across + 2 * wander) / 0.0041)


def _noise(count: int) -> Float[np.ndarray, "P P"]:
    """The same white noise each time, standard deviation 1."""
    return np.random.default_rng(SEED).standard_normal((count, count))


GUERNSEY_WOOL = Fabric("guernsey wool", (0.13, 0.18, 0.33), 0.95, pattern=knit, pixels=FINE)
GUERNSEY_RIB = Fabric("guernsey rib", (0.12, 0.165, 0.30), 0.95, pattern=rib, pixels=FINE)
GREY_WOOL = Fabric("grey wool", (0.46, 0.45, 0.43), 0.95, pattern=knit, pixels=FINE)
GREY_RIB = Fabric("grey rib", (0.40, 0.39, 0.375), 0.95, pattern=rib, pixels=FINE)
OILSKIN = Fabric("oilskin", (0.80, 0.58, 0.17), 0.45, gloss=0.45, pattern=oiled)
OILSKIN_FACING = Fabric("oilskin facing", (0.72, 0.50, 0.13), 0.45, gloss=0.45, pattern=oiled)
CANVAS = Fabric("canvas", (0.60, 0.50, 0.37), 0.9, pattern=weave)
TWEED = Fabric("tweed", (0.34, 0.36, 0.26), 0.95, pattern=herringbone, pixels=FINE)
FLANNEL = Fabric("flannel", (0.48, 0.17, 0.15), 0.95, pattern=weave)
WOOD = Fabric("alder wood", (0.72, 0.54, 0.36), 0.65, gloss=0.15, pattern=grain, is_double_sided=False)
BRASS = Fabric("brass", (0.78, 0.61, 0.28), 0.3, metalness=1.0, gloss=1.0, is_double_sided=False)
