"""The stances in which garments of a body are looked at: asked for, brought by the body's files, or built in."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from dressform.body.body import Body
from dressform.body.stance import AS_MODELLED, Stance
from dressform.body.stances.built_in import BUILT_IN, MOTION, built_in_stances
from dressform.body.stances.found import FoundStances
from dressform.body.stances.human import HumanJoints, recognise
from dressform.body.stances.moments import animated_stances
from dressform.body.stances.slider_ends import slider_stances
from dressform.body.stances.stated import stated_stance
from dressform.body.stances.zero import zero_pose
from dressform.calls import called, likely
from dressform.errors import ArgumentError, FileError
from dressform.formats.gltf.joint_tracks import read_animations
from dressform.formats.load import BodyFile
from dressform.formats.moving.stances_file import ANIMATIONS, SLIDERS, StatedStances, read_stances, stances_beside

NONE = "none"
WORDS = (*BUILT_IN, ANIMATIONS, SLIDERS, NONE)
"""What may be asked for instead of a file; several are separated by commas."""


@called("find_stances")
def find_stances(body: Body, asked: Path | str | None = None) -> FoundStances:
    """Find the stances in which garments of a body are to be looked at, beside the pose it is modelled in.

    Args:
        body: The body.
        asked: A stances TOML, or of `motion` (every joint to its published limits), `everyday`, `strong` (bends that
            are strong for linear blending), `animations` and `sliders` (of the body's file) some, separated by
            commas, or `none`. Left out: what the body's files bring (`BODY.stances.toml`, else animations and sliders
            that move joints), else `motion` where a human skeleton is recognised. Sliders that move joints are looked
            at with any of them but `none`.

    Raises:
        ArgumentError: neither a file nor such words, or stances are asked for of a body without joints.
        FileError: the stances TOML cannot be read, or names joints that the body lacks.

    Proof: tests/jobs/test_stances.py
    """
    words = () if asked is None or isinstance(asked, Path) else tuple(word.strip() for word in asked.split(","))
    if words == (NONE,):
        return FoundStances(source=NONE)
    path = _asked_path(asked, words)
    if body.skeleton is None or body.skin is None:
        if asked is None:
            return FoundStances()
        rule = "of joints and joint weights, to stand otherwise"
        raise ArgumentError.of("find_stances", "body", rule, f"{body.name!r} without", "Ask for none")
    beside = stances_beside(body.source.path) if isinstance(body.source, BodyFile) else None
    if asked is None and beside is not None and beside.is_file():
        path = beside
    if path is not None:
        return _slid_too(body, _stated(body, path))
    if words:
        own = _gathered(body, words, recognise(body.skeleton, body.skin), source=", ".join(words))
        return _slid_too(body, own)
    return _slid_too(body, _brought(body))


def _slid_too(body: Body, found: FoundStances) -> FoundStances:
    """The stances with the ends and corners of sliders that move joints: a wearer may set these at any time."""
    assert body.skeleton is not None
    if not body.joint_sliders or any(one.pose == AS_MODELLED for one in found.stances):
        return found
    more, notes = slider_stances(body.skeleton, body.joint_sliders)
    return replace(found, stances=_distinct((*found.stances, *more)), notes=(*found.notes, *notes))


def _asked_path(asked: Path | str | None, words: Iterable[str]) -> Path | None:
    """The file that is meant, or None where words are."""
    if asked is None:
        return None
    if isinstance(asked, str) and all(word in WORDS for word in words):
        if NONE in words:
            raise ArgumentError.of("find_stances", "asked", "none alone, or other stances", repr(asked), "Drop none")
        return None
    path = Path(asked)
    if path.suffix.lower() != ".toml" and not path.is_file():
        rule = f"a stances TOML, or of {', '.join(WORDS)}"
        unknown = next((word for word in words if word not in WORDS), str(asked))
        advice = likely(unknown, WORDS, "Name one of these")
        raise ArgumentError.of("find_stances", "asked", rule, repr(str(asked)), advice)
    return path


def _brought(body: Body) -> FoundStances:
    """What the body's own file brings, else the range of motion."""
    assert body.skeleton is not None
    joints = recognise(body.skeleton, body.skin)
    own = _gathered(body, (ANIMATIONS, SLIDERS), joints, source="the body's file")
    if own.stances:
        return own
    if not joints.is_human:
        note = "No human skeleton was recognised: garments are looked at in the modelled pose alone."
        return FoundStances((), joints, "", (*own.notes, note))
    found = _gathered(body, (MOTION,), joints, source="the range of motion of a recognised human skeleton")
    cost = (
        f"{len(found.stances)} stances are looked at beside the modelled pose, a shape at one at about the cost of "
        "a shape in that pose; those at which a garment stays as it is are left out of its check. "
        "Ask for everyday, for a stances file, or for none, to spend less (--stances)."
    )
    return FoundStances(found.stances, found.joints, found.source, (*found.notes, cost))


