"""Pieces as they are cut: from the maker's words and the runs on a drawing to cutting lines, folds, notches, labels."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from lxml import etree

from ..construction.cut_piece import CutPiece, Treated, cut_piece, outside_the_cut
from ..construction.cutting import AFTER, BEFORE, CORNERS, MITRED, ROUNDED, TURNED, Corner
from ..construction.match_marks import MatchMark, SewnNotch, dart_marks, match_marks, run_marks
from ..construction.trimmed_edge import EdgeCut, drawn_along
from ..errors import NameUnknownError, RequestError, counted
from ..geometry import cubics
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..geometry.motion import apply, inverse
from ..geometry.nearest import nearest
from ..pattern.corners import corners
from ..pattern.edge import find_piece
from ..pattern.grain import grain_of
from ..pattern.joins import FOLD, SEAM
from ..pattern.laying import Part
from ..pattern.piece import Pattern, Piece, Warn
from .cut_sides import legs_of_dart, marks_beside_dart, open_darts, own_edge, sides_of
from .drawing import Drawing
from .finishing import cut_of
from .group import empty_group
from .ink import Ink
from .kept import group_name
from .lettering import text_extent
from .recipe import PieceRecipe, PieceWords, piece_to_text
from .roomy import roomiest
from .runs import Run
from .styles import LEADING
from .tables import table
from .units import parse_length
from .wishes import one_of, refuse_unwritable, whole_number

if TYPE_CHECKING:
    from .lining import MadeLining

# Seam allowance unless told otherwise, mm: 5/8 in at home; common practice, no source.
_ALLOWANCE = 15.0
# Allowances at one seam that differ by less, mm, are alike: the width of a pencil line; common practice, no source.
_ALIKE = 0.5
# A side that ends this near to a joint, mm, ends at it: trimmed lines may pass over a seam outside its corner.
_NEAR = 60.0
# Letters of labels, mm: as large as there is room for, up to the first and no smaller than the second.
_LABEL, _LEAST_LABEL = 7.0, 2.5
_FOLD_LABEL = 4.0
# Ends of edges nearer than this, mm, are one corner.
_SAME = 1e-3
# So many pieces are named in a hint.
_NAMED = 5
_ENDS = ((0, 0), (-1, 3))
_TURNS = {"before": BEFORE, "after": AFTER}
# What all corners can be; a turned one says besides which side is turned back.
USUAL_CORNERS = tuple(kind for kind in CORNERS if kind != TURNED)


@dataclass(frozen=True, eq=False)
class MadePiece:
    """A piece as it is cut.

    Attributes:
        recipe: what was asked for.
        cut: its sides and its cutting line.
        folds: the sides that lie on a fold.
        marks: the notches that match those of the pieces it is sewn to, and those of the runs along its edges.
        label: what is written on it.
        at: where that is written, its middle.
        warnings: what the maker should know.
        lining: its lining, where one was asked for.
        notched: the runs whose notches are among its marks.
        grain: whether the maker has drawn its grain line.
    """

    recipe: PieceRecipe
    cut: CutPiece
    folds: tuple[Array, ...]
    marks: tuple[MatchMark, ...]
    label: tuple[str, ...]
    at: Array
    warnings: tuple[Warn, ...] = ()
    lining: MadeLining | None = None
    notched: tuple[Run, ...] = ()
    grain: bool = True

    @property
    def piece(self) -> Piece:
        """The piece."""
        return self.cut.piece

    @property
    def name(self) -> str:
        """The piece's name."""
        return self.piece.name

    @property
    def fold_lines(self) -> tuple[Array, ...]:
        """The sides that lie on a fold, from cut to cut: the allowances at their ends are folded too."""
        sides = zip(self.cut.sides, self.cut.cutting.sides, strict=True)
        return tuple(curve for side, curve in sides if side.name == _fold_name(self.piece) and len(curve))

    @property
    def cut_length(self) -> float:
        """Length of its cutting line, mm."""
        return measure(self.cut.cutting.curve).length


