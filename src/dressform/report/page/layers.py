"""The layers of the page: what can be shown as colour on a garment's surface, with units, scale and meaning."""

from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.faults.fault import BODY, CLASSES, CLOTH, RISING, Fault, FaultLayer
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.clearance import CLEARANCE_CHANGE
from dressform.faults.registry import ALL_FAULTS, FAULT_LAYERS
from dressform.faults.results import ShapeFields
from dressform.faults.rim_step import RigidPatches, find_rigid_patches
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.fit.fit import Fit
from dressform.formats.results.page.about import LayerAbout
from dressform.lift.feet import find_feet
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree
from dressform.proof.certificate import Certificate
from dressform.repair.resolution import measure_resolution
from dressform.repair.whole.footprint import curvature_tensors, footprints, growth_factors
from dressform.report.pictures.faults import layer_ends
from dressform.units import MM_PER_M, PERCENT

CERTIFIED = ("proven over the whole range", "only checked", "left out: it touches the body at the base")
"""Classes of the layer `certified`, by rising doubt."""
MAX_CLEARANCE = 40.0
"""Clearance at which its scale ends, mm: beyond, cloth hangs free."""
MAX_RIM_STEP = 5.0
"""Step at the rim of a rigid patch at which its scale ends, mm."""

Layers = Mapping[str, Float[np.ndarray, " V"] | Int[np.ndarray, " V"]]
"""Values by name of the layer, in the unit of the layer: one per cloth vertex, or per body vertex."""


def page_layers(*, bands: Bands = DEFAULT_BANDS) -> tuple[LayerAbout, ...]:
    """Every layer, in the order of the page's menu; the scale of a fault ends where it is grave."""
    shown: dict[str, LayerAbout] = {}
    for fault in ALL_FAULTS:
        if fault.layer is not None and fault.field is not None:
            shown[fault.layer.name] = _fault_layer(fault, fault.layer, bands)
    return (*shown.values(), *OTHER_LAYERS)


def _fault_layer(fault: Fault, layer: FaultLayer, bands: Bands) -> LayerAbout:
    low, top = layer_ends(fault, layer, bands)
    return LayerAbout(
        name=layer.name,
        label=layer.label,
        unit=layer.unit,
        on=fault.on,
        kind=layer.kind,
        low=low,
        high=top,
        meaning=layer.meaning,
    )


OTHER_LAYERS = (
    LayerAbout(
        name="clearance",
        label="clearance",
        unit="mm",
        on=CLOTH,
        kind=RISING,
        low=0.0,
        high=MAX_CLEARANCE,
        meaning="Distance from the skin, outward positive.",
    ),
    LayerAbout(
        name="rigid_patch",
        label="rim step",
        unit="mm",
        on=BODY,
        kind=RISING,
        low=0.0,
        high=MAX_RIM_STEP,
        meaning="Skin that a morph moves as one stiff piece, with this step at its rim: a fault of the body.",
    ),
    LayerAbout(
        name="certified",
        label="proven or only checked",
        unit="",
        on=CLOTH,
        kind=CLASSES,
        low=0.0,
        high=float(len(CERTIFIED) - 1),
        meaning="Whether the cloth is proven to keep clear of the body at every shape of the range.",
        classes=CERTIFIED,
    ),
    LayerAbout(
        name="resolution",
        label="resolution",
        unit="",
        on=CLOTH,
        kind=RISING,
        low=0.0,
        high=2.0,
        meaning="Above 1 the body bends through a triangle between its vertices: there are too few.",
    ),
    LayerAbout(
        name="strength",
        label="following strength",
        unit="",
        on=CLOTH,
        kind=RISING,
        low=0.0,
        high=1.0,
        meaning="How strongly the cloth follows the body: 0 not at all, 1 fully.",
    ),
    LayerAbout(
        name="feet",
        label="skin under the cloth",
        unit="%",
        on=CLOTH,
        kind=RISING,
        low=0.0,
        high=PERCENT,
        meaning="Skin that a patch of cloth stands on, per cent of the patch: under 20, the cloth hangs on a tip.",
    ),
)
"""The layers that show no fault that is graded."""


