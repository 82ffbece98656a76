"""What comes over the socket is what the library says, and every ask has one answer."""

import base64
import tomllib

import numpy as np
import pytest

from dressform.body.pose import turned_worlds
from dressform.body.stance import Stance
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.make import make_fit
from dressform.fit.posed import posed_body, posed_fit
from dressform.formats.case_file import read_case
from dressform.formats.load import load_garment
from dressform.formats.results.page.about import PAGE_FORMAT
from dressform.garment.strength import with_strength
from dressform.jobs.case.seeing import case_stance
from dressform.web.fault_queries import figures
from livepage import KEY, Client, Served

PNG = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg=="
)
NEAR = 1e-5  # metres
VIEW = {"position": [0.0, 1.0, 3.0], "target": [0.0, 1.0, 0.0], "layer": "exposed"}


def body_of(server: Served, base: int = 0):
    return server.hub.session.bases[base].body


def fit_of(server: Served, base: int = 0):
    return make_fit(body_of(server, base), server.hub.session.files["tube"].garment)


def test_the_first_thing_said_is_the_about(server: Served):
    with server.page() as page:
        about = page.about
    assert about["format"] == PAGE_FORMAT
    assert about["life"] == "live"
    assert about["id"] == 0
    assert about["bases"] == ["woman", "man"]
    assert [slider["name"] for slider in about["sliders"]] == ["wider", "belly"]
    assert [(one["key"], one["parts"], one["revision"]) for one in about["garments"]] == [(KEY, ["skirt", "yoke"], 0)]
    assert about["animations"] == [{"name": "nod", "duration_s": 1.0, "count": 2}]
    assert about["joints"] == ["root", "chest"]
    assert about["can"] == ["edit", "fit", "measure", "tape", "pose"]


def test_the_about_holds_no_folder(server: Served, page: Client):
    path = str(server.hub.session.opened.bodies[0].path.parent)
    assert path not in str(page.about)


@pytest.mark.parametrize("base", [0, 1])
def test_meshes_are_those_of_the_library(server: Served, page: Client, base: int):
    pack = page.request("meshes", base=base, garments=[KEY])
    body, fit = body_of(server, base), fit_of(server, base)
    assert pack.header["kind"] == "meshes"
    assert pack.header["regions"] == ["top"]
    np.testing.assert_array_equal(pack.arrays["body/faces"], body.faces)
    np.testing.assert_allclose(pack.arrays["body/base"], body.vertices, atol=NEAR)
    assert (pack.arrays["body/region"][body.regions["top"]] == 0).all()
    np.testing.assert_array_equal(pack.arrays[f"cloth/{KEY}/faces"], fit.garment.faces)
    np.testing.assert_allclose(pack.arrays[f"cloth/{KEY}/base"], fit.base, atol=NEAR)
    np.testing.assert_array_equal(pack.arrays[f"cloth/{KEY}/parts"], fit.garment.face_parts)
    np.testing.assert_allclose(pack.arrays[f"layer/strength/{KEY}"], fit.garment.strength, atol=1e-6)


def test_feet_lie_under_the_cloth(server: Served, page: Client):
    pack = page.request("meshes", garments=[KEY])
    corners, shares = pack.arrays[f"feet/{KEY}/corners"], pack.arrays[f"feet/{KEY}/shares"]
    feet = np.einsum("gc,gcx->gx", shares, pack.arrays["body/base"][corners])
    # The tube stands 3 cm off a twelve-sided prism of 15 cm.
    gap = np.linalg.norm(pack.arrays[f"cloth/{KEY}/base"] - feet, axis=1)
    np.testing.assert_allclose(gap, 0.03, atol=1e-4)


@pytest.mark.parametrize("weights", [(0.0, 0.0), (1.0, 0.0), (0.37, 0.81), (-0.1, 1.1)])
def test_shapes_are_where_the_library_puts_them(server: Served, page: Client, weights):
    pack = page.request("shape", weights=list(weights), garments=[KEY])
    vector = np.array(weights)
    np.testing.assert_allclose(pack.arrays["body"], body_of(server).at(vector), atol=NEAR)
    np.testing.assert_allclose(pack.arrays[f"cloth/{KEY}"], fit_of(server).at(vector), atol=NEAR)


