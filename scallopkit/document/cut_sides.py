"""The sides of a piece that are cut in their own way: with allowances of their own, or as seams with darts in them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ..construction.cap import pressed_by_default
from ..construction.cut_piece import CutPiece, Treated
from ..construction.cutting import Side
from ..construction.trimmed_edge import EdgeCut, seam_cut
from ..errors import NameUnknownError, RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..geometry.nearest import nearest
from ..pattern.corners import corners
from ..pattern.edge import Edge, begin_at, find_edge, places, walked_back
from ..pattern.joins import DART, Join
from ..pattern.laying import LaidRun, lay
from ..pattern.piece import Pattern, Piece, Warn
from ..pattern.sewing_order import Stretch
from .finishing import REACH
from .units import parse_length

# A hollow corner that turns by more, radians, between sides whose lengths differ by less, mm, looks like a dart's.
_POINTED, _LEGS = math.radians(120.0), 2.0
# Places on an outline nearer than this, mm, are one.
_SAME = 1e-3
# A mark that lies nearer to a corner, mm, names it.
_AT = 0.5


@dataclass(frozen=True, eq=False)
class DartSeam:
    """A seam with a dart in it, from the corner before the dart to the one behind it, laid with the dart closed.

    Attributes:
        point: the name of the dart's point.
        start, end: names of the seam's ends.
        drawn: the seam as it is drawn, straight across the dart's mouth.
        laid: its two halves with the dart closed.
        pressed: the side to which the dart is pressed, as `dart_cap` takes it.
        allowance: mm.
    """

    point: str
    start: str
    end: str
    drawn: Array
    laid: LaidRun
    pressed: int
    allowance: float

    @property
    def name(self) -> str:
        """What the maker calls it."""
        return f"{self.start}..{self.end}"

    def cut(self) -> tuple[Treated, EdgeCut]:
        """The seam as it is cut.

        Raises:
            RequestError: no cutting line can be drawn.
        """
        cut = seam_cut(self.laid, self.allowance, REACH, {0: self.pressed})
        return Treated(self.name, self.drawn, self.allowance, cut.stitching, cut.cutting), cut

    def lined(self) -> Treated:
        """The seam as the lining is cut.

        Raises:
            RequestError: no cutting line can be drawn.
        """
        # Loaded only where linings are asked for.
        from ..construction.lining import seam_edge

        return seam_edge(self.name, self.drawn, self.laid, self.allowance, REACH, self.pressed)


def own_edge(pattern: Pattern, piece: Piece, name: str, option: str) -> Edge:
    """The edge of a piece that is called so.

    Raises:
        ScallopkitError: there is none, or it lies on another piece.
    """
    edge = find_edge(pattern, name)
    if edge.piece is not piece:
        raise RequestError(f'{option} "{name}" lies on "{edge.piece.name}", not on "{piece.name}": name an edge of it')
    return edge


def sides_of(
    pattern: Pattern, piece: Piece, sides: Sequence[str], darts: Sequence[str], allowance: float
) -> tuple[list[Treated], list[DartSeam]]:
    """The sides with an allowance of their own, and the seams with darts in them.

    A side that takes in the whole of a darted seam gives it its allowance; what is left of it are plain sides.

    Args:
        pattern: the pattern.
        piece: the piece.
        sides: what is told of them, EDGE=LENGTH each.
        darts: the points of darts in seams.
        allowance: mm, of all other sides.

    Raises:
        ScallopkitError: a text can't be read or names nothing, or a side ends within a darted seam.
    """
    seams = [_dart_seam(pattern, piece, name, allowance) for name in darts]
    plain: list[Treated] = []
    told: dict[int, str] = {}
    for text in sides:
        name, equals, length = text.rpartition("=")
        if not equals or not name.strip() or not length.strip():
            raise RequestError(f"--side is written EDGE=LENGTH, as in {piece.name}:c1..c2=20mm, not {text!r}")
        edge = _begun(own_edge(pattern, piece, name.strip(), "--side"), seams)
        given = parse_length(length, f"--side {name.strip()}=", "not-negative")
        taken: list[tuple[float, float]] = []
        for k, seam in enumerate(seams):
            extent = _extent(edge, seam, length.strip())
            if extent is not None:
                if k in told:
                    both = f'"{told[k]}" and "{edge.name}"'
                    raise RequestError(
                        f'{both} both take in the seam "{seam.name}" of "{piece.name}": leave out one --side'
                    )
                told[k] = edge.name
                taken.append(extent)
                seams[k] = replace(seam, allowance=given)
        plain += [Treated(edge.name, curve, given) for curve in _left_between(edge, taken)]
    return plain, seams


def _dart_seam(pattern: Pattern, piece: Piece, name: str, allowance: float) -> DartSeam:
    """The seam with the dart whose point is called so."""
    turning = corners(piece.curve, closed=True)
    # A dart has two legs, and the seam goes on at either side of them.
    hollow = {c.node: k for k, c in enumerate(turning) if c.turn * piece.outside < 0.0 and len(turning) >= 5}
    known = places(pattern, piece, measure(piece.curve))
    points = {
        other: hollow[place.segment]
        for other, at in known.items()
        for place in at
        if place.segment in hollow and not place.t
    }
    if name not in points:
        there = ", ".join(f'"{other}"' for other in points) or "none"
        raise NameUnknownError(
            f'--dart takes the point of a dart, the hollow corner between its legs, and "{piece.name}" has none called '
            f'"{name}"; there are {there}'
        )
    k = points[name]
    names = [turning[(k + step) % len(turning)].name for step in (-2, -1, 1, 2)]
    first, second = (find_edge(pattern, f"{piece.name}:{a}..{b}") for a, b in (names[:2], names[2:]))
    run = lay([Stretch(first, first), Stretch(second, second)], [Join(DART)], piece.name)
    drawn = np.concatenate([first.curve, cubics.lines([first.curve[-1, 3], second.curve[0, 0]]), second.curve])
    return DartSeam(name, names[0], names[3], drawn, run, pressed_by_default(run, 0), allowance)


def legs_of_dart(pattern: Pattern, piece: Piece, name: str) -> tuple[Array, Array] | None:
    """The legs, walked away from the seam, of the dart whose point is called so; None where they are none."""
    meeting = _dart_seam(pattern, piece, name, 0.0).laid.joints[0].meeting
    return None if meeting is None else meeting.legs


def marks_beside_dart(pattern: Pattern, piece: Piece, name: str) -> list[str] | None:
    """Between which marks the seam lies that the dart whose point is called so is in; None where one is missing."""
    measured = measure(piece.curve)
    known, own = places(pattern, piece, measured), {mark.name for mark in pattern.marks}

    def marked(corner: str) -> str | None:
        s = known[corner][0].s
        ways = [(at.s - s, other) for other in own & known.keys() for at in known[other]]
        away = [(abs(way - measured.length * round(way / measured.length)), other) for way, other in ways]
        return min((one for one in away if one[0] < _AT), default=(0.0, None))[1]

    seam = _dart_seam(pattern, piece, name, 0.0)
    ends = [mark for end in (seam.start, seam.end) if (mark := marked(end)) is not None]
    return ends if len(ends) == 2 else None


def _begun(edge: Edge, seams: Sequence[DartSeam]) -> Edge:
    """The edge walked as its outline is; a whole outline that has darted seams begins with one."""
    if edge.loop:
        return begin_at(edge, seams[0].start) if seams else edge
    return edge if edge.outside == edge.piece.outside else walked_back(edge)


def _extent(edge: Edge, seam: DartSeam, length: str) -> tuple[float, float] | None:
    """From where to where along an edge, mm, a darted seam lies that it takes in; None where it has nothing of it.

    Raises:
        RequestError: it takes in a part of it.
    """
    outline, long = measure(edge.piece.curve), edge.measured.length
    found = nearest(outline.curve, np.stack([edge.curve[0, 0], seam.drawn[0, 0], seam.drawn[-1, 3]]))
    start, *ends = (float(s) for s in outline.lengths(found.segment, found.t))
    first, last = ((s - start + _SAME) % outline.length - _SAME for s in ends)
    if first < last <= long + _SAME:
        return first, last
    if first >= long - _SAME and (last > first or last <= _SAME):
        return None
    name = f"{edge.piece.name}:{seam.name}"
    raise RequestError(
        f'--side {edge.name}={length} takes in a part of the seam "{name}" with the dart "{seam.point}" in it, which '
        f"has one allowance along both halves: name the whole seam, --side {name}={length}"
    )


def _left_between(edge: Edge, taken: Sequence[tuple[float, float]]) -> Iterator[Array]:
    """What is left of an edge between the stretches of it that are taken, from where to where along it, mm."""
    done, long = 0.0, edge.measured.length
    for first, last in sorted(taken):
        if first - done > _SAME:
            yield edge.measured.part(done, first)
        done = last
    if not taken:
        yield edge.curve
    elif long - done > _SAME:
        yield edge.measured.part(done, long)


def open_darts(cut: CutPiece) -> Iterator[Warn]:
    """A warning for each corner along or between plain sides that looks like the point of a dart."""
    if cut.hole:
        return
    outside = cut.piece.outside
    stretches = [(curve, side.cut is None) for side in cut.sides for curve in _between_corners(side)]
    for (before, plain), (after, also) in pairwise([*stretches, *stretches[:1]]):
        forth, onward = cubics.ends_direction(before)[1], cubics.ends_direction(after)[0]
        turn = outside * math.atan2(float(cubics.cross(forth, onward)), float(forth @ onward))
        if turn > -_POINTED or not (plain and also):
            continue
        legs = [measure(leg).length for leg in (before, after)]
        if abs(legs[0] - legs[1]) > _LEGS:
            continue
        x, y = after[0, 0]
        text = (
            f'the corner at ({x:.1f}, {y:.1f}) mm of "{cut.piece.name}" looks like the point of a dart: name it with '
            "--dart, so that the cutting line gets a cap there"
        )
        yield Warn("dart-uncapped", text, cut.piece.name, float(x), float(y))


def _between_corners(side: Side) -> list[Array]:
    """The stitching line of a side from corner to corner; that of one with a cut of its own as it is."""
    if side.cut is not None:
        return [side.stitching]
    nodes = [corner.node for corner in corners(side.stitching, closed=False)]
    return np.split(side.stitching, nodes)
