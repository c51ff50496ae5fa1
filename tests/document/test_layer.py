"""Our layer goes into any drawing and comes out again, and nothing else in the file changes by a single byte."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from scallopkit.document.layer import layer_attribute, read_groups, replace_groups, with_layer_attribute
from scallopkit.errors import DrawingError

SVG = "http://www.w3.org/2000/svg"
INKSCAPE = "http://www.inkscape.org/namespaces/inkscape"


def group(name: str = "hem", recipe: str = '{"width": 30}', label: str | None = None) -> etree._Element:
    run = etree.Element(f"{{{SVG}}}g", {"data-run": name, "data-recipe": recipe}, nsmap={"inkscape": INKSCAPE})
    run.set(f"{{{INKSCAPE}}}label", name)
    etree.SubElement(run, f"{{{SVG}}}path", {"d": "M 0,0 L 1,1", "data-role": "cutting"})
    if label is not None:
        text = etree.SubElement(run, f"{{{SVG}}}text", {"data-role": "label"})
        text.text = label
        etree.SubElement(text, f"{{{SVG}}}tspan").tail = " end"
    return run


def layers(source: bytes) -> list[etree._Element]:
    """Our layers as lxml sees them: every group that holds a run group directly, or carries the label."""
    root = etree.fromstring(source)
    label = f"{{{INKSCAPE}}}label"
    return [g for g in root.iter("{*}g") if g.get(label) == "scallopkit" or any(c.get("data-recipe") for c in g)]


def shape(element: etree._Element, ours: bool = True) -> object:
    """A tree without the blanks between elements (which mean nothing) and, if wished, without our layer."""
    if not isinstance(element.tag, str):
        return (str(element.tag), element.text)
    children = [c for c in element if ours or c.get(f"{{{INKSCAPE}}}label") != "scallopkit"]
    words = [(w or "").strip() for w in (element.text, *(c.tail for c in children))]
    return (
        element.tag,
        sorted(element.attrib.items()),
        "|".join(filter(None, words)),
        [shape(c, ours) for c in children],
    )


# --- generated drawings ------------------------------------------------------------------------------------------

WORDS = st.text(st.sampled_from("aé€你😀 x\"'>]"), max_size=6)
ENCODINGS = ["utf-8", "utf-8-sig", "iso-8859-1", "utf-16", "utf-16-le", "utf-16-be", "windows-1252", "shift_jis"]


def escaped(words: str, encoding: str) -> str:
    text = words.replace("&", "&amp;").replace("<", "&lt;").replace("]]>", "]]&gt;")
    return text.encode(encoding, "xmlcharrefreplace").decode(encoding)


def storable(words: str, encoding: str) -> str:
    return words.encode(encoding, "ignore").decode(encoding)


@st.composite
def children(draw: st.DrawFn, encoding: str, p: str, newline: str, depth: int = 2) -> str:
    parts = []
    for _ in range(draw(st.integers(0, 4))):
        words = draw(WORDS)
        kind = draw(st.sampled_from(["shape", "text", "comment", "cdata", "instruction", "group", "mine"]))
        if kind == "shape":
            value = escaped(words, encoding).replace('"', "&quot;")
            parts.append(f'<{p}rect width="1"\tdata-x="{value} > />"  title=\'a"</g>"\'/>'.replace("</g>", ">"))
        elif kind == "text":
            parts.append(f"<{p}text>{escaped(words, encoding)} /></{p}text >")
        elif kind == "comment":
            parts.append(f"<!-- </svg> {storable(words, encoding)} <g id='scallopkit'> -->")
        elif kind == "cdata":
            parts.append(f"<{p}style><![CDATA[ </svg> <g> {storable(words, encoding).replace(']', '')} ]]></{p}style>")
        elif kind == "instruction":
            parts.append(f"<?tool </svg> {storable(words, encoding)} ?>".replace(" > ?>", " ?>"))
        elif kind == "mine":
            parts.append(f'<{p}g><{p}g id="scallopkit" data-run="hem"/></{p}g>')
        elif depth:
            inner = draw(children(encoding, p, newline, depth - 1))
            parts.append(f"<{p}g>{inner}</{p}g>" if inner else f"<{p}g/>")
    gap = draw(st.sampled_from(["", newline, newline + "\t", newline + "    "]))
    return gap + gap.join(parts) + draw(st.sampled_from(["", newline, newline + "  "]))


@st.composite
def drawings(draw: st.DrawFn) -> tuple[bytes, bool]:
    """A drawing, and whether its root is one tag without an end tag."""
    encoding = draw(st.sampled_from(ENCODINGS))
    newline = draw(st.sampled_from(["\n", "\r\n", "\r"]))
    p = draw(st.sampled_from(["", "svg:"]))
    space = f' xmlns{":svg" if p else ""}="{SVG}"'
    if draw(st.booleans()):
        space += f' xmlns:inkscape="{draw(st.sampled_from([INKSCAPE, "urn:other"]))}"'
    declared = {"utf-8-sig": "UTF-8", "utf-16-le": "utf-16", "utf-16-be": "utf-16"}.get(encoding, encoding)
    needed = encoding not in ("utf-8", "utf-8-sig") or draw(st.booleans())
    head = f'<?xml version="1.0" encoding="{declared}"?>{newline}' if needed else ""
    head += draw(st.sampled_from(["", f"<!-- > <svg/> -->{newline}", f"<!DOCTYPE svg>{newline}"]))
    body = draw(children(encoding, p, newline))
    root = f"<{p}svg{space} width='9'>{body}</{p}svg>" if body else f"<{p}svg{space} />"
    tail = draw(st.sampled_from(["", newline, f"{newline}<!-- </svg> -->"]))
    return (head + root + tail).encode(encoding), not body


def insertion(before: bytes, after: bytes) -> bool:
    """Whether `after` is `before` with one stretch put in."""
    same = next((i for i, (a, b) in enumerate(zip(before, after, strict=False)) if a != b), len(before))
    return any(
        after.endswith(before[i:]) and i + len(before[i:]) <= len(after) for i in range(max(0, same - 3), same + 1)
    )


@given(drawings(), st.lists(WORDS, max_size=2), WORDS)
@settings(max_examples=250, deadline=None)
def test_layer_goes_in_and_nothing_else_changes(drawing: tuple[bytes, bool], names: list[str], label: str) -> None:
    source, single_tag = drawing
    groups = {f"run {name}": group(f"run {name}", f"r\n{name}\t<&>", label) for name in names}
    once = replace_groups(source, groups)
    assert shape(etree.fromstring(once), ours=False) == shape(etree.fromstring(source))
    assert replace_groups(once, groups) == once
    assert [(g.name, g.recipe) for g in read_groups(once)] == [(k, g.get("data-recipe")) for k, g in groups.items()]
    if not groups:
        assert once == source
        return
    assert single_tag or insertion(source, once)
    (layer,) = layers(once)
    assert [shape(g) for g in layer] == [shape(g) for g in groups.values()]
    assert layer.tag == f"{{{SVG}}}g"
    parent = layer.getparent()
    assert parent is not None
    assert parent.tag == f"{{{SVG}}}svg"


@given(drawings())
@settings(max_examples=100, deadline=None)
def test_one_run_made_again_leaves_the_other_as_it_was(drawing: tuple[bytes, bool]) -> None:
    both = replace_groups(drawing[0], {"a": group("a"), "b": group("b")})
    again = replace_groups(both, {"a": group("a", "other", "words")})
    text = {g.name: g.text for g in read_groups(again)}
    assert text["b"] == {g.name: g.text for g in read_groups(both)}["b"]
    assert b"other" in text["a"]
    # Going back gives the very file, so no byte outside the group was touched on either way.
    assert replace_groups(again, {"a": group("a")}) == both
    assert replace_groups(replace_groups(both, {}, ["b"]), {"b": group("b")}) == both


@given(drawings(), WORDS, WORDS)
@settings(max_examples=150, deadline=None)
def test_an_attribute_of_the_layer_comes_and_goes(drawing: tuple[bytes, bool], value: str, other: str) -> None:
    plain = replace_groups(drawing[0], {"a": group("a", label="é €")})
    once = with_layer_attribute(plain, "data-kept", value)
    assert insertion(plain, once)
    assert layer_attribute(once, "data-kept") == value
    assert with_layer_attribute(once, "data-kept", value) == once
    twice = with_layer_attribute(once, "data-kept", other)
    assert layer_attribute(twice, "data-kept") == other
    assert layers(twice)[0].get("data-kept") == other
    # Groups that are made again leave it alone, and going back gives the very file.
    assert layer_attribute(replace_groups(twice, {"b": group("b")}, ["a"]), "data-kept") == other
    assert with_layer_attribute(twice, "data-kept", value) == once
    assert with_layer_attribute(once, "data-kept", None) == plain


# --- single cases ------------------------------------------------------------------------------------------------

PLAIN = f"""<?xml version="1.0"?>
<svg xmlns="{SVG}" xmlns:inkscape="{INKSCAPE}" viewBox="0 0 9 9">
  <path id="a" d="M0 0"/>
