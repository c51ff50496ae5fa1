"""A strip of cloth cut up and sewn together again carries the scallops that the uncut strip does.

The test knows where it has put each piece and carries points back by complex numbers, never by the package's own
motions. With y pointing down the cloth lies on the right hand of someone who walks the strip's top from left to right.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st
from lxml import etree
from svgpathtools import Path, parse_path

from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing
from scallopkit.document.report import run_entry
from scallopkit.document.runs import Run
from scallopkit.document.workshop import scallop, with_runs
from scallopkit.errors import NoFitError, RequestError, ScallopkitError
from scallopkit.geometry.cubics import Array, lines
from scallopkit.geometry.length import measure

from ..drawings import QUARTER, marks, page, path
from ..shapes import wavy_lines

SEAM = 25.0
WRITTEN = 2e-4
MOTIF = '<path id="leaf" d="M 3000,3000 C 3004,2992 3008,2990 3010,2988 C 3012,2990 3016,2992 3020,3000"/>'

# A strip that fails shows itself as it is: making it small would take minutes.
few = settings(
    max_examples=10,
    phases=(Phase.explicit, Phase.reuse, Phase.generate),
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


def as_complex(points: Array) -> Array:
    """Points (..., 2) as complex numbers."""
    return np.asarray(points[..., 0] + 1j * points[..., 1])


def as_pairs(z: Array) -> Array:
    return np.stack([z.real, z.imag], axis=-1)


@dataclass(frozen=True)
class Place:
    """Where a piece lies on the sheet: turned and moved, and perhaps drawn face down."""

    shift: complex
    turn: float
    flipped: bool = False

    def there(self, z: Any) -> Any:  # noqa: ANN401  # one number or an array
        return self.shift + np.exp(1j * self.turn) * (np.conj(z) if self.flipped else z)

    def back(self, z: complex) -> complex:
        away = complex((z - self.shift) * np.exp(-1j * self.turn))
        return away.conjugate() if self.flipped else away


@dataclass(frozen=True, eq=False)
class Strip:
    """A strip whose top is a curve, the lengths along it at which it is cut, ends included, and the seams (k,) there.

    A seam is the way from the top into the cloth.
    """

    top: Array
    cuts: tuple[float, ...]
    seams: tuple[complex, ...]

    @property
    def count(self) -> int:
        return len(self.cuts) - 1

    def outline(self, i: int, j: int) -> Array:
        """The piece from cut `i` to cut `j`, its top first."""
        top = measure(self.top).part(self.cuts[i], self.cuts[j])
        first, last = complex(*top[0, 0]), complex(*top[-1, 3])
        rest = np.array([last, last + self.seams[j], first + self.seams[i], first])
        return np.concatenate([top, lines(as_pairs(rest))])

    def uncut(self) -> Drawing:
        """The whole strip as it is sewn, with a mark at each cut."""
        where = measure(self.top).points(np.array(self.cuts[1:-1]))
        named = {f"j{k + 1}": (float(x), float(y)) for k, (x, y) in enumerate(where)}
        return sheet(path(self.outline(0, self.count), "strip", closed=True), marks(**named))

    def cut(self, places: Sequence[Place]) -> Drawing:
        pieces = [
            path(as_pairs(place.there(as_complex(self.outline(k, k + 1)))), f"p{k}", closed=True)
            for k, place in zip(range(self.count), places, strict=False)
        ]
        return sheet(*pieces)


def sheet(*elements: str) -> Drawing:
    return read_drawing(page("".join(elements) + MOTIF, size=(4000.0, 4000.0)).encode(), "sheet.svg")


def edges_of(strip: Strip, places: Sequence[Place]) -> list[str]:
    return [f"p{k}:c0..c1" + ":mirrored" * places[k].flipped for k in range(strip.count)]


@st.composite
def strips(draw: st.DrawFn, most: int = 5) -> Strip:
    top = draw(wavy_lines()) * (1.0, 0.4)
    m = measure(top)
    count = draw(st.integers(2, most))
    shares = np.cumsum([draw(st.floats(1.0, 3.0)) for _ in range(count)])
    cuts = (0.0, *(m.length * shares / shares[-1]).tolist())
    assume(min(b - a for a, b in pairwise(cuts)) > 25.0)
    # A segment shorter than 0.01 mm beside a corner counts as a slip of the pen.
    ends = np.cumsum([measure(segment[None]).length for segment in top])
    assume(np.abs(ends[:-1, None] - np.array(cuts)).min() > 0.02)
    tangents = as_complex(m.tangents(np.array(cuts)))
    slants = [draw(st.floats(-0.35, 0.35)) for _ in cuts]
    seams = tuple(complex(SEAM * 1j * t * np.exp(1j * slant)) for t, slant in zip(tangents, slants, strict=True))
    strip = Strip(top, cuts, seams)
    # A bottom edge longer than what is above it has a name of its own kind: c0..c1 is the shorter way round.
    for i, j in [(0, count), *((k, k + 1) for k in range(count))]:
        outline = strip.outline(i, j)
        below = float(np.hypot(*(outline[-3:, 3] - outline[-3:, 0]).T).sum())
        assume(cuts[j] - cuts[i] < 0.98 * below)
    return strip


@st.composite
def placings(draw: st.DrawFn, count: int = 5) -> list[Place]:
    """Pieces laid anywhere, turned anyhow and lying over each other, one of them perhaps drawn face down."""
    where = st.tuples(st.floats(-700.0, 700.0), st.floats(-700.0, 700.0), st.floats(0.0, 2.0 * math.pi))
    flipped = draw(st.integers(0, 2 * count))
    laid = [draw(where) for _ in range(count)]
    return [Place(complex(x, y), turn, k == flipped) for k, (x, y, turn) in enumerate(laid)]


@st.composite
def wishes(draw: st.DrawFn) -> dict[str, Any]:
    """Scallops of any profile, with or without a space, weights, and at any touch."""
    words: dict[str, Any] = {"width": draw(st.floats(9.0, 30.0))}
    words["profile"] = draw(st.sampled_from(["arc", "pointed-arch", "wave", "motif:leaf"]))
    words["depth"] = f"{draw(st.integers(15, 40))}%"
    words["touch"] = draw(st.sampled_from(["valley", "crest", "middle"]))
    if draw(st.booleans()):
        words["space"] = draw(st.floats(1.0, 6.0))
    if draw(st.booleans()):
        words["weights"] = draw(st.sampled_from(["2,1", "1,1.3,0.8", "1..1.5"]))
    return words


@dataclass(frozen=True, eq=False)
class Outcome:
    run: Run
    report: dict[str, Any]


def tried(drawing: Drawing, along: Any, **words: Any) -> Outcome | ScallopkitError:  # noqa: ANN401  # any words
    try:
        run = scallop(drawing, along, **words)
    except ScallopkitError as error:
        return error
    return Outcome(run, run_entry(drawing, run))


def made(drawing: Drawing, along: Any, **words: Any) -> Outcome:  # noqa: ANN401  # any words
    run = scallop(drawing, along, **words)
    return Outcome(run, run_entry(drawing, run))


def sewn(found: Sequence[dict[str, Any]], places: Sequence[Place]) -> list[complex]:
    """Points of the report, sewn together again."""
    return [places[int(one["piece"][1:])].back(complex(one["x"], one["y"])) for one in found]


def drawn(found: Sequence[dict[str, Any]]) -> list[complex]:
    return [complex(one["x"], one["y"]) for one in found]


def farthest(a: Sequence[complex], b: Sequence[complex]) -> float:
    assert len(a) == len(b)
    return max((abs(x - y) for x, y in zip(a, b, strict=True)), default=0.0)


def stitched(drawing: Drawing, run: Run) -> list[tuple[str, Path]]:
    """The written stitching lines with their pieces, as another reader of SVG has them."""
    root = etree.fromstring(with_runs(drawing, [run]))
    found = [element for element in root.iter() if element.get("data-role") == "stitching"]
    return [(str(element.get("data-piece")), parse_path(element.get("d"))) for element in found]


def nodes(line: Path) -> list[complex]:
    return [line[0].start, *(segment.end for segment in line)]


def same_row(uncut: Outcome, cut: Outcome, places: Sequence[Place]) -> None:
    """The cut strip's row is the uncut one's."""
    assert cut.run.recipe.scallop is not None
    assert cut.report["count"] == uncut.report["count"]
    assert cut.run.widths == pytest.approx(uncut.run.widths, rel=1e-9, abs=1e-7)
    assert cut.report["length_mm"] == pytest.approx(uncut.report["length_mm"], abs=2e-6)
    for what in ("width_mm", "depth_mm"):
        rows = ([row[what] for row in one.report["scallops"]] for one in (cut, uncut))
        assert next(rows) == pytest.approx(next(rows), abs=2e-6)
    for what in ("valleys", "crests"):
        assert farthest(sewn(cut.report[what], places), drawn(uncut.report[what])) < 1e-6
        lengths = ([one["s_mm"] for one in which.report[what]] for which in (cut, uncut))
        assert next(lengths) == pytest.approx(next(lengths), abs=3e-6)
    for one in cut.report["valleys"] if cut.run.recipe.scallop.touch in ("", "valley") else []:
        # A valley on the edge is on the piece with which it is listed.
        part = cut.run.laid.parts[int(one["piece"][1:])]
        assert part.begin - 2e-6 < one["s_mm"] < part.end + 2e-6
    assert cut.report["closure_mm"] < 1e-6


def one_line(cut: Outcome, uncut: Outcome, drawing: Drawing, whole: Drawing, places: Sequence[Place]) -> None:
    """What is written on the pieces is, sewn together, what is written on the uncut strip."""
    parts = stitched(drawing, cut.run)
    assert [name for name, _ in parts] == [f"p{k}" for k in range(len(parts))]
    rows = [[places[k].back(z) for z in nodes(line)] for k, (_, line) in enumerate(parts)]
    for before, after in pairwise(rows):
        assert abs(before[-1] - after[0]) < WRITTEN
    ((_, expected),) = stitched(whole, uncut.run)
    together = np.array([z for row in rows for z in row])
    wanted = np.array(nodes(expected))
    assert np.abs(together[:, None] - wanted).min(axis=0).max() < WRITTEN
    # Each end is written to 1e-4 mm, and so is each radius.
    assert sum(line.length() for _, line in parts) == pytest.approx(
        expected.length(), abs=WRITTEN * (len(wanted) + len(together))
    )


# ---------------------------------------------------------------- cut and uncut


@settings(few, max_examples=20)
@given(strips(), placings(), wishes())
def test_seams_that_pass_change_nothing(strip: Strip, places: list[Place], words: dict[str, Any]) -> None:
    whole, drawing = strip.uncut(), strip.cut(places)
    uncut = tried(whole, "strip:c0..c1", **words)
    cut = tried(drawing, edges_of(strip, places), join=["seam:pass"] * (strip.count - 1), **words)
    if isinstance(uncut, Outcome):
        assert isinstance(cut, Outcome), cut
        same_row(uncut, cut, places)
        one_line(cut, uncut, drawing, whole, places)
    else:
        assert type(cut) is type(uncut)


@few
@given(strips(), placings(), st.floats(9.0, 30.0), st.data())
def test_seams_that_hold_are_marks_that_hold(
    strip: Strip, places: list[Place], width: float, data: st.DataObject
) -> None:
    """A valley, a crest, nothing or a gap at a seam: as at a mark on the uncut strip."""
    kinds = [data.draw(st.sampled_from(["valley", "crest", "pass", "gap:4mm"])) for _ in range(strip.count - 1)]
    ends = {end: data.draw(st.sampled_from(["valley", "crest", "gap:3mm", "fold"])) for end in ("start", "end")}
    whole, drawing = strip.uncut(), strip.cut(places)
    words: dict[str, Any] = {"width": width, "depth": "25%", **ends}
    held = [f"j{k + 1}={kind}" for k, kind in enumerate(kinds)]
    uncut = tried(whole, "strip:c0..c1", hold=held, **words)
    joins = [f"seam:{kind}" for kind in kinds]
    cut = tried(drawing, edges_of(strip, places), join=joins, **words)
    if not isinstance(uncut, Outcome):
        assert type(cut) is type(uncut)
        return
    assert isinstance(cut, Outcome), cut
    same_row(uncut, cut, places)
    assert [join["hold"] for join in cut.report["joins"] if join["kind"] == "seam"] == [
        kind.split(":")[0] for kind in kinds
    ]
    assert [span["holds"] for span in cut.report["spans"]] == [span["holds"] for span in uncut.report["spans"]]
    parts = stitched(drawing, cut.run)
    for k, ((_, before), (_, after)) in enumerate(pairwise(parts)):
        # A gap is as long along the edge on either side of its seam; the way over it is no longer than that.
        apart = abs(places[k].back(before.end) - places[k + 1].back(after.start))
        assert 6.0 < apart < 8.0 + WRITTEN if kinds[k].startswith("gap") else apart < WRITTEN


@few
@given(strips(most=4), placings(), st.sampled_from(["valley", "crest", "middle"]), st.data())
def test_halves_meet_whatever_is_held(strip: Strip, places: list[Place], touch: str, data: st.DataObject) -> None:
    kinds = [data.draw(st.sampled_from(["seam", "seam:crest", "seam:pass"])) for _ in range(strip.count - 1)]
    width, profile = data.draw(st.floats(9.0, 25.0)), data.draw(st.sampled_from(["arc", "wave", "point"]))
    drawing = strip.cut(places)
    cut = tried(drawing, edges_of(strip, places), join=kinds, width=width, profile=profile, depth="30%", touch=touch)
    assume(isinstance(cut, Outcome))
    assert isinstance(cut, Outcome)
    assert cut.report["closure_mm"] < 1e-6
    parts = stitched(drawing, cut.run)
    assert len(parts) == strip.count
    for k, ((_, before), (_, after)) in enumerate(pairwise(parts)):
        here, there = places[k].back(before.end), places[k + 1].back(after.start)
        assert abs(here - there) < WRITTEN
        # Where they meet lies on the seam, drawn on in a straight line.
        joint = complex(*measure(strip.top).points(np.array([strip.cuts[k + 1]]))[0])
        assert abs(((here - joint) / strip.seams[k + 1]).imag) * SEAM < WRITTEN


@pytest.mark.parametrize("hold", ["valley", "gap:9mm"])
def test_a_hold_in_the_middle_of_a_long_curve_stands_where_its_mark_is(hold: str) -> None:
    """The same valleys as where the strip is cut there, whose joint is the end of both curves."""
    top = np.array([[[0.0, 0.0], [30.0, 90.0], [210.0, 60.0], [300.0, -20.0]]])
    m = measure(top)
    cuts = (0.0, 0.37 * m.length, m.length)
    tangents = as_complex(m.tangents(np.array(cuts)))
    strip = Strip(top, cuts, tuple(complex(90j * t) for t in tangents))
    places = [Place(500.0 + 40.0j, 0.7), Place(300.0 - 10.0j, 2.1)]
    uncut = made(strip.uncut(), "strip:c0..j1..c1", width=20, depth="20%", hold=[f"j1={hold}"])
    cut = made(strip.cut(places), edges_of(strip, places), width=20, depth="20%", join=[f"seam:{hold}"])
    mark = complex(*m.points(np.array([cuts[1]]))[0])
    if hold == "valley":
        assert min(abs(z - mark) for z in drawn(uncut.report["valleys"])) < 1e-6
        assert min(abs(z - mark) for z in sewn(cut.report["valleys"], places)) < 1e-6
    else:
        beside = m.points(np.array([cuts[1] - 9.0, cuts[1] + 9.0]))
        for found in (drawn(uncut.report["valleys"]), sewn(cut.report["valleys"], places)):
            for place in as_complex(beside):
                assert min(abs(z - place) for z in found) < 1e-6
    same_row(uncut, cut, places)


@settings(few, max_examples=6)
@given(strips(most=3), placings(), st.floats(9.0, 25.0), st.sampled_from(["fold", "fold:valley"]), st.booleans())
def test_beyond_a_fold_the_edges_go_back(
    strip: Strip, places: list[Place], width: float, fold: str, crests: bool
) -> None:
    """A half that ends at a fold, and both halves walked one after the other."""
    drawing, edges = strip.cut(places), edges_of(strip, places)
    back = [edge.replace("c0..c1", "c1..c0") for edge in edges][::-1]
    joins = ["seam:crest" if crests else "seam"] * (strip.count - 1)
    half = tried(drawing, edges, join=joins, width=width, depth="20%", end=fold)
    assume(isinstance(half, Outcome))
    assert isinstance(half, Outcome)
    whole = made(drawing, [*edges, *back], join=[*joins, fold, *joins], width=width, depth="20%")
    assert whole.report["count"] == 2 * half.report["count"]
    assert whole.report["totals"]["scallops"] == half.report["totals"]["scallops"]
    assert whole.run.widths == pytest.approx((*half.run.widths, *half.run.widths[::-1]), rel=1e-8)
    assert whole.report["length_mm"] == pytest.approx(2.0 * half.report["length_mm"], abs=3e-6)
    # Both halves are one piece, whose points are listed once.
    assert farthest(sewn(whole.report["valleys"], places), sewn(half.report["valleys"], places)) < 1e-6
    assert whole.report["closure_mm"] < 1e-6
    for (one, first), (other, second) in zip(stitched(drawing, half.run), stitched(drawing, whole.run), strict=True):
        assert one == other
        assert farthest(nodes(first), nodes(second)) < WRITTEN


@pytest.mark.parametrize("long", [26.0, 51.2, 90.0])
@pytest.mark.parametrize("middle", [20.0, 25.6, 33.0])
def test_a_valley_on_the_fold_of_a_narrow_piece_is_listed(long: float, middle: float) -> None:
    cuts = (0.0, 128.0 - long, 128.0 - long + middle, 128.0 + middle)
    total = cuts[-1]
    strip = Strip(lines(np.array([(0.0, 0.0), (total, 0.0)])), cuts, (200j,) * 4)
    places = [Place(0j, 0.0), Place(200.0 + 300.0j, 2.0), Place(50.0 - 90.0j, 4.0, flipped=True)]
    edges = edges_of(strip, places)
    back = [edge.replace("c0..c1", "c1..c0") for edge in edges][::-1]
    words = {"width": total / 11, "depth": "20%"}
    half = made(strip.cut(places), edges, join=["seam:pass"] * 2, end="fold:valley", **words)
    joins = ["seam:pass"] * 2
    whole = made(strip.cut(places), [*edges, *back], join=[*joins, "fold:valley", *joins], **words)
    for found in (half, whole):
        assert farthest(sewn(found.report["valleys"], places), [complex(total / 11 * k) for k in range(12)]) < 1e-6
        for one in found.report["valleys"]:
            k = int(one["piece"][1:])
            assert cuts[k] - 1e-6 < one["s_mm"] < cuts[k + 1] + 1e-6


# ---------------------------------------------------------------- loops


@settings(few, max_examples=6)
@given(strips(), placings(), st.floats(9.0, 25.0), st.data())
def test_a_loop_is_the_same_from_whichever_edge_it_is_named(
    strip: Strip, places: list[Place], width: float, data: st.DataObject
) -> None:
    """The strip's last seam is sewn to its first: halves meet there too, and no edge is the first of a ring."""
    n = strip.count
    joins = [data.draw(st.sampled_from(["seam", "seam:crest"])) for _ in range(n)]
    words = {"width": width, "depth": "20%", "touch": data.draw(st.sampled_from(["valley", "valley", "crest"]))}
    drawing, edges = strip.cut(places), edges_of(strip, places)
    first = tried(drawing, edges, join=joins, **words)
    assume(isinstance(first, Outcome))
    assert isinstance(first, Outcome)
    assert first.report["loop"] is True
    assert first.report["closure_mm"] < 1e-6
    lines_ = [line for _, line in stitched(drawing, first.run)]
    for k in range(n):
        # Seen from the joint both halves end at the same place of their seams.
        end = places[k].back(lines_[k].end) - complex(*measure(strip.top).points(np.array([strip.cuts[k + 1]]))[0])
        after = (k + 1) % n
        start = places[after].back(lines_[after].start)
        start -= complex(*measure(strip.top).points(np.array([strip.cuts[after]]))[0])
        assert abs(end / strip.seams[k + 1] - start / strip.seams[after]) * SEAM < WRITTEN
    turned = data.draw(st.integers(1, n - 1))
    other = made(drawing, [*edges[turned:], *edges[:turned]], join=[*joins[turned:], *joins[:turned]], **words)
    assert other.report["count"] == first.report["count"]
    assert sorted(other.run.widths) == pytest.approx(sorted(first.run.widths), rel=1e-8)
    for what in ("valleys", "crests"):
        # A point on a seam may be listed with either of its pieces.
        found, again = np.array(drawn(first.report[what])), np.array(drawn(other.report[what]))
        assert len(found) == len(again)
        apart = np.abs(found[:, None] - again).min(axis=1)
        assert (apart < 1e-6).sum() >= len(found) - n


