"""What can be done with a drawing, for Python users; the command line and the editors call the same functions.

Lengths are millimetres as numbers, or texts with a unit (`"1 1/4in"`); every other value is the word or number that
the command line takes.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Mapping, Sequence, Set
from contextlib import suppress
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from ..construction.cautions import checked_wearer
from ..errors import DrawingError, OutputError, RequestError, ScallopkitError
from ..geometry.cubics import Array
from ..pattern.edge import find_edge, find_piece, same_stretch
from ..pattern.joins import FOLD
from ..pattern.piece import Warn
from ..trim.fastenings import EYELET
from ..trim.holds import GAP
from .atomic import write_all_atomic
from .drawing import Drawing
from .flattening import bare_name
from .group import group_of
from .join_words import join_of, with_laps
from .kept import (
    LEGEND,
    group_name,
    kept_matches,
    kept_pieces,
    kept_recipe,
    kept_recipes,
    kept_straps,
    match_group_name,
    run_groups,
    strap_group_name,
)
from .layer import replace_groups
from .reader import read_drawing, read_file
from .recipe import (
    EdgeWords,
    EyeletWords,
    FacingWords,
    FinishWords,
    LacingWords,
    MatchWords,
    NotchWords,
    PieceRecipe,
    PieceWords,
    Recipe,
    ScallopWords,
    StrapWords,
    StretchWords,
    TemplateWords,
    TrimWords,
    Value,
    as_text,
    from_text,
)
from .report import report_of
from .runs import Run, make_run
from .sheet_places import places_of, with_places

if TYPE_CHECKING:
    from .cut_pieces import MadePiece
    from .matches import MadeMatch
    from .straps import MadeStrap


def read(path: str | Path) -> Drawing:
    """The drawing in an SVG file.

    Raises:
        DrawingError: it can't be read.
    """
    return read_file(path)


def scallop(
    drawing: Drawing,
    along: str | Sequence[str] = "",
    *,
    join: str | Sequence[str] = (),
    lap: str | float | None = None,
    name: str = "",
    wearer: str = "",
    **words: Value,
) -> Run:
    """Whole scallops fitted to an edge, or to several as they will lie once sewn.

    A run of the same name on the same edge is made anew, with the eyelets and notches that it has in the drawing.

    Args:
        drawing: the drawing that holds the edge.
        along: the edge, PIECE, PIECE:FROM..TO or PIECE:FROM..VIA..TO; may be left out where there is one piece. Or
            several edges in sewing order.
        join: what lies between them, "KIND" or "KIND:HOLD" each: one fewer than edges, or as many for a loop.
        lap: how far either edge of a lap goes beyond the centre line.
        name: the run's name; else the edge's.
        wearer: who wears what is sewn, for cautions: "adult", "child, under 3", "child, under 7" or "child, 7 to 14".
        words: the options of the `scallop` command with underscores: width, count, min_width, max_width, depth, radius,
            profile, touch, step, keep, weights, space, sharpest, and for the edge side, start, end, hold (a list of
            "MARK=KIND"), corner, allowance, start_at; for the finish finish, cut, trim, clip_short, widest_wedge,
            widest_gap, stitch; for cards to trace by template (scallops on each) and template_body.

    Raises:
        ScallopkitError: a value is refused or nothing fits; the text says what to do.
    """
    template, body = words.pop("template", None), words.pop("template_body", None)
    edge, trim, finish = _sorted_words(words, EdgeWords, ScallopWords, FinishWords)
    kept = kept_recipes(drawing.source)
    cards = TemplateWords(*(str(as_text(value, several=False)) if value else "" for value in (template, body)))
    recipe = Recipe(
        name,
        edge,
        trim,
        finish=None if finish == FinishWords() else finish,
        template=None if cards == TemplateWords() else cards,
        wearer=checked_wearer(wearer, "--wearer"),
    )
    asked = _over(recipe, along, join, lap)
    run = make_run(drawing, asked, kept)
    before = kept.get(run.name)
    if before is not None and before.stretches == run.recipe.stretches:
        # The same edge trimmed anew keeps what was put on it.
        again = replace(
            run.recipe,
            eyelets=before.eyelets,
            notches=before.notches,
            finish=run.recipe.finish or before.finish,
            facings=before.facings,
            template=run.recipe.template or before.template,
            trim=before.trim,
            wearer=run.recipe.wearer or before.wearer,
        )
        if again != run.recipe or before.lacing is not None:
            run = _still_laced(drawing, again, before.lacing, kept)
    more = (*_edge_taken(drawing, run, kept), *_matched_before(drawing, run))
    return replace(run, warnings=(*run.warnings, *more))


def changed(drawing: Drawing, run: str, **words: Value) -> Run:
    """A run of the drawing with other scallops on the same edges; what else it has stays.

    Args:
        drawing: the drawing.
        run: the name of the run.
        words: options as for `scallop`, but for along, join, lap and name. Holds at marks, the start of a loop and how
            often it is sewn stay unless they are given; all else that is not given goes back to its default.

    Raises:
        ScallopkitError: there is no such run, a value is refused or nothing fits.
    """
    edge, trim = _sorted_words(words, EdgeWords, ScallopWords)
    kept = kept_recipe(drawing, run)
    stay = {
        name: getattr(kept.edge, name) for name in ("along", "hold", "start_at", "times") if not getattr(edge, name)
    }
    asked = replace(kept, edge=replace(edge, **stay), scallop=trim)
    return _still_laced(drawing, asked, kept.lacing, kept_recipes(drawing.source))


def finished(drawing: Drawing, run: str, **words: Value) -> Run:
    """A run of the drawing with its edge finished otherwise; all else that it has stays.

    Args:
        drawing: the drawing.
        run: the name of the run.
        words: finish, cut, trim, clip_short, widest_wedge, widest_gap, stitch, as for `scallop`.

    Raises:
        ScallopkitError: there is no such run, it has no scallops, or a value is refused.
    """
    (finish,) = _sorted_words(words, FinishWords)
    kept = kept_recipe(drawing, run)
    return _still_laced(drawing, replace(kept, finish=finish), kept.lacing, kept_recipes(drawing.source))


def _over(recipe: Recipe, along: str | Sequence[str], join: str | Sequence[str], lap: str | float | None) -> Recipe:
    """The recipe over one edge, or over several with the joins between them."""
    edges = [along] if isinstance(along, str) else list(along)
    texts = [join] if isinstance(join, str) else list(join)
    joins = with_laps([join_of(text) for text in texts], "" if lap is None else str(as_text(lap, several=False)))
    if len(edges) < 2 and not joins:
        return replace(recipe, edge=replace(recipe.edge, along=edges[0] if edges else ""))
    return replace(
        recipe,
        edges=tuple(StretchWords(edge) for edge in edges),
        joins=joins,
    )


def _edge_taken(drawing: Drawing, run: Run, kept: dict[str, Recipe]) -> list[Warn]:
    """A warning for each other run of scallops that stands on the same edge, walked either way."""
    out = []
    for name, recipe in kept.items():
        if name == run.name or recipe.scallop is None:
            continue
        try:
            others = [find_edge(drawing.pattern, bare_name(one.along) or None) for one in recipe.stretches]
        except ScallopkitError:
            # Its edge is gone, so it can't be this one; `refit` will say so.
            continue
        if any(same_stretch(other, part.drawn) for other in others for part in run.laid.parts):
            text = f'the edge already carries the run "{name}": both are now in the drawing; delete one in the editor'
            out.append(Warn("edge-taken", text, run.laid.parts[0].edge.piece.name))
    return out


def eyelets(
    drawing: Drawing,
    along: str | Sequence[str] = "",
    *,
    join: str | Sequence[str] = (),
    lap: str | float | None = None,
    run: str = "",
    name: str = "",
    wearer: str = "",
    **words: Value,
) -> Run:
    """Eyelets in the scallops of a run that the drawing holds, or evenly along edges as a run of their own.

    Args:
        drawing: the drawing.
        along: the edge, or several in sewing order, for eyelets of their own.
        join: what lies between several edges, as for `scallop`.
        lap: how far either edge of a lap goes beyond the centre line.
        run: the name of a run in the drawing, whose scallops take the eyelets.
        name: the name of a run of its own.
        wearer: who wears what is sewn, for cautions, as for `scallop`; else what the run tells.
        words: the options of the `eyelets` command (one set for each from_crest): part (eyelet, buttonhole, snap or
            button), eyelet, barrel, barrel_length, flange, hole, button, button_thickness, bulky, lies, snap, every,
            from_crest, margin, spacing, count, ends, inset, step, off, level_with, staggered, patch, layers,
            cloth_thickness, cord, passes, and for the edge those of `scallop`.

    Raises:
        ScallopkitError: a value is refused, or an eyelet has no room; the text says what to do.
    """
    edge, trim = _sorted_words(words, EdgeWords, EyeletWords)
    who = checked_wearer(wearer, "--wearer")
    edges = [along] if isinstance(along, str) else list(along)
    if run:
        _refuse_beside_run(edge, "".join(edges), name, join)
        kept = kept_recipe(drawing, run)
        others = tuple(row for row in kept.eyelets if row.from_crest != trim.from_crest)
        asked = replace(kept, eyelets=(*others, trim), wearer=who or kept.wearer)
        return _clear_of_others(drawing, _still_laced(drawing, asked, kept.lacing, kept_recipes(drawing.source)))
    # Buttonholes and what else there is are a run beside the eyelets of the same edge.
    named = name or _own_name(" to ".join(dict.fromkeys([*edges[:1], *edges[-1:]])), f"{trim.part or EYELET}s")
    made = _over(Recipe(named, edge, eyelets=(trim,), wearer=who), edges, join, lap)
    laced = _still_laced(drawing, made, _lacing_before(drawing, made), kept_recipes(drawing.source))
    return _clear_of_others(drawing, laced)


def _clear_of_others(drawing: Drawing, run: Run) -> Run:
    """A row with a warning for each other row of the drawing that it lies on."""
    # Loaded only where there are rows.
    from .parts_met import parts_met

    kept = kept_recipes(drawing.source)
    others = []
    for name, recipe in kept.items():
        if name != run.name and recipe.eyelets:
            try:
                others.append(make_run(drawing, replace(recipe, facings=(), lacing=None, template=None), kept))
            except ScallopkitError:
                # It can't be made any more, which `refit` will say.
                continue
    return replace(run, warnings=(*run.warnings, *parts_met([*others, run], run.name)))


def _lacing_before(drawing: Drawing, recipe: Recipe) -> LacingWords | None:
    """How the row of that name on that edge, which is made anew, was laced."""
    before = kept_recipes(drawing.source).get(recipe.name)
    return None if before is None or before.stretches != recipe.stretches else before.lacing


def _still_laced(drawing: Drawing, recipe: Recipe, lacing: LacingWords | None, known: Mapping[str, Recipe]) -> Run:
    """The run with its lacing where its eyelets can still be laced so; else without, and a warning says why."""
    try:
        run = make_run(drawing, replace(recipe, lacing=lacing), known)
    except ScallopkitError as error:
        if lacing is None:
            raise
        run = make_run(drawing, replace(recipe, lacing=None), known)
        text = f'the lacing of "{run.name}" is left out: {error}'
        run = replace(run, warnings=(*run.warnings, Warn("lacing-left-out", text, run.laid.parts[0].edge.piece.name)))
    return replace(run, warnings=(*run.warnings, *_laced_before(run, known), *_matched_before(drawing, run)))


def _laced_before(run: Run, known: Mapping[str, Recipe]) -> list[Warn]:
    """A warning for each lacing in the drawing that goes through this row too, made for what was there before."""
    rows = [name for name, kept in known.items() if kept.lacing is not None and kept.lacing.with_row == run.name]
    text = 'the lacing of "{}" was made before this row: run `refit`, so that it goes through these eyelets'
    return [Warn("laced-before", text.format(name), run.laid.parts[0].edge.piece.name) for name in rows]


def notches(drawing: Drawing, along: str = "", *, run: str = "", name: str = "", **words: Value) -> Run:
    """Notches on a run that the drawing holds, or on an edge as a run of their own.

    Args:
        drawing: the drawing.
        along: the edge, for notches of their own.
        run: the name of a run in the drawing.
        name: the name of a run of its own.
        words: the options of the `notches` command: at, every, kind, length, on, and for the edge those of `scallop`.

    Raises:
        ScallopkitError: a value is refused; the text says what to do.
    """
    edge, trim = _sorted_words(words, EdgeWords, NotchWords)
    if run:
        _refuse_beside_run(edge, along, name)
        kept = kept_recipe(drawing, run)
        others = tuple(row for row in kept.notches if (row.at, row.on) != (trim.at, trim.on))
        made = make_run(drawing, replace(kept, notches=(*others, trim)), kept_recipes(drawing.source))
    else:
        recipe = Recipe(name or _own_name(along, "notches"), replace(edge, along=along), notches=(trim,))
        made = make_run(drawing, recipe)
    inside = [warn for one in pieces_anew(drawing, [made]) for warn in one.warnings if warn.code == "notches-inside"]
    return replace(made, warnings=(*made.warnings, *inside))


def facing(drawing: Drawing, run: str = "", **words: Value) -> Run:
    """A facing for a run that the drawing holds; one of the same kind that it has is made anew.

    A run whose finish was not told is faced, or bound where the facing is a band.

    Args:
        drawing: the drawing.
        run: the name of the run; may be left out where there is one of scallops.
        words: the options of the `facing` command: kind, depth, across (a list of names of joins, or "all"), most_gap,
            seam, inner, turn, interlining, interlining_cloth, longest, cloth, size.

    Raises:
        ScallopkitError: a value is refused, or no such facing can be made.
    """
    (trim,) = _sorted_words(words, FacingWords)
    scalloped = [name for name, kept in kept_recipes(drawing.source).items() if kept.scallop is not None]
    if not run and len(scalloped) != 1:
        there = ", ".join(f'"{name}"' for name in scalloped) or "none"
        raise RequestError(f"say which run is faced with --run: {drawing.name} holds {there}")
    kept = kept_recipe(drawing, run or scalloped[0])
    others = tuple(row for row in kept.facings if (row.kind or "shaped") != (trim.kind or "shaped"))
    finish = kept.finish or (FinishWords(finish="bound") if trim.kind == "band" else FinishWords())
    return make_run(drawing, replace(kept, finish=finish, facings=(*others, trim)), kept_recipes(drawing.source))


def trim(
    drawing: Drawing,
    along: str | Sequence[str] = "",
    *,
    join: str | Sequence[str] = (),
    lap: str | float | None = None,
    run: str = "",
    name: str = "",
    **words: Value,
) -> Run:
    """A bought trim with a fixed repeat along a run that the drawing holds, or along edges as a run of their own.

    Args:
        drawing: the drawing.
        along: the edge, or several in sewing order, as for `scallop`.
        join: what lies between them.
        lap: how far either edge of a lap goes beyond the centre line.
        run: the name of a run in the drawing, along whose edge the trim is laid.
        name: the name of a run of its own.
        words: the options of the `trim` command: repeat, width, offset, motif, start, end, take_up, ease, stretch, move
            (a list of names of joints), joins, reserve, longest; and for the edge side, allowance, start_at, true_up,
            times. Start and end also take fold, fold:HOLD and gap:15mm.

    Raises:
        ScallopkitError: a value is refused, or the trim has no place or no fit; the text says what to do.
    """
    bought, edge = _sorted_words(words, TrimWords, EdgeWords)
    (start, first), (end, last) = _edge_and_trim(bought.start), _edge_and_trim(bought.end)
    bought, edge = replace(bought, start=first, end=last), replace(edge, start=start, end=end)
    if run:
        _refuse_beside_run(edge, "".join([along] if isinstance(along, str) else along), name)
        if join or lap:
            raise RequestError("--join and --lap do not go with --run, which has its own joins: leave them out")
        kept = kept_recipe(drawing, run)
        return make_run(drawing, replace(kept, trim=bought), kept_recipes(drawing.source))
    asked = _over(Recipe(name, edge, trim=bought), along, join, lap)
    if not name:
        edges = [stretch.along for stretch in asked.stretches]
        asked = replace(asked, name=_own_name(" to ".join(dict.fromkeys((edges[0], edges[-1]))), "trim"))
    return make_run(drawing, asked, kept_recipes(drawing.source))


def _edge_and_trim(text: str) -> tuple[str, str]:
    """What is said of an end: of the edge there, and of what part of the repeat lies on it."""
    kind, _, hold = text.partition(":")
    if kind == FOLD:
        return FOLD, hold
    return (text, "") if kind == GAP else ("", text)


def lacing(drawing: Drawing, run: str = "", *, wearer: str = "", **words: Value) -> Run:
    """A cord through the eyelets of a run that the drawing holds; a lacing that it has is made anew.

    Args:
        drawing: the drawing.
        run: the name of the run; may be left out where there is one with eyelets.
        wearer: who wears what is sewn, for cautions, as for `scallop`; else what the run tells.
        words: the options of the `lacing` command: path, with_row (the run of the second row, or "mirror"), gap,
            thickness, tails, ends, cords, underlay, underlay_allowance, channel, cord.

    Raises:
        ScallopkitError: a value is refused, or the rows can't be laced so; the text says what to do.
    """
    (asked,) = _sorted_words(words, LacingWords)
    who = checked_wearer(wearer, "--wearer")
    rows = [name for name, kept in kept_recipes(drawing.source).items() if kept.eyelets]
    if not run and len(rows) != 1:
        there = ", ".join(f'"{name}"' for name in rows) or "none"
        raise RequestError(f"say which row of eyelets is laced with --run: {drawing.name} holds {there}")
    kept = kept_recipe(drawing, run or rows[0])
    return make_run(drawing, replace(kept, lacing=asked, wearer=who or kept.wearer), kept_recipes(drawing.source))


def _refuse_beside_run(edge: EdgeWords, along: str, name: str, join: str | Sequence[str] = ()) -> None:
    """A run brings its own edge and name."""
    given = [f.name for f in fields(edge) if getattr(edge, f.name)]
    given += ["along"] * bool(along) + ["name"] * bool(name) + ["join"] * bool(join)
    if given:
        option = given[0].replace("_", "-")
        raise RequestError(f"--{option} does not go with --run, which has its own: leave out one of the two")


def _own_name(along: str, what: str) -> str:
    return f"{along} {what}".strip()


_Trim = TypeVar("_Trim")


def _sorted_words(words: dict[str, Value], *kinds: type) -> tuple[Any, ...]:
    """The given words as texts, shared out among those of the edge, of the trim and of what else there is."""
    left = {key: value for key, value in words.items() if value is not None}
    out = []
    for kind in kinds:
        known = {f.name: f.default == () for f in fields(kind) if f.name != "along"}
        out.append(kind(**{key: as_text(left.pop(key), known[key]) for key in list(left) if key in known}))
    if left:
        every = sorted({f.name for kind in kinds for f in fields(kind)} - {"along"})
        raise RequestError(f"there is no option {', '.join(sorted(left))}; there are {', '.join(every)}")
    return tuple(out)


def cut(drawing: Drawing, piece: str = "", **words: Value) -> tuple[MadePiece, ...]:
    """Pieces as they are cut: their cutting lines, folds, notches and labels.

    Args:
        drawing: the drawing; the runs it holds are cut as their finish says.
        piece: the piece; every closed one if left out.
        words: the options of the `cut` command: allowance, side (a list of "EDGE=LENGTH"), corner (a list of
            "CORNER=KIND"), corners, fold, dart (lists of names), number, cloth, size, lining, lining_cloth. What was
            said of a piece before stays where nothing is said anew.

    Raises:
        ScallopkitError: a value is refused, or no cutting line can be drawn.
    """
    # Loaded only where pieces are cut.
    from .cut_pieces import made_pieces

    (asked,) = _sorted_words(words, PieceWords)
    names = [piece] if piece else [one.name for one in drawing.pattern.pieces if one.closed]
    if not names:
        raise RequestError(f"{drawing.name} holds no closed outline, so there is no piece to cut: draw one closed")
    if len(names) > 1 and (asked.side or asked.corner or asked.fold or asked.dart):
        raise RequestError("--side, --corner, --fold and --dart are about one piece: name it with --piece")
    before = kept_pieces(drawing.source)
    wanted = [_over_before(replace(asked, piece=find_piece(drawing.pattern, name).name), before) for name in names]
    others = {one.name for one in drawing.pattern.pieces} - {one.piece for one in wanted}
    beside = [kept.words for name, kept in kept_pieces(drawing.source).items() if name in others]
    runs = made_runs(drawing)
    return with_places(drawing, made_pieces(drawing, wanted, [*runs, *_match_runs(drawing, runs)], beside), [])


def strap(drawing: Drawing, **words: Value) -> MadeStrap:
    """A strap, a band, a binding or a cord; one of the same name that the drawing holds is made anew.

    Args:
        drawing: the drawing.
        words: the options of the `strap` command: name, length, along (an edge or a run), width, number, ends, seam,
            fold, longest, joins, cloth, window, wearer.

    Raises:
        ScallopkitError: a value is refused, or it can't be cut so; the text says what to do.
    """
    # "along" is a word of straps themselves, not of where a run lies.
    along = words.pop("along", None)
    (asked,) = _sorted_words(words, StrapWords)
    return _strap_on(drawing, replace(asked, along=as_text(along or "", several=False)), {})


def _strap_on(drawing: Drawing, words: StrapWords, runs: Mapping[str, Run]) -> MadeStrap:
    """A strap, with runs as they are now; others are made again from what the drawing keeps of them."""
    # Loaded only where there are straps.
    from .straps import made_strap

    def run_called(name: str) -> Run | None:
        kept = kept_recipes(drawing.source)
        return runs.get(name) or (make_run(drawing, kept[name], kept) if name in kept else None)

    return made_strap(drawing, words, run_called)


def strapped(
    drawing: Drawing, runs: Sequence[Run], asked: Sequence[StrapWords] = (), left_out: Collection[str] = ()
) -> tuple[MadeStrap, ...]:
    """Every strap that the drawing holds, made again with the runs as they are now, and others that are asked for.

    Args:
        drawing: the drawing.
        runs: the runs as they are now.
        asked: further straps; one of the same name takes the place of the one in the drawing.
        left_out: names of straps in the drawing that are made elsewhere.

    Raises:
        ScallopkitError: one can't be made any more; the text names it.
    """
    given, by_name = {words.name for words in asked} | set(left_out), {run.name: run for run in runs}
    out = []
    for name, kept in kept_straps(drawing.source).items():
        if name not in given:
            try:
                out.append(_strap_on(drawing, kept.words, by_name))
            except ScallopkitError as error:
                raise type(error)(f'the strap "{name}" can\'t be made again: {error}') from None
    return (*out, *(_strap_on(drawing, words, by_name) for words in asked))


def match(drawing: Drawing, a: str, b: str, **words: Value) -> MadeMatch:
    """Two edges that will be sewn together; a match of the same two that the drawing holds is made anew.

    Args:
        drawing: the drawing.
        a: the first edge, or a run of the drawing, which counts as one line as sewn.
        b: the edge or run that it is sewn to.
        words: the options of the `match` command: pair (a list of "A-MARK=B-MARK"), turned, allowance, take_up (a list
            of "HOW" or "STRETCH=HOW"), cloth, most_ease, depth, number, toward, spacing, margin, dart_length, lines,
            line_length, notches, phase, phase_within, in_phase, move (a list of runs on the first edge).

    Raises:
        ScallopkitError: a value is refused, or the edges can't be matched so; the text says what to do.
    """
    (asked,) = _sorted_words(words, MatchWords)
    made = _match_on(drawing, replace(asked, a=a, b=b), {})
    if made.brought is None or made.brought.recipe == kept_recipes(drawing.source).get(made.brought.name):
        return made
    stale = [w for w in _matched_before(drawing, made.brought) if not w.message.startswith(f'"{made.name}" ')]
    return replace(made, warnings=(*made.warnings, *stale))


def in_phase(runs: Sequence[Run], matches: Sequence[MadeMatch]) -> list[Run]:
    """The runs with those that a match has brought in phase, which take the places of what they were before."""
    brought = {made.brought.name: made.brought for made in matches if made.brought is not None}
    return [*(brought.pop(run.name, run) for run in runs), *brought.values()]


def _match_on(drawing: Drawing, words: MatchWords, runs: Mapping[str, Run]) -> MadeMatch:
    """A match, with runs as they are now; others are made again from what the drawing keeps of them."""
    # Loaded only where edges are matched.
    from .matches import made_match

    kept = kept_recipes(drawing.source)
    known = kept | {name: run.recipe for name, run in runs.items()}

    def run_called(name: str) -> Run | None:
        return runs.get(name) or (make_run(drawing, replace(kept[name], name=name), kept) if name in kept else None)

    return made_match(drawing, words, known, run_called)


def rematched(
    drawing: Drawing, runs: Sequence[Run], asked: Sequence[MatchWords] = (), left_out: Collection[str] = ()
) -> tuple[MadeMatch, ...]:
    """Every match that the drawing holds, made again with the runs as they are now, and others that are asked for.

    Args:
        drawing: the drawing.
        runs: the runs as they are now.
        asked: further matches; one of the same two edges takes the place of the one in the drawing.
        left_out: names of groups of matches in the drawing that are made elsewhere.

    Raises:
        ScallopkitError: one can't be made any more; the text names it.
    """
    given = {match_group_name(words.a, words.b) for words in asked} | set(left_out)
    by_name, out = {run.name: run for run in runs}, []
    for name, kept in kept_matches(drawing.source).items():
        if name not in given:
            try:
                out.append(_match_on(drawing, kept.words, by_name))
            except ScallopkitError as error:
                raise type(error)(f'"{name}" can\'t be made again: {error}') from None
    return (*out, *(_match_on(drawing, words, by_name) for words in asked))


def _match_runs(drawing: Drawing, runs: Sequence[Run], matches: Sequence[MadeMatch] = ()) -> list[Run]:
    """The edges of all matches as runs with their notches; those that are not given are made again."""
    every = (*matches, *rematched(drawing, runs, left_out=[made.name for made in matches]))
    return [run for made in every for run in made.notched]


def match_changes(drawing: Drawing, matches: Sequence[MadeMatch]) -> list[tuple[str, str]]:
    """What became of each match that was made again: the name of its group, and a few words."""
    before = kept_matches(drawing.source)
    out = []
    for made in matches:
        was, now = before[made.name].made.get("lengths_mm"), made.recipe.made["lengths_mm"]
        numbers = was if isinstance(was, list) and all(isinstance(x, float | int) for x in was) else []
        told = len(numbers) == len(now) and all(abs(x - y) <= 1e-3 for x, y in zip(numbers, now, strict=True))
        out.append((made.name, "unchanged" if told else f"{now[0]:.2f} mm to {now[1]:.2f} mm"))
    return out


def _matched_before(drawing: Drawing, run: Run) -> list[Warn]:
    """A warning for each match in the drawing that goes by a run, made for what was there before."""
    words = [kept.words for kept in kept_matches(drawing.source).values()]
    names = [match_group_name(one.a, one.b) for one in words if run.name in (one.a, one.b, *one.move)]
    text = '"{}" was made before this run: run `refit`, so that it goes by this one'
    return [Warn("matched-before", text.format(name), run.laid.parts[0].edge.piece.name) for name in names]


def _over_before(asked: PieceWords, before: Mapping[str, PieceRecipe]) -> PieceWords:
    """What is asked of a piece, with what was said of it before where nothing is said now."""
    if asked.piece not in before:
        return asked
    kept = before[asked.piece].words
    return PieceWords(*(getattr(asked, f.name) or getattr(kept, f.name) for f in fields(PieceWords)))


def made_runs(drawing: Drawing) -> list[Run]:
    """The runs that the drawing holds, made again from their recipes.

    Raises:
        ScallopkitError: one can't be made any more; the text names it.
    """
    return [one.run for one in refit(drawing)] if run_groups(drawing.source) else []


@dataclass(frozen=True)
class Refit:
    """A run made again: itself, what it was before, and a sentence on what changed."""

    run: Run
    before: dict[str, Any]
    change: str


def refit(drawing: Drawing) -> list[Refit]:
    """Every run of the drawing made again from its recipe, on the outlines as they are now.

    Raises:
        RequestError: the drawing holds no run, and no piece as it is cut, strap or match either.
        ScallopkitError: one can't be made any more; the text names it.
    """
    groups = run_groups(drawing.source)
    others = (kept_pieces, kept_straps, kept_matches)
    if not groups and not any(kept(drawing.source) for kept in others):
        raise RequestError(f"{drawing.name} holds no run to make again: make one with `scallopkit scallop`")
    out, known = [], kept_recipes(drawing.source)
    for group in groups:
        # The group's name counts: the maker may have renamed it in the editor.
        recipe = replace(from_text(group.recipe, group.name), name=group.name)
        try:
            run = _again(drawing, recipe, known)
        except ScallopkitError as error:
            raise type(error)(f'the run "{group.name}" can\'t be made again: {error}') from None
        out.append(Refit(run, recipe.made, change_of(recipe.made, run)))
    return out


def _again(drawing: Drawing, recipe: Recipe, known: Mapping[str, Recipe]) -> Run:
    """A run made again; one that can't be held in phase any more by its own words, until its match does it anew."""
    try:
        return make_run(drawing, recipe, known)
    except ScallopkitError:
        if recipe.phased is None:
            raise
        return make_run(drawing, recipe.own, known)


