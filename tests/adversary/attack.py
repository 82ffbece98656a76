"""An adversary who believes no certificate: plays fitted files as an engine does, looking for one that breaks.

    PYTHONPATH=tests python -m adversary.attack BODY.glb FITTED.glb... --base woman --shapes 2000 --ascents 60
    PYTHONPATH=tests python -m adversary.attack --tubes 10 --workers 15

The second makes a body and garments of its own, and keeps those that are certified. Nothing that judges shares code
with dressform: its own GLB reader, blending in float32, and test of segments; libigl tells inside and distance. A shape
is bad where an edge of the cloth passes through a triangle of the body or the other way round, or where a vertex of
the cloth is inside. An ascent starts at a shape and changes one weight at a time towards less room.
"""

import argparse
import json
import sys
import tempfile
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path

import igl
import numpy as np
from scipy.spatial import cKDTree

from adversary.reader import Played, read_played
from parts import Part, add_options, in_parts, words_of

WHOLE = Part()
STEPS = 12  # weights that one ascent tries to change
INSIDE = 0.5  # winding number
NEAREST = 400  # vertices of the cloth that an ascent watches


@dataclass
class Found:
    """What an attack on one garment came to.

    Attributes:
        shapes: Random shapes, corners and the base.
        ascents: Ascents.
        crossing: Shapes at which cloth and body cross.
        inside: Vertices of the cloth inside the body, summed over shapes.
        nearest: Smallest distance of a vertex of the cloth to the body that was seen, metres.
    """

    shapes: int = 0
    ascents: int = 0
    crossing: int = 0
    inside: int = 0
    nearest: float = float("inf")

    def add(self, other: "Found") -> None:
        """Count what another attack on the same garment came to as well."""
        self.shapes, self.ascents = self.shapes + other.shapes, self.ascents + other.ascents
        self.crossing, self.inside = self.crossing + other.crossing, self.inside + other.inside
        self.nearest = min(self.nearest, other.nearest)


def attack(
    body: Played, cloth: Played, limits: dict[str, tuple[float, float]], *, shapes: int, ascents: int, seed: int,
    part: Part = WHOLE,
) -> Found:  # fmt: skip
    """Look at random shapes, at corners, and at the ends of ascents, or at those of one part.

    Each is drawn by its own number, so that it is the same however the work is shared out.
    """
    found = Found()
    for number in part.own(range(shapes)):
        _look(body, cloth, _shape(np.random.default_rng((seed, 0, number)), limits, number), found)
        found.shapes += 1
    for number in part.own(range(ascents)):
        _look(body, cloth, _ascent(body, cloth, limits, np.random.default_rng((seed, 1, number))), found)
        found.ascents += 1
    return found


def _shape(random: np.random.Generator, limits: dict[str, tuple[float, float]], number: int) -> dict[str, float]:
    """The base, then corners and even draws by turns."""
    if number == 0:
        return {}
    if number % 2:
        return {name: float(random.choice(ends)) for name, ends in limits.items()}
    return {name: float(random.uniform(*ends)) for name, ends in limits.items()}


def _look(body: Played, cloth: Played, weights: dict[str, float], found: Found) -> None:
    skin, worn = body.at(weights).astype(np.float64), cloth.at(weights).astype(np.float64)
    found.crossing += crosses(worn, cloth.faces, skin, body.faces) or crosses(skin, body.faces, worn, cloth.faces)
    found.inside += int((igl.fast_winding_number(skin, body.faces, worn) > INSIDE).sum())
    found.nearest = min(found.nearest, _room(skin, body.faces, worn))


def crosses(points: np.ndarray, faces: np.ndarray, corners: np.ndarray, triangles: np.ndarray) -> bool:
    """Whether an edge of one mesh passes through a triangle of another [Moller1997]."""
    edges = points[_edges(faces.tobytes())]
    cells = corners[triangles]
    middles, centres = edges.mean(axis=1), cells.mean(axis=1)
    reach = np.linalg.norm(edges - middles[:, None], axis=2).max(axis=1)
    radii = np.linalg.norm(cells - centres[:, None], axis=2).max(axis=1)
    near = cKDTree(centres).query_ball_point(middles, reach + radii.max())
    counts = np.array([len(one) for one in near])
    if not counts.any():
        return False
    edge, cell = np.repeat(np.arange(len(edges)), counts), np.concatenate([one for one in near if one]).astype(int)
    return bool(passes(edges[edge, 0], edges[edge, 1], cells[cell]).any())


