"""Which elements of a drawing are seen: display, visibility, fill and stroke, from attributes and inline styles."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from lxml import etree

# Semicolons within brackets or quotes (embedded pictures) part nothing.
_DECLARATION = re.compile(r"""([-\w]+)\s*:\s*((?:[^;"'(]|\([^)]*\)|"[^"]*"|'[^']*')*)""")
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_IMPORTANT = re.compile(r"\s*!\s*important\s*$", re.IGNORECASE)
_HIDES_OR_MOVES = re.compile(r"display\s*:\s*none|visibility\s*:|transform\s*:", re.IGNORECASE)
# Path data and points are no style properties, whatever a style says.
_ONLY_ATTRIBUTES = frozenset({"d", "points", "id", "class", "style"})


@dataclass(frozen=True)
class Paint:
    """What an element inherits of how it is seen; the values at the root are the default."""

    visible: bool = True
    filled: bool = True
    stroked: bool = False


def inline_style(text: str) -> dict[str, str]:
    """The declarations of a `style` attribute: property in lower case to value."""
    found = _DECLARATION.findall(_COMMENT.sub(" ", text))
    return {name.lower(): _IMPORTANT.sub("", value).strip() for name, value in found}


def declared(element: etree._Element) -> dict[str, str]:
    """The attributes of an element, overlaid by the properties of its inline style."""
    out = {str(key): str(value) for key, value in element.attrib.items()}
    style = out.get("style")
    if style:
        out.update((k, v) for k, v in inline_style(style).items() if k not in _ONLY_ATTRIBUTES)
    return out


def is_displayed(properties: Mapping[str, str]) -> bool:
    """Whether the element and what is in it is drawn at all."""
    return properties.get("display", "").strip().lower() != "none"


def inherited(paint: Paint, properties: Mapping[str, str]) -> Paint:
    """How the element is seen, given how its parent is."""
    visibility = _value(properties, "visibility")
    fill, stroke = _value(properties, "fill"), _value(properties, "stroke")
    return Paint(
        visible=paint.visible if visibility is None else visibility not in ("hidden", "collapse"),
        filled=paint.filled if fill is None else fill != "none",
        stroked=paint.stroked if stroke is None else stroke != "none",
    )


def _value(properties: Mapping[str, str], name: str) -> str | None:
    text = properties.get(name, "").strip().lower()
    return None if text in ("", "inherit", "unset") else text


def sheet_matters(text: str) -> bool:
    """Whether a style sheet, which is not read, may hide or move what is drawn."""
    return bool(_HIDES_OR_MOVES.search(_COMMENT.sub(" ", text)))