# ---------------------------------------------------------------- invariance


@few
@given(strips(), placings(), wishes(), st.data())
def test_a_piece_that_is_moved_takes_its_own_points_along(
    strip: Strip, places: list[Place], words: dict[str, Any], data: st.DataObject
) -> None:
    moved_one = data.draw(st.integers(0, strip.count - 1))
    x, y, turn = data.draw(st.tuples(st.floats(-900.0, 900.0), st.floats(-900.0, 900.0), st.floats(0.0, 6.0)))
    moved = list(places)
    moved[moved_one] = Place(complex(x, y), turn, places[moved_one].flipped)
    joins = ["seam:pass", "seam", "seam:pass", "seam:crest"][: strip.count - 1]
    first = tried(strip.cut(places), edges_of(strip, places), join=joins, **words)
    assume(isinstance(first, Outcome))
    assert isinstance(first, Outcome)
    second = made(strip.cut(moved), edges_of(strip, moved), join=joins, **words)
    assert second.report["count"] == first.report["count"]
    assert second.run.widths == pytest.approx(first.run.widths, rel=1e-9)
    for what in ("valleys", "crests"):
        here, there = first.report[what], second.report[what]
        assert [one["piece"] for one in here] == [one["piece"] for one in there]
        # The report has lengths to a millionth.
        assert [one["s_mm"] for one in here] == pytest.approx([one["s_mm"] for one in there], abs=1.1e-6)
        others = [i for i, one in enumerate(here) if one["piece"] != f"p{moved_one}"]
        still = farthest([drawn(here)[i] for i in others], [drawn(there)[i] for i in others])
        assert still < 1e-8
        assert farthest(sewn(here, places), sewn(there, moved)) < 1e-8


