"""The wardrobe of Saltmarsh: the keepers' garments, and beside the good ones three with a fault built in.

Deterministic, made in some seconds, then kept in the cache. What is wrong with which garment is written down in
`truth.toml`; `wardrobe_truth.read_truth` reads it.
"""

import hashlib
import os
from collections.abc import Callable, Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Float

from dressform.arrays import ClothPoints
from dressform.body.body import Body
from dressform.demo.cache import cached, source_key
from dressform.demo.garments import clogs, coat, gloves, guernsey, skirt, souwester, trousers, waistcoat
from dressform.demo.tailor import fabrics
from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.fabrics import Fabric
from dressform.demo.tailor.panels import laid_out
from dressform.demo.tailor.wearer import Wearer
from dressform.formats.gltf.materials import Material
from dressform.garment.garment import FULL_STRENGTH, Garment
from dressform.report.pictures.raster import Drawable

# Taken when this module is loaded, so that arrays are never kept under the key of sources edited since.
CODE = source_key(("wardrobe.py", "garments/*.py", "tailor/*.py"))
WOMAN, MAN = "woman", "man"


@dataclass(frozen=True)
class Design:
    """How one garment of the wardrobe is made.

    Attributes:
        make: Cuts it for a wearer.
        part_names: Names of its parts.
        fabrics: One per part.
        made_on: The base body that it is cut for.
        made_at: Weights of the shape that it is cut for, where that is not the base.
    """

    make: Callable[[Wearer], Cloth]
    part_names: tuple[str, ...]
    fabrics: tuple[Fabric, ...]
    made_on: str = WOMAN
    made_at: tuple[tuple[str, float], ...] = ()


KNITTED = (guernsey.PARTS, (fabrics.GUERNSEY_WOOL, fabrics.GUERNSEY_RIB))
OILED = (fabrics.OILSKIN, fabrics.OILSKIN)
FACED = (*OILED, fabrics.OILSKIN_FACING, fabrics.OILSKIN_FACING)
COAT = (coat.coat, coat.PARTS, FACED)
TROUSERS = (trousers.trousers, trousers.PARTS, (fabrics.CANVAS, fabrics.CANVAS))
BUTTONED = (fabrics.TWEED, *(fabrics.BRASS for _ in waistcoat.PARTS[1:]))
WAISTCOAT = (waistcoat.waistcoat, waistcoat.PARTS, BUTTONED)
CLOGS = (clogs.clogs, clogs.PARTS, (fabrics.WOOD, fabrics.WOOD))
HAT = (souwester.souwester, souwester.PARTS, OILED)
GLOVED = (fabrics.GREY_WOOL, fabrics.GREY_RIB, fabrics.GREY_WOOL, fabrics.GREY_RIB)
TRIED_ON = 0.003
LARGER = (("girth", 0.8), ("belly", 0.5), ("hips", 0.5))
"""Weights of the shape that `guernsey_larger` was cut for."""

DESIGNS: dict[str, Design] = {
    "coat": Design(*COAT),
    "guernsey": Design(guernsey.guernsey, *KNITTED),
    "trousers": Design(*TROUSERS),
    "waistcoat": Design(*WAISTCOAT),
    "skirt": Design(skirt.skirt, skirt.PARTS, (fabrics.FLANNEL, fabrics.FLANNEL)),
    "clogs": Design(*CLOGS),
    "souwester": Design(*HAT),
    "gloves": Design(gloves.gloves, gloves.PARTS, GLOVED),
    "guernsey_larger": Design(guernsey.guernsey, *KNITTED, made_at=LARGER),
    "guernsey_coarse": Design(guernsey.coarse_guernsey, *KNITTED),
    "guernsey_tight": Design(guernsey.tight_guernsey, *KNITTED),
    "man_coat": Design(*COAT, made_on=MAN),
    "man_guernsey": Design(guernsey.guernsey, *KNITTED, made_on=MAN),
    "man_trousers": Design(*TROUSERS, made_on=MAN),
    "man_waistcoat": Design(*WAISTCOAT, made_on=MAN),
    "man_clogs": Design(*CLOGS, made_on=MAN),
    "man_souwester": Design(*HAT, made_on=MAN),
}

LEVELS: dict[str, Design] = {"guernsey_level": Design(guernsey.guernsey_level, *KNITTED)}
"""Coarser levels of detail of garments, which are worn in their stead far away."""

