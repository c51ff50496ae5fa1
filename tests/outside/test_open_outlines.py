"""Outlines that others drew: read as a second library reads them, and scalloped or refused for a reason.

Two open icon sets serve, Lucide (ISC and MIT; strokes, many of them open) and Heroicons (MIT; filled outlines of
cubics), as the PyPI packages `lucide` and `heroicons` carry them. An ordinary run reads every 15th icon and fits
scallops to all outlines of those, more than 500; SCALLOPKIT_ALL_OUTLINES=1 in the environment takes every icon (about
twenty minutes).
"""

from __future__ import annotations

import os
import re
import zipfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from io import BytesIO
from itertools import pairwise

import numpy as np
import pytest
from lxml import etree
from svgpathtools import Arc, Path, parse_path
from svgpathtools.svg_to_paths import polygon2pathd, polyline2pathd, rect2pathd

from scallopkit.document.drawing import Drawing
from scallopkit.document.reader import read_drawing
from scallopkit.document.runs import Run
from scallopkit.document.workshop import scallop
from scallopkit.errors import NoFitError, RequestError
from scallopkit.geometry.length import measure
from scallopkit.pattern.piece import Piece
from scallopkit.trim.course import VALLEY
from scallopkit.trim.row import WHOLE

ALL = os.environ.get("SCALLOPKIT_ALL_OUTLINES") == "1"
EVERY = 1 if ALL else 15
# Fitted in parts, so that several workers may share them.
PARTS = 4
# Icons are drawn on a field of 16 to 24 units: at 10 mm a unit they are as large as pieces of clothing.
SCALE = 10.0
DEPTH = 0.3
# Outlines with stretches far shorter than a scallop between long ones, taken in any case.
UNEVEN = (
    "heroicons/micro/chat-bubble-bottom-center-text.svg",
    "heroicons/micro/finger-print.svg",
    "heroicons/solid/inbox.svg",
    "heroicons/solid/photo.svg",
)
_BOX = re.compile(r'viewBox="0 0 (\d+) (\d+)"')
_SIZE = re.compile(r'\s(?:width|height)="\d+"(?=[^>]*viewBox)')

Points = np.ndarray


@dataclass(frozen=True, eq=False)
class Twin:
    """One piece as read here, and the same subpath as the other library reads it."""

    icon: str
    drawing: Drawing
    piece: Piece
    path: Path

    @property
    def name(self) -> str:
        return f"{self.icon} {self.piece.name}"


@dataclass(eq=False)
class Outcome:
    """What became of the outlines."""

    fitted: list[tuple[Twin, Run]] = field(default_factory=list)
    refused: list[tuple[Twin, NoFitError | RequestError]] = field(default_factory=list)


def icons() -> Iterator[tuple[str, bytes]]:
    for package in ("lucide", "heroicons"):
        pytest.importorskip(package, reason=f"the outlines come with the package {package}")
        with zipfile.ZipFile(BytesIO(files(package).joinpath(f"{package}.zip").read_bytes())) as archive:
            names = sorted(name for name in archive.namelist() if name.endswith(".svg"))
            taken = {*names[::EVERY], *(name for name in names if f"{package}/{name}" in UNEVEN)}
            for name in sorted(taken):
                yield f"{package}/{name}", at_size(archive.read(name).decode())


def at_size(text: str) -> bytes:
    """The icon with its page in mm instead of pixels."""
    box = _BOX.search(text)
    assert box is not None
    width, height = (f"{int(side) * SCALE:g}mm" for side in box.groups())
    head = _SIZE.sub("", text[: text.index(">")].replace("\n", " "))
    return (head + f' width="{width}" height="{height}"' + text[text.index(">") :]).encode()


def path_text(element: etree._Element) -> str | None:
    """The element as path data: by the other library's rules, circles from where SVG lets them start.

    SVG 2, https://www.w3.org/TR/SVG2/shapes.html#CircleElement: at the right, then clockwise as seen.
    """
    kind = etree.QName(element).localname
    given = {str(key): str(value) for key, value in element.attrib.items()}
    if kind == "path":
        return given["d"]
    if kind == "line":
        return f"M{given['x1']},{given['y1']} L{given['x2']},{given['y2']}"
    if kind in ("circle", "ellipse"):
        cx, cy = float(given.get("cx", 0.0)), float(given.get("cy", 0.0))
        rx, ry = float(given.get("r", given.get("rx", 0.0))), float(given.get("r", given.get("ry", 0.0)))
        return f"M{cx + rx},{cy} A{rx},{ry} 0 0 1 {cx - rx},{cy} A{rx},{ry} 0 0 1 {cx + rx},{cy} Z"
    makers = {
        "rect": rect2pathd,
        "polyline": polyline2pathd,
        "polygon": polygon2pathd,
    }
    return str(makers[kind](given)) if kind in makers else None


