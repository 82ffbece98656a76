"""`--settings FILE`: what a file says of a garment holds, and options given beside it win."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.cli.arguments import FollowingOptions
from dressform.cli.settings import settled
from dressform.errors import ArgumentError
from dressform.formats.following_file import write_following
from dressform.formats.gltf.save import save_garment
from dressform.formats.load import load_body
from dressform.garment.following import Following, for_garment
from dressform.jobs.check_report import following_again, following_object
from phantoms import phantom_tube

pytestmark = pytest.mark.long

Run = Callable[..., Any]


def fitted(path: Path) -> Body:
    return load_body(path, units="m", up="y").body


@pytest.fixture
def fit(phantom: Path, tmp_path: Path, dressform: Run) -> Callable[..., Body]:
    """Fit the tube with settings and options; the garment written."""

    def call(settings: Following | None, *options: object) -> Body:
        words: list[object] = ["fit", "--body", phantom / "phantom.obj", phantom / "tube.obj", "-o", tmp_path / "o.glb"]
        if settings is not None:
            write_following(tmp_path / "following.toml", {"tube": settings, "clogs": Following(strength=0.1)})
            words += ["--settings", tmp_path / "following.toml"]
        ended = dressform(*words, *(() if "--margin" in options else ("--no-repair",)), *options)
        assert ended.code == 0, ended.err
        return fitted(tmp_path / "o.glb")

    return call


def test_a_saved_strength_weakens_every_morph_by_it(fit: Callable[..., Body]) -> None:
    full, half = fit(None), fit(Following(strength=0.5))
    np.testing.assert_allclose(half.deltas, 0.5 * full.deltas, atol=1e-6)


def test_what_is_off_in_the_file_does_not_move(fit: Callable[..., Body]) -> None:
    assert np.abs(fit(Following(strength=0.0)).deltas).max() < 1e-9


def test_an_option_wins_over_the_file(fit: Callable[..., Body]) -> None:
    full, again = fit(None), fit(Following(strength=0.5), "--strength", "1")
    np.testing.assert_allclose(again.deltas, full.deltas, atol=1e-6)
    on = fit(Following(strength=0.0), "--strength", "1")
    np.testing.assert_allclose(on.deltas, full.deltas, atol=1e-6)


def test_paint_weakens_vertex_by_vertex(fit: Callable[..., Body]) -> None:
    full = fit(None)
    paint = np.linspace(0.2, 1.0, len(full.vertices))
    painted = fit(Following(mask=paint))
    ratios = np.linalg.norm(painted.deltas[2], axis=1) / np.linalg.norm(full.deltas[2], axis=1)
    assert np.sort(ratios) == pytest.approx(np.sort(paint), abs=1e-4)


@pytest.mark.parametrize(
    ("saved", "option"),
    [
        (Following(method="nearest"), ("--method", "nearest")),
        (Following(ease="scale"), ("--ease", "scale")),
        (Following(rotation_share=0.0), ("--rotation-share", "0")),
    ],
)
def test_a_setting_does_what_its_option_does(
    fit: Callable[..., Body], saved: Following, option: tuple[str, str]
) -> None:
    by_file, by_option, plain = fit(saved), fit(None, *option), fit(None)
    assert np.array_equal(by_file.deltas, by_option.deltas)
    assert np.abs(by_file.deltas - plain.deltas).max() > 1e-5


def test_a_part_called_hard_moves_as_one(fit: Callable[..., Body]) -> None:
    stiff = fit(Following(hard=("tube",)))
    belly = stiff.deltas[0]
    middle = stiff.vertices - stiff.vertices.mean(axis=0)
    # A linearised rigid motion is a shift and a turn: d · x over pairs keeps every length to first order.
    rates = np.einsum("ijx,ijx->ij", belly[:200, None] - belly[None, :200], middle[:200, None] - middle[None, :200])
    assert np.abs(rates).max() < 1e-6
    assert np.abs(fit(None).deltas[0] - belly).max() > 1e-3


def test_a_saved_margin_is_what_the_receipt_names(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    write_following(tmp_path / "f.toml", {"tube": Following(margin_mm=3.5)})
    ended = dressform(
        "fit", "--body", phantom / "phantom.obj", phantom / "tube.obj", "-o", tmp_path / "o.glb",
        "--settings", tmp_path / "f.toml",
    )  # fmt: skip
    assert ended.code == 0
    assert '"margin_mm": 3.5' in (tmp_path / "o.receipt.json").read_text(encoding="utf-8")


def test_a_file_that_says_nothing_of_the_garments_is_refused(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    write_following(tmp_path / "f.toml", {"clogs": Following()})
    ended = dressform(
        "fit", "--body", phantom / "phantom.obj", phantom / "tube.obj", "-o", tmp_path / "o.glb",
        "--settings", tmp_path / "f.toml",
    )  # fmt: skip
    assert ended.code == 2
    assert "garment: says nothing of tube. It names clogs" in ended.line


def test_a_hard_part_that_is_none_is_refused_with_the_valid_names(
    phantom: Path, tmp_path: Path, dressform: Run
) -> None:
    write_following(tmp_path / "f.toml", {"tube": Following(hard=("buckle",))})
    ended = dressform(
        "fit", "--body", phantom / "phantom.obj", phantom / "tube.obj", "-o", tmp_path / "o.glb",
        "--settings", tmp_path / "f.toml",
    )  # fmt: skip
    assert ended.code == 2
    assert "'buckle'" in ended.line
    assert "tube" in ended.line


def test_strengths_of_parts_from_file_and_options_add_up() -> None:
    saved = {"coat": Following(strength=0.8, parts={"collar": 0.5, "cuffs": 0.2}, falloff_mm=10.0, mask="_A")}
    mine = settled(FollowingOptions(strength=["cuffs=0.9"], off=["buttons"], mask="_B"), saved, "coat")
    assert mine.parts == {"collar": 0.5, "cuffs": 0.9, "buttons": 0.0}
    assert (mine.strength, mine.falloff_mm, mine.mask) == (0.8, 10.0, "_B")
    assert settled(FollowingOptions(), saved, "clogs") == Following()


def test_parts_of_other_garments_are_left_out() -> None:
    following = Following(parts={"tube": 0.5, "cuffs": 0.2}, margin_mm=3.0)
    assert for_garment(following, phantom_tube()) == Following(parts={"tube": 0.5}, margin_mm=3.0)


def test_paint_of_another_garment_is_refused(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    write_following(tmp_path / "f.toml", {"tube": Following(mask=np.ones(7))})
    ended = dressform(
        "fit", "--body", phantom / "phantom.obj", phantom / "tube.obj", "-o", tmp_path / "o.glb",
        "--settings", tmp_path / "f.toml",
    )  # fmt: skip
    assert ended.code == 2
    assert "one number for each of 960 vertices of 'tube', got 7" in ended.line


@pytest.fixture
def checked(phantom: Path, tmp_path: Path, dressform: Run) -> Callable[..., dict[str, Any]]:
    """Check the tube with settings and options; the results."""

    def call(settings: Following, *options: object) -> dict[str, Any]:
        write_following(tmp_path / "f.toml", {"tube": settings})
        ended = dressform(
            "check", phantom / "tube.obj", "--body", phantom / "phantom.obj", "--shapes", "0", "--workers", "1",
            "--no-causes", "--settings", tmp_path / "f.toml", "--json", tmp_path / "r.json", *options,
        )  # fmt: skip
        assert ended.code in {0, 1}, ended.err
        results: dict[str, Any] = json.loads((tmp_path / "r.json").read_text(encoding="utf-8"))
        return results

    return call


def test_check_follows_as_the_file_says_and_keeps_that_in_its_results(checked: Callable[..., dict[str, Any]]) -> None:
    saved = Following(method="nearest", ease="scale", strength=0.0, parts={"tube": 0.0}, margin_mm=3.5)
    results = checked(saved)
    (garment,) = results["garments"]
    assert (garment["method"], garment["ease"]) == ("nearest", "scale")
    assert garment["severity"] == "grave"
    said = results["settings"]["following"]["tube"]
    assert said == {"method": "nearest", "ease": "scale", "strength": 0.0, "parts": {"tube": 0.0}, "margin_mm": 3.5}
    assert following_again(results["settings"], "tube") == saved


def test_methods_asked_for_by_option_win_over_the_file(checked: Callable[..., dict[str, Any]]) -> None:
    results = checked(Following(method="nearest"), "--method", "surface", "--method", "smooth")
    assert {garment["method"] for garment in results["garments"]} == {"surface", "smooth"}


def test_paint_cannot_be_read_back_from_results() -> None:
    entry = following_object(Following(mask=np.ones(5)))
    assert entry == {"painted": "5 numbers"}
    with pytest.raises(ArgumentError, match="must be of strengths that were not painted, got paint on tube"):
        following_again({"following": {"tube": entry}}, "tube")


def test_advice_aims_for_the_margin_of_the_file_as_for_that_of_the_option(
    phantom: Path, tmp_path: Path, dressform: Run
) -> None:
    """Nine sides round a belly are too few vertices; how many more are needed hangs on the margin."""
    save_garment(phantom_tube(clearance=0.012, sides=9), tmp_path / "tube.glb")

    def advice(name: str, *options: object) -> set[str]:
        ended = dressform(
            "check", tmp_path / "tube.glb", "--body", phantom / "phantom.obj", "--shapes", "0", "--workers", "1",
            "--json", tmp_path / name, *options,
        )  # fmt: skip
        assert ended.code == 1, ended.err
        results = json.loads((tmp_path / name).read_text(encoding="utf-8"))
        return {one["advice"]["what"] for one in results["garments"][0]["clusters"] if one["advice"] is not None}

    write_following(tmp_path / "f.toml", {"tube": Following(margin_mm=6.0)})
    by_file = advice("file.json", "--settings", tmp_path / "f.toml")
    assert any("no edge is longer than" in words for words in by_file)
    assert by_file == advice("option.json", "--margin", "6")
    assert by_file != advice("default.json")


def test_options_of_joint_weights_win_over_the_file_and_parts_add_up() -> None:
    saved = {"tube": Following(joint_weights="lifted", part_joints={"yoke": "neck", "hem": "hips"})}
    options = FollowingOptions(joint_weights="smoothed", part_joint=["yoke=", "cuff=hand_l"])
    found = settled(options, saved, "tube")
    assert found.joint_weights == "smoothed"
    assert found.part_joints == {"yoke": "", "hem": "hips", "cuff": "hand_l"}
    assert settled(FollowingOptions(), saved, "tube") == saved["tube"]


def test_part_joint_without_a_part_is_refused() -> None:
    with pytest.raises(ArgumentError, match=r"`part_joints` must be PART=JOINT, got 'hand_l'"):
        settled(FollowingOptions(part_joint=["hand_l"]), {}, "tube")
