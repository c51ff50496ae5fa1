"""Pleats: what they take, where they lie once folded, and that none lies over another."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from scallopkit.construction.pleats import (
    BOX,
    CENTRE,
    DARTS,
    END,
    INVERTED,
    KNIFE,
    NEEDS,
    START,
    Pleat,
    Setting,
    depth_for,
    number_for,
    set_pleats,
    spacing_of,
    taken,
)
from scallopkit.errors import NoFitError, RequestError


def covered(pleat: Pleat) -> tuple[float, float]:
    """What of the sewn line a folded pleat lies over, from its folds alone."""
    ends = []
    for tuck in pleat.tucks:
        # The cloth below goes from the fold half of what is taken, away from where the fold points to.
        ends += [tuck.sewn, tuck.sewn + (0.5 if tuck.toward == START else -0.5) * tuck.take]
    return min(ends), max(ends)


def test_a_knife_pleat_turned_to_the_start_has_its_fold_beyond_the_placement_line() -> None:
    (pleat,) = set_pleats(Setting(KNIFE, 1, 10.0, 100.0))
    (tuck,) = pleat.tucks
    # 10 mm deep, so 20 mm are taken; the cloth below lies over 45 to 55 mm of the line, the fold at its start.
    assert (tuck.sewn, tuck.begin, tuck.end) == (45.0, 45.0, 65.0)
    assert (tuck.placement, tuck.fold) == (45.0, 65.0)
    (other,) = set_pleats(Setting(KNIFE, 1, 10.0, 100.0, END))[0].tucks
    assert (other.sewn, other.placement, other.fold) == (55.0, 75.0, 55.0)


def test_box_and_inverted_pleats_are_turned_from_and_to_each_other() -> None:
    (box,) = set_pleats(Setting(BOX, 1, 10.0, 100.0))
    # The box is two depths wide, and its folds are that far apart on the cloth too.
    assert [(t.placement, t.fold) for t in box.tucks] == [(40.0, 60.0), (100.0, 80.0)]
    (inverted,) = set_pleats(Setting(INVERTED, 1, 10.0, 100.0))
    # Both folds are laid on one line in the middle.
    assert [(t.placement, t.fold) for t in inverted.tucks] == [(70.0, 50.0), (70.0, 90.0)]
    assert covered(box) == covered(inverted) == (40.0, 60.0)


def test_toward_the_centre_pleats_of_either_half_are_turned_to_the_other() -> None:
    made = set_pleats(Setting(KNIFE, 4, 5.0, 200.0, CENTRE, 100.0))
    assert [pleat.tucks[0].toward for pleat in made] == [END, END, START, START]
    # Mirror images of each other.
    places = [pleat.tucks[0].sewn for pleat in made]
    assert [a + b for a, b in zip(places, reversed(places), strict=True)] == pytest.approx([200.0] * 4)
    with pytest.raises(NoFitError, match="stands on the middle"):
        set_pleats(Setting(KNIFE, 3, 5.0, 200.0, CENTRE, 100.0))


def test_spaced_pleats_stand_in_the_middle_and_keep_from_the_anchors() -> None:
    made = set_pleats(Setting(KNIFE, 3, 8.0, 200.0, spacing=30.0, margin=50.0))
    assert [sum(covered(pleat)) / 2.0 for pleat in made] == pytest.approx([70.0, 100.0, 130.0])
    with pytest.raises(NoFitError, match=r"give a --spacing of 46\.00 mm or less"):
        set_pleats(Setting(KNIFE, 3, 8.0, 200.0, spacing=50.0, margin=50.0))
    with pytest.raises(NoFitError, match=r"give a --spacing of 16\.00 mm or more"):
        set_pleats(Setting(BOX, 3, 8.0, 200.0, spacing=10.0))
    with pytest.raises(NoFitError, match=r"less than 100\.00 mm"):
        set_pleats(Setting(KNIFE, 3, 8.0, 200.0, margin=100.0))


@pytest.mark.parametrize("kind", [KNIFE, BOX, INVERTED])
def test_pleats_that_lie_over_each_other_are_refused_with_what_fits(kind: str) -> None:
    most = depth_for(kind, 200.0, 4)
    # Three times as much cloth: neighbours touch.
    touching = set_pleats(Setting(kind, 4, most, 100.0))
    for one, other in pairwise(touching):
        assert covered(one)[1] == pytest.approx(covered(other)[0])
    with pytest.raises(NoFitError, match=rf"can take up 200\.00 mm, each {most:.2f} mm deep"):
        set_pleats(Setting(kind, 4, 1.01 * most, 100.0))


def test_the_number_is_the_one_whose_depth_comes_nearest() -> None:
    assert number_for(KNIFE, 60.0, 10.0) == 3
    assert number_for(BOX, 60.0, 10.0) == 2
    assert number_for(KNIFE, 5.0, 10.0) == 1
    assert depth_for(BOX, 60.0, 2) == 7.5
    with pytest.raises(RequestError, match="more than 1000 "):
        number_for(KNIFE, 1e6, 0.1)


@given(
    st.sampled_from([KNIFE, BOX, INVERTED, DARTS]),
    st.integers(1, 12),
    st.floats(1.0, 30.0),
    st.floats(50.0, 900.0),
    st.sampled_from([START, END, CENTRE]),
    st.floats(0.0, 30.0),
    st.floats(1.0, 1.04),
)
def test_folded_pleats_lie_apart_within_the_anchors_and_take_what_they_should(
    kind: str, number: int, depth: float, length: float, toward: str, margin: float, slope: float
) -> None:
    try:
        made = set_pleats(Setting(kind, number, depth, length, toward, 0.37 * length, None, margin), slope)
    except NoFitError:
        assume(False)
    tucks = [tuck for pleat in made for tuck in pleat.tucks]
    # Sums of a dozen lengths below a metre are exact to some 1e-12 mm.
    assert sum(tuck.take for tuck in tucks) == pytest.approx(taken(kind, number, depth), abs=1e-9)
    for tuck in tucks:
        assert abs(tuck.fold - tuck.placement) == pytest.approx(2.0 * depth, abs=1e-9)
    for one, other in pairwise(tucks):
        assert other.begin >= one.end - 1e-9
    if kind != DARTS:
        spans = [covered(pleat) for pleat in made]
        assert all(b - a == pytest.approx(NEEDS[kind] * depth, abs=1e-9) for a, b in spans)
        for (_, end), (begin, _) in pairwise(spans):
            assert begin >= end - 1e-9
        assert all(
            pleat.middle == pytest.approx(0.5 * sum(span), abs=1e-9) for pleat, span in zip(made, spans, strict=True)
        )
        assert all(pleat.underlay == pytest.approx(b - a, abs=1e-9) for pleat, (a, b) in zip(made, spans, strict=True))
        # Even, and far enough apart for what each lies over: an inverted pleat is twice as wide as its depth.
        apart = spacing_of(made)
        assert (apart is None) is (number == 1)
        middles = [pleat.middle for pleat in made]
        if apart is not None:
            assert apart >= NEEDS[kind] * depth - 1e-9
            assert all(b - a == pytest.approx(apart, abs=1e-9) for a, b in pairwise(middles))
        assert spans[0][0] >= margin - 1e-9
        assert spans[-1][1] <= length - margin + 1e-9
