"""Edges: the stretch of an outline from one mark or corner to another, found by its name."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from ..errors import NameUnknownError, RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import Measured, measure
from ..geometry.motion import IDENTITY, inverse
from ..geometry.nearest import nearest
from .corners import corners
from .marks import REACH, snap
from .piece import Pattern, Piece

# Names that every outline has by itself; all others are the maker's marks.
_OWN_NAME = re.compile(r"c\d+|node\d+|start|end")
_NODE_NAME = re.compile(r"node(\d+)(\+?)")


@dataclass(frozen=True)
class Spot:
    """A named place on an edge, at the length `s` from its start; `turn` in radians, positive to the right."""

    name: str
    s: float
    turn: float = 0.0


@dataclass(frozen=True, eq=False)
class Edge:
    """A stretch of one piece's outline, in the walking direction.

    Attributes:
        name: the text that named it.
        piece: the piece it belongs to.
        curve: the stretch in mm, (n, 4, 2).
        loop: whether it is a whole closed outline.
        start, end: names of its ends.
        corners: the corners inside it.
        spots: every named place on it, marks and corners, ends included.
        outside: +1 where the outside of the piece is on the left, -1 where it is on the right, 0 for an open line.
        rest: the rest of the closed outline, on from the edge's end; None for a whole one and for an open line.
        before, after: the neighbouring edge of the outline at either end, walked away from the edge, up to its next
            corner; None where the outline ends, or goes on without a corner.
        closing: for a loop the rigid motion by which it goes on beyond its end, as in `Measured`.
    """

    name: str
    piece: Piece
    curve: Array
    loop: bool
    start: str
    end: str
    corners: tuple[Spot, ...]
    spots: tuple[Spot, ...]
    outside: int
    rest: Array | None
    before: Array | None
    after: Array | None
    closing: Array | None = None

    @cached_property
    def measured(self) -> Measured:
        """The edge with its lengths."""
        return measure(self.curve, self.closing)


def find_piece(pattern: Pattern, name: str) -> Piece:
    """The piece that answers to the name.

    Raises:
        NameUnknownError: none does; the text lists the names that exist.
        RequestError: several do.
    """
    found = [piece for piece in pattern.pieces if name in piece.names]
    if len(found) > 1:
        others = ", ".join(sorted({n for piece in found for n in piece.names} - {name}))
        raise RequestError(f'"{name}" names {len(found)} pieces; use one of their other names: {others}')
    if not found:
        raise NameUnknownError(
            f'no piece is called "{name}"; this drawing has {_names(p.name for p in pattern.pieces)}'
        )
    return found[0]


def find_edge(pattern: Pattern, text: str | None) -> Edge:
    """The edge that `text` names: PIECE, PIECE:FROM..TO or PIECE:FROM..VIA..TO.

    A drawing with one piece needs no piece's name, and no text at all for the whole of it.

    Raises:
        NameUnknownError, RequestError: a name is unknown or ambiguous, or the two ways round are alike.
    """
    if not pattern.pieces:
        raise RequestError("the drawing holds no outline to work on; `survey` tells what was skipped and why")
    if not text:
        if len(pattern.pieces) > 1:
            raise RequestError(
                f"say which edge with --along: this drawing has {_names(p.name for p in pattern.pieces)}"
            )
        return _whole(pattern, pattern.pieces[0], pattern.pieces[0].name)
    piece, stretch = _split(pattern, text)
    return _whole(pattern, piece, text) if stretch is None else _between(pattern, piece, text, stretch)


def _split(pattern: Pattern, text: str) -> tuple[Piece, list[str] | None]:
    known = {name for piece in pattern.pieces for name in piece.names}
    if text in known:
        return find_piece(pattern, text), None
    for i in [i for i, letter in enumerate(text) if letter == ":"][::-1]:
        if text[:i] in known or (i == 0 and len(pattern.pieces) == 1):
            piece = find_piece(pattern, text[:i]) if i else pattern.pieces[0]
            return piece, _stretch(text, text[i + 1 :])
    if ":" not in text and ".." in text and len(pattern.pieces) == 1:
        return pattern.pieces[0], _stretch(text, text)
    return find_piece(pattern, text.split(":")[0]), _stretch(text, text.split(":", 1)[-1])


def _stretch(text: str, stretch: str) -> list[str]:
    names = [name.strip() for name in stretch.split("..")]
    if len(names) not in (2, 3) or not all(names):
        raise RequestError(f'"{text}" does not name an edge: write PIECE, PIECE:FROM..TO or PIECE:FROM..VIA..TO')
    return names


@dataclass(frozen=True)
class _Place:
    name: str
    segment: int
    t: float
    s: float


def places(pattern: Pattern, piece: Piece, measured: Measured) -> dict[str, list[_Place]]:
    """All named places of a piece's outline: corners, marks, and the ends of an open line."""
    named: dict[str, list[tuple[int, float]]] = {}
    for corner in corners(piece.curve, piece.closed):
        named.setdefault(corner.name, []).append((corner.node, 0.0))
    if not piece.closed:
        named["start"], named["end"] = [(0, 0.0)], [(len(piece.curve) - 1, 1.0)]
    for mark in snap(piece, pattern.marks):
        named.setdefault(mark.name, []).append((mark.segment, mark.t))
    out: dict[str, list[_Place]] = {}
    for name, spots in named.items():
        segment, t = np.array([k for k, _ in spots]), np.array([t for _, t in spots])
        s = measured.lengths(segment, t)
        out[name] = [_Place(name, k, at, float(x)) for (k, at), x in zip(spots, s, strict=True)]
    return out


