"""A drawing as read: its pattern in millimetres, and the way back to its own bytes and units."""

from __future__ import annotations

from dataclasses import dataclass

from ..geometry.cubics import Array
from ..pattern.piece import Pattern


@dataclass(frozen=True, eq=False)
class Drawing:
    """One SVG drawing.

    Attributes:
        pattern: its pieces and marks, in mm.
        source: the bytes it was read from, kept so that what is not ours is written back as it was.
        to_mm: the map (2, 3) from the root's user units to mm; it keeps shapes.
        name: the file's name, for messages.
        size_mm: width and height of the page in mm, or None where the drawing does not say.
    """

    pattern: Pattern
    source: bytes
    to_mm: Array
    name: str
    size_mm: tuple[float, float] | None