@cache
def twins() -> tuple[tuple[Twin, ...], int]:
    """All pieces with their twins, and how many pieces have none of their own."""
    found: list[Twin] = []
    single = 0
    for name, data in icons():
        drawing = read_drawing(data, name)
        root = etree.fromstring(data)
        if root.find(".//*[@transform]") is not None:
            continue
        rest = list(drawing.pattern.pieces)
        for element in root.iter("{http://www.w3.org/2000/svg}*"):
            text = path_text(element)
            if text is None:
                continue
            kind = etree.QName(element).localname
            first = rest[0].names[-1] if rest else ""
            own = [piece for piece in rest if piece.names[-1].split(".")[0] == first.split(".")[0]]
            subpaths = parse_path(text).continuous_subpaths()
            if not own or not first.startswith(kind):
                raise AssertionError(f"{name}: a {kind} was not read")
            rest = rest[len(own) :]
            if len(own) != len(subpaths):
                # The other library joins subpaths that happen to meet.
                single += len(own)
                continue
            found += [Twin(name, drawing, *pair) for pair in zip(own, subpaths, strict=True)]
        assert not rest, f"{name}: {rest[0].name} is drawn by nothing"
    return tuple(found), single


@pytest.fixture(scope="module", params=range(PARTS))
def outcome(request: pytest.FixtureRequest) -> Outcome:
    """Scallops on every outline of a part, a twelfth of it wide; any other error than a refusal comes through."""
    out = Outcome()
    for twin in twins()[0][request.param :: PARTS]:
        width = measure(twin.piece.curve).length / 12.0
        try:
            run = scallop(twin.drawing, twin.piece.name, width=width, depth=f"{100.0 * DEPTH}%")
        except (NoFitError, RequestError) as refusal:
            out.refused.append((twin, refusal))
        else:
            out.fitted.append((twin, run))
    return out


# ---------------------------------------------------------------- the other library's curves, evaluated here


class Traced:
    """A path of the other library as a function of u, the segment's number plus its parameter."""

    SAMPLES = 128

    def __init__(self, path: Path) -> None:
        self.segments = [segment for segment in path if segment.start != segment.end or abs(segment.length()) > 0.0]
        self.u = np.linspace(0.0, len(self.segments), len(self.segments) * self.SAMPLES + 1)
        steps = np.abs(np.diff(self.at(self.u)))
        self.s = np.concatenate([[0.0], np.cumsum(steps)])

    def at(self, u: Points) -> Points:
        """Points as complex numbers, mm; u goes on beyond the end of a closed path."""
        u = np.where(u > len(self.segments), u - len(self.segments), u)
        number = np.clip(np.floor(u).astype(int), 0, len(self.segments) - 1)
        out = np.empty(u.shape, dtype=complex)
        for k in np.unique(number):
            here = number == k
            out[here] = _segment_at(self.segments[k], u[here] - k)
        return SCALE * out

    def near(self, points: Points, s: Points) -> tuple[Points, Points]:
        """The place nearest to each point among those about the length s, as u, and the distance to it."""
        middle = np.interp(s / self.total, self.s / self.s[-1], self.u)
        reach = 2.0 / self.SAMPLES
        low, high = middle - reach, middle + reach
        low, high = np.maximum(low, 0.0), np.minimum(high, len(self.segments))
        for _ in range(50):
            third = (high - low) / 3.0
            left = np.abs(self.at(low + third) - points) <= np.abs(self.at(high - third) - points)
            low, high = np.where(left, low, low + third), np.where(left, high - third, high)
        u = 0.5 * (low + high)
        return u, np.abs(self.at(u) - points)

    total = 1.0


def _segment_at(segment: object, t: Points) -> Points:
    if isinstance(segment, Arc):
        angle = np.radians(segment.theta + t * segment.delta)
        ellipse = segment.radius.real * np.cos(angle) + 1j * segment.radius.imag * np.sin(angle)
        return np.asarray(segment.center + segment.rot_matrix * ellipse)
    control = list(segment.bpoints())  # type: ignore[attr-defined]  # lines, quadratics and cubics have control points
    points = [np.full(t.shape, p, dtype=complex) for p in control]
    while len(points) > 1:
        points = [a + (b - a) * t for a, b in pairwise(points)]
    return points[0]


def traced(twin: Twin, total: float) -> Traced:
    curve = Traced(twin.path)
    curve.total = total
    return curve


def gap_of(path: Path) -> float:
    """How far, in mm, an outline that is taken as closed ends from its start."""
    return float(SCALE * abs(path.end - path.start))


# ---------------------------------------------------------------- the tests


def test_enough_outlines() -> None:
    found, single = twins()
    assert len(found) >= 500
    assert sum(not twin.piece.closed for twin in found) >= 200
    assert sum(twin.piece.closed for twin in found) >= 100
    assert single <= 0.1 * len(found), "hardly any piece may go without its twin"


