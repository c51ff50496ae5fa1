from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.errors import RequestError
from scallopkit.geometry import cubics, motion
from scallopkit.geometry.cubics import Array
from scallopkit.pattern.edge import find_edge, walked_back
from scallopkit.pattern.joins import BUTT, DART, FOLD, LAP, SEAM, Join
from scallopkit.pattern.laying import LaidRun, is_true, lay, true_lines
from scallopkit.pattern.piece import Mark, Pattern, Piece
from scallopkit.pattern.sewing_order import Stretch

from ..shapes import rectangle

# What rounding leaves of coordinates of some hundred mm.
EXACT = 1e-9


def box(name: str, width: float = 100.0, height: float = 60.0, placed: Array = motion.IDENTITY) -> Piece:
    """A piece of cloth whose corners are c0 to c3, c0..c1 on top, walked with the cloth on the right."""
    return Piece(name, (name,), motion.apply(placed, rectangle(width, height)), True)


def polygon(name: str, *points: tuple[float, float]) -> Piece:
    return Piece(name, (name,), cubics.lines([*points, points[0]]), True)


def stretch(pattern: Pattern, text: str, mirrored: bool = False) -> Stretch:
    edge = find_edge(pattern, text)
    return Stretch(edge, edge, mirrored)


def laid(pattern: Pattern, *texts: str, joins: tuple[str, ...], **wishes: object) -> LaidRun:
    return lay([stretch(pattern, text) for text in texts], [Join(kind) for kind in joins], "run", **wishes)  # type: ignore[arg-type]


@given(st.floats(-3.0, 3.0), st.floats(-500.0, 500.0), st.floats(-500.0, 500.0))
def test_two_boxes_sewn_side_to_side_make_one_straight_edge(turn: float, x: float, y: float) -> None:
    placed = motion.compose(motion.moved(x, y), motion.turned(turn))
    run = laid(Pattern((box("a"), box("b", 70.0, placed=placed))), "a:c0..c1", "b:c0..c1", joins=(SEAM,))
    assert run.line.measured.length == pytest.approx(170.0, abs=EXACT)
    np.testing.assert_allclose(run.line.curve[[0, -1], [0, 3]], [(0, 0), (170, 0)], atol=EXACT)
    (joint,) = run.joints
    np.testing.assert_allclose([joint.point, joint.along, joint.square], [(100, 0), (0, 1), (1, 0)], atol=EXACT)
    assert joint.s == pytest.approx(100.0, abs=EXACT)
    assert abs(joint.true.angle) < EXACT
    # The way back leads to the piece where it lies.
    back = motion.apply(motion.inverse(run.parts[1].motion), np.array([(100.0, 0.0), (170.0, 0.0), (170.0, 60.0)]))
    np.testing.assert_allclose(back, motion.apply(placed, np.array([(0.0, 0.0), (70.0, 0.0), (70.0, 60.0)])), atol=1e-8)


def test_seams_lie_on_each_other_whatever_the_edges_do() -> None:
    # The second edge leaves its seam at 80 degrees: laid flat the edge turns by 10 degrees there.
    lean = math.radians(10.0)
    slanted = polygon("b", (0, 0), (80 * math.cos(lean), 80 * math.sin(lean)), (80, 60), (0, 60))
    run = laid(Pattern((box("a"), slanted)), "a:c0..c1", "b:c0..c1", joins=(SEAM,))
    assert math.degrees(run.joints[0].true.angle) == pytest.approx(10.0, abs=1e-9)
    assert not is_true(run.joints[0])
    flat = laid(Pattern((box("a"), slanted)), "a:c0..c1", "b:c0..c1", joins=(BUTT,))
    assert abs(flat.joints[0].true.angle) < EXACT
    assert flat.line.measured.length == pytest.approx(180.0, abs=EXACT)