def _place(pattern: Pattern, named: dict[str, list[_Place]], name: str, piece: Piece) -> _Place:
    found = named.get(name, []) or _unnamed_place(pattern, piece, name)
    if len(found) > 1:
        raise RequestError(f'"{piece.name}" has {len(found)} marks called "{name}"; give each its own name')
    far = [mark for mark in pattern.marks if mark.name == name]
    if not found and far:
        away = float(nearest(piece.curve, np.array([(far[0].x, far[0].y)])).distance[0])
        raise NameUnknownError(
            f'the mark "{name}" lies {away:.1f} mm from "{piece.name}"; move it within {REACH:g} mm of its outline'
        )
    if not found:
        raise NameUnknownError(f'"{piece.name}" has no mark or corner "{name}"; it has {_names(named)}')
    return found[0]


def _unnamed_place(pattern: Pattern, piece: Piece, name: str) -> list[_Place]:
    """The place that a node (node3), the stretch after it (node3+) or an element beside the outline (#its-id) names.

    Raises:
        NameUnknownError: there is no such node, or the element lies too far from the outline.
    """
    node = _NODE_NAME.fullmatch(name)
    if node:
        return [_node_place(piece, int(node[1]), beyond=bool(node[2]))]
    found = [mark for mark in pattern.loose if f"#{mark.name}" == name]
    if not found:
        return []
    near = snap(piece, (found[0],))
    if not near:
        away = float(nearest(piece.curve, np.array([(found[0].x, found[0].y)])).distance[0])
        raise NameUnknownError(
            f'"{found[0].name}" lies {away:.1f} mm from "{piece.name}"; move it within {REACH:g} mm of its outline'
        )
    s = measure(piece.curve).lengths(np.array([near[0].segment]), np.array([near[0].t]))
    return [_Place(name, near[0].segment, near[0].t, float(s[0]))]


