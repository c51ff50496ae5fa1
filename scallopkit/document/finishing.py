"""How a trimmed edge is finished: its cutting line, its clips and wedges, and its stitches, from the maker's words."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import compress
from typing import TYPE_CHECKING

import numpy as np

from ..construction.clipping import SHORT, WIDEST_GAP, Clipping, clipping
from ..construction.grading import LEAST, WIDEST, Grading, Layer, graded, turnable
from ..construction.stitching import Stitching, stitching
from ..construction.trimmed_edge import (
    ON_LINE,
    SCALLOPED,
    STRAIGHT,
    Cut,
    EdgeCut,
    edge_cuts,
    end_line,
    flat_cut,
    outside_of,
)
from ..construction.trimmed_edge import stitching as stitching_line
from ..errors import RequestError, counted
from ..geometry import cubics
from ..geometry.cubics import Array
from ..pattern.joins import DART
from ..pattern.laying import LaidRun
from ..pattern.piece import Warn
from ..trim.course import Stop
from ..trim.meeting import valleys_between
from ..trim.sharing import Trimmed
from .caps import pressed
from .recipe import RAW, FinishWords
from .units import parse_length
from .wishes import one_of

if TYPE_CHECKING:
    from .runs import Run

FACED, BOUND, STITCHED = "faced", "bound", "stitched"
FINISHES = (FACED, BOUND, STITCHED, RAW)
CUTS = (SCALLOPED, STRAIGHT)

# Cloth left beyond the stitching line, mm: a quarter of an inch and a little more are left round scallops that are
# sewn and turned, a straight cut beyond the crests takes 3/8 in (paperspast.natlib.govt.nz, DOM19371028.2.37).
_DISTANCES = {SCALLOPED: 6.0, STRAIGHT: 9.5}
# The allowance that clips and wedges are made for where the cut is a straight one and trimmed after sewing, mm;
# common practice, no source.
_TRIMMED = 6.0
_STITCH = 1.5
# How far a cutting line runs on beyond a seam, mm: farther than seam allowances are wide.
REACH = 80.0
# Half a wedge on a fold ends on it, mm.
_ON_FOLD = 1e-6
# What a line takes that is cut and not sewn.
_UNSEWN = Stitching((), 0.0, 0.0)
# A binding goes round a valley that is open by this angle or more with a mitre; a sharper one has to be stretched
# open, which woven bindings hardly do; common practice, no source.
_BINDABLE = math.radians(90.0)


@dataclass(frozen=True, eq=False)
class Finish:
    """How a run is finished.

    Attributes:
        kind: one of FINISHES.
        cut: how the cloth is cut beyond the stitching line.
        trimmed: the allowance when it is clipped, mm; 0 where there is none.
        clipping: clips and wedges; None where nothing is turned.
        stitches: figures for the machine; no stitches where the edge stays raw.
        grading: to what each layer of the allowance is trimmed; empty where nothing is turned.
    """

    kind: str
    cut: Cut
    trimmed: float
    clipping: Clipping | None
    stitches: Stitching
    grading: tuple[Layer, ...] = ()


# Cut on the trimmed line itself: what is drawn, where nobody says how it is finished.
ON_THE_LINE = Finish(RAW, Cut(ON_LINE), 0.0, None, _UNSEWN)


def finish_of(
    words: FinishWords, laid: LaidRun, line: Trimmed, stops: tuple[Stop, ...], interlined: bool = False
) -> tuple[Finish, tuple[Warn, ...]]:
    """The finish of a trimmed line, with what the maker should know; places of the warnings in the flat frame.

    Args:
        words: what was asked for; nothing means faced, cut 6 mm beyond the scallops.
        laid: the run laid flat.
        line: its trimmed line.
        stops: its stops.
        interlined: whether a layer of interlining lies between the cloth and its facing.

    Raises:
        RequestError: a word can't be read, or goes with another finish.
    """
    kind, piece = one_of(words.finish, FINISHES, "--finish"), laid.line.piece.name
    if kind != FACED:
        _refuse_allowance(words, kind)
    if kind == RAW:
        _refuse_stitches(words)
        return ON_THE_LINE, ()
    stitches = stitching(line, _length(words.stitch, "--stitch") or _STITCH)
    if kind != FACED:
        warnings = _binding_warnings(line, piece) if kind == BOUND else ()
        return Finish(kind, Cut(ON_LINE), 0.0, None, stitches), warnings
    cut = cut_of(words.cut)
    usual = cut.distance if cut.kind == SCALLOPED else min(_TRIMMED, cut.distance)
    trimmed = _length(words.trim, "--trim") or usual
    if trimmed > cut.distance:
        raise RequestError(
            f"--trim {trimmed:g} mm is more than the {cut.distance:g} mm that are cut: give less, or a wider --cut"
        )
    made = clipping(
        line,
        trimmed,
        _length(words.clip_short, "--clip-short") or SHORT,
        _length(words.widest_wedge, "--widest-wedge"),
        _length(words.widest_gap, "--widest-gap") or WIDEST_GAP,
        stops=stops,
        outside=outside_of(laid, line),
    )
    made = _before_its_ends(made, laid)
    layers = ("cloth", "interlining", "facing") if interlined else ("cloth", "facing")
    grading = graded(layers, made.least_radius, widest=min(trimmed, WIDEST))
    finish = Finish(kind, cut, trimmed, made, stitches, grading.layers)
    return finish, _tight_warnings(made, trimmed, grading, piece)


def _before_its_ends(made: Clipping, laid: LaidRun) -> Clipping:
    """The clips and wedges without those that reach into the allowance of the edge at which the run starts or ends."""
    if laid.loop:
        return made
    wedges = made.wedges
    for at_end in (False, True):
        line, forward = end_line(laid, at_end), cubics.ends_direction(laid.line.curve)[int(at_end)]
        if line is not None:
            square = cubics.left(line.along)
            beyond = square if (square @ forward > 0.0) == at_end else -square
            mouths = np.array([wedge.mouth for wedge in wedges]).reshape(-1, 2, 2)
            farthest = ((mouths - line.point) @ beyond).max(axis=1)
            wedges = tuple(compress(wedges, farthest < _ON_FOLD))
    return replace(made, wedges=wedges, taken_out=math.fsum(wedge.width for wedge in wedges))


def cut_of(text: str) -> Cut:
    """The cut that a text names: `scalloped`, `scalloped:6mm`, `straight:10mm`; scalloped for an empty text.

    Raises:
        RequestError: it names none.
    """
    kind, colon, length = text.strip().partition(":")
    kind = kind if colon else kind or SCALLOPED
    if kind not in CUTS or (colon and not length.strip()):
        raise RequestError(f"--cut can be scalloped:6mm or straight:10mm, not {text!r}")
    return Cut(kind, parse_length(length, "--cut", "positive") if colon else _DISTANCES[kind])


def edge_cuts_of(run: Run, beside: tuple[bool, bool]) -> tuple[EdgeCut, ...]:
    """The cutting lines of a run on each piece; `beside` as `edge_cuts` takes it."""
    cut = cut_of("") if run.finish is None else run.finish.cut
    darts = {k: pressed(run, k) for k, joint in enumerate(run.laid.joints) if joint.kind == DART}
    last = len(run.laid.parts) - 1
    known = {
        parts: line
        for parts, line in run.flat_cuts.items()
        if parts and not (beside[0] and parts[0] == 0) and not (beside[1] and parts[-1] == last)
    }
    return tuple(edge_cuts(run.laid, run.line, run.shares, run.origin, cut, REACH, darts, beside, known))


def flat_cut_of(run: Run, finish: Finish, parts: tuple[int, ...], lower: float = 0.0) -> Array:
    """The cutting line of a run beyond some of its parts, where the first of them lies flat; none means a ring.

    The scallops are made `lower` mm lower.
    """
    if lower:
        stitched = [stitching_line(run.line, share, run.laid, run.origin, lower) for share in run.shares]
        return flat_cut(run.laid, run.line, run.shares, run.origin, finish.cut, REACH, parts, (False, False), stitched)
    if parts not in run.flat_cuts:
        run.flat_cuts[parts] = flat_cut(run.laid, run.line, run.shares, run.origin, finish.cut, REACH, parts)
    return run.flat_cuts[parts]


def _length(text: str, option: str) -> float | None:
    return parse_length(text, option, "positive") if text else None


def _refuse_allowance(words: FinishWords, kind: str) -> None:
    """Refuses words about an allowance where the cloth is cut on the line itself."""
    for name in ("cut", "trim", "clip_short", "widest_wedge", "widest_gap"):
        if getattr(words, name):
            option = name.replace("_", "-")
            raise RequestError(
                f"--{option} goes with --finish faced: an edge that is {kind} is cut on its line; leave it out"
            )


def _refuse_stitches(words: FinishWords) -> None:
    """Refuses the length of a stitch where nothing is sewn."""
    if words.stitch:
        raise RequestError("--stitch goes with an edge that is sewn: one that is raw is only cut; leave it out")


def _binding_warnings(line: Trimmed, piece: str) -> tuple[Warn, ...]:
    """A warning where valleys are too sharp to be bound."""
    found = valleys_between(line.placed, line.course.loop)
    sharp = found.open < _BINDABLE
    if not sharp.any():
        return ()
    k = int(np.argmin(found.open))
    x, y = line.placed.row.end[found.before[k]]
    text = (
        f"{counted(int(sharp.sum()), 'valley is', 'valleys are')} under 90 degrees, the sharpest "
        f"{math.degrees(float(found.open[k])):.0f}: a binding has to be mitred or stretched there; make the scallops "
        "shallower, or face the edge"
    )
    return (Warn("sharp-to-bind", text, piece, float(x), float(y)),)


def _tight_warnings(made: Clipping, trimmed: float, grading: Grading, piece: str) -> tuple[Warn, ...]:
    """A warning where a bulge is no wider than its allowance, or than a seam needs."""
    narrow = turnable(made.least_radius)
    tight = f"; under {LEAST:g} mm hardly holds a seam, so make the scallops larger, or bind the edge"
    tight = tight if grading.tight and trimmed > narrow else ""
    if not made.cannot_turn:
        text = (
            f"an allowance of {trimmed:g} mm hardly turns where the line bulges with a radius of "
            f"{made.least_radius:.1f} mm: trim it to {narrow:g} mm at most (--trim){tight}"
        )
        return (Warn("cannot-turn", text, piece),) if tight else ()
    worst = min(made.cannot_turn, key=lambda place: place.radius)
    x, y = worst.point
    where = counted(len(made.cannot_turn), "place", "places")
    text = (
        f"an allowance of {trimmed:g} mm can't be turned at {where}, where the line bulges with a radius of "
        f"{worst.radius:.1f} mm: trim it to {worst.trim_to:g} mm at most (--trim){tight}"
    )
    return (Warn("cannot-turn", text, piece, float(x), float(y)),)
