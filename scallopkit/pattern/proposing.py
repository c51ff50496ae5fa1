"""Joins that a drawing suggests by itself: edges that are sewn together, and the two legs of a dart.

A seam shows in the marks that its two edges share and in their lengths; a dart in two like edges of one piece that
meet in a sharp corner pointing into it. The best evidence is taken first, and what it uses is free no longer.
"""

from __future__ import annotations

import heapq
import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import numpy as np

from ..geometry import cubics
from ..geometry.length import measure
from .corners import corners
from .marks import REACH, snap
from .piece import Mark, Pattern, Piece

# Lengths are like where they differ by no more than one of these: a share of the longer, or a width of chalk.
_LIKE_SHARE = 0.01
_LIKE_MM = 2.0
# Lengths that speak alone must say more: shorter edges are alike by chance.
_ALONE_SHARE = 0.005
_ALONE_LEAST = 20.0
# Edges next to a seam are a seam too where their lengths agree as well as those of the seam, but for this.
_CLOSER = 1.0
# Legs of a dart; what is smaller is a notch cut as a V.
_LEGS_SHARE = 0.02
_LEGS_LEAST = 10.0
_APEX_TURN = math.radians(90.0)
# Closed, a dart leaves an edge that goes on nearly straight; the teeth of a zigzag edge leave a spike.
_MOUTH_LEAST = math.radians(120.0)
# `find_edge` takes the shorter way round, and asks for VIA where the two differ by less than 0.1 %; a hair more, since
# the two ways are told apart by lengths that are rounded.
_WAYS_SHARE = 1.001e-3
_SAME_PLACE = 1e-6
# How many edges next in length an edge is held against before it is given up.
_TRIES = 16


@dataclass(frozen=True)
class ProposedJoin:
    """Two edges that seem to be sewn together, both walked the way in which they meet.

    Attributes:
        first, second: the edges, by the names that `find_edge` takes.
        first_length, second_length: their lengths in mm.
        reasons: why, in words, the strongest reason first.
        kind: "seam" between two pieces, or "dart".
    """

    first: str
    second: str
    first_length: float
    second_length: float
    reasons: tuple[str, ...]
    kind: str


def proposed_joins(pattern: Pattern) -> tuple[ProposedJoin, ...]:
    """The joins that the lengths, corners and marks of the closed pieces suggest, in the order of the pieces.

    An edge belongs to one proposal at most. Edges of one piece make darts only, edges of two pieces seams only.
    """
    sewing = _Sewing(_Names(pattern))
    outlines = [_outline(i, piece, pattern.marks) for i, piece in enumerate(pattern.pieces) if piece.closed]
    for outline in outlines:
        sewing.darts(outline)
    stretches = [stretch for outline in outlines for stretch in _stretches(outline)]
    sewing.by_marks(stretches)
    sewing.by_lengths(stretches)
    return tuple(proposal for _, proposal in sorted(sewing.found, key=lambda found: found[0]))


def nearby(piece: Piece, marks: tuple[Mark, ...]) -> tuple[Mark, ...]:
    """The marks that could belong to the piece, by the box around it: all that do, and few others."""
    low, high = cubics.bounds(piece.curve)
    (x0, y0), (x1, y1) = (low - REACH).tolist(), (high + REACH).tolist()
    return tuple(mark for mark in marks if x0 <= mark.x <= x1 and y0 <= mark.y <= y1)


# --- the outline and its stretches ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Place:
    """A corner or a mark of an outline.

    Attributes:
        number: its number along the outline.
        s: the length from the outline's first point.
        corner: the corner's name, None for a mark between corners.
        turn: how far the corner turns towards the cloth in radians; negative where it points into the piece.
        marks: the marks on it, by the names that no other place of the outline has.
    """

    number: int
    s: float
    corner: str | None
    turn: float
    marks: tuple[str, ...]
    x: float
    y: float


@dataclass(frozen=True, eq=False)
class _Outline:
    number: int
    piece: Piece
    length: float
    outside: int
    places: tuple[_Place, ...]


@dataclass(frozen=True, eq=False)
class _Stretch:
    """A stretch of an outline in drawing order: `places` are its ends and what lies between them.

    Attributes:
        whole: whether it goes from one corner to the next.
        parts: its parts between neighbouring places, each by its piece's number and its own.
        at: the length from its start to every mark on it.
    """

    outline: _Outline
    places: tuple[_Place, ...]
    length: float
    whole: bool
    parts: frozenset[tuple[int, int]]
    at: dict[str, float]

    @property
    def start(self) -> _Place:
        return self.places[0]

    @property
    def end(self) -> _Place:
        return self.places[-1]

    @property
    def order(self) -> tuple[int, int, int]:
        return self.outline.number, self.start.number, -len(self.parts)


