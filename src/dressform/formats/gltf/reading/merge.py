"""Several meshes of one file as one mesh: vertices in a row, morphs matched by name."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.body.skeleton import Skeleton, Skin
from dressform.formats.file_mesh import FileMesh


@dataclass(frozen=True)
class Block:
    """One mesh on its way into the whole, already in the space of the scene.

    Attributes:
        vertices: (N, 3).
        faces: In its own numbering, outward, (F, 3).
        parts: Name and number of triangles of each part, in the order of `faces`.
        morphs: Displacement by name, each (N, 3); None for a morph that leaves this mesh alone.
        weights: Default weight by morph name.
        skin: Joints of the skeleton and weights, not yet normalised, or None.
        scalars: Per-vertex numbers by attribute name, each (N,).
        corner_uv: (F, 3, 2) or None.
        corner_normals: (F, 3, 3) or None.
    """

    vertices: Float[np.ndarray, "N 3"]
    faces: Int[np.ndarray, "F 3"]
    parts: tuple[tuple[str, int], ...]
    morphs: Mapping[str, Float[np.ndarray, "N 3"] | None] = field(default_factory=dict)
    weights: Mapping[str, float] = field(default_factory=dict)
    skin: Skin | None = None
    scalars: Mapping[str, Float[np.ndarray, " N"]] = field(default_factory=dict)
    corner_uv: Float[np.ndarray, "F 3 2"] | None = None
    corner_normals: Float[np.ndarray, "F 3 3"] | None = None


def merge_blocks(name: str, blocks: Sequence[Block], skeleton: Skeleton | None) -> FileMesh:
    """One mesh of all blocks; a morph that a block lacks leaves it alone, a number that it lacks is NaN."""
    stops = np.cumsum([len(block.vertices) for block in blocks])
    spans = [slice(int(stop) - len(block.vertices), int(stop)) for stop, block in zip(stops, blocks)]
    part_names = tuple(dict.fromkeys(part for block in blocks for part, _ in block.parts))
    face_parts = [np.full(count, part_names.index(part)) for block in blocks for part, count in block.parts]
    morph_names = tuple(dict.fromkeys(morph for block in blocks for morph in block.morphs))
    deltas = np.zeros((len(morph_names), int(stops[-1]), 3))
    weights = np.zeros(len(morph_names))
    scalars: dict[str, Float[np.ndarray, " N"]] = {}
    for block, span in zip(blocks, spans):
        for morph, delta in block.morphs.items():
            if delta is not None:
                deltas[morph_names.index(morph), span] = delta
        for morph, weight in block.weights.items():
            weights[morph_names.index(morph)] = weight
        for attribute, values in block.scalars.items():
            scalars.setdefault(attribute, np.full(int(stops[-1]), np.nan))[span] = values
    skin, loose, notes = (None, None, ()) if skeleton is None else _merge_skins(blocks)
    uv = [block.corner_uv for block in blocks if block.corner_uv is not None]
    normals = [block.corner_normals for block in blocks if block.corner_normals is not None]
    return FileMesh(
        name,
        np.concatenate([block.vertices for block in blocks]),
        np.concatenate([block.faces + span.start for block, span in zip(blocks, spans)]),
        part_names,
        np.concatenate(face_parts).astype(np.int64),
        morph_names,
        deltas,
        weights,
        skeleton,
        skin,
        scalars,
        np.concatenate(uv) if len(uv) == len(blocks) else None,
        np.concatenate(normals) if len(normals) == len(blocks) else None,
        notes=notes,
        loose=loose,
    )


def follow_one(joint: int, count: int) -> Skin:
    """A rigid mesh: every vertex follows one joint; the first where there is none (-1)."""
    return Skin(np.full((count, 1), max(joint, 0)), np.ones((count, 1)))


def _merge_skins(blocks: Sequence[Block]) -> tuple[Skin, Bool[np.ndarray, " N"] | None, tuple[str, ...]]:
    """Non-negative weights whose rows sum to 1; vertices without any follow the first joint, and are marked."""
    skins = [block.skin or follow_one(-1, len(block.vertices)) for block in blocks]
    width = max(skin.joints.shape[1] for skin in skins)
    joints = np.concatenate([_widened(skin.joints, width) for skin in skins])
    weights = np.concatenate([_widened(np.clip(skin.weights, 0.0, None), width) for skin in skins])
    loose = weights.sum(axis=1) <= 0
    without = np.concatenate([np.full(len(block.vertices), block.skin is None) for block in blocks]) | loose
    weights[loose, 0] = 1.0
    joints[loose] = 0
    notes = (f"{int(loose.sum())} vertices have no joint weights; they follow the first joint.",) if loose.any() else ()
    skin = Skin(np.where(weights > 0, joints, 0), weights / weights.sum(axis=1, keepdims=True))
    return skin, without if without.any() else None, notes


def _widened(columns: np.ndarray, width: int) -> np.ndarray:
    return np.pad(columns, ((0, 0), (0, width - columns.shape[1])))
