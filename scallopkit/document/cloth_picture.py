"""A picture of pieces laid on cloth, as SVG that stands in a page by itself."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np

from ..construction.cloth_layout import FOLDED, ClothLayout, PlacedShape
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.winding import winding
from .lettering import text_extent
from .numbers import decimal, path_text
from .roomy import roomiest
from .styles import LEADING

# Of the picture's larger side the letters of labels take these shares: the largest, and the least that can be read.
_LARGE, _LEAST = 0.016, 0.008
# A line's width, likewise, and half the length of a grain line.
_LINE, _GRAIN = 0.0012, 0.03
_PLACES = 1
_SIDES = (-0.5, 0.5)
_SHAPE, _HALF_USED, _CLOTH, _INK, _SOFT = "#ffffff", "#e4e4e4", "#f3eee2", "#111111", "#777777"


def cloth_picture(layout: ClothLayout, called: str) -> tuple[str, list[str]]:
    """The cloth with its cut end at the left, a fold or a selvage below, and the shapes with their names.

    Returns:
        The picture as SVG, and what the numbers on it stand for, as "1: tie": the names that found no room.
    """
    width, length = layout.cloth.laid_width, layout.length
    large = max(width, length)
    size, line = _LARGE * large, _LINE * large
    onto = np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, width]])
    box = (-2.5 * size, -2.5 * size, length + 5.0 * size, width + 6.0 * size)
    view = " ".join(decimal(value, _PLACES) for value in box)
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" role="img" aria-label="{escape(called)} with its '
        f'pieces laid on it" font-family="sans-serif" fill="{_INK}" stroke="none">',
        _rect(0.0, 0.0, length + size, width, f'fill="{_CLOTH}"'),
    ]
    labels = _labels(layout, onto, large)
    for shape, label in zip(layout.placed, labels, strict=True):
        rings = [motion.apply(onto, ring) for ring in shape.rings]
        path = " ".join(path_text(ring, _PLACES, closed=True) for ring in rings)
        fill = _HALF_USED if layout.cloth.lies == FOLDED and shape.layers == 1 else _SHAPE
        out.append(f'<path d="{path}" fill="{fill}" fill-rule="evenodd" stroke="{_INK}" stroke-width="{line:.2f}"/>')
        out += _grain(shape, rings, label, large)
        out += _written(label)
    out += _edges(layout, size, line)
    out += _measured(length, width, size, line)
    pairs = [(label.lines[0], shape.name) for shape, label in zip(layout.placed, labels, strict=True) if label.number]
    return "".join([*out, "</svg>"]), [f"{number}: {name}" for number, name in dict.fromkeys(pairs)]


@dataclass(frozen=True, eq=False)
class _Label:
    """What is written on a shape: lines about a middle, turned by degrees; or its number."""

    lines: tuple[str, ...]
    at: Array
    angle: float
    size: float
    number: bool = False


# ---------------------------------------------------------------- names


def _labels(layout: ClothLayout, onto: Array, large: float) -> list[_Label]:
    """What is written on each shape: its name, or a number where that finds no room."""
    numbers: dict[str, int] = {}
    out = []
    for shape in layout.placed:
        ring = max((motion.apply(onto, one) for one in shape.rings), key=lambda one: abs(cubics.area(one)))
        others = [motion.apply(onto, one) for one in shape.rings if len(shape.rings) > 1]
        at = roomiest(ring, others)
        found = _fitting(_texts(shape, layout.cloth.lies), ring, at, large)
        if found is None:
            number = (str(numbers.setdefault(shape.name, len(numbers) + 1)),)
            fitted = _fitting([number], ring, at, large)
            out.append(_Label(number, at, 0.0, _LEAST * large if fitted is None else fitted[2], number=True))
        else:
            out.append(_Label(found[0], at, *found[1:]))
    return out


def _texts(shape: PlacedShape, lies: str) -> list[tuple[str, ...]]:
    """What is written on a shape, in lines of several lengths."""
    how = "on the fold" if shape.on_fold else "one layer" if lies == FOLDED and shape.layers == 1 else ""
    if lies != FOLDED and shape.flipped:
        how = "face down"
    words = shape.name.split()
    names = [(shape.name,), *((" ".join(words[:k]), " ".join(words[k:])) for k in range(1, len(words)))]
    long = [(f"{shape.name}, {how}",)] if how else []
    return [*long, *((*name, how) if how else name for name in names)]


def _fitting(
    texts: Sequence[tuple[str, ...]], ring: Array, at: Array, large: float
) -> tuple[tuple[str, ...], float, float] | None:
    """The text, its turn and its size, as large as it fits into a closed line about a place."""
    steps = np.linspace(-1.0, 1.0, 9)
    frame = np.array([(x, y) for x in steps for y in (-1.0, 1.0)] + [(x, y) for x in (-1.0, 1.0) for y in steps])
    for share in np.geomspace(_LARGE, _LEAST, 6).tolist():
        for text in texts:
            half = 0.5 * np.array(text_extent(text, share * large))
            for angle, turned in ((0.0, frame * half), (-90.0, frame * half[::-1])):
                if (winding(ring, at + turned) != 0).all():
                    return text, angle, share * large
    return None


def _written(label: _Label) -> list[str]:
    words, at, angle, size = label.lines, label.at, label.angle, label.size
    x, y = (decimal(float(value), _PLACES) for value in at)
    turn = f' transform="rotate({angle:g} {x} {y})"' if angle else ""
    first = 0.35 * size - 0.5 * (len(words) - 1) * LEADING * size
    rows = [
        f'<tspan x="{x}" y="{decimal(float(at[1]) + first + k * LEADING * size, _PLACES)}">{escape(word)}</tspan>'
        for k, word in enumerate(words)
    ]
    return [f'<text text-anchor="middle" font-size="{decimal(size, _PLACES)}"{turn}>{"".join(rows)}</text>']


# ---------------------------------------------------------------- lines and measures


def _grain(shape: PlacedShape, rings: Sequence[Array], label: _Label, large: float) -> list[str]:
    """A grain line with heads above or below the label, where there is room for it: it always runs along the cloth."""
    if shape.grain is None or label.number:
        return []
    half, head = _GRAIN * large, 0.25 * _GRAIN * large
    wide, high = text_extent(label.lines, label.size)
    clear = 0.5 * (wide if label.angle else high) + head
    corners = np.array([(x, y) for x in (-half - head, 0.0, half + head) for y in (-head, head)])
    for beside in (clear, -clear):
        x, y = float(label.at[0]), float(label.at[1]) + beside
        if all((winding(ring, corners + np.array([x, y])) != 0).all() for ring in rings[:1]):
            a, b = x - half, x + half
            lines = [
                (end, y, end + way * head, y + side * head) for end, way in ((a, 1.0), (b, -1.0)) for side in _SIDES
            ]
            return [_lines([(a, y, b, y), *lines], _LINE * large, _SOFT)]
    return []


def _edges(layout: ClothLayout, size: float, line: float) -> list[str]:
    """The selvages, or the fold below with both selvages above."""
    width, end, folded = layout.cloth.laid_width, layout.length + size, layout.cloth.lies == FOLDED
    dashes = f' stroke-dasharray="{4 * size:.1f} {0.5 * size:.1f} {0.5 * size:.1f} {0.5 * size:.1f}"' if folded else ""
    out = [
        _lines([(0.0, 0.0, end, 0.0), (0.0, 0.0, 0.0, width)], 2.0 * line, _INK),
        _lines([(0.0, width, end, width)], (3.0 if folded else 2.0) * line, _INK, dashes),
    ]
    told = [("both selvages" if folded else "selvage", -0.5 * size), ("fold" if folded else "selvage", width + size)]
    for words, y in told:
        out.append(f'<text x="{0.5 * end:.1f}" y="{y:.1f}" text-anchor="middle" font-size="{size:.1f}">{words}</text>')
    x, y, mm = -0.8 * size, 0.5 * width, f"{layout.cloth.laid_width:g} mm" + (", folded" if folded else "")
    out.append(
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="middle" font-size="{size:.1f}" '
        f'transform="rotate(-90 {x:.1f} {y:.1f})">{mm}</text>'
    )
    return out


def _measured(length: float, width: float, size: float, line: float) -> list[str]:
    """The length that is used, below."""
    y, up = width + 2.0 * size, 0.4 * size
    ends = [(0.0, y - up, 0.0, y + up), (length, y - up, length, y + up)]
    return [
        _lines([(0.0, y, length, y), *ends], line, _INK),
        _lines([(length, 0.0, length, width)], line, _SOFT, f' stroke-dasharray="{0.5 * size:.1f}"'),
        f'<text x="{0.5 * length:.1f}" y="{y + 1.2 * size:.1f}" text-anchor="middle" font-size="{size:.1f}">'
        f"{math.ceil(length)} mm</text>",
    ]


def _lines(lines: Sequence[tuple[float, float, float, float]], width: float, colour: str, more: str = "") -> str:
    path = " ".join(f"M {a:.1f},{b:.1f} L {c:.1f},{d:.1f}" for a, b, c, d in lines)
    return f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{width:.2f}"{more}/>'


def _rect(x: float, y: float, width: float, height: float, more: str) -> str:
    return f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" {more}/>'
