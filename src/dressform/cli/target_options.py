"""Options that say how the morph targets of a fitted garment are written."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

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

        return TargetStyle(self.targets, self.normals, not self.drop_still)
