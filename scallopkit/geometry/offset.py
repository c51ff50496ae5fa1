"""Parallels of outlines and lines at a distance: allowances, facings, stitching lines.

The raw parallel of every segment is joined at the corners: mitred or rounded where the corner bulges, straight
across where it is hollow. It crosses itself where the curve is too hollow for the distance. There it is cut, and kept
are the parts that are no nearer to the curve than the distance and have nothing of the strip between curve and
parallel on their far side (the winding number of the strip's own outline is 0 there; compare Chen and McMains,
"Polygon offsetting by computing winding numbers", ASME IDETC 2005).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..errors import RequestError
from .arcs import ellipse_arc
from .cubics import Array, Bools, Ints, area, cross, direction, dot, left, lines, norm, point, reverse, stretch
from .intersect import crossings, self_crossings
from .nearest import nearest
from .parallel import Parallel, cut_at_cusps, parallel
from .winding import winding

Join = Literal["mitre", "round"]

_SMOOTH = math.radians(0.5)  # turns under this are no corners: a node that was meant to be smooth, in few digits
_HAIRPIN = math.pi - 0.02  # turns this near to right round have no sure hand: few digits of a drawing turn it over
_LINK = 1e-5  # mm; ends of parts nearer than this are one place
_BESIDE = 0.05  # how far beside a part its far side is looked at, as a share of a small step along it
# Where a part is looked at: near its ends too, and at no node of a part with few segments.
_SHARES = np.array([0.0312, 0.2137, 0.5291, 0.7873, 0.9644])
_NUDGES = (0.0, 1e-3, -1e-3, 1e-2, -1e-2)  # of the accuracy, tried in turn where parts lie exactly on each other


def offset(
    curve: Array,
    distance: float,
    closed: bool,
    join: Join = "mitre",
    mitre_limit: float = 4.0,
    accuracy: float = 0.02,
) -> list[Array]:
    """The parallel of `curve` (n, 4, 2) at `distance` mm to the walker's left, negative to the right.

    Each result is a curve that crosses neither itself nor the others, walked the way of the source, and within
    `accuracy` mm of the true parallel. A closed outline gives closed outlines: none where the distance is too large
    for it, several where it falls apart or encloses a hole, the largest first; those thinner than
    `accuracy` are left out. An open curve
    gives one open curve, from the normal at its first end to the normal at its last. An end that is nearer than the
    distance to another part of the curve is not reached: the result then starts or stops where the parallels meet,
    and is the longest of the parts; there may be none.

    Bulging corners are mitred unless the tip is more than `mitre_limit` times the distance away; then they are cut
    square at the distance. `join="round"` gives arcs. A RequestError says so when a number makes no sense or
    when the source crosses itself.
    """
    _check(curve, distance, join, mitre_limit, accuracy)
    source = _source(curve, closed, accuracy)
    if distance == 0.0:
        return [source]
    plain = None if closed else _plain(source, _Style(distance, closed, join, mitre_limit, accuracy))
    if plain is not None:
        return [plain]
    _check_simple(source, closed)
    source = cut_at_cusps(source)
    for nudge in _NUDGES:
        style = _Style(distance + nudge * accuracy, closed, join, mitre_limit, accuracy)
        outlines = _attempt(source, style)
        if outlines is not None:
            return outlines
    x, y = source[0, 0]
    raise RequestError(
        f"the parallel at {distance:g} mm of the curve that starts at ({x:.2f}, {y:.2f}) mm cannot be drawn: "
        "the curve crosses itself or runs over itself; redraw it so that it does not, or take another distance"
    )


@dataclass(frozen=True)
class _Style:
    distance: float
    closed: bool
    join: Join
    mitre_limit: float
    accuracy: float


def _check(curve: Array, distance: float, join: str, mitre_limit: float, accuracy: float) -> None:
    if not np.isfinite(curve).all():
        raise RequestError("a parallel needs a curve with finite coordinates: a number is missing or too large")
    if not math.isfinite(distance):
        raise RequestError(f"a parallel at {distance} mm cannot be drawn; give a finite distance")
    if join not in ("mitre", "round"):
        raise RequestError(f"corners are joined by 'mitre' or 'round', not by {join!r}; give one of these")
    if not mitre_limit >= 1.0:
        raise RequestError(f"a mitre limit of {mitre_limit:g} is too small: no tip is nearer than 1; give 1 or more")
    if not (math.isfinite(accuracy) and accuracy > 0.0):
        raise RequestError(f"an accuracy of {accuracy:g} mm cannot be kept; give a number above 0")


def _check_simple(source: Array, closed: bool) -> None:
    """Refuse a curve that crosses itself at an angle between its nodes; that it touches itself does no harm."""
    found = self_crossings(source, closed)
    one = direction(source, found.segment_a, found.t_a)
    two = direction(source, found.segment_b, found.t_b)
    inner = (found.t_a > 0.0) & (found.t_a < 1.0) & (found.t_b > 0.0) & (found.t_b < 1.0)
    through = np.flatnonzero(inner & (np.abs(cross(one, two)) > 1e-6))
    if len(through):
        x, y = found.point[through[0]]
        raise RequestError(f"the curve crosses itself at ({x:.2f}, {y:.2f}) mm and so has no parallel; redraw it there")


def _source(curve: Array, closed: bool, accuracy: float) -> Array:
    """The curve without specks (their directions mean nothing), exactly connected, and exactly closed if closed."""
    legs = np.diff(curve, axis=1)
    source = curve[norm(legs).sum(axis=1) > 0.01 * accuracy].copy()
    if not len(source):
        raise RequestError("a curve without length has no parallel; draw a longer one or leave it out")
    source[1:, 0] = source[:-1, 3]
    if closed:
        gap = source[0, 0] - source[-1, 3]
        if norm(gap) > 0.01 * accuracy:
            source = np.concatenate([source, lines(np.stack([source[-1, 3], source[0, 0]]))])
        source[-1, 3] = source[0, 0]
    return np.asarray(source)


def _plain(source: Array, style: _Style) -> Array | None:
    """The parallel of an open curve that needs no cutting; None where it might.

    Where no two tangents differ by more than a right angle, and the parallel runs forward everywhere, the squares to
    the curve do not meet within the distance, and both ends are farther from all of the parallel but its own end.
    """
    chord = source[-1, 3] - source[0, 0]
    if not _goes_along(source, chord):
        return None
    raw = parallel(source, style.distance, style.accuracy / 3.0)
    if not len(raw.pieces) or (raw.segment[0], raw.t0[0], raw.segment[-1], raw.t1[-1]) != (
        0,
        0.0,
        len(source) - 1,
        1.0,
    ):
        return None
    before = np.arange(len(raw.pieces) - 1)
    if (norm(raw.pieces[1:, 0] - raw.pieces[:-1, 3]) > 0.25 * style.accuracy).any():
        return None
    pieces = _snapped(raw.pieces, before, before + 1)
    return pieces if _goes_along(pieces, chord) else None


def _goes_along(curve: Array, way: Array) -> bool:
    """Whether all directions of a curve lie within half a right angle of `way`."""
    legs = np.diff(curve, axis=1)
    return bool((legs @ way >= math.sqrt(0.5) * norm(legs) * norm(way)).all())


def _attempt(source: Array, style: _Style) -> list[Array] | None:
    """The parallel's outlines, or None where the kept parts do not join up."""
    raw = _raw(source, style)
    if not len(raw):
        return []
    starts, stops = _parts(raw, _cuts(raw, source, style), style.closed)
    keep = _kept(raw, source, starts, stops, style)
    parts = [_part(raw, a, b) for a, b in zip(starts[keep], stops[keep], strict=True)]
    sizes = [np.ptp(part.reshape(-1, 2), axis=0).max() if len(part) else 0.0 for part in parts]
    parts = [part for part, size in zip(parts, sizes, strict=True) if size > 0.1 * _LINK]
    chains, complete = _chained(parts, math.copysign(1.0, style.distance))
    if any(_too_near(chain, source, style) for chain in chains):
        return None
    if style.closed:
        if not all(complete):
            return None
        thick = [chain for chain in chains if _thickness(chain) > style.accuracy]
        return sorted(thick, key=lambda chain: -abs(area(chain)))
    loose = [chain for chain, loop in zip(chains, complete, strict=True) if not loop]
    whole = [c for c in loose if (c[0, 0] == raw[0, 0]).all() and (c[-1, 3] == raw[-1, 3]).all()]
    return whole or sorted(loose, key=_length)[-1:]