def made_piece(drawing: Drawing, words: PieceWords, runs: Sequence[Run]) -> MadePiece:
    """A piece as it is cut.

    Args:
        drawing: the drawing.
        words: what is asked for.
        runs: the runs of the drawing; those of scallops on the piece are cut as their finish says.

    Raises:
        ScallopkitError: a word can't be read or names nothing, or no cutting line can be drawn.
    """
    pattern, piece = drawing.pattern, _piece(drawing.pattern, words.piece)
    words = replace(words, piece=piece.name)
    refuse_unwritable(words.cloth, "--cloth")
    refuse_unwritable(words.size, "--size")
    refuse_unwritable(words.lining_cloth, "--lining-cloth")
    if words.lining_cloth and not words.lining:
        raise RequestError(f"--lining-cloth {words.lining_cloth} goes with --lining: give both, or leave it out")
    on_it = runs_on(runs, piece)
    allowance = _allowance(words, piece, on_it)
    folds = folds_of(pattern, words, piece, on_it)
    folded = [Treated(_fold_name(piece), curve) for curve in folds]
    sides, seams = sides_of(pattern, piece, words.side, words.dart, allowance)
    darted = [seam.cut() for seam in seams]
    edges = [
        (run, cut)
        for run in on_it
        for cut in run.edge_cuts(_beside(run, runs))
        if run.laid.parts[cut.parts[0]].edge.piece is piece
    ]
    trimmed = [_trimmed(run, cut) for run, cut in edges]
    treated = [
        *trimmed,
        *folded,
        *sides,
        *(one for one, _ in darted),
    ]
    legs = [leg for cut in (*(cut for _, cut in edges), *(cut for _, cut in darted)) for leg in cut.legs]
    usual, at_corners = Corner(one_of(words.corners, USUAL_CORNERS, "--corners")), _corners(words, piece)
    cut = cut_piece(piece, treated, allowance, at_corners, usual)
    number = whole_number(words.number, "--number") or 0
    how_many = _how_many(number, len(folds))
    lines = (piece.name, how_many, words.cloth, words.size and f"size {words.size}") if not cut.hole else ()
    made_lining = None
    if words.lining and not cut.hole:
        # Loaded only where linings are asked for.
        from .lining import Cloth, lining_of

        made_lining = lining_of(
            drawing,
            piece,
            on_it,
            [(run, cut, one) for (run, cut), one in zip(edges, trimmed, strict=True)],
            [*folded, *sides, *(seam.lined() for seam in seams)],
            [one.name for one in folded],
            allowance,
            at_corners,
            usual,
            parse_length(words.lining, "--lining", "not-negative"),
            Cloth(words.lining_cloth, how_many, words.size, bool(number % 2) and not folds),
        )
    at = roomiest(piece.curve, [other.curve for other in pattern.pieces if other is not piece])
    notched = [run for run in runs if any(_is_on(run, notch, piece) for notch in run.sewn_notches)]
    marks = _carried(notched, cut, edges)
    return MadePiece(
        PieceRecipe(words),
        cut,
        tuple(folds),
        (*match_marks([run.laid for run in on_it], cut), *dart_marks(legs), *marks),
        tuple(line for line in lines if line),
        at,
        (
            *open_darts(cut),
            *_cut_inside(cut, on_it),
            *_told_otherwise(piece, number, folds, on_it),
            *_left_inside(marks, piece),
        ),
        made_lining,
        tuple(notched),
        cut.hole or grain_of(pattern, piece) is not None,
    )


def made_pieces(
    drawing: Drawing, words: Sequence[PieceWords], runs: Sequence[Run], beside: Sequence[PieceWords] = ()
) -> tuple[MadePiece, ...]:
    """Pieces as they are cut, with a warning where allowances that will be sewn together are not alike.

    Args:
        drawing: the drawing.
        words: what is asked for, piece by piece.
        runs: the runs of the drawing.
        beside: how other pieces are cut that these may be sewn to.

    Raises:
        ScallopkitError: as `made_piece`.
    """
    return matched(
        [made_piece(drawing, one, runs) for one in words], runs, [made_piece(drawing, one, runs) for one in beside]
    )


