"""Runs over several pieces whose answers are known in closed form: rings, cones and straight hems, cut up and sewn.

Each piece is drawn where the test puts it; points of the report are carried back by complex numbers, never by the
package's own motions. With y pointing down angles grow clockwise on the drawing as seen.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from lxml import etree
from svgpathtools import Path, parse_path

from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import EdgeWords, JoinWords, Recipe, ScallopWords, StretchWords
from scallopkit.document.report import run_entry
from scallopkit.document.runs import Run, make_run
from scallopkit.document.workshop import scallop, with_runs

from ..drawings import QUARTER, page

TURN = 2.0 * math.pi

# Chords of n equal parts of a circle of diameter 1. The purpose of such a table is told in Machinery's Handbook, 31st
# ed. (2020), p. 711, its Table 3 is on p. 720; the digits of 16 to 64 are computed. 56 and 8 stand with five digits in
# the Guide to Machinery's Handbook, section 2.
CHORDS = {
    8: 0.3826834,
    12: 0.2588190,
    16: 0.1950903,
    20: 0.1564345,
    24: 0.1305262,
    32: 0.0980171,
    36: 0.0871557,
    56: 0.0560704,
    64: 0.0490677,
}
# Half a unit of the table's last digit.
PRINTED = 5.1e-8

# How much of its depth a scallop has inside the edge that touches it with its crest, or its middle.
RAISED = {"crest": 1.0, "middle": 0.5}

ON_EDGE = 1e-6
WRITTEN = 2e-4

Place = Callable[[complex], complex]


def laid(x: float, y: float, turn: float) -> tuple[Place, Place]:
    """Where a piece lies on the sheet, and the way back."""
    way = cmath.exp(1j * turn)
    return (lambda z: complex(x, y) + way * z), (lambda z: (z - complex(x, y)) / way)


def there(z: complex) -> complex:
    return z


def at(radius: float, angle: float) -> complex:
    return radius * cmath.exp(1j * angle)


def pair(z: complex) -> str:
    return f"{z.real!r},{z.imag!r}"


def sector(name: str, radii: tuple[float, float], angles: tuple[float, float], place: Place) -> str:
    """A sector of a ring; its outer rim goes from c1 to c2, about 0."""
    outer, inner = radii
    a, b = angles
    p = [place(z) for z in (at(inner, a), at(outer, a), at(outer, b), at(inner, b))]
    rim = f"A {outer!r} {outer!r} 0 {int(b - a > math.pi)} 1 {pair(p[2])}"
    back = f"A {inner!r} {inner!r} 0 {int(b - a > math.pi)} 0 {pair(p[0])}"
    return f'<path id="{name}" d="M {pair(p[0])} L {pair(p[1])} {rim} L {pair(p[3])} {back} Z"/>'


def polygon(name: str, points: Sequence[complex]) -> str:
    return f'<path id="{name}" d="M {" L ".join(pair(z) for z in points)} Z"/>'


def sheet(*pieces: str) -> Drawing:
    return read_drawing(page("".join(pieces), size=(2000.0, 2000.0)).encode(), "sheet.svg")


def places(found: Sequence[dict[str, Any]], back: dict[str, Place]) -> list[complex]:
    """Points of the report sewn together again."""
    return [back[one["piece"]](complex(one["x"], one["y"])) for one in found]


def turns(points: Sequence[complex], start: float) -> list[float]:
    """Angles of points about 0, from `start` on and in [0, 360) degrees but for a rounding error."""
    return sorted((cmath.phase(z) - start + 1e-6) % TURN - 1e-6 for z in points)


def stitched(drawing: Drawing, run: Run) -> list[tuple[str, Path]]:
    """The written stitching lines with their pieces, as another reader of SVG has them."""
    root = etree.fromstring(with_runs(drawing, [run]))
    found = [element for element in root.iter() if element.get("data-role") == "stitching"]
    return [(str(element.get("data-piece")), parse_path(element.get("d"))) for element in found]


def widths(report: dict[str, Any]) -> list[float]:
    return [row["width_mm"] for row in report["scallops"]]


@st.composite
def placings(draw: st.DrawFn, count: int) -> list[tuple[Place, Place]]:
    """Pieces laid anywhere and turned anyhow; they may well lie over each other."""
    where = st.tuples(st.floats(-800.0, 800.0), st.floats(-800.0, 800.0), st.floats(0.0, TURN))
    return [laid(*draw(where)) for _ in range(count)]


@st.composite
def cuts(draw: st.DrawFn, least: float = 0.35) -> list[float]:
    """Angles at which a ring is cut: two to five sectors of at least `least` and at most 1.4 radians."""
    wide = draw(st.lists(st.floats(least, 1.4), min_size=2, max_size=4))
    start = draw(st.floats(0.0, TURN))
    return [start + sum(wide[:k]) for k in range(len(wide) + 1)]


# A case that fails shows itself as it is: making it small would take minutes.
few = settings(
    max_examples=12,
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
    suppress_health_check=[HealthCheck.too_slow],
)


# ---------------------------------------------------------------- rings cut into sectors


def ring(
    radii: tuple[float, float], angles: Sequence[float], placed: Sequence[tuple[Place, Place]]
) -> tuple[Drawing, list[str], dict[str, Place]]:
    """A ring cut at angles: the drawing, the edges in sewing order, and the ways back."""
    names = [f"sector{k}" for k in range(len(angles) - 1)]
    pieces = [
        sector(name, radii, (a, b), place[0])
        for name, (a, b), place in zip(names, pairwise(angles), placed, strict=False)
    ]
    back = {name: place[1] for name, place in zip(names, placed, strict=False)}
    return sheet(*pieces), [f"{name}:c1..c2" for name in names], back


@few
@given(cuts(), placings(5), st.floats(150.0, 600.0), st.data())
def test_sectors_sewn_by_seams_that_pass_step_as_the_uncut_arc(
    angles: list[float], placed: list[tuple[Place, Place]], radius: float, data: st.DataObject
) -> None:
    drawing, edges, back = ring((radius, 0.8 * radius), angles, placed)
    theta = angles[-1] - angles[0]
    count = data.draw(st.integers(5, 40))
    run = scallop(drawing, edges, join=["seam:pass"] * (len(edges) - 1), count=count, depth="25%")
    report = run_entry(drawing, run)
    chord = 2.0 * radius * math.sin(theta / (2 * count))
    assert run.widths == pytest.approx((chord,), rel=1e-9)
    assert widths(report) == pytest.approx([chord] * count, abs=1.1e-6)
    assert report["length_mm"] == pytest.approx(radius * theta, abs=1e-5)
    sewn = places(report["valleys"], back)
    assert [abs(z) for z in sewn] == pytest.approx([radius] * (count + 1), abs=ON_EDGE)
    apart = [abs(z - at(radius, angles[0] + theta * k / count)) for k, z in enumerate(sewn)]
    assert max(apart) < ON_EDGE
    # Each valley is listed with the piece on which it lies.
    for one, z in zip(report["valleys"], sewn, strict=True):
        k = int(one["piece"].removeprefix("sector"))
        reach = turns([z], angles[0])[0] + angles[0]
        assert angles[k] - 1e-8 <= reach <= angles[k + 1] + 1e-8
    assert report["closure_mm"] < 1e-6
    # Arcs of one circle go on truly.
    assert max(abs(join["angle_deg"]) for join in report["joins"]) < 1e-4
    assert max(join["dip_mm"] for join in report["joins"]) < ON_EDGE


@few
@given(cuts(), placings(5), st.floats(150.0, 600.0))
def test_a_valley_at_each_seam_gives_each_sector_its_own_width(
    angles: list[float], placed: list[tuple[Place, Place]], radius: float
) -> None:
    drawing, edges, back = ring((radius, 0.8 * radius), angles, placed)
    # A seam holds a valley unless told otherwise.
    joins = ["seam", "seam:valley", "seam", "seam:valley"][: len(edges) - 1]
    run = scallop(drawing, edges, join=joins, width=radius / 9.0, depth="25%")
    report = run_entry(drawing, run)
    assert len(report["spans"]) == len(edges)
    wanted: list[float] = []
    for span, (a, b) in zip(report["spans"], pairwise(angles), strict=True):
        n = span["count"]
        assert span["width_mm"] == pytest.approx(2.0 * radius * math.sin((b - a) / (2 * n)), abs=1.1e-6)
        wanted += [a + (b - a) * k / n for k in range(n)]
    wanted.append(angles[-1])
    sewn = places(report["valleys"], back)
    assert max(abs(z - at(radius, angle)) for z, angle in zip(sewn, wanted, strict=True)) < ON_EDGE


@pytest.mark.parametrize("count", CHORDS)
def test_a_whole_ring_of_five_sectors_against_the_table(count: int) -> None:
    radius, angles = 250.0, [0.3, 1.3, 2.5, 3.6, 5.1, 0.3 + TURN]
    placed = [laid(130.0 * k, -70.0 * k * k, 1.7 * k) for k in range(5)]
    drawing, edges, back = ring((radius, 180.0), angles, placed)
    run = scallop(drawing, edges, join=["seam:pass"] * 5, count=count, depth="20%")
    report = run_entry(drawing, run)
    assert report["loop"] is True
    assert report["length_mm"] == pytest.approx(TURN * radius, abs=1e-5)
    assert run.widths == pytest.approx((2.0 * radius * math.sin(math.pi / count),), rel=1e-9)
    assert run.widths[0] / (2.0 * radius) == pytest.approx(CHORDS[count], abs=PRINTED)
    # Nothing holds it, so its first valley lies where it starts.
    sewn = places(report["valleys"], back)
    assert len(sewn) == count
    assert max(abs(z - at(radius, 0.3 + TURN * k / count)) for k, z in enumerate(sewn)) < ON_EDGE
    assert report["closure_mm"] < 1e-6
    assert report["totals"]["scallops"] == count


@pytest.mark.parametrize("closing", ["seam", "seam:pass", "seam:crest"])
def test_a_ring_of_equal_sectors_has_the_same_chords_whatever_its_closing_seam_holds(closing: str) -> None:
    radius, count = 200.0, 30
    angles = [TURN * k / 5 for k in range(6)]
    placed = [laid(90.0 * k, 10.0, 0.9 * k + 0.1) for k in range(5)]
    drawing, edges, back = ring((radius, 150.0), angles, placed)
    report = run_entry(drawing, scallop(drawing, edges, join=["seam:pass"] * 4 + [closing], count=count, depth="20%"))
    chord = 2.0 * radius * math.sin(math.pi / count)
    assert widths(report) == pytest.approx([chord] * count, abs=1.1e-6)
    off = math.pi / count if closing.endswith("crest") else 0.0
    assert turns(places(report["valleys"], back), off) == pytest.approx(
        [TURN * k / count for k in range(count)], abs=ON_EDGE / radius
    )
    assert report["closure_mm"] < 1e-6


@pytest.mark.parametrize("hold", ["valley", "crest"])
def test_every_seam_of_a_ring_held_alike(hold: str) -> None:
    """Five sectors with a seam held at each end: each the same, the ring as if it were uncut."""
    radius, count = 200.0, 30
    placed = [laid(90.0 * k, 10.0, 0.9 * k + 0.1) for k in range(5)]
    drawing, edges, back = ring((radius, 150.0), [TURN * k / 5 for k in range(6)], placed)
    report = run_entry(drawing, scallop(drawing, edges, join=[f"seam:{hold}"] * 5, count=count, depth="20%"))
    assert widths(report) == pytest.approx([2.0 * radius * math.sin(math.pi / count)] * count, abs=1.1e-6)
    assert [span["count"] for span in report["spans"]] == [6] * 5
    off = math.pi / count if hold == "crest" else 0.0
    assert turns(places(report["valleys"], back), off) == pytest.approx(
        [TURN * k / count for k in range(count)], abs=ON_EDGE / radius
    )


@few
@given(cuts(), placings(5), st.sampled_from(["valley", "crest", "middle"]), st.floats(0.1, 0.45))
def test_scallops_that_touch_with_their_crests_over_seams(
    angles: list[float], placed: list[tuple[Place, Place]], touch: str, share: float
) -> None:
    """Valleys on a circle inside: at radius r half a chord is r sin a, its middle r cos a, and the crest further by h.

    The arc's part at which the scallop touches the edge lies at R: r cos a + m h = R with h = share * 2 r sin a, and m
    one for the crest, a half for the middle, and r = R for the valley.
    """
    radius, count = 300.0, 18
    drawing, edges, back = ring((radius, 240.0), angles, placed)
    run = scallop(
        drawing, edges, join=["seam:pass"] * (len(edges) - 1), count=count, touch=touch, depth=f"{100.0 * share!r}%"
    )
    report = run_entry(drawing, run)
    a = (angles[-1] - angles[0]) / (2 * count)
    r = radius / (math.cos(a) + 2.0 * RAISED[touch] * share * math.sin(a)) if touch != "valley" else radius
    assert widths(report) == pytest.approx([2.0 * r * math.sin(a)] * count, abs=2e-6)
    sewn = places(report["valleys"], back)
    assert max(abs(z - at(r, angles[0] + 2.0 * a * k)) for k, z in enumerate(sewn)) < ON_EDGE
    crests = places(report["crests"], back)
    top = r * math.cos(a) + 2.0 * share * r * math.sin(a)
    assert max(abs(z - at(top, angles[0] + a * (2 * k + 1))) for k, z in enumerate(crests)) < ON_EDGE
    assert report["closure_mm"] < 1e-6


def test_butt_joins_go_by_the_edges_whatever_the_sides_of_the_pieces_do() -> None:
    """Sectors whose sides lean every way, laid end to end by their rims."""
    radius, angles, leans = 220.0, [0.2, 1.0, 2.1, 2.9], (12.0, -17.0, 9.0, -21.0)
    body, back = [], {}
    for k, (a, b) in enumerate(pairwise(angles)):
        place, way = laid(-80.0 * k, 55.0 * k, 2.3 * k)
        begin, end = at(radius, a), at(radius, b)
        foot = [
            z * (1.0 - 70.0 / radius * cmath.exp(1j * math.radians(leans[k + i]))) for i, z in ((0, begin), (1, end))
        ]
        p = [place(z) for z in (foot[0], begin, end, foot[1])]
        rim = f"A {radius} {radius} 0 0 1 {pair(p[2])}"
        body.append(f'<path id="p{k}" d="M {pair(p[0])} L {pair(p[1])} {rim} L {pair(p[3])} Z"/>')
        back[f"p{k}"] = way
    drawing = sheet(*body)
    report = run_entry(drawing, scallop(drawing, [f"p{k}:c1..c2" for k in range(3)], join=["butt"] * 2, count=19))
    theta = angles[-1] - angles[0]
    # Butt joins let pass unless told otherwise.
    assert widths(report) == pytest.approx([2.0 * radius * math.sin(theta / 38)] * 19, abs=1.1e-6)
    sewn = places(report["valleys"], back)
    assert max(abs(z - at(radius, 0.2 + theta * k / 19)) for k, z in enumerate(sewn)) < ON_EDGE
    assert [join["hold"] for join in report["joins"]] == ["pass", "pass"]
    assert max(abs(join["angle_deg"]) for join in report["joins"]) < 1e-4


# ---------------------------------------------------------------- darts


def darted(radius: float, theta: float, dart: float, apex: float, opening: float, place: Place) -> tuple[str, Place]:
    """A sector from angle 0 to `theta` slit at angle `dart` up to the radius `apex`, and opened about there.

    Its rim goes from c1 to c2 and from c4 to c5, the apex is c3. Returns how a point beyond the dart is closed again.
    """
    point = at(apex, dart)
    way = cmath.exp(1j * opening)

    def opened(z: complex) -> complex:
        return point + way * (z - point)

    inner = 0.6 * radius
    p = [
        place(z)
        for z in (
            inner,
            radius,
            at(radius, dart),
            point,
            opened(at(radius, dart)),
            opened(at(radius, theta)),
            opened(at(inner, theta)),
        )
    ]
    rims = [f"A {radius!r} {radius!r} 0 0 1 {pair(p[k])}" for k in (2, 5)]
    text = f"M {pair(p[0])} L {pair(p[1])} {rims[0]} L {pair(p[3])} L {pair(p[4])} {rims[1]} L {pair(p[6])} Z"
    return f'<path id="front" d="{text}"/>', lambda z: point + (z - point) / way


@few
@given(
    placings(1),
    st.floats(0.4, 0.7),
    st.floats(0.4, 0.6),
    st.floats(0.72, 0.9),
    st.floats(0.05, 0.4),
    st.integers(6, 25),
)
def test_a_dart_sewn_gives_the_arc_again(
    placed: list[tuple[Place, Place]], dart: float, rest: float, deep: float, opening: float, count: int
) -> None:
    radius, theta = 260.0, dart + rest
    ((place, way),) = placed
    text, closed = darted(radius, theta, dart, deep * radius, opening, place)
    drawing = sheet(text)
    run = scallop(drawing, ["front:c1..c2", "front:c4..c5"], join=["dart"], count=count, depth="25%")
    report = run_entry(drawing, run)
    assert run.widths == pytest.approx((2.0 * radius * math.sin(theta / (2 * count)),), rel=1e-9)
    for k, one in enumerate(report["valleys"]):
        z = way(complex(one["x"], one["y"]))
        angle = theta * k / count
        assert abs((closed(z) if angle > dart + 1e-9 else z) - at(radius, angle)) < ON_EDGE
    (join,) = report["joins"]
    assert (join["kind"], join["hold"]) == ("dart", "pass")
    assert join["legs_differ_mm"] < 1e-5
    assert abs(join["angle_deg"]) < 1e-4
    assert report["closure_mm"] < 1e-6
    # The written lines of both stretches meet once the dart is closed.
    (_, before), (_, after) = stitched(drawing, run)
    assert abs(way(before.end) - closed(way(after.start))) < WRITTEN


def test_scallops_stop_short_of_both_legs_of_a_dart() -> None:
    radius, theta, dart, gap = 260.0, 1.7, 0.8, 8.0
    place, way = laid(30.0, -50.0, 0.7)
    text, closed = darted(radius, theta, dart, 200.0, 0.3, place)
    drawing = sheet(text)
    run = scallop(drawing, ["front:c1..c2", "front:c4..c5"], join=["dart:gap:8mm"], width=24, depth="25%")
    report = run_entry(drawing, run)
    assert [join["hold"] for join in report["joins"]] == ["gap"]
    first, last = (0.0, dart - gap / radius), (dart + gap / radius, theta)
    wanted: list[complex] = []
    for (a, b), span in zip((first, last), report["spans"], strict=True):
        assert span["length_mm"] == pytest.approx(radius * (b - a), abs=1e-5)
        assert span["width_mm"] == pytest.approx(2.0 * radius * math.sin((b - a) / (2 * span["count"])), abs=1.1e-6)
        wanted += [at(radius, a + (b - a) * k / span["count"]) for k in range(span["count"] + 1)]
    n = report["spans"][0]["count"]
    sewn = [way(complex(one["x"], one["y"])) for one in report["valleys"]]
    sewn = [*sewn[: n + 1], *map(closed, sewn[n + 1 :])]
    assert max(abs(z - w) for z, w in zip(sewn, wanted, strict=True)) < ON_EDGE
    # So does what is drawn.
    (_, before), (_, after) = stitched(drawing, run)
    assert abs(way(before.end) - at(radius, first[1])) < WRITTEN
    assert abs(closed(way(after.start)) - at(radius, last[0])) < WRITTEN


# ---------------------------------------------------------------- folds


@pytest.mark.parametrize("count", [3, 4, 5, 8, 9, 14, 16])
@pytest.mark.parametrize("hold", ["", ":valley"])
def test_a_quarter_on_two_folds_is_a_round_cloth(count: int, hold: str) -> None:
    """A quarter of a circle of 600 mm that is cut on two folds: its whole rim against the table, two ways."""
    drawing = sheet(QUARTER)
    folded = scallop(drawing, "quarter:c1..c2", count=count, depth="20%", start=f"fold{hold}", end=f"fold{hold}")
    edges = ["quarter:c1..c2", "quarter:c2..c1"] * 2
    opened = scallop(drawing, edges, join=[f"fold{hold}"] * 4, count=4 * count, depth="20%")
    for run in (folded, opened):
        report = run_entry(drawing, run)
        assert run.widths == pytest.approx([600.0 * math.sin(math.pi / (4 * count))] * len(run.widths), rel=1e-9)
        if 4 * count in CHORDS:
            assert run.widths[0] / 600.0 == pytest.approx(CHORDS[4 * count], abs=PRINTED)
        assert report["totals"]["scallops"] == 4 * count
        assert report["totals"]["edge_mm"] == pytest.approx(600.0 * math.pi, abs=1e-5)
        angles = [math.atan2(one["y"], one["x"]) for one in report["valleys"]]
        off = 0.0 if hold else 0.5
        wanted = [0.5 * math.pi * (k + off) / count for k in range(count + (1 if hold else 0))]
        assert sorted(angles) == pytest.approx(wanted, abs=ON_EDGE / 300.0)
        assert [math.hypot(one["x"], one["y"]) for one in report["valleys"]] == pytest.approx(
            [300.0] * len(wanted), abs=ON_EDGE
        )
        assert report["closure_mm"] < 1e-6
    first, second = (run_entry(drawing, run) for run in (folded, opened))
    assert second["loop"] is True
    assert second["count"] == 4 * first["count"]
    assert second["totals"]["stitching_mm"] == pytest.approx(first["totals"]["stitching_mm"], abs=1e-5)
    # What is drawn on the one piece is the same line.
    (_, one), *more = stitched(drawing, folded)
    (_, other), *others = stitched(drawing, opened)
    assert (more, others) == ([], [])
    assert one.length() == pytest.approx(other.length(), abs=WRITTEN)
    assert abs(one.start - other.start) < WRITTEN
    assert abs(one.end - other.end) < WRITTEN


@few
@given(placings(2), st.floats(1.25, 1.85), st.sampled_from(["seam", "seam:pass", "seam:crest"]), st.integers(4, 16))
def test_front_and_back_on_their_folds_make_a_round_neck(
    placed: list[tuple[Place, Place]], shoulder: float, seam: str, half: int
) -> None:
    """Half a front and half a back, sewn at the shoulder and cut on folds at the middle: the rim of a whole ring."""
    radius, angles = 180.0, [0.0, shoulder, math.pi]
    drawing, _, back = ring((radius, 120.0), angles, placed)
    edges = ["sector0:c1..c2", "sector1:c1..c2", "sector1:c2..c1", "sector0:c2..c1"]
    run = scallop(drawing, edges, join=[seam, "fold", seam, "fold"], width=math.pi * radius / half, depth="20%")
    report = run_entry(drawing, run)
    assert report["length_mm"] == pytest.approx(TURN * radius, abs=1e-5)
    if seam == "seam:pass":
        # From crest to crest half a turn takes a whole number, so the whole rim takes an even one.
        n = report["count"]
        assert n % 2 == 0
        assert run.widths == pytest.approx([2.0 * radius * math.sin(math.pi / n)] * len(run.widths), rel=1e-9)
        wanted = [math.pi * (k + 0.5) / (n // 2) for k in range(n // 2)]
        sewn = places(report["valleys"], back)
        assert sorted(map(cmath.phase, sewn)) == pytest.approx(wanted, abs=ON_EDGE / radius)
    held = [cmath.phase(z) for z in places(report["valleys" if seam == "seam" else "crests"], back)]
    if seam != "seam:pass":
        assert min(abs(angle - angles[1]) for angle in held) < 1e-8
    assert report["closure_mm"] < 1e-6
    # Each piece is drawn once, though the run goes over it twice.
    assert sorted(name for name, _ in stitched(drawing, run)) == ["sector0", "sector1"]


# ---------------------------------------------------------------- straight hems


@few
@given(placings(5), st.lists(st.floats(40.0, 260.0), min_size=5, max_size=5), st.integers(5, 60), st.floats(-0.3, 0.3))
def test_a_straight_hem_over_five_pieces(
    placed: list[tuple[Place, Place]], long: list[float], count: int, slant: float
) -> None:
    """The hem lies at y 0, the cloth below; the seams lean alike on both pieces beside them."""
    ends = [sum(long[:k]) for k in range(6)]
    lean = complex(90.0 * math.tan(slant), 90.0)
    pieces, back = [], {}
    for k, (a, b) in enumerate(pairwise(ends)):
        place, way = placed[k]
        pieces.append(polygon(f"p{k}", [place(z) for z in (a + lean, a + 0j, b + 0j, b + lean)]))
        back[f"p{k}"] = way
    drawing = sheet(*pieces)
    run = scallop(drawing, [f"p{k}:c1..c2" for k in range(5)], join=["seam:pass"] * 4, count=count)
    report = run_entry(drawing, run)
    total = ends[-1]
    assert run.widths == pytest.approx((total / count,), rel=1e-9)
    assert [one["s_mm"] for one in report["valleys"]] == pytest.approx(
        [total * k / count for k in range(count + 1)], abs=1.1e-6
    )
    sewn = places(report["valleys"], back)
    assert max(abs(z - total * k / count) for k, z in enumerate(sewn)) < ON_EDGE
    crests = places(report["crests"], back)
    wanted = [complex(total * (k + 0.5) / count, -0.4 * total / count) for k in range(count)]
    assert max(abs(z - w) for z, w in zip(crests, wanted, strict=True)) < ON_EDGE
    # Each is listed with the piece between whose seams, drawn on, it lies.
    for one, z in zip([*report["valleys"], *report["crests"]], [*sewn, *crests], strict=True):
        k = int(one["piece"].removeprefix("p"))
        assert ends[k] - ON_EDGE < z.real - z.imag * math.tan(slant) < ends[k + 1] + ON_EDGE
    assert report["closure_mm"] < 1e-6
    assert [join["s_mm"] for join in report["joins"]] == pytest.approx(ends[1:-1], abs=1.1e-6)


@pytest.mark.parametrize("narrow", [7.0, 14.0, 20.0, 24.0, 33.0, 61.0])
@pytest.mark.parametrize("hold", ["seam:pass", "seam"])
def test_pieces_narrower_than_two_scallops(narrow: float, hold: str) -> None:
    """A hem of narrow gores, scallops of 15 mm: valleys and crests stay with the gore on which they lie."""
    body, back = [], {}
    for k in range(5):
        place, way = laid(200.0 * k, 3.0 * k, 1.3 * k)
        body.append(polygon(f"p{k}", [place(z) for z in (0j, narrow + 0j, narrow + 90j, 90j)]))
        back[f"p{k}"] = way
    drawing = sheet(*body)
    run = scallop(drawing, [f"p{k}:c0..c1" for k in range(5)], join=[hold] * 4, width=15, depth="20%")
    report = run_entry(drawing, run)
    for what in ("valleys", "crests"):
        for one, z in zip(report[what], places(report[what], back), strict=True):
            assert -ON_EDGE < z.real < narrow + ON_EDGE
            assert z.real + narrow * int(one["piece"][1:]) == pytest.approx(one["s_mm"], abs=2e-6)
    lines = stitched(drawing, run)
    assert [name for name, _ in lines] == [f"p{k}" for k in range(5)]
    for name, line in lines:
        reach = (back[name](line.start).real, back[name](line.end).real)
        assert reach == pytest.approx((0.0, narrow), abs=WRITTEN)


# ---------------------------------------------------------------- cones


def cone(radius: float, phi: float, place: Place) -> str:
    return sector("shade", (radius, 0.4 * radius), (0.0, phi), place)


@pytest.mark.parametrize(
    ("count", "phi", "chord"),
    [
        # Sectors of a circle of radius 1 m or 100 mm across 6: a sixth of the chord's turn for n scallops stands in the
        # table as 2 pi / phi times n parts.
        (8, math.pi / 2.0, CHORDS[32]),
        (9, math.pi / 2.0, CHORDS[36]),
        (14, math.pi / 2.0, CHORDS[56]),
        (16, math.pi / 2.0, CHORDS[64]),
        (8, math.pi / 4.0, CHORDS[64]),
        (6, math.pi / 2.0, CHORDS[24]),
        (10, 5.0 * math.pi / 9.0, CHORDS[36]),
    ],
)
def test_the_rim_of_a_lampshade_against_the_table(count: int, phi: float, chord: float) -> None:
    """A lampshade's cloth laid flat is part of a ring; its chords are those of a whole ring of that radius."""
    place, _ = laid(77.0, 310.0, 5.1)
    drawing = sheet(cone(400.0, phi, place))
    run = scallop(drawing, ["shade:c1..c2"], join=["seam"], count=count, depth="25%")
    report = run_entry(drawing, run)
    assert (report["loop"], report["count"]) == (True, count)
    assert run.widths[0] / 800.0 == pytest.approx(chord, abs=PRINTED)
    assert report["closure_mm"] < 1e-6
    assert len(report["valleys"]) == count


