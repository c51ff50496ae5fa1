"""The written stitching line, read back by svgpathtools: a way in that shares no code with the way out."""

from __future__ import annotations

import math
import re
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from svgpathtools import Arc, Line, Path, parse_path

from scallopkit.document.drawing import Drawing
from scallopkit.document.lines import stitching_text
from scallopkit.document.numbers import path_text
from scallopkit.document.report import run_entry
from scallopkit.document.runs import Run
from scallopkit.document.workshop import scallop
from scallopkit.errors import NoFitError, RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.motion import inverse
from scallopkit.trim.profiles import PROFILES

from ..drawings import HUNDREDTH, INCH, PX, UNITS, marks, path, read
from ..shapes import circle, rectangle, smooth, wavy_lines

# What is promised of coordinates in a written drawing, mm.
WRITTEN = 2e-4
BOW = smooth(np.array([(20.0, 60.0), (90.0, 110.0), (170.0, 120.0), (260.0, 70.0), (330.0, 95.0)]))
DRAWN_BOW = parse_path(path_text(BOW, 12))
EDGES = {
    "straight": (cubics.lines([(10, 20), (310, 20)]), False),
    "bow": (BOW, False),
    "ring": (circle(100.0) + np.array([200.0, 200.0]), True),
    "box": (rectangle(300.0, 200.0) + np.array([20.0, 30.0]), True),
}


def text_of(run: Run, drawing: Drawing) -> str:
    assert run.scallops is not None
    return stitching_text(run.line, run.shares[0], lambda _: inverse(drawing.to_mm))


def mm(d: str, unit: float) -> Path:
    """Path text in user units of a drawing without an offset, as a path in mm."""
    return parse_path(d).scaled(unit, unit, 0j)


def by_roots(edge: Path, point: complex) -> float:
    """How far a point lies from an edge, by the roots of svgpathtools."""
    return min(float(segment.radialrange(point)[0][0]) for segment in edge)


def off(name: str, point: complex) -> float:
    """How far a point lies from one of the edges, in closed form where there is one."""
    if name == "straight":
        return math.hypot(max(10.0 - point.real, 0.0, point.real - 310.0), point.imag - 20.0)
    if name == "ring":
        return abs(abs(point - 200 - 200j) - 100.0)
    if name == "box":
        return abs(max(abs(point.real - 170.0) - 150.0, abs(point.imag - 130.0) - 100.0))
    return by_roots(DRAWN_BOW, point)


def bulge_of(first: Arc, second: Arc) -> tuple[complex, float, float]:
    """The middle of the base line, its length, and the height of the shared node over it."""
    base = second.end - first.start
    height = abs(((first.end - first.start) * base.conjugate()).imag) / abs(base)
    return 0.5 * (first.start + second.end), abs(base), height


def places(entries: list[dict[str, float]], unit: float) -> list[complex]:
    return [complex(e["x"], e["y"]) * unit for e in entries]


def apart(a: complex, b: complex) -> float:
    return abs(a - b)


# --- arcs -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("edge", EDGES)
def test_arcs_stand_on_the_drawn_edge_with_the_reported_sizes(edge: str, unit: float) -> None:
    curve, closed = EDGES[edge]
    drawing = read(path(curve, closed=closed, unit=unit), unit)
    run = scallop(drawing, "hem", width=27, depth="35%")
    report = run_entry(drawing, run)
    line = mm(text_of(run, drawing), unit)
    assert all(isinstance(segment, Arc) for segment in line)
    pairs = list(zip(line[::2], line[1::2], strict=True))
    assert len(pairs) == report["count"] == len(report["scallops"])
    for (up, down), told, crest in zip(pairs, report["scallops"], places(report["crests"], unit), strict=True):
        assert up.end == down.start
        assert off(edge, up.start) < WRITTEN
        assert off(edge, down.end) < WRITTEN
        assert apart(up.end, crest) < WRITTEN
        _, width, height = bulge_of(up, down)
        assert width == pytest.approx(told["width_mm"], abs=2 * WRITTEN)
        assert height == pytest.approx(told["depth_mm"], abs=2 * WRITTEN)
        for arc in (up, down):
            assert arc.radius.real == arc.radius.imag == pytest.approx(told["radius_mm"], abs=WRITTEN)
            assert not arc.large_arc
        # Both arcs belong to one circle: the line has no kink at the crest.
        assert apart(up.center, down.center) < 20 * WRITTEN
    valleys = places(report["valleys"], unit)
    nodes = [up.start for up, _ in pairs] + ([] if closed else [pairs[-1][1].end])
    assert max(map(apart, valleys, nodes)) < WRITTEN
    assert len(valleys) == len(nodes)


