from pathlib import Path

import numpy as np
from PIL import Image

from dressform.report.picture import save_png


def test_a_saved_picture_reads_back_pixel_for_pixel(tmp_path: Path) -> None:
    image = np.random.default_rng(1).integers(0, 256, (30, 40, 3)).astype(np.uint8)
    save_png(image, tmp_path / "a.png")
    np.testing.assert_array_equal(np.asarray(Image.open(tmp_path / "a.png")), image)
