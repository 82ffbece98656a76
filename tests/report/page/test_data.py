"""What the page is told first is complete, in reading units, in order, and says nothing of where files lie."""

import json
from dataclasses import replace

import msgspec
import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.causes.action import Action, Effect, Tried
from dressform.causes.results import (
    ANOTHER_SHAPE,
    GARMENT,
    OWNERS,
    TOO_FEW_VERTICES,
    Advice,
    Causes,
    Cluster,
    Explanation,
    Share,
    SharedPlace,
    Sighting,
)
from dressform.formats.results.check_report import ShapeRow
from dressform.formats.results.page.about import About
from dressform.formats.results.page.places import FigureAbout
from dressform.formats.results.page.stances import AnimationAbout
from dressform.formats.results.record import plain
from dressform.report.page.bare import bare_name, bare_settings
from dressform.report.page.clusters import cluster_id, page_actions, page_clusters, to_cluster
from dressform.report.page.data import LIVE, REPORT, PageScene, about
from dressform.report.page.garments import PageGarment, verdict_line
from dressform.report.page.shapes import page_shapes, shape_index
from explanations import cluster as made_cluster
from explanations import explanation
from findings import MORPHS, check_report, faults, garment_report, place
from phantoms import BELLY_HEIGHT, RADIUS, phantom_body
from report_scenes import small_scene

BODY = phantom_body()


def explained(
    key: str = "guernsey smooth", *, name: str = "1", severity: str = "moderate", noticed: float = 1.0
) -> Explanation:
    there = place(severity=severity)
    sightings = (
        Sighting("worst 1", np.array([1.0, 0.0, 0.25]), there),
        Sighting("belly=1", np.array([1.0, 0.0, 0.0]), there),
    )
    return Explanation(
        Cluster(name, key, sightings, np.array([7, 8]), noticed),
        12e-4,
        (Share(TOO_FEW_VERTICES, 0.83, 2e-4, "cloth split there"),),
        TOO_FEW_VERTICES,
        OWNERS[TOO_FEW_VERTICES],
        Advice("belly, front left", "split the edges to 31 mm", "`dressform fit` splits them"),
        {"edge_length": 0.0624},
    )


def test_the_about_of_a_check_is_plain_json() -> None:
    scene = small_scene()
    for life in (LIVE, REPORT):
        told = about(PageScene(scene.body, scene.found), life=life)
        text = json.dumps(plain(told), allow_nan=False)
        assert msgspec.json.decode(text, type=About) == told


def test_no_folder_of_a_file_is_told() -> None:
    scene = small_scene()
    text = json.dumps(plain(about(PageScene(scene.body, scene.found), life=REPORT)))
    assert "body.glb" in text
    assert "stiff tube.glb" in text
    for folder in ("srv", "keepers", "cupboard", "wide/"):
        assert folder not in text


@pytest.mark.parametrize("path", ["/a/b/c.glb", "C:\\Users\\x\\c.glb", "a\\b/c.glb", "c.glb"])
def test_a_bare_name_has_no_folder_of_any_system(path: str) -> None:
    assert bare_name(path) == "c.glb"


def test_settings_keep_what_is_no_path() -> None:
    settings = {
        "range": "sub/r.toml",
        "rotation_share": 0.5,
        "mask": "COLOR_0.r",
        "deep": {"file": ["/x/y.toml", "mm/s"]},
        "none": None,
    }
    assert bare_settings(settings) == {
        "range": "r.toml",
        "rotation_share": 0.5,
        "mask": "COLOR_0.r",
        "deep": {"file": ["y.toml", "mm/s"]},
        "none": None,
    }


def test_a_verdict_counts_the_shapes_and_names_the_worst() -> None:
    assert (
        verdict_line(garment_report(), MORPHS)
        == "moderate at 1 of 3 shapes; at its worst (belly=1): skin shows, 12 cm²"
    )


def test_the_verdict_of_a_worst_corner_names_its_weights() -> None:
    row = ShapeRow("worst 1", faults(exposed=150e-4, severity="grave"), 0.1)
    assert verdict_line(garment_report(rows=(row,)), MORPHS) == (
        "grave at 1 of 1 shapes; at its worst (belly=1 tall=0.25): skin shows, 150 cm²"
    )


def test_a_clean_garment_is_clean_at_all_shapes() -> None:
    rows = tuple(ShapeRow(f"sobol {number}", faults(), 0.1) for number in range(4))
    assert verdict_line(garment_report(rows=rows), MORPHS) == "clean at all 4 shapes looked at"
    posed = ShapeRow("base", replace(faults(), stance="bowing"), 0.1)
    words = verdict_line(garment_report(rows=(*rows, posed)), MORPHS)
    assert words == "clean at all 5 shapes (1 of them at stances) looked at"


