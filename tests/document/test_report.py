"""The report: every key always there, in the drawing's own units, counted as sewn."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from typing import Any

import pytest
from svgpathtools import parse_path

from scallopkit import __version__
from scallopkit.document.drawing import Drawing
from scallopkit.document.lines import stitching_text
from scallopkit.document.reader import read_drawing
from scallopkit.document.report import report_of
from scallopkit.document.runs import Run
from scallopkit.document.workshop import eyelets, notches, redrawn, report_text, scallop
from scallopkit.geometry.motion import inverse
from scallopkit.pattern.piece import Warn

from ..drawings import BOX, INCH, LINE, QUARTER, ROUND, UNITS, marks, read

NUMBER = (int, float)
RUN: dict[str, Any] = {
    "name": str,
    "loop": bool,
    "length_mm": NUMBER,
    "count": NUMBER,
    "spans": [{"from": str, "to": str, "count": NUMBER, "width_mm": NUMBER, "length_mm": NUMBER, "holds": [str]}],
    "spread": (*NUMBER, None),
    "residual": (*NUMBER, None),
    "closure_mm": (*NUMBER, None),
    "joins": [{"kind": str, "at": str, "angle_deg": NUMBER, "dip_mm": (*NUMBER, None), "hold": str}],
    "valleys": [{"piece": str, "x": NUMBER, "y": NUMBER, "s_mm": NUMBER}],
    "crests": [{"piece": str, "x": NUMBER, "y": NUMBER, "s_mm": NUMBER}],
    "scallops": [
        {
            "index": int,
            "width_mm": NUMBER,
            "depth_mm": NUMBER,
            "radius_mm": (*NUMBER, None),
            "pieces": [str],
            "corner": bool,
        }
    ],
    "alternatives": [{"count": NUMBER, "width_mm": NUMBER, "change": NUMBER}],
    "eyelets": [{"piece": str, "x": NUMBER, "y": NUMBER, "opening_mm": NUMBER, "flange_mm": NUMBER}],
    "notches": [{"piece": str, "x": NUMBER, "y": NUMBER, "kind": str, "length_mm": NUMBER}],
    "clips": [{"piece": str, "x": NUMBER, "y": NUMBER}],
    "wedges": [{"piece": str, "x": NUMBER, "y": NUMBER}],
    "totals": {
        "scallops": NUMBER,
        "stitching_mm": NUMBER,
        "edge_mm": NUMBER,
        "clips": NUMBER,
        "eyelets": NUMBER,
        "cord_mm": NUMBER,
    },
    "cautions": [str],
}
WARNING = {
    "code": str,
    "message": str,
    "run": (str, None),
    "piece": (str, None),
    "x": (*NUMBER, None),
    "y": (*NUMBER, None),
}
REPORT = {"scallopkit": str, "input": str, "runs": [RUN], "warnings": [WARNING]}


def mismatch(value: Any, wanted: Any, at: str = "report") -> str | None:  # noqa: ANN401  # any JSON
    """Where a JSON value is not of the shape wanted, if anywhere: keys may be added, none may be missing."""
    if isinstance(wanted, dict):
        if not isinstance(value, dict):
            return f"{at} is no object"
        missing = wanted.keys() - value.keys()
        return (
            f"{at} lacks {sorted(missing)}"
            if missing
            else _first(mismatch(value[k], w, f"{at}.{k}") for k, w in wanted.items())
        )
    if isinstance(wanted, list):
        if not isinstance(value, list):
            return f"{at} is no list"
        return _first(mismatch(v, wanted[0], f"{at}[{i}]") for i, v in enumerate(value))
    kinds = wanted if isinstance(wanted, tuple) else (wanted,)
    if value is None:
        return None if None in kinds else f"{at} is null"
    # To Python a bool is an int, to a reader of JSON it is not.
    fits = isinstance(value, tuple(k for k in kinds if k)) and (bool in kinds or not isinstance(value, bool))
    return None if fits else f"{at} is {value!r}"


def _first(found: Any) -> str | None:  # noqa: ANN401  # any iterable of texts and None
    return next((one for one in found if one), None)


def report(drawing: Drawing, *runs: Run) -> dict[str, Any]:
    out: dict[str, Any] = json.loads(report_text(drawing, runs))
    return out


def only(drawing: Drawing, run: Run) -> dict[str, Any]:
    (entry,) = report(drawing, run)["runs"]
    return entry  # type: ignore[no-any-return]  # JSON


def _with_eyelets(drawing: Drawing) -> Drawing:
    drawing = redrawn(drawing, [scallop(drawing, width=60)])
    return redrawn(drawing, [eyelets(drawing, run="hem", eyelet=8)])


# --- keys and types -------------------------------------------------------------------------------------------------

MAKERS: dict[str, tuple[str, Callable[[Drawing], Run]]] = {
    "scallops": (LINE, lambda d: scallop(d, width=30)),
    "no arcs": (LINE, lambda d: scallop(d, width=30, profile="wave")),
    "halves": (LINE, lambda d: scallop(d, width=30, start="fold", end="crest")),
    "loop": (ROUND, lambda d: scallop(d, width=30)),
    "corners": (BOX, lambda d: scallop(d, width=30, depth="30%", corner="wrap")),
    "notches only": (LINE, lambda d: notches(d, "hem", at="parts:4")),
    "eyelets only": (LINE, lambda d: eyelets(d, "hem", eyelet=8, spacing=30, inset=20)),
    "one notch round": (ROUND, lambda d: notches(d, "round", at="parts:1")),
    "all on one": (LINE, lambda d: notches(_with_eyelets(d), run="hem", at="crests")),
}


@pytest.mark.parametrize("name", MAKERS)
def test_every_key_is_there_with_its_type(name: str) -> None:
    body, make = MAKERS[name]
    drawing = read(body)
    assert mismatch(report(drawing, make(drawing)), REPORT) is None


def test_a_report_without_runs() -> None:
    drawing = read(LINE)
    nothing: dict[str, list[Any]] = {"runs": [], "pieces": [], "straps": [], "matches": [], "warnings": []}
    assert report(drawing) == {"scallopkit": __version__, "input": "a.svg", **nothing}


@pytest.mark.parametrize(
    ("value", "wanted"),
    [
        ({}, {"a": int}),
        ({"a": True}, {"a": int}),
        ({"a": None}, {"a": int}),
        ([{"a": "1"}], [{"a": NUMBER}]),
        (3, [int]),
    ],
)
def test_the_comparer_finds_what_does_not_fit(value: object, wanted: object) -> None:
    assert mismatch(value, wanted) is not None


def test_a_run_of_notches_only_has_nothing_to_say_of_scallops() -> None:
    drawing = read(LINE)
    entry = only(drawing, notches(drawing, "hem", at="parts:4"))
    assert (entry["count"], entry["spread"], entry["residual"], entry["closure_mm"]) == (0, None, None, None)
    for key in ("spans", "joins", "valleys", "crests", "scallops", "alternatives", "eyelets", "clips", "wedges"):
        assert entry[key] == []
    assert [(n["x"], n["y"], n["s_mm"], n["kind"], n["length_mm"]) for n in entry["notches"]] == [
        (pytest.approx(x, abs=1e-6), 20.0, pytest.approx(x - 10.0, abs=1e-6), "snip", 3.0) for x in (85.0, 160.0, 235.0)
    ]
    assert entry["totals"]["scallops"] == entry["totals"]["stitching_mm"] == 0
    assert entry["totals"]["edge_mm"] == pytest.approx(300.0, abs=1e-6)


# --- figures --------------------------------------------------------------------------------------------------------


def test_the_figures_of_a_plain_run() -> None:
    drawing = read(LINE)
    entry = only(drawing, scallop(drawing, width=29, depth="40%"))
    assert (entry["name"], entry["loop"], entry["count"]) == ("hem", False, 10)
    assert entry["spans"] == [
        {
            "from": "start",
            "to": "end",
            "count": 10,
            "width_mm": 30.0,
            "length_mm": 300.0,
            "holds": ["valley", "valley"],
        }
    ]
    assert [p["x"] for p in entry["valleys"]] == pytest.approx([10.0 + 30.0 * i for i in range(11)], abs=1e-6)
    assert [p["s_mm"] for p in entry["valleys"]] == pytest.approx([30.0 * i for i in range(11)], abs=1e-6)
    assert [(p["x"], p["y"]) for p in entry["crests"]] == [
        pytest.approx((25.0 + 30.0 * i, 8.0), abs=1e-6) for i in range(10)
    ]
    assert [p["s_mm"] for p in entry["crests"]] == pytest.approx([15.0 + 30.0 * i for i in range(10)], abs=1e-6)
    assert [s["index"] for s in entry["scallops"]] == list(range(1, 11))
    for one in entry["scallops"]:
        assert (one["width_mm"], one["depth_mm"]) == pytest.approx((30.0, 12.0), abs=1e-6)
        # Circular segment: r = (c² + 4 h²) / 8 h.
        assert one["radius_mm"] == pytest.approx((900.0 + 4.0 * 144.0) / 96.0, abs=1e-6)
        assert (one["pieces"], one["corner"]) == (["hem"], False)
    assert [(a["count"], a["width_mm"]) for a in entry["alternatives"]] == [
        (9, pytest.approx(300.0 / 9.0, abs=1e-6)),
        (11, pytest.approx(300.0 / 11.0, abs=1e-6)),
    ]
    assert [a["change"] for a in entry["alternatives"]] == pytest.approx(
        [300 / 9 / 29 - 1, 300 / 11 / 29 - 1], abs=1e-9
    )
    assert (entry["spread"], entry["joins"], entry["closure_mm"]) == (0.0, [], 0.0)
    assert entry["residual"] <= 1e-9
    # Arc length r theta with theta = 4 atan(2 h / c).
    stitching = 10 * (1476.0 / 96.0) * 4.0 * math.atan(0.8)
    assert entry["totals"] == {
        "scallops": 10,
        "stitching_mm": pytest.approx(stitching, abs=1e-5),
        "edge_mm": 300.0,
        "clips": 0,
        "wedges": 0,
        "eyelets": 0,
        "parts": {"eyelet": 0, "buttonhole": 0, "snap": 0, "button": 0},
        "cord_mm": 0.0,
        "trim_mm": 0.0,
    }


def test_the_spread_is_over_the_target() -> None:
    drawing = read(LINE + marks(dart=(111.0, 20.0)))
    entry = only(drawing, scallop(drawing, "hem", width=27, hold=["dart=valley"]))
    widths = [span["width_mm"] for span in entry["spans"]]
    assert widths == pytest.approx([101.0 / 4, 199.0 / 7], abs=1e-6)
    assert entry["spread"] == pytest.approx((199.0 / 7 - 101.0 / 4) / 27.0, abs=1e-9)


def test_corner_scallops_are_told_apart() -> None:
    """The napkin 420 mm square with 13 a side: a closed form, 29.13 mm (the wrapped corner's own condition)."""
    drawing = read('<rect id="napkin" x="10" y="10" width="420" height="420"/>')
    entry = only(drawing, scallop(drawing, width=30, depth="33.3333333%", corner="wrap"))
    assert entry["count"] == 56
    assert sum(s["corner"] for s in entry["scallops"]) == 4
    assert {round(s["width_mm"], 2) for s in entry["scallops"] if not s["corner"]} == {29.13}
    # L = n w + 2 a + w with a = r - h.
    plain = next(s for s in entry["scallops"] if not s["corner"])
    a = plain["radius_mm"] - plain["depth_mm"]
    assert 13 * plain["width_mm"] + 2 * a + plain["width_mm"] == pytest.approx(420.0, abs=1e-4)
    assert next(s for s in entry["scallops"] if s["corner"])["width_mm"] == pytest.approx(
        math.sqrt(2.0) * (a + plain["width_mm"] / 2.0), abs=1e-4
    )


@pytest.mark.parametrize("profile", ["arc", "half-circle", "pointed-arch", "double-curve", "point", "wave"])
def test_the_stitching_s_length_is_that_of_the_line(profile: str) -> None:
    drawing = read(BOX)
    run = scallop(drawing, "box:c0..c1", width=28, profile=profile)
    assert run.scallops is not None
    line = parse_path(stitching_text(run.line, run.shares[0], lambda _: inverse(drawing.to_mm)))
    assert only(drawing, run)["totals"]["stitching_mm"] == pytest.approx(line.length(error=1e-7), abs=1e-3)


def test_the_stitching_s_length_with_wrapped_corners() -> None:
    drawing = read(BOX)
    run = scallop(drawing, width=30, depth="30%", corner="wrap")
    assert run.scallops is not None
    line = parse_path(stitching_text(run.line, run.shares[0], lambda _: inverse(drawing.to_mm)))
    assert only(drawing, run)["totals"]["stitching_mm"] == pytest.approx(line.length(), abs=1e-2)


# --- the drawing's units --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", UNITS)
def test_places_are_in_root_user_units_and_lengths_in_mm(unit: float) -> None:
    drawing = read(f'<path id="hem" d="M {10 / unit!r},{20 / unit!r} H {310 / unit!r}"/>', unit)
    entry = only(drawing, scallop(drawing, width="30mm"))
    assert entry["length_mm"] == pytest.approx(300.0, abs=2e-6)
    assert [(p["x"] * unit, p["y"] * unit) for p in entry["valleys"]] == [
        pytest.approx((10.0 + 30.0 * i, 20.0), abs=1e-6) for i in range(11)
    ]
    assert entry["scallops"][0]["width_mm"] == pytest.approx(30.0, abs=2e-6)


def test_a_view_box_with_an_offset() -> None:
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="-100 -50 200 150">'
    drawing = read_drawing(f'{head}<path id="hem" d="M -90,-40 H 60"/></svg>'.encode(), "a.svg")
    entry = only(drawing, scallop(drawing, width="30mm"))
    assert entry["length_mm"] == pytest.approx(300.0, abs=1e-6)
    assert [p["x"] for p in entry["valleys"]] == pytest.approx([-90.0 + 15.0 * i for i in range(11)], abs=1e-6)
    assert [p["y"] for p in entry["valleys"]] == pytest.approx([-40.0] * 11, abs=1e-6)


def test_eyelets_notches_and_warnings_too() -> None:
    drawing = read(f'<path id="hem" d="M 1,2 h 12"/>{marks(lost=(15.0, 16.0))}', INCH)
    run = eyelets(drawing, "hem", eyelet=8, count=5, ends="1in", inset="0.5in")
    assert [(e["x"], e["y"]) for e in only(drawing, run)["eyelets"]] == [
        pytest.approx((2.0 + 2.5 * i, 2.5), abs=1e-6) for i in range(5)
    ]
    assert {(e["opening_mm"], e["scallop"]) for e in only(drawing, run)["eyelets"]} == {(8.0, None)}
    cut = notches(drawing, "hem", at="parts:2", kind="v", length="0.25in")
    assert [(n["x"], n["y"], n["length_mm"], n["kind"]) for n in only(drawing, cut)["notches"]] == [
        (pytest.approx(7.0, abs=1e-6), pytest.approx(2.0, abs=1e-6), pytest.approx(6.35, abs=1e-6), "v")
    ]
    told = report_of(drawing, [], [Warn("a-code", "words", "hem", 25.4, 50.8)])["warnings"]
    assert told == [
        {
            "code": "a-code",
            "message": "words",
            "run": None,
            "piece": "hem",
            "x": pytest.approx(1.0),
            "y": pytest.approx(2.0),
        }
    ]


def test_warnings_name_their_run() -> None:
    drawing = read(LINE + '<path id="near" d="M 10,15 H 310"/>' + marks(lost=(15.0, 300.0)))
    run = scallop(drawing, "hem", width=30, name="wavelets")
    told = [(w["run"], w["code"]) for w in report_of(drawing, [run])["warnings"]]
    assert {name for name, _ in told} == {"wavelets"}
    assert len(told) == len(run.warnings) > 0


# --- folds and totals -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("start", "end", "copies"), [("", "", 1), ("fold", "", 2), ("", "fold", 2), ("fold", "fold", 4)]
)
def test_totals_are_counted_as_sewn(start: str, end: str, copies: int) -> None:
    drawing = read(QUARTER)
    run = scallop(drawing, "quarter:c1..c2", width=40, depth="30%", start=start, end=end)
    entry = only(drawing, run)
    totals = entry["totals"]
    assert totals["scallops"] == copies * entry["count"]
    assert totals["scallops"] == int(totals["scallops"])
    assert totals["edge_mm"] == pytest.approx(copies * 150.0 * math.pi, rel=1e-8)
    assert run.scallops is not None
    line = parse_path(stitching_text(run.line, run.shares[0], lambda _: inverse(drawing.to_mm)))
    assert totals["stitching_mm"] == pytest.approx(copies * line.length(), abs=1e-2)


