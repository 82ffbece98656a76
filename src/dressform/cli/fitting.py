"""Garments fitted to a body as the shared options say, with the time that each took."""

import time
from dataclasses import dataclass

from dressform.cli.arguments import Following
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.formats.load import BodyFile, GarmentFile
from dressform.mesh.tree import Tree
from dressform.report.check_report import key_of


@dataclass(frozen=True)
class Fitted:
    """A garment that follows a body.

    Attributes:
        garment_file: The garment and its file.
        fit: The fit.
        way: How it was lifted.
        ease: The ease policy.
        seconds: What the set-up took: feet, lift, baked morphs and skin weights.
    """

    garment_file: GarmentFile
    fit: Fit
    way: str
    ease: str
    seconds: float

    @property
    def key(self) -> str:
        """Tells this fit from all others of a job."""
        return key_of(self.garment_file.garment.name, self.way)


def fit_garment(body_file: BodyFile, garment_file: GarmentFile, way: str, how: Following, *, tree: Tree) -> Fitted:
    """Fit one garment one way.

    Raises:
        ArgumentError: an option names no way or policy; the valid names are listed.
    """
    body, garment = body_file.body, garment_file.garment
    start = time.perf_counter()
    fit = make_fit(body, garment, way=way, ease=how.ease, turn=how.turn, tree=tree)
    return Fitted(garment_file, fit, way, how.ease, time.perf_counter() - start)
