"""A picture of a run laid flat as sewn: what its maker holds against the body before anything is cut.

It is drawn at full size in the run's flat frame. Each piece shows as a band of cloth along the edge, with the joints
between them, the scallops as one unbroken line, what holds them, and the figures of each span. At an end that goes on,
beyond a fold or into a loop's next turn, the first scallops there are drawn faintly, so that both are seen to meet.
"""

from __future__ import annotations

import math
import textwrap
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np
from lxml import etree

from ..errors import RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array, Bools
from ..geometry.intersect import self_crossings
from ..geometry.length import Measured, measure
from ..geometry.nearest import nearest
from ..geometry.offset import offset
from ..pattern.joins import FOLD, LAP
from ..pattern.laying import Joint, Part, is_true, true_lines
from ..trim.course import CREST, VALLEY, WRAP, Span, Stop
from ..trim.holds import GAP, PASS
from ..trim.sharing import Cut, Share, share_curves, whole
from .lines import stitching_text
from .markup import INKSCAPE, SVG, markup
from .numbers import decimal, decimals, path_text
from .runs import Run
from .sheet import opened, parts_at
from .styles import TEXTS, style_of

# Size of the texts, mm: that of labels, or this share of the picture where it would be lost on a large one.
_TEXT, _TEXT_SHARE = TEXTS["label"].size_mm, 0.008
# How deep a band of cloth is shown, mm, or in widths of a scallop where that is more; and what is tried instead on a
# piece too narrow for it.
_DEPTH, _WIDTHS = 60.0, 2.5
_SHALLOWER = (1.0, 0.75, 0.5, 0.35, 0.2)
# How many scallops are shown beyond a fold, and beyond a loop's end.
_BEYOND_FOLD, _BEYOND_LOOP = 2, 1
# Two lines closer than this, mm, are drawn once; a loop whose end is so near its start closes flat.
_ONE = 0.05
# What is written as no length at all, mm.
_NOTHING = 1e-4
# How far beside a place of the edge its direction is taken, mm.
_STEP = 0.01
_PLACES = 4
# Greys of neighbouring pieces; black on the darkest has a contrast of 14 to 1.
_TINTS = ("#f5f5f5", "#e6e6e6", "#d6d6d6")
_LONGEST_NAME = 40
# Widths of one span that differ by more than this share of them are meant to.
_UNEVEN = 1e-6
_RULE = 100.0
_HOLD_TEXTS = {
    VALLEY: "a valley is held here",
    CREST: "a crest is held here",
    PASS: "scallops pass over",
    GAP: "a gap is left here",
    WRAP: "one scallop goes round the corner",
}
_LINE_TEXTS = {
    "stitching": "stitching line of the scallops",
    "edge": "edge of the piece",
    "seam": "seam",
    "dart": "dart, closed",
    "fold": "fold",
    "lap": "middle of a lap",
    "butt": "edges end to end",
    "true-line": "smooth line instead",
    "beyond": "how it goes on",
    "eyelet": "eyelet's hole",
    "placement": "eyelet's flange",
    "notch": "notch",
}
_DRAWN_LONG = set(_LINE_TEXTS) - {"eyelet", "placement", "notch"}


def flat_picture(run: Run) -> bytes:
    """The picture of a run laid flat, an SVG document at full size with all of it in one layer.

    Args:
        run: any run, with scallops or without.

    Returns:
        UTF-8 bytes, the same for the same run; user units are mm of the run's flat frame, in which its first piece
        lies as on the sheet unless it is drawn face down.
    """
    view = _view(run)
    bands = _bands(view)
    paper = _Paper(view.size)
    _draw_cloth(paper, view, bands)
    _draw_beyond(paper, view)
    _draw_edges(paper, view, bands)
    _draw_joints(paper, view, bands)
    _draw_scallops(paper, view)
    _draw_trims(paper, view)
    holds = _holds(view)
    _draw_holds(paper, view, holds)
    _name_pieces(paper, view, bands)
    _measure_spans(paper, view)
    _name_joints(paper, view, bands)
    _name_holds(paper, view, holds)
    _title(paper, run)
    _legend(paper)
    return paper.svg(run.name)


# ---------------------------------------------------------------- what is looked at


@dataclass(frozen=True, eq=False)
class _View:
    """A run as its picture sees it; lengths in mm.

    Attributes:
        run: the run.
        line: the laid edge with its lengths; a place is a length along it.
        out: +1 where the cloth ends to the walker's left, -1 to the right.
        above, below: how far the scallops reach outside and inside the edge.
        size: of the texts.
        depth: how deep the cloth is shown.
        reopens: whether a loop's end lies elsewhere than its start.
    """

    run: Run
    line: Measured
    out: int
    above: float
    below: float
    size: float
    depth: float
    reopens: bool

    def at(self, s: float) -> tuple[Array, Array]:
        """The point of the edge at a length, and the unit direction into the cloth there."""
        # At a corner it is half way between the directions on either side.
        both = self.line.normals(np.array([s - _STEP, s + _STEP])).sum(axis=0)
        return self.line.points(np.array([s]))[0], -self.out * both / float(np.hypot(*both))


