"""The wardrobe as it is modelled: sound cloth, off the skin, in the trade's bands of ease."""

from functools import cache

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.wardrobe import DESIGNS, OUTFITS, DemoGarment, make_garment, make_wardrobe
from dressform.demo.wardrobe_truth import GoodGarment, read_truth
from dressform.faults.ease import girth_ease, make_tapes
from dressform.formats.gltf.corners import split_corners
from dressform.mesh.geometry import edge_lengths, face_areas, face_normals, vertex_normals
from dressform.mesh.intersect import crossing_pairs, self_crossings
from dressform.mesh.nearest import closest, signed_clearance
from dressform.mesh.tree import Tree

NAMES = tuple(DESIGNS)
GOOD = {good.name: good for good in read_truth().good}
MIN_EDGE, SHARE_OF_EVEN_ANGLES = 1e-4, 0.97
"""Shortest edge of any garment, metres; share of triangles with no angle under 20 degrees."""


@cache
def bodies() -> dict[str, Body]:
    return make_demo_bodies()


@cache
def wardrobe() -> dict[str, DemoGarment]:
    return make_wardrobe(bodies())


@cache
def skin_tree(name: str) -> Tree:
    body = bodies()[name]
    return Tree(body.vertices, body.faces)


@cache
def cloth_tree(name: str) -> Tree:
    garment = wardrobe()[name].garment
    return Tree(garment.vertices, garment.faces)


def cloth_of(name: str) -> Cloth:
    garment = wardrobe()[name].garment
    return Cloth(garment.vertices, garment.faces, garment.face_parts, garment.face_parts)


def pieces_of(name: str) -> list[Cloth]:
    cloth = cloth_of(name)
    pieces = cloth.pieces()
    return [cloth.keep(pieces == piece) for piece in range(int(pieces.max()) + 1)]


def euler(cloth: Cloth) -> int:
    return len(cloth.vertices) - len(cloth.edges) + len(cloth.faces)


def test_the_truth_speaks_of_every_garment_and_of_no_other() -> None:
    truth = read_truth()
    named = {one.name for one in truth.good} | {one.name for one in truth.fault}
    assert named == set(NAMES)


@pytest.mark.parametrize("name", sorted(GOOD))
def test_openings_and_hard_parts_are_as_written(name: str) -> None:
    pieces = pieces_of(name)
    closed = [piece for piece in pieces if not piece.loops()]
    assert len(closed) == GOOD[name].hard_parts
    assert sum(len(piece.loops()) for piece in pieces) == GOOD[name].openings


@pytest.mark.parametrize("name", NAMES)
def test_every_piece_is_a_sphere_with_its_openings_cut_out(name: str) -> None:
    for piece in pieces_of(name):
        assert euler(piece) == 2 - len(piece.loops())


@pytest.mark.parametrize("name", NAMES)
def test_no_edge_has_more_than_two_triangles_and_all_face_the_same_way(name: str) -> None:
    half = wardrobe()[name].garment.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    assert len(np.unique(half, axis=0)) == len(half)
    assert np.unique(np.sort(half, axis=1), axis=0, return_counts=True)[1].max() == 2


@pytest.mark.parametrize("name", [name for name in NAMES if "waistcoat" in name])
def test_buttons_are_parts_of_their_own_and_sit_on_the_cloth(name: str) -> None:
    garment = wardrobe()[name].garment
    cloth = garment.faces[garment.face_parts == 0]
    tree = Tree(garment.vertices, cloth)
    for part in range(1, len(garment.part_names)):
        corners = np.unique(garment.faces[garment.face_parts == part])
        distance = signed_clearance(tree, garment.vertices[corners])[0]
        assert garment.part_names[part].startswith("button")
        assert 0 < distance.min() < 0.002
        assert distance.max() < 0.008


@pytest.mark.parametrize("name", [name for name in NAMES if name != "guernsey_tight"])
def test_no_garment_touches_the_body_it_is_made_on(name: str) -> None:
    assert len(crossing_pairs(cloth_tree(name), skin_tree(wardrobe()[name].made_on))) == 0
    clearance = signed_clearance(skin_tree(wardrobe()[name].made_on), wardrobe()[name].garment.vertices)[0]
    assert clearance.min() > 0.001


@pytest.mark.parametrize("name", NAMES)
def test_no_garment_crosses_itself(name: str) -> None:
    garment = wardrobe()[name].garment
    assert len(self_crossings(garment.vertices, garment.faces)) == 0


