"""Print the table of clients in `docs/files.md`: `PYTHONPATH=src:tests python docs/clients_table.py` (Node is needed).

A guernsey of the demo, fitted to the woman, is opened by every client at one shape, as it is written by default, dense,
and small.
"""

import sys
import tempfile
from pathlib import Path

import dressform as df
from clients import HEADING, client_rows
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.formats.gltf.morphs.target_style import TargetStyle
from dressform.formats.gltf.save import save_body, save_garment
from dressform.jobs.save import made_small, write_small

SHAPE = {"belly": 1.0, "hips": 0.5}


def main() -> None:
    """Print the rows."""
    bodies = make_demo_bodies()
    made = make_wardrobe(bodies)["guernsey"]
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        save_body(bodies["woman"], folder / "woman.glb")
        save_garment(made.garment, folder / "guernsey.glb", uv=made.corner_uv, materials=made.materials)
        body = df.load_body(folder / "woman.glb")
        fit = df.fit(body, df.load_garment(folder / "guernsey.glb", beside=body))
        files = {name: folder / f"{name}.glb" for name in ("sparse", "dense", "small")}
        for name in ("sparse", "dense"):
            df.save(fit, files[name], style=TargetStyle(name))
        small = made_small(fit)
        write_small(small, files["small"])
        lines = [HEADING, *(row.line() for row in client_rows(files, SHAPE, folder)), ""]
        sizes = {name: files[name].stat().st_size / 1000 for name in ("sparse", "dense")}
        lines += [f"{name}: {size:,.0f} kB" for name, size in sizes.items()]
        sys.stdout.write("\n".join([*lines, f"small: {small.notes[-1]}"]) + "\n")


if __name__ == "__main__":
    main()
