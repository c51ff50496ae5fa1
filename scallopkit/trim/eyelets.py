"""Eyelets: one in every scallop as near the crest as its flange allows, or evenly along an edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import NoFitError, RequestError
from ..geometry import cubics, dividers
from ..geometry.cubics import Array, Ints
from ..geometry.length import Measured, measure
from ..geometry.motion import apply
from ..geometry.nearest import nearest
from ..pattern.piece import Warn
from .clearance import distances, first_clear
from .course import Course
from .fastenings import ALONG, EYELET, Buttonhole, RoundPart
from .linking import MEETS, links
from .row import WHOLE
from .scallops import Scallops, crest_lengths
from .spacing import fit_spacing

MARGIN = 6.0
COMMON_PRACTICE = "common practice, no source; test on a scrap"

# The clearance may fall short by twice this, mm.
_ACCURACY = 2e-4
# How far inside the nearest thinkable place an eyelet is looked for, in widths of its scallop.
_DEEPEST = 4.0
# So many scallops beyond either end of a loop laid flat may be near to an eyelet: as far as one is looked for. More
# would lie over the other end where a wide cone's rim comes nearly round in the flat.
_BEYOND = 5
# What a warning lets pass: the places themselves are good to less.
_SHORT = 1e-3
# Lengths from both ends that meet are good to this, mm.
_ROUNDED = 1e-6
# The usual parts of a metal eyelet, mm: common practice, no source.
_WALL, _UNDER, _TUBE = 1.0, 0.5, 4.0
# So many discs stand for a buttonhole.
_DISCS = 5


@dataclass(frozen=True)
class EyeletSize:
    """The measures of an eyelet, mm; make it with `eyelet_size`.

    Attributes:
        opening: clear width inside.
        barrel: outside of its tube.
        barrel_length: how long the tube is before it is set.
        flange: outer width of its rim.
        hole: what is cut in the cloth, slightly under the barrel so that it grips.
        assumed: the measures that were not given but follow COMMON_PRACTICE.
    """

    opening: float
    barrel: float
    barrel_length: float
    flange: float
    hole: float
    assumed: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        measures = (self.opening, self.barrel, self.barrel_length, self.flange, self.hole)
        names = ("opening", "barrel", "barrel length", "flange", "hole")
        for name, value in zip(names, measures, strict=True):
            if not (math.isfinite(value) and value > 0.0):
                raise RequestError(f"the eyelet's {name} of {value:g} mm is no size; give a length above 0")
        if self.opening >= self.barrel:
            raise RequestError(
                f"an eyelet's opening lies inside its barrel: {self.opening:g} mm does not fit in {self.barrel:g} mm; "
                f"give a smaller opening or a larger barrel"
            )
        if self.barrel >= self.flange:
            raise RequestError(
                f"an eyelet's flange reaches beyond its barrel: {self.flange:g} mm does not cover {self.barrel:g} mm; "
                f"give a larger flange"
            )
        if self.hole > self.barrel:
            raise RequestError(
                f"a hole of {self.hole:g} mm is wider than the barrel of {self.barrel:g} mm, so the eyelet would "
                f"slip: give at most {self.barrel:g} mm"
            )

    @property
    def part(self) -> str:
        """What it is."""
        return EYELET

    @property
    def beside(self) -> float:
        """The room that it takes along the edge."""
        return self.flange

    @property
    def deep(self) -> float:
        """The room that it takes square to the edge."""
        return self.flange


Size = EyeletSize | Buttonhole | RoundPart


@dataclass(frozen=True, eq=False)
class Eyelets:
    """Eyelets, or buttonholes, buttons or snaps, in place, as arrays of one entry a part.

    Attributes:
        points: their middles (n, 2), mm.
        s: the length along the course that each belongs to (n,).
        scallop: the number of the scallop that holds it, from 1; 0 where there is none (n,).
        size: the eyelet, or what else stands there.
        into: unit vectors (n, 2) from the edge or the crest into the cloth, by which slits lie; None where unknown.
        moved: how far each was moved along the course, off a seam or a dart (n,), mm; None where none was.
        patch: how far a patch below each reaches beyond its flange, mm; 0 for none.
        level_with: the run whose row they are level with, part by part; empty for none.
        staggered: whether they stand half way between the parts of that row instead, all but the first and the last.
    """

    points: Array
    s: Array
    scallop: Ints
    size: Size
    into: Array | None = None
    moved: Array | None = None
    patch: float = 0.0
    level_with: str = ""
    staggered: bool = False

    def __len__(self) -> int:
        return len(self.points)

    @property
    def slits(self) -> Array:
        """Of buttonholes, unit vectors (n, 2) along the slits."""
        if not isinstance(self.size, Buttonhole) or self.into is None:
            raise ValueError("only buttonholes have slits")
        return cubics.left(self.into) if self.size.lies == ALONG else self.into


def eyelet_size(
    opening: float,
    barrel: float | None = None,
    barrel_length: float | None = None,
    flange: float | None = None,
    hole: float | None = None,
) -> EyeletSize:
    """An eyelet from what is known of it, mm.

    What is not given is assumed: a barrel 1 mm wider than the opening and 4 mm long, a flange twice as wide as the
    opening (or 1 mm wider than the barrel where that is more), a hole 0.5 mm under the barrel. These are
    COMMON_PRACTICE.

    Raises:
        RequestError: the measures contradict each other.
    """
    given = {"barrel": barrel, "barrel_length": barrel_length, "flange": flange, "hole": hole}
    tube = opening + _WALL if barrel is None else barrel
    rim = 2.0 * opening if 2.0 * opening > tube else tube + _WALL
    return EyeletSize(
        opening,
        tube,
        _TUBE if barrel_length is None else barrel_length,
        rim if flange is None else flange,
        tube - _UNDER if hole is None else hole,
        tuple(name for name, value in given.items() if value is None),
    )


# in scallops


def eyelets_in_scallops(
    scallops: Scallops,
    course: Course,
    size: Size,
    margin: float = MARGIN,
    every: int = 1,
    from_crest: float | None = None,
    first: int = 1,
    halves: bool = True,
    lines: list[Array] | None = None,
) -> Eyelets:
    """One eyelet in every so-many-th scallop, on the axis through its crest.

    It stands as near the crest as keeps its flange `margin` clear (to 0.0004 mm) of the stitching line all round, even
    if that is beyond the valley line; or at the given distance from the crest. Half a scallop has its axis on the
    mirror line, where its one eyelet lies.

    Args:
        scallops: the scallops.
        course: the line they stand on; what they leave free of it is stitching line too.
        size: the eyelet, or what else stands there.
        margin: mm from the flange to the stitching line.
        every: 1 for each scallop, 2 for every other one, ...
        from_crest: mm from the crest to the middle of the eyelet, or None for the nearest place.
        first: number of the first scallop that gets one, from 1.
        halves: whether half scallops get one too: as at a fold, not at the end of the cloth.
        lines: the stitching lines to keep clear of, if there are others than `stitching_lines`.

    Raises:
        RequestError: a number that has no meaning.
        NoFitError: a scallop has no such place; the text tells the largest flange that has one at its valley line.
    """
    if every < 1 or first < 1:
        raise RequestError(f"one eyelet in every {every} from scallop {first} is no rule; give whole numbers from 1")
    _refuse_negative("margin", margin)
    chosen = np.arange(first - 1, len(scallops), every)
    if not halves:
        chosen = chosen[scallops.row.part[chosen] == WHOLE]
    if from_crest is None:
        lines = stitching_lines(scallops, course) if lines is None else lines
        below = _nearest_to_crest(scallops, lines, chosen, 0.5 * size.flange + margin, margin)
    else:
        _refuse_negative("distance from the crest", from_crest)
        below = np.full(len(chosen), from_crest)
    points = scallops.crest[chosen] - below[:, None] * scallops.axis[chosen]
    s = crest_lengths(scallops.row)[chosen]
    return Eyelets(points, s, np.arange(1, len(scallops) + 1)[chosen], size, -scallops.axis[chosen])


def stitching_lines(scallops: Scallops, course: Course) -> list[Array]:
    """The drawn lines of all scallops, and the stitching left free between and beside them.

    That runs along the course; straight from valley to valley where the valleys don't lie on it. Of a loop that lies
    flat with its ends apart, what is next beyond either end is there too.
    """
    row, m = scallops.row, course.measured
    drawn, between = list(scallops.curves()), links(scallops, course)
    lines = [*drawn, *_stretches(between)]
    if m.winds:
        for turn, end in ((-1, slice(-_BEYOND, None)), (1, slice(_BEYOND))):
            lines += [m.carried(line, turn) for line in (*drawn[end], *_stretches(between[end]))]
    if not course.loop and row.s_start[0] > MEETS:
        lines.append(m.part(0.0, float(row.s_start[0])))
    if not course.loop and row.s_end[-1] < m.length - MEETS:
        lines.append(m.part(float(row.s_end[-1]), m.length))
    return lines


def _stretches(between: Sequence[Array | None]) -> list[Array]:
    return [link for link in between if link is not None and len(link)]


def _nearest_to_crest(scallops: Scallops, lines: list[Array], chosen: Ints, reach: float, margin: float) -> Array:
    """Distances (k,) from the crests to the first places on the axes that lie `reach` clear of all lines."""
    deepest = reach + _DEEPEST * scallops.row.width[chosen]
    below = first_clear(lines, scallops.crest[chosen], -scallops.axis[chosen], reach, deepest, _ACCURACY)
    if (below > deepest).any():
        raise _no_place(scallops, lines, chosen[below > deepest], reach, margin)
    return below


def _no_place(scallops: Scallops, lines: list[Array], without: Ints, reach: float, margin: float) -> NoFitError:
    """The refusal for scallops without a place, with the flange that would do at the worst one's valley line."""
    at_valley_line = scallops.crest[without] - scallops.depth[without, None] * scallops.axis[without]
    room = nearest(np.concatenate(lines), at_valley_line).distance
    worst = int(room.argmin())
    flange = 2.0 * (float(room[worst]) - margin)
    what = f"scallop {without[worst] + 1} has no place for a flange of {2.0 * (reach - margin):.6g} mm"
    if flange > 0.0:
        cure = f"the largest that fits at its valley line is {math.floor(100.0 * flange) / 100.0:.2f} mm"
    else:
        cure = f"its valley line is only {float(room[worst]):.2f} mm from the stitching line; take a smaller margin"
    return NoFitError(f"{what} that keeps {margin:.6g} mm clear of the stitching line: {cure}")


