"""A certificate as tables and as JSON data."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field

from dressform.faults.skin.cloth_at_base import MOST_TUCKED
from dressform.formats.results.stance_records import stance_records
from dressform.proof.at_stance import StanceCertificate
from dressform.proof.certificate import Certificate
from dressform.proof.clip import ClipCertificate
from dressform.proof.slider_range import SliderCertificate
from dressform.report.tables.proof_moving import (
    clip_data,
    clips_table,
    slider_data,
    slider_share,
    slider_words,
    sliders_table,
    sure_share,
)
from dressform.report.tables.text import table_text
from dressform.report.tables.whole_table import WholeTable
from dressform.units import MM_PER_M, MS_PER_S, PERCENT, counted

PROOF_SCHEMA = "dressform-proof/1"
ROUNDING = 1e-9
"""Shares below this are none."""


@dataclass(frozen=True, repr=False)
class Proof:
    """The certificate of one garment on one body.

    Attributes:
        garment: Name of the garment.
        body: Name of the base body.
        intervals: The range that was proven, lowest and highest weight by morph.
        certificate: The certificate.
        tucked: Share of the cloth's area that is left out as part of a tucked rim, 0 to 1.
        seconds: Time it took.
        stances: What is proven at each stance beside rest.
        joints: Names of the body's joints, where there are stances.
        clips: What is proven between the moments of animations.
        sliders: What is proven at every value of sliders that move joints; None where none were asked for.
        sliders_left: Sliders that were not, and why, by name.
    """

    garment: str
    body: str
    intervals: Mapping[str, tuple[float, float]]
    certificate: Certificate
    tucked: float
    seconds: float
    stances: tuple[StanceCertificate, ...] = ()
    joints: tuple[str, ...] = ()
    clips: tuple[ClipCertificate, ...] = ()
    sliders: SliderCertificate | None = None
    sliders_left: Mapping[str, str] = field(default_factory=dict)

    @property
    def left_out(self) -> float:
        """Share of the cloth's area that is left out and not excused, 0 to 1."""
        return max(self.certificate.excluded_area - self.tucked, 0.0)

    @property
    def complete(self) -> bool:
        """Whether all is proven at rest, at every stance, instant of an animation and slider that was asked for."""
        moving = [one.complete for one in self.stances] + [one.complete for one in self.clips]
        moving += [self.sliders.complete] if self.sliders is not None else []
        return self.complete_at_rest and all(moving)

    @property
    def complete_at_rest(self) -> bool:
        """Whether every near pair is certified, and no cloth is left out but few tucked rims; see `MOST_TUCKED`."""
        return self.certificate.share == 1.0 and self.left_out <= ROUNDING and self.tucked <= MOST_TUCKED

    def __str__(self) -> str:
        stances = f"\n{table_text(stances_table(self))}" if self.stances else ""
        clips = f"\n{table_text(clips_table(self.clips))}" if self.clips else ""
        sliders = f"\n{table_text(sliders_table(self.sliders))}" if self.sliders is not None else ""
        return f"{proof_line(self)}\n{table_text(proof_table(self))}{stances}{clips}{sliders}"

    def __repr__(self) -> str:
        return f"<Proof of {self.garment!r} on {self.body!r}: {proof_line(self)}>"


