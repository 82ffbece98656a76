"""Garments fitted to a body as they were asked to follow, with the time that each took."""

import time
from dataclasses import dataclass, replace

from dressform.body.body import Body
from dressform.cli.reading import Asked
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.formats.load import GarmentFile
from dressform.formats.results.check_report import key_of
from dressform.mesh.tree import Tree
from dressform.repair.hard_parts import keep_rigid


@dataclass(frozen=True)
class Fitted:
    """A garment that follows a body.

    Attributes:
        garment_file: The garment and its file.
        fit: The fit.
        seconds: What the set-up took: feet, lift, baked morphs and joint weights.
    """

    garment_file: GarmentFile
    fit: Fit
    seconds: float

    @property
    def key(self) -> str:
        """Tells this fit from all others of a job."""
        return key_of(self.garment_file.garment.name, self.fit.following.method)


def fit_garment(body: Body, asked: Asked, *, method: str | None = None, tree: Tree) -> Fitted:
    """Fit one garment, by another method where one is named; its hard parts then move rigidly.

    Raises:
        ArgumentError: its following calls hard what is no part of it; the valid names are listed.
    """
    following = asked.following if method is None else replace(asked.following, method=method)
    start = time.perf_counter()
    fit = make_fit(body, asked.file.garment, following, tree=tree)
    if following.hard:
        fit = keep_rigid(fit, detect=False).fit
    return Fitted(asked.file, fit, time.perf_counter() - start)
