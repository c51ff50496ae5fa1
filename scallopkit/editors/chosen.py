"""What is selected in an editor, in the words that name edges, marks and runs.

Editors count nodes their own way (an arc has two, whatever it takes in cubics) and list them in the order in which they
were clicked, or in any order where many were taken at once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from lxml import etree

from ..document.drawing import Drawing
from ..document.markup import INKSCAPE, SODIPODI
from ..document.names import described, id_of
from ..document.source import parse_xml
from ..errors import RequestError
from ..geometry.length import measure
from ..pattern.corners import corners
from ..pattern.marks import REACH, snap
from ..pattern.piece import Mark, Piece

# A mark, and the name that an edge takes it by; where pieces meet, several marks bear the same.
Named = tuple[str, Mark]


@dataclass(frozen=True)
class Node:
    """A selected node: the id of its element, the number of the subpath, and its own number there, from 0."""

    element: str
    subpath: int
    number: int


@dataclass(frozen=True)
class Chosen:
    """What the selection means.

    Attributes:
        edges: edges by their names, in the order of the selection; a whole outline is one.
        starts: for each edge the place where a whole closed outline is to start, by its name; else an empty text.
        runs: names of our own groups in which something is selected, in the order of the selection.
        both: edges and runs together, in the order of the selection.
    """

    edges: tuple[str, ...]
    starts: tuple[str, ...]
    runs: tuple[str, ...]
    both: tuple[str, ...] = ()


def read_node(text: str) -> Node:
    """A node as editors write it: element:subpath:node.

    Raises:
        RequestError: it is nothing of that kind.
    """
    element, *numbers = text.rsplit(":", 2)
    if len(numbers) != 2 or not element or not all(number.isdecimal() for number in numbers):
        raise RequestError(f"the selected node {text!r} can't be read: select the outline itself, without nodes")
    return Node(element, int(numbers[0]), int(numbers[1]))


def chosen(drawing: Drawing, ids: Sequence[str], nodes: Sequence[Node] = ()) -> Chosen:
    """The edges, marks and runs that are selected.

    Two nodes of an outline are the edge between them, three the edge from the first through the second to the third;
    four and more are an edge for each two, as at both sides of a dart; of a closed one a single node is where it
    starts. So are texts and small shapes beside an outline that is selected too. Without any the whole outline is
    meant. Of a group all outlines are meant. With nothing selected, a drawing's only outline is.

    Raises:
        RequestError: nothing is selected that can be used; the text says what to select.
    """
    by_id = {id_of(element): element for element in parse_xml(drawing.source, drawing.name).iter(etree.Element)}
    elements = [by_id[name] for name in dict.fromkeys([*ids, *(node.element for node in nodes)]) if name in by_id]
    runs = tuple(dict.fromkeys(name for element in elements if (name := _own(element))))
    theirs = [element for element in elements if not _own(element)]
    pieces = list(dict.fromkeys(piece for element in theirs for piece in _pieces(drawing, element)))
    marks, outlines = _parted(drawing, theirs, pieces)
    if not outlines and not runs:
        outlines = _only_piece(drawing, theirs)
    places = {piece: _nodes_on(drawing, piece, nodes, by_id) or _marks_on(piece, marks) for piece in outlines}
    _refuse_stray(marks, outlines)
    named = {piece: _edges(piece, names) for piece, names in places.items()}
    both = dict.fromkeys(
        name
        for element in elements
        for name in (
            [_own(element)]
            if _own(element)
            else [edge for piece in _pieces(drawing, element) for edge, _ in named.get(piece, ())]
        )
    )
    edges, starts = zip(*chain.from_iterable(named.values()), strict=True) if named else ((), ())
    return Chosen(edges, starts, runs, tuple(both))


def _own(element: etree._Element) -> str:
    """The name of our own group that an element is, or lies in; an empty text for the maker's own elements."""
    for one in (element, *element.iterancestors()):
        if one.get("data-recipe") is not None:
            return one.get("data-run") or ""
    return ""


def _pieces(drawing: Drawing, element: etree._Element) -> Iterator[Piece]:
    """The pieces that an element draws, or the elements in it."""
    for one in element.iter(etree.Element):
        if id_of(one):
            yield from _subpaths(drawing, id_of(one))


def _subpaths(drawing: Drawing, name: str) -> list[Piece]:
    """The pieces of the element of that id, one for each of its subpaths."""
    return [piece for piece in drawing.pattern.pieces if piece.element == name]


# ---------------------------------------------------------------- marks


def _parted(
    drawing: Drawing, elements: Sequence[etree._Element], pieces: list[Piece]
) -> tuple[list[Named], list[Piece]]:
    """Selected marks with the names that edges take, and the outlines that are none.

    Texts and small shapes are marks where they lie beside a larger outline that is selected too.
    """
    loose = {mark.name: mark for mark in drawing.pattern.loose}
    drawn = {mark.element: mark for mark in drawing.pattern.marks}
    marks: list[Named] = []
    taken: set[Piece] = set()
    for element in elements:
        own = id_of(element)
        if own in loose:
            small = _subpaths(drawing, own)
            larger = [
                piece for piece in pieces if piece not in small and _size(piece) > max(map(_size, small), default=0.0)
            ]
            if not small or any(snap(piece, (loose[own],)) for piece in larger):
                marks.append((f"#{own}", loose[own]))
                taken |= set(small)
        elif own in drawn:
            marks.append((drawn[own].name, drawn[own]))
    return marks, [piece for piece in pieces if piece not in taken]


