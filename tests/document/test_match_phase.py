"""Scallops on two edges that are sewn together: told how far they are from being in phase, and brought there."""

from __future__ import annotations

import json
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.document.drawing import Drawing
from scallopkit.document.examining import examine
from scallopkit.document.kept import kept_recipes
from scallopkit.document.making import make_job
from scallopkit.document.match_figures import match_entry, match_table
from scallopkit.document.matches import MadeMatch
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import Phased, from_text, to_text
from scallopkit.document.report import report_of
from scallopkit.document.runs import Run
from scallopkit.document.workshop import (
    eyelets,
    in_phase,
    match,
    redrawn,
    refit,
    rematched,
    scallop,
    with_runs,
)
from scallopkit.errors import RequestError, ScallopkitError
from scallopkit.geometry.cubics import Array
from scallopkit.trim.row import FIRST_HALF, SECOND_HALF
from scallopkit.trim.scallops import valleys
from tests.drawings import page, read

BAND = '<path id="band" d="M 20,20 H 220 V 60 H 20 Z"/>'
TOP, LOW = "band:c3..c2", "skirt:c0..c1"
# Lengths are written to 1e-9 mm, and the promise for valleys on the edge is 1e-6.
EXACT = 1e-6


def skirt(length: float) -> str:
    return f'<path id="skirt" d="M 20,120 H {20 + length:g} V 400 H 20 Z"/>'


def two(length: float = 200.0, top: dict[str, Any] | None = None, low: dict[str, Any] | None = None) -> Drawing:
    drawing = read(BAND + skirt(length))
    runs = [
        scallop(drawing, TOP, name="top", **(top or {"count": 8})),
        scallop(drawing, LOW, name="low", **(low or {"width": 24.5, "start": "gap:4mm"})),
    ]
    return redrawn(drawing, runs)


def places(run: Run | None) -> Array:
    """The lengths of a run's valleys along its edge."""
    assert run is not None
    assert run.scallops is not None
    return np.sort(run.along_run(valleys(run.scallops.row, run.course.measured.closing)[1]))


def warned(made: MadeMatch) -> list[str]:
    return [w.message for w in made.warnings if w.code == "out-of-phase"]


def test_how_far_valleys_are_from_each_other_is_told_at_each_anchor_and_at_most() -> None:
    drawing = two()
    made = match(drawing, "top", "low")
    own, its = places(made.sides[0].full), places(made.sides[1].full)
    assert its[0] == pytest.approx(4.0)
    entry = match_entry(drawing, made)
    assert [anchor["off_mm"] for anchor in entry["anchors"]] == pytest.approx([4.0, 0.0], abs=EXACT)
    assert entry["phase_off_mm"] == pytest.approx(max(np.abs(own - s).min() for s in its), abs=EXACT)
    assert entry["phase_mm"] == 0.0
    assert entry["phase_shift_mm"] == pytest.approx(made.sides[1].full.widths[0] - 4.0)  # type: ignore[union-attr]
    assert "up to 4.00 mm from those of" in match_table([made], terminal=False)
    # Told, but let be: within what is allowed nothing is said.
    assert len(warned(made)) == 1
    assert warned(match(drawing, "top", "low", phase_within="5mm")) == []


def test_the_figure_that_is_told_brings_them_in_phase() -> None:
    drawing = two(low={"count": 9})
    (text,) = warned(match(drawing, "top", "low"))
    assert 'fit "low" with --count 8, or give --in-phase' in text
    (text,) = warned(match(drawing, "top", "low", phase="4mm"))
    found = re.search(r"--start (gap:\S+mm) --end (gap:\S+mm) --count (\d+),", text)
    assert found is not None
    # The last valley that has room is 25 mm before the end, and 4 mm further.
    assert found.groups() == ("gap:4.00mm", "gap:21.00mm", "7")
    start, end, count = found.groups()
    again = redrawn(drawing, [scallop(drawing, LOW, name="low", start=start, end=end, count=int(count))])
    made = match(again, "top", "low", phase="4mm")
    assert warned(made) == []
    assert places(made.sides[1].full) == pytest.approx(places(made.sides[0].full)[:-1] + 4.0)


