"""Which part of the trimmed line lies on which piece: at each joint it is parted by the seam's own line.

The trimmed line is a row of elements, scallop after scallop with what leads on from each. A joint parts it where the
seam, drawn on in a straight line through the joint, first leaves the trimmed cloth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..errors import RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.nearest import nearest
from ..pattern.laying import Joint, LaidRun
from .course import Course, Stop
from .linking import links, to_fold
from .row import FIRST_HALF, SECOND_HALF
from .scallops import Scallops

# A scallop that ends this near to a joint, mm along the run, ends at it.
_AT_JOINT = 1e-6
# Parameters this near to a node are the node.
_AT_NODE = 1e-9
# How many elements on either side of a joint the seam's line may meet first.
_NEIGHBOURS = 3


@dataclass(frozen=True, eq=False)
class Cut:
    """Where the trimmed line is parted.

    Attributes:
        element: 2 i for scallop i, 2 i + 1 for what leads on from it; a turn of a loop further on, so many more.
        segment, t: the place on the element's curve; of a circular scallop the half (0 or 1), and nothing.
        point: the place in the flat frame of the element's own turn; None where the line is parted before the element.
    """

    element: int
    segment: int = 0
    t: float = 0.0
    point: Array | None = None


@dataclass(frozen=True, eq=False)
class Share:
    """What of the trimmed line lies on one part of the run: all from one cut to the next."""

    part: int
    begin: Cut
    end: Cut


@dataclass(frozen=True, eq=False)
class Trimmed:
    """The trimmed line of a run: its scallops, what leads on from each, and the course they stand on.

    `lead` is what leads to the first scallop from a fold, where a space leaves something flat there.
    """

    course: Course
    placed: Scallops
    links: list[Array | None]
    lead: Array | None = None

    @cached_property
    def curves(self) -> list[Array]:
        """The drawn line of each scallop."""
        return list(self.placed.curves())

    @property
    def elements(self) -> int:
        """How many elements there are in one turn."""
        return 2 * len(self.placed)


def trimmed(placed: Scallops, course: Course, stops: Sequence[Stop] = ()) -> Trimmed:
    """The trimmed line of scallops on a course."""
    leading = links(placed, course, stops)
    if not stops:
        return Trimmed(course, placed, leading)
    onward = to_fold(placed, course, stops[-1], at_end=True)
    last = leading[-1] if onward is None else onward
    return Trimmed(course, placed, [*leading[:-1], last], to_fold(placed, course, stops[0], at_end=False))


def whole(line: Trimmed, part: int = 0) -> Share:
    """All of the trimmed line on one part."""
    return Share(part, Cut(0), Cut(line.elements))


def shares(run: LaidRun, line: Trimmed, origin: float) -> tuple[Share, ...]:
    """The share of each part, in the run's order.

    Args:
        run: the run as it is laid flat.
        line: its trimmed line.
        origin: where along the run the course of a loop begins, mm.

    Raises:
        RequestError: a seam's line never meets the trimmed line that passes over it.
    """
    if not run.joints:
        return (whole(line),)
    ends, begins = [], []
    for joint in run.joints:
        ends.append(_cut(line, joint, joint.lap, origin))
        begins.append(_cut(line, joint, -joint.lap, origin))
    if run.loop:
        turn = line.elements
        last = begins.pop()
        begins.insert(0, Cut(last.element - turn, last.segment, last.t, last.point))
    else:
        begins.insert(0, Cut(0))
        ends.append(Cut(line.elements))
    return tuple(Share(k, a, b) for k, (a, b) in enumerate(zip(begins, ends, strict=True)))


def share_curves(line: Trimmed, share: Share) -> Iterator[tuple[int, Array]]:
    """The curves of a share in order, each with the number of its element and in the frame of that element's turn."""
    last = share.end.element if share.end.point is not None else share.end.element - 1
    if line.lead is not None and starts_line(share):
        # It is no scallop, as any odd number says.
        yield 1, line.lead
    for element in range(share.begin.element, last + 1):
        i, is_link = divmod(element % line.elements, 2)
        curve = line.links[i] if is_link else line.curves[i]
        if curve is None or len(curve) == 0:
            continue
        cut_in = share.begin if element == share.begin.element else Cut(element)
        cut_out = share.end if element == share.end.element else Cut(element)
        part = taken(curve, _on_the_curve(line, curve, cut_in), _on_the_curve(line, curve, cut_out))
        if len(part):
            yield element, part


def starts_line(share: Share) -> bool:
    """Whether a share begins where the whole line does."""
    return share.begin.element == 0 and share.begin.point is None


def taken(curve: Array, cut_in: Cut, cut_out: Cut) -> Array:
    """An element's curve between two places on it; a cut without a point takes it from, or up to, its end."""
    if cut_in.point is None and cut_out.point is None:
        return curve
    start = (0, 0.0) if cut_in.point is None else (cut_in.segment, cut_in.t)
    stop = (len(curve) - 1, 1.0) if cut_out.point is None else (cut_out.segment, cut_out.t)
    part = cubics.stretch(curve, start, stop)
    if len(part) and cut_in.point is not None:
        part[0, 0] = cut_in.point
    if len(part) and cut_out.point is not None:
        part[-1, 3] = cut_out.point
    return part


