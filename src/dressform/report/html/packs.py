"""The data of the report: meshes, morphs and layers as packs, quantised within stated bounds and compressed.

A vertex that the page draws at any shape of the range is off by less than `POSITION_ERROR`: half a step of the base
plus, for each morph, half a step times the largest weight, along each of three axes.
"""

import base64
import zlib
from collections.abc import Mapping, Sequence

import numpy as np
from jaxtyping import Float, Int, UInt8

from dressform.arrays import Faces, Points
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.faults.fault import CLASSES
from dressform.faults.places import NO_REGION, region_names
from dressform.fit.fit import Fit
from dressform.formats.results.page.about import LayerAbout
from dressform.formats.surfaces.laid import DressedMesh
from dressform.lift.feet import find_feet
from dressform.mesh.tree import Tree
from dressform.report.page.layers import Layers
from dressform.report.page.pack import Coarse, coarsen, write_pack
from dressform.report.page.pictures import picture_arrays

POSITION_ERROR = 1e-4
"""No drawn vertex is off by as much, metres."""

SPENT = 0.8
"""Share of it that coarse numbers may use; the rest is left to float32 in the browser."""

LAYER_ERROR = 0.005
"""Values of a layer are off by no more than this share of its scale."""

NO_NAME = 255
"""Stands for a region that has no name."""

SMALL, WIDE = "i2", "i4"
RAW_DEFLATE = -15
HARDEST = 9

Arrays = dict[str, np.ndarray | Coarse]


def inlined(pack: bytes) -> str:
    """A pack as written into the HTML: base64 of a raw deflate stream [RFC1951]."""
    squeeze = zlib.compressobj(HARDEST, zlib.DEFLATED, RAW_DEFLATE)
    return base64.b64encode(squeeze.compress(pack) + squeeze.flush()).decode("ascii")


def body_pack(body: Body) -> bytes:
    """The body with its morphs, and the region of every vertex where the body names any."""
    arrays = _mesh_arrays(body.vertices, body.faces, body.deltas, body.range)
    names = region_names(body.vertices, body.regions)
    regions = [str(name) for name in np.unique(names) if name != NO_REGION][:NO_NAME]
    if regions:
        numbers = {name: number for number, name in enumerate(regions)}
        arrays["region"] = np.array([numbers.get(str(name), NO_NAME) for name in names], dtype=np.uint8)
    return write_pack({"kind": "body", "morphs": list(body.morph_names), "regions": regions}, arrays)


def cloth_pack(
    body: Body, fit: Fit, key: str, colours: UInt8[np.ndarray, "G 3"], dressed: DressedMesh | None = None
) -> bytes:
    """A garment with its morphs, its parts, its colours, its file's pictures and the skin under every vertex."""
    garment = fit.garment
    arrays = _mesh_arrays(fit.base, garment.faces, fit.deltas, body.range)
    feet = find_feet(Tree(body.vertices, body.faces), garment.vertices, garment.faces)
    arrays |= {
        "parts": garment.face_parts.astype(np.uint8 if len(garment.part_names) <= NO_NAME else np.uint16),
        "colours": colours,
        "corners": _compact(body.faces[feet.faces]),
        "shares": _coarse_shares(feet.barycentric),
        **({} if dressed is None else picture_arrays(dressed, coarse=True)),
    }
    return write_pack({"kind": "cloth", "garment": key, "morphs": list(fit.morph_names)}, arrays)


def layers_pack(key: str, shape: int | None, values: Layers, layers: Sequence[LayerAbout]) -> bytes:
    """Layers of a garment at one stored shape, or at every shape where `shape` is None."""
    arrays: Arrays = {}
    for layer in layers:
        if layer.name in values:
            arrays[f"layer/{layer.name}"] = coarse_layer(values[layer.name], layer)
    return write_pack({"kind": "layers", "garment": key, "shape": shape}, arrays)


