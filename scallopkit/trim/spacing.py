"""Even spacing: how many equal spaces or gaps a length takes, and how long they are."""

from __future__ import annotations

import math

from ..errors import RequestError

# More marks than this on one edge are a slip of the pen or of a unit.
_MOST = 1_000_000


def fit_spacing(
    length: float, target: float | None = None, count: int | None = None, largest: float | None = None
) -> tuple[int, float]:
    """How many equal spaces a length takes, and how long each is.

    Args:
        length: mm from the first mark to the last; n marks have n - 1 spaces.
        target: the spacing to come nearest to, as a ratio; of two equally near ones the smaller is taken.
        count: the number of spaces.
        largest: what no space may exceed; alone it gives the fewest spaces.

    Raises:
        RequestError: nothing, or two things that exclude each other, or a number that is no length.
    """
    if not (math.isfinite(length) and length > 0.0):
        raise RequestError(f"a length of {length:.6g} mm can't be divided; give one above 0")
    if count is not None and target is not None:
        raise RequestError("give the spacing or the number, not both: one follows from the other")
    if count is None and target is None and largest is None:
        raise RequestError("say how far apart, how many, or what the largest spacing may be")
    for value in (target, largest):
        if value is not None and not (math.isfinite(value) and value * _MOST >= length):
            raise RequestError(f"a spacing of {value:g} mm has no meaning here; give one above {length / _MOST:.2g} mm")
    # A length that holds the largest spacing a whole number of times keeps that number in spite of rounding.
    fewest = 1 if largest is None else max(1, math.ceil(length / largest - 1e-9))
    if count is None:
        n = fewest if target is None else max(fewest, _nearest_count(length, target))
        return n, length / n
    if not 1 <= count <= _MOST:
        raise RequestError(f"{count} is no number of spaces; give 1 or more, up to {_MOST}")
    if count < fewest:
        raise RequestError(
            f"{count} spaces in {length:.6g} mm would exceed the largest spacing, {largest:.6g} mm: "
            f"take at least {fewest}"
        )
    return count, length / count


def fit_gaps(
    length: float, width: float, target: float | None = None, count: int | None = None, largest: float | None = None
) -> tuple[int, float]:
    """How many equal gaps a length takes when things `width` mm wide stand in it, gaps at both ends too.

    Args:
        length: mm, from the outside of the first gap to the outside of the last.
        width: mm of each thing; there is one less than gaps.
        target: the clear gap to come nearest to, gap and width taken together.
        count: the number of gaps.
        largest: what no gap may exceed.

    Raises:
        RequestError: as `fit_spacing`; or the things leave no gap.
    """
    if not (math.isfinite(width) and width > 0.0):
        raise RequestError(f"things {width:g} mm wide leave no gaps to space; give a width above 0")
    wide = [None if value is None else value + width for value in (target, largest)]
    n, pitch = fit_spacing(length + width, wide[0], count, wide[1])
    if pitch <= width:
        raise RequestError(
            f"{n - 1} things {width:.6g} mm wide leave no gaps in {length:.6g} mm: "
            f"take at most {math.ceil((length + width) / width) - 2}"
        )
    return n, pitch - width


def _nearest_count(length: float, target: float) -> int:
    few = max(1, math.floor(length / target))
    less, more = (abs(length / n / target - 1.0) for n in (few, few + 1))
    return few if less < more - 1e-9 else few + 1
