"""Two edges that are sewn together: from the maker's words to pleats, match notches and moved rows on both pieces.

Each edge is a run with nothing on it, named as the group of the match, so that what lies along it finds its place on
the sheet as it does for any run.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..construction.matching import GATHERS, LEAST_GATHERS, MOST_GATHERS, Anchor, Matched, matched, stretches_of
from ..construction.moving import moved
from ..construction.pleats import called
from ..errors import NameUnknownError, NoFitError, RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array, Bools
from ..geometry.winding import winding
from ..pattern.edge import Spot, same_stretch
from ..pattern.piece import Piece, Warn
from ..trim.clearance import distances
from ..trim.eyelets import Eyelets, eyelet_warnings, stitching_lines
from ..trim.notches import MARKS, Notches, NotchWish
from ..trim.notches import notches as notches_on
from .drawing import Drawing
from .kept import match_group_name
from .match_lines import match_lines
from .match_phase import InPhase, Seam, brought, cure_for, in_phase
from .match_words import NO_NOTCHES, Drawn, anchors_of, drawn_of, ways_of
from .recipe import EdgeWords, MatchRecipe, MatchWords, NotchWords, Recipe
from .row_words import margin_of
from .runs import Run, make_run
from .sheet import on_sheet, placed_on_sheet, to_sheet
from .surroundings import cutting_line, lines_near
from .wishes import refuse_unwritable, yes

# Several notches side by side stand so far apart, mm; common practice, no source.
_APART = 6.0
# Places closer than this along an edge, mm, are one.
_SAME = 1e-6
# Parts may be nearer to a line than they should by this, mm: more than rounding leaves.
_NEAR = 1e-3
_PLACES = 6


@dataclass(frozen=True, eq=False)
class Side:
    """One of the two edges.

    Attributes:
        name: what the maker calls it.
        run: it, with nothing on it.
        full: the run of that name, with what is on it; None for an edge.
        turned: whether it is walked the other way along the seam.
    """

    name: str
    run: Run
    full: Run | None
    turned: bool = False

    @property
    def length(self) -> float:
        """Its sewn length, mm."""
        return self.run.edge.measured.length

    def along_edge(self, s: Array) -> Array:
        """Lengths along the edge as it is drawn of lengths along the seam, and the other way round."""
        return self.length - s if self.turned else s

    def course(self, s: Array) -> Array:
        """Lengths along its course of lengths along the seam; a loop's course may begin elsewhere."""
        own = self.along_edge(s)
        return np.mod(own - self.run.origin, self.length) if self.run.course.loop else own

    @property
    def hand(self) -> int:
        """+1 where the outside is on the walker's left, -1 on the right, in its flat frame."""
        return self.run.edge.outside or self.run.course.side

    def place(self, s: float) -> Place:
        """The place at a length along the seam."""
        at = float(self.along_edge(np.array([s]))[0])
        ends = np.array([part.end for part in self.run.laid.parts])
        k = int(np.clip(np.searchsorted(ends, at - _SAME), 0, len(ends) - 1))
        back, m = to_sheet(self.run.laid, k), self.run.edge.measured
        here = np.array([at])
        inward = back[:, :2] @ (-self.hand * m.normals(here)[0])
        part = self.run.laid.parts[k]
        return Place(part.edge.piece, part.copy_of is None, motion.apply(back, m.points(here)[0]), inward)

    def joints(self) -> list[float]:
        """Where its joints lie along the seam."""
        s = np.array([joint.s for joint in self.run.laid.joints])
        return [float(x) for x in self.along_edge(s)]


@dataclass(frozen=True, eq=False)
class Place:
    """A place of an edge on the sheet: its piece, whether that half of it is drawn, the point, and the way in."""

    piece: Piece
    drawn: bool
    point: Array
    inward: Array


@dataclass(frozen=True, eq=False)
class MovedRow:
    """A row of the first edge, as it lies on the second.

    Attributes:
        run: the run whose row it is.
        what: "notch", or the part that stands in the row.
        a, b: lengths along the seam on the first edge and on the second (n,), mm.
        inside: which of them stood on cloth that a pleat takes up.
        row: what is drawn, in the flat frame of the second edge.
        margin: the cloth that is to be left round each part, mm.
    """

    run: str
    what: str
    a: Array
    b: Array
    inside: Bools
    row: Eyelets | Notches
    margin: float = 0.0


