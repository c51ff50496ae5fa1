"""Stepping with dividers, all steps at once: places along a curve whose straight distances are as asked.

A chain is a row of nodes on a curve and of links between them. Some nodes are pinned, the others are free; each
link has a length that depends on a few unknown widths. Newton moves all free nodes and all widths together. Seen
along the chain the equations are bidiagonal with the widths as a border, so one recurrence solves them.

A tiny residual does not prove a right answer: a step may jump over cloth. So each node must also be the first place
where the opened dividers meet the curve again. The walk that proves it advances by what is still missing to the
opening; as a chord is never longer than its arc, it can't pass a crossing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from itertools import pairwise

import numpy as np

from . import cubics
from .cubics import Array, Bools, Ints
from .length import Measured

CHORD, FROM_LINE, TO_LINE, PIVOT = 0, 1, 2, 3

Lengths = Callable[[Array], tuple[Array, Array]]

# Residual, relative to the smallest width, at which the nodes can't be told from the exact ones.
_CLOSE = 1e-12
# What is still accepted when rounding stops Newton earlier: a tenth of the promise of 1e-9.
_ACCEPT = 1e-10
_STEPS = 40


@dataclass(frozen=True, eq=False)
class Chain:
    """Nodes along a curve and the links between them.

    Attributes:
        start: first guess of the nodes' lengths along the curve, (n + 1,), rising; pinned ones are exact.
        pinned: which nodes stay where they are, (n + 1,).
        kind: what each link measures, (n,): CHORD, the straight distance of its nodes; FROM_LINE and TO_LINE, the
            distance of its second or first node from a line, on whose point the other node is pinned; PIVOT, that
            both nodes are equally far from a point, and that their straight distance is the link's length.
        anchor: the point on the line, or the pivot, (n, 2); unused for chords.
        normal: the line's unit normal in the walking direction, (n, 2); unused for chords and pivots.
        lengths: from widths (k,) to the links' lengths (n,) and their derivatives (n, k).
        widths: first guess of the widths (k,).
        cyclic: whether the curve is a loop, no node is pinned, and the last node is the first one a turn later.
    """

    start: Array
    pinned: Bools
    kind: Ints
    anchor: Array
    normal: Array
    lengths: Lengths
    widths: Array
    cyclic: bool = False


@dataclass(frozen=True, eq=False)
class Steps:
    """A solved chain.

    Attributes:
        s: lengths of the nodes along the curve (n + 1,).
        points: the nodes (n + 1, 2).
        widths: the widths (k,).
        residual: largest miss of a link, relative to the smallest width.
        several: whether another answer with the same count was found.
    """

    s: Array
    points: Array
    widths: Array
    residual: float
    several: bool = False


def equal_chords(m: Measured, count: int, weights: Array | None = None) -> Steps | None:
    """`count` chords from the first to the last point of the curve, equal or in the ratio of `weights` (count,).

    A loop is walked from its first point to the same a turn later. The width is the chord of weight 1.

    Returns:
        The steps, or None where no chain of first crossings with this count exists.
    """
    g = np.ones(count) if weights is None else np.asarray(weights, dtype=float)
    return solve(m, chords_between(m, np.array([0.0, m.length]), [g]), thorough=True)


def chords_between(m: Measured, stops: Array, weights: list[Array]) -> Chain:
    """The chain of chords whose weights are given for each stretch between neighbouring `stops`, one width each."""
    owner = np.repeat(np.arange(len(weights)), [len(g) for g in weights])
    border = np.zeros((len(owner), len(weights)))
    border[np.arange(len(owner)), owner] = np.concatenate(weights)
    nodes = [stops[:1]]
    for a, b, g in zip(stops[:-1], stops[1:], weights, strict=True):
        nodes.append(a + (b - a) * np.cumsum(g) / g.sum())
    start = np.concatenate(nodes)
    pinned = np.zeros(len(start), dtype=bool)
    at_stop = np.concatenate([[0], np.cumsum([len(g) for g in weights])])
    pinned[at_stop] = True
    start[at_stop] = stops
    nothing = np.zeros((len(owner), 2))
    widths = np.array([(b - a) / g.sum() for a, b, g in zip(stops[:-1], stops[1:], weights, strict=True)])
    return Chain(start, pinned, np.full(len(owner), CHORD), nothing, nothing, lambda w: (border @ w, border), widths)


def solve(m: Measured, chain: Chain, thorough: bool = False) -> Steps | None:
    """The chain with every link as long as asked and every node a first crossing, or None where there is none.

    Where Newton is misled and there is one width, the opening of the dividers is searched from wide to narrow. Few
    steps round a curve that turns far may fit with several openings: `thorough` searches there in any case, takes the
    widest, and `several` tells whether there are more.
    """
    # The solvers work in a parameter that differs a little from the length, so pinned nodes are put there first; ends
    # and nodes of the curve, where both agree, stay as they are to the last bit.
    working = m.working(chain.start)
    moved = chain.pinned & (np.abs(working - chain.start) > 1e-12 * m.length)
    placed = replace(chain, start=np.where(moved, working, chain.start))
    steps = _solved(m, placed, thorough)
    return None if steps is None else replace(steps, s=np.where(chain.pinned, chain.start, steps.s))


def _solved(m: Measured, chain: Chain, thorough: bool) -> Steps | None:
    one_width = len(chain.widths) == 1 and not chain.cyclic and not (chain.kind == PIVOT).any()
    steps = _newton(m, chain, chain.start, chain.widths)
    if steps is not None and not first_crossings(m, chain, steps):
        steps = None
    search = steps is None or (thorough and len(chain.kind) <= 12 and _turns_far(m, chain))
    if not (search and one_width):
        return steps
    walked = _by_walking(m, chain)
    if steps is None or walked is None:
        return steps if walked is None else walked
    wide, narrow = (walked, steps) if walked.widths[0] >= steps.widths[0] else (steps, walked)
    differ = float(wide.widths[0] / narrow.widths[0]) - 1.0 > 1e-7
    return replace(wide, several=walked.several or differ)


def _turns_far(m: Measured, chain: Chain) -> bool:
    return bool(_turn_between(m, chain.start[:1], chain.start[-1:])[0] > np.pi)


# ---------------------------------------------------------------- Newton on all nodes at once


@dataclass(frozen=True, eq=False)
class _Links:
    """Misses (n,), their derivatives by the first and the second node (n,), and by the widths (n, k)."""

    miss: Array
    by_first: Array
    by_second: Array
    by_width: Array
    width_miss: Array


def _newton(m: Measured, chain: Chain, r: Array, widths: Array) -> Steps | None:
    r, w = r.copy(), widths.copy()
    best = np.inf
    for step in range(_STEPS):
        points, tangent = m.places(r)
        links = _measure_links(chain, points, tangent, w)
        residual = _residual(links, w)
        if residual <= _CLOSE or (residual <= _ACCEPT and residual > 0.5 * best):
            return Steps(m.lengths_near(r), points, w, residual)
        best = min(best, residual)
        dr, dw = _newton_step(chain, links)
        if not (np.isfinite(dr).all() and np.isfinite(dw).all()):
            return None
        scale = _limit(r, dr, w, dw)
        r, w = r + scale * dr, w + scale * dw
        if step in (12, 24):
            r = _even_out(m, chain, r, w)
    return None


def _measure_links(chain: Chain, points: Array, tangent: Array, w: Array) -> _Links:
    first, second = points[:-1], points[1:]
    chord = second - first
    distance = np.hypot(chord[:, 0], chord[:, 1])
    unit = chord / np.where(distance > 0.0, distance, 1.0)[:, None]
    length, by_width = chain.lengths(w)
    value, by_first, by_second = distance.copy(), -cubics.dot(unit, tangent[:-1]), cubics.dot(unit, tangent[1:])

    line = chain.kind == FROM_LINE
    if line.any():
        normal = chain.normal[line]
        value[line] = cubics.dot(normal, second[line] - chain.anchor[line])
        by_first[line], by_second[line] = 0.0, cubics.dot(normal, tangent[1:][line])
    line = chain.kind == TO_LINE
    if line.any():
        normal = chain.normal[line]
        value[line] = cubics.dot(normal, chain.anchor[line] - first[line])
        by_first[line], by_second[line] = -cubics.dot(normal, tangent[:-1][line]), 0.0
    width_miss = np.zeros(0)
    pivot = chain.kind == PIVOT
    miss = value - length
    if pivot.any():
        width_miss = np.stack([by_first[pivot], by_second[pivot], miss[pivot]])
        ray0, ray1 = first[pivot] - chain.anchor[pivot], second[pivot] - chain.anchor[pivot]
        size0, size1 = np.hypot(*ray0.T), np.hypot(*ray1.T)
        miss[pivot] = size1 - size0
        by_first[pivot] = -cubics.dot(ray0, tangent[:-1][pivot]) / size0
        by_second[pivot] = cubics.dot(ray1, tangent[1:][pivot]) / size1
    return _Links(miss, by_first, by_second, by_width, width_miss)


def _residual(links: _Links, w: Array) -> float:
    miss = np.abs(links.miss).max()
    if links.width_miss.size:
        miss = max(miss, np.abs(links.width_miss[2]).max())
    smallest = w.min()
    return float(miss / smallest) if smallest > 0.0 else np.inf


def _newton_step(chain: Chain, links: _Links) -> tuple[Array, Array]:
    """Moves of the nodes and widths that would make every miss vanish to first order.

    Each node's move is an affine function of the width changes (and, in a cyclic chain, of the first node's move);
    pinned nodes and pivots give the equations for those.
    """
    k = len(chain.widths)
    pivot = chain.kind == PIVOT
    columns = k + 1 + int(chain.cyclic)
    right = np.zeros((len(chain.kind), columns))
    right[:, 0] = -links.miss
    right[:, 1 : k + 1] = np.where(pivot[:, None], 0.0, links.by_width)
    second_pinned, first_pinned = chain.pinned[1:], chain.pinned[:-1]
    by_second = np.where(np.abs(links.by_second) < 1e-3, np.copysign(1e-3, links.by_second), links.by_second)
    ratio = np.where(first_pinned | second_pinned, 0.0, -links.by_first / by_second)
    constant = np.where(second_pinned[:, None], 0.0, right / by_second[:, None])
    begin = np.zeros(columns)
    if chain.cyclic:
        begin[-1] = 1.0
    move = _recurrence(ratio, constant, begin)

    rows = [right[second_pinned] - links.by_first[second_pinned, None] * move[:-1][second_pinned]]
    if pivot.any():
        by_first, by_second_node, miss = links.width_miss
        row = by_first[:, None] * move[:-1][pivot] + by_second_node[:, None] * move[1:][pivot]
        row[:, 0] += miss
        row[:, 1 : k + 1] -= links.by_width[pivot]
        rows.append(row)
    if chain.cyclic:
        rows.append((move[-1] - begin)[None])
    system = np.concatenate(rows)
    try:
        unknown = np.linalg.solve(system[:, 1:], -system[:, 0])
    except np.linalg.LinAlgError:
        return np.full(len(chain.start), np.nan), np.full(k, np.nan)
    return np.asarray(move[:, 0] + move[:, 1:] @ unknown), np.asarray(unknown[:k])


def _recurrence(ratio: Array, constant: Array, begin: Array) -> Array:
    """x[0] = begin, x[i + 1] = ratio[i] x[i] + constant[i], for rows (n, c) at once, giving (n + 1, c).

    By running products where they stay moderate; else by doubling, which composes neighbouring steps pairwise.
    """
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        product = np.cumprod(ratio)
        size = np.abs(product)
        if size.size and size.min() > 1e-9 and size.max() < 1e9:
            tail = product[:, None] * (begin + np.cumsum(constant / product[:, None], axis=0))
            return np.concatenate([begin[None], tail])
        a, b = ratio.copy(), constant.copy()
        b[0] = a[0] * begin + b[0]
        a[0] = 0.0
        reach = 1
        while reach < len(a):
            b[reach:] = a[reach:, None] * b[:-reach] + b[reach:]
            a[reach:] = a[reach:] * a[:-reach]
            reach *= 2
    return np.concatenate([begin[None], b])


def _limit(r: Array, dr: Array, w: Array, dw: Array) -> float:
    """The share of the step after which no gap or width has shrunk by more than 60 %."""
    gap, change = np.diff(r), np.diff(dr)
    shrink = np.concatenate([-change / np.maximum(gap, 1e-300), -dw / w])
    worst = float(shrink.max())
    return 1.0 if worst <= 0.6 else 0.6 / worst


def _even_out(m: Measured, chain: Chain, r: Array, w: Array) -> Array:
    """Nodes spread anew so that their chords come nearer to the asked ratios; pinned ones stay."""
    for _ in range(5):
        points, _ = m.places(r)
        chord = np.hypot(*np.diff(points, axis=0).T)
        share = chord / np.maximum(chain.lengths(w)[0], 1e-12)
        fixed = np.flatnonzero(chain.pinned)
        new = r.copy()
        for a, b in pairwise(fixed):
            run = np.concatenate([[0.0], np.cumsum(share[a:b])])
            if run[-1] > 0.0:
                new[a : b + 1] = np.interp(np.linspace(0.0, run[-1], b - a + 1), run, r[a : b + 1])
        r = np.maximum.accumulate(new)
    return r


# ---------------------------------------------------------------- first crossings

# Segments shorter than this, mm, are what drawing programs leave behind at a node: a hook, not a course of the edge.
_HOOK = 0.05


def first_crossings(m: Measured, chain: Chain, steps: Steps) -> bool:
    """Whether every link ends at the first place where dividers of its length meet the curve again.

    A link about a pivot must also pass the pivot, and its nodes be the first places as far from it on either side.
    Where the curve turns by less than a right angle within a link, the distance from its origin only grows, and
    nothing is left to prove; the others are walked.
    """
    if (np.diff(steps.s) <= 0.0).any():
        return False
    pivot = np.flatnonzero(chain.kind == PIVOT)
    passed = _pass_pivots(m, chain, steps, pivot)
    if passed is None:
        return False
    doubtful = _turn_within(m, chain, steps) > 0.49 * np.pi
    link = np.flatnonzero(doubtful)
    if len(link) == 0:
        return True
    length = chain.lengths(steps.widths)[0]
    walks = [_along_links(chain, steps, link, length[link])]
    if doubtful[pivot].any():
        walks += _out_of_pivots(chain, steps, pivot[doubtful[pivot]], passed[doubtful[pivot]])
    return _walks_prove(m, _joined(walks))


def _turn_within(m: Measured, chain: Chain, steps: Steps) -> Array:
    """A bound on how far the curve's direction leaves that in which a link is measured, (n,).

    A chord is measured from a node of the curve, so that is the turn within the link. A mirror line need not be
    square to the curve, as at the bisector of a corner: what it leans comes on top.
    """
    turn = _turn_between(m, steps.s[:-1], steps.s[1:])
    line = np.flatnonzero((chain.kind == FROM_LINE) | (chain.kind == TO_LINE))
    if len(line):
        foot = np.where(chain.kind[line] == FROM_LINE, line, line + 1)
        tangent, normal = m.directions(steps.s[foot]), chain.normal[line]
        turn[line] += np.abs(np.arctan2(cubics.cross(normal, tangent), cubics.dot(normal, tangent)))
    return turn


def _turn_between(m: Measured, s0: Array, s1: Array) -> Array:
    """A bound on how far the curve turns from the lengths s0 to the lengths s1 > s0, (k,), however often round."""
    before, inside, whole = m.turning
    round0, round1 = _rounds(m, s0, s1)
    first, _, _ = m.near(np.clip(s0 - round0 * m.length, 0.0, m.length))
    last, _, _ = m.near(np.clip(s1 - round1 * m.length, 0.0, m.length))
    return np.asarray((round1 - round0) * whole + before[last] + inside[last] - before[first])


def _rounds(m: Measured, s0: Array, s1: Array) -> tuple[Array, Array]:
    """On which turn of a loop stretches from s0 to s1 begin and end; 0 on an open curve."""
    if m.closing is None:
        return np.zeros(len(s0)), np.zeros(len(s1))
    return np.floor(s0 / m.length), np.ceil(s1 / m.length) - 1.0


def _pass_pivots(m: Measured, chain: Chain, steps: Steps, link: Ints) -> Array | None:
    """The lengths at which links about a pivot pass it, (k,), or None where one does not.

    The walk goes on by its distance from the pivot, so it can't miss it.
    """
    at, end, pivot = steps.s[link], steps.s[link + 1], chain.anchor[link]
    near = 1e-6 * (end - at)
    for _ in range(200):
        missing = cubics.norm(m.points(at) - pivot) if len(link) else at
        if (missing <= near).all():
            return at
        at = at + np.where(missing > near, missing, 0.0)
        if (at > end).any():
            return None
    return None


@dataclass(frozen=True, eq=False)
class _Walks:
    """Walks along the curve, each until it is as far from its origin as its dividers are open.

    `begin` and `goal` (k,) are lengths, `sense` (k,) is 1 or -1, `origin` (k, 2) the point from which the distance is
    straight, or, where `straight` (k,) is False, a point of the line whose unit normal `normal` (k, 2) is.
    """

    begin: Array
    goal: Array
    sense: Array
    origin: Array
    normal: Array
    straight: Bools
    opening: Array

    def chosen(self, which: Bools | Ints) -> _Walks:
        return _Walks(*(getattr(self, field.name)[which] for field in fields(self)))

    def reached(self, points: Array) -> Array:
        """How far points (k, ..., 2) are from the walks' origins, (k, ...)."""
        between = (slice(None),) + (None,) * (points.ndim - 2)
        ray = points - self.origin[between]
        square = (ray * self.normal[between]).sum(axis=-1)
        return np.where(self.straight[between], np.hypot(ray[..., 0], ray[..., 1]), square)