def test_turned_joints_pose_body_and_cloth_as_their_skins_do(server: Served, page: Client):
    turn = [0.0, 0.0, 0.3, 0.9]
    pack = page.request("shape", weights=[0.5, 0.5], garments=[KEY], pose={"turns": {"chest": turn}})
    body, fit, weights = body_of(server), fit_of(server), np.array([0.5, 0.5])
    transforms = turned_worlds(body.skeleton, {"chest": turn}) @ body.skeleton.inverse_bind
    np.testing.assert_allclose(pack.arrays["body"], body.skin.pose(body.at(weights), transforms), atol=NEAR)
    np.testing.assert_allclose(pack.arrays[f"cloth/{KEY}"], fit.skin.pose(fit.at(weights), transforms), atol=NEAR)


def test_sliders_of_joints_move_body_and_cloth_under_turned_joints(server: Served, page: Client):
    (slider,) = page.about["joint_sliders"]
    assert (slider["name"], slider["low"], slider["high"]) == ("long_waist", -1.0, 1.0)
    joint = body_of(server).skeleton.world()[1, :3, 3]
    np.testing.assert_allclose(slider["position_m"], joint, atol=NEAR)
    turn = [0.0, 0.0, 0.3, 0.9]
    pose = {"turns": {"chest": turn}, "sliders": {"long_waist": 0.5}}
    pack = page.request("shape", weights=[0.5, 0.5], garments=[KEY], pose=pose)
    body, fit, weights = body_of(server), fit_of(server), np.array([0.5, 0.5])
    # The chest's joint, and all that hangs from it, is 0.1 m higher than without the slider.
    worlds = turned_worlds(body.skeleton, {"chest": turn})
    worlds[1, 1, 3] += 0.1
    transforms = worlds @ body.skeleton.inverse_bind
    np.testing.assert_allclose(pack.arrays["body"], body.skin.pose(body.at(weights), transforms), atol=NEAR)
    np.testing.assert_allclose(pack.arrays[f"cloth/{KEY}"], fit.skin.pose(fit.at(weights), transforms), atol=NEAR)
    # Under a moment of an animation, too; and without any pose.
    for pose in ({"animation": 0, "time": 0.5}, {}):
        plain, slid = (
            page.request("shape", weights=[0.0, 0.0], garments=[KEY], pose={**pose, "sliders": {"long_waist": value}})
            for value in (0, 1)
        )
        moved = np.abs(slid.arrays["body"] - plain.arrays["body"]).max(axis=0)
        assert moved.max() == pytest.approx(0.2, abs=0.02)
    refused = page.request("shape", weights=[0.0, 0.0], garments=[], pose={"sliders": {"neck": 1}}).header
    assert "named as the sliders that move joints: long_waist, got 'neck'" in refused["words"]


def test_a_moment_of_an_animation_poses_as_the_library_does(server: Served, page: Client):
    pack = page.request("shape", weights=[0.0, 0.0], garments=[KEY], pose={"animation": 0, "time": 0.5})
    body, animation = body_of(server), server.hub.session.opened.animations[0][0]
    transforms = animation.worlds(0.5) @ body.skeleton.inverse_bind
    posed = body.skin.pose(body.vertices, transforms)
    assert np.abs(posed - body.vertices).max() > 0.1
    np.testing.assert_allclose(pack.arrays["body"], posed, atol=NEAR)


def test_a_stance_poses_as_the_library_does_and_is_told_first(server: Served, page: Client):
    (stance,) = server.hub.session.opened.stances[0]
    assert page.about["stances"] == [{"name": "leaning", "origin": "made for tests"}]
    body, fit, weights = body_of(server), fit_of(server), np.array([0.5, 0.5])
    pack = page.request("shape", weights=[0.5, 0.5], garments=[KEY], pose={"stance": 0})
    np.testing.assert_allclose(pack.arrays["body"], posed_body(body, stance).at(weights), atol=NEAR)
    np.testing.assert_allclose(pack.arrays[f"cloth/{KEY}"], posed_fit(fit, stance).at(weights), atol=NEAR)


