"""Makes garments follow bodies: fits, checks, explains, repairs, proves, and ships plain morph targets.

    import dressform as df
    body = df.load_body("body.glb", base="woman")
    fit = df.fit(body, df.load_garment("guernsey.glb"), df.Following(margin_mm=2))
    print(df.check(fit))
    df.save(df.repair(fit), "guernsey-fitted.glb")

Lengths in arguments whose names end in `_mm` are millimetres, all others metres; +Y is up and +Z the front.
"""

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING

from dressform.version import __version__ as __version__

if TYPE_CHECKING:
    from dressform.body.body import Body as Body
    from dressform.body.range import Range as Range
    from dressform.body.stance import Stance as Stance
    from dressform.fit.fit import Fit as Fit
    from dressform.garment.following import Following as Following
    from dressform.garment.garment import Garment as Garment
    from dressform.jobs.audit import audit as audit
    from dressform.jobs.case.replay import replay_case as replay_case
    from dressform.jobs.case.save import save_case as save_case
    from dressform.jobs.check import check as check
    from dressform.jobs.check_result import CheckResult as CheckResult
    from dressform.jobs.compare.run import compare as compare
    from dressform.jobs.explain.explain import explain as explain
    from dressform.jobs.fit import fit as fit
    from dressform.jobs.infer_shape import infer_shape as infer_shape
    from dressform.jobs.levels.fit import fit_levels as fit_levels
    from dressform.jobs.levels.save import save_levels as save_levels
    from dressform.jobs.load import load_body as load_body
    from dressform.jobs.load import load_fit as load_fit
    from dressform.jobs.load import load_garment as load_garment
    from dressform.jobs.measure import measure as measure
    from dressform.jobs.outfit import outfit as outfit
    from dressform.jobs.outfit import save_outfit as save_outfit
    from dressform.jobs.prove import prove as prove
    from dressform.jobs.repair import repair as repair
    from dressform.jobs.report import report as report
    from dressform.jobs.save import save as save
    from dressform.jobs.stances import find_stances as find_stances
    from dressform.jobs.suggest.run import suggest_following as suggest_following

_HOMES = {
    "load_body": "dressform.jobs.load",
    "load_garment": "dressform.jobs.load",
    "Body": "dressform.body.body",
    "Garment": "dressform.garment.garment",
    "Range": "dressform.body.range",
    "Following": "dressform.garment.following",
    "Fit": "dressform.fit.fit",
    "fit": "dressform.jobs.fit",
    "check": "dressform.jobs.check",
    "CheckResult": "dressform.jobs.check_result",
    "explain": "dressform.jobs.explain.explain",
    "repair": "dressform.jobs.repair",
    "prove": "dressform.jobs.prove",
    "save": "dressform.jobs.save",
    "load_fit": "dressform.jobs.load",
    "report": "dressform.jobs.report",
    "audit": "dressform.jobs.audit",
    "infer_shape": "dressform.jobs.infer_shape",
    "measure": "dressform.jobs.measure",
    "outfit": "dressform.jobs.outfit",
    "save_outfit": "dressform.jobs.outfit",
    "fit_levels": "dressform.jobs.levels.fit",
    "save_levels": "dressform.jobs.levels.save",
    "save_case": "dressform.jobs.case.save",
    "replay_case": "dressform.jobs.case.replay",
    "Stance": "dressform.body.stance",
    "find_stances": "dressform.jobs.stances",
    "compare": "dressform.jobs.compare.run",
    "suggest_following": "dressform.jobs.suggest.run",
}
"""Where each name of the front door lives; it is imported when it is first asked for, so that this stays light."""

__all__ = list(_HOMES)  # each is found by `__getattr__`


def __getattr__(name: str) -> object:
    """A name of the front door."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found: object = getattr(import_module(_HOMES[name]), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    """The front door, and what every module has."""
    return sorted({*globals(), *_HOMES})


class _FrontDoor(ModuleType):
    """Keeps `audit`, `fit`, `repair` and `report` the jobs of that name, though folders are called so, too.

    Importing `dressform.fit.fit` would else put the folder in the place of the job; the folder itself stays where
    imports find it.
    """

    def __setattr__(self, name: str, value: object) -> None:
        if not (name in _HOMES and isinstance(value, ModuleType)):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _FrontDoor
