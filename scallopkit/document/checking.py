"""Whether what a drawing holds still fits: every run read back, sewn together anew, and every gap measured.

Nothing is fitted again. Outlines and recipe tell where the pieces lie once sewn; the written lines are laid there, and
what is found is compared with what was promised of a written drawing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from ..errors import RequestError, ScallopkitError, counted
from ..geometry.cubics import Array, ends_direction
from ..geometry.nearest import nearest
from ..pattern.joins import FOLD
from ..trim.course import CREST, VALLEY, WRAP
from ..trim.holds import side_of
from .drawing import Drawing
from .finding import Finding, check_entry, check_tables
from .kept import run_groups
from .layer import RunGroup
from .reader import read_drawing
from .recipe import Recipe, from_text
from .recognising import Found, Look, look_of, made_whole, recognise
from .sewing import Complex, Part, Seam, Sewn, sew
from .strands import crosses_start, strands
from .wishes import SIDES, allowances_of, one_of, wish_of, yes
from .written import STITCHING, TRUE_LINE, Line, Stroke, Written, read_written

__all__ = ["Finding", "check", "check_entry", "check_tables"]

# What is promised of a written drawing, mm: of halves that meet, of a line that ends on a fold, of points on an edge,
# of a stitching line inside an allowance, and of widths, which have two ends.
GAP_MM, FOLD_MM, EDGE_MM, OFFSET_MM, WIDTH_MM = 2e-4, 1e-4, 2e-4, 0.02, 4e-4
# A crest that leaves its fold farther off square, degrees, shows as a point when it is unfolded.
SQUARE_DEG = 0.05
# Edges that are longer or shorter than they were by more, mm, were changed.
LENGTH_MM = 1e-3
_REFIT = "the outline or the line was changed after the run was made: run `refit`"


def check(source: bytes, name: str) -> tuple[Finding, ...]:
    """What is found of the runs in a written drawing.

    Args:
        source: the drawing's bytes.
        name: the file's name, for messages.

    Raises:
        DrawingError: the drawing can't be read.
        RequestError: it holds no run.
    """
    drawing = read_drawing(source, name)
    written, groups = read_written(drawing), run_groups(source)
    if not written.groups and not written.strays:
        raise RequestError(f"{name} holds no run, so there is nothing to check: make one with `scallopkit scallop`")
    out = [*_twice(written, groups)]
    for group in groups:
        out += _run(drawing, written, group)
    return tuple(out)


# ---------------------------------------------------------------- one run


def _twice(written: Written, groups: Sequence[RunGroup]) -> Iterator[Finding]:
    """What is there more than once, or astray."""
    known = {group.name for group in groups}
    for run, count in Counter(name for name, _ in written.groups).items():
        where = f"{count} groups"
        if count > 1:
            text = f'{count} groups are the run "{run}": delete all but one in the editor, then run `refit`'
            yield Finding(run, "twice", where, float(count), 1.0, "", False, text)
        elif run not in known:
            text = f'the group of the run "{run}" lies outside the layer of runs, where `refit` does not find it: '
            yield Finding(run, "twice", "group", None, None, "", False, text + "move it back, or make the run anew")
    for run, piece in written.strays:
        text = f'a stitching line on "{piece}" names the run "{run}" but lies in no group of it: delete it'
        yield Finding(run, "twice", piece, None, None, "", False, text)


def _run(drawing: Drawing, written: Written, group: RunGroup) -> Iterator[Finding]:
    name = group.name
    try:
        recipe = from_text(group.recipe, name)
    except ScallopkitError as error:
        yield Finding(name, "recipe", "group", None, None, "", False, str(error))
        return
    yield Finding(name, "recipe", "group", None, None, "", True, "can be read")
    edges = f"{len(recipe.stretches)} of {len(recipe.stretches)}"
    try:
        sewn = sew(drawing.pattern, recipe)
        look = _look(drawing, recipe, sewn)
    except ScallopkitError as error:
        text = f"{error}; the outline was changed after the run was made: undo that, or make the run anew"
        yield Finding(name, "edges", "outlines", None, None, "", False, text)
        return
    yield Finding(name, "edges", edges, None, None, "", True, "are on the outlines")
    yield from _length(name, recipe, sewn)
    if look is None:
        return
    try:
        lines, smooth = written.lines(name, STITCHING), written.lines(name, TRUE_LINE)
    except ScallopkitError as error:
        yield Finding(name, "lines", "group", None, None, "", False, f"{error}: run `refit`")
        return
    counted = list(_lines(name, sewn, lines))
    yield from counted
    if all(finding.ok for finding in counted):
        yield from _SewnLines(name, recipe, sewn, look, _by_part(sewn, lines), smooth).findings()


def _look(drawing: Drawing, recipe: Recipe, sewn: Sewn) -> Look | None:
    """What the run's scallops look like; None where it has none."""
    if recipe.scallop is None:
        return None
    widths = _made_widths(recipe) or [sewn.length]
    wish = wish_of(recipe.scallop, drawing.pattern, sewn.length, float(np.mean(widths)))
    side = one_of(recipe.edge.side, SIDES, "--side") if recipe.edge.side else None
    hand = side_of(replace(sewn.parts[0].edge, outside=sewn.outside), side)
    return look_of(wish, widths, hand, recipe.edge.corner == WRAP)


