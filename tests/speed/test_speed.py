"""How fast, as ratios to other work timed in the same run, so that the bounds hold on any machine.

The ordinary run leaves this folder out. Run it with

    pytest tests/speed                     # bounds asserted, the table of timings after them
    pytest tests/speed --benchmark-disable # bounds only
    pytest tests/speed -s                  # with the ratios as they come out

Every figure is the best, for whole processes the median, of several rounds that take turns with their rival's.
"""

from __future__ import annotations

import math
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from svgpathtools import CubicBezier
from svgpathtools import Path as OtherPath

from scallopkit.demo import WAISTCOAT_JOB
from scallopkit.demo_waistcoat import ARMHOLE, ARMHOLE_JOINS, HEM, HEM_JOINS, waistcoat
from scallopkit.document.cut_pieces import made_pieces
from scallopkit.document.drawing import Drawing
from scallopkit.document.numbers import path_text
from scallopkit.document.paper import PaperWish, paper
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import (
    EdgeWords,
    FacingWords,
    FinishWords,
    JoinWords,
    PieceWords,
    Recipe,
    ScallopWords,
    StretchWords,
)
from scallopkit.document.runs import make_run
from scallopkit.document.workshop import scallop, with_runs
from scallopkit.editors.shipped import inkscape_files
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.dividers import chords_between, equal_chords, solve
from scallopkit.geometry.length import Measured, measure
from scallopkit.trim.course import CREST, VALLEY, Course, Stop, Wish
from scallopkit.trim.fit import fit
from scallopkit.trim.shape import Shape

NECKLINE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">'
    '<path id="neck" fill="none" stroke="black" d="M20 40C60 180 120 220 180 222 240 224 310 190 350 120"/></svg>'
)


def edge(segments: int) -> Array:
    """A long, smooth, waving edge of that many cubics, some 30 mm each."""
    x = np.linspace(0.0, 30.0 * segments, segments + 1)
    place = np.stack([x, 60.0 * np.sin(x / 140.0)], axis=1)
    slope = np.stack([np.ones_like(x), 60.0 / 140.0 * np.cos(x / 140.0)], axis=1) * 10.0
    return np.stack([place[:-1], place[:-1] + slope[:-1], place[1:] - slope[1:], place[1:]], axis=1)


def best(*works: Callable[[], object], rounds: int = 5) -> list[float]:
    """Shortest time of each piece of work in seconds; rounds take turns, so that a busy spell hits all alike."""
    times: list[list[float]] = [[] for _ in works]
    for _ in range(rounds):
        for own, work in zip(times, works, strict=True):
            begin = time.perf_counter()
            work()
            own.append(time.perf_counter() - begin)
    return [min(own) for own in times]


def tell(what: str, ratio: float, bound: str) -> None:
    print(f"\n{what}: {ratio:.3g} ({bound})")


def record(benchmark: BenchmarkFixture, work: Callable[[], object], rounds: int) -> None:
    """A row for the table of timings, of few rounds."""
    benchmark.pedantic(work, rounds=rounds)  # type: ignore[no-untyped-call]  # it has no annotations


# ---------------------------------------------------------------- against another library


def test_a_thousand_equal_chords(benchmark: BenchmarkFixture) -> None:
    """Against the other library's placing of as many points by length, which has no chords to solve for.

    It must be a hundred times faster: that is what makes a row be fitted at every count a span may take, while
    someone waits.
    """
    curve = edge(200)

    def ours() -> object:
        steps = equal_chords(measure(curve), 1000)
        assert steps is not None
        return steps

    other = OtherPath(*(CubicBezier(*(complex(*p) for p in segment)) for segment in curve))
    total = other.length()
    # Every 50th of the thousand places; all of them would only take 50 times as long.
    places = np.linspace(0.0, total, 1001)[25::50]

    def theirs() -> object:
        return [other.point(other.ilength(s)) for s in places]

    fast, slow = best(ours, theirs, rounds=3)
    ratio = slow * 1000.0 / len(places) / fast
    tell("1,000 places, the other library's time over ours", ratio, "at least 100")
    benchmark(ours)
    assert ratio >= 100.0


