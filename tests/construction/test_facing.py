"""Facings against closed forms: rings, cones and straight hems, cut up, laid anywhere on the sheet and sewn again."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Collection, Sequence
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from scallopkit.construction.facing import (
    FOLD,
    FREE,
    SEAM,
    Facing,
    shaped_facings,
)
from scallopkit.construction.strip import band_length
from scallopkit.demo_waistcoat import ARMHOLE, ARMHOLE_JOINS, HEM, HEM_JOINS, waistcoat
from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import EdgeWords, JoinWords, Recipe, ScallopWords, StretchWords
from scallopkit.document.runs import Run, make_run
from scallopkit.document.workshop import scallop
from scallopkit.errors import RequestError
from scallopkit.geometry import cubics, motion
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.geometry.nearest import nearest
from scallopkit.pattern.piece import Warn
from tests.drawings import QUARTER, page, path, read
from tests.shapes import wavy_lines

TURN = 2.0 * math.pi
# Promised of parallels, mm.
PARALLEL = 0.02
# Halves of what crosses a join meet within this, mm.
MEETS = 1e-6

Place = Callable[[complex], complex]

few = settings(
    max_examples=8,
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
    suppress_health_check=[HealthCheck.too_slow],
)


# ---------------------------------------------------------------- pieces laid anywhere, and the way back


def laid(x: float, y: float, turn: float) -> tuple[Place, Place]:
    """Where a piece lies on the sheet, and the way back."""
    way = cmath.exp(1j * turn)
    return (lambda z: complex(x, y) + way * z), (lambda z: (z - complex(x, y)) / way)


ANYWHERE = st.tuples(st.floats(-800.0, 800.0), st.floats(-800.0, 800.0), st.floats(0.0, TURN))


@st.composite
def placings(draw: st.DrawFn, count: int) -> list[tuple[Place, Place]]:
    return [laid(*draw(ANYWHERE)) for _ in range(count)]


@st.composite
def cuts(draw: st.DrawFn) -> list[float]:
    """Angles at which a ring is cut into two or three sectors; the rim stays the shorter way round."""
    wide = draw(st.lists(st.floats(0.3, 0.6), min_size=2, max_size=3))
    start = draw(st.floats(0.0, TURN))
    return [start + sum(wide[:k]) for k in range(len(wide) + 1)]


def at(radius: float, angle: float) -> complex:
    return radius * cmath.exp(1j * angle)


def pair(z: complex) -> str:
    return f"{z.real!r},{z.imag!r}"


def sector(name: str, radii: tuple[float, float], angles: tuple[float, float], place: Place) -> str:
    """A sector of a ring about 0; its outer rim goes from c1 to c2."""
    (outer, inner), (a, b) = radii, angles
    p = [place(z) for z in (at(inner, a), at(outer, a), at(outer, b), at(inner, b))]
    large = int(b - a > math.pi)
    rim = f"A {outer!r} {outer!r} 0 {large} 1 {pair(p[2])}"
    return (
        f'<path id="{name}" d="M {pair(p[0])} L {pair(p[1])} {rim} L {pair(p[3])} '
        f'A {inner!r} {inner!r} 0 {large} 0 {pair(p[0])} Z"/>'
    )


def polygon(name: str, points: Sequence[complex]) -> str:
    return f'<path id="{name}" d="M {" L ".join(pair(z) for z in points)} Z"/>'


def sheet(*pieces: str) -> Drawing:
    return read_drawing(page("".join(pieces), size=(2000.0, 2000.0)).encode(), "sheet.svg")


def ring(
    radii: tuple[float, float], angles: Sequence[float], placed: Sequence[tuple[Place, Place]]
) -> tuple[Drawing, list[str]]:
    """A ring cut at angles: the drawing, and the edges in sewing order."""
    names = [f"sector{k}" for k in range(len(angles) - 1)]
    pieces = [
        sector(name, radii, (a, b), place[0])
        for name, (a, b), place in zip(names, pairwise(angles), placed, strict=False)
    ]
    return sheet(*pieces), [f"{name}:c1..c2" for name in names]


def facings(
    run: Run, depth: float, merged: Collection[int] = (), most_gap: float = 1.0
) -> tuple[tuple[Facing, ...], tuple[Warn, ...]]:
    return shaped_facings(run.laid, run.line, run.shares, run.origin, depth, merged, most_gap)


def as_drawn(run: Run, facing: Facing, curve: Array, back: Place) -> Array:
    """A curve of a facing where it lay before its first piece was laid on the sheet."""
    on_sheet = motion.apply(motion.inverse(run.laid.parts[facing.parts[0]].motion), curve)
    return np.array([[(z.real, z.imag) for z in (back(complex(x, y)) for x, y in control)] for control in on_sheet])


def shape(curve: Array, accuracy: float = 1e-4) -> Polygon:
    return Polygon(cubics.flatten(curve, accuracy))


def refined(facing: Facing) -> Polygon:
    """A facing as another library sees it: outlines that do not cross themselves."""
    outer, *holes = (cubics.flatten(one, 1e-4) for one in facing.rings)
    found = Polygon(outer, holes)
    assert found.is_valid
    return found


def assert_closed(facing: Facing) -> None:
    """The outline is one connected curve."""
    for one in facing.rings:
        assert (one[1:, 0] == one[:-1, 3]).all()
        assert (one[0, 0] == one[-1, 3]).all()


# ---------------------------------------------------------------- rings cut into sectors


def segment(radius: float, angle: float) -> float:
    """Area between an arc and its chord."""
    return 0.5 * radius**2 * (angle - math.sin(angle))


def sector_area(radius: float, theta: float, depth: float, count: int, share: float) -> float:
    """Net area of the facing of a sector whose valleys lie on its rim.

    The strip between two arcs is theta (R² - (R - d)²) / 2. Each scallop, an arc of depth h = share w over its chord
    w = 2 R sin(theta / 2n), adds the segment of its own circle and takes away that of the rim over the same chord.
    """
    beta = theta / count
    w = 2.0 * radius * math.sin(0.5 * beta)
    h = share * w
    r, alpha = (0.25 * w * w + h * h) / (2.0 * h), 4.0 * math.atan(2.0 * h / w)
    strip = 0.5 * theta * (radius**2 - (radius - depth) ** 2)
    return strip + count * (segment(r, alpha) - segment(radius, beta))


@pytest.mark.parametrize(("radius", "theta", "depth", "count"), [(200.0, 1.2, 30.0, 9), (300.0, 1.6, 60.0, 21)])
def test_the_area_of_a_sectors_facing(radius: float, theta: float, depth: float, count: int) -> None:
    drawing = sheet(sector("s", (radius, 0.6 * radius), (0.4, 0.4 + theta), laid(10.0, 20.0, 1.0)[0]))
    ((facing,), warnings) = facings(scallop(drawing, "s:c1..c2", count=count, depth="30%"), depth)
    assert warnings == ()
    assert facing.ends == (FREE, FREE)
    assert_closed(facing)
    # The parallel's accuracy along its length.
    assert facing.area == pytest.approx(
        sector_area(radius, theta, depth, count, 0.3), abs=PARALLEL * theta * (radius - depth)
    )
    assert refined(facing).area == pytest.approx(facing.area, rel=1e-5)


@few
@given(cuts(), placings(3), st.floats(150.0, 600.0), st.sampled_from(["valley", "crest"]), st.data())
def test_sectors_faced_in_one_piece_are_the_facing_of_the_uncut_ring(
    angles: list[float], placed: list[tuple[Place, Place]], radius: float, touch: str, data: st.DataObject
) -> None:
    depth, theta = 0.15 * radius, angles[-1] - angles[0]
    count = data.draw(st.integers(9, 30))
    drawing, edges = ring((radius, 0.7 * radius), angles, placed)
    joins = ["seam:pass"] * (len(edges) - 1)
    run = scallop(drawing, edges, join=joins, count=count, depth="20%", touch=touch)
    (whole,), warnings = facings(run, depth, range(len(joins)))
    assert warnings == ()
    assert whole.parts == tuple(range(len(edges)))
    uncut_drawing = sheet(sector("uncut", (radius, 0.7 * radius), (angles[0], angles[-1]), lambda z: z))
    uncut_run = scallop(uncut_drawing, "uncut:c1..c2", count=count, depth="20%", touch=touch)
    ((uncut,), _) = facings(uncut_run, depth)
    one = shape(as_drawn(run, whole, whole.outline, placed[0][1]))
    other = shape(uncut.outline)
    assert one.is_valid
    # Both are true parallels within the promise, all along.
    assert one.symmetric_difference(other).area < PARALLEL * theta * radius
    kept, _ = facings(run, depth)
    assert [facing.parts for facing in kept] == [(k,) for k in range(len(edges))]
    assert sum(facing.area for facing in kept) == pytest.approx(whole.area, abs=PARALLEL * theta * radius)
    # Kept seams lie where the garment's do: on the rays at which the ring was cut.
    for facing, (a, b), (_, back) in zip(kept, pairwise(angles), placed, strict=False):
        for line, angle in ((facing.start, a), (facing.end, b)):
            points = cubics.flatten(as_drawn(run, facing, line, back), 0.01)
            z = (points[:, 0] + 1j * points[:, 1]) * cmath.exp(-1j * angle)
            assert np.abs(z.imag).max() < MEETS
            assert z[-1].real == pytest.approx(radius - depth, abs=PARALLEL)
            assert (np.diff(z.real) < MEETS).all()
        assert_closed(facing)
        assert refined(facing).area > 0.0


def darted(radius: float, theta: float, dart: float, apex: float, opening: float, place: Place) -> str:
    """A sector from 0 to `theta` slit at `dart` down to the radius `apex`, and opened about there.

    Its rim goes from c1 to c2 and from c4 to c5, the apex is c3.
    """
    point, inner, way = at(apex, dart), 0.4 * radius, cmath.exp(1j * opening)

    def opened(z: complex) -> complex:
        return point + way * (z - point)

    late = (at(radius, dart), at(radius, theta), at(inner, theta))
    early = (complex(inner), complex(radius), at(radius, dart), point)
    p = [place(z) for z in (*early, *map(opened, late))]
    rims = [f"A {radius!r} {radius!r} 0 0 1 {pair(p[k])}" for k in (2, 5)]
    text = f"M {pair(p[0])} L {pair(p[1])} {rims[0]} L {pair(p[3])} L {pair(p[4])} {rims[1]} L {pair(p[6])} Z"
    return f'<path id="front" d="{text}"/>'


@few
@given(placings(1), st.floats(0.3, 0.6), st.floats(0.3, 0.5), st.floats(0.05, 0.3), st.integers(6, 20))
def test_a_facing_over_a_closed_dart_is_that_of_the_uncut_arc(
    placed: list[tuple[Place, Place]], dart: float, rest: float, opening: float, count: int
) -> None:
    radius, theta, depth = 260.0, dart + rest, 45.0
    place, back = placed[0]
    drawing = sheet(darted(radius, theta, dart, radius - 60.0, opening, place))
    run = scallop(drawing, ["front:c1..c2", "front:c4..c5"], join=["dart"], count=count, depth="25%")
    # Darts are closed whether they are named or not.
    for merged in ((), (0,)):
        (facing,), warnings = facings(run, depth, merged)
        assert warnings == ()
        assert facing.ends == (FREE, FREE)
        assert facing.area == pytest.approx(sector_area(radius, theta, depth, count, 0.25), abs=PARALLEL * 300.0)
        drawn = as_drawn(run, facing, facing.inner, back)
        assert np.abs(np.hypot(*cubics.flatten(drawn, 0.001).T) - (radius - depth)).max() < PARALLEL
    ((_,), (warning,)) = facings(run, 72.0)
    assert warning.code == "facing-past-dart"
    assert "72 mm" in warning.message
    assert "60.0 mm" in warning.message
    assert warning.piece == "front"


# ---------------------------------------------------------------- straight hems, kept and merged seams


def hem(
    placed: Sequence[tuple[Place, Place]], ends: Sequence[float], slants: Sequence[tuple[float, float]]
) -> tuple[Drawing, list[str]]:
    """Pieces along y = 0, cloth below, 120 mm long; `slants` are how far each side leans outwards per mm."""
    pieces = []
    for k, ((a, b), (left, right), (place, _)) in enumerate(zip(pairwise(ends), slants, placed, strict=False)):
        corners = (complex(a - 120.0 * left, 120.0), complex(a), complex(b), complex(b + 120.0 * right, 120.0))
        pieces.append(polygon(f"p{k}", [place(z) for z in corners]))
    return sheet(*pieces), [f"p{k}:c1..c2" for k in range(len(ends) - 1)]


@few
@given(placings(3), st.lists(st.floats(60.0, 200.0), min_size=3, max_size=3), st.floats(-0.2, 0.2), st.integers(4, 30))
def test_a_straight_hem_faced_with_its_seams_or_in_one_piece(
    placed: list[tuple[Place, Place]], long: list[float], slant: float, count: int
) -> None:
    """The seams lean alike on both sides, so the facing is as large whichever way it is pieced."""
    ends = [sum(long[:k]) for k in range(4)]
    drawing, edges = hem(placed, ends, [(-slant, slant)] * 3)
    run = scallop(drawing, edges, join=["seam:pass"] * 2, count=count, depth="35%")
    total, w, depth = ends[-1], ends[-1] / count, 40.0
    h = 0.35 * w
    arc = segment((0.25 * w * w + h * h) / (2.0 * h), 4.0 * math.atan(2.0 * h / w))
    pieces = {}
    for merged in ((), (0,), (1,), (0, 1)):
        found, warnings = facings(run, depth, merged)
        assert warnings == ()
        assert sum(one.area for one in found) == pytest.approx(total * depth + count * arc, rel=1e-6)
        pieces[merged] = [one.parts for one in found]
    assert pieces == {
        (): [(0,), (1,), (2,)],
        (0,): [(0, 1), (2,)],
        (1,): [(0,), (1, 2)],
        (0, 1): [(0, 1, 2)],
    }
    found, _ = facings(run, depth, (0,))
    assert [one.ends for one in found] == [(FREE, SEAM), (SEAM, FREE)]


def own_seam(run: Run, joint: int, side: int) -> Array:
    """A piece's own seam edge beside a joint, in the flat frame of an open run."""
    met = run.laid.joints[joint].meeting
    assert met is not None
    assert met.legs is not None
    return motion.apply(run.laid.parts[joint + side].motion, met.legs[side])


