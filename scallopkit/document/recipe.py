"""Recipes: what the maker asked for, in her own words, kept in the drawing so that a run can be made again."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field, fields, replace
from typing import Any, TypeVar

from ..construction.cautions import checked_wearer
from ..errors import DrawingError

VERSION = 3
# The key by which a note of what was done is told from recipes.
NOTE = "note"
# What the groups of notes are called: of what was done, and of the names beside pieces.
NOTES = ("note of scallopkit", "names of scallopkit")

Value = str | float | Sequence[str | float] | None


# Their many fields make a text of each that nobody reads, and that takes its time at every start: none is made.


@dataclass(frozen=True, repr=False)
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


@dataclass(frozen=True, repr=False)
class StretchWords:
    """One edge of a run over several, in sewing order; with its own allowance where it differs."""

    along: str = ""
    allowance: str = ""


@dataclass(frozen=True, repr=False)
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


@dataclass(frozen=True, repr=False)
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


@dataclass(frozen=True, repr=False)
class EyeletWords:
    """The eyelets wanted, or the buttonholes, snaps or buttons."""

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
    part: str = ""
    button: str = ""
    button_thickness: str = ""
    bulky: str = ""
    lies: str = ""
    snap: str = ""
    off: str = ""
    level_with: str = ""
    staggered: str = ""
    patch: str = ""
    layers: str = ""
    cloth_thickness: str = ""
    cord: str = ""
    passes: str = ""


@dataclass(frozen=True, repr=False)
class NotchWords:
    """The notches wanted."""

    at: str = ""
    every: str = ""
    kind: str = ""
    length: str = ""
    on: str = ""


@dataclass(frozen=True, repr=False)
class FinishWords:
    """How the trimmed edge is finished and cut."""

    finish: str = ""
    cut: str = ""
    trim: str = ""
    clip_short: str = ""
    widest_wedge: str = ""
    widest_gap: str = ""
    stitch: str = ""


@dataclass(frozen=True, repr=False)
class FacingWords:
    """A facing of the trimmed edge: shaped, a straight strip, or a band that binds it."""

    kind: str = ""
    depth: str = ""
    across: tuple[str, ...] = ()
    most_gap: str = ""
    seam: str = ""
    inner: str = ""
    turn: str = ""
    interlining: str = ""
    interlining_cloth: str = ""
    longest: str = ""
    cloth: str = ""
    size: str = ""


@dataclass(frozen=True, repr=False)
class TemplateWords:
    """Cards to trace the scallops by."""

    strip: str = ""
    body: str = ""


@dataclass(frozen=True, repr=False)
class TrimWords:
    """A bought trim with a fixed repeat along the edge; `move` names the joints whose seams may be moved."""

    repeat: str = ""
    width: str = ""
    offset: str = ""
    motif: str = ""
    start: str = ""
    end: str = ""
    take_up: str = ""
    ease: str = ""
    stretch: str = ""
    move: tuple[str, ...] = ()
    joins: str = ""
    reserve: str = ""
    longest: str = ""


@dataclass(frozen=True, repr=False)
class StrapWords:
    """A strap, a band, a binding or a cord: how long and wide, how many, and how it is made."""

    name: str = ""
    length: str = ""
    along: str = ""
    width: str = ""
    number: str = ""
    ends: str = ""
    seam: str = ""
    fold: str = ""
    longest: str = ""
    joins: str = ""
    cloth: str = ""
    window: str = ""
    wearer: str = ""


# The finish of an edge that is cut on its line and not sewn.
RAW = "raw"

# The second row of a lacing where the run's own piece is cut twice.
MIRROR = "mirror"


@dataclass(frozen=True, repr=False)
class LacingWords:
    """A cord through the eyelets of the run and, for an opening, of a second row.

    `with_row` is that row's run, or MIRROR where the run's own piece is cut twice.
    """

    path: str = ""
    with_row: str = ""
    gap: str = ""
    thickness: str = ""
    tails: str = ""
    ends: str = ""
    cords: str = ""
    underlay: str = ""
    channel: str = ""
    cord: str = ""
    underlay_allowance: str = ""


@dataclass(frozen=True, repr=False)
class MatchWords:
    """Two edges that will be sewn together; each of `a` and `b` names an edge or a run.

    `pair` holds A-MARK=B-MARK, `take_up` HOW or STRETCH=HOW, `move` the runs on the first edge that are moved over.
    """

    a: str = ""
    b: str = ""
    pair: tuple[str, ...] = ()
    turned: str = ""
    allowance: str = ""
    take_up: tuple[str, ...] = ()
    cloth: str = ""
    most_ease: str = ""
    depth: str = ""
    number: str = ""
    toward: str = ""
    spacing: str = ""
    margin: str = ""
    dart_length: str = ""
    lines: str = ""
    line_length: str = ""
    notches: str = ""
    phase: str = ""
    phase_within: str = ""
    in_phase: str = ""
    move: tuple[str, ...] = ()


@dataclass(frozen=True, repr=False)
class PieceWords:
    """How a whole piece is cut; `side` holds EDGE=LENGTH, `corner` CORNER=KIND, `lining` its overlap over facings."""

    piece: str = ""
    allowance: str = ""
    side: tuple[str, ...] = ()
    corner: tuple[str, ...] = ()
    corners: str = ""
    fold: tuple[str, ...] = ()
    dart: tuple[str, ...] = ()
    number: str = ""
    cloth: str = ""
    size: str = ""
    lining: str = ""
    lining_cloth: str = ""


@dataclass(frozen=True, repr=False)
class Phased:
    """What a match has done to a run to bring it in phase with another.

    Attributes:
        valleys: where valleys are held, mm along the run, in order.
        width: of the scallops between them, mm; it goes before the run's own width and count.
        start, end, hold: what the maker said of the run's ends and marks, before the match said otherwise.
        flats: the stretches between valleys that stay flat, mm along the run from where to where; round a loop to
            beyond its end.
    """

    valleys: tuple[float, ...]
    width: float
    start: str = ""
    end: str = ""
    hold: tuple[str, ...] = ()
    flats: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, repr=False)
class Recipe:
    """One run: its edge or edges, and what is put on them.

    A run over several edges names them all in `edges`, with the `joins` between them; `edge.along` is then empty.
    `wearer` tells who wears what is sewn, for cautions; `phased` where a match holds its valleys.
    """

    name: str
    edge: EdgeWords = EdgeWords()
    scallop: ScallopWords | None = None
    eyelets: tuple[EyeletWords, ...] = ()
    notches: tuple[NotchWords, ...] = ()
    made: dict[str, Any] = field(default_factory=dict, compare=False)
    edges: tuple[StretchWords, ...] = ()
    joins: tuple[JoinWords, ...] = ()
    finish: FinishWords | None = None
    facings: tuple[FacingWords, ...] = ()
    template: TemplateWords | None = None
    wearer: str = ""
    trim: TrimWords | None = None
    lacing: LacingWords | None = None
    phased: Phased | None = None

    @property
    def own(self) -> Recipe:
        """The run by the maker's own words, without what a match has done to it."""
        if self.phased is None:
            return self
        was = self.phased
        return replace(self, edge=replace(self.edge, start=was.start, end=was.end, hold=was.hold), phased=None)

    @property
    def stretches(self) -> tuple[StretchWords, ...]:
        """Every edge of the run, in sewing order."""
        return self.edges or (StretchWords(self.edge.along),)