def change_of(before: dict[str, Any], run: Run) -> str:
    """What became of a run, in a few words."""
    length, count, widths = (before.get(key) for key in ("length_mm", "count", "widths_mm"))
    if not isinstance(widths, list) or not all(isinstance(v, float | int) for v in (length, count, *widths)):
        return "made anew"
    assert length is not None  # noqa: S101  # it is a number, as the line before has shown
    parts = []
    now = run.course.measured.length
    if abs(now - length) > 1e-3:
        parts.append(f"edge {length:.2f} to {now:.2f} mm")
    if count != run.count:
        parts.append(f"count {count:g} to {run.count:g}")
    if widths and run.widths and max(abs(a - b) for a, b in zip(widths, run.widths, strict=False)) > 1e-3:
        parts.append(f"width {widths[0]:.3f} to {run.widths[0]:.3f} mm")
    return ", ".join(parts) or "unchanged"


def with_runs(
    drawing: Drawing,
    runs: Sequence[Run],
    pieces: Sequence[MadePiece] = (),
    straps: Sequence[MadeStrap] = (),
    matches: Sequence[MadeMatch] = (),
) -> bytes:
    """The drawing's bytes with all that was made put in; each replaces its own former group, and nothing else.

    Raises:
        RequestError: a run is called as the group of a cut piece, of a strap, or of a match, is.
    """
    taken = {group_name(piece.name): piece.name for piece in drawing.pattern.pieces}
    runs = in_phase(runs, matches)
    for run in runs:
        if run.name in taken:
            text = (
                f'"{run.name}" is what the cutting line of "{taken[run.name]}" is called: give the run another --name'
            )
            raise RequestError(text)
        if run.name == LEGEND:
            raise RequestError(f'"{run.name}" is what the group of the legend is called: give the run another --name')
        if run.name in (strap_group_name(name) for name in kept_straps(drawing.source)):
            raise RequestError(f'"{run.name}" is what the group of a strap is called: give the run another --name')
        if run.name in kept_matches(drawing.source):
            raise RequestError(f'"{run.name}" is what the group of a match is called: give the run another --name')
    _refuse_matches_taken(drawing, runs, matches)
    pieces = [*pieces, *pieces_anew(drawing, runs, [made.name for made in pieces], matches)]
    kept, given = kept_pieces(drawing.source), {run.name for run in runs}
    # A piece that is cut for the first time takes over the notches that the groups of its runs have drawn.
    notched = {run.name: run for made in pieces if made.name not in kept for run in made.notched}
    matches = [*matches, *_marked_before(drawing, runs, matches, {made.name for made in pieces})]
    given |= {made.name for made in matches}
    runs = [*runs, *(run for name, run in notched.items() if name not in given)]
    places, cut_there = places_of(drawing, runs), {*kept, *(made.name for made in pieces)}
    groups = {run.name: group_of(run, drawing, places[run.name], cut_there) for run in runs}
    if pieces:
        # Loaded only where pieces are cut.
        from .cut_pieces import piece_group

        groups |= {group_name(made.name): piece_group(made, drawing) for made in pieces}
    if matches:
        # Loaded only where edges are matched.
        from .match_figures import match_group

        cuttings = _cuttings(drawing, cut_there, pieces)
        groups |= {made.name: match_group(made, drawing, cuttings) for made in matches}
    source = replace_groups(drawing.source, groups)
    if straps:
        # Loaded only where there are straps, which find their places beside all the rest.
        from .straps import with_straps

        source = with_straps(source, drawing.name, straps)
    names = _told_anew(drawing, pieces)
    if not names:
        return source
    written = read_drawing(source, drawing.name)
    faced = _faced(written, names)
    if not faced:
        return source
    # Others stand beside them, and find their places again in the same order.
    known = kept_recipes(written.source)
    there = {run.name: run for run in runs}
    there |= {name: make_run(written, replace(known[name], name=name), known) for name in known if name not in there}
    return with_runs(written, list((there | faced).values()), pieces, straps, matches)


