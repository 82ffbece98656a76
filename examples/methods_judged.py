"""Judge ways to make a garment follow that are not dressform's: targets of a file, somebody's code, a folder of meshes.

Run it in the folder that `dressform demo` filled: `python methods_judged.py`.
"""

import csv
import sys
from pathlib import Path

import numpy as np

import dressform as df

CODE = Path(__file__).resolve().parent / "methods" / "harbour.py"
BAKED = ({"belly": 1.0}, {"hips": 1.0}, {"belly": 1.0, "hips": 1.0})


def write_obj(path: Path, vertices: np.ndarray, faces: np.ndarray) -> None:
    lines = [f"v {x:.9g} {y:.9g} {z:.9g}" for x, y, z in vertices]
    path.write_text("\n".join([*lines, *(f"f {a} {b} {c}" for a, b, c in faces + 1)]) + "\n", encoding="utf-8")


def main() -> None:
    body = df.load_body("body.glb", base="woman")
    guernsey = df.load_garment("garments/guernsey.glb", beside=body)

    # Somebody's code that returns targets, in a process of its own: a plain fit, to be repaired, proven and shipped.
    pinned = df.fit(body, guernsey, df.Following(method=f"{CODE}:pinned"))
    df.save(pinned, "guernsey-pinned.glb")

    # The file just written, measured as it is: what any program baked into it under the names of the body's morphs.
    filed = df.fit(body, df.load_garment("guernsey-pinned.glb", beside=body), df.Following(method="file"))
    print(filed.garment.notes[-2])

    # Code that is no linear function of the weights is asked shape by shape. What targets would lose is told.
    slack = df.fit(body, guernsey, df.Following(method=f"{CODE}:slack"))
    print(next(note for note in slack.garment.notes if "no linear function" in note))

    # Where code cannot be called, it can bake a mesh per shape, with a table of weights.
    folder = Path("baked")
    folder.mkdir(exist_ok=True)
    write_obj(folder / "base.obj", slack.base, guernsey.faces)
    with (folder / "shapes.csv").open("w", newline="", encoding="utf-8") as file:
        table = csv.writer(file)
        table.writerow(["mesh", "belly", "hips"])
        for number, weights in enumerate(BAKED):
            write_obj(folder / f"{number}.obj", slack.at(weights), guernsey.faces)
            table.writerow([f"{number}.obj", weights.get("belly", 0.0), weights.get("hips", 0.0)])
    baked = df.fit(body, df.load_garment(folder / "base.obj", beside=body), df.Following(method=f"folder:{folder}"))
    print(baked)

    found = df.check({"file": filed, "baked": baked}, shapes=int(sys.argv[1]), causes=False)
    for key, rows in found.swept.worst().items():
        print(f"{key}: pucker up to {rows['pucker'].values['pucker']:.4f}")


if __name__ == "__main__":
    main()