# along an edge


def eyelets_along(
    course: Course,
    size: Size,
    target: float | None = None,
    count: int | None = None,
    largest: float | None = None,
    ends: tuple[float, float] = (0.0, 0.0),
    inset: float | None = None,
    margin: float = MARGIN,
    chord: bool = False,
) -> Eyelets:
    """Eyelets evenly along an edge, the first and the last exactly at their distances from its ends.

    Args:
        course: the edge; the eyelets lie on the side away from `course.side`.
        size: the eyelet, or what else stands there.
        target: the spacing asked for, as in `fit_spacing`, mm along the edge.
        count: how many eyelets; a single one on an open edge stands half way.
        largest: what no space may exceed, mm along the edge.
        ends: mm along the edge from its start to the first eyelet, and from the last one to its end. On a loop the
            first is where the first eyelet stands; the spaces close the round.
        inset: mm from the edge to the middles, square to it; None as for `usual_inset`.
        margin: mm from the flange to the edge where no inset is given.
        chord: whether the straight distances between neighbouring places on the edge are equal, rather than the
            lengths along it.

    Raises:
        RequestError: the distances leave no room, or a number that has no meaning.
        NoFitError: no equal chords with that count exist.
    """
    inset = usual_inset(size, margin) if inset is None else inset
    _refuse_negative("margin", margin)
    _refuse_negative("distance from the end", min(ends))
    if count is not None and count < 1:
        raise RequestError(f"{count} is no number of eyelets; give 1 or more")
    if course.loop:
        s = _round(course.measured, ends[0], fit_spacing(course.measured.length, target, count, largest)[0], chord)
    else:
        s = _between(course.measured, ends, (target, count, largest), chord)
    return eyelets_at(course, size, s, inset)


