"""The report: everything that was made, as figures for programs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from .. import __version__
from ..geometry.cubics import Array
from ..geometry.motion import apply, inverse
from ..pattern.piece import Warn
from ..trim.course import CREST
from ..trim.fit import Fit
from ..trim.row import SECOND_HALF, WHOLE
from ..trim.scallops import Scallops, crest_lengths, stitched_length, valleys
from .drawing import Drawing
from .runs import Run

if TYPE_CHECKING:
    from ..trim.eyelets import Eyelets
    from ..trim.notches import Notches

# Lengths are reported to a millionth of a millimetre: finer than any promise, and free of rounding noise.
_PLACES = 6


def report_of(drawing: Drawing, runs: Sequence[Run], extra: Sequence[Warn] = ()) -> dict[str, Any]:
    """The report on the runs made on a drawing; coordinates in its root user units, lengths in mm."""
    warnings = [warning_entry(drawing, w, None) for w in (*drawing.pattern.warnings, *extra)]
    for run in runs:
        warnings += [warning_entry(drawing, w, run.name) for w in run.warnings]
    return {
        "scallopkit": __version__,
        "input": drawing.name,
        "runs": [run_entry(drawing, run) for run in runs],
        "warnings": warnings,
    }


def warning_entry(drawing: Drawing, warn: Warn, run: str | None) -> dict[str, Any]:
    """One warning; its place in root user units."""
    x = y = None
    if warn.x is not None and warn.y is not None:
        x, y = (round(float(v), _PLACES) for v in apply(inverse(drawing.to_mm), np.array([warn.x, warn.y])))
    return {"code": warn.code, "message": warn.message, "run": run, "piece": warn.piece, "x": x, "y": y}


def run_entry(drawing: Drawing, run: Run) -> dict[str, Any]:
    """Everything about one run."""
    entry: dict[str, Any] = {
        "name": run.name,
        "loop": run.course.loop,
        "length_mm": _mm(run.course.measured.length),
        "count": 0,
        "spans": [],
        "spread": None,
        "residual": None,
        "closure_mm": None,
        "joins": _joins(run),
        "valleys": [],
        "crests": [],
        "scallops": [],
        "alternatives": [],
        "eyelets": [entry for placed in run.eyelets for entry in _eyelets(drawing, run, placed)],
        "notches": [entry for placed in run.notches for entry in _notches(drawing, run, placed)],
        "clips": [],
        "wedges": [],
        "totals": _totals(run),
        "cautions": list(run.cautions),
    }
    if run.fit is not None and run.scallops is not None:
        entry |= _fit_entries(drawing, run, run.fit, run.scallops)
    return entry


def _fit_entries(drawing: Drawing, run: Run, fitted: Fit, placed: Scallops) -> dict[str, Any]:
    points, s = valleys(placed.row)
    crest_s = crest_lengths(placed.row, run.course.measured.length)
    return {
        "count": _count(fitted.count),
        "spans": [
            {
                "from": span.start.name,
                "to": span.end.name,
                "count": _count(count),
                "width_mm": _mm(width),
                "length_mm": _mm(span.length),
                "holds": [span.start.hold, span.end.hold],
            }
            for span, count, width in zip(fitted.spans, fitted.counts, fitted.widths, strict=True)
        ],
        "spread": round(fitted.spread, 12),
        "residual": round(fitted.residual, 12),
        "closure_mm": closure(run, placed),
        "valleys": _places(drawing, run, points, s),
        "crests": _places(drawing, run, placed.crest, crest_s),
        "scallops": [
            {
                "index": i + 1,
                "width_mm": _mm(placed.row.width[i]),
                "depth_mm": _mm(placed.depth[i]),
                "radius_mm": None if math.isnan(placed.radius[i]) else _mm(placed.radius[i]),
                "pieces": [run.edge.piece.name],
                "corner": bool(placed.row.turn[i] != 0.0),
            }
            for i in range(len(placed))
        ],
        "alternatives": [
            {"count": _count(a.count), "width_mm": _mm(a.width), "change": round(a.change, 12)}
            for a in fitted.alternatives
        ],
    }


def _places(drawing: Drawing, run: Run, points: Array, s: Array) -> list[dict[str, Any]]:
    """Points in root user units with their lengths along the run."""
    user = apply(inverse(drawing.to_mm), points)
    along = run.along_edge(s)
    piece = run.edge.piece.name
    return [
        {"piece": piece, "x": round(float(x), 9), "y": round(float(y), 9), "s_mm": _mm(a)}
        for (x, y), a in zip(user, along, strict=True)
    ]


def _eyelets(drawing: Drawing, run: Run, placed: Eyelets) -> list[dict[str, Any]]:
    size = placed.size
    measures = {
        "opening_mm": _mm(size.opening),
        "barrel_mm": _mm(size.barrel),
        "barrel_length_mm": _mm(size.barrel_length),
        "flange_mm": _mm(size.flange),
        "hole_mm": _mm(size.hole),
        "assumed": list(size.assumed),
    }
    places = _places(drawing, run, placed.points, placed.s)
    return [
        {**place, "scallop": int(number) or None, **measures}
        for place, number in zip(places, placed.scallop, strict=True)
    ]


def _notches(drawing: Drawing, run: Run, placed: Notches) -> list[dict[str, Any]]:
    places = _places(drawing, run, placed.points, placed.s)
    return [{**place, "kind": placed.kind, "length_mm": _mm(placed.length)} for place in places]


def closure(run: Run, placed: Scallops) -> float:
    """Largest gap in mm between the two halves of a scallop that crosses a fold, or round a loop's start."""
    row = placed.row
    worst = 0.0
    for i in np.flatnonzero(row.part != WHOLE):
        stop = run.stops[0] if row.part[i] == SECOND_HALF else run.stops[-1]
        if stop.mirror is None or stop.hold != CREST:
            continue
        anchor = run.course.measured.points(np.array([stop.s]))[0]
        worst = max(worst, 2.0 * abs(float((placed.crest[i] - anchor) @ np.array(stop.mirror))))
    spaced = run.recipe.scallop is not None and run.recipe.scallop.space != ""
    if run.course.loop and not spaced and not run.stops[0].gap:
        worst = max(worst, float(np.hypot(*(placed.drawn_start[0] - placed.drawn_end[-1]))))
    return worst