@pytest.mark.parametrize("edge", EDGES)
def test_nothing_is_left_between_neighbours(edge: str) -> None:
    curve, closed = EDGES[edge]
    drawing = read(path(curve, closed=closed))
    d = text_of(scallop(drawing, "hem", width=27, depth="35%"), drawing)
    assert d.count("M") == 1
    assert d.endswith(" Z") is closed
    assert d.count("Z") == closed
    line = parse_path(d)
    assert line.iscontinuous()
    assert line.isclosed() is closed


@pytest.mark.parametrize(("side", "above"), [("left", True), ("right", False)])
def test_the_bulge_lies_on_the_side_asked_for(side: str, above: bool) -> None:
    """Walking to the right on the drawing as seen, the left hand is above, where y is less."""
    drawing = read(path(EDGES["straight"][0]))
    line = parse_path(text_of(scallop(drawing, "hem", width=30, side=side), drawing))
    middles = [segment.point(0.5).imag - 20.0 for segment in line]
    assert [bool(m < 0.0) for m in middles] == [above] * len(middles)


@pytest.mark.parametrize(("side", "outside"), [("", True), ("outward", True), ("inward", False)])
@pytest.mark.parametrize("back", [False, True])
def test_a_closed_outline_bulges_outward_whichever_way_it_is_drawn(side: str, outside: bool, back: bool) -> None:
    curve, _ = EDGES["ring"]
    drawing = read(path(cubics.reverse(curve) if back else curve, closed=True))
    line = parse_path(text_of(scallop(drawing, "hem", width=40, depth="20%", side=side), drawing))
    assert [bool(abs(segment.point(0.5) - 200 - 200j) > 100.0) for segment in line] == [outside] * len(line)


@pytest.mark.parametrize("depth", [0.05, 0.4, 0.499999, 0.5, 0.500001, 0.8, 1.2])
@pytest.mark.parametrize("unit", UNITS)
def test_shallow_and_deep_arcs_keep_their_height(depth: float, unit: float) -> None:
    """Near half a circle a single arc's height would hang on the last decimal of its chord."""
    drawing = read(path(EDGES["straight"][0], unit=unit), unit)
    run = scallop(drawing, "hem", count=4, depth=f"{100 * depth}%", space="40mm")
    line = mm(text_of(run, drawing), unit)
    arcs = [segment for segment in line if isinstance(segment, Arc)]
    assert run.scallops is not None
    for up, down, want in zip(arcs[::2], arcs[1::2], run.scallops.depth, strict=True):
        _, _, height = bulge_of(up, down)
        assert height == pytest.approx(want, abs=WRITTEN)
        length = up.length() + down.length()
        radius = run.scallops.radius[0]
        # Arc length r theta, theta = 4 atan(2 h / w) (circular segment).
        assert length == pytest.approx(radius * 4.0 * math.atan(2.0 * depth), abs=20 * WRITTEN)


@given(wavy_lines(), st.floats(8.0, 40.0), st.sampled_from(UNITS))
@settings(max_examples=25, deadline=None)
def test_valleys_lie_on_any_wavy_edge(curve: Array, width: float, unit: float) -> None:
    curve = curve + np.array([10.0, 100.0])
    drawing = read(path(curve, unit=unit), unit)
    try:
        run = scallop(drawing, "hem", width=width, depth="15%")
    except (NoFitError, RequestError):
        assume(False)
    line = mm(text_of(run, drawing), unit)
    drawn = parse_path(path_text(curve, 12))
    assert run.scallops is not None
    for up, down, radius in zip(line[::2], line[1::2], run.scallops.radius, strict=True):
        assert by_roots(drawn, up.start) < WRITTEN
        assert by_roots(drawn, down.end) < WRITTEN
        assert up.radius.real == pytest.approx(radius, abs=WRITTEN)
    assert apart(line[0].start, complex(*curve[0, 0])) < WRITTEN
    assert apart(line[-1].end, complex(*curve[-1, 3])) < WRITTEN


