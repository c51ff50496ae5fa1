"""A run as a group of the drawing."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from lxml import etree

from ..geometry.cubics import Array, lines
from ..geometry.motion import apply, inverse
from .drawing import Drawing
from .lines import stitching_text
from .markup import INKSCAPE, SVG
from .numbers import decimals, path_text, places_for
from .recipe import to_text
from .runs import Run
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
    if run.scallops is not None and run.fit is not None:
        group.append(pen.path("stitching", stitching_text(run.scallops, run.course, pen.from_mm, run.stops)))
    for made_eyelets in run.eyelets:
        group.extend(_eyelets(pen, made_eyelets))
    for made_notches in run.notches:
        group.extend(_notches(pen, made_notches))
    return group


def _eyelets(pen: Pen, placed: Eyelets) -> list[etree._Element]:
    """For each eyelet what is cut in the cloth, and where its flange will lie."""
    out = []
    for centre in placed.points:
        out.append(pen.circle("eyelet", centre, 0.5 * placed.size.hole))
        out.append(pen.circle("placement", centre, 0.5 * placed.size.flange))
    return out


def _notches(pen: Pen, placed: Notches) -> list[etree._Element]:
    return [pen.path("notch", path_text(pen.in_units(lines(placed.curve(i))), pen.places)) for i in range(len(placed))]


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

    def path(self, role: str, d: str) -> etree._Element:
        """A path of that role."""
        element = self._element("path", role)
        element.set("d", d)
        return element

    def circle(self, role: str, centre: Array, radius: float) -> etree._Element:
        """A circle of that role; centre and radius in mm."""
        element = self._element("circle", role)
        x, y = decimals(apply(self.from_mm, centre), self.places)
        element.set("cx", x)
        element.set("cy", y)
        element.set("r", decimals(np.array([radius / self.unit_mm]), self.places)[0])
        return element

    def _element(self, kind: str, role: str) -> etree._Element:
        element = etree.Element(f"{{{SVG}}}{kind}")
        element.set("data-role", role)
        element.set("data-run", self.run.name)
        element.set("data-piece", self.run.edge.piece.name)
        element.set("style", style_of(role, self.unit_mm))
        return element