def proof_line(report: Proof) -> str:
    """The verdict in one line: `PROVEN` or `NOT PROVEN`, and what is missing; how much cloth lies in the body, too.

    With stances it says how many are covered, and which are not.
    """
    proof = report.certificate
    if proof.excluded.all():
        return "NOT PROVEN: all of the cloth lies in or on the body at the base, so there is nothing to prove"
    rims = f"{report.tucked * PERCENT:.2g} %"
    open_at = [f"{one.stance.name}: {_missing(one)}" for one in report.stances if not one.complete]
    open_at += [f"{one.name}: {sure_share(one)} of the time" for one in report.clips if not one.complete]
    sliding = report.sliders
    if sliding is not None and not sliding.complete:
        open_at.append(f"{slider_words(sliding)}: {slider_share(sliding)} of their range")
    if not report.complete_at_rest:
        of_it = f", {rims} of it tucked rims" if report.tucked > ROUNDING else ""
        return (
            f"NOT PROVEN: {len(proof.open_pairs)} pairs open, {proof.excluded_area * PERCENT:.2g} % left out{of_it}"
            + "".join(f"; {one}" for one in open_at)
        )
    if open_at:
        return f"NOT PROVEN: {'; '.join(open_at)}"
    gap = f"at least {proof.margin * MM_PER_M:g} mm between cloth and body at every shape of the range"
    more = [counted(len(report.stances), "stance")] if report.stances else []
    more += [f"every instant of {one.name}" for one in report.clips]
    more += [f"every value of {slider_words(sliding)}"] if sliding is not None else []
    at = f" at rest and {' and '.join(more)}" if more else ""
    left_out = [f"{one.stance.name} {_contact(one)}" for one in report.stances if one.contacts.total]
    left_out += [f"{one.name} {one.contact_share * PERCENT:.2g} %" for one in report.clips if one.contact_share]
    if sliding is not None and sliding.contact_share:
        left_out.append(f"{slider_words(sliding)} {sliding.contact_share * PERCENT:.2g} %")
    gap += f"; left out as contact, of the near pairs: {', '.join(left_out)}" if left_out else ""
    if report.tucked <= ROUNDING:
        return f"PROVEN{at}: {gap}"
    return f"{proven_word(report)} of the cloth{at}: {gap}; tucked rims ({rims}) lie in the body"


def _contact(one: StanceCertificate) -> str:
    """The share of the near pairs at a stance that is contact."""
    share = one.contacts.total / (one.contacts.total + len(one.certified))
    return f"{share * PERCENT:.2g} %"


def _missing(one: StanceCertificate) -> str:
    """What is not proven at a stance."""
    pairs, sunk = len(one.open_pairs), int(one.sunk.sum())
    said = [counted(pairs, "pair") + " open"] if pairs else []
    return " and ".join(said + ([f"{counted(sunk, 'triangle')} under the skin"] if sunk else []))


def proven_word(report: Proof) -> str:
    """The verdict in two words or three: of how much of the cloth it is proven, where tucked rims lie in the body."""
    if not report.complete:
        return "NOT PROVEN"
    # Rounded down, so that it never claims more than is proven.
    share = math.floor((1.0 - report.tucked) * PERCENT * 10) / 10
    return f"PROVEN for {share:.1f} %" if report.tucked > ROUNDING else "PROVEN"


def proof_data(report: Proof) -> dict[str, object]:
    """The certificate as data for JSON; lengths in mm, shares from 0 to 1."""
    proof = report.certificate
    return {
        "schema": PROOF_SCHEMA,
        "proven": report.complete,
        "garment": report.garment,
        "body": report.body,
        "range": {name: list(ends) for name, ends in report.intervals.items()},
        "margin_mm": proof.margin * MM_PER_M,
        "rounding_slack_mm": proof.slack * MM_PER_M,
        "near_pairs": len(proof.pairs),
        "certified_pairs": int(proof.certified.sum()),
        "certified_by_splitting": int(proof.split.sum()),
        "certified_share": proof.share,
        "certified_area_share": proof.certified_area,
        "excluded_area_share": proof.excluded_area,
        "tucked_area_share": report.tucked,
        "open_pairs": proof.open_pairs.tolist(),
        "seconds": report.seconds,
        "stances": [
            {
                **record,
                "proven": one.complete,
                "rounding_slack_mm": one.slack * MM_PER_M,
                "near_pairs": len(one.pairs),
                "certified_pairs": int(one.certified.sum()),
                "certified_by_splitting": int(one.split.sum()),
                "certified_share": one.share,
                "sunk_triangles": int(one.sunk.sum()),
                "contact_pairs": asdict(one.contacts),
                "open_pairs": one.open_pairs.tolist(),
            }
            for record, one in zip(
                stance_records([one.stance for one in report.stances], report.joints), report.stances
            )
        ],
        "clips": [clip_data(one) for one in report.clips],
        "sliders": None if report.sliders is None else slider_data(report.sliders),
        "not_covered": list(not_covered(report)),
    }


