"""The path language of SVG 2 (https://www.w3.org/TR/SVG2/paths.html).

What a broken path holds up to its last good segment is kept, as the specification asks, and the fault is reported:
an edge that ends early would otherwise be silently short.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ..geometry.arcs import elliptical_arcs
from ..geometry.cubics import Array, Ints, lines, quadratics
from .number_lists import NUMBER, SEPARATOR, SPACE, USUAL_GAPS, number_place, read_numbers, split_numbers

_LETTERS = "MmZzLlHhVvCcSsQqTtAa"
_COMMAND = re.compile(f"([{_LETTERS}])([^{_LETTERS}]*)")
_SIZE = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7}
# A lookahead with a back reference never gives a digit back, so `2501 025` is not split to make it fit.
_ARC = re.compile(
    rf"(?=({NUMBER}))\1{SEPARATOR}(?=({NUMBER}))\2{SEPARATOR}(?=({NUMBER}))\3{SEPARATOR}"
    rf"([01]){SEPARATOR}([01]){SEPARATOR}(?=({NUMBER}))\6{SEPARATOR}(?=({NUMBER}))\7"
)
_ARC_STEPS = [(re.compile(p + SEPARATOR), p) for p in (NUMBER, NUMBER, NUMBER, "[01]", "[01]", NUMBER, NUMBER)]
_BLANK = re.compile(SPACE)
_BETWEEN = re.compile(SEPARATOR)
_NO_BLANKS = dict.fromkeys(map(ord, " \t\n\r\f"))
_LIMIT = 1e9


@dataclass(frozen=True, eq=False)
class SubPath:
    """One subpath: its cubics (n, 4, 2) in user units, and whether it was ended by Z.

    `nodes` (k,) are its drawn nodes, of which an arc has two whatever it takes in cubics: the number of the segment
    that starts at each, n for the end of an open one. None where every segment's start is one.
    """

    curve: Array
    closed: bool
    nodes: Ints | None = None


@dataclass(frozen=True, eq=False)
class PathData:
    """What a path draws.

    Attributes:
        subpaths: those with at least one segment; a closed one has its closing line and ends at its first point.
        problem: where and why reading stopped, or None.
        stopped: the current point in user units at which it stopped, or None.
        dropped: how many segments without length were left out.
    """

    subpaths: tuple[SubPath, ...]
    problem: str | None = None
    stopped: tuple[float, float] | None = None
    dropped: int = 0


def read_path(d: str, accuracy: float, few: bool = False) -> PathData:
    """Read the text of a `d` attribute; arcs become cubics within `accuracy` user units, with `few` no more than that.

    Never raises for the text's sake: a fault ends the reading and is told in `problem`, with the number of the
    character (from 1) and what stands there. Numbers beyond 1e9 are faults.
    """
    pen = _Pen()
    problem = _walk(d, pen)
    stopped = (pen.x, pen.y) if problem and pen.moved else None
    subpaths, dropped = pen.subpaths(accuracy, few)
    return PathData(subpaths, problem, stopped, dropped)


@dataclass(frozen=True)
class _Fault:
    """A place in a command's arguments where reading stops, and what should have stood there."""

    place: int
    wanted: str


def _walk(d: str, pen: _Pen) -> str | None:
    """Draw all good segments with the pen; the text of the fault that ended it, or None."""
    begin = len(d) - len(d.lstrip(" \t\n\r\f"))
    if begin == len(d) or d[begin:].rstrip() == "none":
        return None
    if d[begin] not in "Mm":
        return _told(d, begin, "a moveto (M or m) should begin the path")
    quick = _quick_commands(d)
    if quick is not None:
        for letter, values in quick:
            if letter in "Zz":
                pen.close()
            else:
                _DRAW[letter.upper()](pen, values, letter.islower())
        return None
    for match in _COMMAND.finditer(d, begin):
        letter, text = match.groups()
        fault = _obey(pen, letter, text)
        if fault:
            return _told(d, match.start(2) + fault.place, fault.wanted)
    return None