@dataclass(frozen=True, eq=False)
class MadeMatch:
    """Two edges matched.

    Attributes:
        recipe: what was asked for.
        sides: the two edges.
        pairs: their stretches, in order.
        how: how it is drawn.
        counts: how many notches stand at each anchor between the ends.
        notches: those on either edge, in its flat frame.
        phases: how the valleys of both lie to each other; None where not both edges have scallops.
        brought: the second run brought in phase, where that was asked for; it takes the place of the one there was.
        rows: what was moved from the first edge to the second.
        warnings: what the maker should know.
        cautions: where what is moved can hurt someone.
    """

    recipe: MatchRecipe
    sides: tuple[Side, Side]
    pairs: tuple[Matched, ...]
    how: Drawn
    counts: tuple[int, ...] = ()
    notches: tuple[Notches | None, Notches | None] = (None, None)
    phases: InPhase | None = None
    brought: Run | None = None
    rows: tuple[MovedRow, ...] = ()
    warnings: tuple[Warn, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """What its group is called."""
        return match_group_name(self.recipe.words.a, self.recipe.words.b)

    @property
    def anchors(self) -> tuple[Anchor, ...]:
        """All anchors, ends included."""
        return (self.pairs[0].stretch.first, *(one.stretch.last for one in self.pairs))

    @property
    def piece_names(self) -> frozenset[str]:
        """The pieces along which its edges lie."""
        return frozenset(part.edge.piece.name for side in self.sides for part in side.run.laid.parts)

    @property
    def seam(self) -> Seam:
        """Both edges with what is wanted of their valleys."""
        return Seam(*self.sides, self.pairs, self.how.phase, self.how.within)

    @property
    def notched(self) -> tuple[Run, ...]:
        """Its edges with all notches on them, as runs, for pieces that are cut."""
        out = []
        for k, (side, own) in enumerate(zip(self.sides, self.notches, strict=True)):
            rows = [(NotchWords(), own)] if own is not None else []
            rows += [(NotchWords(), row.row) for row in self.rows if k and isinstance(row.row, Notches)]
            if rows:
                recipe = replace(side.run.recipe, notches=tuple(words for words, _ in rows))
                out.append(replace(side.run, recipe=recipe, notches=tuple(row for _, row in rows)))
        return tuple(out)

    def long_side(self, one: Matched) -> Side:
        """The longer edge of a stretch."""
        return self.sides[0 if one.stretch.long_a else 1]

    def on_long(self, one: Matched, u: float) -> float:
        """A place on the longer edge of a stretch as a length along that edge of the seam."""
        return u + (one.stretch.first.a if one.stretch.long_a else one.stretch.first.b)

    def on_short(self, one: Matched, s: float) -> float:
        """A place on the sewn line of a stretch as a length along the shorter edge of the seam."""
        return s + (one.stretch.first.b if one.stretch.long_a else one.stretch.first.a)


def made_match(
    drawing: Drawing, words: MatchWords, known: Mapping[str, Recipe], run_called: Callable[[str], Run | None]
) -> MadeMatch:
    """Two edges matched.

    Args:
        drawing: the drawing.
        words: what is asked for.
        known: the recipes of its runs by their names.
        run_called: gives the run of a name, None where there is none.

    Raises:
        ScallopkitError: a word can't be read or names nothing, or the edges can't be matched so.
    """
    if not words.a or not words.b:
        raise RequestError("name both edges that are sewn together, each an edge or a run: scallopkit match FILE A B")
    if words.a == words.b:
        raise RequestError(f'"{words.a}" can\'t be matched with itself: name the edge that it is sewn to')
    a = _side(drawing, words.a, words, known, run_called)
    b = replace(_side(drawing, words.b, words, known, run_called), turned=yes(words.turned, "--turned"))
    if len(a.run.laid.parts) == len(b.run.laid.parts) == 1:
        first, second = (side.run.laid.parts[0].drawn for side in (a, b))
        if same_stretch(first, second):
            raise RequestError(f'"{words.a}" and "{words.b}" are one edge: name the edge that it is sewn to')
    how = drawn_of(words)
    anchors = anchors_of(words, a.run.edge, b.run.edge)
    stretches = stretches_of(anchors, a.length, b.length, (words.a, words.b))
    loop = a.run.course.loop and b.run.course.loop
    pairs = tuple(matched(stretches, ways_of(words, stretches, loop)))
    made = MadeMatch(MatchRecipe(words, _kept(pairs)), (a, b), pairs, how)
    rows, told = _moved_rows(made, known, run_called)
    made = _in_phase(drawing, replace(made, counts=_counts(made), rows=rows, cautions=told), known)
    made = replace(made, notches=(_notches(made, a, False), _notches(made, b, True)))
    return replace(made, warnings=tuple(_warnings(drawing, made, known)))


def _in_phase(drawing: Drawing, made: MadeMatch, known: Mapping[str, Recipe]) -> MadeMatch:
    """The match with how the valleys of both edges lie, the second run brought in phase where that is asked for."""
    words = made.recipe.words
    if made.how.in_phase:
        run = brought(drawing, made.seam, known)
        made = replace(made, sides=(made.sides[0], replace(made.sides[1], full=run)), brought=run)
    found = in_phase(made.seam)
    if found is None and (words.phase or words.phase_within):
        option = "--phase" if words.phase else "--phase-within"
        raise RequestError(f"{option} is about valleys that lie over each other: name a run of scallops on each edge")
    if made.how.in_phase and (found is None or found.off > made.how.within):
        off = "none to meet" if found is None else f"one {found.off:.2f} mm off"
        raise NoFitError(
            f'"{words.b}" can\'t be brought in phase: its corners, folds and pleats leave {off}; give a --phase-within '
            "that allows it, or leave out --in-phase"
        )
    return replace(made, phases=found)


def _kept(pairs: Sequence[Matched]) -> dict[str, Any]:
    """What a later `refit` compares with."""
    return {
        "lengths_mm": [round(pairs[-1].stretch.last.a, _PLACES), round(pairs[-1].stretch.last.b, _PLACES)],
        "excess_mm": [round(one.stretch.excess, _PLACES) for one in pairs],
    }


def _side(
    drawing: Drawing,
    name: str,
    words: MatchWords,
    known: Mapping[str, Recipe],
    run_called: Callable[[str], Run | None],
) -> Side:
    """An edge, or a run of the drawing without what is on it."""
    group = match_group_name(words.a, words.b)
    refuse_unwritable(group, "the name", "rename the piece or the mark")
    if name in known:
        full = run_called(name)
        bare = Recipe(group, known[name].edge, edges=known[name].edges, joins=known[name].joins)
        return Side(name, make_run(drawing, bare), full)
    try:
        return Side(name, make_run(drawing, Recipe(group, EdgeWords(along=name, allowance=words.allowance))), None)
    except NameUnknownError as error:
        there = ", ".join(f'"{run}"' for run in known) or "none"
        raise NameUnknownError(
            f'no run is called "{name}" (there are {there}), and as an edge it is unknown: {error}'
        ) from None


# ---------------------------------------------------------------- notches


def _counts(made: MadeMatch) -> tuple[int, ...]:
    """How many notches each anchor between the ends gets, so that front and back can't be taken for each other.

    One on the first piece of a line over several, two on the second, and so on; on single pieces one in the first
    half and two in the second; common practice, no source.
    """
    inner = made.anchors[1:-1]
    if made.how.notches == NO_NOTCHES:
        return (0,) * len(inner)
    for side, own in zip(made.sides, ("a", "b"), strict=True):
        pieces = list(dict.fromkeys(part.edge.piece.name for part in side.run.laid.parts))
        if len(pieces) > 1:
            order = reversed(pieces) if side.turned else pieces
            rank = {name: k + 1 for k, name in enumerate(order)}
            return tuple(rank[side.place(getattr(anchor, own)).piece.name] for anchor in inner)
    half = 0.5 * made.sides[0].length
    return tuple(1 if anchor.a <= half + _SAME else 2 for anchor in inner)


def _notches(made: MadeMatch, side: Side, second: bool) -> Notches | None:
    """The notches at the anchors of one edge; at a seam, which is a mark of its own, there are none."""
    places: list[float] = []
    for anchor, count in zip(made.anchors[1:-1], made.counts, strict=True):
        at = anchor.b if second else anchor.a
        if any(abs(at - joint) < _SAME for joint in side.joints()):
            continue
        around = [at + _APART * (i - 0.5 * (count - 1)) for i in range(count)]
        places += [s for s in around if 0.0 < s < side.length]
    return _set_notches(side, np.array(places), NotchWish(MARKS)) if places else None


def _set_notches(side: Side, s: Array, wish: NotchWish) -> Notches:
    spots = [Spot("", x) for x in side.course(s).tolist()]
    return notches_on(side.run.course, wish, None, spots, cutting_line(side.run.laid), side.hand)


# ---------------------------------------------------------------- moved rows


def _moved_rows(
    made: MadeMatch, known: Mapping[str, Recipe], run_called: Callable[[str], Run | None]
) -> tuple[tuple[MovedRow, ...], tuple[str, ...]]:
    """The eyelets and notches of runs on the first edge, on the second one, and the cautions that go with them."""
    out: list[MovedRow] = []
    told: dict[str, None] = {}
    a = made.sides[0]
    for name in made.recipe.words.move:
        run = run_called(name) if name in known else None
        if run is None:
            there = ", ".join(f'"{other}"' for other in known) or "none"
            raise NameUnknownError(f'--move names no run with "{name}"; there are {there}')
        if run.recipe.stretches != a.run.recipe.stretches or run.recipe.joins != a.run.recipe.joins:
            raise RequestError(f'--move "{name}" is not a run along "{a.name}": name one on the same edges')
        if not run.eyelets and not run.notches:
            raise RequestError(f'--move "{name}" has neither eyelets nor notches to move')
        told |= dict.fromkeys(run.cautions)
        out += [_moved_eyelets(made, run, row, k) for k, row in enumerate(run.eyelets)]
        out += [_moved_notches(made, run, row, k) for k, row in enumerate(run.notches)]
    return tuple(out), tuple(told)


def _moved_eyelets(made: MadeMatch, run: Run, row: Eyelets, k: int) -> MovedRow:
    """A row as far inside the second edge as it is inside the first."""
    a, b = made.sides
    m = run.course.measured
    feet, inward = m.points(row.s), -a.hand * m.normals(row.s)
    inset = ((row.points - feet) * inward).sum(axis=1)
    own = a.along_edge(run.along_run(row.s))
    there = moved(made.pairs, own)
    s = b.course(there.s)
    m = b.run.course.measured
    into = -b.hand * m.normals(s)
    placed = Eyelets(m.points(s) + inset[:, None] * into, s, np.zeros(len(s), dtype=np.intp), row.size, into)
    margin = margin_of(run.recipe.eyelets[k])
    return MovedRow(run.name, row.size.part, own, there.s, there.inside, replace(placed, patch=row.patch), margin)


def _moved_notches(made: MadeMatch, run: Run, row: Notches, k: int) -> MovedRow:
    own = made.sides[0].along_edge(run.along_run(row.s))
    there = moved(made.pairs, own)
    length = row.length if run.recipe.notches[k].length else None
    wish = NotchWish(MARKS, kind=row.kind, length=length)
    return MovedRow(run.name, "notch", own, there.s, there.inside, _set_notches(made.sides[1], there.s, wish))


# ---------------------------------------------------------------- warnings


def _warnings(drawing: Drawing, made: MadeMatch, known: Mapping[str, Recipe]) -> Iterator[Warn]:
    for side in made.sides:
        # What there is to say of a run was said when it was made.
        yield from side.run.warnings if side.full is None else ()
    for one in made.pairs:
        side, where = made.long_side(one), f'from "{one.stretch.first.name_a}" to "{one.stretch.last.name_a}"'
        piece = side.run.laid.parts[0].edge.piece.name
        if one.kind == GATHERS and not LEAST_GATHERS - _SAME <= one.ratio <= MOST_GATHERS + _SAME:
            text = f"{where} the gathers are {one.ratio:.2f} to 1, usual are {LEAST_GATHERS:g} to {MOST_GATHERS:g}"
            yield Warn("gathers-unusual", f"{text}: ease or pleat them, or change the longer edge", piece)
        yield from _over_seams(made, one, where)
    yield from _leaving(drawing, made)
    yield from _out_of_phase(drawing, made, known)
    for row in made.rows:
        if row.inside.any():
            text = f'{int(row.inside.sum())} of {len(row.a)} places of "{row.run}" stand on cloth that a pleat takes up'
            yield Warn("moved-in-pleat", f"{text}: they are set at the pleat; move the pleats or the row", None)
        if isinstance(row.row, Eyelets):
            yield from _room(drawing, made, row, row.row)


def _room(drawing: Drawing, made: MadeMatch, row: MovedRow, parts: Eyelets) -> Iterator[Warn]:
    """Warnings for moved parts that stand too near to a line of the second edge, an end of it, or a fold."""
    side = made.sides[1]
    run = side.run if side.full is None else side.full
    lines = [side.run.course.measured.curve] if run.scallops is None else stitching_lines(run.scallops, run.course)
    lines += lines_near(drawing, run)
    piece = run.laid.parts[0].edge.piece.name
    moved_here = f'moved from "{row.run}", '
    closing = side.run.course.measured.closing
    for warn in on_sheet(side.run, eyelet_warnings(parts, lines, row.margin, piece, closing)):
        yield replace(warn, message=moved_here + warn.message)
    if not len(parts):
        return
    where, points = placed_on_sheet(side.run, parts.points, parts.s)
    names = [side.run.laid.parts[k].edge.piece.name for k in where.tolist()]
    radius, gap = 0.5 * parts.size.flange, np.full(len(parts), np.inf)
    for line in match_lines(drawing, made):
        here = np.array([name == line.piece.name for name in names]) & (not line.arrow)
        if here.any():
            away = distances([cubics.lines(line.points)], points[here], radius + row.margin) - radius
            gap[here] = np.minimum(gap[here], away)
    near = int((gap < row.margin - _NEAR).sum())
    if near:
        worst = int(gap.argmin())
        what = f"is {gap[worst]:.2f} mm from" if gap[worst] >= 0.0 else f"reaches {-gap[worst]:.2f} mm over"
        text = f"{moved_here}{row.what} {worst + 1} {what} a line of a pleat or dart; {near} of {len(parts)} keep less "
        text += f"than the {row.margin:g} mm asked: move the pleats or the row"
        yield Warn("moved-near-fold", text, names[worst], float(points[worst, 0]), float(points[worst, 1]))


def _over_seams(made: MadeMatch, one: Matched, where: str) -> Iterator[Warn]:
    side = made.long_side(one)
    for joint, s in zip(side.run.laid.joints, side.joints(), strict=True):
        for tuck in one.tucks:
            begin, end = made.on_long(one, tuck.begin), made.on_long(one, tuck.end)
            if begin + _SAME < s < end - _SAME:
                piece = side.place(begin).piece.name
                text = f'{where} a {called(one.kind, 1)} goes over the {joint.kind} "{joint.name}"'
                yield Warn("pleat-over-seam", f"{text}: keep it off with another number, --spacing or --pair", piece)


def _leaving(drawing: Drawing, made: MadeMatch) -> Iterator[Warn]:
    """A warning for each piece that lines leave which should lie in it."""
    out: set[str] = set()
    for line in match_lines(drawing, made):
        far = line.points[1:2]
        if line.piece.closed and line.piece.name not in out and winding(line.piece.curve, far)[0] == 0:
            out.add(line.piece.name)
            text = f'lines of pleats or darts leave "{line.piece.name}": give a shorter --line-length or --dart-length'
            yield Warn("pleat-leaves-piece", text, line.piece.name, float(far[0, 0]), float(far[0, 1]))


def _out_of_phase(drawing: Drawing, made: MadeMatch, known: Mapping[str, Recipe]) -> Iterator[Warn]:
    if made.phases is None or made.phases.off <= made.how.within:
        return
    a, b = made.sides
    where = f"{made.how.phase:g} mm beyond those of" if made.how.phase else "those of"
    text = f'valleys of "{b.name}" lie up to {made.phases.off:.2f} mm from {where} "{a.name}"'
    yield Warn("out-of-phase", f"{text}: {cure_for(drawing, made.seam, known)}", b.run.laid.parts[0].edge.piece.name)
