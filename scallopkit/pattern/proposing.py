"""Joins that a drawing suggests by itself: edges that are sewn together, and the two legs of a dart.

A seam shows in the lengths of two sides, in the corners and shapes that go together, and in the marks on both; a dart
in two like edges of one piece that meet in a sharp corner pointing into it. The strongest evidence is taken first, and
what it uses is free no longer. What goes on over a seam, as hems and armholes do over a side seam, is no seam itself;
and where two answers are as good as each other, none is given.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from .edge_names import EdgeNames, points_of_darts
from .evidence import Corner, Evidence, Meeting, Rank, alike, are_hollow, like, weighed, within_ease
from .piece import Pattern
from .sides import Outline, Side, leg, read_outline, sides

# Lengths that speak alone must say more: shorter edges are alike by chance.
_ALONE_SHARE = 0.005
_ALONE_LEAST = 20.0
_ROUNDING = 1e-6
# Of two partners for an edge, one that is nearer in length by more, mm, is the better: no chalk line is as exact.
_NEARER = 1.0
# How many edges next in length an edge is held against: among more like ones none can be told from the others.
_TRIES = 16


@dataclass(frozen=True)
class ProposedJoin:
    """Two edges that seem to be sewn together, both walked the way in which they meet.

    Attributes:
        first, second: the edges, by the names that `find_edge` takes; where darts are closed in one, the whole stretch
            of the outline, legs and all.
        first_length, second_length: their sewn lengths in mm, without the legs of darts.
        reasons: why, in words, the strongest reason first.
        kind: "seam", or "dart".
        first_parts, second_parts: what is sewn of each edge, by the names that `find_edge` takes: the edge itself, or
            what lies on either side of each dart that is closed in it.
        first_darts, second_darts: the points of these darts.
    """

    first: str
    second: str
    first_length: float
    second_length: float
    reasons: tuple[str, ...]
    kind: str
    first_parts: tuple[str, ...]
    second_parts: tuple[str, ...]
    first_darts: tuple[str, ...] = ()
    second_darts: tuple[str, ...] = ()


def proposed_joins(pattern: Pattern) -> tuple[ProposedJoin, ...]:
    """The joins that the lengths, corners, shapes and marks of the closed pieces suggest, in the order of the pieces.

    An edge belongs to one proposal at most. Seams join two pieces, or make a tube of one; edges that more than one
    answer would suit as well get none.
    """
    sewing = _Sewing(EdgeNames(pattern))
    outlines = [read_outline(i, piece, pattern.marks) for i, piece in enumerate(pattern.pieces) if piece.closed]
    for outline in outlines:
        sewing.darts(outline)
    every = [side for outline in outlines for side in sides(outline)]
    likely = _likely(every)
    sewing.all_round(likely)
    sewing.strongest_first(likely)
    sewing.by_lengths(every)
    return tuple(proposal for _, proposal in sorted(sewing.found, key=lambda found: found[0]))


# --- pairs that marks speak for -------------------------------------------------------------------------------------


def _likely(every: Iterable[Side]) -> list[Evidence]:
    """The pairs of sides that bear the same marks and are nearly as long as each other."""
    groups: dict[tuple[str, ...], list[Side]] = defaultdict(list)
    for side in _by_length(every):
        for key in _keys(side):
            groups[key].append(side)
    found = {}
    for key, group in groups.items():
        for a, b in _near_pairs(group, with_ease=len(key) > 1):
            names = frozenset((a.order, b.order))
            if names not in found:
                found[names] = weighed(a, b)
    return [evidence for evidence in found.values() if evidence.rank is not None and evidence.is_possible]


def _keys(side: Side) -> set[tuple[str, ...]]:
    """The names on a side, and the pairs of names at its ends; a side that has a name in common shares a key."""
    pairs = {tuple(sorted((a, b))) for a in side.start.said for b in side.end.said}
    return {(name,) for name in (*side.at, *side.start.said, *side.end.said)} | pairs


def _near_pairs(group: list[Side], with_ease: bool) -> Iterator[tuple[Side, Side]]:
    near = within_ease if with_ease else alike
    for i, a in enumerate(group):
        for b in group[i + 1 : i + 1 + _TRIES]:
            if not near(a.length, b.length):
                break
            if a.parts.isdisjoint(b.parts):
                yield a, b


def _by_length(every: Iterable[Side]) -> list[Side]:
    """From the shortest to the longest; lengths that differ by rounding only keep the order of the pieces."""
    return sorted(every, key=lambda side: (round(side.length, 4), side.order))


# --- sewing ---------------------------------------------------------------------------------------------------------


@dataclass(eq=False)
class _Sewing:
    """Collects proposals; what they use is taken.

    Attributes:
        taken: parts of outlines that belong to a proposal, or that several would suit as well.
        meeting: corners that such a seam brings together, see `Evidence.meetings`.
    """

    names: EdgeNames
    found: list[tuple[tuple[int, int, int], ProposedJoin]] = field(default_factory=list)
    taken: set[tuple[int, int]] = field(default_factory=set)
    meeting: set[Meeting] = field(default_factory=set)

    def darts(self, outline: Outline) -> None:
        """Propose the darts of one piece, with both legs walked to the point."""
        for dart in outline.darts:
            before, after = leg(outline, dart.before, dart.apex), leg(outline, dart.apex, dart.after)
            first, second = self.names.of(before, False), self.names.of(after, True)
            self.taken |= before.parts | after.parts
            if first is not None and second is not None:
                reasons = ("legs of one dart", like(before, after))
                lengths = before.length, after.length
                join = ProposedJoin(first, second, *lengths, reasons, "dart", (first,), (second,))
                self.found.append((before.order, join))

    def all_round(self, likely: Iterable[Evidence]) -> None:
        """Propose the seams of two pieces that are sewn to each other all round, like a cushion's."""
        pairs: dict[tuple[int, int], list[Evidence]] = defaultdict(list)
        for one in likely:
            if one.both_ends and one.alike and one.first.whole and one.second.whole:
                pairs[one.first.outline.number, one.second.outline.number].append(one)
        rings = [ring for ring in pairs.values() if _is_ring(ring)]
        times = Counter(evidence.first.outline.number for evidence in (ring[0] for ring in rings))
        times += Counter(evidence.second.outline.number for evidence in (ring[0] for ring in rings))
        for ring in rings:
            if times[ring[0].first.outline.number] == times[ring[0].second.outline.number] == 1:
                for evidence in ring:
                    self.propose(evidence)

    def strongest_first(self, likely: Iterable[Evidence]) -> None:
        """Propose seams rank by rank; those of one rank that stand in each other's way are left unsaid."""
        ranks: dict[Rank, list[Evidence]] = defaultdict(list)
        for evidence in likely:
            if evidence.rank is not None:
                ranks[evidence.rank].append(evidence)
        for rank in sorted(ranks):
            left = ranks[rank]
            while left := [evidence for evidence in left if self.is_free(evidence)]:
                nearest = _nearest(left)
                at_odds = _at_odds(nearest)
                for evidence in nearest:
                    if evidence in at_odds or not self.propose(evidence):
                        self.take(evidence)

    def by_lengths(self, every: Iterable[Side]) -> None:
        """Propose seams between edges that are alone in the drawing with their length, if their corners agree.

        Only between pieces without marks: where there are marks, they say what is sewn. Where the edges next to them
        are alike too, either may be the seam over which the other goes on.
        """
        ordered = _by_length(every)
        beside = _by_corner(ordered)
        only = [_only_other(ordered, i) for i in range(len(ordered))]
        pairs = [(ordered[i], ordered[j]) for i, j in enumerate(only) if j is not None and j > i and only[j] == i]
        for a, b in pairs:
            evidence = weighed(a, b)
            ways = () if a.outline.is_marked or b.outline.is_marked or not evidence.is_possible else evidence.ways
            if ways and all(self.is_free(way) and not _goes_on_like_it(way, beside) for way in ways):
                self.propose(evidence, alone=True)

    def is_free(self, evidence: Evidence) -> bool:
        """Whether its sides belong to no proposal, and do not just go on into each other over one."""
        return self.taken.isdisjoint(evidence.parts) and self.meeting.isdisjoint(evidence.meetings)

    def take(self, evidence: Evidence) -> None:
        """Leave nothing of it to weaker evidence."""
        self.taken |= evidence.parts
        self.meeting |= evidence.meetings

    def propose(self, evidence: Evidence, alone: bool = False) -> bool:
        """Take both sides for a seam, if both have names; says whether they had."""
        a, b = evidence.first, evidence.second
        meant = _meant(evidence)
        first, second = self.names.of(a, False, meant), self.names.of(b, evidence.back, meant)
        mine, its = self.names.parts(a, False, meant), self.names.parts(b, evidence.back, meant)
        if first is None or second is None or mine is None or its is None:
            return False
        self.take(evidence)
        darts = points_of_darts(a, False), points_of_darts(b, evidence.back)
        join = ProposedJoin(first, second, a.length, b.length, evidence.reasons(alone), "seam", mine, its, *darts)
        self.found.append((a.order, join))
        return True