def _size(piece: Piece) -> float:
    return float(np.ptp(piece.curve.reshape(-1, 2), axis=0).max())


def _marks_on(piece: Piece, marks: Sequence[Named]) -> list[str]:
    """Names of the places that the marks have on an outline, in their order."""
    return list(dict.fromkeys(name for name, mark in marks if snap(piece, (mark,))))


def _refuse_stray(marks: Sequence[Named], outlines: Sequence[Piece]) -> None:
    for name, mark in marks:
        if outlines and not any(snap(piece, (mark,)) for piece in outlines):
            raise RequestError(
                f'"{name}" lies more than {REACH:g} mm from the outlines that are selected: move it onto one, or leave '
                "it out of the selection"
            )


# ---------------------------------------------------------------- nodes


def _nodes_on(drawing: Drawing, piece: Piece, nodes: Sequence[Node], by_id: dict[str, etree._Element]) -> list[str]:
    """Names of the places of an outline's selected nodes, or none where all of it is meant."""
    numbers = []
    for node in nodes:
        own = _subpaths(drawing, node.element)
        if node.subpath < len(own) and own[node.subpath] is piece:
            numbers.append(node.number)
            _refuse_effects(by_id[node.element], piece)
    every = len(piece.curve) + (not piece.closed) if piece.nodes is None else len(piece.nodes)
    wanted = list(dict.fromkeys(number % every if piece.closed else min(number, every - 1) for number in numbers))
    if len(wanted) == every and every > 3:
        return []
    ends = _chain(wanted, every, piece.closed) if len(wanted) > 2 else wanted
    names = [_node_name(drawing, piece, number) for number in ends]
    between = _long_way(piece, wanted, every) if len(wanted) == 2 else None
    return names if between is None else [names[0], f"node{between}+", names[1]]


def _long_way(piece: Piece, pair: Sequence[int], every: int) -> int | None:
    """Of two neighbouring nodes whose own stretch is the longer way round, the one at which that begins."""
    if not piece.closed or every < 3:
        return None
    first = next((a for a, b in (pair, pair[::-1]) if (a + 1) % every == b), None)
    if first is None:
        return None
    m, nodes = measure(piece.curve), np.arange(every) if piece.nodes is None else piece.nodes
    at = m.lengths(nodes[[first, (first + 1) % every]], np.zeros(2))
    return first if float(at[1] - at[0]) % m.length > 0.5 * m.length else None


def _refuse_effects(element: etree._Element, piece: Piece) -> None:
    if element.get(f"{{{INKSCAPE}}}original-d") is not None:
        raise RequestError(
            f'the nodes of "{piece.name}" are those of the path before its path effect: turn it into a path first, or '
            "select it without nodes"
        )
    if element.get(f"{{{SODIPODI}}}type") is not None and element.tag.endswith("path"):
        raise RequestError(
            f'"{piece.name}" is a shape of the editor: turn it into a path before you select nodes of it'
        )


def _chain(numbers: list[int], every: int, closed: bool) -> list[int]:
    """Of nodes that follow each other the first, one between and the last; of others what is there.

    The walk starts at whichever of the two ends comes first in the list.
    """
    there = set(numbers)
    firsts = [n for n in numbers if ((n - 1) % every if closed else n - 1) not in there]
    if len(firsts) != 1:
        return numbers
    first, last = firsts[0], (firsts[0] + len(numbers) - 1) % every
    between = (first + 1) % every
    ends = [first, between, last]
    return ends if numbers.index(first) <= numbers.index(last) else ends[::-1]


def _node_name(drawing: Drawing, piece: Piece, number: int) -> str:
    """The best name that a node has: a mark's, a corner's or an end's, else its number."""
    at = number if piece.nodes is None else int(piece.nodes[number])
    if not piece.closed and at in (0, len(piece.curve)):
        return "end" if at else "start"
    place = piece.curve[at, 0] if at < len(piece.curve) else piece.curve[-1, 3]
    for mark in snap(piece, drawing.pattern.marks):
        m = measure(piece.curve)
        there = m.points(m.lengths(np.array([mark.segment]), np.array([mark.t])))[0]
        if float(np.hypot(*(there - place))) <= 1e-6:
            return mark.name
    return next((corner.name for corner in corners(piece.curve, piece.closed) if corner.node == at), f"node{number}")


# ---------------------------------------------------------------- edges


def _edges(piece: Piece, names: Sequence[str]) -> list[tuple[str, str]]:
    """The names of the edges between places, each with where it starts, if it is a whole closed outline."""
    if not names:
        return [(piece.name, "")]
    if len(names) == 1:
        return [(piece.name, names[0] if piece.closed else "")]
    if len(names) == 3:
        return [(f"{piece.name}:{'..'.join(names)}", "")]
    if len(names) % 2:
        raise RequestError(
            f'{len(names)} places of "{piece.name}" are selected, which do not follow each other: select two for each '
            "edge, or three for the way round"
        )
    return [(f"{piece.name}:{first}..{last}", "") for first, last in zip(names[::2], names[1::2], strict=True)]


def _only_piece(drawing: Drawing, elements: Sequence[etree._Element]) -> list[Piece]:
    """The drawing's only outline, where nothing is selected."""
    cure = "select one, or two nodes of it for the edge between them"
    if elements:
        raise RequestError(f"{described(elements[0])} is no outline that can be trimmed: {cure}")
    if len(drawing.pattern.pieces) != 1:
        raise RequestError(f"no outline is selected: {cure}")
    return list(drawing.pattern.pieces)
