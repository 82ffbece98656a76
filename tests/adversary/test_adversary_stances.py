"""What is certified at a stance holds against an adversary who skins in float32 and shares no code with the proof."""

import json
from dataclasses import replace

import numpy as np
import pytest

import dressform as df
from adversary.at_stances import Met, attack_pairs, shapes_of
from adversary.attack import crosses
from adversary.skinned import Skinned, read_skinned
from bent_limb import bent, limb, sleeve, weights_of
from dressform.body.pose import ROTATION
from dressform.body.stance import Stance
from dressform.body.stances.sliders import JointEffect, JointSlider, slid_worlds
from dressform.fit.fit import Fit
from dressform.formats.gltf.save import save_body, save_garment
from dressform.proof.at_stance import certify_stances
from dressform.proof.linear_mesh import linear_body
from dressform.proof.slider_range import certify_sliders
from dressform.repair.clear.clearance import keep_clear

GENTLE, SHARP, BEND = 30.0, 75.0, 110.0


def turned(degrees: float) -> dict[str, tuple[float, ...]]:
    half = np.radians(degrees) / 2
    return {"lower": (float(np.sin(half)), 0.0, 0.0, float(np.cos(half)))}


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[Fit, Skinned, Skinned]:
    """A sleeve fitted, repaired at a bend and written; both files as the adversary reads them."""
    folder = tmp_path_factory.mktemp("bent")
    fit = sleeve(limb(rings=25, sides=16), rings=17, sides=16)
    save_body([fit.body], folder / "limb.glb")
    save_garment(fit.garment, folder / "sleeve.glb")
    body = df.load_body(folder / "limb.glb")
    made = df.fit(body, df.load_garment(folder / "sleeve.glb", beside=body))
    made = keep_clear(made, linear_body(body), stances=[bent(GENTLE)]).fit
    df.save(made, folder / "fitted.glb")
    return made, read_skinned(folder / "limb.glb"), read_skinned(folder / "fitted.glb")


def shapes(count: int) -> list[dict[str, float]]:
    rng = np.random.default_rng(4)
    ends = [{"girth": a, "bulge": b} for a in (0.0, 1.0) for b in (0.0, 1.0)]
    return ends + [{"girth": float(a), "bulge": float(b)} for a, b in rng.uniform(0, 1, (count, 2))]


def test_sleeve_certified_at_a_stance_is_never_pierced_there(files: tuple[Fit, Skinned, Skinned]) -> None:
    fit, body, cloth = files
    (found,) = certify_stances(fit, [bent(GENTLE)])
    assert found.complete
    assert found.contacts.total == 0
    for weights in shapes(16):
        skin, worn = (one.at(weights, turned(GENTLE)).astype(float) for one in (body, cloth))
        assert not crosses(worn, cloth.played.faces, skin, body.played.faces)
        assert not crosses(skin, body.played.faces, worn, cloth.played.faces)


def test_adversary_skins_as_the_stance_says_within_the_slack(files: tuple[Fit, Skinned, Skinned]) -> None:
    fit, body, _ = files
    (found,) = certify_stances(fit, [bent(SHARP)])
    maps = bent(SHARP).maps(fit.body.skin, fit.body.skeleton)
    for weights in shapes(4):
        want = np.einsum("vij,vj->vi", maps[:, :, :3], fit.body.at(fit.body.weights(weights))) + maps[:, :, 3]
        got = body.at(weights, turned(SHARP)).astype(float)
        nearest = np.sqrt(((got[:, None] - want[None]) ** 2).sum(axis=2)).min(axis=1)
        assert nearest.max() < found.slack


