"""Whether a run can be sewn: its figures, taken from the lines as they were made, against the rules of sewing."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..construction.cautions import UNDER_3
from ..construction.clipping import VALLEY as VALLEY_CLIP
from ..construction.rules import (
    DEGREES,
    MM,
    PERCENT,
    RULES,
    THICKNESS,
    Judged,
    fits_cylinder,
    judged,
    layers_at_join,
)
from ..errors import RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.nearest import nearest
from ..pattern.joins import DART, SEAM
from ..pattern.laying import Joint
from ..trim.course import VALLEY
from ..trim.eyelets import Eyelets
from ..trim.fastenings import BUTTONHOLE
from ..trim.meeting import valleys_between
from ..trim.scallops import Scallops, crest_lengths, valleys
from ..trim.sharing import Trimmed
from .drawing import Drawing
from .facings import BAND
from .finding import Finding
from .finishing import BOUND, FACED, Finish
from .numbers import decimal, places_for
from .recipe import RAW
from .runs import Run
from .sheet import placed_on_sheet, to_sheet
from .units import parse_angle, parse_length, parse_share
from .wishes import positive_number

# A valley this near to a seam, mm, is on it: no seam is sewn more exactly (common practice, no source).
_ON_SEAM = 0.5
# Places nearer than this along a run, mm, are one.
_AT = 1e-6
# A larger radius, mm, is a straight line.
_STRAIGHT = 1e6
# A valley this near to a straight angle, degrees, is none.
_FLAT = 179.5
# Eyelets farther along the run from a join, mm, are not beside it.
_BESIDE = 150.0
# How far a seam is drawn on straight, mm: into the cloth where it has no edge of its own, and beyond the edge.
_FAR, _OUT = 1000.0, 100.0
_SMALL_PARTS = "small-parts"
# Places looked at on each cubic for its least radius, and how often the way between two of them is parted.
_LOOKS, _HALVINGS = 33, 45
_GOLDEN = (math.sqrt(5.0) - 1.0) / 2.0


@dataclass(frozen=True, eq=False)
class _Figure:
    """One figure of a run: its rule, where it lies in the flat frame or in words, and how it came about."""

    code: str
    value: float
    words: str = "run"
    point: Array | None = None
    s: float = 0.0
    counted: str = ""


def limits_of(words: Mapping[str, str]) -> dict[str, float]:
    """Limits as numbers, in the units of their rules; with the thickness of the cloth, where it is told, in mm.

    Args:
        words: limits by the codes of RULES, and THICKNESS.

    Raises:
        RequestError: there is no such limit, or its value can't be read.
    """
    return {code: _limit(code, text) for code, text in words.items()}


def _limit(code: str, text: str) -> float:
    what = f"the limit {code}"
    if code == THICKNESS:
        return parse_length(text, "the thickness of the cloth", "positive")
    if code not in RULES:
        raise RequestError(f'there is no limit "{code}": take one of {", ".join([*RULES, THICKNESS])}')
    unit = RULES[code].unit
    if unit == MM:
        return parse_length(text, what, "not-negative")
    if unit == DEGREES:
        return round(math.degrees(parse_angle(text, what, "not-negative")), 9)
    if unit == PERCENT:
        return round(100.0 * parse_share(text, what, "not-negative"), 9)
    # None at all is a number too.
    return 0.0 if text.strip() == "0" else positive_number(text, what)


def sewability(drawing: Drawing, run: Run, limits: Mapping[str, float]) -> tuple[Finding, ...]:
    """What the rules of sewing find of a run: of each rule that applies the worst place.

    Args:
        drawing: the drawing that it is made on.
        run: the run.
        limits: limits that were set, as `limits_of` gives them.
    """
    figures = [*_figures(run, limits.get(THICKNESS)), *_small_parts(run, limits)]
    return tuple(_finding(drawing, run, _judged(run, figure, limits), figure) for figure in figures)


def _figures(run: Run, thickness: float | None) -> Iterator[_Figure]:
    if run.scallops is not None:
        if run.finish is not None:
            yield from _of_finish(run, run.scallops, run.finish, thickness)
        if run.finish is None or run.finish.kind in (FACED, BOUND):
            yield from _valleys_near_seams(run, run.scallops)
        yield from _at_ends(run, run.scallops)
    yield from _eyelets_near(run, SEAM, "eyelet-near-seam")
    yield from _eyelets_near(run, DART, "eyelet-near-dart")
    yield from _in_facings(run)


def _of_finish(run: Run, placed: Scallops, finish: Finish, thickness: float | None) -> Iterator[_Figure]:
    if finish.kind == FACED:
        yield from _turned(run, finish, thickness)
        yield from _sizes(placed)
        yield from _sharpest(run, placed, "valley-angle")
        yield from _clips(run, placed, finish)
        yield from _layers(run)
    elif finish.kind == BOUND:
        yield from _sharpest(run, placed, "bound-valley-angle")
    if finish.kind != RAW:
        yield from _stitches(placed, finish)


# ---------------------------------------------------------------- as findings


def _judged(run: Run, figure: _Figure, limits: Mapping[str, float]) -> Judged:
    piece = x = y = None
    if figure.point is not None:
        parts, places = placed_on_sheet(run, figure.point[None], np.array([figure.s]))
        piece = run.laid.parts[int(parts[0])].edge.piece.name
        x, y = (float(v) for v in places[0])
    return judged(figure.code, figure.value, limits, piece=piece, x=x, y=y, counted=figure.counted)


def _finding(drawing: Drawing, run: Run, found: Judged, figure: _Figure) -> Finding:
    where = figure.words
    if found.x is not None and found.y is not None:
        at = place_words(drawing, found.piece or "", found.x, found.y)
        where = at if where == "run" else f"{where}, {at}"
    return Finding.of_rule(run.name, where, found)


def place_words(drawing: Drawing, piece: str, x: float, y: float) -> str:
    """A place of a piece, given in mm on the sheet, in the drawing's own user units."""
    user = motion.apply(motion.inverse(drawing.to_mm), np.array([x, y]))
    # To a tenth of a mm, whatever the drawing's unit.
    places = max(0, places_for(motion.similarity_scale(drawing.to_mm) or 1.0) - 4)
    return f'"{piece}" at {decimal(float(user[0]), places)}, {decimal(float(user[1]), places)}'


