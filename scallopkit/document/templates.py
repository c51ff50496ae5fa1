"""Template cards of a run, drawn beside the pattern: their outlines, what is marked on them and what is written."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from lxml import etree

from ..construction.template import Template, templates
from ..errors import RequestError, counted
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.motion import apply, inverse
from ..pattern.piece import Warn
from ..trim.profiles import arc_radius
from ..trim.row import WHOLE
from ..trim.scallops import Scallops
from ..trim.shape import Shape
from .drawing import Drawing
from .ink import Ink
from .inside import SIZES
from .lettering import one_line, text_extent
from .numbers import decimals, path_text
from .recipe import ScallopWords, TemplateWords
from .runs import Run
from .sheet import on_sheet
from .styles import LEADING
from .units import parse_length
from .wishes import MOTIF, whole_number

# How far a card reaches below its base line unless told otherwise, mm: room for three fingers; common practice, no
# source.
_BODY = 30.0
# More cards are hard to keep apart; still more are no help to anybody.
_MANY, _MOST = 12, 60
_TICK = 3.0
# So much longer, mm, a card may become for letters that are easier to read.
_LONGER = 10.0
# What is left free round the writing: mm, and at most so much of the card's breadth on either side.
_FREE, _SHARE_FREE = 1.0, 0.1
# Longer lists of scallops are cut short on a card.
_LONGEST = 48
# A radius is written so finely that the crest of a nearly half circle does not move with its last decimal.
_RADIUS_PLACES = 5
_PLACES = 6
_NOTHING = 1e-6


@dataclass(frozen=True, eq=False)
class Writing:
    """What is written on a card.

    Attributes:
        lines: the text.
        size: of its letters, mm.
        turned: whether it is read from the card's left, top to bottom.
        box: the room that it takes at the most, [[x, y], [x, y]] in the card's frame.
    """

    lines: tuple[str, ...]
    size: float
    turned: bool
    box: Array

    @property
    def at(self) -> Array:
        """The middle of the first line's foot."""
        (left, top), (right, bottom) = self.box
        down = 0.85 * LEADING * self.size
        return np.array([right - down, 0.5 * (top + bottom)] if self.turned else [0.5 * (left + right), top + down])


@dataclass(frozen=True, eq=False)
class MadeTemplate:
    """A template card as it is drawn.

    Attributes:
        name: "hem card 1".
        template: the card; its body is long enough for what is written on it.
        low, high: its box (2,) in mm in the card's own frame, writing included.
        radius: of its circular arcs; None where the profile is none.
        writing: what is written on it.
    """

    name: str
    template: Template
    low: Array
    high: Array
    radius: float | None
    writing: Writing


def templates_of(run: Run, words: TemplateWords) -> tuple[tuple[MadeTemplate, ...], tuple[Warn, ...]]:
    """The cards that trace a run's scallops, and what the maker should know of them; places are on the sheet.

    Args:
        run: the run.
        words: what was asked for; nothing means single scallops on cards that reach 30 mm below their base lines. A
            card whose writing needs more room reaches farther.

    Raises:
        RequestError: the run has no scallops or too many sizes of them, a word can't be read, or no card can be cut.
    """
    if run.scallops is None or run.recipe.scallop is None:
        raise RequestError(
            f'the run "{run.name}" has no scallops to make template cards of: name a run of scallops, or leave the '
            "cards out"
        )
    asked = whole_number(words.strip, "--template") or 1
    body = parse_length(words.body, "--template-body", "positive") if words.body else _BODY
    space = _space(run.recipe.scallop)
    cards = templates(run.scallops, space, asked, body)
    if len(cards) > _MOST:
        raise RequestError(
            f'the scallops of "{run.name}" have {len(cards)} sizes, and template cards are made of {_MOST} at the '
            "most: trace them from the drawing, or take equal scallops (without --weights)"
        )
    made = tuple(_made(run.name, run.recipe.scallop, run.scallops, k, card) for k, card in enumerate(cards, 1))
    told = [
        *_many(made),
        *_short(run.scallops, made, asked),
        *_bent(run.scallops, made, space, body),
        *_narrow(made),
    ]
    return made, on_sheet(run, [_warning(run.scallops, run.edge.piece.name, *one) for one in told])


