"""The order in which a small file holds what it need not hold in any order: triangles, vertices, joints of a vertex."""

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.formats.gltf.accessors import FLOAT, read_floats, read_integers
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.meshopt.order import first_use, neighbouring_order
from dressform.formats.gltf.meshopt.slots import kept_slots
from dressform.formats.gltf.schema import Primitive

TRIANGLE_LIST = 4
WEIGHT_EXPONENT = -12
"""Joint weights are multiples of 1/4,096."""


class Arrangement:
    """Orders in which neighbours follow each other.

    Attributes:
        orders: Which row of the file each row of an accessor of vertices was, by the accessor.
        triangles: The triangles that go with them, by the accessor of indices.
        slots: Which of its four joints each vertex has at each place, by the accessors of joints and of their weights.
        idle: Places of joints whose weight is rounded to nothing, by the accessor of the joints.
    """

    def __init__(self, document: Document) -> None:
        self.document = document
        self.orders, self.triangles = self._orders()
        self.idle: dict[int, Bool[np.ndarray, "N 4"]] = {}
        self.slots = self._slots()

    def _orders(self) -> tuple[dict[int, Int[np.ndarray, " N"]], dict[int, Int[np.ndarray, "F 3"]]]:
        """The order of the rows of each accessor of vertices, and the triangles that go with it, by their accessors.

        A primitive keeps its order where it shares vertices or triangles with another, or is no list of triangles.
        """
        primitives = [one for mesh in self.document.gltf.meshes for one in mesh.primitives]
        users: dict[int, set[int]] = {}
        for number, one in enumerate(primitives):
            for index in accessors_of(one):
                users.setdefault(index, set()).add(number)
        orders: dict[int, Int[np.ndarray, " N"]] = {}
        triangles: dict[int, Int[np.ndarray, "F 3"]] = {}
        for one in primitives:
            alone = all(len(users[index]) == 1 or self._is_zero(index) for index in accessors_of(one))
            if one.indices is None or one.mode != TRIANGLE_LIST or not alone:
                continue
            values = read_integers(self.document, one.indices, "", ("SCALAR",))
            if not len(values) or len(values) % 3:
                continue
            faces = values.reshape(-1, 3)
            vertices = read_floats(self.document, one.attributes["POSITION"], "", ("VEC3",))
            faces = faces[neighbouring_order(faces, vertices)]
            order = first_use(faces, len(vertices))
            places = np.zeros(len(order), dtype=np.int64)
            places[order] = np.arange(len(order))
            triangles[one.indices] = places[faces]
            orders |= {index: order for index in accessors_of(one) if index != one.indices}
        return orders, triangles

    def _is_zero(self, index: int) -> bool:
        """Whether an accessor holds zeros alone, so that their order does not matter."""
        entry = self.document.json["accessors"][index]
        return "sparse" not in entry and entry.get("min") == entry.get("max") == [0.0, 0.0, 0.0]

    def _slots(self) -> dict[int, Int[np.ndarray, "N 4"]]:
        """The order of each vertex's joints, by the accessors of joints and of weights that belong together.

        Where a vertex has more than four joints, or vertices keep their order, joints do too.
        """
        found: dict[int, Int[np.ndarray, "N 4"]] = {}
        for one in (one for mesh in self.document.gltf.meshes for one in mesh.primitives):
            joints, weights = one.attributes.get("JOINTS_0"), one.attributes.get("WEIGHTS_0")
            if (
                joints is None
                or weights is None
                or "JOINTS_1" in one.attributes
                or not {joints, weights} <= {*self.orders}
            ):
                continue
            order = self.orders[joints]
            named = read_integers(self.document, joints, "", ("VEC4",)).reshape(-1, 4)[order]
            shares = read_floats(self.document, weights, "", ("VEC4",))[order]
            slots = kept_slots(named, shares)
            found |= {joints: slots, weights: slots}
            if self.document.gltf.accessors[weights].component_type == FLOAT:
                steps = weight_steps(np.take_along_axis(shares, slots, axis=1))
                self.idle[joints] = steps == 0
        return found


def accessors_of(primitive: Primitive) -> list[int]:
    """Accessors of a primitive: attributes, targets, indices."""
    named = [*primitive.attributes.values(), *(index for target in primitive.targets for index in target.values())]
    return named if primitive.indices is None else [*named, primitive.indices]


def weight_steps(values: Float[np.ndarray, "N 4"]) -> Int[np.ndarray, "N 4"]:
    """Joint weights as whole steps of their grid. The largest of a vertex takes up what rounding adds to their sum."""
    top = 2**-WEIGHT_EXPONENT
    steps = np.rint(values * top).astype(np.int64)
    whole = np.abs(values.sum(axis=1) - 1.0) < 1e-3  # a set of several shares its sum with the others
    steps[np.arange(len(steps)), steps.argmax(axis=1)] += np.where(whole, top - steps.sum(axis=1), 0)
    return np.clip(steps, 0, top)
