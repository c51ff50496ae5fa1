"""Pleats: how much cloth they take, where their folds lie on the cloth, and where they lie once folded.

The depth of a pleat is that of its visible fold: how far the fold lies over the cloth below it. Each fold so takes up
twice the depth; some texts call that whole take-up the depth. Box and inverted pleats have two folds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import NoFitError, RequestError
from ..geometry.cubics import Array

KNIFE, BOX, INVERTED = "knife", "box", "inverted"
# A dart is no pleat, but takes cloth up at a place as one does.
DARTS = "darts"
START, END, CENTRE = "start", "end", "centre"

# How many depths of cloth a pleat takes, and how many it lies over once folded; a dart's depth is half its width.
# Take-up: trade textbook NIMI Dress Making, pleats; 4 depths for box and inverted pleats follow from its answers.
TAKES = {KNIFE: 2.0, BOX: 4.0, INVERTED: 4.0, DARTS: 2.0}
NEEDS = {KNIFE: 1.0, BOX: 2.0, INVERTED: 2.0, DARTS: 0.0}

# Lengths closer than this, mm, are one: what rounding leaves of a closure, and a thousandth of what is promised.
_SAME = 1e-9
# More pleats between two anchors are a slip of the pen or of a unit.
MOST = 1000


@dataclass(frozen=True)
class Tuck:
    """A place where cloth is taken up.

    Attributes:
        sewn: where it lies on the sewn line, mm from the start of its stretch.
        begin, end: between which lengths of the longer edge cloth is taken up, mm from the start of its stretch.
        toward: START or END, where its fold points to; empty for a dart, which has none.
    """

    sewn: float
    begin: float
    end: float
    toward: str = ""

    @property
    def take(self) -> float:
        """How much cloth it takes, mm."""
        return self.end - self.begin

    @property
    def fold(self) -> float:
        """Where the visible fold is, as a length along the longer edge."""
        return self.begin if self.toward == END else self.end

    @property
    def placement(self) -> float:
        """Where the visible fold is laid, as a length along the longer edge."""
        return self.end if self.toward == END else self.begin


@dataclass(frozen=True)
class Pleat:
    """One pleat, or one dart.

    Attributes:
        kind: KNIFE, BOX, INVERTED or DARTS.
        depth: of each of its folds, mm; half a dart's width.
        tucks: its folds: one, or two of a box or inverted pleat.
    """

    kind: str
    depth: float
    tucks: tuple[Tuck, ...]

    @property
    def underlay(self) -> float:
        """How wide the cloth out of sight lies below it, mm: what it lies over, once folded; none of a dart."""
        return NEEDS[self.kind] * self.depth

    @property
    def middle(self) -> float:
        """Where the middle of what it lies over is on the sewn line, mm from the start of its stretch."""
        if self.kind == KNIFE:
            (tuck,) = self.tucks
            return tuck.sewn + (-0.5 if tuck.toward == END else 0.5) * self.depth
        return sum(tuck.sewn for tuck in self.tucks) / len(self.tucks)


def spacing_of(pleats: Sequence[Pleat]) -> float | None:
    """From the middle of one pleat to the middle of the next as sewn, mm, all alike; None of a single one."""
    return pleats[1].middle - pleats[0].middle if len(pleats) > 1 else None


@dataclass(frozen=True)
class Setting:
    """How pleats are set between two anchors.

    Attributes:
        kind: KNIFE, BOX, INVERTED or DARTS.
        number: how many.
        depth: of each, mm.
        length: of the sewn line between the anchors, mm.
        toward: where knife pleats are turned: START, END, or CENTRE.
        centre: where the middle of the whole seam lies, mm from the first anchor; only for CENTRE.
        spacing: from the middle of one to the middle of the next, mm; None for even spacing.
        margin: how far all of them keep from the anchors once folded, mm.
    """

    kind: str
    number: int
    depth: float
    length: float
    toward: str = START
    centre: float = 0.0
    spacing: float | None = None
    margin: float = 0.0


def taken(kind: str, number: int, depth: float) -> float:
    """How much cloth so many pleats of a depth take, mm: 2 depths for each knife pleat, 4 for box and inverted ones."""
    return TAKES[kind] * depth * number


def depth_for(kind: str, excess: float, number: int) -> float:
    """How deep each of so many pleats is that take up an excess, mm."""
    return excess / (TAKES[kind] * number)


def number_for(kind: str, excess: float, depth: float) -> int:
    """How many pleats come nearest to a depth when they take up an excess, mm; at least one."""
    number = excess / (TAKES[kind] * depth)
    if number > MOST:
        raise RequestError(f"--depth {depth:g} mm makes more than {MOST} pleats: give a greater one")
    low = max(1, math.floor(number))
    # Depths are compared as a ratio, as the widths of scallops are.
    return low + 1 if (low + 1) / number < number / low else low


def fullness(kind: str, depth: float, spacing: float) -> float:
    """Cloth over finished length of even pleats: 1 + 2 u / s for folds of depth u, one every s."""
    return 1.0 + TAKES[kind] * depth / spacing


def set_pleats(wish: Setting, slope: float = 1.0) -> tuple[Pleat, ...]:
    """Pleats in place, in order.

    Even ones stand each in the middle of its share of the length: of a knife pleat the cloth it lies over counts, so
    that neighbours lie alike whichever way they are turned.

    Args:
        wish: what is wanted.
        slope: how much longer the cloth between them is than the line it is sewn to, where the rest is eased in.

    Raises:
        NoFitError: they would lie over each other, or beyond the anchors; the text names what fits.
    """
    lies = NEEDS[wish.kind] * wish.depth
    middles = _middles(wish, lies)
    out: list[Pleat] = []
    gone = 0.0
    for middle in middles.tolist():
        tucks = []
        for sewn, take, toward in _tucks(wish, middle):
            begin = slope * sewn + gone
            tucks.append(Tuck(sewn, begin, begin + take, toward))
            gone += take
        out.append(Pleat(wish.kind, wish.depth, tuple(tucks)))
    return tuple(out)


def _middles(wish: Setting, lies: float) -> Array:
    """Where the middles of the pleats lie on the sewn line."""
    room = wish.length - 2.0 * wish.margin
    if room <= 0.0:
        raise NoFitError(
            f"a --margin of {wish.margin:g} mm leaves no room between anchors that are {wish.length:.2f} mm apart: "
            f"give less than {0.5 * wish.length:.2f} mm"
        )
    if wish.spacing is None:
        share = room / wish.number
        if share < lies - _SAME:
            raise NoFitError(_too_close(wish, share, lies, room))
        return np.asarray(wish.margin + share * (np.arange(wish.number) + 0.5))
    if wish.number > 1 and wish.spacing < lies - _SAME:
        raise NoFitError(_too_close(wish, wish.spacing, lies, room))
    whole = (wish.number - 1) * wish.spacing + lies
    if whole > room + _SAME:
        most = (room - lies) / max(1, wish.number - 1)
        cure = f"give a --spacing of {most:.2f} mm or less" if most >= lies > 0.0 else "take fewer"
        raise NoFitError(
            f"{wish.number} {called(wish.kind, wish.number)} {wish.spacing:g} mm apart take {whole:.2f} mm, and there "
            f"are {room:.2f}: {cure}"
        )
    return np.asarray(0.5 * wish.length + wish.spacing * (np.arange(wish.number) - 0.5 * (wish.number - 1)))


def _too_close(wish: Setting, spacing: float, lies: float, room: float) -> str:
    """Why neighbours lie over each other, with what would do."""
    text = f"{wish.number} {called(wish.kind, wish.number)} {wish.depth:.2f} mm deep lie over each other"
    text += f" {spacing:.2f} mm apart"
    if wish.spacing is not None:
        return f"{text}: give a --spacing of {lies:.2f} mm or more"
    # However many there are, together they lie over half of what they take.
    most, takes = TAKES[wish.kind] / NEEDS[wish.kind] * room, taken(wish.kind, wish.number, wish.depth)
    return (
        f"{text}: on {room:.2f} mm they can take up {most:.2f} mm, each {most / TAKES[wish.kind] / wish.number:.2f} mm "
        f"deep, and here are {takes:.2f} mm: gather them, or take {takes - most:.2f} mm off the longer edge"
        + (", or give a smaller --margin" if wish.margin else "")
    )


def called(kind: str, number: int) -> str:
    """What pleats of a kind are called: knife pleats, or darts."""
    s = "" if number == 1 else "s"
    return f"dart{s}" if kind == DARTS else f"{kind} pleat{s}"


def _tucks(wish: Setting, middle: float) -> Sequence[tuple[float, float, str]]:
    """The tucks of a pleat: where each is sewn, what it takes, and where it is turned."""
    take, half = 2.0 * wish.depth, 0.5 * wish.depth
    if wish.kind == DARTS:
        return ((middle, take, ""),)
    if wish.kind == BOX:
        # Turned away from each other, with the box between them.
        return ((middle - wish.depth, take, START), (middle + wish.depth, take, END))
    if wish.kind == INVERTED:
        return ((middle, take, END), (middle, take, START))
    toward = wish.toward
    if toward == CENTRE:
        if abs(middle - wish.centre) < _SAME:
            raise NoFitError(
                "a pleat stands on the middle of the seam and can't be turned toward it: take one more or one fewer, "
                f"or --toward {START}"
            )
        toward = END if middle < wish.centre else START
    # The cloth below lies beyond the fold, on the side that it is turned away from.
    return ((middle + half if toward == END else middle - half, take, toward),)
