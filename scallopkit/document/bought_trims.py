"""Bought trims of runs: the maker's words turned into lines on the cloth, and what is told of them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from lxml import etree

from ..construction.edge_line import part_of
from ..construction.laid_trim import Inside, Told
from ..construction.motifs import Laid, laid
from ..construction.repeats import (
    EASE,
    EDGE,
    HIDE,
    HOLDS,
    JOIN,
    KINDS,
    MITRE,
    MOST_EASE,
    MOST_STRETCH,
    NONE,
    NOTHING,
    SEAMS,
    STRETCH,
    Bought,
    Limits,
    Line,
    Place,
    Trim,
    Turn,
    Way,
    bought,
    chosen,
    mitre_takes,
    taken,
    ways,
)
from ..construction.strip import ease
from ..errors import RequestError, counted
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.length import Measured
from ..pattern.corners import corners
from ..pattern.joins import SEAM
from ..pattern.piece import Warn
from .inside_lines import line_inside, parted, stretch_of
from .numbers import path_text, rounded
from .recipe import TrimWords
from .redrawing import Redrawn, redrawn
from .sheet import on_sheet, opened, to_sheet
from .tables import table
from .units import Sign, parse_length, parse_share
from .wishes import one_of

if TYPE_CHECKING:
    from .group import Pen
    from .runs import Run

_PLACES = 6
# How long the mark at each repeat is at most, and how high letters are, mm.
_MARK, _LETTERS = 5.0, 3.0


@dataclass(frozen=True, eq=False)
class MadeTrim:
    """A bought trim as it lies on a run.

    Attributes:
        trim: the trim.
        offset: how far inside the edge its nearer line lies, mm.
        line: the line on which its middle lies.
        ways: every way to take up the difference; `way` is the chosen one.
        laid: how it is laid.
        bought: how much of it to buy, for all copies of the run.
        edge, near, far: lengths of the edge, of the trim's nearer and of its farther line, mm.
        lines, marks: what is drawn of it in the flat frame, each with the number of its part.
        redrawn: what of the pattern is to be redrawn for it.
    """

    trim: Trim
    offset: float
    line: Line
    ways: tuple[Way, ...]
    way: Way
    laid: Laid
    bought: Bought
    edge: float
    near: float
    far: float
    lines: tuple[tuple[int, Array], ...]
    marks: tuple[tuple[int, Array], ...]
    redrawn: tuple[Redrawn, ...]


def trim_of(run: Run, words: TrimWords) -> tuple[MadeTrim, tuple[Warn, ...]]:
    """The trim of a run, with what the maker should know.

    Raises:
        ScallopkitError: a value is refused, or the trim has no place or no fit; the text says what to do.
    """
    trim, offset = _trim(words), _length(words.offset, "--offset", "not-negative", 0.0)
    limits = Limits(_share(words.ease, "--ease", MOST_EASE), _share(words.stretch, "--stretch", MOST_STRETCH))
    kind, _, hide = words.take_up.partition(":")
    if kind not in ("", *KINDS) or (hide and kind != HIDE):
        shown = ", ".join(f"{one}:PLACE" if one == HIDE else one for one in KINDS)
        raise RequestError(f"--take-up can be {shown}, not {words.take_up!r}")
    if run.laid.loop and (words.start or words.end):
        raise RequestError(f'"{run.name}" closes and has no ends: leave out --start and --end of the trim')
    bounds, hand = _ends(run), -run.course.side
    edge = stretch_of(run, bounds)
    away = [hand * (offset + share * trim.width) for share in (0.0, 0.5, 1.0)]
    near, middle, far = (line_inside(run, bounds, distance, Told()) for distance in away)
    line = _line(run, middle, edge, hand * (offset + 0.5 * trim.width))
    found = ways(line, trim, limits, words.move, hide)
    way = chosen(found, kind)
    lies = laid(line, trim, way)
    made = MadeTrim(
        trim,
        offset,
        line,
        found,
        way,
        lies,
        _bought(run, words, trim, way, lies),
        edge.length,
        near.measured.length,
        far.measured.length,
        tuple(parted(run, near)) + (tuple(parted(run, far)) if trim.width else ()),
        tuple(_marks(middle, trim, lies, -hand)),
        redrawn(run, middle, way),
    )
    return made, (*_left_over(run, made), *on_sheet(run, _bends(run, middle.measured, trim, limits)))


# ---------------------------------------------------------------- words


def _trim(words: TrimWords) -> Trim:
    if not words.repeat:
        raise RequestError("say how long the trim's repeat is: --repeat 32mm")
    motif = 0.5
    if words.motif:
        text = words.motif
        motif = parse_share(text, "--motif", "not-negative") if text.strip().endswith("%") else _number(text)
        if motif > 1.0:
            raise RequestError(f"--motif is a place in the repeat, 0 to 1 or 0% to 100%, not {text!r}")
    return Trim(
        parse_length(words.repeat, "--repeat", "positive"),
        _length(words.width, "--width", "not-negative", 0.0),
        motif,
        one_of(words.start, HOLDS, "--start"),
        one_of(words.end, HOLDS, "--end"),
    )


def _number(text: str) -> float:
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        number = math.nan
    if not 0.0 <= number <= 1.0:
        raise RequestError(f"--motif is a place in the repeat, 0 to 1 or 0% to 100%, not {text!r}")
    return number


def _length(text: str, option: str, sign: Sign, otherwise: float) -> float:
    return parse_length(text, option, sign) if text else otherwise


def _share(text: str, option: str, otherwise: float) -> float:
    return parse_share(text, option, "not-negative") if text else otherwise


# ---------------------------------------------------------------- lines


def _long(run: Run) -> float:
    return run.laid.line.measured.length


def _ends(run: Run) -> tuple[float, float]:
    """From where to where along the run the trim goes; a gap at an end is left bare."""
    if run.laid.loop:
        return 0.0, _long(run)
    return run.stops[0].gap, _long(run) - run.stops[-1].gap


def _line(run: Run, middle: Inside, edge: Measured, distance: float) -> Line:
    """The middle line with its joints, ends and corners by name."""
    parts, length = run.laid.parts, middle.measured.length
    seams = any(joint.kind == SEAM for joint in run.laid.joints)
    places = []
    for k, (joint, at) in enumerate(zip(run.laid.joints, middle.joints, strict=True)):
        pieces = parts[k].edge.piece.name, parts[(k + 1) % len(parts)].edge.piece.name
        seam = joint.kind == SEAM
        places.append(Place(joint.name, at, pieces if seam else (), seam, seam))
    if run.laid.loop and not places:
        places.append(Place(run.laid.line.start, length, hides=True))
    if not run.laid.loop:
        first, last = (fold is None for fold in run.laid.folds)
        start = Place(run.laid.line.start, 0.0, (parts[0].edge.piece.name,) * first, first and not seams, first)
        end = Place(run.laid.line.end, length, (parts[-1].edge.piece.name,) * last, last and not seams, last)
        places = [start, *places, end]
    begin, finish = _ends(run)
    corners = [c for c in run.laid.line.corners if begin <= c.s <= finish]
    turns = [Turn(c.name, middle.corner(edge, c.s - begin, distance), abs(c.turn)) for c in corners]
    return Line(length, run.laid.loop, tuple(places), tuple(sorted(turns, key=lambda turn: turn.at)))


def _marks(middle: Inside, trim: Trim, lies: Laid, outward: int) -> Iterator[tuple[int, Array]]:
    """A short mark at every repeat, from the trim's nearer line inwards; across the line where it has no width."""
    at = np.array(lies.marks)
    points, normals = middle.measured.points(at), outward * middle.measured.normals(at)
    high = 0.5 * trim.width if trim.width else 0.5 * _MARK
    low = max(high - _MARK, -high)
    parts = np.searchsorted(np.array(middle.joints), at - 1e-6, side="left")
    for part, point, normal in zip(parts.tolist(), points, normals, strict=True):
        yield part, cubics.lines([point + high * normal, point + low * normal])