def usual_inset(size: Size, margin: float) -> float:
    """How far inside the edge a part stands unless told otherwise: half its own depth and the margin, mm."""
    return 0.5 * size.deep + margin


def eyelets_at(course: Course, size: Size, s: Array, inset: float) -> Eyelets:
    """Eyelets at lengths `s` (n,) along an edge, their middles `inset` mm inside it.

    Raises:
        RequestError: the inset is below 0.
    """
    _refuse_negative("inset", inset)
    into = -course.side * course.measured.normals(s)
    points = course.measured.points(s) + inset * into
    return Eyelets(points, s, np.zeros(len(s), dtype=np.intp), size, into)


def _between(
    m: Measured, ends: tuple[float, float], wish: tuple[float | None, int | None, float | None], chord: bool
) -> Array:
    begin, finish = ends[0], m.length - ends[1]
    target, count, largest = wish
    # One place that both ends name may lie a rounding apart.
    finish = max(finish, begin) if begin - finish < _ROUNDED else finish
    if begin > finish:
        raise RequestError(
            f"the distances from the ends, {ends[0]:.6g} and {ends[1]:.6g} mm, are more than the edge has, "
            f"{m.length:.6g} mm: make them smaller"
        )
    if count == 1:
        return np.array([0.5 * (begin + finish)])
    n, _ = fit_spacing(finish - begin, target, None if count is None else count - 1, largest)
    if not chord:
        return np.linspace(begin, finish, n + 1)
    return begin + _equal_chords(measure(m.part(begin, finish)), n)