# The raw parallel


def _raw(source: Array, style: _Style) -> Array:
    """The parallels of all segments with the joins at the corners, each segment starting where the last ended."""
    raw = parallel(source, style.distance, style.accuracy / 3.0)
    count = len(raw.pieces)
    if not count:
        return raw.pieces
    before = np.arange(count if style.closed else count - 1)
    after = (before + 1) % count
    gap = norm(raw.pieces[after, 0] - raw.pieces[before, 3])
    pieces = _snapped(raw.pieces, before[gap <= 0.25 * style.accuracy], after[gap <= 0.25 * style.accuracy])
    corners = np.flatnonzero(gap > 0.25 * style.accuracy)
    joins = _joins(source, raw, pieces, before[corners], after[corners], style)
    place = np.concatenate(
        [np.arange(count), *(np.full(len(j), before[k]) for j, k in zip(joins, corners, strict=True))]
    )
    return np.concatenate([pieces, *joins])[np.argsort(place, kind="stable")]


def _snapped(pieces: Array, before: Ints, after: Ints) -> Array:
    """Pieces whose ends are moved, with their handles, to the middle of the small gap to their neighbour."""
    out = pieces.copy()
    middle = 0.5 * (pieces[before, 3] + pieces[after, 0])
    out[before, 2:] += (middle - pieces[before, 3])[:, None]
    out[after, :2] += (middle - pieces[after, 0])[:, None]
    out[before, 3] = middle
    out[after, 0] = middle
    return out