class SurfaceLayers:
    """Values of every layer of one garment; values that are the same for every shape are computed once.

    Args:
        check: The check of the garment.
        rigid_patches: The rigid patches of each morph of the body; see `body_rigid_patches`.
        certificate: What is proven of the fit; without it there is no layer `certified`.
    """

    def __init__(
        self,
        check: GarmentOnBody,
        *,
        rigid_patches: Sequence[RigidPatches] = (),
        certificate: Certificate | None = None,
    ) -> None:
        self.check, self.rigid_patches = check, tuple(rigid_patches)
        body, fit = check.body, check.fit
        self._own_clearance = signed_clearance(Tree(body.vertices, body.faces), fit.garment.vertices)[0]
        self._certificate = certificate

    @cached_property
    def constant(self) -> Layers:
        """Values of the layers that are the same for every shape, in the unit of each."""
        body, fit, certificate = self.check.body, self.check.fit, self._certificate
        return {
            "resolution": resolution_layer(fit),
            "strength": fit.garment.strength,
            "feet": feet_layer(body, fit),
            **({"certified": certified_layer(fit, certificate)} if certificate is not None else {}),
        }

    def at(self, weights: Weights) -> Layers:
        """Values of the layers that depend on the shape, in the unit of each."""
        return self.of_fields(self.check.fields(weights), weights)

    def of_fields(self, fields: ShapeFields, weights: Weights) -> Layers:
        """The same, for a shape whose fields are already computed."""
        changes = fields.layers[CLEARANCE_CHANGE.name]
        return {layer.name: fields.layers[layer.name] * layer.factor for layer in FAULT_LAYERS} | {
            "clearance": (self._own_clearance + changes) * MM_PER_M,
            "rigid_patch": rim_steps(self.rigid_patches, weights, len(self.check.body.vertices)) * MM_PER_M,
        }


def body_rigid_patches(body: Body) -> tuple[RigidPatches, ...]:
    """The rigid patches of each morph, in the order of the morphs."""
    return tuple(find_rigid_patches(body.vertices, body.faces, delta) for delta in body.deltas)


def rim_steps(rigid_patches: Sequence[RigidPatches], weights: Weights, count: int) -> Float[np.ndarray, " B"]:
    """Step at the rim of the rigid patch around each of `count` body vertices, the largest over the morphs, metres."""
    steps = np.zeros(count)
    for shift, weight in zip(rigid_patches, weights):
        for rigid_patch in shift.rigid_patches if shift.found else ():
            steps[rigid_patch.vertices] = np.maximum(steps[rigid_patch.vertices], abs(weight) * rigid_patch.step)
    return steps


def resolution_layer(fit: Fit) -> Float[np.ndarray, " G"]:
    """Largest resolution index of the triangles around each cloth vertex, (G,)."""
    index = measure_resolution(fit).index
    values = np.zeros(len(fit.garment.vertices))
    np.maximum.at(values, fit.garment.faces, index[:, None])
    return values


def feet_layer(body: Body, fit: Fit) -> Float[np.ndarray, " G"]:
    """Skin that a patch of cloth round each vertex stands on, per cent of the patch, (G,)."""
    feet = find_feet(Tree(body.vertices, body.faces), fit.garment.vertices, fit.garment.faces)
    tensors = curvature_tensors(body.vertices, body.faces)[body.faces[feet.faces]]
    shares = footprints(growth_factors(feet, np.einsum("gc,gcij->gij", feet.barycentric, tensors)))
    return np.minimum(shares, 1.0) * PERCENT


def certified_layer(fit: Fit, certificate: Certificate) -> Int[np.ndarray, " G"]:
    """Class of each cloth vertex, the least certain of its triangles: an index into `CERTIFIED`, (G,)."""
    faces = fit.garment.faces
    doubt = np.zeros(len(faces), dtype=np.int64)
    doubt[certificate.open_pairs[:, 0]] = 1
    doubt[certificate.excluded] = 2
    values = np.zeros(len(fit.garment.vertices), dtype=np.int64)
    np.maximum.at(values, faces, doubt[:, None])
    return values
