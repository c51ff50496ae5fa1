from __future__ import annotations

import math

import numpy as np
import pytest

from scallopkit.errors import NameUnknownError, RequestError
from scallopkit.geometry import cubics
from scallopkit.pattern.edge import Edge, find_edge
from scallopkit.pattern.joins import FOLD
from scallopkit.pattern.piece import Mark
from scallopkit.trim.course import CREST, VALLEY, WRAP, Wish
from scallopkit.trim.fit import fit
from scallopkit.trim.holds import GAP, PASS, AtJoint, End, Holds, plan_of, side_of
from scallopkit.trim.shape import Shape

from ..shapes import circle, pattern, piece, rectangle

SHAPE = Shape("arc", "share", 0.25)
L_SHAPE = cubics.lines([(0, 0), (100, 0), (100, 40), (40, 40), (40, 90), (0, 90), (0, 0)])


def edge_of(curve: np.ndarray, name: str, *marks: Mark, closed: bool = True) -> Edge:
    return find_edge(pattern(piece("p", curve, closed), marks=marks), name)


def test_scallops_go_outward_of_a_closed_outline_and_left_of_an_open_line() -> None:
    forward, backward = edge_of(rectangle(100, 60), "p:c0..c1"), edge_of(rectangle(100, 60), "p:c1..c0")
    assert (side_of(forward, None), side_of(backward, None)) == (1, -1)
    assert side_of(forward, "inward") == -1
    assert side_of(backward, "left") == 1
    line = edge_of(cubics.lines([(0, 0), (50, 0)]), "p", closed=False)
    assert side_of(line, None) == 1
    with pytest.raises(RequestError, match="left or right"):
        side_of(line, "outward")


def test_a_corner_on_the_way_is_held_by_a_valley() -> None:
    plan = plan_of(edge_of(rectangle(100, 60), "p:c0..c1..c2"), 1, Holds())
    assert [(stop.name, round(stop.s, 6), stop.hold) for stop in plan.ways[0]] == [
        ("c0", 0.0, VALLEY),
        ("c1", 100.0, VALLEY),
        ("c2", 160.0, VALLEY),
    ]


def test_a_bulging_corner_can_be_wrapped_and_a_hollow_one_is_held_and_said() -> None:
    plan = plan_of(edge_of(L_SHAPE, "p:c0..c2..c4"), 1, Holds(corner="wrap"))
    assert [stop.hold for stop in plan.ways[0]] == [VALLEY, WRAP, WRAP, VALLEY, VALLEY]
    assert plan.ways[0][1].turn == pytest.approx(math.pi / 2)
    assert [w.code for w in plan.warnings] == ["corner-held"]
    inward = plan_of(edge_of(L_SHAPE, "p:c0..c2..c4"), -1, Holds(corner="wrap"))
    assert [stop.hold for stop in inward.ways[0]] == [VALLEY, VALLEY, VALLEY, WRAP, VALLEY]


def test_a_corner_may_be_passed_unless_it_is_sharp() -> None:
    blunt = cubics.lines([(0, 0), (100, 0), (160, 60)])
    assert len(plan_of(edge_of(blunt, "p", closed=False), 1, Holds(corner=PASS)).ways[0]) == 2
    sharp = cubics.lines([(0, 0), (100, 0), (40, 60)])
    plan = plan_of(edge_of(sharp, "p", closed=False), 1, Holds(corner=PASS))
    assert [stop.hold for stop in plan.ways[0]] == [VALLEY, VALLEY, VALLEY]
    assert [w.code for w in plan.warnings] == ["corner-held"]


def test_holds_at_marks() -> None:
    marks = (Mark("a", 20, 0), Mark("b", 50, 0), Mark("c", 70, 0))
    holds = Holds(marks={"a": End(CREST), "b": End(GAP, gap=4.0), "c": End(PASS)})
    plan = plan_of(edge_of(rectangle(100, 60), "p:c0..c1", *marks), 1, holds)
    assert [(stop.name, stop.hold, stop.gap) for stop in plan.ways[0][1:-1]] == [("a", CREST, 0.0), ("b", VALLEY, 4.0)]
    with pytest.raises(NameUnknownError, match='"a", "b"'):
        plan_of(edge_of(rectangle(100, 60), "p:c0..c1", *marks), 1, Holds(marks={"z": End(CREST)}))
    with pytest.raises(RequestError, match="--start"):
        plan_of(edge_of(rectangle(100, 60), "p:c0..c1", *marks), 1, Holds(marks={"c0": End(CREST)}))


def test_a_mark_can_release_a_corner() -> None:
    edge = edge_of(rectangle(100, 60), "p:c0..c1..c2")
    plan = plan_of(edge, 1, Holds(marks={"c1": End(PASS)}))
    assert [stop.name for stop in plan.ways[0]] == ["c0", "c2"]


def test_a_fold_mirrors_in_the_neighbouring_edge() -> None:
    slanted = cubics.lines([(0, 0), (100, 0), (110, 60), (0, 60), (0, 0)])
    plan = plan_of(edge_of(slanted, "p:c0..c1"), 1, Holds(start=End(FOLD), end=End(FOLD)))
    first, last = plan.ways[0]
    assert first.mirror == pytest.approx((1.0, 0.0))
    lean = math.atan2(10.0, 60.0)
    assert last.mirror == pytest.approx((math.cos(lean), -math.sin(lean)))
    assert [w.code for w in plan.warnings] == ["fold-not-square"]
    assert first.fold
    assert last.fold


