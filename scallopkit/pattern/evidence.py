"""What speaks for sewing two sides together: their lengths, their ends, their shapes, and the marks on both."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from .sides import Place, Side

# Lengths are like where they differ by no more than one of these: a share of the longer, or a width of chalk.
_LIKE_SHARE = 0.01
_LIKE_MM = 2.0
# What the longer edge may be eased in; more is pleats or gathers, or another edge. Wool takes some 4 %: common
# practice, no source.
_EASE = 0.05
# The last micrometre is left to rounding, so that a limit that is just met is met wherever the piece lies.
_ROUNDING = 1e-6
# Corners go together where the cloth on both sides of the seam makes a straight line there, or goes all round: within
# what hand-drawn lines are trued by afterwards.
_TRUE = math.radians(30.0)
# Shares of the length squared between a side and its chord: more hollow than an arc whose rise is a twentieth of its
# chord, and two sides that lie in each other as well as hand-drawn lines do.
_HOLLOW = -0.03
_FITS = 0.02
# What edges are called by the trade that are sewn to their like, and that are not. Hints only: a drawing in another
# language is judged by its geometry.
_SEWN = frozenset({"side", "shoulder", "seam", "inseam", "outseam"})
_MIDDLE = frozenset({"fold", "centre", "center", "middle"})
_OPEN = _MIDDLE | {"hem"}

# Grades, the best first. A pair that reaches none is no seam by its marks.
_TWO_MARKS, _MARK_AND_CORNERS, _ENDS_WITH_EASE, _MARK = range(4)

Corner = tuple[int, int]
Meeting = frozenset[Corner]
Rank = tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Evidence:
    """What speaks for a seam between two sides, the second walked back or not.

    Attributes:
        from_marks, to_marks, inner_marks: names that both have at the one end, at the other, and between.
    """

    first: Side
    second: Side
    back: bool
    from_marks: tuple[str, ...]
    to_marks: tuple[str, ...]
    inner_marks: tuple[str, ...]

    @property
    def both_ends(self) -> bool:
        """Whether both ends bear the same names."""
        return bool(self.from_marks and self.to_marks)

    @property
    def count(self) -> int:
        """At how many places both bear the same name."""
        return bool(self.from_marks) + bool(self.to_marks) + len(self.inner_marks)

    @property
    def alike(self) -> bool:
        """Whether the sides are as long as each other, but for the drawing's exactness."""
        return alike(self.first.length, self.second.length)

    @property
    def apart(self) -> float:
        """How far apart their lengths are in mm, rounded: 0.25 mm reads the same wherever the pieces lie."""
        return round(abs(self.first.length - self.second.length), 6)

    @cached_property
    def ends(self) -> tuple[tuple[Place, Place], tuple[Place, Place]]:
        """The places that come together at either end."""
        a, b = self.first, self.second
        return ((a.start, b.end), (a.end, b.start)) if self.back else ((a.start, b.start), (a.end, b.end))

    @cached_property
    def true_ends(self) -> int:
        """At how many ends the corners go together."""
        return sum(_off_true(mine, its) <= _TRUE + _ROUNDING for mine, its in self.ends)

    @property
    def ways(self) -> tuple[Evidence, ...]:
        """The ways in which the second side can be walked so that the corners go together at both ends."""
        ways = (self, _along(self.first, self.second, not self.back))
        return tuple(way for way in ways if way.true_ends == 2)

    @property
    def off_true(self) -> float:
        """How far the corners at both ends are from going together, in radians, rounded."""
        return round(sum(_off_true(mine, its) for mine, its in self.ends), 6)

    @cached_property
    def meetings(self) -> frozenset[Meeting]:
        """The pairs of outward corners that come together, each corner by its piece's number and its own.

        The other edges at such a corner go on into each other once the seam is sewn, say the hem at a side seam.
        """
        a, b = self.first.outline.number, self.second.outline.number
        ends = [(mine, its) for mine, its in self.ends if mine.turn > 0.0 and its.turn > 0.0]
        return frozenset(frozenset({(a, mine.number), (b, its.number)}) for mine, its in ends)

    @property
    def parts(self) -> frozenset[tuple[int, int]]:
        """The parts of outlines that it would take."""
        return self.first.parts | self.second.parts

    @cached_property
    def hint(self) -> int:
        """By the words that both ends of a side share: 1 of seams, -1 of edges that stay open, 0 of neither.

        At its middle a piece is folded, or sewn to its own other half: a mark there speaks for no seam to another
        piece by itself.
        """
        words = _line_words(self.first) & _line_words(self.second)
        words |= {word for name in self.inner_marks for word in _words((name,))}
        if words & _SEWN:
            return 1
        single = set(_words((*self.from_marks, *self.to_marks))) if self.count == 1 else set()
        return -1 if words & _OPEN or (single & _MIDDLE and not single & _SEWN) else 0

    @property
    def is_possible(self) -> bool:
        """Whether it can be a seam at all.

        Two hollow edges (armholes, necklines) leave a hole where they are laid together. Two sides of one piece make a
        tube, like a sleeve, if they are walked in opposite directions.
        """
        if self.hint < 0 or are_hollow(self.first, self.second):
            return False
        if self.first.outline is not self.second.outline:
            return True
        return self.both_ends and self.alike and self.back

    @cached_property
    def rank(self) -> Rank | None:
        """How strong it is, the least the strongest; None if marks and lengths together do not speak for a seam."""
        grade = self._grade
        if grade is None:
            return None
        fits = abs(self.first.bulge + self.second.bulge) <= _FITS
        whole = self.first.whole and self.second.whole
        return grade, not whole, -self.hint, not fits, not self.inner_marks, -self.true_ends

    @property
    def _grade(self) -> int | None:
        if self.alike and self.count:
            return _TWO_MARKS if self.count > 1 else _MARK_AND_CORNERS if self.true_ends == 2 else _MARK
        longer = max(self.first.length, self.second.length)
        return _ENDS_WITH_EASE if self.both_ends and self.apart <= _EASE * longer + _ROUNDING else None

    def reasons(self, alone: bool) -> tuple[str, ...]:
        """What speaks for it in words, the strongest first; `alone` where no other edge is as near in length."""
        shared = list(self.inner_marks)
        said = ["marks of the same names at both ends"] if self.both_ends else []
        if not self.both_ends:
            shared = [*self.from_marks, *self.to_marks, *shared]
        said += [f'the mark "{name}" is on both' for name in shared]
        length = like(self.first, self.second) if self.alike else self._unlike()
        said.append(length + ", and no other edge is as near" * alone)
        if not self.both_ends and self.true_ends == 2:
            said.append("the corners go together at both ends")
        for word, side in (("first", self.first), ("second", self.second)):
            if side.darts:
                said.append(f"the {word} with its dart{'s' * (len(side.darts) > 1)} closed")
        return tuple(said)

    def _unlike(self) -> str:
        a, b = self.first.length, self.second.length
        longer, share = "first" if a > b else "second", 100.0 * self.apart / min(a, b)
        return f"the {longer} is {self.apart:.1f} mm ({share:.1f} %) longer: ease"