# --- other profiles -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("profile", sorted(PROFILES))
@pytest.mark.parametrize("edge", ["straight", "ring", "box"])
def test_every_profile_passes_its_reported_valleys_and_crests(profile: str, edge: str) -> None:
    curve, closed = EDGES[edge]
    drawing = read(path(curve, closed=closed))
    run = scallop(drawing, "hem", width=27, depth="30%", profile=profile)
    report = run_entry(drawing, run)
    d = text_of(run, drawing)
    line = parse_path(d)
    nodes = [segment.start for segment in line] + [line[-1].end]
    for told in places(report["valleys"], 1.0) + places(report["crests"], 1.0):
        assert min(apart(told, node) for node in nodes) < WRITTEN
    assert max(off(edge, valley) for valley in places(report["valleys"], 1.0)) < WRITTEN
    assert line.isclosed() is closed
    assert (d.count("M"), d.count("Z")) == (1, int(closed))
    assert ("A" in d) is (profile in ("arc", "half-circle"))
    assert (report["scallops"][0]["radius_mm"] is None) is ("A" not in d)


def test_a_point_is_drawn_with_straight_lines() -> None:
    drawing = read(path(EDGES["straight"][0]))
    d = text_of(scallop(drawing, "hem", count=2, depth="10mm", profile="point"), drawing)
    assert d == "M 10,20 L 85,10 L 160,20 L 235,10 L 310,20"


def test_a_wave_has_no_corner_at_its_valleys() -> None:
    drawing = read(path(BOW))
    line = parse_path(text_of(scallop(drawing, "hem", width=27, depth="30%", profile="wave"), drawing))
    for one, next_one in pairwise(line):
        turn = next_one.unit_tangent(0.0) / one.unit_tangent(1.0)
        assert abs(turn - 1.0) < 1e-4


def test_a_motif_of_the_maker_s_own_is_drawn() -> None:
    drawing = read(path(EDGES["straight"][0]) + '<path id="tent" d="M 400,100 L 410,88 L 430,100"/>')
    d = text_of(scallop(drawing, "hem", width=30, profile="motif:tent"), drawing)
    line = parse_path(d)
    crests = [node for node in (segment.end for segment in line) if node.imag < 8.5]
    assert len(crests) == 10
    for i, crest in enumerate(crests):
        assert apart(crest, complex(10.0 + 30.0 * i + 10.0, 20.0 - 12.0)) < WRITTEN


# --- spaces and gaps ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("profile", ["arc", "wave"])
@pytest.mark.parametrize("unit", [1.0, INCH, HUNDREDTH, PX])
@pytest.mark.parametrize("edge", EDGES)
def test_spaces_follow_the_edge(edge: str, unit: float, profile: str) -> None:
    curve, closed = EDGES[edge]
    drawing = read(path(curve, closed=closed, unit=unit), unit)
    run = scallop(drawing, "hem", width=27, depth="30%", space="6mm", profile=profile)
    d = text_of(run, drawing)
    line = mm(d, unit)
    assert (d.count("M"), d.count("Z")) == (1, int(closed))
    assert parse_path(d).iscontinuous()
    assert parse_path(d).isclosed() is closed
    assert run.scallops is not None
    row = run.scallops.row
    ends = [complex(*p) for p in row.end]
    starts = [complex(*p) for p in row.start]
    # From the end of one scallop up to the start of the next the line stays on the edge.
    count = len(row) if closed else len(row) - 1
    for i in range(count):
        here, there = ends[i], starts[(i + 1) % len(row)]
        if apart(here, there) < 1e-6:
            continue
        link = _between(line, here, there)
        # Straight from valley to valley, or half of it on either side of a corner.
        assert abs(6.0 - (sum(part.length() for part in link) if edge == "box" else apart(here, there))) < WRITTEN
        for segment in link:
            assert max(off(edge, segment.point(t)) for t in (0.0, 0.25, 0.5, 0.75, 1.0)) < WRITTEN
    assert any(apart(a, b) > 1.0 for a, b in zip(ends, starts[1:], strict=False))


def _between(line: Path, here: complex, there: complex) -> list[Line]:
    """The segments of a line from one of its nodes to another, over its close if need be."""
    first = next(k for k, segment in enumerate(line) if apart(segment.start, here) < WRITTEN)
    out = []
    for k in range(first, first + len(line)):
        out.append(line[k % len(line)])
        if apart(out[-1].end, there) < WRITTEN:
            return out
    raise AssertionError(f"the line does not lead from {here} to {there}")


