"""One glTF scene merged into one mesh: every primitive under every node, morphs matched by name."""

from dataclasses import dataclass, replace

import numpy as np

from dressform.body.skeleton import Skin
from dressform.formats.file_mesh import FileMesh, Piece
from dressform.formats.gltf.accessors import accessor_count
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.reading.bases import Base
from dressform.formats.gltf.reading.merge import Block, follow_one, merge_blocks
from dressform.formats.gltf.reading.primitive import TRIANGLES, Stored, is_surface, read_primitive
from dressform.formats.gltf.reading.scene import SMALLEST_VOLUME, SceneTree, distinct, scene_names, walk
from dressform.formats.gltf.reading.skins import SkinSpace, joints_by_node, nearest_joint, read_skins
from dressform.formats.gltf.schema import Mesh, Primitive
from dressform.formats.guards.file_names import stem_of
from dressform.formats.guards.limits import mesh_bytes, refuse_excess

METRES_BY_STANDARD = 1.0
UP_BY_STANDARD = "y"
COLUMNS = 4  # of a set of joints, and of a colour at most
LARGEST_VOLUME = 1e21


@dataclass(frozen=True)
class _Use:
    """One primitive under one node, decoded."""

    piece: Piece
    stored: Stored
    part: str
    target_names: tuple[str, ...]


def read_scene(document: Document, scene: int, *, base: Base | None = None) -> FileMesh:
    """Merge all triangles of a scene, or of one base of it, in its own units, node and bind transforms applied.

    Raises:
        FileError: the scene does not exist, holds no triangles, or is damaged; the place is named.
    """
    count = max(len(document.gltf.scenes), 1)
    if scene >= count:
        raise document.error("scene", f"is {scene}, but there are {count} scenes")
    tree = replace(walk(document, scene), chosen=base.nodes if base else None)
    skeleton, spaces = read_skins(document, tree)
    uses, notes = _read_uses(document, tree, spaces)
    if not sum(len(use.stored.faces) for use in uses):
        raise document.error("meshes", "hold no triangles", "Export a mesh with faces")
    if any(space.is_posed for space in spaces.values()):
        notes.append("The nodes stand in another pose than the bind pose; the mesh was read in its bind pose.")
    joints = joints_by_node(document, spaces)
    blocks = [_block(document, tree, use, spaces, joints) for use in uses]
    mesh = merge_blocks(base.name if base else scene_names(document)[scene], blocks, skeleton)
    return replace(
        mesh,
        pieces=tuple(use.piece for use in uses),
        metres_per_unit=METRES_BY_STANDARD,
        up=UP_BY_STANDARD,
        notes=(*notes, *mesh.notes),
        scene=scene,
        chosen=tree.chosen,
    )


def target_names(document: Document, index: int) -> tuple[str, ...]:
    """Names of a mesh's morph targets: `extras.targetNames`, else `target_0` and so on.

    Raises:
        FileError: the primitives of the mesh have different numbers of targets.
    """
    mesh = document.gltf.meshes[index]
    counts = {len(primitive.targets) for primitive in mesh.primitives}
    if len(counts) > 1:
        problem = f"has primitives with {' and '.join(map(str, sorted(counts)))} morph targets"
        raise document.error(f"meshes[{index}]", problem, "Give each primitive the same morph targets")
    count = counts.pop()
    listed = mesh.extras.get("targetNames") if isinstance(mesh.extras, dict) else None
    given = [name for name in listed if isinstance(name, str)] if isinstance(listed, list) else []
    return distinct([given[k] if k < len(given) else f"target_{k}" for k in range(count)])


def _read_uses(document: Document, tree: SceneTree, spaces: dict[int, SkinSpace]) -> tuple[list[_Use], list[str]]:
    planned: list[tuple[int, int, int, Primitive]] = []
    skipped = 0
    for node in tree.mesh_nodes(document):
        mesh_index = document.gltf.nodes[node].mesh
        if mesh_index is None or mesh_index >= len(document.gltf.meshes):
            raise document.error(f"nodes[{node}].mesh", f"names mesh {mesh_index} of {len(document.gltf.meshes)}")
        for number, primitive in enumerate(document.gltf.meshes[mesh_index].primitives):
            if is_surface(primitive):
                planned.append((node, mesh_index, number, primitive))
            else:
                skipped += 1
    _refuse_size(document, planned)
    uses: list[_Use] = []
    start = 0
    for node, mesh_index, number, primitive in planned:
        skin = document.gltf.nodes[node].skin
        matrix = tree.worlds[node] if skin is None else spaces[skin].matrix
        if not SMALLEST_VOLUME <= abs(np.linalg.det(matrix[:3, :3])) <= LARGEST_VOLUME:
            problem = "has a transform that flattens its mesh or carries it beyond measure"
            raise document.error(f"nodes[{node}]", problem, "Give it a scale between a millionth and a million")
        stored = read_primitive(document, primitive, f"meshes[{mesh_index}].primitives[{number}]")
        piece = Piece(node, mesh_index, number, start, start + len(stored.positions), matrix)
        part = _part_name(document, node, document.gltf.meshes[mesh_index], primitive)
        uses.append(_Use(piece, stored, part, target_names(document, mesh_index)))
        start = piece.stop
    notes = [f"{skipped} primitives draw points or lines; they were left out."] if skipped else []
    return uses, notes