OUTFITS: dict[str, tuple[str, ...]] = {
    "at the nets": ("trousers", "guernsey", "waistcoat", "clogs"),
    "ashore": ("skirt", "guernsey", "gloves", "clogs"),
    "in the rain": ("trousers", "gloves", "coat", "souwester", "clogs"),
    "the mate": ("man_trousers", "man_guernsey", "man_waistcoat", "man_clogs"),
    "the keeper": ("man_trousers", "man_guernsey", "man_coat", "man_souwester", "man_clogs"),
}
"""What is worn together, from the skin outward."""


@dataclass(frozen=True)
class DemoGarment:
    """A garment of the demo, with what its file needs.

    Attributes:
        garment: The welded cloth and its parts.
        corner_uv: Texture coordinates per corner, v from the top, (F, 3, 2); they differ along seams.
        sheet: Metres of cloth that the texture square is wide.
        fabrics: One per part.
        made_on: Name of the body that it is cut for.
        made_at: Weights of the shape that it is cut for; empty for the base.
    """

    garment: Garment
    corner_uv: Float[np.ndarray, "F 3 2"]
    sheet: float
    fabrics: tuple[Fabric, ...]
    made_on: str
    made_at: Mapping[str, float]

    @cached_property
    def materials(self) -> tuple[Material, ...]:
        """One glTF material per part, pictures included."""
        drawn = {fabric.name: fabric.material(self.sheet) for fabric in self.fabrics}
        return tuple(drawn[fabric.name] for fabric in self.fabrics)

    def drawables(self, vertices: ClothPoints | None = None) -> list[Drawable]:
        """One mesh per part in its colour, at other vertices if given, for a picture."""
        garment = self.garment
        places = garment.vertices if vertices is None else vertices
        return [
            Drawable(places, garment.faces[garment.face_parts == part], fabric.tint, fabric.gloss)
            for part, fabric in enumerate(self.fabrics)
        ]


def make_wardrobe(bodies: Mapping[str, Body], *, names: Iterable[str] = DESIGNS) -> dict[str, DemoGarment]:
    """Garments by name, cut for the bodies `woman` and `man`; all but coarser levels unless some are named."""
    digest = hashlib.sha256()
    for build in sorted(bodies):
        for array in (bodies[build].vertices, bodies[build].deltas):
            digest.update(np.ascontiguousarray(array).tobytes())
    key = f"{CODE}-{digest.hexdigest()[:16]}"

    def made(name: str) -> DemoGarment:
        design = (DESIGNS | LEVELS)[name]
        return _garment(name, design, cached(name, key, lambda: _cut(name, design, bodies)))

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        return dict(zip(names, pool.map(made, names)))


def make_garment(name: str, bodies: Mapping[str, Body]) -> DemoGarment:
    """One garment, made afresh."""
    design = (DESIGNS | LEVELS)[name]
    return _garment(name, design, _cut(name, design, bodies))


def _cut(name: str, design: Design, bodies: Mapping[str, Body]) -> dict[str, np.ndarray]:
    """All arrays of one garment, flat, as the cache keeps them."""
    body = bodies[design.made_on]
    weights = body.weights(dict(design.made_at)) if design.made_at else None
    cloth = design.make(Wearer.of(body, weights))
    if weights is not None:
        # Its maker has tried it at the base, too, and eased what stuck into the skin there.
        cloth = cloth.moved(Wearer.of(body).figure.held_off(cloth.vertices, TRIED_ON))
    corner_uv, sheet = laid_out(cloth)
    return {
        f"{name}.vertices": cloth.vertices,
        f"{name}.faces": cloth.faces,
        f"{name}.parts": cloth.parts,
        f"{name}.corner_uv": corner_uv,
        f"{name}.sheet": np.array(sheet),
    }


def _garment(name: str, design: Design, arrays: Mapping[str, np.ndarray]) -> DemoGarment:
    vertices = arrays[f"{name}.vertices"]
    garment = Garment(
        name,
        vertices,
        arrays[f"{name}.faces"],
        design.part_names,
        arrays[f"{name}.parts"],
        np.full(len(vertices), FULL_STRENGTH),
    )
    uv, sheet = arrays[f"{name}.corner_uv"], float(arrays[f"{name}.sheet"])
    return DemoGarment(garment, uv, sheet, design.fabrics, design.made_on, dict(design.made_at))
