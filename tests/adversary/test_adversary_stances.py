"""What is certified at a stance holds against an adversary who skins in float32 and shares no code with the proof."""

import numpy as np
import pytest

import dressform as df
from adversary.attack import crosses
from adversary.skinned import Skinned, read_skinned
from bent_limb import bent, limb, sleeve
from dressform.fit.fit import Fit
from dressform.formats.gltf.save import save_body, save_garment
from dressform.proof.at_stance import certify_stances
from dressform.proof.linear_mesh import linear_body
from dressform.repair.clearance import keep_clear

GENTLE, SHARP = 30.0, 75.0


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


def test_sleeve_left_straight_while_the_limb_bends_is_pierced(files: tuple[Fit, Skinned, Skinned]) -> None:
    _, body, cloth = files
    skin, worn = body.at({}, turned(SHARP)).astype(float), cloth.at({}, {}).astype(float)
    assert crosses(worn, cloth.played.faces, skin, body.played.faces) or crosses(
        skin, body.played.faces, worn, cloth.played.faces
    )
