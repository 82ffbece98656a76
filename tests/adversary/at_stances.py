"""The adversary at stances: of the pairs that are certified there, none may ever meet, whatever the shape.

    PYTHONPATH=tests python -m adversary.at_stances BODY.glb FITTED.glb --base woman --shapes 200

Stances are those of the receipt beside the fitted garment. dressform says which pairs of triangles it has certified at
each; the adversary plays both files by a reader, joints, correctives and blending of his own, in float32, and tests
whether an edge of one triangle passes through the other. Pairs that are left out as contact are nobody's claim.
"""

import argparse
import json
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from adversary.attack import passes
from adversary.skinned import Skinned, read_skinned


@dataclass
class Met:
    """What an attack came to.

    Attributes:
        looks: Shapes times stances.
        pairs: Certified pairs that were tested, summed over the looks.
        meeting: Of these, how many meet.
    """

    looks: int = 0
    pairs: int = 0
    meeting: int = 0


def attack_pairs(
    body: Skinned, cloth: Skinned, pairs: np.ndarray, worlds: dict[str, np.ndarray], weights: dict[str, float], met: Met
) -> None:
    """Play both at one shape and stance, and count the pairs (cloth face, body face) that meet, (P, 2)."""
    worn, skin = (one.at(weights, {}, worlds=worlds).astype(float) for one in (cloth, body))
    first, second = worn[cloth.played.faces[pairs[:, 0]]], skin[body.played.faces[pairs[:, 1]]]
    hit = np.zeros(len(pairs), dtype=bool)
    for one, other in ((first, second), (second, first)):
        for corner in range(3):
            hit |= passes(one[:, corner], one[:, (corner + 1) % 3], other)
    met.looks, met.pairs, met.meeting = met.looks + 1, met.pairs + len(pairs), met.meeting + int(hit.sum())


def shapes_of(limits: dict[str, tuple[float, float]], count: int, seed: int) -> list[dict[str, float]]:
    """The base, then corners of the range and even draws by turns."""
    random, found = np.random.default_rng(seed), [{name: 0.0 for name in limits}]
    for number in range(1, count):
        draws = [random.choice(ends) if number % 2 else random.uniform(*ends) for ends in limits.values()]
        found.append(dict(zip(limits, map(float, draws))))
    return found


def joints_at(receipt: dict[str, object]) -> dict[str, np.ndarray]:
    """Joint-to-world transforms of one stance of a receipt, (4, 4) by name."""
    rows = receipt["joints"]
    assert isinstance(rows, dict)
    return {name: np.vstack([np.array(row).reshape(3, 4), [0, 0, 0, 1]]) for name, row in rows.items()}


def main() -> int:
    """Read the command line, attack every stance of the receipt, and print a row for each."""
    import dressform as df  # noqa: PLC0415  # says what it claims, and judges nothing
    from dressform.formats.results.stance_records import read_stances  # noqa: PLC0415
    from dressform.jobs.save import receipt_beside  # noqa: PLC0415

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("body", type=Path)
    parser.add_argument("fitted", type=Path)
    parser.add_argument("--base", help="name of the base body, where the file holds several")
    parser.add_argument("--shapes", type=int, default=200)
    parser.add_argument("--seed", type=int, default=7)
    asked = parser.parse_args()
    read = df.load_body(asked.body, base=asked.base)
    beside = receipt_beside(asked.fitted)
    proof = df.prove(df.load_fit(asked.fitted, read), stances=read_stances(None, beside, read))
    records = json.loads(beside.read_text())["proof"]["stances"]
    limits = {name: (low, high) for name, low, high in zip(read.range.names, read.range.low, read.range.high)}
    body, cloth = read_skinned(asked.body, name=asked.base), read_skinned(asked.fitted)
    sys.stdout.write("| stance | certified pairs | looks | pairs tested | meeting |\n|" + "---|" * 5 + "\n")
    bad = 0
    for found, record in zip(proof.stances, records):
        met, sure = Met(), found.pairs[found.certified]
        for weights in shapes_of(limits, asked.shapes, asked.seed):
            attack_pairs(body, cloth, sure, joints_at(record), weights, met)
        sys.stdout.write(f"| {found.stance.name} | {len(sure):,} | {met.looks} | {met.pairs:,} | {met.meeting} |\n")
        bad += met.meeting
    return int(bad > 0)


if __name__ == "__main__":
    raise SystemExit(main())
