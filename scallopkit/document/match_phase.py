"""Scallops on two edges that are sewn together: how far they are from being in phase, and the row that is.

Valleys are compared along the seam as it is sewn, so over ease and pleats; what is wanted is that those of the second
edge lie a given length beyond those of the first, by default none. Where spaces lie between scallops, the beginning of
a scallop meets a beginning, and its end an end.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise
from typing import TYPE_CHECKING

import numpy as np

from ..construction.matching import Anchor, Matched
from ..construction.moving import moved
from ..errors import NoFitError, RequestError, ScallopkitError
from ..geometry.cubics import Array
from ..pattern.joins import FOLD
from ..trim.course import CREST, VALLEY
from ..trim.holds import GAP
from ..trim.row import FIRST_HALF, SECOND_HALF
from ..trim.scallops import valleys
from .drawing import Drawing
from .recipe import Phased, Recipe
from .runs import Run, make_run
from .units import parse_length

if TYPE_CHECKING:
    from .matches import Side

# Places nearer than this along an edge, mm, are one.
_SAME = 1e-6
_PLACES = 9
# A row has two ends, a length of two places shows this, mm, and so many places are named before the rest is left out.
_ENDS, _SEEN, _NAMED = 2, 0.005, 4
# What is left at an end is half a scallop where it is so near to it, as a share.
_HALF = 0.02
# Cloth in a pleat that is wider than this share of a scallop gets one of its own.
_LEAST = 0.35


@dataclass(frozen=True)
class Phase:
    """How valleys lie at an anchor, mm along the seam.

    Attributes:
        a: from the anchor to the nearest valley of the first edge.
        b: from the anchor to the valley of the second edge that goes with it.
        off: how far that is beyond where it is wanted.
    """

    a: float
    b: float
    off: float


@dataclass(frozen=True, eq=False)
class Seam:
    """Two edges as they are sewn together, and how their valleys should lie.

    Attributes:
        a, b: the two edges.
        pairs: their stretches, in order.
        wanted: how far beyond the first edge's valleys those of the second should lie as sewn, mm.
        within: how far they may lie from there, mm.
    """

    a: Side
    b: Side
    pairs: tuple[Matched, ...]
    wanted: float
    within: float

    @property
    def anchors(self) -> tuple[Anchor, ...]:
        """All anchors, ends included."""
        return (self.pairs[0].stretch.first, *(one.stretch.last for one in self.pairs))

    def with_b(self, run: Run) -> Seam:
        """The same with another run on the second edge."""
        return replace(self, b=replace(self.b, full=run))


@dataclass(frozen=True)
class InPhase:
    """How scallops on both edges lie to each other.

    Attributes:
        at: at each anchor, ends included.
        off: how far a valley lies from where it is wanted, at most, mm; of the edge that has fewer of them.
    """

    at: tuple[Phase, ...]
    off: float


def in_phase(seam: Seam) -> InPhase | None:
    """How valleys of two edges lie to each other; None where not both edges have any that lie over one another."""
    spaced = all(_is_spaced(side) for side in (seam.a, seam.b))
    kinds = [_kinds_of(side, spaced) for side in (seam.a, seam.b)]
    whole = _whole(seam, kinds[0])
    rows = zip(whole, *kinds, strict=False)
    found = [one for sure, own, other in rows if (one := _alike_in_phase(seam, sure, own, other)) is not None]
    if not found:
        return None
    at = [min(phases, key=lambda phase: abs(phase.a)) for phases in zip(*(one.at for one in found), strict=True)]
    return InPhase(tuple(at), max(one.off for one in found))


def _whole(seam: Seam, kinds: tuple[Array, ...]) -> tuple[Array, ...]:
    """Those places of the first edge that must be met: with spaces, those of scallops that are wanted whole."""
    if len(kinds) < _ENDS or seam.a.run.course.loop:
        return kinds
    begins, ends = (_on_seam(seam.a, s, seam.wanted) for s in kinds)
    return (
        np.array([s for s in begins if len(ends) and s < ends[-1]]),
        np.array([s for s in ends if len(begins) and s > begins[0]]),
    )


def _alike_in_phase(seam: Seam, sure: Array, own: Array, other: Array) -> InPhase | None:
    """How places of one kind on both edges lie to each other; None where none lie over one another.

    Args:
        seam: the edges.
        sure: those of the first edge that must be met.
        own: all of the first edge.
        other: those of the second one.
    """
    a, wanted = seam.a, seam.wanted
    # Where each would be met, seen from the first edge; what is wanted beyond an end can't be there.
    own, sure = _on_seam(a, own, wanted), _on_seam(a, sure, wanted)
    theirs = _on_seam(a, moved(seam.pairs, other, from_a=False).s - wanted, 0.0)
    if not len(own) or not len(theirs):
        return None
    first, second = _round_again(a, own), _round_again(a, theirs)
    at = []
    for anchor in seam.anchors:
        near = float(first[np.argmin(np.abs(first - anchor.a))])
        its = float(second[np.argmin(np.abs(second - near))])
        at.append(Phase(near - anchor.a, its + wanted - anchor.a, its - near))
    few, many = (sure, second) if len(sure) <= len(theirs) else (theirs, first)
    return InPhase(tuple(at), max((float(np.abs(many - s).min()) for s in few), default=0.0))


def _is_spaced(side: Side) -> bool:
    """Whether spaces lie between the scallops of an edge."""
    scallop = side.full.recipe.scallop if side.full is not None else None
    return scallop is not None and bool(scallop.space) and parse_length(scallop.space, "--space") > 0.0


def _kinds_of(side: Side, spaced: bool) -> tuple[Array, ...]:
    """The lengths of a run's valleys along the seam, in order, for each kind of them; none where it has no scallops.

    All are of one kind, but with spaces those at which scallops begin along the seam, and those at which they end.
    """
    if side.full is None or side.full.scallops is None:
        return ()
    row = side.full.scallops.row
    kinds = [valleys(row, side.full.course.measured.closing)[1]]
    if spaced:
        begins, ends = row.s_start[row.part != SECOND_HALF], row.s_end[row.part != FIRST_HALF]
        kinds = [ends, begins] if side.turned else [begins, ends]
    return tuple(np.sort(side.along_edge(side.full.along_run(s))) for s in kinds)


def _on_seam(side: Side, s: Array, wanted: float) -> Array:
    """Those of some places whose wanted partner lies on the seam; all of a closed line."""
    if side.run.course.loop:
        return s
    return s[(s + wanted > -_SAME) & (s + wanted < side.length + _SAME)]


def _round_again(side: Side, s: Array) -> Array:
    """Places along the seam; of a closed line also those of the turn before and of the next one."""
    return np.concatenate([s - side.length, s, s + side.length]) if side.run.course.loop else s


def shift_of(seam: Seam, found: InPhase) -> float:
    """How much later along its run the scallops of the second edge must begin, for valleys to lie as wanted, mm."""
    run, turned = seam.b.full, seam.b.turned
    if run is None or not run.widths:
        return 0.0
    off = found.at[-1].off if turned else -found.at[0].off
    begins: Array = _kinds_of(seam.b, spaced=True)[0] if _is_spaced(seam.b) else np.zeros(0)
    period = float(begins[1] - begins[0]) if len(begins) > 1 else run.widths[0]
    shift = off % period
    return 0.0 if period - shift < _SAME else shift


# ---------------------------------------------------------------- brought in phase


def brought(drawing: Drawing, seam: Seam, known: Mapping[str, Recipe]) -> Run:
    """The second run with its valleys held where those of the first are wanted, over ease and pleats.

    Valleys of the first edge on cloth that a pleat takes up have none to meet.

    Raises:
        ScallopkitError: an edge has no scallops, or these can't be held so; the text says why.
    """
    recipe = _scalloped(seam.b)
    _scalloped(seam.a)
    if _is_spaced(seam.a) != _is_spaced(seam.b):
        some, none = (seam.a, seam.b) if _is_spaced(seam.a) else (seam.b, seam.a)
        raise RequestError(
            f'"{some.name}" has a --space between its scallops and "{none.name}" has none, so not every valley of one '
            "can meet one of the other: give both a --space, or neither"
        )
    if seam.a.run.course.loop != seam.b.run.course.loop:
        closed, broken = (seam.a, seam.b) if seam.a.run.course.loop else (seam.b, seam.a)
        raise RequestError(
            f'"{closed.name}" is a closed line and "{broken.name}" is open: where the ends of the open one meet, its '
            "scallops stop and the others go on, so they can't be brought in phase: make the open run a loop with one "
            "more --join, or a run along a stretch of the closed line"
        )
    try:
        return make_run(drawing, _in_phase(seam, recipe.own), known)
    except ScallopkitError as error:
        touch = recipe.scallop.touch if recipe.scallop is not None else ""
        cure = "; its valleys do not lie on the edge: give it --touch valley" if touch not in ("", VALLEY) else ""
        raise type(error)(f'"{seam.b.name}" can\'t be brought in phase: {error}{cure}') from None


def _in_phase(seam: Seam, own: Recipe) -> Recipe:
    """The second run's own recipe with its valleys held in phase, and its ends as these leave them."""
    if _is_spaced(seam.b):
        return _spaced_in_phase(seam, own)
    phased, edge = _phased(seam), own.edge
    start, end = edge.start, edge.end
    if not seam.b.run.course.loop:
        s, length = phased.valleys, seam.b.length
        start = _end_in_phase(edge.start, s[0], s[1] - s[0])
        end = _end_in_phase(edge.end, length - s[-1], s[-1] - s[-2])
    return replace(
        own,
        edge=replace(edge, start=start, end=end, hold=()),
        phased=replace(phased, start=edge.start, end=edge.end, hold=edge.hold),
    )


