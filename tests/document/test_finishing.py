"""Finishes: where the cloth is cut, what is clipped and stitched, which words go together, and what is warned of."""

from __future__ import annotations

import math
import re
from typing import Any

import numpy as np
import pytest
from lxml import etree

from scallopkit.document.finishing import FINISHES, cut_of
from scallopkit.document.report import report_of
from scallopkit.document.runs import Run
from scallopkit.document.summary import run_tables
from scallopkit.document.workshop import cut, redrawn, scallop, with_runs
from scallopkit.errors import RequestError
from scallopkit.geometry.cubics import flatten
from scallopkit.geometry.nearest import nearest

from ..drawings import BOX, LINE, QUARTER, read

# What is promised of parallels, mm.
PROMISE = 0.02


def entry(run: Run, body: str = LINE) -> dict[str, Any]:
    (out,) = report_of(read(body), [run])["runs"]
    return dict(out)


def codes(run: Run) -> list[str]:
    return [warn.code for warn in run.warnings]


# --- kinds ----------------------------------------------------------------------------------------------------------


def test_nothing_said_is_no_finish() -> None:
    run = scallop(read(LINE), width=30)
    assert run.finish is None
    told = entry(run)
    assert (told["finish"], told["clips"], told["wedges"], told["totals"]["clips"]) == (None, [], [], 0)


@pytest.mark.parametrize("kind", FINISHES)
def test_every_finish_tells_how_it_is_cut_and_sewn(kind: str) -> None:
    run = scallop(read(LINE), width=30, finish=kind)
    told = entry(run)["finish"]
    faced = kind == "faced"
    assert told["kind"] == kind
    assert (told["cut"], told["cut_mm"], told["trimmed_mm"]) == (
        ("scalloped", 6.0, 6.0) if faced else ("on-line", 0, 0)
    )
    assert (told["taken_out_mm"] > 0.0) == faced
    assert bool(entry(run)["clips"]) == faced
    assert f"finish {kind}: cut" in run_tables(read(LINE), run, terminal=False)
    drawn = etree.fromstring(with_runs(read(LINE), [run]))
    roles = {element.get("data-role") for element in drawn.iter("{*}path") if element.get("data-role")}
    assert roles == ({"stitching", "clip", "wedge"} if faced else {"stitching"})


def test_a_raw_edge_takes_no_stitches() -> None:
    run = scallop(read(LINE), width=30, finish="raw")
    told = entry(run)
    assert told["finish"]["stitches"] == []
    assert told["totals"]["stitching_mm"] == 0.0
    # It is cut all the same.
    assert told["totals"]["scallops"] == 10
    said = run_tables(read(LINE), run, terminal=False)
    assert "finish raw: cut on the line" in said
    assert "stitch" not in said


@pytest.mark.parametrize("kind", [kind for kind in FINISHES if kind != "raw"])
def test_every_other_edge_is_sewn_as_long_as_its_line(kind: str) -> None:
    run = scallop(read(LINE), width=30, finish=kind)
    (one,) = entry(run)["finish"]["stitches"]
    # Ten scallops end to end.
    assert entry(run)["totals"]["stitching_mm"] == pytest.approx(10.0 * one["line_mm"], abs=1e-6)
    assert "stitches: " in run_tables(read(LINE), run, terminal=False)


def test_a_raw_edge_has_no_stitch_to_be_set() -> None:
    with pytest.raises(RequestError, match=r"--stitch goes with an edge that is sewn.*raw.*leave it out"):
        scallop(read(LINE), width=30, finish="raw", stitch="2mm")


@pytest.mark.parametrize("word", [{"cut": "scalloped"}, {"trim": 5}, {"stitch": 2}])
def test_a_word_about_a_faced_edge_means_faced(word: Any) -> None:  # noqa: ANN401  # texts and numbers
    run = scallop(read(LINE), width=30, **word)
    assert run.finish is not None
    assert run.finish.kind == "faced"


