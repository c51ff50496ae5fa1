"""Holds: what the trim does at the ends of an edge, at its corners and at the marks on it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..pattern.edge import Edge, Spot, spot_on
from ..pattern.piece import Warn
from .course import CREST, VALLEY, WRAP, Course, Stop

PASS, GAP, FOLD, HOLD = "pass", "gap", "fold", "hold"
# An edge that meets the trim's edge within this of a right angle is its mirror line at a free end.
_SQUARE = math.radians(1.0)
# A fold or mirror edge may bow by this much, mm.
_BOW = 0.2
# A corner sharper than this is held by a valley even where scallops may pass: no step goes round it soundly.
_SHARPEST_PASS = math.radians(90.0)
# The direction of an edge is taken over at least this length, mm, so that a stray node says nothing.
_REACH = 1.0


@dataclass(frozen=True)
class End:
    """What the trim does at one end of an open course: VALLEY, CREST, GAP (with its length) or FOLD (with its hold)."""

    kind: str = VALLEY
    hold: str = CREST
    gap: float = 0.0


@dataclass(frozen=True)
class Holds:
    """All holds of one edge.

    Attributes:
        start, end: the ends of an open edge.
        marks: holds at named marks or corners: VALLEY, CREST, PASS or GAP with a length.
        corner: what happens at a corner within the edge: HOLD (a valley), WRAP or PASS.
        first_valley: whether a closed outline has a valley where it starts, whatever else is held.
    """

    start: End = End()
    end: End = End()
    marks: Mapping[str, End] = field(default_factory=dict)
    corner: str = HOLD
    first_valley: bool = False


@dataclass(frozen=True, eq=False)
class Plan:
    """A course and the ways its stops may stand; more than one where a fold lets pass."""

    course: Course
    origin: float
    ways: tuple[tuple[Stop, ...], ...]
    warnings: tuple[Warn, ...]


def side_of(edge: Edge, side: str | None) -> int:
    """+1 where the trim bulges to the walker's left, -1 to the right.

    Args:
        edge: the edge to trim.
        side: "outward" or "inward" of a closed outline, "left" or "right", or None: outward of a closed outline,
            left of an open line.

    Raises:
        RequestError: an open line has no outside.
    """
    if side in ("left", "right"):
        return 1 if side == "left" else -1
    if edge.outside == 0:
        if side is None:
            return 1
        raise RequestError(f'"{edge.name}" is an open line and has no {side} side: say left or right')
    return edge.outside if side in (None, "outward") else -edge.outside


def plan_of(edge: Edge, side: int, holds: Holds) -> Plan:
    """The course of an edge and its stops.

    A loop is made to start at a valley hold if it has one, else at a wrapped corner, else at a crest, and `origin`
    tells where that is along the edge; a loop without any hold has a valley at its first point.

    Raises:
        NameUnknownError, RequestError: a hold names no place on the edge, or can't stand there.
    """
    inner, warnings = _inner_stops(edge, side, holds)
    if edge.loop:
        course, origin, stops = _loop(edge, side, inner)
        return Plan(course, origin, (stops,), tuple(warnings))
    course = Course(edge.measured, False, side)
    first, notes_a = _end_stops(edge, holds.start, at_end=False)
    last, notes_b = _end_stops(edge, holds.end, at_end=True)
    ways = tuple((a, *inner, b) for a, b in product(first, last))
    return Plan(course, 0.0, ways, (*warnings, *notes_a, *notes_b))


def _inner_stops(edge: Edge, side: int, holds: Holds) -> tuple[list[Stop], list[Warn]]:
    stops: dict[float, Stop] = {}
    warnings: list[Warn] = []
    for corner in edge.corners:
        stop, warning = _corner_stop(edge, corner, side, holds.corner)
        if stop is not None:
            stops[round(corner.s, 6)] = stop
        warnings.extend(warning)
    if edge.loop and holds.first_valley:
        stops[0.0] = Stop(edge.start, 0.0, VALLEY)
    for name, wanted in holds.marks.items():
        spot = spot_on(edge, name)
        key = min((k for k in stops if abs(k - spot.s) < 1e-3), default=round(spot.s, 6))
        if not edge.loop and (spot.s < 1e-6 or spot.s > edge.measured.length - 1e-6):
            raise RequestError(f'"{name}" is an end of the edge: its hold is given with --start or --end')
        if wanted.kind == PASS:
            stops.pop(key, None)
        else:
            hold = CREST if wanted.kind == CREST else VALLEY
            stops[key] = Stop(name, spot.s, hold, gap=wanted.gap if wanted.kind == GAP else 0.0)
    return [stops[key] for key in sorted(stops)], warnings


def _corner_stop(edge: Edge, corner: Spot, side: int, wish: str) -> tuple[Stop | None, list[Warn]]:
    # Walking with the bulge on the left, an outer corner turns to the right.
    bulging = corner.turn * side
    x, y = edge.measured.points(np.array([corner.s]))[0]
    place = {"piece": edge.piece.name, "x": float(x), "y": float(y)}
    degrees = math.degrees(abs(corner.turn))
    if wish == WRAP:
        if bulging > 0.0:
            return Stop(corner.name, corner.s, WRAP, turn=bulging), []
        text = f'"{corner.name}" is a hollow corner, which no scallop can wrap: a valley is held there'
        return Stop(corner.name, corner.s, VALLEY), [Warn("corner-held", text, **place)]  # type: ignore[arg-type]
    if wish == PASS and abs(corner.turn) <= _SHARPEST_PASS:
        return None, []
    if wish == PASS:
        text = f'"{corner.name}" turns by {degrees:.0f} degrees, too sharp to pass: a valley is held there'
        return Stop(corner.name, corner.s, VALLEY), [Warn("corner-held", text, **place)]  # type: ignore[arg-type]
    return Stop(corner.name, corner.s, VALLEY), []


def _loop(edge: Edge, side: int, inner: list[Stop]) -> tuple[Course, float, tuple[Stop, ...]]:
    if not inner:
        return Course(edge.measured, True, side), 0.0, (Stop(edge.start, 0.0, VALLEY),)
    first = min(inner, key=lambda stop: ((VALLEY, WRAP, CREST).index(stop.hold), stop.s))
    total, origin = edge.measured.length, first.s
    measured = edge.measured
    if origin > 1e-9:
        measured = measure(np.concatenate([measured.part(origin, total), measured.part(0.0, origin)]))
    turned = [replace(stop, s=(stop.s - origin) % total) for stop in inner]
    return Course(measured, True, side), origin, tuple(sorted(turned, key=lambda stop: stop.s))


def _end_stops(edge: Edge, end: End, at_end: bool) -> tuple[list[Stop], list[Warn]]:
    """The stop at one end; two ways where a fold lets pass."""
    s = edge.measured.length if at_end else 0.0
    name = edge.end if at_end else edge.start
    if end.kind in (VALLEY, GAP):
        return [Stop(name, s, VALLEY, gap=end.gap if end.kind == GAP else 0.0)], []
    normal, warnings = _mirror_normal(edge, at_end, fold=end.kind == FOLD)
    if end.kind == CREST:
        return [Stop(name, s, CREST, mirror=normal)], warnings
    ways = [CREST, VALLEY] if end.hold == PASS else [end.hold]
    return [Stop(name, s, hold, mirror=normal, fold=True) for hold in ways], warnings


def _mirror_normal(edge: Edge, at_end: bool, fold: bool) -> tuple[tuple[float, float], list[Warn]]:
    """Unit normal, in the walking direction, of the line in which the trim is mirrored at an end.

    It is the neighbouring straight edge of the piece: at a fold in any case, at a free end where it stands square to
    the edge; else the normal to the edge.
    """
    s = edge.measured.length if at_end else 0.0
    tangent = edge.measured.tangents(np.array([s]))[0]
    square = (float(tangent[0]), float(tangent[1]))
    neighbour = edge.after if at_end else edge.before
    if neighbour is None:
        return square, []
    along, bow = _straight_direction(neighbour)
    normal = cubics.left(along)
    normal = normal if normal @ tangent > 0.0 else -normal
    off = math.acos(min(1.0, float(normal @ tangent)))
    x, y = edge.curve[-1, 3] if at_end else edge.curve[0, 0]
    place = {"piece": edge.piece.name, "x": float(x), "y": float(y)}
    warnings = []
    if fold and bow > _BOW:
        text = f'the fold beside "{edge.name}" bows by {bow:.2f} mm: draw it straight, or the halves will not match'
        warnings.append(Warn("fold-not-straight", text, **place))  # type: ignore[arg-type]
    if fold and off > _SQUARE:
        text = f'"{edge.name}" meets the fold {math.degrees(off):.1f} degrees off square: the unfolded edge has a kink'
        warnings.append(Warn("fold-not-square", text, **place))  # type: ignore[arg-type]
    if not fold and (off > _SQUARE or bow > _BOW):
        return square, []
    return (float(normal[0]), float(normal[1])), warnings


def _straight_direction(curve: Array) -> tuple[Array, float]:
    """Direction of an edge from its first to its last point, and how far it bows from that line, mm."""
    chord = curve[-1, 3] - curve[0, 0]
    length = float(np.hypot(*chord))
    if length < _REACH:
        return cubics.ends_direction(curve)[0], 0.0
    along = chord / length
    off = (cubics.flatten(curve, 0.01) - curve[0, 0]) @ cubics.left(along)
    return along, float(np.abs(off).max())
