"""The lining of a piece: the piece itself, but along a faced edge only up to the facing's inner edge.

There it is sewn to the facing, so its stitching line is the facing's own inner edge and its cutting line lies an
overlap beyond that, where the facing covers it. Both are drawn where the run lies flat, with the darts closed, and
opened again: the lining has the piece's darts. The inner edge of a straight strip lies where a shaped facing's does,
once what it is longer is eased in. Along a trimmed edge without either, as a bound one, the lining is cut as the piece
is: it is caught in the binding, or finished together with the cloth.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array, Bools
from ..geometry.intersect import crossings, self_crossings
from ..geometry.length import Measured, measure
from ..geometry.nearest import nearest
from ..pattern.laying import LaidRun
from ..pattern.piece import Piece
from ..trim.sharing import Share, Trimmed
from .chain import between
from .cut_piece import CutPiece, Treated, cut_piece
from .cutting import Corner
from .edge_line import part_of, unbroken
from .facing import shaped_facings
from .trimmed_edge import EdgeCut, drawn_along, opened_parts, parallel_cut

# Places nearer than this, mm, are one.
_MEETS = 1e-6
# Ends of edges nearer than this, mm, are one corner.
_SAME = 1e-3
# So much of a dart must be left inside a line that passes over it, mm; a thread's width, common practice, no source.
_LEAST_DART = 0.1
# An inner edge that ends farther than this, mm, from the outline ends at no side of the piece.
_BESIDE = 0.5


@dataclass(frozen=True, eq=False)
class Lining:
    """The lining of a piece where the piece lies.

    Attributes:
        cut: its sides and its cutting line; its piece is the lined one.
        sewn: its stitching lines: one closed line, or, of a piece that is drawn with its allowance on, those that are
            known, which are the ones along trimmed edges.
        closed: whether it is one closed line.
    """

    cut: CutPiece
    sewn: tuple[Array, ...]
    closed: bool


def faced_edges(
    piece: Piece,
    run: LaidRun,
    line: Trimmed,
    shares: Sequence[Share],
    origin: float,
    depth: float,
    overlap: float,
    reach: float,
    pressed: Mapping[int, int],
) -> list[Treated]:
    """How the lining of a piece is cut along the edges of a run with a shaped facing, or a strip.

    Args:
        piece: the piece.
        run: the run laid flat.
        line: its trimmed line.
        shares: what of it lies on each part.
        origin: where along the run the course of a loop begins, mm.
        depth: of the facing, mm.
        overlap: how far the lining is cut beyond the facing's inner edge, mm.
        reach: how far the cutting lines run on beyond their ends, mm.
        pressed: for the number of each dart's joint the side to which it is pressed.

    Raises:
        RequestError: the facing goes past a dart, or past the sides of the piece.
    """
    # A facing in one piece over a seam ends there within the gap it evens, as those that keep the seam do.
    facings, _ = shaped_facings(run, line, shares, origin, depth)
    out = []
    for facing in facings:
        if run.parts[facing.parts[0]].edge.piece is piece:
            made = _along(run, facing.parts, facing.inner, overlap, -facing.cloth, reach, pressed)
            if not facing.ring and not run.parts[facing.parts[0]].net:
                _refuse_outside(piece, made, run, depth)
            out.append(made)
    return out


def trimmed_edge(run: LaidRun, cut: EdgeCut, treated: Treated) -> Treated:
    """How the lining of a piece is cut along a trimmed edge without a facing: as the piece, and sewn with its darts.

    Args:
        run: the run laid flat.
        cut: the trimmed edge of the piece.
        treated: how the piece is cut along it.
    """
    return replace(treated, stitching=_with_legs(run, cut.parts, cut.flat))


def seam_edge(name: str, drawn: Array, run: LaidRun, allowance: float, reach: float, dart: int) -> Treated:
    """How the lining is cut along a seam with one dart in it, `dart` the side to which that is pressed.

    Raises:
        RequestError: a cutting line can't be drawn.
    """
    made = _along(run, (0, 1), run.line.curve, allowance, run.line.outside, reach, {0: dart})
    return replace(made, name=name, drawn=drawn, firm=False)


def lining(
    piece: Piece,
    faced: Sequence[Treated],
    trimmed: Sequence[Treated],
    others: Sequence[Treated],
    allowance: float,
    at_corners: Mapping[str, Corner],
    usual: Corner,
    drawn_cut: bool = False,
) -> Lining:
    """The lining of a closed piece.

    Args:
        piece: the piece.
        faced: how it is cut along the edges of runs with facings that have an inner edge.
        trimmed: how along those of other runs of scallops.
        others: how along other stretches: folds, sides with an allowance of their own, seams with darts.
        allowance: mm beyond all other sides.
        at_corners: the kinds of corners by their names.
        usual: the kind of all other corners.
        drawn_cut: whether the piece is drawn with its allowance on.

    Raises:
        RequestError: nothing is left between the facings, or no cutting line can be drawn; the text says where.
    """
    met = _crossed(faced, trimmed)
    if not drawn_cut:
        _refuse_overlaps(piece, met)
    sewn = tuple(edge.stitching for edge in met if edge.stitching is not None)
    if drawn_cut:
        # All other sides are drawn where they are cut.
        met = _crossed([_cut_on(piece, edge) for edge in faced], [replace(e, stitching=e.drawn) for e in trimmed])
    cut = cut_piece(piece, [*met, *others], allowance, at_corners, usual)
    stitched = [unbroken(side.stitching) for side in cut.sides]
    outline = unbroken(np.concatenate(stitched))
    outline[-1, 3] = outline[0, 0]
    # Where trimmed edges run into each other they do so on the piece, too.
    facings = {edge.name for edge in faced}
    inner = np.repeat([side.name in facings for side in cut.sides], [len(part) for part in stitched])
    found = self_crossings(outline, closed=True)
    crossed = (inner[found.segment_a] | inner[found.segment_b]).any()
    if crossed or cubics.area(outline) * cubics.area(piece.curve) <= 0.0:
        raise _nothing_left(piece)
    return Lining(cut, sewn if drawn_cut else (outline,), not drawn_cut)


def _refuse_overlaps(piece: Piece, edges: Sequence[Treated]) -> None:
    """Refuses edges between which nothing of a side is left."""
    m = measure(piece.curve)
    places = [np.stack([edge.drawn[0, 0], edge.drawn[-1, 3]]) for edge in edges]
    taken = []
    for k, edge in enumerate(edges):
        others = np.concatenate([np.zeros((0, 2)), *places[:k], *places[k + 1 :]])
        shared = (cubics.norm(places[k][:, None] - others) < _SAME).any(axis=1)
        taken.append(_taken(m, edge, np.asarray(shared)))
    taken.sort()
    for (begin, long), (following, _) in zip(taken, [*taken[1:], *taken[:1]], strict=True):
        if len(taken) > 1 and (following - begin) % m.length < long:
            raise _nothing_left(piece)


def _taken(m: Measured, edge: Treated, shared: Bools) -> tuple[float, float]:
    """From where on, mm along an outline, and how far, an edge leaves nothing to the sides beside it.

    `shared` (2,) says at which of its ends another edge begins.
    """
    assert edge.stitching is not None  # noqa: S101  # edges of linings have one
    drawn = measure(edge.drawn)
    ends = np.stack([edge.stitching[0, 0], edge.stitching[-1, 3]])
    # An edge that ends inside the piece, where it meets another one, takes all up to its corner.
    corner = shared | (nearest(m.curve, ends).distance > _BESIDE)
    ends = np.where(corner[:, None], np.stack([edge.drawn[0, 0], edge.drawn[-1, 3]]), ends)
    foot = nearest(m.curve, np.concatenate([ends, drawn.points(np.array([0.5 * drawn.length]))]))
    first, last, middle = (float(s) for s in m.lengths(foot.segment, foot.t))
    if (middle - first) % m.length > (last - first) % m.length:
        first, last, corner = last, first, corner[::-1]
    # What ends in one corner with the next edge ends a little before that.
    margins = np.where(corner, -_SAME, _SAME)
    return first - float(margins[0]), (last - first) % m.length + float(margins.sum())


def _nothing_left(piece: Piece) -> RequestError:
    return RequestError(
        f'the facings of "{piece.name}" run into each other or over its sides, so there is no lining between them: '
        "make them less deep, or leave out the lining"
    )


# ---------------------------------------------------------------- one edge


def _along(
    run: LaidRun,
    group: tuple[int, ...],
    flat: Array,
    allowance: float,
    outside: int,
    reach: float,
    pressed: Mapping[int, int],
) -> Treated:
    """An edge that is sewn along a line given where the group's first part lies flat."""
    sewn = _with_legs(run, group, flat)
    cutting = parallel_cut(run, group, flat, allowance, outside, reach, pressed).cutting
    return Treated(run.line.name, drawn_along(run, group), allowance, sewn, cutting, firm=True)


