"""Bytes to a tree: what is refused, in one sentence, and the oddities of editors that are accepted."""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from scallopkit.document.source import DEPTH_MOST, parse_xml
from scallopkit.errors import DrawingError

HEAD = '<svg xmlns="http://www.w3.org/2000/svg">'
PLAIN = f'{HEAD}<path id="a" d="M0 0"/></svg>'


@pytest.mark.parametrize(
    "data",
    [
        PLAIN.encode(),
        b"\xef\xbb\xbf" + PLAIN.encode(),
        PLAIN.encode("utf-16"),
        f'<?xml version="1.0" encoding="iso-8859-1"?>\n<!-- ü -->{PLAIN}'.encode("latin-1"),
        f'<?xml version="1.0"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
        f'"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">{PLAIN}'.encode(),
        b'<s:svg xmlns:s="http://www.w3.org/2000/svg"><s:path id="a"/></s:svg>',
    ],
)
def test_what_editors_write_is_read(data: bytes) -> None:
    root = parse_xml(data, "a.svg")
    assert root[-1].get("id") == "a"


def test_plain_entities_of_editors_are_resolved() -> None:
    data = (
        f'<!DOCTYPE svg [<!ENTITY ns "http://example.org/x"><!ENTITY w "5mm">]>{HEAD}<g id="a" x="&ns;" y="&w;"/></svg>'
    )
    root = parse_xml(data.encode(), "a.svg")
    assert root[0].get("x") == "http://example.org/x"
    assert root[0].get("y") == "5mm"


BOMB = "".join(f'<!ENTITY e{i + 1} "{f"&e{i};" * 10}">' for i in range(9))

REFUSED = [
    (b"", "empty"),
    (b" \n ", "empty"),
    (b"not xml at all", "well-formed"),
    (PLAIN[:-3].encode(), "well-formed"),
    (f"{HEAD}<a:b/></svg>".encode(), "well-formed"),
    (b"\x00\x01\x02", "well-formed"),
    (b'<?xml version="1.0" encoding="no-such"?><svg/>', "a.svg"),
    (gzip.compress(PLAIN.encode(), mtime=0), "plain SVG"),
    (b"<html/>", "'html'"),
    (b"<svg/>", "xmlns"),
    (f'<!DOCTYPE svg [<!ENTITY e0 "lol">{BOMB}]>{HEAD}<g x="&e9;"/></svg>'.encode(), "entit"),
    (f'<!DOCTYPE svg [<!ENTITY e SYSTEM "file:///etc/passwd">]>{HEAD}<text>&e;</text></svg>'.encode(), "external"),
    (f'<!DOCTYPE svg [<!ENTITY % e SYSTEM "http://127.0.0.1:9/x"> %e;]>{PLAIN}'.encode(), "external"),
    (f'<!DOCTYPE svg [<!ENTITY e "{"x" * 1001}">]>{HEAD}<text>&e;</text></svg>'.encode(), "too long"),
    (f'<!DOCTYPE svg [<!ENTITY e "{"x" * 1000}">]>{HEAD}<text>{"&e;" * 30_000}</text></svg>'.encode(), "too often"),
    (f"{HEAD}<text>&unknown;</text></svg>".encode(), "well-formed"),
    (f"{HEAD}{'<g>' * DEPTH_MOST}{'</g>' * DEPTH_MOST}</svg>".encode(), "deep"),
]


@pytest.mark.parametrize(("data", "told"), REFUSED)
def test_what_is_no_drawing_or_could_do_harm_is_refused(data: bytes, told: str) -> None:
    with pytest.raises(DrawingError) as caught:
        parse_xml(data, "a.svg")
    message = str(caught.value)
    assert message.startswith("a.svg ")
    assert told in message
    assert "\n" not in message


def test_a_declared_file_is_never_opened(tmp_path: Path) -> None:
    secret = tmp_path / "secret.dtd"
    secret.write_text('<!ENTITY told "secret">', encoding="utf-8")
    data = f'<!DOCTYPE svg SYSTEM "{secret.as_uri()}">{HEAD}<text>&told;</text></svg>'.encode()
    try:
        root = parse_xml(data, "a.svg")
    except DrawingError:
        return
    assert "secret" not in str(root.xpath("string()"))
