"""Pictures show what the drawing shows, at the size asked for."""

from __future__ import annotations

import struct
import sys
import zlib
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from scallopkit.document import picture
from scallopkit.document.picture import cropped, to_png
from scallopkit.errors import DrawingError, RequestError, ScallopkitError
from scallopkit.geometry.motion import IDENTITY, affine

SVG = "http://www.w3.org/2000/svg"
# Two squares of 10 mm, black and red, on a page of 40 x 20 mm in units of half a millimetre.
SQUARES = (
    f'<svg xmlns="{SVG}" width="40mm" height="20mm" viewBox="0 0 80 40" preserveAspectRatio="none">'
    '<rect x="10" y="10" width="20" height="20"/><rect x="50" y="10" width="20" height="20" fill="#f00"/></svg>'
).encode()
HALVES = affine(0.5, 0.0, 0.0, 0.5, 0.0, 0.0)


def pixels(png: bytes) -> npt.NDArray[np.uint8]:
    """RGBA pixels (height, width, 4), decoded by the PNG specification: https://www.w3.org/TR/png/."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    at, data = 8, b""
    while at < len(png):
        (length,) = struct.unpack_from(">I", png, at)
        if png[at + 4 : at + 8] == b"IHDR":
            wide, high, depth, kind = struct.unpack_from(">IIBB", png, at + 8)
            assert (depth, kind) == (8, 6)
        if png[at + 4 : at + 8] == b"IDAT":
            data += png[at + 8 : at + 8 + length]
        at += length + 12
    lines = np.frombuffer(zlib.decompress(data), np.uint8).reshape(high, 1 + 4 * wide)
    kind, filtered = lines[:, 0], lines[:, 1:].reshape(high, wide, 4)
    out = np.zeros((high + 1, wide + 1, 4), int)
    # A pixel needs those on its left, above, and above on its left only, so a whole slant of them is read at once.
    for slant in range(high + wide - 1):
        y = np.arange(max(0, slant - wide + 1), min(high, slant + 1))
        x = slant - y
        left, up, corner = out[y + 1, x], out[y, x + 1], out[y, x]
        guess = left + up - corner
        to_left, to_up, to_corner = abs(guess - left), abs(guess - up), abs(guess - corner)
        nearer = np.where(to_up <= to_corner, up, corner)
        paeth = np.where((to_left <= to_up) & (to_left <= to_corner), left, nearer)
        add = np.choose(kind[y, None], (0 * left, left, up, (left + up) // 2, paeth))
        out[y + 1, x + 1] = (filtered[y, x] + add) % 256
    return out[1:, 1:].astype(np.uint8)


@pytest.fixture
def fresh_font() -> Iterator[None]:
    picture._font.cache_clear()
    yield
    picture._font.cache_clear()


def test_own_size_is_96_px_to_the_inch() -> None:
    # 40 mm are 151.18 px and 20 mm 75.59 px.
    high, wide = pixels(to_png(SQUARES)).shape[:2]
    assert (wide, high) in {(151, 76), (151, 75), (152, 76)}


def test_width_and_background() -> None:
    seen = pixels(to_png(SQUARES, width_px=80))
    assert seen.shape == (40, 80, 4)
    assert seen[20, 20].tolist() == [0, 0, 0, 255]
    assert seen[20, 60].tolist() == [255, 0, 0, 255]
    assert seen[2, 2].tolist() == [0, 0, 0, 0]
    assert pixels(to_png(SQUARES.replace(b'viewBox="0 0 80 40"', b""), 302)).shape == (151, 302, 4)
    assert pixels(to_png(SQUARES, 80, "#ffffff"))[2, 2].tolist() == [255, 255, 255, 255]


def test_region_is_cut_out_at_full_size() -> None:
    part = cropped(SQUARES, (20.0, 0.0, 30.0, 10.0), HALVES)
    assert b'width="10mm"' in part
    seen = pixels(to_png(part, width_px=20))
    assert seen.shape == (20, 20, 4)
    # The red square begins 5 mm from the left and from the top of the region.
    assert seen[15, 15].tolist() == [255, 0, 0, 255]
    assert seen[15, 8].tolist() == seen[8, 15].tolist() == [0, 0, 0, 0]
    assert b"viewBox" in SQUARES
    assert cropped(SQUARES, (20.0, 0.0, 30.0, 10.0), HALVES) == part


def test_shifted_page() -> None:
    svg = SQUARES.replace(b'viewBox="0 0 80 40"', b'viewBox="-8 6 80 40"')
    shifted = affine(0.5, 0.0, 0.0, 0.5, 4.0, -3.0)
    assert pixels(to_png(cropped(svg, (9.0, 2.0, 19.0, 12.0), shifted), 10))[:, :, 3].min() == 255


def test_drawings_in_other_encodings() -> None:
    svg = SQUARES.decode().replace("</svg>", "<text>é</text></svg>")
    latin = f'<?xml version="1.0" encoding="iso-8859-1"?>{svg}'.encode("latin-1")
    assert to_png(latin) == to_png(svg.encode())
    assert to_png(svg.encode("utf-16")) == to_png(svg.encode())


WORDS = f'<svg xmlns="{SVG}" width="60" height="20"><text y="15" font-family="FAMILY">Hem</text></svg>'


@pytest.mark.parametrize("family", ["sans-serif", "serif", "monospace", "No Such Font", ""])
@pytest.mark.usefixtures("fresh_font")
def test_texts_are_drawn_whatever_their_font(family: str) -> None:
    if picture._font()[0] is None:
        pytest.skip("this machine has no font")
    assert pixels(to_png(WORDS.replace("FAMILY", family).encode()))[:, :, 3].max() > 0


@pytest.mark.usefixtures("fresh_font")
def test_without_any_font_the_picture_comes_without_texts(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(picture, "_FONT_FOLDERS", ("/no/such/folder",))
    assert picture._font() == (None, [])
    assert pixels(to_png(WORDS.replace("FAMILY", "No Such Font").encode())).shape == (20, 60, 4)


def test_broken_font_files_are_passed_over(tmp_path: Path) -> None:
    for data in (b"", b"\0\1\0\0\0\x01", b"\0\1\0\0\0\0" + bytes(20)):
        file = tmp_path / "x.ttf"
        file.write_bytes(data)
        assert picture._family(file) is None


def test_missing_library_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "resvg_py", None)
    with pytest.raises(ScallopkitError, match="pip install resvg_py"):
        to_png(SQUARES)


@pytest.mark.parametrize("width", [0, -5, 100_000])
def test_widths_that_cannot_be_drawn(width: int) -> None:
    with pytest.raises(RequestError):
        to_png(SQUARES, width)


@pytest.mark.parametrize(
    "size", ['width="900cm" height="100%" viewBox="0 0 4e5 34015.75"', 'width="9000mm" height="9e3mm"']
)
def test_drawings_too_large_for_a_picture_of_full_size(size: str) -> None:
    svg = f'<svg xmlns="{SVG}" {size}/>'.encode()
    with pytest.raises(RequestError, match="smaller width or a smaller region"):
        to_png(svg)
    assert pixels(to_png(svg, 10)).shape == (10, 10, 4)


SIZELESS = [f'<svg xmlns="{SVG}" {size}/>'.encode() for size in ('width="0" height="9"', 'width="9"', "")]


@pytest.mark.parametrize("svg", [b"", b"<svg", b"<html/>", *SIZELESS])
def test_what_cannot_be_drawn_is_refused_in_a_sentence(svg: bytes) -> None:
    with pytest.raises(DrawingError):
        to_png(svg)


def test_unknown_colour_and_empty_region() -> None:
    with pytest.raises(DrawingError, match="background"):
        to_png(SQUARES, background="no colour")
    with pytest.raises(RequestError, match="no area"):
        cropped(SQUARES, (5.0, 0.0, 5.0, 9.0), IDENTITY)
