"""What else than an eyelet can stand in a row: buttonholes, buttons and snaps, with the room they take."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import RequestError

EYELET, BUTTONHOLE, SNAP, BUTTON = "eyelet", "buttonhole", "snap", "button"
PARTS = (EYELET, BUTTONHOLE, SNAP, BUTTON)
# How a buttonhole lies to the edge.
ALONG, ACROSS = "along", "across"

# A button's thickness where it is not told, mm: common practice, no source.
USUAL_THICKNESS = 3.0
# What a buttonhole in bulky cloth is longer by, mm: 1/8 in (Extension Bulletin 576, August 1965), rounded.
BULKY = 3.0
# How wide a buttonhole is with its stitches, and how far a bar goes on beyond the slit, mm: common practice, no source.
WORKED, BAR = 5.0, 2.0


@dataclass(frozen=True)
class Buttonhole:
    """A slit with a bar at either end; lengths in mm.

    Attributes:
        button: diameter of the button.
        thickness: of the button.
        length: of the slit.
        lies: ALONG the edge or ACROSS, square to it.
        assumed: the measures that were not given but are common practice.
    """

    button: float
    thickness: float
    length: float
    lies: str = ALONG
    assumed: tuple[str, ...] = ()

    @property
    def part(self) -> str:
        """What it is."""
        return BUTTONHOLE

    @property
    def flange(self) -> float:
        """Width of the circle that it needs, however it lies."""
        return max(self.beside, self.deep)

    @property
    def beside(self) -> float:
        """The room that it takes along the edge."""
        return self.length + 2.0 * BAR if self.lies == ALONG else WORKED

    @property
    def deep(self) -> float:
        """The room that it takes square to the edge."""
        return self.length + 2.0 * BAR if self.lies == ACROSS else WORKED


@dataclass(frozen=True)
class RoundPart:
    """A button or a snap.

    Attributes:
        part: BUTTON or SNAP.
        diameter: mm.
    """

    part: str
    diameter: float

    @property
    def flange(self) -> float:
        """Width of the circle that it needs."""
        return self.diameter

    @property
    def beside(self) -> float:
        """The room that it takes along the edge."""
        return self.diameter

    @property
    def deep(self) -> float:
        """The room that it takes square to the edge."""
        return self.diameter

    @property
    def assumed(self) -> tuple[str, ...]:
        """Nothing: its diameter is given."""
        return ()


def buttonhole(button: float, thickness: float | None = None, bulky: bool = False, lies: str = ALONG) -> Buttonhole:
    """The buttonhole for a button: as long as it is wide and thick together, and 3 mm more in bulky cloth.

    Extension Bulletin 576 (August 1965) has that rule, with 1/8 in for bulky cloth.

    Args:
        button: its diameter, mm.
        thickness: mm; None for 3 mm, which is common practice.
        bulky: whether the cloth is.
        lies: ALONG or ACROSS.

    Raises:
        RequestError: a measure is no size.
    """
    thick = USUAL_THICKNESS if thickness is None else thickness
    for what, value in (("button", button), ("button's thickness", thick)):
        _refuse_no_size(what, value)
    if lies not in (ALONG, ACROSS):
        raise RequestError(f'a buttonhole lies {ALONG} the edge or {ACROSS} it, not "{lies}"')
    length = button + thick + (BULKY if bulky else 0.0)
    return Buttonhole(button, thick, length, lies, ("thickness",) if thickness is None else ())


def round_part(part: str, diameter: float) -> RoundPart:
    """A button or a snap.

    Raises:
        RequestError: the diameter is no size.
    """
    _refuse_no_size(part, diameter)
    return RoundPart(part, diameter)


def _refuse_no_size(what: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0.0):
        raise RequestError(f"a {what} of {value:g} mm is no size; give a length above 0")