def _outline(number: int, piece: Piece, marks: tuple[Mark, ...]) -> _Outline:
    measured = measure(piece.curve)
    outside = piece.outside
    turning = corners(piece.curve, closed=True)
    snapped = snap(piece, nearby(piece, marks))
    segment = np.array([c.node for c in turning] + [m.segment for m in snapped], dtype=np.intp)
    t = np.array([0.0] * len(turning) + [m.t for m in snapped])
    s = measured.lengths(segment, t)
    s = np.where(measured.length - s < _SAME_PLACE, 0.0, s)
    points = cubics.point(piece.curve, segment, t)
    said = Counter([c.name for c in turning] + [m.name for m in snapped])
    places: list[_Place] = []
    # Corners come first in the sorting where a mark fell on them, since they stand first.
    for i in sorted(range(len(s)), key=lambda i: round(float(s[i]), 6)):
        corner = turning[i] if i < len(turning) else None
        name = snapped[i - len(turning)].name if corner is None else None
        own = (name,) if name is not None and said[name] == 1 and _is_plain(name) else ()
        if places and s[i] - places[-1].s < _SAME_PLACE:
            last = places[-1]
            places[-1] = _Place(last.number, last.s, last.corner, last.turn, last.marks + own, last.x, last.y)
        elif corner is not None:
            title = corner.name if said[corner.name] == 1 else ""
            places.append(_Place(len(places), float(s[i]), title, corner.turn * outside, (), *map(float, points[i])))
        elif own:
            places.append(_Place(len(places), float(s[i]), None, 0.0, own, *map(float, points[i])))
    return _Outline(number, piece, measured.length, outside, tuple(places))


def _is_plain(name: str) -> bool:
    """Whether a mark's name can stand in an edge's name."""
    return bool(name) and name == name.strip() and ".." not in name


def _stretches(outline: _Outline) -> list[_Stretch]:
    """The stretches between neighbouring places, and those between neighbouring corners."""
    n = len(outline.places)
    if n < 2:
        return []
    turning = [place.number for place in outline.places if place.corner is not None]
    ends = {(i, (i + 1) % n) for i in range(n)}
    ends |= {(a, b) for a, b in zip(turning, turning[1:] + turning[:1], strict=True) if a != b}
    return [_stretch(outline, a, b) for a, b in sorted(ends)]


def _stretch(outline: _Outline, a: int, b: int) -> _Stretch:
    n, total = len(outline.places), outline.length
    steps = (b - a) % n
    places = tuple(outline.places[(a + k) % n] for k in range(steps + 1))
    whole = places[0].corner is not None and places[-1].corner is not None
    parts = frozenset((outline.number, (a + k) % n) for k in range(steps))
    start = places[0].s
    at = {name: (place.s - start) % total for place in places for name in place.marks}
    return _Stretch(outline, places, (places[-1].s - start) % total, whole, parts, at)


# --- the names of edges ---------------------------------------------------------------------------------------------


class _Names:
    """Says an edge by a name that leads back to it."""

    def __init__(self, pattern: Pattern) -> None:
        self._known = {name for piece in pattern.pieces for name in piece.names}
        self._bearers = Counter(name for piece in pattern.pieces for name in set(piece.names))

    def of(self, stretch: _Stretch, walked_back: bool, meant: tuple[str, str] = ("", "")) -> str | None:
        """The edge's name, with the marks that are meant at its ends; None where no name leads to it."""
        piece = self._piece(stretch.outline.piece)
        ends = (stretch.end, stretch.start) if walked_back else (stretch.start, stretch.end)
        words = [_said(place, mark) for place, mark in zip(ends, meant, strict=True)]
        if self._needs_via(stretch):
            inside = [_said(place) for place in stretch.places[1:-1]]
            words.insert(1, next(filter(None, inside), ""))
        text = f"{piece}:{'..'.join(words)}"
        return text if piece and all(words) and self._leads(text, piece) else None

    def _piece(self, piece: Piece) -> str:
        ordered = (piece.name, *piece.names)
        return next((name for name in ordered if name and self._bearers[name] == 1), "")

    @staticmethod
    def _needs_via(stretch: _Stretch) -> bool:
        other_way = stretch.outline.length - stretch.length
        return stretch.length > other_way - _WAYS_SHARE * stretch.outline.length

    def _leads(self, text: str, piece: str) -> bool:
        """Whether no longer piece's name is read out of the text, which a mark with a colon can bring about."""
        last = text.rfind(":")
        while last > len(piece) and text[:last] not in self._known:
            last = text.rfind(":", 0, last)
        return last == len(piece) and text not in self._known


