"""Garments fitted to a body as the shared options say, with the time that each took."""

import time
from dataclasses import dataclass

from dressform.cli.arguments import Following
from dressform.cli.settings import NOTHING_SAVED, Saved, settled
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.formats.load import BodyFile, GarmentFile
from dressform.formats.results.check_report import key_of
from dressform.mesh.tree import Tree
from dressform.repair.hard_parts import keep_rigid


@dataclass(frozen=True)
class Fitted:
    """A garment that follows a body.

    Attributes:
        garment_file: The garment and its file.
        fit: The fit.
        way: How it was lifted.
        ease: The ease policy.
        turn: Share of the skin's turn, or None for the way's own.
        seconds: What the set-up took: feet, lift, baked morphs and skin weights.
    """

    garment_file: GarmentFile
    fit: Fit
    method: str
    ease: str
    rotation_share: float | None
    seconds: float

    @property
    def key(self) -> str:
        """Tells this fit from all others of a job."""
        return key_of(self.garment_file.garment.name, self.method)


def fit_garment(
    body_file: BodyFile,
    garment_file: GarmentFile,
    method: str,
    how: Following,
    *,
    tree: Tree,
    saved: Saved = NOTHING_SAVED,
) -> Fitted:
    """Fit one garment one way, as options and settings say; parts that its settings call hard then move rigidly.

    Raises:
        ArgumentError: an option names no way or policy, or the settings call hard what is no part; the valid names are
            listed.
    """
    body, garment = body_file.body, garment_file.garment
    mine = settled(how, saved, garment.name)
    ease = mine.ease or how.ease
    start = time.perf_counter()
    fit = make_fit(body, garment, method=method, ease=ease, rotation_share=mine.rotation_share, tree=tree)
    if mine.hard:
        fit = keep_rigid(fit, body.range, parts=mine.hard, detect=False).fit
    return Fitted(garment_file, fit, method, ease, mine.rotation_share, time.perf_counter() - start)