@few
@given(strips(), placings(), wishes())
def test_walked_the_other_way_round_it_is_the_same_row(
    strip: Strip, places: list[Place], words: dict[str, Any]
) -> None:
    # Scallops in turn begin with the first; those that grow must shrink.
    weights = {"": "", "2,1": "", "1,1.3,0.8": "", "1..1.5": "1.5..1"}[words.get("weights", "")]
    words = {**words, "weights": words["weights"] if weights else ""} if "weights" in words else words
    joins = ["seam:pass", "seam:crest", "seam", "seam:pass"][: strip.count - 1]
    drawing = strip.cut(places)
    forth = tried(drawing, edges_of(strip, places), join=joins, **words)
    edges = [edge.replace("c0..c1", "c1..c0") for edge in edges_of(strip, places)][::-1]
    back = tried(drawing, edges, join=joins[::-1], **{**words, **({"weights": weights} if weights else {})})
    if not isinstance(forth, Outcome):
        assert type(back) is type(forth)
        return
    assert isinstance(back, Outcome), back
    assert back.report["count"] == forth.report["count"]
    assert back.run.widths[::-1] == pytest.approx(forth.run.widths, rel=1e-8)
    length = forth.report["length_mm"]
    for what in ("valleys", "crests"):
        here, there = forth.report[what], back.report[what][::-1]
        assert farthest(sewn(here, places), sewn(there, places)) < 1e-6
        assert [length - one["s_mm"] for one in there] == pytest.approx([one["s_mm"] for one in here], abs=3e-6)
    assert back.report["closure_mm"] < 1e-6