@few
@given(placings(3), st.lists(st.floats(-0.25, 0.25), min_size=6, max_size=6), st.sampled_from(["pass", "valley"]))
def test_inner_edges_meet_at_the_same_sewn_length_along_each_pieces_own_seam_edge(
    placed: list[tuple[Place, Place]], slants: list[float], hold: str
) -> None:
    """Sides that lean every way: the hem dips or peaks at each seam."""
    drawing, edges = hem(placed, [0.0, 130.0, 280.0, 400.0], [(slants[2 * k], slants[2 * k + 1]) for k in range(3)])
    run = scallop(drawing, edges, join=[f"seam:{hold}"] * 2, width=25, depth="20%")
    depth = 35.0
    found, _ = facings(run, depth)
    for joint in range(2):
        reached = []
        for side, line in ((0, found[joint].end), (1, found[joint + 1].start)):
            seam = own_seam(run, joint, side)
            place = nearest(seam, line[-1:, 3])
            assert place.distance[0] < MEETS
            reached.append(float(measure(seam).lengths(place.segment, place.t)[0]))
            # Inside the edge the end runs along the seam.
            inside = cubics.flatten(line[-1:], 0.01)
            assert nearest(seam, inside).distance.max() < MEETS
        assert reached[0] == pytest.approx(reached[1], abs=1e-9)
        # The mean of where the parallels of both straight hems cross the seam edges.
        sides = slants[2 * joint + 1], slants[2 * joint + 2]
        assert reached[0] == pytest.approx(sum(depth * math.hypot(1.0, s) for s in sides) / 2.0, abs=PARALLEL)
    for one in found:
        assert_closed(one)
        assert refined(one).area > 0.0
        # Away from where it is led to its neighbours the inner edge is the parallel.
        m = measure(one.inner)
        away = nearest(run.laid.line.curve, m.points(np.linspace(25.0, m.length - 25.0, 50))).distance
        assert np.abs(away - depth).max() < PARALLEL


