"""A row in the drawing, in the report and in words."""

from __future__ import annotations

from typing import Any

import numpy as np
from lxml import etree

from ..geometry.cubics import Array
from ..geometry.motion import apply, compose
from ..trim.eyelets import Eyelets, EyeletSize
from ..trim.fastenings import Buttonhole, RoundPart
from ..trim.part_shapes import Shape, shapes_of
from .group import Pen
from .numbers import path_text, rounded
from .sheet import parts_at, to_sheet

# Lengths are reported to a millionth of a millimetre.
_PLACES = 6
_CLOSED = 1e-9


def row_elements(pen: Pen, row: Eyelets) -> list[etree._Element]:
    """The elements of a row, each on the piece it lies on; of two halves of a piece only the drawn one has any."""
    out = []
    parts, turns = parts_at(pen.run, row.points, row.s)
    for i, (part, turn) in enumerate(zip(parts.tolist(), turns.tolist(), strict=True)):
        if pen.run.laid.parts[part].copy_of is None:
            back = to_sheet(pen.run.laid, part, turn)
            for shape in shapes_of(row, i):
                element = _element(pen, row, i, shape, back, part)
                element.set("data-part", row.size.part)
                out.append(element)
    return out


def _element(pen: Pen, row: Eyelets, i: int, shape: Shape, back: Array, part: int) -> etree._Element:
    if shape.radius:
        return pen.circle(shape.role, apply(back, row.points[i]), shape.radius, part)
    to_user = compose(pen.from_mm, back)
    texts = []
    for line in shape.lines:
        closed = float(np.abs(line[-1, 3] - line[0, 0]).max()) < _CLOSED
        texts.append(path_text(apply(to_user, line), pen.places, closed))
    return pen.path(shape.role, " ".join(texts), part)


def row_entry(row: Eyelets, i: int, paired: bool) -> dict[str, Any]:
    """What a report says of part `i` beside its place; measures of other parts than its own are null.

    Args:
        row: the row.
        i: the part's number, from 0.
        paired: whether another row is level with this one.
    """
    size = row.size
    eyelet = size if isinstance(size, EyeletSize) else None
    slit = size if isinstance(size, Buttonhole) else None
    return {
        "part": size.part,
        "opening_mm": rounded(eyelet.opening) if eyelet else None,
        "barrel_mm": rounded(eyelet.barrel) if eyelet else None,
        "barrel_length_mm": rounded(eyelet.barrel_length) if eyelet else None,
        "flange_mm": rounded(eyelet.flange) if eyelet else None,
        "hole_mm": rounded(eyelet.hole) if eyelet else None,
        "slit_mm": rounded(slit.length) if slit else None,
        "lies": slit.lies if slit else None,
        "button_mm": rounded(slit.button) if slit else None,
        "button_thickness_mm": rounded(slit.thickness) if slit else None,
        "diameter_mm": rounded(size.diameter) if isinstance(size, RoundPart) else None,
        "assumed": list(size.assumed),
        "moved_mm": 0.0 if row.moved is None else rounded(row.moved[i]),
        "pair": i + 1 if paired or (row.level_with and not row.staggered) else None,
        "patch_mm": rounded(size.flange + 2.0 * row.patch) if row.patch else None,
    }


def row_line(row: Eyelets) -> str:
    """A row in a line."""
    n = len(row)
    text = f"{n} {row.size.part}{'' if n == 1 else 's'}: {_measures(row.size)}"
    if row.size.assumed:
        names = ", ".join(name.replace("_", " ") for name in row.size.assumed)
        text += f" ({names} assumed, common practice: test on a scrap)"
    if row.patch:
        text += f"; patches reach {row.patch:g} mm beyond"
    if row.level_with:
        text += f"; {'staggered against' if row.staggered else 'level with'} {row.level_with}"
    return text


def _measures(size: EyeletSize | Buttonhole | RoundPart) -> str:
    if isinstance(size, EyeletSize):
        return f"opening {size.opening:g} mm, barrel {size.barrel:g}, flange {size.flange:g}, hole to cut {size.hole:g}"
    if isinstance(size, Buttonhole):
        lie = "along the edge" if size.lies == "along" else "across the edge"
        return f"{size.length:g} mm long, {lie}, for buttons {size.button:g} mm wide and {size.thickness:g} thick"
    return f"{size.diameter:g} mm wide"