def test_lengths_of_a_thousand_places(benchmark: BenchmarkFixture) -> None:
    """Points at equal lengths, the like for like.

    A hundred times again: two Newton steps on a polynomial for all places at once, against a search by quadratures.
    """
    curve = edge(200)
    other = OtherPath(*(CubicBezier(*(complex(*p) for p in segment)) for segment in curve))
    total = other.length()
    places = np.linspace(0.0, total, 1001)[25::50]

    def ours() -> Array:
        m = measure(curve)
        return m.points(np.linspace(0.0, m.length, 1001))

    def theirs() -> list[complex]:
        return [other.point(other.ilength(s)) for s in places]

    assert np.abs(ours()[25::50] @ (1.0, 1j) - np.array(theirs())).max() < 1e-6
    fast, slow = best(ours, theirs, rounds=3)
    ratio = slow * 1000.0 / len(places) / fast
    tell("1,000 points at equal lengths, the other library's time over ours", ratio, "at least 100")
    benchmark(ours)
    assert ratio >= 100.0


# ---------------------------------------------------------------- growth


def test_cost_of_a_step_from_a_thousand_to_a_hundred_thousand(benchmark: BenchmarkFixture) -> None:
    """All is done in whole arrays, so a step may cost little more on a long edge: caches are left behind, no more.

    Four times as much is allowed.
    """
    short, long = edge(200), edge(20_000)

    def few() -> None:
        assert equal_chords(measure(short), 1_000) is not None

    def many() -> None:
        assert equal_chords(measure(long), 100_000) is not None

    small, large = best(few, many, rounds=3)
    ratio = (large / 100_000) / (small / 1_000)
    tell("cost a step, 100,000 over 1,000", ratio, "at most 4")
    record(benchmark, many, 1)
    assert ratio <= 4.0


def test_cost_of_a_scallop_from_a_thousand_to_ten_thousand(benchmark: BenchmarkFixture) -> None:
    """The whole way from a drawing as read to one as written: no part of it may grow faster than the row.

    Twice the cost a scallop is allowed, for memory that no longer fits the caches.
    """
    drawings = []
    for segments in (200, 2_000):
        curve = edge(segments)
        size = f'width="{30 * segments + 10}mm" height="200mm" viewBox="0 -100 {30 * segments + 10} 200"'
        text = f'<path id="hem" fill="none" stroke="black" d="{path_text(curve, 6, False)}"/>'
        body = f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{text}</svg>'
        drawings.append(read_drawing(body.encode(), "hem.svg"))

    def work(i: int, count: int) -> bytes:
        return with_runs(drawings[i], [scallop(drawings[i], "hem", count=count, depth="30%")])

    small, large = best(lambda: work(0, 1_000), lambda: work(1, 10_000), rounds=3)
    ratio = (large / 10_000) / (small / 1_000)
    tell("cost a scallop from drawing to drawing, 10,000 over 1,000", ratio, "at most 2")
    record(benchmark, lambda: work(0, 1_000), 3)
    assert ratio <= 2.0


# ---------------------------------------------------------------- many holds


def holds(m: Measured, hold: str, least: float) -> tuple[Stop, ...]:
    """Two hundred spans of uneven lengths, from `least` to 2 - `least` of their mean."""
    sizes = np.random.default_rng(4).uniform(least, 2.0 - least, 200)
    at = np.cumsum(sizes)[:-1] / sizes.sum() * m.length
    inner = [Stop(f"hold {i}", float(s), hold) for i, s in enumerate(at)]
    return (Stop("start", 0.0, VALLEY), *inner, Stop("end", m.length, VALLEY))


@pytest.mark.parametrize(
    ("waves", "hold", "least", "asked"),
    [
        (60.0, VALLEY, 0.3, {"width": 25.0}),
        (60.0, VALLEY, 0.3, {"count": 250.0}),
        (0.0, VALLEY, 0.3, {"width": 25.0}),
        # All spans are one group, with two hundred widths that hang together.
        (60.0, CREST, 0.8, {"width": 10.0}),
    ],
    ids=["width", "count", "straight", "crests"],
)
def test_two_hundred_spans(
    benchmark: BenchmarkFixture, waves: float, hold: str, least: float, asked: dict[str, float]
) -> None:
    """A whole fit with its alternatives, against stepping off each span once and by itself at the count it got.

    The choice looks at some five counts a span, and the fit steps each off once more: six such rounds if done one by
    one. Many spans at a time it is three; 4.5 are allowed.
    """
    m = measure(edge(200) * np.array([1.0, waves / 60.0]))
    stops = holds(m, hold, least)
    run, wish = Course(m, False, 1), Wish(Shape("arc", "share", 0.3), **asked)  # type: ignore[arg-type]
    found = fit(run, stops, wish)
    assert len(found.alternatives) == 2
    chains = [
        chords_between(m, np.array([span.begin, span.finish]), [np.ones(math.ceil(n))])
        for span, n in zip(found.spans, found.counts, strict=True)
    ]

    def each_alone() -> None:
        assert all(solve(m, chain, thorough=True) is not None for chain in chains)

    whole, once = best(lambda: fit(run, stops, wish), each_alone, rounds=3)
    tell("200 spans fitted over each stepped off once", whole / once, "at most 4.5")
    record(benchmark, lambda: fit(run, stops, wish), 3)
    assert whole / once <= 4.5


