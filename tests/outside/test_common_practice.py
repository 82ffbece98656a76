"""What whoever makes clothes for such bodies knows by experience. Common practice, no source."""

from functools import cache

import pytest

from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import LARGER, make_wardrobe
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import ShapeFaults
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.repair.rebase import rebase

BENDING = ({"belly": 1.0}, {"girth": 1.0}, {"hips": 1.0}, {"chest": 1.0}, {"muscle": 1.0})


@cache
def woman() -> Body:
    return make_demo_bodies()["woman"]


@cache
def check_of(name: str, method: str = "smooth") -> GarmentOnBody:
    garment = make_wardrobe(make_demo_bodies(), names=(name,))[name].garment
    return GarmentOnBody(make_fit(woman(), garment, Following(method=method)))


def measured(name: str, method: str = "smooth", **shape: float) -> ShapeFaults:
    return check_of(name, method).measure(woman().weights(shape))


def eases(found: ShapeFaults) -> dict[str, float]:
    """Girth ease on the shape, metres."""
    return {level: now for level, (_, now) in found.girth_ease.items()}


def test_a_garment_modelled_on_a_larger_shape_comes_out_cut_loose_twice() -> None:
    """Too wide at the base, and as much too wide again on the very shape that it was cut for.

    Carried to the base by the same lift first, it has its maker's ease on that shape.
    """
    own = dict(LARGER)
    intended = eases(measured("guernsey"))["waist"]
    on_base, on_own = (eases(measured("guernsey_larger", **shape))["waist"] for shape in ({}, own))
    assert on_base > intended + 0.08
    assert on_own > intended + 0.08
    garment = make_wardrobe(make_demo_bodies(), names=("guernsey_larger",))["guernsey_larger"].garment
    carried = make_fit(woman(), rebase(woman(), garment, woman().weights(own)).garment)
    worn = GarmentOnBody(carried).measure(woman().weights(own))
    assert eases(worn)["waist"] == pytest.approx(intended, abs=0.04)


@pytest.mark.parametrize("shape", BENDING, ids=lambda shape: next(iter(shape)))
def test_one_nearest_vertex_tears_cloth_more_than_three_and_those_more_than_a_smooth_lift(
    shape: dict[str, float],
) -> None:
    one, three, surface, smooth = (
        measured("guernsey", method, **shape).pucker.p95 for method in ("nearest", "nearest-three", "surface", "smooth")
    )
    assert one > 1.2 * three
    assert min(three, surface) > 2 * smooth


def test_too_few_vertices_where_the_body_bends_pokes_through() -> None:
    """The same jersey with edges of 8 cm over the belly; at the base both are clean."""
    for name in ("guernsey", "guernsey_coarse"):
        assert measured(name).show_through.exposed_area == 0.0
    fine, coarse = (measured(name, belly=1.0).show_through for name in ("guernsey", "guernsey_coarse"))
    assert fine.exposed_area == fine.inside_share == 0.0
    assert coarse.exposed_area > 10e-4
    assert coarse.depth_max > 0.003
