"""The figures in the picture of a run laid flat: what each span measures, and the whole in the title."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from ..errors import RequestError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import Measured, measure
from ..geometry.nearest import nearest
from ..geometry.offset import offset
from ..trim.course import Span
from ..trim.fastenings import PARTS
from .end_to_end import NOTHING, linked
from .flat_paper import Paper
from .flat_view import View
from .lettering import one_line, text_extent
from .runs import Run
from .sheet import opened
from .styles import LEADING

# Widths of one span that differ by more than this share of them are meant to.
_UNEVEN = 1e-6


def measure_spans(paper: Paper, view: View) -> None:
    """Each span's figures outside the scallops, on a measuring line of its own."""
    run = view.run
    if run.fit is None or run.scallops is None:
        return
    flat_loop = run.laid.loop and len(run.fit.spans) == 1 and not view.reopens
    away = view.above + (0.0 if flat_loop else 1.6 * view.size)
    beside = None if flat_loop else _parallel(view, away)
    if beside is not None:
        for span in run.fit.spans:
            for line in _measuring_lines(view, beside, away, _stretches(view, span)):
                label = f"span {one_line(span.start.name)} to {one_line(span.end.name)}"
                paper.stroke("figures", "measure", line, label)
    for i, (span, count, width) in enumerate(zip(run.fit.spans, run.fit.counts, run.fit.widths, strict=True)):
        a, b = max(_stretches(view, span), key=lambda stretch: stretch[1] - stretch[0])
        point, inward = view.at(0.5 * (a + b))
        own = run.scallops.row.width[run.scallops.row.span == i]
        limits = (float(own.min()), float(own.max())) if len(own) else (width, width)
        paper.name(_span_text(view, span, count, limits), point - away * inward, -inward)


def _span_text(view: View, span: Span, count: float, limits: tuple[float, float]) -> list[str]:
    """How many scallops a span has and how wide they are, in lines that are no longer than it where that can be."""
    narrow, wide = limits
    figures = f"{narrow:.2f} mm wide" if wide - narrow < _UNEVEN * wide else f"{narrow:.2f} to {wide:.2f} mm wide"
    length = f"span of {span.length:.2f} mm"
    text = [f"{_scallops(count)}, {figures}", length]
    return text if text_extent(text, view.size)[0] <= span.length else [_scallops(count), figures, length]


def _stretches(view: View, span: Span) -> list[tuple[float, float]]:
    """Where a span lies along the laid edge; in two where it passes over a loop's end."""
    total = view.line.length
    begin, finish = span.begin + view.run.origin, span.finish + view.run.origin
    turns = math.floor(begin / total + 1e-9) if view.run.laid.loop else 0
    begin, finish = begin - turns * total, finish - turns * total
    both = [(begin, min(finish, total)), (0.0, finish - total)]
    return [(a, b) for a, b in both if b - a > NOTHING]


def _parallel(view: View, away: float) -> Measured | None:
    """The line for all measuring lines, outside the scallops; None where there is no room for one."""
    try:
        found = offset(view.line.curve, view.out * away, closed=False, join="round", accuracy=0.1)
    except RequestError:
        return None
    return measure(found[0]) if found else None


def _measuring_lines(
    view: View, beside: Measured, away: float, stretches: Sequence[tuple[float, float]]
) -> list[Array]:
    """A measuring line beside each stretch of a span, with a tick across it where the span begins and where it ends."""
    out = []
    for i, (a, b) in enumerate(stretches):
        first, last = _foot(view, beside, away, a), _foot(view, beside, away, b)
        if last - first > NOTHING:
            line = beside.part(first, last)
            before = [_tick(view, line[0, 0], a)] if i == 0 else []
            after = [_tick(view, line[-1, 3], b)] if i + 1 == len(stretches) else []
            out.append(linked([*before, line, *after], closed=False))
    return out


def _foot(view: View, beside: Measured, away: float, s: float) -> float:
    """The length along the measuring line that lies beside a length of the edge."""
    if s < NOTHING or s > view.line.length - NOTHING:
        return 0.0 if s < NOTHING else beside.length
    point, inward = view.at(s)
    found = nearest(beside.curve, (point - away * inward)[None])
    return float(beside.lengths(found.segment, found.t)[0])


def _tick(view: View, at: Array, s: float) -> Array:
    """A stroke across a measuring line, there and back to it."""
    half = 0.7 * view.size * view.at(s)[1]
    return cubics.lines([at, at + half, at - half, at])


def _scallops(count: float) -> str:
    return f"{count:g} scallop{'' if count == 1 else 's'}"


def write_title(paper: Paper, run: Run) -> None:
    """The run's name and figures above everything."""
    total = run.laid.line.measured.length
    figures = [f"{total:.2f} mm", *([_scallops(run.count)] if run.fit is not None else _trim_counts(run))]
    lines = [f"{one_line(run.name)}: {', '.join(figures)}, laid flat as sewn"]
    copies = opened(run.laid)
    if copies > 1:
        where = "its folds" if all(run.laid.folds) else "the fold"
        opened_count = f"{_scallops(run.count * copies)} on " if run.fit is not None else ""
        lines.append(f"opened at {where}: {opened_count}{total * copies:.2f} mm")
    (left, top), _ = paper.extent().tolist()
    for i, line in enumerate(lines):
        y = top - (LEADING * (len(lines) - i) + 1.0) * paper.size
        paper.write([line], np.array([left, y]), bold=i == 0, anchor="start")


def _trim_counts(run: Run) -> list[str]:
    rows = [(sum(len(row) for row in run.eyelets if row.size.part == part), part, f"{part}s") for part in PARTS]
    words = (*rows, (sum(map(len, run.notches)), "notch", "notches"))
    return [f"{n} {one if n == 1 else many}" for n, one, many in words if n]
