"""The demo's waistcoat: what will be sewn together is true, but for the dip at the side seam."""

from __future__ import annotations

import cmath
import math
from itertools import pairwise

import numpy as np
import pytest
from lxml import etree

from scallopkit.demo_waistcoat import ARMHOLE, ARMHOLE_JOINS, HEM, HEM_JOINS, waistcoat
from scallopkit.document.reader import read_drawing
from scallopkit.geometry.cubics import Array
from scallopkit.pattern.edge import Edge, find_edge, find_piece
from scallopkit.pattern.marks import snap

PATTERN = read_drawing(waistcoat().encode(), "waistcoat.svg").pattern
# Coordinates have four decimals: 1e-4 mm over the shortest handle of 25 mm are 2e-4 degrees.
ANGLE = 1e-3
LENGTH = 1e-3


def edges(texts: tuple[str, ...]) -> list[Edge]:
    return [find_edge(PATTERN, text) for text in texts]


def edge(text: str) -> Edge:
    return find_edge(PATTERN, text)


def places(curve: Array) -> list[complex]:
    """The nodes of a curve as complex numbers, both ends with them."""
    return [complex(x, y) for x, y in [*curve[:, 0].tolist(), curve[-1, 3].tolist()]]


def leaving(curve: Array | None) -> complex:
    """The direction in which a curve leaves its first point."""
    assert curve is not None
    (a, b) = (complex(x, y) for x, y in curve[0, :2].tolist())
    return (b - a) / abs(b - a)


def arriving(curve: Array) -> complex:
    (a, b) = (complex(x, y) for x, y in curve[-1, 2:].tolist())
    return (b - a) / abs(b - a)


def between(a: complex, b: complex) -> float:
    """The angle between two directions in degrees, 0 to 180."""
    return abs(math.degrees(cmath.phase(b / a)))


def at_end(e: Edge) -> float:
    """The angle of the cloth where an edge ends."""
    return between(-arriving(e.curve), leaving(e.after))


def at_start(e: Edge) -> float:
    return between(leaving(e.curve), leaving(e.before))


@pytest.mark.parametrize("run", [HEM, ARMHOLE])
def test_all_edges_of_a_run_have_the_cloth_on_one_hand(run: tuple[str, ...]) -> None:
    found = edges(run)
    assert len({e.outside for e in found}) == 1
    assert found[0].outside != 0
    assert all(e.corners == () for e in found)
    assert all(e.before is not None and e.after is not None for e in found)


def test_a_join_lies_between_every_two_edges_and_the_armhole_is_a_loop() -> None:
    assert len(HEM_JOINS) == len(HEM) - 1
    assert len(ARMHOLE_JOINS) == len(ARMHOLE)
    hem = edges(HEM)
    pieces = [(a.piece.name, b.piece.name) for a, b in pairwise(hem)]
    assert [kind == "dart" for kind in HEM_JOINS] == [a == b for a, b in pieces]


def test_nothing_in_the_drawing_calls_for_a_warning() -> None:
    assert PATTERN.warnings == ()
    assert PATTERN.skipped == ()
    assert [piece.name for piece in PATTERN.pieces] == ["back", "front", "grain-back", "grain-front"]
    assert [piece.closed for piece in PATTERN.pieces] == [True, True, False, False]


def test_ids_are_given_once_and_marks_lie_on_corners() -> None:
    ids = [element.get("id") for element in etree.fromstring(waistcoat().encode()).iter() if element.get("id")]
    assert len(ids) == len(set(ids))
    both = {"dart-in", "dart-out", "hem-side", "underarm", "shoulder"}
    for name, own in (("back", "hem-fold"), ("front", "hem-front")):
        marks = snap(find_piece(PATTERN, name), PATTERN.marks)
        assert sorted(mark.name for mark in marks) == sorted(both | {own})
        assert all(mark.corner is not None and mark.distance < LENGTH for mark in marks)


@pytest.mark.parametrize(
    ("last", "first", "intake", "length"),
    [(HEM[0], HEM[1], 24.0, 130.0), (HEM[2], HEM[3], 28.0, 110.0)],
    ids=["back", "front"],
)
def test_a_waist_dart_closes_to_a_smooth_hem(last: str, first: str, intake: float, length: float) -> None:
    a, b = edge(last), edge(first)
    assert a.after is not None
    assert b.before is not None
    assert len(a.after) == len(b.before) == 1
    (foot_a, apex), (foot_b, other) = places(a.after), places(b.before)
    assert apex == other
    assert abs(foot_a - apex) == pytest.approx(abs(foot_b - apex), abs=LENGTH)
    assert abs(foot_b - foot_a) == pytest.approx(intake, abs=0.2)
    assert abs((foot_a + foot_b) / 2.0 - apex) == pytest.approx(length, abs=1.0)
    turn = (foot_a - apex) / (foot_b - apex)
    turn /= abs(turn)
    assert apex + (foot_b - apex) * turn == pytest.approx(foot_a, abs=LENGTH)
    assert between(arriving(a.curve), leaving(b.curve) * turn) < ANGLE
    # The same said as the angles of the cloth, and a dart that was left open would be seen by it.
    assert at_end(a) + at_start(b) == pytest.approx(180.0, abs=ANGLE)
    assert between(arriving(a.curve), leaving(b.curve)) > 10.0


