"""Rows on a run: eyelets, buttonholes, snaps or buttons in its scallops, or evenly along its edge, off its seams."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from ..construction.level_rows import heights, level_places, staggered
from ..construction.setting import Barrel, barrel_for, refuse_thick_cord
from ..errors import NoFitError, RequestError, counted
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..pattern.joins import BUTT, DART, FOLD, SEAM
from ..pattern.laying import Joint
from ..pattern.piece import Warn
from ..trim.eyelets import (
    Eyelets,
    EyeletSize,
    Size,
    eyelet_warnings,
    eyelets_along,
    eyelets_at,
    eyelets_in_scallops,
    patch_warnings,
    stitching_lines,
    usual_inset,
)
from ..trim.keeping_off import Seam, Zone, kept_off, zones
from .drawing import Drawing
from .recipe import EdgeWords, EyeletWords, Recipe
from .row_words import given, margin_of, off_of, refuse_given, setting_of, size_of
from .runs import Run, make_run
from .sheet import placed_on_sheet
from .wishes import STEPS, allowances_of, lengths_of, one_of, whole_number, yes

# Two edges of an opening that differ by more, mm, are told to: what a pencil line leaves open (common practice, no
# source).
_SEEN = 0.1
# A move that is told, mm.
_MOVED = 1e-6
# Halves of one piece are alike within this, mm.
_ALIKE = 1e-6
_IN_SCALLOPS = ("every", "from_crest")
_ALONG_EDGE = ("spacing", "count", "ends", "inset", "step", "off", "level_with", "staggered")
_SET_BY_LEVEL = ("spacing", "count", "ends", "step")


def row_of(
    drawing: Drawing, run: Run, words: EyeletWords, others: Sequence[Array], known: Mapping[str, Recipe]
) -> tuple[Eyelets, tuple[Warn, ...]]:
    """A row in the scallops of a run, or along its edge, with what the maker should know; in the flat frame.

    Args:
        drawing: the drawing.
        run: the run, without its rows.
        words: what was asked for.
        others: further stitching lines that flanges should keep clear of.
        known: recipes of other runs by name, for a row that is level with another's.

    Raises:
        ScallopkitError: a value is refused, or a part has no place.
    """
    size, margin, setting = size_of(words), margin_of(words), setting_of(words)
    if isinstance(size, EyeletSize) and setting.cord is not None:
        refuse_thick_cord(setting.cord, setting.passes, size.opening)
    if run.scallops is not None:
        row, warnings = _in_scallops(run, words, size, margin)
        lines = [*stitching_lines(run.scallops, run.course), *others]
    else:
        row, warnings = _along_edge(drawing, run, words, size, margin, known)
        # What it was kept off needs no second word.
        seams = others if not run.laid.joints or off_of(words, margin) is None else ()
        lines = [run.course.measured.curve, *seams]
    row = replace(row, patch=given(words.patch, "--patch", "positive") or 0.0)
    near = eyelet_warnings(row, lines, margin, run.edge.piece.name, run.course.measured.closing)
    over = patch_warnings(row, [*lines, *others], run.edge.piece.name)
    return row, (*warnings, *near, *over, *_barrel_warnings(run, words, row))


def _in_scallops(run: Run, words: EyeletWords, size: Size, margin: float) -> tuple[Eyelets, tuple[Warn, ...]]:
    assert run.scallops is not None  # noqa: S101  # the caller has seen to that
    refuse_given(words, _ALONG_EDGE, "goes with --along, not with scallops")
    from_crest = given(words.from_crest, "--from-crest", "positive")
    every = whole_number(words.every, "--every") or 1
    row = eyelets_in_scallops(run.scallops, run.course, size, margin, every, from_crest)
    if not run.course.loop or len(run.scallops) % every == 0:
        return row, ()
    text = f"every {every}th of {len(run.scallops)} scallops round a loop leaves one gap of {len(run.scallops) % every}"
    return row, (Warn("eyelets-uneven", f"{text}: take a count that {every} divides", run.edge.piece.name),)


def _along_edge(
    drawing: Drawing, run: Run, words: EyeletWords, size: Size, margin: float, known: Mapping[str, Recipe]
) -> tuple[Eyelets, tuple[Warn, ...]]:
    refuse_given(words, _IN_SCALLOPS, "goes with the scallops of a --run")
    off = off_of(words, margin)
    asked = given(words.inset, "--inset", "not-negative")
    inset = usual_inset(size, margin) if asked is None else asked
    shut = () if off is None else zones(run.course, seams_across(run, inset), inset, 0.5 * size.beside + off)
    if words.level_with:
        row, warnings = _level(drawing, run, words, size, inset, known)
        _refuse_on_seam(row, shut)
        return row, warnings
    if yes(words.staggered, "--staggered"):
        raise RequestError("--staggered goes with --level-with RUN, the row against which this one is staggered")
    even, bounds = _even(run, words, size, margin, inset)
    around = run.course.measured.length if run.course.loop else None
    s = kept_off(even.s, shut, size.beside + margin, bounds, around, f"{size.part}s")
    moved = s - even.s
    if np.abs(moved).max(initial=0.0) <= _MOVED:
        row = even
    else:
        length = run.course.measured.length
        row = eyelets_at(run.course, size, np.mod(s, length) if run.course.loop else s, inset)
        row = replace(row, moved=moved)
    _refuse_unlike_halves(run, row)
    return row, _moved_warnings(run, row, shut)


def _even(run: Run, words: EyeletWords, size: Size, margin: float, inset: float) -> tuple[Eyelets, tuple[float, float]]:
    """The row as it is asked for, and between which lengths along the course it stands."""
    spacing, count = given(words.spacing, "--spacing", "positive"), whole_number(words.count, "--count")
    if (spacing is None) == (count is None):
        raise RequestError(
            "eyelets along an edge need a --spacing or a --count; for one a scallop name the --run that holds them"
        )
    # Without a word on the ends the flanges stay as far from them as from any stitching line; a fold is no end.
    clear = 0.5 * size.beside + margin
    folds = (run.stops[0].fold, run.stops[-1].fold)
    ends = lengths_of(words.ends, "--ends") or [0.0 if run.course.loop or fold else clear for fold in folds]
    if len(ends) > 2:
        raise RequestError("--ends takes one length, or two: at the start, at the end")
    chord = one_of(words.step, STEPS[::-1], "--step") == "chord"
    row = eyelets_along(
        run.course, size, spacing, count, ends=(ends[0], ends[-1]), inset=inset, margin=margin, chord=chord
    )
    return row, (ends[0], run.course.measured.length - ends[-1])


# ---------------------------------------------------------------- seams


def seams_across(run: Run, inset: float) -> tuple[Seam, ...]:
    """The seams, darts and butts that a run crosses, as its course has them, with what is pressed beside them.

    The allowance of a seam is known where the run tells it, and lies open to both sides; half of a dart's intake lies
    on the side to which it is pressed. A fold and a lap are no seams; nor is a dart that ends before the row.
    """
    found = (_seam(run, k, joint, inset) for k, joint in enumerate(run.laid.joints))
    return tuple(seam for seam in found if seam is not None)


def _seam(run: Run, k: int, joint: Joint, inset: float) -> Seam | None:
    if joint.kind not in (SEAM, DART, BUTT):
        return None
    m, s, turns = run.course.measured, joint.s - run.origin, 0
    if run.course.loop and s < -1e-6:
        # The course begins behind it, and comes to it a turn later.
        s, turns = s + m.length, 1
    point, square = m.carried(joint.point, turns), m.turned(joint.square, turns)
    seam = Seam(joint.name, s, point, square)
    if joint.kind == SEAM:
        following = (k + 1) % len(run.laid.parts)
        return replace(seam, before=_allowance(run, k), after=_allowance(run, following))
    if joint.kind == DART and joint.meeting is not None:
        met = joint.meeting
        if met.legs is not None and min(measure(leg).length for leg in met.legs) < inset:
            return None
        # Loaded only where there are darts.
        from ..construction.cap import TOWARD_START
        from .caps import pressed

        half = 0.5 * float(np.hypot(*(met.first.curve[-1, 3] - met.second.curve[0, 0])))
        to_start = pressed(run, k) == TOWARD_START
        return replace(seam, before=half * to_start, after=half * (not to_start), layers=(2, 2))
    return seam


def _allowance(run: Run, part: int) -> float:
    """The allowance of the seams beside an edge, as far as the run tells it, mm."""
    stretch = run.recipe.stretches[part % len(run.recipe.stretches)]
    return allowances_of(EdgeWords(allowance=stretch.allowance or run.recipe.edge.allowance))[0]


def _moved_warnings(run: Run, row: Eyelets, shut: Sequence[Zone]) -> tuple[Warn, ...]:
    if row.moved is None:
        return ()
    which = np.flatnonzero(np.abs(row.moved) > _MOVED)
    moves = ", ".join(f"{i + 1} ({row.moved[i]:+.2f} mm)" for i in which)
    names = ", ".join(f'"{zone.name}"' for zone in shut)
    text = f"of {len(row)} {row.size.part}s these were moved along the edge, to keep off {names}: {moves}"
    x, y = row.points[which[0]]
    return (Warn("eyelets-moved", text, run.edge.piece.name, float(x), float(y)),)


def _refuse_unlike_halves(run: Run, row: Eyelets) -> None:
    """Refuses a row that would stand differently on the two halves of a folded piece, of which one is drawn."""
    copies = [(k, part.copy_of) for k, part in enumerate(run.laid.parts) if part.copy_of is not None]
    if not copies:
        return
    parts, places = placed_on_sheet(replace(run, eyelets=(row,)), row.points, row.s)
    folds = [joint for joint in run.laid.joints if joint.kind == FOLD]
    on_fold = np.zeros(len(row), dtype=bool)
    for fold in folds:
        on_fold |= np.abs((row.points - fold.point) @ fold.square) < 10.0 * _ALIKE
    for copy, original in copies:
        two = [places[(parts == k) & ~on_fold] for k in (copy, original)]
        if len(two[0]) != len(two[1]) or any(np.hypot(*(two[1] - p).T).min() > _ALIKE for p in two[0]):
            name = run.laid.parts[copy].edge.name
            raise RequestError(
                f'"{name}" lies on both halves of a folded piece, but the {row.size.part}s on them differ: give both '
                "ends the same --ends, and run over both halves alike, or start at the fold"
            )


# ---------------------------------------------------------------- level with another row


def _level(
    drawing: Drawing, run: Run, words: EyeletWords, size: Size, inset: float, known: Mapping[str, Recipe]
) -> tuple[Eyelets, tuple[Warn, ...]]:
    """A row at the heights of another run's, or half way between them, where both edges start level as worn."""
    refuse_given(words, _SET_BY_LEVEL, "does not go with --level-with, which takes number and places from that row")
    other = _row_to_match(drawing, run, words.level_with, known)
    if run.course.loop or other.course.loop:
        raise RequestError("--level-with takes two open edges: a loop has no end from which heights are counted")
    (theirs,) = other.eyelets
    wanted = heights(other.course.measured, theirs.points[np.argsort(theirs.s, kind="stable")])
    between = yes(words.staggered, "--staggered")
    s = level_places(run.course, staggered(wanted) if between else wanted, inset, f"{size.part}s")
    row = replace(eyelets_at(run.course, size, s, inset), level_with=words.level_with, staggered=between)
    return row, _uneven(run, other)