def test_read_as_another_library_reads_them() -> None:
    for twin in twins()[0]:
        ours, theirs = measure(twin.piece.curve).length, SCALE * twin.path.length(error=1e-10)
        closing = gap_of(twin.path) if twin.piece.closed else 0.0
        assert closing <= 1e-3, twin.name
        assert abs(ours - theirs) <= 1e-6 * theirs + closing, twin.name
        start, end = complex(*twin.piece.curve[0, 0]), complex(*twin.piece.curve[-1, 3])
        # Sums of written decimals: a few units in the last place of 240.
        assert abs(start - SCALE * twin.path.start) <= 1e-9, twin.name
        assert abs(end - SCALE * twin.path.end) <= 1e-9 + closing, twin.name


def test_most_are_fitted_and_the_others_refused_with_a_reason(outcome: Outcome) -> None:
    fitted, refused = outcome.fitted, outcome.refused
    reasons = Counter(re.sub(r"[\d.]+", "…", str(refusal)).split(":")[0] for _, refusal in refused)
    every = len(fitted) + len(refused)
    print(f"{every} outlines, {len(refused) / every:.1%} refused:", *reasons.most_common(), sep="\n  ")
    for twin, refusal in refused:
        # A sentence that says what is wrong, and after the colon what to do about it.
        assert re.search(r": \S+ \S+", str(refusal)), (twin.name, str(refusal))
    assert len(fitted) >= 0.75 * every, reasons


def test_counts_are_whole(outcome: Outcome) -> None:
    for twin, run in outcome.fitted:
        assert run.fit is not None
        assert all(count == int(count) >= 1 for count in run.fit.counts), twin.name
        assert run.fit.count == sum(run.fit.counts) == len(run.fit.row), twin.name
        assert (run.fit.row.part == WHOLE).all(), twin.name


def test_long_spans_come_near_to_the_width_asked_for(outcome: Outcome) -> None:
    """A stretch of two widths and more takes some count within a quarter; short neighbours must not drag it off."""
    for twin, run in outcome.fitted:
        assert run.fit is not None
        for span, width in zip(run.fit.spans, run.fit.widths, strict=True):
            if span.length >= 2.0 * run.fit.target:
                # A curl's chords are shorter than its length: half the width is far off even there.
                assert 0.5 <= width / run.fit.target <= 1.5, (twin.name, run.fit.counts, width / run.fit.target)


def test_chords_of_a_span_are_equal(outcome: Outcome) -> None:
    for twin, run in outcome.fitted:
        assert run.fit is not None
        row = run.fit.row
        chord = np.hypot(*(row.end - row.start).T)
        for k, width in enumerate(run.fit.widths):
            own = chord[row.span == k]
            assert len(own) == run.fit.counts[k], twin.name
            assert np.abs(own / width - 1.0).max() <= 1e-9, twin.name


def test_rows_have_no_holes(outcome: Outcome) -> None:
    for twin, run in outcome.fitted:
        assert run.fit is not None
        row = run.fit.row
        for k, span in enumerate(run.fit.spans):
            own = np.flatnonzero(row.span == k)
            assert span.start.hold == span.end.hold == VALLEY
            # Steps meet to rounding; ends of spans are the corners themselves.
            assert np.abs(row.start[own[1:]] - row.end[own[:-1]]).max(initial=0.0) <= 1e-9, twin.name
            assert abs(row.s_start[own[0]] - span.begin) <= 1e-9, twin.name
            assert abs(row.s_end[own[-1]] - span.finish) <= 1e-9, twin.name


def test_valleys_lie_on_the_drawn_line_and_steps_end_at_first_crossings(outcome: Outcome) -> None:
    """Both judged on the other library's curve; its lengths only tell where along it to look."""
    for twin, run in outcome.fitted:
        assert run.fit is not None
        row, total = run.fit.row, run.course.measured.length
        curve = traced(twin, total)
        start, end = row.start @ (1.0, 1j), row.end @ (1.0, 1j)
        s0 = run.along_run(row.s_start)
        s1 = s0 + (row.s_end - row.s_start)
        s1 = np.where(s1 > total + 1e-6, s1 - total, s1)
        u0, off0 = curve.near(start, s0)
        u1, off1 = curve.near(end, s1)
        slack = 1e-6 + (gap_of(twin.path) if twin.piece.closed else 0.0)
        assert off0.max() <= slack, twin.name
        assert off1.max() <= slack, twin.name
        u1 = np.where(u1 < u0, u1 + len(curve.segments), u1)
        between = u0[:, None] + (u1 - u0)[:, None] * np.linspace(0.0, 1.0, 200)
        away = np.abs(curve.at(between) - start[:, None])
        # A stray hook of a hair's length at a node may be met before its own end.
        legs = np.diff(run.course.measured.curve, axis=1)
        size = np.hypot(legs[..., 0], legs[..., 1]).sum(axis=1)
        slack += 2.0 * size[size < 0.05].max(initial=0.0)
        # Grazing the circle of the opened dividers is no crossing; a millionth of the width is below any hand.
        assert (away.max(axis=1) <= row.width * (1.0 + 1e-6) + slack).all(), twin.name
