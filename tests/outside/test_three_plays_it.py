"""What an engine shows is what was computed: three.js in a browser against our own arithmetic."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from browser import Player, page
from dressform.body.body import Body
from dressform.body.pose import turned_worlds
from dressform.body.range import Range
from dressform.body.skeleton import Skin
from dressform.body.stance import Stance, carry
from dressform.body.stances.driver import Driver, modelled_turn
from dressform.body.stances.human import recognise
from dressform.body.stances.motion_table import built_in_sets
from dressform.body.stances.motions import turns_of
from dressform.body.stances.sliders import slid_worlds
from dressform.body.stances.zero import zero_pose
from dressform.fit.corrective import Corrective
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.fit.posed import cloth_maps
from dressform.formats.gltf.document import read_document
from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.joint_tracks import read_animations
from dressform.formats.gltf.morphs.target_style import TargetStyle
from dressform.formats.gltf.optimise import optimise
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import load_bodies, load_body, load_garment
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from realdata import real
from skeletons import jointed_body, keeper, with_odd_axes
from skinned_files import animate, join_animations, standing
from solids import capped_body, made_fit, open_tube

pytestmark = [pytest.mark.browser, pytest.mark.node]

SAME_PLACE = 1e-5
SHAPES = 20
TURN = [0.0, 0.0, float(np.sin(0.3)), float(np.cos(0.3))]


@pytest.fixture(scope="module")
def player() -> Iterator[Player]:
    with page() as fresh:
        yield Player(fresh)


def weight_sets(names: tuple[str, ...], *, count: int = SHAPES) -> np.ndarray:
    return np.random.default_rng(7).uniform(-0.5, 1.5, (count, len(names)))


def as_words(names: tuple[str, ...], sets: np.ndarray) -> list[dict[str, float]]:
    return [dict(zip(names, map(float, weights))) for weights in sets]


def posed(body: Body, joint: str, turn: list[float]) -> np.ndarray:
    """World times inverse bind of every joint after one joint has turned by a quaternion about z."""
    assert body.skeleton is not None
    local = body.skeleton.rest.copy()
    half = np.arctan2(turn[2], turn[3])
    cosine, sine = np.cos(2 * half), np.sin(2 * half)
    rotation = np.array([[cosine, -sine, 0, 0], [sine, cosine, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]])
    index = body.skeleton.names.index(joint)
    local[index] = local[index] @ rotation
    return body.skeleton.world(local) @ body.skeleton.inverse_bind


def assert_played(
    player: Player, path: Path, base: np.ndarray, names: tuple[str, ...], expected: np.ndarray, **how: object
) -> None:
    """Every vertex stands where `expected` (sets, vertices, 3) has the vertex with its base position."""
    shown, played = player.positions(path, as_words(names, weight_sets(names)), **how)
    distance, vertex = cKDTree(base).query(shown)
    assert distance.max() < SAME_PLACE
    assert len(np.unique(vertex)) == len(base)
    assert np.abs(played - expected[:, vertex]).max() < SAME_PLACE


def fitted(tmp_path: Path, garment_path: Path, body: Body) -> tuple[Path, Fit]:
    save_body(body, tmp_path / "body.glb")
    body_file, garment_file = load_body(tmp_path / "body.glb", units="m"), load_garment(garment_path)
    fit = made_fit(garment_file.garment, body_file.body)
    save_fit(fit, garment_file, body_file, tmp_path / "fitted.glb")
    return tmp_path / "fitted.glb", fit


def test_three_shows_each_scene_of_a_body_at_our_positions(player: Player, tmp_path: Path) -> None:
    save_body([capped_body("woman"), capped_body("man", height=1.8)], tmp_path / "body.glb")
    for scene, file in enumerate(load_bodies(tmp_path / "body.glb")):
        body = file.body
        sets = weight_sets(body.morph_names)
        expected = np.stack([body.at(weights) for weights in sets])
        assert_played(player, tmp_path / "body.glb", body.vertices, body.morph_names, expected, scene=scene)


def test_three_shows_a_fitted_garment_at_our_positions(player: Player, tmp_path: Path) -> None:
    body = replace(capped_body("keeper"), skeleton=None, skin=None)
    save_garment(open_tube(), tmp_path / "tube.glb")
    path, fit = fitted(tmp_path, tmp_path / "tube.glb", body)
    expected = np.stack([fit.at(weights) for weights in weight_sets(fit.morph_names)])
    assert_played(player, path, fit.base, fit.morph_names, expected)


def test_three_shows_a_small_file_within_what_is_told(player: Player, tmp_path: Path) -> None:
    body = replace(capped_body("keeper"), skeleton=None, skin=None)
    save_garment(open_tube(), tmp_path / "tube.glb")
    path, _ = fitted(tmp_path, tmp_path / "tube.glb", body)
    made = optimise(path.read_bytes(), path)
    (tmp_path / "small.glb").write_bytes(made.data)
    fit = load_fit(tmp_path / "small.glb", body)
    expected = np.stack([fit.at(weights) for weights in weight_sets(fit.morph_names)])
    assert_played(player, tmp_path / "small.glb", fit.base, fit.morph_names, expected)


def test_three_plays_a_basis_by_its_table_as_we_do(player: Player, tmp_path: Path) -> None:
    body = replace(capped_body("keeper"), skeleton=None, skin=None)
    save_body(body, tmp_path / "body.glb")
    save_garment(open_tube(), tmp_path / "tube.glb")
    body_file, garment_file = load_body(tmp_path / "body.glb", units="m"), load_garment(tmp_path / "tube.glb")
    fit = made_fit(garment_file.garment, body_file.body)
    fit = replace(fit, deltas=np.stack([fit.deltas[0], -0.7 * fit.deltas[0]]))
    style = TargetStyle(basis=1e-6)
    save_fit(fit, garment_file, body_file, tmp_path / "basis.glb", style=style)
    extras = read_document(tmp_path / "basis.glb").json["meshes"][0]["extras"]
    assert extras["targetNames"] == ["basis 1"]
    expected = np.stack([fit.at(weights) for weights in weight_sets(fit.morph_names)])
    assert_played(player, tmp_path / "basis.glb", fit.base, fit.morph_names, expected)


def test_three_poses_body_and_garment_by_skin_as_we_do(player: Player, tmp_path: Path) -> None:
    save_garment(open_tube(), tmp_path / "tube.glb")
    path, fit = fitted(tmp_path, tmp_path / "tube.glb", capped_body("keeper"))
    body = load_body(tmp_path / "body.glb").body
    transforms = posed(body, "chest", TURN)
    sets = weight_sets(fit.morph_names)
    assert body.skin is not None
    assert fit.skin is not None
    turns = {"chest": TURN}
    shapes = np.stack([body.skin.pose(body.at(weights), transforms) for weights in sets])
    assert_played(player, tmp_path / "body.glb", body.vertices, body.morph_names, shapes, turns=turns)
    cloths = np.stack([fit.skin.pose(fit.at(weights), transforms) for weights in sets])
    assert np.abs(cloths - np.stack([fit.at(weights) for weights in sets])).max() > 0.1
    assert_played(player, path, fit.base, fit.morph_names, cloths, turns=turns)


@pytest.mark.parametrize("mode", ["LINEAR", "STEP", "CUBICSPLINE"])
def test_three_plays_an_animation_as_we_do(player: Player, tmp_path: Path, mode: str) -> None:
    rng = np.random.default_rng(4)
    made, times = standing(), np.array([0.0, 0.7, 1.1, 2.4])
    for node, path, width in ((1, "translation", 3), (1, "rotation", 4), (0, "rotation", 4), (0, "scale", 3)):
        values = rng.normal(size=(len(times), width)) * (0.2 if width == 3 else 1.0) + (path == "scale")
        if path == "rotation":
            values /= np.linalg.norm(values, axis=1, keepdims=True)
        if mode == "CUBICSPLINE":
            slopes = 0.3 * rng.normal(size=(2, len(times), width))
            values = np.stack([slopes[0], values, slopes[1]], axis=1).reshape(-1, width)
        animate(made, node, path, list(times), values, interpolation=mode)
    join_animations(made)
    path = made.save(tmp_path / "body.glb")
    file = load_body(path, units="m")
    (animation,), body = read_animations(file), file.body
    # On a key a step is at both values at once, so the moments lie between keys.
    moments = [0.05, 0.6, 0.75, 1.0, 1.3, 2.2]
    shown, played = player.animated(path, moments)
    distance, vertex = cKDTree(body.vertices).query(shown)
    assert distance.max() < SAME_PLACE
    assert body.skin is not None
    assert body.skeleton is not None
    for moment, seen in zip(moments, played):
        posed = body.skin.pose(body.vertices, animation.worlds(moment) @ body.skeleton.inverse_bind)
        assert np.abs(posed - body.vertices).max() > 0.05
        assert np.abs(seen - posed[vertex]).max() < SAME_PLACE


def in_engine_words(
    body: Body, weights: np.ndarray, values: dict[str, float], turns: dict[int, np.ndarray]
) -> dict[str, Any]:
    """A shape, a stance and sliders of joints as an engine is told them: weights, and what is done to each node."""
    assert body.skeleton is not None
    joints: dict[str, dict[str, list[float]]] = {}
    for joint, turn in turns.items():
        own = np.linalg.inv(body.skeleton.inverse_bind[joint])[:3, :3]
        quaternion = Rotation.from_matrix(own.T @ turn @ own).as_quat()
        joints.setdefault(body.skeleton.names[joint], {})["turn"] = quaternion.tolist()
    for slider in body.joint_sliders:
        for effect in slider.effects:
            value = values[slider.name]
            end, share = np.array(effect.low if value < 0 else effect.high), abs(value)
            told = joints.setdefault(body.skeleton.names[effect.joint], {})
            told |= {"offset": (share * end).tolist()} if effect.path == "translation" else {}
            told |= {"scale": (1 + share * (end - 1)).tolist()} if effect.path == "scale" else {}
    return {"weights": dict(zip(body.morph_names, map(float, weights))), "joints": joints}


SLIDERS = """
[joint_sliders.arms]
upper_arm_l = { scale = [0.8, [1, 1.2, 1.1]], mirror = true }
hand_l.translation = [[0, -0.02, 0], [0.01, 0.03, 0]]

