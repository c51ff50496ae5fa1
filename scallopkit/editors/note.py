"""A note of what was done, written into our layer in a free place, since an editor has no other quiet way to tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import chain

import numpy as np

from ..document.beside import Item, free_places, taken_by_others
from ..document.drawing import Drawing
from ..document.group import empty_group
from ..document.ink import Ink
from ..document.layer import replace_groups
from ..document.lettering import text_extent, wrapped
from ..document.recipe import NOTES, note_to_text

# What the note's group is called.
NAME = NOTES[0]
# Letters in mm: read on the screen and on paper, and lines about so long.
_SIZE, _LINE = 3.5, 150.0


def with_note(drawing: Drawing, source: bytes, lines: Sequence[str]) -> bytes:
    """A drawing's bytes with a note put in, in the place of the one before.

    Args:
        drawing: the drawing as it was read; its outlines are kept clear of.
        source: its bytes as they are now, with what was made.
        lines: the text; long lines are parted.

    Raises:
        DrawingError: the bytes are no drawing.
    """
    now = replace(drawing, source=source)
    text = list(chain.from_iterable(wrapped(line, _LINE, _SIZE) for line in lines))
    width, height = text_extent(text, _SIZE)
    (shift,) = free_places(now, taken_by_others(now, (NAME,)), [Item(np.zeros(2), np.array([width, height]))])
    ink, group = Ink(NAME, drawing), empty_group(NAME, note_to_text())
    group.append(ink.text(text, shift + np.array([0.0, _SIZE]), _SIZE, "", middle=False))
    return replace_groups(source, {NAME: group})


def without_note(source: bytes) -> bytes:
    """A drawing's bytes without the note."""
    return replace_groups(source, {}, remove=(NAME,))