def matched(made: Sequence[MadePiece], runs: Sequence[Run], beside: Sequence[MadePiece] = ()) -> tuple[MadePiece, ...]:
    """The pieces with a warning where allowances that will be sewn together, or to those beside, are not alike."""
    names = {one.name for one in made}
    told: dict[str, list[Warn]] = {name: [] for name in names}
    for run in runs:
        if run.scallops is not None:
            for warnings in _unlike_allowances(run, [*made, *beside]):
                # Once, and of a piece that is being made.
                for warn in [warn for warn in warnings if warn.piece in names][:1]:
                    told[warn.piece or ""].append(warn)
    return tuple(replace(one, warnings=(*one.warnings, *told[one.name])) for one in made)


def _fold_name(piece: Piece) -> str:
    """What a side on a fold is called."""
    return f"the fold of {piece.name}"


def _piece(pattern: Pattern, name: str) -> Piece:
    closed = [piece for piece in pattern.pieces if piece.closed]
    return closed[0] if not name and len(closed) == 1 else find_piece(pattern, name)


def _cut_inside(cut: CutPiece, runs: Sequence[Run]) -> Iterator[Warn]:
    """A warning where the cutting line runs inside a stitching line; what is drawn with its allowance shows none."""
    if any(part.net for run in runs for part in _parts_on(run, cut.piece)):
        return
    off = outside_the_cut(cut)
    if len(off):
        x, y = off[0]
        text = f'the cutting line of "{cut.piece.name}" runs inside its stitching line at ({x:.1f}, {y:.1f}) mm'
        cure = ": give more allowance there, another --corner, or one --cut to both edges"
        yield Warn("cut-inside", text + cure, cut.piece.name, float(x), float(y))


def _told_otherwise(piece: Piece, number: int, folds: Sequence[Array], runs: Sequence[Run]) -> Iterator[Warn]:
    """A warning where a piece is cut more often than its run is told to be sewn, so that its facings are too few."""
    for run in runs:
        if number and not folds and run.facings and run.copies != number:
            text = (
                f'"{piece.name}" is cut {counted(number, "time")}, but the run "{run.name}" is told to be sewn '
                f"{counted(run.copies, 'time')} "
                f"and so are its facings cut: give that run --times {number}"
            )
            yield Warn("times-differ", text, piece.name)


def _is_on(run: Run, notch: SewnNotch, piece: Piece) -> bool:
    return run.laid.parts[notch.part].edge.piece is piece


def _carried(runs: Sequence[Run], cut: CutPiece, edges: Sequence[tuple[Run, EdgeCut]]) -> list[MatchMark]:
    """The notches of runs on a piece, carried out to its cutting line; `edges` are those that are trimmed."""
    notches = [notch for run in runs for notch in run.sewn_notches if _is_on(run, notch, cut.piece)]
    stitched = {
        run.name: np.concatenate([edge.stitching for other, edge in edges if other is run])
        for run in dict.fromkeys(run for run, _ in edges)
    }
    return run_marks(notches, cut, stitched)


def _left_inside(marks: Sequence[MatchMark], piece: Piece) -> Iterator[Warn]:
    """Warnings for the notches of runs that could not be carried out to the cutting line: one each, or one a run."""
    for run in dict.fromkeys(mark.run for mark in marks if mark.inside == 0.0):
        x, y = next(mark.sewn for mark in marks if mark.run == run and mark.inside == 0.0)
        text = (
            f'notches of "{run}" lie at an edge of "{piece.name}" that is cut without an allowance: mark them there, '
        )
        yield Warn("notches-inside", text + "do not cut them", piece.name, float(x), float(y))
    for mark in marks:
        if mark.inside:
            x, y = mark.sewn
            text = f'the notch {mark.s:.6g} mm along "{mark.run}" stands on the stitching line of "{piece.name}", '
            text += f"{mark.inside:.1f} mm from the nearest cutting line: mark it there, do not cut it"
            yield Warn("notches-inside", text, piece.name, float(x), float(y))


def runs_on(runs: Sequence[Run], piece: Piece) -> list[Run]:
    """The runs of scallops on a piece."""
    return [run for run in runs if run.scallops is not None and _parts_on(run, piece)]


def _parts_on(run: Run, piece: Piece) -> list[Part]:
    return [part for part in run.laid.parts if part.edge.piece is piece and part.copy_of is None]


