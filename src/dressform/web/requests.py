"""What the page may request, as types: everything that comes over the socket is decoded here first."""

import math
from collections.abc import Mapping, Sequence
from typing import Annotated, Literal

import msgspec
import numpy as np
from msgspec import UNSET, Meta, Struct, UnsetType

from dressform.arrays import Weights
from dressform.body.range import Range
from dressform.errors import DressformError
from dressform.faults.results import Place
from dressform.garment.following import MAX_FALLOFF_MM, MAX_MARGIN_MM

MAX_BYTES = 8 * 2**20
"""Longest message of a page."""
MAX_GARMENTS = 24
MAX_MORPHS = 4096
BEYOND = 0.1
"""How far beyond its range a weight may be asked for, of the range's width."""

Id = Annotated[int, Meta(ge=1, le=2**53 - 1)]
Index = Annotated[int, Meta(ge=0, le=10_000)]
Name = Annotated[str, Meta(min_length=1, max_length=400)]
Word = Annotated[str, Meta(max_length=400)]
Note = Annotated[str, Meta(max_length=20_000)]
Keys = Annotated[list[Name], Meta(max_length=MAX_GARMENTS)]
Names = Annotated[list[Name], Meta(max_length=400)]
WeightList = Annotated[list[float], Meta(max_length=MAX_MORPHS)]
Share = Annotated[float, Meta(ge=0, le=1)]
Point = Annotated[list[float], Meta(min_length=3, max_length=3)]
SliderValues = dict[Name, Annotated[float, Meta(ge=-1, le=1)]]
"""Values of sliders that move joints."""
Quaternion = Annotated[list[float], Meta(min_length=4, max_length=4)]


class RequestError(DressformError):
    """A request that cannot be answered; its text is for the person at the page.

    Attributes:
        request_id: Id of the request, 0 where none could be read.
    """

    def __init__(self, words: str, *, request_id: int = 0) -> None:
        super().__init__(words)
        self.request_id = request_id


class Pose(Struct, forbid_unknown_fields=True):
    """A moment of an animation, a stance, or joints turned from rest, the first of them that is given; and sliders."""

    animation: Index | None = None
    time: Annotated[float, Meta(ge=0, le=1e6)] = 0.0
    stance: Index | None = None
    turns: dict[Name, Quaternion] | None = None
    sliders: SliderValues | None = None


class Request(Struct, tag_field="request", forbid_unknown_fields=True, kw_only=True):
    """Every request has an id."""

    id: Id


class MeshesRequest(Request, tag="meshes"):
    garments: Keys
    base: Index = 0


class ShapeRequest(Request, tag="shape"):
    weights: WeightList
    garments: Keys
    base: Index = 0
    pose: Pose | None = None


class FaultsRequest(Request, tag="faults"):
    weights: WeightList
    garments: Keys
    base: Index = 0
    layers: Names = []
    pose: Pose | None = None


class LayerRequest(Request, tag="layer"):
    layer: Name
    garment: Name
    base: Index = 0


class SettingsChange(Struct, forbid_unknown_fields=True):
    """What is changed; what is left out stays."""

    strength: Share | UnsetType = UNSET
    parts: dict[Name, Share | None] | UnsetType = UNSET
    falloff_mm: Annotated[float, Meta(ge=0, le=MAX_FALLOFF_MM)] | UnsetType = UNSET
    mask: Annotated[list[Share], Meta(max_length=2_000_000)] | UnsetType | None = UNSET
    hard: Names | UnsetType = UNSET
    margin_mm: Annotated[float, Meta(gt=0, le=MAX_MARGIN_MM)] | UnsetType = UNSET
    ease: Name | UnsetType = UNSET
    rotation_share: Share | UnsetType | None = UNSET
    joint_weights: Name | UnsetType = UNSET
    part_joints: dict[Name, str] | UnsetType = UNSET


class EditRequest(Request, tag="edit"):
    garment: Name
    settings: SettingsChange | None


class SaveRequest(Request, tag="save"):
    pass


class FitRequest(Request, tag="fit"):
    garment: Name
    base: Index = 0
    method: Name | None = None
    repaired: bool = False
    opened: bool = False


class CompareRequest(Request, tag="compare"):
    weights: WeightList
    garments: Annotated[list[Name], Meta(min_length=2, max_length=2)]
    base: Index = 0


class MeasuresRequest(Request, tag="measures"):
    weights: WeightList
    base: Index = 0
    sliders: SliderValues | None = None


class TapeRequest(Request, tag="tape"):
    targets: Annotated[dict[Name, Annotated[float, Meta(gt=0, le=10_000)]], Meta(min_length=1, max_length=40)]
    base: Index = 0


class PoseRequest(Request, tag="pose"):
    animation: Index | None = None


class View(Struct, forbid_unknown_fields=True):
    position: Point
    target: Point
    layer: Name | None = None


class CaseRequest(Request, tag="case"):
    weights: WeightList
    garments: Keys
    view: View
    base: Index = 0
    pose: Pose | None = None
    about: Word = ""
    place: Place | None = None
    note: Note = ""
    picture: str | None = None


class ExportRequest(Request, tag="export"):
    what: Literal["glb", "report", "maker"]
    garment: Name | None = None
    base: Index = 0


class CheckRequest(Request, tag="check"):
    base: Index = 0


class CancelRequest(Request, tag="cancel"):
    of: Annotated[int, Meta(ge=0, le=2**53 - 1)]


AnyRequest = (
    MeshesRequest | ShapeRequest | FaultsRequest | LayerRequest | EditRequest | SaveRequest | FitRequest
    | CompareRequest | MeasuresRequest | TapeRequest | PoseRequest | CaseRequest | ExportRequest
    | CheckRequest | CancelRequest
)  # fmt: skip
"""Every request."""


class _Bare(Struct):
    id: Id


_DECODER = msgspec.json.Decoder(AnyRequest)
_BARE = msgspec.json.Decoder(_Bare)


def read_request(text: str) -> AnyRequest:
    """One message of the page.

    Raises:
        RequestError: it is no JSON, no known request, or a field is missing, unknown or of another type.
    """
    try:
        return _DECODER.decode(text)
    except (msgspec.DecodeError, RecursionError) as problem:
        raise RequestError(_words(problem), request_id=_id_of(text)) from None


def checked_weights(weights: Sequence[float], box: Range) -> Weights:
    """Weights as an array.

    Raises:
        RequestError: not one finite number per slider, or one far beyond the range.
    """
    if len(weights) != len(box.names):
        raise RequestError(f"A shape has {len(box.names)} weights, not {len(weights)}.")
    wide = box.with_base()
    for name, weight, low, high in zip(box.names, weights, wide.low, wide.high):
        slack = BEYOND * (high - low)
        if not (math.isfinite(weight) and low - slack <= weight <= high + slack):
            raise RequestError(f"The weight of {name!r} must lie between {low:g} and {high:g}, not {weight:g}.")
    return np.array(weights, dtype=np.float64)


def checked_name(what: str, name: str, valid: Sequence[str] | Mapping[str, object]) -> str:
    """The name, refused where it is not among the valid ones."""
    if name not in valid:
        raise RequestError(f"There is no {what} {name[:80]!r}.")
    return name


def _words(problem: Exception) -> str:
    if isinstance(problem, msgspec.ValidationError):
        return f"The message was not understood: {problem}."
    return "The message is not JSON."


def _id_of(text: str) -> int:
    try:
        return _BARE.decode(text).id
    except (msgspec.DecodeError, RecursionError):
        return 0
