"""How far rows of different runs stand apart on one piece, against the rule for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from ..construction.rules import judged
from .drawing import Drawing
from .finding import Finding
from .parts_met import Pair, nearest_parts
from .runs import Run
from .sewability import place_words

_CODE = "rows-apart"
# Parts that touch but for rounding, mm, touch.
_TOUCHING = 1e-6


def row_findings(drawing: Drawing, runs: Sequence[Run], limits: Mapping[str, float]) -> Iterator[Finding]:
    """A finding for each two runs with rows on one piece: the two parts that stand nearest to each other.

    A button that is drawn where its buttonhole is, on a piece that is cut once for either, is none.

    Args:
        drawing: the drawing that they are made on.
        runs: the runs as they are now.
        limits: limits that were set, by code.
    """
    for one, other in combinations([run for run in runs if run.eyelets], 2):
        pairs = [pair for pair in nearest_parts(one, other) if not pair.closes]
        if pairs:
            yield _finding(drawing, other, one, min(pairs, key=lambda pair: pair.apart), limits)


def _finding(drawing: Drawing, run: Run, beside: Run, pair: Pair, limits: Mapping[str, float]) -> Finding:
    apart = 0.0 if abs(pair.apart) < _TOUCHING else pair.apart
    found = judged(_CODE, apart, limits, counted=f'from "{beside.name}"')
    x, y = (float(v) for v in pair.at)
    where = f'"{beside.name}", {place_words(drawing, pair.piece, x, y)}'
    return Finding.of_rule(run.name, where, found)
