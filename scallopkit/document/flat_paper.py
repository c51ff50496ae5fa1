"""The sheet that the picture of a run laid flat is drawn on: shapes and texts as elements of an SVG document."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from lxml import etree

from ..geometry import cubics
from ..geometry.cubics import Array
from ..trim.course import CREST, VALLEY, WRAP
from ..trim.holds import GAP, PASS
from .end_to_end import NOTHING
from .lettering import Lettering
from .markup import INKSCAPE, SVG, markup
from .numbers import decimal, decimals, path_text
from .styles import LEADING, TEXTS, style_of

_PLACES = 4
_ROUND = np.linspace(0.0, 2.0 * math.pi, 17)[:-1]
# The signs of holds. Half a size wide: x across, y into the cloth; and whether they are filled.
_SIGNS: dict[str, tuple[Array, bool]] = {
    VALLEY: (np.array([(-0.9, -0.8), (0.9, -0.8), (0.0, 0.9)]), True),
    CREST: (np.array([(-0.9, 0.8), (0.9, 0.8), (0.0, -0.9)]), False),
    PASS: (0.8 * np.stack([np.cos(_ROUND), np.sin(_ROUND)], axis=1), False),
    GAP: (np.array([(-1.2, -0.45), (1.2, -0.45), (1.2, 0.45), (-1.2, 0.45)]), True),
    WRAP: (0.7 * np.stack([np.cos(_ROUND), np.sin(_ROUND)], axis=1), True),
}


@dataclass(eq=False)
class Paper:
    """What is drawn so far, in mm.

    Attributes:
        size: of the texts.
        roles: the roles of the lines and circles drawn so far, each once.
        signs: the kinds of the signs drawn so far, each with the direction into the cloth at the first of them.
    """

    size: float
    roles: list[str] = field(default_factory=list)
    signs: dict[str, Array] = field(default_factory=dict)
    _groups: dict[str, list[etree._Element]] = field(default_factory=dict)
    _labels: set[str] = field(default_factory=set)
    _lettering: Lettering = field(init=False)

    def __post_init__(self) -> None:
        self._lettering = Lettering(self.size)

    def fill(self, curve: Array, colour: str, label: str) -> None:
        """Cloth: a closed curve filled with a colour."""
        element = self._path("cloth", path_text(_written(curve), _PLACES, closed=True), label)
        element.set("data-role", "cloth")
        element.set("style", f"fill:{colour};stroke:none")
        self._lettering.include(cubics.bounds(curve))

    def stroke(self, group: str, role: str, curve: Array, label: str, d: str = "") -> None:
        """A line of a role; `d` where its path text is finer than the curve's own."""
        curve = _written(curve)
        if not len(curve):
            return
        closed = float(np.abs(curve[-1, 3] - curve[0, 0]).max()) < NOTHING
        self._give_role(self._path(group, d or path_text(curve, _PLACES, closed), label), role)
        self._lettering.keep_clear(curve)

    def circle(self, group: str, role: str, centre: Array, radius: float, label: str) -> None:
        """A circle of a role."""
        element = self._element(group, "circle", label)
        for key, value in zip(("cx", "cy", "r"), decimals(np.array([*centre, radius]), _PLACES), strict=True):
            element.set(key, value)
        self._give_role(element, role)
        angle = np.linspace(0.0, 2.0 * math.pi, 25)
        self._lettering.keep_clear(cubics.lines(centre + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)))

    def sign(self, group: str, hold: str, centre: Array, inward: Array, label: str) -> None:
        """The sign of a hold; `inward` is the direction into the cloth."""
        shape, filled = _SIGNS[hold]
        across = cubics.left(inward)
        points = centre + 0.5 * self.size * (shape[:, :1] * across + shape[:, 1:] * inward)
        curve = cubics.lines(np.concatenate([points, points[:1]]))
        element = self._path(group, path_text(curve, _PLACES, closed=True), label)
        element.set("data-role", hold)
        width = decimal(0.09 * self.size, _PLACES)
        element.set(
            "style",
            f"fill:{'#000000' if filled else '#ffffff'};stroke:#000000;stroke-width:{width};stroke-linejoin:round",
        )
        self._lettering.keep_clear(curve)
        self.signs.setdefault(hold, inward)

    def write(
        self, lines: Sequence[str], at: Array, bold: bool = False, anchor: Literal["start", "middle"] = "middle"
    ) -> None:
        """A text whose upper side begins, or has its middle, at `at`."""
        self._lettering.reserve(lines, at, bold, anchor)
        self._set(lines, at, bold, anchor)

    def name(self, lines: Sequence[str], anchor: Array, away: Array, bold: bool = False, upon: bool = False) -> None:
        """A text as near to its place as there is room, with a thin line to it where that is not near.

        Args:
            lines: the text.
            anchor: what it belongs to.
            away: the direction in which it is looked for first.
            bold: whether it is bold.
            upon: whether it may lie on its place, rather than beside it.
        """
        placed = self._lettering.place(lines, anchor, away, bold, upon)
        if placed.leader is not None:
            self.stroke("texts", "measure", cubics.lines(placed.leader), f"{lines[0]}, line")
        self._set(lines, placed.at, bold, "middle")

    def extent(self) -> Array:
        """The box [[x, y], [x, y]] round all there is."""
        return self._lettering.extent()

    def svg(self, name: str) -> bytes:
        """The document with all there is on it in one layer, named after the run."""
        low, high = self.extent()
        low, high = np.floor(low - 2.0 * self.size), np.ceil(high + 2.0 * self.size)
        x, y, width, height = decimals(np.concatenate([low, high - low]), _PLACES)
        root = etree.Element(f"{{{SVG}}}svg", nsmap={"svg": SVG, "inkscape": INKSCAPE})
        root.set("width", f"{width}mm")
        root.set("height", f"{height}mm")
        root.set("viewBox", f"{x} {y} {width} {height}")
        title = etree.SubElement(root, f"{{{SVG}}}title")
        title.text = f"{name}, laid flat as sewn"
        layer = etree.SubElement(root, f"{{{SVG}}}g")
        layer.set("id", "laid-flat")
        layer.set(f"{{{INKSCAPE}}}groupmode", "layer")
        layer.set(f"{{{INKSCAPE}}}label", f"{name}, laid flat")
        for label, elements in self._groups.items():
            group = etree.SubElement(layer, f"{{{SVG}}}g")
            group.set(f"{{{INKSCAPE}}}label", label)
            group.extend(elements)
        text = markup(root, {}, "\n")
        return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()

    @property
    def _unit(self) -> float:
        """What style sizes are divided by, so that lines grow with the texts."""
        return TEXTS["label"].size_mm / self.size

    def _give_role(self, element: etree._Element, role: str) -> None:
        element.set("data-role", role)
        element.set("style", style_of(role, self._unit))
        if role not in self.roles:
            self.roles.append(role)

    def _set(self, lines: Sequence[str], at: Array, bold: bool, anchor: str) -> None:
        """The elements of a text."""
        element = self._element("texts", "text", lines[0])
        element.set("data-role", "label")
        weight = ";font-weight:bold" if bold else ""
        element.set("style", f"{style_of('label', self._unit)};text-anchor:{anchor}{weight}")
        for i, line in enumerate(lines):
            span = etree.SubElement(element, f"{{{SVG}}}tspan")
            x, y = decimals(np.array([at[0], at[1] + (i + 0.85) * LEADING * self.size]), _PLACES)
            span.set("x", x)
            span.set("y", y)
            span.text = line

    def _path(self, group: str, d: str, label: str) -> etree._Element:
        element = self._element(group, "path", label)
        element.set("d", d)
        return element

    def _element(self, group: str, kind: str, label: str) -> etree._Element:
        """A new element with a label of its own."""
        own, number = label, 1
        while own in self._labels:
            number += 1
            own = f"{label} ({number})"
        self._labels.add(own)
        element = etree.Element(f"{{{SVG}}}{kind}", nsmap={"inkscape": INKSCAPE})
        element.set(f"{{{INKSCAPE}}}label", own)
        self._groups.setdefault(group, []).append(element)
        return element


def _written(curve: Array) -> Array:
    """The curve without what is too short to be written."""
    return np.asarray(curve[np.ptp(curve, axis=1).max(axis=1) > NOTHING])
