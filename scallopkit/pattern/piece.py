"""Pieces of cloth and the named points on their outlines."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..geometry import cubics
from ..geometry.cubics import Array, Ints


@dataclass(frozen=True, eq=False)
class Piece:
    """One shape of cloth: a closed outline, or an open line that stands for one edge of it; or a hole in one.

    Attributes:
        name: what the piece is called in reports and data-piece.
        names: every name it answers to: id, label, or kind and place in document order.
        curve: the outline in mm, (n, 4, 2), without zero-length segments; a closed one ends at its first point.
        closed: whether the outline is closed.
        nodes: the nodes (k,) as they are drawn, each as the number of the segment that starts at it, n for the end of
            an open line; None where every segment starts at one.
        around: of a hole the outline of the cloth round it; None of a piece.
        element: the id of the element that draws it, if it has one.
    """

    name: str
    names: tuple[str, ...]
    curve: Array
    closed: bool
    nodes: Ints | None = None
    around: Array | None = None
    element: str = ""

    @property
    def hole(self) -> bool:
        """Whether it bounds a hole, so that the cloth lies outside it."""
        return self.around is not None

    @property
    def outside(self) -> int:
        """+1 where the cloth ends on the left of someone who walks the outline, -1 on the right, 0 of an open line."""
        if not self.closed:
            return 0
        return 1 if (cubics.area(self.curve) > 0.0) is not self.hole else -1


@dataclass(frozen=True)
class Mark:
    """A named point of the drawing, in mm, and the id of the element that draws it, if it has one."""

    name: str
    x: float
    y: float
    element: str = field(default="", compare=False, kw_only=True)


@dataclass(frozen=True)
class Skipped:
    """Something in the drawing that was left aside, and why."""

    what: str
    why: str


@dataclass(frozen=True)
class Warn:
    """A thing the maker should know: a short code, a sentence, and the place in mm where there is one."""

    code: str
    message: str
    piece: str | None = None
    x: float | None = None
    y: float | None = None


@dataclass(frozen=True, eq=False)
class Pattern:
    """All pieces and marks of one drawing.

    `loose` are texts and small shapes by their ids, with their anchors and centres: what lies beside an outline is a
    mark of it where an edge names it so, as #its-id.
    """

    pieces: tuple[Piece, ...]
    marks: tuple[Mark, ...] = ()
    skipped: tuple[Skipped, ...] = ()
    warnings: tuple[Warn, ...] = ()
    loose: tuple[Mark, ...] = ()
