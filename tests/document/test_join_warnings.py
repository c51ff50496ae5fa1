"""What the maker is told where edges meet: each warning where it is due, and not where it is not."""

from __future__ import annotations

import math
import re

import pytest

from scallopkit.document.recipe import EdgeWords, JoinWords, Recipe, ScallopWords, StretchWords
from scallopkit.document.runs import Run, make_run
from scallopkit.document.workshop import scallop
from scallopkit.errors import RequestError

from ..drawings import marks, read


def codes(run: Run) -> list[str]:
    return [warning.code for warning in run.warnings]


def leaning(degrees: float) -> str:
    """Two pieces whose edges, once sewn, turn by so many degrees: upward, so that the join is a hollow one."""
    x, y = 100.0 * math.cos(math.radians(degrees)), 100.0 * math.sin(math.radians(degrees))
    return (
        '<path id="a" d="M 10,100 H 110 V 180 H 10 Z"/>'
        f'<path id="b" d="M 300,100 L {300 + x!r},{100 - y!r} V 180 H 300 Z"/>'
    )


def sewn(body: str, **words: str) -> Run:
    return scallop(read(body), ["a:c0..c1", "b:c0..c1"], join="seam", width="20mm", depth="25%", **words)


@pytest.mark.parametrize(("degrees", "what"), [(8.0, "a dip"), (-8.0, "a peak")])
def test_a_turn_at_a_seam_is_told_as_a_dip_or_a_peak(degrees: float, what: str) -> None:
    run = sewn(leaning(degrees))
    (told,) = [warning for warning in run.warnings if warning.code == "not-true"]
    assert "the edges turn by 8.0 degrees" in told.message
    # Against the arc that touches both edges 20 mm away: 20 tan(a / 2) for each edge's share a of the turn.
    assert f"{what} of {20.0 * math.tan(math.radians(2.0)):.2f} mm" in told.message
    assert told.piece == "a"
    assert [told.x, told.y] == pytest.approx([110.0, 100.0])
    assert "not-true" not in codes(sewn(leaning(degrees), true_up="True"))
    assert "not-true" not in codes(sewn(leaning(0.5)))


@pytest.mark.parametrize(
    ("side", "apex", "what"),
    [("left", 160.0, "a dip"), ("right", 40.0, "a dip"), ("left", 40.0, "a peak"), ("right", 160.0, "a peak")],
)
def test_on_an_open_line_a_peak_points_to_where_the_scallops_stand(side: str, apex: float, what: str) -> None:
    # Closed, the dart bends the ends of the straight line away from its apex.
    body = '<path id="hem" d="M 10,100 H 310"/>' + marks(a=(150.0, 100.0), b=(170.0, 100.0), tip=(160.0, apex))
    stretches = tuple(StretchWords(name) for name in ("hem:start..a", "hem:b..end"))
    words = ScallopWords(width="20mm", depth="25%")
    joins = (JoinWords("dart", "valley", apex="tip"),)
    run = make_run(read(body), Recipe("run", EdgeWords(side=side), words, edges=stretches, joins=joins))
    (told,) = [warning for warning in run.warnings if warning.code == "not-true"]
    assert f", {what} of " in told.message


def bowed(radius: float) -> str:
    """Two pieces whose seam edges are arcs that leave the joint square to the edge."""
    return (
        f'<path id="a" d="M 10,100 H 110 A {radius} {radius} 0 0 1 90,150 L 10,150 Z"/>'
        '<path id="b" d="M 300,100 H 400 V 180 H 300 Z"/>'
    )


def test_a_seam_that_curves_at_the_joint_is_told() -> None:
    assert "curved-at-join" in codes(sewn(bowed(40.0)))
    assert "curved-at-join" not in codes(sewn(leaning(0.0)))


def test_a_seam_that_leaves_its_line_within_the_scallops_is_told_where_they_reach_inside() -> None:
    assert "seam-curves" in codes(sewn(bowed(40.0), touch="crest"))
    # Scallops outside the edge never come near it.
    assert "seam-curves" not in codes(sewn(bowed(40.0)))
    assert "seam-curves" not in codes(sewn(leaning(0.0), touch="crest"))


def darted(apex: float, control: float = 110.0) -> str:
    return f'<path id="p" d="M 10,100 H 100 Q {control},{0.5 * (100 + apex)} 110,{apex} L 120,100 H 210 V 250 H 10 Z"/>'


def over(body: str, **words: str) -> Run:
    return scallop(read(body), ["p:c0..c1", "p:c3..c4"], join="dart", width="20mm", **words)


def test_a_dart_that_is_cut_away_gets_no_cap_and_that_is_told() -> None:
    # The whole dart is 4 mm deep, and the valley held over it lies deeper inside the edge.
    shallow = '<path id="p" d="M 10,100 H 110 L 110.2,104 L 110.4,100 H 210.4 V 250 H 10 Z"/>'
    run = scallop(read(shallow), ["p:c0..c1", "p:c3..c4"], join="dart:valley", width="20mm", touch="crest", depth="35%")
    assert [made.cap for made in run.caps] == [None]
    assert "no-cap" in codes(run)
    whole = over(darted(180.0, 105.0), depth="25%")
    assert "no-cap" not in codes(whole)
    assert [made.cap is not None for made in whole.caps] == [True]


def test_legs_that_bow_are_refused_with_what_to_do() -> None:
    with pytest.raises(RequestError, match=r"bows by 2\.5 mm: draw it straight, or name its apex in a job file"):
        over(darted(180.0, 110.0))


def test_a_lap_without_its_width_says_where_that_goes() -> None:
    with pytest.raises(RequestError, match=re.escape('{ kind = "lap", width = "15mm" }')):
        scallop(read(leaning(0.0)), ["a:c0..c1", "b:c0..c1"], join="lap", width="20mm")
