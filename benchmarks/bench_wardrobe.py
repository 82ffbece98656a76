"""Checks a wardrobe of many garments on one body: one process, then several; and what a large wardrobe would cost.

Every garment is one of the demo's, the guernsey where no other is named, made a little wider by numbers of its own,
written as a file and read again, so no two are alike. Prints a Markdown table: wall-clock seconds from the call to the
last result, start of the processes, reading, fitting, causes and the store included; efficiency, which is seconds of
one process over seconds of n processes times n; the same where nothing else ran on the machine, from what the kernel
counts (processor time of one process over what n processes worked and stood idle; Linux); most memory of a process;
bytes of the store for each garment; and that all results are the same bytes. With `--alone` fewer garments than all
are checked by one process, and its seconds are scaled up.

`--arithmetic` prints what 20,000 garments on 5 bodies at 256 shapes in 15 stances cost, from a straight line through
the cost of a few garments, checked by two processes, at two numbers of shapes in as many stances. Its seconds are those
of the processor, so that other work on the machine counts less, and its memory is that of a worker. `--estimate` does
the same sums with figures that were measured elsewhere.
"""

import argparse
import os
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from dressform.body.body import Body
from dressform.body.shapes import ShapeSettings
from dressform.body.stance import Stance
from dressform.cli.wardrobe.opening import opened_engine
from dressform.cli.wardrobe.options import WardrobeOptions
from dressform.faults.severity import DEFAULT_BANDS
from dressform.formats.gltf.save import save_body, save_garment
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.jobs.load import load_body
from dressform.jobs.stances import find_stances
from dressform.jobs.store.finished import FinishedStore
from dressform.jobs.wardrobe.check import WardrobeChecked, check_wardrobe
from dressform.jobs.wardrobe.files import WardrobeFile, wardrobe_files
from scenes import demo_scenes
from wardrobe_workers import Spent, WatchedWorkers

DEMO_GARMENT = "guernsey"
GARMENTS, BODIES, SHAPES, STANCES = 20_000, 5, 256, 15
"""The wardrobe of the arithmetic."""
NIGHT = 10.0
"""Hours."""
WIDER = (0.0, 0.012)
"""How much wider a garment is made, metres: from as it is to this."""


def varied(garment: Garment, number: int) -> Garment:
    """The garment with each vertex moved away from the vertical axis by up to a centimetre, smoothly."""
    rng = np.random.default_rng(number)
    grow = rng.uniform(*WIDER)
    height = garment.vertices[:, 1]
    wave = 1 + 0.2 * np.sin(
        2 * np.pi * (height - height.min()) / np.ptp(height) * rng.uniform(0.5, 2) + rng.uniform(0, 6)
    )
    outward = garment.vertices * [1.0, 0.0, 1.0]
    outward /= np.maximum(np.linalg.norm(outward, axis=1, keepdims=True), 1e-6)
    return replace(garment, name=f"g{number:04}", vertices=garment.vertices + (grow * wave)[:, None] * outward)


@dataclass
class Scene:
    """A body, its wardrobe as files, and how it is checked."""

    body: Body
    files: Sequence[WardrobeFile]
    shapes: ShapeSettings
    stances: Sequence[Stance] = ()

    def checked(self, workers: int, store: FinishedStore, *, most: int, engine: str = "processes") -> WardrobeChecked:
        """The first garments of the wardrobe, checked."""
        with opened_engine(WardrobeOptions(engine=engine), workers) as opened:
            return check_wardrobe(
                self.body, self.files[:most], following=lambda _: DEFAULT_FOLLOWING, shapes=self.shapes,
                stances=self.stances, bands=DEFAULT_BANDS, engine=opened, store=store,
            )  # fmt: skip


def kept(store: FinishedStore) -> dict[str, tuple[bytes, bytes]]:
    """What a store holds, by garment."""
    return {one.name: (one.line, one.data) for one in store.entries(with_data=True)}


def race(scene: Scene, folder: Path, counts: Sequence[int], alone: int, engine: str) -> None:
    """The table."""
    count, single, one, before = len(scene.files), 0.0, Spent(), dict[str, tuple[bytes, bytes]]()
    print("\n| processes | garments | seconds | processor s a garment | idle s | efficiency | on a free machine "
          "| memory MB | store kB each | same bytes |")  # fmt: skip
    print("|---:|---:|---:|---:|---:|---:|---:|---:|---:|---|")
    for workers in counts:
        most = alone if workers == 1 else count
        with FinishedStore(folder / f"{workers}.db") as store:
            start = time.perf_counter()
            with WatchedWorkers() as watched:
                found = scene.checked(workers, store, most=most, engine="processes" if workers == 1 else engine)
            seconds, spent = time.perf_counter() - start, watched.spent
            assert not found.failed, found.failed
            now = kept(store)
            same = all(before[name] == now[name] for name in before.keys() & now.keys()) if before else True
            assert same
            before = before or now
            single, one = single or seconds / most, one if one.garments else replace(spent, garments=most)
            efficiency = single * most / (workers * seconds)
            free = one.busy * most / one.garments / spent.taken if spent.taken else 1.0
            each = sum(len(line) + len(data) for line, data in now.values()) / len(now) / 1e3
            cells = (workers, most, f"{seconds:.1f}", f"{spent.busy / most:.2f}", f"{spent.idle:.1f}",
                     f"{efficiency:.2f}", f"{free:.2f}", f"{found.run.peak_mb:.0f}", f"{each:.1f}",
                     "yes" if same else "NO")  # fmt: skip
            print("| " + " | ".join(map(str, cells)) + " |", flush=True)
            if workers == counts[-1]:
                start = time.perf_counter()
                again = scene.checked(workers, store, most=most)
                assert again.run.kept == most
                print(f"\nagain, all {most} from the store: {time.perf_counter() - start:.1f} s")


