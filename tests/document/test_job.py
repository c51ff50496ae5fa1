"""Job files read as they are meant, and every slip told with its line and key."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from scallopkit.document.job import Cloth, Job, JobRun, explained, read_job
from scallopkit.document.job_keys import EYELET_KEYS, NOTCH_KEYS, SCALLOP_KEYS, as_toml
from scallopkit.document.making import make_job
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import (
    EdgeWords,
    EyeletWords,
    FinishWords,
    JoinWords,
    NotchWords,
    PieceWords,
    Recipe,
    ScallopWords,
    StretchWords,
    from_text,
    to_text,
)
from scallopkit.document.runs import make_run
from scallopkit.document.workshop import cut, read, redrawn, scallop, with_runs
from scallopkit.errors import DrawingError, NameUnknownError, NoFitError, OutputError, RequestError, ScallopkitError

from ..drawings import page

WAISTCOAT = """\
pattern = "waistcoat.svg"
output = "out.svg"
report = "waistcoat.json"

[defaults]
allowance = "15mm"
[defaults.scallop]
depth = "40%"
width = 30
[defaults.eyelet]
flange = "14mm"
[defaults.notch]
length = "3mm"

[cloth]
name = "linen"
width = "1400mm"

[[run]]
name = "hem"
edges = [
  "back:hem-fold..dart-in",
  "back:dart-out..hem-side",
  { along = "front:hem-side..dart-out", allowance = "10mm" },
  "front:dart-in..hem-front",
]
joins = ["dart", "seam:valley", { kind = "dart", hold = "pass", apex = "tip", press = "centre" }]
start = "fold"
true_up = true
times = 2
flat = "hem-flat.svg"
[run.scallop]
count = 12
weights = [2, 1]
same_width = true
[[run.eyelet]]
eyelet = "8mm"
[[run.eyelet]]
eyelet = 10
from_crest = "12mm"
[[run.notch]]
at = "valleys"

