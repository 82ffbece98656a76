"""COLLADA 1.4.1 and 1.5 [ISO17506]: triangles, morph controllers and skin controllers.

The XML is read by pycollada (extra `collada`). It knows a skin over a geometry but not one over a morph, which is how
many exporters write a morphing character; such a reference is turned to the morph's own geometry before it reads.
"""

import io
import warnings
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
from jaxtyping import Float, Int

from dressform.errors import FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.normals import unit_rows
from dressform.formats.gltf.reading.merge import Block, merge_blocks
from dressform.formats.gltf.reading.scene import distinct
from dressform.formats.gltf.reading.skins import SkinSpace, bind_skins
from dressform.formats.guards.file_names import stem_of
from dressform.formats.guards.limits import mesh_bytes, read_bytes, refuse_excess, text_limit, words_bytes
from dressform.formats.xml_meshes.joints import all_nodes, nodes_of, skin_of, stored_skin

try:
    import collada
except ImportError:  # an extra
    collada = None

INSTALL = "Install it: pip install 'dressform[collada]'"
RELATIVE = "RELATIVE"
BYTES_PER_ELEMENT = 600
"""Memory of an XML element, opening and closing tag each counted half, in both parsers that see it."""
DEFAULT_UP = "y"
UPS = {"X_UP": "x", "Y_UP": "y", "Z_UP": "z"}


@dataclass(frozen=True)
class _Surface:
    """A geometry: positions and its triangles.

    Attributes:
        positions: (N, 3).
        faces: (F, 3).
        parts: Part name of each primitive, and how many triangles it has.
        uv: Per corner, (F, 3, 2), or None.
        normals: Per corner, (F, 3, 3), or None.
    """

    positions: Float[np.ndarray, "N 3"]
    faces: Int[np.ndarray, "F 3"]
    parts: tuple[tuple[str, int], ...]
    uv: Float[np.ndarray, "F 3 2"] | None
    normals: Float[np.ndarray, "F 3 3"] | None


@dataclass(frozen=True)
class _Instance:
    """A geometry in the scene with the controllers on it."""

    geometry: Any
    morph: Any
    skin: Any
    matrix: Float[np.ndarray, "4 4"]


def read_collada(path: Path) -> FileMesh:
    """Read all that the scene of a COLLADA file shows.

    Raises:
        FileError: pycollada is not installed, or the file is no COLLADA, is damaged, or holds no faces.
    """
    if collada is None:
        raise FileError.of(path, "", "is COLLADA, which needs pycollada", INSTALL)
    root, morph_of_skin = _parse(path)
    try:
        document = _read(root)
        with np.errstate(all="ignore"):
            instances = list(_instances(document, morph_of_skin))
        _refuse_infinite(path, document, instances)
        surfaces = [_surface(path, instance.geometry) for instance in instances]
    except collada.common.DaeError as problem:
        raise FileError.of(path, "", f"is damaged: {problem.msg}", "Export it again") from None
    except (
        AttributeError,
        IndexError,
        KeyError,
        TypeError,
        ValueError,
        ArithmeticError,
        RecursionError,
        DeprecationWarning,
    ) as problem:
        raise FileError.of(path, "", f"is damaged ({type(problem).__name__}: {problem})", "Export it again") from None
    if not sum(len(surface.faces) for surface in surfaces):
        raise FileError.of(path, "scene", "shows no triangles", "Export a mesh with faces")
    tree, names, known = nodes_of(document)
    skins = {
        index: stored_skin(path, instance.skin, known)
        for index, instance in enumerate(instances)
        if instance.skin is not None
    }
    skeleton, spaces = bind_skins(path, tree, names, skins)
    blocks = [
        _block(path, instance, surface, spaces.get(index))
        for index, (instance, surface) in enumerate(zip(instances, surfaces))
    ]
    mesh = merge_blocks(stem_of(path), [block for block in blocks if len(block.faces)], skeleton)
    return replace(
        mesh, metres_per_unit=document.assetInfo.unitmeter, up=UPS.get(document.assetInfo.upaxis, DEFAULT_UP)
    )