def _view(run: Run) -> _View:
    line = run.laid.line.measured
    out = run.laid.line.outside or run.course.side
    width = depth = 0.0
    if run.scallops is not None:
        width, depth = float(run.scallops.row.width.max()), float(run.scallops.depth.max())
    touch = run.recipe.scallop.touch if run.recipe.scallop is not None else ""
    beyond = {"": 1.0, VALLEY: 1.0, CREST: 0.0}.get(touch, 0.5) * depth
    above, below = (beyond, depth - beyond) if run.course.side == out else (depth - beyond, beyond)
    shown = max(_DEPTH, _WIDTHS * width)
    extent = float(np.ptp(cubics.bounds(line.curve), axis=0).max()) + shown
    size = max(_TEXT, _TEXT_SHARE * extent)
    apart = motion.apply(run.laid.closing, line.curve[0]) - line.curve[0]
    reopens = run.laid.loop and float(np.abs(apart).max()) > _ONE
    return _View(run, line, out, above, below, size, shown, reopens)


def _joint_at(view: _View, part: int, end: bool) -> Joint | None:
    """The joint at an end of a part, where it lies in the flat frame at that end."""
    laid = view.run.laid
    if end:
        return laid.joints[part] if part < len(laid.joints) else laid.folds[1]
    if part > 0:
        return laid.joints[part - 1]
    if not (laid.loop and laid.joints):
        return laid.folds[0]
    back, joint = motion.inverse(laid.closing), laid.joints[-1]
    along, square = (back[:, :2] @ v for v in (joint.along, joint.square))
    return replace(joint, s=0.0, point=motion.apply(back, joint.point), along=along, square=square)


# ---------------------------------------------------------------- bands of cloth


@dataclass(frozen=True, eq=False)
class _Band:
    """The cloth of one part beside its edge, in the flat frame.

    Attributes:
        edge: the part's edge.
        sides: the edges at its start and its end, walked into the cloth.
        drawn: whether the sides are edges of the piece, rather than where an open line has none.
        fade: from the one side's end to the other's, where the picture leaves off; None where the cloth is too narrow.
    """

    edge: Array
    sides: tuple[Array, Array]
    drawn: tuple[bool, bool]
    fade: Array | None


def _bands(view: _View) -> list[_Band]:
    """The band of each part; none for a whole closed outline, which is shown whole."""
    laid = view.run.laid
    if laid.loop and not laid.joints:
        return []
    return [_band(view, k, part) for k, part in enumerate(laid.parts)]


def _band(view: _View, k: int, part: Part) -> _Band:
    edge = motion.apply(part.motion, part.edge.curve)
    joints = _joint_at(view, k, end=False), _joint_at(view, k, end=True)
    neighbours = [None if n is None else motion.apply(part.motion, n) for n in (part.edge.before, part.edge.after)]
    drawn = (joints[0] or neighbours[0]) is not None, (joints[1] or neighbours[1]) is not None
    for share in _SHALLOWER:
        depth = share * view.depth
        first, last = (
            _side(edge, end, depth, view.out, joint, neighbour)
            for end, joint, neighbour in zip((False, True), joints, neighbours, strict=True)
        )
        deepest = max(measure(side).length for side in (first, last))
        fade = _fade(edge, first, last, -view.out * min(depth, deepest))
        if fade is not None:
            break
    return _Band(edge, (first, last), drawn, fade)


def _side(edge: Array, end: bool, depth: float, out: int, joint: Joint | None, neighbour: Array | None) -> Array:
    """The side of a band, walked into the cloth: the neighbouring edge, else a straight line."""
    if joint is not None and joint.kind == LAP:
        begin = joint.point + (joint.lap if end else -joint.lap) * joint.square
        return cubics.lines([begin, begin + depth * joint.along])
    if neighbour is not None:
        m = measure(neighbour)
        return m.part(0.0, min(depth, m.length))
    begin = edge[-1, 3] if end else edge[0, 0]
    along = joint.along if joint is not None else -out * cubics.left(cubics.ends_direction(edge)[end])
    return cubics.lines([begin, begin + depth * along])


def _fade(edge: Array, first: Array, last: Array, distance: float) -> Array | None:
    """A line that runs along the edge from side to side; None where it would cross the band's other lines."""
    try:
        found = offset(edge, distance, closed=False, accuracy=0.1)
    except RequestError:
        return None
    if not found:
        return None
    m = measure(found[0])
    s = np.linspace(0.0, m.length, 2 + math.ceil(m.length / max(4.0, m.length / 200.0)))
    points = m.points(s)
    # The sides are seldom square to the edge, so the parallel's ends are pulled over to theirs.
    over = min(m.length, 3.0 * abs(distance))
    pulls = first[-1, 3] - points[0], last[-1, 3] - points[-1]
    points = points + np.clip(1.0 - s / over, 0.0, 1.0)[:, None] ** 1.5 * pulls[0]
    points = points + np.clip(1.0 - (m.length - s) / over, 0.0, 1.0)[:, None] ** 1.5 * pulls[1]
    fade = cubics.lines(points)
    around = _linked([edge, last, cubics.reverse(fade), cubics.reverse(first)])
    return None if len(self_crossings(around, closed=True)) else fade


def _written(curve: Array) -> Array:
    """The curve without what is too short to be written."""
    return np.asarray(curve[np.ptp(curve, axis=1).max(axis=1) > _NOTHING])


def _linked(curves: Sequence[Array], closed: bool = True) -> Array:
    """Curves one after the other, with straight lines from each to the next where they do not meet."""
    out = []
    for i, curve in enumerate(curves):
        out.append(curve)
        if i + 1 < len(curves) or closed:
            ends = np.stack([curve[-1, 3], curves[(i + 1) % len(curves)][0, 0]])
            if np.abs(ends[1] - ends[0]).max() > _NOTHING:
                out.append(cubics.lines(ends))
    return np.concatenate(out)