def test_faults_are_those_of_the_stance_that_is_shown(server: Served, page: Client):
    (stance,) = server.hub.session.opened.stances[0]
    worn, weights = GarmentOnBody(fit_of(server)), np.array([1.0, 1.0])
    there = page.request("faults", weights=[1.0, 1.0], garments=[KEY], pose={"stance": 0}, layers=["depth"])
    rest = page.request("faults", weights=[1.0, 1.0], garments=[KEY], layers=["depth"])
    wanted = figures(worn.measure(weights, stance))
    assert {fault: one["value"] for fault, one in there.header["figures"][KEY].items()} == {
        fault: one.value for fault, one in wanted.items()
    }
    assert np.abs(there.arrays[f"layer/depth/{KEY}"] - rest.arrays[f"layer/depth/{KEY}"]).max() > 0.1


def test_moments_and_joints_of_an_animation_are_told(page: Client):
    header = page.request("pose", animation=0).header
    assert (header["name"], header["duration_s"], header["times"]) == ("nod", 1.0, [0.0, 1.0])
    assert header["joints"] == ["root", "chest"]


def test_of_shapes_that_wait_only_the_newest_is_answered_and_every_ask_has_one_answer(page: Client):
    asked = [page.say("shape", weights=[number / 100, 0.0], garments=[KEY]) for number in range(100)]
    kinds: dict[int, str] = {}
    while len(kinds) < len(asked):
        header = page.hear().header
        assert header["id"] not in kinds
        kinds[header["id"]] = header["kind"]
    assert kinds[asked[-1]] == "shape"
    assert set(kinds.values()) <= {"shape", "dropped"}


def test_shapes_are_answered_while_faults_are_measured(page: Client):
    faults = page.say("faults", weights=[0.5, 0.5], garments=[KEY])
    shape = page.say("shape", weights=[0.5, 0.5], garments=[KEY])
    assert page.answer_to(shape).header["kind"] == "shape"
    assert page.answer_to(faults).header["kind"] == "faults"


def test_figures_and_layers_are_those_of_the_check(server: Served, page: Client):
    weights = np.array([0.2, 1.0])
    names = ["exposed", "depth", "clearance", "clearance_change", "pucker", "stretch", "rigid_patch"]
    pack = page.request("faults", weights=list(weights), garments=[KEY], layers=names)
    found, fields = GarmentOnBody(fit_of(server)).both(weights)
    header = pack.header
    assert header["severity"] == {KEY: found.severity}
    figures = header["figures"][KEY]
    assert {fault: one["severity"] for fault, one in figures.items()} == dict(found.severities)
    assert figures["depth"]["value"] == pytest.approx(1e3 * found.show_through.depth_max, rel=1e-5)
    assert figures["exposed"]["value"] == pytest.approx(1e4 * found.show_through.exposed_area, rel=1e-5)
    assert not found.pucker.is_told
    assert figures["pucker"]["value"] is None
    np.testing.assert_allclose(pack.arrays[f"layer/depth/{KEY}"], 1e3 * fields.layers["depth"], atol=1e-4)
    np.testing.assert_allclose(pack.arrays[f"layer/pucker/{KEY}"], fields.layers["pucker"], atol=1e-6)
    np.testing.assert_allclose(pack.arrays[f"layer/exposed/{KEY}"], 1e2 * fields.layers["exposed"], atol=1e-4)
    assert {name: len(array) for name, array in pack.arrays.items()} == {
        f"layer/{name}/{KEY}": len(fields.body if name in ("exposed", "rigid_patch") else fields.cloth)
        for name in names
    }
    places = header["places"][KEY]
    assert [place["fault"] for place in places] == [place.fault for place in found.places[:12]]


def test_layers_that_no_shape_changes_come_one_by_one(server: Served, page: Client):
    for name in ("strength", "feet", "resolution", "certified"):
        pack = page.request("layer", layer=name, garment=KEY)
        assert pack.header["layer"] == name
        assert len(pack.arrays[f"layer/{name}/{KEY}"]) == len(fit_of(server).base)
    np.testing.assert_allclose(
        page.request("layer", layer="strength", garment=KEY).arrays[f"layer/strength/{KEY}"],
        fit_of(server).garment.strength,
        atol=1e-6,
    )