def _read(root: ElementTree.Element) -> Any:
    """The document; numbers that end in something else are an error, which older versions of numpy only warn of."""
    with warnings.catch_warnings(), np.errstate(all="ignore"):
        warnings.filterwarnings("error", message="string or file could not be read")
        return collada.Collada(
            io.BytesIO(ElementTree.tostring(root)),
            ignore=[collada.common.DaeUnsupportedError, collada.common.DaeBrokenRefError],
        )


def _refuse_infinite(path: Path, document: Any, instances: list[_Instance]) -> None:
    """Refuse transforms that are not finite, of nodes, of shown geometry and of skins."""
    matrices = [instance.matrix for instance in instances]
    for instance in instances:
        if instance.skin is not None:
            matrices += [instance.skin.bind_shape_matrix, *instance.skin.joint_matrices.values()]
    matrices += [] if document.scene is None else [node.matrix for node in all_nodes(document.scene.nodes)]
    if not all(np.isfinite(matrix).all() for matrix in matrices):
        raise FileError.of(path, "scene", "has a transform that is not finite", "Export it again")


def _parse(path: Path) -> tuple[ElementTree.Element, dict[str, str]]:
    """The XML with every skin over a morph turned to the morph's geometry, and the morph of each such skin."""
    try:
        data = read_bytes(path, most=text_limit())
        refuse_excess(path, "", words_bytes(data) + data.count(b"<") * BYTES_PER_ELEMENT)
        root = ElementTree.fromstring(data)
    except ElementTree.ParseError as problem:
        raise FileError.of(path, "", f"is not COLLADA: {problem}", "Export it as COLLADA, glTF or OBJ") from None
    space, _, name = root.tag.rpartition("}")
    if name != "COLLADA":
        raise FileError.of(path, "", f"is not COLLADA: its root is {name}", "Export it as COLLADA, glTF or OBJ")
    space += "}" if space else ""
    controllers = {node.get("id", ""): node for node in root.iter(f"{space}controller")}
    turned: dict[str, str] = {}
    for key, node in controllers.items():
        skin = node.find(f"{space}skin")
        below = controllers.get(skin.get("source", "").lstrip("#")) if skin is not None else None
        morph = below.find(f"{space}morph") if below is not None else None
        if skin is not None and below is not None and morph is not None:
            turned[key] = below.get("id", "")
            skin.set("source", morph.get("source", ""))
    return root, turned


def _instances(document: Any, morph_of_skin: dict[str, str]) -> Iterator[_Instance]:
    if document.scene is None:
        for geometry in document.geometries:
            yield _Instance(geometry, None, None, np.eye(4))
        return
    for bound in document.scene.objects("geometry"):
        yield _Instance(bound.original, None, None, bound.matrix.astype(np.float64))
    for bound in document.scene.objects("controller"):
        matrix = bound.matrix.astype(np.float64)
        if hasattr(bound, "skin"):
            morph_id = morph_of_skin.get(bound.skin.id)
            morph = None if morph_id is None else document.controllers[morph_id]
            yield _Instance(bound.skin.geometry, morph, bound.skin, matrix)
        else:
            yield _Instance(bound.original.source_geometry, bound.original, None, matrix)


