"""Where scallops meet: how sharp the valleys are, and whether neighbours leave each other room.

At a valley between two scallops the angle left open is a straight angle, less the angles at which both leave their
base lines, plus the turn of the base lines (a bulging edge opens it, a hollow one closes it). For two arcs of angle
theta that is 180 degrees - theta + phi.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..errors import NoFitError, counted
from ..geometry.cubics import Array, Ints
from ..pattern.piece import Warn
from .row import FIRST_HALF, SECOND_HALF
from .scallops import Scallops, chord_turns, following, meets_next
from .shape import Shape

# Below this opening, radians, neighbours are one line there: they touch.
_TOUCH = 1e-6


@dataclass(frozen=True, eq=False)
class Valleys:
    """The valleys between neighbours.

    Attributes:
        before: number of the scallop before each valley, (k,).
        after: number of the one after it.
        open: the angle left between the two, radians.
    """

    before: Ints
    after: Ints
    open: Array


def valleys_between(scallops: Scallops, loop: bool) -> Valleys:
    """The valleys that two scallops share."""
    row = scallops.row
    before = np.flatnonzero(meets_next(row, scallops.closing) & (row.part != FIRST_HALF))
    after = (before + 1) % len(row)
    keep = (row.part[after] != SECOND_HALF) & (loop | (after > before))
    before, after = before[keep], after[keep]
    first, last = _leaving_angles(scallops)
    bulging = scallops.side * chord_turns(row, scallops.closing)[before]
    return Valleys(before, after, math.pi - last[before] - first[after] + bulging)


def _leaving_angles(scallops: Scallops) -> tuple[Array, Array]:
    """Angles between each base line and the scallop's line at its first and last point."""
    row = scallops.row
    shares = np.round(scallops.depth / row.width, 10)
    every, which = np.unique(shares, return_inverse=True)
    examples = [int(np.flatnonzero(which == k)[0]) for k in range(len(every))]
    motifs = [scallops.shape.motif(float(row.width[i])) if row.turn[i] == 0.0 else None for i in examples]
    pairs = np.array([(0.0, 0.0) if motif is None else motif.base_angles for motif in motifs])
    first, last = pairs[which, 0], pairs[which, 1]
    corner = row.turn != 0.0
    wide = 2.0 * np.arctan(2.0 * scallops.depth / row.width)
    return np.where(corner, wide, first), np.where(corner, wide, last)


def refuse_overlap(scallops: Scallops, loop: bool, space: float) -> None:
    """Refuses scallops that run into their neighbours.

    Raises:
        NoFitError: they do; the text names the greatest depth that fits, and the space that would cure it.
    """
    found = valleys_between(scallops, loop)
    bad = np.flatnonzero(found.open < -_TOUCH)
    if len(bad) == 0 and not _spaced_arcs_collide(scallops, loop):
        return
    worst = int(found.before[np.argmin(found.open)]) if len(found.open) else 0
    width = float(scallops.row.width[worst])
    share = greatest_share(scallops, loop)
    cure = needed_space(scallops, loop)
    tightest = float(np.degrees(-found.open.min())) if len(bad) else 0.0
    valleys = counted(len(bad), "valley")
    where = f"by {tightest:.1f} degrees at {valleys}" if len(bad) else "across the space between them"
    spaced = f", or leave a --space of {math.ceil(100.0 * cure) / 100.0:g} mm" if cure and cure > space else ""
    deepest = "choose another profile" + ("" if spaced else ", or leave a --space between them")
    if share:
        # Rounded down, so that what is named is not refused again.
        percent, depth = math.floor(1000.0 * share) / 10.0, math.floor(100.0 * share * width) / 100.0
        deepest = f"make them at most {percent:g}% deep ({depth:g} mm)"
    raise NoFitError(f"scallops this deep run into their neighbours {where}: {deepest}{spaced}")


def greatest_share(scallops: Scallops, loop: bool) -> float | None:
    """The greatest depth over width at which no two neighbours overlap on this row; None where no depth helps."""
    if scallops.shape.profile == "half-circle":
        return None
    turn = valleys_between(scallops, loop)
    first, last = _leaving_angles(scallops)
    tightest = float((turn.open - math.pi + last[turn.before] + first[turn.after]).min()) if len(turn.open) else 0.0
    low, high = 0.0, float((scallops.depth / scallops.row.width).max())
    for _ in range(50):
        middle = 0.5 * (low + high)
        motif = Shape(scallops.shape.profile, "share", max(middle, 1e-6), scallops.shape.own).motif(1.0)
        fits = math.pi - sum(motif.base_angles) + tightest >= 0.0
        low, high = (middle, high) if fits else (low, middle)
    return low if low > 1e-3 else None


def needed_space(scallops: Scallops, loop: bool) -> float | None:
    """The space between two arcs, mm, at which they just touch in the tightest place; None for other profiles."""
    if np.isnan(scallops.radius).any():
        return None
    row, r = scallops.row, float(np.median(scallops.radius))
    half, rise = 0.5 * float(np.median(row.width)), float(np.median(scallops.depth)) - r
    turn = scallops.side * chord_turns(row, scallops.closing)
    turn = turn if loop else turn[:-1]
    phi = float(turn.min()) if len(turn) else 0.0
    # Two bases turned by phi with a flat between: the circles' centres lie `rise` off their middles.
    return max(0.0, 2.0 * (r - half * math.cos(0.5 * phi) - rise * math.sin(0.5 * phi)))


def _spaced_arcs_collide(scallops: Scallops, loop: bool) -> bool:
    """Whether arcs of more than half a circle, set apart by a space, still run into each other."""
    wide = scallops.large | (scallops.depth > 0.5 * scallops.row.width)
    if not wide.any() or np.isnan(scallops.radius).any():
        return False
    centre = scallops.crest - scallops.radius[:, None] * scallops.axis
    apart = np.hypot(*(following(centre, scallops.closing) - centre).T)
    room = scallops.radius + np.roll(scallops.radius, -1)
    both = (wide | np.roll(wide, -1)) & ~meets_next(scallops.row, scallops.closing)
    close = both & (apart < room - 1e-9)
    return bool((close if loop else close[:-1]).any())


def valley_warnings(scallops: Scallops, loop: bool, sharpest: float, piece: str) -> list[Warn]:
    """Warnings for neighbours that touch, and for valleys sharper than `sharpest` radians."""
    found = valleys_between(scallops, loop)
    touching = found.open < 1e-3
    sharp = ~touching & (found.open < sharpest)
    out = []
    for which, code, text in (
        (touching, "scallops-touch", "neighbouring scallops touch along their sides at {n}"),
        (sharp, "sharp-valley", "{n} with an angle under {limit:.0f} degrees, the sharpest {worst:.1f}"),
    ):
        if which.any():
            worst = int(np.flatnonzero(which)[np.argmin(found.open[which])])
            x, y = scallops.row.end[found.before[worst]]
            n = int(which.sum())
            limits = {
                "n": counted(n, "valley"),
                "limit": math.degrees(sharpest),
                "worst": math.degrees(found.open[worst]),
            }
            cure = ": make the scallops shallower, or leave a --space between them"
            out.append(Warn(code, text.format(**limits) + cure, piece, float(x), float(y)))
    return out