def _node_place(piece: Piece, number: int, beyond: bool = False) -> _Place:
    """Where a drawn node lies, or some place between it and the next one."""
    nodes = np.arange(len(piece.curve) + (not piece.closed)) if piece.nodes is None else piece.nodes
    if number >= len(nodes):
        raise NameUnknownError(f'"{piece.name}" has no node{number}; its nodes are node0 to node{len(nodes) - 1}')
    at = int(nodes[number])
    segment, t = (at, 0.0) if at < len(piece.curve) else (at - 1, 1.0)
    if beyond and at < len(piece.curve):
        following = int(nodes[number + 1]) if number + 1 < len(nodes) else len(piece.curve)
        segment, t = (at + following - 1) // 2, 0.5
    s = measure(piece.curve).lengths(np.array([segment]), np.array([t]))
    return _Place(f"node{number}{'+' * beyond}", segment, t, float(s[0]))


def _between(pattern: Pattern, piece: Piece, text: str, names: list[str]) -> Edge:
    whole = measure(piece.curve)
    named = places(pattern, piece, whole)
    a, b = _place(pattern, named, names[0], piece), _place(pattern, named, names[-1], piece)
    via = _place(pattern, named, names[1], piece) if len(names) == 3 else None
    if abs(a.s - b.s) < 1e-6:
        raise RequestError(f'"{text}" has no length: both ends are the same place; name two')
    forward = _walks_forward(whole, piece, text, a, b, via)
    first, last = (a, b) if forward else (b, a)
    curve = _cut(piece, first, last)
    rest = _cut(piece, last, first) if piece.closed else None
    leading, trailing = _neighbours(piece, first, last, rest)
    if not forward:
        curve, leading, trailing = cubics.reverse(curve), trailing, leading
        rest = None if rest is None else cubics.reverse(rest)
    outside = piece.outside * (1 if forward else -1)
    spots = _spots_on(curve, whole.length, named, a, b, forward, piece.closed)
    inner = _corners_inside(curve, spots)
    return Edge(text, piece, curve, False, a.name, b.name, inner, spots, outside, rest, leading, trailing)


def _walks_forward(whole: Measured, piece: Piece, text: str, a: _Place, b: _Place, via: _Place | None) -> bool:
    if not piece.closed:
        if via is not None and not min(a.s, b.s) < via.s < max(a.s, b.s):
            raise RequestError(f'"{via.name}" does not lie between "{a.name}" and "{b.name}" on "{piece.name}"')
        return b.s > a.s
    onward = (b.s - a.s) % whole.length
    if via is not None:
        return (via.s - a.s) % whole.length < onward
    back = whole.length - onward
    if abs(onward - back) < 1e-3 * whole.length:
        raise RequestError(
            f'both ways from "{a.name}" to "{b.name}" are {onward:.6g} mm long: '
            f"say which by a mark or corner on it, {piece.name}:{a.name}..VIA..{b.name}"
        )
    return onward < back


def _cut(piece: Piece, first: _Place, last: _Place) -> Array:
    """The outline from one place on to another, through its first point where needed."""
    if first.s < last.s:
        return cubics.stretch(piece.curve, (first.segment, first.t), (last.segment, last.t))
    n = len(piece.curve) - 1
    tail = cubics.stretch(piece.curve, (first.segment, first.t), (n, 1.0))
    head = cubics.stretch(piece.curve, (0, 0.0), (last.segment, last.t))
    return np.concatenate([tail, head])


def _neighbours(piece: Piece, first: _Place, last: _Place, rest: Array | None) -> tuple[Array | None, Array | None]:
    """The edges that meet the stretch at its first and last place, each walked away from it."""
    if rest is None:
        return None, None
    nodes = {(c.node, 0.0) for c in corners(piece.curve, piece.closed)}
    inside = [c.node for c in corners(rest, closed=False)]
    after = rest[: inside[0]] if inside else rest
    before = cubics.reverse(rest[inside[-1] :] if inside else rest)
    at_first, at_last = (first.segment, first.t) in nodes, (last.segment, last.t) in nodes
    return (before if at_first else None), (after if at_last else None)