def test_an_inner_edge_is_led_to_its_neighbour_without_a_corner() -> None:
    drawing, edges = hem([laid(0.0, 0.0, 0.0)] * 2, [0.0, 130.0, 280.0], [(0.0, 0.3), (0.0, 0.0)])
    run = scallop(drawing, edges, join=["seam:valley"], width=25, depth="20%")
    found, _ = facings(run, 40.0)
    inner = found[0].inner
    before = cubics.direction(inner, np.arange(len(inner) - 1), np.ones(len(inner) - 1))
    after = cubics.direction(inner, np.arange(1, len(inner)), np.zeros(len(inner) - 1))
    assert len(inner) > 1
    assert np.abs(cubics.cross(before, after)).max() < 1e-6
    # It arrives as the parallel does, straight along the hem.
    assert abs(cubics.cross(cubics.ends_direction(inner)[1], np.array([1.0, 0.0]))) < 1e-6


@pytest.mark.parametrize("gap", [0.05, 0.5, 3.0, -0.5, -3.0])
def test_seam_edges_that_part_within_the_facing(gap: float) -> None:
    """Straight for 20 mm, then one side leans away, or over the other, by so much at 40 mm."""
    corners = (0j, 130 + 0j, 130 + 20j, complex(130.0 - 5.0 * gap, 120.0), 120j)
    drawing = sheet(polygon("a", corners), polygon("b", [300 + 0j, 450 + 0j, 450 + 120j, 300 + 120j]))
    run = scallop(drawing, ["a:c0..c1", "b:c0..c1"], join=["seam"], width=25, depth="20%")
    if abs(gap) < 1.0:
        # Too small to be a corner, it must not end the seam edge.
        assert measure(own_seam(run, 0, 0)).length > 100.0
    found, warnings = facings(run, 40.0, (0,))
    assert [one.parts for one in found] == ([(0,), (1,)] if abs(gap) > 1.0 else [(0, 1)])
    told = [warning for warning in warnings if warning.code == "facing-gap"]
    assert len(told) == (abs(gap) > 0.1)
    for warning in told:
        told_gap = float(warning.message.partition("up to ")[2].split(" mm")[0])
        # Along the seam edge, which leans, 40 mm do not go quite as deep.
        assert told_gap == pytest.approx(abs(gap), abs=0.05)
        assert ("gape" if gap > 0.0 else "overlap") in warning.message
        assert ("keeps a seam" in warning.message) == (abs(gap) > 1.0)
        assert (warning.piece, warning.x, warning.y) == ("a", 130.0, 0.0)
    assert len(facings(run, 40.0, (0,), most_gap=5.0)[0]) == 1