def _end_in_phase(own: str, left: float, beside: float) -> str:
    """The words for an end so far beyond the last valley that is held; `beside` is the width next to it."""
    folded = own.startswith(FOLD)
    if left < _SAME:
        return f"{FOLD}:{VALLEY}" if folded else ""
    if folded:
        return FOLD
    if own == CREST or (own in ("", VALLEY) and abs(2.0 * left / beside - 1.0) < _HALF):
        return CREST
    return f"{GAP}:{left:.9f}mm"


def _scalloped(side: Side) -> Recipe:
    """The recipe of the run of scallops on an edge.

    Raises:
        RequestError: there is none.
    """
    if side.full is None or side.full.recipe.scallop is None:
        raise RequestError(f'"{side.name}" has no scallops to be in phase: name a run of scallops on each edge')
    return side.full.recipe


def _phased(seam: Seam) -> Phased:
    """Where the valleys of the second run are held, and how wide its scallops are."""
    a, b = seam.a, seam.b
    there = moved(seam.pairs, np.sort(_wanted_on(a, _kinds_of(a, spaced=False)[0], seam.wanted)))
    places = _apart(there.s[~there.inside], b.length if b.run.course.loop else None)
    if len(places) < _ENDS:
        raise _too_few(a)
    tucks = _tucks(seam)
    around = [*places, places[0] + b.length] if b.run.course.loop else places
    spans = list(pairwise(around))
    # As wide as the widest over which no pleat lies.
    free = [end - begin for begin, end in spans if not _between(tucks, begin, end)]
    hidden = [s for begin, end in spans for s in _hidden(_between(tucks, begin, end), begin, end)]
    held = b.along_edge(np.array([*places, *hidden]))
    held = np.mod(np.round(held, _PLACES), b.length) if b.run.course.loop else np.clip(held, 0.0, b.length)
    return Phased(
        tuple(np.unique(np.round(held, _PLACES)).tolist()), max(free or [end - begin for begin, end in spans])
    )


