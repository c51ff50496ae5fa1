"""Two matched edges in the drawing, in the report and in words."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import Any

import numpy as np
from lxml import etree

from ..construction.matching import EASE, EDIT, GATHERS, PLEATED, Anchor, Matched
from ..construction.pleats import DARTS, END, KNIFE, START, Tuck, called, spacing_of
from ..errors import counted
from ..geometry.cubics import Array, lines
from ..geometry.motion import apply
from ..trim.eyelets import Eyelets
from ..trim.fastenings import EYELET, PARTS
from ..trim.notches import Notches
from .drawing import Drawing
from .group import Pen, empty_group
from .ink import Ink
from .match_lines import (
    EDITED,
    GATHER,
    EditedEnd,
    GatherRow,
    allowance_edges,
    carried_out,
    edited_ends,
    gather_rows,
    match_lines,
)
from .match_phase import InPhase, shift_of
from .matches import MadeMatch, MovedRow, Side
from .numbers import rounded
from .recipe import match_to_text
from .report import count_of, opened_out
from .row_figures import row_elements
from .sheet import parts_at, placed_on_sheet, to_sheet
from .styles import style_of
from .tables import table

# Letters of labels, mm, and how far they stand beyond the lines of pleats.
_LABEL, _BEYOND = 3.5, 6.0
_PLACES = 6


# ---------------------------------------------------------------- in the drawing


def match_group(made: MadeMatch, drawing: Drawing, cut: Mapping[str, Array] = MappingProxyType({})) -> etree._Element:
    """The group that shows a match; it carries its recipe.

    Args:
        made: the match.
        drawing: its drawing.
        cut: the cutting lines of pieces that are drawn as they are cut, by their names; their groups have its notches.
    """
    ink, edges = Ink(made.name, drawing), allowance_edges(made, cut)
    group = empty_group(made.name, match_to_text(made.recipe))
    for line in match_lines(drawing, made):
        role = EDITED if line.look == EDITED else "pleat"
        element = ink.line(role, lines(carried_out(line, edges).points), line.piece.name)
        element.set("style", style_of(line.look, ink.unit_mm))
        group.append(element)
    rows = {id(one): gather_rows(made, one, edges) for one in made.pairs}
    for row in (row for found in rows.values() for row in found):
        element = ink.line("pleat", row.curve, row.piece.name)
        element.set("style", style_of(GATHER, ink.unit_mm))
        group.append(element)
    for side, notches in zip(made.sides, made.notches, strict=True):
        if notches is not None:
            group.extend(_notch_elements(ink, side, notches, cut))
    for moved in made.rows:
        if isinstance(moved.row, Eyelets):
            group.extend(row_elements(Pen(made.sides[1].run, drawing), moved.row))
        else:
            group.extend(_notch_elements(ink, made.sides[1], moved.row, cut))
    for one in made.pairs:
        group.extend(_labels(ink, made, one, rows[id(one)]))
    return group


def _notch_elements(ink: Ink, side: Side, notches: Notches, cut: Collection[str]) -> Iterator[etree._Element]:
    parts, turns = parts_at(side.run, notches.sewn, notches.s)
    for i, (part, turn) in enumerate(zip(parts.tolist(), turns.tolist(), strict=True)):
        place = side.run.laid.parts[part]
        if place.copy_of is None and place.edge.piece.name not in cut:
            line = apply(to_sheet(side.run.laid, part, turn), lines(notches.curve(i)))
            yield ink.line("notch", line, place.edge.piece.name)


def _labels(ink: Ink, made: MadeMatch, one: Matched, rows: Sequence[GatherRow]) -> Iterator[etree._Element]:
    """What is done, written in the longer piece half way along a stretch."""
    if not one.kind:
        return
    place = made.long_side(one).place(made.on_long(one, 0.5 * one.stretch.long))
    if place.drawn:
        away = made.how.length + _BEYOND if one.pleats else _BEYOND
        yield ink.text(
            (_taken(made, one), *_lies_told(one), *_rows_told(rows)),
            place.point + away * place.inward,
            _LABEL,
            place.piece.name,
        )


def _lies_told(one: Matched) -> tuple[str, ...]:
    """How pleats lie once they are folded."""
    if not one.pleats or one.kind == DARTS:
        return ()
    spacing = spacing_of(one.pleats)
    apart = "" if spacing is None else f", {spacing:.2f} mm from one to the next"
    return (f"as sewn: underlay {one.pleats[0].underlay:.2f} mm{apart}",)


def _rows_told(rows: Sequence[GatherRow]) -> tuple[str, ...]:
    if not rows:
        return ()
    offs = " and ".join(f"{off:g}" for off in sorted({round(row.off, 2) for row in rows}))
    return (f"two rows of stitches, {offs} mm outside the seam",)


# ---------------------------------------------------------------- told


def _taken(made: MadeMatch, one: Matched) -> str:
    """How the excess of a stretch is taken up, in a few words."""
    if one.kind == GATHERS:
        return f"gathers, {one.stretch.long:.1f} to {one.stretch.sewn:.1f} mm ({one.ratio:.2f} to 1)"
    if one.kind == EDIT:
        long, short = made.sides if one.stretch.long_a else made.sides[::-1]
        where = _where_edited(one, edited_ends(made, one))
        return f'edit: take {one.stretch.excess:.2f} mm off "{long.name}" {where}, or let "{short.name}" out there'
    if one.kind not in PLEATED:
        return f"ease {one.eased:.2f} mm ({100.0 * one.eased / one.stretch.sewn:.2f}%)" if one.kind == EASE else ""
    n, depth = len(one.pleats), one.pleats[0].depth
    size = f"{depth:.2f} mm deep" if one.kind != "darts" else f"{2.0 * depth:.2f} mm wide"
    toward = ""
    if one.kind == KNIFE:
        ends = {START: one.stretch.first, END: one.stretch.last}
        turned = dict.fromkeys(_own_name(one, ends[tuck.toward]) for tuck in one.tucks)
        toward = f", toward {' and '.join(turned)}"
    rest = f", {one.eased:.2f} mm eased" if one.eased > 1e-4 else ""
    return f"{n} {called(one.kind, n)} {size}{toward}{rest}"


def _own_name(one: Matched, anchor: Anchor) -> str:
    """What an anchor is called on the longer edge of a stretch."""
    return anchor.name_a if one.stretch.long_a else anchor.name_b


def _where_edited(one: Matched, ends: Sequence[EditedEnd]) -> str:
    """Where an edit takes off what is too long."""
    if not ends:
        first, last = (_own_name(one, anchor) for anchor in (one.stretch.first, one.stretch.last))
        return f'between "{first}" and "{last}"'
    names = " and ".join(f'"{_own_name(one, end.anchor)}"' for end in ends)
    return f"at {names}" if len(ends) == 1 else f"at {names}, {ends[0].off:.2f} mm each"


def match_table(matches: Sequence[MadeMatch], terminal: bool) -> str:
    """Matches as tables."""
    return ("\n\n" if terminal else "\n").join(_table(made, terminal) for made in matches)


def _table(made: MadeMatch, terminal: bool) -> str:
    rows = [
        (
            one.stretch.first.name_a,
            one.stretch.last.name_a,
            f"{one.stretch.length_a:.2f}",
            f"{one.stretch.length_b:.2f}",
            f"{one.stretch.length_b - one.stretch.length_a:+.2f}" if one.stretch.excess >= 0.005 else "0.00",
            _taken(made, one),
        )
        for one in made.pairs
    ]
    a, b = made.sides
    head = f"{made.name}: {a.length:.2f} mm to {b.length:.2f} mm"
    out = [
        head,
        table(("from", "to", "first mm", "second mm", "second longer by", "taken up"), rows, terminal=terminal),
    ]
    if made.phases is not None:
        places = [
            (anchor.name_a, f"{phase.a:.2f}", f"{phase.b:.2f}", f"{phase.off:.2f}")
            for anchor, phase in zip(made.anchors, made.phases.at, strict=True)
        ]
        off = "apart mm" if not made.how.phase else f"off {made.how.phase:g} mm by"
        out.append(table(("at", "to first's valley mm", "to second's mm", off), places, terminal=terminal))
        out.append(_phase_told(made, made.phases))
    out += [f'{counted(len(row.a), row.what, _many(row.what))} of "{row.run}" moved to "{b.name}"' for row in made.rows]
    return ("\n\n" if terminal else "\n").join(out)


def _phase_told(made: MadeMatch, found: InPhase) -> str:
    a, b = made.sides
    where = f"{made.how.phase:g} mm beyond those of" if made.how.phase else "those of"
    if made.brought is not None:
        return f'"{b.name}" brought in phase: its valleys lie within {found.off:.2f} mm of {where} "{a.name}"'
    return f'valleys of "{b.name}" lie up to {found.off:.2f} mm from {where} "{a.name}"'


def _many(what: str) -> str:
    return f"{what}es" if what.endswith("h") else f"{what}s"


def match_entry(drawing: Drawing, made: MadeMatch) -> dict[str, Any]:
    """What the report says of a match; lengths in mm, places in root user units."""
    a, b = made.sides
    return {
        "name": made.name,
        "a": a.name,
        "b": b.name,
        "turned": b.turned,
        "length_a_mm": rounded(a.length),
        "length_b_mm": rounded(b.length),
        "difference_mm": rounded(b.length - a.length),
        "anchors": [_anchor_entry(made, k) for k in range(len(made.anchors))],
        "stretches": [_stretch_entry(drawing, made, one) for one in made.pairs],
        "phase_mm": rounded(made.how.phase),
        "phase_off_mm": None if made.phases is None else rounded(made.phases.off),
        "phase_shift_mm": None if made.phases is None else rounded(shift_of(made.seam, made.phases)),
        "in_phase": made.brought is not None,
        "cautions": list(made.cautions),
        "moved": [entry for row in made.rows for entry in _moved_entries(drawing, made, row)],
        "totals": _totals(made),
    }


def _totals(made: MadeMatch) -> dict[str, Any]:
    """What was moved, as sewn: once for each time that the second edge is there."""
    run = made.sides[1].run
    parts = {
        part: count_of(opened_out(run, [float(s) for row in made.rows if row.what == part for s in row.row.s]))
        for part in PARTS
    }
    return {"eyelets": parts[EYELET], "parts": parts}


def _anchor_entry(made: MadeMatch, k: int) -> dict[str, Any]:
    anchor, last = made.anchors[k], len(made.anchors) - 1
    phase = None if made.phases is None else made.phases.at[k]
    return {
        "a": anchor.name_a,
        "b": anchor.name_b,
        "a_mm": rounded(anchor.a),
        "b_mm": rounded(anchor.b),
        "notches": made.counts[k - 1] if 0 < k < last else 0,
        "phase_a_mm": None if phase is None else rounded(phase.a),
        "phase_b_mm": None if phase is None else rounded(phase.b),
        "off_mm": None if phase is None else rounded(phase.off),
    }


def _stretch_entry(drawing: Drawing, made: MadeMatch, one: Matched) -> dict[str, Any]:
    stretch = one.stretch
    long = made.long_side(one).name if one.kind else None
    folded = float(one.to_sewn(np.array([stretch.long]))[0])
    return {
        "from": stretch.first.name_a,
        "to": stretch.last.name_a,
        "length_a_mm": rounded(stretch.length_a),
        "length_b_mm": rounded(stretch.length_b),
        "longer": long,
        "excess_mm": rounded(stretch.excess),
        "ratio": round(one.ratio, 9),
        "how": one.kind or None,
        "eased_mm": rounded(one.eased) if one.kind not in (GATHERS, EDIT) else 0.0,
        "eased_share": round(one.eased / stretch.sewn, 9) if one.kind not in (GATHERS, EDIT) else 0.0,
        "closure_mm": rounded(abs(folded - stretch.sewn)),
        "gathered_to_mm": rounded(stretch.sewn) if one.kind == GATHERS else None,
        "spacing_mm": None if (spacing := spacing_of(one.pleats)) is None else rounded(spacing),
        "edits": [_edit_entry(drawing, made, one, end) for end in edited_ends(made, one)],
        "pleats": [
            {
                "kind": pleat.kind,
                "depth_mm": rounded(pleat.depth),
                "underlay_mm": rounded(pleat.underlay),
                "take_mm": rounded(sum(tuck.take for tuck in pleat.tucks)),
                "folds": [_fold_entry(drawing, made, one, tuck) for tuck in pleat.tucks],
            }
            for pleat in one.pleats
        ],
    }


def _edit_entry(drawing: Drawing, made: MadeMatch, one: Matched, end: EditedEnd) -> dict[str, Any]:
    """What is taken off an end of the longer edge, and where it then ends."""
    place = made.long_side(one).place(made.on_long(one, end.u))
    x, y = Ink(made.name, drawing).in_units(place.point)
    return {
        "at": _own_name(one, end.anchor),
        "off_mm": rounded(end.off),
        "piece": place.piece.name,
        "x": round(float(x), _PLACES),
        "y": round(float(y), _PLACES),
    }


def _fold_entry(drawing: Drawing, made: MadeMatch, one: Matched, tuck: Tuck) -> dict[str, Any]:
    """A fold by its place on the edge; of a dart one of its legs."""
    fold = made.on_long(one, tuck.fold)
    place = made.long_side(one).place(fold)
    x, y = Ink(made.name, drawing).in_units(place.point)
    return {
        "piece": place.piece.name,
        "x": round(float(x), _PLACES),
        "y": round(float(y), _PLACES),
        "fold_mm": rounded(fold),
        "placement_mm": rounded(made.on_long(one, tuck.placement)),
        "sewn_mm": rounded(made.on_short(one, tuck.sewn)),
        "toward": tuck.toward or None,
    }


def _moved_entries(drawing: Drawing, made: MadeMatch, row: MovedRow) -> Iterator[dict[str, Any]]:
    side, placed = made.sides[1], row.row
    parts, points = placed_on_sheet(side.run, placed.points, placed.s)
    units = Ink(made.name, drawing).in_units(points)
    for i, part in enumerate(parts.tolist()):
        yield {
            "run": row.run,
            "what": row.what,
            "piece": side.run.laid.parts[part].edge.piece.name,
            "x": round(float(units[i, 0]), _PLACES),
            "y": round(float(units[i, 1]), _PLACES),
            "a_mm": rounded(row.a[i]),
            "b_mm": rounded(row.b[i]),
            "in_pleat": bool(row.inside[i]),
        }
