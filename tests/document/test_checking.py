"""Written drawings read back and sewn together: good ones pass, and each kind of damage is found."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from lxml import etree
from svgpathtools import parse_path

from scallopkit.demo_waistcoat import ARMHOLE, ARMHOLE_JOINS, HEM, HEM_JOINS, waistcoat
from scallopkit.document.checking import Finding, check, check_entry, check_tables
from scallopkit.document.finding import check_summary
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import EdgeWords, JoinWords, Recipe, ScallopWords, StretchWords, Value
from scallopkit.document.runs import make_run
from scallopkit.document.workshop import eyelets, refit, scallop, with_runs
from scallopkit.errors import DrawingError, NoFitError, RequestError
from scallopkit.trim.profiles import PROFILES

from ..drawings import BOX, LINE, QUARTER, ROUND, UNITS, marks, page

# What is promised of a written drawing, mm.
MEETS = 2e-4
# Coordinates are written in steps of 1e-5 mm; nothing that is measured adds up more than a few of them.
WRITTEN = 5e-5

WAVY = '<path id="hem" d="M 10,60 C 60,20 110,110 170,70 S 260,40 310,90"/>'
CUT = '<path id="cut" d="M 10,60 C 60,20 110,110 170,70 S 260,40 310,90 L 320,250 L 0,240 Z"/>'
LINES = '<path id="a" d="M 10,60 C 60,20 110,110 170,70"/><path id="b" d="M 200,200 C 260,240 330,190 380,210"/>'
LEFT = "M 20,20 L 180,20 L 190,160 C 130,180 70,170 10,160 Z"
RIGHT = "M 300,20 L 460,30 L 480,170 C 420,185 360,180 290,165 Z"
PANELS = f'<path id="left" d="{LEFT}"/><path id="right" d="{RIGHT}"/>'
HEMS = ["left:c3..c2", "right:c3..c2"]
CURVED = (
    '<path id="left" d="M 20,20 L 180,20 Q 170,90 190,160 C 130,180 70,170 10,160 Z"/>'
    '<path id="right" d="M 300,20 L 460,30 L 480,170 C 420,185 360,180 290,165 Q 310,90 300,20 Z"/>'
)
FRONTS = (
    '<path id="front" d="M 20,20 H 200 V 200 C 150,208 80,206 20,200 Z"/>'
    '<path id="under" d="M 320,20 H 500 V 200 C 450,206 380,208 320,200 Z"/>'
)
LAPPED = ["front:c3..c2", "under:c3..c2"]
DART = '<path id="p" d="M 20,20 H 300 V 200 C 260,206 230,207 176,206 L 160,110 L 144,206 C 100,206 60,204 20,200 Z"/>'
NO_DART = '<path id="p" d="M 20,20 H 300 V 200 C 260,206 230,207 176,206 H 144 C 100,206 60,204 20,200 Z"/>'
AT_DART = marks(out=(176.0, 206.0), into=(144.0, 206.0), apex=(160.0, 110.0))
LEGS = '<path id="leg-1" d="M 160,110 L 144,206"/><path id="leg-2" d="M 176,206 L 160,110"/>'
MOTIFS = (
    '<path id="even" d="M 400,400 L 404,400 C 405,390 410,388 414,395 L 418,385 L 422,395 C 426,388 431,390 432,400 '
    'L 436,400"/><path id="uneven" d="M 400,460 L 405,448 L 415,456 L 420,460"/>'
)


def made(body: str, along: str | Sequence[str], unit: float = 1.0, **words: Value) -> bytes:
    """A drawing with one run, `run`, in it."""
    drawing = read_drawing(page(body, unit).encode(), "a.svg")
    given: dict[str, Any] = {"name": "run", "width": 27, "depth": "35%"} | words
    return with_runs(drawing, [scallop(drawing, along, **given)])


def joined(
    body: str, edges: Sequence[str | StretchWords], *joins: JoinWords, edge: dict[str, Any] | None = None, **words: str
) -> bytes:
    """A drawing with one run over several edges, told in the words of a recipe."""
    drawing = read_drawing(page(body).encode(), "a.svg")
    stretches = tuple(StretchWords(e) if isinstance(e, str) else e for e in edges)
    trim = ScallopWords(**({"width": "27mm", "depth": "30%"} | words))
    return with_runs(
        drawing, [make_run(drawing, Recipe("run", EdgeWords(**(edge or {})), trim, edges=stretches, joins=joins))]
    )


def broken(data: bytes) -> set[str]:
    """The names of the checks that are broken."""
    return {finding.what for finding in check(data, "a.svg") if not finding.ok}


def found(data: bytes, what: str) -> list[Finding]:
    return [finding for finding in check(data, "a.svg") if finding.what == what]


def told(data: bytes) -> str:
    """All that is said of what is broken."""
    return "\n".join(finding.message for finding in check(data, "a.svg") if not finding.ok)


def within(data: bytes) -> None:
    """Everything is found and lies far inside its limit."""
    findings = check(data, "a.svg")
    assert [finding for finding in findings if not finding.ok] == []
    assert {"recipe", "edges", "lines", "whole", "equal", "alike", "on edge"} <= {f.what for f in findings}
    for finding in findings:
        if finding.unit == "mm" and finding.value is not None and finding.what != "on edge":
            assert finding.value < WRITTEN


# --- good drawings ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "along", "words"),
    [
        (LINE, "hem", {}),
        (WAVY, "hem", {"side": "right", "depth": "20%"}),
        (WAVY, "hem", {"start": "crest", "end": "crest"}),
        (WAVY, "hem", {"start": "gap:10mm", "end": "gap:4mm"}),
        (WAVY, "hem", {"touch": "crest"}),
        (WAVY, "hem", {"touch": "middle"}),
        (WAVY, "hem", {"touch": "crest", "space": "4mm"}),
        (WAVY, "hem", {"step": "along"}),
        (WAVY, "hem", {"weights": "1..2"}),
        (LINE, "hem", {"weights": "2,1"}),
        (LINE + marks(m=(110.0, 20.0)), "hem", {"hold": ["m=crest"]}),
        (LINE + marks(m=(110.0, 20.0)), "hem", {"hold": ["m=gap:9mm"]}),
        (BOX, "box", {}),
        (BOX, "box", {"corner": "wrap"}),
        (BOX, "box", {"corner": "wrap", "space": "3mm"}),
        (BOX, "box", {"space": "3mm"}),
        (BOX, "box", {"side": "inward", "depth": "20%"}),
        (BOX, "box", {"depth": "8mm", "keep": "depth"}),
        (BOX + marks(m=(110.0, 20.0)), "box", {"hold": ["m=gap:9mm"]}),
        (BOX + marks(m=(110.0, 20.0)), "box", {"hold": ["m=crest"], "corner": "pass"}),
        (ROUND, "round", {}),
        (ROUND, "round", {"space": "3mm"}),
        (ROUND, "round", {"touch": "middle", "space": "2mm"}),
        (ROUND + marks(top=(200.0, 100.0)), "round", {"start_at": "top"}),
        (ROUND + marks(top=(200.0, 100.0)), "round", {"hold": ["top=crest"]}),
        (ROUND + marks(top=(200.0, 100.0)), "round", {"hold": ["top=gap:9mm"]}),
        (QUARTER, "quarter:c1..c2", {"start": "fold", "end": "fold:valley"}),
        (QUARTER, "quarter:c1..c2", {"start": "fold", "end": "fold", "touch": "crest", "width": 40}),
        # So shallow on so tight a curve that the valleys stand out over the crests beside them.
        (QUARTER, "quarter:c1..c2", {"start": "fold", "end": "fold", "width": 90, "depth": "2%"}),
        (BOX, "box:c0..c1", {"allowance": "10mm"}),
        (BOX, "box", {"allowance": "10mm"}),
        (WAVY, "hem", {"allowance": "10mm"}),
        (CUT, "cut:c0..c1", {"allowance": "8mm, 12mm"}),
        (LINES, ["a", "b"], {"join": ["seam:pass"]}),
        (LINES, ["a", "b"], {"join": ["butt"]}),
        (PANELS, HEMS, {"join": ["seam"]}),
        (PANELS, HEMS, {"join": ["seam:crest"]}),
        (PANELS, HEMS, {"join": ["seam:pass"], "space": "5mm"}),
        (PANELS, HEMS, {"join": ["seam:pass"], "allowance": "10mm"}),
        (PANELS, HEMS, {"join": ["seam:pass"], "width": 3, "depth": "20%"}),
        (PANELS, HEMS, {"join": ["seam:pass"], "width": 300, "depth": "20%"}),
        (PANELS, HEMS, {"join": ["seam:pass", "seam:pass"]}),
        (PANELS, HEMS, {"join": ["seam:crest", "seam"]}),
        (PANELS, HEMS, {"join": ["seam:gap:6mm", "seam:pass"]}),
        (PANELS, HEMS, {"join": ["seam:pass", "seam:pass"], "touch": "crest"}),
        (PANELS, HEMS, {"join": ["seam:pass", "seam:pass"], "space": "4mm"}),
        (PANELS, HEMS[:1], {"join": ["seam:pass"]}),
        (PANELS, ["left:c3..c2", "right:c2..c3:mirrored"], {"join": ["seam:pass"]}),
        (PANELS, ["left:c2..c3:mirrored", "right:c3..c2"], {"join": ["seam:pass"]}),
        (PANELS, ["left:c3..c2", "left:c2..c3"], {"join": ["fold:valley"]}),
        (PANELS, ["right:c3..c2", "left:c3..c2", "left:c2..c3", "right:c2..c3"], {"join": ["seam", "fold", "seam"]}),
        (CURVED, HEMS, {"join": ["seam:pass"], "touch": "crest"}),
        (CURVED, HEMS, {"join": ["seam:pass"], "true_up": True}),
        (CURVED, HEMS, {"join": ["seam:pass", "seam"], "true_up": True}),
        (CURVED + marks(m=(190.0, 160.0)), ["left:c3..m", "right:c3..c2"], {"join": ["seam"], "hold": ["m=gap:7mm"]}),
    ],
)
def test_what_was_just_made_holds_together(body: str, along: str | list[str], words: dict[str, Any]) -> None:
    drawing = read_drawing(page(body).encode(), "a.svg")
    given: dict[str, Any] = {"width": 27, "depth": "35%", "name": "run"} | words
    run = scallop(drawing, along, **given)
    data = with_runs(drawing, [run])
    within(data)
    assert [finding.value for finding in found(data, "whole")] == [run.count]
    assert len(found(data, "gap")) == len(run.laid.joints) or run.course.loop
    assert len(found(data, "fold")) == sum(fold is not None for fold in run.laid.folds)


@pytest.mark.parametrize("profile", [*PROFILES, "motif:even", "motif:uneven"])
@pytest.mark.parametrize("words", [{}, {"touch": "crest"}, {"space": "5mm"}, {"join": ["seam:pass", "seam:pass"]}])
def test_scallops_of_any_profile_are_found_again(profile: str, words: dict[str, Any]) -> None:
    over_seams = "join" in words
    # Beside a hollow corner half circles and double curves would overlap: they get a space.
    apart: dict[str, Any] = {"space": "15mm"} if over_seams and profile in ("half-circle", "double-curve") else {}
    body, along = (PANELS + MOTIFS, HEMS) if over_seams else (LINE + MOTIFS, "hem")
    within(made(body, along, **({"profile": profile, "depth": "20%"} | apart | words)))


@pytest.mark.parametrize("hold", ["", "valley", "crest", "gap:5mm"])
def test_upper_and_under_scallops_of_a_lap_lie_on_each_other(hold: str) -> None:
    lap = JoinWords("lap", hold, width="15mm")
    within(joined(FRONTS, LAPPED, lap))
    within(joined(FRONTS, LAPPED, JoinWords("seam", "pass"), lap))
    within(joined(FRONTS, LAPPED, lap, JoinWords("seam", "pass"), space="3mm"))
    within(joined(FRONTS, LAPPED, lap, profile="wave", edge={"allowance": "10mm"}))


@pytest.mark.parametrize(
    ("body", "edges", "join"),
    [
        (DART, ["p:c6..c5", "p:c3..c2"], JoinWords("dart")),
        (DART, ["p:c6..c5", "p:c3..c2"], JoinWords("dart", apex="p:c4")),
        (DART.replace("L 144,206 C", "L 144.5,203 C"), ["p:c6..c5", "p:c3..c2"], JoinWords("dart")),
        (NO_DART + AT_DART, ["p:c3..into", "p:out..c2"], JoinWords("dart", apex="apex")),
        (NO_DART + AT_DART + LEGS, ["p:c3..into", "p:out..c2"], JoinWords("dart", "crest", legs=("leg-1", "leg-2"))),
    ],
)
def test_a_dart_is_closed_by_its_legs(body: str, edges: list[str], join: JoinWords) -> None:
    within(joined(body, edges, join))


def test_each_edge_may_have_an_allowance_of_its_own() -> None:
    edges = [StretchWords(HEMS[0], "10mm, 5mm"), StretchWords(HEMS[1], "8mm")]
    data = joined(PANELS, edges, JoinWords("seam", "pass"))
    within(data)
    # The true parallel is met within 0.02 mm, a drawn edge within 2e-4 mm.
    assert [finding.limit for finding in found(data, "on edge")] == [0.0202, 0.0202]
    assert [finding.limit for finding in found(made(LINE, "hem"), "on edge")] == [MEETS]


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("turned", ["", "rotate(33) scale(-1,1)"])
def test_any_unit_and_any_transform_of_the_outlines(unit: float, turned: str) -> None:
    body = f'<g transform="scale({1.0 / unit!r}) {turned}">{PANELS}</g>'
    within(made(body, HEMS, unit, join=["seam:pass", "seam:pass"]))


def test_the_waistcoat_holds_together() -> None:
    drawing = read_drawing(waistcoat().encode(), "w.svg")
    runs = [
        scallop(drawing, HEM, join=HEM_JOINS, width="24mm", start="fold", name="hem"),
        scallop(drawing, ARMHOLE, join=ARMHOLE_JOINS, width="24mm", depth="30%", touch="crest", name="armhole"),
    ]
    data = with_runs(drawing, runs)
    within(data)
    where = [(f.run, f.where) for f in found(data, "gap")]
    assert where == [
        ("hem", "dart dart-in/dart-out"),
        ("hem", "seam hem-side"),
        ("hem", "dart dart-out/dart-in"),
        ("armhole", "seam shoulder"),
        ("armhole", "seam underarm"),
    ]
    (fold,), (square,) = found(data, "fold"), found(data, "square")
    assert (fold.where, fold.limit, square.limit) == ("fold hem-fold", 1e-4, 0.05)


def test_nothing_crosses_a_gap() -> None:
    gap, crossed = found(made(PANELS, HEMS, join=["seam:gap:6mm", "seam:pass"]), "gap")
    assert (gap.value, gap.ok) == (None, True)
    assert "nothing crosses" in gap.message
    assert crossed.value is not None
    (start,) = found(made(ROUND + marks(top=(200.0, 100.0)), "round", hold=["top=gap:9mm"]), "gap")
    assert "nothing crosses" in start.message


def test_a_run_without_scallops_has_its_edges_only() -> None:
    drawing = read_drawing(page(LINE).encode(), "a.svg")
    data = with_runs(drawing, [eyelets(drawing, "hem", eyelet=8, spacing=40, name="lacing")])
    assert [(f.what, f.ok) for f in check(data, "a.svg")] == [("recipe", True), ("edges", True), ("length", True)]


@settings(max_examples=30)
@given(
    turns=st.tuples(st.floats(-180.0, 180.0), st.floats(-180.0, 180.0)),
    moves=st.tuples(*[st.floats(-300.0, 300.0)] * 4),
    hold=st.sampled_from(["pass", "valley", "crest"]),
    loop=st.booleans(),
    width=st.floats(11.0, 45.0),
)
def test_rounding_makes_no_false_alarm(
    turns: tuple[float, float], moves: tuple[float, ...], hold: str, loop: bool, width: float
) -> None:
    """Wherever the pieces lie, their written halves meet."""
    body = "".join(
        f'<path id="{name}" transform="translate({moves[2 * i]},{moves[2 * i + 1]}) rotate({turns[i]})" d="{d}"/>'
        for i, (name, d) in enumerate((("left", LEFT), ("right", RIGHT)))
    )
    try:
        data = made(body, HEMS, join=[f"seam:{hold}"] * (2 if loop else 1), width=width, depth="25%")
    except NoFitError:
        assume(False)
    within(data)


@pytest.mark.parametrize(
    ("body", "along", "words"),
    [
        (BOX, "box", {"width": 16.6, "space": "9.96mm", "depth": "22%", "profile": "half-circle"}),
        (BOX, "box", {"width": 24.5, "space": "19.6mm", "profile": "half-circle", "weights": "1,1,3"}),
        (CUT, "cut", {"width": 37, "space": "37mm", "depth": "52%"}),
        (CUT, "cut", {"width": 34.7, "space": "41.64mm", "depth": "56%", "profile": "wave"}),
        (CUT, "cut", {"width": 34.8, "space": "38.28mm", "depth": "26%", "profile": "point", "touch": "crest"}),
    ],
)
def test_a_space_round_a_corner_is_no_scallop(body: str, along: str, words: dict[str, Any]) -> None:
    """Its halves meet as the two halves of a scallop do."""
    within(made(body, along, **words))


def test_one_scallop_is_told_as_one() -> None:
    (whole,) = found(made(LINE, "hem", width="", count=1), "whole")
    assert whole.ok
    assert whole.message == "1 scallop"


@pytest.mark.parametrize("width", ["20mm", "27mm"])
def test_a_space_on_a_fold_is_no_scallop(width: str) -> None:
    """Half the space ends the line on the fold, as half a scallop might."""
    drawing = read_drawing(waistcoat().encode(), "w.svg")
    words = {"width": width, "profile": "half-circle", "touch": "middle", "space": "3mm", "start": "fold:pass"}
    run = scallop(drawing, HEM, join=HEM_JOINS, name="hem", **words)
    assert run.stops[0].hold == "valley"
    data = with_runs(drawing, [run])
    within(data)
    assert [finding.value for finding in found(data, "whole")] == [run.count]


FOLDS = [
    # body, edges, whether they meet at a fold
    (LINE, "hem", False),
    (QUARTER, "quarter:c1..c2", False),
    (PANELS, HEMS, False),
    (PANELS, ["left:c3..c2", "left:c2..c3"], True),
]


@settings(max_examples=30)
@given(
    where=st.sampled_from(FOLDS),
    holds=st.tuples(*[st.sampled_from(["fold", "fold:valley", "fold:crest", "fold:pass"])] * 2),
    joint=st.sampled_from(["valley", "crest", "pass"]),
    space=st.sampled_from(["", "1mm", "3mm", "7mm"]),
    touch=st.sampled_from(["valley", "crest", "middle"]),
    depth=st.sampled_from(["3%", "20%", "50%"]),
    profile=st.sampled_from(["arc", "point", "wave"]),
    width=st.floats(12.0, 60.0),
)
def test_what_was_fitted_at_folds_is_counted(
    where: tuple[str, str | list[str], bool], holds: tuple[str, str], joint: str, width: float, **words: str
) -> None:
    body, along, inner = where
    ends: dict[str, Any] = {} if inner else {"start": holds[0], "end": holds[1]}
    if not isinstance(along, str):
        ends["join"] = [f"{'fold' if inner else 'seam'}:{joint}"]
    drawing = read_drawing(page(body).encode(), "a.svg")
    try:
        run = scallop(drawing, along, width=width, **ends, **words)
    except (NoFitError, RequestError):
        assume(False)
    findings = check(with_runs(drawing, [run]), "a.svg")
    assert [finding.value for finding in findings if finding.what == "whole"] == [run.count]
    assert [finding.message for finding in findings if not finding.ok] == []


# --- damage -----------------------------------------------------------------------------------------------------------

SEWN = made(PANELS, HEMS, join=["seam:pass", "seam:pass"])
SINGLE = made(WAVY, "hem")
FOLDED = made(QUARTER, "quarter:c1..c2", start="fold", end="fold")
TURNED = "the outline or the line was changed after the run was made: run `refit`"


def changed(data: bytes, old: str, new: str) -> bytes:
    text = data.decode()
    assert text.count(old) == 1
    return text.replace(old, new).encode()


def with_line(data: bytes, number: int, d: str | None = None, **attributes: str) -> bytes:
    """The drawing with another stitching line, or with other attributes of it, or without it."""
    root = etree.fromstring(data)
    line = root.findall(".//{*}path[@data-role='stitching']")[number]
    parent = line.getparent()
    if d is None and not attributes and parent is not None:
        parent.remove(line)
    for name, value in ({"d": d} if d else attributes).items():
        line.set(name.replace("_", "-"), value)
    return bytes(etree.tostring(root))


LINE_OF_RUN, GROUP, OUTLINE = ".//{*}path[@data-role='stitching']", ".//{*}g[@data-recipe]", "{*}path"


def one(root: etree._Element, path: str) -> etree._Element:
    """The first element there is."""
    element = root.find(path)
    assert element is not None
    return element


def copied(element: etree._Element) -> etree._Element:
    return etree.fromstring(etree.tostring(element))


def lines_of(data: bytes) -> list[str]:
    return [line.get("d", "") for line in etree.fromstring(data).findall(".//{*}path[@data-role='stitching']")]


def shifted(d: str, node: int, dx: float, dy: float) -> str:
    """Path text with one of its nodes moved, which are the pairs parted by commas."""
    pairs = list(re.finditer(r"(-?[\d.]+),(-?[\d.]+)", d))
    x, y = (float(v) for v in pairs[node].groups())
    return f"{d[: pairs[node].start()]}{x + dx:.6f},{y + dy:.6f}{d[pairs[node].end() :]}"


@pytest.mark.parametrize("move", [(0.01, 0.0), (0.0, 0.01), (-0.007, 0.007)])
@pytest.mark.parametrize("piece", ["left", "right"])
def test_a_piece_moved_by_a_hundredth_is_found(piece: str, move: tuple[float, float]) -> None:
    data = changed(SEWN, f'<path id="{piece}"', f'<path id="{piece}" transform="translate({move[0]},{move[1]})"')
    assert {"gap", "on edge"} <= broken(data)
    # The line stays where it was while the joint moves away from it by as much.
    for gap in found(data, "gap"):
        assert gap.value == pytest.approx(0.01, abs=2e-4)
    assert TURNED in told(data)


def test_a_piece_moved_by_less_than_is_promised_is_no_fault() -> None:
    assert broken(changed(SEWN, '<path id="left"', '<path id="left" transform="translate(0.0001,0)"')) == set()


def test_a_piece_turned_is_found() -> None:
    data = changed(SEWN, '<path id="left"', '<path id="left" transform="rotate(0.01,100,100)"')
    assert {"gap", "on edge"} <= broken(data)
    assert "length" not in broken(data)


@pytest.mark.parametrize("data", [SEWN, SINGLE, FOLDED], ids=["sewn", "single", "folded"])
def test_a_node_shifted_by_a_thousandth_is_found(data: bytes) -> None:
    """Wherever it stands, and whichever way it goes."""
    for number, d in enumerate(lines_of(data)):
        for node in range(len(re.findall(",", d))):
            for dx, dy in ((0.001, 0.0), (0.0, 0.001), (-0.0007, 0.0007)):
                assert broken(with_line(data, number, shifted(d, node, dx, dy))), (number, node, dx, dy)


def test_a_crest_that_leaves_its_fold_is_found() -> None:
    d = lines_of(FOLDED)[0]
    # The fold runs along y = 0: a first node that leaves it is found as such.
    assert "fold" in broken(with_line(FOLDED, 0, shifted(d, 0, 0.0, 0.001)))
    assert "fold" not in broken(with_line(FOLDED, 0, shifted(d, 0, 0.001, 0.0)))


def test_a_crest_that_is_not_square_to_its_fold_is_found() -> None:
    radius = re.search(r"A ([\d.]+) ", lines_of(FOLDED)[0])
    assert radius is not None
    d = lines_of(FOLDED)[0].replace(f"A {radius[1]} {radius[1]} ", f"A {float(radius[1]) * 1.01} {radius[1]} ", 1)
    assert broken(with_line(FOLDED, 0, d)) == {"square"}


def test_a_line_that_does_not_close_is_found() -> None:
    data = made(ROUND, "round")
    d = lines_of(data)[0]
    assert d.endswith(" Z")
    last = len(re.findall(",", d)) - 1
    # The closing line would hide a gap: it is no part of the scallops.
    assert "gap" in broken(with_line(data, 0, shifted(d, last, 0.001, 0.0)))


@pytest.mark.parametrize("number", [0, 1])
def test_a_deleted_line_is_found(number: int) -> None:
    data = with_line(SEWN, number)
    assert broken(data) == {"lines"}
    piece = ("left", "right")[number]
    assert f'"{piece}" has 0 stitching lines and should have 1: a line was deleted' in told(data)


def test_a_line_that_was_copied_is_found() -> None:
    root = etree.fromstring(SEWN)
    line = one(root, LINE_OF_RUN)
    line.addnext(copied(line))
    assert broken(etree.tostring(root)) == {"lines"}


def test_lines_given_to_each_others_pieces_are_found() -> None:
    data = with_line(with_line(SEWN, 0, data_piece="right"), 1, data_piece="left")
    assert {"gap", "on edge"} <= broken(data)
    assert broken(with_line(SEWN, 0, data_piece="right")) == {"lines"}


def test_the_lines_of_two_edges_of_one_piece_in_the_wrong_order_are_found() -> None:
    data = joined(DART, ["p:c6..c5", "p:c3..c2"], JoinWords("dart"))
    first, second = lines_of(data)
    assert {"gap", "on edge"} <= broken(with_line(with_line(data, 0, second), 1, first))


@pytest.mark.parametrize(
    ("data", "old", "new"),
    [
        (SINGLE, "60,20", "60,21"),
        # A straight edge that only grew longer: all that stands on it still does.
        (made(LINE, "hem"), "H 310", "H 311"),
        (SEWN, "L 190,160", "L 190,160.01"),
        (SEWN, "M 300,20", "M 300.2,20"),
        (made(BOX, "box", allowance="10mm"), 'width="300"', 'width="301"'),
    ],
    ids=["curve", "longer", "corner", "seam", "allowance"],
)
def test_an_outline_edited_afterwards_is_found_and_refit_cures_it(data: bytes, old: str, new: str) -> None:
    edited = changed(data, old, new)
    assert broken(edited)
    assert TURNED in told(edited)
    drawing = read_drawing(edited, "a.svg")
    within(with_runs(drawing, [one.run for one in refit(drawing)]))


def test_an_edge_that_is_gone_is_found() -> None:
    data = changed(SEWN, '<path id="right"', '<path id="other"')
    assert broken(data) == {"edges"}
    assert '"right"' in told(data)


def test_scallops_that_are_missing_are_counted() -> None:
    d = lines_of(SINGLE)[0]
    steps = d.split(" A ")
    data = with_line(SINGLE, 0, " A ".join(steps[:-2]))
    (whole,) = found(data, "whole")
    assert (whole.value, whole.limit, whole.ok) == (11.0, 12.0, False)


def test_a_recipe_that_was_damaged_is_found() -> None:
    data = changed(SINGLE, '"version":', '"vision":')
    assert broken(data) == {"recipe"}
    assert "make that run anew" in told(data)


def test_lines_that_were_moved_in_the_editor_are_found() -> None:
    assert "on edge" in broken(with_line(SINGLE, 0, transform="translate(0,0.01)"))
    root = etree.fromstring(SINGLE)
    one(root, GROUP).set("transform", "translate(0,0.01)")
    assert "on edge" in broken(etree.tostring(root))


def test_pieces_and_lines_moved_together_are_no_fault() -> None:
    root = etree.fromstring(SINGLE)
    one(root, GROUP).set("transform", "rotate(10) translate(3,0.5)")
    one(root, OUTLINE).set("transform", "rotate(10) translate(3,0.5)")
    assert broken(etree.tostring(root)) == set()


@pytest.mark.parametrize("data", [SEWN, SINGLE, FOLDED], ids=["sewn", "single", "folded"])
def test_lines_that_another_program_wrote_anew_are_read(data: bytes) -> None:
    for number, d in enumerate(lines_of(data)):
        data = with_line(data, number, parse_path(d).d(rel=True))
    assert " a " in f" {lines_of(data)[0]} ".lower()
    assert broken(data) == set()


def test_two_groups_of_one_run_are_found() -> None:
    root = etree.fromstring(SINGLE)
    group = one(root, GROUP)
    group.addnext(copied(group))
    data = etree.tostring(root)
    assert broken(data) == {"twice"}
    assert '2 groups are the run "run"' in told(data)


def test_a_line_of_no_group_is_found() -> None:
    root = etree.fromstring(SINGLE)
    line = copied(one(root, LINE_OF_RUN))
    line.set("data-run", "gone")
    one(root, GROUP).addnext(line)
    data = etree.tostring(root)
    assert broken(data) == {"twice"}
    assert 'names the run "gone" but lies in no group of it' in told(data)


def test_a_line_that_cannot_be_read_is_found() -> None:
    data = with_line(SINGLE, 0, "M 10,20 L 30,x")
    assert broken(data) == {"lines"}


# --- what is told -----------------------------------------------------------------------------------------------------


def test_a_drawing_without_runs_has_nothing_to_check() -> None:
    with pytest.raises(RequestError, match=r"a\.svg holds no run, so there is nothing to check"):
        check(page(LINE).encode(), "a.svg")


def test_what_is_no_drawing_is_refused() -> None:
    with pytest.raises(DrawingError, match=r"a\.svg"):
        check(b"no drawing", "a.svg")


def test_the_table_shows_what_is_broken_and_says_why() -> None:
    good, bad = check(SINGLE, "a.svg"), check(with_line(SEWN, 0), "a.svg")
    lines = check_tables(good, terminal=False).split("\n")
    assert lines[0] == "run\tcheck\twhere\tfound\tlimit\t"
    assert len(lines) == len(good) + 1
    assert all(line.endswith("\tok") for line in lines[1:])
    text = check_tables(bad, terminal=False)
    assert "run\tlines\tleft\t0\t1\tbroken" in text
    assert text.split("\n")[-1].startswith('run: "left" has 0 stitching lines')
    assert "broken" in check_tables(bad, terminal=True)


def test_a_run_that_is_as_promised_takes_one_line() -> None:
    good = check(SINGLE, "a.svg")
    assert all(finding.ok for finding in good)
    assert check_summary(good, terminal=True) == f"run: {len(good)} findings, all as promised"
    assert check_summary(good[:1], terminal=False) == "run: 1 finding, all as promised"


@pytest.mark.parametrize("terminal", [False, True])
def test_the_summary_shows_what_is_broken_or_near_its_limit_and_nothing_else(terminal: bool) -> None:
    def of(run: str, what: str, value: float | None, limit: float | None, ok: bool) -> Finding:
        return Finding(run, what, "somewhere", value, limit, "mm", ok, f"{what} of {run} says why")

    findings = [
        of("hem", "gap", 1e-4, 2e-4, ok=True),
        of("hem", "gap", 1.9e-4, 2e-4, ok=True),  # what must vanish is not near anything
        of("armhole", "gap", None, None, ok=True),
        of("hem", "turn-radius", 6.2, 6.0, ok=True),
        of("hem", "turn-room", 5.0, 1.0, ok=True),
        of("armhole", "fold", 0.2, 1e-4, ok=False),
    ]
    text = check_summary(findings, terminal)
    lines = [re.sub(r"  +|\t", " ", line) for line in text.split("\n") if line.strip("- ")]
    assert lines == [
        "hem: 4 findings, all as promised",
        "armhole: 2 findings, 1 broken",
        "run check where found limit" + ("" if terminal else " "),
        "hem turn-radius somewhere 6.2 mm 6 mm near its limit",
        "armhole fold somewhere 0.2 mm 0.0001 mm broken",
        "armhole: fold of armhole says why",
    ]
    assert ("\n\n" in text) is terminal


def test_the_figures_for_programs() -> None:
    good, bad = check_entry(check(SINGLE, "a.svg")), check_entry(check(with_line(SEWN, 0), "a.svg"))
    assert (good["ok"], bad["ok"]) == (True, False)
    assert list(good["findings"][0]) == [
        "run",
        "what",
        "where",
        "value",
        "limit",
        "unit",
        "ok",
        "message",
        "reason",
        "source",
    ]
    # What is measured on lines is a promise of ours and no rule of the trade.
    assert {(one["reason"], one["source"]) for one in good["findings"]} == {("", "")}
    assert len(good["findings"]) == len(check(SINGLE, "a.svg"))
