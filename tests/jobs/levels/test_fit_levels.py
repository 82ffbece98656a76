"""Levels of detail fitted together: they move alike, each is proven on its own body, one record tells all."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

import dressform as df
from bent_limb import bent, limb, sleeve
from dressform.errors import ArgumentError, FileError
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.results.json_schema import stored_schema
from dressform.jobs.levels.fitted import FittedLevels
from dressform.jobs.levels.save import PAGE, RECORD, SavedLevels
from dressform.levels.apart import levels_apart
from dressform.repair.names import JOINTS
from dressform.report.levels.table import levels_line
from dressform.report.tables.proof import proof_line
from phantoms import phantom_body, phantom_tube

NAMES = ("coat0", "coat1")


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two levels of a body and of a tube round it."""
    folder = tmp_path_factory.mktemp("levels")
    for number, (rings, sides) in enumerate(((44, 48), (20, 24))):
        save_body([phantom_body(rings=rings, sides=sides)], folder / f"body{number}.glb")
    for name, (rings, sides) in zip(NAMES, ((24, 40), (14, 24))):
        save_garment(phantom_tube(rings=rings, sides=sides, name=name), folder / f"{name}.glb")
    return folder


@pytest.fixture(scope="module")
def bodies(files: Path) -> list[df.Body]:
    return [df.load_body(files / f"body{number}.glb") for number in range(2)]


@pytest.fixture(scope="module")
def garments(files: Path) -> list[df.Garment]:
    return [df.load_garment(files / f"{name}.glb") for name in NAMES]


@pytest.fixture(scope="module")
def levels(garments: list[df.Garment], bodies: list[df.Body]) -> FittedLevels:
    return df.fit_levels(garments, bodies, shapes=0)


@pytest.fixture(scope="module")
def saved(levels: FittedLevels, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, SavedLevels]:
    out = tmp_path_factory.mktemp("out")
    return out, df.save_levels(levels, out)


def test_levels_that_were_carried_are_nearer_than_levels_that_were_fitted_alone(levels: FittedLevels) -> None:
    finer, coarser = levels.levels
    assert coarser.apart is not None
    assert coarser.rows is not None
    shapes = [row.shape for row in coarser.apart.rows]
    alone = levels_apart(finer.repaired.fit, df.fit(coarser.body, coarser.repaired.fit.garment), coarser.rows, shapes)
    assert coarser.apart.widest.seen.apart < 0.5 * alone.widest.seen.apart
    assert coarser.apart.loosest.clearance_usual < 0.5 * alone.loosest.clearance_usual


def test_no_skin_shows_at_any_level_on_its_own_body_and_all_is_proven(levels: FittedLevels) -> None:
    assert not levels.faulty
    for level, count in zip(levels.levels, (44 * 48 + 2, 20 * 24 + 2)):
        assert len(level.body.vertices) == count
        assert level.shipped.proof.certificate.share == 1.0
        assert max(one.show_through.exposed_area for one in level.shipped.after) == 0.0
    assert str(levels).startswith("Levels, the worst first")
    words = "2 levels: nothing shows through at any, and none pops by more than 5 mm."
    assert levels_line(levels.record()) == words


def test_a_level_that_pops_is_named_with_its_shape_and_comes_first(levels: FittedLevels) -> None:
    strict = replace(levels, allowed_pop=0.001)
    assert strict.faulty
    assert [one.name for one in strict.worst_first()] == ["coat1", "coat0"]
    told = strict.record().levels[0]
    assert told.pops
    assert told.beside is not None
    assert told.beside.outline_shape == "belly=1 girth=1"
    assert told.beside.pop_mm > 1.0