def _said(place: _Place, meant: str = "") -> str:
    return meant or next(iter(place.marks), "") or place.corner or ""


# --- evidence -------------------------------------------------------------------------------------------------------

# Grades of evidence by marks, the best first; a pair that reaches one is not left to those after it.
_ENDS_LIKE_WHOLE, _ENDS_LIKE, _ENDS, _MARK_WHOLE_OPPOSITE, _MARK_WHOLE, _MARK_OPPOSITE, _MARK = range(7)


@dataclass(frozen=True)
class _Evidence:
    """What speaks for a seam between two stretches, the second walked back or not.

    Attributes:
        from_marks, to_marks, inner_marks: names that both have at the one end, at the other, and between.
        opposite: whether the cloth lies on opposite hands, as in two pieces that are drawn face up.
    """

    first: _Stretch
    second: _Stretch
    back: bool
    from_marks: tuple[str, ...]
    to_marks: tuple[str, ...]
    inner_marks: tuple[str, ...]
    opposite: bool

    @property
    def both_ends(self) -> bool:
        return bool(self.from_marks and self.to_marks)

    @property
    def count(self) -> int:
        return len(self.from_marks) + len(self.to_marks) + len(self.inner_marks)

    @property
    def grade(self) -> int:
        alike = _are_like(self.first.length, self.second.length)
        whole = self.first.whole and self.second.whole
        if self.both_ends:
            return (_ENDS_LIKE_WHOLE if whole else _ENDS_LIKE) if alike else _ENDS
        if not self.count or not alike:
            return _MARK + 1
        if whole:
            return _MARK_WHOLE_OPPOSITE if self.opposite else _MARK_WHOLE
        return _MARK_OPPOSITE if self.opposite else _MARK

    def meetings(self) -> Iterator[tuple[int, int, int, int]]:
        """The pairs of outward corners that come together at the ends, as numbers of pieces and of their places."""
        a, b = self.first, self.second
        for mine, its in zip((a.start, a.end), (b.end, b.start) if self.back else (b.start, b.end), strict=True):
            if mine.turn > 0.0 and its.turn > 0.0:
                yield a.outline.number, mine.number, b.outline.number, its.number


def _are_like(a: float, b: float) -> bool:
    # The last micrometre is left to rounding, so that a limit that is just met is met wherever the piece lies.
    return abs(a - b) <= max(_LIKE_SHARE * max(a, b), _LIKE_MM) + _SAME_PLACE


def _weighed(a: _Stretch, b: _Stretch) -> _Evidence:
    """The evidence for a seam, with the second stretch walked in the way that has more of it."""
    a, b = (a, b) if a.order < b.order else (b, a)
    # Laid side by side along the seam, two pieces that lie face up have their cloth on opposite hands.
    face_up = a.outline.outside == b.outline.outside
    ways = [_along(a, b, back, back == face_up) for back in (face_up, not face_up)]
    return max(ways, key=lambda way: (way.both_ends, way.count))


def _along(a: _Stretch, b: _Stretch, back: bool, opposite: bool) -> _Evidence:
    other_from, other_to = (b.end, b.start) if back else (b.start, b.end)
    from_marks = tuple(name for name in a.start.marks if name in other_from.marks)
    to_marks = tuple(name for name in a.end.marks if name in other_to.marks)
    at_ends = {*a.start.marks, *a.end.marks, *b.start.marks, *b.end.marks}
    inner = tuple(
        name
        for name, s in a.at.items()
        if name not in at_ends and name in b.at and _are_like(s, b.length - b.at[name] if back else b.at[name])
    )
    return _Evidence(a, b, back, from_marks, to_marks, inner, opposite)


# --- sewing ---------------------------------------------------------------------------------------------------------

_Order = tuple[int, int, int]


