"""Whether the files can be a body and its garments: checked once by every job, before it begins.

Refused is what makes every figure wrong: two bodies read as one, a garment that holds the body, a body without morphs
for a job that asks how cloth follows them (and, while a garment is read, body and garment swapped). A note reports what
may be intended: clothing in the body's file, a garment with more morphs than its body, a body without morphs that is
only measured.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from dressform.arrays import Faces, Points
from dressform.body.body import Body
from dressform.body.measure_shells import SHOULDER_HEIGHT
from dressform.errors import FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.frames.standing import is_person, refuse_swapped
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.read import read_scene
from dressform.formats.load import BodyFile, GarmentFile
from dressform.formats.match import check_match
from dressform.garment.garment import Garment
from dressform.mesh.geometry import face_areas
from dressform.mesh.inside import Winding
from dressform.mesh.nearest import closest
from dressform.mesh.topology import face_components
from dressform.mesh.tree import Tree

PERSON_HEIGHT = 0.5
"""A part that may be a whole body is at least so tall, of the whole file's height."""

CLOTH_AREA = 0.08
"""A part of a body's file that may be clothing has at least this share of the body's area."""

CLOTH_OUTSIDE = 0.6
"""At least this share of it lies outside the body."""

SAME_SKIN, SAME_SHARE = 1e-3, 0.95
"""This share of a copy of the body lies this near to the skin, metres."""

SAMPLES = 1000


@dataclass(frozen=True, eq=False)
class FilePart:
    """Something that a file holds beside others.

    Attributes:
        name: Of its node, part, or number.
        vertices: All of the file, (V, 3), metres.
        faces: Its own triangles, (F, 3).
    """

    name: str
    vertices: Points
    faces: Faces

    @property
    def points(self) -> Points:
        """Its own vertices, at most `SAMPLES` of them."""
        used = np.unique(self.faces)
        return self.vertices[used[np.linspace(0, len(used) - 1, min(SAMPLES, len(used))).astype(np.int64)]]

    @property
    def area(self) -> float:
        """m²."""
        return float(face_areas(self.vertices, self.faces).sum())


def judge_inputs(body: Body, garments: Sequence[Garment] = (), *, needs_morphs: bool) -> tuple[str, ...]:
    """Refuse implausible inputs; returns notes on the doubtful ones, one sentence each.

    Args:
        body: The body; of one that was read from a file all that the file shows is looked at.
        garments: Garments that are worn on it.
        needs_morphs: Whether the job asks how cloth follows morphs; a body is measured without any.

    Raises:
        FileError: the file, what cannot be meant, and what to do, in one line.

    Proof: tests/formats/test_plausible.py
    """
    tree = Tree(body.vertices, body.faces) if garments else None
    worn = [note for garment in garments for note in judge_garment(body, garment, tree=tree)]
    return (*judge_body(body, needs_morphs=needs_morphs), *worn)


def judge_body(body: Body, *, needs_morphs: bool) -> tuple[str, ...]:
    """Refuse a body that cannot be meant; see `judge_inputs`."""
    return tuple(_judge_body(body, needs_morphs))


def judge_garment(body: Body, garment: Garment, *, tree: Tree | None = None) -> tuple[str, ...]:
    """Refuse a garment that cannot be meant for a body; see `judge_inputs`. One made in memory is taken as it is."""
    file = garment.source
    if not isinstance(file, GarmentFile):
        return ()
    tree = tree or Tree(body.vertices, body.faces)
    if not file.is_placed:
        refuse_swapped(file.path, file.stored.vertices, file.stored.faces, body)
        check_match(body, file, tree=tree)
    return tuple(_judge_garment(body, garment, file, tree))


def bodies_beside(file: BodyFile) -> tuple[str, ...]:
    """A note where one scene shows other bodies beside the one that was read, as modelling tools leave them."""
    if file.document is None or file.stored.chosen is None:
        return ()
    whole = read_scene(file.document, file.stored.scene).turned(file.frame.linear)
    own = {file.document.gltf.nodes[node].name for node in file.stored.chosen}
    others = [one for one in _parts(whole, file.document) if one.name not in own and is_person(one.vertices, one.faces)]
    if not others:
        return ()
    joints = [0 if one.skeleton is None else len(one.skeleton.names) for one in (file.stored, whole)]
    shared = f", on one armature of {joints[1]} joints" if joints[0] == joints[1] > 0 else ""
    return (
        f"The scene also shows {', '.join(one.name for one in others)}{shared}: engines play both at once. "
        "Write each body to a file of its own.",
    )


