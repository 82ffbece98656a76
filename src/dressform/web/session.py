"""One run of the page: what was opened, how it follows now, and the results so far."""

import math
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from dressform.body.pose import Animation
from dressform.body.shape_settings import PAGE_SOBOL
from dressform.body.shapes import ShapeSettings
from dressform.body.stance import AS_MODELLED, Stance
from dressform.causes.explained_garment import ExplainedGarment, explained_wardrobe
from dressform.errors import DressformError
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.faults.wardrobe import Wardrobe
from dressform.formats.load import BodyFile, GarmentFile
from dressform.formats.results.check_report import Source
from dressform.formats.results.failed import FailedGarment
from dressform.formats.surfaces.laid import DressedMesh
from dressform.garment.following import Following
from dressform.report.pictures.faults import Appearance
from dressform.web.fitted_garments import BaseShape, FittedGarment, Variant, fit_variant
from dressform.web.following import changed
from dressform.web.requests import RequestError, SettingsChange, checked_name
from dressform.web.workers import BackgroundJob, Cancelled, Worker

CHECKED_SHAPES = ShapeSettings(sobol=PAGE_SOBOL)
"""Where the check in the background looks, beside the worst."""


@dataclass(frozen=True)
class Opened:
    """What the program was started with.

    Attributes:
        bodies: Every base body of the body file.
        base: Which of them is shown first.
        garments: The garments, each with a name of its own.
        sources: File and hash of the body (by the empty name) and of each garment by its name.
        following: How each garment follows at first, by name.
        methods: Methods that are shown at first; each garment's own where empty.
        repaired: Whether every garment is shown repaired, too.
        looks: Colours of each garment as its file has them, by name.
        bands: From which value on a fault is slight, moderate, grave.
        shapes: At which shapes the check looks.
        animations: Of the body file, for each of its base bodies.
        stances: In which garments are looked at, for each of the base bodies.
        versions: Of this program and of what it computes with.
        settings: What was asked for, by the name of the option.
        settings_file: Where edits are saved, or None.
        out: Folder for exports, or None.
        cases: Folder for cases, or None.
        failed: Garments that were asked for and could not be read.
    """

    bodies: tuple[BodyFile, ...]
    base: int
    garments: tuple[GarmentFile, ...]
    sources: Mapping[str, Source]
    following: Mapping[str, Following]
    methods: tuple[str, ...] = ()
    repaired: bool = False
    looks: Mapping[str, Appearance] = field(default_factory=dict)
    bands: Bands = DEFAULT_BANDS
    shapes: ShapeSettings = CHECKED_SHAPES
    animations: tuple[tuple[Animation, ...], ...] = ()
    stances: tuple[tuple[Stance, ...], ...] = ()
    versions: Mapping[str, str] = field(default_factory=dict)
    settings: Mapping[str, object] = field(default_factory=dict)
    settings_file: Path | None = None
    out: Path | None = None
    cases: Path | None = None
    failed: tuple[FailedGarment, ...] = ()