def _worst(code: str, values: Array, points: Array, s: Array, words: Sequence[str] = ()) -> Iterator[_Figure]:
    """The figure that comes nearest to breaking its rule, or breaks it most; none of none."""
    if not len(values):
        return
    # Of equally bad places, but for rounding, the first.
    even = np.round(values, 9)
    i = int(np.argmin(even) if RULES[code].at_least else np.argmax(even))
    yield _Figure(code, float(values[i]), words[i] if words else "run", points[i], float(s[i]))


# ---------------------------------------------------------------- what is turned


def _turned(run: Run, finish: Finish, thickness: float | None) -> Iterator[_Figure]:
    """How tight the bulges are, against the allowance and the cloth."""
    yield _Figure("trimmed-allowance", finish.trimmed)
    radius, point, s = _tightest(run.line)
    if radius >= _STRAIGHT:
        return
    yield _Figure("turn-radius", radius, "run", point, s)
    yield _Figure("turn-room", radius - finish.trimmed, "run", point, s)
    if thickness is not None:
        yield _Figure("radius-to-thickness", radius / thickness, "run", point, s)


def _tightest(line: Trimmed) -> tuple[float, Array, float]:
    """The least radius with which the line bulges, infinite where nothing does, the place, and its length along."""
    placed = line.placed
    along = crest_lengths(placed.row)
    flat = [(curve, float(along[max(i - 1, 0)])) for i, curve in enumerate((line.lead, *line.links))]
    round_ = not np.isnan(placed.radius).any()
    drawn = [] if round_ else list(zip(line.curves, along.tolist(), strict=True))
    owners = [(curve, s) for curve, s in (*drawn, *flat) if curve is not None and len(curve)]
    best, point, s = math.inf, placed.crest[0], float(along[0])
    if round_:
        i = int(np.argmin(placed.radius))
        best, point, s = float(placed.radius[i]), placed.crest[i], float(along[i])
    if owners:
        number = np.repeat(np.arange(len(owners)), [len(curve) for curve, _ in owners])
        bent, places = _most_bent(np.concatenate([curve for curve, _ in owners]), line.course.side)
        k = int(np.argmax(bent))
        if bent[k] * best > 1.0:
            best, point, s = 1.0 / float(bent[k]), places[k], owners[number[k]][1]
    return best, point, s