def check_cone(placed: tuple[Place, Place], phi: float, count: int, seam: str, touch: str) -> None:
    """Valleys at radius r, half a chord r sin a, the crest at r cos a + h, as for the ring above."""
    radius, share = 350.0, 0.25
    place, way = placed
    drawing = sheet(cone(radius, phi, place))
    run = scallop(drawing, ["shade:c1..c2"], join=[seam], count=count, depth="25%", touch=touch)
    report = run_entry(drawing, run)
    a = phi / (2 * count)
    r = radius / (math.cos(a) + 2.0 * RAISED[touch] * share * math.sin(a)) if touch != "valley" else radius
    assert widths(report) == pytest.approx([2.0 * r * math.sin(a)] * count, abs=2e-6)
    assert report["loop"] is True
    assert report["length_mm"] == pytest.approx(radius * phi, abs=1e-5)
    sewn = [way(complex(one["x"], one["y"])) for one in report["valleys"]]
    assert [abs(z) for z in sewn] == pytest.approx([r] * count, abs=ON_EDGE)
    # Once sewn the end of the rim is its beginning: a valley on the seam may be listed on either side of it.
    off = a if seam == "seam:crest" else 0.0
    found = sorted((cmath.phase(z) - off + 1e-7) % phi - 1e-7 for z in sewn)
    assert found == pytest.approx([2.0 * a * k for k in range(count)], abs=ON_EDGE / r)
    assert report["closure_mm"] < 1e-6
    # The written line goes from one side of the seam to the other, the same height on both.
    ((_, line),) = stitched(drawing, run)
    begin, end = way(line.start), way(line.end)
    assert abs(begin - end * cmath.exp(-1j * phi)) < WRITTEN
    assert abs(cmath.phase(begin)) < WRITTEN / r


