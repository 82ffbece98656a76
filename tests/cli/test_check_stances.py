"""`dressform check --stances` measures garments in the stances asked for, and says which."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from dressform.formats.gltf.save import save_body, save_garment
from limbs import limb, sleeve

pytestmark = pytest.mark.long

Run = Callable[..., Any]
QUICK = ("--units", "m", "--up", "y", "--front", "z", "--shapes", "0", "--no-causes", "--workers", "1")
BENT = 'format = "dressform-stances/1"\n[[stances.bent.turns]]\njoint = "fore"\naxis = "x"\ndegrees = 60\n'


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("limb")
    save_body(limb(along=31, around=24), path / "limb.glb")
    save_garment(sleeve(along=19, around=16), path / "sleeve.glb")
    (path / "bent.toml").write_text(BENT)
    return path


def checked(folder: Path, dressform: Run, *words: object) -> tuple[dict[str, Any], str]:
    out = folder / "results.json"
    ended = dressform("check", folder / "sleeve.glb", "--body", folder / "limb.glb", "--json", out, *QUICK, *words)
    assert ended.code in (0, 1), ended.out + ended.err
    return json.loads(out.read_text(encoding="utf-8")), ended.out


def test_stances_of_a_file_are_measured(folder: Path, dressform: Run) -> None:
    results, _ = checked(folder, dressform, "--stances", folder / "bent.toml")
    assert results["settings"]["stances"] == ["bent"]
    assert [stance["name"] for stance in results["garments"][0]["stances"]] == ["bent"]


def test_none_leaves_it_at_the_modelled_pose(folder: Path, dressform: Run) -> None:
    results, said = checked(folder, dressform, "--stances", "none")
    assert results["garments"][0]["stances"] == []
    assert "stance" not in said


def test_file_beside_the_body_is_what_is_measured_by_default(folder: Path, dressform: Run) -> None:
    results, said = checked(folder, dressform)
    assert results["garments"][0]["stances"] == []
    assert "note: stances: No human skeleton was recognised" in said
    beside = folder / "limb.stances.toml"
    beside.write_text(BENT)
    try:
        assert checked(folder, dressform)[0]["settings"]["stances"] == ["bent"]
    finally:
        beside.unlink()


def test_garment_without_joint_weights_is_looked_at_in_the_modelled_pose(folder: Path, dressform: Run) -> None:
    settings = folder / "settings.toml"
    settings.write_text('format = "dressform-following/1"\n[garment.sleeve]\njoint_weights = "none"\n')
    results, said = checked(folder, dressform, "--settings", settings)
    assert results["garments"][0]["stances"] == []
    assert "note: stances: sleeve has no joint weights" in said


def test_stances_file_is_an_input_that_no_output_may_replace(folder: Path, dressform: Run) -> None:
    words = ("--body", folder / "limb.glb", "--stances", folder / "bent.toml", "--store", folder / "bent.toml")
    ended = dressform("check", folder / "sleeve.glb", *words, *QUICK)
    assert ended.code == 2
    assert "is an input" in ended.err


def test_fit_repairs_and_proves_at_stances_and_prove_takes_them_from_the_receipt(
    folder: Path, dressform: Run, tmp_path: Path
) -> None:
    made, body = tmp_path / "fitted.glb", ("--body", folder / "limb.glb", "--units", "m", "--up", "y", "--front", "z")
    asked = ("--stances", folder / "bent.toml", "--repairs", "clearance", "-o", made)
    ended = dressform("fit", folder / "sleeve.glb", *body, *asked)
    assert ended.code in (0, 1), ended.out + ended.err
    receipt = json.loads((tmp_path / "fitted.receipt.json").read_text(encoding="utf-8"))
    assert receipt["settings"]["stances"] == ["bent"]
    proven = dressform("prove", made, "--body", folder / "limb.glb", "--units", "m", "--up", "y", "--front", "z")
    assert "bent" in proven.out, proven.out + proven.err
    read = ("--units", "m", "--up", "y", "--front", "z")
    other = folder / "other.toml"
    other.write_text(BENT.replace("stances.bent", "stances.straighter").replace("60", "20"))
    asked_for = dressform("prove", made, "--body", folder / "limb.glb", *read, "--stances", other)
    assert "straighter" in asked_for.out, asked_for.out + asked_for.err
    assert "bent" not in asked_for.out
    at_rest = dressform("prove", made, "--body", folder / "limb.glb", *read, "--stances", "none")
    assert "stance" not in at_rest.out.splitlines()[0]


def test_an_outfit_is_checked_together_at_stances(folder: Path, dressform: Run, tmp_path: Path) -> None:
    outfits = folder / "outfits.toml"
    outfits.write_text('[outfit.alone]\nlayers = ["sleeve.glb"]\n')
    read = ("--body", folder / "limb.glb", "--units", "m", "--up", "y", "--front", "z", "--out", tmp_path / "made")
    ended = dressform("outfit", outfits, "alone", *read, "--stances", folder / "bent.toml")
    assert ended.code in (0, 1), ended.out + ended.err
    assert "at bent" in ended.out or "clean at 1 stance" in ended.out


def test_without_a_number_few_shapes_are_looked_at_at_stances_and_that_is_said(folder: Path, dressform: Run) -> None:
    out, files = folder / "few.json", (folder / "sleeve.glb", "--body", folder / "limb.glb")
    plain = ("--stances", folder / "bent.toml", "--no-causes", "--workers", 1)
    ended = dressform("check", *files, "--json", out, *plain)
    told = json.loads(out.read_text(encoding="utf-8"))
    assert (told["settings"]["shapes"], told["settings"]["at_stances"]) == (64, 8)
    assert "At each stance 8 of the 64 evenly spread shapes are looked at" in " ".join(ended.out.split())
    assert "--shapes 64 looks at all" in " ".join(ended.out.split())
    several = dressform("check", *files, "--json", out, "--shapes", 1, *plain)
    assert json.loads(out.read_text(encoding="utf-8"))["settings"]["at_stances"] == 1
    assert "evenly spread" not in several.out
