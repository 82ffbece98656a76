"""Pictures to PNG files, side by side, with words on them."""

from pathlib import Path

from PIL import Image as PillowImage

from dressform.report.raster import Image

FAST_COMPRESSION = 1  # about a tenth of the default level's time for a file a few per cent larger


def save_png(image: Image, path: Path) -> None:
    """Write an sRGB picture."""
    PillowImage.fromarray(image).save(path, format="PNG", compress_level=FAST_COMPRESSION)
