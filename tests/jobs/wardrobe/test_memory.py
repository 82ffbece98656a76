"""Memory does not grow with the number of garments: what was tried on one is let go at once."""

import gc
from pathlib import Path

import pytest

from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import DEFAULT_BANDS
from dressform.formats.gltf.save import save_garment
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.jobs.wardrobe import check_work
from dressform.jobs.wardrobe.check_work import CheckWork
from dressform.jobs.wardrobe.task import GarmentTask
from phantoms import phantom_tube
from wardrobes import FEW, body_of, small_wardrobe


def test_what_was_tried_on_a_garment_is_let_go_without_a_search_for_circles(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    wardrobe = small_wardrobe(tmp_path, count=0)
    path = wardrobe / "near.glb"
    save_garment(phantom_tube(clearance=0.004, rings=12, sides=20), path)
    made, prepare = list[str](), GarmentOnBody.__init__

    def counted(self: GarmentOnBody, *args: object, **options: object) -> None:
        made.append(type(self).__name__)
        prepare(self, *args, **options)  # type: ignore[arg-type]

    monkeypatch.setattr(GarmentOnBody, "__init__", counted)
    monkeypatch.setattr(check_work.gc, "collect", lambda: 0)
    run = CheckWork(body_of(wardrobe), (), (), FEW, (), DEFAULT_BANDS, True).begin()
    gc.disable()
    try:
        (done,) = run(GarmentTask("near", "near.glb", str(path), DEFAULT_FOLLOWING, b""))
        there = [one for one in gc.get_objects() if isinstance(one, GarmentOnBody) and one.fit.garment.name == "near"]
    finally:
        gc.enable()
    assert not done.failed
    assert made.count("GarmentOnBody") > 5
    assert [type(one).__name__ for one in there] == ["ExplainedGarment"]