@pytest.mark.parametrize("space", ["", "6mm"])
@pytest.mark.parametrize("touch", ["valley", "crest", "middle"])
@pytest.mark.parametrize("edge", ["straight", "bow", "ring"])
def test_the_line_leads_through_every_valley_and_crest_in_turn(edge: str, touch: str, space: str) -> None:
    """Whatever part of a scallop lies on the edge, its arcs start and end in its own valleys."""
    curve, closed = EDGES[edge]
    drawing = read(path(curve, closed=closed))
    run = scallop(drawing, "hem", width=27, depth="30%", touch=touch, space=space)
    assert run.scallops is not None
    row = run.scallops.row
    line = parse_path(text_of(run, drawing))
    arcs = [segment for segment in line if isinstance(segment, Arc)]
    for i, (up, down) in enumerate(zip(arcs[::2], arcs[1::2], strict=True)):
        assert apart(up.start, complex(*row.start[i])) < WRITTEN
        assert apart(up.end, complex(*run.scallops.crest[i])) < WRITTEN
        assert apart(down.end, complex(*row.end[i])) < WRITTEN
    assert line.iscontinuous()


@pytest.mark.parametrize(("touch", "height"), [("crest", 1.0), ("middle", 0.5)])
def test_what_touches_lies_on_the_edge(touch: str, height: float) -> None:
    """With `crest` the crests lie on the edge, with `middle` the points half way up each scallop's axis."""
    drawing = read(path(BOW))
    line = parse_path(text_of(scallop(drawing, "hem", width=27, depth="30%", touch=touch), drawing))
    for up, down in zip(line[::2], line[1::2], strict=True):
        foot, _, _ = bulge_of(up, down)
        assert off("bow", foot + height * (up.end - foot)) < WRITTEN


def parts(d: str) -> list[Path]:
    return [parse_path("M" + part) for part in d.removesuffix(" Z").split("M")[1:]]


def test_at_a_gap_the_line_stops_and_starts_again() -> None:
    drawing = read(path(BOW) + marks(mid=(170.0, 120.0)))
    run = scallop(drawing, "hem", width=20, depth="30%", hold=["mid=gap:15mm"], start="gap:10mm")
    d = text_of(run, drawing)
    before, after = parts(d)
    assert len(before) + len(after) == 2 * run.count
    assert all(isinstance(segment, Arc) for segment in [*before, *after])
    # The gaps are measured along the edge.
    mark = DRAWN_BOW.length(T1=DRAWN_BOW.t2T(1, 1.0))
    for node, s in ((before[0].start, 10.0), (before[-1].end, mark - 15.0), (after[0].start, mark + 15.0)):
        assert apart(node, DRAWN_BOW.point(DRAWN_BOW.ilength(s))) < WRITTEN
    assert apart(after[-1].end, DRAWN_BOW.end) < WRITTEN


@pytest.mark.parametrize(("hold", "angle"), [("top", -math.pi / 2.0), ("first", 0.0)])
def test_at_a_gap_in_a_loop_the_line_is_open(hold: str, angle: float) -> None:
    drawing = read(path(EDGES["ring"][0], closed=True) + marks(top=(200.0, 100.0), first=(300.0, 200.0)))
    run = scallop(drawing, "hem", width=27, depth="30%", hold=[f"{hold}=gap:15mm"])
    d = text_of(run, drawing)
    assert "Z" not in d
    (line,) = parts(d)
    assert len(line) == 2 * run.count
    for node, turned in ((line[0].start, 0.15), (line[-1].end, -0.15)):
        there = 200 + 200j + 100.0 * complex(math.cos(angle + turned), math.sin(angle + turned))
        assert apart(node, there) < WRITTEN


def test_at_two_gaps_in_a_loop_there_are_two_lines() -> None:
    drawing = read(path(EDGES["ring"][0], closed=True) + marks(top=(200.0, 100.0), bottom=(200.0, 300.0)))
    run = scallop(drawing, "hem", width=27, depth="30%", hold=["top=gap:15mm", "bottom=gap:5mm"], space="3mm")
    lines = parts(text_of(run, drawing))
    assert [line.iscontinuous() for line in lines] == [True, True]
    nodes = sorted(abs(node.real - 200.0) for line in lines for node in (line[0].start, line[-1].end))
    wide, narrow = 100.0 * math.sin(0.15), 100.0 * math.sin(0.05)
    assert nodes == pytest.approx([narrow, narrow, wide, wide], abs=WRITTEN)


