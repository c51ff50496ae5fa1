"""Where the facings and template cards of runs lie on the sheet, beside the pattern's pieces."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..geometry.cubics import Array
from .drawing import Drawing
from .runs import Run


@dataclass(frozen=True, eq=False)
class Places:
    """How far each facing and each card of one run is moved (2,), mm."""

    facings: tuple[Array, ...] = ()
    templates: tuple[Array, ...] = ()


def places_of(drawing: Drawing, runs: Sequence[Run]) -> Mapping[str, Places]:
    """The places of what runs draw beside the pattern, by the runs' names; each in the first free one, in order."""
    if not any(run.facings or run.templates for run in runs):
        return {run.name: Places() for run in runs}
    # Loaded only where there is something to place.
    from .beside import Item, free_places, taken_by_others

    taken = taken_by_others(drawing, [run.name for run in runs])
    out = {}
    for run in runs:
        boxes = [*((one.low, one.high) for one in run.facings), *((one.low, one.high) for one in run.templates)]
        items = [Item(low, high) for low, high in boxes]
        shifts = free_places(drawing, taken, items)
        taken += [(item.low + shift, item.high + shift) for item, shift in zip(items, shifts, strict=True)]
        out[run.name] = Places(tuple(shifts[: len(run.facings)]), tuple(shifts[len(run.facings) :]))
    return out