[[run]]
edges = ["front:neck..armhole"]
hold = { "c 1" = "crest", c2 = "gap:15mm" }
allowance = [15, "0mm"]
[run.scallop]
"""


def folder_with(folder: Path, text: str | bytes, *drawings: str) -> Path:
    """A job file beside empty drawings."""
    for name in drawings or ("waistcoat.svg",):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(b"")
    file = folder / "waistcoat.toml"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return file


def refusal(folder: Path, text: str | bytes, *drawings: str) -> str:
    with pytest.raises(RequestError) as caught:
        read_job(folder_with(folder, text, *drawings))
    return str(caught.value)


def runs_of(folder: Path, text: str) -> list[Recipe]:
    (pattern,) = read_job(folder_with(folder, text)).patterns
    return [run.recipe for run in pattern.runs]


def one(folder: Path, lines: str, head: str = "") -> Recipe:
    """The recipe of a job with one run, whose lines are given; `head` are those before it."""
    (recipe,) = runs_of(folder, f'pattern = "waistcoat.svg"\n{head}\n[[run]]\n{lines}\n')
    return recipe


# --- what is read ---------------------------------------------------------------------------------------------------


def test_a_whole_job(tmp_path: Path) -> None:
    job = read_job(folder_with(tmp_path, WAISTCOAT))
    assert (job.name, job.folder, job.cloth) == ("waistcoat.toml", tmp_path, Cloth("linen", "1400mm"))
    (pattern,) = job.patterns
    assert pattern.file == tmp_path / "waistcoat.svg"
    assert (pattern.output, pattern.report) == (tmp_path / "out.svg", tmp_path / "waistcoat.json")
    hem, neck = pattern.runs
    assert (hem.line, hem.flat, neck.line, neck.flat) == (19, tmp_path / "hem-flat.svg", 44, None)
    assert hem.recipe == Recipe(
        "hem",
        EdgeWords(start="fold", allowance="15mm", true_up="True", times="2"),
        ScallopWords(count="12", depth="40%", weights="2, 1", same_width="True"),
        (EyeletWords(eyelet="8mm", flange="14mm"), EyeletWords(eyelet="10", flange="14mm", from_crest="12mm")),
        (NotchWords(at="valleys", length="3mm"),),
        edges=(
            StretchWords("back:hem-fold..dart-in"),
            StretchWords("back:dart-out..hem-side"),
            StretchWords("front:hem-side..dart-out", "10mm"),
            StretchWords("front:dart-in..hem-front"),
        ),
        joins=(JoinWords("dart"), JoinWords("seam", "valley"), JoinWords("dart", "pass", apex="tip", press="centre")),
    )
    assert neck.recipe == Recipe(
        "",
        EdgeWords("front:neck..armhole", hold=("c 1=crest", "c2=gap:15mm"), allowance="15, 0mm"),
        ScallopWords(width="30", depth="40%"),
    )
    # What is read can be kept in a drawing.
    for recipe in (hem.recipe, neck.recipe):
        assert from_text(to_text(recipe), "any") == recipe


@pytest.mark.parametrize("wearer", ["adult", "child, under 3", "child, under 7", "child, 7 to 14"])
def test_who_wears_it_is_told_once_for_all_runs(tmp_path: Path, wearer: str) -> None:
    job = read_job(folder_with(tmp_path, f'wearer = "{wearer}"\n{WAISTCOAT}'))
    assert job.wearer == wearer
    recipes = [made.recipe for pattern in job.patterns for made in pattern.runs]
    assert [recipe.wearer for recipe in recipes] == [wearer, wearer]
    assert [from_text(to_text(recipe), "any").wearer for recipe in recipes] == [wearer, wearer]
    assert read_job(folder_with(tmp_path, WAISTCOAT)).wearer == ""


def test_places_that_are_not_named(tmp_path: Path) -> None:
    text = 'pattern = "cut/waistcoat.svg"\n[[run]]\n[run.scallop]\n'
    (pattern,) = read_job(folder_with(tmp_path, text, "cut/waistcoat.svg")).patterns
    assert pattern.output == tmp_path / "waistcoat-scalloped.svg"
    assert pattern.report is None
    assert pattern.runs[0].recipe == Recipe("", scallop=ScallopWords())
    assert read_job(tmp_path / "waistcoat.toml").cloth is None


def test_a_file_elsewhere_may_be_named_from_the_root(tmp_path: Path) -> None:
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "w.svg").write_bytes(b"")
    text = f"pattern = '{tmp_path / 'other' / 'w.svg'}'\n[[run]]\n[run.scallop]\n"
    (pattern,) = read_job(folder_with(tmp_path, text)).patterns
    assert pattern.file == tmp_path / "other" / "w.svg"


def test_several_drawings(tmp_path: Path) -> None:
    text = """
        [[pattern]]
        file = "a.svg"
        [[pattern]]
        file = "b.svg"
        output = "b2.svg"
        report = "b2.json"
        [[run]]
        pattern = "b.svg"
        name = "hem"
        [run.scallop]
        [[run]]
        pattern = "a.svg"
        name = "hem"
        [run.scallop]
        [[run]]
        pattern = "b.svg"
        name = "neck"
        [run.scallop]
    """
    a, b = read_job(folder_with(tmp_path, text, "a.svg", "b.svg")).patterns
    assert (a.file.name, a.output.name, a.report, a.line) == ("a.svg", "a-scalloped.svg", None, 3)
    assert b.report is not None
    assert (b.file.name, b.output.name, b.report.name, b.line) == ("b.svg", "b2.svg", "b2.json", 5)
    assert [[run.recipe.name for run in pattern.runs] for pattern in (a, b)] == [["hem"], ["hem", "neck"]]


def test_one_drawing_may_be_named_by_its_runs_or_not(tmp_path: Path) -> None:
    for head in ('pattern = "a.svg"', '[[pattern]]\nfile = "a.svg"'):
        for name in ("", 'pattern = "a.svg"\n'):
            text = f"{head}\n[[run]]\n{name}[run.scallop]\n"
            (pattern,) = read_job(folder_with(tmp_path, text, "a.svg")).patterns
            assert len(pattern.runs) == 1


@pytest.mark.parametrize(
    ("lines", "edge", "edges", "joins"),
    [
        ("", "", (), 0),
        ('edges = "hem"', "hem", (), 0),
        ('edges = ["hem"]', "hem", (), 0),
        ('edges = [{ along = "hem" }]', "hem", (), 0),
        ('edges = "hem"\njoins = "seam"', "", ("hem",), 1),
        ('edges = ["a", "b"]\njoins = ["lap"]', "", ("a", "b"), 1),
        ('edges = ["a", "b"]\njoins = ["lap", "seam"]', "", ("a", "b"), 2),
        ('edges = ["a", "b", "c"]\njoins = ["lap", "seam"]', "", ("a", "b", "c"), 2),
    ],
)
def test_one_edge_or_several(tmp_path: Path, lines: str, edge: str, edges: tuple[str, ...], joins: int) -> None:
    recipe = one(tmp_path, f"{lines}\n[run.scallop]")
    assert recipe.edge.along == edge
    assert tuple(stretch.along for stretch in recipe.edges) == edges
    assert len(recipe.joins) == joins


def test_one_edge_has_its_own_allowance(tmp_path: Path) -> None:
    lines = 'edges = [{ along = "hem", allowance = 10 }]\nallowance = "15mm"\n[run.scallop]'
    assert one(tmp_path, lines).edge == EdgeWords("hem", allowance="10")


@pytest.mark.parametrize(("kind", "keys"), [("scallop", SCALLOP_KEYS), ("eyelet", EYELET_KEYS), ("notch", NOTCH_KEYS)])
def test_each_key_goes_where_it_belongs(tmp_path: Path, kind: str, keys: Any) -> None:  # noqa: ANN401
    header = "[run.scallop]" if kind == "scallop" else f"[[run.{kind}]]"
    for name, key in keys.items():
        recipe = one(tmp_path, f"{header}\n{name} = {as_toml(key.example)}")
        trim = {"scallop": recipe.scallop, "eyelet": recipe.eyelets, "notch": recipe.notches}[kind]
        words = trim[0] if isinstance(trim, tuple) else trim
        given = {k: v for k, v in vars(words).items() if v}
        expected = {"weights": "2, 1", "ends": "15mm, 20mm"}.get(name, str(key.example))
        assert given == {name: expected}


@pytest.mark.parametrize(
    ("line", "field", "value"),
    [
        ('side = "left"', "side", "left"),
        ('start = "fold:valley"', "start", "fold:valley"),
        ('end = "gap:15mm"', "end", "gap:15mm"),
        ('hold = "side=crest"', "hold", ("side=crest",)),
        ('hold = ["side=crest", "c1=pass"]', "hold", ("side=crest", "c1=pass")),
        ('hold = { side = "crest", c1 = "pass" }', "hold", ("side=crest", "c1=pass")),
        ('hold.side = "crest"', "hold", ("side=crest",)),
        ('corner = "wrap"', "corner", "wrap"),
        ('allowance = "15mm, 0mm"', "allowance", "15mm, 0mm"),
        ("allowance = 12.5", "allowance", "12.5"),
        ('start_at = "side"', "start_at", "side"),
        ("true_up = true", "true_up", "True"),
        ("true_up = false", "true_up", ""),
        ("times = 4", "times", "4"),
        ('times = "4"', "times", "4"),
    ],
)
def test_each_key_of_an_edge(tmp_path: Path, line: str, field: str, value: str | tuple[str, ...]) -> None:
    assert one(tmp_path, f"{line}\n[run.scallop]").edge == EdgeWords(**{field: value})  # type: ignore[arg-type]
    # The same may be said for all runs.
    in_defaults = one(tmp_path, "[run.scallop]", head=f"[defaults]\n{line}")
    assert in_defaults.edge == EdgeWords(**{field: value})  # type: ignore[arg-type]


def test_notches_at_several_marks(tmp_path: Path) -> None:
    assert one(tmp_path, '[[run.notch]]\nat = ["side", "front"]').notches == (NotchWords(at="side, front"),)


def test_a_dart_drawn_as_lines(tmp_path: Path) -> None:
    lines = """
        edges = ["a", "b"]
        [[run.joins]]
        kind = "dart"
        legs = ["leg-1", "leg-2"]
        [run.scallop]
    """
    assert one(tmp_path, lines).joins == (JoinWords("dart", legs=("leg-1", "leg-2")),)


def test_a_lap_has_its_width(tmp_path: Path) -> None:
    lines = 'edges = ["a", "b"]\njoins = [{ kind = "lap", width = 18, hold = "gap:8mm" }]\n[run.scallop]'
    assert one(tmp_path, lines).joins == (JoinWords("lap", "gap:8mm", "18"),)


# --- defaults -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("default", "own", "expected"),
    [
        ('width = "30mm"', "", ScallopWords(width="30mm")),
        ('width = "30mm"', "width = 25", ScallopWords(width="25")),
        ('width = "30mm"\ndepth = "40%"', "count = 12", ScallopWords(count="12", depth="40%")),
        ("count = 12", "width = 25", ScallopWords(width="25")),
        ("count = 12\nratio = 2", 'like = "hem"', ScallopWords(like="hem", ratio="2")),
        ('depth = "40%"', 'radius = "14mm"', ScallopWords(radius="14mm")),
        ('radius = "14mm"', 'depth = "40%"', ScallopWords(depth="40%")),
        ("same_width = true", "same_width = false", ScallopWords()),
        ('min_width = "20mm"', "width = 25", ScallopWords(width="25", min_width="20mm")),
    ],
)
def test_a_run_has_the_last_word(tmp_path: Path, default: str, own: str, expected: ScallopWords) -> None:
    assert one(tmp_path, f"[run.scallop]\n{own}", f"[defaults.scallop]\n{default}").scallop == expected


def test_defaults_put_nothing_on_a_run_by_themselves(tmp_path: Path) -> None:
    head = "[defaults.scallop]\nwidth = 30\n[defaults.eyelet]\neyelet = 8\n[defaults.notch]\nat = 'crests'"
    recipe = one(tmp_path, "[[run.notch]]", head)
    assert recipe == Recipe("", notches=(NotchWords(at="crests"),))


def test_eyelets_take_the_defaults_that_go_with_their_edge(tmp_path: Path) -> None:
    head = (
        "[defaults.eyelet]\neyelet = 8\nevery = 2\nfrom_crest = 12\nspacing = 40\nends = 15\ninset = 9\nstep = 'along'"
    )
    assert one(tmp_path, "[run.scallop]\n[[run.eyelet]]", head).eyelets == (
        EyeletWords(eyelet="8", every="2", from_crest="12"),
    )
    assert one(tmp_path, "[[run.eyelet]]\ncount = 5", head).eyelets == (
        EyeletWords(eyelet="8", count="5", ends="15", inset="9", step="along"),
    )


# --- what is refused ------------------------------------------------------------------------------------------------

HEAD = 'pattern = "waistcoat.svg"\n'
SCALLOP = "[run.scallop]\n"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        # keys that there are not
        (
            f"{HEAD}[[run]]\n[run.scallop]\nwidht = 3\n",
            "line 4, run.scallop.widht: there is no such key (did you mean width?); there are count, depth, keep, "
            "like, max_width, min_width, profile, radius, ratio, same_width, sharpest, space, step, touch, "
            "weights, width",
        ),
        (
            f"{HEAD}[[run]]\n[run.scallop]\nmin-width = 3\n",
            "line 4, run.scallop.min-width: there is no such key (did you mean min_width?); there are",
        ),
        (
            f"{HEAD}[[run]]\n[[run.notch]]\ncolour = 3\n",
            "line 4, run.notch.colour: there is no such key; there are at, every, kind, length, on",
        ),
        (
            f"{HEAD}[[run]]\n[[run.eyelet]]\nsise = 3\n",
            "line 4, run.eyelet.sise: there is no such key; there are barrel, barrel_length, bulky, button, "
            "button_thickness, cloth_thickness, cord, count, ends, every, eyelet, flange, from_crest, hole, inset, "
            "layers, level_with, lies, margin, off, part, passes, patch, snap, spacing, staggered, step",
        ),
        (
            f"{HEAD}[cloth]\nname = 'linen'\ngrain = 3\n[[run]]\n",
            "line 4, cloth.grain: there is no such key; there are lies, name, one_way, shrinkage, thickness, width",
        ),
        (
            f"{HEAD}\npatern = 3\n[[run]]\n",
            "line 3, patern: there is no such key (did you mean pattern?); there are cloth, cut, cutter, defaults, "
            "legend, limits, match, minutes, output, paper, pattern, piece, prices, report, run, sheet, strap, wearer",
        ),
        (
            f"{HEAD}[defaults]\nedges = ['a']\n[[run]]\n",
            "line 3, defaults.edges: there is no such key (it goes right below [[run]]); there are allowance, "
            "corner, end, eyelet, finish, hold, notch, scallop, side, start, start_at, times, true_up",
        ),
        (
            f"{HEAD}[[run]]\nwidth = 30\n",
            "line 3, run.width: there is no such key (it goes below [run.scallop]); there are allowance, corner, "
            "edges, end, eyelet, facing, finish, flat, hold, joins, lacing, name, notch, pattern, scallop, side, "
            "start, start_at, template, times, trim, true_up",
        ),
        (
            f"{HEAD}[[run]]\n[run.scallop]\nwidth = 30\njoins = ['seam']\n",
            "line 5, run.scallop.joins: there is no such key (it goes right below [[run]]); there are",
        ),
        (f"{HEAD}[[run]]\nhole = 7\n", "line 3, run.hole: there is no such key (it goes below [[run.eyelet]])"),
        (f"{HEAD}[[run]]\nat = 'side'\n", "line 3, run.at: there is no such key (it goes below [[run.notch]])"),
        (
            f"{HEAD}[defaults]\nat = 'side'\n[[run]]\n",
            "line 3, defaults.at: there is no such key (it goes below [defau",
        ),
        (
            f"{HEAD}[cloth]\nreport = 'a'\n[[run]]\n",
            "line 3, cloth.report: there is no such key (it goes at the top of",
        ),
        (
            f"{HEAD}[[run]]\nedges = [\n'a',\n{{ along = 'b', alowance = 3 }}]\n[run.scallop]\n",
            "line 5, run.edges.alowance: there is no such key (did you mean allowance?); there are allowance, along",
        ),
        (
            f"{HEAD}[[run]]\nedges = ['a', 'b']\njoins = [{{ kind = 'dart', tip = 'x' }}]\n[run.scallop]\n",
            "line 4, run.joins.tip: there is no such key; there are apex, hold, kind, legs, press, width",
        ),
        (
            "[[pattern]]\nfile = 'waistcoat.svg'\noutptu = 'b'\n[[run]]\n",
            "line 3, pattern.outptu: there is no such key (did you mean output?); there are file, output, report",
        ),
        # values of another kind
        (
            f"{HEAD}[[run]]\n[run.scallop]\n[run.scallop.width]\nat = 3\n",
            'line 4, run.scallop.width: takes a text in quotes or a number, as in width = "24mm", not a table',
        ),
        (
            f"{HEAD}[[run]]\n[run.scallop]\nwidth = [24, 25]\n",
            'line 4, run.scallop.width: takes a text in quotes or a number, as in width = "24mm", not a list',
        ),
        (
            f"{HEAD}[[run]]\n[run.scallop]\nwidth = true\n",
            'line 4, run.scallop.width: takes a text in quotes or a number, as in width = "24mm", not true',
        ),
        (
            f"{HEAD}[[run]]\n[run.scallop]\nwidth = nan\n",
            'line 4, run.scallop.width: takes a text in quotes or a number, as in width = "24mm", not a number beyond',
        ),
        (f"{HEAD}[[run]]\n[run.scallop]\nwidth = -inf\n", "line 4, run.scallop.width: takes a text in quotes or a num"),
        (
            f"{HEAD}[[run]]\n[run.scallop]\nwidth = 1{'0' * 400}\n",
            'line 4, run.scallop.width: takes a text in quotes or a number, as in width = "24mm", not a number beyond',
        ),
        (
            f"{HEAD}[[run]]\n[run.scallop]\nwidth = 2024-01-31\n",
            'line 4, run.scallop.width: takes a text in quotes or a number, as in width = "24mm", not a date or time',
        ),
        (
            f"{HEAD}[[run]]\n[run.scallop]\nprofile = 3\n",
            'line 4, run.scallop.profile: takes a text in quotes, as in profile = "arc", not the number 3',
        ),
        (
            f"{HEAD}[[run]]\n[run.scallop]\nsame_width = 'yes'\n",
            'line 4, run.scallop.same_width: takes true or false, as in same_width = true, not the text "yes"',
        ),
        (
            f"{HEAD}[[run]]\n[run.scallop]\nweights = [\n 2,\n true,\n]\n",
            "line 6, run.scallop.weights: takes a text in quotes, a number, or a list of such, as in weights = [2, 1], "
            "not true",
        ),
        (
            f"{HEAD}[[run]]\n[run.scallop]\nweights = []\n",
            "line 4, run.scallop.weights: takes a text in quotes, a number, or a list of such, as in weights = [2, 1], "
            "not an empty list",
        ),
        (
            f"{HEAD}[[run]]\n[[run.notch]]\nat = ['side', 3]\n",
            'line 4, run.notch.at: takes a text in quotes, or a list of names in quotes, as in at = "valleys", not the '
            "number 3",
        ),
        (
            f"{HEAD}[[run]]\nhold = 3\n[run.scallop]\n",
            "line 3, run.hold: takes a text in quotes, a list of such, or a table {MARK = HOLD}, as in "
            'hold = { side = "crest" }, not the number 3',
        ),
        (
            f"{HEAD}[[run]]\n[run.hold]\nside = 'crest'\nfront = 3\n[run.scallop]\n",
            'line 5, run.hold.front: takes a text in quotes, as in front = "crest", not the number 3',
        ),
        (
            f"{HEAD}[[run]]\nname = 3\n[run.scallop]\n",
            'line 3, run.name: takes a text in quotes, as in name = "hem", n',
        ),
        (
            f"{HEAD}[[run]]\nflat = ''\n[run.scallop]\n",
            'line 3, run.flat: takes the name of a file, not ""',
        ),
        (f"{HEAD}report = '-'\n[[run]]\n[run.scallop]\n", 'line 2, report: takes the name of a file, not "-"'),
        (f'{HEAD}report = "a\\nb"\n[[run]]\n[run.scallop]\n', 'line 2, report: takes the name of a file, not "a\\nb"'),
        ("pattern = ' '\n[[run]]\n[run.scallop]\n", 'line 1, pattern: takes the name of a file, not " "'),
        # words
        (
            f"{HEAD}[[run]]\n[run.scallop]\ntouch = 'hill'\n",
            'line 4, run.scallop.touch: can be valley, crest or middle, not "hill"',
        ),
        (
            f"{HEAD}[[run]]\n[run.scallop]\nstep = ''\n",
            'line 4, run.scallop.step: can be chord or along, not ""',
        ),
        (
            f"{HEAD}[defaults]\nside = 'up'\n[[run]]\n",
            'line 3, defaults.side: can be outward, inward, left or right, not "up"',
        ),
        (
            f"{HEAD}wearer = 'child, under 8'\n[[run]]\n[run.scallop]\n",
            'line 2, wearer: can be "adult", "child, under 3", "child, under 7" or "child, 7 to 14", not '
            '"child, under 8"',
        ),
        (
            f"{HEAD}wearer = 3\n[[run]]\n[run.scallop]\n",
            'line 2, wearer: takes a text in quotes, as in wearer = "child, under 7", not the number 3',
        ),
        (
            f"{HEAD}[[run]]\nwearer = 'adult'\n[run.scallop]\n",
            "line 3, run.wearer: there is no such key (it goes at the top of the file); there are",
        ),
        (f"{HEAD}[[run]]\ncorner = 'x'\n", 'line 3, run.corner: can be hold, wrap or pass, not "x"'),
        (f"{HEAD}[[run]]\n[[run.notch]]\nkind = 'x'\n", 'line 4, run.notch.kind: can be snip, v or triangle, not "x"'),
        # tables of another kind
        (
            f"{HEAD}[run]\nname = 'hem'\n",
            "line 2, run: takes tables: write [[run]] and its keys below, once for each, not a table",
        ),
        (
            f"{HEAD}run = 3\n",
            "line 2, run: takes tables: write [[run]] and its keys below, once for each, not the number 3",
        ),
        (
            f"{HEAD}run = []\n",
            "line 2, run: takes tables: write [[run]] and its keys below, once for each, not an empty li",
        ),
        (
            f"{HEAD}run = [\n{{}},\n3]\n",
            "line 4, run: takes tables: write [[run]] and its keys below, once for each, not the",
        ),
        (
            f"{HEAD}[[run]]\n[run.eyelet]\neyelet = 8\n",
            "line 3, run.eyelet: takes tables: write [[run.eyelet]] and its keys below, once for each, not a table",
        ),
        (
            f"{HEAD}[[run]]\n[[run.scallop]]\n",
            "line 3, run.scallop: takes one table: write [run.scallop] and its keys below, not a list",
        ),
        (
            f"{HEAD}defaults = 'linen'\n[[run]]\n",
            'line 2, defaults: takes one table: write [defaults] and its keys below, not the text "linen"',
        ),
        (
            "[pattern]\nfile = 'waistcoat.svg'\n[[run]]\n",
            "line 1, pattern: takes tables: write [[pattern]] and its keys below, once for each, not a table",
        ),
        (
            f"{HEAD}[[run]]\nedges = 3\n",
            "line 3, run.edges: takes a list of texts in quotes or tables, as in edges = "
            '["back:fold..side", { along = "front:side..edge", allowance = "10mm" }], not the number 3',
        ),
        (
            f"{HEAD}[[run]]\nedges = [\n'a',\n['b']]\n",
            "line 5, run.edges: takes a list of texts in quotes or tables, as in",
        ),
        (
            f"{HEAD}[[run]]\nedges = []\n",
            "line 3, run.edges: takes a list of texts in quotes or tables, as in edges = ",
        ),
        # what is missing
        ("", 'line 1, pattern: is missing; write pattern = "waistcoat.svg"'),
        ("[[run]]\n[run.scallop]\n", 'line 1, pattern: is missing; write pattern = "waistcoat.svg"'),
        (HEAD, "line 1, run: is missing; write [[run]]"),
        ("[[pattern]]\noutput = 'a.svg'\n[[run]]\n", 'line 1, pattern.file: is missing; write file = "waistcoat.svg"'),
        (
            f"{HEAD}[[run]]\nname = 'hem'\n",
            "line 2, run: puts nothing on its edges; write [run.scallop], [[run.eyelet]], [[run.notch]] or [run.trim] "
            "below it",
        ),
        (
            f"{HEAD}[[run]]\nedges = [{{ allowance = 3 }}]\n[run.scallop]\n",
            'line 3, run.edges.along: is missing; write along = "back:fold..dart-in"',
        ),
        (
            f"{HEAD}[[run]]\nedges = ['a', 'b']\njoins = [\n{{ hold = 'pass' }}]\n[run.scallop]\n",
            'line 5, run.joins.kind: is missing; write kind = "dart"',
        ),
        (
            f"{HEAD}[[run]]\nedges = ['a', '']\njoins = ['seam']\n[run.scallop]\n",
            "line 3, run.edges: names no edge; write PIECE, PIECE:FROM..TO or PIECE:FROM..VIA..TO",
        ),
        # joins
        (
            f"{HEAD}[[run]]\nedges = ['a', 'b', 'c']\njoins = ['seam']\n[run.scallop]\n",
            "line 4, run.joins: 3 edges take 2 joins, or 3 for a loop; here are 1",
        ),
        (
            f"{HEAD}[[run]]\nedges = ['a', 'b']\n[run.scallop]\n",
            "line 3, run.edges: 2 edges take 1 join, or 2 for a loop; here are none",
        ),
        (
            f"{HEAD}[[run]]\nedges = 'a'\njoins = ['seam', 'seam']\n[run.scallop]\n",
            "line 4, run.joins: one edge takes no join, or one for a loop; here are 2",
        ),
        (
            f"{HEAD}[[run]]\njoins = ['seam']\n[run.scallop]\n",
            "line 3, run.joins: there are joins but no edges; name the edges too, in sewing order",
        ),
        (
            f"{HEAD}[[run]]\nedges = ['a', 'b', 'c']\njoins = [\n'seam',\n'dart:hill']\n[run.scallop]\n",
            "line 6, run.joins: the hold of a join can be valley, crest, pass or gap:8mm, not 'hill'",
        ),
        (
            f"{HEAD}[[run]]\nedges = ['a', 'b']\njoins = ['seem']\n[run.scallop]\n",
            "line 4, run.joins: a join can be seam, dart, fold, lap or butt, alone or with a hold as in dart:valley,",
        ),
        (
            f"{HEAD}[[run]]\nedges = ['a', 'b']\njoins = [{{ kind = 'seem' }}]\n[run.scallop]\n",
            'line 4, run.joins.kind: can be seam, dart, fold, lap or butt, not "seem"',
        ),
        (
            f"{HEAD}[[run]]\nedges = ['a', 'b']\n[[run.joins]]\nkind = 'seam'\nhold = 'gap'\n[run.scallop]\n",
            "line 6, run.joins.hold: the hold of a join needs the gap's length, as in gap:8mm",
        ),
        (
            f"{HEAD}[[run]]\nedges = ['a', 'b']\n[[run.joins]]\nkind = 'seam'\nwidth = 18\n[run.scallop]\n",
            "line 6, run.joins.width: a join seam: width goes with a lap only; leave it out",
        ),
        # names
        (
            f"{HEAD}[[run]]\nname = 'hem'\n{SCALLOP}[[run]]\n\nname = 'hem'\n{SCALLOP}",
            'line 7, run.name: another run on this drawing is called "hem" (line 2); rename one',
        ),
        (
            f"{HEAD}[[run]]\nedges = 'a'\n{SCALLOP}[[run]]\nedges = ['a']\n[[run.notch]]\nat = 'crests'\n",
            "line 5, run: another run is on the same edge (line 2); give each a name of its own",
        ),
        (
            f"{HEAD}[[run]]\nedges = 'a'\n{SCALLOP}[[run]]\nname = 'a'\n{SCALLOP}",
            'line 6, run.name: another run on this drawing is called "a" (line 2); rename one',
        ),
        # the cloth
        (
            f"{HEAD}[cloth]\nwidth = 'wide'\n[[run]]\n{SCALLOP}",
            "line 3, cloth.width: the width 'wide' cannot be read; write",
        ),
        (
            f"{HEAD}[cloth]\nshrinkage = '60%'\n[[run]]\n{SCALLOP}",
            "line 3, cloth.shrinkage: the shrinkage '60%' would leave half of the cloth or less",
        ),
        (f"{HEAD}[cloth]\nwidth = 0\n[[run]]\n{SCALLOP}", "line 3, cloth.width: the width '0' must be more than zero"),
        (
            f"{HEAD}[cloth]\nthickness = 'thin'\n[[run]]\n{SCALLOP}",
            "line 3, cloth.thickness: the thickness 'thin' cannot be read; write",
        ),
        # no TOML
        (
            f"{HEAD}[[run]]\nstart = fold\n",
            "line 3: a value is missing or cannot be read; put texts and lengths in quo",
        ),
        (
            f"{HEAD}[[run]]\n{SCALLOP}[run.scallop]\n",
            "line 4, run.scallop: this is given a second time (first in line 3)",
        ),
        (
            f"{HEAD}[run]\n[run]\n",
            "line 3, run: this is given a second time (first in line 2); keep one of them, or write [[",
        ),
        (b'pattern = "w\xe4ste.svg"\n', "line 1: this is not UTF-8; save the file as UTF-8 in your editor"),
    ],
)
def test_a_slip_is_told_with_its_line_and_key(tmp_path: Path, text: str | bytes, said: str) -> None:
    told = refusal(tmp_path, text)
    assert told.startswith(f"waistcoat.toml, {said}")
    assert "\n" not in told


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "output = 'waistcoat.svg'\n",
            'line 2, output: the result would overwrite the drawing "waistcoat.svg" itself: ',
        ),
        (
            "output = './waistcoat.svg'\n",
            'line 2, output: the result would overwrite the drawing "waistcoat.svg" itself',
        ),
        (
            "report = 'waistcoat.svg'\n",
            'line 2, report: the result would overwrite the drawing "waistcoat.svg" itself: ',
        ),
        (
            "output = 'waistcoat.toml'\n",
            "line 2, output: the result would overwrite the job file itself: give it another",
        ),
        (
            "output = 'a.svg'\nreport = 'a.svg'\n",
            "line 3, report: a.svg takes another result already (line 2); give each its own name",
        ),
        (
            "report = 'waistcoat-scalloped.svg'\n",
            "line 2, report: waistcoat-scalloped.svg takes another result already (line 1); give each its own name",
        ),
        (
            "output = 'flat.svg'\n",
            "line 4, run.flat: flat.svg takes another result already (line 2); give each its own",
        ),
        (
            "output = 'x/../flat.svg'\n",
            "line 4, run.flat: flat.svg takes another result already (line 2); give each its",
        ),
        (
            "output = 'a.svg'\noutput = 'b.svg'\n",
            "line 3, output: this is given a second time (first in line 2); keep one",
        ),
    ],
)
def test_results_overwrite_nothing(tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "x").mkdir()
    told = refusal(tmp_path, f"{HEAD}{text}[[run]]\nflat = 'flat.svg'\n{SCALLOP}")
    assert told.startswith(f"waistcoat.toml, {said}")


def test_a_result_that_leads_to_the_drawing_by_a_link(tmp_path: Path) -> None:
    (tmp_path / "waistcoat.svg").write_bytes(b"")
    (tmp_path / "link.svg").symlink_to("waistcoat.svg")
    told = refusal(tmp_path, f"{HEAD}output = 'link.svg'\n[[run]]\n{SCALLOP}")
    assert told.startswith("waistcoat.toml, line 2, output: the result would overwrite the drawing")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "[[run]]\npattern = 'c.svg'\n[run.scallop]\n",
            'line 6, run.pattern: no drawing of this job is called "c.svg"; there are "a.svg", "b.svg"',
        ),
        (
            "[[run]]\n[run.scallop]\n",
            'line 5, run.pattern: is missing, since the job has several drawings; give one of "a.svg", "b.svg"',
        ),
        (
            "[[run]]\npattern = 'a.svg'\n[run.scallop]\n",
            'line 4, pattern.file: no run is on this drawing: give a run pattern = "b.svg", or leave it out',
        ),
        (
            "[[pattern]]\nfile = './a.svg'\n[[run]]\n[run.scallop]\n",
            "line 6, pattern.file: the drawing is named before, in line 2; keep one of them",
        ),
        (
            "output = 'a-scalloped.svg'\n[[run]]\npattern = 'a.svg'\n[run.scallop]\n"
            "[[run]]\npattern = 'b.svg'\n[run.scallop]\n",
            "line 5, pattern.output: a-scalloped.svg takes another result already (line 2); give each its own name",
        ),
        (
            "output = 'a.svg'\n[[run]]\npattern = 'a.svg'\n[run.scallop]\n[[run]]\npattern = 'b.svg'\n[run.scallop]\n",
            'line 5, pattern.output: the result would overwrite the drawing "a.svg" itself: give it another name',
        ),
    ],
)
def test_slips_with_several_drawings(tmp_path: Path, text: str, said: str) -> None:
    head = "[[pattern]]\nfile = 'a.svg'\n[[pattern]]\nfile = 'b.svg'\n"
    assert refusal(tmp_path, head + text, "a.svg", "b.svg") == f"waistcoat.toml, {said}"


def test_results_of_drawings_of_one_name_in_two_folders(tmp_path: Path) -> None:
    text = "[[pattern]]\nfile = 'x/a.svg'\n[[pattern]]\nfile = 'y/a.svg'\n"
    text += "".join(f"[[run]]\npattern = '{folder}/a.svg'\n[run.scallop]\n" for folder in "xy")
    assert refusal(tmp_path, text, "x/a.svg", "y/a.svg") == (
        "waistcoat.toml, line 4, pattern.file: a-scalloped.svg takes another result already (line 2); "
        "give each its own name"
    )


@pytest.mark.parametrize("key", ["output", "report"])
def test_results_of_several_drawings_are_named_with_each(tmp_path: Path, key: str) -> None:
    text = f"{key} = 'x'\n[[pattern]]\nfile = 'a.svg'\n[[run]]\n[run.scallop]\n"
    assert refusal(tmp_path, text, "a.svg") == (
        f"waistcoat.toml, line 1, {key}: goes with one drawing; below each [[pattern]] give its own {key}"
    )


def test_a_drawing_that_is_not_there(tmp_path: Path) -> None:
    text = f"pattern = 'westcoat.svg'\n[[run]]\n{SCALLOP}"
    assert refusal(tmp_path, text, "b.svg", "a.SVG") == (
        f'waistcoat.toml, line 1, pattern: there is no file "westcoat.svg" in {tmp_path}; there are a.SVG, b.svg'
    )
    text = f"pattern = 'cut/a.svg'\n[[run]]\n{SCALLOP}"
    assert refusal(tmp_path, text) == (
        f'waistcoat.toml, line 1, pattern: there is no file "cut/a.svg" in {tmp_path}; '
        f"there is no folder {tmp_path}/cut"
    )


def test_a_job_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(RequestError, match=r"job\.toml cannot be read \(No such file or directory\); check the name"):
        read_job(tmp_path / "job.toml")
    with pytest.raises(RequestError, match="cannot be read"):
        read_job(tmp_path)
    with pytest.raises(RequestError, match="cannot be read"):
        read_job("a\0b")


# --- refusals while a run is made -----------------------------------------------------------------------------------


def job_and_runs(folder: Path, text: str = WAISTCOAT) -> tuple[Job, tuple[JobRun, ...]]:
    job = read_job(folder_with(folder, text))
    return job, job.patterns[0].runs


@pytest.mark.parametrize(
    ("run", "said", "told"),
    [
        (0, "--count takes a whole number", "line 33, run.scallop.count: count takes a whole number"),
        (0, "give --weights 1..2", "line 34, run.scallop.weights: give weights 1..2"),
        (1, "--depth 40% is much", "line 8, defaults.scallop.depth: depth 40% is much"),
        (0, "--allowance is much", "line 6, defaults.allowance: allowance is much"),
        (1, "--allowance is much", "line 47, run.allowance: allowance is much"),
        (0, "--allowance 10mm is much", "line 24, run.edges.allowance: allowance 10mm is much"),
        (0, "--start can be", "line 28, run.start: start can be"),
        (1, "--hold is written MARK=KIND", "line 46, run.hold: hold is written MARK=KIND"),
        (0, "--from-crest 12mm", "line 40, run.eyelet.from_crest: from_crest 12mm"),
        # Of two keys of one name the one whose value is told.
        (0, "--eyelet '10' is too big", "line 39, run.eyelet.eyelet: eyelet '10' is too big"),
        (0, "--eyelet '8mm' is too big", "line 37, run.eyelet.eyelet: eyelet '8mm' is too big"),
        (0, "--join 'seam:valley' can't be", "line 27, run.joins: joins 'seam:valley' can't be"),
        (0, "the --flange of 14mm", "line 11, defaults.eyelet.flange: the flange of 14mm"),
        (0, "--length is long", "line 13, defaults.notch.length: length is long"),
        # The first that the run gives counts.
        (1, "give --count or --width", "line 9, defaults.scallop.width: give count or width"),
        (1, "say which edge with --along", "line 45, run.edges: say which edge with edges"),
        # None that it gives, or none at all: the run.
        (0, "give a --min-width", 'line 19, run "hem": give a min_width'),
        (1, "no count fits", "line 44, run: no count fits"),
        (0, "use --in-place", 'line 19, run "hem": use --in-place'),
    ],
)
def test_a_later_refusal_has_its_place(tmp_path: Path, run: int, said: str, told: str) -> None:
    job, runs = job_and_runs(tmp_path)
    assert str(explained(job, runs[run], RequestError(said))) == f"waistcoat.toml, {told}"


@pytest.mark.parametrize(
    ("said", "line"),
    [
        ('no piece is called "back"; this drawing has "front"', 22),
        ('"front" has no mark or corner "dart-in"; it has "hem-fold"', 25),
        ('"back" has no mark or corner "hem-side"; it has "hem-fold"', 23),
    ],
)
def test_an_unknown_name_is_found_among_the_edges(tmp_path: Path, said: str, line: int) -> None:
    job, runs = job_and_runs(tmp_path)
    told = str(explained(job, runs[0], NameUnknownError(said)))
    assert told == f"waistcoat.toml, line {line}, run.edges: {said}"


def test_an_unknown_name_that_no_edge_holds(tmp_path: Path) -> None:
    job, runs = job_and_runs(tmp_path)
    told = str(explained(job, runs[0], NameUnknownError('the mark "x" is not there')))
    assert told == 'waistcoat.toml, line 19, run "hem": the mark "x" is not there'


@pytest.mark.parametrize("kind", [ScallopkitError, DrawingError, NameUnknownError, RequestError, OutputError])
def test_a_refusal_stays_of_its_kind(tmp_path: Path, kind: type[ScallopkitError]) -> None:
    job, runs = job_and_runs(tmp_path)
    before = kind("no room")
    told = explained(job, runs[1], before)
    assert type(told) is kind
    assert str(told) == "waistcoat.toml, line 44, run: no room"
    assert str(before) == "no room"


def test_counts_that_would_fit_are_kept(tmp_path: Path) -> None:
    job, runs = job_and_runs(tmp_path)
    told = explained(job, runs[0], NoFitError("--count 12 does not fit", (11.0, 13.0)))
    assert isinstance(told, NoFitError)
    assert told.counts == (11.0, 13.0)
    assert str(told) == "waistcoat.toml, line 33, run.scallop.count: count 12 does not fit"


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (
            "[run.scallop]\nwidth = 'wide'\n",
            "line 5, run.scallop.width: width 'wide' cannot be read; write it like 30mm",
        ),
        ("[run.scallop]\nwidth = 30\ncount = 3\n", "line 5, run.scallop.width: give a width or a count, not both"),
        (
            "start = 'hill'\n[run.scallop]\nwidth = 30\n",
            "line 4, run.start: start can be valley, crest, gap:15mm, fold",
        ),
        ("[run.scallop]\nwidth = 30\nprofile = 'x'\n", "line 6, run.scallop.profile: profile can be arc, half-circle"),
        ("[[run.notch]]\nat = 'valleys'\nlength = 'x'\n", "line 6, run.notch.length: length 'x' cannot be read"),
        ("edges = 'box:c0..c9'\n[run.scallop]\n", 'line 4, run.edges: "box" has no mark or corner "c9"; it has'),
        ("edges = 'bax:c0..c9'\n[run.scallop]\n", 'line 4, run.edges: no piece is called "bax"; this drawing has'),
    ],
)
def test_real_refusals_have_their_place(tmp_path: Path, lines: str, said: str) -> None:
    edges = "" if lines.startswith("edges") else "edges = 'box:c0..c1'\n"
    shift = 0 if lines.startswith("edges") else -1
    text = HEAD + "[defaults]\n" * (shift + 1) + f"[[run]]\n{edges}{lines}"
    job_file = folder_with(tmp_path, text)
    (tmp_path / "waistcoat.svg").write_text(page('<rect id="box" x="10" y="30" width="296" height="200"/>'))
    job = read_job(job_file)
    (run,) = job.patterns[0].runs
    with pytest.raises(ScallopkitError) as caught:
        make_run(read(job.patterns[0].file), run.recipe)
    told = str(explained(job, run, caught.value))
    assert told.startswith(f"waistcoat.toml, {said}")
    assert not re.search(r"--[a-z]", told)


# --- finishes and pieces as they are cut ----------------------------------------------------------------------------


def test_a_run_s_finish(tmp_path: Path) -> None:
    recipe = one(tmp_path, "[run.scallop]\n[run.finish]\ncut = 'straight:10mm'\ntrim = 5\nstitch = '2mm'")
    assert recipe.finish == FinishWords(cut="straight:10mm", trim="5", stitch="2mm")
    assert one(tmp_path, "[run.scallop]").finish is None
    assert one(tmp_path, "[run.scallop]\n[run.finish]").finish == FinishWords()
    assert from_text(to_text(recipe), "any") == recipe


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ("[run.scallop]", FinishWords(cut="scalloped:8mm", trim="5", stitch="2")),
        ("[run.scallop]\n[run.finish]\ntrim = 4", FinishWords(cut="scalloped:8mm", trim="4", stitch="2")),
        ("[run.scallop]\n[run.finish]\nfinish = 'faced'", FinishWords("faced", "scalloped:8mm", "5", stitch="2")),
        # What is said of an allowance does not stand for an edge that has none.
        ("[run.scallop]\n[run.finish]\nfinish = 'raw'", FinishWords("raw", stitch="2")),
        ("[run.scallop]\n[run.finish]\nfinish = 'bound'\nstitch = 3", FinishWords("bound", stitch="3")),
        # A run without scallops has nothing to finish.
        ("[[run.notch]]\nat = 'parts:3'", None),
    ],
)
def test_defaults_of_finishes(tmp_path: Path, lines: str, expected: FinishWords | None) -> None:
    head = "[defaults.finish]\ncut = 'scalloped:8mm'\ntrim = 5\nstitch = 2"
    assert one(tmp_path, lines, head).finish == expected


CUTS = """\
pattern = "waistcoat.svg"
[[run]]
[run.scallop]
[cut]
allowance = "15mm"
cloth = "linen"
number = 2
[[piece]]
piece = "back"
number = 1
side = { "back:c1..c2" = "20mm", "back:c3..c4" = "0mm" }
corner.c2 = "turned:before"
[[piece]]
piece = "front"
side = "front:c1..c2=2cm"
fold = ["front:c0..c1", "front:c3..c4"]
dart = "c6"
corners = "rounded"
size = "38"
"""


def test_pieces_as_they_are_cut(tmp_path: Path) -> None:
    """What a piece leaves open is as [cut] has it for all."""
    (pattern,) = read_job(folder_with(tmp_path, CUTS)).patterns
    assert pattern.cut is not None
    assert (pattern.cut.line, pattern.cut.words) == (4, PieceWords(allowance="15mm", cloth="linen", number="2"))
    back, front = pattern.pieces
    assert (back.line, back.words) == (
        8,
        PieceWords(
            "back",
            "15mm",
            ("back:c1..c2=20mm", "back:c3..c4=0mm"),
            ("c2=turned:before",),
            number="1",
            cloth="linen",
        ),
    )
    assert (front.line, front.words) == (
        13,
        PieceWords(
            "front",
            "15mm",
            ("front:c1..c2=2cm",),
            corners="rounded",
            fold=("front:c0..c1", "front:c3..c4"),
            dart=("c6",),
            number="2",
            cloth="linen",
            size="38",
        ),
    )


def test_a_job_without_cuts_cuts_nothing(tmp_path: Path) -> None:
    (pattern,) = read_job(folder_with(tmp_path, f"{HEAD}[[run]]\n{SCALLOP}")).patterns
    assert (pattern.cut, pattern.pieces) == (None, ())


def test_pieces_go_with_their_drawings(tmp_path: Path) -> None:
    text = "[[pattern]]\nfile = 'a.svg'\n[[pattern]]\nfile = 'b.svg'\n"
    text += "".join(f"[[run]]\npattern = '{name}.svg'\n{SCALLOP}" for name in "ab")
    text += "[[piece]]\npattern = 'b.svg'\npiece = 'front'\n[[piece]]\npattern = 'a.svg'\npiece = 'front'\n"
    a, b = read_job(folder_with(tmp_path, text, "a.svg", "b.svg")).patterns
    assert [[piece.words.piece for piece in pattern.pieces] for pattern in (a, b)] == [["front"], ["front"]]
    text = text.replace("pattern = 'b.svg'\npiece", "piece")
    assert "line 11, piece.pattern: is missing, since the job has several drawings" in refusal(
        tmp_path, text, "a.svg", "b.svg"
    )


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (
            "[[piece]]\npiece = 'front'\n[[piece]]\nnumber = 2\npiece = 'front'\n",
            'line 8, piece.piece: "front" is described before; put all of it into one table',
        ),
        ("[[piece]]\nnumber = 2\n", "line 4, piece.piece: is missing"),
        ("[[piece]]\npiece = 'front'\nalowance = 3\n", "line 6, piece.alowance: there is no such key (did you mean"),
        ("[cut]\nfold = 'a'\n", "line 5, cut.fold: there is no such key (it goes below [[piece]])"),
        ("[cut]\ncorners = 'turned'\n", 'line 5, cut.corners: can be mitred, squared or rounded, not "turned"'),
        ("[cut]\nnumber = true\n", "line 5, cut.number: takes a text in quotes or a number"),
        ("[[cut]]\nnumber = 2\n", "line 4, cut: takes one table: write [cut] and its keys below"),
        ("[piece]\npiece = 'a'\n", "line 4, piece: takes tables: write [[piece]] and its keys below"),
    ],
)
def test_slips_about_cuts(tmp_path: Path, lines: str, said: str) -> None:
    assert refusal(tmp_path, f"{HEAD}[[run]]\n{SCALLOP}{lines}").startswith(f"waistcoat.toml, {said}")


BOXES = page(
    '<rect id="box" x="10" y="30" width="300" height="200"/><rect id="lid" x="350" y="30" width="90" height="90"/>'
)
MAKE = (
    f"{HEAD}output = 'out.svg'\nreport = 'out.json'\n"
    "[[run]]\nedges = 'box:c0..c1'\nname = 'top'\n[run.scallop]\nwidth = 30\n"
)


def made(folder: Path, text: str, drawing: str | bytes = BOXES) -> dict[str, Any]:
    """The report of a job that is made on a drawing."""
    job_file = folder_with(folder, text)
    (folder / "waistcoat.svg").write_bytes(drawing.encode() if isinstance(drawing, str) else drawing)
    assert make_job(job_file).ok
    return dict(json.loads((folder / "out.json").read_text()))


def sides(report: dict[str, Any]) -> dict[str, list[float]]:
    return {piece["name"]: [side["allowance_mm"] for side in piece["sides"]] for piece in report["pieces"]}


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ("", {}),
        ("[cut]\n", {"box": [6, 15, 15, 15], "lid": [15, 15, 15, 15]}),
        ("[cut]\nallowance = 10\n", {"box": [6, 10, 10, 10], "lid": [10, 10, 10, 10]}),
        ("[[piece]]\npiece = 'lid'\n", {"lid": [15, 15, 15, 15]}),
        (
            "[cut]\nallowance = 10\n[[piece]]\npiece = 'lid'\nallowance = '1in'\nside = 'lid:c1..c2=0'\n",
            {"box": [6, 10, 10, 10], "lid": [25.4, 0, 25.4, 25.4]},
        ),
        ("[run.finish]\nfinish = 'raw'\n[cut]\n", {"box": [0, 15, 15, 15], "lid": [15, 15, 15, 15]}),
    ],
)
def test_pieces_are_cut_with_their_runs(tmp_path: Path, lines: str, expected: dict[str, list[float]]) -> None:
    assert sides(made(tmp_path, MAKE + lines)) == expected


def test_a_job_made_again_changes_nothing(tmp_path: Path) -> None:
    made(tmp_path, MAKE + "[cut]\nnumber = 2\n")
    before = (tmp_path / "out.svg").read_bytes()
    assert made(tmp_path, MAKE + "[cut]\nnumber = 2\n", before)["pieces"][0]["cut"] == "cut 2, a pair"
    assert (tmp_path / "out.svg").read_bytes() == before


def test_what_the_drawing_holds_already_counts(tmp_path: Path) -> None:
    """Runs made before are cut too, and pieces cut before follow the job's runs."""
    drawing = read_drawing(BOXES.encode(), "a.svg")
    drawing = redrawn(drawing, [scallop(drawing, "box:c1..c2", width=20, name="side")])
    assert sides(made(tmp_path, MAKE + "[cut]\n", drawing.source))["box"] == [6, 6, 15, 15]
    source = with_runs(drawing, [], cut(drawing, "box", allowance=12))
    (tmp_path / "out.svg").unlink()
    assert sides(made(tmp_path, MAKE, source)) == {"box": [6, 6, 12, 12]}