def _told_anew(drawing: Drawing, pieces: Sequence[MadePiece]) -> set[str]:
    """The names of pieces of which the drawing tells another cloth or size."""
    kept = kept_pieces(drawing.source) if pieces else {}
    before = {name: recipe.words for name, recipe in kept.items()}
    return {
        made.name
        for made in pieces
        if _cloth_and_size(made.recipe.words) != _cloth_and_size(before.get(made.name, PieceWords()))
    }


def _faced(drawing: Drawing, pieces: Set[str]) -> dict[str, Run]:
    """The runs with facings on some of the pieces, made again so that their labels tell cloth and size."""
    known = kept_recipes(drawing.source)
    return {
        name: make_run(drawing, replace(recipe, name=name), known)
        for name, recipe in known.items()
        if any(not (facing.cloth and facing.size) for facing in recipe.facings)
        and not pieces.isdisjoint(_pieces_of(drawing, recipe))
    }


def _pieces_of(drawing: Drawing, recipe: Recipe) -> set[str]:
    """The names of the pieces on which a run lies; none where an edge of it is gone."""
    try:
        return {find_edge(drawing.pattern, bare_name(one.along) or None).piece.name for one in recipe.stretches}
    except ScallopkitError:
        # `refit` tells what is gone.
        return set()