# ---------------------------------------------------------------- to buy, to know


def _bought(run: Run, words: TrimWords, trim: Trim, way: Way, lies: Laid) -> Bought:
    """How much to buy; what folds double is opened, and turned or joined where it ends or closes."""
    sides = opened(run.laid)
    free = 0 if run.laid.loop else sum(fold is None for fold in run.laid.folds)
    closes = run.laid.loop or free == 0
    # Hidden in a seam on the way, the trim is cut there.
    cut = way.kind == HIDE and len(lies.stretches) > 1
    share = words.reserve.strip().endswith("%")
    return bought(
        sides * lies.used,
        trim.repeat,
        0 if closes else free * sides,
        int(closes) + sides * cut,
        _length(words.joins, "--joins", "not-negative", JOIN),
        _length(words.longest, "--longest", "positive", math.inf),
        run.copies // sides,
        (
            0.0 if share else _length(words.reserve, "--reserve", "not-negative", 0.0),
            parse_share(words.reserve, "--reserve", "not-negative") if share else 0.0,
        ),
    )


def _left_over(run: Run, made: MadeTrim) -> Iterator[Warn]:
    """A warning where the trim does not come out whole."""
    way, piece = made.way, run.laid.parts[-1].edge.piece.name
    if way.kind == NONE and abs(way.over) > NOTHING:
        others = [f"{other.kind} ({_told(other)})" for other in made.ways if other.possible and other.kind != NONE]
        text = f"the line is {-way.over:.2f} mm longer than {way.count:g} repeats of {made.trim.repeat:g} mm, so the "
        text += "motif does not end whole; --take-up can be " + ", ".join(others)
        yield Warn("repeat-left-over", text, piece)