def _allowance(words: PieceWords, piece: Piece, runs: Sequence[Run]) -> float:
    """The allowance of plain sides; 0 where the outline is drawn with it on."""
    drawn_on = [run.name for run in runs if any(part.net for part in _parts_on(run, piece))]
    given = "--allowance" if words.allowance else "--side" if words.side else ""
    if drawn_on and given:
        raise RequestError(
            f'the outline of "{piece.name}" carries its allowance already, as the run "{drawn_on[0]}" says: leave out '
            f"{given}"
        )
    if drawn_on:
        return 0.0
    return parse_length(words.allowance, "--allowance", "not-negative") if words.allowance else _ALLOWANCE


def folds_of(pattern: Pattern, words: PieceWords, piece: Piece, runs: Sequence[Run]) -> list[Array]:
    """The sides that lie on a fold: those that are named, and those at which the runs on the piece are folded."""
    out = [own_edge(pattern, piece, name, "--fold").curve for name in words.fold]
    for run in runs:
        ends = (
            (run.laid.folds[0], run.laid.parts[0].drawn.before),
            (run.laid.folds[1], run.laid.parts[-1].drawn.after),
        )
        own = (run.laid.parts[0], run.laid.parts[-1])
        found = [line for (fold, line), part in zip(ends, own, strict=True) if fold and part.edge.piece is piece]
        met = [joint.meeting for joint in run.laid.joints if joint.kind == FOLD and joint.meeting is not None]
        found += [meeting.first.after for meeting in met if meeting.first.piece is piece]
        for line in found:
            if line is not None and not any(_one_line(line, other) for other in out):
                out.append(line)
    return out


def _beside(run: Run, runs: Sequence[Run]) -> tuple[bool, bool]:
    """Whether another trimmed edge begins on the same piece where an open run starts, and where it ends."""
    out = []
    for part, node in ((run.laid.parts[0], (0, 0)), (run.laid.parts[-1], (-1, 3))):
        place = part.drawn.curve[node]
        others = [other for one in runs if one is not run and one.scallops is not None for other in one.laid.parts]
        ends = [other.drawn.curve[at] for other in others if other.edge.piece is part.edge.piece for at in _ENDS]
        out.append(any(float(np.hypot(*(end - place))) < _SAME for end in ends))
    return out[0], out[1]


def _one_line(a: Array, b: Array) -> bool:
    """Whether two lines have the same ends."""
    ends = [np.stack([line[0, 0], line[-1, 3]]) for line in (a, b)]
    return bool(min(np.abs(ends[0] - ends[1]).max(), np.abs(ends[0] - ends[1][::-1]).max()) < 1e-6)


def _trimmed(run: Run, cut: EdgeCut) -> Treated:
    """A run's edge with the cut of the run."""
    drawn = drawn_along(run.laid, cut.parts)
    distance = (cut_of("") if run.finish is None else run.finish.cut).distance
    # On an outline that carries its allowance all other sides are drawn where they are cut.
    return Treated(
        run.name, drawn, distance, None if run.laid.parts[cut.parts[0]].net else cut.stitching, cut.cutting, firm=True
    )


def _corners(words: PieceWords, piece: Piece) -> dict[str, Corner]:
    """The kinds of corners by name."""
    known = [corner.name for corner in corners(piece.curve, closed=True)]
    out = {}
    for text in words.corner:
        name, equals, rest = text.rpartition("=")
        kind, _, which = rest.partition(":")
        if not equals or kind not in CORNERS or (which and (which not in _TURNS or kind in (MITRED, ROUNDED))):
            raise RequestError(
                f"--corner is written CORNER=KIND with {', '.join(CORNERS[:-1])} or {CORNERS[-1]} for KIND, and for "
                f"turned the side whose allowance is turned back, as in c2=turned:before; not {text!r}"
            )
        if kind == TURNED and not which:
            raise RequestError(
                f"--corner {name}=turned needs the side that is turned back: turned:before or turned:after"
            )
        if name not in known:
            there = ", ".join(f'"{other}"' for other in known) or "none"
            raise NameUnknownError(f'--corner {text}: "{piece.name}" has no corner "{name}"; there are {there}')
        if name in out:
            raise RequestError(f'"{name}" of "{piece.name}" is told twice: leave out one --corner {name}')
        out[name] = Corner(kind, _TURNS.get(which, 0))
    return out


