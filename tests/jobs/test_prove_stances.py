"""A proof at stances says what it covers, and is redone from the fitted file, its receipt and the body."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

import dressform as df
from bent_limb import bent, limb, sleeve
from dressform.cli.app import run
from dressform.errors import FileError, MatchError
from dressform.fit.fit import Fit
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.results.stance_records import read_stance_records, stance_hash, stance_records
from dressform.jobs.load import load_fit
from dressform.jobs.prove import prove
from dressform.jobs.repair import Repaired, repair
from dressform.jobs.save import save_with_receipt
from dressform.report.tables.proof import not_covered, proof_data, proof_line


def small(ramp: float, clearance: float = 0.006) -> Fit:
    return sleeve(limb(rings=25, sides=16), ramp=ramp, clearance=clearance, rings=17, sides=16)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, Repaired]:
    """Body and fitted garment as files, with a receipt of a repair at two stances, and that repair."""
    folder = tmp_path_factory.mktemp("stances")
    fit = small(0.2)
    save_body([fit.body], folder / "limb.glb")
    save_garment(fit.garment, folder / "sleeve.glb")
    body = df.load_body(folder / "limb.glb")
    made = df.fit(body, df.load_garment(folder / "sleeve.glb", beside=body))
    done = repair(made, repairs=("clearance",), shapes=2, stances=[bent(25, "a little"), bent(40, "more")])
    save_with_receipt(done, folder / "sleeve-fitted.glb")
    return folder / "limb.glb", folder / "sleeve-fitted.glb", done


def test_first_line_says_what_the_proof_covers() -> None:
    fit = small(0.2)
    line = proof_line(prove(fit, stances=[bent(20), bent(30)]))
    assert line.startswith("PROVEN at rest and 2 stances: at least 0 mm")
    assert not_covered(prove(fit)) == ("every stance but rest",)


def test_open_stances_are_named_in_the_first_line() -> None:
    found = prove(small(0.05, 0.003), stances=[bent(50, "half closed"), bent(0, "straight")])
    assert not found.complete
    assert found.complete_at_rest
    line = proof_line(found)
    assert line.startswith("NOT PROVEN: half closed: ")
    assert "straight" not in line


def test_contact_is_named_among_what_is_not_covered() -> None:
    found = prove(small(0.2), stances=[bent(150, "shut")])
    across = found.stances[0].contacts.across
    assert across > 0
    assert any(f"shut ({across})" in words for words in not_covered(found))


def test_receipt_lists_the_stances_and_the_proof_is_redone_from_the_files(
    written: tuple[Path, Path, Repaired], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    body, fitted, done = written
    code = run(["prove", str(fitted), "--body", str(body), "--json", str(tmp_path / "proof.json")])
    again = json.loads((tmp_path / "proof.json").read_text())
    first = proof_data(done.proof)
    assert [one["name"] for one in again["stances"]] == ["a little", "more"]
    for one, two in zip(again["stances"], first["stances"]):
        assert one["sha256"] == two["sha256"]
        assert one["contact_pairs"] == two["contact_pairs"]
        assert one["near_pairs"] == pytest.approx(two["near_pairs"], rel=0.01)
        assert one["proven"] == two["proven"]
    assert code == (0 if done.proof.complete else 1)
    assert "at rest and 2 stances" in capsys.readouterr().out


def test_joint_weights_come_back_from_the_fitted_file(written: tuple[Path, Path, Repaired]) -> None:
    body, fitted, done = written
    fit = load_fit(fitted, df.load_body(body))
    assert fit.skin is not None
    skeleton = fit.body.skeleton
    want = bent(40).maps(done.fit.skin, skeleton)
    assert abs(bent(40).maps(fit.skin, skeleton) - want).max() < 1e-6


def test_stances_are_read_back_exactly_and_joints_may_come_in_any_order() -> None:
    skeleton = limb(rings=3).skeleton
    (record,) = stance_records([bent(77)], skeleton.names)
    turned = {**record, "joints": dict(reversed(record["joints"].items()))}
    (back,) = read_stance_records(json.loads(json.dumps([turned])), skeleton)
    assert stance_hash(back) == stance_hash(bent(77))
    assert back.name == bent(77).name


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"sha256": "0"}, "changed by hand"),
        ({"joints": {"upper": [0.0] * 12}}, "without 'lower'"),
        ({"joints": {"upper": [0.0] * 12, "lower": [0.0]}}, "12 numbers"),
        ({"name": None}, "a name and joints"),
    ],
)
def test_record_that_cannot_be_meant_is_refused(change: dict[str, object], match: str) -> None:
    skeleton = limb(rings=3).skeleton
    (record,) = stance_records([bent(10)], skeleton.names)
    with pytest.raises(FileError, match=match):
        read_stance_records([{**record, **change}], skeleton)


def test_receipt_that_is_none_is_refused(written: tuple[Path, Path, Repaired], tmp_path: Path) -> None:
    body, fitted, _ = written
    wrong = tmp_path / "wrong.json"
    wrong.write_text("[]")
    assert run(["prove", str(fitted), "--body", str(body), "--receipt", str(wrong)]) == 2


def test_fit_of_other_joints_is_refused() -> None:
    fit = small(0.2)
    with pytest.raises(MatchError, match="joint weights"):
        prove(replace(fit, skin=None), stances=[bent(10)])
