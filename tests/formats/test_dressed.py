"""Pictures of a garment's file as they lie on its cloth: where, how they go on, and made small."""

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from dressform.errors import FileError
from dressform.formats.gltf.document import parse_document
from dressform.formats.load import load_garment
from dressform.formats.surfaces.dressed import dressed_mesh
from dressform.formats.surfaces.laid import CLAMPED, MIRRORED, NO_PICTURE, REPEATED, DressedMesh, same_mesh
from dressform.formats.surfaces.materials import surface_of
from gltf_files import Gltf
from pictured import BLUE, GREEN, RED, pictured_tube, png, striped

MOST = 1024


def dressed_in(folder: Path, made: Gltf, *, most: int = MOST) -> DressedMesh:
    found = dressed_mesh(load_garment(made.save(folder / "tube.glb"), units="m"), most=most)
    assert found is not None
    return found


def pixels(data: bytes) -> np.ndarray:
    return np.asarray(Image.open(io.BytesIO(data)))


def test_a_picture_lies_where_the_file_lays_it_and_is_cut_where_the_file_cuts_it(tmp_path: Path) -> None:
    made = pictured_tube(png(striped()))
    garment = load_garment(made.save(tmp_path / "tube.glb"), units="m")
    dressed = dressed_mesh(garment, most=MOST)
    assert dressed is not None
    assert same_mesh(dressed, garment.garment.faces)
    assert len(dressed.sources) == len(garment.garment.vertices) + 4  # the cut at the back: a vertex more per ring
    height = garment.garment.vertices[dressed.sources, 1]
    np.testing.assert_allclose(dressed.places[:, 1], (1.3 - height) / 0.7, atol=1e-6)
    turned = np.ptp(dressed.places[dressed.faces][..., 0], axis=1)
    np.testing.assert_allclose(turned, 1 / 12, atol=1e-6)  # no triangle runs back across the whole picture
    assert set(dressed.face_pictures) == {0}


def test_what_the_page_gets_shows_what_the_file_shows(tmp_path: Path) -> None:
    dressed = dressed_in(tmp_path, pictured_tube(png(striped(stripes=4))))
    shown = pixels(dressed.images[0]).astype(int)
    for place, colour in (((20, 40), RED), ((20, 100), BLUE), ((240, 40), GREEN)):
        assert np.abs(shown[place] - colour).max() < 12


def test_one_picture_of_two_materials_is_sent_once(tmp_path: Path) -> None:
    made = pictured_tube(png(striped()))
    made.tree["textures"].append({"source": 0})
    made.tree["materials"].append(
        {"pbrMetallicRoughness": {"baseColorFactor": [0.5, 0.25, 1, 1], "baseColorTexture": {"index": 1}}}
    )
    first = made.tree["meshes"][0]["primitives"][0]
    made.tree["meshes"][0]["primitives"].append({**first, "material": 1})
    dressed = dressed_in(tmp_path, made)
    assert len(dressed.images) == 1
    assert [one.image for one in dressed.laid] == [0, 0]
    assert [one.tint.tolist() for one in dressed.laid] == [[1, 1, 1], [0.5, 0.25, 1]]
    assert sorted(np.unique(dressed.face_pictures)) == [0, 1]


def test_a_part_without_picture_says_so(tmp_path: Path) -> None:
    made = pictured_tube(png(striped()))
    made.tree["materials"].append({"pbrMetallicRoughness": {"baseColorFactor": [1, 0, 0, 1]}})
    made.tree["meshes"][0]["primitives"].append({**made.tree["meshes"][0]["primitives"][0], "material": 1})
    assert sorted(np.unique(dressed_in(tmp_path, made).face_pictures)) == [NO_PICTURE, 0]


@pytest.mark.parametrize(
    ("sampler", "wraps"),
    [
        (None, (REPEATED, REPEATED)),
        ({}, (REPEATED, REPEATED)),
        ({"wrapS": 33071, "wrapT": 33648}, (CLAMPED, MIRRORED)),
        ({"wrapS": 7}, (REPEATED, REPEATED)),
    ],
)
def test_a_picture_goes_on_beyond_its_edges_as_its_sampler_says(
    tmp_path: Path, sampler: Any, wraps: tuple[int, int]
) -> None:
    assert dressed_in(tmp_path, pictured_tube(png(striped()), sampler=sampler)).laid[0].wraps == wraps