def _round(m: Measured, begin: float, n: int, chord: bool) -> Array:
    begin %= m.length
    if not chord:
        return np.asarray(np.mod(begin + m.length * np.arange(n) / n, m.length))
    if n < 3:
        raise RequestError(f"{n} equal chords do not go round an edge: take 3 eyelets or more")
    turned = m if begin < 1e-9 else measure(m.part(begin, begin + m.length), m.closing)
    return np.asarray(np.mod(begin + _equal_chords(turned, n)[:-1], m.length))


def _equal_chords(m: Measured, n: int) -> Array:
    steps = dividers.equal_chords(m, n)
    if steps is None:
        raise NoFitError(
            f"{n} equal straight distances can't be stepped off along this edge: take another number, or equal "
            f"lengths along it"
        )
    return steps.s


# warnings


def eyelet_warnings(
    eyelets: Eyelets,
    lines: Sequence[Array],
    margin: float = MARGIN,
    piece: str | None = None,
    closing: Array | None = None,
) -> tuple[Warn, ...]:
    """What stands too near: a flange to a stitching line, or to another flange; the worst case of each.

    Args:
        eyelets: the eyelets.
        lines: the stitching lines as cubics, as `stitching_lines` gives them.
        margin: mm that are to stay clear.
        piece: name of the piece, for the warnings.
        closing: round a loop the motion by which its course goes on: the last eyelet is next to what it makes of the
            first.
    """
    warnings = []
    points, owner, radius = _discs(eyelets)
    each = distances(lines, points, radius + margin) - radius
    gap = np.full(len(eyelets), np.inf)
    np.minimum.at(gap, owner, each)
    near = int((gap < margin - _SHORT).sum())
    what = "flange" if eyelets.size.part == EYELET else "rim"
    if near:
        worst = int(gap.argmin())
        where = _apart(float(gap[worst]), "the stitching line")
        text = f"the {what} of {eyelets.size.part} {worst + 1} {where}; {_asked(near, len(eyelets), margin)}"
        cure = f"set it further in or take a smaller {eyelets.size.part}"
        warnings.append(_warn("eyelet-near-line", f"{text}: {cure}", piece, eyelets.points[worst]))
    first, second, gap = _neighbours(points, 2.0 * radius + margin - _SHORT, closing)
    first, second = owner[first], owner[second]
    apart = first != second
    first, second, gap = first[apart], second[apart], gap[apart]
    if len(gap):
        worst = int(gap.argmin())
        where = _apart(float(gap[worst]) - 2.0 * radius, f"that of {eyelets.size.part} {second[worst] + 1}")
        near = len(np.union1d(first, second))
        text = f"the {what} of {eyelets.size.part} {first[worst] + 1} {where}; {_asked(near, len(eyelets), margin)}"
        cure = f"space them wider or take a smaller {eyelets.size.part}"
        warnings.append(_warn("eyelets-close", f"{text}: {cure}", piece, eyelets.points[first[worst]]))
    return tuple(warnings)