def test_the_waist_darts_stand_upright_on_their_pieces() -> None:
    back_in, back_out, front_out, front_in = edges(HEM)
    for a, b, straight in ((back_in, back_out, back_in.before), (front_out, front_in, front_in.after)):
        assert a.after is not None
        foot, apex = places(a.after)
        middle = (foot + complex(*b.curve[0, 0])) / 2.0
        assert between(apex - middle, leaving(straight)) < ANGLE


def test_the_bust_dart_closes_to_a_straight_side_seam_as_long_as_the_backs() -> None:
    back = edge("back:hem-side..underarm")
    front = edge("front:hem-side..underarm")
    assert len(back.curve) == 1
    hem, lower, apex, upper, underarm = places(front.curve)
    assert abs(lower - apex) == pytest.approx(abs(upper - apex), abs=LENGTH)
    assert abs(upper - lower) == pytest.approx(22.0, abs=LENGTH)
    assert abs((upper + lower) / 2.0 - apex) == pytest.approx(90.0, abs=LENGTH)
    turn = (lower - apex) / (upper - apex)
    assert between(lower - hem, (underarm - upper) * turn) < ANGLE
    assert abs(lower - hem) + abs(underarm - upper) == pytest.approx(back.measured.length, abs=LENGTH)


def test_the_shoulder_seams_are_equal_and_straight() -> None:
    back, front = (edge(f"{name}:shoulder..{corner}") for name, corner in (("back", "c7"), ("front", "c10")))
    assert len(back.curve) == len(front.curve) == 1
    assert back.measured.length == pytest.approx(front.measured.length, abs=LENGTH)
    # The neckline runs on over the seam.
    assert at_end(back) + at_end(front) == pytest.approx(180.0, abs=ANGLE)


def test_the_armhole_runs_on_over_both_seams() -> None:
    front, back = edges(ARMHOLE)
    assert at_end(front) + at_start(back) == pytest.approx(180.0, abs=ANGLE)
    assert at_end(back) + at_start(front) == pytest.approx(180.0, abs=ANGLE)
    for e in (front, back):
        assert len(e.curve) == 2
        assert between(arriving(e.curve[:1]), leaving(e.curve[1:])) < ANGLE


def test_the_hem_is_square_to_the_fold_and_to_the_front_edge() -> None:
    first, *_, last = edges(HEM)
    assert at_start(first) == pytest.approx(90.0, abs=ANGLE)
    assert at_end(last) == pytest.approx(90.0, abs=ANGLE)


def test_the_hem_dips_at_the_side_seam() -> None:
    _, back, front, _ = edges(HEM)
    turn = at_end(back) + at_start(front) - 180.0
    assert 3.0 < turn < 6.0
    # Both hems laid at one joint, the seam edges on one line: how far the joint lies from the circle that touches the
    # back's hem 20 mm before it, and goes through the front's 20 mm after it.
    m, n = back.measured, front.measured
    joint, start = complex(*back.curve[-1, 3]), complex(*front.curve[0, 0])
    lay = leaving(back.after) / leaving(front.before)
    p = complex(*m.points(np.array([m.length - 20.0]))[0]) - joint
    q = (complex(*n.points(np.array([20.0]))[0]) - start) * lay
    normal = 1j * complex(*m.tangents(np.array([m.length - 20.0]))[0])
    radius = abs(q - p) ** 2 / (2.0 * ((q - p) * normal.conjugate()).real)
    dip = abs(abs(p + radius * normal) - abs(radius))
    assert 0.3 < dip < 1.2


def test_sizes_are_those_of_a_waistcoat() -> None:
    hem = [e.measured.length for e in edges(HEM)]
    assert hem[0] + hem[1] == pytest.approx(190.0, abs=3.0)
    assert hem[2] + hem[3] == pytest.approx(190.0, abs=3.0)
    assert edge("back:hem-fold..c8").measured.length == pytest.approx(400.0, abs=LENGTH)
    back, front = edge("back:hem-fold..c8"), edge("front:hem-front..c11")
    chest = 0.0
    for e, name in ((back, "back"), (front, "front")):
        corner = edge(f"{name}:hem-side..underarm").curve[-1, 3]
        chest += abs(((complex(*corner) - complex(*e.curve[0, 0])) / leaving(e.curve)).imag)
    assert 2.0 * chest == pytest.approx(920.0, abs=12.0)


def test_the_fold_is_upright_the_front_turned_and_the_grain_goes_with_them() -> None:
    upright = -1j
    for text, turn in (("back:hem-fold..c8", 0.0), ("front:hem-front..c11", 7.0)):
        e = edge(text)
        assert len(e.curve) == 1
        assert between(upright, leaving(e.curve)) == pytest.approx(turn, abs=ANGLE)
        grain = find_piece(PATTERN, f"grain-{e.piece.name}")
        assert between(-arriving(grain.curve), leaving(e.curve)) < ANGLE


def test_drawn_again_it_is_the_same() -> None:
    assert waistcoat() == waistcoat()