def test_a_job_does_not_overwrite_cut_pieces_that_it_does_not_make(tmp_path: Path) -> None:
    made(tmp_path, MAKE + "[cut]\n")
    before = (tmp_path / "out.svg").read_bytes()
    with pytest.raises(OutputError, match='"cut box", "cut lid"'):
        made(tmp_path, MAKE)
    assert (tmp_path / "out.svg").read_bytes() == before


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("[cut]\nallowance = 'wide'\n", "line 10, cut.allowance: allowance 'wide' cannot be read"),
        ("[[piece]]\npiece = 'top'\n", 'line 9, piece "top": no piece is called "top"'),
        (
            "[[piece]]\npiece = 'lid'\ncorner.c9 = 'rounded'\n",
            'line 11, piece.corner: corner c9=rounded: "lid" has no corner "c9"',
        ),
        (
            "[[piece]]\npiece = 'lid'\ncorner = ['c1=rounded', 'c1=mitred']\n",
            'line 11, piece.corner: "c1" of "lid" is told twice: leave out one corner c1',
        ),
        ("[[piece]]\npiece = 'lid'\ndart = 'c1'\n", "line 11, piece.dart: dart takes the point of a dart"),
        ("[[piece]]\npiece = 'lid'\ncorner.c1 = 'round'\n", "line 11, piece.corner: corner is written CORNER=KIND"),
        ("[[piece]]\npiece = 'lid'\nnumber = 0\n", "line 11, piece.number: number takes a whole number"),
        ("[[piece]]\npiece = 'lid'\nfold = 'box:c1..c2'\n", 'line 11, piece.fold: fold "box:c1..c2" lies on "box"'),
        (
            "[[piece]]\npiece = 'lid'\nside = ['lid:c0..c1=3', 'lid:c1..c2=x']\n",
            "line 11, piece.side: side lid:c1..c2= 'x' cannot be read",
        ),
        ("[run.finish]\ntrim = 9\n", "line 10, run.finish.trim: trim 9 mm is more than the 6 mm that are cut"),
        ("[run.finish]\nfinish = 'raw'\ntrim = 2\n", "line 11, run.finish.trim: trim goes with finish faced"),
        ("[run.finish]\ncut = 'round'\n", "line 10, run.finish.cut: cut can be scalloped:6mm"),
    ],
)
def test_refusals_about_cuts_have_their_place(tmp_path: Path, lines: str, said: str) -> None:
    with pytest.raises(ScallopkitError) as caught:
        made(tmp_path, MAKE + lines)
    assert str(caught.value).startswith(f"waistcoat.toml, {said}")
    assert not re.search(r"--[a-z]", str(caught.value))
    assert not (tmp_path / "out.svg").exists()


