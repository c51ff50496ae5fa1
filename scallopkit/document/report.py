"""The report: everything that was made, as figures for programs."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from .. import __version__
from ..geometry.cubics import Array
from ..geometry.motion import apply, inverse
from ..pattern.joins import DART
from ..pattern.laying import Joint
from ..pattern.piece import Warn
from ..trim.course import CREST
from ..trim.fastenings import EYELET, PARTS
from ..trim.fit import Fit
from ..trim.row import SECOND_HALF, WHOLE
from ..trim.scallops import Scallops, crest_lengths, stitched_length, valleys
from .altering import Alteration, alterations, altered
from .drawing import Drawing
from .kept import kept_recipes
from .numbers import rounded
from .recipe import RAW
from .runs import Ratio, Run
from .sheet import placed_on_sheet
from .sheet_places import Places, off_page, places_of

if TYPE_CHECKING:
    from ..trim.eyelets import Eyelets
    from ..trim.notches import Notches
    from .bought_trims import MadeTrim
    from .cut_pieces import MadePiece
    from .finishing import Finish
    from .matches import MadeMatch
    from .straps import MadeStrap

# Lengths are reported to a millionth of a millimetre: finer than any promise, and free of rounding noise.
_PLACES = 6
# So many rows can meet.
_ROWS = 2


def report_of(
    drawing: Drawing,
    runs: Sequence[Run],
    extra: Sequence[Warn] = (),
    pieces: Sequence[MadePiece] = (),
    straps: Sequence[MadeStrap] = (),
    matches: Sequence[MadeMatch] = (),
) -> dict[str, Any]:
    """The report on what was made on a drawing; coordinates in its root user units, lengths in mm."""
    warnings = [warning_entry(drawing, w, None) for w in (*drawing.pattern.warnings, *extra)]
    for run in runs:
        warnings += [warning_entry(drawing, w, run.name) for w in run.warnings]
    places = places_of(drawing, runs)
    paired = _paired(drawing, runs)
    warnings += [warning_entry(drawing, w, None) for w in (*off_page(drawing, runs), *_parts_met(runs))]
    for made in pieces:
        warnings += [warning_entry(drawing, w, None) for w in made.warnings]
    for match in matches:
        warnings += [warning_entry(drawing, w, None) for w in match.warnings]
    entries = [run_entry(drawing, run, places[run.name], paired) for run in runs]
    _tell_seams(drawing, runs, entries, pieces, matches)
    return {
        "scallopkit": __version__,
        "input": drawing.name,
        "runs": entries,
        "pieces": [_piece_entry(drawing, made) for made in pieces],
        "straps": [_strap_entry(made) for made in straps],
        "matches": [_match_entry(drawing, match) for match in matches],
        "warnings": warnings,
    }


def _parts_met(runs: Sequence[Run]) -> list[Warn]:
    if sum(bool(run.eyelets) for run in runs) < _ROWS:
        return []
    # Loaded only where rows can meet.
    from .parts_met import parts_met

    return parts_met(runs)


def _tell_seams(
    drawing: Drawing,
    runs: Sequence[Run],
    entries: Sequence[dict[str, Any]],
    pieces: Sequence[MadePiece],
    matches: Sequence[MadeMatch],
) -> None:
    """Adds to joins where their seam ends, and how much of it is sewn that is counted nowhere else."""
    if not any(run.laid.joints for run in runs):
        return
    # Loaded only where edges are joined.
    from .cut_pieces import darts_sewn
    from .same_seams import other_ends, sewn_lengths

    counted = [(leg, mm) for made in pieces for legs, mm in darts_sewn(drawing, made) for leg in legs]
    for match in matches:
        edges = [part.edge.curve for side in match.sides for part in side.run.laid.parts]
        counted += [(edge, match.sides[0].length) for edge in edges]
    ends, sewn = other_ends(runs), sewn_lengths(runs, counted)
    for run, entry in zip(runs, entries, strict=True):
        first = int(run.laid.folds[0] is not None)
        for k, join in enumerate(entry["joins"]):
            join["other_end"] = ends.get((run.name, join["at"]))
            join["sewn_mm"] = rounded(sewn.get((run.name, k - first), 0.0))


def _paired(drawing: Drawing, runs: Sequence[Run]) -> set[str]:
    """The runs with whose rows others are level, those that the drawing holds among them."""
    if not any(run.eyelets for run in runs):
        return set()
    recipes = kept_recipes(drawing.source) | {run.name: run.recipe for run in runs}
    return {row.level_with for recipe in recipes.values() for row in recipe.eyelets}


def warning_entry(drawing: Drawing, warn: Warn, run: str | None) -> dict[str, Any]:
    """One warning; its place in root user units."""
    x = y = None
    if warn.x is not None and warn.y is not None:
        x, y = (round(float(v), _PLACES) for v in apply(inverse(drawing.to_mm), np.array([warn.x, warn.y])))
    return {"code": warn.code, "message": warn.message, "run": run, "piece": warn.piece, "x": x, "y": y}


def _strap_entry(made: MadeStrap) -> dict[str, Any]:
    # Loaded only where there are straps.
    from .straps import strap_entry

    return strap_entry(made)


def _match_entry(drawing: Drawing, made: MadeMatch) -> dict[str, Any]:
    # Loaded only where edges are matched.
    from .match_figures import match_entry

    return match_entry(drawing, made)


def _piece_entry(drawing: Drawing, made: MadePiece) -> dict[str, Any]:
    # Loaded only where pieces are cut.
    from .cut_pieces import piece_entry

    return piece_entry(drawing, made)


def run_entry(drawing: Drawing, run: Run, places: Places | None = None, paired: Collection[str] = ()) -> dict[str, Any]:
    """Everything about one run; `places` as for its group, `paired` the runs with whose rows others are level."""
    entry: dict[str, Any] = {
        "name": run.name,
        "loop": run.course.loop,
        "length_mm": rounded(run.course.measured.length),
        "count": 0,
        "spans": [],
        "spread": None,
        "residual": None,
        "closure_mm": None,
        "joins": [join_entry(run, joint) for joint in joints_of(run)],
        "valleys": [],
        "crests": [],
        "scallops": [],
        "alternatives": [],
        "eyelets": [entry for row in run.eyelets for entry in _eyelets(drawing, run, row, run.name in paired)],
        "notches": [entry for placed in run.notches for entry in _notches(drawing, run, placed)],
        "clips": _clips(drawing, run),
        "wedges": _wedges(drawing, run),
        "totals": _totals(run),
        "cautions": list(run.cautions),
        "ratio": None if run.ratio is None else _ratio_entry(run.ratio),
        "alterations": [_alteration_entry(made) for made in alterations(drawing, run)] if altered(run) else [],
        "finish": None if run.finish is None else _finish_entry(run.finish),
        "facings": [],
        "templates": [],
        "trim": None if run.trim is None else _trim_entry(run.trim),
        "lacing": None,
    }
    if run.facings or run.templates or run.lacing is not None:
        entry |= _beside_entries(drawing, run, places or places_of(drawing, [run])[run.name])
    if run.fit is not None and run.scallops is not None:
        entry |= _fit_entries(drawing, run, run.fit, run.scallops)
    return entry


def _trim_entry(made: MadeTrim) -> dict[str, Any]:
    # Loaded only where there is one.
    from .bought_trims import trim_entry

    return trim_entry(made)


def _beside_entries(drawing: Drawing, run: Run, places: Places) -> dict[str, Any]:
    # Loaded only where there are any.
    from .facings import facing_entry
    from .templates import template_entries

    facings = zip(run.facings, places.facings, strict=True)
    cards = zip(run.templates, places.templates, strict=True)
    lacing = {}
    if run.lacing is not None:
        from .lacing import lacing_entry

        lacing = {"lacing": lacing_entry(drawing, run.lacing, places.lacing)}
    return {
        **lacing,
        "facings": [facing_entry(drawing, made, shift) for made, shift in facings],
        "templates": [template_entries(drawing, made, shift) for made, shift in cards],
    }


def _fit_entries(drawing: Drawing, run: Run, fitted: Fit, placed: Scallops) -> dict[str, Any]:
    points, s = valleys(placed.row, run.course.measured.closing)
    pieces = pieces_of(run)
    return {
        "count": count_of(fitted.count),
        "spans": [
            {
                "from": span.start.name,
                "to": span.end.name,
                "count": count_of(count),
                "width_mm": rounded(width),
                "length_mm": rounded(span.length),
                "holds": [span.start.hold, span.end.hold],
            }
            for span, count, width in zip(fitted.spans, fitted.counts, fitted.widths, strict=True)
        ],
        "spread": round(fitted.spread, 12),
        "residual": round(fitted.residual, 12),
        "closure_mm": closure(run, placed),
        "valleys": _places(drawing, run, points, s),
        "crests": _places(drawing, run, placed.crest, crest_lengths(placed.row)),
        "scallops": [
            {
                "index": i + 1,
                "width_mm": rounded(placed.row.width[i]),
                "depth_mm": rounded(placed.depth[i]),
                "radius_mm": None if math.isnan(placed.radius[i]) else rounded(placed.radius[i]),
                "pieces": pieces[i],
                "corner": bool(placed.row.turn[i] != 0.0),
            }
            for i in range(len(placed))
        ],
        "alternatives": [
            {"count": count_of(a.count), "width_mm": rounded(a.width), "change": round(a.change, 12)}
            for a in fitted.alternatives
        ],
    }


def _ratio_entry(ratio: Ratio) -> dict[str, Any]:
    return {"run": ratio.run, "asked": ratio.asked, "reached": round(ratio.reached, 9)}


def _alteration_entry(made: Alteration) -> dict[str, Any]:
    return {"span": made.span, "at": made.at, "piece": made.piece, "add_mm": rounded(made.add)}


def pieces_of(run: Run) -> list[list[str]]:
    """For each scallop the pieces on which it lies, in the order of the run."""
    out: list[list[str]] = [[] for _ in range(len(run.line.placed))]
    count = run.line.elements
    for share, part in zip(run.shares, run.laid.parts, strict=True):
        name = part.edge.piece.name
        last = share.end.element if share.end.point is not None else share.end.element - 1
        for element in range(share.begin.element, last + 1):
            i, is_link = divmod(element % count, 2)
            if not is_link and name not in out[i]:
                out[i].append(name)
    return out


def _places(drawing: Drawing, run: Run, points: Array, s: Array, beside: Array | None = None) -> list[dict[str, Any]]:
    """Points of the flat frame in root user units on their pieces, with their lengths along the run.

    What lies on the other half of a folded piece is drawn, and listed, on the one half only. Of which piece a point is
    told by itself, or by the place given for it in `beside`.
    """
    parts, places = placed_on_sheet(run, points, s, beside)
    user = apply(inverse(drawing.to_mm), places)
    along = run.along_run(s)
    laid = run.laid.parts
    return [
        {
            "piece": laid[part].edge.piece.name,
            "x": round(float(x), 9),
            "y": round(float(y), 9),
            "s_mm": rounded(a),
        }
        for part, (x, y), a in zip(parts.tolist(), user, along, strict=True)
        if laid[part].copy_of is None
    ]


def _eyelets(drawing: Drawing, run: Run, placed: Eyelets, paired: bool) -> list[dict[str, Any]]:
    # Loaded only where there are any.
    from .row_figures import row_entry

    places = _places(drawing, run, placed.points, placed.s)
    kept = drawn_numbers(run, placed.points, placed.s)
    return [
        {**place, "scallop": int(placed.scallop[i]) or None, **row_entry(placed, i, paired)}
        for place, i in zip(places, kept, strict=True)
    ]


def drawn_numbers(run: Run, points: Array, s: Array) -> list[int]:
    """Numbers of the points that lie on parts which are drawn."""
    parts, _ = placed_on_sheet(run, points, s)
    return [i for i, part in enumerate(parts.tolist()) if run.laid.parts[part].copy_of is None]


def _notches(drawing: Drawing, run: Run, placed: Notches) -> list[dict[str, Any]]:
    places = _places(drawing, run, placed.points, placed.s)
    return [{**place, "kind": placed.kind, "length_mm": rounded(placed.length)} for place in places]


def _clips(drawing: Drawing, run: Run) -> list[dict[str, Any]]:
    """The clips that are drawn, each by its inner end."""
    made = run.finish.clipping if run.finish is not None else None
    clips = made.clips if made is not None else ()
    points, s = np.array([clip.point for clip in clips]).reshape(-1, 2), np.array([clip.s for clip in clips])
    places, kept = _places(drawing, run, points, s), drawn_numbers(run, points, s)
    return [
        {
            **place,
            "kind": clips[i].kind,
            "length_mm": rounded(np.hypot(*(clips[i].start - clips[i].point))),
            "scallop": clips[i].scallop + 1,
        }
        for place, i in zip(places, kept, strict=True)
    ]


def _wedges(drawing: Drawing, run: Run) -> list[dict[str, Any]]:
    """The wedges that are drawn, each by its tip, on the piece whose raw edge its mouth lies on."""
    made = run.finish.clipping if run.finish is not None else None
    wedges = made.wedges if made is not None else ()
    tips, middles = (np.array(ends).reshape(-1, 2) for ends in ([w.tip for w in wedges], [w.middle for w in wedges]))
    s = np.array([wedge.s for wedge in wedges])
    places, kept = _places(drawing, run, tips, s, middles), drawn_numbers(run, middles, s)
    return [
        {**place, "width_mm": rounded(wedges[i].width), "scallop": wedges[i].scallop + 1}
        for place, i in zip(places, kept, strict=True)
    ]


def _finish_entry(finish: Finish) -> dict[str, Any]:
    made = finish.clipping
    return {
        "kind": finish.kind,
        "cut": finish.cut.kind,
        "cut_mm": rounded(finish.cut.distance),
        "trimmed_mm": rounded(finish.trimmed),
        "taken_out_mm": rounded(made.taken_out) if made is not None else 0.0,
        "opened_mm": rounded(made.opened) if made is not None else 0.0,
        "grading": [{"layer": layer.name, "allowance_mm": rounded(layer.allowance)} for layer in finish.grading],
        "stitches": [
            {
                "scallops": list(one.scallops),
                "stitches": one.per_scallop,
                "length_mm": rounded(one.length_mm),
                "across_mm": rounded(one.across_mm),
                "line_mm": rounded(one.arc_mm),
            }
            for one in finish.stitches.scallops
        ],
    }


def closure(run: Run, placed: Scallops) -> float:
    """Largest gap in mm, as sewn, between the two halves of anything that crosses a join, or round a loop's start."""
    row = placed.row
    worst = 0.0
    for i in np.flatnonzero(row.part != WHOLE):
        stop = run.stops[0] if row.part[i] == SECOND_HALF else run.stops[-1]
        if stop.mirror is None or stop.hold != CREST:
            continue
        anchor = run.course.measured.points(np.array([stop.s]))[0]
        worst = max(worst, 2.0 * abs(float((placed.crest[i] - anchor) @ np.array(stop.mirror))))
    if run.laid.joints:
        return max([worst, *(gap for gap in joint_gaps(run) if gap is not None)])
    spaced = run.recipe.scallop is not None and run.recipe.scallop.space != ""
    if run.course.loop and not spaced and not run.stops[0].gap:
        again = run.course.measured.carried(placed.drawn_start[0])
        worst = max(worst, float(np.hypot(*(again - placed.drawn_end[-1]))))
    return worst


