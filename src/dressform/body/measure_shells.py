"""Which shells of a mesh make up the body: many characters consist of parts that are not joined.

A part belongs to the body where it crosses another part of it, or lies nearest to it within a small gap. Both give
edges between the parts, so that the searches for limbs walk from shell to shell as if they were one surface.
"""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from dressform.arrays import BodyPoints, Faces
from dressform.body.measure_slices import cut
from dressform.mesh.geometry import face_areas
from dressform.mesh.intersect import self_crossings
from dressform.mesh.nearest import closest
from dressform.mesh.topology import components
from dressform.mesh.tree import Tree

Bridges = Int[np.ndarray, "E 2"]
Labels = Int[np.ndarray, " F"]

SHOULDER_HEIGHT = 0.82
"""Height of the shoulder joint, of stature [Drillis1966]; a rough value serves for sorting."""

HEAD_HALF_WIDTH = 0.1
"""A part above the shoulders whose middle is nearer to the middle plane than this is head or hair, of stature."""

NECK_WINDOW, NECK_LEVELS = (0.8, 0.98), 37
"""Heights between which the neck is sought as the narrowest level, as shares of the height of the shape."""

MIN_HEAD = 0.105
"""What rises above its neck by this much has its head, of its own height; on people it is 0.13 to 0.15."""

SAME_EXTENT = 0.02
"""A shell that reaches as far as the whole but for this is the whole body, of the whole height."""

SHOULDERS_TO_NECK = 1.3
"""Below the neck there is a level at least this much wider: without shoulders there is no neck."""

WIDEST_GAP = 0.03
"""Parts farther apart than this are not joined, of the whole height, unless most of the body would be left out."""

MIN_HEIGHT = 0.9
"""While the joined parts are lower than this share of the whole height, gaps of any width are bridged."""

GAP_SLACK = 0.005
"""Vertices up to this much farther than the nearest one join two parts as well, of the whole height."""


@dataclass(frozen=True)
class Whole:
    """The body without hair, eyes and objects beside it.

    Attributes:
        faces: Its triangles, (F,).
        bridges: Edges between vertices of different shells of it, (E, 2); none where it is one shell.
    """

    faces: Bool[np.ndarray, " F"]
    bridges: Bridges


def whole_body(vertices: BodyPoints, faces: Faces) -> Whole:
    """The largest shell where it reaches as far as all shells do, hair apart; else the shells that are connected.

    Proof: tests/body/test_measure_shells.py::test_a_body_cut_into_parts_measures_as_the_whole
    """
    labels = components(faces, len(vertices))[faces[:, 0]]
    _, labels = np.unique(labels, return_inverse=True)
    largest = int(np.argmax(np.bincount(labels, weights=face_areas(vertices, faces))))
    boxes = _boxes(vertices, faces, labels)
    if _reaches_all(vertices, faces[labels == largest], boxes, largest):
        return Whole(labels == largest, np.zeros((0, 2), dtype=np.int64))
    considered = ~_aside(vertices, faces, labels, boxes, largest)[labels]
    height = float(np.ptp(boxes[..., 1]))
    crossings = self_crossings(vertices, faces)
    crossings = crossings[considered[crossings].all(axis=1) & (labels[crossings[:, 0]] != labels[crossings[:, 1]])]
    groups = _groups(labels, crossings)
    joined, bridges = _join(vertices, faces, np.where(considered, groups[labels], -1), int(groups[largest]), height)
    pairs = np.concatenate([_across(faces, crossings), *bridges])
    kept = np.zeros(len(vertices), dtype=bool)
    kept[faces[joined]] = True
    return Whole(joined, np.unique(np.sort(pairs[kept[pairs].all(axis=1)], axis=1), axis=0))


def has_head(vertices: BodyPoints, faces: Faces) -> bool:
    """Whether the shape of these triangles narrows to a neck above wider shoulders, and rises far enough above it."""
    points = vertices[np.unique(faces)]
    bottom, height = float(points[:, 1].min()), float(np.ptp(points[:, 1]))
    middle = float(points[:, 0].min() + points[:, 0].max()) / 2
    slices = cut(vertices, faces, np.array([0.0, 1.0, 0.0]), bottom + height * np.linspace(*NECK_WINDOW, NECK_LEVELS))
    out = np.abs(slices.pieces[..., 0] - middle).max(axis=1)
    widths = np.zeros(NECK_LEVELS)
    near = out < HEAD_HALF_WIDTH * height
    np.maximum.at(widths, slices.level[near], out[near])
    widths[np.bincount(slices.level[~near], minlength=NECK_LEVELS) > 0] = np.inf
    neck = int(np.argmin(np.where(widths > 0, widths, np.inf)))
    shoulders = widths[:neck].max(initial=0.0) > SHOULDERS_TO_NECK * widths[neck]
    return bool(shoulders and bottom + height - slices.levels[neck] > MIN_HEAD * height)