@few
@given(
    placings(1),
    st.floats(0.4, 1.9),
    st.integers(5, 24),
    st.sampled_from(["seam", "seam:valley", "seam:crest", "seam:pass"]),
    st.sampled_from(["valley", "crest", "middle"]),
)
def test_a_cone_closed_by_one_seam(
    placed: list[tuple[Place, Place]], phi: float, count: int, seam: str, touch: str
) -> None:
    raised_on_seam = seam == "seam:crest" and touch != "valley"
    check_cone(placed[0], phi, count | 1 if raised_on_seam else count, seam, touch)


@pytest.mark.parametrize("touch", ["crest", "middle"])
@pytest.mark.parametrize(("phi", "count"), [(0.4, 24), (0.7, 8), (1.3, 12), (1.9, 8), (1.9, 24)])
def test_an_even_count_round_a_cone_with_a_crest_on_its_seam(touch: str, phi: float, count: int) -> None:
    """Round a loop an even count leaves no freedom; on a true arc it closes all the same."""
    check_cone(laid(10.0, 20.0, 0.3), phi, count, "seam:crest", touch)


# ---------------------------------------------------------------- laps


def lapped(width: float, count: int, turned: tuple[float, float] = (0.6, 2.9)) -> tuple[Drawing, Run, dict[str, Place]]:
    """Two fronts 230 and 190 mm wide up to the centre line, which lap over each other by `width` on either side.

    In the hem's own coordinates the centre line stands at 230.
    """
    left, right = laid(40.0, 20.0, turned[0]), laid(-90.0, 300.0, turned[1])
    under = [0j, 230.0 + width + 0j, 230.0 + width + 150j, 150j]
    upper = [230.0 - width + 0j, 420.0 + 0j, 420.0 + 150j, 230.0 - width + 150j]
    drawing = sheet(polygon("under", [left[0](z) for z in under]), polygon("upper", [right[0](z) for z in upper]))
    recipe = Recipe(
        "hem",
        EdgeWords(),
        ScallopWords(count=str(count), depth="30%"),
        edges=(StretchWords("under:c0..c1"), StretchWords("upper:c0..c1")),
        joins=(JoinWords("lap", width=f"{width!r}mm"),),
    )
    return drawing, make_run(drawing, recipe), {"under": left[1], "upper": right[1]}


