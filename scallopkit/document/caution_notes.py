"""Cautions written on the drawing beside the pattern, where a cord or a loose part is planned."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from lxml import etree

from ..construction.cautions import of_loose_parts
from ..geometry.cubics import Array
from .ink import Ink
from .lettering import one_line, text_extent, wrapped
from .markup import CLEAR
from .runs import Run
from .styles import LEADING

# Letters in mm: read on the screen and on paper, in lines about so long.
SIZE, BREADTH = 3.5, 150.0


@dataclass(frozen=True, eq=False)
class Note:
    """Cautions as they are written.

    Attributes:
        name: what the note is called.
        lines: its text.
    """

    name: str
    lines: tuple[str, ...]

    @property
    def high(self) -> Array:
        """The far corner (2,) of its box, which begins at the origin, mm."""
        return note_extent(self.lines)


def notes_of(run: Run) -> tuple[Note, ...]:
    """The note of a run with a cord or loose parts; none where there is nothing to say, or its lacing says it."""
    cord = any(words.cord for words in run.recipe.eyelets)
    if run.lacing is not None or not (cord or (run.eyelets and of_loose_parts(run.recipe.wearer))):
        return ()
    called = one_line(run.name)
    return (Note(f"{called} caution", (f"{called}:", *caution_lines(run.cautions))),)


def caution_lines(told: Sequence[str]) -> tuple[str, ...]:
    """Cautions in lines that can be read."""
    return tuple(line for one in told for line in wrapped(f"caution: {one}", BREADTH, SIZE))


def note_extent(lines: Sequence[str]) -> Array:
    """How wide and high (2,) a note is, mm."""
    return np.array(text_extent(lines, SIZE))


def note_element(ink: Ink, lines: Sequence[str], corner: Array, piece: str) -> etree._Element:
    """A note's text, whose upper left corner is at a place on the sheet in mm."""
    element = ink.text(lines, corner + np.array([0.0, 0.85 * LEADING * SIZE]), SIZE, piece, middle=False)
    element.set(CLEAR, "yes")
    return element
