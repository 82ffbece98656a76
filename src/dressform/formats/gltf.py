"""One glTF scene merged into one mesh: every primitive under every node, morphs matched by name."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.body.skeleton import Skin
from dressform.formats.accessors import accessor_count
from dressform.formats.document import Document
from dressform.formats.file_mesh import FileMesh, Piece
from dressform.formats.limits import refuse_excess
from dressform.formats.primitive import Stored, is_surface, read_primitive
from dressform.formats.scene import Tree, distinct, scene_names, walk
from dressform.formats.schema import Mesh, Primitive
from dressform.formats.skins import SkinSpace, joints_by_node, nearest_joint, read_skins, tidy_skin

METRES_BY_STANDARD = 1.0
UP_BY_STANDARD = "y"


@dataclass(frozen=True)
class _Use:
    """One primitive under one node, decoded."""

    piece: Piece
    stored: Stored
    part: str
    target_names: tuple[str, ...]


def default_scene(document: Document) -> int:
    """The scene a file shows first."""
    return document.gltf.scene or 0


def scene_has_surface(document: Document, scene: int) -> bool:
    """Whether a scene shows any triangles."""
    meshes = [document.gltf.nodes[node].mesh for node in walk(document, scene).mesh_nodes(document)]
    return any(
        is_surface(primitive)
        for mesh in meshes
        if mesh is not None and mesh < len(document.gltf.meshes)
        for primitive in document.gltf.meshes[mesh].primitives
    )


def read_scene(document: Document, scene: int) -> FileMesh:
    """Merge all triangles of a scene, in its own units, node and bind transforms applied.

    Raises:
        FileError: the scene does not exist, holds no triangles, or is damaged; the place is named.
    """
    count = max(len(document.gltf.scenes), 1)
    if scene >= count:
        raise document.error("scene", f"is {scene}, but there are {count} scenes")
    tree = walk(document, scene)
    skeleton, spaces = read_skins(document, tree)
    uses, notes = _read_uses(document, tree, spaces)
    if not sum(len(use.stored.faces) for use in uses):
        raise document.error("meshes", "hold no triangles", "Export a mesh with faces")
    if any(space.is_posed for space in spaces.values()):
        notes.append("The nodes stand in another pose than the bind pose; the mesh was read in its bind pose.")
    skin = None
    if skeleton is not None:
        slots = joints_by_node(document, spaces)
        skin, found = _merge_skins(document, tree, uses, spaces, slots)
        notes.extend(found)
    names, deltas = _merge_morphs(uses)
    parts, face_parts = _merge_parts(uses)
    return FileMesh(
        scene_names(document)[scene],
        np.concatenate([_moved(use.stored.positions, use.piece.matrix) for use in uses]),
        np.concatenate([_outward(use) for use in uses]),
        parts,
        face_parts,
        names,
        deltas,
        _default_weights(document, uses, names),
        skeleton,
        skin,
        _merge_scalars(uses),
        pieces=tuple(use.piece for use in uses),
        metres_per_unit=METRES_BY_STANDARD,
        up=UP_BY_STANDARD,
        notes=tuple(notes),
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


def _read_uses(document: Document, tree: Tree, spaces: dict[int, SkinSpace]) -> tuple[list[_Use], list[str]]:
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
        stored = read_primitive(document, primitive, f"meshes[{mesh_index}].primitives[{number}]")
        piece = Piece(node, mesh_index, number, start, start + len(stored.positions), matrix)
        part = _part_name(document, node, document.gltf.meshes[mesh_index], primitive)
        uses.append(_Use(piece, stored, part, target_names(document, mesh_index)))
        start = piece.stop
    notes = [f"{skipped} primitives draw points or lines; they were left out."] if skipped else []
    return uses, notes


def _refuse_size(document: Document, planned: list[tuple[int, int, int, Primitive]]) -> None:
    vertices = corners = 0
    names: set[str] = set()
    for _, mesh, number, primitive in planned:
        place = f"meshes[{mesh}].primitives[{number}]"
        count = accessor_count(document, primitive.attributes["POSITION"], place)
        vertices += count
        corners += count if primitive.indices is None else accessor_count(document, primitive.indices, place)
        names.update(target_names(document, mesh))
    refuse_excess(document.path, "meshes", 3 * vertices * (2 + len(names)) + 3 * corners)


def _part_name(document: Document, node: int, mesh: Mesh, primitive: Primitive) -> str:
    own = primitive.extras.get("name") if isinstance(primitive.extras, dict) else None
    if isinstance(own, str) and own:
        return own
    whole = document.gltf.nodes[node].name or mesh.name or document.path.stem
    materials = document.gltf.materials
    if len(mesh.primitives) > 1 and primitive.material is not None and primitive.material < len(materials):
        return materials[primitive.material].name or whole
    return whole


def _moved(points: Float[np.ndarray, "N 3"], matrix: Float[np.ndarray, "4 4"]) -> Float[np.ndarray, "N 3"]:
    return points @ matrix[:3, :3].T + matrix[:3, 3]


def _outward(use: _Use) -> np.ndarray:
    """Faces in the merged numbering; a mirroring transform turns them over, as glTF asks."""
    mirrored = np.linalg.det(use.piece.matrix[:3, :3]) < 0
    faces = use.stored.faces[:, ::-1] if mirrored else use.stored.faces
    return faces + use.piece.start


def _merge_morphs(uses: list[_Use]) -> tuple[tuple[str, ...], Float[np.ndarray, "K N 3"]]:
    names = tuple(dict.fromkeys(name for use in uses for name in use.target_names))
    deltas = np.zeros((len(names), uses[-1].piece.stop, 3))
    for use in uses:
        linear = use.piece.matrix[:3, :3]
        for name, delta in zip(use.target_names, use.stored.deltas):
            if delta is not None:
                deltas[names.index(name), use.piece.start : use.piece.stop] = delta @ linear.T
    return names, deltas


def _default_weights(document: Document, uses: list[_Use], names: tuple[str, ...]) -> Float[np.ndarray, " K"]:
    weights = np.zeros(len(names))
    for use in uses:
        node, mesh = document.gltf.nodes[use.piece.node], document.gltf.meshes[use.piece.mesh]
        stated = node.weights or mesh.weights or []
        if stated and len(stated) != len(use.target_names):
            problem = f"has {len(stated)} default weights for {len(use.target_names)} morph targets"
            raise document.error(f"meshes[{use.piece.mesh}]", problem)
        for name, weight in zip(use.target_names, stated):
            weights[names.index(name)] = weight
    return weights


def _merge_parts(uses: list[_Use]) -> tuple[tuple[str, ...], np.ndarray]:
    names = tuple(dict.fromkeys(use.part for use in uses))
    face_parts = [np.full(len(use.stored.faces), names.index(use.part), dtype=np.int64) for use in uses]
    return names, np.concatenate(face_parts)


def _merge_scalars(uses: list[_Use]) -> dict[str, np.ndarray]:
    scalars: dict[str, np.ndarray] = {}
    for use in uses:
        for name, values in use.stored.scalars.items():
            merged = scalars.setdefault(name, np.full(uses[-1].piece.stop, np.nan))
            merged[use.piece.start : use.piece.stop] = values
    return scalars


def _merge_skins(
    document: Document, tree: Tree, uses: list[_Use], spaces: dict[int, SkinSpace], slots: dict[int, int]
) -> tuple[Skin, tuple[str, ...]]:
    """Joint weights of all primitives; one without a skin follows the joint above its node."""
    width = max([use.stored.joints.shape[1] for use in uses if use.stored.joints is not None], default=1)
    joints = np.zeros((uses[-1].piece.stop, width), dtype=np.int64)
    weights = np.zeros(joints.shape)
    for use in uses:
        rows, stored = slice(use.piece.start, use.piece.stop), use.stored
        skin = document.gltf.nodes[use.piece.node].skin
        if skin is None or stored.joints is None or stored.weights is None:
            joints[rows, 0] = max(nearest_joint(tree, use.piece.node, slots), 0)
            weights[rows, 0] = 1.0
            continue
        known = spaces[skin].joints
        used = np.where(stored.weights > 0, stored.joints, 0)
        if used.max() >= len(known):
            place = f"meshes[{use.piece.mesh}].primitives[{use.piece.primitive}].JOINTS_0"
            raise document.error(place, f"names joint {used.max()} of {len(known)}")
        joints[rows, : used.shape[1]] = known[used]
        weights[rows, : used.shape[1]] = stored.weights
    return tidy_skin(joints, weights)