def wedge(open_by: float, second_leg: float = 50.0) -> Pattern:
    """A band whose upper edge holds a dart, opened by an angle about its apex at (100, 50)."""
    half = 0.5 * open_by
    a = (100 - 50 * math.sin(half), 50 - 50 * math.cos(half))
    b = (100 + second_leg * math.sin(half), 50 - second_leg * math.cos(half))
    left = (a[0] - 90 * math.cos(half), a[1] + 90 * math.sin(half))
    right = (b[0] + 90 * math.cos(half), b[1] + 90 * math.sin(half))
    return Pattern((polygon("p", left, a, (100, 50), b, right, (190, 120), (10, 120)),))


@given(st.floats(0.05, 1.2))
def test_a_dart_closes_about_its_apex(open_by: float) -> None:
    run = laid(wedge(open_by), "p:c0..c1", "p:c3..c4", joins=(DART,))
    assert run.line.measured.length == pytest.approx(180.0, abs=EXACT)
    assert abs(run.joints[0].true.angle) < 1e-9
    apex = motion.apply(run.parts[1].motion, np.array([100.0, 50.0]))
    np.testing.assert_allclose(apex, (100.0, 50.0), atol=1e-9)
    assert run.joints[0].meeting is not None
    assert run.joints[0].meeting.difference < 1e-9


def test_legs_that_differ_are_told_and_the_edges_meet_all_the_same() -> None:
    run = laid(wedge(0.5, second_leg=51.5), "p:c0..c1", "p:c3..c4", joins=(DART,))
    assert run.joints[0].meeting is not None
    assert run.joints[0].meeting.difference == pytest.approx(1.5, abs=1e-9)
    assert [w.code for w in run.warnings] == ["dart-legs-differ"]
    assert "1.50 mm apart" in run.warnings[0].message
    assert run.line.measured.length == pytest.approx(180.0, abs=1e-9)


def test_a_dart_drawn_inside_takes_its_apex_or_its_legs_from_the_maker() -> None:
    pattern = Pattern(
        (
            polygon("p", (0, 0), (200, 0), (200, 90), (0, 90)),
            Piece("leg", ("leg",), cubics.lines([(90, 0), (100, 60)]), False),
            Piece("other", ("other",), cubics.lines([(100, 60), (110, 0)]), False),
        ),
        (Mark("in", 90, 0), Mark("out", 110, 0), Mark("tip", 100, 60)),
    )
    edges = [stretch(pattern, "p:c0..in"), stretch(pattern, "p:out..c1")]
    legs = (find_edge(pattern, "leg").curve, find_edge(pattern, "other").curve)
    closed = 2.0 * math.degrees(math.atan2(10, 60))
    for join in (Join(DART, apex=(100.0, 60.0)), Join(DART, legs=legs)):
        run = lay(edges, [join], "run")
        # A straight edge over a dart that is closed turns by the dart's angle.
        assert abs(math.degrees(run.joints[0].true.angle)) == pytest.approx(closed, abs=1e-9)
        np.testing.assert_allclose(motion.apply(run.parts[1].motion, np.array([100.0, 60.0])), (100, 60), atol=1e-9)
    with pytest.raises(RequestError, match="does not hold one corner, the apex"):
        lay(edges, [Join(DART)], "run")


def test_a_fold_in_the_middle_goes_on_in_the_mirror_image() -> None:
    pattern = Pattern((box("a"),))
    run = laid(pattern, "a:c0..c1", "a:c1..c0", joins=(FOLD,))
    assert run.line.measured.length == pytest.approx(200.0, abs=EXACT)
    np.testing.assert_allclose(run.line.curve[-1, 3], (200, 0), atol=EXACT)
    assert [part.copy_of for part in run.parts] == [None, 0]
    assert [part.mirrored for part in run.parts] == [False, True]
    assert run.line.outside == run.parts[0].edge.outside