def test_a_quarter_counts_as_the_whole_circle_would() -> None:
    drawing = read(QUARTER + '<circle id="whole" cx="0" cy="0" r="300"/>')
    quarter = only(drawing, scallop(drawing, "quarter:c1..c2", count=12, depth="30%", start="fold", end="fold"))
    whole = only(drawing, scallop(drawing, "whole", count=48, depth="30%"))
    assert quarter["totals"] == {
        key: pytest.approx(value, rel=1e-8) if isinstance(value, float) else value
        for key, value in whole["totals"].items()
    }


def test_joins_at_folds() -> None:
    drawing = read(QUARTER)
    run = scallop(drawing, "quarter:c1..c2", width=40, depth="30%", start="fold", end="fold:valley")
    assert [(j["kind"], j["at"], j["hold"]) for j in only(drawing, run)["joins"]] == [
        ("fold", "c1", "crest"),
        ("fold", "c2", "valley"),
    ]
    assert all(abs(j["angle_deg"]) < 1e-5 for j in only(drawing, run)["joins"])


def test_the_kink_at_a_fold_that_is_not_square() -> None:
    """An edge that meets the fold 3 degrees off square turns by 6 degrees where it is opened."""
    drop = 300.0 * math.tan(math.radians(3.0))
    drawing = read(f'<path id="bib" d="M 0,0 H 300 V {150.0 + drop!r} L 0,150 Z"/>')
    run = scallop(drawing, "bib:c3..c2", width=30, depth="20%", start="fold")
    (join,) = only(drawing, run)["joins"]
    assert join["angle_deg"] == pytest.approx(6.0, abs=1e-6)
    assert only(drawing, run)["closure_mm"] <= 1e-6


