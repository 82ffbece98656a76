"""What the blend shapes of a USD file weigh, as stored and as a player holds them."""

from pathlib import Path
from typing import Any

from dressform.formats.gltf.morphs.target_memory import ENGINE_BYTES, TargetMemory
from dressform.formats.usd.modules import usd_errors
from dressform.formats.usd.stage import open_stage

INDEX_BYTES = 4


def usd_target_memory(path: Path) -> TargetMemory:
    """What the blend shapes of all meshes of a file take; one that several meshes share counts once.

    Raises:
        FileError: see `open_stage`.

    Proof: tests/formats/usd/test_write.py
    """
    opened = open_stage(path)
    skel = opened.usd.UsdSkel
    count = stored = held = 0
    with usd_errors(path, opened.usd):
        seen: set[Any] = set()
        for prim in opened.meshes()[0]:
            points = len(opened.usd.UsdGeom.Mesh(prim).GetPointsAttr().Get(opened.time) or ())
            targets = skel.BindingAPI(prim).GetBlendShapeTargetsRel().GetForwardedTargets()
            count = max(count, len(targets))
            for target in set(targets) - seen:
                shape = skel.BlendShape(opened.stage.GetPrimAtPath(target))
                values = [shape.GetOffsetsAttr().Get(), shape.GetNormalOffsetsAttr().Get()]
                rows = [len(one) for one in values if one]
                stored += ENGINE_BYTES * sum(rows) + INDEX_BYTES * len(shape.GetPointIndicesAttr().Get() or ())
                held += ENGINE_BYTES * points * len(rows)
            seen.update(targets)
    return TargetMemory(count, stored, held)
