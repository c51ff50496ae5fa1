"""How much of each cloth a drawing takes: all that is cut from it laid on its width, with a reserve for shrinkage."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..construction.cloth_layout import FOLDED, LIES, SINGLE, Cloth, ClothLayout, ClothShape, cloth_layout
from ..construction.straps import BIAS, CORD, strap_outline
from ..errors import NameUnknownError, RequestError, ScallopkitError
from ..geometry import cubics
from ..geometry.cubics import Array
from ..pattern.grain import grain_of
from ..pattern.piece import Piece
from .cut_pieces import MadePiece, folds_of, made_piece, runs_on
from .drawing import Drawing
from .finishing import ON_THE_LINE
from .recipe import PieceWords
from .runs import Run
from .straps import MadeStrap
from .units import parse_length, parse_share
from .wishes import one_of, whole_number

if TYPE_CHECKING:
    from .facings import MadeFacing

# What cloth may shrink by when it is washed first; common practice, no source: wash a sample of 100 mm and measure it.
SHRINKAGE = "5%"
# What is bought is rounded up to so much, mm; in words to the next of the second.
_STEP, _SOLD = 10.0, 100.0
# What cloths are for, as they are paid; who cuts two kinds from one cloth pays it as the first.
CLOTH, LINING, INTERLINING = "cloth", "lining", "interlining"
KINDS = (CLOTH, LINING, INTERLINING)
# Wider cloth than this, mm, is a slip; common practice, no source.
_WIDEST = 10_000.0


@dataclass(frozen=True)
class ClothWords:
    """What is told of cloths; texts as the maker writes them.

    Attributes:
        width: LENGTH for all cloths, or NAME=LENGTH each; no cloth is laid where none is told.
        lies: SINGLE or FOLDED; else whichever takes less.
        one_way: whether nothing may be turned upside down.
        shrinkage: a share; else SHRINKAGE.
        name: what that is cut from which tells no cloth of its own.
    """

    width: tuple[str, ...] = ()
    lies: str = ""
    one_way: bool = False
    shrinkage: str = ""
    name: str = ""


@dataclass(frozen=True, eq=False)
class ClothNeeded:
    """How much of one cloth is needed.

    Attributes:
        name: what it is called; empty where the pieces tell none.
        layout: all that is cut from it as laid.
        shrinkage: by which share it may shrink.
        notes: what is to be known, what does not fit first.
        kinds: what is cut from it, of KINDS, in their order.
    """

    name: str
    layout: ClothLayout
    shrinkage: float
    notes: tuple[str, ...]
    kinds: tuple[str, ...] = (CLOTH,)

    @property
    def called(self) -> str:
        """Its name, for people."""
        return self.name or "cloth"

    @property
    def to_buy(self) -> float:
        """The length to buy, mm: after shrinking what the layout takes is left; rounded up to 10 mm."""
        return _STEP * math.ceil(self.layout.length / (1.0 - self.shrinkage) / _STEP - 1e-6)

    @property
    def area(self) -> float:
        """What is to be bought, m²."""
        return self.to_buy * self.layout.cloth.width / 1e6

    @property
    def metres(self) -> str:
        """The length to buy as one asks for it: in metres, rounded up to the next 0.1."""
        return f"{math.ceil(self.to_buy / _SOLD - 1e-6) * _SOLD / 1000.0:g} m"

    @property
    def told(self) -> str:
        """All of it in a line."""
        layout = self.layout
        if not layout.placed:
            return f"{self.called}: nothing can be laid on {layout.cloth.width:g} mm"
        return (
            f"{self.called}: buy {self.metres}, {layout.cloth.width:g} mm wide, laid {layout.cloth.lies}; it takes "
            f"{math.ceil(layout.length)} mm, {100.0 * layout.efficiency:.0f} % of that is used"
            + (", without what does not fit" if layout.unfit else "")
        )

    @property
    def lines(self) -> tuple[str, ...]:
        """All of it in a line, and one for each thing to be known, what does not fit first."""
        return (self.told, *(f"{self.called}: {note}" for note in self.notes))


def cloths_needed(
    drawing: Drawing, runs: Sequence[Run], pieces: Sequence[MadePiece], straps: Sequence[MadeStrap], words: ClothWords
) -> tuple[ClothNeeded, ...]:
    """How much is needed of each cloth whose width is told, in the order in which the drawing names them.

    Args:
        drawing: the drawing.
        runs: its runs, with their facings.
        pieces: its pieces as they are cut.
        straps: its straps.
        words: what is told of the cloths.

    Raises:
        ScallopkitError: a word can't be read, or names a cloth that nothing is cut from.
    """
    if words.lies:
        one_of(words.lies, LIES, "--cloth-lies")
    shrinkage = shrinkage_of(words.shrinkage or SHRINKAGE, "--shrinkage")
    parts = [replace(part, cloth=part.cloth or words.name) for part in _parts(drawing, runs, pieces, straps)]
    names = list(dict.fromkeys(part.cloth for part in parts))
    widths = _widths(words.width, names)
    return tuple(
        _needed(name, [part for part in parts if part.cloth == name], widths[name], words, shrinkage)
        for name in names
        if name in widths
    )


def areas_to_buy(cloths: Sequence[ClothNeeded]) -> dict[str, float]:
    """What is to be bought of each of KINDS that is laid, m²; a kind cut from another's cloth takes no more."""
    out: dict[str, float] = {CLOTH: 0.0} if cloths else {}
    for one in cloths:
        first, *others = one.kinds
        out[first] = out.get(first, 0.0) + one.area
        out |= {kind: out.get(kind, 0.0) for kind in others}
    return out


