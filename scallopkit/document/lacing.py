"""Lacing of a run: a cord through its eyelets, drawn as worn beside the pattern, with the underlay behind it.

What is drawn as worn is a picture, not a piece: its edges and holes have the role `placement`, so that nobody cuts
them. The underlay is a piece, cut and sewn along lines of these roles, in a group of the role `facing`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from lxml import etree

from ..construction.as_worn import Row, facing_rows, overlap
from ..construction.cautions import cautions
from ..construction.cord_seen import ends, strokes
from ..construction.lacing import (
    BOW,
    CROSSED,
    ONE_ROW,
    PATHS,
    RUNNING,
    SPIRAL,
    TAIL,
    TWO_ROWS,
    TYING,
    UNDER,
    Cord,
    cords_of,
)
from ..construction.laid_trim import Told
from ..errors import NameUnknownError, NoFitError, RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..pattern.piece import Warn
from ..trim.eyelets import EyeletSize
from ..trim.fastenings import EYELET
from .drawing import Drawing
from .ink import Ink
from .inside_lines import line_inside, parted
from .kept import kept_pieces
from .lettering import one_line, text_extent, wrapped
from .recipe import MIRROR, EdgeWords, LacingWords, Recipe
from .runs import Run, make_run
from .sheet import placed_on_sheet, to_sheet
from .styles import LEADING, style_of
from .units import parse_length
from .wishes import allowances_of, one_of, whole_number

# Common practice, no source: how far edges stand apart, all layers of cloth at an eyelet, how far an underlay reaches
# under either side, and what is left between a flange and the stitching of a channel; mm.
_GAP, _THICKNESS, _UNDERLAY, _CLEAR = 20.0, 2.0, 25.0, 2.0
# The allowance of an underlay where neither it nor its piece's is told, mm; common practice, no source.
_ALLOWANCE = 10.0
# Pairs that stand less apart in height, mm, look level; common practice, no source.
_LEVEL = 1.0
# Edges that overlap by less, mm, touch.
_TOUCHING = 1e-6
# Room round the picture, mm.
_ROOM = 8.0
# Letters, mm, and the least breadth of a text below a picture.
_SIZE, _BREADTH = 3.0, 150.0
_PLACES = 6


@dataclass(frozen=True)
class Underlay:
    """A strip of cloth behind the opening.

    Attributes:
        name: what it is called.
        width, length: of what shows inside its stitching lines, mm.
        allowance: beyond them all round, mm.
        number: how many are cut.
    """

    name: str
    width: float
    length: float
    allowance: float
    number: int

    @property
    def cut(self) -> tuple[float, float]:
        """How wide and how long it is cut, mm."""
        return self.width + 2.0 * self.allowance, self.length + 2.0 * self.allowance


@dataclass(frozen=True, eq=False)
class MadeLacing:
    """A lacing as it is drawn and told.

    Attributes:
        name: "closing laced".
        path: one of PATHS.
        partner: the other row's run, MIRROR, or nothing for a single row.
        rows: the rows as worn, or the single one as it lies flat.
        openings: the opening of each hole's eyelet, row by row, mm.
        cords: the cords, from the lowest pair up.
        gap: how far the edges stand apart; None for a single row.
        tying, tail: what of each end tying takes, and what hangs, mm.
        ends: how the ends are tied.
        copies: how many openings there are to be laced so.
        underlay: what lies behind.
        channels: for each line of a bone's channel its piece, and the line on the sheet in mm.
        text: what is written below the picture.
    """

    name: str
    path: str
    partner: str
    rows: tuple[Row, ...]
    openings: tuple[Array, ...]
    cords: tuple[Cord, ...]
    gap: float | None
    tying: float
    tail: float
    ends: str
    copies: int
    underlay: Underlay | None
    channels: tuple[tuple[str, Array], ...]
    text: tuple[str, ...]

    @property
    def total(self) -> float:
        """How much cord all openings take, mm."""
        return self.copies * sum(cord.cut for cord in self.cords)

    @property
    def beside(self) -> list[tuple[str, Array, Array]]:
        """What it lays beside the pattern: names, and the corners (2,) of boxes in mm."""
        low, high = _picture_box(self)
        out = [(self.name, low, high)]
        if self.underlay is not None:
            out.append((self.underlay.name, np.zeros(2), np.array(self.underlay.cut)))
        return out


@dataclass(frozen=True)
class _Wish:
    """What was asked for, in mm."""

    path: str
    partner: str
    gap: float
    thickness: float
    cord: float
    ends: str
    tail: float
    cords: int
    underlay: float
    allowance: float | None
    channel: float | None


def laced(drawing: Drawing, run: Run, words: LacingWords, known: Mapping[str, Recipe]) -> Run:
    """A run with a cord through its eyelets.

    Args:
        drawing: the drawing.
        run: the run, with its eyelets.
        words: what was asked for.
        known: the recipes of other runs by their names, for the second row.

    Raises:
        RequestError, NoFitError, NameUnknownError: a word can't be read, or the rows can't be laced so.
    """
    wish = _wish(words)
    others = [_partner(drawing, run, wish.partner, known)] if wish.partner not in ("", MIRROR) else []
    for one in (run, *others):
        _refuse_unfit(one, wish)
    row = _upward(run)
    rows = (row,) if wish.path in ONE_ROW else facing_rows(row, _row(others[0]) if others else None, wish.gap)
    cords = cords_of(wish.path, rows, wish.cords, wish.thickness + wish.cord, TYING[wish.ends] + wish.tail)
    made = MadeLacing(
        f"{one_line(run.name)} laced",
        wish.path,
        wish.partner,
        rows,
        _openings(run, others, rows),
        cords,
        wish.gap if wish.path in TWO_ROWS else None,
        TYING[wish.ends],
        wish.tail,
        wish.ends,
        _copies(run, wish.partner),
        _underlay(run, rows, wish, _allowance_of(drawing, run) if wish.allowance is None else wish.allowance),
        tuple(line for one in (run, *others) for line in _channels(one, wish)),
        (),
    )
    told = cautions(eyelets=True, cord=True, wearer=run.recipe.wearer)
    made = replace(made, text=_text(made, told))
    return replace(run, lacing=made, warnings=(*run.warnings, *_warnings(run, made)), cautions=told)


# ---------------------------------------------------------------- words


def _wish(words: LacingWords) -> _Wish:
    path = one_of(words.path, PATHS if words.with_row else (RUNNING, *PATHS), "--path")
    if path in TWO_ROWS and not words.with_row:
        raise RequestError(
            f"{path} lacing takes two rows: name the other one with --with ROW, or --with {MIRROR} where the piece is "
            f"cut twice; a single row is laced with --path {' or '.join(ONE_ROW)}"
        )
    of_two = ("--with", words.with_row), ("--gap", words.gap), ("--underlay", words.underlay)
    for option, text in (*of_two, ("--underlay-allowance", words.underlay_allowance)):
        if path in ONE_ROW and text:
            raise RequestError(f"{option} goes with two rows, and {path} takes one: leave it out, or --path {CROSSED}")
    return _Wish(
        path,
        words.with_row,
        _length(words.gap, "--gap", _GAP),
        _length(words.thickness, "--thickness", _THICKNESS),
        _length(words.cord, "--cord", 0.0),
        one_of(words.ends, tuple(TYING), "--ends"),
        _length(words.tails, "--tails", TAIL),
        whole_number(words.cords, "--cords") or 1,
        _length(words.underlay, "--underlay", _UNDERLAY) if path in TWO_ROWS else 0.0,
        parse_length(words.underlay_allowance, "--underlay-allowance", "not-negative")
        if words.underlay_allowance
        else None,
        parse_length(words.channel, "--channel", "positive") if words.channel else None,
    )


def _length(text: str, option: str, usual: float) -> float:
    return parse_length(text, option, "not-negative") if text else usual


def _partner(drawing: Drawing, run: Run, name: str, known: Mapping[str, Recipe]) -> Run:
    """The run of the second row, without a lacing of its own."""
    if name == run.name:
        raise RequestError(f'"{name}" can\'t be laced with itself: take --with {MIRROR} where its piece is cut twice')
    others = {other: recipe for other, recipe in known.items() if other != run.name and recipe.eyelets}
    if name not in others:
        there = ", ".join(f'"{other}"' for other in others) or "none"
        raise NameUnknownError(
            f'there is no run with eyelets called "{name}" for --with, or it comes later in the job; there are '
            f"{there}, or take {MIRROR} where the piece is cut twice"
        )
    rest = {other: recipe for other, recipe in known.items() if other != name}
    return make_run(drawing, replace(others[name], name=name, lacing=None), rest)


def _refuse_unfit(run: Run, wish: _Wish) -> None:
    """Refuses a run that has no row to lace, or holes that the cord does not go through."""
    if not run.eyelets:
        raise RequestError(
            f'the run "{run.name}" has no eyelets to lace: set them first with `scallopkit eyelets`, or [[run.eyelet]]'
        )
    if any(fold is not None for fold in run.laid.folds):
        raise RequestError(
            f'the row of "{run.name}" ends on a fold, beyond which it goes on once opened: make the run over both '
            "halves, with the fold as a join, and set the eyelets there"
        )
    if run.course.loop and wish.path in TWO_ROWS:
        raise RequestError(
            f'"{run.name}" goes all round and has no two ends: lace it with --path {" or ".join(ONE_ROW)}, or set the '
            "eyelets along a stretch of it"
        )
    others = [placed.size.part for placed in run.eyelets if placed.size.part != EYELET]
    if others:
        raise RequestError(
            f'the run "{run.name}" holds {others[0]}s, which no cord goes through: lace a row of eyelets'
        )
    opening = _opening(run)
    if wish.cord > opening:
        raise NoFitError(
            f'a cord of {wish.cord:g} mm does not go through eyelets of "{run.name}" that are {opening:g} mm wide: '
            f"give a --cord of {opening:g} mm or less, or eyelets of {wish.cord:g} mm"
        )


# ---------------------------------------------------------------- rows


def _row(run: Run) -> Row:
    """The run's eyelets in order, in its flat frame, with what each is inside of: the edge, or its scallop's crest."""
    s, holes, feet = _holes(run)
    order = np.argsort(s, kind="stable")
    line = run.course.measured.curve
    if run.scallops is not None:
        between = [link for link in run.line.links if link is not None and len(link)]
        line = np.concatenate([*run.line.curves, *between])
    ends = run.course.measured.points(np.array([0.0, run.course.measured.length]))
    return Row(run.name, holes[order], feet[order], line, run.course.side, ends)


def _holes(run: Run) -> tuple[Array, Array, Array]:
    """Of all eyelets of a run their lengths along the course, middles, and places on the edge."""
    s = np.concatenate([placed.s for placed in run.eyelets])
    holes = np.concatenate([placed.points for placed in run.eyelets])
    feet = run.course.measured.points(s)
    if run.scallops is not None:
        feet = run.scallops.crest[np.concatenate([placed.scallop for placed in run.eyelets]) - 1]
    return s, holes, feet


def _upward(run: Run) -> Row:
    """The row, from the end that lies lower on the sheet where it belongs to an opening."""
    row = _row(run)
    _, sheet = placed_on_sheet(
        run, row.holes[[0, -1]], np.sort(np.concatenate([one.s for one in run.eyelets]))[[0, -1]]
    )
    return row if sheet[0, 1] >= sheet[1, 1] else row.walked_back


def _openings(run: Run, others: Sequence[Run], rows: Sequence[Row]) -> tuple[Array, ...]:
    """The opening of the eyelets of each row; the smallest of a run stands for all of it."""
    runs = [run, *(others or [run])][: len(rows)]
    return tuple(np.full(len(row), _opening(one)) for one, row in zip(runs, rows, strict=True))


def _opening(run: Run) -> float:
    """The smallest opening of a run's eyelets, mm."""
    return min(placed.size.opening for placed in run.eyelets if isinstance(placed.size, EyeletSize))


