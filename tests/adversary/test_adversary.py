"""What is certified holds against an adversary who shares no code with the proof; what is not, he finds."""

from pathlib import Path

import numpy as np
import pytest

import dressform as df
from adversary.attack import Found, attack, crosses, passes
from adversary.reader import read_played
from dressform.formats.gltf.save import save_body, save_garment
from parts import Part
from phantoms import phantom_body, phantom_tube

SHAPES, ASCENTS = 40, 4
LIMITS = {"belly": (0.0, 1.0), "girth": (0.0, 1.0), "tall": (0.0, 1.0)}


@pytest.fixture(scope="module")
def worn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the phantom body and its tube."""
    folder = tmp_path_factory.mktemp("adversary")
    save_body([phantom_body(rings=24, sides=24)], folder / "body.glb")
    save_garment(phantom_tube(rings=12, sides=24), folder / "tube.glb")
    return folder


def fitted(folder: Path, name: str, **following: float) -> float:
    """Fit and save; the share of near pairs that is certified."""
    body = df.load_body(folder / "body.glb")
    fit = df.fit(body, df.load_garment(folder / "tube.glb", beside=body), df.Following(**following))
    df.save(fit, folder / name)
    return df.prove(fit).certificate.share


def test_certified_garment_is_never_pierced(worn: Path) -> None:
    assert fitted(worn, "sound.glb") == 1.0
    body, cloth = read_played(worn / "body.glb"), read_played(worn / "sound.glb")
    found = attack(body, cloth, LIMITS, shapes=SHAPES, ascents=ASCENTS, seed=3)
    assert (found.shapes, found.ascents) == (SHAPES, ASCENTS)
    assert (found.crossing, found.inside) == (0, 0)
    assert 0.0 < found.nearest < 0.02


def test_attack_in_parts_comes_to_the_same_as_the_whole(worn: Path) -> None:
    if not (worn / "sound.glb").exists():
        fitted(worn, "sound.glb")
    body, cloth = read_played(worn / "body.glb"), read_played(worn / "sound.glb")
    counts = {"shapes": 6, "ascents": 2, "seed": 3}
    whole, shared_out = attack(body, cloth, LIMITS, **counts), Found()
    for number in range(3):
        shared_out.add(attack(body, cloth, LIMITS, **counts, part=Part(number, 3)))
    assert shared_out == whole


def test_garment_that_does_not_follow_is_not_certified_and_is_pierced(worn: Path) -> None:
    assert fitted(worn, "stiff.glb", strength=0.0) < 1.0
    body, cloth = read_played(worn / "body.glb"), read_played(worn / "stiff.glb")
    found = attack(body, cloth, LIMITS, shapes=SHAPES, ascents=ASCENTS, seed=3)
    assert found.crossing > 0
    assert found.inside > 0


def test_reader_of_its_own_sees_what_was_saved(worn: Path) -> None:
    body, played = phantom_body(rings=24, sides=24), read_played(worn / "body.glb")
    assert set(played.targets) == set(body.morph_names)
    weights = {"belly": 0.3, "tall": 1.0}
    want = body.at(body.weights(weights))
    got = played.at(weights)
    order = [int(np.argmin(np.linalg.norm(got - point, axis=1))) for point in want[::37]]
    assert np.abs(got[order] - want[::37]).max() < 1e-6


@pytest.mark.parametrize(
    ("end", "met"), [((0.2, 0.2, -1.0), True), ((0.2, 0.2, 0.5), False), ((0.9, 0.9, -1.0), False)]
)
def test_segment_meets_a_triangle_only_inside_it_and_between_its_ends(end: tuple[float, ...], met: bool) -> None:
    start = np.array([[end[0], end[1], 1.0]])
    cell = np.array([[[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]])
    assert passes(start, np.array([end]), cell).tolist() == [met]


def test_meshes_that_cross_by_one_edge_are_found_and_apart_they_are_not() -> None:
    flat = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]])
    needle = np.array([[0.2, 0.2, -0.1], [0.2, 0.2, 0.1], [5.0, 5.0, 0.1]])
    one = np.array([[0, 1, 2]])
    assert crosses(needle, one, flat, one)
    assert not crosses(needle + np.array([0, 0, 0.2]), one, flat, one)
