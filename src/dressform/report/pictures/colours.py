"""Colour scales for faults on a surface: straight lines in the OKLab space [Ottosson2020].

Along a straight line equal steps of value are equal steps of perceived colour. Lightness runs with the value, and
hue only between blue and orange, which people with any of the common colour deficiencies tell apart: cloth goes
from pale to deep blue, skin that shows from pale to orange, skin in front at
the base from pale to dark brown, and a clearance change from blue over pale to orange.
"""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.errors import ArgumentError

# Lightness, green-red and blue-yellow of the stops; all of every line lies inside sRGB (a test checks it).
CLOTH_STOPS = ((0.94, 0.0, 0.015), (0.42, 0.01, -0.20))
SKIN_STOPS = ((0.88, 0.01, 0.02), (0.62, 0.14, 0.12))
FRONT_STOPS = ((0.88, 0.01, 0.02), (0.40, 0.09, 0.075))
CHANGE_STOPS = ((0.48, -0.01, -0.17), (0.94, 0.0, 0.01), (0.58, 0.12, 0.115))

_TO_CONE = np.array(
    [[1.0, 0.3963377774, 0.2158037573], [1.0, -0.1055613458, -0.0638541728], [1.0, -0.0894841775, -1.2914855480]]
)
_TO_RGB = np.array(
    [
        [4.0767416621, -3.3077115913, 0.2309699292],
        [-1.2684380046, 2.6097574011, -0.3413193965],
        [-0.0041960863, -0.7034186147, 1.7076147010],
    ]
)


@dataclass(frozen=True)
class Scale:
    """From values to colours, linear between `low` and `high`, clipped outside.

    Attributes:
        low: Value of the first stop.
        high: Value of the last stop.
        stops: Evenly spaced points in OKLab.

    Raises:
        ArgumentError: `high` does not exceed `low`.
    """

    low: float
    high: float
    stops: tuple[tuple[float, float, float], ...] = CLOTH_STOPS

    def __post_init__(self) -> None:
        if not self.high > self.low:
            raise ArgumentError.of(
                "Scale", "high", f"above low ({self.low:g})", f"{self.high:g}", "Widen the scale's interval"
            )

    def colours(self, values: Float[np.ndarray, " N"]) -> Float[np.ndarray, "N 3"]:
        """sRGB in [0, 1], one per value, (N, 3)."""
        place = np.clip((values - self.low) / (self.high - self.low), 0.0, 1.0)
        knots = np.linspace(0.0, 1.0, len(self.stops))
        lab = np.stack([np.interp(place, knots, channel) for channel in np.array(self.stops).T], axis=1)
        return encode_srgb(oklab_to_linear(lab))


def oklab_to_linear(lab: Float[np.ndarray, "N 3"]) -> Float[np.ndarray, "N 3"]:
    """OKLab to linear light of the sRGB primaries, (N, 3)."""
    return ((lab @ _TO_CONE.T) ** 3) @ _TO_RGB.T


def encode_srgb(linear: Float[np.ndarray, "*shape 3"]) -> Float[np.ndarray, "*shape 3"]:
    """Linear light to sRGB values, clipped to [0, 1] [IEC61966-2-1]."""
    clipped = np.clip(linear, 0.0, 1.0)
    return np.where(clipped <= 0.0031308, 12.92 * clipped, 1.055 * np.maximum(clipped, 0.0031308) ** (1 / 2.4) - 0.055)


def decode_srgb(colours: Float[np.ndarray, "*shape 3"]) -> Float[np.ndarray, "*shape 3"]:
    """sRGB values in [0, 1] to linear light [IEC61966-2-1]."""
    return np.where(colours <= 0.04045, colours / 12.92, ((np.maximum(colours, 0.04045) + 0.055) / 1.055) ** 2.4)
