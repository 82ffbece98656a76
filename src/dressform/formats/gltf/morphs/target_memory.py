"""What the morph targets of a file weigh, as stored and as an engine holds them."""

from collections import Counter
from dataclasses import dataclass

from dressform.formats.gltf.accessors import COMPONENTS, WIDTHS
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.schema import Accessor
from dressform.units import counted

ENGINE_BYTES = 12
"""A vertex of one attribute of a target in an engine: three float32, whatever the file says; common practice."""
KB = 1000


@dataclass(frozen=True)
class TargetMemory:
    """Bytes of all targets.

    Attributes:
        count: Targets of the mesh that has most.
        stored: What their own buffer views take in the file, the shared zeros apart, bytes.
        held: What an engine holds of them, once each is dense float32, bytes.
    """

    count: int
    stored: int
    held: int

    def words(self) -> str:
        """One line for a person."""
        if not self.count:
            return "no morph targets"
        each = (
            f"{self.stored / self.count / KB:,.1f} kB in the file and {self.held / self.count / KB:,.1f} kB in memory"
        )
        return f"{counted(self.count, 'morph target')}, on average {each} each"


def target_memory(document: Document) -> TargetMemory:
    """What the targets of all meshes of a file take; two that share an accessor count once.

    Proof: tests/formats/gltf/morphs/test_target_style.py
    """
    primitives = [primitive for mesh in document.gltf.meshes for primitive in mesh.primitives]
    used = {index for primitive in primitives for target in primitive.targets for index in target.values()}
    accessors = [document.gltf.accessors[index] for index in sorted(used)]
    shared = _shared_views(accessors)
    stored = sum(document.packed.get(view, 0) for view in {one.buffer_view for one in accessors} if view is not None)
    stored += sum(
        _stored_bytes(one)
        for one in accessors
        if one.buffer_view not in document.packed and (one.sparse is not None or one.buffer_view not in shared)
    )
    held = sum(one.count * ENGINE_BYTES for one in accessors)
    return TargetMemory(max((len(primitive.targets) for primitive in primitives), default=0), stored, held)


def _shared_views(accessors: list[Accessor]) -> set[int | None]:
    """Views that several accessors read from one place, as the zeros are, and no view."""
    places = Counter((one.buffer_view, one.byte_offset) for one in accessors)
    return {None, *(view for (view, _), count in places.items() if count > 1)}


def _stored_bytes(accessor: Accessor) -> int:
    row = COMPONENTS[accessor.component_type].itemsize * WIDTHS[accessor.type]
    if accessor.sparse is not None:
        return accessor.sparse.count * (row + COMPONENTS[accessor.sparse.indices.component_type].itemsize)
    return accessor.count * row
