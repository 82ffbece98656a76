"""The verdict of a search for the shape: fine, cut loose, another body shape or another base body."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.infer.results import CUT_LOOSE, FINE, OTHER_BASE, OTHER_SHAPE, TIGHT, TWO_SIDED
from dressform.infer.search import SearchResult
from dressform.infer.sunk import IN_SKIN, Sunk
from dressform.units import MM_PER_M, PERCENT

MATERIAL = 0.006
"""Shapes whose skin under the garment differs by less, at the 95th percentile, are one to a maker, metres."""
LOOSE = 0.055
"""Three quarters of the cloth stand farther off than this, metres: 28 cm of ease all round. Common practice calls 18 cm
at the bust cut loose [CWU16]; a coat has that by nature."""
QUARTER, MOST_CLOTH, TENTH = 25.0, 95.0, 10.0
RIVAL = 30.0
"""Where a base body fits, another is preferred only if it explains the garment better by this much, a logarithm. Where
it does not fit, another that fits need only be the better of the two."""
WORTH_NAMING, MAX_NAMED = 0.05, 4
MAX_SUNK = 0.08
"""A larger share of the cloth in the skin than this is no hem that is tucked in."""

SOME_SUNK, FAR_APART = 0.02, 0.02
"""More cloth in the skin than this share, where the skin of the best shape lies farther away than this, metres, is more
than a place that was cut too tight;"""
FEW_SUNK, APART = 0.01, 0.01
"""so is this share on both sides alike and far around, where that shape lies farther away than this, metres: whoever
cuts too close errs by millimetres;"""
LEFT_SUNK = 0.25
"""at most this part of it may lie in the skin of the best shape, too."""
SUNK, SUNK_BEST = "share of the cloth in the skin of the base", "share of the cloth in the skin of the best shape"
SUNK_ALIKE = "share of that which lies in the skin on the other side, too"
SUNK_WIDTH = "largest distance between two points of it, m"
"""Names of evidence."""


@dataclass(frozen=True)
class Candidate:
    """A body on whose shapes the garment may have been modelled.

    Attributes:
        body: The body.
        found: Its best shape.
        base: Its base body.
        reach: Squared distance that the set reaches.
        sunk_so: How the cloth in the skin of its base body lies there; None where that was not asked.
    """

    body: Body
    found: SearchResult
    base: SearchResult
    reach: float
    sunk_so: Sunk | None = None

    @property
    def ruled_out(self) -> float:
        """How far the base body lies from the best shape: 1 on the rim of the set, more outside it."""
        return self.found.excess(np.zeros(len(self.found.weights))) / self.reach

    @property
    def is_excluded(self) -> bool:
        """Whether the set excludes the base body: as a whole, and some weight's own interval does."""
        return self.ruled_out > 1.0 and self._is_off

    @property
    def _is_off(self) -> bool:
        """Whether the interval of some weight by itself excludes the base body."""
        off = np.abs(self.found.weights) > TWO_SIDED * np.sqrt(np.diag(np.linalg.inv(self.found.information)))
        return bool(off.any())

    def is_contradicted(self, size: float) -> bool:
        """Whether cloth lies in the skin of the base body, but not in that of another shape.

        No garment is modelled through the skin, whatever else the set of a loose one allows. That shape must be sure in
        a weight, unless both sides lie in the skin alike, and far around.
        """
        sunk, apart = self.sunk(size), self.apart * size
        if self.sunk_best(size) > LEFT_SUNK * sunk:
            return False
        is_spread = self.sunk_so is not None and self.sunk_so.is_spread
        alike = is_spread and apart >= APART and sunk > FEW_SUNK
        return alike or (self._is_off and apart >= FAR_APART and sunk > SOME_SUNK)

    def sunk(self, size: float) -> float:
        """Share of the cloth that lies in the skin of the base body, 0 to 1."""
        return float((self.base.look.clearance * size < -IN_SKIN).mean())

    def sunk_best(self, size: float) -> float:
        """Share of the cloth that lies in the skin of the best shape, 0 to 1."""
        return float((self.found.look.clearance * size < -IN_SKIN).mean())

    def is_even(self, size: float) -> bool:
        """Whether the cloth stands off the base body by about the same everywhere: nothing says it was another's."""
        low, high = np.percentile(self.base.look.clearance * size, (TENTH, 100.0 - TENTH))
        return bool(low >= 0.0 and high - low < MATERIAL)

    @property
    def quarter(self) -> float:
        """Distance within which the nearest quarter of the cloth lies off the base body, units of `found`."""
        return float(np.percentile(self.base.look.clearance, QUARTER))

    @property
    def closest_quarter(self) -> float:
        """Distance within which the nearest quarter of the cloth lies off the best shape, units of `found`."""
        return float(np.percentile(self.found.look.clearance, QUARTER))

    @property
    def apart(self) -> float:
        """How far the skin under the garment lies from that of the base body, 95th percentile, units of `found`."""
        if not len(self.found.weights):
            return 0.0
        return float(np.percentile(np.abs(self.found.look.slopes @ self.found.weights), MOST_CLOTH))