def _cloth_and_size(words: PieceWords) -> tuple[str, str]:
    return words.cloth, words.size


def _cuttings(drawing: Drawing, names: Collection[str], pieces: Sequence[MadePiece]) -> dict[str, Array]:
    """The cutting lines of pieces on the sheet by their names: as they are made, else as the drawing holds them."""
    out = {made.name: made.cut.cutting.curve for made in pieces}
    left = [name for name in names if name not in out]
    if left:
        # Loaded only where pieces are cut that are not made now.
        from .written import read_written

        written = read_written(drawing)
        out |= {name: line for name in left for line in written.cutting(group_name(name))[:1]}
    return out


def _refuse_matches_taken(drawing: Drawing, runs: Sequence[Run], matches: Sequence[MadeMatch]) -> None:
    """Refuses a match whose group is called as a run is."""
    names = {*kept_recipes(drawing.source), *(run.name for run in runs)}
    for made in matches:
        if made.name in names:
            raise RequestError(f'"{made.name}" is what a run is called: give that run another --name')


def _marked_before(
    drawing: Drawing, runs: Sequence[Run], matches: Sequence[MadeMatch], pieces: Set[str]
) -> list[MadeMatch]:
    """The matches that the drawing holds along pieces that are cut now: what they draw goes out to the cut."""
    left_out = [made.name for made in matches]
    if not pieces or not kept_matches(drawing.source).keys() - set(left_out):
        return []
    return [made for made in rematched(drawing, runs, left_out=left_out) if made.piece_names & pieces]


