"""Runs as they stand written in a drawing: their groups, and the lines in them with their nodes, in millimetres."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from lxml import etree

from ..errors import DrawingError
from ..geometry.cubics import Array, Bools, cross, reverse
from ..geometry.motion import apply
from .drawing import Drawing
from .drawn import to_mm
from .markup import SEWN_FOR, SVG
from .number_lists import NUMBER, SEPARATOR
from .path_data import read_path
from .recipe import is_run
from .sewing import Complex
from .source import parse_xml
from .transforms import stretches

STITCHING, TRUE_LINE = "stitching", "true-line"
# Of what arcs may be off, mm.
_ACCURACY = 1e-6
# How far the handles of a segment may lie off its chord, mm, for it to be straight: far more than what rounding of the
# written numbers moves them, far less than the bulge of any scallop.
_BENT = 1e-3
_ARCS = re.compile(r"([Aa])([^MmZzLlHhVvCcSsQqTtAa]*)")
_ARC = re.compile(
    rf"{NUMBER}{SEPARATOR}{NUMBER}{SEPARATOR}{NUMBER}{SEPARATOR}[01]{SEPARATOR}[01]{SEPARATOR}"
    rf"({NUMBER}){SEPARATOR}({NUMBER})"
)
_CLOSE = re.compile(r"\s*[Zz]\s*$")


@dataclass(frozen=True, eq=False)
class Stroke:
    """One unbroken line, mm.

    Attributes:
        curve: its cubics (n, 4, 2).
        nodes: where the written segments meet, ends included (k + 1,).
        straight: which of the segments are straight (k,).
    """

    curve: Array
    nodes: Complex
    straight: Bools

    @property
    def reversed(self) -> Stroke:
        """The same line walked the other way."""
        return Stroke(reverse(self.curve), self.nodes[::-1], self.straight[::-1])


@dataclass(frozen=True, eq=False)
class Line:
    """One written path: the piece it says it lies on, and its strokes; the line that a closing Z draws is no stroke."""

    piece: str
    strokes: tuple[Stroke, ...]

    @property
    def reversed(self) -> Line:
        """The same line walked the other way."""
        return Line(self.piece, tuple(stroke.reversed for stroke in self.strokes[::-1]))


@dataclass(frozen=True, eq=False)
class Written:
    """All that a drawing holds of runs.

    Attributes:
        groups: the groups of runs in document order, name and element.
        strays: stitching lines that lie in no group of the run they name: run and piece.
    """

    drawing: Drawing
    root: etree._Element
    groups: tuple[tuple[str, etree._Element], ...]
    strays: tuple[tuple[str, str], ...]

    def lines(self, run: str, role: str) -> tuple[Line, ...]:
        """The lines of a role in the run's first group, in document order.

        Raises:
            DrawingError: one can't be read, or was distorted.
        """
        group = next(element for name, element in self.groups if name == run)
        paths = [element for element in group.iter(f"{{{SVG}}}path") if element.get(SEWN_FOR) is None]
        found = [element for element in paths if element.get("data-role") == role]
        return tuple(self._line(element) for element in found if element.get("data-run") == run)

    def cutting(self, group: str) -> tuple[Array, ...]:
        """The cutting lines in the group of a cut piece.

        Raises:
            DrawingError: one can't be read, or was distorted.
        """
        found = [
            element
            for element in self.root.iter(f"{{{SVG}}}path")
            if element.get("data-role") == "cutting" and element.get("data-run") == group
        ]
        return tuple(stroke.curve for element in found for stroke in self._line(element).strokes)

    def _line(self, element: etree._Element) -> Line:
        onto = to_mm(self.drawing, self.root, element)
        piece, d = element.get("data-piece", ""), _CLOSE.sub("", element.get("d", ""))
        size, least = stretches(onto)
        if least <= 1e-12 * size:
            raise DrawingError(f'the {element.get("data-role")} line of "{piece}" was flattened by a transform')
        drawn, chords = read_path(d, _ACCURACY / size), read_path(_as_chords(d), 1.0)
        if drawn.problem or len(drawn.subpaths) != len(chords.subpaths):
            raise DrawingError(f'the {element.get("data-role")} line of "{piece}" can\'t be read: {drawn.problem}')
        strokes = [
            _stroke(apply(onto, line.curve), _nodes(apply(onto, polygon.curve)))
            for line, polygon in zip(drawn.subpaths, chords.subpaths, strict=True)
        ]
        return Line(piece, tuple(strokes))


def read_written(drawing: Drawing) -> Written:
    """What a drawing holds of runs.

    Raises:
        DrawingError: it is no drawing.
    """
    root = parse_xml(drawing.source, drawing.name)
    groups = [
        (element.get("data-run", ""), element)
        for element in root.iter(f"{{{SVG}}}g")
        if element.get("data-run") is not None and element.get("data-recipe") is not None
        if is_run(element.get("data-recipe", ""))
    ]
    strays = []
    for element in root.iter(f"{{{SVG}}}path"):
        run = element.get("data-run", "")
        if element.get(SEWN_FOR) is not None:
            continue
        if element.get("data-role") == STITCHING and not any((run, one) in groups for one in element.iterancestors()):
            strays.append((run, element.get("data-piece", "")))
    return Written(drawing, root, tuple(groups), tuple(strays))


def _as_chords(d: str) -> str:
    """Path text with a straight line in place of each arc, so that its segments end where the written ones do."""

    def chords(match: re.Match[str]) -> str:
        ends = " ".join(f"{x} {y}" for x, y in _ARC.findall(match[2]))
        return f"{'L' if match[1] == 'A' else 'l'} {ends} "

    return _ARCS.sub(chords, d)


def _stroke(curve: Array, nodes: Complex) -> Stroke:
    """A line with what is straight of it; arcs are several cubics, and all other segments are one."""
    chord = curve[:, 3] - curve[:, 0]
    size = np.maximum(np.hypot(chord[:, 0], chord[:, 1]), 1e-300)
    inner = curve[:, 1:3] - curve[:, :1]
    bent = np.abs(cross(chord[:, None], inner)).max(axis=1) / size > _BENT
    ends = curve[:, 3, 0] + 1j * curve[:, 3, 1]
    straight, first = np.zeros(len(nodes) - 1, dtype=bool), 0
    for k, node in enumerate(nodes[1:].tolist()):
        after = np.flatnonzero(np.abs(ends[first:] - node) < _ACCURACY)
        last = first + (int(after[0]) if len(after) else 0)
        straight[k] = not bent[first : last + 1].any()
        first = last + 1
    return Stroke(curve, nodes, straight)


def _nodes(curve: Array) -> Complex:
    points = np.concatenate([curve[:, 0], curve[-1:, 3]])
    return np.asarray(points[:, 0] + 1j * points[:, 1])
