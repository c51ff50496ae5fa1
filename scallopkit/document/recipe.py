"""Recipes: what the maker asked for, in her own words, kept in the drawing so that a run can be made again."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, fields
from typing import Any, TypeVar

from ..errors import DrawingError

VERSION = 2

Value = str | float | Sequence[str | float] | None


@dataclass(frozen=True)
class EdgeWords:
    """Which edge, and what the trim does at its ends, corners and marks; empty texts mean the default."""

    along: str = ""
    side: str = ""
    start: str = ""
    end: str = ""
    hold: tuple[str, ...] = ()
    corner: str = ""
    allowance: str = ""
    start_at: str = ""
    true_up: str = ""
    times: str = ""


@dataclass(frozen=True)
class StretchWords:
    """One edge of a run over several, in sewing order; with its own allowance where it differs."""

    along: str = ""
    allowance: str = ""


@dataclass(frozen=True)
class JoinWords:
    """How one edge goes on into the next, and what the trim does there.

    `width` goes with a lap; `apex`, `legs` and `press` with a dart.
    """

    kind: str = ""
    hold: str = ""
    width: str = ""
    apex: str = ""
    legs: tuple[str, ...] = ()
    press: str = ""


@dataclass(frozen=True)
class ScallopWords:
    """The scallops wanted."""

    width: str = ""
    count: str = ""
    min_width: str = ""
    max_width: str = ""
    depth: str = ""
    radius: str = ""
    profile: str = ""
    touch: str = ""
    step: str = ""
    keep: str = ""
    weights: str = ""
    space: str = ""
    sharpest: str = ""
    like: str = ""
    ratio: str = ""
    same_width: str = ""


@dataclass(frozen=True)
class EyeletWords:
    """The eyelets wanted."""

    eyelet: str = ""
    barrel: str = ""
    barrel_length: str = ""
    flange: str = ""
    hole: str = ""
    every: str = ""
    from_crest: str = ""
    margin: str = ""
    spacing: str = ""
    count: str = ""
    ends: str = ""
    inset: str = ""
    step: str = ""


@dataclass(frozen=True)
class NotchWords:
    """The notches wanted."""

    at: str = ""
    every: str = ""
    kind: str = ""
    length: str = ""
    on: str = ""


@dataclass(frozen=True)
class Recipe:
    """One run: its edge or edges, and what is put on them.

    A run over several edges names them all in `edges`, with the `joins` between them; `edge.along` is then empty.
    """

    name: str
    edge: EdgeWords = EdgeWords()
    scallop: ScallopWords | None = None
    eyelets: tuple[EyeletWords, ...] = ()
    notches: tuple[NotchWords, ...] = ()
    made: dict[str, Any] = field(default_factory=dict, compare=False)
    edges: tuple[StretchWords, ...] = ()
    joins: tuple[JoinWords, ...] = ()

    @property
    def stretches(self) -> tuple[StretchWords, ...]:
        """Every edge of the run, in sewing order."""
        return self.edges or (StretchWords(self.edge.along),)


def to_text(recipe: Recipe) -> str:
    """The recipe as JSON, without what was left at its default."""
    out: dict[str, Any] = {"version": VERSION, "name": recipe.name, "edge": _given(recipe.edge)}
    if recipe.scallop is not None:
        out["scallop"] = _given(recipe.scallop)
    lists: tuple[tuple[str, Sequence[object]], ...] = (
        ("edges", recipe.edges),
        ("joins", recipe.joins),
        ("eyelets", recipe.eyelets),
        ("notches", recipe.notches),
    )
    for key, rows in lists:
        if rows:
            out[key] = [_given(row) for row in rows]
    if recipe.made:
        out["made"] = recipe.made
    return json.dumps(out, ensure_ascii=False, separators=(",", ":"))


def from_text(text: str, run: str) -> Recipe:
    """The recipe kept in a drawing.

    Raises:
        DrawingError: it was changed so that it can't be read, or comes from a later version.
    """
    try:
        kept = json.loads(text)
        if kept["version"] > VERSION:
            raise DrawingError(f'the run "{run}" was made by a later scallopkit; update it, or make the run anew')
        scallop = kept.get("scallop")
        return Recipe(
            str(kept["name"]),
            _words(EdgeWords, kept["edge"]),
            None if scallop is None else _words(ScallopWords, scallop),
            tuple(_words(EyeletWords, row) for row in kept.get("eyelets", [])),
            tuple(_words(NotchWords, row) for row in kept.get("notches", [])),
            dict(kept.get("made", {})),
            tuple(_words(StretchWords, row) for row in kept.get("edges", [])),
            tuple(_words(JoinWords, row) for row in kept.get("joins", [])),
        )
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        if isinstance(error, DrawingError):
            raise
        raise DrawingError(f'the recipe of the run "{run}" in the drawing is damaged; make that run anew') from None


def as_text(value: Value, several: bool) -> str | tuple[str, ...]:
    """A value as the command line would have it; a list where the option may be repeated."""
    if isinstance(value, str):
        return (value,) if several and value else () if several else value
    if isinstance(value, Sequence):
        texts = [str(as_text(part, several=False)) for part in value]
        return tuple(texts) if several else ", ".join(texts)
    if isinstance(value, bool):
        return repr(value)
    number = float(value or 0.0)
    return str(int(number)) if number.is_integer() else repr(number)


def _given(words: Any) -> dict[str, Any]:  # noqa: ANN401  # any of the word classes above
    return {key: value for key, value in asdict(words).items() if value not in ("", ())}


_Words = TypeVar("_Words")


def _words(kind: type[_Words], kept: dict[str, Any]) -> _Words:
    """The kept words; a key of a later version is passed over, a value of another sort is a TypeError."""
    lists = {f.name for f in fields(kind) if f.default == ()}  # type: ignore[arg-type]  # always a word class
    known = {f.name for f in fields(kind)}  # type: ignore[arg-type]
    values = {key: value for key, value in kept.items() if key in known}
    for key, value in values.items():
        texts = value if key in lists else [value]
        if not isinstance(texts, list) or not all(isinstance(text, str) for text in texts):
            raise TypeError(key)
    return kind(**{key: tuple(value) if key in lists else value for key, value in values.items()})