def patch_warnings(eyelets: Eyelets, lines: Sequence[Array], piece: str | None = None) -> tuple[Warn, ...]:
    """A warning where patches reach over the edge, or a stitching line, with how far they could reach.

    Args:
        eyelets: the eyelets, or what else stands there.
        lines: the edge and the stitching lines as cubics.
        piece: name of the piece, for the warning.
    """
    points, owner, radius = _discs(eyelets)
    room = np.full(len(eyelets), np.inf)
    np.minimum.at(room, owner, distances(lines, points, radius + eyelets.patch) - radius)
    if eyelets.patch == 0.0 or not (room < eyelets.patch - _SHORT).any():
        return ()
    worst, over = int(room.argmin()), int((room < eyelets.patch - _SHORT).sum())
    text = f"the patch of {eyelets.size.part} {worst + 1} reaches {eyelets.patch - float(room[worst]):.2f} mm over the "
    text += f"edge or a stitching line; {over} of {len(eyelets)} reach over: "
    fits = math.floor(100.0 * float(room[worst]) + _SHORT) / 100.0
    cure = f"--patch {fits:.2f}mm would not" if fits > 0.0 else "leave out --patch"
    warning = _warn("patch-over-line", f"{text}{cure}, or set the row further in", piece, eyelets.points[worst])
    return (warning,)


def _discs(eyelets: Eyelets) -> tuple[Array, Ints, float]:
    """Discs that cover each part: their middles, the numbers of their parts, and their radius."""
    size, numbers = eyelets.size, np.arange(len(eyelets))
    if not isinstance(size, Buttonhole) or eyelets.into is None:
        return eyelets.points, numbers, 0.5 * size.flange
    narrow, wide = sorted((size.beside, size.deep))
    along = 0.5 * (wide - narrow) * np.linspace(-1.0, 1.0, _DISCS)
    points = eyelets.points[:, None] + along[None, :, None] * eyelets.slits[:, None]
    return points.reshape(-1, 2), np.repeat(numbers, _DISCS), 0.5 * narrow


def _apart(gap: float, what: str) -> str:
    return f"is {gap:.2f} mm from {what}" if gap >= 0.0 else f"reaches {-gap:.2f} mm over {what}"


def _asked(near: int, of: int, margin: float) -> str:
    return f"{near} of {of} keep less than the {margin:.6g} mm asked"


def _warn(code: str, message: str, piece: str | None, at: Array) -> Warn:
    return Warn(code, message, piece, float(at[0]), float(at[1]))


def _neighbours(points: Array, limit: float, closing: Array | None) -> tuple[Ints, Ints, Array]:
    """Pairs of points nearer than `limit`, lower number first, and their distances."""
    first, second, gaps = _near_pairs(points, limit)
    last = len(points) - 1
    if closing is None or last < 1 or ((first == 0) & (second == last)).any():
        return first, second, gaps
    over = float(np.hypot(*(apply(closing, points[0]) - points[last])))
    if over < limit:
        first, second, gaps = np.append(first, 0), np.append(second, last), np.append(gaps, over)
    return first, second, gaps


def _near_pairs(points: Array, limit: float) -> tuple[Ints, Ints, Array]:
    along = int(np.ptp(points, axis=0).argmax()) if len(points) else 0
    order = np.argsort(points[:, along], kind="stable")
    p = points[order]
    found: list[tuple[Ints, Ints, Array]] = [(np.zeros(0, dtype=np.intp), np.zeros(0, dtype=np.intp), np.zeros(0))]
    # In order along the longer side of their box, a pair that is near is also near in that order.
    for shift in range(1, len(p)):
        step = p[shift:] - p[:-shift]
        if step[:, along].min() >= limit:
            break
        distance = np.hypot(step[:, 0], step[:, 1])
        near = np.flatnonzero(distance < limit)
        a, b = order[near], order[near + shift]
        found.append((np.minimum(a, b), np.maximum(a, b), distance[near]))
    first, second, gaps = (np.concatenate(column) for column in zip(*found, strict=True))
    return first, second, gaps


def _refuse_negative(what: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0.0):
        raise RequestError(f"a {what} of {value:g} mm has no meaning here; give 0 or more")
