"""A fitted garment as USD: blend shapes and joints by `UsdSkel`, in a copy of its own stage or in a fresh one."""

import os
import tempfile
from dataclasses import replace
from pathlib import Path

from dressform.errors import FileError
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import keeps_own
from dressform.formats.atomic import write_bytes
from dressform.formats.gltf.fitted import refuse_other_fit
from dressform.formats.gltf.morphs.planned import planned_targets
from dressform.formats.gltf.morphs.target_style import DEFAULT_STYLE, TargetStyle
from dressform.formats.load import BodyFile, GarmentFile
from dressform.formats.usd.modules import UsdLibrary, usd_errors
from dressform.formats.usd.places import UsdPlace, UsdTarget, usd_target
from dressform.formats.usd.rig import UsdRig, lower_top_meshes, skel_roots
from dressform.formats.usd.targets import UsdShapes
from dressform.leftovers import PLAIN, owned

PACKAGE = ".usdz"
INNER = "garment.usdc"
OWN_JOINTS = "The garment keeps its own joints; no animation holds the weights of the new blend shapes."


def save_usd_fit(
    fit: Fit, garment_file: GarmentFile, body_file: BodyFile, path: Path | str, *, style: TargetStyle = DEFAULT_STYLE
) -> tuple[str, ...]:
    """Write a fitted garment as `.usd`, `.usda`, `.usdc` or `.usdz`.

    A garment that was USD is written into a flattened copy of its own stage, in its own units and axes, with all that
    it came with: materials, texture coordinates, other prims, own blend shapes. Any other goes into a fresh stage in
    metres, +Y up, facing as the body's file does. Added are a blend shape for each morph, named as it, with offsets of
    the normals where the mesh has one for each vertex; the body's joints as a `Skeleton` with their names; joint
    weights; one `SkelAnimation` that holds all weights, at 0; and in the `customData` of each mesh what glTF keeps in
    `extras`.

    Returns:
        Notes to show, one sentence each.

    Raises:
        ArgumentError: the fit belongs to another garment file, or has skin weights for a body without joints.
        FileError: `usd-core` is not installed, or the file cannot be written; nothing is left half-written.

    Proof: tests/formats/usd/test_write.py
    """
    path = Path(path)
    refuse_other_fit(fit, garment_file, body_file)
    target = usd_target(garment_file, body_file)
    with usd_errors(path, target.usd):
        target = _lowered(target)
        shapes = UsdShapes.of(target, fit, style, planned_targets(fit, style))
        names, notes = shapes.write()
        skeleton = None if fit.skin is None else body_file.body.skeleton
        roots = skel_roots(target)
        rigs: dict[str, UsdRig] = {}
        for place in target.places:
            root = roots[str(place.prim.GetPath())]
            key = str(root.GetPath())
            if fit.skin is None and _is_bound(target.usd, place):
                notes.append(OWN_JOINTS)
            else:
                rig = rigs.get(key) or UsdRig(target, root, skeleton, names)
                rigs[key] = rig
                rig.bind(place, fit.skin)
            shapes.tell(place, skeleton)
        if garment_file.stored.skin is not None and fit.skin is not None and not keeps_own(fit):
            notes.append("The garment's own joint weights were replaced by the body's.")
        if fit.correctives:
            notes.append("No USD player drives correctives by joints; their table stands in customData.")
        notes += _write(target, garment_file, path)
    return tuple(dict.fromkeys((*target.notes, *notes)))


def _lowered(target: UsdTarget) -> UsdTarget:
    """The same with no mesh at the top of the stage, where it could not stand below a `SkelRoot`."""
    paths = [str(place.prim.GetPath()) for place in target.places]
    moved = lower_top_meshes(target.usd, target.stage)
    places = [
        replace(place, prim=target.stage.GetPrimAtPath(moved.get(path, path)))
        for path, place in zip(paths, target.places)
    ]
    return replace(target, places=tuple(places))


def _is_bound(usd: UsdLibrary, place: UsdPlace) -> bool:
    return bool(usd.UsdSkel.BindingAPI(place.prim).GetInheritedSkeleton())


def _write(target: UsdTarget, garment_file: GarmentFile, path: Path) -> list[str]:
    """Write the stage; pictures go into a package, or are named from where the file lies now."""
    usd, layer = target.usd, target.stage.GetRootLayer()
    assets = _Assets(usd, garment_file.path.resolve().parent, path)
    usd.UsdUtils.ModifyAssetPaths(layer, assets.moved)
    with tempfile.TemporaryDirectory(prefix=owned(PLAIN), ignore_cleanup_errors=True) as folder:
        is_package = path.suffix.lower() == PACKAGE
        file = Path(folder) / (INNER if is_package else f"garment{path.suffix.lower()}")
        if not layer.Export(str(file)):
            raise FileError.of(path, "", "cannot be written", "Name a file in a folder that can be written")
        if is_package:
            package = Path(folder) / f"garment{PACKAGE}"
            if not usd.UsdUtils.CreateNewUsdzPackage(usd.Sdf.AssetPath(str(file)), str(package)):
                raise FileError.of(path, "", "cannot be packed", "Write it as .usdc")
            file = package
        write_bytes(path, file.read_bytes())
    return assets.notes


class _Assets:
    """The files that a stage names, seen from where it is written.

    Attributes:
        notes: What was left out.
    """

    def __init__(self, usd: UsdLibrary, folder: Path, path: Path) -> None:
        """For a stage that was read in `folder` and is written to `path`."""
        self._usd, self._folder, self._path = usd, folder, path
        self.notes: list[str] = []

    def moved(self, asset: str) -> str:
        """How the file names one from now on; nothing that lies outside the garment's folder goes into a package."""
        if not asset or "://" in asset:
            return asset
        outer, inner = self._usd.Ar.SplitPackageRelativePathOuter(asset)
        whole = (self._folder / outer).resolve()
        is_package = self._path.suffix.lower() == PACKAGE
        if is_package and not (whole.is_relative_to(self._folder) and whole.is_file()):
            self.notes.append(f"Left out, as it does not lie in the garment's folder: {Path(outer).name}.")
            return ""
        found = str(whole) if is_package else os.path.relpath(whole, self._path.resolve().parent)
        if not is_package and not found.startswith("."):
            found = f"./{found}"
        return str(self._usd.Ar.JoinPackageRelativePath(found, inner)) if inner else found
