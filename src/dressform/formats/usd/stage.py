"""Opening a USD file: what it may lead to, and what of it is shown."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dressform.errors import FileError
from dressform.formats.guards.limits import memory_limit
from dressform.formats.usd.modules import UsdLibrary, usd_errors, usd_library

MOST_NESTED = 16
"""So often instances may lie in instances."""
AGAIN = "Export the file again"


@dataclass(frozen=True)
class OpenedStage:
    """A USD stage and where it comes from; instances are already copies of their own.

    Attributes:
        path: The file.
        usd: The library.
        stage: The stage.
        time: The first moment that the file tells, else its default.
    """

    path: Path
    usd: UsdLibrary
    stage: Any
    time: Any

    def meshes(self) -> tuple[list[Any], list[str]]:
        """The meshes that are shown, parents first, and a note on each kind of thing that is left out."""
        geom = self.usd.UsdGeom
        shown: list[Any] = []
        left: dict[str, int] = {}
        walk = iter(self.stage.Traverse())
        for prim in walk:
            image = geom.Imageable(prim)
            if prim.IsA(geom.PointInstancer):
                walk.PruneChildren()
                left[_INSTANCERS] = left.get(_INSTANCERS, 0) + 1
            elif not image or not prim.IsA(geom.Gprim):
                continue
            elif image.ComputeVisibility(self.time) == geom.Tokens.invisible:
                left[_HIDDEN] = left.get(_HIDDEN, 0) + 1
            elif image.ComputePurpose() not in (geom.Tokens.default_, geom.Tokens.render):
                left[_HELPERS] = left.get(_HELPERS, 0) + 1
            elif prim.IsA(geom.Mesh):
                shown.append(prim)
            else:
                left[_OTHER] = left.get(_OTHER, 0) + 1
        return shown, [f"Left out: {count} {what}." for what, count in left.items()]


_INSTANCERS = "point instancers, whose copies are not read"
_HIDDEN = "invisible shapes"
_HELPERS = "shapes of purpose guide or proxy"
_OTHER = "shapes that are no meshes"


def open_stage(path: Path) -> OpenedStage:
    """Open a USD file with all the layers that it refers to, which must lie in its folder or below.

    A damaged file may end the process: what nobody has read yet is read by `apart.read_usd`.

    Raises:
        FileError: `usd-core` is not installed, the file is damaged, or a layer that it refers to is missing or lies
            elsewhere.
    """
    size = path.stat().st_size
    usd = usd_library(path)
    with usd_errors(path, usd):
        root = usd.Sdf.Layer.FindOrOpen(str(path.resolve()))
        if root is None:
            raise FileError.of(path, "", "is damaged", AGAIN)
        root.Reload()
        for layer in layers_below(path, usd, root):
            size += layer.stat().st_size
        if size > memory_limit():
            raise FileError.of(path, "", f"is {size:,} bytes with its layers, more than are read", "Split it")
        stage = usd.Usd.Stage.Open(root)
        stage.SetEditTarget(stage.GetSessionLayer())
        _own_instances(path, stage)
        return OpenedStage(path, usd, stage, usd.Usd.TimeCode.EarliestTime())


def layers_of(path: Path) -> list[Path]:
    """The files of all layers that a USD file is made of, beside itself.

    Raises:
        FileError: as for `open_stage`.
    """
    usd = usd_library(path)
    with usd_errors(path, usd):
        root = usd.Sdf.Layer.FindOrOpen(str(path.resolve()))
        if root is None:
            raise FileError.of(path, "", "is damaged", AGAIN)
        return list(dict.fromkeys(layers_below(path, usd, root)))


def layers_below(path: Path, usd: UsdLibrary, root: Any) -> Iterator[Path]:
    """The files of all layers that a layer is made of, each once, apart from what lies within a package.

    Raises:
        FileError: one is missing or lies outside the folder of the file.
    """
    folder = path.resolve().parent
    seen = {root.identifier}
    queue = [root]
    for layer in queue:  # grows while it is walked
        for asset in layer.GetCompositionAssetDependencies():
            place = layer.ComputeAbsolutePath(asset)
            if not asset or place in seen:  # a reference without an asset stays within its layer
                continue
            seen.add(place)
            outer = Path(usd.Ar.SplitPackageRelativePathOuter(place)[0])
            if "://" in asset or not outer.resolve().is_relative_to(folder):
                problem = f"refers to {asset!r}, which lies outside its folder"
                raise FileError.of(path, layer.GetDisplayName(), problem, "Put all layers into one folder, or flatten")
            found = usd.Sdf.Layer.FindOrOpen(place) if outer.is_file() else None
            if found is None:
                problem = f"refers to {asset!r}, which is not there or cannot be read"
                raise FileError.of(
                    path, layer.GetDisplayName(), problem, "Put the layer beside it, or flatten the file"
                )
            found.Reload()
            queue.append(found)
            if outer != path.resolve():
                yield outer


def _own_instances(path: Path, stage: Any) -> None:
    """Make every instance a copy of its own, in the session alone: each then follows by itself."""
    for _ in range(MOST_NESTED):
        found = [prim for prim in stage.Traverse() if prim.IsInstance()]
        if not found:
            return
        for prim in found:
            prim.SetInstanceable(False)
    raise FileError.of(path, "", f"has instances in instances, more than {MOST_NESTED} deep", "Flatten the file")
