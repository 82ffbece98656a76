"""Pictures of an audit: what each morph moves, as colour, and where its findings are."""

import re
from collections.abc import Sequence

import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import Faces
from dressform.audit.results import Finding, MorphAudit, PairAudit, Spot
from dressform.audit.words import SIDE_WORDS, morph_sentences, sentence
from dressform.body.body import Body
from dressform.formats.results.audit_report import name_of, weights_of
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.rays import blocked
from dressform.mesh.tree import Tree
from dressform.report.pictures.camera import Camera, close_up, framed_alike
from dressform.report.pictures.colours import CLOTH_STOPS, SKIN_STOPS, Scale
from dressform.report.pictures.picture import below, beside, legend, lettered, ringed
from dressform.report.pictures.raster import Drawable, Image, draw
from dressform.units import CM2_PER_M2, MM_PER_M

VIEWS = ("front", "back")
PANEL = (400, 620)
RINGED = 4
CLOSE_UP = 0.09  # metres, the least radius of a close-up
CLOSE_UP_SHARE = 0.75  # of a spot's own width
MIN_FACING = 0.1  # mean of normals; below it a spot faces all directions and its worst vertex decides
ENOUGH_SEEN = 0.5  # share of a spot that a close-up must show, or another side is tried
OFF_SKIN = 0.001  # metres; from where a ray to the camera starts
MIN_TOP = 1.0  # mm; a scale that ends lower would show rounding as if it were something
FLAGGED = 0.75  # how much of a flagged vertex's colour is that of the finding


def morph_picture(body: Body, one: MorphAudit | PairAudit) -> Image:
    """A morph (or a pair) at its end from the front and the back, and a close-up of its gravest finding.

    Colour is how far the skin moves; skin that a finding names is orange, its first places are ringed.
    """
    weights = body.weights(weights_of(one))
    points = body.at(weights)
    moves = MM_PER_M * np.linalg.norm(points - body.vertices, axis=1)
    scale = Scale(0.0, max(MIN_TOP, float(moves.max(initial=0.0))), CLOTH_STOPS)
    named = _named(one.findings, len(points))
    flag = Scale(0.0, 1.0, SKIN_STOPS).colours(np.ones(1))
    colours = np.where(named[:, None], FLAGGED * flag + (1 - FLAGGED) * scale.colours(moves), scale.colours(moves))
    meshes = [Drawable(points, body.faces, colours)]
    normals = vertex_normals(points, body.faces)
    spots = _first_spots(one.findings)
    cameras = framed_alike(points, VIEWS, aspect=PANEL[0] / PANEL[1])
    panels = [ringed(draw(meshes, camera, PANEL), _rings(spots, camera, points, normals)) for camera in cameras]
    if spots:
        camera = _close_by(spots[0], points, body.faces, normals)
        panels.append(draw(meshes, camera, PANEL, ground_shadow=False))
    row = beside(panels)
    legends = [legend(scale, "how far the skin moves", "mm", width=row.shape[1])]
    return lettered(below([row, *legends]), _title(one), _captions(one))


def picture_name(rank: int, one: MorphAudit | PairAudit) -> str:
    """A file name that sorts by rank and names the morph: only letters, digits, - and _."""
    return f"{rank:02d}-{re.sub(r'[^A-Za-z0-9_]+', '-', name_of(one)).strip('-') or 'morph'}.png"


def _title(one: MorphAudit | PairAudit) -> str:
    weights = " ".join(f"{name}={weight:g}" for name, weight in weights_of(one).items())
    return f"{weights}: {one.severity}"


def _captions(one: MorphAudit | PairAudit) -> list[str]:
    """What moves, then one line per finding; the number is that of its ring."""
    said = []
    if isinstance(one, MorphAudit):
        said.append(
            f"{one.moved_area * CM2_PER_M2:.0f} cm² move by up to {one.move_max * MM_PER_M:.1f} mm "
            f"({one.move_p95 * MM_PER_M:.1f} mm at the 95th percentile); left and right: {SIDE_WORDS[one.sides]}."
        )
    lines = [sentence(found) for found in one.findings] or (morph_sentences(one) if isinstance(one, MorphAudit) else [])
    for number, line in enumerate(lines, start=1):
        said.append(f"{number}: {line}" if one.findings else line)
    return said


def _named(findings: Sequence[Finding], count: int) -> Bool[np.ndarray, " B"]:
    """Vertices that any finding names."""
    named = np.zeros(count, dtype=bool)
    for found in findings:
        for spot in found.spots:
            named[spot.vertices] = True
    return named


def _first_spots(findings: Sequence[Finding]) -> list[Spot]:
    """Where each of the first findings is worst."""
    return [found.spots[0] for found in findings[:RINGED]]


def _rings(
    spots: Sequence[Spot], camera: Camera, points: Float[np.ndarray, "B 3"], normals: Float[np.ndarray, "B 3"]
) -> list[tuple[int, Float[np.ndarray, "2"]]]:
    """Numbers and pixels of the spots that face the camera."""
    rings = []
    for number, spot in enumerate(spots, start=1):
        place = points[spot.place.vertex]
        if float(normals[spot.place.vertex] @ (camera.eye - place)) > 0:
            rings.append((number, camera.project(place[None], width=PANEL[0], height=PANEL[1])[0, :2]))
    return rings


def _close_by(spot: Spot, points: Float[np.ndarray, "B 3"], faces: Faces, normals: Float[np.ndarray, "B 3"]) -> Camera:
    """A close-up of the whole spot along its normal, or else from where most of it is visible."""
    members = points[spot.vertices]
    width = float(np.linalg.norm(np.ptp(members, axis=0)))
    middle, radius = (members.min(axis=0) + members.max(axis=0)) / 2, max(CLOSE_UP, CLOSE_UP_SHARE * width)
    outward = normals[spot.vertices]
    facing = outward.mean(axis=0)
    if float(np.linalg.norm(facing)) < MIN_FACING:
        facing = normals[spot.place.vertex]
    around = np.radians(45.0 * np.arange(8))
    looks = [facing, *(np.array([np.sin(turn), rise, np.cos(turn)]) for rise in (0.1, -0.6) for turn in around)]
    cameras = [close_up(middle, radius, normal=look) for look in looks]
    tree = Tree(points, faces)
    seen = [_seen(camera, members, outward, tree) for camera in cameras]
    return cameras[0] if seen[0] >= ENOUGH_SEEN else cameras[int(np.argmax(seen))]


def _seen(camera: Camera, members: Float[np.ndarray, "N 3"], outward: Float[np.ndarray, "N 3"], tree: Tree) -> float:
    """Share of some vertices that face a camera and are not hidden."""
    starts = members + OFF_SKIN * outward
    ways = camera.eye - starts
    lengths = np.linalg.norm(ways, axis=1, keepdims=True)
    hits = blocked(tree, starts, ways / lengths, far=np.maximum(lengths[:, 0] - camera.near, 0.0))
    return float(((hits.faces < 0) & (np.einsum("nx,nx->n", ways, outward) > 0)).mean())
