"""The page plays corrective targets that a garment's file brings, driven by the joints it poses."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from dressform.body.pose import turned_worlds
from dressform.body.stance import Stance, carry
from dressform.body.stances.driver import Driver, modelled_turn
from dressform.fit.corrective import Corrective
from dressform.fit.posed import cloth_maps
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.load import load_garment
from dressform.garment.following import Following
from dressform.garment.methods import FILE
from dressform.report.page.pack import read_pack
from dressform.web.requests import Pose, ShapeRequest
from dressform.web.session import Session
from dressform.web.shapes import answer_shape
from dressform.web.workers import BackgroundJob
from livepage import opened
from solids import made_fit

NEAR = 1e-5


def test_page_adds_what_joints_drive_before_they_carry_the_cloth(tmp_path: Path) -> None:
    start = opened(tmp_path)
    body, tube = start.bodies[0], start.garments[0]
    assert body.body.skeleton is not None
    driver = Driver(1, np.eye(3)[2], modelled_turn(body.body.skeleton, 1), ((0.2, 0.0), (0.8, 1.0)))
    plain = made_fit(tube.garment, body.body)
    told = replace(plain, correctives=(Corrective("corrective chest", driver, 0.05 * plain.base),))
    save_fit(told, tube, body, tmp_path / "driven.glb")
    driven = load_garment(tmp_path / "driven.glb", units="m", up="y", front="z")
    more = {"garments": (driven,), "following": {"driven": Following(method=FILE)}}
    session = Session(replace(start, **more, sources={**start.sources, "driven": start.sources["tube"]}))
    fit = session.fitted(0, "driven file", BackgroundJob()).fit
    assert [one.name for one in fit.correctives] == ["corrective chest"]
    for degrees, value in ((10.0, 0.0), (30.0, 0.54), (60.0, 1.0)):
        half, weights = np.radians(degrees) / 2, [0.3, 0.6]
        turn = [0.0, 0.0, float(np.sin(half)), float(np.cos(half))]
        pose = Pose(turns={"chest": turn})
        asked = ShapeRequest(id=1, base=0, weights=weights, garments=["driven file"], pose=pose)
        stance = Stance("", turned_worlds(body.body.skeleton, {"chest": turn}))
        assert abs(fit.correctives[0].driver.at(body.body.skeleton, stance.worlds) - value) < 0.01
        shown = read_pack(answer_shape(session, asked)).arrays["cloth/driven file"]
        assert np.abs(shown - carry(cloth_maps(fit, stance), fit.at(np.array(weights)))).max() < NEAR
        bare = carry(cloth_maps(replace(fit, correctives=()), stance), fit.at(np.array(weights)))
        assert (np.abs(shown - bare).max() > 0.01) == (value > 0)