def test_tape_measures_are_the_measurers(server: Served, page: Client):
    rows = page.request("measures", weights=[0.4, 0.0]).header["rows"]
    taken = server.hub.session.bases[0].measurer.measure(np.array([0.4, 0.0]))
    assert [row["name"] for row in rows] == [row.name for row in taken.rows]
    stature = next(row for row in rows if row["name"] == "stature")
    assert stature["mm"] == pytest.approx(1700.0)
    assert all((row["mm"] is None) == (one.value is None) for row, one in zip(rows, taken.rows, strict=True))


def test_a_tape_that_asks_for_the_stature_finds_that_it_cannot_be_changed(page: Client):
    header = page.request("tape", targets={"stature": 1750.0}).header
    assert header["met"] is False
    assert header["rows"][0]["missed_mm"] == pytest.approx(-50.0)
    assert len(header["weights"]) == 2


def test_an_edit_follows_at_once_and_grows_the_revision(own: Served):
    with own.page() as page:
        page.request("meshes", garments=[KEY])
        answer = page.request("edit", garment=KEY, settings={"strength": 0.5, "parts": {"yoke": 0.0}, "falloff_mm": 0})
        assert answer.header["kind"] == "edit"
        assert answer.header["settings"]["parts"] == {"yoke": 0.0}
        about = page.until(lambda about: about["garments"][0]["revision"] == 1)
        assert about["garments"][0]["settings"]["strength"] == 0.5
        assert about["settings"]["edited"]["tube"]["parts"] == {"yoke": 0.0}
        garment = own.hub.session.files["tube"].garment
        weaker = with_strength(garment, overall=0.5, parts={"yoke": 0.0}, mask=garment.strength, falloff=0.0)
        pack = page.request("shape", weights=[1.0, 0.0], garments=[KEY])
        expected = make_fit(body_of(own), weaker).at(np.array([1.0, 0.0]))
        np.testing.assert_allclose(pack.arrays[f"cloth/{KEY}"], expected, atol=NEAR)


def test_paint_and_hard_parts_change_the_fit_and_are_taken_back_together(own: Served):
    with own.page() as page:
        before = page.request("meshes", garments=[KEY]).arrays[f"layer/strength/{KEY}"].copy()
        paint = np.linspace(0, 1, len(before)).tolist()
        told = page.request("edit", garment=KEY, settings={"mask": paint, "hard": ["yoke"], "falloff_mm": 0}).header
        assert told["settings"]["painted"] is True
        assert told["settings"]["hard"] == ["yoke"]
        painted = page.request("meshes", garments=[KEY]).arrays[f"layer/strength/{KEY}"]
        np.testing.assert_allclose(painted, paint, atol=1e-6)
        told = page.request("edit", garment=KEY, settings=None).header
        assert told["settings"]["painted"] is False
        assert told["settings"]["hard"] == []
        after = page.request("meshes", garments=[KEY]).arrays[f"layer/strength/{KEY}"]
        np.testing.assert_array_equal(after, before)


def test_the_margin_is_kept_for_repairs(own: Served):
    with own.page() as page:
        page.request("meshes", garments=[KEY])
        assert page.request("edit", garment=KEY, settings={"margin_mm": 4}).header["settings"]["margin_mm"] == 4


def test_edits_are_heard_by_every_page(own: Served):
    with own.page() as first, own.page() as second:
        first.request("edit", garment=KEY, settings={"rotation_share": 0.2})
        assert (
            second.until(lambda about: about["garments"][0]["revision"] == 1)["garments"][0]["settings"][
                "rotation_share"
            ]
            == 0.2
        )