@dataclass(frozen=True, repr=False)
class PieceRecipe:
    """A piece as it is cut: what was asked for, and what came of it."""

    words: PieceWords
    made: dict[str, Any] = field(default_factory=dict, compare=False)


@dataclass(frozen=True, repr=False)
class StrapRecipe:
    """A strap: what was asked for, and what came of it."""

    words: StrapWords
    made: dict[str, Any] = field(default_factory=dict, compare=False)


@dataclass(frozen=True, repr=False)
class MatchRecipe:
    """Two edges to be sewn together: what was asked for, and what came of it."""

    words: MatchWords
    made: dict[str, Any] = field(default_factory=dict, compare=False)


def to_text(recipe: Recipe) -> str:
    """The recipe as JSON, without what was left at its default."""
    out: dict[str, Any] = {"version": VERSION, "name": recipe.name, "edge": _given(recipe.edge)}
    for key, words in (("scallop", recipe.scallop), ("finish", recipe.finish), ("template", recipe.template)):
        if words is not None:
            out[key] = _given(words)
    if recipe.trim is not None:
        out["trim"] = _given(recipe.trim)
    if recipe.lacing is not None:
        out["lacing"] = _given(recipe.lacing)
    lists: tuple[tuple[str, Sequence[object]], ...] = (
        ("edges", recipe.edges),
        ("joins", recipe.joins),
        ("eyelets", recipe.eyelets),
        ("notches", recipe.notches),
        ("facings", recipe.facings),
    )
    for key, rows in lists:
        if rows:
            out[key] = [_given(row) for row in rows]
    if recipe.wearer:
        out["wearer"] = recipe.wearer
    if recipe.phased is not None:
        out["phased"] = _given(recipe.phased)
    if recipe.made:
        out["made"] = recipe.made
    return _compact(out)