def _row_to_match(drawing: Drawing, run: Run, name: str, known: Mapping[str, Recipe]) -> Run:
    rows = {key: recipe for key, recipe in known.items() if key != run.name and recipe.eyelets}
    if name not in rows:
        there = ", ".join(f'"{key}"' for key in rows) or "none"
        raise RequestError(f'there is no row called "{name}" for --level-with to go by; there are {there}')
    if len(rows[name].eyelets) > 1:
        raise RequestError(f'"{name}" holds {len(rows[name].eyelets)} rows, and --level-with takes a run with one')
    # What else is put on that run goes by its row, and perhaps by this one.
    bare = replace(rows[name], name=name, notches=(), facings=(), template=None, trim=None, lacing=None)
    return make_run(drawing, bare, {key: recipe for key, recipe in known.items() if key != run.name})


def _uneven(run: Run, other: Run) -> tuple[Warn, ...]:
    own, theirs = run.course.measured, other.course.measured
    if abs(own.length - theirs.length) <= _SEEN:
        return ()
    chords = [float(np.hypot(*np.diff(m.points(np.array([0.0, m.length])), axis=0)[0])) for m in (own, theirs)]
    text = (
        f'this edge is {own.length:.2f} mm long and that of "{other.name}" {theirs.length:.2f} mm, '
        f"{abs(own.length - theirs.length):.2f} mm {'more' if theirs.length > own.length else 'less'}; straight from "
        f"end to end {chords[0]:.2f} and {chords[1]:.2f} mm: the rows are level, counted from where both start"
    )
    x, y = own.points(np.array([own.length]))[0]
    return (Warn("pairs-uneven", text, run.edge.piece.name, float(x), float(y)),)