def _meant(evidence: Evidence) -> tuple[str, str]:
    """The marks at the two ends that name both sides."""
    (one, its), (other, end) = evidence.ends
    first = next((name for name in evidence.from_marks if name in one.marks and name in its.marks), "")
    return first, next((name for name in evidence.to_marks if name in other.marks and name in end.marks), "")


def _is_ring(pairs: list[Evidence]) -> bool:
    """Whether every side of two outlines has its one partner on the other, in order; seams by name make no cushion."""
    one, other = pairs[0].first.outline, pairs[0].second.outline
    n = len(one.turning)
    if one is other or not n == len(other.turning) == len(pairs) or one.darts or other.darts:
        return False
    return (
        len({evidence.first.start.number for evidence in pairs}) == n
        and len({evidence.second.start.number for evidence in pairs}) == n
        and len({evidence.back for evidence in pairs}) == 1
        and all(evidence.hint == 0 for evidence in pairs)
    )


def _nearest(pairs: list[Evidence]) -> list[Evidence]:
    """The pairs without those of whose sides one has a partner that is clearly nearer in length."""
    best: dict[tuple[int, int], float] = {}
    for evidence in pairs:
        for part in evidence.parts:
            best[part] = min(best.get(part, evidence.apart), evidence.apart)
    return [e for e in pairs if all(e.apart <= best[part] + _NEARER for part in e.parts)]


