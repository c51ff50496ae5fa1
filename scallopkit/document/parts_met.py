"""Parts of different runs that lie on each other: eyelets, buttonholes, snaps and buttons are set through one cloth."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from ..geometry.cubics import Array
from ..geometry.motion import apply
from ..pattern.piece import Warn
from .runs import Run
from .sheet import parts_at, to_sheet


def parts_met(runs: Sequence[Run], about: str = "") -> list[Warn]:
    """A warning for each two runs some of whose parts overlap on a piece, with the place where they do.

    Args:
        runs: the runs as they are now.
        about: a run's name; only pairs with it are told. All if empty.
    """
    placed = [(run, _on_pieces(run)) for run in runs if run.eyelets]
    out = []
    for (one, first), (other, second) in combinations(placed, 2):
        if about and about not in (one.name, other.name):
            continue
        met = [
            (piece, a)
            for piece, a, half in first
            for other_piece, b, other_half in second
            if piece == other_piece and float(np.hypot(*(a - b))) < half + other_half - 1e-6
        ]
        if met:
            piece, (x, y) = met[0]
            text = (
                f'parts of "{one.name}" and of "{other.name}" lie on each other on "{piece}" ({len(met)} of them): '
                "move one of the rows, or leave it out"
            )
            out.append(Warn("parts-meet", text, piece, float(x), float(y)))
    return out


def _on_pieces(run: Run) -> list[tuple[str, Array, float]]:
    """Each part: its piece, its place on the sheet, and half of the cloth that it takes, mm."""
    out = []
    for row in run.eyelets:
        parts, turns = parts_at(run, row.points, row.s)
        for point, part, turn in zip(row.points, parts.tolist(), turns.tolist(), strict=True):
            where = apply(to_sheet(run.laid, part, turn), point)
            out.append((run.laid.parts[part].edge.piece.name, where, 0.5 * row.size.flange))
    return out
