"""The whole reasoning about one place as tables: what was seen, what was tried, why, what to change."""

from rich.console import Console
from rich.text import Text

from dressform.causes.evidence_words import evidence_words
from dressform.faults.registry import is_on_body
from dressform.faults.words import FAULT_WORDS, figure_words
from dressform.formats.results.check_schema import StoredGarment, StoredResults
from dressform.formats.results.cluster_schema import StoredCluster
from dressform.report.tables.check import verdict, where
from dressform.report.tables.clusters import NOTHING
from dressform.report.tables.whole_table import WholeTable
from dressform.units import CM_PER_M, PERCENT, counted

SHAPES_SHOWN = 8
MIN_TOLD = 1e-3  # share of what was measured; less is none


def explained_title(garment: StoredGarment, cluster: StoredCluster) -> str:
    """The place in one line, with the action that it is one of."""
    action = next((f" of action {one.name}" for one in garment.actions if cluster.name in one.places), "")
    return f"{garment.name} ({garment.method}), place {cluster.name}{action}: {FAULT_WORDS[cluster.place.fault]}"


def spot_words(cluster: StoredCluster) -> str:
    """Where the place is, from the results for its worst vertex."""
    place = cluster.place
    height = f"{place.height * CM_PER_M:.0f} cm above the ground"
    mesh = "body" if is_on_body(place.fault) else "cloth"
    return f"{where(place)}, {height}, {place.area_cm2:.1f} cm²; worst at vertex {place.vertex} of the {mesh}"


def seen_table(cluster: StoredCluster, *, shown: int = SHAPES_SHOWN) -> WholeTable:
    """On which shapes it was seen, and how much of it, the worst first."""
    table = WholeTable(f"Seen on {counted(len(cluster.seen), 'shape')}")
    table.add_column("shape", overflow="fold")
    table.add_column("verdict")
    table.add_column("value", justify="right")
    table.add_column("weights", overflow="fold")
    for one in cluster.seen[:shown]:
        weights = " ".join(f"{name}={weight:.2g}" for name, weight in one.weights.items())
        label = f"{one.label}, {one.stance}" if one.stance else one.label
        table.add_row(label, verdict(one.severity), amount_words(cluster, one.value), weights)
    if len(cluster.seen) > shown:
        table.add_row(Text(f"and {len(cluster.seen) - shown} more", style="dim"), "", "", "")
    return table


def tried_table(cluster: StoredCluster) -> WholeTable:
    """Every counterfactual: the fault before and after, and the share that is due to it."""
    table = WholeTable("Tried, one ingredient at a time, on the worst shape")
    table.add_column("cause", overflow="fold")
    table.add_column("what was swapped", overflow="fold")
    for heading in ("before", "after", "goes", "share"):
        table.add_column(heading, justify="right", no_wrap=True)
    for one in cluster.shares:
        gone = 1.0 - one.alone / cluster.measured if cluster.measured else 0.0
        table.add_row(
            one.cause,
            one.counterfactual,
            amount_words(cluster, cluster.measured),
            amount_words(cluster, one.alone),
            f"{gone * PERCENT:.0f} %",
            f"{one.share * PERCENT:.0f} %",
        )
    return table


def evidence_table(cluster: StoredCluster) -> WholeTable:
    """The figures that the cause rests on."""
    table = WholeTable("Evidence")
    table.add_column("figure", overflow="fold")
    table.add_column("value", justify="right", no_wrap=True)
    for name, value in cluster.evidence.items():
        words, unit = evidence_words(name)
        table.add_row(words, figure_words(value, unit))
    return table


def cause_sentence(cluster: StoredCluster) -> str:
    """The conclusion from the counterfactuals."""
    if cluster.cause:
        share = max(one.share for one in cluster.shares)
        return f"{cluster.cause}: {share * PERCENT:.0f} % of the fault goes with it. It lies with {cluster.owner}."
    if cluster.shares:
        best = cluster.shares[0]
        if best.share < NOTHING:
            return "Nothing that was swapped takes any of it away."
        return (
            f"None of these takes enough away; the nearest, {best.counterfactual}, takes {best.share * PERCENT:.0f} %."
        )
    return "No counterfactual applies here."


def amount_words(cluster: StoredCluster, value: float) -> str:
    """A value of the cluster's fault with its unit; a negligible share of the measured fault is shown as 0."""
    told = 0.0 if abs(value) < MIN_TOLD * abs(cluster.measured) else value
    return figure_words(told, cluster.place.unit)


def print_explained(told: StoredResults, garment: StoredGarment, cluster: StoredCluster, console: Console) -> None:
    """Everything that the results say about one place."""
    why = f"cause: {cluster.cause}" if cluster.cause else "no cause found"
    console.print(f"{explained_title(garment, cluster)}; {why}", style="bold")
    place = f"{spot_words(cluster)}; on {told.body.name}, ease policy {garment.ease}"
    console.print(place, soft_wrap=not console.is_terminal)
    for table in (seen_table(cluster), tried_table(cluster)):
        console.print()
        console.print(table)
    console.print()
    _print_section(console, "Cause", cause_sentence(cluster))
    if cluster.evidence:
        console.print(evidence_table(cluster))
        console.print()
    if cluster.advice is not None:
        advice = cluster.advice
        words = [f"{advice.where}: {advice.what}", *([f"or {advice.repair}"] if advice.repair else [])]
        _print_section(console, "What to change", *words)
    shared = told.shared_with(garment, cluster)
    if shared:
        _print_section(console, "Others fail here too", *(f"{one.sentence}." for one in shared))


def _print_section(console: Console, title: str, *lines: str) -> None:
    console.print(title, style="bold")
    for line in lines:
        console.print(line, soft_wrap=not console.is_terminal)
    console.print()