def joint_gaps(run: Run) -> list[float | None]:
    """At each joint the gap in mm between the two shares of the trimmed line, each laid flat from its own piece.

    None where the line is meant to stop short of the joint, and where the edges lap over each other.
    """
    shares = [[curve for _, curve in run.share_on_sheet(share)] for share in run.shares]
    out: list[float | None] = []
    for k, joint in enumerate(run.laid.joints):
        following = (k + 1) % len(shares)
        gap = any(stop.breaks and run.is_at(joint, stop.s) for stop in run.stops)
        if gap or joint.lap or not shares[k] or not shares[following]:
            out.append(None)
            continue
        end = apply(run.laid.parts[k].motion, shares[k][-1][-1, 3])
        start = apply(run.laid.parts[following].motion, shares[following][0][0, 0])
        start = apply(run.laid.closing, start) if k + 1 == len(shares) else start
        out.append(float(np.hypot(*(end - start))))
    return out


def joints_of(run: Run) -> list[Joint]:
    """The joints of a run in order, with folds where it ends."""
    first, last = run.laid.folds
    return [joint for joint in (first, *run.laid.joints, last) if joint is not None]


def join_entry(run: Run, joint: Joint) -> dict[str, Any]:
    """One join: how true it is, and what the trim does there."""
    near = [stop for stop in run.stops if run.is_at(joint, stop.s)]
    hold = ("gap" if near[0].breaks else near[0].hold) if near else "pass"
    true, found = joint.true, joint.meeting
    return {
        "kind": joint.kind,
        "at": joint.name,
        "ends": [] if found is None else [found.first.end, found.second.start],
        "pieces": [] if found is None else list(dict.fromkeys([found.first.piece.name, found.second.piece.name])),
        "angle_deg": round(math.degrees(true.angle), 9),
        "dip_mm": rounded(true.dip),
        "hold": hold,
        "s_mm": rounded(joint.s),
        "trued": joint.trued,
        "legs_differ_mm": rounded(found.difference) if found is not None and joint.kind == DART else None,
        "pressed_to": _pressed(run, joint),
        "other_end": None,
        "sewn_mm": 0.0,
    }