def pieces_anew(
    drawing: Drawing, runs: Sequence[Run], done: Collection[str] = (), matches: Sequence[MadeMatch] = ()
) -> tuple[MadePiece, ...]:
    """The pieces that the drawing holds as they are cut and that are cut otherwise by what is made now; made again.

    Args:
        drawing: the drawing.
        runs: the runs as they will be drawn.
        done: the names of pieces that are made already.
        matches: the matches as they will be drawn.

    Raises:
        ScallopkitError: one can't be made so; the text says why.
    """
    kept, runs = kept_pieces(drawing.source), in_phase(runs, matches)
    names = (_cut_by(drawing, runs) | _marked_by(drawing, matches)) & kept.keys() - set(done)
    if not names:
        return ()
    # Loaded only where pieces are cut.
    from .cut_pieces import made_piece, matched

    try:
        there = [*_others_on(drawing, runs, names), *runs]
        every = [*there, *_match_runs(drawing, there, matches)]
        again = [made_piece(drawing, kept[name].words, every) for name in kept if name in names]
        beside = _beside(drawing, [recipe.words for name, recipe in kept.items() if name not in names], every)
        return with_places(drawing, matched(again, every, beside), runs)
    except ScallopkitError as error:
        cure = "ask for something else, or delete its group in the layer scallopkit"
        raise type(error)(f"a cutting line that is there can't be made again: {error}; {cure}") from None


