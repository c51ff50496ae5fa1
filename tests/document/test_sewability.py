"""Whether made runs can be sewn: each figure against plane geometry, at limits and on both sides of them."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely  # an independent judge of distances
from svgpathtools import CubicBezier  # and of curvature

from scallopkit.construction.rules import RULES
from scallopkit.construction.rules import shown as shown_limit
from scallopkit.demo_waistcoat import HEM, HEM_JOINS, waistcoat
from scallopkit.document.drawing import Drawing
from scallopkit.document.finding import Finding, check_entry, check_summary, check_tables
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import (
    EdgeWords,
    EyeletWords,
    FacingWords,
    FinishWords,
    JoinWords,
    Recipe,
    ScallopWords,
    StretchWords,
)
from scallopkit.document.report import run_entry
from scallopkit.document.runs import Run, make_run
from scallopkit.document.sewability import limits_of, sewability
from scallopkit.errors import RequestError

from ..drawings import BOX, INCH, LINE, QUARTER, ROUND, marks, read

# Ten scallops of 16 mm: with a depth of 6 mm their radius is 25/3 mm, Machinery's Handbook, 31st ed., p. 79.
TEN = '<path id="hem" d="M 10,20 H 170"/>'
THIRD = 25.0 / 3.0
# The angle of their arcs, radians, and what it leaves open at a valley on a straight line, degrees.
ARC = 4.0 * math.atan(0.75)
OPEN = 180.0 - math.degrees(ARC)
WAVY = '<path id="hem" d="M 10,60 C 60,20 110,110 170,70 S 260,40 310,90"/>'
DART = '<path id="p" d="M 20,20 H 300 V 200 C 260,206 230,207 176,206 L 160,110 L 144,206 C 100,206 60,204 20,200 Z"/>'
FACED = FinishWords("faced", trim="3mm")
SEAM_PASS = JoinWords("seam", "pass")


def run_of(
    drawing: Drawing,
    along: str = "hem",
    *,
    finish: FinishWords | None = FACED,
    facings: tuple[FacingWords, ...] = (),
    eyelets: tuple[EyeletWords, ...] = (),
    edge: Mapping[str, Any] = {},
    **scallops: str,
) -> Run:
    trim = ScallopWords(**{"count": "10", "depth": "37.5%"} | scallops)
    recipe = Recipe("run", EdgeWords(along, **edge), trim, eyelets=eyelets, finish=finish, facings=facings)
    return make_run(drawing, recipe)


def found(drawing: Drawing, run: Run, limits: Mapping[str, str] = {}) -> dict[str, Finding]:
    """The findings by their codes, none twice."""
    findings = sewability(drawing, run, limits_of(limits))
    out = {finding.what: finding for finding in findings}
    assert len(out) == len(findings)
    return out


def of(body: str, limits: Mapping[str, str] = {}, along: str = "hem", **words: Any) -> dict[str, Finding]:  # noqa: ANN401  # those of run_of
    drawing = read(body)
    return found(drawing, run_of(drawing, along, **words), limits)


def value(finding: Finding) -> float:
    assert finding.value is not None
    return finding.value


def panels(first: float, second: float, gap: float = 20.0) -> str:
    """Two rectangles side by side, to be sewn into one straight edge of both widths."""
    there = first + gap
    return (
        f'<path id="left" d="M 0,100 H {first!r} V 200 H 0 Z"/>'
        f'<path id="right" d="M {there!r},100 h {second!r} v 100 h {-second!r} Z"/>'
    )


def sewn(
    body: str,
    *joins: JoinWords,
    edges: tuple[str, ...] = ("left:c0..c1", "right:c0..c1"),
    facings: tuple[FacingWords, ...] = (),
    eyelets: tuple[EyeletWords, ...] = (),
    finish: FinishWords | None = FACED,
    start: str = "",
    **scallops: str,
) -> tuple[Drawing, Run]:
    drawing = read(body)
    trim = ScallopWords(**{"count": "10", "depth": "30%"} | scallops)
    recipe = Recipe(
        "run",
        EdgeWords(start=start),
        trim,
        eyelets=eyelets,
        edges=tuple(StretchWords(edge) for edge in edges),
        joins=joins,
        finish=finish,
        facings=facings,
    )
    return drawing, make_run(drawing, recipe)


# ---------------------------------------------------------------- what is turned


def test_figures_of_ten_arcs_on_a_straight_line() -> None:
    every = of(TEN, {"thickness": "0.5mm"})
    right = {
        "turn-radius": THIRD,
        "turn-room": THIRD - 3.0,
        "radius-to-thickness": 2.0 * THIRD,
        "valley-angle": OPEN,
        "trimmed-allowance": 3.0,
        "clip-short": 1.25,
        "scallop-width": 16.0,
        "shallow-scallop": 37.5,
        "deep-scallop": 37.5,
        "end-distance": 0.0,
    }
    assert {code: value(every[code]) for code in right} == pytest.approx(right, abs=1e-6)
    assert set(every) == {*right, "stitches-a-scallop", "short-stitch", "long-stitch"}
    assert all(finding.ok for finding in every.values())


@pytest.mark.parametrize(
    ("limit", "ok"), [("8mm", True), ("8.333mm", True), ("8.334mm", False), ("1/4in", True), ("3/8in", False)]
)
def test_a_radius_of_8_and_a_third_against_limits_in_words(limit: str, ok: bool) -> None:
    radius = of(TEN, {"turn-radius": limit})["turn-radius"]
    assert radius.ok is ok
    assert ("make the scallops wider" in radius.message) is not ok
    assert "is 8.33" in radius.message


def test_where_the_tightest_bulge_lies_is_told_in_the_drawings_own_units() -> None:
    # The first crest stands over the middle of the first scallop, 6 mm outside the line.
    assert of(TEN)["turn-radius"].where == '"hem" at 18, 14'
    # Of ten that are alike, but for rounding, the first.
    assert of(LINE)["scallop-width"].where == '"hem" at 25, 8.8'
    inches = read(f'<path id="hem" d="M {10 / INCH!r},{20 / INCH!r} h {160 / INCH!r}"/>', INCH)
    assert found(inches, run_of(inches))["turn-radius"].where == '"hem" at 0.709, 0.551'


@pytest.mark.parametrize(("trim", "ok"), [("7.3mm", True), ("7.333mm", True), ("7.34mm", False), ("9mm", False)])
def test_an_allowance_needs_a_millimetre_more_of_radius(trim: str, ok: bool) -> None:
    room = of(TEN, finish=FinishWords("faced", cut="scalloped:9mm", trim=trim))["turn-room"]
    assert room.ok is ok
    assert value(room) == pytest.approx(THIRD - float(trim.removesuffix("mm")), abs=1e-9)


@pytest.mark.parametrize(("trim", "ok"), [("2.99mm", False), ("3mm", True), ("1/8in", True)])
def test_a_trimmed_allowance_of_3_mm_holds(trim: str, ok: bool) -> None:
    # "Apparel", g-wonlinetextbooks (2012), pp. 451-452: 1/8 to 1/4 in.
    assert of(TEN, finish=FinishWords("faced", trim=trim))["trimmed-allowance"].ok is ok


def test_cloth_four_times_as_thin_as_the_radius_can_be_turned() -> None:
    # 25/3 mm / 4 = 2.08333 mm.
    for thickness, ok in (("2.0833mm", True), ("2.0834mm", False)):
        assert of(TEN, {"thickness": thickness})["radius-to-thickness"].ok is ok
    assert "radius-to-thickness" not in of(TEN)


def test_the_tightest_bulge_of_a_wave_is_its_crest() -> None:
    # The end of a cubic with a handle a along its tangent, the other handle h off it: 2 h / 3 a² (plane geometry).
    handle = 0.5 * (1.0 - 2.0 / math.pi)
    radius = of(TEN, profile="wave")["turn-radius"]
    assert value(radius) == pytest.approx(16.0 * 1.5 * handle**2 / 0.375, abs=1e-9)
    assert radius.where == '"hem" at 18, 14'


def test_the_two_arcs_of_a_pointed_arch_have_one_radius() -> None:
    # Chord sqrt(w²/4 + h²) = 10 mm; the arc turns by the slope of the chord.
    slope = math.atan(0.75)
    radius = value(of(TEN, profile="pointed-arch")["turn-radius"])
    assert radius == pytest.approx(10.0 / (2.0 * math.sin(0.5 * slope)), rel=1e-5)


def test_straight_points_have_no_radius_to_turn() -> None:
    every = of(TEN, profile="point")
    assert not {"turn-radius", "turn-room"} & set(every)
    assert value(every["valley-angle"]) == pytest.approx(180.0 - 2.0 * math.degrees(math.atan(0.75)), abs=1e-9)


@pytest.mark.parametrize(
    ("body", "along", "edge", "words"),
    [
        (WAVY, "hem", {}, {"profile": "wave"}),
        (WAVY, "hem", {}, {"profile": "wave", "space": "9mm"}),
        (WAVY, "hem", {"side": "right"}, {"profile": "double-curve", "space": "9mm"}),
        (WAVY, "hem", {}, {"profile": "pointed-arch"}),
        # In a hollow edge the valleys of waves are tighter than their crests; they are no bulges.
        (ROUND, "round", {"side": "inward"}, {"profile": "wave"}),
    ],
)
def test_the_least_radius_of_bulges_is_that_of_the_drawn_line(
    body: str, along: str, edge: dict[str, str], words: dict[str, Any]
) -> None:
    drawing = read(body)
    run = run_of(drawing, along, edge=edge, **words)
    t = np.linspace(0.0, 1.0, 2001)[:-1]
    least = math.inf
    curves = [curve for curve in (*run.line.curves, *run.line.links) if curve is not None]
    for cubic in np.concatenate(curves) @ np.array([1.0, 1j]):
        drawn = CubicBezier(*cubic)
        speed, bend = drawn.derivative(t), drawn.derivative(t, 2)
        # With y down a line turns to the right where this is positive; away from the side it bulges to.
        turning = run.course.side * (np.conj(speed) * bend).imag / np.abs(speed) ** 3
        least = min(least, 1.0 / max(float(turning.max()), 1e-9))
    assert value(found(drawing, run)["turn-radius"]) == pytest.approx(least, rel=1e-4)


def test_spaces_on_a_curve_are_stitched_and_turned_too() -> None:
    # The rim of radius 20 between wide, shallow scallops bulges more than they do.
    rim = '<path id="hem" d="M 100,200 A 20 20 0 0 1 140,200"/>'
    every = of(rim, count="2", depth="8%", space="12mm")
    assert value(every["turn-radius"]) == pytest.approx(20.0, abs=1e-3)


@pytest.mark.parametrize(("depth", "wide", "deep"), [("10%", True, True), ("9.9%", False, True), ("60%", True, True)])
def test_faced_scallops_are_a_tenth_to_six_tenths_as_deep_as_wide(depth: str, wide: bool, deep: bool) -> None:
    every = of(TEN, profile="wave", depth=depth)
    assert (every["shallow-scallop"].ok, every["deep-scallop"].ok) == (wide, deep)


def test_scallops_deeper_than_six_tenths_are_told() -> None:
    assert not of(TEN, profile="wave", depth="60.1%")["deep-scallop"].ok
    assert of(TEN, {"deep-scallop": "61%"}, profile="wave", depth="60.1%")["deep-scallop"].ok


@pytest.mark.parametrize(("count", "ok"), [("20", True), ("21", False)])
def test_scallops_8_mm_wide_can_be_turned(count: str, ok: bool) -> None:
    width = of(TEN, count=count, depth="40%")["scallop-width"]
    assert width.ok is ok
    assert value(width) == pytest.approx(160.0 / int(count), abs=1e-9)


def test_corner_scallops_do_not_count_as_the_narrowest_or_deepest() -> None:
    every = of(BOX, along="box", count="", width="30mm", depth="30%", edge={"corner": "wrap"})
    assert value(every["deep-scallop"]) == pytest.approx(30.0, abs=1e-6)
    assert value(every["shallow-scallop"]) == pytest.approx(30.0, abs=1e-6)


# ---------------------------------------------------------------- valleys


def depth_for(angle: float) -> str:
    """The depth at which arcs on a straight line leave that angle open, degrees: tan(theta / 4) / 2 of the width."""
    return f"{50.0 * math.tan(math.radians(180.0 - angle) / 4.0):.9f}%"


@pytest.mark.parametrize(
    ("finish", "code", "limit"), [("faced", "valley-angle", 15), ("bound", "bound-valley-angle", 90)]
)
def test_valleys_are_open_enough_to_be_turned_or_bound(finish: str, code: str, limit: float) -> None:
    for angle, ok in ((limit + 1e-3, True), (limit - 1e-3, False)):
        valley = of(TEN, depth=depth_for(angle), finish=FinishWords(finish))[code]
        assert value(valley) == pytest.approx(angle, abs=1e-5)
        assert valley.ok is ok
    assert of(TEN, {code: "5deg"}, depth=depth_for(limit - 1.0), finish=FinishWords(finish))[code].ok


def test_half_circles_leave_nothing_open() -> None:
    valley = of(TEN, profile="half-circle")["valley-angle"]
    assert value(valley) == pytest.approx(0.0, abs=1e-6)
    assert not valley.ok


@pytest.mark.parametrize(("side", "sign"), [("outward", 1.0), ("inward", -1.0)])
def test_a_bulging_edge_opens_valleys_and_a_hollow_one_closes_them(side: str, sign: float) -> None:
    # Twenty base lines round a circle turn by 18 degrees at every valley.
    every = of(ROUND, along="round", count="20", depth="30%", edge={"side": side})
    theta = math.degrees(4.0 * math.atan(0.6))
    assert value(every["valley-angle"]) == pytest.approx(180.0 - theta + sign * 18.0, abs=1e-6)


def test_a_space_leaves_half_the_arc_at_either_side() -> None:
    # Nine spaces of 4 mm leave ten scallops of 12.4 mm; arcs keep their angle.
    every = of(TEN, space="4mm")
    assert value(every["valley-angle"]) == pytest.approx(180.0 - math.degrees(0.5 * ARC), abs=1e-5)


def test_a_valley_on_a_fold_lies_between_a_scallop_and_its_image() -> None:
    one = '<path id="hem" d="M 10,20 H 26"/>'
    every = of(one, count="1", edge={"start": "fold:valley"})
    assert value(every["valley-angle"]) == pytest.approx(OPEN, abs=1e-5)
    spaced = of('<path id="hem" d="M 10,20 H 28"/>', count="1", space="4mm", edge={"start": "fold:valley"})
    assert value(spaced["valley-angle"]) == pytest.approx(180.0 - math.degrees(0.5 * ARC), abs=1e-5)
    # At free ends there is no valley.
    at_end = of(one, count="1", edge={"end": "fold:valley"})
    assert value(at_end["valley-angle"]) == pytest.approx(OPEN, abs=1e-5)
    assert "valley-angle" not in of(one, count="1")
    assert "valley-angle" not in of(one, count="1", edge={"start": "fold:valley"}, profile="wave")


def test_a_wave_has_no_valley_to_clip() -> None:
    assert "valley-angle" not in of(WAVY, profile="wave")


# ---------------------------------------------------------------- stitches and clips


@pytest.mark.parametrize(("stitch", "count"), [("1.5mm", 14), ("2.5mm", 8), ("2.9mm", 7)])
def test_stitches_round_a_scallop(stitch: str, count: int) -> None:
    # Round an arc of 25/3 mm times its angle lie so many equal stitches, and one of 1 mm across the valley.
    every = of(TEN, finish=FinishWords("stitched", stitch=stitch))
    assert set(every) == {"stitches-a-scallop", "short-stitch", "long-stitch", "end-distance"}
    assert value(every["stitches-a-scallop"]) == count
    assert every["stitches-a-scallop"].ok is (count >= 8)
    for code in ("short-stitch", "long-stitch"):
        assert value(every[code]) == pytest.approx((THIRD * ARC - 1.0) / count, abs=1e-6)


@pytest.mark.parametrize(("stitch", "short", "long"), [("0.9mm", False, True), ("3.3mm", True, False)])
def test_stitches_are_1_to_3_mm_long(stitch: str, short: bool, long: bool) -> None:
    every = of(LINE, finish=FinishWords("faced", stitch=stitch))
    assert (every["short-stitch"].ok, every["long-stitch"].ok) == (short, long)


@pytest.mark.parametrize(("short", "ok"), [("1mm", True), ("0.99mm", False)])
@pytest.mark.parametrize("profile", ["arc", "wave"])
def test_clips_to_valleys_and_on_hollows_stop_short(profile: str, short: str, ok: bool) -> None:
    clip = of(LINE, {"clip-short": "0.9999mm"}, profile=profile, finish=FinishWords("faced", clip_short=short))
    assert value(clip["clip-short"]) == pytest.approx(float(short.removesuffix("mm")), abs=1e-5)
    assert clip["clip-short"].ok is ok


def test_a_raw_edge_is_neither_stitched_nor_turned() -> None:
    assert set(of(TEN, finish=FinishWords("raw"))) == {"end-distance"}
    assert set(of(TEN, finish=None)) == {"end-distance"}
    # A valley beside a seam is hard to clip, also where no finish is named yet; a raw edge needs no clips.
    for finish, there in ((FinishWords("raw"), False), (FinishWords("bound"), True), (None, True)):
        drawing, run = sewn(panels(100.0, 105.0), SEAM_PASS, finish=finish)
        assert ("valley-near-seam" in found(drawing, run)) is there


# ---------------------------------------------------------------- joins


@pytest.mark.parametrize(
    ("facings", "layers"),
    [
        ((), 8),
        ((FacingWords("shaped", "40mm"),), 8),
        ((FacingWords("shaped", "40mm", across=("left:c1/right:c0",)),), 6),
        ((FacingWords("shaped", "40mm", across=("all",)),), 6),
        ((FacingWords("strip", "40mm"),), 6),
        ((FacingWords("band", "40mm"),), 8),
    ],
)
def test_layers_at_a_seam_that_scallops_cross(facings: tuple[FacingWords, ...], layers: int) -> None:
    drawing, run = sewn(panels(100.0, 105.0), SEAM_PASS, facings=facings)
    assert run.laid.joints[0].name == "left:c1/right:c0"
    seam = found(drawing, run)["seam-layers"]
    assert (seam.value, seam.ok, seam.unit) == (layers, True, "")
    assert seam.where.startswith("seam left:c1/right:c0, ")
    assert "pressed open" in seam.message
    assert not found(drawing, run, {"seam-layers": str(layers - 1)})["seam-layers"].ok


def test_layers_at_a_dart_are_counted_as_pressed_to_one_side() -> None:
    drawing, run = sewn(DART, JoinWords("dart"), edges=("p:c2..c3", "p:c5..c6"))
    dart = found(drawing, run)["seam-layers"]
    assert dart.value == 8.0
    assert "pressed to one side" in dart.message


@pytest.mark.parametrize(("bow", "layers"), [(0.0, 6), (16.0, 8)])
def test_a_seam_that_gapes_too_much_to_be_faced_in_one_piece_stays(bow: float, layers: int) -> None:
    body = (
        f'<path id="left" d="M 0,100 H 100 Q {100.0 - bow},150 100,200 H 0 Z"/>'
        '<path id="right" d="M 120,100 H 225 V 200 H 120 Z"/>'
    )
    facing = FacingWords("shaped", "40mm", across=("all",))
    drawing, run = sewn(body, SEAM_PASS, facings=(facing,))
    assert found(drawing, run)["seam-layers"].value == layers


def test_beyond_a_fold_the_layers_of_a_seam_are_those_of_its_image() -> None:
    body = '<path id="left" d="M 0,100 H 100 V 200 H 0 Z"/><path id="right" d="M 120,100 H 220 V 200 H 120 Z"/>'
    facing = FacingWords("shaped", "40mm", across=("all",))
    edges = ("left:c0..c1", "right:c0..c1", "right:c1..c0", "left:c1..c0")
    drawing, run = sewn(
        body,
        JoinWords("seam", "valley"),
        JoinWords("fold"),
        JoinWords("seam", "valley"),
        edges=edges,
        count="",
        width="20mm",
        facings=(facing,),
    )
    assert found(drawing, run)["seam-layers"].value == 6.0


def test_of_several_joins_that_with_most_layers_is_told() -> None:
    drawing = read_drawing(waistcoat().encode(), "waistcoat.svg")
    hem = Recipe(
        "hem",
        EdgeWords(start="fold"),
        ScallopWords("30mm", depth="35%"),
        edges=tuple(StretchWords(edge) for edge in HEM),
        joins=tuple(JoinWords(kind) for kind in HEM_JOINS),
        finish=FACED,
        facings=(FacingWords("shaped", "40mm", across=("hem-side",)),),
    )
    assert HEM_JOINS == ("dart", "seam", "dart")
    layers = found(drawing, make_run(drawing, hem))["seam-layers"]
    # The facing goes over the side seam, so that the darts have more.
    assert layers.value == 8.0
    assert layers.where.startswith("dart ")


def test_a_join_at_which_the_trim_stops_short_has_no_layers_and_no_valley_beside_it() -> None:
    drawing, run = sewn(panels(100.0, 100.0), JoinWords("seam", "gap:2mm"), count="", width="20mm")
    assert not {"seam-layers", "valley-near-seam"} & set(found(drawing, run))


@pytest.mark.parametrize(
    ("second", "away", "ok"),
    [
        # Ten scallops: the fifth valley lies (100 + second) / 2 from the start, the seam at 100.
        (105.0, 2.5, False),
        (105.999, 2.9995, False),
        (106.0, 3.0, True),
        (107.0, 3.5, True),
        (94.0, 3.0, True),
        (101.2, 0.6, False),
        # On the seam, or so near to it that it is meant: the next one counts, a width of 20 mm and a little further.
        (100.0, 20.0, True),
        (100.8, 20.08 - 0.4, True),
    ],
)
def test_a_valley_lies_on_a_seam_or_3_mm_beside_it(second: float, away: float, ok: bool) -> None:
    drawing, run = sewn(panels(100.0, second), SEAM_PASS)
    valley = found(drawing, run)["valley-near-seam"]
    assert value(valley) == pytest.approx(away, abs=1e-6)
    assert valley.ok is ok


def test_the_place_of_a_valley_beside_a_seam_is_told_of_its_piece() -> None:
    drawing, run = sewn(panels(100.0, 105.0), SEAM_PASS)
    # The second piece begins at x = 120.
    assert found(drawing, run)["valley-near-seam"].where == 'seam left:c1/right:c0, "right" at 122.5, 100'


def test_a_seam_of_another_piece_that_lies_over_it_on_the_sheet_does_not_count() -> None:
    # The second valley of the right piece lies 1 mm from where the left piece's seam is drawn.
    drawing, run = sewn(panels(100.0, 105.0, gap=-22.0), SEAM_PASS)
    assert value(found(drawing, run)["valley-near-seam"]) == pytest.approx(2.5, abs=1e-6)


@pytest.mark.parametrize("widths", [(100.0, 57.0), (100.0, 103.0), (66.0, 150.0)])
def test_round_a_loop_valleys_are_measured_from_all_its_seams(widths: tuple[float, float]) -> None:
    drawing, run = sewn(panels(*widths), JoinWords("seam", "valley"), SEAM_PASS, count="7", finish=FinishWords("faced"))
    length = sum(widths)
    # The pieces make a tube: all seams stand square to its rim.
    at = [row["s_mm"] for row in run_entry(drawing, run)["valleys"]]
    away = [abs((s - seam + 0.5 * length) % length - 0.5 * length) for s in at for seam in (widths[0], length)]
    least = min(a for a in away if a > 0.5)
    assert value(found(drawing, run)["valley-near-seam"]) == pytest.approx(least, abs=1e-5)


@pytest.mark.parametrize(
    ("second", "gap", "ok"), [(92.0, 1.6, False), (93.0, 2.15, True), (100.0, 6.0, True), (92.727, 1.99985, False)]
)
def test_a_flange_keeps_2_mm_off_a_seam(second: float, gap: float, ok: bool) -> None:
    # The sixth crest lies 5.5 widths from the start, the seam at 100; the flange of a 4 mm eyelet is 8 mm wide.
    drawing, run = sewn(panels(100.0, second), SEAM_PASS, eyelets=(EyeletWords("4mm", margin="1mm"),))
    eyelet = found(drawing, run)["eyelet-near-seam"]
    assert value(eyelet) == pytest.approx(gap, abs=1e-6)
    assert eyelet.ok is ok
    assert eyelet.where.startswith("seam left:c1/right:c0, ")


def test_round_a_loop_flanges_are_measured_from_all_its_seams() -> None:
    drawing, run = sewn(
        panels(66.0, 150.0),
        JoinWords("seam", "valley"),
        SEAM_PASS,
        count="8",
        eyelets=(EyeletWords("4mm", margin="1mm"),),
        finish=None,
    )
    at = [row["s_mm"] for row in run_entry(drawing, run)["eyelets"]]
    least = min(abs((s - seam + 108.0) % 216.0 - 108.0) for s in at for seam in (66.0, 0.0))
    assert value(found(drawing, run)["eyelet-near-seam"]) == pytest.approx(least - 4.0, abs=1e-5)


# With a valley at the first seam, the nearest to the closing seam lies before it, or just behind it a turn later.
@pytest.mark.parametrize(
    ("hold", "count"), [("pass", "9"), ("pass", "14"), ("valley", "9"), ("valley", "11"), ("valley", "13")]
)
def test_round_a_cone_valleys_and_flanges_are_measured_on_their_own_pieces(hold: str, count: str) -> None:
    # Two parts of a ring, 50 and 70 degrees wide; sewn together they do not close in one plane.
    sides: dict[str, shapely.MultiLineString] = {}
    body = ""
    for name, x, wide in (("left", 200.0, 50.0), ("right", 450.0, 70.0)):
        ways = [np.array([math.sin(a), -math.cos(a)]) for a in np.radians([-0.5 * wide, 0.5 * wide])]
        a, b, c, d = ((x, 300.0) + r * way for r, way in zip((150, 150, 60, 60), [*ways, *ways[::-1]], strict=True))
        arcs = [f"A {r} {r} 0 0 {turn} {to[0]:.12f} {to[1]:.12f}" for r, turn, to in ((150, 1, b), (60, 0, d))]
        body += f'<path id="{name}" d="M {a[0]:.12f} {a[1]:.12f} {arcs[0]} L {c[0]:.12f} {c[1]:.12f} {arcs[1]} Z"/>'
        sides[name] = shapely.MultiLineString([[(x, 300.0) + r * way for r in (60.0, 200.0)] for way in ways])
    drawing, run = sewn(
        body,
        JoinWords("seam", hold),
        SEAM_PASS,
        count=count,
        eyelets=(EyeletWords("4mm", margin="1mm"),),
    )
    entry, every = run_entry(drawing, run), found(drawing, run)
    away = {
        what: [float(shapely.distance(sides[row["piece"]], shapely.Point(row["x"], row["y"]))) for row in entry[what]]
        for what in ("valleys", "eyelets")
    }
    assert value(every["eyelet-near-seam"]) == pytest.approx(min(away["eyelets"]) - 4.0, abs=1e-5)
    assert value(every["valley-near-seam"]) == pytest.approx(min(a for a in away["valleys"] if a > 0.5), abs=1e-5)


@pytest.mark.parametrize("from_crest", ["", "9mm", "25mm"])
def test_a_flange_keeps_off_the_legs_of_a_dart(from_crest: str) -> None:
    drawing, run = sewn(
        DART,
        JoinWords("dart", "pass"),
        edges=("p:c2..c3", "p:c5..c6"),
        count="",
        width="23mm",
        eyelets=(EyeletWords("4mm", margin="1mm", from_crest=from_crest),),
        finish=None,
    )
    # On the sheet, along both legs and straight on beyond the edge.
    apex = np.array([160.0, 110.0])
    legs = [np.array([x, 206.0]) for x in (176.0, 144.0)]
    lines = shapely.MultiLineString([[apex, apex + 1.5 * (leg - apex)] for leg in legs])
    entry = run_entry(drawing, run)["eyelets"]
    least = min(shapely.distance(lines, shapely.Point(row["x"], row["y"])) for row in entry) - 4.0
    every = found(drawing, run)
    assert value(every["eyelet-near-dart"]) == pytest.approx(least, abs=1e-5)
    assert every["eyelet-near-dart"].ok == (least >= 2.0)
    assert "eyelet-near-seam" not in every


def test_eyelets_without_scallops_keep_off_seams_too() -> None:
    drawing = read(panels(100.0, 100.0))
    recipe = Recipe(
        "run",
        EdgeWords(),
        eyelets=(EyeletWords("4mm", count="5", ends="20mm", inset="30mm", off="none"),),
        edges=(StretchWords("left:c0..c1"), StretchWords("right:c0..c1")),
        joins=(JoinWords("seam"),),
    )
    every = found(drawing, make_run(drawing, recipe))
    # The third of five stands on the seam; half its flange reaches over it.
    assert set(every) == {"eyelet-near-seam"}
    assert value(every["eyelet-near-seam"]) == pytest.approx(-4.0, abs=1e-6)


def test_a_flange_keeps_off_a_seam_as_it_is_drawn() -> None:
    # Round a loop: the second edge of its closing seam bows 10 mm into the piece, half way down.
    body = (
        '<path id="bowed" d="M 0,100 H 100 V 200 H 0 Q 20,150 0,100 Z"/>'
        '<path id="plain" d="M 120,100 H 220 V 200 H 120 Z"/>'
    )
    drawing = read(body)
    recipe = Recipe(
        "run",
        EdgeWords(),
        eyelets=(EyeletWords("4mm", count="8", ends="13mm", inset="30mm", off="none"),),
        edges=(StretchWords("bowed:c0..c1"), StretchWords("plain:c0..c1")),
        joins=(JoinWords("butt"), JoinWords("seam")),
    )
    run = make_run(drawing, recipe)
    t = np.linspace(0.0, 1.0, 4001)
    seams = {
        "bowed": shapely.LineString(np.stack([40.0 * t * (1.0 - t), 100.0 + 100.0 * t], axis=1)),
        "plain": shapely.LineString([(220.0, 100.0), (220.0, 200.0)]),
    }
    rows = run_entry(drawing, run)["eyelets"]
    least = min(float(shapely.distance(seams[row["piece"]], shapely.Point(row["x"], row["y"]))) for row in rows)
    assert value(found(drawing, run)["eyelet-near-seam"]) == pytest.approx(least - 4.0, abs=1e-4)


# ---------------------------------------------------------------- ends and facings


@pytest.mark.parametrize(("limit", "ok"), [("0mm", True), ("12mm", True), ("12.1mm", False)])
def test_how_far_the_trim_stays_from_an_opening(limit: str, ok: bool) -> None:
    edge = {"start": "gap:12mm", "end": "gap:30mm"}
    end = of(LINE, {"end-distance": limit}, edge=edge)["end-distance"]
    assert value(end) == pytest.approx(12.0, abs=1e-9)
    assert end.ok is ok
    assert end.where == 'start, "hem" at 10, 20'
    # A fold is no free end.
    folded = of(LINE, edge={"start": "fold:valley", "end": "gap:30mm"})["end-distance"]
    assert value(folded) == pytest.approx(30.0, abs=1e-9)
    assert "end-distance" not in of(QUARTER, along="quarter:c1..c2", edge={"start": "fold", "end": "fold"})


@pytest.mark.parametrize(("touch", "inside"), [("valley", 0.0), ("middle", 3.0), ("crest", 6.0)])
def test_a_facing_reaches_15_mm_beyond_the_valleys(touch: str, inside: float) -> None:
    # On a straight edge the valleys lie so far inside it.
    for beyond, ok in ((15.0, True), (14.99, False)):
        facings = (FacingWords("shaped", f"{beyond + inside}mm"),)
        depth = of(TEN, touch=touch, facings=facings)["facing-depth"]
        assert value(depth) == pytest.approx(beyond, abs=1e-5)
        assert depth.ok is ok


def test_only_facings_that_lie_inside_are_measured() -> None:
    assert "facing-depth" not in of(TEN, facings=(FacingWords("band", "20mm"),))
    assert "facing-depth" not in of(TEN)
    several = (FacingWords("shaped", "40mm"), FacingWords("strip", "30mm"))
    assert value(of(TEN, facings=several)["facing-depth"]) == pytest.approx(30.0, abs=1e-6)
    assert value(of(TEN, facings=(FacingWords(depth="1 1/2in"),))["facing-depth"]) == pytest.approx(38.1, abs=1e-6)


@pytest.mark.parametrize(
    ("from_crest", "depth", "beyond"), [("10mm", "20mm", 12.0), ("19mm", "20mm", 3.0), ("4mm", "20mm", 18.0)]
)
def test_a_flange_lies_3_mm_inside_the_facing(from_crest: str, depth: str, beyond: float) -> None:
    # From a crest 6 mm outside the line the eyelet's middle is so far down; half its flange is 4 mm.
    eyelets = (EyeletWords("4mm", from_crest=from_crest, margin="0mm"),)
    words: dict[str, Any] = {"eyelets": eyelets, "facings": (FacingWords("shaped", depth),)}
    eyelet = of(TEN, **words)["eyelet-in-facing"]
    assert value(eyelet) == pytest.approx(beyond, abs=1e-6)
    assert eyelet.ok
    assert not of(TEN, {"eyelet-in-facing": f"{beyond + 0.001}mm"}, **words)["eyelet-in-facing"].ok


# ---------------------------------------------------------------- limits in words


def test_limits_are_read_in_the_units_of_their_rules() -> None:
    words = {
        "turn-radius": "8mm",
        "turn-room": "1/4in",
        "valley-angle": "20deg",
        "deep-scallop": "55%",
        "seam-layers": "10",
        "thickness": "0,8 mm",
        "end-distance": "0",
    }
    right = {
        "turn-radius": 8.0,
        "turn-room": 6.35,
        "valley-angle": 20.0,
        "deep-scallop": 55.0,
        "seam-layers": 10.0,
        "thickness": 0.8,
        "end-distance": 0.0,
    }
    assert limits_of(words) == right
    assert limits_of({}) == {}


def test_a_limit_that_does_not_exist_is_refused_with_all_that_do() -> None:
    with pytest.raises(RequestError) as refused:
        limits_of({"turn-raduis": "8mm"})
    text = str(refused.value)
    assert text.startswith('there is no limit "turn-raduis": take one of turn-radius, ')
    assert all(code in text for code in (*RULES, "thickness"))
    assert "\n" not in text
    assert ". " not in text


@pytest.mark.parametrize(
    ("code", "text"),
    [
        ("turn-radius", "wide"),
        ("turn-radius", "-3mm"),
        ("turn-radius", "20deg"),
        ("valley-angle", "15mm"),
        ("deep-scallop", "0.6"),
        ("seam-layers", "8mm"),
        ("thickness", "0mm"),
    ],
)
def test_a_limit_that_cannot_be_read_is_refused_by_its_name(code: str, text: str) -> None:
    with pytest.raises(RequestError, match="thickness" if code == "thickness" else f"the limit {code}"):
        limits_of({code: text})


# ---------------------------------------------------------------- small parts


def lined_with_eyelets(flange: str, wearer: str) -> tuple[Drawing, Run]:
    """Five scallops of 60 mm with an eyelet in each."""
    drawing = read(LINE)
    eyelets = (EyeletWords("8mm", flange=flange, margin="1mm"),)
    trim = ScallopWords(count="5", depth="40%")
    return drawing, make_run(drawing, Recipe("run", EdgeWords("hem"), trim, eyelets=eyelets, wearer=wearer))


@pytest.mark.parametrize(
    ("wearer", "limit", "ok"),
    [
        ("child, under 3", None, False),
        ("child, under 3", "4", False),
        ("child, under 3", "5", True),
        ("", "0", False),
        ("adult", "0", False),
        ("adult", "5", True),
        ("", None, None),
        ("adult", None, None),
        ("child, under 7", None, None),
        ("child, 7 to 14", None, None),
    ],
)
def test_small_parts_are_counted_for_the_youngest_or_where_a_limit_is_set(
    wearer: str, limit: str | None, ok: bool | None
) -> None:
    every = found(*lined_with_eyelets("14mm", wearer), {} if limit is None else {"small-parts": limit})
    assert ("small-parts" in every) is (ok is not None)
    if ok is not None:
        parts = every["small-parts"]
        assert (parts.value, parts.ok, parts.unit) == (5.0, ok, "")
        assert ("1501.3(d)" in parts.message) is not ok


@pytest.mark.parametrize(("flange", "number"), [("31.7mm", 5.0), ("31.75mm", 5.0), ("31.8mm", 0.0)])
def test_a_part_wider_than_the_cylinder_does_not_count(flange: str, number: float) -> None:
    # 16 CFR 1501: the cylinder is 1.25 in = 31.75 mm wide.
    parts = found(*lined_with_eyelets(flange, "child, under 3"))["small-parts"]
    assert (parts.value, parts.ok) == (number, number == 0.0)


def test_scallops_without_parts_have_none_to_count() -> None:
    drawing = read(TEN)
    run = run_of(drawing)
    youngest = make_run(drawing, replace(run.recipe, wearer="child, under 3"))
    assert "small-parts" not in found(drawing, youngest, {"small-parts": "0"})


# ---------------------------------------------------------------- as they are shown


def test_findings_are_shown_as_those_of_other_checks() -> None:
    drawing = read(TEN)
    findings = sewability(drawing, run_of(drawing), limits_of({"turn-radius": "9mm"}))
    assert all(finding.run == "run" for finding in findings)
    assert [finding.what for finding in findings if not finding.ok] == ["turn-radius"]
    shown = check_tables(findings, terminal=True)
    assert "8.333 mm" in shown
    assert "broken" in shown
    assert "because" in shown
    entry = json.loads(json.dumps(check_entry(findings)))
    assert entry["ok"] is False
    told = {one["what"]: (one["reason"], one["source"]) for one in entry["findings"]}
    assert {code: told[code][0] for code in told} == {code: RULES[code].reason for code in told}
    own = told.pop("turn-radius")[1]
    assert own == "your own; the usual limit is at least 6 mm: common practice, no source"
    assert {code: told[code][1] for code in told} == {code: RULES[code].source for code in told}
    assert '"Apparel" (g-wonlinetextbooks, 2012)' in told["trimmed-allowance"][1]


def test_what_is_broken_tells_where_its_limit_comes_from() -> None:
    drawing = read(TEN)
    findings = sewability(drawing, run_of(drawing), limits_of({"turn-radius": "9mm", "deep-scallop": "30%"}))
    broken = [finding for finding in findings if not finding.ok]
    for shown in (check_summary(findings, terminal=False), check_tables(broken, terminal=False)):
        told = [line for line in shown.split("\n") if line.startswith("run: source of the limit of ")]
        usual = "your own; the usual limit is at"
        assert told == [
            f"run: source of the limit of turn-radius: {usual} least 6 mm: common practice, no source",
            f"run: source of the limit of deep-scallop: {usual} most 60%: common practice, no source",
        ]
    # A line of the table each, its heads, and two lines below.
    assert len(check_tables(broken, terminal=False).split("\n")) == 1 + len(broken) + 2 * len(broken)


def test_all_findings_tell_reason_and_source_of_the_limits_kept_once_a_rule() -> None:
    drawing = read(TEN)
    findings = sewability(drawing, run_of(drawing), limits_of({"turn-radius": "9mm"}))
    other = [replace(finding, run="other") for finding in findings]
    lines = check_tables([*findings, *other], terminal=False).split("\n")
    for finding in findings:
        rule = RULES[finding.what]
        kept = [line for line in lines if line.startswith(f"{rule.code}: ")]
        limit = f"at {'least' if rule.at_least else 'most'} {shown_limit(rule.limit, rule.unit)}"
        told = f"{rule.code}: {limit}, because {rule.reason}; source of the limit: {rule.source}"
        # What is broken has them in its own lines.
        assert kept == ([told] if finding.ok else [])
    assert "source of the limit" not in check_summary([one for one in findings if one.ok], terminal=True)


def test_on_a_terminal_sentences_fit_into_80_columns_and_say_the_same() -> None:
    drawing = read(TEN)
    findings = sewability(drawing, run_of(drawing), limits_of({"turn-radius": "9mm"}))
    shown, piped = (check_tables(findings, terminal=terminal) for terminal in (True, False))
    assert max(map(len, shown.split("\n"))) < 80
    below = [part.split() for part in (shown.split("\n\n", 1)[1], piped.split("\n", 1 + len(findings))[-1])]
    assert below[0] == below[1]


def test_places_in_marked_pieces_do_not_depend_on_how_the_run_is_walked() -> None:
    body = '<path id="hem" d="M 10,20 H 170"/>' + marks(a=(10.0, 20.0), b=(170.0, 20.0))
    there, back = of(body, along="hem:a..b"), of(body, along="hem:b..a", edge={"side": "right"})
    assert {code: f.value for code, f in back.items()} == pytest.approx({code: f.value for code, f in there.items()})
