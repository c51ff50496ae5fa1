"""What a drawing keeps of our work: recipes of runs, cut pieces, straps and matched edges, and its job's limits."""

from __future__ import annotations

from collections.abc import Mapping

from ..errors import NameUnknownError
from .drawing import Drawing
from .layer import RunGroup, layer_attribute, read_groups, with_layer_attribute
from .recipe import (
    MatchRecipe,
    PieceRecipe,
    Recipe,
    StrapRecipe,
    from_text,
    is_match,
    is_piece,
    is_run,
    is_strap,
    limits_from_text,
    limits_to_text,
    match_from_text,
    piece_from_text,
    strap_from_text,
)

# How a piece's group is called, so that no run takes its name.
_CUT = "cut "
# How a strap's group is called, likewise.
_STRAP = "strap "

# How the group of the legend is called.
LEGEND = "the legend"
# The attribute of our layer that keeps the limits of the job that made the drawing.
LIMITS = "data-limits"


def group_name(piece: str) -> str:
    """What the group of a piece as it is cut is called in the drawing."""
    return f"{_CUT}{piece}"


def strap_group_name(strap: str) -> str:
    """What the group of a strap is called in the drawing."""
    return f"{_STRAP}{strap}"


def match_group_name(a: str, b: str) -> str:
    """What the group of two matched edges is called in the drawing."""
    return f"match {a} to {b}"


def run_groups(source: bytes) -> tuple[RunGroup, ...]:
    """The groups of all runs that a drawing holds, in document order.

    Raises:
        DrawingError: the drawing can't be read.
    """
    return tuple(group for group in read_groups(source) if is_run(group.recipe))


def kept_recipes(source: bytes) -> dict[str, Recipe]:
    """The recipes of all runs that a drawing holds, by the names of their groups.

    Raises:
        DrawingError: the drawing, or a recipe in it, can't be read.
    """
    return {group.name: from_text(group.recipe, group.name) for group in run_groups(source)}


def kept_pieces(source: bytes) -> dict[str, PieceRecipe]:
    """The recipes of all pieces that a drawing holds as they are cut, by the names of the pieces.

    Raises:
        DrawingError: the drawing, or a recipe in it, can't be read.
    """
    groups = [group for group in read_groups(source) if is_piece(group.recipe)]
    found = [piece_from_text(group.recipe, group.name) for group in groups]
    return {recipe.words.piece: recipe for recipe in found}


def kept_straps(source: bytes) -> dict[str, StrapRecipe]:
    """The recipes of all straps that a drawing holds, by their names.

    Raises:
        DrawingError: the drawing, or a recipe in it, can't be read.
    """
    groups = [group for group in read_groups(source) if is_strap(group.recipe)]
    found = [strap_from_text(group.recipe, group.name) for group in groups]
    return {recipe.words.name: recipe for recipe in found}


def kept_matches(source: bytes) -> dict[str, MatchRecipe]:
    """The recipes of all matched edges that a drawing holds, by the names of their groups.

    Raises:
        DrawingError: the drawing, or a recipe in it, can't be read.
    """
    groups = [group for group in read_groups(source) if is_match(group.recipe)]
    found = [match_from_text(group.recipe, group.name) for group in groups]
    return {match_group_name(recipe.words.a, recipe.words.b): recipe for recipe in found}


def kept_limits(source: bytes) -> dict[str, str]:
    """The limits for the rules of sewing, by their codes, of the job that made a drawing; nothing where none did.

    Raises:
        DrawingError: the drawing, or what it keeps of them, can't be read.
    """
    text = layer_attribute(source, LIMITS)
    return {} if text is None else limits_from_text(text)


def with_limits(source: bytes, limits: Mapping[str, str]) -> bytes:
    """A written drawing that keeps these limits of its job, and no others.

    Raises:
        DrawingError: the bytes are no drawing.
    """
    return with_layer_attribute(source, LIMITS, limits_to_text(limits) if limits else None)


def kept_recipe(drawing: Drawing, run: str) -> Recipe:
    """The recipe of a run that a drawing holds.

    Raises:
        NameUnknownError: it holds no run of that name.
    """
    kept = kept_recipes(drawing.source)
    if run not in kept:
        there = ", ".join(f'"{name}"' for name in kept) or "none"
        raise NameUnknownError(f'{drawing.name} holds no run called "{run}"; there are {there}')
    return kept[run]
