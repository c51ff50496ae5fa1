"""Our layer spliced into a drawing's bytes: what is not ours is never written anew, so it stays byte for byte.

One walk with expat finds where our layer and its run groups lie; only those ranges are exchanged. The walk and
the splicing are done on the text in UTF-8; the edits are then carried back to the drawing's own encoding.

How our layer is known: it is a `g` that is a direct child of the root and shows at least two of three signs, so
that it survives an editor that renames one: its id is `scallopkit` or `scallopkit-` and a number, its editor label
is `scallopkit`, it holds a run group. A run group is a `g` inside it, at any depth, with `data-run` and
`data-recipe`. Of several layers or groups that qualify the first counts; later groups of the same run are copies
that somebody made, and are left alone unless the run is removed.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Collection, Mapping
from copy import copy
from dataclasses import dataclass, field
from xml.parsers import expat

from lxml import etree

from ..errors import DrawingError
from .markup import INKSCAPE, SVG, XML, Scope, attribute, markup

NAME = "scallopkit"

_START_TAG = re.compile(rb"""<[^\s"'/>]+(?:[^"'>]|"[^"]*"|'[^']*')*>""")
_ATTRIBUTE = re.compile(rb"""\s+([^\s=]+)\s*=\s*(?:"[^"]*"|'[^']*')""")
_END_TAG = re.compile(rb"</[^>]*>")
_LINE_END = re.compile(rb"\r\n|\n|\r")
_MARGIN = re.compile(rb"[ \t]*")
_DECLARED = re.compile(rb"""<\?xml[^>]*?\sencoding\s*=\s*["']([A-Za-z0-9._:-]+)["']""")
_OWN_ID = re.compile(rf"{NAME}(-\d+)?")

_Edit = tuple[int, int, bytes]


@dataclass(frozen=True)
class RunGroup:
    """One run's group as it stands in a drawing.

    Attributes:
        name: the run's name (`data-run`).
        recipe: the text of `data-recipe`, from which the run can be made again.
        text: the group's markup as it is in the drawing, in UTF-8.
    """

    name: str
    recipe: str
    text: bytes


def read_groups(source: bytes) -> tuple[RunGroup, ...]:
    """The run groups of our layer in document order, the first of each name.

    Raises:
        DrawingError: the bytes are not a well-formed SVG document.
    """
    text = _Text.read(source).utf8
    layer = _outline(text).layer
    found: dict[str, RunGroup] = {}
    for group in layer.groups if layer else ():
        place = group.place
        found.setdefault(group.name, RunGroup(group.name, group.recipe, text[place.start : place.end]))
    return tuple(found.values())


def replace_groups(source: bytes, groups: Mapping[str, etree._Element], remove: Collection[str] = ()) -> bytes:
    """The drawing with each run's group put into our layer; the same call on the result changes nothing.

    A group of the same run is exchanged in its place, a new one comes last in the layer, and the layer is made, last
    in the drawing, where there is none. Lines end as the drawing's do; characters that its encoding cannot hold are
    written as references.

    Args:
        source: the drawing, in any encoding that its XML declaration or byte-order mark names.
        groups: run name to its `g` element in the SVG namespace; it carries `data-run` (that name) and `data-recipe`.
        remove: names of runs whose groups, copies too, are taken out; a name that is also in `groups` is replaced.

    Raises:
        DrawingError: the bytes are not a well-formed SVG document, or our layer was moved as a whole.
        ValueError: a group does not carry its run's name and a recipe (an error of the caller, not of the drawing).
    """
    for name, element in groups.items():
        if element.get("data-run") != name or element.get("data-recipe") is None:
            raise ValueError(f"the group of the run {name!r} must carry data-run and data-recipe")
    document = _Text.read(source)
    page = _Page(document.utf8, _outline(document.utf8))
    if groups and page.outline.layer is not None and page.outline.layer.moved:
        raise DrawingError(
            f"the layer {NAME} was moved, turned or scaled as a whole, so what it holds no longer lies on its edges; "
            "undo that in the editor, or delete the layer and make the runs again"
        )
    return document.edited(page.edits(groups, set(remove) - groups.keys()))


def layer_attribute(source: bytes, name: str) -> str | None:
    """An attribute of our layer, or None where the drawing has no layer of ours, or the layer no such attribute.

    Raises:
        DrawingError: the bytes are not a well-formed SVG document.
    """
    layer = _outline(_Text.read(source).utf8).layer
    return None if layer is None else layer.attributes.get(name)