def test_a_piece_drawn_face_down_is_turned_over() -> None:
    mirror = motion.compose(motion.moved(300.0, 10.0), motion.scaled(-1.0, 1.0))
    pattern = Pattern((box("a"), box("b", 80.0, placed=mirror)))
    run = lay([stretch(pattern, "a:c0..c1"), stretch(pattern, "b:c0..c1", mirrored=True)], [Join(SEAM)], "run")
    np.testing.assert_allclose(run.line.curve[-1, 3], (180, 0), atol=EXACT)
    with pytest.raises(RequestError, match=r'write "b:c1\.\.c0", or "b:c0\.\.c1:mirrored"'):
        laid(pattern, "a:c0..c1", "b:c0..c1", joins=(SEAM,))


def test_laps_share_their_centre_line() -> None:
    pattern = Pattern((box("a"), box("b", placed=motion.moved(0, 200))))
    run = lay([stretch(pattern, "a:c0..c1"), stretch(pattern, "b:c0..c1")], [Join(LAP, width=15.0)], "run")
    assert run.line.measured.length == pytest.approx(170.0, abs=EXACT)
    assert run.joints[0].s == pytest.approx(85.0, abs=EXACT)
    # The free edge of the first lies as far beyond the centre line as that of the second before it.
    np.testing.assert_allclose(motion.apply(run.parts[0].motion, np.array([100.0, 0.0])), (100, 0), atol=EXACT)
    np.testing.assert_allclose(motion.apply(run.parts[1].motion, np.array([0.0, 200.0])), (70, 0), atol=EXACT)
    with pytest.raises(RequestError, match="say how far") as told:
        laid(pattern, "a:c0..c1", "b:c0..c1", joins=(LAP,))
    assert 'the end "c1" of "a:c0..c1" and the start "c0" of "b:c0..c1"' in str(told.value)
    assert "--lap 15mm" in str(told.value)
    assert '{ kind = "lap", width = "15mm" }' in str(told.value)


def test_a_loop_closes_by_a_motion() -> None:
    # Four sides of a shade, each a trapezium that leans in by 5 degrees: the flat edge turns by 10 at each seam.
    lean = math.tan(math.radians(5.0))
    side = [(0.0, 0.0), (100.0, 0.0), (100.0 - 60 * lean, 60.0), (60 * lean, 60.0)]
    pieces = tuple(polygon(name, *side) for name in "abcd")
    run = laid(Pattern(pieces), *(f"{p.name}:c0..c1" for p in pieces), joins=(SEAM,) * 4)
    assert run.loop
    assert run.line.measured.length == pytest.approx(400.0, abs=EXACT)
    assert len(run.joints) == 4
    turned = math.degrees(math.atan2(run.closing[1, 0], run.closing[0, 0]))
    assert abs(turned) == pytest.approx(40.0, abs=1e-9)
    np.testing.assert_allclose(motion.apply(run.closing, run.line.curve[0, 0]), run.line.curve[-1, 3], atol=1e-9)


def test_places_keep_their_names_and_get_their_piece_where_two_have_the_same() -> None:
    marks = (Mark("cut", 30, 0), Mark("side", 100, 0), Mark("side", 0, 200), Mark("cut", 20, 200), Mark("own", 40, 200))
    pattern = Pattern((box("a"), box("b", placed=motion.moved(0, 200))), marks)
    run = laid(pattern, "a:c0..side", "b:side..c1", joins=(SEAM,))
    places = {spot.name: spot.s for spot in run.line.spots}
    assert places["side"] == pytest.approx(100.0)
    assert places["own"] == pytest.approx(140.0)
    assert places["a:cut"] == pytest.approx(30.0)
    assert places["b:cut"] == pytest.approx(120.0)
    assert "cut" not in places
    assert run.joints[0].name == "side"


