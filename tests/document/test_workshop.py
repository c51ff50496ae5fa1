"""Work on drawings as Python users do it: runs put in and made again, words as numbers and texts, files saved."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree

from scallopkit.document import workshop
from scallopkit.document.cut_changes import cut_changes, drawn_again, other_notches
from scallopkit.document.cut_pieces import MadePiece
from scallopkit.document.drawing import Drawing
from scallopkit.document.examining import examine
from scallopkit.document.kept import kept_pieces, kept_recipe
from scallopkit.document.layer import read_groups
from scallopkit.document.legend import with_legend
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import EdgeWords, EyeletWords, FinishWords, NotchWords, PieceWords, ScallopWords
from scallopkit.document.runs import Run
from scallopkit.document.workshop import (
    Refit,
    cut,
    eyelets,
    facing,
    finished,
    made_runs,
    notches,
    pieces_anew,
    read,
    recut,
    redrawn,
    refit,
    refuse_loss,
    report_text,
    save,
    scallop,
    with_runs,
)
from scallopkit.errors import DrawingError, NameUnknownError, OutputError, RequestError, ScallopkitError
from scallopkit.geometry.length import measure

from .. import drawings
from ..drawings import BOX, LINE, ROUND, marks, page

TWO = page(
    '<!-- kept -->\n<path id="hem" d="M 10,20 H 310" data-x="1"/>\n<path   id="cuff"\td="M 10,200 H 210"/>\n'
    "<metadata><a:b xmlns:a='urn:a'/></metadata>"
)


def of(text: str) -> Drawing:
    return read_drawing(text.encode(), "a.svg")


def groups(source: bytes) -> dict[str, bytes]:
    return {group.name: group.text for group in read_groups(source)}


def changed(source: bytes, name: str, d: str) -> bytes:
    """The drawing with another outline in the path of that id, nothing else changed."""
    text, times = re.subn(rb'(id="%s"[^>]*?\bd=")[^"]*' % name.encode(), rb"\g<1>" + d.encode(), source)
    assert times == 1
    return text


# --- what is written ------------------------------------------------------------------------------------------------


def test_other_bytes_are_untouched() -> None:
    written = with_runs(of(TWO), [scallop(of(TWO), "hem", width=30)]).decode()
    begin, end = written.index('  <g id="scallopkit"'), written.index("  </g>\n</svg>") + len("  </g>\n")
    assert written[:begin] + written[end:] == TWO
    assert etree.fromstring(written.encode()) is not None


def test_a_run_of_the_same_name_replaces_only_its_own_group() -> None:
    drawing = of(TWO)
    first = with_runs(drawing, [scallop(drawing, "hem", width=30), scallop(drawing, "cuff", width=20)])
    again = read_drawing(first, "a.svg")
    second = with_runs(again, [scallop(again, "hem", width=50)])
    before, after = groups(first), groups(second)
    assert list(after) == ["hem", "cuff"]
    assert after["cuff"] == before["cuff"]
    assert after["hem"] != before["hem"]
    assert second.replace(after["hem"], before["hem"]) == first


def test_a_run_of_another_name_on_the_same_edge_is_added() -> None:
    drawing = of(TWO)
    once = redrawn(drawing, [scallop(drawing, "hem", width=30, name="a")])
    twice = with_runs(once, [scallop(once, "hem", width=30, name="b")])
    assert list(groups(twice)) == ["a", "b"]
    assert groups(twice)["a"] == groups(once.source)["a"]


def test_made_again_it_gives_the_same_bytes() -> None:
    drawing = of(TWO)
    once = with_runs(drawing, [scallop(drawing, "hem", width=30)])
    again = read_drawing(once, "a.svg")
    assert with_runs(again, [scallop(again, "hem", width=30)]) == once
    assert with_runs(again, [one.run for one in refit(again)]) == once


def test_our_layer_is_no_piece() -> None:
    drawing = of(TWO)
    with_run = redrawn(drawing, [scallop(drawing, "hem", width=30)])
    assert [piece.name for piece in with_run.pattern.pieces] == ["hem", "cuff"]
    assert with_run.pattern.warnings == ()


def test_every_element_tells_what_it_is() -> None:
    drawing = drawings.read(LINE)
    drawing = redrawn(drawing, [scallop(drawing, width=60)])
    drawing = redrawn(drawing, [eyelets(drawing, run="hem", eyelet=8)])
    root = etree.fromstring(with_runs(drawing, [notches(drawing, run="hem", at="crests", kind="v")]))
    (group,) = root.iterfind(".//{*}g[@data-run='hem'][@data-recipe]")
    roles = [element.get("data-role") for element in group]
    assert (roles[0], roles.count("stitching")) == ("stitching", 1)
    assert [roles.count(role) for role in ("eyelet", "placement", "notch")] == [5, 5, 5]
    assert len(roles) == 16
    assert {(e.get("data-run"), e.get("data-piece")) for e in group} == {("hem", "hem")}
    assert all("stroke" in e.get("style", "") for e in group)


def test_eyelets_are_drawn_where_the_report_says() -> None:
    drawing = drawings.read(f'<path id="hem" d="M {10 / 25.4!r},{20 / 25.4!r} h {300 / 25.4!r}"/>', 25.4)
    run = eyelets(drawing, "hem", eyelet=8, count=5, ends="25mm", inset="15mm")
    root = etree.fromstring(with_runs(drawing, [run]))
    holes = root.findall(".//{*}circle[@data-role='eyelet']")
    flanges = root.findall(".//{*}circle[@data-role='placement']")
    told = json.loads(report_text(drawing, [run]))["runs"][0]["eyelets"]
    for hole, flange, place in zip(holes, flanges, told, strict=True):
        for circle, size in ((hole, "hole_mm"), (flange, "flange_mm")):
            assert float(circle.get("cx", "")) == pytest.approx(place["x"], abs=1e-6)
            assert float(circle.get("cy", "")) == pytest.approx(place["y"], abs=1e-6)
            assert 2.0 * 25.4 * float(circle.get("r", "")) == pytest.approx(place[size], abs=1e-4)


@pytest.mark.parametrize("name", ["hem", "front:c0..c1", 'a "b" <c> & d', "裾", "a\tb", "5", "-", " x "])
def test_any_name_comes_back(name: str) -> None:
    drawing = of(TWO)
    source = with_runs(drawing, [scallop(drawing, "hem", width=30, name=name)])
    assert list(groups(source)) == [name]
    assert kept_recipe(read_drawing(source, "a.svg"), name).name == name
    assert etree.fromstring(source) is not None


def test_names_that_look_alike_have_ids_of_their_own() -> None:
    drawing = of(TWO)
    names = ("front:c0..c1", "front c0..c1", "裾", "袖", "hem", "2", "Ä", "Ö")
    root = etree.fromstring(with_runs(drawing, [scallop(drawing, "hem", width=30, name=name) for name in names]))
    ids = [element.get("id") for element in root.iter("{*}*") if element.get("id")]
    assert len(ids) == len(set(ids))


def test_an_id_that_the_drawing_has_is_not_given_again() -> None:
    drawing = of(page('<path id="hem" d="M 10,20 H 310"/><path id="scallopkit-hem" d="M 10,300 H 310"/>'))
    root = etree.fromstring(with_runs(drawing, [scallop(drawing, "hem", width=30)]))
    ids = [element.get("id") for element in root.iter("{*}*") if element.get("id")]
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("name", ["a\x00b", "a\x1bb", "a\x07", "\ud800", "\ufffe"])
def test_a_name_that_xml_cannot_hold_is_refused(name: str) -> None:
    with pytest.raises(RequestError, match="name"):
        with_runs(of(TWO), [scallop(of(TWO), "hem", width=30, name=name)])


# --- runs made again ------------------------------------------------------------------------------------------------


def refitted(source: bytes) -> dict[str, Refit]:
    return {one.run.name: one for one in refit(read_drawing(source, "a.svg"))}


def test_an_unchanged_drawing_is_unchanged() -> None:
    drawing = of(TWO)
    source = with_runs(drawing, [scallop(drawing, "hem", width=30), notches(drawing, "cuff", at="parts:3")])
    made = refitted(source)
    assert {name: one.change for name, one in made.items()} == {"hem": "unchanged", "cuff notches": "unchanged"}
    assert with_runs(read_drawing(source, "a.svg"), [one.run for one in made.values()]) == source


def test_a_changed_outline_is_told() -> None:
    drawing = of(TWO)
    source = with_runs(drawing, [scallop(drawing, "hem", width=30), scallop(drawing, "cuff", width=20)])
    edited = changed(source, "hem", "M 10,20 H 345")
    made = refitted(edited)
    assert made["cuff"].change == "unchanged"
    assert made["hem"].change == "edge 300.00 to 335.00 mm, count 10 to 11, width 30.000 to 30.455 mm"
    assert made["hem"].before["count"] == 10
    written = with_runs(read_drawing(edited, "a.svg"), [one.run for one in made.values()])
    assert groups(written)["cuff"] == groups(source)["cuff"]
    assert refitted(written)["hem"].change == "unchanged"


def test_an_outline_of_the_same_length_but_another_shape_is_followed() -> None:
    drawing = of(TWO)
    source = with_runs(drawing, [scallop(drawing, "hem", width=30)])
    edited = changed(source, "hem", "M 10,20 V 320")
    written = with_runs(read_drawing(edited, "a.svg"), [refitted(edited)["hem"].run])
    assert b"M 10,20 " in groups(written)["hem"]
    assert b" 10,320" in groups(written)["hem"]


def test_only_the_width_changes() -> None:
    drawing = of(TWO)
    source = with_runs(drawing, [scallop(drawing, "hem", width=30)])
    assert refitted(changed(source, "hem", "M 10,20 H 311"))["hem"].change == (
        "edge 300.00 to 301.00 mm, width 30.000 to 30.100 mm"
    )


def test_everything_on_a_run_is_made_again() -> None:
    drawing = of(TWO)
    drawing = redrawn(drawing, [scallop(drawing, "hem", width=60, depth="50%")])
    drawing = redrawn(drawing, [eyelets(drawing, run="hem", eyelet=8)])
    drawing = redrawn(drawing, [notches(drawing, run="hem", at="crests")])
    run = refitted(changed(drawing.source, "hem", "M 10,20 H 370"))["hem"].run
    assert (run.count, [len(e) for e in run.eyelets], [len(n) for n in run.notches]) == (6.0, [6], [6])


def test_a_run_renamed_in_the_editor_keeps_its_group() -> None:
    """The name on the group is what an editor shows; the run is made again under it and not beside it."""
    drawing = of(TWO)
    source = with_runs(drawing, [scallop(drawing, "hem", width=30)])
    renamed = source.replace(b'data-run="hem"', b'data-run="bottom"')
    written = with_runs(read_drawing(renamed, "a.svg"), [one.run for one in refit(read_drawing(renamed, "a.svg"))])
    assert list(groups(written)) == ["bottom"]


@pytest.mark.parametrize(
    ("made", "told"),
    [
        ({}, "made anew"),
        ({"count": "ten", "widths_mm": [30], "length_mm": 300}, "made anew"),
        ({"count": [1], "widths_mm": [30], "length_mm": 300}, "made anew"),
        ({"count": 10, "widths_mm": ["a"], "length_mm": 300}, "made anew"),
        ({"count": 10, "widths_mm": [None], "length_mm": 300}, "made anew"),
        ({"count": 10, "widths_mm": 30, "length_mm": 300}, "made anew"),
        ({"count": 10, "widths_mm": [30], "length_mm": "300"}, "made anew"),
        ({"count": 9, "widths_mm": [30], "length_mm": 300}, "count 9 to 10"),
    ],
)
def test_what_was_made_before_may_be_lost_or_damaged(made: dict[str, Any], told: str) -> None:
    drawing = of(TWO)
    source = with_runs(drawing, [scallop(drawing, "hem", width=30)])
    text, times = re.subn(rb'"made":\{[^}]*\}', b'"made":' + json.dumps(made).encode(), source)
    assert times == 1
    assert refitted(text)["hem"].change == told


def test_a_run_that_can_t_be_made_any_more_is_named() -> None:
    drawing = of(TWO)
    source = with_runs(drawing, [scallop(drawing, "hem", width=30)])
    gone = source.replace(b'id="hem"', b'id="skirt"', 1)
    with pytest.raises(NameUnknownError, match='the run "hem" can\'t be made again: no piece is called "hem"'):
        refit(read_drawing(gone, "a.svg"))
    damaged = re.sub(rb'"width":"30"', b'"width":"wide"', source)
    with pytest.raises(RequestError, match="the run \"hem\" can't be made again: --width 'wide' cannot be read"):
        refit(read_drawing(damaged, "a.svg"))
    broken = re.sub(rb'"version":\d+', b'"version":', source)
    with pytest.raises(DrawingError, match='the recipe of the run "hem" in the drawing is damaged'):
        refit(read_drawing(broken, "a.svg"))


def test_a_drawing_without_runs_has_none_to_make_again() -> None:
    with pytest.raises(RequestError, match=r"a.svg holds no run to make again"):
        refit(of(TWO))


# --- eyelets and notches on runs ------------------------------------------------------------------------------------


def test_eyelets_and_notches_are_added_to_the_run_s_recipe() -> None:
    drawing = of(TWO)
    drawing = redrawn(drawing, [scallop(drawing, "hem", width=60)])
    drawing = redrawn(drawing, [eyelets(drawing, run="hem", eyelet=8)])
    drawing = redrawn(drawing, [notches(drawing, run="hem", at="crests")])
    recipe = kept_recipe(drawing, "hem")
    assert recipe.scallop == ScallopWords(width="60")
    assert recipe.eyelets == (EyeletWords(eyelet="8"),)
    assert recipe.notches == (NotchWords(at="crests"),)


def test_eyelets_asked_for_again_replace_those_before() -> None:
    drawing = of(TWO)
    drawing = redrawn(drawing, [scallop(drawing, "hem", width=60)])
    drawing = redrawn(drawing, [eyelets(drawing, run="hem", eyelet=8)])
    assert eyelets(drawing, run="hem", eyelet=6).recipe.eyelets == (EyeletWords(eyelet="6"),)


def test_the_same_notches_asked_for_again_are_there_once() -> None:
    drawing = of(TWO)
    drawing = redrawn(drawing, [scallop(drawing, "hem", width=60)])
    drawing = redrawn(drawing, [notches(drawing, run="hem", at="crests")])
    again = notches(drawing, run="hem", at="crests")
    assert again.recipe.notches == (NotchWords(at="crests"),)
    both = notches(drawing, run="hem", at="valleys", kind="v")
    assert len(both.notches) == 2


def notches_drawn(source: bytes) -> list[tuple[str, str]]:
    """The notches of a drawing: in which group, and where they lie."""
    found = etree.fromstring(source).iterfind(".//{*}path[@data-role='notch']")
    return sorted((str(one.get("data-run")), str(one.get("d"))) for one in found)


@pytest.mark.parametrize("more", [{}, {"finish": "faced", "cut": "straight:10mm"}, {"finish": "bound"}])
@pytest.mark.parametrize("at", ["valleys", "crests", "parts:5"])
def test_each_notch_is_drawn_once_whether_the_piece_is_cut_before_or_after(at: str, more: dict[str, Any]) -> None:
    drawing = of(page(BOX))
    plain = redrawn(drawing, [scallop(drawing, "box:c0..c1", width=30, name="hem", **more)])
    notched = redrawn(plain, [notches(plain, run="hem", at=at)])
    count = len(made_runs(notched)[0].notches[0])
    assert [group for group, _ in notches_drawn(notched.source)] == ["hem"] * count
    after = with_runs(notched, [], cut(notched))
    assert [group for group, _ in notches_drawn(after)] == ["cut box"] * count
    cut_first = read_drawing(with_runs(plain, [], cut(plain)), "a.svg")
    before = with_runs(cut_first, [notches(cut_first, run="hem", at=at)])
    assert notches_drawn(before) == notches_drawn(after)
    at_once = with_runs(plain, [notches(plain, run="hem", at=at)], cut(notched))
    assert notches_drawn(at_once) == notches_drawn(after)
    # Made again they stay where they are, and nothing else changes.
    for source in (before, after, at_once):
        again = read_drawing(source, "a.svg")
        runs = made_runs(again)
        assert with_runs(again, runs, recut(again, runs)) == source


def test_notches_that_stay_inside_a_cutting_line_are_told_when_they_are_set() -> None:
    drawing = of(page('<path id="p" d="M 10,100 H 180 L 200,200 L 220,100 H 390 V 300 H 10 Z"/>'))
    drawing = read_drawing(with_runs(drawing, [], cut(drawing, dart="c2")), "a.svg")
    told = [warn.message for warn in notches(drawing, "p:c4..c5", at="parts:2", name="side").warnings]
    assert told == []
    drawing = of(page('<path id="p" d="M 10,100 H 180 L 200,200 L 220,100 H 390 V 300 H 10 Z"/>'))
    drawing = read_drawing(with_runs(drawing, [], cut(drawing)), "a.svg")
    run = notches(drawing, "p:c1..c2", at="parts:4", name="leg")
    (warn,) = [warn for warn in run.warnings if warn.code == "notches-inside"]
    # A quarter of the leg from the corner the allowances of both legs have long parted.
    assert warn.message.startswith('the notch 76.4853 mm along "leg" stands on the stitching line of "p", ')
    assert len(notches_drawn(with_runs(drawing, [run]))) == 3


def test_only_the_pieces_on_which_notches_are_new_are_cut_anew() -> None:
    drawing = of(page(BOX + ROUND.replace('cx="200"', 'cx="500"')))
    drawing = redrawn(drawing, [scallop(drawing, "box:c0..c1", width=30, name="hem")])
    drawing = read_drawing(with_runs(drawing, [], cut(drawing)), "a.svg")
    there = groups(drawing.source)
    now = groups(with_runs(drawing, [notches(drawing, run="hem", at="valleys")]))
    assert {name for name in now if now[name] != there[name]} == {"hem", "cut box"}
    # A row of eyelets changes nothing of how the piece is cut.
    drawing = read_drawing(with_runs(drawing, [notches(drawing, run="hem", at="valleys")]), "a.svg")
    rowed = eyelets(drawing, run="hem", eyelet=6)
    assert pieces_anew(drawing, [rowed]) == ()
    assert groups(with_runs(drawing, [rowed]))["cut box"] == groups(drawing.source)["cut box"]


def test_new_scallops_on_the_same_edge_keep_the_eyelets_and_notches_put_on_it() -> None:
    """A maker who tries another width has not taken back her eyelets; on another edge they would be strangers."""
    drawing = of(TWO)
    drawing = redrawn(drawing, [scallop(drawing, "hem", width=60)])
    drawing = redrawn(drawing, [eyelets(drawing, run="hem", eyelet=8)])
    again = scallop(drawing, "hem", width=50)
    assert len(again.eyelets[0]) == again.count
    assert scallop(drawing, "cuff", width=50, name="hem").eyelets == ()


@pytest.mark.parametrize("make", [eyelets, notches])
def test_a_run_that_is_not_there_is_refused_with_those_that_are(make: Any) -> None:  # noqa: ANN401  # two signatures
    drawing = of(TWO)
    with pytest.raises(NameUnknownError, match=r'a.svg holds no run called "x"; there are none'):
        make(drawing, run="x")
    drawing = redrawn(drawing, [scallop(drawing, "hem", width=60)])
    with pytest.raises(NameUnknownError, match=r'a.svg holds no run called "x"; there are "hem"'):
        make(drawing, run="x")


@pytest.mark.parametrize("words", [{"side": "right"}, {"allowance": "10mm"}, {"start_at": "c0"}, {"name": "other"}])
@pytest.mark.parametrize(("make", "own"), [(eyelets, {"eyelet": 8}), (notches, {"at": "crests"})])
def test_a_run_keeps_its_edge_so_words_for_an_edge_are_refused(make: Any, own: Any, words: Any) -> None:  # noqa: ANN401
    """With `run` the edge and the name are the run's; a word that would do nothing is not passed over in silence."""
    drawing = of(TWO)
    drawing = redrawn(drawing, [scallop(drawing, "hem", width=60)])
    with pytest.raises(RequestError):
        make(drawing, run="hem", **own, **words)