# ---------------------------------------------------------------- the paper


@dataclass(eq=False)
class _Paper:
    """What is drawn so far: elements by group, the ink that texts keep clear of, and the boxes that texts take."""

    size: float
    groups: dict[str, list[etree._Element]] = field(default_factory=dict)
    lines: list[str] = field(default_factory=list)
    signs: dict[str, Array] = field(default_factory=dict)
    ink: list[Array] = field(default_factory=list)
    boxes: list[Array] = field(default_factory=list)
    extents: list[Array] = field(default_factory=list)
    _names: set[str] = field(default_factory=set)

    @property
    def unit(self) -> float:
        """What style sizes are divided by, so that lines grow with the texts."""
        return _TEXT / self.size

    def fill(self, curve: Array, colour: str, label: str) -> None:
        """A closed curve filled with a colour."""
        element = self._path("cloth", path_text(_written(curve), _PLACES, closed=True), label)
        element.set("data-role", "cloth")
        element.set("style", f"fill:{colour};stroke:none")
        self.extents.append(cubics.bounds(curve))

    def stroke(self, group: str, role: str, curve: Array, label: str, d: str = "") -> None:
        """A line of a role; `d` where its path text is finer than the curve's own."""
        curve = _written(curve)
        if not len(curve):
            return
        closed = float(np.abs(curve[-1, 3] - curve[0, 0]).max()) < _NOTHING
        element = self._path(group, d or path_text(curve, _PLACES, closed), label)
        element.set("data-role", role)
        element.set("style", style_of(role, self.unit))
        self.keep_clear(curve)
        if role in _LINE_TEXTS and role not in self.lines:
            self.lines.append(role)

    def circle(self, group: str, role: str, centre: Array, radius: float, label: str) -> None:
        """A circle of a role."""
        element = self._element(group, "circle", label)
        for key, value in zip(("cx", "cy", "r"), decimals(np.array([*centre, radius]), _PLACES), strict=True):
            element.set(key, value)
        element.set("data-role", role)
        element.set("style", style_of(role, self.unit))
        angle = np.linspace(0.0, 2.0 * math.pi, 25)
        self.keep_clear(cubics.lines(centre + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)))
        if role in _LINE_TEXTS and role not in self.lines:
            self.lines.append(role)

    def sign(self, group: str, hold: str, centre: Array, inward: Array, label: str) -> None:
        """The sign of a hold; `inward` is the direction into the cloth."""
        shape, filled = _SYMBOLS[hold]
        across = cubics.left(inward)
        points = centre + 0.5 * self.size * (shape[:, :1] * across + shape[:, 1:] * inward)
        curve = cubics.lines(np.concatenate([points, points[:1]]))
        element = self._path(group, path_text(curve, _PLACES, closed=True), label)
        element.set("data-role", hold)
        width = decimal(0.09 * self.size, _PLACES)
        element.set(
            "style",
            f"fill:{'#000000' if filled else '#ffffff'};stroke:#000000;stroke-width:{width};stroke-linejoin:round",
        )
        self.keep_clear(curve)
        self.signs.setdefault(hold, inward)

    def keep_clear(self, curve: Array) -> None:
        """Ink that no text may cover."""
        points = cubics.flatten(curve, 0.1 * self.size)
        step = np.hypot(*np.diff(points, axis=0).T)
        s = np.concatenate([[0.0], np.cumsum(step)])
        every = np.arange(0.0, s[-1], 0.4 * self.size)
        self.ink.append(np.stack([np.interp(every, s, points[:, 0]), np.interp(every, s, points[:, 1])], axis=1))
        self.extents.append(np.stack([points.min(axis=0), points.max(axis=0)]))

    def write(self, lines: Sequence[str], at: Array, bold: bool = False, anchor: str = "middle") -> Array:
        """A text whose box begins, or has its middle, at `at` and its top there; the box is returned."""
        width, height = _extent(lines, self.size, bold)
        left = float(at[0]) - (0.5 * width if anchor == "middle" else 0.0)
        element = self._element("texts", "text", lines[0])
        element.set("data-role", "label")
        weight = ";font-weight:bold" if bold else ""
        element.set("style", f"{style_of('label', self.unit)};text-anchor:{anchor}{weight}")
        for i, line in enumerate(lines):
            span = etree.SubElement(element, f"{{{SVG}}}tspan")
            x, y = decimals(np.array([at[0], at[1] + (i + 0.85) * _LEADING * self.size]), _PLACES)
            span.set("x", x)
            span.set("y", y)
            span.text = line
        box = np.array([[left, at[1]], [left + width, at[1] + height]])
        self.boxes.append(box)
        self.extents.append(box)
        return box

    def name(self, lines: Sequence[str], anchor: Array, away: Array, bold: bool = False, upon: bool = False) -> None:
        """A text as near to its place as there is room, with a thin line to it where that is not near.

        Args:
            lines: the text.
            anchor: what it belongs to.
            away: the direction in which it is looked for first.
            bold: whether it is bold.
            upon: whether it may lie on its place, rather than beside it.
        """
        width, height = _extent(lines, self.size, bold)
        half = 0.5 * np.array([width, height])
        centre, far = self._room(anchor, away, half, upon)
        at = np.array([centre[0], centre[1] - half[1]])
        if far:
            to = np.clip(anchor, centre - half, centre + half)
            self.stroke("texts", "measure", cubics.lines([anchor, to]), f"{lines[0]}, line")
        self.write(lines, at, bold)

    def _room(self, anchor: Array, away: Array, half: Array, upon: bool) -> tuple[Array, bool]:
        """The middle of the nearest free box of a half size, and whether it is far off."""
        cos, sin = np.cos(_TURNS), np.sin(_TURNS)
        ways = np.stack([cos * away[0] - sin * away[1], sin * away[0] + cos * away[1]], axis=1)
        gaps = (0.6 + 0.5 * _RINGS) * self.size + np.abs(ways) @ half
        centres = anchor + gaps[:, None] * ways
        if upon:
            centres = np.concatenate([anchor[None], centres])
        half = half + 0.3 * self.size
        boxes = np.array(self.boxes).reshape(-1, 2, 2)
        clear = centres[~_overlap(centres - half, centres + half, boxes)]
        ink = np.concatenate([np.zeros((0, 2)), *self.ink])
        for some in np.array_split(clear, math.ceil(len(clear) / 16) or 1):
            # Only ink that the outermost of them could reach is looked at.
            low, high = some.min(axis=0, initial=np.inf) - half, some.max(axis=0, initial=-np.inf) + half
            near = ink[np.all((ink > low) & (ink < high), axis=1)]
            for centre in some[~_overlap(some - half, some + half, np.stack([near, near], axis=1))]:
                far = self._far(anchor, centre, half)
                if not far or not self._crosses_texts(anchor, np.clip(anchor, centre - half, centre + half)):
                    return centre, far
        # Farther off than anything there is room, though lines may pass under the line to it.
        return np.array([anchor[0], self.extent()[0, 1] - half[1] - self.size]), True

    def _far(self, anchor: Array, centre: Array, half: Array) -> bool:
        """Whether a box lies so far from its place that a line has to tell where it belongs."""
        return float(np.hypot(*(np.clip(anchor, centre - half, centre + half) - anchor))) > 3.0 * self.size

    def _crosses_texts(self, start: Array, end: Array) -> bool:
        """Whether a line crosses a text."""
        points = start + np.linspace(0.0, 1.0, 100)[:, None] * (end - start)
        return bool(_overlap(points, points, np.array(self.boxes).reshape(-1, 2, 2)).any())

    def extent(self) -> Array:
        """The box [[x, y], [x, y]] round all there is."""
        every = np.array(self.extents)
        return np.stack([every[:, 0].min(axis=0), every[:, 1].max(axis=0)])

    def svg(self, name: str) -> bytes:
        """The document."""
        low, high = self.extent()
        low, high = np.floor(low - 2.0 * self.size), np.ceil(high + 2.0 * self.size)
        x, y, width, height = decimals(np.concatenate([low, high - low]), _PLACES)
        root = etree.Element(f"{{{SVG}}}svg", nsmap={"svg": SVG, "inkscape": INKSCAPE})
        root.set("width", f"{width}mm")
        root.set("height", f"{height}mm")
        root.set("viewBox", f"{x} {y} {width} {height}")
        title = etree.SubElement(root, f"{{{SVG}}}title")
        title.text = f"{name}, laid flat as sewn"
        layer = etree.SubElement(root, f"{{{SVG}}}g")
        layer.set("id", "laid-flat")
        layer.set(f"{{{INKSCAPE}}}groupmode", "layer")
        layer.set(f"{{{INKSCAPE}}}label", f"{name}, laid flat")
        for label, elements in self.groups.items():
            group = etree.SubElement(layer, f"{{{SVG}}}g")
            group.set(f"{{{INKSCAPE}}}label", label)
            group.extend(elements)
        text = markup(root, {}, "\n")
        return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()

    def _path(self, group: str, d: str, label: str) -> etree._Element:
        element = self._element(group, "path", label)
        element.set("d", d)
        return element

    def _element(self, group: str, kind: str, label: str) -> etree._Element:
        """A new element with a label of its own."""
        own, number = label, 1
        while own in self._names:
            number += 1
            own = f"{label} ({number})"
        self._names.add(own)
        element = etree.Element(f"{{{SVG}}}{kind}", nsmap={"inkscape": INKSCAPE})
        element.set(f"{{{INKSCAPE}}}label", own)
        self.groups.setdefault(group, []).append(element)
        return element


