"""The table of an outfit: what each layer keeps clear of, and what that cost."""

from dressform.repair.layers import SKIN, Layer
from dressform.report.tables.whole_table import WholeTable
from dressform.units import MM_PER_M, PERCENT


def layers_table(name: str, layers: tuple[Layer, ...]) -> WholeTable:
    """One line per layer and what lies under it."""
    title = f"{name} on {layers[0].fit.body.name}, from the skin outward"
    table = WholeTable(title)
    for heading in ("layer", "over", "near pairs certified, %", "crossing as made", "largest move, mm", "conflicts"):
        table.add_column(heading, justify="left" if heading in {"layer", "over"} else "right")
    for layer in layers:
        for under in range(layer.number):
            first = under == SKIN
            table.add_row(
                layer.fit.garment.name if first else "",
                "skin" if first else layers[under - 1].fit.garment.name,
                f"{layer.share(under) * PERCENT:.3f}",
                str(layer.crossing.get(under, 0)),
                f"{layer.cost.largest_move * MM_PER_M:.1f}" if first else "",
                str(int((layer.conflict_layers == under).sum())),
            )
    return table