def test_stitches_are_whole_and_fill_the_line() -> None:
    run = scallop(read(LINE), width=30, finish="stitched", stitch="2mm")
    (one,) = entry(run)["finish"]["stitches"]
    assert one["scallops"] == list(range(1, 11))
    assert isinstance(one["stitches"], int)
    assert one["stitches"] * one["length_mm"] + one["across_mm"] == pytest.approx(one["line_mm"], abs=1e-4)
    # An arc of width w and depth 0.4 w: radius 0.5125 w, angle 4 atan 0.8.
    assert one["line_mm"] == pytest.approx(0.5125 * 30 * 4 * math.atan(0.8), abs=1e-6)
    # The nearest whole number leaves a stitch within half of one in all of them.
    assert abs(one["length_mm"] - 2.0) < 2.0 / one["stitches"]


# --- clips and wedges -----------------------------------------------------------------------------------------------


def test_clips_go_from_the_raw_edge_to_just_short_of_each_valley() -> None:
    run = scallop(read(LINE), width=30, finish="faced", clip_short="1mm")
    assert run.finish is not None
    assert run.finish.clipping is not None
    clips = run.finish.clipping.clips
    assert [clip.kind for clip in clips] == ["valley"] * 9
    sewn = np.concatenate(run.line.curves)
    for k, clip in enumerate(clips):
        valley = np.array([10.0 + 30.0 * (k + 1), 20.0])
        assert float(np.hypot(*(clip.point - valley))) == pytest.approx(1.0, abs=1e-6)
        assert float(nearest(sewn, clip.start[None]).distance[0]) == pytest.approx(6.0, abs=PROMISE)
    told = entry(run)
    assert [one["scallop"] for one in told["clips"]] == list(range(1, 10))
    assert told["totals"]["clips"] == 9


def test_clips_and_wedges_are_drawn_where_the_report_says() -> None:
    drawing = read(f'<path id="hem" d="M {10 / 25.4!r},{20 / 25.4!r} h {300 / 25.4!r}"/>', 25.4)
    run = scallop(drawing, width=30, finish="faced")
    told = report_of(drawing, [run])["runs"][0]
    root = etree.fromstring(with_runs(drawing, [run]))
    for role, key, node in (("clip", "clips", -1), ("wedge", "wedges", 1)):
        drawn = root.findall(f".//{{*}}path[@data-role='{role}']")
        assert len(drawn) == len(told[key]) > 0
        for path, place in zip(drawn, told[key], strict=True):
            points = [
                tuple(map(float, pair.split(","))) for pair in re.findall(r"-?[\d.]+,-?[\d.]+", path.get("d", ""))
            ]
            # The written coordinates are to 1e-4 mm.
            assert points[node] == pytest.approx((place["x"], place["y"]), abs=1e-4 / 25.4)


@pytest.mark.parametrize("short", ["0.5mm", "2mm"])
def test_wedges_take_out_what_bulges_have_too_much(short: str) -> None:
    """2 s theta for each arc of angle theta, less what the clip at either valley and the cloth's give take."""
    run = scallop(read(LINE), width=60, depth="30%", finish="faced", clip_short=short, widest_wedge="4mm")
    told = entry(run)
    most = 2 * 6.0 * 4 * math.atan(0.6) * 5
    assert 0.5 * most < told["finish"]["taken_out_mm"] <= most
    assert told["finish"]["taken_out_mm"] == pytest.approx(sum(one["width_mm"] for one in told["wedges"]), abs=1e-4)
    assert max(one["width_mm"] for one in told["wedges"]) <= 4.0 + 1e-9


@pytest.mark.parametrize(("start", "end"), [("fold", "fold"), ("fold:valley", "fold"), ("fold:valley", "fold:valley")])
def test_totals_count_folds_once_and_pairs_twice(start: str, end: str) -> None:
    """A quarter of a round cloth on two folds: the whole has a clip at each of its valleys, those on folds once."""
    run = scallop(read(QUARTER), "quarter:c1..c2", width=40, start=start, end=end, finish="faced")
    totals = entry(run, QUARTER)["totals"]
    assert totals["clips"] == totals["scallops"] == 4 * run.count
    twice = scallop(read(QUARTER), "quarter:c1..c2", width=40, start=start, end=end, finish="faced", times=2)
    assert entry(twice, QUARTER)["totals"]["clips"] == 2 * totals["clips"]


# --- where it is cut ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "distance"),
    [
        ("", "scalloped", 6.0),
        ("scalloped", "scalloped", 6.0),
        ("scalloped:8mm", "scalloped", 8.0),
        ("scalloped: 1/4in", "scalloped", 6.35),
        ("straight", "straight", 9.5),
        ("straight:1cm", "straight", 10.0),
        ("straight:12", "straight", 12.0),
    ],
)
def test_cuts_that_can_be_read(text: str, kind: str, distance: float) -> None:
    assert cut_of(text).kind == kind
    assert cut_of(text).distance == pytest.approx(distance)