# ---------------------------------------------------------------- folds


def test_a_facing_on_two_folds_ends_on_them() -> None:
    run = scallop(read(QUARTER), "quarter:c1..c2", count=5, depth="25%", start="fold", end="fold")
    ((facing,), warnings) = facings(run, 60.0)
    assert warnings == ()
    assert facing.ends == (FOLD, FOLD)
    assert np.abs(facing.start[..., 1]).max() < MEETS
    assert np.abs(facing.end[..., 0]).max() < MEETS
    # From the crest of the half scallop on the fold.
    crest = 300.0 * math.cos(math.pi / 20) + 0.25 * 600.0 * math.sin(math.pi / 20)
    assert facing.start[0, 0] == pytest.approx((crest, 0.0), abs=1e-6)
    assert facing.start[-1, 3] == pytest.approx((240.0, 0.0), abs=PARALLEL)
    assert facing.area == pytest.approx(sector_area(300.0, 0.5 * math.pi, 60.0, 5, 0.25), abs=PARALLEL * 400.0)


def test_a_facing_ends_where_it_crosses_a_fold_that_is_not_square_to_the_edge() -> None:
    drawing = sheet(polygon("p", [0j, 200 + 0j, 220 + 150j, 150j]))
    run = scallop(drawing, "p:c0..c1", width=25, depth="20%", end="fold")
    ((facing,), _) = facings(run, 30.0)
    assert facing.ends == (FREE, FOLD)
    assert facing.end[-1, 3] == pytest.approx((204.0, 30.0), abs=1e-6)
    places = cubics.flatten(facing.end, 0.01)
    assert np.abs((places[:, 0] - 200.0) - places[:, 1] * 20.0 / 150.0).max() < MEETS