def _at_odds(pairs: list[Evidence]) -> set[Evidence]:
    """The pairs that want the same side as another, or a side that goes on over another's seam."""
    found: set[Evidence] = set()
    users: dict[object, list[Evidence]] = defaultdict(list)
    for evidence in pairs:
        for used in (*evidence.parts, *evidence.meetings):
            users[used].append(evidence)
    for rivals in users.values():
        if len(rivals) > 1:
            found.update(rivals)
    return found


# --- pairs that only lengths speak for ------------------------------------------------------------------------------


def _only_other(ordered: list[Side], i: int) -> int | None:
    """The one side of the drawing whose length is very near to that of the i-th, if it is alone and a partner."""
    a, found = ordered[i], None
    if not a.whole or a.length < _ALONE_LEAST:
        return None
    for j in _very_near(ordered, i):
        b = ordered[j]
        if not a.parts.isdisjoint(b.parts):
            continue
        if found is not None or a.outline is b.outline or not b.whole:
            return None
        found = j
    return found


def _by_corner(every: Iterable[Side]) -> dict[Corner, list[Side]]:
    """The sides between corners that end at each corner."""
    out: dict[Corner, list[Side]] = defaultdict(list)
    for side in every:
        if side.whole:
            for place in (side.start, side.end):
                out[side.outline.number, place.number].append(side)
    return out


def _goes_on_like_it(evidence: Evidence, beside: dict[Corner, list[Side]]) -> bool:
    """Whether, at an end, the other edges of both pieces are alike too, and might be the seam as well."""
    own = (evidence.first, evidence.second)
    for meeting in evidence.meetings:
        one, other = ([side for side in beside[corner] if side not in own] for corner in sorted(meeting))
        if any(alike(a.length, b.length) and not are_hollow(a, b) for a in one for b in other):
            return True
    return False


def _very_near(ordered: list[Side], i: int) -> Iterator[int]:
    for step in (-1, 1):
        j = i + step
        while 0 <= j < len(ordered):
            a, b = ordered[i].length, ordered[j].length
            if abs(a - b) > _ALONE_SHARE * max(a, b) + _ROUNDING:
                break
            yield j
            j += step