def test_what_is_not_true_gets_a_smooth_line_on_both_pieces() -> None:
    lean = math.radians(10.0)
    slanted = polygon("b", (0, 0), (80 * math.cos(lean), 80 * math.sin(lean)), (80, 60), (0, 60))
    pattern = Pattern((box("a"), slanted))
    run = laid(pattern, "a:c0..c1", "b:c0..c1", joins=(SEAM,))
    assert not run.joints[0].trued
    (first, on_a), (second, on_b) = true_lines(run)
    assert (first, second) == (0, 1)
    np.testing.assert_allclose(on_a[0, 0], (80.0, 0.0), atol=1e-9)
    meet = [motion.apply(run.parts[k].motion, p) for k, p in ((0, on_a[-1, 3]), (1, on_b[0, 0]))]
    np.testing.assert_allclose(meet[0], meet[1], atol=1e-9)
    true = laid(pattern, "a:c0..c1", "b:c0..c1", joins=(SEAM,), true_up=True)
    assert true.joints[0].trued
    assert true.line.corners == ()
    before, after = (
        cubics.ends_direction(true.parts[0].edge.curve)[1],
        cubics.ends_direction(true.parts[1].edge.curve)[0],
    )
    both = [m.motion[:, :2] @ d for m, d in zip(true.parts, (before, after), strict=True)]
    np.testing.assert_allclose(both[0], both[1], atol=1e-6)


@pytest.mark.parametrize(
    ("texts", "joins", "says"),
    [
        (("a:c0..c1", "b:c0..c1"), (DART,), "are on two pieces, so no dart lies between them"),
        (("a:c0..c1", "b:c0..c1"), (), "2 edges and 0 joins make no run"),
        (("a:c0..c1", "b:c0..c1"), (FOLD,), 'name "a:c1..c0" after "a:c0..c1"'),
        (("a:c0..c1", "a:c1..c2"), (FOLD,), "beyond the fold the same edge goes on"),
        (("a:c0..c1", "b:c1..c0"), (SEAM,), 'lies on the other hand than before: write "b:c0..c1"'),
        (("a:c0..c1",), (FOLD,), "are not one place of one fold"),
    ],
)
def test_what_cannot_be_joined_is_told_with_its_cure(texts: tuple[str, ...], joins: tuple[str, ...], says: str) -> None:
    pattern = Pattern((box("a"), box("b", placed=motion.moved(0, 200))))
    with pytest.raises(RequestError) as told:
        laid(pattern, *texts, joins=joins)
    assert says in str(told.value)


def test_edges_in_the_wrong_order_are_told_with_both_ends() -> None:
    # The back's side seam is 60 mm, its centre 90; the front's side 60 and its edge 75.
    back = polygon("back", (0, 0), (100, 0), (100, 60), (0, 90))
    front = polygon("front", (0, 0), (100, 0), (100, 75), (0, 60))
    pattern = Pattern((back, front))
    assert len(laid(pattern, "back:c0..c1", "front:c0..c1", joins=(SEAM,)).parts) == 2
    with pytest.raises(RequestError) as told:
        laid(pattern, "front:c0..c1", "back:c0..c1", joins=(SEAM,))
    assert 'the end "c1" of "front:c0..c1" and the start "c0" of "back:c0..c1" do not meet in a seam' in str(told.value)
    assert "75.0 and 90.0 mm long and differ by 15.0 mm" in str(told.value)
    assert str(told.value).endswith('swap the two edges: the end "back:c1" and the start "front:c0" would fit')


# ---------------------------------------------------------------- what joints are called


def test_the_joints_of_a_shade_of_like_panels_are_told_apart_by_their_pieces() -> None:
    panels = tuple(box(f"panel-{k}", placed=motion.moved(0, 100.0 * k)) for k in (1, 2, 3))
    run = laid(Pattern(panels), *(f"{p.name}:c0..c1" for p in panels), joins=(SEAM,) * 3)
    assert [joint.name for joint in run.joints] == [
        "panel-1:c1/panel-2:c0",
        "panel-2:c1/panel-3:c0",
        "panel-3:c1/panel-1:c0",
    ]


def test_a_mark_at_both_ends_names_the_joint_and_a_corner_of_like_name_does_not() -> None:
    other = box("b", placed=motion.compose(motion.moved(0, 200), motion.turned(0.5 * math.pi)))
    # Turned by a quarter, the side c1..c2 of the second box lies below the mark's.
    x, y = other.curve[1, 0]
    marks = (Mark("side", 100, 0), Mark("side", float(x), float(y)))
    pieces = (box("a"), other)
    (marked,) = laid(Pattern(pieces, marks), "a:c0..side", "b:side..c2", joins=(SEAM,)).joints
    assert marked.name == "side"
    (plain,) = laid(Pattern(pieces), "a:c0..c1", "b:c1..c2", joins=(SEAM,)).joints
    assert plain.name == "a:c1/b:c1"