@pytest.mark.parametrize(
    "text", ["round", "scalloped:", "straight: ", ":6mm", "scalloped:wide", "straight:0mm", "straight:-3mm", "on-line"]
)
def test_cuts_that_can_t_be_read(text: str) -> None:
    with pytest.raises(RequestError, match="--cut") as caught:
        scallop(read(LINE), width=30, cut=text)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("words", "distances"),
    [
        ({}, (6.0, 6.0)),
        ({"cut": "scalloped:9mm"}, (9.0, 9.0)),
        ({"finish": "bound"}, (0.0, 0.0)),
        ({"finish": "raw"}, (0.0, 0.0)),
        ({"finish": "stitched"}, (0.0, 0.0)),
    ],
)
def test_the_cut_lies_so_far_from_the_stitching_line(words: dict[str, str], distances: tuple[float, float]) -> None:
    run = scallop(read(BOX), "box:c0..c1", width=30, **words)
    (made,) = run.edge_cuts()
    points = flatten(made.cutting, 1e-3)
    # Beyond both corners it goes on as its mirror image, which is no part of this edge.
    inside = points[(points[:, 0] > 10.0) & (points[:, 0] < 310.0)]
    away = nearest(made.stitching, inside).distance
    assert (away.min(), away.max()) == pytest.approx(distances, abs=PROMISE)


def test_a_straight_cut_lies_beyond_the_crests() -> None:
    run = scallop(read(BOX), "box:c0..c1", width=30, cut="straight:10mm")
    (made,) = run.edge_cuts()
    # The edge at y = 20, crests 12 mm above it.
    assert flatten(made.cutting, 1e-3)[:, 1] == pytest.approx(-2.0, abs=PROMISE)


# --- words that do not go together ----------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", [kind for kind in FINISHES if kind != "faced"])
@pytest.mark.parametrize("word", ["cut", "trim", "clip_short", "widest_wedge", "widest_gap"])
def test_an_edge_cut_on_its_line_has_no_allowance_to_speak_of(kind: str, word: str) -> None:
    value = "scalloped" if word == "cut" else "2mm"
    option = word.replace("_", "-")
    with pytest.raises(RequestError, match=f"--{option} goes with --finish faced.*{kind}.*leave it out"):
        scallop(read(LINE), width=30, finish=kind, **{word: value})


@pytest.mark.parametrize(
    "words",
    [
        {"trim": "7mm"},
        {"trim": "9mm", "cut": "scalloped:8mm"},
        {"trim": "6mm", "cut": "straight:5mm"},
        {"trim": "11mm", "cut": "straight:10mm"},
    ],
)
def test_no_more_is_left_than_is_cut(words: dict[str, str]) -> None:
    with pytest.raises(
        RequestError, match=r"--trim \d+ mm is more than the \d+ mm that are cut: give less, or a wider"
    ):
        scallop(read(LINE), width=30, **words)


@pytest.mark.parametrize(
    ("words", "trimmed"),
    [
        ({"cut": "scalloped:4mm"}, 4.0),
        ({"cut": "straight:10mm"}, 6.0),
        ({"cut": "straight:5mm"}, 5.0),
        ({"trim": 3}, 3.0),
    ],
)
def test_the_allowance_that_is_clipped(words: Any, trimmed: float) -> None:  # noqa: ANN401  # texts and numbers
    """Of a straight cut narrower than it the crests have no more than is cut there."""
    assert entry(scallop(read(LINE), width=30, **words))["finish"]["trimmed_mm"] == trimmed


@pytest.mark.parametrize(
    "words",
    [{"finish": "sewn"}, {"trim": "x"}, {"trim": 0}, {"stitch": "-1mm"}, {"widest_gap": "0mm"}, {"clip_short": "inf"}],
)
def test_words_that_can_t_be_read(words: Any) -> None:  # noqa: ANN401  # texts and numbers
    option = next(iter(words)).replace("_", "-")
    with pytest.raises(RequestError, match=f"--{option}"):
        scallop(read(LINE), width=30, **words)


# --- warnings -------------------------------------------------------------------------------------------------------