def _with_legs(run: LaidRun, group: tuple[int, ...], flat: Array) -> Array:
    """The line as it lies on the sheet, down one leg and up the other at each dart."""
    parts = opened_parts(run, group, flat)
    out = [parts[0]]
    for k, following in zip(group[:-1], parts[1:], strict=True):
        out += [_legs(run, k, out[-1][-1, 3], following[0, 0]), following]
    return np.concatenate(out)


def _legs(run: LaidRun, k: int, start: Array, end: Array) -> Array:
    """The legs of an open dart from where a line comes to it to where the line goes on."""
    joint = run.joints[k]
    if joint.meeting is None or joint.meeting.apex is None:
        raise ValueError("a dart has an apex")
    apex, legs = joint.meeting.apex, joint.meeting.legs
    mouths = joint.meeting.first.curve[-1, 3], joint.meeting.second.curve[0, 0]
    out = []
    for number, (place, mouth) in enumerate(zip((start, end), mouths, strict=True)):
        if (apex - place) @ (apex - mouth) <= _LEAST_DART * float(np.hypot(*(apex - mouth))):
            raise RequestError(
                f'the facing goes past the point of the dart at "{joint.name}", so that dart can\'t be sewn in a '
                "lining: make the facing less deep"
            )
        out.append(_leg(None if legs is None else legs[number], place, apex))
    return np.concatenate([out[0], cubics.reverse(out[1])])


