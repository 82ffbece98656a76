"""Materials, textures and pictures of a glTF: checked when it is read, counted without holding them as floats."""

import io
import tracemalloc
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from dressform.errors import FileError
from dressform.formats.gltf.document import parse_document
from dressform.formats.guards.limits import limited_memory
from dressform.formats.load import load_garment
from dressform.formats.surfaces.materials import surface_of
from dressform.formats.surfaces.pixels import tones_of
from dressform.report.pictures.colours import decode_srgb, encode_srgb
from dressform.report.pictures.looks import look_of
from gltf_files import CUBE, Gltf, cube


def picture(pixels: np.ndarray, kind: str = "PNG", **options: Any) -> bytes:
    stream = io.BytesIO()
    Image.fromarray(pixels).save(stream, kind, **options)
    return stream.getvalue()


def painted(data: bytes, **surface: Any) -> Gltf:
    """A cube whose material shows one picture."""
    made = cube(material=0)
    made.tree["images"] = [{"bufferView": made.view(data), "mimeType": "image/png"}]
    made.tree["textures"] = [{"source": 0}]
    made.tree["materials"] = [{"pbrMetallicRoughness": {"baseColorTexture": {"index": 0}, **surface}}]
    return made


def tones(made: Gltf) -> np.ndarray | None:
    return tones_of(parse_document(Path("coat.glb"), made.glb()), 0)


NOISE = np.random.default_rng(3).integers(0, 256, (37, 53, 3), dtype=np.uint8)


def test_tones_count_every_pixel() -> None:
    counted = tones(painted(picture(NOISE)))
    assert counted is not None
    for channel in range(3):
        np.testing.assert_array_equal(counted[channel], np.bincount(NOISE[..., channel].ravel(), minlength=256))


def test_cloth_has_the_mean_light_of_its_picture(tmp_path: Path) -> None:
    made = painted(picture(NOISE), baseColorFactor=[0.5, 1.0, 0.25, 1.0])
    look = look_of(load_garment(made.save(tmp_path / "coat.glb"), units="m"))
    mean = decode_srgb(NOISE.reshape(-1, 3) / 255).mean(axis=0) * (0.5, 1.0, 0.25)
    np.testing.assert_allclose(look.colours, np.tile(encode_srgb(mean), (8, 1)), atol=1e-12)


def test_cloth_has_its_picture_where_the_picture_lies(tmp_path: Path) -> None:
    """A striped shirt was drawn in the mean of its stripes."""
    halves = np.zeros((40, 40, 3), dtype=np.uint8)
    halves[:, :20], halves[:, 20:] = (200, 30, 30), (30, 30, 200)
    made = painted(picture(halves), baseColorFactor=[0.5, 1.0, 1.0, 1.0])
    primitive = made.tree["meshes"][0]["primitives"][0]
    places = np.stack([0.25 + 0.5 * CUBE[:, 0] - 3.0, CUBE[:, 1]], axis=1)  # three pictures further to the left
    primitive["attributes"]["TEXCOORD_0"] = made.accessor(places)
    cloth = load_garment(made.save(tmp_path / "coat.glb"), units="m")
    red, blue = (
        encode_srgb(decode_srgb(np.array(one) / 255) * (0.5, 1.0, 1.0)) for one in ((200, 30, 30), (30, 30, 200))
    )
    is_right = cloth.garment.vertices[:, :1] > cloth.garment.vertices[:, 0].mean()
    np.testing.assert_allclose(look_of(cloth).colours, np.where(is_right, blue, red), atol=1e-6)


def test_a_weave_finer_than_the_mesh_is_its_mean(tmp_path: Path) -> None:
    """Tweed came out in blotches: every vertex had the colour of the thread that it met."""
    made = painted(picture(np.random.default_rng(1).choice([0, 255], (256, 256, 1)).repeat(3, axis=2).astype(np.uint8)))
    primitive = made.tree["meshes"][0]["primitives"][0]
    primitive["attributes"]["TEXCOORD_0"] = made.accessor(CUBE[:, :2] * 0.98)
    colours = look_of(load_garment(made.save(tmp_path / "coat.glb"), units="m")).colours
    assert np.ptp(colours) < 0.02
    assert decode_srgb(colours).mean() == pytest.approx(0.5, abs=0.01)


@pytest.mark.parametrize("mode", ["L", "P", "RGBA", "I;16"])
def test_other_kinds_of_pixels_are_counted(mode: str) -> None:
    stream = io.BytesIO()
    Image.new(mode, (20, 10), 0).save(stream, "PNG")
    counted = tones(painted(stream.getvalue()))
    assert counted is not None
    assert counted.sum(axis=1).tolist() == [200, 200, 200]


