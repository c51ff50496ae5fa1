"""Two edges that are sewn together: how long each is between anchors, and how the longer one takes up the difference.

A stretch lies between two anchors, places that meet once sewn. Its shorter edge is the sewn line; the longer one is
eased, gathered, pleated or darted onto it, and every place of one then lies on a place of the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..errors import NoFitError, RequestError
from ..geometry.cubics import Array
from .pleats import (
    BOX,
    DARTS,
    INVERTED,
    KNIFE,
    MOST,
    START,
    TAKES,
    Pleat,
    Setting,
    Tuck,
    called,
    depth_for,
    number_for,
    set_pleats,
    taken,
)

EASE, GATHERS, EDIT = "ease", "gathers", "edit"
PLEATED = (KNIFE, BOX, INVERTED, DARTS)
WAYS = (EASE, GATHERS, *PLEATED, EDIT)

# How much longer an edge can be eased in without pleats, as a share of the shorter one; common practice, no source.
CLOTHS = {"woven": 0.025, "wool": 0.04, "knit": 0.0}
# Cloth over finished length of gathers that look like gathers; common practice, no source.
LEAST_GATHERS, MOST_GATHERS = 1.5, 3.0
# Differences smaller than this, mm, are none: no ruler shows them, and lengths are known more exactly.
NOTHING = 1e-4
# Anchors closer than this, mm, are one place.
_SAME = 1e-6


@dataclass(frozen=True)
class Anchor:
    """Two places that meet: what they are called on either edge, and their lengths from the start, mm."""

    name_a: str
    name_b: str
    a: float
    b: float


@dataclass(frozen=True)
class Stretch:
    """What lies between two anchors that follow each other."""

    first: Anchor
    last: Anchor

    @property
    def name(self) -> str:
        """Its two anchors, by their names on the first edge."""
        return f"{self.first.name_a}..{self.last.name_a}"

    @property
    def length_a(self) -> float:
        """Length on the first edge, mm."""
        return self.last.a - self.first.a

    @property
    def length_b(self) -> float:
        """Length on the second edge, mm."""
        return self.last.b - self.first.b

    @property
    def long_a(self) -> bool:
        """Whether the first edge is the longer one."""
        return self.length_a > self.length_b

    @property
    def sewn(self) -> float:
        """Length of the shorter edge, mm."""
        return min(self.length_a, self.length_b)

    @property
    def long(self) -> float:
        """Length of the longer edge, mm."""
        return max(self.length_a, self.length_b)

    @property
    def excess(self) -> float:
        """By how much the longer edge is longer, mm."""
        return self.long - self.sewn

    @property
    def share(self) -> float:
        """The excess as a share of the shorter edge."""
        return self.excess / self.sewn


@dataclass(frozen=True)
class HowTaken:
    """How the excess of a stretch is taken up, as asked for.

    Attributes:
        kind: one of WAYS; empty for ease where nothing was asked.
        number, depth: of pleats or darts; None where it follows from the other, or was not told.
        toward, spacing, margin: as in `Setting`.
        most_ease: what may be eased, as a share of the shorter edge.
    """

    kind: str = ""
    number: int | None = None
    depth: float | None = None
    toward: str = START
    spacing: float | None = None
    margin: float = 0.0
    most_ease: float = CLOTHS["woven"]


@dataclass(frozen=True)
class Matched:
    """A stretch with its excess taken up.

    Attributes:
        stretch: the stretch.
        kind: one of WAYS; empty where there is nothing to take up.
        pleats: its pleats or darts, in order along the stretch.
    """

    stretch: Stretch
    kind: str = ""
    pleats: tuple[Pleat, ...] = ()

    @property
    def tucks(self) -> tuple[Tuck, ...]:
        """Where cloth is taken up, in order."""
        return tuple(tuck for pleat in self.pleats for tuck in pleat.tucks)

    @property
    def eased(self) -> float:
        """What pleats leave to be eased in, or all of it where there are none, mm."""
        return self.stretch.excess - sum(tuck.take for tuck in self.tucks)

    @property
    def slope(self) -> float:
        """Length of cloth over length of sewn line, between the pleats."""
        return 1.0 + self.eased / self.stretch.sewn

    @property
    def ratio(self) -> float:
        """Length of the longer edge over that of the shorter one."""
        return self.stretch.long / self.stretch.sewn

    def to_long(self, s: Array) -> Array:
        """Places on the longer edge of lengths along the sewn line, both from the first anchor, mm.

        On a pleat's own place the one before it is meant.
        """
        before = sum((np.where(s > tuck.sewn, tuck.take, 0.0) for tuck in self.tucks), np.zeros(len(s)))
        return np.asarray(self.slope * s + before)

    def to_sewn(self, u: Array) -> Array:
        """Lengths along the sewn line of places on the longer edge; what a pleat takes lies on the pleat's place."""
        gone = sum((np.clip(u - tuck.begin, 0.0, tuck.take) for tuck in self.tucks), np.zeros(len(u)))
        return np.asarray((u - gone) / self.slope)

    def taken_up(self, u: Array) -> Array:
        """Whether places on the longer edge lie within what pleats take up."""
        inside = [(u > tuck.begin + _SAME) & (u < tuck.end - _SAME) for tuck in self.tucks]
        return np.any(inside, axis=0) if inside else np.zeros(len(u), dtype=bool)


