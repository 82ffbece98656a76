"""What a proof at rest costs, and of how many pairs it can tell: garments of the demo as they follow, not repaired.

Seconds of processor time after one short run that compiles. `divided`: pairs that no direction tried for the whole
range proves; `open`: those that are not proven in the end.

Run: python benchmarks/bench_proof.py --garments guernsey_tight
"""

import argparse
import time

import numpy as np

from dressform.fit.make import make_fit
from dressform.proof.certificate import certify, decided
from dressform.proof.linear_mesh import linear_body, linear_cloth
from scenes import demo_scenes

FEW = 200


def main() -> None:
    """Print one row for each garment."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--garments", nargs="*", default=["guernsey_tight", "guernsey_coarse", "trousers"])
    names = parser.parse_args().garments
    print("| garment | near pairs | divided | open | certified | seconds |\n|---|---|---|---|---|---|")
    for name, (body, garment) in demo_scenes().items():
        if name not in names:
            continue
        cloth, skin = linear_cloth(make_fit(body, garment)), linear_body(body)
        warm = np.zeros((FEW, 2), dtype=np.int64)
        box = body.range.with_base()
        decided(cloth, skin, warm, box, np.full(FEW, 1.0), np.ones(FEW, dtype=bool), 2)
        begin = time.process_time()
        proof = certify(cloth, skin, body.range)
        seconds = time.process_time() - begin
        short = int((proof.bounds < proof.margin + proof.slack).sum())
        print(
            f"| {name} | {len(proof.pairs):,} | {short:,} | {int((~proof.certified).sum()):,} | {proof.share:.2%} "
            f"| {seconds:.2f} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
