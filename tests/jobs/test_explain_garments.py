"""Explaining several garments: the same from one process and from two."""

from dressform.body.shapes import distinct, end_shapes, shape_at_base
from dressform.causes.results import METHOD, TOO_TIGHT
from dressform.jobs.explain.garments import explain_garments
from dressform.sweep.run import run_sweep
from seeded_phantoms import seeded_tube


def test_two_processes_find_what_one_finds() -> None:
    fits = {cause: seeded_tube(cause).fit for cause in (TOO_TIGHT, METHOD)}
    shapes = {key: distinct([shape_at_base(fit.body.range), *end_shapes(fit.body.range)]) for key, fit in fits.items()}
    swept = run_sweep(fits, shapes)
    calls: list[tuple[int, int]] = []
    alone = explain_garments(fits, swept)
    spread = explain_garments(fits, swept, workers=2, progress=lambda done, total: calls.append((done, total)))
    assert calls == [(0, 2), (1, 2), (2, 2)]
    assert list(spread.of_garment) == list(alone.of_garment) == list(fits)
    for key in fits:
        assert next(one.cause for one in alone.of_garment[key]) == key
        assert [repr(one) for one in spread.of_garment[key]] == [repr(one) for one in alone.of_garment[key]]
        assert repr(spread.actions[key]) == repr(alone.actions[key])