def _leg(drawn: Array | None, place: Array, apex: Array) -> Array:
    """What of a leg lies between a place on it and its dart's point."""
    if drawn is None or float(np.hypot(*(drawn[-1, 3] - apex))) > _SAME:
        return cubics.lines([place, apex])
    foot, m = nearest(drawn, place[None]), measure(drawn)
    out = part_of(m, float(m.lengths(foot.segment, foot.t)[0]), m.length)
    # Legs bow less than the cloth shows; a line passes over them where they would be straight.
    out[0, :2] += place - out[0, 0]
    out[-1, 3] = apex
    return out


def _refuse_outside(piece: Piece, made: Treated, run: LaidRun, depth: float) -> None:
    assert made.stitching is not None  # noqa: S101  # made with one
    ends = made.stitching[[0, -1], [0, 3]]
    away = nearest(piece.curve, ends).distance
    if float(away.max()) > _BESIDE:
        x, y = ends[int(np.argmax(away))]
        raise RequestError(
            f'a facing {depth:g} mm deep along "{run.line.name}" is deeper than the side of "{piece.name}" at '
            f"({x:.1f}, {y:.1f}) mm is long, so no lining can be sewn to it there: make the facing less deep, or leave "
            "out the lining"
        )


# ---------------------------------------------------------------- several edges


