"""Facings of a run as pieces to cut: shaped ones, straight strips and bands, drawn beside the pattern's own pieces.

A facing lies on the sheet as the first piece that it faces does, so that their grains are parallel. It is sewn face to
face with the garment: where only one is cut it is drawn as its mirror image. Its cutting line has the role `facing`,
and so belongs to what other things keep clear of; its stitching line has the role `placement`, for the lines of the
role `stitching` in a run's group are those of the run itself.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
from lxml import etree

from ..construction.facing import FOLD, FREE, SEAM, Facing, shaped_facings
from ..construction.facing_cut import FacingCut, facing_cut
from ..construction.stitching import bare_stretches
from ..construction.strip import Cloth, band_length, band_pieces, ease, strip_facing
from ..construction.trimmed_edge import STRAIGHT
from ..errors import NameUnknownError, RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.length import Measured, measure
from ..geometry.nearest import nearest
from ..pattern.grain import grain_of
from ..pattern.joins import DART, LAP
from ..pattern.joins import FOLD as FOLD_JOIN
from ..pattern.piece import Warn
from ..trim.fastenings import EYELET
from ..trim.notches import SNIP, USUAL
from ..trim.row import WHOLE
from ..trim.scallops import Scallops, crest_lengths, valleys
from ..trim.sharing import share_curves
from .drawing import Drawing
from .facing_lines import crossed_lines
from .finishing import FACED, Finish, flat_cut_of
from .group import Pen
from .inside import Writing, grain_inside, written
from .kept import kept_pieces
from .lettering import one_line
from .numbers import decimals, path_text
from .recipe import FacingWords, PieceRecipe, PieceWords
from .runs import Run
from .sheet import on_sheet, parts_at, to_sheet
from .units import parse_length
from .wishes import one_of, refuse_unwritable, whole_number

if TYPE_CHECKING:
    from ..construction.match_marks import MatchMark, SewnNotch

SHAPED, STRIP, BAND = "shaped", "strip", "band"
KINDS = (SHAPED, STRIP, BAND)
NO_INTERLINING, NET, FULL = "", "net", "full"
ALL = "all"

# Neck facings are 2 to 2 1/2 in deep, shaped ones 1 1/2 in (Conover, vol. 3, p. 50).
_DEPTH = 50.0
_MOST_GAP = 1.0
_SEAM = 15.0
# A facing of a scalloped valance reaches 1 1/2 in beyond the scallops; under so much, mm, of cloth between the valleys
# and its inner edge it rolls out and leaves no room for the allowance; common practice, no source.
_SHALLOW = 15.0
# Ends of a band lie over each other by so much, mm; common practice, no source.
_OVERLAP = 20.0
# Longer bands, mm, are told of and not drawn.
_LONGEST_DRAWN = 2000.0
# Flanges that reach past an inner edge by less, mm, are on the facing.
_SEEN = 0.1
# A strip that is longer or shorter by more than this at its inner edge is told of: 2 to 3 % of ease can be set into a
# flat seam; common practice, no source.
_EASE = 0.03
# An edge that turns by this or more, radians, has a corner there.
_CORNER = math.radians(15.0)
# Folds nearer to one direction, or to a whole share of a half turn, than this are so; parallel ones nearer than this,
# mm, are one.
_PARALLEL, _ONE_LINE = math.radians(1.0), 1.0
# Outlines that lie within this of their own mirror image, mm, are symmetrical.
_ALIKE = 0.02
_AT = 1e-6
_ARROW = 3.0
_MIDDLES = 81
_LOOKS = 16
# Places so far apart, mm, tell whether a facing is its own mirror image: nearer than any two valleys. Notches are told
# by themselves.
_COMPARED = 2.0
_PLACES = 6


@dataclass(frozen=True, eq=False)
class Shape:
    """All lines of a facing in one frame, mm.

    Attributes:
        stitching: where it is sewn to the edge (n, 4, 2), walked in the run's direction.
        inner: its inner edge, walked likewise.
        net: the closed lines that bound it without allowances.
        cutting: the closed lines that it is cut along.
        seams: where it is sewn, or turned in, at its other ends.
        folds: the straight lines at which it lies on a fold.
        corners: the ends (4, 2) of its stitching line and its inner edge: start and end of the one, end and start of
            the other; none of a ring.
        notches: its match marks as polylines (k, 2).
        valleys: the valleys (k, 2) on it.
        along: points (k, 2) along its middle.
    """

    stitching: Array
    inner: Array
    net: tuple[Array, ...]
    cutting: tuple[Array, ...]
    seams: tuple[Array, ...]
    folds: tuple[Array, ...]
    corners: Array
    notches: tuple[Array, ...]
    valleys: Array
    along: Array

    def carried(self, by: Array) -> Shape:
        """The same lines carried by a motion."""

        def each(lines: tuple[Array, ...]) -> tuple[Array, ...]:
            return tuple(motion.apply(by, line) for line in lines)

        one = [motion.apply(by, line) for line in (self.stitching, self.inner, self.corners, self.valleys, self.along)]
        return Shape(
            one[0],
            one[1],
            each(self.net),
            each(self.cutting),
            each(self.seams),
            each(self.folds),
            one[2],
            each(self.notches),
            one[3],
            one[4],
        )


@dataclass(frozen=True, eq=False)
class MadeFacing:
    """One piece of a facing as it is cut.

    Attributes:
        name: "hem facing", or "hem facing 2" where there are several; "hem band".
        run: the run's name.
        kind: SHAPED, STRIP or BAND.
        pieces: the pattern's pieces that it is sewn to.
        shape: its lines, where they lie before it is moved to a free place; None where it is too long to be drawn.
        ends: SEAM, FOLD or FREE at its start and its end; of a ring empty.
        depth: from the edge line to its inner edge, or a band's width, mm.
        length: its sewn length along the run, mm; of a band its own.
        area: its net area, mm².
        begin: where along the run it begins, mm.
        valleys_s: lengths (k,) along the run of the valleys on it, mm.
        count: how many are cut.
        cut: how that is told: "cut 2, a pair".
        mirrored: whether it is drawn as its mirror image.
        interlining: NO_INTERLINING, NET (to its stitching lines) or FULL (as it is cut).
        grain: its grain line (2, 2).
        label: what is written on it.
        low, high: the corners (2,) of its box, its label with it.
        marks: notches that match its own on the piece that it faces, where the run has none.
        cloth, interlining_cloth: what it and its interlining are cut from; empty where nothing is said.
    """

    name: str
    run: str
    kind: str
    pieces: tuple[str, ...]
    shape: Shape | None
    ends: tuple[str, ...]
    depth: float
    length: float
    area: float
    begin: float
    valleys_s: Array
    count: int
    cut: str
    mirrored: bool
    interlining: str
    grain: Array
    label: Writing | None
    low: Array
    high: Array
    marks: tuple[SewnNotch, ...] = ()
    cloth: str = ""
    interlining_cloth: str = ""

    @property
    def drawn(self) -> bool:
        """Whether it is drawn at all."""
        return self.shape is not None


@dataclass(frozen=True)
class _Wish:
    """What is wanted of a facing; lengths in mm."""

    kind: str
    depth: float
    most_gap: float
    seam: float
    inner: float
    turn: float
    interlining: str
    interlining_cloth: str
    longest: float
    cloth: str
    size: str


@dataclass(frozen=True, eq=False)
class _Draft:
    """A facing in the frame in which its first piece lies on the sheet, or in one of its own, before it is finished.

    `folded` is how many times its two folds, at both of its ends, fold it up: 1 where they are one line; 0 where it has
    no two. `seam_at` is the name of the fold at which it has a seam instead. `marks` are the notches that its piece
    needs along the trimmed edge to match its own.
    """

    shape: Shape | None
    pieces: tuple[str, ...]
    ends: tuple[str, ...]
    copies: int
    grain: Array
    length: float
    area: float
    begin: float
    valleys_s: Array
    folded: int = 0
    seam_at: str = ""
    marks: tuple[SewnNotch, ...] = ()


@dataclass(frozen=True)
class _Stretch:
    """Parts that follow each other with no lap between them, which a strip or a band goes along in one.

    Attributes:
        parts: their numbers, in order.
        begin, end: from where to where along the run, mm, the laps at its ends with it; perhaps in the next turn.
        ends: SEAM, FOLD or FREE at its start and its end; SEAM where a loop without laps meets itself.
    """

    parts: tuple[int, ...]
    begin: float
    end: float
    ends: tuple[str, str]

    @property
    def length(self) -> float:
        return self.end - self.begin


# ---------------------------------------------------------------- making


def facings_of(
    drawing: Drawing, run: Run, words: FacingWords, number: int = 0
) -> tuple[tuple[MadeFacing, ...], tuple[Warn, ...]]:
    """The facings of a run, or the strips or bands instead, with warnings about places on the sheet.

    Args:
        drawing: the drawing, for grain lines.
        run: the run, with scallops and its finish.
        words: what was asked for.
        number: the number in the name of the first of them; 0 counts from 1, and only where there are several.

    Raises:
        RequestError, NameUnknownError: a word can't be read, or no such facing can be made.
    """
    wish = _wish(words)
    placed, finish = _refuse_unfit(run, wish)
    warnings: tuple[Warn, ...] = ()
    found: tuple[Facing, ...] = ()
    if wish.kind == BAND or finish is None:
        drafts = _bands(run, wish)
    elif wish.kind == STRIP:
        drafts = _strips(run, placed, finish, wish)
        warnings = on_sheet(run, [*_depth_warnings(run, placed, wish), *_ease_warnings(run, wish)])
    else:
        merged = _merged(run, words.across)
        found, told = shaped_facings(
            run.laid, run.line, run.shares, run.origin, wish.depth, merged, wish.most_gap, wish.turn
        )
        drafts = [_shaped(drawing, run, placed, finish, wish, facing) for facing in found]
        warnings = (*told, *on_sheet(run, _depth_warnings(run, placed, wish)))
    first = number or 1
    several = number > 0 or len(drafts) > 1
    called = f"{run.name} {BAND if wish.kind == BAND else 'facing'}"
    names = [f"{called} {first + k}" if several else called for k in range(len(drafts))]
    for facing, name in zip(found, names, strict=False):
        warnings += crossed_lines(drawing, run, facing, name, _least_depth(run, placed))
    cut = kept_pieces(drawing.source)
    made = zip(drafts, names, (_cloth_and_size(cut, wish, draft) for draft in drafts), strict=True)
    return tuple(_finished(run, wish, draft, name, own) for draft, name, own in made), warnings


def _cloth_and_size(cut: Mapping[str, PieceRecipe], wish: _Wish, draft: _Draft) -> tuple[str, str]:
    """A facing's cloth and size: its own, else what is told alike of all pieces that it faces."""
    words = [cut[piece].words if piece in cut else PieceWords() for piece in draft.pieces]
    cloths, sizes = {one.cloth for one in words}, {one.size for one in words}
    cloth = wish.cloth or (cloths.pop() if len(cloths) == 1 else "")
    size = wish.size or (sizes.pop() if len(sizes) == 1 else "")
    return cloth, size