# --- refusals of what is put on a run -------------------------------------------------------------------------------

FACED = "[run.finish]\nfinish = 'faced'\n"


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        # The depth of the scallops stands in line 9.
        (f"{FACED}[[run.facing]]\ndepth = 0\n", "line 13, run.facing.depth: a facing's depth '0' must be more than"),
        (
            f"touch = 'crest'\n{FACED}[[run.facing]]\ndepth = 3\n[[run.notch]]\nat = 'crests'\n",
            "line 14, run.facing.depth: the trimmed line reaches 8.0 mm into the cloth",
        ),
        (f"{FACED}[[run.facing]]\nkind = 'band'\ninner = 3\n", "line 14, run.facing.inner: inner is no word for a ba"),
        (f"{FACED}[[run.facing]]\nmost_gap = 0\n", "line 13, run.facing.most_gap: most_gap 0 lets a facing go across"),
        (f"{FACED}[[run.facing]]\nacross = 'x'\n", 'line 13, run.facing.across: across x: no join of "top" lies there'),
        (f"{FACED}[[run.facing]]\nturn = 9\n", "line 13, run.facing.turn: a turn of cloth of 9 mm leaves nothing"),
        (
            f"{FACED}[[run.facing]]\nkind = 'strip'\nlongest = 20\n",
            "line 14, run.facing.longest: strips of at most 20 mm, allowances and",
        ),
        # Of several the one that is refused.
        (
            f"{FACED}[[run.facing]]\n[[run.facing]]\nkind = 'strip'\nseam = -1\n[run.template]\nstrip = 1\n",
            "line 15, run.facing.seam: a facing's seam '-1' must not be negative",
        ),
        (
            "[run.finish]\nfinish = 'raw'\n[[run.facing]]\n",
            "line 12, run.facing: a shaped facing goes with an edge that",
        ),
        (
            "[[run.facing]]\nkind = 'strip'\n",
            "line 11, run.facing.kind: a strip facing goes with an edge that is faced",
        ),
        ("[run.template]\nstrip = 'two'\n", "line 11, run.template.strip: strip takes a whole number"),
        ("[run.template]\nbody = 0\n", "line 11, run.template.body: body '0' must be more than zero"),
        ("[[run.eyelet]]\neyelet = 8\nevery = 'x'\n", "line 12, run.eyelet.every: every takes"),
        ("[run.finish]\nstitch = 0\n", "line 11, run.finish.stitch: stitch '0' must be more than zero"),
    ],
)
def test_a_refusal_is_told_at_the_key_that_it_is_about(tmp_path: Path, lines: str, said: str) -> None:
    with pytest.raises(ScallopkitError) as caught:
        made(tmp_path, f"{MAKE}depth = 8\n{lines}")
    assert str(caught.value).startswith(f"waistcoat.toml, {said}")
    assert not re.search(r"--[a-z]", str(caught.value))