def _joins(run: Run) -> list[dict[str, Any]]:
    out = []
    for stop in run.stops:
        if not stop.fold or stop.mirror is None:
            continue
        tangent = run.course.measured.tangents(np.array([stop.s]))[0]
        off = math.degrees(math.acos(min(1.0, float(tangent @ np.array(stop.mirror)))))
        out.append({"kind": "fold", "at": stop.name, "angle_deg": 2.0 * off, "dip_mm": None, "hold": stop.hold})
    return out


def _totals(run: Run) -> dict[str, Any]:
    """As sewn: what lies on a fold is there once, everything else once for each copy."""
    on_fold = [
        sum(bool(stop.fold and np.isclose(s, stop.s, atol=1e-6)) for stop in run.stops)
        for placed in run.eyelets
        for s in placed.s
    ]
    eyelets = sum(run.copies / (1 << folds) for folds in on_fold)
    stitching = stitched_length(run.scallops) if run.scallops is not None else 0.0
    return {
        "scallops": _count(run.count * run.copies),
        "stitching_mm": _mm(stitching * run.copies),
        "edge_mm": _mm(run.course.measured.length * run.copies),
        "clips": 0,
        "eyelets": _count(eyelets),
        "cord_mm": 0.0,
    }


def _count(count: float) -> float | int:
    return int(count) if count == int(count) else count


def _mm(length: float) -> float:
    return round(float(length), _PLACES)