def test_brought_in_phase_valley_meets_valley_over_ease() -> None:
    drawing = two(204.0)
    made = match(drawing, "top", "low", in_phase=True)
    # 4 mm are eased evenly: every length of the band is 1.02 times as long on the skirt.
    assert places(made.brought) == pytest.approx(1.02 * places(made.sides[0].full), abs=EXACT)
    assert warned(made) == []
    data = with_runs(drawing, [], matches=[made])
    written = read_drawing(data, "a.svg")
    assert all(finding.ok for finding in examine(data, "a.svg"))
    assert match(written, "top", "low").phases.off < EXACT  # type: ignore[union-attr]
    assert match_entry(written, made)["in_phase"] is True
    report = report_of(drawing, in_phase([], [made]), matches=[made])
    assert [run["name"] for run in report["runs"]] == ["low"]
    # What the maker said of the run stays said.
    kept = kept_recipes(data)["low"]
    assert (kept.edge.start, kept.own.edge.start, kept.own.phased) == ("", "gap:4mm", None)


def test_valleys_meet_over_pleats_and_scallops_keep_their_width_between_them() -> None:
    drawing = two(260.0, {"count": 10}, {"count": 13})
    made = match(drawing, "top", "low", take_up=["knife:2"], in_phase=True, phase_within="0.5mm")
    assert made.phases is not None
    assert made.phases.off < EXACT
    tucks, its = made.pairs[0].tucks, places(made.brought)
    # Folded in by hand: what a pleat takes lies on its place.
    folded = [s - sum(min(max(s - t.begin, 0.0), t.take) for t in tucks) for s in its]
    for valley in places(made.sides[0].full):
        assert min(abs(s - valley) for s in folded) < EXACT
    # No valley is seen that has none to meet, and a scallop that goes into a pleat comes out of it as if it went on.
    seen = [s for s in its if not any(t.begin < s < t.end for t in tucks)]
    assert len(seen) == len(places(made.sides[0].full))
    assert all(b - a == pytest.approx(20.0, abs=EXACT) for a, b in pairwise(its) if a in seen or b in seen)
    plain = [b - a for a, b in pairwise(its) if not any(t.begin < b and t.end > a for t in tucks)]
    assert plain == pytest.approx([20.0] * len(plain))
    assert len(plain) >= 6


@pytest.mark.parametrize("how", ["knife:1", "knife:4", "box:1", "box:2", "inverted:1", "inverted:3"])
@pytest.mark.parametrize("turned", [False, True])
def test_no_valley_is_seen_beside_a_pleat_that_has_none_to_meet(how: str, turned: bool) -> None:
    drawing = two(260.0, {"count": 9})
    edge = "skirt:c1..c0" if turned else LOW
    drawing = redrawn(drawing, [scallop(drawing, edge, count=13, name="low")])
    made = match(drawing, "top", "low", take_up=[how], turned=turned, in_phase=True)
    its = 260.0 - places(made.brought)[::-1] if turned else places(made.brought)
    tucks = made.pairs[0].tucks
    # The two folds of an inverted pleat are laid on one line, behind which the cloth of both is out of sight.
    behind = [(t.begin, t.end) for t in tucks] + [(a.begin, b.end) for a, b in pairwise(tucks) if b.sewn == a.sewn]
    seen = [s for s in its if not any(begin + EXACT < s < end - EXACT for begin, end in behind)]
    folded = [s - sum(min(max(s - t.begin, 0.0), t.take) for t in tucks) for s in seen]
    assert folded == pytest.approx(places(made.sides[0].full).tolist(), abs=EXACT)


def test_an_offset_of_half_a_scallop_sets_valleys_below_crests_with_halves_at_the_ends() -> None:
    drawing = two(low={"count": 8})
    made = match(drawing, "top", "low", phase="12.5mm", in_phase=True)
    assert places(made.brought) == pytest.approx(12.5 + 25.0 * np.arange(8), abs=EXACT)
    assert made.brought is not None
    assert made.brought.count == 8
    assert all(finding.ok for finding in examine(with_runs(drawing, [], matches=[made]), "a.svg"))
    assert [stop.hold for stop in made.brought.stops][:: len(made.brought.stops) - 1] == ["crest", "crest"]
    other = match(drawing, "top", "low", phase="-5mm", in_phase=True)
    assert places(other.brought) == pytest.approx(20.0 + 25.0 * np.arange(8), abs=EXACT)