def _bends(run: Run, m: Measured, trim: Trim, limits: Limits) -> Iterator[Warn]:
    """A warning for the worst place where the trim's edges come out too full or too tight on a curve."""
    if trim.width == 0.0:
        return
    for begin, end in _between_corners(m):
        curve = part_of(m, begin, end)
        for hand in (1, -1):
            share, at = ease(curve, 0.5 * trim.width, hand)
            full, tight = share > limits.ease + 1e-9, share < -limits.stretch - 1e-9
            if full or tight:
                x, y = m.points(np.array([begin + at]))[0]
                shown = f"{100.0 * abs(share):.1f}%" if math.isfinite(share) else "all of it"
                text = f"along this curve one edge of the trim comes out {shown} {'too full' if full else 'too tight'}"
                cure = ": take a narrower or a softer trim, or shape it with steam on a scrap first"
                yield Warn("trim-bends", text + cure, run.edge.piece.name, float(x), float(y))
                return


def _between_corners(m: Measured) -> Iterator[tuple[float, float]]:
    found = corners(m.curve, closed=False)
    at = m.lengths(np.array([c.node for c in found], dtype=np.intp), np.zeros(len(found))).tolist()
    bounds = [0.0, *at, m.length]
    yield from ((a, b) for a, b in pairwise(bounds) if b - a > 1e-3)


# ---------------------------------------------------------------- in the drawing and in the report


def trim_elements(pen: Pen, made: MadeTrim) -> Iterator[etree._Element]:
    """The lines between which the trim is laid, and a mark at every repeat, on every piece that is drawn."""
    for part, curve in (*made.lines, *made.marks):
        if pen.run.laid.parts[part].copy_of is None:
            drawn = motion.apply(motion.compose(pen.from_mm, to_sheet(pen.run.laid, part)), curve)
            yield pen.path("placement", path_text(drawn, pen.places), part)
    for one in made.redrawn:
        yield pen.line("placement", one.curve, one.piece)
        yield pen.text(("to be redrawn:", one.text), one.label, _LETTERS, one.piece)


def trim_entry(made: MadeTrim) -> dict[str, Any]:
    """What the report says of a trim; lengths in mm, along its middle unless they say otherwise."""
    trim, way = made.trim, made.way
    return {
        "repeat_mm": rounded(trim.repeat),
        "width_mm": rounded(trim.width),
        "offset_mm": rounded(made.offset),
        "motif": trim.motif,
        "edge_mm": rounded(made.edge),
        "near_mm": rounded(made.near),
        "length_mm": rounded(made.line.length),
        "far_mm": rounded(made.far),
        "taken_mm": rounded(taken(made.line, trim.width)),
        "count": way.count,
        "take_up": way.kind,
        "ways": [_way_entry(one) for one in made.ways],
        "redraw": [{"at": one.at or None, "piece": one.piece, "add_mm": rounded(one.add)} for one in made.redrawn],
        "marks_mm": [rounded(at) for at in made.laid.marks],
        "joints": [
            {
                "at": place.name,
                "s_mm": rounded(place.at),
                "phase_mm": rounded(place.phase),
                "phase": round(place.share, 9),
                "from_motif_mm": rounded(place.from_motif),
                "apart_mm": rounded(place.apart),
            }
            for place in made.laid.places
        ],
        "corners": [
            {
                "at": turn.name,
                "s_mm": rounded(turn.at),
                "turn_deg": round(math.degrees(turn.angle), 9),
                "mitre_mm": rounded(mitre_takes(trim.width, turn.angle)),
            }
            for turn in made.line.turns
        ],
        "buy": {
            "used_mm": rounded(made.bought.used),
            "ends": made.bought.ends,
            "joins": made.bought.joins,
            "allowed_mm": rounded(made.bought.allowed),
            "reserve_mm": rounded(made.bought.reserve),
            "pieces": made.bought.pieces,
            "total_mm": rounded(made.bought.total),
            "repeats": made.bought.repeats,
        },
    }