@few
@given(strips(most=3), placings(), st.floats(9.0, 25.0))
def test_one_more_cut_changes_nothing(strip: Strip, places: list[Place], width: float) -> None:
    """Cutting along one more seam that passes leaves all other pieces as they were."""
    joins = ["seam:crest", "seam"][: strip.count - 1]
    half = 0.5 * (strip.cuts[0] + strip.cuts[1])
    assume(strip.cuts[1] > 60.0)
    seam = SEAM * 1j * complex(as_complex(measure(strip.top).tangents(np.array([half])))[0])
    more = Strip(strip.top, (0.0, half, *strip.cuts[1:]), (strip.seams[0], seam, *strip.seams[1:]))
    first = tried(strip.cut(places), edges_of(strip, places), join=joins, width=width, depth="25%")
    assume(isinstance(first, Outcome))
    assert isinstance(first, Outcome)
    second = made(more.cut(places), edges_of(more, places), join=["seam:pass", *joins], width=width, depth="25%")
    assert second.run.widths == pytest.approx(first.run.widths, rel=1e-9)
    assert farthest(sewn(first.report["valleys"], places), sewn(second.report["valleys"], places)) < 1e-6


# ---------------------------------------------------------------- what is refused


def box(name: str, x: float, heights: tuple[float, float]) -> str:
    """A piece 200 mm wide whose top lies at y 0 and whose sides are that long."""
    left, right = heights
    return f'<path id="{name}" d="M {x} 0 H {x + 200} V {right} L {x} {left} Z"/>'