def test_settings_are_saved_as_check_and_fit_read_them(own: Served):
    path = own.hub.session.opened.settings_file
    path.write_text('format = "dressform-following/1"\n\n[garment.cap]\nstrength = 0.25\n', encoding="utf-8")
    with own.page() as page:
        page.request("edit", garment=KEY, settings={"strength": 0.75, "margin_mm": 3.0, "hard": ["skirt"]})
        assert page.request("save").header["file"] == "follow.toml"
    saved = tomllib.loads(path.read_text(encoding="utf-8"))["garment"]
    assert saved == {"cap": {"strength": 0.25}, "tube": {"strength": 0.75, "margin_mm": 3.0, "hard": ["skirt"]}}


def test_another_way_repaired_and_as_opened_can_be_set_beside_a_garment(own: Served):
    with own.page() as page:
        page.request("meshes", garments=[KEY])
        page.request("edit", garment=KEY, settings={"strength": 0.0})
        keys = [
            page.request("fit", garment=KEY, method="nearest").header["garment"],
            page.request("fit", garment=KEY, repaired=True).header["garment"],
            page.request("fit", garment=KEY, opened=True).header["garment"],
        ]
        assert keys == ["tube nearest", "tube smooth repaired", "tube smooth as opened"]
        about = page.until(lambda about: len(about["garments"]) == 4)
        variants = {one["key"]: (one.get("variant_of"), one["variant"]) for one in about["garments"]}
        assert variants["tube smooth repaired"] == (KEY, "lifted by smooth, repaired")
        header = page.request("compare", weights=[1.0, 0.0], garments=[KEY, keys[2]]).header
        still, moved = fit_of(own).garment.vertices, fit_of(own).at(np.array([1.0, 0.0]))
        expected = 1e3 * np.linalg.norm(moved - still, axis=1)
        assert header["moved_mm"]["largest"] == pytest.approx(expected.max(), rel=1e-5)
        assert header["moved_mm"]["rms"] == pytest.approx(np.sqrt(np.mean(expected**2)), rel=1e-5)
        assert {row["fault"] for row in header["rows"]} == set(
            page.request("faults", weights=[1.0, 0.0], garments=[KEY]).header["figures"][KEY]
        )


def test_an_edit_takes_back_repairs_that_it_made_untrue(own: Served):
    with own.page() as page:
        repaired = page.request("fit", garment=KEY, repaired=True).header["garment"]
        page.until(lambda about: len(about["garments"]) == 2)
        page.request("edit", garment=KEY, settings={"strength": 0.9})
        page.until(lambda about: len(about["garments"]) == 1)
        assert "no garment" in page.refused("shape", weights=[0.0, 0.0], garments=[repaired])


def test_what_is_shown_as_opened_is_not_edited(own: Served):
    with own.page() as page:
        key = page.request("fit", garment=KEY, opened=True).header["garment"]
        assert "as it was opened" in page.refused("edit", garment=key, settings={"strength": 0.5})


def test_a_case_holds_sliders_of_joints_and_stands_as_the_page_did(own: Served):
    with own.page() as page:
        page.request("meshes", garments=[KEY])
        asked = {"weights": [0.0, 0.0], "garments": [KEY], "view": VIEW, "about": KEY}
        for pose in ({"turns": {}}, {"turns": {"chest": [0.0, 0.0, 0.3, 0.9]}}, {"animation": 0, "time": 0.5}):
            told = {**pose, "sliders": {"long_waist": 0.5}}
            file = page.request("case", **asked, pose=told).header["file"]
            case = read_case(own.hub.session.opened.cases / file)
            assert case.pose is not None
            assert case.pose.sliders == {"long_waist": 0.5}
            there = case_stance(body_of(own), case.pose)
            shown = page.request("shape", weights=[0.0, 0.0], garments=[], pose=told).arrays["body"]
            body = body_of(own)
            meant = body.skin.pose(body.vertices, there.worlds @ body.skeleton.inverse_bind)
            np.testing.assert_allclose(shown, meant, atol=NEAR)