def _pressed(run: Run, joint: Joint) -> str | None:
    """Toward which of its legs' ends a dart is pressed."""
    if joint.kind != DART:
        return None
    # Loaded only where there are darts.
    from .caps import pressed_to

    return pressed_to(run, run.laid.joints.index(joint))


def _totals(run: Run) -> dict[str, Any]:
    """As sewn: what lies on a fold is there once, everything else once for each copy."""
    made = run.finish.clipping if run.finish is not None else None
    parts = {
        part: count_of(opened_out(run, [float(s) for row in run.eyelets if row.size.part == part for s in row.s]))
        for part in PARTS
    }
    clips = opened_out(run, [clip.s for clip in made.clips] if made is not None else [])
    wedges = opened_out(run, [wedge.s for wedge in made.wedges] if made is not None else [])
    raw = run.finish is not None and run.finish.kind == RAW
    stitching = stitched_length(run.scallops) if run.scallops is not None and not raw else 0.0
    return {
        "scallops": count_of(run.count * run.copies),
        "stitching_mm": rounded(stitching * run.copies),
        "edge_mm": rounded(run.course.measured.length * run.copies),
        "clips": count_of(clips),
        "wedges": count_of(wedges),
        "eyelets": parts[EYELET],
        "parts": parts,
        "cord_mm": rounded(run.lacing.total) if run.lacing is not None else 0.0,
        "trim_mm": 0.0 if run.trim is None else rounded(run.trim.bought.total),
    }


def opened_out(run: Run, places: Sequence[float]) -> float:
    """How many there are once folds are opened and pairs cut, of what stands at lengths along the course."""
    on_folds = [sum(bool(stop.fold and np.isclose(s, stop.s, atol=1e-6)) for stop in run.stops) for s in places]
    return sum(run.copies / (1 << folds) for folds in on_folds)


def count_of(count: float) -> float | int:
    """A count, whole where it is."""
    return int(count) if count == int(count) else count