def _quick_commands(d: str) -> list[tuple[str, list[float]]] | None:
    """The commands with their numbers, equal ones in a row joined, in one pass over a whole path.

    None where there are arcs or anything unusual: then the way through `_obey` reads it and finds the fault.
    """
    if "a" in d or "A" in d:
        return None
    gaps, values = split_numbers(d)
    if "," in gaps[0] or "," in gaps[-1] or (values and not (max(values) <= _LIMIT and min(values) >= -_LIMIT)):
        return None
    starts: list[tuple[str, int]] = []
    for place, gap in enumerate(gaps):
        if gap in USUAL_GAPS:
            continue
        letters = gap.translate(_NO_BLANKS)
        for letter in letters:
            if letter not in _LETTERS:
                return None
            last, begin = starts[-1] if starts else ("", 0)
            goes_on = letter == last and letter not in "MmZz" and len(letters) == 1 and begin < place < len(values)
            if not goes_on or (place - begin) % _SIZE[letter.upper()]:
                starts.append((letter, place))
    ends = [place for _, place in starts[1:]] + [len(values)]
    out = [(letter, values[begin:end]) for (letter, begin), end in zip(starts, ends, strict=True)]
    good = all(len(v) % _SIZE[k.upper()] == 0 < len(v) if k not in "Zz" else not v for k, v in out)
    return out if good and starts[0][1] == 0 else None


def _told(d: str, place: int, wanted: str) -> str:
    if place >= len(d):
        return f"the data end after character {len(d)}, where {wanted}"
    rest = d[place : place + 12].split("\n")[0]
    return f"character {place + 1} is {rest!r}, where {wanted}"


def _obey(pen: _Pen, letter: str, text: str) -> _Fault | None:
    """One command with all its repeats, up to the first fault in it."""
    kind = letter.upper()
    if kind == "Z":
        pen.close()
        spare = len(text) - len(text.lstrip(" \t\n\r\f"))
        return _Fault(spare, "the next command should begin") if spare < len(text) else None
    values, fault = _arguments(kind, text)
    size = _SIZE[kind]
    whole = len(values) - len(values) % size
    if fault is None and (whole < len(values) or not values):
        fault = _Fault(len(text), f"{letter} takes {size} number{'s' if size > 1 else ''} at a time")
    if whole:
        _DRAW[kind](pen, values[:whole], letter != kind)
    return fault


def _arguments(kind: str, text: str) -> tuple[list[float], _Fault | None]:
    if kind == "A":
        values, fault = _arc_arguments(text)
    else:
        values, bad = read_numbers(text)
        fault = None if bad is None else _Fault(bad, "a number or a command should stand")
    if values and not (max(values) <= _LIMIT and min(values) >= -_LIMIT):
        first = next(i for i, v in enumerate(values) if not abs(v) <= _LIMIT)
        place = _arc_number_place(text, first) if kind == "A" else number_place(text, first)
        return values[:first], _Fault(place, "a number should be at most 1e9")
    return values, fault


def _arc_arguments(text: str) -> tuple[list[float], _Fault | None]:
    """Seven numbers an arc, flags glued or not."""
    values: list[float] = []
    place = after = _end(_BLANK, text, 0)
    while match := _ARC.match(text, place):
        values.extend(map(float, match.groups()))
        after = _end(_BLANK, text, match.end())
        place = _end(_BETWEEN, text, match.end())
    if values and after == len(text):
        return values, None
    bad, wanted = place, "a number should stand"
    for step, pattern in _ARC_STEPS:
        found = step.match(text, bad)
        if not found:
            wanted = "a number should stand" if pattern == NUMBER else "an arc flag, 0 or 1, should stand"
            break
        bad = found.end()
    return values, _Fault(bad, wanted)


def _arc_number_place(text: str, index: int) -> int:
    place = _end(_BLANK, text, 0)
    for i in range(index):
        place = _end(_ARC_STEPS[i % 7][0], text, place)
    return place