def _refuse_on_seam(row: Eyelets, shut: Sequence[Zone]) -> None:
    """Refuses a level row of which a part stands on a seam: moved off it, its pair would not be level."""
    stands = "set by those" if row.staggered else "level with its partner"
    for i, s in enumerate(row.s.tolist()):
        for zone in shut:
            if zone.begin + _MOVED < s < zone.end - _MOVED:
                back, on = s - zone.begin, zone.end - s
                raise NoFitError(
                    f'{row.size.part} {i + 1}, {stands} in "{row.level_with}", stands too near to "{zone.name}": '
                    f"have that row stand {back:.2f} mm earlier or {on:.2f} mm later there, or take --off none"
                )


# ---------------------------------------------------------------- layers


def _barrel_warnings(run: Run, words: EyeletWords, row: Eyelets) -> tuple[Warn, ...]:
    """Warnings where barrels are too short or too long for the layers that they go through."""
    setting, size = setting_of(words), row.size
    if setting.thickness is None or not isinstance(size, EyeletSize) or not len(row):
        return ()
    plain = setting.layers or _layers(run.recipe)
    layers = plain + _allowance_layers(run, row)
    out = []
    for code in ("barrel-short", "barrel-long"):
        found = {int(n): barrel_for(int(n), setting.thickness, size.barrel_length) for n in np.unique(layers)}
        wrong = {n: one for n, one in found.items() if (one.short if code == "barrel-short" else one.long)}
        if wrong:
            out.append(_barrel_warning(code, run, row, layers, wrong, setting.thickness))
    return tuple(out)