@dataclass(eq=False)
class _Sewing:
    """Collects proposals; what they use is taken.

    Attributes:
        taken: parts of outlines that belong to a proposal.
        meeting: corners that a seam already brings together, see `_Evidence.meetings`, and how far apart in mm the
            lengths of that seam are.
    """

    names: _Names
    found: list[tuple[_Order, ProposedJoin]] = field(default_factory=list)
    taken: set[tuple[int, int]] = field(default_factory=set)
    meeting: dict[tuple[int, int, int, int], float] = field(default_factory=dict)

    def darts(self, outline: _Outline) -> None:
        """Propose the darts of one piece."""
        turning = [place.number for place in outline.places if place.corner is not None]
        n = len(turning)
        for k in range(n if n > 2 else 0):
            a, apex, b = turning[k - 1], turning[k], turning[(k + 1) % n]
            before, after = _stretch(outline, a, apex), _stretch(outline, apex, b)
            if self.is_free(before) and self.is_free(after) and _is_dart(before, after):
                self.dart(before, after)

    def dart(self, before: _Stretch, after: _Stretch) -> None:
        """Propose two legs as a dart, both walked to the apex."""
        reasons = ("legs of one dart", _like(before, after))
        self.propose("dart", before, after, self.names.of(before, False), self.names.of(after, True), reasons)

    def by_marks(self, stretches: list[_Stretch]) -> None:
        """Propose seams between stretches that share marks, grade by grade."""
        for grade in range(_MARK + 1):
            free = [stretch for stretch in stretches if stretch.at and self.is_free(stretch)]
            if grade in (_ENDS_LIKE_WHOLE, _MARK_WHOLE_OPPOSITE, _MARK_WHOLE):
                free = [stretch for stretch in free if stretch.whole]
            groups = _by_both_ends(free) if grade <= _ENDS else _by_each_mark(free)
            self.nearest_first(groups, grade)

    def nearest_first(self, groups: list[list[_Stretch]], grade: int) -> None:
        """Propose the pairs within the groups that reach the grade, those that are nearest in length first.

        Each stretch waits with the next longer one of its group; where that is taken or will not do, with the one
        after, so that the nearest of all pairs is always at hand without all pairs being made.
        """
        heap: list[tuple[float, tuple[_Order, ...], int, int, int, int]] = []

        def wait(group: int, i: int, j: int, tries: int) -> None:
            members = groups[group]
            a = members[i]
            for k in range(j, len(members) if tries else 0):
                b = members[k]
                if grade != _ENDS and not _are_like(a.length, b.length):
                    return
                if a.outline is not b.outline and self.is_free(b):
                    apart = round((b.length - a.length) / b.length, 6)
                    heapq.heappush(heap, (apart, tuple(sorted((a.order, b.order))), group, i, k, tries))
                    return

        for group, members in enumerate(groups):
            for i in range(len(members)):
                wait(group, i, i + 1, _TRIES)
        while heap:
            *_, group, i, j, tries = heapq.heappop(heap)
            a, b = groups[group][i], groups[group][j]
            if not self.is_free(a):
                continue
            if not self.is_free(b):
                wait(group, i, j + 1, tries)
            elif not self.seam(_weighed(a, b), grade):
                wait(group, i, j + 1, tries - 1)

    def seam(self, evidence: _Evidence, grade: int) -> bool:
        """Propose a seam if the evidence reaches the grade; says whether it did."""
        slack = _CLOSER if evidence.grade <= _ENDS_LIKE else -math.inf
        if evidence.grade > grade or self.goes_on(evidence, slack):
            return False
        return self.join(evidence, _reasons(evidence))

    def goes_on(self, evidence: _Evidence, slack: float) -> bool:
        """Whether an end lies where the two pieces are already joined by the edges next to these.

        At a corner that points outward on both pieces, say the hem at a side seam, the other two edges go on into each
        other once it is sewn. They are sewn up too, as round a cushion, only if their lengths agree as well as those
        of the seam, but for `slack` in mm.
        """
        apart = _apart(evidence.first, evidence.second)
        joined = [self.meeting[meeting] for meeting in evidence.meetings() if meeting in self.meeting]
        return any(apart > closer + slack for closer in joined)

    def by_lengths(self, stretches: list[_Stretch]) -> None:
        """Propose seams between edges that are alone in the drawing with their length."""
        ordered = _by_length(stretches)
        only = [_only_other(ordered, i) for i in range(len(ordered))]
        for i, j in enumerate(only):
            if j is None or j < i or only[j] != i:
                continue
            evidence = _weighed(ordered[i], ordered[j])
            if not self.goes_on(evidence, -math.inf):
                like = _like(ordered[i], ordered[j])
                self.join(evidence, (f"{like}, and no other edge is as near",))

    def join(self, evidence: _Evidence, reasons: tuple[str, ...]) -> bool:
        """Propose a seam, if its edges are free and can be named; says whether they were."""
        a, b = evidence.first, evidence.second
        if not (self.is_free(a) and self.is_free(b)):
            return False
        shared = (next(iter(evidence.from_marks), ""), next(iter(evidence.to_marks), ""))
        first, second = self.names.of(a, False, shared), self.names.of(b, evidence.back, shared)
        if not self.propose("seam", a, b, first, second, reasons):
            return False
        for meeting in evidence.meetings():
            self.meeting[meeting] = min(self.meeting.get(meeting, math.inf), _apart(a, b))
        return True

    def propose(
        self, kind: str, a: _Stretch, b: _Stretch, first: str | None, second: str | None, reasons: tuple[str, ...]
    ) -> bool:
        """Take both edges for a proposal, if both have names; says whether they had."""
        if first is None or second is None:
            return False
        self.taken |= a.parts | b.parts
        self.found.append((a.order, ProposedJoin(first, second, a.length, b.length, reasons, kind)))
        return True

    def is_free(self, stretch: _Stretch) -> bool:
        """Whether no part of it belongs to a proposal."""
        return self.taken.isdisjoint(stretch.parts)


