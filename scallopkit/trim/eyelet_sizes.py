"""Usual eyelets by name: an `e` and the clear opening in mm.

Openings of 4, 5.5 and 6.5 mm are sold widely; what belongs to each opening hangs on the maker, and no published table
of flanges was found. All other measures are therefore common practice, no source: measure yours, test on a scrap.
"""

from __future__ import annotations

from ..errors import NameUnknownError
from .eyelets import EyeletSize

_ASSUMED = ("barrel", "barrel_length", "flange", "hole")
# Opening, barrel, barrel's length, flange, hole, mm.
_MEASURES: dict[str, tuple[float, float, float, float, float]] = {
    "e4": (4.0, 4.8, 4.0, 8.0, 4.4),
    "e5": (5.0, 5.8, 4.5, 9.5, 5.4),
    "e5.5": (5.5, 6.4, 4.5, 10.5, 6.0),
    "e6.5": (6.5, 7.5, 5.0, 12.5, 7.0),
    "e8": (8.0, 9.0, 5.5, 15.0, 8.5),
    "e10": (10.0, 11.2, 6.0, 18.0, 10.6),
    "e12": (12.0, 13.4, 6.5, 22.0, 12.8),
    "e14": (14.0, 15.5, 7.0, 26.0, 14.8),
}

NAMED = tuple(_MEASURES)


def named_size(name: str) -> EyeletSize:
    """A usual eyelet.

    Raises:
        NameUnknownError: there is none of that name; the text lists those there are.
    """
    if name not in _MEASURES:
        raise NameUnknownError(f'there is no eyelet called "{name}": give its opening, or one of {", ".join(NAMED)}')
    return EyeletSize(*_MEASURES[name], _ASSUMED)