[joint_sliders.trunk]
spine_2.scale = [0.9, 1.2]
"""


def test_three_plays_body_and_garment_in_stances_with_sliders_of_joints_as_we_do(
    player: Player, tmp_path: Path
) -> None:
    """Random weights and slider values in every built-in everyday stance and strong bend, on joints with odd axes."""
    rng = np.random.default_rng(12)
    plain = jointed_body(with_odd_axes(keeper(), seed=4))
    count, joints = len(plain.vertices), len(keeper().names)
    skins = [Skin.from_dense(rng.dirichlet(np.full(joints, 0.05), size=count)) for _ in range(2)]
    save_body(replace(plain, skin=skins[0]), tmp_path / "body.glb")
    (tmp_path / "body.range.toml").write_text(SLIDERS)
    body_file = load_body(tmp_path / "body.glb", units="m", up="y", front="z")
    body = body_file.body
    assert body.skeleton is not None
    assert body.skin is not None
    save_garment(Garment.of("cloth", 1.02 * plain.vertices, plain.faces), tmp_path / "cloth.glb")
    garment_file = load_garment(tmp_path / "cloth.glb", beside=body, units="m", up="y")
    garment = garment_file.garment
    deltas = 0.05 * rng.normal(size=(2, count, 3))
    fit = Fit(body, garment, Following(), garment.vertices, deltas, skins[1])
    save_fit(fit, garment_file, body_file, tmp_path / "fitted.glb")

    zero = zero_pose(recognise(body.skeleton, body.skin))
    motions = [steps for name in ("everyday", "strong") for steps in built_in_sets()[name].values()]
    told, bodies, cloths = [], [], []
    for number in range(SHAPES):
        weights, turns = rng.uniform(-0.5, 1.5, 2), turns_of("test", zero, motions[number % len(motions)])
        values = {slider.name: float(rng.uniform(-1, 1)) for slider in body.joint_sliders}
        told.append(in_engine_words(body, weights, values, turns))
        stance = Stance("", slid_worlds(body.skeleton, body.joint_sliders, values, turns))
        bodies.append(carry(stance.maps(body.skin, body.skeleton), body.at(weights)))
        cloths.append(carry(stance.maps(skins[1], body.skeleton), fit.at(weights)))
    for path, base, expected in (("body.glb", body.vertices, bodies), ("fitted.glb", fit.base, cloths)):
        shown, played = player.standing(tmp_path / path, told)
        distance, vertex = cKDTree(base).query(shown)
        assert distance.max() < SAME_PLACE
        assert np.abs(np.stack(expected) - base).max() > 0.3
        assert np.abs(played - np.stack(expected)[:, vertex]).max() < SAME_PLACE


def test_three_drives_corrective_targets_by_the_table_in_the_file_as_we_do(player: Player, tmp_path: Path) -> None:
    """Random turns of joints with odd axes; the file is read back for what we say, the page plays it too."""
    rng = np.random.default_rng(21)
    plain = jointed_body(with_odd_axes(keeper(), seed=5))
    skin = Skin.from_dense(rng.dirichlet(np.full(len(keeper().names), 0.05), size=len(plain.vertices)))
    save_body(replace(plain, skin=skin), tmp_path / "body.glb")
    body_file = load_body(tmp_path / "body.glb", units="m", up="y", front="z")
    body = body_file.body
    assert body.skeleton is not None
    save_garment(Garment.of("cloth", 1.02 * plain.vertices, plain.faces), tmp_path / "cloth.glb")
    garment_file = load_garment(tmp_path / "cloth.glb", beside=body, units="m", up="y")
    joints = [body.skeleton.names.index(name) for name in ("forearm_l", "forearm_r", "shin_l")]
    correctives = []
    for joint in joints:
        axis = rng.normal(size=3)
        bind = modelled_turn(body.skeleton, joint)
        driver = Driver(joint, axis / np.linalg.norm(axis), bind, ((-0.5, 0.1), (0.2, 0.0), (1.0, 1.0)))
        name = f"corrective {body.skeleton.names[joint]}"
        correctives.append(Corrective(name, driver, 0.05 * rng.normal(size=plain.vertices.shape)))
    made = make_fit(body, garment_file.garment)
    save_fit(replace(made, skin=skin, correctives=tuple(correctives)), garment_file, body_file, tmp_path / "fitted.glb")
    fit = load_fit(tmp_path / "fitted.glb", body)
    assert [one.name for one in fit.correctives] == [one.name for one in correctives]

    told, cloths, moved = [], [], 0.0
    for _ in range(SHAPES):
        weights = rng.uniform(-0.5, 1.5, len(body.morph_names))
        turns = {body.skeleton.names[joint]: rng.normal(size=4).tolist() for joint in joints}
        turns = {name: (np.array(turn) / np.linalg.norm(turn)).tolist() for name, turn in turns.items()}
        told.append({"weights": dict(zip(body.morph_names, map(float, weights))),
                     "joints": {name: {"turn": turn} for name, turn in turns.items()}})  # fmt: skip
        stance = Stance("", turned_worlds(body.skeleton, turns))
        cloths.append(carry(cloth_maps(fit, stance), fit.at(weights)))
        moved = max(moved, float(np.abs(cloths[-1] - carry(stance.maps(skin, body.skeleton), fit.at(weights))).max()))
    assert moved > 0.05
    shown, played = player.standing(tmp_path / "fitted.glb", told)
    distance, vertex = cKDTree(fit.base).query(shown)
    assert distance.max() < SAME_PLACE
    assert np.abs(played - np.stack(cloths)[:, vertex]).max() < SAME_PLACE


@pytest.mark.data
def test_three_poses_a_real_body_and_its_lifted_garment_as_we_do(player: Player, tmp_path: Path) -> None:
    body = load_body(real("loader/human-female.glb")).body
    names = ("wide", "tall")
    deltas = np.stack([body.vertices * (0.1, 0.0, 0.1), body.vertices * (0.0, 0.05, 0.0)])
    body = replace(body, morph_names=names, deltas=deltas, range=Range.unit(names))
    save_body(body, tmp_path / "body.glb")
    body_file = load_body(tmp_path / "body.glb")
    garment_file = load_garment(real("garments/tshirt.obj"))
    fit = make_fit(body_file.body, garment_file.garment)
    save_fit(fit, garment_file, body_file, tmp_path / "fitted.glb")
    transforms = posed(body_file.body, "spine_02", TURN)
    turns = {"spine_02": TURN}
    sets = weight_sets(names)
    assert fit.skin is not None
    cloths = np.stack([fit.skin.pose(fit.at(weights), transforms) for weights in sets])
    path = tmp_path / "fitted.glb"
    assert_played(player, path, fit.base, names, cloths, turns=turns)