@few
@given(placings(2), st.floats(1.25, 1.85), st.booleans(), st.integers(5, 14))
def test_copies_beyond_folds_have_no_facing_of_their_own(
    placed: list[tuple[Place, Place]], shoulder: float, merged: bool, half: int
) -> None:
    """Half a front and half a back cut on folds, walked all round: what is cut is one half, opened twice."""
    radius, depth = 180.0, 30.0
    drawing, _ = ring((radius, 120.0), [0.0, shoulder, math.pi], placed)
    edges = ["sector0:c1..c2", "sector1:c1..c2", "sector1:c2..c1", "sector0:c2..c1"]
    width = math.pi * radius / half
    run = scallop(drawing, edges, join=["seam", "fold"] * 2, width=width, depth="20%")
    found, warnings = facings(run, depth, (0,) if merged else ())
    assert warnings == ()
    assert [one.parts for one in found] == ([(0, 1)] if merged else [(0,), (1,)])
    assert [one.ends for one in found] == ([(FOLD, FOLD)] if merged else [(FOLD, SEAM), (SEAM, FOLD)])
    # A joint and its image beyond the fold are one: naming either merges both.
    assert [one.parts for one in facings(run, depth, (2,))[0]] == [(0, 1)]
    with pytest.raises(RequestError, match="fold"):
        facings(run, depth, (1,))


# ---------------------------------------------------------------- loops


@pytest.mark.parametrize("hold", ["seam", "seam:pass", "seam:crest"])
def test_a_whole_ring_of_sectors(hold: str) -> None:
    radius, angles, depth, count = 250.0, [0.3, 1.3, 2.5, 3.6, 5.1, 0.3 + TURN], 40.0, 40
    placed = [laid(130.0 * k, -70.0 * k * k, 1.7 * k) for k in range(5)]
    drawing, edges = ring((radius, 180.0), angles, placed)
    run = scallop(drawing, edges, join=["seam:pass"] * 2 + [hold] + ["seam:pass"] * 2, count=count, depth="20%")
    want = sector_area(radius, TURN, depth, count, 0.2)
    ((whole,), warnings) = facings(run, depth, range(5))
    assert warnings == ()
    assert whole.ring
    assert whole.ends == ()
    assert (len(whole.start), len(whole.end), len(whole.rings)) == (0, 0, 2)
    assert_closed(whole)
    assert whole.area == pytest.approx(want, abs=PARALLEL * TURN * radius)
    assert refined(whole).area == pytest.approx(want, abs=0.05 * TURN * radius)
    with pytest.raises(ValueError, match="rings"):
        _ = whole.outline
    for merged in ((), (4,), (0, 4), (1, 2, 4), (0, 1, 2, 3)):
        found, warnings = facings(run, depth, merged)
        assert warnings == ()
        assert len(found) == 5 - len(merged)
        assert sorted(k for one in found for k in one.parts) == list(range(5))
        assert sum(one.area for one in found) == pytest.approx(want, abs=PARALLEL * TURN * radius)
        for one in found:
            assert_closed(one)
            # Laid back from the flat frame of its first part it lies where the ring was cut.
            drawn = as_drawn(run, one, one.inner, placed[one.parts[0]][1])
            assert np.abs(np.hypot(*cubics.flatten(drawn, 0.001).T) - (radius - depth)).max() < PARALLEL
            first = complex(*drawn[0, 0])
            assert abs(cmath.phase(first * cmath.exp(-1j * angles[one.parts[0]]))) < 1e-6
    assert [one.parts for one in facings(run, depth, (0, 4))[0]] == [(2,), (3,), (4, 0, 1)]


def test_a_round_outline_has_a_ring() -> None:
    run = scallop(read('<circle id="round" cx="200" cy="200" r="100"/>'), count=16, depth="25%")
    ((facing,), warnings) = facings(run, 25.0)
    assert warnings == ()
    assert facing.ring
    assert facing.area == pytest.approx(sector_area(100.0, TURN, 25.0, 16, 0.25), abs=PARALLEL * TURN * 100.0)
    with pytest.raises(RequestError, match="vanishes"):
        facings(run, 101.0)