def _wish(words: FacingWords) -> _Wish:
    kind = one_of(words.kind, KINDS, "--kind")
    unfit = {SHAPED: ("longest",), STRIP: ("across", "most_gap", "turn"), BAND: ("across", "most_gap", "turn")}
    for name in (*unfit[kind], *(("inner", "interlining", "interlining_cloth") if kind == BAND else ())):
        if getattr(words, name):
            raise RequestError(f"--{name.replace('_', '-')} is no word for a {kind} facing: leave it out")
    named = (("--cloth", words.cloth), ("--size", words.size), ("--interlining-cloth", words.interlining_cloth))
    for option, text in named:
        refuse_unwritable(text, option)
    if words.interlining_cloth and not words.interlining:
        raise RequestError(
            f"--interlining-cloth {words.interlining_cloth} goes with --interlining: give both, or leave it out"
        )
    most_gap = _length(words.most_gap, "most-gap", _MOST_GAP)
    if most_gap == 0.0:
        raise RequestError(
            f"--most-gap {words.most_gap} lets a facing go across no seam, for no two pieces meet so exactly: give 1mm "
            "or a little more, or name no seam for it to go across"
        )
    return _Wish(
        kind,
        _length(words.depth, "depth", _DEPTH, positive=True),
        most_gap,
        _length(words.seam, "seam", _SEAM),
        _length(words.inner, "inner", 0.0),
        _length(words.turn, "turn", 0.0),
        one_of(words.interlining, (NO_INTERLINING, NET, FULL), "--interlining"),
        one_line(words.interlining_cloth) if words.interlining_cloth else "",
        _length(words.longest, "longest", math.inf, positive=True),
        words.cloth,
        words.size,
    )


