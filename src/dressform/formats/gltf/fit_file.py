"""Reading a fitted garment back: the same numbers that an engine plays."""

from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np
from jaxtyping import Float

from dressform.arrays import ClothDeltas
from dressform.body.body import Body
from dressform.body.skeleton import Skin
from dressform.body.stances.driver import Driver
from dressform.errors import FileError
from dressform.fit.corrective import Corrective
from dressform.fit.fit import Fit
from dressform.formats.frames.units import STANDARD_FRONT, Frame
from dressform.formats.gltf.morphs.basis import BASIS, StoredBasis, read_basis
from dressform.formats.gltf.morphs.slider_ranges import extras_in, ranges_in, still_in
from dressform.formats.load import GarmentFile, load_garment
from dressform.formats.moving.correctives import CORRECTIVES, read_correctives
from dressform.formats.usd.modules import SUFFIXES as USD_SUFFIXES
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.units import MM_PER_M


def load_fit(path: Path | str, body: Body, following: Following = DEFAULT_FOLLOWING) -> Fit:
    """The fit that a file holds: its base and, for every morph of the body, the target of that name.

    Morph targets of the file that the body does not have are the garment's own and stay out, but those that joints
    drive. Joint weights are those of the file, where all its joints are the body's, by name.

    Args:
        path: A file written by `save_fit`, metres, +Y up, facing as the body's file does; or by `save_usd_fit`.
        body: The body that it was fitted to.
        following: How it was made to follow, where that is known; the file does not say.

    Raises:
        FileError: the file cannot be read, or lacks the target of a morph; the morphs it has are listed.
    """
    front = Frame.of_linear(body.from_file).front
    if Path(path).suffix.lower() in USD_SUFFIXES:  # says its units and axes itself
        garment_file = load_garment(path, front=None if front == STANDARD_FRONT else front)
    else:
        garment_file = load_garment(path, units="m", up="y", front=front)
    stored, garment = garment_file.stored, garment_file.garment
    known = {*stored.morph_names, *still_in(garment_file.document, stored), *_combined(garment_file)}
    missing = [name for name in body.morph_names if name not in known]
    if missing:
        raise FileError.of(
            path,
            "morph targets",
            f"no target named {missing[0]!r} (and {len(missing) - 1} more of {body.name!r}); "
            f"the file has: {', '.join(stored.morph_names) or 'none'}",
            "Fit the garment to this body first, or name the base body it was fitted to",
        )
    held = targets_of(garment_file, body)
    notes = (*garment.notes, *_other_ranges(garment_file, body))
    garment = replace(garment, notes=notes)
    return Fit(body, garment, following, garment.vertices, held.deltas, held.skin, held.correctives)


def _other_ranges(garment_file: GarmentFile, body: Body) -> list[str]:
    """What to say where a fitted garment's file tells another range than its body has here."""
    told, odd = ranges_in(garment_file.document, garment_file.stored)
    here = dict(zip(body.morph_names, zip(body.range.low, body.range.high)))
    differs = [name for name, ends in told.items() if name in here and not np.allclose(here[name], ends)]
    if not differs:
        return list(odd)
    name, (low, high) = differs[0], told[differs[0]]
    more = f" (and {len(differs) - 1} more)" if len(differs) > 1 else ""
    return [
        *odd,
        f"The garment was written for {name} from {low:g} to {high:g}; here it goes from {here[name][0]:g} to "
        f"{here[name][1]:g}{more}.",
    ]


@dataclass(frozen=True)
class FileTargets:
    """What a garment's file holds of how it follows a body.

    Attributes:
        deltas: Its target of each morph of the body, (K, G, 3), metres; zero where it has none.
        missing: Morphs of the body that it has no target for.
        extra: Its targets that are no morph of the body.
        correctives: Its targets that joints drive.
        skin: Its joint weights, by the body's joints; None where it has none, or names a joint that the body lacks.
    """

    deltas: ClothDeltas
    missing: tuple[str, ...]
    extra: tuple[str, ...]
    correctives: tuple[Corrective, ...]
    skin: Skin | None


