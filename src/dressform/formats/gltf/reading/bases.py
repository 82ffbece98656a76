"""What a glTF file offers as a base: its scenes, and by name every node or mesh that shows triangles."""

from dataclasses import dataclass

from dressform.errors import ArgumentError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.reading.primitive import is_surface
from dressform.formats.gltf.reading.scene import scene_names, walk

MAX_LISTED = 12


@dataclass(frozen=True)
class Base:
    """One base of a file.

    Attributes:
        name: Name of the scene, node or mesh.
        scene: The scene that shows it.
        nodes: Nodes whose meshes belong to it; None for the whole scene.
    """

    name: str
    scene: int
    nodes: frozenset[int] | None


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


def find_base(document: Document, name: str | None) -> Base:
    """A base by name: a scene, else a node with all that hangs from it, else a mesh; the first scene shown for None.

    Raises:
        ArgumentError: nothing that shows triangles has this name; the names that do are listed.
    """
    scenes = scene_names(document)
    if name is None:
        scene = default_scene(document)
        return Base(scenes[scene] if scene < len(scenes) else "", scene, None)
    if name in scenes:
        return Base(name, scenes.index(name), None)
    offered = [base for scene in range(len(scenes)) for base in _parts(document, scene)]
    for base in offered:
        if base.name == name:
            return base
    shown = [_shown(document, scene) for scene in range(len(scenes))]
    some = [base.name for base in offered if base.nodes != shown[base.scene]]  # what is a whole scene has its name
    names = [label for label in dict.fromkeys(some) if label not in scenes]
    more = "" if len(names) <= MAX_LISTED else f" and {len(names) - MAX_LISTED} more"
    parts = f", or a node or mesh: {', '.join(names[:MAX_LISTED])}{more}" if names else ""
    rule = f"a scene of {document.path}: {', '.join(scenes)}{parts}"
    raise ArgumentError.of("load_body", "base", rule, repr(name), "Use one of these names")


def other_scenes(document: Document | None, stored: FileMesh) -> tuple[str, ...]:
    """Names of the scenes that show triangles beside the one that was read; none where a node or mesh was chosen."""
    if document is None or stored.chosen is not None:
        return ()
    names = enumerate(scene_names(document))
    return tuple(name for scene, name in names if scene != stored.scene and scene_has_surface(document, scene))


def _parts(document: Document, scene: int) -> list[Base]:
    """Nodes, then meshes, that show triangles in a scene; what has one name is one base."""
    tree = walk(document, scene)
    nodes, meshes = document.gltf.nodes, document.gltf.meshes
    shown = _shown(document, scene)
    found: dict[str, set[int]] = {}
    for node in tree.worlds:
        label, below = nodes[node].name, shown.intersection(tree.below(node))
        if label and below:
            found.setdefault(label, set()).update(below)
    by_mesh: dict[str, set[int]] = {}
    for node in shown:
        index = nodes[node].mesh
        label = meshes[index].name if index is not None else None
        if label:
            by_mesh.setdefault(label, set()).add(node)
    return [Base(label, scene, frozenset(below)) for label, below in {**found, **(by_mesh | found)}.items()]


def _shown(document: Document, scene: int) -> frozenset[int]:
    """Nodes of a scene that show triangles."""
    return frozenset(node for node in walk(document, scene).mesh_nodes(document) if _has_surface(document, node))


def _has_surface(document: Document, node: int) -> bool:
    index = document.gltf.nodes[node].mesh
    if index is None or index >= len(document.gltf.meshes):
        return False
    return any(is_surface(primitive) for primitive in document.gltf.meshes[index].primitives)