def test_valleys_too_sharp_to_bind_are_told_with_their_angle() -> None:
    """An arc of depth d meets its chord at 2 atan(2 d): two of them on a straight edge leave 180 - 4 atan(2 d)."""
    run = scallop(read(LINE), width=30, depth="25%", finish="bound")
    (warn,) = [warn for warn in run.warnings if warn.code == "sharp-to-bind"]
    angle = 180.0 - 4.0 * math.degrees(math.atan(0.5))
    assert warn.message.startswith(f"9 valleys are under 90 degrees, the sharpest {angle:.0f}:")
    assert warn.piece == "hem"
    assert (warn.x, warn.y) == pytest.approx((40.0, 20.0))
    # 4 atan(2 d) = 90 degrees: d = tan(22.5 deg) / 2 = 0.2071.
    assert "sharp-to-bind" in codes(scallop(read(LINE), width=30, depth="21%", finish="bound"))
    assert "sharp-to-bind" not in codes(scallop(read(LINE), width=30, depth="20.5%", finish="bound"))
    for kind in ("faced", "raw", "stitched"):
        assert "sharp-to-bind" not in codes(scallop(read(LINE), width=30, depth="25%", finish=kind))


def test_bulges_no_wider_than_their_allowance_are_told_with_what_to_trim_to() -> None:
    """Scallops of 10 mm, half circles of 5 mm radius: an allowance of 6 mm has no room inside them."""
    run = scallop(read(LINE), width=10, profile="half-circle", finish="faced")
    (warn,) = [warn for warn in run.warnings if warn.code == "cannot-turn"]
    assert "6 mm can't be turned at 30 places" in warn.message
    assert "a radius of 5.0 mm: trim it to 2.5 mm at most (--trim); under 3 mm hardly holds a seam" in warn.message
    assert warn.piece == "hem"
    assert "cannot-turn" not in codes(
        scallop(read(LINE), width=10, profile="half-circle", finish="faced", trim="2.5mm")
    )


@pytest.mark.parametrize(
    ("width", "words", "told"),
    [
        # Half circles: half the radius is 2, 7.5 and 2.125 mm, and none is trimmed to more than 6 mm, or than is left.
        (8, {}, "cloth to 2 mm, facing to 2 mm"),
        (30, {"cut": "scalloped:12mm"}, "cloth to 6 mm, facing to 4.5 mm"),
        (8.5, {"trim": "4mm"}, "cloth to 2.1 mm, facing to 2.1 mm"),
        (30, {"trim": "2mm"}, "cloth to 2 mm, facing to 2 mm"),
    ],
)
def test_layers_are_trimmed_to_what_the_warning_says(width: float, words: dict[str, str], told: str) -> None:
    run = scallop(
        read('<path id="hem" d="M 0,0 H 2040"/>'), width=width, profile="half-circle", finish="faced", **words
    )
    assert f"trim the layers of the allowance: {told}" in run_tables(read(LINE), run, terminal=False)
    advice = [
        re.findall(r"trim it to ([\d.]+) mm", warn.message) for warn in run.warnings if warn.code == "cannot-turn"
    ]
    assert all(f"cloth to {width} mm" in told for (width,) in advice)
    assert len(advice) == (width < 10)


def test_layers_of_waves_are_no_wider_than_half_the_radius_of_their_crests() -> None:
    # y = h (1 - cos(2 pi x / w)) / 2 bends most at its crest: radius w² / (2 pi² h); the wave is near to it.
    run = scallop(read(LINE), width=20, profile="wave", depth="20%", finish="faced", trim="5mm")
    assert run.finish is not None
    radius = 20.0**2 / (2.0 * math.pi**2 * 4.0)
    assert run.finish.grading[0].allowance == pytest.approx(0.5 * radius, rel=0.25)
    assert "hardly holds a seam" in next(warn.message for warn in run.warnings if warn.code == "cannot-turn")


def test_the_valleys_beside_gaps_at_free_ends_are_clipped() -> None:
    """A side of the box from x = 10 to 310, its scallops from 50 to 290: two valleys more than lie between them."""
    run = scallop(read(BOX), "box:c0..c1", width=30, start="gap:40mm", end="gap:20mm", finish="faced")
    assert run.finish is not None
    assert run.finish.clipping is not None
    clips = run.finish.clipping.clips
    assert [clip.s for clip in clips] == pytest.approx([40.0 + 30.0 * k for k in range(9)], abs=1e-6)
    for clip in (clips[0], clips[-1]):
        assert math.dist(clip.point, (10.0 + clip.s, 20.0)) == pytest.approx(1.25, abs=1e-6)