def _beside(drawing: Drawing, words: Sequence[PieceWords], runs: Sequence[Run]) -> list[MadePiece]:
    """Pieces that others may be sewn to, as they are cut; `check` and `refit` tell of those that can't be made."""
    from .cut_pieces import made_piece

    out: list[MadePiece] = []
    for one in words:
        with suppress(ScallopkitError):
            out.append(made_piece(drawing, one, runs))
    return out


def _cut_by(drawing: Drawing, runs: Sequence[Run]) -> set[str]:
    """The names of the pieces that are cut otherwise because of runs, by what these were before and are now."""
    before, out = kept_recipes(drawing.source), set()
    for run in runs:
        was = before.get(run.name)
        if _as_cut(run.recipe) != (_as_cut(was) if was is not None else None):
            out |= {part.edge.piece.name for part in run.laid.parts}
            out |= _pieces_of(drawing, was) if was is not None else set()
    return out


def _as_cut(recipe: Recipe) -> Recipe | None:
    """What pieces are cut by of a run; None where it changes no cutting line and has no notches."""
    if recipe.scallop is None and not recipe.notches and not recipe.facings:
        return None
    return replace(recipe, eyelets=(), template=None, wearer="", trim=None, lacing=None)


def _marked_by(drawing: Drawing, matches: Sequence[MadeMatch]) -> set[str]:
    """The names of the pieces with other notches of matches than they had."""
    before, matched = kept_recipes(drawing.source), kept_matches(drawing.source)
    anew = [
        made
        for made in matches
        if made.name not in matched
        or matched[made.name].words != made.recipe.words
        or (made.brought is not None and made.brought.recipe != before.get(made.brought.name))
    ]
    return {part.edge.piece.name for made in anew for side in made.sides for part in side.run.laid.parts}