def targets_of(garment_file: GarmentFile, body: Body) -> FileTargets:
    """The targets of a garment's file by the names of a body's morphs, and its joint weights by those of the joints."""
    stored, used = garment_file.stored, garment_file.file_to_cloth >= 0
    deltas = np.zeros((len(body.morph_names), len(garment_file.garment.vertices), 3))
    combined = _combined(garment_file)
    targets = combined | dict(zip(stored.morph_names, stored.deltas))
    for number, name in enumerate(body.morph_names):
        if name in targets:
            deltas[number, garment_file.file_to_cloth[used]] = targets[name][used]
    still = still_in(garment_file.document, stored)
    missing = tuple(name for name in body.morph_names if name not in targets and name not in still)
    correctives = correctives_of(garment_file, body)
    known = {*body.morph_names, *(one.name for one in correctives), *_basis_targets(garment_file)}
    extra = tuple(name for name in stored.morph_names if name not in known)
    return FileTargets(deltas, missing, extra, correctives, _skin_of(garment_file, body))


def _combined(garment_file: GarmentFile) -> dict[str, Float[np.ndarray, "N 3"]]:
    """The displacement of each morph that a basis in the file makes, (N, 3) each; none where there is no basis."""
    stored, found = garment_file.stored, dict[str, Float[np.ndarray, "N 3"]]()
    for where, basis in _bases(garment_file):
        absent = next((name for name in basis.targets if name not in stored.morph_names), None)
        if absent is not None:
            problem = f"names {absent!r}, no target of the mesh"
            raise _error(garment_file, where, BASIS, problem, "Fit it again")
        targets = np.array([stored.deltas[stored.morph_names.index(name)] for name in basis.targets])
        for name, shares in basis.morphs.items():
            found[name] = np.tensordot(shares, targets, axes=1) if shares else np.zeros(stored.vertices.shape)
    return found


def basis_error(garment_file: GarmentFile) -> float:
    """How far off a file that holds a basis says that a vertex is at most, metres; 0 where it holds none."""
    return max((basis.error_mm for _, basis in _bases(garment_file)), default=0.0) / MM_PER_M


def _basis_targets(garment_file: GarmentFile) -> set[str]:
    return {name for _, basis in _bases(garment_file) for name in basis.targets}


def _bases(garment_file: GarmentFile) -> list[tuple[str, StoredBasis]]:
    tables = extras_in(garment_file.document, garment_file.stored)
    every = ((where, read_basis(extras, partial(_error, garment_file, where))) for where, extras in tables)
    return [(where, basis) for where, basis in every if basis is not None]


def correctives_of(garment_file: GarmentFile, body: Body) -> tuple[Corrective, ...]:
    """The targets of a file that joints drive, by the tables in the `extras` of its meshes; none where there are none.

    Raises:
        FileError: a table is damaged, names no target of its mesh, or was made for another body.
    """
    stored = garment_file.stored
    if body.skeleton is None:
        return ()
    drivers: dict[str, Driver] = {}
    for where, extras in extras_in(garment_file.document, stored):
        drivers |= dict(read_correctives(extras, body.skeleton, partial(_error, garment_file, where)))
    used = garment_file.file_to_cloth >= 0
    found = []
    for name, driver in drivers.items():
        if name not in stored.morph_names:
            problem = f"names {name!r}, no target of the mesh"
            raise _error(garment_file, "extras", CORRECTIVES, problem, "Repair the garment again")
        delta = np.zeros((len(garment_file.garment.vertices), 3))
        delta[garment_file.file_to_cloth[used]] = stored.deltas[stored.morph_names.index(name)][used]
        found.append(Corrective(name, driver, delta))
    return tuple(found)


def _error(garment_file: GarmentFile, where: str, place: str, problem: str, advice: str) -> FileError:
    return FileError.of(garment_file.path, f"{where}.{place}", problem, advice)


def _skin_of(garment_file: GarmentFile, body: Body) -> Skin | None:
    """The file's joint weights, with the body's joints; None where it has none or names another joint."""
    stored = garment_file.stored
    if stored.skin is None or stored.skeleton is None or body.skeleton is None:
        return None
    names = body.skeleton.names
    used = np.unique(stored.skin.joints[stored.skin.weights > 0])
    if not all(stored.skeleton.names[joint] in names for joint in used):
        return None
    place = np.zeros(len(stored.skeleton.names), dtype=np.int64)
    place[used] = [names.index(stored.skeleton.names[joint]) for joint in used]
    count = len(garment_file.garment.vertices)
    joints = np.zeros((count, stored.skin.joints.shape[1]), dtype=np.int64)
    weights = np.zeros(joints.shape)
    kept = garment_file.file_to_cloth >= 0
    joints[garment_file.file_to_cloth[kept]] = place[stored.skin.joints[kept]]
    weights[garment_file.file_to_cloth[kept]] = stored.skin.weights[kept]
    return Skin(np.where(weights > 0, joints, 0), weights) if (weights.sum(axis=1) > 0).all() else None