def stretches_of(anchors: Sequence[Anchor], length_a: float, length_b: float, names: tuple[str, str]) -> list[Stretch]:
    """The stretches between anchors, ends included.

    Args:
        anchors: the anchors between the ends, in any order.
        length_a: length of the first edge, mm.
        length_b: length of the second, mm.
        names: what they are called.

    Raises:
        RequestError: two anchors cross each other, or one edge has an anchor where the other has its end.
    """
    ends = (Anchor("start", "start", 0.0, 0.0), Anchor("end", "end", length_a, length_b))
    inner = []
    for anchor in sorted(anchors, key=lambda one: one.a):
        at = [(abs(anchor.a - end.a) < _SAME, abs(anchor.b - end.b) < _SAME) for end in ends]
        if (True, True) in at:
            # The ends are anchors in any case.
            continue
        if any(a or b for a, b in at):
            on, off = (names[0], names[1]) if any(a for a, _ in at) else (names[1], names[0])
            raise RequestError(
                f'"{anchor.name_a}" and "{anchor.name_b}" can\'t meet: one is an end of "{on}", the other none of '
                f'"{off}"; ends always meet, so pair places between them, or give --turned'
            )
        inner.append(anchor)
    whole = [ends[0], *inner, ends[1]]
    for one, other in pairwise(whole):
        if other.a - one.a < _SAME or other.b - one.b < _SAME:
            raise RequestError(
                f'"{one.name_a}" meets "{one.name_b}" and "{other.name_a}" meets "{other.name_b}", which cross each '
                f'other along "{names[0]}" and "{names[1]}": pair other places, or give --turned where the second '
                "edge runs the other way"
            )
    return [Stretch(one, other) for one, other in pairwise(whole)]


def matched(stretches: Sequence[Stretch], wishes: Sequence[HowTaken]) -> list[Matched]:
    """The stretches with their excess taken up, each as asked.

    Raises:
        RequestError, NoFitError: a stretch can't be taken up so; the text names it and what would do.
    """
    whole = sum(stretch.sewn for stretch in stretches)
    out, done = [], 0.0
    for stretch, wish in zip(stretches, wishes, strict=True):
        try:
            out.append(_taken_up(stretch, wish, 0.5 * whole - done))
        except (NoFitError, RequestError) as error:
            raise type(error)(f'from "{stretch.first.name_a}" to "{stretch.last.name_a}": {error}') from None
        done += stretch.sewn
    return out