@lru_cache(maxsize=4)
def _edges(faces: bytes) -> np.ndarray:
    """Each edge of some triangles once, (E, 2)."""
    corners = np.frombuffer(faces, dtype=np.int64).reshape(-1, 3)
    return np.unique(np.sort(corners[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1), axis=0)


def passes(start: np.ndarray, end: np.ndarray, cells: np.ndarray) -> np.ndarray:
    """Whether each segment meets its triangle: its line meets the plane between its ends, inside all three sides."""
    along, first, second = end - start, cells[:, 1] - cells[:, 0], cells[:, 2] - cells[:, 0]
    across = np.cross(along, second)
    scale = np.einsum("ij,ij->i", first, across)
    flat = scale == 0.0
    share = 1.0 / np.where(flat, 1.0, scale)
    offset = start - cells[:, 0]
    u = share * np.einsum("ij,ij->i", offset, across)
    turned = np.cross(offset, first)
    v = share * np.einsum("ij,ij->i", along, turned)
    t = share * np.einsum("ij,ij->i", second, turned)
    return ~flat & (u >= 0) & (v >= 0) & (u + v <= 1) & (t >= 0) & (t <= 1)


def _room(skin: np.ndarray, faces: np.ndarray, points: np.ndarray) -> float:
    """Smallest distance of the points to a surface, metres."""
    return float(np.sqrt(igl.point_mesh_squared_distance(points, skin, faces)[0].min()))


def _ascent(
    body: Played, cloth: Played, limits: dict[str, tuple[float, float]], random: np.random.Generator
) -> dict[str, float]:
    """Change one weight at a time towards the end at which the watched vertices have less room."""
    weights = {name: float(random.uniform(*ends)) for name, ends in limits.items()}
    watched = random.choice(len(cloth.base), size=min(NEAREST, len(cloth.base)), replace=False)
    least = _watched(body, cloth, weights, watched)
    for name in random.choice(list(limits), size=min(STEPS, len(limits)), replace=False):
        for end in limits[name]:
            tried = {**weights, str(name): float(end)}
            room = _watched(body, cloth, tried, watched)
            if room < least:
                weights, least = tried, room
    return weights


def _watched(body: Played, cloth: Played, weights: dict[str, float], watched: np.ndarray) -> float:
    return _room(body.at(weights).astype(np.float64), body.faces, cloth.at(weights)[watched].astype(np.float64))


def certified_tubes(folder: Path, count: int) -> tuple[Path, list[Path]]:
    """A body and garments that differ in room, height and fineness, fitted, saved and fully certified: their files."""
    import dressform as df  # noqa: PLC0415  # makes what is attacked, and judges nothing
    from dressform.formats.gltf.save import save_body, save_garment  # noqa: PLC0415
    from dressform.garment.garment import Garment  # noqa: PLC0415
    from phantoms import phantom_body, tube  # noqa: PLC0415

    save_body([phantom_body()], folder / "body.glb")
    body, made = df.load_body(folder / "body.glb"), []
    for number in range(count):
        shape = {
            "clearance": 0.008 + 0.004 * number,
            "bottom": 0.5 + 0.04 * (number % 4),
            "rings": 16 + 4 * (number % 5),
        }
        path = folder / f"tube-{number + 1}.glb"
        save_garment(Garment.of(path.stem, *tube(**shape)), path)  # type: ignore[arg-type]
        fit = df.fit(body, df.load_garment(path, beside=body))
        end = fit if df.prove(fit).complete else df.repair(fit).fit
        if df.prove(end).complete:
            made.append(folder / f"{path.stem}-fitted.glb")
            df.save(end, made[-1])
    return folder / "body.glb", made


def main() -> int:
    """Read the command line, attack, and print a row per garment."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("body", type=Path, nargs="?")
    parser.add_argument("fitted", type=Path, nargs="*")
    parser.add_argument("--base", help="node or mesh of the body, where the file holds several")
    for name, count in (("shapes", 2000), ("ascents", 60), ("seed", 7), ("tubes", 0)):
        parser.add_argument(f"--{name}", type=int, default=count)
    add_options(parser)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        body, fitted = certified_tubes(Path(name), asked.tubes) if asked.tubes else (asked.body, asked.fitted)
        if asked.workers > 1:
            words = words_of(asked, without=["body", "fitted", "tubes"])
            told = in_parts("adversary.attack", [str(body), *map(str, fitted), *words], asked.workers)
            found = {path.stem: Found() for path in fitted}
            for garment, one in ((garment, one) for part in told for garment, one in part.items()):
                found[garment].add(Found(**one))
        else:
            played = read_played(body, node=asked.base)
            found = {path.stem: _attacked(played, path, asked) for path in fitted}
    if asked.json:
        print(json.dumps({garment: asdict(one) for garment, one in found.items()}))
        return 0
    print("| garment | shapes | ascents | crossing | vertices inside | nearest, mm |\n|---|---|---|---|---|---|")
    for garment, one in found.items():
        row = (garment, one.shapes, one.ascents, one.crossing, one.inside, f"{1000 * one.nearest:.2f}")
        print("| " + " | ".join(map(str, row)) + " |")
    return int(any(one.crossing + one.inside for one in found.values()))


def _attacked(body: Played, path: Path, asked: argparse.Namespace) -> Found:
    """Attack one garment, or do one part of it."""
    limits, counts = dict.fromkeys(body.targets, (0.0, 1.0)), {"shapes": asked.shapes, "ascents": asked.ascents}
    return attack(body, read_played(path), limits, **counts, seed=asked.seed, part=asked.part)


if __name__ == "__main__":
    sys.exit(main())
