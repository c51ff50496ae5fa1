"""Pleats and gathers against worked examples that others have published."""

from __future__ import annotations

import pytest

from scallopkit.construction.matching import Anchor, HowTaken, matched, stretches_of
from scallopkit.construction.pleats import BOX, INVERTED, KNIFE, Setting, depth_for, fullness, set_pleats, taken
from scallopkit.errors import NoFitError

_NIMI = "National Instructional Media Institute, Dress Making, trade practical, vol. 2 (nimi.co.in), pages 201 to 205"


def strip(kind: str, number: int, depth: float, section: float) -> float:
    """Cloth for a section, in its own unit."""
    return section + taken(kind, number, depth)


@pytest.mark.parametrize(
    ("depth", "width", "section", "cloth"),
    [
        # Depth, width and section are printed in NIMI Dress Making; the answers are derived: section + 2 depth n.
        (3.0, 3.0, 168.0, 504.0),
        (4.5, 5.0, 260.0, 728.0),
        (3.5, 3.0, 144.0, 480.0),
        (2.5, 4.0, 124.0, 279.0),
    ],
)
def test_strips_for_knife_pleats(depth: float, width: float, section: float, cloth: float) -> None:
    assert strip(KNIFE, round(section / width), depth, section) == pytest.approx(cloth), _NIMI


def test_the_worked_strip_of_the_trade_textbook() -> None:
    """NIMI: 92 cm in pleats 5 cm wide are 18.4, so 18 of 5.11; 4 cm deep they take 236 cm of cloth."""
    assert strip(KNIFE, 18, 4.0, 92.0) == 236.0
    (made,) = matched(stretches_of([], 920.0, 2360.0, ("a", "b")), [HowTaken(KNIFE, number=18)])
    assert made.pleats[0].depth == pytest.approx(40.0)
    assert made.tucks[1].sewn - made.tucks[0].sewn == pytest.approx(51.1, abs=0.05)


def test_touching_pleats_take_three_times_their_length() -> None:
    """NIMI: 50 cm in pleats of 2.5 are 20, 150 cm of cloth; the same in School Needlework (1893), folds that touch."""
    assert strip(KNIFE, 20, 2.5, 50.0) == 150.0
    made = set_pleats(Setting(KNIFE, 20, 25.0, 500.0))
    assert len(made) == 20


def test_box_and_inverted_pleats_take_four_depths() -> None:
    """NIMI: one box pleat 12 cm deep on 60 cm takes 108, an inverted one of 6.5 on 66 takes 92."""
    assert strip(BOX, 1, 12.0, 60.0) == 108.0
    assert strip(INVERTED, 1, 6.5, 66.0) == 92.0


@pytest.mark.parametrize(
    ("cloth", "width", "depth", "number", "section"),
    # NIMI's inverse exercises: data printed, answers derived.
    [(144.5, 3.5, 2.5, 17, 59.5), (120.0, 7.0, 4.0, 8, 56.0)],
)
def test_sections_that_a_strip_makes(cloth: float, width: float, depth: float, number: int, section: float) -> None:
    assert number * width == section
    (made,) = matched(stretches_of([], section, cloth, ("a", "b")), [HowTaken(KNIFE, depth=depth)])
    assert len(made.pleats) == number
    assert made.pleats[0].depth == pytest.approx(depth)


@pytest.mark.parametrize(("share", "ratio"), [(1.0, 3.0), (0.5, 2.0), (1.5, 4.0), (2.0, 5.0)])
def test_cloth_over_finished_length_is_one_and_twice_the_underlay_over_the_spacing(share: float, ratio: float) -> None:
    """wlweather.net, ruffles: folds below equal to the spacing 3 times, half 2, one and a half 4, double 5 times."""
    assert fullness(KNIFE, share * 20.0, 20.0) == ratio


# Conover, Textbook on dressmaking, vol. 5 (public domain, wikisource): half a skirt, 44 in of cloth, 8 pleats. At each
# level the finished width and what is to lose; the first pleat takes 2 1/8 in at waist and hip, the other seven share
# the rest, as printed: 27 7/8 and 21 7/8 in.
_CLOTH, _FIRST = 44.0, 2.125


@pytest.mark.parametrize(
    ("finished", "lost", "shared"), [(14.0, 30.0, 27.875), (20.0, 24.0, 21.875), (27.5, 16.5, None)]
)
def test_tapering_pleats_close_at_each_level(finished: float, lost: float, shared: float | None) -> None:
    (whole,) = matched(stretches_of([], finished, _CLOTH, ("band", "skirt")), [HowTaken("gathers")])
    assert whole.stretch.excess == lost
    if shared is not None:
        depth = depth_for(KNIFE, lost - _FIRST, 7)
        assert taken(KNIFE, 7, depth) == pytest.approx(shared)
        assert finished + _FIRST + taken(KNIFE, 7, depth) == pytest.approx(_CLOTH)


def test_tapering_pleats_lie_apart_at_the_hip_and_over_each_other_at_the_waist() -> None:
    """Each of seven takes 3 1/8 in at the hip and 3.98 at the waist; even shares of the width are ours."""
    hip, waist = 20.0 / 8.0, 14.0 / 8.0
    first = Anchor("first", "first", hip, hip + _FIRST)
    made = matched(stretches_of([first], 20.0, _CLOTH, ("a", "b")), [HowTaken(KNIFE, 1), HowTaken(KNIFE, 7)])
    assert [tuck.take for one in made for tuck in one.tucks] == pytest.approx([_FIRST, *[3.125] * 7])
    assert all(one.eased == pytest.approx(0.0) for one in made)
    with pytest.raises(NoFitError, match=r"7 knife pleats 1\.99 mm deep lie over each other 1\.75 mm apart"):
        set_pleats(Setting(KNIFE, 7, 27.875 / 14.0, 7.0 * waist))


def test_gathers_are_the_ratio_of_the_lengths() -> None:
    """stitchcoach.blogspot.com, 2017-01: 15 in x 2.5 = 37.5 in; NIMI p. 212: a frill of 1.80 m x 3 = 5.40 m."""
    for short, long, ratio in ((15.0 * 25.4, 37.5 * 25.4, 2.5), (1800.0, 5400.0, 3.0)):
        (made,) = matched(stretches_of([], short, long, ("a", "b")), [HowTaken("gathers")])
        assert made.ratio == pytest.approx(ratio)
