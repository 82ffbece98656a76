"""The receipt of a repaired fit: before, after, what was changed and what is proven. Table and JSON."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from dressform.faults.results import ShapeFaults
from dressform.formats.results.check_report import Source
from dressform.formats.results.receipt_read import RECEIPT_SCHEMA
from dressform.repair.chain import ChainResult
from dressform.repair.correctives.correct import Corrections
from dressform.report.tables.proof import Proof, proof_data
from dressform.report.tables.whole_table import WholeTable
from dressform.units import CM2_PER_M2, MM_PER_M, PERCENT

CM3_PER_M3 = 1e6


@dataclass(frozen=True)
class Receipt:
    """Everything that a fitted file is based on.

    Attributes:
        versions: What it was made with.
        settings: What was asked for, by the name of the option.
        files: Body, garment and fitted file with their hashes.
        labels: Shapes at which both fits were measured.
        before: Faults of the fit as lifted, one per shape.
        after: Faults of the repaired fit, one per shape.
        repaired: What was changed.
        proof: What is proven of the repaired fit.
        at_stances: Faults of the repaired fit at stances, at the base and the worst corners there.
    """

    versions: Mapping[str, str]
    settings: Mapping[str, object]
    files: Mapping[str, Source]
    labels: Sequence[str]
    before: Sequence[ShapeFaults]
    after: Sequence[ShapeFaults]
    repaired: ChainResult
    proof: Proof
    at_stances: Sequence[ShapeFaults] = ()

    def of_file(self, name: str, source: Source) -> "Receipt":
        """The receipt with one more file named."""
        return replace(self, files={**self.files, name: source})


def figures(faults: Sequence[ShapeFaults]) -> dict[str, float]:
    """What is wrong at the base, then the worst of each visible fault over the shapes; for pucker the mean of p95."""
    return {
        "in_front_cm2": faults[0].at_base.skin_area * CM2_PER_M2,
        "in_body_percent": faults[0].at_base.inside_share * PERCENT,
        "tucked_cm2": faults[0].at_base.tucked_area * CM2_PER_M2,
        "exposed_cm2": max(one.show_through.exposed_area for one in faults) * CM2_PER_M2,
        "depth_max_mm": max(one.show_through.depth_max for one in faults) * MM_PER_M,
        "pucker_p95": sum(one.pucker.p95 if one.pucker.is_told else 0.0 for one in faults) / len(faults),
        "stretch_p99": max(one.stretch.relative_p99 for one in faults),
        "cut_cm2": max(one.broken.cut_area for one in faults) * CM2_PER_M2,
        "crossing_pairs": max(one.broken.crossing_pairs for one in faults),
        "folded_faces": max(one.broken.folded_faces for one in faults),
        "clearance_gain_mm": max(one.clearance_change.p95 for one in faults) * MM_PER_M,
    }


def receipt_table(receipt: Receipt) -> WholeTable:
    """Before and after, for a person."""
    count = len(receipt.labels)
    table = WholeTable(f"Before and after, over {count} shapes")
    table.add_column("")
    table.add_column("as lifted", justify="right")
    table.add_column("repaired", justify="right")
    before, after = figures(receipt.before), figures(receipt.after)
    refined = receipt.repaired.refined
    vertices = len(receipt.repaired.fit.base)
    added = 0 if refined is None else vertices - refined.split.rows.shape[1]
    for words, key, factor, pattern in (
        ("skin in front at the base, cm²", "in_front_cm2", 1.0, ".1f"),
        ("cloth in the body at the base, tucked rims apart, %", "in_body_percent", 1.0, ".1f"),
        ("skin shows, worst shape, cm²", "exposed_cm2", 1.0, ".1f"),
        ("cloth deep in the body, tucked rims too, worst shape, mm", "depth_max_mm", 1.0, ".1f"),
        ("pucker p95, mean, ‱", "pucker_p95", 1e4, ".1f"),
        ("stretch p99 beside the body's, worst shape, %", "stretch_p99", PERCENT, ".0f"),
        ("cuts through itself, worst shape, cm²", "cut_cm2", 1.0, ".1f"),
        ("triangles folded over, worst shape", "folded_faces", 1.0, ".0f"),
        ("clearance gained p95, worst shape, mm", "clearance_gain_mm", 1.0, ".1f"),
    ):
        table.add_row(words, f"{before[key] * factor:{pattern}}", f"{after[key] * factor:{pattern}}")
    table.add_row("vertices", str(vertices - added), str(vertices))
    out = receipt.repaired.brought_out
    if out is None:
        table.add_row("moved at the base, at most, mm", "", f"{receipt.repaired.cost.base_move * MM_PER_M:.1f}")
    else:
        table.add_row("brought out of the skin at the base, at most, mm", "", f"{out.largest_move * MM_PER_M:.1f}")
    table.add_row("largest move, mm", "", f"{receipt.repaired.cost.largest_move * MM_PER_M:.1f}")
    clearance = receipt.repaired.clearance
    for one in clearance.corrections.targets if clearance is not None and clearance.corrections is not None else ():
        words = f"{one.name}, at {', '.join(one.stances)}: moves at most, mm"
        table.add_row(words, "", f"{one.largest_move * MM_PER_M:.1f}")
    joints = receipt.repaired.joints
    if joints is not None and joints.kind:
        table.add_row(f"cloth with other joint weights ({joints.kind}), %", "", f"{joints.area_share * PERCENT:.0f}")
    for stance, area in seen_at(receipt.at_stances).items():
        if area > 0.0:
            table.add_row(f"skin shows at {stance}, worst shape tried, cm²", "", f"{area:.1f}")
    table.add_row("near pairs certified, %", "", f"{receipt.proof.certificate.share * PERCENT:.3f}")
    return table


def seen_at(found: Sequence[ShapeFaults]) -> dict[str, float]:
    """By stance the most skin that shows, cm²."""
    most: dict[str, float] = {}
    for one in found:
        most[one.stance] = max(most.get(one.stance, 0.0), one.show_through.exposed_area * CM2_PER_M2)
    return most


def corrections_data(corrections: Corrections) -> dict[str, object]:
    """Corrective targets as data for JSON: what each is, and how the strong bends stood without and with them."""
    return {
        "targets": [
            {"target": one.name, "joint": one.joint, "stances": list(one.stances),
             "largest_move_mm": one.largest_move * MM_PER_M, "vertices": one.vertices}
            for one in corrections.targets
        ],
        "stances": [
            {"stance": one.stance,
             "short_before": one.short_before, "deepest_before_mm": one.depth_before * MM_PER_M,
             "short_after": one.short_after, "deepest_after_mm": one.depth_after * MM_PER_M}
            for one in corrections.stances
        ],
    }  # fmt: skip


def receipt_json(receipt: Receipt) -> str:
    """The receipt as JSON text; lengths in mm, areas in cm², shares from 0 to 1."""
    repaired, clearance, hard = receipt.repaired, receipt.repaired.clearance, receipt.repaired.hard
    changes: dict[str, object] = {
        "largest_move_mm": repaired.cost.largest_move * MM_PER_M,
        "base_move_mm": repaired.cost.base_move * MM_PER_M,
        "rms_move_mm": repaired.cost.rms_move * MM_PER_M,
        "pucker_ratio": repaired.cost.pucker_ratio if math.isfinite(repaired.cost.pucker_ratio) else None,
    }
    if repaired.refined is not None:
        changes["refine"] = {
            "vertices_added": len(repaired.fit.base) - repaired.refined.split.rows.shape[1],
            "triangles_mended": repaired.refined.removed,
            "triangles_left": repaired.refined.left,
        }
    if repaired.rigid_patches is not None:
        changes["rigid_patch"] = [
            {"morph": one.name, "moved_mm": one.moved * MM_PER_M} for one in repaired.rigid_patches.morphs
        ]
    if repaired.whole is not None:
        changes["whole"] = [
            {"part": one.name, "form_before_mm": one.form_before * MM_PER_M, "form_after_mm": one.form_after * MM_PER_M}
            for one in repaired.whole.parts
        ]
    out = repaired.brought_out
    if out is not None:
        changes["bring_out"] = {
            "rounds": out.rounds,
            "largest_move_mm": out.largest_move * MM_PER_M,
            "rms_move_mm": out.rms_move * MM_PER_M,
            "triangles_in_skin_before": out.wrong_before,
            "triangles_left": [int(face) for face in out.left],
        }
    if clearance is not None:
        changes["clearance"] = {
            "rounds": clearance.rounds,
            "pairs_short_before": clearance.short_before,
            "base_move_mm": [move * MM_PER_M for move in clearance.base_move],
            "delta_move_mm": {
                name: float(move) * MM_PER_M for name, move in zip(repaired.fit.morph_names, clearance.delta_move)
            },
            "conflicts": [
                {"cloth_face": int(pair[0]), "body_face": int(pair[1]), "short_mm": float(depth) * MM_PER_M,
                 "morph": repaired.fit.morph_names[int(morph)]}
                for pair, depth, morph in zip(clearance.conflicts, clearance.conflict_depth, clearance.conflict_morphs)
            ],
            "stances": [
                {"stance": one.stance,
                 "short_before": one.short_before, "deepest_before_mm": one.depth_before * MM_PER_M,
                 "short_after": one.short_after, "deepest_after_mm": one.depth_after * MM_PER_M,
                 "given_way": one.given_way, "price_mm": one.price * MM_PER_M}
                for one in clearance.stances
            ],
        }  # fmt: skip
        if clearance.corrections is not None:
            changes["correctives"] = corrections_data(clearance.corrections)
    joints = repaired.joints
    if joints is not None:
        changes["joints"] = {
            "kind": joints.kind,
            "area_percent": joints.area_share * PERCENT,
            "largest_change": joints.largest,
            "stances": [
                {"stance": one.stance,
                 "short_before_cm3": one.before * CM3_PER_M3, "short_after_cm3": one.after * CM3_PER_M3,
                 "deepest_before_mm": one.deepest_before * MM_PER_M, "deepest_after_mm": one.deepest_after * MM_PER_M}
                for one in joints.stances
            ],
        }  # fmt: skip
    if hard is not None:
        changes["hard"] = {
            "parts": [one.name for one in hard.parts],
            "size_error": hard.size_error,
            "seat_error_mm": hard.seat_error * MM_PER_M,
        }
    data = {
        "schema": RECEIPT_SCHEMA,
        "versions": dict(receipt.versions),
        "settings": dict(receipt.settings),
        "files": {name: {"file": one.file, "sha256": one.sha256} for name, one in receipt.files.items()},
        "shapes": list(receipt.labels),
        "before": figures(receipt.before),
        "after": figures(receipt.after),
        "exposed_at_stances_cm2": seen_at(receipt.at_stances),
        "changes": changes,
        "proof": proof_data(receipt.proof),
    }
    return json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
