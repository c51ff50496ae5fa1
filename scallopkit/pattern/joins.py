"""Joins: where one edge goes on into the next once sewn, and which directions lie on each other there."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import measure
from .edge import Edge, on_line, same_stretch
from .piece import Warn
from .trueness import firm_direction

SEAM, DART, FOLD, LAP, BUTT = "seam", "dart", "fold", "lap", "butt"
KINDS = (SEAM, DART, FOLD, LAP, BUTT)

# The legs of a dart that is closed about its apex agree within this, mm.
_LEGS_AGREE = 0.05
# A leg that bows by more than this, mm, says nothing about where its dart folds.
_LEG_BOW = 1.0
# A fold may bow by this much, mm.
FOLD_BOW = 0.2
# Where an edge's direction at the joint and over its first 10 mm differ by more, the eye sees a curve.
_CURVED = math.radians(3.0)
_CURVED_OVER = 10.0
# Two places of one outline closer than this, mm, are one.
_SAME = 1e-3


@dataclass(frozen=True, eq=False)
class Join:
    """How an edge goes on into the next.

    Attributes:
        kind: SEAM, DART, FOLD, LAP or BUTT.
        width: of a LAP, how far either edge goes beyond the centre line, mm.
        apex: of a DART whose legs are not the outline: where they meet, mm on the sheet.
        legs: of a DART drawn as lines of their own: both, each in any direction.
    """

    kind: str
    width: float = 0.0
    apex: tuple[float, float] | None = None
    legs: tuple[Array, Array] | None = None


@dataclass(frozen=True, eq=False)
class Meeting:
    """Where two edges meet, each on its own place of the sheet.

    Attributes:
        first, second: the edges, as far as the run takes them.
        leaving: unit directions (2, 2), of the first and of the second edge's piece, that lie on each other once sewn.
        square: whether the joint's line stands square to those directions, which then are the edges' own.
        difference: of a dart, by how much its legs differ, mm.
        apex: of a dart, mm on the sheet.
        legs: the drawn edges that run from the joint into the cloth, where there are any, each walked away from it.
        warnings: what the maker should know.
    """

    first: Edge
    second: Edge
    leaving: Array
    square: bool = False
    difference: float = 0.0
    apex: Array | None = None
    legs: tuple[Array, Array] | None = None
    warnings: tuple[Warn, ...] = ()


def meeting(first: Edge, second: Edge, join: Join) -> Meeting:
    """How two edges meet.

    Args:
        first: the edge that ends at the joint.
        second: the one that starts there.
        join: how they are joined.

    Raises:
        RequestError: they can't be joined like that; the text names both ends, and the likely cure.
    """
    if join.kind == DART:
        return _dart(first, second, join)
    if join.kind == FOLD:
        return _fold(first, second)
    if join.kind == LAP:
        return _lap(first, second, join.width)
    if join.kind == BUTT or first.after is None or second.before is None:
        return _end_to_end(first, second)
    leaving = np.stack([firm_direction(first.after), firm_direction(second.before)])
    warnings = (*_curved(first, first.after), *_curved(second, second.before))
    return Meeting(first, second, leaving, legs=(first.after, second.before), warnings=warnings)


def straight_direction(curve: Array) -> tuple[Array, float]:
    """Unit direction of an edge from its first to its last point, and how far it bows from that line, mm."""
    chord = curve[-1, 3] - curve[0, 0]
    length = float(np.hypot(*chord))
    if length < 1.0:
        return firm_direction(curve), 0.0
    along = chord / length
    off = (cubics.flatten(curve, 0.01) - curve[0, 0]) @ cubics.left(along)
    return along, float(np.abs(off).max())


def _ends(first: Edge, second: Edge) -> str:
    return f'the end "{first.end}" of "{first.name}" and the start "{second.start}" of "{second.name}"'


def reversed_name(edge: Edge) -> str:
    """The name of the same edge walked the other way."""
    head, colon, stretch = edge.name.rpartition(":")
    names = stretch.split("..")
    return f"{head}{colon}{'..'.join(names[::-1])}" if len(names) > 1 else edge.name


# ---------------------------------------------------------------- seams


def _end_to_end(first: Edge, second: Edge) -> Meeting:
    back = cubics.reverse(first.curve)
    leaving = np.stack([-firm_direction(back), firm_direction(second.curve)])
    return Meeting(first, second, leaving, True, warnings=(*_curved(first, back), *_curved(second, second.curve)))


def _curved(edge: Edge, leaving: Array) -> list[Warn]:
    """A warning where a curve's direction at its first point says little about where it goes."""
    m = measure(leaving)
    chord = m.points(np.array([min(_CURVED_OVER, m.length)]))[0] - leaving[0, 0]
    size = float(np.hypot(*chord))
    off = math.acos(min(1.0, abs(float(firm_direction(leaving) @ chord) / size))) if size > 0.0 else 0.0
    if off <= _CURVED:
        return []
    x, y = leaving[0, 0]
    text = f'beside the joint at "{edge.name}" the outline turns by {math.degrees(off):.1f} degrees within 10 mm'
    cure = ": the pieces are laid by the direction at the joint itself; check it"
    return [Warn("curved-at-join", text + cure, edge.piece.name, float(x), float(y))]


