"""A run as a group of the drawing."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from lxml import etree

from ..geometry.cubics import Array, lines
from ..geometry.motion import apply, compose, inverse
from ..pattern.laying import true_lines
from .drawing import Drawing
from .lines import stitching_text
from .markup import INKSCAPE, SVG
from .numbers import decimals, path_text, places_for
from .recipe import to_text
from .runs import Run
from .sheet import parts_at, placed_on_sheet, to_sheet
from .styles import style_of

if TYPE_CHECKING:
    from ..trim.eyelets import Eyelets
    from ..trim.notches import Notches


def group_of(run: Run, drawing: Drawing) -> etree._Element:
    """The SVG group that shows a run; it carries its recipe, so that the run can be made again."""
    pen = Pen(run, drawing)
    group = etree.Element(f"{{{SVG}}}g", nsmap={"svg": SVG, "inkscape": INKSCAPE})
    group.set("id", "scallopkit-" + (re.sub(r"[^\w.-]+", "-", run.name).strip("-") or "run"))
    group.set(f"{{{INKSCAPE}}}label", run.name)
    group.set("data-run", run.name)
    group.set("data-recipe", to_text(replace(run.recipe, made=made(run))))
    if run.scallops is not None:
        group.extend(_stitching(pen))
        group.extend(_caps(pen))
    group.extend(_true_lines(pen))
    for made_eyelets in run.eyelets:
        group.extend(_eyelets(pen, made_eyelets))
    for made_notches in run.notches:
        group.extend(_notches(pen, made_notches))
    return group


def _stitching(pen: Pen) -> list[etree._Element]:
    """The trimmed line of each part; two halves of one piece are drawn once."""
    run, out = pen.run, []
    for share, part in zip(run.shares, run.laid.parts, strict=True):
        if part.copy_of is None:
            text = stitching_text(run.line, share, partial(pen.from_flat, share.part))
            if text:
                out.append(pen.path("stitching", text, share.part))
    return out


def _caps(pen: Pen) -> list[etree._Element]:
    """What darts need at a cutting line."""
    return [
        pen.path("cutting", path_text(pen.in_units(made.cap.curve), pen.places), made.joint)
        for made in pen.run.caps
        if made.cap is not None
    ]


def _true_lines(pen: Pen) -> list[etree._Element]:
    """What would make each join true, on either piece beside it."""
    laid, out = pen.run.laid, []
    for part, curve in true_lines(laid):
        if laid.parts[part].copy_of is None:
            out.append(pen.path("true-line", path_text(pen.in_units(curve), pen.places), part))
    return out


def _eyelets(pen: Pen, placed: Eyelets) -> list[etree._Element]:
    """For each eyelet what is cut in the cloth, and where its flange will lie."""
    out = []
    parts, points = placed_on_sheet(pen.run, placed.points, placed.s)
    for part, centre in zip(parts.tolist(), points, strict=True):
        if pen.run.laid.parts[part].copy_of is None:
            out.append(pen.circle("eyelet", centre, 0.5 * placed.size.hole, part))
            out.append(pen.circle("placement", centre, 0.5 * placed.size.flange, part))
    return out


def _notches(pen: Pen, placed: Notches) -> list[etree._Element]:
    out = []
    parts, turns = parts_at(pen.run, placed.points, placed.s)
    for i, (part, turn) in enumerate(zip(parts.tolist(), turns.tolist(), strict=True)):
        if pen.run.laid.parts[part].copy_of is None:
            drawn = apply(compose(pen.from_mm, to_sheet(pen.run.laid, part, turn)), lines(placed.curve(i)))
            out.append(pen.path("notch", path_text(drawn, pen.places), part))
    return out


def made(run: Run) -> dict[str, object]:
    """What a later `refit` compares with: count, widths and length."""
    return {
        "count": run.count,
        "widths_mm": [round(w, 6) for w in run.widths],
        "length_mm": round(run.course.measured.length, 6),
    }


class Pen:
    """Draws the elements of one run in the drawing's user units."""

    def __init__(self, run: Run, drawing: Drawing) -> None:
        self.run = run
        self.from_mm: Array = inverse(drawing.to_mm)
        self.unit_mm = float(np.hypot(*drawing.to_mm[:, 0]))
        self.places = places_for(self.unit_mm)

    def in_units(self, curve: Array) -> Array:
        """A curve in mm as a curve in user units."""
        return apply(self.from_mm, curve)

    def from_flat(self, part: int, turn: int) -> Array:
        """The map from the flat frame, where elements are `turn` turns of a loop further on, to user units."""
        return compose(self.from_mm, to_sheet(self.run.laid, part, -turn))

    def path(self, role: str, d: str, part: int) -> etree._Element:
        """A path of that role on the piece of a part."""
        element = self._element("path", role, part)
        element.set("d", d)
        return element

    def circle(self, role: str, centre: Array, radius: float, part: int) -> etree._Element:
        """A circle of that role on the piece of a part; centre on the sheet and radius in mm."""
        element = self._element("circle", role, part)
        x, y = decimals(apply(self.from_mm, centre), self.places)
        element.set("cx", x)
        element.set("cy", y)
        element.set("r", decimals(np.array([radius / self.unit_mm]), self.places)[0])
        return element

    def _element(self, kind: str, role: str, part: int) -> etree._Element:
        element = etree.Element(f"{{{SVG}}}{kind}")
        element.set("data-role", role)
        element.set("data-run", self.run.name)
        element.set("data-piece", self.run.laid.parts[part].edge.piece.name)
        element.set("style", style_of(role, self.unit_mm))
        return element
