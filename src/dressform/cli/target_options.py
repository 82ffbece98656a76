"""Options that say how the morph targets of a fitted garment are written."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from dressform.units import MM_PER_M

if TYPE_CHECKING:
    from dressform.formats.gltf.morphs.target_style import TargetStyle


@Parameter(name="*")
@dataclass(frozen=True)
class TargetOptions:
    """How morph targets are written."""

    targets: Annotated[
        str,
        Parameter(help="How targets are stored: sparse, where that is smaller, or dense, which every engine reads."),
    ] = "sparse"
    normals: Annotated[
        bool, Parameter(help="Let each target turn the normals too, and the tangents where the file has some.")
    ] = True
    drop_still: Annotated[bool, Parameter(help="Leave out morphs that do not move the garment.", negative="")] = False

    basis: Annotated[
        float | None,
        Parameter(
            help="Write as few targets as keep every vertex within so many mm at any shape, with a table of how they "
            "make the morphs, instead of one target per morph."
        ),
    ] = None
    optimize: Annotated[
        bool,
        Parameter(
            help="Round and compress the file (KHR_mesh_quantization, EXT_meshopt_compression) so far that no vertex "
            "is off by more than 0.1 mm at any shape; what is proven is proven of that file.",
            negative="",
        ),
    ] = False

    def style(self) -> "TargetStyle":
        """The options as a record."""
        from dressform.formats.gltf.morphs.target_style import TargetStyle  # noqa: PLC0415  # not for a command's help

        allowed = None if self.basis is None else self.basis / MM_PER_M
        return TargetStyle(self.targets, self.normals, not self.drop_still, allowed)

    @property
    def is_read_back(self) -> bool:
        """Whether the file holds something else than the fit, so that it is what is read back that is proven."""
        return self.optimize or self.basis is not None
