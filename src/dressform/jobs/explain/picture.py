"""The picture of `dressform explain`: body and garment read again, the swap of the cause made again, both drawn."""

from dataclasses import replace

import numpy as np

from dressform.body.body import Body
from dressform.body.stance import Stance
from dressform.causes.explained_body import ExplainedBody
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.patch import Patch, cut_patch
from dressform.causes.results import Cluster, Sighting
from dressform.causes.trial import Trial, make_trial
from dressform.causes.whole import carried, whole_fields, whole_fit
from dressform.errors import ArgumentError, FileError
from dressform.faults.registry import is_on_body
from dressform.faults.words import reading_of
from dressform.fit.posed import posed_body, posed_fit
from dressform.formats.guards.file_names import path_of
from dressform.formats.load import garment_file_of
from dressform.formats.masks import STRENGTH_ATTRIBUTE
from dressform.formats.results.check_schema import StoredGarment, StoredResults
from dressform.formats.results.cluster_schema import StoredCluster
from dressform.formats.results.record import Source
from dressform.garment.following import for_garment
from dressform.garment.garment import Garment
from dressform.garment.methods import is_code
from dressform.jobs.check_report import following_again
from dressform.jobs.explain.explain import others_of
from dressform.jobs.fit import fit
from dressform.jobs.load import load_body, load_garment
from dressform.jobs.provenance import source_of
from dressform.jobs.stances import find_stances
from dressform.report.pictures.faults import Appearance
from dressform.report.pictures.looks import look_of
from dressform.report.pictures.raster import Image
from dressform.report.pictures.swap import Swapped, swap_picture
from dressform.report.tables.check import label_words
from dressform.report.tables.explained import amount_words, cause_sentence, explained_title, spot_words

SAME_MEASURE = 0.05  # share by which a fault that is measured again may differ
OUTERMOST = 95.0  # per cent of a place's vertices that its extent holds


def explained_picture(
    told: StoredResults,
    garment: StoredGarment,
    cluster: StoredCluster,
    *,
    stances: str | None = None,
    code: str | None = None,
) -> Image:
    """The place as it is and with the ingredient of the cause swapped; of the largest share where no cause is named.

    Args:
        told: The results.
        garment: The garment in them.
        cluster: The place.
        stances: Where the stance of the place comes from, as for `find_stances`, if it was seen at one.
        code: Somebody's code that may be run: results that name code as a method run none that was not named again.

    Raises:
        ArgumentError: nothing was tried at this place, its stance is not among those found, or its method is code that
            was not named again.
        FileError: a file is gone, or is no longer the one that was checked.
    """
    if not cluster.shares:
        name = f"{garment.key}/{cluster.name}"
        advice = "Leave --picture out, or choose a place at which something was swapped"
        raise ArgumentError.of("explain", "PLACE", "one with a counterfactual", repr(name), advice)
    if is_code(garment.method) and code != garment.method:
        rule, advice = f"{garment.method}, which these results name", "Say it to have that code run again"
        raise ArgumentError.of("explain", "method", rule, code or "none", advice)
    patch, cloth = _case(told, garment, cluster, stances)
    tried = max(cluster.shares, key=lambda share: share.share)
    look = look_of(garment_file_of(cloth))
    trials = make_trial(patch, ()), make_trial(patch, (tried.cause,))
    before, after = (_side(one, look, cluster, words) for one, words in zip(trials, ("as it is", "swapped")))
    points = before.fields.body if is_on_body(cluster.place.fault) else before.fields.cloth
    place = patch.cluster.worst.place
    away = np.linalg.norm(points[patch.cluster.vertices] - np.array(place.position_m), axis=1)
    worst = cluster.seen[0]
    shape = label_words(worst.label, np.array(list(worst.weights.values())), tuple(worst.weights))
    shape = f"{shape}, {worst.stance}" if worst.stance else shape
    lines = [f"Swapped: {tried.counterfactual}.", f"Cause: {cause_sentence(cluster)}"]
    measured = trials[0].value * reading_of(cluster.place.fault, 1.0)[0]
    if abs(measured - cluster.measured) > SAME_MEASURE * abs(cluster.measured):
        lines.append(f"The check had measured {amount_words(cluster, cluster.measured)}: another version made it.")
    if cluster.advice is not None:
        lines.append(f"What to change: {cluster.advice.what}.")
    return swap_picture(
        before,
        after,
        place,
        extent=float(np.percentile(away, OUTERMOST)),
        title=f"{explained_title(garment, cluster)} at {shape}",
        lines=[spot_words(cluster), *lines],
    )


def _case(
    told: StoredResults, garment: StoredGarment, cluster: StoredCluster, stances: str | None
) -> tuple[Patch, Garment]:
    """The patch of cloth around the cluster, cut out again, and the whole garment."""
    _same_file(told.body.source)
    _same_file(garment.source)
    settings = told.settings
    body = load_body(
        path_of(told.body.source.file), base=settings.get("base"), morphs_dir=settings.get("morphs"),
        range_file=settings.get("range"), units=settings.get("units"), up=settings.get("up"),
        front=settings.get("front"),
    )  # fmt: skip
    following = replace(following_again(settings, garment.name), method=garment.method)
    mask = following.mask if isinstance(following.mask, str) else STRENGTH_ATTRIBUTE
    cloth = load_garment(
        path_of(garment.source.file), beside=body, mask=mask, units=settings.get("garment_units"),
        up=settings.get("garment_up"),
    )  # fmt: skip
    context = ExplainedBody(body)
    made = fit(body, cloth, for_garment(following, cloth), tree=context.tree)
    worn = ExplainedGarment(made, context=context, others=others_of(body))
    found = _cluster(body, garment, cluster, _stance(body, cluster.seen[0].stance, stances))
    return cut_patch(worn, context.narrowed(found.worst.weights), found), cloth


def _stance(body: Body, name: str, asked: str | None) -> Stance | None:
    """The stance of a name, as a check finds it; None for rest."""
    if not name:
        return None
    found = {stance.name: stance for stance in find_stances(body, asked).stances}
    if name not in found:
        rule = f"stances with {name!r}"
        raise ArgumentError.of("explain", "asked", rule, ", ".join(found) or "none", "Give --stances as to check")
    return found[name]


def _cluster(body: Body, garment: StoredGarment, told: StoredCluster, stance: Stance | None) -> Cluster:
    """The cluster as it was found, of its worst sighting only."""
    worst = told.seen[0]
    sighting = Sighting(worst.label, body.weights(worst.weights), told.place, stance)
    return Cluster(told.name, garment.key, (sighting,), np.array(told.vertices, dtype=np.int64), told.noticed)


def _side(trial: Trial, look: Appearance, cluster: StoredCluster, words: str) -> Swapped:
    """One side of the picture."""
    fit = whole_fit(trial)
    colours = Appearance(carried(trial, look.colours), carried(trial, look.gloss))
    amount = amount_words(cluster, reading_of(cluster.place.fault, trial.value)[0])
    fields, body, stance = whole_fields(trial, fit), trial.patch.context.body, trial.patch.stance
    if stance is not None:
        body = posed_body(body, stance)
        fit = posed_fit(fit, stance, body=body)
    return Swapped(body, fit, colours, fields, f"{words}: {amount}")


def _same_file(source: Source) -> None:
    """Refuse a file that is not the one that was checked."""
    path = path_of(source.file)
    again = "Run explain where the check was run, on the same files"
    if not path.is_file():
        raise FileError.of(path, "", "there is no such file", again)
    if source_of(path).sha256 != source.sha256:
        raise FileError.of(path, "", "is no longer the file that was checked", again)