def _wanted_on(side: Side, s: Array, wanted: float) -> Array:
    """Where valleys of an edge are wanted, seen from it."""
    s = _on_seam(side, s, wanted) + wanted
    return np.asarray(np.mod(s, side.length) if side.run.course.loop else np.clip(s, 0.0, side.length))


def _too_few(a: Side) -> NoFitError:
    return NoFitError(f'fewer than two valleys of "{a.name}" lie over it: give another --phase')


def _apart(places: Array, around: float | None) -> list[float]:
    """Places in order, those that are one place once; `around` is the length of a closed line."""
    out: list[float] = []
    for s in np.sort(places).tolist():
        if not out or s - out[-1] > _SAME:
            out.append(s)
    if around is not None and len(out) > 1 and out[0] + around - out[-1] < _SAME:
        out.pop()
    return out


def _tucks(seam: Seam) -> list[tuple[float, float]]:
    """Where pleats of the second edge take up cloth, from where to where along it as it is sewn, in order.

    Folds that are laid on one line, as of an inverted pleat, take it up as one.
    """
    out: list[tuple[float, float]] = []
    for one in seam.pairs:
        first = one.stretch.first.b
        for tuck in () if one.stretch.long_a else one.tucks:
            begin, end = first + tuck.begin, first + tuck.end
            touching = bool(out) and begin - out[-1][1] < _SAME
            out = [*out[:-1], (out[-1][0], end)] if touching else [*out, (begin, end)]
    return out


