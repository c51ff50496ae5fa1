"""Names that lead back to the sides of outlines, as `find_edge` takes them."""

from __future__ import annotations

from collections import Counter

from .piece import Pattern, Piece
from .sides import Place, Side, leg

# `find_edge` takes the shorter way round, and asks for VIA where the two differ by less than 0.1 %; a hair more, since
# the two ways are told apart by lengths that are rounded.
_WAYS_SHARE = 1.001e-3


class EdgeNames:
    """Says a side by a name that leads back to it, and to nothing else in the pattern."""

    def __init__(self, pattern: Pattern) -> None:
        self._known = {name for piece in pattern.pieces for name in piece.names}
        self._bearers = Counter(name for piece in pattern.pieces for name in set(piece.names))

    def of(self, side: Side, walked_back: bool, meant: tuple[str, str] = ("", "")) -> str | None:
        """The side's name, with the marks that are meant at its ends; None where no name leads to it.

        Where darts are closed in the side, the name says the stretch of the outline from its start to its end, legs
        and all.
        """
        piece = self._piece(side.outline.piece)
        ends = (side.end, side.start) if walked_back else (side.start, side.end)
        words = [mark or place.name for place, mark in zip(ends, meant, strict=True)]
        if self._needs_via(side):
            words.insert(1, next(filter(None, (place.name for place in side.between)), ""))
        text = f"{piece}:{'..'.join(words)}"
        return text if piece and all(words) and self._leads(text, piece) else None

    def parts(self, side: Side, walked_back: bool, meant: tuple[str, str] = ("", "")) -> tuple[str, ...] | None:
        """The names of what lies before, between and behind the darts in the side, in walking order."""
        spans = side.spans[::-1] if walked_back else side.spans
        found = []
        for k, (a, b) in enumerate(spans):
            ends = (meant[0] if k == 0 else "", meant[1] if k == len(spans) - 1 else "")
            found.append(self.of(leg(side.outline, a, b), walked_back, ends))
        named = tuple(name for name in found if name is not None)
        return named if len(named) == len(found) else None

    def _piece(self, piece: Piece) -> str:
        ordered = (piece.name, *piece.names)
        return next((name for name in ordered if name and self._bearers[name] == 1), "")

    @staticmethod
    def _needs_via(side: Side) -> bool:
        other_way = side.outline.length - side.drawn
        return side.drawn > other_way - _WAYS_SHARE * side.outline.length

    def _leads(self, text: str, piece: str) -> bool:
        """Whether no longer piece's name is read out of the text, which a mark with a colon can bring about."""
        last = text.rfind(":")
        while last > len(piece) and text[:last] not in self._known:
            last = text.rfind(":", 0, last)
        return last == len(piece) and text not in self._known


def points_of_darts(side: Side, walked_back: bool) -> tuple[str, ...]:
    """What the points of the darts in the side are called, in walking order."""
    places: list[Place] = [side.outline.places[dart.apex] for dart in side.darts]
    return tuple(place.name for place in (places[::-1] if walked_back else places))