def _how_many(number: int, folds: int) -> str:
    """How many are cut, as it is written on a piece."""
    if folds:
        return f"cut {number or 1} on " + (
            "the fold" if folds == 1 else "both folds" if folds == 2 else counted(folds, "fold")
        )
    if number and number % 2 == 0:
        return f"cut {number}, {'a pair' if number == 2 else 'in pairs'}"
    return f"cut {number or 1}"


# ---------------------------------------------------------------- allowances that are sewn together


def _unlike_allowances(run: Run, made: Sequence[MadePiece]) -> Iterator[tuple[Warn, ...]]:
    """For each seam of a run that is cut unlike on its two pieces a warning, told of the one and of the other."""
    for k, joint in enumerate(run.laid.joints):
        if joint.kind != SEAM:
            continue
        parts = run.laid.parts[k], run.laid.parts[(k + 1) % len(run.laid.parts)]
        places = parts[0].edge.curve[-1, 3], parts[1].edge.curve[0, 0]
        ends = [_seam_end(run, made, part, place) for part, place in zip(parts, places, strict=True)]
        if ends[0] is None or ends[1] is None:
            continue
        first, second = (f'"{part.edge.piece.name}"' for part in parts)
        for (a, b), told in zip(
            zip(ends[0], ends[1], strict=True),
            (
                "the allowances are {:.1f} mm wide on {} and {:.1f} mm on {}",
                "the allowances end {:.1f} mm beyond the run on {} and {:.1f} mm on {}",
            ),
            strict=True,
        ):
            if abs(a - b) > _ALIKE:
                text = f'at the seam "{joint.name}" {told.format(a, first, b, second)}, {abs(a - b):.1f} mm apart: '
                yield tuple(
                    Warn("allowances-differ", text + "cut both alike there", part.edge.piece.name, *map(float, place))
                    for part, place in zip(parts, places, strict=True)
                )
                break


def _seam_end(run: Run, made: Sequence[MadePiece], part: Part, place: Array) -> tuple[float, float] | None:
    """How wide a seam's allowance is beside a place on a piece, and how long its end; None where it is not cut."""
    found = next((one.cut for one in made if one.piece is part.edge.piece), None)
    if found is None:
        return None
    best: tuple[float, tuple[float, float]] | None = None
    for side, overruns in zip(found.sides, found.cutting.overruns, strict=True):
        if side.name == run.name:
            continue
        for node, overrun in zip((side.stitching[0, 0], side.stitching[-1, 3]), overruns, strict=True):
            away = float(np.hypot(*(node - place)))
            if best is None or away < best[0]:
                best = away, (side.allowance, overrun)
    return None if best is None or best[0] > _NEAR else best[1]


# ---------------------------------------------------------------- in the drawing and in the report


def piece_group(made: MadePiece, drawing: Drawing) -> etree._Element:
    """The SVG group that shows a piece as it is cut; it carries what was asked for, so that it can be made again."""
    ink = Ink(group_name(made.name), drawing)
    group = empty_group(ink.name, piece_to_text(replace(made.recipe, made=_made(made))))
    group.append(ink.line("cutting", made.cut.cutting.curve, made.name, closed=True))
    group.extend(ink.folds(made.fold_lines, made.name))
    for curve in made.folds:
        group.append(ink.text(("fold",), _beside_fold(curve, made.at), _FOLD_LABEL, made.name))
    group.extend(ink.line("notch", cubics.lines(mark.line), made.name) for mark in made.marks)
    if made.label:
        size = _fitting(made)
        up = 0.5 * (len(made.label) - 1) * LEADING * size
        group.append(ink.text(made.label, made.at - np.array([0.0, up]), size, made.name))
    if made.lining is not None:
        from .lining import lining_group

        group.append(lining_group(ink, made.lining))
    return group


def _beside_fold(fold: Array, inside: Array) -> Array:
    """A place beside the middle of a fold, towards a place in the piece."""
    m = measure(fold)
    middle = m.points(np.array([0.5 * m.length]))[0]
    square = cubics.left(m.tangents(np.array([0.5 * m.length]))[0])
    return np.asarray(middle + math.copysign(2.0 * _FOLD_LABEL, float((inside - middle) @ square)) * square)


