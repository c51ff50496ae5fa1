"""Linings of pieces as they are cut: drawn beside the pattern, each in the group of the piece that it lines.

A lining lies on the sheet as its piece does, so that their grains are parallel. It is sewn face to face with the
facing: where only one is cut it is drawn as its mirror image. Its cutting line has the role `lining`, its stitching
line the role `placement`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from lxml import etree

from ..construction.cut_piece import Treated
from ..construction.cutting import Corner
from ..construction.lining import Lining, faced_edges, lining, trimmed_edge
from ..construction.match_marks import MatchMark, match_marks
from ..construction.trimmed_edge import EdgeCut
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..geometry.nearest import nearest
from ..geometry.winding import winding
from ..pattern.grain import grain_of
from ..pattern.joins import DART
from ..pattern.piece import Piece
from .caps import pressed
from .drawing import Drawing
from .finishing import REACH
from .ink import Ink
from .lettering import text_extent
from .markup import INKSCAPE, SVG
from .numbers import path_text
from .roomy import roomiest
from .runs import Run
from .styles import LEADING

_LABEL = 7.0
# Heads of grain lines, mm.
_ARROW = 3.0
# Half a grain line is no longer than this, mm, and takes so much of the room round its middle.
_HALF_GRAIN, _TAKES = 30.0, 0.85
# A notch farther than this, mm, from all that is sewn lies where there is only facing.
_ON_IT = 0.1
# Outlines that lie within this of their own mirror image, mm, are symmetrical.
_ALIKE = 0.02
_PLACES = 6


@dataclass(frozen=True, eq=False)
class MadeLining:
    """The lining of a piece as it is cut.

    Attributes:
        name: "front lining".
        overlap: how far it is cut beyond the inner edges of facings, mm.
        cutting: its cutting line (n, 4, 2), closed.
        sewn: its stitching lines.
        closed: whether these are one closed line.
        folds: the sides that lie on a fold.
        notches: its match marks (2, 2).
        grain: its grain line (2, 2).
        label: what is written on it, and `at`, where: its middle.
        mirrored: whether it is drawn as its mirror image.
        allowances: of its sides, mm.
        shift: the way (2,) to its free place beside the pattern; all other places are those before it is moved.
    """

    name: str
    overlap: float
    cutting: Array
    sewn: tuple[Array, ...]
    closed: bool
    folds: tuple[Array, ...]
    notches: tuple[Array, ...]
    grain: Array
    label: tuple[str, ...]
    at: Array
    mirrored: bool
    allowances: tuple[float, ...]
    shift: Array

    @property
    def box(self) -> tuple[Array, Array]:
        """The corners of its box, its label with it, before it is moved."""
        corners = np.concatenate([cubics.bounds(self.cutting), _box(self.label, self.at)])
        return corners.min(axis=0), corners.max(axis=0)


@dataclass(frozen=True)
class Cloth:
    """What is written on a lining, and whether one alone is cut, so that right and left must not be mistaken."""

    name: str
    how_many: str
    size: str
    single: bool


def lining_of(
    drawing: Drawing,
    piece: Piece,
    runs: Sequence[Run],
    trimmed: Sequence[tuple[Run, EdgeCut, Treated]],
    others: Sequence[Treated],
    folds: Sequence[str],
    allowance: float,
    at_corners: Mapping[str, Corner],
    usual: Corner,
    overlap: float,
    cloth: Cloth,
) -> MadeLining:
    """The lining of a piece.

    Args:
        drawing: the drawing, for grain lines.
        piece: the piece.
        runs: the runs of scallops on it.
        trimmed: the edges of these, and how the piece is cut along them.
        others: how it is cut along folds, sides with allowances of their own, and seams with darts.
        folds: the names of those of them that lie on a fold.
        allowance: mm beyond all other sides, as for the piece itself.
        at_corners: the kinds of corners by their names.
        usual: the kind of all other corners.
        overlap: how far it is cut beyond the inner edges of facings, mm.
        cloth: what is written on it.

    Raises:
        RequestError: no lining can be drawn; the text says where.
    """
    drawn_cut = any(part.net for run in runs for part in run.laid.parts if part.edge.piece is piece)
    faced = [edge for run in runs for edge in _faced_edges(piece, run, overlap)]
    as_cut = [trimmed_edge(run.laid, cut, edge) for run, cut, edge in trimmed if _depth(run, piece) is None]
    found = lining(piece, faced, as_cut, others, allowance, at_corners, usual, drawn_cut)
    sides = found.cut.sides
    marks = [mark for mark in match_marks([run.laid for run in runs], found.cut) if _on_it(mark, found)]
    line = grain_of(drawing.pattern, piece)
    along = np.array([0.0, -1.0]) if line is None else (line[1] - line[0]) / float(np.hypot(*(line[1] - line[0])))
    # A fold goes from cut to cut: the allowances at its ends are folded too.
    folded = [curve for side, curve in zip(sides, found.cut.cutting.sides, strict=True) if side.name in folds]
    lines = [found.cut.cutting.curve, *found.sewn, *folded]
    over = _turned_over(lines[0], along) if cloth.single else None
    if over is not None:
        lines = [motion.apply(over, curve) for curve in lines]
    notches = [mark.line if over is None else motion.apply(over, mark.line) for mark in marks]
    sewn = lines[1 : 1 + len(found.sewn)]
    inner = sewn[0] if found.closed else lines[0]
    told = (f"{piece.name} lining", cloth.how_many, cloth.name or "lining", cloth.size and f"size {cloth.size}")
    label = tuple(text for text in (*told, "drawn mirrored" if over is not None else "") if text)
    at = roomiest(inner, [cubics.lines(notch) for notch in notches])
    return MadeLining(
        told[0],
        overlap,
        lines[0],
        tuple(sewn),
        found.closed,
        tuple(lines[1 + len(found.sewn) :]),
        tuple(notches),
        _grain_line(inner, _box(label, at), along),
        label,
        at,
        over is not None,
        tuple(sorted({side.allowance for side in sides})),
        np.zeros(2),
    )


def _faced_edges(piece: Piece, run: Run, overlap: float) -> list[Treated]:
    """How a lining is cut along the edges of one run; none where no facing has an inner edge."""
    depth = _depth(run, piece)
    if depth is None:
        return []
    darts = {k: pressed(run, k) for k, joint in enumerate(run.laid.joints) if joint.kind == DART}
    return faced_edges(piece, run.laid, run.line, run.shares, run.origin, depth, overlap, REACH, darts)


def _depth(run: Run, piece: Piece) -> float | None:
    """How deep the shaped facing, or the strip, of a run on a piece is, mm; None where there is neither."""
    if not run.facings:
        return None
    # Loaded only where there are facings.
    from .facings import BAND

    return next((one.depth for one in run.facings if one.kind != BAND and piece.name in one.pieces), None)


def _on_it(mark: MatchMark, found: Lining) -> bool:
    """Whether a notch lies on a side of the lining, and not where there is only facing."""
    if not found.closed:
        return bool(winding(found.cut.cutting.curve, mark.sewn[None])[0] != 0)
    return float(nearest(found.sewn[0], mark.sewn[None]).distance[0]) < _ON_IT


def _turned_over(cutting: Array, along: Array) -> Array | None:
    """The map that turns a lining over along its grain where it lies; None where it is its own mirror image."""
    across = cubics.left(along)
    reach = cubics.flatten(cutting, 0.01) @ across
    over = motion.mirrored(0.5 * (reach.min() + reach.max()) * across, along)
    off = nearest(cutting, cubics.flatten(motion.apply(over, cutting), _ALIKE)).distance
    return over if float(off.max()) > _ALIKE else None


def _box(label: Sequence[str], at: Array) -> Array:
    """The corners (4, 2) of the room that a label takes at the most."""
    w, h = 0.5 * np.array(text_extent(label, _LABEL))
    return np.asarray(at + np.array([(-w, -h), (w, -h), (w, h), (-w, h)]))


def _grain_line(inner: Array, label: Array, along: Array) -> Array:
    """A grain line in the roomiest place beside the label, no longer than the room there."""
    box = cubics.lines([*label, label[0]])
    place = roomiest(inner, [box])
    room = float(nearest(np.concatenate([inner, box]), place[None]).distance[0])
    half = min(_HALF_GRAIN, _TAKES * room) * along
    return np.stack([place - half, place + half])


def lining_group(ink: Ink, made: MadeLining) -> etree._Element:
    """The group of a lining in its free place, so that it can be moved as one."""
    moved = motion.moved(float(made.shift[0]), float(made.shift[1]))

    def line(role: str, curve: Array, closed: bool = False) -> etree._Element:
        return ink.line(role, motion.apply(moved, curve), made.name, closed)

    group = etree.Element(f"{{{SVG}}}g")
    group.set(f"{{{INKSCAPE}}}label", made.name)
    group.append(line("lining", made.cutting, closed=True))
    group.extend(ink.sewn(motion.apply(moved, curve), made.name, "lining", made.closed) for curve in made.sewn)
    group.extend(ink.folds([motion.apply(moved, curve) for curve in made.folds], made.name))
    group.append(_grain(ink, made.grain + made.shift, made.name))
    group.extend(line("notch", cubics.lines(notch)) for notch in made.notches)
    up = 0.5 * (len(made.label) - 1) * LEADING * _LABEL
    group.append(ink.text(made.label, made.at + made.shift - np.array([0.0, up]), _LABEL, made.name))
    return group


def _grain(ink: Ink, grain: Array, name: str) -> etree._Element:
    """A grain line with a head at either end."""
    way = _ARROW * (grain[1] - grain[0]) / float(np.hypot(*(grain[1] - grain[0])))
    beside = 0.4 * cubics.left(way)
    heads = [
        np.stack([end + hand * way + beside, end, end + hand * way - beside])
        for end, hand in ((grain[0], 1.0), (grain[1], -1.0))
    ]
    texts = [path_text(ink.in_units(cubics.lines(points)), ink.places) for points in (grain, *heads)]
    return ink.drawn("grain", " ".join(texts), name)


def lining_entry(drawing: Drawing, made: MadeLining) -> dict[str, Any]:
    """What the report says of a lining; its box's corner in root user units, where it lies once moved."""
    low, _ = cubics.bounds(made.cutting)
    x, y = motion.apply(motion.inverse(drawing.to_mm), low + made.shift)
    return {
        "cut_area_mm2": round(abs(cubics.area(made.cutting)), 3),
        "cut_length_mm": round(measure(made.cutting).length, _PLACES),
        "overlap_mm": round(made.overlap, _PLACES),
        "x": round(float(x), 9),
        "y": round(float(y), 9),
    }


def lining_row(made: MadeLining) -> tuple[str, str, str, str, str]:
    """A lining as a row of the pieces' table."""
    return (
        made.name,
        ", ".join(f"{allowance:g}" for allowance in made.allowances),
        f"{measure(made.cutting).length:.1f}",
        f"{len(made.notches)}",
        ", ".join(made.label[1:]),
    )