def _surface(path: Path, geometry: Any) -> _Surface:
    name = geometry.name or geometry.id
    sets = [item.triangleset() if hasattr(item, "triangleset") else item for item in geometry.primitives]
    sets = [item for item in sets if isinstance(item, collada.triangleset.TriangleSet) and len(item)]
    if not sets:
        return _Surface(np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64), (), None, None)
    positions = np.asarray(sets[0].vertex, dtype=np.float64)
    broken = np.flatnonzero(~np.isfinite(positions).all(axis=1))
    if broken.size:
        raise FileError.of(
            path, f"geometry {name}", f"has a position that is not finite at {broken[0]}", "Export it again"
        )
    refuse_excess(path, f"geometry {name}", mesh_bytes(len(positions), 3 * sum(len(item) for item in sets)))
    for item in sets:
        _refuse_outside(path, name, "vertex", item.vertex_index, len(positions))
        _refuse_outside(path, name, "normal", item.normal_index, len(item.normal) if item.normal is not None else 0)
        for values, index in zip(item.texcoordset, item.texcoord_indexset):
            _refuse_outside(path, name, "texture coordinate", index, len(values))
    faces = [np.asarray(item.vertex_index, dtype=np.int64).reshape(-1, 3) for item in sets]
    uv = [item.texcoordset[0][item.texcoord_indexset[0]] for item in sets if len(item.texcoord_indexset)]
    normals = [item.normal[item.normal_index] for item in sets if item.normal_index is not None]
    parts = [name if len(sets) == 1 else item.material or name for item in sets]
    return _Surface(
        positions,
        np.concatenate(faces),
        tuple(zip(parts, map(len, faces))),
        np.concatenate(uv)[:, :, :2] * (1.0, -1.0) + (0.0, 1.0) if len(uv) == len(sets) else None,
        np.concatenate(normals).astype(np.float64) if len(normals) == len(sets) else None,
    )


def _refuse_outside(path: Path, name: str, what: str, index: Any, count: int) -> None:
    """Refuse an index below 0, which numpy counts from the end, or beyond the values."""
    numbers = np.ravel(index) if index is not None else np.zeros(0, dtype=np.int64)
    wrong = np.flatnonzero((numbers < 0) | (numbers >= count))
    if wrong.size:
        problem = f"names {what} {numbers[wrong[0]]} of {count}"
        raise FileError.of(path, f"geometry {name}, corner {wrong[0]}", problem, "Export it again")


def _block(path: Path, instance: _Instance, surface: _Surface, space: SkinSpace | None) -> Block:
    matrix = instance.matrix if space is None else space.matrix @ instance.skin.bind_shape_matrix
    linear = matrix[:3, :3]
    targets, weights = _targets(path, instance, surface)
    flip = slice(None, None, -1) if np.linalg.det(linear) < 0 else slice(None)
    try:
        turn = np.linalg.inv(linear)
    except np.linalg.LinAlgError:
        advice = "Give every node a scale other than 0"
        raise FileError.of(path, "scene", "flattens a mesh by its transforms", advice) from None
    return Block(
        surface.positions @ linear.T + matrix[:3, 3],
        surface.faces[:, flip],
        surface.parts,
        {name: delta @ linear.T for name, delta in targets.items()},
        weights,
        None if space is None else skin_of(path, instance.skin, space, len(surface.positions)),
        corner_uv=None if surface.uv is None else surface.uv[:, flip],
        corner_normals=None if surface.normals is None else unit_rows(surface.normals[:, flip] @ turn),
    )


def _targets(
    path: Path, instance: _Instance, surface: _Surface
) -> tuple[dict[str, Float[np.ndarray, "N 3"]], dict[str, float]]:
    """Displacements and default weights of a morph controller; a target is a whole shape unless it is RELATIVE."""
    if instance.morph is None:
        return {}, {}
    method = next((node.get("method") for node in instance.morph.xmlnode.iter() if node.tag.endswith("morph")), None)
    names = distinct([target.name or target.id for target, _ in instance.morph])
    deltas: dict[str, Float[np.ndarray, "N 3"]] = {}
    for name, (target, _) in zip(names, instance.morph):
        moved = _surface(path, target).positions
        if len(moved) != len(surface.positions):
            problem = f"has {len(moved)} vertices, its base has {len(surface.positions)}"
            raise FileError.of(path, f"morph {name}", problem, "Export base and morphs together")
        deltas[name] = moved if method == RELATIVE else moved - surface.positions
    return deltas, {name: float(weight) for name, (_, weight) in zip(names, instance.morph)}
