"""Two edges between their anchors: everything closes once it is folded in, and bad wishes name what would do."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scallopkit.construction.matching import (
    EASE,
    EDIT,
    GATHERS,
    WAYS,
    Anchor,
    HowTaken,
    Matched,
    Stretch,
    matched,
    stretches_of,
)
from scallopkit.construction.moving import moved
from scallopkit.construction.pleats import BOX, CENTRE, DARTS, END, KNIFE, START
from scallopkit.errors import NoFitError, RequestError, ScallopkitError

NAMES = ("band", "skirt")


def one(length_a: float, length_b: float, wish: HowTaken) -> Matched:
    (made,) = matched(stretches_of([], length_a, length_b, NAMES), [wish])
    return made


def folded(made: Matched) -> float:
    """The length of the longer edge once it is folded and eased, walked from pleat to pleat."""
    at, length = 0.0, 0.0
    for tuck in made.tucks:
        length += (tuck.begin - at) / made.slope
        at = tuck.end
    return length + (made.stretch.long - at) / made.slope


def test_stretches_lie_between_anchors_in_order() -> None:
    anchors = [Anchor("right", "r", 300.0, 330.0), Anchor("left", "l", 100.0, 100.0)]
    stretches = stretches_of(anchors, 400.0, 420.0, NAMES)
    assert [stretch.name for stretch in stretches] == ["start..left", "left..right", "right..end"]
    assert [stretch.excess for stretch in stretches] == [0.0, 30.0, 10.0]
    assert [stretch.long_a for stretch in stretches] == [False, False, True]


def test_anchors_that_cross_are_refused() -> None:
    with pytest.raises(RequestError, match=r"which cross each other.*--turned"):
        stretches_of([Anchor("l", "l", 100.0, 300.0), Anchor("r", "r", 300.0, 100.0)], 400.0, 400.0, NAMES)
    with pytest.raises(RequestError, match='one is an end of "skirt", the other none of "band"'):
        stretches_of([Anchor("l", "start", 100.0, 0.0)], 400.0, 400.0, NAMES)
    # Both ends named as anchors are the ends.
    assert len(stretches_of([Anchor("a", "b", 0.0, 0.0), Anchor("c", "d", 400.0, 410.0)], 400.0, 410.0, NAMES)) == 1


def test_ease_within_its_limit_and_beyond() -> None:
    made = one(400.0, 410.0, HowTaken())
    assert (made.kind, made.eased, made.stretch.share) == (EASE, 10.0, 0.025)
    with pytest.raises(
        NoFitError, match=r'from "start" to "end": 10\.40 mm are 2\.60% of 400\.00 mm.*2\.5% \(10\.00 mm\).*0\.40 mm'
    ):
        one(410.4, 400.0, HowTaken(EASE))
    assert one(410.1, 400.0, HowTaken(EASE, most_ease=0.04)).eased == pytest.approx(10.1)
    assert one(400.0, 400.0, HowTaken()).kind == ""


def test_number_and_depth_follow_from_each_other_and_from_the_excess() -> None:
    made = one(400.0, 460.0, HowTaken(KNIFE, number=3))
    assert [pleat.depth for pleat in made.pleats] == [10.0] * 3
    made = one(400.0, 460.0, HowTaken(KNIFE, depth=9.0))
    assert [pleat.depth for pleat in made.pleats] == [10.0] * 3
    # What both leave is eased in.
    made = one(400.0, 460.0, HowTaken(KNIFE, number=3, depth=9.0))
    assert made.eased == pytest.approx(6.0)
    assert one(400.0, 460.0, HowTaken(DARTS, number=2)).pleats[0].tucks[0].take == 30.0


@pytest.mark.parametrize(
    ("wish", "text"),
    [
        (
            HowTaken(KNIFE, number=4, depth=10.0),
            r"take up 80\.00 mm.*60\.00 mm too much: take 3, or a --depth of 7\.50",
        ),
        (HowTaken(BOX, number=1, depth=20.0), r"4 times the depth each.*: a --depth of 15\.00 mm"),
        (
            HowTaken(KNIFE, number=1, depth=10.0),
            r"leave 40\.00 mm, and 10\.00 mm can be eased in: give a --depth of 30",
        ),
        (HowTaken(KNIFE), "knife:3 or --number 3"),
    ],
)
def test_pleats_that_do_not_go_with_the_excess_are_refused(wish: HowTaken, text: str) -> None:
    with pytest.raises(ScallopkitError, match=text):
        one(400.0, 460.0, wish)


def test_equal_edges_have_nothing_to_pleat() -> None:
    with pytest.raises(RequestError, match=r"both edges are 400\.00 mm long"):
        one(400.0, 400.0, HowTaken(KNIFE, number=2))


def test_the_centre_is_that_of_the_whole_seam() -> None:
    stretches = stretches_of([Anchor("cf", "cf", 200.0, 260.0)], 400.0, 520.0, NAMES)
    made = matched(stretches, [HowTaken(KNIFE, number=3, toward=CENTRE)] * 2)
    assert {tuck.toward for tuck in made[0].tucks} == {END}
    assert {tuck.toward for tuck in made[1].tucks} == {START}
    # Each half is the other's mirror image.
    right = [260.0 - tuck.fold for tuck in reversed(made[1].tucks)]
    assert [tuck.fold for tuck in made[0].tucks] == pytest.approx(right)


@st.composite
def seams(draw: st.DrawFn) -> list[Matched]:
    """Up to three stretches, each taken up in a way of its own."""
    anchors, a, b, wishes = [], 0.0, 0.0, []
    for k in range(draw(st.integers(1, 3))):
        short = draw(st.floats(60.0, 400.0))
        kind = draw(st.sampled_from(WAYS))
        share = draw(st.floats(0.0, 0.025)) if kind == EASE else draw(st.floats(0.05, 1.9))
        number = None if kind in (EASE, GATHERS, EDIT) else draw(st.integers(1, 9))
        lengths = (short, short * (1.0 + share))[:: draw(st.sampled_from([1, -1]))]
        a, b = a + lengths[0], b + lengths[1]
        anchors.append(Anchor(f"a{k}", f"b{k}", a, b))
        wishes.append(HowTaken(kind, number, toward=draw(st.sampled_from([START, END, CENTRE]))))
    try:
        return matched(stretches_of(anchors[:-1], a, b, NAMES), wishes)
    except NoFitError:
        assume(False)
        raise


@given(seams())
def test_every_stretch_closes_once_it_is_folded_in(pairs: list[Matched]) -> None:
    for made in pairs:
        assert folded(made) == pytest.approx(made.stretch.sewn, abs=1e-6)
        ends = np.array([0.0, made.stretch.sewn])
        assert made.to_long(ends) == pytest.approx([0.0, made.stretch.long], abs=1e-6)


@given(seams(), st.lists(st.floats(0.0, 1.0), min_size=1, max_size=6), st.booleans())
def test_marks_moved_there_and_back_return(pairs: list[Matched], shares: list[float], from_a: bool) -> None:
    last = pairs[-1].stretch.last
    s = (last.a if from_a else last.b) * np.array(shares)
    there = moved(pairs, s, from_a)
    back = moved(pairs, there.s, not from_a)
    # Within what a pleat takes up a place comes back to the pleat; an anchor beside one is on either side of it.
    free = ~there.inside
    near = np.array([min(abs(x - t) for t in _tucked(pairs, from_a)) if _tucked(pairs, from_a) else 9.0 for x in s])
    free &= near > 1e-6
    assert back.s[free] == pytest.approx(s[free], abs=1e-9)
    order = np.argsort(s, kind="stable")
    assert np.all(np.diff(there.s[order]) >= -1e-9)


def _tucked(pairs: list[Matched], on_a: bool) -> list[float]:
    """Where what pleats take up begins and ends on one of the edges."""
    out = []
    for made in pairs:
        if made.stretch.long_a == on_a:
            first = made.stretch.first.a if on_a else made.stretch.first.b
            out += [first + x for tuck in made.tucks for x in (tuck.begin, tuck.end)]
    return out


def test_a_mark_within_a_pleat_lies_on_the_pleat() -> None:
    made = one(400.0, 460.0, HowTaken(KNIFE, number=1))
    (tuck,) = made.tucks
    there = moved([made], np.array([tuck.begin + 10.0, 10.0]), from_a=False)
    assert there.inside.tolist() == [True, False]
    assert there.s.tolist() == pytest.approx([tuck.sewn, 10.0])


def test_a_stretch_knows_its_name() -> None:
    assert Stretch(Anchor("cf", "c", 0.0, 0.0), Anchor("side", "s", 10.0, 12.0)).name == "cf..side"