def test_a_run_and_an_edge_are_not_both_named() -> None:
    drawing = of(TWO)
    drawing = redrawn(drawing, [scallop(drawing, "hem", width=60)])
    with pytest.raises(RequestError):
        eyelets(drawing, "cuff", run="hem", eyelet=8)
    with pytest.raises(RequestError):
        notches(drawing, "cuff", run="hem", at="crests")


# --- words ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "width",
    ["30mm", "30", "3cm", 30, 30.0, np.float64(30.0), np.float32(30.0), np.int64(30)],
    ids=lambda value: f"{type(value).__name__}-{value}",
)
def test_a_length_may_be_a_text_or_a_number_of_mm(width: Any) -> None:  # noqa: ANN401  # numbers of any kind
    run = scallop(of(TWO), "hem", width=width)
    assert run.widths == pytest.approx((30.0,), abs=1e-9)
    assert refitted(with_runs(of(TWO), [run]))["hem"].change == "unchanged"


def test_numbers_keep_all_their_digits() -> None:
    assert scallop(of(TWO), "hem", width=1e2 / 3).recipe.scallop == ScallopWords(width="33.333333333333336")


def test_none_means_not_given() -> None:
    run = scallop(of(TWO), "hem", width=30, depth=None, hold=None)
    assert run.recipe.scallop == ScallopWords(width="30")