def test_a_run_that_is_refused_for_itself_is_not_told_at_its_facing(tmp_path: Path) -> None:
    text = f"{MAKE}depth = '8kg'\n{FACED}[[run.facing]]\ndepth = 50\n[run.template]\nstrip = 1\n"
    with pytest.raises(ScallopkitError) as caught:
        made(tmp_path, text)
    assert str(caught.value).startswith("waistcoat.toml, line 9, run.scallop.depth: depth '8kg' cannot be read")


LABELLED = page(
    '<rect id="r1" inkscape:label="box" x="10" y="30" width="300" height="200"/>'
    '<rect id="lid" x="350" y="30" width="90" height="90"/>'
)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            MAKE.replace("'top'", "'cut lid'"),
            'line 6, run.name: "cut lid" is what the cutting line of "lid" is called: give the run another name',
        ),
        (
            f"{MAKE}[[run]]\nname = 'cut r1'\nedges = 'lid:c0..c1'\n[run.scallop]\ncount = 'no number'\n",
            'line 10, run.name: "cut r1" is what the cutting line of "r1" is called',
        ),
        (
            MAKE.replace("name = 'top'\n", "") + "[[run]]\nname = 'box:c0..c1'\n[run.scallop]\nwidth = 9\n",
            'line 9, run.name: another run on this drawing is called "box:c0..c1" (line 4); rename one',
        ),
        (
            f"{MAKE}[[piece]]\npiece = 'box'\n[[piece]]\nnumber = 2\npiece = 'r1'\n",
            'line 13, piece.piece: piece "r1" is the piece "box" of line 10 by another name: put all of it into one',
        ),
    ],
)
def test_names_that_clash_are_told_before_anything_is_made(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(ScallopkitError) as caught:
        made(tmp_path, text, LABELLED)
    assert str(caught.value).startswith(f"waistcoat.toml, {said}")


def test_two_runs_that_come_to_one_name(tmp_path: Path) -> None:
    """A run without edges and a name is called as the only piece."""
    text = f"{HEAD}[[run]]\n[run.scallop]\nwidth = 30\n[[run]]\nname = 'box'\nedges = 'box:c0..c1'\n[[run.notch]]\n"
    with pytest.raises(RequestError) as caught:
        made(tmp_path, text, page('<rect id="box" x="10" y="30" width="300" height="200"/>'))
    assert str(caught.value) == (
        'waistcoat.toml, line 6, run.name: "box" is what the run of line 2 is called: give one of them another name'
    )


# --- the cloth ------------------------------------------------------------------------------------------------------

CLOTH = "[cloth]\nname = 'linen'\nwidth = '140mm'\nthickness = 4\n"


def labels(report_folder: Path) -> list[str]:
    """What is written on the pieces that are cut."""
    text = (report_folder / "out.svg").read_text()
    return re.findall(r">(linen|damask)<", text)


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ("", []),
        ("[cut]\n", ["linen", "linen"]),
        ("[[piece]]\npiece = 'lid'\n", ["linen"]),
        ("[cut]\ncloth = 'damask'\n", ["damask", "damask"]),
        ("[cut]\n[[piece]]\npiece = 'lid'\ncloth = 'damask'\n", ["linen", "damask"]),
        ("[cut]\ncloth = 'damask'\n[[piece]]\npiece = 'lid'\n", ["damask", "damask"]),
    ],
)
def test_pieces_are_cut_from_the_cloth_unless_they_tell_another(
    tmp_path: Path, lines: str, expected: list[str]
) -> None:
    made(tmp_path, MAKE + CLOTH + lines)
    assert labels(tmp_path) == expected


