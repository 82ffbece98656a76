"""Bodies and garments from files."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.body.body import Body
from dressform.errors import ArgumentError, FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.frames.beside import frame_beside, garment_frame
from dressform.formats.frames.body_frame import body_frame
from dressform.formats.frames.standing import refuse_swapped
from dressform.formats.frames.units import AxisOptions, Frame
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.morphs.slider_ranges import ranges_in
from dressform.formats.gltf.read import read_scene
from dressform.formats.gltf.reading.bases import default_scene, find_base, other_scenes, scene_has_surface
from dressform.formats.gltf.reading.scene import scene_names
from dressform.formats.gltf.reading.stiffness import stiffness_of_parts
from dressform.formats.gltf.reading.tracks import animations_of
from dressform.formats.guards.file_names import stem_of
from dressform.formats.masks import STRENGTH_ATTRIBUTE as STRENGTH_ATTRIBUTE
from dressform.formats.masks import body_regions, garment_strength
from dressform.formats.moving.joint_sliders_file import moving_of
from dressform.formats.obj_morphs import MORPH_FOLDER, with_morphs
from dressform.formats.own_joints import own_joints_of_file
from dressform.formats.range_file import range_of
from dressform.formats.readers import read_gltf, read_other
from dressform.formats.surfaces.pixels import picture_notes
from dressform.formats.tidy import tidy_body
from dressform.formats.welding import Welded, weld_stored
from dressform.garment.garment import Garment
from dressform.mesh.topology import audit

LARGEST_COORDINATE = 1e7


@dataclass(frozen=True)
class ReadOptions:
    """Options that a body file was read with; None where the file decided. See `load_body`."""

    base: str | None = None
    morphs_dir: Path | None = None
    range_file: Path | None = None
    units: str | None = None
    up: str | None = None
    front: str | None = None

    @property
    def axes(self) -> AxisOptions:
        """What of them tells units and axes."""
        return AxisOptions(self.units, self.up, self.front)


@dataclass(frozen=True)
class BodyFile:
    """A body and the file it came from.

    Attributes:
        body: For computing: welded, metres, +Y up.
        path: The file.
        stored: The mesh as the file splits it, metres, +Y up.
        file_to_body: Body vertex of each stored vertex, -1 where no triangle uses it, (N,).
        frame: Units and axes of the file.
        document: The glTF, or None for other files.
        options: How it was read.
    """

    body: Body
    path: Path
    stored: FileMesh
    file_to_body: Int[np.ndarray, " N"]
    frame: Frame
    document: Document | None
    options: ReadOptions = ReadOptions()

    @property
    def default_weights(self) -> Float[np.ndarray, " K"]:
        """Weights that the file shows first, (K,)."""
        return self.stored.default_weights


@dataclass(frozen=True)
class GarmentFile:
    """A garment and the file it came from.

    Attributes:
        garment: For computing: welded, metres, +Y up.
        path: The file.
        stored: The mesh as the file splits it, metres, +Y up.
        file_to_cloth: Garment vertex of each stored vertex, -1 where no triangle uses it, (N,).
        kept_faces: Which stored triangles the garment has, (T,).
        frame: Units and axes of the file.
        document: The glTF, or None for other files.
        told: Units and axes that the user gave.
        is_placed: Whether they were judged beside a body, or given by the user, who is taken at his word.
    """

    garment: Garment
    path: Path
    stored: FileMesh
    file_to_cloth: Int[np.ndarray, " N"]
    kept_faces: Bool[np.ndarray, " T"]
    frame: Frame
    document: Document | None
    told: AxisOptions = field(default_factory=AxisOptions)
    is_placed: bool = False


def load_body(
    path: Path | str,
    *,
    base: str | None = None,
    morphs_dir: Path | str | None = None,
    range_file: Path | str | None = None,
    units: str | None = None,
    up: str | None = None,
    front: str | None = None,
) -> BodyFile:
    """One base body of a body file.

    Args:
        path: `.glb`, `.gltf`, `.obj`, `.ply`, `.dae` or `.usd`, `.usda`, `.usdc`, `.usdz`.
        base: Name of a glTF scene, or of a node or mesh in one; the file's default scene where left out. Of USD the
            name or path of a prim; all that is shown where left out.
        morphs_dir: Folder of same-topology OBJs; `morphs` beside an OBJ where left out.
        range_file: TOML with the range; `BODY.range.toml` beside the body where left out.
        units: "m", "cm", "mm" or "in"; recognised by size where left out.
        up: "x", "y", "z", "-x", "-y" or "-z"; recognised by shape where left out.
        front: Where the front points once +Y is up, "z", "-z", "x" or "-x"; recognised by the feet where left out.

    Raises:
        FileError: the file cannot be read as a body; file, place, problem and next step in one line.
        UnitsError: its size fits no unit, or several.
        ArgumentError: `base`, `units`, `up` or `front` names nothing known; the valid names are listed.
    """
    options = ReadOptions(base, _path(morphs_dir), _path(range_file), units, up, front)
    options.axes.check("load_body")
    path = Path(path)
    document = read_gltf(path)
    if document is not None:
        chosen = find_base(document, base)
        stored = read_scene(document, chosen.scene, base=chosen)
    else:
        stored = _with_obj_morphs(path, read_other(path, base), options.morphs_dir)
    return _body_of(path, stored, document, options)


def load_bodies(
    path: Path | str,
    *,
    morphs_dir: Path | str | None = None,
    range_file: Path | str | None = None,
    units: str | None = None,
    up: str | None = None,
    front: str | None = None,
) -> tuple[BodyFile, ...]:
    """All base bodies of a body file: one per glTF scene that shows triangles; one for any other file.

    Raises:
        FileError, UnitsError, ArgumentError: see `load_body`.
    """
    AxisOptions(units, up, front).check("load_bodies")
    path = Path(path)
    document = read_gltf(path)
    if document is None:
        return (load_body(path, morphs_dir=morphs_dir, range_file=range_file, units=units, up=up, front=front),)
    scenes = [scene for scene in range(len(scene_names(document))) if scene_has_surface(document, scene)]
    if not scenes:
        raise document.error("scenes", "show no triangles", "Export a mesh with faces")
    names = scene_names(document)
    options = ReadOptions(None, _path(morphs_dir), _path(range_file), units, up, front)
    return tuple(
        _body_of(path, read_scene(document, scene), document, replace(options, base=names[scene])) for scene in scenes
    )


def others_reader(one: BodyFile) -> Callable[[], tuple[Body, ...]]:
    """What reads the other base bodies of a file, like the one that was read from it; other processes may have it."""
    return partial(_read_bases, one.path, one.options, tuple(other_bases(one)))


def _read_bases(path: Path, options: ReadOptions, names: tuple[str, ...]) -> tuple[Body, ...]:
    return tuple(load_body(path, **vars(replace(options, base=name))).body for name in names)


def other_bases(one: BodyFile) -> list[str]:
    """Names of the base bodies that the file holds beside the one that was read."""
    return list(other_scenes(one.document, one.stored))


def body_file_of(body: Body) -> BodyFile:
    """The file that a body was read from.

    Raises:
        ArgumentError: it was made in memory.
    """
    if not isinstance(body.source, BodyFile):
        raise ArgumentError.of("save", "body", "read from a file", f"{body.name!r} made in memory", "Load it")
    return body.source


def garment_file_of(garment: Garment) -> GarmentFile:
    """The file that a garment was read from.

    Raises:
        ArgumentError: it was made in memory.
    """
    if not isinstance(garment.source, GarmentFile):
        raise ArgumentError.of("save", "garment", "read from a file", f"{garment.name!r} made in memory", "Load it")
    return garment.source


def load_garment(
    path: Path | str,
    *,
    units: str | None = None,
    up: str | None = None,
    front: str | None = None,
    strength: str = STRENGTH_ATTRIBUTE,
    beside: Body | None = None,
) -> GarmentFile:
    """A garment file, all its meshes merged, one part per primitive or group.

    Args:
        path: `.glb`, `.gltf`, `.obj`, `.ply`, `.dae` or `.usd`, `.usda`, `.usdc`, `.usdz`.
        units: "m", "cm", "mm" or "in"; what the file says, else metres, where left out.
        up: "x", "y", "z", "-x", "-y" or "-z"; what the file says, else +Y, where left out.
        front: Where the front points once +Y is up, "z", "-z", "x" or "-x"; as in the body's file where left out.
        strength: Per-vertex attribute that says how strongly each vertex follows, or a colour channel such as
            "COLOR_0.r". Where the file lacks `_STRENGTH` every vertex follows fully.
        beside: The body it is worn on; where given, it tells the units and axes that are left out. Units and up
            that are both given are taken at their word, wherever the garment then lies.

    Raises:
        FileError: the file cannot be read as a garment, or is a person beside a body that is none; file, place,
            problem and next step in one line.
        UnitsError: it is too large or small for a garment, or several units fit it onto the body.
        ArgumentError: `units`, `up` or `front` names nothing known; the valid names are listed.
    """
    told = AxisOptions(units, up, front).check("load_garment")
    path = Path(path)
    document = read_gltf(path)
    stored = read_other(path) if document is None else read_scene(document, default_scene(document))
    _refuse_far(path, stored)
    if beside is None:
        frame = garment_frame(path, stored, told=told)
    else:
        refuse_swapped(path, stored.vertices, stored.faces, beside)
        frame = frame_beside(path, stored, beside, told=told)
    stored = stored.turned(frame.linear)
    welded = _welded(path, stored)
    found = audit(welded.vertices, welded.faces)
    pictures = () if document is None else picture_notes(document)
    stiffness, odd = ({}, ()) if document is None else stiffness_of_parts(document, stored)
    garment = Garment(
        stem_of(path),
        welded.vertices,
        welded.faces,
        stored.part_names,
        welded.face_parts,
        garment_strength(path, stored, welded.file_to_welded, len(welded.vertices), strength),
        frame.notes + stored.notes + _unread(document, stored) + pictures + odd + welded.notes + found.notes(),
        own_joints=own_joints_of_file(document, stored, welded),
        stiffness=stiffness,
    )
    is_placed = beside is not None or bool(units and up)
    file = GarmentFile(
        garment, path, stored, welded.file_to_welded, welded.kept_faces, frame, document, told, is_placed
    )
    return replace(file, garment=replace(garment, source=file))


def named_strength(file: GarmentFile, name: str) -> Float[np.ndarray, " G"]:
    """How strongly each vertex of a garment follows, from the numbers of its file that a name tells, (G,).

    Raises:
        FileError: the file has no such numbers (those it has are listed), or one lies outside [0, 1].
    """
    return garment_strength(file.path, file.stored, file.file_to_cloth, len(file.garment.vertices), name)


def _path(given: Path | str | None) -> Path | None:
    return None if given is None else Path(given)


def _with_obj_morphs(path: Path, stored: FileMesh, folder: Path | None) -> FileMesh:
    beside = path.parent / MORPH_FOLDER
    if folder is None and (path.suffix.lower() != ".obj" or not beside.is_dir()):
        return stored
    return with_morphs(stored, path, folder or beside)


def _body_of(path: Path, stored: FileMesh, document: Document | None, options: ReadOptions) -> BodyFile:
    _refuse_far(path, stored)
    frame = body_frame(
        path, stored.vertices, stored.faces, stated_unit=stored.metres_per_unit, stated_up=stored.up, told=options.axes
    )
    stored = stored.turned(frame.linear)
    welded = _welded(path, stored)
    faces, found = tidy_body(path, welded.vertices, welded.faces)
    told, odd = ranges_in(document, stored)
    body = Body(
        stored.name,
        welded.vertices,
        faces,
        stored.morph_names,
        welded.deltas,
        range_of(path, options.range_file, stored.morph_names, told=told),
        stored.skeleton,
        welded.skin,
        body_regions(stored, welded),
        frame.notes + stored.notes + welded.notes + found + odd,
        from_file=frame.linear,
    )
    sliders, moves = moving_of(
        body,
        path,
        options.range_file,
        lambda: () if document is None else animations_of(document, stored, stored.skeleton, frame.linear),
    )
    body = replace(body, joint_sliders=sliders, joint_moves=moves)
    file = BodyFile(body, path, stored, welded.file_to_welded, frame, document, options)
    return replace(file, body=replace(body, source=file))


def _refuse_far(path: Path, stored: FileMesh) -> None:
    """Refuse coordinates with which no distance can be computed any more."""
    for name, points in (("vertices", stored.vertices), ("morphs", stored.deltas.reshape(-1, 3))):
        if not np.abs(points).max(initial=0.0) <= LARGEST_COORDINATE:
            problem = f"reach beyond {LARGEST_COORDINATE:g} units from the origin"
            raise FileError.of(path, name, problem, "Export the file again")


def _welded(path: Path, stored: FileMesh) -> Welded:
    welded = weld_stored(stored)
    if not len(welded.faces):
        raise FileError.of(path, "meshes", "hold no triangle with an area", "Export a mesh with faces")
    return welded


def _unread(document: Document | None, stored: FileMesh) -> tuple[str, ...]:
    """What of a garment's file is not part of the garment."""
    notes = []
    if document is not None and len(document.gltf.scenes) > 1:
        notes.append(f"Of {len(document.gltf.scenes)} scenes only the first shown, {stored.name!r}, was read.")
    if np.any(stored.default_weights):
        shown = [name for name, weight in zip(stored.morph_names, stored.default_weights) if weight]
        notes.append(f"The garment was read with its own morphs at 0, though the file shows {', '.join(shown)}.")
    return tuple(notes)