def _on_the_curve(line: Trimmed, curve: Array, cut: Cut) -> Cut:
    """A cut of a circular scallop as a place on the curve that stands for its arc."""
    i, is_link = divmod(cut.element % line.elements, 2)
    if cut.point is None or is_link or np.isnan(line.placed.radius[i]):
        return cut
    place = nearest(curve, cut.point[None])
    return Cut(cut.element, int(place.segment[0]), _firm(float(place.t[0])), cut.point)


def _firm(t: float) -> float:
    """A parameter at a node where it is next to it: a cut there leaves no splinter."""
    return 0.0 if t < _AT_NODE else 1.0 if t > 1.0 - _AT_NODE else t


def _cut(line: Trimmed, joint: Joint, beyond: float, origin: float) -> Cut:
    """Where a joint parts the trimmed line, or the line that runs `beyond` it beside it."""
    turns, s = _turns(line.course, joint.s + beyond - origin)
    back = motion.power(_closing(line.course), -turns)
    point = motion.apply(back, joint.point + beyond * joint.square)
    along = back[:, :2] @ joint.along
    element, inside = _element_at(line, s)
    first = turns * line.elements
    if not inside:
        return Cut(first + element)
    found = _first_met(line, element, point, along)
    if found is None:
        raise RequestError(
            f'the seam at "{joint.name}", drawn on in a straight line, does not meet the scallops that pass over it: '
            "hold a valley there"
        )
    return Cut(first + found.element, found.segment, found.t, found.point)


def _closing(course: Course) -> Array:
    closing = course.measured.closing
    return motion.IDENTITY if closing is None else closing


def _turns(course: Course, s: float) -> tuple[int, float]:
    """Full turns of a loop, and the length along the course that is left."""
    if not course.loop:
        return 0, s
    # A joint a rounding error before the loop's first point is at it.
    turns = int(np.floor((s + _AT_JOINT) / course.measured.length))
    return turns, s - turns * course.measured.length


def _element_at(line: Trimmed, s: float) -> tuple[int, bool]:
    """The element that lies over a length along the course, and whether it lies there with its inside."""
    row, n = line.placed.row, len(line.placed)
    i = int(np.searchsorted(row.s_start, s + _AT_JOINT, side="right")) - 1
    if i < 0 and line.course.loop:
        # It lies under what came over the first point from the turn before.
        element, inside = _element_at(line, s + line.course.measured.length)
        return element - line.elements, inside
    if i < 0:
        return 0, False
    if s <= row.s_start[i] + _AT_JOINT:
        return 2 * i, False
    if s < row.s_end[i] - _AT_JOINT:
        return 2 * i, True
    link = line.links[i]
    on_link = link is not None and len(link) > 0 and s > row.s_end[i] + _AT_JOINT
    return (2 * i + 1, True) if on_link else (2 * (i + 1) if i + 1 < n or line.course.loop else 2 * n, False)


def _first_met(line: Trimmed, element: int, point: Array, along: Array) -> Cut | None:
    """The place nearest to the joint where the seam's line meets the trimmed one."""
    n = line.elements
    low, high = element - _NEIGHBOURS, element + _NEIGHBOURS
    if not line.course.loop:
        low, high = max(low, 0), min(high, n - 1)
    best: tuple[float, Cut] | None = None
    for e in range(low, high + 1):
        turns, own = divmod(e, n)
        back = motion.power(_closing(line.course), -turns)
        at, direction = motion.apply(back, point), back[:, :2] @ along
        for cut in _crossings(line, own, at, direction):
            place = at if cut.point is None else cut.point
            away = float(np.hypot(*(place - at)))
            if best is None or away < best[0]:
                best = away, Cut(turns * n + cut.element, cut.segment, cut.t, cut.point)
    return None if best is None else best[1]


def _crossings(line: Trimmed, element: int, point: Array, along: Array) -> list[Cut]:
    i, is_link = divmod(element, 2)
    if is_link:
        link = line.links[i]
        return [] if link is None or len(link) == 0 else _on_curve(link, element, point, along)
    if np.isnan(line.placed.radius[i]):
        return _on_curve(line.curves[i], element, point, along)
    return _on_arc(line.placed, i, point, along)


def _on_curve(curve: Array, element: int, point: Array, along: Array) -> list[Cut]:
    segment, t = cubics.meets_line(curve, point, cubics.left(along))
    places = cubics.point(curve, segment, t)
    return [Cut(element, int(k), _firm(float(x)), p) for k, x, p in zip(segment, t, places, strict=True)]


def _on_arc(placed: Scallops, i: int, point: Array, along: Array) -> list[Cut]:
    row, axis, radius = placed.row, placed.axis[i], float(placed.radius[i])
    centre = placed.crest[i] - radius * axis
    foot = float((centre - point) @ along)
    off = float(np.hypot(*(point + foot * along - centre)))
    if off > radius:
        return []
    half_chord = float(np.sqrt((radius - off) * (radius + off)))
    lowest = min(float((end - centre) @ axis) for end in (row.start[i], row.end[i]))
    out = []
    for away in (foot - half_chord, foot + half_chord):
        place = point + away * along
        half = int((place - centre) @ (row.end[i] - row.start[i]) > 0.0)
        drawn = row.part[i] not in (SECOND_HALF, FIRST_HALF) or row.part[i] == (SECOND_HALF if half else FIRST_HALF)
        if drawn and (place - centre) @ axis >= lowest - 1e-9 * radius:
            out.append(Cut(2 * i, half, 0.0, place))
    return out