def test_the_facing_of_a_narrow_waist_closes_up() -> None:
    corners = [0, 200, 200 + 150j, 130 + 150j, 130 + 250j, 200 + 250j, 200 + 400j, 400j, 250j, 70 + 250j, 70 + 150j]
    run = scallop(sheet(polygon("dumbbell", [*map(complex, corners), 150j])), width=20, depth="20%")
    ((facing,), (warning,)) = facings(run, 40.0)
    assert warning.code == "facing-too-deep"
    assert "40 mm" in warning.message
    assert abs(cubics.area(facing.inner)) == pytest.approx(120.0 * 70.0, rel=1e-6)


def test_a_cone_keeps_its_only_seam() -> None:
    """Its flat ends do not meet, so it can't be a ring."""
    radius, phi, depth = 350.0, 1.1, 50.0
    place, back = laid(77.0, 310.0, 5.1)
    drawing = sheet(sector("shade", (radius, 0.4 * radius), (0.0, phi), place))
    for hold, count in (("seam", 12), ("seam:pass", 12), ("seam:crest", 12)):
        run = scallop(drawing, ["shade:c1..c2"], join=[hold], count=count, depth="25%")
        ((kept,), warnings) = facings(run, depth)
        assert warnings == ()
        assert kept.ends == (SEAM, SEAM)
        assert kept.area == pytest.approx(sector_area(radius, phi, depth, count, 0.25), abs=PARALLEL * phi * radius)
        for line, angle in ((kept.start, 0.0), (kept.end, phi)):
            drawn = cubics.flatten(as_drawn(run, kept, line, back), 0.01)
            z = (drawn[:, 0] + 1j * drawn[:, 1]) * cmath.exp(-1j * angle)
            assert np.abs(z.imag).max() < MEETS
        ((merged,), (warning,)) = facings(run, depth, (0,))
        assert warning.code == "facing-gap"
        assert "keeps a seam" in warning.message
        assert f"{math.degrees(phi):.1f} degrees" in warning.message
        assert f"{2.0 * radius * math.sin(0.5 * phi):.2f} mm apart" in warning.message
        assert np.abs(merged.outline - kept.outline).max() == 0.0


# ---------------------------------------------------------------- gaps, spaces, laps


def test_a_gap_at_a_seam_is_faced_along_the_edge() -> None:
    drawing, edges = hem([laid(0.0, 0.0, 0.0), laid(3.0, 9.0, 0.7)], [0.0, 160.0, 340.0], [(0.0, 0.0)] * 2)
    run = scallop(drawing, edges, join=["seam:gap:10mm"], width=25, depth="20%")
    count, w = run.count, run.widths
    found, _ = facings(run, 30.0)
    whole, _ = facings(run, 30.0, (0,))
    bumps = sum(
        n * segment((0.25 * a * a + 0.04 * a * a) / (0.4 * a), 4.0 * math.atan(0.4))
        for n, a in zip(run.fit.counts if run.fit else (), w, strict=True)
    )
    assert count > 4
    assert sum(one.area for one in found) == pytest.approx(340.0 * 30.0 + bumps, rel=1e-6)
    assert whole[0].area == pytest.approx(340.0 * 30.0 + bumps, rel=1e-6)
    assert found[0].edge[-1, 3] == pytest.approx((160.0, 0.0), abs=1e-9)
    assert np.abs(cubics.flatten(whole[0].edge, 0.01)[:, 1]).max() > 4.0
    for one in (*found, *whole):
        assert_closed(one)
        assert refined(one).area > 0.0


@pytest.mark.parametrize("touch", ["valley", "crest", "middle"])
@pytest.mark.parametrize("space", [0, 6])
@pytest.mark.parametrize("hold", ["seam", "seam:pass", "seam:crest", "seam:gap:8mm"])
def test_the_edge_of_a_facing_is_the_trimmed_line(touch: str, space: int, hold: str) -> None:
    drawing, edges = hem([laid(0.0, 0.0, 0.0), laid(3.0, 9.0, 0.7)], [0.0, 160.0, 340.0], [(0.1, 0.1), (-0.1, 0.0)])
    run = scallop(drawing, edges, join=[hold], width=25, depth="20%", space=space, touch=touch)
    found, _ = facings(run, 30.0)
    whole, _ = facings(run, 30.0, (0,))
    line = [curve for curve in [*run.line.curves, *run.line.links] if curve is not None and len(curve)]
    for curve in line:
        points = cubics.flatten(curve, 0.01)
        assert nearest(whole[0].edge, points).distance.max() < MEETS
        both = np.minimum(*(nearest(one.edge, points).distance for one in found))
        assert both.max() < MEETS
    for one in (*found, *whole):
        assert_closed(one)
        assert refined(one).area > 0.0
    if "gap" not in hold:
        assert measure(whole[0].edge).length == pytest.approx(band_length(run.line), abs=1e-4)