def test_a_garment_that_was_not_checked_has_no_severity() -> None:
    report = check_report(replace(garment_report(), rows=()))
    (told,) = about(PageScene(BODY, report), life=LIVE).garments
    assert (told.severity, told.verdict, told.worst) == ("", "not checked yet", None)


def test_shapes_of_two_garments_are_merged_by_their_weights() -> None:
    first = garment_report("guernsey", rows=(ShapeRow("base", faults(weights=(0.0, 0.0, 0.0)), 0.1),))
    second = garment_report(
        "shirt", rows=(ShapeRow("base", faults(weights=(0.0, -0.0, 1e-12), severity="slight"), 0.1),)
    )
    (shape,) = page_shapes(check_report(first, second))
    assert dict(shape.severity) == {"guernsey smooth": "clean", "shirt smooth": "slight"}


def test_worst_shapes_of_two_garments_keep_apart() -> None:
    weights = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 1.0, 0.5))
    garments = [
        garment_report(name, rows=(ShapeRow("worst 1", faults(weights=each), 0.1),))
        for name, each in zip(("guernsey", "shirt", "coat"), weights)
    ]
    shapes = page_shapes(check_report(*garments))
    assert [shape.label for shape in shapes] == ["worst 1", "worst 1 (girth=1)", "worst 1 (girth=1 tall=0.5)"]
    assert [shape_index(shapes, np.array(each)) for each in weights] == [0, 1, 2]
    assert shape_index(shapes, np.array([0.5, 0.5, 0.5])) is None


def test_a_cluster_is_told_in_the_units_that_people_read() -> None:
    report = replace(check_report(), causes=Causes({"guernsey smooth": (explained(),)}, (), {}))
    (told,) = about(PageScene(BODY, report, pictures={"guernsey smooth/1": "p.png"}), life=REPORT).clusters
    assert told.id == "guernsey smooth/1"
    assert (told.place.value, told.place.unit, told.place.height_mm) == (12.0, "cm²", 1120.0)
    assert told.shape.label == "worst 1 (belly=1 tall=0.25)"
    assert told.seen == 2
    assert (told.cause, told.owner) == (TOO_FEW_VERTICES, "the garment")
    (share,) = told.shares
    assert (share.cause, share.share, share.alone) == (TOO_FEW_VERTICES, 0.83, 2.0)
    assert share.counterfactual == "cloth split there"
    assert (told.where, told.advice) == ("belly, front left", "split the edges to 31 mm")
    assert told.evidence == (FigureAbout(words="longest edge of these triangles, as modelled", value=62.4, unit="mm"),)
    assert told.picture == "p.png"


def test_clusters_come_the_gravest_first_and_then_by_what_a_wearer_notices() -> None:
    found = {
        "guernsey smooth": (explained(name="1", noticed=9.0), explained(name="2", severity="slight", noticed=99.0)),
        "shirt smooth": (
            explained("shirt smooth", severity="grave", noticed=0.1),
            explained("shirt smooth", name="2", noticed=10.0),
        ),
    }
    report = replace(check_report(garment_report(), garment_report("shirt")), causes=Causes(found, (), {}))
    order = [cluster_id(one.cluster) for one in page_clusters(report)]
    assert order == ["shirt smooth/1", "shirt smooth/2", "guernsey smooth/1", "guernsey smooth/2"]


def test_without_causes_every_place_is_listed_once_with_all_its_shapes() -> None:
    rows = tuple(
        ShapeRow(label, faults(severity="moderate", places=(place(value=value),)), 0.1)
        for label, value in (("belly=0.5", 3e-4), ("belly=1", 12e-4), ("girth=1", 5e-4))
    )
    (one,) = page_clusters(check_report(garment_report(rows=rows)))
    assert one.cluster.worst.label == "belly=1"
    assert {sighting.label for sighting in one.cluster.sightings} == {"belly=0.5", "belly=1", "girth=1"}
    assert (one.cause, one.advice) == ("", None)


def test_a_clean_garment_has_no_clusters() -> None:
    clean = garment_report(rows=(ShapeRow("base", faults(), 0.1),))
    assert page_clusters(check_report(clean)) == []
    assert page_clusters(replace(check_report(), causes=Causes({}, (), {}))) == []