def _most_bent(curve: Array, side: int) -> tuple[Array, Array]:
    """The greatest curvature (n,) of each cubic away from a side, 1/mm, 0 where it has none, and the places (n, 2)."""
    number = np.arange(len(curve))
    t = np.linspace(0.0, 1.0, _LOOKS)
    looked = np.stack([_bent(curve, number, np.full(len(curve), u), side) for u in t], axis=1)
    middle = t[np.argmax(looked, axis=1)]
    low, high = np.maximum(middle - t[1], 0.0), np.minimum(middle + t[1], 1.0)
    for _ in range(_HALVINGS):
        a, b = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
        rises = _bent(curve, number, a, side) < _bent(curve, number, b, side)
        low, high = np.where(rises, a, low), np.where(rises, high, b)
    best = 0.5 * (low + high)
    return _bent(curve, number, best, side), cubics.point(curve, number, best)


def _bent(curve: Array, number: cubics.Ints, t: Array, side: int) -> Array:
    d, e = cubics.derivative(curve, number, t), cubics.second_derivative(curve, number, t)
    speed = cubics.norm(d)
    # Where a cubic stands still it has no curvature to speak of.
    moves = speed > 1e-7 * cubics.norm(np.ptp(curve, axis=1))[number]
    bent = side * cubics.cross(d, e) / np.where(moves, speed, 1.0) ** 3
    return np.where(moves, np.maximum(bent, 0.0), 0.0)


def _sizes(placed: Scallops) -> Iterator[_Figure]:
    """How wide, and how deep for their width; scallops that wrap a corner are a case of their own."""
    use = np.flatnonzero(placed.row.turn == 0.0)
    width, points, s = placed.row.width[use], placed.crest[use], crest_lengths(placed.row)[use]
    yield from _worst("scallop-width", width, points, s)
    for code in ("shallow-scallop", "deep-scallop"):
        yield from _worst(code, 100.0 * placed.depth[use] / width, points, s)


def _stitches(placed: Scallops, finish: Finish) -> Iterator[_Figure]:
    each = finish.stitches.scallops
    first = [one.scallops[0] - 1 for one in each]
    points, s = placed.crest[first], crest_lengths(placed.row)[first]
    yield from _worst("stitches-a-scallop", np.array([float(one.per_scallop) for one in each]), points, s)
    for code in ("short-stitch", "long-stitch"):
        yield from _worst(code, np.array([one.length_mm for one in each]), points, s)


def _clips(run: Run, placed: Scallops, finish: Finish) -> Iterator[_Figure]:
    """How far clips stop short: those to a valley from the valley, those on a hollow curve from the line."""
    clips = finish.clipping.clips if finish.clipping is not None else ()
    if not clips:
        return
    # Round a loop the clip at its first valley may lie a turn later; it only seems to stop farther off than others.
    nodes = np.concatenate([placed.row.start, placed.row.end])
    curves = [curve for curve in (*run.line.curves, *run.line.links) if curve is not None]
    points = np.array([clip.point for clip in clips])
    to_line = nearest(np.concatenate(curves), points).distance
    to_node = np.array([float(cubics.norm(nodes - point).min()) for point in points])
    to_valley = np.array([clip.kind == VALLEY_CLIP for clip in clips])
    yield from _worst("clip-short", np.where(to_valley, to_node, to_line), points, np.array([clip.s for clip in clips]))


# ---------------------------------------------------------------- valleys


def _sharpest(run: Run, placed: Scallops, code: str) -> Iterator[_Figure]:
    """The sharpest valley, as an angle in degrees."""
    found = [*_shared_valleys(run.line), *_valleys_beside_spaces(run.line), *_valleys_on_folds(run)]
    found = [(max(math.degrees(angle), 0.0), point, s) for angle, point, s in found]
    found = [valley for valley in found if valley[0] < _FLAT]
    if found:
        angle, point, s = min(found, key=lambda valley: valley[0])
        yield _Figure(code, angle, "run", point, s)


def _shared_valleys(line: Trimmed) -> Iterator[tuple[float, Array, float]]:
    row = line.placed.row
    if line.placed.shape.motif(float(row.width[0])).smooth:
        return
    found = valleys_between(line.placed, line.course.loop)
    for angle, i in zip(found.open.tolist(), found.before.tolist(), strict=True):
        yield angle, row.end[i], float(row.s_end[i])


def _valleys_beside_spaces(line: Trimmed) -> Iterator[tuple[float, Array, float]]:
    """Where a scallop meets the flat stretch that a space leaves."""
    row, m, n = line.placed.row, line.course.measured, len(line.placed)
    side = line.course.side
    if line.lead is not None and len(line.lead):
        yield _open(line.lead, line.curves[0], side), row.start[0], float(row.s_start[0])
    for i, link in enumerate(line.links):
        if link is None or not len(link):
            continue
        yield _open(line.curves[i], link, side), row.end[i], float(row.s_end[i])
        if i + 1 < n:
            yield _open(link, line.curves[i + 1], side), row.start[i + 1], float(row.s_start[i + 1])
        elif line.course.loop:
            yield _open(link, m.carried(line.curves[0]), side), row.start[0], float(row.s_start[0])