@pytest.fixture(scope="module")
def sharp(tmp_path_factory: pytest.TempPathFactory) -> tuple[Fit, Skinned, Skinned]:
    """A sleeve with a corrective target for a strong bend, read back from its file; both files as he reads them."""
    folder = tmp_path_factory.mktemp("sharp")
    start = sleeve(limb(rings=19, sides=12), clearance=0.004, rings=13, sides=12)
    save_body([start.body], folder / "limb.glb")
    save_garment(start.garment, folder / "sleeve.glb")
    body = df.load_body(folder / "limb.glb")
    made = df.fit(body, df.load_garment(folder / "sleeve.glb", beside=body))
    made = replace(made, skin=weights_of(made.base[:, 1], ramp=0.12))
    df.save(keep_clear(made, linear_body(body), stances=[bent(BEND)]).fit, folder / "fitted.glb")
    fit = df.load_fit(folder / "fitted.glb", body)
    return fit, read_skinned(folder / "limb.glb"), read_skinned(folder / "fitted.glb")


def limits(fit: Fit) -> dict[str, tuple[float, float]]:
    return {name: (0.0, 1.0) for name in fit.morph_names}


def worlds_of(stance: Stance, fit: Fit) -> dict[str, np.ndarray]:
    return dict(zip(fit.body.skeleton.names, stance.worlds))


def test_no_certified_pair_meets_where_a_joint_drives_a_target(sharp: tuple[Fit, Skinned, Skinned]) -> None:
    """Thousands of shapes and stances from straight to the bend: pairs certified at each, played by other code."""
    fit, body, cloth = sharp
    assert len(fit.correctives) == 1
    met = Met()
    for degrees in (0.0, 20.0, 70.0, 90.0, BEND):
        (found,) = certify_stances(fit, [bent(degrees)])
        sure = found.pairs[found.certified]
        assert len(sure) > 500
        for weights in shapes_of(limits(fit), 40, int(degrees)):
            attack_pairs(body, cloth, sure, worlds_of(found.stance, fit), weights, met)
    assert met.looks == 200
    assert met.meeting == 0


def test_certified_pairs_meet_once_the_target_is_taken_away(sharp: tuple[Fit, Skinned, Skinned]) -> None:
    fit, body, cloth = sharp
    (found,) = certify_stances(fit, [bent(BEND)])
    tree = json.loads(json.dumps(cloth.tree))
    for mesh in tree["meshes"]:
        mesh["extras"].pop("correctives", None)
    met = Met()
    for weights in shapes_of(limits(fit), 12, 1):
        attack_pairs(
            body, replace(cloth, tree=tree), found.pairs[found.certified], worlds_of(found.stance, fit), weights, met
        )
    assert met.meeting > 0


def test_no_certified_pair_meets_at_any_value_of_sliders_of_joints(files: tuple[Fit, Skinned, Skinned]) -> None:
    fit, body, cloth = files
    slider = JointSlider("close", (JointEffect(1, ROTATION, (0, 0, 0), (GENTLE, 0, 0)),), low=0.0)
    found, met, rng = certify_sliders(fit, (slider,), halvings=3), Met(), np.random.default_rng(2)
    still_open = {tuple(pair) for piece in found.open for pair in piece.pairs.tolist()}
    sure = np.array([pair for pair in found.pairs.tolist() if tuple(pair) not in still_open])
    assert len(sure) > 0.9 * len(found.pairs)
    for weights in shapes_of(limits(fit), 60, 3):
        joints = slid_worlds(fit.body.skeleton, (slider,), {"close": float(rng.uniform(0, 1))})
        attack_pairs(body, cloth, sure, dict(zip(fit.body.skeleton.names, joints)), weights, met)
    assert met.meeting == 0


def test_sleeve_left_straight_while_the_limb_bends_is_pierced(files: tuple[Fit, Skinned, Skinned]) -> None:
    _, body, cloth = files
    skin, worn = body.at({}, turned(SHARP)).astype(float), cloth.at({}, {}).astype(float)
    assert crosses(worn, cloth.played.faces, skin, body.played.faces) or crosses(
        skin, body.played.faces, worn, cloth.played.faces
    )