@pytest.mark.parametrize("width", [10.0, 15.0, 25.0])
@pytest.mark.parametrize("count", [11, 14, 20])
def test_two_fronts_that_lap_are_in_phase_at_their_centre_lines(width: float, count: int) -> None:
    drawing, run, back = lapped(width, count)
    report = run_entry(drawing, run)
    step = 420.0 / count
    assert report["length_mm"] == pytest.approx(420.0, abs=1e-6)
    assert run.widths == pytest.approx((step,), rel=1e-9)
    (join,) = report["joins"]
    assert (join["kind"], join["hold"]) == ("lap", "pass")
    assert join["s_mm"] == pytest.approx(230.0, abs=1.1e-6)
    # Each valley of the run lies where it lies on the closed front, whichever piece lists it.
    for one, z in zip(report["valleys"], places(report["valleys"], back), strict=True):
        assert abs(z - one["s_mm"]) < 2e-6
        assert abs(z / step - round(z.real / step)) < 1e-6
    assert len({round(z.real / step) for z in places(report["valleys"], back)}) == count + 1
    # Either line goes on beyond the centre line by the lap, to the edge of its cloth.
    lines = dict(stitched(drawing, run))
    assert set(lines) == {"under", "upper"}
    ends = {name: (back[name](line.start), back[name](line.end)) for name, line in lines.items()}
    assert abs(ends["under"][0]) < WRITTEN
    assert ends["under"][1].real == pytest.approx(230.0 + width, abs=WRITTEN)
    assert ends["upper"][0].real == pytest.approx(230.0 - width, abs=WRITTEN)
    assert abs(ends["upper"][1] - 420.0) < WRITTEN
    # Arcs of depth 0.3 w: radius (w^2 / 4 + h^2) / 2 h, the height over the hem where a line is cut off.
    depth = 0.3 * step
    radius = (0.25 * step * step + depth * depth) / (2.0 * depth)
    for z in (ends["under"][1], ends["upper"][0]):
        off = z.real % step - 0.5 * step
        assert -z.imag == pytest.approx(math.sqrt(radius * radius - off * off) - (radius - depth), abs=2.0 * WRITTEN)


def test_a_lap_that_holds_a_valley_has_one_on_both_centre_lines() -> None:
    drawing, run, back = lapped(15.0, 14)
    recipe = run.recipe
    held = make_run(
        drawing,
        Recipe(
            "hem",
            recipe.edge,
            ScallopWords(width="30mm"),
            edges=recipe.edges,
            joins=(JoinWords("lap", "valley", "15mm"),),
        ),
    )
    report = run_entry(drawing, held)
    assert [(span["length_mm"], span["count"]) for span in report["spans"]] == [(230.0, 8), (190.0, 6)]
    assert min(abs(z - 230.0) for z in places(report["valleys"], back)) < ON_EDGE