def _joined(walks: list[_Walks]) -> _Walks:
    return _Walks(*(np.concatenate([getattr(w, field.name) for w in walks]) for field in fields(_Walks)))


def _along_links(chain: Chain, steps: Steps, link: Ints, opening: Array) -> _Walks:
    kind, s = chain.kind[link], steps.s
    back = kind == TO_LINE
    straight = ~(back | (kind == FROM_LINE))
    sense = np.where(back, -1.0, 1.0)
    origin = np.where(straight[:, None], steps.points[link], chain.anchor[link])
    begin, goal = np.where(back, s[link + 1], s[link]), np.where(back, s[link], s[link + 1])
    return _Walks(begin, goal, sense, origin, chain.normal[link] * sense[:, None], straight, opening)


def _out_of_pivots(chain: Chain, steps: Steps, link: Ints, at: Array) -> list[_Walks]:
    """From the pivots at the lengths `at` back to the first and on to the second nodes of their links."""
    pivot, one = chain.anchor[link], np.ones(len(link))
    return [
        _Walks(at, steps.s[node], sense * one, pivot, 0.0 * pivot, one > 0.0, cubics.norm(steps.points[node] - pivot))
        for node, sense in ((link, -1.0), (link + 1, 1.0))
    ]


def _walks_prove(m: Measured, walks: _Walks) -> bool:
    """Whether every walk arrives at its goal and not before it."""
    at, goal, near = walks.begin.copy(), walks.goal, 1e-6 * walks.opening
    hook = _longest_hook(m)
    # So near to the node an arrival may be the node's own, grazed; a hook there is met before its own end.
    same = 1e-3 * walks.opening + 2.0 * hook
    active: Ints = np.arange(len(at))
    for _ in range(200):
        under_way = walks.chosen(active)
        missing = under_way.opening - under_way.reached(m.points(at[active]))
        arrived = missing <= near[active]
        if (arrived & (np.abs(goal - at) > same)[active]).any():
            return False
        active, missing = active[~arrived], missing[~arrived]
        if len(active) == 0:
            break
        at[active] += walks.sense[active] * missing
        if ((at - goal) * walks.sense > near)[active].any():
            # The walk never passes a crossing, so the node is no crossing at all.
            return False
    # What is left before a node: little where the walk arrived, and stretches nearly round about the origin, where it
    # creeps.
    left = np.abs(goal - at) > near
    rest = replace(walks, begin=at, opening=walks.opening + near + 2.0 * hook)
    return bool(not left.any() or _none_beyond(m, rest.chosen(left)))