def weighed(a: Side, b: Side) -> Evidence:
    """The evidence for a seam, with the second side walked in the way that has more of it."""
    a, b = (a, b) if a.order < b.order else (b, a)
    # Laid side by side along the seam, two pieces that lie face up are walked in opposite directions. So are two sides
    # of one piece, and all else being equal that is how they are said.
    face_up = a.outline.outside == b.outline.outside
    ways = [_along(a, b, back) for back in (face_up, not face_up)]
    return max(ways, key=lambda way: (way.both_ends, way.count, way.true_ends, -way.off_true))


def alike(a: float, b: float) -> bool:
    """Whether two lengths in mm are as good as equal."""
    return abs(a - b) <= max(_LIKE_SHARE * max(a, b), _LIKE_MM) + _ROUNDING


def are_hollow(a: Side, b: Side) -> bool:
    """Whether both sides are hollow, like armholes and necklines."""
    return max(a.bulge, b.bulge) < _HOLLOW


def within_ease(a: float, b: float) -> bool:
    """Whether two lengths in mm are alike, or so near that the longer can be eased in."""
    return alike(a, b) or abs(a - b) <= _EASE * max(a, b) + _ROUNDING


def like(a: Side, b: Side) -> str:
    """How far apart like lengths are, in words."""
    return f"like lengths ({round(abs(a.length - b.length), 6):.1f} mm apart)"


def _along(a: Side, b: Side, back: bool) -> Evidence:
    other_from, other_to = (b.end, b.start) if back else (b.start, b.end)
    from_marks = tuple(name for name in a.start.said if name in other_from.said)
    to_marks = tuple(name for name in a.end.said if name in other_to.said)
    at_ends = {*a.start.said, *a.end.said, *b.start.said, *b.end.said}
    inner = tuple(
        name
        for name, s in a.at.items()
        if name not in at_ends and name in b.at and alike(s, b.length - b.at[name] if back else b.at[name])
    )
    return Evidence(a, b, back, from_marks, to_marks, inner)


def _off_true(mine: Place, its: Place) -> float:
    """How far the cloth on both sides of a seam's end is from a straight line, or from going all round, in radians."""
    if mine.corner is None or its.corner is None:
        # The seam ends within an edge, at a mark that was put there for it.
        return 0.0
    both = mine.inside + its.inside
    return min(abs(both - math.pi), abs(both - math.tau))


def _line_words(side: Side) -> set[str]:
    """The words that the names of both ends share: "hem-side" and "hem-front" lie on the hem."""
    return set(_words(side.start.said)) & set(_words(side.end.said))


def _words(names: Iterable[str]) -> Iterator[str]:
    for name in names:
        yield from re.findall(r"[^\W\d_]+", name.lower())