def shrinkage_of(text: str, what: str) -> float:
    """The share by which cloth may shrink.

    Raises:
        RequestError: it can't be read, or nobody would buy such cloth; `what` begins the sentence.
    """
    share = parse_share(text, what, "not-negative")
    if share >= 0.5:
        raise RequestError(f"{what} {text.strip()!r} would leave half of the cloth or less: give less than 50%")
    return share


def _widths(texts: Sequence[str], names: Sequence[str]) -> dict[str, float]:
    """The width of each cloth, mm; of those that are not told none, unless one is told for all."""
    usual: float | None = None
    own: dict[str, float] = {}
    for text in texts:
        name, equals, length = (part.strip() for part in text.rpartition("="))
        width = parse_length(length, f"--cloth-width {name + equals}".strip(), "positive")
        if width > _WIDEST:
            raise RequestError(f"--cloth-width {text}: no cloth is wider than {_WIDEST / 1000.0:g} m: give its width")
        if not equals:
            usual = width
        elif name in names:
            own[name] = width
        else:
            there = ", ".join(f'"{one}"' for one in names if one) or "none with a name"
            raise NameUnknownError(f'--cloth-width {text}: nothing is cut from a cloth "{name}"; there are {there}')
    return ({} if usual is None else dict.fromkeys(names, usual)) | own


def _needed(name: str, parts: Sequence[_Part], width: float, words: ClothWords, shrinkage: float) -> ClothNeeded:
    shapes = [part.shape for part in parts if part.shape is not None]
    # Where nothing is said it lies as it takes less; where both are alike pairs are cut folded, in half the time.
    doubled = any(shape.number > 1 or shape.folds for shape in shapes)
    ways = [words.lies] if words.lies else [FOLDED, SINGLE] if doubled else [SINGLE, FOLDED]
    layouts = [cloth_layout(shapes, Cloth(width, lies, words.one_way)) for lies in ways]
    best = min(layouts, key=lambda layout: (len(layout.unfit), round(layout.length, 1)))
    notes = (*best.unfit, *best.notes, *(part.note for part in parts if part.note))
    kinds = tuple(kind for kind in KINDS if any(part.kind == kind for part in parts))
    return ClothNeeded(name, best, shrinkage, tuple(dict.fromkeys(notes)), kinds)


# ---------------------------------------------------------------- what is cut from which cloth


@dataclass(frozen=True, eq=False)
class _Part:
    """A shape with the cloth it is cut from, and what is to be said of it; None where it can't be laid.

    `kind` is one of KINDS.
    """

    cloth: str
    shape: ClothShape | None
    note: str = ""
    kind: str = CLOTH


def _parts(
    drawing: Drawing, runs: Sequence[Run], pieces: Sequence[MadePiece], straps: Sequence[MadeStrap]
) -> Iterator[_Part]:
    """All that is cut from cloth."""
    cloths = {one.name: one.recipe.words.cloth for one in pieces}
    for piece in pieces:
        if not piece.cut.hole:
            yield from _of_piece(drawing, piece)
    yield from _never_cut(drawing, runs, set(cloths))
    for run in runs:
        for facing in run.facings:
            yield from _of_facing(facing)
        if run.lacing is not None and run.lacing.underlay is not None:
            under = run.lacing.underlay
            wide, long = under.cut
            grain = np.array([(0.5 * wide, 0.0), (0.5 * wide, long)])
            shape = ClothShape(under.name, (_rectangle(wide, long),), under.number, grain=grain)
            yield _Part(cloths.get(run.laid.parts[0].edge.piece.name, ""), shape)
    for strap in straps:
        if strap.making.fold != CORD:
            yield from _of_strap(strap)