@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ("[cut]\n", "linen"),
        ("[cut]\ncloth = 'damask'\n", "damask"),
        ("[cut]\ncloth = 'damask'\n[[piece]]\npiece = 'box'\ncloth = 'felt'\n", "felt"),
        ("[[piece]]\npiece = 'box'\ncloth = 'felt'\n", "felt"),
        ("[[piece]]\npiece = 'lid'\ncloth = 'felt'\n", "linen"),
    ],
)
def test_a_facing_is_cut_from_its_own_piece_s_cloth(tmp_path: Path, lines: str, expected: str) -> None:
    made(tmp_path, MAKE + FACED + "[[run.facing]]\n[cloth]\nname = 'linen'\n" + lines)
    texts = (tmp_path / "out.svg").read_text(encoding="utf-8")
    label = texts[texts.index("facing<") :]
    assert label.index(f">{expected}<") < label.index("</text>")


def test_straight_facings_are_pieced_by_the_width_of_the_cloth(tmp_path: Path) -> None:
    """The edge is 300 mm long; of 140 mm of cloth 15 mm are allowance at either end."""
    facing = f"{FACED}[[run.facing]]\nkind = 'strip'\n"
    cloth = "[cloth]\nwidth = '140mm'\n"
    for head, more, count in (("", "", 1), (cloth, "", 3), (cloth, "longest = '1m'\n", 1), ("", "longest = 140\n", 3)):
        report = made(tmp_path, f"{MAKE}{facing}{more}{head}")
        assert len(report["runs"][0]["facings"]) == count
    # A shaped facing is as long as its edge.
    assert len(made(tmp_path, f"{MAKE}{FACED}[[run.facing]]\n{cloth}")["runs"][0]["facings"]) == 1


