"""Repeats against sums done outside: plain arithmetic, published fittings of another trade, and plane geometry."""

from __future__ import annotations

import math

import pytest

from scallopkit.construction.repeats import KINDS, Limits, Line, Trim, counts, mitre_takes, ways
from scallopkit.document.workshop import trim
from tests.drawings import read


def test_1380_mm_hold_43_repeats_of_32_mm_and_4_mm_over() -> None:
    """Arithmetic: 43 x 32 = 1376, 44 x 32 = 1408."""
    line = Line(1380.0)
    assert counts(line, Trim(32.0)) == (43.0, 44.0)
    over = {way.kind: way.over for way in ways(line, Trim(32.0), Limits())}
    assert over["stretch"] == pytest.approx(-4.0)
    assert over["ease"] == pytest.approx(28.0)
    share = {way.kind: way.share for way in ways(line, Trim(32.0), Limits())}
    # 28 mm on 1380 mm, and 4 mm for 1376 mm.
    assert share["ease"] == pytest.approx(28.0 / 1380.0)
    assert share["stretch"] == pytest.approx(-4.0 / 1376.0)


@pytest.mark.parametrize(
    ("cloth", "repeat", "count"),
    [
        # A half and nine whole scallops and a half, and 120 / 6 = 20 (curtains, homeimprovementzone.net, stored copy).
        (120.0, 6.0, 20.0),
        # 68 - 4 = 64 in eights (abrightcorner.com 2020-10, stored copy).
        (64.0, 8.0, 8.0),
        # Equal pleats, 50 / 2.5 = 20 (National Instructional Media Institute, Dress Making, vol. 2).
        (50.0, 2.5, 20.0),
    ],
)
def test_published_divisions_that_come_out_whole(cloth: float, repeat: float, count: float) -> None:
    assert counts(Line(cloth), Trim(repeat)) == (count, count)


@pytest.mark.parametrize(("cloth", "repeat", "count"), [(77.0 - 4.0, 8.0, 9.0), (50.0, 5.5, 9.0), (92.0, 5.0, 18.0)])
def test_published_divisions_with_a_rest(cloth: float, repeat: float, count: float) -> None:
    """Figures of others whose rest was spread over the repeats, or left.

    73 in eights are 9 of 8.11 (abrightcorner.com 2020-10); 50 in by 5.5 leaves half an inch (hutchal.clara.net); 92 cm
    by 5 are 18 of 5.11 (National Instructional Media Institute, Dress Making, vol. 2, which rounds 18.4).
    """
    fewer = counts(Line(cloth), Trim(repeat))[0]
    assert fewer == count
    rest = {way.kind: -way.over for way in ways(Line(cloth), Trim(repeat), Limits())}["none"]
    assert rest == pytest.approx(cloth - count * repeat)


@pytest.mark.parametrize(
    ("degrees", "lost"),
    [
        # Plane geometry: at a right angle the inner edge of a mitred border is two widths shorter, at 60 degrees of
        # turn 2/sqrt 3, at 120 degrees (a triangle's corner) 2 sqrt 3.
        (90.0, 2.0),
        (60.0, 2.0 / math.sqrt(3.0)),
        (120.0, 2.0 * math.sqrt(3.0)),
    ],
)
def test_what_a_mitre_takes(degrees: float, lost: float) -> None:
    assert mitre_takes(20.0, math.radians(degrees)) == pytest.approx(20.0 * lost, rel=1e-12)


def test_the_inner_line_round_a_circle_is_shorter_by_2_pi_times_the_distance() -> None:
    """Steiner: a parallel at s inside a circle is 2 pi s shorter; the trim's middle lies offset + width / 2 inside."""
    drawing = read('<circle id="round" cx="200" cy="200" r="100"/>')
    made = trim(drawing, "round", repeat=20, width=10, offset=4, take_up="ease", ease="9%").trim
    assert made is not None
    # Parallels keep within 0.005 mm, a full turn of which is 0.03 mm.
    assert made.edge == pytest.approx(2.0 * math.pi * 100.0, abs=1e-3)
    assert made.near == pytest.approx(2.0 * math.pi * 96.0, abs=0.03)
    assert made.line.length == pytest.approx(2.0 * math.pi * 91.0, abs=0.03)
    assert made.far == pytest.approx(2.0 * math.pi * 86.0, abs=0.03)


def test_round_a_square_the_trim_takes_as_much_as_its_outer_edge() -> None:
    """Plane geometry: a square of side L has at s inside it one of L - 2 s; a mitred frame is as long as outside."""
    made = trim(read('<rect id="box" x="10" y="20" width="300" height="300"/>'), "box", repeat=30, width=20, offset=5)
    found = made.trim
    assert found is not None
    assert found.line.length == pytest.approx(4.0 * 270.0, abs=1e-6)
    used = {way.kind: way.count * 30.0 - way.over for way in found.ways}
    assert used == pytest.approx(dict.fromkeys(KINDS, 4.0 * 290.0), abs=1e-6)