def _end(pattern: re.Pattern[str], text: str, place: int) -> int:
    match = pattern.match(text, place)
    return match.end() if match else place


class _Pen:
    """Collects segments as eight numbers each; lines, quadratics and arcs become cubics all at once at the end."""

    def __init__(self) -> None:
        self.x = self.y = self.start_x = self.start_y = 0.0
        self.moved = False
        self.drawing = False
        # The last control point, for S and T, and the kind of segment it belongs to.
        self.control = (0.0, 0.0)
        self.control_of = ""
        self.rows: list[float] = []
        self.begins: list[int] = []
        self.closed: list[bool] = []
        self.line_rows: list[int] = []
        self.quadratic_rows: list[int] = []
        self.arc_rows: list[int] = []
        self.arc_values: list[float] = []

    def _begin(self) -> None:
        if not self.drawing:
            self.begins.append(len(self.rows) // 8)
            self.closed.append(False)
            self.drawing = True

    def close(self) -> None:
        if self.drawing:
            if (self.x, self.y) != (self.start_x, self.start_y):
                self._line_to(self.start_x, self.start_y)
            self.closed[-1] = True
            self.drawing = False
        self.x, self.y = self.start_x, self.start_y
        self.control_of = ""

    def move(self, values: list[float], relative: bool) -> None:
        dx, dy = (self.x, self.y) if relative else (0.0, 0.0)
        self.x = self.start_x = values[0] + dx
        self.y = self.start_y = values[1] + dy
        self.moved = True
        self.drawing = False
        self.control_of = ""
        if len(values) > 2:
            self.line(values[2:], relative)

    def _line_to(self, x: float, y: float) -> None:
        self.line_rows.append(len(self.rows) // 8)
        self.rows += (self.x, self.y, self.x, self.y, x, y, x, y)
        self.x, self.y = x, y

    def line(self, values: list[float], relative: bool) -> None:
        self._begin()
        for x, y in _groups(values, 2):
            self._line_to(*((self.x + x, self.y + y) if relative else (x, y)))
        self.control_of = ""

    def across(self, values: list[float], relative: bool) -> None:
        self._begin()
        for x in values:
            self._line_to(self.x + x if relative else x, self.y)
        self.control_of = ""

    def down(self, values: list[float], relative: bool) -> None:
        self._begin()
        for y in values:
            self._line_to(self.x, self.y + y if relative else y)
        self.control_of = ""

    def cubic(self, values: list[float], relative: bool) -> None:
        self._begin()
        x, y, rows = self.x, self.y, self.rows
        if relative:
            for x1, y1, x2, y2, x3, y3 in _groups(values, 6):
                rows += (x, y, x + x1, y + y1, x + x2, y + y2, x + x3, y + y3)
                x += x3
                y += y3
        else:
            for x1, y1, x2, y2, x3, y3 in _groups(values, 6):
                rows += (x, y, x1, y1, x2, y2, x3, y3)
                x, y = x3, y3
        self.x, self.y = x, y
        self.control, self.control_of = (rows[-4], rows[-3]), "C"

    def smooth_cubic(self, values: list[float], relative: bool) -> None:
        self._begin()
        for x2, y2, x3, y3 in _groups(values, 4):
            x, y = self.x, self.y
            x1, y1 = self._reflected("C")
            dx, dy = (x, y) if relative else (0.0, 0.0)
            self.rows += (x, y, x1, y1, dx + x2, dy + y2, dx + x3, dy + y3)
            self.x, self.y = dx + x3, dy + y3
            self.control, self.control_of = (dx + x2, dy + y2), "C"

    def quadratic(self, values: list[float], relative: bool) -> None:
        self._begin()
        for x1, y1, x2, y2 in _groups(values, 4):
            dx, dy = (self.x, self.y) if relative else (0.0, 0.0)
            self._quadratic_to(dx + x1, dy + y1, dx + x2, dy + y2)

    def smooth_quadratic(self, values: list[float], relative: bool) -> None:
        self._begin()
        for x2, y2 in _groups(values, 2):
            dx, dy = (self.x, self.y) if relative else (0.0, 0.0)
            self._quadratic_to(*self._reflected("Q"), dx + x2, dy + y2)

    def _quadratic_to(self, x1: float, y1: float, x2: float, y2: float) -> None:
        self.quadratic_rows.append(len(self.rows) // 8)
        self.rows += (self.x, self.y, x1, y1, x1, y1, x2, y2)
        self.x, self.y = x2, y2
        self.control, self.control_of = (x1, y1), "Q"

    def _reflected(self, kind: str) -> tuple[float, float]:
        if self.control_of != kind:
            return self.x, self.y
        return 2.0 * self.x - self.control[0], 2.0 * self.y - self.control[1]

    def arc(self, values: list[float], relative: bool) -> None:
        self._begin()
        for rx, ry, rotation, large, sweep, x, y in _groups(values, 7):
            self.arc_rows.append(len(self.rows) // 8)
            self.arc_values += (rx, ry, math.radians(rotation % 360.0), large, sweep)
            x, y = (self.x + x, self.y + y) if relative else (x, y)
            self.rows += (self.x, self.y, self.x, self.y, x, y, x, y)
            self.x, self.y = x, y
        self.control_of = ""

    def subpaths(self, accuracy: float, few: bool) -> tuple[tuple[SubPath, ...], int]:
        """All that was drawn, as cubics, and how many segments without length were left out."""
        curve = np.array(self.rows, dtype=float).reshape(-1, 4, 2)
        if self.line_rows:
            curve[self.line_rows] = lines(curve[self.line_rows][:, [0, 3]].reshape(-1, 2))[::2]
        if self.quadratic_rows:
            curve[self.quadratic_rows] = quadratics(curve[self.quadratic_rows][:, [0, 1, 3]])
        count: Ints = np.ones(len(curve), dtype=np.intp)
        if self.arc_rows:
            curve, count = self._with_arcs(curve, count, accuracy, few)
        dropped = int((count == 0).sum())
        out = []
        drawn = np.concatenate([[0], np.cumsum(count)])
        for row, next_row, closed in zip(self.begins, [*self.begins, len(count)][1:], self.closed, strict=True):
            part, nodes = curve[drawn[row] : drawn[next_row]], drawn[row : next_row + (not closed)] - drawn[row]
            long = (part != part[:, :1]).any(axis=(1, 2))
            dropped += int((~long).sum())
            if long.any():
                kept = part if long.all() else part[long]
                # A node whose segment has no length lies where the next one starts.
                before = np.concatenate([[0], np.cumsum(long)])
                out.append(SubPath(kept, closed, before[nodes] % len(kept) if closed else before[nodes]))
        return tuple(out), dropped

    def _with_arcs(self, curve: Array, count: Ints, accuracy: float, few: bool) -> tuple[Array, Ints]:
        rows = np.array(self.arc_rows, dtype=np.intp)
        v = np.array(self.arc_values).reshape(-1, 5)
        start, end = curve[rows, 0], curve[rows, 3]
        arcs, parts = elliptical_arcs(start, v[:, :2], v[:, 2], v[:, 3] > 0.0, v[:, 4] > 0.0, end, accuracy, few)
        is_arc = np.zeros(len(curve), dtype=bool)
        is_arc[rows] = True
        count[rows] = parts
        out = np.repeat(curve, count, axis=0)
        out[np.repeat(is_arc, count)] = arcs
        return out, count


def _groups(values: list[float], size: int) -> Iterator[tuple[float, ...]]:
    return zip(*[iter(values)] * size, strict=True)


_DRAW = {
    "M": _Pen.move,
    "L": _Pen.line,
    "H": _Pen.across,
    "V": _Pen.down,
    "C": _Pen.cubic,
    "S": _Pen.smooth_cubic,
    "Q": _Pen.quadratic,
    "T": _Pen.smooth_quadratic,
    "A": _Pen.arc,
}
