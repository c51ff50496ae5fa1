"""How far the lines of two shapes lie from each other, judged by another library."""

from __future__ import annotations

import numpy as np
import shapely

# mm between the places that are tried along a line; its nodes are tried too.
STEP = 0.5


def apart(one: shapely.Geometry, other: shapely.Geometry) -> float:
    """The Hausdorff distance of two sets of lines.

    The library's own one compares every place with every chord, which on outlines of thousands of chords takes
    several times as long as its tree of chords does.
    """
    return max(_farthest(one, other), _farthest(other, one))


def _farthest(lines: shapely.Geometry, others: shapely.Geometry) -> float:
    """How far a place of the lines lies from the others at most."""
    places = shapely.points(shapely.get_coordinates(shapely.segmentize(lines, STEP)))
    xy, part = shapely.get_coordinates(shapely.get_parts(others), return_index=True)
    chords = shapely.linestrings(np.stack([xy[:-1], xy[1:]], axis=1)[part[1:] == part[:-1]])
    _, away = shapely.STRtree(chords).query_nearest(places, return_distance=True, all_matches=False)
    return float(away.max())