def test_on_one_piece_joints_are_called_by_their_ends_alone() -> None:
    (dart,) = laid(wedge(0.3), "p:c0..c1", "p:c3..c4", joins=(DART,)).joints
    assert dart.name == "c1/c3"
    (fold,) = laid(Pattern((box("a"),)), "a:c0..c1", "a:c1..c0", joins=(FOLD,)).joints
    assert fold.name == "c1"
    (tube,) = laid(Pattern((box("a"),)), "a:c0..c1", joins=(SEAM,)).joints
    assert tube.name == "c1/c0"


# ---------------------------------------------------------------- ends that do not meet, and what cures it


def trapezium(name: str, before: float, after: float) -> Piece:
    """A piece 100 mm wide whose sides beside c0 and beside c1 are that long."""
    return polygon(name, (0, 0), (100, 0), (100, after), (0, before))


def named(pattern: Pattern, *texts: str) -> list[Stretch]:
    return [stretch(pattern, text.removesuffix(":mirrored"), text.endswith(":mirrored")) for text in texts]


def refusal(pattern: Pattern, *texts: str, joins: tuple[str, ...]) -> str:
    with pytest.raises(RequestError) as told:
        lay(named(pattern, *texts), [Join(kind) for kind in joins], "run")
    return str(told.value)


def test_in_a_loop_of_two_edges_no_swap_is_offered_and_what_is_offered_cures() -> None:
    # The sides 80 and 80 are alike, those of 50 and 60 are not, whichever edge is named first.
    pattern = Pattern((trapezium("a", 80, 50), trapezium("b", 60, 80)))
    for first, second in (("a", "b"), ("b", "a")):
        said = refusal(pattern, f"{first}:c0..c1", f"{second}:c0..c1", joins=(SEAM, SEAM))
        assert 'the end "c1" of "a:c0..c1" and the start "c0" of "b:c0..c1" do not meet in a seam' in said
        assert "50.0 and 60.0 mm long and differ by 10.0 mm" in said
        assert "swap" not in said
        assert "would fit" not in said
        assert said.endswith("put a mark of one name at both")
    # What is offered instead: one mark at both ends.
    apart = replace(pattern.pieces[1], curve=motion.apply(motion.moved(0, 300), pattern.pieces[1].curve))
    marked = Pattern((pattern.pieces[0], apart), (Mark("side", 100, 0), Mark("side", 0, 300)))
    run = laid(marked, "a:c0..side", "b:side..c1", joins=(SEAM, SEAM))
    assert [joint.name for joint in run.joints] == ["side", "b:c1/a:c0"]


def test_in_a_loop_of_two_edges_with_unlike_joins_the_swap_is_one() -> None:
    pattern = Pattern((trapezium("a", 80, 50), trapezium("b", 60, 80)))
    said = refusal(pattern, "a:c0..c1", "b:c0..c1", joins=(SEAM, BUTT))
    assert said.endswith('swap the two edges: the end "b:c1" and the start "a:c0" would fit')
    assert laid(pattern, "b:c0..c1", "a:c0..c1", joins=(SEAM, BUTT)).loop


def chain() -> Pattern:
    """Four pieces whose sides fit in the order of their names, round a loop: 60, 70, 90 and 120 mm."""
    return Pattern((trapezium("a", 120, 60), trapezium("b", 60, 70), trapezium("c", 70, 90), trapezium("d", 90, 120)))


@pytest.mark.parametrize("loop", [False, True])
def test_edges_named_the_other_way_round_are_told_so(loop: bool) -> None:
    texts = [f"{name}:c0..c1" for name in "abcd"]
    joins = (SEAM,) * (4 if loop else 3)
    assert laid(chain(), *texts, joins=joins).loop is loop
    said = refusal(chain(), *texts[::-1], joins=joins)
    assert '"d:c0..c1"' in said
    assert said.endswith('name all the edges in the other order: the end "c:c1" and the start "d:c0" would fit')


