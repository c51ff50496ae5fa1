"""What a drawing has that paper has not is told, in a line for each kind."""

from __future__ import annotations

import pytest

from scallopkit.document.paper import PaperWish, paper
from scallopkit.document.reader import read_drawing

HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="120mm" viewBox="0 0 120 120">'
    '<path id="box" fill="none" stroke="black" d="M10 10h90v90h-90z"/>'
)
PICTURE = '<image id="photo" href="a.png" width="10" height="10"/>'
FOREIGN = '<foreignObject id="note" width="10" height="10"/>'
ALONG = '<text id="motto"><textPath href="#box">round and round</textPath></text>'
JOINED = '<text id="how" x="20" y="20"><tspan x="20" dy="0">first</tspan><tspan x="20" dy="5">second</tspan></text>'
PLACED = '<text id="fine" x="20" y="20"><tspan x="20" y="20">first</tspan><tspan x="20" y="25">second</tspan></text>'
MIRRORED = '<text id="wrong" transform="matrix(-1 0 0 1 100 0)" x="20" y="40">wrong side</text>'


def warned(body: str, wish: PaperWish | None = None) -> dict[str, str]:
    made = paper(read_drawing(f"{HEAD}{body}</svg>".encode(), "a.svg"), wish or PaperWish())
    return {warning.code: warning.message for warning in made.warnings}


@pytest.mark.parametrize(
    ("body", "code", "said"),
    [
        (PICTURE, "not-on-paper", "not on paper: image photo ("),
        (FOREIGN, "not-on-paper", "not on paper: foreignObject note ("),
        (ALONG, "not-on-paper", "not on paper: text motto ("),
        (PICTURE + ALONG, "not-on-paper", "not on paper: image photo, text motto ("),
        (JOINED, "text-joined", "in one row on paper: text how ("),
        (MIRRORED, "text-turned", "not mirrored on paper: text wrong ("),
    ],
)
def test_what_is_otherwise_on_paper_is_told(body: str, code: str, said: str) -> None:
    told = warned(body)
    assert list(told) == [code]
    assert told[code].startswith(said)
    assert "\n" not in told[code]


def test_many_are_told_in_one_line() -> None:
    told = warned("".join(PICTURE.replace("photo", f"photo{k}") for k in range(11)))["not-on-paper"]
    assert "image photo7 and 3 more" in told


@pytest.mark.parametrize(
    "body", [PLACED, f'<g style="display:none">{PICTURE}</g>', f"<defs>{PICTURE}{ALONG}</defs>", '<text id="empty"/>']
)
def test_what_is_there_or_not_seen_is_not_told(body: str) -> None:
    assert warned(body) == {}


def test_who_leaves_out_their_own_lines_is_not_told_of_them() -> None:
    label = '<g id="scallopkit"><path data-role="cutting" d="M5 5h20"/></g>'
    assert warned(PICTURE + label, PaperWish(show=("cutting",))) == {}
    assert list(warned(PICTURE + label)) == ["not-on-paper"]