def arithmetic(scene: Scene, folder: Path, few: int, many: int, garments: int) -> None:
    """What a large wardrobe would cost."""
    costs, sizes, looks, peak = [], [], [], 0.0
    for sobol in (few, many):
        one = replace(
            scene, shapes=ShapeSettings(sobol=sobol), stances=find_stances(scene.body, "motion").stances[:STANCES]
        )
        with FinishedStore(folder / f"arithmetic {sobol}.db") as store:
            with WatchedWorkers() as watched:
                found = one.checked(2, store, most=garments)
            costs.append(watched.spent.busy / garments)
            rows = [len(each.shapes) + sum(len(at.shapes) for at in each.stances) for each in found.garments()]
            looks.append(sum(rows) / len(rows))
            sizes.append(sum(len(line) + len(data) for line, data in kept(store).values()) / garments)
            peak = max(peak, found.run.peak_mb)
        print(f"{sobol} shapes in {len(one.stances)} stances: {looks[-1]:.0f} looks, {costs[-1]:.1f} s, "
              f"{sizes[-1] / 1e3:.0f} kB a garment, at most {peak:.0f} MB")  # fmt: skip
    slope, size_slope = (float(np.diff(values)[0] / np.diff(looks)[0]) for values in (costs, sizes))
    wanted = looks[-1] + (SHAPES - many) * (looks[-1] - looks[0]) / (many - few)
    sums(wanted, slope, costs[0] - slope * looks[0], size_slope, peak)


def sums(wanted: float, look: float, rest: float, size: float, peak: float) -> None:
    """What the large wardrobe costs, from looks a garment, seconds and bytes a look, the rest of a garment, and MB."""
    each = rest + look * wanted
    hours = GARMENTS * BODIES * each / 3600
    print(f"a look: {look * 1e3:.1f} ms and {size / 1e3:.2f} kB; the rest of a garment: {rest:.1f} s")
    print(f"\n{GARMENTS:,} garments on {BODIES} bodies at {SHAPES} shapes in {STANCES} stances:")
    print(f"{wanted:.0f} looks a garment, {GARMENTS * BODIES * wanted:.3g} in all")
    print(f"{each:.0f} s a garment and body, {hours:,.0f} core hours")
    print(f"{hours / NIGHT:,.0f} workers for one night of {NIGHT:.0f} hours, at an efficiency of 1")
    print(f"{peak / 1e3:.2f} GB of memory a worker; {GARMENTS * BODIES * size * wanted / 1e9:,.0f} GB of store")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--garments", type=int, default=50)
    parser.add_argument("--shapes", type=int, default=16, help="evenly spread shapes, beside ends, pairs and the worst")
    parser.add_argument("--workers", type=int, nargs="*", help="numbers of processes; 1 and every core where left out")
    parser.add_argument("--alone", type=int, help="garments that one process checks; all where left out")
    parser.add_argument("--garment", default=DEMO_GARMENT, help="which of the demo's; man_coat has 9,816 vertices")
    parser.add_argument("--engine", default="processes", help="processes, dask, or tcp://HOST:PORT")
    parser.add_argument("--stances", default="none", help="stances, as for dressform check")
    parser.add_argument("--arithmetic", type=int, nargs=3, metavar=("FEW", "MANY", "GARMENTS"))
    parser.add_argument("--estimate", type=float, nargs=5, metavar=("LOOKS", "LOOK_MS", "REST_S", "LOOK_KB", "MB"))
    options = parser.parse_args()
    if options.estimate:
        looks, look, rest, size, peak = options.estimate
        sums(looks, look / 1e3, rest, size * 1e3, peak)
        return
    counts = options.workers or sorted({1, 2, os.cpu_count() or 1})
    body, garment = demo_scenes()[options.garment]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        save_body([body], folder / "body.glb")
        (folder / "wardrobe").mkdir()
        for number in range(options.garments):
            save_garment(varied(garment, number), folder / "wardrobe" / f"g{number:04}.glb")
        read = load_body(folder / "body.glb")
        scene = Scene(read, wardrobe_files([folder / "wardrobe"]), ShapeSettings(sobol=options.shapes),
                      find_stances(read, options.stances).stances)  # fmt: skip
        print(f"body: {len(read.vertices)} vertices, {len(read.morph_names)} morphs; {len(scene.files)} garments of "
              f"{len(garment.vertices)} vertices; {options.shapes} shapes; {os.cpu_count()} cores")  # fmt: skip
        with FinishedStore(folder / "warm.db") as store:  # loads compiled code
            scene.checked(1, store, most=1)
        if options.arithmetic:
            arithmetic(scene, folder, *options.arithmetic)
        else:
            race(scene, folder, counts, min(options.alone or len(scene.files), len(scene.files)), options.engine)


if __name__ == "__main__":
    main()
