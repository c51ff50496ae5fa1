"""Paths of svgpathtools in and out, for Python users; the library is loaded only here, and only when asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..errors import DrawingError, RequestError
from ..geometry.motion import inverse
from ..trim.sharing import whole
from .drawing import Drawing
from .lines import stitching_text
from .numbers import decimal
from .reader import read_drawing
from .runs import Run

if TYPE_CHECKING:
    from svgpathtools import Path


def drawing_of(path: Path, mm: float = 1.0, name: str = "path") -> Drawing:
    """A drawing whose one piece is a path of svgpathtools.

    Args:
        path: the outline; one that ends where it starts is closed.
        mm: how many mm one unit of the path is.
        name: what the piece is called.

    Raises:
        DrawingError: the path is empty or holds something that can't be read.
    """
    if not len(path):
        raise DrawingError("the path has no segments; give it at least one line or curve")
    left, right, top, bottom = path.bbox()
    width, height = max(right - left, 1e-9), max(bottom - top, 1e-9)
    if not np.isfinite([left, right, top, bottom, mm]).all() or mm <= 0.0:
        raise DrawingError("the path or its unit is not finite; give it finite coordinates and a unit above 0")
    d = path.d()
    if path.iscontinuous() and path.start == path.end and not d.rstrip().upper().endswith("Z"):
        d += " Z"
    box = " ".join(decimal(value, 12) for value in (left, top, width, height))
    size = f'width="{decimal(width * mm, 12)}mm" height="{decimal(height * mm, 12)}mm"'
    source = (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} viewBox="{box}">'
        f'<path id="{name}" fill="none" stroke="#000000" d="{d}"/></svg>'
    )
    return read_drawing(source.encode(), name)


def path_of(run: Run, drawing: Drawing) -> Path:
    """The scalloped line of a run as a path of svgpathtools, in the drawing's user units.

    A run over several edges gives the line as it lies flat.

    Raises:
        RequestError: the run has no scallops.
    """
    from svgpathtools import parse_path

    if run.scallops is None:
        raise RequestError(f'the run "{run.name}" has no scallops to give as a path')
    return parse_path(stitching_text(run.line, whole(run.line), lambda _: inverse(drawing.to_mm)))
