"""Cloth that settles: smoothed by its own tension, held off the body by contact, hems kept in their line."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import csr_array

from dressform.arrays import BodyPoints, Faces, Points, VertexScalars
from dressform.demo.tailor.cloth import Cloth, mean_of
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree

TENSION = 0.5  # share of the way to the mean of its neighbours that a vertex goes each round
STRAIGHT = 0.7  # cosine of the turn above which a line goes on round a vertex
DEEPEST = 0.02  # metres
EVENING_ROUNDS = 12
CLEARING_ROUNDS = 12
THIRD = 1 / 3
CLEARING_SHARES = (
    (THIRD, THIRD, THIRD),
    *((0.5, 0.5, 0.0), (0.5, 0.0, 0.5), (0.0, 0.5, 0.5)),
    *((0.7, 0.15, 0.15), (0.15, 0.7, 0.15), (0.15, 0.15, 0.7)),
)
UNSHRINK = 0.53  # Taubin's second, outward step; slightly larger than the first, so the volume stays


@dataclass(frozen=True)
class SupportingBody:
    """The body that the cloth rests on.

    Attributes:
        tree: Its triangles.
    """

    tree: Tree

    @classmethod
    def of(cls, vertices: BodyPoints, faces: Faces) -> "SupportingBody":
        """The figure of a mesh."""
        return cls(Tree(vertices, faces))

    def distance(self, points: Points) -> Float[np.ndarray, " V"]:
        """Signed distance from the skin, outside positive, metres, (V,)."""
        return signed_clearance(self.tree, points)[0]

    def held_off(self, points: Points, clearance: VertexScalars | float) -> Points:
        """Points nearer to the skin than `clearance`, moved out to it along the shortest way, (V, 3).

        Points deeper inside than `DEEPEST` are taken for lost, not for near.
        """
        within = float(np.max(clearance, initial=0.0)) + DEEPEST
        distance, nearest = signed_clearance(self.tree, points, within=within)
        with_way = np.abs(distance) > 1e-9  # false, too, where nothing is near
        outward = (points - nearest.points) / np.where(with_way, distance, np.inf)[:, None]
        short = np.where(with_way, np.maximum(clearance - distance, 0.0), 0.0)
        return points + short[:, None] * np.where(with_way[:, None], outward, 0.0)

    def drawn_to(self, points: Points, clearance: VertexScalars | float, *, reach: VertexScalars | float) -> Points:
        """Points nearer to the skin than `reach`, moved to `clearance` along the shortest way; the others stay."""
        distance, nearest = signed_clearance(self.tree, points)
        outward = (points - nearest.points) / np.where(np.abs(distance) > 1e-9, distance, np.inf)[:, None]
        return points + np.where(distance < reach, clearance - distance, 0.0)[:, None] * outward


def settled(
    cloth: Cloth,
    figure: SupportingBody | None,
    *,
    clearance: VertexScalars | float = 0.0,
    rounds: int,
    tension: float = TENSION,
    keep_volume: bool = False,
) -> Cloth:
    """Smooth the cloth, holding it off the figure after every round.

    Openings keep their line: their vertices slide along it. So settle first and cut the openings afterwards.

    Args:
        cloth: The sheet.
        figure: What it rests on, or None for nothing.
        clearance: Least distance from the skin, metres, for all or per vertex.
        rounds: How often.
        tension: Share of the way to the neighbours' mean per step.
        keep_volume: Follow each step by one outward [Taubin1995], so that loose cloth is smoothed without drawing in.
    """
    mean, lines = cloth.umbrella(), _Lines.of(cloth, cloth.boundary)
    vertices = cloth.vertices
    for _ in range(rounds):
        for size in (tension, -UNSHRINK / TENSION * tension) if keep_volume else (tension,):
            vertices = vertices + lines.sliding(vertices, size * (mean @ vertices - vertices), size)
        if figure is not None:
            vertices = figure.held_off(vertices, clearance)
    return cloth.moved(vertices)


def evened(
    cloth: Cloth, figure: SupportingBody | None, *, clearance: VertexScalars | float = 0.0, rounds: int = EVENING_ROUNDS
) -> Cloth:
    """Even the triangles without changing the shape: vertices slide in the cloth, on seams and openings along them.

    Arguments are those of `settled`. The last step of a garment that has been cut into panels.
    """
    mean, lines = cloth.umbrella(), _Lines.of(cloth, cloth.seams)
    vertices = cloth.vertices
    for _ in range(rounds):
        step = TENSION * (mean @ vertices - vertices)
        normal = vertex_normals(vertices, cloth.faces)
        step -= (step * normal).sum(axis=1, keepdims=True) * normal
        vertices = vertices + lines.sliding(vertices, step, TENSION)
        if figure is not None:
            vertices = figure.held_off(vertices, clearance)
    return cloth.moved(vertices)


@dataclass(frozen=True)
class _Lines:
    """Lines in the cloth along which alone their vertices may move.

    Attributes:
        edges: Directed edges of the lines, (E, 2).
        on: Their vertices, (L,).
        ends: Where a line ends or several meet: these stay, (V,).
        mean: Mean of the neighbours on the line, (V, V).
    """

    edges: Int[np.ndarray, "E 2"]
    on: Int[np.ndarray, " L"]
    ends: Bool[np.ndarray, " V"]
    mean: csr_array

    @classmethod
    def of(cls, cloth: Cloth, edges: Int[np.ndarray, "E 2"]) -> "_Lines":
        """The lines that these edges form; where one turns a corner it ends."""
        count = len(cloth.vertices)
        degree = np.bincount(edges.ravel(), minlength=count)
        on = np.flatnonzero(degree)
        ends = degree != 2
        ends[on] |= _spread(cloth.vertices, edges, on)[0] < 1 + STRAIGHT
        return cls(edges, on, ends, mean_of(np.sort(edges, axis=1), count))

    def sliding(self, vertices: Points, step: Points, size: float) -> Points:
        """`step`, but on the lines only what goes along them; the ends of lines stay."""
        if self.on.size == 0:
            return step
        slide = size * (self.mean @ vertices - vertices)[self.on]
        tangent = _spread(vertices, self.edges, self.on)[1]
        limited = step.copy()
        along = (slide * tangent).sum(axis=1, keepdims=True) * tangent
        limited[self.on] = np.where(self.ends[self.on][:, None], 0.0, along)
        return limited


def _spread(
    vertices: Points, edges: Int[np.ndarray, "E 2"], on: Int[np.ndarray, " L"]
) -> tuple[Float[np.ndarray, " L"], Float[np.ndarray, "L 3"]]:
    """How far the edges at a vertex go one way, whichever way they run: the greatest eigenvalue of their outer
    products and its direction. Two edges in line give 2, at a right angle 1."""
    run = vertices[edges[:, 1]] - vertices[edges[:, 0]]
    run /= np.maximum(np.linalg.norm(run, axis=1, keepdims=True), 1e-12)
    outer = run[:, :, None] * run[:, None, :]
    total = np.zeros((len(vertices), 3, 3))
    np.add.at(total, edges[:, 0], outer)
    np.add.at(total, edges[:, 1], outer)
    values, ways = np.linalg.eigh(total[on])
    return values[:, 2], ways[:, :, 2]


def cleared(cloth: Cloth, figure: SupportingBody, *, margin: float, min_edge: float) -> Cloth:
    """Triangles with a side over `min_edge` moved out until what lies between their corners is `margin` off."""
    sides = cloth.vertices[cloth.faces] - cloth.vertices[np.roll(cloth.faces, 1, axis=1)]
    large = np.flatnonzero(np.linalg.norm(sides, axis=2).max(axis=1) > min_edge)
    for _ in range(CLEARING_ROUNDS):
        corner = cloth.vertices[cloth.faces[large]]
        short = np.zeros(len(large))
        for share in CLEARING_SHARES:
            short = np.maximum(short, margin - figure.distance(np.einsum("fcx,c->fx", corner, np.array(share))))
        if not np.any(short > 0):
            break
        push = np.zeros(len(cloth.vertices))
        for column in range(3):
            np.maximum.at(push, cloth.faces[large, column], short)
        cloth = cloth.moved(cloth.vertices + push[:, None] * vertex_normals(cloth.vertices, cloth.faces))
    return cloth
