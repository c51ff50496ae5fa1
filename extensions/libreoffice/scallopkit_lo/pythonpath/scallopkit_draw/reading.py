"""The lines on a page, as the library takes them: in mm, each with a name by which it is known again.

The host counts in hundredths of a millimetre, with whole numbers.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from .keeping import GROUP, LAYER, kept_in
from .refusing import Refusal

_UNIT = 100.0
_LINES = ("OpenBezier", "ClosedBezier", "OpenFreeHand", "ClosedFreeHand", "PolyLine", "PolyPolygon", "Line")
_CLOSED = ("POLY", "PATHPOLY", "PATHFILL", "FREEFILL", "SPLNFILL")
_CONTROL = "CONTROL"
# A shape up to this size, in hundredths of a mm, marks a place on a line that is selected with it.
_MARK_MOST = 1000
_PLAIN = "curve"


@dataclass
class Line:
    """A line of the maker's: its shape, its outlines as the library takes them, and by what it is known again."""

    shape: object
    curves: list
    known_by: str
    name: str = ""

    @property
    def sent(self) -> list:
        """Its outlines with their names."""
        return [
            {"name": self.name if k == 0 else f"{self.name}.{k + 1}", **curve} for k, curve in enumerate(self.curves)
        ]


def walk(container: object) -> object:
    """All single shapes of a page or a group, but for ours."""
    for k in range(container.Count):
        shape = container.getByIndex(k)
        if kept_in(shape) or shape.LayerName == LAYER:
            continue
        if shape.ShapeType == GROUP:
            yield from walk(shape)
        else:
            yield shape


def lines_on(page: object, names: dict) -> list:
    """The lines of a page, each with its name.

    Args:
        page: the page.
        names: names that lines without one of their own got before, and by what each is known again.
    """
    shapes = [shape for shape in walk(page) if is_line(shape)]
    found = [Line(shape, curves, _known_by(curves)) for shape in shapes for curves in [_curves(shape)] if curves]
    _name_all(found, names)
    return found


def is_line(shape: object) -> bool:
    """Whether a shape has points that can be read."""
    kind = shape.ShapeType.rpartition(".")[2]
    return kind in [f"{name}Shape" for name in _LINES] and hasattr(shape, "PolyPolygonBezier")


def mark_of(shape: object) -> dict:
    """The middle of a small shape that is no line, as a mark; nothing for others."""
    size, at = shape.Size, shape.Position
    if is_line(shape) or max(size.Width, size.Height) > _MARK_MOST:
        return {}
    x, y = at.X + 0.5 * size.Width, at.Y + 0.5 * size.Height
    return {"name": shape.Name.strip(), "x": x / _UNIT, "y": y / _UNIT}


def page_size(page: object) -> list:
    """Width and height of a page in mm."""
    return [page.Width / _UNIT, page.Height / _UNIT]


def _curves(shape: object) -> list:
    """The outlines of a shape; those without length are left out."""
    points = shape.PolyPolygonBezier
    if points is None:
        raise Refusal("The points of a line could not be read just now: try again.")
    closed = shape.PolygonKind.value in _CLOSED
    out = []
    for k, places in enumerate(points.Coordinates):
        curve = _segments(places, points.Flags[k])
        if curve:
            if closed and curve[-1][-1] != curve[0][0]:
                curve.append([curve[-1][-1], curve[0][0]])
            out.append({"closed": closed, "curve": curve})
    return out


def _segments(places: tuple, flags: tuple) -> list:
    """Nodes and handles in a row as segments: two points for a straight one, four for a curved one."""
    out: list = []
    part: list = []
    for k, place in enumerate(places):
        part.append([place.X / _UNIT, place.Y / _UNIT])
        if flags[k].value != _CONTROL and len(part) > 1:
            if any(point != part[0] for point in part):
                out.append(part)
            part = [part[-1]]
    return out


def _known_by(curves: list) -> str:
    return hashlib.sha256(repr(curves).encode()).hexdigest()[:12]


def _name_all(lines: list, names: dict) -> None:
    """Gives each line its name: its own where no other has it, else the one it got before, else a new one."""
    own = [line.shape.Name.strip() for line in lines]
    before = {known_by: name for name, known_by in names.items()}
    loose = []
    for k, line in enumerate(lines):
        line.name = before.pop(line.known_by, "") or (own[k] if own.count(own[k]) == 1 else "")
        if not line.name:
            loose.append(line)
    left = [name for name in names if all(line.name != name for line in lines)]
    if len(left) == len(loose) == 1:
        # The only line without a name that changed is the one that is no longer found.
        loose[0].name = left[0]
    taken = {*own, *names}
    for line in loose:
        number = 1
        while not line.name:
            name = f"{line.shape.Name.strip() or _PLAIN} {number}"
            line.name = "" if name in taken else name
            number += 1
        taken.add(line.name)