def test_counts_and_weights_as_numbers() -> None:
    assert scallop(of(TWO), "hem", count=12).count == 12.0
    assert scallop(of(TWO), "hem", count=9.5, end="crest").count == 9.5
    both: list[Any] = [[2, 1], "2,1"]
    listed, written = (scallop(of(TWO), "hem", width=30, weights=weights) for weights in both)
    assert listed.widths == written.widths


def test_several_values_as_a_list() -> None:
    drawing = drawings.read(BOX + marks(dart=(110.0, 20.0), waist=(210.0, 20.0)))
    pairs: list[list[Any]] = [[(10, 0), "10mm, 0mm"], [[10, 7.5], "10mm, 7.5mm"], [(1.5, 7), "1.5mm; 7mm"]]
    for both in pairs:
        one, other = (scallop(drawing, "box:c0..c1", width=28, allowance=value) for value in both)
        assert one.edge.curve == pytest.approx(other.edge.curve)
    both = [(10, 20), "10;20"]
    one, other = (eyelets(drawing, "box:c0..c1", eyelet=8, count=5, ends=value) for value in both)
    assert one.eyelets[0].points == pytest.approx(other.eyelets[0].points)
    both = [["dart", "waist"], "dart,waist"]
    one, other = (notches(drawing, "box:c0..c1", at=value) for value in both)
    assert one.notches[0].points == pytest.approx(other.notches[0].points)


