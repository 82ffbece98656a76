"""Caches prepared garments and bodies, each prepared once per process."""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Generic, TypeVar

from dressform.body.body import Body
from dressform.faults.body_context import BodyContext
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.fit.fit import Fit

MAX_KEPT = 16
"""So many garments are kept prepared, those asked for last: each holds some tens of megabytes."""

Worn = TypeVar("Worn", bound=GarmentOnBody, covariant=True)


class Wardrobe(Generic[Worn]):
    """Prepared data of garments and of the bodies under them, shared by all callers with the same fits.

    Args:
        make: Makes a garment on its body; takes `fit` and `context` as `GarmentOnBody` does.
        make_context: Makes what the garments on one body share.
        kept: So many garments are kept.
    """

    def __init__(
        self,
        make: Callable[..., Worn],
        *,
        make_context: Callable[[Body], BodyContext] = BodyContext,
        kept: int = MAX_KEPT,
    ) -> None:
        self._make, self._make_context, self._most = make, make_context, kept
        # Replaced, never changed, so that threads need not wait for each other.
        self._contexts: dict[int, BodyContext] = {}
        self._kept: dict[tuple[int, ...], Worn] = {}

    def worn(self, fit: Fit, *, under: Sequence[Fit] = ()) -> Worn:
        """A garment on its body; the object of an earlier call for the same fits, if still cached."""
        key = tuple(id(one) for one in (fit, *under))
        found = self._kept.get(key)
        if found is None:
            found = self.worn(fit).over(under) if under else self._make(fit, context=self._context(fit.body))
        others = {name: one for name, one in self._kept.items() if name != key}
        self._kept = dict([*others.items(), (key, found)][-self._most :])
        return found

    def emptied(self) -> "Wardrobe[Worn]":
        """A wardrobe that prepares garments in the same way and holds none yet, for another process."""
        return Wardrobe(self._make, make_context=self._make_context, kept=self._most)

    def knowing(self, context: BodyContext) -> "Wardrobe[Worn]":
        """The same wardrobe, with what is prepared of a body already."""
        self._contexts = {**self._contexts, id(context.body): context}
        return self

    def _context(self, body: Body) -> BodyContext:
        """Data that the garments on a body share."""
        if id(body) not in self._contexts:
            self._contexts = {**self._contexts, id(body): self._make_context(body)}
        return self._contexts[id(body)]


def plain_wardrobe(*, bands: Bands = DEFAULT_BANDS, kept: int = MAX_KEPT) -> Wardrobe[GarmentOnBody]:
    """A wardrobe for checks without causes."""
    return Wardrobe(partial(GarmentOnBody, bands=bands), kept=kept)
