"""The joint weights that a garment's file holds, at the garment's welded vertices."""

import numpy as np

from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.reading.scene import distinct, walk
from dressform.formats.welding import NO_VERTEX, Welded
from dressform.garment.own_joints import NO_JOINT, OwnJoints


def own_joints_of_file(document: Document | None, stored: FileMesh, welded: Welded) -> OwnJoints | None:
    """Joint weights of a garment's file; None where it has neither weights nor nodes above its meshes.

    A mesh without weights that hangs below a node moves with that node: a helmet on a head bone. In a file of skinned
    meshes such a mesh follows the nearest joint above it; one with no joint above it, and vertices without any weight,
    follow none.

    Proof: tests/formats/test_own_joints.py
    """
    if stored.skin is None or stored.skeleton is None or welded.skin is None:
        return None if document is None else _hanging(document, stored, welded)
    loose = np.zeros(len(welded.vertices), dtype=bool)
    if stored.loose is not None:
        loose[welded.file_to_welded[stored.loose & (welded.file_to_welded != NO_VERTEX)]] = True
    if loose.all():
        return None
    weights = np.where(loose[:, None], 0.0, welded.skin.weights)
    return OwnJoints(stored.skeleton.names, stored.skeleton.parents, welded.skin.joints, weights)


def _hanging(document: Document, stored: FileMesh, welded: Welded) -> OwnJoints | None:
    """The nodes above each mesh as its joints."""
    tree = walk(document, stored.scene)
    nodes = list(tree.parents)  # a parent precedes its children
    row = {node: number for number, node in enumerate(nodes)}
    above = [row.get(tree.parents[piece.node], NO_JOINT) for piece in stored.pieces]
    if all(joint == NO_JOINT for joint in above):
        return None
    of_file = np.full(len(stored.vertices), NO_JOINT)
    for piece, joint in zip(stored.pieces, above):
        of_file[piece.start : piece.stop] = joint
    joints = np.full(len(welded.vertices), NO_JOINT)
    kept = np.flatnonzero(welded.file_to_welded != NO_VERTEX)[::-1]  # the first of several is written last
    joints[welded.file_to_welded[kept]] = of_file[kept]
    names = distinct([document.gltf.nodes[node].name or f"node_{node}" for node in nodes])
    parents = np.array([row.get(tree.parents[node], NO_JOINT) for node in nodes])
    held = (joints != NO_JOINT).astype(np.float64)
    return OwnJoints(names, parents, np.maximum(joints, 0)[:, None], held[:, None], hangs=True)
