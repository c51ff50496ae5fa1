"""Setting eyelets: whether a barrel is as long as the layers want, and whether cords go through the opening."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import NoFitError, RequestError

# How far a tube stands beyond the layers so that it can be rolled over, mm; common practice, no source.
ROLLED = 2.0
# How much shorter and how much longer a barrel may be than that, mm; common practice, no source.
SHORT, LONG = 0.25, 1.0

# The least circle round equal circles, in their diameters: proved by Graham (1968) for five to seven and by Pirl (1969)
# for eight and nine, as tabled in https://en.wikipedia.org/wiki/Circle_packing_in_a_circle. The closed forms are those
# of circles in a ring; from seven on one more lies in the middle.
_PACKED = {
    1: 1.0,
    2: 2.0,
    3: 1.0 + 2.0 / math.sqrt(3.0),
    4: 1.0 + math.sqrt(2.0),
    5: 1.0 + 1.0 / math.sin(math.pi / 5.0),
    6: 3.0,
    7: 3.0,
    8: 1.0 + 1.0 / math.sin(math.pi / 7.0),
    9: 1.0 + 1.0 / math.sin(math.pi / 8.0),
}
MOST_PASSES = max(_PACKED)


@dataclass(frozen=True)
class Barrel:
    """A barrel against the layers it goes through.

    Attributes:
        layers: how many.
        stack: how thick they are together, mm.
        fits: the length that fits, mm.
        short, long: whether the barrel is too short, or too long.
    """

    layers: int
    stack: float
    fits: float
    short: bool
    long: bool


def barrel_for(layers: int, thickness: float, length: float) -> Barrel:
    """Whether a barrel of that length goes through so many layers and rolls over behind them.

    Args:
        layers: of cloth at the eyelet.
        thickness: of each, mm.
        length: of the barrel, mm.

    Raises:
        RequestError: no layers, or a measure that is no length.
    """
    if layers < 1:
        raise RequestError(f"{layers} layers are none; give 1 or more")
    if not (0.0 < thickness < math.inf and 0.0 < length < math.inf):
        raise RequestError(f"cloth {thickness:g} mm thick and a barrel of {length:g} mm: give lengths above 0")
    stack = layers * thickness
    fits = stack + ROLLED
    return Barrel(layers, stack, fits, length < fits - SHORT - 1e-9, length > fits + LONG + 1e-9)


def packing(cords: int) -> float:
    """The width of the least circle round so many equal cords side by side, in their diameters.

    Raises:
        RequestError: there are none, or more than MOST_PASSES.
    """
    if cords not in _PACKED:
        raise RequestError(
            f"{cords} passes of a cord through one eyelet are not reckoned with: give 1 to {MOST_PASSES}"
        )
    return _PACKED[cords]


def refuse_thick_cord(cord: float, passes: int, opening: float) -> None:
    """Refuses a cord that does not go through an opening, with the opening and the cord that would work.

    Each pass is reckoned as thick as the thickest part that has to go through, a tip or a knot, and as round.

    Args:
        cord: thickness of that part, mm.
        passes: how many lie in the opening side by side.
        opening: mm.

    Raises:
        NoFitError: it does not go through.
        RequestError: as `packing`.
    """
    ratio = packing(passes)
    if ratio * cord <= opening * (1.0 + 1e-9):
        return
    # Told so that they work: the opening rounded up, the cord down.
    least, most = math.ceil(100.0 * ratio * cord - 1e-6) / 100.0, math.floor(100.0 * opening / ratio + 1e-6) / 100.0
    times = f"{passes} passes of a cord" if passes > 1 else "a cord"
    raise NoFitError(
        f"{times} {cord:.6g} mm thick {'need' if passes > 1 else 'needs'} an opening of {least:.2f} mm, and the "
        f"eyelet has {opening:.6g} mm: take an eyelet of {least:.2f} mm, or a cord of at most {most:.2f} mm at its tip"
    )
