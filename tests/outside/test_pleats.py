"""Pleats and gathers against worked examples that others have published."""

from __future__ import annotations

import pytest

from scallopkit.construction.matching import HowTaken, matched, stretches_of
from scallopkit.construction.pleats import BOX, INVERTED, KNIFE, Setting, depth_for, fullness, set_pleats, taken

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


@pytest.mark.parametrize(
    ("level", "cloth", "finished", "first", "each"),
    [
        # Conover, Textbook on dressmaking, vol. 5 (public domain, wikisource): half a skirt in 8 pleats, inches; the
        # first takes 2 1/8 at both levels, the other seven share the rest.
        ("waist", 44.0, 14.0, 2.125, 27.875 / 7.0),
        ("hip", 44.0, 20.0, 2.125, 3.125),
    ],
)
def test_tapering_pleats_close_at_each_level(
    level: str, cloth: float, finished: float, first: float, each: float
) -> None:
    rest = cloth - finished - first
    depth = depth_for(KNIFE, rest, 7)
    assert 2.0 * depth == pytest.approx(each), level
    assert finished + first + taken(KNIFE, 7, depth) == pytest.approx(cloth)


def test_gathers_are_the_ratio_of_the_lengths() -> None:
    """stitchcoach.blogspot.com, 2017-01: 15 in x 2.5 = 37.5 in; NIMI p. 212: a frill of 1.80 m x 3 = 5.40 m."""
    for short, long, ratio in ((15.0 * 25.4, 37.5 * 25.4, 2.5), (1800.0, 5400.0, 3.0)):
        (made,) = matched(stretches_of([], short, long, ("a", "b")), [HowTaken("gathers")])
        assert made.ratio == pytest.approx(ratio)