def test_the_length_of_cloth_to_buy_is_told_where_its_width_is(tmp_path: Path) -> None:
    job_file = folder_with(tmp_path, f"{MAKE}{CLOTH}[cut]\n")
    (tmp_path / "waistcoat.svg").write_text(BOXES)
    # The lid is 90 mm and twice 15 mm of allowance wide, the box 300 mm.
    told = make_job(job_file).text
    assert '"box" does not fit: laid along its grain it needs 330 mm of width' in told
    assert "% of that is used, without what does not fit" in told
    wide = CLOTH.replace("140mm", "1400mm") + "lies = 'single'\none_way = true\nshrinkage = '0%'\n"
    job_file.write_text(f"{MAKE}{wide}[cut]\n")
    (line,) = (line for line in make_job(job_file).text.splitlines() if line.startswith("linen: buy"))
    assert "1400 mm wide, laid single; it takes" in line
    job_file.write_text(f"{MAKE}{CLOTH}lies = 'across'\n[cut]\n")
    with pytest.raises(RequestError, match=r"cloth\.lies: can be single or folded"):
        make_job(job_file)
    job_file.write_text(f"{MAKE}[cut]\n")
    assert "buy" not in make_job(job_file).text


@pytest.mark.parametrize("words", ["lies = 'folded'", "one_way = true", "shrinkage = '3%'"])
def test_how_cloth_lies_needs_its_width(tmp_path: Path, words: str) -> None:
    with pytest.raises(RequestError, match=r"line \d+, cloth\..*goes with a width"):
        made(tmp_path, f"{MAKE}[cloth]\n{words}\n")