def _copies(run: Run, partner: str) -> int:
    """How many openings, or rows, there are: a row and its mirror image make one together."""
    return max(1, run.copies // 2) if partner == MIRROR else run.copies


def _allowance_of(drawing: Drawing, run: Run) -> float:
    """The seam allowance of the run's piece, as far as the run or its cutting line tells it, mm."""
    first, cut = run.recipe.stretches[0], kept_pieces(drawing.source).get(run.edge.piece.name)
    own = first.allowance or run.recipe.edge.allowance
    if own:
        return allowances_of(EdgeWords(allowance=own))[0]
    return _length(cut.words.allowance if cut is not None else "", "--allowance", _ALLOWANCE)


def _underlay(run: Run, rows: Sequence[Row], wish: _Wish, allowance: float) -> Underlay | None:
    """A strip as long as the opening, that reaches so far under both edges at any height."""
    if wish.underlay == 0.0:
        return None
    boxes = np.array([cubics.bounds(row.line) for row in rows])
    # Of each edge the place farthest from the centre line; its cloth lies on the hand that is not outside.
    away = [float(box[1, 0] if row.hand > 0 else -box[0, 0]) for row, box in zip(rows, boxes, strict=True)]
    length = float(boxes[:, 1, 1].max() - boxes[:, 0, 1].min())
    name = f"{one_line(run.name)} underlay"
    return Underlay(name, sum(away) + 2.0 * wish.underlay, length, allowance, _copies(run, wish.partner))


def _channels(run: Run, wish: _Wish) -> Iterator[tuple[str, Array]]:
    """The two lines of a channel, farther from the edge than all flanges; each piece has its stretch of them."""
    if wish.channel is None:
        return
    s, holes, _ = _holes(run)
    m, side = run.course.measured, run.course.side
    inside = -side * cubics.dot(holes - m.points(s), m.normals(s))
    reach = max(0.5 * placed.size.flange for placed in run.eyelets) + _CLEAR + float(inside.max())
    told = Told(f'the channel along "{run.name}"', "give a narrower --channel, or leave it out")
    for distance in (reach, reach + wish.channel):
        line = line_inside(run, (0.0, run.laid.line.measured.length), -side * distance, told)
        for part, curve in parted(run, line):
            if run.laid.parts[part].copy_of is None:
                yield run.laid.parts[part].edge.piece.name, motion.apply(to_sheet(run.laid, part), curve)


# ---------------------------------------------------------------- warnings


def _warnings(run: Run, made: MadeLacing) -> Iterator[Warn]:
    piece = run.laid.parts[0].edge.piece.name
    if len(made.rows) == 2 and made.path != SPIRAL:
        apart = np.abs(made.rows[0].heights - made.rows[1].heights)
        worst = int(apart.argmax())
        if apart[worst] > _LEVEL:
            text = f"pair {worst + 1} of {len(apart)} stands {apart[worst]:.1f} mm uneven as worn"
            yield Warn("pairs-not-level", f"{text}: set both rows at the same distances from their ends", piece)
    over = overlap(*made.rows) if len(made.rows) == 2 else 0.0
    if over > _TOUCHING:
        text = f"the edges bulge {over:.1f} mm over the centre line between their ends as worn"
        yield Warn("edges-overlap", f"{text}: take a --gap {2.0 * over:.1f} mm wider, or straighten them", piece)
    odd = [cord for cord in made.cords if made.path == RUNNING and len(cord.holes) % 2]
    if odd:
        n = len(odd[0].holes)
        text = f"through {n} holes one end of the cord comes out over the cloth and the other under it"
        yield Warn("ends-apart", f"{text}: {n - 1} or {n + 1} bring both out on one side", piece)


# ---------------------------------------------------------------- telling


def lacing_lines(made: MadeLacing) -> list[str]:
    """A lacing, for people."""
    out = [f"laced {_how(made)}", *_cord_lines(made)]
    if made.underlay is not None:
        out.append(", ".join(_underlay_texts(made.underlay)))
    return out


def _how(made: MadeLacing) -> str:
    holes = " and ".join(str(len(row)) for row in made.rows)
    partner = f" with {made.partner}" if made.partner else ""
    apart = f", edges {made.gap:g} mm apart" if made.gap is not None else ""
    return f"{made.path}{partner}: {holes} holes, {sum(len(cord.legs) for cord in made.cords)} runs{apart}"


def _cord_lines(made: MadeLacing) -> list[str]:
    """How much is cut of each cord, those of one length together."""
    out = []
    lengths: dict[float, list[Cord]] = {}
    for cord in made.cords:
        lengths.setdefault(round(cord.cut, 3), []).append(cord)
    for alike in lengths.values():
        number, cord = len(alike) * made.copies, alike[0]
        tied = f", {made.tying:g} mm of it for the {made.ends}" if made.tying else ""
        assumed = " (common practice)" if made.ends != BOW and made.tying else ""
        out.append(
            f"cut {number} {'cord' if number == 1 else 'cords'} of {cord.cut:.0f} mm: {cord.length:.0f} mm laced and "
            f"two ends of {cord.end:g} mm{tied}{assumed}"
        )
    return out


def _underlay_texts(underlay: Underlay) -> tuple[str, str, str]:
    """How many underlays are cut and how large, in short texts."""
    width, length = underlay.cut
    allowed = f"with {underlay.allowance:g} mm allowance" if underlay.allowance else "without allowance"
    return f"{underlay.name}: cut {underlay.number}", f"{width:.1f} by {length:.1f} mm", allowed


def lacing_entry(drawing: Drawing, made: MadeLacing, shifts: Sequence[Array]) -> dict[str, Any]:
    """A lacing for the report; x and y are where its underlay's first corner lies, in root user units."""
    underlay = None
    if made.underlay is not None:
        x, y = motion.apply(motion.inverse(drawing.to_mm), shifts[1]).tolist()
        underlay = {
            "name": made.underlay.name,
            "width_mm": round(made.underlay.width, _PLACES),
            "length_mm": round(made.underlay.length, _PLACES),
            "allowance_mm": round(made.underlay.allowance, _PLACES),
            "cut_width_mm": round(made.underlay.cut[0], _PLACES),
            "cut_length_mm": round(made.underlay.cut[1], _PLACES),
            "count": made.underlay.number,
            "x": round(x, _PLACES),
            "y": round(y, _PLACES),
        }
    return {
        "path": made.path,
        "with": made.partner or None,
        "holes": [len(row) for row in made.rows],
        "runs": sum(len(cord.legs) for cord in made.cords),
        "length_mm": round(sum(cord.length for cord in made.cords), _PLACES),
        "cut_mm": round(sum(cord.cut for cord in made.cords), _PLACES),
        "cords": [_cord_entry(cord) for cord in made.cords],
        "copies": made.copies,
        "gap_mm": None if made.gap is None else round(made.gap, _PLACES),
        "ends": made.ends,
        "underlay": underlay,
    }


def _cord_entry(cord: Cord) -> dict[str, Any]:
    return {
        "holes": [[hole.row + 1, hole.number + 1] for hole in cord.holes],
        "runs_mm": [round(float(length), _PLACES) for length in cord.lengths],
        "passes": cord.passes,
        "pass_mm": round(cord.thickness, _PLACES),
        "end_mm": round(cord.end, _PLACES),
        "length_mm": round(cord.length, _PLACES),
        "cut_mm": round(cord.cut, _PLACES),
    }


# ---------------------------------------------------------------- drawing


def _text(made: MadeLacing, told: Sequence[str]) -> tuple[str, ...]:
    paragraphs = [
        f"{made.name}, {'as worn' if len(made.rows) == 2 else 'as it lies flat'}: {_how(made)}",
        *_cord_lines(made),
        "solid: over the cloth, and across the gap; dashed: under the cloth",
        *(f"caution: {one}" for one in told),
    ]
    low, high = _lines_box(made)
    room = max(_BREADTH, float(high[0] - low[0]))
    return tuple(line for text in paragraphs for line in wrapped(text, room, _SIZE))


def _lines_box(made: MadeLacing) -> Array:
    """The box of the picture without its text."""
    boxes = [cubics.bounds(row.line) for row in made.rows]
    tips = [np.stack([line.min(axis=0), line.max(axis=0)]) for cord in made.cords for line, _ in ends(cord, made.rows)]
    flanges = [np.stack([row.holes.min(axis=0) - _ROOM, row.holes.max(axis=0) + _ROOM]) for row in made.rows]
    every = np.array([*boxes, *tips, *flanges])
    return np.stack([every[:, 0].min(axis=0) - _ROOM, every[:, 1].max(axis=0) + _ROOM])


def _picture_box(made: MadeLacing) -> Array:
    """The box of the picture with its text below it."""
    low, high = _lines_box(made)
    width, height = text_extent(made.text, _SIZE)
    half = max(0.5 * float(high[0] - low[0]), 0.5 * width + _ROOM)
    middle = 0.5 * float(low[0] + high[0])
    return np.array([[middle - half, low[1]], [middle + half, high[1] + height + _ROOM]])


def lacing_groups(
    pen: Ink, made: MadeLacing, shifts: Sequence[Array]
) -> Iterator[tuple[str, list[etree._Element], str]]:
    """The picture as worn, and the underlay, moved to their free places: names, elements, and roles of the whole."""
    yield made.name, _picture(pen, made, shifts[0]), ""
    if made.underlay is not None:
        yield made.underlay.name, _underlay_elements(pen, made.underlay, shifts[1]), "facing"


def _picture(pen: Ink, made: MadeLacing, shift: Array) -> list[etree._Element]:
    low, high = _picture_box(made)
    frame = cubics.lines([low, (high[0], low[1]), high, (low[0], high[1]), low])
    # The frame makes the picture one of those things that others are not laid on, its text included.
    out = [pen.line("cord", frame + shift, made.name, closed=True)]
    out[0].set("style", style_of("placement", pen.unit_mm))
    for row, openings in zip(made.rows, made.openings, strict=True):
        out.append(pen.line("placement", row.line + shift, made.name))
        rings = zip(row.holes, openings.tolist(), strict=True)
        out += [pen.ring("placement", hole + shift, 0.5 * opening, made.name) for hole, opening in rings]
    for cord in made.cords:
        first, last = ends(cord, made.rows)
        seen = [first, *(part for leg in cord.legs for part in strokes(leg, made.rows)), last]
        out += [_strand(pen, made.name, cubics.lines(line + shift), face) for line, face in seen]
    foot = np.array([0.5 * (low[0] + high[0]), _lines_box(made)[1, 1] + 0.85 * LEADING * _SIZE])
    out.append(pen.text(made.text, foot + shift, _SIZE, made.name))
    return out


def _strand(pen: Ink, name: str, line: Array, face: str) -> etree._Element:
    element = pen.line("cord", line, name)
    element.set("data-face", face)
    if face == UNDER:
        element.set("style", style_of("cord-under", pen.unit_mm))
    return element


def _underlay_elements(pen: Ink, underlay: Underlay, shift: Array) -> list[etree._Element]:
    width, length = underlay.cut
    grain = cubics.lines([(0.25 * width, 0.2 * length), (0.25 * width, 0.8 * length)])
    lines = [line for text in _underlay_texts(underlay) for line in wrapped(text, 0.6 * width, _SIZE)]
    foot = np.array([0.6 * width, 0.4 * length])
    out = [pen.line("cutting", _rectangle(width, length, 0.0) + shift, underlay.name, closed=True)]
    if underlay.allowance:
        line = _rectangle(width, length, underlay.allowance) + shift
        out.append(pen.sewn(line, underlay.name, "underlay", closed=True))
    return [
        *out,
        pen.line("grain", grain + shift, underlay.name),
        pen.text(lines, foot + shift, _SIZE, underlay.name),
    ]


def _rectangle(width: float, length: float, inset: float) -> Array:
    left, top, right, bottom = inset, inset, width - inset, length - inset
    return cubics.lines([(left, top), (right, top), (right, bottom), (left, bottom), (left, top)])