def template_elements(pen: Ink, made: MadeTemplate, shift: Array) -> list[etree._Element]:
    """A card moved by `shift` mm: its outline, base line, ticks at the valleys, centre lines, and its writing.

    Each of them is one element; they name the card as their piece.
    """
    card = made.template
    marks = (card.base, _ticks(card), card.centres)
    drawn = [_outline_text(pen, made, shift), *(_strokes_text(pen, strokes + shift) for strokes in marks)]
    writing = pen.text(made.writing.lines, made.writing.at + shift, made.writing.size, made.name)
    if made.writing.turned:
        x, y = decimals(apply(pen.from_mm, made.writing.at + shift), pen.places)
        writing.set("transform", f"rotate(90 {x} {y})")
    return [*(pen.drawn("template", d, made.name) for d in drawn if d), writing]


def template_entries(drawing: Drawing, made: MadeTemplate, shift: Array) -> dict[str, Any]:
    """A card moved by `shift` mm, for the report; x and y are those of its first valley in root user units."""
    card = made.template
    x, y = apply(inverse(drawing.to_mm), card.valleys[0] + shift).tolist()
    return {
        "name": made.name,
        "width_mm": round(card.width, _PLACES),
        "depth_mm": round(card.depth, _PLACES),
        "count": card.count,
        "scallops": list(card.scallops),
        "x": round(x, _PLACES),
        "y": round(y, _PLACES),
    }


def template_lines(made: MadeTemplate) -> list[str]:
    """A card, for people."""
    card = made.template
    across, down = (made.high - made.low).tolist()
    title = "; ".join(_shortened(line) for line in card.title)
    off = f"; up to {card.off:.2f} mm off its edge" if card.off >= 0.005 else ""
    return [f"{made.name}: {title}{off}; a card of {across:.1f} by {down:.1f} mm"]


def _space(words: ScallopWords) -> float:
    return parse_length(words.space, "--space", "not-negative") if words.space else 0.0


# ---------------------------------------------------------------- cards


def _made(run: str, words: ScallopWords, placed: Scallops, number: int, card: Template) -> MadeTemplate:
    arc = not math.isnan(placed.radius[card.scallops[0] - 1])
    radius = arc_radius(card.width, card.depth) if arc else None
    name = f"{one_line(run)} card {number}"
    paragraphs = [name, *(_shortened(line) for line in card.title), _profile(words, placed.shape, radius)]
    top = max(float(card.centres[:, 1, 1].max()), _tick(card), _lowest(card)) + _FREE
    length, below = _length(card), _below(card)
    free = min(_FREE, _SHARE_FREE * length)
    writing = _written(paragraphs, (free, top), length - 2.0 * free, below - _FREE - top)
    card = replace(card, outline=_reaching(card, max(below, float(writing.box[1, 1]) + _FREE)))
    low, high = cubics.bounds(card.outline)
    return MadeTemplate(name, card, low, high, radius, writing)


def _profile(words: ScallopWords, shape: Shape, radius: float | None) -> str:
    profile = words.profile or "arc"
    if shape.own is None:
        return f"profile {profile}" + (f", radius {radius:.2f} mm" if radius is not None else "")
    # Turned over, a card of unlike halves is the card of the mirror image.
    up = "" if shape.own.symmetric else ", this side up"
    return f"motif {one_line(profile.removeprefix(MOTIF))}{up}"


def _length(card: Template) -> float:
    """How broad the card is below its base line."""
    return float(card.outline[-3, 0, 0])


def _below(card: Template) -> float:
    """How far the card reaches below its base line."""
    return float(card.outline[-3, 3, 1])


def _reaching(card: Template, below: float) -> Array:
    """The outline of the card with a longer or shorter body: its last three sides are the straight ones."""
    length = _length(card)
    body = cubics.lines([(length, 0.0), (length, below), (0.0, below), (0.0, 0.0)])
    return np.concatenate([card.outline[:-3], body])


def _lowest(card: Template) -> float:
    """How far the scalloped line dips under the base line."""
    return float(cubics.bounds(card.outline[:-3])[1, 1])


def _tick(card: Template) -> float:
    """How far its ticks reach below its base line."""
    return min(_TICK, 0.25 * card.width)


def _ticks(card: Template) -> Array:
    """A stroke (k, 2, 2) from each valley into the card; those at its sides lean inward, to be seen."""
    lean = np.zeros(len(card.valleys))
    if _lowest(card) <= _NOTHING:
        lean[[0, -1]] = 1.0, -1.0
    way = np.stack([lean, np.ones_like(lean)], axis=1)
    return np.stack([card.valleys, card.valleys + _tick(card) * way], axis=1)