def judge(own: Candidate, rivals: Sequence[Candidate], size: float) -> tuple[Candidate, str, str, Mapping[str, float]]:
    """The body that the garment was modelled on, verdict, sentence and evidence.

    Args:
        own: The body that the garment is meant for.
        rivals: Other base bodies.
        size: Metres per unit of length in what was found.
    """
    everyone = (own, *rivals)
    quarter = own.quarter * size
    evidence = {f"ruled out: {one.body.name}": one.ruled_out for one in everyone}
    evidence |= {f"misfit: {one.body.name}": one.base.misfit for one in everyone}
    evidence |= {"skin apart, m": own.apart * size, "nearest quarter of the cloth on the base, m": quarter}
    if min(quarter, *(one.closest_quarter * size for one in everyone)) > LOOSE:
        off = f"on {own.body.name} over {MM_PER_M * quarter:.0f} mm"
        words = f"On every shape three quarters of its cloth stand far off, {off}."
        return own, CUT_LOOSE, words, evidence
    evidence[SUNK] = own.sunk(size)
    evidence[SUNK_BEST] = own.sunk_best(size)
    if own.sunk_so is not None:
        evidence |= {SUNK_ALIKE: own.sunk_so.alike, SUNK_WIDTH: own.sunk_so.width * size}
    fits = not (own.is_excluded or own.is_contradicted(size)) or own.apart * size < MATERIAL
    wanted = own.base.misfit - (RIVAL if fits else 0.0)
    if fits and own.is_even(size):
        return own, FINE, f"It fits {own.body.name} as it is.", evidence
    fitting = [one for one in rivals if one.ruled_out <= 1.0 and one.base.misfit < wanted]
    if fitting:
        right = min(fitting, key=lambda one: one.base.misfit)
        return right, OTHER_BASE, f"It fits {right.body.name}, not {own.body.name}.", evidence
    if fits and own.sunk(size) > MAX_SUNK:
        share = PERCENT * own.sunk(size)
        words = f"It was modelled on {own.body.name}, or near it, but {share:.0f} % of its cloth lies in the skin."
        return own, TIGHT, words, evidence
    if fits:
        return own, FINE, f"It fits {own.body.name} as it is.", evidence
    words = f"It fits {own.body.name} with {_named(own.body, own.found.weights)}, not {own.body.name} as it is."
    return own, OTHER_SHAPE, words, evidence


def _named(body: Body, weights: Weights) -> str:
    """The strongest weights by name."""
    order = [index for index in np.argsort(-np.abs(weights), kind="stable") if abs(weights[index]) >= WORTH_NAMING]
    return ", ".join(f"{body.morph_names[index]} {weights[index]:.2f}" for index in order[:MAX_NAMED])