def _stated(body: Body, path: Path) -> FoundStances:
    """The stances of a file, and what else it asks for."""
    assert body.skeleton is not None
    stated = read_stances(path)
    try:
        joints = recognise(body.skeleton, body.skin, told=stated.joints)
    except ArgumentError as problem:
        raise FileError(f"{path}: joints: {problem}") from None
    own = _made(body, path, stated, joints)
    others = _gathered(body, stated.use, joints, source="")
    return FoundStances(_distinct((*own, *others.stances)), joints, str(path), others.notes)


def _made(body: Body, path: Path, stated: StatedStances, joints: HumanJoints) -> tuple[Stance, ...]:
    zero, made = zero_pose(joints), []
    for name, one in stated.stances.items():
        try:
            made.append(stated_stance("find_stances", name, one, zero, body.joint_sliders, origin=str(path.name)))
        except ArgumentError as problem:
            raise FileError(f"{path}: stances.{name}: {problem}") from None
    return tuple(made)


def _gathered(body: Body, words: Iterable[str], joints: HumanJoints, *, source: str) -> FoundStances:
    """Built-in sets, moments of animations and ends of sliders, in the order asked for."""
    assert body.skeleton is not None
    stances: list[Stance] = []
    notes: list[str] = list(joints.notes)
    for word in words:
        if word == ANIMATIONS and isinstance(body.source, BodyFile):
            for animation in read_animations(body.source):
                found, note = animated_stances(animation, body.skeleton, body.skin)
                stances += found
                notes.append(note)
        elif word == SLIDERS:
            found, more = slider_stances(body.skeleton, body.joint_sliders)
            stances += found
            notes += more
        elif word in BUILT_IN:
            found, more = _built_in(joints, word)
            stances += found
            notes += more
    return FoundStances(_distinct(stances), joints, source, tuple(notes))


def _built_in(joints: HumanJoints, word: str) -> tuple[tuple[Stance, ...], tuple[str, ...]]:
    if not joints.is_human:
        rule = "for a human skeleton: no arms and legs were recognised"
        advice = "Name its joints under [joints] of a stances file, or leave this set out"
        raise ArgumentError.of("find_stances", "asked", rule, repr(word), advice)
    return built_in_stances(zero_pose(joints), word)


def _distinct(stances: Iterable[Stance]) -> tuple[Stance, ...]:
    """The stances with a number behind a name that comes again."""
    seen: dict[str, int] = {}
    found = []
    for one in stances:
        seen[one.name] = seen.get(one.name, 0) + 1
        number = seen[one.name]
        found.append(one if number == 1 else _renamed(one, f"{one.name} ({number})"))
    return tuple(found)


def _renamed(stance: Stance, name: str) -> Stance:
    """A stance of another name, which is its pose's too where no other stance can share it."""
    return replace(stance, name=name, pose=name if stance.pose == stance.name else stance.pose)
