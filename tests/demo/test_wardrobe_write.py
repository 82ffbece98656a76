"""The demo written to files and read back."""

from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from dressform.demo.body import make_demo_bodies, make_faulty_body
from dressform.demo.wardrobe import DESIGNS, LEVELS, OUTFITS, make_wardrobe
from dressform.demo.wardrobe_truth import TRUTH_FILE
from dressform.demo.write import write_demo, write_levels
from dressform.errors import FileError
from dressform.formats.load import load_bodies, load_garment
from dressform.formats.outfit_file import read_outfits
from dressform.levels.carry import stand_on
from nodetools import validate

FLOAT32 = 1e-6


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Path]:
    return write_demo(tmp_path_factory.mktemp("saltmarsh") / "demo")


def test_every_file_of_the_demo_is_there(written: Mapping[str, Path]) -> None:
    assert set(written) == {"body", "faulty_body", "outfits", "truth", "complaints", *DESIGNS}
    assert all(path.stat().st_size > 400 for path in written.values())
    assert written["truth"].read_bytes() == files("dressform.demo").joinpath(TRUTH_FILE).read_bytes()


def test_what_is_worn_together_is_read_back_as_it_is_written_down(written: Mapping[str, Path]) -> None:
    read = read_outfits(written["outfits"])
    assert {name: tuple(path.stem for path in layers) for name, layers in read.items()} == OUTFITS


def test_bodies_come_back_with_morphs_range_joints_and_regions(written: Mapping[str, Path]) -> None:
    made = [*make_demo_bodies().values(), make_faulty_body()]
    read = [file.body for key in ("body", "faulty_body") for file in load_bodies(written[key])]
    assert [body.name for body in read] == [body.name for body in made]
    for one, other in zip(read, made):
        np.testing.assert_allclose(one.vertices, other.vertices, atol=FLOAT32)
        np.testing.assert_allclose(one.deltas, other.deltas, atol=FLOAT32)
        assert one.morph_names == other.morph_names
        np.testing.assert_allclose(one.range.low, other.range.low)
        np.testing.assert_allclose(one.range.high, other.range.high)
        assert one.skeleton is not None
        assert other.skeleton is not None
        assert set(one.skeleton.names) == set(other.skeleton.names)
        order = [one.skeleton.names.index(name) for name in other.skeleton.names]
        np.testing.assert_allclose(one.skeleton.positions[order], other.skeleton.positions, atol=FLOAT32)
        assert set(one.regions) == {name.lower() for name in other.regions}


@pytest.mark.parametrize("name", DESIGNS)
def test_garments_come_back_welded_with_their_parts(written: Mapping[str, Path], name: str) -> None:
    made, read = make_wardrobe(make_demo_bodies(), names=(name,))[name].garment, load_garment(written[name])
    assert read.garment.part_names == made.part_names
    assert len(read.garment.vertices) == len(made.vertices)
    assert len(read.garment.faces) == len(made.faces)
    assert len(read.file_to_cloth) > len(made.vertices)  # split along the seams of the texture
    order = [np.lexsort(points.astype(np.float32).T) for points in (made.vertices, read.garment.vertices)]
    np.testing.assert_allclose(read.garment.vertices[order[1]], made.vertices[order[0]].astype(np.float32), atol=0)


@pytest.mark.node
@pytest.mark.parametrize("name", ["body", "faulty_body", "coat", "waistcoat", "gloves"])
def test_the_official_validator_finds_nothing(written: Mapping[str, Path], name: str) -> None:
    assert validate(written[name]) == []


def test_a_folder_that_cannot_be_made_is_refused(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(FileError, match=r"taken.*cannot be made"):
        write_demo(tmp_path / "taken" / "demo", bodies=make_demo_bodies(), wardrobe={})


def test_the_coarser_level_of_the_guernsey_is_the_same_jersey_of_few_vertices(tmp_path: Path) -> None:
    made = make_wardrobe(make_demo_bodies(), names=("guernsey", *LEVELS))
    finer, coarser = (made[name].garment for name in ("guernsey", "guernsey_level"))
    written = write_levels(tmp_path, {name: made[name] for name in LEVELS})
    assert [path.relative_to(tmp_path) for path in written.values()] == [Path("levels/guernsey_level.glb")]
    assert len(coarser.vertices) < 0.3 * len(finer.vertices)
    assert coarser.part_names == finer.part_names
    _, distances = stand_on(finer, coarser)
    assert distances.max() < 0.015