def test_a_case_says_garment_shape_view_place_and_picture(own: Served):
    with own.page() as page:
        page.request("meshes", garments=[KEY])
        answer = page.request(
            "case",
            weights=[0.0, 0.75],
            garments=[KEY],
            pose={"animation": 0, "time": 0.25},
            view=VIEW,
            about=KEY,
            place={"position_m": [0.1, 1.0, 0.1], "fault": "exposed", "vertex": 3, "side": "front"},
            note="the belly shows",
            picture=base64.b64encode(PNG).decode(),
        )
    case = read_case(own.hub.session.opened.cases / answer.header["file"])
    assert case.garment.source.name == "tube"
    assert case.garment.following.method == "smooth"
    assert case.body.name == "woman"
    assert case.shape.weights == {"belly": 0.75}
    assert (case.pose.animation, case.pose.time_s) == ("nod", 0.25)
    assert (case.view.position_m, case.view.layer) == ((0.0, 1.0, 3.0), "exposed")
    assert (case.place.fault, case.place.vertex, case.place.side) == ("exposed", 3, "front")
    assert case.note == "the belly shows"
    assert case.png == PNG
    stance = Stance("nod", own.hub.session.opened.animations[0][0].worlds(0.25))
    found = GarmentOnBody(fit_of(own)).measure(np.array([0.0, 0.75]), stance)
    assert {fault: one.severity for fault, one in case.faults.items() if fault != "pucker"} == {
        fault: severity for fault, severity in found.severities.items() if fault != "pucker"
    }
    assert "pucker" not in case.faults  # the tube is too coarse to tell


def test_two_cases_in_one_second_are_two_files(own: Served):
    with own.page() as page:
        page.request("meshes", garments=[KEY])
        files = {page.request("case", weights=[0.0, 0.0], garments=[KEY], view=VIEW).header["file"] for _ in range(3)}
    assert len(files) == 3


def test_the_fitted_garment_is_exported_as_the_library_writes_it(own: Served):
    with own.page() as page:
        answer = page.request("export", what="glb", garment=KEY)
    path = own.hub.session.opened.out / answer.header["file"]
    assert answer.header["file"] == "tube-smooth-on-woman.glb"
    stored = load_garment(path).stored
    fit = fit_of(own)
    belly = stored.deltas[stored.morph_names.index("belly")]
    rows = load_garment(path).file_to_cloth
    np.testing.assert_allclose(belly, fit.deltas[1][rows], atol=1e-5)


