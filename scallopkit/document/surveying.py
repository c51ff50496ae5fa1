"""The survey of a drawing as tables for people and as figures for programs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from .. import __version__
from ..geometry.motion import apply, inverse
from ..pattern.survey import Survey, SurveyedPiece, survey
from .drawing import Drawing
from .kept import run_groups
from .report import warning_entry
from .tables import table

# Said where pieces could be sewn together, and no seam shows.
NO_SEAMS = (
    "no seams found: give the marks at both ends of two edges that are sewn together the same names; "
    "edges to gather or pleat are not guessed"
)


def survey_entry(drawing: Drawing) -> dict[str, Any]:
    """Everything the survey found; coordinates in root user units, lengths in mm, angles in degrees."""
    found = survey(drawing.pattern)
    warnings = (*drawing.pattern.warnings, *found.warnings)
    return {
        "scallopkit": __version__,
        "input": drawing.name,
        "size_mm": None if drawing.size_mm is None else list(drawing.size_mm),
        "pieces": [_piece_entry(drawing, piece) for piece in found.pieces],
        "joins": [
            {
                "kind": join.kind,
                "first": join.first,
                "second": join.second,
                "first_mm": round(join.first_length, 6),
                "second_mm": round(join.second_length, 6),
                "reasons": list(join.reasons),
                "first_parts": list(join.first_parts),
                "second_parts": list(join.second_parts),
                "first_darts": list(join.first_darts),
                "second_darts": list(join.second_darts),
            }
            for join in found.joins
        ],
        "runs": [group.name for group in run_groups(drawing.source)],
        "skipped": [{"what": s.what, "why": s.why} for s in drawing.pattern.skipped],
        "warnings": [warning_entry(drawing, warn, None) for warn in warnings],
    }


def _piece_entry(drawing: Drawing, piece: SurveyedPiece) -> dict[str, Any]:
    def place(x: float, y: float) -> dict[str, float]:
        u, v = apply(inverse(drawing.to_mm), np.array([x, y]))
        return {"x": round(float(u), 9), "y": round(float(v), 9)}

    return {
        "name": piece.name,
        "names": list(piece.names),
        "closed": piece.closed,
        "width_mm": round(piece.width, 6),
        "height_mm": round(piece.height, 6),
        "length_mm": round(piece.length, 6),
        "corners": [
            {"name": c.name, **place(c.x, c.y), "s_mm": round(c.s, 6), "turn_deg": round(math.degrees(c.turn), 4)}
            for c in piece.corners
        ],
        "edges": [{"from": e.start, "via": e.via, "to": e.end, "length_mm": round(e.length, 6)} for e in piece.edges],
        "marks": [
            {
                "name": m.name,
                **place(m.x, m.y),
                "s_mm": round(m.s, 6),
                "distance_mm": round(m.distance, 6),
                "corner": m.corner,
            }
            for m in piece.marks
        ],
    }


def survey_tables(drawing: Drawing, terminal: bool) -> str:
    """The survey as tables."""
    found = survey(drawing.pattern)
    parts = [_pieces(found, terminal)]
    edges = [(piece.name, edge.name, f"{edge.length:.2f}") for piece in found.pieces for edge in piece.edges]
    corners = [
        (piece.name, c.name, f"{c.s:.2f}", f"{math.degrees(c.turn):+.1f}", f"{c.x:.1f}", f"{c.y:.1f}")
        for piece in found.pieces
        for c in piece.corners
    ]
    marks = [
        (piece.name, m.name, f"{m.s:.2f}", f"{m.distance:.2f}", m.corner or "")
        for piece in found.pieces
        for m in piece.marks
    ]
    joins = [
        (
            j.kind,
            " + ".join(j.first_parts),
            " + ".join(j.second_parts),
            f"{j.first_length:.2f}",
            f"{j.second_length:.2f}",
            "; ".join(j.reasons),
        )
        for j in found.joins
    ]
    blocks: list[tuple[tuple[str, ...], Sequence[tuple[str, ...]]]] = [
        (("piece", "edge", "length mm"), edges),
        (("piece", "corner", "along mm", "turn deg", "x mm", "y mm"), corners),
        (("piece", "mark", "along mm", "off the edge mm", "at corner"), marks),
        (("join", "edge", "with edge", "length mm", "length mm", "because"), joins),
        (("skipped", "why"), [(s.what, s.why) for s in drawing.pattern.skipped]),
        (("run in the drawing",), [(group.name,) for group in run_groups(drawing.source)]),
    ]
    parts += [table(head, rows, terminal=terminal) for head, rows in blocks if rows]
    parts += [NO_SEAMS] * found.lacks_seams
    parts += [f"warning ({w.code}): {w.message}" for w in found.warnings]
    return ("\n\n" if terminal else "\n").join(parts)


def _pieces(found: Survey, terminal: bool) -> str:
    rows = [
        (
            piece.name,
            "closed" if piece.closed else "open",
            f"{piece.width:.1f} x {piece.height:.1f}",
            f"{piece.length:.2f}",
            ", ".join(name for name in piece.names if name != piece.name),
        )
        for piece in found.pieces
    ]
    return table(("piece", "outline", "size mm", "length mm", "also called"), rows, terminal=terminal)
