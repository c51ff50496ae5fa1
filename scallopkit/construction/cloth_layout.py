"""Cut pieces laid on cloth: along the grain, on its fold, in pairs; how much cloth that takes.

The cloth runs along y from its cut end at y = 0, and lies from x = 0 to its width: single from selvage to selvage, or
folded lengthwise with the fold at x = 0 and both selvages on each other. The grain is parallel to the selvages, so each
shape is turned, by as little as can be, until its grain line runs along y. The layout is a simple one (see `skyline`):
it never overlaps, and it is no optimum; who moves pieces about by hand may need less.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..errors import RequestError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from .skyline import Item, Stack, stacked

# How cloth lies: one layer, or folded lengthwise, right sides together.
SINGLE, FOLDED = "single", "folded"
LIES = (SINGLE, FOLDED)
# Between two shapes, mm: room for the shears; common practice, no source.
GAP = 5.0
# A fold that leaves the grain by more, radians, can't lie on the cloth's fold; what drawing by hand leaves is less.
_PARALLEL = math.radians(0.5)
# What of an outline lies within this of the line of a fold, mm, lies on the fold.
_ON_FOLD = 0.05
_FLIPPED = motion.scaled(-1.0, 1.0)
_HALF_TURN = motion.scaled(-1.0, -1.0)


@dataclass(frozen=True, eq=False)
class ClothShape:
    """A shape that is cut from cloth.

    Attributes:
        name: what it is called.
        rings: its closed cutting lines (n, 4, 2), mm: the outer one and perhaps holes.
        number: how many are cut; of a shape on a fold, how many whole ones.
        alike: whether all are cut as drawn; else every second one is its mirror image.
        grain: its grain line (2, 2), or None: it then lies by its fold, or as it is drawn.
        folds: the straight lines (2, 2) along its outline in which it is mirrored.
    """

    name: str
    rings: tuple[Array, ...]
    number: int = 1
    alike: bool = False
    grain: Array | None = None
    folds: tuple[Array, ...] = ()


@dataclass(frozen=True)
class Cloth:
    """The cloth that shapes are laid on.

    Attributes:
        width: from selvage to selvage, what can be used of it, mm.
        lies: SINGLE or FOLDED.
        one_way: whether it has a nap or a print, so that no shape may be turned upside down.
        gap: between two shapes, mm.
    """

    width: float
    lies: str = SINGLE
    one_way: bool = False
    gap: float = GAP

    @property
    def laid_width(self) -> float:
        """How wide it is as it lies, mm."""
        return 0.5 * self.width if self.lies == FOLDED else self.width


@dataclass(frozen=True, eq=False)
class PlacedShape:
    """A shape on the cloth.

    Attributes:
        name: what it is called.
        motion: the map (2, 3) from where it is drawn, or the half of it that is drawn, to its place.
        rings: its closed lines as placed; of a shape that is opened out, the whole.
        flipped: whether it lies as its mirror image, the drawing face down.
        grain: its grain line (2, 2) as placed, None where it has none.
        layers: of how many layers of the cloth it is cut: 2 on folded cloth, unless only one is cut.
        on_fold: whether it lies on the cloth's fold, so that it opens out to twice its area.
    """

    name: str
    motion: Array
    rings: tuple[Array, ...]
    flipped: bool
    grain: Array | None
    layers: int
    on_fold: bool

    @property
    def area(self) -> float:
        """Area of what is cut there from all layers, mm²."""
        return self.layers * area_of(self.rings)


@dataclass(frozen=True, eq=False)
class ClothLayout:
    """Shapes laid on cloth: a simple layout, no optimum.

    Attributes:
        cloth: the cloth.
        placed: the shapes that lie on it.
        length: how much of its length they take, mm.
        unfit: a sentence for each shape that is not laid: why, and what width it needs.
        notes: what is to be known of some that are.
    """

    cloth: Cloth
    placed: tuple[PlacedShape, ...]
    length: float
    unfit: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def efficiency(self) -> float:
        """Area of all that is cut over the area of the cloth that it takes, 0 to 1; 0 where nothing is laid."""
        used = self.cloth.width * self.length
        return sum(shape.area for shape in self.placed) / used if used else 0.0


@dataclass(frozen=True, eq=False)
class _Laying:
    """A shape for one place: turned by its grain, how often it is laid so, and as what."""

    shape: ClothShape
    rings: tuple[Array, ...]
    ways: tuple[Array, ...]
    layers: int
    on_fold: bool = False

    @property
    def item(self) -> Item:
        return Item(self.rings, self.ways, self.on_fold)


def area_of(rings: Sequence[Array]) -> float:
    """Area in mm² within closed lines, of which the largest has all others as holes in it."""
    areas = [abs(cubics.area(ring)) for ring in rings]
    return 2.0 * max(areas) - sum(areas)


def cloth_layout(shapes: Sequence[ClothShape], cloth: Cloth) -> ClothLayout:
    """Shapes laid on cloth.

    Raises:
        RequestError: a width or a gap that can't be, or a way to lie that there is none of.
    """
    if not (cloth.width > 0.0 and cloth.gap >= 0.0) or cloth.lies not in LIES:
        raise RequestError(
            f"cloth {cloth.width:g} mm wide that lies {cloth.lies!r}, with {cloth.gap:g} mm between pieces, can't be: "
            f"give a width above 0, a gap of at least 0, and one of {', '.join(LIES)}"
        )
    layings: list[_Laying] = []
    unfit: list[str] = []
    notes: list[str] = []
    for shape in shapes:
        told: list[str] = []
        try:
            own = list(_layings(shape, cloth, told))
        except RequestError as error:
            unfit.append(str(error))
            continue
        needed = min(_width(laying, way) for laying in own[:1] for way in laying.ways)
        if needed > cloth.laid_width + 1e-6:
            unfit.append(_too_wide(shape, cloth, needed))
        else:
            layings += own
            notes += told
    stack = stacked([laying.item for laying in layings], cloth.laid_width, cloth.gap) if layings else Stack((), 0.0)
    placed = [_placed(one, by) for one, by in zip(layings, stack.motions, strict=True) if by is not None]
    return ClothLayout(cloth, tuple(placed), stack.length, tuple(unfit), tuple(notes))


def _too_wide(shape: ClothShape, cloth: Cloth, needed: float) -> str:
    told = f'"{shape.name}" does not fit: laid along its grain it needs {math.ceil(needed)} mm of width, and the cloth '
    if cloth.lies == FOLDED:
        cure = ": lay the cloth single" if needed <= cloth.width else ""
        return f"{told}has {cloth.laid_width:g} mm when it is folded{cure}"
    return f"{told}is {cloth.width:g} mm wide: take wider cloth, or join the piece from two"


def _width(laying: _Laying, way: Array) -> float:
    boxes = np.array([cubics.bounds(motion.apply(way, ring)) for ring in laying.rings])
    return float(boxes[:, 1, 0].max() - boxes[:, 0, 0].min())


def _layings(shape: ClothShape, cloth: Cloth, notes: list[str]) -> Iterator[_Laying]:
    """All places that a shape takes; what is to be known of them is added to `notes`."""
    folded = cloth.lies == FOLDED
    grain = _grain(shape)
    upright = motion.IDENTITY if grain is None else motion.turned(_to_upright(grain))
    ways = (upright,) if cloth.one_way else (upright, motion.compose(_HALF_TURN, upright))
    flipped = tuple(motion.compose(_FLIPPED, way) for way in ways)
    on_fold = next((fold for fold in shape.folds if folded and _parallel(fold, grain)), None)
    rings = shape.rings
    for fold in shape.folds:
        if fold is not on_fold:
            rings = opened(rings, fold, shape.name)
    if on_fold is not None:
        # Opened out it is its own mirror image, so it may lie on either side of its fold.
        own = _beside_fold(rings, on_fold, (*ways, *flipped))
        yield from [_Laying(shape, rings, own, 2, on_fold=True)] * shape.number
        return
    if folded and shape.folds:
        notes.append(
            f'"{shape.name}" is not laid on the fold, for its own fold is not along its grain: it is opened out'
        )
    symmetric = bool(shape.folds)
    if not folded:
        for k in range(shape.number):
            yield _Laying(shape, rings, flipped if k % 2 and not shape.alike and not symmetric else ways, 1)
        return
    doubled = 0 if shape.alike and not symmetric else shape.number // 2
    yield from [_Laying(shape, rings, (*ways, *flipped), 2)] * doubled
    single = shape.number - 2 * doubled
    if single:
        notes.append(
            f'"{shape.name}" is cut {single if single > 1 else "once"} from one layer of the folded cloth only'
        )
    yield from [_Laying(shape, rings, ways, 1)] * single


def _placed(laying: _Laying, by: Array) -> PlacedShape:
    shape = laying.shape
    grain = None if shape.grain is None else motion.apply(by, shape.grain)
    rings = tuple(motion.apply(by, ring) for ring in laying.rings)
    flipped = bool(np.linalg.det(by[:, :2]) < 0.0)
    return PlacedShape(shape.name, by, rings, flipped, grain, laying.layers, laying.on_fold)


# ---------------------------------------------------------------- grain and folds


def _grain(shape: ClothShape) -> Array | None:
    """The line that lies along the warp: the grain line, else a fold, which is cut on the straight grain."""
    return shape.grain if shape.grain is not None else shape.folds[0] if shape.folds else None


def _to_upright(line: Array) -> float:
    """The least turn, radians, that makes a line run along y, either way."""
    x, y = line[1] - line[0]
    turn = 0.5 * math.pi - math.atan2(y, x)
    return turn - math.pi * math.floor(turn / math.pi + 0.5)


def _parallel(fold: Array, grain: Array | None) -> bool:
    if grain is None:
        return True
    a, b = fold[1] - fold[0], grain[1] - grain[0]
    return abs(math.atan2(abs(float(cubics.cross(a, b))), abs(float(a @ b)))) <= _PARALLEL


def _beside_fold(rings: Sequence[Array], fold: Array, ways: Sequence[Array]) -> tuple[Array, ...]:
    """Those of the ways in which the shape lies to the right of its fold, turned so that the fold is upright."""
    out = []
    for way in ways:
        exact = motion.compose(motion.turned(_to_upright(motion.apply(way, fold))), way)
        x = float(motion.apply(exact, fold)[0, 0])
        boxes = np.array([cubics.bounds(motion.apply(exact, ring)) for ring in rings])
        if float(boxes[:, 0, 0].min() + boxes[:, 1, 0].max()) > 2.0 * x:
            out.append(exact)
    return tuple(out)


def opened(rings: Sequence[Array], fold: Array, name: str = "") -> tuple[Array, ...]:
    """A shape opened out along a fold on which its outline runs: its half and the mirror image of that.

    Args:
        rings: its closed lines (n, 4, 2).
        fold: the line (2, 2).
        name: what it is called, for messages.

    Raises:
        RequestError: no part of its outline runs along the fold.
    """
    along = (fold[1] - fold[0]) / float(np.hypot(*(fold[1] - fold[0])))
    mirror = motion.mirrored(fold[0], along)
    across = cubics.left(along)
    out: list[Array] = []
    found = False
    for ring in rings:
        on_it = (np.abs((ring - fold[0]) @ across) <= _ON_FOLD).all(axis=1)
        if not on_it.any():
            out += [ring, motion.apply(mirror, ring)]
            continue
        found = True
        first = int(np.argmax(on_it))
        ring, on_it = np.roll(ring, -first, axis=0), np.roll(on_it, -first)
        stops = [0, *(np.flatnonzero(np.diff(on_it)) + 1).tolist(), len(ring)]
        for begin, end in pairwise(stops):
            if not on_it[begin]:
                half = _ended_on(ring[begin:end], fold[0], across)
                out.append(np.concatenate([half, cubics.reverse(motion.apply(mirror, half))]))
    if not found:
        raise RequestError(f'"{name}" can\'t be laid: its outline does not run along its fold')
    return tuple(out)


def _ended_on(half: Array, place: Array, across: Array) -> Array:
    """A line whose ends lie near a fold, with its ends on it."""
    out = half.copy()
    for at in ((0, 0), (-1, 3)):
        out[at] -= float((out[at] - place) @ across) * across
    return out
