"""Results read back from JSON: what `dressform explain` needs of them, in the units that people read."""

from dataclasses import dataclass, field

import msgspec

from dressform.errors import ArgumentError, FileError
from dressform.formats.results.check_json import SCHEMA_NAME
from dressform.formats.results.check_report import Source, key_of

LISTED = 12
"""So many names are listed where one is unknown."""


@dataclass(frozen=True)
class StoredShape:
    """A cluster on one shape; weights that are 0 are left out."""

    label: str
    weights: dict[str, float]
    severity: str
    value: float


@dataclass(frozen=True)
class StoredShare:
    """What one cause has to do with a cluster."""

    cause: str
    share: float
    alone: float
    counterfactual: str


@dataclass(frozen=True)
class StoredAdvice:
    """What to do."""

    where: str
    what: str
    repair: str


@dataclass(frozen=True)
class StoredCluster:
    """One cluster, as the fields of the same name in the results say."""

    name: str
    fault: str
    severity: str
    region: str
    part: str
    side: str
    height_mm: float
    position_m: tuple[float, float, float]
    vertex: int
    area_cm2: float
    value: float
    unit: str
    vertices: tuple[int, ...]
    noticed: float
    seen: tuple[StoredShape, ...]
    measured: float
    shares: tuple[StoredShare, ...]
    cause: str
    owner: str
    advice: StoredAdvice | None
    evidence: dict[str, float]


@dataclass(frozen=True)
class StoredGarment:
    """One garment with its clusters."""

    name: str
    source: Source
    lift: str
    ease_policy: str
    clusters: tuple[StoredCluster, ...]

    @property
    def key(self) -> str:
        """Tells it from all others of the results."""
        return key_of(self.name, self.lift)


@dataclass(frozen=True)
class StoredBody:
    """The body."""

    name: str
    source: Source
    range: dict[str, tuple[float, float]] = field(default_factory=dict)


@dataclass(frozen=True)
class StoredShared:
    """A place where several garments fail."""

    clusters: tuple[str, ...]
    suspect: str
    sentence: str


@dataclass(frozen=True)
class StoredResults:
    """The part of the results that explains."""

    made: str
    settings: dict[str, object]
    body: StoredBody
    garments: tuple[StoredGarment, ...]
    shared_places: tuple[StoredShared, ...]

    def find(self, name: str) -> tuple[StoredGarment, StoredCluster]:
        """The cluster called `garment/1`, or `garment way/1` where a garment was followed several ways.

        Raises:
            ArgumentError: there is no such cluster, or several; those that there are are listed.
        """
        every = [(garment, cluster) for garment in self.garments for cluster in garment.clusters]
        wanted, _, number = name.rpartition("/")
        found = [(one, cluster) for one, cluster in every if cluster.name == number and wanted in (one.name, one.key)]
        if len(found) == 1:
            return found[0]
        listed = [f"{garment.key}/{cluster.name}" for garment, cluster in found or every]
        more = [f"{len(listed) - LISTED} more"] if len(listed) > LISTED else []
        known = ", ".join(listed[:LISTED] + more) or "none: the garments are clean, or causes were not sought"
        raise ArgumentError.of("explain", "CLUSTER", f"one of {known}", repr(name), "Name one of these")

    def shared_with(self, garment: StoredGarment, cluster: StoredCluster) -> tuple[StoredShared, ...]:
        """Shared places that a cluster belongs to."""
        name = f"{garment.key}/{cluster.name}"
        return tuple(one for one in self.shared_places if name in one.clusters)


def read_results(data: bytes, *, path: str) -> StoredResults:
    """Results from the bytes of a JSON file.

    Args:
        data: Content of the file.
        path: Its name, for messages.

    Raises:
        FileError: it is no JSON, no results, or results of another version.
    """
    again = "Run dressform check with --json again"
    try:
        schema = msgspec.json.decode(data, type=_Versioned).schema
        if schema != SCHEMA_NAME:
            raise FileError.of(path, "", f"holds {schema or 'something else'}, not {SCHEMA_NAME}", again)
        return msgspec.json.decode(data, type=StoredResults)
    except msgspec.DecodeError as error:
        raise FileError.of(path, "", f"holds no results of a check ({error})", again) from error


@dataclass(frozen=True)
class _Versioned:
    schema: str = ""