# ---------------------------------------------------------------- folds


def _fold(first: Edge, second: Edge) -> Meeting:
    if first.piece is not second.piece or not _same_place(first, second):
        raise RequestError(f"{_ends(first, second)} are not one place of one fold{_fold_cure(first, second)}")
    if not same_stretch(first, second):
        raise RequestError(
            f'beyond the fold the same edge goes on: name "{reversed_name(first)}" after "{first.name}", or end the '
            "run at the fold with --end fold"
        )
    if first.after is None:
        raise RequestError(f'no edge of "{first.piece.name}" leaves "{first.end}" that could be the fold')
    along, bow = straight_direction(first.after)
    warnings = _fold_warnings(first, bow)
    return Meeting(first, second, np.stack([along, along]), legs=(first.after, first.after), warnings=warnings)


def _fold_cure(first: Edge, second: Edge) -> str:
    if first.piece is second.piece and _apart(first, second, back=True) < _SAME:
        return f'; "{reversed_name(first)}" before "{reversed_name(second)}" would be'
    return f'; name "{reversed_name(first)}" after "{first.name}"'


def _fold_warnings(edge: Edge, bow: float) -> tuple[Warn, ...]:
    if bow <= FOLD_BOW:
        return ()
    x, y = edge.curve[-1, 3]
    text = f'the fold beside "{edge.name}" bows by {bow:.2f} mm: draw it straight, or the halves will not match'
    return (Warn("fold-not-straight", text, edge.piece.name, float(x), float(y)),)


def _same_place(first: Edge, second: Edge) -> bool:
    return _apart(first, second) < _SAME


def _apart(first: Edge, second: Edge, back: bool = False) -> float:
    a, b = (first.curve[0, 0], second.curve[-1, 3]) if back else (first.curve[-1, 3], second.curve[0, 0])
    return float(np.hypot(*(a - b)))


# ---------------------------------------------------------------- laps


def _lap(first: Edge, second: Edge, width: float) -> Meeting:
    if width <= 0.0:
        raise RequestError(f"say how far {_ends(first, second)} go beyond the centre line of their lap")
    back = cubics.reverse(first.curve)
    end = firm_direction(first.after) if first.after is not None else cubics.left(firm_direction(back))
    start = firm_direction(second.before) if second.before is not None else cubics.left(-firm_direction(second.curve))
    leaving = np.stack([end, start])
    kept_first = cubics.reverse(_short_of(first, back, end, width))
    kept_second = _short_of(second, second.curve, start, width)
    return Meeting(
        on_line(first, kept_first, first.before, first.after, _SAME),
        on_line(second, kept_second, second.before, second.after, _SAME),
        leaving,
    )


def _short_of(edge: Edge, curve: Array, free: Array, width: float) -> Array:
    """The curve from where it crosses the centre line, which runs along the free edge `width` inside it."""
    into = cubics.left(free)
    into = into if into @ firm_direction(curve) > 0.0 else -into
    # Loaded only for laps.
    from ..geometry.intersect import crossings

    reach = 4.0 * width
    centre = curve[0, 0] + width * into
    found = crossings(curve, cubics.lines([centre - reach * free, centre + reach * free]))
    if len(found.point) == 0:
        raise RequestError(f'"{edge.name}" is too short for a lap of {width:g} mm, or leaves its edge too flatly')
    m = measure(curve)
    s = m.lengths(found.segment_a, found.t_a)
    k = int(np.argmin(s))
    return cubics.stretch(curve, (int(found.segment_a[k]), float(found.t_a[k])), (len(curve) - 1, 1.0))