def with_layer_attribute(source: bytes, name: str, value: str | None) -> bytes:
    """The drawing with an attribute of our layer set, or without it; nothing else changes.

    Args:
        source: the drawing.
        name: the attribute's name, without a prefix.
        value: its value; None takes it away.

    Raises:
        DrawingError: the bytes are not a well-formed SVG document.
    """
    document = _Text.read(source)
    layer = _outline(document.utf8).layer
    if layer is None or layer.attributes.get(name) == value:
        return source
    tag = _START_TAG.match(document.utf8, layer.place.start)
    if tag is None:
        return source
    new = b"" if value is None else attribute(name, value).encode()
    for found in _ATTRIBUTE.finditer(document.utf8, tag.start(), tag.end()):
        if found[1] == name.encode():
            return document.edited([(found.start(), found.end(), new)])
    end = tag.start() + len(tag[0].removesuffix(b">").removesuffix(b"/").rstrip())
    return document.edited([(end, end, new)])


@dataclass(frozen=True)
class _Text:
    """The drawing's bytes, the codec that reads them, and the same text in UTF-8 (a byte-order mark included)."""

    source: bytes
    codec: str
    utf8: bytes

    @classmethod
    def read(cls, source: bytes) -> _Text:
        codec = _codec(source)
        try:
            return cls(source, codec, source.decode(codec).encode("utf-8"))
        except (LookupError, UnicodeError) as error:
            raise DrawingError(
                f"the drawing cannot be read in its encoding {codec!r} ({error}); save it as UTF-8 and try again"
            ) from error

    def edited(self, edits: list[_Edit]) -> bytes:
        """The source with the edits, whose places count in the UTF-8 text; between them its own bytes are kept."""
        parts: list[bytes] = []
        done = at = 0
        for start, end, new in [*sorted(edits), (len(self.utf8), len(self.utf8), b"")]:
            begin = at + self._length(done, start, at)
            parts += [self.source[at:begin], new.decode("utf-8").encode(self.codec, "xmlcharrefreplace")]
            at = begin + self._length(start, end, begin)
            done = end
        return b"".join(parts)

    def _length(self, start: int, end: int, at: int) -> int:
        """How many bytes of the source, from `at`, hold the UTF-8 text from `start` to `end`."""
        encoded = self.utf8[start:end].decode("utf-8").encode(self.codec)
        if self.source[at : at + len(encoded)] != encoded:
            raise DrawingError(
                f"the drawing's encoding {self.codec!r} cannot be written back byte for byte; save it as UTF-8 and "
                "try again"
            )
        return len(encoded)


def _codec(source: bytes) -> str:
    """The codec's name by the rules of XML: byte-order mark, then the look of the first bytes, then the declaration.

    https://www.w3.org/TR/xml/#sec-guessing
    """
    if source.startswith(codecs.BOM_UTF8):
        return "utf-8"
    if source.startswith((codecs.BOM_UTF16_LE, b"<\0")):
        return "utf-16-le"
    if source.startswith((codecs.BOM_UTF16_BE, b"\0<")):
        return "utf-16-be"
    declared = _DECLARED.match(source[:400])
    name = declared[1].decode("ascii").lower() if declared else "utf-8"
    # Single bytes that call themselves 16-bit were recoded by a program that left the declaration as it was.
    return "utf-8" if name.startswith(("utf-16", "utf16", "ucs-2", "iso-10646")) else name


@dataclass(frozen=True)
class _Place:
    """Where an element lies: its tags' offsets, its name as written, and the prefixes in force outside and inside."""

    start: int
    close: int
    end: int
    written: str
    outer: Scope
    inner: Scope


@dataclass(frozen=True)
class _Group:
    name: str
    recipe: str
    id: str
    place: _Place


@dataclass(frozen=True)
class _Layer:
    place: _Place
    groups: tuple[_Group, ...]
    attributes: Mapping[str, str]

    @property
    def moved(self) -> bool:
        """Whether it is transformed as a whole."""
        return bool(self.attributes.get("transform", "").strip())


@dataclass(frozen=True)
class _Outline:
    root: _Place
    layer: _Layer | None
    ids: frozenset[str]


