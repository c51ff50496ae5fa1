"""The legend and the test square: what a print is held against, told once, and never taken for the pattern."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from lxml import etree

from scallopkit.document.beside import taken_by_others
from scallopkit.document.checking import check
from scallopkit.document.drawing import Drawing
from scallopkit.document.drawn import drawn_lines, drawn_texts
from scallopkit.document.kept import LEGEND, run_groups
from scallopkit.document.layer import read_groups, replace_groups
from scallopkit.document.legend import WORDS, with_legend
from scallopkit.document.path_data import read_path
from scallopkit.document.reader import read_drawing
from scallopkit.document.styles import LINES
from scallopkit.document.workshop import eyelets, facing, lacing, redrawn, save, scallop, with_runs
from scallopkit.errors import RequestError
from scallopkit.geometry.cubics import Array, bounds
from scallopkit.geometry.motion import apply

from ..drawings import UNITS, page, read

BOX = '<rect id="box" x="60" y="60" width="300" height="200"/>'


def faced(unit: float = 1.0) -> tuple[Drawing, bytes]:
    """A drawing as read, and written with a run that has a facing, without a legend."""
    x, width, height = 60.0 / unit, 300.0 / unit, 200.0 / unit
    body = f'<rect id="box" x="{x!r}" y="{x!r}" width="{width!r}" height="{height!r}"/>'
    drawing = read_drawing(page(body, unit, size=(800.0, 600.0)).encode(), "a.svg")
    run = scallop(drawing, "box:c3..c2", width=30, finish="faced", name="hem")
    drawing = read_drawing(with_runs(drawing, [run]), "a.svg")
    return drawing, with_runs(drawing, [facing(drawing, "hem", depth=40)])


def legend_of(source: bytes) -> etree._Element:
    (group,) = [one for one in etree.fromstring(source).iter("{*}g") if one.get("data-run") == LEGEND]
    return group


def words_of(source: bytes) -> list[str]:
    return ["".join(str(part) for part in text.itertext()) for text in legend_of(source).iter("{*}text")]


def square_of(source: bytes, drawing: Drawing) -> Array:
    """The corners of the test square's box, mm."""
    first = next(legend_of(source).iter("{*}path"))
    (line,) = read_path(first.get("d", ""), 1e-3).subpaths
    assert line.closed
    return np.array(bounds(apply(drawing.to_mm, line.curve)))


def test_every_role_has_its_words() -> None:
    assert set(WORDS) == set(LINES)


@pytest.mark.parametrize("unit", UNITS)
def test_the_square_is_as_large_as_it_says(unit: float) -> None:
    drawing, written = faced(unit)
    low, high = square_of(with_legend(drawing, written), drawing)
    # Coordinates are written in steps of 1e-5 mm.
    np.testing.assert_allclose(high - low, 100.0, atol=2e-5)
    assert "test square: 100 mm" in words_of(with_legend(drawing, written))


@pytest.mark.parametrize(
    ("size", "side"), [((560.0, 400.0), 100), ((420.0, 400.0), 100), ((440.0, 330.0), 50), ((420.0, 300.0), 20)]
)
def test_a_small_sheet_has_a_smaller_square(size: tuple[float, float], side: int) -> None:
    drawing = read_drawing(page(BOX, size=size).encode(), "a.svg")
    written = with_legend(drawing, with_runs(drawing, [scallop(drawing, "box", width=30, corner="wrap")]))
    low, high = square_of(written, drawing)
    np.testing.assert_allclose(high - low, side, atol=2e-5)
    assert (low >= 0.0).all()
    assert (high <= size).all()
    assert f"test square: {side} mm" in words_of(written)


def test_the_legend_tells_the_lines_in_use_and_no_others() -> None:
    drawing, written = faced()
    words = words_of(with_legend(drawing, written))
    there = {element.get("data-role") for element in etree.fromstring(written).iter("{*}*")}
    assert words[1:] == [WORDS[role] for role in LINES if role in there]
    assert {"stitching line", "facing, cutting line", "clip"} <= set(words)
    assert "cutting line" not in words