def _fitting(made: MadePiece) -> float:
    """How high the letters of a label are, mm, so that it lies within its piece, but can still be read."""
    width, height = text_extent(made.label, 1.0)
    room = float(nearest(made.piece.curve, made.at[None]).distance[0])
    return max(_LEAST_LABEL, min(_LABEL, room / (0.5 * math.hypot(width, height))))


def _made(made: MadePiece) -> dict[str, object]:
    """What a later check compares with."""
    return {"cut_mm": round(made.cut_length, 3)}


def piece_entry(drawing: Drawing, made: MadePiece) -> dict[str, Any]:
    """Everything about one piece as it is cut; coordinates in root user units, lengths in mm."""
    to_user = inverse(drawing.to_mm)
    curve = made.cut.cutting.curve
    return {
        "name": made.name,
        "cut": _how_many(whole_number(made.recipe.words.number, "--number") or 0, len(made.folds)),
        "hole": made.cut.hole,
        "on_fold": bool(made.folds),
        "cloth": made.recipe.words.cloth or None,
        "darts": list(made.recipe.words.dart),
        "dart_seams": [marks_beside_dart(drawing.pattern, made.piece, name) for name in made.recipe.words.dart],
        "darts_sewn_mm": [round(mm, 6) for _, mm in darts_sewn(drawing, made)],
        "cut_length_mm": round(measure(curve).length, 6),
        "cut_area_mm2": round(abs(cubics.area(curve)), 3),
        "sides": [
            {
                "name": side.name,
                "allowance_mm": round(side.allowance, 6),
                "length_mm": round(measure(side.stitching).length, 6),
                "ends_mm": [round(end, 6) for end in ends],
            }
            for side, ends in zip(made.cut.sides, made.cut.cutting.overruns, strict=True)
        ],
        "notches": [
            {
                "piece": made.name,
                "seam": mark.seam or None,
                "run": mark.run or None,
                "s_mm": round(mark.s, 6),
                **_xy(apply(to_user, mark.sewn)),
                "on_cut": None if mark.inside is not None else _xy(apply(to_user, mark.foot)),
            }
            for mark in made.marks
        ],
        "lining": None if made.lining is None else _lining_entry(drawing, made.lining, made.recipe.words.lining_cloth),
    }


def darts_sewn(drawing: Drawing, made: MadePiece) -> Iterator[tuple[tuple[Array, Array], float]]:
    """The legs of each dart in a piece's own seams, and how many mm are sewn of it, on all that is cut of the piece."""
    number = (whole_number(made.recipe.words.number, "--number") or 1) * (2 if made.folds else 1)
    for name in made.recipe.words.dart:
        legs = legs_of_dart(drawing.pattern, made.piece, name)
        if legs is not None:
            yield legs, number * min(measure(leg).length for leg in legs)


def _xy(place: Array) -> dict[str, float]:
    return {"x": round(float(place[0]), 9), "y": round(float(place[1]), 9)}


def _lining_entry(drawing: Drawing, made: MadeLining, cloth: str) -> dict[str, Any]:
    from .lining import lining_entry

    return {**lining_entry(drawing, made), "cloth": cloth or None}


def piece_table(made: Sequence[MadePiece], terminal: bool) -> str:
    """The pieces as a table, and which of them have no grain line."""
    rows = [row for one in made for row in _rows(one)]
    told = table(("piece", "allowances mm", "cut mm", "notches", "label"), rows, terminal=terminal)
    bare = [f'"{one.name}"' for one in made if not one.grain]
    if not bare:
        return told
    many = ", ".join(bare[:_NAMED]) + (f" and {len(bare) - _NAMED} more" if len(bare) > _NAMED else "")
    hint = f"no grain line is drawn in {many}: draw a straight line called grain there, or lay it by eye"
    return f"{told}\n{hint}"


def _rows(made: MadePiece) -> Iterator[tuple[str, str, str, str, str]]:
    """The rows of a piece and of its lining."""
    yield (
        made.name,
        ", ".join(f"{allowance:g}" for allowance in sorted({side.allowance for side in made.cut.sides})),
        f"{measure(made.cut.cutting.curve).length:.1f}",
        f"{len(made.marks)}",
        ", ".join(made.label[1:]),
    )
    if made.lining is not None:
        from .lining import lining_row

        yield lining_row(made.lining)