# Where a text is looked for: in rings of half a text's size, and turned from the first direction, in radians. The near
# ones come first, and farther ones before those that turn away more.
_TRIES = sorted(
    product(range(160), (0, 20, -20, 40, -40, 60, -60, 85, -85, 115, -115, 150, -150, 180)),
    key=lambda t: (t[0] + abs(t[1]) / 12.0, abs(t[1]), t[1] < 0),
)
_RINGS, _TURNS = np.array(_TRIES, dtype=float).T * np.array([[1.0], [math.pi / 180.0]])
_LEADING = 1.25

_ROUND = np.linspace(0.0, 2.0 * math.pi, 17)[:-1]
# Half a size wide: x across, y into the cloth; and whether they are filled.
_SYMBOLS: dict[str, tuple[Array, bool]] = {
    VALLEY: (np.array([(-0.9, -0.8), (0.9, -0.8), (0.0, 0.9)]), True),
    CREST: (np.array([(-0.9, 0.8), (0.9, 0.8), (0.0, -0.9)]), False),
    PASS: (0.8 * np.stack([np.cos(_ROUND), np.sin(_ROUND)], axis=1), False),
    GAP: (np.array([(-1.2, -0.45), (1.2, -0.45), (1.2, 0.45), (-1.2, 0.45)]), True),
    WRAP: (0.7 * np.stack([np.cos(_ROUND), np.sin(_ROUND)], axis=1), True),
}


