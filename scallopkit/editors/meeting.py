"""Two selected edges matched, and everything of ours made again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..document.cut_changes import cut_changes
from ..document.drawing import Drawing
from ..document.match_figures import match_table
from ..document.workshop import (
    match,
    match_changes,
    recut,
    refit,
    rematched,
    strap_changes,
    strapped,
    with_runs,
)
from ..errors import RequestError, counted
from .chosen import Chosen
from .effect import Done, put_in, told


def matched(drawing: Drawing, chosen: Chosen, words: Mapping[str, str | Sequence[str]]) -> Done:
    """The two edges or runs that are selected, matched, and what there is to say about them.

    Raises:
        ScallopkitError: not two are selected, a value is refused, or they can't be matched so.
    """
    if len(chosen.both) != 2:
        raise RequestError(
            f"{counted(len(chosen.both), 'edge is', 'edges are')} selected: select the two that are sewn together, "
            "each by two nodes of its outline, or two lines of scallops"
        )
    first, second = chosen.both
    made = match(drawing, first, second, **words)
    lines = [line.replace("\t", ", ") for line in match_table([made], terminal=False).splitlines()]
    return put_in(drawing, [], lines, [made])


def refitted(drawing: Drawing) -> Done:
    """All runs, cut pieces, straps and matches made again on the outlines as they are now, and what changed.

    Raises:
        ScallopkitError: there is nothing of ours, or something can't be made any more.
    """
    again = refit(drawing)
    runs = [one.run for one in again]
    pieces, straps, matches = recut(drawing, runs), strapped(drawing, runs), rematched(drawing, runs)
    changes = [*((one.run.name, one.change) for one in again), *cut_changes(drawing, pieces)]
    changes += [*strap_changes(drawing, straps), *match_changes(drawing, matches)]
    more = [warn for piece in pieces for warn in piece.warnings] + [warn for one in matches for warn in one.warnings]
    lines = [f"{name}: {change}" for name, change in changes]
    return Done(with_runs(drawing, runs, pieces, straps, matches), [*lines, *told(drawing, runs, more)])