def test_turned_edges_are_brought_in_phase_too() -> None:
    drawing = redrawn(two(), [scallop(two(), "skirt:c1..c0", width=31.0, name="back")])
    drawing = redrawn(drawing, [scallop(drawing, TOP, name="top", width=25, end="gap:10mm")])
    made = match(drawing, "top", "back", turned=True, in_phase=True)
    assert 200.0 - places(made.brought)[::-1] == pytest.approx(places(made.sides[0].full), abs=EXACT)


def test_round_closed_lines_valleys_are_sought_on_the_next_turn_too() -> None:
    drawing = read('<circle id="rim" cx="110" cy="110" r="90"/><circle id="lid" cx="350" cy="110" r="90"/>')
    runs = [scallop(drawing, name, count=12, name=f"{name} edge") for name in ("rim", "lid")]
    drawing = redrawn(drawing, runs)
    made = match(drawing, "rim edge", "lid edge", pair=["100mm=100mm"])
    assert made.phases is not None
    assert made.phases.off < EXACT
    assert abs(made.phases.at[0].a) < EXACT
    assert abs(made.phases.at[-1].a) < EXACT
    assert made.warnings == ()
    shifted = match(drawing, "rim edge", "lid edge", phase="10mm", in_phase=True)
    assert places(shifted.brought) == pytest.approx(places(shifted.sides[0].full) + 10.0, abs=EXACT)


def test_a_run_over_a_seam_takes_valleys_that_fall_beside_it() -> None:
    halves = '<path id="left" d="M 20,120 H 130 V 300 H 20 Z"/><path id="right" d="M 200,120 H 290 V 300 H 200 Z"/>'
    drawing = read(BAND + halves)
    both = ["left:c0..c1", "right:c0..c1"]
    runs = [scallop(drawing, TOP, name="top", count=8), scallop(drawing, both, join="seam", count=8, name="low")]
    drawing = redrawn(drawing, runs)
    made = match(drawing, "top", "low", in_phase=True)
    assert places(made.brought) == pytest.approx(25.0 * np.arange(9), abs=EXACT)
    assert all(finding.ok for finding in examine(with_runs(drawing, [], matches=[made]), "a.svg"))


def test_what_is_on_the_run_goes_with_it() -> None:
    drawing = two()
    drawing = redrawn(drawing, [eyelets(drawing, run="low", eyelet=3, margin=1, wearer="adult")])
    made = match(drawing, "top", "low", in_phase=True)
    assert made.brought is not None
    assert len(made.brought.eyelets[0]) == 8


def test_it_stays_in_phase_when_the_outlines_change() -> None:
    drawing = two()
    drawing = read_drawing(with_runs(drawing, [], matches=[match(drawing, "top", "low", in_phase=True)]), "a.svg")
    assert with_runs(drawing, [one.run for one in refit(drawing)]) == drawing.source
    shorter = drawing.source.replace(b'd="M 20,20 H 220 V 60', b'd="M 20,20 H 180 V 60')
    shorter = shorter.replace(b'd="M 20,120 H 220 V', b'd="M 20,120 H 180 V')
    again = read_drawing(shorter, "a.svg")
    runs = [one.run for one in refit(again)]
    (made,) = rematched(again, runs)
    assert places(made.brought) == pytest.approx(20.0 * np.arange(9), abs=EXACT)
    written = read_drawing(with_runs(again, runs, matches=[made]), "a.svg")
    assert all(finding.ok for finding in examine(written.source, "a.svg"))


# ---------------------------------------------------------------- spaces between scallops


def kinds(run: Run | None) -> tuple[Array, Array]:
    """Where scallops begin along a run, and where they end."""
    assert run is not None
    assert run.scallops is not None
    row = run.scallops.row
    begins, ends = row.s_start[row.part != SECOND_HALF], row.s_end[row.part != FIRST_HALF]
    return np.sort(run.along_run(begins)), np.sort(run.along_run(ends))