def test_a_check_tells_verdicts_causes_pictures_and_charts(own: Served, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("dressform.web.checking.MAX_PICTURES", 2)
    with own.page() as page:
        assert page.about["garments"][0]["verdict"] == "not checked yet"
        assert page.request("check").header["kind"] == "check"
        about = page.until(lambda about: about["check"]["state"] == "done")
        assert about["garments"][0]["severity"] in ("slight", "moderate", "grave")
        assert about["shapes"]
        assert about["clusters"]
        assert {cluster["garment"] for cluster in about["clusters"]} == {KEY}
        assert about["clusters"][0]["picture"].startswith("data:image/webp;base64,")
        assert set(about["charts"][KEY]) == {"weights", "clearance", "pairs"}
        assert {(one["garment"], one["stance"]) for one in about["posed"]} == {(KEY, 0)}
        worst = about["posed"][0]
        faults = page.request("faults", weights=worst["weights"], garments=[KEY], pose={"stance": 0}).header
        assert faults["severity"][KEY] == worst["severity"]
        answer = page.request("export", what="report")
        report = (own.hub.session.opened.out / answer.header["file"]).read_text(encoding="utf-8")
        assert answer.header["file"] == "woman-report.html"
        assert 'data-life="report"' in report
        page.request("edit", garment=KEY, settings={"strength": 0.5})
        about = page.until(lambda about: about["garments"][0]["revision"] == 1)
        assert about["garments"][0]["verdict"] == "not checked yet"
        assert about["clusters"] == []


def test_a_check_that_is_called_off_says_so_and_ends(own: Served):
    with own.page() as page:
        check = page.say("check")
        page.until(lambda about: about["check"]["state"] == "running")
        cancelled = page.request("cancel", of=check)
        assert cancelled.header["done"] is True
        page.until(lambda about: about["check"]["state"] in ("none", "stopped"))
        assert page.request("shape", weights=[0.0, 0.0], garments=[]).header["kind"] == "shape"


def test_calling_off_what_does_not_wait_says_so(page: Client):
    header = page.request("cancel", of=9999).header
    assert (header["kind"], header["of"], header["done"]) == ("cancel", 9999, False)


def test_work_that_is_called_off_is_answered_at_once(own: Served):
    with own.page() as page:
        own.hub.session.long.submit(lambda: __import__("time").sleep(1.0))
        waiting = page.say("fit", garment=KEY, repaired=True)
        page.request("cancel", of=waiting)
        assert "tube smooth repaired" not in [one["key"] for one in page.about["garments"]]


REFUSED = [
    (("meshes", {"garments": ["hat smooth"]}), "no garment 'hat smooth'"),
    (("meshes", {"garments": [], "base": 2}), "2 base bodies; number 2"),
    (("shape", {"weights": [0.0], "garments": []}), "has 2 weights, not 1"),
    (("shape", {"weights": [0.0, 9.0], "garments": []}), "weight of 'belly' must lie between 0 and 1"),
    (("shape", {"weights": [0.0, 0.0], "garments": [], "pose": {"turns": {"knee": [0, 0, 0, 1]}}}), "root, chest"),
    (("shape", {"weights": [0.0, 0.0], "garments": [], "pose": {"turns": {"chest": [0, 0, 0, 0]}}}), "not zero"),
    (("shape", {"weights": [0.0, 0.0], "garments": [], "pose": {"animation": 5}}), "1 animations; number 5"),
    (("shape", {"weights": [0.0, 0.0], "garments": [], "pose": {"stance": 5}}), "1 stances; number 5"),
    (("faults", {"weights": [0.0, 0.0], "garments": [KEY], "pose": {"stance": 5}}), "1 stances; number 5"),
    (("pose", {"animation": 5}), "1 animations; number 5"),
    (("faults", {"weights": [0.0, 0.0], "garments": [KEY], "layers": ["strength"]}), "no layer of this kind"),
    (("layer", {"layer": "depth", "garment": KEY}), "no layer of this kind 'depth'"),
    (("edit", {"garment": KEY, "settings": {"parts": {"hood": 1}}}), "no part of 'tube' 'hood'"),
    (("edit", {"garment": KEY, "settings": {"hard": ["hood"]}}), "no part of 'tube' 'hood'"),
    (("edit", {"garment": KEY, "settings": {"mask": [0.5]}}), "values, not 1"),
    (("edit", {"garment": KEY, "settings": {"ease": "tight"}}), "no ease policy 'tight'"),
    (("fit", {"garment": KEY, "method": "magic"}), "no method 'magic'"),
    (("tape", {"targets": {"sleeve": 600}}), "no measure 'sleeve'"),
    (("save", {}), "without a file for settings"),
    (("case", {"weights": [0.0, 0.0], "garments": [KEY], "view": VIEW}), "without a folder for cases"),
    (("export", {"what": "glb", "garment": KEY}), "without a folder for exports"),
]


@pytest.mark.parametrize(("request_", "words"), REFUSED, ids=[f"{kind} {words[:24]}" for (kind, _), words in REFUSED])
def test_what_cannot_be_answered_is_refused_with_words_for_a_person(page: Client, request_, words: str):
    kind, fields = request_
    assert words in page.refused(kind, **fields)


def test_a_case_without_a_true_picture_is_refused(own: Served):
    with own.page() as page:
        page.request("meshes", garments=[KEY])
        for picture in ("not base64!", base64.b64encode(b"GIF89a").decode()):
            assert "PNG" in page.refused("case", weights=[0.0, 0.0], garments=[KEY], view=VIEW, picture=picture)
        assert "none is worn" in page.refused("case", weights=[0.0, 0.0], garments=[], view=VIEW)
    assert not own.hub.session.opened.cases.exists()


def test_a_report_before_any_check_is_refused(own: Served):
    with own.page() as page:
        assert "Nothing was checked yet" in page.refused("export", what="report")
        assert "Name the garment" in page.refused("export", what="glb")


def test_a_garment_that_is_not_fitted_yet_is_refused_to_a_shape(own: Served):
    with own.page() as page:
        assert "ask for its meshes first" in page.refused("shape", weights=[0.0, 0.0], garments=[KEY])
