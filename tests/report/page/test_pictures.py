"""Pictures of a garment's file as they go to the page."""

from pathlib import Path

import numpy as np
import pytest

from dressform.formats.load import GarmentFile, load_garment
from dressform.report.page.pack import Coarse, read_pack, write_pack
from dressform.report.page.pictures import picture_arrays, pictures_of
from pictured import pictured_tube, png, striped


@pytest.fixture
def garment_file(tmp_path: Path) -> GarmentFile:
    made = pictured_tube(png(striped()), sampler={"wrapS": 33071, "wrapT": 33648})
    return load_garment(made.save(tmp_path / "tube.glb"), units="m")


@pytest.mark.parametrize("coarse", [False, True])
def test_what_is_sent_says_where_each_picture_lies(garment_file: GarmentFile, coarse: bool) -> None:
    faces = garment_file.garment.faces
    dressed = pictures_of(garment_file, faces, most=128)
    assert dressed is not None
    sent = read_pack(write_pack({"kind": "cloth"}, picture_arrays(dressed, "cloth/tube/", coarse=coarse))).arrays
    places = sent["cloth/tube/drawn/places"]
    real = places.real if isinstance(places, Coarse) else places
    np.testing.assert_allclose(real, dressed.places, atol=1e-5)
    assert np.array_equal(sent["cloth/tube/drawn/sources"][sent["cloth/tube/drawn/faces"]], faces)
    assert np.all(sent["cloth/tube/drawn/pictures"] == 1)
    assert sent["cloth/tube/drawn/laid"].tolist() == [[0, 1, 1, 1, 2, 1, 0]]
    assert bytes(sent["cloth/tube/drawn/image/0"]) == dressed.images[0]


def test_cloth_whose_triangles_a_repair_has_split_shows_no_picture(garment_file: GarmentFile) -> None:
    assert pictures_of(garment_file, garment_file.garment.faces[1:], most=128) is None
    assert pictures_of(None, garment_file.garment.faces, most=128) is None
