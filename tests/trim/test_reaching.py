from __future__ import annotations

import numpy as np

from scallopkit.geometry import cubics
from scallopkit.trim.course import Wish
from scallopkit.trim.fit import fit
from scallopkit.trim.reaching import cross_warnings, reach_warnings
from scallopkit.trim.scallops import Scallops, scallops
from scallopkit.trim.shape import Shape

from ..shapes import course, valley_ends


def placed(curve: np.ndarray, share: float = 0.4, count: int = 5) -> Scallops:
    c = course(curve)
    shape = Shape("arc", "share", share)
    return scallops(fit(c, valley_ends(c), Wish(shape, count=count)).row, shape, 1)


def numbered(made: Scallops) -> list[tuple[int, np.ndarray]]:
    return list(enumerate(made.curves()))


LINE = cubics.lines([(0, 0), (100, 0)])


def test_an_outline_beyond_the_crests_is_left_alone_and_one_within_is_told() -> None:
    made = placed(LINE)  # crests 8 mm above
    assert reach_warnings(numbered(made), [("far", cubics.lines([(0, -8.5), (100, -8.5)]))], "p") == []
    near = reach_warnings(numbered(made), [("another piece", cubics.lines([(30, -7.5), (55, -7.5)]))], "p")
    assert [w.code for w in near] == ["crest-reaches"]
    assert "another piece" in near[0].message
    assert "scallops 2, 3" in near[0].message
    assert near[0].y is not None
    assert abs(near[0].y + 7.5) < 1e-6


def test_the_corner_where_the_next_edge_begins_is_no_reach() -> None:
    assert (
        reach_warnings(numbered(placed(LINE)), [("next", cubics.lines([(100, 0), (100, 60), (0, 60), (0, 0)]))], "p")
        == []
    )
    leaning = reach_warnings(numbered(placed(LINE)), [("next", cubics.lines([(100, 0), (85, -60)]))], "p")
    assert [w.code for w in leaning] == ["crest-reaches"]


def test_scallops_across_a_narrow_slit_are_told() -> None:
    slit = cubics.lines([(0, 0), (0, 100), (10, 100), (10, 0)])  # down one side, up the other, outside between them
    c = course(slit)
    shape = Shape("arc", "share", 0.4)
    stops = valley_ends(c)
    made = scallops(fit(c, stops, Wish(shape, width=19.0, along=True)).row, shape, 1)
    assert [w.code for w in cross_warnings(list(made.curves()), "p")] == ["scallops-cross"]
    assert cross_warnings(list(placed(LINE).curves()), "p") == []