@pytest.mark.parametrize(
    ("start", "end", "eyelets_sewn"),
    [
        # 300 mm and six eyelets, the first and the last on the ends.
        ("", "", 6),
        ("fold", "", 1 + 2 * 5),
        ("fold", "fold", 2 + 4 * 4 + 2),
    ],
)
def test_an_eyelet_on_a_fold_is_there_once(start: str, end: str, eyelets_sewn: int) -> None:
    drawing = read(LINE)
    run = eyelets(drawing, "hem", eyelet=8, count=6, inset=20, start=start, end=end)
    entry = only(drawing, run)
    assert len(entry["eyelets"]) == 6
    assert entry["totals"]["eyelets"] == eyelets_sewn


def test_an_eyelet_in_half_a_scallop_on_a_fold_is_there_once() -> None:
    drawing = read(LINE)
    run = scallop(drawing, "hem", width=60, start="fold")
    entry = only(drawing, eyelets(redrawn(drawing, [run]), run="hem", eyelet=8))
    # Five whole scallops and a half: eleven scallops once the fold is opened, with an eyelet each.
    assert entry["count"] == 5.5
    assert len(entry["eyelets"]) == entry["count"] + 0.5
    assert entry["totals"]["eyelets"] == entry["totals"]["scallops"] == 2 * entry["count"]
    assert entry["eyelets"][0]["x"] == pytest.approx(10.0, abs=1e-6)


def test_the_same_drawing_gives_the_same_report() -> None:
    texts = {report_text(drawing, [scallop(drawing, width=30)]) for drawing in (read(ROUND), read(ROUND))}
    assert len(texts) == 1
