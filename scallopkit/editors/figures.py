"""What our groups draw as plain figures in mm, for an editor that reads no SVG: lines, circles, texts, their look."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from typing import Any

import numpy as np
from lxml import etree

from ..document.drawing import Drawing
from ..document.markup import SVG
from ..document.names import kind_of
from ..document.presentation import declared, inline_style
from ..document.reader import ACCURACY
from ..document.shapes import read_shape
from ..document.source import parse_xml
from ..document.transforms import element_map
from ..geometry.cubics import Array
from ..geometry.motion import apply, compose

# Decimals of a figure in mm: what is written into drawings is ten times coarser.
_PLACES = 6
_SHAPES = frozenset({"path", "circle", "ellipse", "rect", "line", "polyline", "polygon"})
_NOWHERE = (0.0, 0.0)


def group_figures(source: bytes, drawing: Drawing, names: Collection[str]) -> dict[str, dict[str, Any]]:
    """The recipe, and the lines, circles and texts, of groups of ours, by the groups' names.

    Args:
        source: the bytes of a drawing that holds the groups.
        drawing: the same drawing as it was read before they were put in, for its units.
        names: the groups.
    """
    out: dict[str, dict[str, Any]] = {}
    for group in parse_xml(source, drawing.name).iter(f"{{{SVG}}}g"):
        name = group.get("data-run") or ""
        if group.get("data-recipe") is not None and name in names and name not in out:
            out[name] = {"recipe": group.get("data-recipe"), **_figures(group, drawing.to_mm)}
    return out


def _figures(group: etree._Element, to_mm: Array) -> dict[str, list[Any]]:
    out: dict[str, list[Any]] = {"lines": [], "circles": [], "texts": []}
    for element in group.iter(etree.Element):
        kind, properties = kind_of(element), declared(element)
        if kind not in _SHAPES and kind != "text":
            continue
        motion = compose(to_mm, element_map(properties, _NOWHERE))
        about = {"role": element.get("data-role") or "", "piece": element.get("data-piece") or ""}
        if kind == "text":
            out["texts"].append(about | _text(element, motion))
        elif kind == "circle":
            out["circles"].append(about | _circle(properties, motion) | _look(properties, motion))
        else:
            out["lines"] += [about | line | _look(properties, motion) for line in _lines(kind, properties, motion)]
    return out


def _lines(kind: str, properties: Mapping[str, str], motion: Array) -> Iterator[dict[str, Any]]:
    for part in read_shape(kind, properties, _NOWHERE, ACCURACY / _scale(motion)).subpaths:
        yield {"closed": part.closed, "curve": np.round(apply(motion, part.curve), _PLACES).tolist()}


def _circle(properties: Mapping[str, str], motion: Array) -> dict[str, float]:
    x, y = _place(properties["cx"], properties["cy"], motion)
    return {"x": x, "y": y, "radius": round(float(properties["r"]) * _scale(motion), _PLACES)}


def _text(element: etree._Element, motion: Array) -> dict[str, Any]:
    style = inline_style(element.get("style") or "")
    size = float(style["font-size"].removesuffix("px")) * _scale(motion)
    rows = []
    for row in element.iter(f"{{{SVG}}}tspan"):
        x, y = _place(row.get("x") or "0", row.get("y") or "0", motion)
        rows.append({"x": x, "y": y, "text": row.text or ""})
    angle = math.degrees(math.atan2(motion[1, 0], motion[0, 0]))
    look = {"size": round(size, _PLACES), "middle": style.get("text-anchor") == "middle", "angle": round(angle, 4)}
    return {"rows": rows, **look, "colour": style["fill"]}


def _place(x: str, y: str, motion: Array) -> tuple[float, float]:
    """Where a point of the drawing lies, in mm."""
    at = apply(motion, np.array([float(x), float(y)]))
    return round(float(at[0]), _PLACES), round(float(at[1]), _PLACES)


def _look(properties: Mapping[str, str], motion: Array) -> dict[str, Any]:
    """Colour, width and dashes of a line, the latter two in mm."""
    scale, dashes = _scale(motion), properties.get("stroke-dasharray", "none")
    return {
        "colour": properties["stroke"],
        "width": round(float(properties["stroke-width"]) * scale, 4),
        "dashes": [] if dashes == "none" else [round(float(part) * scale, 4) for part in dashes.split(",")],
    }


def _scale(motion: Array) -> float:
    return float(np.hypot(*motion[:, 0]))