def piece_to_text(recipe: PieceRecipe) -> str:
    """The recipe of a piece as JSON, without what was left at its default."""
    out: dict[str, Any] = {"version": VERSION, "cut": _given(recipe.words)}
    return _compact(out | ({"made": recipe.made} if recipe.made else {}))


def strap_to_text(recipe: StrapRecipe) -> str:
    """The recipe of a strap as JSON, without what was left at its default."""
    out: dict[str, Any] = {"version": VERSION, "strap": _given(recipe.words)}
    return _compact(out | ({"made": recipe.made} if recipe.made else {}))


def match_to_text(recipe: MatchRecipe) -> str:
    """The recipe of two matched edges as JSON, without what was left at its default."""
    out: dict[str, Any] = {"version": VERSION, "match": _given(recipe.words)}
    return _compact(out | ({"made": recipe.made} if recipe.made else {}))


def is_piece(text: str) -> bool:
    """Whether a text kept in a drawing is the recipe of a piece rather than of a run."""
    return _holds(text, "cut")


def is_strap(text: str) -> bool:
    """Whether a text kept in a drawing is the recipe of a strap rather than of a run."""
    return _holds(text, "strap")


def is_match(text: str) -> bool:
    """Whether a text kept in a drawing is the recipe of two matched edges rather than of a run."""
    return _holds(text, "match")


def is_run(text: str) -> bool:
    """Whether a text kept in a drawing is the recipe of a run rather than of something else of ours."""
    return not (is_piece(text) or is_strap(text) or is_match(text) or is_legend(text) or is_note(text))


def is_note(text: str) -> bool:
    """Whether a text kept in a drawing is that of a note rather than of a run."""
    return _holds(text, NOTE)


def note_to_text() -> str:
    """What is kept with a note in the drawing, so that nobody takes it for a run."""
    return _compact({"version": VERSION, NOTE: True})


def legend_to_text(wanted: bool) -> str:
    """Whether a drawing has its legend, as JSON."""
    return _compact({"version": VERSION, "legend": wanted})


def is_legend(text: str) -> bool:
    """Whether a text kept in a drawing is about its legend rather than of a run."""
    return _holds(text, "legend")


def legend_from_text(text: str) -> bool:
    """Whether a drawing is to have its legend, as said before."""
    return bool(json.loads(text)["legend"])


def limits_to_text(limits: Mapping[str, str]) -> str:
    """The limits that a job has set for the rules of sewing, as JSON."""
    return _compact({"version": VERSION, "limits": dict(limits)})


def limits_from_text(text: str) -> dict[str, str]:
    """The limits that a job has set, as said before; their codes and values are not looked at.

    Raises:
        DrawingError: they were changed so that they can't be read.
    """
    try:
        limits = json.loads(text)["limits"]
        return {code: str(value) for code, value in limits.items()}
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        raise DrawingError("the limits in the drawing are damaged; make the job again") from None


