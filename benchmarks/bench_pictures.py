"""What a picture costs: a body of about 20,000 triangles drawn at 800 × 800, and saved as PNG.

Run `python benchmarks/bench_pictures.py`. The rows of `docs/decisions/rasteriser.md` come from here.
"""

import io
from collections.abc import Callable
from time import perf_counter

import numpy as np
from PIL import Image

from dressform.demo.body import make_demo_bodies
from dressform.mesh.geometry import vertex_normals
from dressform.report.pictures.camera import framed
from dressform.report.pictures.picture import png_bytes
from dressform.report.pictures.raster import SAMPLES, Drawable, draw
from dressform.report.pictures.raster_kernels import rasterise

SIZE = (800, 800)
RUNS = 7


def main() -> None:
    """Print one row per step."""
    body = make_demo_bodies()["woman"]
    mesh = Drawable(body.vertices, body.faces)
    image = draw([mesh], "front", SIZE)
    camera = framed(body.vertices, "front", aspect=1.0)
    width, height = SIZE[0] * SAMPLES, SIZE[1] * SAMPLES
    screen = camera.project(body.vertices, width=width, height=height)
    ones = np.ones(len(screen))
    rows = {
        f"z-buffer alone, {SAMPLES} × {SAMPLES} samples a pixel": lambda: rasterise(
            screen, -screen[:, 2], ones, body.faces.astype(np.int64), camera.near, width, height
        ),
        "normals of the vertices": lambda: vertex_normals(body.vertices, body.faces),
        "the whole picture: two lights, shadow, occlusion, ground": lambda: draw([mesh], "front", SIZE),
        "as PNG, as this program saves it": lambda: png_bytes(image),
        "as PNG, at the level that Pillow takes": lambda: saved(image),
    }
    print(f"{len(body.faces)} triangles, {SIZE[0]} × {SIZE[1]} pixels")
    print("| step | median ms |")
    print("|---|---|")
    for name, work in rows.items():
        print(f"| {name} | {median_ms(work):.1f} |")


def median_ms(work: Callable[[], object]) -> float:
    """Median time of some runs, after one that compiles."""
    work()
    spent = []
    for _ in range(RUNS):
        start = perf_counter()
        work()
        spent.append(1e3 * (perf_counter() - start))
    return float(np.median(spent))


def saved(image: np.ndarray) -> bytes:
    """PNG bytes at Pillow's own level."""
    stream = io.BytesIO()
    Image.fromarray(image).save(stream, "PNG")
    return stream.getvalue()


if __name__ == "__main__":
    main()