def test_of_four_edges_two_are_swapped_where_that_cures() -> None:
    said = refusal(chain(), "b:c0..c1", "a:c0..c1", joins=(SEAM,))
    assert said.endswith('swap the two edges: the end "a:c1" and the start "b:c0" would fit')
    # Swapped they would meet each other, but not what lies beside them.
    said = refusal(chain(), "b:c0..c1", "a:c0..c1", "d:c0..c1", joins=(SEAM, SEAM))
    assert "swap" not in said


@pytest.mark.parametrize(
    ("sides", "written", "right"),
    [
        # The second piece's sides beside c0 and c1, how its edge was named, and how it is right.
        ((60, 90), "b:c1..c0", "b:c0..c1"),
        ((90, 60), "b:c0..c1", "b:c1..c0:mirrored"),
        ((90, 60), "b:c0..c1:mirrored", "b:c1..c0:mirrored"),
    ],
)
def test_an_edge_named_the_wrong_way_round_is_told_with_the_right_one(
    sides: tuple[float, float], written: str, right: str
) -> None:
    pattern = Pattern((trapezium("a", 60, 60), trapezium("b", *sides), trapezium("c", 90, 40)))
    said = refusal(pattern, "a:c2..c3", written, "c:c0..c1", joins=(SEAM, SEAM))
    cure = said.rpartition("; ")[2]
    assert cure.startswith(f'write "{right}" instead of "{written}"')
    assert cure.endswith(f'the end "a:c3" and the start "b:{right[2:4]}" would fit')
    assert ("face down" in cure) is (right.endswith(":mirrored") and not written.endswith(":mirrored"))
    assert len(lay(named(pattern, "a:c2..c3", right, "c:c0..c1"), [Join(SEAM), Join(SEAM)], "run").parts) == 3


def test_a_leg_of_a_dart_named_as_its_far_end_is_told_with_the_edge_walked_the_other_way() -> None:
    said = refusal(wedge(0.3), "p:c0..c1", "p:c4..c3", joins=(DART,))
    assert 'the outline of "p" does not hold one corner, the apex' in said
    assert said.endswith('write "p:c3..c4" instead of "p:c4..c3": the end "c1" and the start "c3" would fit')
    said = refusal(wedge(0.3), "p:c3..c4", "p:c0..c1", joins=(DART,))
    assert said.endswith('swap the two edges: the end "c1" and the start "c3" would fit')
    # Round a loop of two darts the other order is the same loop.
    said = refusal(wedge(0.3), "p:c3..c4", "p:c0..c1", joins=(DART, DART))
    assert "swap" not in said
    assert said.endswith("name the ends of the dart's legs, or give its apex in a job file")


def test_an_edge_walked_back_twice_is_itself() -> None:
    marks = (Mark("cut", 30, 0),)
    edge = find_edge(Pattern((trapezium("a", 90, 60),), marks), "a:c3..c0..c1")
    back = walked_back(edge)
    assert (back.start, back.end, back.outside) == (edge.end, edge.start, -edge.outside)
    assert {spot.name: round(spot.s, 9) for spot in back.spots} == {"c1": 0.0, "cut": 70.0, "c0": 100.0, "c3": 190.0}
    assert [spot.turn for spot in back.corners] == [-spot.turn for spot in edge.corners]
    again = walked_back(back)
    for name in ("curve", "rest", "before", "after"):
        np.testing.assert_array_equal(getattr(again, name), getattr(edge, name))
    named = find_edge(Pattern((trapezium("a", 90, 60),)), "a:c1..c0..c3")
    np.testing.assert_allclose(back.curve, named.curve, atol=EXACT)
    assert back.before is not None
    assert named.before is not None
    np.testing.assert_allclose(back.before, named.before, atol=EXACT)
