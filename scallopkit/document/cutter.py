"""Files for plotters and cutting machines: DXF, and plain SVG, with a layer for each role.

The layers are called by the words of the roles, and each has a colour of its own (a table of ours), so that a machine
can be told what to cut, what to draw and what to leave out.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from html import escape
from typing import Any

import numpy as np

from ..errors import RequestError, ScallopkitError
from ..geometry import cubics
from ..geometry.cubics import Array
from .drawing import Drawing
from .drawn import END, MARK, MIDDLE, OUTLINE, START, Drawn, DrawnLine, DrawnText, chosen_lines
from .markup import attribute
from .numbers import decimal, path_text
from .styles import LINES
from .units import parse_length

CURVES, POLYLINES = "curves", "polylines"
KINDS = (POLYLINES, CURVES)
FORMATS = (".dxf", ".svg")

# One colour a role: of its own, and far enough from the others to be told on a machine's screen.
COLOURS: dict[str, str] = {
    OUTLINE: "#404040",
    MARK: "#202080",
    "cutting": "#D00000",
    "stitching": "#0050D0",
    "clip": "#FF8000",
    "wedge": "#B05A00",
    "eyelet": "#C000C0",
    "notch": "#000000",
    "facing": "#008040",
    "lining": "#00A0A0",
    "interlining": "#60B000",
    "fold": "#7030A0",
    "grain": "#808080",
    "true-line": "#5090FF",
    "pleat": "#004080",
    "cord": "#FF60B0",
    "patch": "#A08000",
    "template": "#803030",
    "placement": "#9060FF",
    "label": "#A0A0A0",
}
# In SVG, where the drawing has no dashes for a role, mm. What is cut stays whole: the first dash is longer than any
# hole, clip or notch, and the cutting line has none. Letters are filled.
_DASHES: dict[str, tuple[float, ...]] = {
    OUTLINE: (12.0, 1.0),
    MARK: (1.0, 0.5),
    "eyelet": (500.0, 1.0),
    "clip": (400.0, 1.0),
    "notch": (300.0, 1.0),
    "cord": (6.0, 1.0),
    "template": (15.0, 1.5, 1.0, 1.5),
}
# How far polylines may lie off curves, unless told: less than a pen or a knife is wide (common practice, no source).
_WITHIN = "0.05mm"
_PLACES = 5


def cutter(
    drawing: Drawing,
    ending: str,
    *,
    kind: str = "",
    within: str = "",
    show: Sequence[str] = (),
    hide: Sequence[str] = (),
    pieces: Sequence[str] = (),
    everything: Drawn | None = None,
) -> bytes:
    """A drawing's lines as a file for a machine.

    Args:
        drawing: the drawing.
        ending: .dxf or .svg.
        kind: POLYLINES or CURVES (splines in DXF); SVG has curves unless polylines are asked for.
        within: how far polylines may lie off curves.
        show: the roles that are wanted; all if none are named.
        hide: the roles that are not.
        pieces: names of pieces; all if none are named.
        everything: all lines and texts of the drawing, where they were read before.

    Raises:
        ScallopkitError: a word can't be read, or nothing is left.
    """
    if ending.lower() not in FORMATS:
        raise RequestError(f"a file for machines ends in {' or '.join(FORMATS)}, not in {ending or 'nothing'!r}")
    if kind and kind not in KINDS:
        raise RequestError(f"--lines can be {' or '.join(KINDS)}, not {kind!r}")
    tolerance = parse_length(within or _WITHIN, "--within", "positive")
    lines, texts = chosen_lines(drawing, show, hide, pieces, everything)
    if not lines and not texts:
        raise RequestError("nothing of the drawing is left: choose other lines or pieces, or leave them out")
    if ending.lower() == ".dxf":
        return _dxf(lines, texts, tolerance, splines=kind == CURVES)
    return _svg(drawing, lines, texts, tolerance, polylines=kind == POLYLINES)


# ---------------------------------------------------------------- DXF


def _dxf(lines: Sequence[DrawnLine], texts: Sequence[DrawnText], tolerance: float, splines: bool) -> bytes:
    try:
        import ezdxf
    except ImportError as error:
        raise ScallopkitError("DXF needs one more library: pip install ezdxf") from error
    library: Any = ezdxf
    before = library.options.write_fixed_meta_data_for_testing
    # The same drawing gives the same bytes: without dates and names made by chance.
    library.options.write_fixed_meta_data_for_testing = True
    try:
        document = library.new("R2010", units=4)
        # Millimetres, and metric besides: $INSUNITS 4, $MEASUREMENT 1.
        document.header["$MEASUREMENT"] = 1
        space = document.modelspace()
        for role in dict.fromkeys([*(line.role for line in lines), *(text.role for text in texts)]):
            document.layers.add(role, true_color=int(COLOURS.get(role, "#000000")[1:], 16))
        for line in lines:
            _entity(space, line, tolerance, splines)
        for text in texts:
            for words, place in text.rows:
                entity = space.add_text(words, height=0.7 * text.size, dxfattribs={"layer": text.role})
                entity.dxf.rotation = -float(np.degrees(text.angle))
                entity.set_placement((float(place[0]), -float(place[1])), align=_align(text))
        # The library lists classes in the order of a set, which is another one in each process.
        document.classes.add_required_classes(document.dxfversion)
        listed = document.classes.classes
        for name in sorted(listed):
            listed[name] = listed.pop(name)
        out = io.StringIO()
        document.write(out)
    finally:
        library.options.write_fixed_meta_data_for_testing = before
    return out.getvalue().encode("utf-8")


def _entity(space: Any, line: DrawnLine, tolerance: float, splines: bool) -> None:  # noqa: ANN401  # the library's own
    attributes = {"layer": line.role}
    curve = line.curve * np.array([1.0, -1.0])
    if not splines or _is_straight(curve):
        points = cubics.flatten(curve, tolerance)
        points = points[:-1] if line.closed else points
        space.add_lwpolyline(points.tolist(), close=line.closed, dxfattribs=attributes)
        return
    spline = space.add_spline(degree=3, dxfattribs=attributes)
    control = np.concatenate([curve[:1, 0], curve[:, 1:].reshape(-1, 2)])
    spline.control_points = [(float(x), float(y), 0.0) for x, y in control]
    # Each segment is a Bézier curve of its own: every inner knot three times, the first and the last four times.
    inner = np.repeat(np.arange(1, len(curve)), 3)
    spline.knots = [0.0] * 4 + inner.astype(float).tolist() + [float(len(curve))] * 4
    spline.closed = line.closed


def _is_straight(curve: Array) -> bool:
    legs = np.diff(curve, axis=1)
    ends = curve[:, 3] - curve[:, 0]
    return bool(np.abs(cubics.cross(legs, ends[:, None])).max() <= 1e-9 * max(1.0, float(np.abs(ends).max())))


def _align(text: DrawnText) -> Any:  # noqa: ANN401  # the library's own kind
    from ezdxf.enums import TextEntityAlignment

    kinds = {MIDDLE: TextEntityAlignment.CENTER, END: TextEntityAlignment.RIGHT}
    return kinds.get(text.anchor, TextEntityAlignment.LEFT)


# ---------------------------------------------------------------- SVG


def _svg(
    drawing: Drawing, lines: Sequence[DrawnLine], texts: Sequence[DrawnText], tolerance: float, polylines: bool
) -> bytes:
    boxes = [cubics.bounds(line.curve) for line in lines]
    boxes += [np.array([place, place]) for text in texts for _, place in text.rows]
    low = np.floor(np.min([box[0] for box in boxes], axis=0)) - 1.0
    high = np.ceil(np.max([box[1] for box in boxes], axis=0)) + 1.0
    x, y, width, height = (decimal(float(v), 0) for v in (*low, *(high - low)))
    out = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="{x} {y} {width} {height}">',
    ]
    for role in dict.fromkeys([*(line.role for line in lines), *(text.role for text in texts)]):
        dashes = ",".join(decimal(part, 2) for part in dashes_of(role)) or "none"
        colour = COLOURS.get(role, "#000000")
        out.append(f'<g id="{role}" fill="none" stroke="{colour}" stroke-width="0.1" stroke-dasharray="{dashes}">')
        out += [_path(line, tolerance, polylines) for line in lines if line.role == role]
        out += [_words(text, colour) for text in texts if text.role == role]
        out.append("</g>")
    return "\n".join([*out, "</svg>", ""]).encode("utf-8")


def dashes_of(role: str) -> tuple[float, ...]:
    """The dashes and gaps in mm by which lines of a role are told apart in SVG, each its own; none for whole lines."""
    own = LINES.get(role)
    return (own.dashes_mm if own is not None else ()) or _DASHES.get(role, ())


def _path(line: DrawnLine, tolerance: float, polylines: bool) -> str:
    curve = cubics.lines(cubics.flatten(line.curve, tolerance)) if polylines else line.curve
    return f"<path{attribute('d', path_text(curve, _PLACES, line.closed))}/>"


def _words(text: DrawnText, colour: str) -> str:
    rows = []
    for words, place in text.rows:
        x, y = (decimal(float(v), _PLACES) for v in place)
        turn = f' transform="rotate({decimal(float(np.degrees(text.angle)), 3)} {x} {y})"' if text.angle else ""
        anchor = f' text-anchor="{text.anchor}"' if text.anchor != START else ""
        size = decimal(text.size, 3)
        written = escape(words, quote=False)
        rows.append(
            f'<text x="{x}" y="{y}" font-family="sans-serif" font-size="{size}" fill="{colour}" stroke="none"'
            f"{anchor}{turn}>{written}</text>"
        )
    return "\n".join(rows)