def _length(text: str, name: str, usual: float, positive: bool = False) -> float:
    return parse_length(text, f"a facing's --{name}", "positive" if positive else "not-negative") if text else usual


def _refuse_unfit(run: Run, wish: _Wish) -> tuple[Scallops, Finish | None]:
    if run.scallops is None:
        raise RequestError(f'the run "{run.name}" has no scallops, so there is no trimmed edge to face')
    if wish.kind != BAND and (run.finish is None or run.finish.kind != FACED):
        raise RequestError(
            f'a {wish.kind} facing goes with an edge that is faced, and "{run.name}" is '
            f"{'not finished' if run.finish is None else run.finish.kind}: give it the finish {FACED}, or take a {BAND}"
        )
    return run.scallops, run.finish


def _merged(run: Run, across: Sequence[str]) -> set[int]:
    """The numbers of the joints over which a facing goes in one piece."""
    joints = run.laid.joints
    able = [k for k, joint in enumerate(joints) if joint.kind not in (DART, FOLD_JOIN, LAP)]
    if tuple(across) == (ALL,):
        return set(able)
    known = {joint.name for joint in joints}
    for name in across:
        if name not in known:
            there = ", ".join(f'"{joints[k].name}"' for k in able) or "none"
            raise NameUnknownError(f'--across {name}: no join of "{run.name}" lies there; a facing can go over {there}')
    return {k for k, joint in enumerate(joints) if joint.name in across}


def _finished(run: Run, wish: _Wish, draft: _Draft, name: str, cloth_and_size: tuple[str, str]) -> MadeFacing:
    """A facing turned over where it has to be, with its grain line and its label, cloth and size on it."""
    cloth, size = cloth_and_size
    told = [one_line(text) for text in (cloth, size and f"size {size}") if text]
    count, cut, single = _cutting(run, draft)
    shape, mirrored = draft.shape, False
    if shape is not None and single and wish.kind != BAND:
        over = _turned_over(shape, draft.grain)
        mirrored = over is not None
        shape = shape if over is None else shape.carried(over)
    cut += " (drawn mirrored)" if mirrored else ""
    grain, label, low, high = np.zeros((2, 2)), None, np.zeros(2), np.zeros(2)
    if shape is not None:
        grain = grain_inside(shape.net, shape.along, draft.grain)
        lines = (*shape.folds, cubics.lines(grain), *(cubics.lines(notch) for notch in shape.notches))
        label = written(_texts(name, draft.pieces, cut, wish, told), shape.net, shape.along, lines)
        box = [*(cubics.bounds(curve) for curve in shape.cutting), *shape.notches, label.box]
        low, high = np.concatenate(box).min(axis=0), np.concatenate(box).max(axis=0)
    return MadeFacing(
        name,
        run.name,
        wish.kind,
        draft.pieces,
        shape,
        draft.ends,
        wish.depth,
        draft.length,
        draft.area,
        draft.begin,
        draft.valleys_s,
        count,
        cut,
        mirrored,
        wish.interlining,
        grain,
        label,
        low,
        high,
        draft.marks,
        cloth,
        wish.interlining_cloth,
    )