def _crossed(faced: Sequence[Treated], trimmed: Sequence[Treated]) -> list[Treated]:
    """All edges, where a faced one meets another at a corner both ended where their stitching lines cross."""
    out = [*faced, *trimmed]
    for a, b in combinations(range(len(out)), 2):
        if a >= len(faced):
            # Both end where they do on the piece.
            continue
        for end, other in product((False, True), repeat=2):
            ends = _end(out[a].drawn, end), _end(out[b].drawn, other)
            if float(np.hypot(*(ends[0] - ends[1]))) < _SAME:
                out[a], out[b] = _ended(out[a], end, out[b], other)
    return out


def _end(curve: Array, at_end: bool) -> Array:
    return np.asarray(curve[-1, 3] if at_end else curve[0, 0])


def _ended(a: Treated, a_end: bool, b: Treated, b_end: bool) -> tuple[Treated, Treated]:
    assert a.stitching is not None  # noqa: S101  # edges of linings have one
    assert b.stitching is not None  # noqa: S101  # edges of linings have one
    way = _end(b.stitching, b_end) - _end(a.stitching, a_end)
    far = float(np.hypot(*way))
    if far <= _MEETS:
        return a, b
    lines = [_drawn_on(curve, at_end, 2.0 * far) for curve, at_end in ((a.stitching, a_end), (b.stitching, b_end))]
    found = crossings(*lines)
    if not len(found):
        x, y = _end(a.drawn, a_end)
        raise RequestError(
            f'the inner edge of the facing of "{a.name}" does not come to that of "{b.name}", or to its trimmed line, '
            f"at the corner at ({x:.1f}, {y:.1f}) mm, so no lining can be sewn to both: make facings less deep, or "
            "leave out the lining"
        )
    k = int(np.argmin(cubics.norm(found.point - _end(a.drawn, a_end))))
    places = found.segment_a[k] + found.t_a[k], found.segment_b[k] + found.t_b[k]
    first, second = (
        _up_to(line, float(place), at_end, found.point[k])
        for line, place, at_end in zip(lines, places, (a_end, b_end), strict=True)
    )
    return replace(a, stitching=first), replace(b, stitching=second)


def _drawn_on(curve: Array, at_end: bool, by: float) -> Array:
    """The curve drawn on straight beyond one end."""
    first, last = cubics.ends_direction(curve)
    if at_end:
        return np.concatenate([curve, cubics.lines([curve[-1, 3], curve[-1, 3] + by * last])])
    return np.concatenate([cubics.lines([curve[0, 0] - by * first, curve[0, 0]]), curve])


def _up_to(curve: Array, place: float, at_end: bool, point: Array) -> Array:
    """The curve ended, or begun, at a place on it."""
    out = unbroken(between(curve, 0.0, place) if at_end else between(curve, place, float(len(curve))))
    node = (-1, 3) if at_end else (0, 0)
    out[node] = point
    return out


def _cut_on(piece: Piece, edge: Treated) -> Treated:
    """An edge of a piece that is drawn where it is cut: its cutting line, ended at the outline, is its side."""
    assert edge.cutting is not None  # noqa: S101  # edges of linings have one
    cutting = edge.cutting
    if float(np.hypot(*(cutting[-1, 3] - cutting[0, 0]))) <= _MEETS:
        return replace(edge, allowance=0.0, stitching=cutting)
    found = crossings(cutting, piece.curve)
    # Beyond its first and last node it is only drawn on.
    places = found.segment_a + found.t_a
    own = cutting[0, 3], cutting[-1, 0]
    if len(found) < 2:
        raise RequestError(
            f'the cutting line of the lining of "{piece.name}" along "{edge.name}" does not come to the sides: make '
            "the facing less deep, or leave out the lining"
        )
    start, end = (float(places[int(np.argmin(cubics.norm(found.point - place)))]) for place in own)
    return replace(edge, allowance=0.0, stitching=unbroken(between(cutting, start, end)))