def sewn(made: MadeMatch, s: Array) -> list[float]:
    """Where places of the longer second edge lie on the first, by hand; None where a pleat takes up their cloth."""
    (pair,) = made.pairs
    behind = [(t.begin, t.end) for t in pair.tucks]
    behind += [(x.begin, y.end) for x, y in pairwise(pair.tucks) if y.sewn == x.sewn]
    seen = [x for x in s.tolist() if not any(begin + EXACT < x < end - EXACT for begin, end in behind)]
    folded = [x - sum(min(max(x - t.begin, 0.0), t.take) for t in pair.tucks) for x in seen]
    # What no pleat takes up is eased in evenly.
    left = made.sides[1].length - sum(t.take for t in pair.tucks)
    return [x * made.sides[0].length / left for x in folded]


@settings(max_examples=40)
@given(
    count=st.integers(3, 9),
    space=st.floats(0.5, 8.0),
    phase=st.floats(-60.0, 60.0),
    longer=st.floats(0.0, 4.0),
    how=st.sampled_from(["", "knife:1", "knife:3", "box:1", "box:2", "inverted:2"]),
    turned=st.booleans(),
)
def test_with_spaces_beginnings_meet_beginnings_and_ends_ends(
    count: int, space: float, phase: float, longer: float, how: str, turned: bool
) -> None:
    length = round(200.0 + longer + (80.0 if how else 0.0), 2)
    drawing = read(BAND + skirt(length))
    low = "skirt:c1..c0" if turned else LOW
    runs = [
        scallop(drawing, TOP, name="top", count=count, space=space),
        scallop(drawing, low, name="low", count=5, space=4),
    ]
    drawing = redrawn(drawing, runs)
    words: dict[str, Any] = {"take_up": [how]} if how else {}
    made = match(drawing, "top", "low", in_phase=True, turned=turned, phase=f"{phase:.3f}mm", **words)
    assert made.phases is not None
    assert made.phases.off < EXACT
    wanted = [s + round(phase, 3) for s in kinds(made.sides[0].full)]
    theirs = kinds(made.brought)
    if turned:
        theirs = (length - theirs[1][::-1], length - theirs[0][::-1])
    first, last = min(sewn(made, theirs[0])), max(sewn(made, theirs[1]))
    for its, own in zip(theirs, wanted, strict=True):
        # All that is between the first whole scallop and the last, and nothing else; a half may lie beyond.
        meant = [s for s in own if first - EXACT <= s <= last + EXACT]
        there = [s for s in sewn(made, its) if first - EXACT <= s <= last + EXACT]
        assert there == pytest.approx(meant, abs=EXACT)
    assert len([s for s in wanted[0] if s > -EXACT and s + 200.0 / count < 200.0]) <= len(theirs[0])
    data = with_runs(drawing, [], matches=[made])
    assert all(finding.ok for finding in examine(data, "a.svg"))
    again = read_drawing(data, "a.svg")
    once_more = [one.run for one in refit(again)]
    assert with_runs(again, once_more, matches=rematched(again, once_more)) == data


def test_spaces_over_ease_are_as_much_longer_as_their_stretch() -> None:
    drawing = two(204.0, {"count": 8, "space": 3}, {"count": 6, "space": 2})
    made = match(drawing, "top", "low", in_phase=True)
    begins, ends = kinds(made.brought)
    assert begins[1:] - ends[:-1] == pytest.approx([3.0 * 1.02] * 7, abs=EXACT)
    # What the maker said of the run stays said.
    kept = kept_recipes(with_runs(drawing, [], matches=[made]))["low"]
    assert (kept.scallop.space, kept.own.phased) == ("2", None)  # type: ignore[union-attr]


def test_with_spaces_the_figure_that_is_told_brings_them_in_phase_too() -> None:
    drawing = two(top={"count": 8, "space": 3}, low={"count": 6, "space": 3})
    (text,) = warned(match(drawing, "top", "low"))
    assert 'fit "low" with --count 8, or give --in-phase' in text
    same = two(top={"count": 8, "space": 3}, low={"count": 8, "space": 3})
    assert warned(match(same, "top", "low")) == []