# ---------------------------------------------------------------- a whole garment


COLLAR = '<path id="collar" fill="none" stroke="black" d="M 40,900 C 140,960 260,960 360,900 L 372,950 H 28 Z"/>'


def garment() -> tuple[Drawing, list[Recipe]]:
    """The demo's waistcoat with a collar: six scalloped edges and 300 scallops, all faced."""
    finish = FinishWords(cut="scalloped:3mm", clip_short="1mm")
    asked: list[tuple[str, tuple[str, ...], tuple[str, ...], str, str]] = [
        ("hem", HEM, HEM_JOINS, "6mm", "fold:pass"),
        ("armhole", ARMHOLE, ARMHOLE_JOINS, "5.5mm", ""),
        ("neck", ("front:c10..c11",), (), "6mm", ""),
        ("back neck", ("back:c7..c8",), (), "5mm", ""),
        ("front edge", ("front:c11..c0",), (), "6mm", ""),
        ("collar", ("collar:c2..c3",), (), "7mm", ""),
    ]
    recipes = [
        Recipe(
            name,
            EdgeWords(start=start, along=edges[0] if len(edges) == 1 else ""),
            ScallopWords(width=width, depth="35%"),
            edges=tuple(StretchWords(along) for along in edges) if len(edges) > 1 else (),
            joins=tuple(JoinWords(kind) for kind in joins),
            finish=finish,
            facings=(FacingWords(depth="25mm" if name == "collar" else "40mm"),),
        )
        for name, edges, joins, width, start in asked
    ]
    return read_drawing(waistcoat().replace("</svg>", COLLAR + "</svg>").encode(), "waistcoat.svg"), recipes


def test_a_whole_garment(benchmark: BenchmarkFixture) -> None:
    """Finishes, facings, cutting lines and the writing of all, against fitting the same scallops alone.

    Wanted is a second in all. It is some five and a half times the fitting, and 7 are allowed, so that it gets no
    slower unseen.
    """
    drawing, recipes = garment()
    bare = [replace(recipe, finish=None, facings=()) for recipe in recipes]

    def all_of_it() -> None:
        runs = [make_run(drawing, recipe) for recipe in recipes]
        with_runs(drawing, runs, made_pieces(drawing, [PieceWords(name) for name in ("back", "front", "collar")], runs))

    whole, fitted = best(all_of_it, lambda: [make_run(drawing, recipe) for recipe in bare], rounds=3)
    tell(f"a garment of 300 scallops in {whole:.2f} s, over fitting them", whole / fitted, "at most 7")
    record(benchmark, all_of_it, 3)
    assert whole / fitted <= 7.0


# ---------------------------------------------------------------- whole processes


def medians(*commands: list[str], rounds: int = 9, env: dict[str, str] | None = None) -> list[float]:
    """Median seconds of each command as a fresh process; the first round warms the disk and does not count."""
    times: list[list[float]] = [[] for _ in commands]
    for number in range(rounds + 1):
        for own, command in zip(times, commands, strict=True):
            begin = time.perf_counter()
            subprocess.run(command, check=True, capture_output=True, env=env)
            if number:
                own.append(time.perf_counter() - begin)
    return [statistics.median(own) for own in times]


IMPORTS = [sys.executable, "-c", "import numpy, lxml.etree"]


