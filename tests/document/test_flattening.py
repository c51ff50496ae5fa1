"""Edges by the maker's words: found, brought onto their stitching lines, joined."""

from __future__ import annotations

import pytest

from scallopkit.document.flattening import joint_holds, laid_run
from scallopkit.document.recipe import EdgeWords, JoinWords, Recipe, ScallopWords, StretchWords
from scallopkit.document.runs import Run, make_run
from scallopkit.document.workshop import scallop
from scallopkit.errors import NameUnknownError, RequestError, ScallopkitError

from ..drawings import marks, read

# Two boxes, 120 and 90 mm wide; corners c0 and c1 are the ends of their upper edges.
BOXES = (
    '<rect id="a" x="10" y="10" width="120" height="60"/>'
    '<rect id="b" x="200" y="10" width="90" height="60" transform="rotate(20)"/>'
)
LINES = '<path id="l" d="M 10,10 H 130"/><path id="m" d="M 10,50 H 100"/>'
DART = (
    '<path id="p" d="M 10,20 H 100 L 110,80 L 120,20 H 210 V 150 H 10 Z"/>'
    + marks(tip=(110, 80), aside=(300, 300))
    + '<rect id="whole" x="300" y="10" width="50" height="50"/>'
)


def recipe(*edges: str | StretchWords, joins: tuple[str | JoinWords, ...], edge: EdgeWords | None = None) -> Recipe:
    return Recipe(
        "run",
        edge or EdgeWords(),
        ScallopWords(width="20"),
        edges=tuple(StretchWords(e) if isinstance(e, str) else e for e in edges),
        joins=tuple(join(j) if isinstance(j, str) else j for j in joins),
    )


def join(text: str) -> JoinWords:
    kind, _, hold = text.partition(":")
    return JoinWords(kind, hold)


def made(body: str, *edges: str | StretchWords, **words: object) -> Run:
    return make_run(read(body), recipe(*edges, **words))  # type: ignore[arg-type]


def test_an_allowance_is_taken_off_at_seams_and_free_ends() -> None:
    words = EdgeWords(allowance="10mm")
    run = made(BOXES, "a:c0..c1", "b:c0..c1", joins=("seam",), edge=words)
    assert [part.end - part.begin for part in run.laid.parts] == pytest.approx([100.0, 70.0], abs=1e-9)
    assert run.laid.line.measured.length == pytest.approx(170.0)
    own = made(BOXES, "a:c0..c1", StretchWords("b:c0..c1", "15mm"), joins=("seam",), edge=words)
    assert [part.end - part.begin for part in own.laid.parts] == pytest.approx([100.0, 60.0], abs=1e-9)


def test_folds_and_darts_carry_no_allowance() -> None:
    run = made(DART, "p:c0..c1", "p:c3..c4", joins=("dart",), edge=EdgeWords(start="fold", allowance="8mm"))
    # The cut is 8 mm outside; the legs lean by 1 in 6, so 8 mm further in they are 8/6 mm further apart.
    first, last = (part.end - part.begin for part in run.laid.parts)
    assert first == pytest.approx(90.0 + 8.0 / 6.0, abs=1e-9)
    assert last == pytest.approx(90.0 + 8.0 / 6.0 - 8.0, abs=1e-9)


def test_open_lines_lose_their_allowance_at_seams_and_keep_their_ends_off_it() -> None:
    run = made(LINES, "l", "m", joins=("seam",), edge=EdgeWords(allowance="5mm"))
    assert [part.end - part.begin for part in run.laid.parts] == pytest.approx([115.0, 85.0])
    assert run.fit is not None
    begin_and_finish = [place for span in run.fit.spans for place in (span.begin, span.finish)]
    assert begin_and_finish == pytest.approx([5.0, 115.0, 115.0, 195.0], abs=1e-9)
    with pytest.raises(RequestError, match="too short for its --allowance"):
        made(LINES, "l", "m", joins=("seam", "seam"), edge=EdgeWords(allowance="50mm"))


