"""Repairing and proving several garments, in this process or spread over several, each written with its receipt."""

from collections.abc import Callable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

from dressform.body.body import Body
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.formats.out_folder import whole_folder
from dressform.jobs.progress import Progress, stage
from dressform.jobs.repair import repair
from dressform.jobs.save import FITTED_SUFFIX, save_with_receipt
from dressform.mesh.tree import Tree
from dressform.proof.linear_mesh import LinearMesh, linear_body
from dressform.report.tables.proof import Proof
from dressform.sweep.staff import run_tasks


def repair_garments(
    fits: Mapping[str, Fit], folder: Path, *, workers: int = 1, progress: Progress | None = None
) -> list[Proof]:
    """Repair garments, prove them and write each with its receipt.

    Args:
        fits: The garments of one body, by key; the files have the garments' names.
        folder: Where to; it is filled whole or not at all.
        workers: Processes, each with a garment of its own at a time; 1 repairs in this process.
        progress: Told after every garment.

    Returns:
        What is proven of each, in the order given.

    Raises:
        ArgumentError: two of them have one name.
        FileError: the folder cannot be written; nothing is left half-written.
    """
    names = [fit.garment.name for fit in fits.values()]
    if len(set(names)) < len(names):
        advice = "Repair those of one method"
        raise ArgumentError.of("repair_garments", "fits", "of garments with different names", ", ".join(names), advice)
    told = stage(progress, "repairing and proving")
    done: dict[str, Proof] = {}
    sources = {key: fit.garment.source for key, fit in fits.items()} | {"": next(iter(fits.values())).body.source}
    with whole_folder(folder) as partial:
        events = run_tasks(
            RepairJob(fits, sources, partial, folder), [RepairTask(key) for key in fits], workers=workers
        )
        with closing(events):
            for event in events:
                done[event.garment] = event.proof
                if told is not None:
                    told(len(done), len(fits))
    return [done[key] for key in fits]


@dataclass(frozen=True)
class RepairTask:
    """A garment to repair."""

    garment: str
    size: int = 1


@dataclass(frozen=True)
class RepairedFile:
    """A garment was repaired, proven and written."""

    garment: str
    proof: Proof


@dataclass(frozen=True)
class RepairJob:
    """Garments of one body to repair.

    Attributes:
        fits: The garments, by key.
        sources: The files that they were read from, by key, and that of the body by "": a process gets none with a
            garment.
        folder: Where to write.
        named: The folder that the files will end in.
    """

    fits: Mapping[str, Fit]
    sources: Mapping[str, object]
    folder: Path
    named: Path

    @cached_property
    def _body(self) -> Body:
        return replace(next(iter(self.fits.values())).body, source=self.sources[""])

    @cached_property
    def _obstacle(self) -> LinearMesh:
        return linear_body(self._body)

    @cached_property
    def _tree(self) -> Tree:
        return Tree(self._body.vertices, self._body.faces)

    def begin(self) -> Callable[[RepairTask], Iterator[RepairedFile]]:
        """What repairs its garments in this process."""
        return self._run

    def _run(self, task: RepairTask) -> Iterator[RepairedFile]:
        fit = self.fits[task.garment]
        fit = replace(fit, body=self._body, garment=replace(fit.garment, source=self.sources[task.garment]))
        repaired = repair(fit, obstacle=self._obstacle, tree=self._tree)
        file = f"{fit.garment.name}{FITTED_SUFFIX}"
        save_with_receipt(repaired, self.folder / file, named=self.named / file)
        yield RepairedFile(task.garment, repaired.proof)