def test_the_line_of_a_raw_edge_is_one_to_cut_on() -> None:
    drawing = read_drawing(page(BOX, size=(800.0, 600.0)).encode(), "a.svg")
    raw = with_runs(drawing, [scallop(drawing, "box:c3..c2", width=30, finish="raw", name="hem")])
    assert words_of(with_legend(drawing, raw))[1:] == ["line to cut on"]
    # In the file its role stays what it was.
    assert b'data-role="stitching"' in raw
    # One line that is sewn is enough, and none is meant where a run is sewn.
    both = read_drawing(raw, "a.svg")
    mixed = with_runs(both, [scallop(both, "box:c0..c1", width=30, finish="stitched", name="top")])
    assert words_of(with_legend(both, mixed))[1:] == ["stitching line"]


def test_a_channel_on_a_piece_that_stays_raw_is_stitched() -> None:
    drawing = read_drawing(page(BOX, size=(800.0, 600.0)).encode(), "a.svg")
    raw = with_runs(drawing, [scallop(drawing, "box:c3..c2", width=30, finish="raw", name="hem")])
    row = read_drawing(raw, "a.svg")
    row = redrawn(row, [eyelets(row, run="hem", eyelet="4mm", margin="2mm")])
    laced = with_runs(row, [lacing(row, "hem", path="running", thickness="3mm", channel="12mm")])
    assert b"data-sewn-for" in laced
    assert "stitching line" in words_of(with_legend(row, laced))


def test_it_lies_on_nothing() -> None:
    drawing, written = faced()
    whole = with_legend(drawing, written)
    low, high = square_of(whole, drawing)
    there = read_drawing(whole, "a.svg")
    boxes = [bounds(piece.curve) for piece in there.pattern.pieces] + taken_by_others(there, [LEGEND])
    assert len(boxes) > 1
    for a, b in boxes:
        assert (low > b).any() or (high < a).any()


def test_it_is_no_part_of_the_pattern() -> None:
    drawing, written = faced()
    whole = with_legend(drawing, written)
    pieces = [piece.name for piece in read_drawing(whole, "a.svg").pattern.pieces]
    assert pieces == ["box"]
    assert [group.name for group in run_groups(whole)] == ["hem"]
    assert check(whole, "a.svg") == check(written, "a.svg")


def test_machines_and_pages_leave_it_out() -> None:
    """They would cut the test square, and pages have a legend of their own."""
    drawing, written = faced()
    whole = read_drawing(with_legend(drawing, written), "a.svg")
    there = read_drawing(written, "a.svg")
    assert len(drawn_lines(whole)) == len(drawn_lines(there)) > 0
    assert len(drawn_texts(whole)) == len(drawn_texts(there)) > 0


def test_it_is_there_once_and_stands_still() -> None:
    drawing, written = faced()
    once = with_legend(drawing, written)
    assert with_legend(drawing, once) == once
    assert [group.name for group in read_groups(once)] == ["hem", LEGEND]
    again = read_drawing(once, "a.svg")
    other = with_legend(again, with_runs(again, [scallop(again, "box:c0..c1", width=30, cut="straight:10mm")]))
    assert [group.name for group in read_groups(other)] == ["hem", LEGEND, "box:c0..c1"]


def test_once_left_out_it_stays_away_until_it_is_wanted() -> None:
    drawing, written = faced()
    without = with_legend(drawing, written, wanted=False)
    assert len(legend_of(without)) == 0
    assert with_legend(drawing, without) == without
    assert with_legend(drawing, without, wanted=True) == with_legend(drawing, written)


def test_it_goes_with_the_last_of_our_work() -> None:
    drawing, written = faced()
    emptied = replace_groups(with_legend(drawing, written), {}, ["hem"])
    assert read_groups(with_legend(drawing, emptied)) == ()
    assert with_legend(drawing, drawing.source) != drawing.source
    bare = read(BOX)
    assert with_legend(bare, bare.source) == bare.source


def test_no_run_takes_its_name() -> None:
    drawing = read(BOX)
    with pytest.raises(RequestError, match="legend"):
        with_runs(drawing, [scallop(drawing, "box", width=30, name=LEGEND)])


def test_what_is_saved_has_it_unless_told_not_to(tmp_path: Path) -> None:
    drawing = read(BOX)
    run = scallop(drawing, "box", width=30, name="rim")
    save(drawing, [run], tmp_path / "a.svg")
    save(drawing, [run], tmp_path / "b.svg", legend=False)
    assert [len(legend_of((tmp_path / name).read_bytes())) > 0 for name in ("a.svg", "b.svg")] == [True, False]
