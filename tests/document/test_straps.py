"""Straps on drawings: how long they are, where they lie, and that they are made again with what they go along."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree

from scallopkit.document.drawing import Drawing
from scallopkit.document.drawn import drawn_lines
from scallopkit.document.examining import examine
from scallopkit.document.kept import kept_recipes, kept_straps, run_groups
from scallopkit.document.making import make_job
from scallopkit.document.path_data import read_path
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import StrapRecipe, StrapWords, strap_from_text, strap_to_text
from scallopkit.document.straps import MadeStrap, strap_entry, strap_table, straps_off_page
from scallopkit.document.workshop import (
    facing,
    redrawn,
    refuse_loss,
    report_text,
    scallop,
    strap,
    strap_changes,
    strapped,
    with_runs,
)
from scallopkit.errors import NameUnknownError, OutputError, RequestError, ScallopkitError
from scallopkit.geometry.cubics import Array
from tests.drawings import BOX, QUARTER, marks, page, read


def with_strap(drawing: Drawing, *made: MadeStrap) -> Drawing:
    return read_drawing(with_runs(drawing, [], straps=made), drawing.name)


def points_of(d: str) -> Array:
    """The nodes and handles of path text in mm."""
    return np.concatenate([sub.curve for sub in read_path(d, 1e-6).subpaths]).reshape(-1, 2)


def boxes(data: bytes, group: str) -> list[tuple[list[float], list[float]]]:
    """The boxes of the cutting lines in a group, which are straight."""
    found = etree.fromstring(data).findall(f".//{{*}}path[@data-run='{group}'][@data-role='cutting']")
    out = []
    for element in found:
        points = points_of(element.get("d") or "")
        out.append((points.min(axis=0).tolist(), points.max(axis=0).tolist()))
    return out


def test_a_strap_is_drawn_as_it_is_cut_beside_the_pattern() -> None:
    drawing = read(BOX)
    data = with_runs(drawing, [], straps=[strap(drawing, name="ties", length=400, width=20, number=2, cloth="linen")])
    ((low, high),) = boxes(data, "strap ties")
    assert np.array(high) - np.array(low) == pytest.approx((420.0, 60.0))
    # The box ends at y = 220, and 45 mm are left for its allowances.
    assert low[1] >= 220.0 + 45.0 or low[0] >= 310.0 + 45.0
    group = etree.fromstring(data).find(".//{*}g[@data-run='strap ties']")
    assert group is not None
    assert len(group.findall("{*}path[@data-role='fold']")) == 1
    assert "".join(map(str, group.itertext())).strip() == "ties, cut 2, 420 x 60 mm, linen"
    assert data.startswith(drawing.source[: drawing.source.index(b"</svg>")].rstrip())


def test_made_again_it_takes_its_own_place_and_no_other() -> None:
    drawing = read(BOX)
    drawing = with_strap(
        drawing, strap(drawing, name="a", length=300, width=20), strap(drawing, name="b", length=300, width=20)
    )
    first, second = boxes(drawing.source, "strap a"), boxes(drawing.source, "strap b")
    assert first != second
    again = with_strap(drawing, strap(drawing, name="a", length=300, width=20))
    assert again.source == drawing.source
    assert list(kept_straps(again.source)) == ["a", "b"]


def test_straps_and_facings_keep_clear_of_each_other() -> None:
    drawing = read(BOX)
    drawing = redrawn(drawing, [scallop(drawing, "box:c3..c2", count=10, name="hem", finish="faced")])
    drawing = with_strap(drawing, strap(drawing, name="ties", length=300, width=20))
    run = facing(drawing, "hem", depth=40)
    data = with_runs(drawing, [run], straps=strapped(drawing, [run]))
    ((low, high),) = boxes(data, "strap ties")
    shown = etree.fromstring(data).findall(".//{*}path[@data-role='facing']")
    assert shown
    for element in shown:
        start = points_of(element.get("d") or "")[0].tolist()
        assert not all(a - 5.0 <= x <= b + 5.0 for a, x, b in zip(low, start, high, strict=True))
    written = read_drawing(data, "a.svg")
    assert with_runs(written, [], straps=strapped(written, [])) == data


def test_along_an_edge_or_a_run_opened_at_its_folds() -> None:
    drawing = read(QUARTER + marks(a=(300, 0), b=(0, 300)))
    assert strap(drawing, along="quarter:a..b", width=10).length == pytest.approx(150.0 * math.pi, abs=1e-6)
    drawing = redrawn(
        drawing, [scallop(drawing, "quarter:a..b", start="fold", end="fold", count=6, depth="50%", name="rim", times=2)]
    )
    along = strap(drawing, along="rim", width=10)
    assert along.length == pytest.approx(600.0 * math.pi, abs=1e-6)
    # The cloth is sewn twice, and each takes one.
    assert along.number == 2
    binding = strap(drawing, along="rim", width=10, fold="bias")
    # A binding follows the scallops, 24 half circles on chords of the ring.
    chord = 2.0 * 300.0 * math.sin(math.pi / 24.0)
    assert binding.length == pytest.approx(24 * 0.5 * math.pi * chord, rel=1e-9)


def test_it_follows_what_it_goes_along() -> None:
    drawing = read(BOX)
    drawing = with_strap(drawing, strap(drawing, name="band", along="box:c3..c2", width=20))
    longer = read_drawing(drawing.source.replace(b'width="300"', b'width="320"'), "a.svg")
    again = strapped(longer, [])
    assert again[0].length == pytest.approx(320.0)
    assert strap_changes(longer, again) == [("strap band", "320.00 mm long")]
    assert strap_changes(drawing, strapped(drawing, [])) == [("strap band", "unchanged")]
    gone = read_drawing(drawing.source.replace(b'id="box"', b'id="bag"'), "a.svg")
    with pytest.raises(NameUnknownError, match='the strap "band" can\'t be made again'):
        strapped(gone, [])


def test_a_strap_is_no_run_and_check_lets_it_be() -> None:
    drawing = read(BOX)
    drawing = with_strap(drawing, strap(drawing, name="ties", length=300, width=20))
    assert run_groups(drawing.source) == ()
    assert kept_recipes(drawing.source) == {}
    assert examine(drawing.source, "a.svg") == ()
    drawing = redrawn(drawing, [scallop(drawing, "box:c3..c2", count=10, name="hem")])
    assert all(finding.ok for finding in examine(drawing.source, "a.svg"))


def test_a_cord_is_told_with_its_tails_and_cautions() -> None:
    drawing = read(BOX)
    made = strap(drawing, name="cord", along="box:c3..c2", fold="cord")
    # 250 mm hang at either end.
    assert strap_entry(made)["cut_length_mm"] == 800.0
    assert any("strangle" in text for text in made.cautions)
    assert strap(drawing, name="cord", along="box:c3..c2", fold="cord", wearer="adult").cautions != made.cautions
    window = strap(drawing, name="cord", along="box:c3..c2", fold="cord", ends=400, window=True)
    assert strap_entry(window)["total_mm"] == 1100.0
    assert len(window.cautions) == 1
    assert "16 CFR 1260" in window.cautions[0]
    data = with_runs(drawing, [], straps=[window])
    assert boxes(data, "strap cord") == []
    assert b"cord, cut 1, 1100 mm" in data


def test_what_the_page_has_no_room_for_is_told() -> None:
    drawing = read(BOX)
    made = strap(drawing, name="sash", length=1500, width=60)
    (warning,) = straps_off_page(with_runs(drawing, [], straps=[made]), "a.svg", [made])
    assert warning.code == "off-page"
    assert '"sash" found no room' in warning.message
    short = strap(drawing, name="tab", length=50, width=10)
    assert straps_off_page(with_runs(drawing, [], straps=[short]), "a.svg", [short]) == []


@pytest.mark.parametrize(
    ("words", "role", "length", "folds"),
    [
        ({"length": 2500, "width": 60}, "cutting", 600.0, 2),
        ({"length": 9000, "width": 10, "fold": "bias", "longest": 4600}, "cutting", 600.0, 6),
        ({"length": 900, "fold": "cord"}, "cord", 300.0, 0),
    ],
)
def test_what_is_too_long_is_drawn_with_a_break_mark_and_its_true_length(
    words: dict[str, Any], role: str, length: float, folds: int
) -> None:
    drawing = read(BOX)
    long = strap(drawing, name="sash", **words)
    entry = strap_entry(long)
    assert (entry["drawn"], entry["broken"]) == (False, True)
    root = etree.fromstring(with_runs(drawing, [], straps=[long]))
    group = root.find(".//{*}g[@data-run='strap sash']")
    assert group is not None
    lines = [points_of(one.get("d") or "") for one in group.findall(f"{{*}}path[@data-role='{role}']")]
    pieces = len(long.pieces)
    assert len(lines) == 2 * pieces
    # What is broken off is no line to cut by: on paper and for machines it is a placement line.
    shown = drawn_lines(read_drawing(etree.tostring(root), "a.svg"))
    assert {line.role for line in shown if line.piece == "sash"} <= {"placement", "cord", "fold", "grain"}
    for first, second in zip(lines[::2], lines[1::2], strict=True):
        both = np.concatenate([first, second])
        assert np.ptp(both[:, 0]) == pytest.approx(length, abs=1e-3)
        # A gap is left between the two ends.
        assert second[:, 0].min() - first[:, 0].max() == pytest.approx(6.0, abs=1e-3)
    assert len(group.findall("{*}path[@data-role='placement']")) == 2 * pieces
    assert len(group.findall("{*}path[@data-role='fold']")) == folds * pieces
    labels = ["".join(map(str, text.itertext())).strip() for text in group.findall("{*}text")]
    # A cord's cautions stand below it.
    labels = labels[:pieces]
    for label, piece in zip(labels, entry["pieces"], strict=True):
        assert f"{piece['cut_mm']:.0f}" in label
        assert label.endswith("drawn shorter")
    assert "sash: drawn shorter, with a break mark; cut it by its figures" in strap_table([long], terminal=False)
    again = strapped(read_drawing(with_runs(drawing, [], straps=[long]), "a.svg"), [])
    assert strap_entry(again[0]) == entry


def test_a_short_cord_is_drawn_as_long_as_it_is() -> None:
    drawing = read(BOX)
    short = strap(drawing, name="loop", length=100, ends=20, fold="cord")
    assert not strap_entry(short)["broken"]
    (line,) = etree.fromstring(with_runs(drawing, [], straps=[short])).findall(".//{*}path[@data-role='cord']")
    assert np.ptp(points_of(line.get("d") or "")[:, 0]) == pytest.approx(140.0, abs=1e-3)


BAD: list[tuple[dict[str, Any], type[ScallopkitError], str]] = [
    ({"length": 300}, RequestError, "--width 30mm"),
    ({"width": 30}, RequestError, "give --length, or --along"),
    ({"width": 30, "length": 300, "along": "box"}, RequestError, "one of the two"),
    ({"width": 30, "along": "waist"}, NameUnknownError, 'no run is called "waist".*"box"'),
    ({"width": 30, "length": 300, "fold": "3"}, RequestError, "--fold can be 2, 1, bias or cord"),
    ({"width": 30, "length": 300, "number": "0"}, RequestError, "--number"),
    ({"width": 30, "length": 300, "longest": 50}, RequestError, "all allowance"),
    ({"fold": "cord", "length": 300, "longest": 50}, RequestError, "leave out --seam, --joins and --longest"),
    ({"width": 30, "length": 300, "name": "a\x00"}, RequestError, "a character that no drawing can"),
    ({"width": 30, "length": 300, "wearer": "baby"}, RequestError, "--wearer"),
    ({"width": -30, "length": 300}, RequestError, "more than zero"),
]


@pytest.mark.parametrize(("words", "kind", "said"), BAD, ids=[repr(row[0]) for row in BAD])
def test_what_makes_no_sense_is_refused_in_a_sentence(
    words: dict[str, Any], kind: type[ScallopkitError], said: str
) -> None:
    with pytest.raises(kind, match=said):
        strap(read(BOX), **words)


def test_names_of_runs_and_straps_keep_apart() -> None:
    drawing = read(BOX)
    run = redrawn(drawing, [scallop(drawing, "box:c3..c2", count=10, name="strap ties")])
    with pytest.raises(RequestError, match="give the strap"):
        with_strap(run, strap(run, name="ties", length=300, width=20))
    taken = with_strap(drawing, strap(drawing, name="ties", length=300, width=20))
    with pytest.raises(RequestError, match="give the run another --name"):
        with_runs(taken, [scallop(taken, "box:c3..c2", count=10, name="strap ties")])


def test_straps_are_not_written_over(tmp_path: Path) -> None:
    drawing = read(BOX)
    there = tmp_path / "there.svg"
    there.write_bytes(with_strap(drawing, strap(drawing, name="ties", length=300, width=20)).source)
    with pytest.raises(OutputError, match='"strap ties"'):
        refuse_loss(there, drawing, [])
    refuse_loss(there, drawing, [], straps=[strap(drawing, name="ties", length=400, width=20)])


def test_its_words_come_back_from_a_recipe() -> None:
    recipe = StrapRecipe(StrapWords(name="ties", length="300", fold="bias"), {"length_mm": 300.0})
    again = strap_from_text(strap_to_text(recipe), "strap ties")
    assert (again, again.made) == (recipe, recipe.made)


JOB = """\
pattern = "box.svg"
output = "out.svg"
report = "out.json"
wearer = "child, under 7"
[[run]]
name = "hem"
edges = "box:c3..c2"
[run.trim]
repeat = 32
width = "1cm"
take_up = "seams"
[[strap]]
name = "ties"
length = "30cm"
width = 15
number = 2
[[strap]]
name = "cord"
along = "hem"
fold = "cord"
"""


def job_in(folder: Path, text: str) -> Path:
    (folder / "box.svg").write_text(page(BOX), encoding="utf-8")
    (folder / "job.toml").write_text(text, encoding="utf-8")
    return folder / "job.toml"


def test_trims_and_straps_of_a_job(tmp_path: Path) -> None:
    made = make_job(job_in(tmp_path, JOB))
    assert made.ok
    assert "9 repeats of 32 mm on 300.00 mm" in made.text
    assert "ties\t2\t300.0\t320.0\t50\t2\t640" in made.text
    assert "caution: Cords and drawstrings can catch" in made.text
    data = (tmp_path / "out.svg").read_bytes()
    assert list(kept_straps(data)) == ["ties", "cord"]
    assert kept_straps(data)["cord"].words.wearer == "child, under 7"
    # Made on its own result it changes nothing.
    job = JOB.replace("box.svg", "out.svg").replace('output = "out.svg"', 'output = "again.svg"')
    (tmp_path / "again.toml").write_text(job, encoding="utf-8")
    make_job(tmp_path / "again.toml")
    assert (tmp_path / "again.svg").read_bytes() == data


@pytest.mark.parametrize(
    ("line", "fault", "said"),
    [
        ('along = "hem"', 'along = "waist"', r'line 19, strap\[2\].along: no run is called "waist"|strap.*"waist"'),
        ('fold = "cord"', 'fold = "rope"', r"line 20, .*fold can be 2, 1, bias or cord"),
        ('name = "cord"', 'name = "ties"', r"line 18, .*another strap is called"),
        ('take_up = "seams"', 'take_up = "glue"', r"line 11, .*take_up can be"),
        ('take_up = "seams"', 'take_up = "mitre"', r"line 11, .*take_up mitre can't be done"),
        ("length = \"30cm\"", 'length = "30cm"\nalong = "hem"', r"give length, or along"),
    ],
)  # fmt: skip
def test_a_job_s_faults_are_told_with_their_line(tmp_path: Path, line: str, fault: str, said: str) -> None:
    assert line in JOB
    with pytest.raises(ScallopkitError, match=said):
        make_job(job_in(tmp_path, JOB.replace(line, fault)))
    assert not (tmp_path / "out.svg").exists()


def test_the_report_has_its_straps() -> None:
    drawing = read(BOX)
    assert '"straps": []' in report_text(drawing, [])
    made = strap(drawing, name="ties", length=700, width=20, longest=400)
    entry = strap_entry(made)
    assert [piece["length_mm"] for piece in entry["pieces"]] == pytest.approx([350.0, 350.0])
    assert entry["joins"] == 1
    assert '"cut_width_mm": 60.0' in report_text(drawing, [], straps=[made])