def _way_entry(way: Way) -> dict[str, Any]:
    return {
        "kind": way.kind,
        "possible": way.possible,
        "why": way.why,
        "count": way.count,
        "over_mm": rounded(way.over),
        "share": round(way.share, 9),
        "moves": [{"at": move.at, "piece": move.piece, "add_mm": rounded(move.add)} for move in way.moves],
        "hidden_mm": rounded(way.hidden),
        "at": list(way.at),
    }


def trim_lines(made: MadeTrim, terminal: bool) -> list[str]:
    """The trim as lines and tables: what is done, what else could be, how the motif lies, and what to buy."""
    trim, way, buy = made.trim, made.way, made.bought
    line = f"trim: {way.count:g} repeats of {trim.repeat:g} mm on {made.line.length:.2f} mm along its middle"
    if abs(made.edge - made.line.length) >= 0.005:
        line += f" ({made.edge:.2f} mm along the edge)"
    rows = [
        (one.kind + (" (taken)" if one is way else ""), f"{one.count:g}", f"{_plus(one.over)}", _told(one))
        for one in made.ways
    ]
    placed = [
        (p.name, f"{p.at:.2f}", f"{p.phase:.2f}", f"{p.share:.3f}", _plus(p.from_motif), f"{p.apart:.2f}")
        for p in made.laid.places
    ]
    ends, joins = counted(buy.ends, "turned end"), counted(buy.joins, "join")
    kept = f"{buy.allowed:g} mm for {ends} and {joins}, {buy.reserve:.0f} mm reserve"
    return [
        f"{line}: {_told(way)}",
        *_to_redraw(made),
        table(("take up by", "repeats", "longer mm", "that is"), rows, terminal=terminal),
        table(
            ("at", "along mm", "into repeat mm", "of it", "from motif mm", "out of step mm"), placed, terminal=terminal
        ),
        f"buy {buy.total:.0f} mm, {buy.repeats} repeats: {buy.used:.1f} mm used, {kept}"
        + (f"; in {buy.pieces} pieces" if buy.pieces > 1 else ""),
    ]


def _to_redraw(made: MadeTrim) -> list[str]:
    """What the maker does to the pattern, which stays as it is."""
    if not made.redrawn:
        return []
    places = ", ".join(f"{one.text} at {one.at or 'the edge'} of {one.piece}" for one in made.redrawn)
    return [f"the pattern stays as it is: redraw it along the placement lines ({places}), then run `refit`"]


def _told(way: Way) -> str:
    """A way in words."""
    if not way.possible:
        return f"not possible: {way.why}"
    if abs(way.over) <= NOTHING:
        return "comes out even"
    more = way.over > 0.0
    if way.kind == SEAMS:
        return ", ".join(
            f"{'let out' if move.add > 0.0 else 'take in'} {abs(move.add):.2f} mm at {move.at} ({move.piece})"
            for move in way.moves
        )
    texts = {
        EASE: f"eased on by {100.0 * way.share:.2f}%",
        STRETCH: f"stretched by {-100.0 * way.share:.2f}%",
        EDGE: f"edge to be {abs(way.over):.2f} mm {'longer' if more else 'shorter'}",
        HIDE: f"{way.hidden:.2f} mm of a repeat hidden at {', '.join(way.at)}",
        MITRE: f"{way.hidden / max(len(way.at), 1):.2f} mm more folded away in each of {len(way.at)} mitres",
        NONE: f"{-way.over:.2f} mm without a whole repeat",
    }
    return texts[way.kind]


def _plus(length: float) -> str:
    return f"{length:+.2f}" if abs(length) >= 0.005 else "0.00"
