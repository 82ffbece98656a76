"""Fit a garment, check it over the whole range of a body, repair it, prove it, ship it.

dressform demo saltmarsh
python examples/fit_and_ship.py saltmarsh
"""

import sys
from pathlib import Path

import dressform as df


def main(folder: Path, shapes: int) -> None:
    """Do the whole job on the guernsey of the demo that was modelled with too few vertices."""
    body = df.load_body(folder / "body.glb", base="woman")
    garment = df.load_garment(folder / "garments" / "guernsey_coarse.glb")
    fit = df.fit(body, garment, df.Following(margin_mm=2))
    print(fit)

    result = df.check(fit, shapes=shapes)  # faults, causes and advice
    print(result)

    repaired = df.repair(fit)
    print(repaired)  # before and after
    print(df.check(repaired.fit, shapes=shapes, causes=False))
    print(repaired.proof)

    for note in df.save(repaired, folder / "guernsey-fitted.glb"):
        print(note)
    df.report(result, folder / "guernsey.html")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "saltmarsh"), int(sys.argv[2]) if len(sys.argv) > 2 else 16)
