"""Outfits: garments that are worn together, repaired from the skin outward."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from dressform.calls import called
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.formats.out_folder import whole_folder
from dressform.formats.sources import refuse_sources
from dressform.jobs.save import FITTED_SUFFIX, save
from dressform.repair.layers import Layer, repair_outfit
from dressform.report.tables.layers import layers_table
from dressform.report.tables.text import table_text


@dataclass(frozen=True, eq=False, repr=False)
class OutfitResult:
    """Garments worn together after their repair; `print` shows the table that a person reads.

    Attributes:
        name: Name of the outfit.
        layers: The garments from the skin outward, each with its repaired fit, proof and cost.
    """

    name: str
    layers: tuple[Layer, ...]

    @property
    def fits(self) -> tuple[Fit, ...]:
        """The repaired fits, from the skin outward."""
        return tuple(layer.fit for layer in self.layers)

    @property
    def complete(self) -> bool:
        """Whether every near pair of every layer is certified over the whole range."""
        return all(layer.certificate.share == 1.0 for layer in self.layers)

    def __str__(self) -> str:
        return table_text(layers_table(self.name, self.layers))

    def __repr__(self) -> str:
        return f"<OutfitResult {self.name!r} of {', '.join(fit.garment.name for fit in self.fits)}>"


@called("outfit")
def outfit(fits: Sequence[Fit], *, name: str = "outfit") -> OutfitResult:
    """Repair garments that are worn together, each against the body and the layers under it.

    Args:
        fits: The garments on one body, from the skin outward; each keeps the margin of its following.
        name: What the outfit is called.

    Raises:
        ArgumentError: there is none, or they are of different bodies.

    Proof: tests/repair/test_layers.py
    """
    if len({id(one.body) for one in fits}) != 1:
        observed = ", ".join(one.body.name for one in fits) or "none"
        raise ArgumentError.of("outfit", "fits", "one fit or more, of one body", observed, "Fit them to one body")
    return OutfitResult(name, repair_outfit(fits))


@called("save_outfit")
def save_outfit(result: OutfitResult, target: Path | str) -> None:
    """Write every garment of an outfit into a folder, whole or not at all.

    Raises:
        ArgumentError: `result` is not what `outfit` returned.
        FileError: the folder cannot be written, or one of the names is that of a file that the outfit was read from.
    """
    target = Path(target)
    refuse_sources([target / f"{one.garment.name}{FITTED_SUFFIX}" for one in result.fits], result.fits)
    with whole_folder(target) as folder:
        for one in result.fits:
            save(one, folder / f"{one.garment.name}{FITTED_SUFFIX}")