# A front and a back sewn at a side seam of 120 mm; the front's other side is 100 mm long, the back's 150.
TWO = box("front", 0.0, (100.0, 120.0)) + box("back", 300.0, (120.0, 150.0))
ALIKE = box("front", 0.0, (120.0, 120.0)) + box("back", 300.0, (120.0, 120.0))
FRONT, BACK = "front:c0..c1", "back:c0..c1"


def refusal(drawing: Drawing, edges: Sequence[str], joins: Sequence[str], **words: Any) -> str:  # noqa: ANN401
    with pytest.raises(RequestError) as told:
        scallop(drawing, edges, join=list(joins), **{"width": 25, **words})
    said = str(told.value)
    assert "\n" not in said
    return said


def test_the_wrong_order_is_refused_with_the_right_one() -> None:
    drawing = sheet(TWO)
    said = refusal(drawing, [BACK, FRONT], ["seam"])
    assert 'the end "c1" of "back:c0..c1"' in said
    assert 'the start "c0" of "front:c0..c1"' in said
    assert "150.0 and 100.0 mm" in said
    assert "swap the two edges" in said
    assert made(drawing, [FRONT, BACK], join=["seam"], width=25).report["count"] == 16


def test_a_wrong_end_is_on_the_wrong_hand_and_both_cures_are_named() -> None:
    """The back walked from its far side: its cloth lies on the other hand."""
    drawing = sheet(TWO)
    said = refusal(drawing, [FRONT, "back:c1..c0"], ["seam"])
    assert '"back:c1..c0"' in said
    assert "other hand" in said
    assert '"back:c0..c1"' in said
    assert '"back:c1..c0:mirrored"' in said