def _overlap(low: Array, high: Array, boxes: Array) -> Bools:
    """Which of the boxes from `low` to `high` (k, 2) overlap any of `boxes` (n, 2, 2)."""
    both = (low[:, None] < boxes[:, 1]) & (boxes[:, 0] < high[:, None])
    return np.asarray(np.any(both[..., 0] & both[..., 1], axis=1))


def _extent(lines: Sequence[str], size: float, bold: bool) -> tuple[float, float]:
    """Width and height that a text takes at the most in any plain sans-serif, mm."""
    widest = max(sum(map(_em, line)) for line in lines)
    return widest * size * (1.12 if bold else 1.0), len(lines) * _LEADING * size


def _em(letter: str) -> float:
    """A letter's width as a share of the text's size, that of the widest usual sans-serif."""
    if unicodedata.category(letter) in ("Mn", "Me", "Cf"):
        return 0.0
    if unicodedata.east_asian_width(letter) in "WF" or letter in "mwMW@%":
        return 1.05
    if letter in " .,:;'|!ijlI()[]/-":
        return 0.4
    return 0.82 if letter.isupper() else 0.66


def _wrapped(text: str, room: float, size: float) -> list[str]:
    """A text in lines for so many mm, as far as its words can be parted."""
    return textwrap.wrap(text, max(4, int(room / (0.75 * size))), break_long_words=False) or [text]


def _plain(text: str) -> str:
    """A name in one line that is not too long."""
    words = " ".join(text.split()) or "-"
    return words if len(words) <= _LONGEST_NAME else words[: _LONGEST_NAME - 1] + "…"


# ---------------------------------------------------------------- cloth, edges, joints


def _draw_cloth(paper: _Paper, view: _View, bands: Sequence[_Band]) -> None:
    """Each piece's cloth up to the scallops, in a grey of its own."""
    run = view.run
    if not bands:
        curves = [view.line.curve] if run.scallops is None else _turned_curves(run, whole(run.line))
        paper.fill(_linked(curves), _TINTS[0], _piece_name(run.laid.parts[0]))
        return
    pieces = list(dict.fromkeys(part.edge.piece.name for part in run.laid.parts))
    for k, (part, band) in enumerate(zip(run.laid.parts, bands, strict=True)):
        if band.fade is None:
            continue
        trimmed = [band.edge] if run.scallops is None else _turned_curves(run, run.shares[k])
        around = [*trimmed, band.sides[1], cubics.reverse(band.fade), cubics.reverse(band.sides[0])]
        paper.fill(_linked(around), _tint(pieces.index(part.edge.piece.name), len(pieces)), _piece_name(part))


def _tint(i: int, pieces: int) -> str:
    """The grey of piece i; round a loop the last one differs from the first too."""
    k = i % len(_TINTS)
    return _TINTS[1 if k == 0 and i == pieces - 1 and i > 0 else k]


def _piece_name(part: Part) -> str:
    return _plain(part.edge.piece.name) + (", mirrored" if part.copy_of is not None else "")


