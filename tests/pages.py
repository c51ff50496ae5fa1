"""PDF pages read back by an independent library, as strokes and words in mm from the upper left corner."""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from pypdf import PdfReader
from pypdf.generic import ContentStream

from scallopkit.geometry.cubics import Array

MM = 25.4 / 72.0


@dataclass
class Page:
    """What a page draws.

    Attributes:
        width, height: of its MediaBox, mm.
        strokes: for each stroked path its points, handles of curves among them (k, 2).
        dashes: for each stroked path its dashes (on, off, …; empty for solid), and how far into them it begins.
        windows: the rectangles (2, 2) that it was clipped to.
        words: each text with the place where it begins.
    """

    width: float
    height: float
    strokes: list[Array] = field(default_factory=list)
    dashes: list[tuple[Array, float]] = field(default_factory=list)
    windows: list[Array] = field(default_factory=list)
    words: list[tuple[str, Array]] = field(default_factory=list)


def read_pages(data: bytes) -> list[Page]:
    return [_read(page) for page in PdfReader(io.BytesIO(data)).pages]


def _read(page: Any) -> Page:  # noqa: ANN401  # the library's own kind
    box = page.mediabox
    out = Page(float(box.width) * MM, float(box.height) * MM)
    _draw(out, page.get_contents(), page, page.pdf, START, float(box.height))
    page.extract_text(
        visitor_text=lambda text, cm, tm, *_: (
            out.words.append((text.strip(), _word_place(cm, tm, float(box.height)))) if text.strip() else None
        )
    )
    return out


START = np.array([[1.0, 0.0], [0.0, 1.0], [0.0, 0.0]])


def _draw(out: Page, contents: Any, owner: Any, pdf: Any, matrix: Array, high: float) -> None:  # noqa: ANN401  # as above
    """What the contents of a page, or of a form drawn on it, stroke and clip to."""

    def place(points: list[list[float]]) -> Array:
        moved = np.array(points).reshape(-1, 2) @ matrix[:2] + matrix[2]
        return np.stack([moved[:, 0], high - moved[:, 1]], axis=1) * MM

    saved: list[tuple[Array, tuple[Array, float]]] = []
    dashes = np.zeros(0), 0.0
    path: list[list[float]] = []
    clips = False
    for operands, operator in ContentStream(contents, pdf).operations:
        v = [float(value) for value in operands] if operator in (b"cm", b"m", b"l", b"c", b"re") else []
        if operator == b"q":
            saved.append((matrix, dashes))
        elif operator == b"Q":
            matrix, dashes = saved.pop()
        elif operator == b"cm":
            matrix = _within(matrix, v)
        elif operator in (b"m", b"l", b"c"):
            path.append(v)
        elif operator == b"re":
            x, y, w, h = v
            path.append([x, y, x + w, y, x + w, y + h, x, y + h, x, y])
        elif operator == b"d":
            dashes = np.array([float(value) for value in operands[0]]) * MM, float(operands[1]) * MM
        elif operator in (b"W", b"W*"):
            clips = True
        elif operator in (b"S", b"s", b"n"):
            points = place([value for part in path for value in np.array(part).reshape(-1, 2).tolist()])
            if operator != b"n":
                out.strokes.append(points)
                out.dashes.append(dashes)
            elif clips:
                out.windows.append(np.stack([points.min(axis=0), points.max(axis=0)]))
            path, clips = [], False
        elif operator == b"Do":
            form = owner["/Resources"]["/XObject"][operands[0]].get_object()
            if form["/Subtype"] == "/Form":
                own = [float(value) for value in form.get("/Matrix", (1, 0, 0, 1, 0, 0))]
                _draw(out, form, form, pdf, _within(matrix, own), high)


def _within(matrix: Array, v: list[float]) -> Array:
    linear, shift = np.array(v[:4]).reshape(2, 2), np.array(v[4:])
    return np.concatenate([linear @ matrix[:2], [shift @ matrix[:2] + matrix[2]]])


def _word_place(cm: list[float], tm: list[float], high: float) -> Array:
    x = tm[4] * cm[0] + tm[5] * cm[2] + cm[4]
    y = tm[4] * cm[1] + tm[5] * cm[3] + cm[5]
    return np.array([x, high - y]) * MM