def _others_on(drawing: Drawing, runs: Sequence[Run], names: Set[str]) -> Iterator[Run]:
    """The other runs of the drawing, made again; of those that lie on none of the pieces only what can be made."""
    known, given = kept_recipes(drawing.source), {run.name for run in runs}
    for name, recipe in known.items():
        if name in given:
            continue
        try:
            yield make_run(drawing, replace(recipe, name=name), known)
        except ScallopkitError as error:
            elsewhere = _pieces_of(drawing, recipe)
            # Where it lies is not known, or it is a run that these pieces are cut by.
            if not elsewhere or not names.isdisjoint(elsewhere):
                raise type(error)(f'the run "{name}" can\'t be made again: {error}') from None


def recut(drawing: Drawing, runs: Sequence[Run]) -> tuple[MadePiece, ...]:
    """Every piece that the drawing holds as it is cut, made again with the runs as they are now.

    Raises:
        ScallopkitError: one can't be made any more; the text names it.
    """
    kept = kept_pieces(drawing.source)
    if not kept:
        return ()
    # Loaded only where pieces are cut.
    from .cut_pieces import made_pieces

    try:
        every = [*runs, *_match_runs(drawing, runs)]
        return with_places(drawing, made_pieces(drawing, [recipe.words for recipe in kept.values()], every), runs)
    except ScallopkitError as error:
        cure = "undo what was changed, or delete its group in the layer scallopkit"
        raise type(error)(f"a cutting line can't be made again: {error}; {cure}") from None