def test_places_where_several_garments_fail_name_the_suspect() -> None:
    shared = SharedPlace(
        "exposed",
        "belly",
        "front left",
        1.07,
        (("guernsey smooth", "1"), ("guernsey smooth", "2")),
        "the body",
        "Two fail.",
    )
    report = replace(check_report(), causes=Causes({}, (shared,), {}))
    (told,) = about(PageScene(BODY, report), life=REPORT).shared
    assert told.clusters == ("guernsey smooth/1", "guernsey smooth/2")
    assert (told.height_mm, told.suspect) == (1070.0, "the body")


def test_a_slider_stands_where_its_morph_moves_the_body() -> None:
    belly = about(PageScene(BODY, check_report()), life=REPORT).sliders[0]
    assert belly.name == "belly"
    x, y, z = belly.position_m
    assert (x, y) == (pytest.approx(0.0, abs=1e-3), pytest.approx(BELLY_HEIGHT, abs=1e-3))
    assert 0.8 * RADIUS < z < RADIUS


def test_a_morph_that_moves_nothing_still_has_a_place() -> None:
    names = ("still",)
    body = Body("still", BODY.vertices, BODY.faces, names, np.zeros((1, *BODY.vertices.shape)), Range.unit(names))
    (slider,) = about(PageScene(body, check_report()), life=REPORT).sliders
    np.testing.assert_allclose(slider.position_m, BODY.vertices.mean(axis=0), atol=1e-6)


def test_bases_variants_and_what_is_worn_are_told() -> None:
    beside = {"guernsey smooth": PageGarment(colours=("#1b2c3d",), worn=False, variant_of="guernsey nearest")}
    scene = PageScene(BODY, check_report(), garments=beside, bases=("man", "phantom"), animations=(("walk", 1.5, 31),))
    told = about(scene, life=LIVE, can=("edit", "case"), measures=("waist",), layers=("depth", "exposed"))
    assert (told.bases, told.base) == (("man", "phantom"), 1)
    assert told.garments[0].colours == ("#1b2c3d",)
    assert (told.garments[0].worn, told.garments[0].variant_of) == (False, "guernsey nearest")
    assert told.animations == (AnimationAbout(name="walk", duration_s=1.5, count=31),)
    assert [layer.name for layer in told.layers] == ["exposed", "depth"]
    assert (told.can, told.measures) == (("edit", "case"), ("waist",))


def test_causes_change_no_verdict() -> None:
    base = Sighting("base", np.zeros(3), place(fault="clearance", severity="grave"))
    cluster = Cluster("1", "guernsey smooth", (base,), np.array([0]), 1.0)
    explained = Explanation(cluster, 0.05, (), ANOTHER_SHAPE, OWNERS[ANOTHER_SHAPE], None, {})
    plain = check_report(garment_report(rows=(ShapeRow("belly=1", faults(severity="slight"), 0.1),)))
    told = plain.with_causes(Causes({"guernsey smooth": (explained,)}, (), {}))
    assert (told.severity, told.faulty) == (plain.severity, plain.faulty)
    assert verdict_line(told.garments[0], MORPHS) == verdict_line(plain.garments[0], MORPHS)


def test_actions_of_all_garments_are_told_the_most_noticed_first() -> None:
    tried = Tried("let it out", GARMENT, ("1",), (Effect("exposed", 12.0, 0.0, "cm²"),), (), True, 1.0)
    small = Action("2", ANOTHER_SHAPE, "", GARMENT, "hem", ("9",), 0.01, 6, ())
    large = Action("1", ANOTHER_SHAPE, "", GARMENT, "belly", ("1",), 0.02, 6, (tried,))
    base = Sighting("belly=1", np.ones(3), place(fault="exposed", severity="grave"))
    cluster = Cluster("1", "guernsey smooth", (base,), np.array([0]), 1.0)
    explained = Explanation(cluster, 0.05, (), ANOTHER_SHAPE, GARMENT, None, {})
    causes = Causes({"guernsey smooth": (explained,)}, (), {}, {"guernsey smooth": (small, large)})
    first, second = page_actions(check_report(garment_report()).with_causes(causes))
    assert (first.places, first.severity, first.is_offered) == (("guernsey smooth/1",), "grave", True)
    assert first.todo == ("let it out (cures its place: skin shows 12 → 0 cm²; nothing gets graver)",)
    assert (second.is_offered, second.todo) == (False, ("there is no remedy to try",))


def test_what_to_do_is_told_once_for_all_places_of_an_action() -> None:
    first, second = explanation(), explanation(of=made_cluster("2"))
    todo = Action("A", first.cause, "", GARMENT, "belly", ("1", "2"), 0.02, 8, ())
    told = [to_cluster(one, ("belly",), actions=(todo,)) for one in (first, second)]
    assert told[0].advice == "split the edges"
    assert told[1].advice.endswith("comes through the triangles between their corners: do as action A says")
    assert told[1].repair == ""
