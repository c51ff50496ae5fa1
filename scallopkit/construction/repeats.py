"""Bought trims: whole repeats of a fixed length along a line, and every way to take up what is over or short.

A lace is bought, not fitted: its repeat stays as it is, so the line, the cloth or what is seen of the trim must give.
All lengths are along the line on which the trim's middle lies; a mitred corner takes a piece of trim besides.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from ..errors import NameUnknownError, NoFitError, RequestError, counted

# What of the repeat lies at an end of the line: its beginning, its motif's middle, or whatever comes.
WHOLE, MOTIF, ANY = "whole", "motif", "any"
HOLDS = (WHOLE, MOTIF, ANY)
# How the difference is taken up.
EASE, STRETCH, SEAMS, EDGE, HIDE, MITRE, NONE = "ease", "stretch", "seams", "edge", "hide", "mitre", "none"
KINDS = (EASE, STRETCH, SEAMS, EDGE, HIDE, MITRE, NONE)

# How much fuller than its line a trim can be sewn on flat, and by how much it may be stretched; common practice, no
# source.
MOST_EASE, MOST_STRETCH = 0.03, 0.01
# Trim given to each join, and to each turned end, mm; common practice, no source.
JOIN = 10.0
# Differences smaller than this, mm, are none: lengths are known more exactly, and no ruler shows them.
NOTHING = 1e-4


@dataclass(frozen=True)
class Trim:
    """A bought trim.

    Attributes:
        repeat: length of its repeat, mm.
        width: its width, mm; 0 for a cord or a braid of which only the line matters.
        motif: where in the repeat its motif's middle lies, 0 to 1.
        start, end: what of the repeat lies at the ends of an open line, one of HOLDS.
    """

    repeat: float
    width: float = 0.0
    motif: float = 0.5
    start: str = WHOLE
    end: str = WHOLE


@dataclass(frozen=True)
class Place:
    """A joint, or an end of an open line.

    Attributes:
        name: what it is called.
        at: its length along the line, mm; of a loop's closing joint that of the whole line.
        pieces: the pieces that share the change where it may be moved; none where it may not, as at a fold.
        moves: whether it is moved unless told otherwise.
        hides: whether trim may end there, so that a part of a repeat can be hidden.
    """

    name: str
    at: float
    pieces: tuple[str, ...] = ()
    moves: bool = False
    hides: bool = False


@dataclass(frozen=True)
class Turn:
    """A corner of the line, which the trim turns by a mitre.

    Attributes:
        name: what it is called.
        at: its length along the line, mm.
        angle: by how much the line turns there, radians, without a sign.
    """

    name: str
    at: float
    angle: float


@dataclass(frozen=True)
class Line:
    """The line on which the trim's middle lies.

    Attributes:
        length: its length, mm.
        loop: whether it closes.
        places: its joints and free ends, in order.
        turns: its corners, in order.
    """

    length: float
    loop: bool = False
    places: tuple[Place, ...] = ()
    turns: tuple[Turn, ...] = ()


@dataclass(frozen=True)
class Limits:
    """How far a trim may be eased and stretched, as shares of its own length."""

    ease: float = MOST_EASE
    stretch: float = MOST_STRETCH


@dataclass(frozen=True)
class Move:
    """A place that is moved on one piece: mm to let out (+) or take in (-) there."""

    at: str
    piece: str
    add: float


@dataclass(frozen=True)
class Way:
    """One way to take up the difference between the line and whole repeats.

    Attributes:
        kind: one of KINDS.
        possible: whether it can be done.
        why: why not; empty where it can.
        count: how many repeats there are then; a share where the ends do not hold the same part of it.
        over: how much longer (+) or shorter (-) these are than what the line takes, mm.
        share: the same as a share: of the trim's own length where it is eased or stretched, of the line's else.
        moves: what is moved, where seams give.
        hidden: how much of a repeat is hidden, mm, and at which places; shared evenly among them.
        at: names of these places.
    """

    kind: str
    possible: bool
    why: str
    count: float
    over: float
    share: float = 0.0
    moves: tuple[Move, ...] = ()
    hidden: float = 0.0
    at: tuple[str, ...] = ()


@dataclass(frozen=True)
class Bought:
    """How much trim to buy.

    Attributes:
        used: what lies on the work, mm.
        ends, joins: how many turned ends and joins there are.
        allowed: what these take together, mm.
        pieces: in how many pieces it is cut.
        reserve: what is bought besides, mm.
        total: all together, mm.
        repeats: whole repeats of that length.
    """

    used: float
    ends: int
    joins: int
    allowed: float
    pieces: int
    reserve: float
    total: float
    repeats: int


def mitre_takes(width: float, angle: float) -> float:
    """How much shorter a trim's inner edge is than its outer one, where it turns a corner by a mitre, mm.

    The mitre halves the turn `a`, so that the edges of a trim `b` wide end b tan(a/2) apart on either side of it:
    2 b tan(a/2) (plane geometry).
    """
    return 2.0 * width * math.tan(0.5 * angle)


def taken(line: Line, width: float) -> float:
    """How much trim the line takes, mm: the longer of the trim's edges goes round each corner unbroken.

    At a corner the middle of a mitred trim is half of what the mitre takes shorter than its longer edge.
    """
    return line.length + sum(0.5 * mitre_takes(width, turn.angle) for turn in line.turns)


def counts(line: Line, trim: Trim) -> tuple[float, float]:
    """The largest count that the line holds and the smallest that covers it; the same where it holds one exactly.

    Raises:
        NoFitError: the repeat is too long for the line; the text gives the largest that works.
    """
    length = taken(line, trim.width)
    start, end = phases(line, trim)
    if start is None or end is None:
        return length / trim.repeat, length / trim.repeat
    share = (end - start) % 1.0
    least = share or 1.0
    if least * trim.repeat > length + NOTHING:
        raise NoFitError(
            f"a repeat of {trim.repeat:g} mm is too long for {length:.2f} mm: the largest that works is "
            f"{math.floor(1000.0 * length / least) / 1000.0:g} mm"
        )
    whole = length / trim.repeat - share
    near = round(whole)
    if abs(whole - near) * trim.repeat <= NOTHING:
        return near + share, near + share
    return math.floor(whole) + share, math.floor(whole) + 1.0 + share


def ways(line: Line, trim: Trim, limits: Limits, move: Collection[str] = (), hide: str = "") -> tuple[Way, ...]:
    """Every way to take up the difference, possible or not, in the order of KINDS.

    Args:
        line: the line.
        trim: the trim.
        limits: how far it may be eased and stretched.
        move: names of places whose seams may be moved; those that move by themselves where none is named.
        hide: the name of the place where a part of a repeat may be hidden; the only such place where none is named.

    Raises:
        NoFitError: the repeat is too long for the line.
        NameUnknownError: there is no such place.
    """
    fewer, more = counts(line, trim)
    length = taken(line, trim.width)
    nearest = min((fewer, more), key=lambda count: (abs(count * trim.repeat - length), count))
    return (
        _eased(line, trim, limits, more),
        _stretched(line, trim, limits, fewer),
        _moved(line, trim, nearest, _movable(line, move)),
        Way(EDGE, True, "", nearest, nearest * trim.repeat - length, (nearest * trim.repeat - length) / length),
        _hidden(line, trim, more, hide),
        _mitred(line, trim, more),
        _left(line, trim, fewer),
    )


def chosen(found: Sequence[Way], take_up: str = "") -> Way:
    """The way that is asked for; else the gentler of easing and stretching, and nothing where neither will do.

    Raises:
        NoFitError: what is asked for can't be done; the text tells why, and what can.
    """
    by_kind = {way.kind: way for way in found}
    if take_up:
        way = by_kind[take_up]
        if not way.possible:
            others = [other.kind for other in found if other.possible and other.kind != NONE]
            raise NoFitError(f"--take-up {take_up} can't be done: {way.why}; {', '.join(others)} can")
        return way
    if abs(by_kind[EDGE].over) <= NOTHING:
        return by_kind[NONE]
    gentle = [way for way in (by_kind[STRETCH], by_kind[EASE]) if way.possible]
    return min(gentle, key=lambda way: abs(way.over)) if gentle else by_kind[NONE]


def bought(
    used: float,
    repeat: float,
    ends: int,
    joins: int,
    join: float = JOIN,
    longest: float = math.inf,
    times: int = 1,
    reserve: tuple[float, float] = (0.0, 0.0),
) -> Bought:
    """How much trim to buy.

    Args:
        used: what lies on one piece of work, mm.
        repeat: the repeat, mm; joins are made where one ends, so that the motif goes on.
        ends: how many of its ends are turned.
        joins: how many joins there are in any case, as where a loop closes.
        join: trim given to each join and to each turned end, mm.
        longest: the longest piece there is on the roll, mm.
        times: how many such pieces of work there are.
        reserve: what is bought besides: mm, and a share of the rest.

    Raises:
        RequestError: the roll holds no whole repeat beside its joins.
    """
    pieces = 1
    if used + (ends + joins) * join > longest:
        each = math.floor((longest - 2.0 * join) / repeat + 1e-9)
        if each < 1:
            raise RequestError(
                f"a roll of {longest:g} mm holds no whole repeat of {repeat:g} mm beside its joins: give a --longest "
                f"of {repeat + 2.0 * join:g} mm or more"
            )
        pieces = math.ceil(used / (each * repeat) - 1e-9)
    every = joins + pieces - 1
    allowed = (ends + every) * join
    spare = reserve[0] + reserve[1] * times * (used + allowed)
    total = times * (used + allowed) + spare
    parts = times * ends, times * every, times * allowed, times * pieces
    return Bought(times * used, *parts, spare, total, math.ceil(total / repeat - 1e-9))


# ---------------------------------------------------------------- ends and counts


def phases(line: Line, trim: Trim) -> tuple[float | None, float | None]:
    """How far into a repeat the trim is at its ends, as shares; None where anything may come."""
    if line.loop:
        return 0.0, 0.0
    at = {WHOLE: 0.0, MOTIF: trim.motif, ANY: None}
    return at[trim.start], at[trim.end]


# ---------------------------------------------------------------- the ways


def _eased(line: Line, trim: Trim, limits: Limits, count: float) -> Way:
    length, long = taken(line, trim.width), count * trim.repeat
    share = (long - length) / length
    why = ""
    if share > limits.ease + 1e-12:
        why = (
            f"{counted(count, 'repeat is', 'repeats are')} "
            f"{long - length:.2f} mm longer than the line, {100.0 * share:.2f}%, which is more "
            f"than can be eased on; --ease {_above(share)}% would do, or a repeat of "
            f"{_below(length * (1.0 + limits.ease) / count)} mm"
        )
    return Way(EASE, not why, why, count, long - length, share)


def _stretched(line: Line, trim: Trim, limits: Limits, count: float) -> Way:
    length, long = taken(line, trim.width), count * trim.repeat
    if count <= 0.0:
        return Way(STRETCH, False, "the line is shorter than one repeat", count, -length)
    share = (long - length) / long
    why = ""
    if -share > limits.stretch + 1e-12:
        why = (
            f"{counted(count, 'repeat is', 'repeats are')} "
            f"{length - long:.2f} mm shorter than the line, {-100.0 * share:.2f}%, which is more "
            f"than they stretch; --stretch {_above(-share)}% would do, or a repeat of "
            f"{_not_below(length / (1.0 + limits.stretch) / count)} mm"
        )
    return Way(STRETCH, not why, why, count, long - length, share)


def _above(share: float) -> str:
    return f"{math.ceil(10_000.0 * share - 1e-6) / 100.0:g}"


def _below(length: float) -> str:
    return f"{math.floor(1000.0 * length + 1e-6) / 1000.0:g}"


def _not_below(length: float) -> str:
    return f"{math.ceil(1000.0 * length - 1e-6) / 1000.0:g}"


def _movable(line: Line, names: Collection[str]) -> list[Place]:
    """The places that are moved: those that are named, else all seams, else the free ends."""
    for name in names:
        if not _called(line, name).pieces:
            there = [place.name for place in line.places if place.pieces]
            raise RequestError(f'"{name}" can\'t be moved: {_choice(there, "leave out --move")}')
    if names:
        return [place for place in line.places if place.name in names]
    return [place for place in line.places if place.moves]


def _called(line: Line, name: str) -> Place:
    found = [place for place in line.places if place.name == name]
    if not found:
        there = ", ".join(f'"{place.name}"' for place in line.places) or "none"
        raise NameUnknownError(f'there is no joint or end called "{name}" along the trim; there are {there}')
    return found[0]


def _choice(names: Sequence[str], otherwise: str) -> str:
    """What to take instead."""
    listed = ", ".join(f'"{name}"' for name in names)
    return f"take {listed}" if names else otherwise


def _moved(line: Line, trim: Trim, count: float, places: Sequence[Place]) -> Way:
    length = taken(line, trim.width)
    over = count * trim.repeat - length
    if not places:
        return Way(SEAMS, False, "there is no seam or free end to move", count, over)
    each = over / len(places)
    moves = [Move(place.name, piece, each / len(place.pieces)) for place in places for piece in place.pieces]
    return Way(SEAMS, True, "", count, over, over / length, tuple(moves), at=tuple(place.name for place in places))


def _hidden(line: Line, trim: Trim, count: float, name: str) -> Way:
    over = count * trim.repeat - taken(line, trim.width)
    there = [place.name for place in line.places if place.hides]
    place = _called(line, name) if name else _called(line, there[0]) if len(there) == 1 else None
    why = ""
    if place is None:
        why = "no seam or end is named to hide the rest at"
    elif not place.hides:
        why = f'nothing can be hidden at "{place.name}"'
    if place is None or why:
        why += ": " + _choice([f"{HIDE}:{one}" for one in there], "there is none along the trim")
        return Way(HIDE, False, why, count, over)
    return Way(HIDE, True, "", count, over, over / taken(line, trim.width), (), max(over, 0.0), (place.name,))


def _mitred(line: Line, trim: Trim, count: float) -> Way:
    over = count * trim.repeat - taken(line, trim.width)
    if not line.turns or trim.width <= 0.0:
        why = "the trim turns no corner" if not line.turns else "a mitre needs the trim's --width"
        return Way(MITRE, False, why, count, over)
    names = tuple(turn.name for turn in line.turns)
    return Way(MITRE, True, "", count, over, over / taken(line, trim.width), (), max(over, 0.0), names)


def _left(line: Line, trim: Trim, count: float) -> Way:
    over = count * trim.repeat - taken(line, trim.width)
    return Way(NONE, True, "", count, over, over / taken(line, trim.width))
