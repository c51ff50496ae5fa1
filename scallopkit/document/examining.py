"""Everything that a trimmed drawing is checked for: that it meets once sewn, is cut as it is drawn, and can be sewn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import DrawingError, RequestError, ScallopkitError
from .checking import check
from .cut_checks import cut_findings
from .drawing import Drawing
from .finding import Finding
from .kept import LIMITS, kept_limits, kept_matches, kept_pieces, kept_straps, run_groups
from .reader import read_drawing
from .row_checks import row_findings
from .runs import Run
from .sewability import limits_of, sewability
from .workshop import made_runs

if TYPE_CHECKING:
    from .cut_pieces import MadePiece


def examine(
    source: bytes,
    name: str,
    limits: Mapping[str, str] | None = None,
    made: tuple[Drawing, Sequence[Run], Sequence[MadePiece]] | None = None,
) -> tuple[Finding, ...]:
    """What is found of the runs and the cut pieces in a written drawing.

    Args:
        source: the drawing's bytes.
        name: the file's name, for messages.
        limits: limits of the rules of sewing that were set, as texts by their codes.
        made: the drawing on which the runs and the cut pieces in it were made just now, and these; else they are made
            again from their recipes.

    Raises:
        DrawingError: the drawing can't be read.
        RequestError: it holds neither run nor cut piece nor strap nor match, or a limit can't be read.
    """
    set_limits = limits_of(limits or {})
    drawing = read_drawing(source, name)
    no_runs = bool(kept_pieces(source) or kept_straps(source) or kept_matches(source)) and not run_groups(source)
    out = [] if no_runs else [*check(source, name)]
    pieces: Sequence[MadePiece] | None = None
    try:
        if made is not None and _same(drawing, made[0]):
            drawing, runs, pieces = replace(drawing, pattern=made[0].pattern), [*made[1]], made[2]
        else:
            runs = made_runs(drawing)
    except ScallopkitError:
        # What hinders that is among the findings.
        return tuple(out)
    out += cut_findings(drawing, runs, pieces)
    for run in runs:
        out += sewability(drawing, run, set_limits)
    out += row_findings(drawing, runs, set_limits)
    return tuple(out)


def job_limits(drawing: Drawing) -> dict[str, str]:
    """The limits that a drawing keeps of the job that made it, as texts by their codes; nothing where none did.

    Raises:
        DrawingError: one of them can't be read.
    """
    try:
        limits = kept_limits(drawing.source)
        limits_of(limits)
    except ScallopkitError:
        cure = f"run `make` again, or delete the attribute {LIMITS} of the layer scallopkit"
        raise DrawingError(f"the limits that {drawing.name} keeps of its job can't be read: {cure}") from None
    return limits


def limits_line(kept: Mapping[str, str], given: Mapping[str, str]) -> str:
    """Which limits are those of the job that made a drawing; empty where none are.

    Args:
        kept: limits that the drawing keeps of its job.
        given: limits that go before them.
    """
    told = ", ".join(f"{code} {text}" for code, text in kept.items() if code not in given)
    return f"limits as the drawing's job has set them: {told}" if told else ""


def _same(written: Drawing, before: Drawing) -> bool:
    """Whether the outlines of a written drawing are, to the last figure, those that it was made on."""
    pieces = written.pattern.pieces, before.pattern.pieces
    return (
        np.array_equal(written.to_mm, before.to_mm)
        and written.pattern.marks == before.pattern.marks
        and len(pieces[0]) == len(pieces[1])
        and all(a.name == b.name and np.array_equal(a.curve, b.curve) for a, b in zip(*pieces, strict=True))
    )


def limit_words(texts: Sequence[str]) -> dict[str, str]:
    """Limits written CODE=VALUE.

    Raises:
        RequestError: one is not.
    """
    out = {}
    for text in texts:
        code, equals, value = text.partition("=")
        if not equals or not code.strip() or not value.strip():
            raise RequestError(f"--limit is written CODE=VALUE, as in turn-radius=5mm, not {text!r}")
        out[code.strip()] = value.strip()
    return out