def coarse_layer(
    values: Float[np.ndarray, " V"] | Int[np.ndarray, " V"], layer: LayerAbout
) -> Coarse | UInt8[np.ndarray, " V"]:
    """Values as one byte where that is fine enough for the layer's scale, else as two; classes unchanged.

    0 stays exactly 0.
    """
    if layer.kind == CLASSES:
        return values.astype(np.uint8)
    low, high = min(0.0, float(values.min(initial=0.0))), max(0.0, float(values.max(initial=0.0)))
    steps = (high - low) / (2 * LAYER_ERROR * (layer.high - layer.low))
    dtype = np.uint8 if steps < np.iinfo(np.uint8).max else np.uint16
    most = int(np.iinfo(dtype).max)
    step = (high - low) / (most - 1) or 1.0  # one step is kept free, so that 0 falls on a step and both ends still fit
    below = float(np.ceil(-low / step))
    return Coarse(np.clip(np.rint(values / step) + below, 0, most).astype(dtype), step, -below * step)


def position_error(base: Coarse, deltas: Mapping[int, Coarse], box: Range) -> float:
    """Largest position error of a vertex at any shape of the range, metres: see the module."""
    reach = _reach(box)
    total = base.scale / 2 + sum(coarse.scale / 2 * reach[morph] for morph, coarse in deltas.items())
    return float(np.sqrt(3.0) * total)


def coarse_mesh(base: Points, deltas: Float[np.ndarray, "K V 3"], box: Range) -> tuple[Coarse, dict[int, Coarse]]:
    """Base and moving deltas as integers whose errors add up to less than `POSITION_ERROR`.

    The base takes what it needs in two bytes, at most half; the deltas share the rest, the same for each at its end.
    """
    allowed = SPENT * POSITION_ERROR / np.sqrt(3.0)
    moving = [morph for morph, delta in enumerate(deltas) if np.any(delta)]
    kept = coarsen(base, dtype=SMALL)
    if kept.scale / 2 > allowed / 2:
        kept = coarsen(base, dtype=WIDE, scale=allowed)
    share = (allowed - kept.scale / 2) / max(len(moving), 1)
    reach = _reach(box)
    stored = {}
    for morph in moving:
        step = 2 * share / max(float(reach[morph]), np.finfo(float).tiny)
        numbers = np.rint(deltas[morph] / step)
        narrow = float(np.abs(numbers).max()) <= np.iinfo(np.int16).max
        stored[morph] = Coarse(numbers.astype(np.int16 if narrow else np.int32), step)
    return kept, stored


def _mesh_arrays(base: Points, faces: Faces, deltas: Float[np.ndarray, "K V 3"], box: Range) -> Arrays:
    kept, stored = coarse_mesh(base, deltas, box)
    return {
        "faces": _compact(faces),
        "base": kept,
        **{f"delta/{morph}": coarse for morph, coarse in stored.items()},
    }


def _coarse_shares(shares: Float[np.ndarray, "G 3"]) -> Coarse:
    """Shares in bytes that still add up to 1: else a foot would be off by parts of the body's own height."""
    whole = int(np.iinfo(np.uint8).max)
    parts = np.clip(np.rint(shares * whole), 0, whole).astype(np.int64)
    rows = np.arange(len(parts))
    parts[rows, np.argmax(parts, axis=1)] += whole - parts.sum(axis=1)
    return Coarse(parts.astype(np.uint8), 1.0 / whole)


def _compact(indices: Int[np.ndarray, "N 3"]) -> np.ndarray:
    """Indices in the fewest bytes that hold them."""
    return indices.astype(np.uint16 if int(indices.max(initial=0)) <= np.iinfo(np.uint16).max else np.uint32)


def _reach(box: Range) -> Float[np.ndarray, " K"]:
    """Largest absolute weight of each morph; sliders cannot go beyond the range."""
    return np.maximum(np.maximum(np.abs(box.low), np.abs(box.high)), np.finfo(float).tiny)