def test_holes_stay_holes_and_only_where_the_file_says_that_it_has_any(tmp_path: Path) -> None:
    lace = np.dstack([striped(), np.where(np.arange(256) % 64 < 32, 255, 0)[None].repeat(256, axis=0)])
    cut = dressed_in(tmp_path, pictured_tube(png(lace), material={"alphaMode": "MASK", "alphaCutoff": 0.4}))
    assert cut.laid[0].cut == pytest.approx(0.4)
    assert np.unique(pixels(cut.images[0])[..., 3]).tolist() == [0, 255]
    whole = dressed_in(tmp_path, pictured_tube(png(lace)))
    assert whole.laid[0].cut == 0
    assert pixels(whole.images[0]).shape[2] == 3


@pytest.mark.parametrize(("size", "most", "found"), [((3000, 1500), 512, (512, 256)), ((40, 30), 512, (40, 30))])
def test_a_picture_is_made_small_never_larger(
    tmp_path: Path, size: tuple[int, int], most: int, found: tuple[int, int]
) -> None:
    grey = np.full((size[1], size[0], 3), 128)
    dressed = dressed_in(tmp_path, pictured_tube(png(grey)), most=most)
    assert Image.open(io.BytesIO(dressed.images[0])).size == found


def test_a_picture_that_stands_beside_the_file_or_in_its_text_is_shown(tmp_path: Path) -> None:
    """Of a .gltf with its pictures beside it the page showed plain cloth."""
    (tmp_path / "cloth.png").write_bytes(png(striped()))
    made = pictured_tube(png(striped()))
    inside = dressed_in(tmp_path, made)
    made.tree["images"] = [{"uri": "cloth.png"}]
    assert dressed_in(tmp_path, made).images == inside.images


@pytest.mark.parametrize("uri", ["missing.png", "../cloth.png", "https://example.org/cloth.png", "data:,x"])
def test_a_picture_that_cannot_be_fetched_is_left_out(tmp_path: Path, uri: str) -> None:
    (tmp_path / "cloth.png").write_bytes(png(striped()))
    made = pictured_tube(png(striped()))
    made.tree["images"] = [{"uri": uri}]
    (tmp_path / "in").mkdir()
    assert dressed_mesh(load_garment(made.save(tmp_path / "in" / "tube.glb"), units="m"), most=MOST) is None


@pytest.mark.parametrize("data", [b"", b"\x89PNG\r\n\x1a\n", png(striped())[:200], b"GIF89a" + bytes(40)])
def test_a_damaged_picture_is_left_out(tmp_path: Path, data: bytes) -> None:
    made = pictured_tube(data or b"\0")
    assert dressed_mesh(load_garment(made.save(tmp_path / "tube.glb"), units="m"), most=MOST) is None


def test_a_sampler_that_is_not_there_is_refused() -> None:
    made = pictured_tube(png(striped()))
    made.tree["textures"][0]["sampler"] = 3
    with pytest.raises(FileError, match=r"textures\[0\]: names sampler 3 of 0"):
        parse_document(Path("tube.glb"), made.glb())


def moved_to(told: Any, place: tuple[float, float]) -> list[float]:
    """Where a place lies once its extension has moved it."""
    made = pictured_tube(png(striped()), use={"extensions": {"KHR_texture_transform": told}})
    surface = surface_of(parse_document(Path("tube.glb"), made.glb()), 0, 0)
    assert surface is not None
    return [round(float(one), 9) for one in surface.moved @ (*place, 1.0)]


def test_moved_coordinates_follow_the_examples_of_their_extension() -> None:
    """[KHRTransform]: "utilizes only the lower left quadrant", and "inverts the T axis"."""
    quarter = {"offset": [0, 1], "rotation": 1.57079632679, "scale": [0.5, 0.5]}
    corners = [moved_to(quarter, corner) for corner in ((0, 0), (1, 0), (0, 1), (1, 1))]
    assert np.min(corners, axis=0).tolist() == pytest.approx([0, 0.5])
    assert np.max(corners, axis=0).tolist() == pytest.approx([0.5, 1])
    assert moved_to({"offset": [0, 1], "scale": [1, -1]}, (0.3, 0.2)) == pytest.approx([0.3, 0.8])


@pytest.mark.parametrize("told", [None, [], {"offset": "far"}, {"scale": [1]}, {"rotation": True, "texCoord": -1}])
def test_an_extension_that_says_nonsense_moves_nothing(told: Any) -> None:
    assert moved_to(told, (0.3, 0.2)) == pytest.approx([0.3, 0.2])
