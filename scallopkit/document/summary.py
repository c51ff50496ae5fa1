"""What was made, as tables for people."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ..errors import counted
from ..pattern.edge import find_edge
from ..trim.fit import Fit
from .altering import alterations, altered
from .drawing import Drawing
from .flattening import bare_name
from .kept import kept_recipes
from .recipe import RAW, Recipe
from .report import join_entry, joints_of
from .runs import Run
from .tables import table

if TYPE_CHECKING:
    from .bought_trims import MadeTrim
    from .finishing import Finish


def run_tables(drawing: Drawing, run: Run, terminal: bool) -> str:
    """The spans, the alternatives, the joins, the alterations and the trims of a run."""
    parts = [_run_line(run)]
    if run.fit is not None:
        parts += _fit_tables(run.fit, terminal)
    if run.ratio is not None:
        parts.append(f"{run.ratio.reached:.4g} times as wide as {run.ratio.run} ({run.ratio.asked:g} asked for)")
    if run.laid.joints:
        parts.append(_join_table(run, terminal))
    if altered(run):
        parts.append(_alteration_table(drawing, run, terminal))
    if run.trim is not None:
        parts += _trim_lines(run.trim, terminal)
    return _parted([*parts, *detail_lines(run)], terminal)


def detail_lines(run: Run) -> list[str]:
    """What else a run has, each in a line: rows, notches, finish, facings, cards and lacing."""
    lines = _row_lines(run) if run.eyelets else []
    lines += [
        f"{counted(len(placed), 'notch', 'notches')} ({placed.kind}), {placed.length:g} mm" for placed in run.notches
    ]
    if run.finish is not None:
        lines += _finish_lines(run, run.finish)
    if run.facings or run.templates:
        lines += _beside_lines(run)
    if run.lacing is not None:
        from .lacing import lacing_lines

        lines += lacing_lines(run.lacing)
    return lines


def caution_lines(runs: Sequence[Run], more: Sequence[str] = ()) -> str:
    """The cautions of runs, and further ones, each told once; empty where there are none."""
    told = dict.fromkeys([*(caution for run in runs for caution in run.cautions), *more])
    return "\n".join(f"caution: {caution}" for caution in told)


def trim_tables(run: Run, terminal: bool) -> str:
    """What a bought trim adds to a run, and the joins that it goes over."""
    joins = [_join_table(run, terminal)] if run.laid.joints else []
    bought = _trim_lines(run.trim, terminal) if run.trim is not None else []
    return _parted([_run_line(run), *joins, *bought], terminal)


def facing_tables(drawing: Drawing, run: Run, kind: str, terminal: bool) -> str:
    """What a facing changes of a run: its facings of that kind, and its finish where it had none."""
    # Loaded only where there are facings.
    from .facings import SHAPED, facing_lines

    before = kept_recipes(drawing.source).get(run.name)
    parts = [_run_line(run)]
    if run.finish is not None and (before is None or before.finish is None):
        parts += _finish_lines(run, run.finish)
    return _parted([*parts, *facing_lines([one for one in run.facings if one.kind == (kind or SHAPED)])], terminal)


def runs_on(drawing: Drawing, pieces: Sequence[str]) -> str:
    """A line for each run that the drawing holds on one of the pieces; empty where there are none."""
    lines = []
    for name, recipe in kept_recipes(drawing.source).items():
        edges = [find_edge(drawing.pattern, bare_name(one.along) or None) for one in recipe.stretches]
        if any(edge.piece.name in pieces for edge in edges):
            lines.append(_kept_line(name, recipe))
    return "\n".join(lines)


def _kept_line(name: str, recipe: Recipe) -> str:
    """A run as it was when it was made."""
    length, count = (recipe.made.get(key) for key in ("length_mm", "count"))
    if not isinstance(length, float | int) or not isinstance(count, float | int):
        return f"run {name}"
    return _line(name, length, count)


def _run_line(run: Run) -> str:
    spread = f", spread {100.0 * run.fit.spread:.2f}%" if run.fit is not None and len(run.fit.spans) > 1 else ""
    return _line(run.name, run.laid.parts[-1].end, run.count) + spread


def _line(name: str, length: float, count: float) -> str:
    return f"run {name}: {length:.2f} mm" + (f", {counted(count, 'scallop', 'scallops')}" if count else "")


def _parted(parts: Sequence[str], terminal: bool) -> str:
    return ("\n\n" if terminal else "\n").join(parts)


def _join_table(run: Run, terminal: bool) -> str:
    rows = []
    for joint in joints_of(run):
        entry = join_entry(run, joint)
        # What rounds to nothing has no sign.
        turn = entry["angle_deg"] if abs(entry["angle_deg"]) >= 0.005 else 0.0
        rows.append(
            (entry["kind"], entry["at"], f"{entry['s_mm']:.2f}", entry["hold"], f"{turn:.2f}", f"{joint.true.dip:.2f}")
        )
    return table(("join", "at", "along mm", "hold", "turn deg", "off smooth mm"), rows, terminal=terminal)


def _alteration_table(drawing: Drawing, run: Run, terminal: bool) -> str:
    width = run.fit.target if run.fit is not None else 0.0
    rows = [
        (made.at, made.piece, "let out" if made.add > 0.0 else "take in", f"{abs(made.add):.2f}")
        for made in alterations(drawing, run)
    ]
    if not rows:
        return f"all scallops are {width:.4g} mm wide, or no seam can make them so"
    return table((f"for {width:.4g} mm everywhere, at", "piece", "do", "mm"), rows, terminal=terminal)


def _row_lines(run: Run) -> list[str]:
    # Loaded only where there are any.
    from .row_figures import row_line

    return [row_line(placed) for placed in run.eyelets]


def _trim_lines(made: MadeTrim, terminal: bool) -> list[str]:
    # Loaded only where there is one.
    from .bought_trims import trim_lines

    return trim_lines(made, terminal)


def _beside_lines(run: Run) -> list[str]:
    # Loaded only where there are facings or cards.
    from .facings import facing_lines
    from .templates import template_lines

    return [*facing_lines(run.facings), *(line for card in run.templates for line in template_lines(card))]


def _finish_lines(run: Run, finish: Finish) -> list[str]:
    lines = [f"finish {finish.kind}: cut on the {'line' if finish.kind == RAW else 'stitching line'}"]
    if finish.clipping is not None:
        clips, wedges = len(finish.clipping.clips), len(finish.clipping.wedges)
        beyond = "the crests" if finish.cut.beyond_crests else "the stitching line"
        lines = [
            f"finish {finish.kind}: cut {finish.cut.kind}, {finish.cut.distance:g} mm beyond {beyond}; at "
            f"{finish.trimmed:g} mm {counted(clips, 'clip', 'clips')} and {counted(wedges, 'wedge', 'wedges')} of "
            f"{finish.clipping.taken_out:.1f} mm together"
        ]
        trims = ", ".join(f"{layer.name} to {layer.allowance:g} mm" for layer in finish.grading)
        lines.append(f"trim the layers of the allowance: {trims}")
    for one in finish.stitches.scallops:
        shown = (
            counted(len(one.scallops), "scallop", "scallops") if len(finish.stitches.scallops) > 1 else "each scallop"
        )
        lines.append(
            f"stitches: {one.per_scallop} of {one.length_mm:.2f} mm round {shown}, and one of {one.across_mm:g} mm "
            "across each valley"
        )
    return lines


def _percent(share: float) -> str:
    """A share in percent with its sign; what rounds to nothing has none."""
    return f"{100.0 * share:+.2f}%" if abs(share) >= 5e-5 else "0.00%"


def _fit_tables(fitted: Fit, terminal: bool) -> list[str]:
    spans = [
        (
            f"{span.start.name} ({span.start.hold})",
            f"{span.end.name} ({span.end.hold})",
            f"{span.length:.2f}",
            f"{count:g}",
            f"{width:.3f}",
            _percent(width / fitted.target - 1.0),
        )
        for span, count, width in zip(fitted.spans, fitted.counts, fitted.widths, strict=True)
    ]
    out = [table(("from", "to", "length mm", "scallops", "width mm", "against target"), spans, terminal=terminal)]
    if fitted.alternatives:
        others = [(f"{a.count:g}", f"{a.width:.3f}", _percent(a.change)) for a in fitted.alternatives]
        out.append(table(("or scallops", "width mm", "against target"), others, terminal=terminal))
    return out
