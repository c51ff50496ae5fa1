"""Whole repeats on a line, and what each way to take up the rest does to them."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scallopkit.construction.motifs import laid
from scallopkit.construction.repeats import (
    ANY,
    EASE,
    EDGE,
    HIDE,
    KINDS,
    MITRE,
    MOTIF,
    NONE,
    SEAMS,
    STRETCH,
    WHOLE,
    Limits,
    Line,
    Place,
    Trim,
    Turn,
    Way,
    bought,
    chosen,
    counts,
    taken,
    ways,
)
from scallopkit.errors import NameUnknownError, NoFitError, RequestError


def open_line(length: float, seam: float | None = None) -> Line:
    """A line from a free end to a free end, with a seam between two pieces on it where one is asked for."""
    seams = [] if seam is None else [Place("side", seam, ("back", "front"), True, True)]
    start = Place("left", 0.0, ("back",), not seams, True)
    end = Place("right", length, ("front",), not seams, True)
    return Line(length, places=(start, *seams, end))


def loop(length: float, seam: float) -> Line:
    """A loop over two pieces: one seam on the way, one where it closes."""
    return Line(
        length,
        True,
        (Place("side", seam, ("back", "front"), True, True), Place("centre", length, ("front", "back"), True, True)),
    )


def way(line: Line, trim: Trim, kind: str, **more: object) -> Way:
    found = ways(line, trim, Limits(), **more)  # type: ignore[arg-type]  # move or hide
    assert [one.kind for one in found] == list(KINDS)
    return found[KINDS.index(kind)]


def test_a_line_that_holds_whole_repeats_needs_nothing() -> None:
    line, trim = open_line(320.0), Trim(32.0)
    assert counts(line, trim) == (10.0, 10.0)
    found = ways(line, trim, Limits())
    assert all(one.over == pytest.approx(0.0, abs=1e-9) for one in found)
    assert chosen(found).kind == NONE
    lies = laid(line, trim, chosen(found))
    assert lies.marks == pytest.approx([32.0 * k for k in range(11)], abs=1e-9)
    assert [place.phase for place in lies.places] == [0.0, 0.0]


def test_too_long_a_repeat_is_refused_with_the_largest_that_works() -> None:
    with pytest.raises(NoFitError, match=r"too long for 300\.00 mm: the largest that works is 300 mm"):
        counts(open_line(300.0), Trim(300.1))
    assert counts(open_line(300.0), Trim(300.0)) == (1.0, 1.0)
    # From a whole repeat's beginning to a motif's middle half a repeat is enough.
    with pytest.raises(NoFitError, match="the largest that works is 600 mm"):
        counts(open_line(300.0), Trim(601.0, end=MOTIF))
    assert counts(open_line(300.0), Trim(600.0, end=MOTIF))[0] == 0.5


def test_with_a_motif_at_one_end_the_count_has_its_share() -> None:
    line, trim = open_line(330.0), Trim(32.0, motif=0.25, end=MOTIF)
    assert counts(line, trim) == (10.25, 11.25)
    lies = laid(line, trim, way(line, trim, STRETCH))
    assert lies.places[-1].share == pytest.approx(0.25)
    assert lies.places[-1].from_motif == pytest.approx(0.0, abs=1e-9)


def test_where_anything_may_come_every_length_fits() -> None:
    for ends in ({"start": ANY}, {"end": ANY}, {"start": ANY, "end": ANY}):
        line, trim = open_line(333.0), Trim(32.0, **ends)  # type: ignore[arg-type]  # two of its words
        assert chosen(ways(line, trim, Limits())).kind == NONE
        lies = laid(line, trim, chosen(ways(line, trim, Limits())))
        fixed = lies.places[-1] if "start" in ends else lies.places[0]
        if len(ends) == 1:
            assert fixed.phase == pytest.approx(0.0, abs=1e-6)


def test_limits_decide_what_can_be_eased_and_stretched() -> None:
    line = open_line(1000.0)
    eased = way(line, Trim(49.0), EASE)
    assert (eased.count, eased.possible) == (21, True)
    assert eased.over == pytest.approx(29.0)
    too_full = way(line, Trim(50.0 * 1.035), EASE)
    assert not too_full.possible
    assert "--ease 3.5% would do" in too_full.why
    tight = way(line, Trim(49.0), STRETCH)
    assert "20 repeats are 20.00 mm shorter than the line, 2.04%" in tight.why
    assert "--stretch 2.05% would do, or a repeat of 49.505 mm" in tight.why
    # The figures given work.
    found = ways(line, Trim(49.0), Limits(stretch=0.0205))
    assert chosen(found, STRETCH).possible
    assert way(line, Trim(49.505), STRETCH).possible
    assert ways(line, Trim(50.0 * 1.035), Limits(ease=0.035))[0].possible


def test_what_is_asked_for_and_can_t_be_done_is_refused_with_what_can() -> None:
    found = ways(open_line(1000.0), Trim(49.0), Limits(0.0, 0.0))
    with pytest.raises(NoFitError, match=r"--take-up stretch can't be done: 20 repeats .*; seams, edge can"):
        chosen(found, STRETCH)
    assert chosen(found).kind == NONE


def test_seams_give_alike_on_both_their_pieces() -> None:
    line, trim = open_line(1000.0, seam=400.0), Trim(32.0)
    made = way(line, trim, SEAMS)
    assert made.over == pytest.approx(-8.0)
    assert [(move.at, move.piece, move.add) for move in made.moves] == [("side", "back", -4.0), ("side", "front", -4.0)]
    lies = laid(line, trim, made)
    # As sewn the new seam lies 4 mm before the drawn one, and the trim goes on unbroken over it.
    assert lies.places[1].phase == pytest.approx(396.0 % 32.0)
    assert lies.places[1].apart == 0.0
    assert lies.places[-1].phase == pytest.approx(0.0, abs=1e-6)
    assert lies.used == pytest.approx(31 * 32.0)
    ends = way(line, trim, SEAMS, move=("left", "side"))
    assert [move.add for move in ends.moves] == [-4.0, -2.0, -2.0]
    # At the left end 4 mm are taken in, so the first whole repeat begins 4 mm inside the drawn edge.
    assert laid(line, trim, ends).marks[0] == pytest.approx(4.0)


def test_free_ends_give_where_there_is_no_seam() -> None:
    made = way(open_line(1380.0), Trim(32.0), SEAMS)
    given = [(move.at, move.piece, move.add) for move in made.moves]
    assert given == [("left", "back", -2.0), ("right", "front", -2.0)]


def test_only_seams_and_free_ends_can_be_moved() -> None:
    line = Line(500.0, places=(Place("fold", 0.0), Place("right", 500.0, ("front",), True, True)))
    with pytest.raises(RequestError, match='"fold" can\'t be moved: take "right"'):
        ways(line, Trim(32.0), Limits(), ("fold",))
    with pytest.raises(NameUnknownError, match=r'no joint or end called "hem".*"fold", "right"'):
        ways(line, Trim(32.0), Limits(), ("hem",))


def test_what_is_hidden_at_a_seam_leaves_both_ends_whole() -> None:
    line, trim = open_line(1000.0, seam=400.0), Trim(32.0)
    made = way(line, trim, HIDE, hide="side")
    assert made.hidden == pytest.approx(32 * 32.0 - 1000.0)
    lies = laid(line, trim, made)
    assert [place.phase for place in (lies.places[0], lies.places[-1])] == pytest.approx([0.0, 0.0], abs=1e-6)
    # 24 mm hidden of a repeat of 32 are 8 mm out of step.
    assert lies.places[1].apart == pytest.approx(8.0)
    assert lies.used == pytest.approx(32 * 32.0)
    at_start = laid(line, trim, way(line, trim, HIDE, hide="left"))
    assert at_start.places[0].phase == pytest.approx(24.0)
    assert at_start.places[-1].phase == pytest.approx(0.0, abs=1e-6)


def test_what_can_hide_nothing_is_told() -> None:
    assert "take" in way(open_line(1000.0), Trim(32.0), HIDE).why
    fold = Line(500.0, places=(Place("fold", 0.0), Place("right", 500.0, ("front",), True, True)))
    assert way(fold, Trim(32.0), HIDE).at == ("right",)
    assert 'nothing can be hidden at "fold"' in way(fold, Trim(32.0), HIDE, hide="fold").why


def test_an_edge_that_will_be_changed_is_changed_all_along() -> None:
    line, trim = open_line(1000.0), Trim(32.0)
    made = way(line, trim, EDGE)
    assert made.over == pytest.approx(-8.0)
    lies = laid(line, trim, made)
    assert lies.marks == pytest.approx([1000.0 * k / 31 for k in range(32)])


def test_mitres_take_trim_and_can_fold_away_the_rest() -> None:
    # A square whose trim, 20 mm wide, has its middle 390 mm long on each side, its outer edge 410 mm.
    turns = tuple(Turn(f"c{k}", 390.0 * k, math.pi / 2.0) for k in range(4))
    line, trim = Line(1560.0, True, (Place("c0", 1560.0, hides=True),), turns), Trim(32.0, 20.0)
    assert taken(line, 20.0) == pytest.approx(4 * 410.0)
    made = way(line, trim, MITRE)
    assert made.hidden == pytest.approx(52 * 32.0 - 1640.0)
    lies = laid(line, trim, made)
    assert lies.used == pytest.approx(52 * 32.0)
    assert lies.places[0].apart == pytest.approx(0.0, abs=1e-6)
    # 12 repeats of 384 mm and 6 mm lie before the first corner; 26 mm are folded away there, and a repeat begins.
    assert [at for at in lies.marks if 384.0 - 1e-6 < at < 423.0] == pytest.approx([384.0, 390.0, 422.0])
    for kind in (EASE, STRETCH, EDGE):
        other = way(line, trim, kind)
        assert laid(line, trim, other).used == pytest.approx(other.count * 32.0)
        assert laid(line, trim, other).places[0].apart == pytest.approx(0.0, abs=1e-6)
    assert not way(open_line(500.0), Trim(32.0, 20.0), MITRE).possible
    assert "--width" in way(line, Trim(32.0), MITRE).why


def test_round_a_loop_the_last_repeat_ends_where_the_first_begins() -> None:
    line, trim = loop(1000.0, 300.0), Trim(32.0)
    for kind in (EASE, STRETCH, SEAMS):
        lies = laid(line, trim, way(line, trim, kind))
        assert lies.places[-1].apart == pytest.approx(0.0, abs=1e-6)
    left = laid(line, trim, way(line, trim, NONE))
    assert left.places[-1].apart == pytest.approx(8.0)
    assert len(left.marks) == 32


def test_what_to_buy() -> None:
    one = bought(1376.0, 32.0, 2, 0)
    assert (one.allowed, one.total, one.repeats, one.pieces) == (20.0, 1396.0, 44, 1)
    # A roll of 500 mm holds 15 repeats beside two joins: 43 take three pieces, two joins more.
    pieced = bought(1376.0, 32.0, 2, 0, longest=500.0)
    assert (pieced.pieces, pieced.joins, pieced.total) == (3, 2, 1416.0)
    twice = bought(1376.0, 32.0, 2, 0, times=2, reserve=(50.0, 0.05))
    assert twice.reserve == pytest.approx(50.0 + 0.05 * 2 * 1396.0)
    assert twice.total == pytest.approx(2 * 1396.0 + twice.reserve)
    with pytest.raises(RequestError, match=r"no whole repeat of 32 mm .* --longest of 52 mm or more"):
        bought(1376.0, 32.0, 2, 0, longest=51.0)
    assert bought(1376.0, 32.0, 2, 0, longest=52.0).pieces == 43


lengths = st.floats(100.0, 5000.0)
repeats = st.floats(3.0, 90.0)
shares = st.floats(0.05, 0.95)
holds = st.sampled_from([WHOLE, MOTIF])


@given(lengths, repeats, shares, holds, holds, shares)
def test_every_way_ends_as_it_is_held(
    length: float, repeat: float, seam: float, start: str, end: str, motif: float
) -> None:
    trim = Trim(repeat, 0.0, motif, start, end)
    line = open_line(length, seam * length)
    for made in ways(line, trim, Limits(1.0, 1.0), ("left", "side", "right"), "side"):
        if made.kind in (NONE, MITRE) or not made.possible:
            continue
        lies = laid(line, trim, made)
        for place, hold in ((lies.places[0], start), (lies.places[-1], end)):
            if hold == MOTIF:
                # Rounding of lengths up to 5 m, far below what a ruler shows.
                assert place.from_motif == pytest.approx(0.0, abs=1e-6)
            else:
                assert min(place.phase, repeat - place.phase) == pytest.approx(0.0, abs=1e-6)
            assert place.share < 1.0
        # Where the trim is not cut the motif goes on over the seam; what is hidden is what it is out of step there.
        step = made.hidden % repeat
        expected = min(step, repeat - step) if made.kind == HIDE else 0.0
        assert lies.places[1].apart == pytest.approx(expected, abs=2e-6)
        assert lies.used == pytest.approx(made.count * repeat, abs=1e-6)


@given(lengths, repeats, shares)
def test_eased_or_stretched_marks_are_evenly_spaced(length: float, repeat: float, seam: float) -> None:
    line, trim = loop(length, seam * length), Trim(repeat)
    for made in ways(line, trim, Limits(1.0, 1.0))[:2]:
        assume(made.possible)
        lies = laid(line, trim, made)
        assert len(lies.marks) == made.count
        gaps = [b - a for a, b in zip(lies.marks, [*lies.marks[1:], length], strict=True)]
        assert gaps == pytest.approx([length / made.count] * len(gaps), abs=1e-6)


@given(lengths, repeats)
def test_the_nearest_counts_enclose_the_line(length: float, repeat: float) -> None:
    fewer, more = counts(Line(length), Trim(repeat))
    assert fewer * repeat <= length + 1e-4
    assert more * repeat >= length - 1e-4
    assert more - fewer in (0.0, 1.0)