# ---------------------------------------------------------------- drawing


def _outline_text(pen: Ink, made: MadeTemplate, shift: Array) -> str:
    """The `d` of a card's outline in user units; circular arcs are arcs, two to a scallop that meet in its crest."""
    card = made.template
    if made.radius is None:
        return path_text(pen.in_units(card.outline + shift), pen.places, closed=True)
    (radius,) = decimals(np.array([made.radius / pen.unit_mm]), pen.places + _RADIUS_PLACES)
    sweep = 1 if float(np.linalg.det(pen.from_mm[:, :2])) > 0.0 else 0
    arc = f"A {radius} {radius} 0 0 {sweep} "
    words = [f"M {_point(pen, card.valleys[0] + shift)}"]
    # Where they stand apart, every other valley is where a space ends.
    apart = len(card.valleys) > card.count + 1
    ends = card.valleys[1::2] if apart else card.valleys[1:]
    for k in range(card.count):
        words += [arc + _point(pen, point + shift) for point in (card.centres[k, 0], ends[k])]
        if apart:
            words.append(f"L {_point(pen, card.valleys[2 * k + 2] + shift)}")
    words += [f"L {_point(pen, corner + shift)}" for corner in card.outline[-3:-1, 3]]
    return " ".join([*words, "Z"])


def _point(pen: Ink, point: Array) -> str:
    return ",".join(decimals(apply(pen.from_mm, point), pen.places))


def _strokes_text(pen: Ink, strokes: Array) -> str:
    """The `d` of straight strokes (k, 2, 2)."""
    return " ".join(f"M {_point(pen, a)} L {_point(pen, b)}" for a, b in strokes)


# ---------------------------------------------------------------- writing


def _written(paragraphs: Sequence[str], corner: tuple[float, float], across: float, down: float) -> Writing:
    """A text in the largest letters for which a card is long enough, or hardly too short; else in the smallest.

    Args:
        paragraphs: the text; words of the first, a name, may be broken.
        corner: where the room for it begins, its top left.
        across: how broad the room is.
        down: how long it is, if the card is not made longer.
    """
    upright = [(size, lines) for size in SIZES if (lines := _lines(paragraphs, across, size)) is not None]
    near = [(size, lines) for size, lines in upright if len(lines) * LEADING * size <= down + _LONGER]
    left, top = corner
    if upright:
        size, lines = near[0] if near else upright[-1]
        height = text_extent(lines, size)[1]
        return Writing(tuple(lines), size, False, np.array([[left, top], [left + across, top + height]]))
    size, lines = _turned_lines(paragraphs, across)
    length, breadth = text_extent(lines, size)
    aside = left + 0.5 * (across - breadth)
    return Writing(tuple(lines), size, True, np.array([[aside, top], [aside + breadth, top + length]]))


def _turned_lines(paragraphs: Sequence[str], across: float) -> tuple[float, list[str]]:
    """The size of letters, and the shortest lines of them that lie side by side in a breadth."""
    size = min(SIZES[-1], across / LEADING)
    most = int(across / (LEADING * size) * (1.0 + 1e-9))
    kept = paragraphs if len(paragraphs) <= most else [", ".join(paragraphs)]
    room, whole = size, max(text_extent([text], size)[0] for text in kept)
    while room < whole:
        lines = _lines(kept, room, size)
        if lines is not None and len(lines) <= most:
            return size, lines
        room += size
    return size, list(kept)


def _lines(paragraphs: Sequence[str], room: float, size: float) -> list[str] | None:
    """The paragraphs in lines no longer than the room; None where a word is longer than that.

    They are parted after commas, and elsewhere only where that is not enough.
    """
    out: list[str] = []
    for number, text in enumerate(paragraphs):
        line = ""
        for part in _parts(text, room, size, name=number == 0):
            if text_extent([part], size)[0] > room:
                return None
            longer = f"{line} {part}" if line else part
            if line and text_extent([longer], size)[0] > room:
                out.append(line)
                longer = part
            line = longer
        out.append(line)
    return out


