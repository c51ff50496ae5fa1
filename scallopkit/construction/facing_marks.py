"""Match marks of shaped facings: over the garment's seams, along their own seams, and along the trimmed edge.

At a seam that the facing keeps, both of the facings that are sewn together there have notches in the same sewn place:
one at the run's first seam, two at its second, and so on, as the garment's own pieces have. At a seam that it goes
over, a notch shows where the garment's seam comes to lie. A facing that has no seam at all is matched to the garment at
the middle of its trimmed edge.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.intersect import crossings
from ..geometry.length import measure
from ..pattern.joins import SEAM as SEAM_JOIN
from ..pattern.laying import LaidRun
from ..trim.notches import SNIP, TRIANGLE, USUAL, Notches
from .facing import SEAM, Facing, seam_line
from .facing_cut import FacingCut
from .match_marks import places_along, usual_length

# Allowances under this, mm, are none.
_NOTHING = 1e-6


def over_seams(run: LaidRun, facing: Facing, cut: FacingCut, allowance: float, inner: float) -> list[Array]:
    """Where the garment's seams meet the cutting lines of a facing that goes on over them.

    Args:
        run: the run laid flat.
        facing: the facing.
        cut: how it is cut.
        allowance: of its trimmed edge, mm.
        inner: of its inner edge, mm; where there is none a triangle is left standing.

    Returns:
        Open polylines (k, 2) in the facing's frame.
    """
    out = []
    joints = len(facing.parts) - 1 + (facing.ring and bool(run.joints))
    for k in range(joints):
        seam = seam_line(run, facing, k)
        joint = seam[0, 3]
        for line, room in ((cut.edge, allowance), (cut.inner, inner)):
            met = crossings(seam, line)
            if not len(met.point):
                continue
            i = int(np.argmin(cubics.norm(met.point - joint)))
            way = cubics.direction(seam, met.segment_a[i : i + 1], met.t_a[i : i + 1])[0]
            kind = SNIP if room > _NOTHING else TRIANGLE
            length = min(USUAL, 0.5 * room) if room > _NOTHING else USUAL
            inwards = way if line is cut.edge else -way
            foot = met.point[i : i + 1]
            out.append(Notches(foot, inwards[None], np.zeros(1), length, kind, foot).curve(0))
    return out


def along_seams(run: LaidRun, facing: Facing, seam: float) -> list[Array]:
    """The notches at the ends of a facing where it is sewn to the next one.

    Args:
        run: the run laid flat.
        facing: the facing.
        seam: the allowance of its own seams, mm.

    Returns:
        Snips (2, 2) in the facing's frame, from its cutting line inwards.
    """
    if facing.ring:
        return []
    outside, n = -facing.cloth, len(run.parts)
    first, last = (facing.parts[0] - 1) % n, facing.parts[-1]
    # Both ends are walked from the trimmed edge inwards, round the facing one of them is walked back.
    ends = ((facing.start, facing.ends[0], first, -outside), (facing.end, facing.ends[1], last, outside))
    out = []
    for line, kind, joint, hand in ends:
        if kind == SEAM:
            out += _snips(line, hand, _number(run, joint), seam)
    return out


def middle_lengths(crests: Sequence[float], begin: float, finish: float) -> list[float]:
    """The lengths of the crests in the middle of a stretch: one, or both that are equally near.

    Args:
        crests: lengths along the run of its whole scallops' crests, mm.
        begin: where the stretch begins, mm.
        finish: where it ends, mm.
    """
    middle = 0.5 * (begin + finish)
    inside = [s for s in crests if begin < s < finish]
    least = min((abs(s - middle) for s in inside), default=0.0)
    # Equally near, but for rounding and what a fit leaves open on curved edges.
    return [s for s in inside if abs(s - middle) < least + 0.01 * (finish - begin) / max(len(inside), 1)]


def _snips(line: Array, hand: int, count: int, seam: float) -> list[Array]:
    """So many snips along a line, from the seam allowance on its outer side towards it."""
    m = measure(line)
    s = np.array(places_along(m.length, count))
    outward = hand * cubics.left(m.tangents(s))
    feet = m.points(s) + seam * outward
    return list(np.stack([feet, feet - usual_length(seam) * outward], axis=1))


def _number(run: LaidRun, joint: int) -> int:
    """How many notches mark a joint: as many as it is the run's how-manieth seam; one of other joints."""
    seams = [k for k, one in enumerate(run.joints) if one.kind == SEAM_JOIN]
    return seams.index(joint) + 1 if joint in seams else 1
