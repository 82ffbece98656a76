"""The people of Saltmarsh: a woman's and a man's build over one mesh, twelve morphs, a skeleton, skin and regions.

Deterministic: no random numbers; the same sources give the same arrays. Made in some seconds, then kept in the cache.
"""

from collections.abc import Mapping

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.skeleton import Skin
from dressform.demo.body_anatomy import BUILDS, build, edited, tables
from dressform.demo.body_carry import DiffusionStep, reshaped, settled
from dressform.demo.body_faults import faulty_morphs
from dressform.demo.body_mesh import template_mesh, wanted_edges
from dressform.demo.body_parts import density_of, field_of, parts
from dressform.demo.body_skin import regions_of, skin_of
from dressform.demo.cache import cached, source_key
from dressform.demo.skeleton import skeleton_of

SETTLING = 6
"""Rounds that even out the triangles of a build after its template was carried to it."""
SOURCES = ("body*.py", "skeleton.py", "anatomy*.toml")
MORPHS = tuple(tables()[1]["morphs"])


def make_demo_bodies(*, resolution: float = 1.0) -> dict[str, Body]:
    """The clean demo bodies by build, `woman` and `man`: same triangles, same morphs.

    Args:
        resolution: Divides the edge lengths; 1 gives about 17,000 vertices.
    """
    key = source_key(SOURCES, resolution)
    arrays = cached("bodies", key, lambda: _made(resolution))
    return {name: _body(name, arrays) for name in BUILDS}


def make_faulty_body(*, resolution: float = 1.0) -> Body:
    """The woman with two more morphs that are wrong on purpose: `patch` and `curl`."""
    body = make_demo_bodies(resolution=resolution)["woman"]
    wrong = faulty_morphs(body)
    names = body.morph_names + tuple(wrong)
    extra = len(wrong)
    return Body(
        name="woman, faulty",
        vertices=body.vertices,
        faces=body.faces,
        morph_names=names,
        deltas=np.concatenate([body.deltas, np.stack(list(wrong.values()))]),
        range=Range(names, np.append(body.range.low, np.zeros(extra)), np.append(body.range.high, np.ones(extra))),
        skeleton=body.skeleton,
        skin=body.skin,
        regions=body.regions,
    )


def _made(resolution: float) -> dict[str, np.ndarray]:
    """All arrays of both bodies, flat, as the cache keeps them."""
    template = build()
    template_field = field_of(template)
    vertices, faces, half = template_mesh(template_field, parts(template), density_of(template), resolution=resolution)
    smooth = DiffusionStep(vertices, faces)
    arrays: dict[str, np.ndarray] = {"faces": faces}
    for name in BUILDS:
        anatomy = build(name)
        field = field_of(anatomy)
        carried = reshaped(template_field, field, vertices, half, smooth)
        size = wanted_edges(field, parts(anatomy), density_of(anatomy), carried)
        base = settled(field, carried, faces, half, size, rounds=SETTLING)
        skeleton = skeleton_of(anatomy)
        skin = skin_of(field, parts(anatomy), skeleton.names, base, faces)
        regions = regions_of(field, parts(anatomy), skeleton, skin, base, faces)
        # Behind the ears the way to the surface has no end, so what it moves without any morph is taken off.
        still = reshaped(field, field, base, half, smooth)
        deltas = [
            reshaped(field, field_of(edited(anatomy, morph, 1.0, name)), base, half, smooth) - still for morph in MORPHS
        ]
        arrays |= {
            f"{name}.vertices": base,
            f"{name}.deltas": np.stack(deltas),
            f"{name}.joints": skin.joints,
            f"{name}.weights": skin.weights,
            f"{name}.regions": np.stack(list(regions.values())),
            f"{name}.region_names": np.array(list(regions)),
        }
    return arrays


def _body(name: str, arrays: Mapping[str, np.ndarray]) -> Body:
    morphs = tables()[1]["morphs"]
    low = np.array([float(morph["low"]) for morph in morphs.values()])
    high = np.array([float(morph["high"]) for morph in morphs.values()])
    names = [str(region) for region in arrays[f"{name}.region_names"]]
    return Body(
        name=name,
        vertices=arrays[f"{name}.vertices"],
        faces=arrays["faces"],
        morph_names=MORPHS,
        deltas=arrays[f"{name}.deltas"],
        range=Range(MORPHS, low, high),
        skeleton=skeleton_of(build(name)),
        skin=Skin(arrays[f"{name}.joints"], arrays[f"{name}.weights"]),
        regions=dict(zip(names, arrays[f"{name}.regions"])),
    )
