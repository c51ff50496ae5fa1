"""Rows of different runs that lie on each other on one piece."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from scallopkit.cli import app
from scallopkit.document.drawing import Drawing
from scallopkit.document.examining import examine
from scallopkit.document.reader import read_drawing
from scallopkit.document.report import report_of
from scallopkit.document.workshop import eyelets, made_runs, redrawn, with_runs

BOX = """<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">
  <path id="box" stroke="black" d="M 20 20 H 320 V 220 H 20 Z"/></svg>"""


@pytest.fixture
def rowed() -> Drawing:
    drawing = read_drawing(BOX.encode(), "box.svg")
    return redrawn(drawing, [eyelets(drawing, "box:c0..c1", eyelet="5mm", count=6, name="first")])


def codes(drawing: Drawing, along: str, inset: str = "") -> list[str]:
    run = eyelets(drawing, along, eyelet="5mm", name="second", count=6, inset=inset)
    return [warn.code for warn in run.warnings]


def test_the_same_row_twice_is_told(rowed: Drawing) -> None:
    run = eyelets(rowed, "box:c0..c1", eyelet="5mm", count=6, name="second")
    (warn,) = [warn for warn in run.warnings if warn.code == "parts-meet"]
    assert "(6 of them)" in warn.message
    assert warn.piece == "box"


def test_rows_that_cross_at_a_corner_are_told_at_the_place(rowed: Drawing) -> None:
    run = eyelets(rowed, "box:c1..c2", part="buttonhole", button="12mm", count=4, name="second")
    told = [warn for warn in run.warnings if warn.code == "parts-meet"]
    # Both rows keep as far from the corner as from their edges, so that the first of one is the last of the other.
    assert len(told) == 1
    assert (told[0].x, told[0].y) == pytest.approx((309.0, 31.0), abs=6.0)


def test_rows_apart_are_not(rowed: Drawing) -> None:
    assert "parts-meet" not in codes(rowed, "box:c2..c3")
    assert "parts-meet" not in codes(rowed, "box:c0..c1", inset="60mm")


def test_buttonholes_take_their_own_room_and_not_that_of_a_circle(rowed: Drawing) -> None:
    # 5 mm across the slit, and the flange of 10 mm: 7.5 mm from middle to middle they touch.
    near, far = (
        eyelets(rowed, "box:c0..c1", part="buttonhole", button="18mm", count=6, name="second", inset=inset)
        for inset in ("18.4mm", "18.6mm")
    )
    inset = rowed_inset(rowed)
    assert inset == pytest.approx(11.0)
    assert [warn.code for warn in near.warnings if warn.code == "parts-meet"] == ["parts-meet"]
    assert [warn.code for warn in far.warnings if warn.code == "parts-meet"] == []


def rowed_inset(drawing: Drawing) -> float:
    """How far the middles of the first row lie inside its edge."""
    (run,) = made_runs(drawing)
    return float(run.eyelets[0].points[0, 1] - run.course.measured.points(run.eyelets[0].s[:1])[0, 1])


@pytest.mark.parametrize(("inset", "apart"), [("", -10.0), ("31mm", 10.0), ("21mm", 0.0)])
def test_check_finds_how_far_rows_stand_apart(rowed: Drawing, inset: str, apart: float) -> None:
    run = eyelets(rowed, "box:c0..c1", eyelet="5mm", count=6, name="second", inset=inset)
    data = with_runs(rowed, [run])
    (found,) = [one for one in examine(data, "box.svg") if one.what == "rows-apart"]
    assert (found.run, found.limit, found.unit) == ("second", 0.0, "mm")
    assert found.value == pytest.approx(apart, abs=1e-6)
    assert found.ok is (apart >= 0.0)
    assert '"first", "box" at ' in found.where
    assert ("two parts can't be set through one place" in found.message) is not found.ok
    (set_,) = [one for one in examine(data, "box.svg", {"rows-apart": "11mm"}) if one.what == "rows-apart"]
    assert not set_.ok


def test_a_button_on_its_buttonhole_is_no_finding() -> None:
    drawing = read_drawing(BOX.encode(), "box.svg")
    holes = eyelets(drawing, "box:c0..c1", part="buttonhole", button="12mm", count=4, inset="30mm", name="holes")
    drawing = redrawn(drawing, [holes])
    buttons = eyelets(drawing, "box:c0..c1", part="button", button="12mm", count=4, inset="30mm", name="buttons")
    assert [one for one in examine(with_runs(drawing, [buttons]), "box.svg") if one.what == "rows-apart"] == []


def test_refit_tells_of_rows_that_meet_now(rowed: Drawing, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run = eyelets(rowed, "box:c0..c1", eyelet="5mm", count=6, name="second", inset="60mm")
    across = eyelets(rowed, "box:c2..c3", eyelet="5mm", count=6, name="third", inset="11mm")
    data = with_runs(rowed, [run, across])
    assert report_of(rowed, [run, across])["warnings"] == []
    # The piece is made so low that the row along its other side lies on this one.
    (tmp_path / "box.svg").write_bytes(data.replace(b"V 220 H 20 Z", b"V 91 H 20 Z"))
    words = ["refit", str(tmp_path / "box.svg"), "-o", str(tmp_path / "again.svg")]
    app([*words, "--report", str(tmp_path / "again.json")], standalone_mode=False)
    assert "warning (parts-meet): " in capsys.readouterr().err
    told = json.loads((tmp_path / "again.json").read_text(encoding="utf-8"))["warnings"]
    assert [one["code"] for one in told if one["code"] == "parts-meet"] == ["parts-meet"]
