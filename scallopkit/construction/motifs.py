"""Where the repeats of a trim fall on its line, and how its motif lies at joints and ends."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from .repeats import EASE, EDGE, HIDE, MITRE, SEAMS, STRETCH, Line, Place, Trim, Way, mitre_takes, phases, taken

# Places nearer than this along the line, mm, are one.
_SAME = 1e-6


@dataclass(frozen=True)
class Stretch:
    """A part of the line on which trim lies unbroken.

    Attributes:
        begin, end: from where to where along the line, mm.
        first: how far into the trim it begins, mm.
        scale: how much trim lies on each mm of the line, mm.
    """

    begin: float
    end: float
    first: float
    scale: float

    def on_trim(self, at: float) -> float:
        """Length along the trim, mm, at a length along the line."""
        return self.first + (at - self.begin) * self.scale


@dataclass(frozen=True)
class AtPlace:
    """How the motif lies at a joint or an end, as sewn.

    Attributes:
        name: the place.
        at: its length along the line, mm.
        phase: how far into a repeat it is, mm.
        share: the same as a share of the repeat.
        from_motif: from the nearest motif's middle to the place, mm; negative before it.
        apart: how far the repeats on its two sides are out of step, mm; 0 where the trim goes on unbroken.
    """

    name: str
    at: float
    phase: float
    share: float
    from_motif: float
    apart: float


@dataclass(frozen=True)
class Laid:
    """A trim as it is laid on a line.

    Attributes:
        stretches: its unbroken parts, in order.
        marks: lengths along the line, mm, where repeats begin.
        places: how the motif lies at the joints and ends, in order.
        used: length of trim that lies on the line once, in mitres and hidden too, mm.
    """

    stretches: tuple[Stretch, ...]
    marks: tuple[float, ...]
    places: tuple[AtPlace, ...]
    used: float


def laid(line: Line, trim: Trim, way: Way) -> Laid:
    """The trim on its line, in the way that was chosen."""
    stretches = tuple(_stretches(line, trim, way))
    begins = _begin(line, trim, way)
    every = [at for stretch in stretches for at in _marks(stretch, trim, begins)]
    marks = [at for k, at in enumerate(every) if k == 0 or at - every[k - 1] > _SAME]
    if line.loop and len(marks) > 1 and marks[-1] - marks[0] > line.length - _SAME:
        # Where a loop closes the last repeat ends and the first one begins.
        marks.pop()
    places = tuple(_at_place(line, trim, way, stretches, begins, place) for place in line.places)
    used = stretches[-1].on_trim(line.length) - stretches[0].first
    return Laid(stretches, tuple(marks), places, used + stretches[0].scale * _closing_jump(line, trim, way))


def _begin(line: Line, trim: Trim, way: Way) -> float:
    """How far into a repeat the trim begins, as a share."""
    start, end = phases(line, trim)
    if start is not None:
        return start
    return 0.0 if end is None else (end - way.count) % 1.0


def _stretches(line: Line, trim: Trim, way: Way) -> Iterator[Stretch]:
    """The unbroken parts of the trim on the line."""
    length = taken(line, trim.width)
    # A line that will be changed is changed all along it.
    scale = way.count * trim.repeat / length if way.kind in (EASE, STRETCH, EDGE) else 1.0
    jumps = [(at, jump * scale) for at, jump in _jumps(line, trim, way) if _SAME < at < line.length - _SAME]
    first = _opening_jump(line, way)
    for begin, end in pairwise([0.0, *sorted({at for at, _ in jumps}), line.length]):
        yield Stretch(begin, end, first, scale)
        first += (end - begin) * scale + sum(jump for at, jump in jumps if at == end)


def _jumps(line: Line, trim: Trim, way: Way) -> Iterator[tuple[float, float]]:
    """Where on the line some trim is passed over, and how much, mm: in mitres, in a seam, in what a seam gives."""
    yield from _mitres(line, trim, way)
    for place in line.places:
        if way.kind in (SEAMS, HIDE) and place.name in way.at:
            yield place.at, _gives(way)


def _mitres(line: Line, trim: Trim, way: Way) -> Iterator[tuple[float, float]]:
    """What is passed over in mitres."""
    for turn in line.turns:
        yield turn.at, 0.5 * mitre_takes(trim.width, turn.angle)
        if way.kind == MITRE:
            yield turn.at, way.hidden / len(line.turns)


def _gives(way: Way) -> float:
    """How much trim each place takes that is moved, or in which some is hidden, mm."""
    return (way.over if way.kind == SEAMS else way.hidden) / len(way.at)


def _opening_jump(line: Line, way: Way) -> float:
    """How far into the trim the line as it is drawn begins, mm, where its first end is moved or hides some.

    A closing seam that is moved gives half to either of its pieces; what is hidden in it is cut off at the end.
    """
    if way.kind not in (SEAMS, HIDE) or (line.loop and way.kind == HIDE):
        return 0.0
    if line.loop:
        closing = [place for place in line.places if place.at > line.length - _SAME and place.name in way.at]
        return 0.5 * _gives(way) if closing else 0.0
    opening = [place for place in line.places if place.at < _SAME and place.name in way.at]
    return _gives(way) if opening else 0.0


def _closing_jump(line: Line, trim: Trim, way: Way) -> float:
    """How much trim lies beyond the ends of the line as drawn, mm: hidden or let out there, or in a mitre there."""
    return sum(jump for at, jump in _jumps(line, trim, way) if not _SAME < at < line.length - _SAME)


def _marks(stretch: Stretch, trim: Trim, begins: float) -> Iterator[float]:
    """Where repeats begin on an unbroken part."""
    ends = stretch.on_trim(stretch.end)
    k = math.ceil(stretch.first / trim.repeat + begins - _SAME / trim.repeat)
    while (k - begins) * trim.repeat <= ends + _SAME:
        at = stretch.begin + ((k - begins) * trim.repeat - stretch.first) / stretch.scale
        yield min(max(at, stretch.begin), stretch.end)
        k += 1


def _at_place(line: Line, trim: Trim, way: Way, stretches: Sequence[Stretch], begins: float, place: Place) -> AtPlace:
    """How the motif lies at a place, as sewn."""
    before = next((s for s in stretches if s.begin + _SAME < place.at <= s.end + _SAME), stretches[0])
    after = next((s for s in stretches if s.begin - _SAME <= place.at < s.end - _SAME), stretches[-1])
    arrives, leaves = before.on_trim(place.at), after.on_trim(place.at)
    if line.loop and place.at > line.length - _SAME:
        # A corner where the loop closes takes its mitre there.
        arrives += stretches[0].scale * sum(jump for at, jump in _mitres(line, trim, way) if at < _SAME)
        leaves = stretches[0].first
    if way.kind == SEAMS and place.name in way.at:
        arrives, leaves = _moved(line, way, place, arrives, leaves)
    phase = _share(begins + arrives / trim.repeat)
    apart = abs(_nearest(begins + leaves / trim.repeat - phase)) * trim.repeat
    from_motif = _nearest(phase - trim.motif) * trim.repeat
    return AtPlace(place.name, place.at, phase * trim.repeat, phase, from_motif, apart if apart > _SAME else 0.0)


def _moved(line: Line, way: Way, place: Place, arrives: float, leaves: float) -> tuple[float, float]:
    """Lengths along the trim on either side of a place that is moved: half of what a seam gives lies on each."""
    gives = _gives(way)
    if line.loop or _SAME < place.at < line.length - _SAME:
        return arrives + 0.5 * gives, leaves - 0.5 * gives
    end = arrives + (-gives if place.at < _SAME else gives)
    return end, end


def _share(turns: float) -> float:
    """The part beyond whole repeats, 0 up to 1; what rounding leaves beside a whole one is none."""
    share = turns % 1.0
    return 0.0 if min(share, 1.0 - share) < 1e-9 else share


def _nearest(turns: float) -> float:
    """The same about the nearest whole repeat, -0.5 to 0.5."""
    return turns - round(turns)