def _parts(text: str, room: float, size: float, name: bool) -> Iterator[str]:
    """What of a text is kept in one line, if it is not longer than the room; of a name parts of words too."""
    for phrase in re.split(r"(?<=,) ", text):
        if text_extent([phrase], size)[0] <= room:
            yield phrase
            continue
        for word in re.split(" (?!mm)", phrase):
            yield from _broken(word, room, size) if name else (word,)


def _broken(word: str, room: float, size: float) -> Iterator[str]:
    """A word in parts no longer than the room, as far as that can be."""
    begin = 0
    for end in range(1, len(word) + 1):
        if end - begin > 1 and text_extent([word[begin:end]], size)[0] > room:
            yield word[begin : end - 1]
            begin = end - 1
    yield word[begin:]


def _shortened(line: str) -> str:
    """A list of scallops that would fill a card, with its middle left out."""
    if len(line) <= _LONGEST:
        return line
    parts = line.split(", ")
    return f"{', '.join(parts[:4])} … {parts[-1]}"


# ---------------------------------------------------------------- what the maker should know

# A code, a text, and the card that it is about.
_Told = tuple[str, str, MadeTemplate]


def _warning(placed: Scallops, piece: str, code: str, text: str, made: MadeTemplate) -> Warn:
    """A warning about a card, at the first scallop that it serves."""
    x, y = placed.row.start[made.template.scallops[0] - 1].tolist()
    return Warn(code, text, piece, x, y)


def _many(made: Sequence[MadeTemplate]) -> Iterator[_Told]:
    if len(made) > _MANY:
        text = (
            f"the scallops have {len(made)} sizes, so there are {len(made)} template cards to keep apart: equal "
            "scallops (without --weights), or fewer holds between them, take fewer"
        )
        yield "many-cards", text, made[0]


def _short(placed: Scallops, made: Sequence[MadeTemplate], asked: int) -> Iterator[_Told]:
    """Told where a strip has fewer scallops than were asked for, though there are more of them."""
    whole = placed.row.part == WHOLE
    wholes = [int(whole[np.array(one.template.scallops) - 1].sum()) for one in made]
    short = [
        one
        for one, n in zip(made, wholes, strict=True)
        if one.template.count < min(asked, n) and not one.template.corner
    ]
    if short:
        least = min(short, key=lambda one: one.template.count)
        text = (
            f"{_and_more(least, short)} has {counted(least.template.count, 'scallop')} instead of {asked}: no more of "
            "one size stand side by side, or more would overlap on a straight card"
        )
        yield "short-strip", text, least


def _bent(placed: Scallops, made: Sequence[MadeTemplate], space: float, body: float) -> Iterator[_Told]:
    """Told where the edge bends too much for a straight card."""
    bent = [one for one in made if one.template.bends]
    if not bent:
        return
    worst = max(bent, key=lambda one: one.template.off)
    card = worst.template
    fitting = _fitting_strip(placed, made.index(worst), card, space, body)
    if fitting:
        text = (
            f"on this curved edge the straight strip of {_and_more(worst, bent)} lies up to {card.off:.2f} mm off: "
            f"take cards of {counted(fitting, 'scallop')} (--template {fitting})"
        )
    else:
        text = (
            "waves turn into one another where the edge is curved, and their line lies up to "
            f"{card.off:.2f} mm off {_and_more(worst, bent)}: trace them from the drawing"
        )
    yield "strip-bends", text, worst


def _fitting_strip(placed: Scallops, number: int, card: Template, space: float, body: float) -> int:
    """A strip that lies near enough to the edge where one scallop more does not; 0 where not even one does."""
    fits, too_long = 0, card.count
    while too_long - fits > 1:
        strip = (fits + too_long) // 2
        if templates(placed, space, strip, body)[number].bends:
            too_long = strip
        else:
            fits = strip
    return fits


def _narrow(made: Sequence[MadeTemplate]) -> Iterator[_Told]:
    narrow = [one for one in made if one.writing.size < SIZES[-1]]
    if narrow:
        least = min(narrow, key=lambda one: _length(one.template))
        text = (
            f"{_and_more(least, narrow)} is only {_length(least.template):.1f} mm wide, too narrow to hold and to "
            "write on: ask for a longer strip (--template)"
        )
        yield "narrow-card", text, least


def _and_more(one: MadeTemplate, of: Sequence[MadeTemplate]) -> str:
    return one.name if len(of) == 1 else f"{one.name} (one of {len(of)} such cards)"