def test_each_level_has_its_file_and_receipt_and_all_one_record(
    saved: tuple[Path, SavedLevels], bodies: list[df.Body]
) -> None:
    out, told = saved
    names = {f"{name}.{kind}" for name in NAMES for kind in ("glb", "receipt.json")}
    assert {path.name for path in out.iterdir()} == {*names, RECORD, PAGE}
    document = json.loads((out / RECORD).read_text(encoding="utf-8"))
    jsonschema.validate(document, stored_schema("levels.schema.json"))
    by_name = {one["name"]: one for one in document["levels"]}
    for name, body in zip(NAMES, bodies):
        file = out / by_name[name]["file"]
        digest = hashlib.sha256(file.read_bytes()).hexdigest()
        receipt = json.loads((out / f"{name}.receipt.json").read_text(encoding="utf-8"))
        assert digest == by_name[name]["sha256"] == receipt["files"]["fitted"]["sha256"]
        assert proof_line(df.prove(df.load_fit(file, body))) == by_name[name]["proof"]
    page = (out / PAGE).read_text(encoding="utf-8")
    assert page.count("data:image/webp;base64,") == 1
    assert f"Written to <bdi>{NAMES[0]}.glb</bdi>" in page
    assert page.index("coat1") < page.index("coat0</bdi></a>")
    assert told.files == tuple(out / f"{name}.glb" for name in NAMES)


def test_small_files_are_what_is_proven_of_each_level(levels: FittedLevels, saved: tuple[Path, SavedLevels]) -> None:
    small = levels.made_small()
    for level, file in zip(small.levels, saved[1].files):
        assert level.small is not None
        assert len(level.small.data) < 0.7 * file.stat().st_size
        assert level.shipped.fit is level.small.fit
        assert level.shipped.proof.certificate.share == 1.0


def test_one_body_serves_all_levels_and_morphs_that_a_coarser_one_lacks_are_left_out(
    garments: list[df.Garment], bodies: list[df.Body]
) -> None:
    few = replace(bodies[1], morph_names=("tall",), deltas=bodies[1].deltas[2:], range=df.Range.unit(("tall",)))
    found = df.fit_levels(garments, [bodies[0], few], shapes=0, repairs=("clearance",))
    assert found.levels[1].repaired.fit.morph_names == ("tall",)
    one = df.fit_levels(garments, bodies[0], shapes=0, repairs=("clearance",))
    assert all(level.body is bodies[0] for level in one.levels)
    np.testing.assert_allclose(one.levels[1].repaired.fit.deltas[2], found.levels[1].repaired.fit.deltas[0], atol=1e-9)


def test_levels_are_repaired_and_proven_at_a_stance_too() -> None:
    skins = [limb(), limb(rings=25, sides=16)]
    cloth = [sleeve(skins[0]).garment, replace(sleeve(skins[1], rings=17, sides=16).garment, name="coarse")]
    found = df.fit_levels(cloth, skins, shapes=0, stances=[bent(60, "bow")])
    for level in found.levels:
        (one,) = level.shipped.proof.stances
        assert (one.stance.name, one.share) == ("bow", 1.0)
    assert [JOINTS in level.repaired.repairs for level in found.levels] == [True, False]  # the coarser has the finer's


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda g, b: (g[:1], b), "`garments` must be two levels of one garment or more"),
        (
            lambda g, b: ([g[0], replace(g[1], vertices=g[1].vertices + np.array([0.5, 0.0, 0.0]))], b),
            r"levels of one garment, got 'coat1', \d+ of whose \d+ vertices lie more than 15 mm off 'coat0'",
        ),
        (lambda g, b: (g[::-1], b), r"given from fine to coarse, got 'coat0' \(960 vertices\) behind 'coat1'"),
        (lambda g, b: ([g[0], replace(g[1], name="coat0")], b), "named differently, got 'coat0' twice"),
        (lambda g, b: (g, [*b, b[0]]), "`body` must be one body, or one for each of 2 levels, got 3"),
        (lambda g, b: (g, b, df.Following(method="file")), "`following.method` must be one of ours"),
        (lambda g, b: (g, b, df.Following(mask=np.ones(960))), "`following.mask` must be the name of numbers"),
    ],
)
def test_what_are_no_levels_is_refused(
    garments: list[df.Garment],
    bodies: list[df.Body],
    change: Callable[[list[df.Garment], list[df.Body]], tuple[Any, ...]],
    said: str,
) -> None:
    with pytest.raises(ArgumentError, match=said):
        df.fit_levels(*change(garments, bodies))
    with pytest.raises(ArgumentError, match="`pop_mm` must be 0 mm or more, got -1"):
        df.fit_levels(garments, bodies, pop_mm=-1.0)


def test_nothing_is_written_over_what_was_read(levels: FittedLevels, files: Path) -> None:
    with pytest.raises(FileError, match="is an input"):
        df.save_levels(levels, files)