def strap_changes(drawing: Drawing, straps: Sequence[MadeStrap]) -> list[tuple[str, str]]:
    """What became of each strap that was made again: the name of its group, and a few words."""
    before = kept_straps(drawing.source)
    out = []
    for made in straps:
        length = before[made.name].made.get("length_mm")
        told = isinstance(length, float | int) and abs(made.length - length) <= 1e-3
        out.append((strap_group_name(made.name), "unchanged" if told else f"{made.length:.2f} mm long"))
    return out


def redrawn(drawing: Drawing, runs: Sequence[Run]) -> Drawing:
    """The drawing with the runs put in, ready for further work."""
    return read_drawing(with_runs(drawing, runs), drawing.name)


def refuse_loss(
    path: Path,
    drawing: Drawing,
    runs: Sequence[Run],
    pieces: Sequence[MadePiece] = (),
    straps: Sequence[MadeStrap] = (),
    matches: Sequence[MadeMatch] = (),
) -> None:
    """Refuses to write over a drawing with work in it that what is to be written does not have.

    Raises:
        OutputError: it holds other runs, or on the same ones eyelets, notches, facings, cards, a lacing or a finish
            that would be gone, or other pieces as they are cut, straps or matches; the text names them.
    """
    try:
        source = path.read_bytes()
        there, cut_there, straps_there = kept_recipes(source), kept_pieces(source), kept_straps(source)
        matches_there = kept_matches(source)
    except (OSError, DrawingError):
        return
    coming = kept_recipes(drawing.source) | {run.name: run.recipe for run in runs}
    lost = [
        name
        for name, kept in there.items()
        if name not in coming
        or any(has > coming_has for has, coming_has in zip(_put_on(kept), _put_on(coming[name]), strict=True))
    ]
    cut_coming = {*kept_pieces(drawing.source), *(made.name for made in pieces)}
    lost += [group_name(name) for name in cut_there if name not in cut_coming]
    straps_coming = {*kept_straps(drawing.source), *(made.name for made in straps)}
    lost += [strap_group_name(name) for name in straps_there if name not in straps_coming]
    lost += sorted(matches_there.keys() - kept_matches(drawing.source).keys() - {made.name for made in matches})
    if lost:
        names = ", ".join(f'"{name}"' for name in lost)
        raise OutputError(
            f"{path} holds work that would be lost ({names}): go on with that file and --in-place, or give an --output"
        )


def _loses(before: Recipe, after: Recipe) -> bool:
    """Whether less is put on the scallops of a run than before."""
    return any(had > has for had, has in zip(_put_on(before), _put_on(after), strict=True))


def _put_on(recipe: Recipe) -> tuple[int, ...]:
    """How much is put on the scallops of a run, of each kind."""
    counted = (recipe.eyelets, recipe.notches, recipe.facings)
    single = (recipe.finish, recipe.template, recipe.trim, recipe.lacing)
    return (*(len(rows) for rows in counted), *(words is not None for words in single))


def save(
    drawing: Drawing,
    runs: Sequence[Run],
    path: str | Path,
    *,
    report: str | Path | None = None,
    flat: str | Path | None = None,
    warnings: Sequence[Warn] = (),
    pieces: Sequence[MadePiece] = (),
    straps: Sequence[MadeStrap] = (),
    matches: Sequence[MadeMatch] = (),
    legend: bool | None = None,
) -> None:
    """Writes the drawing with what was made put in, and a report and a picture of the first run laid flat if asked.

    All files are written, or none. The drawing gets a legend and a test square, unless `legend` is False, or was so
    before and is not told now.

    Raises:
        OutputError: one of the files can't be written.
    """
    # Loaded only where a drawing is written.
    from .legend import with_legend

    files = {Path(path): with_legend(drawing, with_runs(drawing, runs, pieces, straps, matches), legend)}
    if report is not None:
        if Path(report) == Path(path):
            raise OutputError(f"{path} can't take both the drawing and the report: give them two names")
        text = report_text(drawing, runs, warnings, pieces=pieces, straps=straps, matches=matches)
        files[Path(report)] = text.encode()
    if flat is not None:
        if Path(flat) in files:
            raise OutputError(f"{flat} can't take both the picture and another file: give each its own name")
        files[Path(flat)] = picture_of(runs[0], Path(flat))
    write_all_atomic(files)


def picture_of(run: Run, path: Path) -> bytes:
    """The picture of a run laid flat, as SVG or PNG by the file's ending.

    Raises:
        OutputError: the ending is another one.
    """
    from .flat_picture import flat_picture

    if path.suffix.lower() not in (".svg", ".png"):
        raise OutputError(f"{path} can't be drawn: a picture laid flat ends in .svg or .png")
    data = flat_picture(run)
    if path.suffix.lower() == ".svg":
        return data
    from .picture import to_png

    return to_png(data, 1600, "white")


def report_text(
    drawing: Drawing,
    runs: Sequence[Run],
    warnings: Sequence[Warn] = (),
    ascii_only: bool = False,
    pieces: Sequence[MadePiece] = (),
    straps: Sequence[MadeStrap] = (),
    matches: Sequence[MadeMatch] = (),
) -> str:
    """The report as JSON text, other letters as numbers where it must pass through any screen."""
    return json_text(report_of(drawing, in_phase(runs, matches), warnings, pieces, straps, matches), ascii_only)


def json_text(entry: Mapping[str, Any], ascii_only: bool = False) -> str:
    """A report as JSON text."""
    return json.dumps(entry, indent=1, ensure_ascii=ascii_only, allow_nan=False) + "\n"
