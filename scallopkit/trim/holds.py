"""Holds: what the trim does at the ends of an edge, at its corners and at the marks on it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.length import Measured, measure
from ..pattern.edge import Edge, Spot, spot_on
from ..pattern.joins import FOLD, FOLD_BOW, straight_direction
from ..pattern.piece import Warn
from .course import CREST, VALLEY, WRAP, Course, Stop

PASS, GAP, HOLD = "pass", "gap", "hold"
# An edge that meets the trim's edge within this of a right angle is its mirror line at a free end.
_SQUARE = math.radians(1.0)
# A corner sharper than this is held by a valley even where scallops may pass: no step goes round it soundly.
_SHARPEST_PASS = math.radians(90.0)
# Lengths along an edge that are nearer than this, mm, are one.
_SAME = 1e-6
# A mark this near to a corner or a joint, mm, is at it: a stray hair of a segment may lie between.
_ONE_PLACE = 0.02


@dataclass(frozen=True)
class End:
    """What the trim does at one end of an open course: VALLEY, CREST, GAP (with its length) or FOLD (with its hold).

    At a fold with a valley the trim may end so far short of it as `gap` says.
    """

    kind: str = VALLEY
    hold: str = CREST
    gap: float = 0.0


@dataclass(frozen=True)
class AtJoint:
    """What the trim does where one edge of a run goes on into the next.

    Attributes:
        name: what the joint is called.
        s: its length along the run, mm.
        end: VALLEY, CREST, PASS or GAP with its length.
        square: unit normal of the joint's line, in the walking direction.
        turn: how far the run turns there, radians, positive to the right.
        fold: whether the run goes on beyond it as its own mirror image.
    """

    name: str
    s: float
    end: End
    square: tuple[float, float]
    turn: float = 0.0
    fold: bool = False


@dataclass(frozen=True)
class Holds:
    """All holds of one edge, or of a run laid flat.

    Attributes:
        start, end: the ends of an open edge.
        marks: holds at named marks or corners: VALLEY, CREST, PASS or GAP with a length.
        corner: what happens at a corner within the edge: HOLD (a valley), WRAP or PASS.
        first_valley: whether a closed outline has a valley where it starts, whatever else is held.
        joints: holds where the edges of a run meet; of a loop the last one stands where it starts.
        valleys: lengths along the edge at which there are valleys besides, mm.
        flats: stretches that are left flat besides, from where to where along the edge, mm.
    """

    start: End = End()
    end: End = End()
    marks: Mapping[str, End] = field(default_factory=dict)
    corner: str = HOLD
    first_valley: bool = False
    joints: tuple[AtJoint, ...] = ()
    valleys: tuple[float, ...] = ()
    flats: tuple[tuple[float, float], ...] = ()


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
    open_folds = [k for k, stop in enumerate(inner) if stop.hold == PASS]
    each = [_held(inner, open_folds, hold) for hold in ((CREST, VALLEY) if open_folds else (CREST,))]
    if edge.loop:
        looped = [_loop(edge, side, stops) for stops in each]
        course, origin, _ = looped[0]
        if all(abs(other - origin) < _SAME for _, other, _ in looped):
            return Plan(course, origin, tuple(stops for _, _, stops in looped), tuple(warnings))
        # Where the loop would start elsewhere each way, the fold takes its own hold.
        return Plan(course, origin, (looped[0][2],), tuple(warnings))
    course = Course(edge.measured, False, side)
    first, notes_a = _end_stops(edge, holds.start, at_end=False)
    last, notes_b = _end_stops(edge, holds.end, at_end=True)
    ways = tuple((a, *stops, b) for stops, a, b in product(each, first, last))
    return Plan(course, 0.0, ways, (*warnings, *notes_a, *notes_b))


def _held(stops: list[Stop], which: list[int], hold: str) -> list[Stop]:
    """The stops with one hold at all folds that let both pass, for halves must be alike."""
    return [replace(stop, hold=hold) if k in which else stop for k, stop in enumerate(stops)]


def _inner_stops(edge: Edge, side: int, holds: Holds) -> tuple[list[Stop], list[Warn]]:
    stops: dict[float, Stop] = {}
    warnings: list[Warn] = []
    for corner in edge.corners:
        stop, warning = _corner_stop(edge, corner, side, holds.corner)
        if stop is not None:
            stops[round(corner.s, 6)] = stop
        warnings.extend(warning)
    for joint in holds.joints:
        stop, warning = _joint_stop(edge, joint, side)
        if stop is not None:
            stops[round(stop.s, 6)] = stop
        warnings.extend(warning)
    if edge.loop and holds.first_valley:
        stops[0.0] = Stop(edge.start, 0.0, VALLEY)
    for name, wanted in holds.marks.items():
        spot_on(edge, name)
        for spot in [spot for spot in edge.spots if spot.name == name]:
            key = min((k for k in stops if abs(k - spot.s) < _ONE_PLACE), default=round(spot.s, 6))
            if not edge.loop and (spot.s < _SAME or spot.s > edge.measured.length - _SAME):
                raise RequestError(f'"{name}" is an end of the edge: its hold is given with --start or --end')
            if wanted.kind == PASS:
                stops.pop(key, None)
            else:
                hold = CREST if wanted.kind == CREST else VALLEY
                stops[key] = Stop(name, spot.s, hold, gap=wanted.gap if wanted.kind == GAP else 0.0)
    for s in holds.valleys:
        if all(abs(key - s) >= _ONE_PLACE for key in stops):
            stops[round(s, 6)] = Stop(f"{s:.2f} mm", s, VALLEY)
    for begin, finish in holds.flats:
        s = 0.5 * (begin + finish)
        s -= edge.measured.length if edge.loop and s >= edge.measured.length else 0.0
        gap = 0.5 * (finish - begin)
        key = min((k for k in stops if abs(k - s) < _ONE_PLACE), default=round(s, 6))
        held = replace(stops.pop(key, Stop(f"{s:.2f} mm", s, VALLEY)), hold=VALLEY, s=s, gap=gap, flat=True)
        # What else is held within it has nothing to hold.
        stops = {k: stop for k, stop in stops.items() if abs(k - s) >= gap - _SAME} | {key: held}
    return [replace(stops[key], joint=_at_joint(edge, stops[key], holds)) for key in sorted(stops)], warnings


def _at_joint(edge: Edge, stop: Stop, holds: Holds) -> bool:
    """Whether a stop stands at a joint; the closing joint of a loop is also where it starts."""
    turns = (0.0, edge.measured.length) if edge.loop else (0.0,)
    return any(abs(stop.s + turn - joint.s) < _ONE_PLACE for joint in holds.joints for turn in turns)


def _joint_stop(edge: Edge, joint: AtJoint, side: int) -> tuple[Stop | None, list[Warn]]:
    """The stop at a joint; a fold that lets pass comes back with the hold PASS, for a valley or a crest."""
    s, square = joint.s, joint.square
    if edge.loop and joint.s > edge.measured.length - _SAME:
        # The closing joint of a loop is where it starts, a turn before.
        back = edge.measured.turned(np.array(square), -1)
        s, square = 0.0, (float(back[0]), float(back[1]))
    kind, gap = joint.end.kind, joint.end.gap if joint.end.kind == GAP else 0.0
    if kind == PASS and not joint.fold:
        if abs(joint.turn) <= _SHARPEST_PASS:
            return None, []
        return _corner_stop(edge, Spot(joint.name, s, joint.turn), side, PASS)
    hold = VALLEY if kind == GAP else kind
    mirror = square if hold == VALLEY else None
    return Stop(joint.name, s, hold, gap=gap, mirror=mirror), []


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
        measured = measure(measured.part(origin, origin + total), measured.closing)
    turned = [_turned(stop, origin, measured) for stop in inner]
    return Course(measured, True, side), origin, tuple(sorted(turned, key=lambda stop: stop.s))


def _turned(stop: Stop, origin: float, m: Measured) -> Stop:
    """A stop as the course of a loop has it that begins at `origin`: what lies before that comes a turn later."""
    if stop.s >= origin:
        return replace(stop, s=stop.s - origin)
    mirror = None if stop.mirror is None else m.turned(np.array(stop.mirror))
    onward = None if mirror is None else (float(mirror[0]), float(mirror[1]))
    return replace(stop, s=stop.s - origin + m.length, mirror=onward)


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
    gaps = {VALLEY: end.gap}
    return [
        Stop(name, s, hold, gap=gaps.get(hold, 0.0), mirror=normal, fold=True, flat=True) for hold in ways
    ], warnings


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
    along, bow = straight_direction(neighbour)
    normal = cubics.left(along)
    normal = normal if normal @ tangent > 0.0 else -normal
    off = math.acos(min(1.0, float(normal @ tangent)))
    x, y = edge.curve[-1, 3] if at_end else edge.curve[0, 0]
    place = {"piece": edge.piece.name, "x": float(x), "y": float(y)}
    warnings = []
    if fold and bow > FOLD_BOW:
        text = f'the fold beside "{edge.name}" bows by {bow:.2f} mm: draw it straight, or the halves will not match'
        warnings.append(Warn("fold-not-straight", text, **place))  # type: ignore[arg-type]
    if fold and off > _SQUARE:
        text = f'"{edge.name}" meets the fold {math.degrees(off):.1f} degrees off square: the unfolded edge has a kink'
        warnings.append(Warn("fold-not-square", text, **place))  # type: ignore[arg-type]
    if not fold and (off > _SQUARE or bow > FOLD_BOW):
        return square, []
    return (float(normal[0]), float(normal[1])), warnings
