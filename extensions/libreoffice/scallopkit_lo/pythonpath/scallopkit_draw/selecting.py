"""What is selected, in the words that name edges and runs."""

from __future__ import annotations

from dataclasses import dataclass, field

from .keeping import GROUP, LAYER
from .reading import is_line, lines_on, mark_of, walk
from .refusing import Refusal

_SELECT = "select a line or an outline, and try again"


@dataclass
class Selected:
    """What a page holds, and what of it is meant.

    `groups` are ours by the names of their runs, `lines` all of the maker's; `marks` the small shapes that edges go by.
    `edges` and `runs` are what is selected, `start` the mark at which a whole outline starts.
    """

    page: object
    groups: dict
    kept: dict
    lines: list
    marks: list = field(default_factory=list)
    edges: list = field(default_factory=list)
    runs: list = field(default_factory=list)
    start: str = ""


def page_of(document: object, kept: dict, groups: dict) -> Selected:
    """What a page holds, with nothing selected."""
    page = document.CurrentController.CurrentPage
    names = {name: known_by for one in kept.values() for name, known_by in one.get("names", {}).items()}
    return Selected(page, groups, kept, lines_on(page, names))


def selected(document: object, kept: dict, groups: dict) -> Selected:
    """What a page holds and what of it is selected.

    Raises:
        Refusal: nothing is selected that can be used; the text says what to do.
    """
    out = page_of(document, kept, groups)
    marks = []
    for shape in _shapes(document.CurrentController.getSelection()):
        run = _run_of(shape, groups)
        if run:
            out.runs += [run] if run not in out.runs else []
        elif shape.LayerName == LAYER:
            raise Refusal(
                f'"{_called(shape)}" lies in the layer {LAYER}, which is for our lines: put it into another layer.'
            )
        elif shape.ShapeType == GROUP:
            out.edges += _names([one for one in walk(shape) if is_line(one)], out.lines)
        elif is_line(shape):
            out.edges += _names([shape], out.lines)
        else:
            marks.append(_marked(shape))
    if not out.edges and not out.runs:
        raise Refusal(f"No line is selected: {_SELECT}.")
    _by_marks(out, marks)
    return out


def _shapes(selection: object) -> list:
    if selection is None or not hasattr(selection, "Count"):
        return []
    return [selection.getByIndex(k) for k in range(selection.Count)]


def _run_of(shape: object, groups: dict) -> str:
    """The run whose group a shape is, or lies in."""
    for name, group in groups.items():
        if shape == group or any(shape == group.getByIndex(k) for k in range(group.Count)):
            return name
    return ""


def _names(shapes: list, lines: list) -> list:
    """The names of all outlines of shapes."""
    found = [line for shape in shapes for line in lines if line.shape == shape]
    return [sent["name"] for line in found for sent in line.sent]


def _called(shape: object) -> str:
    return shape.Name.strip() or shape.ShapeType.rpartition(".")[2].replace("Shape", "").lower()


def _marked(shape: object) -> dict:
    """A small shape that is no line, as a mark.

    Raises:
        Refusal: it is larger, or has no name.
    """
    mark = mark_of(shape)
    if not mark:
        raise Refusal(
            f'"{_called(shape)}" is no line with points: convert it to a curve first (Shape > Convert > To Curve), and '
            "select it again."
        )
    if not mark["name"]:
        raise Refusal(
            "A small shape that marks a place on a line needs a name, so that a later fit finds it: right-click it, "
            "choose Name..., and try again."
        )
    return mark


def _by_marks(out: Selected, marks: list) -> None:
    """An edge between two marks; with one mark an outline that starts there."""
    if not marks:
        return
    if len(out.edges) != 1 or len(marks) > 2:
        raise Refusal(
            f"{len(marks)} small shapes and {len(out.edges)} lines are selected: select one line, and with it two "
            "small shapes for the edge between them, or one where a closed outline is to start."
        )
    out.marks = marks
    if len(marks) == 1:
        out.start = marks[0]["name"]
    else:
        out.edges = [f"{out.edges[0]}:{marks[0]['name']}..{marks[1]['name']}"]


def marks_for(out: Selected) -> list:
    """The marks that are selected, and those by which kept runs go."""
    needed = {name for one in out.kept.values() for name in one.get("marks", [])}
    there = [mark for shape in walk(out.page) if not is_line(shape) for mark in [mark_of(shape)] if mark]
    named = {mark["name"]: mark for mark in [*there, *out.marks] if mark["name"] in needed or mark in out.marks}
    return list(named.values())


def used_names(lines: list, edges: list) -> dict:
    """For those of the named lines that have no name of their own, by what they are known again."""
    used: dict = {}
    for line in lines:
        if line.name != line.shape.Name.strip() and any(sent["name"] in edges for sent in line.sent):
            used[line.name] = line.known_by
    return used