def test_fronts_that_lap_are_faced_up_to_their_own_edges() -> None:
    under = [0j, 245 + 0j, 245 + 150j, 150j]
    upper = [215 + 0j, 420 + 0j, 420 + 150j, 215 + 150j]
    back = laid(-90.0, 300.0, 2.9)
    drawing = sheet(polygon("under", under), polygon("upper", [back[0](z) for z in upper]))
    edges = (StretchWords("under:c0..c1"), StretchWords("upper:c0..c1"))
    recipe = Recipe(
        "hem", EdgeWords(), ScallopWords(count="14", depth="30%"), edges=edges, joins=(JoinWords("lap", width="15mm"),)
    )
    run = make_run(drawing, recipe)
    found, warnings = facings(run, 40.0)
    assert warnings == ()
    assert [one.ends for one in found] == [(FREE, FREE)] * 2
    reach = [(0.0, 245.0), (215.0, 420.0)]
    for one, (a, b), way in zip(found, reach, (lambda z: z, back[1]), strict=True):
        for line, x in ((one.start, a), (one.end, b)):
            assert as_drawn(run, one, line, way)[..., 0] == pytest.approx(np.full((len(line), 4), x), abs=1e-6)
        assert refined(one).area > 40.0 * (b - a)
    with pytest.raises(RequestError, match="lap"):
        facings(run, 40.0, (0,))


# ---------------------------------------------------------------- parallels of any line


@few
@given(wavy_lines(), st.floats(5.0, 14.0))
def test_an_inner_edge_lies_at_its_depth_all_along(curve: Array, depth: float) -> None:
    run = scallop(read(path(curve)), "hem", width=20, depth="25%", side="left")
    ((facing,), _) = facings(run, depth)
    assert facing.ends == (FREE, FREE)
    away = nearest(curve, cubics.flatten(facing.inner, 0.001)).distance
    # Where the line is hollow for the depth its parallel has corners, which are at the distance, too.
    assert np.abs(away - depth).max() < PARALLEL
    assert_closed(facing)


# ---------------------------------------------------------------- what can't be faced


def test_depths_that_make_no_facing() -> None:
    drawing = sheet(polygon("p", [0j, 200 + 0j, 200 + 150j, 150j]))
    run = scallop(drawing, "p:c0..c1", width=25, depth="20%", touch="crest")
    for depth in (0.0, -3.0, math.nan, math.inf):
        with pytest.raises(RequestError, match="above 0"):
            facings(run, depth)
    # Valleys of scallops that touch with their crests lie 5 mm inside the edge.
    with pytest.raises(RequestError, match=r"5\.0 mm into the cloth"):
        facings(run, 4.5)
    inward = scallop(drawing, "p:c0..c1", width=25, depth="20%", side="inward")
    with pytest.raises(RequestError, match="deeper"):
        facings(inward, 4.5)
    ((facing,), _) = facings(inward, 30.0)
    assert facing.area < 200.0 * 30.0
    assert facing.inner[0, 0] == pytest.approx((0.0, 30.0), abs=1e-6)


def test_facings_deeper_than_the_cloth() -> None:
    drawing = sheet(polygon("p", [0j, 200 + 0j, 200 + 150j, 150j]))
    run = scallop(drawing, "p:c0..c1", width=25, depth="20%")
    (_, warnings) = facings(run, 160.0)
    assert {warning.code for warning in warnings} == {"facing-too-deep"}
    assert any("150.0 mm long" in warning.message for warning in warnings)
    assert any("10.0 mm outside the cloth" in warning.message for warning in warnings)
    assert facings(run, 149.0)[1] == ()
    # Beside the ends all is well; the inner edge leaves the cloth between them.
    notched = sheet(polygon("p", [0j, 200 + 0j, 200 + 150j, 120 + 150j, 100 + 30j, 80 + 150j, 150j]))
    (_, (warning,)) = facings(scallop(notched, "p:c0..c1", width=25, depth="20%"), 60.0)
    assert warning.code == "facing-too-deep"
    # From the notch's middle, 5 mm wide to either side at that height, square to its side.
    assert warning.piece == "p"
    assert (warning.x, warning.y) == pytest.approx((100.0, 60.0), abs=0.6)


def test_seams_that_run_into_each_other_leave_no_facing() -> None:
    drawing = sheet(polygon("p", [0j, 100 + 0j, 55 + 60j, 45 + 60j]))
    run = scallop(drawing, "p:c0..c1", width=25, depth="20%")
    assert facings(run, 50.0)[0][0].area > 0.0
    with pytest.raises(RequestError, match="take less depth"):
        facings(run, 90.0)


# ---------------------------------------------------------------- a waistcoat


def garment(edges: Sequence[str], joins: Sequence[str], width: float, depth: str, start: str = "") -> Run:
    drawing = read_drawing(waistcoat().encode(), "waistcoat.svg")
    return scallop(drawing, edges, join=joins, width=width, depth=depth, start=start)


