"""A tube in a picture: a small GLB whose material shows PNGs of its own, and a report of nothing but the live part."""

import io
from importlib import resources
from typing import Any

import numpy as np
from PIL import Image

from dressform.body.body import Body
from dressform.fit.fit import Fit
from dressform.formats.results.check_report import BodyReport, CheckReport, GarmentReport
from dressform.formats.results.record import Source
from dressform.formats.surfaces.laid import DressedMesh
from dressform.report.html.packs import body_pack, cloth_pack, inlined
from dressform.report.page.data import REPORT, PageScene, about
from dressform.report.page.pack import about_pack
from gltf_files import Gltf
from phantoms import tube

RED, BLUE, GREEN = (210, 30, 30), (30, 30, 210), (30, 190, 30)


def png(pixels: np.ndarray) -> bytes:
    """Pixels, (rows, columns, 3 or 4), as a PNG."""
    stream = io.BytesIO()
    Image.fromarray(pixels.astype(np.uint8)).save(stream, "PNG")
    return stream.getvalue()


def striped(*, stripes: int = 32, size: int = 256) -> np.ndarray:
    """Red and blue stripes from top to bottom of a picture; its lowest quarter is green."""
    is_red = (np.arange(size) * stripes // size) % 2 == 0
    pixels = np.tile(np.where(is_red[:, None], RED, BLUE), (size, 1, 1))
    pixels[3 * size // 4 :] = GREEN
    return pixels


def pictured_tube(
    data: bytes, *, rings: int = 4, sides: int = 12, material: Any = None, use: Any = None, sampler: Any = None
) -> Gltf:
    """A tube round the phantom, cut open at the back, in one picture whose upper edge is its upper hem."""
    vertices, faces = tube(clearance=0.02, rings=rings, sides=sides)
    seam = np.arange(rings) * sides
    vertices = np.vstack([vertices, vertices[seam]])
    across = np.concatenate([np.tile(np.arange(sides) / sides, rings), np.ones(rings)])
    up = np.concatenate([np.repeat(np.linspace(0, 1, rings), sides), np.linspace(0, 1, rings)])
    closing = (faces % sides == 0) & (faces % sides != sides - 1) & ((faces % sides).max(axis=1) == sides - 1)[:, None]
    faces = np.where(closing, rings * sides + faces // sides, faces)
    made = Gltf()
    bounds = {"min": vertices.min(axis=0).tolist(), "max": vertices.max(axis=0).tolist()}
    attributes = {
        "POSITION": made.accessor(vertices, **bounds),
        "TEXCOORD_0": made.accessor(np.stack([across, 1 - up], axis=1)),
    }
    indices = made.accessor(faces.reshape(-1, 1), "u2")
    made.tree["meshes"] = [{"primitives": [{"attributes": attributes, "indices": indices, "material": 0}]}]
    made.tree["nodes"], made.tree["scenes"] = [{"mesh": 0, "name": "tube"}], [{"nodes": [0]}]
    made.tree["images"] = [{"bufferView": made.view(data), "mimeType": "image/png"}]
    made.tree["textures"] = [{"source": 0, **({} if sampler is None else {"sampler": 0})}]
    if sampler is not None:
        made.tree["samplers"] = [sampler]
    shown = {"baseColorTexture": {"index": 0, **(use or {})}}
    made.tree["materials"] = [{"pbrMetallicRoughness": {"metallicFactor": 0.0, **shown}, **(material or {})}]
    return made


def bare_report(body: Body, fit: Fit, key: str, dressed: DressedMesh | None = None) -> str:
    """A report's live part alone, with one garment."""
    source, cloth = Source("", ""), fit.garment
    intervals = dict.fromkeys(body.morph_names, (0.0, 1.0))
    told = BodyReport(body.name, source, len(body.vertices), len(body.faces), body.stature, intervals)
    garment = GarmentReport(
        cloth.name, source, "smooth", "keep", len(cloth.vertices), len(cloth.faces), cloth.part_names, 0.0, 0.0, ()
    )
    found = about(PageScene(body, CheckReport("", {}, {}, told, (garment,), 0.0)), life=REPORT)
    colours = np.full((len(cloth.vertices), 3), 120, dtype=np.uint8)
    packs = [about_pack(found), body_pack(body), cloth_pack(body, fit, key, colours, dressed)]
    page = resources.files("dressform.report").joinpath("page")
    scripts = "".join(f'<script type="application/x-dressform-pack">{inlined(pack)}</script>' for pack in packs)
    style, script = (page.joinpath(name).read_text(encoding="utf-8") for name in ("page.css", "page.js"))
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{cloth.name}</title>'
        f'<style>{style}</style></head><body><div id="dressform"></div>{scripts}<script>{script}</script></body></html>'
    )
