"""Recipes carried out on drawings: sides, folds, holds, allowances, nested transforms."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from scallopkit.construction.cautions import WEARERS, cautions
from scallopkit.document.report import run_entry
from scallopkit.document.runs import Run
from scallopkit.document.workshop import eyelets, notches, redrawn, refit, scallop
from scallopkit.errors import NameUnknownError, NoFitError, RequestError

from ..drawings import BOX, LINE, QUARTER, ROUND, marks, read


def chords(run: Run) -> list[float]:
    assert run.scallops is not None
    return [float(w) for w in run.scallops.row.width]


# --- sides and starts -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("side", "sign"), [("", 1), ("left", 1), ("right", -1)])
def test_an_open_line_bulges_to_the_left(side: str, sign: int) -> None:
    assert scallop(read(LINE), width=30, side=side).course.side == sign


@pytest.mark.parametrize("side", ["outward", "inward"])
def test_an_open_line_has_no_outside(side: str) -> None:
    with pytest.raises(RequestError, match=f'"hem" is an open line and has no {side} side: say left or right'):
        scallop(read(LINE), width=30, side=side)


def test_an_unknown_side_is_told_the_four() -> None:
    with pytest.raises(RequestError, match=r"^--side can be outward, inward, left or right, not 'up'$"):
        scallop(read(LINE), width=30, side="up")


@pytest.mark.parametrize("option", ["start", "end"])
def test_a_whole_outline_has_no_ends(option: str) -> None:
    with pytest.raises(RequestError, match='"round" is a whole closed outline and has no ends'):
        scallop(read(ROUND), "round", width=30, **{option: "fold"})


def test_a_closed_outline_starts_at_its_first_point_or_where_it_is_told() -> None:
    drawing = read(ROUND + marks(top=(200.0, 100.0)))
    first = run_entry(drawing, scallop(drawing, width=30))["valleys"][0]
    assert (first["x"], first["y"]) == pytest.approx((300.0, 200.0), abs=1e-6)
    moved = run_entry(drawing, scallop(drawing, width=30, start_at="top"))["valleys"][0]
    assert (moved["x"], moved["y"], moved["s_mm"]) == pytest.approx((200.0, 100.0, 0.0), abs=1e-6)


def test_only_a_whole_outline_starts_elsewhere() -> None:
    with pytest.raises(RequestError, match="only a whole closed outline can start at another place"):
        scallop(read(BOX), "box:c0..c1", width=30, start_at="c0")
    with pytest.raises(NameUnknownError, match=r'no mark or corner "top".* none$'):
        scallop(read(ROUND), width=30, start_at="top")


def test_a_drawing_of_one_piece_needs_no_name_one_of_two_does() -> None:
    assert scallop(read(LINE), width=30).name == "hem"
    with pytest.raises(RequestError, match='say which edge with --along: this drawing has "hem", "box"'):
        scallop(read(LINE + BOX), width=30)
    with pytest.raises(RequestError, match="the drawing holds no outline to work on"):
        scallop(read(""), width=30)


# --- holds ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["valley", "crest"])
def test_a_hold_at_a_mark_is_kept(kind: str) -> None:
    drawing = read(LINE + marks(dart=(110.0, 21.0)))
    run = scallop(drawing, width=27, hold=[f"dart={kind}"])
    report = run_entry(drawing, run)
    there = report["valleys" if kind == "valley" else "crests"]
    assert min(abs(place["x"] - 110.0) for place in there) < 1e-6
    assert [(span["from"], span["to"], span["holds"]) for span in report["spans"]] == [
        ("start", "dart", ["valley", kind]),
        ("dart", "end", [kind, "valley"]),
    ]
    assert report["count"] == sum(span["count"] for span in report["spans"])
    # 100 and 200 mm: spans of whole counts for a valley, of a half more for a crest.
    half = 0.5 if kind == "crest" else 0.0
    assert all(span["count"] % 1.0 == half for span in report["spans"])


def test_a_single_hold_may_be_a_plain_text() -> None:
    drawing = read(LINE + marks(dart=(110.0, 20.0)))
    one, listed = (scallop(drawing, width=27, hold=hold) for hold in ("dart=valley", ["dart=valley"]))
    assert one.recipe == listed.recipe
    assert chords(one) == chords(listed)


def test_a_gap_at_a_mark_stops_short_and_starts_again() -> None:
    drawing = read(LINE + marks(dart=(110.0, 20.0)))
    report = run_entry(drawing, scallop(drawing, width=27, hold=["dart=gap:15mm"]))
    xs = [place["x"] for place in report["valleys"]]
    assert [x for x in xs if 94.0 < x < 126.0] == pytest.approx([95.0, 125.0], abs=1e-6)
    assert [span["length_mm"] for span in report["spans"]] == pytest.approx([85.0, 185.0], abs=1e-6)


def test_a_corner_can_be_let_pass_by_name() -> None:
    drawing = read('<path id="hem" d="M 10,100 L 160,60 L 310,100"/>')
    assert len(run_entry(drawing, scallop(drawing, width=27))["spans"]) == 2
    assert len(run_entry(drawing, scallop(drawing, width=27, hold=["c0=pass"]))["spans"]) == 1
    assert len(run_entry(drawing, scallop(drawing, width=27, corner="pass"))["spans"]) == 1


@pytest.mark.parametrize(
    ("hold", "error", "said"),
    [
        ("nowhere=valley", NameUnknownError, 'no mark or corner "nowhere" lies on "hem"; it has .*"dart"'),
        ("start=crest", RequestError, '"start" is an end of the edge: its hold is given with --start or --end'),
        ("far=valley", NameUnknownError, 'no mark or corner "far" lies on "hem"'),
    ],
)
def test_holds_that_name_no_place_on_the_edge(hold: str, error: type[Exception], said: str) -> None:
    with pytest.raises(error, match=said):
        scallop(read(LINE + marks(dart=(110.0, 20.0), far=(110.0, 90.0))), width=27, hold=[hold])


# --- folds ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("width", "hold", "count"),
    [
        # 300 mm with a valley at the end: n whole scallops with a valley on the fold, n and a half with a crest.
        (30.0, "valley", 10.0),
        (300.0 / 10.5, "crest", 10.5),
        (29.9, "valley", 10.0),
        (28.5, "crest", 10.5),
    ],
)
def test_a_fold_that_lets_pass_takes_the_better_way(width: float, hold: str, count: float) -> None:
    run = scallop(read(LINE), width=width, start="fold:pass")
    assert (run.stops[0].hold, run.count) == (hold, count)
    others = [scallop(read(LINE), width=width, start=f"fold:{other}") for other in ("valley", "crest")]
    best = min(abs(other.widths[0] / width - 1.0) for other in others)
    assert abs(run.widths[0] / width - 1.0) == pytest.approx(best, abs=1e-9)


def test_two_folds_that_let_pass_choose_among_four_ways() -> None:
    for width in (40.0, 42.0, 45.0):
        run = scallop(read(QUARTER), "quarter:c1..c2", width=width, depth="30%", start="fold:pass", end="fold:pass")
        every = []
        for start in ("valley", "crest"):
            for end in ("valley", "crest"):
                words = {"start": f"fold:{start}", "end": f"fold:{end}"}
                every.append(scallop(read(QUARTER), "quarter:c1..c2", width=width, depth="30%", **words).widths[0])
        assert abs(run.widths[0] / width - 1.0) == pytest.approx(min(abs(w / width - 1.0) for w in every), abs=1e-9)


@pytest.mark.parametrize(
    ("start", "end", "copies"), [("", "", 1), ("fold", "", 2), ("fold", "fold", 4), ("crest", "", 1)]
)
def test_how_often_the_edge_is_there_once_its_folds_are_opened(start: str, end: str, copies: int) -> None:
    assert scallop(read(LINE), width=30, start=start, end=end).copies == copies


def test_a_fold_that_is_not_square_or_not_straight_is_told() -> None:
    slanted = read('<path id="bib" d="M 0,0 H 300 L 330,150 L 0,150 Z"/>')
    codes = [w.code for w in scallop(slanted, "bib:c2..c3", width=30, start="fold").warnings]
    assert "fold-not-square" in codes
    bowed = read('<path id="bib" d="M 0,0 H 300 Q 305,75 300,150 L 0,150 Z"/>')
    codes = [w.code for w in scallop(bowed, "bib:c2..c3", width=30, start="fold").warnings]
    assert "fold-not-straight" in codes
    square = read('<path id="bib" d="M 0,0 H 300 V 150 H 0 Z"/>')
    assert scallop(square, "bib:c2..c3", width=30, depth="20%", start="fold").warnings == ()


def test_a_lopsided_motif_has_no_half() -> None:
    drawing = read(LINE + '<path id="hook" d="M 400,100 L 405,88 L 430,100"/>')
    with pytest.raises(RequestError, match="whose two halves mirror each other"):
        scallop(drawing, "hem", width=30, profile="motif:hook", start="fold")
    assert scallop(drawing, "hem", width=30, profile="motif:hook", start="fold:valley").count == 10.0


# --- allowances -----------------------------------------------------------------------------------------------------


def test_an_outline_with_its_allowance_on_is_trimmed_on_its_stitching_line() -> None:
    drawing = read(BOX)
    run = scallop(drawing, "box:c0..c1", width=28, allowance="10mm")
    report = run_entry(drawing, run)
    assert report["length_mm"] == pytest.approx(280.0, abs=1e-6)
    assert {round(place["y"], 6) for place in report["valleys"]} == {30.0}
    assert (report["valleys"][0]["x"], report["valleys"][-1]["x"]) == pytest.approx((20.0, 300.0), abs=1e-6)


@pytest.mark.parametrize(
    ("allowance", "y", "ends"), [("10mm, 0mm", 20.0, (20.0, 300.0)), ("0mm, 10mm", 30.0, (10.0, 310.0))]
)
def test_the_edge_and_its_neighbours_may_differ(allowance: str, y: float, ends: tuple[float, float]) -> None:
    drawing = read(BOX)
    valleys = run_entry(drawing, scallop(drawing, "box:c0..c1", width=28, allowance=allowance))["valleys"]
    assert {round(place["y"], 6) for place in valleys} == {y}
    assert (valleys[0]["x"], valleys[-1]["x"]) == pytest.approx(ends, abs=1e-6)


def test_a_fold_carries_no_allowance() -> None:
    drawing = read(BOX)
    run = scallop(drawing, "box:c0..c1", width=28, allowance="10mm", start="fold")
    crests = run_entry(drawing, run)["crests"]
    assert crests[0]["x"] == pytest.approx(10.0, abs=1e-6)
    assert run.course.measured.length == pytest.approx(290.0, abs=1e-6)


def test_a_whole_outline_is_trimmed_on_its_stitching_line() -> None:
    drawing = read(ROUND)
    report = run_entry(drawing, scallop(drawing, width=30, depth="20%", allowance="10mm"))
    # The parallel is true within 0.02 mm.
    assert report["length_mm"] == pytest.approx(180.0 * math.pi, abs=0.13)
    for place in report["valleys"]:
        assert math.hypot(place["x"] - 200.0, place["y"] - 200.0) == pytest.approx(90.0, abs=0.02)


def test_an_open_line_stops_short_of_its_seams_by_their_allowance() -> None:
    drawing = read(LINE)
    report = run_entry(drawing, scallop(drawing, width=27, allowance="15mm"))
    assert (report["valleys"][0]["x"], report["valleys"][-1]["x"]) == pytest.approx((25.0, 295.0), abs=1e-6)
    assert report["count"] == 10
    # What was asked for by the maker herself goes before it.
    report = run_entry(drawing, scallop(drawing, width=27, allowance="15mm", start="gap:5mm", end="fold"))
    assert report["valleys"][0]["x"] == pytest.approx(15.0, abs=1e-6)
    assert report["crests"][-1]["x"] == pytest.approx(310.0, abs=1e-6)


def test_an_allowance_that_leaves_nothing_is_refused() -> None:
    with pytest.raises(RequestError, match="--allowance"):
        scallop(read(BOX), "box:c0..c1", width=28, allowance="160mm")
    with pytest.raises((RequestError, NoFitError)):
        scallop(read(LINE), width=28, allowance="151mm")


# --- transforms -----------------------------------------------------------------------------------------------------


NESTED = (
    "translate(120,40) rotate(30)",
    "matrix(0 -1 -1 0 400 400)",
    "scale(2) translate(20 10)",
    "rotate(-77 100 100)",
)


@pytest.mark.parametrize("transform", NESTED)
def test_a_piece_in_nested_groups_gives_the_same_run_in_its_place(transform: str) -> None:
    inner = '<path id="hem" d="M 0,0 C 50,40 90,-30 150,20"/>'
    nested = read(
        f'<g transform="translate(10,20)"><g transform="{transform}"><g transform="scale(1.5)">{inner}</g></g></g>'
    )
    size = 3.0 if transform.startswith("scale") else 1.5
    plain = read(f'<g transform="scale({size})">{inner}</g>')
    side = "right" if transform.startswith("matrix") else "left"
    moved = run_entry(nested, scallop(nested, "hem", width=13, depth="30%", side=side))
    still = run_entry(plain, scallop(plain, "hem", width=13, depth="30%", side="left"))
    assert moved["length_mm"] == pytest.approx(still["length_mm"], rel=1e-9)
    assert moved["count"] == still["count"]
    assert [s["width_mm"] for s in moved["spans"]] == pytest.approx([s["width_mm"] for s in still["spans"]], rel=1e-7)
    for key in ("valleys", "crests"):
        here = np.array([(p["x"], p["y"]) for p in moved[key]])
        there = np.array([(p["x"], p["y"]) for p in still[key]])
        # A motion keeps all distances between points.
        apart = [np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1)) for points in (here, there)]
        assert apart[0] == pytest.approx(apart[1], abs=1e-6)


def test_where_a_nested_piece_lies_in_the_root_s_units() -> None:
    drawing = read('<g transform="translate(100,50) scale(2)"><path id="hem" d="M 0,0 H 150"/></g>')
    valleys = run_entry(drawing, scallop(drawing, width=30))["valleys"]
    assert [(p["x"], p["y"]) for p in valleys] == [pytest.approx((100.0 + 30.0 * i, 50.0), abs=1e-6) for i in range(11)]


# --- what is told ---------------------------------------------------------------------------------------------------


def test_widths_beyond_the_limits_and_unlike_spans_are_told() -> None:
    drawing = read(LINE + marks(dart=(53.0, 20.0)))
    # 43 and 257 mm: one scallop on the shorter span is too wide, two are too narrow.
    codes = [
        w.code for w in scallop(drawing, width=30, hold=["dart=valley"], min_width="25mm", max_width="40mm").warnings
    ]
    assert codes.count("width-outside-limits") == 1
    assert codes.count("spans-differ") == 1
    assert scallop(read(LINE), width=30).warnings == ()


def test_a_scallop_that_reaches_another_piece_is_told() -> None:
    near = read(LINE + '<path id="other" d="M 10,15 H 310"/>')
    assert "other" in " ".join(w.message for w in scallop(near, "hem", width=30).warnings)
    far = read(LINE + '<path id="other" d="M 10,45 H 310"/>')
    assert scallop(far, "hem", width=30).warnings == ()


def test_eyelets_bring_cautions_and_scallops_do_not() -> None:
    drawing = read(LINE)
    plain = scallop(drawing, width=60)
    assert plain.cautions == ()
    run = eyelets(redrawn(drawing, [plain]), run="hem", eyelet=8)
    assert run.cautions == cautions(eyelets=True)


@pytest.mark.parametrize("wearer", WEARERS)
def test_cautions_go_by_who_wears_it(wearer: str) -> None:
    drawing = read(LINE)
    run = eyelets(drawing, "hem", eyelet=8, count=4, wearer=wearer)
    assert run.cautions == cautions(eyelets=True, wearer=wearer)
    told = eyelets(drawing, "hem", eyelet=8, count=4).cautions
    # Small parts are told of where a child wears them.
    assert (run.cautions == told) is (wearer == "adult")


@pytest.mark.parametrize("wearer", ["", *WEARERS])
def test_a_cord_is_cautioned_of_where_one_is_planned(wearer: str) -> None:
    drawing = read(LINE)
    alone = eyelets(drawing, "hem", eyelet=8, count=4, wearer=wearer)
    corded = eyelets(drawing, "hem", eyelet=8, count=4, wearer=wearer, cord=3)
    assert not any("Cords and drawstrings" in text for text in alone.cautions)
    assert corded.cautions == cautions(eyelets=True, cord=True, wearer=wearer)
    assert any("Cords and drawstrings" in text for text in corded.cautions)


def test_who_wears_it_stays_with_the_run() -> None:
    drawing = read(LINE)
    plain = redrawn(drawing, [scallop(drawing, width=60, wearer="child, under 3")])
    laced = redrawn(plain, [eyelets(plain, run="hem", eyelet=8)])
    anew = redrawn(laced, [scallop(laced, width=50)])
    told = redrawn(anew, [eyelets(anew, run="hem", eyelet=8, wearer="child, 7 to 14")])
    for there, wearer in ((laced, "child, under 3"), (anew, "child, under 3"), (told, "child, 7 to 14")):
        (made,) = refit(there)
        assert made.run.recipe.wearer == wearer
        assert made.run.cautions == cautions(eyelets=True, wearer=wearer)


def test_an_unknown_wearer_is_refused() -> None:
    drawing = read(LINE)
    listed = '--wearer can be "adult", "child, under 3", "child, under 7" or "child, 7 to 14", not "baby"'
    for make in (scallop, eyelets):
        with pytest.raises(RequestError, match=listed):
            make(drawing, "hem", wearer="baby", count=4)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({}, "say how large the eyelets are: --eyelet 8mm"),
        ({"eyelet": 8}, "need a --spacing or a --count; for one a scallop"),
        ({"eyelet": 8, "spacing": 20, "count": 3}, "need a --spacing or a --count; for one a scallop"),
        ({"eyelet": 8, "spacing": 20, "every": 2}, "--every goes with the scallops of a --run"),
        ({"eyelet": 8, "spacing": 20, "from_crest": 2}, "--from-crest goes with the scallops of a --run"),
        ({"eyelet": "wide", "spacing": 20}, "--eyelet 'wide' cannot be read"),
        ({"eyelet": 8, "count": "2.5"}, "--count takes a whole number"),
        ({"eyelet": 8, "count": 0}, "--count takes a whole number"),
        ({"eyelet": 8, "spacing": 20, "ends": "1;2;3"}, "--ends takes one length, or two"),
        ({"eyelet": 8, "barrel": 7, "spacing": 20}, "opening"),
        ({"eyelet": 8, "spacing": 20, "step": "arc"}, "--step can be along or chord"),
    ],
)
def test_eyelets_that_can_t_be_set_along_an_edge(words: dict[str, Any], said: str) -> None:
    with pytest.raises(RequestError, match=said):
        eyelets(read(LINE), "hem", **words)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({}, "say where the notches go: --at valleys, crests, parts:4, or the names of marks"),
        ({"at": "parts:x"}, "--at parts: takes a whole number"),
        ({"at": "parts:0"}, "--at parts: takes a whole number"),
        ({"at": "parts:4", "every": "x"}, "--every takes a whole number"),
        ({"at": "parts:4", "kind": "hole"}, "--kind can be snip, v or triangle"),
        ({"at": "parts:4", "on": "fold"}, "--on can be edge or scallops"),
        ({"at": "parts:4", "length": "0"}, "--length"),
        ({"at": "crests"}, "there are no scallops whose crests could carry notches"),
    ],
)
def test_notches_that_can_t_be_put_on(words: dict[str, str], said: str) -> None:
    with pytest.raises(RequestError, match=said):
        notches(read(LINE), "hem", **words)


def test_notches_at_marks_name_the_marks_there_are() -> None:
    drawing = read(LINE + marks(dart=(110.0, 20.0), waist=(210.0, 20.0)))
    places = run_entry(drawing, notches(drawing, "hem", at="waist, dart"))["notches"]
    assert [place["x"] for place in places] == pytest.approx([210.0, 110.0], abs=1e-6)
    with pytest.raises(NameUnknownError, match=r'no mark or corner "hip" lies on "hem"; it has .*"dart"'):
        notches(drawing, "hem", at="hip")
    with pytest.raises(RequestError, match="--at"):
        notches(drawing, "hem", at=",")


@pytest.mark.parametrize("more", [{}, {"space": "10mm"}, {"start": "gap:50mm"}, {"weights": "2,1"}])
def test_a_depth_in_mm_is_meant_for_the_width_that_a_count_gives(more: dict[str, str]) -> None:
    run = scallop(read(LINE), "hem", count=6, depth="10mm", **more)
    assert run.scallops is not None
    assert run.fit is not None
    assert run.scallops.depth[0] == pytest.approx(10.0 * run.scallops.row.width[0] / run.fit.target, rel=1e-6)


@pytest.mark.parametrize("touch", ["valley", "crest", "middle"])
def test_a_closed_row_closes(touch: str) -> None:
    drawing = read('<circle id="hem" cx="150" cy="150" r="80"/>')
    assert run_entry(drawing, scallop(drawing, "hem", count=15, depth="25%", touch=touch))["closure_mm"] < 1e-6


def test_little_cloth_outside_the_crests_is_told() -> None:
    drawing = read('<path id="p" d="M 20,20 H 220 V 160 H 20 Z"/>')
    near = scallop(drawing, "p:c0..c1", width=24, allowance="12mm", depth="40%")
    assert [w.code for w in near.warnings] == ["little-allowance"]
    assert "mm of cloth" in near.warnings[0].message
    assert scallop(drawing, "p:c0..c1", width=24, allowance="18mm", depth="40%").warnings == ()


def test_a_flange_over_a_fold_is_near_no_line() -> None:
    drawing = read('<path id="p" d="M 20,20 H 220 V 160 H 20 Z"/>')
    drawing = redrawn(drawing, [scallop(drawing, "p:c0..c1", width=40, start="fold", name="hem")])
    run = eyelets(drawing, run="hem", eyelet=4, margin=2)
    assert "eyelet-near-line" not in [w.code for w in run.warnings]


def test_notches_inside_the_scallops_are_told_and_crests_take_them_outside() -> None:
    drawing = read(LINE)
    drawing = redrawn(drawing, [scallop(drawing, "hem", width=30, name="hem")])
    outside = notches(drawing, run="hem", at="crests")
    assert outside.scallops is not None
    assert outside.notches[0].points == pytest.approx(outside.scallops.crest)
    assert outside.warnings == ()
    for words in ({"at": "valleys"}, {"at": "crests", "on": "edge"}):
        assert "notches-inside" in [w.code for w in notches(drawing, run="hem", **words).warnings]