# ---------------------------------------------------------------- darts


def _dart(first: Edge, second: Edge, join: Join) -> Meeting:
    if first.piece is not second.piece:
        raise RequestError(
            f"{_ends(first, second)} are on two pieces, so no dart lies between them: join them by a seam"
        )
    if join.apex is not None:
        _refuse_outside(first, second, np.array(join.apex))
    legs = _dart_legs(first, second, join)
    apex = np.array(join.apex) if join.apex is not None else legs[0][-1, 3]
    lengths = [measure(leg).length for leg in legs]
    difference = abs(lengths[0] - lengths[1])
    leaving = np.stack([firm_direction(leg) for leg in legs])
    if difference <= _LEGS_AGREE:
        leaving = np.stack([(leg[-1, 3] - leg[0, 0]) / np.hypot(*(leg[-1, 3] - leg[0, 0])) for leg in legs])
    return Meeting(
        first,
        second,
        leaving,
        difference=difference,
        apex=apex,
        legs=legs,
        warnings=_dart_warnings(first, difference, lengths),
    )


def _refuse_outside(first: Edge, second: Edge, apex: Array) -> None:
    """Refuses an apex that lies off the cloth, beyond the line between the legs' ends."""
    mouth = second.curve[0, 0] - first.curve[-1, 3]
    size = float(np.hypot(*mouth))
    if first.outside == 0 or size < _SAME:
        return
    beyond = first.outside * float(cubics.left(mouth) @ (apex - first.curve[-1, 3])) / size
    if beyond <= _SAME:
        return
    # Loaded only where an apex may lie wrong.
    from ..geometry.winding import winding

    if winding(first.piece.curve, apex[None])[0] == 0:
        raise RequestError(
            f"the apex of the dart between {_ends(first, second)} lies {beyond:.1f} mm outside the cloth of "
            f'"{first.piece.name}": move it to the other side of the edge, or name the edges in sewing order'
        )


def _dart_legs(first: Edge, second: Edge, join: Join) -> tuple[Array, Array]:
    ends = first.curve[-1, 3], second.curve[0, 0]
    if join.legs is not None:
        a, b = (_from_end(leg, end, first) for leg, end in zip(join.legs, ends, strict=True))
        return a, b
    if join.apex is not None:
        a, b = (cubics.lines([end, join.apex]) for end in ends)
        return a, b
    if first.after is None or second.before is None or not _meet_in_one_corner(first, second):
        text = f'between {_ends(first, second)} the outline of "{first.piece.name}" does not hold one corner, the apex'
        raise RequestError(f"{text}: name the ends of the dart's legs, or give its apex in a job file")
    for edge, leg in ((first, first.after), (second, second.before)):
        bow = straight_direction(leg)[1]
        if bow > _LEG_BOW:
            raise RequestError(
                f'the dart\'s leg beside "{edge.name}" bows by {bow:.1f} mm: draw it straight, or name its apex in '
                "a job file"
            )
    return first.after, second.before


def _meet_in_one_corner(first: Edge, second: Edge) -> bool:
    if first.after is None or second.before is None:
        return False
    return float(np.hypot(*(first.after[-1, 3] - second.before[-1, 3]))) < _SAME


def _from_end(leg: Array, end: Array, edge: Edge) -> Array:
    """A leg walked away from the edge."""
    leg = leg if np.hypot(*(leg[0, 0] - end)) <= np.hypot(*(leg[-1, 3] - end)) else cubics.reverse(leg)
    away = float(np.hypot(*(leg[0, 0] - end)))
    if away > 1.0:
        raise RequestError(
            f'a leg of the dart beside "{edge.name}" starts {away:.1f} mm away from the edge: draw it up to the edge'
        )
    return leg


def _dart_warnings(first: Edge, difference: float, lengths: list[float]) -> tuple[Warn, ...]:
    if difference <= _LEGS_AGREE:
        return ()
    x, y = first.curve[-1, 3]
    text = f"the legs of the dart are {lengths[0]:.2f} and {lengths[1]:.2f} mm long, {difference:.2f} mm apart"
    cure = ": it is closed by the legs' direction at the edge; make them alike"
    return (Warn("dart-legs-differ", text + cure, first.piece.name, float(x), float(y)),)