def _joins(source: Array, raw: Parallel, pieces: Array, before: Ints, after: Ints, style: _Style) -> list[Array]:
    """What lies between each piece `before` a corner and the one `after` it."""
    # Where the last of a segment has shrunk to a point, the corner is nevertheless at its node.
    next_one = raw.segment[before] != raw.segment[after]
    t1, t0 = np.where(next_one, 1.0, raw.t1[before]), np.where(next_one, 0.0, raw.t0[after])
    forth = direction(source, raw.segment[before], t1)
    onward = direction(source, raw.segment[after], t0)
    node = point(source, raw.segment[after], t0)
    turn = np.arctan2(cross(forth, onward), dot(forth, onward))
    hand = math.copysign(1.0, style.distance)
    for k in map(int, np.flatnonzero(np.abs(turn) > _HAIRPIN)):
        side = _hairpin_hand(source, int(raw.segment[before[k]]), int(raw.segment[after[k]]), hand)
        turn[k] = math.copysign(turn[k], side)
    ends, starts = pieces[before, 3], pieces[after, 0]
    straight = (turn * hand <= 0.0) | (np.abs(turn) < _SMOOTH)
    joins = []
    for k in range(len(before)):
        if straight[k]:
            join = lines(np.stack([ends[k], starts[k]]))
        elif style.join == "round":
            join = _round(node[k], ends[k], starts[k], float(turn[k]), style)
        else:
            join = _mitre(ends[k], starts[k], forth[k], onward[k], abs(float(turn[k])), style)
        joins.append(join)
    return joins


def _hairpin_hand(source: Array, before: int, after: int, hand: float) -> float:
    """The side, right positive, to which the curve turns at a node where it turns back.

    The hand in which the way back lies from the way there, at one distance from the node. A spike, whose two ways are
    one, bulges on both sides: `hand` is given back.
    """
    node = source[after, 0]
    ways = np.stack([reverse(source[before : before + 1])[0], source[after]])
    reach = 0.25 * norm(ways[:, 3] - node).min()
    low, high = np.zeros(2), np.ones(2)
    for _ in range(40):
        middle = 0.5 * (low + high)
        inside = norm(point(ways, np.arange(2), middle) - node) < reach
        low, high = np.where(inside, middle, low), np.where(inside, high, middle)
    there, back = point(ways, np.arange(2), low) - node
    away = -float(cross(there, back))
    return hand if abs(away) <= 1e-6 * reach * reach else away


