"""Figures for the machine: so many whole stitches round each scallop, and one straight across each valley.

One stitch lies across every valley, half of it on either side, so that there is room to clip to it and the valley turns
out flat; the rest of a scallop's line holds a whole number of equal stitches (common practice, no source).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import RequestError
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..trim.row import WHOLE
from ..trim.scallops import Scallops, stitched_length
from ..trim.sharing import Trimmed
from .template import alike

# Shorter stitches are no seam and longer ones a basting, mm: what machines can be set to; common practice, no source.
SHORTEST, LONGEST = 0.3, 10.0

_INCH = 25.4
_MEETS = 1e-6


@dataclass(frozen=True)
class Stitches:
    """The stitches of scallops that are alike: arc_mm = per_scallop * length_mm + across_mm.

    Attributes:
        scallops: their numbers in the row, from 1; a half among them takes half of everything.
        per_scallop: whole stitches round one, those across its valleys left out.
        length_mm: length of each of these.
        across_mm: length of the stitch across a valley, along the line: half of it belongs to each neighbour.
        arc_mm: length of the line of one scallop, valley to valley.
    """

    scallops: tuple[int, ...]
    per_scallop: int
    length_mm: float
    across_mm: float
    arc_mm: float


@dataclass(frozen=True)
class Stitching:
    """The stitches of a run.

    Attributes:
        scallops: those of each distinct scallop.
        stitches: how many there are along the run as laid flat. A stitch of which only half lies on it, across a free
            end or a fold, counts 0.5.
        length_mm: length of the stitching line, flat stretches and what gaps leave bare included.
    """

    scallops: tuple[Stitches, ...]
    stitches: float
    length_mm: float


def stitching(line: Trimmed, stitch: float = 1.5, across: float = 1.0) -> Stitching:
    """Stitches for every scallop of a run.

    The flat stretch that a space or a gap leaves takes half a stitch across the valley at each of its ends too, and the
    nearest whole number between them; one no longer than `across` is a single stitch.

    Args:
        line: the trimmed line of the run.
        stitch: the stitch length wanted round the scallops, mm; 1.5 mm is short enough to follow small curves
            (common practice, no source).
        across: length of the stitch across a valley, mm along the line. The sewn line leaves the drawn one by at most
            half of it, so it is shorter than the others by default; cloth that is too thick to turn a valley so narrow
            asks for more.

    Raises:
        RequestError: a length of 0 or less, stitches under 0.3 mm or over 10 mm, or a scallop too small for the stitch
            across its valleys.
    """
    for what, length in (("a stitch", stitch), ("the stitch across a valley", across)):
        if not 0.0 < length < math.inf:
            raise RequestError(f"{what} can't be {length:g} mm long: give a length above 0")
    if not SHORTEST <= stitch <= LONGEST:
        raise RequestError(
            f"stitches of {stitch:g} mm can't be sewn round scallops: give a length from {SHORTEST:g} to {LONGEST:g} mm"
        )
    each = _scallops(line.placed, stitch, across)
    links = [measure(curve).length for curve in flat_stretches(line)]
    part = line.placed.row.part
    shares = [sum(1.0 if part[i - 1] == WHOLE else 0.5 for i in one.scallops) for one in each]
    on_scallops = sum(share * (one.per_scallop + 1) for share, one in zip(shares, each, strict=True))
    on_links = sum(_whole(length - across, stitch, 0) + 1 for length in links)
    return Stitching(each, float(on_scallops + on_links), stitched_length(line.placed) + sum(links))


def flat_stretches(line: Trimmed) -> list[Array]:
    """The stitching line without its scallops: what leads from one to the next, and the bare course along gaps."""
    led = [curve for curve in (line.lead, *line.links) if curve is not None and len(curve)]
    return [*led, *(line.course.measured.part(begin, end) for begin, end in bare_stretches(line))]


def bare_stretches(line: Trimmed) -> list[tuple[float, float]]:
    """From where to where along the course, mm, a gap leaves the edge bare; round a loop perhaps past its end."""
    row, loop, long = line.placed.row, line.course.loop, line.course.measured.length
    s_next = [*row.s_start[1:].tolist(), float(row.s_start[0]) + long if loop else long]
    found = [
        (begin, end)
        for begin, end, link in zip(row.s_end.tolist(), s_next, line.links, strict=True)
        if link is None and end - begin > _MEETS
    ]
    first = float(row.s_start[0])
    return [(0.0, first), *found] if not loop and line.lead is None and first > _MEETS else found


def thread_length(seam_mm: float, thickness_mm: float, stitch_mm: float, waste: float = 0.15) -> float:
    """Thread that a lockstitch seam takes, needle and bobbin together, mm.

    An inch of seam takes 2 + 2 T S inches, T the thickness of all layers in inches and S the stitches an inch
    (stitch type 301: https://www.textilecalculations.com/calculate-amount-of-sewing-thread-consumption/). A share of
    0.1 to 0.2 is added for ends and breaks (common practice, no source).

    Args:
        seam_mm: length of the seam.
        thickness_mm: thickness of all layers that are sewn together.
        stitch_mm: stitch length.
        waste: the share added.

    Raises:
        RequestError: a length below 0, or a stitch of no length.
    """
    if not (min(seam_mm, thickness_mm, waste) >= 0.0 < stitch_mm) or not math.isfinite(seam_mm + thickness_mm + waste):
        raise RequestError(
            f"no thread can be counted for {seam_mm:g} mm of seam in cloth {thickness_mm:g} mm thick, stitches "
            f"{stitch_mm:g} mm long and {waste:g} of waste: give a stitch above 0 and the others as 0 or more"
        )
    # T S is the thickness over the stitch length, whatever the unit.
    return seam_mm * (2.0 + 2.0 * thickness_mm / stitch_mm) * (1.0 + waste)


def stitches_an_inch(stitch_mm: float) -> float:
    """How many stitches of that length an inch has."""
    return _INCH / stitch_mm


def _scallops(placed: Scallops, stitch: float, across: float) -> tuple[Stitches, ...]:
    out = []
    for group in alike(placed):
        arc = _arc_length(placed, group.example)
        numbers = tuple(i + 1 for i in group.members)
        if arc <= across:
            raise RequestError(
                f"a stitch of {across:g} mm across each valley leaves nothing of scallop {numbers[0]}, whose line is "
                f"{arc:.3g} mm long: make the stitch shorter or the scallops larger"
            )
        count = _whole(arc - across, stitch, 1)
        out.append(Stitches(numbers, count, (arc - across) / count, across, arc))
    return tuple(out)


def _whole(length: float, stitch: float, least: int) -> int:
    """The whole number of stitches, `least` or more, whose length is nearest to the one wanted."""
    fewer = max(math.floor(length / stitch), least)
    if fewer < 1:
        # No stitch, or one: the nearer count, since none has no length.
        return max(round(length / stitch), least)
    longer, shorter = length / fewer, length / (fewer + 1)
    return fewer if longer - stitch < stitch - shorter else fewer + 1


def _arc_length(placed: Scallops, i: int) -> float:
    """Length in mm of the whole scallop's line, valley to valley."""
    width, radius = float(placed.row.width[i]), float(placed.radius[i])
    if not math.isnan(radius):
        return radius * 4.0 * math.atan(2.0 * float(placed.depth[i]) / width)
    return measure(placed.shape.motif(width).curve).length * width