def not_covered(report: Proof) -> tuple[str, ...]:
    """What nothing is claimed about, in words."""
    clips = tuple(
        f"{one.name}: contact, {one.contact_share * PERCENT:.2g} % of the time of its pairs"
        for one in report.clips
        if one.contact_share
    )
    clips += tuple(f"slider {name}: {why}" for name, why in report.sliders_left.items())
    clips += ("sliders that move joints, at any stance but the modelled pose",) if report.sliders is not None else ()
    if not report.stances:
        return (*clips, "every stance but rest" + (", and those of the animations" if report.clips else ""))
    left = [(one.stance.name, one.contacts) for one in report.stances if one.contacts.total]
    across = [f"{name} ({each.across})" for name, each in left if each.across]
    folded = [f"{name} ({each.folded + each.folding})" for name, each in left if each.folded + each.folding]
    return (
        *([f"pairs with skin that the stance brings near: {', '.join(across)}"] if across else []),
        *([f"pairs where blending folds the skin: {', '.join(folded)}"] if folded else []),
        *clips,
        "stances that are not listed, and what lies between two stances",
    )


def stances_table(report: Proof) -> WholeTable:
    """One line per stance: what is proven there, and what is left out as contact."""
    table = WholeTable("At stances, over the whole range")
    table.add_column("stance", no_wrap=True)
    headings = ("near pairs", "certified, %", "open", "under the skin", "contact across", "skin folded", "rounding, mm")
    for heading in headings:
        table.add_column(heading, justify="right")
    for one in report.stances:
        folded = one.contacts.folded + one.contacts.folding
        cells = (len(one.pairs), f"{one.share * PERCENT:.3f}", len(one.open_pairs), int(one.sunk.sum()))
        table.add_row(
            one.stance.name, *map(str, cells), str(one.contacts.across), str(folded), f"{one.slack * MM_PER_M:.3f}"
        )
    return table


def proof_json(report: Proof) -> str:
    """The certificate as JSON text."""
    return json.dumps(proof_data(report), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def proof_table(report: Proof) -> WholeTable:
    """The certificate for a person: what is proven, what is only checked, what is left out."""
    proof = report.certificate
    table = WholeTable(f"{report.garment} on {report.body}, over the whole range")
    table.add_column("what", overflow="fold")
    table.add_column("figure", justify="right")
    left_over = len(proof.open_pairs)
    for what, figure in (
        ("gap asked for between cloth and body", f"{proof.margin * MM_PER_M:g} mm"),
        ("demanded on top, for rounding in files and engines", f"{proof.slack * MM_PER_M:.4f} mm"),
        ("pairs of triangles that can come near", f"{len(proof.pairs)}"),
        ("of these certified", f"{proof.share * PERCENT:.3f} %"),
        ("certified by dividing the range", f"{int(proof.split.sum())}"),
        ("not certified: checked only", f"{left_over}"),
        ("cloth area certified", f"{proof.certified_area * PERCENT:.2f} %"),
        (
            "cloth area left out, since it touches the body at the base",
            f"{proof.excluded_area * PERCENT:.2f} %",
        ),
        ("of that in tucked rims, which are excused", f"{report.tucked * PERCENT:.2f} %"),
    ):
        table.add_row(what, figure)
    for words in not_covered(report):
        table.add_row(f"not covered: {words}", "")
    return table


def proofs_table(reports: Sequence[Proof]) -> WholeTable:
    """One line per garment: what is proven over the whole range."""
    table = WholeTable("What is proven over the whole range")
    for heading in (
        "garment",
        "body",
        "verdict",
        "near pairs",
        "certified, %",
        "left out, tucked rims too, %",
        "ms",
    ):
        table.add_column(heading, justify="left" if heading in {"garment", "body", "verdict"} else "right")
    for one in reports:
        proof = one.certificate
        table.add_row(
            one.garment,
            one.body,
            proven_word(one),
            str(len(proof.pairs)),
            f"{proof.share * PERCENT:.3f}",
            f"{proof.excluded_area * PERCENT:.2f}",
            f"{one.seconds * MS_PER_S:.0f}",
        )
    return table