def _open(before: Array, after: Array, side: int) -> float:
    """The angle that two curves leave open on a side where one goes on into the other."""
    arriving, leaving = cubics.ends_direction(before)[1], cubics.ends_direction(after)[0]
    turn = math.atan2(float(cubics.cross(arriving, leaving)), float(cubics.dot(arriving, leaving)))
    return math.pi + side * turn


def _valleys_on_folds(run: Run) -> Iterator[tuple[float, Array, float]]:
    """Valleys between a scallop and its own mirror image; with a space the flat stretch crosses the fold."""
    line = run.line
    row, outward = line.placed.row, line.course.side
    tail = line.links[-1]
    ends = (
        (run.stops[0], line.lead, line.curves[0], row.start[0], float(row.s_start[0])),
        (run.stops[-1], tail, cubics.reverse(line.curves[-1]), row.end[-1], float(row.s_end[-1])),
    )
    for stop, flat, curve, point, s in () if run.course.loop else ends:
        if not stop.fold or stop.hold != VALLEY or stop.mirror is None or (flat is not None and len(flat)):
            continue
        out = outward * cubics.left(np.array(stop.mirror))
        leaving = cubics.ends_direction(curve)[0]
        yield 2.0 * abs(math.atan2(float(cubics.cross(out, leaving)), float(cubics.dot(out, leaving)))), point, s


# ---------------------------------------------------------------- joins


def _passed_joints(run: Run) -> list[tuple[int, Joint]]:
    """The seams and darts that the edge goes over; where the trim stops short of one nothing is turned at it."""
    short = [stop.s for stop in run.stops if stop.breaks]
    return [
        (k, joint)
        for k, joint in enumerate(run.laid.joints)
        if joint.kind in (SEAM, DART) and not any(run.is_at(joint, s) for s in short)
    ]


def _layers(run: Run) -> Iterator[_Figure]:
    """The most layers at any join: seams are taken as pressed open, darts as pressed to one side."""
    found, parts = [], run.laid.parts
    for k, joint in _passed_joints(run):
        if all(part.copy_of is not None for part in (parts[k], parts[(k + 1) % len(parts)])):
            # The facing is told of once, on the other half of the piece.
            continue
        opened, over = joint.kind == SEAM, joint.kind == DART or _faced_over(run, joint)
        count = layers_at_join(opened, over)
        counted = (
            f"{'2 of cloth, pressed open' if opened else '3 of cloth, pressed to one side'}, and "
            f"{'1 of a facing that goes over it' if over else '2 of a facing with a seam there'}, all double as turned"
        )
        found.append(_Figure("seam-layers", float(count), _named(joint), joint.point, joint.s - run.origin, counted))
    if found:
        yield max(found, key=lambda figure: figure.value)


def _faced_over(run: Run, joint: Joint) -> bool:
    """Whether a facing goes over a seam in one piece; of an edge that has none yet it has a seam there."""
    length = run.course.measured.length
    return any(
        _AT < (joint.s - facing.begin) % length < facing.length - _AT for facing in run.facings if facing.kind != BAND
    )


def _valleys_near_seams(run: Run, placed: Scallops) -> Iterator[_Figure]:
    """The valley nearest to a seam or a dart, of those that do not lie on one."""
    points, s = valleys(placed.row, run.course.measured.closing)
    joints = [k for k, _ in _passed_joints(run)]
    found = [one for one in _near(run, joints, points, s, 2.0 * float(placed.row.width.max())) if one[0] > _ON_SEAM]
    if found:
        away, k, i = min(found)
        yield _Figure("valley-near-seam", away, _named(run.laid.joints[k]), points[i], float(s[i]))


def _eyelets_near(run: Run, kind: str, code: str) -> Iterator[_Figure]:
    """The flange nearest to a seam, or to a dart."""
    joints = [k for k, joint in enumerate(run.laid.joints) if joint.kind == kind]
    nearest_flanges = []
    for number, placed in enumerate(run.eyelets):
        half = 0.5 * placed.size.beside
        found = _near(run, joints, placed.points, placed.s, _BESIDE)
        nearest_flanges += [(away - half, k, number, i) for away, k, i in found]
    if nearest_flanges:
        gap, k, number, i = min(nearest_flanges)
        placed = run.eyelets[number]
        yield _Figure(code, gap, _named(run.laid.joints[k]), placed.points[i], float(placed.s[i]))


