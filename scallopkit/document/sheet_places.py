"""Where what runs and linings draw and write beside the pattern lies on the sheet."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, islice
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.cubics import Array
from ..pattern.piece import Warn
from .drawing import Drawing
from .kept import group_name
from .runs import Run

if TYPE_CHECKING:
    from .caution_notes import Note
    from .cut_pieces import MadePiece

# Linings stand a little farther from other things than these from each other, mm, and see them where they are written,
# so that whatever rounding does to what is written, each finds the same place again.
_MARGIN, _WRITTEN = 10.5, 2


@dataclass(frozen=True, eq=False)
class Places:
    """How far each facing, each card, each sheet of lacing and each note of one run is moved (2,), mm."""

    facings: tuple[Array, ...] = ()
    templates: tuple[Array, ...] = ()
    lacing: tuple[Array, ...] = ()
    notes: tuple[Array, ...] = ()


def places_of(drawing: Drawing, runs: Sequence[Run]) -> Mapping[str, Places]:
    """The places of what runs draw beside the pattern, by the runs' names; each in the first free one, in order."""
    if not any(run.facings or run.templates or run.lacing or notes_beside(run) for run in runs):
        return {run.name: Places() for run in runs}
    # Loaded only where there is something to place.
    from .beside import Item, free_places, taken_by_others

    taken = taken_by_others(drawing, [run.name for run in runs])
    out = {}
    for run in runs:
        items = [Item(low, high) for kind in _beside(run) for _, low, high in kind]
        shifts = free_places(drawing, taken, items)
        taken += [(item.low + shift, item.high + shift) for item, shift in zip(items, shifts, strict=True)]
        found = iter(shifts)
        out[run.name] = Places(*(tuple(islice(found, len(kind))) for kind in _beside(run)))
    return out


def _beside(run: Run) -> tuple[Sequence[tuple[str, Array, Array]], ...]:
    """What a run lays beside the pattern, kind by kind as in `Places`: names, and corners of boxes before any move."""
    return (
        [(one.name, one.low, one.high) for one in run.facings],
        [(one.name, one.low, one.high) for one in run.templates],
        () if run.lacing is None else run.lacing.beside,
        [(one.name, np.zeros(2), one.high) for one in notes_beside(run)],
    )


def notes_beside(run: Run) -> tuple[Note, ...]:
    """The cautions that a run has written beside the pattern."""
    if not run.cautions:
        return ()
    # Loaded only where there are any.
    from .caution_notes import notes_of

    return notes_of(run)


def _moved(run: Run, places: Places) -> Iterator[tuple[str, Array, Array]]:
    """The same where it lies on the sheet."""
    shifts = (places.facings, places.templates, places.lacing, places.notes)
    for (name, low, high), shift in zip(chain(*_beside(run)), chain(*shifts), strict=True):
        yield name, low + shift, high + shift


def off_page(drawing: Drawing, runs: Sequence[Run]) -> list[Warn]:
    """A warning for each run whose things beside the pattern lie off the page, where no printer takes them."""
    if drawing.size_mm is None:
        return []
    out = []
    for run in runs:
        places = places_of(drawing, runs)[run.name]
        beside = [
            (name, high) for name, _, high in _moved(run, places) if (high > np.array(drawing.size_mm) + 1.0).any()
        ]
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
        taken += [(low, high) for _, low, high in _moved(run, places[run.name])]
    taken = [(np.round(low, _WRITTEN), np.round(high, _WRITTEN)) for low, high in taken]
    items = [Item(*made.lining.box) for made in pieces if made.lining is not None]
    found = iter(free_places(drawing, taken, items, _MARGIN))
    return tuple(
        made if made.lining is None else replace(made, lining=replace(made.lining, shift=next(found)))
        for made in pieces
    )