def _round(node: Array, end: Array, start: Array, turn: float, style: _Style) -> Array:
    radius = abs(style.distance)
    angle = math.atan2(end[1] - node[1], end[0] - node[0])
    arc = ellipse_arc((float(node[0]), float(node[1])), (radius, radius), 0.0, angle, turn, 0.25 * style.accuracy)
    arc[0, 0], arc[-1, 3] = end, start
    return arc


def _mitre(end: Array, start: Array, forth: Array, onward: Array, turn: float, style: _Style) -> Array:
    """Straight to the tip and back, or cut square at the distance where the tip is beyond the limit."""
    radius = abs(style.distance)
    # The tip is radius / cos(turn / 2) from the corner.
    if math.cos(0.5 * turn) * style.mitre_limit >= 1.0:
        return lines(np.stack([end, end + forth * radius * math.tan(0.5 * turn), start]))
    reach = radius * math.tan(0.25 * turn)
    return lines(np.stack([end, end + forth * reach, start - onward * reach, start]))


# Cutting it where it crosses itself


def _cuts(raw: Array, source: Array, style: _Style) -> Array:
    """Positions (segment + t) on the raw parallel where a part to be kept may begin or end, in order."""
    found = self_crossings(raw, style.closed)
    cuts = [found.segment_a + found.t_a, found.segment_b + found.t_b]
    if not style.closed:
        radius = abs(style.distance)
        # Round an end the distance is less, though nothing is crossed. The segment that leaves from there only touches.
        for (x, y), first, last in ((source[0, 0], 1, len(raw)), (source[-1, 3], 0, len(raw) - 1)):
            ring = ellipse_arc((float(x), float(y)), (radius, radius), 0.0, 0.0, 2.0 * math.pi, style.accuracy)
            at = crossings(raw[first:last], ring)
            cuts.append(at.segment_a + at.t_a + first)
        cuts.append(np.array([0.0, len(raw)]))
    return np.unique(np.concatenate(cuts))


def _parts(raw: Array, cuts: Array, closed: bool) -> tuple[Array, Array]:
    """First and last positions of the parts; the last part of a closed parallel goes on past its closing node."""
    if not closed:
        return cuts[:-1], cuts[1:]
    if not len(cuts):
        return np.zeros(1), np.full(1, float(len(raw)))
    return cuts, np.append(cuts[1:], cuts[0] + len(raw))


def _position(raw: Array, at: Array) -> tuple[Ints, Array]:
    """Segment and parameter of positions, which may lie up to one round beyond the end."""
    whole = np.floor(at)
    segment = whole.astype(np.intp) % len(raw)
    last = at == len(raw)
    return np.where(last, len(raw) - 1, segment), np.where(last, 1.0, at - whole)


def _part(raw: Array, start: float, stop: float) -> Array:
    """The part between two positions; beyond the end it goes on at the beginning."""
    n = len(raw)
    if start >= n:
        start, stop = start - n, stop - n
    if stop <= n:
        return _between(raw, start, stop)
    return np.concatenate([_between(raw, start, float(n)), _between(raw, 0.0, stop - n)])


def _between(raw: Array, start: float, stop: float) -> Array:
    i, j = min(int(start), len(raw) - 1), min(int(stop), len(raw) - 1)
    return stretch(raw, (i, start - i), (j, stop - j))


# Keeping the right parts


def _kept(raw: Array, source: Array, starts: Array, stops: Array, style: _Style) -> Bools:
    """Which parts are parallel to the whole curve: looked at in some places each, and in each segment's middle."""
    shares = len(_SHARES)
    segment, t = _position(raw, (starts[:, None] + (stops - starts)[:, None] * _SHARES).ravel())
    places = point(raw, segment, t)
    least = abs(style.distance) - 0.5 * style.accuracy
    far = np.asarray((nearest(source, places).distance.reshape(-1, shares) >= least).all(axis=1))
    number, half = np.arange(len(raw)), np.full(len(raw), 0.5)
    middle = nearest(source, point(raw, number, half)).distance >= least
    # Before the first start lies the last part of a closed parallel: number -1.
    far[(np.searchsorted(starts, number + half, side="right") - 1)[~middle]] = False
    some = np.flatnonzero(far)
    rows = (some[:, None] * shares + np.arange(shares)).ravel()
    size = np.ptp(places.reshape(-1, shares, 2), axis=1).max(axis=1)
    step = size.clip(max=0.1 * style.accuracy)[some].repeat(shares)
    outward = left(direction(raw, segment[rows], t[rows])) * math.copysign(_BESIDE, style.distance)
    turns = winding(_strip(raw, source, style.closed), places[rows] + outward * step[:, None])
    outside = (turns == 0).reshape(-1, shares).mean(axis=1) > 0.5
    keep = np.zeros(len(starts), dtype=bool)
    keep[_each_once(places.reshape(-1, 2 * shares), some[outside])] = True
    return keep