def test_large_jpeg_is_reduced_while_it_is_decoded() -> None:
    wide = np.full((4096, 4096, 3), (200, 100, 50), dtype=np.uint8)
    counted = tones(painted(picture(wide, "JPEG")))
    assert counted is not None
    assert counted[0].sum() <= 1100**2
    assert (counted @ np.arange(256) / counted.sum(axis=1)).round().tolist() == pytest.approx([200, 100, 50], abs=1)


def test_large_picture_is_never_held_as_floats() -> None:
    made = painted(picture(np.zeros((4096, 4096, 3), dtype=np.uint8)))
    tracemalloc.start()
    counted = tones(made)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert counted is not None
    assert counted[0, 0] == 4096**2
    assert peak < 8 * 1024**2  # of Python's and numpy's: as floats it was 400 MB for each copy


@pytest.mark.filterwarnings("error")
def test_picture_that_would_fill_the_memory_is_refused_undecoded() -> None:
    stream = io.BytesIO()
    Image.new("1", (9000, 9000)).save(stream, "PNG")
    with limited_memory(512 * 1024**2), pytest.raises(FileError, match=r"images\[0\]: would take 0\.9 GiB of memory"):
        tones(painted(stream.getvalue()))


def test_garment_whose_picture_would_fill_the_memory_is_read_noted_and_plain(tmp_path: Path) -> None:
    stream = io.BytesIO()
    Image.new("1", (9000, 9000)).save(stream, "PNG")
    path = painted(stream.getvalue(), baseColorFactor=[0.5, 0.5, 0.5, 1.0]).save(tmp_path / "coat.glb")
    with limited_memory(512 * 1024**2):
        made = load_garment(path, units="m")
        assert "Its picture images[0] would take more than the memory limit and is not shown." in made.garment.notes
        np.testing.assert_allclose(look_of(made).colours, np.tile(encode_srgb(np.full(3, 0.5)), (8, 1)), atol=1e-12)
    assert not any("picture" in note for note in load_garment(path, units="m").garment.notes)


@pytest.mark.parametrize("data", [b"", b"GIF89a", b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff", picture(NOISE)[:300]])
def test_picture_that_cannot_be_read_counts_nothing(data: bytes) -> None:
    assert tones(painted(data or b" ")) is None


def test_material_without_numbers_has_those_of_the_standard() -> None:
    made = cube(material=0)
    made.tree["materials"] = [{}]
    surface = surface_of(parse_document(Path("coat.glb"), made.glb()), 0, 0)
    assert surface is not None
    assert (surface.colour.tolist(), surface.metalness, surface.roughness) == ([1, 1, 1], 1, 1)


@pytest.mark.parametrize(
    ("where", "value", "said"),
    [
        (("meshes", 0, "primitives", 0, "material"), 7, r"meshes\[0\]\.primitives\[0\]: names material 7 of 1"),
        (("materials", 0, "pbrMetallicRoughness", "baseColorTexture", "index"), 3, "names texture 3 of 1"),
        (("materials", 0, "pbrMetallicRoughness", "baseColorTexture"), {}, "missing required field"),
        (("materials", 0, "pbrMetallicRoughness", "baseColorTexture"), 5, "expected `object"),
        (("materials", 0, "pbrMetallicRoughness"), "red", "expected `object"),
        (("materials", 0, "pbrMetallicRoughness", "metallicFactor"), "1", "expected `float`"),
        (("materials", 0, "pbrMetallicRoughness", "roughnessFactor"), None, "expected `float`"),
        (("materials", 0, "pbrMetallicRoughness", "baseColorFactor"), [1, 1, 1], "expected `array` of length >= 4"),
        (("textures", 0, "source"), 4, r"textures\[0\]: names image 4 of 1"),
        (("textures", 0), [], "expected `object"),
        (("images", 0, "bufferView"), 99, r"images\[0\]: names buffer view 99 of"),
        (("images", 0, "bufferView"), -1, "expected `int` >= 0"),
    ],
)
def test_surface_that_names_nothing_is_refused(where: tuple[Any, ...], value: Any, said: str, tmp_path: Path) -> None:
    made = painted(picture(NOISE))
    node: Any = made.tree
    for step in where[:-1]:
        node = node[step]
    node[where[-1]] = value
    with pytest.raises(FileError, match=said):
        load_garment(made.save(tmp_path / "coat.glb"), units="m")