def test_a_crest_at_a_free_end_uses_a_square_neighbour_else_the_normal() -> None:
    def normal(x: float) -> tuple[float, float]:
        outline = cubics.lines([(0, 0), (100, 0), (100 + x, 60), (0, 60), (0, 0)])
        mirror = plan_of(edge_of(outline, "p:c0..c1"), 1, Holds(end=End(CREST))).ways[0][-1].mirror
        assert mirror is not None
        return mirror

    almost = math.radians(0.9)
    assert normal(60.0 * math.tan(almost)) == pytest.approx((math.cos(almost), -math.sin(almost)))
    assert normal(60.0 * math.tan(math.radians(1.1))) == pytest.approx((1.0, 0.0))


def test_a_bowed_fold_is_pointed_out() -> None:
    bowed = np.concatenate(
        [
            cubics.lines([(0, 0), (100, 0)]),
            np.array([[(100.0, 0.0), (104.0, 20.0), (104.0, 40.0), (100.0, 60.0)]]),
            cubics.lines([(100, 60), (0, 60), (0, 0)]),
        ]
    )
    plan = plan_of(edge_of(bowed, "p:c0..c1"), 1, Holds(end=End(FOLD)))
    assert [w.code for w in plan.warnings] == ["fold-not-straight"]


def test_pass_at_a_fold_leaves_two_ways() -> None:
    plan = plan_of(edge_of(rectangle(100, 60), "p:c0..c1"), 1, Holds(start=End(FOLD, PASS), end=End(FOLD, PASS)))
    assert [(a.hold, b.hold) for a, b in plan.ways] == [
        (CREST, CREST),
        (CREST, VALLEY),
        (VALLEY, CREST),
        (VALLEY, VALLEY),
    ]


def test_a_loop_starts_at_a_valley_hold_if_it_has_one() -> None:
    ring = edge_of(circle(50.0), "p", Mark("right", 50, 0), Mark("top", 0, -50), Mark("left", -50, 0))
    plain = plan_of(ring, 1, Holds())
    assert [(stop.s, stop.hold) for stop in plain.ways[0]] == [(0.0, VALLEY)]
    plan = plan_of(ring, 1, Holds(marks={"left": End(CREST), "top": End(VALLEY)}))
    stops = plan.ways[0]
    assert [(stop.name, stop.hold) for stop in stops] == [("top", VALLEY), ("left", CREST)]
    assert stops[0].s == 0.0
    assert plan.origin == pytest.approx(0.75 * 2.0 * math.pi * 50.0)
    assert plan.course.measured.points(np.array([0.0]))[0] == pytest.approx((0.0, -50.0), abs=1e-6)


def flat_beside(ring: Edge, holds: Holds) -> list[tuple[float, float]]:
    """What a space of 4 mm leaves flat before and after each hold of a loop, mm along it."""
    plan = plan_of(ring, 1, holds)
    row = fit(plan.course, plan.ways[0], Wish(SHAPE, width=20.0, space=4.0)).row
    length = plan.course.measured.length
    return [(min((stop.s - row.s_end) % length), min((row.s_start - stop.s) % length)) for stop in plan.ways[0]]


@pytest.mark.parametrize("kinds", [(VALLEY, PASS, VALLEY), (VALLEY, VALLEY, PASS), (VALLEY, VALLEY, VALLEY)])
def test_a_loop_of_edges_has_half_a_space_on_either_side_of_every_valley_at_a_joint(kinds: tuple[str, ...]) -> None:
    ring = edge_of(circle(200.0), "p")
    at = ring.measured.length / 3.0
    joints = tuple(AtJoint(f"j{k}", at * k, End(kind), (0.0, 1.0)) for k, kind in enumerate(kinds, start=1))
    found = flat_beside(ring, Holds(joints=joints))
    # A chord of 2 mm on a circle of 200 mm is 8e-6 mm shorter than its arc.
    assert np.array(found) == pytest.approx(np.full((kinds.count(VALLEY), 2), 2.0), abs=1e-5)


def test_a_valley_held_at_a_mark_on_the_closing_joint_halves_its_space_too() -> None:
    ring = edge_of(circle(200.0), "p", Mark("m", 200, 0))
    joint = AtJoint("j", ring.measured.length, End(PASS), (0.0, 1.0))
    found = flat_beside(ring, Holds(marks={"m": End(VALLEY)}, joints=(joint,)))
    assert np.array(found) == pytest.approx(np.full((1, 2), 2.0), abs=1e-5)


def test_an_outline_without_joints_keeps_its_whole_space_before_its_first_point() -> None:
    ((before, after),) = flat_beside(edge_of(circle(200.0), "p"), Holds())
    assert (before, after) == pytest.approx((4.0, 0.0), abs=1e-4)


def test_a_corner_is_held_by_its_name_though_the_outline_begins_at_a_stray_node_beside_it() -> None:
    begun = cubics.lines([(100, 0.009), (100, 60), (0, 60), (0, 0), (100, 0), (100, 0.009)])
    plan = plan_of(edge_of(begun, "p:c3..c0..c1"), 1, Holds(marks={"c0": End(CREST)}))
    assert [(stop.name, stop.hold) for stop in plan.ways[0]] == [("c3", VALLEY), ("c0", CREST), ("c1", VALLEY)]
