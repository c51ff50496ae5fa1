"""Elements of our own written as text that fits where it is put: prefixes in force, line ends, indentation."""

from __future__ import annotations

from collections.abc import Mapping

from lxml import etree

SVG = "http://www.w3.org/2000/svg"
INKSCAPE = "http://www.inkscape.org/namespaces/inkscape"
SODIPODI = "http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd"
XML = "http://www.w3.org/XML/1998/namespace"
# Of a stitching line that is not a run's trimmed line: what is sewn along it.
SEWN_FOR = "data-sewn-for"
# On the outline of what is drawn shorter than it is, which is no line to cut by.
BROKEN = "data-broken"
# On a text of ours that stands by itself, so that nothing else is laid on it.
CLEAR = "data-clear"

# Prefix to namespace; the default namespace has the prefix ''.
Scope = Mapping[str, str]

_TEXT = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;", "\r": "&#13;"})
_ATTRIBUTE = str.maketrans({"&": "&amp;", "<": "&lt;", "\t": "&#9;", "\n": "&#10;", "\r": "&#13;"})
_WORDS = frozenset({"text", "tspan", "textPath", "title", "desc", "style", "script"})


def attribute(name: str, value: str) -> str:
    """An attribute as text, with the blank before it; in single quotes where that saves escaping."""
    escaped = value.translate(_ATTRIBUTE)
    if '"' in escaped and "'" not in escaped:
        return f" {name}='{escaped}'"
    quoted = escaped.replace('"', "&quot;")
    return f' {name}="{quoted}"'


def markup(element: etree._Element, scope: Scope, newline: str) -> str:
    """An element and all that is in it as text; its tail is left out.

    Children stand on lines of their own, two blanks further in, except where blanks count (in texts, or where
    the element mixes words and children).

    Args:
        element: what to write; the same element in the same place gives the same text.
        scope: the prefixes in force at its place; only what is missing there is declared.
        newline: the line end with the margin of the element's own line.
    """
    if not isinstance(element.tag, str):
        return etree.tostring(element, encoding="unicode", with_tail=False)
    name = etree.QName(element)
    namespace = name.namespace or ""
    inner = dict(scope)
    head = f"<{name.localname}"
    if inner.get("", "") != namespace:
        inner[""] = namespace
        head += attribute("xmlns", namespace)
    for key, value in element.attrib.items():
        head += _attribute(element, str(key), str(value), inner)
    if len(element) == 0 and not element.text:
        return head + "/>"
    return f"{head}>{_content(element, inner, newline)}</{name.localname}>"


def _attribute(element: etree._Element, key: str, value: str, scope: dict[str, str]) -> str:
    """One attribute, with the declaration of its prefix if that is missing in `scope`, which is brought up to date."""
    name = etree.QName(key)
    if not name.namespace:
        return attribute(name.localname, value)
    for prefix, uri in scope.items():
        if prefix and uri == name.namespace:
            return attribute(f"{prefix}:{name.localname}", value)
    wanted = next((p for p, uri in element.nsmap.items() if p and uri == name.namespace), "ns")
    prefix, number = wanted, 1
    while prefix in scope:
        number += 1
        prefix = f"{wanted}{number}"
    scope[prefix] = name.namespace
    return attribute(f"xmlns:{prefix}", name.namespace) + attribute(f"{prefix}:{name.localname}", value)


def _content(element: etree._Element, scope: Scope, newline: str) -> str:
    if _is_container(element):
        further = newline + "  "
        return "".join(further + markup(child, scope, further) for child in element) + newline
    text = (element.text or "").translate(_TEXT)
    for child in element:
        text += markup(child, scope, newline) + (child.tail or "").translate(_TEXT)
    return text


def _is_container(element: etree._Element) -> bool:
    """Whether blanks between the children mean nothing, so that lines and margins may be put there."""
    if len(element) == 0 or etree.QName(element).localname in _WORDS:
        return False
    if any(node.get(f"{{{XML}}}space") == "preserve" for node in (element, *element.iterancestors())):
        return False
    between = [element.text, *(child.tail for child in element)]
    return not any(blank and blank.strip() for blank in between)
