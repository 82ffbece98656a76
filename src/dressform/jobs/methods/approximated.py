"""The best linear approximation of a method that is a function of the weights, and how far it departs from it."""

import time
from dataclasses import replace

import numpy as np

from dressform.body.shapes import Shape, end_shapes, label_of, sobol_shapes
from dressform.fit.fit import Fit
from dressform.fit.shaped import ShapedFit, best_linear
from dressform.units import MM_PER_M, MS_PER_S, counted

SPREAD = 3
"""It is asked at so many evenly spread shapes per morph, beside both ends of each."""
LINEAR = 1e-5
"""A method that departs nowhere by more than this is linear, metres: rounding to float32 and in files."""


def approximated(fit: ShapedFit) -> Fit:
    """A plain fit where a method turns out to be linear; else the shaped one with its best linear approximation.

    Args:
        fit: The method, asked for nothing yet or at fixed shapes alone; its deltas are not used.

    Raises:
        MethodError: the method failed when it was asked.
    """
    box = fit.body.range
    start = time.perf_counter()
    zero = np.zeros(len(box.names))
    if fit.fixed is None:
        fit.learn([Shape("base", zero), *end_shapes(box), *sobol_shapes(box, SPREAD * len(box.names))])
    base = fit.at(zero)
    seconds = (time.perf_counter() - start) / max(len(fit.told), 1)
    made = replace(fit, base=base, deltas=best_linear(base, fit.told.values()))
    apart = {key: made.departure(weights) for key, (weights, _) in made.told.items()}
    worst = max(apart, key=lambda key: float(apart[key].max()))
    most = float(apart[worst].max())
    notes = _base_note(made)
    spanned = np.linalg.matrix_rank(np.array([weights for weights, _ in made.told.values()]))
    enough = len(made.told) > len(box.names) + 1 and spanned == len(box.names)
    how = "asked" if fit.fixed is None else "known"
    if most <= LINEAR and enough:
        words = f"By {fit.following.method}, which is linear in the weights as far as {len(made.told)} shapes tell."
        return _noted(made.linear, (words, *notes))
    if enough:
        everywhere = np.concatenate(list(apart.values())) * MM_PER_M
        words = (
            f"It is no linear function of the weights: the best targets depart from it by up to "
            f"{most * MM_PER_M:.1f} mm (95 % of it by {np.percentile(everywhere, 95):.1f} mm or less), "
            f"most at {label_of(box, made.told[worst][0])}. Shipping it as targets would lose that."
        )
    else:
        words = "That is too few to tell how far the best targets would depart from it."
    each = f", {seconds * MS_PER_S:.0f} ms each" if fit.fixed is None else ""
    asked = f"By {fit.following.method}, {how} at {counted(len(made.told), 'shape')}{each}."
    alone = "It is looked at there alone." if fit.fixed is not None else ""
    shown = "On pages its sliders move the best linear approximation."
    return _noted(made, tuple(one for one in (f"{asked} {words}", alone, *notes, shown) if one))


def _base_note(fit: Fit) -> tuple[str, ...]:
    moved = float(np.linalg.norm(fit.base - fit.garment.vertices, axis=1).max())
    if moved <= LINEAR:
        return ()
    return (f"At the base it has the cloth up to {moved * MM_PER_M:.1f} mm from where its maker modelled it.",)


def _noted(fit: Fit, notes: tuple[str, ...]) -> Fit:
    return replace(fit, garment=replace(fit.garment, notes=(*fit.garment.notes, *notes)))