@dataclass
class _Open:
    """An element whose end has not come yet; `signs` are those of our layer."""

    start: int
    written: str
    outer: Scope
    inner: Scope
    signs: int = 0
    attributes: Mapping[str, str] = field(default_factory=dict)
    groups: list[_Group] = field(default_factory=list)


class _Walk:
    """Expat's handlers: they keep the elements that matter and forget the others."""

    def __init__(self, text: bytes) -> None:
        self.text = text
        self.ids: set[str] = set()
        self.root: _Place | None = None
        self.layer: _Layer | None = None
        self._scopes: list[Scope] = [{"xml": XML}]
        self._kept: dict[int, _Open] = {}
        self._group: tuple[int, str, str, str] | None = None
        # The text is UTF-8 by now, whatever its declaration says.
        self._parser = expat.ParserCreate("utf-8")
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.Parse(text, True)

    def _start(self, written: str, attributes: dict[str, str]) -> None:
        depth = len(self._scopes) - 1
        outer = self._scopes[-1]
        inner = _declared(outer, attributes)
        self._scopes.append(inner)
        if "id" in attributes:
            self.ids.add(attributes["id"])
        prefix, _, local = written.rpartition(":")
        namespace = inner.get(prefix, "")
        if depth == 0:
            if local != "svg" or namespace != SVG:
                raise DrawingError(f"the file is no SVG drawing: its first element is {written!r}; save it as SVG")
        elif local != "g" or namespace != SVG or self._group or (depth > 1 and 1 not in self._kept):
            return
        element = _Open(self._parser.CurrentByteIndex, written, outer, inner)
        if self.text[element.start] != ord("<"):
            # What an entity stands for has no place of its own in the text.
            return
        if depth == 1:
            labels = [v for k, v in attributes.items() if _is(k, INKSCAPE, "label", inner)]
            element.attributes = attributes
            element.signs = bool(_OWN_ID.fullmatch(attributes.get("id", ""))) + (NAME in labels)
        elif depth > 1:
            if "data-run" not in attributes or "data-recipe" not in attributes:
                return
            self._group = (depth, attributes["data-run"], attributes["data-recipe"], attributes.get("id", ""))
        self._kept[depth] = element

    def _end(self, written: str) -> None:
        self._scopes.pop()
        depth = len(self._scopes) - 1
        element = self._kept.pop(depth, None)
        if element is None:
            return
        place = self._place(element)
        if depth == 0:
            self.root = place
        elif depth == 1:
            if self.layer is None and element.signs + bool(element.groups) >= 2:
                self.layer = _Layer(place, tuple(element.groups), element.attributes)
        elif self._group:
            _, name, recipe, kept_id = self._group
            self._kept[1].groups.append(_Group(name, recipe, kept_id, place))
            self._group = None

    def _place(self, element: _Open) -> _Place:
        tag = _START_TAG.match(self.text, element.start)
        close = end = tag.end() if tag else element.start
        if tag and not tag[0].endswith(b"/>"):
            close = self._parser.CurrentByteIndex
            last = _END_TAG.match(self.text, close)
            end = last.end() if last else close
        return _Place(element.start, close, end, element.written, element.outer, element.inner)


def _declared(scope: Scope, attributes: Mapping[str, str]) -> Scope:
    """The prefixes in force inside an element with these attributes; the default namespace has the prefix ''."""
    own = {k[6:]: v for k, v in attributes.items() if k.startswith("xmlns") and k[5:6] in ("", ":")}
    return {**scope, **own} if own else scope


def _is(written: str, namespace: str, local: str, scope: Scope) -> bool:
    prefix, colon, name = written.partition(":")
    return bool(colon) and name == local and scope.get(prefix) == namespace


def _outline(text: bytes) -> _Outline:
    try:
        walk = _Walk(text)
    except expat.ExpatError as error:
        raise DrawingError(
            f"the drawing is not well-formed XML (line {error.lineno}: {expat.ErrorString(error.code)}); "
            "save it again from the program that made it"
        ) from error
    if walk.root is None:
        raise DrawingError("the file holds no drawing")
    return _Outline(walk.root, walk.layer, frozenset(walk.ids))


def _free(name: str, taken: Collection[str]) -> str:
    number, free = 1, name
    while free in taken:
        number += 1
        free = f"{name}-{number}"
    return free


def _with_id(group: etree._Element, new: str) -> etree._Element:
    if group.get("id") == new:
        return group
    changed = copy(group)
    changed.set("id", new)
    return changed


