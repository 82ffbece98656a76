"""Receipts beside fitted garments, read back: how a garment was made to follow."""

import hashlib
from dataclasses import replace
from pathlib import Path
from typing import Any

import msgspec

from dressform.errors import DressformError, FileError
from dressform.formats.following_file import FollowingEntry
from dressform.formats.guards.limits import read_bytes
from dressform.garment.following import NO_JOINTS, OWN, Following
from dressform.garment.methods import FILE

RECEIPT_SUFFIX = ".receipt.json"
RECEIPT_SCHEMA = "dressform-receipt/1"


def receipt_beside(path: Path) -> Path:
    """Where the receipt of a fitted garment lies: beside it."""
    return path.with_name(path.stem + RECEIPT_SUFFIX)


class _File(msgspec.Struct):
    sha256: str


class _Stored(msgspec.Struct):
    schema: str
    files: dict[str, _File]
    settings: dict[str, Any] = {}


def made_from(garment: Path, *, fitted_sha256: str) -> str | None:
    """SHA-256 of the file that a fitted garment was made from, as the receipt beside it says.

    Args:
        garment: The fitted garment's file; it need not be there any more.
        fitted_sha256: Its hash.

    Returns:
        None where no receipt of ours lies beside it, or one of another file.
    """
    path = receipt_beside(garment)
    if path == garment or not path.is_file():
        return None
    try:
        told = msgspec.json.decode(read_bytes(path), type=_Stored)
    except (msgspec.DecodeError, msgspec.ValidationError, RecursionError, DressformError):
        return None
    fitted, source = told.files.get("fitted"), told.files.get("garment")
    if told.schema != RECEIPT_SCHEMA or fitted is None or source is None or fitted.sha256 != fitted_sha256:
        return None
    return source.sha256


def following_by_receipt(garment: Path) -> Following | None:
    """How a fitted garment is to be measured: as its file holds it, with the settings that it was fitted with.

    Of a strength painted by numbers, which a receipt does not hold, nothing is kept.

    Args:
        garment: The garment's file.

    Returns:
        None where no receipt of ours lies beside it, or one of another file than it is now.

    Raises:
        FileError: the garment's file cannot be read.
    """
    path = receipt_beside(garment)
    if path == garment or not path.is_file():
        return None
    try:
        told = msgspec.json.decode(read_bytes(path), type=_Stored)
        entry = msgspec.convert(told.settings.get("following", {}), FollowingEntry)
        following = entry.following(None)
    except (msgspec.DecodeError, msgspec.ValidationError, RecursionError, DressformError):
        return None
    joints = following.joint_weights if following.joint_weights == NO_JOINTS else OWN
    following = replace(following, method=FILE, joint_weights=joints, part_joints={})
    fitted = told.files.get("fitted")
    if told.schema != RECEIPT_SCHEMA or fitted is None:
        return None
    try:
        data = garment.read_bytes()
    except OSError as problem:
        raise FileError.of(garment, "", f"cannot be read ({problem.strerror})", "Name a garment's file") from None
    return following if hashlib.sha256(data).hexdigest() == fitted.sha256 else None