def refuse_still(body: Body) -> None:
    """Refuse a body without morphs.

    Raises:
        FileError: it has none, so that nothing is to be followed.
    """
    if not body.morph_names:
        path = body.source.path if isinstance(body.source, BodyFile) else body.name
        problem = "has no morphs, so there is nothing for a garment to follow"
        advice = "Export it with its morph targets, or name a folder of one mesh per morph with --morphs"
        raise FileError.of(path, "body", problem, advice)


def _judge_body(body: Body, needs_morphs: bool) -> Iterator[str]:
    file = body.source if isinstance(body.source, BodyFile) else None
    path, is_gltf = (body.name, False) if file is None else (file.path, file.document is not None)
    persons, others = _persons(body, file)
    if len(persons) > 1:
        names = ", ".join(repr(part.name) for part in persons)
        advice = f"Name one of them with --base {persons[0].name}" if is_gltf else "Export each to a file of its own"
        raise FileError.of(path, "body", f"holds {len(persons)} bodies that were read as one: {names}", advice)
    clothing = [part.name for part in others if persons and _is_clothing(part, persons[0])]
    if clothing:
        names = ", ".join(repr(name) for name in clothing)
        advice = f"--base {persons[0].name} reads the body alone" if is_gltf else "export the body alone"
        yield f"The body's file also holds what looks like clothing, {names}, which counts as skin: {advice}."
    if needs_morphs:
        refuse_still(body)
    if not body.morph_names:
        yield "The body has no morphs: it has one shape, and nothing for a garment to follow."


def _judge_garment(body: Body, garment: Garment, file: GarmentFile, tree: Tree) -> Iterator[str]:
    for part in _parts(file.stored, file.document):
        near = np.mean(closest(tree, part.points).distances < SAME_SKIN) > SAME_SHARE
        if near and is_person(part.vertices, part.faces):
            problem = f"holds the body itself, {part.name!r}"
            raise FileError.of(file.path, "garment", problem, "Export the garment alone")
    own, theirs = len(file.stored.morph_names), len(body.morph_names)
    if own > theirs:
        name = garment.name
        yield f"{name} has {own} morphs and its body {theirs}: if the files were swapped, every figure is wrong."


def _persons(body: Body, file: BodyFile | None) -> tuple[list[FilePart], list[FilePart]]:
    """The parts of a body that are persons, and those beside them: by node or name, else by shell."""
    best: tuple[list[FilePart], list[FilePart]] = [], []
    for parts in ([] if file is None else _parts(file.stored, file.document), _shells(body)):
        height = PERSON_HEIGHT * body.stature
        persons = [one for one in parts if np.ptp(one.points[:, 1]) > height and is_person(one.vertices, one.faces)]
        if len(persons) > len(best[0]):
            best = persons, [part for part in parts if part not in persons]
    return best


def _parts(stored: FileMesh, document: Document | None) -> list[FilePart]:
    """What hangs from each node with a mesh; each named part where there is one node or none."""
    if document is None or len({piece.node for piece in stored.pieces}) < 2:
        names = enumerate(stored.part_names)
        return [FilePart(name, stored.vertices, stored.faces[stored.face_parts == part]) for part, name in names]
    found: dict[int, list[Faces]] = {}
    first = stored.faces[:, 0]
    for piece in stored.pieces:
        own = stored.faces[(first >= piece.start) & (first < piece.stop)]
        found.setdefault(piece.node, []).append(own)
    labels = {node: document.gltf.nodes[node].name or f"node {node}" for node in found}
    return [
        FilePart(labels[node], stored.vertices, np.concatenate(own))
        for node, own in found.items()
        if sum(map(len, own))
    ]


def _shells(body: Body) -> list[FilePart]:
    """The connected pieces of a body that are tall enough to be a person."""
    labels = face_components(body.faces, len(body.vertices))
    low, high = np.full(labels.max() + 1, np.inf), np.full(labels.max() + 1, -np.inf)
    heights = body.vertices[body.faces, 1]
    np.minimum.at(low, labels, heights.min(axis=1))
    np.maximum.at(high, labels, heights.max(axis=1))
    tall = np.flatnonzero(high - low > PERSON_HEIGHT * body.stature)
    return [FilePart(f"piece {shell + 1}", body.vertices, body.faces[labels == shell]) for shell in tall]


def _is_clothing(part: FilePart, person: FilePart) -> bool:
    """Whether a part is as large as a garment, below the shoulders, and around the body rather than in it."""
    bottom, top = person.points[:, 1].min(), person.points[:, 1].max()
    middle = (part.points[:, 1].min() + part.points[:, 1].max()) / 2
    if middle > bottom + SHOULDER_HEIGHT * (top - bottom) or part.area < CLOTH_AREA * person.area:
        return False
    return bool(np.mean(~Winding(person.vertices, person.faces).inside(part.points)) > CLOTH_OUTSIDE)