def test_the_cloth_is_as_thick_as_told_unless_the_limits_tell(tmp_path: Path) -> None:
    for lines, expected in (
        ("", {}),
        (CLOTH, {"thickness": "4"}),
        (f"{CLOTH}[limits]\nturn-radius = 3\n", {"thickness": "4", "turn-radius": "3"}),
        (f"{CLOTH}[limits]\nthickness = '0.3mm'\n", {"thickness": "0.3mm"}),
    ):
        assert read_job(folder_with(tmp_path, f"{MAKE}{lines}")).limits == expected
    # So thick a cloth does not turn scallops so small: the rule measures their radius by it.
    (tmp_path / "waistcoat.svg").write_text(BOXES)
    (tmp_path / "waistcoat.toml").write_text(f"{MAKE}{FACED}{CLOTH}")
    told = make_job(tmp_path / "waistcoat.toml")
    assert (told.ok, "radius-to-thickness" in told.text) == (False, True)


def test_a_cloth_that_no_drawing_can_name_is_told_where_it_stands(tmp_path: Path) -> None:
    with pytest.raises(ScallopkitError) as caught:
        made(tmp_path, f'{MAKE}[cut]\n[cloth]\nname = "a\\u0007b"\n')
    assert str(caught.value).startswith("waistcoat.toml, line 11, cloth.name: cloth 'a\\x07b' holds a character")