def test_round_closed_lines_and_at_folds_spaces_are_held_too() -> None:
    drawing = read('<circle id="rim" cx="110" cy="110" r="90"/><circle id="lid" cx="350" cy="110" r="90"/>')
    runs = [scallop(drawing, name, count=n, space=4, name=f"{name} edge") for name, n in (("rim", 12), ("lid", 9))]
    drawing = redrawn(drawing, runs)
    for phase in (0.0, 10.0, -45.0):
        made = match(drawing, "rim edge", "lid edge", phase=f"{phase}mm", in_phase=True)
        for own, its in zip(kinds(made.sides[0].full), kinds(made.brought), strict=True):
            around = made.sides[0].length
            assert its == pytest.approx(np.sort(np.mod(own + phase, around)), abs=EXACT)
        assert all(finding.ok for finding in examine(with_runs(drawing, [], matches=[made]), "a.svg"))
    folded = two(
        top={"count": 8, "space": 3, "start": "fold:valley"}, low={"count": 6, "space": 2, "start": "fold:valley"}
    )
    made = match(folded, "top", "low", in_phase=True)
    for own, its in zip(kinds(made.sides[0].full), kinds(made.brought), strict=True):
        assert its == pytest.approx(own, abs=EXACT)
    assert kinds(made.brought)[0][0] == pytest.approx(1.5, abs=EXACT)
    assert all(finding.ok for finding in examine(with_runs(folded, [], matches=[made]), "a.svg"))


def test_an_open_edge_is_not_brought_in_phase_with_a_closed_one() -> None:
    drawing = read('<circle id="rim" cx="110" cy="110" r="90"/><path id="low" d="M 300,20 H 865.4867"/>')
    drawing = redrawn(drawing, [scallop(drawing, "rim", count=12), scallop(drawing, "low", count=12)])
    with pytest.raises(ScallopkitError, match="loop"):
        match(drawing, "rim", "low", in_phase=True)


def test_what_can_not_be_brought_in_phase_is_refused() -> None:
    with pytest.raises(RequestError, match='"low" has a --space between its scallops and "top" has none'):
        match(two(low={"count": 6, "space": 3}), "top", "low", in_phase=True)
    with pytest.raises(RequestError, match="no scallops"):
        match(two(), "top", LOW, in_phase=True)
    with pytest.raises(ScallopkitError, match="fewer than two valleys"):
        match(two(), "top", "low", phase="190mm", in_phase=True)
    with pytest.raises(ScallopkitError, match=r'"low" can\'t be brought in phase: .*radius'):
        match(two(low={"count": 16, "radius": 10, "keep": "depth"}), "top", "low", in_phase=True)


def test_a_recipe_keeps_where_valleys_are_held() -> None:
    made = match(two(), "top", "low", in_phase=True).brought
    assert made is not None
    kept = from_text(to_text(made.recipe), "low")
    assert kept == made.recipe
    assert isinstance(kept.phased, Phased)


def test_a_job_brings_its_run_in_phase(tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text(page(BAND + skirt(200.0)), encoding="utf-8")
    (tmp_path / "a.toml").write_text(
        'pattern = "a.svg"\noutput = "b.svg"\nreport = "b.json"\n'
        f'[[run]]\nname = "top"\nedges = "{TOP}"\n[run.scallop]\ncount = 8\n'
        f'[[run]]\nname = "low"\nedges = "{LOW}"\nstart = "gap:4mm"\n[run.scallop]\nwidth = 24.5\n'
        '[[match]]\na = "top"\nb = "low"\nin_phase = true\n',
        encoding="utf-8",
    )
    made = make_job(tmp_path / "a.toml")
    assert made.ok
    assert '"low" brought in phase' in made.text
    report = json.loads((tmp_path / "b.json").read_text(encoding="utf-8"))
    assert [run["count"] for run in report["runs"]] == [8, 8]
    assert [v["s_mm"] for v in report["runs"][1]["valleys"]] == pytest.approx([25.0 * k for k in range(9)])