def _turned_curves(run: Run, share: Share) -> list[Array]:
    """The curves of a share where they lie in the flat frame itself."""
    count = run.line.elements
    return [motion.apply(run.laid.turned(e // count), curve) for e, curve in share_curves(run.line, share)]


def _draw_edges(paper: _Paper, view: _View, bands: Sequence[_Band]) -> None:
    """The edges that the run follows, and the free sides of the pieces."""
    run = view.run
    if not bands:
        paper.stroke("edges", "edge", view.line.curve, f"edge {_plain(run.laid.parts[0].edge.name)}")
    for k, (part, band) in enumerate(zip(run.laid.parts, bands, strict=False)):
        paper.stroke("edges", "edge", band.edge, f"edge {_plain(part.edge.name)}")
        for end in (False, True):
            joint = _joint_at(view, k, end)
            if band.drawn[end] and (joint is None or joint.kind == LAP):
                paper.stroke("edges", "edge", band.sides[end], f"side of {_piece_name(part)}")


def _draw_joints(paper: _Paper, view: _View, bands: Sequence[_Band]) -> None:
    """The lines on which the parts meet, and what would make a joint true."""
    laid = view.run.laid
    before: Array | None = None
    for k, band in enumerate(bands):
        for end in (False, True):
            joint = _joint_at(view, k, end)
            if joint is None:
                continue
            line = _joint_line(view, joint, band.sides[end])
            if before is None or not _alike(line, before):
                paper.stroke("joins", joint.kind, line, f"{joint.kind} {_plain(joint.name)}")
            before = line
    if any(joint.trued for joint in laid.joints):
        return
    for part, curve in true_lines(laid):
        label = f"smooth line on {_piece_name(laid.parts[part])}"
        paper.stroke("joins", "true-line", motion.apply(laid.parts[part].motion, curve), label)


def _joint_line(view: _View, joint: Joint, side: Array) -> Array:
    """A joint's own line: the seam edge beside it; a fold goes on beyond the scallops, a lap's middle is straight."""
    if joint.kind == FOLD:
        return cubics.lines([joint.point - (view.above + 2.0 * view.size) * joint.along, side[-1, 3]])
    if joint.kind == LAP:
        along = float((side[-1, 3] - side[0, 0]) @ joint.along)
        return cubics.lines([joint.point, joint.point + along * joint.along])
    return side


def _alike(a: Array, b: Array) -> bool:
    """Whether two lines from one joint are one line as far as both go."""
    both = measure(a), measure(b)
    s = np.linspace(0.0, min(m.length for m in both), 9)
    return bool(np.abs(both[0].points(s) - both[1].points(s)).max() <= _ONE)


# ---------------------------------------------------------------- scallops and trims


def _whole_line(run: Run) -> Share:
    """The trimmed line from the run's start to its end."""
    return Share(0, run.shares[0].begin, run.shares[-1].end)


def _draw_scallops(paper: _Paper, view: _View) -> None:
    run = view.run
    if run.scallops is None:
        return
    share = _whole_line(run)
    text = stitching_text(run.line, share, run.laid.turned)
    paper.stroke(
        "scallops", "stitching", _linked(_turned_curves(run, share), closed=False), f"scallops {_plain(run.name)}", text
    )


def _draw_beyond(paper: _Paper, view: _View) -> None:
    """How the run goes on beyond a fold at its end, and beyond the end of a loop that does not close flat."""
    run = view.run
    for i, fold in enumerate(run.laid.folds):
        if fold is not None:
            mirror = motion.mirrored(fold.point, fold.along)
            reach = min(view.line.length, _BEYOND_FOLD * _widest(run) if run.scallops is not None else view.depth)
            s = (view.line.length - reach, view.line.length) if i else (0.0, reach)
            paper.stroke("beyond", "beyond", motion.apply(mirror, view.line.part(*s)), "edge beyond the fold")
            _draw_share(paper, run, _first_of(run, _BEYOND_FOLD, at_end=bool(i)), mirror, "scallops beyond the fold")
    if view.reopens:
        reach = min(view.line.length, _widest(run) if run.scallops is not None else view.depth)
        again = motion.apply(run.laid.closing, view.line.part(0.0, reach))
        paper.stroke("beyond", "beyond", again, "edge of the next turn")
        _draw_share(paper, run, _next_of(run, _BEYOND_LOOP), motion.IDENTITY, "scallops of the next turn")


def _widest(run: Run) -> float:
    return 0.0 if run.scallops is None else float(run.scallops.row.width.max())


def _draw_share(paper: _Paper, run: Run, share: Share | None, over: Array, label: str) -> None:
    if share is None:
        return
    curves = [motion.apply(over, curve) for curve in _turned_curves(run, share)]
    text = stitching_text(run.line, share, lambda turn: motion.compose(over, run.laid.turned(turn)))
    if curves and text:
        paper.stroke("beyond", "beyond", _linked(curves, closed=False), label, text)


def _first_of(run: Run, scallops: int, at_end: bool) -> Share | None:
    """The first scallops of an open run, or its last ones."""
    if run.scallops is None:
        return None
    count = run.line.elements
    some = min(2 * scallops, count)
    return Share(0, Cut(count - some), Cut(count)) if at_end else Share(0, Cut(0), Cut(some))


def _next_of(run: Run, scallops: int) -> Share | None:
    """What is left of a scallop that lies over a loop's end, and the first ones of its next turn."""
    if run.scallops is None:
        return None
    end = run.shares[-1].end
    element = end.element + end.element % 2
    more = scallops + (end.point is not None)
    return Share(0, end, Cut(element + 2 * min(more, len(run.scallops))))


def _draw_trims(paper: _Paper, view: _View) -> None:
    """Eyelets, with the hole that is cut and the flange; notches."""
    run = view.run
    for eyelets in run.eyelets:
        for point, turned in _in_flat_frame(run, eyelets.points, eyelets.s):
            centre = motion.apply(turned, point)
            paper.circle("trims", "eyelet", centre, 0.5 * eyelets.size.hole, "eyelet")
            paper.circle("trims", "placement", centre, 0.5 * eyelets.size.flange, "flange")
    for notches in run.notches:
        for i, (_, turned) in enumerate(_in_flat_frame(run, notches.points, notches.s)):
            paper.stroke("trims", "notch", cubics.lines(motion.apply(turned, notches.curve(i))), "notch")


def _in_flat_frame(run: Run, points: Array, s: Array) -> list[tuple[Array, Array]]:
    """Points beside the course, and for each the motion from its own turn of a loop to the flat frame."""
    _, turns = parts_at(run, points, s)
    return [(point, run.laid.turned(-int(turn))) for point, turn in zip(points, turns.tolist(), strict=True)]


# ---------------------------------------------------------------- holds


@dataclass(frozen=True, eq=False)
class _Hold:
    """A place where the trim is told what to do: its kind, its name, and where its sign stands.

    `told` says whether its name has to be written beside it, being no joint's.
    """

    kind: str
    name: str
    point: Array
    inward: Array
    told: bool


def _holds(view: _View) -> list[_Hold]:
    run = view.run
    total = view.line.length
    joints = [_joint_at(view, 0, end=False), *run.laid.joints, run.laid.folds[1]]
    there = [joint for joint in joints if joint is not None]
    out = []
    for stop in run.stops if run.scallops is not None else ():
        s = (stop.s + run.origin) % total if run.laid.loop else stop.s
        ends = [0.0, total] if view.reopens and min(s, total - s) < 1e-6 else [s]
        out += [_hold(view, stop, at, there) for at in ends]
    for joint in there if run.scallops is not None else ():
        if not any(run.is_at(joint, stop.s) for stop in run.stops):
            out.append(_Hold(PASS, joint.name, joint.point, joint.along, False))
    return out


def _hold(view: _View, stop: Stop, s: float, joints: Sequence[Joint]) -> _Hold:
    kind = GAP if stop.gap else stop.hold
    for joint in joints:
        if abs(joint.s - s) < 1e-6:
            return _Hold(kind, joint.name, joint.point, joint.along, False)
    point, inward = view.at(s)
    return _Hold(kind, stop.name, point, inward, True)


def _sign_place(view: _View, hold: _Hold) -> Array:
    return np.asarray(hold.point + (view.below + 1.1 * view.size) * hold.inward)


def _draw_holds(paper: _Paper, view: _View, holds: Sequence[_Hold]) -> None:
    for hold in holds:
        paper.sign("holds", hold.kind, _sign_place(view, hold), hold.inward, f"{hold.kind} at {_plain(hold.name)}")


def _name_holds(paper: _Paper, view: _View, holds: Sequence[_Hold]) -> None:
    for hold in holds:
        if hold.told:
            paper.name([_plain(hold.name)], _sign_place(view, hold), hold.inward)


# ---------------------------------------------------------------- texts


def _name_pieces(paper: _Paper, view: _View, bands: Sequence[_Band]) -> None:
    laid = view.run.laid
    if not bands:
        low, high = cubics.bounds(view.line.curve)
        words = _wrapped(_piece_name(laid.parts[0]), float(high[0] - low[0]), view.size)
        paper.name(words, 0.5 * (low + high), np.array([0.0, 1.0]), bold=True, upon=True)
    for part, band in zip(laid.parts, bands, strict=False):
        point, inward = view.at(0.5 * (part.begin + part.end))
        depth = 0.6 * view.depth
        if band.fade is not None:
            depth = 0.6 * float(np.hypot(*(cubics.flatten(band.fade, 0.5) - point).T).min())
        words = _wrapped(_piece_name(part), 0.9 * (part.end - part.begin), view.size)
        paper.name(words, point + max(depth, view.below + view.size) * inward, inward, bold=True, upon=True)


def _measure_spans(paper: _Paper, view: _View) -> None:
    """Each span's figures outside the scallops, on a measuring line of its own."""
    run = view.run
    if run.fit is None or run.scallops is None:
        return
    flat_loop = run.laid.loop and len(run.fit.spans) == 1 and not view.reopens
    away = view.above + (0.0 if flat_loop else 1.6 * view.size)
    beside = None if flat_loop else _parallel(view, away)
    if beside is not None:
        for span in run.fit.spans:
            for line in _measuring_lines(view, beside, away, _stretches(view, span)):
                label = f"span {_plain(span.start.name)} to {_plain(span.end.name)}"
                paper.stroke("figures", "measure", line, label)
    for i, (span, count, width) in enumerate(zip(run.fit.spans, run.fit.counts, run.fit.widths, strict=True)):
        a, b = max(_stretches(view, span), key=lambda stretch: stretch[1] - stretch[0])
        point, inward = view.at(0.5 * (a + b))
        own = run.scallops.row.width[run.scallops.row.span == i]
        limits = (float(own.min()), float(own.max())) if len(own) else (width, width)
        paper.name(_span_text(view, span, count, limits), point - away * inward, -inward)


def _span_text(view: _View, span: Span, count: float, limits: tuple[float, float]) -> list[str]:
    """How many scallops a span has and how wide they are, in lines that are no longer than it where that can be."""
    narrow, wide = limits
    figures = f"{narrow:.2f} mm wide" if wide - narrow < _UNEVEN * wide else f"{narrow:.2f} to {wide:.2f} mm wide"
    length = f"span of {span.length:.2f} mm"
    text = [f"{_scallops(count)}, {figures}", length]
    return text if _extent(text, view.size, bold=False)[0] <= span.length else [_scallops(count), figures, length]


def _stretches(view: _View, span: Span) -> list[tuple[float, float]]:
    """Where a span lies along the laid edge; in two where it passes over a loop's end."""
    total = view.line.length
    begin, finish = span.begin + view.run.origin, span.finish + view.run.origin
    turns = math.floor(begin / total + 1e-9) if view.run.laid.loop else 0
    begin, finish = begin - turns * total, finish - turns * total
    both = [(begin, min(finish, total)), (0.0, finish - total)]
    return [(a, b) for a, b in both if b - a > _NOTHING]


def _parallel(view: _View, away: float) -> Measured | None:
    """The line for all measuring lines, outside the scallops; None where there is no room for one."""
    try:
        found = offset(view.line.curve, view.out * away, closed=False, join="round", accuracy=0.1)
    except RequestError:
        return None
    return measure(found[0]) if found else None


def _measuring_lines(
    view: _View, beside: Measured, away: float, stretches: Sequence[tuple[float, float]]
) -> list[Array]:
    """A measuring line beside each stretch of a span, with a tick across it where the span begins and where it ends."""
    out = []
    for i, (a, b) in enumerate(stretches):
        first, last = _foot(view, beside, away, a), _foot(view, beside, away, b)
        if last - first > _NOTHING:
            line = beside.part(first, last)
            before = [_tick(view, line[0, 0], a)] if i == 0 else []
            after = [_tick(view, line[-1, 3], b)] if i + 1 == len(stretches) else []
            out.append(_linked([*before, line, *after], closed=False))
    return out


def _foot(view: _View, beside: Measured, away: float, s: float) -> float:
    """The length along the measuring line that lies beside a length of the edge."""
    if s < _NOTHING or s > view.line.length - _NOTHING:
        return 0.0 if s < _NOTHING else beside.length
    point, inward = view.at(s)
    found = nearest(beside.curve, (point - away * inward)[None])
    return float(beside.lengths(found.segment, found.t)[0])


def _tick(view: _View, at: Array, s: float) -> Array:
    """A stroke across a measuring line, there and back to it."""
    half = 0.7 * view.size * view.at(s)[1]
    return cubics.lines([at, at + half, at - half, at])


def _scallops(count: float) -> str:
    return f"{count:g} scallop{'' if count == 1 else 's'}"


def _name_joints(paper: _Paper, view: _View, bands: Sequence[_Band]) -> None:
    laid = view.run.laid
    for k, band in enumerate(bands):
        for end in (False, True):
            joint = _joint_at(view, k, end)
            # What is named at one part's end is not named again at the next one's start.
            if joint is None or (not end and (k > 0 or (laid.loop and not view.reopens))):
                continue
            line = _joint_line(view, joint, band.sides[end])
            paper.name(_joint_text(view, joint, k, end), line[-1, 3], joint.along)


def _joint_text(view: _View, joint: Joint, part: int, end: bool) -> list[str]:
    laid = view.run.laid
    lines = [joint.kind, _plain(joint.name)]
    if laid.loop and (not end or part + 1 == len(laid.parts)):
        lines.append("closes the loop")
    if joint.meeting is None:
        lines.append("mirror image beyond")
    if joint.lap:
        lines.append(f"{joint.lap:g} mm on each side")
    if not is_true(joint):
        lines.append(f"turns {abs(math.degrees(joint.true.angle)):.1f}°,")
        what = "dips" if joint.true.side * view.out < 0 else "peaks"
        lines.append("smoothed here" if joint.trued else f"{what} by {joint.true.dip:.2f} mm")
    return lines


def _title(paper: _Paper, run: Run) -> None:
    """The run's name and figures above everything."""
    total = run.laid.line.measured.length
    figures = [f"{total:.2f} mm", *([_scallops(run.count)] if run.fit is not None else _trim_counts(run))]
    lines = [f"{_plain(run.name)}: {', '.join(figures)}, laid flat as sewn"]
    copies = opened(run.laid)
    if copies > 1:
        where = "its folds" if all(run.laid.folds) else "the fold"
        opened_count = f"{_scallops(run.count * copies)} on " if run.fit is not None else ""
        lines.append(f"opened at {where}: {opened_count}{total * copies:.2f} mm")
    (left, top), _ = paper.extent().tolist()
    for i, line in enumerate(lines):
        y = top - (_LEADING * (len(lines) - i) + 1.0) * paper.size
        paper.write([line], np.array([left, y]), bold=i == 0, anchor="start")


def _trim_counts(run: Run) -> list[str]:
    eyelets, notches = (sum(map(len, rows)) for rows in (run.eyelets, run.notches))
    words = ((eyelets, "eyelet", "eyelets"), (notches, "notch", "notches"))
    return [f"{n} {one if n == 1 else many}" for n, one, many in words if n]


def _legend(paper: _Paper) -> None:
    """A rule of 100 mm, and what lines and signs mean, below everything."""
    (left, _), (right, bottom) = paper.extent().tolist()
    size = paper.size
    y = bottom + 3.0 * size
    rule = [(0.0, -0.5), (0.0, 0.5), (0.0, 0.0), (_RULE / size, 0.0), (_RULE / size, -0.5), (_RULE / size, 0.5)]
    paper.stroke("legend", "measure", cubics.lines(np.array([left, y]) + size * np.array(rule)), "rule of 100 mm")
    paper.write(["100 mm at full size"], np.array([left + _RULE + 0.8 * size, y - 0.7 * size]), anchor="start")
    right = max(right, left + 40.0 * size)
    x, y = left, y + 2.5 * size
    for kind, text in [*((k, _LINE_TEXTS[k]) for k in paper.lines), *((k, _HOLD_TEXTS[k]) for k in paper.signs)]:
        sample = (5.0 if kind in _DRAWN_LONG else 1.5) * size
        width = sample + 2.0 * size + _extent([text], size, bold=False)[0]
        if x + width > right:
            x, y = left, y + 1.8 * size
        _sample(paper, kind, np.array([(x, y), (x + sample, y)]))
        paper.write([text], np.array([x + sample + 0.5 * size, y - 0.7 * size]), anchor="start")
        x += width


def _sample(paper: _Paper, kind: str, ends: Array) -> None:
    """What a line or a sign looks like, between two ends."""
    label, middle = f"sign: {kind}", ends.mean(axis=0)
    if kind in _HOLD_TEXTS:
        # As it is seen in the picture: with the cloth above it, or below.
        down = -1.0 if paper.signs[kind][1] < 0.0 else 1.0
        paper.sign("legend", kind, middle, np.array([0.0, down]), label)
    elif kind in ("eyelet", "placement"):
        paper.circle("legend", kind, middle, 0.7 * paper.size, label)
    elif kind == "notch":
        half = np.array([0.0, 0.4 * paper.size])
        paper.stroke("legend", kind, cubics.lines([middle - half, middle + half]), label)
    else:
        paper.stroke("legend", kind, cubics.lines(ends), label)
