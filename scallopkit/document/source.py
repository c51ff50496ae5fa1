"""Bytes to an XML tree, with everything refused that could reach out of the file or swell in memory."""

from __future__ import annotations

from xml.parsers import expat

from lxml import etree

from ..errors import DrawingError
from .markup import SVG

# Deeper than any drawing, shallow enough for a reader that walks the tree by recursion.
DEPTH_MOST = 150
_ENTITY_MOST = 1000
_SWELL_MOST = 20_000_000


def parse_xml(data: bytes, name: str) -> etree._Element:
    """The root element of an SVG drawing; `name` is the file's name for messages.

    Nothing is fetched. Plain internal entities, as some editors write for their namespaces, are resolved; entities
    that refer to others, to files or to the network are refused.

    Raises:
        DrawingError: it is empty, compressed, no XML, no SVG, or holds what is refused.
    """
    if data[:2] == b"\x1f\x8b":
        raise DrawingError(f"{name} is a compressed SVG (svgz); save it as plain SVG in the editor")
    if not data.strip():
        raise DrawingError(f"{name} is empty; save the drawing again as SVG")
    entities = _watched(data, name)
    parser = etree.XMLParser(
        resolve_entities=bool(entities), no_network=True, load_dtd=False, dtd_validation=False, huge_tree=True
    )
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise DrawingError(f"{name} is not well-formed XML ({error}); save it again as SVG") from None
    if root.tag != f"{{{SVG}}}svg":
        found = etree.QName(root).localname
        if found == "svg":
            raise DrawingError(f'{name} does not say that it is SVG; add xmlns="{SVG}" to its first element')
        raise DrawingError(f"{name} is no SVG drawing: its first element is {found!r}; save it as SVG")
    return root


class _Watch:
    """Looks at declarations and nesting while expat reads."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.depth = 0
        self.entities: dict[str, str] = {}

    def entity(
        self,
        entity: str,
        is_parameter: bool,
        value: str | None,
        _base: str | None,
        _system: str | None,
        _public: str | None,
        _notation: str | None,
    ) -> None:
        if is_parameter or value is None:
            raise DrawingError(f"{self.name} declares the external entity {entity!r}, which is not read; remove it")
        if "&" in value or "%" in value or len(value) > _ENTITY_MOST:
            raise DrawingError(
                f"{self.name} declares the entity {entity!r}, which is too long or refers to others; "
                "save the drawing without entities"
            )
        self.entities[entity] = value

    def start(self, _tag: str, _attributes: object) -> None:
        self.depth += 1
        if self.depth > DEPTH_MOST:
            raise DrawingError(f"{self.name} nests elements more than {DEPTH_MOST} deep; ungroup it in the editor")

    def end(self, _tag: str) -> None:
        self.depth -= 1


def _watched(data: bytes, name: str) -> dict[str, str]:
    """The plain entities that the file declares; all that is refused raises here, before a tree is built."""
    watch = _Watch(name)
    parser = expat.ParserCreate()
    parser.EntityDeclHandler = watch.entity
    parser.StartElementHandler = watch.start
    parser.EndElementHandler = watch.end

    def body_begins() -> None:
        longest = max(map(len, watch.entities.values()), default=0)
        if longest * data.count(b"&") > _SWELL_MOST:
            raise DrawingError(f"{name} uses its entities too often; save the drawing without entities")

    parser.EndDoctypeDeclHandler = body_begins
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        reason = expat.errors.messages.get(error.code, "")
        raise DrawingError(
            f"{name} is not well-formed XML (line {error.lineno}: {reason}); save it again as SVG"
        ) from None
    except (ValueError, LookupError) as error:
        if isinstance(error, DrawingError):
            raise
        raise DrawingError(f"{name} cannot be read ({error}); save it again as SVG in UTF-8") from None
    return watch.entities
