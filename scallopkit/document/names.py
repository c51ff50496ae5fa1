"""What elements are called: ids, editor labels, and kind with place in document order where there is neither."""

from __future__ import annotations

import re
from collections.abc import Iterable

from lxml import etree

from .markup import INKSCAPE

# What editors and exporters give by themselves: path1234, rect87-3, Vector_2.
_MADE_BY_MACHINE = re.compile(
    r"_?(?:path|rect|rectangle|circle|ellipse|line|polyline|polygon|use|clone|g|group|layer|shape|vector|curve|spline"
    r"|svg|text|tspan|image|object|xmlid|svgid)[-_ ]?\d+(?:[-_.]\d+)*_?",
    re.IGNORECASE,
)


def kind_of(element: etree._Element) -> str:
    """The element's tag without its namespace."""
    return str(etree.QName(element).localname)


def id_of(element: etree._Element) -> str:
    """The element's id, or an empty text."""
    return (element.get("id") or "").strip()


def label_of(element: etree._Element) -> str:
    """The label that an editor shows for the element, or an empty text."""
    return (element.get(f"{{{INKSCAPE}}}label") or "").strip()


def words_in(element: etree._Element) -> str:
    """The text in the element and its parts, with single blanks."""
    return " ".join(str(element.xpath("string()")).split())


def given_names(element: etree._Element) -> list[str]:
    """The names an element has, the best first: an id given by hand, the label, an id made by a program."""
    own, label = id_of(element), label_of(element)
    by_hand = bool(own) and not _MADE_BY_MACHINE.fullmatch(own)
    ordered = [own, label] if by_hand else [label, own]
    return list(dict.fromkeys(name for name in ordered if name))


def described(element: etree._Element) -> str:
    """The element in words, for what is said about it: its kind, and its name or its line."""
    names = given_names(element)
    kind = {"g": "group"}.get(kind_of(element), kind_of(element))
    if names:
        return f"{kind} {names[0]}"
    return f"{kind} at line {element.sourceline}" if element.sourceline else kind


class Namer:
    """Gives every piece names that no other piece has, in document order."""

    def __init__(self, elements: Iterable[etree._Element]) -> None:
        # A name made of kind and place must not take what an element further on is really called.
        self._reserved = {name for element in elements for name in given_names(element)}
        self._taken: set[str] = set()
        self._of_kind: dict[str, int] = {}
        self._base: dict[etree._Element, list[str]] = {}
        self._parts: dict[etree._Element, int] = {}
        self.shared: list[tuple[str, str]] = []

    def names(self, element: etree._Element) -> tuple[str, ...]:
        """Names for the element's next sub-path, the best first; what is already taken goes into `shared`.

        `shared` holds pairs: the name that an earlier piece has, and the one that this piece answers to.
        """
        if element not in self._base:
            self._base[element] = self._new_base(element)
        part = self._parts[element] = self._parts.get(element, 0) + 1
        ending = f".{part}" if part > 1 else ""
        wanted = [name + ending for name in self._base[element]]
        free = [name for name in wanted if name not in self._taken]
        if not free:
            free = [self._unused(f"{kind_of(element)}-{self._of_kind[kind_of(element)]}{ending}")]
        self.shared += [(name, free[0]) for name in wanted if name in self._taken]
        self._taken.update(free)
        return tuple(free)

    def _new_base(self, element: etree._Element) -> list[str]:
        kind = kind_of(element)
        place = self._of_kind[kind] = self._of_kind.get(kind, 0) + 1
        return given_names(element) or [self._unused(f"{kind}-{place}")]

    def _unused(self, name: str) -> str:
        candidate, number = name, 1
        while candidate in self._taken or candidate in self._reserved:
            number += 1
            candidate = f"{name}-{number}"
        return candidate