@pytest.mark.parametrize("value", [(30, 40), ["30", "5"], [], True, float("nan"), float("inf"), "", " "])
def test_values_that_are_no_width_are_refused_in_a_sentence(value: Any) -> None:  # noqa: ANN401
    with pytest.raises(RequestError):
        scallop(of(TWO), "hem", width=value)


@pytest.mark.parametrize(
    ("make", "kinds"),
    [
        (scallop, (EdgeWords, ScallopWords, FinishWords)),
        (eyelets, (EdgeWords, EyeletWords)),
        (notches, (EdgeWords, NotchWords)),
    ],
)
def test_unknown_words_are_refused_with_the_known_ones(make: Any, kinds: Any) -> None:  # noqa: ANN401
    with pytest.raises(RequestError, match="there is no option widht; there are ") as caught:
        make(of(TWO), "hem", widht=30)
    known = {f.name for kind in kinds for f in fields(kind)} - {"along"}
    assert set(re.split(r"[ ,]+", str(caught.value).partition("there are ")[2])) == known


# --- files ----------------------------------------------------------------------------------------------------------


def test_a_drawing_and_its_report_are_saved_together(tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text(TWO)
    drawing = read(tmp_path / "a.svg")
    run = scallop(drawing, "hem", width=30)
    save(drawing, [run], tmp_path / "b.svg", report=tmp_path / "b.json")
    assert (tmp_path / "b.svg").read_bytes() == with_legend(drawing, with_runs(drawing, [run]))
    assert json.loads((tmp_path / "b.json").read_text())["runs"][0]["count"] == 10
    assert (tmp_path / "a.svg").read_text() == TWO
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.svg", "b.json", "b.svg"]


def test_one_file_can_t_take_both(tmp_path: Path) -> None:
    drawing = of(TWO)
    run = scallop(drawing, "hem", width=30)
    for report in (tmp_path / "b.svg", tmp_path / "x" / ".." / "b.svg"):
        (tmp_path / "x").mkdir(exist_ok=True)
        with pytest.raises(OutputError):
            save(drawing, [run], tmp_path / "b.svg", report=report)
        assert not (tmp_path / "b.svg").exists()


def test_neither_is_written_where_one_can_t_be(tmp_path: Path) -> None:
    drawing = of(TWO)
    with pytest.raises(OutputError):
        save(drawing, [scallop(drawing, "hem", width=30)], tmp_path / "b.svg", report=tmp_path / "none" / "b.json")
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(DrawingError, match=r"gone.svg cannot be read"):
        read(tmp_path / "gone.svg")


def test_loops_and_marks_survive_a_round_trip() -> None:
    drawing = drawings.read(ROUND + marks(top=(200.0, 100.0)))
    once = with_runs(drawing, [scallop(drawing, width=30, start_at="top", name="brim")])
    assert with_runs(read_drawing(once, "a.svg"), [refitted(once)["brim"].run]) == once


# --- pieces as they are cut -----------------------------------------------------------------------------------------


def boxed() -> Drawing:
    """A box with a run on its top, cut."""
    drawing = drawings.read(BOX)
    drawing = redrawn(drawing, [scallop(drawing, "box:c0..c1", width=30, name="top")])
    return read_drawing(with_runs(drawing, [], cut(drawing, "box", number=2)), "a.svg")


def cut_length(made: tuple[MadePiece, ...]) -> float:
    (one,) = made
    return measure(one.cut.cutting.curve).length


def test_a_piece_is_cut_with_the_runs_that_the_drawing_holds() -> None:
    drawing = boxed()
    assert [run.name for run in made_runs(drawing)] == ["top"]
    assert made_runs(drawings.read(BOX)) == []
    assert kept_pieces(drawing.source)["box"].words == PieceWords("box", number="2")
    plain = cut(drawings.read(BOX))
    assert cut_length(plain) == pytest.approx(2 * (330 + 230))
    assert cut_length(cut(drawing)) > cut_length(plain) + 30.0


def test_runs_and_pieces_are_made_again_on_a_changed_outline() -> None:
    drawing = boxed()
    edited = read_drawing(drawing.source.replace(b'width="300" height="200"', b'width="300" height="260"'), "a.svg")
    runs = [one.run for one in refit(edited)]
    pieces = recut(edited, runs)
    assert cut_length(pieces) == pytest.approx(cut_length(cut(drawing)) + 2 * 60.0, abs=1e-6)
    assert pieces[0].recipe.words.number == "2"
    written = with_runs(edited, runs, pieces)
    assert list(groups(written)) == ["top", "cut box"]
    again = read_drawing(written, "a.svg")
    assert with_runs(again, [one.run for one in refit(again)], recut(again, made_runs(again))) == written


def test_without_cut_pieces_there_is_nothing_to_cut_again() -> None:
    drawing = of(TWO)
    assert recut(drawing, [scallop(drawing, "hem", width=30)]) == ()
    assert refit(read_drawing(with_runs(drawings.read(BOX), [], cut(drawings.read(BOX))), "a.svg")) == []


def test_a_piece_that_can_t_be_cut_any_more_is_named() -> None:
    drawing = boxed()
    gone = read_drawing(drawing.source.replace(b'id="box"', b'id="crate"', 1), "a.svg")
    with pytest.raises(NameUnknownError, match='a cutting line can\'t be made again: no piece is called "box"'):
        recut(gone, [])
    damaged = re.sub(rb'"version":\d+,"cut"', b'"version":,"cut"', drawing.source)
    # Its group can't be told from a run's any more.
    with pytest.raises(DrawingError, match=r'the recipe of .*"cut box".* is damaged'):
        refit(read_drawing(damaged, "a.svg"))


def as_refit(source: bytes) -> bytes:
    """A drawing with all that it holds made again."""
    drawing = read_drawing(source, "a.svg")
    runs = made_runs(drawing)
    return with_runs(drawing, runs, recut(drawing, runs))


NEW_ON_THE_BOX: dict[str, Callable[[Drawing], Run]] = {
    "a run": lambda drawing: scallop(drawing, "box:c1..c2", width=20, name="side"),
    "a raw run": lambda drawing: scallop(drawing, "box:c1..c2", width=20, name="side", finish="raw"),
    "other scallops": lambda drawing: scallop(drawing, "box:c0..c1", width=75, depth="40%", name="top"),
    "other options": lambda drawing: workshop.changed(drawing, "top", width=75, depth="40%"),
    "another edge": lambda drawing: scallop(drawing, "box:c1..c2", width=20, name="top"),
    "another finish": lambda drawing: finished(drawing, "top", finish="faced", cut="straight:12mm"),
    "a facing": lambda drawing: facing(drawing, "top", depth=50),
    "notches": lambda drawing: notches(drawing, run="top", at="valleys"),
    "notches of their own": lambda drawing: notches(drawing, "box:c2..c3", at="parts:3", name="low"),
}


@pytest.mark.parametrize("what", NEW_ON_THE_BOX)
@pytest.mark.parametrize("lining", ["", "15mm"])
def test_pieces_that_were_cut_before_are_drawn_again_with_what_is_new_on_them(what: str, lining: str) -> None:
    """In the same write, and just as all of it is when it is made again."""
    drawing = boxed()
    drawing = read_drawing(with_runs(drawing, [], cut(drawing, lining=lining)), "a.svg")
    run = NEW_ON_THE_BOX[what](drawing)
    assert run.warnings == ()
    data = with_runs(drawing, [run])
    assert groups(data)["cut box"] != groups(drawing.source)["cut box"]
    assert as_refit(data) == data
    assert drawn_again(drawing, pieces_anew(drawing, [run])) == 'drawn again as cut: "box"'


def test_a_run_that_moves_to_another_piece_leaves_its_notches_on_neither() -> None:
    drawing = of(page(BOX + BOX.replace('id="box"', 'id="crate" transform="translate(400)"')))
    drawing = redrawn(drawing, [scallop(drawing, "box:c0..c1", width=30, name="hem", finish="faced")])
    drawing = read_drawing(with_runs(drawing, [], cut(drawing)), "a.svg")
    moved = scallop(drawing, "crate:c0..c1", width=30, name="hem", finish="faced")
    data = with_runs(drawing, [moved])
    assert as_refit(data) == data
    assert drawn_again(drawing, pieces_anew(drawing, [moved])) == 'drawn again as cut: "box", "crate"'


def test_what_can_t_be_cut_any_more_elsewhere_stands_in_nobody_s_way() -> None:
    """A run that finds no room any more lies on another piece: this one is cut as it was asked for."""
    drawing = of(page(BOX + '<path id="crate" d="M 410,20 H 710 V 220 H 410 Z"/>'))
    lid = scallop(drawing, "crate:c0..c1", name="lid", width=30, start="gap:30mm", end="gap:30mm")
    drawing = redrawn(drawing, [lid])
    drawing = read_drawing(with_runs(drawing, [], cut(drawing)), "a.svg")
    drawing = read_drawing(changed(drawing.source, "crate", "M 410,20 H 455 V 220 H 410 Z"), "a.svg")
    with pytest.raises(ScallopkitError):
        refit(drawing)
    data = with_runs(drawing, [scallop(drawing, "box:c0..c1", width=30, name="top")])
    assert groups(data)["cut box"] != groups(drawing.source)["cut box"]
    assert groups(data)["cut crate"] == groups(drawing.source)["cut crate"]


def test_notches_that_differ_from_those_that_are_drawn_are_told() -> None:
    """By `refit`, and by `check`; rounding in what is written is none of it."""
    drawing = boxed()
    drawing = redrawn(drawing, [notches(drawing, "box:c2..c3", at="parts:3", name="low")])
    runs = made_runs(drawing)
    own = cut_changes(drawing, recut(drawing, runs))
    assert own == [("cut box", "unchanged")]
    paths = re.findall(rb'<path (?=[^>]*data-role="notch")(?=[^>]*data-run="cut box")[^>]*/>', drawing.source)
    assert len(paths) == 2
    less = drawing.source.replace(paths[0], b"", 1)
    x = re.findall(rb' d="M ?([-\d.]+)', paths[0])[0]
    shifted = [
        drawing.source.replace(paths[0], paths[0].replace(x, b"%.4f" % (float(x) + by), 1), 1) for by in (1.0, 0.001)
    ]
    told = ["notches 1 to 2", "notches moved", "unchanged"]
    for source, change in zip((less, *shifted), told, strict=True):
        assert source != drawing.source
        other = read_drawing(source, "a.svg")
        made = recut(other, made_runs(other))
        assert cut_changes(other, made) == [("cut box", change)]
        differ = change != "unchanged"
        assert other_notches(other, made) == ({"box": change} if differ else {})
        broken = [finding for finding in examine(other.source, "a.svg") if not finding.ok]
        assert [finding.message for finding in broken] == [
            f'the notches of "box" are not those of its runs and seams ({change}): run `refit`'
        ] * differ


def test_a_piece_whose_label_alone_is_another_is_no_unchanged_one() -> None:
    drawing = boxed()
    other = read_drawing(drawing.source.replace(b"cut 2, a pair<", b"cut 3<"), "a.svg")
    assert other.source != drawing.source
    assert cut_changes(other, recut(other, made_runs(other))) == [("cut box", "drawn anew")]


def test_a_cutting_line_that_can_t_go_round_what_is_new_is_told_and_nothing_is_made() -> None:
    drawing = of(page(BOX))
    drawing = read_drawing(with_runs(drawing, [], cut(drawing, "box", side="box:c0..c1=20mm")), "a.svg")
    run = scallop(drawing, "box:c0..c1", width=30, name="top")
    said = (
        r"a cutting line that is there can't be made again: .* overlap, .*; "
        "ask for something else, or delete its group in the layer scallopkit$"
    )
    with pytest.raises(RequestError, match=said):
        with_runs(drawing, [run])


def test_unknown_words_for_a_cut_are_refused_with_the_known_ones() -> None:
    with pytest.raises(RequestError, match="there is no option widht; there are ") as caught:
        cut(drawings.read(BOX), widht=30)
    known = {f.name for f in fields(PieceWords)}
    assert set(re.split(r"[ ,]+", str(caught.value).partition("there are ")[2])) == known


def test_two_runs_on_one_edge_are_told() -> None:
    drawing = of(TWO)
    drawing = redrawn(drawing, [scallop(drawing, "hem", width=60)])
    assert [w.code for w in scallop(drawing, "hem:end..start", width=60, side="right").warnings] == ["edge-taken"]
    assert scallop(drawing, "hem", width=50).warnings == ()
    assert scallop(drawing, "cuff", width=50).warnings == ()


def test_a_band_on_an_unfinished_edge_binds_it() -> None:
    drawing = of(TWO)
    drawing = redrawn(drawing, [scallop(drawing, "hem", width=30, depth="15%", name="rim")])
    made = facing(drawing, "rim", kind="band", depth="20mm")
    assert made.finish is not None
    assert made.finish.kind == "bound"


def test_what_is_put_on_scallops_is_not_written_over(tmp_path: Path) -> None:
    drawing = of(TWO)
    bare = scallop(drawing, "hem", width=30, name="rim")
    further: list[dict[str, Any]] = [{"finish": "faced"}, {"template": 1}]
    for more in further:
        save(drawing, [scallop(drawing, "hem", width=30, name="rim", **more)], tmp_path / "a.svg")
        with pytest.raises(OutputError, match='holds work that would be lost \\("rim"\\)'):
            refuse_loss(tmp_path / "a.svg", drawing, [bare])
