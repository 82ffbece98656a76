"""Stances as records of a JSON file: each joint's transform, with a hash, so that a proof can be redone."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from dressform.body.body import Body
from dressform.body.skeleton import Skeleton
from dressform.body.stance import Stance
from dressform.errors import FileError


def stance_records(stances: Sequence[Stance], joints: Sequence[str]) -> list[dict[str, object]]:
    """One record per stance: `name`, `origin`, `sha256` of its numbers, and `joints`, 12 numbers by joint.

    The numbers are the first three rows of each joint-to-world transform, metres, row after row. They are written so
    that they are read back exactly.
    """
    return [
        {
            "name": one.name,
            "origin": one.origin,
            "sha256": stance_hash(one),
            "joints": {name: world[:3].ravel().tolist() for name, world in zip(joints, one.worlds)},
        }
        for one in stances
    ]


def read_stance_records(records: object, skeleton: Skeleton) -> tuple[Stance, ...]:
    """The stances of records made for a skeleton with the same joints, in any order.

    Raises:
        FileError: a record lacks something, a joint of the skeleton is missing, or the hash is that of other numbers.
    """
    if not isinstance(records, list) or not all(isinstance(one, Mapping) for one in records):
        raise FileError("read_stance_records: `stances` must be a list of records, got something else. Repair again.")
    return tuple(_read(one, skeleton) for one in records)


def read_stances(receipt: Path | None, beside: Path, body: Body) -> tuple[Stance, ...]:
    """The stances of a receipt, none where it lists none.

    Args:
        receipt: The receipt that was asked for; without one `beside` is read where it is there.
        beside: The receipt beside the fitted garment.
        body: The body; its joints are those of the stances.

    Raises:
        FileError: the receipt that was asked for is not there, is no receipt, or its stances are of another skeleton.
    """
    path, proof = _proof_of(receipt, beside)
    records = proof.get("stances", [])
    if records and body.skeleton is None:
        raise FileError.of(path, "proof.stances", "stances for a body without joints", "Give the body of this garment")
    return read_stance_records(records, body.skeleton) if records and body.skeleton is not None else ()


def read_clips(receipt: Path | None, beside: Path) -> tuple[str, ...]:
    """Names of the animations of a receipt, none where it lists none; arguments and errors as of `read_stances`."""
    path, proof = _proof_of(receipt, beside)
    clips = proof.get("clips", [])
    try:
        return tuple(str(one["name"]) for one in clips)
    except (KeyError, TypeError):
        raise FileError.of(path, "proof.clips", "no list of animations", "Give what `fit` wrote") from None


def _proof_of(receipt: Path | None, beside: Path) -> tuple[Path, Mapping[str, Any]]:
    """The receipt that is read, and its proof; nothing where there is none."""
    path = beside if receipt is None else receipt
    if receipt is None and not beside.exists():
        return path, {}
    try:
        proof = json.loads(path.read_text(encoding="utf-8"))["proof"]
        proof.get("stances")
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as problem:
        raise FileError.of(path, "", f"no receipt of a fitted garment ({problem})", "Give what `fit` wrote") from None
    return path, proof


def stance_hash(stance: Stance) -> str:
    """SHA-256 of the first three rows of all transforms, as little-endian float64."""
    return hashlib.sha256(np.ascontiguousarray(stance.worlds[:, :3], dtype="<f8").tobytes()).hexdigest()


def _read(record: Mapping[str, object], skeleton: Skeleton) -> Stance:
    name, joints = record.get("name"), record.get("joints")
    if not isinstance(name, str) or not isinstance(joints, Mapping):
        raise FileError(
            f"read_stance_records: `stances` must each have a name and joints, got {name!r}. Repair the garment again."
        )
    missing = [joint for joint in skeleton.names if joint not in joints]
    if missing or len(joints) != len(skeleton.names):
        raise FileError(
            f"read_stance_records: `joints` of {name!r} must be the {len(skeleton.names)} of the body, got "
            f"{len(joints)}{f' without {missing[0]!r}' if missing else ''}. Give the body of this garment."
        )
    try:
        rows = np.array([joints[joint] for joint in skeleton.names], dtype=np.float64).reshape(-1, 3, 4)
    except (TypeError, ValueError):
        raise FileError(f"read_stance_records: `joints` of {name!r} must be 12 numbers each. Repair again.") from None
    worlds = np.tile(np.eye(4), (len(rows), 1, 1))
    worlds[:, :3] = rows
    stance = Stance(name, worlds, str(record.get("origin", "")))
    if record.get("sha256") != stance_hash(stance):
        raise FileError(
            f"read_stance_records: `sha256` of {name!r} must be that of its numbers, got another. "
            "The file was changed by hand: repair the garment again."
        )
    return stance
