"""A drawing's bytes to its pattern: the tree is walked once, transforms composed, every outline brought to mm.

Nothing is left out without a word: what is not drawn, or cannot be read, is listed as skipped, with its reason.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from lxml import etree

from ..errors import DrawingError
from ..geometry.cubics import Array, bounds
from ..geometry.motion import IDENTITY, apply, compose, moved
from ..pattern.piece import Mark, Pattern, Skipped, Warn
from .drawing import Drawing
from .layer import NAME
from .markup import SVG
from .names import described, id_of, kind_of, label_of, words_in
from .outlines import REACH, Outline, about_data, about_size, in_mm, pieces_of
from .path_data import PathData
from .presentation import Paint, declared, inherited, is_displayed, sheet_matters
from .shapes import read_shape
from .source import DEPTH_MOST, parse_xml
from .transforms import Size, element_map, stretches
from .units import svg_length
from .viewport import inner_viewport, root_viewport

# Of what arcs and circles may be off, in mm.
ACCURACY = 1e-6
_MARK_MOST = 50.0
_USES_MOST = 5_000

_SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"})
_GROUPS = frozenset({"g", "a", "switch"})
_NOT_READ = {
    "text": "a text is no outline; turn it into a path, or put it in the group `marks` to name a point",
    "flowRoot": "a text is no outline; turn it into a path",
    "image": "a picture has no outline; trace it in the editor",
    "foreignObject": "foreign content is no outline",
}
_NEVER_DRAWN = frozenset(
    {"defs", "symbol", "clipPath", "mask", "marker", "pattern", "metadata", "title", "desc", "style", "script"}
    | {"linearGradient", "radialGradient", "meshgradient", "hatch", "solidcolor", "filter", "view", "cursor", "font"}
    | {"animate", "animateMotion", "animateTransform", "set"}
)
_OWN_ID = re.compile(rf"{NAME}(-\d+)?")
_CORNER_NAME = re.compile(r"c\d+|start|end")
_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")


def read_file(path: str | Path) -> Drawing:
    """Read the drawing in a file.

    Raises:
        DrawingError: the file cannot be read, or as for `read_drawing`.
    """
    place = Path(path)
    try:
        data = place.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise DrawingError(f"{place} cannot be read ({reason}); check the name and the folder") from None
    return read_drawing(data, place.name)


def read_drawing(data: bytes, name: str) -> Drawing:
    """Read an SVG drawing; `name` is the file's name, for messages.

    Raises:
        DrawingError: it is no SVG drawing, its scale is uneven, a mark has a name that corners or ends have, or a piece
            lies beyond all measure.
    """
    root = parse_xml(data, name)
    try:
        viewport = root_viewport(root)
        walk = _Walk(root)
        place = _Place(viewport.to_mm, inherited(Paint(), declared(root)), viewport.units)
        # Numbers beyond all measure are refused where they end up, not where they first overflow.
        with np.errstate(all="ignore"):
            walk.children(root, place)
            pieces, warnings = pieces_of(walk.outlines)
            warnings += about_size(pieces)
    except DrawingError as error:
        raise DrawingError(f"{name}: {error}") from None
    every = (*viewport.warnings, *_about_sheets(root), *walk.warnings, *warnings)
    loose = (*walk.texts, *_small_shapes(walk.outlines))
    pattern = Pattern(pieces, tuple(walk.marks), tuple(walk.skipped), every, loose)
    return Drawing(pattern, data, viewport.to_mm, name, viewport.size_mm)


@dataclass(frozen=True, eq=False)
class _Place:
    """What an element has from the elements around it."""

    to_mm: Array
    paint: Paint
    viewport: Size
    marks: bool = False
    # The outermost `use` that draws it, and all targets on the way.
    used_by: etree._Element | None = None
    targets: tuple[etree._Element, ...] = ()
    depth: int = 0


@dataclass(eq=False)
class _Walk:
    """Collects what a tree holds."""

    root: etree._Element
    outlines: list[Outline] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    texts: list[Mark] = field(default_factory=list)
    skipped: list[Skipped] = field(default_factory=list)
    warnings: list[Warn] = field(default_factory=list)
    uses: int = 0
    _by_id: dict[str, etree._Element] | None = None

    def children(self, parent: etree._Element, place: _Place) -> None:
        """Visit all children; `place` is what the parent hands down."""
        below = replace(place, depth=place.depth + 1)
        for child in parent:
            if isinstance(child.tag, str) and child.tag.startswith(f"{{{SVG}}}"):
                self.visit(child, below)

    def visit(self, element: etree._Element, place: _Place) -> None:
        """One element, with all that is in it."""
        kind = kind_of(element)
        if kind in _NEVER_DRAWN or _is_own(element):
            return
        properties = declared(element)
        if not is_displayed(properties):
            self.skip(element, "hidden (display: none)")
            return
        if place.depth > 2 * DEPTH_MOST:
            self.skip(element, "nested too deep through `use`")
            return
        try:
            inner = _entered(place, properties)
            if kind in _SHAPES:
                self.shape(element, kind, properties, inner)
            elif kind in _GROUPS:
                self.children(element, replace(inner, marks=place.marks or _is_called(element, "marks")))
            elif kind == "svg":
                self.children(element, _in_viewport(inner, properties, {}))
            elif kind == "use":
                self.use(element, properties, inner)
            elif kind == "text" and place.marks:
                self.text_mark(element, properties, inner)
            elif kind != "text" or words_in(element):
                self.skip(element, _NOT_READ.get(kind, "no outline that can be read"))
                if kind == "text" and id_of(element):
                    self.loose_text(element, properties, inner)
        except _UnreadableError as error:
            self.skip(element, str(error))
            self.warnings.append(Warn("unreadable", f"{described(element)} was left out: {error}"))

    def skip(self, element: etree._Element, why: str) -> None:
        """List something as left aside."""
        self.skipped.append(Skipped(described(element), why))

    def shape(self, element: etree._Element, kind: str, properties: Mapping[str, str], place: _Place) -> None:
        """A shape, which is a piece, or in a group `marks` a mark."""
        named = element if place.used_by is None else place.used_by
        why = _not_seen(place)
        if why:
            self.skip(element, why)
            return
        with _one_element():
            data = read_shape(kind, properties, place.viewport, ACCURACY / stretches(place.to_mm)[0])
        if place.marks:
            self.shape_mark(named, kind, data, place)
            return
        stopped = None if data.stopped is None else apply(place.to_mm, np.array(data.stopped))
        subpaths = tuple(replace(s, curve=in_mm(s.curve, place.to_mm, named)) for s in data.subpaths)
        outline = Outline(named, replace(data, subpaths=subpaths), stopped)
        if subpaths:
            self.outlines.append(outline)
        else:
            self.skip(element, "draws nothing")
            self.warnings += about_data(outline, described(element))

    def use(self, element: etree._Element, properties: Mapping[str, str], place: _Place) -> None:
        """What a `use` refers to, drawn in its place and named after it."""
        link = next((properties[h].strip() for h in _HREFS if h in properties), "")
        target = self.by_id().get(link[1:]) if link.startswith("#") else None
        if target is None:
            self.skip(element, f"its link {link!r} leads to nothing in this drawing")
            return
        if target in place.targets or target in element.iterancestors():
            self.skip(element, f"its link {link!r} leads back to itself")
            return
        self.uses += 1
        if self.uses > _USES_MOST:
            raise DrawingError(
                f"it draws more than {_USES_MOST} elements through `use`; unlink the clones in the editor"
            )
        with _one_element():
            x, y = (svg_length(properties.get(k, "0")).user(w) for k, w in zip("xy", place.viewport, strict=True))
        inner = replace(
            place,
            to_mm=compose(place.to_mm, moved(x, y)),
            used_by=element if place.used_by is None else place.used_by,
            targets=(*place.targets, target),
            depth=place.depth + 1,
        )
        kind = kind_of(target)
        if kind not in ("symbol", "svg") or target is self.root:
            self.visit(target, inner)
            return
        own = declared(target)
        if is_displayed(own):
            entered = _entered(inner, own)
            self.children(target, _in_viewport(entered, own, properties))

    def by_id(self) -> dict[str, etree._Element]:
        """All elements by their id; of several with one id the first counts."""
        if self._by_id is None:
            self._by_id = {}
            for element in self.root.iter(f"{{{SVG}}}*"):
                self._by_id.setdefault(element.get("id", ""), element)
            self._by_id.pop("", None)
        return self._by_id

    def shape_mark(self, element: etree._Element, kind: str, data: PathData, place: _Place) -> None:
        """The mark that a small shape stands for: its centre."""
        if not data.subpaths:
            self.skip(element, "draws nothing")
            return
        curve = np.concatenate([s.curve for s in data.subpaths])
        low, high = bounds(curve)
        low_mm, high_mm = bounds(in_mm(curve, place.to_mm, element))
        # A circle's own box has its centre in the middle, whatever the transform.
        centre = apply(place.to_mm, (low + high) / 2.0)
        self.mark(element, [label_of(element), id_of(element)], centre)
        size = float((high_mm - low_mm).max())
        if size > _MARK_MOST:
            mark = self.marks[-1]
            message = f"mark {mark.name} is {size:.0f} mm large; its middle is taken, a piece belongs outside `marks`"
            self.warnings.append(Warn("large-mark", message, None, mark.x, mark.y))

    def text_mark(self, element: etree._Element, properties: Mapping[str, str], place: _Place) -> None:
        """The mark that a text stands for: its anchor."""
        why = _not_seen(place)
        if why:
            self.skip(element, why)
            return
        with _one_element():
            at = [_anchor(element, properties, axis, place.viewport[i]) for i, axis in enumerate("xy")]
        self.mark(element, [label_of(element), words_in(element), id_of(element)], apply(place.to_mm, np.array(at)))

    def loose_text(self, element: etree._Element, properties: Mapping[str, str], place: _Place) -> None:
        """Where a text stands that is in no group of marks; an edge may still be named by it."""
        with _one_element():
            at = [_anchor(element, properties, axis, place.viewport[i]) for i, axis in enumerate("xy")]
        x, y = apply(place.to_mm, np.array(at))
        if abs(x) <= REACH and abs(y) <= REACH:
            self.texts.append(Mark(id_of(element), float(x), float(y)))

    def mark(self, element: etree._Element, names: list[str], at: Array) -> None:
        """Add a mark under the first of its names."""
        name = next(filter(None, names), f"mark-{len(self.marks) + 1}")
        if _CORNER_NAME.fullmatch(name):
            raise DrawingError(
                f"{described(element)}: no mark may be called {name!r}, which names a corner or an end; "
                "give it another label"
            )
        if not np.abs(at).max() <= REACH:
            raise DrawingError(f"mark {name} lies more than 1 km away; move it onto its piece")
        self.marks.append(Mark(name, float(at[0]), float(at[1]), element=id_of(element)))


def _small_shapes(outlines: list[Outline]) -> Iterator[Mark]:
    """The centres of shapes small enough for marks, under their ids."""
    for outline in outlines:
        name = id_of(outline.element)
        if name and len(outline.data.subpaths) == 1 and outline.data.subpaths[0].closed:
            low, high = bounds(outline.data.subpaths[0].curve)
            if float((high - low).max()) <= _MARK_MOST:
                x, y = 0.5 * (low + high)
                yield Mark(name, float(x), float(y))


class _UnreadableError(DrawingError):
    """One element cannot be read; the others can."""


@contextmanager
def _one_element() -> Iterator[None]:
    """Turns an error about an attribute into one that leaves out its element only."""
    try:
        yield
    except DrawingError as error:
        raise _UnreadableError(str(error)) from None


def _entered(place: _Place, properties: Mapping[str, str]) -> _Place:
    """What an element hands down to what is in it."""
    with _one_element():
        own = element_map(properties, place.viewport)
    to_mm = place.to_mm if own is IDENTITY else compose(place.to_mm, own)
    return replace(place, to_mm=to_mm, paint=inherited(place.paint, properties))


def _in_viewport(place: _Place, properties: Mapping[str, str], size: Mapping[str, str]) -> _Place:
    with _one_element():
        inner, units = inner_viewport(properties, place.viewport, size)
    return replace(place, to_mm=compose(place.to_mm, inner), viewport=units)


def _is_own(element: etree._Element) -> bool:
    """Whether the element is our own layer, or a run's group that was moved out of it."""
    if kind_of(element) != "g":
        return False
    run = element.get("data-run") is not None and element.get("data-recipe") is not None
    return run or bool(_OWN_ID.fullmatch(id_of(element))) or label_of(element) == NAME


def _is_called(element: etree._Element, name: str) -> bool:
    return name in (id_of(element).lower(), label_of(element).lower())


def _not_seen(place: _Place) -> str | None:
    """Why a shape in this place is not seen, or None."""
    if not place.paint.visible:
        return "hidden (visibility)"
    if not (place.paint.filled or place.paint.stroked):
        return "has neither fill nor stroke"
    most, least = stretches(place.to_mm)
    if least <= 1e-12 * most:
        return "flattened by a transform"
    return None


def _anchor(element: etree._Element, properties: Mapping[str, str], axis: str, whole: float) -> float:
    """Where a text begins: the first x or y of the text, else of the first part of it that has one."""
    own = properties.get(axis)
    inside = (part.get(axis) for part in element.iter(f"{{{SVG}}}tspan"))
    words = (own or next(filter(None, inside), "0")).replace(",", " ").split()
    return svg_length(words[0] if words else "0").user(whole)


def _about_sheets(root: etree._Element) -> list[Warn]:
    sheets = [words_in(element) for element in root.iter(f"{{{SVG}}}style")]
    if not any(map(sheet_matters, sheets)):
        return []
    message = "style sheets are not read; what one hides or moves counts as drawn where its own attributes put it"
    return [Warn("style-sheet", message)]