def _boxes(vertices: BodyPoints, faces: Faces, labels: Labels) -> Float[np.ndarray, "S 2 3"]:
    """Lowest and highest corner of each shell."""
    count = int(labels.max()) + 1
    boxes = np.stack([np.full((count, 3), np.inf), np.full((count, 3), -np.inf)], axis=1)
    np.minimum.at(boxes[:, 0], labels, vertices[faces].min(axis=1))
    np.maximum.at(boxes[:, 1], labels, vertices[faces].max(axis=1))
    return boxes


def _reaches_all(vertices: BodyPoints, shell: Faces, boxes: Float[np.ndarray, "S 2 3"], largest: int) -> bool:
    """Whether the largest shell reaches as far down, up and sideways as all shells together, hats and hair apart."""
    near = SAME_EXTENT * float(np.ptp(boxes[..., 1]))
    low = boxes[largest, 0] - boxes[:, 0].min(axis=0)
    high = boxes[:, 1].max(axis=0) - boxes[largest, 1]
    reaches = bool(max(low[0], low[1], high[0]) < near)
    return reaches and (bool(high[1] < near) or has_head(vertices, shell))


def _aside(
    vertices: BodyPoints, faces: Faces, labels: Labels, boxes: Float[np.ndarray, "S 2 3"], largest: int
) -> Bool[np.ndarray, " S"]:
    """Shells above the shoulders, by shell, that are not needed to complete the head: hair, eyes, hats."""
    bottom, height = float(boxes[:, 0, 1].min()), float(np.ptp(boxes[..., 1]))
    middle = float(boxes[:, 0, 0].min() + boxes[:, 1, 0].max()) / 2
    off = np.abs(boxes[:, :, 0].mean(axis=1) - middle)
    upper = (boxes[:, 0, 1] > bottom + SHOULDER_HEIGHT * height) & (off < HEAD_HALF_WIDTH * height)
    upper[largest] = False
    return upper if has_head(vertices, faces[~upper[labels]]) else np.zeros(len(boxes), dtype=bool)


def _groups(labels: Labels, crossings: Int[np.ndarray, "P 2"]) -> Int[np.ndarray, " S"]:
    """Group of each shell; shells that cross belong to one group."""
    count = int(labels.max()) + 1
    between = coo_array((np.ones(len(crossings)), labels[crossings].T), shape=(count, count))
    return connected_components(between, directed=False)[1]


def _across(faces: Faces, crossings: Int[np.ndarray, "P 2"]) -> Bridges:
    """Edges from every corner of a triangle to every corner of the one that it crosses."""
    first, second = (faces[crossings[:, side]] for side in (0, 1))
    return np.stack([np.repeat(first, 3, axis=1).ravel(), np.tile(second, (1, 3)).ravel()], axis=1)


def _join(
    vertices: BodyPoints, faces: Faces, groups: Labels, start: int, height: float
) -> tuple[Bool[np.ndarray, " F"], list[Bridges]]:
    """Triangles of the group `start` and of all that join it, nearest first; and the edges between them.

    Args:
        groups: Group of each triangle, -1 where it stays out.
    """
    joined, newest, bridges = groups == start, groups == start, []
    left = {int(group): np.unique(faces[groups == group]) for group in np.unique(groups[(groups >= 0) & ~joined])}
    gaps = {group: np.full(len(members), np.inf) for group, members in left.items()}
    ends = {group: np.zeros((len(members), 3), dtype=np.int64) for group, members in left.items()}
    while left:
        tree, own = Tree(vertices, faces[newest]), faces[newest]
        for group, members in left.items():
            found = closest(tree, vertices[members])
            nearer = found.distances < gaps[group]
            gaps[group] = np.where(nearer, found.distances, gaps[group])
            ends[group][nearer] = own[found.faces[nearer]]
        nearest = min(left, key=lambda group: float(gaps[group].min()))
        gap = float(gaps[nearest].min())
        if gap > WIDEST_GAP * height and np.ptp(vertices[faces[joined], 1]) >= MIN_HEIGHT * height:
            break
        near = gaps[nearest] <= gap + GAP_SLACK * height
        bridges.append(np.stack([np.repeat(left[nearest][near], 3), ends[nearest][near].ravel()], axis=1))
        newest = groups == nearest
        joined = joined | newest
        for table in (left, gaps, ends):
            table.pop(nearest)
    return joined, bridges
