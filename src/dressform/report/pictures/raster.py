"""Pictures of meshes without a display: a z-buffer, smooth shading, soft shadows, 2 x 2 samples a pixel.

Shading is per pixel from interpolated normals: a hemisphere light, a main light with a shadow map, a fill and a
back light that travel with the camera, and occlusion judged on the screen. Both sides of a triangle are drawn,
the back darker, so that open cloth looks like cloth.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, UInt8
from scipy.ndimage import gaussian_filter, map_coordinates

from dressform.arrays import Faces, Points
from dressform.errors import ArgumentError
from dressform.mesh.geometry import vertex_normals
from dressform.report.pictures.camera import Camera, framed
from dressform.report.pictures.colours import decode_srgb, encode_srgb
from dressform.report.pictures.raster_kernels import light_reaching, occlusion, rasterise, shade, smooth_along, surface

Image = UInt8[np.ndarray, "_ _ 3"]
Colour = tuple[float, float, float]

SKIN: Colour = (0.80, 0.62, 0.52)
CLOTH: Colour = (0.30, 0.42, 0.55)
BACKGROUNDS: dict[str, tuple[Colour, Colour]] = {
    "white": ((1.0, 1.0, 1.0), (1.0, 1.0, 1.0)),
    "paper": ((0.97, 0.97, 0.96), (0.86, 0.87, 0.88)),
    "dark": ((0.16, 0.17, 0.19), (0.09, 0.095, 0.105)),
}
DEFAULT_BACKGROUND = "paper"
DEFAULT_SIZE = (640, 960)  # width, height in pixels
SAMPLES = 2
SHADOW_MAP = 1024
SHADOW_BIAS = 2e-3  # share of the scene's size
OCCLUSION_REACH = 0.035  # share of the scene's size: 6 cm on a grown body
GROUND_CELLS = 160
GROUND_FADE = 0.06  # share of the scene's size over which a limb's ground shadow fades with its height
GROUND_STRENGTH = 0.62
# Directions in camera axes (right, up, towards the eye) and linear strengths of main, fill and back light.
LIGHT_DIRECTIONS = ((-0.55, 0.75, 0.75), (0.85, 0.1, 0.55), (0.45, 0.55, -0.8))
LIGHT_STRENGTHS = ((0.98, 0.94, 0.88), (0.20, 0.22, 0.26), (0.26, 0.27, 0.30))
SKY_LIGHT = (0.36, 0.38, 0.42)
GROUND_LIGHT = (0.16, 0.15, 0.14)


@dataclass(frozen=True)
class Drawable:
    """One mesh of a picture.

    Attributes:
        vertices: (V, 3), metres.
        faces: (F, 3).
        colours: One sRGB colour in [0, 1], (3,), or one per vertex, (V, 3).
        gloss: 0 for wool and skin, 0.5 for waxed cloth, 1 for metal; one number, or one per vertex, (V,).
    """

    vertices: Points
    faces: Faces
    colours: Float[np.ndarray, "V 3"] | Colour = CLOTH
    gloss: Float[np.ndarray, " V"] | float = 0.0


@dataclass(frozen=True)
class _Picture:
    """All meshes of a picture as one."""

    vertices: Points
    faces: Faces
    normals: Points
    colours: Points  # linear light
    gloss: Float[np.ndarray, " V"]

    @classmethod
    def of(cls, drawables: Sequence[Drawable]) -> "_Picture":
        """Join the meshes; colours become linear light."""
        if not drawables:
            raise ArgumentError.of("draw", "drawables", "at least one mesh", "none", "Give something to draw")
        starts = np.cumsum([0, *(len(one.vertices) for one in drawables)])
        colours = [np.broadcast_to(np.asarray(one.colours, dtype=float), one.vertices.shape) for one in drawables]
        return cls(
            np.concatenate([one.vertices for one in drawables]),
            np.concatenate([one.faces.astype(np.int64) + start for one, start in zip(drawables, starts)]),
            np.concatenate([vertex_normals(one.vertices, one.faces) for one in drawables]),
            decode_srgb(np.concatenate(colours)),
            np.concatenate(
                [np.broadcast_to(np.asarray(one.gloss, dtype=float), len(one.vertices)) for one in drawables]
            ),
        )

    @property
    def size(self) -> float:
        """Longest side of the bounding box of what is drawn, metres."""
        return float(np.ptp(self.vertices, axis=0).max())


def draw(
    drawables: Sequence[Drawable],
    view: str | Camera,
    size: tuple[int, int] = DEFAULT_SIZE,
    *,
    background: str = DEFAULT_BACKGROUND,
    ground_shadow: bool = True,
) -> Image:
    """Draw meshes from a named view or through a camera.

    Args:
        drawables: Meshes, each with its colours.
        view: "front", "side", "back" or "three-quarter", framing everything given; or a camera.
        size: Width and height, pixels.
        background: A name of `BACKGROUNDS`.
        ground_shadow: Lay a soft shadow on the ground under the lowest vertex.

    Returns:
        sRGB picture, (height, width, 3).

    Raises:
        ArgumentError: nothing to draw, or no such view or background.
    """
    if background not in BACKGROUNDS:
        raise ArgumentError.of(
            "draw", "background", f"one of {', '.join(BACKGROUNDS)}", repr(background), "Use one of these names"
        )
    scene = _Picture.of(drawables)
    width, height = size[0] * SAMPLES, size[1] * SAMPLES
    camera = view if isinstance(view, Camera) else framed(scene.vertices, view, aspect=width / height)
    backdrop = _backdrop(*size, background)
    if ground_shadow:
        backdrop *= 1 - GROUND_STRENGTH * _ground(scene, camera, *size)[:, :, None]
    backdrop = backdrop.repeat(SAMPLES, axis=0).repeat(SAMPLES, axis=1)
    linear = _render(scene, camera, width, height, backdrop)
    pooled = linear.reshape(size[1], SAMPLES, size[0], SAMPLES, 3).mean(axis=(1, 3))
    return np.round(255 * encode_srgb(pooled)).astype(np.uint8)


def _render(
    scene: _Picture, camera: Camera, width: int, height: int, backdrop: Float[np.ndarray, "H W 3"]
) -> Float[np.ndarray, "H W 3"]:
    """Linear light of every sample."""
    screen = camera.project(scene.vertices, width=width, height=height)
    weight = 1 / np.maximum(screen[:, 2], camera.near) if camera.perspective else np.ones(len(screen))
    key = weight if camera.perspective else -screen[:, 2]
    seen, first, second, _ = rasterise(screen, key, weight, scene.faces, camera.near, width, height)
    right, up, forward = camera.axes()
    eye = camera.eye.astype(float)
    a, b, c = (scene.vertices[scene.faces[:, corner]] for corner in range(3))
    positions, facing, inner = surface(
        seen, first, second, scene.faces, scene.vertices, scene.normals, np.cross(b - a, c - a), eye, forward,
        camera.perspective,
    )  # fmt: skip
    reach = OCCLUSION_REACH * min(scene.size, 2 * camera.height)
    occluded = occlusion(seen, positions, facing, reach * height / camera.height, reach)
    occluded = smooth_along(seen, occluded, positions, reach)
    directions = np.array(LIGHT_DIRECTIONS) @ np.stack([right, up, -forward])
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    lit = smooth_along(seen, _main_light(scene, directions[0], seen, positions, facing), positions, reach)
    return shade(
        seen, first, second, scene.faces, scene.colours, scene.gloss, positions, facing, inner, occluded, lit,
        directions, np.array(LIGHT_STRENGTHS), np.array(SKY_LIGHT), np.array(GROUND_LIGHT), eye, forward,
        camera.perspective, backdrop,
    )  # fmt: skip


def _main_light(
    scene: _Picture,
    direction: Float[np.ndarray, "3"],
    seen: np.ndarray,
    positions: np.ndarray,
    facing: np.ndarray,
) -> Float[np.ndarray, "H W"]:
    """Share of the main light that reaches each sample."""
    centre = (scene.vertices.min(axis=0) + scene.vertices.max(axis=0)) / 2
    radius = float(np.linalg.norm(scene.vertices - centre, axis=1).max()) * 1.02
    light = Camera(centre + 2 * radius * direction, centre, 2 * radius, perspective=False)
    screen = light.project(scene.vertices, width=SHADOW_MAP, height=SHADOW_MAP)
    ones = np.ones(len(screen))
    _, _, _, depth = rasterise(screen, -screen[:, 2], ones, scene.faces, 0.0, SHADOW_MAP, SHADOW_MAP)
    scale = SHADOW_MAP / light.height
    right, up, forward = light.axes()
    matrix = np.stack([scale * right, -scale * up, -forward])
    offset = np.array([SHADOW_MAP / 2, SHADOW_MAP / 2, 0.0]) - matrix @ light.eye
    return light_reaching(seen, positions, facing, depth, matrix, offset, SHADOW_BIAS * scene.size)


def _backdrop(width: int, height: int, name: str) -> Float[np.ndarray, "H W 3"]:
    """Linear colours of the empty picture: a slow gradient from top to bottom."""
    top, bottom = (decode_srgb(np.array(colour)) for colour in BACKGROUNDS[name])
    share = np.linspace(0.0, 1.0, height)[:, None, None] ** 1.5
    return np.broadcast_to(top * (1 - share) + bottom * share, (height, width, 3)).copy()


def _ground(scene: _Picture, camera: Camera, width: int, height: int) -> Float[np.ndarray, "H W"]:
    """Darkness of the ground at each pixel: what stands above it, seen from below, fading with its height."""
    lowest, highest = scene.vertices.min(axis=0), scene.vertices.max(axis=0)
    floor, fade = float(lowest[1]), GROUND_FADE * scene.size
    under = (lowest + highest) / 2 * np.array([1.0, 0.0, 1.0]) + np.array([0.0, floor, 0.0])
    span = float(max((highest - lowest)[[0, 2]])) + 8 * fade
    below = Camera(under - np.array([0.0, 1.0, 0.0]), under, span, perspective=False)
    screen = below.project(scene.vertices, width=GROUND_CELLS, height=GROUND_CELLS)
    ones = np.ones(len(screen))
    _, _, _, key = rasterise(screen, -screen[:, 2], ones, scene.faces, 0.0, GROUND_CELLS, GROUND_CELLS)
    covering = np.exp((key + 1.0) / fade)  # the key is minus the distance from one metre under the floor
    cells = fade * GROUND_CELLS / span
    dark = 0.9 * gaussian_filter(covering, 0.3 * cells) + 1.1 * gaussian_filter(covering, 1.2 * cells)

    right, up, forward = camera.axes()
    x = ((np.arange(width) + 0.5) / width - 0.5) * camera.height * width / height
    y = (0.5 - (np.arange(height) + 0.5) / height) * camera.height
    plane = x[None, :, None] * right + y[:, None, None] * up
    origins = camera.eye if camera.perspective else camera.eye + plane
    rays = plane + camera.distance * forward if camera.perspective else np.broadcast_to(forward, plane.shape)
    falling = rays[..., 1] < -1e-9
    steps = (floor - origins[..., 1]) / np.where(falling, rays[..., 1], -1.0)
    spots = (origins + steps[..., None] * rays).reshape(-1, 3)
    index = below.project(spots, width=GROUND_CELLS, height=GROUND_CELLS)[:, [1, 0]].T - 0.5
    shadow = map_coordinates(dark, index, order=1, cval=0.0).reshape(height, width)
    return np.where(falling, np.clip(shadow, 0.0, 1.0), 0.0)