def _whole(pattern: Pattern, piece: Piece, text: str) -> Edge:
    measured = measure(piece.curve)
    named = places(pattern, piece, measured)
    spots = tuple(Spot(p.name, p.s) for found in named.values() for p in found)
    found = corners(piece.curve, piece.closed)
    s = measured.lengths(np.array([c.node for c in found], dtype=np.intp), np.zeros(len(found)))
    turning = tuple(Spot(c.name, float(x), c.turn) for c, x in zip(found, s, strict=True))
    first = found[0].name if found and found[0].node == 0 else "the first point"
    ends = (first, first) if piece.closed else ("start", "end")
    closing = IDENTITY if piece.closed else None
    return Edge(text, piece, piece.curve, piece.closed, *ends, turning, spots, piece.outside, None, None, None, closing)


def _spots_on(
    curve: Array, total: float, named: dict[str, list[_Place]], a: _Place, b: _Place, forward: bool, closed: bool
) -> tuple[Spot, ...]:
    """Every named place on the stretch, with its length from the stretch's start."""
    length = measure(curve).length
    out = []
    for spots in named.values():
        for place in spots:
            s = place.s - a.s if forward else a.s - place.s
            if closed:
                s %= total
                # A place a rounding error before the start has come out a whole turn later.
                s = 0.0 if total - s < 1e-6 else s
            if -1e-6 <= s <= length + 1e-6:
                out.append(Spot(place.name, min(max(s, 0.0), length)))
    return tuple(out)


def _corners_inside(curve: Array, spots: tuple[Spot, ...]) -> tuple[Spot, ...]:
    """The corners within the stretch, by the names that the outline gave them."""
    found = corners(curve, closed=False)
    s = measure(curve).lengths(np.array([c.node for c in found], dtype=np.intp), np.zeros(len(found)))
    named = [spot for spot in spots if spot.name[:1] == "c" and spot.name[1:].isdigit()]
    out = []
    for corner, x in zip(found, s, strict=True):
        near = min(named, key=lambda spot: abs(spot.s - float(x)))
        out.append(Spot(near.name, float(x), corner.turn))
    return tuple(out)


def _names(names: object) -> str:
    listed = [str(name) for name in names]  # type: ignore[attr-defined]  # any iterable of names
    shown = ", ".join(f'"{name}"' for name in listed[:30])
    return shown + (f" and {len(listed) - 30} more" if len(listed) > 30 else "") if listed else "none"


def spot_on(edge: Edge, name: str) -> Spot:
    """The mark or corner of that name on an edge.

    Raises:
        NameUnknownError: there is none; the text lists those that lie on it.
    """
    for spot in edge.spots:
        if spot.name == name:
            return spot
    raise NameUnknownError(
        f'no mark or corner "{name}" lies on "{edge.name}"; it has {_names(spot.name for spot in edge.spots)}'
    )


def one_mark(first: Edge, second: Edge) -> bool:
    """Whether the end of one edge and the start of another bear one name, which the maker gave them."""
    named_by_maker = first.piece is second.piece or not _OWN_NAME.fullmatch(first.end)
    return first.end == second.start and named_by_maker


def end_names(first: Edge, second: Edge) -> tuple[str, str]:
    """The names of the end of one edge and of the start of another, with their pieces where these differ."""
    if first.piece is second.piece:
        return first.end, second.start
    return f"{first.piece.name}:{first.end}", f"{second.piece.name}:{second.start}"


def joint_name(first: Edge, second: Edge) -> str:
    """What the joint of two edges is called: as the mark at both of their ends, or as the two ends."""
    return first.end if one_mark(first, second) else "/".join(end_names(first, second))