def _each_once(places: Array, parts: Ints) -> Ints:
    """Of parts that lie on each other only the first: they run in the same direction, as both are to be kept."""
    # The odd shift keeps round coordinates away from where the rounding turns.
    _, first = np.unique(np.round(places[parts] / _LINK + 0.137), axis=0, return_index=True)
    return np.asarray(parts[np.sort(first)])


def _too_near(chain: Array, source: Array, style: _Style) -> bool:
    """Whether a result comes nearer to the source than it may, as it does where the source crosses itself."""
    number = np.arange(len(chain)).repeat(len(_SHARES))
    places = point(chain, number, np.tile(_SHARES, len(chain)))
    near = nearest(source, places).distance < abs(style.distance) - style.accuracy
    return bool(near.any()) or len(crossings(chain, source)) > 0


def _strip(raw: Array, source: Array, closed: bool) -> Array:
    """The outline of the strip between the curve and its raw parallel, which comes first."""
    if closed:
        return np.concatenate([raw, reverse(source)])
    over = lines(np.stack([raw[-1, 3], source[-1, 3]]))
    back = lines(np.stack([source[0, 0], raw[0, 0]]))
    return np.concatenate([raw, over, reverse(source), back])


def _chained(parts: list[Array], hand: float) -> tuple[list[Array], list[bool]]:
    """The parts joined end to start, in order, and whether each chain closes.

    Where several parts start at one place the one that turns most towards the strip is taken: outlines that touch
    stay apart.
    """
    if not parts:
        return [], []
    starts, ends = np.array([part[0, 0] for part in parts]), np.array([part[-1, 3] for part in parts])
    meets = np.abs(ends[:, None] - starts).max(axis=2) <= _LINK
    heads, tails = (
        np.array([_end_direction(part, 0) for part in parts]),
        np.array([_end_direction(p, 1) for p in parts]),
    )
    turn = np.arctan2(cross(tails[:, None], heads), tails @ heads.T)
    free = np.ones(len(parts), dtype=bool)
    # Loose ends first, so that an open chain is never entered in its middle.
    order = np.argsort(meets.any(axis=0), kind="stable")
    chains, complete = [], []
    for first in order:
        if not free[first]:
            continue
        chain = [int(first)]
        free[first] = False
        while not meets[chain[-1], first]:
            onward = np.flatnonzero(meets[chain[-1]] & free)
            if not len(onward):
                break
            chain.append(int(onward[np.argmax(hand * turn[chain[-1], onward])]))
            free[chain[-1]] = False
        closes = bool(meets[chain[-1], first])
        chains.append(_linked([parts[k] for k in chain], closes))
        complete.append(closes)
    return chains, complete


def _end_direction(part: Array, end: int) -> Array:
    last = len(part) - 1
    return np.asarray(direction(part, np.array([end * last]), np.array([float(end)]))[0])


def _linked(parts: list[Array], closes: bool) -> Array:
    chain = np.concatenate(parts)
    chain[1:, 0] = chain[:-1, 3]
    if closes:
        chain[0, 0] = chain[-1, 3]
    return chain


def _length(chain: Array) -> float:
    legs = np.diff(chain, axis=1)
    return float(norm(legs).sum())


def _thickness(chain: Array) -> float:
    """Twice the area over the length: what is thinner than the accuracy is nothing but rounding."""
    return 2.0 * abs(area(chain)) / _length(chain)