def _made_widths(recipe: Recipe) -> list[float]:
    widths = recipe.made.get("widths_mm")
    if not isinstance(widths, list) or not all(isinstance(w, float | int) and w > 0.0 for w in widths):
        return []
    return [float(w) for w in widths]


def _length(name: str, recipe: Recipe, sewn: Sewn) -> Iterator[Finding]:
    """Whether the edges are as long as they were."""
    made = recipe.made.get("length_mm")
    if not isinstance(made, float | int) or yes(recipe.edge.true_up, "--true-up"):
        return
    off = abs(sewn.length - made)
    text = f"the run is {sewn.length:.4f} mm long"
    if off > LENGTH_MM:
        text += f" and was {made:.4f} mm when it was made; {_REFIT}"
    yield Finding(name, "length", "run", off, LENGTH_MM, "mm", off <= LENGTH_MM, text)


def _lines(name: str, sewn: Sewn, lines: Sequence[Line]) -> Iterator[Finding]:
    """Whether each piece has as many stitching lines as edges of it are drawn."""
    wanted = Counter(part.drawn.piece.name for part in sewn.parts if part.copy_of is None)
    there = Counter(line.piece for line in lines if line.strokes)
    for piece in {**wanted, **there}:
        found, right = there[piece], wanted[piece]
        text = f'"{piece}" has {counted(found, "stitching line")}'
        if found != right:
            text += f" and should have {right}: a line was deleted, added, or given to another piece; run `refit`"
        yield Finding(name, "lines", piece, float(found), float(right), "", found == right, text)


def _by_part(sewn: Sewn, lines: Sequence[Line]) -> list[Line]:
    """The line of each part; the other half of a folded piece has that of the half that is drawn."""
    queues = {piece: iter([line for line in lines if line.piece == piece]) for piece in {line.piece for line in lines}}
    out: list[Line] = []
    for part in sewn.parts:
        if part.copy_of is None:
            out.append(next(queues[part.drawn.piece.name]))
        else:
            out.append(out[part.copy_of].reversed if part.backwards else out[part.copy_of])
    return out


# ---------------------------------------------------------------- sewn together