def _of_piece(drawing: Drawing, made: MadePiece) -> Iterator[_Part]:
    number = whole_number(made.recipe.words.number, "--number") or 1
    folds = tuple(_line(fold) for fold in made.folds)
    grain = grain_of(drawing.pattern, made.piece)
    alike = number % 2 == 1 and not folds
    yield _Part(made.recipe.words.cloth, ClothShape(made.name, (made.cut.cutting.curve,), number, alike, grain, folds))
    lining = made.lining
    if lining is not None:
        folds = tuple(_line(fold) for fold in lining.folds)
        cloth = made.recipe.words.lining_cloth or LINING
        yield _Part(cloth, ClothShape(lining.name, (lining.cutting,), number, alike, lining.grain, folds), kind=LINING)


def _never_cut(drawing: Drawing, runs: Sequence[Run], cut: set[str]) -> Iterator[_Part]:
    """The pieces that no cutting line was drawn for, as they are drawn: with their scallops, without allowances."""
    pattern = drawing.pattern
    for piece in pattern.pieces:
        if piece.closed and not piece.hole and piece.name not in cut:
            on_it = runs_on(runs, piece)
            folds = tuple(_line(fold) for fold in folds_of(pattern, PieceWords(), piece, on_it))
            curve, told = _as_drawn(drawing, piece, on_it)
            shape = ClothShape(piece.name, (curve,), 1, not folds, grain_of(pattern, piece), folds)
            yield _Part("", shape, told)


def _as_drawn(drawing: Drawing, piece: Piece, on_it: Sequence[Run]) -> tuple[Array, str]:
    """The outline of a piece, with its trimmed edges in place of its own ones, and what is to be said of it."""
    told = f'"{piece.name}" was never cut: it is laid once, as it is drawn'
    # Where the outline carries its allowance its scallops lie within it.
    if not on_it or any(part.net for run in on_it for part in run.laid.parts if part.edge.piece is piece):
        return piece.curve, f"{told}, without allowances"
    on_line = [replace(run, finish=ON_THE_LINE, flat_cuts={}) for run in on_it]
    try:
        made = made_piece(drawing, PieceWords(piece=piece.name, allowance="0mm"), on_line)
    except ScallopkitError as error:
        return piece.curve, f"{told}, without its scallops and without allowances, for {error}"
    return made.cut.cutting.curve, f"{told} with its scallops, without allowances"


def _of_facing(made: MadeFacing) -> Iterator[_Part]:
    if made.shape is None:
        told = f'"{made.name}" is too long to be laid: cut {made.count} of {made.length:.0f} by {made.depth:g} mm'
        yield _Part(made.cloth, None, told)
        return
    folds = tuple(_line(fold) for fold in made.shape.folds)
    alike = made.count % 2 == 1 and not folds
    yield _Part(made.cloth, ClothShape(made.name, made.shape.cutting, made.count, alike, made.grain, folds))
    rings = {"net": made.shape.net, "full": made.shape.cutting}.get(made.interlining)
    if rings is not None:
        name = f"{made.name} {INTERLINING}"
        cloth = made.interlining_cloth or INTERLINING
        yield _Part(cloth, ClothShape(name, rings, made.count, alike, made.grain, folds), kind=INTERLINING)


def _of_strap(strap: MadeStrap) -> Iterator[_Part]:
    several = len(strap.pieces) > 1
    for k, piece in enumerate(strap.pieces):
        ring = strap_outline(piece, strap.making)
        # Along the warp a strap stretches least; common practice, no source. A binding lies at 45 degrees to it.
        way = np.array([1.0, -1.0 if strap.making.fold == BIAS else 0.0])
        middle = cubics.bounds(ring).mean(axis=0)
        grain = np.stack([middle - 10.0 * way, middle + 10.0 * way])
        number = strap.number * piece.number
        name = f"{strap.name} {k + 1}" if several else strap.name
        # Joined pieces have slants, whose mirror images don't meet.
        yield _Part(strap.recipe.words.cloth, ClothShape(name, (ring,), number, any(piece.joined), grain))


def _line(curve: Array) -> Array:
    """The ends (2, 2) of a straight line."""
    return np.stack([curve[0, 0], curve[-1, 3]])


def _rectangle(width: float, height: float) -> Array:
    return cubics.lines([(0.0, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, 0.0)])