def _refuse_size(document: Document, planned: list[tuple[int, int, int, Primitive]]) -> None:
    """Ask before decoding what the whole scene would take; one accessor may be drawn many times."""
    vertices = corners = joint_weights = scalars = 0
    names: set[str] = set()
    for _, mesh, number, primitive in planned:
        place = f"meshes[{mesh}].primitives[{number}]"
        count = accessor_count(document, primitive.attributes["POSITION"], place)
        vertices += count
        named = count if primitive.indices is None else accessor_count(document, primitive.indices, place)
        corners += named if primitive.mode == TRIANGLES else 3 * named
        joint_weights += COLUMNS * count * sum(name.startswith("JOINTS_") for name in primitive.attributes)
        scalars += COLUMNS * count * sum(name.startswith(("COLOR_", "_")) for name in primitive.attributes)
        names.update(target_names(document, mesh))
    needed = mesh_bytes(vertices, corners, moved=vertices * len(names), joint_weights=joint_weights, scalars=scalars)
    refuse_excess(document.path, "meshes", needed)


def _part_name(document: Document, node: int, mesh: Mesh, primitive: Primitive) -> str:
    own = primitive.extras.get("name") if isinstance(primitive.extras, dict) else None
    if isinstance(own, str) and own:
        return own
    whole = document.gltf.nodes[node].name or mesh.name or stem_of(document.path)
    materials = document.gltf.materials
    if len(mesh.primitives) > 1 and primitive.material is not None and primitive.material < len(materials):
        return materials[primitive.material].name or whole
    return whole


def _block(
    document: Document, tree: SceneTree, use: _Use, spaces: dict[int, SkinSpace], joints: dict[int, int]
) -> Block:
    """A primitive in the space of the scene; a mirroring transform turns its faces over, as glTF asks."""
    stored, matrix = use.stored, use.piece.matrix
    linear = matrix[:3, :3]
    skin = None
    if joints:
        skin = _skin(document, use, spaces)
        above = nearest_joint(tree, use.piece.node, joints)
        if skin is None and above >= 0:
            skin = follow_one(above, len(stored.positions))
    return Block(
        stored.positions @ linear.T + matrix[:3, 3],
        stored.faces[:, ::-1] if np.linalg.det(linear) < 0 else stored.faces,
        ((use.part, len(stored.faces)),),
        {name: None if delta is None else delta @ linear.T for name, delta in zip(use.target_names, stored.deltas)},
        _default_weights(document, use),
        skin,
        stored.scalars,
    )


def _default_weights(document: Document, use: _Use) -> dict[str, float]:
    node, mesh = document.gltf.nodes[use.piece.node], document.gltf.meshes[use.piece.mesh]
    stated = node.weights or mesh.weights or []
    if stated and len(stated) != len(use.target_names):
        problem = f"has {len(stated)} default weights for {len(use.target_names)} morph targets"
        raise document.error(f"meshes[{use.piece.mesh}]", problem)
    return dict(zip(use.target_names, stated))


def _skin(document: Document, use: _Use, spaces: dict[int, SkinSpace]) -> Skin | None:
    """Joints and weights of a skinned primitive, in the numbering of the skeleton."""
    index = document.gltf.nodes[use.piece.node].skin
    if index is None or use.stored.joints is None or use.stored.weights is None:
        return None
    known = spaces[index].joints
    used = np.where(use.stored.weights > 0, use.stored.joints, 0)
    if used.max() >= len(known):
        place = f"meshes[{use.piece.mesh}].primitives[{use.piece.primitive}].JOINTS_0"
        raise document.error(place, f"names joint {used.max()} of {len(known)}")
    return Skin(known[used], use.stored.weights)
