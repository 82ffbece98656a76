"""The method `file`: a garment whose file holds targets named as the body's morphs, followed as it is."""

from dataclasses import replace

from dressform.body.body import Body
from dressform.errors import ArgumentError, FileError
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import choose_joints
from dressform.formats.gltf.fit_file import FileTargets, targets_of
from dressform.formats.load import GarmentFile
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.garment.methods import FILE
from dressform.garment.strength import follow_as
from dressform.lift.lift import make_lift
from dressform.mesh.tree import Tree
from dressform.units import counted

NAMED = 8
"""So many names are told in a note."""


def fit_as_filed(body: Body, garment: Garment, following: Following, *, tree: Tree | None = None) -> Fit:
    """The garment as its file has it follow: its own targets and its own base; no morph is lifted.

    A morph without a target leaves the cloth where it is, which a note tells. Joint weights are those that `following`
    asks for: by default the file's own, and where it has none for the body's joints, lifted ones.

    Args:
        body: The body.
        garment: The garment, read from a file.
        following: Its settings; what they say of strength is for comparison alone.
        tree: The body's triangles if they are at hand.

    Raises:
        ArgumentError: the garment was made in memory.
        FileError: the file has no target that is named as a morph of the body.

    Proof: tests/jobs/methods/test_as_filed.py
    """
    source = garment.source
    if not isinstance(source, GarmentFile):
        rule = f"a method of ours, where the garment has no file: {FILE!r} measures what a file holds"
        raise ArgumentError.of("fit", "following.method", rule, repr(FILE), "Load the garment from a file")
    held = targets_of(source, body)
    if len(held.missing) == len(body.morph_names):
        own = ", ".join(held.extra) or "none"
        problem = f"none is named as a morph of {body.name!r} ({_some(body.morph_names)}); the file has: {own}"
        raise FileError.of(source.path, "morph targets", problem, "Name the targets so, or let a method lift them")
    garment = follow_as(garment, following)
    joints = choose_joints(make_lift(body, garment, following, tree=tree), following)
    garment = replace(garment, notes=(*garment.notes, *_notes(body, held), *joints.notes))
    correctives = held.correctives if joints.skin is not None else ()
    return Fit(body, garment, following, garment.vertices, held.deltas, joints.skin, correctives)


def unmeasured_targets(body: Body, garment: Garment) -> tuple[str, ...]:
    """A note where a garment is lifted although its file holds targets named as the body's morphs; else nothing."""
    source = garment.source
    if not isinstance(source, GarmentFile):
        return ()
    named = [name for name in source.stored.morph_names if name in body.morph_names]
    if not named:
        return ()
    held = f"Its file holds {counted(len(named), 'target')} named as morphs of the body, which were not used"
    return (f"{held}; `--method {FILE}` measures them.",)


def _notes(body: Body, held: FileTargets) -> tuple[str, ...]:
    """What was measured, what was missing, and what stayed out."""
    count = len(body.morph_names)
    notes = [f"Measured as its file has it follow: {count - len(held.missing)} of {count} morphs by their own targets."]
    if held.missing:
        notes.append(f"The file has no target for {_some(held.missing)}: there the cloth stays where it is.")
    if held.extra:
        notes.append(f"Targets of the file that are no morphs of the body stayed out: {_some(held.extra)}.")
    return tuple(notes)


def _some(names: tuple[str, ...]) -> str:
    """Names in a row, the first ones where there are many."""
    more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
    return ", ".join(names[:NAMED]) + more