def _between(tucks: Sequence[tuple[float, float]], begin: float, end: float) -> list[tuple[float, float]]:
    return [(a, b) for a, b in tucks if a < end - _SAME and b > begin + _SAME]


def _hidden(tucks: Sequence[tuple[float, float]], begin: float, end: float) -> Iterator[float]:
    """Where valleys lie on cloth that pleats take up between two valleys that are seen.

    A scallop that goes into a pleat comes out of it on the other side as if it had gone on: its like begins so much
    further on as the pleat takes up. What is left between the two is one scallop more, or is shared by both.
    """
    wide = end - begin - sum(b - a for a, b in tucks)
    for a, b in tucks:
        take = b - a
        if take >= (1.0 + _LEAST) * wide:
            yield from (begin + wide, begin + take)
        elif take >= wide:
            yield begin + 0.5 * (wide + take)
        elif take > 0.5 * wide:
            yield 0.5 * (a + b)
        begin += take


# ---------------------------------------------------------------- with spaces between scallops

# A place along the second edge, and whether a scallop begins there or ends.
_Place = tuple[float, bool]


def _spaced_in_phase(seam: Seam, own: Recipe) -> Recipe:
    """The second run's own recipe with scallops and spaces held in phase, and its ends as these leave them."""
    a, b, edge = seam.a, seam.b, own.edge
    loop, tucks = b.run.course.loop, _tucks(seam)
    places = _seen(seam)
    if loop:
        first = next((k for k, (_, begins) in enumerate(places) if begins), 0)
        places = [*places[first:], *((s + b.length, begins) for s, begins in places[:first])]
    between = list(pairwise([*places, (places[0][0] + b.length, True)] if loop and places else places))
    wide = [(s, to) for (s, begins), (to, _) in between if begins]
    if not wide:
        raise _too_few(a)
    flats = [(s, to) for (s, begins), (to, _) in between if not begins]
    space = min((to - s for s, to in flats), default=0.0)
    hidden = [one for s, to in wide for one in _hidden_with_spaces(_between(tucks, s, to), s, to, space)]
    flats += [(s, to) for s, to in hidden if to - s > _SAME]
    # Along the edge as it is drawn, where what begins along the seam may end.
    held = sorted(_drawn(b, s) for s in [*(s for s, _ in places), *(s for one in hidden for s in one)])
    flat = sorted((_drawn(b, to), _drawn(b, s)) if b.turned else (_drawn(b, s), _drawn(b, to)) for s, to in flats)
    start, end = edge.start, edge.end
    if not loop:
        start, held, flat = _spaced_end(edge.start, held, flat, lambda s: s)
        end, held, flat = _spaced_end(edge.end, held, flat, lambda s: b.length - s)
    # So wide that no stretch takes two.
    most = max(to - s for s, to in pairwise(held) if to - s > _SAME and (s, to) not in flat)
    valleys_held = np.unique(np.mod(np.array(held), b.length) if loop else np.array(held))
    phased = Phased(tuple(valleys_held.tolist()), most, edge.start, edge.end, edge.hold, tuple(flat))
    return replace(own, edge=replace(edge, start=start, end=end, hold=()), phased=phased)


def _drawn(side: Side, s: float) -> float:
    """A length along the seam as one along the edge, so exact as it is kept."""
    at = round(float(side.along_edge(np.array([s]))[0]), _PLACES)
    return at if side.run.course.loop else min(max(at, 0.0), side.length)


def _seen(seam: Seam) -> list[_Place]:
    """Where scallops are wanted to begin and to end along the second edge, in order and by turns.

    What begins and ends again on cloth that a pleat of the first edge takes up is not seen; where only one of the two
    is out of sight, it lies on the pleat's own place.
    """
    a = seam.a
    wanted = [_wanted_on(a, s, seam.wanted) for s in _kinds_of(a, spaced=True)]
    s = np.concatenate(wanted)
    order = np.argsort(s, kind="stable")
    begins = np.repeat([True, False], [len(one) for one in wanted])[order]
    there = moved(seam.pairs, s[order])
    rows = list(zip(there.s.tolist(), begins.tolist(), there.inside.tolist(), strict=True))
    turn = next((k for k, (_, _, inside) in enumerate(rows) if not inside), 0) if a.run.course.loop else 0
    out: list[_Place] = []
    for inside, together in groupby([*rows[turn:], *rows[:turn]], key=lambda row: row[2]):
        found = [(place, is_begin) for place, is_begin, _ in together]
        out += found[: len(found) % 2] if inside else found
    return sorted(out)


