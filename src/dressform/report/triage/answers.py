"""Drafted answers to complaints: what is seen, why, whose it is, what will change. They claim nothing unknown."""

import tomllib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib.resources import files

import numpy as np

from dressform.faults.results import Place
from dressform.faults.words import place_amount
from dressform.formats.results.triage_schema import (
    CURED,
    FAILED,
    NEW,
    NOT_FOUND,
    STILL,
    UNCLEAR,
    UNJUDGED,
    WORSE,
    TriageCase,
    TriageChange,
    TriageMatter,
    TriageRemedy,
)
from dressform.report.tables.check import label_words, where
from dressform.units import PERCENT, counted

MOST_REMEDIES = 2
"""So many of the things that help are told."""


@cache
def plain_words() -> Mapping[str, Mapping[str, str]]:
    """Faults, causes and owners in ordinary words."""
    return tomllib.loads(files("dressform.report.triage").joinpath("plain.toml").read_text(encoding="utf-8"))


def matter_answer(matter: TriageMatter) -> str:
    """The drafted answer to everybody who complains of one matter, paragraphs in Markdown.

    Proof: tests/report/test_triage_answers.py
    """
    return "\n\n".join([_seen(matter), _why(matter), *_whose(matter), *_change(matter)])


def case_answer(case: TriageCase) -> str:
    """The drafted answer to a complaint that belongs to no matter; empty where it does."""
    if case.outcome == NOT_FOUND:
        wide = "over the whole range of the body's sliders"
        at = f"at the shape of your complaint ({case.shape}), then {wide}" if case.shape else wide
        stance = f", standing as in {case.stance}" if case.stance else ""
        return (
            f"We measured the {_named(case.garment)} on {case.body} {at}{stance}, and could not find it. "
            f"{case.reason} If you still see it, tell us how your sliders stand, how the body stands, and which "
            "version of the garment you wear; a picture helps most."
        )
    if case.outcome == UNCLEAR:
        return (
            f"Thank you for writing about the {_named(case.garment)}. We cannot tell from your note what is wrong. "
            "Where is it, what does it look like, and how do your sliders stand? The glossary shows what each fault "
            "looks like, so that you can point at one."
        )
    if case.outcome == FAILED:
        return f"We could not measure this one yet: {case.reason}"
    return ""


def change_words(kind: str, before: TriageMatter | None, after: TriageMatter | None) -> str:
    """What became of a matter, in one sentence."""
    if kind == NEW and after is not None:
        return f"{_head(after)}: {after.severity}, {place_amount(after.place)}."
    assert before is not None
    if after is None:
        if kind == CURED:
            return f"{_head(before)}: it was {before.severity}, {place_amount(before.place)}; it is not found any more."
        return f"{_head(before)}: none of its complaints was measured this time."
    figures = f"{place_amount(before.place)} then, {place_amount(after.place)} now"
    grades = before.severity if before.severity == after.severity else f"{before.severity}, now {after.severity}"
    return f"{_head(before)}: {grades}; {figures}."


RELEASE = {CURED: "Mended", WORSE: "Worse than before, and known to us", STILL: "Not mended yet", NEW: "Newly heard of"}
"""Headings of the release note, in its order."""


def release_note(changes: Sequence[TriageChange], after: Sequence[TriageMatter]) -> str:
    """A note to the wearers about what has changed, Markdown; it says no more than was measured."""
    lines = ["# What has changed"]
    by_name = {one.name: one for one in after}
    for kind, heading in RELEASE.items():
        mine = [one for one in changes if one.kind == kind]
        if mine:
            lines += ["", f"## {heading}", ""]
            lines += [f"- {one.words}{_plan(by_name.get(one.after))}" for one in mine]
    unjudged = sum(one.kind == UNJUDGED for one in changes)
    if unjudged:
        lines += ["", f"Of {counted(unjudged, 'matter')} nothing can be said: nobody's complaint was measured again."]
    if len(lines) == 1:
        lines += ["", "Nothing that was complained about has changed."]
    return "\n".join(lines) + "\n"


def _plan(matter: TriageMatter | None) -> str:
    if matter is None or not matter.cause:
        return ""
    return f" Why: {plain_words()['cause'].get(matter.cause, matter.cause)}."


def _seen(matter: TriageMatter) -> str:
    place = matter.place
    fault = plain_words()["fault"].get(matter.fault, matter.fault)
    people = f"{counted(matter.people, 'person')} told us" if matter.people != 1 else "One of you told us"
    at = "as modelled, before any slider is moved" if not matter.weights else f"at the shape {_shape(matter)}"
    stance = f", standing as in {matter.stance}" if matter.stance else ""
    worn = f"On the {' and the '.join(_named(one) for one in matter.garments)}, worn by {matter.body}, {fault}"
    return (
        f"**What is seen.** {worn}: {_spot(place) or matter.where}. {people.replace('persons', 'people')}, and we see "
        f"it too. {_capital(at)}{stance} it measures {place_amount(place)}, which we call {matter.severity}."
    )


def _why(matter: TriageMatter) -> str:
    if not matter.cause:
        return (
            "**Why.** We do not know yet. We changed one thing after another and measured again. "
            f"{matter.because or 'Nothing that we can change here makes a difference.'}"
        )
    cause = plain_words()["cause"].get(matter.cause, matter.cause)
    share = f"With that alone changed, {matter.share * PERCENT:.0f} % of it goes"
    doubt = "" if matter.sure else " That is the likeliest reason, and not certain."
    return f"**Why.** {_capital(cause)}. {share}.{doubt}"


def _whose(matter: TriageMatter) -> list[str]:
    if not matter.owner:
        return []
    words = plain_words()["owner"][matter.owner]
    return [f"**Whose it is.** {words}." if matter.sure else f"**Whose it is, as far as we know.** {words}."]


def _change(matter: TriageMatter) -> list[str]:
    if matter.remedies:
        head = plain_words()["who"].get(matter.remedies[0].by, "What to do")
        first, *others = [_remedy(one) for one in matter.remedies[:MOST_REMEDIES]]
        return [f"**{head}.** {first}", *(f"**Or:** {one}" for one in others)]
    if matter.tried:
        return [f"**What will change.** Nothing yet. {_capital(matter.tried)}."]
    return ["**What will change.** Nothing yet. The figure above is what a mend will be measured by."]


def _remedy(one: TriageRemedy) -> str:
    return f"{_capital(one.words)}. We did exactly that and measured again: {one.effect}."


def _head(matter: TriageMatter) -> str:
    fault = plain_words()["fault"].get(matter.fault, matter.fault)
    region = f" ({_spot(matter.place)})" if _spot(matter.place) else ""
    return f"{_capital(' and '.join(_named(one) for one in matter.garments))}: {fault}{region}"


def _named(garment: str) -> str:
    """The name of a garment's file as words."""
    return garment.replace("_", " ")


def _shape(matter: TriageMatter) -> str:
    """The label of its shape, with the largest weights where the label lacks them."""
    return label_words(matter.shape, np.array(list(matter.weights.values())), tuple(matter.weights))


def _spot(place: Place) -> str:
    """Where a place is, names of regions and parts as words."""
    return where(place).replace("_", " ")


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
