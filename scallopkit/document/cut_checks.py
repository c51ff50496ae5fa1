"""Whether the cutting lines that stand in a drawing are those of its outlines and runs as they are now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..errors import ScallopkitError
from ..geometry.cubics import Array
from ..geometry.nearest import nearest
from .cut_changes import other_notches
from .drawing import Drawing
from .finding import Finding
from .kept import group_name, kept_pieces
from .runs import Run
from .workshop import recut
from .written import read_written

if TYPE_CHECKING:
    from .cut_pieces import MadePiece

# How far a written cutting line may lie from where it belongs, mm: what a parallel may be off, and what is written.
CUT_MM = 0.02


def cut_findings(drawing: Drawing, runs: Sequence[Run], pieces: Sequence[MadePiece] | None = None) -> Iterator[Finding]:
    """A finding for each piece that the drawing holds as it is cut, with the runs that it holds made again.

    `pieces` are those that were made just now; what of the drawing's is not among them is made again.
    """
    kept = kept_pieces(drawing.source)
    if not kept:
        return
    try:
        there = pieces is not None and {piece.name for piece in pieces} == set(kept)
        made = tuple(pieces) if pieces is not None and there else recut(drawing, runs)
    except ScallopkitError as error:
        yield Finding("cut", "cut", "pieces", None, None, "", False, str(error))
        return
    written, notches = read_written(drawing), other_notches(drawing, made)
    for piece in made:
        name = group_name(piece.name)
        lines = written.cutting(name)
        if len(lines) != 1:
            text = f'the cutting line of "{piece.name}" is there {len(lines)} times: run `refit`'
            yield Finding(name, "cut", piece.name, float(len(lines)), 1.0, "", False, text)
            continue
        off = _apart(lines[0], piece.cut.cutting.curve)
        if off <= CUT_MM and piece.name in notches:
            text = f'the notches of "{piece.name}" are not those of its runs and seams ({notches[piece.name]}): '
            text += "run `refit`"
            yield Finding(name, "cut", piece.name, None, None, "", False, text)
            continue
        ok = off <= CUT_MM
        text = f"the cutting line lies {off:.4f} mm from where it belongs"
        cure = "" if ok else ": the outline or a run was changed after it was made; run `refit`"
        yield Finding(name, "cut", piece.name, off, CUT_MM, "mm", ok, text + cure)


def _apart(a: Array, b: Array) -> float:
    """How far the nodes of either curve lie from the other, at most."""
    return max(float(nearest(one, _nodes(other)).distance.max()) for one, other in ((a, b), (b, a)))


def _nodes(curve: Array) -> Array:
    return np.concatenate([curve[:, 0], curve[-1:, 3]])