def test_each_kind_of_join_has_its_usual_hold() -> None:
    def hold(body: str, *edges: str, join: str | JoinWords) -> str:
        asked = recipe(*edges, joins=(join,))
        (at,) = joint_holds(laid_run(read(body).pattern, asked, "run"), asked.joins)
        return at.end.kind

    assert hold(BOXES, "a:c0..c1", "b:c0..c1", join="seam") == "valley"
    assert hold(DART, "p:c0..c1", "p:c3..c4", join="dart") == "pass"
    assert hold(BOXES, "a:c0..c1", "a:c1..c0", join="fold") == "crest"
    assert hold(BOXES, "a:c0..c1", "b:c0..c1", join=JoinWords("lap", width="10")) == "pass"
    assert hold(BOXES, "a:c0..c1", "b:c0..c1", join="butt") == "pass"
    assert hold(BOXES, "a:c0..c1", "b:c0..c1", join="seam:gap:4mm") == "gap"


def test_a_gap_leaves_the_dart_free() -> None:
    run = made(DART, "p:c0..c1", "p:c3..c4", joins=("dart:gap:8mm",))
    assert run.fit is not None
    first, second = run.fit.spans
    assert (first.finish, second.begin) == pytest.approx((82.0, 98.0), abs=1e-9)
    assert run.caps == ()


def test_an_apex_may_be_any_mark_or_a_corner() -> None:
    for apex in ("tip", "p:c2"):
        join = JoinWords("dart", apex=apex)
        run = made(DART, "p:c0..c1", "p:c3..c4", joins=(join,))
        assert abs(run.laid.joints[0].true.angle) == pytest.approx(0.3303, abs=1e-4)  # twice the lean of 1 in 6
    with pytest.raises(NameUnknownError, match='no mark is called "top", for the apex of a dart; there are "tip"'):
        made(DART, "p:c0..c1", "p:c3..c4", joins=(JoinWords("dart", apex="top"),))


@pytest.mark.parametrize(
    ("edges", "joins", "says"),
    [
        (("whole", "p:c0..c1"), ("seam",), '"whole" is a whole closed outline, which has no ends to join'),
        (("p:c0..c1", "p:c3..c4"), ("pleat",), "--join can be seam, dart, fold, lap or butt"),
        (("p:c0..c1", "p:c3..c4"), ("dart:firm",), "can be valley, crest, pass or gap:8mm"),
        (("p:c0..c1", "p:c3..c4"), (), "2 edges and 0 joins make no run"),
        (("p:c0..c1", "p:c9..c4"), ("dart",), 'has no mark or corner "c9"'),
        (("p:c3..c4", "p:c0..c1"), ("dart",), "swap the two edges"),
    ],
)
def test_what_makes_no_run_is_told(edges: tuple[str, ...], joins: tuple[str, ...], says: str) -> None:
    with pytest.raises(ScallopkitError) as told:
        made(DART, *edges, joins=joins)
    assert says in str(told.value)


def test_a_loop_has_no_ends() -> None:
    with pytest.raises(RequestError, match='"run" is a loop and has no ends'):
        made(BOXES, "a:c0..c1", "b:c0..c1", joins=("seam", "seam"), edge=EdgeWords(start="fold"))


def test_marks_of_either_piece_may_be_held() -> None:
    body = BOXES + marks(one=(60, 10))
    run = scallop(read(body), ["a:c0..c1", "b:c0..c1"], join="seam", width=20, hold=["one=crest"])
    assert [stop.name for stop in run.stops if stop.hold == "crest"] == ["one"]
    with pytest.raises(NameUnknownError, match='no mark or corner "two" lies on'):
        scallop(read(body), ["a:c0..c1", "b:c0..c1"], join="seam", width=20, hold=["two=crest"])