def walked_back(edge: Edge) -> Edge:
    """The edge walked the other way, under the name that it has."""
    length = edge.measured.length

    def back(spots: tuple[Spot, ...]) -> tuple[Spot, ...]:
        return tuple(replace(spot, s=length - spot.s, turn=-spot.turn) for spot in reversed(spots))

    return replace(
        edge,
        curve=cubics.reverse(edge.curve),
        start=edge.end,
        end=edge.start,
        corners=back(edge.corners),
        spots=back(edge.spots),
        outside=-edge.outside,
        rest=None if edge.rest is None else cubics.reverse(edge.rest),
        before=edge.after,
        after=edge.before,
        closing=None if edge.closing is None else inverse(edge.closing),
    )


def same_stretch(a: Edge, b: Edge) -> bool:
    """Whether two edges are one stretch of one outline, walked either way."""
    ends_a, ends_b = np.stack([a.curve[0, 0], a.curve[-1, 3]]), np.stack([b.curve[0, 0], b.curve[-1, 3]])
    alike = min(np.abs(ends_a - ends_b).max(), np.abs(ends_a - ends_b[::-1]).max())
    return a.piece is b.piece and alike < 1e-6 and abs(a.measured.length - b.measured.length) < 1e-6


def on_line(edge: Edge, curve: Array, before: Array | None, after: Array | None, reach: float) -> Edge:
    """The edge on another line near it, or on a part of its own, with the named places that lay on it.

    Args:
        edge: the edge.
        curve: the line that takes its place.
        before: the neighbouring edge at its start, walked away from it.
        after: the neighbouring edge at its end.
        reach: how far the line lies from the edge at most, mm; places farther from it are no longer on the edge.
    """
    measured = measure(curve)
    drawn = edge.measured
    spots = _moved(edge.spots, drawn, measured, 4.0 * reach)
    turning = _moved(edge.corners, drawn, measured, 4.0 * reach)
    found = corners(curve, edge.loop)
    s = measured.lengths(np.array([c.node for c in found], dtype=np.intp), np.zeros(len(found)))
    firm = []
    for corner, at in zip(found, s, strict=True):
        near = [spot for spot in turning if abs(spot.s - at) <= 4.0 * reach]
        name = min(near, key=lambda spot: abs(spot.s - float(at))).name if near else f"corner at {at:.1f} mm"
        firm.append(Spot(name, float(at), corner.turn))
    at_corner = {spot.name: spot.s for spot in firm}
    spots = tuple(replace(spot, s=at_corner.get(spot.name, spot.s)) for spot in spots)
    return replace(edge, curve=curve, corners=tuple(firm), spots=spots, before=before, after=after)


def _moved(spots: tuple[Spot, ...], drawn: Measured, line: Measured, reach: float) -> tuple[Spot, ...]:
    if not spots:
        return ()
    place = nearest(line.curve, drawn.points(np.array([spot.s for spot in spots])))
    s = line.lengths(place.segment, place.t)
    moved = zip(spots, s, place.distance, strict=True)
    return tuple(replace(spot, s=float(x)) for spot, x, away in moved if away <= reach)


def begin_at(edge: Edge, name: str) -> Edge:
    """A whole closed outline walked from another of its places.

    Raises:
        RequestError: the edge is no closed outline.
        NameUnknownError: the outline has no such place.
    """
    if not edge.loop:
        raise RequestError(f'only a whole closed outline can start at another place; "{edge.name}" is a stretch')
    s, total = spot_on(edge, name).s, edge.measured.length
    if s < 1e-9:
        return replace(edge, start=name, end=name)
    curve = edge.measured.part(s, s + total)
    length = measure(curve).length

    def moved(spots: tuple[Spot, ...]) -> tuple[Spot, ...]:
        turned = [replace(spot, s=(spot.s - s) % total) for spot in spots]
        near = [replace(spot, s=0.0) if min(spot.s, total - spot.s) < 1e-6 else spot for spot in turned]
        return tuple(replace(spot, s=min(spot.s, length)) for spot in sorted(near, key=lambda spot: spot.s))

    return replace(edge, curve=curve, corners=moved(edge.corners), spots=moved(edge.spots), start=name, end=name)