@pytest.mark.parametrize("stitch", ["0.29mm", "10.1mm"])
def test_stitches_that_no_machine_sews(stitch: str) -> None:
    with pytest.raises(RequestError, match=r"can't be sewn.*from 0\.3 to 10 mm"):
        scallop(read(LINE), width=30, finish="stitched", stitch=stitch)


# --- kept in the drawing --------------------------------------------------------------------------------------------


def test_scallops_made_anew_keep_their_finish_until_another_is_asked_for() -> None:
    drawing = redrawn(read(LINE), [scallop(read(LINE), width=30, finish="bound")])
    again = scallop(drawing, width=25)
    assert again.finish is not None
    assert again.finish.kind == "bound"
    other = scallop(drawing, width=25, finish="faced", trim="5mm")
    assert other.finish is not None
    assert (other.finish.kind, other.finish.trimmed) == ("faced", 5.0)


def test_no_wedge_lies_in_the_allowance_of_the_edge_beside_a_free_end() -> None:
    # The box's sides stand at x = 10 and x = 310; half circles end square to the edge there.
    run = scallop(read(BOX), "box:c0..c1", width="30mm", profile="half-circle", finish="faced")
    made = run.finish.clipping if run.finish else None
    assert made is not None
    middles = np.array([wedge.mouth.mean(axis=0) for wedge in made.wedges])
    assert len(middles)
    assert middles[:, 0].min() > 10.0
    assert middles[:, 0].max() < 310.0
    assert made.taken_out == pytest.approx(sum(wedge.width for wedge in made.wedges))


def test_no_wedge_reaches_into_the_allowance_beside_the_edge() -> None:
    """Both ends of every wedge lie on the line that the piece is cut along, beside a straight side too."""
    drawing = read('<path id="flap" d="M 20,20 H 180 V 100 C 150,160 50,160 20,100 Z"/>', unit=1.0)
    run = scallop(drawing, "flap:c3..c2", width=22, depth="45%", finish="faced", side="outward", name="hem")
    assert run.finish is not None
    assert run.finish.clipping is not None
    (made,) = cut(redrawn(drawing, [run]))
    mouths = np.concatenate([wedge.mouth for wedge in run.finish.clipping.wedges])
    assert len(mouths) > 20
    assert nearest(made.cut.cutting.curve, mouths).distance.max() < 0.05


def test_a_wedge_at_a_seam_is_drawn_on_the_piece_whose_raw_edge_it_is_taken_of() -> None:
    """A neckline over slanted shoulders: beside the seam the raw edge of a scallop goes on on the other piece.

    The middle of each mouth lies on the cutting line of the piece that it is drawn on. One that reaches over the seam
    is straight where that line is not, which takes a small share of a mm.
    """
    text = (
        '<path id="front" d="M 20,100 V 480 H 230 V 70 H 190 L 110,40 C 110,80 80,100 20,100 Z"/>'
        '<path id="back" d="M 560,60 V 480 H 340 V 72 H 385 L 468,40 C 480,55 520,60 560,60 Z"/>'
    )
    drawing = read(text, unit=1.0)
    edges = ["front:c0..c5", "back:c5..c0"]
    run = scallop(drawing, edges, join=["seam"], width=20, depth="30%", side="outward", finish="faced", name="neck")
    drawing = redrawn(drawing, [run])
    rings = {made.name: made.cut.cutting.curve for made in cut(drawing)}
    wedges = re.findall(r'<\w*:?path [^>]*data-role="wedge"[^>]*>', drawing.source.decode())
    assert len(wedges) > 20
    for wedge in wedges:
        piece, d = (re.search(rf' {key}="([^"]*)"', wedge) for key in ("data-piece", "d"))
        assert piece is not None
        assert d is not None
        corners = np.array(re.findall(r"(-?[\d.]+),(-?[\d.]+)", d[1]), dtype=float)
        middle = 0.5 * (corners[0] + corners[-1])
        assert nearest(rings[piece[1]], middle[None]).distance[0] < 0.4
