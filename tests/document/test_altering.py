"""What to let out or take in, and sizes that go by another run's."""

from __future__ import annotations

import pytest

from scallopkit.document.altering import alterations
from scallopkit.document.report import run_entry
from scallopkit.document.workshop import redrawn, refit, scallop
from scallopkit.errors import RequestError

from ..drawings import read

BOXES = (
    '<rect id="a" x="10" y="10" width="125" height="60"/><rect id="b" x="200" y="10" width="94" height="60"/>'
    '<rect id="c" x="10" y="200" width="200" height="60"/>'
)


def test_each_span_is_altered_at_its_seam() -> None:
    drawing = read(BOXES)
    run = scallop(drawing, ["a:c0..c1", "b:c0..c1"], join="seam", width=20, name="top")
    assert run.count == 11  # six of 20.83 and five of 18.8
    made = alterations(drawing, run)
    assert [(a.at, a.piece) for a in made] == [("a:c1/b:c0", "a"), ("a:c1/b:c0", "b")]
    assert [a.add for a in made] == pytest.approx([-5.0, 6.0], abs=1e-7)
    entry = run_entry(drawing, run)
    assert [(a["piece"], a["add_mm"]) for a in entry["alterations"]] == [("a", -5.0), ("b", 6.0)]


def test_a_single_edge_is_altered_at_its_free_ends_only_where_that_is_asked_for() -> None:
    drawing = read(BOXES)
    plain = scallop(drawing, "a:c0..c1", width=20)
    assert run_entry(drawing, plain)["alterations"] == []
    asked = scallop(drawing, "a:c0..c1", width=20, same_width=True)
    assert [(a["at"], a["add_mm"]) for a in run_entry(drawing, asked)["alterations"]] == [("c0", -2.5), ("c1", -2.5)]
    folded = scallop(drawing, "a:c0..c1", width=20, same_width=True, start="fold")
    # Six and a half of 20 mm from the fold on: only the free end can give.
    assert [(a["at"], a["add_mm"]) for a in run_entry(drawing, folded)["alterations"]] == [("c1", 5.0)]


def test_sizes_by_another_run() -> None:
    drawing = read(BOXES)
    drawing = redrawn(drawing, [scallop(drawing, "c:c0..c1", count=20, name="neck")])
    hem = scallop(drawing, ["a:c0..c1", "b:c0..c1"], join="seam:pass", like="neck", ratio=2, name="hem")
    assert hem.count == 11  # 219 mm at 20 mm
    entry = run_entry(drawing, hem)
    assert entry["ratio"] == {"run": "neck", "asked": 2.0, "reached": pytest.approx(219 / 11 / 10, rel=1e-9)}
    # One span from end to end: it can be altered at both free ends.
    assert [a["add_mm"] for a in entry["alterations"]] == [pytest.approx(0.5, abs=1e-6)] * 2
    # It goes on by the other run when that has changed.
    both = redrawn(drawing, [hem])
    assert [one.change for one in refit(both)] == ["unchanged", "unchanged"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ({"like": "nack"}, 'no run of scallops called "nack" to go by; there are "neck"'),
        ({"like": "neck", "width": 20}, "leave out --width and --count"),
        ({"width": 20, "ratio": 2}, "--ratio goes with --like RUN"),
        ({"like": "neck", "ratio": "twice"}, "--ratio takes a number"),
    ],
)
def test_what_is_no_size_is_told(words: dict[str, str], says: str) -> None:
    drawing = read(BOXES)
    drawing = redrawn(drawing, [scallop(drawing, "c:c0..c1", count=20, name="neck")])
    with pytest.raises(RequestError, match=says):
        scallop(drawing, "a:c0..c1", name="hem", **words)
