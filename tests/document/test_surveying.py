"""The survey as figures in the drawing's own units, and as tables."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest

from scallopkit import __version__
from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing
from scallopkit.document.surveying import survey_entry, survey_tables
from scallopkit.document.workshop import redrawn, scallop

from ..drawings import BOX, INCH, LINE, UNITS, marks, page, read

KEYS = {"scallopkit", "input", "size_mm", "pieces", "joins", "runs", "skipped", "warnings"}
PIECE_KEYS = {"name", "names", "closed", "width_mm", "height_mm", "length_mm", "corners", "edges", "marks"}


def entry(drawing: Drawing) -> dict[str, Any]:
    """The entry as a program that reads JSON gets it."""
    out: dict[str, Any] = json.loads(json.dumps(survey_entry(drawing), allow_nan=False))
    return out


def test_an_empty_drawing_has_every_key() -> None:
    assert entry(read("")) == {
        "scallopkit": __version__,
        "input": "a.svg",
        "size_mm": [600.0, 500.0],
        "pieces": [],
        "joins": [],
        "runs": [],
        "skipped": [],
        "warnings": [],
    }


def test_a_drawing_that_does_not_say_how_large_it_is() -> None:
    drawing = read_drawing(b'<svg xmlns="http://www.w3.org/2000/svg"><path id="a" d="M0 0H96"/></svg>', "a.svg")
    found = entry(drawing)
    assert found["size_mm"] is None
    assert found["pieces"][0]["length_mm"] == pytest.approx(25.4, abs=1e-6)


@pytest.mark.parametrize("unit", UNITS)
def test_coordinates_are_the_root_s_and_lengths_are_mm(unit: float) -> None:
    x, y, width, height = (v / unit for v in (10.0, 20.0, 300.0, 200.0))
    body = f'<rect id="box" x="{x!r}" y="{y!r}" width="{width!r}" height="{height!r}"/>'
    body += marks(side=((10.0 + 300.0 + 1.5) / unit, 70.0 / unit))
    (box,) = entry(read(body, unit))["pieces"]
    assert set(box) == PIECE_KEYS
    assert (box["name"], box["names"], box["closed"]) == ("box", ["box"], True)
    assert (box["width_mm"], box["height_mm"], box["length_mm"]) == pytest.approx((300.0, 200.0, 1000.0), abs=2e-6)
    assert [(c["x"], c["y"]) for c in box["corners"]] == [
        pytest.approx((a, b), abs=1e-8) for a, b in [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
    ]
    assert [(c["name"], c["s_mm"], c["turn_deg"]) for c in box["corners"]] == [
        (f"c{i}", pytest.approx(s, abs=2e-6), pytest.approx(90.0, abs=1e-4))
        for i, s in enumerate((0.0, 300.0, 500.0, 800.0))
    ]
    assert [(e["from"], e["to"], round(e["length_mm"], 5)) for e in box["edges"]] == [
        ("c0", "c1", 300.0),
        ("c1", "c2", 200.0),
        ("c2", "c3", 300.0),
        ("c3", "c0", 200.0),
    ]
    (side,) = box["marks"]
    assert (side["x"] * unit, side["y"] * unit) == pytest.approx((310.0, 70.0), abs=1e-6)
    assert (side["s_mm"], side["distance_mm"]) == pytest.approx((350.0, 1.5), abs=2e-6)
    assert (side["name"], side["corner"]) == ("side", None)


def test_coordinates_are_the_root_s_whatever_groups_lie_between() -> None:
    body = f'<g transform="translate(50 60)"><g transform="rotate(90) scale(2)">{LINE}</g></g>'
    (line,) = entry(read(body + marks(m=(50.0 - 40.0, 60.0 + 20.0))))["pieces"]
    assert line["length_mm"] == pytest.approx(600.0, abs=1e-6)
    assert (line["marks"][0]["x"], line["marks"][0]["y"]) == pytest.approx((10.0, 80.0), abs=1e-6)
    assert line["marks"][0]["corner"] == "start"


def test_runs_skipped_things_and_warnings_are_listed() -> None:
    drawing = read(LINE + '<image id="photo" width="9" height="9"/>' + marks(lost=(400.0, 400.0)))
    found = entry(redrawn(drawing, [scallop(drawing, "hem", width=30, name="wavelets")]))
    assert found["runs"] == ["wavelets"]
    assert [piece["name"] for piece in found["pieces"]] == ["hem"]
    assert any("photo" in row["what"] and row["why"] for row in found["skipped"])
    (stray,) = [w for w in found["warnings"] if w["code"] == "stray-mark"]
    assert set(stray) == {"code", "message", "run", "piece", "x", "y"}
    assert (stray["run"], stray["x"], stray["y"]) == (None, 400.0, 400.0)


def test_a_warning_s_place_is_in_root_units_too() -> None:
    found = entry(read(f'<path id="a" d="M 1,1 H 10"/>{marks(lost=(15.0, 16.0))}', INCH))
    assert [(w["x"], w["y"]) for w in found["warnings"]] == [pytest.approx((15.0, 16.0), abs=1e-6)]


def test_tables_in_a_pipe_are_parted_by_tabs() -> None:
    drawing = read(BOX + marks(side=(310.0, 70.0), lost=(500.0, 400.0)) + '<image id="photo" width="9" height="9"/>')
    text = survey_tables(redrawn(drawing, [scallop(drawing, "box:c0..c1", width=30, name="top")]), terminal=False)
    rows = [line.split("\t") for line in text.splitlines()]
    assert ["box", "closed", "300.0 x 200.0", "1000.00", ""] in rows
    assert ["box", "c0..c1", "300.00"] in rows
    assert ["box", "c2", "500.00", "+90.0", "310.0", "220.0"] in rows
    assert ["box", "side", "350.00", "0.00", ""] in rows
    assert ["run in the drawing"] in rows
    assert ["top"] in rows
    assert any(row[0].startswith("warning (stray-mark): ") for row in rows)
    assert any("photo" in row[0] for row in rows)
    assert "\x1b" not in text


def test_tables_on_a_terminal_are_aligned() -> None:
    text = survey_tables(read(BOX), terminal=True)
    assert "\t" not in text
    head, rule, row = text.splitlines()[:3]
    assert set(rule) == {"-", " "}
    # A column of numbers stands to the right, under the end of its heading.
    assert head.index("length mm") + len("length mm") == row.index("1000.00") + len("1000.00")


def test_the_same_drawing_gives_the_same_survey() -> None:
    text = page(BOX + marks(side=(310.0, 70.0))).encode()
    assert survey_entry(read_drawing(text, "a")) == survey_entry(read_drawing(text, "a"))


def test_an_empty_drawing_as_tables() -> None:
    assert survey_tables(read(""), terminal=False) == "piece\toutline\tsize mm\tlength mm\talso called"


def test_figures_hold_no_noise() -> None:
    """Coordinates stop at 1e-9 user units, lengths at 1e-6 mm: what is exact in the drawing is exact in the figures."""
    found = entry(read(BOX))["pieces"][0]
    assert [(c["x"], c["y"]) for c in found["corners"]] == [(10.0, 20.0), (310.0, 20.0), (310.0, 220.0), (10.0, 220.0)]
    assert math.fsum(e["length_mm"] for e in found["edges"]) == found["length_mm"] == 1000.0


# Two pieces whose side seams bear the same marks; the back's is 4 mm longer. Labels, since ids are given only once.
SIDES = (
    '<rect id="back" x="10" y="20" width="120" height="204"/><rect id="front" x="310" y="20" width="140" height="200"/>'
    '<g id="marks">'
    + "".join(
        f'<circle inkscape:label="{name}" cx="{x}" cy="{y}" r="0.5"/>'
        for name, x, y in [("arm", 130, 20), ("hem", 130, 224), ("arm", 310, 20), ("hem", 310, 220)]
    )
    + "</g>"
)
EASE = ["marks of the same names at both ends", "the first is 4.0 mm (2.0 %) longer: ease"]


@pytest.mark.parametrize("turn", ["", ' transform="rotate(30) translate(20 7)"'])
def test_joins_are_proposed_with_their_lengths_and_reasons(turn: str) -> None:
    assert entry(read(f"<g{turn}>{SIDES}</g>"))["joins"] == [
        {
            "kind": "seam",
            "first": "back:arm..hem",
            "second": "front:arm..hem",
            "first_mm": 204.0,
            "second_mm": 200.0,
            "reasons": EASE,
            "first_parts": ["back:arm..hem"],
            "second_parts": ["front:arm..hem"],
            "first_darts": [],
            "second_darts": [],
        }
    ]


# The front's side has a dart, its legs 60 mm long, between parts of 80 and 120 mm.
DARTED = (
    SIDES.split("<rect", 1)[0]
    + '<rect id="back" x="10" y="20" width="120" height="200"/>'
    + '<path id="front" d="M 310,20 H 450 V 230 H 310 V 110 L 369.162,105 L 310,100 Z"/>'
    + '<g id="marks">'
    + "".join(
        f'<circle inkscape:label="{name}" cx="{x}" cy="{y}" r="0.5"/>'
        for name, x, y in [("arm", 130, 20), ("hem", 130, 220), ("arm", 310, 20), ("hem", 310, 230)]
    )
    + "</g>"
)


def test_a_seam_with_a_dart_in_it_is_told_by_what_is_sewn() -> None:
    dart, seam = sorted(entry(read(DARTED))["joins"], key=lambda join: join["kind"])
    assert dart["kind"] == "dart"
    assert (seam["first"], seam["second"]) == ("back:arm..hem", "front:arm..hem")
    assert (seam["first_mm"], seam["second_mm"]) == (200.0, 200.0)
    assert seam["second_parts"] == ["front:arm..c6", "front:c4..hem"]
    assert (seam["first_darts"], seam["second_darts"]) == ([], ["c5"])
    assert seam["reasons"][-1] == "the second with its dart closed"
    rows = [line.split("\t") for line in survey_tables(read(DARTED), terminal=False).splitlines()]
    assert ["seam", "back:arm..hem", "front:arm..c6 + front:c4..hem", "200.00", "200.00"] in [row[:5] for row in rows]


def test_where_no_seam_is_found_what_helps_is_said() -> None:
    two = BOX + '<rect id="other" x="10" y="320" width="300" height="170"/>'
    assert survey_tables(read(two), terminal=False).splitlines()[-1].startswith("no seams found: give the marks")
    for of in (BOX, LINE, SIDES):
        assert "no seams found" not in survey_tables(read(of), terminal=False)


def test_the_table_of_joins() -> None:
    rows = [line.split("\t") for line in survey_tables(read(SIDES), terminal=False).splitlines()]
    at = rows.index(["join", "edge", "with edge", "length mm", "length mm", "because"])
    assert rows[at + 1] == ["seam", "back:arm..hem", "front:arm..hem", "204.00", "200.00", "; ".join(EASE)]
    assert "join" not in [line.split("\t")[0] for line in survey_tables(read(BOX), terminal=False).splitlines()]


def test_a_dart_in_inches() -> None:
    dart = '<path id="skirt" d="M 0,0 H 4 L 4.4,4.2 L 4.8,0 H 9 V 18 H 0 Z"/>'
    (join,) = entry(read(dart, INCH))["joins"]
    assert (join["kind"], join["first"], join["second"]) == ("dart", "skirt:c1..c2", "skirt:c3..c2")
    assert join["first_mm"] == join["second_mm"] == pytest.approx(25.4 * math.hypot(0.4, 4.2), abs=1e-6)
