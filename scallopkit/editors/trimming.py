"""Runs of what is selected: new ones on edges, and those that are in the drawing already, made anew."""

from __future__ import annotations

from collections.abc import Mapping

from ..document.drawing import Drawing
from ..document.kept import kept_recipes
from ..document.runs import Run
from ..document.workshop import changed, scallop
from ..errors import RequestError
from .chosen import Chosen


def scalloped(drawing: Drawing, chosen: Chosen, words: Mapping[str, str], name: str = "") -> list[Run]:
    """Scallops on each selected edge, a run each; a selected run gets other scallops on the same edges.

    Raises:
        ScallopkitError: a value is refused or nothing fits.
    """
    if name and len(chosen.edges) > 1:
        raise RequestError(
            f'{len(chosen.edges)} edges are selected, which can\'t all be called "{name}": leave the name out'
        )
    places = zip(chosen.edges, chosen.starts, strict=True)
    made = [scallop(drawing, edge, name=name, start_at=start, **words) for edge, start in places]
    return [*made, *(changed(drawing, run, **words) for run in trimmed(drawing, chosen))]


def trimmed(drawing: Drawing, chosen: Chosen) -> list[str]:
    """The names of the selected runs.

    Raises:
        RequestError: one of our groups that is no run is selected.
    """
    kept = kept_recipes(drawing.source)
    for name in chosen.runs:
        if name not in kept:
            raise RequestError(f'"{name}" is no line of scallops or other parts: select one of those, or an outline')
    return list(chosen.runs)