def _none_beyond(m: Measured, walks: _Walks) -> bool:
    """Whether no walk comes further from its origin than its opening, up to its goal.

    No point of a cubic is further from a point or a line than the furthest of its control points; where one of these
    is beyond, the piece is halved. What 14 halvings leave open is less than 4^-14 of the piece.
    """
    pieces, owner = _pieces(m, np.minimum(walks.begin, walks.goal), np.maximum(walks.begin, walks.goal))
    walks = walks.chosen(owner)
    for _ in range(14):
        reached = walks.reached(pieces)
        if (reached[:, [0, 3]] > walks.opening[:, None]).any():
            return False
        open_ = (reached > walks.opening[:, None]).any(axis=1)
        if not open_.any():
            return True
        number = np.flatnonzero(open_)
        zero, half, one = np.zeros(len(number)), np.full(len(number), 0.5), np.ones(len(number))
        halves = [cubics.cut(pieces, number, zero, half), cubics.cut(pieces, number, half, one)]
        pieces, walks = np.concatenate(halves), walks.chosen(np.tile(number, 2))
    return True


def _pieces(m: Measured, s0: Array, s1: Array) -> tuple[Array, Ints]:
    """The cubics (k, 4, 2) that make up the stretches from s0 to s1, and the stretch to which each belongs (k,)."""
    round0, round1 = _rounds(m, s0, s1)
    segment0, t0 = m.at(np.clip(s0 - round0 * m.length, 0.0, m.length))
    segment1, t1 = m.at(np.clip(s1 - round1 * m.length, 0.0, m.length))
    n = len(m.curve)
    first, last = segment0 + n * round0.astype(int), segment1 + n * round1.astype(int)
    count = np.maximum(last - first + 1, 1)
    owner = np.repeat(np.arange(len(s0)), count)
    number = first[owner] + np.arange(len(owner)) - (np.cumsum(count) - count)[owner]
    begin = np.where(number == first[owner], t0[owner], 0.0)
    end = np.where(number >= last[owner], t1[owner], 1.0)
    pieces = cubics.cut(m.curve, number % n, begin, end)
    for turn in np.unique(number // n):
        here = number // n == turn
        pieces[here] = m.carried(pieces[here], int(turn))
    return pieces, owner


def _longest_hook(m: Measured) -> float:
    """Length of the longest stray segment, mm; 0 where there is none."""
    legs = np.diff(m.curve, axis=1)
    size = np.hypot(legs[..., 0], legs[..., 1]).sum(axis=1)
    return float(size[size < _HOOK].max(initial=0.0))


# ---------------------------------------------------------------- walking with a trial opening

_LADDER = 0.97
_RUNGS = 120
_FINE = 24
# Places a whole search may look at; beyond it a request is refused rather than kept waiting.
_BUDGET = 3_000_000


def _by_walking(m: Measured, chain: Chain) -> Steps | None:
    """The widest opening that steps exactly to the end, found on a ladder of openings and polished by Newton."""
    total = _arc_width(m, chain)
    rungs: Array = np.array([total * _LADDER**k for k in range(-1, _RUNGS)])
    if len(chain.kind) * len(rungs) * 8 > _BUDGET:
        rungs = rungs[: max(_BUDGET // (len(chain.kind) * 8), 2)]
    over, _ = _walk(m, chain, rungs)
    answers: list[Steps] = []
    for i in np.flatnonzero((over[:-1] >= 0.0) & (over[1:] < 0.0) | (over[:-1] < 0.0) & (over[1:] >= 0.0)):
        answer = _refine(m, chain, rungs[i + 1], rungs[i])
        if answer is not None and all(abs(answer.widths[0] / a.widths[0] - 1.0) > 1e-7 for a in answers):
            answers.append(answer)
        if len(answers) == 2:
            break
    if not answers:
        return None
    return replace(answers[0], several=len(answers) > 1)


def _arc_width(m: Measured, chain: Chain) -> float:
    """The width at which the links' lengths add up to the whole arc: no answer is wider."""
    q, dq = chain.lengths(chain.widths)
    fixed = float((q - dq @ chain.widths).sum())
    return float((chain.start[-1] - chain.start[0] - fixed) / dq.sum())


def _refine(m: Measured, chain: Chain, low: float, high: float) -> Steps | None:
    for _ in range(3):
        trial: Array = np.array([low + (high - low) * k / (_FINE - 1) for k in range(_FINE)])
        over, nodes = _walk(m, chain, trial)
        change = np.flatnonzero((over[:-1] < 0.0) != (over[1:] < 0.0))
        if len(change) == 0:
            return None
        i = int(change[0])
        low, high = float(trial[i]), float(trial[i + 1])
        j = i if abs(over[i]) < abs(over[i + 1]) else i + 1
    start = np.where(chain.pinned, chain.start, nodes[:, j])
    if (np.diff(start) <= 0.0).any():
        return None
    answer = _newton(m, chain, start, trial[j : j + 1])
    return answer if answer is not None and first_crossings(m, chain, answer) else None


def _walk(m: Measured, chain: Chain, widths: Array) -> tuple[Array, Array]:
    """For each trial width: by how much the last step goes past the end (+) or stays short (-), and the nodes.

    Past its end the curve is taken to run on straight.
    """
    nodes = np.zeros((len(chain.start), len(widths)))
    nodes[0] = chain.start[0]
    at = np.full(len(widths), chain.start[0])
    length = np.stack([chain.lengths(np.array([w]))[0] for w in widths], axis=1)
    for i, kind in enumerate(chain.kind):
        if kind == TO_LINE:
            reached = cubics.dot(chain.normal[i], chain.anchor[i] - _beyond(m, at))
            nodes[i + 1] = chain.start[-1]
            return length[i] - reached, nodes
        origin = _beyond(m, at) if kind == CHORD else np.broadcast_to(chain.anchor[i], (len(widths), 2))
        at = _step(m, at, origin, length[i], None if kind == CHORD else chain.normal[i])
        nodes[i + 1] = at
    return at - chain.start[-1], nodes


def _step(m: Measured, at: Array, origin: Array, opening: Array, normal: Array | None) -> Array:
    """Where each trial opening first meets the curve, walking in the working parameter (good to the polish)."""
    at = at.copy()
    active = np.arange(len(at))
    here, near = at, 1e-8 * opening
    for _ in range(100):
        ray = _beyond(m, here) - origin
        reached = np.hypot(ray[:, 0], ray[:, 1]) if normal is None else cubics.dot(normal, ray)
        missing = opening - reached
        here = here + missing
        under_way = np.abs(missing) > near
        if under_way.all():
            continue
        at[active] = here
        if not under_way.any():
            return at
        active, here, origin = active[under_way], here[under_way], origin[under_way]
        opening, near = opening[under_way], near[under_way]
    at[active] = here
    return at


def _beyond(m: Measured, s: Array) -> Array:
    """Points at the lengths s; past the end, on the straight line that leaves it."""
    past = s > m.length
    segment, t, _ = m.near(np.where(past, m.length, np.maximum(s, 0.0)))
    points = cubics.point(m.curve, segment, t)
    if past.any():
        _, direction = cubics.ends_direction(m.curve)
        points[past] += (s[past] - m.length)[:, None] * direction
    return points
