"""The shape that a garment was modelled on: the set of weights whose body fits under it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.stats import chi2

from dressform.body.body import Body
from dressform.errors import ArgumentError, MatchError
from dressform.garment.garment import Garment
from dressform.infer.bridging import without_bridges
from dressform.infer.cloth import ask_cloth, chosen_points
from dressform.infer.results import FINE, OTHER_BASE, OTHER_SHAPE, InferredShape
from dressform.infer.search import SearchResult, held, prior_spread, search_all
from dressform.infer.skin import ShapedSkin
from dressform.infer.sunk import Sunk, find_sunk
from dressform.infer.verdict import LEFT_SUNK, MAX_SUNK, SUNK, SUNK_BEST, Candidate, judge

CONFIDENCE = 0.95
CAUTION = 1.3  # the set is larger by this than normal errors ask for; chosen with the constants of the search
BRIDGES = "So much of its cloth bridges from one part of the body to another that it fits any shape."
STATURE = 1.7  # metres; lengths are taken as on a body of this stature


def infer_shape(
    body: Body, garment: Garment, *, others: Sequence[Body] = (), confidence: float = CONFIDENCE
) -> InferredShape:
    """Infer the shape that a garment was modelled on from the cloth and the body alone.

    The search looks for the body whose skin lies under the cloth as a maker would place it: with the same room
    everywhere, apart from smooth patterns, and more where cloth spans a hollow or hangs. The answer is a set. `weights`
    is its likeliest member; weights that the garment does not determine stay near the base in it.

    To re-fit the garment on that shape: `shape, weights = found.way_back(body)`, `rebase(shape, garment, weights)`.
    Where `found.base` is `body.name`, `rebase(body, garment, found.weights)` gives the same.

    Args:
        body: The body that the garment is meant for, on its base body.
        garment: Cloth, on whatever shape it was modelled on.
        others: Other base bodies that it may have been modelled on; they have the triangles of `body`.
        confidence: Probability that the set holds the true shape, 0 to 1.

    Raises:
        ArgumentError: `confidence` is not between 0 and 1.
        MatchError: another base body has other triangles.

    Proof: tests/infer/test_shape.py::test_a_tube_tells_the_belly_of_its_body
    """
    _check(body, garment, others, confidence)
    found = _inferred(body, garment, others, confidence)
    if found.verdict not in (OTHER_SHAPE, OTHER_BASE):
        return found
    if _cannot_be_worn(found):
        return found
    rest = without_bridges(body, garment)
    if rest is None:
        return replace(found, body=body.name, verdict=FINE, sentence=BRIDGES)
    return found if rest is garment else _inferred(body, rest, others, confidence)


def _cannot_be_worn(found: InferredShape) -> bool:
    """Whether much of the cloth lies in the skin of the base body, and most of that not in the shape that was found.

    Cloth that bridges may stand off the base in many ways, but no cape is modelled through the shoulders.
    """
    sunk, best = (found.evidence.get(name, 0.0) for name in (SUNK, SUNK_BEST))
    return sunk > MAX_SUNK and best <= LEFT_SUNK * sunk


def _inferred(body: Body, garment: Garment, others: Sequence[Body], confidence: float) -> InferredShape:
    """The shape by all of the cloth."""
    size = body.stature / STATURE
    cloth = replace(garment, vertices=garment.vertices / size)
    first = Candidate(body, *_searched(body, cloth, size), _reach(body, confidence), _sunk(body, cloth, size))
    rivals = [Candidate(other, *_searched(other, cloth, size), _reach(other, confidence)) for other in others]
    chosen, verdict, sentence, evidence = judge(first, rivals, size)
    found = chosen.found
    return InferredShape(
        body.name,
        chosen.body.name,
        found.weights,
        found.centre,
        found.information,
        chosen.reach,
        prior_spread(chosen.body.range),
        chosen.body.range.with_base(),
        verdict,
        sentence,
        evidence,
        chosen.body.at(found.weights),
    )


def _searched(body: Body, garment: Garment, size: float) -> tuple[SearchResult, SearchResult]:
    """The best shape of one body, and its base body, each with the ease that the garment would have there."""
    sized = replace(
        body, vertices=body.vertices / size, deltas=body.deltas / size, range=body.range.with_base(), regions={}
    )
    skin = ShapedSkin(sized)
    base = np.zeros(len(body.morph_names))
    chosen = chosen_points(skin, garment)
    asked = ask_cloth(garment, chosen, skin.look(garment.vertices[chosen], base))
    return search_all(skin, asked), held(skin, asked, base)


def _sunk(body: Body, garment: Garment, size: float) -> Sunk:
    """How cloth in the skin of a base body lies there."""
    return find_sunk(replace(body, vertices=body.vertices / size), garment)


def _reach(body: Body, confidence: float) -> float:
    """Squared distance from the middle within which the true shape lies with this confidence."""
    return CAUTION * float(chi2.ppf(confidence, max(len(body.morph_names), 1)))


def _check(body: Body, garment: Garment, others: Sequence[Body], confidence: float) -> None:
    """Refuse arguments that cannot be used."""
    if not 0.0 < confidence < 1.0:
        advice = "Give for instance 0.95"
        raise ArgumentError.of("infer_shape", "confidence", "between 0 and 1", f"{confidence:g}", advice)
    for other in others:
        if not np.array_equal(other.faces, body.faces):
            raise MatchError(
                f"infer_shape: `others` must have the triangles of {body.name!r}, those of {other.name!r} differ. "
                "Give base bodies of one body."
            )