# --- folds ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize(
    ("start", "end"), [("fold", "fold"), ("fold", "valley"), ("valley", "fold"), ("fold:valley", "fold")]
)
@pytest.mark.parametrize("profile", ["arc", "wave"])
def test_halves_start_on_the_fold_line(start: str, end: str, profile: str, unit: float) -> None:
    """A quarter of a ring on folds along both axes: halves begin and end on x = 0 and y = 0, square to them."""
    curve = np.concatenate([cubics.lines([(0, 0), (300, 0)]), circle(300.0)[: len(circle(300.0)) // 4]])
    curve = np.concatenate([curve, cubics.lines([(0, 300), (0, 0)])])
    curve[-2, 3] = (0.0, 300.0)
    drawing = read(path(curve, closed=True, unit=unit), unit)
    run = scallop(drawing, "hem:c1..c2", width=40, depth="30%", start=start, end=end, profile=profile)
    line = mm(text_of(run, drawing), unit)
    first, last = line[0], line[-1]
    assert abs(first.start.imag) < WRITTEN
    assert abs(last.end.real) < WRITTEN
    if start == "fold":
        assert run.scallops is not None
        assert first.start.real > 300.0 + 0.9 * run.scallops.depth[0]
        # Its mirror image goes on without a kink.
        assert abs(first.unit_tangent(0.0).real) < 1e-4
    else:
        assert first.start.real == pytest.approx(300.0, abs=WRITTEN)
    if end == "fold":
        assert abs(last.unit_tangent(1.0).imag) < 1e-4
    assert run.count % 1.0 == (0.5 if (start == "fold") != (end == "fold") else 0.0)


@pytest.mark.parametrize("hold", ["crest", "valley"])
def test_a_wave_is_smooth_over_a_fold(hold: str) -> None:
    """Opened out, the line goes on as its own mirror image: it must cross the fold square, in a valley too."""
    drawing = read('<path id="hem" d="M 0,0 H 300 A 300 300 0 0 1 0,300 Z"/>')
    run = scallop(drawing, "hem:c1..c2", width=40, depth="30%", start=f"fold:{hold}", end="fold", profile="wave")
    line = parse_path(text_of(run, drawing))
    assert abs(line[0].unit_tangent(0.0).real) < 1e-4


def test_a_corner_s_scallop_has_its_crest_on_the_diagonal() -> None:
    drawing = read(path(rectangle(420.0, 420.0), closed=True))
    run = scallop(drawing, "hem", width=30, depth="33.3333%", corner="wrap")
    line = parse_path(text_of(run, drawing))
    assert run.scallops is not None
    corners = np.flatnonzero(run.scallops.row.turn)
    assert len(corners) == 4
    for i in corners:
        crest = line[2 * int(i)].end - (210 + 210j)
        assert abs(abs(crest.real) - abs(crest.imag)) < 2 * WRITTEN
        assert abs(crest) > 210.0 * math.sqrt(2.0) - 30.0
    assert line.isclosed()


# --- the text itself ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", UNITS)
def test_numbers_are_short_and_fine_enough(unit: float) -> None:
    drawing = read(path(BOW, unit=unit), unit)
    d = text_of(scallop(drawing, "hem", width=27, depth="30%"), drawing)
    assert not re.search(r"[eE]|nan|inf|-0(?![\d.])", d)
    coordinates = re.findall(r"-?\d+(?:\.(\d+))?,-?\d+(?:\.(\d+))?", d)
    places_used = max(len(part) for pair in coordinates for part in pair)
    assert 10.0**-places_used * unit <= 1e-4
    # No finer than needed either: a step of 1e-7 mm says nothing in a drawing.
    assert 10.0**-places_used * unit > 1e-7


def test_the_same_run_gives_the_same_text() -> None:
    drawing = read(path(BOW))
    texts = {text_of(scallop(drawing, "hem", width=27, depth="30%"), drawing) for _ in range(3)}
    assert len(texts) == 1
