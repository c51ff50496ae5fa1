"""Where the facings, cards and lacings of runs, and the linings of pieces, lie on the sheet beside the pattern."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.cubics import Array
from ..pattern.piece import Warn
from .drawing import Drawing
from .kept import group_name
from .runs import Run

if TYPE_CHECKING:
    from .cut_pieces import MadePiece

# Linings stand a little farther from other things than these from each other, mm, and see them where they are written,
# so that whatever rounding does to what is written, each finds the same place again.
_MARGIN, _WRITTEN = 10.5, 2


@dataclass(frozen=True, eq=False)
class Places:
    """How far each facing, each card and each sheet of lacing of one run is moved (2,), mm."""

    facings: tuple[Array, ...] = ()
    templates: tuple[Array, ...] = ()
    lacing: tuple[Array, ...] = ()


def places_of(drawing: Drawing, runs: Sequence[Run]) -> Mapping[str, Places]:
    """The places of what runs draw beside the pattern, by the runs' names; each in the first free one, in order."""
    if not any(run.facings or run.templates or run.lacing for run in runs):
        return {run.name: Places() for run in runs}
    # Loaded only where there is something to place.
    from .beside import Item, free_places, taken_by_others

    taken = taken_by_others(drawing, [run.name for run in runs])
    out = {}
    for run in runs:
        boxes = [*((one.low, one.high) for one in run.facings), *((one.low, one.high) for one in run.templates)]
        boxes += [(low, high) for _, low, high in _laced(run)]
        items = [Item(low, high) for low, high in boxes]
        shifts = free_places(drawing, taken, items)
        taken += [(item.low + shift, item.high + shift) for item, shift in zip(items, shifts, strict=True)]
        cards, lacing = len(run.facings), len(run.facings) + len(run.templates)
        out[run.name] = Places(tuple(shifts[:cards]), tuple(shifts[cards:lacing]), tuple(shifts[lacing:]))
    return out


def _laced(run: Run) -> Sequence[tuple[str, Array, Array]]:
    """What a lacing lays beside the pattern: names, and the corners of boxes before they are moved."""
    return () if run.lacing is None else run.lacing.beside


def off_page(drawing: Drawing, runs: Sequence[Run]) -> list[Warn]:
    """A warning for each run whose facings or cards lie beside the page, where no printer takes them."""
    if drawing.size_mm is None:
        return []
    out = []
    for run in runs:
        places = places_of(drawing, runs)[run.name]
        moved = [
            *((one.name, one.high + shift) for one, shift in zip(run.facings, places.facings, strict=True)),
            *((one.name, one.high + shift) for one, shift in zip(run.templates, places.templates, strict=True)),
            *((name, high + shift) for (name, _, high), shift in zip(_laced(run), places.lacing, strict=True)),
        ]
        beside = [(name, high) for name, high in moved if (high > np.array(drawing.size_mm) + 1.0).any()]
        if beside:
            width, height = np.max([np.array(drawing.size_mm), *(high for _, high in beside)], axis=0)
            text = f'"{beside[0][0]}"' + (f" and {len(beside) - 1} more" if len(beside) > 1 else "")
            text += f" found no room on the page: make it {math.ceil(width)} by {math.ceil(height)} mm in the editor"
            out.append(Warn("off-page", text, run.laid.parts[0].edge.piece.name))
    return out


def with_places(drawing: Drawing, pieces: Sequence[MadePiece], runs: Sequence[Run]) -> tuple[MadePiece, ...]:
    """The pieces with their linings each in the first free place, in order.

    Args:
        drawing: the drawing.
        pieces: the pieces that are written.
        runs: the runs that are written with them, whose facings and cards are kept clear of; those of other runs too.
    """
    if all(made.lining is None for made in pieces):
        return tuple(pieces)
    # Loaded only where there is something to place.
    from .beside import Item, free_places, taken_by_others

    places = places_of(drawing, runs)
    taken = taken_by_others(drawing, [*(run.name for run in runs), *(group_name(made.name) for made in pieces)])
    for run in runs:
        own = places[run.name]
        taken += [(one.low + shift, one.high + shift) for one, shift in zip(run.facings, own.facings, strict=True)]
        taken += [(one.low + shift, one.high + shift) for one, shift in zip(run.templates, own.templates, strict=True)]
        taken += [(low + shift, high + shift) for (_, low, high), shift in zip(_laced(run), own.lacing, strict=True)]
    taken = [(np.round(low, _WRITTEN), np.round(high, _WRITTEN)) for low, high in taken]
    items = [Item(*made.lining.box) for made in pieces if made.lining is not None]
    found = iter(free_places(drawing, taken, items, _MARGIN))
    return tuple(
        made if made.lining is None else replace(made, lining=replace(made.lining, shift=next(found)))
        for made in pieces
    )