@dataclass(frozen=True)
class _Page:
    """A drawing's UTF-8 text with the places in it that matter: what turns groups into edits."""

    text: bytes
    outline: _Outline

    def edits(self, groups: Mapping[str, etree._Element], remove: Collection[str]) -> list[_Edit]:
        layer = self.outline.layer
        if layer is None:
            return [self._new_layer(self._own_ids(groups))] if groups else []
        edits: list[_Edit] = []
        fresh = dict(groups)
        for group in layer.groups:
            place = group.place
            if group.name in remove:
                edits.append((*self._lines(place), b""))
            elif group.name in fresh:
                element = _with_id(fresh.pop(group.name), group.id) if group.id else fresh.pop(group.name)
                new = self._markup(element, place.outer, self._margin(place.start))
                edits.append((place.start, place.end, new))
        if fresh:
            block = self._blocks(self._own_ids(fresh), layer.place.inner, self._inside(layer))
            edits.append(self._last_in(layer.place, block))
        return edits

    def _new_layer(self, groups: Mapping[str, etree._Element]) -> _Edit:
        """Our layer, with the namespaces that the root does not declare on itself, as the root's last child."""
        root = self.outline.root
        margin, scope = self._margin(root.start) + b"  ", dict(root.inner)
        head = "<g"
        for prefix, uri in (("", SVG), ("inkscape", INKSCAPE)):
            if scope.get(prefix, "") != uri:
                head += attribute(f"xmlns:{prefix}" if prefix else "xmlns", uri)
                scope[prefix] = uri
        head += attribute("id", self._free_id()) + attribute("inkscape:groupmode", "layer")
        head += attribute("inkscape:label", NAME) + ">"
        lines = [margin + head.encode(), self._blocks(groups, scope, margin + b"  "), margin + b"</g>"]
        return self._last_in(root, self._newline.join(lines))

    def _free_id(self) -> str:
        return _free(NAME, self.outline.ids)

    def _own_ids(self, groups: Mapping[str, etree._Element]) -> dict[str, etree._Element]:
        """New groups, each with an id that nothing else in the drawing has; one that is replaced keeps its own."""
        taken, out = set(self.outline.ids), dict(groups)
        for name, group in groups.items():
            wanted = group.get("id")
            own = _free(wanted, taken) if wanted else None
            taken |= {own} if own else set()
            out[name] = _with_id(group, own) if own else group
        return out

    def _blocks(self, groups: Mapping[str, etree._Element], scope: Scope, margin: bytes) -> bytes:
        return self._newline.join(margin + self._markup(group, scope, margin) for group in groups.values())

    def _markup(self, group: etree._Element, scope: Scope, margin: bytes) -> bytes:
        return markup(group, scope, (self._newline + margin).decode()).encode("utf-8")

    def _last_in(self, place: _Place, block: bytes) -> _Edit:
        """The edit that puts a block of whole lines (without the last line end) before the end of an element."""
        margin, newline = self._margin(place.start), self._newline
        if place.close == place.end:
            head = self.text[place.start : place.end - 2].rstrip()
            tail = b">" + newline + block + newline + margin + f"</{place.written}>".encode()
            return place.start + len(head), place.end, tail
        line = self._line(place.close)
        if self.text[line : place.close].isspace() or line == place.close:
            return line, line, block + newline
        return place.close, place.close, newline + block + newline + margin

    def _lines(self, place: _Place) -> tuple[int, int]:
        """From where to where an element is taken out: its whole lines, where nothing else stands on them."""
        line, after = self._line(place.start), _LINE_END.search(self.text, place.end)
        if after and not self.text[line : place.start].strip() and not self.text[place.end : after.start()].strip():
            return line, after.end()
        return place.start, place.end

    def _inside(self, layer: _Layer) -> bytes:
        """The margin of a new group: that of the layer's first group, if it begins a line."""
        for group in layer.groups[:1]:
            margin = self._margin(group.place.start)
            if self._line(group.place.start) + len(margin) == group.place.start:
                return margin
        return self._margin(layer.place.start) + b"  "

    def _margin(self, position: int) -> bytes:
        found = _MARGIN.match(self.text, self._line(position))
        return found[0] if found else b""

    def _line(self, position: int) -> int:
        return self.text.rfind(self._newline[-1:], 0, position) + 1

    @property
    def _newline(self) -> bytes:
        first = _LINE_END.search(self.text)
        return first[0] if first else b"\n"