@pytest.mark.parametrize("outfit", sorted(OUTFITS))
def test_what_is_worn_together_does_not_cross(outfit: str) -> None:
    worn = OUTFITS[outfit]
    assert len({DESIGNS[name].made_on for name in worn}) == 1
    for number, inner in enumerate(worn):
        for outer in worn[number + 1 :]:
            assert len(crossing_pairs(cloth_tree(inner), cloth_tree(outer))) == 0, (inner, outer)


@pytest.mark.parametrize("good", [good for good in GOOD.values() if good.ease], ids=lambda good: good.name)
def test_ease_lies_in_the_band_of_the_trade(good: GoodGarment) -> None:
    eases = girths(good.name)
    for level, (least, greatest) in good.ease.items():
        assert least <= eases[level] <= greatest, (level, eases[level])


def girths(name: str) -> dict[str, float]:
    """Girth ease per tape level, centimetres."""
    made = wardrobe()[name]
    body, garment = bodies()[made.made_on], made.garment
    feet = closest(skin_tree(made.made_on), garment.vertices).faces
    tapes = make_tapes(body, garment.vertices, garment.faces, feet)
    return {level: 100 * base for level, (base, _) in girth_ease(tapes, body.vertices, garment.vertices).items()}


@pytest.mark.parametrize("name", NAMES)
def test_triangles_are_even_enough_to_deform(name: str) -> None:
    cloth = cloth_of(name)
    corner = cloth.vertices[cloth.faces]
    sides = np.stack([corner[:, turn - 1] - corner[:, turn] for turn in range(3)], axis=1)
    lengths = np.linalg.norm(sides, axis=2)
    assert lengths.min() > MIN_EDGE
    # The smallest angle lies opposite the shortest side: sin = 2 area / product of the other two.
    others = np.prod(lengths, axis=1) / lengths.min(axis=1)
    sine = 2 * face_areas(cloth.vertices, cloth.faces) / others
    assert (sine > np.sin(np.radians(20))).mean() > SHARE_OF_EVEN_ANGLES


@pytest.mark.parametrize("name", NAMES)
def test_sizes_are_those_of_garments_modelled_by_hand(name: str) -> None:
    garment = wardrobe()[name].garment
    assert 900 <= len(garment.vertices) <= 11_000
    assert np.median(edge_lengths(garment.vertices, cloth_of(name).edges)) < 0.019


@pytest.mark.parametrize("name", NAMES)
def test_cloth_faces_outward(name: str) -> None:
    made = wardrobe()[name]
    normals = face_normals(made.garment.vertices, made.garment.faces)
    found = signed_clearance(skin_tree(made.made_on), made.garment.vertices[made.garment.faces].mean(axis=1))[1]
    body = bodies()[made.made_on]
    skin = vertex_normals(body.vertices, body.faces)[body.faces[found.faces, 0]]
    assert ((normals * skin).sum(axis=1) > 0).mean() > (0.55 if name.endswith("clogs") else 0.8)


@pytest.mark.parametrize("name", NAMES)
def test_textures_lie_in_the_unit_square_and_split_the_cloth_at_seams_only(name: str) -> None:
    made = wardrobe()[name]
    assert made.corner_uv.min() >= 0
    assert made.corner_uv.max() <= 1
    split = split_corners(made.garment.faces, uv=made.corner_uv)
    copies = np.bincount(split.sources)
    assert (copies > 1).any()
    assert copies.mean() < 1.35
    # Laid flat, no triangle is turned over, and the sheet shows the cloth at its own size.
    edge, other = (split.uv[split.faces[:, c]] - split.uv[split.faces[:, 0]] for c in (1, 2))
    turned = edge[:, 0] * other[:, 1] - edge[:, 1] * other[:, 0]
    assert (turned < 0).mean() > 0.995
    flat = 0.5 * np.abs(turned).sum() * made.sheet**2
    assert flat == pytest.approx(face_areas(made.garment.vertices, made.garment.faces).sum(), rel=0.01)


def test_every_part_has_a_fabric_and_every_picture_is_a_png() -> None:
    for made in wardrobe().values():
        assert len(made.fabrics) == len(made.garment.part_names)
        assert set(np.unique(made.garment.face_parts)) == set(range(len(made.garment.part_names)))
    for material in wardrobe()["waistcoat"].materials:
        assert material.picture is None or material.picture.startswith(b"\x89PNG")


def test_a_garment_made_afresh_equals_the_cached_one() -> None:
    afresh, kept = make_garment("souwester", bodies()), wardrobe()["souwester"]
    np.testing.assert_array_equal(afresh.garment.vertices, kept.garment.vertices)
    np.testing.assert_array_equal(afresh.garment.faces, kept.garment.faces)
    np.testing.assert_array_equal(afresh.corner_uv, kept.corner_uv)