def _taken_up(stretch: Stretch, wish: HowTaken, centre: float) -> Matched:
    """One stretch; `centre` is where the middle of the whole seam lies from its first anchor."""
    if stretch.excess < NOTHING:
        if wish.kind in PLEATED:
            raise RequestError(
                f"both edges are {stretch.sewn:.2f} mm long, so there is nothing for {called(wish.kind, 2)} to take "
                f"up: leave --take-up out, or lengthen one of them"
            )
        return Matched(stretch)
    if wish.kind in PLEATED:
        return _pleated(stretch, wish, centre)
    if wish.kind in ("", EASE):
        _refuse_much_ease(stretch, stretch.excess, wish.most_ease)
        return Matched(stretch, EASE)
    return Matched(stretch, wish.kind)


def _refuse_much_ease(stretch: Stretch, eased: float, most: float) -> None:
    if eased > most * stretch.sewn + NOTHING:
        room = most * stretch.sewn
        raise NoFitError(
            f"{eased:.2f} mm are {100.0 * eased / stretch.sewn:.2f}% of {stretch.sewn:.2f} mm, and {100.0 * most:g}% "
            f"({room:.2f} mm) can be eased in: take up {eased - room:.2f} mm or more in pleats, darts or gathers, take "
            f"them off the longer edge, or give a greater --most-ease"
        )


def _pleated(stretch: Stretch, wish: HowTaken, centre: float) -> Matched:
    kind, number, depth = wish.kind, wish.number, wish.depth
    if number is None and depth is None:
        if kind != DARTS:
            raise RequestError(
                f"say how many {called(kind, 2)} take up {stretch.excess:.2f} mm, as in {kind}:3 or --number 3, or how "
                "deep they are with --depth: one follows from the other"
            )
        number = 1
    if depth is None:
        number = number or 1
        depth = depth_for(kind, stretch.excess, number)
    elif number is None:
        number = number_for(kind, stretch.excess, depth)
        depth = depth_for(kind, stretch.excess, number)
    if number > MOST:
        raise RequestError(f"{number} {called(kind, number)} are beyond all use: give {MOST} or fewer")
    _refuse_more_than_there_is(stretch, kind, number, depth)
    rest = stretch.excess - taken(kind, number, depth)
    _refuse_much_rest(stretch, wish, number, depth, rest)
    setting = Setting(kind, number, depth, stretch.sewn, wish.toward, centre, wish.spacing, wish.margin)
    return Matched(stretch, kind, set_pleats(setting, 1.0 + rest / stretch.sewn))


def _refuse_more_than_there_is(stretch: Stretch, kind: str, number: int, depth: float) -> None:
    takes = taken(kind, number, depth)
    if takes <= stretch.excess + NOTHING:
        return
    fewer = int((stretch.excess + NOTHING) // taken(kind, 1, depth))
    cure = f"take {fewer}, or " if fewer else ""
    raise NoFitError(
        f"{number} {called(kind, number)} {depth:g} mm deep take up {takes:.2f} mm ({TAKES[kind]:g} times the depth "
        f"each), and the longer edge has {stretch.excess:.2f} mm too much: {cure}a --depth of "
        f"{depth_for(kind, stretch.excess, number):.2f} mm"
    )


def _refuse_much_rest(stretch: Stretch, wish: HowTaken, number: int, depth: float, rest: float) -> None:
    """Refuses pleats that leave more than can be eased."""
    if rest <= wish.most_ease * stretch.sewn + NOTHING:
        return
    raise NoFitError(
        f"{number} {called(wish.kind, number)} {depth:g} mm deep leave {rest:.2f} mm, and "
        f"{wish.most_ease * stretch.sewn:.2f} mm can be eased in: give a --depth of "
        f"{depth_for(wish.kind, stretch.excess, number):.2f} mm, or leave --number or --depth out"
    )