class _SewnLines:
    """One run with its lines, each laid where its piece lies once sewn."""

    def __init__(
        self, name: str, recipe: Recipe, sewn: Sewn, look: Look, lines: list[Line], smooth: Sequence[Line]
    ) -> None:
        self.name, self.recipe, self.sewn, self.look = name, recipe, sewn, look
        self.lines, self.smooth = lines, smooth
        self.scallops: list[Found] = []
        self.unknown = 0
        for strand in strands(sewn, lines, recipe.edge):
            found, unknown = recognise(strand, look, sewn.onward)
            self.scallops += found
            self.unknown += unknown

    def findings(self) -> Iterator[Finding]:
        """All that is measured on the written lines."""
        for k, seam in enumerate(self.sewn.seams):
            yield self._gap(k, seam)
            if seam.kind == FOLD and not seam.gap:
                yield from self._square(seam, self.sewn.parts[k], self.lines[k].strokes[-1], at_end=True)
        if self.sewn.loop and not self.sewn.seams:
            yield self._closing()
        for at_end, fold in enumerate(self.sewn.folds):
            if fold is not None:
                yield from self._fold(fold, bool(at_end))
        yield from self._on_edges()
        yield self._whole()
        scallops = self._unfolded()
        yield self._equal(np.abs(scallops[:, 2] - scallops[:, 0]))
        if len(scallops):
            yield self._alike(scallops)

    # -- joins

    def _gap(self, k: int, seam: Seam) -> Finding:
        where = f"{seam.kind} {seam.name}"
        if seam.gap:
            text = "nothing crosses: the line stops short of the join and starts again beyond it"
            return Finding(self.name, "gap", where, None, None, "mm", True, text)
        following = (k + 1) % len(self.lines)
        end = self.sewn.parts[k].lay.at(complex(self.lines[k].strokes[-1].nodes[-1]))
        start = seam.lay.at(complex(self.lines[following].strokes[0].nodes[0]))
        apart = self._lapped(k, seam, end, start) if seam.lap else abs(end - start)
        return self._measured("gap", where, apart, GAP_MM, f"the halves at the {where} lie {apart:.6f} mm apart")

    def _lapped(self, k: int, seam: Seam, end: complex, start: complex) -> float:
        """How far the ends of the upper and the under edge lie from each other's line."""
        before, after = self.lines[k].strokes[-1], self.lines[(k + 1) % len(self.lines)].strokes[0]
        onto = (seam.lay.back(end), after.curve), (self.sewn.parts[k].lay.back(start), before.curve)
        return max(float(_off(curve, [point])[0]) for point, curve in onto)

    def _closing(self) -> Finding:
        strokes = self.lines[0].strokes
        if not crosses_start(self.sewn, self.lines, self.recipe.edge):
            text = "nothing crosses: the line stops short of its start"
            return Finding(self.name, "gap", "start", None, None, "mm", True, text)
        apart = abs(complex(strokes[-1].nodes[-1] - strokes[0].nodes[0]))
        return self._measured("gap", "start", apart, GAP_MM, f"the line ends {apart:.6f} mm from where it starts")

    def _fold(self, fold: Seam, at_end: bool) -> Iterator[Finding]:
        i = -1 if at_end else 0
        part, stroke = self.sewn.parts[i], self.lines[i].strokes[i]
        off = abs(((part.lay.at(complex(stroke.nodes[i])) - fold.point) / fold.along).imag)
        where = f"fold {fold.name}"
        yield self._measured("fold", where, off, FOLD_MM, f"the line ends {off:.6f} mm from the {where}")
        yield from self._square(fold, part, stroke, at_end)

    def _square(self, fold: Seam, part: Part, stroke: Stroke, at_end: bool) -> Iterator[Finding]:
        """Whether a crest on a fold leaves it square."""
        place = complex(stroke.nodes[-1 if at_end else 0])
        crest = any(there == place for one in self.scallops for _, there in one.crest.places)
        if not crest or not self.look.smooth:
            return
        walking = part.lay.along(complex(*ends_direction(stroke.curve)[int(at_end)]))
        off = abs(float(np.degrees(np.angle(walking / fold.onward))))
        where = f"fold {fold.name}"
        text = f"the crest on the {where} crosses it {off:.4f} degrees off square"
        yield self._measured("square", where, off, SQUARE_DEG, text, "deg")

    def _measured(self, what: str, where: str, value: float, limit: float, text: str, unit: str = "mm") -> Finding:
        ok = bool(value <= limit)
        return Finding(self.name, what, where, value, limit, unit, ok, text if ok else f"{text}; {_REFIT}")

    # -- what touches the edges

    def _on_edges(self) -> Iterator[Finding]:
        """For each drawn part how far what should touch its edge lies from it."""
        points: list[list[complex]] = [[] for _ in self.sewn.parts]
        for number, place in self._touching():
            points[number].append(place)
        for k, part in enumerate(self.sewn.parts):
            if part.copy_of is not None or not points[k]:
                continue
            words = self.recipe.stretches[k].allowance or self.recipe.edge.allowance
            within = any(allowances_of(replace(self.recipe.edge, allowance=words)))
            limit = EDGE_MM + (OFFSET_MM if within else 0.0)
            off = float(self._away(k, points[k]).max())
            what = self.recipe.scallop.touch if self.recipe.scallop and self.recipe.scallop.touch else VALLEY
            text = f'a {what} lies {off:.6f} mm off the {"stitching line" if within else "edge"} "{part.drawn.name}"'
            yield self._measured("on edge", part.drawn.name, off, limit, text)

    def _touching(self) -> Iterator[tuple[int, complex]]:
        """What should lie on the edges: numbers of parts and places on the sheet."""
        touch = (self.recipe.scallop.touch if self.recipe.scallop else "") or VALLEY
        own = self.look.shape.own
        for one in self.scallops:
            if touch == VALLEY:
                yield from (place for node in one.valleys for place in node.places)
            elif touch == CREST and own is None:
                yield from one.crest.places
            elif one.chord is not None and one.start is not None:
                x, height = (own.crest, 1.0) if touch == CREST and own is not None else (0.5, 0.5)
                flat = one.start.flat + one.chord * self.look.over(abs(one.chord), x, height)
                parts = {part for node in (one.start, one.crest, one.end) if node for part, _ in node.places}
                there = [(part, place) for part in sorted(parts) for place in self.sewn.on_sheet(part, flat)]
                yield min(there, key=lambda place: float(self._away(place[0], [place[1]])[0]))

    def _away(self, part: int, points: list[complex]) -> Array:
        """How far points lie from a part's edge; where it was trued up, from its smooth lines too."""
        edge = self.sewn.parts[part].edge
        off = _off(edge.curve, points)
        if yes(self.recipe.edge.true_up, "--true-up"):
            for line in self.smooth:
                for stroke in line.strokes if line.piece == edge.piece.name else ():
                    off = np.minimum(off, _off(stroke.curve, points))
        return off

    # -- how many, how wide

    def _whole(self) -> Finding:
        count = sum(0.5 if one.chord is None else 1.0 for one in self.scallops)
        made = self.recipe.made.get("count")
        if not isinstance(made, float | int):
            text = "the recipe does not tell how many scallops were made: run `refit`"
            return Finding(self.name, "whole", "run", count, None, "", False, text)
        ok = count == made and self.unknown == 0
        text = counted(count, "scallop")
        if not ok:
            text += f" of {made:g} {'is' if count == 1 else 'are'} there whole"
            text += f", and {counted(self.unknown, 'segment')} part of none" if self.unknown else ""
            text += "; the line was changed after the run was made: run `refit`"
        return Finding(self.name, "whole", "run", count, float(made), "", ok, text)

    def _equal(self, chords: Array) -> Finding:
        """Whether each scallop is as wide as those of one of the spans, or, at a crest hold, as the mean of two."""
        words = self.recipe.scallop
        if words is not None and (words.weights or words.step == "along"):
            text = "the widths differ on purpose" if words.weights else "equal along the edge, not straight across"
            return Finding(self.name, "equal", "spans", None, None, "mm", True, text)
        spans = _made_widths(self.recipe)
        if not spans or not len(chords):
            return Finding(self.name, "equal", "spans", None, None, "mm", True, "there are no widths to compare")
        shared = [0.5 * (a + b) for a, b in zip(spans, [*spans[1:], spans[0]], strict=True)]
        off = np.abs(chords[:, None] - np.array([*spans, *shared])).min(axis=1)
        worst = int(np.argmax(off))
        text = f"a scallop is {chords[worst]:.4f} mm wide, {off[worst]:.6f} mm off the others of its span"
        return self._measured("equal", "spans", float(off[worst]), WIDTH_MM, text)

    def _alike(self, scallops: Complex) -> Finding:
        """Whether all crests stand at one place over their valleys; how high that is, most of the scallops tell."""
        start, crest, end = scallops.T
        chord = end - start
        wanted = np.array([self.look.at(width) or np.nan for width in np.abs(chord).tolist()])
        rise = float(np.nanmedian(((crest - start) / chord).imag / wanted.imag))
        off = np.abs(crest - start - chord * (wanted.real + 1j * rise * wanted.imag))
        worst = float(np.nan_to_num(off, nan=np.inf).max())
        return self._measured("alike", "crests", worst, WIDTH_MM, f"a crest stands {worst:.6f} mm beside its place")

    def _unfolded(self) -> Complex:
        """Valley, crest and valley of each scallop (k, 3), halves made whole over their folds, corners left out."""
        whole = (made_whole(one, self.sewn.folds) for one in self.scallops if not one.corner)
        rows = [places for places in whole if places is not None]
        return np.array(rows, dtype=complex).reshape(-1, 3)


def _off(curve: Array, points: list[complex]) -> Array:
    return nearest(curve, np.array([(z.real, z.imag) for z in points])).distance
