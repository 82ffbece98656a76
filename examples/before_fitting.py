"""Look at a body and a garment before anything is fitted: morphs, tape measures, the shape it was modelled on.

dressform demo saltmarsh
python examples/before_fitting.py saltmarsh
"""

import sys
from pathlib import Path

import dressform as df


def main(folder: Path) -> None:
    """Audit the woman of the demo, measure her, and find out which shape a guernsey was modelled on."""
    body = df.load_body(folder / "body.glb", base="woman")
    print(df.audit(body, pairs=0))  # what is wrong with the morphs themselves
    print(df.measure(body, {"belly": 1.0, "hips": 0.5}))
    print(df.measure(body, find={"waist": 80, "hip": 104}))  # cm; the nearest shape that a wearer may reach

    garment = df.load_garment(folder / "garments" / "guernsey_larger.glb", beside=body)
    print(df.infer_shape(body, garment))


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "saltmarsh"))