def _cutting(run: Run, draft: _Draft) -> tuple[int, str, bool]:
    """How many are cut, how that is told, and whether all are alike, so that right and left must not be mistaken."""
    if draft.folded > 1:
        count = whole_number(run.recipe.edge.times, "--times") or 1
        return count, f"cut {count} on both folds", False
    if FOLD in draft.ends:
        count = max(1, draft.copies // 2)
        seam = f', with a seam at "{draft.seam_at}"' if draft.seam_at else ""
        return count, f"cut {count} on the fold{seam}", False
    if draft.copies % 2 == 0:
        pairs = draft.copies // 2
        return draft.copies, f"cut {draft.copies}, {'a pair' if pairs == 1 else f'{pairs} pairs'}", False
    return draft.copies, f"cut {draft.copies}", True


def _middle(shape: Shape, grain: Array) -> Array:
    """A point of the line along the grain in which a facing is turned over, so that it stays where it is."""
    across = cubics.left(grain)
    points = np.concatenate([cubics.flatten(curve, 0.01) for curve in shape.cutting])
    reach = points @ across
    return np.asarray(0.5 * (reach.min() + reach.max()) * across)


def _turned_over(shape: Shape, grain: Array) -> Array | None:
    """The map that turns a facing over along its grain where it lies; None where it is its own mirror image."""
    over = motion.mirrored(_middle(shape, grain), grain)
    return None if _alike(shape, shape.carried(over)) else over


def _alike(shape: Shape, other: Shape) -> bool:
    """Whether a facing is its own mirror image."""
    feet, others = (np.array([notch.mean(axis=0) for notch in one.notches]).reshape(-1, 2) for one in (shape, other))
    if not all(float(cubics.norm(feet - foot).min()) < _ALIKE for foot in others):
        return False
    curve, images = np.concatenate(shape.net), [measure(ring) for ring in other.net]
    if len(images) == 1 and _walked_alike(curve, images[0]):
        return True
    points = np.concatenate([m.points(np.arange(0.0, m.length, _COMPARED)) for m in images])
    # A few places tell most that are not.
    looks = (points[:: max(1, len(points) // _LOOKS)], points)
    return all(bool(nearest(curve, some).distance.max() < _ALIKE) for some in looks)


def _walked_alike(ring: Array, image: Measured) -> bool:
    """Whether a closed line, walked the other way from where its mirror image starts, is at the same places as that."""
    own = measure(ring, motion.IDENTITY)
    if abs(own.length - image.length) > _ALIKE:
        return False
    start, s = nearest(ring, image.curve[:1, 0]), np.arange(0.0, own.length, _COMPARED)
    back = own.lengths(start.segment, start.t) - s
    return bool((cubics.norm(own.points(back) - image.points(s)) < _ALIKE).all())


def _texts(name: str, pieces: Sequence[str], cut: str, wish: _Wish, told: Sequence[str]) -> list[tuple[str, ...]]:
    """What is written on a facing, in lines of several lengths."""
    *most, last = (one_line(piece) for piece in pieces)
    whose = f"for {', '.join(most)} and {last}" if most else f"for {last}"
    how = (
        f"{'straight strip, ' if wish.kind == STRIP else ''}{_mm(wish.depth)} {'wide' if wish.kind == BAND else 'deep'}"
    )
    stiffened = f"interlining{f' ({wish.interlining_cloth})' if wish.interlining_cloth else ''}"
    lined = {NO_INTERLINING: (), NET: (f"{stiffened} to the stitching lines",), FULL: (f"{stiffened} as it is cut",)}
    own = (one_line(name), cut, whose, how, *told, *lined[wish.interlining])
    pairs = tuple(", ".join(own[k : k + 2]) for k in range(0, len(own), 2))
    return [own, pairs, (", ".join(own),)]


# ---------------------------------------------------------------- shaped facings


def _shaped(drawing: Drawing, run: Run, placed: Scallops, finish: Finish, wish: _Wish, facing: Facing) -> _Draft:
    laid, copies = run.laid, run.copies * _times_in_run(run, facing)
    folded, seam_at = _two_folds(run, facing, copies), ""
    if folded == 0 and facing.ends == (FOLD, FOLD):
        seam_at = _fold_name(run, facing.parts[-1])
        facing = replace(facing, ends=(FOLD, SEAM))
    along = flat_cut_of(run, finish, () if facing.ring else facing.parts, wish.turn)
    height = finish.cut.distance + (run.greatest_height if finish.cut.kind == STRAIGHT else 0.0)
    cut = facing_cut(facing, height, wish.seam, wish.inner, along)
    points, s = _valleys_on(run, placed, facing.begin, facing.finish)
    pieces = tuple(dict.fromkeys(laid.parts[k].edge.piece.name for k in facing.parts))
    outer = [facing.edge[0, 0], facing.edge[-1, 3], facing.inner[-1, 3], facing.inner[0, 0]]
    ends = () if facing.ring else (facing.start, facing.end)
    first, onto = laid.parts[facing.parts[0]], to_sheet(laid, facing.parts[0])
    line = grain_of(drawing.pattern, first.edge.piece)
    grain = np.array([0.0, -1.0]) if line is None else (line[1] - line[0]) / float(np.hypot(*(line[1] - line[0])))
    bare = Shape(
        facing.edge,
        facing.inner,
        facing.rings,
        cut.curves,
        tuple(line for line, kind in zip(ends, facing.ends, strict=True) if kind != FOLD),
        tuple(line for line, kind in zip(cut.ends, facing.ends, strict=True) if kind == FOLD and len(line)),
        np.zeros((0, 2)) if facing.ring else np.array(outer),
        (),
        points,
        _between(facing.source, facing.inner),
    ).carried(onto)
    # A ring that is its own mirror image fits as it comes.
    marks = () if facing.ring and _turned_over(bare, grain) is None else _edge_marks(run, placed, facing)
    on_edge = _on_edge(run, facing, cut, finish.cut.distance, (*run.sewn_notches, *marks))
    carried = tuple(motion.apply(onto, notch) for notch in _notches_on(run, facing, cut, on_edge, wish))
    return _Draft(
        replace(bare, notches=carried),
        pieces,
        facing.ends,
        copies,
        grain,
        facing.finish - facing.begin,
        facing.area,
        facing.begin,
        s,
        folded,
        seam_at,
        tuple(replace(mark, line=motion.apply(onto, on.line)) for mark, on in zip(marks, on_edge, strict=False)),
    )


def _two_folds(run: Run, facing: Facing, copies: int) -> int:
    """How many times the two folds of a facing fold up what closes round the place where they cross; 0 if none does.

    As often as their angle goes into a half turn, where so many are needed; where both are one line, once.
    """
    if facing.ends != (FOLD, FOLD):
        return 0
    a, b = (cubics.ends_direction(line)[0] for line in (facing.start, facing.end))
    angle = math.atan2(abs(float(cubics.cross(a, b))), abs(float(cubics.dot(a, b))))
    if angle < _PARALLEL:
        times = int(abs(float(cubics.cross(a, facing.end[0, 0] - facing.start[0, 0]))) < _ONE_LINE)
    else:
        times = round(math.pi / angle)
        times = times if abs(math.pi / times - angle) < _PARALLEL else 0
    return times if copies == 2 * times * (whole_number(run.recipe.edge.times, "--times") or 1) else 0


def _fold_name(run: Run, part: int) -> str:
    """What the fold behind a part is called."""
    laid = run.laid
    if not laid.loop and part + 1 == len(laid.parts):
        fold = laid.folds[1]
        return laid.line.end if fold is None else fold.name
    return laid.joints[part].name


def _times_in_run(run: Run, facing: Facing) -> int:
    """How often a facing lies in the run itself: twice where the run goes on over the other half of its pieces."""
    parts = run.laid.parts

    def original(k: int) -> int:
        other = parts[k].copy_of
        return k if other is None else other

    own = {original(k) for k in facing.parts}
    return 1 + any(original(k) in own for k in range(len(parts)) if k not in facing.parts)


def _valleys_on(run: Run, placed: Scallops, begin: float, finish: float) -> tuple[Array, Array]:
    """The valleys from one length along the run to another, which may lie in the next turn, and their lengths."""
    points, lengths = _valleys_between(run, placed, begin, finish)
    return points, np.mod(lengths, run.laid.line.measured.length) if run.laid.loop else lengths


def _valleys_between(run: Run, placed: Scallops, begin: float, finish: float) -> tuple[Array, Array]:
    """The same with lengths that go on into the next turn."""
    points, s = valleys(placed.row, run.course.measured.closing)
    long = run.laid.line.measured.length
    along = s + run.origin
    turns = np.floor(along / long).astype(int) if run.laid.loop else np.zeros(len(s), dtype=int)
    found: list[tuple[float, Array]] = []
    for point, at, turn in zip(points, along.tolist(), turns.tolist(), strict=True):
        for later in range(-1, 3) if run.laid.loop else (0,):
            there = at + (later - turn) * long
            if begin - _AT <= there <= finish + _AT:
                found.append((there, motion.apply(run.laid.turned(later - turn), point)))
    found.sort(key=lambda one: one[0])
    return np.array([one[1] for one in found]).reshape(-1, 2), np.array([one[0] for one in found])


def _between(source: Array, inner: Array) -> Array:
    """Points along the middle of a facing, in order."""
    m = measure(source)
    share = (np.arange(_MIDDLES) + 0.5) / _MIDDLES
    points = m.points(share * m.length)
    return np.asarray(0.5 * (points + nearest(inner, points).point))


def _notches_on(run: Run, facing: Facing, cut: FacingCut, own: Sequence[MatchMark], wish: _Wish) -> tuple[Array, ...]:
    """All match marks of a facing, each once: where the garment's seams meet it, its own seams, and its edge."""
    # Loaded only where there are facings.
    from ..construction.facing_marks import along_seams, over_seams

    distance = run.finish.cut.distance if run.finish is not None else 0.0
    out = over_seams(run.laid, facing, cut, distance, wish.inner)
    seams = [mark[0] for mark in out]
    once = [mark.line for mark in own if not any(cubics.norm(mark.foot - seam) < _ALIKE for seam in seams)]
    return (*out, *along_seams(run.laid, facing, wish.seam), *once)


def _edge_marks(run: Run, placed: Scallops, facing: Facing) -> tuple[SewnNotch, ...]:
    """Notches amid a facing's trimmed edge, if nothing else tells how it lies on its piece; as on the sheet."""
    marked = SEAM in facing.ends or len(facing.parts) > 1 or (facing.ring and bool(run.laid.joints))
    if run.sewn_notches or marked:
        return ()
    # Loaded only where they are needed.
    from ..construction.facing_marks import middle_lengths
    from ..construction.match_marks import SewnNotch

    whole = np.flatnonzero(placed.row.part == WHOLE)
    lengths = crest_lengths(placed.row)[whole]
    along = run.along_run(lengths)
    middle = np.isin(along, middle_lengths(along.tolist(), facing.begin, facing.finish))
    chosen = whole[middle]
    parts, turns = parts_at(run, placed.crest[chosen], lengths[middle])
    out = []
    for i, s, part, turn in zip(chosen.tolist(), along[middle].tolist(), parts.tolist(), turns.tolist(), strict=True):
        crest, outward = placed.crest[i], placed.axis[i]
        mark = SewnNotch(run.name, part, s, crest, outward, np.stack([crest, crest - outward]), SNIP)
        if part == facing.parts[0]:
            out.append(mark.carried(to_sheet(run.laid, part, turn)))
    return tuple(out)


def _on_edge(
    run: Run, facing: Facing, cut: FacingCut, allowance: float, notches: Sequence[SewnNotch]
) -> list[MatchMark]:
    """Notches of the run along a facing, on its cutting line in the same sewn places as on the pieces it faces."""
    # Loaded only where there are notches.
    from ..construction.match_marks import carried_out

    laid, out = run.laid, []
    for number in range(facing.parts[0], facing.parts[0] + len(facing.parts)):
        turn, own = divmod(number, len(laid.parts))
        copied = laid.parts[own].copy_of
        onto = motion.compose(laid.turned(turn), laid.parts[own].motion)
        here = [notch.carried(onto) for notch in notches if notch.part == (own if copied is None else copied)]
        out += [carried_out(notch, cut.edge, allowance, facing.edge, "its facing") for notch in here]
    return out


def _depth_warnings(run: Run, placed: Scallops, wish: _Wish) -> list[Warn]:
    """Warnings where a facing hardly reaches past the scallops, and where eyelets reach past it; in the flat frame."""
    piece, out = run.edge.piece.name, []
    deepest, least = float(placed.depth.max()), _least_depth(run, placed)
    if wish.depth < least:
        x, y = placed.crest[int(np.argmax(placed.depth))]
        text = f"a facing {_mm(wish.depth)} deep reaches only {_mm(wish.depth - least + _SHALLOW)} past the valleys of "
        text += f"scallops {_mm(deepest)} deep: take {_mm(least)} or more; 38 mm past is usual"
        out.append(Warn("facing-shallow", text, piece, float(x), float(y)))
    curve, cloth = run.course.measured.curve, -(run.laid.line.outside or run.course.side)
    for eyelets in run.eyelets:
        if not len(eyelets.points):
            continue
        foot = nearest(curve, eyelets.points)
        into = cloth * cubics.left(cubics.direction(curve, foot.segment, foot.t))
        past = cubics.dot(eyelets.points - foot.point, into) + 0.5 * eyelets.size.deep - wish.depth
        if past.max() > _SEEN:
            i = int(np.argmax(past))
            what = "flange of an eyelet" if eyelets.size.part == EYELET else f"rim of a {eyelets.size.part}"
            text = f"the {what} reaches {past[i]:.1f} mm past the inner edge of a facing {_mm(wish.depth)} "
            text += f"deep, and grips one layer less there: make the facing {_mm(wish.depth + past[i])} deep or more"
            out.append(Warn("eyelet-past-facing", text, piece, *map(float, eyelets.points[i])))
    return out


def _least_depth(run: Run, placed: Scallops) -> float:
    """The least depth of a facing that reaches far enough past its valleys, mm from the edge line."""
    # Of the scallops' depth, what lies outside the edge line already is no depth of the facing.
    return float(placed.depth.max()) - run.greatest_height + _SHALLOW


# ---------------------------------------------------------------- strips and bands


def _strips(run: Run, placed: Scallops, finish: Finish, wish: _Wish) -> list[_Draft]:
    """Straight strips: sewn on along the edge line, cut to the scallops after they are traced and sewn."""
    _refuse_corners(run)
    return [draft for stretch in _stretches(run) for draft in _strips_along(run, placed, finish, wish, stretch)]


def _strips_along(run: Run, placed: Scallops, finish: Finish, wish: _Wish, stretch: _Stretch) -> list[_Draft]:
    round_again, turn, long = _meets_itself(run, stretch), run.laid.line.measured.length, stretch.length
    crests = run.along_run(crest_lengths(placed.row)[placed.row.part == WHOLE])
    # The ends of a loop's strip meet at a crest, too.
    begin = float(crests.min()) if round_again and len(crests) else stretch.begin
    at = np.sort(np.concatenate([crests + k * turn for k in (-1, 0, 1, 2)] if run.laid.loop else [crests]) - begin)
    beyond = [None if end == FOLD else wish.seam for end in stretch.ends]
    cloth = Cloth(wish.longest, wish.seam, (beyond[0], beyond[1]))
    strip = strip_facing(long, wish.depth, at[(at > _AT) & (at < long - _AT)].tolist(), cloth)
    _, s = _valleys_between(run, placed, begin, begin + long)
    above = run.greatest_height + finish.cut.distance
    stops, last = [0.0, *strip.joins, long], len(strip.joins)
    drafts = []
    for k, (a, b) in enumerate(pairwise(stops)):
        ends, seam_at = _piece_ends(run, stretch, first=k == 0, last=k == last)
        here = (s - begin > a - _AT) & (s - begin < b + _AT)
        shape = _rectangle(
            run,
            b - a,
            (above, wish.depth, wish.inner),
            tuple(0.0 if end == FOLD else wish.seam for end in ends),
            ends,
            s[here] - begin - a,
        )
        drafts.append(
            _Draft(
                shape,
                _piece_names(run, stretch),
                ends,
                run.copies,
                np.array([1.0, 0.0]),
                b - a,
                (b - a) * wish.depth,
                (begin + a) % turn if run.laid.loop else begin + a,
                np.mod(s[here], turn) if run.laid.loop else s[here],
                seam_at=seam_at,
            )
        )
    return drafts


def _bands(run: Run, wish: _Wish) -> list[_Draft]:
    """Bands that bind the trimmed edge, in pieces as long as the cloth allows; cut on the bias."""
    return [draft for stretch in _stretches(run, FREE) for draft in _bands_along(run, wish, stretch)]


def _bands_along(run: Run, wish: _Wish, stretch: _Stretch) -> list[_Draft]:
    # At its free ends the overlap is all that is needed.
    beyond = [{FOLD: None, FREE: 0.0}.get(end, wish.seam) for end in stretch.ends]
    cloth = Cloth(wish.longest, wish.seam, (beyond[0], beyond[1]))
    pieces = band_pieces(_bound(run, stretch) + _OVERLAP, cloth)
    drafts = []
    for k, long in enumerate(pieces):
        ends, seam_at = _piece_ends(run, stretch, first=k == 0, last=k == len(pieces) - 1)
        added = tuple(wish.seam if end == SEAM else 0.0 for end in ends)
        drawn = long + sum(added) <= _LONGEST_DRAWN
        shape = _rectangle(run, long, (0.0, wish.depth, 0.0), added, ends, np.zeros(0)) if drawn else None
        bias = np.array([math.sqrt(0.5), -math.sqrt(0.5)])
        names = _piece_names(run, stretch)
        drafts.append(
            _Draft(shape, names, ends, run.copies, bias, long, long * wish.depth, 0.0, np.zeros(0), seam_at=seam_at)
        )
    return drafts


def _stretches(run: Run, loop: str = SEAM) -> list[_Stretch]:
    """The run parted at its laps, which open; `loop` is how the ends of a loop without laps meet."""
    laid = run.laid
    n, long = len(laid.parts), laid.line.measured.length
    laps = [k for k, joint in enumerate(laid.joints) if joint.kind == LAP]
    if not laps:
        return [_Stretch(tuple(range(n)), 0.0, long, (_run_end(run, 0, loop), _run_end(run, 1, loop)))]
    bounds = [*laps, laps[0] + n] if laid.loop else [-1, *laps, n - 1]
    out = []
    for before, after in pairwise(bounds):
        opens = laid.loop or before >= 0, laid.loop or after < n - 1
        turns = after // n - (before + 1) // n
        begin, end = laid.parts[(before + 1) % n].begin, laid.parts[after % n].end + turns * long
        ends = FREE if opens[0] else _run_end(run, 0), FREE if opens[1] else _run_end(run, 1)
        begin -= laid.joints[before % n].lap if opens[0] else 0.0
        end += laid.joints[after % n].lap if opens[1] else 0.0
        out.append(_Stretch(tuple(k % n for k in range(before + 1, after + 1)), begin, end, ends))
    return out


def _meets_itself(run: Run, stretch: _Stretch) -> bool:
    """Whether a stretch is a whole loop that no lap opens."""
    return run.laid.loop and stretch.ends != (FREE, FREE)


def _piece_ends(run: Run, stretch: _Stretch, first: bool, last: bool) -> tuple[tuple[str, str], str]:
    """How a piece of a strip or a band ends, and where it has a seam instead of a second fold.

    Both folds of a straight piece are parallel, so it can lie on one of them only.
    """
    ends = stretch.ends[0] if first else SEAM, stretch.ends[1] if last else SEAM
    if ends == (FOLD, FOLD):
        return (FOLD, SEAM), _fold_name(run, stretch.parts[-1])
    return ends, ""


def _bound(run: Run, stretch: _Stretch) -> float:
    """The length of the trimmed line along a stretch, mm."""
    if len(stretch.parts) == len(run.laid.parts) and not any(joint.kind == LAP for joint in run.laid.joints):
        return band_length(run.line)
    lines = (curve for k in stretch.parts for _, curve in share_curves(run.line, run.shares[k]))
    turn = run.laid.line.measured.length
    bare = [(a + run.origin, b + run.origin) for a, b in bare_stretches(run.line)]
    again = [(a + k * turn, b + k * turn) for a, b in bare for k in ((-2, -1, 0, 1) if run.laid.loop else (0,))]
    inside = (min(b, stretch.end) - max(a, stretch.begin) for a, b in again)
    return sum(measure(curve).length for curve in lines) + sum(max(length, 0.0) for length in inside)


def _refuse_corners(run: Run) -> None:
    """Refuses a strip round a corner of the edge, which no straight one can follow."""
    laid, curve = run.laid, run.laid.line.curve
    m = measure(curve)
    number = np.arange(len(curve))
    leaving, arriving = (cubics.direction(curve, number, np.full(len(curve), t)) for t in (0.0, 1.0))
    turn = np.abs(np.arctan2(cubics.cross(arriving[:-1], leaving[1:]), cubics.dot(arriving[:-1], leaving[1:])))
    places = m.lengths(number[1:], np.zeros(len(curve) - 1))[turn >= _CORNER].tolist()
    closes = [joint for joint in laid.joints if joint.kind == LAP and joint.s > laid.parts[-1].end - _AT]
    if laid.loop and not closes:
        ahead, back = laid.closing[:, :2] @ leaving[0], arriving[-1]
        if abs(math.atan2(float(cubics.cross(back, ahead)), float(cubics.dot(back, ahead)))) >= _CORNER:
            places.append(0.0)
    laps = [joint.s for joint in laid.joints if joint.kind == LAP]
    for s in places:
        if any(abs(s - lap) < _AT for lap in laps):
            continue
        named = [(spot.s, spot.name) for spot in laid.line.spots] + [(joint.s, joint.name) for joint in laid.joints]
        name = min(named, key=lambda one: abs(one[0] - s))[1]
        raise RequestError(
            f'no straight strip goes round the corner of "{run.name}" at "{name}": take a {SHAPED} facing (--kind), or '
            "give the edges on either side runs of their own"
        )


def _ease_warnings(run: Run, wish: _Wish) -> list[Warn]:
    """A warning where a straight strip is too long or too short for a curved edge; in the flat frame."""
    m, out = run.laid.line.measured, []
    cloth = -(run.laid.line.outside or run.course.side)
    begin, end = (-wish.depth, m.length + wish.depth) if run.laid.loop else (0.0, m.length)
    share, s = ease(m.part(begin, end), wish.depth, cloth)
    if abs(share) > _EASE:
        x, y = m.points(np.array([(s + begin) % m.length if run.laid.loop else s]))[0]
        shown = f"{100.0 * abs(share):.0f}% longer" if math.isfinite(share) else "many times longer"
        text = (
            f"the inner edge of a straight strip {_mm(wish.depth)} deep is {shown} than the edge at that depth"
            if share > 0.0
            else f"the edge is {100.0 / (1.0 + share) - 100.0:.0f}% longer at the depth of {_mm(wish.depth)} than a "
            "straight strip"
        )
        text += (
            f", and no more than {100.0 * _EASE:.0f}% can be eased or stretched in: take less depth, or a {SHAPED} one"
        )
        out.append(Warn("strip-stretched", text, run.edge.piece.name, float(x), float(y)))
    return out


def _run_end(run: Run, which: int, loop: str = SEAM) -> str:
    """How a strip ends at an end of the run; `loop` where the two meet."""
    if run.laid.loop:
        return loop
    return FREE if run.laid.folds[which] is None else FOLD


def _piece_names(run: Run, stretch: _Stretch) -> tuple[str, ...]:
    return tuple(dict.fromkeys(run.laid.parts[k].edge.piece.name for k in stretch.parts))


def _rectangle(
    run: Run,
    long: float,
    heights: tuple[float, float, float],
    beyond: tuple[float, ...],
    ends: tuple[str, str],
    valleys_at: Array,
) -> Shape:
    """A strip laid along x with the run's outside above, as the garment is seen.

    Args:
        run: the run.
        long: its sewn length, mm.
        heights: above the edge line, from there to the inner edge, and the allowance beyond that, mm.
        beyond: allowances at its start and its end, mm.
        ends: how it ends.
        valleys_at: where valleys lie, mm from its start.
    """
    (above, depth, inner), (start, end) = heights, beyond
    net = _closed([(0.0, 0.0), (long, 0.0), (long, depth), (0.0, depth)])
    low, high = -above, depth + inner
    cutting = _closed([(-start, low), (long + end, low), (long + end, high), (-start, high)])
    ticks = [at for at in valleys_at.tolist() if _AT < at < long - _AT]
    notches = [np.array([(at, low), (at, low + min(USUAL, 0.5 * above))]) for at in ticks]
    shape = Shape(
        cubics.lines([(0.0, 0.0), (long, 0.0)]),
        cubics.lines([(0.0, depth), (long, depth)]),
        (net,),
        (cutting,),
        tuple(cubics.lines([(x, 0.0), (x, depth)]) for x, width in zip((0.0, long), beyond, strict=True) if width),
        tuple(cubics.lines([(x, low), (x, high)]) for x, kind in zip((0.0, long), ends, strict=True) if kind == FOLD),
        np.array([(0.0, 0.0), (long, 0.0), (long, depth), (0.0, depth)]),
        tuple(notches),
        np.stack([valleys_at, np.zeros(len(valleys_at))], axis=1),
        np.stack([np.linspace(0.0, long, _MIDDLES + 2)[1:-1], np.full(_MIDDLES, 0.5 * depth)], axis=1),
    )
    outside = run.laid.line.outside or run.course.side
    return shape if outside > 0 else shape.carried(motion.scaled(-1.0, 1.0))


def _closed(corners: list[tuple[float, float]]) -> Array:
    return cubics.lines([*corners, corners[0]])


# ---------------------------------------------------------------- drawing and telling


def facing_elements(pen: Pen, made: MadeFacing, shift: Array) -> list[etree._Element]:
    """The elements of a facing moved to its free place; none where it is not drawn."""
    shape, label = made.shape, made.label
    if shape is None or label is None:
        return []
    shape = shape.carried(motion.moved(float(shift[0]), float(shift[1])))
    out = [pen.line("facing", curve, made.name, closed=True) for curve in shape.cutting]
    if made.interlining == NET:
        out += [pen.line("interlining", ring, made.name, closed=True) for ring in shape.net]
    # A band is sewn by its own cut edges.
    sewn = (shape.stitching, *shape.seams) if made.kind != BAND else ()
    out += [pen.sewn(line, made.name, "facing") for line in sewn]
    out += pen.folds(shape.folds, made.name)
    out.append(_grain(pen, made, made.grain + shift))
    out += [pen.line("notch", cubics.lines(notch), made.name) for notch in shape.notches]
    out.append(_text(pen, made, replace(label, centre=label.centre + shift)))
    return out


def _grain(pen: Pen, made: MadeFacing, grain: Array) -> etree._Element:
    """The grain line with a head at either end."""
    way = (grain[1] - grain[0]) / float(np.hypot(*(grain[1] - grain[0])))
    back, beside = _ARROW * way, 0.4 * _ARROW * cubics.left(way)
    heads = [
        np.stack([end + hand * back + beside, end, end + hand * back - beside])
        for end, hand in ((grain[0], 1.0), (grain[1], -1.0))
    ]
    texts = [path_text(pen.in_units(cubics.lines(line)), pen.places) for line in (grain, *heads)]
    return pen.drawn("grain", " ".join(texts), made.name)


def _text(pen: Pen, made: MadeFacing, label: Writing) -> etree._Element:
    element = pen.text(label.lines, label.at, label.size, made.name)
    if label.angle:
        x, y = decimals(motion.apply(pen.from_mm, label.centre), pen.places)
        element.set("transform", f"rotate({decimals(np.array([math.degrees(label.angle)]), 4)[0]} {x} {y})")
    return element


def facing_entry(drawing: Drawing, made: MadeFacing, shift: Array) -> dict[str, Any]:
    """What the report says of a facing; coordinates in the drawing's root user units, where it lies once moved."""
    shape = made.shape
    to_user = motion.compose(motion.inverse(drawing.to_mm), motion.moved(float(shift[0]), float(shift[1])))
    corners = np.zeros((0, 2)) if shape is None else shape.corners
    on_it = np.zeros((0, 2)) if shape is None else shape.valleys
    where = ("edge start", "edge end", "inner end", "inner start")
    return {
        "name": made.name,
        "kind": made.kind,
        "pieces": list(made.pieces),
        "depth_mm": round(made.depth, _PLACES),
        "length_mm": round(made.length, _PLACES),
        "area_mm2": round(made.area, _PLACES),
        "count": made.count,
        "cut": made.cut,
        "mirrored": made.mirrored,
        "ends": list(made.ends),
        "interlining": made.interlining or None,
        "cloth": made.cloth or None,
        "begin_mm": round(made.begin, _PLACES),
        "stay_tape_mm": 0.0 if made.kind == BAND else round(made.length, _PLACES),
        "drawn": made.drawn,
        "corners": [{"at": at, **_xy(point)} for at, point in zip(where, motion.apply(to_user, corners), strict=False)],
        "valleys": [
            {**_xy(point), "s_mm": round(float(s), _PLACES)}
            for point, s in zip(motion.apply(to_user, on_it), made.valleys_s, strict=False)
        ],
    }


def _xy(point: Array) -> dict[str, float]:
    return {"x": round(float(point[0]), 9), "y": round(float(point[1]), 9)}


def facing_lines(made: Sequence[MadeFacing]) -> list[str]:
    """A line for each facing, for people."""
    out = []
    for one in made:
        size = f"{one.length:.1f} mm long, {_mm(one.depth)} {'wide' if one.kind == BAND else 'deep'}"
        text = f"{one.name}: {one.kind}, {size}, {one.cut}"
        out.append(text if one.drawn else f"{text}; too long to be drawn")
    return out


def _mm(length: float) -> str:
    return f"{round(length, 1):.6g} mm"