def _holds(text: str, key: str) -> bool:
    try:
        kept = json.loads(text)
    except (ValueError, RecursionError):
        return False
    return isinstance(kept, dict) and key in kept


def from_text(text: str, run: str) -> Recipe:
    """The recipe of a run kept in a drawing.

    Raises:
        DrawingError: it was changed so that it can't be read, or comes from a later version.
    """
    with _readable(f'the run "{run}"', "that run"):
        kept = _loaded(text, f'the run "{run}"', "the run")
        scallop, finish, template = (kept.get(key) for key in ("scallop", "finish", "template"))
        return Recipe(
            str(kept["name"]),
            _words(EdgeWords, kept["edge"]),
            None if scallop is None else _words(ScallopWords, scallop),
            tuple(_words(EyeletWords, row) for row in kept.get("eyelets", [])),
            tuple(_words(NotchWords, row) for row in kept.get("notches", [])),
            dict(kept.get("made", {})),
            tuple(_words(StretchWords, row) for row in kept.get("edges", [])),
            tuple(_words(JoinWords, row) for row in kept.get("joins", [])),
            None if finish is None else _words(FinishWords, finish),
            tuple(_words(FacingWords, row) for row in kept.get("facings", [])),
            None if template is None else _words(TemplateWords, template),
            checked_wearer(str(kept.get("wearer", "")), "the wearer"),
            trim=None if kept.get("trim") is None else _words(TrimWords, kept["trim"]),
            lacing=None if kept.get("lacing") is None else _words(LacingWords, kept["lacing"]),
            phased=None if kept.get("phased") is None else _phased(kept["phased"]),
        )


def _phased(kept: Mapping[str, Any]) -> Phased:
    start, end, hold = str(kept.get("start", "")), str(kept.get("end", "")), tuple(map(str, kept.get("hold", ())))
    flats = tuple((float(begin), float(finish)) for begin, finish in kept.get("flats", ()))
    return Phased(tuple(float(s) for s in kept["valleys"]), float(kept["width"]), start, end, hold, flats)


def piece_from_text(text: str, group: str) -> PieceRecipe:
    """The recipe of a piece kept in a drawing.

    Raises:
        DrawingError: it was changed so that it can't be read, or comes from a later version.
    """
    with _readable(f'"{group}"', "it"):
        kept = _loaded(text, f'"{group}"', "it")
        return PieceRecipe(_words(PieceWords, kept["cut"]), dict(kept.get("made", {})))


def strap_from_text(text: str, group: str) -> StrapRecipe:
    """The recipe of a strap kept in a drawing.

    Raises:
        DrawingError: it was changed so that it can't be read, or comes from a later version.
    """
    with _readable(f'"{group}"', "it"):
        kept = _loaded(text, f'"{group}"', "it")
        return StrapRecipe(_words(StrapWords, kept["strap"]), dict(kept.get("made", {})))


def match_from_text(text: str, group: str) -> MatchRecipe:
    """The recipe of two matched edges kept in a drawing.

    Raises:
        DrawingError: it was changed so that it can't be read, or comes from a later version.
    """
    with _readable(f'"{group}"', "it"):
        kept = _loaded(text, f'"{group}"', "it")
        return MatchRecipe(_words(MatchWords, kept["match"]), dict(kept.get("made", {})))


def _loaded(text: str, what: str, it: str) -> dict[str, Any]:
    kept = json.loads(text)
    if kept["version"] > VERSION:
        raise DrawingError(f"{what} was made by a later scallopkit; update it, or make {it} anew")
    return dict(kept)


@contextmanager
def _readable(what: str, it: str) -> Iterator[None]:
    """What can't be read within is told as damage of the recipe."""
    try:
        yield
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        if isinstance(error, DrawingError):
            raise
        raise DrawingError(f"the recipe of {what} in the drawing is damaged; make {it} anew") from None


def _compact(kept: dict[str, Any]) -> str:
    return json.dumps(kept, ensure_ascii=False, separators=(",", ":"))


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