@few
@given(strips(), placings(), st.data())
def test_the_cure_for_a_wrong_hand_cures_it(strip: Strip, places: list[Place], data: st.DataObject) -> None:
    """A piece drawn face down, or walked the wrong way: what the message offers is what was meant, or fits."""
    k = data.draw(st.integers(1, strip.count - 1))
    flipped = [Place(place.shift, place.turn, i == k) for i, place in enumerate(places)]
    drawing, edges = strip.cut(flipped), edges_of(strip, flipped)
    joins = ["seam:pass"] * (strip.count - 1)
    right = tried(drawing, edges, join=joins, width=20, depth="20%")
    assume(isinstance(right, Outcome))
    assert isinstance(right, Outcome)
    wrong = [*edges[:k], edges[k].removesuffix(":mirrored"), *edges[k + 1 :]]
    said = refusal(drawing, wrong, joins)
    offered = re.findall(r'"([^"]*:mirrored)"', said)
    assert offered == [edges[k]]


def test_a_fold_is_one_place_walked_forth_and_back() -> None:
    drawing = sheet(TWO)
    said = refusal(drawing, [FRONT, FRONT], ["fold"])
    assert 'the end "c1" of "front:c0..c1"' in said
    assert 'the start "c0" of "front:c0..c1"' in said
    assert '"front:c1..c0" after "front:c0..c1"' in said
    assert made(drawing, [FRONT, "front:c1..c0"], join=["fold"], width=25).report["length_mm"] == 400.0
    said = refusal(drawing, [FRONT, BACK], ["fold"])
    assert '"front:c1..c0" after "front:c0..c1"' in said


