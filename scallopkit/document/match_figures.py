"""Two matched edges in the drawing, in the report and in words."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Any

import numpy as np
from lxml import etree

from ..construction.matching import EASE, EDIT, GATHERS, PLEATED, Matched
from ..construction.pleats import KNIFE, Tuck, called
from ..geometry.cubics import lines
from ..geometry.motion import apply
from ..trim.eyelets import Eyelets
from ..trim.notches import Notches
from ..wording import counted
from .drawing import Drawing
from .group import Pen, empty_group
from .ink import Ink
from .matches import MadeMatch, MovedRow, Side, pleat_lines, shift_of
from .numbers import rounded
from .recipe import match_to_text
from .row_figures import row_elements
from .sheet import parts_at, placed_on_sheet, to_sheet
from .styles import style_of
from .tables import table

# Letters of labels, mm, and how far they stand beyond the lines of pleats.
_LABEL, _BEYOND = 3.5, 6.0
_PLACES = 6
# What is moved that takes more than an s when there are several.
_MANY = {"notch": "notches"}


# ---------------------------------------------------------------- in the drawing


def match_group(made: MadeMatch, drawing: Drawing, cut: Collection[str] = ()) -> etree._Element:
    """The group that shows a match; it carries its recipe.

    Args:
        made: the match.
        drawing: its drawing.
        cut: the names of pieces that are drawn as they are cut, whose groups have its notches on the cutting line.
    """
    ink = Ink(made.name, drawing)
    group = empty_group(made.name, match_to_text(made.recipe))
    for line in pleat_lines(drawing, made):
        element = ink.line("pleat", lines(line.points), line.piece.name)
        element.set("style", style_of(line.look, ink.unit_mm))
        group.append(element)
    for side, notches in zip(made.sides, made.notches, strict=True):
        if notches is not None:
            group.extend(_notch_elements(ink, side, notches, cut))
    for row in made.rows:
        if isinstance(row.row, Eyelets):
            group.extend(row_elements(Pen(made.sides[1].run, drawing), row.row))
        else:
            group.extend(_notch_elements(ink, made.sides[1], row.row, cut))
    group.extend(_labels(ink, made))
    return group


def _notch_elements(ink: Ink, side: Side, notches: Notches, cut: Collection[str]) -> Iterator[etree._Element]:
    parts, turns = parts_at(side.run, notches.sewn, notches.s)
    for i, (part, turn) in enumerate(zip(parts.tolist(), turns.tolist(), strict=True)):
        place = side.run.laid.parts[part]
        if place.copy_of is None and place.edge.piece.name not in cut:
            line = apply(to_sheet(side.run.laid, part, turn), lines(notches.curve(i)))
            yield ink.line("notch", line, place.edge.piece.name)


def _labels(ink: Ink, made: MadeMatch) -> Iterator[etree._Element]:
    """What is done, written in the longer piece half way along each stretch."""
    for one in made.pairs:
        if not one.kind:
            continue
        place = made.long_side(one).place(made.on_long(one, 0.5 * one.stretch.long))
        if place.drawn:
            away = made.how.length + _BEYOND if one.pleats else _BEYOND
            yield ink.text((_taken(made, one),), place.point + away * place.inward, _LABEL, place.piece.name)


# ---------------------------------------------------------------- told


def _taken(made: MadeMatch, one: Matched) -> str:
    """How the excess of a stretch is taken up, in a few words."""
    if one.kind == GATHERS:
        return f"gathers, {one.stretch.long:.1f} to {one.stretch.sewn:.1f} mm ({one.ratio:.2f} to 1)"
    if one.kind == EDIT:
        long, short = made.sides if one.stretch.long_a else made.sides[::-1]
        return f'edit: take {one.stretch.excess:.2f} mm off "{long.name}", or let "{short.name}" out'
    if one.kind not in PLEATED:
        return f"ease {one.eased:.2f} mm ({100.0 * one.eased / one.stretch.sewn:.2f}%)" if one.kind == EASE else ""
    n, depth = len(one.pleats), one.pleats[0].depth
    size = f"{depth:.2f} mm deep" if one.kind != "darts" else f"{2.0 * depth:.2f} mm wide"
    toward = ""
    if one.kind == KNIFE:
        turned = list(dict.fromkeys(tuck.toward for tuck in one.tucks))
        toward = f", toward {' and '.join(turned)}"
    rest = f", {one.eased:.2f} mm eased" if one.eased > 1e-4 else ""
    return f"{n} {called(one.kind, n)} {size}{toward}{rest}"


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
    if made.phases:
        places = [
            (anchor.name_a, f"{phase.a:.2f}", f"{phase.b:.2f}", f"{phase.off:.2f}")
            for anchor, phase in zip(made.anchors, made.phases, strict=True)
        ]
        out.append(table(("at", "to first's valley mm", "to second's mm", "apart mm"), places, terminal=terminal))
    out += [
        f'{counted(len(row.a), row.what, _MANY.get(row.what, ""))} of "{row.run}" moved to "{b.name}"'
        for row in made.rows
    ]
    return ("\n\n" if terminal else "\n").join(out)


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
        "phase_shift_mm": rounded(shift_of(made)) if made.phases else None,
        "cautions": list(made.cautions),
        "moved": [entry for row in made.rows for entry in _moved_entries(drawing, made, row)],
    }


def _anchor_entry(made: MadeMatch, k: int) -> dict[str, Any]:
    anchor, last = made.anchors[k], len(made.anchors) - 1
    phase = made.phases[k] if made.phases else None
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
        "pleats": [
            {
                "kind": pleat.kind,
                "depth_mm": rounded(pleat.depth),
                "take_mm": rounded(sum(tuck.take for tuck in pleat.tucks)),
                "folds": [_fold_entry(drawing, made, one, tuck) for tuck in pleat.tucks],
            }
            for pleat in one.pleats
        ],
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