def _barrel_warning(
    code: str, run: Run, row: Eyelets, layers: Array, wrong: Mapping[int, Barrel], thickness: float
) -> Warn:
    """One warning for all numbers of layers for which a barrel is too short, or too long."""
    parts = [
        f"{counted(int((layers == n).sum()), 'eyelet')} through {counted(n, 'layer')} of {thickness:g} mm: "
        f"{one.fits:.4g} mm"
        for n, one in wrong.items()
    ]
    size = row.size
    length = size.barrel_length if isinstance(size, EyeletSize) else 0.0
    why = "does not reach round to be rolled" if code == "barrel-short" else "folds or tears the cloth when it is set"
    i = int(np.flatnonzero(np.isin(layers, list(wrong)))[0])
    x, y = row.points[i]
    text = f"a barrel of {length:g} mm {why}; what fits is 2 mm more than the layers (common practice), "
    text += f"for {'; for '.join(parts)}"
    return Warn(code, text, run.edge.piece.name, float(x), float(y))


def _layers(recipe: Recipe) -> int:
    """The layers of the edge as far as its recipe tells them: the outside, a facing, its interlining."""
    if not recipe.facings:
        return 1
    # Loaded only where there are facings.
    from .facings import BAND

    faced = [facing for facing in recipe.facings if facing.kind != BAND]
    return 1 + bool(faced) + any(facing.interlining for facing in faced)


def _allowance_layers(run: Run, row: Eyelets) -> Array:
    """How many layers of pressed allowances lie below each flange (n,)."""
    m, half = run.course.measured, 0.5 * row.size.beside
    inset = float(np.hypot(*(row.points - m.points(row.s)).T).max())
    extra = np.zeros(len(row))
    for seam in seams_across(run, inset):
        turns = np.round((seam.s - row.s) / m.length) if run.course.loop else np.zeros(len(row))
        places = np.array([m.carried(point, int(turn)) for point, turn in zip(row.points, turns, strict=True)])
        away = (places - seam.point) @ seam.square
        # A seam's line drawn on far enough meets a curved run again.
        beside = np.abs(row.s + turns * m.length - seam.s) < 4.0 * (seam.before + seam.after + half + inset)
        if seam.before > 0.0:
            extra += seam.layers[0] * (beside & (away < half) & (away > -seam.before - half))
        if seam.after > 0.0:
            extra += seam.layers[1] * (beside & (away > -half) & (away < seam.after + half))
    return extra