</svg>
"""


def test_text_of_the_first_layer() -> None:
    expected = """  <path id="a" d="M0 0"/>
  <g id="scallopkit" inkscape:groupmode="layer" inkscape:label="scallopkit">
    <g data-run="hem" data-recipe='{"width": 30}' inkscape:label="hem">
      <path d="M 0,0 L 1,1" data-role="cutting"/>
      <text data-role="label">a &lt; b<tspan/> end</text>
    </g>
  </g>
</svg>
"""
    assert replace_groups(PLAIN.encode(), {"hem": group(label="a < b")}).decode().endswith(expected)


def test_line_ends_are_those_of_the_drawing() -> None:
    result = replace_groups(PLAIN.replace("\n", "\r\n").encode(), {"hem": group(label="x")})
    assert result.count(b"\n") == result.count(b"\r\n") == 10
    assert b"\r\r" not in result


def test_root_without_an_end_tag_gets_one() -> None:
    source = f'<!-- a -->\n<s:svg xmlns:s="{SVG}" x=">" />\n<!-- b -->'.encode()
    result = replace_groups(source, {"hem": group()})
    assert result.startswith(source[: source.index(b" />")] + b">\n  <g xmlns=")
    assert result.endswith(b"\n  </g>\n</s:svg>\n<!-- b -->")


def test_layer_keeps_what_the_editor_set_on_it() -> None:
    tag = (
        '<g inkscape:label="scallopkit"\n   style="display:none" sodipodi:insensitive="true"\n id="scallopkit"'
        ' xmlns:sodipodi="urn:s" inkscape:groupmode="layer" />'
    )
    source = PLAIN.replace("</svg>", f"  {tag}\n</svg>").encode()
    once = replace_groups(source, {"hem": group()})
    assert tag.removesuffix(" />").encode() + b">\n    <g data-run" in once
    assert len(layers(once)) == 1
    assert replace_groups(once, {"hem": group()}) == once


@pytest.mark.parametrize(
    ("attributes", "inner", "ours"),
    [
        ('id="scallopkit" inkscape:label="scallopkit"', "", True),
        ('id="scallopkit-2" inkscape:label="scallopkit"', "", True),
        ('id="g12" inkscape:label="scallopkit"', '<g data-run="r" data-recipe="{}"/>', True),
        ('id="scallopkit" inkscape:label="trims"', '<g data-run="r" data-recipe="{}"/>', True),
        ('id="scallopkit"', '<g><g data-run="r" data-recipe="{}"/></g>', True),
        ('id="scallopkit"', "", False),
        ('id="g12" inkscape:label="scallopkit"', "", False),
        ('id="scallopkit-copy" inkscape:label="scallopkit copy"', '<g data-run="r" data-recipe="{}"/>', False),
        ('id="scallopkit" inkscape:label="mine"', '<g data-run="r"/>', False),
        ('id="scallopkit" xmlns="urn:other" inkscape:label="scallopkit"', "", False),
    ],
)
def test_our_layer_shows_two_signs_of_three(attributes: str, inner: str, ours: bool) -> None:
    source = PLAIN.replace("</svg>", f"  <g {attributes}>{inner}</g>\n</svg>").encode()
    result = replace_groups(source, {"hem": group()})
    new = re.findall(rb'<g id="(scallopkit[-0-9]*)" inkscape:groupmode', result)
    taken = b'id="scallopkit"' in source
    assert new == ([] if ours else [b"scallopkit-2" if taken else b"scallopkit"])
    assert result.count(b'data-run="hem"') == 1
    assert replace_groups(result, {"hem": group()}) == result


@pytest.mark.parametrize(
    ("tag", "kept", "expected"),
    [
        (
            "<g id='scallopkit' inkscape:label='scallopkit' />",
            None,
            "<g id='scallopkit' inkscape:label='scallopkit'{} />",
        ),
        (
            "<g id='scallopkit' inkscape:label='scallopkit'/>",
            None,
            "<g id='scallopkit' inkscape:label='scallopkit'{}/>",
        ),
        (
            "<g data-kept = 'old > /'\n id='scallopkit' inkscape:label='scallopkit'></g>",
            "old > /",
            "<g{}\n id='scallopkit' inkscape:label='scallopkit'></g>",
        ),
        # What only looks like it, in the words of another attribute.
        (
            "<g title=' data-kept=\"x\" ' id='scallopkit' inkscape:label='scallopkit'></g>",
            None,
            "<g title=' data-kept=\"x\" ' id='scallopkit' inkscape:label='scallopkit'{}></g>",
        ),
    ],
)
def test_an_attribute_is_put_into_the_tag_as_it_stands(tag: str, kept: str | None, expected: str) -> None:
    source = PLAIN.replace("</svg>", f"{tag}</svg>").encode()
    assert layer_attribute(source, "data-kept") == kept
    told = with_layer_attribute(source, "data-kept", "new")
    assert told == source.replace(tag.encode(), expected.format(' data-kept="new"').encode())
    without = with_layer_attribute(told, "data-kept", None)
    assert without == source.replace(tag.encode(), expected.format("").encode())


def test_a_drawing_without_our_layer_keeps_no_attribute_of_it() -> None:
    assert with_layer_attribute(PLAIN.encode(), "data-kept", "new") == PLAIN.encode()
    assert layer_attribute(PLAIN.encode(), "data-kept") is None


def test_other_elements_with_our_id_make_the_layer_take_another() -> None:
    source = PLAIN.replace("</svg>", '<rect id="scallopkit"/><a><g id="scallopkit-2"/></a></svg>').encode()
    result = replace_groups(source, {"hem": group()})
    assert layers(result)[0].get("id") == "scallopkit-3"
    assert replace_groups(result, {"hem": group()}) == result


def test_prefixed_layer_of_an_editor_gets_groups_in_the_right_namespace() -> None:
    source = (
        f'<s:svg xmlns:s="{SVG}" xmlns:i="{INKSCAPE}" xmlns="urn:other"><s:g id="scallopkit" i:label="scallopkit">'
        '<s:g data-run="hem" data-recipe="old"><s:path/></s:g></s:g></s:svg>'
    ).encode()
    result = replace_groups(source, {"hem": group()})
    (run,) = etree.fromstring(result)[0]
    assert shape(run) == shape(group())
    assert result.startswith(source[: source.index(b"<s:g data-run")])
    assert b"xmlns:inkscape" not in result


def test_elements_that_an_entity_stands_for_are_left_alone() -> None:
    ours = "<g id='scallopkit'><g data-run='a' data-recipe='b'/></g>"
    source = (
        f'<!DOCTYPE svg [<!ENTITY n "{SVG}"><!ENTITY e "{ours}">]><svg xmlns="&n;">&e;<g id="b">&e;</g></svg>'
    ).encode()
    result = replace_groups(source, {"a": group("a")})
    assert insertion(source, result)
    # The root's namespace, written by way of an entity, holds for the layer too.
    assert b"\n  <g xmlns:inkscape" in result
    assert [g.recipe for g in read_groups(result)] == ['{"width": 30}']


def test_characters_that_the_encoding_lacks_become_references() -> None:
    source = f'<?xml version="1.0" encoding="iso-8859-1"?><svg xmlns="{SVG}"><text>é</text></svg>'.encode("latin-1")
    result = replace_groups(source, {"Ærmel €": group("Ærmel €", label="é 你")})
    assert b"\xc6rmel &#8364;" in result
    assert b"\xe9 &#20320;" in result
    assert [g.name for g in read_groups(result)] == ["Ærmel €"]
    assert etree.fromstring(result)[1][0].get("data-run") == "Ærmel €"


def test_copies_of_a_run_are_left_until_the_run_is_removed() -> None:
    once = replace_groups(PLAIN.encode(), {"hem": group(), "top": group("top")})
    run = re.search(rb' *<g data-run="hem".*?</g>\n', once, re.DOTALL)
    assert run
    twice = once[: run.end()] + run[0].replace(b"<path", b"<path id='copy'") + once[run.end() :]
    again = replace_groups(twice, {"hem": group(recipe="new")})
    assert b"id='copy'" in again
    assert [(g.name, g.recipe) for g in read_groups(again)] == [("hem", "new"), ("top", '{"width": 30}')]
    gone = replace_groups(twice, {}, ["hem", "never was"])
    assert gone == once[: run.start()] + once[run.end() :]
    assert [g.name for g in read_groups(gone)] == ["top"]


def test_run_groups_keep_their_place_in_a_group_of_the_maker() -> None:
    once = replace_groups(PLAIN.encode(), {"hem": group()})
    moved = once.replace(b"    <g data-run", b'    <g id="old">\n    <g data-run').replace(
        b"    </g>\n", b"    </g></g>\n"
    )
    again = replace_groups(moved, {"hem": group(recipe="new"), "top": group("top")})
    layer = layers(again)[0]
    assert [child.get("id") or child.get("data-run") for child in layer] == ["old", "top"]
    assert layer[0][0].get("data-recipe") == "new"


def test_run_that_is_made_again_and_removed_at_once_is_made_again() -> None:
    once = replace_groups(PLAIN.encode(), {"hem": group(), "top": group("top")})
    assert replace_groups(once, {"hem": group()}, ["hem"]) == once


def test_group_within_a_run_belongs_to_that_run() -> None:
    outer = group()
    outer.append(group("inner"))
    once = replace_groups(PLAIN.encode(), {"hem": outer})
    assert [g.name for g in read_groups(once)] == ["hem"]
    assert replace_groups(once, {"hem": outer}) == once


def test_the_first_of_two_layers_counts() -> None:
    once = replace_groups(PLAIN.encode(), {"hem": group()})
    layer = once[once.index(b"  <g id") : once.index(b"</svg>")]
    twice = once.replace(b"</svg>", layer + b"</svg>")
    again = replace_groups(twice, {"hem": group(recipe="new")})
    assert again == replace_groups(once, {"hem": group(recipe="new")}).replace(b"</svg>", layer + b"</svg>")
    assert [g.recipe for g in read_groups(again)] == ["new"]


def test_blanks_are_added_only_where_they_mean_nothing() -> None:
    run = group()
    text = etree.SubElement(run, f"{{{SVG}}}text")
    for word in ("a", "b\r"):
        etree.SubElement(text, f"{{{SVG}}}tspan").text = word
    kept = etree.SubElement(run, f"{{{SVG}}}g", {"{http://www.w3.org/XML/1998/namespace}space": "preserve"})
    etree.SubElement(etree.SubElement(kept, f"{{{SVG}}}g"), f"{{{SVG}}}path")
    result = replace_groups(PLAIN.encode(), {"hem": run})
    assert b"      <text><tspan>a</tspan><tspan>b&#13;</tspan></text>\n" in result
    assert b'      <g xml:space="preserve"><g><path/></g></g>\n' in result


def test_prefix_that_stands_for_something_else_is_not_taken() -> None:
    run = group()
    run.append(etree.Element(f"{{{SVG}}}path", {"{urn:b}x": "2", "{urn:a}x": "1"}, nsmap={"a": "urn:a", "b": "urn:b"}))
    source = PLAIN.replace("<svg", '<svg xmlns:a="urn:b"').encode()
    result = replace_groups(source, {"hem": run})
    assert shape(etree.fromstring(result)[1][0]) == shape(run)
    assert replace_groups(result, {"hem": run}) == result


@pytest.mark.parametrize(
    ("source", "words"),
    [
        (b"", "line 1"),
        (b"no markup", "line 1"),
        (f'<svg xmlns="{SVG}"><g></svg>'.encode(), "mismatched tag"),
        (b"<html/>", "no SVG drawing"),
        (b"<svg/>", "no SVG drawing"),
        (b'<svg xmlns="urn:other"/>', "no SVG drawing"),
        (b'<?xml version="1.0" encoding="klingon"?><svg/>', "klingon"),
        (b'<?xml version="1.0" encoding="hex"?><svg/>', "hex"),
        (b"<svg>\xff</svg>", "save it as UTF-8"),
        (
            b'<?xml version="1.0" encoding="utf-7"?><svg xmlns="http://www.w3.org/2000/svg"><text>+AGE-</text></svg>',
            "byte for byte",
        ),
    ],
)
def test_what_is_no_drawing_is_refused_in_a_sentence(source: bytes, words: str) -> None:
    with pytest.raises(DrawingError, match=re.escape(words)):
        replace_groups(source, {"hem": group()})


def test_wrong_encoding_declaration_of_single_bytes_is_read_as_utf_8() -> None:
    source = f'<?xml version="1.0" encoding="utf-16"?><svg xmlns="{SVG}"><text>é</text></svg>'.encode()
    assert insertion(source, replace_groups(source, {"hem": group()}))


def test_group_without_its_name_is_an_error_of_the_caller() -> None:
    with pytest.raises(ValueError, match="data-run"):
        replace_groups(PLAIN.encode(), {"other": group("hem")})