def test_a_fold_against_the_end_where_it_lies() -> None:
    """Both edges walked the wrong way: the message names the two that would do."""
    drawing = sheet(TWO)
    said = refusal(drawing, ["front:c1..c0", "front:c1..c0"], ["fold"])
    offered = re.findall(r'"(front:c\d\.\.c\d)" after', said)
    assert offered == ["front:c0..c1"]


def test_one_fold_makes_no_loop() -> None:
    drawing = sheet(ALIKE)
    assert "even number of folds" in refusal(drawing, [FRONT, "front:c1..c0"], ["fold", "seam"])
    assert made(drawing, [FRONT, "front:c1..c0"], join=["fold", "fold"], width=25).report["loop"] is True


@pytest.mark.parametrize(
    ("weights", "hold", "count"), [("1,2", "valley", 8), ("1..2", "valley", 8), ("1,2,3", "pass", 8), ("1..2", "", 9)]
)
def test_halves_of_one_piece_that_would_differ_are_refused(weights: str, hold: str, count: int) -> None:
    drawing = sheet(TWO)
    join = f"fold:{hold}" if hold else "fold"
    said = refusal(drawing, [FRONT, "front:c1..c0"], [join], width="", count=count, depth="20%", weights=weights)
    assert '"front:c0..c1" and "front:c1..c0"' in said
    assert "--weights" in said


