"""A request of an editor's macro: plain data to a drawing in memory, and what is to be done with it."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from lxml import etree

from ..document.drawing import Drawing
from ..document.group import empty_group
from ..document.layer import replace_groups
from ..document.markup import INKSCAPE, SVG
from ..document.numbers import decimal, path_text
from ..document.outlines import CLOSING_GAP, REACH
from ..document.reader import read_drawing
from ..errors import RequestError
from ..geometry.cubics import Array, lines

VERSION = 1
TASKS = ("scallop", "eyelets", "notches", "refit", "version")

_KEYS = ("bridge", "task", "shapes", "marks", "page", "along", "join", "on", "words", "runs")
# Finer than any coordinate that comes in.
_PLACES = 9
# What no XML document can hold, and what would not come back from one as it was.
_UNFIT = re.compile("[\x00-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
# So far beyond its shapes reaches a drawing without a page, mm.
_ROUND = 20.0


@dataclass(frozen=True)
class Asked:
    """A request.

    Attributes:
        task: one of `TASKS`.
        drawing: the shapes, marks and kept runs as a drawing in mm.
        page: whether the request tells the size of its page.
        along: the edges.
        joins: what lies between them; without any each edge is a run of its own.
        on: names of kept runs that are worked on.
        words: options as the command has them, with underscores.
    """

    task: str
    drawing: Drawing
    page: bool
    along: tuple[str, ...]
    joins: tuple[str, ...]
    on: tuple[str, ...]
    words: dict[str, Any]


def read_request(request: object) -> Asked:
    """The request in JSON that was read.

    Raises:
        ScallopkitError: something in it can't be used; the text says what.
    """
    if not isinstance(request, dict):
        raise RequestError('a request is one JSON object: send something like {"bridge": 1, "task": "version"}')
    if request.get("bridge") != VERSION:
        raise RequestError(
            f"this scallopkit speaks version {VERSION} of the bridge and was asked in version "
            f"{request.get('bridge')!r}: update the older of the two, scallopkit or what calls it"
        )
    strange = [key for key in request if key not in _KEYS]
    if strange:
        raise RequestError(f"a request has no {strange[0]!r}: leave it out; there are {', '.join(_KEYS)}")
    task = request.get("task")
    if task not in TASKS:
        raise RequestError(f"there is no task {task!r}: ask for {', '.join(TASKS)}")
    shapes = _list(request, "shapes")
    drawing = _drawing(
        _unlike("shapes", [_shape(one) for one in shapes]),
        _unlike("marks", [_mark(one) for one in _list(request, "marks")]),
        _unlike("runs", [_kept(one) for one in _list(request, "runs")]),
        _page(request.get("page")),
    )
    return Asked(
        str(task),
        drawing,
        request.get("page") is not None,
        _texts(request, "along"),
        _texts(request, "join"),
        _texts(request, "on"),
        _words(request.get("words")),
    )


# ---------------------------------------------------------------- what a request holds


@dataclass(frozen=True, eq=False)
class _Shape:
    name: str
    curve: Array
    closed: bool


@dataclass(frozen=True)
class _Mark:
    name: str
    x: float
    y: float


@dataclass(frozen=True)
class _Kept:
    name: str
    recipe: str


def _list(request: dict[str, Any], key: str) -> list[Any]:
    value = request.get(key)
    if value is None:
        return []
    if not isinstance(value, list):
        raise RequestError(f"{key!r} is no list: send a list")
    return value


def _texts(request: dict[str, Any], key: str) -> tuple[str, ...]:
    value = request.get(key)
    texts = [value] if isinstance(value, str) else _list(request, key)
    if not all(isinstance(text, str) for text in texts):
        raise RequestError(f"{key!r} holds something else than texts: send a list of texts")
    return tuple(text for text in texts if text)


def _words(value: object) -> dict[str, Any]:
    words = {} if value is None else value
    if not isinstance(words, dict):
        raise RequestError('\'words\' is no object: send the options as {"width": "30mm"}')
    for name, word in words.items():
        parts = word if isinstance(word, list) else [word]
        if not all(part is None or (isinstance(part, str | int | float) and _finite(part)) for part in parts):
            raise RequestError(f"the word {name!r} can't be used: send a text, a number, or a list of them")
        if None in parts and isinstance(word, list):
            raise RequestError(f"the word {name!r} has an empty place in its list: leave it out")
    for name in ("name", "wearer"):
        if not isinstance(words.get(name, ""), str):
            raise RequestError(f"the word {name!r} is {words[name]!r}: send a text")
    return words


def _finite(value: object) -> bool:
    return not isinstance(value, int | float) or (not isinstance(value, bool) and abs(value) <= REACH)


def _object(value: object, what: str, keys: Sequence[str]) -> dict[str, Any]:
    if not isinstance(value, dict) or not all(key in value for key in keys):
        raise RequestError(f"{what} is no object with {', '.join(keys)}: send these")
    return value


def _name(value: object, what: str) -> str:
    name = value.strip() if isinstance(value, str) else ""
    if not name or _UNFIT.search(name):
        raise RequestError(f"{what} is called {value!r}: give it a name of letters and figures")
    return name


def _shape(value: object) -> _Shape:
    told = _object(value, "a shape", ("name", "curve"))
    name = _name(told["name"], "a shape")
    closed = told.get("closed", False)
    if not isinstance(closed, bool):
        raise RequestError(f'the shape "{name}" says {closed!r} for closed: send true or false')
    segments = told["curve"]
    if not isinstance(segments, list) or not segments:
        raise RequestError(f'the shape "{name}" has no curve: send a list of segments, of two or four points each')
    parts = [_segment(segment, name, k) for k, segment in enumerate(segments)]
    for k in range(1, len(parts)):
        if float(np.abs(parts[k][0] - parts[k - 1][3]).max()) > CLOSING_GAP:
            raise RequestError(
                f'segment {k + 1} of the shape "{name}" does not begin where the one before it ends: send its parts as '
                "shapes of their own"
            )
    return _Shape(name, np.stack(parts), closed)


def _segment(value: object, name: str, k: int) -> Array:
    """A straight line of two points or a cubic of four, (4, 2)."""
    try:
        points = np.array(value, dtype=float)
    except (TypeError, ValueError, OverflowError):
        points = np.empty(0)
    if points.shape not in ((2, 2), (4, 2)) or not np.abs(points).max() <= REACH:
        raise RequestError(
            f'segment {k + 1} of the shape "{name}" can\'t be read: send two or four points [x, y] in mm'
        )
    return points if len(points) == 4 else lines(points)[0]


def _mark(value: object) -> _Mark:
    told = _object(value, "a mark", ("name", "x", "y"))
    name = _name(told["name"], "a mark")
    return _Mark(name, *(_number(told[key], f'{key} of the mark "{name}"') for key in ("x", "y")))


def _kept(value: object) -> _Kept:
    told = _object(value, "a kept run", ("name", "recipe"))
    name = _name(told["name"], "a kept run")
    if not isinstance(told["recipe"], str) or _UNFIT.search(told["recipe"]):
        raise RequestError(f'the recipe of "{name}" is no text of an answer: send it as it came')
    return _Kept(name, told["recipe"])


def _page(value: object) -> tuple[float, float] | None:
    if value is None:
        return None
    if not isinstance(value, list) or len(value) != 2:
        raise RequestError("'page' is no pair: send width and height in mm")
    width, height = (_number(size, "the page's size") for size in value)
    if min(width, height) <= 0.0:
        raise RequestError("the page's size is not larger than nothing: send width and height in mm")
    return width, height


def _number(value: object, what: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) <= REACH:
        raise RequestError(f"{what} is {value!r}: send a number in mm")
    return float(value)


def _unlike(key: str, found: Sequence[Any]) -> Sequence[Any]:
    """What was found, each of another name."""
    seen: set[str] = set()
    for one in found:
        if one.name in seen:
            raise RequestError(f'two of the {key} are called "{one.name}": give each its own name')
        seen.add(one.name)
    return found


# ---------------------------------------------------------------- the drawing


def _drawing(
    shapes: Sequence[_Shape], marks: Sequence[_Mark], runs: Sequence[_Kept], page: tuple[float, float] | None
) -> Drawing:
    """The drawing in mm, with the groups of the kept runs empty but for their recipes."""
    width, height = (decimal(size, _PLACES) for size in page or _reach(shapes))
    root = etree.Element(f"{{{SVG}}}svg", nsmap={"svg": SVG, "inkscape": INKSCAPE})
    root.set("width", f"{width}mm")
    root.set("height", f"{height}mm")
    root.set("viewBox", f"0 0 {width} {height}")
    for shape in shapes:
        d = path_text(shape.curve, _PLACES, shape.closed)
        etree.SubElement(root, f"{{{SVG}}}path", id=shape.name, fill="none", stroke="black", d=d)
    if marks:
        group = etree.SubElement(root, f"{{{SVG}}}g", id="marks")
        for mark in marks:
            x, y = decimal(mark.x, _PLACES), decimal(mark.y, _PLACES)
            etree.SubElement(group, f"{{{SVG}}}circle", id=mark.name, cx=x, cy=y, r="0.5")
    source = etree.tostring(root, encoding="utf-8", xml_declaration=True)
    groups = {run.name: empty_group(run.name, run.recipe) for run in runs}
    return read_drawing(replace_groups(source, groups) if groups else source, "the drawing")


def _reach(shapes: Iterable[_Shape]) -> tuple[float, float]:
    """A page that all shapes lie on."""
    points = np.concatenate([np.zeros((1, 2)), *(shape.curve.reshape(-1, 2) for shape in shapes)])
    width, height = (math.ceil(float(most)) + _ROUND for most in points.max(axis=0))
    return width, height
