import numpy as np
import pytest

from dressform.report.pictures.sheet import Tile, contact_sheet


@pytest.mark.parametrize(("count", "rows", "columns"), [(1, 1, 1), (3, 1, 3), (5, 2, 4), (8, 2, 4), (9, 3, 4)])
def test_every_tile_has_its_place_in_rows_of_four(count: int, rows: int, columns: int) -> None:
    tiles = [Tile("coat: clean", (np.full((30, 200, 3), 10 + k, dtype=np.uint8),)) for k in range(count)]
    single = contact_sheet(tiles[:1])
    sheet = contact_sheet(tiles)
    assert sheet.shape[:2] == (
        rows * single.shape[0] + (rows - 1) * 4,
        columns * single.shape[1] + (columns - 1) * 4,
    )
    for k in range(count):
        assert np.all(sheet == 10 + k, axis=2).sum() >= 30 * 200 - 50
