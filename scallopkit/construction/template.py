"""Template cards for tracing: a scallop, or a strip of them, at full size on a card that can be held.

The upper edge of a card is the scalloped line on a straight base line. Scallops of one width are congruent, so one card
traces them all; half a scallop is traced with half of a whole one's card.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.arcs import ellipse_arc
from ..geometry.cubics import Array, Ints
from ..trim.profiles import Motif
from ..trim.row import WHOLE
from ..trim.scallops import Scallops

# Widths and depths that agree within this, mm, share a card: about the breadth of a sharp pencil's line (common
# practice, no source).
ALIKE = 0.05
# A strip whose valleys lie farther than this, mm, off the edge's no longer traces it.
MOST_OFF = 0.5

_ACCURACY = 1e-7
_MEETS = 1e-6
# How many places on a segment tell how far a drawn line lies off its card's.
_PLACES = np.linspace(0.0, 1.0, 9)


@dataclass(frozen=True)
class Alike:
    """Scallops of a row that differ by less than a pencil's line.

    Attributes:
        members: their places in the row, from 0, in order.
        example: the place of the one of middle width, which stands for all.
    """

    members: tuple[int, ...]
    example: int


@dataclass(frozen=True, eq=False)
class Template:
    """A card for tracing, in a frame of its own: x along the base line from the first valley, y down, crests up.

    All lengths in mm. The card is laid face up; with a motif whose halves differ it must be turned over for the
    mirrored half of a piece that is cut on the fold.

    Attributes:
        width: of one scallop, valley to valley.
        depth: height of its crest over the base line; of a corner scallop, over the straight line between its valleys.
        count: how many scallops it has side by side; a space follows each, where the row has spaces.
        outline: its closed outline (n, 4, 2), clockwise as seen, from the first valley over the crests.
        base: the base lines as points (1, 2, 2). On a corner's card there are two (2, 2, 2), one along each edge from
            its valley to the corner, or to the cutting edge of the card where the corner lies beyond it.
        valleys: the valley points on the base line (m, 2), left to right: count + 1 of them; where the scallops stand
            apart both ends of each and the place where the next one begins, 2 count + 1.
        centres: lines (count, 2, 2) from each crest over the base line into the card.
        scallops: the numbers of the row's scallops that it serves, from 1.
        title: lines of text to be written on it.
        off: how far at most a valley, or the line of a wave, lies off the card, laid with both ends of the strip on the
            edge.
    """

    width: float
    depth: float
    count: int
    outline: Array
    base: Array
    valleys: Array
    centres: Array
    scallops: tuple[int, ...]
    title: tuple[str, ...]
    off: float = 0.0

    @property
    def corner(self) -> bool:
        """Whether it is the card of a scallop that wraps a corner."""
        return len(self.base) > 1

    @property
    def bends(self) -> bool:
        """Whether the edge bends too much for so long a card."""
        return self.off > MOST_OFF


def templates(placed: Scallops, space: float = 0.0, strip: int = 1, body: float = 30.0) -> tuple[Template, ...]:
    """The cards that trace a row of scallops, one for each distinct width, in the order in which they are first needed.

    Scallops that wrap a corner have cards of their own. A strip is no longer than the longest stretch of equal, whole
    scallops side by side, and it is single where the scallops would overlap on a straight line, as deep ones on a
    bulging edge do. Strips of more than one fit straight edges only: `Template.off` and `bends` tell how far a curved
    edge departs from them. So do waves on a curved edge, which turn into one another at their valleys.

    Args:
        placed: the scallops.
        space: the flat stretch between two of them, mm.
        strip: how many scallops a card is to have.
        body: how far the card reaches below the base line, or below the lowest point of a motif that dips under it.

    Raises:
        RequestError: a strip of none, no body, or a motif of which no card can be cut.
    """
    if strip < 1:
        raise RequestError(f"a template of {strip} scallops has nothing to trace: ask for 1 or more")
    if not 0.0 < body < math.inf:
        raise RequestError(f"a template can't reach {body:g} mm below its base line: give a length above 0")
    if not 0.0 <= space < math.inf:
        raise RequestError(f"scallops can't stand {space:g} mm apart: give 0 or more")
    cards = []
    # Only a wave's line may differ from its card's.
    waves = list(placed.curves()) if placed.shape.profile == "wave" else []
    for group in alike(placed):
        if placed.row.turn[group.example] != 0.0:
            cards.append(_corner_card(placed, group, body))
            continue
        card = _card(placed, group, space, strip, body)
        cards.append(replace(card, off=max(card.off, _wave_off(placed, group, waves))) if waves else card)
    return tuple(cards)


def alike(placed: Scallops) -> list[Alike]:
    """The scallops of a row in groups whose widths and depths agree within ALIKE, ordered by their first members.

    A half counts with the wholes of its width; those that wrap a corner stand apart.
    """
    row = placed.row
    sizes = np.stack([row.turn != 0.0, row.width, placed.depth, row.size], axis=1).tolist()
    groups: list[list[int]] = []
    for i in sorted(range(len(row)), key=lambda i: (*sizes[i], i)):
        # The first of a group is its narrowest, so that no two of it differ by more.
        near = (
            g for g in reversed(groups) if all(abs(a - b) <= ALIKE for a, b in zip(sizes[g[0]], sizes[i], strict=True))
        )
        found = next(near, None)
        if found is None:
            groups.append([i])
        else:
            found.append(i)
    made = [Alike(tuple(sorted(group)), group[len(group) // 2]) for group in groups]
    return sorted(made, key=lambda group: group.members)


def _card(placed: Scallops, group: Alike, space: float, strip: int, body: float) -> Template:
    width, depth = float(placed.row.width[group.example]), float(placed.depth[group.example])
    motif = placed.shape.motif(width)
    reach = _in_a_row(placed, group, space)
    count = 1 if _overlaps(motif, space / width) else max(1, min(strip, int(reach.max())))
    top = _scalloped_line(motif, width, space, count, placed.side)
    length = count * (width + space)
    lowest = float(cubics.bounds(top)[1, 1])
    if lowest > _MEETS:
        _refuse_undercut(top, length)
    outline = _with_body(top, length, max(lowest, 0.0) + body)
    first: Array = np.arange(count + 1, dtype=float) * (width + space)
    valleys = np.union1d(first, first[:-1] + width) if space > 0.0 else first
    crests: Array = first[:-1] + width * (motif.crest if placed.side > 0 else 1.0 - motif.crest)
    return Template(
        width,
        depth,
        count,
        outline,
        np.array([[(0.0, 0.0), (length, 0.0)]]),
        np.stack([valleys, np.zeros_like(valleys)], axis=1),
        _centre_lines(crests, depth, body),
        _numbers(group.members),
        _title(placed, group, count, space),
        _strip_off(placed, np.flatnonzero(reach >= count), width, space, count),
    )


def _corner_card(placed: Scallops, group: Alike, body: float) -> Template:
    """The card of a scallop that wraps a corner: its arc on the straight line between its valleys."""
    row, i = placed.row, group.example
    width, depth, radius = float(row.width[i]), float(placed.depth[i]), float(placed.radius[i])
    half = 2.0 * math.atan(2.0 * depth / width)
    centre = (0.5 * width, radius - depth)
    top = ellipse_arc(centre, (radius, radius), 0.0, -0.5 * math.pi - half, 2.0 * half, _ACCURACY)
    top[0, 0], top[-1, 3] = (0.0, 0.0), (width, 0.0)
    lean = 0.5 * abs(float(row.turn[i]))
    # The edge cuts its neighbours' circle, which is the corner's too, in a chord of their width.
    to_corner = min(0.5 * width / math.cos(lean), float(row.size[i]))
    rise = np.array([to_corner * math.cos(lean), -to_corner * math.sin(lean)])
    ends = np.array([(0.0, 0.0), (width, 0.0)])
    base = np.stack([np.stack([ends[0], rise]), np.stack([ends[1] + rise * (-1.0, 1.0), ends[1]])])
    return Template(
        width,
        depth,
        1,
        _with_body(top, width, body),
        base,
        ends,
        _centre_lines(np.array([0.5 * width]), depth, body),
        _numbers(group.members),
        _title(placed, group, 1, 0.0),
    )


def _scalloped_line(motif: Motif, width: float, space: float, count: int, side: int) -> Array:
    """The line of `count` scallops from left to right, crests up, each followed by its space."""
    curve = motif.curve * (width, -width)
    if side < 0:
        # Seen with its crest up, a scallop that bulges to the walker's right is walked from right to left.
        curve = cubics.reverse(curve * (-1.0, 1.0) + (width, 0.0))
    one = [curve, cubics.lines([(width, 0.0), (width + space, 0.0)])] if space > 0.0 else [curve]
    shift = (width + space, 0.0)
    return np.concatenate([line + k * np.array(shift) for k in range(count) for line in one])


def _with_body(top: Array, length: float, below: float) -> Array:
    outline = np.concatenate([top, cubics.lines([(length, 0.0), (length, below), (0.0, below), (0.0, 0.0)])])
    # Shifted copies meet but for rounding; a closed outline meets to the last bit.
    outline[1:, 0] = outline[:-1, 3]
    return outline


def _centre_lines(crests: Array, depth: float, body: float) -> Array:
    ends = np.array([-depth, 0.5 * body])
    return np.stack([np.stack([np.full(2, x), ends], axis=1) for x in crests])


def _overlaps(motif: Motif, space: float) -> bool:
    """Whether neighbours on a straight line, `space` widths apart, would run into each other."""
    least, most = cubics.bounds(motif.curve)[:, 0]
    return bool(most - least - 1.0 > space + _MEETS)


def _refuse_undercut(top: Array, length: float) -> None:
    """A motif that dips under its base line must not cross the sides of the card there."""
    for x in (0.0, length):
        segment, t = cubics.meets_line(top, np.array([x, 0.0]), np.array([1.0, 0.0]))
        if (cubics.point(top, segment, t)[:, 1] > _MEETS).any():
            raise RequestError(
                "no template can be cut of a motif that reaches out past its ends below its base line: "
                "draw the motif so that it stays between its ends there"
            )


def _in_a_row(placed: Scallops, group: Alike, space: float) -> Ints:
    """How many whole scallops of a group stand side by side from each scallop on, itself counted."""
    row = placed.row
    mine = np.zeros(len(row), dtype=bool)
    mine[list(group.members)] = True
    mine &= row.part == WHOLE
    gap = cubics.norm(row.start[1:] - row.end[:-1])
    goes_on = mine[1:] & mine[:-1] & (np.abs(gap - space) <= MOST_OFF)
    reach = mine.astype(np.intp)
    for i in np.flatnonzero(goes_on)[::-1]:
        reach[i] += reach[i + 1]
    return reach


def _strip_off(placed: Scallops, begins: Ints, width: float, space: float, count: int) -> float:
    """How far valleys lie at most off a strip's, for strips laid from each of the scallops `begins` on."""
    if len(begins) == 0:
        return 0.0
    which = begins[:, None] + np.arange(count)
    edge = np.stack([placed.row.start[which], placed.row.end[which]], axis=2).reshape(len(begins), -1, 2)
    start = np.arange(count) * (width + space)
    strip = np.stack([start, start + width], axis=1).ravel()
    chord = edge[:, -1] - edge[:, 0]
    along = chord / cubics.norm(chord)[:, None]
    from_middle = edge - 0.5 * (edge[:, :1] + edge[:, -1:])
    ahead = cubics.dot(from_middle, along[:, None]) - (strip - 0.5 * strip[-1])
    return float(np.hypot(ahead, cubics.cross(along[:, None], from_middle)).max())