def test_a_fresh_process_on_a_neckline(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    """Read, fit, write, in a process of its own, against one that only imports numpy and lxml.

    Under three times that, an editor's menu answers at once; a heavy library imported on the way would show here.
    """
    drawing, out = tmp_path / "neck.svg", tmp_path / "out.svg"
    drawing.write_text(NECKLINE)
    command = [sys.executable, "-m", "scallopkit", "scallop", str(drawing), "--width", "30mm", "-o", str(out)]
    base, whole = medians(IMPORTS, command)
    assert out.exists()
    ratio = whole / base
    tell("scallop on a neckline over importing numpy and lxml", ratio, "under 3")
    record(benchmark, lambda: subprocess.run(command, check=True, capture_output=True), 3)
    assert ratio < 3.0


def test_help(benchmark: BenchmarkFixture) -> None:
    """The help needs neither numpy nor lxml, only the library that reads the command line."""
    command = [sys.executable, "-m", "scallopkit", "--help"]
    base, whole = medians(IMPORTS, command)
    ratio = whole / base
    tell("--help over importing numpy and lxml", ratio, "under 2.5")
    record(benchmark, lambda: subprocess.run(command, check=True, capture_output=True), 3)
    assert ratio < 2.5


# What a whole job can't do without: what tables, numbers, XML, pages and machines take.
LIBRARIES = "import numpy, lxml.etree, typer, reportlab.pdfgen.canvas, ezdxf"


def test_a_whole_job(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    """Drawing, report, pictures, pages, the machine's file and the make sheet of a waistcoat, in a fresh process.

    Against a process that only loads the libraries for them; both have their compiled files.
    """
    (tmp_path / "waistcoat.svg").write_text(waistcoat(), encoding="utf-8")
    (tmp_path / "waistcoat.toml").write_text(WAISTCOAT_JOB, encoding="utf-8")
    env = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    command = [sys.executable, "-m", "scallopkit", "make", str(tmp_path / "waistcoat.toml")]
    libraries, whole = medians([sys.executable, "-c", LIBRARIES], command, rounds=5, env=env)
    ratio = whole / libraries
    tell("a whole job over loading its libraries", ratio, "under 8")
    record(benchmark, lambda: subprocess.run(command, check=True, capture_output=True, env=env), 3)
    assert (tmp_path / "waistcoat-scalloped-sheet.html").exists()
    assert ratio < 8.0


def cloth_of(rows: int, columns: int) -> Drawing:
    """Squares with scalloped lower edges, 190 mm by 269 mm apart, so that each has about a page of A4 of its own."""
    body = "".join(
        f'<path id="p{r}-{c}" fill="none" stroke="black" d="M{5 + 190 * c} {5 + 269 * r}h180v240h-180z"/>'
        for r in range(rows)
        for c in range(columns)
    )
    wide, high = 190 * columns + 10, 269 * rows + 10
    text = f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}">'
    drawing = read_drawing(f"{text}{body}</svg>".encode(), "squares.svg")
    runs = [scallop(drawing, f"p{r}-{c}:c2..c3", width="12mm") for r in range(rows) for c in range(columns)]
    return read_drawing(with_runs(drawing, runs), "squares.svg")


def test_the_cost_of_a_page_from_ten_to_a_hundred(benchmark: BenchmarkFixture) -> None:
    """A page of many costs about what one of few does: no page looks at more than it shows for long."""
    few, many = cloth_of(2, 5), cloth_of(10, 10)
    pages = [len(paper(drawing, PaperWish(way="upright")).tiling.tiles) for drawing in (few, many)]
    assert pages[0] <= 20
    assert pages[1] >= 100
    short, long = best(lambda: paper(few, PaperWish(way="upright")), lambda: paper(many, PaperWish(way="upright")))
    ratio = (long / pages[1]) / (short / pages[0])
    tell(f"a page of {pages[1]} over a page of {pages[0]}", ratio, "at most 1.5")
    record(benchmark, lambda: paper(many, PaperWish(way="upright")), 3)
    assert ratio <= 1.5


def one_cloth() -> Drawing:
    """A cloth 1980 mm by 2580 mm with 304 scallops, and inside of it straight lines that come by on every page."""
    across = "".join(f"M20 {y}H1980" for y in range(150, 2580, 250))
    body = f'<path id="cloth" fill="none" stroke="black" d="M10 10h1980v2580h-1980z"/><path d="{across}"/>'
    text = '<svg xmlns="http://www.w3.org/2000/svg" width="2000mm" height="2600mm" viewBox="0 0 2000 2600">'
    drawing = read_drawing(f"{text}{body}</svg>".encode(), "cloth.svg")
    return read_drawing(with_runs(drawing, [scallop(drawing, "cloth", width="30mm")]), "cloth.svg")


def test_the_cost_of_one_piece_on_a_hundred_pages(benchmark: BenchmarkFixture) -> None:
    """No page takes more of a line than it shows: one piece costs less than a hundred with as many pages.

    It has a fifth of their scallops. Where each page wrote all of the piece's line it took several times as long.
    """
    pieces, piece = cloth_of(10, 10), one_cloth()
    pages = [len(paper(drawing, PaperWish(way="upright")).tiling.tiles) for drawing in (pieces, piece)]
    assert min(pages) >= 100
    peers, whole = best(lambda: paper(pieces, PaperWish(way="upright")), lambda: paper(piece, PaperWish(way="upright")))
    ratio = (whole / pages[1]) / (peers / pages[0])
    tell(f"a page of one piece on {pages[1]} over one of {pages[0]} with a piece each", ratio, "at most 1")
    record(benchmark, lambda: paper(piece, PaperWish(way="upright")), 3)
    assert ratio <= 1.0


# What an effect can't do without: it starts, loads what numbers and XML take, and copies the drawing.
COPY = "import sys, numpy, lxml.etree; sys.stdout.buffer.write(open(sys.argv[-1], 'rb').read())"
# A neckline that takes 40 scallops at this width.
FORTY = "11.7"


def gores(count: int) -> str:
    """A skirt of that many gores, each turned its own way on the sheet, with a rounded hem from node 3 to node 2."""
    outline = "M 0,0 H 60 L 110,300 C 50,325 10,325 -50,300 z"
    body = "".join(
        f'<path id="gore{k}" fill="none" stroke="black" transform="translate({150 + 250 * k},60) rotate({7 * k - 14})" '
        f'd="{outline}"/>'
        for k in range(count)
    )
    size = 'width="1400mm" height="500mm" viewBox="0 0 1400 500"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{body}</svg>'


@pytest.fixture(scope="module")
def extension(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the effects as an editor holds it."""
    folder = tmp_path_factory.mktemp("extensions")
    for name, data in inkscape_files().items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    return folder


def as_the_host_starts() -> tuple[str, dict[str, str]]:
    """The Python that editors of this system take, if it has what is needed, and an environment free of our settings.

    One that says not to keep compiled files would have all of ours compiled at every preview.
    """
    env = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "VIRTUAL_ENV"))}
    ask = ["/usr/bin/python3", "-c", "import sys, numpy, lxml.etree; assert sys.version_info >= (3, 10)"]
    usable = Path(ask[0]).exists() and subprocess.run(ask, env=env, check=False, capture_output=True).returncode == 0
    return ask[0] if usable else sys.executable, env


def previewed(
    extension: Path, drawing: Path, effect: str, options: list[str], benchmark: BenchmarkFixture
) -> tuple[float, str]:
    """Time of a whole preview over that of a mere copy, and the drawing that comes of it."""
    python, env = as_the_host_starts()
    command = [python, str(extension / f"{effect}.py"), *options, str(drawing)]
    copy, whole = medians([python, "-c", COPY, str(drawing)], command, rounds=15, env=env)
    record(benchmark, lambda: subprocess.run(command, check=True, capture_output=True, env=env), 3)
    done = subprocess.run(command, check=True, capture_output=True, env=env, text=True)
    assert done.stderr == ""
    return whole / copy, done.stdout


def test_the_preview_of_a_neckline(benchmark: BenchmarkFixture, extension: Path, tmp_path: Path) -> None:
    """Forty scallops from the start of the process to the drawing, against a script that only copies it."""
    drawing = tmp_path / "neck.svg"
    drawing.write_text(NECKLINE)
    ratio, made = previewed(extension, drawing, "scallop", ["--id=neck", f"--width={FORTY}"], benchmark)
    assert "40 scallops" in made
    tell("preview of 40 scallops over copying the drawing", ratio, "under 2.5")
    assert ratio < 2.5


def test_the_preview_of_five_edges_sewn_together(benchmark: BenchmarkFixture, extension: Path, tmp_path: Path) -> None:
    """The hem of five gores, each turned its own way, against a script that only copies the drawing."""
    drawing = tmp_path / "skirt.svg"
    drawing.write_text(gores(5))
    select = [f"--id=gore{k}" for k in range(5)]
    select += [f"--selected-nodes=gore{k}:0:{node}" for k in range(5) for node in (3, 2)]
    ratio, made = previewed(extension, drawing, "sew", [*select, "--width=20", "--depth=30", "--name=hem"], benchmark)
    assert made.count('data-role="stitching"') == 5
    tell("preview of five edges sewn together over copying the drawing", ratio, "under 4")
    assert ratio < 4.0


@pytest.mark.parametrize("count", [40, 1_000])
def test_the_guard_is_a_small_part(benchmark: BenchmarkFixture, count: int) -> None:
    """Solving with its proof against building the lengths alone: the proof must not cost more than the work.

    Both together may take twelve times the build; it is a few vectorised passes over as many nodes.
    """
    curve = edge(max(3, count // 5))
    m = measure(curve)

    def solve() -> object:
        return equal_chords(m, count)

    build, solved = best(lambda: measure(curve), solve, rounds=9)
    ratio = solved / build
    tell(f"{count} chords solved and proved over building the lengths", ratio, "at most 12")
    benchmark(solve)
    assert math.isfinite(ratio)
    assert ratio <= 12.0
