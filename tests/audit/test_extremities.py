"""Tips are found by their curvature; they are blamed only for what their limb does not do."""

import numpy as np
import pytest

from audit_phantoms import bent, body_of, rod
from dressform.audit.audit import audit_body
from dressform.audit.extremities import Extremities
from dressform.audit.skin import AuditedSkin
from dressform.body.body import Body
from dressform.body.range import Range
from meshes import sphere

FINGER, LENGTH = 0.008, 0.16


def _skin(vertices: np.ndarray, faces: np.ndarray) -> AuditedSkin:
    return AuditedSkin.of(Body("part", vertices, faces, (), np.zeros((0, len(vertices), 3)), Range.unit(())))


@pytest.mark.parametrize(("radius", "is_tip"), [(0.008, True), (0.014, True), (0.018, False), (0.1, False)])
def test_a_ball_is_a_tip_when_cloth_stands_on_a_fifth_of_it(radius: float, is_tip: bool) -> None:
    """(1 + 20 mm / r)⁻² < 0.2 for r < 16.2 mm."""
    assert Extremities.of(_skin(*sphere(3, radius=radius))).tips.mean() == pytest.approx(float(is_tip), abs=0.01)


def test_a_finger_is_a_tip_at_its_ends_only() -> None:
    vertices, faces = rod()
    tips = Extremities.of(_skin(vertices, faces)).tips
    ends = np.minimum(vertices[:, 1], LENGTH - vertices[:, 1])
    assert tips[ends < 0.5 * FINGER].all()
    assert not tips[ends > 2.0 * FINGER].any()


def test_a_finger_that_bends_at_a_joint_is_beyond_loose_cloth() -> None:
    vertices, faces = rod()
    audit = audit_body(body_of(vertices, faces, {"curl": bent(vertices, joint=0.1, blend=0.06, angle=np.radians(80))}))
    found = {one.fault: one for one in audit.morphs[0].findings}
    assert "extremity" in found
    assert found["extremity"].spots[0].place.height > 0.9 * LENGTH
    assert len(found["extremity"].spots) == 1


def test_a_finger_that_turns_or_grows_as_a_whole_takes_its_cloth_along() -> None:
    vertices, faces = rod()
    turned = bent(vertices, joint=-1.0, blend=0.01, angle=np.radians(20))
    audit = audit_body(body_of(vertices, faces, {"turn": turned, "grow": 0.3 * vertices}))
    assert [found.fault for one in audit.morphs for found in one.findings if found.fault == "extremity"] == []
