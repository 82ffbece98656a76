"""The morph targets of one mesh of a fitted garment put together: its own, the body's, their names and ranges."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from dressform.fit.fit import Fit
from dressform.formats.gltf.animations import widen_animations
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.fit_source import FitPrimitive
from dressform.formats.gltf.morphs.basis import BASIS, Basis, basis_entry, basis_ranges
from dressform.formats.gltf.morphs.planned import PlannedTargets
from dressform.formats.gltf.morphs.slider_ranges import RANGES, STILL, ranges_entry
from dressform.formats.gltf.morphs.target_style import SPARSE, TargetStyle, crowded_notes
from dressform.formats.gltf.morphs.targets import ZERO_LENGTH, add_turns
from dressform.formats.gltf.read import target_names
from dressform.formats.moving.correctives import CORRECTIVES
from dressform.units import MM_PER_M, counted

TURNS = ("NORMAL", "TANGENT")


def set_targets(
    builder: Builder,
    document: Document,
    fit: Fit,
    node: int,
    group: list[FitPrimitive],
    planned: PlannedTargets,
    *,
    style: TargetStyle,
) -> tuple[str, ...]:
    """Morph targets of one mesh: its own stay in front; one with a name of the body's gives its place to ours.

    Returns:
        Notes to show, one sentence each.
    """
    entry = builder.table("nodes")[node]
    mesh = builder.table("meshes")[entry["mesh"]]
    source = document.gltf.nodes[node].mesh
    own = () if source is None else target_names(document, source)
    still = [] if style.still or planned.basis is not None else [name for name in _still(fit) if name not in own]
    ours = [name for name in planned.names if name not in still]
    names = [*own, *(name for name in ours if name not in own)]
    _set_extras(mesh, fit, names, still, planned.basis)
    if not names:
        return ()
    changed = [_set_primitive(builder, primitive, planned, own, names, style) for primitive in group]
    mesh["weights"] = [0.0] * len(names)
    if "weights" in entry:
        entry["weights"] = [0.0] * len(names)
    label = entry.get("name") or mesh.get("name") or "the garment"
    notes = list(crowded_notes(label, len(names), max(len(target) for target in group[0].entry["targets"])))
    if planned.basis is not None:
        notes.append(f"{label}: {basis_words(planned.basis, len(fit.morph_names))}")
    if still:
        notes.append(f"Left out, as they do not move {label}: {', '.join(still)}.")
    if not own:
        return tuple(notes)
    widen_animations(builder, document, node, old=len(own), new=len(names))
    return (*_own_notes(own, ours, any(changed), style), *notes)


def basis_words(basis: Basis, morphs: int) -> str:
    """What a basis makes, and how far off, in one sentence."""
    made, off = counted(len(basis.targets), "target"), basis.error * MM_PER_M
    return (
        f"{counted(morphs, 'morph')} made of {made} of a basis; no vertex is off by more than {off:.3f} mm at any "
        "shape of the range."
    )


def _still(fit: Fit) -> list[str]:
    """Morphs of the body that do not move the garment."""
    return [name for name, delta in zip(fit.morph_names, fit.deltas) if np.abs(delta).max(initial=0.0) <= ZERO_LENGTH]


def _set_extras(
    mesh: dict[str, Any], fit: Fit, names: Sequence[str], still: Sequence[str], basis: Basis | None
) -> None:
    """Names of the targets, the range of each morph, and what was left out, beside what the mesh had there."""
    if not (names or still or basis):
        return
    extras = mesh.get("extras") or {}
    mesh["extras"] = extras if isinstance(extras, dict) else {"original": extras}
    for key in (CORRECTIVES, RANGES, STILL, BASIS):
        mesh["extras"].pop(key, None)
    told: dict[str, Any] = {"targetNames": list(names), RANGES: ranges_entry(fit.body.range), STILL: list(still)}
    if basis is not None:
        told[RANGES] |= basis_ranges(basis, fit.body.range)
        told[BASIS] = basis_entry(basis, fit.morph_names)
    mesh["extras"] |= {key: value for key, value in told.items() if value}


def _set_primitive(
    builder: Builder,
    primitive: FitPrimitive,
    planned: PlannedTargets,
    own: Sequence[str],
    names: Sequence[str],
    style: TargetStyle,
) -> bool:
    """Put own and new targets in their order; whether one of its own gained or lost normals or tangents."""
    stored = primitive.entry.get("targets", ())
    targets: list[dict[str, int]] = [_completed(builder, primitive, *one, style=style) for one in zip(own, stored)]
    changed = [before.keys() for before in stored] != [after.keys() for after in targets]
    targets += [{}] * (len(names) - len(own))
    for name, target in zip(planned.names, primitive.targets):
        if name in names:
            targets[names.index(name)] = target
    primitive.entry["targets"] = targets
    return changed


def _completed(
    builder: Builder, primitive: FitPrimitive, name: str, target: dict[str, int], *, style: TargetStyle
) -> dict[str, int]:
    """A target of the file's own with the attributes that ours have."""
    if not style.normals:
        return {key: index for key, index in target.items() if key not in TURNS}
    turns = primitive.own_turns.get(name, {})
    lacking = {key: turn for key, turn in turns.items() if key not in target}
    return target | add_turns(builder, lacking, sparse=style.encoding == SPARSE)


def _own_notes(own: Sequence[str], ours: Sequence[str], changed: bool, style: TargetStyle) -> list[str]:
    kept = [name for name in own if name not in ours]
    replaced = [name for name in own if name in ours]
    notes = [f"The garment's own morphs stay in front of the body's: {', '.join(kept)}."] if kept else []
    if changed and kept:
        done = "got the normals that they lacked" if style.normals else "lost their normals, as the others have none"
        notes.append(f"The garment's own morphs {done}: engines play normals of all targets or of none.")
    if replaced:
        notes.append(f"The garment's own morphs were replaced by lifted ones: {', '.join(replaced)}.")
    return notes