def _small_parts(run: Run, limits: Mapping[str, float]) -> Iterator[_Figure]:
    """How many eyelets of the run laid flat fit through the test cylinder, where a limit or the wearer asks for it."""
    if not run.eyelets or not (run.recipe.wearer == UNDER_3 or _SMALL_PARTS in limits):
        return
    # A buttonhole is sewn, and no part that can come off.
    parts = [placed for placed in run.eyelets if placed.size.part != BUTTONHOLE]
    small = [placed for placed in parts if fits_cylinder(placed.size.flange)]
    yield _Figure(_SMALL_PARTS, float(sum(len(placed) for placed in small)))


def _named(joint: Joint) -> str:
    return f"{joint.kind} {joint.name}"


def _near(run: Run, joints: Sequence[int], points: Array, s: Array, reach: float) -> Iterator[tuple[float, int, int]]:
    """How far places are from the joints of their own pieces: distance, number of the joint, number of the place.

    Places within reach along the run are looked at; the distance is that to the sewn edge on the sheet.
    """
    parts, places = placed_on_sheet(run, points, s)
    length = run.course.measured.length
    for k in joints:
        along = s + run.origin - run.laid.joints[k].s
        along = along - length * np.round(along / length) if run.course.loop else along
        for part, line in _sewn_lines(run, k):
            near = np.flatnonzero((parts == part) & (np.abs(along) <= reach))
            for away, i in zip(nearest(line, places[near]).distance.tolist(), near.tolist(), strict=True):
                yield away, k, i


def _sewn_lines(run: Run, k: int) -> Iterator[tuple[int, Array]]:
    """The edges that are sewn at a joint, as drawn into the cloth and straight on beyond it, and whose part each is."""
    joint, count = run.laid.joints[k], len(run.laid.parts)
    legs = joint.meeting.legs if joint.meeting is not None else None
    for i in (0, 1):
        turn, part = divmod(k + i, count)
        back = to_sheet(run.laid, part, turn)
        point, along = motion.apply(back, joint.point), back[:, :2] @ joint.along
        into = cubics.lines([point, point + _FAR * along]) if legs is None else legs[i]
        yield part, np.concatenate([cubics.lines([point - _OUT * along, point]), into])


def _at_ends(run: Run, placed: Scallops) -> Iterator[_Figure]:
    """How far the trim stays from free ends, along the run."""
    if run.course.loop:
        return
    length = run.course.measured.length
    first, last = run.stops[0], run.stops[-1]
    ends = ((first, float(placed.row.s_start[0]), 0.0), (last, length - float(placed.row.s_end[-1]), length))
    free = [(max(away, 0.0), stop.name, s) for stop, away, s in ends if not stop.fold]
    if free:
        away, name, s = min(free, key=lambda end: end[0])
        yield _Figure("end-distance", away, name, run.course.measured.points(np.array([s]))[0], s)


# ---------------------------------------------------------------- facings


def _in_facings(run: Run) -> Iterator[_Figure]:
    """How far facings reach beyond the valleys, and beyond the flanges."""
    depths = [facing.depth for facing in run.facings if facing.kind != BAND]
    if not depths:
        return
    depth = min(depths)
    if run.scallops is not None:
        points, s = valleys(run.scallops.row, run.course.measured.closing)
        yield from _worst("facing-depth", depth - _inside(run, points), points, s)
    if run.eyelets:
        points = np.concatenate([placed.points for placed in run.eyelets])
        s = np.concatenate([placed.s for placed in run.eyelets])
        yield from _worst("eyelet-in-facing", depth - _inside(run, points) - _half_flanges(run.eyelets), points, s)


def _half_flanges(eyelets: Sequence[Eyelets]) -> Array:
    return np.concatenate([np.full(len(placed), 0.5 * placed.size.deep) for placed in eyelets])


def _inside(run: Run, points: Array) -> Array:
    """How far inside the edge line points lie, mm; below 0 for those outside, where the scallops bulge to."""
    curve = run.course.measured.curve
    found = nearest(curve, points)
    outward = run.course.side * cubics.left(cubics.direction(curve, found.segment, found.t))
    return np.where(cubics.dot(points - found.point, outward) > 0.0, -found.distance, found.distance)