def _is_dart(before: _Stretch, after: _Stretch) -> bool:
    a, apex, b = before.start, before.end, after.end
    shorter, longer = sorted((before.length, after.length))
    sharp = apex.turn <= -_APEX_TURN and 2.0 * math.pi - a.turn - b.turn >= _MOUTH_LEAST
    return (
        sharp
        and shorter >= _LEGS_LEAST
        and longer - shorter <= _LEGS_SHARE * longer
        and math.hypot(a.x - b.x, a.y - b.y) < shorter
    )


def _by_length(stretches: Iterable[_Stretch]) -> list[_Stretch]:
    """From the shortest to the longest; lengths that differ by rounding only keep the order of the pieces."""
    return sorted(stretches, key=lambda stretch: (round(stretch.length, 4), stretch.order))


def _by_both_ends(stretches: list[_Stretch]) -> list[list[_Stretch]]:
    """The stretches that bear the same two names at their ends, shortest first; one with more names is in several."""
    groups: dict[tuple[str, str], list[_Stretch]] = {}
    for stretch in _by_length(stretches):
        pairs = {tuple(sorted((a, b))) for a in stretch.start.marks for b in stretch.end.marks}
        for a, b in sorted(pairs):
            groups.setdefault((a, b), []).append(stretch)
    return [group for group in groups.values() if len(group) > 1]


def _by_each_mark(stretches: list[_Stretch]) -> list[list[_Stretch]]:
    groups: dict[str, list[_Stretch]] = {}
    for stretch in _by_length(stretches):
        for name in stretch.at:
            groups.setdefault(name, []).append(stretch)
    return [group for group in groups.values() if len(group) > 1]


def _only_other(ordered: list[_Stretch], i: int) -> int | None:
    """The one stretch of the drawing whose length is very near to that of the i-th, if it is alone and a partner."""
    a, found = ordered[i], None
    if not a.whole or a.length < _ALONE_LEAST:
        return None
    for j in _very_near(ordered, i):
        b = ordered[j]
        if not a.parts.isdisjoint(b.parts):
            continue
        if found is not None or a.outline is b.outline or not b.whole:
            return None
        found = j
    return found


def _very_near(ordered: list[_Stretch], i: int) -> Iterator[int]:
    for step in (-1, 1):
        j = i + step
        while 0 <= j < len(ordered):
            a, b = ordered[i].length, ordered[j].length
            if abs(a - b) > _ALONE_SHARE * max(a, b) + _SAME_PLACE:
                break
            yield j
            j += step


# --- reasons --------------------------------------------------------------------------------------------------------


def _reasons(evidence: _Evidence) -> tuple[str, ...]:
    a, b = evidence.first, evidence.second
    shared = list(evidence.inner_marks)
    said = []
    if evidence.both_ends:
        said.append("marks of the same names at both ends")
    else:
        shared = [*evidence.from_marks, *evidence.to_marks, *shared]
    said += [f'the mark "{name}" is on both' for name in shared]
    return (*said, _like(a, b) if _are_like(a.length, b.length) else _unlike(a, b))


def _like(a: _Stretch, b: _Stretch) -> str:
    return f"like lengths ({_apart(a, b):.1f} mm apart)"


def _unlike(a: _Stretch, b: _Stretch) -> str:
    longer, share = "first" if a.length > b.length else "second", 100.0 * _apart(a, b) / min(a.length, b.length)
    return f"the {longer} is {_apart(a, b):.1f} mm ({share:.1f} %) longer: ease, pleats or gathers"


def _apart(a: _Stretch, b: _Stretch) -> float:
    # Rounded twice, so that 0.25 mm reads the same wherever the pieces lie.
    return round(abs(a.length - b.length), 6)