def _hidden_with_spaces(
    tucks: Sequence[tuple[float, float]], begin: float, end: float, space: float
) -> Iterator[tuple[float, float]]:
    """The flat stretches on cloth that pleats take up from a scallop, as `_hidden`; one without length is a valley."""
    wide = end - begin - sum(b - a for a, b in tucks)
    for a, b in tucks:
        take = b - a
        if take - wide > 2.0 * space + _LEAST * wide:
            yield begin + wide, begin + wide + space
            yield begin + take - space, begin + take
        elif take >= wide:
            yield begin + wide, begin + take
        elif take > 0.5 * wide:
            yield 0.5 * (a + b), 0.5 * (a + b)
        begin += take


def _spaced_end(
    own: str, held: list[float], flats: list[tuple[float, float]], left: Callable[[float], float]
) -> tuple[str, list[float], list[tuple[float, float]]]:
    """The words for one end, with what is held and is flat then; `left` tells how far from that end a place lies.

    A scallop that would be cut off there is left out, unless half of it is left.
    """
    near = sorted(held, key=left)
    at = left(near[0])
    folded = own.startswith(FOLD)
    first = next((flat for flat in flats if near[0] in flat), None)
    if first is not None and len(near) > _ENDS:
        half = abs(2.0 * at / abs(near[2] - near[1]) - 1.0) < _HALF
        if folded or own == CREST or (own in ("", VALLEY) and half):
            return FOLD if folded else CREST, held, flats
        held = [s for s in held if s != near[0]]
        return f"{GAP}:{left(near[1]):.9f}mm", held, [flat for flat in flats if flat != first]
    if folded and at >= _SAME:
        # The space there goes on beyond the fold.
        beyond = (near[0] - at, near[0]) if left(0.0) == 0.0 else (near[0], near[0] + at)
        return f"{FOLD}:{VALLEY}", held, sorted([*flats, beyond])
    return _end_in_phase(own, at, math.inf), held, flats


def cure_for(drawing: Drawing, seam: Seam, known: Mapping[str, Recipe]) -> str:
    """What would bring the second run in phase: options for its own command where these do it, else --in-phase."""
    try:
        run = brought(drawing, seam, known)
    except ScallopkitError as error:
        return str(error)
    held = run.recipe.phased.valleys if run.recipe.phased is not None else ()
    if not seam.b.run.course.loop:
        gaps = [f"gap:{gap:.2f}mm" if gap > _SEEN else "" for gap in (held[0], seam.b.length - held[-1])]
        count = len(held) - 1 - (len(run.recipe.phased.flats) if run.recipe.phased is not None else 0)
        tried = _told(drawing, seam, known, gaps, count)
        found = None if tried is None else in_phase(seam.with_b(tried))
        if found is not None and found.off <= seam.within:
            words = [f"{option} {gap}" for option, gap in zip(("--start", "--end"), gaps, strict=True) if gap]
            return f'fit "{seam.b.name}" with {" ".join([*words, f"--count {count}"])}, or give --in-phase'
    places = ", ".join(f"{s:.2f}" for s in held[:_NAMED]) + (", ..." if len(held) > _NAMED else "")
    return f'give --in-phase, which holds valleys of "{seam.b.name}" {places} mm along it'


def _told(drawing: Drawing, seam: Seam, known: Mapping[str, Recipe], gaps: Sequence[str], count: int) -> Run | None:
    """The second run with gaps at its ends and a count, and nothing else held; None where it can't be made."""
    recipe = _scalloped(seam.b).own
    assert recipe.scallop is not None  # noqa: S101  # the line above has seen to that
    scallop = replace(recipe.scallop, width="", like="", ratio="", count=str(count))
    edge = replace(recipe.edge, start=gaps[0], end=gaps[1])
    try:
        return make_run(drawing, Recipe(recipe.name, edge, scallop, edges=recipe.edges, joins=recipe.joins), known)
    except ScallopkitError:
        return None