@pytest.mark.parametrize("seam", ["seam", "seam:pass"])
@pytest.mark.parametrize("merged", [(), (1,)])
def test_the_hem_of_a_waistcoat(seam: str, merged: tuple[int, ...]) -> None:
    joins = [seam if join == "seam" else join for join in HEM_JOINS]
    run = garment(HEM, joins, width=22, depth="35%", start="fold")
    found, warnings = facings(run, 50.0, merged)
    assert [one.parts for one in found] == ([(0, 1, 2, 3)] if merged else [(0, 1), (2, 3)])
    assert [one.ends for one in found] == ([(FOLD, FREE)] if merged else [(FOLD, SEAM), (SEAM, FREE)])
    assert warnings == ()
    for one in found:
        assert_closed(one)
        assert refined(one).area == pytest.approx(one.area, rel=1e-4)
        assert nearest(run.laid.line.curve, cubics.flatten(one.inner, 0.01)).distance.max() < 55.0
    # Steiner's formula for the strip: it gains half the depth squared for each radian by which the hem is hollow, the
    # angles at its ends counted with it. The scallops are segments of circles.
    line, w = run.laid.line.measured, float(np.mean(run.widths))
    first, last = cubics.ends_direction(line.curve)
    hollow = math.asin(float(cubics.cross(first, last))) * -run.laid.line.outside
    ends = (found[0].start, -1.0, first), (found[-1].end, 1.0, last)
    lean = sum(hand * float(cubics.dot(cubics.ends_direction(end)[1], tangent)) for end, hand, tangent in ends)
    arc = segment(w * (0.25 + 0.35**2) / 0.7, 4.0 * math.atan(0.7))
    area = 50.0 * line.length + 0.5 * 50.0**2 * (hollow + lean) + run.count * arc
    # What is left is the dip at the side seam, and that chords are no arcs.
    assert sum(one.area for one in found) == pytest.approx(area, rel=0.003)


def test_a_hem_walked_the_other_way_has_the_same_facing() -> None:
    run = garment(HEM, HEM_JOINS, width=22, depth="35%", start="fold")
    back = ["..".join(edge.partition(":")[2].split("..")[::-1]) for edge in HEM[::-1]]
    edges = [f"{edge.partition(':')[0]}:{way}" for edge, way in zip(HEM[::-1], back, strict=True)]
    drawing = read_drawing(waistcoat().encode(), "waistcoat.svg")
    other = scallop(drawing, edges, join=HEM_JOINS[::-1], width=22, depth="35%", end="fold")
    one, two = facings(run, 50.0)[0], facings(other, 50.0)[0]
    assert [facing.ends for facing in two] == [facing.ends[::-1] for facing in one[::-1]]
    assert [facing.area for facing in two] == pytest.approx([facing.area for facing in one[::-1]], rel=1e-5)


@pytest.mark.parametrize("side", ["left", "right"])
def test_open_lines_are_faced_square_to_their_ends_on_the_side_away_from_the_scallops(side: str) -> None:
    """They have no seam edges: the facing ends square to the line, also at the joint."""
    drawing = sheet('<path id="a" d="M 0,0 H 120"/>', '<path id="b" d="M 300,20 V 170"/>')
    run = scallop(drawing, ["a", "b"], join=["seam:pass"], width=20, depth="25%", side=side)
    kept, warnings = facings(run, 20.0)
    (whole,), _ = facings(run, 20.0, (0,))
    assert warnings == ()
    assert [one.ends for one in kept] == [(FREE, SEAM), (SEAM, FREE)]
    away = 20.0 if side == "left" else -20.0
    assert whole.inner[0, 0] == pytest.approx((0.0, away), abs=1e-9)
    assert whole.inner[-1, 3] == pytest.approx((270.0, away), abs=1e-9)
    assert kept[0].inner[-1, 3] == pytest.approx((120.0, away), abs=1e-9)
    assert sum(one.area for one in kept) == pytest.approx(whole.area, rel=1e-9)


@pytest.mark.parametrize("merged", [(), (0,), (1,), (0, 1)])
def test_the_armhole_of_a_waistcoat(merged: tuple[int, ...]) -> None:
    run = garment(ARMHOLE, ARMHOLE_JOINS, width=16, depth="30%")
    found, warnings = facings(run, 40.0, merged)
    assert [warning.code for warning in warnings if warning.code != "facing-gap"] == []
    for one in found:
        assert_closed(one)
        assert refined(one).area == pytest.approx(one.area, rel=1e-4)
        m = measure(one.inner)
        begin = run.laid.parts[one.parts[0]].begin
        long = sum(run.laid.parts[k].end - run.laid.parts[k].begin for k in one.parts)
        source = run.laid.line.measured.part(begin, begin + long)
        away = nearest(source, m.points(np.linspace(30.0, m.length - 30.0, 40))).distance
        assert np.abs(away - 40.0).max() < PARALLEL