@pytest.mark.parametrize(
    ("weights", "hold", "count"), [("1,2", "crest", 9), ("1,2,1", "valley", 6), ("1,2,1", "crest", 5)]
)
def test_weights_that_are_even_about_the_fold_are_taken(weights: str, hold: str, count: int) -> None:
    found = made(sheet(TWO), [FRONT, "front:c1..c0"], join=[f"fold:{hold}"], count=count, depth="20%", weights=weights)
    sizes = [row["width_mm"] for row in found.report["scallops"]]
    assert sizes == pytest.approx(sizes[::-1], abs=2e-6)
    assert found.report["count"] == count
    assert found.report["closure_mm"] < 1e-6


def test_uneven_weights_round_a_quarter_on_two_folds_are_refused() -> None:
    edges = ["quarter:c1..c2", "quarter:c2..c1"] * 2
    said = refusal(sheet(QUARTER), edges, ["fold:valley"] * 4, width="", count=40, depth="20%", weights="1,1.2,1.5")
    assert "one edge of one piece" in said


def dart(difference: float) -> str:
    """A front whose dart has legs of 60 mm and of 60 mm and `difference` more, the apex between."""
    apex, lean = 110.0 + 90.0j, math.radians(10.0)
    a, b = (apex + cmath.rect(60.0 + more, -0.5 * math.pi + way * lean) for more, way in ((0.0, -1), (difference, 1)))
    near, far = f"{a.real!r} {a.imag!r}", f"{b.real!r} {b.imag!r}"
    return f'<path id="front" d="M 0 {a.imag!r} L {near} L 110 90 L {far} L 240 {b.imag!r} V 160 H 0 Z"/>'


@pytest.mark.parametrize("difference", [0.0, 0.04, 0.4, 2.5])
def test_legs_of_a_dart_that_differ_are_told_with_their_difference(difference: float) -> None:
    drawing = sheet(dart(difference))
    found = made(drawing, ["front:c0..c1", "front:c3..c4"], join=["dart"], width=20, depth="20%")
    (join,) = found.report["joins"]
    assert join["legs_differ_mm"] == pytest.approx(difference, abs=1e-6)
    told = [warning for warning in found.run.warnings if warning.code == "dart-legs-differ"]
    if difference <= 0.05:
        assert told == []
        return
    (warning,) = told
    assert f"60.00 and {60.0 + difference:.2f} mm long" in warning.message
    assert f"{difference:.2f} mm apart" in warning.message
    assert warning.piece == "front"
    assert found.report["closure_mm"] < 1e-6


def test_a_dart_needs_one_piece_and_one_apex() -> None:
    drawing = sheet(TWO)
    said = refusal(drawing, [FRONT, BACK], ["dart"])
    assert 'the end "c1" of "front:c0..c1" and the start "c0" of "back:c0..c1"' in said
    assert "join them by a seam" in said
    said = refusal(sheet(dart(0.0)), ["front:c3..c4", "front:c0..c1"], ["dart"])
    assert 'the end "c4" of "front:c3..c4" and the start "c0" of "front:c0..c1"' in said
    assert "swap the two edges" in said


@pytest.mark.parametrize(
    ("edges", "joins"), [([FRONT, BACK], []), ([FRONT, BACK], ["seam"] * 3), ([FRONT], ["seam"] * 2)]
)
def test_joins_lie_between_edges(edges: list[str], joins: list[str]) -> None:
    said = refusal(sheet(TWO), edges, joins)
    assert "join" in said


def test_a_loop_has_no_ends_and_a_whole_outline_no_joins() -> None:
    drawing = sheet(ALIKE)
    assert "--start" in refusal(drawing, [FRONT, BACK], ["seam", "seam"], start="fold")
    said = refusal(drawing, ["front", BACK], ["seam"])
    assert '"front" is a whole closed outline' in said
    assert "front:FROM..TO" in said


def test_a_lap_needs_its_width() -> None:
    said = refusal(sheet(TWO), [FRONT, BACK], ["lap"])
    assert 'the end "c1" of "front:c0..c1" and the start "c0" of "back:c0..c1"' in said
    assert "width" in said


def test_a_count_that_the_holds_of_two_seams_can_t_take_names_two_that_they_can() -> None:
    with pytest.raises(NoFitError) as told:
        scallop(sheet(TWO), [FRONT, BACK], join=["seam:crest"], count=16.5)
    assert len(told.value.counts) == 2
    for count in told.value.counts:
        assert made(sheet(TWO), [FRONT, BACK], join=["seam:crest"], count=count).report["count"] == count