def _wave_off(placed: Scallops, group: Alike, waves: Sequence[Array]) -> float:
    """How far the line of a wave, turned into its neighbours, lies at most off the one on a straight edge."""
    row = placed.row
    width = float(row.width[group.example])
    curve = placed.shape.motif(width).curve * width
    segment, t = np.repeat(np.arange(len(curve)), len(_PLACES)), np.tile(_PLACES, len(curve))
    card = cubics.point(curve, segment, t)
    off = 0.0
    for i in group.members:
        if row.part[i] == WHOLE:
            frame = np.stack([(row.end[i] - row.start[i]) / row.width[i], placed.axis[i]], axis=1)
            laid = (waves[i] - row.start[i]) @ frame
            off = max(off, float(cubics.norm(cubics.point(laid, segment, t) - card).max()))
    return off


def _numbers(members: Sequence[int]) -> tuple[int, ...]:
    return tuple(i + 1 for i in members)


def _title(placed: Scallops, group: Alike, count: int, space: float) -> tuple[str, ...]:
    row, i = placed.row, group.example
    halves = [k for k in group.members if row.part[k] != WHOLE]
    kind = "corner scallop" if row.turn[i] != 0.0 else "scallop"
    lines = [
        f"{kind}{'s' if len(group.members) > 1 else ''} {_ranges(_numbers(group.members))}",
        f"{_mm(float(row.width[i]))} wide, {_mm(float(placed.depth[i]))} deep"
        + (f", {_mm(space)} apart" if space > 0.0 else ""),
    ]
    if count > 1:
        lines.append(f"strip of {count}")
    if halves:
        lines.append(f"half only: {_ranges(_numbers(halves))}")
    return tuple(lines)


def _ranges(numbers: Sequence[int]) -> str:
    """Numbers in order as `1-4, 6, 9-12`."""
    breaks = [0, *(k for k, (a, b) in enumerate(pairwise(numbers), 1) if b > a + 1), len(numbers)]
    runs = [numbers[a:b] for a, b in pairwise(breaks)]
    return ", ".join(f"{run[0]}-{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs)


def _mm(length: float) -> str:
    return f"{round(length, 2):.12g} mm"
