"""Runs of what is selected: new ones on edges, and those that are in the drawing already, made anew."""

from __future__ import annotations

from collections.abc import Mapping

from ..document.drawing import Drawing
from ..document.flattening import bare_name
from ..document.kept import kept_recipes
from ..document.runs import Run
from ..document.workshop import changed, eyelets, notches, scallop
from ..errors import RequestError
from ..pattern.edge import find_edge
from .chosen import Chosen


def scalloped(drawing: Drawing, chosen: Chosen, words: Mapping[str, str], name: str = "") -> list[Run]:
    """Scallops on each selected edge, a run each; a selected run gets other scallops on the same edges.

    Raises:
        ScallopkitError: a value is refused or nothing fits.
    """
    _refuse_one_name(chosen, name)
    places = zip(chosen.edges, chosen.starts, strict=True)
    made = [scallop(drawing, edge, name=name, start_at=start, **words) for edge, start in places]
    return [*made, *(changed(drawing, run, **words) for run in trimmed(drawing, chosen))]


def sewn(
    drawing: Drawing, chosen: Chosen, joins: str, closed: bool, words: Mapping[str, str], lap: str = "", name: str = ""
) -> list[Run]:
    """Scallops over all selected edges as they will lie once sewn, in the order of the selection.

    Args:
        drawing: the drawing.
        chosen: what is selected.
        joins: the kinds of joins, with commas between them; a single one stands for all.
        closed: whether the last edge is joined to the first.
        words: the options of the scallops.
        lap: how far either edge of a lap goes beyond the centre line.
        name: the run's name.

    Raises:
        ScallopkitError: fewer than two edges are selected, or as for `scallop`.
    """
    wanted = len(chosen.edges) - (not closed)
    if wanted < 1:
        raise RequestError("select the edges that are sewn together in their order, each by two nodes of its outline")
    kinds = [kind.strip() for kind in joins.split(",") if kind.strip()] or ["seam"]
    kinds = kinds * wanted if len(kinds) == 1 else kinds
    if len(kinds) != wanted:
        edges = f"{len(chosen.edges)} edges are selected"
        raise RequestError(f"{edges}, which have {wanted} joins, and {len(kinds)} are told: tell one for all, or each")
    return [scallop(drawing, chosen.edges, join=kinds, lap=lap, name=name, **words)]


def with_eyelets(drawing: Drawing, chosen: Chosen, evenly: bool, words: Mapping[str, str], name: str) -> list[Run]:
    """Eyelets or other parts evenly along each selected edge, or one in each scallop of the runs that are meant.

    Raises:
        ScallopkitError: a value is refused, or there is no room.
    """
    if not evenly:
        return [eyelets(drawing, run=run, **words) for run in meant(drawing, chosen)]
    _refuse_one_name(chosen, name)
    rows = [run for run in trimmed(drawing, chosen) if kept_recipes(drawing.source)[run].scallop is None]
    edges = [*chosen.edges, *(stretch.along for run in rows for stretch in kept_recipes(drawing.source)[run].stretches)]
    if not edges:
        raise RequestError("no outline is selected: select one, or two nodes of it for the edge between them")
    return [eyelets(drawing, edge, name=name, **words) for edge in edges]


def with_notches(drawing: Drawing, chosen: Chosen, words: Mapping[str, str]) -> list[Run]:
    """Notches on the runs that are meant, or else on each selected edge.

    Raises:
        ScallopkitError: a value is refused.
    """
    if chosen.runs or on_scallops(drawing, chosen):
        return [notches(drawing, run=run, **words) for run in meant(drawing, chosen)]
    return [notches(drawing, edge, **words) for edge in chosen.edges]


def meant(drawing: Drawing, chosen: Chosen) -> list[str]:
    """The names of the runs that are meant: those selected, else those of scallops on selected outlines.

    Raises:
        RequestError: there is none.
    """
    found = trimmed(drawing, chosen) if chosen.runs else on_scallops(drawing, chosen)
    if not found:
        raise RequestError("there are no scallops on what is selected: make them first, or select a line of scallops")
    return found


def on_scallops(drawing: Drawing, chosen: Chosen) -> list[str]:
    """The names of the runs of scallops on selected outlines."""
    pieces = {find_edge(drawing.pattern, edge).piece.name for edge in chosen.edges}
    found = []
    for name, recipe in kept_recipes(drawing.source).items():
        edges = [find_edge(drawing.pattern, bare_name(stretch.along) or None) for stretch in recipe.stretches]
        if recipe.scallop is not None and pieces & {edge.piece.name for edge in edges}:
            found.append(name)
    return found


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


def _refuse_one_name(chosen: Chosen, name: str) -> None:
    if name and len(chosen.edges) > 1:
        edges = f"{len(chosen.edges)} edges are selected"
        raise RequestError(f'{edges}, which can\'t all be called "{name}": leave the name out')
