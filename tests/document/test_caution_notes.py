"""Cautions on the drawing: there where a cord or a loose part is planned, beside all else, and gone with it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree

from scallopkit.document.drawing import Drawing
from scallopkit.document.drawn import drawn_lines, drawn_texts
from scallopkit.document.layer import replace_groups
from scallopkit.document.legend import with_legend
from scallopkit.document.lettering import text_extent
from scallopkit.document.making import make_job
from scallopkit.document.reader import read_drawing
from scallopkit.document.sheet_places import off_page
from scallopkit.document.workshop import eyelets, facing, lacing, refit, scallop, strap, with_runs
from scallopkit.geometry.cubics import Array, bounds
from tests.drawings import BOX, page

CORD = {"name": "ties", "along": "box:c3..c2", "fold": "cord"}
SIZE = (1200.0, 1200.0)
CLOSING = "Local rules and licensed testing decide"


def large() -> Drawing:
    """A drawing with room beside its piece."""
    return read_drawing(page(BOX, size=SIZE).encode(), "a.svg")


def words_in(data: bytes) -> str:
    """All that is written on a drawing, but for its recipes."""
    return " ".join(words for text in drawn_texts(read_drawing(data, "a.svg")) for words, _ in text.rows)


def note_boxes(data: bytes) -> list[Array]:
    """The boxes of what is written beside the pattern at its left: cautions."""
    notes = [text for text in drawn_texts(read_drawing(data, "a.svg")) if "caution: " in words_in_one(text.rows)]
    out = []
    for note in notes:
        lines = [words for words, _ in note.rows]
        corner = note.rows[0][1] - np.array([0.0, note.size])
        out.append(np.stack([corner, corner + np.array(text_extent(lines, note.size))]))
    return out


def words_in_one(rows: Sequence[tuple[str, Array]]) -> str:
    return " ".join(words for words, _ in rows)


def overlap(a: Array, b: Array) -> bool:
    return bool((a[0] < b[1]).all() and (b[0] < a[1]).all())


@pytest.mark.parametrize(
    ("words", "sources"),
    [
        # EN 14682:2014 and 16 CFR 1120 as the cautions name them; 16 CFR 1260 for windows; 16 CFR 1501 for small parts.
        ({"eyelet": "e8", "cord": 6}, ("EN 14682:2014", "16 CFR 1120", CLOSING)),
        ({"eyelet": "e8", "wearer": "child, under 7"}, ("16 CFR 1501", CLOSING)),
        ({"part": "button", "button": 18, "wearer": "child, under 7"}, ("16 CFR 1501", CLOSING)),
        ({"part": "snap", "snap": 12, "wearer": "child, under 3"}, ("16 CFR 1501", CLOSING)),
        ({"part": "snap", "snap": 12, "wearer": "adult"}, ()),
        ({"eyelet": "e8"}, ()),
        ({"part": "button", "button": 18}, ()),
    ],
)
def test_rows_are_cautioned_of_on_the_drawing(words: dict[str, Any], sources: tuple[str, ...]) -> None:
    drawing = large()
    run = eyelets(drawing, along="box:c0..c1", count=5, **words)
    data = with_runs(drawing, [run])
    assert all(source in words_in(data) for source in sources)
    assert len(note_boxes(data)) == bool(sources)
    assert off_page(drawing, [run]) == []
    again = read_drawing(data, "a.svg")
    assert with_runs(again, [made.run for made in refit(again)]) == data


def test_a_cord_to_tie_is_cautioned_of_below_it_until_it_goes() -> None:
    drawing = large()
    for words, source in (({}, "EN 14682:2014"), ({"window": True}, "16 CFR 1260"), ({"wearer": "adult"}, "catch")):
        data = with_runs(drawing, [], straps=[strap(drawing, **CORD, **words)])
        assert source in words_in(data)
        assert CLOSING in words_in(data)
        ((low, high),) = note_boxes(data)
        (cord, *_) = [line for line in drawn_lines(read_drawing(data, "a.svg")) if line.role == "cord"]
        # Right below it, in lines no longer than about sixty letters.
        assert 0.0 < low[1] - bounds(cord.curve)[1, 1] < 12.0
        assert high[0] - low[0] < 160.0
        assert "caution" not in words_in(replace_groups(data, {}, ["strap ties"]))
    assert "caution" not in words_in(with_runs(drawing, [], straps=[strap(drawing, name="sash", length=300, width=30)]))


def test_no_text_lies_on_another_thing() -> None:
    drawing = large()
    row = eyelets(drawing, along="box:c0..c1", count=5, eyelet="e8", cord=6, name="row")
    hem = scallop(drawing, along="box:c3..c2", width=30, name="hem")
    held = read_drawing(with_runs(drawing, [row, hem]), "a.svg")
    data = with_runs(held, [facing(held, "hem", depth="40mm")], straps=[strap(held, **CORD)])
    data = with_legend(held, data)
    notes = note_boxes(data)
    assert len(notes) == 2
    assert not any(overlap(a, b) for a, b in combinations(notes, 2))
    shown = read_drawing(data, "a.svg")
    lines = [bounds(line.curve) for line in drawn_lines(shown)]
    lines += [
        np.array([[float(element.get("x") or 0), float(element.get("y") or 0)]] * 2)
        for element in etree.fromstring(data).findall(".//{*}g[@id='the-legend']//{*}tspan")
    ]
    assert not any(overlap(note, box) for note in notes for box in lines)


def test_a_lacing_says_it_once() -> None:
    drawing = large()
    run = eyelets(drawing, along="box:c0..c1", count=5, eyelet="e8", cord=6)
    known = read_drawing(with_runs(drawing, [run]), "a.svg")
    laced = with_runs(known, [lacing(known, run.name, path="running")])
    assert words_in(laced).count(CLOSING) == 1


def test_a_job_writes_them_too(tmp_path: Path) -> None:
    (tmp_path / "box.svg").write_text(page(BOX, size=SIZE), encoding="utf-8")
    (tmp_path / "job.toml").write_text(
        'pattern = "box.svg"\noutput = "out.svg"\nwearer = "child, under 7"\n'
        '[[run]]\nname = "row"\nedges = "box:c0..c1"\n[[run.eyelet]]\npart = "button"\nbutton = "12mm"\ncount = 3\n'
        '[[strap]]\nname = "ties"\nlength = "900mm"\nfold = "cord"\n',
        encoding="utf-8",
    )
    make_job(tmp_path / "job.toml")
    data = (tmp_path / "out.svg").read_bytes()
    assert "16 CFR 1501" in words_in(data)
    assert "EN 14682:2014" in words_in(data)