class Session:
    """What all pages of one run share. Every method may be called from any thread."""

    def __init__(self, opened: Opened) -> None:
        self.opened = opened
        self.bases = tuple(BaseShape(file) for file in opened.bodies)
        bodies = [base.body for base in self.bases]
        self._wardrobes = tuple(
            explained_wardrobe(bands=opened.bands, others=tuple(other for other in bodies if other is not body))
            for body in bodies
        )
        self.files = {file.garment.name: file for file in opened.garments}
        self.shapes, self.faults, self.long = Worker("shapes"), Worker("faults"), Worker("long work")
        self.short, self.checks = Worker("short work"), Worker("checks")
        self._lock = threading.RLock()
        self._following = dict(opened.following)
        self._revisions = dict.fromkeys(self.files, 0)
        self._variants = [
            Variant(name, method, repaired)
            for name in self.files
            for method in opened.methods or (opened.following[name].method,)
            for repaired in ((False, True) if opened.repaired else (False,))
        ]
        self._fitted: dict[tuple[int, str], FittedGarment] = {}
        self._making: dict[tuple[int, str], threading.Lock] = {}
        self._listeners: list[Callable[[], None]] = []
        self._asked = -math.inf
        self.pictures: dict[str, DressedMesh | None] = {}

    def was_asked(self) -> None:
        """Note that a page has requested a shape."""
        self._asked = time.monotonic()

    def is_busy(self, seconds: float) -> bool:
        """Whether a page has requested a shape within that many seconds."""
        return time.monotonic() - self._asked < seconds

    def base(self, index: int) -> BaseShape:
        """A base body.

        Raises:
            RequestError: there is no such one.
        """
        if index >= len(self.bases):
            raise RequestError(f"The body has {len(self.bases)} base bodies; number {index} is none of them.")
        return self.bases[index]

    def wardrobe(self, base: BaseShape) -> Wardrobe[ExplainedGarment]:
        """What is prepared of the garments of a base body."""
        return self._wardrobes[self.bases.index(base)]

    def animations(self, base: BaseShape) -> tuple[Animation, ...]:
        """Animations of a base body."""
        given = self.opened.animations
        return given[self.bases.index(base)] if given else ()

    def stances(self, base: BaseShape) -> tuple[Stance, ...]:
        """Stances in which garments on a base body are looked at."""
        given = self.opened.stances
        return given[self.bases.index(base)] if given else ()

    def poses(self, base: BaseShape) -> tuple[Stance, ...]:
        """Those of them that are poses: in others only sliders move joints, and these stand among the sliders."""
        return tuple(one for one in self.stances(base) if one.pose != AS_MODELLED)

    @property
    def variants(self) -> tuple[Variant, ...]:
        """Every variant that can be requested, in the order in which they were added."""
        with self._lock:
            return tuple(self._variants)

    def variant(self, key: str) -> Variant:
        """The variant with this key.

        Raises:
            RequestError: there is none.
        """
        by_key = {variant.key: variant for variant in self.variants}
        return by_key[checked_name("garment", key, by_key)]

    def following(self, variant: Variant) -> Following:
        """How a variant follows now, by its own method."""
        with self._lock:
            now = (self.opened.following if variant.opened else self._following)[variant.name]
        return replace(now, method=variant.method)

    def edited(self) -> dict[str, Following]:
        """How every garment follows now, by name."""
        with self._lock:
            return dict(self._following)

    def revision(self, variant: Variant) -> int:
        """How often a variant has changed by an edit of its garment."""
        return 0 if variant.opened else self.revision_of(variant.name)

    def revision_of(self, name: str) -> int:
        """How often a garment was edited."""
        with self._lock:
            return self._revisions[name]

    def ready(self, base: int, key: str) -> FittedGarment:
        """A garment as it is fitted now; nothing is computed.

        Raises:
            RequestError: there is no such garment, or it was not fitted to this base body yet.
        """
        variant = self.variant(key)
        self.base(base)
        with self._lock:
            fitted = self._fitted.get((base, variant.key))
        if fitted is None:
            raise RequestError(f"{key!r} is not fitted to this base body yet; ask for its meshes first.")
        return fitted

    def made(self, base: int, key: str) -> FittedGarment | None:
        """A garment as it is fitted now, or None where it was not fitted."""
        with self._lock:
            return self._fitted.get((base, key))

    def fitted(self, base: int, key: str, job: BackgroundJob) -> FittedGarment:
        """A garment, fitted now if it was not; other callers that need the same one wait for it.

        Raises:
            RequestError: there is no such base body or garment, or it cannot follow as its settings say.
            Cancelled: the job was called off.
        """
        variant, shape = self.variant(key), self.base(base)
        with self._lock:
            making = self._making.setdefault((base, key), threading.Lock())
        with making:
            while True:
                with self._lock:
                    fitted = self._fitted.get((base, key))
                    following, revision = self.following(variant), self.revision(variant)
                if fitted is not None:
                    return fitted
                made = self._fit(shape, variant, following, revision, job)
                with self._lock:
                    self.variant(key)  # an edit may have taken it back meanwhile
                    if self.revision(variant) == revision:
                        return self._fitted.setdefault((base, key), made)

    def beside(self, base: int, variant: Variant, job: BackgroundJob) -> None:
        """Add another variant and fit it now; one that cannot be fitted is not kept."""
        with self._lock:
            fresh = variant not in self._variants
            if fresh:
                self._variants.append(variant)
        try:
            self.fitted(base, variant.key, job)
        except BaseException:
            with self._lock:
                if fresh and variant in self._variants:
                    self._variants.remove(variant)
            raise
        finally:
            self.tell()

    def edit(self, name: str, settings: SettingsChange | None, job: BackgroundJob) -> Following:
        """Change how a garment follows, and fit it again if it was fitted.

        Raises:
            RequestError: a setting is not valid for this garment.
        """
        with self._lock:
            opened, now = self.opened.following[name], self._following[name]
            garment = self.files[name].garment
            now = opened if settings is None else changed(now, settings, garment, opened=opened)
            revision = self._revisions[name] + 1
            stale = [
                at for at, fitted in self._fitted.items() if fitted.variant.name == name and not fitted.variant.opened
            ]
            variants = {at: self._fitted[at].variant for at in stale}
        made = {
            at: self._fit(self.bases[at[0]], variant, replace(now, method=variant.method), revision, job)
            for at, variant in variants.items()
            if not variant.repaired
        }
        with self._lock:
            self._following[name], self._revisions[name] = now, revision
            for at in [
                at for at, fitted in self._fitted.items() if fitted.variant.name == name and not fitted.variant.opened
            ]:
                del self._fitted[at]
            self._fitted.update(made)
            self._variants = [one for one in self._variants if one.name != name or one.opened or not one.repaired]
        self.tell()
        return now

    def listen(self, listener: Callable[[], None]) -> None:
        """Call the listener, from any thread, whenever the About has changed."""
        with self._lock:
            self._listeners.append(listener)

    def unlisten(self, listener: Callable[[], None]) -> None:
        """Stop calling the listener."""
        with self._lock:
            self._listeners.remove(listener)

    def tell(self) -> None:
        """The About has changed."""
        with self._lock:
            listeners = tuple(self._listeners)
        for listener in listeners:
            listener()

    def _fit(
        self, base: BaseShape, variant: Variant, following: Following, revision: int, job: BackgroundJob
    ) -> FittedGarment:
        garment = self.files[variant.name].garment
        try:
            return fit_variant(
                base, variant, garment, following, revision=revision, wardrobe=self.wardrobe(base), job=job
            )
        except (RequestError, Cancelled):
            raise
        except DressformError as problem:
            raise RequestError(str(problem)) from problem
