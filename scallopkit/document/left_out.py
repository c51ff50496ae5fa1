"""What of a maker's drawing is not on paper as it is on the screen: nothing of it is left out without a word."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from lxml import etree

from ..errors import DrawingError
from ..pattern.piece import Warn
from .drawing import Drawing
from .drawn import is_seen, text_of, to_mm
from .markup import SVG
from .names import described, kind_of, words_in
from .source import parse_xml

# What has no lines and no letters of its own.
_PICTURES = frozenset({"image", "foreignObject"})
_TOLD = 8


def left_out(drawing: Drawing) -> list[Warn]:
    """What is not drawn at all, and the texts that are written otherwise than they stand there, in a line each."""
    root = parse_xml(drawing.source, drawing.name)
    seen = [one for one in root.iter(f"{{{SVG}}}*") if kind_of(one) in (*_PICTURES, "text") and is_seen(one)]
    missing = [one for one in seen if kind_of(one) in _PICTURES or (words_in(one) and not text_of(drawing, root, one))]
    written = [one for one in seen if one not in missing and words_in(one)]
    return [
        *_warn(missing, "not-on-paper", "not on paper", "pictures and texts along a path can't be printed"),
        *_warn(
            [one for one in written if _is_joined(one)], "text-joined", "in one row on paper", "its rows have no y each"
        ),
        *_warn(
            [one for one in written if _is_mirrored(drawing, root, one)],
            "text-turned",
            "not mirrored on paper",
            "letters are written so that they can be read",
        ),
    ]


def _warn(found: list[etree._Element], code: str, what: str, why: str) -> Iterator[Warn]:
    if found:
        more = f" and {len(found) - _TOLD} more" if len(found) > _TOLD else ""
        names = ", ".join(described(one) for one in found[:_TOLD])
        yield Warn(code, f"{what}: {names}{more} ({why})")


def _is_joined(text: etree._Element) -> bool:
    """Whether its rows are told by how far each lies below the one before."""
    parts = [part for part in text.iter(f"{{{SVG}}}tspan") if words_in(part)]
    return any(part.get("dy") not in (None, "0") and part.get("y") is None for part in parts[1:])


def _is_mirrored(drawing: Drawing, root: etree._Element, text: etree._Element) -> bool:
    try:
        onto = to_mm(drawing, root, text)
    except DrawingError:
        return False
    return bool(np.linalg.det(onto[:, :2]) < 0.0)
